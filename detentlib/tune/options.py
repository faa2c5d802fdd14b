"""Inverse design: which balls, drills, stop pins, bends and reliefs that can be had bring a knife into a wanted window."""

import math
from dataclasses import dataclass, replace

import numpy as np

from ..doubt.many import RESULTS
from ..knife.units import both
from .candidates import MARGINS, Miss, Search, counts
from .choices import choices
from .moves import LOCK_TOO, PIN_TOO
from .shop import SHOP, shop_doubts
from .stock import BALLS, DRILLS
from .table import Table, Tabled
from .tolerance import tolerance
from .window import read_window

CHUNK = 1024
_MOST = 200_000
_SHOWN, _KNIVES = 6, 2000
RULE = (
    "Ranked by the room to the nearest edge of the window, counted in ± of the shop up to one whole ± and in tenths; "
    "then fewer steps that cannot be undone; then fewer changes; then more room."
)


@dataclass(frozen=True, repr=False)
class Options(Tabled):
    """What a search found: ranked, every Option inside the window; shown, those of them that no other beats on all counts.

    tried of total combinations were felt; interrupted: True where the search was stopped before its end, so that
    better ones may be missing; miss: a Miss where nothing was found, else None; impossible: {reason: how many}.
    """

    title: str
    edges: tuple
    ranked: tuple
    shown: tuple
    tried: int
    total: int
    interrupted: bool
    miss: Miss | None
    impossible: dict
    barred: int
    places: tuple

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<Options: {len(self.ranked)} of {self.tried} combinations inside the window{', interrupted' * self.interrupted}>"

    def _table(self):
        wanted = list(dict.fromkeys(edge.result for edge in self.edges))
        margins = [name for name in MARGINS if name not in wanted and any(name in option.values for option in self.shown)]
        heads = ("change", "undo", *(RESULTS[name].words for name in [*wanted, *margins]), "room in ± of the shop", "share inside")
        rows = [(option.words, _undo(option), *(both(option.values[n], RESULTS[n].unit) for n in [*wanted, *margins]), *_sure(option)) for option in self.shown]
        return Table(f"{self.title}: ways into {', '.join(str(edge) for edge in self.edges)}", heads, tuple(rows), self.notes())

    def notes(self):
        """What to say below the table; a tuple of sentences."""
        said = []
        if self.interrupted:
            said.append(f"Interrupted after {self.tried} of {self.total} combinations: incomplete, better ones may be missing.")
        said.append(f"{len(self.ranked)} of {self.tried} combinations lie inside. Tried: {', '.join(self.places)}.")
        if self.miss:
            said += _missed(self.miss)
        else:
            said.append(f"{RULE} Shown: of each kind of change the best, where no other has as much room with less to undo.")
            said.append("Room: in ± of 64 knives drawn as a shop makes them. " + _SHARES)
        touched = {choice.place.partition(" ")[0] for option in self.shown for choice in option.choices}
        if touched & {"preset", "relief"}:
            said.append(LOCK_TOO)
        if "rest_offset" in touched:
            said.append(PIN_TOO)
        if "drill" in touched:
            said.append("A hole comes out 0.01 to 0.03 mm larger than its drill (common practice): try it in scrap and measure, or drill under and ream.")
        if self.barred:
            said.append(f"{self.barred} sizes left out because metal cannot be put back; with new parts they count.")
        if self.impossible:
            said.append("Cannot be made or cannot work: " + "; ".join(f"{reason}: {many}" for reason, many in self.impossible.items()) + ".")
        return tuple(said)


_SHARES = f"Share inside: {_KNIVES} knives drawn as a shop makes them, 95 % interval (Wilson); only for those shown."


def options(knife, window, change=None, new_parts=False, shop=SHOP, balls=BALLS, holes=DRILLS, progress=None):
    """Every buyable way to bring a knife into a window, ranked: Options.

    window: {result: (least, most)}, see `read_window`, with any of many.RESULTS: forces, barrier, angles, stresses,
    clearances. change: places that may change, or {place: values}, see `choices`; all others stay as they are.
    new_parts: metal can be "put back". Besides the window an option must work, rest on the stop on a rim, keep each
    ball no further out than its radius and the relief below its yield. shop: Operations whose ± count. balls, holes:
    the stock. progress(done, total) is called as the search goes on; an interrupt gives what was found so far. Raises
    KnifeError for a window or change that cannot be read, ValueError for more than 200,000 combinations. Thin margins
    (THIN) are no options unless the window names that margin itself.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.12))
    >>> found = options(knife, {"break_force": (12.7, 13.1)}, change={"preset": (-0.1, 0.1), "rest_offset": (0.03,)})
    >>> found.ranked                                                              # + 7 % of 12.04 N; the pin alone gives 13.4 N
    (<Option: bar bent in by 0.1000 mm (3.94 thou)>,)
    """
    edges = read_window(window, knife)
    places = choices(knife, change, new_parts, balls, holes)
    total = math.prod(len(each.choices) + 1 for each in places)
    if total > _MOST:
        raise ValueError(f"{total} combinations are more than {_MOST}: let fewer places change, or give fewer values for some")
    search = Search(knife, edges, places, shop_doubts(knife, shop))
    tried, interrupted = 0, False
    try:
        for start in range(0, total, CHUNK):
            search.add(np.arange(start, min(start + CHUNK, total)), total)
            tried = min(start + CHUNK, total)
            if progress:
                progress(tried, total)
    except KeyboardInterrupt:
        interrupted = True
    ranked = search.ranked()
    shown = _best_of_each(ranked)
    try:
        shown = [_sampled(option, window, shop) for option in shown] if not interrupted else shown
    except KeyboardInterrupt:
        interrupted = True
    return Options(
        knife.title,
        edges,
        tuple(ranked),
        tuple(shown),
        tried,
        total,
        interrupted,
        None if ranked else search.miss(),
        search.impossible,
        sum(each.barred for each in places),
        tuple(each.words for each in places),
    )


def _best_of_each(ranked):
    """The first option of each set of changed places, but for those that another beats on all counts; in the order of rank."""
    best = {}
    for option in ranked:
        best.setdefault(frozenset(choice.place for choice in option.choices), option)
    every = [counts(option) for option in best.values()]
    unbeaten = [option for option, mine in zip(best.values(), every, strict=True) if not any(_beats(other, mine) for other in every)]
    return unbeaten[:_SHOWN]


def _beats(one, other):
    """Better in one count and worse in none."""
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))


def _sampled(option, window, shop):
    """The option with the share of shop-made knives inside the window."""
    found = tolerance(option.knife, _KNIVES, window=window, made=shop)
    return replace(option, share=found.inside, interval=found.interval)


def _undo(option):
    if not option.choices:
        return "nothing to undo"
    return f"{option.one_way} one-way" if option.one_way else "reversible"


def _sure(option):
    share = "not sampled" if option.share is None else f"{100 * option.share:.0f} % ({100 * option.interval[0]:.0f} to {100 * option.interval[1]:.0f} %)"
    return f"{option.margin:.2f}", share


def _missed(miss):
    said = ["Nothing lies inside the window."]
    if miss.nearest:
        said.append(f"Nearest: {miss.nearest}; it misses by {', '.join(miss.short)}.")
    for need, (some, alone) in sorted(miss.bars.items(), key=lambda item: -item[1][1]):
        said.append(f"{some} fail “{need}”, {alone} of them nothing else.")
    return said
