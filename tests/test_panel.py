"""Panels: every slider of every notebook from end to end, exact numbers, units, refusals, stills, true pictures."""

import base64
import inspect
import io
import itertools
import json
import math
import re
import threading
import time

import numpy as np
import PIL.Image
import pytest
import shapely
from matplotlib.text import Text

import detentlib as dl
from detentlib import lesson
from detentlib.draw import scenes, scenes_spring
from detentlib.draw.controls import Control
from detentlib.draw.drawing import BACK, BALLS, OPENING, PUSH
from detentlib.draw.panel import STILL_BYTES, Panel, png
from detentlib.draw.section import recess_profile, tang_path
from detentlib.draw.story import Story
from detentlib.mechanics import bar as bars
from detentlib.say.measure import MM, THOU
from tests.knives import CARDS, FOLDER, A, B, C, D, E

BORE, REST, ANGLE = "balls[0].recess.diameter", "balls[0].recess.rest_offset", "blade angle"
RIDING, RIM = "bar.riding_force", "friction.rim"
OWN_KNIFE = re.compile(r'choose_knife\("([\w-]+)"')
IMPORT = re.compile(r"^from detentlib\.lesson import (.+)$", re.MULTILINE)


def _panels_of_notebooks():
    """{name: (function, knife of the notebook)} of every panel that a notebook shows."""
    found = {}
    for path in sorted(FOLDER.parent.glob("*.ipynb")):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        code = "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
        names = [name for names in IMPORT.findall(code) for name in names.split(", ")]
        makers = {name: getattr(lesson, name) for name in names}
        panels = {
            name: make
            for name, make in makers.items()
            if getattr(make, "__module__", "").startswith("detentlib.draw.scenes")
        }
        if panels:
            knife = dl.read_knife(FOLDER / f"{OWN_KNIFE.search(code)[1]}.toml")
            found |= {name: (make, knife) for name, make in panels.items()}
    return found


PANELS = _panels_of_notebooks()


def _panel(name, knife=None):
    """The panel of this name; one that compares takes D as the other knife."""
    make, own = PANELS[name]
    needed = [
        parameter for parameter in inspect.signature(make).parameters.values() if parameter.default is parameter.empty
    ]
    return make(*[knife or own, D][: len(needed)])


def _ends(panel):
    """{name: (low, start, high)} of every slider."""
    return {path: (num.control.lo, num.value, num.control.hi) for path, num in panel._nums.items()}


def _words(panel):
    """The words of the choice, one after the other for ever, as {name: word}."""
    return itertools.cycle([{panel._choice.name: word} for word in panel._choice.options] if panel._choice else [{}])


def _refused(panel):
    return panel.answer.startswith("This cannot be.")


def test_the_notebooks_show_panels():
    assert {"whole_knife", "side_by_side", "one_ball"} <= set(PANELS)


@pytest.mark.parametrize("name", PANELS)
def test_every_corner_draws_or_says_why(name):
    panel = _panel(name)
    ends, words, drawn = _ends(panel), _words(panel), 0
    for at in itertools.product(*((low, high) for low, _, high in ends.values())):
        before = panel.alt
        panel.move(dict(zip(ends, at, strict=True)) | next(words))
        assert not re.search(r"\bnan\b|\binf\b|None", panel.answer + panel.alt)
        if _refused(panel):
            assert len(panel.answer) > 100
            assert panel.alt == before
            assert "grayscale" in panel._image.value
        else:
            drawn += 1
            assert re.search(r"\d", panel.answer)
            assert re.search(r"\d.*\d", panel.alt)
            assert "grayscale" not in panel._image.value
    assert drawn >= 2 ** len(ends) / 4


