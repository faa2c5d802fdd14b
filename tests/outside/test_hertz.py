"""Contact of ball and tang against published figures (S1 to S2) and wear (S4).

Sources: Roark's Formulas for Stress and Strain, 7th ed., table 14.1; Mechanical Engineering Design (Shigley), chapter 3; the test suite
of an open tribology package; Advanced Mechanics of Materials (Boresi and Schmidt), examples 17.1 and 17.2; Advanced Strength and Applied
Elasticity (Ugural and Fenster), example 3.5; an open finite-element code's validation case V6.04.222; Contact Mechanics (Johnson), 1985,
chapters 4 and 6 (from memory); ISO 76:2006. Each exact figure was computed anew; the printed one stands beside it.
"""

import numpy as np
import pytest

from detentlib import formulas
from detentlib.mechanics.strength import ellipse


def modulus(e1, nu1, e2=None, nu2=None):
    """Contact modulus in MPa, moduli in GPa; the second body like the first where it is not given."""
    e2, nu2 = (e1, nu1) if e2 is None else (e2, nu2)
    return formulas["S1a"](youngs_modulus_1=1e3 * e1, poisson_1=nu1, youngs_modulus_2=1e3 * e2, poisson_2=nu2)


def spot(load, radius, stiff):
    return formulas["S1"](load=load, ball_radius=radius, modulus=stiff)


def pair(r1, r2):
    """Radius of the one ball on a flat that stands for two balls."""
    return r1 * r2 / (r1 + r2)


@pytest.mark.checked_by("published", "Roark, table 14.1", "S1", "S1a")
def test_handbook_constants():
    """Roark 14.1: a = 0.721 (P K C)^⅓, σ = 0.918 (P/(K² C²))^⅓, y = 1.040 (P² C²/K)^⅓, on a flat and in a socket."""
    compliance = 1 / modulus(200, 0.3, 120, 0.33)
    for diameter in (1.5875, 1.5875 * 4 / (4 - 1.5875)):  # ball on a flat; ball in a socket of 4 mm
        found = spot(14.0, diameter / 2, 1 / compliance)
        for value, scale, exact, printed in (
            (found.radius, (14.0 * diameter * compliance) ** (1 / 3), 0.721125, 0.721),
            (found.pressure, (14.0 / (diameter**2 * compliance**2)) ** (1 / 3), 0.918165, 0.918),
            (found.squash, (14.0**2 * compliance**2 / diameter) ** (1 / 3), 1.040042, 1.040),
        ):
            assert value / scale == pytest.approx(exact, abs=1e-6)
            assert value / scale == pytest.approx(printed, abs=5e-4)


@pytest.mark.checked_by("published", "Shigley, ch. 3", "S1", "S1a")
def test_two_like_steel_balls():
    """Shigley, chapter 3: 30 mm, E 207 GPa, ν 0.292: a 0.0368 F^⅓ mm, p₀ 352.7 F^⅓ MPa."""
    found = spot(1.0, pair(15, 15), modulus(207, 0.292))
    assert (found.radius, found.pressure) == pytest.approx((0.036770, 353.15), rel=1e-4)
    assert (found.radius, found.pressure) == pytest.approx((0.0368, 352.7), rel=2e-3)


def test_steel_ball_on_aluminium_ball():
    """Shigley, 10th ed., 3-138 (data from memory): 25 on 40 mm, 10 N."""
    found = spot(10.0, pair(12.5, 20), modulus(207, 0.292, 71.7, 0.333))
    assert (found.radius, found.pressure, found.squash) == pytest.approx((0.09900, 487.1, 1.274e-3), rel=1e-3)


def test_ball_on_a_flat_and_on_a_like_ball():
    """A course question, inputs seen: 50 mm, 500 N, E 200 GPa, ν 0.3."""
    flat, like = spot(500.0, 25.0, modulus(200, 0.3)), spot(500.0, pair(25, 25), modulus(200, 0.3))
    assert (flat.radius, flat.pressure, like.radius, like.pressure) == pytest.approx((0.44022, 1231.9, 0.34940, 1955.5), rel=1e-4)


