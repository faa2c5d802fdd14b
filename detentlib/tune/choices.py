"""What a maker may choose at each place of a knife: stock balls and drills, the stop pin, the bend and the relief of
the bar.

Metal that is gone cannot be put back: without new parts a recess and the seat of a ball only grow, a relief only gets
thinner, a ball is only pressed deeper.
"""

import difflib
import math
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from ..knife.checks import refuse, short, shortened
from ..knife.given import given_list, given_number, given_switch
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.units import both
from .moves import GIVE_SIZES, RATE_ALONE, THOU, as_drilled, pin_assumed, stop_radius, travel_by_pin
from .stock import BALLS, DRILLS, Size

# how far to look: common practice, low confidence
_REST_OFFSETS = (0.0, 0.15)  # mm, from where the stop pin is now
_PRESETS = tuple(round(0.1 * k, 1) for k in range(-3, 6))  # mm at ball 1
_RELIEF_STEP, _RELIEF_STEPS = 0.1, 3
_PRESS_STEPS = 4  # thou
_BALLS, _BALLS_NEW, _SMALLEST_HOLE = (1.0, 1.35), (0.6, 1.6), 0.4  # of the ball that is in
_SAME = 1e-6  # mm

Places = str | Iterable[str] | dict[str, Iterable] | None  # places, or {place: values}, see `choices`


class Spot(NamedTuple):
    """Where a knife may change: one of PLACES and, where each ball has one, which ball from 0."""

    place: str
    ball: int | None = None


class Choice(NamedTuple):
    """One choice at one Spot: words for people, what it sets (see `moves.as_made`), whether it can be undone."""

    spot: Spot
    words: str
    numbers: dict
    one_way: bool


class Choices(NamedTuple):
    """All choices at one Spot beside leaving it; barred: how many were left out, as metal cannot be put back."""

    spot: Spot
    words: str
    choices: tuple
    barred: int = 0


class _Place(NamedTuple):
    """One place of a knife: its words, the size there now, the usual ones to try, and what a Size sets and says.

    metal: side of `now` on which metal would have to be put back, +1 for larger sizes; 0 where it can be undone. said:
    words with {} for the name of a Size, or a function; sets: the path of the number, or a function to {path: number}.
    """

    words: str
    now: float
    metal: int
    usual: list
    said: str | Callable
    sets: str | Callable

    def choice(self, spot: Spot, size: Size) -> Choice:
        """The Choice of a Size."""
        numbers = self.sets(size) if callable(self.sets) else {self.sets: size.diameter}
        said = self.said(size) if callable(self.said) else self.said.format(size.name)
        return Choice(spot, said, numbers, self.metal != 0)


def _ball(knife, i, new_parts, balls):
    now, (low, high) = knife.balls[i].diameter, _BALLS_NEW if new_parts else _BALLS
    usual = [size for size in balls if low * now - _SAME <= size.diameter <= high * now]
    return _Place(f"ball {i + 1}", now, -1, usual, f"ball {i + 1} of {{}}", f"balls[{i}].diameter")


def _drill(knife, i, new_parts, holes):
    now = knife.balls[i].recess.diameter
    least = _SMALLEST_HOLE * knife.balls[i].diameter if new_parts else now
    usual = [size for size in holes if size.diameter >= least - _SAME]
    name = f"recess {i + 1}"
    return _Place(name, now, -1, usual, f"{name} by {{}}", lambda size: as_drilled(knife, i, size.diameter))


def _press(knife, i, new_parts, _):
    now = knife.balls[i].protrusion
    steps = (*range(-1, -_PRESS_STEPS - 1, -1), *range(1, _PRESS_STEPS * new_parts + 1))
    usual = [now + k * THOU for k in steps]
    said = f"ball {i + 1} standing out {{}}"
    return _Place(f"press depth {i + 1}", now, 1, usual, said, f"balls[{i}].protrusion")


def _rest_offset(knife, *_):
    now, (low, high) = knife.balls[0].recess.rest_offset, _REST_OFFSETS
    travel = travel_by_pin(knife)
    # pins are sold by the thou of diameter: so many of those as bring the ball on by about one
    step = max(round(1 / travel), 1) * THOU * travel
    steps = range(math.ceil((low - now) / step - _SAME), math.floor((high - now) / step + _SAME) + 1)

    def pin(size):
        return (size.diameter - now) / travel

    def said(size):
        thicker, old = pin(size), knife.blade.pin_diameter
        new = f"of {both(old + thicker, 'mm')}, " if old is not None else ""
        way = "thicker" if thicker > 0 else "thinner"
        at = pin_assumed(knife) or f" (stop radius {stop_radius(knife):g} mm)"
        return f"stop pin {new}{both(abs(thicker), 'mm')} {way} in diameter{at}, rest offset {size.name}"

    usual = [Size(both(now + k * step, "mm"), now + k * step) for k in steps]
    return _Place("stop pin", now, 0, usual, said, lambda size: {"pin": pin(size)})


def _preset(*_):
    def said(size):
        return f"bar bent {'in' if size.diameter > 0 else 'out'} by {both(abs(size.diameter), 'mm')}"

    return _Place("bend of the bar", 0.0, 0, _PRESETS, said, "bar.preset")


