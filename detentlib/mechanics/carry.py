"""Who carries: the envelope of the lift demands (C1, rigid bar) or the elastic share (C4), for any balls and two bars."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from . import bar as bars
from .formulas import formulas
from .lift import FLAT, FLOOR, deeper, lift, run_off
from .share import share

FACE = -1
_GIVE_ROUNDS, _GIVE_CLOSE = 200, 1e-10


class State(NamedTuple):
    """All balls at given blade angles. Lists hold one array per ball, each broadcast over angles (and knives).

    lifts, loads [N], clearances [mm]; carriers and moments hold one array per bar: the index of the ball with the
    greatest load or FACE, and the moment [N·mm]; face_loads [N] the force where the bar face lies on the tang;
    gap [mm] at ball 1; energy [mJ] stored in bar, give and squash; unsettled: true where the sideways give would push a
    ball on to the floor of its recess, which is not modelled.
    """

    lifts: list
    loads: list
    clearances: list
    carriers: list
    moments: list
    face_loads: list
    gap: np.ndarray
    energy: np.ndarray
    unsettled: np.ndarray


class _OneBar(NamedTuple):
    """What one bar adds to a State; lists follow its own balls."""

    lifts: list
    loads: list
    clearances: list
    carrier: np.ndarray
    moment: np.ndarray
    face_load: np.ndarray
    gap: np.ndarray
    energy: np.ndarray
    unsettled: np.ndarray


@dataclass(frozen=True)
class Detent:
    """A knife with the way its bar is taken: rigid (the largest demand carries all) or elastic (balls can share)."""

    knife: object
    elastic: bool = False

    def state(self, theta):
        """State at blade angles theta [rad]."""
        return state(self.knife, theta, self.elastic)

    def torque(self, at, sense):
        """Torque of the detent alone [N·mm]; see `torque`."""
        return torque(self.knife, at, sense)

    def take(self, rows):
        """The knives with the given indexes out of many in one."""
        return replace(self, knife=self.knife.take(rows))


def bars_of(knife):
    """The (bar, indexes of its balls) of a knife."""
    every = [(0, knife.bar), (1, knife.second_bar)]
    return [(bar, [i for i, ball in enumerate(knife.balls) if ball.bar == which]) for which, bar in every if bar is not None]


def state(knife, theta, elastic=False):
    """State of a knife at blade angles theta [rad]; L2 to L6, B4 to B7, C1 (rigid) or C4 (elastic).

    The numbers of the knife may be arrays of shape (m, 1) with theta of shape (n,) or (m, n). Rigid: the ball with
    the largest demand in bar angle carries all; with sideways give each demand is the one that the ball has when it
    carries alone. Elastic: bar, sideways give and squash (where a ball has a contact modulus) settle together.
    """
    solve = _elastic if elastic else _rigid
    count = len(knife.balls)
    lifts, loads, clearances = [None] * count, [None] * count, [None] * count
    each = []
    for bar, members in bars_of(knife):
        one = solve([knife.balls[i] for i in members], bar, members, theta, knife)
        for i, lifted, load, clear in zip(members, one.lifts, one.loads, one.clearances, strict=True):
            lifts[i], loads[i], clearances[i] = lifted, load, clear
        each.append(one)
    return State(
        lifts,
        loads,
        clearances,
        [one.carrier for one in each],
        [one.moment for one in each],
        [one.face_load for one in each],
        each[0].gap,
        sum(one.energy for one in each),
        np.any(np.broadcast_arrays(*(one.unsettled for one in each)), axis=0),
    )


def torque(knife, at, sense):
    """Torque of the detent alone [N·mm], + resists opening. sense: +1 opening, −1 letting back, 0 no friction (F1, F2, F4)."""
    total = 0.0
    for ball, lifted, load in zip(knife.balls, at.lifts, at.loads, strict=True):
        if sense == 0:
            total = total + lifted.pushed * formulas["F1"](load=load, track_radius=ball.track_radius, phi=lifted.phi, cos_chi=lifted.cos_chi)
            continue
        smooth = (lifted.touch == FLAT) | (lifted.touch == FLOOR)
        mu = sense * np.where(smooth, knife.friction.on_flat, knife.friction.rim)
        total = total + lifted.pushed * load * ball.track_radius * formulas["F2"](phi=lifted.phi, mu=mu, cos_chi=lifted.cos_chi)
    for (_, members), load in zip(bars_of(knife), at.face_loads, strict=True):
        total = total + formulas["F4"](load=load, track_radius=knife.balls[members[0]].track_radius, mu=sense * knife.friction.on_flat)
    return total


def pivot_drag(knife, at):
    """Drag of the pivot [N·mm]: as measured with the bar lifted off, and what the bar's load adds (F8)."""
    friction, total = knife.friction, knife.friction.pivot_torque
    if not (_given(friction.washer) or _given(friction.pin)):
        return total
    for lifted, load in zip(at.lifts, at.loads, strict=True):
        total = total + formulas["F8"](
            load=load, phi=lifted.phi, washer=friction.washer, washer_radius=friction.washer_radius, pin=friction.pin, pin_radius=friction.pin_radius
        )
    return total


