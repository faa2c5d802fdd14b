"""Fit of a knife to any mix of readings together (M4): which card explains them, how sure, and what they cannot tell apart."""

from dataclasses import dataclass, replace

import numpy as np

from ..mechanics.feel import feel
from ..mechanics.sweep import sweep
from ..parts import Knife, KnifeError
from ..readings import ReadingError
from .value import Value, coverage_factor

FREE = ("bar.riding_force", "balls[0].recess.diameter", "balls[0].recess.rest_offset", "friction.rim")
FREE_SECOND = ("balls[1].recess.rest_offset", "balls[1].protrusion")
NOISE = {"lift": 0.006, "angle": 0.6, "force": 0.3}  # ± (95 %) of one reading: mm, deg, N
ALIKE, UNEXPLAINED = 0.9, 0.01
_REFUSED = 1e3

_PARTED_BY = {
    frozenset(("recess.diameter", "recess.rest_offset")): "a plug pin in the recess, or a photo of the recess against its ball",
    frozenset(("bar.riding_force", "friction.rim")): "a two-way pull at the stop, or the bar force on a gauge",
    frozenset(("bar.riding_force", "recess.diameter")): "a lift trace",
    frozenset(("bar.riding_force", "recess.rest_offset")): "a lift trace",
}


@dataclass(frozen=True, repr=False)
class KnifeFit:
    """The card that explains the readings best.

    knife: the Knife with the fitted numbers and their ±, ready for `write_knife`; values: {path: Value}; correlations:
    {(path, path): -1 to 1}, for `budget`; alike: sentences on what cannot be told apart; residuals: {source: array in
    standard deviations}; explained: chance of so bad a fit by noise alone; verdict: in words.
    """

    knife: Knife
    values: dict
    correlations: dict
    alike: tuple
    residuals: dict
    explained: float
    verdict: str

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<KnifeFit of {len(self.values)} numbers to {len(self.residuals)} sets of readings: {self.verdict}>"


def fit_knife(knife, readings, free=None, noise=None, use_card=True):
    """Fit numbers of a Knife to readings: a KnifeFit.

    readings: list of Readings of the kinds "lift trace" (its zero does not matter), "two-way pull" and "force trace"
    (opening). free: paths of the numbers to find, by default riding force, recess diameter, rest offset and friction,
    and of a second ball its rest offset and protrusion. noise: ± (95 %) of one reading, {"lift": mm, "angle": deg,
    "force": N}. use_card: let the ± on the card count as a reading too, so that what the readings do not tell stays as
    the card has it. Raises ReadingError for kinds that cannot be fitted and for readings too few for the numbers.
    """
    from scipy.optimize import least_squares
    from scipy.stats import chi2

    free = tuple(free or FREE + (FREE_SECOND if len(knife.balls) > 1 else ()))
    noise = NOISE | (noise or {})
    start = np.array([knife.get(path) for path in free])
    prior = np.array([knife.doubts.get(path, 0.0) / 2 if use_card else 0.0 for path in free])
    size = np.where(prior > 0, prior, np.maximum(0.02 * np.abs(start), 1e-3))
    models = [_model(each, noise) for each in readings]

    def off(numbers):
        """All misfits in standard deviations; a card that cannot be is far off everywhere."""
        steps = (numbers - start)[prior > 0] / prior[prior > 0]
        try:
            tried = knife.replace(dict(zip(free, numbers.tolist(), strict=True)))
            parts = [model(tried) for model in models]
        except KnifeError:
            parts = [np.full(len(model(knife)), _REFUSED) for model in models]
        return np.concatenate([*parts, steps])

    at_start = off(start)
    spare = at_start.size - start.size
    if spare < 1:
        raise ReadingError(f"there are {at_start.size} readings for {start.size} numbers. Add readings, or fit fewer numbers")
    found = least_squares(off, start, x_scale=size, diff_step=1e-4, xtol=1e-10, ftol=1e-10)
    misfit = 2 * found.cost
    information = (found.jac * size).T @ (found.jac * size)
    spread = np.linalg.pinv(information, rcond=1e-10) * max(1.0, misfit / spare) * np.outer(size, size)
    wide = np.sqrt(np.diag(spread))
    factor = coverage_factor(spare)
    values = {path: Value(float(value), float(factor * width)) for path, value, width in zip(free, found.x, wide, strict=True)}
    pairs = [(i, j) for i in range(len(free)) for j in range(i)]
    correlations = {(free[j], free[i]): float(spread[i, j] / (wide[i] * wide[j])) if wide[i] * wide[j] else 0.0 for i, j in pairs}
    fitted = knife.replace({path: value.value for path, value in values.items()})
    fitted = replace(fitted, doubts=fitted.doubts | {path: value.doubt for path, value in values.items()})
    explained = float(chi2.sf(misfit, spare))
    residuals = {each.source: model(fitted) for each, model in zip(readings, models, strict=True)}
    return KnifeFit(fitted, values, correlations, _alike(correlations, values), residuals, explained, _verdict(explained))


