"""Paths such as "balls[0].recess.diameter": taking them apart; finding, replacing and swapping numbers in a tree of
frozen parts.
"""

import copy
import difflib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from .checks import KnifeError, Problem, short

if TYPE_CHECKING:
    from .parts import Knife

Tree = TypeVar("Tree")  # a part, or a knife

BALL, RECESS, BAR, BLADE, FRICTION = ("ball", "recess", "bar", "blade", "friction")
_LONGEST = 100  # characters of a path that are shown
BARS = ("bar", "second_bar")  # a Knife's names of its lock bars, in the order in which a ball counts them
# fields that are read in place of one of a part, see files/instead.py
RIM_GAP, PRESET = "recess.rim_gap", "bar.preset"
LOWER, FURTHER, SMALLER = "ball.lower_by", "ball.further_out", "recess.smaller_by"
# field: (the number that it stands for, its sign beside that of ball 1)
FROM_BALL_1 = {LOWER: ("protrusion", -1), FURTHER: ("track_radius", 1), SMALLER: ("diameter", -1)}
BOTH_WAYS = {RIM_GAP: "rest_offset", PRESET: "riding_force"} | {each: to for each, (to, _) in FROM_BALL_1.items()}
_OF_OTHERS = {"ball.protrusion": "lower_by", "ball.track_radius": "further_out", "recess.diameter": "smaller_by"}
BOTH_WAYS |= {"recess.rest_offset": "rim_gap", "bar.riding_force": "preset"} | _OF_OTHERS
_PATH = re.compile(
    r"(?:balls\[(?P<ball>[0-9]{1,3})\](?P<recess>\.recess)?|(?P<bar>bar|second_bar)|(?P<other>blade|friction))"
    r"(?:\.(?P<name>[^.]+))?"
)


class Place(NamedTuple):
    """A path taken apart: the kind of part (BALL, RECESS, BAR, BLADE or FRICTION), which of these, and the name of its
    field.

    index: which ball, or which bar, from 0; of blade and friction there is one. name: "" where the path is that of the
    part itself. field: the same for whichever part of its kind, "recess.diameter".
    """

    kind: str
    index: int
    name: str

    @property
    def field(self) -> str:
        """What INSTRUMENTS and other tables know it by."""
        return f"{self.kind}.{self.name}"

    @property
    def ball(self) -> int | None:
        """The ball that it belongs to, itself or by its recess, from 0; None where it belongs to none."""
        return self.index if self.kind in (BALL, RECESS) else None

    @property
    def owner(self) -> str:
        """The path of the part that has it."""
        if self.ball is not None:
            return f"balls[{self.index}]{'.recess' if self.kind == RECESS else ''}"
        return BARS[self.index] if self.kind == BAR else self.kind

    @property
    def steps(self) -> tuple:
        """Names and indexes on the way to it, from the knife."""
        way = (
            ("balls", self.index, *(("recess",) if self.kind == RECESS else ()))
            if self.ball is not None
            else (self.owner,)
        )
        return (*way, self.name) if self.name else way

    @property
    def tables(self) -> tuple:
        """Paths of the part that has it and of the part around that, if any."""
        return (self.owner, f"balls[{self.index}]") if self.kind == RECESS else (self.owner,)

    def beside(self, name: str) -> str:
        """The path of another field of the same part."""
        return f"{self.owner}.{name}"


@cache
def place_of(path: str) -> Place | None:
    """The Place of a path, whether or not a part has such a field; None for what is spelled otherwise.

    >>> place_of("balls[1].recess.diameter"), place_of("second_bar.rate").field, place_of("title")
    (Place(kind='recess', index=1, name='diameter'), 'bar.rate', None)
    """
    match = _PATH.fullmatch(path)
    if match is None:
        return None
    if match["ball"]:
        return Place(RECESS if match["recess"] else BALL, int(match["ball"]), match["name"] or "")
    kind, index = (BAR, BARS.index(match["bar"])) if match["bar"] else (match["other"], 0)
    return Place(kind, index, match["name"] or "")


def field_of(path: str) -> str:
    """The field of a path, such as "recess.diameter"; what is no path ("stop", a word for a move at the bench)
    stands for itself.
    """
    place = place_of(path)
    return place.field if place else path


