"""The practice bench: questions, boxes for the answers and buttons, for those who would rather not write a line."""

import ipywidgets as widgets
from ipywidgets import Layout

from ...draw.card import Card, spoken
from ...knife.plain import in_html
from ..coach import unit_words
from ..questions.asking import LetterQuestion, Question
from .exercise import practice
from .marks import Marks
from .topics import TOPICS

_TEXT = "line-height:1.4;max-width:760px;padding-top:4px"


class PracticeBench(Card):
    """Choose a topic and a seed, answer, check. What is checked is marked as by `practice`.

    `now` is the Practice on the bench.
    """

    def __init__(self, marks: Marks | None = None, topic: str = "job", seed: int = 1):
        """marks: from keep_marks; None keeps them in memory, for this bench alone."""
        self._marks = practice(topic, seed, marks).marks
        wide = Layout(width="260px")
        self.topic = widgets.Dropdown(options=list(TOPICS), value=topic, description="Topic", layout=wide)
        self.seed = widgets.BoundedIntText(
            value=seed, min=0, max=10**6, description="Seed", layout=Layout(width="190px")
        )
        self.questions, self.line = widgets.VBox(), widgets.HTML()
        self.told = widgets.Output(layout=Layout(max_width="760px", min_height="60px"))
        self.buttons = {
            "check": self._button("Check", self._checked),
            "hint": self._button("Hint", lambda: self.now.hinted(self._first_open(), "*Worked line* shows the way.")),
            "answer": self._button("Worked line", lambda: self.now.answered([self._first_open()])),
        }
        for choice in (self.topic, self.seed):
            choice.observe(lambda change: self._ask(), "value")
        self._ask()
        head, buttons = widgets.HBox([self.topic, self.seed]), widgets.HBox(list(self.buttons.values()))
        super().__init__([head, self.questions, buttons, self.line, self.told])

    def __repr__(self):
        return repr(self.now)

    def _repr_mimebundle_(self, **kwargs):
        """The live bench, and beside it the questions in words for a viewer without a kernel."""
        return {**super()._repr_mimebundle_(**kwargs), "text/markdown": repr(self)}

    def _button(self, label, words):
        """A button that shows what `words()` says."""
        button = widgets.Button(description=label, layout=Layout(width="160px"))
        button.on_click(lambda _: self._tell(words()))
        return button

    def _checked(self):
        return self.now.checked([box.value for box in self.boxes], "*Hint* helps.")

    def _ask(self):
        """Put the questions of topic and seed on the bench, with empty boxes."""
        self.now = practice(self.topic.value, self.seed.value, self._marks)
        self.boxes = [_box(asked, number) for number, asked in enumerate(self.now.parts, 1)]
        rows = [_html(f"To {self.now.topic.can}. Taught in notebook {self.now.topic.notebook}.")]
        for asked, box in zip(self.now.parts, self.boxes, strict=True):
            rows += [_html(asked.asked), box]
        self.questions.children = rows
        self.told.outputs = ()
        self._count()

    def _tell(self, words):
        """Show Markdown below the buttons."""
        shown = {"text/plain": words, "text/markdown": words}
        self.told.outputs = ({"output_type": "display_data", "data": shown, "metadata": {}},)
        self._count()

    def _first_open(self):
        """Number of the first question that is not right yet; the first where all are."""
        numbers = range(1, len(self.now.parts) + 1)
        unanswered = (part for part in numbers if not self._marks.of(self.now.topic.name, self.now.seed, part).right)
        return next(unanswered, 1)

    def _count(self):
        marks = self._marks.rows.values()
        right, first = sum(mark.right for mark in marks), sum(mark.first for mark in marks)
        self.line.value = spoken(f"Marked so far: {len(marks)} asked, {right} right, {first} at the first try.")


def practice_bench(marks: Marks | None = None, topic: str = "job", seed: int = 1) -> PracticeBench:
    """The practice bench in a notebook. marks: from `keep_marks`; topic and seed: what lies on it first."""
    return PracticeBench(marks, topic, seed)


def _box(asked: Question | LetterQuestion, number: int):
    """Where the answer to a question goes: choices to pick from, or a box that says the unit."""
    name, wide = f"Answer {number}", Layout(width="320px")
    if isinstance(asked, LetterQuestion):
        choices = ((f"({letter}) {words}", letter) for letter, words in asked.choices.items())
        return widgets.Dropdown(options=[("choose", ""), *choices], value="", description=name, layout=wide)
    unit = unit_words(asked.unit) if asked.unit else "a plain number"
    return widgets.Text(
        description=name, placeholder=unit, tooltip=f"{name}, {unit}", continuous_update=False, layout=wide
    )


def _html(words: str):
    return widgets.HTML(f'<div style="{_TEXT}">{in_html(words)}</div>')
