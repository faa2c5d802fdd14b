"""The card that composes a claim from drop-downs: what it says is what the library says of the same words."""

import pytest

import detentlib as dl
from detentlib.argue.judging import judge
from detentlib.argue.own import BARE_FORMS, RELATIONS, SIZED_FORMS, read_relation
from detentlib.lesson.compose_card import compose_claim
from tests.knives import CARDS, FOLDER

A, C = CARDS["A"], CARDS["C"]


@pytest.fixture
def card(monkeypatch):
    monkeypatch.chdir(FOLDER.parent)
    return compose_claim(A)


@pytest.fixture(scope="module")
def kept():
    """One card for tests that leave it as it starts."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(FOLDER.parent)
        yield compose_claim(A)


def test_it_starts_with_a_verdict_and_says_first_what_was_put_in(card):
    claim = dl.Claim.compose("break_force", of="second leaf", against="one ball", relation="at least 2 times")
    found = judge(claim, A)
    assert card.verdict.number == found.number
    first, second, *_ = card.answer.splitlines()
    assert first == found.stand_in
    assert second == f"“{claim.sentence}” (a claim of your own): TRUE"


def test_a_change_by_a_size_and_a_ball_from_the_catalogue(card):
    card.of.change.value, card.of.size.value = "bent back by", "12 thou"
    card.against.change.value, card.relation.value = "as it is", "less than"
    card.wait()
    same = judge(dl.Claim.compose("break_force", of="bent back by 12 thou", against="as it is", relation="less"), A)
    assert card.verdict.number == same.number
    assert card.verdict.share_words in card.answer
    card.of.change.value, card.of.ball.value = "one ball of", "3/64 in"
    card.wait()
    assert card.verdict is None or "3/64 in" in card.verdict.claim.sentence
    card.of.ball.value = "5/64 in"
    card.wait()
    assert "with one ball of 5/64 in is less than" in card.verdict.claim.sentence
    assert [box.layout.display for box in (card.of.size, card.of.ball)] == ["none", ""]


def test_another_knife_file(card):
    card.against.knife.value, card.against.change.value = "knives/pellowfen-c.toml", "as it is"
    card.of.change.value, card.relation.value = "as it is", "more than"
    card.wait()
    assert card.verdict.number == judge(dl.Claim.compose("break_force", of=A, against=C, relation="more")).number
    assert card.buttons["break"].disabled  # two fixed knives leave nothing to change
    card.buttons["reset"].click()
    card.wait()
    assert (card.against.knife.value, card.of.change.value) == ("", "second leaf")
    assert card.verdict.word == "true"


@pytest.mark.parametrize(
    ("boxes", "said"),
    [
        (lambda card: {card.number: "zwei"}, "“zwei” is no number from 0.01 to 1000"),
        (lambda card: {card.number: "-2"}, "is no number"),
        (lambda card: {card.number: "nan"}, "is no number"),
        (lambda card: {card.of.change: "bent back by", card.of.size: "0"}, "above zero"),
        (lambda card: {card.against.change: "worn by", card.against.size: "2 N"}, "a length is wanted"),
    ],
)
def test_bad_input_stands_in_red_beside_its_box_and_no_old_verdict_stays(kept, boxes, said):
    for box, value in boxes(kept).items():
        box.value = value
    kept.wait()
    red = [each.value for each in (kept.message, kept.of.message, kept.against.message) if each.value]
    assert len(red) == 1
    assert said in red[0]
    assert "#d32f2f" in red[0]
    assert kept.verdict is None
    assert kept.saving.button.disabled
    assert kept.answer == "Put right what is red above, and it is judged at once."
    assert kept.image.value == ""
    kept.buttons["reset"].click()
    kept.wait()
    assert not any(each.value for each in (kept.message, kept.of.message, kept.against.message))
    assert kept.verdict is not None


def test_what_cannot_be_made_is_said_in_words(card):
    card.of.change.value, card.of.ball.value = "one ball of", "1/32 in"  # falls through its recess
    card.wait()
    assert card.verdict is None
    assert "This claim cannot be judged here." in card.answer
    assert "balls[0]" in card.answer


def test_every_form_is_a_relation_that_is_read():
    for form in (*BARE_FORMS.values(), *SIZED_FORMS.values()):
        assert read_relation(form.format("5"), "N").written
    assert all(read_relation(each, "N") for each in RELATIONS)
