"""The coach beside the reader: predictions, checks, hints and worked answers for the questions of questions/table.py.

Nothing here raises for what a reader writes: a blank stays blank and says so, and a wrong answer that comes from a
known misconception is told which one.
"""

import math
from collections.abc import Iterable, Iterator
from functools import partial
from typing import NamedTuple

import ipywidgets as widgets
from ipywidgets import Layout

from ..draw.card import button, spoken
from ..knife.plain import in_html, in_markdown
from ..knife.units import UnitError, both, convert, quantity
from ..say.working import say
from .questions.asking import LetterQuestion, Question
from .questions.table import question

_BLANK = "Write your answer after the = sign, and run the cell again."


class Reply(NamedTuple):
    """What became of an answer: right or not, None where there was none to judge; and what to say."""

    right: bool | None
    words: str


_predictions = {}  # {ID: (what the reader expects, in words; why)}
_hints_given = {}


def predict(id: str, guess: object = None, because: str = "") -> None:
    """Keep what the reader expects, before anything is shown: a number in the question's unit, text, or a letter.

    >>> predict("01-wedge", "10 N", because="push in, push out")
    Kept: you expect 10.00 N (2.25 lbf), because “push in, push out”. Now look what it does.
    >>> predict("01-wedge", None)
    No prediction yet. Write what you expect after the = sign, and run the cell again.
    """
    asked = question(id)
    if _blank(guess):
        _predictions.pop(id, None)
        say("No prediction yet. Write what you expect after the = sign, and run the cell again.")
        return
    understood, trouble = _understood(asked, guess)
    if trouble:
        say(trouble)
    else:
        _keep(asked, understood, because)
        say(f"{_kept(id)} Now look what it does.")


def ask(id: str) -> "Ask":
    """The choices of a question as buttons, with a box for the reason; the choice is kept like a prediction."""
    return Ask(question(id))


def check(id: str, answer: object = None) -> None:
    """Say whether an answer is right: a number in the question's unit, text such as "2.7 lbf", or a letter.

    >>> check("01-wedge", 17.3)
    **Yes.** 17.32 N (3.89 lbf).
    >>> check("01-wedge", None)
    Blank so far. Write your answer after the = sign, and run the cell again.
    """
    judged = reply(question(id), answer, f'`hint("{id}")` helps.')
    say(f"{judged.words} {_BLANK}" if _blank(answer) else judged.words)


def reply(asked: Question | LetterQuestion, answer: object, help_at: str = "") -> Reply:
    """The Reply on an answer; help_at: the sentence that says where a hint is to be had."""
    if _blank(answer):
        return Reply(None, "Blank so far.")
    understood, trouble = _understood(asked, answer)
    if trouble:
        return Reply(None, trouble)
    if isinstance(asked, LetterQuestion):
        right, words = asked.judge()
        if understood == right:
            return Reply(True, f"**Yes.** {words}")
        return Reply(False, f"**Not yet.** {asked.beliefs[understood]}")
    if asked.fits(understood, asked.answer):
        return Reply(True, f"**Yes.** {both(asked.answer, asked.unit)}.")
    side = "high" if understood > asked.answer else "low"
    too = f"{both(understood, asked.unit)} is too {side}. {help_at}".strip()
    return Reply(False, f"**Not yet:** {_what_went_wrong(asked, understood, answer) or too}")


def hint(id: str) -> None:
    """Give a hint; each further call gives the next one."""
    hints, given = question(id).hints, _hints_given.get(id, 0)
    if given < len(hints):
        _hints_given[id] = given + 1
        say(f"Hint: {hints[given]}")
    else:
        say(f'That was the last hint. `answer("{id}")` shows the worked line.')


def answer(id: str) -> None:
    """Show the worked answer: formula, the same with the numbers in, result; beside what the reader expected."""
    say(worked_answer(question(id), [_kept(id)] if id in _predictions else []))


def worked_answer(asked: Question | LetterQuestion, before: Iterable[str] = ()) -> str:
    """The worked answer to a question as Markdown; before: paragraphs on what the reader expected."""
    if isinstance(asked, LetterQuestion):
        right, words = asked.judge()
        wrong = [f"- *({letter})* {thought}" for letter, thought in asked.beliefs.items()]
        return "\n\n".join([*before, f"({right}) {asked.choices[right]}. {words}", *wrong])
    return "\n\n".join([asked.asked, *before, *(str(line) for line in asked.worked())])


