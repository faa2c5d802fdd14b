"""How well a shop repeats what it makes: the ± (95 %) of each operation, from knife to knife of one batch."""

import re
from typing import NamedTuple

import numpy as np

from ..doubt.draws import SURE, distribution, draw
from ..doubt.many import felt
from .moves import BENCH, as_made
from .pair import PRESS


class Operation(NamedTuple):
    """One operation of a shop: its name, the numbers it makes (pattern of paths, see `moves.as_made`), its ± in their unit."""

    name: str
    makes: str
    doubt: float


# common practice, low confidence: careful work on jigs, a press with a stop, oiled contacts of one make; put your own in
SHOP = (
    Operation("balls of one size, any lot", r"balls\[\d\]\.diameter", 0.009),
    Operation("pressing the ball on a stop", r"balls\[\d\]\.protrusion", PRESS["pressed on a stop"]),
    Operation("drilling the recess", r"balls\[\d\]\.recess\.diameter", 0.02),
    Operation("placing the recess along its track", r"balls\[\d\]\.recess\.rest_offset", 0.02),
    Operation("placing the recess across its track", r"balls\[\d\]\.recess\.off_track", 0.02),
    Operation("where the stop pin holds the blade", r"stop", 0.02),
    Operation("cutting the relief", r"(bar|second_bar)\.relief_thickness", 0.02),
    Operation("bending the bar", r"(bar|second_bar)\.preset", 0.05),
    Operation("oil", r"friction\.rim", 0.04),
    Operation("pivot", r"friction\.pivot_torque", 1.0),
)


def shop_doubts(knife, shop=SHOP):
    r"""{path: ±} of a knife made by a shop; a path may be a word of `moves.as_made`, such as "bar.preset".

    A relief counts only where the drawn sizes of its bar are known.

    >>> from detentlib.files.demo import demo
    >>> shop_doubts(demo("pellowfen-a"), [Operation("bending the bar", r"bar\.preset", 0.1), Operation("oil", r"friction\.rim", 0.04)])
    {'bar.preset': 0.1, 'friction.rim': 0.04}
    """
    words = ["stop", "bar.preset"] + (["second_bar.preset"] if knife.second_bar else [])
    drawn = {"bar": knife.bar.drawn, "second_bar": bool(knife.second_bar and knife.second_bar.drawn)}
    paths = [path for path in knife.paths() if not path.endswith("relief_thickness") or drawn[path.partition(".")[0]]]
    return {path: each.doubt for each in shop for path in [*paths, *words] if re.fullmatch(each.makes, path)}


def nominal(knife, path):
    """The number at a path, 0 for a word of `moves.as_made`."""
    return 0.0 if path in BENCH else knife.get(path)


def scatter(knife, doubts, numbers, results):
    """± of results over a batch of each of m knives, from 64 draws of the shop's ±: {result: array [m]}.

    numbers: {path: array [m]} that set each knife apart, as in `many.felt` by `as_made`; doubts: {path: ±}. Infinite
    where one of the draws is impossible.
    """
    count = max(np.size(value) for value in numbers.values())
    drawn = draw({path: distribution(0.0, doubt) for path, doubt in doubts.items() if doubt}, _DRAWS)
    rows = {}
    for path in dict.fromkeys([*numbers, *doubts]):
        centre = np.broadcast_to(numbers.get(path, nominal(knife, path)), (count,))
        rows[path] = np.ravel(centre + np.reshape(drawn.get(path, np.zeros(_DRAWS)), (-1, 1)))
    found = felt(knife, rows, as_made)
    possible = found.possible.reshape(_DRAWS, count).all(axis=0)
    values = {result: found.values[result].reshape(_DRAWS, count) for result in results}
    found = {result: SURE * np.std(each, axis=0) for result, each in values.items()}
    sure = {result: np.where(each > _DUST * np.abs(values[result][0]), each, 0.0) for result, each in found.items()}
    return {result: np.where(possible, each, np.inf) for result, each in sure.items()}


_DRAWS = 64
_DUST = 1e-12  # of a number, which is what rounding leaves
