"""Many knives at once: what each feels like, how near it is to its limits, and which cannot be made or cannot work."""

from collections.abc import Callable
from itertools import permutations
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife, name_of, spec
from ..knife.values import Values
from ..mechanics import bar as bars
from ..mechanics import carry
from ..mechanics.carry import JUST_AFTER
from ..mechanics.feel import Numbers, detent_of_many, feel_all, letback_given, relief_stress, stalls
from ..mechanics.lift import CHAMFER, FLOOR, RIM


class Result(NamedTuple):
    """What a number is called, and its unit."""

    words: str
    unit: str


# every number that can have a ±, be asked for by name and stand in a table; `feel_many` or `_more` works it out
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
    "relief_stress_side": Result("relief stress from the side push", "MPa"),
    "relief_stress": Result("greatest relief stress", "MPa"),
    "rate": Result("rate of the bar", "N/mm"),
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
    """Many knives felt: values {name: array [m]} of RESULTS and more, which are possible (bool [m]), {reason: how many
    are not}.

    Beside RESULTS, values holds on_rim (bool: it rests on the stop, on a rim) and, for each ball, "ball 1 at rest"
    (bool: it carries there). Numbers that the knife does not give (no drawn sizes, no floor, one ball) are not there.
    Values of impossible knives mean nothing. letback_given: bool [m], see there. many: the knives, see
    `Knife.with_arrays`.
    """

    values: Numbers
    possible: np.ndarray
    impossible: dict
    letback_given: np.ndarray
    many: Knife


def felt(knife: Knife, numbers: dict, made: Callable | None = None) -> Felt:
    """Feel a knife many times over, with the given numbers changed.

    numbers: {path: array [m]}, each set as it stands; made(knife, numbers), such as `moves.as_made`, gives what
    they come to at the bench, by words of its own too. The bar is taken as rigid. Knives that no part would take
    are counted under the reason, beside those of `feel_many`.
    """
    count = max(np.size(value) for value in numbers.values())
    numbers = _columns(numbers, count)
    if count > _AT_ONCE:
        chunks = [slice(start, start + _AT_ONCE) for start in range(0, count, _AT_ONCE)]
        parts = [felt(knife, {path: value[rows] for path, value in numbers.items()}, made) for rows in chunks]
        return _joined(knife, parts)
    known = set(knife.paths())
    refused = dict(_refused(knife, {path: value for path, value in numbers.items() if path in known}))
    numbers = {"balls[0].track_radius": knife.balls[0].track_radius} | (made(knife, numbers) if made else numbers)
    many, bad, refused = sound(knife, numbers, count, refused)
    detent = detent_of_many(many, count)
    found = feel_all(detent, _AT_ONCE)
    impossible = {reason: int(rows.sum()) for reason, rows in refused.items()}
    for reason, how_many in found.impossible.items():
        impossible[reason] = impossible.get(reason, 0) + how_many
    given = np.broadcast_to(np.reshape(letback_given(many), -1), (count,))
    return Felt(found.values | _more(detent, found.values), found.possible & ~bad, impossible, given, many)


_AT_ONCE = 4096  # knives


def _joined(knife, parts):
    """Several Felts of one knife as one."""
    arrays = {path: [part.many.get(path) for part in parts] for path in knife.paths()}
    many = knife.with_arrays({path: np.concatenate(each) for path, each in arrays.items() if np.ndim(each[0])})
    values = Numbers(
        {}, {name: lambda name=name: np.concatenate([part.values[name] for part in parts]) for name in parts[0].values}
    )
    impossible = {
        reason: sum(part.impossible.get(reason, 0) for part in parts) for part in parts for reason in part.impossible
    }
    possible, given = (
        np.concatenate([getattr(part, name) for part in parts]) for name in ("possible", "letback_given")
    )
    return Felt(values, possible, impossible, given, many)


