"""Rough motion (D1 to D3): flick, shake and drop. Estimates, always given as ranges; no certification, no legal meaning."""

from typing import NamedTuple

import numpy as np

from ..parts import KnifeError, Problem
from .carry import Detent, pivot_drag
from .feel import feel
from .formulas import formulas
from .sweep import sweep

FINGER = (0.5, 2.0)  # N/mm, how stiff a finger follows: judgement
_LONGEST = 2.0  # s, by which a flick has arrived or died


# N, context and no limit for knives: greatest thumb press, means of women and men (Applied Sciences 10 (2020) 194, 31
# people); index fingertip in a flick, mean and standard deviation (Archives of Hand and Microsurgery 29(2), 120 adults)
THUMB_PRESS, FINGER_FLICK = (100.6, 136.7), (6.8, 2.5)


def finger_words(force):
    """How heavy a force at the tab [N] is for a finger, in words: pressed, and flicked.

    >>> finger_words(12.0)
    '12.0 N is 9 to 12 % of the hardest thumb press, but 1.8 times what an index finger strikes in a flick (6.8 N, ± 2.5 N from person to person)'
    """
    pressed = sorted(100 * force / most for most in THUMB_PRESS)
    mean, spread = FINGER_FLICK
    flicked = f"{force / mean:.1f} times what an index finger strikes in a flick ({mean} N, ± {spread} N from person to person)"
    return f"{force:.1f} N is {pressed[0]:.0f} to {pressed[1]:.0f} % of the hardest thumb press, but {flicked}"


class Flick(NamedTuple):
    """One flick: does the blade reach the stop, how far it gets [deg], its speed there [rad/s], the time [s]."""

    opens: bool
    reached_deg: float
    speed: float
    time: float


class Rough(NamedTuple):
    """Rough motion of one knife, each a pair (low, high).

    flick: Flicks with the stiffest and the softest finger (a stiff one lets go sooner); shake: acceleration across the
    blade that opens it [m/s²], from let-back hold to break force; drop: lower bound of the height [mm] (D3), with the
    barrier and with the opening work; swing_drag and barrier [mJ]: what the flick pays on the way, and what the detent alone takes.
    """

    flick: tuple
    shake: tuple
    drop: tuple
    swing_drag: float
    barrier: float

    @property
    def words(self):
        """The ranges as sentences, each with what decides it; never one number alone."""
        near, far = (each.reached_deg for each in self.flick)
        return (
            f"flick: reaches {near:.0f}° with a stiff finger, {far:.0f}° with a soft one; the finger and the drag decide, not the barrier",
            f"shake: opens at {self.shake[0]:.0f} to {self.shake[1]:.0f} m/s² across the blade; friction decides",
            f"drop on to the edge: opens from {self.drop[0]:.0f} to {self.drop[1]:.0f} mm, a lower bound, on a dead stop without bounce; the floor decides",
        )


def flick(knife, finger_stiffness, start_force=None):
    """Flick of one Knife (D1): the finger holds the break force at the tab when the ball breaks out, then follows as a spring.

    finger_stiffness [N/mm]; start_force [N], by default what a gauge on the whole knife reads. Needs the inertia of the
    blade. Returns a Flick.
    """
    from scipy.integrate import solve_ivp

    inertia = _need(knife, "inertia")
    felt = feel(knife)
    push = felt.gauge_break_force if start_force is None else start_force
    start = np.radians(felt.peak_deg)
    end = np.radians(knife.blade.opening_deg)
    angle = np.concatenate([np.linspace(start, np.radians(felt.break_out_deg) * 1.05, 400), np.linspace(np.radians(felt.break_out_deg) * 1.06, end, 800)])
    resistance = sweep(knife, np.degrees(angle)).torque + pivot_drag(knife, Detent(knife).state(angle))

    def turning(time, now):
        gone = now[0] - start
        force = formulas["D1"](
            inertia=inertia,
            arm=knife.blade.tab_arm,
            start_force=push,
            finger_stiffness=finger_stiffness,
            gone=gone,
            resistance=np.interp(now[0], angle, resistance),
        )
        return [now[1], force]

    def arrives(time, now):
        return now[0] - end

    def dies(time, now):
        return now[1] if now[0] > start + 1e-6 else 1.0

    arrives.terminal = dies.terminal = True
    # the finger holds the blade at the very peak, so it needs a nudge to leave it
    run = solve_ivp(turning, (0.0, _LONGEST), [start, 1e-3], events=(arrives, dies), rtol=1e-8, atol=1e-10, max_step=1e-3)
    opens = bool(run.t_events[0].size)
    return Flick(opens, float(np.degrees(run.y[0, -1])), float(run.y[1, -1]) if opens else 0.0, float(run.t[-1]))


def rough_motion(knife, finger=FINGER):
    """Flick, shake and drop of one Knife as ranges: a Rough. Needs mass, balance radius and inertia of the blade."""
    mass, balance, inertia = (_need(knife, name) for name in ("mass", "balance_radius", "inertia"))
    felt = feel(knife)
    arm = knife.blade.tab_arm
    hold = felt.gauge_letback_force if felt.gauge_letback_force is not None else felt.gauge_break_force
    shake = tuple(formulas["D2"](torque=force * arm, mass=mass, balance_radius=balance) for force in (hold, felt.gauge_break_force))
    drop = tuple(formulas["D3"](work=work, inertia=inertia, mass=mass, balance_radius=balance) for work in (felt.barrier, felt.work))
    swing_drag = felt.ride_load * knife.friction.on_flat * knife.balls[max(felt.rest_carrier, 0)].track_radius + knife.friction.pivot_torque
    return Rough(
        tuple(flick(knife, stiffness) for stiffness in sorted(finger, reverse=True)),
        shake,
        drop,
        swing_drag * np.radians(knife.blade.opening_deg),
        felt.barrier,
    )


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