def _rigid(balls, bar, members, theta, knife):
    """One rigid bar: the envelope of the demands in bar angle (C1)."""
    spring = bars.spring(bar, balls[0])
    lifts, demands, unsettled = zip(*(_alone(knife, i, bar, spring, theta) for i in members), strict=True)
    # the face can land beside the first ball, where the gap is zero
    face = formulas["B4"](gap=0.0, parallel_gap=spring.parallel_gap, hinge_distance=spring.arm)
    psi, carrier = np.maximum(demands[0], face), np.where(demands[0] >= face, members[0], FACE)
    for i, demand in zip(members[1:], demands[1:], strict=True):
        carrier = np.where(demand > psi, i, carrier)
        psi = np.maximum(psi, demand)
    moment = bars.moment(spring, psi)
    loads, clearances = [], []
    for i, ball, lifted, demand in zip(members, balls, lifts, demands, strict=True):
        carried = carrier == i
        loads.append(np.where(carried, _load(bar, ball, moment, lifted.phi), 0.0))
        clearances.append(np.where(carried, 0.0, formulas["C1"](psi=psi, psi_ball=demand, hinge_distance=ball.hinge_distance)))
    energy = formulas["E1"](moment=moment, kappa=spring.kappa) + _side_energy(bar, balls, lifts, loads)
    face_load = np.where(carrier == FACE, moment / spring.arm, 0.0)
    return _OneBar(lifts, loads, clearances, carrier, moment, face_load, spring.parallel_gap + psi * spring.arm, energy, sum(unsettled) > 0)


