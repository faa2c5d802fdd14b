"""One lock bar with its balls as arrays: where it stands at a blade angle, turned up and sideways as one body."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Ball, Friction, Knife, LockBar, Recess
from ..knife.paths import swap
from ..knife.values import Values
from . import bar as bars
from .lift import CHAMFER, EDGE, RIM, ROUND, Lift, deeper, flat_angle, friction_at, lift, push_ratio, run_off
from .roots import closed_in
from .share import bent as bent_by
from .share import share

FACE = -1
_CLOSE = 1e-14  # rad of sideways turn, far below an atom at the ball
_BESIDE = 1e-14  # rad of sideways turn, beside a jump
_ATOM = 1e-16  # rad of sideways turn, to which a jump is closed in
_STILL = 1e-9
_MANY = 8  # secants after the first


class Pressed(NamedTuple):
    """One bar at given blade angles (m, n): how it stands and what its balls carry (balls first: (b, m, n)).

    off: sideways turn less the one that the pushes ask for [rad], zero in balance; omega: sideways turn; psi: bar
    angle; moment [N·mm]; loads along the lift and pushes along the track, + against opening [N]; face_load and
    face_push where the bar face lies on the tang; clearances [mm]; energy stored in it [mJ].
    """

    off: np.ndarray
    omega: np.ndarray
    psi: np.ndarray
    moment: np.ndarray
    lifts: Lift
    loads: np.ndarray
    pushes: np.ndarray
    face_load: np.ndarray
    face_push: np.ndarray
    clearances: np.ndarray
    energy: np.ndarray


class Bent(NamedTuple):
    """How a bar is bent upwards: bar angle, moment, loads (b, m, n), load on the face, clearances, energy of bend
    and squash.
    """

    psi: np.ndarray
    moment: np.ndarray
    loads: np.ndarray
    face_load: np.ndarray
    clearances: np.ndarray
    energy: np.ndarray


@dataclass(frozen=True)
class Leaf:
    """A bar and its balls as arrays (b, m, 1), b balls of m knives; shares: elastic, so that balls can share (C4).

    tilt: sideways turn per moment [rad/(N·mm)], 0 for a bar that is stiff sideways (B6b). levers: how far each ball is
    taken round the pivot per sideways turn. crossings: (row, geometry) of recesses of other balls that a ball crosses.
    """

    bar: LockBar
    members: tuple
    parts: tuple
    balls: Ball
    friction: Friction
    crossings: tuple
    elastic: bool

    @cached_property
    def spring(self) -> bars.Spring:
        """The bar as a spring, referred to its first ball (B4, B4a, B5)."""
        return bars.spring(self.bar, self.parts[0])

    @cached_property
    def across(self) -> np.ndarray:
        """Arm of each ball's push about the relief, sideways [mm]."""
        return self.balls.hinge_distance * np.abs(np.sin(np.radians(self.balls.track_to_bar_deg)))

    @cached_property
    def levers(self) -> np.ndarray:
        """Turn of each ball round the pivot per sideways turn of the bar."""
        return self.across / self.balls.track_radius

    @cached_property
    def tilt(self) -> Values:
        """Sideways turn per sideways moment [rad/(N·mm)] (B6b)."""
        # the inverse of B6b, which has no number for a stiff bar
        return bars.side_compliance(self.bar, self.parts[0]) / np.square(self.parts[0].hinge_distance)

    @cached_property
    def gives(self) -> bool:
        """Whether any of the knives has a bar that gives sideways."""
        return bool(np.any(np.asarray(self.tilt) > 0))

    @property
    def furthest(self) -> np.ndarray:
        """An angle [rad] further than friction on the flat takes any ball."""
        most = np.maximum(self.friction.rim, self.friction.on_flat)
        return np.max(self.levers, axis=0) * self.tilt * self._greatest_moment * most * 1.01

    def take(self, rows: np.ndarray) -> "Leaf":
        """The knives with the given indexes out of many in one."""
        balls = swap(self.balls, {steps: value[:, rows] for steps, value in _arrays(self.balls) if value.shape[1] > 1})
        parts = tuple(swap(part, {steps: value[rows] for steps, value in _arrays(part)}) for part in self.parts)
        bar, friction = (
            swap(part, {steps: value[rows] for steps, value in _arrays(part)}) for part in (self.bar, self.friction)
        )
        crossings = tuple(crossing.take(rows) for crossing in self.crossings)
        return Leaf(bar, self.members, parts, balls, friction, crossings, self.elastic)

    def settled(self, theta: np.ndarray, sense: int, since: np.ndarray | None = None) -> Pressed:
        """Pressed at blade angles theta (m, n): sideways turn and pushes in balance (B6).

        sense: +1 opening, −1 closing, 0 without friction. since: relative angles (b, m, 1) at which the balls last
        turned back: up to there friction still points the other way, so that the contact remembers.
        """
        if not self.gives:
            return self.pressed(theta, np.zeros(theta.shape), sense, None)
        theta = np.broadcast_to(theta, np.broadcast_shapes(theta.shape, self._knives))
        # more rounds might land on a balance that the bar has not come to yet
        found, *so_far = self._secants(theta, sense, since, *self._unturned(theta, sense, since), 1)
        rows, columns = np.nonzero(np.abs(found.off) > _CLOSE)
        so_far = [each[rows, columns][:, None] for each in so_far]
        for way in (Leaf._known_jumps, Leaf._secants, Leaf._jumps):
            if not rows.size:
                break
            leaf = self.take(rows) if self.many else self
            past = since if since is None or since.shape[1] == 1 else since[:, rows]
            new, *so_far = way(leaf, theta[rows, columns][:, None], sense, past, *so_far)
            if new is None:
                continue
            found = _put_all(found, new, rows, columns)
            left = np.abs(new.off[:, 0]) > _CLOSE
            rows, columns, so_far = rows[left], columns[left], [each[left] for each in so_far]
        return found

    @cached_property
    def _knives(self):
        """Shape of whatever differs between the knives, (1, 1) or (m, 1) or ()."""
        every = (self.tilt, self._greatest_moment, self.friction.rim, self.friction.on_flat)
        return np.broadcast_shapes(self.flat.shape[1:], *(np.shape(each) for each in every))

    def _known_jumps(self, theta, sense, since, *so_far):
        """Pressed where the balance lies at a jump of the push whose place is known, None where it nowhere does, and
        how far the secants have come; theta (k, 1).

        These are where a rim that stuck begins to slip, and where a ball stands in the middle of its recess.
        """
        turns = [self.middle] if since is None else [self.middle, since]
        jumps = np.concatenate(
            [np.broadcast_to((theta - turn) / self._moved, (len(self.parts), *theta.shape)) for turn in turns]
        )[..., 0].T
        off = self.pressed(theta, np.concatenate([jumps - _BESIDE, jumps + _BESIDE], axis=-1), sense, since).off
        found = (off[:, : jumps.shape[1]] <= 0) & (off[:, jumps.shape[1] :] > 0)
        if not np.any(found):
            return None, *so_far
        jump = np.take_along_axis(jumps, np.argmax(found, axis=-1)[:, None], axis=-1)
        mixed = _mixed(*(self.pressed(theta, jump + side, sense, since) for side in (-_BESIDE, _BESIDE)))
        return mixed._replace(off=np.where(np.any(found, axis=-1, keepdims=True), 0.0, np.inf)), *so_far

    def _unturned(self, theta, sense, since):
        """What the secants begin with: turns between which the balance lies, the unturned bar and what is off there,
        and the turn that its pushes ask for: on the flat it is that.
        """
        (low, high), last = self._bounds(theta), np.zeros(theta.shape)
        off = self.pressed(theta, last, sense, since).off
        now = np.clip(-off, low, high)
        low, high = np.where(off <= 0, np.maximum(low, last), low), np.where(off > 0, np.minimum(high, last), high)
        return low, high, last, off, now

    def _secants(self, theta, sense, since, low, high, last, off, now, rounds=_MANY):
        """Pressed by secants kept between two turns, low and high: from the turn `last`, where so much is `off`, to the
        turn `now`, and on. And all five as they are then, to go on from.
        """
        for _ in range(rounds):
            found = self.pressed(theta, now, sense, since)
            new = found.off
            settled = np.abs(new) <= _CLOSE
            if np.all(settled):
                break
            with np.errstate(invalid="ignore", divide="ignore"):
                step = new * (now - last) / (new - off)
            ahead = now - np.where(np.isfinite(step), step, new)
            low, high = np.where(new <= 0, np.maximum(low, now), low), np.where(new > 0, np.minimum(high, now), high)
            ahead = np.where((ahead > low) & (ahead < high), ahead, (low + high) / 2)
            last, off, now = now, new, np.where(settled, now, ahead)
        return found, low, high, last, off, now

    @cached_property
    def middle(self) -> np.ndarray:
        """Relative angle at which each ball is nearest to the middle of its recess, of either sign."""
        return -np.arcsin(self.balls.recess.rest_offset / (self.balls.track_radius + self.balls.recess.off_track))

    @cached_property
    def _moved(self):
        """Levers, without end for a ball whose track runs along the bar, which a turn does not move."""
        return np.where(self.levers > _STILL, self.levers, np.inf)

    def _bounds(self, theta):
        """Sideways turns between which the balance lies, each (m, n): no push can take a ball past the middle of its
        recess.
        """
        balls = self.balls
        middle = np.max((theta - self.middle) / self._moved, axis=0)
        outline = (balls.recess.rim_radius + balls.recess.edge_radius) / balls.track_radius
        most = np.max(np.maximum(self.friction.rim, self.friction.on_flat)) * self._greatest_moment * self.tilt
        # knives that differ in nothing that moves an angle share theirs
        return np.broadcast_arrays(
            -np.max(outline / self._moved, axis=0) - most, np.maximum(middle, 0.0) + most + _CLOSE
        )

    @cached_property
    def _greatest_moment(self):
        return np.maximum(np.max(bars.moment(self.spring, self.asked(self.balls.protrusion)), axis=0), 0.0)

    def _jumps(self, theta, sense, since, low, high, *others):
        """Pressed where the balance lies in a jump: two states at one turn, in the shares that it asks for; theta (k,
        1).

        The push jumps where another ball takes the bar and where floor or face lets go: there both are true at once.
        """

        def off(omega):
            at = self.pressed(theta, omega, sense, since)
            if self.elastic:
                return at.off
            # how far the next is from taking over runs smoothly to nothing where it does
            idle = np.min(np.where(at.loads > 0, np.inf, at.clearances), axis=0)
            left = np.minimum(
                idle, np.where(at.face_load > 0, np.inf, self.spring.parallel_gap + at.psi * self.spring.arm)
            )
            return np.copysign(np.clip(left, np.finfo(float).tiny, 1.0), at.off)

        low, high = closed_in(off, low, high, off(low), off(high), _ATOM)
        before, after = (self.pressed(theta, side, sense, since) for side in (low, high))
        back = self.slides_back(_side(before.lifts, before.loads) + _side(after.lifts, after.loads))
        if sense and np.any(back):
            before, after = (self.pressed(theta, side, sense, since, back) for side in (low, high))
        return _mixed(before, after), low, high, *others

    def slides_back(self, side: np.ndarray) -> np.ndarray:
        """Which balls slide back in their recesses as the blade turns on, bool (b, m, n).

        side: where each carries, 1 short of the middle of its recess, −1 past it, 0 on no rim or not at all. Balls that
        carry together stay on their rims as the bar goes along sideways. Held between two rims, one short of the middle
        and one past it, they can do so only if the one that the bar takes further round goes back.
        """
        carries = side != 0
        between = np.any(side > 0, axis=0) & np.any(side < 0, axis=0)
        least, greatest = self.lever_span(carries)
        return carries & between & (self.levers == greatest) & (greatest > least)

    def lever_span(self, carries: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Least and greatest lever of the balls that carry, (m, n) each; inf and −inf where none does."""
        return (
            np.min(np.where(carries, self.levers, np.inf), axis=0),
            np.max(np.where(carries, self.levers, -np.inf), axis=0),
        )

    @cached_property
    def flat(self) -> np.ndarray:
        """Relative angle [rad] from which on each ball rides the flat when opening, (b, m, 1)."""
        return flat_angle(self.balls)

    @cached_property
    def many(self) -> bool:
        """True where the numbers are those of many knives."""
        return self.count > 1

    @cached_property
    def count(self) -> int:
        """How many knives the numbers are those of."""
        sizes = [np.size(value) for part in (self.bar, self.friction) for _, value in _arrays(part)]
        return max([*(value.shape[1] for _, value in _arrays(self.balls)), *sizes])

    def pressed(
        self,
        theta: np.ndarray,
        omega: np.ndarray,
        sense: int,
        since: np.ndarray | None = None,
        back: np.ndarray | bool = False,
    ) -> Pressed:
        """Pressed at blade angles and sideways turns, balanced or not; back: the balls that are known to slide back,
        against the sense.
        """
        angle = theta - omega * self.levers
        lifts = self.lifted(angle)
        bent = self.bent(lifts)
        if sense and self.elastic:
            back = back | self.slides_back(_side(lifts, bent.loads))
        slip = sense if since is None else np.where(sense * (angle - since) >= 0, sense, -sense)
        if np.any(back):
            slip = np.where(back, -sense, slip)
        loads, face_load = bent.loads, bent.face_load
        mu = slip * friction_at(self.friction, lifts)
        pushes = loads * push_ratio(lifts, mu)
        face_push = face_load * self.friction.on_flat * (slip if np.ndim(slip) == 0 else slip[0])
        # a ball that rolls down the tang's edge snaps; the bar is taken to stand sideways as on the flat
        sideways = np.where(lifts.touch == EDGE, loads * mu, pushes)
        side = np.sum(sideways * self.across, axis=0) + face_push * self.across[0]
        energy = bent.energy + omega * side / 2  # E1a: in balance κ_s ω is the side moment
        off = omega - self.tilt * side
        return Pressed(
            off, omega, bent.psi, bent.moment, lifts, loads, pushes, face_load, face_push, bent.clearances, energy
        )

    def bent(self, lifts: Lift) -> Bent:
        """How lifts bend the bar: rigid, the largest demand in bar angle carries all (C1); elastic, balls can share
        (C4).
        """
        return self._shared(lifts) if self.elastic else self._envelope(lifts)

    def lifted(self, angle: np.ndarray) -> Lift:
        """Lift of every ball at its relative angle (b, m, n): the least demand over its own recess, others that it
        crosses, and the edge.
        """
        found = lift(self.balls, angle)
        for crossing in self.crossings:
            other = crossing.lift(_of_row(self.balls, crossing.row), angle[crossing.row : crossing.row + 1])
            # a ball that does not cross this recess keeps what it has, also on the flat
            mine = np.arange(len(self.parts)).reshape(-1, 1, 1) == crossing.row
            found = deeper(found, other._replace(sink=np.where(mine, other.sink, -np.inf)))
        edge = run_off(self.balls, angle)
        return found if edge is None else deeper(found, edge)

    def asked(self, gap: Values, arm: Values | None = None) -> Values:
        """Bar angle that goes with a gap at each ball, or at another arm (B4)."""
        arm = self.balls.hinge_distance if arm is None else arm
        return formulas["B4"](gap=gap, parallel_gap=self.spring.parallel_gap, hinge_distance=arm)

    def _envelope(self, lifts):
        """One rigid bar: the largest demand in bar angle carries all (C1)."""
        spring, balls = self.spring, self.balls
        # the face can land beside the first ball, where the gap is zero
        demands, face = self.asked(lifts.demand), self.asked(0.0, spring.arm)
        first = np.argmax(demands, axis=0)
        highest = np.take_along_axis(demands, first[None], axis=0)[0]
        held = np.maximum(highest, face)
        # a ball cannot pull: where it has rolled off the tang, the bar can come to stand free
        psi = np.maximum(held, bars.free(spring))
        moment = np.maximum(bars.moment(spring, psi), 0.0)
        on_ball = (highest >= face) & (held >= psi)
        carries = on_ball & (first == np.arange(len(self.parts)).reshape(-1, 1, 1))
        loads = np.where(carries, moment / balls.hinge_distance, 0.0)
        clearances = np.where(
            carries, 0.0, formulas["C1"](psi=psi, psi_ball=demands, hinge_distance=balls.hinge_distance)
        )
        energy = formulas["E1"](moment=moment, kappa=spring.kappa)
        return Bent(psi, moment, loads, np.where(highest >= face, 0.0, moment / spring.arm), clearances, energy)

    def _shared(self, lifts):
        """One elastic bar: loads that neither pull nor let a ball cut in (C4)."""
        spring, squash, free = self.spring, self._squash(lifts.phi), self._free_gaps
        # the face can land beside the first ball, where the gap is zero
        demand = np.concatenate([np.maximum(lifts.demand[:1], 0.0), lifts.demand[1:]])
        loads = share(self._stiff, demand - free, squash)
        bent = bent_by(self._stiff, loads)
        gaps = free + bent
        moment = np.sum(loads * self.balls.hinge_distance, axis=0)
        squeezed = 0.0 if squash is None else squash * np.cbrt(loads) ** 2
        # a squash that grows with the two-thirds power of its load stores two fifths of load times squash
        energy = np.sum(loads * bent / 2 + 0.4 * loads * squeezed, axis=0)
        clearances = np.where(loads > 0, 0.0, gaps - lifts.demand)
        on_face = lifts.demand[0] < 0
        face_load = np.where(on_face, loads[0], 0.0)
        loads = np.concatenate([np.where(on_face, 0.0, loads[:1]), loads[1:]])
        psi = (gaps[0] - spring.parallel_gap) / spring.arm
        return Bent(psi, moment, loads, face_load, clearances, energy)

    @cached_property
    def _per_load(self):
        """Squash of each ball on the flat at 1 N [mm] (S1), None where no ball has a contact modulus."""
        if all(part.contact_modulus is None for part in self.parts):
            return None
        each = [
            (
                0.0
                if part.contact_modulus is None
                else formulas["S1"](load=1.0, ball_radius=part.radius, modulus=part.contact_modulus).squash
            )
            for part in self.parts
        ]
        return _stack(each)

    def _squash(self, phi):
        """Squash along the lift per load to the two thirds: the rim presses with 1/cos φ, and sinks in by 1/cos φ more
        along the lift.

        It moves no contact angle, so with it work and barrier of a knife without friction differ by 0.3 to 0.6 %.
        """
        return None if self._per_load is None else self._per_load / np.cbrt(np.cos(phi)) ** 5

    @cached_property
    def _stiff(self):
        """Displacement at each ball per newton at each other [mm/N], (b, b, m, 1)."""
        stiff = np.moveaxis(bars.compliance(self.bar, self.parts), (-2, -1), (0, 1))
        return stiff.reshape(*stiff.shape[:2], -1, 1)

    @cached_property
    def _free_gaps(self):
        """Gap at each ball when the bar is free [mm], from ball 1 riding the flat with the riding force (B5)."""
        spring = self.spring
        squash = 0.0 if self._per_load is None else self._per_load[0] * np.cbrt(spring.riding_force) ** 2
        psi_free = bars.free(spring) - squash / spring.arm
        return spring.parallel_gap + psi_free * self.balls.hinge_distance


@dataclass(frozen=True)
class Crossing:
    """A recess of another ball that the ball in row `row` can drop into (L8)."""

    row: int
    recess: Recess
    bearing: Values
    bearing_other: Values
    track_radius_other: Values

    def lift(self, ball: Ball, angle: np.ndarray) -> Lift:
        """Lift of the ball over that recess."""
        place = formulas["L8"](
            theta=angle,
            bearing_ball=np.radians(self.bearing),
            bearing_other=np.radians(self.bearing_other),
            track_radius=ball.track_radius,
            track_radius_other=self.track_radius_other,
            off_track=self.recess.off_track,
        )
        return lift(ball, place.theta, recess=self.recess, off_track=place.off_track)

    def take(self, rows: np.ndarray) -> "Crossing":
        """The knives with the given indexes out of many in one."""
        return swap(self, {steps: value[rows] for steps, value in _arrays(self)})


def leaves_of(knife: Knife, elastic: bool = False) -> tuple[Leaf, ...]:
    """The bars of a knife with their balls, as Leaf records, in the order of `bars_of`."""
    found = []
    for bar, members in bars_of(knife):
        parts = tuple(knife.balls[i] for i in members)
        pairs = [
            (row, i, j)
            for row, i in enumerate(members)
            for j in range(len(knife.balls))
            if j != i and crosses(knife, i, j)
        ]
        crossings = tuple(
            Crossing(row, knife.balls[j].recess, bearing(knife, i), bearing(knife, j), knife.balls[j].track_radius)
            for row, i, j in pairs
        )
        found.append(Leaf(bar, tuple(members), parts, stacked(parts), knife.friction, crossings, elastic))
    return tuple(found)


def bars_of(knife: Knife) -> list[tuple[LockBar, list[int]]]:
    """The (bar, indexes of its balls) of a knife."""
    every = [(0, knife.bar), (1, knife.second_bar)]
    return [
        (bar, [i for i, ball in enumerate(knife.balls) if ball.bar == which]) for which, bar in every if bar is not None
    ]


def bearing(knife: Knife, i: int) -> Values | None:
    """Bearing of a ball from ball 1 [deg], None where it is not known."""
    return 0.0 if i == 0 and knife.balls[0].bearing_deg is None else knife.balls[i].bearing_deg


def crosses(knife: Knife, i: int, j: int) -> bool:
    """True where ball i can drop into recess j on its way (see `on_track`); needs both bearings."""
    known = bearing(knife, i) is not None and bearing(knife, j) is not None
    return known and bool(np.any(on_track(knife, i, j)))


def on_track(knife: Knife, i: int, j: int) -> np.bool_ | np.ndarray:
    """Whether ball i rides so near to the track of recess j that it can drop into it, wherever that stands; a bool
    or an array of them.
    """
    ball, other = knife.balls[i], knife.balls[j]
    apart = np.abs(other.track_radius + other.recess.off_track - ball.track_radius)
    return apart < other.recess.rim_radius + other.recess.edge_radius


def crossing_deg(knife: Knife, i: int, j: int) -> Values:
    """Blade angle at which ball i stands over the middle of recess j [deg] (L8)."""
    other = knife.balls[j]
    ahead = np.degrees(np.arcsin(other.recess.rest_offset / (other.track_radius + other.recess.off_track)))
    return bearing(knife, i) - bearing(knife, j) - ahead


_NEVER = {"depth": np.inf, "run_off_deg": 1e6}  # what no floor and no end of the track count as


def stacked(balls: Sequence[Ball]) -> Ball:
    """Balls as one unchecked Ball whose numbers are arrays (b, m, 1): an axis of balls, of knives, of angles."""
    return swap(
        balls[0],
        _columns(balls)
        | {("recess", *steps): value for steps, value in _columns([ball.recess for ball in balls]).items()},
    )


def _columns(parts):
    """{(field,): array (b, m, 1)} of the numbers that some of the parts have."""
    found = {}
    for each in fields(parts[0]):
        values = [getattr(part, each.name) for part in parts]
        if "rule" in each.metadata and any(value is not None for value in values):
            found[(each.name,)] = _stack([_NEVER.get(each.name, 0.0) if value is None else value for value in values])
    return found


def _stack(values):
    """Numbers or (m, 1) arrays, one a ball, as (b, m, 1)."""
    return np.stack(np.broadcast_arrays(*(np.reshape(value, (-1, 1)) for value in values))).astype(float)


def _arrays(part):
    """(steps, array) of every array in a record and the records in it."""
    for each in fields(part):
        value = getattr(part, each.name)
        if is_dataclass(value):
            yield from (((each.name, *steps), array) for steps, array in _arrays(value))
        elif np.ndim(value):
            yield (each.name,), value


def _of_row(balls, row):
    """One ball of stacked balls, still with its axis."""
    return swap(balls, {steps: value[row : row + 1] for steps, value in _arrays(balls)})


def _mixed(before, after):
    """Pressed in the jump between two states (k, 1) that are both true there, in the shares that the balance asks
    for.
    """
    share_after = np.clip(-before.off / np.where(after.off > before.off, after.off - before.off, 1.0), 0.0, 1.0)
    both = ("off", "omega", "psi", "moment", "loads", "pushes", "face_load", "face_push", "energy")
    mixed = {name: (1 - share_after) * getattr(before, name) + share_after * getattr(after, name) for name in both}
    round_it = _on_edge(after.lifts) & (before.lifts.cos_chi * after.lifts.cos_chi < 0) & (mixed["loads"] > 0)
    lifts = after.lifts._replace(touch=np.where(round_it, ROUND, after.lifts.touch))
    return after._replace(lifts=lifts, clearances=np.where(mixed["loads"] > 0, 0.0, after.clearances), **mixed)


def _on_edge(lifts):
    return (lifts.touch == RIM) | (lifts.touch == CHAMFER)


def _side(lifts, loads):
    """On which side of its recess each ball carries: 1 short of its middle, −1 past it, 0 if on no rim."""
    return np.where((loads > 0) & _on_edge(lifts), np.sign(lifts.cos_chi), 0.0)


def _put_all(found, new, rows, columns):
    """A Pressed with new states (k, 1) at k places."""
    lifts = Lift(*(_put(whole, value, rows, columns) for whole, value in zip(found.lifts, new.lifts, strict=True)))
    others = {
        name: _put(getattr(found, name), getattr(new, name), rows, columns)
        for name in Pressed._fields
        if name != "lifts"
    }
    return Pressed(lifts=lifts, **others)


def _put(whole, value, rows, columns):
    """A copy of `whole` (..., m, n) with the values (..., k, 1) at k places."""
    shape = (*np.shape(value)[:-2], *np.shape(whole)[-2:])
    new = np.array(whole if np.shape(whole) == shape else np.broadcast_to(whole, shape))
    new[..., rows, columns] = value[..., 0]
    return new