@pytest.mark.parametrize("name", ["one_ball", "whole_knife", "side_by_side"])
@pytest.mark.parametrize("knife", [B, C, D, E], ids=lambda knife: knife.title)
def test_every_slider_end_draws_or_says_why_for_every_knife(name, knife):
    panel = _panel(name, knife)
    start, picture = panel.answer, panel._png
    for path, (low, at, high) in _ends(panel).items():
        for end in (low, high):
            panel.move({path: end})
            assert end == at or (panel.answer, panel._png) != (start, picture)
        panel.move({path: at})
        assert (panel.answer, panel._png) == (start, picture)


@pytest.mark.parametrize("make", [scenes.one_ball, scenes.whole_knife])
def test_what_one_slider_does_stays_inside_the_plots(make):
    panel = make(A)
    for path, (low, at, high) in _ends(panel).items():
        for end in (low, high):
            panel.move({path: end})
            for plot in panel._scene._plots:
                bottom, top = plot.ax.get_ylim()
                heights = np.concatenate([curve.now.get_ydata() for curve in plot.curves])
                assert heights.max() <= top
                assert plot.from_zero or heights.min() >= bottom
        panel.move({path: at})


def test_a_curve_that_leaves_its_plot_says_how_far_it_goes():
    panel = scenes.whole_knife(A)
    beyond = panel._scene._plots[1].beyond
    panel.move({RIDING: 25.0})
    assert beyond.get_text() == ""
    panel.move({RIDING: 25.0, RIM: 0.4, BORE: 1.4})
    felt = dl.feel(A.replace({RIDING: 25.0, RIM: 0.4, "friction.flat": 0.4, BORE: 1.4}))
    assert f"↑ to {felt.break_force:.2f} N" in beyond.get_text()


def test_axes_stay_put():
    panel = scenes.whole_knife(A)
    limits = [plot.ax.axis() for plot in panel._scene._plots]
    panel.move({BORE: 1.45, RIM: 0.3, ANGLE: 2.0})
    assert [plot.ax.axis() for plot in panel._scene._plots] == limits


def test_the_answer_says_what_the_library_says():
    panel = scenes.whole_knife(A)
    panel.move({BORE: 1.1811, RIM: 0.2})
    felt = dl.feel(A.replace({BORE: 1.1811, RIM: 0.2}))
    for said in (
        f"{felt.break_force:.2f} N",
        f"{felt.letback_force:.2f} N",
        f"{felt.barrier:.2f} mJ",
        f"{felt.contact_deg[0]:.1f}°",
    ):
        assert said in panel.answer
        assert said in panel.alt
    assert panel.knife == A.replace({BORE: 1.1811, RIM: 0.2})


def test_ten_newtons_at_thirty_degrees_lift_seventeen():
    panel = scenes.one_ball(A)
    panel.move({BORE: 1.12, REST: 0.56 - A.balls[0].radius * math.sin(math.radians(30))})
    assert "at 30.0°" in panel.answer
    assert "10 N of push at the ball lifts 17.3 N" in panel.answer


def test_side_by_side_tells_both_knives():
    panel = scenes.side_by_side(A, D)
    for knife in (A, D):
        assert f"{knife.title}: break force {dl.feel(knife).break_force:.2f} N" in panel.answer
    assert "1.27 × the break force, 0.99 × the barrier" in panel.answer
    same = scenes.side_by_side(A, A.replace({RIM: 0.2}))
    assert "Pellowfen A (1): " in same.answer
    assert "Pellowfen A (2): " in same.answer


def test_a_misnamed_control_names_near_ones():
    scene = scenes.whole_knife(A)._scene
    with pytest.raises(ValueError, match=re.escape(f"Did you mean {BORE}")):
        Panel(A, [Control("balls[0].recess.diametre", "Wrong", 1.0, 2.0, 0.1)], scene)
    with pytest.raises(
        ValueError, match=re.escape(f"preset 'wet': the panel has no control friction.rin. Did you mean {RIM}")
    ):
        Panel(A, [Control(RIM, "Friction", 0.0, 0.4, 0.01)], scene, presets={"wet": {"friction.rin": 0.1}})
    with pytest.raises(ValueError, match=re.escape("move: Friction at the rim runs from 0 to 0.4, not to 0.5")):
        scenes.whole_knife(A).move({RIM: 0.5})
    with pytest.raises(
        ValueError, match=re.escape(f"move: the panel has no control blade angel. Did you mean {ANGLE}")
    ):
        scenes.whole_knife(A).move({"blade angel": 1.0})


