"""Where the doubt of a number comes from, and what would be left of it after a measurement: both from draws that are there."""

from functools import cached_property

import numpy as np

from .draws import interval

_BINS = 16  # of equal probability, for corners and steps
_NOISE = 12.0  # times what chance alone brings: below that an input brings nothing
_DUST = 1e-12  # of the variance, which is what rounding leaves


class Sources:
    """What each input does to one number: slope and bend along its score, and the mean of what those leave in 16 bins.

    So an effect is seen that is alike on both sides, as an off-track error has, and one that begins at a threshold
    (given-data first-order index: Borgonovo and Plischke, European Journal of Operational Research 248, 2016, from
    memory). Slopes and bends of all inputs are found together, so that none hides behind the scatter of the others.
    """

    def __init__(self, inputs: tuple, scores: np.ndarray, together: np.ndarray, column: np.ndarray) -> None:
        """Take scores [n, inputs], their correlations, and the column of the number with the card in its first place."""
        works = np.isfinite(column[1:])
        self.inputs, self.together, self.doubt = inputs, together, interval(column).doubt
        self._drawn, self._scores = column[1:][works], scores[works]

    @cached_property
    def _variance(self):
        return float(np.var(self._drawn)) if self.doubt else 0.0

    @cached_property
    def _curve(self):
        """Slopes and bends of the number along the scores, by least squares, and what they leave of each draw."""
        count = len(self.inputs)
        design = np.hstack([np.ones((len(self._drawn), 1)), self._scores, self._scores**2 - 1])
        found = np.linalg.lstsq(design.T @ design, design.T @ self._drawn, rcond=None)[0]
        return found[1 : count + 1], found[count + 1 :], self._drawn - design @ found

    @cached_property
    def _bins(self):
        """Mean of what the curve leaves in each bin of each input, array [inputs, bins], and its variance without the noise."""
        from scipy.special import ndtr

        rest, means = self._curve[2], []
        for column in self._scores.T:
            bins = np.minimum((ndtr(column) * _BINS).astype(int), _BINS - 1)
            many = np.bincount(bins, minlength=_BINS)
            means.append(np.bincount(bins, rest, _BINS) / np.maximum(many, 1))
        means = np.array(means).reshape(-1, _BINS)
        return means, np.maximum(np.mean(means**2, axis=1) - self._chance * (_BINS - 1), 0.0)

    @property
    def _chance(self):
        """Variance that chance gives the mean of all draws."""
        return float(np.var(self._curve[2])) / max(len(self._drawn), 1)

    @cached_property
    def shares(self) -> dict:
        """{Input: ± that it alone would bring}, the largest first; below zero where the number falls as the input rises."""
        if not self._variance:
            return dict.fromkeys(self.inputs, 0.0)
        slopes, bends, _ = self._curve
        alone = slopes**2 + 2 * bends**2 + self._bins[1]
        alone = np.where(alone > _NOISE * self._chance + _DUST * self._variance, alone, 0.0)
        sizes = np.copysign(self.doubt * np.sqrt(alone / self._variance), slopes)
        found = zip(self.inputs, (sizes + 0.0).tolist(), strict=True)
        return dict(sorted(found, key=lambda item: -abs(item[1])))

    def after(self, measured: dict) -> float:
        """The ± of the number after measurements, {Input: new ±}, by the same draws weighted anew; no new run.

        What goes together with a measured input becomes surer with it. Law of total variance: slopes and bends by the
        moments of normal numbers conditioned on the measured ones, the bins by their new weights; what inputs do jointly
        stays as it is.
        """
        if not self._variance:
            return 0.0
        (slopes, bends, _), (means, steps), left = self._curve, self._bins, self.together.copy()
        for each, doubt in measured.items():
            i = self.inputs.index(each)
            fewer = left[i, i] - (doubt / each.doubt) ** 2
            if fewer > 0:
                left -= np.outer(left[i], left[i]) * fewer / left[i, i] ** 2
        gain = slopes @ (self.together - left) @ slopes + 2 * bends @ (self.together**2 - left**2) @ bends
        for mean, step, wide in zip(means, steps, np.diag(left), strict=True):
            gain += step * (1 - _narrowed(mean, wide)) if step else 0.0
        return self.doubt * float(np.sqrt(max(1 - gain / self._variance, 0.0)))


def _narrowed(means, variance):
    """Variance of the bins' means for an input that scatters so much less, as a share of what it was."""
    from scipy.special import ndtr, ndtri

    edges = ndtri(np.linspace(0.0, 1.0, _BINS + 1))
    weights = np.diff(ndtr(edges / np.sqrt(max(variance, 1e-12))))
    return float((weights @ means**2 - (weights @ means) ** 2) / np.var(means))
