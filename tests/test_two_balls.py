"""Two balls on one bar: the demo knives, the plane with equal arms, who is idle, two leaves, matched balls."""

from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.mechanics import bar as bars
from detentlib.mechanics import carry
from tests.knives import FRICTIONLESS, A, B, C, D, E, base, measured, numbers_at_random, one_of
from tests.referee import sink_sampled

SEPARATE = {"balls[1].bearing_deg": None}
TRACK = 8.001
# so many times longer a track is a straight line, for so many times the torque at so many times less of an angle
STRAIGHT = 1e4
TWO_THOU = 0.0508


def printed(text):
    """What approx needs for a number to round to the digits in which it is printed."""
    return pytest.approx(float(text), abs=0.5000001 * 10.0 ** -len(text.partition(".")[2]))


# the demo knives

# peak torque without friction and with, break force, barrier, handovers, ball at rest, idle clearance of the other
DEMO = {
    "B": (B, "131.5", "168.5", "12.04", "4.290", [], 0, "0.051"),
    "C": (C, "128.0", "162.7", "11.62", "3.990", ["1.90"], 1, "0.021"),
    "D": (D, "168.2", "213.9", "15.28", "4.260", ["2.77"], 1, "0.002"),
    "E": (E, "159.4", "207.7", "14.84", "4.290", ["0.10", "1.84"], 0, "0.005"),
}


@pytest.mark.parametrize("name", DEMO)
def test_demo_knife(name):
    knife, smooth, rough, force, barrier, handovers, carrier, idle = DEMO[name]
    feel = dl.feel(knife)
    assert dl.feel(knife.replace(FRICTIONLESS)).break_torque == printed(smooth)
    assert feel.break_torque == printed(rough)
    assert feel.break_force == printed(force)
    assert feel.barrier == printed(barrier)
    assert [round(handover.angle_deg, 2) for handover in feel.handovers] == [float(angle) for angle in handovers]
    assert feel.rest_carrier == carrier
    assert feel.idle_clearance[1 - carrier] == printed(idle)
    assert feel.idle_clearance[carrier] == 0


def test_b_cannot_be_told_from_a():
    one, two = dl.feel(A), dl.feel(B)
    for name in (
        "break_force",
        "letback_force",
        "gauge_break_force",
        "gauge_letback_force",
        "barrier",
        "work",
        "draw_in_deg",
        "break_out_deg",
        "peak_deg",
    ):
        assert getattr(two, name) == pytest.approx(getattr(one, name), rel=1e-12), name
    assert two.letback_force == printed("7.39")
    angles = np.linspace(0, 6, 500)
    assert dl.sweep(B, angles).torque == pytest.approx(dl.sweep(A, angles).torque, rel=1e-12)


def test_d_and_e_hit_harder_but_no_deeper():
    smooth = [dl.feel(knife.replace(FRICTIONLESS)) for knife in (A, D, E)]
    assert smooth[1].break_torque / smooth[0].break_torque == printed("1.28")
    assert smooth[2].break_torque / smooth[0].break_torque == printed("1.21")
    assert max(feel.barrier for feel in smooth[1:]) <= smooth[0].barrier + 1e-9
    # with friction the hand does more work on D all the same: steeper but shorter still rubs more
    assert dl.feel(D).work - dl.feel(A).work == printed("0.29")


def test_d_stalls_between_two_pulls():
    feel = dl.feel(D)
    assert feel.draw_in_deg == printed("2.27")
    ((begins, _),) = feel.stall_pockets
    assert begins == printed("2.77")
    assert begins == pytest.approx(feel.handovers[0].angle_deg, abs=1e-6)


def test_c_on_the_elastic_bar():
    rigid, elastic = dl.feel(C), dl.feel(C, elastic=True)
    assert rigid.rest_load == printed("14.84")
    assert elastic.rest_load == printed("14.87")
    assert elastic.rest_carrier == rigid.rest_carrier == 1


