"""Wedge, incline and screw against published worked examples: the same law that lifts a ball over its rim (F2, F3, F4, F10).

Sources, by number of the example: Engineering Statics: Open and Interactive (Baker and Haynes), sections 9.3 and 9.4; Vector Mechanics
for Engineers (Beer, Johnston and others), samples 8.1, 8.2, 8.4 and 8.5; Engineering Mechanics, Schaum series (McLean), 9-5; Engineering
Mechanics (Tayal), example 6-9; University Physics, vol. 1 (OpenStax), section 6.2. Each exact figure was computed anew from the
printed inputs; the printed figure stands beside it. "From memory" marks what was not seen in print.
"""

import math

import numpy as np
import pytest

from detentlib import formulas, wedge_push


def ratio(degrees, mu):
    """Push over load on a slope of so many degrees (F2 in the plane)."""
    return formulas["F2"](phi=math.radians(degrees), mu=mu, cos_chi=1.0)


@pytest.mark.checked_by("published", "Open statics, 9.3", "F2")
def test_wedge_raises_a_block():
    """Open statics, 9.3: wedge of 25°, friction 0.20 on both its faces, 10 lbf; printed 9.35 lbf."""
    push = 10 * (0.20 + ratio(25, 0.20))
    assert push == pytest.approx(9.3484, rel=1e-4)
    assert push == pytest.approx(9.35, abs=0.005)


@pytest.mark.checked_by("published", "Open statics, 9.3", "F2")
def test_wedge_held_back():
    """Open statics, 9.3, the example after: printed 0.436 lbf."""
    push = 10 * (ratio(25, -0.20) - 0.20)
    assert push == pytest.approx(0.43590, rel=1e-3)
    assert push == pytest.approx(0.436, abs=5e-4)


@pytest.mark.checked_by("published", "Open statics, 9.3", "F2")
def test_force_square_to_the_sloping_face():
    """Open statics, 9.3: 12.17 lbf and friction of 2.43 lbf; here from the push by the force triangle."""
    push = 10 * ratio(25, 0.20)
    square = 10 * math.cos(math.radians(25)) + push * math.sin(math.radians(25))
    assert square == pytest.approx(12.17, abs=0.005)
    assert 0.20 * square == pytest.approx(2.43, abs=0.005)


@pytest.mark.checked_by("published", "Vector Mechanics, 8.2", "F2")
@pytest.mark.parametrize(
    ("mu", "exact", "printed", "within"),
    [(0.35, 780.42, 780, 0.5), (0.25, 648.67, 649, 0.5), (-0.35, 79.991, 80.0, 0.5)],
    ids=["start up", "keep moving up", "stop it sliding down"],
)
def test_block_on_an_incline(mu, exact, printed, within):
    """Vector Mechanics, sample 8.2: 800 N on 25°, pushed level."""
    push = 800 * ratio(25, mu)
    assert push == pytest.approx(exact, rel=1e-4)
    assert push == pytest.approx(printed, abs=within)


LEAD_ANGLE = math.degrees(math.atan(4 / (math.pi * 10)))


@pytest.mark.checked_by("published", "Vector Mechanics, 8.5", "F2")
def test_screw_clamp_tightened():
    """Vector Mechanics, sample 8.5: 40 N·m on a double square thread, lead 4 mm, mean diameter 10 mm, friction 0.30.

    18.006 kN exactly; the book prints 17.97 from rounded angles (from memory).
    """
    force = 40_000 / (5 * ratio(LEAD_ANGLE, 0.30))
    assert force == pytest.approx(18_006, rel=1e-4)
    assert force == pytest.approx(17_970, rel=3e-3)


@pytest.mark.checked_by("published", "Vector Mechanics, 8.5", "F2")
def test_screw_clamp_loosened():
    """The same clamp holds by itself: 14.974 N·m to loosen it; the book prints 14.87 (from memory)."""
    force = 40_000 / (5 * ratio(LEAD_ANGLE, 0.30))
    couple = -force * 5 * ratio(LEAD_ANGLE, -0.30) / 1000
    assert couple == pytest.approx(14.974, rel=1e-4)
    assert couple == pytest.approx(14.87, rel=8e-3)


@pytest.mark.checked_by("published", "Vector Mechanics, 8.1", "F4")
def test_block_that_slips():
    """Vector Mechanics, sample 8.1: 300 lbf on a 3-4-5 slope, 100 lbf along it; friction 0.25 (from memory) can hold 60 lbf of 80."""
    square, needed = 300 * 4 / 5, 300 * 3 / 5 - 100
    assert formulas["F4"](load=square, track_radius=1.0, mu=0.25) == pytest.approx(60)
    assert needed == pytest.approx(80)
    assert formulas["F4"](load=square, track_radius=1.0, mu=0.20) == pytest.approx(48)


@pytest.mark.checked_by("published", "Schaum, 9-5", "F2")
def test_wedge_under_a_heavy_block():
    """Schaum, 9-5: taper 1 in 10 under 20 000 lbf, friction 0.20 above and 0.25 below: 11 122 lbf."""
    push = 20_000 * (0.25 + ratio(math.degrees(math.atan(0.1)), 0.20))
    assert push == pytest.approx(11_122, abs=1)


@pytest.mark.checked_by("published", "Tayal, 6-9", "F2")
def test_friction_that_holds_a_wedge():
    """Tayal, 6-9: both faces of a 15° wedge; 0.13165 (the printed 0.1309 took the tangent wrongly)."""
    assert ratio(15, -0.13165) == pytest.approx(0.13165, abs=1e-4)


