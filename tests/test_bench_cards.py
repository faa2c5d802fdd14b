"""Cards of notebook 08: what is typed says what the library says, what cannot be is said, and nothing typed is lost."""

import html

import pytest

import detentlib as dl
from detentlib.draw.card import alert
from detentlib.lesson import batch_card, bench_cards, complaint_card, wanted_force
from tests.knives import CARDS, FOLDER

A, RED = CARDS["A"], alert("x").partition("x")[0]
PULLS = str(FOLDER.parent / "readings" / "batch-pellowfen-a.csv")


@pytest.fixture(autouse=True)
def _nothing_kept(monkeypatch):
    monkeypatch.setattr(bench_cards, "_KEPT", {})


def _shown(card):
    return [output["data"]["text/markdown"] for output in card.result.outputs]


def test_a_complaint_gives_its_causes_or_the_questions_back_and_stays():
    card = complaint_card(A, "too stiff")
    assert _shown(card) == [dl.find_fault("too stiff", A)._repr_markdown_()]
    card.text.value = "it will not flick"
    assert card.found.said == "it will not flick"
    card.text.value = "it sings"
    assert card.found.questions
    assert _shown(card) == [dl.find_fault("it sings", A)._repr_markdown_()]
    assert complaint_card(A, "too stiff").text.value == "it sings"


@pytest.mark.parametrize("text", ["2 to 3", "2 lbf to", "11 N to 9 N", "at least 9 N", "soft"])
def test_what_is_no_window_is_said_and_the_last_one_holds(text):
    card = wanted_force(9, 11)
    card.text.value = "2 to 3 lbf"
    assert card.window == pytest.approx((2 * 4.4482216152605, 3 * 4.4482216152605))  # NIST SP 811: 1 lbf in N
    before = card.window
    card.text.value = text
    if text == "2 to 3":
        assert card.window == (2, 3)
        return
    assert card.window == before
    assert card.line.value.startswith(RED)
    card.text.value = ""
    assert card.window == (9, 11)


def test_one_force_is_taken_with_a_tenth_on_either_side_and_a_strange_one_with_a_remark():
    card = wanted_force(9, 11)
    card.text.value = "15 N"
    assert card.window == pytest.approx((13.5, 16.5))
    assert "a tenth of it counts on either side" in card.line.value
    card.text.value = "15 ± 1 N"
    assert card.window == (14, 16)
    assert "usual" not in card.line.value
    card.text.value = "14 lbf to 16 lbf"
    assert card.window == pytest.approx((14 * 4.4482216152605, 16 * 4.4482216152605))  # NIST SP 811: 1 lbf in N
    assert "6 to 18 N" in card.line.value


def test_a_window_stays_when_its_cell_runs_again():
    wanted_force(9, 11).text.value = "7 N to 8 N"
    assert wanted_force(9, 11).window == (7, 8)


def test_a_batch_says_what_the_library_says():
    card = batch_card(A, (9.0, 11.0))
    card.show()
    assert "Choose a file first" in card.line.value
    card.file.value = PULLS
    card.show()
    wanted = dl.batch_of(dl.read_readings(PULLS), A, "9 N to 11 N")
    assert _shown(card) == [wanted._repr_markdown_()]
    assert batch_card(A, (9.0, 11.0)).file.value == PULLS


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("no-such.csv", "cannot be read"),
        (str(FOLDER / "pellowfen-a.toml"), "is a knife file, where readings (.csv) are wanted"),
        (str(FOLDER.parent / "readings" / "lift-trace-a.csv"), "lift trace"),
    ],
)
def test_what_is_no_batch_is_said_in_red(name, said):
    card = batch_card(A, (9.0, 11.0))
    card.file.value = name
    card.show()
    assert said in html.unescape(card.line.value)
    assert card.line.value.startswith(RED)
    assert card.batch is None
    assert _shown(card) == []
