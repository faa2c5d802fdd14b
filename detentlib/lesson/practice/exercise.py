"""Practice: the questions of the workbook again, with fresh numbers for each seed; checked, hinted, worked, marked."""

import operator
from collections.abc import Iterable

from ...say.working import Headline, Worked, say
from ..coach import reply, unit_words, worked_answer
from ..questions.asking import LetterQuestion, Question
from .marks import Mark, Marks, MarksError
from .more import PRACTISED
from .topics import TOPICS, Topic, drawn, topic_named


def practice(topic: str | None = None, seed: int = 1, marks: Marks | None = None) -> "Practice | Headline":
    """The questions of a topic with the numbers of a seed, the same on every machine; without a topic, what there is.

    topic: its name, or how it begins. seed: any whole number. marks: from `keep_marks`, to keep what was answered.
    Raises ValueError for a topic that there is not, naming near ones, and for a seed that is not a whole number.

    >>> practice("seat", seed=3)
    **Practice: seat, seed 3** (taught in 01_one_ball)
    <BLANKLINE>
    1. A 2 mm ball, and a rim gap of 0.84 mm. At what contact angle does the rim touch? *In degrees.*
    2. The same 2 mm ball and rim gap of 0.84 mm. How deep does the ball sit below the face of the tang? *In mm.*
    """
    if topic is None:
        rows = ((known.name, known.can, known.notebook) for known in TOPICS.values())
        return Headline((("topic", "after it you can", "taught in"), *rows), ())
    return Practice(topic_named(topic), whole(seed), Marks() if marks is None else marks)