def test_a_range_is_widened_to_hold_the_knife_s_own_number():
    panel = Panel(A, [Control(RIM, "Friction", 0.2, 0.4, 0.01)], scenes.whole_knife(A)._scene)
    assert _ends(panel)[RIM] == (A.friction.rim, A.friction.rim, 0.4)


def test_presets_fit_a_knife_at_the_edge_of_what_is_usual():
    for change in ({BORE: 1.65, REST: 0.15}, {REST: -0.1}, {RIDING: 40.0, RIM: 0.01}):
        panel = scenes.whole_knife(A.replace(change))
        for name in panel._presets:
            panel._preset.value = name
            assert panel.answer


def test_a_knife_that_cannot_be_shows_its_reason_at_once():
    with pytest.raises(dl.KnifeError, match="drop past its widest part"):
        scenes.whole_knife(A.replace({BORE: 1.62, REST: 0.0}))


def test_a_refused_setting_keeps_the_last_picture_and_says_what_to_do():
    panel = scenes.one_ball(A)
    panel.move({REST: 0.01})
    knife, alt, picture = panel.knife, panel.alt, panel._png
    panel.move({BORE: 1.61})
    assert _refused(panel)
    assert "Recess diameter = 1.61 mm: leaves a rim gap" in panel.answer
    assert "Take a smaller recess" in panel.answer
    assert (panel.knife, panel.alt, panel._png) == (knife, alt, picture)
    assert 'alt="The last knife that works: ' in panel._image.value
    panel.move({BORE: 1.3})
    assert not _refused(panel)
    assert panel.knife.get(BORE) == 1.3


def test_a_typed_number_is_exact_and_a_slid_one_stands_on_the_grid():
    panel = scenes.whole_knife(A)
    num = panel._nums[BORE]
    num.box.value = 1.1811
    assert panel.knife.get(BORE) == 1.1811
    assert num.slider.value == pytest.approx(1.1808)
    num.slider.value = 1.1808 + 4e-13  # the browser reckons its own last digits
    assert panel.knife.get(BORE) == 1.1811
    num.slider.value = 1.1818
    assert panel.knife.get(BORE) == 1.1818
    assert num.box.value == 1.1818
    panel._reset()
    assert panel.knife == A


def test_units_change_labels_ranges_and_words_but_not_the_knife():
    panel = scenes.whole_knife(A)
    panel.move({BORE: 1.1811, ANGLE: 0.5})
    knife, metric = panel.knife, panel.answer
    panel._units.value = THOU
    num = panel._nums[BORE]
    assert num.box.description == "Recess diameter,\u00a0thou"
    assert num.box.value == 46.5
    assert panel._nums[RIDING].box.value == pytest.approx(3.8307)
    assert panel._nums[RIDING].box.description == "Riding force,\u00a0lbf"
    assert num.slider.min * 0.0254 == pytest.approx(num.control.lo, abs=0.002)
    assert num.slider.max * 0.0254 == pytest.approx(num.control.hi, abs=0.002)
    assert f"{dl.feel(knife).break_force / 4.4482216:.2f} lbf" in panel.answer
    assert panel.knife == knife
    assert panel._scene._plots[0].ax.get_ylabel() == "lift at ball 1, thou"
    num.box.value = 52.0
    assert panel.knife.get(BORE) == pytest.approx(1.3208, abs=1e-9)
    panel.move({BORE: 1.1811})
    panel._units.value = MM
    assert panel.answer == metric


