"""The panels of notebooks 04 and 05 say and draw what the library says; test_panel.py sweeps every corner."""

import re

import numpy as np
import pytest

import detentlib as dl
from detentlib.draw import scenes_two as two
from detentlib.say.measure import THOU
from detentlib.tune import moves, pair
from tests.knives import CARDS, FOLDER, A, B, C, D, E

AS_IT_IS = "ball 2 placed as in this knife"
SEPARATE = B.replace(
    {"balls[1].bearing_deg": None, "balls[1].run_off_deg": B.balls[0].run_off_deg}
)  # tracks taken as separate
ANGLE, HINGE = "blade angle", "balls[1].hinge_distance"


@pytest.fixture(scope="module")
def two_balls():
    return two.two_balls(B)


@pytest.fixture(scope="module")
def offset_recesses():
    return two.offset_recesses(C)


def _as_it_starts(panel):
    panel._units.value = panel._units.options[0][1]
    panel._reset()
    return panel


@pytest.fixture
def b(two_balls):
    panel = _as_it_starts(two_balls)
    panel._preset.value = AS_IT_IS
    return panel


@pytest.fixture
def c(offset_recesses):
    return _as_it_starts(offset_recesses)


def _against(panel):
    """How many times the force and the barrier of ball 1 alone the answer says there are."""
    return [float(times) for times in re.findall(r"([\d.]+) ×", panel.answer)]


def _loads(panel):
    return [float(load) for load in re.findall(r"([\d.]+) N(?= and|[.,]| at)", panel.answer.partition(". Break")[0])]


def _curves(panel):
    """Heights of the bar and of the two balls in the lift plot."""
    return [np.asarray(curve.now.get_ydata()) for curve in panel._scene._plots[0].curves]


# two balls on one spring


def test_it_opens_with_twins_that_share_and_are_no_stronger_than_one(b):
    b._reset()
    assert "both carry, 7.10 N and 7.10 N" in b.answer
    assert _against(b) == [1.00, 1.00]
    first, second = b.knife.balls
    assert (first.track_radius, first.hinge_distance, first.protrusion) == (
        second.track_radius,
        second.hinge_distance,
        second.protrusion,
    )


@pytest.mark.parametrize("card", [CARDS["A"], CARDS["B"]], ids=["A", "B"])
def test_twins_of_a_card_share_too(card):
    panel = two.two_balls(card)
    assert "both carry, 7.10 N and 7.10 N" in panel.answer
    assert _against(panel) == [1.00, 1.00]
    assert f"Break force at the tab {dl.feel(CARDS['A']).break_force:.2f} N" in panel.answer


def test_b_is_a(b):
    assert "ball 1 carries 14.21 N, ball 2 is idle by 0.051 mm" in b.answer
    assert f"Break force at the tab {dl.feel(A).break_force:.2f} N" in b.answer
    assert _against(b) == [1.00, 1.00]
    assert b.knife.balls == SEPARATE.balls


def test_a_second_leaf_adds_up_and_no_second_ball_is_ball_1_alone(b):
    b.move({two.SECOND: two.OWN})
    assert b.knife.balls == moves.with_second_leaf(SEPARATE).balls
    assert _against(b) == [2.19, 1.99]
    assert "each leaf presses its own ball" in b.answer
    b.move({two.SECOND: two.NONE})
    assert b.knife == moves.with_one_ball(B)
    assert _against(b) == [1.00, 1.00]
    assert [artist.get_text() for artist in b._scene._sections[1].artists if artist.get_visible()] == ["no second ball"]


@pytest.mark.parametrize("angle", [0.0, 4.8])
def test_where_both_are_level_both_carry_and_it_is_no_sum(b, angle):
    band = pair.sharing_band(SEPARATE, angle)
    b.move({two.DEEPER: round((band.begins + band.ends) / 2, 5), ANGLE: angle})
    deeper = pair.press_difference(b.knife)
    first, second = pair.shared_loads(b.knife, deeper, angle)[0]
    assert f"both carry, {first:.2f} N and {second:.2f} N" in b.answer
    assert first == pytest.approx(second, rel=0.02)
    assert 1.0 <= _against(b)[0] < 9.602 / 8.001 * 36.4 / 35.4


