"""Doubt against published figures, through the functions that the bench uses (M4, M5).

Sources: GUM, JCGM 100:2008, annexes H.1 (end gauge, contributions as an open package of a national laboratory computes them) and H.3
(thermometer), tables G.1 and G.2; JCGM 101:2008 (GUM Supplement 1), 9.5, from memory; NIST Technical Note 1900, example E13; NIST/ITL
Statistical Reference Datasets, Misra1a (certified values).
"""

import numpy as np
import pytest
from scipy.optimize import least_squares

from detentlib.doubt.draws import SURE, Even, Normal, draw
from detentlib.measure.value import covariance, coverage_factor, mean_of, means_of


def standard(value, deviation):
    """A normal number from its standard deviation."""
    return Normal(value, SURE * deviation)


def test_end_gauge():
    """H.1: 50 000 838 nm, first order 31.66 nm (printed 32); products without one bring 11.7 and 1.7, in all 34 (H.1.7, from memory)."""
    inputs = {"ls": standard(50_000_623.0, 25.0), "d0": standard(215.0, 5.8), "d1": standard(0.0, 3.9), "d2": standard(0.0, 6.7)}
    inputs |= {"da": Even(0.0, 1e-6), "thermal": Even(11.5e-6, 2e-6), "dth": Even(0.0, 0.05)}
    inputs |= {"th": standard(-0.1, 0.2), "swing": standard(0.0, 0.5 / 2**0.5)}
    drawn = draw(inputs)
    first = drawn["ls"] + drawn["d0"] + drawn["d1"] + drawn["d2"]
    by_hand = 50_000_623.0 * (-0.1 * drawn["da"] + 11.5e-6 * drawn["dth"])
    whole = first - drawn["ls"] * (drawn["da"] * (drawn["th"] + drawn["swing"]) + drawn["thermal"] * drawn["dth"])
    assert whole.mean() == pytest.approx(50_000_838, abs=0.5)
    assert (first - by_hand).std() == pytest.approx(31.66, abs=0.01)
    assert (whole - first + by_hand).std() == pytest.approx(np.hypot(11.7, 1.7), abs=0.05)
    assert whole.std() == pytest.approx(34, abs=0.5)


T = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]) - 20
B = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])


def line():
    """Intercept and slope of H.3, their covariance and the sum of squares."""
    design = np.column_stack([np.ones(T.size), T])
    found, squares, *_ = np.linalg.lstsq(design, B, rcond=None)
    return found, covariance(design, squares[0] / (T.size - 2)), squares[0]


def test_straight_line_of_the_guide():
    """GUM H.3: intercept -0.1712 (0.0029), slope 0.00218 (0.00067), correlation -0.93, sum of squares 1.100966e-4."""
    found, spread, squares = line()
    wide = np.sqrt(np.diag(spread))
    assert found == pytest.approx((-0.1712, 0.00218), abs=5e-5)
    assert wide == pytest.approx((0.0029, 0.00067), abs=5e-5)
    assert spread[0, 1] / wide.prod() == pytest.approx(-0.930, abs=5e-4)
    assert squares == pytest.approx(1.100966e-4, rel=1e-6)


def test_correlated_inputs_of_the_guide():
    """GUM H.3: at 30 °C -0.1494 (0.0041); with the correlation left out it would be 0.0073."""
    found, spread, _ = line()
    wide = np.sqrt(np.diag(spread))
    inputs = {"intercept": standard(found[0], wide[0]), "slope": standard(found[1], wide[1])}
    r = spread[0, 1] / wide.prod()
    together, apart = draw(inputs, together={("intercept", "slope"): r}), draw(inputs)
    at_30 = together["intercept"] + 10 * together["slope"]
    assert at_30.mean() == pytest.approx(-0.1494, abs=5e-5)
    assert at_30.std() == pytest.approx(0.0041, abs=5e-5)
    assert (apart["intercept"] + 10 * apart["slope"]).std() == pytest.approx(0.0073, rel=0.03)


