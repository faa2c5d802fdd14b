"""Going through combinations of choices: which lie inside a window, how much room each has, and what bars the rest."""

import math
from dataclasses import dataclass

import numpy as np

from ..doubt.many import felt
from .moves import as_made
from .shop import nominal, scatter
from .window import Edge, inside, room_words

MARGINS = ("floor_clearance", "face_clearance", "idle_clearance", "jam_margin_deg", "relief_stress")
# as the flags of Feel have it: common practice
THIN = {"face_clearance": 0.05, "floor_clearance": 0.05, "jam_margin_deg": 10.0}


@dataclass(frozen=True, repr=False)
class Option:
    """One way into the window: the Choices that it makes, what they set, and what comes of it.

    numbers: {path: value} with the words of `moves.as_made`; knife: the changed Knife; values: {result: number} for the
    window and the margins; margin: room to the nearest edge in ± of the shop, see `scatter`; one_way: how many of the
    changes cannot be undone; share: of shop-made knives inside the window, with its 95 % interval, by sampling; None
    where it was not sampled.
    """

    choices: tuple
    numbers: dict
    values: dict
    margin: float
    base: object
    share: float | None = None
    interval: tuple | None = None

    @property
    def knife(self):
        """The changed Knife."""
        return self.base.replace(as_made(self.base, self.numbers))

    @property
    def one_way(self):
        """How many of its changes cannot be undone."""
        return sum(choice.one_way for choice in self.choices)

    @property
    def words(self):
        """Its changes in words."""
        return "; ".join(choice.words for choice in self.choices) or "as it is"

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<Option: {self.words}>"


@dataclass(frozen=True)
class Miss:
    """Why nothing lies inside the window.

    bars: {need: (how many fail it, how many fail nothing else)} of those that can work; nearest: the changes of the
    nearest one that meets all but the window, in words; short: what it misses, in words; amounts: {result: how much}.
    """

    bars: dict
    nearest: str
    short: tuple
    amounts: dict