@pytest.mark.checked_by("another program", "an open tribology package", "S1", "S1a")
def test_ball_of_a_tribology_package():
    """6.35 mm radius, 10 N, E 210 GPa, ν 0.3: printed mean 574, peak 861 MPa."""
    found = spot(10.0, 6.35, modulus(210, 0.3))
    assert (found.radius, found.pressure, found.pressure * 2 / 3) == pytest.approx((0.074455, 861.29, 574.19), rel=1e-4)
    assert (found.pressure, found.pressure * 2 / 3) == pytest.approx((861, 574), abs=0.5)


@pytest.mark.checked_by("published", "validation case V6.04.222", "S1")
def test_two_like_spheres_crushed_together():
    """Validation case V6.04.222: p₀ = E/(π(1 − ν²)) √(2h/R), a = √(R h/2), for an approach of h in all."""
    for load in (1.0, 14.0, 500.0):
        found = spot(load, pair(5, 5), modulus(200, 0.3))
        assert found.pressure == pytest.approx(200e3 / (np.pi * 0.91) * np.sqrt(2 * found.squash / 5), rel=1e-12)
        assert found.radius == pytest.approx(np.sqrt(5 * found.squash / 2), rel=1e-12)


def test_demo_ball():
    """1/16 in ball, 14 N, E* 115 GPa: spot 0.0834 mm across, 3845.5 MPa, squash 2.19 µm (computed)."""
    found = spot(14.0, 0.79375, 115e3)
    assert (found.radius, found.pressure, found.squash) == pytest.approx((0.041693, 3845.5, 2.1899e-3), rel=1e-4)


# ellipses


@pytest.mark.checked_by("another program", "an open tribology package", "S1b")
@pytest.mark.parametrize(
    ("along", "across", "mean", "printed", "within"),
    [
        (1 / 15, 1 / 5, 1776.8, 1780, 5e-3),
        (1 / 15 + 1 / 20, 1 / 5 + 1 / 15, 2324.3, 2330, 5e-3),
        (1 / 15 - 1 / 20, 1 / 5 - 1 / 15, 1054.7, 1060, 6e-3),
    ],
    ids=["on a flat", "on a body", "in a groove"],
)
def test_ellipses_of_a_tribology_package(along, across, mean, printed, within):
    """Radii 15 and 5 mm, 500 N, E 210 GPa, ν 0.3: on a flat, on radii of 20 and 15 mm, in a groove of these."""
    long, short, pressure, _ = ellipse(500.0, along, across, modulus(210, 0.3))
    assert pressure * 2 / 3 == pytest.approx(mean, rel=1e-3)
    assert pressure * 2 / 3 == pytest.approx(printed, rel=within)
    if along == 1 / 15:
        assert (short / long, long, short) == pytest.approx((0.48263, 0.43081, 0.20792), rel=1e-4)


@pytest.mark.checked_by("published", "Boresi and Schmidt, 17.2", "S1b")
def test_ball_in_a_conforming_groove():
    """Boresi and Schmidt 17.2, a ball bearing, 1.75 kN: exact 2.200 × 0.16149 mm, 2351 MPa; from charts 2.10 × 0.16 mm, 2314 MPa."""
    along, across = 1 / 4.76 - 1 / 4.86, 1 / 4.76 + 1 / 18.24
    assert across / along == pytest.approx(61.28, rel=1e-3)
    long, short, pressure, _ = ellipse(1750.0, along, across, modulus(200, 0.29))
    assert (long, short, pressure) == pytest.approx((2.200, 0.16149, 2351), rel=1e-3)
    assert (long, pressure) == (pytest.approx(2.10, rel=0.05), pytest.approx(2314, rel=0.02))


@pytest.mark.checked_by("published", "Boresi and Schmidt, 17.1", "S1b")
def test_general_crossed_radii():
    """Boresi and Schmidt 17.1: 60/130 and 80/200 mm at 60°, 4.5 kN: exact 1641.9 MPa; from charts 1597 MPa."""
    whole = 1 / 60 + 1 / 130 + 1 / 80 + 1 / 200
    one, other = 1 / 60 - 1 / 130, 1 / 80 - 1 / 200
    split = np.sqrt(one**2 + other**2 + 2 * one * other * np.cos(np.radians(120)))
    along, across = (whole - split) / 2, (whole + split) / 2
    assert across / along == pytest.approx(1.4973, rel=1e-3)
    _, short, pressure, _ = ellipse(4500.0, along, across, modulus(200, 0.29))
    assert (short, pressure) == pytest.approx((1.0000, 1641.9), rel=1e-3)
    assert pressure == pytest.approx(1597, rel=0.03)


