"""The ± of a number that one or more knives make together: a number with a ± that they share moves in all of them at once (M5)."""

import math
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ...bench.value import Value
from ...mechanics.feel import feel_many
from ...parts import KnifeError, name_of
from ...paths import steps_of


@dataclass(frozen=True)
class Case:
    """Many knives in one (see Knife.with_arrays), and whether their bar is elastic."""

    knife: object
    elastic: bool = False

    @cached_property
    def felt(self):
        """Numbers of Feel by name, arrays [m]; nan for a knife that cannot work."""
        found = feel_many(self.knife, self.elastic)
        return {name: np.where(found.possible, value, np.nan) for name, value in found.values.items()}


class Measured(NamedTuple):
    """A number, where it lies, and what that comes from.

    value; low, high: the ends between which it lies, 19 times in 20. shares: {input: ± that it alone brings}, largest
    first; doubts: {input: its ±}; not_counted: inputs whose ± makes the knife impossible at both ends.
    """

    value: float
    low: float
    high: float
    shares: MappingProxyType
    doubts: MappingProxyType
    not_counted: tuple = ()


@dataclass(frozen=True, eq=False)
class _Input:
    """One input with a ±: its path, with the knife's title where only one of several has it, and {index of a knife: its ±} of all that it moves."""

    path: str
    moves: dict

    @property
    def doubt(self):
        """The ± to name."""
        return max(self.moves.values())


def stack(knives):
    """Knives with the same fields as many in one: arrays of shape (m, 1) where they differ.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> knife = Knife("A", [Ball(1.5, 0.42, 8.0, 36.4, Recess(1.3))], LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12))
    >>> stack([knife, knife.replace({"friction.rim": 0.2})]).friction.rim.tolist()
    [[0.12], [0.2]]
    """
    arrays = {}
    for path in knives[0].paths():
        steps = steps_of(knives[0], path)
        column = [_at(knife, steps) for knife in knives]
        if any(each != column[0] for each in column):
            arrays[path] = np.array(column, float).reshape(-1, 1)
    return knives[0].with_arrays(arrays)


def _at(knife, steps):
    """The number at the end of these steps, as Knife.get finds it, but with the path read once for many knives."""
    for step in steps:
        knife = knife[step] if isinstance(step, int) else getattr(knife, step)
    return knife


def evaluate(numbers, cast, rows, elastic=False):
    """Numbers for each row of knives: an array [rows, numbers], nan where a knife cannot be or cannot work.

    cast(*knives of a row) -> the knives that the numbers are made from; numbers: functions (*Cases) -> array [rows] or a
    single value.
    """
    casts = [_cast_or_none(cast, row) for row in rows]
    there = [i for i, made in enumerate(casts) if made is not None]
    values = np.full((len(rows), len(numbers)), np.nan)
    if there:
        cases = [Case(stack(column), elastic) for column in zip(*(casts[i] for i in there), strict=True)]
        with np.errstate(invalid="ignore", divide="ignore"):
            for k, number in enumerate(numbers):
                values[there, k] = number(*cases)
    return values


def measure(number, cast, knives, elastic=False):
    """Measured number that these knives make, from the ± of their inputs.

    number and cast: see `evaluate`. An input that has the same path and the same value in two knives is one measured
    thing and moves in both at once; all others count as independent. Each is moved by its whole ±, both ways; then all
    together along what that showed, so that an edge within the ± is not overlooked. Where the number runs straight that
    is the first order of `budget`. Raises KnifeError for a knife that cannot work.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.3), Blade(14.0), Friction(0.12), doubts={"bar.riding_force": 1.704})
    >>> found = measure(lambda case: case.felt["ride_load"], lambda knife: (knife,), (knife,))
    >>> round(found.low, 3), round(found.value, 3), round(found.high, 3)
    (15.336, 17.04, 18.744)
    """
    inputs, values = _moved_one_by_one([number], cast, knives, elastic, 1.0)
    value, step = float(values[0, 0]), (values[1:, 0] - values[0, 0]).reshape(-1, 2)
    together = [_moved(knives, _together(step, inputs, sign)) for sign in (-1, 1)]
    ends = evaluate([number], cast, together, elastic)[:, 0]
    sides = []
    for sign, end in zip((-1, 1), ends, strict=True):
        single = _one_way(step, sign)[0]
        reach = math.hypot(*single) if np.isnan(end) else sign * (end - value)
        sides.append(max(reach, single.max(initial=0.0)))
    gone = np.isnan(step).all(axis=1)
    found = {each.path: float(np.nanmax(np.abs(moved))) for each, moved, lost in zip(inputs, step, gone, strict=True) if not lost}
    return Measured(
        value,
        float(value - sides[0]),
        float(value + sides[1]),
        MappingProxyType(dict(sorted(found.items(), key=lambda item: -item[1]))),
        MappingProxyType({each.path: each.doubt for each in inputs}),
        tuple(each.path for each, lost in zip(inputs, gone, strict=True) if lost),
    )


