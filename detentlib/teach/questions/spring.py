"""The questions of notebooks 02 and 03: one spring, and the snap; entered in table.py."""

import math

from ...mechanics.feel import feel
from ...mechanics.formulas import formulas
from ...units import convert
from ...workshop.moves import with_relief
from ..working import by_formula, cubed, product, quotient, total
from .asking import Choice, Given, Mistake, Question, demo, nearest

_THICKER, _DRY = 1.42, 0.30


def _one_thou():
    knife = demo("pellowfen-a")
    thinner = with_relief(knife, knife.bar.relief_thickness - convert(1.0, "thou", "mm"))
    before, after = (feel(each).rest_load for each in (knife, thinner))
    said = f"Seated, the ball presses with {before:.2f} N; with the relief a thou thinner, with {after:.2f} N: {100 * (1 - after / before):.1f} % less."
    return nearest(after / before, {"a": 1.0, "b": 0.977, "c": 0.937}), said


def _thicker_stress():
    knife = demo("pellowfen-a")
    thin, thick = (feel(each) for each in (knife, with_relief(knife, _THICKER)))
    said = (
        f"Riding the flat, the bar presses {thick.ride_load / thin.ride_load:.2f} times as hard, and the stress goes from {thin.relief_stress_ride:.0f} "
        f"to {thick.relief_stress_ride:.0f} MPa: {thick.relief_stress_ride / thin.relief_stress_ride:.2f} times as much."
    )
    return nearest(thick.relief_stress_ride / thin.relief_stress_ride, {"a": 0.8, "b": 1.0, "c": 1.2}), said


def _loaded():
    knife = demo("pellowfen-a")
    felt, ball, bar = feel(knife), knife.balls[0], knife.bar
    stripped, loaded = ball.recess.rest_offset, felt.loaded_offset[0]
    values = {"phi": math.radians(felt.contact_deg[0]), "mu": -knife.friction.rim, "cos_chi": 1}
    push = felt.rest_load * formulas["F2"](**values)
    strip = {name: getattr(bar, name) for name in ("relief_length", "width", "relief_thickness")}
    edge = formulas["S3a"](side_push=push, hinge_distance=ball.hinge_distance, **strip)
    said = (
        f"The rim pushes the ball with {push:.1f} N along the tang, and the bar gives sideways by {stripped - loaded:.3f} mm: of {stripped:.3f} mm "
        f"are left {loaded:.3f} mm. At the edge of the relief that push adds {edge:.0f} MPa (S3a) to the {felt.relief_stress_rest:.0f} MPa "
        "of the bend, seated (S3)."
    )
    return nearest(loaded / stripped, {"a": 1.0, "b": 0.97, "c": 0.57}), said


def _wiped_dry():
    knife = demo("pellowfen-a")
    oiled, dry = (feel(each) for each in (knife, knife.replace({"friction.rim": _DRY})))
    said = (
        f"The break force goes from {oiled.break_force:.2f} to {dry.break_force:.2f} N, the let-back force from "
        f"{oiled.letback_force:.2f} to {dry.letback_force:.2f} N."
    )
    return nearest(dry.letback_force / oiled.letback_force, {"a": 1.0, "b": 1.4, "c": 0.7}), said


def _rate(shut, riding, rise):
    return [by_formula("What the force gained, over how far the bar rose.", "B3", {"force_high": riding, "force_low": shut, "lift": rise})]


def _thicker_rate(rate, thin, thick):
    return [cubed("The rate of a relief grows with the cube of its thickness (B1, relief alone).", "k", rate, thick, thin, "N/mm")]


def _bent_back(lost, rate):
    return [quotient("Each newton takes one over the rate.", "x", lost, rate, "mm")]


def _wedge(load, angle, mu):
    """Push at the ball; mu below zero for letting back."""
    said = "Push for each newton of bar force" + (", friction the other way round, as the blade goes back." if mu < 0 else ", with friction.")
    ratio = by_formula(said, "F2", {"phi": math.radians(angle), "mu": mu, "cos_chi": 1}, "ratio")
    return [ratio, product("For the whole bar force, at the ball.", "F", load, ratio.value, "N")]


def _hold(load, angle, mu, track, tab):
    push = _wedge(load, angle, -mu)
    torque = product("On the track of the ball that is a torque.", "T", push[-1].value, track, "N·mm")
    return [*push, torque, by_formula("And at the tab.", "F5", {"torque": torque.value, "arm": tab})]


