"""What the hand and the gauge feel: peak, hold, barrier, draw-in, handovers; for one knife or for many at once."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.given import given_count, given_knife, given_switch
from ..knife.parts import Knife
from ..knife.values import Values
from . import bar as bars
from . import carry, limits, notes, path, search
from .carry import JUST_AFTER
from .lift import middle_angle

NO_NUMBER = "comes to no number that a knife has"  # beside the limits of limits.py
HAIR = 1e-8  # rad: a stretch no longer than that is none, before the flat or where two overlap
_PANEL, _PANELS = np.polynomial.legendre.leggauss(12), 48
_OFF_TRACK_MU, _OFF_TRACK_LIMIT = 0.2, 0.01
_AS_THEY_ARE = ("break_torque", "barrier", "snap_ratio", "rest_load", "ride_load", "rest_carrier")
_ANGLES = ("break_out", "rest", "peak", "take_up", "draw_in")
LETBACK = ("letback_force", "gauge_letback_force")  # a knife gives them only where `letback_given` says so


class Handover(NamedTuple):
    """Where one ball hands the bar to another on opening: angle [deg], ball indexes, torque before and after [N·mm].

    Both carry from start_deg to end_deg, while the bar swings over sideways (B6), or within the sharing band of an
    elastic bar; the angle is the middle of that, the torques are those at its ends. A rigid bar that does not give
    sideways hands over at one angle.
    """

    angle_deg: float
    from_ball: int
    to_ball: int
    torque_before: float
    torque_after: float
    start_deg: float
    end_deg: float


@dataclass(frozen=True, repr=False)
class Feel:
    """What one knife feels like, in N, N·mm, mJ, mm and degrees. Signs: figures/signs.svg.

    Detent alone: break_torque, the greatest torque on opening from the stop up to and on the flat, at peak_deg (where
    drag on the flat is more than the climb out of the recess, that drag is it, past break_out_deg); break_force at the
    tab and stud_break_force; letback_force, the hardest pull at the tab against which the blade still returns
    (negative: it does not return by itself; None where it is not given, see flags). On the whole knife a gauge reads
    gauge_break_force and gauge_letback_force, with pivot drag added and taken off. barrier: elastic energy riding less
    at rest; work: of the hand over the opening, with friction. break_out_deg: all balls on the flat. take_up_deg: blade
    angle up to which the rim sticks: there it slips, or another ball joins. loaded_offset: how far each ball of the
    shut knife is short of concentric along its track [mm]: the rest offset less what the bar gives sideways.
    draw_in_deg: the largest angle
    from which the blade draws itself shut all the way; stall_pockets: stretches beyond it where it would draw in but
    then stalls. rest_deg, rest_carrier, rest_load: where and on which ball (−1 the bar face) it rests, and with what
    force; idle_clearance, contact_deg, rim_gap and seat_depth hold one number a ball, at rest. ride_load: force on the
    flat. rate: of the bar at ball 1. relief_stress_rest and relief_stress_ride [MPa]: upward bending at rest and on
    the flat; relief_stress_side: what the push of the rim adds at one edge of the relief as it is about to slip, or
    at the peak where that is more (S3a); None without drawn sizes. snap_ratio: see F9. flags, left_out, assumed: what
    to know beside the numbers.
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
    take_up_deg: float
    loaded_offset: tuple
    contact_deg: tuple
    rim_gap: tuple
    seat_depth: tuple
    rest_load: float
    ride_load: float
    rate: float
    relief_stress_rest: float | None
    relief_stress_ride: float | None
    relief_stress_side: float | None
    flags: tuple = field(default=())
    assumed: tuple = field(default=())
    of: tuple = field(default=(), repr=False, compare=False)  # the knife, and whether its bar was taken as elastic

    @cached_property
    def left_out(self) -> tuple[str, ...]:
        """What these numbers do not contain, in lines with newtons (see notes.left_out); worked out when it is asked
        for.
        """
        return notes.left_out(*self.of)

    def __repr__(self):
        """Short and stable, for a notebook."""
        hold = "not given" if self.letback_force is None else f"{self.letback_force:.2f} N"
        return f"<Feel: break force {self.break_force:.2f} N, let-back {hold}, barrier {self.barrier:.2f} mJ>"