@pytest.mark.parametrize("name", PANELS)
def test_box_slider_and_number_agree_at_every_end_in_both_units(name, monkeypatch):
    panel = _panel(name)
    monkeypatch.setattr(panel, "_show", lambda: None)  # the picture only reads the numbers
    for ends in zip(*_ends(panel).values(), strict=True):
        panel.move(dict(zip(panel._nums, ends, strict=True)))
        for measure in (MM, THOU, MM):
            panel._units.value = measure
            for num, end in zip(panel._nums.values(), ends, strict=True):
                _agrees(num, end, 1e-8)
    for measure in (THOU, MM):
        panel._units.value = measure
        for num in panel._nums.values():
            for last, place in ((num.control.lo, num.slider.min), (num.control.hi, num.slider.max)):
                num.slider.value = place
                assert num.value == pytest.approx(last, abs=10.0**-num._digits / num._factor)
                # an end is typed with no more decimals than the box shows
                num.box.value = round(last * num._factor, num._digits)
                assert num.value == pytest.approx(last, abs=10.0**-num._digits / num._factor)
                _agrees(num, num.value, 0.5001 * num._step)


def _agrees(num, value, slack):
    """Number, box and slider say the same: the box to its last digit, the slider within the slack."""
    assert num.value == value
    shown = value * num._factor
    assert num.box.value == pytest.approx(shown, abs=0.51 * 10.0**-num._digits)
    assert num.slider.value == pytest.approx(shown, abs=slack)


@pytest.mark.parametrize("answered", ["up", "down"])
def test_a_low_end_off_the_grid_stays_when_the_browser_answers_with_the_nearest_place(answered):
    panel = scenes.whole_knife(A)
    panel.move({BORE: panel._nums[BORE].control.lo})
    num, knife = panel._nums[BORE], panel.knife
    place = num.slider.min + (num._step if answered == "up" else 0.0)
    assert abs(place - num.slider.value) < num._step
    if abs(place - num.slider.value) < num._step / 2:
        num.slider.value = place
        assert panel.knife == knife
    num.slider.value = num.slider.min + 3 * num._step
    assert panel.knife.get(BORE) == pytest.approx(num.slider.value)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", PANELS)
def test_wherever_the_sliders_stand_there_is_a_picture_or_a_reason(name):
    panel, rng = _panel(name), np.random.default_rng(11)
    for _ in range(30):
        num = list(panel._nums.values())[rng.integers(len(panel._nums))]
        low, high = num.slider.min, num.slider.max
        num.slider.value = rng.choice([low, high, rng.uniform(low, high)], p=[0.15, 0.15, 0.7])
        if panel._choice and rng.random() < 0.3:
            panel._choose.value = str(rng.choice(panel._choice.options))
        if rng.random() < 0.15:
            panel._units.value = THOU if panel._units.value is MM else MM
        assert not re.search(r"\bnan\b|\binf\b|None", panel.answer + panel.alt)
        if _refused(panel):
            assert re.fullmatch(
                r"This cannot be\. .+: .{20,}\. .{20,}\. .{10,}\. The grey picture is the last one that works\.",
                panel.answer,
            )
            continue
        panel._blit.canvas.restore_region(panel._blit._fixed)
        fixed = np.array(panel._blit.canvas.buffer_rgba())[..., :3]
        drawn, ground = (np.asarray(PIL.Image.open(io.BytesIO(found))) for found in (panel._png, png(fixed)))
        assert (drawn != ground).sum() > 2000


def _count_shows(panel, monkeypatch):
    seen, show = [], panel._scene.show
    monkeypatch.setattr(panel._scene, "show", lambda *args: seen.append(args) or show(*args))
    return seen


def test_a_preset_sets_many_sliders_under_one_redraw(monkeypatch):
    panel = scenes.whole_knife(A)
    seen = _count_shows(panel, monkeypatch)
    panel.move({BORE: 1.2, REST: 0.1})
    panel._preset.value = "dry and dirty, friction 0.30"
    assert len(seen) == 2
    assert panel.knife == A.replace({RIM: 0.30})
    panel._nums[REST].slider.value = 0.07
    assert panel._preset.value == ""


