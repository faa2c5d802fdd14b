"""The way of one rigid bar from shut to open and back, laid out from its curves: for one knife or for many at once."""

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from .carry import FACE, JUST_AFTER, Detent
from .curves import Curve, and_first, can_land, curve, walk
from .lift import FLAT, JAM_DEG, JAM_MARGIN_DEG, ROUND

COARSE, FINE = 49, 257  # relative angles, for many knives and for one: between them sums are as good as exact
_SHARED = 33  # angles on a stretch in which both carry
_GRAIN = 1e-11  # rad beside the middle of a recess, where a ball could go either way, or beside where two are level


class Path(NamedTuple):
    """Where one ball alone carries, in the order of the blade angle, arrays (m, k) padded at the end with inf in theta.

    there: which points of the curves those are, (c, m, n). theta: blade angle [rad]; torque of the detent and pull,
    what of its closing part the pivot's drag leaves [N·mm]; row and column: which curve and which of its points.
    Between neighbours of different curves both balls carry, and the torque runs straight from one to the other (exactly
    so where the balls have the same lever).
    """

    found: Curve
    there: np.ndarray
    theta: np.ndarray
    torque: np.ndarray
    pull: np.ndarray
    row: np.ndarray
    column: np.ndarray


class Alone(NamedTuple):
    """A stretch of the opening in which one ball alone carries: its index (or FACE), blade angles [rad], torques at
    its ends.
    """

    carrier: int
    start: float
    end: float
    torque_start: float
    torque_end: float


def path(detent: Detent, sense: int = 1, bar: int = 0) -> Path:
    """Path of one rigid bar from its seat to all balls on the flat, opening (+1) or closing (−1); made once for each
    Detent.
    """
    if (sense, bar) not in detent.paths:
        detent.paths[sense, bar] = _path(detent, sense, bar)
    return detent.paths[sense, bar]


def from_rest(detent: Detent, rest: float) -> Path:
    """Path of one opening knife; where it rests off its stop, with that blade angle [rad] among its points."""
    if not rest:
        return path(detent)
    at_rest = detent.relative(rest, 1)[0]
    return _path(detent, 1, 0, (at_rest, at_rest + JUST_AFTER))


def _path(detent, sense, bar, through=()):
    leaf, shut, rest = detent.leaves[bar], detent.shut[bar], detent.resting[bar]
    level = np.sum(rest.loads > 0, axis=0) + (rest.face_load > 0) > 1
    start = shut + np.where(level | (rest.lifts.touch == ROUND), _GRAIN, 0.0)
    start, flat = np.broadcast_arrays(start, leaf.flat)
    if can_land(leaf, flat):
        start, flat = and_first(start), and_first(flat)
    # on the flat the drag turns the bar sideways, so the last angle is short of the break-out, or past it on the way
    # back
    dragged = curve(leaf, flat + 2 * JUST_AFTER, sense)
    last = np.maximum(flat, detent.break_out - dragged.theta + dragged.angle) + 2 * JUST_AFTER
    found = walk(leaf, start, last, sense, COARSE if detent.many else FINE, through)
    # a rim that leans too far does not slip on opening: the blade is nowhere that a push without bound would turn it to
    there = (found.lead >= 0) & (found.lean <= np.radians(JAM_DEG - JAM_MARGIN_DEG))
    theta = np.where(there, found.theta, np.inf)
    flat = [
        np.broadcast_to(value, theta.shape).transpose(1, 0, 2).reshape(theta.shape[1], -1)
        for value in (theta, found.torque, found.pull)
    ]
    if sense < 0:
        flat[::2] = _without_what_is_passed(*flat[::2], theta.shape[-1])
    # where one ball takes over at the angle at which another lets go, that comes first
    starts = there & np.concatenate([np.ones((*there.shape[:-1], 1), bool), ~there[..., :-1]], axis=-1)
    order = np.argsort(flat[0] + _GRAIN * starts.transpose(1, 0, 2).reshape(flat[0].shape), axis=-1, kind="stable")
    return Path(
        found, there, *(np.take_along_axis(value, order, axis=-1) for value in flat), *np.divmod(order, theta.shape[-1])
    )


def _without_what_is_passed(theta, pull, count):
    """Theta and pull of a closing way without what the blade never comes to: where the bar springs sideways on the way
    back, two stretches lie above each other, and the one that it is on holds to its end.

    Both of m knives (m, c·n): c curves one after the other, of n = count points each; inf where there is
    none.
    """
    with np.errstate(invalid="ignore"):
        parts = ~(np.diff(theta, axis=-1) >= -_GRAIN)  # where a curve turns back, too
    parts[:, count - 1 :: count] = True
    which = np.cumsum(np.concatenate([np.zeros((len(theta), 1), int), parts], axis=-1), axis=-1)
    order = np.argsort(theta, axis=-1, kind="stable")
    some = np.take_along_axis(np.isfinite(theta), order, axis=-1)
    changes = np.take_along_axis(which, order, axis=-1)
    changes = np.sum((np.diff(changes, axis=-1) != 0) & some[:, 1:], axis=-1)
    own = [np.unique(each[there]).size for each, there in zip(which, np.isfinite(theta), strict=True)]
    theta, pull = np.array(theta), np.array(pull)
    for row in np.flatnonzero(changes >= own):
        _hold_to_the_end(theta[row], pull[row], which[row])
    return theta, pull


