"""Two knives side by side: each number with its ±, the difference with its own, and whether the two can be told apart."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from ..bench.doubt import budgets
from ..bench.value import Value
from ..doubt.many import RESULTS
from ..mechanics.feel import feel
from ..plain import in_markdown
from .claims.together import common
from .claims.verdict import TIMES, figure

USUAL = ("break_force", "letback_force", "gauge_break_force", "barrier", "break_out_deg")


class Row(NamedTuple):
    """One number of both knives.

    name, words, unit; one, other: Values; difference: other less one, ratio: other over one, each with a ± that counts
    what both share only once; apart: whether the difference is larger than its ±.
    """

    name: str
    words: str
    unit: str
    one: Value
    other: Value
    difference: Value
    ratio: Value | None
    apart: bool

    def __str__(self):
        """In words."""
        verdict = "can be told apart" if self.apart else "cannot be told apart with these ±"
        times = "" if self.ratio is None else f", {figure(self.ratio, TIMES)}"
        one, other, difference = (figure(value, self.unit) for value in (self.one, self.other, self.difference))
        return f"{self.words}: {one} and {other}; difference {difference}{times}: {verdict}"


@dataclass(frozen=True, repr=False)
class Comparison:
    """Two knives side by side: titles, rows (of Row), not_given (numbers that one of them does not give), shared (paths of what both have in common)."""

    titles: tuple
    rows: tuple
    not_given: tuple
    shared: tuple

    def __getitem__(self, name):
        """The Row of a number by its name."""
        return next(row for row in self.rows if row.name == name)

    def __str__(self):
        """In words, for a notebook."""
        head = f"{self.titles[0]} and {self.titles[1]}; {len(self.shared)} measured numbers are the same in both and count once"
        lines = [head, *map(str, self.rows)]
        return "\n".join([*lines, f"not given: {', '.join(self.not_given)}"] if self.not_given else lines)

    def __repr__(self):
        return str(self)

    def _repr_markdown_(self):
        head = f"| | {in_markdown(self.titles[0])} | {in_markdown(self.titles[1])} | difference | told apart? |\n|---|---|---|---|---|"
        rows = []
        for row in self.rows:
            values = (figure(value, row.unit) for value in (row.one, row.other, row.difference))
            rows.append(f"| {' | '.join([row.words, *values, 'yes' if row.apart else 'not with these ±'])} |")
        return "\n".join([head, *rows]) + f"\n\n{len(self.shared)} measured numbers are the same in both and count once."


def compare(knife, other, results=USUAL, titles=None):
    """Two Knives side by side: a Comparison.

    results: names of numbers of Feel. titles: two words to show in place of the knives' own titles. An input with the
    same path and the same value, and a ±, in both is one measured thing: its effect on the difference is that on one
    less that on the other. All else counts as independent. Raises ValueError for a name that is no number of Feel,
    KnifeError for a knife that cannot work.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar = LockBar(17.04, rate=10.298, side_compliance=0)
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12), doubts={"bar.riding_force": 0.8, "friction.rim": 0.02})
    >>> stronger = knife.replace({"bar.riding_force": 18.0})
    >>> row = compare(knife, stronger, ["break_force"])["break_force"]
    >>> row.apart, round(row.difference.value, 2), round(row.difference.doubt, 2)            # friction is shared, force is not
    (False, 0.81, 0.96)
    """
    felt = [feel(each) for each in (knife, other)]
    given = [result for result in results if all(getattr(each, result, 0) is not None for each in felt)]
    one, two = (budgets(each, given) for each in (knife, other))
    shared = tuple(common(knife, other))
    rows = tuple(_row(name, one[name], two[name], shared) for name in given)
    return Comparison(tuple(titles or (str(knife.title), str(other.title))), rows, tuple(_words(name) for name in results if name not in given), shared)


def _row(name, one, two, shared):
    difference = Value(two.value - one.value, _together(one.shares, two.shares, shared, 1.0, 1.0))
    ratio = None
    if one.value > 0 and two.value > 0:
        times = two.value / one.value
        ratio = Value(times, times * _together(one.shares, two.shares, shared, one.value, two.value))
    unit = "deg" if one.unit == "°" else one.unit
    values = Value(one.value, one.doubt), Value(two.value, two.doubt)
    return Row(name, _words(name), unit, *values, difference, ratio, abs(difference.value) > max(difference.doubt, _DUST * abs(one.value)))


_DUST = 1e-9  # what rounding leaves of a difference of nothing


def _together(one, two, shared, size_one, size_two):
    """± of the second less the first, each in its own size."""
    parts = [two.get(path, 0.0) / size_two - one.get(path, 0.0) / size_one for path in shared]
    parts += [share / size_one for path, share in one.items() if path not in shared]
    parts += [share / size_two for path, share in two.items() if path not in shared]
    return math.hypot(*parts)


def _words(name):
    return RESULTS[name].words if name in RESULTS else name.removesuffix("_deg").replace("_", " ")
