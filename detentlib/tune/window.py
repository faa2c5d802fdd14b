"""A wanted window: for each number of Feel the least and the most that is wanted."""

import difflib
import math
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ..doubt.budget import why_not_given
from ..doubt.many import RESULTS, Felt, felt
from ..knife.checks import short
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.units import UnitError, both, quantity, unit_named
from ..knife.values import Values
from ..mechanics.feel import LETBACK

Window = Mapping[str, Sequence]  # {result: (least, most)}, see `read_window`
_CURE = 'Write it like "8 N to 10 N", "at least 8 N" or "at most 10 N"; in Python also (least, most), None for no edge.'
_NUMBER = re.compile(r"[\d\s.,/+-]+")
ALONE = 0.1  # of a number that is wanted by itself, to either side: judgement
_DASH = r"(?: ?[–—] ?|(?<![eE+/]) ?- ?)(?=[.\d])"  # between two numbers, and not the one of +/- or of 1e-5
_LACKS = {  # what stands where a number is missing
    "its second number": re.compile(r".*\d.* to|.*\d.*[-–—]"),
    "its first number": re.compile(r"to .+"),
    "its number": re.compile(r"at (least|most)"),
}
_ENDS = re.compile(rf"at least (?P<least>.+)|at most (?P<most>.+)|(?P<low>[^±+]+?)(?: to |{_DASH})(?P<high>.+)")


class Edge(NamedTuple):
    """One edge of a window: the result, the value there, +1 where the result must lie above it, −1 below."""

    result: str
    at: float
    side: int

    def __str__(self):
        """In words."""
        words, unit = RESULTS[self.result]
        return f"{words} {'at least' if self.side > 0 else 'at most'} {both(self.at, unit)}"

    def room(self, values: Mapping[str, Values]) -> Values:
        """How far inside the edge each knife lies, below zero outside, in the unit of the result."""
        return self.side * (values[self.result] - self.at)


def read_window(window: Window, knife: Knife | None = None) -> tuple[Edge, ...]:
    """Edges of a window {result: (least, most)}; None where there is no such edge, text such as "2 lbf" counts.

    Both ends may be one text: "2 to 3 lbf", "8-10 N", "at least 8 N", "at most 10 N"; "15 ± 1 N" is its ends, and
    "15 N" alone leaves a tenth of it on either side.
    knife: the one it is for, so that a number it does not give is refused here. Raises KnifeError with every problem.

    >>> [str(edge) for edge in read_window({"break_force": (8, "10 N"), "barrier": (3, None)})]
    ['break force at least 8.000 N (1.80 lbf)', 'break force at most 10.00 N (2.25 lbf)', 'barrier at least 3.000 mJ']
    >>> [round(edge.at, 3) for edge in read_window({"break_force": "2 to 3 lbf"})]
    [8.896, 13.345]
    >>> [round(edge.at, 3) for edge in read_window({"break_force": "8.5-12"})]
    [8.5, 12.0]
    >>> [round(edge.at, 3) for edge in read_window({"break_force": "15 N"})]
    [13.5, 16.5]
    """
    edges, found = [], []
    if not isinstance(window, Mapping):
        cure = 'Write it like {"break_force": "8 N to 10 N"}.'
        raise KnifeError(Problem("window", short(window), "does not say of which number it is", "", cure))
    for result, ends in window.items():
        if result not in RESULTS:
            near = difflib.get_close_matches(str(result), RESULTS, 2, 0.4)
            cure = f"Did you mean {' or '.join(near)}?" if near else f"Take one of {', '.join(RESULTS)}."
            wrong = "is not a number of a knife's feel that a window can hold"
            found.append(Problem("window", short(result), wrong, "", cure))
            continue
        try:
            edges += _edges(result, ends)
        except UnitError as error:
            wrong = error.wrong if error.given == ends else f"{error.given!r} {error.wrong}"
            found.append(Problem(_named(result), short(ends), wrong, error.cure, _CURE))
        except ValueError as error:
            found.append(Problem(_named(result), short(ends), str(error), "", _CURE))
    if not found and not edges:
        cure = 'Give at least one, such as {"break_force": (8, 10)}.'
        found.append(Problem("window", "", "it has no edge", "Every knife would do.", cure))
    if knife is not None:
        found += _not_given(knife, edges)
    if found:
        raise KnifeError(found)
    return tuple(edges)


def inside(edges: tuple, found: Felt) -> np.ndarray:
    """Which knives lie inside every edge, bool [m]; a let-back force that the model does not give counts as outside."""
    given = [found.letback_given for edge in edges if edge.result in LETBACK]
    return np.logical_and.reduce([*(edge.room(found.values) >= 0 for edge in edges), *given])


def alone(text: str) -> bool:
    """Whether a window in words is one number, so that its ends are ours and not the reader's."""
    return _ENDS.fullmatch(" ".join(text.split())) is None


def _ends_of(text, unit):
    """(least, most) of a window in words; a unit that stands at one end alone counts for both."""
    words = " ".join(text.split())
    if lacks := next((what for what, half in _LACKS.items() if half.fullmatch(words)), None):
        raise ValueError(f"lacks {lacks}")
    match = _ENDS.fullmatch(words)
    if not match:
        try:
            wanted, doubt = quantity(text, unit)
        except UnitError:
            if text.lstrip()[:1].isdigit():
                raise  # what is wrong with that number says more
            raise ValueError("is no window") from None
        by = abs(wanted) * ALONE if doubt is None else doubt
        return wanted - by, wanted + by
    low, high = match["least"] or match["low"], match["most"] or match["high"]
    if match["low"] and _NUMBER.fullmatch(low):
        low = f"{low} {unit_named(high)}".strip()
    elif match["low"] and _NUMBER.fullmatch(high):
        high = f"{high} {unit_named(low)}".strip()
    return low, high


def _edges(result, ends):
    row = isinstance(ends, (list, tuple)) or (isinstance(ends, np.ndarray) and ends.ndim == 1 and not np.ma.isMA(ends))
    if not isinstance(ends, str) and not (row and len(ends) == 2):
        raise ValueError("is no window")
    unit = RESULTS[result].unit
    low, high = _ends_of(ends, unit) if isinstance(ends, str) else ends
    low, high = (None if end is None else quantity(end, unit).value for end in (low, high))
    if low is not None and high is not None and low > high:
        raise ValueError("the least is above the most")
    return [Edge(result, end, side) for end, side in ((low, 1), (high, -1)) if end is not None]


def _named(result):
    return f"window of the {RESULTS[result].words}"


def _not_given(knife, edges):
    given = felt(knife, {"balls[0].track_radius": np.array([knife.balls[0].track_radius])}).values
    for result in dict.fromkeys(edge.result for edge in edges):
        if result not in given:
            wrong, why = f"{knife.title} has no {RESULTS[result].words}", f"Because {why_not_given(result)}."
            yield Problem(_named(result), "", wrong, why, "Leave it out of the window.")


def room_words(edge: Edge, room: float) -> str:
    """How far a knife lies from an edge, in words.

    >>> room_words(Edge("break_force", 10.0, -1), -0.5)
    'break force 0.5000 N (0.112 lbf) above 10.00 N (2.25 lbf)'
    """
    words, unit = RESULTS[edge.result]
    where = "inside" if room >= 0 else ("below" if edge.side > 0 else "above")
    return f"{words} {both(math.fabs(room), unit)} {where} {both(edge.at, unit)}"
