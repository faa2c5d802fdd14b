"""Notebook 07 as a person uses it: run, choose a trace, move the crosshair by key and add a point, type rows, paste
text.
"""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.lab import PATIENCE

TRACE, PHOTO, OWN = 0, 1, 2
ACROSS, DOWN = "Crosshair across, px", "Crosshair down, px"


@pytest.fixture
def page(ran):
    return ran("07_measure_a_knife")


def _press(page, place, name):
    page.panel(place).get_by_role("button", name=name, exact=True).click()


def test_traces_photo_and_rows_by_hand(page):
    page.says("this card explains them", TRACE)
    _press(page, TRACE, "C")
    page.says("this card does not explain them", TRACE)
    page.type_number("Recess diameter, mm", "1.28")
    assert re.search(r"rim gap 0\.577 mm", page.answer().lower())
    page.panel().get_by_label("Try").select_option("recess by calipers, 1.25 mm")
    page.says("Rim gap 0.560 mm", TRACE)
    _press(page, TRACE, "Reset")
    page.says("Trace A", TRACE)
    assert page.faults() == []

    picker = page.panel(PHOTO)
    picker.scroll_into_view_if_needed()
    page.says("Rim of the recess: 16 points over 330°, diameter 1.3187 ± 0.0099 mm", PHOTO)
    handle = page.handle(ACROSS, PHOTO)
    handle.focus()
    handle.press("Home")
    expect(page.number_box(ACROSS, PHOTO)).to_have_value("0", timeout=PATIENCE)
    for _ in range(3):
        handle.press("ArrowRight")
    expect(page.number_box(ACROSS, PHOTO)).to_have_value("3", timeout=PATIENCE)
    page.number_box(ACROSS, PHOTO).fill("216")
    page.number_box(ACROSS, PHOTO).press("Enter")
    page.number_box(DOWN, PHOTO).fill("401")
    page.number_box(DOWN, PHOTO).press("Enter")
    expect(picker.get_by_role("img", name="magnifier", exact=False)).to_have_attribute(
        "aria-label", re.compile("at 216, 401"), timeout=PATIENCE
    )
    _press(page, PHOTO, "Add point")
    page.says("Rim of the recess: 17 points", PHOTO)
    expect(picker.get_by_role("img").last).to_have_attribute(
        "aria-label", re.compile("Rim of the recess: 17 points over 3"), timeout=PATIENCE
    )
    _press(page, PHOTO, "Remove last point")
    page.says("Rim of the recess: 16 points", PHOTO)
    picker.get_by_label("Circle by").select_option("squares (algebraic)")
    page.says("diameter 1.3187 ± 0.0099 mm", PHOTO)

    own = page.panel(OWN)
    own.scroll_into_view_if_needed()
    for name, text in (("1: opening [N]", "2.7 lbf"), ("1: letting back [N]", "7.2"), ("2: opening [N]", "12.1")):
        own.get_by_label(name, exact=True).fill(text)
        own.get_by_label(name, exact=True).press("Enter")
    expect(own.get_by_text("letting back cell")).to_be_visible(timeout=PATIENCE)
    own.get_by_label("2: letting back [N]", exact=True).fill("7.1")
    own.get_by_label("2: letting back [N]", exact=True).press("Enter")
    expect(own.get_by_text("Read: two-way pull, 2 rows")).to_be_visible(timeout=PATIENCE)
    _press(page, OWN, "Add row")
    expect(own.get_by_label("6: opening [N]", exact=True)).to_be_visible(timeout=PATIENCE)
    own.get_by_label("Paste here").fill("angle [deg]\tlift [mm]\n0\t0.1\n1\toops")
    _press(page, OWN, "Read")
    expect(own.get_by_text("line 3: lift 'oops'")).to_be_visible(timeout=PATIENCE)
    own.get_by_label("Paste here").fill("angle [deg]\tlift [mm]\n0\t0.1\n1\t0.15")
    _press(page, OWN, "Read")
    expect(own.get_by_text("Read: lift trace, 2 rows")).to_be_visible(timeout=PATIENCE)

    assert page.faults() == []
