"""Springs under rigid and elastic bars, from textbooks: the same sums as two balls on one bar, or one ball on each of two bars.

[1] Gere, Mechanics of Materials, 7th ed., problem 2.7-8 (five springs under a rigid bar).
[2] Hibbeler, Mechanics of Materials, example 12.16, p. 623 (beam on two springs).
[3] Beer, Johnston, DeWolf, Mechanics of Materials, sample problem 2.3, p. 86 (rigid arm held by two rods).
[4] NPTEL, Structural Analysis, module 5 lecture 3, example 5.14 (beam on three springs; the set-up, solved here).
[5] Clutches and Brakes: Design and Selection, 2nd ed., CRC Press 2004, doi 10.1201/9780203026236-107 (independent ball detents).
"""

from dataclasses import replace

import numpy as np
import pytest
import sympy as sp

import detentlib as dl
from detentlib.mechanics.share import share
from tests.knives import A


def pushed_to(rates, lifts):
    """Forces of springs side by side that are each pushed so far; what share calls balls that give way by themselves."""
    return share(np.diag(1 / np.asarray(rates, float))[..., None], np.atleast_2d(lifts).astype(float).T).T


def test_five_springs_under_a_rigid_bar():
    """[1] with W = 600 N, k = 7.5 N/mm: drop 8 mm, forces 180, 90, 60 N from the outside in, energy 2.4 J."""
    rates = 7.5 * np.array([3, 1.5, 1, 1.5, 3])
    drop = 600 / pushed_to(rates, np.ones(5)).sum()
    forces = pushed_to(rates, np.full(5, drop))[0]
    assert drop == pytest.approx(8.0, rel=1e-12)
    assert forces == pytest.approx([180, 90, 60, 90, 180], rel=1e-12)
    assert (forces**2 / rates).sum() / 2 == pytest.approx(2400.0, rel=1e-12)


def end_compliance(length, youngs_modulus, second_moment):
    """Deflection at the end of a plain cantilever per unit force there, by B1 with a relief as thick as the bar."""
    relief = length / 10
    thick = np.cbrt(12 * second_moment)  # of width 1
    arm = length - relief / 2
    return dl.formulas["B1"](near_arm=arm, far_arm=arm, relief_length=relief, relief_thickness=thick, thickness=thick, width=1.0, youngs_modulus=youngs_modulus)


@pytest.mark.checked_by("published", "Hibbeler, 12.16", "B1")
def test_beam_on_two_springs():
    """[2] 9 ft on two springs of 15 kip/ft, 3 kip at 3 ft: sinks 0.12601 ft under the load, printed 0.126; in ft and kip."""
    rates, places, load = np.array([15.0, 15.0]), np.array([0.0, 9.0]), 3.0
    reactions = np.linalg.solve([[1.0, 1.0], places], [load, load * 3.0])
    sinks = reactions / rates
    assert reactions == pytest.approx([2.0, 1.0], rel=1e-12)
    assert pushed_to(rates, sinks)[0] == pytest.approx(reactions, rel=1e-12)
    assert sinks == pytest.approx([0.13333, 0.06667], abs=1e-5)
    rigid = np.interp(3.0, places, sinks)
    assert rigid == pytest.approx(0.11111, abs=1e-5)
    # from under the load the beam is two cantilevers, each bent up by its reaction; E 29e3 ksi, I 12 in^4
    stiffness = 29e3 * 144, 12 / 12**4
    bent = [force * end_compliance(span, *stiffness) for force, span in zip(reactions, (3.0, 6.0), strict=True)]
    bending = np.interp(3.0, places, bent)
    assert bending == pytest.approx(0.01490, abs=1e-5)
    assert rigid + bending == pytest.approx(0.12601, abs=1e-5)
    assert rigid + bending == pytest.approx(0.126, abs=5e-4)


def test_rigid_arm_on_its_pivot_held_by_two_rods():
    """[3] two balls at different arms of one pivoting bar, both giving way: rods at 12 and 20 in, 180 kip·in; printed 7.50, 2.50 kip, 0.0432 in."""
    arms, modulus = np.array([12.0, 20.0]), 10.6e3
    areas, lengths = np.pi / 4 * np.array([0.5, 0.75]) ** 2, np.array([24.0, 30.0])
    per_turn = pushed_to(modulus * areas / lengths, arms)[0]
    turn = 180.0 / (per_turn @ arms)
    forces = turn * per_turn
    assert forces == pytest.approx([2.50, 7.50], abs=1e-3)
    assert forces[0] / forces[1] == pytest.approx(1 / 3, rel=1e-12)
    assert turn * 18 == pytest.approx(0.04324, abs=5e-6)
    assert turn * 18 == pytest.approx(0.0432, abs=1e-4)


