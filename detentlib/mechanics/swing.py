"""The whole swing, from the stop to open and back: who carries where, on what, and what it costs the hand."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife
from . import carry, limits, search
from .lift import CHAMFER, EDGE, FLOOR, RIM, ROUND
from .sweep import Sweep, swept

_COARSE, _STEP_DEG = 0.25, 0.01
_NEAR = np.radians(1e-4)


@dataclass(frozen=True)
class Stretch:
    """A stretch of the swing in which nothing changes hands.

    from_deg to to_deg; the carrying ball (−1 the bar face), that with the greater load where one hands over to another
    and both carry for a little (shared); what happens, in words; what the carrying ball touches, one of
    mechanics.lift's FLAT to ROUND, None without one; the gap at ball 1 at its two ends [mm].
    """

    from_deg: float
    to_deg: float
    carrier: int
    touching: str
    touch: int | None
    gap_from: float
    gap_to: float
    shared: bool = False


@dataclass(frozen=True, repr=False)
class Swing:
    """The whole swing of a knife. opening and closing: Sweeps over it. stretches: tuple of Stretch, in order.

    work_opening and work_closing: what the hand puts in with pivot drag [mJ] (negative closing work: the detent pulls);
    lost: what friction eats over one cycle, their sum [mJ]. crossings: stretches in mid-swing where a ball drops into
    another ball's recess. run_offs: {ball: stretch in which it rolls down the tang edge}.
    """

    opening: Sweep
    closing: Sweep
    stretches: tuple
    work_opening: float
    work_closing: float
    lost: float
    crossings: tuple
    run_offs: dict

    def __repr__(self):
        """Short and stable, for a notebook."""
        return (
            f"<Swing: {len(self.stretches)} stretches, {self.work_opening:.1f} mJ to open, {self.lost:.1f} mJ lost in a"
            " cycle>"
        )


class Leaving(NamedTuple):
    """A ball that leaves the tang while it carries.

    ball; from angle_deg, where it reaches the edge, to until_deg, where it stops carrying; past: how far its axis has
    gone beyond the edge by then [mm]; drop: how far the bar has come down at ball 1 [mm]; to: who carries then (−1 the
    bar face, None where the blade is open first).
    """

    ball: int
    angle_deg: float
    until_deg: float
    past: float
    drop: float
    to: int | None

    @property
    def then(self) -> str:
        """What comes of the bar then, in words.

        >>> Leaving(0, 168.0, 169.9, 0.262, 0.044, 1).then
        'ball 2 takes over'
        """
        if self.to is None:
            return "the blade is open"
        return "the bar face lands" if self.to == carry.FACE else f"ball {self.to + 1} takes over"


def swing(knife: Knife, elastic: bool = False) -> Swing:
    """Follow one Knife from the stop to its opening angle and back.

    Raises KnifeError for a knife that cannot work. Between the kinks the torque is smooth and summed on a fine grid.
    """
    detent = limits.working(knife, elastic)
    opening, kinks = _opened(detent, knife)
    closing = swept(detent, knife, opening.angle_deg[::-1], "closing")
    stretches = _stretches(
        opening, np.degrees(kinks), knife.blade.opening_deg, [] if elastic else [ball.bar for ball in knife.balls]
    )
    drag, break_out = _drag(knife, opening), np.degrees(detent.break_out.item())
    work_opening, work_closing = (
        _work(opening, torque) for torque in (opening.torque + drag, drag - closing.torque[::-1])
    )
    return Swing(
        opening,
        closing,
        stretches,
        work_opening,
        work_closing,
        work_opening + work_closing,
        tuple(each for each in stretches if each.from_deg > break_out and each.touch in (RIM, CHAMFER, FLOOR, ROUND)),
        {each.carrier: each for each in stretches if each.touch == EDGE},
    )


def leavings(knife: Knife, swung: Swing) -> list[Leaving]:
    """Every Leaving of a Knife in its Swing, in the order of the swing."""
    found, run = [], swung.opening
    for i, stretch in enumerate(swung.stretches):
        if stretch.touch != EDGE:
            continue
        ball, at = knife.balls[stretch.carrier], stretch.to_deg
        aside = np.interp(at, run.angle_deg, run.side[:, stretch.carrier])
        past = formulas["L7"](
            theta=math.radians(at) - aside / ball.track_radius,
            run_off=math.radians(ball.run_off_deg),
            track_radius=ball.track_radius,
            ball_radius=ball.radius,
            edge=math.radians(ball.edge_deg),
        ).past
        after = next(iter(swung.stretches[i + 1 :]), None)
        low, to = (after.gap_from, after.carrier) if after else (stretch.gap_to, None)
        found.append(Leaving(stretch.carrier, stretch.from_deg, at, past, stretch.gap_from - low, to))
    return found


def loads_in(swung: Swing, stretch: Stretch) -> tuple[float, float]:
    """Least and greatest load [N] of the carrying ball in a Stretch of a Swing."""
    run = swung.opening
    inside = (run.angle_deg >= stretch.from_deg) & (run.angle_deg <= stretch.to_deg) & (run.carrier == stretch.carrier)
    loads = run.load[inside, stretch.carrier]
    return float(loads.min()), float(loads.max())


def work_to_open(knife: Knife) -> float:
    """What the hand puts in to swing one Knife open, with pivot drag [mJ]: `work_opening` of its Swing alone."""
    opening, _ = _opened(limits.working(knife), knife)
    return _work(opening, opening.torque + _drag(knife, opening))


def _opened(detent, knife):
    """The opening Sweep of the whole swing, with an angle on either side of every kink, and the kinks [rad] in
    order.
    """
    open_deg = knife.blade.opening_deg
    near = np.arange(0.0, min(np.degrees(detent.break_out.item()) + 1.0, open_deg), _STEP_DEG)
    far = np.arange(near[-1], open_deg, _COARSE)
    fine = [np.arange(max(start - 1, 0.0), min(start + 8, open_deg), _STEP_DEG) for start in _lively(knife)]
    grid = np.unique(np.concatenate([near, far, *fine, [open_deg]]))
    kinks = sorted(kink.angle for each in search.kinks(detent, np.radians(grid)[None, :]) for kink in each)
    # either side of every kink, so that no straight piece spans a step
    sides = np.degrees(np.concatenate([np.subtract(kinks, _NEAR), np.add(kinks, _NEAR)]))
    return swept(detent, knife, np.unique(np.clip(np.concatenate([grid, sides]), 0.0, open_deg))), kinks


def _drag(knife, opening):
    """Drag of the pivot at each angle of an opening Sweep [N·mm]."""
    loads = zip(opening.load.T, np.radians(opening.contact_deg.T), strict=True)
    return knife.friction.pivot_torque + sum(carry.load_drag(knife.friction, load, phi) for load, phi in loads)


def _work(opening, torque):
    """Work of a torque [N·mm] over the angles of a Sweep [mJ]."""
    return float(np.trapezoid(torque, np.radians(opening.angle_deg)))


def _lively(knife):
    """Angles [deg] round which something may happen in mid-swing: run-offs, and recesses that are crossed."""
    found = [ball.run_off_deg for ball in knife.balls if ball.run_off_deg is not None]
    for i in range(len(knife.balls)):
        for j in range(len(knife.balls)):
            if i != j and carry.crosses(knife, i, j):
                reach = knife.balls[j].recess.rim_radius + knife.balls[j].recess.edge_radius
                found.append(carry.crossing_deg(knife, i, j) - np.degrees(reach / knife.balls[i].track_radius))
    return found


def _stretches(run, kinks, open_deg, bars):
    """Cut the opening sweep at its kinks; bars: of each ball, where a bar that carries on two balls at once is
    handing over.
    """
    edges = np.concatenate([[0.0], kinks, [open_deg]])
    found = []
    for low, high in pairwise(edges):
        inside = np.flatnonzero((run.angle_deg >= low) & (run.angle_deg <= high))
        if high - low < 2 * np.degrees(_NEAR) or not inside.size:
            continue
        middle = inside[inside.size // 2]
        carrier, touching = int(run.carrier[middle]), str(run.touching[middle])
        both = [f"ball {i + 1}" for i, bar in enumerate(bars) if bar == bars[carrier] and run.load[middle, i] > 0]
        shared = carrier >= 0 and len(both) > 1
        touch = int(run.touch[middle, carrier]) if carrier >= 0 and not shared else None
        if shared:
            touching = f"{' and '.join(both)} together"
        found.append(
            Stretch(
                float(low),
                float(high),
                carrier,
                touching,
                touch,
                float(run.gap[inside[0]]),
                float(run.gap[inside[-1]]),
                shared,
            )
        )
    return tuple(found)
