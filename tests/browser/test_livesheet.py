"""The live sheet as a person uses it: opened as a file, without a network."""

import re
from dataclasses import replace

import pytest
from playwright.sync_api import expect

import detentlib as dl
from detentlib.tune.moves import with_one_ball, with_second_leaf
from tests import knives

AGREES = re.compile(r"agrees with the library on (\d+) numbers at (\d+) settings to 1 part in 10⁹")
DRAWN = """async label => {
    const slider = document.querySelector(`input[aria-label="${label}"]`),
          low = Number(slider.min), width = Number(slider.max) - low;
    const drawings = [];
    for (let k = 0; k < 20; k++) {
        slider.value = low + width * (0.3 + k / 100);
        slider.dispatchEvent(new Event("input", {bubbles: true}));
        await new Promise(requestAnimationFrame);
        drawings.push([...document.querySelectorAll("svg")].map(svg => svg.outerHTML).join());
    }
    return new Set(drawings).size;
}"""


def _bare(knife):
    """Without floors and bearings, to build other rims on."""
    return knife.replace(
        {f"balls[{i}].{name}": None for i in range(len(knife.balls)) for name in ("recess.depth", "bearing_deg")}
    )


KNIVES = {
    **{f"card {letter}": card for letter, card in knives.CARDS.items()},
    "lets go late": knives.LETS_GO_LATE,
    "share at rest": knives.SHARE_AT_REST,
    "one slides back": knives.HELD_BETWEEN,
    "springs back": knives.SPRINGS_BACK,
    "pushed past the middle": knives.PUSHED_PAST,
    "nearly jams": knives.A.replace(
        {"balls[0].recess.diameter": 1.565, "balls[0].recess.rest_offset": 0.02, "balls[0].protrusion": 0.75}
    ),
    "held by friction": knives.A.replace(
        {"bar.side_compliance": 0.006, "friction.rim": 0.6, "balls[0].recess.rest_offset": 0.55}
    ),
    "one ball, stiff bar": knives.A,
    "small ball, stiff bar": knives.E,
    "long track, stiff bar": knives.D,
    "chamfer and rounding": (
        _bare(knives.CARDS["C"]).replace(
            {
                "balls[0].recess.chamfer_width": 0.06,
                "balls[1].recess.edge_radius": 0.05,
                "balls[0].track_to_bar_deg": 80.0,
                "friction.washer": 0.1,
                "friction.washer_radius": 4.0,
                "friction.flat": 0.08,
            }
        )
    ),
    "dimple, floor and face": (
        _bare(knives.CARDS["C"]).replace(
            {
                "balls[0].recess.chamfer_width": 0.64,
                "balls[0].recess.chamfer_deg": 40.0,
                "balls[0].recess.diameter": 0.0,
                "balls[1].recess.depth": 0.12,
                "balls[1].protrusion": 0.30,
                "balls[0].protrusion": 0.33,
            }
        )
    ),
    "two leaves": with_second_leaf(knives.CARDS["C"]),
    "two leaves, stiff": with_second_leaf(knives.C),
    "ball 2 joins while ball 1 sticks": knives.JOINED,
    "rattles in its pivot": knives.CARDS["A"].replace({"blade.pivot_play": 0.02, "balls[0].recess.rest_offset": -0.03}),
    "level balls of which the second leaves a wider recess on the brink of the flat": (
        _bare(knives.C).replace(
            {
                "balls[1].protrusion": 0.42,
                "balls[1].track_radius": 8.001,
                "balls[1].hinge_distance": 36.4,
                "balls[1].recess.diameter": 1.5208,
            }
        )
    ),
    "into the other's recess": knives.C.replace(
        {
            "balls[1].track_radius": 8.1,
            "balls[1].bearing_deg": 7.5,
            "balls[1].diameter": 0.8,
            "balls[1].recess.diameter": 0.6,
            "balls[1].protrusion": 0.44,
        }
    ),
}