def sound(knife: Knife, numbers: dict, count: int, refused: dict | None = None) -> tuple:
    """Many knives in one, which of them no part would take (bool [count]), and {reason: bool [count]}.

    numbers: {path: one number or an array}; refused: reasons found before. The core must not meet such numbers: those
    knives stand in as the one that is given.
    """
    values = _columns(numbers, count)
    refused = (refused or {}) | _refused(knife, values) | _refused_together(knife.with_arrays(values), count)
    bad = np.logical_or.reduce([np.zeros(count, bool), *refused.values()])
    kept = {path: knife.get(path) for path in values}
    values = {
        path: value if kept[path] is None else np.where(bad[:, None], kept[path], value)
        for path, value in values.items()
    }
    return knife.with_arrays(values), bad, refused


def _columns(numbers, count):
    """Numbers as arrays of shape (count, 1)."""
    return {
        path: np.array(np.broadcast_to(np.reshape(value, (-1, 1)), (count, 1)), float)
        for path, value in numbers.items()
    }


def _refused(knife, numbers):
    """{reason: bool [m]} of numbers against the rule of their field."""
    found = {}
    for path, value in numbers.items():
        forbids, said = _FORBIDS.get(spec(path)["rule"], (None, "not there"))
        rows = np.isnan(np.ravel(value))
        if forbids is not None:
            rows = rows | forbids(np.ravel(value))
        if rows.any():
            found[f"{name_of(path, knife)} {said}"] = rows
    return found


def _refused_together(many, count):
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
    rows = {reason: np.broadcast_to(np.reshape(wrong, -1), (count,)) for reason, wrong in found.items()}
    return {reason: wrong for reason, wrong in rows.items() if wrong.any()}


@np.errstate(all="ignore")  # of impossible knives the numbers mean nothing
def _more(detent, values):
    """How near each knife is to its limits: floor and face at the stop, the rest as it rests, slips and rides."""
    many, resting = detent.knife, np.radians(values["rest_deg"])[:, None]
    # where balls share at rest the push can be greatest later than where a rim slips
    pushed = detent.state(np.radians(np.stack([values["take_up_deg"], values["peak_deg"]], axis=-1)))
    rest, stop = detent.at_rest(resting), detent.state(np.zeros(resting.shape), -1)
    found = {"face_clearance": stop.gap, "rate": bars.rate(many.bar, many.balls[0])}
    (up, _), (flat, _), (_, side) = (relief_stress(many, at) for at in (rest, detent.riding, pushed))
    if side is not None:
        side = np.max(side, axis=-1, keepdims=True)
    found |= {
        "relief_stress_rest": up,
        "relief_stress_ride": flat,
        "relief_stress_side": side,
        "relief_stress": greatest_stress(up, side, flat),
    }
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
        idle = np.minimum.reduce(
            [np.where(load, np.inf, clear) for load, clear in zip(loaded, rest.clearances, strict=True)]
        )
        found["idle_clearance"] = np.where(np.isfinite(idle), idle, 0.0)
    if len(many.balls) > 1:
        found["rim_lead"] = stop.lifts[0].rim_gap - stop.lifts[1].rim_gap
    found = {name: np.broadcast_to(value, resting.shape)[:, 0] for name, value in found.items() if value is not None}
    found["on_rim"] = _on_rim(rest, loaded, resting)
    return found | {f"ball {i + 1} at rest": load[:, 0] for i, load in enumerate(loaded)}


def greatest_stress(rest: Values | None, side: Values | None, ride: Values | None) -> Values | None:
    """What a relief has to stand [MPa]: seated, bend and side push meet in one edge as the rim pushes hardest;
    riding, the bend alone.

    rest, side, ride: as in Feel, numbers or arrays; None where the drawn sizes are not known.

    >>> float(greatest_stress(397.0, 92.0, 476.0))
    489.0
    """
    return None if ride is None else np.maximum(rest + side, ride)


def carries(felt: Felt) -> np.ndarray:
    """Which balls carry somewhere on the way from rest to the flat: bool [m, balls] for a Felt; the bar taken as
    rigid.
    """
    return clearest(felt) == 0


