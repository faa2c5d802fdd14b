"""Many values of one kind: how far they spread, which stand out, what repeats explain of it, shares that were
counted.
"""

import math
from typing import NamedTuple

import numpy as np

from ..doubt.draws import Interval

LEAST = 3  # values, for Grubbs' test
_ONE_IN = 5  # at most one value in so many is looked at as odd: the rest must tell what is usual
_DUST = 1e-12  # what rounding leaves of a spread of nothing


class Repeats(NamedTuple):
    """What repeated readings of each of several things tell (one-way analysis of variance; ISO 5725-2, 7.4).

    within: standard deviation of one reading of a thing; between: that of the things themselves, 0 where the repeats
    explain all; share: of the variance of the things' means, what the repeats bring; chance: of so large a spread if
    all things were alike (F test).
    """

    within: float
    between: float
    share: float
    chance: float


def deviation_of(values: np.ndarray) -> Interval:
    """Standard deviation of values that spread normally, as an Interval (95 %, by χ²: ISO 2854, from memory).

    >>> [round(each, 3) for each in deviation_of(np.array([12.0, 12.2, 12.1, 11.9, 12.0]))]
    [0.114, 0.068, 0.328, 0.0]
    """
    from scipy.stats import chi2

    free, deviation = len(values) - 1, float(np.std(values, ddof=1))
    low, high = (deviation * math.sqrt(free / chi2.ppf(part, free)) for part in (0.975, 0.025))
    return Interval(deviation, low, high)


def grubbs_limit(count: int, level: float) -> float:
    """How many standard deviations the farthest of so many normal values lies off in a share `level` of all cases.

    Two-sided, from Student's t (Grubbs, Technometrics 11, 1969; tables in ISO 5725-2 and ASTM E178).

    >>> round(grubbs_limit(10, 0.05), 3), round(grubbs_limit(10, 0.01), 3)
    (2.29, 2.482)
    """
    from scipy.stats import t

    square = t.isf(level / (2 * count), count - 2) ** 2
    return (count - 1) / math.sqrt(count) * math.sqrt(square / (count - 2 + square))


def stands_out(values: np.ndarray, level: float) -> tuple:
    """Places of the values that stand out from the others, which are taken to spread normally.

    Grubbs' test; with ten values or more also for several at once, which would hide each other (Rosner, Technometrics
    25, 1983): the farthest is taken out, again and again, and the last that lies beyond its limit counts with all
    before it.

    >>> stands_out(np.array([12.0, 12.2, 12.1, 11.9, 12.0, 14.0]), 0.01)
    (5,)
    """
    left, taken, counts = list(range(len(values))), [], 0
    for _ in range(max(1, len(values) // _ONE_IN)):
        rest = values[left]
        deviation = np.std(rest, ddof=1)
        if len(rest) < LEAST or deviation <= _DUST * abs(rest.mean()):
            break
        far = np.abs(rest - rest.mean()) / deviation
        place = int(far.argmax())
        taken.append(left.pop(place))
        if far[place] > grubbs_limit(len(rest), level):
            counts = len(taken)
    return tuple(sorted(taken[:counts]))


def analysis_of_variance(groups: list) -> Repeats:
    """What the scatter within groups explains of the spread between them: Repeats; one group holds two values or more.

    One-way analysis of variance with groups of any size (ISO 5725-2, 7.4.5; Snedecor's F).

    >>> found = analysis_of_variance([np.array([1.0, 3.0]), np.array([5.0, 7.0])])  # within: 2; between: (32 − 4) / 2
    >>> round(found.within**2, 6), round(found.between**2, 6), round(found.chance, 4)
    (2.0, 7.0, 0.1056)
    """
    from scipy.stats import f

    sizes, means = np.array([len(each) for each in groups]), np.array([each.mean() for each in groups])
    total, count = sizes.sum(), len(groups)
    within = float(sum(((each - each.mean()) ** 2).sum() for each in groups) / (total - count))
    overall = (sizes * means).sum() / total
    between = float((sizes * (means - overall) ** 2).sum() / (count - 1))
    usual = (total - (sizes**2).sum() / total) / (count - 1)
    own = max((between - within) / usual, 0.0)
    seen = float(np.var(means, ddof=1))
    share = min(within * np.mean(1 / sizes) / seen, 1.0) if seen else 1.0
    chance = float(f.sf(between / within, count - 1, total - count)) if within else 0.0 if between else 1.0
    return Repeats(math.sqrt(within), math.sqrt(own), share, chance)


def clopper_pearson(inside: int, count: int) -> tuple:
    """A share of which `inside` of `count` were seen, and its two ends (95 %; Clopper and Pearson, Biometrika 26,
    1934).

    >>> [round(each, 4) for each in clopper_pearson(0, 10)]                                   # 1 − 0.025^(1/10)
    [0.0, 0.0, 0.3085]
    """
    from scipy.stats import binomtest

    ends = binomtest(inside, count).proportion_ci(0.95, "exact")
    return inside / count, float(ends.low), float(ends.high)
