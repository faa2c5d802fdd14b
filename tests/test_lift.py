"""Lift of one ball: the closed forms against the tang's surface sampled all round, and against offset curves."""

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

import detentlib as dl
from detentlib.mechanics.lift import CHAMFER, FLAT, FLOOR, RIM, flat_angle, lift, middle_angle
from tests import referee
from tests.knives import A

RADIUS = 0.79375
STRAIGHT = 1e6  # a track radius [mm] so large that the track is a straight line


def ball_at(distance, radius=RADIUS, **recess):
    """A ball held `distance` short of the middle of its recess, on a straight track."""
    return dl.Ball(2 * radius, radius, STRAIGHT, 36.0, dl.Recess(rest_offset=distance, **recess))


RECESSES = {
    "sharp": {"diameter": 1.3208},
    "rounded": {"diameter": 1.3208, "edge_radius": 0.05},
    "well rounded": {"diameter": 1.1, "edge_radius": 0.3},
    "chamfered": {"diameter": 1.2, "chamfer_width": 0.08, "chamfer_deg": 45.0},
    "flat chamfer": {"diameter": 0.8, "chamfer_width": 0.3, "chamfer_deg": 20.0},
    "steep chamfer": {"diameter": 1.1, "chamfer_width": 0.1, "chamfer_deg": 70.0},
    "dimple": {"diameter": 0.0, "chamfer_width": 0.7, "chamfer_deg": 59.0},
    "small dimple": {"diameter": 0.0, "chamfer_width": 0.4, "chamfer_deg": 59.0},
    "floor": {"diameter": 1.3208, "depth": 0.2},
    "chamfer over a floor": {"diameter": 1.0, "chamfer_width": 0.15, "chamfer_deg": 45.0, "depth": 0.18},
    "rounded over a floor": {"diameter": 1.3208, "edge_radius": 0.05, "depth": 0.2},
}


def outline(recess):
    return recess["diameter"] / 2 + recess.get("chamfer_width", 0.0) + recess.get("edge_radius", 0.0)


@pytest.mark.checked_by("another program", "shapely, offset of the outline", "L1", "L3", "L4", "L5")
@pytest.mark.parametrize("kind", RECESSES)
@pytest.mark.parametrize("share", [0.0, 0.02, 0.1, 0.3, 0.6, 0.9, 0.995])
def test_sink_is_that_of_the_sampled_surface_and_of_the_offset_curve(kind, share):
    distance = share * (RECESSES[kind]["diameter"] / 2 + RECESSES[kind].get("chamfer_width", 0.0))
    ball = ball_at(distance, **RECESSES[kind])
    sink = float(lift(ball, 0.0).sink)
    assert sink == pytest.approx(referee.sink_sampled(RADIUS, ball.recess, distance), abs=3e-7)
    assert sink == pytest.approx(referee.sink_offset(RADIUS, ball.recess, distance), abs=3e-7)


@pytest.mark.checked_by("brute force", "the tang sampled all round", "L1", "L3", "L4", "L5")
def test_sink_of_balls_and_recesses_at_random():
    rng = np.random.default_rng(20)
    for _ in range(120):
        radius = rng.uniform(0.4, 1.6)
        kind = rng.choice(["sharp", "rounded", "chamfered"])
        recess = {"diameter": 2 * radius * rng.uniform(0.2, 0.95)}
        if kind == "rounded":
            recess["edge_radius"] = rng.uniform(0.01, 0.4) * radius
        if kind == "chamfered":
            recess |= {"chamfer_width": rng.uniform(0.02, 0.8) * radius, "chamfer_deg": rng.uniform(10, 75)}
        if rng.random() < 0.3:
            recess["depth"] = rng.uniform(0.05, 0.6) * radius
        distance = rng.uniform(0, 1) * (recess["diameter"] / 2 + recess.get("chamfer_width", 0))
        ball = ball_at(0.0, radius, **recess)
        assert float(lift(ball, distance / STRAIGHT).sink) == pytest.approx(
            referee.sink_sampled(radius, ball.recess, distance), abs=2e-6
        ), recess


@pytest.mark.parametrize("kind", RECESSES)
def test_slope_is_the_change_of_the_sink_along_the_arc(kind):
    ball = dl.Ball(2 * RADIUS, 0.4, 8.0, 36.0, dl.Recess(rest_offset=0.05, off_track=0.03, **RECESSES[kind]))
    theta = np.linspace(0, 1.05 * outline(RECESSES[kind]) / 8.0, 400)
    step = 1e-6
    low, at, high = (lift(ball, theta + side * step) for side in (-1, 0, 1))
    smooth = (low.touch == at.touch) & (high.touch == at.touch)
    edge_change = np.abs(high.phi - low.phi) > 1e-3  # from one edge of a chamfer to its cone and on
    change = (high.demand - low.demand) / (2 * step * 8.0)
    assert smooth.sum() > 390
    keep = smooth & ~edge_change
    assert change[keep] == pytest.approx((np.tan(at.phi) * at.cos_chi)[keep], abs=2e-6)


def test_demo_seat():
    seated = lift(A.balls[0], 0.0)
    assert float(seated.rim_gap) == pytest.approx(0.6004, abs=1e-6)
    assert np.degrees(float(seated.phi)) == pytest.approx(49.15, abs=0.005)
    assert np.tan(float(seated.phi)) == pytest.approx(1.1564, abs=5e-5)
    assert float(seated.sink) == pytest.approx(0.2746, abs=5e-5)


