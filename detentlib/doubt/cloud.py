"""The cloud: joint draws of every doubtful number of all knives that take part, and what they say of any result."""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ..knife.parts import BALL_FIELDS, Blade, Friction, Knife, LockBar, name_of
from ..knife.paths import place_of
from ..knife.together import matrix_of
from ..mechanics import limits
from .draws import PAGE, SCREEN, Interval, distribution, distribution_of, interval, mixed, scores, share, share_said
from .many import Felt, felt
from .sources import Sources

_PARTS = {"bar": LockBar, "blade": Blade, "friction": Friction, "second_bar": LockBar}


class Input(NamedTuple):
    """One doubtful number: its path, the knives (by their places) that have it in common, and its ± in the first of
    them.
    """

    path: str
    knives: tuple
    doubt: float


@dataclass(frozen=True, eq=False)
class Cloud:
    """Joint draws of the doubtful numbers of one or more knives, each column with the card itself in its first place.

    knives; doubts: {path: ±} of each; inputs: of Input; scores: array [n, inputs] of standard normal scores, correlated
    as the knives say; together: their correlations as a matrix; made: what numbers come to at the bench, see `felt`.
    """

    knives: tuple
    doubts: tuple
    inputs: tuple
    scores: np.ndarray
    together: np.ndarray
    made: Callable | None = None

    @property
    def n(self) -> int:
        """How many draws there are, besides the card itself."""
        return len(self.scores)

    def numbers(self, knife: int = 0) -> dict:
        """The doubtful numbers of one of the knives: {path: array [n + 1]}."""
        card, doubts, found = self.knives[knife], self.doubts[knife], {}
        known = set(card.paths())
        for each, column in zip(self.inputs, self.scores.T, strict=True):
            path = each.path
            if knife in each.knives:
                value = card.get(path) if path in known else 0.0
                spread = (
                    distribution_of(path, value, doubts[path]) if path in known else distribution(0.0, doubts[path])
                )
                found[path] = np.concatenate([[value], spread.at(column)])
        return found

    def first(self, n: int) -> "Cloud":
        """The same cloud with its first n draws only."""
        return replace(self, scores=self.scores[:n])

    def felt(self, knife: int = 0) -> Felt:
        """One of the knives, felt for every draw; kept, so that every result reads the same."""
        if knife not in self._felt:
            card = self.knives[knife]
            numbers = self.numbers(knife)
            # a knife that nothing is doubtful in is still as many knives as there are draws
            stands = {"balls[0].track_radius": np.full(self.n + 1, card.balls[0].track_radius)}
            self._felt[knife] = felt(card, stands | numbers, self.made)
        return self._felt[knife]

    @cached_property
    def _felt(self):
        return {}

    def column(self, result: str, knife: int = 0) -> np.ndarray:
        """One of many.RESULTS, array [n + 1], nan for a draw that cannot be or cannot work."""
        found = self.felt(knife)
        return np.where(found.possible, found.values[result], np.nan)

    @cached_property
    def lost(self) -> dict:
        """{why: share of the draws} of those that cannot be or cannot work."""
        found = {}
        for i in range(len(self.knives)):
            for why, many in self.felt(i).impossible.items():
                found[why] = found.get(why, 0.0) + many / self.n
        return found

    def interval(self, column: np.ndarray) -> Interval:
        """The two ends of a number; see `draws.interval`."""
        return interval(column)

    def share(self, event: np.ndarray) -> float:
        """The share of the draws of working knives for which an event, bool [n + 1], is true."""
        works = np.logical_and.reduce([self.felt(i).possible for i in range(len(self.knives))])
        return share(event[works]) if works[1:].any() else 0.0

    def in_share(self, event: np.ndarray) -> str:
        """In what share of what the cards allow an event is true, in words."""
        return f"in {share_said(self.share(event), self.n)} {self.allowed}"

    @property
    def allowed(self) -> str:
        """What a share of the draws is a share of, in words."""
        return f"of what {'this card allows' if len(self.knives) == 1 else 'these cards allow'}"

    def sources(self, column: np.ndarray) -> Sources:
        """Where the doubt of a number comes from, and what measurements would leave of it."""
        return Sources(self.inputs, self.scores, self.together, column)

    def named(self, each: Input) -> str:
        """An Input in words, and of which knife where not all of them share it."""
        said = name_of(each.path, *self.knives)
        return said if len(each.knives) == len(self.knives) else f"{self.knives[each.knives[0]].title}, {said}"


