"""What a question is: its words, its numbers, its hints, its computed answer, and the wrong answers that people come to.

A question is a template and a dict of numbers, so that the same question can be asked again with fresh ones.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple

from ...files import read_knife
from ...readings import read_readings

_NOTEBOOKS = Path(__file__).resolve().parents[3] / "notebooks"


@cache
def demo(name):
    """A knife of the workbook by its file name, such as "pellowfen-a"."""
    return read_knife(_NOTEBOOKS / "knives" / f"{name}.toml")


@cache
def bench_readings(name):
    """Invented readings of the workbook by their file name, such as "lift-trace-c"."""
    return read_readings(_NOTEBOOKS / "readings" / f"{name}.csv")


def nearest(value, letters):
    """The letter of a choice whose number is nearest."""
    return min(letters, key=lambda letter: abs(letters[letter] - value))


class Given(NamedTuple):
    """A number that the question states; `shown` where people call it something else, such as 1/16 in."""

    value: float
    unit: str
    shown: str = ""

    def __str__(self):
        """The number as the question says it."""
        return self.shown or f"{self.value:g}{'°' if self.unit == 'deg' else ' ' + self.unit if self.unit else ''}"


class Mistake(NamedTuple):
    """A wrong answer that people come to: what it is worth with these numbers, and the thought behind it."""

    value: Callable
    said: str


@dataclass(frozen=True)
class Question:
    """A question whose answer is a number.

    text: with {name} for each number. numbers: {name: Given}. unit: of the answer. solve(numbers as plain values) ->
    worked lines, the last of which ends in the answer. hints: the first gives least away. tolerance: share of the answer.
    """

    id: str
    text: str
    numbers: dict
    unit: str
    solve: Callable
    hints: tuple
    mistakes: tuple = ()
    tolerance: float = 0.02

    @property
    def asked(self):
        """The question with its numbers in."""
        return self.text.format(**{name: str(given) for name, given in self.numbers.items()})

    @property
    def values(self):
        """The numbers alone."""
        return {name: given.value for name, given in self.numbers.items()}

    def worked(self):
        """The lines from the numbers to the answer."""
        return self.solve(**self.values)

    @property
    def answer(self):
        """The right number, in `unit`."""
        return self.worked()[-1].value

    def fits(self, number, wanted):
        """True where the number is the wanted one within the tolerance."""
        return math.isclose(number, wanted, rel_tol=self.tolerance)


@dataclass(frozen=True)
class Choice:
    """A question with a few answers to choose from, which are what people really argue.

    choices: {letter: words}. judge() -> (the right letter, what the numbers say). beliefs: {letter: the thought behind
    a wrong choice, and what is wrong with it}.
    """

    id: str
    text: str
    choices: dict
    judge: Callable
    hints: tuple
    beliefs: dict

    @property
    def asked(self):
        """The question in words."""
        return self.text

    def letter(self, given):
        """The letter of a choice given as "b", "(b)" or its words; None where it is none of them."""
        said = str(given).strip().strip("()").casefold()
        words = {self.choices[letter].casefold(): letter for letter in self.choices}
        return said if said in self.choices else words.get(said)
