"""The lift trace (M1): a dial indicator on the bar against the blade angle, read without taking the knife apart.

The trace is explained by arcs: each ball that carries draws one, its rim rolling off the ball (L1, L3, L4), below its
own flat. Rivals of one ball and of two are fitted, each with a zero of the protractor that may be off, a rim that may
be rounded or chamfered, sideways give, and angle errors that may drift together. A second ball is believed only where
it beats every rival of one, and where no angle errors drift beside it: these draw waves of their own.
"""

import itertools
import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ..knife.given import given_knife, given_number
from ..knife.parts import Knife
from ..knife.plain import true_minus
from ..knife.units import SURE, show
from .arcs import ZERO, Rival, fit_two, on_stop, rivals_of, rows_of, with_steps
from .given import HINGE_RATIO, HINGE_RATIOS, given_angles, given_readings, pasted_again
from .least import Fit
from .readings import ReadingError, Readings
from .runoff import RunOffSeen, run_off
from .value import Value

_MID_SWING = 20.0  # deg: no detent reaches so far; from here on only run-off is looked for
_FEW = 8
_FLAT_START = 3.0  # a slope ratio that two rims hardly reach
UNEXPLAINED = 0.01
# chance of noise below which a second ball is believed; where errors drift, it takes more
_SURE, _SURE_OF_DRIFT = 0.1, 0.02
_OPEN = 0.4  # chance from which on noise alone makes the gain of a second ball
_NEVER = 1e-6  # chance of a false lift curve that is accepted
_FAR_BETTER = 20.0  # deviance, as much as odds of 22,000 to 1
_CLEARLY_BETTER = 4.0
_INCH = 25.4
_TELLS = 10.0  # deviance by which a second ball must be expected to show, so that it is rarely missed
_CLEARLY_LOWER, _HALFWAY = (
    8.0,
    0.45,
)  # such a ball: how much lower it touches [deg], and at what share of the climb it hands over
_LOWER, _LATER = (2.0, 6.0, 10.0, 14.0), (0.1, 0.3, 0.5, 0.7)  # the same, of balls that may be hidden in the noise
_SHARP = 1e-9  # of the widest: as good as no scatter
_HIDDEN = 0.05  # share of belief from which on second balls that may be hidden are worth a word
_READING = 0.25  # minutes that one more reading takes: common practice


class HandoverSeen(NamedTuple):
    """A handover seen in a trace: angle [deg], by what factor the slope steps up, and the chance that noise made it.

    The angle is where the arcs of the two balls cross. A bar that gives sideways swings over before that: the stretch
    on which both carry (Feel.handovers) then ends a tenth or two of a degree earlier.
    """

    angle_deg: Value
    slope_ratio: float
    chance: float

    @property
    def steeper(self) -> str:
        """By how much the climb steepens, in words."""
        return (
            f"{self.slope_ratio:.2f} times as steep" if math.isfinite(self.slope_ratio) else "steep, where it was flat"
        )


@dataclass(frozen=True, repr=False)
class LiftTrace:
    """What a lift trace tells, each a Value with its ± (95 %).

    seat_lift [mm]: rise at the ball from rest to the flat; contact_deg, rim_gap [mm]: of the ball that carries at rest;
    break_out_deg; flat_level [mm] of the trace; slope_at_rest: rise at ball 1 per radian [mm], times the bar force the
    frictionless torque; zero_deg: how much the protractor shows too much; resting_ball: index of the ball that carries
    at rest; handover: HandoverSeen or None; chance: that noise alone makes two arcs fit so much better than one;
    run_off: RunOffSeen or None, its angle with that zero taken off, its drop how much lower the other ball rides in
    service, seen at ball 1. lift_noise [mm], angle_noise [deg]: scatter found on the flat and in the climb, one
    standard deviation, None where too few readings show it. angle_deg, lift, fitted, fitted_doubt: the trace at the
    ball, the smooth curve that explains it and the ± of that curve; averaged: how many readings stand behind each of
    its points; smoothing: how much it smooths, in words; verdict: what the arcs say, in words; rival: the one ball that
    explains it best, in words; untold: what the trace cannot tell, in words, empty if nothing. explained: chance of so
    bad a fit by noise alone; below 0.01 the arcs do not explain the trace (burr, floor, pivot).
    """

    seat_lift: Value
    contact_deg: Value
    rim_gap: Value
    break_out_deg: Value
    flat_level: Value
    slope_at_rest: Value
    zero_deg: Value
    resting_ball: int
    handover: HandoverSeen | None
    chance: float
    run_off: RunOffSeen | None
    lift_noise: float | None
    angle_noise: float | None
    smoothing: str
    verdict: str
    rival: str
    untold: str
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


