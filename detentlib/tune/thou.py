"""What one thousandth of an inch does at each place of a knife, the moves that can be undone first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ..doubt.cloud import cloud
from ..doubt.draws import Interval
from ..doubt.many import RESULTS, carries, felt
from ..knife.given import given_knife, given_number
from ..knife.parts import Knife, KnifeError
from ..knife.plain import true_minus
from ..knife.units import both
from ..mechanics.feel import LETBACK
from ..mechanics.limits import check
from .moves import BENT, PIN_TOO, REVERSIBLE, THOU, as_drilled, as_made, pin_assumed
from .shop import nominal
from .stock import BALLS, DRILLS, near
from .table import Table, Tabled

_STEPS = (1e-4, 3.0)  # mm: less is no step that can be made, more is no step
_ON_GAUGE = {"gauge_break_force": "", "gauge_letback_force": "let-back "}
_SHOWN = ("break_force", "letback_force", "barrier", "break_out_deg", "relief_stress")
ONE_WAY, INFORMATION = "one-way", "for information"
# rim friction, common practice: freshly oiled 0.08 to 0.15, dirty or starved 0.15 to 0.30, dry hardened steel 0.3 to
# 0.6
OILED, STARVED, DRY = 0.10, 0.22, 0.45
PRESET_STEP, TAB_STEP, DRAG_STEP = 0.1, 1.0, 1.0
_DRAWS = 256  # for each step
_POINTS, _ROUNDS = 9, 4
_NOTHING, _LEAST_PERCENT = 1e-6, 0.05  # N; what is shown as a tenth
_TOUCHES = 1e-12  # mm
_SAME = 1e-6  # mm, nearer than this is the same stock size


class Effect(NamedTuple):
    """One result before and after a step, and what the ± of the card leave of the change: an Interval."""

    before: float
    after: float
    interval: Interval

    @property
    def change(self) -> float:
        """After less before."""
        return self.after - self.before

    @property
    def percent(self) -> float | None:
        """The change in per cent of before; None where that was zero."""
        return 100 * self.change / abs(self.before) if self.before else None


class Catch(NamedTuple):
    """A limit that lies within a step: what begins or ends there, in words, and how far into the step (0 to 1)."""

    words: str
    at: float


class Step(NamedTuple):
    """One step: a short key, the words for people, its cost, what it sets, how large it is, and what it does.

    numbers: {path: new value}, with the words of `moves.as_made`; size and unit: for saying how far into the step a
    limit lies; impossible: why it cannot be taken, else empty; fixed: it ends there wherever it began, as a drill of
    the stock does, and otherwise by as much further. effects: {result of many.RESULTS: Effect}; catches: limits on the
    way, the nearest first; both empty where it cannot be taken.
    """

    key: str
    words: str
    cost: str
    numbers: dict
    size: float = 0.0
    unit: str = "mm"
    impossible: str = ""
    fixed: bool = False
    effects: Mapping = MappingProxyType({})
    catches: tuple = ()

    def told(self, beside: Sequence[str] = ()) -> str:
        """Limits on the way and why it cannot be, in words; empty where there is nothing to tell.

        beside: results that are shown beside it, so that it need not tell them.
        """
        said = [self.impossible] if self.impossible else []
        for catch in self.catches:
            amount = both(catch.at * self.size, self.unit) if self.unit else f"{abs(catch.at * self.size):.3g}"
            said.append(f"{catch.words} after {amount}")
        alone, gauge = (self.effects.get(name) for name in ("break_force", "gauge_break_force"))
        if not self.impossible and abs(alone.change) < _NOTHING < abs(gauge.change):
            names = [name for name in _ON_GAUGE if name in self.effects and name not in beside]
            reads = [f"{_ON_GAUGE[name]}{_signed(self.effects[name].interval, 'N')}" for name in names]
            said += [f"on the whole knife the gauge reads {', '.join(reads)}"] if reads else []
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

    def row(self, key: str) -> Step:
        """The Step with a key such as "pin_thinner" or "recess[0]"; KeyError names those there are."""
        for row in self.rows:
            if row.key == key:
                return row
        raise KeyError(f"{key!r}: take one of {', '.join(row.key for row in self.rows)}")

    def table(self, results: Sequence[str] = _SHOWN) -> Table:
        """The Table of what each step does to these results; names of many.RESULTS."""
        shown = [name for name in results if any(name in row.effects for row in self.rows)]
        heads = ("step", "cost", *(RESULTS[name].words for name in shown), "on the way")
        rows = []
        for row in self.rows:
            cells = (_cell(row.effects.get(name), RESULTS[name].unit) for name in shown)
            rows.append((row.words, row.cost, *cells, row.told(shown)))
        now = next((row.effects for row in self.rows if row.effects), {})
        starts = [(RESULTS[name], now[name].before) for name in shown if name in now]
        values = ", ".join(f"{words} {both(before, unit)}" for (words, unit), before in starts)
        alone = "" if set(_ON_GAUGE) & set(shown) else "; the detent alone"
        notes = (
            f"Now: {values}.",
            (
                f"Exact differences of the changed knife{alone}. ±: the same knife before and after, drawn from the ±"
                " of its card. Steps that can be undone stand first. Metal that is cut away and a ball that is pressed"
                f" in do not come back. {PIN_TOO}"
            ),
        )
        return Table(f"{self.title}: what {both(self.length, 'mm')} does", heads, tuple(rows), notes)

    def _table(self):
        return self.table()


def per_thou(knife: Knife, length: float = THOU) -> PerThou:
    """What one step at each place does to a knife: a PerThou, the exact differences of the changed knife, not slopes.

    length: of the steps in mm, 0.001 in by default. Steps that are not lengths: oil, pivot drag by 1 N·mm, 0.1 mm of
    preload, the next ball and the next drill in stock, 1 mm of tab. Where a limit lies within a step (ball 2 touches, a
    floor, the bar face, the yield of the relief, a jam) the row says so and where. A step that cannot be taken has a
    row that says why. The bar keeps its bend (see `as_made`). The ± of a change is that of 256 draws of the card (see
    `cloud`), each felt before and after. Raises KnifeError for a knife that cannot work.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.12))
    >>> table = per_thou(knife)
    >>> keys = "pin_thicker", "preset_more"  # 0.0085 mm; 1.03 of 14.21 N
    >>> [round(table.row(key).effects["break_force"].percent, 1) for key in keys]
    [-2.7, 7.2]
    >>> table.row("relief").impossible
    'the drawn sizes of the bar are not known'
    """
    given_knife(knife)
    length = given_number("length", length, "length of a step", "mm", ends=_STEPS)
    drawn, every = cloud(knife, n=_DRAWS), steps(knife, length)
    can = [step for step in every if not step.impossible]
    pairs = zip(can, _States(knife, can).catches(), strict=True)
    taken = {step.key: _taken(step, drawn, catches) for step, catches in pairs}
    return PerThou(knife.title, length, tuple(taken.get(step.key, step) for step in every))


def _taken(step, drawn, catches):
    moved = replace(drawn, made=_made_by(step))
    after = moved.felt()
    if not after.possible[0]:
        return step._replace(impossible=_reason(drawn.knives[0], step), catches=tuple(catches))
    names = [name for name in RESULTS if name in after.values and (name not in LETBACK or after.letback_given[0])]
    pairs = {name: (drawn.column(name), moved.column(name)) for name in names}
    effects = {
        name: Effect(was[0].item(), then[0].item(), drawn.interval(then - was)) for name, (was, then) in pairs.items()
    }
    return step._replace(effects=effects, catches=tuple(catches))


def _made_by(step):
    """What a step makes of the knife of each draw, as `made` of a Cloud."""

    def made(card, numbers):
        knife = card.with_arrays(numbers)
        began = {path: 0.0 if step.fixed else nominal(knife, path) - nominal(card, path) for path in step.numbers}
        return numbers | as_made(knife, {path: value + began[path] for path, value in step.numbers.items()})

    return made


def _reason(knife, step):
    """Why a knife cannot be after a step, in the words of its own error."""
    try:
        check(knife.replace(as_made(knife, step.numbers)))
    except KnifeError as error:
        return "; ".join(problem.wrong for problem in error.problems)
    raise AssertionError(f"{step.key} was refused without a reason")


class _States:
    """All steps of one knife at any share of the way, felt together."""

    def __init__(self, knife, taken):
        self.knife, self.taken = knife, taken
        self.paths = dict.fromkeys(path for step in taken for path in step.numbers)

    def at(self, shares, which=None):
        """Felt with step `which[j]` taken to share shares[j]; by default each step in turn."""
        numbers = {}
        for path in self.paths:
            start = nominal(self.knife, path)
            ends = np.array([step.numbers.get(path, start) for step in self.taken])
            numbers[path] = start + shares * (ends[which] - start)
        return felt(self.knife, numbers, as_made)

    def catches(self):
        """For each step the Catches on its way: looked for at nine points, then all closed in on together."""
        count, words = len(self.taken), tuple(_words_of(self.knife).values())
        grid = np.linspace(0.0, 1.0, _POINTS)
        flags = self._flags(np.tile(grid, count), np.repeat(np.arange(count), _POINTS))
        flags = flags.reshape(len(words), count, _POINTS)
        mark, which, place = changes = np.nonzero(flags[..., 1:] != flags[..., :-1])
        found, was = [[] for _ in range(count)], flags[changes]
        for k, each, at, ends in zip(which, mark, self._close_in(mark, which, grid[place], was), was, strict=True):
            found[k].append(Catch(words[each][int(ends)], float(at)))
        return [sorted(each, key=lambda catch: catch.at) for each in found]

    def _flags(self, shares, which):
        """What is marked with step `which[j]` taken to share shares[j], bool [marks, m], in the order of _words_of."""
        marks = _marks(self.knife, self.at(shares, which))
        return np.array([marks[name] for name in _words_of(self.knife)])

    def _close_in(self, mark, which, low, was):
        """The shares at which marks of steps change, each within one of the first points from low on."""
        high, columns = low + 1 / (_POINTS - 1), np.arange(which.size)
        for _ in range(_ROUNDS if which.size else 0):
            inner = low + (high - low) * np.linspace(0.0, 1.0, _POINTS)[:, None]
            flags = self._flags(inner.ravel(), np.tile(which, _POINTS)).reshape(-1, _POINTS, which.size)
            # the ends are known; a mark that lies on an end may read either way
            same = flags[mark, :, columns] == was[:, None]
            same[:, 0], same[:, -1] = True, False
            first = np.argmin(same, axis=-1)
            low, high = inner[first - 1, columns], inner[first, columns]
        return high


def _words_of(knife):
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


def _cell(effect, unit):
    if effect is None:
        return ""
    if max(abs(effect.interval.low), abs(effect.interval.high)) < _NOTHING:
        return "0"
    percent = f"; {effect.percent:+.1f} %" if abs(effect.percent or 0) >= _LEAST_PERCENT else ""
    return true_minus(f"{_signed(effect.interval, unit)}{percent}")


def _signed(change, unit):
    return f"{'+' if change.value > 0 else ''}{change.said(unit)}"


def steps(knife: Knife, length: float) -> tuple[Step, ...]:
    """Every Step on a knife, lengths changed by `length` [mm], in the order in which a bench should think of them.

    Clean and oil, pivot, stop pin, preload, ball, recess, relief; then what is told for information only.
    """
    found = [
        _oil(knife),
        _pivot(knife),
        *_stop(knife, length),
        *_preload(knife),
        *(step for i in range(len(knife.balls)) for step in _ball(knife, i, length)),
        *(step for i in range(len(knife.balls)) for step in _recess(knife, i, length)),
        *_relief(knife, length),
        *_for_information(knife, length),
    ]
    return tuple(found)


def _oil(knife):
    impossible = "" if knife.friction.rim > OILED else f"it runs at {knife.friction.rim:g} already"
    return _friction(knife, "oil", "clean and oil", OILED, REVERSIBLE, impossible)


def _friction(knife, key, words, mu, cost, impossible):
    now = knife.friction.rim
    numbers = {"friction.rim": mu} | ({} if knife.friction.flat is None else {"friction.flat": mu})
    return Step(key, f"{words}: friction {now:g} to {mu:g}", cost, numbers, mu - now, "", impossible, fixed=True)


def _pivot(knife):
    drag = knife.friction.pivot_torque
    less = min(DRAG_STEP, drag)
    impossible = "" if less else "the pivot has no drag to take away"
    words, numbers = f"pivot eased by {both(less, 'N·mm')}", {"friction.pivot_torque": drag - less}
    return Step("pivot", words, REVERSIBLE, numbers, less, "N·mm", impossible)


def _stop(knife, length):
    for way, sense in (("thinner", -1), ("thicker", 1)):
        words = f"stop pin {both(length, 'mm')} {way} in diameter{pin_assumed(knife)}"
        yield Step(f"pin_{way}", words, REVERSIBLE, {"pin": sense * length}, length)


def _preload(knife):
    for key, bar, name in _bars(knife):
        for way, sense, words in (("more", 1, "in"), ("less", -1, "out")):
            said, numbers = f"{name} bent {words} by {both(PRESET_STEP, 'mm')}", {f"{bar}.preset": sense * PRESET_STEP}
            yield Step(f"preset_{way}{key}", said, BENT, numbers, PRESET_STEP)


def _bars(knife):
    """(end of the key, path, words) of each bar."""
    return [("", "bar", "bar")] + ([("[1]", "second_bar", "second leaf")] if knife.second_bar else [])


def _ball(knife, i, length):
    ball, at, whose = knife.balls[i], f"balls[{i}]", f"ball {i + 1}"
    deeper = {f"{at}.protrusion": ball.protrusion - length}
    yield Step(f"press[{i}]", f"{whose} pressed {both(length, 'mm')} further in", ONE_WAY, deeper, length)
    larger = near(ball.diameter + _SAME, BALLS).above
    numbers = {f"{at}.diameter": larger.diameter} if larger else {}
    yield _to_stock(f"ball[{i}]", f"{whose} next size up", numbers, ball.diameter, larger, "no larger ball is stocked")


def _recess(knife, i, length):
    recess, whose, by = knife.balls[i].recess, f"recess {i + 1}", both(length, "mm")
    wider = as_drilled(knife, i, recess.diameter + length)
    yield Step(f"recess[{i}]", f"{whose} {by} wider", ONE_WAY, wider, length)
    larger = near(recess.diameter + _SAME, DRILLS).above
    numbers, none = as_drilled(knife, i, larger.diameter) if larger else {}, "no larger drill is stocked"
    yield _to_stock(f"drill[{i}]", f"{whose} next drill up", numbers, recess.diameter, larger, none)
    if i:
        over = {f"balls[{i}].recess.rest_offset": recess.rest_offset + length}
        yield Step(f"place[{i}]", f"{whose} alone set over by {by}", ONE_WAY, over, length)


def _relief(knife, length):
    for key, path, name in _bars(knife):
        bar, words = getattr(knife, path), f"relief of the {name} {both(length, 'mm')} thinner, same bend"
        impossible, numbers = "", {}
        if not bar.drawn:
            impossible = "the drawn sizes of the bar are not known"
        elif bar.relief_thickness <= length:
            impossible = "it would cut the bar through"
        else:
            numbers = {f"{path}.relief_thickness": bar.relief_thickness - length}
        yield Step(f"relief{key}", words, ONE_WAY, numbers, length, impossible=impossible)


def _for_information(knife, length):
    for key, words, mu in (("starved", "left to run dirty", STARVED), ("dry", "degreased and dry", DRY)):
        impossible = "" if knife.friction.rim < mu else f"it runs at {knife.friction.rim:g} already"
        yield _friction(knife, key, words, mu, INFORMATION, impossible)
    for i, ball in enumerate(knife.balls):
        off = ball.recess.off_track
        numbers = {f"balls[{i}].recess.off_track": off + (-length if off < 0 else length)}
        words = f"recess {i + 1} {both(length, 'mm')} further off its track"
        yield Step(f"off_track[{i}]", words, INFORMATION, numbers, length)
    longer = {"blade.tab_arm": knife.blade.tab_arm + TAB_STEP}
    yield Step("tab", f"tab longer by {both(TAB_STEP, 'mm')}", INFORMATION, longer, TAB_STEP)


def _to_stock(key, words, numbers, now, size, none_left):
    if size is None:
        return Step(key, words, ONE_WAY, {}, impossible=none_left)
    return Step(key, f"{words}, {size.name}", ONE_WAY, numbers, size.diameter - now, fixed=True)
