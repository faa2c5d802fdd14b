"""What can be practised with two balls on one bar; entered in the table of practice.py."""

import math

from ...mechanics.formulas import formulas
from ..questions.asking import Choice, Given, Mistake, Question
from ..questions.table import question
from ..working import Worked, by_formula, product, quotient, total
from .draw import Topic, fresh, seat

_LEAST = 0.012  # mm, the smallest clearance that is asked for: below it the last digit of a depth decides


def _who(draw):
    ball = draw.ball()
    gap_1 = draw.gap(ball)
    gap_2 = round(gap_1 - draw.number(0.02, 0.12, 0.01), 3)
    out_1 = round(0.005 * math.ceil(seat(ball, gap_1).sink / 0.005) + draw.number(0.1, 0.2, 0.005), 3)
    out_2 = round(out_1 - draw.number(0.02, 0.08, 0.005), 3)
    clear = (out_1 - seat(ball, gap_1).sink) - (out_2 - seat(ball, gap_2).sink)
    if abs(clear) < _LEAST or gap_2 < 0.4 * ball.value / 2:
        return None
    by_how_much = fresh("04-who", ball=ball, out_1=out_1, gap_1=gap_1, out_2=out_2, gap_2=gap_2)
    held = [by_how_much.worked()[i].value for i in (1, 3)]
    first = held[0] > held[1]
    beliefs = {
        "a": "“Ball 1 stands out more, so it carries.” What counts is how far it stands out less how deep it sits.",
        "b": "“Ball 2 has the nearer rim, so it carries.” Nearer, yes, but it also stands out less: reckon both.",
        "c": "“Both carry, half each.” The one that holds the bar further off lifts it clear off the other.",
    }
    right = "a" if first else "b"
    said = f"Ball 1 would hold the bar {held[0]:.3f} mm off the tang, ball 2 {held[1]:.3f} mm. The larger one holds it."
    which = Choice(
        "practice-who",
        "And which of the two carries?",
        {"a": "Ball 1", "b": "Ball 2", "c": "Both, half each"},
        lambda: (right, said),
        ("The ball that would hold the bar further off.",),
        {letter: words for letter, words in beliefs.items() if letter != right},
    )
    return by_how_much, which


def _smaller(ball, gap, deeper):
    lines = question("05-touch").solve(ball, gap, deeper)
    return [*lines, product("A smaller recess brings its rim nearer by half of what it is smaller.", r"\Delta D", 2, lines[-1].value, "mm")]


def _touch(draw):
    ball = draw.ball()
    numbers = {"ball": ball, "gap": Given(draw.gap(ball), "mm"), "deeper": draw.deeper(1.0, 3.5)}
    drill = Question(
        "practice-drill",
        "The same {ball} balls, rim gap {gap}, ball 2 pressed {deeper} deeper. Recess 2 is to be drilled smaller until ball 2 just touches. "
        "How much smaller than recess 1 must it be in diameter?",
        numbers,
        "mm",
        _smaller,
        ("Both sides of a smaller recess come nearer.",),
        (
            Mistake(lambda ball, gap, deeper: question("05-touch").solve(ball, gap, deeper)[-1].value, "that is the rim lead. In diameter it counts twice."),
            Mistake(lambda ball, gap, deeper: 2 * deeper, "as much nearer as it is deeper: so it would be at 45°."),
        ),
    )
    return fresh("05-touch", **numbers), drill


def _beyond_touch(draw):
    """Numbers of a handover: ball, rim gap, press-depth difference and a rim lead that makes ball 2 touch; None where they will not do."""
    ball = draw.ball()
    gap, deeper = draw.gap(ball), draw.deeper(1.0, 3.0)
    touch = question("05-touch").solve(ball.value, gap, deeper.value)[-1].value
    lead = round(0.005 * round(touch * draw.number(1.15, 1.9, 0.05) / 0.005), 3)
    over = formulas["C2"](height_difference=deeper.value, rim_lead=lead, ball_radius=ball.value / 2, rim_gap_1=gap)
    if lead <= touch or over.travel < 0.03 or over.phi_2 < math.radians(8) or gap - lead < 0.3 * ball.value / 2:
        return None
    return {"ball": ball, "gap": Given(gap, "mm"), "deeper": deeper, "lead": Given(lead, "mm")}, over


def _angle_at_handover(ball, gap, deeper, lead):
    return question("05-handover").solve(ball, gap, deeper, lead)[:1]


def _turned(travel, track):
    turn = quotient("Travel over track radius is the turn in radians.", r"\theta", travel, track, "")
    angle = math.degrees(turn.value)
    return [turn, Worked("In degrees.", lambda: rf"\theta = {turn.value:.4g} \cdot \frac{{180^\circ}}{{\pi}} = {angle:.4g}^\circ", angle, "deg")]


def turn_of(id, text, travel, track):
    """A Question: how far the blade has turned when the ball has travelled so far [mm] on a track radius [mm]."""
    return Question(
        id, text, {"travel": Given(travel, "mm"), "track": Given(track, "mm")}, "deg", _turned, ("An arc over its radius is an angle, in radians.",)
    )


