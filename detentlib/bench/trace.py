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
from .value import Value, coverage_factor

_ON_STOP = 1e-9  # deg: read on the stop, where the angle has no doubt
_MID_SWING = 20.0  # deg: no detent reaches so far; from here on only run-off is looked for
_ROUNDS = 12
_SURE = 0.005  # chance of a false handover that is accepted


class HandoverSeen(NamedTuple):
    """A handover seen in a trace: angle [deg], by what factor the slope steps up, and the chance that noise made it."""

    angle_deg: Value
    slope_ratio: float
    chance: float


class RunOffSeen(NamedTuple):
    """A run-off seen in a trace: where the first ball rolls off [deg], how far the bar drops [mm] until the next carries."""

    angle_deg: Value
    drop: Value


@dataclass(frozen=True, repr=False)
class LiftTrace:
    """What a lift trace tells, each a Value with its ± (95 %).

    seat_lift [mm]: rise at the ball from rest to the flat; contact_deg, rim_gap [mm]: of the ball that carries at rest;
    break_out_deg; flat_level [mm] of the trace; slope_at_rest: rise at ball 1 per radian [mm], times the bar force the
    frictionless torque; resting_ball: index of the ball that carries at rest; handover: HandoverSeen or None; run_off:
    RunOffSeen or None. lift_noise [mm]: scatter found in the flat part, one standard deviation; smoothing: how many
    readings make one number, in words. angle_deg, lift, fitted: the trace at the ball and the curve that explains it.
    explained: chance of so bad a fit by noise alone; below 0.01 the arcs do not explain the trace (burr, floor, pivot).
    """

    seat_lift: Value
    contact_deg: Value
    rim_gap: Value
    break_out_deg: Value
    flat_level: Value
    slope_at_rest: Value
    resting_ball: int
    handover: HandoverSeen | None
    run_off: RunOffSeen | None
    lift_noise: float
    smoothing: str
    explained: float
    angle_deg: np.ndarray
    lift: np.ndarray
    fitted: np.ndarray

    def __repr__(self):
        """Short and stable, for a notebook."""
        found = "no handover seen" if self.handover is None else f"handover at {self.handover.angle_deg.value:.2f}°"
        return f"<LiftTrace: contact angle {self.contact_deg.value:.1f} ± {self.contact_deg.doubt:.1f}°, {found}>"


def lift_trace(readings, knife, hinge_ratio=1.0, lift_doubt=0.006, angle_doubt=0.6):
    """Read a lift trace (Readings of that kind) with what the card of the Knife says of its balls: a LiftTrace.

    Of the card only ball diameters, track radii and hinge distances are used; how deep the balls sit and what their
    recesses are, the trace tells itself. With one ball on the card a second arc is taken as one of an equal ball.
    hinge_ratio: distance of the indicator from the hinge over that of ball 1, 1 when it stands over ball 1. lift_doubt [mm]
    and angle_doubt [deg]: ± (95 %) of one reading. Rows at angle 0 count as read on the stop. Raises ReadingError for readings of another kind, too few rows,
    angles that do not reach the flat, or a bar that does not rise.
    """
    if readings.kind != "lift trace":
        raise ReadingError(f"holds readings of the kind {readings.kind!r}, where a lift trace is wanted", readings.source)
    order = np.argsort(readings["angle"], kind="stable")
    angle, lift = readings["angle"][order], readings["lift"][order] / hinge_ratio
    sigma = (lift_doubt / 2 / hinge_ratio, math.radians(angle_doubt / 2))
    arcs = _arcs_of(knife)
    near = angle < _MID_SWING
    _refuse(angle[near], readings.source)
    theta, height = np.radians(angle[near]), lift[near]
    one = _fit(theta, height, arcs[:1], sigma, _start_one(theta, height, arcs[0], readings.source))
    two = _fit_two(theta, height, arcs, sigma, one)
    chance = _chance(one, two)
    believed = two if chance < _SURE else one
    fitted = np.interp(angle, np.degrees(theta), believed.curve)
    run_off = _run_off(np.radians(angle[~near]), lift[~near], arcs, sigma)
    return LiftTrace(
        **_numbers(believed, arcs),
        handover=_handover(two, arcs, chance) if believed is two and _crosses(two, arcs) else None,
        run_off=run_off,
        lift_noise=believed.noise,
        smoothing=f"{theta.size} readings make {believed.found.size} numbers; nothing else is smoothed",
        explained=_explained(believed),
        angle_deg=angle,
        lift=lift,
        fitted=fitted
        if run_off is None
        else np.where(near, fitted, np.where(angle < run_off.angle_deg.value, fitted[near][-1], fitted[near][-1] - run_off.drop.value)),
    )


class _Fit(NamedTuple):
    """A fit of arcs: found = [level, gap of ball 1] or with [level 2, gap of ball 2] behind; weighted misfit; curve."""

    found: np.ndarray
    spread: np.ndarray
    misfit: float
    free: int
    curve: np.ndarray
    noise: float


