"""Cantilever and torsion of a strip against published figures (B1, B1a, B2, B2a).

Sources: Strength of Materials (Bansal), problems 13.1 and 13.2; a university laboratory sheet on Maxwell's reciprocal theorem, examples I and
II; Roark's Formulas for Stress and Strain, 7th ed., tables 8.1 and 10.1; Engineering Mechanics of Solids (Popov), example 10.11; for the
torsion coefficient a theory page "Rectangular sections" of a structural-analysis manual and a university appendix on torsion of rectangles.
Each exact figure was computed anew; the printed one stands beside it. "Old tables" are from memory.
"""

import numpy as np
import pytest
import sympy as sp
from sympy.physics.continuum_mechanics.beam import Beam

from detentlib import KnifeError, bar_slope, formulas, level_place
from tests.knives import A, measured


def deflection(at, load_at, modulus, inertia):
    """Deflection per unit load of a plain cantilever, as a bar whose relief is as thick as the rest (B1)."""
    near, far = sorted((at, load_at))
    relief = near / 4
    thickness = 10.0
    return formulas["B1"](
        near_arm=near - relief / 2,
        far_arm=far - relief / 2,
        relief_length=relief,
        relief_thickness=thickness,
        thickness=thickness,
        width=12 * inertia / thickness**3,
        youngs_modulus=modulus,
    )


def slope_at(at, load_at, modulus, inertia):
    step = 1e-4 * at
    return (deflection(at + step, load_at, modulus, inertia) - deflection(at - step, load_at, modulus, inertia)) / (2 * step)


@pytest.mark.checked_by("published", "Bansal, 13.1", "B1")
def test_tip_load():
    """Bansal 13.1: 3 m, 25 kN, E 2.1e5 N/mm², I 1e8 mm⁴: 10.71 mm and 0.005357 rad at the tip."""
    tip = 25_000 * deflection(3000, 3000, 2.1e5, 1e8)
    assert tip == pytest.approx(10.7143, rel=1e-5)
    assert tip == pytest.approx(10.71, abs=0.005)
    assert tip == pytest.approx(25_000 * 3000**3 / (3 * 2.1e5 * 1e8), rel=1e-12)
    # beyond the load the bar is straight, so its slope is that of the last stretch
    end = (deflection(3001, 3000, 2.1e5, 1e8) - deflection(3000, 3000, 2.1e5, 1e8)) * 25_000
    assert end == pytest.approx(0.00535714, rel=1e-6)


@pytest.mark.checked_by("published", "Bansal, 13.2", "B1")
def test_load_part_way():
    """Bansal 13.2: 50 kN at 2 m of 3 m, E 2e5: 11.67 mm and 0.005 rad at the tip; 6.6667 mm at the load (computed)."""
    tip = 50_000 * deflection(3000, 2000, 2e5, 1e8)
    assert tip == pytest.approx(11.6667, rel=1e-5)
    assert tip == pytest.approx(11.67, abs=0.005)
    assert 50_000 * slope_at(3000, 2000, 2e5, 1e8) == pytest.approx(0.005, rel=1e-6)
    assert 50_000 * deflection(2000, 2000, 2e5, 1e8) == pytest.approx(6.6667, rel=1e-5)


@pytest.mark.checked_by("published", "a laboratory sheet on Maxwell's theorem", "B1")
def test_reciprocity():
    """Laboratory sheet, example I: unit load at a, read at 2a, and the other way round: 5 a³/(6 E I) both ways."""
    one, other = deflection(200, 100, 2e5, 50.0), deflection(100, 200, 2e5, 50.0)
    assert one == other == pytest.approx(5 * 100**3 / (6 * 2e5 * 50), rel=1e-12)


def test_reciprocity_of_slope_and_deflection():
    """Example II: a unit load at 2a turns the bar at a by 3 a²/(2 E I), and a unit moment at a lifts it at 2a by as much."""
    expected = 3 * 100**2 / (2 * 2e5 * 50)
    assert slope_at(100, 200, 2e5, 50.0) == pytest.approx(expected, rel=1e-7)
    # a unit moment at a is two opposite loads a hair apart
    step = 0.01
    moment = (deflection(200, 100 + step, 2e5, 50.0) - deflection(200, 100 - step, 2e5, 50.0)) / (2 * step)
    assert moment == pytest.approx(expected, rel=1e-6)