NOTED = (
    "the bar springs sideways",
    "ball 1 comes out through the middle",
    "ball 2 comes out through the middle",
    "left between bar face and tang",
    "close to jamming",
    "the barrier is below zero",
)


def _in_words(said):
    """Which of NOTED these sentences hold."""
    return {words for words in NOTED if words in " ".join(said).lower()}


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A function that gives the text of a knife's sheet, written once for each knife."""
    folder, made = tmp_path_factory.mktemp("sheets"), []

    def of(knife):
        if knife not in made:
            dl.live_sheet(knife, folder / f"{len(made)}.html")
            made.append(knife)
        return (folder / f"{made.index(knife)}.html").read_text(encoding="utf-8")

    return of


@pytest.fixture
def open_sheet(browser, tmp_path, written):
    """A function (knife or text of a page, width, height) that opens a sheet as a file and gives the page; `asked`
    lists what it requested.
    """
    contexts = []

    def opened(knife, width=1280, height=900):
        path = tmp_path / f"sheet-{len(contexts)}.html"
        path.write_text(knife if isinstance(knife, str) else written(knife), encoding="utf-8")
        contexts.append(browser.new_context(viewport={"width": width, "height": height}, offline=True))
        page = contexts[-1].new_page()
        page.asked, page.wrong, page.file = [], [], path
        page.on("request", lambda request: page.asked.append(request.url))
        page.on("pageerror", lambda error: page.wrong.append(str(error)))
        page.on("console", lambda message: page.wrong.append(message.text))
        page.goto(path.as_uri())
        expect(page.locator("#self-test")).not_to_have_text(re.compile("not checked"))
        return page

    yield opened
    for context in contexts:
        context.close()


def _box(page, label):
    return page.get_by_label(label, exact=True)


def _file(page, tmp_path):
    """The knife of the text that the page offers."""
    path = tmp_path / "copied.toml"
    path.write_text(page.locator("#knife-file").text_content(), encoding="utf-8")
    return dl.read_knife(path)


def _fact(page, name):
    return page.locator("#facts div", has_text=name).locator("dd")


@pytest.mark.parametrize("name", KNIVES)
def test_the_page_agrees_with_the_library(name, open_sheet):
    page = open_sheet(KNIVES[name])
    said = page.locator("#self-test").inner_text()
    assert AGREES.search(said), said
    numbers, settings = map(int, AGREES.search(said).groups())
    assert numbers > 600
    assert settings > 20
    assert _in_words(page.locator("#notes li").all_inner_texts()) == _in_words(dl.feel(KNIVES[name]).flags)
    expect(page.locator("#wrong")).to_be_hidden()
    assert page.wrong == []
    assert page.asked == [page.file.as_uri()]


def test_each_note_is_flagged_for_one_of_these_knives():
    assert {words for knife in KNIVES.values() for words in _in_words(dl.feel(knife).flags)} == set(NOTED)


def test_a_false_number_or_formula_is_found(open_sheet, written):
    text = written(knives.C)
    number = re.search(r'"numbers":\[(\d+\.\d+)', text)
    falsified = {
        "break force: the library": text.replace(number[0], f'"numbers":[{float(number[1]) * (1 + 3e-9)!r}', 1),
        "barrier: the library": text.replace(
            "return (1/2)*Math.pow(moment, 2)/kappa", "return 0.500000003*Math.pow(moment, 2)/kappa"
        ),
        "the library refuses balls[0].recess.diameter, this page accepts it": text.replace(
            "if (gap >= ball.diameter / 2 * JUST_BELOW)", "if (gap > 9)"
        ),
    }
    for said, changed in falsified.items():
        assert changed != text
        page = open_sheet(changed)
        expect(page.locator("#self-test")).to_contain_text("does not agree with the library: do not use its numbers")
        expect(page.get_by_role("alert")).to_contain_text(said)


