"""What one thousandth of an inch does at each place of a knife, the moves that can be undone first."""

from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ..doubt.cloud import cloud
from ..doubt.draws import Interval
from ..doubt.many import RESULTS, carries, felt
from ..knife.parts import KnifeError
from ..knife.units import both, convert
from ..mechanics.limits import check
from .moves import PIN_TOO, as_made
from .shop import nominal
from .steps import steps
from .table import Table, Tabled

THOU = convert(1.0, "thou", "mm")
_SHOWN = ("break_force", "letback_force", "barrier", "break_out_deg", "relief_stress")


class Effect(NamedTuple):
    """One result before and after a step, and what the ± of the card leave of the change: an Interval."""

    before: float
    after: float
    interval: Interval

    @property
    def change(self):
        """After less before."""
        return self.after - self.before

    @property
    def percent(self):
        """The change in per cent of before; None where that was zero."""
        return 100 * self.change / abs(self.before) if self.before else None


class Catch(NamedTuple):
    """A limit that lies within a step: what begins or ends there, in words, and how far into the step (0 to 1)."""

    words: str
    at: float


@dataclass(frozen=True)
class Row:
    """One step: key, words, cost ("reversible", "one-way" or "for information"), numbers that it sets, size with its unit.

    effects: {result of many.RESULTS: Effect}, empty where the step cannot be taken; impossible: why, else empty;
    catches: limits on the way, the nearest first.
    """

    key: str
    words: str
    cost: str
    numbers: dict
    size: float
    unit: str
    effects: MappingProxyType
    catches: tuple
    impossible: str

    def told(self):
        """Limits on the way and why it cannot be, in words; empty where there is nothing to tell."""
        said = [self.impossible] if self.impossible else []
        for catch in self.catches:
            amount = both(catch.at * self.size, self.unit) if self.unit else f"{abs(catch.at * self.size):.3g}"
            said.append(f"{catch.words} after {amount}")
        if not self.impossible and abs(self.effects["break_force"].change) < _NOTHING < abs(self.effects["gauge_break_force"].change):
            gauge = [self.effects[name].interval for name in ("gauge_break_force", "gauge_letback_force") if name in self.effects]
            said.append("on the whole knife the gauge reads " + ", let-back ".join(_signed(each, "N") for each in gauge))
        return "; ".join(said)


@dataclass(frozen=True, repr=False)
class PerThou(Tabled):
    """What small steps do to one knife: title, length of the steps [mm], rows in the order of the bench."""

    title: str
    length: float
    rows: tuple

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<PerThou: {self.title}, {len(self.rows)} steps of {both(self.length, 'mm')}>"

    def row(self, key):
        """The Row with a key such as "pin_thinner" or "recess[0]"; KeyError names those there are."""
        for row in self.rows:
            if row.key == key:
                return row
        raise KeyError(f"{key!r}: take one of {', '.join(row.key for row in self.rows)}")

    def _table(self):
        shown = [name for name in _SHOWN if any(name in row.effects for row in self.rows)]
        heads = ("step", "cost", *(RESULTS[name].words for name in shown), "on the way")
        rows = [(row.words, row.cost, *(_cell(row.effects.get(name), RESULTS[name].unit) for name in shown), row.told()) for row in self.rows]
        now = next((row.effects for row in self.rows if row.effects), {})
        values = ", ".join(f"{RESULTS[name].words} {both(now[name].before, RESULTS[name].unit)}" for name in shown if name in now)
        notes = (
            f"Now: {values}.",
            "Exact differences of the changed knife; the detent alone. ±: the same knife before and after, drawn from the ± of its card. "
            "Steps that can be undone stand first. "
            f"Metal that is cut away and a ball that is pressed in do not come back. {PIN_TOO}",
        )
        return Table(f"{self.title}: what {both(self.length, 'mm')} does", heads, tuple(rows), notes)


