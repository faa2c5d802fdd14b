"""Arcs: what each ball that carries draws in a lift trace, and the fit of one arc or two to readings whose angles scatter too."""

from typing import NamedTuple

import numpy as np

from ..mechanics.formulas import formulas
from .value import covariance

_ON_STOP = 1e-9  # deg: as good as 0
CLEARLY = 5.0  # standard deviations
_REACH, _NODES = 3.2, 8  # the scatter of an angle is followed so many standard deviations out, at so many places
_ROUNDS, _STILL = 6, 1e-4  # at most so many rounds of weighing, or until no number moves by so much
_STARTS, _ROUGH = 4, 8  # places to start from; tries to see which is best


class Arc(NamedTuple):
    """What the card says of one ball: radius, track radius [mm], and its lever, lift at ball 1 per lift at this ball."""

    radius: float
    track_radius: float
    lever: float


class Rows(NamedTuple):
    """Readings to explain: height of each [mm], places where the blade may have stood [rad] with their shares, scatter of the lift [mm]."""

    height: np.ndarray
    places: np.ndarray
    shares: np.ndarray
    noise: float


class RowFit(NamedTuple):
    """A curve that explains the readings best.

    found: its numbers; spread: their covariance; misfit: sum of squares in standard deviations; deviance: the same
    with the width of each row counted, to compare fits by; free: readings to spare; mean and wide: what each row should
    read and how wide it scatters [mm]; sure: one standard deviation of the curve itself there [mm].
    """

    found: np.ndarray
    spread: np.ndarray
    misfit: float
    deviance: float
    free: int
    mean: np.ndarray
    wide: np.ndarray
    sure: np.ndarray


def arcs_of(knife):
    """The arcs of ball 1 and of one other, an equal ball where the card has only one."""
    first, *others = knife.balls
    other = others[0] if others else first
    return [Arc(ball.radius, ball.track_radius, first.hinge_distance / ball.hinge_distance) for ball in (first, other)]


def rows_of(angle, height, height_sigma, angle_sigma, on_stop):
    """Rows from angles [deg] and heights, with the standard deviation of each, and which of them were read on the stop (bool).

    An angle as read means that the blade stood somewhere near it, but never behind the stop; on the stop it is sure.
    """
    return Rows(height, *places_of(angle, angle_sigma, on_stop), height_sigma)


def places_of(angle, angle_sigma, on_stop):
    """Places where the blade may have stood [rad] and the share of each (n, places); arguments as of `rows_of`."""
    node, weight = np.polynomial.legendre.leggauss(_NODES)
    shake = np.where(on_stop, 0.0, angle_sigma)[:, None]
    middle = np.where(on_stop, 0.0, angle)[:, None]
    low, high = np.maximum(middle - _REACH * shake, 0.0), np.maximum(middle + _REACH * shake, 0.0)
    places = low + (high - low) * (node + 1) / 2
    shares = weight * np.exp(-(((places - middle) / angle_sigma) ** 2) / 2)
    return np.radians(places), shares / shares.sum(axis=1, keepdims=True)


def on_stop(angle, lift, lift_sigma):
    """Which rows of a lift trace were read on the stop: those at angle 0, but for any that stand clearly above the lowest of them.

    A protractor can show 0 a little off the stop as well, and there the bar has risen.
    """
    at_zero = np.abs(angle) < _ON_STOP
    return at_zero & (lift <= np.min(lift[at_zero], initial=np.inf) + CLEARLY * lift_sigma)


def curve(theta, numbers, arcs):
    """Lift at ball 1 over the angle [rad]: the highest of the arcs with the numbers [level, rim gap, ...]."""
    return np.max(_heights(theta, numbers, arcs)[0], axis=0)


