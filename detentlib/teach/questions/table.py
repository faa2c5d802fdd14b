"""Every question of the workbook in one table. Answers, and the wrong answers of known misconceptions, are computed."""

import difflib
import math

from ...mechanics.feel import feel
from ...units import convert
from ..working import by_formula, product, quotient
from .apprentice import APPRENTICE
from .argue import ARGUE
from .asking import Choice, Given, Mistake, Question, demo, nearest
from .measure import MEASURE
from .spring import SPRING
from .swing import SWING
from .tune import TUNE
from .two import TWO

_BALL = Given(1.5875, "mm", "1/16 in (1.5875 mm)")
_BIGGER = 0.055  # in, No. 54 drill


def question(id):
    """The Question or Choice with this id; KeyError naming near ones for an id that there is not."""
    if id not in QUESTIONS:
        near = difflib.get_close_matches(str(id), QUESTIONS, 2, 0.3) or QUESTIONS
        raise KeyError(f"no question {id!r}; did you mean {' or '.join(near)}?")
    return QUESTIONS[id]


def _second_ball():
    one, two = (feel(demo(name)).break_force for name in ("pellowfen-a", "pellowfen-b"))
    said = f"One ball breaks at {one:.2f} N. Two balls on the same bar break at {two:.2f} N: {two / one:.2f} times as much."
    return nearest(two / one, {"a": 2.0, "b": 1.0, "c": 0.5}), said


def _bigger_recess():
    knife = demo("pellowfen-a")
    drilled = knife.replace({"balls[0].recess.diameter": convert(_BIGGER, "in", "mm")})
    one, two = (feel(each).break_force for each in (knife, drilled))
    said = f"As it is, it breaks at {one:.2f} N; with the bigger recess at {two:.2f} N: {two / one:.2f} times as much."
    return nearest(two / one, {"a": 0.85, "b": 1.0, "c": 1.15}), said


def _at_the_stud(force, tab, stud):
    torque = product("The force on its arm is a torque about the pivot.", "T", force, tab, "N·mm")
    return [torque, by_formula("The same torque on the longer arm.", "F5", {"torque": torque.value, "arm": stud})]


def _contact_angle(ball, gap):
    return [by_formula("The rim touches where the ball is as wide as the rim gap.", "L1", {"rim_gap": gap, "ball_radius": ball / 2}, "phi")]


def _seat_depth(ball, gap):
    return [by_formula("The ball sinks until the rim touches it.", "L1", {"rim_gap": gap, "ball_radius": ball / 2}, "sink")]


def _wedge(angle):
    """Push per newton of bar force, without friction, as a worked line."""
    return by_formula("Push for each newton of bar force, without friction.", "F2", {"phi": math.radians(angle), "mu": 0, "cos_chi": 1}, "ratio")


def _push(load, angle):
    ratio = _wedge(angle)
    return [ratio, product("For the whole bar force.", "F", load, ratio.value, "N")]


def _lifted(push, angle):
    ratio = _wedge(angle)
    return [ratio, quotient("The push holds up what it is worth at that ratio.", "N", push, ratio.value, "N")]


def _share(load, angle, leg):
    """Side of the triangle that splits a force at an angle: math.sin or math.cos."""
    return load * leg(math.radians(angle))


_COMPONENT = "that is a component, as if the force split along the slope. It does not split: it drives a wedge. Ask how far the bar rises for a small step."

