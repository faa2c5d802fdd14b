"""Notebook 06 as a person uses it: run, turn the blade by key, by number and by try, move a run-off, read the answer line."""

import pytest
from playwright.sync_api import expect

import detentlib as dl
from tests.browser.test_notebooks_04_05 import CUT_OFF, PATIENCE, SPILLS, TOO_WIDE
from tests.knives import B

ANGLE, OFF = "Blade angle, °", "Run-off of ball 1, °"


@pytest.fixture
def page(open_notebook):
    """The notebook, run in a window of 1,000 px, with its panel in view."""
    page = open_notebook("06_around_the_tang", 1000, 900)
    assert page.run_all()
    assert page.complaints() == []
    page.panel().scroll_into_view_if_needed()
    expect(page.picture()).to_be_visible(timeout=PATIENCE)
    return page


def _says(page, words):
    expect(page.panel().get_by_role("status").first).to_contain_text(words, timeout=PATIENCE)


def test_the_blade_goes_round_and_a_run_off_moves(page):
    _says(page, "At 0.0°: ball 1 on its rim with 14.21 N (3.20 lbf); ball 2 idle by 0.051 mm")
    page.press(ANGLE, "ArrowRight")
    assert page.number_box(ANGLE).input_value() == "0.1"
    assert f"{dl.sweep(B, [0.1]).tab_force[0]:.2f} N" in page.answer()
    page.press(ANGLE, "End")
    assert page.answer().startswith("At 178.0°: bar face on the tang")
    page.type_number(ANGLE, "169")
    _says(page, "ball 1 on the tang edge with 16.91 N")
    page.panel().get_by_label("Try").select_option("ball 2 has taken over")
    _says(page, "ball 2 on the flat with 17.05 N")
    page.type_number(OFF, "150")
    _says(page, "Ball 1 runs off at 150.0°; ball 2 takes over 0.262 mm further")
    assert page.answer() in page.picture().get_attribute("alt")
    page.panel().get_by_role("button", name="Reset").click()
    _says(page, "At 0.0°: ball 1 on its rim")
    assert page.page.evaluate(CUT_OFF) == []
    assert page.page.evaluate(TOO_WIDE) == []
    assert not page.panel().evaluate(SPILLS)
    assert page.panel().bounding_box()["height"] < 640
    assert page.errors == []