# in the plane, with equal arms


def equal_arms(knife, longer=1.0):
    """Ball 2 on the track and at the hinge distance of ball 1; a track many times longer is a straight one."""
    arms = {f"balls[{i}].track_radius": TRACK * longer for i in (0, 1)} | {
        f"balls[{i}].hinge_distance": 36.4 for i in (0, 1)
    }
    return knife.replace(arms | SEPARATE)


def test_c_with_equal_arms_on_its_arc():
    feel = dl.feel(equal_arms(C))
    assert dl.feel(equal_arms(C).replace(FRICTIONLESS)).break_torque == printed("103.7")
    assert feel.break_torque == printed("131.8")
    assert feel.break_force == printed("9.41")
    assert feel.barrier == printed("3.998")
    assert feel.handovers[0].angle_deg == printed("0.711")
    assert feel.idle_clearance[0] == printed("0.020")


def test_c_with_equal_arms_on_a_straight_track():
    """To the printed digits the arc is the plane; the torque is per metre of track, taken back to the real one."""
    feel = dl.feel(equal_arms(C, STRAIGHT))
    assert dl.feel(equal_arms(C, STRAIGHT).replace(FRICTIONLESS)).break_torque / STRAIGHT == printed("103.7")
    assert feel.break_torque / STRAIGHT == printed("131.8")
    assert feel.barrier == printed("3.998")
    assert feel.handovers[0].angle_deg * STRAIGHT == printed("0.711")
    assert feel.idle_clearance[0] == printed("0.020")


def plane_pair(rim_lead, rim_gap=0.6, lower=TWO_THOU, rate=1e-6):
    """Two balls like A's on straight tracks, equal arms: ball 2 lower, its rim nearer; force all but constant."""
    places = {f"balls[{i}].recess.rest_offset": 0.6604 - rim_gap + lead for i, lead in enumerate((0.0, rim_lead))}
    knife = equal_arms(B, STRAIGHT).replace(places | {"balls[1].protrusion": 0.42 - lower})
    return replace(knife, bar=dl.LockBar(17.04, rate=rate, side_compliance=0.0), doubts={}, assumed=())


def travel(knife, angle_deg):
    """Ball travel along the track [mm]."""
    return np.radians(angle_deg) * knife.balls[0].track_radius


def handover_in_the_plane(rim_lead, lower=TWO_THOU, rim_gap=0.6):
    return dl.formulas["C2"](height_difference=lower, rim_lead=rim_lead, ball_radius=0.79375, rim_gap_1=rim_gap)


def test_handover_of_a_tenth_of_rim_lead():
    found = handover_in_the_plane(0.10)
    assert np.degrees(found.phi_1) == printed("30.98")
    assert np.degrees(found.phi_2) == printed("22.88")
    assert found.travel == printed("0.1914")
    # by hand: mean angle atan(0.508), half difference asin(0.11217/1.5875) = 4.051 degrees
    assert np.degrees((found.phi_1 + found.phi_2) / 2) == pytest.approx(np.degrees(np.arctan(0.508)), abs=1e-9)
    run = dl.sweep(plane_pair(0.10), np.degrees(found.travel / (TRACK * STRAIGHT)) * np.array([1 - 1e-9, 1 + 1e-9]))
    assert run.carrier.tolist() == [1, 0]
    assert run.contact_deg[0] == pytest.approx(np.degrees([found.phi_1, found.phi_2]), abs=1e-5)
    assert np.max(run.clearance) < 1e-8


