"""Least squares with what is known beforehand, for readings whose errors may hang together: the one engine of every
fit at the bench.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from ..knife.values import Values
from .value import Value, covariance, coverage_factor

REFUSED = 1e3  # standard deviations: as far off as numbers count that nothing real can have
_STEP = 0.05  # of one size of a number, to see which way the readings move
_ROUNDS, _STILL = 8, 0.05  # rounds of weighing, until no number moves by so many of its sizes
_ROUGH = 8  # tries to see how good a start is
_LENGTHS = (2.0, 3.0, 4.0, 6.0, 8.0, 11.0, 16.0, 23.0, 32.0)  # how many readings a drift may last for
# readings, and standard deviations by which neighbours must go together, before a drift is looked for
_FEW, _TOGETHER = 10, 2.0
UNLIKELY = 0.05  # chance of a misfit below which the scatter that is found counts, and not the one that was stated
# the least share of its variance that numbers known together leave to one of them: correlations are written in three
# decimals
_TIED = 1e-6
_LATELY = 4  # tables of numbers
_DRIFTS = 6.0  # deviance by which errors that hang together must explain readings better


class Seen(NamedTuple):
    """What n readings should be for m sets of numbers, (m, n) each: mean; noise of their own; shaken, by the error
    of an angle: standard deviations.
    """

    mean: np.ndarray
    noise: np.ndarray
    shaken: np.ndarray

    @property
    def wide(self) -> np.ndarray:
        """How wide each reading scatters, one standard deviation."""
        return np.hypot(self.noise, self.shaken)


class Fit(NamedTuple):
    """Numbers that explain readings best.

    found, spread: the numbers and their covariance; factor: from a standard deviation to the ±; misfit: sum of squares
    in standard deviations; deviance: the same with all widths counted, to compare fits by; free: readings to spare;
    seen: what the readings should be; drift: for how many readings errors of the angle hang together, or None; slopes:
    how the mean of each reading moves with the numbers (n, k); least: what was fitted.
    """

    found: np.ndarray
    spread: np.ndarray
    factor: float
    misfit: float
    deviance: float
    free: int
    seen: Seen
    drift: float | None
    slopes: np.ndarray
    least: "Least"

    @property
    def explained(self) -> float:
        """Chance of so bad a fit by noise alone."""
        from scipy.stats import chi2

        return float(chi2.sf(self.misfit, self.free))

    @property
    def sure(self) -> np.ndarray:
        """One standard deviation of the mean of each reading."""
        return np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", self.slopes, self.spread, self.slopes), 0.0))

    def told(self, number: Callable[[np.ndarray], np.ndarray], sizes: np.ndarray) -> Value:
        """A Value computed from the numbers by first order; number takes a table (m, k)."""
        moves = 1e-3 * np.diag(sizes)
        at = number(np.concatenate([self.found[None], self.found + moves, self.found - moves]))
        k = self.found.size
        gradient = (at[1 : k + 1] - at[k + 1 :]) / (2e-3 * sizes)
        return Value(float(at[0]), self.factor * math.sqrt(max(float(gradient @ self.spread @ gradient), 0.0)))


class Least:
    """Readings, what they should be, and what is known of the numbers beforehand."""

    def __init__(
        self,
        values: np.ndarray,
        seen: Callable[[np.ndarray], Seen],
        size: np.ndarray | Sequence[float],
        known: tuple[np.ndarray, ...] | None = None,
        when: np.ndarray | None = None,
        inside: tuple[Values, int] = (0.0, 0),
        reach: np.ndarray | None = None,
    ) -> None:
        """Values (n,); seen(table (m, k)): a Seen, nan where no such thing can be. size (k,): a usual step of each
        number.

        known: means and standard deviations (k,) of the numbers beforehand, inf where nothing is known, and their
        correlations (k, k) where these are not independent. when (n,): the order in which the readings were taken.
        inside: squares, and how many, that readings already taken together left among themselves. reach (k,): standard
        deviations about the same means of numbers of which nothing is known, so that they stay near where readings
        leave them open; these count as no knowledge.
        """
        self.values, self.seen, self.size, self.inside = values, _remembered(seen), np.asarray(size, float), inside
        self.before, self.sure, *together = known or (np.zeros(len(size)), np.full(len(size), np.inf))
        self.known = int(np.count_nonzero(np.isfinite(self.sure)))
        self.sure = self.sure if reach is None else np.where(np.isfinite(self.sure), self.sure, reach)
        self.held = np.flatnonzero(np.isfinite(self.sure))
        self.tie = _tie(self.sure[self.held], *(each[np.ix_(self.held, self.held)] for each in together))
        self.when = np.arange(values.size) if when is None else when
        self.drift, self.root, self.log_wide = None, None, 0.0

    def fit(self, start: np.ndarray | Sequence[float], rough: bool = False) -> Fit:
        """The Fit from a start (k,); rough: a few tries, to compare starts by."""
        from scipy.optimize import least_squares

        numbers = np.asarray(start, float)
        for turn in range(1 if rough else _ROUNDS):
            self.weigh(numbers)
            if turn:
                self._drifts(numbers)
            found = least_squares(
                lambda steps, at=numbers: self.misfits(at[None] + steps * self.size)[0],
                np.zeros(numbers.size),
                lambda steps, at=numbers: self.slopes(at + steps * self.size),
                method="lm",
                xtol=1e-3,
                ftol=1e-4,
                max_nfev=_ROUGH if rough else None,
            )
            numbers = numbers + found.x * self.size
            if turn and np.max(np.abs(found.x)) < _STILL:
                break
        return self._at(numbers)

    def _at(self, numbers):
        """The Fit that stands at these numbers."""
        from scipy.stats import chi2

        seen = self._seen(numbers)
        self._whiten(seen, self.drift)
        misfit = self._misfit(numbers, seen)
        free = self.values.size + self.inside[1] + self.known - numbers.size
        scale = misfit / free if free > 0 and chi2.sf(misfit, free) < UNLIKELY else 1.0
        factor = 1.96 if scale == 1.0 else coverage_factor(free)
        moved = self._moved(numbers, flatter=True)
        spread = covariance(self._whole(moved), scale) * np.outer(self.size, self.size)
        return Fit(
            numbers, spread, factor, misfit, misfit + self.log_wide, free, seen, self.drift, moved / self.size, self
        )

    def weigh(self, numbers: np.ndarray) -> None:
        """Take the width of each reading as it is at these numbers, so that a fit cannot better itself by widening
        them.
        """
        self._whiten(self._seen(numbers), self.drift)

    def _drifts(self, numbers):
        """See for how many readings errors of the angle hang together, if they do."""
        seen = self._seen(numbers)
        self._whiten(seen, None)
        slopes, off = self._moved(numbers), self.values - seen.mean
        steep = np.flatnonzero(seen.shaken > seen.noise)
        apart = (off / seen.wide)[steep[np.argsort(self.when[steep])]]
        if apart.size < _FEW or abs(apart[1:] @ apart[:-1]) < _TOGETHER / math.sqrt(apart.size) * (apart @ apart):
            return
        plain, best = self._followed(slopes, off), (-_DRIFTS, None)
        for drift in _LENGTHS:
            self._whiten(seen, drift)
            best = min(best, (self._followed(slopes, off) - plain, drift), key=lambda each: each[0])
        self._whiten(seen, best[1])

    def shows(self, numbers: np.ndarray, mean: np.ndarray) -> float:
        """By what deviance other means of the readings (n,) would show, however well these numbers followed them."""
        self.weigh(numbers)
        return self._followed(self._moved(numbers), mean - self._seen(numbers).mean) - self.log_wide

    def near(self, numbers: np.ndarray, ways: np.ndarray, drift: float | None) -> tuple[np.ndarray, float]:
        """Numbers (k,) moved along ways (k, ways), in sizes, as the readings ask for by first order, and their
        deviance there; drift: for how many readings errors of the angle hang together.
        """
        self._whiten(self._seen(numbers), drift)
        steps = np.linalg.lstsq(self.slopes(numbers) @ ways, -self.misfits(numbers[None])[0], rcond=None)[0]
        numbers = numbers + ways @ steps * self.size
        seen = self._seen(numbers)
        self._whiten(seen, drift)
        return numbers, self._misfit(numbers, seen) + self.log_wide

    def _misfit(self, numbers, seen):
        """Sum of squares in standard deviations."""
        misfits = self.misfits(numbers[None])[0]
        return float(misfits @ misfits) + float(np.sum(self.inside[0] / seen.wide**2))

    def misfits(self, table: np.ndarray) -> np.ndarray:
        """Misfits in standard deviations for each row of numbers (m, k), those to what was known last."""
        with np.errstate(all="ignore"):  # numbers far from any real ones may have no curve at all
            apart = self._white((self.seen(table).mean - self.values).T).T
            found = np.concatenate([apart, (table - self.before)[:, self.held] @ self.tie.T], axis=1)
        found[~np.all(np.isfinite(found), axis=1)] = REFUSED
        return found

    def slopes(self, numbers: np.ndarray) -> np.ndarray:
        """How the misfits move by one size of each number."""
        return self._whole(self._moved(numbers))

    def _seen(self, numbers):
        return Seen(*(np.broadcast_to(each, (1, self.values.size))[0] for each in self.seen(numbers[None])))

    def _moved(self, numbers, flatter=False):
        """How the means move by one size of each number (n, k): the mean of both sides, or the flatter one; an
        impossible side is left out.
        """
        moves = _STEP * np.diag(self.size)
        at, *there = self.seen(np.concatenate([numbers[None], numbers + moves, numbers - moves])).mean
        columns = []
        for ahead, behind in zip(there[: numbers.size], there[numbers.size :], strict=True):
            sides = [
                (moved - at) / step for moved, step in ((ahead, _STEP), (behind, -_STEP)) if np.all(np.isfinite(moved))
            ] or [0 * at]
            columns.append(min(sides, key=np.linalg.norm) if flatter else np.mean(sides, axis=0))
        return np.column_stack(columns)

    def _whole(self, moved):
        """Slopes of the misfits from those of the means, those to what was known last."""
        return np.concatenate([self._white(moved), self.tie @ np.diag(self.size)[self.held]])

    def _whiten(self, seen, drift):
        """Take the scatter as it is seen, with errors of angles that hang together so; `root` is that of its
        covariance, or of its diagonal.
        """
        self.drift, self.root = drift, seen.wide
        if drift is not None:
            together = np.exp(-np.abs(self.when[:, None] - self.when) / drift)
            self.root = np.linalg.cholesky(np.diag(seen.noise**2) + together * np.outer(seen.shaken, seen.shaken))
        self.log_wide = 2 * float(np.sum(np.log(self.root if drift is None else np.diag(self.root))))

    def _white(self, apart):
        """Differences (n, m) in standard deviations that do not hang together."""
        from scipy.linalg import solve_triangular

        return (
            apart / self.root[:, None]
            if self.drift is None
            else solve_triangular(self.root, apart, lower=True, check_finite=False)
        )

    def _followed(self, moved, off):
        """Deviance of this scatter once the numbers have followed it, by first order."""
        slopes, off = self._whole(moved), np.concatenate([self._white(off[:, None])[:, 0], np.zeros(self.held.size)])
        return float(np.sum((off - slopes @ np.linalg.lstsq(slopes, off, rcond=None)[0]) ** 2)) + self.log_wide


def _tie(sure, together=None):
    """What takes the errors of numbers known beforehand (k,) to as many independent ones of one standard deviation
    (k, k).
    """
    if together is None:
        return np.diag(1 / sure)
    size, turn = np.linalg.eigh(together)
    return (turn / np.sqrt(np.maximum(size, _TIED))).T / sure


def _remembered(seen):
    """The same; what was asked lately is not worked out again, as a search asks twice for where it starts and where
    it ends.
    """

    @lru_cache(_LATELY)
    def at(numbers, count):
        return seen(np.frombuffer(numbers).reshape(count, -1))

    return lambda table: at(np.asarray(table, float).tobytes(), len(table))
