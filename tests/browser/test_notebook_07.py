"""Notebook 07 as a person uses it: run, choose a trace, pick points by click and by key, give readings of one's own."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser import lab as labs
from tests.browser.lab import PATIENCE, where

TRACE, PHOTO = 0, 1
ACROSS, DOWN = "Crosshair across, px", "Crosshair down, px"


@pytest.fixture
def page(ran):
    return ran("07_measure_a_knife")


@pytest.fixture
def remembering(browser, tmp_path):
    """The Page of a person, which remembers readings; run once."""
    with labs.jupyterlab(tmp_path, remembers=True) as address:
        window = browser.new_page(viewport={"width": 1000, "height": 900})
        page = labs.Page(window, address, "07_measure_a_knife")
        assert page.run_all()
        yield page
        page.end()


def _press(page, place, name):
    page.panel(place).get_by_role("button", name=name, exact=True).click()


def test_traces_and_photo(page):
    page.says("this card explains them", TRACE)
    _press(page, TRACE, "C")
    page.says("this card does not explain them", TRACE)
    page.type_number("Recess diameter, mm", "1.28")
    page.says("Rim gap 0.577 mm", TRACE)
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

    # the middle of the photo, then a quarter of the 44 px of the magnifier to the right; give or take a pixel or two
    for name, share, across in (("Photo, ", 0.5, "4(7[789]|8[0123])"), ("magnifier", 0.75, "4(8[89]|9[01234])")):
        drawing = picker.get_by_role("img", name=name, exact=False)
        box = where(drawing)
        drawing.click(position={"x": box["width"] * share, "y": box["height"] / 2})
        expect(page.number_box(ACROSS, PHOTO)).to_have_value(re.compile(across), timeout=PATIENCE)
        expect(page.number_box(DOWN, PHOTO)).to_have_value(re.compile("39[789]|40[0123]"), timeout=PATIENCE)
        page.says("Rim of the recess: 17 points", PHOTO)
    _press(page, PHOTO, "Remove last point")
    page.says("Rim of the recess: 16 points", PHOTO)
    assert page.faults() == []


def test_own_readings_are_typed_used_and_seen_in_every_cell(remembering):
    page = remembering
    own = page.page.locator(".detent-readings")
    own.scroll_into_view_if_needed()
    expect(own.get_by_text("None yet: the page takes the demo's")).to_be_visible(timeout=PATIENCE)
    pulls = (("2.9 lbf", "7.0"), ("13.1", "7.1"), ("13.0", ""))
    for row, cells in enumerate(pulls, 1):
        for name, text in zip(("opening [N]", "letting back [N]"), cells, strict=True):
            own.get_by_label(f"{row}: {name}", exact=True).fill(text)
            own.get_by_label(f"{row}: {name}", exact=True).press("Enter")
    use = own.get_by_role("button", name="Use these", exact=True)
    use.click()
    expect(own.get_by_text("Not used yet.")).to_be_visible(timeout=PATIENCE)
    own.get_by_label("3: letting back [N]", exact=True).fill("6.9")
    use.click()
    expect(own.get_by_text("Two-way pull: yours, 3 rows, typed.")).to_be_visible(timeout=PATIENCE)
    assert page.run_all()
    assert page.complaints() == []
    text = page.printed()
    assert "Two-way pull: yours, 3 rows, typed." in text
    assert "opens at 13.00 ±" in text
    assert "The fit takes yours alone." in text
    assert "Lift trace: none of yours, so it is left out." in text
    expect(own.get_by_label("1: opening [N]", exact=True)).to_have_value("2.9 lbf", timeout=PATIENCE)

    own.get_by_label("How").select_option("paste it from a spreadsheet")
    own.get_by_label("Paste here").fill("opening [N]\tletting back [N]\n12\t7.1\n12.2\toops")
    use.click()
    expect(own.get_by_text("line 3: letting back 'oops'").first).to_be_visible(timeout=PATIENCE)
    own.get_by_label("How").select_option("a CSV file")
    own.get_by_label("CSV file").fill("readings/two-way-pull-c.csv")
    own.get_by_label("CSV file").press("Enter")
    use.click()
    expect(own.get_by_text("Two-way pull: yours, 5 rows from readings/two-way-pull-c.csv.")).to_be_visible(
        timeout=PATIENCE
    )
    own.get_by_role("button", name="Back to the demo", exact=True).click()
    expect(own.get_by_text("None yet: the page takes the demo's")).to_be_visible(timeout=PATIENCE)
    assert page.faults() == []


def test_nothing_is_wider_than_a_phone_and_no_answer_is_cut_off(page):
    page.page.set_viewport_size({"width": 390, "height": 844})
    pane = page.page.locator(".jp-WindowedPanel-outer")
    for top in range(0, pane.evaluate("pane => pane.scrollHeight"), 600):
        pane.evaluate("(pane, top) => { pane.scrollTop = top; }", top)
        page.page.wait_for_timeout(200)  # what is out of sight is not drawn
        assert [page.page.evaluate(look) for look in (labs.TOO_WIDE, labs.CUT_OFF)] == [[], []]