@pytest.mark.parametrize("rate", [1e-6, 10.3])
@pytest.mark.parametrize(
    ("rim_lead", "lower"),
    [(0.06, TWO_THOU), (0.0699, TWO_THOU), (0.10, TWO_THOU), (0.2, 0.12), (0.03, 0.02), (0.4, 0.15)],
)
def test_handover_that_the_feel_finds_is_the_closed_form(rim_lead, lower, rate):
    knife = plane_pair(rim_lead, lower=lower, rate=rate)
    (handover,) = dl.feel(knife).handovers
    expected = handover_in_the_plane(rim_lead, lower).travel
    assert (handover.from_ball, handover.to_ball) == (1, 0)
    # 1e-6 degrees on the real track
    assert travel(knife, handover.angle_deg) == pytest.approx(expected, abs=np.radians(1e-6) * TRACK)


def test_touch_threshold():
    """A rim lead below it leaves ball 2 idle, one above it gives ball 2 the bar at rest; at it both touch."""
    threshold = dl.formulas["C3"](rim_gap_1=0.6, height_difference=TWO_THOU, ball_radius=0.79375)
    assert threshold == printed("0.0481")
    below, at, above = (dl.feel(plane_pair(threshold + side)) for side in (-1e-6, 0.0, 1e-6))
    assert (below.rest_carrier, above.rest_carrier) == (0, 1)
    assert at.idle_clearance == pytest.approx((0, 0), abs=1e-9)
    # at the threshold the handover lies at the stop
    assert handover_in_the_plane(threshold).travel == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("rim_lead", "peak", "barrier", "travelled"), [(0.060, -0.190, -0.041, 0.096), (0.100, -0.30, -0.17, 0.32)]
)
def test_what_a_rim_lead_costs(rim_lead, peak, barrier, travelled):
    """0.060 mm costs 19 % of the peak for 10 % of the travel: ball 2 clips the start of the climb."""
    knife = plane_pair(rim_lead).replace(FRICTIONLESS)
    two, one = dl.feel(knife), dl.feel(replace(knife, balls=knife.balls[:1]))
    digits = 0.0006 if rim_lead == 0.06 else 0.006
    assert two.break_torque / one.break_torque - 1 == pytest.approx(peak, abs=digits)
    assert two.barrier / one.barrier - 1 == pytest.approx(barrier, abs=digits)
    assert travel(knife, two.handovers[0].angle_deg) / 0.6 == pytest.approx(travelled, abs=digits)


# real radii


def least_clearance(track, ratio, arms=(36.4, 36.4), offsets=(0.0604, 0.0604), parallel_gap=None):
    """Least clearance of ball 2 over the opening: equal recesses, 2 thou lower, its track longer by the ratio [mm]."""
    places = {f"balls[{i}].track_radius": radius for i, radius in enumerate((track, track * ratio))}
    places |= {f"balls[{i}].hinge_distance": arm for i, arm in enumerate(arms)}
    places |= {f"balls[{i}].recess.rest_offset": offset for i, offset in enumerate(offsets)}
    knife = measured(B.replace(SEPARATE)).replace(places | {"bar.parallel_gap": parallel_gap})
    return dl.sweep(knife, np.linspace(0.0, 6.0, 6001)).clearance[:, 1].min()


@pytest.mark.parametrize(
    ("track", "left"),
    [(7.5, "0.0423"), (8.0, "0.0343"), (9.0, "0.0199"), (10.0, "0.0071"), (10.5, "0.0013"), (11.0, "0.0000")],
)
def test_clearance_shrinks_with_the_ratio_of_the_tracks(track, left):
    assert least_clearance(7.0, track / 7.0) == printed(left)


DEMO_ARMS = {"arms": (36.4, 35.4), "parallel_gap": 0.1454}


@pytest.mark.parametrize(
    ("touching", "offset", "one_angle", "arms"),
    [(1.52, 0.0604, False, {}), (1.45, 0.06, False, DEMO_ARMS), (1.36, 0.06, True, DEMO_ARMS)],
    ids=["plane bar", "demo arms", "one blade angle"],
)
def test_ratio_of_the_tracks_at_which_ball_2_touches(touching, offset, one_angle, arms):
    """One blade angle: the stop holds both balls short by the same angle, so ball 2 by more on its longer track."""

    def least(ratio):
        return least_clearance(TRACK, ratio, offsets=(offset, offset * (ratio if one_angle else 1)), **arms)

    assert least(touching - 0.005) > 0
    assert least(touching + 0.005) == 0


