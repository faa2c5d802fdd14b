"""Notebook 10 as a person uses it: run all, answer on the practice bench with one slip and then right, take a hint,
change topic and seed; and by keys alone.
"""

import re

import pytest
from playwright.sync_api import expect

import detentlib as dl
from tests.browser.lab import PATIENCE


@pytest.fixture
def page(ran):
    return ran("10_apprentice_bench")


def test_practice_by_boxes_and_buttons(page):
    open_page = page.page
    topic = open_page.get_by_label("Topic", exact=True).last  # the bench is shown twice
    topic.scroll_into_view_if_needed()
    bench = open_page.locator(".widget-vbox", has=open_page.get_by_label("Topic", exact=True)).last

    def says(words):
        expect(bench).to_contain_text(words, timeout=PATIENCE)

    def fill(number, text):
        box = bench.get_by_label(f"Answer {number}", exact=True)
        box.fill(text)
        box.press("Enter")

    topic.focus()
    cells = page.cells()
    open_page.keyboard.type("lift")
    asked, gap = dl.practice("lift", 3).parts
    says(asked.asked)
    assert page.cells() == cells
    fill(1, f"{90 - asked.answer:.2f}")
    says("that is counted from the ball's side")
    says("1 asked, 0 right, 0 at the first try")
    fill(1, f"{asked.answer:.2f}")
    bench.get_by_label("Answer 2", exact=True).fill(f"{gap.answer / 0.0254:.2f}")
    bench.get_by_title("Answer 2: unit").select_option("thou")
    bench.get_by_role("button", name="Check").last.click()
    says("2 asked, 2 right, 1 at the first try")
    topic.select_option("who carries")
    clear, which = dl.practice("who carries", 3).parts
    says(which.asked)
    bench.get_by_role("button", name="Hint").first.click()
    says(f"Hint 1 of {len(clear.hints)}: ")
    bench.get_by_role("button", name="Show the working").first.click()
    says("Answer first")
    fill(1, "1 thou")
    bench.get_by_role("button", name="Show the working").first.click()
    expect(bench.locator("mjx-container").first).to_be_visible(timeout=PATIENCE)
    seed = bench.get_by_label("Seed", exact=True)
    seed.fill("12")
    seed.press("Enter")
    says(re.compile(re.escape(dl.practice("who carries", 12).parts[0].asked)))
    bench.get_by_role("button", name="New numbers").click()
    says(dl.practice("who carries", 13).parts[0].asked)
    cells, more = page.cells(), bench.get_by_role("button", name="What you can do now")
    for key, opened in (("Enter", "true"), (" ", "false"), ("Enter", "true")):
        more.press(key)
        expect(more).to_have_attribute("aria-expanded", opened)
    assert page.cells() == cells
    expect(bench.get_by_role("table")).to_contain_text("tell which ball carries", timeout=PATIENCE)
    assert page.faults() == []


def test_a_report_by_boxes(page):
    open_page = page.page
    found = open_page.get_by_label("Found", exact=True)
    found.scroll_into_view_if_needed()
    found.fill("Recess 2 is a drill too small.")
    found.press("Tab")
    expect(open_page.get_by_text("Found. Recess 2 is a drill too small.")).to_be_visible(timeout=PATIENCE)
    open_page.get_by_role("button", name="Write the page").press("Enter")
    expect(open_page.get_by_text("Saved as report-c.html.")).to_be_visible(timeout=PATIENCE)
    assert page.faults() == []


def test_every_control_is_reached_by_tab_and_shows_it(page):
    assert page.by_tab() == []