def test_before_is_kept_in_grey_until_reset():
    panel = scenes.whole_knife(A)
    curve = panel._scene._plots[1].curves[0]
    heights = curve.now.get_ydata()
    panel._keep()
    panel.move({RIM: 0.3})
    assert np.array_equal(curve.before.get_ydata(), heights)
    assert not np.array_equal(curve.now.get_ydata(), heights)
    assert panel._scene.note.get_text() == "grey: before"
    panel._reset()
    assert len(curve.before.get_xdata()) == 0
    assert panel._scene.note.get_text() == ""


def test_two_threads_leave_one_whole_picture():
    panel = scenes.whole_knife(A)
    errors = []

    def drag(path, values):
        try:
            for value in values:
                panel.move({path: value})
        except Exception as error:
            errors.append(error)

    hands = [
        threading.Thread(target=drag, args=(BORE, np.linspace(1.2, 1.3, 12))),
        threading.Thread(target=drag, args=(RIM, np.linspace(0.1, 0.2, 12))),
    ]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert not errors
    assert panel.knife == A.replace({BORE: 1.3, RIM: 0.2})
    fresh = scenes.whole_knife(A)
    fresh.move({BORE: 1.3, RIM: 0.2})
    assert (panel.answer, panel._png) == (fresh.answer, fresh._png)


@pytest.mark.parametrize("name", PANELS)
def test_an_output_holds_a_small_still_and_a_short_text(name):
    (first, told), (again, _) = (_panel(name)._repr_mimebundle_() for _ in range(2))
    assert told == {"image/png": {"alt": _panel(name).alt}}
    assert first["image/png"] == again["image/png"]
    assert first["text/plain"] == again["text/plain"]
    assert re.fullmatch(r"<Panel: [^,]+, Pellowfen [A-E]>", first["text/plain"])
    assert "application/vnd.jupyter.widget-view+json" in first
    data = base64.b64decode(first["image/png"])
    assert len(data) <= STILL_BYTES
    image = PIL.Image.open(io.BytesIO(data))
    assert len(image.getcolors()) <= 64
    assert image.width == 770


def test_colours_are_told_from_the_ground_and_from_each_other_without_colour():
    def luminance(colour):
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return np.dot(linear, (0.2126, 0.7152, 0.0722))

    for colour in (*BALLS, OPENING, BACK, PUSH):
        assert 1.05 / (luminance(colour) + 0.05) >= 4.5
    for panel in (scenes.one_ball(A), scenes.whole_knife(B), scenes.side_by_side(A, B)):
        for plot in panel._scene._plots:
            looks = [(str(line.style), line.width) for line in plot.lines]
            assert len(set(looks)) == len(looks)


R = "balls[0].recess."
RIMS = {
    "sharp": {},
    "chamfered": {R + "chamfer_width": 0.05},
    "rounded": {R + "edge_radius": 0.05},
    "off track": {R + "off_track": 0.05},
    "on its floor": {R + "depth": 0.2},
    "through": {R + "depth": None},
    "dimple": {R + "diameter": 0.0, R + "chamfer_width": 0.66, R + "depth": None},
    "far rim": {REST: -0.04},
    "giving sideways": {"bar.side_compliance": 0.003},
    "chamfered and giving": {R + "chamfer_width": 0.05, "bar.side_compliance": 0.003},
}
STANDING = {name: A.replace(change) for name, change in RIMS.items()} | {"C": C, "D": D, "E": E}
STANDING |= {f"card {letter}": card for letter, card in CARDS.items()}
STANDING["in its middle"] = CARDS["A"].replace({REST: 0.02})
STANDING["bar face on the tang"] = CARDS["A"].replace({BORE: 1.5})


