"""The coach beside the reader: what an answer comes to in words, and the working of a question.

Nothing here raises for what a reader writes: a blank stays blank and says so, and a wrong answer that comes from a
known misconception is told which one.
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

from ..knife.units import UnitError, both, convert, quantity
from .questions.asking import LetterQuestion, Question


class Answer(NamedTuple):
    """What a reader answered: a letter, or a number in the question's unit; bare: typed without a unit, none chosen."""

    value: str | float
    bare: bool = False


class Reply(NamedTuple):
    """What became of an answer: right or not, None where there was none to judge; and what to say."""

    right: bool | None
    words: str


def understood(asked: Question, typed: str, unit: str) -> Answer | Reply:
    """The Answer in what was typed, such as "12.04", "43,9" or "2.7 lbf", or the Reply on why there is none.

    unit: of a number that was typed without one.

    >>> from .questions.table import question_of
    >>> understood(question_of("01-wedge"), "14,3", "N"), understood(question_of("01-seat"), "8.7", "thou")
    (Answer(value=14.3, bare=True), Answer(value=0.22098, bare=False))
    >>> understood(question_of("01-wedge"), " ", "N")
    Reply(right=None, words='Nothing typed yet.')
    """
    if not typed.strip():
        return Reply(None, "Nothing typed yet.")
    try:
        typed, number = _read(typed, unit)
    except UnitError as error:
        return Reply(None, f"{error} The answer is wanted in {unit_words(asked.unit)}.")
    return Answer(convert(number, unit, asked.unit), unit == asked.unit and _bare(typed))


def _read(typed, unit):
    """(the text, its number in the unit); a decimal comma that can mean one number only is one."""
    try:
        return typed, quantity(typed, unit).value
    except UnitError as error:
        if len(error.readings) != 1:
            raise
        (reading,) = error.readings
        return reading, quantity(reading, unit).value


def reply(asked: Question | LetterQuestion, answer: Answer) -> Reply:
    """The Reply on an answer.

    >>> from .questions.table import question_of
    >>> reply(question_of("01-wedge"), Answer(14.3))
    Reply(right=True, words='Yes. 14.30 N (3.22 lbf).')
    """
    if isinstance(asked, LetterQuestion):
        right, words = asked.judge()
        if answer.value == right:
            return Reply(True, f"Yes. {words}")
        return Reply(False, f"Not yet. {asked.beliefs[answer.value]}")
    if asked.fits(answer.value, asked.answer):
        return Reply(True, f"Yes. {both(asked.answer, asked.unit)}.")
    side = "high" if answer.value > asked.answer else "low"
    too = f"{both(answer.value, asked.unit)} is too {side}."
    return Reply(False, f"Not yet: {_what_went_wrong(asked, answer) or too}")


def answer_words(asked: Question | LetterQuestion, answer: Answer) -> str:
    """An answer as it is said back."""
    choice = isinstance(asked, LetterQuestion)
    return f"({answer.value}) {asked.choices[answer.value]}" if choice else both(answer.value, asked.unit)


def working(asked: Question | LetterQuestion) -> str:
    """The working of a question as Markdown: the right choice, what the numbers say and what is wrong with the others;
    or line by line formula, the same with the numbers in, result.
    """
    if isinstance(asked, LetterQuestion):
        right, words = asked.judge()
        wrong = [f"- ({letter}) {thought}" for letter, thought in asked.beliefs.items()]
        return "\n".join([f"**({right}) {asked.choices[right]}.** {words}\n", *wrong])
    return "\n\n".join(str(line) for line in asked.worked())


def in_words(asked: Question | LetterQuestion, mark: str = "*") -> str:
    """A question with what is wanted, a unit or a choice, between marks of Markdown."""
    if isinstance(asked, LetterQuestion):
        choices = "; ".join(f"({letter}) {words}" for letter, words in asked.choices.items())
        return f"{asked.asked} {choices}. {mark}A letter.{mark}"
    return f"{asked.asked} {mark}{f'In {unit_words(asked.unit)}' if asked.unit else 'A plain number'}.{mark}"


def unit_words(unit: str) -> str:
    """The name of a unit in a sentence."""
    return {"deg": "degrees", "in": "inches", "": "plain form"}.get(unit, unit)


def _what_went_wrong(asked: Question, answer: Answer) -> str | None:
    """The misconception or slip that this number comes from; None where none is known."""
    known = ((asked.wrong(mistake), mistake.words) for mistake in asked.mistakes)
    slips = ((asked.answer * factor, words) for factor, words in _slips(asked.unit, answer.bare))
    return next((words for value, words in (*known, *slips) if asked.fits(answer.value, value)), None)


def _bare(typed: str) -> bool:
    try:
        return math.isfinite(float(typed))
    except ValueError:
        return False


def _slips(unit: str, bare: bool) -> Iterator[tuple[float, str]]:
    """(factor, words) of the usual slips: another unit than asked, where none was given; twice; half; the sign."""
    other = {"mm": ("in", "thou"), "N": ("lbf", "kgf"), "N·mm": ("lbf·in", "N·m")}.get(unit, ())
    for name in other if bare else ():
        right = f"that is right in {unit_words(name)}, but was taken in {unit}."
        yield convert(1.0, unit, name), f"{right} Choose the unit behind the number."
    if bare and unit == "deg":
        right = "that is right in radians, but was taken in degrees."
        yield math.radians(1.0), f"{right} Your calculator is set to rad."
    twice, half = "that is twice the answer.", "that is half the answer."
    if unit == "mm":
        twice += " Did a diameter go in where a radius belongs?"
        half += " Did a radius go in where a diameter belongs?"
    yield 2.0, twice
    yield 0.5, half
    yield -1.0, "the size is right, the sign is not."