@pytest.mark.parametrize("deeper", [-0.025, 0.0, 0.02, 0.075])
@pytest.mark.parametrize("angle", [0.0, 2.0, 4.8])
def test_the_bar_stands_on_the_larger_demand_and_on_one_bar_nothing_doubles(b, deeper, angle):
    b.move({two.DEEPER: deeper, ANGLE: angle})
    bar, first, second = _curves(b)
    assert bar == pytest.approx(np.maximum(first, second), abs=0.005)  # less the squash where both carry
    assert max(_against(b)) < 1.3
    assert b.knife.balls == pair.with_press_difference(SEPARATE, deeper).balls


def test_a_ball_near_the_hinge_raises_the_barrier_though_it_is_deeper(b):
    b._preset.value = "lower by 2 thou, much nearer the hinge"
    assert b.knife.get(HINGE) == 28.0
    assert _against(b) == [1.00, pytest.approx(dl.feel(b.knife).barrier / dl.feel(A).barrier, abs=0.005)]
    assert _against(b)[1] == 1.07


def test_the_strip_is_to_scale(b):
    strip = b._scene._strip
    for aside in (0.0, 2.0):
        b.move({two.ASIDE: aside, ANGLE: 1.0})
        band = pair.sharing_band(b.knife, 1.0)
        assert (strip.band.get_x(), strip.band.get_width()) == pytest.approx((band.ends, band.width))
        assert strip.hair.get_width() == pytest.approx(band.bar)
        assert f"{band.width:.3f} mm wide" in strip.said.get_text()
    for line, doubt in zip(strip.presses, pair.PRESS.values(), strict=True):
        assert np.ptp(line.get_xdata()) == pytest.approx(2 * doubt)
        assert np.mean(line.get_xdata()) == pytest.approx(0.0508)
    assert strip.dots.get_ydata() == pytest.approx(pair.shared_loads(b.knife, 0.0508, 1.0)[0])


def test_the_strip_speaks_thou(b):
    b._units.value = THOU
    assert b._scene._strip.ax.get_xlabel().endswith(", thou")
    assert "±0.8 thou" in " ".join(name.get_text() for name in b._scene._strip.press_names)
    assert "idle by 2.0 thou" in b.answer


def test_the_names_of_the_lift_curves_stand_apart(b):
    for deeper, above in ((0.05, 1), (-0.025, 2)):
        b.move({two.DEEPER: deeper})
        curves = b._scene._plots[0].curves
        assert [curve.name.get_va() for curve in curves[1:]] == ["bottom" if i == above else "top" for i in (1, 2)]


# offset recesses


def test_c_starts_softer_and_steps_up(c):
    felt = dl.feel(C)
    (over,) = felt.handovers
    assert f"Break force at the tab {felt.break_force:.2f} N" in c.answer
    assert (
        f"ball 2 to ball 1 at {over.angle_deg:.1f}°: resistance up by"
        f" {100 * (over.torque_after / over.torque_before - 1):.0f} %" in c.answer
    )
    assert _against(c) == [0.97, 0.93]


def _marked(panel):
    """The spans on both plots are where both balls carry."""
    over = [(each.start_deg, each.end_deg) for each in dl.feel(panel.knife).handovers]
    for place in range(2):
        shown = [spans[place] for spans in panel._scene._upright if spans[place].get_visible()]
        assert [each for span in shown for each in (span.get_x(), span.get_x() + span.get_width())] == pytest.approx(
            [end for ends in over for end in ends]
        )


