"""A batch on paper: many knives drawn from the ± of one, what they feel like, and how many come inside a window."""

from dataclasses import dataclass

import numpy as np

from ...doubt.many import RESULTS, carries, felt, shares_a_bar
from ...parts import Knife, KnifeError, Problem
from ...units import both
from ..moves import as_made, called
from ..pair import touch_lead
from .shop import SHOP, nominal, shop_doubts
from .spread import CHUNK, Normal, Sample, share_interval, spread
from .table import Table, Tabled
from .window import inside, read_window

_SHOWN = ("break_force", "letback_force", "barrier", "break_out_deg")


@dataclass(frozen=True, repr=False)
class Tolerance(Tabled):
    """What came of n knives; shares are of all n, so that a knife that cannot work counts as outside the window.

    inside: share inside the window, with its 95 % interval (Wilson), both None without a window. impossible: {reason: how
    many}; a knife with two reasons counts under both, `possible` says how many have none. quantiles: {result: (2.5 %,
    median, 97.5 %)} of the possible ones; contributors: {result: {path: share}}, see Sample. touches: for each ball, the
    shares of the possible knives where it carries at rest, and anywhere on the way to the flat. touch_lead: see there, of
    the knife as drawn. sample: every knife.
    """

    knife: Knife
    n: int
    seed: int
    made: bool
    edges: tuple
    inside: float | None
    interval: tuple | None
    possible: int
    impossible: dict
    quantiles: dict
    contributors: dict
    touches: tuple
    touch_lead: float | None
    sample: Sample

    def __repr__(self):
        """Short and stable, for a notebook."""
        share = "" if self.inside is None else f", {100 * self.inside:.1f} % inside the window"
        return f"<Tolerance: {self.n} knives{share}>"

    def values(self, result):
        """One result of every possible knife, such as "break_force" or "rim_lead": array; the same order for every result."""
        return self.sample.values[result][self.sample.possible]

    def largest(self, result):
        """The path that brings most of the scatter of a result, and its share; None where nothing scatters."""
        path, share = next(iter(self.contributors[result].items()), (None, 0.0))
        return (path, share) if share > 0 else None

    def _table(self):
        of = "as a shop makes them" if self.made else "as far as its ± is known"
        rows = []
        for result in dict.fromkeys([*(edge.result for edge in self.edges), *_SHOWN]):
            if self.possible and result in self.quantiles:
                first = self.largest(result)
                words, unit = RESULTS[result]
                cells = [both(each, unit) for each in self.quantiles[result]]
                rows.append((words, *cells, f"{called(self.knife, first[0])}, {100 * first[1]:.0f} %" if first else "nothing"))
        heads = ("of the knives that work", "2.5 % lie below", "median", "97.5 % lie below", "most of the scatter")
        return Table(f"{self.knife.title}: {self.n} knives, {of}", heads, tuple(rows), self.notes())

    def notes(self):
        """What to say below the table; a tuple of sentences."""
        said = []
        if self.inside is not None:
            low, high = self.interval
            said.append(f"Inside the window: {100 * self.inside:.1f} % (95 % interval {100 * low:.1f} to {100 * high:.1f} %, Wilson).")
            said.append(f"Window: {', '.join(str(edge) for edge in self.edges)}.")
        for i, (rest, way) in enumerate(self.touches[1:], 2):
            said.append(f"Ball {i} carries at rest in {100 * rest:.1f} %, somewhere on the way to the flat in {100 * way:.1f} %.")
        if self.touch_lead is not None:
            said.append(f"As drawn, ball 2 begins to carry at rest from a rim lead of {both(self.touch_lead, 'mm')}.")
        none = "none" if not self.impossible else "; ".join(f"{reason}: {many}" for reason, many in self.impossible.items())
        said.append(f"Cannot be made or cannot work: {none}.")
        if shares_a_bar(self.knife):
            said.append("Left out: the bar is taken as rigid, so at the touch threshold one ball or the other carries all.")
        return tuple(said)


def tolerance(knife, n=100_000, seed=1, window=None, correlations=None, made=False):
    """Draw n knives from the ± of one knife and feel every one: a Tolerance.

    window: {result: (least, most)}, see `read_window`. correlations: {(path, path): −1 to 1}. made: False takes the
    knife's own ±, each number set as it stands: what is not known about this knife. True takes the ± of a shop
    (shop.SHOP, common practice), or of the Operations given, with the bar keeping its bend: how the knives of a batch
    differ. Normal, one standard deviation being half of the ±. The same seed gives the same knives. Raises KnifeError
    where no number has a ±.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar = LockBar(17.04, rate=10.298, side_compliance=0)
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12), doubts={"blade.tab_arm": 0.7, "bar.riding_force": 0.8})
    >>> found = tolerance(knife, n=2000, window={"break_force": (11, 13)})
    >>> found.largest("break_force")[0], round(found.inside, 2)          # ± 0.91 N: 1 N away is 2.2 standard deviations
    ('bar.riding_force', 0.96)
    """
    doubts = shop_doubts(knife, SHOP if made is True else made) if made else knife.doubts
    doubts = {path: doubt for path, doubt in doubts.items() if doubt}
    if not doubts:
        raise KnifeError(
            Problem("doubts", "", "no number has a ±", "Without a ± all knives are the same one.", 'Write "1.10 ± 0.02 mm" in the knife file.'), knife.title
        )
    edges = read_window(window, knife) if window else ()
    impossible = {}

    def feel_them(drawn):
        found = felt(knife, drawn, as_made if made else None)
        for reason, many in found.impossible.items():
            impossible[reason] = impossible.get(reason, 0) + many
        return found.values | {"possible": found.possible} | _which_carry(knife, found) | _in_window(edges, found)

    inputs = {path: Normal(nominal(knife, path), doubt) for path, doubt in doubts.items()}
    sample = spread(feel_them, inputs, n, seed, correlations, CHUNK)
    possible = int(sample.possible.sum())
    share, interval = None, None
    if edges:
        count = int((sample.values["inside"] & sample.possible).sum())
        share, interval = count / n, share_interval(count, n)
    results = [result for result in RESULTS if result in sample.values]
    return Tolerance(
        knife=knife,
        n=n,
        seed=seed,
        made=bool(made),
        edges=edges,
        inside=share,
        interval=interval,
        possible=possible,
        impossible=impossible,
        quantiles={result: sample.quantiles(result) for result in results} if possible else {},
        contributors={result: sample.shares[result] for result in results},
        touches=tuple(_share(sample, f"ball {i + 1} at rest", f"ball {i + 1} carries") for i in range(len(knife.balls))) if possible else (),
        touch_lead=touch_lead(knife) if [ball.bar for ball in knife.balls[1:2]] == [0] else None,
        sample=sample,
    )


def _which_carry(knife, found):
    """Whether each ball carries anywhere on the way to the flat; one ball alone needs no search."""
    somewhere = carries(found) if len(knife.balls) > 1 else np.ones((found.possible.size, 1), bool)
    return {f"ball {i + 1} carries": somewhere[:, i] for i in range(len(knife.balls))}


def _in_window(edges, found):
    """Whether each knife lies in the window; a let-back force that the model does not give counts as outside."""
    if not edges:
        return {}
    needs = any("letback" in edge.result for edge in edges)
    return {"inside": inside(edges, found.values) & (found.letback_given if needs else True)}


def _share(sample, *names):
    return tuple(float(sample.values[name][sample.possible].mean()) for name in names)
