"""Settle it: the verdict of the library in words, a twin said before any number, a page that replaces nothing."""

import html
import re
from pathlib import Path

import pytest

import detentlib as dl
from detentlib.lesson.form import knife_form
from detentlib.lesson.settling import CLAIM, settle
from tests.knives import FOLDER, A, B


@pytest.fixture(autouse=True)
def _home(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def two():
    card = settle(B)
    card.show()
    return card


def _words(card):
    return html.unescape(re.sub(r"<[^>]+>", "\n", card.result.value + card.more.value))


def test_it_says_what_the_library_says(two):
    found = dl.judge(CLAIM, B)
    words = _words(two)
    assert f"on {B.title}: {found.word.upper()}" in words
    assert found.decides in words
    assert f"What would change it: {found.way_out.said}: true" in words
    assert "twin" not in words


def test_a_twin_that_is_put_in_is_said_before_any_number():
    card = settle(A)
    card.show()
    words = _words(card).strip()
    assert words.startswith("The card has one ball on this bar, so a twin of ball 1 was put in")
    assert words.index("twin") < words.index("times")


def test_the_page_names_who_claimed_it_or_its_side_and_never_replaces_unasked(two):
    two.saving.save()
    page = Path("settled.md")
    told = page.read_text(encoding="utf-8")
    assert "Said for a second ball." in told
    assert "laimed by" not in told
    assert "Written: settled.md" in two.saving.line.value
    two.claimed_by.value = "the owner"
    before = page.read_bytes()
    two.saving.save()
    assert page.read_bytes() == before
    assert "Not saved" in two.saving.line.value
    assert two.saving.overwrite.layout.display == ""
    two.saving.overwrite.value = True
    two.saving.save()
    assert "Claimed by the owner." in page.read_text(encoding="utf-8")
    two.saving.name.value = "nowhere/page"
    two.saving.save()
    assert "Not saved" in two.saving.line.value
    assert two.saving.overwrite.layout.display == "none"


def test_under_the_form_it_judges_what_stands_in_the_boxes():
    form = knife_form()
    form.settle.button.click()
    assert "describe no knife" in form.settle.result.value
    assert "#d32f2f" in form.rows["balls[0].diameter"].message.value
    form.load(FOLDER / "pellowfen-b.toml")
    form.settle.button.click()
    assert form.settle.verdict.knives == (form.knife,)
    form.rows["friction.rim"].value.value = "0.2"
    assert form.settle.verdict is None
    assert form.settle.result.value == ""
