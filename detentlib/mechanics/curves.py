"""What each ball would do if it carried its bar alone: explicit curves over its relative angle, no balance to be
solved.

While one ball alone carries, its place on its rim gives everything: bar angle, moment, push, how far the push turns the
bar sideways, and so the blade angle. `lead` says where it really does carry alone. Between two such stretches both
carry.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..knife.values import Values
from . import bar as bars
from .carry import load_drag
from .leaf import Leaf
from .lift import FLAT, Lift, friction_at, lean, middle_angle, push_ratio
from .roots import closed_in

_GRAIN = 1e-13  # rad, to which a change is closed in
_BESIDE = 1e-6  # rad beside a turn, enough to see whether a curve rises or falls there
_ROUNDS, _ZOOMS, _POINTS, _TOPS = 3, 2, 9, 3
_STEEP = np.radians(80.0)  # from where on the greatest lean is looked for between the points, too


class Curve(NamedTuple):
    """Curves of one bar, arrays (c, m, n): one row a ball, and a last one for the bar face where it can land on the
    tang.

    angle: relative angle of the ball [rad]; theta: blade angle; phi, rim_gap, touch: as of Lift; load [N]; moment,
    torque [N·mm]; omega: sideways turn [rad]; lead: bar angle ahead of the next that would carry [rad], not below zero
    where this one carries alone; pull: what the pivot's drag leaves of the torque as the blade closes [N·mm]; lean:
    contact and friction angle together as it opens [rad].
    """

    angle: np.ndarray
    theta: np.ndarray
    phi: np.ndarray
    rim_gap: np.ndarray
    touch: np.ndarray
    load: np.ndarray
    moment: np.ndarray
    torque: np.ndarray
    omega: np.ndarray
    lead: np.ndarray
    pull: np.ndarray
    lean: Values


def curve(leaf: Leaf, angle: np.ndarray, sense: int) -> Curve:
    """Curve of a Leaf at relative angles (c, m, n), sense as in Detent.state; one more row than it has balls is its
    face's.
    """
    balls, spring, count = leaf.balls, leaf.spring, len(leaf.parts)
    lifts, face = leaf.lifted(angle[:count]), leaf.asked(0.0, spring.arm)
    psi, faced = leaf.asked(lifts.demand), len(angle) > count
    arm, across, track, lever = balls.hinge_distance, leaf.across, balls.track_radius, leaf.levers
    if faced:
        # the face lands beside the first ball, where the gap is zero
        lifts = Lift(
            *(
                _with_last(value, psi, last)
                for value, last in zip(lifts, (0.0, 0.0, 0.0, 1.0, 0.0, FLAT, 1.0), strict=True)
            )
        )
        psi, (arm, across, track, lever) = (
            _with_last(psi, psi, face),
            (and_first(part) for part in (arm, across, track, lever)),
        )
    moment = bars.moment(spring, psi)
    load = moment / arm
    ratio = push_ratio(lifts, sense * friction_at(leaf.friction, lifts))
    push = load * ratio
    omega = leaf.tilt * push * across
    theta = angle + lever * omega
    highest = np.empty(np.broadcast_shapes(psi.shape, theta.shape))
    highest[:] = face
    for ahead in range(1, count):
        # each ball at the places of the one so many rows on
        rows = (np.arange(count) + ahead) % count
        highest[rows] = np.maximum(
            highest[rows], leaf.asked(leaf.lifted(theta[rows] - leaf.levers * omega[rows]).demand)
        )
    if faced:
        highest[-1] = np.max(leaf.asked(leaf.lifted(theta[-1:] - leaf.levers * omega[-1:]).demand), axis=0)
    torque = push * track
    pull = torque - leaf.friction.pivot_torque - load_drag(leaf.friction, load, lifts.phi)
    return Curve(
        angle,
        theta,
        lifts.phi,
        lifts.rim_gap,
        lifts.touch,
        load,
        moment,
        torque,
        omega,
        psi - highest,
        pull,
        lean(lifts, load, ratio) if sense > 0 else 0.0,
    )


def walk(
    leaf: Leaf, low: np.ndarray, high: np.ndarray, sense: int, count: int, through: Sequence[np.ndarray] = ()
) -> Curve:
    """Curve of a Leaf on `count` relative angles from low to high (c, m, 1), with both sides of each of its turns.

    Turns are where one stops or starts to carry alone, where a ball touches something else or passes the middle of its
    recess, where the pull ends as the blade closes; and where torque, pull or lean are greatest or least. through: more
    relative angles (b, m, 1) to put in.
    """
    turns = [
        turn + side for turn in (middle_angle(leaf.balls), leaf.flat) for side in (-_BESIDE, -_GRAIN, _GRAIN, _BESIDE)
    ]
    known = [np.clip(each if len(each) == len(low) else and_first(each), low, high) for each in (*turns, *through)]
    ends = [np.minimum(low + 2 * _BESIDE, high), np.maximum(high - 2 * _BESIDE, low)]
    found = curve(
        leaf,
        np.sort(np.concatenate([low + (high - low) * np.linspace(0.0, 1.0, count), *ends, *known], axis=-1), axis=-1),
        sense,
    )
    found = _with_turns(leaf, found, sense)
    for measure in _measures(found, sense):
        value = np.where(found.lead >= 0, measure(found), -np.inf)
        apart, inner = np.diff(found.angle, axis=-1) > _BESIDE / 2, value[..., 1:-1]
        highest = (inner > value[..., :-2]) & (inner > value[..., 2:]) & apart[..., :-1] & apart[..., 1:]
        cells = np.nonzero(highest & np.isfinite(value[..., :-2] + value[..., 2:]))
        if cells[0].size:
            found = _with(leaf, found, cells, [_greatest(leaf, found, cells, sense, measure)], sense)
    return _with_turns(leaf, found, sense)  # where a pull is least it may have ended


def _with_turns(leaf, found, sense):
    """A Curve with both sides of each change of kind in it."""
    for _ in range(_ROUNDS):
        cells = np.nonzero((np.diff(_kind(found, sense), axis=-1) != 0) & (np.diff(found.angle, axis=-1) > 4 * _GRAIN))
        if not cells[0].size:
            break
        before, after = _closed_in(leaf, found, cells, sense)
        ends = (found.angle[cells], found.angle[(*cells[:2], cells[2] + 1)])
        found = _with(
            leaf,
            found,
            cells,
            [np.maximum(before - _BESIDE, ends[0]), before, after, np.minimum(after + _BESIDE, ends[1])],
            sense,
        )
    return found


def can_land(leaf: Leaf, high: np.ndarray) -> bool:
    """Whether the bar face could land on the tang short of relative angles `high`: no ball then holds it clear
    everywhere.
    """
    if leaf.crossings:
        return True
    # a ball sinks deepest in the middle of its recess, or beyond the end of its track
    places = np.concatenate(np.broadcast_arrays(leaf.middle, 2 * high), axis=-1)
    least = np.min(leaf.asked(leaf.lifted(places).demand), axis=-1)
    return bool(np.any(np.max(least, axis=0) < np.ravel(leaf.asked(0.0, leaf.spring.arm))))


def and_first(value: np.ndarray) -> np.ndarray:
    """The rows of the balls, and that of the first again for the bar face."""
    return np.concatenate([value, value[:1]], axis=0)


def _kind(found, sense):
    """Which points of a Curve are alike: whether one carries alone, what it touches, and whether it pulls."""
    pulls = found.pull > 0 if sense < 0 else False
    return np.where(found.lead >= 0, 1 + 2 * found.touch + 16 * pulls, 0)


def _measures(found, sense):
    """What is looked for between the points: a greatest torque, a least pull, a greatest lean."""
    if sense < 0:
        return [lambda one: -one.pull]
    steep = np.any((found.lead >= 0) & (found.lean > _STEEP))
    return [lambda one: one.torque, lambda one: one.lean] if steep else [lambda one: one.torque]


def _at(leaf, cells, sense, rows):
    """A function of relative angles (k, n) that gives the Curve there, each on the curve and knife of its cell, and
    the index of these.
    """
    which, knives = cells[:2]
    some, mine = leaf.take(knives) if leaf.many else leaf, (which, np.arange(which.size))

    def at(angles):
        return curve(some, np.broadcast_to(angles, (rows, *angles.shape)), sense)

    return at, mine


def _closed_in(leaf, found, cells, sense):
    """Both sides of where the kind changes between neighbours, for cells (curve, knife, left neighbour)."""
    which, knives, columns = cells
    at, mine = _at(leaf, cells, sense, len(found.angle))
    left, right = ((which, knives, columns + side) for side in (0, 1))
    kind = _kind(found, sense)
    leads = (found.lead[left] >= 0) != (found.lead[right] >= 0)
    pulls = ~leads & (found.touch[left] == found.touch[right])
    leads, pulls, first = leads[:, None], pulls[:, None], kind[left][:, None]

    def measure(one, kinds, index):
        # what says how near the change is, where there is such a thing
        lead, pull, kinds = (value[index].reshape(which.size, -1) for value in (one.lead, one.pull, kinds))
        return np.where(leads, lead + np.finfo(float).tiny, np.where(pulls, pull, np.where(kinds == first, 1.0, -1.0)))

    def value(angles):
        one = at(angles)
        return measure(one, _kind(one, sense), mine)

    ends = [found.angle[side][:, None] for side in (left, right)]
    before, after = closed_in(value, *ends, *(measure(found, kind, side) for side in (left, right)), _GRAIN)
    return before[:, 0], after[:, 0]


def _greatest(leaf, found, cells, sense, measure):
    """Relative angles at which a measure is greatest about the points right of cells (curve, knife, left neighbour)."""
    which, knives, columns = cells
    at, mine = _at(leaf, cells, sense, len(found.angle))
    x = np.stack([found.angle[which, knives, columns + side] for side in (0, 2)], axis=-1)
    for _ in range(_ZOOMS):
        x = x[:, :1] + (x[:, -1:] - x[:, :1]) * np.linspace(0.0, 1.0, _POINTS)
        y = measure(at(x))[mine]
        beside = np.clip(np.argmax(y, axis=-1), 1, _POINTS - 2)[:, None] + np.arange(-1, 2)
        x, y = np.take_along_axis(x, beside, axis=-1), np.take_along_axis(y, beside, axis=-1)
    # and from there on as the top of a parabola
    for _ in range(_TOPS):
        step, (before, now, after) = (x[:, 2] - x[:, 0]) / 2, y.T
        bend = 2 * now - before - after
        top = (
            x[:, 1]
            + np.where(bend > 0, np.clip((after - before) / np.where(bend > 0, bend, 1.0) / 2, -1.0, 1.0), 0.0) * step
        )
        x = top[:, None] + step[:, None] / _POINTS * np.arange(-1, 2)
        y = measure(at(x))[mine]
    return x[:, 1]


def _with(leaf, found, cells, sides, sense):
    """A Curve with more relative angles in it, some for each of the cells: as many for all as the one with most has;
    the others repeat their last.
    """
    which, knives = cells[:2]
    each = which * found.angle.shape[1] + knives
    place = np.arange(each.size) - np.searchsorted(each, each)
    more = np.repeat(found.angle[..., -1:], len(sides) * (int(place.max()) + 1), axis=-1)
    for k, side in enumerate(sides):
        more[which, knives, len(sides) * place + k] = side
    new, shape = curve(leaf, more, sense), found.angle.shape
    order = np.argsort(np.concatenate([found.angle, more], axis=-1), axis=-1, kind="stable")
    places = order + np.arange(order[..., 0].size).reshape(*order.shape[:-1], 1) * order.shape[-1]

    def merged(one, other):
        if np.ndim(one) == 0:
            return one
        return np.take(
            np.concatenate([np.broadcast_to(one, shape), np.broadcast_to(other, more.shape)], axis=-1), places
        )

    return Curve(*map(merged, found, new))


def _with_last(value, like, last):
    return np.concatenate(
        [
            np.broadcast_to(value, like.shape),
            np.broadcast_to(np.asarray(last, np.asarray(value).dtype), like[:1].shape),
        ],
        axis=0,
    )
