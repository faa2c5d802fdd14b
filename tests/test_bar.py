"""The bar: drawn and measured stiffness, its moment, and how far lift and preset carry it."""

from dataclasses import replace

import numpy as np
import pytest
from skfem import Basis, ElementTriP2, MeshTri, asm, condense, solve
from skfem.models.poisson import laplace, unit_load

import detentlib as dl
from detentlib.mechanics import bar as bars
from tests import referee
from tests.knives import A, B, measured


def rates(knife):
    return 1 / bars.drawn_compliance(knife.bar, knife.balls[0])


def test_demo_rate():
    assert rates(A) == pytest.approx(10.30, abs=0.005)
    assert dl.feel(A).rate == rates(A)


def test_relief_alone_would_be_stiffer():
    """The thick part matters 8 %, the length of the relief hardly: EI over its length gives 11.11 N/mm."""
    bar = A.bar
    inertia = bar.width * bar.relief_thickness**3 / 12
    relief_alone = bar.youngs_modulus * inertia / bar.relief_length / A.balls[0].hinge_distance ** 2
    assert relief_alone == pytest.approx(11.11, abs=0.005)


@pytest.mark.checked_by("brute force", "beam elements", "B1")
def test_compliance_matrix_of_two_balls_against_beam_elements():
    expected = referee.stepped_cantilever(B.bar, [ball.hinge_distance for ball in B.balls], 4)
    found = [[bars.drawn_compliance(B.bar, one, other) for other in B.balls] for one in B.balls]
    assert np.array(found) == pytest.approx(expected, rel=1e-7)
    assert expected[0, 1] / expected[0, 0] == pytest.approx(0.9713, abs=5e-5)


def test_compliance_does_not_ask_which_ball_is_named_first():
    near, far = B.balls[1], B.balls[0]
    assert bars.drawn_compliance(B.bar, near, far) == bars.drawn_compliance(B.bar, far, near)


@pytest.mark.checked_by("another program", "scikit-fem", "B2")
@pytest.mark.parametrize(("width", "thickness"), [(7.0, 1.1), (2.0, 1.0), (3.0, 3.0)])
def test_twist_constant_against_finite_elements(width, thickness):
    """Prandtl's stress function over the section: -laplace(F) = 2, zero on the rim, J twice its volume."""
    mesh = MeshTri.init_tensor(np.linspace(0, width, 50), np.linspace(0, thickness, 25))
    basis = Basis(mesh, ElementTriP2())
    load = 2 * asm(unit_load, basis)
    stress = solve(*condense(asm(laplace, basis), load, D=basis.get_dofs()))
    assert dl.formulas["B2"](long_side=width, short_side=thickness) == pytest.approx(load @ stress, rel=2e-5)


def test_demo_twist_constant():
    assert dl.formulas["B2"](long_side=7.0, short_side=1.1) / (7.0 * 1.1**3) == pytest.approx(0.30032, abs=5e-6)


def test_a_ball_beside_the_centre_line_also_twists_the_bar():
    aside = A.replace({"balls[0].side_offset": 2.0})
    twist_constant = dl.formulas["B2"](long_side=7.0, short_side=1.1)
    twist = 2.0**2 * 6.0 / (A.bar.shear_modulus * twist_constant)
    assert 1 / rates(aside) - 1 / rates(A) == pytest.approx(twist, rel=1e-12)
    other_side = A.replace({"balls[0].side_offset": -2.0})
    assert rates(other_side) == rates(aside)


def test_a_measured_rate_goes_before_the_drawn_sizes():
    knife = A.replace({"bar.rate": 9.0})
    assert dl.feel(knife).rate == 9.0
    assert dl.feel(knife).rest_load == pytest.approx(17.04 - 9.0 * dl.feel(knife).seat_depth[0])


def test_force_at_the_seat_and_stress_in_the_relief():
    feel = dl.feel(A)
    assert feel.rest_load == pytest.approx(14.21, abs=0.005)
    assert feel.ride_load == pytest.approx(17.04)
    assert feel.relief_stress_rest == pytest.approx(397, abs=0.5)
    assert feel.relief_stress_ride == pytest.approx(476, abs=0.5)


def test_no_stress_without_the_drawn_sizes():
    assert dl.feel(measured(A)).relief_stress_rest is None
    assert dl.feel(measured(A)).relief_stress_ride is None


def test_the_parallel_gap_does_not_matter_to_one_ball():
    """It only says how balls at other distances from the hinge are lifted."""
    peaks = [dl.feel(A.replace({"bar.parallel_gap": gap})).break_torque for gap in (None, 0.0, 0.1454, 0.4)]
    assert peaks == pytest.approx([peaks[0]] * 4, rel=1e-12)
    lifts = [dl.feel(B.replace({"bar.parallel_gap": gap})).idle_clearance[1] for gap in (0.0, 0.1454, 0.4)]
    assert lifts[0] < lifts[1] < lifts[2]


def test_without_a_stated_parallel_gap_the_bar_is_parallel_when_ball_1_rides():
    stated = B.replace({"bar.parallel_gap": B.balls[0].protrusion})
    assert dl.feel(B.replace({"bar.parallel_gap": None})).idle_clearance == pytest.approx(
        dl.feel(stated).idle_clearance
    )


def test_moment_is_a_straight_line_through_the_riding_force():
    spring = bars.spring(A.bar, A.balls[0])
    assert bars.moment(spring, spring.psi_ride) == pytest.approx(17.04 * 36.4)
    lower = spring.psi_ride - 0.1 / 36.4
    assert bars.moment(spring, lower) / 36.4 == pytest.approx(17.04 - 0.1 * spring.rate)


def test_another_material_brings_its_own_moduli():
    steel = A.replace({"bar.material": "420"})
    assert rates(steel) / rates(A) == pytest.approx(200_000 / 113_800)


def test_two_leaves_do_not_know_of_each_other():
    twin = replace(A.balls[0], bar=1)
    both = replace(A, balls=(A.balls[0], twin), second_bar=A.bar)
    one, two = dl.feel(A), dl.feel(both)
    for name in ("break_torque", "break_force", "letback_force", "barrier", "work", "rest_load", "ride_load"):
        assert getattr(two, name) == pytest.approx(2 * getattr(one, name), rel=1e-9), name
    assert two.break_out_deg == pytest.approx(one.break_out_deg)
