"""Every question of the workbook in one table. Answers, and the wrong answers of known misconceptions, are computed."""

import difflib

from ...knife.checks import short
from . import apprentice, one_ball, tune, two_balls
from .asking import LetterQuestion, Question, read_questions

QUESTIONS = {}
for _part in (one_ball, two_balls, tune, apprentice):
    QUESTIONS |= read_questions(_part.__file__, _part.ANSWERS)


def question_of(id: str) -> Question | LetterQuestion:
    """The Question or LetterQuestion with this ID; KeyError naming near ones for an ID that there is not."""
    if not isinstance(id, str) or id not in QUESTIONS:
        near = difflib.get_close_matches(str(id), QUESTIONS, 2, 0.3) or QUESTIONS
        raise KeyError(f"no question {short(id)}; did you mean {' or '.join(near)}?")
    return QUESTIONS[id]