def feel(knife: Knife, elastic: bool = False) -> Feel:
    """What one Knife feels like. Raises KnifeError for a knife that cannot work.

    elastic: let bar, sideways give and squash settle together, so that balls can share (C4); otherwise the bar is rigid
    and the ball with the largest demand carries all (C1). Squash moves no contact angle: it leaves work and barrier 0.3
    to 0.6 % apart.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar = LockBar(17.04, rate=10.298, side_compliance=0)
    >>> feel(Knife("A", [ball], bar, Blade(14.0), Friction(0.12, pivot_torque=3.0)))
    <Feel: break force 12.04 N, let-back 7.39 N, barrier 4.29 mJ>
    """
    return felt(limits.working(knife, elastic), knife)


def felt(detent: carry.Detent, knife: Knife) -> Feel:
    """The Feel of a Knife by its Detent, as `limits.working` gives it: to ask the same knife more than once."""
    with np.errstate(over="ignore", invalid="ignore"):
        facts = _facts(detent)
        facts["draw_in"] = _drawn_in(detent, facts["rest"])
        one = {name: value[0].item() for name, value in facts.items()}
    limits.finite(knife, one)
    rest, break_out = one["rest"], one["break_out"]
    at = detent.at_rest(np.array([rest]))
    opened = detent.state(np.array([rest, at_the_peak(detent, one["peak"]), one["take_up"], break_out + JUST_AFTER]))
    handovers, work, pockets = _on_the_way(detent, one)
    numbers = {name: value.item() for name, value in _numbers(facts, knife.blade).items()}
    if not letback_given(knife):
        numbers |= dict.fromkeys(LETBACK)
    stud = knife.blade.stud_arm
    result = Feel(
        **numbers,
        stud_break_force=None if stud is None else formulas["F5"](torque=one["break_torque"], arm=stud),
        work=work,
        stall_pockets=pockets,
        handovers=handovers,
        idle_clearance=tuple(float(np.ravel(clear)[0]) for clear in at.clearances),
        loaded_offset=loaded_offset(detent),
        contact_deg=tuple(float(np.degrees(np.ravel(lifted.phi)[0])) for lifted in at.lifts),
        rim_gap=tuple(float(np.ravel(lifted.rim_gap)[0]) for lifted in at.lifts),
        seat_depth=tuple(float(np.ravel(lifted.sink)[0]) for lifted in at.lifts),
        rate=float(bars.rate(knife.bar, knife.balls[0])),
        **_stresses(knife, at, opened),
        assumed=knife.assumed,
        of=(knife, detent.elastic),
    )
    return replace(result, flags=notes.flags(detent, result, opened))


def at_the_peak(detent: carry.Detent, peak: float) -> float:
    """Blade angle [rad] on that side of the peak of one opening knife where the torque is greater: where a handover or
    a bar that springs makes the peak, another ball carries on the other side.
    """
    sides = np.maximum(peak + JUST_AFTER * np.array([-1.0, 1.0]), 0.0)
    return float(sides[np.argmax(detent.state(sides).torque)])


