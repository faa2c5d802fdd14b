"""The lift trace (M1): a dial indicator on the bar against the blade angle, read without taking the knife apart.

The trace is explained by arcs: each ball that carries draws one, its rim rolling off the ball (L1), below its own flat.
One arc and two are both fitted, and the second is believed only where the noise cannot explain what it gains.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..mechanics.formulas import formulas
from ..readings import ReadingError
from ..units import show
from .arcs import arcs_of, breaks_out, curve, fit_one, fit_two, gradients, numbers_of, on_stop, rows_of
from .give import known_of
from .given import HINGE_RATIO, given_angles, given_knife, given_number, given_readings, pasted_again
from .runoff import RunOffSeen, run_off
from .value import Value, coverage_factor

_MID_SWING = 20.0  # deg: no detent reaches so far; from here on only run-off is looked for
_FEW = 8
_FLAT_START = 3.0  # a slope ratio that two rims hardly reach
UNEXPLAINED = 0.01
_SURE = 0.04  # chance of a false handover that is accepted
_NEVER = 1e-6  # chance of a false lift curve that is accepted
_FAR_BETTER = 20.0  # deviance, as much as odds of 22,000 to 1
_INCH = 25.4
_EITHER = (0.01, 0.4)  # chances between which neither one arc nor two can be ruled out


class HandoverSeen(NamedTuple):
    """A handover seen in a trace: angle [deg], by what factor the slope steps up, and the chance that noise made it.

    The angle is where the arcs of the two balls cross. A bar that gives sideways swings over before that: the stretch on
    which both carry (Feel.handovers) then ends a tenth or two of a degree earlier.
    """

    angle_deg: Value
    slope_ratio: float
    chance: float

    @property
    def steeper(self):
        """By how much the climb steepens, in words."""
        return f"{self.slope_ratio:.2f} times as steep" if math.isfinite(self.slope_ratio) else "steep, where it was flat"


@dataclass(frozen=True, repr=False)
class LiftTrace:
    """What a lift trace tells, each a Value with its ± (95 %).

    seat_lift [mm]: rise at the ball from rest to the flat; contact_deg, rim_gap [mm]: of the ball that carries at rest;
    break_out_deg; flat_level [mm] of the trace; slope_at_rest: rise at ball 1 per radian [mm], times the bar force the
    frictionless torque; resting_ball: index of the ball that carries at rest; handover: HandoverSeen or None; chance:
    that noise alone makes two arcs fit so much better than one; run_off: RunOffSeen or None, its drop is how much lower
    the other ball rides in service, seen at ball 1. lift_noise [mm], angle_noise [deg]: scatter found on the flat and in
    the climb, one standard deviation, None where too few readings show it. angle_deg, lift, fitted, fitted_doubt: the
    trace at the ball, the smooth curve that explains it and the ± of that curve; averaged: how many readings stand
    behind each of its points; smoothing: how much it smooths, in words; verdict: what the arcs say, in words. explained:
    chance of so bad a fit by noise alone; below 0.01 the arcs do not explain the trace (burr, floor, pivot).
    """

    seat_lift: Value
    contact_deg: Value
    rim_gap: Value
    break_out_deg: Value
    flat_level: Value
    slope_at_rest: Value
    resting_ball: int
    handover: HandoverSeen | None
    chance: float
    run_off: RunOffSeen | None
    lift_noise: float | None
    angle_noise: float | None
    smoothing: str
    verdict: str
    explained: float
    angle_deg: np.ndarray
    lift: np.ndarray
    fitted: np.ndarray
    fitted_doubt: np.ndarray
    averaged: np.ndarray

    def __repr__(self):
        """Short and stable, for a notebook."""
        found = "no handover seen" if self.handover is None else f"handover at {self.handover.angle_deg.value:.2f}°"
        return f"<LiftTrace: contact angle {self.contact_deg.value:.1f} ± {self.contact_deg.doubt:.1f}°, {found}>"


def lift_trace(readings, knife, hinge_ratio=1.0, lift_doubt=0.006, angle_doubt=0.6):
    """Read a lift trace (Readings of that kind) with what the card of the Knife says of its balls: a LiftTrace.

    Of the card only ball diameters, track radii and hinge distances are used, and how far the bar gives sideways (B6:
    its force, its give and the friction, with their ±); how deep the balls sit and what their recesses are, the trace
    tells itself. Contact angle and rim gap are those of the loaded knife at rest. With one ball on the card a second arc is taken as one of an equal ball.
    hinge_ratio: distance of the indicator from the hinge over that of ball 1, 1 when it stands over ball 1. lift_doubt
    [mm] and angle_doubt [deg]: ± (95 %) of one reading. Rows at angle 0 count as read on the stop, but for any that stand
    clearly higher than the lowest of them. Rows that were pasted twice are counted once. Where neither one arc nor two can be
    ruled out, each ± covers what both say.

    Valid for sharp rims: a chamfer or a rounded rim draws another curve, which can be taken for two arcs, and the
    verdict then says so. The first 0.1° to 0.2°, in which the rim still sticks, are no wall and no handover. Raises ReadingError for
    readings of another kind, too few rows, angles behind the stop or not up to the flat, and rows that show no lift
    curve, a bar that does not rise, a rise that no ball of the card makes, or inches as mm; ValueError for what is no
    Knife, and a hinge ratio or ± that is not above 0.

    >>> import numpy as np
    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> from detentlib.mechanics.sweep import sweep
    >>> from detentlib.readings import Readings
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.12))
    >>> angle = np.linspace(0, 6, 61)
    >>> trace = Readings("lift trace", {"angle": angle, "lift": sweep(knife, angle).gap}, {}, "no noise")
    >>> found = lift_trace(trace, knife, lift_doubt=0.001, angle_doubt=0.01)
    >>> round(found.contact_deg.value, 1), round(found.seat_lift.value, 3)     # asin(0.6004/0.79375) = 49.1°, seat depth 0.2746
    (49.1, 0.275)
    """
    given_readings(readings, ("lift trace",), "a lift trace is wanted")
    given_knife(knife)
    hinge_ratio = given_number("hinge_ratio", hinge_ratio, HINGE_RATIO)
    lift_doubt = given_number("lift_doubt", lift_doubt, "± of one reading of the lift", "mm")
    angle_doubt = given_number("angle_doubt", angle_doubt, "± of one reading of the angle", "deg")
    again = pasted_again([readings["angle"], readings["lift"]])
    angle, lift = readings["angle"][~again], readings["lift"][~again] / hinge_ratio
    given_angles(angle, angle_doubt, readings.source)
    order = np.argsort(angle, kind="stable")
    angle, lift = angle[order], lift[order]
    near = angle < _MID_SWING
    _refuse(angle[near], readings.source)
    arcs, known = arcs_of(knife), known_of(knife)
    sigma = lift_doubt / 2 / hinge_ratio
    stopped = on_stop(angle, lift, sigma)
    rows, far = (rows_of(angle[part], lift[part], sigma, angle_doubt / 2, stopped[part]) for part in (near, ~near))
    one = _climb(rows, angle[near], arcs, known, readings.source)
    two = fit_two(rows, arcs, one, known)
    chance = _chance(one, two) if two is not None and _crosses(two, arcs) else 1.0
    believed, rival = (two, one) if chance < _SURE else (one, two)
    _refuse_climb(angle[near], believed, arcs, readings.source)
    either = _EITHER[0] < chance < _EITHER[1]
    handover = _handover(two, arcs, chance) if believed is two else None
    seen, rolled = run_off(far, arcs)
    fitted, sure, wide = _whole(believed, rolled, far)
    lift_noise, angle_noise = _noises(rows, angle[near], believed, angle_doubt / 2)
    averaged = (wide / sure) ** 2
    doubt = coverage_factor(believed.free) * sure
    return LiftTrace(
        **_numbers(believed, rival if either else None, arcs),
        handover=handover,
        chance=chance,
        run_off=seen,
        lift_noise=lift_noise,
        angle_noise=angle_noise,
        smoothing=_said(believed, averaged[near], doubt[near], (lift_noise, lift_doubt / hinge_ratio), (angle_noise, angle_doubt), known is not None),
        verdict=_verdict(handover, chance, either, _explained(believed), any(map(_not_sharp, knife.balls))) + _once(again),
        explained=_explained(believed),
        angle_deg=angle,
        lift=lift,
        fitted=fitted,
        fitted_doubt=doubt,
        averaged=averaged,
    )


def _refuse(angle, source):
    count = np.unique(angle).size
    if count < _FEW:
        told = f"has {count} different angles below {_MID_SWING:g}°. A trace needs eight or more, from the stop to well onto the flat"
        raise ReadingError(told, source)
    if angle.min() > 0.5:
        raise ReadingError(f"starts at {angle.min():g}°. Read the indicator on the stop as well: the seat is there", source)


def _refuse_climb(angle, fit, arcs, source):
    out = math.degrees(breaks_out(arcs[0], numbers_of(fit.found, 0, _fitted(fit, arcs))))
    if angle.max() < out:
        told = f"ends at {angle.max():g}°, still on the climb: the ball would reach the flat at about {out:.1f}°. Read on to well onto the flat"
        raise ReadingError(told, source)


def _climb(rows, angle, arcs, known, source):
    """The best arc of one ball, refused where the rows are no climb of a ball that is on the card."""
    level, rise = _rise(angle, rows.height)
    upright = rows if rise >= 0 else rows._replace(height=-rows.height)
    one = fit_one(upright, arcs[0], _start(level if rise >= 0 else -level, abs(rise), arcs[0]), known)
    if not _seen(angle, upright, one):
        scatter = float(np.std(rows.height))
        told = f"shows no lift curve: the readings scatter by ± {2 * scatter:.2g} mm about one level"
        raise ReadingError(f"{told}, and an arc explains them no better. Is the indicator on the bar, and free?", source)
    if rise < 0:
        told = f"the bar does not rise between the stop and the flat, it falls by {-rise:.2g} mm"
        raise ReadingError(f"{told}. Does the indicator's sign fit: more when the bar is pushed out?", source)
    most = max(arc.lever * arc.radius for arc in arcs)
    if rise > most or one.found[1] >= arcs[0].radius:
        told = f"the bar rises by {rise:.3g} mm, and a ball of this card can lift it by less than {most:.3g} mm"
        raise ReadingError(f"{told}. Is the unit of the lift right, and hinge_ratio?", source)
    inches = rows._replace(height=_INCH * rows.height)
    level, rise = _rise(angle, inches.height)
    other = fit_one(inches, arcs[0], _start(level, rise, arcs[0]), known)
    # the same readings are so much denser on a scale of inches: that is no merit of the arc
    gain = one.deviance - other.deviance + 2 * rows.height.size * math.log(_INCH)
    if rise < most and gain > _FAR_BETTER:
        told = f"the bar rises by {rise / _INCH:.2g} mm, and no arc of this ball fits so little"
        raise ReadingError(f"{told}. As inches they fit: {rise:.3g} mm. Write the column as lift [in]", source)
    return one


def _rise(angle, height):
    """Level of the last readings, and how far they lie above the first."""
    level = float(np.median(height[angle > angle.max() - 0.25 * np.ptp(angle)]))
    return level, level - float(np.median(height[angle <= angle.min() + 0.05 * np.ptp(angle)]))


def _start(level, rise, arc):
    """Level, and gap from the rise."""
    rise = min(rise, 0.9 * arc.radius)
    return [level, math.sqrt(2 * arc.radius * rise - rise**2)]


def _seen(angle, rows, one):
    """Whether an arc, or a slope, explains the rows so much better than one level that no noise does it, however large.

    The F-test of two nested fits, with the scatter that is left and not the one that was stated.
    """
    from scipy.stats import f

    slope = np.polynomial.Polynomial.fit(angle, rows.height, 1)(angle)
    flat, arc, line = (float(np.sum((rows.height - at) ** 2)) for at in (rows.height.mean(), one.mean, slope))
    left = min(arc, line)
    return (flat - left) / 2 > left / one.free * f.isf(_NEVER, 2, one.free)


def _chance(one, two):
    """Chance that noise alone makes the second arc gain so much.

    Two more numbers, sought from several places: over 1,000 invented traces of one ball the larger gains are those of chi-square
    with two degrees of freedom. The half of all traces that gain nothing by a second arc makes up for the seeking.
    """
    from scipy.stats import chi2

    return float(chi2.sf(max(one.deviance - two.deviance, 0.0), 2))


def _explained(fit):
    from scipy.stats import chi2

    return float(chi2.sf(fit.misfit, fit.free))


def _derived(fit, number):
    """A Value computed from the fitted numbers, its ± by first order."""
    at, gradient = number(fit.found), np.empty(fit.found.size)
    for i in range(fit.found.size):
        step = np.zeros(fit.found.size)
        step[i] = 1e-5
        gradient[i] = (number(fit.found + step) - number(fit.found - step)) / 2e-5
    return Value(float(at), coverage_factor(fit.free) * math.sqrt(max(float(gradient @ fit.spread @ gradient), 0.0)))


def _numbers(fit, rival, arcs):
    """Seat, angle, gap, break-out, level and slope from the fitted arcs; where a rival is not ruled out, each ± reaches as far as its own."""
    stop = _at_stop(fit, arcs)
    resting = int(np.argmax(stop))
    arc, rim = arcs[resting], formulas["L1"]
    fitted = _fitted(fit, arcs)

    def rested(numbers):
        return rim(rim_gap=min(max(numbers[2 * resting + 1], 0.0), arc.radius * (1 - 1e-6)), ball_radius=arc.radius)

    found = {
        "seat_lift": _derived(fit, lambda n: n[0] - curve(np.zeros(1), n, fitted).item()),
        "contact_deg": _derived(fit, lambda n: math.degrees(rested(n).phi)),
        "rim_gap": _derived(fit, lambda n: n[2 * resting + 1]),
        "break_out_deg": _derived(fit, lambda n: math.degrees(breaks_out(arcs[0], numbers_of(n, 0, fitted)))),
        "flat_level": _derived(fit, lambda n: n[0]),
        "slope_at_rest": _derived(fit, lambda n: arc.lever * arc.track_radius * rested(n).slope),
    }
    if rival is not None:
        other = _numbers(rival, None, arcs)
        found = {name: Value(one.value, max(one.doubt, abs(one.value - other[name].value) + other[name].doubt)) for name, one in found.items()}
    return found | {"resting_ball": resting}


def _at_stop(fit, arcs):
    """Height of each arc at the stop."""
    fitted = _fitted(fit, arcs)
    return [curve(np.zeros(1), numbers_of(fit.found, i, fitted), [arc]).item() for i, arc in enumerate(fitted)]


def _fitted(fit, arcs):
    """The arcs that a fit has: each has two numbers, and two more are common to all where the bar gives."""
    return arcs[: fit.found.size // 2 - (arcs[0].give is not None)]


def _crosses(fit, arcs):
    """True where ball 2 carries at the stop, on a rim, and ball 1 takes over later."""
    first, second = _at_stop(fit, arcs)
    return second > first and fit.found[0] > fit.found[2] and 0 < fit.found[3] < arcs[1].radius


def _handover(fit, arcs, chance):
    """Where the two arcs cross, and how the slope steps there."""
    theta = np.radians(np.linspace(0.0, _MID_SWING, 8001))
    first, second = ((numbers_of(fit.found, i, arcs), [arc]) for i, arc in enumerate(arcs))
    lead = curve(theta, *first) - curve(theta, *second)
    k = int(np.argmax(lead >= 0))
    at = theta[k] - lead[k] * (theta[k] - theta[k - 1]) / (lead[k] - lead[k - 1])
    before, after = (np.diff(curve(at + np.array([-1e-5, 1e-5]), *part)).item() / 2e-5 for part in (second, first))
    # each number lifts or lowers the lead of ball 1, and the crossing moves by that over the difference of the slopes
    lifts = np.subtract(*gradients(at, fit.found, arcs)) / (after - before)
    doubt = coverage_factor(fit.free) * math.sqrt(max(float(lifts @ fit.spread @ lifts), 0.0))
    return HandoverSeen(Value(math.degrees(at), math.degrees(doubt)), after / before if before > 0 else math.inf, chance)


def _whole(near, rolled, far):
    """The smooth curve over all rows, one standard deviation of it, and how wide the rows scatter."""
    if rolled is None:
        count = far.height.size
        rest = (np.full(count, near.found[0]), np.full(count, math.sqrt(near.spread[0, 0])), np.full(count, far.noise))
    else:
        rest = (rolled.mean, rolled.sure, rolled.wide)
    return [np.concatenate(pair) for pair in zip((near.mean, near.sure, near.wide), rest, strict=True)]


def _noises(rows, angle, fit, angle_sigma):
    """Scatter of the lift where the trace is flat [mm], and of the angle where it is steep [deg], one standard deviation; None where few rows show it."""
    off = (rows.height - fit.mean) / fit.wide
    shows = ((rows.noise, fit.wide < 1.05 * rows.noise), (angle_sigma, (fit.wide > 3 * rows.noise) & (angle != 0)))
    return [float(size * np.sqrt(np.mean(off[part] ** 2))) if np.count_nonzero(part) >= _FEW else None for size, part in shows]


def _not_sharp(ball):
    return ball.recess.chamfer_width > 0 or ball.recess.edge_radius > 0


def _verdict(handover, chance, either, explained, not_sharp):
    """What the arcs say."""
    if handover is None:
        said = "one arc carries from the stop to the flat"
    else:
        where = show(handover.angle_deg.value, "deg", handover.angle_deg.doubt)
        said = f"two arcs: one ball hands over to the other at {where}, and the climb is {handover.steeper} after it"
        if handover.slope_ratio > _FLAT_START:
            said += ". The climb starts almost flat, and a ball on the floor of its recess looks the same"
        if not_sharp:
            said += ". But a rim of the card is not sharp, and such a rim alone can look the same"
    if either:
        other = "two arcs are" if handover is None else "one arc is"
        said += f"; {other} not ruled out (chance of noise {chance:.1g}), so each ± covers both. More readings on the stop and in the first degrees decide"
    if explained < UNEXPLAINED:
        said += f". But arcs do not explain this trace (chance {explained:.1g}): look for a burr, a floor, a chamfer, a bent pivot, or noise larger than stated"
    return said


def _once(again):
    """What is said of rows that are there twice."""
    if not again.any():
        return ""
    return f". {again.sum()} of the {again.size} rows repeat earlier rows exactly: pasted again, they were counted once"


def _said(fit, averaged, doubt, lift, angle, gives):
    """How much the curve smooths, and whether noise is all that it smooths away."""
    thinnest = int(np.argmin(averaged))
    noises = [
        f"{where} the readings scatter by ± {2 * noise:.2g}{unit}, and {taken:.2g}{unit} was taken"
        for where, noise, taken, unit in (("on the flat", *lift, " mm"), ("in the climb", *angle, "°"))
        if noise is not None
    ]
    behind = f"each of its points is worth the mean of {averaged[thinnest]:.0f} readings or more, and is sure to ± {doubt.max():.2g} mm or better"
    source = f"{averaged.size} readings" + (" and the give and friction on the card" if gives else "")
    return f"The curve is {fit.found.size} numbers drawn from {source}: {'; '.join([behind, *noises])}."
