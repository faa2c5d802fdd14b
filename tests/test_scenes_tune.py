"""The panel, questions, figure and progress bar of notebook 08: what they draw and say is what the library computes."""

import math

import nbformat
import numpy as np
import pytest

import detentlib as dl
from detentlib.draw.controls import Control
from detentlib.draw.progress import Progress, progress
from detentlib.draw.scenes_spring import PRESET, RATE, RELIEF
from detentlib.draw.scenes_tune import DRILL, STOP, margins, next_drills, tuned, tuning
from detentlib.draw.story import Story
from detentlib.lesson.figures.others import batch, on_the_threshold, threshold_smear
from detentlib.lesson.questions import tune as questions_tune
from detentlib.lesson.questions.table import question_of
from detentlib.mechanics import bar as bars
from detentlib.say.measure import THOU
from detentlib.tune.moves import as_made, preset, with_preset, with_relief
from detentlib.tune.pair import touch_lead
from detentlib.tune.stock import DRILLS
from tests.knives import CARDS, FOLDER, A, C, D
from tests.notebooks import settle

FOLDING = dl.read_knife(FOLDER / "sallowgate-folder.toml")  # its bar is measured, not drawn
RIM, BORE = "friction.rim", "balls[0].recess.diameter"
THOU_MM = 0.0254


@pytest.fixture
def panel():
    return tuning(A)


def test_it_starts_as_the_knife_and_says_its_numbers(panel):
    assert panel.knife == A
    for said in (
        "1.04 N above what is wanted, 9.00 N to 11.00 N",
        "12.04 N (2.71 lbf)",
        "let-back 7.39 N",
        "barrier 4.29 mJ",
    ):
        assert said in panel.answer
    assert panel.answer in panel.alt
    assert "check the lock-up" not in panel.answer


@pytest.mark.parametrize("knife", [A, C, D, FOLDING], ids=lambda knife: knife.title)
def test_each_slider_makes_the_knife_that_the_moves_make(knife):
    panel = tuning(knife)
    panel.move({STOP: THOU_MM})
    assert panel.knife == knife.replace(as_made(knife, {"pin": THOU_MM}))
    assert "The pin may set the open stop and the lock-up too" in panel.answer
    assert ("assumed" in panel.answer) == (knife.blade.stop_radius is None)
    panel.move({STOP: 0.0, PRESET: preset(knife) + 0.1})
    assert panel.knife.bar.riding_force == pytest.approx(with_preset(knife, 0.1).bar.riding_force)
    assert "check the lock-up" in panel.answer
    assert "open stop" not in panel.answer
    panel._reset()
    assert panel.knife == knife
    if knife.bar.drawn:
        panel.move({RELIEF: knife.bar.relief_thickness - THOU_MM})
        wanted = with_relief(knife, knife.bar.relief_thickness - THOU_MM)
    else:
        panel.move({RATE: 1.1 * knife.bar.rate})
        wanted = knife.replace({"bar.rate": 1.1 * knife.bar.rate, "bar.riding_force": 1.1 * knife.bar.riding_force})
    assert panel.knife.bar.riding_force == pytest.approx(wanted.bar.riding_force)
    assert bars.rate(panel.knife.bar, panel.knife.balls[0]) == pytest.approx(bars.rate(wanted.bar, wanted.balls[0]))


def test_the_drills_are_the_next_in_the_catalogue():
    drills = next_drills(A)
    assert list(drills.values()) == [size.diameter for size in DRILLS if size.diameter > 1.3208][:2]
    panel = tuning(A)
    for name, size in drills.items():
        panel.move({DRILL: name})
        assert panel.knife.get(BORE) == size
        assert f"{dl.feel(A.replace({BORE: size})).break_force:.2f} N" in panel.answer
    assert next(iter(next_drills(C).values())) == min(
        size.diameter for size in DRILLS if size.diameter > C.balls[1].recess.diameter
    )


@pytest.mark.parametrize("knife", [A, D], ids=lambda knife: knife.title)
def test_the_band_stands_at_the_window_and_the_verdict_goes_by_it(knife):
    panel = tuning(knife, (10.0, 12.5))
    band = panel._scene._band
    assert (band.get_y(), band.get_y() + band.get_height()) == (10.0, 12.5)
    top = panel._scene._plots[0].ax.get_ylim()[1]
    assert top > 12.5
    force = dl.feel(panel.knife).break_force
    assert panel._words.sentence.startswith("Inside" if 10 <= force <= 12.5 else f"{force - 12.5:.2f} N above")
    panel.move({PRESET: panel._nums[PRESET].control.lo})
    force = dl.feel(panel.knife).break_force
    assert panel._words.sentence.startswith("Inside" if 10 <= force <= 12.5 else f"{10 - force:.2f} N below")


