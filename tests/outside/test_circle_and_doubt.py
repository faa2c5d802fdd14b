"""Circle fits against published figures (M2).

Source: SciPy Cookbook, "Least squares circle" (two data sets); invariance as discussed in Least squares fitting of circles and lines,
arXiv cs/0301001.
"""

import numpy as np
import pytest
from scipy.linalg import eig

from detentlib.measure.photo import fit_circle

ALL_ROUND = np.array([[9, 35, -13, 10, 23, 0], [34, 10, 6, -14, 27, -10]], float).T
SHORT_ARC = np.array([[36, 36, 19, 18, 33, 26], [14, 10, 28, 31, 18, 26]], float).T


@pytest.mark.checked_by("published", "SciPy Cookbook", "fit_circle")
@pytest.mark.parametrize(
    ("points", "method", "centre", "radius", "squares", "within"),
    [
        (ALL_ROUND, "geometric", (10.50009, 9.65995), 23.33353, 7.711852, 1e-5),
        (ALL_ROUND, "algebraic", (10.55231, 9.70590), 23.36241, None, 1e-5),
        (SHORT_ARC, "geometric", (9.88757, 3.68750), 27.35044, 4.042522, 1e-4),
        (SHORT_ARC, "algebraic", (15.05503, 8.83615), 20.85072, None, 1e-4),
    ],
)
def test_cookbook_circles(points, method, centre, radius, squares, within):
    found = fit_circle(points, method)
    assert (found.x.value, found.y.value) == pytest.approx(centre, abs=within)
    assert found.radius.value == pytest.approx(radius, abs=within)
    if squares:
        assert found.scatter**2 * 3 == pytest.approx(squares, abs=within)


@pytest.mark.checked_by("published", "Taubin's fit, IEEE PAMI 13", "fit_circle")
@pytest.mark.parametrize("points", [ALL_ROUND, SHORT_ARC])
def test_constrained_circle_is_the_least_eigenvector(points):
    """Taubin's fit as the literature states it: A p = η N p for the smallest η (IEEE PAMI 13, 1991; Chernov and Lesort 2005, from memory)."""
    x, y = points.T
    design = np.column_stack([x**2 + y**2, x, y, np.ones(x.size)])
    moment, n = design.T @ design / x.size, design.mean(axis=0)
    slopes = np.array([[4 * n[0], 2 * n[1], 2 * n[2], 0], [2 * n[1], 1, 0, 0], [2 * n[2], 0, 1, 0], [0, 0, 0, 0]])
    size, vectors = eig(moment, slopes)
    real = np.where(np.isfinite(size) & (np.abs(size.imag) < 1e-9), np.abs(size.real), np.inf)
    a, b, c, d = vectors[:, np.argmin(real)].real
    found = fit_circle(points, "constrained")
    assert (found.x.value, found.y.value) == pytest.approx((-b / (2 * a), -c / (2 * a)), rel=1e-6)
    assert found.radius.value == pytest.approx(np.sqrt((b**2 + c**2 - 4 * a * d) / (4 * a**2)), rel=1e-6)


def test_on_a_short_arc_the_constrained_fit_leans_far_less_than_the_algebraic_one():
    """A quarter circle of radius 1, scatter 0.02: the mean radius of many fits (Chernov and Lesort, Journal of Mathematical Imaging and Vision 23, 2005)."""
    turn, rng = np.linspace(0, np.pi / 3, 30), np.random.default_rng(1)
    many = [np.column_stack([np.cos(turn), np.sin(turn)]) + 0.02 * rng.standard_normal((30, 2)) for _ in range(100)]
    lean = {method: abs(np.mean([fit_circle(points, method).radius.value for points in many]) - 1) for method in ("algebraic", "constrained")}
    assert lean["constrained"] < 0.4 * lean["algebraic"]


@pytest.mark.checked_by("by hand", "circumcircle", "fit_circle")
def test_circle_through_three_points():
    """Exact circumcircle of (0, 0), (1, 0), (0, 1)."""
    found = fit_circle(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    assert (found.x.value, found.y.value, found.radius.value) == pytest.approx((0.5, 0.5, 0.5**0.5), abs=1e-12)
    assert "no ±" in found.warning


def test_turned_shifted_and_scaled_points_give_the_same_circle():
    """Invariance of the geometric fit."""
    turn = 0.7
    moved = 3.0 * ALL_ROUND @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + (100.0, -50.0)
    before, after = fit_circle(ALL_ROUND), fit_circle(moved)
    centre = 3.0 * np.array([before.x.value, before.y.value]) @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + (100.0, -50.0)
    assert (after.x.value, after.y.value) == pytest.approx(tuple(centre), abs=1e-6)
    assert after.radius.value == pytest.approx(3 * before.radius.value, rel=1e-9)
