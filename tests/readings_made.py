"""Bench readings as they come: made by the stick-and-slip referee, which knows none of the library's formulas, with the
faults of a real bench.

A knife is handed over as numbers; its rims may be rounded or chamfered, its bar gives sideways, its ball stands off
track. A Hand reads it: a protractor whose zero is off and that shows coarse steps, an arm that drifts, a gauge that is
off, pulls that stick and slip.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from detentlib.measure.readings import Readings
from tests.stickslip import COARSE, FINE, Bench, graded, numbers_of

ON_STOP, CLIMB = 5, np.linspace(0.025, 6.0, 240)
FORCE, ANGLE, LIFT, PIXEL = 0.15, 0.3, 0.003, 0.00375  # one standard deviation: N, deg, mm, mm


class SoftBench(Bench):
    """A bench whose rims may be rounded, or cut by a cone: the nearest point of the tang's cross-section presses."""

    def __init__(self, knives, rims):
        """rims: (rounding [mm], width of the cone [mm], its angle [deg]) of each knife, alike at all its balls."""
        super().__init__(knives, "contact")
        self.round, wide, steep = (np.array(column, float)[:, None] for column in zip(*rims, strict=True))
        self.upper = self.rim + wide + self.round  # where the face begins
        self.deep = wide * np.tan(np.radians(steep))  # of the cone's lower edge

    def nearest(self, away, height):
        """From the ball's centre to the nearest point of the tang, out and down."""
        wide = self.upper - self.round - self.rim
        along = (wide * (self.upper - self.round - away) + self.deep * (height - self.round)) / np.maximum(
            wide**2 + self.deep**2, 1e-300
        )
        share = np.clip(along, 0.0, 1.0)
        out = np.where(away < self.upper, self.upper - share * wide - away, 0.0)
        down = np.where(away < self.upper, share * self.deep + self.round - height, -height)
        far = np.hypot(out, down)
        near = np.where(away < self.upper, 1 - self.round / far, 1.0)
        return out * near, down * near

    def seat(self, state, row, ball):
        """Contact angle of one ball, from its pole [deg], and its gap from the rim of the drilled hole [mm]."""
        off = self.off_centre(state.theta, state.centre)
        lever = [each[row, ball] for each in self.lever(off, state.ahead, state.centre[2])]
        gap = self.rim[row, ball] - np.hypot(*(each[row, ball] for each in off))
        return float(np.degrees(np.arctan2(np.hypot(*lever[:2]), lever[2]))), float(gap)


@dataclass(frozen=True)
class Seen:
    """What one knife does: angles [deg] with lift at ball 1 [mm] and detent torque [N·mm] while it opens; at rest (gap
    from the rim in mm) and at its peak.

    Past the detent the torque stays what it was on the flat; the lift goes round the swing.
    """

    knife: object
    angle: np.ndarray
    lift: np.ndarray
    torque: np.ndarray
    contact_deg: float
    rim_gap: float
    break_out_deg: float
    break_torque: float
    letback_torque: float
    shared: np.ndarray = ()  # angles at which two balls carry [deg]


def seen(knives):
    """What Knives do, whose numbers alone are read: a Seen of each."""
    first = [knife.balls[0].recess for knife in knives]
    bench = SoftBench(
        [_shifted(knife) for knife in knives],
        [(each.edge_radius, each.chamfer_width, each.chamfer_deg) for each in first],
    )
    wide = np.max((bench.upper + np.abs(bench.recess_track * np.sin(bench.behind)) + 0.1) / bench.track, axis=1)
    shares = np.linspace(0.0, 1.0, COARSE + 1)
    start = bench.start(wide)
    at_rest, shut = bench.march(start, graded(bench.march(start, wide[:, None] * shares[::-1])[1], FINE))
    _, opened = bench.march(at_rest, graded(bench.march(at_rest, wide[:, None] * shares)[1], FINE))
    return [_seen(knife, bench, row, at_rest, shut, opened) for row, knife in enumerate(knives)]


def _shifted(knife):
    """Numbers of a knife whose tang stands aside in the play of its pivot."""
    numbers, aside = numbers_of(knife), knife.blade.pivot_play
    return replace(numbers, balls=tuple(replace(ball, rest_offset=ball.rest_offset + aside) for ball in numbers.balls))


def _seen(knife, bench, row, at_rest, shut, opened):
    here, angle = bench.here[row], np.degrees(opened.theta[row])
    carrier = int(np.argmax(shut.loads[row, -1][here]))
    on_rim = ~np.all(opened.on_flat[row][:, here], axis=-1)
    last = np.flatnonzero(on_rim)[-1]
    far = np.arange(20.0, 180.0, 0.05)
    return Seen(
        knife,
        np.concatenate([angle, far]),
        np.concatenate([opened.turn[row], _turn_round(knife, far)]) * bench.arm[row, 0],
        np.concatenate([opened.torque[row], np.full(far.size, opened.torque[row, -1])]),
        *bench.seat(at_rest, row, carrier),
        float((angle[last] + angle[last + 1]) / 2),
        float(opened.torque[row].max()),
        float(shut.torque[row, -1]),
        angle[(opened.loads[row] > 0).sum(axis=-1) > 1],
    )


