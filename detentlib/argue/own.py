"""A claim of your own: a number of the knife, two knives, and a relation between them."""

import difflib
import json
import re
from collections.abc import Callable
from typing import NamedTuple

from ..doubt.many import RESULTS
from ..knife.parts import Knife
from ..knife.units import UnitError, quantity
from ..tune.moves import with_one_ball, with_one_ball_of, with_preset, worn_by
from ..tune.pair import with_equal_arms, with_leaf_of_its_own, with_second_ball
from ..tune.stock import BALLS, near
from .cases import on_many
from .scale import FALSE, TELL, TIMES, TRUE, Part, Scale, force

_PULLS = ("break_force", "letback_force", "gauge_break_force", "gauge_letback_force", "break_torque")
_OTHERS = ("barrier", "break_out_deg", "draw_in_deg", "snap_ratio", "rest_load", "ride_load")
QUANTITIES = {name: RESULTS[name] for name in (*_PULLS, *_OTHERS)}
AS_IT_IS = "as it is"
_TWINNED = ("second ball", "equal arms")
BALL = "one ball of"
_SAME_BALL = 0.001  # mm


class Maker(NamedTuple):
    """What a word makes of a knife: make(knife), or make(knife, by) of one that takes a size [mm]; how it is said."""

    make: Callable
    said: str


MAKERS = {
    AS_IT_IS: Maker(lambda knife: knife, AS_IT_IS),
    "one ball": Maker(with_one_ball, "with one ball"),
    "second ball": Maker(lambda knife: with_second_ball(knife, 0.0), "with a second ball"),
    "second leaf": Maker(with_leaf_of_its_own, "with a second leaf"),
    "equal arms": Maker(lambda knife: with_equal_arms(with_second_ball(knife)), "with equal arms"),
    "turned round": Maker(lambda knife: knife.turned_round(), "turned round"),
}
BY_SIZE = {
    "one ball of": Maker(with_one_ball_of, "with one ball of {}"),
    "bent back by": Maker(lambda knife, by: with_preset(knife, -by), "with its bar bent back by {}"),
    "bent further by": Maker(with_preset, "with its bar bent further by {}"),
    "worn by": Maker(worn_by, "with its rims worn rounder by {}"),
}
RELATIONS = (
    "at least 2 times",
    "at most 0.5 times",
    "about 2 times",
    "within 10 %",
    "at least 10 % more",
    "at least 10 % less",
    "at least 2 N more",
    "more",
    "less",
    "the same",
)
BARE_FORMS = {"more than": "more", "less than": "less"}  # relations to choose from, as shown and as written
SIZED_FORMS = {
    "within … % of": "within {} %",
    "at least … times": "at least {} times",
    "at most … times": "at most {} times",
    "at least … % more than": "at least {} % more",
    "at least … % less than": "at least {} % less",
}  # the same with a number to put in
MORE, LESS, SAME, WITHIN = "more", "less", "the same", "within"
_SHARES = (TIMES, "%")


def _within(part):
    """True of a ratio that is off one by no more than so much."""
    return Scale((1 - part, 1 + part), (FALSE, TRUE, FALSE))


_BARE = {MORE: Scale((1 + TELL,), (FALSE, TRUE)), LESS: Scale((1 - TELL,), (TRUE, FALSE)), SAME: _within(TELL)}
_ABOUT = 0.1
_RELATION = re.compile(
    r"(?P<how>at least|at most|about|within)\s+(?P<number>\d+(?:\.\d+)?|\.\d+)\s*(?P<unit>\S+)"
    r"(?:\s+(?P<way>more|less))?"
)


