"""Fresh numbers for practice: drawn from a seed, the same on every machine, and rounded to what an instrument reads."""

import random
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from typing import NamedTuple

from ...mechanics.formulas import formulas
from ...units import convert
from ...workshop.stock import BALLS
from ..questions.asking import Given, Question
from ..questions.table import question

# shares of the ball's radius that give the usual contact angles, 35° to 57°
_GAP = (0.58, 0.84)
_USUAL_BALLS = ("3/64 in", "1.5 mm", "1/16 in", "5/64 in", "2.0 mm")


class Topic(NamedTuple):
    """What can be practised: its name, what a reader can do after it, the notebook that teaches it, and how to ask.

    ask(draw) -> Questions and Choices with fresh numbers, or None where these numbers will not do and others are to be drawn.
    slips: (number of a worked step, Mistake that people make in just that step), for a way with a gap.
    """

    name: str
    can: str
    notebook: str
    ask: Callable
    slips: tuple = ()


class Draw:
    """Numbers from a topic, a seed and a try; only `random()` is used, which gives the same numbers in every Python.

    >>> Draw("seat", 1).number(0.4, 0.6, 0.05) in (0.4, 0.45, 0.5, 0.55, 0.6)
    True
    """

    def __init__(self, topic, seed, attempt=0):
        """The same topic, seed and attempt give the same numbers."""
        self._random = random.Random(f"{topic}, {seed}, {attempt}")

    def number(self, low, high, step):
        """One of low, low + step, ... up to high."""
        steps = round((high - low) / step)
        return round(low + step * int(self._random.random() * (steps + 1)), 6)

    def pick(self, things):
        """One of a row of things."""
        return things[int(self._random.random() * len(things))]

    def ball(self):
        """A ball that people use, as a Given."""
        size = self.pick([each for each in BALLS if each.name in _USUAL_BALLS])
        shown = f"{size.name} ({size.diameter:.5g} mm)" if size.name.endswith("in") else ""
        return Given(size.diameter, "mm", shown)

    def gap(self, ball):
        """A rim gap [mm] for a ball, with a usual contact angle."""
        low, high = (round(share * ball.value / 2, 2) for share in _GAP)
        return self.number(low, high, 0.005)

    def deeper(self, low=1.0, high=3.0):
        """A press-depth difference between so many thou, in half thou, as a Given."""
        thou = self.number(low, high, 0.5)
        mm = convert(thou, "thou", "mm")
        return Given(mm, "mm", f"{thou:g} thou ({mm:g} mm)")


def fresh(id, **values):
    """The question of the table with other numbers; a value is a number in the table's unit, or a Given.

    >>> fresh("01-wedge", push=8.0, angle=35.0).asked[:75]
    'You push a ball sideways with 8 N against a rim that touches it at 35°. Wit'
    """
    asked = question(id)
    if values.keys() != asked.numbers.keys():
        raise ValueError(f"{id} wants {', '.join(asked.numbers)}, not {', '.join(values)}")
    return replace(asked, numbers={name: _given(values[name], given.unit) for name, given in asked.numbers.items()})


def _given(value, unit):
    return value if isinstance(value, Given) else Given(value, unit)


def seat(ball, gap):
    """How a ball (Given) sits with a rim gap [mm]: sink, phi and slope (L1)."""
    return formulas["L1"](rim_gap=gap, ball_radius=ball.value / 2)


def drawn(topic, seed):
    """The Questions and Choices of a topic for a seed: the first draw that will do, with wrong answers that can be told apart."""
    attempt = 0
    while True:
        parts = topic.ask(Draw(topic.name, seed, attempt))
        if parts and all(told_apart(asked) for asked in parts):
            return tuple(parts)
        attempt += 1


def told_apart(asked):
    """True where no known wrong answer is the right one, and no two of them, with different words, are one number."""
    if not isinstance(asked, Question):
        return True
    wrong = [(mistake.value(**asked.values), mistake.said) for mistake in asked.mistakes]
    if any(asked.fits(value, asked.answer) for value, _ in wrong):
        return False
    return not any(asked.fits(one, two) for (one, first), (two, second) in combinations(wrong, 2) if first != second)
