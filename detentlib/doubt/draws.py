"""Draws of uncertain numbers, and what a column of results from them says: its two ends, shares of events (JCGM
101:2008).
"""

import math
from typing import NamedTuple

import numpy as np

from ..knife.given import given_count
from ..knife.parts import spec
from ..knife.together import matrix_of
from ..knife.units import SURE, Within, both, ends, normal_doubt

SCREEN, PAGE = 2048, 16_384
_MOST, _SEEDS = 1_000_000, 10**12  # draws that a small computer holds; where they may begin
_DIMENSIONS = 256  # drawn at least, so that one input more does not change the draws of the others
SPARE = _DIMENSIONS - 1  # a slot of `scores` that no number of a knife has
_EDGE = 2.0**-40  # of the even numbers, which would be at an infinite score
_DUST = 1e-9  # of a number, which is what rounding leaves
_ALIKE = 0.8  # the shorter side of an interval over its longer one, from which on one ± says both


class Normal(NamedTuple):
    """A number with its ± (95 %), normal, cut off where such a number cannot be; see `normal_of` for its edges."""

    value: float
    doubt: float
    low: float = -math.inf
    high: float = math.inf

    def at(self, scores: np.ndarray) -> np.ndarray:
        """The number at these scores of a standard normal one."""
        from scipy.special import ndtr, ndtri

        wide = self.doubt / SURE
        if not wide:
            return np.full(scores.shape, float(self.value))
        low, high = (float(ndtr((edge - self.value) / wide)) for edge in (self.low, self.high))
        if (low, high) != (0.0, 1.0):
            scores = ndtri(low + ndtr(scores) * (high - low))
        return self.value + wide * scores


class Even(NamedTuple):
    """A number anywhere within ± reach, each place equally likely (rectangular); the edges as of a Normal."""

    value: float
    reach: float
    low: float = -math.inf
    high: float = math.inf

    def at(self, scores: np.ndarray) -> np.ndarray:
        """The number at these scores of a standard normal one."""
        from scipy.special import ndtr

        low, high = max(self.value - self.reach, self.low), min(self.value + self.reach, self.high)
        return low + (high - low) * ndtr(scores)


def distribution(value: float, doubt: float, low: float = -math.inf, high: float = math.inf) -> Normal | Even:
    """How a number scatters by its ±: even where that is a limit (`Within`), else normal."""
    return (Even if isinstance(doubt, Within) else Normal)(value, doubt, low, high)


def distribution_of(path: str, value: float, doubt: float) -> Normal | Even:
    """The distribution of a number of a knife, cut off at the edges of its field's rule: a size stays above zero.

    Signed numbers, such as a rest offset, run over zero; an angle of a chamfer stays between 0° and 90°.

    >>> distribution_of("balls[0].recess.chamfer_width", 0.0, 0.1).at(np.array([-3.0, 0.0])).round(4).tolist()
    [0.0001, 0.0344]
    >>> distribution_of("balls[0].protrusion", 0.42, Within(0.02)).at(np.array([-SURE, 0.0, SURE])).round(4).tolist()
    [0.401, 0.42, 0.439]
    """
    rule = spec(path)["rule"]
    return distribution(value, doubt, *{"any": (-math.inf, math.inf), "acute": (0.0, 90.0)}.get(rule, (0.0, math.inf)))


def narrowed(before: float, after: float) -> float:
    """What is left of the scatter of a number's scores, as a share, once its ± goes from one to another; 1 where it
    does not shrink.

    >>> narrowed(0.04, 0.01), round(narrowed(Within(0.04), 0.01), 3)
    (0.25, 0.162)
    """
    left = normal_doubt(after) / normal_doubt(before)
    if left >= 1:
        return 1.0
    if isinstance(before, Within):
        # of scores a z, the number 2 Φ(a z) − 1 has the variance 2/π arcsin(a²/(1 + a²)): 1/3 where a is 1
        part = math.sin(math.pi / 6 * left**2)
        return math.sqrt(part / (1 - part))
    return left


def scores(slots: list, n: int, seed: int = 1) -> np.ndarray:
    """Independent standard normal scores, an array [n, slots]: scrambled Sobol points, each slot one dimension of them.

    The same slot and seed give the same column, whatever other slots there are (of the first 256).

    >>> one, other = scores([3], 64)[:, 0], scores([0, 3, 7], 64)[:, 1]
    >>> bool(np.all(one == other)), bool(abs(one.mean()) < 0.02)
    (True, True)
    """
    from scipy.special import ndtri
    from scipy.stats.qmc import Sobol

    n = given_count("n", n, "how many knives are drawn", most=_MOST)
    seed = given_count("seed", seed, "where the draws begin", least=0, most=_SEEDS)
    engine = Sobol(max([_DIMENSIONS, *(slot + 1 for slot in slots)]), rng=np.random.default_rng(seed))
    even = engine.random_base2((n - 1).bit_length())[:n, slots]
    return ndtri(np.clip(even, _EDGE, 1 - _EDGE))