@pytest.mark.parametrize("window", [(11, 9), (9, 9), (-1, 5), (9, math.inf), (math.nan, 9)])
def test_a_window_that_is_none_is_refused(window):
    with pytest.raises(ValueError, match="the least and the most break force"):
        tuning(A, window)


def test_the_limits_are_those_of_the_knife(panel):
    felt = dl.feel(A)
    found = {margin.name: margin for margin in margins(Story(A, 6.0))}
    assert found["yield of the relief"].used == pytest.approx(
        (felt.relief_stress_rest + felt.relief_stress_side) / A.bar.yield_stress
    )
    assert found["jamming"].used == pytest.approx((felt.contact_deg[0] + math.degrees(math.atan(0.12))) / 90)
    assert found["floor"].used == pytest.approx(felt.seat_depth[0] / 0.60)
    assert found["bar face"].used == pytest.approx(felt.seat_depth[0] / 0.42)
    widths = [bar.get_width() for bar in panel._scene._used]
    assert widths == pytest.approx([margin.used for margin in found.values()])
    assert "Nearest limit: bar face, 65 % used, 0.145 mm left" in panel.answer


def test_at_its_limit_a_bar_is_full():
    floored = A.replace({"balls[0].recess.depth": 0.2})
    assert {margin.name: margin.used for margin in margins(Story(floored, 6.0))}["floor"] == pytest.approx(1.0)
    bent = with_preset(A, preset(A))
    assert {margin.name: margin.used for margin in margins(Story(bent, 6.0))}["yield of the relief"] > 1.0


def test_a_measured_bar_has_no_yield_and_a_through_recess_no_floor():
    names = [margin.name for margin in margins(Story(FOLDING.replace({"balls[0].recess.depth": None}), 6.0))]
    assert names == ["jamming", "bar face"]


def test_what_came_in_stays_in_grey(panel):
    curve = panel._scene.curves[0]
    start = curve.now.get_data()
    assert np.array_equal(curve.before.get_data(), start)
    panel.move({RIM: 0.2})
    assert np.array_equal(curve.before.get_data(), start)
    panel._keep()
    assert not np.array_equal(curve.before.get_data(), start)
    assert panel._scene.note.get_text() == "grey: before"
    panel._reset()
    assert np.array_equal(curve.before.get_data(), start)
    assert panel._scene.note.get_text() == "grey: as it came"


def test_preload_at_both_ends(panel):
    ends = panel._nums[PRESET].control
    assert isinstance(ends, Control)
    forces = []
    for end in (ends.lo, ends.hi):
        panel.move({PRESET: end})
        assert preset(panel.knife) == pytest.approx(end, abs=0.01)  # the grid of the slider passes through the start
        forces.append(dl.feel(panel.knife).break_force)
        assert f"break force {forces[-1]:.2f} N" in panel.answer
    assert forces[1] > 2 * forces[0]


def test_it_speaks_pounds_and_thou(panel):
    panel._units.value = THOU
    assert "2.71 lbf (12.04 N)" in panel.answer
    assert "2.02 lbf to 2.47 lbf" in panel.answer
    assert "5.7 thou left" in panel.answer


def test_tries_set_one_thing(panel):
    panel._preset.value = "stop pin: a thou thicker"
    assert panel.knife.balls[0].recess.rest_offset == pytest.approx(0.06 + 0.0127 * 8.001 / 12)
    panel._preset.value = "a thou off the relief"
    assert panel.knife == tuned(A, {RELIEF: A.bar.relief_thickness - THOU_MM})


@pytest.mark.parametrize("knife", [A, CARDS["A"]], ids=["textbook", "one body"])
def test_the_thou_that_counts_most_is_off_the_relief(knife):
    changes, table = questions_tune.thou_of_each(knife), dl.per_thou(knife)
    assert sorted(changes, key=lambda letter: abs(changes[letter])) == ["c", "b", "a"]
    assert changes["b"] > 0
    assert changes["c"] == pytest.approx(table.row("pin_thicker").effects["break_force"].change)
    assert changes["b"] == pytest.approx(table.row("recess[0]").effects["break_force"].change)
    assert changes["a"] == pytest.approx(table.row("relief").effects["break_force"].change)


