"""Jams are found over the whole opening, not at some angles of it; held against geometry and wedge worked out here."""

from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.mechanics import limits
from tests.knives import CARDS, A, C, base, measured, numbers_at_random, one_of

BORE, OUT, DEPTH, RIM = "balls[0].recess.diameter", "balls[0].protrusion", "balls[0].recess.depth", "friction.rim"
RADIUS = 0.79375
REFUSED_DEG = 89.0  # contact and friction angle together from which on a knife is refused; it jams at 90°
ON_FACE = A.replace({OUT: 0.5, BORE: 1.65, DEPTH: None, RIM: 0.4})
ON_FLOOR = A.replace({OUT: 0.7, BORE: 1.65, DEPTH: 0.5, RIM: 0.4})
# the rim of ball 2 stands steeper, and takes over on the way
TAKES_OVER = measured(C).replace(
    {
        DEPTH: None,
        OUT: 0.5,
        "balls[1].recess.depth": None,
        "balls[1].recess.diameter": 1.60,
        "balls[1].protrusion": 0.64,
    }
)
OFF_TRACK = A.replace(
    {OUT: 0.75, BORE: 1.45, DEPTH: None, "balls[0].recess.rest_offset": 0.0, "balls[0].recess.off_track": 0.005}
)


def jams(knife):
    """Whether a knife is refused, and refused for nothing but a jam."""
    problems = ()
    try:
        limits.check(knife)
    except dl.KnifeError as error:
        problems = error.problems
    assert all("jams" in problem.wrong for problem in problems), problems
    return bool(problems)


def contact(ball, theta):
    """Contact angle on a sharp rim [rad], cos χ and reach (squared distance of the contact over that of the ball, for
    the error off track).

    Plane geometry of two circles about the pivot, at blade angles.
    """
    recess, track = ball.recess, ball.track_radius
    reach = track + recess.off_track
    turn = theta + np.arcsin(recess.rest_offset / reach)
    distance = np.hypot(track - reach * np.cos(turn), reach * np.sin(turn))
    cos_chi = reach * np.sin(turn) / distance
    phi = np.arcsin((recess.diameter / 2 - distance) / ball.radius)
    return phi, cos_chi, 1 - 2 * ball.radius * np.sin(phi) / track * recess.off_track * np.cos(turn) / distance


def leaning(ball, theta, mu):
    """Angle of the push against the lift [rad] from the balance of forces: a pressing force of one, friction along
    the path.
    """
    phi, cos_chi, reach = contact(ball, theta)
    path = np.array([reach, np.tan(phi) * cos_chi]) / np.sqrt(reach + (np.tan(phi) * cos_chi) ** 2)
    along, up = np.sin(phi) * cos_chi + mu * path[0], np.cos(phi) - mu * path[1]
    return np.arctan2(along, up)


def handover(knife):
    """Blade angle at which both balls ask for the same bar angle [rad], by halving."""

    def ahead(theta):
        asked = []
        for ball in knife.balls:
            sink = ball.radius * (1 - np.cos(contact(ball, theta)[0]))
            asked.append((ball.protrusion - sink - knife.bar.parallel_gap) / ball.hinge_distance)
        return asked[0] - asked[1]

    low, high = 0.0, np.radians(2.0)
    assert ahead(low) > 0 > ahead(high)
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if ahead(middle) > 0 else (low, middle)
    return high


def test_a_jam_between_two_grid_angles_is_refused():
    """Where the bar face lies on the tang at the stop the ball comes on its rim between two angles of any grid."""
    assert jams(ON_FACE)
    with pytest.raises(
        dl.KnifeError, match=r"contact angle of 68\.3°.*friction 0\.4 the ball jams from 68\.2°\. No push at the tab"
    ):
        dl.feel(ON_FACE)


@pytest.mark.parametrize("out", [0.41, 0.47, 0.5, 0.5313, 0.56])
def test_the_limit_is_exact_where_the_ball_lifts_off_the_bar_face(out):
    """It lifts off where it is sunk by what it stands out."""
    _exact(ON_FACE.replace({OUT: out}), 0, _angle_at(ON_FACE.balls[0], out))


