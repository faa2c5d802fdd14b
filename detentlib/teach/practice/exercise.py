"""Practice: the questions of the workbook again and again, with fresh numbers for each seed; checked, hinted, worked, marked."""

import operator

from ..coach import unit_words, verdict, worked_answer
from ..questions.asking import Choice, Mistake, Question
from ..working import Headline, say
from .draw import drawn
from .marks import Marks, MarksError
from .topics import TOPICS, topic_named


def practice(topic=None, seed=1, marks=None):
    """The questions of a topic with the numbers of a seed, the same on every machine: a Practice; without a topic, what there is.

    topic: its name, or how it begins. seed: any whole number. marks: from `keep_marks`, to keep what was answered.
    Raises ValueError for a topic that there is not, naming near ones, and for a seed that is not a whole number.

    >>> practice("seat", seed=3)
    **Practice: seat, seed 3** (taught in 01_one_ball)
    <BLANKLINE>
    1. A 2 mm ball, and a rim gap of 0.84 mm. At what contact angle does the rim touch? *In degrees.*
    2. The same 2 mm ball and rim gap of 0.84 mm. How deep does the ball sit below the face of the tang? *In mm.*
    """
    if topic is None:
        return Headline((("topic", "after it you can", "taught in"), *((each.name, each.can, each.notebook) for each in TOPICS.values())), ())
    return Practice(topic_named(topic), whole(seed), Marks() if marks is None else marks)


