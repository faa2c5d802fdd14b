"""A claim of your own: a number of the knife, two knives, and a relation between them."""

import difflib
import re
from typing import NamedTuple

from ..doubt.many import RESULTS
from ..knife.parts import Knife
from ..knife.units import UnitError, quantity
from ..tune.moves import with_one_ball, with_second_leaf
from ..tune.pair import with_equal_arms, with_second_ball
from .cases import on_many
from .scale import FALSE, TELL, TIMES, TRUE, Part, Scale

QUANTITIES = {
    name: RESULTS[name]
    for name in (
        "break_force",
        "letback_force",
        "gauge_break_force",
        "gauge_letback_force",
        "break_torque",
        "barrier",
        "break_out_deg",
        "draw_in_deg",
        "snap_ratio",
        "rest_load",
        "ride_load",
    )
}
MAKERS = {
    "as it is": lambda knife: knife,
    "one ball": with_one_ball,
    "second ball": with_second_ball,
    "second leaf": lambda knife: with_second_leaf(with_second_ball(knife)),
    "equal arms": lambda knife: with_equal_arms(with_second_ball(knife)),
    "turned round": lambda knife: knife.turned_round(),
}
RELATIONS = (
    "at least 2 times",
    "at most 0.5 times",
    "about 2 times",
    "at least 10 % more",
    "at least 10 % less",
    "at least 2 N more",
    "more",
    "less",
    "the same",
)
MORE, LESS, SAME = "more", "less", "the same"
_SHARES = (TIMES, "%")
_BARE = {
    MORE: Scale((1 + TELL,), (FALSE, TRUE)),
    LESS: Scale((1 - TELL,), (TRUE, FALSE)),
    SAME: Scale((1 - TELL, 1 + TELL), (FALSE, TRUE, FALSE)),
}
_ABOUT = 0.1
_RELATION = re.compile(
    r"(?P<how>at least|at most|about)\s+(?P<number>\d+(?:\.\d+)?|\.\d+)\s*(?P<unit>\S+)(?:\s+(?P<way>more|less))?"
)


class Relation(NamedTuple):
    """How two numbers are said to stand to each other, as somebody wrote it.

    how: "at least", "at most" or "about", and "" for the bare words more, less and the same; then number is not used.
    unit: "times", "%" or that of the numbers. way: "more", "less", "the same", or "" with times.
    """

    written: str
    how: str
    number: float
    unit: str
    way: str

    @property
    def sign(self) -> int | None:
        """+1 and -1 for a difference, more and less; None for a ratio."""
        if not self.how or self.unit in _SHARES:
            return None
        return 1 if self.way == MORE else -1

    def scale(self) -> Scale:
        """When it is true of the ratio, or of the difference that the sign asks for."""
        if not self.how:
            return _BARE[self.way]
        if self.sign is not None:
            return _scale(self.how, self.number)
        flipped = self.way == LESS
        return _scale(
            self.how, self.number if self.unit == TIMES else 1 + (-1 if flipped else 1) * self.number / 100, flipped
        )

    def to(self, name: str) -> str:
        """In words, to the number of another knife."""
        if self.way == SAME:
            return f"{self.written} as that of {name}"
        return f"{self.written} {'that' if self.unit == TIMES else 'than that'} of {name}"


