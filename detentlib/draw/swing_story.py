"""The whole swing of one knife with the blade at one angle, ready to be drawn and told."""

import math
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..mechanics.carry import FACE, Detent, crosses, crossing_deg
from ..mechanics.feel import felt
from ..mechanics.lift import EDGE, FLAT, FLOOR, ROUND
from ..mechanics.limits import working
from ..mechanics.sweep import swept
from ..mechanics.swing import swing
from .section import Seat
from .story import WAYS, Story


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


def leavings(knife, swung):
    """Every Leaving of a Knife in its Swing, in the order of the swing."""
    found, detent = [], Detent(knife)
    for i, stretch in enumerate(swung.stretches):
        if stretch.touch != EDGE:
            continue
        ball = knife.balls[stretch.carrier]
        gone = formulas["L7"](
            theta=stands(detent, math.radians(stretch.to_deg))[stretch.carrier],
            run_off=math.radians(ball.run_off_deg),
            track_radius=ball.track_radius,
            ball_radius=ball.radius,
            edge=math.radians(ball.edge_deg),
        ).past
        after = swung.stretches[i + 1 : i + 2]
        low = after[0].gap_from if after else stretch.gap_to
        found.append(Leaving(stretch.carrier, stretch.from_deg, stretch.to_deg, gone, stretch.gap_from - low, after[0].carrier if after else None))
    return found


def stands(detent, theta, sense=1):
    """How far each ball of a Detent has come round on the tang at a blade angle [rad]: the bar stands aside by the rest. sense: +1 opening, −1 closing."""
    turned = detent.relative(theta, sense, detent.shut if sense == 1 else None)
    return {i: each.item() for leaf, own in zip(detent.leaves, turned, strict=True) for i, each in zip(leaf.members, own, strict=True)}


def loads_in(swung, stretch):
    """Least and greatest load [N] of the carrying ball in a Stretch of a Swing."""
    run = swung.opening
    inside = (run.angle_deg >= stretch.from_deg) & (run.angle_deg <= stretch.to_deg) & (run.carrier == stretch.carrier)
    loads = run.load[inside, stretch.carrier]
    return float(loads.min()), float(loads.max())


def told(knife, swung, measure):
    """What touches where, a sentence for each Stretch of the swing."""
    lines = []
    for stretch in swung.stretches:
        said = f"{stretch.from_deg:.2f}° to {stretch.to_deg:.2f}°: {stretch.touching}"
        if stretch.carrier >= 0 and not stretch.shared:
            low, high = (measure.short(load, "N") for load in loads_in(swung, stretch))
            said += f", {low}" if low == high else f", {low} to {high}"
        lines.append(said)
    return lines


class SwingStory(Story):
    """One knife followed from the stop to its opening angle and back, with the angle of now among them.

    swing: its Swing. run and back: Sweep opening and letting back over the same angles; at: index of now; feel: its Feel.
    """

    def __init__(self, knife, angle_deg=0.0, before=None):
        """before: an earlier SwingStory, whose swing serves again if the knife is the same.

        Raises KnifeError for a knife that cannot work.
        """
        same = before is not None and before.knife == knife
        self.knife, self.angle_deg, self.elastic = knife, angle_deg, False
        detent, theta = working(knife), math.radians(angle_deg)
        self.swing, self.feel = (before.swing, before.feel) if same else (swing(knife), felt(detent, knife))
        angles = np.union1d(self.swing.opening.angle_deg, [angle_deg])
        self.at = int(np.searchsorted(angles, angle_deg))
        self.run, self.back = (swept(detent, knife, angles, direction) for direction in ("opening", "closing"))
        self._placed = detent.knife
        self._now = {way: detent.state(theta, sense) for way, sense in WAYS.items()}
        self._stands = {way: stands(detent, theta, sense) for way, sense in WAYS.items()}

    def carrier(self, way="opening"):
        """Index of the ball that carries now, −1 where the bar face lies on the tang."""
        return int(self.turned(way).carrier[self.at])

    def shown(self, way="opening"):
        """Index of the ball that the section shows: the one that carries, else the first."""
        return max(self.carrier(way), 0)

    def stretch(self):
        """Number of the Stretch of now."""
        ends = [stretch.to_deg for stretch in self.swing.stretches]
        return min(int(np.searchsorted(ends, self.angle_deg, side="right")), len(ends) - 1)

    def seat_now(self, way="opening"):
        """What the section of the shown ball shows now: a Seat, whose offset is the way to what it touches."""
        now, i, friction = self._now[way], self.shown(way), self.knife.friction
        lifted, load = now.lifts[i], float(now.loads[i])
        mu = friction.on_flat if int(lifted.touch) in (FLAT, FLOOR) else friction.rim
        return Seat(
            ball=self.knife.balls[i],
            offset=math.copysign(1.0, float(lifted.cos_chi)),
            gap=float(now.gap) if self.carrier(way) == FACE else float(lifted.demand) + float(now.clearances[i]),
            phi=float(lifted.phi) if load > 0 else 0.0,
            load=load,
            push=float(now.pushes[i]),
            lam=math.atan(mu),
            clear=0.0,
            face=float(self.turned(way).face_load[self.at, i]),
            held=bool(lifted.touch == ROUND),
        )

    def tang_at_ball(self, reach, way="opening"):
        """What of the tang lies along the track of the shown ball: ([(Recess, middle)], x of the tang edge or None) [mm].

        x runs the way the ball travels over the tang, from the ball's axis; recesses beyond `reach` are left out. A
        recess off the track counts by its distance, as in a section through both axes.
        """
        i, knife = self.shown(way), self._placed
        theta = self._stands[way][i]
        ball, found = knife.balls[i], []
        for j, other in enumerate(knife.balls):
            if j != i and not crosses(knife, i, j):
                continue
            out = other.track_radius + other.recess.off_track
            travelled = theta - math.radians(crossing_deg(knife, i, j) if j != i else -math.degrees(math.asin(other.recess.rest_offset / out)))
            apart = math.hypot(ball.track_radius - out * math.cos(travelled), out * math.sin(travelled))
            if apart < reach:
                found.append((other.recess, -math.copysign(apart, travelled)))
        if ball.run_off_deg is None:
            return found, None
        past = ball.track_radius * (theta - math.radians(ball.run_off_deg)) * math.sin(math.radians(ball.edge_deg))
        return found, (-past if abs(past) < reach else None)

    def touching(self, measure, way="opening"):
        """What carries now, with its load, and how clear the others are, in words."""
        run, at, theta, carrier = self.turned(way), self.at, self.angle_deg, self.carrier(way)
        said = str(run.touching[at])
        if carrier >= 0:
            said += f" with {measure.say(run.load[at, carrier], 'N')}"
        for i, ball in enumerate(self.knife.balls):
            if run.load[at, i] > 0:
                continue
            off = ball.run_off_deg is not None and theta > ball.run_off_deg
            said += f"; ball {i + 1} is off the tang" if off else f"; ball {i + 1} idle by {measure.say(run.clearance[at, i], 'mm')}"
        return said
