"""Many knives at once for the deciding: what each feels like, how near it is to its limits, and which cannot be made or cannot work."""

from typing import NamedTuple

import numpy as np

from ...mechanics import carry
from ...mechanics.feel import feel_many, letback_given, relief_stress
from ...mechanics.formulas import formulas
from ...mechanics.lift import FLOOR
from ...mechanics.search import JUST_AFTER
from ...parts import Knife, name_of, spec
from ..moves import BENCH, as_made


class Result(NamedTuple):
    """What a number is called, and its unit."""

    words: str
    unit: str


RESULTS = {
    "break_force": Result("break force", "N"),
    "letback_force": Result("let-back force", "N"),
    "gauge_break_force": Result("break force on the gauge", "N"),
    "gauge_letback_force": Result("let-back force on the gauge", "N"),
    "stud_break_force": Result("break force at the stud", "N"),
    "break_torque": Result("break torque", "N·mm"),
    "barrier": Result("barrier", "mJ"),
    "break_out_deg": Result("break-out angle", "deg"),
    "draw_in_deg": Result("draw-in angle", "deg"),
    "rest_deg": Result("rest angle", "deg"),
    "peak_deg": Result("angle of the peak", "deg"),
    "snap_ratio": Result("snap ratio", ""),
    "rest_load": Result("bar force at rest", "N"),
    "ride_load": Result("bar force riding", "N"),
    "relief_stress_rest": Result("relief stress at rest", "MPa"),
    "relief_stress_ride": Result("relief stress riding", "MPa"),
    "floor_clearance": Result("clearance to the floor", "mm"),
    "face_clearance": Result("clearance of the bar face", "mm"),
    "idle_clearance": Result("clearance of the idle ball", "mm"),
    "jam_margin_deg": Result("margin before it jams", "deg"),
    "rim_lead": Result("rim lead", "mm"),
}

# what the field rules of a part forbid, for arrays
_FORBIDS = {
    "positive": (lambda value: value <= 0, "not above zero"),
    "not negative": (lambda value: value < 0, "below zero"),
    "acute": (lambda value: (value <= 0) | (value >= 90), "not between 0° and 90°"),
}


class Felt(NamedTuple):
    """Many knives felt: values {name: array [m]} of RESULTS and more, which are possible (bool [m]), {reason: how many are not}.

    Beside RESULTS, values holds on_rim (bool: it rests on the stop, on a rim) and, for each ball, "ball 1 at rest" (bool: it
    carries there). Numbers that the knife does not give (no drawn sizes, no floor, one ball) are not there. Values of
    impossible knives mean nothing. letback_given: bool [m], see there. many: the knives, see `Knife.with_arrays`.
    """

    values: dict
    possible: np.ndarray
    impossible: dict
    letback_given: np.ndarray
    many: Knife


def felt(knife, numbers, bend_kept=False):
    """Feel a knife many times over, with the given numbers changed: a Felt.

    numbers: {path: array [m]}. bend_kept: the bar keeps its bend and the words of `as_made` count; otherwise each
    number is set as it stands. Knives that no part would take are counted under the reason, beside those of `feel_many`.
    """
    count = max(np.size(value) for value in numbers.values())
    numbers = _columns(numbers, count)
    refused = dict(_refused(knife, numbers))
    values = _columns({"balls[0].track_radius": knife.balls[0].track_radius} | (as_made(knife, numbers) if bend_kept else numbers), count)
    refused |= _refused(knife, values) | _refused_together(knife.with_arrays(values))
    bad = np.logical_or.reduce([np.zeros(count, bool), *refused.values()])
    # the core must not meet such numbers: those knives stand in as the one that is given, and count as impossible
    values = {path: value if knife.get(path) is None else np.where(bad[:, None], knife.get(path), value) for path, value in values.items()}
    many = knife.with_arrays(values)
    found = feel_many(many)
    impossible = {reason: int(rows.sum()) for reason, rows in refused.items()}
    for reason, how_many in found.impossible.items():
        impossible[reason] = impossible.get(reason, 0) + how_many
    given = np.broadcast_to(np.reshape(letback_given(many), -1), (count,))
    return Felt(found.values | _more(many, found.values), found.possible & ~bad, impossible, given, many)


def _columns(numbers, count):
    """Numbers as arrays of shape (count, 1)."""
    return {path: np.array(np.broadcast_to(np.reshape(value, (-1, 1)), (count, 1)), float) for path, value in numbers.items()}


def _refused(knife, numbers):
    """{reason: bool [m]} of numbers against the rule of their field."""
    found = {}
    for path, value in numbers.items():
        forbids, said = (None, "") if path in BENCH else _FORBIDS.get(spec(path)["rule"], (None, ""))
        rows = np.zeros(value.shape[0], bool) if forbids is None else forbids(np.ravel(value))
        if rows.any():
            found[f"{called(knife, path)} {said}"] = rows
    return found