def other_way(path: str) -> str | None:
    """The path of what a number read another way stands for, and the reverse; None for any other number.

    >>> other_way("balls[0].recess.rim_gap"), other_way("bar.riding_force"), other_way("bar.rate")
    ('balls[0].recess.rest_offset', 'bar.preset', None)
    """
    place = place_of(path)
    if place is None or place.field not in BOTH_WAYS:
        return None
    if place.index == 0 and (place.field in FROM_BALL_1 or place.field in _OF_OTHERS):
        return None
    return place.beside(BOTH_WAYS[place.field])


def no_such_field(path: str, known: Iterable[str]) -> Problem:
    """The Problem of a path that is not among the known ones, with those near it."""
    path = str(path)[:_LONGEST]
    near = difflib.get_close_matches(path, sorted(known), 2, 0.5)
    return Problem(path, "", "there is no such field", f"Did you mean {' or '.join(near)}?" if near else "", "")


def walk(part: object, owner: str = "") -> Iterator[str]:
    """Paths of every number below a part that has a value."""
    for each in fields(part):
        value, path = getattr(part, each.name), f"{owner}{each.name}"
        if is_dataclass(value):
            yield from walk(value, path + ".")
        elif each.name == "balls":
            for i, ball in enumerate(value):
                yield from walk(ball, f"balls[{i}].")
        elif "rule" in each.metadata and value is not None:
            yield path


def steps_of(knife: "Knife", path: str) -> tuple[str | int, ...]:
    """Names and indexes on the way to a path, checked against the knife (fields that are None count)."""
    if not isinstance(path, str):
        cure = 'Give a text such as "friction.rim".'
        raise KnifeError(Problem(short(path), "", "is no path of a number", "A number is known by its path.", cure))
    place = place_of(path)
    steps = place.steps if place else (path,)
    part, known = knife, place is None or bool(place.name)
    for step in steps if known else ():
        if isinstance(step, int):
            known = isinstance(part, tuple) and step < len(part)
            part = part[step] if known else None
        else:
            known = is_dataclass(part) and step in {each.name for each in fields(part)}
            part = getattr(part, step) if known else None
        if not known:
            break
    if not known or is_dataclass(part) or isinstance(part, (tuple, dict)):
        every = set(walk(knife)) | {f"{owner}.{each.name}" for owner, part in _owners(knife) for each in fields(part)}
        raise KnifeError(no_such_field(path, every))
    return steps


def _owners(knife):
    for i, ball in enumerate(knife.balls):
        yield f"balls[{i}]", ball
        yield f"balls[{i}].recess", ball.recess
    yield from (("bar", knife.bar), ("blade", knife.blade), ("friction", knife.friction))


def by_owner(values: Mapping[str, Any]) -> dict[Place | None, dict[str, Any]]:
    """Changes by the part that has the fields: {its Place without a name, None for the knife itself: {field:
    value}}; recesses before balls.
    """
    places = {path: place_of(path) for path in values}
    groups = {}
    for path, place in sorted(places.items(), key=lambda each: each[1] is None or each[1].kind != RECESS):
        groups.setdefault(place and place._replace(name=""), {})[place.name if place else path] = values[path]
    return groups


def rebuild(rebuilt: dict[str, Any], knife: "Knife", place: Place | None, changes: dict[str, Any]) -> None:
    """Put a new, checked part in `rebuilt` in place of the one at a place; None is the knife itself."""
    if place is None:
        rebuilt.update(changes)
        return
    if place.ball is None:
        rebuilt[place.owner] = _renew(getattr(knife, place.owner), changes)
        return
    ball = rebuilt["balls"][place.ball]
    if place.kind == RECESS:
        changes = {"recess": _renew(ball.recess, changes)}
    rebuilt["balls"][place.ball] = _renew(ball, changes)


def _renew(part, changes):
    if "material" in changes:
        # another material brings its own moduli, unless they are given with it
        changes = dict.fromkeys(("youngs_modulus", "shear_modulus", "yield_stress")) | changes
    return type(part)(**{each.name: changes.get(each.name, getattr(part, each.name)) for each in fields(part)})


def swap(part: Tree, changes: Mapping[tuple, Any]) -> Tree:
    """Unchecked copy with the values at the given step tuples put in."""
    if isinstance(part, tuple):
        return tuple(swap(each, {s[1:]: v for s, v in changes.items() if s[0] == i}) for i, each in enumerate(part))
    new = copy.copy(part)
    for name in {steps[0] for steps in changes}:
        below = {steps[1:]: value for steps, value in changes.items() if steps[0] == name}
        object.__setattr__(new, name, below[()] if () in below else swap(getattr(part, name), below))
    return new
