"""What the hand and the gauge feel: peak, hold, barrier, draw-in, handovers; for one knife or for many at once."""

from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from . import bar as bars
from . import carry, limits, notes, search
from .formulas import formulas
from .search import JUST_AFTER

_PANEL = np.polynomial.legendre.leggauss(24)
_OFF_TRACK_MU, _OFF_TRACK_LIMIT = 0.2, 0.01


class Handover(NamedTuple):
    """Where one ball hands the bar to another on opening: angle [deg], ball indexes, torque before and after [N·mm].

    With an elastic bar both share for a short stretch; the angle is its middle, the torques are those at its ends.
    """

    angle_deg: float
    from_ball: int
    to_ball: int
    torque_before: float
    torque_after: float


@dataclass(frozen=True, repr=False)
class Feel:
    """What one knife feels like, in N, N·mm, mJ, mm and degrees. Signs: figures/signs.svg.

    Detent alone: break_torque, the greatest torque on opening from the stop up to and on the flat, at peak_deg (where
    drag on the flat is more than the climb out of the recess, that drag is it, just past break_out_deg); break_force at the tab and
    stud_break_force; letback_force, the hardest pull at the tab against which the blade still returns (negative: it
    does not return by itself; None where it is not given, see flags). On the whole knife a gauge reads
    gauge_break_force and gauge_letback_force, with pivot drag added and taken off. barrier: elastic energy riding
    less at rest; work: of the hand over the opening, with friction. break_out_deg: all balls on the flat.
    draw_in_deg: the largest angle from which the blade draws itself shut all the way; stall_pockets: stretches
    beyond it where it would draw in but then stalls. rest_deg, rest_carrier, rest_load: where and on which ball
    (−1 the bar face) it rests, and with what force; idle_clearance, contact_deg, rim_gap and seat_depth hold one
    number a ball, at rest. ride_load: force on the flat. rate: of the bar at ball 1. relief_stress_rest and _ride
    [MPa], None without drawn sizes. snap_ratio: see F9. flags, left_out, assumed: what to know beside the numbers.
    """

    break_torque: float
    break_force: float
    stud_break_force: float | None
    letback_force: float | None
    gauge_break_force: float
    gauge_letback_force: float | None
    barrier: float
    work: float
    break_out_deg: float
    draw_in_deg: float
    stall_pockets: tuple
    rest_deg: float
    snap_ratio: float
    handovers: tuple
    rest_carrier: int
    idle_clearance: tuple
    peak_deg: float
    contact_deg: tuple
    rim_gap: tuple
    seat_depth: tuple
    rest_load: float
    ride_load: float
    rate: float
    relief_stress_rest: float | None
    relief_stress_ride: float | None
    flags: tuple = field(default=())
    left_out: tuple = field(default=())
    assumed: tuple = field(default=())

    def __repr__(self):
        """Short and stable, for a notebook."""
        hold = "not given" if self.letback_force is None else f"{self.letback_force:.2f} N"
        return f"<Feel: break force {self.break_force:.2f} N, let-back {hold}, barrier {self.barrier:.2f} mJ>"


