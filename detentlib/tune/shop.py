"""How well a shop repeats what it makes: the ± (95 %) of each operation, from knife to knife of one batch."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from ..doubt.draws import SURE, distribution, draw
from ..doubt.many import felt
from ..knife.given import given_list
from ..knife.parts import Knife
from ..knife.paths import BARS, field_of
from ..knife.values import Values
from .moves import BENCH, as_made
from .pair import PRESS

_DRAWS = 64
_DUST = 1e-12  # of a number, which is what rounding leaves


class Operation(NamedTuple):
    """One operation of a shop: its name, the field that it makes or word of `moves.as_made`, its ± in that unit."""

    name: str
    makes: str
    doubt: float


# common practice, low confidence: careful work on jigs, a press with a stop, oiled contacts of one make; put your own
# in
SHOP = (
    Operation("balls of one size, any lot", "ball.diameter", 0.009),
    Operation("pressing the ball on a stop", "ball.protrusion", PRESS["pressed on a stop"]),
    Operation("drilling the recess", "recess.diameter", 0.02),
    Operation("placing the recess along its track", "recess.rest_offset", 0.02),
    Operation("placing the recess across its track", "recess.off_track", 0.02),
    Operation("where the stop pin holds the blade", "stop", 0.02),
    Operation("cutting the relief", "bar.relief_thickness", 0.02),
    Operation("bending the bar", "bar.preset", 0.05),
    Operation("oil", "friction.rim", 0.04),
    Operation("pivot", "friction.pivot_torque", 1.0),
)


def shop_doubts(knife: Knife, shop: Iterable[Operation] = SHOP) -> dict[str, float]:
    """{path: ±} of a knife made by a shop; a path may be a word of `moves.as_made`, such as "bar.preset".

    A relief counts only where the drawn sizes of its bar are known.

    >>> from detentlib.files.demo import demo
    >>> bending, oil = Operation("bending the bar", "bar.preset", 0.1), Operation("oil", "friction.rim", 0.04)
    >>> shop_doubts(demo("pellowfen-a"), [bending, oil])
    {'bar.preset': 0.1, 'friction.rim': 0.04}
    """
    why = "Each says how far its work scatters."
    given_list("shop", shop, Operation, "is no list of Operations", why, "Leave it out.")
    moves = ["stop", "bar.preset"] + (["second_bar.preset"] if knife.second_bar else [])
    undrawn = {f"{name}.relief_thickness" for name in BARS if (bar := getattr(knife, name)) and not bar.drawn}
    paths = [path for path in knife.paths() if path not in undrawn]
    return {path: each.doubt for each in shop for path in [*paths, *moves] if field_of(path) == each.makes}


def nominal(knife: Knife, path: str) -> Values:
    """The number at a path, 0 for a word of `moves.as_made`."""
    return 0.0 if path in BENCH else knife.get(path)


def scatter(
    knife: Knife, doubts: Mapping[str, float], numbers: Mapping[str, np.ndarray], results: Iterable[str]
) -> dict[str, np.ndarray]:
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