def _refused_together(many):
    """{reason: bool [m]} of numbers that do not go together, as Ball, Recess and LockBar see it."""
    found = {}
    for i, ball in enumerate(many.balls):
        whose = f"ball {i + 1}: " if len(many.balls) > 1 else ""
        found[f"{whose}protrusion not smaller than the ball"] = ball.protrusion >= ball.diameter
        reach = np.hypot(ball.recess.rest_offset, ball.recess.off_track)
        found[f"{whose}ball on the land beside its recess"] = reach >= ball.recess.rim_radius
    for bar, _ in carry.bars_of(many):
        if bar.relief_thickness is not None and bar.thickness is not None:
            found["relief thicker than the bar"] = bar.relief_thickness > bar.thickness
    count = many.balls[0].track_radius.shape[0]
    rows = {reason: np.broadcast_to(np.reshape(wrong, -1), (count,)) for reason, wrong in found.items()}
    return {reason: wrong for reason, wrong in rows.items() if wrong.any()}


def called(knife, path):
    """A path in words for people, such as "ball 2: rest offset of the recess"; the words of `as_made` count.

    >>> from detentlib.parts import Ball, Blade, Friction, LockBar, Recess
    >>> knife = Knife("A", [Ball(1.5875, 0.42, 8.0, 36.4, Recess(1.32))], LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12))
    >>> called(knife, "balls[0].recess.rest_offset"), called(knife, "stop")
    ('rest offset of the recess', 'place of the stop')
    """
    return _BENCH_WORDS.get(path) or name_of(path, knife)


_BENCH_WORDS = {"pin": "diameter of the stop pin", "stop": "place of the stop", "bar.preset": "bend of the bar", "second_bar.preset": "bend of the second leaf"}


def _more(many, values):
    """How near each knife is to its limits: floor and face at the stop, the rest as it rests and rides."""
    resting = np.radians(values["rest_deg"])[:, None]
    riding = np.radians(values["break_out_deg"])[:, None] + JUST_AFTER
    detent = carry.Detent(many)
    ride = detent.state(riding)
    rest, stop = (detent.state(angle, -1) for angle in (resting + JUST_AFTER * (resting > 0), np.zeros(resting.shape)))
    found = {"face_clearance": stop.gap, "relief_stress_rest": relief_stress(many, rest)[0], "relief_stress_ride": relief_stress(many, ride)[0]}
    seats = zip(many.balls, stop.lifts, stop.clearances, strict=True)
    floors = [ball.recess.depth - lifted.sink + clear for ball, lifted, clear in seats if ball.recess.depth is not None]
    if floors:
        found["floor_clearance"] = np.minimum.reduce(np.broadcast_arrays(*floors))
    lean = formulas["F3"](mu=many.friction.rim)
    loaded = [np.broadcast_to(load > 0, resting.shape) for load in rest.loads]
    phi = np.maximum.reduce([np.where(load, lifted.phi, 0.0) for load, lifted in zip(loaded, rest.lifts, strict=True)])
    found["jam_margin_deg"] = np.degrees(lean - phi)
    if many.blade.stud_arm is not None:
        found["stud_break_force"] = formulas["F5"](torque=values["break_torque"][:, None], arm=many.blade.stud_arm)
    if shares_a_bar(many):
        idle = np.minimum.reduce([np.where(load, np.inf, clear) for load, clear in zip(loaded, rest.clearances, strict=True)])
        found["idle_clearance"] = np.where(np.isfinite(idle), idle, 0.0)
    if len(many.balls) > 1:
        found["rim_lead"] = stop.lifts[0].rim_gap - stop.lifts[1].rim_gap
    found = {name: np.broadcast_to(value, resting.shape)[:, 0] for name, value in found.items() if value is not None}
    found["on_rim"] = _on_rim(rest, loaded, resting)
    return found | {f"ball {i + 1} at rest": load[:, 0] for i, load in enumerate(loaded)}


def carries(felt):
    """Which balls carry somewhere on the way from rest to the flat: bool [m, balls] for a Felt; the bar taken as rigid."""
    many = felt.many
    low, high = np.radians(felt.values["rest_deg"])[:, None] + JUST_AFTER, np.radians(felt.values["break_out_deg"])[:, None] + JUST_AFTER
    theta = low + (high - low) * np.linspace(0.0, 1.0, _WAY)
    detent, found = carry.Detent(many), []
    at = detent.state(theta)
    for i, load in enumerate(at.loads):
        clear = np.where(load > 0, 0.0, at.clearances[i])
        somewhere = np.any(clear == 0, axis=-1)
        # a touch can be shorter than the way between two angles
        rows = np.flatnonzero(~somewhere)
        if rows.size:
            best = np.argmin(clear[rows], axis=-1)[:, None]
            near = [np.take_along_axis(theta[rows], np.clip(best + side, 0, _WAY - 1), axis=-1) for side in (-1, 1)]
            closer = near[0] + (near[1] - near[0]) * np.linspace(0.0, 1.0, _WAY)
            somewhere[rows] = np.any(detent.take(rows).state(closer).loads[i] > 0, axis=-1)
        found.append(somewhere)
    return np.stack(found, axis=-1)


_WAY = 33


def shares_a_bar(knife):
    """True where two balls sit in one bar, so that one of them can be idle."""
    return any(len(members) > 1 for _, members in carry.bars_of(knife))


def _on_rim(rest, loaded, resting):
    """Bool [m]: the blade rests on the stop, and what carries there is neither a floor nor the bar face."""
    floored = [load & (lifted.touch == FLOOR) for load, lifted in zip(loaded, rest.lifts, strict=True)]
    face = [np.broadcast_to(force > 0, resting.shape) for force in rest.face_loads]
    return ~np.logical_or.reduce([*floored, *face, resting > 0])[:, 0]