def test_rounding_alone_seats_deeper_and_steeper():
    sharp, rounded = lift(A.balls[0], 0.0), lift(A.replace({"balls[0].recess.edge_radius": 0.05}).balls[0], 0.0)
    assert np.degrees(float(rounded.phi)) == pytest.approx(50.43, abs=0.005)
    assert rounded.sink > sharp.sink


def test_rounding_joins_the_land_smoothly_and_vanishes_into_the_sharp_rim():
    r = 0.05
    at_join = lift(ball_at(0.0, diameter=1.3208, edge_radius=r), (0.6604 + r - 1e-9) / STRAIGHT)
    assert (float(at_join.sink), float(at_join.phi)) == pytest.approx((0.0, 0.0), abs=1e-7)
    tiny, sharp = (
        lift(ball_at(0.06, diameter=1.3208, edge_radius=edge), np.linspace(0, 0.6, 50) / STRAIGHT)
        for edge in (1e-9, 0.0)
    )
    assert tiny.sink == pytest.approx(sharp.sink, abs=1e-8)


def test_what_the_ball_touches():
    def touches(distance, **recess):
        return int(lift(ball_at(distance, **recess), 0.0).touch)

    assert touches(0.06, diameter=1.3208) == RIM
    assert touches(0.06, diameter=1.3208, depth=0.2) == FLOOR
    assert touches(0.06, diameter=0.8, chamfer_width=0.3, chamfer_deg=40) == CHAMFER
    assert int(lift(ball_at(0.06, diameter=1.3208), 0.7 / STRAIGHT).touch) == FLAT


def test_on_just_under_and_just_over_the_chamfer_s_edges():
    """The cone takes over from its edges without a jump, at a contact radius of a and of a + w."""
    recess = dl.Recess(1.0, chamfer_width=0.2, chamfer_deg=30)
    for radius_of_contact, far, near in ((0.5, "lower", CHAMFER), (0.7, CHAMFER, "upper")):
        distance = radius_of_contact - RADIUS * np.sin(np.radians(30))
        sinks = [
            float(lift(ball_at(distance + side, diameter=1.0, chamfer_width=0.2, chamfer_deg=30), 0.0).sink)
            for side in (-1e-7, 0, 1e-7)
        ]
        assert np.diff(sinks) == pytest.approx([-1e-7 * np.tan(np.radians(30))] * 2, rel=1e-3)
        assert sinks[1] == pytest.approx(referee.sink_sampled(RADIUS, recess, distance), abs=3e-7)
        under, over = (
            int(lift(ball_at(distance + side, diameter=1.0, chamfer_width=0.2, chamfer_deg=30), 0.0).touch)
            for side in (-1e-7, 1e-7)
        )
        assert under == (RIM if far == "lower" else far)
        assert over == (RIM if near == "upper" else near)


def test_past_the_outline_the_ball_is_on_the_land():
    for kind, sizes in RECESSES.items():
        ball = ball_at(0.0, **sizes)
        angle = flat_angle(ball)
        inside, outside = (lift(ball, angle + side / STRAIGHT) for side in (-1e-6, 1e-6))
        assert int(outside.touch) == FLAT, kind
        assert int(inside.touch) != FLAT, kind
        assert float(outside.sink) == pytest.approx(0.0, abs=1e-15)
        assert 0 < float(inside.sink) < 1e-4


def test_far_rim_before_the_middle():
    """A ball held beyond the middle first goes down, then up: its share of travel changes sign in the middle."""
    ball = ball_at(-0.03, diameter=1.3208)
    angles = np.array([0.0, 0.029, 0.031, 0.06]) / STRAIGHT
    at = lift(ball, angles)
    assert np.sign(at.cos_chi).tolist() == [-1, -1, 1, 1]
    assert at.sink[0] == pytest.approx(at.sink[3], rel=1e-9)


def test_exactly_in_the_middle_the_share_of_travel_is_one():
    assert float(lift(ball_at(0.0, diameter=1.3208), 0.0).cos_chi) == 1.0


def test_arrays_of_knives_broadcast_over_angles():
    many = A.with_arrays({"balls[0].recess.diameter": np.array([[1.2], [1.3208]])})
    both = lift(many.balls[0], np.linspace(0, 0.05, 7))
    assert both.sink.shape == (2, 7)
    assert both.sink[1] == pytest.approx(lift(A.balls[0], np.linspace(0, 0.05, 7)).sink, abs=1e-15)


@pytest.mark.parametrize("off_track", [-0.08, 0.08])
def test_the_middle_is_nearest_and_the_flat_begins_at_the_outline(off_track):
    """By the distance between ball and axis of the recess, each on its own circle round the pivot."""
    sizes = {"off_track": off_track, "rest_offset": -0.05, "edge_radius": 0.04}
    ball = A.replace({f"balls[0].recess.{name}": size for name, size in sizes.items()}).balls[0]

    def apart(theta):
        axis = (8.001 + off_track) * np.exp(-1j * (theta + np.arcsin(-0.05 / (8.001 + off_track))))
        return abs(8.001 - axis)

    nearest = minimize_scalar(apart, bounds=(0.0, 0.02), method="bounded", options={"xatol": 1e-10}).x
    assert middle_angle(ball) == pytest.approx(nearest, rel=1e-3)
    assert flat_angle(ball) == pytest.approx(brentq(lambda theta: apart(theta) - 0.6604 - 0.04, 0.02, 0.2), rel=1e-9)