def fit_rows(rows, height, slope, start, rough=False):
    """The numbers with which a curve explains the rows: a RowFit, by least squares.

    height(theta, numbers): the curve [mm]; slope(theta, numbers): how it moves with each number, stacked last. A
    row should read the mean of the curve over all places where its blade may have stood, and scatters with them: so
    the doubt of the angle counts by the slope of the curve itself. rough: stop after a few tries.
    """
    from scipy.optimize import least_squares

    def seen(numbers):
        at = height(rows.places, numbers)
        mean = np.sum(rows.shares * at, axis=1)
        return mean, np.sqrt(rows.noise**2 + np.sum(rows.shares * (at - mean[:, None]) ** 2, axis=1))

    def moved_by(numbers):
        return np.sum(rows.shares[..., None] * slope(rows.places, numbers), axis=1)

    numbers = np.asarray(start, float)
    for _ in range(1 if rough else _ROUNDS):
        wide = seen(numbers)[1]
        found = least_squares(
            lambda tried, w=wide: (seen(tried)[0] - rows.height) / w,
            numbers,
            lambda tried, w=wide: moved_by(tried) / w[:, None],
            method="lm",
            xtol=1e-6,
            ftol=1e-6,
            max_nfev=_ROUGH if rough else None,
        )
        moved, numbers = np.max(np.abs(found.x - numbers)), found.x
        if moved < _STILL:
            break
    mean, wide = seen(numbers)
    misfit, free = float(np.sum(((rows.height - mean) / wide) ** 2)), rows.height.size - numbers.size
    slopes = moved_by(numbers)
    spread = covariance(slopes / wide[:, None], max(1.0, misfit / free))
    sure = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", slopes, spread, slopes), 0.0))
    return RowFit(numbers, spread, misfit, misfit + 2 * float(np.sum(np.log(wide))), free, mean, wide, sure)


def fit_one(rows, arc, start):
    """The best arc of one ball: a RowFit of [level, rim gap]."""
    return _fit_arcs(rows, [arc], start)


def fit_two(rows, arcs, one):
    """The best pair of arcs, a RowFit of [level, rim gap, level 2, rim gap 2], from the best places on a grid of them; None where there is no room.

    Ball 1 rides last, ball 2 carries first; one: the fit of one arc.
    """
    level, gap = one.found
    first_ball, second_ball = arcs
    first, second = (each.ravel() for each in np.meshgrid(gap + np.linspace(0.005, 0.125, 13), gap - np.linspace(0.005, 0.205, 21)))
    possible = (first < first_ball.radius) & (second > 0) & (second < second_ball.radius)
    if not possible.any():
        return None
    first, second = first[possible], second[possible]
    # at the stop ball 2 carries, so each pair stands there where the trace stands
    rest = curve(np.zeros(1), one.found, arcs[:1])
    seat = second_ball.lever * formulas["L1"](rim_gap=second, ball_radius=second_ball.radius).sink
    tried = np.array([np.full(first.size, level), first, rest + seat, second])
    middle = np.sum(rows.shares * rows.places, axis=1)
    misfits = np.sum(((curve(middle, tried[:, :, None], arcs) - rows.height) / one.wide) ** 2, axis=1)
    # one start for each stretch of rim gaps of ball 2: early handovers and late ones are different hollows of the misfit
    bands = [band for band in np.array_split(np.argsort(second), _STARTS) if band.size]
    rough = [_fit_arcs(rows, arcs, tried[:, band[np.argmin(misfits[band])]], rough=True) for band in bands]
    return _fit_arcs(rows, arcs, min(rough, key=lambda fit: fit.deviance).found)


def _fit_arcs(rows, arcs, start, rough=False):
    return fit_rows(rows, lambda theta, numbers: curve(theta, numbers, arcs), lambda theta, numbers: gradient(theta, numbers, arcs), start, rough)


def _heights(theta, numbers, arcs):
    """Height of each arc, and how it moves with its own rim gap."""
    heights, slopes = [], []
    for arc, level, gap in zip(arcs, numbers[::2], numbers[1::2], strict=True):
        rim_gap = np.clip(gap - arc.track_radius * theta, 0.0, arc.radius * (1 - 1e-6))
        rim = formulas["L1"](rim_gap=rim_gap, ball_radius=arc.radius)
        heights.append(level - arc.lever * rim.sink)
        slopes.append(-arc.lever * rim.slope)
    return heights, slopes


def gradient(theta, numbers, arcs):
    """How that curve moves with each of the numbers, stacked last: only those of the ball that carries count."""
    heights, slopes = _heights(theta, numbers, arcs)
    carries = np.argmax(heights, axis=0)
    return np.stack([(carries == i) * part for i, slope in enumerate(slopes) for part in (1.0, slope)], axis=-1)