@pytest.mark.checked_by("published", "Ugural and Fenster, 3.5", "S1b")
def test_crossed_cylinders():
    """Ugural and Fenster 3.5: radii 0.4 and 0.3 m, 90 kN, E 210 GPa, ν 0.3: 6.46 × 5.33 mm, 1246 MPa."""
    long, short, pressure, _ = ellipse(90_000.0, 1 / 400, 1 / 300, modulus(210, 0.3))
    assert (long, short, pressure) == pytest.approx((6.457, 5.331, 1248), rel=1e-3)
    assert (long, short, pressure) == pytest.approx((6.46, 5.33, 1246), rel=5e-3)


def test_a_round_ellipse_is_the_round_spot():
    long, short, pressure, squash = ellipse(14.0, 1 / 0.79375, 1 / 0.79375, 115e3)
    flat = spot(14.0, 0.79375, 115e3)
    assert (long, short, pressure, squash) == pytest.approx((flat.radius, flat.radius, flat.pressure, flat.squash), rel=1e-9)


# limits


@pytest.mark.checked_by("published", "Johnson, eq. 6.10", "S2")
@pytest.mark.parametrize(
    ("yield_stress", "stiff", "load"),
    [(2034.0, modulus(207, 0.3), 8.675), (1900.0, modulus(207, 0.3), 7.07)],
    ids=["52100", "440C"],
)
def test_first_yield_load(yield_stress, stiff, load):
    """Johnson, eq. 6.10 (from memory): p₀ = 1.6 Y, for a 1/16 in ball on a like flat."""
    assert formulas["S2"](pressure=1.6 * yield_stress, ball_radius=0.79375, modulus=stiff) == pytest.approx(load, rel=1e-3)


def test_first_yield_load_on_titanium():
    """The same ball on Ti-6Al-4V, E 113.8 GPa, ν 0.342, yield 970 MPa in compression: 1.80 N."""
    load = formulas["S2"](pressure=1.6 * 970, ball_radius=0.79375, modulus=modulus(207, 0.3, 113.8, 0.342))
    assert load == pytest.approx(1.80, abs=0.005)


@pytest.mark.checked_by("published", "Bhushan, ch. 3", "S1", "S1a", "S2")
def test_first_yield_of_a_recess_under_a_ceramic_ball():
    """Bhushan, Introduction to Tribology, chapter 3 (question seen): 5 mm ball in a 10 mm recess, hardness 5 GPa = 2.8 Y."""
    stiff = modulus(450, 0.3, 200, 0.3)
    assert stiff == pytest.approx(152.16e3, rel=1e-3)
    load = formulas["S2"](pressure=1.6 * 5000 / 2.8, ball_radius=1 / (1 / 5 - 1 / 10), modulus=stiff)
    assert load == pytest.approx(520.6, rel=1e-3)
    assert spot(load, 10.0, stiff).radius == pytest.approx(0.2950, rel=1e-3)


@pytest.mark.checked_by("published", "ISO 76:2006", "S2")
@pytest.mark.parametrize(("diameter", "load"), [(1.5875, 18.65), (1.0, 7.40), (1.5, 16.65), (2.0, 29.60), (2.38125, 41.96)])
def test_static_limit_of_the_bearing_industry(diameter, load):
    """ISO 76:2006: 4200 MPa for ball bearings; on a flat, E 207 GPa, ν 0.3."""
    assert formulas["S2"](pressure=4200.0, ball_radius=diameter / 2, modulus=modulus(207, 0.3)) == pytest.approx(load, rel=1e-3)


# wear


@pytest.mark.checked_by("by hand", "volume of a cap", "S4a")
def test_flat_on_a_ball():
    """Geometry: 10 µm off a 1/16 in ball are 2.48317e-4 mm³."""
    assert formulas["S4a"](depth=0.010, ball_radius=0.79375) == pytest.approx(2.48317e-4, rel=1e-5)


@pytest.mark.checked_by("published", "Archard and Hirst, 1956", "S4")
def test_worn_volume():
    """K 1.3e-4 (hard tool steel, after Archard and Hirst 1956), 15 N, 12 m, 7 GPa, form with the factor 3: 1.114e-3 mm³."""
    assert formulas["S4"](wear_coefficient=1.3e-4, load=15.0, distance=12_000.0, hardness=7000.0) == pytest.approx(1.114e-3, rel=1e-3)