def lift_trace(
    readings: Readings, knife: Knife, hinge_ratio: float = 1.0, lift_doubt: float = 0.006, angle_doubt: float = 0.6
) -> LiftTrace:
    """Read a lift trace (Readings of that kind) with what the card of the Knife says of its balls.

    Of the card are used: ball diameters, track radii and hinge distances, what it says of the rims, and how far the bar
    gives sideways (B6: its force, its give and the friction); all with their ±. A rim of which it says nothing may be
    rounded or chamfered a little: `edge_radius` and `chamfer_width` with their ± on the card make the answer surer. How
    deep the balls sit and what their recesses are, the trace tells itself. Contact angle and rim gap are those of the
    loaded knife at rest. With one ball on the card a second arc is taken as one of an equal ball. hinge_ratio: distance
    of the indicator from the hinge over that of ball 1, 1 when it stands over ball 1. lift_doubt [mm] and angle_doubt
    [deg]: ± (95 %) of one reading; coarse steps in which both are shown count beside it. Rows at angle 0 count as read
    on the stop, but for any that stand clearly higher than the lowest of them. Rows that were pasted twice are counted
    once. Each ± covers what every rival that is not ruled out says; where the card has a second ball also one that
    carries at rest, unseen in the noise.

    The first 0.1° to 0.2°, in which the rim still sticks, are no wall and no handover. Raises ReadingError for
    readings of another kind, too few rows, angles behind the stop or not up to the flat, and rows that show no lift
    curve, a bar that does not rise, a rise that no ball of the card makes, or inches as mm; ValueError for what is no
    Knife, and a hinge ratio or ± that is not above 0.

    >>> import numpy as np
    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> from detentlib.mechanics.sweep import sweep
    >>> from detentlib.measure.readings import Readings
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.12))
    >>> angle = np.linspace(0, 6, 61)
    >>> trace = Readings("lift trace", {"angle": angle, "lift": sweep(knife, angle).gap}, {}, "no noise")
    >>> found = lift_trace(trace, knife, lift_doubt=0.001, angle_doubt=0.01)
    >>> round(found.contact_deg.value, 1), round(found.seat_lift.value, 3)  # asin(0.6004/0.79375) = 49.1°
    (49.1, 0.275)
    """
    given_readings(readings, ("lift trace",), "a lift trace is wanted")
    given_knife(knife)
    hinge_ratio = given_number("hinge_ratio", hinge_ratio, HINGE_RATIO, ends=HINGE_RATIOS)
    lift_doubt = given_number("lift_doubt", lift_doubt, "± of one reading of the lift", "mm")
    angle_doubt = given_number("angle_doubt", angle_doubt, "± of one reading of the angle", "deg")
    again = pasted_again([readings["angle"], readings["lift"]])
    angle, lift = readings["angle"][~again], readings["lift"][~again] / hinge_ratio
    given_angles(angle, angle_doubt, readings.source)
    near = angle < _MID_SWING
    _refuse(angle[near], readings.source)
    sigma, shake = with_steps(angle, lift, lift_doubt / 2 / hinge_ratio, angle_doubt / 2)
    rivals, stopped = rivals_of(knife), on_stop(angle, lift, sigma)
    rows, far = (rows_of(angle[part], lift[part], sigma, shake, stopped[part]) for part in (near, ~near))
    found = _Found(rivals, rows, len(knife.balls) > 1, readings.source)
    if angle[near].max() < (out := found.value("break_out_deg").value):
        told = (
            f"ends at {angle[near].max():g}°, still on the climb: the ball would reach the flat at about {out:.1f}°."
            " Read on to well onto the flat"
        )
        raise ReadingError(told, readings.source)
    handover = found.handover() if found.two else None
    numbers = {name: found.value(name) for name in _NUMBERS}
    seen, rolled = run_off(far, rivals[2][0].arcs)
    if seen is not None:
        read, zero = seen.angle_deg, numbers["zero_deg"]
        seen = seen._replace(angle_deg=Value(read.value - zero.value, math.hypot(read.doubt, zero.doubt)))
    fitted, sure, wide = found.whole(rolled, far)
    lift_noise, angle_noise = found.noises(shake)
    averaged, doubt = (wide / sure) ** 2, found.best.fit.factor * sure
    order, shown = [np.argsort(each.angle, kind="stable") for each in (rows, far)], [rows, far]
    sort = np.concatenate([order[0], rows.angle.size + order[1]])
    return LiftTrace(
        **numbers,
        resting_ball=found.best.resting,
        handover=handover,
        chance=found.chance,
        run_off=seen,
        lift_noise=lift_noise,
        angle_noise=angle_noise,
        smoothing=_said(
            found,
            averaged[: rows.angle.size],
            doubt[: rows.angle.size],
            (lift_noise, 2 * sigma),
            (angle_noise, 2 * shake),
        ),
        verdict=_verdict(found, handover) + _once(again),
        rival=found.one.said,
        untold=found.untold,
        explained=found.best.fit.explained,
        angle_deg=np.concatenate([each.angle for each in shown])[sort],
        lift=np.concatenate([each.height for each in shown])[sort],
        fitted=fitted[sort],
        fitted_doubt=doubt[sort],
        averaged=averaged[sort],
    )