@pytest.mark.parametrize("depth", [0.4, 0.4777, 0.5, 0.55])
def test_the_limit_is_exact_where_the_ball_lifts_off_the_floor(depth):
    _exact(ON_FLOOR.replace({DEPTH: depth}), 0, _angle_at(ON_FLOOR.balls[0], depth))


@pytest.mark.parametrize("lower", [0.0, 0.01, 0.0234])
def test_the_limit_is_exact_at_a_handover(lower):
    knife = TAKES_OVER.replace({"balls[1].protrusion": 0.64 - lower})
    _exact(knife, 1, handover(knife))


@pytest.mark.parametrize("offset", [-0.03, -0.0171, 0.0, 0.06])
def test_the_limit_is_exact_at_the_stop_and_in_the_middle(offset):
    """A ball that starts beyond the middle is steepest in the middle."""
    knife = A.replace({OUT: 0.75, BORE: 1.45, DEPTH: None, "balls[0].recess.rest_offset": offset})
    _exact(knife, 0, 1e-12 - min(np.arcsin(offset / 8.001), 0.0))


def _angle_at(ball, sink):
    """Blade angle [rad] at which a ball on its rim is sunk by so much."""
    distance = ball.recess.diameter / 2 - np.sqrt(2 * RADIUS * sink - sink**2)
    return 2 * np.arcsin(distance / 2 / ball.track_radius) - np.arcsin(ball.recess.rest_offset / ball.track_radius)


def _friction_at(ball, theta):
    """The friction with which a ball leans to the limit there, by halving."""
    low, high = 0.0, 3.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if np.max(leaning(ball, theta, middle)) > np.radians(REFUSED_DEG) else (middle, high)
    return high


def _exact(knife, carrying, theta):
    """Refused and not refused a millionth of the friction beside what is left where a ball begins to carry."""
    mu = _friction_at(knife.balls[carrying], theta)
    assert jams(knife.replace({RIM: mu * (1 + 1e-6)}))
    under = knife.replace({RIM: mu * (1 - 1e-6)})
    assert not jams(under)
    felt = dl.feel(under)
    ball = max(knife.balls, key=lambda ball: ball.track_radius)
    assert 1e3 < felt.break_torque < 1.01 * np.tan(np.radians(REFUSED_DEG)) * 2 * felt.ride_load * ball.track_radius
    many = dl.feel_many(knife.with_arrays({RIM: mu * (1 + np.array([[1e-6], [-1e-6]]))}))
    assert many.possible.tolist() == [False, True]
    assert many.values["break_torque"][1] == pytest.approx(felt.break_torque, rel=1e-6)


def test_the_limit_is_exact_off_track_where_the_greatest_lean_lies_within():
    """In the middle of an off-track recess the rim leads straight across the track; the slope along it grows from
    nothing.
    """
    ball, theta = OFF_TRACK.balls[0], np.linspace(0, np.radians(3), 300_001)
    mu = _friction_at(ball, theta)
    assert leaning(ball, theta, mu).argmax() > 0
    assert jams(OFF_TRACK.replace({RIM: mu * (1 + 1e-5)}))
    assert not jams(OFF_TRACK.replace({RIM: mu * (1 - 1e-5)}))


def _contact_where_carried(knife):
    """The greatest contact angle [deg] of a ball that carries, over a dense sweep that ends at the flat; friction
    does not move it.
    """
    slick = knife.replace({RIM: 0.0})
    run = dl.sweep(slick, np.linspace(0, dl.feel(slick).break_out_deg, 20_001))
    climbing = (run.load > 0) & (run.slope > 0)[:, None]
    return np.max(np.where(climbing, run.contact_deg, 0.0))


