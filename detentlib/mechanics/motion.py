"""Rough motion (D1 to D3): flick, shake and drop. Estimates, always given as ranges; no certification, no legal
meaning.
"""

from itertools import product
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.given import given_knife
from ..knife.parts import Knife, KnifeError, Problem
from .carry import Detent, pivot_drag
from .feel import feel

FINGER = (0.5, 2.0)  # N/mm, how stiff a finger is: judgement
FINGER_SPEED = (20.0, 400.0)  # mm/s, a careful push and a quick one: judgement
_LONGEST = 2.0  # s, by which a flick has arrived or died
_STILL = 1e-6  # rad or rad/s, as good as nothing


# N, context and no limit for knives: greatest thumb press, means of women and men (Applied Sciences 10 (2020) 194, 31
# people); index fingertip in a flick, mean and standard deviation (Archives of Hand and Microsurgery 29(2), 120 adults)
THUMB_PRESS, FINGER_FLICK = (100.6, 136.7), (6.8, 2.5)


def finger_words(force: float) -> str:
    """How heavy a force at the tab [N] is for a finger, in words: pressed, and flicked.

    >>> finger_words(12.0)
    '12.0 N is 9 to 12 % of the hardest thumb press, but 1.8 times what an index finger strikes ...'
    """
    pressed = sorted(100 * force / most for most in THUMB_PRESS)
    mean, spread = FINGER_FLICK
    flicked = (
        f"{force / mean:.1f} times what an index finger strikes in a flick ({mean} N, ± {spread} N from person to"
        " person)"
    )
    return f"{force:.1f} N is {pressed[0]:.0f} to {pressed[1]:.0f} % of the hardest thumb press, but {flicked}"


class Flick(NamedTuple):
    """One flick: does the blade reach the stop, how far it gets [deg], its speed there [rad/s], the time [s]."""

    opens: bool
    reached_deg: float
    speed: float
    time: float


class Rough(NamedTuple):
    """Rough motion of one knife, each a pair (low, high).

    flick: the Flicks that get least and most far among stiff and soft, slow and quick fingers; shake: acceleration
    across the blade that opens it [m/s²], from let-back hold to break force; drop: lower bound of the height [mm] (D3),
    with the barrier and with the opening work; swing_drag and barrier [mJ]: what the flick pays on the way, and what
    the detent alone takes.
    """

    flick: tuple
    shake: tuple
    drop: tuple
    swing_drag: float
    barrier: float

    @property
    def words(self) -> tuple[str, str, str]:
        """The ranges as sentences, each with what decides it; never one number alone."""
        near, far = (each.reached_deg for each in self.flick)
        fingers = (
            f"{FINGER[0]:g} to {FINGER[1]:g} N/mm stiff, moved at {FINGER_SPEED[0]:g} to {FINGER_SPEED[1]:g} mm/s:"
            " judgement"
        )
        return (
            (
                f"flick: reaches {near:.0f}° to {far:.0f}°, by the finger ({fingers}); the break force, which"
                " loads it like a spring, the finger itself and the drag decide, not the barrier"
            ),
            f"shake: opens at {self.shake[0]:.0f} to {self.shake[1]:.0f} m/s² across the blade; friction decides",
            (
                f"drop on to the edge: {self.drop[0]:.0f} to {self.drop[1]:.0f} mm is a lower bound for a handle that"
                " stops dead; one that bounces needs less"
            ),
        )