def per_thou(knife, length=THOU):
    """What one step at each place does to a knife: a PerThou, the exact differences of the changed knife, not slopes.

    length: of the steps in mm, 0.001 in by default. Steps that are not lengths: oil, pivot drag by 1 N·mm, 0.1 mm of
    preload, the next ball and the next drill in stock, 1 mm of tab. Where a limit lies within a step (ball 2 touches, a
    floor, the bar face, the yield of the relief, a jam) the row says so and where. A step that cannot be taken has a row
    that says why. The bar keeps its bend (see `as_made`). The ± of a change is that of 256 draws of the card (see `cloud`),
    each felt before and after. Raises KnifeError for a knife that cannot work.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.12))
    >>> table = per_thou(knife)
    >>> [round(table.row(key).effects["break_force"].percent, 1) for key in ("pin_thicker", "preset_more")]    # 0.0085 mm; 1.03 of 14.21 N
    [-2.7, 7.2]
    >>> table.row("relief").impossible
    'the drawn sizes of the bar are not known'
    """
    if not length > 0:
        raise ValueError(f"a step of {length:g} mm is not above zero")
    drawn, every = cloud(knife, n=_DRAWS), steps(knife, length)
    can = [step for step in every if not step.why_not]
    rows = {step.key: _row(step, drawn, catches) for step, catches in zip(can, _States(knife, can).catches(), strict=True)}
    return PerThou(knife.title, length, tuple(rows.get(step.key) or _refused(step) for step in every))


_DRAWS = 256  # for each step


def _row(step, drawn, catches):
    moved = replace(drawn, made=_taken(step))
    after, impossible, effects = moved.felt(), "", {}
    if after.possible[0]:
        names = [name for name in RESULTS if name in after.values and not ("letback" in name and not after.letback_given[0])]
        pairs = {name: (drawn.column(name), moved.column(name)) for name in names}
        effects = {name: Effect(was[0].item(), then[0].item(), drawn.interval(then - was)) for name, (was, then) in pairs.items()}
    else:
        impossible = _reason(drawn.knives[0], step)
    return Row(step.key, step.words, step.cost, step.numbers, step.size, step.unit, MappingProxyType(effects), tuple(catches), impossible)


def _taken(step):
    """What a step makes of the knife of each draw, as `made` of a Cloud."""

    def made(card, numbers):
        knife = card.with_arrays(numbers)
        began = {path: 0.0 if step.fixed else nominal(knife, path) - nominal(card, path) for path in step.numbers}
        return numbers | as_made(knife, {path: value + began[path] for path, value in step.numbers.items()})

    return made


def _refused(step):
    return Row(step.key, step.words, step.cost, step.numbers, step.size, step.unit, MappingProxyType({}), (), step.why_not)


def _reason(knife, step):
    """Why a knife cannot be after a step, in the words of its own error."""
    try:
        check(knife.replace(as_made(knife, step.numbers)))
    except KnifeError as error:
        return "; ".join(f"{problem.wrong}".rstrip(".") for problem in error.problems)
    raise AssertionError(f"{step.key} was refused without a reason")