def _refuse(angle, source):
    count = np.unique(angle).size
    if count < _FEW:
        told = (
            f"has {count} different angles below {_MID_SWING:g}°. A trace needs eight or more, from the stop to well"
            " onto the flat"
        )
        raise ReadingError(told, source)
    if angle.min() > 0.5:
        raise ReadingError(
            f"starts at {angle.min():g}°. Read the indicator on the stop as well: the seat is there", source
        )


class _Tried(NamedTuple):
    """A rival and its fit."""

    rival: Rival
    fit: Fit

    @property
    def resting(self):
        """The ball that carries at rest."""
        return int(np.argmax([each.item() for each in self.rival.heights(np.zeros((1, 1, 1)), self.fit.found[None])]))

    @property
    def zero(self):
        """How far off the protractor has its zero [deg]."""
        return float(_zero(self.rival, self.resting, self.fit.found[None])[0])

    @property
    def said(self):
        """What it takes beside sharp rims and a zero that is right, in words."""
        k, moved = 2 * len(self.rival.arcs), []
        soft = self.fit.found[k + 1]
        if abs(self.zero) > self.rival.known[1][0]:
            moved.append(true_minus(f"the zero of the protractor off by {self.zero:.2f}°"))
        if soft > _SHOWS:
            moved.append(f"rims {_SOFTENED[self.rival.soft]} by {soft:.3f} mm")
        if self.fit.drift is not None:
            moved.append(f"angle errors that drift together over some {self.fit.drift:.0f} readings")
        balls = "one ball" if k == 2 else "two balls"
        return f"{balls} with {' and '.join(moved)}" if moved else f"{balls} with rims and zero as on the card"

    def value(self, name):
        """One of _NUMBERS, as this rival has it."""
        return self.fit.told(lambda table: _NUMBERS[name](self.rival, self.resting, table), self.rival.sizes)

    def crosses(self):
        """True where ball 2 carries at the stop, on a rim, and ball 1 takes over later."""
        first, second = self.rival.heights(np.zeros((1, 1, 1)), self.fit.found[None])
        steep = self.rival.seat(1, self.fit.found[None])[1].item()
        return bool(
            second > first and self.fit.found[0] > self.fit.found[2] and self.fit.found[3] > 0 and steep < _STEEPEST
        )