def _relief(knife, _, new_parts, __):
    now = knife.bar.relief_thickness
    tried = [now + k * _RELIEF_STEP for k in range(-_RELIEF_STEPS, _RELIEF_STEPS * new_parts + 1)]
    usual = [value for value in tried if 0.5 * now <= value <= knife.bar.thickness]
    return _Place("relief", now, 1, usual, "relief {} thick", "bar.relief_thickness")


PLACES = {
    "ball": _ball,
    "drill": _drill,
    "press": _press,
    "rest_offset": _rest_offset,
    "preset": _preset,
    "relief": _relief,
}
_EACH_BALL = ("ball", "drill", "press")


def default_places(knife: Knife) -> tuple[str, ...]:
    """Places that a search changes by default: with one ball all but the press, with more drill, pin and bend."""
    if len(knife.balls) > 1:
        return ("drill", "rest_offset", "preset")
    return ("ball", "drill", "rest_offset", "preset") + (("relief",) if knife.bar.drawn else ())


def choices(
    knife: Knife,
    change: Places = None,
    new_parts: bool = False,
    balls: Sequence[Size] = BALLS,
    holes: Sequence[Size] = DRILLS,
) -> list[Choices]:
    """Choices at every place that may change.

    change: names of PLACES, or {name: values} to try those values; "drill" stands for every recess, "drill 2" for that
    of ball 2, and so for ball and press. Values: diameters [mm] or stock Sizes for ball and drill, protrusions for
    press, rest offsets of ball 1 for rest_offset (the stop pin: all balls move), further bend for preset, thicknesses
    for relief (at the same bend). new_parts: a new blade, ball seat or bar is at hand, so that metal can be "put back".
    balls, holes: the stock. Raises KnifeError for a place that is not known or not there.
    """
    given_switch("new_parts", new_parts, "whether metal can be put back")
    for name, stock in (("balls", balls), ("holes", holes)):
        given_list(name, stock, Size, "are no list of Sizes", "It is what can be bought.")
    wanted = default_places(knife) if change is None else change
    named = isinstance(wanted, (str, list, tuple, set, dict)) and all(isinstance(each, str) for each in wanted)
    if not named or not wanted:
        cure = f'Take some of {", ".join(PLACES)}, such as ["drill", "preset"].'
        raise refuse("change", wanted, "names no place that may change", "", cure)
    values = wanted if isinstance(wanted, dict) else dict.fromkeys([wanted] if isinstance(wanted, str) else wanted)
    asked, problems = [], []
    for name, tried in values.items():
        spots, problem = _spots(knife, name)
        asked += [(spot, tried) for spot in spots]
        problems += [problem] if problem else []
    if problems:
        raise KnifeError(problems, knife.title)
    # a recess is not drilled wider than the ball that is to sit in it
    larger_balls = any(spot.place == "ball" for spot, _ in asked)
    widest = (_BALLS_NEW if new_parts else _BALLS)[1] if larger_balls else 1.0
    every = []
    for spot, tried in asked:
        i = spot.ball or 0
        most = widest * knife.balls[i].diameter
        stock = balls if spot.place == "ball" else [size for size in holes if size.diameter < most]
        every.append(_choices(spot, PLACES[spot.place](knife, i, new_parts, stock), tried, new_parts))
    return every


def _choices(spot, place, tried, new_parts):
    """The Choices at one place; tried: sizes, None for the usual ones."""
    sizes = [
        given if isinstance(given, Size) else Size(both(float(given), "mm"), float(given))
        for given in (place.usual if tried is None else _sizes(spot, tried))
    ]
    others = [size for size in sizes if abs(size.diameter - place.now) > _SAME]
    kept = [size for size in others if new_parts or (size.diameter - place.now) * place.metal <= 0]
    return Choices(spot, place.words, tuple(place.choice(spot, size) for size in kept), len(others) - len(kept))


def _sizes(spot, tried):
    if not isinstance(tried, Iterable) or isinstance(tried, str):
        raise refuse(f"change {spot.place}", tried, "is no list of sizes", "", "Give one such as (1.2, 1.3).")
    return [
        each if isinstance(each, Size) else given_number(f"change {spot.place}", each, "size to try", "mm", "any")
        for each in tried
    ]


def _spots(knife, name):
    """The Spots that a name stands for, as somebody wrote it, and what is wrong with it."""
    place, _, number = str(name).partition(" ")
    if place not in PLACES or (number and not (place in _EACH_BALL and number.isdecimal())):
        near = difflib.get_close_matches(shortened(str(name)), PLACES, 1, 0.4)
        every = f"Take some of {', '.join(PLACES)}; a ball's own as in 'drill 2'."
        cure = f"Did you mean {near[0]}?" if near else every
        return [], Problem("change", short(name), "is not a place that can be changed", "", cure)
    if number and not 1 <= int(number) <= len(knife.balls):
        many = f"the knife has {len(knife.balls)} ball{'s' * (len(knife.balls) > 1)}"
        return [], Problem("change", short(name), many, "", "Count the balls from 1.")
    if place == "relief" and not knife.bar.drawn:
        cure = f"{GIVE_SIZES}, or leave it out of the change."
        return [], Problem("change", short(name), "the drawn sizes of the bar are not known", RATE_ALONE, cure)
    if place not in _EACH_BALL:
        return [Spot(place)], None
    return [Spot(place, i) for i in ([int(number) - 1] if number else range(len(knife.balls)))], None
