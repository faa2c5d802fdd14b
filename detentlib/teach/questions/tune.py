"""The questions of notebook 08: what to change, and by how much; entered in table.py."""

import math

from ...mechanics.feel import feel
from ...units import convert
from ...workshop.moves import as_made, with_relief
from ..working import by_formula, cubed, product, total
from .asking import Choice, Given, Mistake, Question, demo, nearest

_THOU = convert(1.0, "thou", "mm")
_BALL = Given(1.5875, "mm", "1/16 in (1.5875 mm)")
_SOFTER = 10.0  # N, the middle of what the owner wants
_SCATTER, _WINDOW = 1.8, 2.0  # N


def thou_of_each(knife):
    """{letter: change of the break force [N]} for a thou off the relief, and on the diameters of recess and stop pin."""
    before = feel(knife).break_force
    tried = {
        "a": with_relief(knife, knife.bar.relief_thickness - _THOU),
        "b": knife.replace({"balls[0].recess.diameter": knife.balls[0].recess.diameter + _THOU}),
        "c": knife.replace(as_made(knife, {"pin": _THOU})),
    }
    return {letter: feel(each).break_force - before for letter, each in tried.items()}


def _which_thou():
    knife = demo("pellowfen-a")
    changes = thou_of_each(knife)
    said = (
        f"From {feel(knife).break_force:.2f} N a thou off the relief makes {changes['a']:+.2f} N, a thou on the recess {changes['b']:+.2f} N, "
        f"a thou on the stop pin {changes['c']:+.2f} N."
    ).replace("-", "−")
    return max(changes, key=lambda letter: abs(changes[letter])), said


def relief_for(knife, force):
    """Relief thickness [mm] at which the knife, bent as far as now, breaks at a force [N] at the tab."""
    from scipy.optimize import brentq

    thick = knife.bar.relief_thickness
    return brentq(lambda thin: feel(with_relief(knife, thin)).break_force - force, 0.7 * thick, 1.2 * thick, xtol=1e-6)


def _thinner_lock():
    knife = demo("pellowfen-a")
    thin = relief_for(knife, _SOFTER)
    left = feel(with_relief(knife, thin)).ride_load / feel(knife).ride_load
    said = (
        f"{convert(knife.bar.relief_thickness - thin, 'mm', 'thou'):.1f} thou come off. The bar then presses with {100 * left:.0f} % of what it did: "
        f"on the ball when shut, and on the lock face when open."
    )
    return nearest(left, {"a": 1.0, "b": 0.83, "c": 1.2}), said


def _share_inside():
    share = math.erf(_WINDOW / 2 / (_SCATTER / 2) / math.sqrt(2))
    said = f"Half the window is {_WINDOW / 2:g} N, one standard deviation {_SCATTER / 2:g} N, half of the ±. {100 * share:.0f} % lie inside."
    return nearest(share, {"a": 0.98, "b": 0.75, "c": 0.5}), said


def _lost_by_a_thou(force, thick, off):
    left = cubed("The force goes with the cube of the thickness (B1, relief alone).", "F", force, thick - off, thick, "N")
    return [left, total("So much is gone.", r"\Delta F", force, -left.value, "N")]


def _halved(force, thick, thin):
    return [cubed("The force goes with the cube of the thickness (B1, relief alone).", "F", force, thin, thick, "N")]


def _pin(ball, track, gap, load, step, stop):
    sizes = {"pin_change": step, "stop_radius": stop, "track_radius": track}
    lines, pushes = [by_formula("So far the pin moves the ball: half of it, on the shorter radius.", "B9", sizes, "travel")], []
    for said, rim in (("As it is", gap), ("With the new pin", gap - lines[0].value)):
        angle = by_formula(f"{said}, the rim touches at this angle.", "L1", {"rim_gap": rim, "ball_radius": ball / 2}, "phi")
        ratio = by_formula("Push for each newton of bar force, without friction.", "F2", {"phi": math.radians(angle.value), "mu": 0, "cos_chi": 1}, "ratio")
        push = product("For the whole bar force, at the ball.", "F", load, ratio.value, "N")
        lines += [angle, ratio, push]
        pushes.append(push.value)
    return [*lines, total("So much less.", r"\Delta F", pushes[0], -pushes[1], "N")]


_LINEAR = "that goes with the thickness itself. Force goes with its cube: three times the share, for a small cut."

