"""One knife at one moment, ready to be drawn and told: its sweeps both ways, its feel, the seat of each ball."""

import math
from functools import cache

import numpy as np

from ..knife.parts import Knife, Recess
from ..mechanics.carry import FACE, Detent, crosses, crossing_deg
from ..mechanics.feel import Feel, felt
from ..mechanics.lift import ROUND
from ..mechanics.limits import working
from ..mechanics.sweep import Sweep, swept
from ..mechanics.swing import swing
from ..say.measure import Measure
from .section import Seat

# what the choice says: which side of the friction cone the force lies on, and the sweep that belongs to it
WAYS = {"opening": 1, "letting back": -1}
SMOOTH = "no friction"  # in place of a way: opening, with the push of the slope alone
_POINTS = 181
_TURNS = 1e-6  # deg, less than that is no take-up


class Story:
    """One knife swept both ways over a fixed range of blade angles, with the angle of now among them.

    run and back: Sweep opening and letting back over the same angles; at: index of now.
    """

    def __init__(
        self,
        knife: Knife,
        span_deg: float,
        angle_deg: float = 0.0,
        before: "Story | None" = None,
        elastic: bool = False,
        detent: Detent | None = None,
    ):
        """span_deg: the last blade angle [deg]. before: an earlier Story, whose Feel serves again for the same knife.
        elastic: let bar, ball and rim give, so that balls can share (C4). detent: of this knife, where it is known
        already. KnifeError for a knife that cannot work.
        """
        angles = np.union1d(np.linspace(0.0, span_deg, _POINTS), [angle_deg])
        self.knife, self.angle_deg, self.at = knife, angle_deg, int(np.searchsorted(angles, angle_deg))
        self.elastic = elastic
        same = before and before.knife == knife and before.elastic == elastic
        self._ask(angles, before if same else None, detent)

    def _ask(self, angles, before, detent=None):
        """Sweep both ways; the Feel is worked out when it is first asked for, once for all stories of a knife."""
        knife, self._detent = self.knife, before._detent if before else detent or working(self.knife, self.elastic)
        self._felt = before._felt if before else cache(lambda: felt(self._detent, knife))
        self.run, self.back = (swept(self._detent, knife, angles, way) for way in ("opening", "closing"))

    @property
    def feel(self) -> Feel:
        """What the knife feels like."""
        return self._felt()

    def turned(self, way: str) -> Sweep:
        """The Sweep of a way that the blade turns."""
        return self.back if WAYS.get(way) == -1 else self.run

    def seat(self, ball: int, way: str = "opening") -> Seat:
        """What the section of one ball shows now, where the bar has let it stand.

        way: as the blade turns, or SMOOTH: as it opens, with the push that the slope alone would ask for. Where the
        face of the bar lies on the tang beside a rim that sticks, statics leave open how the two share: each way is
        shown with friction turned its own way, and place and torque are the same.
        """
        part, at, run, friction = self.knife.balls[ball], self.at, self.turned(way), self.knife.friction
        load, push, phi = run.load[at, ball], run.push[at, ball], math.radians(run.contact_deg[at, ball])
        mu = friction.rim if phi > 0 else friction.on_flat
        if way == SMOOTH:
            mu, push = 0.0, load * self.wedge()[at]
        return Seat(
            ball=part,
            offset=run.offset[at, ball],
            gap=run.demand[at, ball] + run.clearance[at, ball],
            phi=phi,
            load=load,
            push=push,
            lam=math.atan(mu),
            clear=run.clearance[at, ball],
            face=run.face_load[at, ball],
            held=bool(run.touch[at, ball] == ROUND),
        )

    def newton(self, radius: float) -> float:
        """Length of 1 N of arrow [mm] with which this knife's forces fit a section for balls of this radius [mm]."""
        push = np.abs(self.run.torque).max() / min(ball.track_radius for ball in self.knife.balls)
        return radius * min(1.0 / self.run.load.max(), 0.8 / push)

    def demand_at_first(self, ball: int) -> np.ndarray:
        """Lift demand of a ball as it is seen at ball 1 [mm]: the clearance there, by the lever of a rigid bar."""
        first, part = self.knife.balls[0], self.knife.balls[ball]
        if part.bar != first.bar:
            return self.run.demand[:, ball]
        return self.run.gap - self.run.clearance[:, ball] * first.hinge_distance / part.hinge_distance

    def work(self, way: str = "opening") -> np.ndarray:
        """Work of the hand from rest to each angle [n] mJ; letting back, what the hand gets back."""
        angle, torque = self.run.angle_deg, self.turned(way).torque
        done = np.append(0.0, np.cumsum(np.diff(np.radians(angle)) * (torque[1:] + torque[:-1]) / 2))
        return done - np.interp(self.feel.rest_deg, angle, done)

    def stored(self) -> np.ndarray:
        """Energy in the bar above that at rest, at each angle [n] mJ."""
        return self.run.energy - np.interp(self.feel.rest_deg, self.run.angle_deg, self.run.energy)

    def lost(self) -> float:
        """What friction takes from rest to the flat and back [mJ]."""
        return np.interp(self.feel.break_out_deg, self.run.angle_deg, self.work("opening") - self.work("letting back"))

    def touching(self, measure: Measure, way: str = "opening") -> str:
        """What carries now, and how clear the idle balls are, in words."""
        run, at = self.turned(way), self.at
        carrier, said = run.carrier[at], run.touching[at]
        if carrier >= 0 and run.contact_deg[at, carrier] > 0:
            said += f" at {measure.short(run.contact_deg[at, carrier], 'deg')}"
        if run.face_load[at].any():
            beside = "" if carrier == FACE else ", the bar face on the tang beside it"
            said += f"{beside} with {measure.short(run.face_load[at].max(), 'N')}"
        idle = [(i, clear) for i, clear in enumerate(run.clearance[at], 1) if clear > 0]
        return ", ".join([said, *(f"ball {i} idle by {measure.say(clear, 'mm')}" for i, clear in idle)])

    def wedge(self) -> np.ndarray:
        """Push along the track per newton of bar without friction [n]: the slope of the ball that carries.

        A ball in the middle of its recess is held all round: there it is what the bar, bent sideways, asks for, up to
        that slope.
        """
        run = self.run
        held, steep = (run.touch == ROUND).any(axis=-1), np.abs(run.slope)
        asked = run.push.sum(axis=-1) / np.where(held, run.load.sum(axis=-1), 1.0)
        return np.where(held, np.clip(asked, -steep, steep), run.slope)

    def sticks(self, way: str = "opening") -> bool:
        """True while the rim has not slipped yet, and takes the bar along sideways."""
        return way == "opening" and bool(self.feel.rest_deg <= self.angle_deg < self.feel.take_up_deg - _TURNS)

    def at_tab(self, way: str, measure: Measure, where: str = "at the tab") -> str:
        """Force at the tab now, in words; where: what to call the place at the end of the tab arm."""
        force = self.turned(way).tab_force[self.at]
        said = measure.say(abs(force), "N")
        if way == "opening":
            if self.sticks():
                return f"{said} {where}, the rim still sticking"
            by_itself = f"it opens further by itself, with {said} {where}"
            return f"{said} {where} opens it further" if force >= 0 else by_itself
        return f"it closes against up to {said} {where}" if force > 0 else f"it closes only with {said} of help {where}"

    def feeling(self, measure: Measure) -> str:
        """Break force, let-back and barrier, in words."""
        told = self.feel
        if told.letback_force is None:
            hold = "let-back not given"
        elif told.letback_force <= 0:
            hold = "does not let back by itself"
        else:
            hold = f"let-back {measure.say(told.letback_force, 'N')}"
        return f"break force {measure.say(told.break_force, 'N')}, {hold}, barrier {measure.short(told.barrier, 'mJ')}"

    def warning(self) -> str:
        """The first flag, as a sentence of its own."""
        flags = self.feel.flags
        more = f" (and {len(flags) - 1} more, in the form of notebook 00)" if len(flags) > 1 else ""
        return f" Note: {flags[0]}{more}" if flags else ""


