"""Arcs: what each ball that carries draws in a lift trace, and the fit of one arc or two to readings whose angles
scatter too.
"""

import math
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife
from ..knife.units import normal_doubt
from ..knife.values import Values
from ..mechanics.lift import CHAMFER, on_rim
from .give import Give, give_of, known_of
from .least import Fit, Least, Seen

_ON_STOP = 1e-9  # deg: as good as 0
CLEARLY = 5.0  # standard deviations
ZERO = 0.5  # ± of where a protractor has its zero [deg]: common practice
# of a rim of which the card says nothing, and its ± [mm]: judgement, a rim is deburred
SOFT = {"edge_radius": (0.0, 0.04), "chamfer_width": (0.02, 0.04)}
_BEVELS = (1.0, 89.0)  # deg: no chamfer is flatter, or steeper
_BEVEL = 10.0  # ± of the angle of a chamfer of which the card says nothing [deg]: judgement
_SIZES = {
    "level": 0.01,
    "gap": 0.01,
    "zero": 0.1,
    "edge_radius": 0.01,
    "chamfer_width": 0.01,
    "track": 0.005,
    "scale": 0.1,
    "friction": 0.02,
    "bevel": 2.0,
}
_REACH, _NODES = 3.2, 8  # the scatter of an angle is followed so many standard deviations out, at so many places
_STEP, _FINEST = 0.25, 0.01  # of a curve, in standard deviations of the angle, and in deg
_PADDED = 3.0  # times the ± of a zero: so far a curve is worked out past the readings
_SHARPEST = -0.1  # mm: sharper than sharp only as far as the ball's size and the noise may pretend
_DUST = 9  # decimals beyond which a reading is arithmetic
_OFTEN = 3  # readings at one angle: going up, coming down, and once more
_STARTS = 3  # places to start from
# more readings than these are taken together, in bins of so many standard deviations of the angle
_MANY, _BIN = 1000, 0.125