_SOFTENED = {"edge_radius": "rounded", "chamfer_width": "chamfered"}
_STEEPEST = math.tan(math.radians(75))  # with the friction of a dry rim a ball that rests so steeply hardly comes out
_SHOWS = 0.01  # mm, of rounding or chamfer that is worth a word


def _seat_lift(rival, resting, table):
    return table[:, 0] - rival.curve(np.zeros((1, 1, 1)), table).reshape(-1)


def _zero(rival, resting, table):
    return table[:, 2 * len(rival.arcs)]


_NUMBERS = {
    "seat_lift": _seat_lift,
    "contact_deg": lambda rival, resting, table: np.degrees(np.arctan(rival.seat(resting, table)[1])),
    "rim_gap": lambda rival, resting, table: table[:, 2 * resting + 1] - rival.softness(table.T),
    "break_out_deg": lambda rival, resting, table: np.degrees(rival.breaks_out(table)),
    "flat_level": lambda rival, resting, table: table[:, 0],
    "slope_at_rest": (
        lambda rival, resting, table: (
            rival.arcs[resting].lever * rival.arcs[resting].track_radius * rival.seat(resting, table)[1]
        )
    ),
    "zero_deg": _zero,
}


class _Found:
    """Every rival fitted to the rows of a climb; the best of one ball and of two, and whether the second ball is
    believed.
    """

    def __init__(self, rivals, rows, second_ball, source):
        """second_ball: whether the card has one. Raises ReadingError where the rows are no climb of a ball that is on
        the card.
        """
        self.rows = rows
        ones = _climb(rows, rivals[1], source)
        # how much better a rival follows the waves of a drift says nothing of its rim
        self.one = ones[0] if ones[0].fit.drift is not None else _preferred(ones)
        twos = [_Tried(*each) for each in zip(rivals[2], fit_two(rows, rivals[2], ones[0].fit), strict=False)]
        twos = [tried for tried in twos if tried.crosses()]
        second = _preferred(twos) if twos else None
        self.chance = (
            _chance(*(min((tried.fit for tried in each), key=lambda fit: fit.deviance) for each in (ones, twos)))
            if twos
            else 1.0
        )
        better = self.chance < (_SURE if self.one.fit.drift is None else _SURE_OF_DRIFT)
        self.drift = (second if better else self.one).fit.drift
        self.two = second if better and self.drift is None else None
        self.best = self.two or self.one
        self.pair = rivals[2][ones.index(self.one)]
        self.hidden = _hidden(self.one, self.pair, rows) if second_ball and not self.two else []
        others = twos if self.chance < _OPEN and not self.hidden else []
        self.weighed = _weighed([*ones, *others], alike=self.drift is not None)

    @property
    def open(self):
        """Whether neither one ball nor two can be ruled out."""
        return self.drift is None and self.chance > UNEXPLAINED and self.both

    @property
    def both(self):
        """Whether a second ball counts in each ±."""
        if self.hidden:
            return sum(share for share, _ in self.hidden) > _HIDDEN
        return self.chance < _OPEN

    @property
    def untold(self):
        """What the trace cannot tell, in words; empty if nothing."""
        if self.drift is None:
            return ""
        told = (
            f"angle errors drift together over some {self.drift:.0f} readings, and such a drift draws waves as a second"
            " ball does"
        )
        both = ", and each ± covers both" if self.both else ""
        return (
            f"{told}: this trace cannot tell one ball from two{both}. Hold the blade still against a rest at each"
            " reading, and read the trace again"
        )

    def value(self, name):
        """A Value of the best rival; its ± holds 95 % of what all say, each as far as it can be believed."""
        best = self.best.value(name)
        said = []
        for tried, share in self.weighed:
            other = best if tried is self.best else tried.value(name)
            apart = abs(other.value - best.value)
            # where a ball carries only for a moment its own numbers have no bounds, and count no more than how far off
            # they are
            own = other.doubt if tried.resting == self.best.resting else min(other.doubt, apart)
            said.append((share, apart, own))
        for share, numbers in self.hidden:
            said.append((share, abs(_NUMBERS[name](self.pair, 1, numbers[None]).item() - best.value), best.doubt))
        return Value(best.value, _holds(*np.array(said).T))

    def handover(self):
        """Where the arcs of the two balls cross, and how the slope steps there."""
        rival, fit = self.two
        theta = np.radians(np.linspace(0.0, _MID_SWING, 4001))[None, None]

        def crossing(table):
            first, second = (each[:, 0] for each in rival.heights(theta, table))
            lead = first - second
            k = np.maximum(np.argmax(lead >= 0, axis=1), 1)[:, None]
            before, after = (np.take_along_axis(lead, at, axis=1) for at in (k - 1, k))
            return np.degrees(theta[0, 0][k] - after / (after - before) * theta[0, 0, 1])[:, 0]

        at = fit.told(crossing, rival.sizes)
        sides = rival.heights(np.radians(at.value) + np.array([[[-1e-4, 1e-4]]]), fit.found[None])
        after, before = (float(np.diff(each.ravel())[0]) for each in sides)
        return HandoverSeen(at, after / before if before > 0 else math.inf, self.chance)

    @cached_property
    def shown(self):
        """By what deviance a second ball that touches clearly lower at rest would show in these readings.

        The readings that such a knife would give, held against the best that one ball makes of them.
        """
        numbers = _second(self.one, self.pair, _CLEARLY_LOWER, _HALFWAY)
        return self.one.fit.least.shows(self.one.fit.found, self.pair.least(self.rows).seen(numbers[None]).mean[0])

    @property
    def too_few(self):
        """How many more readings it takes until a second ball would show that touches clearly lower at rest; 0 where
        it would show as it is, or does.
        """
        shown = _TELLS if self.two else self.shown
        return 0 if shown >= _TELLS else math.ceil(int(self.rows.count.sum()) * (_TELLS / max(shown, 0.1) - 1))

    def whole(self, rolled, far):
        """The smooth curve over all rows, one standard deviation of it, and how wide the rows scatter."""
        fit = self.best.fit
        if rolled is None:
            count = far.height.size
            rest = (np.full(count, fit.found[0]), np.full(count, math.sqrt(fit.spread[0, 0])), far.noise)
        else:
            rest = (rolled.seen.mean, rolled.sure, rolled.seen.wide)
        return [np.concatenate(pair) for pair in zip((fit.seen.mean, fit.sure, fit.seen.wide), rest, strict=True)]

    def noises(self, angle_sigma):
        """Scatter of one lift where the trace is flat [mm], and of one angle where it is steep [deg], one standard
        deviation; None where few rows show it.
        """
        seen, rows = self.best.fit.seen, self.rows
        off, own = (rows.height - seen.mean) / seen.wide, rows.noise * np.sqrt(rows.count)
        shows = ((own, seen.wide < 1.05 * seen.noise), (angle_sigma, (seen.wide > 3 * seen.noise) & (rows.shake > 0)))
        return [
            float(np.max(size) * np.sqrt(np.mean(off[part] ** 2))) if np.count_nonzero(part) >= _FEW else None
            for size, part in shows
        ]


