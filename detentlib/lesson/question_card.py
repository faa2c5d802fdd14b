"""A question as a card: choices or a box for the answer, hints, and the working once something was answered.

All cards of a question are laid out from the same widgets, so what is answered on one stands on the others.
"""

from collections.abc import Callable, Mapping
from functools import cache, partial

import ipywidgets as widgets
from IPython.display import display
from ipywidgets import Layout

from ..draw.card import Card, button, menu, spoken, typed
from ..knife.given import given_switch
from ..knife.plain import in_html
from ..knife.units import alike
from .coach import Answer, Reply, answer_words, in_words, reply, understood, unit_words, working
from .questions.asking import LetterQuestion, Question
from .questions.table import question_of

_WIDTH = "760px"
_LINE = f"line-height:1.45;max-width:{_WIDTH};padding:2px 0"
_CHOICE = {"width": "auto", "max_width": "420px", "margin": "3px 2px"}
_CHOSEN, _OTHER = ("#1a4f8b", "#ffffff"), (None, None)  # colour of a button and of its words
_RIGHT, _WRONG, _KEPT = "check", "times", "circle"  # icons


def question(id: str, guess: bool = False) -> None:
    """Show a question as a card; KeyError naming near ones for an ID that there is not.

    guess=True, where it is asked before anything is shown: the card keeps the answer and judges nothing. The same
    question further down, without it, takes that answer over and opens the working by itself once one stands.

    >>> question("01-wedge", guess=True)
    You push a ball sideways with 12 N against a rim that touches it at 40°. ... *In N.*
    """
    display(QuestionCard(id, guess))


class SaidCard(Card):
    """A Card whose repr is Markdown, which stands beside the live widgets for a viewer without a kernel."""

    def _repr_mimebundle_(self, **kwargs):
        """The live widgets, and the words."""
        return {**super()._repr_mimebundle_(**kwargs), "text/markdown": repr(self)}


class QuestionCard(SaidCard):
    """One question of the workbook; `asking` is what all its cards share."""

    def __init__(self, id: str, guess: bool = False):
        """As `question`."""
        self.asking = _of_workbook(question_of(id).id)
        super().__init__(self.asking.rows(given_switch("guess", guess, "whether it is only a guess yet")))

    def __repr__(self):
        asked = self.asking.asked
        if not isinstance(asked, LetterQuestion):
            return in_words(asked)
        return "\n".join([f"{asked.asked}\n", *(f"- ({letter}) {words}" for letter, words in asked.choices.items())])


class Asking:
    """A question, what a reader answered, and the widgets for both. `judged`, `hinted` and `opened` are told what is
    done, for those who keep marks; each gives in words what went wrong with that, "" where nothing did.
    """

    def __init__(self, asked: Question | LetterQuestion, number: int | None = None, hints: int = 0, ahead: str = ""):
        """number: of the question, where there are several on one card. hints: how many were taken already.
        ahead: Markdown that stands in the place of the working until that is open.
        """
        self.asked, self._hints = asked, hints
        self.answer: Answer | None = None
        self._reply: Reply | None = None
        self._trouble = ""
        self._guessed = self._judges = self.open = False
        name = f"Answer {number}" if number else "Answer"
        choice = isinstance(asked, LetterQuestion)
        self.field = _Choices(asked, self._given) if choice else _NumberBox(asked, self._given, name)
        self.head = title(numbered(asked.asked, number))
        wide = {"width": "auto", "max_width": "560px"}
        self.because = typed("because", "Your reason", "your reason, in a few words", label_width="5.5em", **wide)
        self.because.observe(lambda change: self._tell(), "value")
        self.kept, self.line, self.hint_line = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self._ahead = (markdown(ahead),) if ahead else ()
        self.working = widgets.Output(outputs=self._ahead, layout=Layout(max_width=_WIDTH))
        self.hint_button = button("Hint", "The next hint", self._hint, width="10em")
        self.show_button = button("Show the working", "Opens once you have answered", self._show, width="11.5em")

    def rows(self, guess: bool = False) -> list[widgets.Widget]:
        """What a card of this question shows, from top to bottom."""
        self._guessed |= guess
        self._judges |= not guess
        reason = [self.because] if self._guessed or isinstance(self.asked, LetterQuestion) else []
        buttons = [self.hint_button] * bool(self.asked.hints)
        head = [self.head, self.field.row(guess), *reason]
        self._tell()
        if guess:
            return [*head, self.kept, *buttons, self.hint_line]
        return [*head, self.line, widgets.HBox([*buttons, self.show_button]), self.hint_line, self.working]

    def judged(self, right: bool) -> str:
        """An answer was given, right or not."""
        return ""

    def hinted(self, given: int) -> str:
        """So many hints were given by now."""
        return ""

    def opened(self) -> str:
        """The working was opened."""
        return ""

    def way(self) -> str:
        """The working, as Markdown."""
        return working(self.asked)

    def lay_open(self) -> None:
        """Show the working."""
        self.open, self._trouble = True, self.opened()
        self.working.outputs = (markdown(self.way()),)
        self.show_button.description = "Hide the working"

    def _given(self, answer: Answer | Reply) -> None:
        """Take an answer; a Reply where what was given is none."""
        if isinstance(answer, Reply):
            self.kept.value = self.line.value = spoken(answer.words, _LINE)
            return
        if answer != self.answer:
            self.answer, self._reply = answer, None
        self._tell()

    def _tell(self) -> None:
        """Say of the answer that stands that it is kept, and, where a card judges, what it comes to."""
        if self.answer is None:
            return
        because = self.because.value.strip()
        said = answer_words(self.asked, self.answer) + (f", because “{because}”" if because else "")
        self.kept.value = spoken(f"Kept: {said}. Go on: where this question comes again, its working opens.", _LINE)
        if not self._judges:
            return
        if self._reply is None:
            self._reply = reply(self.asked, self.answer)
            self._trouble = self.judged(self._reply.right)
            if self._guessed and not self.open:
                self.lay_open()
        if isinstance(self.asked, LetterQuestion):
            words = self._judged_choice(because)
        else:
            words = f"Your answer: {said}. " * bool(because) + self._reply.words
        words = f"{words} {self._trouble}".strip()
        # a verdict further down is not read out to one who has just made a guess above
        self.line.value = f'<div style="{_LINE}">{in_html(words)}</div>' if self._guessed else spoken(words, _LINE)

    def _judged_choice(self, because):
        """Mark the buttons, and say how the choice and the right one compare; an open working says why."""
        right = self.asked.judge()[0]
        given = self.answer.value
        known = {right: _RIGHT} if self.open or self._reply.right else {}
        self.field.mark({given: _WRONG} | known)
        said = f"You said ({given})" + (f", because “{because}”." if because else ".")
        if self.open:
            return f"{said} {'That is right.' if self._reply.right else f'Right is ({right}).'}"
        return f"{said} {self._reply.words}"

    def _hint(self) -> None:
        hints = self.asked.hints
        if self._hints < len(hints):
            self._hints += 1
            after = self.hinted(self._hints)
        else:
            after = "That was the last hint."
        given = [f"Hint {number} of {len(hints)}: {hint}" for number, hint in enumerate(hints[: self._hints], 1)]
        self.hint_line.value = spoken("\n".join([*given, after]).strip(), f"{_LINE};white-space:pre-line")

    def _show(self) -> None:
        if self.answer is None:
            self.line.value = spoken("Answer first: the working opens beside what you answered.", _LINE)
            return
        if self.open:
            self.open, self.working.outputs, self.show_button.description = False, self._ahead, "Show the working"
        else:
            self.lay_open()
        self._tell()