def feel(knife, elastic=False):
    """What one Knife feels like: a Feel. Raises KnifeError for a knife that cannot work.

    elastic: let bar, sideways give and squash settle together, so that balls can share (C4); otherwise the bar is
    rigid and the ball with the largest demand carries all (C1).

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> feel(Knife("A", [ball], LockBar(17.04, rate=10.298), Blade(14.0), Friction(0.12, pivot_torque=3.0)))
    <Feel: break force 12.04 N, let-back 7.39 N, barrier 4.29 mJ>
    """
    limits.check(knife)
    detent = carry.Detent(knife, elastic)
    with np.errstate(over="ignore", invalid="ignore"):
        one = {name: value[0].item() for name, value in _facts(detent)[0].items()}
    limits.finite(knife, one)
    rest, break_out = one["rest"], one["break_out"]
    at = detent.state(np.array([rest]))
    kinks = search.kinks(detent, limits.opening_grid(knife, search.FINE)[0])
    pull = one["letback_torque"]
    given = bool(letback_given(knife))
    tab, stud = knife.blade.tab_arm, knife.blade.stud_arm

    def at_tab(torque):
        return formulas["F5"](torque=torque, arm=tab)

    result = Feel(
        break_torque=one["break_torque"],
        break_force=at_tab(one["break_torque"]),
        stud_break_force=None if stud is None else formulas["F5"](torque=one["break_torque"], arm=stud),
        letback_force=at_tab(pull) if given else None,
        gauge_break_force=at_tab(one["break_torque"] + one["peak_drag"]),
        gauge_letback_force=at_tab(pull - one["rest_drag"]) if given else None,
        barrier=one["barrier"],
        work=_work(detent, rest, break_out, [kink.angle for each in kinks for kink in each]),
        break_out_deg=np.degrees(break_out).item(),
        draw_in_deg=np.degrees(one["draw_in"]).item(),
        stall_pockets=search.stall_pockets(detent, one["draw_in"], break_out),
        rest_deg=np.degrees(rest).item(),
        snap_ratio=one["snap_ratio"],
        handovers=_handovers(detent, kinks),
        rest_carrier=one["rest_carrier"],
        idle_clearance=tuple(float(np.ravel(clear)[0]) for clear in at.clearances),
        peak_deg=np.degrees(one["peak"]).item(),
        contact_deg=tuple(float(np.degrees(np.ravel(lifted.phi)[0])) for lifted in at.lifts),
        rim_gap=tuple(float(np.ravel(lifted.rim_gap)[0]) for lifted in at.lifts),
        seat_depth=tuple(float(np.ravel(lifted.sink)[0]) for lifted in at.lifts),
        rest_load=one["rest_load"],
        ride_load=one["ride_load"],
        rate=float(bars.rate(knife.bar, knife.balls[0])),
        relief_stress_rest=relief_stress(knife, one["rest_moment"]),
        relief_stress_ride=relief_stress(knife, one["ride_moment"]),
        assumed=knife.assumed,
    )
    return replace(result, flags=notes.flags(detent, result), left_out=notes.left_out(knife, result))


class Many(NamedTuple):
    """Feel of m knives: {name: array [m]} for `values`, and which of them can work at all.

    values: break_torque, break_force, letback_force, gauge_break_force, gauge_letback_force, barrier,
    break_out_deg, draw_in_deg, rest_deg, snap_ratio, peak_deg, rest_load, ride_load; rest_carrier as int. possible:
    bool [m]; impossible: {name of the limit: how many knives break it}. Values of impossible knives mean nothing.
    """

    values: dict
    possible: np.ndarray
    impossible: dict


def feel_many(knife, elastic=False, chunk=2048):
    """Feel of many knives at once: a Knife from `with_arrays`, arrays of shape (m, 1). Returns a Many.

    Impossible knives are counted and named, never raised and never dropped. Memory is bounded by `chunk` knives.
    """
    count = max(np.size(knife.get(path)) for path in knife.paths())
    # the searches keep a row of angles a knife, also where the knives differ in nothing that moves those angles
    detent = carry.Detent(knife.with_arrays({"balls[0].track_radius": np.broadcast_to(knife.balls[0].track_radius, (count, 1))}), elastic)
    parts, possible, impossible = [], np.ones(count, bool), {}
    for start in range(0, count, chunk):
        rows = np.arange(start, min(start + chunk, count))
        part = detent.take(rows)
        facts, at = _facts(part)
        for limit in limits.find(part, at):
            possible[rows] &= ~limit.broken
            impossible[limit.name] = impossible.get(limit.name, 0) + int(limit.broken.sum())
        parts.append(facts)
    facts = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    arm = np.reshape(knife.blade.tab_arm, -1)
    values = {name: facts[name] for name in ("break_torque", "barrier", "snap_ratio", "rest_load", "ride_load", "rest_carrier")}
    values |= {f"{name}_deg": np.degrees(facts[name]) for name in ("break_out", "draw_in", "rest", "peak")}
    torques = {
        "break_force": facts["break_torque"],
        "letback_force": facts["letback_torque"],
        "gauge_break_force": facts["break_torque"] + facts["peak_drag"],
        "gauge_letback_force": facts["letback_torque"] - facts["rest_drag"],
    }
    values |= {name: formulas["F5"](torque=torque, arm=arm) for name, torque in torques.items()}
    return Many(values, possible, impossible)