class Ask(widgets.VBox):
    """Buttons for the choices of a question, a box for the reason, and a line that says what was kept."""

    def __init__(self, asked: LetterQuestion):
        """ValueError for a question whose answer is a number."""
        if not isinstance(asked, LetterQuestion):
            raise ValueError(f'{asked.id} is answered with a number: use predict("{asked.id}", ...)')
        self._asked, self._letter = asked, None
        self.buttons = {
            letter: button(f"({letter}) {words}", words, partial(self._choose, letter), width="420px", margin="3px 2px")
            for letter, words in asked.choices.items()
        }
        self.because = widgets.Text(
            description="because",
            placeholder="your reason, in a few words",
            tooltip="Your reason",
            continuous_update=False,
            layout=Layout(width="100%", max_width="600px"),
            style={"description_width": "60px"},
        )
        self.because.observe(lambda change: self._remember(), "value")
        self.line = widgets.HTML(spoken("Nothing chosen yet."))
        text = f'<div style="font-weight:bold;line-height:1.4;max-width:700px">{in_html(asked.asked)}</div>'
        super().__init__([widgets.HTML(text), *self.buttons.values(), self.because, self.line])

    def __repr__(self):
        choices = "\n".join(f"- ({letter}) {words}" for letter, words in self._asked.choices.items())
        return f"{self._asked.asked}\n\n{choices}"

    def _repr_mimebundle_(self, **kwargs):
        """The live buttons, and beside them the question in words for a viewer without a kernel."""
        return {**super()._repr_mimebundle_(**kwargs), "text/plain": repr(self), "text/markdown": repr(self)}

    def _choose(self, chosen):
        self._letter = chosen
        for letter, shown in self.buttons.items():
            shown.icon, shown.button_style = ("check", "primary") if letter == chosen else ("", "")
        self._remember()

    def _remember(self):
        if self._letter:
            _keep(self._asked, self._letter, self.because.value)
            self.line.value = spoken(f"{_kept(self._asked.id, quoted=str)} Read on.")


def _blank(given: object) -> bool:
    return given is None or (isinstance(given, str) and not given.strip())


def _understood(asked: Question | LetterQuestion, given: object) -> tuple[str | float | None, str | None]:
    """(the letter or the number in the question's unit, what is the matter with it): one of the two is None."""
    if isinstance(asked, LetterQuestion):
        letter, letters = asked.letter(given), ", ".join(asked.choices)
        return (
            letter,
            None if letter else f"There is no choice {in_markdown(given)}. Write one of {letters}, in quotation marks.",
        )
    try:
        return quantity(given, asked.unit).value, None
    except UnitError as error:
        return None, f"{in_markdown(error)} The answer is wanted in {unit_words(asked.unit)}."


def _keep(asked: Question | LetterQuestion, understood: str | float, because: object) -> None:
    choice = isinstance(asked, LetterQuestion)
    guess = f"({understood}) {asked.choices[understood]}" if choice else both(understood, asked.unit)
    _predictions[asked.id] = guess, str(because or "").strip()


def _kept(id: str, quoted=in_markdown) -> str:
    """The prediction in a sentence."""
    guess, because = _predictions[id]
    return f"Kept: you expect {quoted(guess)}{f', because “{quoted(because)}”' if because else ''}."


def _what_went_wrong(asked: Question, number: float, given: object) -> str | None:
    """The misconception or slip that this number comes from; None where none is known."""
    known = ((asked.wrong(mistake), mistake.words) for mistake in asked.mistakes)
    slips = ((asked.answer * factor, words) for factor, words in _slips(asked.unit, _bare(given)))
    return next((words for value, words in (*known, *slips) if asked.fits(number, value)), None)


def _bare(given: object) -> bool:
    """True for a number that was written without a unit."""
    try:
        return math.isfinite(float(given))
    except ValueError:
        return False


def _slips(unit: str, bare: bool) -> Iterator[tuple[float, str]]:
    """(factor, words) of the usual slips: another unit than asked, where none was written; twice; half; the sign."""
    other = {"mm": ("in", "thou"), "N": ("lbf", "kgf"), "N·mm": ("lbf·in", "N·m")}.get(unit, ())
    for name in other if bare else ():
        right = f"that is right in {unit_words(name)}, but wanted in {unit}."
        yield convert(1.0, unit, name), f"{right} Write the unit with it, in quotation marks."
    if bare and unit == "deg":
        right = "that is right in radians, but wanted in degrees."
        yield math.radians(1.0), f"{right} Your calculator is set to rad."
    twice, half = "that is twice the answer.", "that is half the answer."
    if unit == "mm":
        twice += " Did a diameter go in where a radius belongs?"
        half += " Did a radius go in where a diameter belongs?"
    yield 2.0, twice
    yield 0.5, half
    yield -1.0, "the size is right, the sign is not."


def unit_words(unit: str) -> str:
    """The name of a unit in a sentence."""
    return {"deg": "degrees", "in": "inches", "": "plain form"}.get(unit, unit)
