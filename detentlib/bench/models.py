"""What a knife should read on each kind of gauge, and how wide such readings scatter: the models that a fit holds readings against."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..mechanics.carry import Detent
from ..mechanics.feel import feel_many, letback_given
from ..mechanics.formulas import formulas
from ..mechanics.sweep import weight_torque
from .arcs import on_stop, places_of
from .given import given_angles, given_readings

NOISE = {"lift": 0.006, "angle": 0.6, "force": 0.3}  # ± (95 %) of one reading: mm, deg, N


class Model(NamedTuple):
    """One set of readings: its source; the values as read [n]; how to see them; whether their zero is free; at how many angles.

    seen(knives): what each should read, and its standard deviation, both (m, n) for m knives in one (see
    Knife.with_arrays); refused(knife): why one knife cannot be held against them, in words, or None.
    """

    source: str
    values: np.ndarray
    seen: Callable
    floats: bool = False
    refused: Callable = lambda knife: None
    places: int = 1

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
        given_readings(each, tuple(_MODELS), f"a fit takes {', '.join(_MODELS)}")
        names.append(each.source)
        twin = names.count(each.source)
        model = _MODELS[each.kind](each, noise, attitude_deg, hinge_ratio)
        made.append(model if twin == 1 else model._replace(source=f"{each.source} ({twin})"))
    return made


def _lift(readings, noise, attitude_deg, hinge_ratio):
    """Lift of an indicator on the bar; its zero is free."""
    angle, lift, sigma = readings["angle"], readings["lift"] / hinge_ratio, noise["lift"] / 2 / hinge_ratio
    stood = _stood(angle, on_stop(angle, lift, sigma), noise["angle"], readings.source)
    places = stood.places.ravel()
    return Model(readings.source, lift, lambda knives: _over(stood, Detent(knives).state(places).gap, sigma), floats=True, places=places.size)


def _force(readings, noise, attitude_deg, hinge_ratio):
    """Opening force against the blade angle, gauge on the whole knife."""
    stood = _stood(readings["angle"], readings["angle"] == 0, noise["angle"], readings.source)
    places = stood.places.ravel()

    def seen(knives):
        detent = Detent(knives)
        torque = detent.state(places).torque + weight_torque(knives, places, attitude_deg) + knives.friction.pivot_torque
        return _over(stood, formulas["F5"](torque=torque, arm=knives.blade.tab_arm), noise["force"] / 2)

    return Model(readings.source, readings["force"], seen, places=places.size)


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


class _Stood(NamedTuple):
    """Where the blade may have stood [rad] at each distinct angle, with the share of each place; which of them each reading is of."""

    places: np.ndarray
    shares: np.ndarray
    which: np.ndarray


def _stood(angle, stopped, angle_doubt, source):
    """Readings at one angle see the same curve: it is evaluated once for all of them."""
    given_angles(angle, angle_doubt, source)
    distinct, which = np.unique(np.column_stack([angle, stopped]), axis=0, return_inverse=True)
    return _Stood(*places_of(distinct[:, 0], angle_doubt / 2, distinct[:, 1] > 0), which.ravel())


def _over(stood, at, sigma):
    """Mean and standard deviation of each reading over the places where its blade may have stood, for every knife."""
    at = at.reshape(-1, *stood.places.shape)
    mean = np.sum(stood.shares * at, axis=-1)
    wide = np.sqrt(sigma**2 + np.sum(stood.shares * (at - mean[..., None]) ** 2, axis=-1))
    return mean[:, stood.which], wide[:, stood.which]