def _preferred(tried):
    """The best of some rivals; a chamfer of which the card says nothing only where it is clearly better."""
    first = tried[0]
    best = min(tried, key=lambda each: each.fit.deviance)
    return best if best.fit.deviance < first.fit.deviance - _CLEARLY_BETTER else first


def _holds(share, apart, doubt):
    """The ± that holds 95 % of normal numbers, each with its share, so far off and with its own ±."""
    from scipy.optimize import brentq
    from scipy.special import ndtr

    most = float(np.max(apart + 2 * doubt))
    if not most:
        return 0.0
    sigma = np.maximum(doubt / SURE, _SHARP * most)

    def missed(reach):
        return share @ (ndtr((apart - reach) / sigma) + ndtr(-(apart + reach) / sigma)) / share.sum() - 0.05

    return float(brentq(missed, 0.0, most, rtol=1e-6))


def _second(one, pair, lower, later):
    """Numbers (k,) of two balls: the one that was found, and one that touches so many degrees lower at rest and hands
    over at this share of the climb.
    """
    level, gap, *others = one.fit.found
    steep = math.atan(one.rival.seat(0, one.fit.found[None])[1].item())
    first, second = (each.radius for each in pair.arcs)
    own = gap - first * math.sin(steep) + second * math.sin(max(steep - math.radians(lower), 0.0))
    numbers = np.array([level, gap, level, own, *others])
    ahead, behind = pair.heights(later * one.rival.breaks_out(one.fit.found[None])[None, None], numbers[None])
    numbers[2] += (ahead - behind).item()
    return numbers