def test_small_difference_over_a_small_difference():
    """TN 1900, E13: 1.7266e-5 per kelvin, standard uncertainty 1.755e-6, 95 % from 1.38e-5 to 2.07e-5."""
    inputs = {"l0": standard(1.4999, 1e-4), "l1": standard(1.5021, 2e-4), "t0": standard(288.15, 0.02), "t1": standard(373.10, 0.05)}
    drawn = draw(inputs)
    found = (drawn["l1"] - drawn["l0"]) / (drawn["l0"] * (drawn["t1"] - drawn["t0"]))
    assert found.mean() == pytest.approx(1.7266e-5, rel=1e-4)
    assert found.std() == pytest.approx(1.755e-6, rel=1e-3)
    assert np.quantile(found, (0.025, 0.975)) == pytest.approx((1.38e-5, 2.07e-5), abs=1e-7)


def test_misra1a():
    """NIST StRD Misra1a, certified: b1 238.94212918 (2.7070075241), b2 5.5015643181e-4 (7.2668688436e-6), sum of squares 0.12455138894."""
    x = np.array([77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0])
    y = np.array([10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78])

    def off(numbers):
        return numbers[0] * (1 - np.exp(-numbers[1] * x)) - y

    def slopes(numbers):
        fall = np.exp(-numbers[1] * x)
        return np.column_stack([1 - fall, numbers[0] * x * fall])

    found = least_squares(off, (250, 5e-4), slopes, method="lm", xtol=1e-14, ftol=1e-14)
    assert found.x == pytest.approx((238.94212918, 5.5015643181e-4), rel=1e-6)
    assert 2 * found.cost == pytest.approx(0.12455138894, rel=1e-8)
    spread = covariance(found.jac, 2 * found.cost / (x.size - 2))
    assert np.sqrt(np.diag(spread)) == pytest.approx((2.7070075241, 7.2668688436e-6), rel=1e-6)


def test_simultaneous_resistance_and_reactance():
    """GUM H.2, from the five raw repeats of table H.2: R, X, Z with their standard uncertainties and output correlations (tables H.3 and H.4)."""
    raw = {
        "volt": [5.007, 4.994, 5.005, 4.990, 4.999],
        "amp": [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        "phase": [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    }
    means, together = means_of(raw)
    assert [together[pair] for pair in (("volt", "amp"), ("volt", "phase"), ("amp", "phase"))] == pytest.approx([-0.36, 0.86, -0.65], abs=6e-3)
    wide = {name: Normal(mean.value, mean.doubt / coverage_factor(4) * 1.96) for name, mean in means.items()}
    drawn = draw(wide, 2**14, together=together)
    ratio, phase = drawn["volt"] / drawn["amp"], drawn["phase"]
    outputs = np.array([ratio * np.cos(phase), ratio * np.sin(phase), ratio])
    assert outputs.mean(axis=1) == pytest.approx((127.732, 219.847, 254.260), abs=5e-3)
    assert outputs.std(axis=1) == pytest.approx((0.071, 0.295, 0.236), rel=0.02)
    r = np.corrcoef(outputs)
    assert (r[0, 1], r[0, 2], r[1, 2]) == pytest.approx((-0.588, -0.485, 0.993), abs=0.01)


def test_student_factors_of_the_guide():
    """GUM, table G.2: 95 % for 1, 4, 9, 20 and infinitely many degrees of freedom."""
    assert [coverage_factor(free) for free in (1, 4, 9, 20, 10**7)] == pytest.approx([12.71, 2.78, 2.26, 2.09, 1.960], abs=6e-3)


def test_mean_of_readings_as_the_guide_reckons_it():
    """GUM 4.2 and G.3: s/√n times Student's factor."""
    found = mean_of([10.1, 10.3, 9.9, 10.0, 10.2])
    assert found.value == pytest.approx(10.1)
    assert found.doubt == pytest.approx(2.776 * 0.158114 / 5**0.5, rel=1e-3)