def cloud(*knives: Knife, n: int = SCREEN, seed: int = 1) -> Cloud:
    """Joint draws of every number with a ± of all these knives. Raises KnifeError for one that cannot work.

    A number with the same path, the same value and a ± in several knives is one measured thing and is drawn once.
    Normal, 95 % inside ±, or even inside a limit; cut off at the edges of a field's rule (see `distribution_of`);
    correlated as `known_together` says. The same seed gives the same draws; those of one number do not change when
    another gets a ±.

    >>> from detentlib.knife.parts import Ball, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar, doubts = LockBar(17.04, rate=10.3), {"bar.riding_force": 1.704}
    >>> drawn = cloud(Knife("A", [ball], bar, Blade(14.0), Friction(0.12), doubts=doubts))
    >>> [round(end, 2) for end in drawn.interval(drawn.column("ride_load"))[:3]]
    [17.04, 15.34, 18.74]
    """
    for knife in knives:
        limits.check(knife)
    inputs = _inputs(knives)
    slots = [_slot(each, knives) for each in inputs]
    place = {(i, each.path): each for each in inputs for i in each.knives}
    pairs = {}
    for i, knife in enumerate(knives):
        pairs |= {(place[i, one], place[i, other]): r for (one, other), r in knife.known_together.items()}
    together = matrix_of(pairs, inputs)
    doubts = tuple(knife.doubts for knife in knives)
    return Cloud(knives, doubts, tuple(inputs), mixed(scores(slots, n, seed), together), together)


def batch(knife: Knife, doubts: dict, made: Callable, n: int = PAGE, seed: int = 1) -> Cloud:
    """Knives of one batch: the Cloud of one drawn knife from how a shop scatters, {path or word of `made`: ±}.

    made: `moves.as_made`; a word of it counts from 0. Raises KnifeError for a knife that cannot work.
    """
    limits.check(knife)
    inputs = tuple(Input(path, (0,), doubt) for path, doubt in doubts.items() if doubt)
    return Cloud((knife,), (doubts,), inputs, scores(list(range(len(inputs))), n, seed), np.eye(len(inputs)), made)


def common(one: Knife, other: Knife) -> list:
    """Paths that two knives share as one measured thing: the same path, the same value, a ± in both."""
    return [
        path
        for path, doubt in one.doubts.items()
        if doubt and other.doubts.get(path) and one.get(path) == other.get(path)
    ]


def _inputs(knives):
    """Every number with a ± as an Input, once for all knives that share it with the first that has it."""
    found, seen = [], set()
    for i, knife in enumerate(knives):
        for path, doubt in knife.doubts.items():
            if doubt and (i, path) not in seen:
                shared = [j for j in range(i + 1, len(knives)) if path in common(knife, knives[j])]
                sharing = (i, *(j for j in shared if (j, path) not in seen))
                seen |= {(j, path) for j in sharing}
                found.append(Input(path, sharing, doubt))
    return found


_OWN = [f"{name}.{each.name}" for name, part in _PARTS.items() for each in fields(part) if "rule" in each.metadata]


def _slot(each, knives):
    """The place of an input among all numbers that such knives can have, so that its draws do not hang on the
    others.
    """
    place = place_of(each.path)
    most = max(len(knife.balls) for knife in knives)
    before = each.knives[0] * (len(_OWN) + most * len(BALL_FIELDS))
    if place.ball is None:
        return before + _OWN.index(each.path)
    return before + len(_OWN) + place.ball * len(BALL_FIELDS) + BALL_FIELDS.index(place.field)
