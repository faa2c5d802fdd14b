"""What a maker may choose at each place of a knife: stock balls and drills, the stop pin, the bend and the relief of the bar.

Metal that is gone cannot be put back: without new parts a recess and the seat of a ball only grow, a relief only gets
thinner, a ball is only pressed deeper.
"""

import difflib
import re
from typing import NamedTuple

import numpy as np

from ..knife.parts import KnifeError, Problem
from ..knife.units import both, convert
from .moves import as_drilled, pin_assumed, travel_by_pin
from .stock import BALLS, DRILLS, Size

THOU = convert(1.0, "thou", "mm")
PLACES = ("ball", "drill", "press", "rest_offset", "preset", "relief")
_EACH_BALL = ("ball", "drill", "press")
# how far to look: common practice, low confidence
_REST_OFFSETS = (0.0, 0.15)  # mm, tried in steps of a thou from where the stop pin is now
_PRESETS = tuple(round(0.1 * k, 1) for k in range(-3, 6))  # mm at ball 1
_RELIEF_STEP, _RELIEF_STEPS = 0.1, 3
_PRESS_STEPS = 4  # thou
_BALLS, _BALLS_NEW, _SMALLEST_HOLE = (1.0, 1.35), (0.6, 1.6), 0.4  # of the ball that is in
_SAME = 1e-6  # mm

_WORDS = {"ball": "ball {}", "drill": "recess {}", "press": "press depth {}", "rest_offset": "stop pin", "preset": "bend of the bar", "relief": "relief"}


class Choice(NamedTuple):
    """One choice at one place: the place ("drill 2"), words for people, what it sets (see `moves.as_made`), whether it can be undone."""

    place: str
    words: str
    numbers: dict
    one_way: bool


class Choices(NamedTuple):
    """All choices at one place beside leaving it as it is; barred: how many were left out because metal cannot be put back."""

    place: str
    choices: tuple
    barred: int = 0

    @property
    def words(self):
        """The place in words."""
        name, _, number = self.place.partition(" ")
        return _WORDS[name].format(number)


def default_places(knife):
    """Places that a search changes where nothing else is said: with one ball all but the press, with more the recesses, stop pin and bend."""
    if len(knife.balls) > 1:
        return ("drill", "rest_offset", "preset")
    return ("ball", "drill", "rest_offset", "preset") + (("relief",) if knife.bar.drawn else ())


def choices(knife, change=None, new_parts=False, balls=BALLS, holes=DRILLS):
    """Choices at every place that may change: a list of Choices.

    change: names of PLACES, or {name: values} to try those values; "drill" stands for every recess, "drill 2" for that
    of ball 2, and so for ball and press. Values: diameters [mm] or stock Sizes for ball and drill, protrusions for
    press, rest offsets of ball 1 for rest_offset (the stop pin: all balls move), further bend for preset, thicknesses
    for relief (at the same bend). new_parts: a new blade, ball seat or bar is at hand, so that metal can be "put back".
    balls, holes: the stock. Raises KnifeError for a place that is not known or not there.
    """
    wanted = default_places(knife) if change is None else change
    values = wanted if isinstance(wanted, dict) else dict.fromkeys([wanted] if isinstance(wanted, str) else wanted)
    # a recess is not drilled wider than the ball that is to sit in it
    widest = 1.0 if "ball" not in " ".join(values) else (_BALLS_NEW if new_parts else _BALLS)[1]
    found, problems = [], []
    for name, tried in values.items():
        place, numbers, problem = _place(knife, name)
        if problem:
            problems.append(problem)
            continue
        for i in numbers:
            if place == "drill":
                stock = [size for size in holes if size.diameter < widest * knife.balls[i].diameter]
                found.append(_drill(knife, i, tried, new_parts, stock))
            else:
                found.append(_PLACE[place](knife, i, tried, new_parts, balls))
    if problems:
        raise KnifeError(problems, knife.title)
    return found


def _place(knife, name):
    """Place, the indexes of its balls ([0] where it has none), and what is wrong with the name."""
    match = re.fullmatch(r"(\w+?)(?: (\d))?", str(name))
    place, number = (match[1], match[2]) if match else (name, None)
    if place not in PLACES or (number and place not in _EACH_BALL):
        near = difflib.get_close_matches(str(name), PLACES, 1, 0.4)
        cure = f"Did you mean {near[0]}?" if near else f"Take some of {', '.join(PLACES)}; a ball's own as in 'drill 2'."
        return place, [], Problem("change", repr(name), "is not a place that can be changed", "", cure)
    if number and not 1 <= int(number) <= len(knife.balls):
        return place, [], Problem("change", repr(name), f"the knife has {len(knife.balls)} ball{'s' * (len(knife.balls) > 1)}", "", "Count the balls from 1.")
    if place == "relief" and not knife.bar.drawn:
        cure = "Give relief_thickness, relief_length, width, thickness and the material, or leave it out of the change."
        why = "Its rate alone does not say how thick the relief is."
        return place, [], Problem("change", repr(name), "the drawn sizes of the bar are not known", why, cure)
    if place in _EACH_BALL:
        return place, [int(number) - 1] if number else range(len(knife.balls)), None
    return place, [0], None