class _Arc(NamedTuple):
    """What the card says of one ball: radius, track radius [mm], and its lever, lift at ball 1 per lift at this ball."""

    radius: float
    track_radius: float
    lever: float


def _arcs_of(knife):
    """The arcs of ball 1 and of one other, an equal ball where the card has only one."""
    first, *others = knife.balls
    other = others[0] if others else first
    return [_Arc(ball.radius, ball.track_radius, first.hinge_distance / ball.hinge_distance) for ball in (first, other)]


def _refuse(angle, source):
    if np.unique(angle).size < 8:
        raise ReadingError(
            f"has {np.unique(angle).size} different angles below {_MID_SWING:g}°. A trace needs eight or more, from the stop to well onto the flat", source
        )
    if angle.min() > 0.5:
        raise ReadingError(f"starts at {angle.min():g}°. Read the indicator on the stop as well: the seat is there", source)


def _curve(theta, numbers, arcs):
    """Lift at ball 1 over the angle [rad]: the highest of the arcs with the numbers [level, rim gap, ...]."""
    heights = []
    for arc, level, gap in zip(arcs, numbers[::2], numbers[1::2], strict=False):
        rim_gap = np.clip(gap - arc.track_radius * theta, 0.0, arc.radius * (1 - 1e-9))
        heights.append(level - arc.lever * formulas["L3"](rim_gap=rim_gap, ball_radius=arc.radius, edge_radius=0.0).sink)
    return np.max(heights, axis=0)


def _fit(theta, height, arcs, sigma, start):
    """Least squares with the doubt of the angle turned into lift by the slope of the curve itself."""
    from scipy.optimize import least_squares

    def curve(theta, numbers):
        return _curve(theta, numbers, arcs)

    numbers = np.asarray(start, float)
    shake = np.where(np.abs(np.degrees(theta)) < _ON_STOP, 0.0, sigma[1])
    bounds = ([-np.inf, 0.0] * len(arcs), [bound for arc in arcs for bound in (np.inf, arc.radius * (1 - 1e-6))])
    for _ in range(_ROUNDS):
        low, middle, high = (curve(theta + side * shake, numbers) for side in (-1, 0, 1))
        weight = 1 / np.hypot(sigma[0], (high - low) / 2)
        # an angle that scatters reads a bent curve a little low on average
        mean = height - (high - 2 * middle + low) / 2
        found = least_squares(lambda tried, w=weight, m=mean: (curve(theta, tried) - m) * w, numbers, bounds=bounds, x_scale=0.1, xtol=1e-10, ftol=1e-10)
        moved, numbers = np.max(np.abs(found.x - numbers)), found.x
        if moved < 1e-5:
            break
    misfit, free = 2 * found.cost, theta.size - numbers.size
    spread = np.linalg.pinv(found.jac.T @ found.jac) * max(1.0, misfit / free)
    flat = curve(theta, numbers) >= numbers[::2].max() - 1e-9
    noise = float(np.std(height[flat], ddof=1)) if np.count_nonzero(flat) > 2 else sigma[0]
    return _Fit(numbers, spread, misfit, free, curve(theta, numbers), noise)


def _start_one(theta, height, arc, source):
    """Level from the last readings, gap from the lift at the start."""
    level = float(np.median(height[theta > theta.max() - 0.25 * np.ptp(theta)]))
    rise = level - float(np.median(height[theta <= theta.min() + 0.05 * np.ptp(theta)]))
    if rise <= 0:
        raise ReadingError("the bar does not rise between the stop and the flat. Does the indicator's sign fit: more when the bar is pushed out?", source)
    rise = min(rise, 0.9 * arc.radius)
    return [level, math.sqrt(2 * arc.radius * rise - rise**2)]