def _elastic(balls, bar, members, theta, knife):
    """One elastic bar: loads that neither pull nor let a ball cut in (C4)."""
    spring, compliance = bars.spring(bar, balls[0]), bars.compliance(bar, balls)
    shifts, loads = [0.0] * len(balls), [0.0] * len(balls)
    for _ in range(_GIVE_ROUNDS):
        lifts = [_lifted(knife, i, theta, shift) for i, shift in zip(members, shifts, strict=True)]
        leans = [1 / _load(bar, ball, ball.hinge_distance, lifted.phi) for ball, lifted in zip(balls, lifts, strict=True)]
        squash = _squash(balls, lifts)
        free = _free_gaps(balls, spring)
        # the give of a ball under load counts as compliance at that ball, or the rounds would not settle where two share
        soften = [_give(bar, ball, np.tan(lifted.phi), lifted.phi) for ball, lifted in zip(balls, lifts, strict=True)]
        # the face can land beside the first ball, where the gap is zero
        demands = [np.maximum(lifts[0].demand, 0.0), *(lifted.demand for lifted in lifts[1:])]
        wanted = _stack([demand - gap + soft * load for demand, gap, soft, load in zip(demands, free, soften, loads, strict=True)])
        shape, n = wanted.shape[:-1], len(balls)
        stiff = np.broadcast_to(compliance, (*shape, n, n)).reshape(-1, n, n)
        matrix = stiff + np.eye(n) * (_stack(soften) / _stack(leans) * np.ones(wanted.shape)).reshape(-1, 1, n)
        # a leaning ball bends the bar by its load times the lean, so that product is what is shared
        soft = None if squash is None else _stack(squash) / np.cbrt(_stack(leans)) ** 2
        flat = share(matrix, wanted.reshape(-1, n), None if soft is None else np.broadcast_to(soft, wanted.shape).reshape(-1, n))
        bent = np.einsum("cij,cj->ci", stiff, flat).reshape(wanted.shape)
        pressed = flat.reshape(wanted.shape)
        loads = [pressed[..., k] / leans[k] for k in range(n)]
        given = [_give(bar, ball, load, lifted.phi) for ball, load, lifted in zip(balls, loads, lifts, strict=True)]
        off = np.max(_stack([np.abs(new - old) for new, old in zip(given, shifts, strict=True)]), axis=-1)
        shifts = given
        if not _given(bar.side_compliance) or np.max(off) < _GIVE_CLOSE:
            unsettled = np.zeros(np.shape(off), bool)
            break
    else:
        unsettled = off >= _GIVE_CLOSE
    on_face = lifts[0].demand < 0
    face_load = np.where(on_face, loads[0], 0.0)
    loads[0] = np.where(on_face, 0.0, loads[0])
    gaps = [gap + bent[..., k] for k, gap in enumerate(free)]
    squeezed = [0.0] * n if squash is None else [k * np.cbrt(load) ** 2 for k, load in zip(squash, loads, strict=True)]
    clearances = [np.where(load > 0, 0.0, gap - lifted.demand) for load, gap, lifted in zip(loads, gaps, lifts, strict=True)]
    greatest = np.argmax(_stack(loads), axis=-1)
    carrier = np.where(face_load > np.max(_stack(loads), axis=-1), FACE, np.asarray(members)[greatest])
    moment = sum(pressed[..., k] * ball.hinge_distance for k, ball in enumerate(balls))
    # a squash that grows with the two-thirds power of its load stores two fifths of load times squash
    energy = (pressed * bent).sum(axis=-1) / 2 + sum(0.4 * load * squeeze for load, squeeze in zip(loads, squeezed, strict=True))
    return _OneBar(lifts, loads, clearances, carrier, moment, face_load, gaps[0], energy + _side_energy(bar, balls, lifts, loads), unsettled)


def _stack(arrays):
    return np.stack(np.broadcast_arrays(*arrays), axis=-1)


def _free_gaps(balls, spring):
    """Gap at each ball when the bar is free [mm], from ball 1 riding the flat with the riding force (B5)."""
    first = balls[0]
    squash = 0.0 if first.contact_modulus is None else _per_load(first, 0.0) * np.cbrt(spring.riding_force) ** 2
    psi_free = spring.psi_ride - (spring.riding_force * spring.arm) / spring.kappa - squash / spring.arm
    return [spring.parallel_gap + psi_free * ball.hinge_distance for ball in balls]


def crossing_deg(knife, i, j):
    """Blade angle at which ball i stands over the middle of recess j [deg] (L8)."""
    other = knife.balls[j]
    ahead = np.degrees(np.arcsin(other.recess.rest_offset / (other.track_radius + other.recess.off_track)))
    return bearing(knife, i) - bearing(knife, j) - ahead


def _squash(balls, lifts):
    """Squash of each ball along the lift per load to the two thirds, None where no ball has a contact modulus."""
    if all(ball.contact_modulus is None for ball in balls):
        return None
    return [0.0 * lifted.phi if ball.contact_modulus is None else _per_load(ball, lifted.phi) for ball, lifted in zip(balls, lifts, strict=True)]