def test_sliders_move_by_keyboard_and_the_picture_follows(open_sheet):
    page = open_sheet(knives.C)
    expect(_fact(page, "Break force")).to_have_text("11.62 N (2.61 lbf)")
    expect(_fact(page, "Handover")).to_contain_text("1.90°: ball 2 to ball 1, steps up")
    slider = page.get_by_role("slider", name="Ball 2: recess diameter, slider")
    slider.focus()
    slider.press("ArrowRight")
    expect(_box(page, "Ball 2: recess diameter, mm")).not_to_have_value("1.1811")
    slider.press("End")
    expect(page.locator("#answer")).to_contain_text("ball 1 carries")
    turn = page.get_by_role("slider", name="Blade angle, slider")
    before = page.locator("#sections svg").first.inner_html()
    turn.focus()
    turn.press("PageUp")
    expect(page.locator("#answer")).not_to_contain_text("At 0.00°")
    assert page.locator("#sections svg").first.inner_html() != before
    expect(page.get_by_role("status").first).to_contain_text("ball 1 carries")
    names = page.get_by_role("img").evaluate_all(
        "all => all.filter(each => each.style.display !== 'none').map(each => each.getAttribute('aria-label'))"
    )
    assert len(names) == 4
    assert all(len(name) > 40 for name in names)
    page.get_by_role("button", name="Reset").click()
    expect(_fact(page, "Break force")).to_have_text("11.62 N (2.61 lbf)")
    assert page.wrong == []


def test_the_rim_sticks_then_slips_and_both_carry_while_the_bar_swings_over(open_sheet):
    page = open_sheet(knives.CARDS["C"])
    found = dl.feel(knives.CARDS["C"])
    over = found.handovers[0]
    expect(_fact(page, "Handover")).to_contain_text(
        f"{over.start_deg:.2f}° to {over.end_deg:.2f}°: ball 2 to ball 1, goes up"
    )
    expect(page.locator("#answer")).to_contain_text(f"The rim sticks up to {found.take_up_deg:.2f}°")
    _box(page, "Blade angle, °").fill(f"{over.angle_deg:.3f}")
    expect(page.locator("#answer")).to_contain_text(
        re.compile(r"ball 1 carries on its rim at \S+°, ball 2 carries on its rim")
    )
    expect(page.locator("#answer")).not_to_contain_text("sticks")
    _box(page, "Sideways give, mm/N").fill("0")
    stiff = dl.feel(knives.CARDS["C"].replace({"bar.side_compliance": 0.0}))
    expect(_fact(page, "Break force")).to_contain_text(f"{stiff.break_force:.2f} N")
    expect(_fact(page, "Handover")).to_contain_text(f"{stiff.handovers[0].angle_deg:.2f}°: ball 2 to ball 1, steps up")
    expect(page.locator("#knife-file")).to_contain_text('side_compliance = "0 mm/N, exactly"')
    assert page.wrong == []


def test_a_ball_that_joins_and_lets_go_again_is_told_though_no_ball_hands_over(open_sheet):
    found = dl.feel(knives.JOINED)
    assert found.handovers == ()
    expect(_fact(open_sheet(knives.JOINED), "Handover")).to_contain_text(
        f"none, but at {found.take_up_deg:.2f}° another ball comes to carry as well"
    )


def test_the_copied_text_is_the_knife_on_the_page(open_sheet, tmp_path):
    page = open_sheet(knives.C)
    assert _file(page, tmp_path) == knives.C
    _box(page, "Riding force, N").fill("15.2")
    _box(page, "Rate, N/mm").fill("9.5")
    page.get_by_text("inch, lbf").click()
    _box(page, "Ball 2: recess diameter, in").fill("0.045")
    _box(page, "Ball 1: rest offset, thou").fill("1.5")
    moved = {
        "bar.riding_force": 15.2,
        "bar.rate": 9.5,
        "balls[1].recess.diameter": 1.143,
        "balls[0].recess.rest_offset": 0.0381,
    }
    wanted = knives.C.replace(moved)
    expect(page.locator("#knife-file")).to_contain_text("0.0381")
    found = _file(page, tmp_path)
    assert found == wanted
    force = dl.feel(found).break_force
    expect(_fact(page, "Break force")).to_have_text(f"{force / 4.4482216152605:.2f} lbf ({force:.2f} N)")
    page.get_by_role("checkbox", name="Second ball").uncheck()
    expect(page.locator("#knife-file")).not_to_contain_text("1.143")
    assert _file(page, tmp_path) == with_one_ball(wanted)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.get_by_role("button", name="Copy").click()
    expect(page.locator("#copied")).to_have_text("Copied.")
    assert page.evaluate("navigator.clipboard.readText()") == page.locator("#knife-file").text_content()


