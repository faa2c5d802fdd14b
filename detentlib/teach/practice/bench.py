"""The practice bench: topic, seed, questions, boxes for the answers and buttons, for those who would rather not write a line."""

import ipywidgets as widgets
from ipywidgets import Layout

from ...plain import in_html
from ..card import Card
from ..coach import unit_words
from ..questions.asking import Choice
from .exercise import practice
from .topics import TOPICS

_WIDTH = "160px"


class PracticeBench(Card):
    """Choose a topic and a seed, answer, check. What is checked is marked as by `practice`; `now` is the Practice on the bench."""

    def __init__(self, marks=None, topic="job", seed=1):
        """marks: from keep_marks; None keeps them in memory, for this bench alone."""
        self._marks = practice(topic, seed, marks).marks
        self.topic = widgets.Dropdown(options=list(TOPICS), value=topic, description="Topic", layout=Layout(width="260px"))
        self.seed = widgets.BoundedIntText(value=seed, min=0, max=10**6, description="Seed", layout=Layout(width="190px"))
        self.questions = widgets.VBox()
        self.told = widgets.Output(layout=Layout(max_width="760px", min_height="60px"))
        self.line = widgets.HTML()
        check, hint, answer = (widgets.Button(description=said, layout=Layout(width=_WIDTH)) for said in ("Check", "Hint", "Worked line"))
        check.on_click(lambda _: self._tell(self.now.checked([box.value for box in self.boxes], "*Hint* helps.")))
        hint.on_click(lambda _: self._tell(self.now.hinted(self._first_open(), "*Worked line* shows the way.")))
        answer.on_click(lambda _: self._tell(self.now.answered([self._first_open()])))
        for each in (self.topic, self.seed):
            each.observe(lambda change: self._ask(), "value")
        self.buttons = {"check": check, "hint": hint, "answer": answer}
        self._ask()
        super().__init__([widgets.HBox([self.topic, self.seed]), self.questions, widgets.HBox([check, hint, answer]), self.line, self.told])

    def __repr__(self):
        return repr(self.now)

    def _repr_mimebundle_(self, **kwargs):
        """The live bench, and beside it the questions in words for a viewer without a kernel."""
        return {**super()._repr_mimebundle_(**kwargs), "text/markdown": repr(self)}

    def _ask(self):
        """Put the questions of topic and seed on the bench, with empty boxes."""
        self.now = practice(self.topic.value, self.seed.value, self._marks)
        self.boxes = [_box(asked, number) for number, asked in enumerate(self.now.parts, 1)]
        rows = [each for asked, box in zip(self.now.parts, self.boxes, strict=True) for each in (_text(asked), box)]
        self.questions.children = [_html(f"To {self.now.topic.can}. Taught in notebook {self.now.topic.notebook}."), *rows]
        self.told.outputs = ()
        self._count()

    def _tell(self, said):
        """Show Markdown below the buttons."""
        self.told.outputs = ({"output_type": "display_data", "data": {"text/plain": said, "text/markdown": said}, "metadata": {}},)
        self._count()

    def _first_open(self):
        """Number of the first question that is not right yet; the first where all are."""
        done = [self._marks.of(self.now.topic.name, self.now.seed, part).right for part in range(1, len(self.now.parts) + 1)]
        return done.index(False) + 1 if False in done else 1

    def _count(self):
        marks = self._marks.rows.values()
        right, first = sum(mark.right for mark in marks), sum(mark.first for mark in marks)
        self.line.value = f'<div role="status" aria-live="polite">Marked so far: {len(marks)} asked, {right} right, {first} at the first try.</div>'


def practice_bench(marks=None, topic="job", seed=1):
    """The practice bench in a notebook: a PracticeBench. marks: from `keep_marks`; topic and seed: what lies on it first."""
    return PracticeBench(marks, topic, seed)


def _box(asked, number):
    """Where the answer to a question goes: choices to pick from, or a box that says the unit."""
    name = f"Answer {number}"
    if isinstance(asked, Choice):
        options = [("choose", ""), *((f"({letter}) {said}", letter) for letter, said in asked.choices.items())]
        return widgets.Dropdown(options=options, value="", description=name, layout=Layout(width="320px"))
    unit = unit_words(asked.unit) if asked.unit else "a plain number"
    return widgets.Text(description=name, placeholder=unit, tooltip=f"{name}, {unit}", continuous_update=False, layout=Layout(width="320px"))


def _text(asked):
    return _html(asked.asked)


def _html(said):
    return widgets.HTML(f'<div style="line-height:1.4;max-width:760px;padding-top:4px">{in_html(said)}</div>')
