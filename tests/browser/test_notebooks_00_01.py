"""Notebooks 00 and 01 as a person uses them: run, choose, slide by key and by mouse, type, fill the form."""

import re

from playwright.sync_api import expect

import detentlib as dl
from tests.browser.lab import CUT_OFF, PATIENCE, TOO_WIDE
from tests.knives import CARDS

CARD = CARDS["A"]

BORE = "balls[0].recess.diameter"


def _seen(locator):
    expect(locator).to_be_visible(timeout=PATIENCE)


def _contact(knife):
    return f"{dl.feel(knife).contact_deg[0]:.1f}°"


def _angle(page):
    """The contact angle that the answer line says."""
    return float(re.search(r"rim at ([\d.]+)°", page.answer())[1])


def _choose(page, words):
    """Choose an answer by keyboard, and give a reason."""
    button = page.page.get_by_role("button", name=words)
    button.focus()
    page.page.keyboard.press("Enter")
    line = page.page.get_by_role("status").filter(has_text=f"Kept: you expect {words}")
    _seen(line)
    page.page.get_by_label("because").fill("it rattles")
    page.page.keyboard.press("Tab")
    expect(line).to_contain_text("because “it rattles”", timeout=PATIENCE)


def test_one_ball_answers_key_mouse_and_typed_number(ran):
    page = ran("01_one_ball")
    _choose(page, "(a) It falls: a bigger hole is looser")
    page.panel().scroll_into_view_if_needed()
    _seen(page.picture())
    start = _angle(page)
    assert _contact(CARD) in page.answer()
    page.press("Recess diameter, mm", "ArrowRight")
    assert page.number_box("Recess diameter, mm").input_value() == "1.3218"
    assert _contact(CARD.replace({BORE: 1.3218})) in page.answer()
    page.drag("Recess diameter, mm", -60)
    assert _angle(page) < start
    page.type_number("Recess diameter, mm", "1.397")
    expect(page.panel().get_by_role("status").first).to_contain_text(_contact(CARD.replace({BORE: 1.397})), timeout=PATIENCE)
    assert page.picture().get_attribute("alt")
    assert page.page.evaluate(CUT_OFF) == []
    assert page.page.evaluate(TOO_WIDE) == []
    assert page.errors == []


def _fill(form, label, text):
    box = form.get_by_label(label, exact=True)
    box.fill(text)
    box.press("Enter")


def _press(form, name):
    form.get_by_role("button", name=name, exact=True).click()


def test_the_form_takes_a_knife_and_tells_what_is_wrong(ran):
    page = ran("00_start_here")
    form = page.page.locator(".jp-OutputArea-output", has=page.page.get_by_role("button", name="Show the numbers"))
    form.get_by_text("It has a second ball").click()
    form.get_by_text("More, if you know it").click()
    _seen(form.get_by_label("Ball 2: recess diameter, mm", exact=True))
    assert page.page.evaluate(CUT_OFF) == []
    assert page.page.evaluate(TOO_WIDE) == []
    form.get_by_text("It has a second ball").click()

    _fill(form, "Ball diameter, mm", "1/16 in")
    _seen(form.get_by_text("= 1.5875 ± 0.06 mm, a guess"))
    how = form.get_by_title("Ball diameter: how it was measured", exact=True)
    expect(how).to_have_value("guess")
    page.page.keyboard.press("Tab")
    page.page.keyboard.press("Tab")
    expect(how).to_be_focused()
    cells = page.cells()
    page.page.keyboard.press("ArrowDown")
    expect(how).not_to_have_value("guess")
    page.page.keyboard.type("stock")
    expect(how).to_have_value("stock size")
    _seen(form.get_by_text("= 1.5875 within 0.009 mm"))
    expect(how).to_be_focused()
    assert page.cells() == cells
    page.page.keyboard.press("Tab")
    expect(form.get_by_label("Protrusion, mm", exact=True)).to_be_focused()
    page.page.keyboard.type("0,42")
    page.page.keyboard.press("Tab")
    _seen(form.get_by_text("has a comma in the number"))
    _press(form, "Show the numbers")
    _seen(form.get_by_text("No numbers yet. Look at what is red beside Protrusion, Recess diameter."))
    _fill(form, "Protrusion, mm", "0.42, depth micrometer")  # by keyboard: the word behind the number goes into the choice
    expect(form.get_by_title("Protrusion: how it was measured", exact=True)).to_have_value("depth micrometer")
    _fill(form, "Recess diameter, mm", "0.052 in")
    _press(form, "Show the numbers")
    _seen(form.get_by_role("cell", name="Break force at the tab"))
    _seen(form.get_by_text("Assumed, as nobody measured it"))

    form.get_by_label("Start from a file").fill("knives/pellowfen-a.toml")
    _press(form, "Load")
    expect(form.get_by_label("Riding force, N", exact=True)).to_have_value("17.04 N", timeout=PATIENCE)
    form.get_by_label("Save as").fill("knives/pellowfen-b")
    _press(form, "Save")
    _seen(form.get_by_text("knives/pellowfen-b.toml is there already"))
    form.get_by_label("Save as").fill("knives/my-own")
    _press(form, "Save")
    _seen(form.get_by_text('Saved. In any notebook write: my_knife = "knives/my-own.toml"'))
    assert page.errors == []
