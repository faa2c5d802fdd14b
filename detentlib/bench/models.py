"""What a knife should read on each kind of gauge, and how wide such readings scatter: the models that a fit holds readings against."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..mechanics.carry import Detent
from ..mechanics.feel import feel_many, letback_given
from ..mechanics.formulas import formulas
from ..mechanics.sweep import weight_torque
from ..readings import ReadingError
from .arcs import on_stop, rows_of

NOISE = {"lift": 0.006, "angle": 0.6, "force": 0.3}  # ± (95 %) of one reading: mm, deg, N


class Model(NamedTuple):
    """One set of readings: its source; the values as read [n]; how to see them; whether their zero is free.

    seen(knives): what each should read, and its standard deviation, both (m, n) for m knives in one (see
    Knife.with_arrays); refused(knife): why one knife cannot be held against them, in words, or None.
    """

    source: str
    values: np.ndarray
    seen: Callable
    floats: bool = False
    refused: Callable = lambda knife: None

    def misfits(self, mean, wide):
        """How far the readings lie from the means (m, n), in standard deviations."""
        apart = self.values - mean
        if self.floats:
            apart = apart - np.sum(apart / wide**2, axis=-1, keepdims=True) / np.sum(wide**-2, axis=-1, keepdims=True)
        return apart / wide


def models_of(readings, noise, attitude_deg, hinge_ratio):
    """A Model of each set of readings, each with a name of its own. Raises ReadingError for kinds that cannot be fitted."""
    made, names = [], []
    for each in readings:
        if each.kind not in _MODELS:
            raise ReadingError(f"holds readings of the kind {each.kind!r}; a fit takes {', '.join(_MODELS)}", each.source)
        names.append(each.source)
        twin = names.count(each.source)
        model = _MODELS[each.kind](each, noise, attitude_deg, hinge_ratio)
        made.append(model if twin == 1 else model._replace(source=f"{each.source} ({twin})"))
    return made


def _lift(readings, noise, attitude_deg, hinge_ratio):
    """Lift of an indicator on the bar; its zero is free."""
    angle, lift, sigma = readings["angle"], readings["lift"] / hinge_ratio, noise["lift"] / 2 / hinge_ratio
    rows = rows_of(angle, lift, sigma, noise["angle"] / 2, on_stop(angle, lift, sigma))
    places = rows.places.ravel()
    return Model(readings.source, rows.height, lambda knives: _over_places(rows, Detent(knives).state(places).gap), floats=True)


def _force(readings, noise, attitude_deg, hinge_ratio):
    """Opening force against the blade angle, gauge on the whole knife."""
    rows = rows_of(readings["angle"], readings["force"], noise["force"] / 2, noise["angle"] / 2, readings["angle"] == 0)
    places = rows.places.ravel()

    def seen(knives):
        detent = Detent(knives)
        torque = detent.torque(detent.state(places), 1) + weight_torque(knives, places, attitude_deg) + knives.friction.pivot_torque
        return _over_places(rows, formulas["F5"](torque=torque, arm=knives.blade.tab_arm))

    return Model(readings.source, rows.height, seen)


def _pulls(readings, noise, attitude_deg, hinge_ratio):
    """Two-way pulls at the stop, gauge on the whole knife."""
    count = len(readings)

    def seen(knives):
        felt = feel_many(knives).values
        weight = formulas["F5"](torque=weight_torque(knives, np.zeros(1), attitude_deg), arm=knives.blade.tab_arm)
        pulls = [np.reshape(felt[name], (-1, 1)) + weight for name in ("gauge_break_force", "gauge_letback_force")]
        mean = np.repeat(np.concatenate(pulls, axis=1), count, axis=1)
        return mean, np.full_like(mean, noise["force"] / 2)

    def refused(knife):
        return None if letback_given(knife) else "holds let-back pulls, but so far off track the model gives no let-back force"

    return Model(readings.source, np.concatenate([readings["opening"], readings["letting back"]]), seen, refused=refused)


_MODELS = {"lift trace": _lift, "two-way pull": _pulls, "force trace": _force}


def _over_places(rows, at):
    """Mean and standard deviation of each row over the places where its blade may have stood, for every knife."""
    at = at.reshape(-1, *rows.places.shape)
    mean = np.sum(rows.shares * at, axis=-1)
    return mean, np.sqrt(rows.noise**2 + np.sum(rows.shares * (at - mean[..., None]) ** 2, axis=-1))