def clearest(felt: Felt) -> np.ndarray:
    """Least clearance of each ball on the way from rest to the flat [mm], 0 where it carries: array [m, balls]."""
    return _in_chunks(felt, lambda rows: _clearest(felt, rows))


def _in_chunks(felt, found):
    """What a function of the indexes of some knives of a Felt finds, for all of them."""
    rows = np.arange(felt.possible.size)
    return np.concatenate([found(rows[start : start + _AT_ONCE]) for start in range(0, rows.size, _AT_ONCE)])


def _clearest(felt, chunk):
    many = felt.many.take(chunk)
    low, high = (np.radians(felt.values[name][chunk])[:, None] + JUST_AFTER for name in ("rest_deg", "break_out_deg"))
    theta = low + (high - low) * np.linspace(0.0, 1.0, _WAY)
    detent, found = carry.Detent(many), []
    at = detent.state(theta)
    for i, load in enumerate(at.loads):
        clear = np.where(load > 0, 0.0, at.clearances[i])
        least = np.min(clear, axis=-1)
        # a touch can be shorter than the way between two angles
        rows = np.flatnonzero(least)
        if rows.size:
            best = np.argmin(clear[rows], axis=-1)[:, None]
            near = [np.take_along_axis(theta[rows], np.clip(best + side, 0, _WAY - 1), axis=-1) for side in (-1, 1)]
            closer = near[0] + (near[1] - near[0]) * np.linspace(0.0, 1.0, _WAY)
            near_by = detent.take(rows).state(closer)
            least[rows] = np.min(np.where(near_by.loads[i] > 0, 0.0, near_by.clearances[i]), axis=-1)
        found.append(least)
    return np.stack(found, axis=-1)


_WAY = 33


def stalling(felt: Felt) -> np.ndarray:
    """Which knives of a Felt stall on the way shut and would draw in again further out: bool [m]; the bar taken as
    rigid.
    """
    draw_in = np.radians(felt.values["draw_in_deg"])[:, None]
    return _in_chunks(felt, lambda rows: stalls(carry.Detent(felt.many.take(rows)), draw_in[rows]))


def dropping(felt: Felt) -> np.ndarray:
    """In which knives of a Felt a ball that carries drops into another ball's recess in mid-swing: bool [m]; the bar
    taken as rigid.
    """
    return _in_chunks(
        felt, lambda rows: _dropping(felt.many.take(rows), felt.values["break_out_deg"][rows, None] + _BESIDE_DEG)
    )


def _dropping(many, first):
    found = np.zeros(first.size, bool)
    for i, j in permutations(range(len(many.balls)), 2):
        if carry.crosses(many, i, j):
            recess, middle = many.balls[j].recess, carry.crossing_deg(many, i, j)
            reach = np.degrees((recess.rim_radius + recess.edge_radius) / many.balls[i].track_radius) + _BESIDE_DEG
            angle = np.clip(
                middle + reach * np.linspace(-1.0, 1.0, 2 * _WAY), first, np.maximum(many.blade.opening_deg, first)
            )
            at = carry.Detent(many).state(np.radians(angle))
            found |= np.any((at.loads[i] > 0) & np.isin(at.lifts[i].touch, (RIM, CHAMFER, FLOOR)), axis=-1)
    return found


_BESIDE_DEG = 0.5  # further than a bar swings sideways


def shares_a_bar(knife: Knife) -> bool:
    """True where two balls sit in one bar, so that one of them can be idle."""
    return any(len(members) > 1 for _, members in carry.bars_of(knife))


def _on_rim(rest, loaded, resting):
    """Bool [m]: the blade rests on the stop, and what carries there is neither a floor nor the bar face."""
    floored = [load & (lifted.touch == FLOOR) for load, lifted in zip(loaded, rest.lifts, strict=True)]
    face = [np.broadcast_to(force > 0, resting.shape) for force in rest.face_loads]
    return ~np.logical_or.reduce([*floored, *face, resting > 0])[:, 0]