def composed(quantity, of="as it is", against="one ball", relation="at least 2 times"):
    """The fields of a Claim that a number of one knife stands in a relation to that of another; see `Claim.compose`."""
    if quantity not in QUANTITIES:
        raise ValueError(_unknown("quantity", quantity, QUANTITIES))
    words, unit = QUANTITIES[quantity]
    made = [_maker(each) for each in (of, against)]
    fixed = [each for each in (of, against) if isinstance(each, Knife)]
    two = len(fixed) == 2
    asked = read_relation(relation, unit)
    sign = asked.sign

    def cast(*knives):
        return [make(knives[i if two else 0]) for i, (make, _) in enumerate(made)]

    def number(one, other):
        one, other = one.felt(quantity), other.felt(quantity)
        return one / other if sign is None else sign * (one - other)

    names = [name for _, name in made]
    said = f"{'' if sign is None else 'less ' if sign > 0 else 'taken from '}that of {names[1]}"
    return {
        "id": f"own-{quantity}",
        "sentence": f"The {words} of {names[0]} is {asked.to(names[1])}.",
        "says": "a claim of your own",
        "number": Part(
            f"{words[0].upper()}{words[1:]} of {names[0]}, {'against ' if sign is None else ''}{said}",
            TIMES if sign is None else unit,
            number,
        ),
        "scale": asked.scale(),
        "cast": cast,
        "parts": tuple(
            Part(f"{words} of {name}", unit, lambda *cases, i=i: cases[i].felt(quantity))
            for i, name in enumerate(names)
        ),
        "why": "A claim composed from two knives: the numbers decide, nothing else.",
        "bench": "measure the same number on both knives, five times each.",
        "knives": tuple(fixed),
        "composed": True,
        "made_by": _code(quantity, of, against, relation),
        "second_ball": (
            any(each in ("second ball", "equal arms") for each in (of, against) if isinstance(each, str))
            and "as it is" not in (of, against)
        ),
    }


def _maker(given):
    """(function from a Knife to a Knife, words for what it makes)."""
    if isinstance(given, Knife):
        return (lambda knife: knife), str(given.title)
    if callable(given):
        return on_many(given), f"the knife after {getattr(given, '__name__', 'your change').replace('_', ' ').strip()}"
    if given not in MAKERS:
        raise ValueError(_unknown("knife", given, MAKERS))
    return MAKERS[given], (
        "the knife as it is"
        if given == "as it is"
        else f"the knife {given}"
        if given == "turned round"
        else f"the knife with {_a(given)}"
    )


def _a(words):
    return words if words in ("one ball", "equal arms") else f"a {words}"


def read_relation(given: str, unit: str) -> Relation:
    """The Relation that somebody wrote of numbers in this unit. Raises ValueError for what is none.

    >>> read_relation("at least 2 kgf more", "N").number
    19.6133
    """
    written = " ".join(str(given).split())
    if written in _BARE:
        return Relation(written, "", 0.0, "", written)
    match = _RELATION.fullmatch(written)
    how, number, own_unit, way = match.groups(default="") if match else ("", "", "", "")
    if (own_unit == "%" and way) or (own_unit == TIMES and not way):
        return Relation(written, how, float(number), own_unit, way)
    if way and own_unit not in _SHARES:
        try:
            return Relation(written, how, quantity(f"{number} {own_unit}", unit).value, unit, way)
        except UnitError as error:
            raise ValueError(f"relation {given!r}: {error}") from None
    raise ValueError(f"relation {given!r} cannot be read; write it like {', '.join(map(repr, RELATIONS))}")


def _scale(how, bound, flipped=False):
    """flipped: a larger number is less of what is claimed, as in "at least 10 % less"."""
    if how == "about":
        ends = sorted((bound * (1 - _ABOUT), bound * (1 + _ABOUT)))
        return Scale(tuple(ends), (FALSE, TRUE, FALSE))
    return Scale((bound,), (FALSE, TRUE) if (how == "at least") != flipped else (TRUE, FALSE))


def _code(quantity, of, against, relation):
    """The call that composes it again; "" where a knife comes from a function that has no word."""
    if any(callable(each) for each in (of, against)):
        return ""
    names = iter(("knife", "other"))
    one, other = (next(names) if isinstance(each, Knife) else f'"{each}"' for each in (of, against))
    return f'dl.Claim.compose("{quantity}", of={one}, against={other}, relation="{relation}")'


def _unknown(what, given, known):
    near = difflib.get_close_matches(str(given), known, 2, 0.4) or list(known)
    return f"{what} {given!r} is not known; take {' or '.join(near)}"