def _turn_round(knife, angle):
    """How far the bar has turned up at angles [deg] on the flat, and where balls roll over the edge of the tang: what
    stands highest holds it.

    A ball past the edge rests on it, deeper by what its own circle falls there; at last the face of the bar lies on the
    tang.
    """
    turns = [np.full(angle.size, -knife.bar.parallel_gap / knife.balls[0].hinge_distance)]
    for ball in knife.balls:
        past = ball.track_radius * np.radians(np.maximum(angle - ball.run_off_deg, 0.0))
        sunk = ball.radius - np.sqrt(np.maximum(ball.radius**2 - past**2, 0.0))
        turns.append((ball.protrusion - knife.bar.parallel_gap - sunk) / ball.hinge_distance)
    return np.max(turns, axis=0)


@dataclass(frozen=True)
class Hand:
    """How a bench reads: zero of the protractor off [deg], drift of its errors (how many readings they hang together
    for), steps [deg, mm], stick-slip.

    stick_slip: by what share friction and push overshoot at most, another share at every pull; gauge: ± of the gauge
    [N]; shake: scatter of an angle before it is read in steps [deg], one standard deviation.
    """

    seed: int
    zero: float = 0.0
    drift: float = 0.0
    steps: tuple = (0.0, 0.0)
    stick_slip: float = 0.0
    gauge: float = 0.0
    shake: float = ANGLE

    @cached_property
    def chance(self):
        """Its own dice."""
        return np.random.default_rng(self.seed)

    @cached_property
    def off(self):
        """What its gauge reads beyond the truth, in all that it reads [N]."""
        return self.gauge / 2 * self.chance.standard_normal()

    def trace(self, run, climb=CLIMB, far=()):
        """A lift trace: on the stop, where the reader writes 0, then the climb, then the angles `far` round the
        swing.
        """
        true = np.concatenate([np.zeros(ON_STOP), climb, far])
        slip = self.zero + self.shake * self._errors(true.size)
        angle = np.where(true > 0, self._step(true + slip, 0), 0.0)
        lift = np.interp(true, run.angle, run.lift) - 0.2 + LIFT * self.chance.standard_normal(true.size)
        return _readings("lift trace", angle=angle, lift=self._step(lift, 1))

    def pulls(self, run, count=5):
        """Two-way pulls at the tab: each opening overshoots by a share of its own, each let-back falls short by one."""
        drag, arm, off = run.knife.friction.pivot_torque, run.knife.blade.tab_arm, self.off
        jerk = 1 + self.stick_slip * self.chance.uniform(size=(2, count))
        noise = off + FORCE * self.chance.standard_normal((2, count))
        opening, back = (
            (run.break_torque + drag) / arm * jerk[0] + noise[0],
            (run.letback_torque - drag) / arm / jerk[1] + noise[1],
        )
        return _readings("two-way pull", **{"opening": opening, "letting back": back})

    def forces(self, run, count=23, off=0.0):
        """Opening force against the blade angle; off: what the gauge reads beyond the truth [N]."""
        angles = np.linspace(0.0, 5.5, count)
        read = np.where(angles > 0, self._step(angles + self.zero + self.shake * self._errors(angles.size), 0), 0.0)
        torque = np.interp(angles, run.angle, run.torque) + run.knife.friction.pivot_torque
        return _readings(
            "force trace",
            angle=read,
            force=torque / run.knife.blade.tab_arm + off + FORCE * self.chance.standard_normal(angles.size),
        )

    def edge(self, radius, oval=0.0, centre=(1.0, 1.0), arc_deg=(0.0, 330.0), count=16):
        """Points picked along a round edge [mm] that a tilt has made shorter by a share, across the first point."""
        turn = np.radians(np.linspace(*arc_deg, count))
        points = np.column_stack([radius * np.cos(turn), radius * (1 - oval) * np.sin(turn)])
        return points + centre + PIXEL * self.chance.standard_normal((count, 2))

    def _errors(self, count):
        """Errors of an angle in standard deviations, that hang together from one reading to the next."""
        kept, fresh = np.exp(-1 / self.drift) if self.drift else 0.0, self.chance.standard_normal(count)
        errors = [fresh[0]]
        for each in fresh[1:]:
            errors.append(kept * errors[-1] + np.sqrt(1 - kept**2) * each)
        return np.array(errors)

    def _step(self, values, which):
        step = self.steps[which]
        return np.round(values / step) * step if step else values


def _readings(kind, **columns):
    return Readings(kind, columns, {}, kind)