@pytest.mark.parametrize("way", ["opening", "letting back"])
@pytest.mark.parametrize("knife", STANDING.values(), ids=STANDING)
def test_the_drawn_ball_touches_the_drawn_tang_and_never_cuts_into_it(knife, way):
    story, give = None, bars.side_compliance(knife.bar, knife.balls[0]) / knife.balls[0].hinge_distance ** 2
    for angle in (0.0, 0.1, 0.2, *np.linspace(0.3, 5.5, 12)):
        story = Story(knife, 6.0, angle, story)
        seats = [story.seat(i, way) for i in range(len(knife.balls))]
        arms = [ball.hinge_distance * math.sin(math.radians(ball.track_to_bar_deg)) for ball in knife.balls]
        turn = give * sum(seat.push * arm for seat, arm in zip(seats, arms, strict=True))
        face = give * knife.friction.on_flat * seats[0].face * arms[0]  # its friction can point either way
        for seat, ball, arm in zip(seats, knife.balls, arms, strict=True):
            recess, relative = ball.recess, math.radians(angle) - turn * arm / ball.track_radius
            tang = shapely.union_all(
                [shapely.Polygon(part) for part in tang_path(recess, -seat.offset, 3.0, 2.0).to_polygons()]
            )
            centre = shapely.Point(0.0, ball.protrusion - seat.gap - ball.radius)
            clear = tang.distance(centre) - ball.radius
            assert not tang.contains(centre)
            assert clear == pytest.approx(0.0, abs=5e-5) if seat.load > 0 else clear > -5e-5
            place = dl.formulas["L2"](
                theta=relative,
                track_radius=ball.track_radius,
                off_track=recess.off_track,
                rest_offset=recess.rest_offset,
            )
            assert abs(seat.offset) == pytest.approx(place.distance, abs=1e-6 + face * arm)
            assert seat.held or seat.offset * place.cos_chi >= 0


def test_a_bar_face_on_the_tang_is_drawn_and_said():
    panel = scenes.one_ball(CARDS["A"])
    section = panel._scene._sections[0]
    assert not section.landed.get_visible()
    panel.move({BORE: 1.5})
    seat = Story(panel.knife, 6.0).seat(0)
    assert (seat.gap, seat.face > 0) == (pytest.approx(0.0, abs=1e-12), True)
    assert section.landed.get_visible()
    assert section.face.name.get_text() == f"face {seat.face:.2f} N"
    assert f"the bar face on the tang beside it with {seat.face:.2f} N" in panel.answer
    assert "takes part of the force beside the ball" in panel.answer


def test_where_rim_and_face_share_at_the_stop_both_ways_have_one_place_and_one_torque():
    """The shut knife is one: what the two carry hangs on friction, but not their moment, side push, or what holds."""
    card = CARDS["A"].replace({BORE: 1.521})
    story, arm = Story(card, 6.0), card.balls[0].hinge_distance
    out, back = (story.seat(0, way) for way in ("opening", "letting back"))
    assert out.offset == pytest.approx(back.offset, abs=1e-9)
    assert story.run.torque[0] == pytest.approx(story.back.torque[0], rel=1e-9)
    assert (out.load + out.face) * arm == pytest.approx((back.load + back.face) * arm, rel=1e-9)
    assert 0 < out.load < back.load
    # friction at the face still points as it did when the blade snapped shut
    assert out.push - card.friction.on_flat * out.face == pytest.approx(
        back.push - card.friction.on_flat * back.face, rel=1e-9
    )


def test_one_story_of_a_ball_in_the_middle_of_its_recess():
    """Words, arrow and curve say which way the blade is pressed, and how hard."""
    for rest, towards in ((0.02, "shut"), (-0.05, "open")):
        panel = scenes.one_ball(CARDS["A"].replace({REST: rest}))
        seat, section = Story(panel.knife, 6.0).seat(0, "no friction"), panel._scene._sections[0]
        assert f"presses the blade {towards} with {abs(seat.push):.2f} N" in panel.answer
        assert section.push.name.get_text() == f"{abs(seat.push):.2f} N at the ball"
        assert (seat.push > 0) == (towards == "shut")
        assert panel._scene._plots[1].curves[0].now.get_ydata()[0] == pytest.approx(seat.push / seat.load)