@pytest.mark.parametrize("balls", [1, 2])
def test_knives_at_random_are_refused_where_a_dense_sweep_leans_too_far_and_nowhere_else(balls):
    numbers = numbers_at_random(400, 5, balls)
    rng = np.random.default_rng(6)
    numbers[RIM] = rng.uniform(0.1, 0.9, (400, 1))
    for i in range(balls):
        numbers[f"balls[{i}].recess.diameter"] = numbers[f"balls[{i}].diameter"] * rng.uniform(0.85, 1.0, (400, 1))
        numbers[f"balls[{i}].protrusion"] = numbers["balls[0].diameter"] * rng.uniform(0.25, 0.45, (400, 1))
        numbers[f"balls[{i}].recess.off_track"] = np.zeros((400, 1))
    many = dl.feel_many(base(balls).with_arrays(numbers))
    seen = {True: 0, False: 0}
    for row in range(0, 400, 4):
        knife = one_of(base(balls), numbers, row)
        try:
            limits.check(knife.replace({RIM: 0.0}))
        except dl.KnifeError:
            continue
        lean = _contact_where_carried(knife) + np.degrees(np.arctan(knife.friction.rim))
        if abs(lean - REFUSED_DEG) < 0.2:
            continue  # the sweep itself has only so many angles
        refused = jams(knife)
        assert refused == (lean > REFUSED_DEG), (row, lean)
        assert many.possible[row] != refused
        seen[refused] += 1
    assert min(seen.values()) >= 5
    most = np.tan(np.radians(REFUSED_DEG)) * np.maximum(many.values["ride_load"], many.values["rest_load"])
    track = np.max([numbers[f"balls[{i}].track_radius"] for i in range(balls)], axis=0)[:, 0]
    hinge = (
        numbers["balls[0].hinge_distance"][:, 0]
        / np.min([numbers[f"balls[{i}].hinge_distance"] for i in range(balls)], axis=0)[:, 0]
    )
    assert np.all((many.values["break_torque"] <= 1.2 * most * track * hinge)[many.possible])


def test_beside_a_jam_the_reason_is_another():
    mu = np.tan(np.radians(89.5) - np.arccos(1 - 0.5 / RADIUS))
    with pytest.raises(dl.KnifeError, match="Within 1° of that the push at the tab grows past what the rim stands"):
        dl.feel(ON_FACE.replace({RIM: mu}))


@pytest.mark.parametrize(("lean", "flagged"), [(79.9, False), (80.1, True), (88.9, True)])
def test_close_to_jamming_is_flagged_at_the_peak_too(lean, flagged):
    """At rest ball 1 carries, far from jamming; ball 2 takes over on a steeper place."""
    angle = handover(TAKES_OVER)
    felt = dl.feel(TAKES_OVER.replace({RIM: np.tan(np.radians(lean) - contact(TAKES_OVER.balls[1], angle)[0])}))
    assert felt.rest_carrier == 0
    assert felt.peak_deg == pytest.approx(np.degrees(angle), abs=1e-5)
    flags = [flag for flag in felt.flags if "Ball 2 is close to jamming" in flag]
    assert len(flags) == flagged
    assert all(f": at {felt.peak_deg:.2f}°" in flag and f"{lean:.1f}°" in flag for flag in flags)


def test_ball_left_idle_on_a_steep_rim_does_not_count():
    """What does not carry cannot jam: ball 2 stands so low that it never touches before the flat."""
    idle = replace(TAKES_OVER, balls=(TAKES_OVER.balls[0], replace(TAKES_OVER.balls[1], protrusion=0.3)))
    mu = np.tan(np.radians(90.5) - contact(idle.balls[1], 0.0)[0])
    assert not jams(idle.replace({RIM: mu}))


def test_a_rim_that_holds_until_the_blade_is_past_the_flat_is_refused():
    """The bar goes aside further than the recess is long, then all lets go at once: no work and no peak could be
    told.
    """
    sizes = {"balls[0].recess.rest_offset": -0.077, "balls[1].recess.rest_offset": 0.02, "balls[1].protrusion": 0.4232}
    steep = CARDS["E"].replace(sizes | {"friction.rim": 0.44, "bar.riding_force": 29.7})
    with pytest.raises(dl.KnifeError, match="before the rim lets go"):
        dl.feel(steep)
    steady = steep.replace({"bar.side_compliance": 0})
    assert 0 < dl.feel(steady).peak_deg < dl.feel(steady).break_out_deg
