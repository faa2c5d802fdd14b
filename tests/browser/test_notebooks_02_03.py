"""Notebooks 02 and 03 as a person uses them: run, slide, type, try what is proposed, change the units; nothing is
cut off.
"""

from playwright.sync_api import expect

import detentlib as dl
from detentlib.knife.units import both
from detentlib.tune.moves import with_relief
from tests.browser.lab import where
from tests.knives import CARDS

CARD = CARDS["A"]

LOADED = "() => [...document.querySelectorAll('.jp-RenderedMarkdown img')].map(each => each.naturalWidth > 0)"


def _as_it_should_look(page):
    assert page.faults() == []
    shown = page.page.evaluate(LOADED)
    assert shown
    assert all(shown)
    box, panel = where(page.picture()), where(page.panel())
    assert panel["height"] < 620
    assert box["x"] + box["width"] <= panel["x"] + panel["width"] + 1


def test_a_thou_off_the_relief_by_key_by_number_by_try_and_in_thou(ran):
    page = ran("02_one_spring")
    page.says(f"Seated the ball presses with {both(dl.feel(CARDS['A']).rest_load, 'N')}")
    start = page.sentence()
    page.press("Relief thickness, mm", "ArrowLeft")
    assert page.number_box("Relief thickness, mm").input_value() == "1.098"
    page.says(both(dl.feel(with_relief(CARD, 1.098)).rest_load, "N"))
    page.type_number("Relief thickness, mm", "1.0746")
    thinner = both(dl.feel(with_relief(CARD, 1.0746)).rest_load, "N")
    page.says(thinner)
    page.panel().get_by_role("button", name="Reset").click()
    page.says(start)
    page.panel().get_by_label("Try").select_option("one thou off the relief")
    page.says(thinner)
    assert page.sentence() in page.picture().get_attribute("alt")
    page.panel().get_by_role("button", name="Reset").click()
    page.panel().get_by_role("button", name="thou, lbf").click()
    page.says("3.19 lbf (14.21 N)")
    expect(page.number_box("Relief thickness, thou")).to_have_value("43.307")
    page.press("Preset, thou", "ArrowRight")
    page.press("Preset, thou", "ArrowLeft")
    page.panel().get_by_role("button", name="mm, N").click()
    page.says(start)
    _as_it_should_look(page)


def test_friction_the_way_back_and_the_place_of_the_push(ran):
    page = ran("03_the_snap")
    page.says(f"Break force {both(dl.feel(CARDS['A']).break_force, 'N')}")
    page.type_number("Friction at the rim", "0.3")
    dry = dl.feel(CARD.replace({"friction.rim": 0.3}))
    page.says(f"Break force {both(dry.break_force, 'N')}, let-back {dry.letback_force:.2f} N")
    page.panel().get_by_role("button", name="letting back").click()
    page.says("it closes against up to")
    page.panel().get_by_label("Try").select_option("push at the stud")
    page.says("21 mm from the pivot")
    page.says(f"Break force {dl.feel(CARDS['A']).stud_break_force:.2f} N")
    _as_it_should_look(page)