@pytest.mark.checked_by("published", "University Physics, 6.2", "F4")
def test_friction_of_a_skier():
    """University Physics, 6.2: 62 kg on 25° (from memory), 45.0 N of friction: 0.082."""
    square = 62 * 9.80 * math.cos(math.radians(25))
    assert formulas["F4"](load=square, track_radius=1.0, mu=0.082) == pytest.approx(45.0, abs=0.5)


@pytest.mark.checked_by("published", "Open statics, 9.4", "F2")
def test_screw_law_in_its_three_regimes():
    """Open statics, 9.4: raising tan(a + f), self-locking tan(f - a) to lower, overhauling tan(a - f), nothing at a = f."""
    rng = np.random.default_rng(1)
    for angle, friction in np.radians(rng.uniform(1, 40, (200, 2))):
        up = formulas["F2"](phi=angle, mu=math.tan(friction), cos_chi=1.0)
        down = formulas["F2"](phi=angle, mu=-math.tan(friction), cos_chi=1.0)
        assert up == pytest.approx(math.tan(angle + friction), rel=1e-12)
        assert down == pytest.approx(math.tan(angle - friction), rel=1e-11, abs=1e-14)
    assert ratio(30, -math.tan(math.radians(30))) == pytest.approx(0, abs=1e-15)


@pytest.mark.checked_by("by hand", "90° less the friction angle", "F3")
def test_self_lock():
    """The push grows without bound towards 90° less the friction angle: 83.2° at 0.12."""
    limit = formulas["F3"](mu=0.12)
    assert math.degrees(limit) == pytest.approx(83.2, abs=0.05)
    assert formulas["F2"](phi=limit - 1e-9, mu=0.12, cos_chi=1.0) > 1e8
    assert formulas["F2"](phi=limit + 1e-9, mu=0.12, cos_chi=1.0) < -1e8


def test_a_push_is_a_wedge_not_a_component():
    """10 N sideways at 30° hold up 17.3 N."""
    assert 10 / ratio(30, 0.0) == pytest.approx(17.3, abs=0.05)


@pytest.mark.checked_by("published", "Vector Mechanics, 8.4", "F10", "wedge_push")
def test_a_block_between_wedge_and_wall():
    """Vector Mechanics, sample 8.4 (from memory): 400 lbf, wedge of 8°, 0.35 at every face: 423 lbf raises it, and 206 lbf frees the wedge again.

    The exact figures by the law of sines: friction turns the resultant of each face by 19.29°; going down, the other side of the guide holds.
    """
    slope, turn = math.radians(8), math.atan(0.35)
    up, down = (400 * math.cos(turn) / math.cos(apart) for apart in (slope + 2 * turn, slope))
    exact = up * math.sin(slope + 2 * turn) / math.cos(turn), -down * math.sin(2 * turn - slope) / math.cos(turn)
    assert exact == pytest.approx((422.69, -205.50), abs=0.01)
    assert [wedge_push(400, 8, 0.35, mu_wall=0.35, down=each).push for each in (False, True)] == pytest.approx(exact, rel=1e-12)
    up, down = (wedge_push(400, 8, 0.35, mu_wall=0.35, down=down) for down in (False, True))
    assert up.push == pytest.approx(423, abs=0.5)
    assert down.push == pytest.approx(-206, abs=0.6)
    # the resultants at the sloping face: printed 549 and 381 lbf
    assert math.hypot(1, 0.35) * up.face == pytest.approx(549, abs=0.5)
    assert math.hypot(1, 0.35) * down.face == pytest.approx(381, abs=0.5)


@pytest.mark.checked_by("published", "Open statics, 9.3; Schaum, 9-5", "F10", "wedge_push")
def test_friction_at_every_face_with_a_smooth_wall_is_the_wedge_of_the_examples():
    assert wedge_push(10, 25, 0.20).push == pytest.approx(9.3484, rel=1e-4)
    assert wedge_push(10, 25, 0.20, down=True).push == pytest.approx(0.43590, rel=1e-3)
    assert wedge_push(20_000, math.degrees(math.atan(0.1)), mu=0.20, mu_floor=0.25).push == pytest.approx(11_122, abs=1)


def test_the_forces_on_the_block_close():
    """Friction included, what the three faces give carries the load and nothing else, whatever the friction."""
    rng = np.random.default_rng(3)
    for degrees, face, floor, wall in rng.uniform([1, 0, 0, 0], [40, 0.4, 0.4, 0.4], (100, 4)):
        for down in (False, True):
            found, sign, slope = wedge_push(17.0, degrees, face, floor, wall, down), -1 if down else 1, math.radians(degrees)
            lifted = found.face * (math.cos(slope) - sign * face * math.sin(slope)) - sign * wall * abs(found.wall)
            assert lifted == pytest.approx(17.0)
            assert found.push == pytest.approx(found.wall + sign * floor * found.floor)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"wedge_deg": 52}, "locks: no push lifts the block.*Below 51.4"),
        ({"wedge_deg": 90}, "is no wedge"),
        ({"wedge_deg": -1}, "must not be negative"),
        ({"mu": -0.1}, "must not be negative"),
        ({"load": 0}, "must be greater than zero"),
        ({"load": "10 N"}, "is not a number"),
        ({"mu_wall": float("nan")}, "not a finite number"),
    ],
)
def test_a_wedge_that_cannot_be_is_refused(given, said):
    """Where it locks: 90° less both friction angles, 19.3° each at 0.35."""
    with pytest.raises(ValueError, match=said):
        wedge_push(**{"load": 10, "wedge_deg": 8, "mu": 0.35, "mu_wall": 0.35} | given)