class Numbers(Mapping):
    """Numbers by name, as they are known, and some that are worked out when they are first read.

    >>> found = Numbers({"one": 1}, {"two": lambda: 2})
    >>> list(found), found["two"], (found | {"three": 3})["three"]
    (['one', 'two'], 2, 3)
    """

    def __init__(self, known: Mapping[str, Any], later: Mapping[str, Callable[[], Any]]) -> None:
        """known: {name: value}; later: {name: function without arguments that gives it}."""
        self._known, self._later = dict(known), later

    def __getitem__(self, name: str) -> Any:
        """The number of this name; KeyError where there is none."""
        if name not in self._known and name in self._later:
            self._known[name] = self._later[name]()
        return self._known[name]

    def __iter__(self) -> Iterator[str]:
        """Names."""
        return iter(dict.fromkeys((*self._known, *self._later)))

    def __len__(self) -> int:
        """How many there are."""
        return len({*self._known, *self._later})

    def __or__(self, more: Mapping[str, Any]) -> "Numbers":
        """These numbers and more known ones."""
        return Numbers(self._known | more, self._later)


class Many(NamedTuple):
    """Feel of m knives: {name: array [m]} for `values`, and which of them can work at all.

    values: break_torque, break_force, letback_force, gauge_break_force, gauge_letback_force, barrier,
    break_out_deg, rest_deg, snap_ratio, peak_deg, take_up_deg, rest_load, ride_load; rest_carrier as int; and
    draw_in_deg, which takes half as long again, so it is worked out when it is first read. possible:
    bool [m]; impossible: {name of the limit: how many knives break it}. Values of impossible knives mean nothing.
    """

    values: Numbers
    possible: np.ndarray
    impossible: dict


@np.errstate(all="ignore")  # of impossible knives the numbers mean nothing
def feel_many(knife: Knife, elastic: bool = False, chunk: int = 2048) -> Many:
    """Feel of many knives at once: a Knife from `with_arrays`, arrays of shape (m, 1).

    Impossible knives are counted and named, never raised and never dropped. Memory is bounded by `chunk` knives.
    """
    given_knife(knife, many=True)
    given_switch("elastic", elastic, "whether balls can share")
    chunk = given_count("chunk", chunk, "how many knives are taken at once")
    count = max(np.size(knife.get(path)) for path in knife.paths())
    return feel_all(detent_of_many(knife, count, elastic), chunk)


def detent_of_many(knife: Knife, count: int, elastic: bool = False) -> carry.Detent:
    """The Detent of many knives in one, for `feel_all`."""
    # the searches keep a row of angles a knife, also where the knives differ in nothing that moves those angles
    rows = np.broadcast_to(knife.balls[0].track_radius, (count, 1))
    return carry.Detent(knife.with_arrays({"balls[0].track_radius": rows}), elastic)


@np.errstate(all="ignore")  # of impossible knives the numbers mean nothing
def feel_all(detent: carry.Detent, chunk: int) -> Many:
    """Feel of many knives as `feel_many` does; up to a chunk of them share what the Detent has worked out already."""
    count = detent.count
    chunks = [np.arange(start, min(start + chunk, count)) for start in range(0, count, chunk)]
    parts, possible, impossible = [], np.ones(count, bool), {}

    def taken(rows):
        return detent if rows.size == count else detent.take(rows)

    for rows in chunks:
        part = taken(rows)
        facts = _facts(part)
        no_number = ~np.all(np.abs(list(facts.values())) <= limits.LARGEST, axis=0)
        broken = [(limit.name, limit.broken) for limit in limits.find(part)]
        for name, which in [*broken, *([(NO_NUMBER, no_number)] if no_number.any() else [])]:
            possible[rows] &= ~which
            impossible[name] = impossible.get(name, 0) + int(which.sum())
        parts.append(facts)
    facts = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}

    @np.errstate(all="ignore")
    def draw_in_deg():
        return np.degrees(np.concatenate([_drawn_in(taken(rows), facts["rest"][rows]) for rows in chunks]))

    return Many(Numbers(_numbers(facts, detent.knife.blade), {"draw_in_deg": draw_in_deg}), possible, impossible)