def test_clearance_of_b_shrinks_on_the_way():
    for knife, first, least in (
        (B, "0.051", "0.023"),
        (B.replace({"balls[1].recess.rest_offset": 0.06 * 9.602 / 8.001}), "0.037", "0.018"),
    ):
        run = dl.sweep(knife)
        assert run.clearance[0, 1] == printed(first)
        assert run.clearance[:, 1].min() == printed(least)
        assert np.all(run.carrier == 0)


def test_equal_concentric_recesses_in_the_plane_keep_their_clearance():
    run = dl.sweep(plane_pair(0.0))
    assert run.clearance[:, 1] == pytest.approx(np.full(run.angle_deg.size, TWO_THOU), abs=1e-6)


# loads, friction and clearances of each ball


@pytest.mark.parametrize("direction", ["opening", "closing"])
def test_each_carrying_ball_brings_its_own_friction(direction):
    """Rim and flat differ, so does each ball's track: summed ball by ball from the contact angle of a plane wedge."""
    knife = D.replace({"friction.rim": 0.14, "friction.flat": 0.05})
    angles = np.linspace(0.0, 6.0, 700)
    sense = 1 if direction == "opening" else -1
    for elastic in (False, True):
        run, expected = dl.sweep(knife, angles, direction=direction, elastic=elastic), 0.0
        for i, ball in enumerate(knife.balls):
            lam = np.arctan(np.where(run.contact_deg[:, i] > 0, 0.14, 0.05))
            expected = expected + run.load[:, i] * ball.track_radius * np.tan(
                np.radians(run.contact_deg[:, i]) + sense * lam
            )
        # the arc makes the travel lead away from the middle by a hair less than all of it
        assert run.torque == pytest.approx(expected, rel=1e-3, abs=0.02)


def test_many_knives_at_once_feel_as_one_by_one():
    numbers = numbers_at_random(40, 13, 2)
    for elastic in (False, True):
        many = dl.feel_many(base(2).with_arrays(numbers), elastic)
        for row in np.flatnonzero(many.possible)[:12]:
            one = dl.feel(one_of(base(2), numbers, row), elastic)
            for name in (
                "break_torque",
                "letback_force",
                "barrier",
                "break_out_deg",
                "rest_load",
                "rest_carrier",
                "draw_in_deg",
            ):
                assert many.values[name][row] == pytest.approx(getattr(one, name), rel=1e-6, abs=1e-6), name


# does it double?


def second_leaf(knife):
    """The knife with a second leaf like its bar, and in it a ball like ball 1."""
    first = replace(knife.balls[0], run_off_deg=None)
    return replace(knife, balls=(first, replace(first, bar=1)), second_bar=knife.bar, doubts={}, assumed=())


@pytest.mark.parametrize("elastic", [False, True])
def test_a_second_leaf_with_its_own_equal_ball_doubles_it(elastic):
    one, two = dl.feel(A, elastic), dl.feel(second_leaf(A), elastic)
    for name in (
        "break_torque",
        "break_force",
        "stud_break_force",
        "letback_force",
        "barrier",
        "work",
        "rest_load",
        "ride_load",
    ):
        assert getattr(two, name) == pytest.approx(2 * getattr(one, name), rel=1e-9), name
    assert two.break_out_deg == pytest.approx(one.break_out_deg, rel=1e-9)
    run = dl.sweep(second_leaf(A), [0.0, 1.0, 10.0], elastic=elastic)
    assert run.load[:, 0].tolist() == run.load[:, 1].tolist()


