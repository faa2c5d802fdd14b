"""The questions of notebook 07: how to get the numbers off a real knife; entered in table.py."""

import math
import re

from ...bench.models import NOISE
from ...bench.pull import off_stop
from ...bench.value import coverage_factor
from ...instruments import INSTRUMENTS
from ...mechanics.feel import feel
from ...mechanics.formulas import formulas
from ...units import both
from ...workshop.pair import TWO_THOU
from ..working import Worked, product, quotient, total
from .asking import Choice, Given, Mistake, Question, demo

_BALL = Given(1.5875, "mm", "1/16 in (1.5875 mm)")
_HURRY = 0.5  # deg off the stop


def _doubt(path, instrument):
    """± of a number by the first instrument whose name starts so."""
    return next(each.doubt for each in INSTRUMENTS if re.fullmatch(each.serves, path) and each.name.startswith(instrument))


def _hole():
    """± of the contact angle by photo, by lift and by gauge, each with what careful bench work can do."""
    knife = demo("pellowfen-a")
    felt, ball = feel(knife), knife.balls[0]
    gap, phi = felt.rim_gap[0], math.radians(felt.contact_deg[0])
    seen = math.hypot(_doubt("balls[0].recess.diameter", "microscope") / 2, _doubt("balls[0].recess.rest_offset", "photo"))
    by_photo = (formulas["L1"](rim_gap=gap + seen, ball_radius=ball.radius).phi - formulas["L1"](rim_gap=gap - seen, ball_radius=ball.radius).phi) / 2
    by_lift = math.sqrt(2) * NOISE["lift"] / (ball.radius * math.sin(phi))
    slope = formulas["F2"](phi=phi, mu=knife.friction.rim, cos_chi=1.0)
    force = _doubt("bar.riding_force", "pull gauge") / knife.bar.riding_force
    arm = _doubt("blade.tab_arm", "calipers") / knife.blade.tab_arm
    by_gauge = math.hypot(math.hypot(force, arm) * slope / (1 + slope**2), knife.doubts["friction.rim"] / (1 + knife.friction.rim**2))
    found = {letter: math.degrees(each) for letter, each in {"a": by_photo, "b": by_lift, "c": by_gauge}.items()}
    said = (
        f"With careful work the photo gives the angle to ±{found['a']:.1f}°, the lift to ±{found['b']:.1f}°, "
        f"the break force, with a measured bar force and a guessed friction, to ±{found['c']:.1f}°."
    )
    return min(found, key=found.get), said


def _stop():
    """What half a degree off the stop does to the friction."""
    knife = demo("pellowfen-a")
    off = next(each for each in off_stop(knife, knife.friction.rim) if each.off_deg == _HURRY)
    ratio = off.friction / knife.friction.rim
    said = (
        f"Half a degree off the stop the pull is {100 * off.low:.0f} % lower. The two-way pull then says {off.friction:.3f} "
        f"where the friction is {knife.friction.rim:.2f}: {ratio:.2f} times as much."
    )
    return ("a" if abs(ratio - 1) < 0.05 else "b" if ratio > 1 else "c"), said


def _thou():
    """± of a difference of two heights by calipers, and by a depth micrometer, against two thou."""
    by_rod, by_micrometer = (math.sqrt(2) * _doubt("balls[0].protrusion", name) for name in ("calipers", "depth micrometer"))
    said = (
        f"A depth rod is good for ±{both(by_rod / math.sqrt(2), 'mm')}, so the difference of two for ±{both(by_rod, 'mm')}: more than the difference itself. "
        f"A depth micrometer gives it to ±{both(by_micrometer, 'mm')}."
    )
    return "b" if by_rod > TWO_THOU else "a", said


def _from_lift(ball, lift):
    above = total("The ball's centre stands above the rim by the radius less the lift.", "h", ball / 2, -lift, "mm")
    share = quotient("As a share of the radius that is the cosine of the contact angle.", r"\cos\varphi", above.value, ball / 2, "")
    phi = math.degrees(math.acos(share.value))
    line = Worked("So the angle, from the pole of the ball.", lambda: rf"\varphi = \arccos {share.value:.4f} = {phi:.4g}^\circ", phi, "deg")
    return [above, share, line]


def _of_the_mean(scatter, count):
    factor = coverage_factor(count - 1)
    root = quotient("A mean of so many scatters less than one pull, by the square root of their number.", "s_m", scatter, math.sqrt(count), "N")
    return [root, product(f"So few know their own scatter badly: the factor for {count:g} is {factor:.3f}, not 2.", r"\pm", factor, root.value, "N")]


def _pressed_deeper(lift, drop, first, second):
    left = total("Past the run-off the bar stands so much above its seat, at ball 1.", "w_1", lift, -drop, "mm")
    ratio = quotient("At ball 2 it is less, as that is nearer to the hinge.", "r", second, first, "")
    at_second = product("There it stands above its seat by", "w_2", left.value, ratio.value, "mm")
    return [left, ratio, at_second, total("Ball 1 held it up by the whole lift. Ball 2 is pressed deeper by", r"\Delta", lift, -at_second.value, "mm")]