def first_order(numbers, cast, knives, elastic=False):
    """Each of several numbers as a Value with its ± in the first order, as `budget` has it for one knife; see `measure`."""
    inputs, values = _moved_one_by_one(numbers, cast, knives, elastic, 0.5)
    even = _alike_on_both_sides(numbers, cast, knives, elastic, inputs, values[0])
    found = []
    for column, more in zip(values.T, even.T, strict=True):
        step = (column[1:] - column[0]).reshape(-1, 2)
        # half a ± either way makes two steps of half a ±: their difference is the whole ±
        one_end = 2 * np.nanmax(np.abs(step), axis=1, initial=0.0)
        shares = np.where(np.isnan(step).any(axis=1), one_end, np.abs(step[:, 0] - step[:, 1]))
        found.append(Value(float(column[0]), math.hypot(*shares, *more)))
    return found


def _alike_on_both_sides(numbers, cast, knives, elastic, inputs, now):
    """What each input that stands at 0 does alike at both ends of its ±, as an off-track error does: array [such inputs, numbers]."""
    there = [each for each in inputs if all(knives[i].get(each.path.rpartition(": ")[2]) == 0 for i in each.moves)]
    ends = evaluate(numbers, cast, [_moved(knives, {each: sign}) for each in there for sign in (1, -1)], elastic)
    return np.nan_to_num(ends.reshape(-1, 2, len(numbers)).mean(axis=1) - now)


def _moved_one_by_one(numbers, cast, knives, elastic, part):
    """The inputs, and the numbers now and with each input moved up and down by a part of its ±."""
    inputs = _inputs(knives)
    rows = [knives] + [_moved(knives, {each: sign * part}) for each in inputs for sign in (1, -1)]
    values = evaluate(numbers, cast, rows, elastic)
    if not np.isfinite(values[0]).all():
        _say_why(cast(*knives), knives)
    return inputs, values


def _one_way(step, sign):
    """Largest change of the number each input makes this way, 0 where none; and by which end of its ±."""
    changes = np.fmax(sign * step, 0.0)
    changes = np.where(np.isnan(changes), 0.0, changes)
    return changes.max(axis=1), np.where(changes[:, 0] >= changes[:, 1], 1, -1)


def _together(step, inputs, sign):
    """The likeliest way for all inputs to move the number so far that it is passed 1 time in 40: {input: part of its ±}."""
    size, end = _one_way(step, sign)
    whole = math.hypot(*size)
    return {each: float(way * part / whole) for each, part, way in zip(inputs, size, end, strict=True) if part} if whole else {}


def common(one, other):
    """Paths that two knives share as one measured thing: the same path, the same value, a ± in both."""
    return [path for path, doubt in one.doubts.items() if doubt and other.doubts.get(path) and one.get(path) == other.get(path)]


def name_in(path, knives):
    """A number in words, and of which knife where it is not shared (see _inputs)."""
    which, _, plain = path.rpartition(": ")
    said = name_of(plain, *knives)
    return f"{which}, {said}" if which else said


def _inputs(knives):
    """Every input with a ±; those of one knife alone are named with its title where there are more."""
    found, seen = [], set()
    for i, knife in enumerate(knives):
        for path, doubt in knife.doubts.items():
            if not doubt or (i, path) in seen:
                continue
            moves = {i: doubt} | {j: other.doubts[path] for j, other in enumerate(knives) if j > i and path in common(knife, other)}
            seen |= {(j, path) for j in moves}
            found.append(_Input(path if len(moves) == len(knives) else f"{knife.title}: {path}", moves))
    return found


def _moved(knives, moves):
    """The knives with inputs moved, moves: {input: part of its ±}; None where one of them cannot be."""
    changes = [{} for _ in knives]
    for each, part in moves.items():
        path = each.path.rpartition(": ")[2]
        for i, doubt in each.moves.items():
            changes[i][path] = knives[i].get(path) + part * doubt
    try:
        return tuple(knife.replace(change) if change else knife for knife, change in zip(knives, changes, strict=True))
    except KnifeError:
        return None


def _cast_or_none(cast, row):
    if row is None:
        return None
    try:
        return tuple(cast(*row))
    except KnifeError:
        return None


def _say_why(made, knives):
    """Raise the KnifeError of the first knife that cannot work."""
    from ...mechanics import limits
    from ...parts import Problem

    for knife in made:
        limits.check(knife)
    cure = "Look at the flags of its Feel, and judge another claim."
    raise KnifeError(Problem("", "", "the number of this claim does not exist for this knife", "", cure), knives[0].title)