def _numbers(facts, blade):
    """The numbers of Feel that hold for one knife or many, as arrays: forces at the tab, angles in degrees."""
    torques = {
        "break_force": facts["break_torque"],
        "letback_force": facts["letback_torque"],
        "gauge_break_force": facts["break_torque"] + facts["peak_drag"],
        "gauge_letback_force": facts["letback_torque"] - facts["rest_drag"],
    }
    arm = np.reshape(blade.tab_arm, -1)
    return (
        {name: facts[name] for name in _AS_THEY_ARE}
        | {f"{name}_deg": np.degrees(facts[name]) for name in _ANGLES if name in facts}
        | {name: formulas["F5"](torque=torque, arm=arm) for name, torque in torques.items()}
    )


def loaded_offset(detent: carry.Detent) -> tuple[Values, ...]:
    """How far each ball of a shut knife is short of concentric, along its track [mm]; arrays (m, 1) for many knives."""
    found = {}
    for leaf, shut in zip(detent.leaves, detent.shut, strict=True):
        rests = leaf.balls.recess.rest_offset + shut * leaf.balls.track_radius
        found |= dict(zip(leaf.members, np.reshape(rests, (len(leaf.members), -1, 1)), strict=True))
    return tuple(found[i] if detent.many else found[i].item() for i in range(len(found)))


def stalls(detent: carry.Detent, draw_in: np.ndarray) -> np.ndarray:
    """Whether a closing blade, beyond its draw-in angle [rad], pulls shut for a while and then stalls (see
    `stall_pockets`); bool (m,).
    """
    if _plain(detent):
        way = path.path(detent, -1)
        theta, pull = way.theta, way.pull
    else:
        theta = draw_in + 2 * JUST_AFTER + (detent.break_out - draw_in) * np.linspace(0.0, 1.0, limits.GRID)
        pull = search.pull(detent, detent.state(theta, -1))
        pull[:, 0] = 0.0  # at the draw-in angle itself, from which on it may pull again at once
    beyond = np.isfinite(theta) & (theta > draw_in + JUST_AFTER)
    pulls, slack = beyond & (pull > 0), beyond & (pull <= 0)
    begins = np.logical_or.accumulate(slack[:, :-1] & pulls[:, 1:], axis=-1)
    return np.any(begins & pulls[:, :-1] & slack[:, 1:], axis=-1)


def letback_given(knife: Knife) -> np.bool_ | np.ndarray:
    """Whether the model is good enough for a let-back force: not off track with much friction (F2). One bool, or an
    array over the knives.
    """
    on_track = [np.abs(ball.recess.off_track) <= _OFF_TRACK_LIMIT for ball in knife.balls]
    return (np.asarray(knife.friction.rim) <= _OFF_TRACK_MU) | np.logical_and.reduce(np.broadcast_arrays(*on_track))


def relief_stress(knife: Knife, at: carry.State) -> tuple[Values | None, Values | None]:
    """Stress in the relief of the first bar in a State [MPa]: from upward bending (S3), and what the push along the
    tang adds at one edge (S3a).

    Each ball by its own arm, a bar face that lies on the tang by that of ball 1. (None, None) without the drawn sizes.
    """
    sizes = {name: getattr(knife.bar, name) for name in ("relief_thickness", "relief_length", "width")}
    if any(size is None for size in sizes.values()):
        return None, None
    mine = [
        (ball, load, push) for ball, load, push in zip(knife.balls, at.loads, at.pushes, strict=True) if ball.bar == 0
    ]
    face = formulas["S3"](load=at.face_loads[0], hinge_distance=mine[0][0].hinge_distance, **sizes)
    up = sum(
        (formulas["S3"](load=load, hinge_distance=ball.hinge_distance, **sizes) for ball, load, _ in mine), start=face
    )
    return up, np.abs(
        sum(formulas["S3a"](side_push=push, hinge_distance=ball.hinge_distance, **sizes) for ball, _, push in mine)
    )