def test_no_panel_before_the_question_says_how_far_the_bar_gives_sideways():
    for make in (scenes.one_ball, scenes.whole_knife, scenes_spring.one_spring):
        panel = make(CARDS["A"])
        assert "sideways" not in panel.answer
        assert not any("sideways" in text.get_text() for text in panel._scene.figure.findobj(Text))


def test_the_drawn_force_lies_on_the_edge_of_the_friction_cone():
    for way, sign in (("opening", 1), ("letting back", -1)):
        seat = Story(A, 6.0, 0.7).seat(0, way)
        assert math.atan2(seat.push, seat.load) == pytest.approx(seat.phi + sign * seat.lam, abs=1e-4)


def test_a_recess_keeps_its_sizes_in_the_drawing():
    tall = recess_profile(dl.Recess(1.0, chamfer_width=0.1, chamfer_deg=45, depth=0.6), top=2.0)
    assert tall == pytest.approx(np.array([[0.6, 0.0], [0.5, 0.1], [0.5, 0.6], [0.0, 0.6]]))
    shallow = recess_profile(dl.Recess(1.0, chamfer_width=0.1, chamfer_deg=45, depth=0.05), top=2.0)
    assert shallow == pytest.approx(np.array([[0.6, 0.0], [0.55, 0.05], [0.0, 0.05]]))
    rounded = recess_profile(dl.Recess(1.0, edge_radius=0.1), top=2.0)
    assert rounded[0] == pytest.approx([0.6, 0.0])
    assert np.hypot(rounded[:-2, 0] - 0.6, rounded[:-2, 1] - 0.1) == pytest.approx(0.1)
    assert rounded[-1] == pytest.approx([0.0, 2.0])


def test_two_ball_panels_name_carrier_and_idle_ball():
    panel = scenes.whole_knife(C)
    assert "At 0.0°: ball 2 on its rim at 41.9°, ball 1 idle by 0.021 mm" in panel.answer
    panel.move({ANGLE: 3.0})
    assert "ball 1 on its rim" in panel.answer
    assert "ball 2 idle by" in panel.answer


def _large(panel):
    """The number as it stands over the sentence, tags taken out: (name, now, before, change) and their notes."""
    cells = re.findall(r"<b [^>]*>([^<]*)</b> <span [^>]*>([^<]*)</span>", panel._answer.value)
    return [figure for figure, _ in cells], [note for _, note in cells]


def test_the_number_stands_now_before_and_changed_until_reset():
    """12.05 N and 10 % more bar force: 1.10 × the force, as the push is the bar's moment times a slope (stiff bar)."""
    panel = scenes.whole_knife(A)
    start = dl.feel(A).break_force
    assert _large(panel) == ([f"{start:.2f} N"] * 2 + ["0.00 N"], [f"{start / 4.4482216:.2f} lbf"] * 2 + [""])
    panel.move({RIDING: 25.0})
    more = dl.feel(panel.knife).break_force
    assert _large(panel)[0] == [f"{more:.2f} N", f"{start:.2f} N", f"+{more - start:.2f} N"]
    assert _large(panel)[1][2] == f"+{100 * (more / start - 1):.1f} %"
    panel._keep()
    panel.move({RIDING: 10.0})
    less = dl.feel(panel.knife).break_force
    assert _large(panel)[0] == [f"{less:.2f} N", f"{more:.2f} N", f"−{more - less:.2f} N"]
    panel._units.value = THOU
    assert _large(panel)[0][0] == f"{less / 4.4482216:.2f} lbf"
    assert _large(panel)[1][0] == f"{less:.2f} N"
    panel._units.value = MM
    panel._reset()
    assert _large(panel)[0] == [f"{start:.2f} N"] * 2 + ["0.00 N"]


