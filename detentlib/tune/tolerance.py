"""A batch on paper: many knives drawn from the ± of one, what they feel like, and how many come inside a window."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..doubt.cloud import Cloud, batch, cloud
from ..doubt.draws import PAGE, SURE
from ..doubt.many import RESULTS, carries, shares_a_bar
from ..knife.given import given_knife
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.units import both
from .moves import as_made, called
from .pair import touch_lead
from .shop import SHOP, Operation, shop_doubts
from .table import Table, Tabled
from .window import Window, inside, read_window

_SHOWN = ("break_force", "letback_force", "barrier", "break_out_deg")


@dataclass(frozen=True, repr=False)
class Tolerance(Tabled):
    """What came of n knives; shares are of all n, so that a knife that cannot work counts as outside the window.

    inside: share inside the window, with its 95 % interval (Wilson), both None without a window. impossible: {reason:
    how many}; a knife with two reasons counts under both, `possible` says how many have none. drawn: every knife. What
    takes longer is worked out when it is first read.
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
    drawn: Cloud

    @cached_property
    def quantiles(self) -> dict:
        """{result: (2.5 %, median, 97.5 %)} of the possible knives."""
        given = [name for name in RESULTS if name in self.drawn.felt().values and self.possible]
        return {name: tuple(np.quantile(self.values(name), (0.025, 0.5, 0.975)).tolist()) for name in given}

    @cached_property
    def touches(self) -> tuple:
        """For each ball the shares of possible knives where it carries at rest, and anywhere on the way."""
        return _touches(self.knife, self.drawn.felt(), self.drawn.felt().possible[1:]) if self.possible else ()

    @cached_property
    def touch_lead(self) -> float | None:
        """Rim lead from which on ball 2 of the knife as drawn carries at rest [mm]; None where there is none."""
        return touch_lead(self.knife) if [ball.bar for ball in self.knife.balls[1:2]] == [0] else None

    def __repr__(self):
        """Short and stable, for a notebook."""
        share = "" if self.inside is None else f", {100 * self.inside:.1f} % inside the window"
        return f"<Tolerance: {self.n} knives{share}>"

    def values(self, result: str) -> np.ndarray:
        """One result of every possible knife, such as "break_force", in the same order for every result."""
        found = self.drawn.felt()
        return found.values[result][1:][found.possible[1:]]

    def contributors(self, result: str) -> dict[str, float]:
        """{path: share of the variance of a result that it alone brings}, the largest first; see `Sources`."""
        sources = self.drawn.sources(self.drawn.column(result))
        return {each.path: (alone / sources.doubt) ** 2 if alone else 0.0 for each, alone in sources.shares.items()}

    def largest(self, result: str) -> tuple[str, float] | None:
        """The path that brings most of the scatter of a result, and its share; None where nothing scatters."""
        path, share = next(iter(self.contributors(result).items()), (None, 0.0))
        return (path, share) if share > 0 else None

    def _table(self):
        of = "as a shop makes them" if self.made else "as far as its ± is known"
        rows = []
        for result in dict.fromkeys([*(edge.result for edge in self.edges), *_SHOWN]):
            if self.possible and result in self.quantiles:
                first = self.largest(result)
                words, unit = RESULTS[result]
                cells = [both(each, unit) for each in self.quantiles[result]]
                most = f"{called(self.knife, first[0])}, {100 * first[1]:.0f} %" if first else "nothing"
                rows.append((words, *cells, most))
        heads = ("of the knives that work", "2.5 % lie below", "median", "97.5 % lie below", "most of the scatter")
        return Table(f"{self.knife.title}: {self.n} knives, {of}", heads, tuple(rows), self.notes())

    def notes(self) -> tuple[str, ...]:
        """What to say below the table."""
        said = []
        if self.inside is not None:
            low, high = self.interval
            ends = f"95 % interval {100 * low:.1f} to {100 * high:.1f} %, Wilson"
            said.append(f"Inside the window: {100 * self.inside:.1f} % ({ends}).")
            said.append(f"Window: {', '.join(str(edge) for edge in self.edges)}.")
        for i, (rest, way) in enumerate(self.touches[1:], 2):
            at_rest, on_the_way = f"at rest in {100 * rest:.1f} %", f"on the way to the flat in {100 * way:.1f} %"
            said.append(f"Ball {i} carries {at_rest}, somewhere {on_the_way}.")
        if self.touch_lead is not None:
            said.append(f"As drawn, ball 2 begins to carry at rest from a rim lead of {both(self.touch_lead, 'mm')}.")
        barred = "; ".join(f"{reason}: {many}" for reason, many in self.impossible.items())
        said.append(f"Cannot be made or cannot work: {barred or 'none'}.")
        rigid = "Left out: the bar is taken as rigid, so at the touch threshold one ball or the other carries all."
        said += [rigid] if shares_a_bar(self.knife) else []
        return tuple(said)


