"""What a knife should read on each kind of gauge, and how wide such readings scatter: the models that a fit holds
readings against.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..mechanics.carry import Detent
from ..mechanics.feel import feel_many, letback_given
from ..mechanics.sweep import weight_torque
from .arcs import ZERO, on_stop, rows_of, with_steps
from .given import given_angles, given_readings
from .least import Seen
from .readings import ReadingError, Readings
from .slip import BREAKAWAY, ONE_WAY, SLIDING, slip_of

# ± (95 %) of one reading: mm, deg, N; of a zero, deg, and a gauge, N
NOISE = {"lift": 0.006, "angle": 0.6, "force": 0.3, "zero": ZERO, "gauge": 0.2}
GAUGE = "gauge"  # its error is the same in all that one gauge reads
SLID = "friction that slides over that which breaks away"  # anything from none to twice as much, before any reading
_OVER = 0.9  # share of overshoot beyond which nothing would be left of a pull


class Overshoot(NamedTuple):
    """Name of the share by which pulls that stick and slip read beyond steady ones: of which columns, and whose."""

    columns: tuple
    source: str


class Own(NamedTuple):
    """A number that is no part of the knife, such as a zero: what it is before any reading, its ± (inf where nothing
    is known), a usual step of it.
    """

    doubt: float
    size: float
    value: float = 0.0


class Model(NamedTuple):
    """One set of readings: its source; the values as read [n] and when; how to see them; the numbers of its own {name:
    Own}.

    seen(knives)(own): what each should read, a Seen of (m, n) for m knives in one (see Knife.with_arrays) or one for
    all, own {name: (m,)}. refused(knife): why one knife cannot be held against them, in words, or None. inside: as of
    Rows.
    """

    source: str
    values: np.ndarray
    when: np.ndarray
    seen: Callable
    own: dict
    refused: Callable = lambda knife: None
    inside: tuple = (0.0, 0)


def models_of(
    readings: Iterable[Readings], noise: Mapping[str, float], attitude_deg: float, hinge_ratio: float
) -> list[Model]:
    """A Model of each set of readings, each with a name of its own. Raises ReadingError for kinds that cannot be
    fitted.
    """
    made, names = [], []
    for each in readings:
        given_readings(each, tuple(_MODELS), f"a fit takes {', '.join(_MODELS)}")
        if not len(each):
            raise ReadingError("holds no readings", each.source)
        names.append(each.source)
        twin = names.count(each.source)
        source = each.source if twin == 1 else f"{each.source} ({twin})"
        made.append(_MODELS[each.kind](each, source, noise, attitude_deg, hinge_ratio))
    return made


def _lift(readings, source, noise, attitude_deg, hinge_ratio):
    """Lift of an indicator on the bar; its zero is free."""
    lift, sigma = readings["lift"] / hinge_ratio, noise["lift"] / 2 / hinge_ratio
    rows, grid = _rows(readings, lift, sigma, on_stop(readings["angle"], lift, sigma), noise)
    zero, level = f"zero of the protractor, {source}", f"zero of the indicator, {source}"

    def seen(knives):
        at = Detent(knives).state(np.radians(grid)).gap

        def read(own):
            found = rows.seen(grid, at, own[zero])
            return found._replace(mean=found.mean + own[level][:, None])

        return read

    own = {zero: Own(noise["zero"], 0.1), level: Own(math.inf, 0.01)}
    return Model(source, rows.height, rows.when, seen, own, inside=rows.inside)


def _force(readings, source, noise, attitude_deg, hinge_ratio):
    """Opening force against the blade angle, gauge on the whole knife."""
    rows, grid = _rows(readings, readings["force"], noise["force"] / 2, readings["angle"] == 0, noise)
    zero, places = f"zero of the protractor, {source}", np.radians(grid)

    def seen(knives):
        torque = (
            Detent(knives).state(places).torque
            + weight_torque(knives, places, attitude_deg)
            + knives.friction.pivot_torque
        )
        force = formulas["F5"](torque=torque, arm=knives.blade.tab_arm)

        def read(own):
            found = rows.seen(grid, force, own[zero])
            return found._replace(mean=found.mean + own[GAUGE][:, None])

        return read

    own = {zero: Own(noise["zero"], 0.1), GAUGE: Own(noise["gauge"], 0.1)}
    return Model(source, rows.height, rows.when, seen, own, inside=rows.inside)


def _pulls(readings, source, noise, attitude_deg, hinge_ratio):
    """Pulls at the stop, gauge on the whole knife, both ways or opening only.

    Those that keep it moving have a friction of their own. What sticks and slips overshoots, which repeats of pulls
    both ways tell.
    """
    count, sigma = len(readings), noise["force"] / 2
    pairs = [names for names in (BREAKAWAY, SLIDING) if all(name in readings.columns for name in names)] or [ONE_WAY]
    columns = [name for names in pairs for name in names]

    def steady(knives):
        felt, weight = (
            feel_many(knives).values,
            formulas["F5"](torque=weight_torque(knives, np.zeros(1), attitude_deg), arm=knives.blade.tab_arm),
        )
        return np.concatenate(
            [np.reshape(felt[name], (-1, 1)) + weight for name in ("gauge_break_force", "gauge_letback_force")], axis=1
        )

    def seen(knives):
        breaking = steady(knives)

        def read(own):
            means, wide = [], []
            for names in pairs:
                ratio = np.maximum(own[SLID], 0.0)[:, None] if names == SLIDING else 1.0
                pulls = (
                    breaking
                    if names != SLIDING
                    else steady(knives.with_arrays({"friction.rim": knives.friction.rim * ratio}))
                )
                share = np.clip(own.get(Overshoot(names, source), np.zeros(1)), 0.0, _OVER)[:, None]
                mean = ((pulls + own[GAUGE][:, None]) / np.concatenate([1 - share, 1 + share], axis=1))[:, : len(names)]
                means.append(mean)
                wide.append(np.hypot(sigma, share / math.sqrt(3) * mean))
            return Seen(
                *(np.repeat(np.concatenate(each, axis=1), count, axis=1) for each in (means, wide)),
                np.zeros(len(columns) * count),
            )

        return read

    def refused(knife):
        return (
            None
            if pairs == [ONE_WAY] or letback_given(knife)
            else "holds let-back pulls, but so far off track the model gives no let-back force"
        )

    own = {GAUGE: Own(noise["gauge"], 0.1)}
    for names in pairs if count > 1 and pairs != [ONE_WAY] else ():
        share, doubt = slip_of([readings[name] for name in names], sigma).normal
        if doubt:
            own[Overshoot(names, source)] = Own(doubt, doubt / 2, share)
    if SLIDING in pairs:
        own[SLID] = Own(1.0, 0.1, 1.0)
    values = np.concatenate([readings[name] for name in columns])
    return Model(source, values, np.arange(float(values.size)), seen, own, refused)


_MODELS = {"lift trace": _lift, "two-way pull": _pulls, "opening pull": _pulls, "force trace": _force}


def _rows(readings, values, sigma, stopped, noise):
    """Readings over the blade angle as Rows, and the angles [deg] at which a curve is computed for them."""
    given_angles(readings["angle"], noise["angle"], readings.source)
    sigma, shake = with_steps(readings["angle"], values, sigma, noise["angle"] / 2)
    rows = rows_of(readings["angle"], values, sigma, shake, stopped)
    return rows, rows.grid(noise["zero"])
