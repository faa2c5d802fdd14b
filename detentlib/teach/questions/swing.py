"""The questions of notebook 06: the whole swing, around the tang; entered in table.py."""

import math

from ...mechanics.feel import feel
from ...mechanics.strength import DENT, marks
from ...mechanics.swing import swing
from ...units import both
from ...workshop.pair import TWO_THOU
from ..panels.swing_story import leavings, loads_in
from ..working import Worked, product, quotient, total
from .asking import Choice, Given, Mistake, Question, demo, nearest

_BALL = Given(1.5875, "mm", "1/16 in (1.5875 mm)")


def _edge():
    knife = demo("pellowfen-b")
    gone = leavings(knife, swing(knife))[0]
    later = gone.until_deg - gone.angle_deg
    said = (
        f"Ball 1 reaches the edge at {gone.angle_deg:.2f}° and rolls down it. Ball {gone.to + 1} has the bar {later:.2f}° later, "
        f"{both(gone.past, 'mm')} past the edge. Until then the bar comes down by {both(gone.drop, 'mm')}."
    )
    return nearest(later, {"a": 0.0, "b": 2.0, "c": -gone.angle_deg}), said


def _outer():
    """Ball 2 of B and of C on the flat and on its rim, while ball 1 is on the tang: the same flat, another rim."""
    told = {}
    for name in ("pellowfen-b", "pellowfen-c"):
        knife = demo(name)
        swung = swing(knife)
        before = [each for each in swung.stretches if each.carrier == 1 and each.to_deg <= knife.balls[0].run_off_deg]
        told[name] = [(each.touching, each, loads_in(swung, each)) for each in before]
    (_, held, loads), *_ = told["pellowfen-c"]
    flat = any(words.endswith("flat") for each in told.values() for words, *_ in each)
    rim = {name for name, each in told.items() if any(words.endswith("rim") for words, *_ in each)}
    right = "c" if flat else "b" if rim else "a"
    said = (
        f"Until ball 1 runs off, ball 2 rides the flat on neither B nor C. Yet on C it holds the bar on its rim up to {held.to_deg:.2f}°, "
        f"with {loads[0]:.1f} to {loads[1]:.1f} N. The track cannot tell the two apart. The rim can: ink it."
    )
    return right, said


def _bright():
    knife = demo("pellowfen-a")
    felt = feel(knife)
    found = marks(knife, felt)
    right = "c" if felt.ride_load >= found.static else "b" if felt.ride_load > found.first_yield else "a"
    said = (
        f"The ball rides with {felt.ride_load:.1f} N. Hard steel first yields under it from {found.first_yield:.1f} N on, but the bearing maker's limit, "
        f"a dent of a ten-thousandth of the ball, is {found.static:.1f} N. So the dent stays below {1e3 * DENT * knife.balls[found.ball].diameter:.2f} µm, "
        "and nobody sees it. What shines is burnished: the first turns iron the finest scratches flat, and flat they stay."
    )
    return right, said


def _roll_off(ball, deeper):
    radius = ball / 2
    cosine = quotient("The edge lies on the ball's circle, which has sunk by the press-depth difference: the cosine there.", "c", radius - deeper, radius, "")
    angle = math.acos(cosine.value)
    return [
        cosine,
        Worked("The angle of that cosine.", lambda: rf"\varphi = \arccos {cosine.value:.5g} = {math.degrees(angle):.4g}^\circ", math.degrees(angle), "deg"),
        product("So the ball's axis is past the edge by radius times sine.", "x", radius, math.sin(angle), "mm"),
    ]


def _swing_drag(load, friction, track, pivot, opening):
    push = product("The ball drags on the flat with", "F", load, friction, "N")
    torque = product("On its track that is a torque.", "T_f", push.value, track, "N·mm")
    both_drags = total("The pivot drags as well.", "T", torque.value, pivot, "N·mm")
    return [torque, both_drags, product("Work is torque times angle, in radians.", "W", both_drags.value, math.radians(opening), "mJ")]


def _bigger_ball(force, small, large):
    ratio = quotient("The larger ball is so many times as large.", "x", large, small, "")
    return [ratio, product("At one pressure the force goes with the square of it (S2).", "N", force, ratio.value**2, "N")]


