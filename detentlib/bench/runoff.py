"""The far end of a lift trace: the drop where ball 1 rolls off the tang and another takes over tells how much lower that one rides."""

import math
from typing import NamedTuple

import numpy as np

from ..mechanics.formulas import formulas
from .arcs import fit_rows
from .value import Value, coverage_factor

_SURE = 0.005  # chance of a false run-off that is accepted
_FEW = 3  # readings that a plateau needs


class RunOffSeen(NamedTuple):
    """A run-off seen in a trace: where ball 1 rolls off [deg], and how far the bar drops [mm] until another ball carries.

    With no other ball the bar's face lands on the tang, and the drop is how far ball 1 stands out of it.
    """

    angle_deg: Value
    drop: Value


def run_off(rows, arcs):
    """What is seen in rows that ride the flat at first, with its RowFit: (RunOffSeen, RowFit), or (None, None) where noise alone explains them.

    Ball 1 rolls off its edge (L7) until the other carries, which may roll off in its turn.
    """
    from scipy.stats import chi2

    theta = np.sum(rows.shares * rows.places, axis=1)
    if theta.size < 2 * _FEW + 2:
        return None, None
    level = float(np.median(rows.height[: max(theta.size // 4, _FEW)]))
    fit = fit_rows(rows, lambda at, n: _curve(at, n, arcs), lambda at, n: _gradient(at, n, arcs), _start(rows, theta, level, arcs))
    flat = float(np.sum(((rows.height - rows.height.mean()) / rows.noise) ** 2)) + 2 * theta.size * math.log(rows.noise)
    _, first, drop, second = fit.found
    if drop <= 0 or chi2.sf(max(flat - fit.deviance, 0.0), 3) > _SURE:
        return None, None
    over = first + math.sqrt(max(2 * arcs[0].radius * drop - drop**2, 0.0)) / arcs[0].track_radius
    if np.count_nonzero(theta < first) < _FEW or np.count_nonzero((theta > over) & (theta < second)) < _FEW:
        return None, None
    factor, wide = coverage_factor(fit.free), np.sqrt(np.diag(fit.spread))
    return RunOffSeen(Value(math.degrees(first), math.degrees(factor * float(wide[1]))), Value(float(drop), factor * float(wide[2]))), fit


def _heights(theta, numbers, arcs):
    """Height of either ball over the angle, numbers = [level, run-off 1, drop, run-off 2], and how steeply it rolls down."""
    level, first, drop, second = numbers
    found = []
    for arc, top, at in ((arcs[0], level, first), (arcs[1], level - drop, second)):
        past = np.clip(arc.track_radius * (theta - at), 0.0, arc.radius * (1 - 1e-6))
        edge = formulas["L1"](rim_gap=past, ball_radius=arc.radius)
        # a ball past its edge by its radius has left the tang, and no longer follows it
        steep = np.where(past < arc.radius * (1 - 1e-6), edge.slope, 0.0)
        found.append((top - arc.lever * edge.sink, arc.lever * arc.track_radius * steep))
    return found


def _curve(theta, numbers, arcs):
    (one, _), (other, _) = _heights(theta, numbers, arcs)
    return np.maximum(one, other)


def _gradient(theta, numbers, arcs):
    (one, steep), (other, steep_2) = _heights(theta, numbers, arcs)
    first = one >= other
    return np.stack([np.ones_like(one), first * steep, first - 1.0, ~first * steep_2], axis=-1)


def _start(rows, theta, level, arcs):
    """The best place on a grid of run-offs and drops."""
    end = theta[-1]
    firsts = np.linspace(theta[0], end, 41)[1:-1]
    # the trace itself may show the lower level at its end, or at its lowest
    drops = np.append(np.geomspace(0.01, arcs[0].radius, 10), [level - np.median(rows.height[-_FEW:]), level - rows.height.min()])
    seconds = np.append(firsts, end + 0.1)
    first, drop, second = (each.ravel() for each in np.meshgrid(firsts, drops, seconds))
    late = (second > first) & (drop > 0)
    tried = np.array([np.full(late.sum(), level), first[late], drop[late], second[late]])
    # rows on the edges are far off for a small slip in angle: they must not outvote the plateaus
    off = np.minimum(np.abs(_curve(theta, tried[:, :, None], arcs) - rows.height), 0.05)
    return tried[:, np.argmin(np.sum(off**2, axis=1))]
