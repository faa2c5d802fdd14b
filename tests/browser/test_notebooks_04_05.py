"""Notebooks 04 and 05 as a person uses them: run, choose, slide by key and by mouse, switch the leaf, read the
answer line.
"""

import re

import detentlib as dl
from detentlib.tune import moves, pair
from tests.knives import CARDS

A, B, C = CARDS["A"], CARDS["B"], CARDS["C"]


def _switch(page, word):
    page.panel().get_by_role("button", name=word, exact=True).click()


def _force(knife):
    """As the large number has it."""
    return f"now {dl.feel(knife).break_force:.2f} N"


def test_a_second_ball_on_the_same_leaf_a_leaf_of_its_own_and_none(ran):
    page = ran("04_two_balls_one_spring")
    page.says(f"{_force(B)} {dl.feel(A).break_force / 4.4482216:.2f} lbf")
    page.says("break force 1.00 × ball 1 alone")
    assert page.faults() == []
    page.press("Press-depth difference, mm", "ArrowLeft")
    page.says("both carry, 6.17 N and 8.03 N")
    page.type_number("Press-depth difference, mm", "0.05")
    page.says("ball 2 is idle by 0.050 mm")
    page.drag("Press-depth difference, mm", -200)
    page.says("ball 2 carries")
    page.type_number("Press-depth difference, mm", "0.0015")
    page.says("both carry")
    _switch(page, "second leaf")
    page.says("each leaf presses its own ball")
    _switch(page, "none")
    page.says(f"{_force(A)} 2.71 lbf")
    _switch(page, "Reset")
    _switch(page, "second leaf")
    level = pair.with_second_ball(pair.with_one_ball(B), deeper=0.0)
    page.says(_force(moves.with_second_leaf(level)))
    _switch(page, "thou, lbf")
    page.says("lbf")
    assert page.faults() == []


def test_a_prediction_is_kept_beside_its_answer(ran):
    page = ran("04_two_balls_one_spring")
    words = "About twice as hard"
    page.guess(words)


def test_rim_lead_by_key_mouse_number_and_word(ran):
    page = ran("05_offset_recesses")
    page.says(_force(C))
    page.says("Handover from ball 2 to ball 1 at 1.7° to 1.8°, where both carry: resistance up by 17 %")
    assert page.faults() == []
    page.press("Rim lead, mm", "ArrowRight")
    page.says(f"Rim lead {pair.lead_at_stop(C) + 0.001:.3f} mm")
    page.drag("Rim lead, mm", -120)
    page.says("No handover on opening")
    page.type_number("Rim lead, mm", "0.1")
    page.says(_force(pair.with_rim_lead(C, 0.1)))
    _switch(page, "shifted")
    page.says("Rim lead 0.100 mm")
    _switch(page, "turned")
    page.says("No handover on opening")
    page.says(re.compile(r"Rim lead −0\.0\d\d mm"))
    _switch(page, "Reset")
    page.press("Blade angle, °", "End")
    page.says("ball 1 on the flat")
    assert page.faults() == []
