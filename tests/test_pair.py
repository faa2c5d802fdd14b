"""Two balls on one bar at the bench: the second ball, the sharing band, any split, the touch threshold."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

import detentlib as dl
from detentlib.tune import moves, pair, threshold
from tests.knives import CARDS, FRICTIONLESS, JOINED, A, B, C, D, E, measured

SIDES = {"balls[0].side_offset": 2.0, "balls[1].side_offset": -2.0}
ASIDE = B.replace(SIDES)
PLANE = {"rim_gap": 0.6, "ball_radius": 0.79375, "height_difference": 0.0508}


def test_a_lone_ball_gets_a_twin_and_a_pair_stays():
    assert pair.with_second_ball(C) is C
    twin = pair.with_second_ball(A)
    assert twin.balls[0] == A.balls[0]
    assert pair.press_difference(twin) == pytest.approx(0.0508)
    assert twin.balls[1] == replace(A.balls[0], protrusion=twin.balls[1].protrusion)
    assert twin.doubts == A.doubts
    leaf = pair.with_second_ball(moves.with_second_leaf(B))
    assert leaf.second_bar is None
    assert len(leaf.balls) == 2
    three = pair.with_second_ball(replace(B, balls=(*B.balls, replace(B.balls[1], bearing_deg=None)), doubts={}))
    assert three.balls == B.balls


@pytest.mark.parametrize("card", [B, CARDS["B"]], ids=["stiff sideways", "one body"])
@pytest.mark.parametrize(("by", "off_track"), [("size", 0.0), ("size", 0.05), ("shift", 0.0)])
def test_the_rim_lead_is_the_one_that_was_asked_for(by, off_track, card):
    knife = card.replace({"balls[1].recess.off_track": off_track})
    for lead in (-0.04, 0.0, 0.03, 0.12):
        made = pair.with_rim_lead(knife, lead, by)
        assert pair.lead_at_stop(made) == pytest.approx(lead, abs=1e-8)
        rest = dl.feel(made).rim_gap
        assert rest[0] - rest[1] == pytest.approx(lead, abs=1e-8)
        other = "rest_offset" if by == "size" else "diameter"
        assert made.get(f"balls[1].recess.{other}") == knife.get(f"balls[1].recess.{other}")


def test_a_rim_lead_can_be_got_in_two_ways_only():
    with pytest.raises(ValueError, match="by 'drill' is not known"):
        pair.with_rim_lead(B, 0.05, "drill")


def test_the_same_rim_lead_feels_the_same_however_it_was_got():
    """In the plane exactly; on real arcs both differ in the angle where the recess is reached, by next to nothing."""
    small, shifted = (dl.feel(pair.with_rim_lead(pair.with_equal_arms(B), 0.07, by)) for by in ("size", "shift"))
    assert shifted.break_force == pytest.approx(small.break_force, rel=2e-4)
    assert shifted.handovers[0].angle_deg == pytest.approx(small.handovers[0].angle_deg, rel=2e-3)


@pytest.mark.parametrize("by", ["size", "shift"])
def test_an_equal_lower_ball_at_equal_arms_only_softens(by):
    """Whatever bar, friction and rest offset: it carries where its rim is nearer, and there the angle is gentler."""
    draws, softer = np.random.default_rng(5), 0
    for give, mu, offset, deeper, lead in draws.uniform([0, 0, 0.05, 0.01, 0], [0.012, 0.3, 0.2, 0.1, 0.15], (25, 5)):
        changes = {"bar.side_compliance": give, "friction.rim": mu}
        changes |= {f"balls[{i}].recess.rest_offset": offset for i in (0, 1)}
        both = pair.with_press_difference(pair.with_equal_arms(CARDS["B"]).replace(changes), deeper)
        both = pair.with_rim_lead(both, lead, by)
        force, alone = (dl.feel(knife).break_force for knife in (both, moves.with_one_ball(both)))
        assert force <= alone * (1 + 1e-9)
        softer += force < 0.999 * alone
    assert softer > 5


# the sharing band


@pytest.mark.parametrize(
    "knife", [B, C, D, ASIDE, CARDS["C"]], ids=["B", "C", "D", "2 mm to either side", "C as one body"]
)
@pytest.mark.parametrize("angle", [0.0, 0.5, 2.0, 6.0])
def test_the_band_ends_where_one_ball_begins_to_hang_clear(knife, angle):
    band = pair.sharing_band(knife, angle)
    outside, inside = pair.shared_loads(knife, [band.begins + 1e-6, band.begins - 1e-6], angle)
    assert outside[1] == 0 < inside[1]
    inside, outside = pair.shared_loads(knife, [band.ends + 1e-6, band.ends - 1e-6], angle)
    assert outside[0] == 0 < inside[0]
    assert band.bar < band.width


@pytest.mark.parametrize("knife", [B, ASIDE], ids=["on the centre line", "2 mm to either side"])
def test_with_hard_balls_the_bar_alone_makes_the_band(knife):
    hard = knife.replace({f"balls[{i}].contact_modulus": 1e13 for i in (0, 1)})
    band = pair.sharing_band(hard)
    assert band.width == pytest.approx(band.bar, rel=1e-3, abs=1e-9)


def test_how_wide_the_band_of_knife_b_is():
    assert pair.sharing_band(B).bar == pytest.approx(0.0001, abs=0.00001)
    assert pair.sharing_band(ASIDE).bar == pytest.approx(0.0112, abs=0.0001)
    for angle in (0.0, 5.0):
        assert 0.005 < pair.sharing_band(B, angle).width - pair.sharing_band(B, angle).bar < 0.01


def test_shared_loads_carry_the_bar_and_twins_share_alike():
    twins = pair.with_second_ball(A, deeper=0.0)
    for first, second in pair.shared_loads(twins, [0.0], 0.0):
        assert first == pytest.approx(second)
        assert first + second == pytest.approx(dl.feel(A).rest_load, rel=2e-3)
    loads = pair.shared_loads(B, np.linspace(-0.02, 0.05, 30))
    moments = loads @ [ball.hinge_distance for ball in B.balls]
    assert np.ptp(moments[loads[:, 1] == 0]) < 1e-9
    assert np.all(np.diff(loads[:, 0]) >= -1e-9)
    assert np.all(np.diff(loads[:, 1]) <= 1e-9)


@pytest.mark.parametrize("knife", [A, moves.with_second_leaf(B)], ids=["one ball", "two leaves"])
def test_only_two_balls_on_one_bar_share(knife):
    for asked in (pair.sharing_band, lambda knife: pair.mixes(knife, [0.5])):
        with pytest.raises(dl.KnifeError, match="no two balls on the first bar"):
            asked(knife)


# any split of the bar


@pytest.mark.parametrize("knife", [B, D, ASIDE, E], ids=["B", "D", "2 mm to either side", "E"])
def test_any_split_gives_a_mean_and_never_the_sum(knife):
    found = pair.mixes(knife, np.linspace(0, 1, 11))
    ends = found[0].force, found[-1].force
    assert all(min(ends) - 1e-12 <= mix.force <= max(ends) + 1e-12 < sum(ends) for mix in found)
    moments = [mix.load_1 * knife.balls[0].hinge_distance + mix.load_2 * knife.balls[1].hinge_distance for mix in found]
    assert moments == pytest.approx([moments[0]] * 11)


def test_the_ends_of_a_split_are_the_two_knives_with_one_ball_each():
    """Where ball 2 would be alone, with the bar held as far out, it makes what its own radius, slope and arm say."""
    smooth = B.replace(FRICTIONLESS)
    found = pair.mixes(B, [0.0, 1.0])
    assert found[0].force == pytest.approx(dl.feel(smooth).break_force)
    # on the longer radius the same rest offset is a little further from straight on
    assert found[1].force / found[0].force == pytest.approx(9.602 / 8.001 * 36.4 / 35.4, rel=1e-5)


def test_the_seats_of_a_split_are_those_of_the_shut_knife():
    card = CARDS["B"]
    felt, (first, *_) = dl.feel(card), pair.mixes(card, [0.0, 1.0])
    assert first.load_1 == pytest.approx(felt.rest_load)
    slope = np.tan(np.radians(felt.contact_deg[0]))
    assert first.force == pytest.approx(felt.rest_load * slope * 8.001 / 14, rel=1e-5)


def test_twins_make_the_same_at_every_split():
    forces = [mix.force for mix in pair.mixes(pair.with_second_ball(A, deeper=0.0), [0, 0.3, 1])]
    assert forces == pytest.approx([forces[0]] * 3)
    # and so they do when the bar itself does the sharing
    twins = pair.squashing(pair.with_second_ball(A, deeper=0.0))
    both, one = dl.feel(twins, elastic=True), dl.feel(moves.with_one_ball(twins), elastic=True)
    assert both.break_force == pytest.approx(one.break_force, rel=2e-3)


def test_a_second_leaf_doubles_exactly_with_equal_balls_radii_and_arms():
    one, twins = dl.feel(A), dl.feel(moves.with_second_leaf(pair.with_second_ball(A, deeper=0.0)))
    for name in ("break_force", "letback_force", "barrier", "work"):
        assert getattr(twins, name) == pytest.approx(2 * getattr(one, name), rel=1e-9), name
    assert dl.feel(moves.with_second_leaf(B)).break_force / one.break_force == pytest.approx(2.19, abs=0.005)


# idle on the flat


@pytest.mark.parametrize(
    "knife", [B, D, B.replace({"balls[1].hinge_distance": 28.0})], ids=["B", "D", "ball 2 at 28 mm"]
)
def test_up_to_the_limit_ball_2_is_clear_of_the_flat(knife):
    limit = pair.idle_up_to(knife.bar, knife.balls[0], knife.balls[1].hinge_distance)
    for side, carrier in ((-1e-6, 0), (1e-6, 1)):
        assert dl.sweep(knife.replace({"balls[1].protrusion": limit + side}), [10.0]).carrier[0] == carrier


def test_below_the_limit_the_barrier_cannot_rise_and_above_it_can():
    one = dl.feel(A).barrier
    near = B.replace({"balls[1].hinge_distance": 28.0})
    assert dl.feel(near).barrier == pytest.approx(4.570, abs=0.001)
    assert dl.feel(near, elastic=True).barrier == pytest.approx(4.854, abs=0.001)
    limit = pair.idle_up_to(near.bar, near.balls[0], 28.0)
    assert near.balls[1].protrusion > limit
    assert dl.feel(near.replace({"balls[1].protrusion": limit - 1e-6})).barrier <= one + 1e-9


# the touch threshold and its cliff

STRAIGHT = 1e3  # a track so many times longer is a straight line


def _in_the_plane(lead):
    """Two balls on a straight track with a bar that presses the same everywhere: the referee of the closed forms."""
    knife = pair.with_equal_arms(B).replace({f"balls[{i}].track_radius": 8.001 * STRAIGHT for i in (0, 1)})
    knife = knife.replace({f"balls[{i}].recess.rest_offset": 0.6604 - 0.6 for i in (0, 1)} | FRICTIONLESS)
    knife = replace(measured(knife), bar=dl.LockBar(17.04, rate=1e-6, side_compliance=0.0))
    return pair.with_rim_lead(knife, lead)


@pytest.mark.parametrize("lead", [0.03, 0.0481, 0.05, 0.06, 0.0606, 0.07, 0.1, 0.15])
def test_the_cliff_is_what_the_sweep_of_such_a_knife_says(lead):
    (step,) = threshold.cliff([lead], **PLANE)
    two, one = dl.feel(_in_the_plane(lead)), dl.feel(_in_the_plane(0.0))
    assert step.peak == pytest.approx(two.break_torque / one.break_torque, abs=2e-4)
    assert step.barrier == pytest.approx(two.barrier / one.barrier, abs=2e-4)
    travel = sum(np.radians(handover.angle_deg) for handover in two.handovers) * 8.001 * STRAIGHT
    assert step.carries == pytest.approx(travel / 0.6, abs=2e-4)


def test_the_peak_of_one_body_is_the_larger_of_start_and_handover():
    """The rule that the page states, against the knife itself; which of the two it is changes with the rim lead."""
    plane = pair.with_equal_arms(CARDS["C"])
    leads = (0.0, 0.05, 0.06, 0.07)
    for knife in (plane, CARDS["C"]):
        one = dl.feel(moves.with_one_ball(knife)).break_torque
        for lead, step in zip(leads, threshold.cost(knife, leads), strict=True):
            felt = dl.feel(pair.with_rim_lead(knife, lead))
            assert step.peak == pytest.approx(felt.break_torque / one, rel=1e-6)
    steps = threshold.cost(plane, leads)
    assert [step.start >= step.after for step in steps[1:]] == [False, False, True]
    assert [step.carries > 0 for step in steps] == [False, True, True, True]
    over = dl.feel(pair.with_rim_lead(plane, 0.06)).handovers[0]
    assert over.start_deg < over.end_deg == pytest.approx(steps[2].carries * dl.feel(plane).break_out_deg, rel=0.01)


def test_on_under_and_over_the_threshold_nothing_jumps():
    edge = dl.formulas["C3"](rim_gap_1=0.6, height_difference=0.0508, ball_radius=0.79375)
    assert edge == pytest.approx(0.0481, abs=0.00005)
    under, on, over = threshold.cliff([edge - 1e-9, edge, edge + 1e-9], **PLANE)
    assert under[1:] == on[1:] == (0.0, 1.0, 1.0, 1.0)
    assert (over.carries, over.peak, over.barrier) == pytest.approx((on.carries, on.peak, on.barrier), abs=1e-6)


def test_a_rim_lead_past_the_closed_form_is_refused_with_the_reason():
    with pytest.raises(ValueError, match="rides the flat before ball 1 takes over"):
        threshold.cliff([0.45], **PLANE)


def test_real_arms_turn_the_cliff_into_a_hump():
    plane, real = (
        [dl.feel(pair.with_rim_lead(knife, lead)).break_force for lead in (0.0, 0.05, 0.06)]
        for knife in (pair.with_equal_arms(C), C)
    )
    assert plane[0] > plane[1] > plane[2]
    assert real[1] > real[0] > real[2]


def test_how_far_out_a_lower_ball_with_an_equal_recess_touches():
    assert threshold.touch_ratio(B) == pytest.approx(1.45, abs=0.005)
    assert threshold.touch_ratio(pair.with_equal_arms(B)) == pytest.approx(1.52, abs=0.006)
    assert threshold.touch_ratio(C) == 1.0
    assert threshold.touch_ratio(pair.with_press_difference(B, 0.3)) == np.inf


def test_the_touch_lead_of_a_card_is_that_of_the_loaded_knife():
    plane = pair.with_equal_arms(CARDS["B"])
    lead = pair.touch_lead(plane)
    closed = dl.formulas["C3"](
        rim_gap_1=dl.feel(plane).rim_gap[0], height_difference=pair.press_difference(plane), ball_radius=0.79375
    )
    assert lead == pytest.approx(closed, abs=1e-6)
    clear = [
        dl.feel(pair.with_rim_lead(CARDS["C"], pair.touch_lead(CARDS["C"]) + more)).idle_clearance[1]
        for more in (-1e-5, 1e-5)
    ]
    assert clear[0] > 0 == clear[1]


@pytest.mark.checked_by("brute force", "sinks on arcs, written out", "threshold")
def test_touch_ratio_against_the_demands_written_out():
    """Referee: sinks of two balls on arcs of their own radius, equal arms."""
    theta = np.linspace(0, 0.08, 4001)

    def sink(radius):
        distance = np.sqrt(2 * radius**2 * (1 - np.cos(theta + np.arcsin(0.06 / radius))))
        gap = np.clip(0.6604 - distance, 0, None)
        return 0.79375 - np.sqrt(0.79375**2 - gap**2)

    def short(ratio):
        return (0.0508 + sink(8.001 * ratio) - sink(8.001)).min()

    assert threshold.touch_ratio(pair.with_equal_arms(B)) == pytest.approx(brentq(short, 1.2, 1.9), abs=2e-3)


def test_a_twin_squashes_on_a_bar_that_is_known_by_its_rate():
    knife = measured(A)
    band = pair.sharing_band(pair.with_second_ball(knife))
    assert band.bar == 0
    assert 0.005 < band.width < 0.01


def test_a_ball_in_the_middle_of_its_recess_is_held_by_the_rim_ahead():
    """A wedge with Coulomb friction: load times tan(φ + λ), sin φ = rim radius / ball radius, at its track radius."""
    found = pair.held(JOINED)
    angles = np.arcsin(np.array([1.3462, 1.2954]) / 1.5875) + np.arctan(0.12)
    assert found.ratios == pytest.approx(tuple(np.tan(angles)), rel=1e-5)
    assert found.force == pytest.approx(found.loads[0] * np.tan(angles[0]) * 8.2 / 13.5, rel=1e-6)
    first, second = pair.mixes(JOINED, [0.0, 1.0], friction=True)
    assert first.force == pytest.approx(found.force)
    assert second.force == pytest.approx(found.loads[0] * np.tan(angles[1]) * 9.8 / 13.5, rel=1e-5)