class _Choices:
    """The choices as buttons, the chosen one marked: where it is a guess as kept, else by what it came to."""

    def __init__(self, asked: LetterQuestion, answered: Callable[[Answer], None]):
        """answered: called with each Answer."""
        self._words, self._answered = asked.choices, answered
        self.guesses, self.buttons = (
            {
                letter: button(f"({letter}) {words}", words, partial(self._choose, letter), **_CHOICE)
                for letter, words in self._words.items()
            }
            for _ in range(2)
        )

    def row(self, guess: bool) -> widgets.Widget:
        """What stands on a card."""
        return widgets.VBox(list((self.guesses if guess else self.buttons).values()))

    def mark(self, icons: Mapping[str, str]) -> None:
        """Mark what was judged; icons: {letter: its icon}."""
        for letter, shown in self.buttons.items():
            shown.icon = icons.get(letter, "")

    def _choose(self, chosen):
        for letter, each in (*self.guesses.items(), *self.buttons.items()):
            each.style.button_color, each.style.text_color = _CHOSEN if letter == chosen else _OTHER
            each.tooltip = self._words[letter] + (", chosen" if letter == chosen else "")
        for letter, each in self.guesses.items():
            each.icon = _KEPT if letter == chosen else ""
        self._answered(Answer(chosen))


class _NumberBox:
    """A box for a number, the units that it may be in, and buttons to have it judged or kept; Enter does the same."""

    def __init__(self, asked: Question, answered: Callable[[Answer | Reply], None], name: str):
        """answered: called with each Answer, or the Reply on why there is none. name: of the box."""
        self._asked, self._answered = asked, answered
        self._taken, self._enter = "", False
        unit = unit_words(asked.unit) if asked.unit else "a plain number"
        self.box = typed(name, f"{name}, {unit}", unit, label_width="5.5em", width="19.4em")
        units = [(unit_words(each), each) for each in alike(asked.unit)]
        self.unit = menu("", units, f"{name}: unit", width="8.5em")
        self.check = button("Check", "Is it right?", self.take, width="7.7em")
        self.keep = button("Keep", "Keep this as your guess", self.take, width="7.7em")
        self.box.on_msg(self._heard)
        self.box.observe(self._left, "value")

    def row(self, guess: bool) -> widgets.Widget:
        """What stands on a card."""
        units = [self.unit] * bool(self._asked.unit)
        layout = Layout(width="100%", flex_flow="row wrap")
        return widgets.HBox([self.box, *units, self.keep if guess else self.check], layout=layout)

    def take(self) -> None:
        """Take what stands in the box for the answer."""
        self._taken = self.box.value
        self._answered(understood(self._asked, self.box.value, self.unit.value))

    def _heard(self, box, content, buffers):
        """Enter is heard before the box sends what was typed. Only what was left standing earlier is there already."""
        if content.get("event") == "submit":
            self._enter = True
            if self.box.value != self._taken:
                self.take()

    def _left(self, change):
        """What was typed is there: by Enter; or the box was left, perhaps for its unit, and nothing is taken yet."""
        if self._enter:
            self._enter = False
            self.take()


@cache
def _of_workbook(id: str) -> Asking:
    return Asking(question_of(id))


def numbered(words: str, number: int | None) -> str:
    """Words behind their number, where they have one."""
    return f"{number}. {words}" if number else words


def title(words: str, bold: bool = True) -> widgets.HTML:
    """A question, or a line about one, above what belongs to it."""
    return widgets.HTML(f'<div style="{"font-weight:bold;" * bold}{_LINE}">{in_html(words)}</div>')


def markdown(words: str) -> dict:
    """An output that shows Markdown with its formulas typeset."""
    data = {"text/plain": words, "text/markdown": words}
    return {"output_type": "display_data", "data": data, "metadata": {}}
