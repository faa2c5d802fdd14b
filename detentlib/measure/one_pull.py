"""A few sizes and one pull: what they say of a knife, with what is usual for all that nobody measured."""

import math
from typing import NamedTuple

import numpy as np

from ..doubt.cloud import Cloud, cloud
from ..doubt.draws import Interval, interval
from ..knife.parts import Knife
from ..knife.units import SURE, both, normal_doubt
from ..mechanics.feel import feel
from .fit import FREE, fit_knife
from .next_measurement import Advice, next_measurement
from .pull import EXCHANGED
from .readings import KINDS, ReadingError, Readings

TOLD = ("break_force", "letback_force", "barrier")
_WAYS = {"opening": "gauge_break_force", "letting back": "gauge_letback_force"}  # what a scale on the whole knife reads
_COMMON = (
    0.5  # of the variance of a pull is of the scale, the same in both pulls, the rest of each by itself: judgement
)
_DRAWS, _ENOUGH = 4096, 20  # of the knives that the card allows, and of those that go with the pulls
_TINY = 1e-9


class OnePull(NamedTuple):
    """What sizes and pulls say together.

    knife: the Knife that goes with them best, as of `fit_knife`; without a pull the card itself. numbers: {one of TOLD:
    Interval}, its value that of this knife, its ends those of what the card allows and the pulls leave. loosest:
    the result with the widest ± for its size; advice: the one measurement that would make that surer, None where none
    would.
    """

    knife: Knife
    numbers: dict[str, Interval]
    loosest: str
    advice: Advice | None


def one_pull(
    knife: Knife, opening: float | None = None, letback: float | None = None, doubt: float | None = None
) -> OnePull:
    """Break force, let-back force and barrier of a Knife from its card and one pull at the tab, or one each way.

    opening, letback: pulls as read on the whole knife at its tab [N], slowly, pivot axis upright; letback counts beside
    opening only. doubt: ± (95 %) of one pull [N], or Within. The fit gives the middle. The ends come from draws of the
    card, each counted as often as the pulls make it likely (importance sampling): where much is only usual, a straight
    ± would be wrong. Raises ReadingError for pulls that hardly any knife of this card gives, and like `fit_knife`;
    KnifeError for a card that cannot work.

    >>> from detentlib.files.demo import demo
    >>> one_pull(demo("pellowfen-a"), 12.3, doubt=1.5).numbers["break_force"].said("N")
    '12.1 ± 1.2 N (2.71 ± 0.27 lbf)'
    """
    best, drawn = knife, cloud(knife, n=_DRAWS)
    rows = np.arange(1, drawn.n + 1)
    if opening is not None:
        pulls, wide = [each for each in (opening, letback) if each is not None], normal_doubt(doubt)
        rows = going_with(drawn, pulls, wide / SURE)
        noise = {"force": wide * math.sqrt(1 - _COMMON), "gauge": wide * math.sqrt(_COMMON)}
        doubtful = tuple(path for path in FREE if knife.doubts.get(path)) or None
        best = fit_knife(knife, [_readings(pulls)], doubtful, noise).knife
    middle = feel(best)
    numbers = {name: interval(np.array([getattr(middle, name), *drawn.column(name)[rows]])) for name in TOLD}
    loosest = max(TOLD, key=lambda name: numbers[name].doubt / max(abs(numbers[name].value), _TINY))
    return OnePull(best, numbers, loosest, next(iter(next_measurement(best, loosest)), None))


def _readings(pulls: list[float]) -> Readings:
    kind = "two-way pull" if len(pulls) == len(_WAYS) else "opening pull"
    columns = {name: np.array([pull]) for name, pull in zip(_WAYS, pulls, strict=False)}
    return Readings(kind, columns, KINDS[kind].must, "your pull")


def going_with(drawn: Cloud, pulls: list[float], wide: float) -> np.ndarray:
    """Rows of a Cloud that go with pulls, int array [n], each as often as these make it likely.

    pulls: opening, and letting back where it was read [N]; wide: standard deviation of one pull [N]. Raises
    ReadingError where hardly any row goes with them.
    """
    read = np.stack([drawn.column(name)[1:] for name in _WAYS.values()][: len(pulls)], axis=1)
    spread = wide**2 * (_COMMON + (1 - _COMMON) * np.eye(len(pulls)))
    off = read - pulls
    likely = np.nan_to_num(np.exp(-0.5 * np.sum(off @ np.linalg.inv(spread) * off, axis=1)))
    if likely.sum() ** 2 < _ENOUGH * np.sum(likely**2) or not likely.max() > _TINY:
        raise ReadingError(_far_off(read, pulls))
    steps = (np.arange(drawn.n) + 0.5) / drawn.n * likely.sum()
    return 1 + np.minimum(np.searchsorted(np.cumsum(likely), steps), drawn.n - 1)


def _far_off(read: np.ndarray, pulls: list[float]) -> str:
    ends = [np.nanquantile(column, (0.005, 0.995)) for column in read.T]
    given = " and ".join(f"{both(pull, 'N')} {way}" for way, pull in zip(_WAYS, pulls, strict=False))
    usual = " and ".join(
        f"{both(low, 'N')} to {both(high, 'N')} {way}" for way, (low, high) in zip(_WAYS, ends, strict=False)
    )
    cure = "Look at the unit and at the sizes. If they are right, this bar is far from usual: measure its riding force."
    if pulls[-1] > pulls[0]:
        cure = EXCHANGED
    return f"{given} goes with hardly any knife of these sizes; with a usual bar they give {usual}. {cure}"
