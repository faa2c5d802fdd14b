"""Two minutes: boxes, what is wrong beside them, the numbers of one pull, and nothing lost on the way to the form."""

import html

import pytest

import detentlib as dl
from detentlib.files.pulled import LETBACK, OPENING
from detentlib.lesson.form import knife_form
from detentlib.lesson.quick import two_minutes
from detentlib.measure.one_pull import one_pull
from tests.knives import FOLDER

SIZES = {"balls[0].diameter": "1/16 in, stock size", "balls[0].protrusion": "0.42 mm, caliper depth rod"}
SIZES |= {"balls[0].recess.diameter": "#55, drill", "blade.tab_arm": "14, calipers"}


@pytest.fixture
def card(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return two_minutes(knife_form())


def _fill(card, boxes):
    for path, text in boxes.items():
        card.rows[path].value.value = text


def _red(card):
    return [path for path, row in card.rows.items() if "#d32f2f" in row.message.value]


def test_nothing_is_scolded_until_numbers_are_wanted(card):
    assert _red(card) == []
    card.show()
    assert _red(card) == ["balls[0].diameter", "balls[0].protrusion", "balls[0].recess.diameter"]
    assert "red beside Ball diameter, How far it stands out, Recess diameter" in card.line.value
    assert card.found is None


def test_a_pull_in_the_units_of_a_scale_gives_the_numbers_and_the_next_thing_to_measure(card):
    _fill(card, SIZES | {OPENING: "2.7 lb, luggage scale"})
    assert "= 12.01 ± 1.5 N (lb of a scale, taken as lbf)" in html.unescape(card.rows[OPENING].message.value)
    card.show_button.click()
    knife = dl.Knife(
        "x", card.found.knife.balls, card.found.knife.bar, card.found.knife.blade, card.found.knife.friction
    )
    assert card.found.numbers["break_force"].value == pytest.approx(dl.feel(knife).break_force)
    shown = html.unescape(card.result.value)
    assert all(
        number.said(unit) in shown for number, unit in zip(card.found.numbers.values(), ("N", "N", "mJ"), strict=True)
    )
    assert "track radius of the ball" in shown
    assert "Least sure is the let-back force. Measure next: the let-back pull, with the same scale." in card.line.value
    assert "the ± of the pull above" not in card.rows[LETBACK].message.value
    _fill(card, {LETBACK: "7.2"})
    assert "here it counts with the ± of the pull above" in card.rows[LETBACK].message.value
    card.show()
    assert "Measure next: force at ball 1 when it rides the flat, by pull gauge at the ball" in card.line.value
    _fill(card, {"blade.tab_arm": "15, calipers"})
    assert (card.found, card.result.value) == (None, "")


def test_without_a_pull_the_usual_bar_stands_in(card):
    _fill(card, SIZES)
    card.show()
    assert card.found.numbers["break_force"].doubt > 5
    assert "Measure next: the pull that opens" in card.line.value


@pytest.mark.parametrize(
    ("box", "text", "told"),
    [
        (OPENING, "12,0", "comma"),
        (OPENING, "-3", "greater than zero"),
        (OPENING, "3 mm", "a unit of length"),
        (OPENING, "12, exactly", "No scale is exact"),
        (LETBACK, "7", "Pull it open too"),
        ("balls[0].diameter", "x", "cannot be read"),
    ],
)
def test_what_is_wrong_stands_beside_its_box(card, box, text, told):
    _fill(card, SIZES | {box: text})
    card.show()
    assert told in html.unescape("".join(row.message.value for row in card.rows.values()))
    assert card.found is None
    card.put()
    assert card._form.rows["balls[0].diameter"].text() == ""


def test_a_pull_far_from_usual_is_told_and_no_number_shown(card):
    _fill(card, SIZES | {OPENING: "60 N, luggage scale"})
    card.show()
    assert "hardly any knife" in card.line.value
    assert card.result.value == ""


def test_the_form_takes_it_all_and_says_what_stood_there(card):
    form = card._form
    form.load(FOLDER / "pellowfen-a.toml")
    _fill(card, SIZES | {OPENING: "12.3, luggage scale", LETBACK: "7.2"})
    card.put_button.click()
    said = html.unescape(card.line.value)
    assert {path: form.rows[path].text() for path in SIZES} == SIZES
    found = one_pull(card._told()[0], 12.3, 7.2, 1.5)
    assert form.knife.bar.riding_force == pytest.approx(found.knife.bar.riding_force, rel=1e-3)
    assert form.knife.doubts["bar.riding_force"] == float(f"{found.knife.doubts['bar.riding_force']:.2g}")
    assert form.knife.balls[0].hinge_distance == 36.4
    assert "These stood there before: Ball diameter (0.0625 ± 0.0001 in)" in said
    assert "Riding force (17.04 ± 0.8 N)" in said


def test_without_a_form_there_is_nothing_to_put_it_into():
    assert two_minutes().put_button.layout.display == "none"