def test_the_same_arm_as_a_bar_with_two_balls():
    """The pivoting arm is a bar of no stiffness of its own; give it some, and each rod's force is what share finds ball by ball."""
    arms, rates = np.array([12.0, 20.0]), np.array([86.7, 156.1])
    own = 4000.0  # N·mm per radian of the bar, pushed from its free position by both rods towards a tang 0.05 rad away
    wanted = 0.05 * arms
    loads = share(np.outer(arms, arms) / own + np.diag(1 / rates), wanted)
    turn = sp.Symbol("t")
    balance = sp.Eq(own * turn, sum(arm * rate * arm * (sp.Rational(1, 20) - turn) for arm, rate in zip(arms, rates, strict=True)))
    turned = float(sp.solve(balance, turn)[0])
    assert loads == pytest.approx(rates * arms * (0.05 - turned), rel=1e-12)
    assert loads @ arms == pytest.approx(own * turned, rel=1e-12)


@pytest.mark.parametrize("rates", [(10.3, 10.3), (4.0, 16.0), (1.0, 2.0, 5.0)])
def test_springs_in_series_and_side_by_side(rates):
    """1/k = sum of 1/k in a row; k = sum of k under one rigid bar."""
    row = share(np.array([[sum(1 / rate for rate in rates)]]), np.array([2.0]))[0]
    assert row == pytest.approx(2.0 / sum(1 / rate for rate in rates), rel=1e-12)
    assert pushed_to(rates, np.full(len(rates), 2.0)).sum() == pytest.approx(2.0 * sum(rates), rel=1e-12)


def middle_spring_force():
    """[4] by sympy: beam of length 2a on three springs, load P at a/2; force of the middle spring, and as EI goes to infinity."""
    f1, f2, f3, a, flexural, load = sp.symbols("f_1 f_2 f_3 a EI P", positive=True)
    n1, n2, n3, slope, level = sp.symbols("N_1 N_2 N_3 c_1 c_0")

    def height(x):
        beyond = [(n1, 0), (-load, a / 2), (n2, a)]
        return (sum(force * sp.Max(x - place, 0) ** 3 / 6 for force, place in beyond) + slope * x + level) / flexural

    balance = [sp.Eq(n1 + n2 + n3, load), sp.Eq(n2 * a + n3 * 2 * a, load * a / 2)]
    sinks = [sp.Eq(height(place), -soft * force) for place, soft, force in ((0, f1, n1), (a, f2, n2), (2 * a, f3, n3))]
    found = sp.solve(balance + sinks, [n1, n2, n3, slope, level])[n2]
    return (f1, f2, f3, a, load, flexural), found, sp.limit(found, flexural, sp.oo)


def test_beam_on_three_springs_becomes_the_rigid_one():
    """[4] The middle spring's force by share, for beams ever stiffer, against the symbolic solution and its limit."""
    letters, elastic, rigid = middle_spring_force()
    f1, f2, f3, a, load = 0.02, 0.05, 0.03, 12.0, 100.0
    given = dict(zip(letters[:5], (f1, f2, f3, a, load), strict=True))
    for flexural in (1e4, 1e6, 1e15):
        bent = (2 * a) ** 3 / (48 * flexural)  # of the beam on its ends, per newton in the middle; 11/16 of that for one at a quarter
        gives = f2 + (f1 + f3) / 4 + bent
        sinks_without = load * (0.75 * f1 + 0.25 * f3) / 2 + load * bent * 11 / 16
        found = share(np.array([[gives]]), np.array([sinks_without]))[0]
        assert found == pytest.approx(float(elastic.subs(given | {letters[5]: flexural})), rel=1e-9)
    assert found == pytest.approx(float(rigid.subs(given)), rel=1e-9)


@pytest.mark.checked_by("published", "Clutches and Brakes, CRC 2004", "feel")
def test_independent_ball_detents_add_up_and_balls_on_one_bar_do_not():
    """[5] of eight sprung pairs one gives 12.5 % of the torque and two give 25 %: here a leaf and a second leaf. Two balls on one leaf give one."""
    first = replace(A.balls[0], run_off_deg=None)
    leaves = replace(A, balls=(first, replace(first, bar=1)), second_bar=A.bar, doubts={}, assumed=())
    together = replace(A, balls=(first, first), doubts={}, assumed=())
    eighth = dl.feel(A).break_torque
    assert 12.5 * dl.feel(leaves).break_torque / eighth == pytest.approx(25.0, rel=1e-9)
    assert 12.5 * dl.feel(together).break_torque / eighth == pytest.approx(12.5, rel=1e-9)
