"""Notebooks 00 and 01, their panels and the form, as a person uses them: keys, mouse, exact numbers, units, a narrow
window; nothing cut off or jumping.
"""

import re

import pytest
from playwright.sync_api import expect

import detentlib as dl
from tests.browser.lab import PATIENCE, where
from tests.knives import CARDS

CARD = CARDS["A"]

WIDTH = "balls[0].recess.diameter"
CUT = """panel => [...panel.querySelectorAll('.widget-label, button')]
    .filter(e => e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 2).map(e => e.textContent)"""
TIPS = "panel => [...panel.querySelectorAll('[title]')].filter(e => e.offsetParent).map(e => e.title)"
BORE, REST, ANGLE = "Recess diameter, mm", "Rest offset, mm", "Blade angle, °"


def _seen(locator):
    expect(locator).to_be_visible(timeout=PATIENCE)


def _contact(knife):
    return f"{dl.feel(knife).contact_deg[0]:.1f}°"


def _angle(page):
    """The contact angle that the answer line says."""
    return float(re.search(r"rim at ([\d.]+)°", page.answer())[1])


def _choose(page, words):
    """Choose an answer by keyboard, and give a reason."""
    button = page.page.get_by_role("button", name=words).first
    button.focus()
    page.page.keyboard.press("Enter")
    line = page.page.get_by_role("status").filter(has_text=re.compile(rf"Kept: \([a-c]\) {words}"))
    _seen(line)
    page.page.get_by_label("because").first.fill("it rattles")
    page.page.keyboard.press("Tab")
    expect(line).to_contain_text("because “it rattles”", timeout=PATIENCE)


def test_a_page_that_ran_is_saved_only_by_its_reader(ran):
    assert not ran("01_one_ball").page.evaluate("window.jupyterapp.commands.isToggled('docmanager:toggle-autosave')")


def test_one_ball_answers_key_mouse_and_typed_number(ran):
    page = ran("01_one_ball")
    _choose(page, "It falls")
    start = _angle(page)
    page.says(_contact(CARD))
    page.press(BORE, "ArrowRight")
    assert page.number_box(BORE).input_value() == "1.3218"
    page.says(_contact(CARD.replace({WIDTH: 1.3218})))
    page.drag(BORE, -60)
    assert _angle(page) < start
    page.type_number(BORE, "1.397")
    expect(page.status()).to_contain_text(_contact(CARD.replace({WIDTH: 1.397})), timeout=PATIENCE)
    assert page.faults() == []


def test_a_number_is_answered_by_keyboard_alone(ran):
    page = ran("01_one_ball")
    card = page.page.locator(".jp-OutputArea-output", has=page.page.get_by_text("How far past the tang's face"))
    box, unit = card.get_by_label("Answer", exact=True), card.get_by_title("Answer: unit", exact=True)
    card.scroll_into_view_if_needed()
    box.focus()
    cells = page.cells()
    page.page.keyboard.type("0,55")
    page.page.keyboard.press("Enter")
    _seen(card.get_by_text("Not yet:"))
    box.fill("8,72")
    page.page.keyboard.press("Tab")
    expect(unit).to_be_focused()
    page.page.keyboard.type("thou")
    expect(unit).to_have_value("thou")
    _seen(card.get_by_text("Not yet:"))  # left for its unit, and not judged yet
    page.page.keyboard.press("Tab")
    page.page.keyboard.press("Enter")
    _seen(card.get_by_text("Yes. 0.2214 mm (8.72 thou)."))
    card.get_by_role("button", name="Show the working").focus()
    page.page.keyboard.press("Enter")
    _seen(card.locator("mjx-container").first)
    assert page.cells() == cells
    fold = page.page.locator(".jp-OutputArea summary").first
    fold.focus()
    cells = page.cells()
    for key, opened in (("Enter", True), (" ", False)):
        fold.press(key)
        expect(fold.locator("..")).to_have_js_property("open", opened)
    assert page.cells() == cells
    assert page.faults() == []


def _fill(form, label, text):
    box = form.get_by_label(label, exact=True)
    box.fill(text)
    box.press("Enter")


def _press(form, name):
    form.get_by_role("button", name=name, exact=True).click()