def _sticks(load, angle, mu, give, track):
    values = {"phi": math.radians(angle), "mu": mu, "load": load, "side_compliance": give, "track_radius": track}
    return [by_formula("From the push that let back to the push that opens, over how far the bar goes along sideways.", "B6c", values)]


def _friction(opens, back, angle):
    return [
        by_formula("Both pulls have the same arm, so their forces serve as torques.", "F6", {"opening": opens, "letback": back, "phi": math.radians(angle)})
    ]


def _alone_at_the_tab(force, stud, drag, tab):
    torque = product("The gauge at the stud reads this torque.", "T", force, stud, "N·mm")
    alone = total("Less the drag of the pivot: the detent alone.", "T", torque.value, -drag, "N·mm")
    return [torque, alone, by_formula("At the tab.", "F5", {"torque": alone.value, "arm": tab})]


def _barrier(seated, riding, rise):
    mean = quotient("The force grows evenly, so its mean counts.", "F", total("", "F", seated, riding, "N").value, 2, "N")
    return [mean, product("Mean force times rise; 1 N·mm is 1 mJ.", "E", mean.value, rise, "mJ")]


_WHOLE = "that takes the whole force. The bar was bent long before: only what the force gained belongs to this rise."
_NO_FRICTION = "that leaves friction out. It tilts the force at the rim, by the friction angle."