@pytest.mark.checked_by("published", "Roark, table 8.1", "B1")
def test_influence_coefficient():
    """Roark, table 8.1, case 1a: x²(3a − x)/(6 E I) up to the load, a²(3x − a)/(6 E I) beyond it."""
    rng = np.random.default_rng(3)
    for x, a in rng.uniform(20, 90, (100, 2)):
        low, high = sorted((x, a))
        assert deflection(x, a, 2e5, 40.0) == pytest.approx(low**2 * (3 * high - low) / (6 * 2e5 * 40), rel=1e-12)


@pytest.mark.checked_by("another program", "sympy, Beam", "B1")
def test_influence_coefficient_against_sympy_beam():
    """The general-purpose Beam of sympy, a program of its own."""
    x = sp.Symbol("x")
    beam = Beam(90, 2 * 10**5, 40)
    reaction, moment = sp.symbols("R M")
    beam.bc_deflection, beam.bc_slope = [(0, 0)], [(0, 0)]
    beam.apply_load(reaction, 0, -1)
    beam.apply_load(moment, 0, -2)
    beam.apply_load(1, 36, -1)
    beam.solve_for_reaction_loads(reaction, moment)
    shape = sp.lambdify(x, beam.deflection().rewrite(sp.Piecewise))
    for at in (10.0, 30.0, 36.0, 60.0):
        assert abs(float(shape(at))) == pytest.approx(deflection(at, 36.0, 2e5, 40.0), rel=1e-9)


@pytest.mark.checked_by("published", "Popov, 10.11", "B1")
def test_load_aslant_to_the_strong_axis():
    """Popov 10.11: 2000 lbf, 5° off, 100 in, E 29e6 psi, I 315 and 8.13 in⁴: 0.246 in sideways, 0.073 in down, 0.257 in together."""
    down = 2000 * np.cos(np.radians(5)) * deflection(100, 100, 29e6, 315.0)
    sideways = 2000 * np.sin(np.radians(5)) * deflection(100, 100, 29e6, 8.13)
    assert (sideways, down, np.hypot(sideways, down)) == pytest.approx((0.24644, 0.07270, 0.25694), abs=1e-5)
    assert (sideways, down, np.hypot(sideways, down)) == pytest.approx((0.246, 0.073, 0.257), abs=5e-4)


TORSION = {  # b/t: (exact series, printed); the printed 1.3 is a misprint, those of 1.4 and 1.8 are rounded down
    1.0: (0.140577, 0.141),
    1.1: (0.153984, 0.154),
    1.2: (0.166119, 0.166),
    1.3: (0.177059, 0.177),
    1.4: (0.186904, 0.187),
    1.5: (0.195761, 0.196),
    1.8: (0.217431, 0.217),
    2.0: (0.228682, 0.229),
    2.5: (0.249365, 0.249),
    3.0: (0.263317, 0.263),
    4.0: (0.280813, 0.281),
    5.0: (0.291317, 0.291),
    6.0: (0.298320, 0.298),  # old tables: 0.299
    7.5: (0.305322, 0.305),
    8.0: (0.307073, 0.307),
    10.0: (0.312325, 0.312),  # old tables: 0.313
}


@pytest.mark.checked_by("published", "a theory page on rectangular sections", "B2")
@pytest.mark.parametrize("sides", TORSION)
def test_torsion_coefficient(sides):
    exact, printed = TORSION[sides]
    found = formulas["B2"](long_side=sides * 1.3, short_side=1.3) / (sides * 1.3 * 1.3**3)
    assert found == pytest.approx(exact, abs=1e-6)
    assert found == pytest.approx(printed, abs=5.1e-4)


def test_torsion_of_a_thin_strip():
    assert formulas["B2"](long_side=1e4, short_side=1.0) / 1e4 == pytest.approx(1 / 3, abs=1e-4)


