"""Notebook 08 as a person uses it: run, read the tables, move the preset to its ends, the stop pin into the window,
choose a drill.
"""

import pytest
from playwright.sync_api import expect

import detentlib as dl
from detentlib.tune.moves import as_made
from tests.browser.lab import PATIENCE, where
from tests.knives import CARDS

A = CARDS["A"]

PRESET, STOP = "Preset, mm", "Stop pin thicker, mm"


@pytest.fixture
def page(ran):
    return ran("08_tune_a_knife")


def test_the_tables_are_there_and_the_panel_moves(page):
    tables = page.page.locator(".jp-OutputArea table")
    expect(tables.filter(has_text="The measurement that decides").locator("del").first).to_be_attached(timeout=PATIENCE)
    expect(tables.filter(has_text="pivot eased by").first).to_be_attached()
    expect(tables.filter(has_text="share inside")).to_be_attached()
    expect(tables.filter(has_text="rest offset, parts")).to_be_attached()
    page.says("1.05 N above what is wanted, 9.00 N to 11.00 N.")
    page.press(PRESET, "Home")
    page.says("below what is wanted")
    page.says("check the lock-up")
    page.press(PRESET, "End")
    page.says("Nearest limit: yield of the relief, 76 % used")
    page.panel().get_by_role("button", name="Reset").click()
    page.says("break force 12.05 N")
    page.type_number(STOP, "0.15")
    pinned = dl.feel(A.replace(as_made(A, {"pin": 0.15})))
    page.says("Inside what is wanted, 9.00 N to 11.00 N.")
    page.says(f"break force {pinned.break_force:.2f} N")
    assert "check the lock-up" not in page.answer()
    assert "The pin may set the open stop" in page.answer()
    page.panel().get_by_role("button", name="Reset").click()
    page.panel().get_by_role("button", name="No. 54").click()
    page.says(f"break force {dl.feel(A.replace({'balls[0].recess.diameter': 1.397})).break_force:.2f} N")
    assert page.sentence() in page.picture().get_attribute("alt")
    assert page.faults() == []
    assert where(page.panel())["height"] < 640