def _facts(detent):
    """The numbers of Feel as arrays over the knives (one or many), angles in rad; all but the draw-in angle."""
    knife, last = detent.knife, detent.break_out
    rest = search.rest(detent, detent.opening(limits.GRID))
    resting, riding, free = detent.at_rest(rest), detent.riding, detent.state(last + JUST_AFTER, 0)
    facts = (peak_by_curve if _plain(detent) else _peak_by_angle)(detent) | {
        "letback_torque": resting.torque,
        "rest": rest,
        "rest_drag": carry.pivot_drag(knife, resting),
        "barrier": free.energy - resting.energy,
        "break_out": last,
        "rest_load": sum(resting.loads) + sum(resting.face_loads),
        "ride_load": sum(riding.loads) + sum(riding.face_loads),
        "rest_carrier": _greatest(resting),
    }
    facts["snap_ratio"] = formulas["F9"](peak=facts["break_torque"], drag=riding.torque)
    return {name: np.broadcast_to(value, last.shape)[:, 0] for name, value in facts.items()}


def _greatest(at):
    """Index of the ball that carries most in a State, FACE where a bar's face carries more than any ball."""
    loads = np.stack(np.broadcast_arrays(*at.loads, np.maximum.reduce(at.face_loads)))
    most = np.argmax(loads, axis=0)
    return np.where(most < len(at.loads), most, carry.FACE)


def _drawn_in(detent, rest):
    """Draw-in angle of each knife [rad], array [m] as `rest`: where the blade does not even pull home from there, it
    is that.
    """
    rest = rest[:, None]
    resting = detent.at_rest(rest)
    found = (
        path.draw_in(detent, path.path(detent, -1), rest)
        if _plain(detent)
        else search.draw_in(detent, detent.opening(limits.GRID), rest)
    )
    return np.where(resting.torque > carry.pivot_drag(detent.knife, resting), found, rest)[:, 0]


def _stresses(knife, resting, opened):
    """The stresses of Feel from States: at rest, and opened to the peak, to where the rim is about to slip and to where
    all ride the flat.
    """
    (at_rest, _), (up, side) = relief_stress(knife, resting), relief_stress(knife, opened)
    if up is None:
        return {"relief_stress_rest": None, "relief_stress_ride": None, "relief_stress_side": None}
    return {
        "relief_stress_rest": at_rest[0].item(),
        "relief_stress_ride": up[-1].item(),
        "relief_stress_side": side[1:3].max().item(),
    }


def _plain(detent):
    """True for one rigid bar, whose curves need no balance to be solved."""
    return len(detent.leaves) == 1 and not detent.elastic


def peak_by_curve(detent: carry.Detent) -> dict[str, np.ndarray]:
    """The peak from the curves of one rigid bar, or where the rim that sticks lets go: the push jumps where another
    ball joins there, and what a curve has before one ball alone lets go is passed over.
    """
    friction, (take_up, joins) = detent.knife.friction, search.take_up(detent)
    angle, torque, load, phi = path.peak(path.path(detent))
    drag = np.broadcast_to(friction.pivot_torque + carry.load_drag(friction, load, phi), angle.shape).copy()
    one_alone = np.count_nonzero(detent.resting[0].loads, axis=0) == 1
    passed_over = one_alone & (angle < take_up - JUST_AFTER)
    rows = np.flatnonzero(joins | passed_over)
    if rows.size:
        some, just_after = detent.take(rows) if detent.many else detent, take_up[rows] + JUST_AFTER
        at = some.state(just_after)
        counts = (passed_over[rows] | (at.torque > torque[rows]))[:, 0]
        there = just_after, at.torque, carry.pivot_drag(some.knife, at)
        for known, new in zip((angle, torque, drag), there, strict=True):
            known[rows[counts]] = np.broadcast_to(new, just_after.shape)[counts]
    return {"break_torque": torque, "peak": angle, "peak_drag": drag, "take_up": take_up}


