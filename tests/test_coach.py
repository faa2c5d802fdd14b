"""The coach: what a reader writes is understood, judged and answered in words, and never raises."""

import math

import pytest

from detentlib.knife.plain import in_markdown
from detentlib.knife.units import convert
from detentlib.lesson import coach
from detentlib.lesson.questions.asking import LetterQuestion, Question
from detentlib.lesson.questions.table import QUESTIONS, question

NUMBERS = [each for each in QUESTIONS.values() if isinstance(each, Question)]
CHOICES = [each for each in QUESTIONS.values() if isinstance(each, LetterQuestion)]
BY_ID = {"ids": lambda each: each.id}


@pytest.fixture
def said(capsys):
    """A function that calls the coach and gives what it said."""
    coach._predictions.clear()
    coach._hints_given.clear()

    def talk(act, *given, **more):
        assert act(*given, **more) is None
        return capsys.readouterr().out.strip()

    return talk


@pytest.mark.parametrize("blank", [None, "", "   "])
@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
def test_a_blank_stays_blank(said, asked, blank):
    assert said(coach.check, asked.id, blank).startswith("Blank so far.")
    assert said(coach.predict, asked.id, blank).startswith("No prediction yet.")


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_the_right_number_is_right(said, asked):
    for given in (asked.answer, asked.answer * 1.015, f"{asked.answer:.3f}", f"{asked.answer:.3f} {asked.unit}"):
        assert said(coach.check, asked.id, given).startswith("**Yes.**"), given


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
@pytest.mark.parametrize("side", [1.5, -1.5])
def test_a_number_outside_the_tolerance_is_not(said, asked, side):
    assert said(coach.check, asked.id, asked.answer * (1 + side * asked.tolerance)).startswith("**Not yet:**")


def test_a_number_that_no_known_thought_leads_to_is_too_high_or_too_low(said):
    assert said(coach.check, "01-angle", 50) == '**Not yet:** 50.00° is too high. `hint("01-angle")` helps.'
    assert said(coach.check, "01-angle", 30) == '**Not yet:** 30.00° is too low. `hint("01-angle")` helps.'


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_a_known_misconception_is_named(said, asked):
    for mistake in asked.mistakes:
        assert said(coach.check, asked.id, asked.wrong(mistake)) == f"**Not yet:** {mistake.words}"


@pytest.mark.parametrize(
    ("id", "other", "name"),
    [("01-seat", "in", "inches"), ("01-seat", "thou", "thou"), ("00-stud", "lbf", "lbf"), ("00-stud", "kgf", "kgf")],
)
def test_another_unit_is_recognised_without_its_name_and_taken_with_it(said, id, other, name):
    asked = question(id)
    number = convert(asked.answer, asked.unit, other)
    assert f"right in {name}, but wanted in {asked.unit}" in said(coach.check, id, number)
    assert said(coach.check, id, f"{number:.5f} {other}").startswith("**Yes.**")


def test_radians_are_recognised(said):
    assert "radians" in said(coach.check, "01-angle", math.radians(question("01-angle").answer))


@pytest.mark.parametrize(
    ("factor", "words"),
    [(2, "twice the answer. Did a diameter"), (0.5, "half the answer. Did a radius"), (-1, "the sign is not")],
)
def test_slips_of_a_factor_are_recognised(said, factor, words):
    assert words in said(coach.check, "01-seat", question("01-seat").answer * factor)


@pytest.mark.parametrize(
    "given",
    [
        "",
        "nan",
        math.nan,
        math.inf,
        "twelve",
        "12 ducks",
        "8 mm",
        "12,3",
        True,
        [1.0],
        {},
        b"x",
        10**400,
        "8 lb",
        "1/0",
    ],
)
def test_what_cannot_be_read_is_said_and_never_raised(said, given):
    told = said(coach.check, "00-stud", given)
    assert told
    assert not told.startswith("**Yes")
    assert "Traceback" not in told


def test_a_pull_gauge_in_pounds_is_told_what_to_write(said):
    assert "lbf" in said(coach.check, "00-stud", "1.8 lb")


@pytest.mark.parametrize("asked", CHOICES, **BY_ID)
def test_a_choice_is_judged(said, asked):
    right, told = asked.judge()
    for letter in asked.choices:
        expected = f"**Yes.** {told}" if letter == right else f"**Not yet.** {asked.beliefs[letter]}"
        assert said(coach.check, asked.id, letter) == expected
    assert (
        said(coach.check, asked.id, "z")
        == f"There is no choice z. Write one of {', '.join(asked.choices)}, in quotation marks."
    )


def test_a_prediction_is_kept_and_stands_beside_the_answer(said):
    kept = said(coach.predict, "01-wedge", "5 N", because="half of it")
    assert "you expect 5.000 N (1.12 lbf), because “half of it”" in kept
    assert "17.3" not in kept
    told = said(coach.answer, "01-wedge")
    assert "you expect 5.000 N" in told
    assert r"&= 17.32\,\mathrm{N}" in told


def test_a_prediction_can_be_taken_back(said):
    said(coach.predict, "01-wedge", 5)
    said(coach.predict, "01-wedge", None)
    assert "you expect" not in said(coach.answer, "01-wedge")


def test_a_prediction_that_cannot_be_read_is_not_kept(said):
    assert "cannot be read" in said(coach.predict, "01-wedge", "lots")
    assert "you expect" not in said(coach.answer, "01-wedge")


def test_the_reader_s_own_words_are_shown_as_written(said):
    assert in_markdown("<b>*$x$") in said(coach.predict, "01-wedge", 5, because="<b>*$x$")


@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
def test_hints_come_one_by_one_and_then_point_to_the_answer(said, asked):
    assert [said(coach.hint, asked.id) for _ in asked.hints] == [f"Hint: {hint}" for hint in asked.hints]
    assert said(coach.hint, asked.id) == f'That was the last hint. `answer("{asked.id}")` shows the worked line.'


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_the_worked_answer_has_question_lines_and_result(said, asked):
    told = said(coach.answer, asked.id)
    assert told.startswith(asked.asked)
    assert all(line.latex in told for line in asked.worked())


@pytest.mark.parametrize("asked", CHOICES, **BY_ID)
def test_the_answer_to_a_choice_meets_every_wrong_thought(said, asked):
    right, told = asked.judge()
    shown = said(coach.answer, asked.id)
    assert f"({right}) {asked.choices[right]}. {told}" in shown
    assert all(belief in shown for belief in asked.beliefs.values())


def test_buttons_keep_what_is_chosen(said):
    asking = coach.ask("00-second-ball")
    assert "Nothing chosen yet." in asking.line.value
    asking.because.value = "two <springs>"
    assert "Nothing chosen yet." in asking.line.value
    asking.buttons["a"].click()
    assert "(a) About twice as hard, because “two &lt;springs&gt;”" in asking.line.value
    asking.buttons["c"].click()
    assert [letter for letter, button in asking.buttons.items() if button.icon] == ["c"]
    assert "you expect (c) About half as hard" in said(coach.answer, "00-second-ball")


def test_buttons_show_without_a_kernel_as_words():
    bundle = coach.ask("01-bigger-recess")._repr_mimebundle_()
    assert bundle["text/plain"] == bundle["text/markdown"] == repr(coach.ask("01-bigger-recess"))
    assert all(words in bundle["text/markdown"] for words in question("01-bigger-recess").choices.values())


def test_a_number_is_not_asked_by_buttons():
    with pytest.raises(ValueError, match='predict\\("01-wedge"'):
        coach.ask("01-wedge")
