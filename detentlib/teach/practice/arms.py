"""What can be practised with arms, hinge, an off-track recess, the run-off and instruments; entered in the table of practice.py."""

import math

from ...workshop.stock import NUMBER_DRILLS
from ..questions.asking import Choice, Given, Mistake, Question
from ..questions.table import question
from ..working import Worked, by_formula, product, quotient, total
from .draw import Topic, fresh
from .two import rim_slope, turn_of


def _match_with_hinge(angle, times, hinge_1, hinge_2):
    slope, needed, _ = question("05-match").solve(angle, times)
    bar = quotient("Nearer to its hinge the bar presses harder. So there less slope does, by", r"L_2/L_1", hinge_2, hinge_1, "")
    gentler = product("Both together.", r"\tan\varphi_2", needed.value, bar.value, "")
    found = math.degrees(math.atan(gentler.value))
    return [
        slope,
        needed,
        bar,
        gentler,
        Worked("The angle of that slope.", lambda: rf"\varphi_2 = \arctan {gentler.value:.4g} = {found:.4g}^\circ", found, "deg"),
    ]


def _hinge(draw):
    angle, times = draw.number(40.0, 56.0, 0.5), draw.number(1.1, 1.5, 0.05)
    hinge_1 = draw.number(32.0, 50.0, 0.2)
    numbers = {
        "angle": Given(angle, "deg"),
        "times": Given(times, ""),
        "hinge_1": Given(hinge_1, "mm"),
        "hinge_2": Given(round(hinge_1 - draw.number(2.0, 5.0, 0.2), 1), "mm"),
    }
    both_arms = Question(
        "practice-hinge",
        "The same two balls, at {angle} and {times} times as far from the pivot. But now ball 1 stands {hinge_1} from the hinge, and ball 2 {hinge_2}. "
        "From which contact angle on does ball 2 hold as hard?",
        numbers,
        "deg",
        _match_with_hinge,
        ("The bar has one moment about its hinge. A ball nearer to the hinge gets more force of it.",),
        (
            Mistake(
                lambda angle, times, hinge_1, hinge_2: question("05-match").solve(angle, times)[-1].value,
                "that is with equal hinge distances. Nearer to the hinge the bar presses harder.",
            ),
            Mistake(
                lambda angle, times, hinge_1, hinge_2: _match_with_hinge(angle, times, hinge_2, hinge_1)[-1].value,
                "the hinge distances are swapped: nearer to the hinge the bar presses harder, and less slope does.",
            ),
            Mistake(lambda angle, times, hinge_1, hinge_2: angle, "higher on the ball is weaker only with equal arms."),
        ),
    )
    return fresh("05-match", angle=angle, times=times), both_arms


def _instrument(draw):
    rod, depth, difference = draw.number(0.04, 0.08, 0.01), draw.pick((0.005, 0.01, 0.02, 0.03)), draw.deeper(0.5, 3.0)
    known = question("04-prove").solve(depth)[-1].value
    if 0.7 < known / difference.value < 1.4:
        return None
    right = "a" if known < difference.value else "b"
    beliefs = {
        "a": f"“They read {difference}, so it is {difference}.” The two readings together are known to ±{known:.3f} mm only: it may as well be nothing.",
        "b": f"“One can never be sure.” The two readings together are known to ±{known:.3f} mm, and the difference is larger than that.",
    }
    said = f"The difference of two such readings is known to ±{known:.3f} mm, and {difference} was read: that is {'more' if right == 'a' else 'less'}."
    choice = Choice(
        "practice-settle",
        f"Now with a depth micrometer, ± {depth:g} mm each time: ball 2 reads {difference} deeper than ball 1. Does that settle which of them stands out more?",
        {"a": "Yes", "b": "No"},
        lambda: (right, said),
        ("Compare what was read with the ± of a difference.",),
        {letter: words for letter, words in beliefs.items() if letter != right},
    )
    return fresh("04-prove", doubt=rod), choice


def _slope_off_track(ball, drill, offset, off, track, travel):
    where = {"theta": travel / track, "track_radius": track, "off_track": off, "rest_offset": offset}
    away = by_formula("How far the ball's axis is from the middle of the recess.", "L2", where, "distance")
    gap = total("What is left to the rim.", "b", drill / 2, -away.value, "mm")
    slope = rim_slope("The rim's own slope there.", ball, gap.value)
    along = by_formula("Only a share of the travel leads straight away from the middle.", "L2", where, "cos_chi")
    return [away, gap, slope, along, product("So along the track the bar rises per millimetre by", "x", slope.value, along.value, "")]


def _off_track(draw):
    ball = draw.ball()
    sizes = [size for size in NUMBER_DRILLS if 0.78 < size.diameter / ball.value < 0.9]
    size = draw.pick(sizes)
    offset, off, track = draw.number(0.03, 0.1, 0.005), draw.number(0.03, 0.1, 0.005), draw.number(6.0, 11.0, 0.1)
    numbers = {
        "ball": ball,
        "drill": Given(size.diameter, "mm", f"{size.name} drill ({size.diameter:g} mm)"),
        "offset": Given(offset, "mm"),
        "off": Given(off, "mm"),
        "track": Given(track, "mm"),
        "travel": Given(0.0, "mm"),
    }
    mistakes = (
        Mistake(
            lambda **of: _slope_off_track(**of)[2].value, "that is the rim's own slope. Off the track it stands askew: only its share along the track counts."
        ),
        Mistake(lambda **of: _slope_off_track(**of | {"off": 0.0})[-1].value, "not only fore and aft matters: that is the slope with the recess on its track."),
    )
    hints = (
        "Two steps at right angles: along the track, and across it. How far is the middle of the recess?",
        "Rim radius less that distance is the rim gap. Then the slope, and its share along the track.",
    )
    place = "A {ball} ball runs {track} from the pivot. Its recess, by a {drill}, lies {off} off the track, outwards. "
    place += "The bar pressing, the ball rests {offset} short of its middle."
    at_stop = Question(
        "practice-off-stop",
        place + " On the stop, how much does the bar rise for each millimetre of travel?",
        numbers,
        "",
        _slope_off_track,
        hints,
        mistakes,
    )
    later = Question(
        "practice-off-later",
        "The same {ball} ball on {track}, {drill}, resting {offset} short of the middle, {off} off the track. And when it has travelled {travel}?",
        numbers | {"travel": Given(draw.number(0.02, 0.08, 0.005), "mm")},
        "",
        _slope_off_track,
        hints,
        mistakes,
    )
    values = [each.answer for each in (at_stop, later)]
    return (at_stop, later) if abs(values[0] / values[1] - 1) > 0.04 else None


def _run_off(draw):
    ball, deeper = draw.ball(), draw.deeper(1.0, 4.0)
    text = "On another knife the ball runs {track} from the pivot, and takes {travel} from the edge to hand over. How far does the blade turn meanwhile?"
    turn = turn_of("practice-run-off-turn", text, draw.number(0.2, 0.5, 0.005), draw.number(6.0, 11.0, 0.1))
    return fresh("06-roll", ball=ball, deeper=deeper), turn


ARMS = (
    Topic("instrument", "say what an instrument can settle", "04_two_balls_one_spring", _instrument),
    Topic("hinge", "put in arms and hinge", "05_offset_recesses", _hinge),
    Topic("off track", "reckon with a recess off its track", "06_around_the_tang", _off_track),
    Topic("run-off", "say where the bar drops at the edge of the tang", "06_around_the_tang", _run_off),
)