class Rim(NamedTuple):
    """A rim as `on_rim` takes it; its outline is where the face of the tang begins."""

    diameter: float
    edge_radius: Values = 0.0
    chamfer_width: Values = 0.0
    chamfer_deg: Values = 45.0

    @property
    def rim_radius(self) -> Values:
        """Radius where a chamfer meets the face."""
        return self.diameter / 2 + self.chamfer_width

    def seat(self, radius: float, gap: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Sink [mm], slope, and how fast the slope turns with the gap [1/mm], of a ball at a gap from the outline."""
        if not np.any(self.chamfer_width > 0):
            edge = formulas["L1"](rim_gap=gap, ball_radius=radius + self.edge_radius)  # L3, counted from the outline
            return edge.sink, edge.slope, (1 + edge.slope**2) ** 1.5 / (radius + self.edge_radius)
        sink, phi, _, touch = on_rim(radius, self, self.rim_radius + self.edge_radius - gap)
        turned = np.where(touch == CHAMFER, 0.0, 1 / ((radius + self.edge_radius) * np.maximum(np.cos(phi), 1e-4) ** 3))
        return sink, np.tan(phi), turned


class Arc(NamedTuple):
    """What the card says of one ball: radius, track radius [mm], its lever, lift at ball 1 per lift at this ball,
    its rim, and the bar's give, if it gives.
    """

    radius: float
    track_radius: float
    lever: float
    rim: Rim
    give: Give | None = None


class Rows(NamedTuple):
    """Readings to explain: height [mm] or force; angle as read [deg]; noise and shake: their standard deviations, shake
    0 on the stop.

    when: the order in which they were taken. inside: squares, and how many, that readings taken together left among
    themselves.
    """

    height: np.ndarray
    angle: np.ndarray
    noise: np.ndarray
    shake: np.ndarray
    count: np.ndarray
    when: np.ndarray
    inside: tuple = (0.0, 0)

    def grid(self, zero_doubt: float) -> np.ndarray:
        """Angles [deg] at which a curve is worked out for `seen`, for zeros of the protractor of this ± [deg]."""
        step = max(_STEP * float(np.max(self.shake)), _FINEST)
        reach = math.ceil((4 * float(np.max(self.shake)) + _PADDED * zero_doubt) / step)
        near = np.floor(self.angle / step)[:, None] + np.arange(-reach, reach + 2)
        return step * np.unique(np.maximum(near, 0.0))

    def seen(self, grid: np.ndarray, curves: np.ndarray, zero: np.ndarray) -> Seen:
        """What the rows should read by curves (m, grid), for m zeros of the protractor [deg].

        An angle as read means that the blade stood somewhere near it, but never behind the stop: so a row reads the
        mean over all these places, and scatters with them.
        """
        zeros = zero[:, None, None] if np.ptp(zero) else zero[:1, None, None]
        places, shares = places_of(self.angle[:, None] - zeros, self.shake[:, None])
        places = np.broadcast_to(places, (zero.size, *places.shape[1:]))
        curves = np.broadcast_to(curves, (zero.size, grid.size))
        height = np.stack([np.interp(at, grid, curve) for at, curve in zip(places, curves, strict=True)])
        mean = np.sum(shares * height, axis=-1)
        shaken = np.sqrt(np.sum(shares * (height - mean[..., None]) ** 2, axis=-1) / self.count)
        return Seen(mean, self.noise, shaken)


def rows_of(angle: np.ndarray, height: np.ndarray, noise: float, angle_sigma: float, stopped: np.ndarray) -> Rows:
    """Rows from readings in the order in which they were taken; noise and angle_sigma: standard deviation of each;
    stopped: which were read on the stop.

    Very many are taken together where their angles are alike.
    """
    angle, shake, when = (
        np.where(stopped, 0.0, angle),
        np.where(stopped, 0.0, angle_sigma),
        np.arange(angle.size, dtype=float),
    )
    if angle.size <= _MANY:
        return Rows(height, angle, np.full(angle.size, noise), shake, np.ones(angle.size), when)
    alike = np.stack([np.round(angle / (_BIN * angle_sigma)), stopped])
    _, which, count = np.unique(alike, axis=1, return_inverse=True, return_counts=True)
    which = which.ravel()

    def mean(values):
        return np.bincount(which, values) / count

    height_mean = mean(height)
    left = np.bincount(which, (height - height_mean[which]) ** 2)
    return Rows(
        height_mean,
        mean(angle),
        noise / np.sqrt(count),
        mean(shake),
        count,
        mean(when) / angle.size * count.size,
        (left / count, angle.size - count.size),
    )


def step_of(values: np.ndarray) -> float:
    """The step in which an instrument shows these values, as far as they tell it; 0 where they lie on no steps.

    >>> round(step_of(np.array([0.0, 0.03, 0.01, 0.04, 0.03])), 9), step_of(np.array([0.1, 0.17, 0.3]))
    (0.01, 0.0)
    """
    apart = np.diff(np.unique(np.round(values, _DUST)))
    if not apart.size:
        return 0.0
    steps = apart / apart.min()
    return float(apart.min()) if np.allclose(steps, np.round(steps), rtol=0, atol=1e-3) else 0.0


def with_steps(angle: np.ndarray, height: np.ndarray, noise: float, shake: float) -> tuple[float, float]:
    """Standard deviations of one reading and of one angle, the steps counted in which they are shown (GUM F.2.2.1: a
    twelfth of its square, each).

    Angles off the stop count as shown, and not as set, where each comes many times.
    """
    turned = angle[angle != 0]
    shown = turned.size > _OFTEN * np.unique(turned).size
    return tuple(
        math.hypot(own, step / math.sqrt(12))
        for own, step in ((noise, step_of(height)), (shake, step_of(turned) if shown else 0.0))
    )


def places_of(angle: np.ndarray, shake: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places where the blade may have stood [deg] and the share of each (..., nodes), from angles as read and their
    standard deviation [deg] (..., 1).
    """
    node, weight = np.polynomial.legendre.leggauss(_NODES)
    # further behind the stop no share is left to tell places by
    middle = np.where(shake > 0, np.maximum(angle, -_REACH * shake), 0.0)
    low, high = np.maximum(middle - _REACH * shake, 0.0), np.maximum(middle + _REACH * shake, 0.0)
    places = low + (high - low) * (node + 1) / 2
    shares = weight * np.exp(-(((places - middle) / np.where(shake > 0, shake, 1.0)) ** 2) / 2)
    return places, shares / shares.sum(axis=-1, keepdims=True)


def on_stop(angle: np.ndarray, lift: np.ndarray, lift_sigma: float) -> np.ndarray:
    """Which rows of a lift trace were read on the stop: those at angle 0, but for any that stand clearly above the
    lowest of them.

    A protractor can show 0 a little off the stop as well, and there the bar has risen.
    """
    at_zero = np.abs(angle) < _ON_STOP
    return at_zero & (lift <= np.min(lift[at_zero], initial=np.inf) + CLEARLY * lift_sigma)


class Rival(NamedTuple):
    """One explanation of a trace: how many balls carry, and whether their rims are rounded or chamfered; it may explain
    sideways give and a zero, too.

    Its numbers are level and gap of each ball at the stop, from the outline of its recess, if this ball alone carries;
    then the zero of the protractor, the rounding or chamfer of the rims, the track radii as a share of those on the
    card, where the bar gives the scale of that and the friction, and the angle of a chamfer.
    """

    arcs: tuple
    soft: str
    known: tuple

    @property
    def names(self) -> tuple[str, ...]:
        """What each number is."""
        give = ("scale", "friction") if self.arcs[0].give is not None else ()
        bevel = ("bevel",) if self.soft == "chamfer_width" else ()
        return (*(("level", "gap") * len(self.arcs)), "zero", self.soft, "track", *give, *bevel)

    @property
    def sizes(self) -> np.ndarray:
        """A usual step of each number."""
        return np.array([_SIZES[name] for name in self.names])

    def heights(self, theta: np.ndarray, table: np.ndarray) -> list[np.ndarray]:
        """Lift at ball 1 over the angle [rad], if either ball alone carried; table (m, k), theta broadcasts with (m,
        n, nodes).
        """
        return [self._height(i, theta, table.T[:, :, None, None]) for i in range(len(self.arcs))]

    def curve(self, theta: np.ndarray, table: np.ndarray) -> np.ndarray:
        """Lift at ball 1 over the angle [rad]: the highest of the arcs."""
        return np.max(np.broadcast_arrays(*self.heights(theta, table)), axis=0)

    def seat(self, i: int, table: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Sink, slope and turn of ball i at rest (m,)."""
        numbers = table.T
        return self._rim(i, numbers)(self._rest(i, numbers))

    def breaks_out(self, table: np.ndarray) -> np.ndarray:
        """Blade angle [rad] at which ball 1 comes on to the flat (m,)."""
        arc, numbers = self.arcs[0], table.T
        rest, aside = self._rest(0, numbers), self._aside(numbers)
        return (rest if arc.give is None else arc.give.out(rest, self._rim(0, numbers), *aside)) / self._track(
            0, numbers
        )

    def least(self, rows: Rows) -> Least:
        """The Least of these rows."""
        k = 2 * len(self.arcs)
        known = (np.concatenate([np.zeros(k), self.known[0]]), np.concatenate([np.full(k, np.inf), self.known[1]]))

        grid = rows.grid(ZERO)
        theta = np.radians(grid)[None, :, None]

        def seen(table):
            return rows.seen(grid, self.curve(theta, table)[..., 0], table[:, k])

        return Least(rows.height, seen, self.sizes, known, rows.when, rows.inside)

    def _height(self, i, theta, numbers):
        arc, rest, travel, rim = (
            self.arcs[i],
            self._rest(i, numbers),
            self._track(i, numbers) * theta,
            self._rim(i, numbers),
        )
        gap = (
            np.clip(rest - travel, 0.0, rest)
            if arc.give is None
            else arc.give.opened(travel, rest, rim, *self._aside(numbers))
        )
        return numbers[2 * i] - arc.lever * rim(gap)[0]

    def _rest(self, i, numbers):
        return np.clip(numbers[2 * i + 1], 0.0, self.arcs[i].radius * (1 - 1e-6) + self.softness(numbers))

    def _track(self, i, numbers):
        return self.arcs[i].track_radius * numbers[2 * len(self.arcs) + 2]

    def softness(self, numbers: np.ndarray) -> np.ndarray:
        """How far the rims are rounded or chamfered; a chamfer is never below nothing."""
        soft = numbers[2 * len(self.arcs) + 1]
        return np.maximum(soft, 0.0 if self.soft == "chamfer_width" else _SHARPEST)

    def _rim(self, i, numbers):
        arc, soft = self.arcs[i], self.softness(numbers)
        rim = arc.rim._replace(
            **{self.soft: soft}
            | ({"chamfer_deg": np.clip(numbers[-1], *_BEVELS)} if self.soft == "chamfer_width" else {})
        )
        return lambda gap: rim.seat(arc.radius, gap)

    def _aside(self, numbers):
        return numbers[2 * len(self.arcs) + 3 :][:2]


def rivals_of(knife: Knife) -> dict[int, list[Rival]]:
    """Every Rival for one ball and for two, {count: [Rival, ...]}; a second ball is an equal one where the card has
    only one.
    """
    first, *others = knife.balls
    pair = first, others[0] if others else first
    arcs = tuple(
        Arc(
            ball.radius,
            ball.track_radius,
            first.hinge_distance / ball.hinge_distance,
            _rim(ball.recess),
            give_of(knife, ball),
        )
        for ball in pair
    )
    means, sure = known_of(knife) or ((), ())
    found = {1: [], 2: []}
    for soft, (usual, doubt) in SOFT.items():
        path = f"balls[0].recess.{soft}"
        value, doubt = (
            (getattr(first.recess, soft), knife.scatter(path))
            if path in knife.doubts
            else (getattr(first.recess, soft) + usual, doubt)
        )
        track = knife.scatter("balls[0].track_radius") / first.track_radius
        known = [0.0, value, 1.0, *means], [ZERO / 2, max(doubt / 2, 1e-6), max(track / 2, 1e-6), *sure]
        if soft == "chamfer_width":
            known = (
                [*known[0], first.recess.chamfer_deg],
                [*known[1], max(normal_doubt(knife.doubts.get("balls[0].recess.chamfer_deg", _BEVEL)) / 2, 1e-6)],
            )
        for count in found:
            found[count].append(Rival(arcs[:count], soft, tuple(map(np.array, known))))
    return found


def _rim(recess):
    return Rim(recess.diameter, recess.edge_radius, recess.chamfer_width, recess.chamfer_deg)


def fit_two(rows: Rows, rivals: list[Rival], one: Fit) -> list[Fit]:
    """The best Fit of each Rival of two balls, from the best places on a grid of them; none where there is no room.

    Ball 1 rides last, ball 2 carries first; one: the best Fit of the first rival with one ball.
    """
    rival, *softer = rivals
    level, gap, *others = one.found
    first_ball, second_ball = rival.arcs
    first, second = (
        each.ravel() for each in np.meshgrid(gap + np.linspace(0.005, 0.125, 7), gap - np.linspace(0.005, 0.205, 11))
    )
    possible = (first < first_ball.radius) & (second > 0) & (second < second_ball.radius)
    if not possible.any():
        return []
    first, second = first[possible], second[possible]
    count = first.size
    tried = np.column_stack(
        [np.full(count, level), first, np.zeros(count), second, *(np.full(count, each) for each in others)]
    )
    # at the stop ball 2 carries, so each pair stands there where the trace stands
    rest = rival._replace(arcs=rival.arcs[:1]).curve(np.zeros((1, 1, 1)), one.found[None]).item()
    tried[:, 2] = rest + second_ball.lever * rival.seat(1, tried)[0]
    least = rival.least(rows)
    least.weigh(tried[0])
    misfits = np.sum(least.misfits(tried) ** 2, axis=1)
    # one start for each stretch of rim gaps of ball 2: early handovers and late ones are different hollows of the
    # misfit
    bands = [band for band in np.array_split(np.argsort(second), _STARTS) if band.size]
    rough = [least.fit(tried[band[np.argmin(misfits[band])]], rough=True) for band in bands]
    found = [least.fit(min(rough, key=lambda fit: fit.deviance).found)]
    for other in softer:
        start = np.concatenate([found[0].found, other.known[0][rival.known[0].size :]])
        start[2 * len(rival.arcs) + 1] = other.known[0][1]
        found.append(other.least(rows).fit(start))
    return found