def _hidden(one, pair, rows):
    """Where the card has a second ball: (share of belief, rival, numbers) of balls that carry at rest, touch lower and
    hand over, at every angle and every share of the climb. Beforehand all together are as likely as none.
    """
    ways = np.delete(np.eye(pair.sizes.size), (2, 3), axis=1)
    ways[2:4, :2] = np.eye(2)  # what sets the two apart stays, all else may follow the readings
    least = pair.least(rows)
    found = [
        least.near(_second(one, pair, lower, later), ways, one.fit.drift)
        for lower, later in itertools.product(_LOWER, _LATER)
    ]
    loss = np.array([one.fit.deviance, *(deviance for _, deviance in found)])
    shares = np.exp(-(loss - loss.min()) / 2) / [1, *(len(found) for _ in found)]
    return [(share, numbers) for share, (numbers, _) in zip(shares[1:] / shares.sum(), found, strict=True)]


def _weighed(tried, alike):
    """Each rival with its share of belief: by its deviance, and its count of numbers that nothing is known of
    (Akaike's weights); or all alike.
    """
    if alike:
        return [(each, 1 / len(tried)) for each in tried]
    loss = np.array([each.fit.deviance + 4 * len(each.rival.arcs) for each in tried])
    shares = np.exp(-(loss - loss.min()) / 2)
    return list(zip(tried, (shares / shares.sum()).tolist(), strict=True))


def _climb(rows, rivals, source):
    """The rivals of one ball fitted, refused where the rows are no climb of a ball that is on the card."""
    (arc,) = rivals[0].arcs
    _, rise = _rise(rows)
    upright = rows if rise >= 0 else rows._replace(height=-rows.height)
    ones = [_Tried(rival, rival.least(upright).fit([*_start(upright, arc), *rival.known[0]])) for rival in rivals]
    one = min(ones, key=lambda tried: tried.fit.deviance).fit
    if not _seen(upright, one):
        scatter = float(np.std(rows.height))
        told = f"shows no lift curve: the readings scatter by ± {2 * scatter:.2g} mm about one level"
        raise ReadingError(
            f"{told}, and an arc explains them no better. Is the indicator on the bar, and free?", source
        )
    if rise < 0:
        told = f"the bar does not rise between the stop and the flat, it falls by {-rise:.2g} mm"
        raise ReadingError(f"{told}. Does the indicator's sign fit: more when the bar is pushed out?", source)
    most = arc.lever * arc.radius
    if rise > most or one.found[1] >= arc.radius:
        told = f"the bar rises by {rise:.3g} mm, and a ball of this card can lift it by less than {most:.3g} mm"
        raise ReadingError(
            f"{told}. Is the unit of the lift right, and the place of the indicator on the bar (hinge_ratio)?", source
        )
    inches = rows._replace(height=_INCH * rows.height)
    if _INCH * rise < most:
        other = rivals[0].least(inches).fit([*_start(inches, arc), *rivals[0].known[0]])
        # the same readings are so much denser on a scale of inches: that is no merit of the arc
        if one.deviance - other.deviance + 2 * rows.height.size * math.log(_INCH) > _FAR_BETTER:
            told = f"the bar rises by {rise:.2g} mm, and no arc of this ball fits so little"
            raise ReadingError(
                f"{told}. As inches they fit: {_INCH * rise:.3g} mm. Write the column as lift [in]", source
            )
    return ones


