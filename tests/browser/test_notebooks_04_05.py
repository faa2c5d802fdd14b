"""Notebooks 04 and 05 as a person uses them: run, choose, slide by key and by mouse, switch the leaf, read the answer line."""

import re

import pytest
from playwright.sync_api import expect

import detentlib as dl
from detentlib.workshop import moves, pair
from tests.knives import A, B, C

PATIENCE = 30_000  # ms, for a busy machine
CUT_OFF = """() => [...document.querySelectorAll('.jp-OutputArea .widget-label, .jp-OutputArea button')]
    .filter(each => each.offsetParent && each.scrollWidth > each.clientWidth + 1).map(each => each.textContent)"""
TOO_WIDE = """() => [...document.querySelectorAll('.jp-OutputArea-output')]
    .filter(each => each.scrollWidth > each.clientWidth + 1).map(each => each.textContent.slice(0, 80))"""
SPILLS = """panel => { const line = panel.querySelector('[role=status]').getBoundingClientRect(), picture = panel.querySelector('img').getBoundingClientRect();
    return line.bottom > picture.top; }"""


@pytest.fixture
def ran(open_notebook):
    """A function (name) that opens a notebook in a window of 1,000 px, runs it, scrolls to its panel and gives its Page."""

    def opened(name):
        page = open_notebook(name, 1000, 900)
        assert page.run_all()
        assert page.complaints() == []
        page.panel().scroll_into_view_if_needed()
        expect(page.picture()).to_be_visible(timeout=PATIENCE)
        return page

    return opened


def _says(page, words):
    """Wait until the answer line holds these words."""
    expect(page.panel().get_by_role("status").first).to_contain_text(words, timeout=PATIENCE)


def _switch(page, word):
    page.panel().get_by_role("button", name=word, exact=True).click()


def _drag_to_the_left(page, label, pixels):
    """Drag a slider's handle by mouse."""
    handle = page.handle(label)
    handle.scroll_into_view_if_needed()
    handle.hover()
    box, before = handle.bounding_box(), page.answer()
    page.page.mouse.down()
    page.page.mouse.move(box["x"] + box["width"] / 2 - pixels, box["y"] + box["height"] / 2, steps=5)
    page.page.mouse.up()
    expect(page.panel().get_by_role("status").first).not_to_have_text(before, timeout=PATIENCE)


def _sound(page):
    """Nothing is cut off, nothing runs over the picture, nothing was complained about."""
    assert page.page.evaluate(CUT_OFF) == []
    assert page.page.evaluate(TOO_WIDE) == []
    assert not page.panel().evaluate(SPILLS)
    assert page.picture().get_attribute("alt")
    assert page.errors == []


def _force(knife):
    return f"Break force {dl.feel(knife).break_force:.2f} N"


def test_a_second_ball_on_the_same_leaf_a_leaf_of_its_own_and_none(ran):
    page = ran("04_two_balls_one_spring")
    _says(page, f"{_force(B)} ({dl.feel(A).break_force / 4.4482216:.2f} lbf): 1.00 × ball 1 alone")
    _sound(page)
    page.press("Press-depth difference, mm", "ArrowLeft")
    _says(page, "ball 2 is idle by 0.050 mm")
    _drag_to_the_left(page, "Press-depth difference, mm", 200)
    _says(page, "ball 2 carries")
    page.type_number("Press-depth difference, mm", "0.0015")
    _says(page, "both carry")
    _switch(page, "second leaf")
    _says(page, "each leaf presses its own ball")
    _switch(page, "none")
    _says(page, f"{_force(A)} (2.71 lbf): 1.00 × ball 1 alone")
    _switch(page, "Reset")
    _switch(page, "second leaf")
    _says(page, _force(moves.with_second_leaf(B)))
    _switch(page, "thou, lbf")
    _says(page, "lbf")
    _sound(page)


def test_a_prediction_is_kept_beside_its_answer(ran):
    page = ran("04_two_balls_one_spring")
    words = "(a) About twice as hard: now both balls work"
    page.page.get_by_role("button", name=words).click()
    expect(page.page.get_by_role("status").filter(has_text=f"Kept: you expect {words}")).to_be_visible(timeout=PATIENCE)
    page.page.get_by_text('answer("04-level")').click()
    page.page.keyboard.press("Shift+Enter")
    expect(page.page.get_by_text(f"Kept: you expect {words}").last).to_be_visible(timeout=PATIENCE)


def test_rim_lead_by_key_mouse_number_and_word(ran):
    page = ran("05_offset_recesses")
    _says(page, _force(C))
    _says(page, "Handover from ball 2 to ball 1 at 1.9°: resistance up by 22 %")
    _sound(page)
    page.press("Rim lead, mm", "ArrowRight")
    _says(page, "Rim lead 0.071 mm")
    _drag_to_the_left(page, "Rim lead, mm", 120)
    _says(page, "No handover on opening")
    page.type_number("Rim lead, mm", "0.1")
    _says(page, _force(pair.with_rim_lead(C, 0.1)))
    _switch(page, "shifted")
    _says(page, "Rim lead 0.100 mm")
    _switch(page, "turned")
    _says(page, "No handover on opening")
    assert re.search(r"Rim lead -0\.0\d\d mm", page.answer())
    _switch(page, "Reset")
    page.press("Blade angle, °", "End")
    _says(page, "ball 1 on the flat")
    _sound(page)
