"""Who carries: each bar in balance at every blade angle, rigid (C1) or elastic (C4), for any balls and two bars."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Friction, Knife
from ..knife.values import Values
from .leaf import FACE, Leaf, Pressed, bars_of, bearing, crosses, crossing_deg, leaves_of, on_track
from .lift import Lift, flat_angle

JUST_AFTER = 1e-9  # rad past a step, far below anything that a protractor sees

__all__ = [
    "FACE",
    "Detent",
    "State",
    "bars_of",
    "bearing",
    "crosses",
    "crossing_deg",
    "load_drag",
    "on_track",
    "pivot_drag",
    "state",
]


class State(NamedTuple):
    """All balls at given blade angles. Lists hold one array per ball, each broadcast over angles (and knives).

    lifts, loads along the lift and pushes along the track [N], clearances [mm]; one array per bar: carriers, the index
    of the ball with the greatest load or FACE; moments [N·mm]; face_loads [N], the force where the bar face lies on the
    tang; side_turns, how far the bar has turned sideways [rad]. gap [mm] at ball 1; energy [mJ] stored in bend,
    sideways turn and squash; torque of the detent alone [N·mm], + resists opening.
    """

    lifts: list
    loads: list
    pushes: list
    clearances: list
    carriers: list
    moments: list
    face_loads: list
    side_turns: list
    gap: np.ndarray
    energy: np.ndarray
    torque: np.ndarray


@dataclass(frozen=True)
class Detent:
    """A knife with the way its bar is taken: rigid (the largest demand carries all) or elastic (balls can share).

    The parts as arrays are made once; so is where the shut knife rests, which the contact remembers when it opens.
    """

    knife: Knife
    elastic: bool = False
    paths: dict = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self):
        """Put the place of the blade in its pivot's play into the rest offsets."""
        object.__setattr__(self, "knife", _placed(self.knife))

    @cached_property
    def leaves(self) -> tuple[Leaf, ...]:
        """The bars with their balls as arrays."""
        return leaves_of(self.knife, self.elastic)

    @cached_property
    def many(self) -> bool:
        """True where the knife holds arrays, many knives in one."""
        return any(leaf.many for leaf in self.leaves)

    @cached_property
    def count(self) -> int:
        """How many knives there are in one."""
        return max(leaf.count for leaf in self.leaves)

    @cached_property
    def shut(self) -> tuple[np.ndarray, ...]:
        """Relative angle of each ball in the shut knife, one array (b, m, 1) a bar: the blade has snapped shut, so
        closing holds.
        """
        return tuple(-rest.omega * leaf.levers for leaf, rest in zip(self.leaves, self.resting, strict=True))

    @cached_property
    def resting(self) -> tuple[Pressed, ...]:
        """Each bar in the shut knife, as Pressed: at the stop, settled as it closed."""
        return tuple(leaf.settled(np.zeros((self.count, 1)), -1) for leaf in self.leaves)

    def relative(
        self, theta: Values, sense: int, since: Sequence[np.ndarray | None] | None = None
    ) -> tuple[np.ndarray, ...]:
        """Relative angle of each ball on its recess at one blade angle, one array (b, m, 1) a bar: what a contact
        remembers.
        """
        shape = np.broadcast_to(np.reshape(np.asarray(theta, float), (-1, 1)), (self.count, 1))
        since = [None] * len(self.leaves) if since is None else since
        return tuple(
            shape - leaf.settled(shape, sense, past).omega * leaf.levers
            for leaf, past in zip(self.leaves, since, strict=True)
        )

    def state(self, theta: Values, sense: int = 1, since: Sequence[np.ndarray | None] | None = None) -> State:
        """State at blade angles theta [rad], numbers of the knife and theta broadcasting as (m, n).

        sense: +1 opening from shut, −1 closing, 0 without friction. since: where the balls last turned back (see
        `relative`), for a blade that turns back in mid-way.
        """
        theta = np.asarray(theta, float)
        table = np.atleast_2d(theta)
        if self.many:
            table = np.broadcast_to(table, (self.count, table.shape[-1]))
        if since is None:
            since = self.shut if sense == 1 else [None] * len(self.leaves)
        if sense == -1 and table.shape[1] == 1 and not np.any(table) and all(past is None for past in since):
            each = self.resting
        else:
            each = [leaf.settled(table, sense, past) for leaf, past in zip(self.leaves, since, strict=True)]
        shape = table.shape if self.many else theta.shape
        count = len(self.knife.balls)
        lifts, loads, pushes, clearances = ([None] * count for _ in range(4))

        def shaped(array):
            if np.shape(array) != table.shape:
                array = np.broadcast_to(array, np.broadcast_shapes(np.shape(array), table.shape))
            return array if self.many else array.reshape(shape)

        torque, carriers = 0.0, []
        for leaf, one in zip(self.leaves, each, strict=True):
            for row, i in enumerate(leaf.members):
                lifts[i] = Lift(*(shaped(_row(value, row)) for value in one.lifts))
                loads[i], pushes[i], clearances[i] = (
                    shaped(_row(value, row)) for value in (one.loads, one.pushes, one.clearances)
                )
            greatest = np.argmax(one.loads, axis=0)
            carriers.append(
                shaped(np.where(one.face_load > np.max(one.loads, axis=0), FACE, np.asarray(leaf.members)[greatest]))
            )
            torque = (
                torque
                + np.sum(one.pushes * leaf.balls.track_radius, axis=0)
                + one.face_push * leaf.balls.track_radius[0]
            )
        first = self.leaves[0]
        return State(
            lifts,
            loads,
            pushes,
            clearances,
            carriers,
            [shaped(one.moment) for one in each],
            [shaped(one.face_load) for one in each],
            [shaped(one.omega) for one in each],
            shaped(first.spring.parallel_gap + each[0].psi * first.spring.arm),
            shaped(sum(one.energy for one in each)),
            shaped(torque),
        )

    def at_rest(self, rest: Values) -> State:
        """State at the angle at which the blade rests [rad], as it closed.

        Off the stop it is that of just before: a ball can rest in the very middle of its recess, where the rim pushes
        either way.
        """
        return self.state(rest + JUST_AFTER * (rest > 0), -1)

    def sideways(self, at: State) -> list[Values]:
        """How far the bar has taken each ball along its track in a State [mm], + in the sense of opening; one array
        per ball (B6).
        """
        found = [None] * len(self.knife.balls)
        for leaf, turn in zip(self.leaves, at.side_turns, strict=True):
            for row, i in enumerate(leaf.members):
                found[i] = turn * np.reshape(leaf.across[row], (-1, 1) if self.many else ())
        return found

    @cached_property
    def break_out(self) -> np.ndarray:
        """Blade angle [rad] from which on all balls ride the flat when opening, shape (m, 1)."""
        return np.maximum.reduce(np.broadcast_arrays(*self.leaving))

    @cached_property
    def riding(self) -> State:
        """State just after the last ball has come on to the flat when opening."""
        return self.state(self.break_out + JUST_AFTER)

    @cached_property
    def leaving(self) -> list[np.ndarray]:
        """Blade angle [rad] at which each ball comes on to the flat when opening, (m, 1) each; with the drag there
        counted.
        """
        stiff = np.maximum.reduce(
            np.broadcast_arrays(*(np.reshape(flat_angle(ball), (-1, 1)) for ball in self.knife.balls))
        )
        ends = []
        for leaf in self.leaves:
            dragged = leaf.settled(stiff + leaf.furthest, 1).omega * leaf.levers if leaf.gives else 0.0
            ends += [np.reshape(flat_angle(ball), (-1, 1)) + _row(dragged, row) for row, ball in enumerate(leaf.parts)]
        return ends

    def opening(self, count: int) -> np.ndarray:
        """Blade angles [rad] from the stop to all balls on the flat, shape (m, count)."""
        return self.break_out * np.linspace(0.0, 1.0, count)

    def take(self, rows: np.ndarray) -> "Detent":
        """The knives with the given indexes out of many in one."""
        return Detent(self.knife.take(rows), self.elastic)