MEASURE = (
    Choice(
        "07-hole",
        "The knife is riveted, and the recess out of sight. Ilby wants its contact angle. Which way gives it best?",
        {"a": "Open it: you must see the hole", "b": "The lift of the bar, from the stop to the flat", "c": "The break force, read backwards"},
        _hole,
        ("The bar can only rise as the rim climbs the ball. What does the rise know of the rim?",),
        {
            "a": "“You must see the hole.” What counts is where the rim touches the ball, and the ball itself measures that: it lifts the bar by it.",
            "c": "“A steep rim makes a hard knife.” So does a strong bar, and so does a dry rim. One force cannot tell the three apart.",
        },
    ),
    Choice(
        "07-stop",
        "Ilby is in a hurry, and reads the let-back pull half a degree off the stop. What does the two-way pull then say of the friction?",
        {"a": "The same: friction is friction", "b": "Far too much", "c": "Far too little"},
        _stop,
        ("The climb is steepest at the stop. What does half a degree do to the pull that the rim can hold?",),
        {
            "a": "“Friction is friction.” It is, but it is reckoned from two pulls at one place. Half a degree on, the rim is flatter, and the pull lower.",
            "c": "“Less pull, less friction.” The other way round: the further apart the two pulls, the more friction they seem to say.",
        },
    ),
    Choice(
        "07-thou",
        "The depth rod of calipers that read to a thou says: ball 2 sits 2 thou (0.0508 mm) deeper. What is proved?",
        {"a": "That it sits 2 thou deeper", "b": "Nothing yet", "c": "That it sits deeper, if not by how much"},
        _thou,
        ("What does the same rod say of one ball, ten times over?", "A difference has the doubt of both readings."),
        {
            "a": "“They read a thou, so they prove two.” Reading fine is not measuring fine. What ten readings of one thing scatter by is what counts.",
            "c": "“Deeper is deeper.” With such a ± it may as well stand higher. Read ten times each, or take the drop at the run-off.",
        },
    ),
    Question(
        "07-lift",
        "An indicator over a {ball} ball rises by {lift} from the stop to the flat. At what contact angle does the rim touch?",
        {"ball": _BALL, "lift": Given(0.22, "mm")},
        "deg",
        _from_lift,
        ("Draw the ball's circle and a line that far below its top.", "The centre stands above that line by the radius less the lift. That is one side."),
        (
            Mistake(lambda ball, lift: _from_lift(2 * ball, lift)[-1].value, "the ball's diameter went in where its radius belongs."),
            Mistake(lambda ball, lift: 90 - _from_lift(ball, lift)[-1].value, "that is counted from the ball's side. Count it from its top, the pole."),
            Mistake(
                lambda ball, lift: math.degrees(math.asin(lift / (ball / 2))),
                "the lift went in as the rim gap. The gap goes across the ball, the lift goes down from its top.",
            ),
        ),
    ),
    Question(
        "07-five",
        "{count} pulls at the tab scatter by {scatter}, one standard deviation. What is the ± (95 %) of their mean?",
        {"scatter": Given(0.15, "N"), "count": Given(5, "", "Five")},
        "N",
        _of_the_mean,
        ("A mean of many scatters less than one, by the square root of how many there are.", "For a small number the factor is Student's: more than 2."),
        (
            Mistake(lambda scatter, count: coverage_factor(count - 1) * scatter, "that is for one pull more. The mean of them is surer, by the square root."),
            Mistake(lambda scatter, count: 2 * scatter / math.sqrt(count), "the factor 2 is for very many pulls. So few know their own scatter badly."),
            Mistake(lambda scatter, count: scatter / math.sqrt(count), "that is one standard deviation, which holds only two times in three."),
            Mistake(lambda scatter, count: scatter, "that is the scatter of one pull, as if one reading were enough."),
        ),
    ),
    Question(
        "07-drop",
        "Seated, bar and tang are parallel. Riding, the bar stands {lift} higher over ball 1. Where ball 1 runs off it drops by {drop}, read over ball 1. "
        "Ball 1 is {first} from the hinge, ball 2 {second}. How much deeper is ball 2 pressed?",
        {"lift": Given(0.2746, "mm"), "drop": Given(0.0445, "mm"), "first": Given(36.4, "mm"), "second": Given(35.4, "mm")},
        "mm",
        _pressed_deeper,
        ("How far above its seat does the bar still stand, over ball 1, once it has dropped?", "Over ball 2 it stands a little less. That ball holds it."),
        (
            Mistake(lambda lift, drop, first, second: drop, "the drop is read over ball 1. With unequal arms it is not yet the press-depth difference."),
            Mistake(lambda lift, drop, first, second: drop * second / first, "not only the drop goes by the arms: the whole lift that is left does."),
            Mistake(lambda lift, drop, first, second: _pressed_deeper(lift, drop, second, first)[-1].value, "the arms are swapped."),
        ),
    ),
)