def _fit_two(theta, height, arcs, sigma, one):
    """The best pair of arcs, from the best places on a grid of them: ball 1 rides last, the other carries first."""
    level, gap = one.found
    first_ball, second_ball = arcs
    shake = np.where(np.abs(np.degrees(theta)) < _ON_STOP, 0.0, sigma[1])
    weight = 1 / np.hypot(sigma[0], (_curve(theta + shake, one.found, arcs[:1]) - _curve(theta - shake, one.found, arcs[:1])) / 2)
    rest = level - _curve(np.zeros(1), one.found, arcs[:1]).item()
    tried = []
    for first in gap + np.linspace(0.005, 0.125, 13):
        for second in gap - np.linspace(0.005, 0.205, 21):
            if first < first_ball.radius and 0 < second < second_ball.radius:
                # at the stop ball 2 carries, so the pair stands there where the trace stands
                seat = second_ball.lever * formulas["L1"](rim_gap=second, ball_radius=second_ball.radius).sink
                numbers = np.array([level, first, level - rest + seat, second])
                tried.append((float(np.sum(((_curve(theta, numbers, arcs) - height) * weight) ** 2)), numbers))
    starts = sorted(tried, key=lambda each: each[0])[:: max(len(tried) // 40, 1)][:3] or [(0.0, np.array([level, gap, level - rest / 2, 0.9 * gap]))]
    return min((_fit(theta, height, arcs, sigma, numbers) for _, numbers in starts), key=lambda fit: fit.misfit)


def _chance(one, two):
    """Chance that noise alone makes the second arc gain so much."""
    from scipy.stats import chi2

    scale = max(1.0, two.misfit / two.free)
    return float(chi2.sf((one.misfit - two.misfit) / scale, 2))


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


def _numbers(fit, arcs):
    """Seat, angle, gap, break-out, level and slope from the fitted arcs."""
    fitted = len(fit.found) // 2
    stop = [_curve(np.zeros(1), fit.found[2 * i : 2 * i + 2], arcs[i : i + 1]).item() for i in range(fitted)]
    resting = int(np.argmax(stop))
    arc, rim = arcs[resting], formulas["L1"]

    def rested(numbers):
        return rim(rim_gap=numbers[2 * resting + 1], ball_radius=arc.radius)

    return {
        "seat_lift": _derived(fit, lambda n: n[0] - _curve(np.zeros(1), n, arcs[:fitted]).item()),
        "contact_deg": _derived(fit, lambda n: math.degrees(rested(n).phi)),
        "rim_gap": _derived(fit, lambda n: n[2 * resting + 1]),
        "break_out_deg": _derived(fit, lambda n: math.degrees(n[1] / arcs[0].track_radius)),
        "flat_level": _derived(fit, lambda n: n[0]),
        "slope_at_rest": _derived(fit, lambda n: arc.lever * arc.track_radius * rested(n).slope),
        "resting_ball": resting,
    }


def _crosses(fit, arcs):
    """True where ball 2 carries at the stop and ball 1 takes over later."""
    stop = [_curve(np.zeros(1), part, arc).item() for part, arc in ((fit.found[:2], arcs[:1]), (fit.found[2:], arcs[1:]))]
    return stop[1] > stop[0] and fit.found[0] > fit.found[2]


def _handover(fit, arcs, chance):
    """Where the two arcs cross, and how the slope steps there."""
    theta = np.radians(np.linspace(0.0, _MID_SWING, 8001))

    def above(numbers, at=theta):
        """How far the arc of ball 1 lies above the other."""
        return _curve(at, numbers[:2], arcs[:1]) - _curve(at, numbers[2:], arcs[1:])

    def crossing(numbers):
        lead = above(numbers)
        k = int(np.argmax(lead >= 0))
        return float(np.degrees(theta[k] - lead[k] * (theta[k] - theta[k - 1]) / (lead[k] - lead[k - 1])))

    where = _derived(fit, crossing)
    at, step = math.radians(where.value), np.array([-1e-4, 1e-4])
    before, after = (np.diff(_curve(at + step, part, arc)).item() for part, arc in ((fit.found[2:], arcs[1:]), (fit.found[:2], arcs[:1])))
    return HandoverSeen(where, after / before if before > 0 else math.inf, chance)


def _run_off(theta, height, arcs, sigma):
    """A drop of the flat late in the swing: ball 1 rolls off (L7) until the other carries, which may roll off in its turn."""
    from scipy.optimize import least_squares
    from scipy.stats import chi2

    if theta.size < 8:
        return None
    level = float(np.median(height[: max(theta.size // 4, 3)]))

    def rolled(at, arc):
        past = np.clip(arc.track_radius * (theta - at), 0.0, arc.radius * (1 - 1e-9))
        return arc.lever * formulas["L3"](rim_gap=past, ball_radius=arc.radius, edge_radius=0.0).sink

    def curve(numbers):
        first, drop, second = numbers
        return np.maximum(level - rolled(first, arcs[0]), level - drop - rolled(second, arcs[1]))

    def off(numbers):
        return (curve(numbers) - height) / sigma[0]

    best = None
    for first in np.quantile(theta, np.linspace(0.05, 0.9, 12)):
        for drop in (0.03, 0.1, 0.3):
            for second in (first + np.radians(6.0), theta[-1] + 0.1):
                # the angle shakes most on the slopes: they must not pull the two levels about
                tried = least_squares(off, [first, drop, second], x_scale=[0.01, 0.02, 0.01], loss="soft_l1", max_nfev=40)
                if best is None or tried.cost < best.cost:
                    best = tried
    first, drop, second = best.x
    gain = np.sum(((level - height) / sigma[0]) ** 2) - np.sum(off(best.x) ** 2)
    if chi2.sf(gain, 3) > _SURE or drop <= 0:
        return None
    before = height[theta < first - sigma[1]]
    over = first + math.sqrt(max(2 * arcs[0].radius * drop - drop**2, 0.0)) / arcs[0].track_radius
    after = height[(theta > over + sigma[1]) & (theta < second - sigma[1])]
    if before.size < 3 or after.size < 3:
        return None
    lower = Value(float(before.mean() - after.mean()), 2 * sigma[0] * math.hypot(before.size**-0.5, after.size**-0.5))
    return RunOffSeen(Value(float(np.degrees(first)), float(np.degrees(2 * sigma[1]))), lower)