TUNE = (
    Choice(
        "08-which",
        "Pellowfen A is to be softer. One thou, 0.0254 mm of thickness or diameter, in one place: where does it change the break force most?",
        {"a": "Off the relief: it is the spring", "b": "On the recess: bigger, so looser", "c": "On the stop pin: it moves the ball at its rim"},
        _which_thou,
        ("How many times over does a thickness count in a spring?", "How much of a thou on a diameter comes to the rim? Think of the pin's lever."),
        {
            "b": "“A bigger recess is looser, so weaker.” Up to the equator it is the other way round, and of a thou on the diameter only half is at the rim.",
            "c": "“It moves the ball itself, so it counts most.” Only half of the thou faces the tang, and the ball is nearer to the pivot than the pin.",
        },
    ),
    Choice(
        "08-lock",
        f"To bring Pellowfen A from 12.05 N down to {_SOFTER:g} N, the relief is thinned, and nothing else touched. What else has changed?",
        {
            "a": "Nothing: the detent is only for shut",
            "b": "The lock: the bar presses less on the lock face as well",
            "c": "The lock: it presses more, the bar moves easier",
        },
        _thinner_lock,
        ("How many springs does the knife have?",),
        {
            "a": "“The detent is only for shut.” The ball is. But the bar that presses it is the one that holds the lock.",
            "c": "“It moves easier, so it goes further in.” It does move easier. But bent as far as before, it presses less.",
        },
    ),
    Choice(
        "08-inside",
        f"A shop repeats its break force to ± {_SCATTER:g} N (95 %), with the mean in the very middle of a window {_WINDOW:g} N wide. "
        "How many of its knives are inside?",
        {"a": "Nearly all: the mean is right", "b": "About three out of four", "c": "About half"},
        _share_inside,
        ("± is twice the standard deviation. How many of them fit into half the window?",),
        {
            "a": "“The mean is right, so the knives are.” The mean is no knife. Each one lies where its own thou put it.",
            "c": "“The window is about as wide as the ±, so half.” Most knives lie near the middle, not evenly spread.",
        },
    ),
    Question(
        "08-thou",
        "Seated, a bar presses with {force}. Its relief is {thick}, and only the relief bends. {off} come off it, one thou, and it is bent as far as before. "
        "How many newtons are gone?",
        {"force": Given(15.0, "N"), "thick": Given(1.2, "mm"), "off": Given(0.0254, "mm")},
        "N",
        _lost_by_a_thou,
        ("What is left goes with the cube of the thickness.", "What is asked is what is gone, not what is left."),
        (
            Mistake(lambda force, thick, off: force * off / thick, _LINEAR),
            Mistake(lambda force, thick, off: force * (1 - (1 - off / thick) ** 2), "that goes with the square, as strength does. Force goes with the cube."),
            Mistake(lambda force, thick, off: force * (1 - off / thick) ** 3, "that is what is left. What is gone?"),
        ),
        tolerance=0.03,
    ),
    Question(
        "08-halve",
        "A bar rides with {force}. Somebody grinds its relief from {thick} to {thin}, half of it, and bends it as far as before. Only the relief bends. "
        "With what does it ride now?",
        {"force": Given(16.0, "N"), "thick": Given(1.2, "mm"), "thin": Given(0.6, "mm")},
        "N",
        _halved,
        ("It is the thickness in the ratio, three times over.",),
        (
            Mistake(lambda force, thick, thin: force * thin / thick, "“half the thickness, half the force.” Force goes with the cube: half of half of half."),
            Mistake(lambda force, thick, thin: force * (thin / thick) ** 2, "that goes with the square. Force goes with the cube."),
        ),
    ),
    Question(
        "08-pin",
        "A {ball} ball at a track radius of {track}, a rim gap of {gap}, and a bar that presses with {load}. A new stop pin is thicker by {step}; "
        "the tang meets it {stop} from the pivot. Without friction, and with a bar that gives no way sideways, how much less push at the ball does it take?",
        {
            "ball": _BALL,
            "track": Given(8.0, "mm"),
            "gap": Given(0.6, "mm"),
            "load": Given(14.2, "N"),
            "step": Given(0.0762, "mm", "3 thou (0.0762 mm)"),
            "stop": Given(12.0, "mm"),
        },
        "N",
        _pin,
        (
            "Half of the pin faces the tang. On the ball's own radius it moves less: that much the rim gap gets less.",
            "Push for each newton of bar force is the tangent of the angle, without friction.",
        ),
        (
            Mistake(
                lambda ball, track, gap, load, step, stop: _pin(ball, stop, gap, load, 2 * step, stop)[-1].value,
                "that moves the rim by the whole thickness. Only half of it faces the tang, and the ball is nearer to the pivot than the pin.",
            ),
            Mistake(
                lambda ball, track, gap, load, step, stop: _pin(ball, stop, gap, load, step, stop)[-1].value,
                "that is half of the thickness, right at the pin. The ball is nearer to the pivot, and moves less.",
            ),
            Mistake(
                lambda ball, track, gap, load, step, stop: _pin(ball, track, gap, load, 2 * step, stop)[-1].value,
                "that takes the whole thickness to the tang. The pin grows on both sides, and only one of them faces it.",
            ),
            Mistake(
                lambda ball, track, gap, load, step, stop: load * step / 2 * track / stop / (ball / 2),
                "that is the change of the sine. The push goes with the tangent.",
            ),
        ),
        tolerance=0.03,
    ),
)
