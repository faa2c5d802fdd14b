"""A batch as pulled: mean and spread with their ±, odd knives, those outside a window, what may have spread them."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..doubt.cloud import cloud
from ..doubt.draws import SCREEN, SURE, Interval, interval
from ..knife.checks import show
from ..knife.given import given_knife
from ..knife.parts import Knife, spec
from ..knife.units import both, two_digits, with_inches
from ..measure.given import given_readings
from ..measure.readings import ReadingError, Readings
from ..measure.spread import LEAST, Repeats, analysis_of_variance, clopper_pearson, deviation_of, stands_out
from ..measure.value import Value, coverage_factor, mean_of
from .moves import BENCH, called
from .shop import shop_doubts
from .table import TERMINAL, Table
from .thou import PerThou, per_thou
from .tolerance import tolerance
from .window import read_window

ODD, PERHAPS = 0.01, 0.05  # levels of the test (ISO 5725-2, 7.3.3: outlier and straggler)
_READ = {"opening": "gauge_break_force", "letting back": "gauge_letback_force"}  # what a gauge on the whole knife reads


class Pulled(NamedTuple):
    """One knife of a batch: its name, how many pulls, their mean [N], its ± (None where the pulls tell none).

    odd: "odd" where chance makes one like it in fewer than 1 batch in 100, "perhaps odd" in fewer than 1 in 20, or "".
    """

    name: str
    pulls: int
    mean: float
    doubt: float | None
    odd: str


@dataclass(frozen=True)
class Spread:
    """One kind of pull over a batch: `opening` or `letting back`; every knife counts once, by the mean of its pulls.

    knives: a Pulled of each; mean: Value [N] (GUM, type A: Student's t); deviation: standard deviation of the knives
    [N], an Interval (95 %, by χ², where they spread normally); repeats: Repeats, None for one pull a knife; own:
    standard deviation [N] of the knives that are not odd, without what gauge and hand scatter where the pulls tell
    that.
    """

    name: str
    knives: tuple
    mean: Value
    deviation: Interval
    repeats: Repeats | None
    own: float

    @property
    def odd(self) -> tuple:
        """The knives that stand out, those that do so only perhaps as well."""
        return tuple(each for each in self.knives if each.odd)

    def words(self) -> list:
        """What to say of it, a sentence each."""
        knives, pulls = len(self.knives), sum(each.pulls for each in self.knives)
        mean = both(self.mean.value, "N", self.mean.doubt)
        free = f"GUM, type A: Student's t, {knives} − 1 degrees of freedom"
        return [
            f"{self.name.capitalize()}: {knives} knives, {pulls} pulls.",
            f"Mean {mean} ({free}); the gauge's own ± comes on top.",
            f"Spread from knife to knife, one standard deviation: {self.deviation.said('N')} (95 %, χ²).",
            self._odd_words(),
            self._repeat_words(),
        ]

    def _odd_words(self):
        if len(self.knives) < LEAST:
            return f"Odd knives: {len(self.knives)} knives are too few to tell; it takes {LEAST}."
        test = "Grubbs' test, repeated as by Rosner; ISO 5725-2, ASTM E178"
        if not self.odd:
            return f"Odd knives: none ({test}; 5 %)."
        named = ", ".join(f"{each.name} ({each.odd})" for each in self.odd)
        chance = "Odd: by chance in fewer than 1 batch of 100; perhaps odd: in fewer than 1 of 20"
        return f"Odd knives: {named}. {chance} ({test})."

    def _repeat_words(self):
        found = self.repeats
        if found is None:
            once = "One pull a knife, so what gauge and hand scatter is in the spread."
            return f"{once} Pull a few knives five times each to tell."
        told = f"Pulls of one knife scatter by {_short(found.within)} (one standard deviation)"
        if not found.between:
            return f"{told}, and that explains the whole spread: these pulls cannot tell the knives apart."
        chance = "less than 0.1" if found.chance < 0.001 else f"{100 * found.chance:.2g}"
        share = "less than 1" if found.share < 0.01 else f"{100 * found.share:.0f}"
        test = f"one-way analysis of variance; if all were alike, so much comes by chance in {chance} %"
        differ = f"the knives themselves differ by {_short(found.between)} ({test})"
        return f"{told}. That makes {share} % of the variance seen; {differ}."


class Scatter(NamedTuple):
    """One thing that a shop does not repeat exactly.

    said: in words; holds: the ± a shop holds, in `unit`; brings: the ± of the reading that it brings alone [N]; takes:
    the ± of it that would make the whole spread, None where it brings nothing.
    """

    said: str
    holds: float
    unit: str
    brings: float
    takes: float | None


@dataclass(frozen=True, repr=False)
class Batch:
    """A batch as pulled: a Spread of each kind of pull, and what the window and the knife's card make of them.

    edges: of the window, outside: names of the knives outside it; share: of knives to expect outside, and its two ends
    (95 %, Clopper and Pearson), None without a window. knife: the card, expected: what a gauge reads by it, opening, an
    Interval [N]; causes: Scatters, the largest first; together: the ± that they bring all at once [N]; thou: its
    PerThou.
    """

    source: str
    spreads: tuple
    edges: tuple
    outside: tuple
    share: tuple | None
    knife: Knife | None
    expected: Interval | None
    causes: tuple
    together: float | None
    thou: PerThou | None

    def __repr__(self):
        """Short and stable."""
        return f"<Batch: {len(self.spreads[0].knives)} knives from {self.source}>"

    def __str__(self):
        """As plain text."""
        return "\n\n".join(table.text(TERMINAL) for table in self.tables())

    def _repr_markdown_(self):
        return "\n\n".join(table.markdown() for table in self.tables())

    def tables(self) -> list:
        """The knives, and with a card what may have spread them and what a thou does: Tables."""
        tables = [self._knives()]
        if self.knife:
            tables += [self._causes(), self.thou.table([_READ[each.name] for each in self.spreads])]
        return tables

    def _knives(self):
        first = self.spreads[0]
        heads = ["knife", "pulls", *(head for each in self.spreads for head in (each.name, "odd?"))]
        heads += ["window"] if self.edges else []
        rows = []
        for i, one in enumerate(first.knives):
            row = [one.name, str(one.pulls)]
            for each in self.spreads:
                pulled = each.knives[i]
                row += [both(pulled.mean, "N", pulled.doubt), pulled.odd]
            rows.append((*row, *([self._window_words(one)] if self.edges else [])))
        notes = [sentence for each in self.spreads for sentence in each.words()]
        title = f"{self.source}: {len(first.knives)} knives"
        return Table(title, tuple(heads), tuple(rows), (*notes, *self._window_notes()))

    def _window_words(self, one):
        off = min(edge.room({edge.result: one.mean}) for edge in self.edges)
        near = one.doubt is not None and abs(off) < one.doubt
        return f"{'inside' if off >= 0 else 'outside'}{', but not surely' if near else ''}"

    def _window_notes(self):
        if not self.edges:
            return []
        share, low, high = (100 * each for each in self.share)
        count = len(self.spreads[0].knives)
        named = f": {', '.join(self.outside)}" if self.outside else ""
        return [
            f"Window: {', '.join(map(str, self.edges))}.",
            (
                f"Outside it: {len(self.outside)} of {count}{named}. Of more knives made like these, {share:.0f} % are"
                f" to be expected outside, {low:.0f} to {high:.0f} % (95 %, Clopper and Pearson)."
            ),
        ]

    def _off_card(self):
        """That the pulls are of another knife than the card, where the two lie further apart than their ±."""
        mean, expected = self.spreads[0].mean, self.expected
        toward = expected.high if mean.value > expected.value else expected.low
        if abs(mean.value - expected.value) <= math.hypot(mean.doubt, toward - expected.value):
            return ()
        by_card, pulled = expected.said("N"), both(mean.value, "N", mean.doubt)
        return (
            f"By its card a gauge reads {by_card} opening; the mean of these pulls, {pulled}, is further off than the ±"
            " of both. So the card is not these knives, and what stands here is of others. Look at the unit and at"
            " where the gauge pulled; then measure one of them anew.",
        )

    def _causes(self):
        spread = self.spreads[0]
        wide = SURE * spread.own
        title = f"{self.knife.title}: what could spread the opening pull so far"
        if not wide:
            return Table(title, (), (), (*self._off_card(), "The pulls leave no spread to explain."))
        rows = []
        for each in self.causes:
            brings = f"±{_short(each.brings)}" if each.brings else "nothing"
            takes = "no size of it" if each.takes is None else f"±{_short(each.takes, each.unit)}"
            enough = "yes" if each.brings >= wide else "no"
            rows.append((each.said, f"±{_short(each.holds, each.unit)}", brings, takes, enough))
        heads = ("what may differ", "a shop holds", "that alone brings", "the whole spread takes", "enough alone?")
        notes = (
            *self._off_card(),
            (
                f"The spread to explain: ±{_short(wide)} (95 %), without odd knives"
                f"{' and without what gauge and hand scatter' if spread.repeats else ''}. "
                f"All of these together: ±{_short(self.together)}. "
                "What a shop holds is common practice, low confidence."
            ),
            "An odd knife is looked at by itself: a dry or dirty contact, a burr, another drill.",
        )
        return Table(title, heads, tuple(rows), notes)


def batch_of(readings: Readings, knife: Knife | None = None, window: tuple | str | None = None) -> Batch:
    r"""What pulls of many knives tell of the batch: a Batch.

    readings: of the kind "batch": columns knife and opening [N], and letting back [N] if it was pulled; one row a pull.
    knife: the Knife that they were meant to be, for what could have spread them and what a thou does. window: (least,
    most) of the opening pull, None or left out where there is no such edge, numbers in N or text; or as one text, "11 N
    to 13 N". Raises ReadingError for other readings, pulls below zero and fewer than two knives; KnifeError for a
    window that is none, and for a knife that cannot work.

    >>> from detentlib.measure.readings import readings_from_text
    >>> rows = "\n".join(f"{i}, {pull}" for i, pull in enumerate([12.0, 12.2, 12.1, 11.9, 12.0, 14.0]))
    >>> found = batch_of(readings_from_text(f"knife, opening [N]\n{rows}"), window="11.5 N to 12.5 N")
    >>> found.outside, [(each.name, each.odd) for each in found.spreads[0].odd]
    (('5',), [('5', 'odd')])
    """
    given_readings(readings, ("batch",), "pulls of many knives are wanted")
    names = tuple(dict.fromkeys(readings["knife"].tolist()))
    if len(names) < 2:
        raise ReadingError("holds one knife alone. A batch is two or more", readings.source)
    edges = read_window({_READ["opening"]: window}) if window is not None else ()
    spreads = tuple(_spread(name, readings, names) for name in _READ if name in readings.columns)
    outside = tuple(
        one.name for one in spreads[0].knives if any(each.room({each.result: one.mean}) < 0 for each in edges)
    )
    share = clopper_pearson(len(outside), len(names)) if edges else None
    expected, causes, together, thou = None, (), None, None
    if knife is not None:
        given_knife(knife)
        expected = interval(cloud(knife).column(_READ[spreads[0].name]))
        (causes, together), thou = _causes_of(knife, spreads[0]), per_thou(knife)
    return Batch(readings.source, spreads, edges, outside, share, knife, expected, causes, together, thou)


def _spread(name, readings, names):
    low = np.flatnonzero(readings[name] < 0)
    if low.size:
        told = f"reading {low[0] + 1} of {name} is {both(float(readings[name][low[0]]), 'N')}"
        raise ReadingError(f"{told}. A pull is above zero: check the sign", readings.source)
    pulls = [readings[name][readings["knife"] == each] for each in names]
    means = np.array([each.mean() for each in pulls])
    repeats = analysis_of_variance(pulls) if max(map(len, pulls)) > 1 else None
    free = sum(map(len, pulls)) - len(pulls)
    doubts = [coverage_factor(free) * repeats.within / math.sqrt(len(each)) if repeats else None for each in pulls]
    odd, perhaps = (stands_out(means, level) for level in (ODD, PERHAPS))
    words = ["odd" if i in odd else "perhaps odd" if i in perhaps else "" for i in range(len(names))]
    columns = zip(names, map(len, pulls), means.tolist(), doubts, words, strict=True)
    usual = [each for each, word in zip(pulls, words, strict=True) if not word]
    scatter = repeats.within**2 * np.mean([1 / len(each) for each in usual]) if repeats else 0.0
    own = math.sqrt(max(np.var([each.mean() for each in usual], ddof=1) - scatter, 0.0))
    return Spread(name, tuple(Pulled(*each) for each in columns), mean_of(means), deviation_of(means), repeats, own)


def _causes_of(knife, spread):
    """Scatters, the largest first, and the ± that they bring together [N]."""
    result, holds = _READ[spread.name], shop_doubts(knife)
    found = tolerance(knife, n=SCREEN, made=True)
    whole = found.drawn.interval(found.drawn.column(result)).doubt
    wide = SURE * spread.own
    causes = []
    for path, share in found.contributors(result).items():
        brings = math.sqrt(share) * whole
        takes = wide / brings * holds[path] if brings else None
        unit = "mm" if path in BENCH else spec(path)["unit"]
        causes.append(Scatter(called(knife, path), holds[path], unit, brings, takes))
    return tuple(causes), whole


def _short(value, unit="N"):
    """A ± or a scatter in two digits."""
    value = two_digits(value)
    return with_inches(show(value, unit), value, unit)
