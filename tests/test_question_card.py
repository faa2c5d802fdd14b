"""The card of a question: answered by mouse and keyboard alone, judged, hinted, its working opened after an answer."""

import re

import ipywidgets as widgets
import pytest

from detentlib.knife.units import alike
from detentlib.lesson import question, question_card
from detentlib.lesson.coach import working
from detentlib.lesson.question_card import QuestionCard
from detentlib.lesson.questions.asking import LetterQuestion, Question
from detentlib.lesson.questions.table import QUESTIONS, question_of

NUMBERS = [each for each in QUESTIONS.values() if isinstance(each, Question)]
BY_ID = {"ids": lambda each: each.id}


@pytest.fixture(autouse=True)
def nothing_answered():
    """Every test begins as a fresh notebook does."""
    question_card._of_workbook.cache_clear()


def said(line):
    """The words of a line."""
    return re.sub(r"<[^>]+>", "", line.value)


def shown(asking):
    """The Markdown that stands in the place of the working."""
    return "".join(each["data"]["text/markdown"] for each in asking.working.outputs)


def type_in(asking, text, unit=None):
    """Type into the box, choose a unit, and press Check."""
    asking.field.box.value = text
    asking.field.unit.value = unit or asking.asked.unit
    asking.field.check.click()


def inside(widget):
    """A widget and all that it holds."""
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def test_a_guess_is_kept_and_not_judged():
    asking = QuestionCard("00-second-ball", guess=True).asking
    asking.because.value = "two <springs>"
    assert said(asking.kept) == ""
    asking.field.buttons["a"].click()
    words = question_of("00-second-ball").choices["a"]
    assert said(asking.kept).startswith(f"Kept: (a) {words}, because “two &lt;springs&gt;”. Go on")
    assert (said(asking.line), shown(asking)) == ("", "")
    assert asking.show_button not in set(inside(QuestionCard("00-second-ball", guess=True)))


def test_a_guess_stands_on_the_card_further_down_with_its_working():
    first = QuestionCard("00-second-ball", guess=True)
    first.asking.field.buttons["a"].click()
    first.asking.because.value = "two springs"
    second = QuestionCard("00-second-ball")
    assert second.asking is first.asking
    assert "because “two springs”" in said(second.asking.line)
    assert shown(second.asking) == working(second.asking.asked)
    wrong, right = "a", second.asking.asked.judge()[0]
    assert wrong != right
    assert said(second.asking.line).startswith(f"You said ({wrong})")
    assert said(second.asking.line).endswith(f"Right is ({right}).")
    icons = {letter: each.icon for letter, each in second.asking.field.buttons.items() if each.icon}
    assert icons == {wrong: "times", right: "check"}
    assert [letter for letter, each in second.asking.field.guesses.items() if each.icon] == [wrong]
    assert "check" not in {each.icon for each in second.asking.field.guesses.values()}  # no verdict above


def test_a_guess_made_further_down_opens_its_working_there():
    QuestionCard("04-level", guess=True)
    asking = QuestionCard("04-level").asking
    assert shown(asking) == ""
    asking.field.buttons["b"].click()
    assert shown(asking) == working(asking.asked)


def test_a_number_is_guessed_with_its_reason():
    asking = QuestionCard("01-wedge", guess=True).asking
    asking.field.box.value = "5"
    asking.field.keep.click()
    asking.because.value = "half of it"
    assert "Kept: 5.000 N (1.12 lbf), because “half of it”" in said(asking.kept)
    assert "14.3" not in said(asking.kept)
    QuestionCard("01-wedge")
    assert said(asking.line).startswith("Your answer: 5.000 N (1.12 lbf), because “half of it”. Not yet:")
    assert r"&= 14.3\,\mathrm{N}" in shown(asking)


def test_a_guess_that_cannot_be_read_is_not_kept():
    asking = QuestionCard("01-wedge", guess=True).asking
    asking.field.box.value = "lots"
    asking.field.keep.click()
    assert "cannot be read" in said(asking.kept)
    assert asking.answer is None