def _handover(draw):
    found = _beyond_touch(draw)
    if found is None:
        return None
    numbers, _ = found
    first = Question(
        "practice-handover-angle",
        "Two {ball} balls, rim gap {gap}, ball 2 pressed {deeper} deeper, with a rim lead of {lead}. At what contact angle does ball 1 take over?",
        numbers,
        "deg",
        _angle_at_handover,
        ("C2: the mean of the two contact angles has the tangent Δ over e.", "Half their difference has the sine √(e² + Δ²) over the ball's diameter."),
        (
            Mistake(
                lambda ball, gap, deeper, lead: math.degrees(math.asin(gap / (ball / 2))),
                "that is where ball 1 would touch at the stop. It is on its way by now.",
            ),
            Mistake(
                lambda ball, gap, deeper, lead: math.degrees(math.atan(deeper / lead)),
                "that is the mean of both balls' angles. Ball 1 is the steeper of the two.",
            ),
        ),
    )
    text = (
        "On another knife, its bar stiff sideways, ball 1 runs {track} from the pivot, and takes over after {travel} of travel. How far has the blade turned?"
    )
    turn = turn_of("practice-handover-turn", text, draw.number(0.05, 0.4, 0.005), draw.number(6.0, 11.0, 0.1))
    # the step is asked of other balls: its angles would answer the first question
    other = _beyond_touch(draw)
    if other is None:
        return None
    angles = {name: round(math.degrees(value), 1) for name, value in (("before", other[1].phi_2), ("after", other[1].phi_1))}
    return first, fresh("05-handover", **numbers), turn, fresh("05-step", **angles)


def rim_slope(said, ball, gap):
    """The slope of a rim as a worked line (L1)."""
    return by_formula(said, "L1", {"rim_gap": gap, "ball_radius": ball / 2}, "slope")


def _left_of_peak(ball, gap, deeper, lead):
    alone, start = rim_slope("Ball 1 alone starts on this slope.", ball, gap), rim_slope("Ball 2 starts on this one.", ball, gap - lead)
    angle = _angle_at_handover(ball, gap, deeper, lead)[-1]
    later = by_formula("and from there on the slope is", "F2", {"phi": math.radians(angle.value), "mu": 0, "cos_chi": 1}, "ratio")
    steepest = max(start.value, later.value)
    return [alone, start, angle, later, quotient("The steeper of the two is the peak now, against that of ball 1 alone.", "x", steepest, alone.value, "")]


def _left_of_barrier(ball, gap, deeper, lead):
    depths = [
        by_formula(said, "L1", {"rim_gap": b, "ball_radius": ball / 2}, "sink")
        for said, b in (("Ball 1 alone sits so deep.", gap), ("Ball 2 sits so deep,", gap - lead))
    ]
    rise = total("and the bar has to rise by the press-depth difference as well.", "h", depths[1].value, deeper, "mm")
    return [*depths, rise, quotient("With one bar force the barriers are as the rises.", "x", rise.value, depths[0].value, "")]


def _climb(ball, gap, deeper, lead):
    return question("05-handover").solve(ball, gap, deeper, lead)[-1].value / gap


def _peak(draw):
    found = _beyond_touch(draw)
    if found is None:
        return None
    numbers, _ = found
    brief = Mistake(lambda ball, gap, deeper, lead: 1.0, "brief is not negligible. Ball 2 has the bar just where the climb is steepest.")
    peak = Question(
        "practice-peak",
        "In the plane, without friction, on a bar that is stiff sideways and presses the same everywhere: "
        "two {ball} balls, rim gap {gap}, ball 2 pressed {deeper} deeper, its rim {lead} nearer. "
        "The peak is how many times that of ball 1 alone? Three digits.",
        numbers,
        "",
        _left_of_peak,
        ("The push goes with the slope. Which slopes does the bar climb, one after the other?", "The one at the start, and the one just after the handover."),
        (
            brief,
            Mistake(
                lambda ball, gap, deeper, lead: 1 - _climb(ball, gap, deeper, lead), "that is how long ball 1 has the bar. The peak does not go by how long."
            ),
        ),
        tolerance=0.005,
    )
    barrier = Question(
        "practice-peak-barrier",
        "The same {ball} balls: rim gap {gap}, ball 2 pressed {deeper} deeper, rim lead {lead}. And the barrier, against that of ball 1 alone? Three digits.",
        numbers,
        "",
        _left_of_barrier,
        ("With one bar force the barrier goes with how far the bar rises from rest to the flat.",),
        (
            brief,
            Mistake(
                lambda ball, gap, deeper, lead: _left_of_barrier(ball, gap, deeper, lead)[1].value / seat(Given(ball, "mm"), gap).sink,
                "that goes by the seat of ball 2 alone. On the flat ball 1 holds the bar, which stands out more.",
            ),
            Mistake(
                lambda ball, gap, deeper, lead: _left_of_peak(ball, gap, deeper, lead)[-1].value,
                "that is how the peak goes. The barrier goes by the rise, not by the slope.",
            ),
        ),
        tolerance=0.005,
    )
    return peak, barrier


def _sharing(draw):
    load, angle, share = draw.number(8.0, 20.0, 0.5), draw.number(35.0, 57.0, 1.0), draw.pick((20.0, 30.0, 40.0, 60.0, 70.0, 80.0))
    return fresh("04-split", load=load, angle=angle, share=Given(share, "%")), fresh(
        "01-wedge", push=draw.number(5.0, 15.0, 0.5), angle=draw.number(25.0, 60.0, 1.0)
    )


TWO = (
    Topic("who carries", "tell which ball carries, and how far the other hangs clear", "04_two_balls_one_spring", _who),
    Topic("sharing", "handle sharing and the wedge", "04_two_balls_one_spring", _sharing),
    Topic("touch", "find the touch threshold", "05_offset_recesses", _touch),
    Topic("handover", "place a handover and size it", "05_offset_recesses", _handover),
    Topic("peak", "say why the peak matters more than how long", "05_offset_recesses", _peak),
)
