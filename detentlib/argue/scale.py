"""What a claim is read on: the numbers that it is made of, and which of them make it true, partly true or false."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..doubt.many import RESULTS
from ..knife.given import checked
from ..knife.plain import true_minus
from ..knife.units import behind

TRUE, PARTLY, FALSE, OPEN = "true", "partly", "false", "cannot tell"
TIMES = "times"
TELL = 0.02  # a change by less counts as none: no hand feels it, and pulls of 12 ± 0.2 N give their ratio to ±0.023

_DUST = 1e-6  # of a bound


@checked
class Scale(NamedTuple):
    """Which numbers make a claim true: words[i] holds from bounds[i − 1] (or without end) up to bounds[i].

    >>> Scale((1.5, 1.9), (FALSE, PARTLY, TRUE)).word(1.6)
    'partly'
    """

    bounds: tuple[float, ...]
    words: tuple[str, ...]

    def word(self, number: float) -> str:
        """What the number makes of the claim."""
        return self.words[sum(number >= reached for reached in self._reached)]

    @property
    def _reached(self):
        """From where on each bound counts as reached: twice is twice, whatever dust the arithmetic leaves on it."""
        return [bound - _DUST * abs(bound) for bound in self.bounds]

    def shares(self, column: np.ndarray) -> dict[str, float]:
        """{word: share of the draws that make it so}, the largest first; the column's first place, the card itself, is
        not counted.

        >>> Scale((1.5,), (FALSE, TRUE)).shares(np.array([1.0, 1.2, 1.4, 1.6, np.nan, 1.3]))
        {'false': 0.75, 'true': 0.25}
        """
        drawn = column[1:][np.isfinite(column[1:])]
        words = np.array(self.words)[np.searchsorted(self._reached, drawn if drawn.size else column[:1], side="right")]
        found = {word: float(np.mean(words == word)) for word in self.words}
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    def said(self, unit: str) -> str:
        """The scale in words."""
        ends = [true_minus(f"{bound:.3g}") for bound in self.bounds]
        if not ends:
            return f"{self.words[0]} for every number"
        parts = [f"{self.words[0]} below {ends[0]}"]
        between = zip(self.words[1:-1], ends, ends[1:], strict=False)
        parts += [f"{word} from {low} to {high}" for word, low, high in between]
        return ", ".join([*parts, f"{self.words[-1]} from {ends[-1]}{behind(unit)} on"])


@checked
class Part(NamedTuple):
    """A number that a claim is made of: what it is in words, its unit, and how it comes from the compared knives."""

    said: str
    unit: str
    of: Callable


# from 1.5 to 2.5 two is the nearest whole number
DOUBLE = Scale((1.5, 1.9, 2.5), (FALSE, PARTLY, TRUE, PARTLY))
SAME = Scale((1 - TELL, 1 + TELL), (FALSE, TRUE, FALSE))


def force(place: int, said: str, name: str = "break_force") -> Part:
    """Part: a number of many.RESULTS of the case at a place of the cast."""
    return Part(said, RESULTS[name].unit, lambda *cases: cases[place].felt(name))


def forces(*said: str, name: str = "break_force") -> tuple[Part, ...]:
    """The same number of one case after the other, each in its words."""
    return tuple(force(place, words, name) for place, words in enumerate(said))


def ratio(said: str, name: str = "break_force", of: int = 0, to: int = 1) -> Part:
    """Part: how many times a number of one case is that of another."""
    return Part(said, TIMES, lambda *cases: cases[of].felt(name) / cases[to].felt(name))