def _model(readings, noise):
    """The misfit of a knife to one set of readings, in standard deviations."""
    models = {"lift trace": _lift_model, "two-way pull": _pull_model, "force trace": _force_model}
    if readings.kind not in models:
        raise ReadingError(f"holds readings of the kind {readings.kind!r}; a fit takes {', '.join(models)}", readings.source)
    return models[readings.kind](readings, noise)


def _lift_model(readings, noise):
    """Lift trace; its zero is free, and the doubt of the angle counts by the slope of the curve."""
    angle, lift = np.maximum(readings["angle"], 0.0), readings["lift"]
    shake = np.where(readings["angle"] == 0, 0.0, noise["angle"] / 2)

    def off(knife):
        low, middle, high = (sweep(knife, np.maximum(angle + side * shake, 0.0)).gap for side in (-1, 0, 1))
        wide = np.hypot(noise["lift"] / 2, (high - low) / 2)
        # an angle that scatters reads a bent curve a little low on average
        apart = lift - (middle + (high - 2 * middle + low) / 2)
        zero = np.average(apart, weights=wide**-2)
        return (apart - zero) / wide

    return off


def _pull_model(readings, noise):
    """Two-way pulls at the stop, gauge on the whole knife."""
    opening, letback = readings["opening"], readings["letting back"]

    def off(knife):
        felt = feel(knife)
        back = felt.gauge_letback_force
        if back is None:
            raise ReadingError("holds let-back pulls, but so far off track the model gives no let-back force", readings.source)
        return np.concatenate([opening - felt.gauge_break_force, letback - back]) / (noise["force"] / 2)

    return off


def _force_model(readings, noise):
    """Opening force against the blade angle, gauge on the whole knife."""
    angle, force = np.maximum(readings["angle"], 0.0), readings["force"]
    shake = noise["angle"] / 2

    def off(knife):
        drag = knife.friction.pivot_torque / knife.blade.tab_arm
        low, middle, high = (sweep(knife, np.maximum(angle + side * shake, 0.0)).tab_force + drag for side in (-1, 0, 1))
        return (force - middle) / np.hypot(noise["force"] / 2, (high - low) / 2)

    return off


def _alike(correlations, values):
    """Sentences on the pairs that the readings cannot tell apart."""
    said = []
    for (one, other), r in correlations.items():
        if abs(r) < ALIKE:
            continue
        way = "more of one with more of the other" if r > 0 else "more of one with less of the other"
        parted = _PARTED_BY.get(frozenset(_plain(path) for path in (one, other)), "a direct measurement of either")
        told = f"{one} and {other} cannot be told apart here: {way} explains the readings as well (correlation {r:.2f})"
        said.append(f"{told}. {parted[0].upper()}{parted[1:]} parts them.")
    return tuple(said)


def _plain(path):
    return path.split("].", 1)[-1]


def _verdict(explained):
    if explained < UNEXPLAINED:
        return f"the model cannot explain these readings (chance {explained:.1g}): look for a burr, a bent pivot, a floor, an off-track recess"
    return f"the model explains these readings (chance {explained:.2f})"