SWING = (
    Choice(
        "06-edge",
        "Pellowfen B, ball 2 pressed 2 thou deeper. Ball 1 comes to the edge of the tang at 168°. When does the bar stand on ball 2?",
        {"a": "At 168°: it drops off the edge", "b": "About 2° later", "c": "It has stood on it all the way"},
        _edge,
        ("The ball is round. How far down is it when its axis has just passed the edge?",),
        {
            "a": "“It drops at the edge.” A ball rolls down an edge as it climbs out of a recess, only backwards: it takes travel to sink by 2 thou.",
            "c": "“The second ball carries too.” It hangs clear until ball 1 has sunk far enough. Then it has the bar, not before.",
        },
    ),
    Choice(
        "06-outer",
        "There is one bright track on the tang, where ball 1 runs, and none where ball 2 should. What does that prove of ball 2?",
        {"a": "It is idle all the way", "b": "It does not ride the flat, no more than that", "c": "It rides with less force"},
        _outer,
        ("A ball can hold the bar in two places: on its rim and on the flat. Which of them leaves a track?",),
        {
            "a": "“No outer track, so the second ball idles.” Partly: it does not ride the flat. At rest it may still have the whole bar on its rim.",
            "c": "“Half the force, no mark.” On one bar a ball that rides at all has the bar to itself, and marks like the other.",
        },
    ),
    Choice(
        "06-bright",
        "Ilby wipes the ink off a new Pellowfen A after twenty cycles. There is a bright track on the hard tang already. What has happened?",
        {"a": "It wears: in a year it is worn out", "b": "It was burnished at once, and now stays", "c": "The bar is too strong: it cuts a groove"},
        _bright,
        ("Compare the force on the ball with two limits: where steel first yields under it, and where a bearing maker stops.",),
        {
            "a": "“A bright track means worn out.” Wear takes thousands of turns. This came with the first, and then it stays as it is.",
            "c": "“It cuts a groove.” That would take more than the bearing maker's limit.",
        },
    ),
    Question(
        "06-roll",
        "Two {ball} balls at equal distances, the second pressed {deeper} deeper. Ball 1 rolls off a square, sharp edge. "
        "How far is its axis past the edge when ball 2 takes over?",
        {"ball": _BALL, "deeper": Given(TWO_THOU, "mm", "2 thou (0.0508 mm)")},
        "mm",
        _roll_off,
        (
            "Ball 2 takes over when ball 1 has sunk by the press-depth difference.",
            "Draw the ball's circle. The edge touches it that far below the top: how far to the side?",
        ),
        (
            Mistake(lambda ball, deeper: 0.0, "it does not drop at the edge: it rolls down it, and that takes travel."),
            Mistake(lambda ball, deeper: deeper, "that is how far it sinks. To sink by so little a round ball must travel much further."),
            Mistake(lambda ball, deeper: ball / 2, "that is where it leaves the tang altogether. It need only sink by the press-depth difference."),
            Mistake(lambda ball, deeper: math.sqrt(ball * 2 * deeper), "the ball's diameter went in where its radius belongs."),
        ),
    ),
    Question(
        "06-drag",
        "The ball rides with {load} on a track of {track}, with friction {friction}; the pivot drags with {pivot}. "
        "What does the hand put in over {opening} of flat?",
        {
            "load": Given(17.0, "N"),
            "friction": Given(0.12, ""),
            "track": Given(8.0, "mm"),
            "pivot": Given(3.0, "N·mm"),
            "opening": Given(164.0, "deg"),
        },
        "mJ",
        _swing_drag,
        ("Torque of both drags first.", "Work is torque times angle, and the angle must be in radians."),
        (
            Mistake(
                lambda load, friction, track, pivot, opening: _swing_drag(load, friction, track, 0.0, opening)[-1].value,
                "that leaves out the drag of the pivot.",
            ),
            Mistake(
                lambda load, friction, track, pivot, opening: _swing_drag(2 * load, friction, track, pivot, opening)[-1].value,
                "that counts the bar twice. However many balls there are, one bar presses once.",
            ),
            Mistake(
                lambda load, friction, track, pivot, opening: (load * friction * track + pivot) * opening,
                "the angle went in as degrees. Work is torque times the angle in radians.",
            ),
        ),
    ),
    Question(
        "06-larger",
        "Hard steel first yields under a ball of {small} at {force}. At what force does it under one of {large}?",
        {"force": Given(8.8, "N"), "small": Given(1.5875, "mm", "1/16 in (1.5875 mm)"), "large": Given(2.38125, "mm", "3/32 in (2.38125 mm)")},
        "N",
        _bigger_ball,
        ("At one pressure the spot grows with the ball, both ways.",),
        (
            Mistake(lambda force, small, large: force * large / small, "that goes with the size of the ball. The spot grows both ways, so take the square."),
            Mistake(lambda force, small, large: force, "a larger ball spreads its force over a larger spot."),
            Mistake(lambda force, small, large: force * (small / large) ** 2, "upside down: the larger ball stands more, not less."),
        ),
    ),
)
