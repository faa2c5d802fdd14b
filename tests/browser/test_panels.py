"""The panels in a real JupyterLab: sliders, exact numbers, units, keys, a drag, a narrow window; and nothing cut off or jumping."""

import re

import pytest
from playwright.sync_api import expect

CUT = """panel => [...panel.querySelectorAll('.widget-label, button')]
    .filter(e => e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 2).map(e => e.textContent)"""
TIPS = "panel => [...panel.querySelectorAll('[title]')].filter(e => e.offsetParent).map(e => e.title)"
BORE, REST, ANGLE = "Recess diameter, mm", "Rest offset, mm", "Blade angle, °"


@pytest.fixture
def one_ball(open_notebook):
    """A function (width, height) that gives notebook 01, run, its panel in view; with a fresh kernel for each test."""
    pages = []

    def opened(width=1280, height=860):
        pages.append(_run(open_notebook("01_one_ball", width, height)))
        return pages[-1]

    yield opened
    for page in pages:
        _end(page)


def _run(page):
    assert page.run_all()
    page.picture().wait_for()
    page.picture().scroll_into_view_if_needed()
    page.page.wait_for_function("e => e.innerText", arg=_status(page).element_handle())  # what is out of view has no text to read
    return page


def _end(page):
    """End the kernel: it would hand the widgets of this test to the next page on the notebook."""
    page.page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.shutdown()")


def _status(page, place=0):
    return page.panel(place).get_by_role("status").first


def _boxes(page):
    """Where answer line and picture stand within the panel, and the panel's height."""
    panel = page.panel().bounding_box()
    places = [part.bounding_box() for part in (_status(page), page.picture())]
    return [(round(place["x"] - panel["x"]), round(place["y"] - panel["y"])) for place in places], round(panel["height"])


def test_an_arrow_key_moves_the_picture_and_the_words(one_ball):
    page = one_ball()
    before = page.answer()
    page.press(BORE, "ArrowRight")
    expect(page.number_box(BORE)).to_have_value("1.3218")
    expect(_status(page)).not_to_have_text(before)
    expect(page.picture()).to_have_attribute("alt", re.compile(re.escape(page.answer())))
    page.press(BORE, "ArrowLeft")
    expect(_status(page)).to_have_text(before)
    assert not page.complaints()
    assert not page.errors


def test_a_number_is_typed_exactly(one_ball):
    page = one_ball()
    page.type_number(BORE, "1.1811")
    expect(page.number_box(BORE)).to_have_value("1.1811")
    expect(_status(page)).to_contain_text("at 41.1°")


def test_units_change_back_and_forth_without_changing_the_knife(one_ball):
    page = one_ball()
    before = page.answer()
    page.panel().get_by_role("button", name="thou, lbf").click()
    expect(page.number_box("Recess diameter, thou")).to_have_value("52")
    expect(page.number_box("Rest offset, thou")).to_have_value("4.1339")
    expect(_status(page)).to_contain_text("rim gap 23.6 thou")
    page.press("Recess diameter, thou", "ArrowRight")
    page.press("Recess diameter, thou", "ArrowLeft")
    page.panel().get_by_role("button", name="mm, N").click()
    expect(page.number_box(BORE)).to_have_value("1.3208")
    expect(_status(page)).to_have_text(before)


def test_an_impossible_setting_keeps_the_picture_and_says_why(one_ball):
    page = one_ball()
    page.press(REST, "Home")
    expect(page.picture()).to_have_attribute("alt", re.compile(re.escape(page.answer())))
    source = page.picture().get_attribute("src")
    page.press(BORE, "End")
    expect(_status(page)).to_contain_text("This cannot be. Recess diameter = ")
    assert page.picture().get_attribute("src") == source
    expect(page.picture()).to_have_css("filter", "grayscale(1)")
    page.panel().get_by_role("button", name="Reset").click()
    expect(page.picture()).to_have_css("filter", "none")
    expect(page.number_box(BORE)).to_have_value("1.3208")


def test_nothing_jumps_and_all_is_in_view(one_ball):
    page = one_ball()
    places = _boxes(page)
    picture = page.picture().bounding_box()
    assert places[1] <= 600
    assert picture["width"] == 770
    for label, key in ((BORE, "Home"), (ANGLE, "End"), (REST, "Home"), (BORE, "End")):
        page.press(label, key)
        assert _boxes(page) == places
    page.panel().get_by_role("button", name="thou, lbf").click()
    expect(page.number_box("Recess diameter, thou")).to_be_visible()
    assert _boxes(page) == places


def test_a_narrow_window_wraps_it(one_ball):
    page = one_ball(700, 1000)
    slider, picture = page.handle(ANGLE).bounding_box(), page.picture().bounding_box()
    assert picture["y"] > slider["y"]
    assert picture["x"] + picture["width"] <= 700
    assert page.panel().evaluate(CUT) == []


def test_a_dragged_slider_ends_where_the_hand_lets_go(one_ball):
    page = one_ball()
    handle, mouse = page.handle(ANGLE), page.page.mouse
    handle.hover()
    box = handle.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    mouse.down()
    mouse.move(x + 100, y, steps=40)
    mouse.up()
    said = float(handle.get_attribute("aria-valuetext"))
    assert said > 1.0
    expect(page.number_box(ANGLE)).to_have_value(f"{said:g}")
    expect(_status(page)).to_contain_text(f"At {said:.1f}°")
    page.page.wait_for_timeout(500)  # nothing late moves it back
    assert float(handle.get_attribute("aria-valuetext")) == said
    assert f"At {said:.1f}°" in page.answer()


def test_the_panels_of_the_start_page(open_notebook):
    page = open_notebook("00_start_here")
    stills = page.page.locator(".jp-OutputArea-output img[src^='data:image/png']")
    stills.first.wait_for(state="attached")
    _run(page)
    for place in range(3):
        assert page.panel(place).evaluate(CUT) == []
        assert "null" not in page.panel(place).evaluate(TIPS)
    before = page.answer()
    page.panel().get_by_label("Try", exact=True).select_option("dry and dirty, friction 0.30")
    expect(page.number_box("Friction at the rim")).to_have_value("0.3")
    expect(_status(page)).not_to_have_text(before)
    page.panel().get_by_role("button", name="letting back").click()
    expect(_status(page)).to_contain_text("it closes against up to")
    page.panel().get_by_role("button", name="Reset").click()
    expect(page.number_box("Friction at the rim")).to_have_value("0.12")
    expect(_status(page)).to_have_text(before)
    _end(page)
