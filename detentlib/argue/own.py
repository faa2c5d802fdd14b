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
_ABOUT = 0.1
_RELATION = re.compile(r"(?P<how>at least|at most|about)\s+(?P<number>[\d.]+)\s*(?P<unit>\S+)(?:\s+(?P<way>more|less))?")


class _Relation(NamedTuple):
    """How two numbers are compared: as a ratio or, with a sign, as a difference; and when the claim is true."""

    sign: int | None
    scale: Scale


def composed(quantity, of="as it is", against="one ball", relation="at least 2 times"):
    """The fields of a Claim that a number of one knife stands in a relation to that of another; see `Claim.compose`."""
    if quantity not in QUANTITIES:
        raise ValueError(_unknown("quantity", quantity, QUANTITIES))
    words, unit = QUANTITIES[quantity]
    made = [_maker(each) for each in (of, against)]
    fixed = [each for each in (of, against) if isinstance(each, Knife)]
    two = len(fixed) == 2
    sign, scale = _relation(relation, unit)

    def cast(*knives):
        return [make(knives[i if two else 0]) for i, (make, _) in enumerate(made)]

    def number(one, other):
        one, other = one.felt(quantity), other.felt(quantity)
        return one / other if sign is None else sign * (one - other)

    names = [name for _, name in made]
    said = f"{'' if sign is None else 'less ' if sign > 0 else 'taken from '}that of {names[1]}"
    return {
        "id": f"own: {quantity}",
        "sentence": f"The {words} of {names[0]} is {_sentence(relation, names[1])}.",
        "says": "your own claim",
        "number": Part(f"{words[0].upper()}{words[1:]} of {names[0]}, {'against ' if sign is None else ''}{said}", TIMES if sign is None else unit, number),
        "scale": scale,
        "cast": cast,
        "parts": tuple(Part(f"{words} of {name}", unit, lambda *cases, i=i: cases[i].felt(quantity)) for i, name in enumerate(names)),
        "why": "A claim composed from two knives: the numbers decide, nothing else.",
        "bench": "measure the same number on both knives, five times each.",
        "knives": tuple(fixed),
        "made_by": _code(quantity, of, against, relation),
        "second_ball": any(each in ("second ball", "equal arms") for each in (of, against) if isinstance(each, str)) and "as it is" not in (of, against),
    }


def _maker(given):
    """(function from a Knife to a Knife, words for what it makes)."""
    if isinstance(given, Knife):
        return (lambda knife: knife), str(given.title)
    if callable(given):
        return on_many(given), f"the knife after {getattr(given, '__name__', 'your change').replace('_', ' ').strip()}"
    if given not in MAKERS:
        raise ValueError(_unknown("knife", given, MAKERS))
    return MAKERS[given], "the knife as it is" if given == "as it is" else f"the knife {given}" if given == "turned round" else f"the knife with {_a(given)}"


def _a(words):
    return words if words in ("one ball", "equal arms") else f"a {words}"


def _relation(relation, unit):
    said = " ".join(str(relation).split())
    plain = {
        "more": Scale((1 + TELL,), (FALSE, TRUE)),
        "less": Scale((1 - TELL,), (TRUE, FALSE)),
        "the same": Scale((1 - TELL, 1 + TELL), (FALSE, TRUE, FALSE)),
    }
    if said in plain:
        return _Relation(None, plain[said])
    match = _RELATION.fullmatch(said)
    if match and match["unit"] in ("times", "%") and (match["unit"] == "%") == bool(match["way"]):
        return _Relation(None, _scale(match["how"], _ratio(match), flipped=match["way"] == "less"))
    if match and match["way"] and match["unit"] not in ("times", "%"):
        try:
            least = quantity(f"{match['number']} {match['unit']}", unit).value
        except UnitError as error:
            raise ValueError(f"relation {relation!r}: {error}") from None
        return _Relation(1 if match["way"] == "more" else -1, _scale(match["how"], least))
    raise ValueError(f"relation {relation!r} cannot be read; write it like {', '.join(map(repr, RELATIONS))}")


def _ratio(match):
    number = float(match["number"])
    if match["unit"] == "times":
        return number
    return 1 + (-1 if match["way"] == "less" else 1) * number / 100


def _scale(how, bound, flipped=False):
    """flipped: a larger number is less of what is claimed, as in "at least 10 % less"."""
    if how == "about":
        ends = sorted((bound * (1 - _ABOUT), bound * (1 + _ABOUT)))
        return Scale(tuple(ends), (FALSE, TRUE, FALSE))
    return Scale((bound,), (FALSE, TRUE) if (how == "at least") != flipped else (TRUE, FALSE))


def _sentence(relation, name):
    if relation == "the same":
        return f"the same as that of {name}"
    return f"{relation} {'that of' if 'times' in relation else 'than that of'} {name}"


def _code(quantity, of, against, relation):
    """The call that composes it again; "" where a knife comes from a function that has no word."""
    if any(callable(each) for each in (of, against)):
        return ""
    names = iter(("knife", "other"))
    said = [next(names) if isinstance(each, Knife) else repr(each) for each in (of, against)]
    return f"dl.Claim.compose({quantity!r}, of={said[0]}, against={said[1]}, relation={relation!r})".replace("'", '"')


def _unknown(what, given, known):
    near = difflib.get_close_matches(str(given), known, 2, 0.4) or list(known)
    return f"{what} {given!r} is not known; take {' or '.join(near)}"