def _ball(knife, i, tried, new_parts, balls):
    now = knife.balls[i].diameter
    low, high = _BALLS_NEW if new_parts else _BALLS
    sizes = [size for size in balls if low * now - _SAME <= size.diameter <= high * now] if tried is None else map(_size, tried)
    return _stock(f"ball {i + 1}", lambda diameter: {f"balls[{i}].diameter": diameter}, now, sizes, new_parts, f"ball {i + 1} of {{}}")


def _drill(knife, i, tried, new_parts, holes):
    now = knife.balls[i].recess.diameter
    least = _SMALLEST_HOLE * knife.balls[i].diameter if new_parts else now
    sizes = [size for size in holes if size.diameter >= least - _SAME] if tried is None else map(_size, tried)
    return _stock(f"drill {i + 1}", lambda diameter: as_drilled(knife, i, diameter), now, sizes, new_parts, f"recess {i + 1} by {{}}")


def _stock(place, numbers, now, sizes, new_parts, words):
    found, barred = [], 0
    for size in sizes:
        if abs(size.diameter - now) <= _SAME:
            continue
        if size.diameter < now and not new_parts:
            barred += 1
            continue
        found.append(Choice(place, words.format(size.name), numbers(size.diameter), True))
    return Choices(place, tuple(found), barred)


def _press(knife, i, tried, new_parts, _):
    now = knife.balls[i].protrusion
    if tried is None:
        tried = [now - k * THOU for k in range(1, _PRESS_STEPS + 1)] + ([now + k * THOU for k in range(1, _PRESS_STEPS + 1)] if new_parts else [])
    place, path = f"press {i + 1}", f"balls[{i}].protrusion"
    allowed = [value for value in tried if abs(value - now) > _SAME and (new_parts or value < now)]
    found = tuple(Choice(place, f"ball {i + 1} standing out {both(value, 'mm')}", {path: value}, True) for value in allowed)
    return Choices(place, found, 0 if new_parts else sum(value > now + _SAME for value in tried))


def _rest_offset(knife, _, tried, __, ___):
    now = knife.balls[0].recess.rest_offset
    if tried is None:
        low, high = _REST_OFFSETS
        steps = range(int(np.ceil((low - now) / THOU - _SAME)), int(np.floor((high - now) / THOU + _SAME)) + 1)
        tried = [now + k * THOU for k in steps]
    found = []
    for value in tried:
        pin = (value - now) / travel_by_pin(knife)
        words = f"stop pin {both(abs(pin), 'mm')} {'thicker' if pin > 0 else 'thinner'}{pin_assumed(knife)}, rest offset {both(value, 'mm')}"
        if abs(value - now) > _SAME:
            found.append(Choice("rest_offset", words, {"pin": pin}, False))
    return Choices("rest_offset", tuple(found))


def _preset(knife, _, tried, __, ___):
    tried = _PRESETS if tried is None else tried
    return Choices(
        "preset",
        tuple(
            Choice("preset", f"bar bent {'in' if value > 0 else 'out'} by {both(abs(value), 'mm')}", {"bar.preset": value}, False)
            for value in tried
            if abs(value) > _SAME
        ),
    )


def _relief(knife, _, tried, new_parts, ___):
    now = knife.bar.relief_thickness
    if tried is None:
        steps = range(-_RELIEF_STEPS, _RELIEF_STEPS + 1 if new_parts else 0)
        tried = [now + k * _RELIEF_STEP for k in steps if 0.5 * now <= now + k * _RELIEF_STEP <= knife.bar.thickness]
    allowed = [value for value in tried if abs(value - now) > _SAME and (new_parts or value < now)]
    found = tuple(Choice("relief", f"relief {both(value, 'mm')} thick", {"bar.relief_thickness": value}, True) for value in allowed)
    return Choices("relief", found, 0 if new_parts else sum(value > now + _SAME for value in tried))


def _size(given):
    """A stock Size, also from a plain diameter [mm]."""
    return given if isinstance(given, Size) else Size(both(float(given), "mm"), float(given))


_PLACE = {"ball": _ball, "press": _press, "rest_offset": _rest_offset, "preset": _preset, "relief": _relief}
