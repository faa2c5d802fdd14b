"""Stick-slip: how far pulls that jerk read beyond steady ones, from what repeats of them scatter."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from .value import Value

# columns of two-way pulls
BREAKAWAY, SLIDING = ("opening", "letting back"), ("opening sliding", "letting back sliding")
ONE_WAY = ("opening",)
_EVENLY = (np.arange(256) + 0.5) / 256


class StickSlip(NamedTuple):
    """By what share stick-slip moves the means of pulls beyond the steady ones: from what repeats scatter beyond the
    reading of a gauge.

    Each pull overshoots, by a share between none and a most that are all as likely: their mean lies by √3 times their
    scatter beyond the steady pull, and never on the other side. squares [N²], free: of the repeats about their means,
    and how many are free; noise [N]: of one reading; pull [N]: root of the sum of squares of the means; most: of the
    share, as no more can be overshoot than what parts the two pulls. How wide so few repeats really scatter is drawn by
    their chi-square.
    """

    squares: float
    free: int
    noise: float
    pull: float
    most: float = 1.0

    def at(self, scores: np.ndarray) -> np.ndarray:
        """The share at these scores of a standard normal number.

        >>> found = StickSlip(8 * 0.05, 8, 0.0, 10.0)
        >>> found.at(np.array([-1.96, 0.0, 1.96])).round(3).tolist()  # 8 / χ² is 0.46, 1.09 and 3.67
        [0.026, 0.04, 0.074]
        """
        from scipy.special import chdtri, ndtr

        variance = self.squares / chdtri(self.free, ndtr(scores))
        return np.sqrt(3 * np.maximum(variance - 2 * self.noise**2, 0.0)) / self.pull

    @property
    def normal(self) -> Value:
        """The mean of the shares that it may be, and how far above it 97.5 % of them end; upwards they reach further
        than down.

        >>> StickSlip(8 * 0.05, 8, 0.0, 10.0).normal  # √1.2 / 10 times the mean of 1/χ, Γ(3.5) / (√2 Γ(4)) = 0.392
        Value(value=0.043, doubt=0.031)
        """
        from scipy.special import ndtri

        shares = np.minimum(self.at(ndtri(_EVENLY)), self.most)
        return Value(mean := float(shares.mean()), float(np.quantile(shares, 0.975)) - mean)

    @property
    def value(self) -> float:
        """The share that is as likely too large as too small."""
        return float(self.at(np.zeros(1))[0])


def slip_of(columns: Sequence[np.ndarray], noise: float) -> StickSlip:
    """The StickSlip of an opening and a let-back column, two pulls each or more; noise: standard deviation of one
    reading [N].
    """
    means = [float(np.mean(column)) for column in columns]
    squares = sum(float(np.sum((column - mean) ** 2)) for column, mean in zip(columns, means, strict=True))
    free = 2 * (len(columns[0]) - 1)
    opening, back = means
    return StickSlip(
        2 * squares, free, noise, max(math.hypot(*means), 1e-9), max(opening - back, 0.0) / max(opening + back, 1e-9)
    )