def letback_given(knife):
    """Whether the model is good enough for a let-back force: not off track with much friction (F2). One bool, or an array over the knives."""
    on_track = [np.abs(ball.recess.off_track) <= _OFF_TRACK_LIMIT for ball in knife.balls]
    return (np.asarray(knife.friction.rim) <= _OFF_TRACK_MU) | np.logical_and.reduce(np.broadcast_arrays(*on_track))


def relief_stress(knife, moment):
    """Bending stress in the relief of the first bar at a bar moment [MPa] (S3); None without the drawn sizes."""
    bar, arm = knife.bar, knife.balls[0].hinge_distance
    if any(size is None for size in (bar.relief_thickness, bar.relief_length, bar.width)):
        return None
    return formulas["S3"](load=moment / arm, hinge_distance=arm, relief_length=bar.relief_length, width=bar.width, relief_thickness=bar.relief_thickness)


def _facts(detent):
    """The numbers of Feel as arrays over the knives (one or many), angles in rad; and the State on the opening grid."""
    knife = detent.knife
    theta, last = limits.opening_grid(knife)
    at = detent.state(theta)
    rest = search.rest(detent, theta, at)
    changes = list(search.steps(detent, theta, at))
    peak, torque = search.peak(detent, theta, at, changes)
    draw_in = search.draw_in(detent, theta, at, rest, changes)
    resting, riding, peaking = (detent.state(angle) for angle in (rest + JUST_AFTER * (rest > 0), last + JUST_AFTER, peak))
    facts = {
        "break_torque": torque,
        "peak": peak,
        "letback_torque": detent.torque(resting, -1),
        "rest": rest,
        "rest_drag": carry.pivot_drag(knife, resting),
        "peak_drag": carry.pivot_drag(knife, peaking),
        "barrier": riding.energy - resting.energy,
        "draw_in": draw_in,
        "break_out": last,
        "snap_ratio": formulas["F9"](peak=torque, drag=detent.torque(riding, 1)),
        "rest_load": sum(resting.loads) + sum(resting.face_loads),
        "ride_load": sum(riding.loads) + sum(riding.face_loads),
        "rest_moment": resting.moments[0],
        "ride_moment": riding.moments[0],
        "rest_carrier": resting.carriers[0],
    }
    return {name: np.broadcast_to(value, last.shape)[:, 0] for name, value in facts.items()}, at


def _work(detent, rest, break_out, kinks):
    """Work of the hand from rest to the flat [mJ]: Gauss sums between the kinks, where the torque is smooth."""
    edges = np.unique(np.clip([rest, *kinks, break_out], rest, break_out))
    low, high = edges[:-1, None], edges[1:, None]
    points, weights = _PANEL
    theta = (low + high) / 2 + (high - low) / 2 * points
    return float(np.sum(detent.torque(detent.state(theta), 1) * weights * (high - low) / 2))


def _handovers(detent, kinks):
    """The handovers on opening: from one ball alone to another alone, with the stretch in between where both share."""
    found = []
    for mine in kinks:
        alone, since = None, None
        for kink in mine:
            if len(kink.before) == 1:
                alone, since = kink.before[0], kink.angle
            if len(kink.after) == 1 and alone is not None and kink.after[0] != alone:
                ends = np.array([since - JUST_AFTER, kink.angle + JUST_AFTER])
                torques = detent.torque(detent.state(ends), 1)
                found.append(Handover(float(np.degrees(ends.mean())), alone, kink.after[0], float(torques[0]), float(torques[1])))
    return tuple(sorted(found))
