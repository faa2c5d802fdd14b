"""Causes that are one number gone too small or too large: weighed against what is usual and its own ±."""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ...doubt.draws import SURE, Interval, distribution_of, interval
from ...knife.parts import Knife, KnifeError, spec
from ...knife.units import behind
from ...mechanics.carry import Detent
from ...mechanics.lift import Lift
from ...tune.moves import THOU, as_made, pin_assumed, with_preset
from .case import EXCLUDED, LIKELY, OPEN, POSSIBLE, Case, Cause, Move, plain, reads, signed
from .usual import usual_seat

BEND = 0.1  # mm, a bend that a hand can repeat: judgement
BENT, CLEANED, PRESSED = ("lock", "centring"), ("solvent", "dry"), ("eyes", "press", "ceramic")  # cautions of the work
SMALL = 0.03  # share of a force that nobody feels: judgement
TOO_SMALL, TOO_LARGE = -1, 1
_MOST_STEPS = 12  # of a thou: a pin that is further off is another job
_LEAST, _SIZES, _ROUNDS = 0.02, 65, 3  # mm of diameter: how a recess is looked for


class Suspect(NamedTuple):
    """One number that may be at fault: its name as a cause, the faulty side, its path, and the first move against it.

    path: with {at} for the ball that decides. seat: for one that is a number of the seated ball, its name in a Lift;
    what is drilled for it is the number at the path.
    """

    name: str
    side: int
    path: str
    move: Callable
    seat: str = ""


def weigh(case: Case, suspect: Suspect, too: int) -> Cause:
    """The Cause that one Suspect makes on this Case, whose number is too small (too = −1) or too large (1)."""
    path = suspect.path.format(at=case.at)
    column, value, low, high = _numbers(case, suspect, path)
    unit, middle = spec(path)["unit"], (low + high) / 2
    said, usual = value.said(unit), f"usual {low:g} to {high:g}{behind(unit)}"
    if suspect.seat == "rim_gap":
        said += f", contact angle {case.felt.contact_deg[case.at]:.0f}°"
    decider = reads(path, case.knife, f"{'less' if suspect.side < 0 else 'more'} speaks for it")
    cured = case.change(_put(case, suspect, path, middle))

    def cause(standing, told, weight=0.0, at=case):
        return Cause(suspect.name, standing, told, weight, decider, suspect.move(at))

    if suspect.side * (value.value - middle) > 0 and case.share(cured) >= SMALL:
        if cured is not None and too * cured > 0:
            return cause(EXCLUDED, f"{said}, {usual}; at {plain(middle, unit)} {case.told(cured)}, the wrong way")
        told = f"{said}, {usual}; at {plain(middle, unit)} {case.told(cured)}"
        return cause(POSSIBLE if low <= value.value <= high else LIKELY, told, case.share(cured))
    if not case.allows(suspect.side * (column - middle) > 0):
        return cause(EXCLUDED, f"{said}: {'above' if suspect.side < 0 else 'below'} the middle of what is {usual}")
    worst = value.low if suspect.side < 0 else value.high
    there = _there(case, _put(case, suspect, path, worst))
    change = None if there is None else there.now - case.now
    if case.share(change) < SMALL:
        would = f"at {plain(middle, unit)} the {case.said} would change by {signed(cured, case.unit)}"
        return cause(EXCLUDED, f"{said}, {usual}; {would}, which nobody feels")
    told = f"{said}, {usual}; if it were {plain(worst, unit)}, {case.told(change)}"
    if change is not None and too * change < 0:
        return cause(EXCLUDED, f"{told}, the wrong way")
    return cause(OPEN, told, case.share(change), there or case)


def _there(case, changes):
    try:
        return Case(case.knife.replace(changes), case.result)
    except KnifeError:
        return None


def _numbers(case, suspect, path):
    """The suspect's column, its Interval, and the two ends of what is usual."""
    if suspect.seat:
        column = case.column(getattr(seated(case.many, case.at), suspect.seat))
        return column, interval(column), *usual_seat(suspect.seat, case.knife.balls[case.at])
    typical, now = spec(path)["typical"], case.knife.get(path)
    # the ends of a number of the card are known without a draw
    ends = distribution_of(path, now, case.knife.doubts.get(path, 0.0)).at(np.array([-SURE, SURE]))
    usual = typical.value - typical.doubt, typical.value + typical.doubt
    return case.column(case.many.get(path)), Interval(now, *ends), *usual


def _put(case, suspect, path, value):
    return drilled_for(case, suspect.seat, value) if suspect.seat else {path: value}


def seated(knife: Knife, i: int) -> Lift:
    """Where a ball of the loaded knife sits at the stop."""
    return Detent(knife).state(np.zeros(1), -1).lifts[i]


