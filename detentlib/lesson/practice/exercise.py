"""Practice: the questions of the workbook again, with fresh numbers for each seed; checked, hinted, worked, marked."""

import operator
from collections.abc import Callable, Sequence

import ipywidgets as widgets

from ...knife.checks import short
from ...knife.given import given_kind
from ...say.headline import Headline
from ...say.working import Worked
from ..coach import in_words, unit_words
from ..question_card import Asking, SaidCard, markdown, numbered, title
from ..questions.asking import Question
from .marks import Mark, Marks, MarksError
from .more import PRACTISED
from .topics import TOPICS, Topic, drawn, topic_named


def practice(
    topic: str | None = None, seed: int = 1, marks: Marks | None = None, worked: int = 0
) -> "Practice | Headline":
    """The questions of a topic with the numbers of a seed, the same on every machine; without a topic, what there is.

    topic: its name, or how it begins. seed: any whole number. marks: from `keep_marks`, to keep what was answered.
    worked: so many lines of the way to each number stand there already, and the next one is asked, unmarked; where
    that is the whole way, nothing is. Raises ValueError for a topic that there is not, naming near ones, and where
    seed or worked is not a whole number.

    >>> practice("seat", seed=3)
    **Practice: seat, seed 3** (taught in 01_one_ball)
    <BLANKLINE>
    Sketch first: the ball's circle, the face of the tang across it, and the rim point; radius, rim gap, right angle.
    <BLANKLINE>
    1. A 2 mm ball, and a rim gap of 0.84 mm. At what contact angle does the rim touch? *In degrees.*
    2. The same 2 mm ball and rim gap of 0.84 mm. How far past the tang's face does the ball sit in the recess? *In mm.*
    """
    if topic is None:
        rows = ((known.name, known.can, known.notebook) for known in TOPICS.values())
        return Headline((("topic", "after it you can", "taught in"), *rows), ())
    cure = "Give what keep_marks gives."
    given_kind("marks", marks, Marks | None, "are no Marks", "They keep what was answered.", cure)
    known, seed, worked = topic_named(topic), whole(seed), whole(worked, "worked")
    if worked < 0:
        raise ValueError(f"worked={worked}: so many lines cannot stand there; write 0 for none, 4 for the first four")
    return Practice(known, seed, Marks() if marks is None else marks, worked)


class Practice(SaidCard):
    """A few questions on one topic as one card: `parts` are the questions, `asking` what a reader is asked."""

    def __init__(self, topic: Topic, seed: int, marks: Marks, worked: int = 0, changed: Callable = lambda: None):
        """Use `practice` to make one. changed: called when something was marked."""
        self.topic, self.seed, self.marks, self.changed = topic, seed, marks, changed
        self.parts = drawn(topic, seed)
        parts = [self._part(part, asked, worked) for part, asked in enumerate(self.parts, 1)]
        self.asking = [asking for asking, _, _ in parts if asking]
        self._said = [said for _, said, _ in parts]
        about = f"To {topic.can}. Taught in notebook {topic.notebook}. {topic.sketch_first}"
        super().__init__([title(about, bold=False), *(row for _, _, rows in parts for row in rows)])

    def __repr__(self):
        head = f"**Practice: {self.topic.name}, seed {self.seed}** (taught in {self.topic.notebook})"
        return f"{head}\n\n{self.topic.sketch_first}\n\n" + "\n".join(self._said)

    def note(self, part: int, mark: Mark) -> str:
        """Keep a mark; in words what went wrong with it, "" where nothing did."""
        try:
            self.marks.note(self.topic.name, self.seed, part, mark)
        except MarksError as error:
            return f"(This could not be marked in the file. {error})"
        finally:
            self.changed()
        return ""

    def mark(self, part: int) -> Mark:
        """The Mark of a question."""
        return self.marks.of(self.topic.name, self.seed, part)

    def _part(self, part, asked, worked):
        """(what is asked of one question, None for nothing; the same in words; its widgets)."""
        number = part if len(self.parts) > 1 else None
        question = numbered(asked.asked, number)
        if worked and isinstance(asked, Question):
            lines = asked.worked()
            shown = _by_line(lines[:worked])
            head = [title(question), widgets.Output(outputs=(markdown(shown),))]
            if worked >= len(lines):
                return None, f"{question}\n\n{shown}", head
            step = _Step(self._step(part, asked, worked + 1), lines, worked)
            return step, f"{question}\n\n{shown}\n\n{step.said()}", [*head, *step.rows()]
        asking = _Marked(self, part, number)
        return asking, numbered(in_words(asked), number), asking.rows()

    def _step(self, part, asked, step):
        """A line of the way as a question: the one that knows its mistakes, where there is one."""
        if part == 1 and str(step) in self.topic.steps:
            return PRACTISED[self.topic.steps[str(step)]].fresh(**asked.numbers)
        line = asked.worked()[step - 1]
        return Question(id=self.topic.name, text=line.said, numbers={}, hints=(), unit=line.unit, solve=lambda: [line])


class _Marked(Asking):
    """A question of a practice, whose answers, hints and working are marked until it was right."""

    def __init__(self, practice: Practice, part: int, number: int | None):
        self._practice, self._part = practice, part
        super().__init__(practice.parts[part - 1], number, hints=practice.mark(part).hints)

    def judged(self, right):
        return self._note(right=right, tries=self._practice.mark(self._part).tries + 1)

    def hinted(self, given):
        return self._note(hints=given)

    def opened(self):
        return self._note(shown=True)

    def _note(self, **what):
        mark = self._practice.mark(self._part)
        return "" if mark.right else self._practice.note(self._part, mark._replace(**what))


class _Step(Asking):
    """A step of a worked way that is left to the reader; once it is right, the rest of the way opens."""

    def __init__(self, asked: Question, lines: Sequence[Worked], worked: int):
        self._lines, self._worked = lines, worked
        super().__init__(asked, worked + 1, ahead=self._later())

    def said(self) -> str:
        """What is asked, and what comes after it, in words."""
        unit = f"in {unit_words(self.asked.unit)}" if self.asked.unit else "a plain number"
        return f"**{self._worked + 1}. {self.asked.asked}** Yours, {unit}.\n\n{self._later()}".strip()

    def judged(self, right):
        if right:
            self.lay_open()
        return ""

    def way(self):
        return _by_line(self._lines[self._worked :], self._worked + 1)

    def _later(self):
        later = enumerate(self._lines[self._worked + 1 :], self._worked + 2)
        return "\n\n".join(f"{number}. {line.said}" for number, line in later)


def _by_line(lines: Sequence[Worked], first: int = 1) -> str:
    return "\n\n".join(f"{number}. {line}" for number, line in enumerate(lines, first))


def whole(given: object, what: str = "seed") -> int:
    """A number as a whole one; ValueError for anything else, naming what it is."""
    try:
        if isinstance(given, bool):
            raise TypeError
        return operator.index(given)
    except TypeError:
        raise ValueError(f"{what} {short(given)} is not a whole number; write one such as 7") from None