def test_the_form_takes_a_knife_and_tells_what_is_wrong(ran):
    page = ran("00_start_here")
    form = page.page.locator(".jp-OutputArea-output", has=page.page.get_by_role("button", name="Show the numbers"))
    form.get_by_text("It has a second ball").click()
    form.get_by_label("Ball 2 is").select_option("with numbers of its own")
    form.get_by_text("More, if you know it").click()
    _seen(form.get_by_label("Ball 2: recess diameter, mm", exact=True))
    assert page.faults() == []
    form.get_by_text("It has a second ball").click()

    _fill(form, "Ball diameter, mm", "1/16 in")
    _seen(form.get_by_text("= 1.5875 ± 0.06 mm, a guess"))
    how = form.get_by_label("Ball diameter: how it was measured", exact=True)
    expect(how).to_have_value("guess")
    page.page.keyboard.press("Tab")
    page.page.keyboard.press("Tab")
    expect(how).to_be_focused()
    far = form.get_by_label("Hinge distance, mm", exact=True)
    far.focus()
    for key in ("3", "7", "Tab", "Tab"):  # faster than the kernel hears of the number
        page.page.keyboard.press(key)
    expect(form.get_by_label("Hinge distance: how it was measured", exact=True)).to_be_focused()
    how.focus()
    cells = page.cells()
    page.page.keyboard.press("ArrowDown")
    expect(how).not_to_have_value("guess")
    page.page.keyboard.type("stock")
    expect(how).to_have_value("stock size")
    _seen(form.get_by_text("= 1.5875 within 0.009 mm"))
    expect(how).to_be_focused()
    assert page.cells() == cells
    page.page.keyboard.press("Tab")
    expect(form.get_by_label("Protrusion, mm", exact=True)).to_be_focused()
    page.page.keyboard.type("0,42")
    page.page.keyboard.press("Tab")
    _seen(form.get_by_text("has a comma in the number"))
    _press(form, "Show the numbers")
    _seen(form.get_by_text("No numbers yet. Look at what is red beside Protrusion, Recess diameter."))
    _fill(
        form, "Protrusion, mm", "0.42, depth micrometer"
    )  # by keyboard: the word behind the number goes into the choice
    expect(form.get_by_title("Protrusion: how it was measured", exact=True)).to_have_value("depth micrometer")
    _fill(form, BORE, "0.052 in")
    _press(form, "Show the numbers")
    _seen(form.get_by_role("cell", name="Break force at the tab"))
    _seen(form.get_by_text("Guessed or assumed, as nobody measured it"))

    form.get_by_text("It has a second ball").click()  # two thou lower than ball 1, and nothing else to fill
    form.get_by_label("Ball 2 is").select_option("lower than ball 1")
    _fill(form, "Ball 2: lower by, mm", "2 thou")
    _seen(form.get_by_text("= 0.0508 ± 0.02 mm, a guess"))
    assert page.faults() == []
    form.get_by_text("It has a second ball").click()

    form.get_by_label("Start from a file").fill("knives/pellowfen-a.toml")
    _press(form, "Load")
    expect(form.get_by_label("Riding force, N", exact=True)).to_have_value("17.04 N", timeout=PATIENCE)
    form.get_by_label("Save as").fill("knives/pellowfen-b")
    _press(form, "Save")
    _seen(form.get_by_text("knives/pellowfen-b.toml is there already"))
    form.get_by_label("Save as").fill("knives/my-own")
    _press(form, "Save")
    _seen(form.get_by_text("Saved as knives/my-own.toml."))
    assert page.faults() == []


def _beside(page, form):
    """Whether the drawings stand to the right of the boxes, and not above them."""
    drawing, box = (
        where(form.get_by_alt_text("Ball 1 in its recess")),
        where(form.get_by_label(BORE, exact=True)),
    )
    return drawing["x"] > box["x"]


