"""The practice bench: choose a topic and a seed, answer; what is answered is marked."""

import ipywidgets as widgets
from ipywidgets import Layout

from ...draw.card import spoken
from ..question_card import SaidCard, title
from .exercise import Practice, practice
from .marks import Marks
from .topics import TOPICS


class PracticeBench(SaidCard):
    """Choose a topic and a seed, and answer its questions. `now` is the Practice on the bench."""

    def __init__(self, marks: Marks | None = None, topic: str = "job", seed: int = 1):
        """marks: from keep_marks; None keeps them in memory, for this bench alone."""
        first = practice(topic, seed, marks)
        self._marks = first.marks
        self.topic = widgets.Dropdown(
            options=list(TOPICS), value=first.topic.name, description="Topic", layout=Layout(width="260px")
        )
        self.seed = widgets.BoundedIntText(
            value=seed, min=0, max=10**6, description="Seed", layout=Layout(width="190px")
        )
        self.questions, self.line = widgets.VBox(), widgets.HTML()
        for choice in (self.topic, self.seed):
            choice.observe(lambda change: self._ask(), "value")
        self._ask()
        super().__init__([widgets.HBox([self.topic, self.seed]), self.questions, self.line])

    def __repr__(self):
        return repr(self.now)

    def _ask(self):
        """Put the questions of topic and seed on the bench, with empty boxes."""
        topic = TOPICS[self.topic.value]
        self.now = Practice(topic, self.seed.value, self._marks, changed=self._count)
        self.questions.children = [title(f"To {topic.can}. Taught in notebook {topic.notebook}.", bold=False), self.now]
        self._count()

    def _count(self):
        marks = self._marks.rows.values()
        right, first = sum(mark.right for mark in marks), sum(mark.first for mark in marks)
        self.line.value = spoken(f"Marked so far: {len(marks)} asked, {right} right, {first} at the first try.")


def practice_bench(marks: Marks | None = None, topic: str = "job", seed: int = 1) -> PracticeBench:
    """The practice bench in a notebook. marks: from `keep_marks`; topic and seed: what lies on it first."""
    return PracticeBench(marks, topic, seed)