@pytest.mark.checked_by("published", "Roark, table 10.1", "B2")
@pytest.mark.parametrize("sides", [1.0, 1.1, 1.2, 1.5, 2.0, 3.0, 5.0, 6.36, 10.0, 50.0])
def test_torsion_closed_form(sides):
    """Roark, table 10.1: b t³(1/3 − 0.21 (t/b)(1 − t⁴/12 b⁴)), within 0.5 % everywhere and 0.01 % from b/t = 5 up."""
    closed = sides * (1 / 3 - 0.21 / sides * (1 - 1 / (12 * sides**4)))
    assert formulas["B2"](long_side=sides, short_side=1.0) == pytest.approx(closed, rel=1e-4 if sides >= 5 else 5e-3)


@pytest.mark.checked_by("by hand", "y² l/(G J)", "B2a")
def test_twist_of_the_demo_relief():
    """7.0 × 1.1 mm: coefficient 1/3 (1 − 0.6302 t/b) = 0.30032; a ball 2 mm aside twists it by y² l/(G J)."""
    constant = formulas["B2"](long_side=7.0, short_side=1.1)
    assert constant == pytest.approx(0.30032 * 7.0 * 1.1**3, rel=2e-5)
    twist = formulas["B2a"](side_offset_1=2.0, side_offset_2=2.0, relief_length=6.0, shear_modulus=44_000.0, twist_constant=constant)
    assert twist == pytest.approx(4 * 6 / (44_000 * 0.30032 * 7.0 * 1.1**3), rel=2e-5)


def end_slope(length, modulus, inertia):
    """Slope at the end of a plain cantilever per unit load there, as a bar whose relief is as thick as the rest (B1a)."""
    relief, thickness = length / 4, 10.0
    sizes = {"relief_length": relief, "relief_thickness": thickness, "thickness": thickness, "width": 12 * inertia / thickness**3}
    return formulas["B1a"](hinge_distance=length - relief / 2, youngs_modulus=modulus, **sizes)


@pytest.mark.checked_by("published", "Bansal, 13.1 and 13.2", "B1a")
def test_slope_of_the_end():
    """Bansal 13.1 and 13.2: 0.005357 rad under 25 kN at 3 m; 0.005 rad beyond 50 kN at 2 m."""
    assert 25_000 * end_slope(3000, 2.1e5, 1e8) == pytest.approx(0.00535714, rel=1e-6)
    assert 50_000 * end_slope(2000, 2e5, 1e8) == pytest.approx(0.005, rel=1e-9)


@pytest.mark.checked_by("by hand", "F l²/(2 E I), stretch by stretch", "bar_slope")
def test_slope_of_the_demo_bar_under_its_own_force():
    """Fl²/2EI of each stretch, with the couple that the rest of the lever brings to the relief: F l (L − l/2)/EI more."""
    force, modulus, relief, reach = 17.04, 113_800.0, 7.0 * 1.1**3 / 12, 36.4 - 3.0
    thin = force * 6.0**2 / (2 * modulus * relief) + force * reach * 6.0 / (modulus * relief)
    thick = force * reach**2 / (2 * modulus * 7.0 * 3.0**3 / 12)
    assert bar_slope(A) == pytest.approx(np.degrees(thin + thick), rel=1e-9)
    assert bar_slope(A, 2 * force) == pytest.approx(2 * bar_slope(A))
    with pytest.raises(KnifeError, match="drawn sizes are not known"):
        bar_slope(measured(A))
    with pytest.raises(ValueError, match="must not be negative"):
        bar_slope(A, -1)


@pytest.mark.checked_by("published", "Archimedes, I, 6", "C6", "level_place")
def test_the_law_of_the_lever():
    """Archimedes, On the Equilibrium of Planes, I, 6: weights balance at distances that are inversely as they are (from memory)."""
    for first, second in ((10.0, 30.0), (1.0, 1.0), (7.0, 2.0)):
        place = level_place(12.0, first, second)
        assert place * first == pytest.approx((12.0 - place) * second)
    with pytest.raises(ValueError, match="rate_2 = 0 N/mm"):
        level_place(12.0, 1.0, 0)