def test_the_ramp_of_a_card_is_marked_and_said():
    panel = two.offset_recesses(CARDS["C"])
    (over,) = dl.feel(CARDS["C"]).handovers
    assert over.end_deg - over.start_deg == pytest.approx(0.124, abs=0.001)
    _marked(panel)
    assert f"at {over.start_deg:.1f}° to {over.end_deg:.1f}°, where both carry: resistance up by 17 %" in panel.answer
    panel.move({ANGLE: 1.76})
    at = dl.sweep(CARDS["C"], [1.76]).load[0]
    assert f"both carry, {at[0]:.2f} N and {at[1]:.2f} N" in panel.answer


def test_handovers_are_marked_where_they_happen(c):
    for preset in ("one drill smaller", "a smaller ball 2, equal arms", "equal recesses"):
        c._preset.value = preset
        _marked(c)
        assert (
            len(dl.feel(c.knife).handovers)
            == {"one drill smaller": 1, "a smaller ball 2, equal arms": 2, "equal recesses": 0}[preset]
        )


def test_tries_are_the_demo_knives(c):
    c._preset.value = "one drill smaller, equal arms"
    assert "9.41 N" in c.answer
    assert "at 0.7°" in c.answer
    c._preset.value = "equal recesses"
    assert "No handover on opening." in c.answer
    c._preset.value = "a smaller ball 2, equal arms"
    assert dl.feel(c.knife).break_force == pytest.approx(dl.feel(E).break_force, abs=0.01)


def test_a_shift_does_the_same_until_the_blade_turns_the_other_way(c):
    smaller = _against(c)
    c.move({two.RECESS: two.SHIFTED})
    assert c.knife.balls[1].recess.diameter == c.knife.balls[0].recess.diameter
    assert _against(c) == pytest.approx(smaller, abs=0.011)
    assert "Rim lead 0.070 mm" in c.answer
    c.move({two.RECESS: two.TURNED})
    assert re.search(r"Rim lead −0\.0\d\d mm", c.answer)
    assert "No handover" in c.answer
    assert _against(c) == [1.00, 1.00]


def test_each_ball_travels_on_its_own_radius(c):
    c.move({ANGLE: 1.9})
    for ball, section in enumerate(c._scene._sections):
        travel = c.knife.balls[ball].track_radius * np.radians(1.9)
        assert f"travelled {travel:.3f} mm" in section.names[2].get_text()


def test_at_the_track_radius_of_ball_1_both_arms_are_those_of_ball_1(c):
    c.move({two.OUT: 8.001})
    assert c.knife.balls[1].hinge_distance == pytest.approx(36.4)
    c.move({two.OUT: 9.602})
    assert c.knife.balls[1].hinge_distance == pytest.approx(35.4)


@pytest.mark.parametrize("make", [two.two_balls, two.offset_recesses])
@pytest.mark.parametrize(
    "knife", [A, D, E, dl.read_knife(FOLDER / "sallowgate-folder.toml")], ids=lambda knife: knife.title
)
def test_any_knife_can_be_carried_through(make, knife):
    panel = make(knife)
    shown = (
        pair.with_second_ball(knife)
        if make is two.offset_recesses
        else pair.with_second_ball(moves.with_one_ball(knife), deeper=0.0)
    )
    assert dl.feel(shown).break_force == pytest.approx(
        float(re.search(r"Break force at the tab ([\d.]+) N", panel.answer)[1]), abs=0.04
    )
    for name in panel._presets:
        panel._preset.value = name
        assert not panel.answer.startswith("This cannot be.")


def test_a_refusal_names_the_number_in_words():
    """A small ball 2 drops through its recess: the line says so as a maker would, not as a path."""
    panel = two.offset_recesses(C)
    panel.move({control.path: control.lo for control in (num.control for num in panel._nums.values())})
    assert panel.answer.startswith("This cannot be. Ball 2: diameter of the recess = ")
    assert "[" not in panel.answer