def matched(side_offset=0.0):
    """A with a second ball quite like the first in the same bar, each so far to its side of the centre line."""
    balls = [replace(A.balls[0], run_off_deg=None, side_offset=side * side_offset) for side in (1, -1)]
    return replace(A, balls=balls, doubts={}, assumed=())


@pytest.mark.parametrize("elastic", [False, True])
def test_matched_balls_on_one_bar_make_the_torque_of_one(elastic):
    one, two = dl.feel(A), dl.feel(matched(), elastic)
    for name in ("break_torque", "barrier", "letback_force", "rest_load", "ride_load"):
        assert getattr(two, name) == pytest.approx(getattr(one, name), rel=1e-9), name
    assert two.idle_clearance == pytest.approx((0, 0), abs=1e-12)


def test_matched_balls_beside_the_centre_line_carry_half_each_and_still_make_the_torque_of_one():
    knife = matched(side_offset=2.0)
    run, feel = dl.sweep(knife, elastic=True), dl.feel(knife, elastic=True)
    assert run.load[:, 0] == pytest.approx(run.load[:, 1], rel=1e-9)
    # the riding force is that of ball 1 alone, which twists the bar; both together do not, and the bar presses so much
    # harder
    matrix = bars.compliance(knife.bar, knife.balls)
    bent, twisted = (matrix[0, 0] + matrix[0, 1]) / 2, (matrix[0, 0] - matrix[0, 1]) / 2
    assert feel.ride_load == pytest.approx(17.04 * (1 + twisted / bent), rel=1e-9)
    assert feel.break_torque == pytest.approx(dl.feel(A).break_torque, rel=5e-3)


def test_whatever_the_split_the_torque_is_a_mean_never_a_sum():
    moment, arms, rises = 517.0, (36.4, 35.4), (9.25, 8.0)
    shares = np.linspace(0.0, 1.0, 11)
    found = dl.formulas["C1a"](
        moment=moment,
        share=shares,
        hinge_distance_1=arms[0],
        hinge_distance_2=arms[1],
        rise_1=rises[0],
        rise_2=rises[1],
    )
    ends = moment / arms[0] * rises[0], moment / arms[1] * rises[1]
    assert found.torque == pytest.approx((1 - shares) * ends[0] + shares * ends[1])
    assert found.load_1 * arms[0] + found.load_2 * arms[1] == pytest.approx(np.full(11, moment))
    twins = dl.formulas["C1a"](
        moment=moment, share=shares, hinge_distance_1=36.4, hinge_distance_2=36.4, rise_1=9.25, rise_2=9.25
    )
    assert twins.torque == pytest.approx(np.full(11, ends[0]))


def test_a_thicker_relief_does_double_it():
    """Twice the moment of the bar at the same preset: the force goes with the cube of the relief, near enough."""
    one = dl.feel(A)
    stiffer = A.replace({"bar.relief_thickness": 1.42})
    ratio = dl.feel(stiffer).rate / one.rate
    twice = dl.feel(stiffer.replace({"bar.riding_force": 17.04 * ratio}))
    assert twice.break_force / one.break_force == pytest.approx(2.0, abs=0.03)


# two balls on one track


def one_track(bearing_deg=-20.0, size=1.0, off_track=0.0):
    """Ball 2 stands behind ball 1 on the same track, so the blade brings its recess round under ball 1."""
    first = replace(A.balls[0], run_off_deg=None)
    recess = replace(first.recess, diameter=first.recess.diameter * size, rest_offset=0.03, off_track=off_track)
    second = replace(first, diameter=first.diameter * size, protrusion=0.40, recess=recess, bearing_deg=bearing_deg)
    return replace(A, balls=(first, second), doubts={}, assumed=())


def crossing_by_plain_geometry(knife, theta):
    """Distance of ball 1 from the axis of recess 2 [mm], both put on the drawing board by their coordinates."""
    ball, other = knife.balls
    radius = other.track_radius + other.recess.off_track
    # concentric with its own ball, then ahead by the rest offset, then round with the blade
    turned = np.radians(other.bearing_deg) + np.arcsin(other.recess.rest_offset / radius) + theta
    return np.hypot(radius * np.cos(turned) - ball.track_radius, radius * np.sin(turned))


