"""Two knives side by side: each number with its ±, the difference with its own, and whether they can be told apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np

from ..doubt.budget import gives, known_results
from ..doubt.cloud import cloud, common
from ..doubt.draws import Interval
from ..doubt.many import RESULTS
from ..knife.checks import refuse
from ..knife.parts import Knife
from ..knife.plain import in_markdown, unbroken
from ..knife.units import both
from ..mechanics.feel import Feel, feel
from .table import Table

USUAL = ("break_force", "letback_force", "gauge_break_force", "barrier", "break_out_deg")
_NO_DIFFERENCE = "none, in 95 % of what the ± of both allow"
_NONE = 1e-4  # of a number: a difference that no gauge reads
_DUST = 1e-9  # what rounding leaves of a difference of nothing


class Row(NamedTuple):
    """One number of both knives.

    name, words, unit; one, other: Intervals; difference: other less one, ratio: other over one, each from the draws of
    both together, so that what both share counts once; apart: whether 0 lies outside the difference.
    """

    name: str
    words: str
    unit: str
    one: Interval
    other: Interval
    difference: Interval
    ratio: Interval | None
    apart: bool

    @property
    def same(self) -> bool:
        """Whether the difference is none to both its ends, as where what parts the two does not touch this number."""
        return max(-self.difference.low, self.difference.high) <= _NONE * abs(self.one.value)

    def __str__(self):
        """In words; of a difference of nothing without a ± that there is none."""
        verdict = "can be told apart" if self.apart else "cannot be told apart with these ±"
        one, other, difference = (each.said(self.unit) for each in (self.one, self.other, self.difference))
        if self.same:
            return f"{self.words}: {one} and {other}; difference {_NO_DIFFERENCE}: {verdict}"
        times = "" if self.ratio is None else f", {self.ratio.said('times')}"
        return f"{self.words}: {one} and {other}; difference {difference}{times}: {verdict}"


@dataclass(frozen=True, repr=False)
class Comparison:
    """Two knives side by side: titles, rows (of Row), not_given (numbers that one of them does not give), shared
    (paths of what both have in common).
    """

    titles: tuple
    rows: tuple
    not_given: tuple
    shared: tuple

    def __getitem__(self, name):
        """The Row of a number by its name."""
        return next(row for row in self.rows if row.name == name)

    def __str__(self):
        """In words, for a notebook."""
        lines = [f"{' and '.join(self.titles)}; {self._once}", *map(str, self.rows)]
        return "\n".join([*lines, f"not given: {', '.join(self.not_given)}"] if self.not_given else lines)

    def __repr__(self):
        return str(self)

    def _repr_markdown_(self):
        rows = [
            f"| | {' | '.join(map(in_markdown, self.titles))} | difference | told apart? |",
            "|---|---|---|---|---|",
        ]
        for row in self.rows:
            one, other, difference = (unbroken(each.said(row.unit)) for each in (row.one, row.other, row.difference))
            values = one, other, _NO_DIFFERENCE if row.same else difference
            rows.append(f"| {' | '.join([row.words, *values, 'yes' if row.apart else 'not with these ±'])} |")
        return "\n".join([*rows, "", f"{self._once}."])

    @property
    def _once(self):
        return f"{len(self.shared)} measured numbers are the same in both and count once"


def compare(
    knife: Knife, other: Knife, results: Sequence[str] = USUAL, titles: Sequence[str] | None = None
) -> Comparison:
    """Two Knives side by side: a Comparison.

    results: names of doubt.many.RESULTS. titles: two words to show in place of the knives' own titles. An input with
    the same path and the same value, and a ±, in both is one measured thing and is drawn once for both (see `cloud`).
    Raises ValueError for a name that is no number of Feel, KnifeError for a knife that cannot work.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar = LockBar(17.04, rate=10.298, side_compliance=0)
    >>> doubts = {"bar.riding_force": 0.8, "friction.rim": 0.02}
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12), doubts=doubts)
    >>> stronger = knife.replace({"bar.riding_force": 18.0})
    >>> row = compare(knife, stronger, ["break_force"])["break_force"]
    >>> row.apart, round(row.difference.value, 2), round(row.difference.doubt, 1)  # friction is shared, force is not
    (False, 0.81, 1.0)
    """
    known_results(results)
    two_texts = isinstance(titles, (list, tuple)) and [isinstance(title, str) for title in titles] == [True, True]
    if titles is not None and not two_texts:
        why, cure = "They stand in place of the titles.", 'Give ("one", "other").'
        raise refuse("titles", titles, "is not two texts", why, cure)
    drawn = cloud(knife, other)
    given = [result for result in results if all(gives(drawn, result, i) for i in (0, 1))]
    left = tuple(RESULTS[result].words for result in results if result not in given)
    titles = tuple(titles or (str(knife.title), str(other.title)))
    return Comparison(titles, tuple(_row(name, drawn) for name in given), left, tuple(common(knife, other)))


def _row(name, drawn):
    one, two = (drawn.column(name, i) for i in (0, 1))
    difference, ratio = drawn.interval(two - one), None
    if one[0] > 0 and two[0] > 0:
        with np.errstate(divide="ignore"):
            ratio = drawn.interval(two / one)
    apart = bool(max(difference.low, -difference.high) > _DUST * abs(one[0]))
    return Row(name, *RESULTS[name], drawn.interval(one), drawn.interval(two), difference, ratio, apart)


def beside(title: str, knives: Mapping[str, Knife], results: Sequence[str]) -> Table:
    """What a few Knives feel like: a Table of numbers without their ±, to see what a move does. One knife has a row a
    number, several have a row each.

    knives: {name: Knife}. results: names of numbers of Feel. Raises ValueError for a name that is none, KnifeError for
    a knife that cannot work.

    >>> from detentlib.files.demo import demo
    >>> knife = demo("pellowfen-a")
    >>> bent = knife.replace({"bar.riding_force": 18.07})
    >>> print(beside("Bent further", {"as it is": knife, "0.1 mm more": bent}, ["ride_load", "rate"]).text())
    Bent further
                 bar force riding    rate of the bar
    as it is     17.04 N (3.83 lbf)  10.30 N/mm (58.8 lbf/in)
    0.1 mm more  18.07 N (4.06 lbf)  10.30 N/mm (58.8 lbf/in)
    >>> print(beside("Bar", {"as it is": knife}, ["ride_load", "rate"]).text())
    Bar
                      as it is
    bar force riding  17.04 N (3.83 lbf)
    rate of the bar   10.30 N/mm (58.8 lbf/in)
    """
    of_feel = [each.name for each in fields(Feel) if each.name in RESULTS]
    for result in results:
        if result not in of_feel:
            raise ValueError(f"{result!r} is no number of one knife that stands in such a table: {', '.join(of_feel)}")
    felt = [feel(knife) for knife in knives.values()]
    rows = [("", *(RESULTS[result].words for result in results))]
    for name, each in zip(knives, felt, strict=True):
        numbers = ((getattr(each, result), RESULTS[result].unit) for result in results)
        rows.append((name, *("not given" if value is None else both(value, unit) for value, unit in numbers)))
    heads, *rows = rows if len(knives) > 1 else zip(*rows, strict=True)
    return Table(title, heads, tuple(rows))
