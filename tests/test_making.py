"""What an error of the making leaves: each row is the knife felt again, the sizes follow by a triangle."""

import math
from dataclasses import replace

import pytest

import detentlib as dl
from detentlib.tune.making import making
from detentlib.tune.moves import preset
from tests.knives import CARDS, A, C

R = "balls[0].recess."
AS_MADE = [
    ("recess 0.0508 mm (2.00 thou) towards closed, along the track", {R + "rest_offset": 0.06 - 0.0508}),
    ("recess 0.0508 mm (2.00 thou) towards open, along the track", {R + "rest_offset": 0.06 + 0.0508}),
    ("recess 0.0508 mm (2.00 thou) beside the track", {R + "off_track": 0.0508}),
    ("hole 0.0200 mm (0.787 thou) wide", {R + "diameter": 1.3408}),
    (
        "ball pressed 0.0254 mm (1.00 thou) too deep",
        {"balls[0].protrusion": 0.42 - 0.0254, "bar.riding_force": 17.04 - 0.0254 * dl.feel(A).rate},
    ),
]


@pytest.mark.parametrize(("words", "changes"), AS_MADE)
def test_a_row_is_the_knife_felt_again(words, changes):
    (slip,) = [each for each in making(A).slips if each.words == words]
    again = dl.feel(A.replace(changes))
    assert slip.felt.break_force == pytest.approx(again.break_force)
    assert slip.felt.rim_gap[0] == pytest.approx(again.rim_gap[0])


def test_a_recess_towards_open_is_met_lower_and_the_table_says_by_how_much():
    """On a bar that is stiff sideways the rim gap is half the hole less the rest offset: 0.5496 2 thou on."""
    (row,) = [
        line for line in str(making(A)).splitlines() if line.startswith("recess 0.0508 mm (2.00 thou) towards open")
    ]
    assert "0.1108 mm (4.36 thou)" in row
    assert "0.5496 mm (21.6 thou)" in row
    change = dl.feel(A.replace({R + "rest_offset": 0.1108})).break_force / dl.feel(A).break_force - 1
    assert f"{100 * change:.0f} %".replace("-", "−") in row


def test_a_floor_that_is_too_shallow_holds_the_blade_off_its_stop():
    (slip,) = [each for each in making(A).slips if each.words.startswith("floor")]
    seat = dl.feel(A).seat_depth[0]
    assert slip.numbers == {R + "depth": pytest.approx(seat - 0.05)}
    assert slip.felt.rest_deg > 0
    assert "none, on the floor" in str(making(CARDS["A"]))
    assert f"it rests {slip.felt.rest_deg:.2f}° off the stop" in str(making(A))


def test_every_ball_has_its_rows_and_a_ball_that_takes_over_is_told():
    made = making(C)
    assert [slip.ball for slip in made.slips] == sorted([0, 1] * 7)
    assert "ball 1 carries at rest" in str(made)
    assert str(made).count("as drawn") == 2


def test_an_error_that_cannot_work_says_why():
    steep = A.replace({R + "diameter": 1.68})
    (slip,) = [each for each in making(steep, transfer=0.1).slips if "towards closed" in each.words]
    assert slip.felt is None
    assert slip.why
    assert "cannot work" in str(making(steep, transfer=0.1))


def test_the_sizes_that_follow():
    """A pin half of whose thinning, at 12 mm, is 0.06 mm at 8 mm; a cone of 118°; yield by the ratio of stresses."""
    text = " ".join(making(A).notes)
    pin = 0.06 * 2 * 12 / 8.001
    assert f"a stop pin {pin:.4f} mm ({pin / 0.0254:.2f} thou) thinner in diameter" in text
    assert f"is {1.3208 / 2 / math.tan(math.radians(59)):.4f} mm" in text
    felt = dl.feel(A)
    further = preset(A) * (880 / felt.relief_stress_ride - 1)
    assert f"lifted {further:.3f} mm" in text
    ramp = 17.04 * math.tan(math.radians(30) + math.atan(0.12)) * 8.001 / 14
    assert f"30° {ramp:.3f} N" in text
    assert "Common practice: " in text


def test_where_the_track_does_not_end_there_is_no_ramp():
    for end in (None, 179.0):
        assert "Closing ramp" not in str(making(A.replace({"balls[0].run_off_deg": end})))
    bare = replace(CARDS["A"], bar=replace(A.bar, yield_stress=None, material=None), doubts={}, assumed=())
    assert "Over-travel" not in str(making(bare))