def test_a_knife_goes_from_two_minutes_through_the_form_to_a_page(ran):
    page = ran("00_start_here", 1280, 860)
    two = page.page.locator(".jp-OutputArea-output", has=page.page.get_by_role("button", name="Show what they say"))
    form = page.page.locator(".jp-OutputArea-output", has=page.page.get_by_role("button", name="Show the numbers"))
    assert _beside(page, form)
    _press(two, "Show what they say")
    _seen(two.get_by_text("No numbers yet. Look at what is red beside Ball diameter"))
    _fill(two, "Ball diameter, mm", "1/16 in")
    _fill(two, "How far it stands out, mm", "about 0.42")
    _fill(two, BORE, "#55, drill")
    _fill(two, "Pull that opens, N", "2.7 lb, luggage scale")
    _seen(two.get_by_text("= 12.01 ± 1.5 N (lb of a scale, taken as lbf)"))
    _press(two, "Show what they say")
    _seen(two.get_by_text("Measure next: the let-back pull, with the same scale."))
    _seen(two.get_by_role("cell", name="Barrier"))
    _press(two, "Put these into the form")
    expect(form.get_by_label(BORE, exact=True)).to_have_value("#55")
    _press(form, "Settle it: one ball or two")
    _seen(form.get_by_text("a twin of ball 1 was put in"))
    _seen(form.get_by_text(re.compile("“Two balls, two times the snap.” on .*: FALSE")))
    _seen(form.get_by_text("What would change it: a second leaf with a ball of its own: true"))
    assert page.faults() == []
    form.get_by_label("Name of the page").fill("knives/argued")
    _press(form, "Write the page")
    _seen(form.get_by_text("Written: knives/argued.md"))
    form.get_by_label("Who claimed it").fill("a customer")
    _press(form, "Write the page")
    _seen(form.get_by_text("tick the box above and save again"))
    form.get_by_text("Replace the file that is there").locator("visible=true").click()
    _press(form, "Write the page")
    _seen(form.get_by_text("Written: knives/argued.md"))
    form.get_by_text("the hand-out, with the arithmetic").click()
    form.get_by_text("the live sheet, with sliders").click()
    form.get_by_label("Name of the files").fill("knives/for-them")
    _press(form, "Write them")
    _seen(form.get_by_text("Written: knives/for-them-letter.html"))
    for width in (1000, 390):
        page.page.set_viewport_size({"width": width, "height": 900})
        page.page.wait_for_function(f"() => window.innerWidth === {width}")
        assert page.faults() == []


@pytest.fixture
def one_ball(ran):
    """A function (width, height) that gives notebook 01 with its panel in view, in mm and as it was at first."""
    return lambda width=1280, height=860: ran("01_one_ball", width, height)


def _boxes(page):
    """Where answer line and picture stand within the panel, and the panel's height."""
    panel = where(page.panel())
    places = [where(part) for part in (page.status(), page.picture())]
    return [(round(place["x"] - panel["x"]), round(place["y"] - panel["y"])) for place in places], round(
        panel["height"]
    )


def test_an_arrow_key_moves_the_picture_and_the_words(one_ball):
    page = one_ball()
    before = page.sentence()
    page.press(BORE, "ArrowRight")
    expect(page.number_box(BORE)).to_have_value("1.3218")
    expect(page.status()).not_to_contain_text(before)
    expect(page.picture()).to_have_attribute("alt", re.compile(re.escape(page.sentence())))
    page.press(BORE, "ArrowLeft")
    expect(page.status()).to_contain_text(before)
    assert page.faults() == []


def test_a_number_is_typed_exactly(one_ball):
    page = one_ball()
    page.type_number(BORE, "1.1811")
    expect(page.number_box(BORE)).to_have_value("1.1811")
    expect(page.status()).to_contain_text("at 41.1°")


def test_units_change_back_and_forth_without_changing_the_knife(one_ball):
    page = one_ball()
    before = page.sentence()
    page.panel().get_by_role("button", name="thou, lbf").click()
    expect(page.number_box("Recess diameter, thou")).to_have_value("52")
    expect(page.number_box("Rest offset, thou")).to_have_value("4.1339")
    expect(page.status()).to_contain_text("rim gap 23.6 thou")
    page.press("Recess diameter, thou", "ArrowRight")
    page.press("Recess diameter, thou", "ArrowLeft")
    page.panel().get_by_role("button", name="mm, N").click()
    expect(page.number_box(BORE)).to_have_value("1.3208")
    expect(page.status()).to_contain_text(before)


def test_an_impossible_setting_keeps_the_picture_and_says_why(one_ball):
    page = one_ball()
    page.press(REST, "Home")
    expect(page.picture()).to_have_attribute("alt", re.compile(re.escape(page.sentence())))
    source = page.picture().get_attribute("src")
    page.press(BORE, "End")
    expect(page.status()).to_contain_text("This cannot be. Recess diameter = ")
    assert page.picture().get_attribute("src") == source
    expect(page.picture()).to_have_css("filter", "grayscale(1)")
    page.panel().get_by_role("button", name="Reset").click()
    expect(page.picture()).to_have_css("filter", "none")
    expect(page.number_box(BORE)).to_have_value("1.3208")


def test_nothing_jumps_and_all_is_in_view(one_ball):
    page = one_ball()
    places = _boxes(page)
    picture = where(page.picture())
    assert places[1] <= 640
    assert picture["width"] == 770
    for label, key in ((BORE, "Home"), (ANGLE, "End"), (REST, "Home"), (BORE, "End")):
        page.press(label, key)
        assert _boxes(page) == places
    page.panel().get_by_role("button", name="thou, lbf").click()
    expect(page.number_box("Recess diameter, thou")).to_be_visible()
    assert _boxes(page) == places


