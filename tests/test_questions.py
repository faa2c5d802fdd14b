"""The questions: answers are right, wrong answers can be told apart, notebooks ask what the table asks."""

import math
import re
from dataclasses import replace

import nbformat
import pytest

from detentlib.files.demo import demo
from detentlib.knife.units import convert, quantity
from detentlib.lesson.practice.more import ANSWERS as MORE
from detentlib.lesson.practice.more import PRACTISED
from detentlib.lesson.practice.topics import told_apart
from detentlib.lesson.questions import apprentice, one_ball, tune, two_balls
from detentlib.lesson.questions.asking import LetterQuestion, Question
from detentlib.lesson.questions.table import QUESTIONS, question_of
from detentlib.mechanics.feel import feel

NUMBERS = [each for each in QUESTIONS.values() if isinstance(each, Question)]
CHOICES = [each for each in QUESTIONS.values() if isinstance(each, LetterQuestion)]
BY_ID = {"ids": lambda each: each.id}
ANSWERS = one_ball.ANSWERS | two_balls.ANSWERS | tune.ANSWERS | apprentice.ANSWERS | MORE

# reckoned with a pocket calculator, from the numbers in the question
BY_CALCULATOR = {
    "00-stud": 12.05 * 14 / 21,
    "01-angle": 43.86,
    "01-seat": 0.2214,
    "01-push": 14.2 * 1.1504,
    "01-wedge": 12 / 0.8391,
    "02-rate": 2.9 / 0.28,
    "02-thicker": 10.3 * 1.2983,
    "02-back": 0.9 / 9.65,
    "03-hold": 14.2 * 0.9054 * 8 / 14,
    "03-open": 14.2 * 1.4738,
    "03-mu": 0.15276,
    "03-take-up": 0.0035 * 14.2 * (1.4738 - 0.9054) / 8 * 57.2958,
    "03-tab": (8.2 * 21 - 9) / 14,
    "03-barrier": 15.625 * 0.2749,
    "04-who": 0.03005,
    "04-split": 15 * 0.8391,
    "04-leaf": 12 + 14.4,
    "04-prove": 0.06 * 1.4142,
    "05-touch": 0.04807,
    "05-handover": 0.1914,
    "05-step": 0.60086 / 0.42242,
    "05-match": 39.585,
    "06-roll": 0.2794,
    "06-drag": (17 * 0.12 * 8 + 3) * 2.8623,
    "07-lift": 43.708,
    "07-drop": 0.2746 - 0.2301 * 0.972527,
    "10-push": 12.918 * 1.34632,
    "10-recess": 2 * 0.59,
    "08-thou": 15 * (1 - 0.93783),
    "08-pin": 14.2 * (1.15458 - 1.04925),
    "09-ratio": 0.02318,
    "09-settled": 3.592,
}


def test_every_number_was_reckoned_by_hand():
    assert BY_CALCULATOR.keys() == {each.id for each in NUMBERS}


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_the_answer_is_right(asked):
    assert asked.answer == pytest.approx(BY_CALCULATOR[asked.id], rel=1e-3)
    assert asked.worked()[-1].unit == asked.unit


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_wrong_answers_can_be_told_from_the_right_one_and_from_each_other(asked):
    assert told_apart(asked)


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_fresh_numbers_give_fresh_answers(asked):
    fresh = asked.fresh(**{name: 1.1 * value for name, value in asked.values.items()})
    assert math.isfinite(fresh.answer)
    assert all(str(given) in fresh.asked for given in fresh.numbers.values())
    first, value = next(iter(asked.values.items()))
    assert asked.fresh(**asked.numbers | {first: 1.1 * value}).answer != asked.answer


@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
def test_what_people_call_a_number_is_that_number(asked):
    for given in asked.numbers.values():
        called, _, bracket = given.shown.partition(" (")
        if bracket:  # another unit first, such as 2 thou (0.0508 mm)
            assert quantity(called, given.unit).value == pytest.approx(given.value, rel=1e-9)
            assert f"{given.value:g} {given.unit})" == bracket


@pytest.mark.parametrize("asked", [*QUESTIONS.values(), *PRACTISED.values()], **BY_ID)
def test_every_known_mistake_has_its_words(asked):
    if isinstance(asked, Question):
        assert len(ANSWERS[asked.id].wrong) == len(asked.mistakes)