def _placed(knife):
    """The knife with its blade's place in the pivot's play counted into each rest offset."""
    play = knife.blade.pivot_play
    if not _given(play):
        return knife
    moved = {f"balls[{i}].recess.rest_offset": ball.recess.rest_offset + play for i, ball in enumerate(knife.balls)}
    return knife.with_arrays(moved | {"blade.pivot_play": 0.0})


def state(knife: Knife, theta: Values, elastic: bool = False, sense: int = 1) -> State:
    """State of a knife at blade angles theta [rad]; L2 to L8, B4 to B6, C1 (rigid) or C4 (elastic). See
    `Detent.state`.
    """
    return Detent(knife, elastic).state(theta, sense)


def pivot_drag(knife: Knife, at: State) -> Values:
    """Drag of the pivot [N·mm] in a State: as measured with the bar lifted off, and what the bar's load adds (F8)."""
    return knife.friction.pivot_torque + sum(
        load_drag(knife.friction, load, lifted.phi) for lifted, load in zip(at.lifts, at.loads, strict=True)
    )


def load_drag(friction: Friction, load: Values, phi: Values) -> Values:
    """What the load of a ball adds to the drag of the pivot [N·mm] (F8)."""
    if not (_given(friction.washer) or _given(friction.pin)):
        return 0.0
    turned = {name: getattr(friction, name) for name in ("washer", "washer_radius", "pin", "pin_radius")}
    return formulas["F8"](load=load, phi=phi, **turned)


def _row(value, row):
    return value if np.ndim(value) < 3 else value[row]


def _given(number):
    """True where an option is switched on (any array counts)."""
    return np.ndim(number) > 0 or number != 0