def _hold_to_the_end(theta, pull, which):
    """The same for one knife in place, (k,) each; which: the number of the stretch that each point is on."""
    there = np.isfinite(theta)
    stretches = [np.flatnonzero(there & (which == each)) for each in np.unique(which[there])]
    end = np.inf
    for stretch in sorted(stretches, key=lambda points: -theta[points].max()):
        passed, least = stretch[theta[stretch] >= end], theta[stretch].min()
        left = stretch[theta[stretch] < end]
        if passed.size and left.size:
            # it comes to this stretch where the one before ends
            pull[passed[0]] = np.interp(end, theta[stretch], pull[stretch])
            theta[passed[0]] = end - _GRAIN
            passed = passed[1:]
        theta[passed] = np.inf
        end = min(end, least)


def peak(way: Path) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Blade angle, torque, load and contact angle at the greatest opening torque of a Path, each (m, 1)."""
    rows = np.arange(way.theta.shape[0])
    top = np.argmax(np.where(np.isfinite(way.theta), way.torque, -np.inf), axis=-1)
    place = (way.row[rows, top], rows, way.column[rows, top])
    one = way.found
    angle, *rest = (
        np.broadcast_to(value, one.lead.shape)[place][:, None] for value in (one.theta, one.torque, one.load, one.phi)
    )
    # what the push turns back is added again, which leaves the stop only as near as numbers go
    return np.maximum(angle, 0.0), *rest


class Held(NamedTuple):
    """A ball that friction holds where it takes over: its index, the blade angle there [rad], and the most that this
    takes off the peak [N·mm].
    """

    ball: int
    angle: float
    lost: float


def held(detent: Detent, peak: float, torque: float, since: float) -> Held | None:
    """What friction takes off the peak of one opening knife that follows a handover; None elsewhere.

    While a bar that gives sideways is handed over to the ball that it takes less far round the pivot, a path lets both
    slide back. Friction holds that ball near where it has come to carry, and it slips from there, higher out of its
    recess. peak, torque: where the peak is [rad] and how great; since: from where on the path counts [rad].
    """
    leaf, way = detent.leaves[0], path(detent)
    found, levers = way.found, leaf.levers[:, 0, 0]
    for one, after in pairwise(stretches(detent, way)):
        if FACE in (one.carrier, after.carrier) or not after.start <= peak <= after.end:
            continue
        old, new = (leaf.members.index(each.carrier) for each in (one, after))
        if levers[new] < levers[old]:
            turned = detent.state(np.array([one.end - JUST_AFTER])).side_turns[0].item()
            joins = one.end - turned * levers[new]
            angle, theta, torques = (
                np.broadcast_to(each, way.there.shape)[:, 0] for each in (found.angle, found.theta, found.torque)
            )
            kept = way.there[:, 0] & (theta >= since)
            kept[new] &= (angle[new] >= joins) | (theta[new] < after.start) | (theta[new] > after.end)
            slips = np.interp(joins, angle[new], torques[new])
            lost = torque - float(np.max(torques[kept], initial=slips))
            return Held(after.carrier, one.end, lost) if lost > 0 else None
    return None


def draw_in(detent: Detent, way: Path, rest: np.ndarray) -> np.ndarray:
    """The largest blade angle with closing pull at every smaller one down to rest, from a closing Path; (m, 1)."""
    rows = np.arange(way.theta.shape[0])
    there = np.isfinite(way.theta) & (way.theta >= rest - JUST_AFTER)
    # where the blade rests off its stop, what carries short of there pushes it open up to the very same angle
    fails = there & (way.pull <= 0) & (way.theta > rest + JUST_AFTER)
    first = np.argmax(fails, axis=-1)
    before = np.maximum(first - 1, 0)
    start, end = (way.theta[rows, k] for k in (before, first))
    pull_start, pull_end = (way.pull[rows, k] for k in (before, first))
    follows = there[rows, before] & (before < first) & np.any(fails, axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        straight = start + (end - start) * pull_start / (pull_start - pull_end)
    result = np.where(np.any(fails, axis=-1), np.where(follows, straight, rest[:, 0]), detent.break_out[:, 0])
    return np.minimum(result[:, None], detent.break_out)  # the far side of where the flat begins


def stall_pockets(detent: Detent, drawn_in: float) -> tuple[tuple[float, float], ...]:
    """Stretches [deg] beyond the draw-in angle of one knife where the blade pulls shut for a while, then stalls."""
    way = path(detent, -1)
    beyond = np.isfinite(way.theta[0]) & (way.theta[0] > drawn_in + JUST_AFTER)
    theta, pull = way.theta[0][beyond], way.pull[0][beyond]
    found, since = [], None
    for k in range(1, theta.size):
        if (pull[k - 1] > 0) == (pull[k] > 0):
            continue
        turn = theta[k - 1] + (theta[k] - theta[k - 1]) * pull[k - 1] / (pull[k - 1] - pull[k])
        if pull[k] > 0:
            since = turn
        elif since is not None:
            found.append((float(np.degrees(since)), float(np.degrees(turn))))
    return tuple(found)


def work(detent: Detent, way: Path, rest: float) -> float:
    """Work of the hand on one opening knife from rest to the flat [mJ], from a Path."""
    from scipy.integrate import simpson

    leaf, found = detent.leaves[0], way.found
    middle = curve(leaf, (found.angle[..., :-1] + found.angle[..., 1:]) / 2, 1)
    alone = way.there & ((found.theta <= detent.break_out + _GRAIN) | (found.touch != FLAT))
    theta, torque, turn = (np.broadcast_to(value, alone.shape) for value in (found.theta, found.torque, found.omega))
    cells = alone[..., :-1] & alone[..., 1:] & (theta[..., :-1] >= rest - _GRAIN)
    # Simpson's rule over the relative angle; what the blade turns beyond that goes into the sideways turn of the bar
    # (E1a)
    summed = np.diff(found.angle, axis=-1) * (torque[..., :-1] + 4 * middle.torque + torque[..., 1:]) / 6
    total = (
        np.sum(summed[cells])
        + _first_step(theta, torque, alone, rest)
        + (np.sum(np.diff(turn**2, axis=-1)[cells]) / (2 * np.ravel(leaf.tilt)[0]) if leaf.gives else 0.0)
    )
    between, last = [], rest
    for each in stretches(detent, way):
        if each.end >= rest:
            low, high = last + _GRAIN, each.start - JUST_AFTER  # not on either side of where it ends
            between += [np.linspace(low, high, _SHARED)] if high > low else []
            last = each.end
    if between:
        # where the rim sticks or both balls carry every angle is balanced by itself
        torque = detent.state(np.ravel(between)).torque.reshape(len(between), _SHARED)
        total += np.sum(simpson(torque, np.array(between), axis=-1))
    return float(total)


def _first_step(theta, torque, alone, rest):
    """Work from a rest between two neighbours of one curve up to the second [mJ].

    That can be long where the ball stands in the middle of its recess: the bar swings across, and the torque runs
    straight.
    """
    there = alone[..., :-1] & alone[..., 1:] & (theta[..., :-1] < rest - _GRAIN) & (theta[..., 1:] > rest)
    (low, high), (before, after) = ((value[..., :-1][there], value[..., 1:][there]) for value in (theta, torque))
    at_rest = before + (after - before) * (rest - low) / (high - low)
    return np.sum((at_rest + after) / 2 * (high - rest))


def springs_sideways(detent: Detent) -> float | None:
    """Blade angle [rad] at which a bar of one opening knife springs sideways all at once, None where its seats are
    steady (B6f).

    Each bar is taken as rigid on its hinge, also where balls can share.
    """
    sprung = []
    for bar in range(len(detent.leaves)):
        way = path(detent, 1, bar)
        found = way.found
        # beside a recess it is not the rim that pushes
        alone = way.there[:, 0, 1:] & way.there[:, 0, :-1] & (found.touch[:, 0, 1:] != FLAT)
        sprung.extend(found.theta[:, 0, :-1][alone & (np.diff(found.theta[:, 0], axis=-1) < -_GRAIN)])
    return float(min(sprung)) if sprung else None


def stretches(detent: Detent, way: Path) -> list[Alone]:
    """The stretches of one opening knife in which one ball alone carries, in order, from a Path."""
    members, alone, found = (*detent.leaves[0].members, FACE), [], way.found
    for row, carrier in zip(range(len(found.lead)), members, strict=False):
        here = np.concatenate([[False], way.there[row, 0], [False]])
        for low, high in zip(
            np.flatnonzero(~here[:-1] & here[1:]), np.flatnonzero(here[:-1] & ~here[1:]) - 1, strict=True
        ):
            angles, torques = (
                np.broadcast_to(value, found.lead.shape)[row, 0, [low, high]] for value in (found.theta, found.torque)
            )
            alone.append(Alone(carrier, *map(float, angles), *map(float, torques)))
    return sorted(alone, key=lambda each: each.start)