class SwingStory(Story):
    """One knife followed from the stop to its opening angle and back, with the angle of now among them.

    swing: its Swing; the rest as of a Story.
    """

    def __init__(self, knife: Knife, angle_deg: float = 0.0, before: "SwingStory | None" = None):
        """before: an earlier SwingStory, whose swing serves again for the same knife. KnifeError as of a Story."""
        same = before is not None and before.knife == knife
        self.knife, self.angle_deg, self.elastic = knife, angle_deg, False
        self.swing = before.swing if same else swing(knife)
        angles = np.union1d(self.swing.opening.angle_deg, [angle_deg])
        self.at = int(np.searchsorted(angles, angle_deg))
        self._ask(angles, before if same else None)

    def carrier(self, way: str = "opening") -> int:
        """Index of the ball that carries now, −1 where the bar face lies on the tang."""
        return int(self.turned(way).carrier[self.at])

    def shown(self, way: str = "opening") -> int:
        """Index of the ball that the section shows: the one that carries, else the first."""
        return max(self.carrier(way), 0)

    def seat(self, ball: int, way: str = "opening") -> Seat:
        """As of a Story, whose offset is the way to what the ball touches, be it another ball's recess or the edge."""
        return super().seat(ball, way)._replace(offset=math.copysign(1.0, self.turned(way).slope[self.at]))

    def tang_at_ball(self, reach: float, way: str = "opening") -> tuple[list[tuple[Recess, float]], float | None]:
        """What of the tang lies along the track of the shown ball: ([(Recess, middle)], x of the tang edge or None)
        [mm].

        x runs the way the ball travels over the tang, from the ball's axis; recesses beyond `reach` are left out. A
        recess off the track counts by its distance, as in a section through both axes.
        """
        i, knife = self.shown(way), self._detent.knife
        ball, found = knife.balls[i], []
        # the bar stands aside
        theta = math.radians(self.angle_deg) - self.turned(way).side[self.at, i] / ball.track_radius
        for j, other in enumerate(knife.balls):
            if j != i and not crosses(knife, i, j):
                continue
            out = other.track_radius + other.recess.off_track
            middle = math.radians(crossing_deg(knife, i, j)) if j != i else -math.asin(other.recess.rest_offset / out)
            travelled = theta - middle
            apart = math.hypot(ball.track_radius - out * math.cos(travelled), out * math.sin(travelled))
            if apart < reach:
                found.append((other.recess, -math.copysign(apart, travelled)))
        if ball.run_off_deg is None:
            return found, None
        past = ball.track_radius * (theta - math.radians(ball.run_off_deg)) * math.sin(math.radians(ball.edge_deg))
        return found, (-past if abs(past) < reach else None)

    def touching(self, measure: Measure, way: str = "opening") -> str:
        """What carries now, with its load, and how clear the others are, in words."""
        run, at, theta, carrier = self.turned(way), self.at, self.angle_deg, self.carrier(way)
        said = str(run.touching[at])
        if carrier >= 0:
            said += f" with {measure.say(run.load[at, carrier], 'N')}"
        for i, ball in enumerate(self.knife.balls):
            if run.load[at, i] > 0:
                continue
            off = ball.run_off_deg is not None and theta > ball.run_off_deg
            where = "is off the tang" if off else f"idle by {measure.say(run.clearance[at, i], 'mm')}"
            said += f"; ball {i + 1} {where}"
        return said