def test_a_choice_that_was_no_guess_is_judged_at_once_and_may_be_changed():
    asked, asking = question_of("08-inside"), QuestionCard("08-inside").asking
    right, words = asked.judge()
    wrong = next(letter for letter in asked.choices if letter != right)
    asking.field.buttons[wrong].click()
    assert {each.icon for each in asking.field.buttons.values()} == {"", "times"}
    assert "Not yet." in said(asking.line)
    assert asked.beliefs[wrong].split(".")[0] in said(asking.line)
    assert shown(asking) == ""
    asking.field.buttons[right].click()
    assert f"Yes. {words}" in said(asking.line)
    assert {letter: each.icon for letter, each in asking.field.buttons.items() if each.icon} == {right: "check"}


@pytest.mark.parametrize("asked", NUMBERS, **BY_ID)
def test_a_number_is_right_in_every_unit_that_it_may_be_in(asked):
    asking = QuestionCard(asked.id).asking
    assert [unit for _, unit in asking.field.unit.options] == list(alike(asked.unit))
    type_in(asking, f"{asked.answer:.4g}")
    assert said(asking.line).startswith("Yes.")


def test_the_working_opens_only_after_an_answer():
    asking = QuestionCard("01-angle").asking
    asking.show_button.click()
    assert said(asking.line) == "Answer first: the working opens beside what you answered."
    assert shown(asking) == ""
    for blank in ("", "lots"):
        type_in(asking, blank)
        asking.show_button.click()
        assert shown(asking) == ""
    type_in(asking, "50")
    asking.show_button.click()
    assert shown(asking) == working(asking.asked)
    assert "50.00° is too high" in said(asking.line)
    assert asking.show_button.description == "Hide the working"
    asking.show_button.click()
    assert shown(asking) == ""


@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
def test_hints_come_one_by_one_and_the_last_is_said(asked):
    asking = QuestionCard(asked.id).asking
    for number, hint in enumerate(asked.hints, 1):
        asking.hint_button.click()
        told = asking.hint_line.value
        assert f"Hint {number} of {len(asked.hints)}: " in told
        assert told.count("Hint ") == number
        assert "last hint" not in told
        assert hint.split("“")[0].split("'")[0] in told
    asking.hint_button.click()
    assert said(asking.hint_line).endswith("That was the last hint.")


def enter(asking, text):
    """Enter, as the browser sends it: the key first, then what was typed, where that is new."""
    asking.field.box._handle_custom_msg({"event": "submit"}, [])
    if text is not None:
        asking.field.box.value = text


def test_enter_judges_and_leaving_the_box_does_not():
    asking = QuestionCard("01-seat").asking
    enter(asking, "0.3")
    assert "0.3000 mm (11.8 thou) is too high" in said(asking.line)
    asking.field.box.value = "8.72"  # left for the list of units
    assert "too high" in said(asking.line)
    asking.field.unit.value = "thou"
    enter(asking, None)
    assert said(asking.line).startswith("Yes.")


def test_a_unit_too_many_is_no_trouble_where_a_plain_number_is_wanted():
    card = QuestionCard("03-mu")
    assert card.asking.field.unit not in set(inside(card))
    type_in(card.asking, "0,153")
    assert said(card.asking.line).startswith("Yes.")


@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
@pytest.mark.parametrize("guess", [False, True])
def test_without_a_kernel_the_question_shows_and_no_answer(asked, guess):
    card = QuestionCard(asked.id, guess)
    bundle = card._repr_mimebundle_()
    assert bundle["text/plain"] == bundle["text/markdown"] == repr(card)
    assert asked.asked in repr(card)
    if isinstance(asked, LetterQuestion):
        assert all(f"- ({letter}) {words}" in repr(card) for letter, words in asked.choices.items())


@pytest.mark.parametrize("asked", QUESTIONS.values(), **BY_ID)
def test_everything_that_takes_a_key_has_a_name(asked):
    for each in inside(QuestionCard(asked.id)):
        if isinstance(each, (widgets.Button, widgets.Text)):
            assert each.description
            assert each.tooltip
        if isinstance(each, widgets.Dropdown):
            assert each.tooltip


def test_a_notebook_says_question_and_nothing_comes_back(capsys):
    assert question("01-wedge") is None
    assert capsys.readouterr().out.startswith(question_of("01-wedge").asked)
    with pytest.raises(KeyError, match="01-angle"):
        question("01-angel")
