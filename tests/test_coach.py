"""The coach: what a reader types is understood, judged and answered in words, and never raises."""

import math

import pytest

from detentlib.knife.units import convert
from detentlib.lesson import coach
from detentlib.lesson.coach import Answer, Reply
from detentlib.lesson.questions.asking import LetterQuestion, Question
from detentlib.lesson.questions.table import QUESTIONS, question_of

NUMBERS = [each for each in QUESTIONS.values() if isinstance(each, Question)]
CHOICES = [each for each in QUESTIONS.values() if isinstance(each, LetterQuestion)]
BY_ID = {"ids": lambda each: each.id}


def told(asked, typed, unit=None):
    """What is said of what was typed."""
    answer = coach.understood(asked, typed, asked.unit if unit is None else unit)
    return answer.words if isinstance(answer, Reply) else coach.reply(asked, answer).words


@pytest.mark.parametrize("blank", ["", "   "])
def test_a_blank_stays_blank(blank):
    assert coach.understood(question_of("00-stud"), blank, "N") == Reply(None, "Nothing typed yet.")


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_the_right_number_is_right(asked):
    for given in (f"{asked.answer:.4g}", f"{asked.answer * 1.015:.5g}", f"{asked.answer:.4g} {asked.unit}"):
        assert told(asked, given).startswith("Yes."), given


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
@pytest.mark.parametrize("side", [1.5, -1.5])
def test_a_number_outside_the_tolerance_is_not(asked, side):
    allowed = max(asked.answer * asked.tolerance, asked.step / 2)
    assert told(asked, repr(asked.answer + side * allowed)).startswith("Not yet:")


def test_what_calipers_would_read_is_right():
    """0.9 N over 9.65 N/mm are 0.0933 mm; calipers show hundredths."""
    assert told(question_of("02-back"), "0.09").startswith("Yes.")
    assert told(question_of("02-back"), "0.08").startswith("Not yet:")


def test_a_number_that_no_known_thought_leads_to_is_too_high_or_too_low():
    assert told(question_of("01-angle"), "50") == "Not yet: 50.00° is too high."
    assert told(question_of("01-angle"), "30") == "Not yet: 30.00° is too low."


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_a_known_misconception_is_named(asked):
    for mistake in asked.mistakes:
        reply = coach.reply(asked, Answer(asked.wrong(mistake), bare=True))
        assert reply == Reply(False, f"Not yet: {mistake.words}")


@pytest.mark.parametrize(
    ("id", "other", "name"),
    [("01-seat", "in", "inches"), ("01-seat", "thou", "thou"), ("00-stud", "lbf", "lbf"), ("00-stud", "kgf", "kgf")],
)
def test_another_unit_is_recognised_where_none_was_chosen_and_taken_where_it_was(id, other, name):
    asked = question_of(id)
    number = f"{convert(asked.answer, asked.unit, other):.5f}"
    assert f"right in {name}, but was taken in {asked.unit}" in told(asked, number)
    assert told(asked, number, other).startswith("Yes.")
    assert told(asked, f"{number} {other}").startswith("Yes.")
    assert told(asked, f"{asked.answer} {asked.unit}", other).startswith("Yes.")  # what is typed goes before the list


def test_radians_are_recognised_and_taken():
    asked = question_of("01-angle")
    radians = f"{math.radians(asked.answer):.5f}"
    assert "radians" in told(asked, radians)
    assert told(asked, radians, "rad").startswith("Yes.")


@pytest.mark.parametrize("typed", ["43,9", "43.9", " 43.9 ", "43,9°", "43.9 degrees", "4.39e1"])
def test_a_decimal_comma_and_other_spellings_are_understood(typed):
    assert told(question_of("01-angle"), typed) == "Yes. 43.86°."


@pytest.mark.parametrize("typed", ["8.7 thou", "8,7 thou", "0.2214 mm", "0.00872 in"])
def test_a_size_is_typed_whole(typed):
    assert told(question_of("01-seat"), typed) == "Yes. 0.2214 mm (8.72 thou)."


def test_a_comma_that_can_mean_two_numbers_is_asked_back():
    assert 'write "1.234"; or "1234" for thousands.' in told(question_of("00-stud"), "1,234")


@pytest.mark.parametrize(
    ("factor", "words"),
    [(2, "twice the answer. Did a diameter"), (0.5, "half the answer. Did a radius"), (-1, "the sign is not")],
)
def test_slips_of_a_factor_are_recognised(factor, words):
    assert words in told(question_of("01-seat"), f"{question_of('01-seat').answer * factor:.5f}")


@pytest.mark.parametrize("typed", ["nan", "inf", "twelve", "12 ducks", "8 mm", "1/0", "9" * 400, "1e999", "N"])
def test_what_cannot_be_read_is_said_and_never_raised(typed):
    reply = coach.understood(question_of("00-stud"), typed, "N")
    assert reply.right is None
    assert "The answer is wanted in N." in reply.words


def test_a_pull_gauge_in_pounds_is_understood():
    asked = question_of("00-stud")
    assert told(asked, f"{convert(asked.answer, 'N', 'lbf'):.3f} lb").startswith("Yes.")


@pytest.mark.parametrize("asked", CHOICES, **BY_ID)
def test_a_choice_is_judged(asked):
    right, words = asked.judge()
    for letter in asked.choices:
        expected = f"Yes. {words}" if letter == right else f"Not yet. {asked.beliefs[letter]}"
        assert coach.reply(asked, Answer(letter)) == Reply(letter == right, expected)
        assert coach.answer_words(asked, Answer(letter)) == f"({letter}) {asked.choices[letter]}"


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_the_working_has_every_line_and_its_result(asked):
    shown = coach.working(asked)
    assert all(line.said in shown and line.latex in shown for line in asked.worked())


@pytest.mark.parametrize("asked", CHOICES, **BY_ID)
def test_the_working_of_a_choice_meets_every_wrong_thought(asked):
    right, words = asked.judge()
    shown = coach.working(asked)
    assert f"**({right}) {asked.choices[right]}.** {words}" in shown
    assert all(f"- ({letter}) {belief}" in shown for letter, belief in asked.beliefs.items())