def drilled_for(case: Case, seat: str, wanted: float) -> dict[str, float]:
    """What drills the recess at fault until its "rim_gap" or "sink" is as wanted, or as near as a rim can be."""
    path, ball = case.path("recess.diameter"), case.knife.balls[case.at]
    recess, rims = ball.recess, 2 * (ball.recess.rim_radius - ball.recess.diameter / 2)
    beside = math.hypot(recess.rest_offset, recess.off_track)
    ends = max(2 * beside - rims, 0.0) + _LEAST, 2 * (ball.radius + beside) - rims
    for _ in range(_ROUNDS):
        sizes = np.linspace(*ends, _SIZES)
        found = seated(case.knife.with_arrays({path: sizes[:, None]}), case.at)
        reached = np.flatnonzero(getattr(found, seat) >= wanted)
        k = int(np.clip(reached[0] if reached.size else _SIZES, 1, _SIZES - 1))
        ends = sizes[k - 1], sizes[k]
    return {path: float(ends[1])}


def stop_pin(case: Case, step: float, result: str | None = None) -> Move:
    """Move: a stop pin so much thicker [mm in diameter], which holds the blade further out; below zero, thinner.

    As many such steps as it takes to be felt: a ball that the bar lets into the middle of its recess does not notice
    the first ones.
    """
    at = case.about(result) if result else case

    def pinned(steps):
        return lambda knife: knife.replace(as_made(knife, {"pin": steps * step}))

    effects = ((steps, at.change(pinned(steps))) for steps in range(1, _MOST_STEPS + 1))
    steps = next((steps for steps, effect in effects if effect and at.share(effect) >= SMALL), 1)
    way = f"{'thicker' if step > 0 else 'thinner'}{pin_assumed(case.knife)}"
    said = f"stop pin {plain(abs(steps * step), 'mm')} {way}, then check lock-up and open stop"
    return case.move(said, pinned(steps), result, ("pin",))


def _thinner_pin(case):
    return stop_pin(case, -THOU)


def _thicker_pin(case):
    return stop_pin(case, THOU)


def bend(case: Case, step: float) -> Move:
    """Move: more preset, or less [mm]; the lock feels it as well."""
    way = "further in" if step > 0 else "back"
    said = f"preset: bend the bar {plain(abs(step), 'mm')} {way}, then check the lock-up"
    return case.move(said, lambda knife: with_preset(knife, step), cautions=BENT)


def oil(case: Case) -> Move:
    """Move: clean and oil, until friction is what is usual; where it is that already, as low as is usual."""
    usual = spec("friction.rim")["typical"]
    now = case.knife.friction.rim
    then = usual.value if now > usual.value else min(now, usual.value - usual.doubt)
    said = f"clean and oil: friction from {plain(now, '')} to {plain(then, '')}"
    return case.move(said, {"friction.rim": then}, cautions=CLEANED)


def _wiped(case):
    """Move: wipe off what is too much, until friction is what is usual."""
    now, usual = case.knife.friction.rim, spec("friction.rim")["typical"].value
    said = f"wipe off what is too much: friction from {plain(now, '')} to {plain(usual, '')}"
    return case.move(said, {"friction.rim": usual}, cautions=CLEANED)


def _free_the_pivot(case):
    usual = spec("friction.pivot_torque")["typical"]
    less = {"friction.pivot_torque": usual.value - usual.doubt}
    return case.move("clean the pivot, ease its screw, oil it", less, cautions=CLEANED)


def _push_further_out(case):
    step = 2.0
    said = f"push {plain(step, 'mm')} further from the pivot"
    return case.move(said, {"blade.tab_arm": case.knife.blade.tab_arm + step})


_BORE, _OFFSET = "balls[{at}].recess.diameter", "balls[{at}].recess.rest_offset"
_FORCE, _RIM = "bar.riding_force", "friction.rim"

SMALL_GAP = Suspect("rim gap small: recess small, ball high up on it", TOO_SMALL, _BORE, _thinner_pin, "rim_gap")
LARGE_GAP = Suspect("rim gap large: recess large, steep contact", TOO_LARGE, _BORE, _thicker_pin, "rim_gap")
SHALLOW = Suspect("shallow seat: little barrier", TOO_SMALL, _BORE, _thinner_pin, "sink")
FAR_OUT = Suspect("rest offset large: the stop holds the ball short", TOO_LARGE, _OFFSET, _thinner_pin)
FAR_IN = Suspect("rest offset small: little bias towards shut", TOO_SMALL, _OFFSET, _thicker_pin)
SOFT = Suspect("bar force low: too little preset", TOO_SMALL, _FORCE, lambda case: bend(case, BEND))
HARD = Suspect("bar force high: too much preset", TOO_LARGE, _FORCE, lambda case: bend(case, -BEND))
WET = Suspect("friction low: fresh or much oil", TOO_SMALL, _RIM, _wiped)
DRY = Suspect("friction high: dry, dirty or starved contact", TOO_LARGE, _RIM, oil)
DRAG = Suspect("drag of the pivot high", TOO_LARGE, "friction.pivot_torque", _free_the_pivot)
SHORT_ARM = Suspect("short arm: the finger pushes near the pivot", TOO_SMALL, "blade.tab_arm", _push_further_out)
