"""The knives that a claim compares, each as many times as there are draws, and what they feel like."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..doubt.many import sound
from ..knife.checks import refuse
from ..knife.given import given_function, given_list
from ..knife.parts import Knife, KnifeError
from ..mechanics import carry, limits
from ..mechanics.feel import feel_many


@dataclass(frozen=True, eq=False)
class ComparedKnife:
    """One of the knives that a claim compares: many in one (see Knife.with_arrays), the card's own in the first place.

    bad: bool [m], which of them cannot be made; elastic: as of `feel`.
    """

    knife: Knife
    bad: np.ndarray
    elastic: bool = False

    def felt(self, name: str) -> np.ndarray:
        """One of the numbers of `feel_many`, array [m]; nan for a knife that cannot be or cannot work."""
        found = self._felt
        return np.where(found.possible & ~self.bad, found.values[name], np.nan)

    @cached_property
    def works(self) -> np.ndarray:
        """Which of them can be made and can work, bool [m]."""
        with np.errstate(all="ignore"):
            broken = [limit.broken for limit in limits.find(carry.Detent(self.knife, self.elastic))]
        return ~np.logical_or.reduce([self.bad, *broken])

    @cached_property
    def _felt(self):
        return feel_many(self.knife, self.elastic)


def cases(cast: Callable, knives: tuple, numbers: tuple, elastic: bool = False) -> list:
    """A ComparedKnife for each knife that cast(*knives) gives, the numbers of the knives being those of the draws.

    numbers: for each knife {path: array [m]}, with its own in the first place; {} for none. Raises KnifeError where the
    knives themselves cannot be cast.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.3), Blade(14.0), Friction(0.12))
    >>> (heavier,) = cases(lambda knife: (knife,), (knife,), ({"bar.riding_force": np.array([17.04, 18.0, -1.0])},))
    >>> heavier.felt("ride_load").round(2).tolist()
    [17.04, 18.0, nan]
    """
    count = max((np.size(each) for drawn in numbers for each in drawn.values()), default=1)
    exact = (replace(knife, doubts={}, assumed=(), known_together={}) for knife in knives)
    made = [sound(knife, drawn, count) for knife, drawn in zip(exact, numbers, strict=True)]
    lost = np.logical_or.reduce([np.zeros(count, bool), *(bad for _, bad, _ in made)])
    with np.errstate(all="ignore"):
        pairs = zip(*(_knives_of(cast(*each)) for each in (knives, (many for many, _, _ in made))), strict=True)
        return [_case(card, many, count, lost, elastic) for card, many in pairs]


def _knives_of(compared):
    """What a cast gave, where that is knives."""
    why, cure = "A claim compares the knives that its cast gives.", "Let it give a tuple of Knives."
    given_list("cast", compared or None, Knife, "gives no knives", why, cure)
    return compared


def _case(card, many, count, lost, elastic):
    drawn = {path: many.get(path) for path in many.paths()}
    many, bad, _ = sound(card, {path: value for path, value in drawn.items() if np.ndim(value)}, count)
    return ComparedKnife(many, bad | lost, elastic)


def column_of(number: Callable, made: list) -> np.ndarray:
    """A number that is made from compared knives, array [m]; nan where one of the knives cannot be."""
    lost = np.logical_or.reduce([case.bad for case in made])
    asked = given_function("number", number, "what decides", len(made))
    with np.errstate(invalid="ignore", divide="ignore"):
        found = np.asarray(asked(*made))
    if found.dtype.kind not in "biuf" or found.shape not in ((), lost.shape):
        raise refuse("number", found, "is no number of each knife", "It decides the claim.", "Let it give one each.")
    return np.where(lost, np.nan, found)


def on_many(make: Callable) -> Callable:
    """A change written for one knife as one for many in one: of all at once where it can, else of each by itself."""

    def changed(knife):
        try:
            return make(knife)
        except (KnifeError, TypeError, ValueError):  # such as an `if` on a number that is an array here
            if not knife.many:
                raise
            return _each_by_itself(make, knife)

    return changed


def _each_by_itself(make, knife):
    drawn = {path: np.ravel(knife.get(path)) for path in knife.paths() if np.ndim(knife.get(path))}
    count = max(map(np.size, drawn.values()))
    each = [knife.with_arrays({path: float(value[i]) for path, value in drawn.items()}) for i in range(count)]
    made = [_or_none(make, one) for one in each]
    columns = {path: [np.nan if each is None else each.get(path) for each in made] for path in made[0].paths()}
    return made[0].with_arrays({path: np.array(column, float)[:, None] for path, column in columns.items()})


def _or_none(make, knife):
    try:
        return make(knife)
    except KnifeError:
        return None