@pytest.mark.parametrize("size", [(700, 860), (390, 844)], ids=["half a window", "phone"])
def test_in_a_narrow_window_the_picture_comes_first_and_stays_in_view(one_ball, size):
    page = one_ball(*size)
    slider, picture = where(page.handle(BORE)), where(page.picture())
    assert picture["y"] + picture["height"] <= slider["y"]
    assert picture["x"] + picture["width"] <= size[0]
    for label in (BORE, ANGLE):
        page.press(label, "ArrowRight")
        page.page.wait_for_timeout(300)
        handle, picture = where(page.handle(label)), where(page.picture())
        assert picture["y"] >= 0
        assert picture["y"] + picture["height"] <= handle["y"]
        assert handle["y"] + handle["height"] <= size[1]
    assert page.panel().evaluate(CUT) == []


def test_play_by_key_swings_the_blade_stops_by_key_and_by_itself(one_ball):
    page = one_ball()
    page.panel().get_by_role("button", name="Play the swing").focus()
    for shown in ("Stop", "Play the swing", "Stop"):
        page.page.keyboard.press("Enter")
        expect(page.panel().get_by_role("button", name=shown)).to_be_visible()
    expect(page.status()).to_have_attribute("aria-live", "off")
    expect(page.panel().get_by_role("button", name="Play the swing")).to_be_visible()
    expect(page.status()).to_have_attribute("aria-live", "polite")
    expect(page.number_box(ANGLE)).to_have_value("6")
    expect(page.status()).to_contain_text("At 6.0°")
    assert page.faults() == []


def test_a_number_beyond_the_slider_is_said(one_ball):
    page = one_ball()
    page.type_number(BORE, "99")
    expect(page.status()).to_contain_text("Recess diameter: 99 mm lies beyond the ends of its slider, 1.11 to 1.62 mm.")
    expect(page.number_box(BORE)).to_have_value("1.3208")


def test_who_cannot_see_hears_names_and_what_is_pressed(one_ball):
    page = one_ball()
    for name in ("Recess diameter: 1.11 to 1.62 mm", "Blade angle: 0 to 6 °"):
        expect(page.panel().get_by_role("slider", name=name)).to_be_attached()
    units = page.panel().get_by_role("group", name="Show in")
    expect(units.get_by_role("button", name="mm, N")).to_have_attribute("aria-pressed", "true")
    units.get_by_role("button", name="thou, lbf").click()
    expect(units.get_by_role("button", name="thou, lbf")).to_have_attribute("aria-pressed", "true")
    expect(units.get_by_role("button", name="mm, N")).to_have_attribute("aria-pressed", "false")
    expect(page.panel().get_by_role("slider", name=re.compile("Recess diameter: .* thou"))).to_be_attached()


def test_a_dragged_slider_ends_where_the_hand_lets_go(one_ball):
    page = one_ball()
    page.press(ANGLE, "ArrowRight")  # answered, so nothing that was asked before is still under way
    handle, mouse = page.handle(ANGLE), page.page.mouse
    handle.hover()
    box = where(handle)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    mouse.down()
    mouse.move(x + 100, y, steps=40)
    mouse.up()
    said = float(handle.get_attribute("aria-valuetext"))
    assert said > 1.0
    expect(page.number_box(ANGLE)).to_have_value(f"{said:g}")
    expect(page.status()).to_contain_text(f"At {said:.1f}°")
    page.page.wait_for_timeout(500)  # nothing late moves it back
    assert float(handle.get_attribute("aria-valuetext")) == said
    page.says(f"At {said:.1f}°")


def test_the_stills_show_before_the_start_page_is_run(open_notebook):
    page = open_notebook("00_start_here")
    page.page.locator(".jp-OutputArea-output img[src^='data:image/png']").first.wait_for(state="attached")


def test_the_panels_of_the_start_page(ran):
    page = ran("00_start_here", 1280, 860)
    for place in range(3):
        assert page.panel(place).evaluate(CUT) == []
        assert "null" not in page.panel(place).evaluate(TIPS)
    before = page.sentence()
    page.panel().get_by_label("Try", exact=True).select_option("dry and dirty, friction 0.30")
    expect(page.number_box("Friction at the rim")).to_have_value("0.3")
    expect(page.status()).not_to_contain_text(before)
    page.panel().get_by_role("button", name="letting back").click()
    expect(page.status()).to_contain_text("it closes against up to")
    page.panel().get_by_role("button", name="Reset").click()
    expect(page.number_box("Friction at the rim")).to_have_value("0.12")
    expect(page.status()).to_contain_text(before)