def _peak_by_angle(detent):
    """The peak searched over the blade angle: balls that share, or two bars."""
    theta, last = detent.opening(limits.GRID), detent.break_out
    at, (take_up, _) = detent.state(theta), search.take_up(detent)
    turns = [take_up, *detent.leaving, *(middle_angle(ball) for ball in detent.knife.balls)]
    known = np.concatenate([np.minimum(turn, last) for turn in turns], axis=-1)
    angle, torque = search.peak(detent, theta, at, known)
    drag = carry.pivot_drag(detent.knife, detent.state(angle))
    return {"break_torque": torque, "peak": angle, "peak_drag": drag, "take_up": take_up}


def _on_the_way(detent, one):
    """Handovers, work of the hand [mJ] and stall pockets [deg] of one knife."""
    if _plain(detent):
        way = path.from_rest(detent, one["rest"])
        alone = [
            each
            for each in path.stretches(detent, way)
            if each.end > one["rest"] and each.start < one["break_out"] - HAIR
        ]
        handovers = _handed(detent, _sticking(detent, alone, one) + alone)
        return handovers, path.work(detent, way, one["rest"]), path.stall_pockets(detent, one["draw_in"])
    kinks = search.kinks(detent, detent.opening(search.FINE))
    bends = [one["take_up"], *(kink.angle for each in kinks for kink in each)]
    pockets = search.stall_pockets(detent, one["draw_in"], one["break_out"])
    return _handovers(detent, kinks), _work(detent, one["rest"], one["break_out"], bends), pockets


def _sticking(detent, alone, one):
    """The stretch in which the ball that carries at rest still sticks, where it hands over before it has slipped; a
    list of one or none.
    """
    if not alone:
        return []  # it sticks, or both carry, all the way
    rest, first, carrier = one["rest"], alone[0], one["rest_carrier"]
    if first.start <= rest or carrier in (first.carrier, carry.FACE):
        return []
    (kinks,) = search.kinks(detent, np.linspace(rest, first.start, limits.GRID)[None, :])
    ends = [kink.angle - JUST_AFTER for kink in kinks if kink.before == (carrier,)]
    return [path.Alone(carrier, rest, end, *map(float, detent.state(np.array([rest, end])).torque)) for end in ends[:1]]


def _handed(detent, alone):
    """The handovers between stretches in which one ball alone carries; at one angle where the bar springs over, so that
    the next stretch begins before this one ends.
    """
    pairs = [
        (one, after)
        for one, after in pairwise(alone)
        if one.carrier != after.carrier and carry.FACE not in (one.carrier, after.carrier)
    ]
    found = []
    for one, after in pairs:
        over = after.start < one.end - HAIR
        torque = float(detent.state(np.array([one.end + JUST_AFTER])).torque[0]) if over else after.torque_start
        end = max(one.end, after.start)
        found.append(_handover(one.end, end, one.carrier, after.carrier, one.torque_end, torque))
    return tuple(found)


def _handover(start, end, from_ball, to_ball, torque_before, torque_after):
    start, end = float(np.degrees(start)), float(np.degrees(end))
    return Handover((start + end) / 2, from_ball, to_ball, float(torque_before), float(torque_after), start, end)


def _work(detent, rest, break_out, kinks):
    """Work of the hand from rest to the flat [mJ]: Gauss sums between the kinks, where the torque is smooth, if
    steep at times.
    """
    edges = np.unique(np.clip([*np.linspace(rest, break_out, _PANELS + 1), *kinks], rest, break_out))
    low, high = edges[:-1, None], edges[1:, None]
    points, weights = _PANEL
    theta = (low + high) / 2 + (high - low) / 2 * points
    return float(np.sum(detent.state(theta.ravel()).torque.reshape(theta.shape) * weights * (high - low) / 2))


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
                found.append(_handover(*ends, alone, kink.after[0], *detent.state(ends).torque))
    return tuple(sorted(found))
