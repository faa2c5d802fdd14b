"""A number with its ±: of repeated readings, of the numbers of a fit."""

import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np


class Value(NamedTuple):
    """A number and its ± (95 %)."""

    value: float
    doubt: float


def coverage_factor(free: float) -> float:
    """Student's factor for 95 % with so many degrees of freedom; 1.96 for very many (GUM, annex G).

    >>> round(coverage_factor(4), 2), round(coverage_factor(1000), 2)
    (2.78, 1.96)
    """
    from scipy.stats import t

    return float(t.ppf(0.975, free))


def mean_of(readings: Sequence[float] | np.ndarray, common: float = 0.0) -> Value:
    """Mean of repeated readings as a Value: ± from their scatter with the small-sample factor, and a common ± on top.

    readings: two or more; common: ± of the instrument itself, the same in every reading.

    >>> mean_of([12.0, 12.2, 12.1, 11.9, 12.0])                     # s = 0.114 N, 2.776 s / √5
    Value(value=12.04, doubt=0.14)
    """
    readings = np.asarray(readings, float)
    if readings.size < 2:
        raise ValueError("one reading has no scatter; read at least twice")
    scatter = float(np.std(readings, ddof=1)) / math.sqrt(readings.size)
    return Value(float(readings.mean()), math.hypot(coverage_factor(readings.size - 1) * scatter, common))


def means_of(
    columns: Mapping[str, Sequence[float] | np.ndarray],
) -> tuple[dict[str, Value], dict[tuple[str, str], float]]:
    """Means of numbers that were read together, {name: Value}, and how far these go together, {(name, name): −1 to 1}
    (GUM 5.2.3).

    columns: {name: readings}, row by row of one length, three or more.

    >>> means_of({"one": [1.0, 2.0, 3.0], "other": [4.0, 3.0, 2.0]})[1]
    {('one', 'other'): -1.0}
    """
    scattered = {name: column for name, column in columns.items() if np.ptp(column) > 0}
    together = np.atleast_2d(np.corrcoef(list(scattered.values()))) if scattered else ()
    pairs = combinations(range(len(scattered)), 2)
    names = list(scattered)
    return {name: mean_of(column) for name, column in columns.items()}, {
        (names[i], names[j]): float(together[i, j]) for i, j in pairs
    }


def covariance(jacobian: np.ndarray, scale: float = 1.0) -> np.ndarray:
    """Covariance of the numbers of a least-squares fit, one standard deviation squared.

    jacobian: how the misfits, in standard deviations of one reading, move with the numbers at their best (n readings, k
    numbers); scale: the misfits' own variance, 1 where readings scatter as was said of them. A number that no reading
    tells comes out 0 wide.

    >>> covariance(np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]])).round(3).tolist()
    [[0.833, -0.5], [-0.5, 0.5]]
    """
    size = np.linalg.norm(jacobian, axis=0)
    size = np.where(size > 0, size, 1.0)
    even = jacobian / size
    return np.linalg.pinv(even.T @ even, rcond=1e-12) * scale / np.outer(size, size)