class _States:
    """All steps of one knife at any share of the way, felt together."""

    def __init__(self, knife, taken):
        self.knife, self.taken = knife, taken
        self.paths = dict.fromkeys(path for step in taken for path in step.numbers)

    def at(self, shares, which=None):
        """Felt with step `which[j]` taken to share shares[j]; by default each step in turn."""
        which = np.arange(len(self.taken)) if which is None else which
        numbers = {}
        for path in self.paths:
            start = nominal(self.knife, path)
            ends = np.array([step.numbers.get(path, start) for step in self.taken])
            numbers[path] = start + shares * (ends[which] - start)
        return felt(self.knife, numbers, as_made)

    def catches(self):
        """For each step the Catches on its way: looked for at nine points, then closed in on."""
        count = len(self.taken)
        grid = np.linspace(0.0, 1.0, _POINTS)
        marks = _marks(self.knife, self.at(np.tile(grid, count), np.repeat(np.arange(count), _POINTS)))
        found = [[] for _ in range(count)]
        for words, (begins, ends) in _WORDS_OF(self.knife).items():
            flags = marks[words].reshape(count, _POINTS)
            which, place = np.nonzero(flags[:, 1:] != flags[:, :-1])
            if not which.size:
                continue
            where = self._close_in(words, which, grid[place], grid[place + 1], flags[which, place])
            for k, at, was in zip(which, where, flags[which, place], strict=True):
                found[k].append(Catch(ends if was else begins, float(at)))
        return [sorted(each, key=lambda catch: catch.at) for each in found]

    def _close_in(self, words, which, low, high, was):
        for _ in range(_ROUNDS):
            inner = low + (high - low) * np.linspace(0.0, 1.0, _POINTS)[:, None]
            flags = _marks(self.knife, self.at(inner.ravel(), np.tile(which, _POINTS)))[words].reshape(_POINTS, -1)
            # the ends are known; a mark that lies on an end may read either way
            same = flags == was
            same[0], same[-1] = True, False
            first = np.argmin(same, axis=0)
            columns = np.arange(which.size)
            low, high = inner[first - 1, columns], inner[first, columns]
        return high


_POINTS, _ROUNDS = 9, 4
_NOTHING, _LEAST_PERCENT = 1e-6, 0.05  # N; what is shown as a tenth


def _WORDS_OF(knife):
    """{mark: (what begins, what ends)} for a knife."""
    words = {
        "impossible": ("it cannot work", "it can work again"),
        "off the stop": ("the blade rests off the stop", "the blade rests on the stop"),
        "floor": ("a ball lands on its floor", "no ball is on its floor"),
        "face": ("the bar face lies on the tang", "the bar face is clear of the tang"),
        "yield": ("the relief is bent past its yield", "the relief stays below its yield"),
        "stays": ("friction holds the blade: it does not return by itself", "the blade returns by itself"),
    }
    for i in range(1, len(knife.balls)):
        words[f"rest {i}"] = (f"ball {i + 1} carries at rest", f"ball {i + 1} no longer carries at rest")
        words[f"way {i}"] = (f"ball {i + 1} begins to touch", f"ball {i + 1} hangs clear all the way")
    return words


def _marks(knife, found):
    """{mark: bool [m]} of a Felt; nothing but "impossible" is marked on a knife that cannot work."""
    values, count = found.values, found.possible.size
    limit = knife.bar.yield_stress
    stress = values.get("relief_stress")
    somewhere = carries(found)
    marks = {
        "off the stop": values["rest_deg"] > 0,
        "floor": values.get("floor_clearance", np.ones(count)) <= _TOUCHES,
        "face": values["face_clearance"] <= _TOUCHES,
        "yield": np.zeros(count, bool) if limit is None or stress is None else stress > limit,
        "stays": values["letback_force"] <= 0,
    }
    for i in range(1, len(knife.balls)):
        marks[f"rest {i}"] = values[f"ball {i + 1} at rest"]
        marks[f"way {i}"] = somewhere[:, i]
    return {"impossible": ~found.possible} | {name: mark & found.possible for name, mark in marks.items()}


_TOUCHES = 1e-12  # mm


def _cell(effect, unit):
    if effect is None:
        return ""
    if max(abs(effect.interval.low), abs(effect.interval.high)) < _NOTHING:
        return "0"
    percent = f"; {effect.percent:+.1f} %" if abs(effect.percent or 0) >= _LEAST_PERCENT else ""
    return f"{_signed(effect.interval, unit)}{percent}".replace("-", "−")


def _signed(change, unit):
    """A change, an Interval, with its sign."""
    return f"{'+' if change.value > 0 else ''}{change.said(unit)}".replace("-", "−")
