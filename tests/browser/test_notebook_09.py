"""Notebook 09 as a person uses it: run, pick a side, flip a switch, choose another claim, break it, and read a page
on a phone.
"""

import re

import pytest
from playwright.sync_api import expect

import detentlib as dl
from detentlib.argue.judging import judge
from detentlib.pages.post import post_page
from tests.browser.lab import PATIENCE
from tests.knives import CARDS

B, C = CARDS["B"], CARDS["C"]


@pytest.fixture
def page(ran):
    return ran("09_settle_an_argument")


def test_pick_a_side_then_settle_it(page):
    side = "oldrelief: it does nothing at all"
    page.guess(side)
    assert page.faults() == []


def test_compose_a_claim_and_see_what_is_wrong_beside_its_box(page):
    card = page.panel(1)
    page.says(
        "TRUE" if judge(dl.Claim.compose("break_force", of="second leaf"), C).word == "true" else "CANNOT TELL", 1
    )
    card.get_by_role("textbox").first.fill("zwei")
    card.get_by_role("textbox").first.press("Tab")
    expect(card.get_by_text("“zwei” is no number from")).to_be_visible(timeout=PATIENCE)
    page.panel(1).get_by_role("button", name="Reset").click()
    page.says("at least 2 times", 1)
    expect(card.get_by_role("button", name="Write the page")).to_be_enabled(timeout=PATIENCE)
    expect(page.picture(1)).to_be_visible(timeout=PATIENCE)
    assert page.faults(1) == []


def test_flip_a_switch_and_see_the_verdict_change(page):
    """It comes last on this page: Reset takes back the switches, not the claim that was chosen."""
    page.says("CANNOT TELL with these instruments")
    before = page.picture().get_attribute("src")
    page.panel().get_by_role("button", name="exact").click()
    page.says("FALSE")
    page.says(judge("nothing", C, card="exact").figure)
    expect(page.picture()).not_to_have_attribute("src", before, timeout=PATIENCE)
    assert "every number" not in page.answer().split("\n")[0]
    page.panel().get_by_role("button", name="Reset").click()
    page.says("CANNOT TELL")
    page.panel().get_by_label("Claim").focus()
    cells = page.cells()
    page.page.keyboard.type("My calipers")
    page.says(judge("calipers", C).figure)
    assert page.cells() == cells
    page.panel().get_by_role("button", name="Break it").click()
    expect(page.panel().get_by_text("It becomes true")).to_be_visible(timeout=PATIENCE)
    assert page.faults() == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("claim", ["doubles", "nothing", "both-touch"])
def test_a_posted_page_prints_on_one_sheet(browser, tmp_path, claim, paper):
    _, html, *_ = post_page(judge(claim, CARDS["A"]), tmp_path / "page")
    sheet = browser.new_page()
    sheet.goto(html.as_uri())
    assert len(re.findall(rb"/MediaBox", sheet.pdf(format=paper))) == 1
    sheet.close()


def test_a_posted_page_fits_a_phone(browser, tmp_path):
    _, html, *_ = post_page(judge("halves", B), tmp_path / "page")
    context = browser.new_context(viewport={"width": 390, "height": 844})
    phone = context.new_page()
    phone.goto(html.as_uri())
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    assert phone.evaluate("document.images[0].complete && document.images[0].naturalWidth > 0")
    assert phone.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 14
    expect(phone.get_by_text("Verdict: cannot tell with these instruments.")).to_be_visible()
    context.close()