def _rise(rows):
    """Level of the last readings, and how far they lie above the first."""
    angle, height = rows.angle, rows.height
    level = float(np.median(height[angle > angle.max() - 0.25 * np.ptp(angle)]))
    return level, level - float(np.median(height[angle <= angle.min() + 0.05 * np.ptp(angle)]))


def _start(rows, arc):
    """Level, and gap from the rise."""
    level, rise = _rise(rows)
    rise = min(rise, 0.9 * arc.radius)
    return [level, math.sqrt(2 * arc.radius * rise - rise**2)]


def _seen(rows, one):
    """Whether an arc, or a slope, explains the rows so much better than one level that no noise does it, however large.

    The F-test of two nested fits, with the scatter that is left and not the one that was stated.
    """
    from scipy.stats import f

    slope = np.polynomial.Polynomial.fit(rows.angle, rows.height, 1)(rows.angle)
    flat, arc, line = (float(np.sum((rows.height - at) ** 2)) for at in (rows.height.mean(), one.seen.mean, slope))
    left = min(arc, line)
    return (flat - left) / 2 > left / one.free * f.isf(_NEVER, 2, one.free)


def _chance(one, two):
    """Chance that noise alone makes the second arc gain so much.

    Two more numbers, sought from several places: over 1,000 invented traces of one ball the larger gains are those of
    chi-square with two degrees of freedom. The half of all traces that gain nothing by a second arc makes up for the
    seeking.
    """
    from scipy.stats import chi2

    return float(chi2.sf(max(one.deviance - two.deviance, 0.0), 2))


def _verdict(found, handover):
    """What the arcs say."""
    count = found.too_few
    if found.untold:
        said = f"one arc explains it, but {found.untold}"
    elif handover is None:
        said = "one arc carries from the stop to the flat"
        if count:
            said += (
                f"; too few readings to tell a second ball: about {count} more, {max(_READING * count, 1):.0f} minutes,"
                " would show one"
            )
    else:
        where = show(handover.angle_deg.value, "deg", handover.angle_deg.doubt)
        said = (
            f"two arcs: one ball hands over to the other at {where}, and the climb is {handover.steeper} after it;"
            f" better than {found.one.said}"
        )
        if handover.slope_ratio > _FLAT_START:
            said += ". The climb starts almost flat, and a ball on the floor of its recess looks the same"
    if found.open:
        other = (
            f"two arcs are not ruled out against {found.one.said}"
            if handover is None
            else f"{found.one.said}, is not ruled out"
        )
        said += f"; {other} (chance of noise {found.chance:.1g}), so each ± covers both"
        if not count:
            said += ". More readings on the stop and in the first degrees decide"
    if abs(zero := found.best.zero) > ZERO:
        said += (
            f". But the zero of the protractor would have to be off by {true_minus(f'{zero:.2f}')}°: the floor of its"
            " recess looks the same"
        )
    if found.best.fit.explained < UNEXPLAINED:
        said += (
            f". But arcs do not explain this trace (chance {found.best.fit.explained:.1g}): look for a burr, a floor, a"
            " bent pivot, or noise larger than stated"
        )
    return said


def _once(again):
    """What is said of rows that are there twice."""
    if not again.any():
        return ""
    return f". {again.sum()} of the {again.size} rows repeat earlier rows exactly: pasted again, they were counted once"


def _said(found, averaged, doubt, lift, angle):
    """How much the curve smooths, and whether noise is all that it smooths away."""
    thinnest = int(np.argmin(averaged))
    noises = [
        f"{where} the readings scatter by ± {2 * noise:.2g}{unit}, and {taken:.2g}{unit} was taken"
        for where, noise, taken, unit in (("on the flat", *lift, " mm"), ("in the climb", *angle, "°"))
        if noise is not None
    ]
    behind = (
        f"each of its points is worth the mean of {averaged[thinnest]:.0f} readings or more, and is sure to ±"
        f" {doubt.max():.2g} mm or better"
    )
    source = f"{found.rows.count.sum():.0f} readings and what the card says of rims, track" + (
        " and give" if found.best.rival.arcs[0].give else ""
    )
    return f"The curve is {found.best.fit.found.size} numbers drawn from {source}: {'; '.join([behind, *noises])}."