def test_the_thinner_relief_of_the_question_breaks_where_it_is_wanted():
    thin = questions_tune.relief_for(A, 10.0)
    made = with_relief(A, thin)
    assert dl.feel(made).break_force == pytest.approx(10.0, abs=1e-4)
    assert dl.feel(made).ride_load / dl.feel(A).ride_load == pytest.approx(10.0 / dl.feel(A).break_force, rel=1e-4)


def test_the_panel_of_a_knife_that_gives_sideways():
    """Its limits and its numbers are those of the loaded knife at rest."""
    panel, felt = tuning(CARDS["A"]), dl.feel(CARDS["A"])
    for said in ("break force 12.05 N", "let-back 7.40 N", "barrier 4.00 mJ"):
        assert said in panel.answer
    jam, face, floor, _ = margins(Story(CARDS["A"], 5.0))
    assert jam.used == pytest.approx((felt.contact_deg[0] + math.degrees(math.atan(0.12))) / 90)
    assert floor.used == pytest.approx(felt.seat_depth[0] / 0.60)
    assert face.used == pytest.approx(felt.seat_depth[0] / 0.42)
    assert panel._scene._break.xy == pytest.approx((felt.take_up_deg, felt.break_force), abs=1e-3)


def test_three_out_of_four_by_drawing():
    rng = np.random.default_rng(1)
    assert np.mean(np.abs(rng.normal(0, 0.9, 200_000)) < 1.0) == pytest.approx(0.733, abs=0.005)
    assert "73 % lie inside" in question_of("08-inside").judge()[1]


def test_the_smear_shows_the_batch_on_either_side_of_the_threshold():
    found, axes = batch(), threshold_smear().axes[0]
    second = found.values("ball 2 at rest").astype(bool)
    shown = {line.get_marker(): line.get_xdata() for line in axes.lines if line.get_marker() in "ox"}
    assert len(shown["o"]) == np.count_nonzero(~second)
    assert len(shown["x"]) == np.count_nonzero(second)
    assert 0.35 < second.mean() < 0.65  # drawn on the threshold, half of them fall on either side
    middle = touch_lead(on_the_threshold())
    assert np.mean(shown["o"]) < middle < np.mean(shown["x"])
    forces = found.values("break_force")
    assert forces[second].mean() < forces[~second].mean() - 1.0


def test_the_progress_bar_fills_and_is_stored_the_same(capsys):
    bar = progress("Looking")
    assert capsys.readouterr().out == "Looking: a bar fills here while it runs.\n"
    before = bar._repr_mimebundle_()["text/plain"]
    bar(512, 2048)
    assert bar.bar.value / bar.bar.max == 0.25
    assert "512 of 2,048" in bar.said.value
    bar(2048, 2048)
    assert bar.bar.bar_style == "success"
    assert bar._repr_mimebundle_()["text/plain"] == before
    assert isinstance(bar, Progress)


def test_a_reader_can_carry_another_knife_and_window_through():
    notebook = nbformat.read(settle.NOTEBOOKS / "08_tune_a_knife.ipynb", as_version=nbformat.NO_CONVERT)
    for put in (
        ("pellowfen-a", "sallowgate-folder"),
        ("wanted_force(9, 11)", "wanted_force(7, 9)"),
        ("too stiff", "it won't flick"),
    ):
        (cell,) = [cell for cell in notebook.cells if cell.cell_type == "code" and put[0] in cell.source]
        cell.source = cell.source.replace(*put)
    settle.run(notebook, settle.NOTEBOOKS)
    shown = "".join(
        output.get("data", {}).get("text/plain", "") for cell in notebook.cells for output in cell.get("outputs", [])
    )
    assert f"<Panel: tuning, {FOLDING.title}>" in shown
    assert "Break force wanted at the tab: 7.000 N" in shown
    assert "**will not flick.**" in shown


def test_a_box_at_the_end_of_its_slider_shows_no_more_digits_than_it_has_room_for():
    panel = tuning(A, (9, 11))
    for num in panel._nums.values():
        for place in (num.slider.min, num.slider.max):
            num.slider.value = place
            assert len(f"{num.box.value:.12g}") <= 7
