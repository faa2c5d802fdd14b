"""Who carries: the rigid envelope, handovers, bar face and floor, run-off, recesses on one track."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

import detentlib as dl
from detentlib.mechanics import carry
from detentlib.mechanics.lift import FLAT
from tests.knives import FRICTIONLESS, PUSHED_PAST, A, B, C, D, E, base, numbers_at_random
from tests.referee import Reckoned


def no_friction(knife):
    return dl.feel(knife.replace(FRICTIONLESS))


# knife: peak without friction, with friction, break force, barrier, ball at rest, handovers, idle clearance of the
# other ball
DEMO = {
    "B": (B, 131.5, 168.5, 12.04, 4.290, 0, [], 0.051),
    "C": (C, 128.0, 162.7, 11.62, 3.990, 1, [1.90], 0.021),
    "D": (D, 168.2, 213.9, 15.28, 4.260, 1, [2.77], None),
    "E": (E, 159.4, 207.7, 14.84, 4.290, 0, [0.10, 1.84], None),
}


@pytest.mark.parametrize("name", DEMO)
def test_demo_knives(name):
    knife, smooth, rough, force, barrier, carrier, handovers, idle = DEMO[name]
    feel = dl.feel(knife)
    assert no_friction(knife).break_torque == pytest.approx(smooth, abs=0.06)
    assert feel.break_torque == pytest.approx(rough, abs=0.06)
    assert feel.break_force == pytest.approx(force, abs=0.006)
    assert feel.barrier == pytest.approx(barrier, abs=6e-4)
    assert feel.rest_carrier == carrier
    assert [handover.angle_deg for handover in feel.handovers] == pytest.approx(handovers, abs=0.006)
    if idle:
        assert feel.idle_clearance[1 - carrier] == pytest.approx(idle, abs=6e-4)


def test_a_lower_second_ball_rides_nothing_and_changes_nothing():
    one, two = dl.feel(A), dl.feel(B)
    for name in ("break_torque", "letback_force", "barrier", "draw_in_deg", "break_out_deg", "work"):
        assert getattr(two, name) == pytest.approx(getattr(one, name), rel=1e-12), name


def test_clearance_of_b_with_real_radii():
    """With the same rest offset at each ball the clearance shrinks on the way, from 0.051 to 0.023 mm, and never
    goes.
    """
    run = dl.sweep(B, np.linspace(0, 4.3, 4000))
    assert run.clearance[0, 1] == pytest.approx(0.051, abs=5e-4)
    assert run.clearance[:, 1].min() == pytest.approx(0.023, abs=5e-4)
    assert np.all(run.carrier == 0)


def test_work_of_d_exceeds_that_of_a():
    assert dl.feel(D).work - dl.feel(A).work == pytest.approx(6.67 - 6.38, abs=0.01)


def test_d_stalls_on_the_way_back():
    feel = dl.feel(D)
    assert feel.draw_in_deg == pytest.approx(2.27, abs=0.005)
    ((start, end),) = feel.stall_pockets
    assert start == pytest.approx(2.77, abs=0.005)
    assert end == pytest.approx(dl.feel(A).draw_in_deg, abs=1e-3)
    # where balls can share, too, it begins as the first ball takes over and ends where nothing pulls any more
    ((start, end),) = dl.feel(D, elastic=True).stall_pockets
    for angle, least, most in (
        (start - 1e-4, -99, 0),
        (start + 1e-4, 0, 99),
        (end - 1e-5, 0, 0.01),
        (end + 1e-5, -0.01, 0),
    ):
        (torque,) = dl.sweep(D, [angle], "closing", elastic=True).torque
        assert least < torque - D.friction.pivot_torque <= most


@pytest.mark.checked_by("brute force", "demands written out, set equal", "feel")
def test_handover_angles_are_where_the_demands_cross():
    """Referee: the two demands in bar angle, written out anew, set equal."""
    for knife, (low, high) in ((C, (1, 3)), (D, (2, 3)), (E, (0.05, 0.3)), (E, (1, 3))):
        plain = base(2).replace(
            {path: knife.get(path) for path in knife.paths() if path.startswith("balls") and path in base(2).paths()}
        )

        def ahead(angle, plain=plain):
            clear = Reckoned(plain, np.radians(angle)).clearances
            return float(clear[0] - clear[1])

        crossing = brentq(ahead, low, high, xtol=1e-12)
        assert min(abs(handover.angle_deg - crossing) for handover in dl.feel(knife).handovers) < 1e-6


@pytest.mark.checked_by("brute force", "balances written out", "C1", "E1", "F2b")
@pytest.mark.parametrize("balls", [1, 2])
def test_loads_torques_and_clearances_against_an_independent_reckoning(balls):
    numbers = numbers_at_random(120, 11, balls)
    knife = base(balls).with_arrays(numbers)
    theta = np.linspace(0, 0.12, 301)
    at, other = carry.state(knife, theta), Reckoned(knife, theta)
    # where a bar face would land or a ball would fall through, the other reckoning does not know it
    sound = dl.feel_many(knife).possible & np.all(other.gap > 0, axis=-1)
    assert sound.sum() > 40
    for i in range(balls):
        assert at.loads[i][sound] == pytest.approx(other.loads[i][sound], rel=1e-9, abs=1e-9)
        assert at.clearances[i][sound] == pytest.approx(other.clearances[i][sound], abs=1e-12)
    assert np.broadcast_to(at.energy, (120, 301))[sound] == pytest.approx(other.energy[sound], rel=1e-9)
    for sense, within in ((-1, 3e-3), (0, 1e-7), (1, 2e-3)):  # the arc of the track is left out of the friction (F2b)
        reckoned = other.torque(sense * numbers["friction.rim"])
        off = carry.state(knife, theta, sense=sense).torque - reckoned
        assert np.max((np.abs(off) / np.max(np.abs(reckoned), axis=-1, keepdims=True))[sound]) < within


def test_one_ball_alone_carries_everything():
    at = carry.state(C, np.linspace(0, 0.1, 500))
    carrying = np.stack([load > 0 for load in at.loads])
    assert np.all(carrying.sum(axis=0) == 1)
    assert np.all(np.stack(at.clearances)[carrying] == 0)
    assert np.all(np.stack(at.clearances)[~carrying] >= 0)


def test_a_third_ball_far_below_changes_nothing():
    low = replace(B.balls[1], protrusion=0.2, bearing_deg=None)
    three = replace(B, balls=(*B.balls, low), doubts={})
    assert dl.feel(three).break_torque == dl.feel(B).break_torque
    assert len(dl.feel(three).idle_clearance) == 3


def test_bar_face_lands_first():
    """A ball that stands out less than its seat is deep: the face lies on the tang and nothing holds the blade."""
    knife = A.replace({"balls[0].protrusion": 0.25})
    at = carry.state(knife, np.array([0.0, 0.05]))
    assert at.carriers[0].tolist() == [carry.FACE, 0]
    assert at.gap[0] == 0
    assert at.loads[0][0] == 0
    assert at.face_loads[0][0] == pytest.approx(17.04 - dl.feel(A).rate * 0.25)
    run = dl.sweep(knife, [0.0])
    assert run.carrier[0] == carry.FACE
    assert run.touching[0] == "bar face on the tang"
    assert run.torque[0] == pytest.approx(0.12 * 8.001 * at.face_loads[0][0])


def test_floor_carries():
    knife = A.replace({"balls[0].recess.depth": 0.2})
    at = carry.state(knife, np.array([0.0]))
    assert at.gap[0] == pytest.approx(0.22)
    assert at.loads[0][0] == pytest.approx(17.04 - dl.feel(A).rate * 0.2)
    assert dl.sweep(knife, [0.0]).touching[0] == "ball 1 on its floor"
    rest = dl.feel(knife)
    # the ball rolls free on the floor until its rim gap has shrunk to that of a 0.2 mm seat
    free = 0.6604 - np.sqrt(0.79375**2 - (0.79375 - 0.2) ** 2)
    assert rest.rest_deg == pytest.approx(np.degrees((free - 0.06) / 8.001), abs=2e-3)


def test_rest_off_the_stop_when_the_recess_lies_towards_closed():
    knife = A.replace({"balls[0].recess.rest_offset": -0.03})
    feel = dl.feel(knife)
    assert feel.rest_deg == pytest.approx(np.degrees(np.arcsin(0.03 / 8.001)), abs=1e-6)
    assert feel.rim_gap[0] == pytest.approx(0.6604, abs=1e-6)
    # beside its track no rim holds the ball on either side, and friction would stop it short: that is left out
    aside = dl.feel(knife.replace({"balls[0].recess.off_track": 0.05}))
    assert aside.rest_deg == pytest.approx(np.degrees(np.arcsin(0.03 / 8.051)), abs=1e-6)


def test_two_balls_on_a_bar_that_gives_can_push_the_blade_off_its_stop_with_no_offset_below_zero():
    felt = dl.feel(PUSHED_PAST)
    assert min(ball.recess.rest_offset for ball in PUSHED_PAST.balls) > 0 > felt.loaded_offset[1]
    assert felt.rest_deg > 0.05
    [told] = [flag for flag in felt.flags if "off the stop" in flag]
    assert "takes ball 2 past the middle of its recess" in told
    assert "below zero" not in told
    flags = dl.feel(PUSHED_PAST.replace({"balls[1].recess.rest_offset": -0.01})).flags
    assert any("rest offset below zero" in flag for flag in flags)
    for cure in ({"balls[1].recess.rest_offset": 0.02}, {"bar.side_compliance": 0.001}):
        assert dl.feel(PUSHED_PAST.replace(cure)).rest_deg == 0


def test_a_blade_that_rests_on_the_bar_face_off_its_stop_is_drawn_in_up_to_there():
    knife = A.replace({"balls[0].recess.diameter": 1.5, "balls[0].protrusion": 0.35})
    felt = dl.feel(knife)
    assert 0.1 < felt.rest_deg < felt.draw_in_deg
    inside, outside = (
        dl.sweep(knife, felt.draw_in_deg + step, "closing").torque
        for step in (np.linspace(-3.8, -1e-4, 99), np.array([1e-4]))
    )
    assert inside.min() > knife.friction.pivot_torque >= outside[0]
    assert felt.draw_in_deg == pytest.approx(dl.feel(knife, elastic=True).draw_in_deg, abs=1e-5)


def test_a_blade_that_friction_alone_holds_rests_on_its_stop():
    """Where it rests friction is left out: the rim still pulls it shut."""
    knife = A.replace({"friction.rim": 0.6, "balls[0].recess.rest_offset": 0.45})
    felt = dl.feel(knife)
    assert felt.letback_force < 0 == felt.rest_deg
    assert carry.state(knife, np.zeros(1), sense=0).torque[0] > 0


# past the edge of the tang


def test_ball_1_rolls_off_and_ball_2_takes_over():
    """B: the true difference in height in service is 0.0445 mm, so ball 2 takes over 0.262 mm past the edge, not
    earlier.
    """
    drop = (0.42 - 0.1454) - (0.3692 - 0.1454) * 36.4 / 35.4
    assert drop == pytest.approx(0.0445, abs=5e-5)
    past = np.sqrt(2 * 0.79375 * drop - drop**2)
    assert past == pytest.approx(0.262, abs=5e-4)
    takes_over = 168 + np.degrees(past / 8.001)
    run = dl.sweep(B, [167.9, takes_over - 1e-3, takes_over + 1e-3, 173.9])
    assert run.carrier.tolist() == [0, 0, 1, 1]
    assert list(run.touching) == [
        "ball 1 on the flat",
        "ball 1 on the tang edge",
        "ball 2 on the flat",
        "ball 2 on the flat",
    ]
    assert run.gap[[0, 3]] == pytest.approx([0.42, 0.42 - drop], abs=1e-9)


def test_a_ball_rolling_off_pushes_the_blade_on():
    run = dl.sweep(A.replace(FRICTIONLESS), [167.0, 169.0, 170.0])
    assert run.torque[0] == 0
    assert np.all(run.torque[1:] < 0)
    passed = 8.001 * np.radians([1.0, 2.0])
    assert run.demand[1:, 0] == pytest.approx(0.42 - 0.79375 + np.sqrt(0.79375**2 - passed**2), rel=1e-9)
    assert run.torque[1:] == pytest.approx(
        -run.load[1:, 0] * 8.001 * passed / np.sqrt(0.79375**2 - passed**2), rel=1e-9
    )


def test_past_the_edge_the_bar_face_lands():
    run = dl.sweep(A, [173.5, 178.0])
    assert run.carrier.tolist() == [carry.FACE, carry.FACE]
    assert run.gap.tolist() == [0, 0]
    assert np.all(run.load == 0)


# one track for two balls


def one_track(bearing=-20.0):
    """Ball 2 follows ball 1 on the same track, `bearing` away; both on one bar."""
    follower = replace(B.balls[0], bearing_deg=bearing, run_off_deg=None, protrusion=0.40)
    return replace(B, balls=(replace(B.balls[0], run_off_deg=None), follower), doubts={})


def test_a_following_ball_is_over_the_leading_recess_on_the_way():
    knife = one_track()
    at = carry.state(knife, np.radians([19.0, 20.0, 21.0]))
    assert at.lifts[0].touch.tolist()[1] != FLAT  # recess 2 comes under ball 1 as the blade opens by 20 degrees
    assert at.lifts[0].sink[1] > 0.2
    assert at.lifts[1].touch[1] == FLAT
    # the other ball holds the bar up meanwhile
    assert at.loads[1][1] > 0
    assert any("recess" in flag for flag in dl.feel(knife).flags)


def test_without_bearings_tracks_are_taken_as_separate():
    knife = one_track()
    apart = replace(knife, balls=(knife.balls[0], replace(knife.balls[1], bearing_deg=None)))
    at = carry.state(apart, np.radians([20.0]))
    assert at.lifts[0].touch[0] == FLAT
    assert any("separate" in line for line in (*dl.feel(apart).flags, *dl.feel(apart).left_out))


# elastic sharing


def test_an_elastic_bar_with_one_ball_is_the_rigid_one():
    rigid, elastic = dl.feel(A), dl.feel(A, elastic=True)
    for name in ("break_torque", "letback_force", "barrier", "work", "draw_in_deg", "rest_load"):
        assert getattr(elastic, name) == pytest.approx(getattr(rigid, name), rel=1e-9), name
