"""The practice bench: choose a topic, take new numbers, answer; marks are kept in a file if one is named."""

from itertools import count
from pathlib import Path

import ipywidgets as widgets
from ipywidgets import Layout

from ...draw.card import alert, button, menu, spoken, typed
from ..question_card import SaidCard
from .exercise import Practice, practice
from .marks import Marks, MarksError
from .topics import TOPICS, topic_named

_MOST = 10**6  # the largest seed that the box takes


class PracticeBench(SaidCard):
    """Choose a topic and a seed, and answer its questions. `now` is the Practice on the bench."""

    def __init__(self, marks: Marks | None = None, topic: str = "job", seed: int = 1):
        """marks: from `keep_marks`, by default in memory until a file is named; topic, seed: what comes first."""
        first = practice(topic_named(topic).name, seed, marks)
        self._marks = first.marks
        self.topic = menu("Topic", list(TOPICS), "Topic", first.topic.name, width="260px")
        seeds = Layout(width="190px")
        self.seed = widgets.BoundedIntText(value=seed, min=0, max=_MOST, description="Seed", layout=seeds)
        self.new = button("New numbers", "The next seed that you have not answered yet", self._next, width="130px")
        kept, tip = self._marks.path.name if self._marks.path else "", "Name of the file that keeps your marks"
        self.file = typed("Marks file", tip, "such as my-marks.csv", kept, width="260px")
        self.kept, self.questions, self.line = widgets.HTML(), widgets.VBox(), widgets.HTML()
        self.standing = widgets.HTML()
        for choice in (self.topic, self.seed):
            choice.observe(lambda change: self._ask(), "value")
        self.file.observe(lambda change: self._keep(), "value")
        self._ask()
        wraps = Layout(flex_flow="row wrap")
        asked = widgets.HBox([self.topic, self.seed, self.new], layout=wraps)
        can = widgets.Accordion([self.standing], titles=["What you can do now"], layout=Layout(max_width="1000px"))
        super().__init__([asked, self.questions, self.line, widgets.HBox([self.file, self.kept], layout=wraps), can])

    def __repr__(self):
        return repr(self.now)

    def _next(self):
        answered = {seed for topic, seed, _ in self._marks.rows if topic == self.topic.value}
        self.seed.value = min(next(seed for seed in count(self.seed.value + 1) if seed not in answered), _MOST)

    def _keep(self):
        name = self.file.value.strip()
        if not name:
            return
        try:
            self.kept.value = spoken(self._marks.keep_in(name if Path(name).suffix else f"{name}.csv"))
        except MarksError as error:
            self.kept.value = alert(f"Not kept there: {error}")
        self._count()

    def _ask(self):
        self.now = Practice(TOPICS[self.topic.value], self.seed.value, self._marks, changed=self._count)
        self.questions.children = [self.now]
        self._count()

    def _count(self):
        marks = self._marks.rows.values()
        right, first = sum(mark.right for mark in marks), sum(mark.first for mark in marks)
        self.line.value = spoken(f"Marked so far: {len(marks)} asked, {right} right, {first} at the first try.")
        self.standing.value = self._marks.summary()._repr_html_()


practice_bench = PracticeBench