@pytest.mark.parametrize(
    "knife",
    [one_track(), one_track(-20.0, 0.8, 0.05), one_track(-35.0, 1.15, -0.04)],
    ids=["alike", "smaller, further out", "bigger, further in"],
)
def test_a_ball_drops_into_the_recess_that_follows_it_round(knife):
    """Against the tang surface sampled all round, at angles all through the second recess."""
    middle = np.radians(-knife.balls[1].bearing_deg) - np.arcsin(0.03 / (8.001 + knife.balls[1].recess.off_track))
    theta = middle + np.linspace(-0.12, 0.12, 61)
    lifted = carry.state(knife, theta).lifts[0]
    distance = crossing_by_plain_geometry(knife, theta)
    expected = [sink_sampled(knife.balls[0].radius, knife.balls[1].recess, each) for each in distance]
    assert np.broadcast_to(lifted.sink, theta.shape) == pytest.approx(expected, abs=1e-6)
    assert theta[np.argmax(lifted.sink)] == pytest.approx(middle, abs=2e-3)
    assert np.max(lifted.sink) > 0.15
    assert lifted.sink[0] == 0
    # ball 2 is on the land there, and as it stands out less the bar comes down on to it
    at = carry.state(knife, np.array([middle]))
    assert (at.loads[0][0], at.lifts[1].sink[0]) == (0, 0)
    assert at.gap[0] == pytest.approx(0.40)


def test_it_is_the_ball_ahead_that_meets_the_other_recess():
    """With the other sign of the bearing ball 2 stands ahead, and it is ball 2 that drops into recess 1."""
    behind, ahead = one_track(-20.0), one_track(20.0)
    angles = np.radians(np.linspace(15, 25, 1001))
    dropped = [
        [float(np.max(lifted.sink)) > 0.2 for lifted in carry.state(knife, angles).lifts] for knife in (behind, ahead)
    ]
    assert dropped == [[True, False], [False, True]]


def test_a_click_in_mid_swing_is_said():
    (flag,) = (flag for flag in dl.feel(one_track()).flags if "recess" in flag)
    assert (
        flag
        == "Ball 1 runs over the recess of ball 2 at about 19.8° and can drop into it: a second click in mid-swing."
    )
    assert not [flag for flag in dl.feel(B).flags if "recess of ball" in flag]


def test_torque_through_the_second_recess_is_the_slope_of_the_energy():
    knife = one_track().replace(FRICTIONLESS | {"balls[1].protrusion": 0.30})
    angles, step = np.linspace(15, 25, 801), 1e-6
    low, at, high = (dl.sweep(knife, angles + side * step) for side in (-1, 0, 1))
    steady = (low.carrier == high.carrier) & (at.rim_gap[:, 0] != 0)
    assert at.torque[steady] == pytest.approx(((high.energy - low.energy) / np.radians(2 * step))[steady], abs=2e-3)
    assert at.torque.min() < -20
    assert at.torque.max() > 20


def test_recesses_that_overlap_are_refused():
    """Rims that reach 1.3208 mm just meet when their axes stand so far apart; the two rest offsets bring them 0.03
    mm apart already.
    """
    touching = np.degrees(2 * np.arcsin(1.3208 / 2 / TRACK) - np.arcsin(0.06 / TRACK) + np.arcsin(0.03 / TRACK))
    dl.feel(one_track(-touching - 0.01))
    with pytest.raises(
        dl.KnifeError,
        match=(
            r"balls\[1\]\.recess: overlaps the recess of ball 1: their middles are 1\.32 mm apart, their rims reach"
            r" 1\.32 mm"
        ),
    ):
        dl.feel(one_track(-touching + 0.01))
