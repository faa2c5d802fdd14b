"""The knife of all pages: chosen once, remembered in a file, and never another knife without a word."""

from dataclasses import replace

import pytest

from detentlib.files.demo import NOTEBOOKS, demo
from detentlib.files.knife_file import write_knife
from detentlib.lesson.choose import DEMO_ONLY, REMEMBERED, choose_knife, remember, remembered
from detentlib.lesson.papers import hand_on


@pytest.fixture(autouse=True)
def pages(tmp_path, monkeypatch):
    """A folder as that of the notebooks, with two demos and a knife of one's own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(DEMO_ONLY)
    (tmp_path / "knives").mkdir()
    for name in ("pellowfen-a", "pellowfen-b"):
        (tmp_path / "knives" / f"{name}.toml").write_bytes((NOTEBOOKS / "knives" / f"{name}.toml").read_bytes())
    write_knife(replace(demo("pellowfen-a").replace({"bar.riding_force": 13.0}), title="Own"), "knives/own.toml")
    return tmp_path


def test_every_page_takes_its_demo_until_a_knife_is_chosen():
    assert choose_knife("pellowfen-a").knife.title == "Pellowfen A"
    assert choose_knife("pellowfen-b").knife.title == "Pellowfen B"
    assert not remembered()


def test_a_choice_on_one_page_holds_for_all_and_can_be_taken_back():
    first = choose_knife("pellowfen-a")
    first.menu.value = "knives/own.toml"
    assert first.knife.bar.riding_force == 13.0
    assert choose_knife("pellowfen-b").knife.title == "Own"
    first.menu.value = ""
    assert first.knife.title == "Pellowfen A"
    assert choose_knife("pellowfen-b").knife.title == "Pellowfen B"


def test_a_page_about_two_balls_says_that_a_knife_with_one_will_not_do():
    choose_knife("pellowfen-a").menu.value = "knives/own.toml"
    page = choose_knife("pellowfen-b", balls=2)
    assert page.knife.title == "Pellowfen B"
    assert "Own has one ball, and this page is about two balls: it takes its demo, Pellowfen B." in page.line.value
    assert choose_knife("pellowfen-a").knife.title == "Own"


def test_a_chosen_file_that_is_gone_or_broken_is_named_and_the_demo_stands_in(pages):
    choose_knife("pellowfen-a").menu.value = "knives/own.toml"
    (pages / "knives" / "own.toml").write_text("title = ", encoding="utf-8")
    page = choose_knife("pellowfen-a")
    assert page.knife.title == "Pellowfen A"
    assert "own.toml" in page.line.value
    assert "This page takes its demo, Pellowfen A." in page.line.value
    (pages / "knives" / "own.toml").unlink()
    assert "there is no such file" in choose_knife("pellowfen-a").line.value


def test_stored_numbers_are_compared_with_those_of_the_demo(monkeypatch):
    choose_knife("pellowfen-a").menu.value = "knives/own.toml"
    monkeypatch.setenv(DEMO_ONLY, "1")
    assert choose_knife("pellowfen-a").knife.title == "Pellowfen A"


def test_where_nothing_can_be_written_the_choice_holds_for_the_page(pages):
    page = choose_knife("pellowfen-a")
    (pages / "chosen-knife.txt").mkdir()
    page.menu.value = "knives/own.toml"
    assert page.knife.title == "Own"
    assert "This choice holds for this page only." in page.line.value


def test_papers_are_of_the_knife_of_all_pages():
    page = demo("pellowfen-b")
    assert hand_on(page).knife.value == ""
    remember("knives/own.toml")
    assert hand_on(page).knife.value == "knives/own.toml"
    remember("knives/gone.toml")
    assert hand_on(page).knife.value == ""


def test_a_remembered_file_that_is_no_text_is_told_and_the_demo_stands_in():
    REMEMBERED.write_bytes(b"\xff\xfe\x00")
    page = choose_knife("pellowfen-b")
    assert "cannot be read" in page.line.value
    assert page.knife.title == "Pellowfen B"