def tolerance(
    knife: Knife, n: int = PAGE, seed: int = 1, window: Window | None = None, made: bool | Sequence[Operation] = False
) -> Tolerance:
    """Draw n knives from the ± of one knife and feel every one: a Tolerance.

    window: {result: (least, most)}, see `read_window`. made: False takes the knife's own ± and what is known together,
    each number set as it stands: what is not known about this knife. True takes the ± of a shop (shop.SHOP, common
    practice), or of the Operations given, with the bar keeping its bend: how the knives of a batch differ. The draws
    are those of `cloud` and `batch`; the same seed gives the same knives. Raises KnifeError where no number has a ± and
    for a knife that cannot work.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar = LockBar(17.04, rate=10.298, side_compliance=0)
    >>> doubts = {"blade.tab_arm": 0.7, "bar.riding_force": 0.8}
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12), doubts=doubts)
    >>> found = tolerance(knife, n=2000, window={"break_force": (11, 13)})
    >>> found.largest("break_force")[0], round(found.inside, 2)          # ± 0.91 N: 1 N away is 2.2 standard deviations
    ('bar.riding_force', 0.97)
    """
    given_knife(knife)
    doubts = shop_doubts(knife, SHOP if made is True else made) if made is not False else knife.doubts
    if not any(doubts.values()):
        why, cure = "Without a ± all knives are the same one.", 'Write "1.10 ± 0.02 mm" in the knife file.'
        raise KnifeError(Problem("doubts", "", "no number has a ±", why, cure), knife.title)
    edges = read_window(window, knife) if window is not None else ()
    drawn = batch(knife, doubts, as_made, n, seed) if made is not False else cloud(knife, n=n, seed=seed)
    felt, possible = drawn.felt(), drawn.felt().possible[1:]
    share, interval = None, None
    if edges:
        count = int((inside(edges, felt)[1:] & possible).sum())
        share, interval = count / n, share_interval(count, n)
    works = int(possible.sum())
    return Tolerance(knife, n, seed, made is not False, edges, share, interval, works, felt.impossible, drawn)


def share_interval(inside: int, n: int) -> tuple[float, float]:
    """95 % interval of a share of which `inside` out of n draws were counted (Wilson's score interval).

    >>> [round(end, 3) for end in share_interval(95, 100)]
    [0.888, 0.978]
    """
    part, square = inside / n, SURE**2 / n
    middle, half = part + square / 2, SURE * math.sqrt(part * (1 - part) / n + square / (4 * n))
    low, high = ((middle + side * half) / (1 + square) for side in (-1, 1))
    return max(low, 0.0), min(high, 1.0)


def _touches(knife, felt, possible):
    somewhere = carries(felt) if len(knife.balls) > 1 else np.ones((felt.possible.size, 1), bool)
    at_rest = np.stack([felt.values[f"ball {i + 1} at rest"] for i in range(len(knife.balls))], axis=-1)
    shares = (each[1:][possible].mean(axis=0).tolist() for each in (at_rest, somewhere))
    return tuple(zip(*shares, strict=True))
