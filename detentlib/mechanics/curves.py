"""What each ball would do if it carried its bar alone: explicit curves over its relative angle, no balance to be solved.

While one ball alone carries, its place on its rim gives everything: bar angle, moment, push, how far the push turns the
bar sideways, and so the blade angle. `lead` says where it really does carry alone. Between two such stretches both carry.
"""

from typing import NamedTuple

import numpy as np

from . import bar as bars
from .formulas import formulas
from .lift import FLAT, FLOOR, Lift, middle_angle, push_ratio

_GRAIN = 1e-13  # rad, to which a change is closed in
JUST_AFTER = 1e-9  # rad past a step, far below anything that a protractor sees


class Curve(NamedTuple):
    """Curves of one bar, arrays (c, m, n): one row a ball, and a last one for the bar face where it can land on the tang.

    angle: relative angle of the ball [rad]; theta: blade angle; lifts; load, push [N]; moment [N·mm]; torque [N·mm];
    omega: sideways turn [rad]; energy [mJ]; lead: bar angle ahead of the next that would carry [rad], not below zero
    where this one carries alone.
    """

    angle: np.ndarray
    theta: np.ndarray
    lifts: Lift
    load: np.ndarray
    push: np.ndarray
    moment: np.ndarray
    torque: np.ndarray
    omega: np.ndarray
    energy: np.ndarray
    lead: np.ndarray


def curve(leaf, angle, sense):
    """Curve of a Leaf at relative angles (c, m, n), c = balls + 1, the last for the bar face; sense as in Detent.state."""
    balls, spring, count = leaf.balls, leaf.spring, len(leaf.parts)
    lifts = leaf.lifted(angle[:count])
    face = formulas["B4"](gap=0.0, parallel_gap=spring.parallel_gap, hinge_distance=spring.arm)
    own = formulas["B4"](gap=lifts.demand, parallel_gap=spring.parallel_gap, hinge_distance=balls.hinge_distance)
    lifts = Lift(*(_with_last(value, value[:1], last) for value, last in zip(lifts, (0.0, 0.0, 0.0, 1.0, 0.0, FLAT, 1.0), strict=True)))
    psi = _with_last(own, own[:1], face)
    arm, across, track, lever = (_and_first(part) for part in (balls.hinge_distance, leaf.across, balls.track_radius, leaf.levers))
    moment = bars.moment(spring, psi)
    load = moment / arm
    smooth = (lifts.touch == FLAT) | (lifts.touch == FLOOR)
    mu = sense * np.where(smooth, leaf.friction.on_flat, leaf.friction.rim)
    push = load * push_ratio(lifts, mu)
    omega = leaf.tilt * push * across
    theta = angle + lever * omega
    others = [np.where(np.arange(count + 1).reshape(-1, 1, 1) == count, -np.inf, face)]
    for row in range(count):
        at = leaf.demand_of(row, theta - leaf.levers[row] * omega)
        others.append(np.where(np.arange(count + 1).reshape(-1, 1, 1) == row, -np.inf, at))
    lead = psi - np.maximum.reduce(np.broadcast_arrays(*others))
    energy = formulas["E1"](moment=moment, kappa=spring.kappa) + omega * push * across / 2
    return Curve(angle, theta, lifts, load, push, moment, push * track, omega, energy, lead)


def walk(leaf, low, high, sense, count, through=()):
    """Curve of a Leaf on `count` relative angles from low to high (c, m, 1), and on both sides of each of its turns.

    Turns are where one stops or starts to carry alone, where a ball lifts off its floor, passes the middle of its recess or
    leaves it. through: more relative angles (b, m, 1) to put in.
    """
    known = [np.clip(_and_first(each), low, high) for each in through]
    angle = np.sort(np.concatenate([low + (high - low) * np.linspace(0.0, 1.0, count), *_leaving(leaf, low, high), *known], axis=-1), axis=-1)
    found = curve(leaf, angle, sense)
    cells = np.nonzero(np.diff(_kind(found), axis=-1))
    if not cells[0].size:
        return found
    which, rows, _ = cells
    sides = close_in(leaf, cells, angle, sense, lambda _, one: _kind(one))
    # as many more angles for every curve as the one with most changes needs; the others repeat their last
    place = np.zeros(which.size, int)
    for k in range(1, which.size):
        same = which[k] == which[k - 1] and rows[k] == rows[k - 1]
        place[k] = place[k - 1] + 2 if same else 0
    more = np.repeat(angle[..., -1:], int(place.max()) + 2, axis=-1)
    more[which, rows, place], more[which, rows, place + 1] = sides
    return curve(leaf, np.sort(np.concatenate([angle, more], axis=-1), axis=-1), sense)


def _kind(found):
    """Which points of a Curve are alike: carrying alone or not, on the floor or not."""
    return (found.lead >= 0) + 2 * (found.lifts.touch == FLOOR)


def close_in(leaf, cells, angle, sense, kind):
    """Where `kind(leaf, curve)` changes between neighbours of angle (c, m, n): both sides of it [rad], for each of the cells.

    cells: (curve, knife, column) indexes, as from np.nonzero, of the left neighbours.
    """
    which, rows, columns = cells
    some = leaf.take(rows) if leaf.many else leaf
    low, high = angle[which, rows, columns][:, None], angle[which, rows, columns + 1][:, None]
    mine = (which, np.arange(which.size))
    shape = (len(leaf.parts) + 1, which.size)

    def told(angles):
        return kind(some, curve(some, np.broadcast_to(angles, (*shape, angles.shape[-1])), sense))[mine]

    first = told(low)
    sections = 64 if which.size < 64 else 2
    halvings = np.log2(np.max(high - low) / _GRAIN)
    for _ in range(int(np.ceil(halvings / np.log2(sections)))):
        inner = low + (high - low) * np.arange(1, sections) / sections
        inside = np.concatenate([np.ones(low.shape, bool), told(inner) == first, np.zeros(low.shape, bool)], axis=-1)
        points = np.concatenate([low, inner, high], axis=-1)
        end = np.argmin(inside, axis=-1)[:, None]
        low, high = np.take_along_axis(points, end - 1, axis=-1), np.take_along_axis(points, end, axis=-1)
    return low[:, 0], high[:, 0]


def _leaving(leaf, low, high):
    """Both sides of the middle of each recess and of where its ball leaves it for the flat, relative angles (c, m, 1) each."""
    turns = (_and_first(turn) for turn in (middle_angle(leaf.balls), leaf.flat))
    return [np.clip(turn + side, low, high) for turn in turns for side in (0.0, JUST_AFTER)]


def _with_last(value, like, last):
    return np.concatenate([value, np.broadcast_to(np.asarray(last, value.dtype), like.shape)], axis=0)


def _and_first(value):
    return np.concatenate([value, value[:1]], axis=0)
