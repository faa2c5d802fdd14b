"""One knife at one moment, ready to be drawn and told: its sweeps both ways, its feel, the seat of each ball, the words."""

import math

import numpy as np

from ...mechanics.feel import feel
from ...mechanics.formulas import formulas
from ...mechanics.lift import lift
from ...mechanics.sweep import sweep
from .section import Seat, recess_profile

# what the choice says: which side of the friction cone the force lies on, and the sweep that belongs to it
WAYS = {"opening": 1, "letting back": -1}
_POINTS = 181


class Story:
    """One knife swept both ways over a fixed range of blade angles, with the angle of now among them.

    run and back: Sweep opening and letting back over the same angles; at: index of now; feel: its Feel.
    """

    def __init__(self, knife, span_deg, angle_deg=0.0, before=None, elastic=False):
        """span_deg: the last blade angle [deg]. before: an earlier Story, whose Feel serves again if the knife is the same.

        elastic: let bar, ball and rim give, so that balls can share (C4).

        Raises KnifeError for a knife that cannot work.
        """
        angles = np.union1d(np.linspace(0.0, span_deg, _POINTS), [angle_deg])
        self.knife, self.angle_deg, self.at = knife, angle_deg, int(np.searchsorted(angles, angle_deg))
        self.run, self.back = (sweep(knife, angles, direction, elastic=elastic) for direction in ("opening", "closing"))
        same = before and before.knife == knife and before.elastic == elastic
        self.feel, self.elastic = before.feel if same else feel(knife, elastic), elastic

    def turned(self, way):
        """The Sweep of a way that the blade turns."""
        return self.run if WAYS[way] > 0 else self.back

    def seat(self, ball, way="opening"):
        """What the section of one ball shows now: a Seat."""
        part, at, run, friction = self.knife.balls[ball], self.at, self.run, self.knife.friction
        theta, phi, load = math.radians(self.angle_deg), math.radians(run.contact_deg[at, ball]), run.load[at, ball]
        cos_chi = float(lift(part, theta).cos_chi)
        mu = friction.rim if phi > 0 else friction.on_flat
        return Seat(
            ball=part,
            offset=math.copysign(self._apart(ball, theta, phi), cos_chi),
            gap=run.demand[at, ball] + run.clearance[at, ball],
            phi=phi,
            load=load,
            push=load * formulas["F2"](phi=phi, mu=WAYS[way] * mu, cos_chi=cos_chi),
            lam=math.atan(mu),
            clear=run.clearance[at, ball],
        )

    def _apart(self, ball, theta, phi):
        """Distance of a ball from the axis of its recess now [mm], with the sideways give that the sweep has settled."""
        part, recess = self.knife.balls[ball], self.knife.balls[ball].recess
        if not recess.chamfer_width:
            return recess.diameter / 2 - self.run.rim_gap[self.at, ball]
        if phi == 0:
            return formulas["L2"](theta=theta, track_radius=part.track_radius, off_track=recess.off_track, rest_offset=recess.rest_offset).distance
        # edge or cone: the profile at the height of the contact
        profile, height = recess_profile(recess, part.diameter), part.protrusion - self.run.demand[self.at, ball] - part.radius * (1 - math.cos(phi))
        return np.interp(height, profile[:, 1], profile[:, 0]) - part.radius * math.sin(phi)

    def newton(self, radius):
        """Length of 1 N of arrow [mm] with which this knife's greatest forces fit a section for balls of this radius [mm]."""
        push = np.abs(self.run.torque).max() / min(ball.track_radius for ball in self.knife.balls)
        return radius * min(1.0 / self.run.load.max(), 0.8 / push)

    def demand_at_first(self, ball):
        """Lift demand of a ball as it is seen at ball 1 [mm]: the clearance there, by the lever of a rigid bar."""
        first, part = self.knife.balls[0], self.knife.balls[ball]
        if part.bar != first.bar:
            return self.run.demand[:, ball]
        return self.run.gap - self.run.clearance[:, ball] * first.hinge_distance / part.hinge_distance

    def work(self, way="opening"):
        """Work of the hand from rest to each angle [n] mJ; letting back, what the hand gets back."""
        angle, torque = self.run.angle_deg, self.turned(way).torque
        done = np.append(0.0, np.cumsum(np.diff(np.radians(angle)) * (torque[1:] + torque[:-1]) / 2))
        return done - np.interp(self.feel.rest_deg, angle, done)

    def stored(self):
        """Energy in the bar above that at rest, at each angle [n] mJ."""
        return self.run.energy - np.interp(self.feel.rest_deg, self.run.angle_deg, self.run.energy)

    def lost(self):
        """What friction takes from rest to the flat and back [mJ]."""
        return np.interp(self.feel.break_out_deg, self.run.angle_deg, self.work("opening") - self.work("letting back"))

    def touching(self, measure):
        """What carries now, and how clear the idle balls are, in words."""
        run, at = self.run, self.at
        carrier, said = run.carrier[at], run.touching[at]
        if carrier >= 0 and run.contact_deg[at, carrier] > 0:
            said += f" at {measure.short(run.contact_deg[at, carrier], 'deg')}"
        idle = [f"ball {i + 1} idle by {measure.say(run.clearance[at, i], 'mm')}" for i in range(len(self.knife.balls)) if run.clearance[at, i] > 0]
        return ", ".join([said, *idle])

    def at_tab(self, way, measure, where="at the tab"):
        """Force at the tab now, in words; where: what to call the place at the end of the tab arm."""
        force = self.turned(way).tab_force[self.at]
        said = measure.say(abs(force), "N")
        if way == "opening":
            return f"{said} {where} opens it further" if force >= 0 else f"it opens further by itself, with {said} {where}"
        return f"it closes against up to {said} {where}" if force > 0 else f"it closes only with {said} of help {where}"

    def feeling(self, measure):
        """Break force, let-back and barrier, in words."""
        told = self.feel
        if told.letback_force is None:
            hold = "let-back not given"
        elif told.letback_force <= 0:
            hold = "does not let back by itself"
        else:
            hold = f"let-back {measure.say(told.letback_force, 'N')}"
        return f"break force {measure.say(told.break_force, 'N')}, {hold}, barrier {measure.short(told.barrier, 'mJ')}"

    def warning(self):
        """The first flag, as a sentence of its own."""
        flags = self.feel.flags
        more = f" (+{len(flags) - 1} more in dl.feel)" if len(flags) > 1 else ""
        return f" Note: {flags[0].rstrip('.')}{more}." if flags else ""