def test_a_number_that_moved_is_no_longer_assumed(open_sheet, tmp_path):
    assumed = replace(knives.C, assumed=("blade.tab_arm", "balls[1].track_radius"))
    page = open_sheet(assumed)
    assert _file(page, tmp_path) == assumed
    _box(page, "Tab arm, mm").fill("15")
    expect(page.locator("#knife-file")).to_contain_text("15 ± 0.6 mm")
    assert _file(page, tmp_path) == assumed.replace({"blade.tab_arm": 15.0})
    page.get_by_role("checkbox", name="Second ball").uncheck()
    expect(page.locator("#knife-file")).not_to_contain_text("assumed")


IMPOSSIBLE = {
    "Ball 1: recess diameter, mm": ("1.9", "Ball 1: recess diameter leaves a rim gap of 0.890 mm"),
    "Friction at the rim": ("1.2", "the ball jams"),
    "Riding force, N": ("1", "Riding force has fallen to"),
    "Ball 2: rest offset, mm": ("0.9", "puts the ball on the land"),
    "Ball 1: track radius, mm": ("0.315", "If it is in inches"),
    "Tab arm, mm": ("-14", "must be greater than zero"),
    "Rate, N/mm": ("", "is not a number"),
    "Ball 1: protrusion, mm": ("1.7", "would have fallen out of the bar"),
}


def test_what_cannot_be_keeps_the_last_picture_and_says_why(open_sheet, tmp_path):
    page = open_sheet(knives.C)
    kept = page.locator("#knife-file").text_content()
    for label, (typed, said) in IMPOSSIBLE.items():
        own = _box(page, label).input_value()
        _box(page, label).fill(typed)
        expect(page.locator("#answer")).to_contain_text("This cannot be.")
        expect(page.locator("#answer")).to_contain_text(said)
        expect(page.locator("#stage")).to_have_class("old")
        expect(_fact(page, "Break force")).to_have_text("11.62 N (2.61 lbf)")
        assert page.locator("#knife-file").text_content() == kept
        _box(page, label).fill(own)
        expect(page.locator("#stage")).not_to_have_class("old")
    assert page.wrong == []


def test_a_one_ball_knife_can_have_a_twin(open_sheet, tmp_path):
    page = open_sheet(knives.A)
    expect(page.locator("#sections svg").nth(1)).to_be_hidden()
    expect(_box(page, "Ball 2: protrusion, mm")).to_be_disabled()
    assert _file(page, tmp_path) == knives.A
    page.get_by_role("checkbox", name="Second ball").check()
    expect(page.locator("#answer")).to_contain_text("ball 2 idle by 0.051 mm")
    expect(_fact(page, "Break force")).to_have_text("12.04 N (2.71 lbf)")
    assert len(_file(page, tmp_path).balls) == 2
    page.get_by_text("inch, lbf").click()
    expect(page.locator("#answer")).to_contain_text("ball 2 idle by 2.0 thou")
    expect(_fact(page, "Break force")).to_have_text("2.71 lbf (12.04 N)")


def test_it_fits_a_phone_and_keeps_up_with_the_hand(open_sheet):
    page = open_sheet(knives.C, width=360, height=740)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert (
        page.evaluate(DRAWN, "Ball 1: recess diameter, slider") == 20
    )  # each place of the slider is drawn by the next frame