def mixed(alone: np.ndarray, together: np.ndarray) -> np.ndarray:
    """Scores that go together as a matrix of correlations says, each as near its own independent ones as can be.

    A normal copula. Correlations that miss being possible by their last digit are taken as the nearest that are.

    >>> both = mixed(scores([0, 1], 4096), np.array([[1.0, -1.0], [-1.0, 1.0]]))
    >>> bool(np.allclose(both[:, 0], -both[:, 1]))
    True
    """
    if np.array_equal(together, np.eye(len(together))):
        return alone
    size, turn = np.linalg.eigh(together)
    root = turn * np.sqrt(np.maximum(size, 0.0)) @ turn.T
    return alone @ (root / np.linalg.norm(root, axis=0))


def draw(inputs: dict, n: int = PAGE, seed: int = 1, together: dict | None = None) -> dict:
    """Joint draws of numbers, {name: array [n]}; inputs: {name: Normal or Even}; together: {(name, name): −1 to 1}.

    >>> drawn = draw({"a": Normal(1, 0.6), "b": Normal(2, 0.8)})
    >>> np.quantile(drawn["a"] + drawn["b"], [0.025, 0.975]).round(2).tolist()                    # √(0.6² + 0.8²)
    [2.0, 4.0]
    """
    found = mixed(scores(list(range(len(inputs))), n, seed), matrix_of(together or {}, list(inputs)))
    return {name: each.at(column) for (name, each), column in zip(inputs.items(), found.T, strict=True)}


class Interval(NamedTuple):
    """A number as the card has it, and the two ends that hold 95 % of what the card allows.

    lost: share of the draws that gave no number, such as knives that cannot work; the ends are those of all others.
    """

    value: float
    low: float
    high: float
    lost: float = 0.0

    @property
    def doubt(self) -> float:
        """Half of the way from end to end: the ± where both sides are alike."""
        return (self.high - self.low) / 2

    @property
    def alike(self) -> bool:
        """Whether one ± says both sides."""
        sides = sorted((self.high - self.value, self.value - self.low))
        return sides[0] >= _ALIKE * sides[1]

    def said(self, unit: str) -> str:
        """In words, also in inch units: with its ± where both sides are alike, else with both ends.

        >>> even, uneven = Interval(11.9, 9.6, 14.1), Interval(1.0, 0.94, 1.0)
        >>> Interval(12.0394, 11.95, 12.13).said("N"), even.said("mJ"), uneven.said("")
        ('12.039 ± 0.090 N (2.706 ± 0.020 lbf)', '11.9 ± 2.3 mJ', '1.000 (0.940 to 1.000)')
        """
        if self.high == self.low:
            return both(self.value, unit)
        return both(self.value, unit, self.doubt) if self.alike else ends(self.value, self.low, self.high, unit)


def interval(column: np.ndarray) -> Interval:
    """The Interval of a column of results: the card's own in its first place, the draws below it; nan for no number.

    The value is the card's, which can be worked out by hand, not the mean of the draws. The ends leave as much out on
    either side (JCGM 101:2008, 7.7), but never the card itself: where that stands at the very end, as for an off-track
    error of 0, they hold the 95 % that begin there.

    >>> interval(np.array([0.0, *np.linspace(0.0, 1.0, 101)]))
    Interval(value=0.0, low=0.0, high=0.95, lost=0.0)
    """
    value, drawn = float(column[0]), column[1:][np.isfinite(column[1:])]
    if not drawn.size:
        return Interval(value, value, value, 1.0)
    below, above = np.mean(drawn < value), np.mean(drawn > value)
    start = float(np.clip(0.025, 0.05 - min(0.05, above), min(0.05, below)))
    low, high = np.quantile(drawn, [start, start + 0.95])
    lost = 1 - drawn.size / (column.size - 1)
    if high - low <= _DUST * abs(value):
        low = high = value
    return Interval(value, min(float(low), value), max(float(high), value), lost)


def share(event: np.ndarray) -> float:
    """The share of draws for which an event is true; the first place of the column is the card itself and not counted.

    >>> share(np.array([True, True, False, False, False]))
    0.25
    """
    return float(np.mean(event[1:]))


def share_said(part: float, n: int) -> str:
    """A share of n draws in words, never none and never all.

    >>> share_said(0.12, 2048), share_said(0.0, 2048), share_said(1.0, 16384), share_said(0.0034, 2048)
    ('12 %', 'less than 1 in 2,000', 'all but less than 1 in 10,000', '0.34 %')
    """
    least = int(n // 10 ** (len(str(n)) - 1)) * 10 ** (len(str(n)) - 1)
    if not 0 < part < 1:
        return f"{'all but ' if part else ''}less than 1 in {least:,}"
    percent = 100 * part
    return f"{percent:.0f} %" if 1 <= percent <= 99 else f"{percent:.2f} %"


def shares_said(parts: dict, n: int) -> str:
    """Shares of n draws that are the whole together, {what: share}, in words, the largest first; of three and more the
    last is what is left, since rounded numbers need not make 100 %.

    >>> shares_said({"true": 0.25, "false": 0.75}, 2048)
    'false in 75 %, true in 25 %'
    >>> shares_said({"one": 0.096, "other": 0.884, "both": 0.02}, 2048)
    'other in 88 %, one in 10 %, both in the rest'
    """
    found = sorted(((what, part) for what, part in parts.items() if part), key=lambda each: -each[1])
    told = [f"{what} in {share_said(part, n)}" for what, part in found]
    return ", ".join([*told[:-1], f"{found[-1][0]} in the rest"] if len(told) > 2 else told)