_TABLE = (
    Choice(
        "00-second-ball",
        "Two Pellowfens, one bar each. The second has one more ball on its bar, set 2 thou deeper, in an equal recess. How hard must you push its tab?",
        {"a": "About twice as hard", "b": "About the same", "c": "About half as hard"},
        _second_ball,
        ("Both balls stand on one bar. Ask which of them holds the bar up.",),
        {
            "a": "“Two balls, double the snap.” But there is one bar, and it presses on whichever ball holds it up.",
            "c": "“The two balls share the bar, half each.” But the higher ball holds the bar up alone, and the other hangs clear.",
        },
    ),
    Question(
        "00-stud",
        "A pull gauge reads {force} at the tab, {tab} from the pivot. What would it read at the stud, {stud} from the pivot?",
        {"force": Given(12.04, "N"), "tab": Given(14.0, "mm"), "stud": Given(21.0, "mm")},
        "N",
        _at_the_stud,
        ("The detent holds with a torque. A longer arm needs less push for it.", "Force times arm is the same at both places."),
        (
            Mistake(lambda force, tab, stud: force, "a force at the tab is not the same at the stud: what is the same is force times arm."),
            Mistake(lambda force, tab, stud: force * stud / tab, "the arms are swapped: the longer arm needs less push, not more."),
        ),
    ),
    Choice(
        "01-bigger-recess",
        f"Same ball, same bar, same stop. The recess is drilled bigger: {_BIGGER:g} in instead of 0.052 in. What happens to the break force?",
        {"a": "It falls: a bigger hole is looser", "b": "It stays: the bar presses as before", "c": "It rises"},
        _bigger_recess,
        ("Where on the ball does the rim touch, higher up or further down its side?",),
        {
            "a": "“A bigger hole is looser, so weaker.” Up to the ball's equator it is the other way round: the rim meets a steeper part of the ball.",
            "b": "“The bar presses as before.” Nearly so. But the rim now meets a steeper part of the ball.",
        },
    ),
    Question(
        "01-angle",
        "A {ball} ball, and a rim gap of {gap}. At what contact angle does the rim touch?",
        {"ball": _BALL, "gap": Given(0.55, "mm")},
        "deg",
        _contact_angle,
        ("Draw the ball's circle, and the rim point that far to the side of its axis.", "The sine of the angle is the rim gap over the ball's radius."),
        (
            Mistake(lambda ball, gap: _contact_angle(2 * ball, gap)[-1].value, "the ball's diameter went in where its radius belongs."),
            Mistake(
                lambda ball, gap: 90 - _contact_angle(ball, gap)[-1].value,
                "that is counted from the ball's side. Count it from its top, the pole.",
            ),
            Mistake(
                lambda ball, gap: math.degrees(math.atan(gap / (ball / 2))),
                "that is the tangent. The radius is the longest side, so take the sine.",
            ),
        ),
    ),
    Question(
        "01-seat",
        "The same {ball} ball and rim gap of {gap}. How deep does the ball sit below the face of the tang?",
        {"ball": _BALL, "gap": Given(0.55, "mm")},
        "mm",
        _seat_depth,
        ("The ball's centre stands above the rim by the third side of the triangle.", "Seat depth is the radius less that side."),
        (
            Mistake(lambda ball, gap: ball / 2 - _seat_depth(ball, gap)[-1].value, "that is from the ball's centre to the face. Take it from the radius."),
            Mistake(lambda ball, gap: ball / 2 - gap, "that is the radius less the rim gap, straight across. The ball is round: go by the triangle."),
            Mistake(lambda ball, gap: _seat_depth(2 * ball, gap)[-1].value, "the ball's diameter went in where its radius belongs."),
        ),
    ),
    Question(
        "01-push",
        "The bar presses with {load}, and the rim touches at {angle}. Without friction, how hard must the push at the ball be to start it out?",
        {"load": Given(14.2, "N"), "angle": Given(49.0, "deg")},
        "N",
        _push,
        ("The rim is a slope. A small step sideways lifts the bar by the step times the tangent of the angle.",),
        (
            Mistake(lambda load, angle: _share(load, angle, math.sin), _COMPONENT),
            Mistake(lambda load, angle: _share(load, angle, math.cos), _COMPONENT),
            Mistake(lambda load, angle: _lifted(load, angle)[-1].value, "that is upside down. A steep slope costs force: it takes more push than it lifts."),
        ),
    ),
    Question(
        "01-wedge",
        "You push a ball sideways with {push} against a rim that touches it at {angle}. Without friction, how much bar force can that push lift?",
        {"push": Given(10.0, "N"), "angle": Given(30.0, "deg")},
        "N",
        _lifted,
        (
            "A gentle slope gains force: a small lift for a long push.",
            "A small step sideways lifts the bar by the step times the tangent of the angle. The work is the same on both sides.",
        ),
        (
            Mistake(lambda push, angle: _share(push, angle, math.sin), _COMPONENT),
            Mistake(lambda push, angle: _share(push, angle, math.cos), _COMPONENT),
            Mistake(lambda push, angle: _push(push, angle)[-1].value, "that is upside down. A gentle slope gains force: it lifts more than it is pushed with."),
        ),
    ),
)

QUESTIONS = {each.id: each for each in (*_TABLE, *SPRING, *TWO, *SWING, *MEASURE, *APPRENTICE, *TUNE, *ARGUE)}