def _per_load(ball, phi):
    """S1 seen along the lift at 1 N: the rim presses square to the ball with 1/cos φ, and sinks in by 1/cos φ more along the lift."""
    return formulas["S1"](load=1 / np.cos(phi), ball_radius=ball.radius, modulus=ball.contact_modulus).squash / np.cos(phi)


def _lifted(knife, i, theta, shift=0.0):
    """Lift of a ball: the least demand over its own recess, all others that it can cross (L8) and the tang edge (L7)."""
    ball = knife.balls[i]
    least = lift(ball, theta, shift)
    for j, other in enumerate(knife.balls):
        if j != i and crosses(knife, i, j):
            place = formulas["L8"](
                theta=theta,
                bearing_ball=np.radians(bearing(knife, i)),
                bearing_other=np.radians(bearing(knife, j)),
                track_radius=ball.track_radius,
                track_radius_other=other.track_radius,
                off_track=other.recess.off_track,
            )
            least = deeper(least, lift(ball, place.theta, recess=other.recess, off_track=place.off_track))
    edge = run_off(ball, theta)
    return least if edge is None else deeper(least, edge)


def bearing(knife, i):
    """Bearing of a ball from ball 1 [deg], None where it is not known."""
    return 0.0 if i == 0 and knife.balls[0].bearing_deg is None else knife.balls[i].bearing_deg


def crosses(knife, i, j):
    """True where ball i rides so near to the track of recess j that it can drop into it; needs both bearings."""
    if bearing(knife, i) is None or bearing(knife, j) is None:
        return False
    ball, other = knife.balls[i], knife.balls[j]
    apart = np.abs(other.track_radius + other.recess.off_track - ball.track_radius)
    return bool(np.any(apart < other.recess.rim_radius + other.recess.edge_radius))


def _alone(knife, i, bar, spring, theta):
    """Lift of a ball that carries alone and the bar angle that it demands, with its sideways give settled."""
    ball, shift, unsettled = knife.balls[i], 0.0, False
    for _ in range(_GIVE_ROUNDS):
        lifted = _lifted(knife, i, theta, shift)
        psi = formulas["B4"](gap=lifted.demand, parallel_gap=spring.parallel_gap, hinge_distance=ball.hinge_distance)
        if not _given(bar.side_compliance):
            break
        given = _give(bar, ball, _load(bar, ball, bars.moment(spring, psi), lifted.phi), lifted.phi)
        off, shift = np.abs(given - shift), given
        if np.max(off) < _GIVE_CLOSE:
            break
    else:
        unsettled = off >= _GIVE_CLOSE
    return lifted, psi, unsettled


def _give(bar, ball, load, phi):
    """Sideways give of a ball under its load (B6)."""
    return formulas["B6"](side_compliance=bar.side_compliance, load=load, phi=phi, beta=np.radians(ball.track_to_bar_deg))


def _side_energy(bar, balls, lifts, loads):
    """Energy stored by the sideways give (E1a)."""
    if not _given(bar.side_compliance):
        return 0.0
    return sum(
        lifted.pushed**2 * formulas["E1a"](side_compliance=bar.side_compliance, load=load, phi=lifted.phi, beta=np.radians(ball.track_to_bar_deg))
        for ball, lifted, load in zip(balls, lifts, loads, strict=True)
    )


def _load(bar, ball, moment, phi):
    """Force of a carrying ball along the lift (B7; without lean moment over arm)."""
    return formulas["B7"](moment=moment, hinge_distance=ball.hinge_distance, lean_height=bar.lean_height, phi=phi, beta=np.radians(ball.track_to_bar_deg))


def _given(number):
    """True where an option is switched on (any array counts)."""
    return np.ndim(number) > 0 or number != 0