class Practice:
    """A few questions on one topic: `check(answers...)`, `hint(part)`, `answer(part)`.

    `blank(step)` and `fill(step, answer)` are for a worked way with a gap.
    """

    def __init__(self, topic: Topic, seed: int, marks: Marks):
        """Use `practice` to make one."""
        self.topic, self.seed, self.marks = topic, seed, marks
        self.parts = drawn(topic, seed)
        self._hints_given = {}

    def __repr__(self):
        asked = (f"{self._number(i)}{in_words(part)}" for i, part in enumerate(self.parts, 1))
        head = f"**Practice: {self.topic.name}, seed {self.seed}** (taught in {self.topic.notebook})"
        return f"{head}\n\n" + "\n".join(asked)

    def _repr_markdown_(self):
        return repr(self)

    def check(self, *answers: object) -> None:
        """Say what is right: one answer for each question, in their order; None leaves one blank."""
        say(self.checked(answers))

    def hint(self, part: int = 1) -> None:
        """Give a hint on one question; each further call gives the next one."""
        say(self.hinted(part))

    def answer(self, *parts: int) -> None:
        """Show the worked answer to every question, or to those numbered."""
        say(self.answered(parts or range(1, len(self.parts) + 1)))

    def checked(self, answers: Iterable, help_at: str = "`.hint({part})` helps.") -> str:
        """What `check` says, as Markdown; help_at: the sentence on where a hint is to be had."""
        spare = len(self.parts) - len(answers)
        if spare < 0:
            return (
                f"You gave {len(answers)} answers, and there {self._are()}. "
                "Give one for each, in their order; None for one that is still blank."
            )
        numbered = enumerate([*answers, *[None] * spare], 1)
        return "\n\n".join(f"{self._number(part)}{self._judged(part, answer, help_at)}" for part, answer in numbered)

    def hinted(self, part: int, help_at: str = "`.answer({part})` shows the worked line.") -> str:
        """What `hint` says, as Markdown; help_at: the sentence for when there are no more."""
        if not self._there(part):
            return self._not_there(part)
        mark, hints = self._mark(part), self.parts[part - 1].hints
        given = max(mark.hints, self._hints_given.get(part, 0))
        if given >= len(hints):
            return f"That was the last hint. {help_at.format(part=part)}"
        self._hints_given[part] = given + 1
        return f"Hint: {hints[given]}{'' if mark.right else self._note(part, mark._replace(hints=given + 1))}"

    def answered(self, parts: Iterable[int]) -> str:
        """What `answer` says, as Markdown."""
        missing = next((part for part in parts if not self._there(part)), None)
        if missing is not None:
            return self._not_there(missing)
        paragraphs = []
        for part in parts:
            mark = self._mark(part)
            trouble = "" if mark.right else self._note(part, mark._replace(shown=True))
            paragraphs.append(f"{self._number(part)}{worked_answer(self.parts[part - 1])}{trouble}")
        return "\n\n".join(paragraphs)

    def blank(self, step: int, part: int = 1) -> None:
        """Show the worked way as far as a step, which is left blank, and say what comes after it."""
        lines = self._lines(step, part)
        if lines:
            wanted = lines[step - 1]
            unit = f"in {unit_words(wanted.unit)}" if wanted.unit else "a plain number"
            shown = [f"{i}. {line}" for i, line in enumerate(lines[: step - 1], 1)]
            later = [f"{i}. {line.said}" for i, line in enumerate(lines[step:], step + 1)]
            say("\n\n".join([self.parts[part - 1].asked, *shown, f"**{step}. {wanted.said}** Yours, {unit}.", *later]))

    def fill(self, step: int, answer: object = None, part: int = 1) -> None:
        """Check the step that was left blank; where it is right, show the way to the end. Steps are not marked."""
        lines = self._lines(step, part)
        if lines:
            judged = reply(self._step(step, part, lines), answer, "Look at the lines above it once more.")
            rest = [f"{i}. {line}" for i, line in enumerate(lines[step - 1 :], step)] if judged.right else []
            say("\n\n".join([judged.words, *rest]))

    def _step(self, step: int, part: int, lines: list[Worked]) -> Question:
        """A worked step as a question: the one that knows its mistakes, where there is one."""
        if part == 1 and step in self.topic.steps:
            return PRACTISED[self.topic.steps[step]].fresh(**self.parts[0].numbers)
        line = lines[step - 1]
        return Question(id=self.topic.name, text=line.said, numbers={}, hints=(), unit=line.unit, solve=lambda: [line])

    def _judged(self, part: int, answer: object, help_at: str) -> str:
        """What to say on one answer; it is marked, unless it was blank, could not be read, or was right before."""
        judged, mark = reply(self.parts[part - 1], answer, help_at.format(part=part)), self._mark(part)
        if judged.right is None or mark.right:
            return judged.words
        return judged.words + self._note(part, mark._replace(right=judged.right, tries=mark.tries + 1))

    def _mark(self, part: int) -> Mark:
        return self.marks.of(self.topic.name, self.seed, part)

    def _note(self, part: int, mark: Mark) -> str:
        """Keep a mark; in words what went wrong with it, "" where nothing did."""
        try:
            self.marks.note(self.topic.name, self.seed, part, mark)
        except MarksError as error:
            return f" (This could not be marked in the file. {error})"
        return ""

    def _lines(self, step: int, part: int) -> list[Worked] | None:
        """The worked lines of a question, where there is such a step; None, and it says why, where there is not."""
        if not self._there(part):
            return say(self._not_there(part))
        asked = self.parts[part - 1]
        lines = [] if isinstance(asked, LetterQuestion) else asked.worked()
        if step in range(1, len(lines) + 1):
            return lines
        return say(f"There is no step {step}: the worked way of question {part} has {len(lines)}.")

    def _there(self, part: int) -> bool:
        return part in range(1, len(self.parts) + 1)

    def _not_there(self, part: int) -> str:
        return f"There is no question {part} here: there {self._are()}."

    def _are(self) -> str:
        return "is one question" if len(self.parts) == 1 else f"are {len(self.parts)} questions"

    def _number(self, part: int) -> str:
        return f"{part}. " if len(self.parts) > 1 else ""


def in_words(asked: Question | LetterQuestion, mark: str = "*") -> str:
    """A question with what is wanted, a unit or a choice, between marks of Markdown."""
    if isinstance(asked, LetterQuestion):
        choices = "; ".join(f"({letter}) {words}" for letter, words in asked.choices.items())
        return f"{asked.asked} {choices}. {mark}A letter.{mark}"
    return f"{asked.asked} {mark}{f'In {unit_words(asked.unit)}' if asked.unit else 'A plain number'}.{mark}"


def whole(seed: object) -> int:
    """A seed as a whole number; ValueError for anything else."""
    try:
        if isinstance(seed, bool):
            raise TypeError
        return operator.index(seed)
    except TypeError:
        raise ValueError(f"seed {seed!r} is not a whole number; write one such as 7") from None
