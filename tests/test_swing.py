"""The whole swing: run-off in closed form, the energy of a cycle, a second recess on the track."""

import math

import numpy as np
import pytest

import detentlib as dl
from detentlib.mechanics.swing import loads_in, swing
from tests.knives import CARDS, A, B, C

PLANE = {
    "balls[0].track_radius": 8.0,
    "balls[1].track_radius": 8.0,
    "balls[1].hinge_distance": 36.4,
    "balls[1].bearing_deg": None,
}


def words(swung):
    return [stretch.touching for stretch in swung.stretches]


def test_two_balls_round_the_tang():
    """Demo B: ball 1 to its edge at 168°, ball 2 takes over 0.262 mm past it, 1.88°, and the bar drops by 0.0445 mm."""
    swung = swing(B)
    assert words(swung)[:5] == [
        "ball 1 on its rim",
        "ball 1 on the flat",
        "ball 1 on the tang edge",
        "ball 2 on the flat",
        "ball 2 on the tang edge",
    ]
    edge, flat = swung.stretches[2], swung.stretches[3]
    assert edge.from_deg == pytest.approx(168.0, abs=1e-4)
    assert edge.to_deg - 168.0 == pytest.approx(1.88, abs=0.005)
    assert math.radians(edge.to_deg - 168.0) * 8.001 == pytest.approx(0.262, abs=5e-4)
    assert 0.42 - flat.gap_from == pytest.approx(0.0445, abs=5e-5)
    assert set(swung.run_offs) == {0, 1}


@pytest.mark.checked_by("by hand", "circles in the plane", "swing", "L7")
def test_run_off_handover_in_the_plane():
    """Equal arms and tracks, 2 thou: the ball sinks by the difference where x = √(2RΔ − Δ²), 0.2794 mm and 2.0° past
    the edge.
    """
    swung = swing(B.replace(PLANE))
    past = math.radians(swung.stretches[2].to_deg - 168.0) * 8.0
    assert past == pytest.approx(math.sqrt(2 * 0.79375 * 0.0508 - 0.0508**2), rel=1e-6)
    assert past == pytest.approx(0.2794, abs=5e-5)
    assert math.degrees(past / 8.0) == pytest.approx(2.0, abs=0.005)


def test_an_edge_across_the_track_at_an_angle_is_left_later():
    square = swing(A).run_offs[0]
    slanted = swing(A.replace({"balls[0].edge_deg": 45.0})).run_offs[0]
    assert slanted.to_deg - 168.0 == pytest.approx(math.sqrt(2) * (square.to_deg - 168.0), rel=1e-6)


@pytest.mark.checked_by("brute force", "the friction summed up", "swing")
@pytest.mark.parametrize("knife", [A, B, C], ids=["A", "B", "C"])
def test_a_cycle_loses_what_friction_eats(knife):
    """Work in less what comes back is the friction: the same sum from the half difference of the two torques and the
    drag.
    """
    swung = swing(knife)
    theta = np.radians(swung.opening.angle_deg)
    friction = np.trapezoid(swung.opening.torque - swung.closing.torque[::-1], theta) + 2 * 3.0 * theta[-1]
    assert swung.lost == pytest.approx(friction, rel=1e-9)
    smooth = swing(knife.replace({"friction.rim": 0.0, "friction.flat": None, "friction.pivot_torque": 0.0}))
    assert smooth.lost == pytest.approx(0.0, abs=1e-9)
    ends = smooth.opening.energy[-1] - smooth.opening.energy[0]
    assert smooth.work_opening == pytest.approx(ends, abs=2e-3)


def test_washers_and_pin_eat_what_the_load_of_the_bar_puts_on_them():
    """Coulomb, by hand: 0.1 of the load at 4 mm, and 0.2 of its push across, load times tan φ, at 1.5 mm."""
    loaded = A.replace(
        {"friction.washer": 0.1, "friction.washer_radius": 4.0, "friction.pin": 0.2, "friction.pin_radius": 1.5}
    )
    plain, run = swing(A), swing(A).opening
    across = np.tan(np.radians(run.contact_deg[:, 0]))
    more = np.trapezoid(run.load[:, 0] * (0.1 * 4.0 + 0.2 * 1.5 * across), np.radians(run.angle_deg))
    assert swing(loaded).work_opening - plain.work_opening == pytest.approx(more, rel=1e-6)


def test_the_bar_loads_the_ball_least_at_rest_and_evenly_on_the_flat():
    """A: 17.04 N riding, and less by the rate times the seat's depth at rest, as far as it has come from there."""
    swung, felt = swing(A), dl.feel(A)
    rim, flat = swung.stretches[:2]
    assert loads_in(swung, rim) == pytest.approx((felt.rest_load, 17.04), rel=1e-3)
    assert loads_in(swung, flat) == pytest.approx((17.04, 17.04))


def test_drag_over_the_swing_dwarfs_the_barrier():
    """Demo A: about 60 mJ of drag on the way, 4.3 mJ of barrier."""
    assert swing(A).work_opening == pytest.approx(60, abs=3)
    assert dl.feel(A).barrier == pytest.approx(4.29, abs=0.005)


def test_a_ball_drops_into_a_recess_on_its_way():
    """Ball 2 rides higher and 10° ahead on nearly the same track: it drops into recess 1 where it stands over its
    middle.
    """
    knife = B.replace({"balls[1].track_radius": 8.1, "balls[1].bearing_deg": 10.0, "balls[1].protrusion": 0.44})
    down, up = swing(knife).crossings
    assert down.touching == up.touching == "ball 2 on its rim"
    middle = 10.0 - math.degrees(math.asin(0.06 / 8.001))
    assert (down.from_deg + up.to_deg) / 2 == pytest.approx(middle, abs=1e-3)
    # the outline of recess 1, law of cosines round the pivot
    half = math.degrees(math.acos((8.1**2 + 8.001**2 - 0.6604**2) / (2 * 8.1 * 8.001)))
    assert up.to_deg - middle == pytest.approx(half, abs=1e-3)


def test_nothing_on_the_way_without_run_off_angles():
    plain = B.replace({"balls[0].run_off_deg": None, "balls[1].run_off_deg": None})
    swung = swing(plain)
    assert words(swung) == ["ball 1 on its rim", "ball 1 on the flat"]
    assert swung.run_offs == {}
    assert swung.crossings == ()


def test_where_one_ball_hands_over_to_another_both_carry_together():
    """Pellowfen C as its card has it: the bar swings over sideways from 1.692° to 1.819° (the demo's table), and
    neither ball carries alone.
    """
    swung = dl.swing(CARDS["C"])
    (shared,) = [stretch for stretch in swung.stretches if stretch.shared]
    assert (shared.from_deg, shared.to_deg) == pytest.approx((1.692, 1.819), abs=0.005)
    assert shared.touching == "ball 1 and ball 2 together"
    assert not any(stretch.shared for stretch in dl.swing(CARDS["A"]).stretches)
