"""The coach beside the reader: predictions, checks, hints and worked answers for the questions of questions/table.py.

Nothing here raises for what a reader writes: a blank stays blank and says so, and a wrong answer that comes from a known
misconception is told which one.
"""

import math
import re
from typing import NamedTuple

import ipywidgets as widgets
from ipywidgets import Layout

from ..plain import in_html
from ..units import UnitError, both, convert, quantity
from .questions.asking import Choice
from .questions.table import question
from .working import say


class Prediction(NamedTuple):
    """What the reader expects, in words, and why."""

    guess: str
    because: str


class Verdict(NamedTuple):
    """What became of an answer: right or not, None where there was none to judge; and what to say."""

    right: bool | None
    said: str


_predictions = {}
_hints_given = {}


def predict(id, guess=None, because=""):
    """Keep what the reader expects, before anything is shown: a number in the question's unit, text with a unit, or a letter.

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
        return
    _keep(id, _in_words(asked, understood), because)
    say(f"{_kept(id)} Now look what it does.")


def ask(id):
    """The choices of a question as buttons, with a box for the reason; the choice is kept like a prediction."""
    return Ask(question(id))


def check(id, answer=None):
    """Say whether an answer is right: a number in the question's unit, text such as "2.7 lbf", or a letter.

    >>> check("01-wedge", 17.3)
    **Yes.** 17.32 N (3.89 lbf).
    >>> check("01-wedge", None)
    Blank so far. Write your answer after the = sign, and run the cell again.
    """
    asked = question(id)
    if _blank(answer):
        say("Blank so far. Write your answer after the = sign, and run the cell again.")
        return
    say(verdict(asked, answer, f'`hint("{asked.id}")` helps.').said)


def verdict(asked, answer, help_at=""):
    """The Verdict on an answer to a Question or Choice; help_at: the sentence that says where a hint is to be had."""
    if _blank(answer):
        return Verdict(None, "Blank so far.")
    understood, trouble = _understood(asked, answer)
    if trouble:
        return Verdict(None, trouble)
    if isinstance(asked, Choice):
        return Verdict(understood == asked.judge()[0], _judged(asked, understood))
    if asked.fits(understood, asked.answer):
        return Verdict(True, f"**Yes.** {both(asked.answer, asked.unit)}.")
    return Verdict(False, f"**Not yet:** {_what_went_wrong(asked, understood, answer) or f'{_too(asked, understood)} {help_at}'.strip()}")


def hint(id):
    """Give a hint; each further call gives the next one."""
    asked = question(id)
    given = _hints_given.get(id, 0)
    if given < len(asked.hints):
        _hints_given[id] = given + 1
        say(f"Hint: {asked.hints[given]}")
    else:
        say(f'That was the last hint. `answer("{id}")` shows the worked line.')


def answer(id):
    """Show the worked answer: formula, the same with the numbers in, result; beside what the reader expected."""
    asked = question(id)
    say(worked_answer(asked, [_kept(id)] if id in _predictions else []))


def worked_answer(asked, before=()):
    """The worked answer to a Question or Choice as Markdown; before: paragraphs on what the reader expected."""
    if isinstance(asked, Choice):
        right, said = asked.judge()
        return "\n\n".join([*before, f"({right}) {asked.choices[right]}. {said}", *_why_not(asked, right)])
    return "\n\n".join([asked.asked, *before, *(str(line) for line in asked.worked())])


class Ask(widgets.VBox):
    """Buttons for the choices of a question, a box for the reason, and a line that says what was kept."""

    def __init__(self, asked):
        """asked: a Choice; ValueError for a question whose answer is a number."""
        if not isinstance(asked, Choice):
            raise ValueError(f'{asked.id} is answered with a number: use predict("{asked.id}", ...)')
        self._asked, self._letter = asked, None
        self.buttons = {letter: self._button(letter, said) for letter, said in asked.choices.items()}
        self.because = widgets.Text(description="because", placeholder="your reason, in a few words", tooltip="Your reason", continuous_update=False)
        self.because.layout = Layout(width="100%", max_width="600px")
        self.because.style.description_width = "60px"
        self.because.observe(lambda change: self._remember(), "value")
        self.line = widgets.HTML()
        self._say("Nothing chosen yet.")
        text = widgets.HTML(f'<div style="font-weight:bold;line-height:1.4;max-width:700px">{in_html(asked.asked)}</div>')
        super().__init__([text, *self.buttons.values(), self.because, self.line])

    def __repr__(self):
        choices = "\n".join(f"- ({letter}) {said}" for letter, said in self._asked.choices.items())
        return f"{self._asked.asked}\n\n{choices}"

    def _repr_mimebundle_(self, **kwargs):
        """The live buttons, and beside them the question in words for a viewer without a kernel."""
        data = super()._repr_mimebundle_(**kwargs)
        return {**data, "text/plain": repr(self), "text/markdown": repr(self)}

    def _button(self, letter, said):
        button = widgets.Button(description=f"({letter}) {said}", tooltip=said, layout=Layout(width="420px", margin="3px 2px"))
        button.on_click(lambda _: self._choose(letter))
        return button

    def _choose(self, letter):
        self._letter = letter
        for each, button in self.buttons.items():
            button.icon = "check" if each == letter else ""
            button.button_style = "primary" if each == letter else ""
        self._remember()

    def _remember(self):
        if self._letter:
            _keep(self._asked.id, _in_words(self._asked, self._letter), self.because.value)
            self._say(f"{_kept(self._asked.id, quoted=str)} Read on.")

    def _say(self, text):
        self.line.value = f'<div role="status" aria-live="polite">{in_html(text)}</div>'


def _blank(given):
    return given is None or (isinstance(given, str) and not given.strip())


def _understood(asked, given):
    """(the letter or the number in the question's unit, what is the matter with it): one of the two is None."""
    if isinstance(asked, Choice):
        letter = asked.letter(given)
        return letter, None if letter else f"There is no choice {_plain(given)}. Write one of {', '.join(asked.choices)}, in quotation marks."
    try:
        return quantity(given, asked.unit).value, None
    except UnitError as error:
        return None, f"{_plain(error)} The answer is wanted in {unit_words(asked.unit)}."


def _keep(id, guess, because):
    _predictions[id] = Prediction(guess, str(because or "").strip())


def _plain(text):
    """Text of a reader inside Markdown: shown as written."""
    return re.sub(r"([\\`*_<>$|\[\]#])", r"\\\1", str(text))


def _kept(id, quoted=_plain):
    """The prediction in a sentence."""
    guess, because = _predictions[id]
    return f"Kept: you expect {quoted(guess)}{f', because “{quoted(because)}”' if because else ''}."


def _in_words(asked, understood):
    if isinstance(asked, Choice):
        return f"({understood}) {asked.choices[understood]}"
    return both(understood, asked.unit)


def _judged(asked, letter):
    right, said = asked.judge()
    if letter == right:
        return f"**Yes.** {said}"
    return f"**Not yet.** {asked.beliefs[letter]}"


def _why_not(asked, right):
    """The thoughts behind the wrong choices, each answered."""
    return [f"- *({letter})* {said}" for letter, said in asked.beliefs.items() if letter != right]


def _what_went_wrong(asked, number, given):
    """The misconception or slip that this number comes from; None where none is known."""
    for mistake in asked.mistakes:
        if asked.fits(number, mistake.value(**asked.values)):
            return mistake.said
    bare = not isinstance(given, str) or re.fullmatch(r"[-+\d.eE\s]+", given)
    return next((said for factor, said in _slips(asked.unit, bare) if asked.fits(number, asked.answer * factor)), None)


def _too(asked, number):
    return f"{both(number, asked.unit)} is too {'high' if number > asked.answer else 'low'}."


def _slips(unit, bare):
    """(factor, words) of the usual slips: another unit than asked, where none was written; twice; half; the sign."""
    other = {"mm": ("in", "thou"), "N": ("lbf", "kgf"), "N·mm": ("lbf·in", "N·m")}.get(unit, ())
    if bare:
        yield from (
            (convert(1.0, unit, name), f"that is right in {unit_words(name)}, but wanted in {unit}. Write the unit with it, in quotation marks.")
            for name in other
        )
        if unit == "deg":
            yield math.radians(1.0), "that is right in radians, but wanted in degrees. Your calculator is set to rad."
    yield 2.0, f"that is twice the answer.{' Did a diameter go in where a radius belongs?' if unit == 'mm' else ''}"
    yield 0.5, f"that is half the answer.{' Did a radius go in where a diameter belongs?' if unit == 'mm' else ''}"
    yield -1.0, "the size is right, the sign is not."


def unit_words(unit):
    """The name of a unit in a sentence."""
    return {"deg": "degrees", "in": "inches", "": "plain form"}.get(unit, unit)
