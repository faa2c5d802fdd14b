"""The sweep: everything that happens as the blade turns, angle by angle."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..derivations.formulas import formulas
from ..knife.given import given_angle, given_row, given_word
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.values import Values
from . import carry, limits
from .lift import TOUCH_WORDS

_DEFAULT_ANGLES, _MARGIN = 1001, 1.15
SENSE = {"opening": 1, "closing": -1}


@dataclass(frozen=True, repr=False)
class Sweep:
    """Curves over the blade angle; arrays of length n, those marked [n, balls] with one column per ball.

    angle_deg; gap at ball 1 [mm]; demand [n, balls] lift demand [mm]; clearance [n, balls] of the idle balls [mm]; load
    [n, balls] [N]; carrier, index of the ball with the greatest load, −1 where a bar face lies on the tang; torque
    [N·mm] of the detent, + resists opening; tab_force and stud_force [N] (stud_force None without a stud); energy
    stored in bar and give [mJ], from the bar's free position; touching, in words; slope of the carrying ball along its
    track; contact_deg [n, balls]; rim_gap [n, balls] [mm]; side [n, balls], how far the bar gives sideways along the
    track of each ball [mm]; offset [n, balls], axis of the ball to axis of its recess [mm], + towards the working rim;
    push [n, balls], along the track at each ball [N], + resists opening; face_load [n, balls], of the face of each
    ball's bar where that lies on the tang [N]; touch [n, balls], one of mechanics.lift's FLAT to ROUND. Signs:
    figures/signs.svg.
    """

    angle_deg: np.ndarray
    gap: np.ndarray
    demand: np.ndarray
    clearance: np.ndarray
    load: np.ndarray
    carrier: np.ndarray
    torque: np.ndarray
    tab_force: np.ndarray
    stud_force: np.ndarray | None
    energy: np.ndarray
    touching: np.ndarray
    slope: np.ndarray
    contact_deg: np.ndarray
    rim_gap: np.ndarray
    side: np.ndarray
    offset: np.ndarray
    push: np.ndarray
    face_load: np.ndarray
    touch: np.ndarray
    direction: str

    def __repr__(self):
        """Short and stable, for a notebook."""
        return (
            f"<Sweep {self.direction}, {self.angle_deg.size} angles from {self.angle_deg[0]:g}° to"
            f" {self.angle_deg[-1]:g}°>"
        )


def sweep(
    knife: Knife,
    angle_deg: Values | Sequence[float] | None = None,
    direction: str = "opening",
    attitude_deg: float = 0.0,
    elastic: bool = False,
    turned_at_deg: float | None = None,
) -> Sweep:
    """Turn the blade of one Knife and record what happens.

    angle_deg: blade angles [deg], any order; by default from the stop to all balls on the flat with a margin, the
    other way round when closing. direction: "opening" or "closing", which turns the friction round. attitude_deg:
    tilt of the pivot axis from upright, + when the weight holds the blade shut (F7; needs mass and balance radius).
    elastic: let bar and squash settle together, so that balls can share (C4); otherwise the bar is rigid (C1).
    turned_at_deg: blade angle at which the blade last turned back, having come from shut (closing) or from open
    (opening): the contact remembers, and friction takes a little travel to turn round (B6). By default an opening blade
    comes from shut, where it had snapped shut, and a closing one from open. Raises
    KnifeError for a knife that cannot work. Formulas L2 to L8, B4 to B6, F1, F2, F7.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.3, side_compliance=0), Blade(14.0), Friction(0.0))
    >>> run = sweep(knife, angle_deg=[0.0, 5.0])
    >>> [round(float(torque), 1) for torque in run.torque], list(run.touching)
    ([131.5, 0.0], ['ball 1 on its rim', 'ball 1 on the flat'])
    """
    given_word("direction", direction, SENSE, "the way the blade turns")
    return swept(limits.working(knife, elastic), knife, angle_deg, direction, attitude_deg, turned_at_deg)


def swept(
    detent: carry.Detent,
    knife: Knife,
    angle_deg: Values | Sequence[float] | None = None,
    direction: str = "opening",
    attitude_deg: float = 0.0,
    turned_at_deg: float | None = None,
) -> Sweep:
    """The Sweep of a Knife by its Detent, as `limits.working` gives it: to ask the same knife more than once."""
    if angle_deg is None:
        last = np.degrees(detent.break_out.item())
        angle_deg = np.linspace(0.0, last * _MARGIN, _DEFAULT_ANGLES)[:: SENSE[direction]]
    angle_deg = given_row("angle_deg", angle_deg, "blade angles", "degrees")
    theta = np.radians(angle_deg)
    since = None if turned_at_deg is None else _turned(detent, turned_at_deg, SENSE[direction])
    at = detent.state(theta, SENSE[direction], since)
    torque = at.torque + weight_torque(knife, theta, attitude_deg)
    limits.finite(knife, {"torque": torque})

    def columns(arrays):
        return np.stack([np.broadcast_to(array, theta.shape) for array in arrays], axis=-1)

    load = columns(at.loads)
    carrier = np.where(load.max(axis=-1) > 0, load.argmax(axis=-1), carry.FACE)
    along = columns([np.tan(lifted.phi) * lifted.cos_chi for lifted in at.lifts])
    touch = columns([lifted.touch for lifted in at.lifts])
    blade, side = knife.blade, detent.sideways(at)
    bar_of = [next(row for row, leaf in enumerate(detent.leaves) if i in leaf.members) for i in range(len(knife.balls))]
    return Sweep(
        angle_deg=angle_deg,
        gap=np.broadcast_to(at.gap, theta.shape),
        demand=columns([lifted.demand for lifted in at.lifts]),
        clearance=columns(at.clearances),
        load=load,
        carrier=carrier,
        torque=torque,
        tab_force=formulas["F5"](torque=torque, arm=blade.tab_arm),
        stud_force=None if blade.stud_arm is None else formulas["F5"](torque=torque, arm=blade.stud_arm),
        energy=np.broadcast_to(at.energy, theta.shape),
        touching=_words(carrier, touch, np.broadcast_to(sum(at.face_loads), theta.shape) > 0),
        slope=np.where(
            carrier == carry.FACE, 0.0, np.take_along_axis(along, np.maximum(carrier, 0)[:, None], axis=-1)[:, 0]
        ),
        contact_deg=np.degrees(columns([lifted.phi for lifted in at.lifts])),
        rim_gap=columns([lifted.rim_gap for lifted in at.lifts]),
        side=columns(side),
        offset=columns(
            [
                _offset(ball, theta - taken / ball.track_radius)
                for ball, taken in zip(detent.knife.balls, side, strict=True)
            ]
        ),
        push=columns(at.pushes),
        face_load=columns([at.face_loads[row] for row in bar_of]),
        touch=touch,
        direction=direction,
    )


def _offset(ball, angle):
    """Axis of a ball to the axis of its recess [mm] at relative angles [rad], + towards the working rim (L2)."""
    recess = ball.recess
    with np.errstate(invalid="ignore", divide="ignore"):  # in the middle of the recess no direction leads away from it
        place = formulas["L2"](
            theta=angle, track_radius=ball.track_radius, off_track=recess.off_track, rest_offset=recess.rest_offset
        )
    return np.ravel(np.copysign(place.distance, np.where(place.distance > 0, place.cos_chi, 1.0)))


def _turned(detent, angle_deg, sense):
    """What the contacts remember of a blade that turned back at an angle to move on with the given sense."""
    angle_deg = given_angle("turned_at_deg", angle_deg, "blade angle at which the blade turned back")
    return detent.relative(np.radians(angle_deg), -sense, detent.shut if sense == -1 else None)


def weight_torque(knife: Knife, theta: Values, attitude_deg: float) -> Values:
    """Torque of the blade's weight [N·mm] at blade angles theta [rad] (F7), 0 with the pivot axis upright."""
    attitude_deg = given_angle("attitude_deg", attitude_deg, "tilt of the pivot axis from upright")
    if attitude_deg == 0:
        return 0.0
    blade = knife.blade
    missing = [name for name in ("mass", "balance_radius") if getattr(blade, name) is None]
    if missing:
        raise KnifeError(
            [
                Problem(
                    f"blade.{name}",
                    "",
                    f"is not known, but an attitude of {attitude_deg:g}° asks for the blade's weight",
                    "",
                    "Weigh and balance the blade, or keep the pivot axis upright.",
                )
                for name in missing
            ],
            knife.title,
        )
    return formulas["F7"](
        mass=blade.mass, balance_radius=blade.balance_radius, attitude=np.radians(attitude_deg), theta=theta
    )


def _words(carrier, touch, landed):
    """What carries, in words."""
    table = np.array(
        [[f"ball {ball + 1} {words}" for words in TOUCH_WORDS] for ball in range(touch.shape[-1])], dtype=object
    )
    ball = np.maximum(carrier, 0)
    said = table[ball, np.take_along_axis(touch, ball[:, None], axis=-1)[:, 0]]
    return np.where(carrier == carry.FACE, np.where(landed, "bar face on the tang", "bar clear of the tang"), said)
