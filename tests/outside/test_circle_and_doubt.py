"""Circle fits and small-sample statistics against published figures (M2, M5).

Sources: SciPy Cookbook, "Least squares circle" (two data sets); GUM, JCGM 100:2008, annex H.3 and table G.2; JCGM 101:2008 (GUM
Supplement 1), 9.2 (from memory); NIST Technical Note 1900, example E13; NIST/ITL Statistical Reference Datasets, Misra1a (certified).
The last four check the general-purpose tools that the room stands on, used as the room uses them.
"""

import numpy as np
import pytest
from scipy.optimize import curve_fit

from detentlib.bench.photo import fit_circle
from detentlib.bench.value import coverage_factor, mean_of

ALL_ROUND = np.array([[9, 35, -13, 10, 23, 0], [34, 10, 6, -14, 27, -10]], float).T
SHORT_ARC = np.array([[36, 36, 19, 18, 33, 26], [14, 10, 28, 31, 18, 26]], float).T


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


def test_student_factors_of_the_guide():
    """GUM, table G.2: 95 % for 1, 4, 9, 20 and infinitely many degrees of freedom."""
    assert [coverage_factor(free) for free in (1, 4, 9, 20, 10**7)] == pytest.approx([12.71, 2.78, 2.26, 2.09, 1.960], abs=6e-3)


def test_mean_of_readings_as_the_guide_reckons_it():
    """GUM 4.2 and G.3: s/√n times Student's factor."""
    found = mean_of([10.1, 10.3, 9.9, 10.0, 10.2])
    assert found.value == pytest.approx(10.1)
    assert found.doubt == pytest.approx(2.776 * 0.158114 / 5**0.5, rel=1e-3)


def test_straight_line_of_the_guide():
    """GUM H.3: intercept −0.1712 (0.0029), slope 0.00218 (0.00067), correlation −0.93; at 30 °C −0.1494 (0.0041)."""
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
    (intercept, slope), spread = np.polyfit(t - 20, b, 1, cov=True)[0][::-1], np.polyfit(t - 20, b, 1, cov=True)[1][::-1, ::-1]
    assert (intercept, slope) == pytest.approx((-0.1712, 0.00218), abs=5e-5)
    assert np.sqrt(np.diag(spread)) == pytest.approx((0.0029, 0.00067), abs=5e-5)
    correlation = spread[0, 1] / np.sqrt(spread[0, 0] * spread[1, 1])
    assert correlation == pytest.approx(-0.93, abs=0.005)
    assert np.sqrt(spread[0, 0] + 100 * spread[1, 1] + 20 * spread[0, 1]) == pytest.approx(0.0041, abs=5e-5)


def test_misra1a():
    """NIST StRD Misra1a, certified values."""
    x = np.array([77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0])
    y = np.array([10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78])
    found, spread = curve_fit(lambda x, b1, b2: b1 * (1 - np.exp(-b2 * x)), x, y, p0=(250, 5e-4), xtol=1e-14, ftol=1e-14)
    assert found == pytest.approx((238.94212918, 5.5015643181e-4), rel=1e-6)
    assert np.sqrt(np.diag(spread)) == pytest.approx((2.7070075241, 7.2668688436e-6), rel=1e-5)


def test_circle_through_three_points():
    """Exact circumcircle of (0, 0), (1, 0), (0, 1)."""
    found = fit_circle(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    assert (found.x.value, found.y.value, found.radius.value) == pytest.approx((0.5, 0.5, 0.5**0.5), abs=1e-12)
    assert "no ±" in found.warning


def test_turned_shifted_and_scaled_points_give_the_same_circle():
    """Invariance (discussed in Least squares fitting of circles and lines, arXiv cs/0301001)."""
    turn = 0.7
    moved = 3.0 * ALL_ROUND @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + (100.0, -50.0)
    before, after = fit_circle(ALL_ROUND), fit_circle(moved)
    centre = 3.0 * np.array([before.x.value, before.y.value]) @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + (100.0, -50.0)
    assert (after.x.value, after.y.value) == pytest.approx(tuple(centre), abs=1e-6)
    assert after.radius.value == pytest.approx(3 * before.radius.value, rel=1e-9)