def test_two_knives_stand_side_by_side_in_the_large_numbers():
    panel = scenes.side_by_side(A, D)
    one, two = dl.feel(A).break_force, dl.feel(D).break_force
    assert _large(panel)[0] == [f"{one:.2f} N", f"{two:.2f} N", f"−{two - one:.2f} N"]
    for head in (A.title, D.title, "difference"):
        assert head in panel._answer.value


@pytest.mark.parametrize("name", PANELS)
def test_a_panel_says_a_number_one_sentence_and_the_rest(name):
    panel = _panel(name)
    number, sentence, rest, seen = panel._words
    assert number.name in panel._answer.value
    assert sentence in panel._answer.value.replace("&#x27;", "'")
    assert rest in panel._rest.value.replace("&#x27;", "'")
    assert len(sentence) < 220
    assert panel.answer in panel.alt
    assert seen in panel.alt


@pytest.mark.parametrize("name", PANELS)
def test_a_number_beyond_the_slider_is_said_and_not_taken(name):
    panel = _panel(name)
    for num in panel._nums.values():
        for typed in (99999.0, -99999.0):
            knife, value, shown = panel.knife, num.value, num.box.value
            num.box.value = typed
            assert f"{num.control.label}: {typed:.6g}" in panel._answer.value
            assert "lies beyond the ends of its slider" in panel._answer.value
            assert (panel.knife, num.value, num.box.value) == (knife, value, shown)
    panel._units.value = THOU
    num = next(iter(panel._nums.values()))
    num.box.value = 99999.0
    unit = THOU.unit(num.control.unit)[0]
    assert f"99999 {unit}".strip() in panel._answer.value


def _swung(panel, frames=400):
    """Press Play and answer for the browser until the blade stands: the angles on the way."""
    play, angles = panel._play, []
    play.button.click()
    while play.playing and len(angles) < frames:
        angles.append(panel._nums[ANGLE].value)
        time.sleep(0.01)
        play._shown.value = play._sent.value
    return [*angles, panel._nums[ANGLE].value]


def test_play_swings_to_the_end_and_stops_by_itself(monkeypatch):
    monkeypatch.setattr("detentlib.draw.play.SWING", 0.3)
    panel = scenes.whole_knife(A)
    high = panel._nums[ANGLE].control.hi
    angles = _swung(panel)
    assert angles[0] == 0.0
    assert angles[-1] == high
    assert (np.diff(angles) >= 0).all()
    assert not panel._play.playing
    assert panel._play.button.description == "Play the swing"
    assert f"At {high:.1f}°" in panel.answer
    assert panel.knife == A
    panel._choose.value = "letting back"
    assert _swung(panel)[-1] == 0.0


def test_the_next_step_waits_for_the_browser_and_a_hand_stops_it(monkeypatch):
    panel = scenes.whole_knife(A)
    play = panel._play
    play.button.click()
    seen = _count_shows(panel, monkeypatch)
    time.sleep(0.05)
    assert seen == []  # nothing came back from the browser: nothing is sent
    play._shown.value = play._sent.value
    assert len(seen) == 1
    assert 'aria-live="off"' in panel._answer.value
    panel._nums[RIM].slider.value = 0.2
    assert not play.playing
    assert 'aria-live="polite"' in panel._answer.value
    sent = play._sent.value
    play._shown.value = sent
    assert play._sent.value == sent
    play.button.click()
    play.button.click()  # Stop
    assert not play.playing


@pytest.mark.parametrize("name", PANELS)
def test_every_panel_with_a_blade_angle_has_a_swing(name):
    panel = _panel(name)
    assert (panel._play is not None) == (ANGLE in panel._nums)


def test_the_swing_of_the_whole_blade_takes_its_time_at_the_ends():
    """A third of it goes by over the first degrees, as they take a third of the scale."""
    make, knife = PANELS["around_the_tang"]
    panel = make(knife)
    panel._play._go(0.34)
    assert panel._nums[ANGLE].value == pytest.approx(panel._scene._ends.angles[1], abs=0.06)