class Search:
    """The combinations that were felt so far."""

    def __init__(self, knife, edges, places, doubts):
        """For a knife, the Edges of a window, the Choices at each place and the {path: ±} of the shop."""
        self.knife, self.edges, self.places, self.doubts = knife, edges, places, doubts
        self.found, self.impossible, self.fails, self.nearest = [], {}, {}, None
        self.scale = None

    def numbers(self, rows, total):
        """{path: array} of the combinations with these running numbers, and which choice of each place they take (0: none)."""
        shape = [len(each.choices) + 1 for each in self.places]
        taken = np.unravel_index(rows, shape)
        numbers = {"pin": np.zeros(rows.size)}
        for each, which in zip(self.places, taken, strict=True):
            for path in dict.fromkeys(path for choice in each.choices for path in choice.numbers):
                start = nominal(self.knife, path)
                values = np.array([start, *(choice.numbers.get(path, start) for choice in each.choices)])
                numbers[path] = values[which]
        return numbers, np.stack(taken, axis=-1) if taken else np.zeros((rows.size, 0), int)

    def add(self, rows, total):
        """Feel some combinations and keep those inside the window."""
        numbers, taken = self.numbers(rows, total)
        found = felt(self.knife, numbers, as_made)
        for reason, many in found.impossible.items():
            self.impossible[reason] = self.impossible.get(reason, 0) + many
        needs = needs_of(self.knife, self.edges, found)
        sound = np.logical_and.reduce([found.possible, *needs.values()])
        good = np.flatnonzero(sound & inside(self.edges, found.values))
        self._count_fails(needs | {str(edge): edge.room(found.values) >= 0 for edge in self.edges}, found.possible)
        if good.size == 0 and not self.found:
            self._keep_nearest(found, sound, taken)
        names = [name for name in dict.fromkeys([*(edge.result for edge in self.edges), *MARGINS]) if name in found.values]
        if good.size:
            room = self._room(found, {path: value[good] for path, value in numbers.items()}, good)
            for k, margin in zip(good, room, strict=True):
                values = {name: float(found.values[name][k]) for name in names}
                self.found.append(Option(self._chosen(taken[k]), self._set(taken[k]), values, float(margin), self.knife))

    def _room(self, found, numbers, good):
        """Room to the nearest edge in ± of the shop."""
        doubts = scatter(self.knife, self.doubts, numbers, dict.fromkeys(edge.result for edge in self.edges))
        rooms = []
        for edge in self.edges:
            room, doubt = edge.room(found.values)[good], doubts[edge.result]
            rooms.append(np.where(doubt > 0, room / np.where(doubt > 0, doubt, 1.0), np.inf))
        return np.minimum.reduce(rooms)

    def _chosen(self, taken):
        return tuple(each.choices[k - 1] for each, k in zip(self.places, taken, strict=True) if k)

    def _set(self, taken):
        return {path: value for choice in self._chosen(taken) for path, value in choice.numbers.items()}

    def _count_fails(self, needs, possible):
        """How many of those that can work fail each need, and how many fail it alone."""
        names = list(needs)
        fails = ~np.stack([needs[name] for name in names]) & possible
        alone = fails.sum(axis=0) == 1
        for name, failed in zip(names, fails, strict=True):
            some, only = self.fails.get(name, (0, 0))
            self.fails[name] = (some + int(failed.sum()), only + int((failed & alone).sum()))

    def _keep_nearest(self, found, sound, taken):
        """The sound combination that misses the window by least, in ± of the shop at the knife as it is."""
        if self.scale is None:
            self.scale = self._scale(found)
        short = np.max([np.maximum(-edge.room(found.values), 0.0) / self.scale[edge.result] for edge in self.edges], axis=0)
        short = np.where(sound, short, np.inf)
        best = int(np.argmin(short))
        if np.isfinite(short[best]) and (self.nearest is None or short[best] < self.nearest[0]):
            rooms = {edge: float(edge.room(found.values)[best]) for edge in self.edges}
            self.nearest = (short[best], taken[best], rooms)

    def _scale(self, found):
        start = {path: np.array([nominal(self.knife, path)]) for path in self.doubts} or {"stop": np.zeros(1)}
        doubts = scatter(self.knife, self.doubts, start, dict.fromkeys(edge.result for edge in self.edges))
        at = {edge.result: max(abs(edge.at), 1e-9) for edge in self.edges}
        return {result: doubt.item() if 0 < doubt.item() < np.inf else 0.1 * at[result] for result, doubt in doubts.items()}

    def ranked(self):
        """Every option inside the window, the best first; see RULE."""
        return sorted(self.found, key=lambda option: (*counts(option), -option.margin))

    def miss(self):
        """Why there is none."""
        bars = {name: fails for name, fails in self.fails.items() if fails[0]}
        if self.nearest is None:
            return Miss(bars, "", (), {})
        _, taken, rooms = self.nearest
        outside = {edge: room for edge, room in rooms.items() if room < 0}
        words = "; ".join(choice.words for choice in self._chosen(taken)) or "as it is"
        return Miss(bars, words, tuple(room_words(edge, room) for edge, room in outside.items()), {edge.result: -room for edge, room in outside.items()})


def needs_of(knife, edges, found):
    """{need: bool [m]} besides the window."""
    needs = {"rests on the stop, on a rim": found.values["on_rim"]}
    needs["no ball stands out more than its radius"] = np.logical_and.reduce(
        [np.broadcast_to(np.ravel(ball.protrusion <= ball.radius), found.possible.shape) for ball in found.many.balls]
    )
    if knife.bar.yield_stress is not None and "relief_stress" in found.values:
        needs["relief below its yield"] = found.values["relief_stress"] <= knife.bar.yield_stress
    for name, least in THIN.items():
        if name in found.values and all(edge.result != name for edge in edges):
            needs[str(Edge(name, least, 1))] = found.values[name] >= least
    if any("letback" in edge.result for edge in edges):
        needs["let-back force can be given"] = found.letback_given
    return needs


def counts(option):
    """What an option is judged by, the less the better: room in tenths of a ± (negative), one-way steps, changes."""
    return (-math.floor(10 * min(option.margin, 1.0) + 1e-9), option.one_way, len(option.choices))