SPRING = (
    Choice(
        "02-thou",
        "The relief of Pellowfen A is 1.10 mm thick, 43.3 thou. One thou comes off it, and the bar is bent as far as before. What happens to its force?",
        {"a": "Nothing that matters: a thou is nothing", "b": "About 2 % less: one part in 43", "c": "About 6 % less"},
        _one_thou,
        ("The outer fibres of the relief do the most. How do they count when it gets thinner?",),
        {
            "a": "“A thou is nothing.” On the whole bar it would be. But nearly all the bending happens in the relief.",
            "b": "“One part in 43, so 2 %.” So much metal goes. But stiffness goes with the thickness three times over: its cube.",
        },
    ),
    Choice(
        "02-stress",
        f"To press twice as hard, a new bar gets a relief of {_THICKER:g} mm instead of 1.10 mm, with the preset as before. What happens to the stress in it?",
        {"a": "It falls: there is more metal", "b": "It stays: the bend is the same", "c": "It rises"},
        _thicker_stress,
        ("Bend a thin strip and a thick one to the same curve. Which one's skin is stretched more?",),
        {
            "a": "“There is more metal, so less stress.” For the same force, yes. But here the same bend is asked of a thicker strip.",
            "b": "“The bend is the same.” It is. But the skin of a thicker strip lies further from its middle, and is stretched more.",
        },
    ),
    Choice(
        "02-sideways",
        "Stripped, the parts of Pellowfen A say that at the stop the ball stands 0.105 mm short of the middle of its recess. "
        "The knife is put together and snaps shut. How far short does the ball rest now?",
        {"a": "0.105 mm still: the parts are the same", "b": "A hair less: the bar is far stiffer sideways than up", "c": "A good deal less"},
        _loaded,
        ("The rim pushes the ball along the tang about as hard as the bar presses. What holds the ball against that?",),
        {
            "a": "“The parts are the same.” They are. But the ball sits at the end of a long bar, and the rim pushes it sideways.",
            "b": "“The bar is stiffer sideways.” It is, near thirty times. But what the ball still stands short is a tenth of a millimetre.",
        },
    ),
    Question(
        "02-rate",
        "At the ball, a gauge just lifts the bar off with {shut} when the knife is shut, and with {riding} when the ball rides the flat. "
        "Between the two the bar rose by {rise}. What is its rate?",
        {"shut": Given(14.2, "N"), "riding": Given(17.1, "N"), "rise": Given(0.28, "mm")},
        "N/mm",
        _rate,
        ("Rate is what the force gains for each millimetre.",),
        (
            Mistake(lambda shut, riding, rise: riding / rise, _WHOLE),
            Mistake(lambda shut, riding, rise: shut / rise, _WHOLE),
            Mistake(lambda shut, riding, rise: rise / (riding - shut), "that is upside down: millimetres for each newton."),
        ),
    ),
    Question(
        "02-thicker",
        "A bar has a rate of {rate} with a relief of {thin}, and only the relief bends. What is the rate with a relief of {thick}?",
        {"rate": Given(10.3, "N/mm"), "thin": Given(1.1, "mm"), "thick": Given(1.2, "mm")},
        "N/mm",
        _thicker_rate,
        ("It is the thickness in the ratio, three times over.",),
        (
            Mistake(lambda rate, thin, thick: rate * thick / thin, "that goes with the thickness itself. Stiffness goes with its cube."),
            Mistake(lambda rate, thin, thick: rate * (thick / thin) ** 2, "that goes with the square, as strength does. Stiffness goes with the cube."),
            Mistake(lambda rate, thin, thick: rate * (thin / thick) ** 3, "that is the other way round: thicker is stiffer."),
        ),
    ),
    Question(
        "02-back",
        "A bar was thinned and now presses {lost} too little at the ball. Its rate is {rate}. How much further must it be bent in there to get that back?",
        {"lost": Given(0.9, "N"), "rate": Given(9.65, "N/mm")},
        "mm",
        _bent_back,
        ("The rate says how many newtons a millimetre brings. You want the millimetres.",),
        (
            Mistake(lambda lost, rate: lost * rate, "that multiplies. Newtons over newtons per millimetre leaves millimetres."),
            Mistake(lambda lost, rate: rate / lost, "that is upside down: it leaves one over millimetres."),
        ),
    ),
    Choice(
        "03-oil",
        f"Ilby wipes the oil out of the recess of Pellowfen A. The friction at the rim goes from 0.12 to {_DRY:.2f}. Which of the forces at the tab change?",
        {
            "a": "None: oil only changes how smooth it feels",
            "b": "Both rise: friction helps to hold",
            "c": "Break force up, let-back force down",
        },
        _wiped_dry,
        ("Friction works against the motion. Which way does the ball slide when the blade goes back?",),
        {
            "a": "“Oil only changes smoothness.” Friction tilts the force at the rim, and the push changes with the tilt.",
            "b": "“Friction helps to hold.” Against opening it does. On the way back it stands against the rim's pull.",
        },
    ),
    Question(
        "03-hold",
        "The bar presses with {load}, the rim touches at {angle}, with friction {mu}. The ball runs {track} from the pivot. "
        "What is the hardest pull at the tab, {tab} from the pivot, against which the blade still goes shut?",
        {"load": Given(14.2, "N"), "angle": Given(49.0, "deg"), "mu": Given(0.12, ""), "track": Given(8.0, "mm"), "tab": Given(14.0, "mm")},
        "N",
        _hold,
        (
            "On the way back friction tilts the force at the rim the other way: the friction angle comes off the contact angle.",
            "That gives the push at the ball. Force times arm is the same at the ball and at the tab.",
        ),
        (
            Mistake(
                lambda load, angle, mu, track, tab: _hold(load, angle, -mu, track, tab)[-1].value,
                "that is the push that opens it. Going back, the ball slides the other way, and friction turns round.",
            ),
            Mistake(lambda load, angle, mu, track, tab: _hold(load, angle, 0, track, tab)[-1].value, _NO_FRICTION),
            Mistake(
                lambda load, angle, mu, track, tab: _wedge(load, angle, -mu)[-1].value,
                "that is the force at the ball. At the tab the arm is longer and the force is less.",
            ),
        ),
    ),
    Question(
        "03-open",
        "The bar presses with {load}, the rim touches at {angle}, with friction {mu}. How hard must the push at the ball be to start it out?",
        {"load": Given(14.2, "N"), "angle": Given(49.0, "deg"), "mu": Given(0.12, "")},
        "N",
        _wedge,
        ("Friction makes the rim act like a steeper one: steeper by the friction angle.", "The friction angle is the one whose tangent is the friction."),
        (
            Mistake(
                lambda load, angle, mu: _wedge(load, angle, 0)[-1].value + mu * load,
                "that adds the drag on a flat. The rim presses the ball harder than the bar does, so its friction is more than that.",
            ),
            Mistake(lambda load, angle, mu: _wedge(load, angle, 0)[-1].value, _NO_FRICTION),
            Mistake(lambda load, angle, mu: _wedge(load, angle, -mu)[-1].value, "that is letting back. Opening, friction stands in the way."),
            Mistake(
                lambda load, angle, mu: load * math.sin(math.radians(angle)),
                "that is a component, as if the force split along the slope. It drives a wedge, and against friction.",
            ),
        ),
    ),
    Question(
        "03-take-up",
        "The bar presses with {load}, the rim touches at {angle}, with friction {mu}. Sideways, at the ball, the bar gives {give} for each newton of push; the "
        "ball runs {track} from the pivot. Through what blade angle does the rim stick before it slips?",
        {"load": Given(14.2, "N"), "angle": Given(49.0, "deg"), "mu": Given(0.12, ""), "give": Given(0.0035, "mm/N", "0.0035 mm"), "track": Given(8.0, "mm")},
        "deg",
        _sticks,
        (
            "At rest the rim already pushes the ball along its track. How hard, and how hard when it slips?",
            "The difference of the two pushes bends the bar sideways. Over the track radius that is an angle.",
        ),
        (
            Mistake(
                lambda load, angle, mu, give, track: math.degrees(give * _wedge(load, angle, mu)[-1].value / track),
                "that bends the bar from nothing. The rim has slid home and pushes the ball already, as hard as the let-back.",
            ),
            Mistake(
                lambda load, angle, mu, give, track: math.degrees(2 * give * mu * load / track),
                "that takes friction as on a flat. On a slope it tilts the force, and that changes the push by more.",
            ),
            Mistake(
                lambda load, angle, mu, give, track: math.radians(_sticks(load, angle, mu, give, track)[-1].value) * track,
                "that is how far the ball goes along, in millimetres. Over the track radius it is the angle.",
            ),
        ),
    ),
    Question(
        "03-mu",
        "A gauge at the tab needs {opens} to start the blade open. The hardest pull against which it still goes shut is {back}. "
        "The drag of the pivot is taken off both, and the contact angle is {angle}. What is the friction at the rim?",
        {"opens": Given(12.05, "N"), "back": Given(7.40, "N", "7.40 N"), "angle": Given(49.18, "deg")},
        "",
        _friction,
        (
            "The bar force is the same both ways, so it drops out of the ratio of the two pulls.",
            "F6 has it: the sine of twice the friction angle is the sine of twice the contact angle, times the difference of the pulls over their sum.",
        ),
        (
            Mistake(lambda opens, back, angle: (opens - back) / (opens + back), "that is difference over sum. The contact angle has its say too."),
            Mistake(
                lambda opens, back, angle: math.degrees(math.atan(_friction(opens, back, angle)[-1].value)),
                "that is the friction angle in degrees. The friction is its tangent.",
            ),
        ),
    ),
    Question(
        "03-tab",
        "A gauge at the stud, {stud} from the pivot, reads {force} opening. The pivot, with the bar lifted off, drags with {drag}. "
        "What does the detent alone hold at the tab, {tab} from the pivot?",
        {"force": Given(8.2, "N"), "stud": Given(21.0, "mm"), "drag": Given(9.0, "N·mm"), "tab": Given(14.0, "mm")},
        "N",
        _alone_at_the_tab,
        ("What is the same at stud and tab is not the force.", "Go by torques: take off the drag, then share out over the shorter arm."),
        (
            Mistake(lambda force, stud, drag, tab: force, "a force at the stud is not the same at the tab: what is the same is force times arm."),
            Mistake(lambda force, stud, drag, tab: force * stud / tab, "that is right for the whole knife. The drag of the pivot still has to come off."),
            Mistake(lambda force, stud, drag, tab: force * tab / stud, "the arms are swapped: the shorter arm needs more push."),
            Mistake(lambda force, stud, drag, tab: (force * stud + drag) / tab, "the drag is added. The gauge reads detent and drag together."),
        ),
    ),
    Question(
        "03-barrier",
        "Seated the ball presses with {seated}, riding the flat with {riding}, and the bar rises by {rise} on the way. How much energy goes into its bend?",
        {"seated": Given(14.21, "N"), "riding": Given(17.04, "N"), "rise": Given(0.2749, "mm")},
        "mJ",
        _barrier,
        ("It is the area under the line from seated to riding.", "Energy is force times way, and the force grows evenly."),
        (
            Mistake(lambda seated, riding, rise: riding * rise, "that takes the last force for the whole way. It grows on the way: take the mean."),
            Mistake(lambda seated, riding, rise: seated * rise, "that takes the first force for the whole way. It grows on the way: take the mean."),
            Mistake(lambda seated, riding, rise: (riding - seated) * rise / 2, "that counts only what the force gained. The bar presses all the way."),
        ),
    ),
)
