"""What a question is: words and numbers from a table, a computed answer, and the wrong answers that people come to.

Words stand in the .toml files of this folder, by the question's ID; each {name} in them is a number of the question.
"""

import math
import random
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from string import ascii_lowercase
from types import SimpleNamespace
from typing import NamedTuple, Self

from ...files.demo import NOTEBOOKS
from ...knife.checks import show
from ...measure.readings import Readings, read_readings
from ...say.working import Worked


@cache
def bench_readings(name: str) -> Readings:
    """Invented readings of the workbook by their file name, such as "lift-trace-c"."""
    return read_readings(NOTEBOOKS / "readings" / f"{name}.csv")


def nearest(value: float, **numbers: float) -> str:
    """The key of the option whose number is nearest.

    >>> nearest(1.07, a=2.0, b=1.0, c=0.5)
    'b'
    """
    return min(numbers, key=lambda key: abs(numbers[key] - value))


class Given(NamedTuple):
    """A number that the question states; `shown` where people call it something else, such as 1/16 in."""

    value: float
    unit: str
    shown: str = ""

    def __str__(self):
        """The number as the question says it."""
        return self.shown or show(self.value, self.unit)


class Numbers(SimpleNamespace):
    """The numbers of a question by name, for those who work out a wrong answer from them."""

    def __init__(self, way: Callable, values: dict):
        """way: from the numbers to the right answer, as worked lines."""
        super().__init__(**values)
        self._way, self._values = way, values

    def line(self, number: int, **other: float) -> float:
        """The result of one line of the right way, counted from 1, with other numbers where they are given."""
        return self._way(**self._values | other)[number - 1].value

    def again(self, **other: float) -> float:
        """Where the right way leads with other numbers."""
        return self._way(**self._values | other)[-1].value


class Way:
    """How a question is answered: from its numbers to worked lines, the last of which is the answer."""

    def __init__(self, solve: Callable, **wrong: Callable):
        """wrong: {name of a known mistake: what it makes of the Numbers}."""
        self.solve, self.wrong = solve, wrong


class Mistake(NamedTuple):
    """A wrong answer that people come to: the thought behind it in words, and what it makes of the Numbers."""

    words: str
    value: Callable


@dataclass(frozen=True, kw_only=True)
class _Asked:
    """text: with {name} for each number. numbers: {name: Given}. hints: the first gives least away."""

    id: str
    text: str
    numbers: dict
    hints: tuple

    @property
    def asked(self) -> str:
        """The question with its numbers in."""
        return self.text.format(**self.numbers)

    @property
    def values(self) -> dict:
        """The numbers alone."""
        return {name: given.value for name, given in self.numbers.items()}

    def fresh(self, **numbers: float | Given) -> Self:
        """The same question with other numbers, in the units of the table; ValueError unless all are given."""
        if numbers.keys() != self.numbers.keys():
            raise ValueError(f"{self.id} wants {', '.join(self.numbers)}, not {', '.join(numbers)}")
        fresh = {name: _given(numbers[name], given.unit) for name, given in self.numbers.items()}
        return replace(self, numbers=fresh)


@dataclass(frozen=True, kw_only=True)
class Question(_Asked):
    """A question whose answer is a number in `unit`; tolerance: share of it within which another one is right.

    step: what an instrument of the bench reads to; a number rounded to it is right as well.
    """

    unit: str
    solve: Callable
    mistakes: tuple = ()
    tolerance: float = 0.02
    step: float = 0.0

    def worked(self) -> list[Worked]:
        """The lines from the numbers to the answer."""
        return self.solve(**self.values)

    @property
    def answer(self) -> float:
        """The right number, in `unit`."""
        return self.worked()[-1].value

    def wrong(self, mistake: Mistake) -> float:
        """The number that a mistake leads to."""
        return mistake.value(Numbers(self.solve, self.values))

    def fits(self, number: float, wanted: float) -> bool:
        """True where the number is the wanted one within the tolerance, or rounded as it is read."""
        return math.isclose(number, wanted, rel_tol=self.tolerance, abs_tol=self.step / 2)


@dataclass(frozen=True, kw_only=True)
class LetterQuestion(_Asked):
    """A question with a few answers to choose from, which are what people really argue.

    options, thoughts: {key: words}, the thought behind an option with what is wrong with it. verdict: the sentence on
    the right one. judging(**values) -> (the right key, {name: number for the words}). in_order: the options stand as
    in the table, as the lines of a working do; others are shuffled, always alike for one ID. What a reader sees of an
    option is its letter, not its key.
    """

    options: dict
    thoughts: dict
    verdict: str
    judging: Callable
    in_order: bool = False

    @cached_property
    def _letters(self) -> dict:
        """{key: letter that the reader sees}."""
        keys = list(self.options)
        if not self.in_order:
            keys.sort(key=lambda key: random.Random(f"{self.id}: {key}").random())
        return dict(zip(keys, ascii_lowercase, strict=False))

    @property
    def choices(self) -> dict:
        """{letter: words}."""
        return {letter: self.options[key].format(**self.numbers) for key, letter in self._letters.items()}

    def judge(self) -> tuple[str, str]:
        """(the right letter, what the numbers say)."""
        key, found = self._judged
        return self._letters[key], self.verdict.format(**self.numbers | found)

    @property
    def beliefs(self) -> dict:
        """{letter: the thought behind a wrong choice, and what is wrong with it}."""
        right, found = self._judged
        words = self.numbers | found
        return {letter: self.thoughts[key].format(**words) for key, letter in self._letters.items() if key != right}

    @cached_property
    def _judged(self) -> tuple[str, dict]:
        """What judges it says, asked once: a verdict on a knife is the work of seconds."""
        return self.judging(**self.values)


def read_questions(module: str, answers: dict) -> dict:
    """{ID: question} of the words beside a module; answers: {ID: Way, or for options what judges them}."""
    table = tomllib.loads(Path(module).with_suffix(".toml").read_text(encoding="utf-8"))
    return {id: _asked(id, answers[id], **entry) for id, entry in table.items()}


def _asked(id: str, answer: Way | Callable, *, text, hints=None, numbers=None, units=None, wrong=None, **more):
    """units: {name: unit} of numbers that are drawn anew each time, in place of numbers."""
    given = {name: Given(*cells) for name, cells in (numbers or {}).items()}
    given |= {name: Given(math.nan, unit) for name, unit in (units or {}).items()}
    shared = {"id": id, "text": text, "hints": tuple((hints or {}).values()), "numbers": given}
    if "options" in more:
        return LetterQuestion(**shared, thoughts=wrong, judging=answer, **more)
    mistakes = tuple(Mistake(words, answer.wrong[name]) for name, words in (wrong or {}).items())
    return Question(**shared, solve=answer.solve, mistakes=mistakes, **more)


def _given(value, unit):
    return value if isinstance(value, Given) else Given(value, unit)
