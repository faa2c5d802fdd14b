"""A number with its ±, and the mean of repeated readings with the factor for a small sample."""

import math
from typing import NamedTuple

import numpy as np


class Value(NamedTuple):
    """A number and its ± (95 %)."""

    value: float
    doubt: float


def coverage_factor(free):
    """Student's factor for 95 % with so many degrees of freedom; 1.96 for very many (GUM, annex G).

    >>> round(coverage_factor(4), 2), round(coverage_factor(1000), 2)
    (2.78, 1.96)
    """
    from scipy.stats import t

    return float(t.ppf(0.975, free))


def mean_of(readings, common=0.0):
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