class Relation(NamedTuple):
    """How two numbers are said to stand to each other, as somebody wrote it.

    how: "at least", "at most", "about" or "within", and "" for the bare words more, less and the same; then number is
    not used. unit: "times", "%" or that of the numbers. way: "more", "less", "the same", or "" with times and within.
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
        if self.how == WITHIN:
            return _within(self.number / 100)
        flipped = self.way == LESS
        times = self.number if self.unit == TIMES else 1 + (-1 if flipped else 1) * self.number / 100
        return _scale(self.how, times, flipped)

    def to(self, name: str) -> str:
        """In words, to the number of another knife."""
        if self.way == SAME:
            return f"{self.written} as that of {name}"
        if self.how == WITHIN:
            return f"{self.written} of that of {name}"
        return f"{self.written} {'that' if self.unit == TIMES else 'than that'} of {name}"


Asked = Knife | str | Callable | tuple[Knife, str]  # how one of the two knives of a claim may be named


class Side(NamedTuple):
    """One of the two knives of a claim: what is made of it, what it is called, the Knife where it is a fixed one, the
    word for it and how it stands in code: {} where a fixed Knife comes; "" for a function, which has no word.
    """

    make: Callable
    name: str
    knife: Knife | None
    word: str
    code: str


def composed(quantity: str, of: Asked, against: Asked, relation: str) -> dict[str, object]:
    """The fields of a Claim that a number of one knife stands in a relation to that of another; see `Claim.compose`."""
    if quantity not in QUANTITIES:
        raise ValueError(_unknown("quantity", quantity, QUANTITIES))
    words, unit = QUANTITIES[quantity]
    made = [_side(each) for each in (of, against)]
    fixed = [side.knife for side in made if side.knife is not None]
    two = len(fixed) == 2
    asked = read_relation(relation, unit)
    sign = asked.sign

    def cast(*knives):
        return [side.make(knives[i if two else 0]) for i, side in enumerate(made)]

    def on_two_leaves(*knives):
        return [with_leaf_of_its_own(knives[0]), made[1].make(knives[-1])]

    def number(one, other):
        one, other = one.felt(quantity), other.felt(quantity)
        return one / other if sign is None else sign * (one - other)

    names = [side.name for side in made]
    asked_of = [side.word for side in made]
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
        "parts": tuple(force(i, f"{words} of {name}", quantity) for i, name in enumerate(names)),
        "why": "A claim composed from two knives: the numbers decide, nothing else.",
        "bench": "measure the same number on both knives, five times each.",
        "knives": tuple(fixed),
        "composed": True,
        "names": tuple(names),
        "made_by": _code(quantity, *made, relation),
        "second_ball": any(word in _TWINNED for word in asked_of) and AS_IT_IS not in asked_of,
        "two_leaves": on_two_leaves if _is_of_two_against_one(asked_of, asked) else None,
    }


def _is_of_two_against_one(words, relation):
    """Whether a claim says that two balls on a bar make more than one, so that a second leaf may make it true."""
    return words[0] in (AS_IT_IS, *_TWINNED) and words[1] == "one ball" and (relation.how, relation.way) in _MORE


_MORE = (("", MORE), ("at least", MORE), ("at least", ""))


def _side(given):
    """The Side that somebody named: a Knife, a word, a function, or a Knife with a word."""
    given = (given, AS_IT_IS) if isinstance(given, Knife) else given
    knife, word = given if isinstance(given, tuple) else (None, given)
    if callable(word):
        name = getattr(word, "__name__", "your change").replace("_", " ").strip()
        return Side(on_many(word), f"the knife after {name}", None, "", "")
    maker = maker_of(word)
    title = "the knife" if knife is None else str(knife.title)
    name = title if knife is not None and word == AS_IT_IS else f"{title} {maker.said}"
    quoted = json.dumps(word, ensure_ascii=False)
    code = quoted if knife is None else "{}" if word == AS_IT_IS else f"({{}}, {quoted})"
    return Side(maker.make, name, knife, word, code)


def maker_of(word: str) -> Maker:
    """The Maker that a word stands for. Raises ValueError for what is no word, and for a size that cannot be.

    >>> maker_of("bent back by 0.3 mm").said
    'with its bar bent back by 0.3 mm'
    """
    by = next((name for name in BY_SIZE if str(word).startswith(f"{name} ")), None)
    if by is not None:
        return _by_size(by, str(word).removeprefix(by).strip())
    if word not in MAKERS:
        raise ValueError(_unknown("knife", word, [*MAKERS, *(f"{name} …" for name in BY_SIZE)]))
    return MAKERS[word]


def _by_size(name, text):
    make, said = BY_SIZE[name]
    try:
        size, doubt = quantity(text, "mm")
    except UnitError as error:
        raise ValueError(f"{name}: {error}") from None
    if size <= 0 or doubt is not None:
        example = "5/64 in" if name == BALL else "0.3 mm"
        raise ValueError(f"{name} {text}: one size above zero is wanted, without a ±, such as {example}.")
    told = _ball_sold(size) if name == BALL else f"{size:.4g} mm"
    return Maker(lambda knife: make(knife, size), said.format(told))


def _ball_sold(size):
    """Name of the ball of this diameter [mm] in the catalogue; ValueError naming its neighbours where there is none."""
    beside = [each for each in near(size, BALLS) if each is not None]
    found = next((each.name for each in beside if abs(each.diameter - size) < _SAME_BALL), None)
    if found is None:
        sold = " or ".join(each.name for each in beside)
        raise ValueError(f"{BALL} {size:.5g} mm: no ball of that size is sold. Take {sold}.")
    return found


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
    within = how == WITHIN and own_unit == "%" and not way and float(number) > 0
    if within or (match and how != WITHIN and own_unit == ("%" if way else TIMES)):
        return Relation(written, how, float(number), own_unit, way)
    if way and own_unit not in _SHARES and how != WITHIN:
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
    if not (of.code and against.code):
        return ""
    names = iter(("knife", "other"))
    one, other = (side.code if side.knife is None else side.code.format(next(names)) for side in (of, against))
    return f'dl.Claim.compose("{quantity}", of={one}, against={other}, relation="{relation}")'


def _unknown(what, given, known):
    near = difflib.get_close_matches(str(given), known, 2, 0.4) or list(known)
    return f"{what} {given!r} is not known; take {' or '.join(near)}"