class Practice:
    """A few questions on one topic: `check(answers...)`, `hint(part)`, `answer(part)`; `blank(step)` and `fill(step, answer)` for a worked way with a gap."""

    def __init__(self, topic, seed, marks):
        """topic: a Topic. Use `practice` to make one."""
        self.topic, self.seed, self.marks = topic, seed, marks
        self.parts = drawn(topic, seed)
        self._given = {}

    def __repr__(self):
        asked = (f"{self._number(i)}{in_words(part)}" for i, part in enumerate(self.parts, 1))
        return f"**Practice: {self.topic.name}, seed {self.seed}** (taught in {self.topic.notebook})\n\n" + "\n".join(asked)

    def _repr_markdown_(self):
        return repr(self)

    def check(self, *answers):
        """Say what is right: one answer for each question, in their order; None leaves one blank."""
        say(self.checked(answers))

    def hint(self, part=1):
        """Give a hint on one question; each further call gives the next one."""
        say(self.hinted(part))

    def answer(self, *parts):
        """Show the worked answer to every question, or to those numbered."""
        say(self.answered(parts or range(1, len(self.parts) + 1)))

    def checked(self, answers, help_at="`.hint({part})` helps."):
        """What `check` says, as Markdown; help_at: the sentence on where a hint is to be had."""
        if len(answers) > len(self.parts):
            return f"You gave {len(answers)} answers, and there {self._are()}. Give one for each, in their order; None for one that is still blank."
        answers = [*answers, *[None] * (len(self.parts) - len(answers))]
        return "\n\n".join(f"{self._number(part)}{self._judged(part, answer, help_at)}" for part, answer in enumerate(answers, 1))

    def hinted(self, part, help_at="`.answer({part})` shows the worked line."):
        """What `hint` says, as Markdown; help_at: the sentence for when there are no more."""
        if not self._there(part):
            return self._not_there(part)
        mark, hints = self._mark(part), self.parts[part - 1].hints
        given = min(max(mark.hints, self._given.get(part, 0)), len(hints))
        if given == len(hints):
            return f"That was the last hint. {help_at.format(part=part)}"
        self._given[part] = given + 1
        return f"Hint: {hints[given]}{'' if mark.right else self._note(part, mark._replace(hints=given + 1))}"

    def answered(self, parts):
        """What `answer` says, as Markdown."""
        wrong = next((part for part in parts if not self._there(part)), None)
        if wrong is not None:
            return self._not_there(wrong)
        said = []
        for part in parts:
            mark = self._mark(part)
            trouble = "" if mark.right else self._note(part, mark._replace(shown=True))
            said.append(f"{self._number(part)}{worked_answer(self.parts[part - 1])}{trouble}")
        return "\n\n".join(said)

    def blank(self, step, part=1):
        """Show the worked way as far as a step, which is left blank, and say what comes after it."""
        lines = self._lines(step, part)
        if lines:
            unit, gap = lines[step - 1].unit, f"**{step}. {lines[step - 1].said}** Yours"
            shown = [f"{i}. {line}" for i, line in enumerate(lines[: step - 1], 1)]
            later = [f"{i}. {line.said}" for i, line in enumerate(lines[step:], step + 1)]
            say("\n\n".join([self.parts[part - 1].asked, *shown, f"{gap}, {f'in {unit_words(unit)}' if unit else 'a plain number'}.", *later]))

    def fill(self, step, answer=None, part=1):
        """Check the step that was left blank; where it is right, show the way to the end. Steps are not marked."""
        lines = self._lines(step, part)
        if not lines:
            return
        numbers, slips = self.parts[part - 1].values, [slip for at, slip in self.topic.slips if at == step and part == 1]
        known = tuple(Mistake(lambda slip=slip: slip.value(**numbers), slip.said) for slip in slips)
        asked = Question(self.topic.name, lines[step - 1].said, {}, lines[step - 1].unit, lambda: lines[:step], (), known)
        judged = verdict(asked, answer, "Look at the lines above it once more.")
        rest = [f"{i}. {line}" for i, line in enumerate(lines[step - 1 :], step)] if judged.right else []
        say("\n\n".join([judged.said, *rest]))

    def _judged(self, part, answer, help_at):
        """What to say on one answer; it is marked, unless it was blank, could not be read, or was right before."""
        judged, mark = verdict(self.parts[part - 1], answer, help_at.format(part=part)), self._mark(part)
        if judged.right is None or mark.right:
            return judged.said
        return judged.said + self._note(part, mark._replace(right=judged.right, tries=mark.tries + 1))

    def _mark(self, part):
        return self.marks.of(self.topic.name, self.seed, part)

    def _note(self, part, mark):
        """Keep a mark; in words what went wrong with it, "" where nothing did."""
        try:
            self.marks.note(self.topic.name, self.seed, part, mark)
        except MarksError as error:
            return f" (This could not be marked in the file. {error})"
        return ""

    def _lines(self, step, part):
        """The worked lines of a question that is answered with a number, where there is such a step; else None, said in words."""
        if not self._there(part):
            say(self._not_there(part))
            return None
        asked = self.parts[part - 1]
        lines = [] if isinstance(asked, Choice) else asked.worked()
        if step not in range(1, len(lines) + 1):
            say(f"There is no step {step}: the worked way of question {part} has {len(lines)}.")
            return None
        return lines

    def _there(self, part):
        return part in range(1, len(self.parts) + 1)

    def _not_there(self, part):
        return f"There is no question {part} here: there {self._are()}."

    def _are(self):
        return "is one question" if len(self.parts) == 1 else f"are {len(self.parts)} questions"

    def _number(self, part):
        return f"{part}. " if len(self.parts) > 1 else ""


def in_words(asked):
    """A question with the unit that is wanted, or with its choices."""
    if isinstance(asked, Choice):
        return f"{asked.asked} {'; '.join(f'({letter}) {said}' for letter, said in asked.choices.items())}. *A letter.*"
    return f"{asked.asked} *{'A plain number' if not asked.unit else f'In {unit_words(asked.unit)}'}.*"


def whole(seed):
    """A seed as a whole number; ValueError for anything else."""
    try:
        if isinstance(seed, bool):
            raise TypeError
        return operator.index(seed)
    except TypeError:
        raise ValueError(f"seed {seed!r} is not a whole number; write one such as 7") from None
