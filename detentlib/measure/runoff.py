"""The far end of a lift trace: the drop where ball 1 rolls off the tang and another takes over tells how much lower
that one rides.
"""

import math
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from .arcs import Arc, Rows
from .least import Fit, Least
from .value import Value

_SURE = 0.005  # chance of a false run-off that is accepted
_FEW = 3  # readings that a plateau needs
_SIZES = (0.002, 0.002, 0.002, 0.002)  # mm and rad


class RunOffSeen(NamedTuple):
    """A run-off seen in a trace: where ball 1 rolls off [deg], and how far the bar drops [mm] until another ball
    carries.

    With no other ball the bar's face lands on the tang, and the drop is how far ball 1 stands out of it.
    """

    angle_deg: Value
    drop: Value


def run_off(rows: Rows, arcs: tuple[Arc, Arc]) -> tuple[RunOffSeen, Fit] | tuple[None, None]:
    """What is seen in rows that ride the flat at first, with its Fit: (RunOffSeen, Fit), or (None, None) where noise
    alone explains them.

    Ball 1 rolls off its edge (L7) until the other carries, which may roll off in its turn.
    """
    from scipy.stats import chi2

    if rows.angle.size < 2 * _FEW + 2:
        return None, None
    theta = np.radians(rows.angle)
    order = np.argsort(theta)
    level = float(np.median(rows.height[order[: max(theta.size // 4, _FEW)]]))

    grid = rows.grid(0.0)

    def seen(table):
        return rows.seen(grid, _curve(np.radians(grid), table.T[:, :, None], arcs), np.zeros(len(table)))

    fit = Least(rows.height, seen, _SIZES, when=rows.when, inside=rows.inside).fit(_start(rows, theta, level, arcs))
    flat = float(np.sum(((rows.height - rows.height.mean()) / rows.noise) ** 2)) + 2 * float(np.sum(np.log(rows.noise)))
    _, first, drop, second = fit.found
    if drop <= 0 or chi2.sf(max(flat - fit.deviance, 0.0), 3) > _SURE:
        return None, None
    over = first + math.sqrt(max(2 * arcs[0].radius * drop - drop**2, 0.0)) / arcs[0].track_radius
    if np.count_nonzero(theta < first) < _FEW or np.count_nonzero((theta > over) & (theta < second)) < _FEW:
        return None, None
    factor, wide = fit.factor, np.sqrt(np.diag(fit.spread))
    return (
        RunOffSeen(
            Value(math.degrees(first), math.degrees(factor * float(wide[1]))),
            Value(float(drop), factor * float(wide[2])),
        ),
        fit,
    )


def _curve(theta, numbers, arcs):
    """Height over the angle, numbers = [level, run-off 1, drop, run-off 2]: the higher of the two balls."""
    level, first, drop, second = numbers
    found = []
    for arc, top, at in ((arcs[0], level, first), (arcs[1], level - drop, second)):
        # a ball past its edge by its radius has left the tang, and no longer follows it
        past = np.clip(arc.track_radius * (theta - at), 0.0, arc.radius * (1 - 1e-6))
        found.append(top - arc.lever * formulas["L1"](rim_gap=past, ball_radius=arc.radius).sink)
    return np.maximum(*found)


def _start(rows, theta, level, arcs):
    """The best place on a grid of run-offs and drops."""
    low, end = theta.min(), theta.max()
    firsts = np.linspace(low, end, 41)[1:-1]
    # the trace itself may show the lower level at its end, or at its lowest
    drops = np.append(
        np.geomspace(0.01, arcs[0].radius, 10),
        [level - np.median(rows.height[np.argsort(theta)[-_FEW:]]), level - rows.height.min()],
    )
    seconds = np.append(firsts, end + 0.1)
    first, drop, second = (each.ravel() for each in np.meshgrid(firsts, drops, seconds))
    late = (second > first) & (drop > 0)
    tried = np.array([np.full(late.sum(), level), first[late], drop[late], second[late]])
    # rows on the edges are far off for a small slip in angle: they must not outvote the plateaus
    off = np.minimum(np.abs(_curve(theta, tried[:, :, None], arcs) - rows.height), 0.05)
    return tried[:, np.argmin(np.sum(off**2, axis=1))]
