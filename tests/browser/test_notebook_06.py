"""Notebook 06 as a person uses it: run, turn the blade by key, by number and by try, move a run-off, read the answer
line.
"""

import pytest

import detentlib as dl
from detentlib.draw.drawing import SMALL
from tests.browser.lab import where
from tests.knives import CARDS

B = CARDS["B"]

POINT = 72 / 100  # of a pixel of a picture drawn with 100 of them to the inch
ANGLE, OFF = "Blade angle, °", "Run-off of ball 1, °"


@pytest.fixture
def page(ran):
    return ran("06_around_the_tang")


def test_the_blade_goes_round_and_a_run_off_moves(page):
    page.says("At 0.0°: ball 1 on its rim with 14.21 N (3.19 lbf); ball 2 idle by 0.049 mm")
    page.press(ANGLE, "ArrowRight")
    assert page.number_box(ANGLE).input_value() == "0.1"
    page.says(f"{dl.sweep(B, [0.1]).tab_force[0]:.2f} N")
    page.press(ANGLE, "End")
    assert page.sentence().startswith("At 178.0°: ball 2 on the tang edge with 13.12 N")
    page.type_number(ANGLE, "169")
    page.says("ball 1 on the tang edge with 16.93 N")
    page.panel().get_by_label("Try").select_option("ball 2 has taken over")
    page.says("ball 2 on the flat with 17.05 N")
    page.type_number(OFF, "150")
    page.says("Ball 1 runs off at 150.1°; ball 2 takes over 0.262 mm further")
    assert page.sentence() in page.picture().get_attribute("alt")
    page.panel().get_by_role("button", name="Reset").click()
    page.says("At 0.0°: ball 1 on its rim")
    assert page.faults() == []
    assert where(page.panel())["height"] < 640
    drawn = where(page.picture())["width"] / float(page.picture().get_attribute("width"))
    assert drawn * SMALL / POINT >= 10  # px, of the smallest words, in this window of 1000


def test_every_control_of_the_outputs_is_reached_by_tab_and_shows_it(page):
    assert page.by_tab() == []
    assert page.faults() == []