@pytest.mark.parametrize("asked", CHOICES, **BY_ID)
def test_a_choice_has_one_right_answer_and_a_word_for_each_wrong_one(asked):
    right, said = asked.judge()
    assert asked.beliefs.keys() == asked.choices.keys() - {right}
    assert len(asked.thoughts) == len(asked.beliefs)
    assert re.search(r"\d", said)


def test_the_second_ball_is_judged_by_the_knives():
    asked = question_of("00-second-ball")
    right, said = asked.judge()
    assert asked.choices[right] == "About the same"
    assert f"{feel(demo('pellowfen-b')).break_force:.2f} N" in said


def test_the_bigger_recess_is_judged_by_the_knife_of_the_question():
    asked = question_of("01-bigger-recess")
    knife = demo("pellowfen-a")
    assert knife.balls[0].recess.diameter == pytest.approx(convert(asked.values["now"], "in", "mm"))
    drilled = feel(knife.replace({"balls[0].recess.diameter": convert(asked.values["bigger"], "in", "mm")})).break_force
    right, said = asked.judge()
    assert asked.choices[right] == "It rises"
    assert f"{drilled:.2f} N" in said
    assert drilled > feel(knife).break_force


@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
def test_every_question_has_a_hint_that_does_not_give_the_answer_away(asked):
    assert asked.hints
    if isinstance(asked, Question):
        assert not any(f"{asked.answer:.3g}" in hint for hint in asked.hints)


def test_right_answers_are_spread_over_the_letters():
    right = [next(iter(asked.choices.keys() - asked.beliefs.keys())) for asked in CHOICES]
    counted = [right.count(letter) for letter in "abc"]
    assert min(counted) >= len(right) / 5, counted
    assert max(counted) <= len(right) / 2, counted


def test_options_are_shuffled_alike_every_time_and_lines_of_a_working_never():
    asked = question_of("00-second-ball")
    assert list(asked.choices.values()) == list(replace(asked, hints=()).choices.values())
    assert any(list(each.choices.values()) != list(each.options.values()) for each in CHOICES)
    assert list(question_of("10-bug").choices.values())[1].startswith("Seat depth")


@pytest.mark.parametrize("asked", CHOICES, **BY_ID)
def test_all_options_carry_a_reason_or_none(asked):
    assert len({": " in words for words in asked.choices.values()}) == 1


@pytest.mark.parametrize("asked", CHOICES, **BY_ID)
def test_words_name_an_option_by_its_words(asked):
    told = [asked.asked, asked.verdict, *asked.hints, *asked.thoughts.values(), *asked.options.values()]
    assert not any(re.search(r"(?<!\w)\([a-e]\)", words) for words in told)


def test_an_unknown_question_names_near_ones():
    with pytest.raises(KeyError, match="01-angle"):
        question_of("01-angel")


CALL = re.compile(r'^question\("([\w-]+)"(, guess=True)?\)$', re.MULTILINE)


@pytest.fixture(scope="module")
def asked_in(root):
    """{ID: [(cell, whether it is a guess)] in the order of its notebook}, of every question of every notebook."""
    found = {}
    for path in sorted((root / "notebooks").glob("*.ipynb")):
        for cell in nbformat.read(path, as_version=nbformat.NO_CONVERT).cells:
            for id, guess in CALL.findall(cell.source) if cell.cell_type == "code" else ():
                assert path.stem[:2] == id[:2]
                found.setdefault(id, []).append((cell, bool(guess)))
    return found


def test_the_notebooks_ask_what_the_table_asks_a_guess_before_its_working(asked_in):
    assert asked_in.keys() == QUESTIONS.keys()
    assert all([guess for _, guess in found] in ([False], [True, False]) for found in asked_in.values())


@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
def test_what_is_stored_of_a_question_gives_no_answer_away(asked, asked_in):
    if isinstance(asked, Question):
        answers = [line.latex for line in asked.worked()]
    else:
        answers = [asked.judge()[1], *asked.beliefs.values()]
    for cell, _ in asked_in[asked.id]:
        stored = [str(output.get("data", output)) for output in cell.outputs]
        assert any(asked.asked in each for each in stored)
        assert not any(answer in each for each in stored for answer in answers)


def test_a_question_stands_in_the_notebook_once_in_its_card(root):
    for path in (root / "notebooks").glob("*.ipynb"):
        texts = [
            cell.source
            for cell in nbformat.read(path, as_version=nbformat.NO_CONVERT).cells
            if cell.cell_type == "markdown"
        ]
        assert not [asked.id for asked in QUESTIONS.values() for text in texts if asked.asked in text]
