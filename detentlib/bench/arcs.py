"""Arcs: what each ball that carries draws in a lift trace, and the fit of one arc or two to readings whose angles scatter too."""

from typing import NamedTuple

import numpy as np

from ..mechanics.formulas import formulas
from .give import Give, give_of
from .value import covariance

_ON_STOP = 1e-9  # deg: as good as 0
CLEARLY = 5.0  # standard deviations
_REACH, _NODES = 3.2, 8  # the scatter of an angle is followed so many standard deviations out, at so many places
_ROUNDS, _STILL = 6, 1e-4  # at most so many rounds of weighing, or until no number moves by so much
_STARTS, _ROUGH = 4, 8  # places to start from; tries to see which is best


class Arc(NamedTuple):
    """What the card says of one ball: radius, track radius [mm], its lever, lift at ball 1 per lift at this ball, and the bar's give, if it gives."""

    radius: float
    track_radius: float
    lever: float
    give: Give | None = None


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
    return [Arc(ball.radius, ball.track_radius, first.hinge_distance / ball.hinge_distance, give_of(knife, ball)) for ball in (first, other)]


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
    """Lift at ball 1 over the angle [rad]: the highest of the arcs with the numbers [level, rim gap, ...], then scale and friction where the bar gives.

    The rim gap is that of the loaded knife at rest, if this ball alone carries.
    """
    return np.max([height for height, _ in _each(theta, numbers, arcs)], axis=0)


def breaks_out(arc, numbers):
    """Blade angle [rad] at which an arc with the numbers [level, rim gap], then scale and friction, comes on to the flat."""
    _, gap, *aside = numbers
    return (gap if arc.give is None else arc.give.out(gap, arc.radius, *aside)) / arc.track_radius


def fit_rows(rows, height, slope, start, known=None, rough=False):
    """The numbers with which a curve explains the rows: a RowFit, by least squares.

    height(theta, numbers): the curve [mm]; slope(theta, numbers): how it moves with each number, stacked last. A
    row should read the mean of the curve over all places where its blade may have stood, and scatters with them: so
    the doubt of the angle counts by the slope of the curve itself. known: what is known beforehand of the last numbers,
    values and standard deviations; they count as readings. rough: stop after a few tries.
    """
    from scipy.optimize import least_squares

    before, size = (np.zeros(0), np.ones(0)) if known is None else known
    first = len(start) - before.size
    sure_of = np.eye(len(start))[first:] / size[:, None]

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
            lambda tried, w=wide: np.concatenate([(seen(tried)[0] - rows.height) / w, (tried[first:] - before) / size]),
            numbers,
            lambda tried, w=wide: np.concatenate([moved_by(tried) / w[:, None], sure_of]),
            method="lm",
            xtol=1e-6,
            ftol=1e-6,
            max_nfev=_ROUGH if rough else None,
        )
        moved, numbers = np.max(np.abs(found.x - numbers)), found.x
        if moved < _STILL:
            break
    mean, wide = seen(numbers)
    misfit = float(np.sum(((rows.height - mean) / wide) ** 2) + np.sum(((numbers[first:] - before) / size) ** 2))
    free = rows.height.size + before.size - numbers.size
    slopes = moved_by(numbers)
    spread = covariance(np.concatenate([slopes / wide[:, None], sure_of]), max(1.0, misfit / free))
    sure = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", slopes, spread, slopes), 0.0))
    return RowFit(numbers, spread, misfit, misfit + 2 * float(np.sum(np.log(wide))), free, mean, wide, sure)


def fit_one(rows, arc, start, known=None):
    """The best arc of one ball: a RowFit of [level, rim gap], then scale and friction where the bar gives, which start as known."""
    return _fit_arcs(rows, [arc], start if known is None else [*start, *known[0]], known)


def fit_two(rows, arcs, one, known=None):
    """The best pair of arcs, a RowFit of [level, rim gap, level 2, rim gap 2, ...], from the best places on a grid of them; None where there is no room.

    Ball 1 rides last, ball 2 carries first; one: the fit of one arc.
    """
    level, gap, *aside = one.found
    first_ball, second_ball = arcs
    first, second = (each.ravel() for each in np.meshgrid(gap + np.linspace(0.005, 0.125, 13), gap - np.linspace(0.005, 0.205, 21)))
    possible = (first < first_ball.radius) & (second > 0) & (second < second_ball.radius)
    if not possible.any():
        return None
    first, second = first[possible], second[possible]
    # at the stop ball 2 carries, so each pair stands there where the trace stands
    rest = curve(np.zeros(1), one.found, arcs[:1])
    seat = second_ball.lever * formulas["L1"](rim_gap=second, ball_radius=second_ball.radius).sink
    tried = np.array([np.full(first.size, level), first, rest + seat, second, *(np.full(first.size, each) for each in aside)])
    middle = np.sum(rows.shares * rows.places, axis=1)
    misfits = np.sum(((curve(middle, tried[:, :, None], arcs) - rows.height) / one.wide) ** 2, axis=1)
    # one start for each stretch of rim gaps of ball 2: early handovers and late ones are different hollows of the misfit
    bands = [band for band in np.array_split(np.argsort(second), _STARTS) if band.size]
    rough = [_fit_arcs(rows, arcs, tried[:, band[np.argmin(misfits[band])]], known, rough=True) for band in bands]
    return _fit_arcs(rows, arcs, min(rough, key=lambda fit: fit.deviance).found, known)


def _fit_arcs(rows, arcs, start, known, rough=False):
    return fit_rows(rows, lambda theta, numbers: curve(theta, numbers, arcs), lambda theta, numbers: gradient(theta, numbers, arcs), start, known, rough)


def numbers_of(numbers, i, arcs):
    """The numbers of arc i alone, out of those of all arcs: its level and rim gap, then scale and friction where the bar gives."""
    return [*numbers[2 * i : 2 * i + 2], *numbers[2 * len(arcs) :]]


def _each(theta, numbers, arcs):
    """Height of each arc, and how it moves with its own numbers."""
    found = []
    for i, arc in enumerate(arcs):
        level, rest, *aside = numbers_of(numbers, i, arcs)
        rest = np.clip(rest, 0.0, arc.radius * (1 - 1e-6))
        travel = arc.track_radius * theta
        if arc.give is None:
            gap, moved = np.clip(rest - travel, 0.0, arc.radius * (1 - 1e-6)), [1.0]
        else:
            gap, moved = arc.give.opened(travel, rest, arc.radius, *aside)
        rim = formulas["L1"](rim_gap=gap, ball_radius=arc.radius)
        found.append((level - arc.lever * rim.sink, [1.0, *(-arc.lever * rim.slope * by for by in moved)]))
    return found


def gradients(theta, numbers, arcs):
    """How the height of each arc moves with all the numbers, stacked last."""
    found = []
    for i, (height, moved) in enumerate(_each(theta, numbers, arcs)):
        by = np.zeros((*np.shape(height), len(numbers)))
        for place, each in zip(numbers_of(range(len(numbers)), i, arcs), moved, strict=True):
            by[..., place] = each
        found.append(by)
    return found


def gradient(theta, numbers, arcs):
    """How the curve moves with each of the numbers, stacked last: only those of the ball that carries count."""
    carries = np.argmax([height for height, _ in _each(theta, numbers, arcs)], axis=0)
    return np.choose(carries[..., None], gradients(theta, numbers, arcs))