def flick(knife: Knife, finger_stiffness: float, finger_speed: float) -> Flick:
    """Flick of one Knife by a finger that moves (D1), from where the finger just overcomes the peak.

    finger_stiffness [N/mm]; finger_speed [mm/s], at which the hand moves on. The finger pushes at the tab like a spring
    between hand and blade, until the blade runs ahead of it; from there the blade swings alone. Needs its inertia.
    """
    felt = feel(knife)
    start, end, arm = np.radians(felt.peak_deg), np.radians(knife.blade.opening_deg), knife.blade.tab_arm
    resistance = _resistance(knife, felt)
    # what a gauge on the whole knife reads, squeezed into the finger
    time, now = (felt.gauge_break_force / finger_stiffness + arm * start) / finger_speed, (start, 0.0)
    pushed = _swung(
        knife, resistance, time, now, finger_stiffness, finger_speed, lambda t, y: finger_speed * t - arm * y[0]
    )
    last = pushed
    if pushed.y[0, -1] < end - _STILL:
        last = _swung(knife, resistance, pushed.t[-1], pushed.y[:, -1], 0.0, finger_speed, lambda t, y: y[1] + _STILL)
    angle, speed = last.y[:, -1]
    opens = angle >= end - _STILL
    return Flick(bool(opens), float(np.degrees(angle)), float(speed) if opens else 0.0, float(last.t[-1] - time))


def _resistance(knife, felt):
    """Angles [rad] from the peak to the open blade, close together over the climb, and the torque of detent and
    pivot at each.
    """
    out, end = felt.break_out_deg * 1.05, knife.blade.opening_deg
    angle = np.radians(np.concatenate([np.linspace(felt.peak_deg, out, 400), np.linspace(out, end, 800)[1:]]))
    at = Detent(knife).state(angle)
    return angle, at.torque + pivot_drag(knife, at)


def _swung(knife, resistance, time, now, finger_stiffness, finger_speed, ends):
    """The blade's swing [rad, rad/s] from a time and place on, until it is open or `ends` passes zero downwards."""
    from scipy.integrate import solve_ivp

    blade, inertia = knife.blade, _need(knife, "inertia")

    def turning(t, y):
        finger = {"finger_stiffness": finger_stiffness, "finger_speed": finger_speed, "time": t, "gone": y[0]}
        return [
            y[1],
            formulas["D1"](inertia=inertia, arm=blade.tab_arm, resistance=np.interp(y[0], *resistance), **finger),
        ]

    def arrives(t, y):
        return y[0] - np.radians(blade.opening_deg)

    ends.terminal, ends.direction, arrives.terminal = True, -1, True
    return solve_ivp(
        turning, (time, time + _LONGEST), now, events=(arrives, ends), rtol=1e-8, atol=1e-10, max_step=1e-3
    )


def rough_motion(knife: Knife) -> Rough:
    """Flick, shake and drop of one Knife as ranges. Needs mass, balance radius and inertia of the blade."""
    given_knife(knife)
    mass, balance, inertia = (_need(knife, name) for name in ("mass", "balance_radius", "inertia"))
    felt = feel(knife)
    arm = knife.blade.tab_arm
    hold = felt.gauge_letback_force if felt.gauge_letback_force is not None else felt.gauge_break_force
    shake = tuple(
        formulas["D2"](torque=force * arm, mass=mass, balance_radius=balance)
        for force in (hold, felt.gauge_break_force)
    )
    drop = tuple(
        formulas["D3"](work=work, inertia=inertia, mass=mass, balance_radius=balance)
        for work in (felt.barrier, felt.work)
    )
    swing_drag = (
        felt.ride_load * knife.friction.on_flat * knife.balls[max(felt.rest_carrier, 0)].track_radius
        + knife.friction.pivot_torque
    )
    flicks = sorted(
        (flick(knife, *finger) for finger in product(FINGER, FINGER_SPEED)),
        key=lambda each: (each.reached_deg, each.speed),
    )
    return Rough((flicks[0], flicks[-1]), shake, drop, swing_drag * np.radians(knife.blade.opening_deg), felt.barrier)


def _need(knife, name):
    value = getattr(knife.blade, name)
    if value is None:
        raise KnifeError(
            Problem(
                f"blade.{name}",
                "",
                "is not known",
                "Rough motion is the blade's weight against the detent.",
                "Weigh the blade, find its balance point, time its swing.",
            ),
            knife.title,
        )
    return value
