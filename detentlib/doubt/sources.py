"""Where the doubt of a number comes from, and what would be left of it after a measurement: both from draws that are
there.
"""

from functools import cached_property

import numpy as np

from .draws import interval, narrowed

_NOISE = 60.0  # times what chance would leave, as Sobol points are not quite chance: below that an input brings nothing
_DUST = 1e-12  # of the variance, which is what rounding leaves
_SAME = 6  # digits of a ±; two that differ further behind differ by rounding
_CORNERS = np.array([-1.6, -0.8, 0.0, 0.8, 1.6])  # of a curve, in standard deviations of its input


class Sources:
    """What each input does to one number by itself: a curve along its score, by least squares over the draws.

    First a line and a square for every input say which of them bring anything; those get a line with five corners. So
    an effect is seen that is alike on both sides, as an off-track error has, and one that begins at a threshold
    (first-order effects of an additive model: Hastie and Tibshirani, Statistical Science 1, 1986, from memory). All
    inputs are found together, so that none hides behind the scatter of the others.
    """

    def __init__(self, inputs: tuple, scores: np.ndarray, together: np.ndarray, column: np.ndarray) -> None:
        """Take scores [n, inputs], their correlations, and the column of the number with the card in its first
        place.
        """
        works = np.isfinite(column[1:])
        self.inputs, self.together, self.doubt = inputs, together, interval(column).doubt
        self._card, self._drawn, self._scores = column[0], column[1:][works], scores[works]

    @cached_property
    def _curves(self):
        """Places of the inputs that bring anything, and the weights of their curves, array [inputs, parts]."""
        parts = np.stack([self._scores, self._scores**2 - 1], axis=-1)
        weights, left = self._fitted(parts)
        chance = _NOISE * left / len(self._drawn) + _DUST * np.var(self._drawn)
        bring = np.flatnonzero(weights**2 @ [1, 2] > chance)
        return bring, self._fitted(_bent(self._scores[:, bring]))[0]

    def _fitted(self, parts):
        """Weights of the parts [n, inputs, parts] by least squares, array [inputs, parts], and the variance that is
        left.
        """
        design = np.column_stack([np.ones(len(parts)), parts.reshape(len(parts), -1)])
        found = np.linalg.lstsq(design.T @ design, design.T @ self._drawn, rcond=None)[0]
        return found[1:].reshape(parts.shape[1:]), np.var(self._drawn - design @ found)

    @cached_property
    def shares(self) -> dict:
        """{Input: ± that it alone would bring}, the largest first; below zero where the number falls as the input
        rises. Two that always err together bring the same, and stand in the order of their names.
        """
        found = dict.fromkeys(self.inputs, 0.0)
        if self.doubt:
            alone, bring = self._alone(self._scores), self._curves[0]
            sizes = self.doubt * np.std(alone, axis=0) / np.std(self._drawn)
            falls = np.mean(alone * self._scores[:, bring], axis=0) < 0
            found |= {
                self.inputs[i]: float(-size if fall else size)
                for i, size, fall in zip(bring, sizes, falls, strict=True)
            }
        return dict(sorted(found.items(), key=lambda item: (-float(f"{abs(item[1]):.{_SAME}g}"), item[0].path)))

    def after(self, measured: dict) -> float:
        """The ± of the number after measurements, {Input: new ±}, from the draws that are there: no new run.

        Each draw is moved by what its measured numbers do alone, from where they stood to where the narrower ± leaves
        them. What goes together with these is moved with them, by linear regression; what inputs do only jointly stays.
        """
        scores, together = self._scores, self.together.copy()
        for each, doubt in measured.items():
            i = self.inputs.index(each)
            left = narrowed(each.doubt, doubt) / np.sqrt(together[i, i])
            if left < 1:
                along = together[i] / together[i, i]
                scores = scores - (1 - left) * np.outer(scores[:, i], along)
                together -= (1 - left**2) * np.outer(together[i], along)
        moved = self._drawn + np.sum(self._alone(scores) - self._alone(self._scores), axis=1)
        return interval(np.concatenate([[self._card], moved])).doubt

    def _alone(self, scores):
        """What each input that brings anything does by itself at these scores, array [n, inputs]."""
        bring, weights = self._curves
        return np.einsum("nip,ip->ni", _bent(scores[:, bring]), weights)


def _bent(scores):
    """Parts of a line with corners, array [n, inputs, parts]: the score, and how far it lies beyond each corner."""
    return np.concatenate([scores[..., None], np.maximum(scores[..., None] - _CORNERS, 0.0)], axis=-1)
