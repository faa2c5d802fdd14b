"""What one ball demands of the bar at a blade angle: how deep it sinks, how steep it sits, what it touches."""

from typing import NamedTuple, Protocol

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Ball, Friction, Recess
from ..knife.values import Values

FLAT, RIM, CHAMFER, FLOOR, EDGE, ROUND = range(6)
TOUCH_WORDS = (
    "on the flat",
    "on its rim",
    "on its chamfer",
    "on its floor",
    "on the tang edge",
    "all round on its rim",
)
# Contact and friction angle together. At 90° no push lifts the ball. 1° short of it the push along the track and the
# force on the rim are 57 times the bar's force, some 800 N for a usual bar, where the rim yields, and a hundredth of a
# millimetre of the recess (about 2° on a 1/16 in ball so far down) decides between that and no force at all.
JAM_DEG, JAM_MARGIN_DEG = 90.0, 1.0
_LEFT = 10.0  # a ball that has left the tang counts as this many radii sunk, so that nothing rests on it


class Lift(NamedTuple):
    """One ball at given blade angles; all fields broadcast to the shape of the angles (and knives).

    sink [mm]; demand, the gap that the ball asks for [mm]; phi, contact angle from the pole [rad], 0 on the flat
    and on a floor; cos_chi, share of the travel that goes straight away from the recess axis; rim_gap, ball axis to
    the edge or cone point that carries [mm], not above 0 on the land; touch, one of FLAT, RIM, CHAMFER, FLOOR, EDGE, or
    ROUND where the ball stands in the middle of its recess and rests all round on its rim.
    reach: squared distance of the contact from the pivot over that of the ball, as far as the off-track error moves it.
    """

    sink: Values
    demand: Values
    phi: Values
    cos_chi: Values
    rim_gap: Values
    touch: np.ndarray
    reach: Values = 1.0


class Outline(Protocol):
    """What a rim asks of a recess, so that it need be no part of a knife; [mm] and [deg] as of Recess."""

    diameter: Values
    edge_radius: Values
    chamfer_width: Values
    chamfer_deg: Values
    rim_radius: Values


def lift(ball: Ball, theta: Values, recess: Recess | None = None, off_track: Values | None = None) -> Lift:
    """Lift of one Ball at blade angles theta [rad]; formulas L2 to L6.

    recess and off_track: those of another ball's recess that this ball crosses (L8), its own by default. The numbers of
    the ball may be arrays that broadcast with theta. A rim gap at or above the ball radius is held just below it here:
    mechanics.limits refuses such a knife.

    >>> from detentlib.knife.parts import Ball, Recess
    >>> seated = lift(Ball(1.5875, 0.42, 8.0, 36.4, Recess(1.3208, rest_offset=0.06)), 0.0)
    >>> round(float(seated.sink), 4), round(float(np.degrees(seated.phi)), 2)
    (0.2746, 49.15)
    """
    recess = ball.recess if recess is None else recess
    off_track = recess.off_track if off_track is None else off_track
    with np.errstate(invalid="ignore", divide="ignore"):
        place = formulas["L2"](
            theta=theta, track_radius=ball.track_radius, off_track=off_track, rest_offset=recess.rest_offset
        )
    # exactly in the middle every direction leads away from it: the one-sided share is 1
    cos_chi = np.where(place.distance > 0, place.cos_chi, 1.0)
    sink, phi, rim_gap, touch = on_rim(ball.radius, recess, place.distance)
    if recess.depth is not None:
        floor = sink > recess.depth
        sink = formulas["L5"](sink=sink, floor_depth=recess.depth)
        phi, touch = np.where(floor, 0.0, phi), np.where(floor, FLOOR, touch)
    # exactly in the middle there is no direction that leads off the track
    across = np.where(place.distance > 0, place.across, 0.0)
    reach = 1 + 2 * ball.radius * np.sin(phi) / ball.track_radius * across
    return Lift(sink, formulas["L6"](protrusion=ball.protrusion, sink=sink).demand, phi, cos_chi, rim_gap, touch, reach)


def on_rim(radius: Values, recess: Outline, distance: Values) -> tuple[Values, Values, Values, np.ndarray]:
    """Sink, contact angle, rim gap and touch of a ball at a distance from the axis of a recess, its floor left out
    (L3, L4).
    """
    found = _plain_rim(radius, recess, distance)
    if np.any(np.greater(recess.chamfer_width, 0)):
        beveled = _chamfered(radius, recess, distance)
        found = tuple(np.where(np.greater(recess.chamfer_width, 0), a, b) for a, b in zip(beveled, found, strict=True))
    return found


def push_ratio(lifted: Lift, mu: Values) -> Values:
    """Push along the track per newton of load, friction at the true contact point (F2b); mu with the sign of the
    slip.
    """
    return formulas["F2b"](phi=lifted.phi, mu=mu, cos_chi=lifted.cos_chi, reach=lifted.reach)


def friction_at(friction: Friction, lifted: Lift) -> np.ndarray:
    """Coefficient of friction where each ball touches: that of the flat also on a floor, elsewhere that of the rim."""
    return np.where((lifted.touch == FLAT) | (lifted.touch == FLOOR), friction.on_flat, friction.rim)


def lean(lifted: Lift, load: Values, ratio: Values) -> np.ndarray:
    """Contact and friction angle together [rad] from the opening `push_ratio`; 0 where the ball carries on no rim that
    it climbs.

    On track it is φ + arctan μ, off track less; beyond 90° the ball jams. A rim's contact angle falls as the blade
    opens, so a ball is steepest where a stretch on which it carries begins.
    """
    climbs = (load > 0) & (lifted.touch != FLAT) & (lifted.touch != FLOOR) & (lifted.cos_chi > 0)
    # past 90° the ratio comes back from below zero
    return np.where(climbs, np.mod(np.arctan(ratio), np.pi), 0.0)


def run_off(ball: Ball, theta: Values) -> Lift | None:
    """Lift of a ball past the end of its track (L7), None where it has no run-off angle or stays short of it.

    Before the edge the ball sinks by nothing; past it by its radius or more it has left the tang.
    """
    if ball.run_off_deg is None or np.all(theta < np.radians(ball.run_off_deg)):
        return None
    edge = np.radians(ball.edge_deg)
    ahead = np.maximum(theta, np.radians(ball.run_off_deg))
    gone = ball.track_radius * (ahead - np.radians(ball.run_off_deg)) * np.sin(edge) >= _below(ball.radius)
    held = np.where(gone, np.radians(ball.run_off_deg), ahead)
    place = formulas["L7"](
        theta=held,
        run_off=np.radians(ball.run_off_deg),
        track_radius=ball.track_radius,
        ball_radius=ball.radius,
        edge=edge,
    )
    sink = np.where(gone, _LEFT * ball.radius, place.sink)
    demand = formulas["L6"](protrusion=ball.protrusion, sink=sink).demand
    away = np.broadcast_to(-np.sin(edge), sink.shape)
    return Lift(sink, demand, place.phi, away, place.past, np.where(sink > 0, EDGE, FLAT), np.ones(sink.shape))


def deeper(one: Lift, other: Lift) -> Lift:
    """Of two lifts of the same ball the one that lets it sink deeper, angle by angle (L8)."""
    return Lift(*(np.where(other.sink > one.sink, b, a) for a, b in zip(one, other, strict=True)))


def flat_angle(ball: Ball) -> Values:
    """Blade angle [rad] from which on the ball rides the flat when opening (L2a at the outline of its recess)."""
    recess = ball.recess
    outline = recess.rim_radius + recess.edge_radius
    return formulas["L2a"](
        distance=outline, track_radius=ball.track_radius, off_track=recess.off_track, rest_offset=recess.rest_offset
    )


def middle_angle(ball: Ball) -> Values:
    """Blade angle [rad], from the stop on, at which the ball is nearest to the middle of its recess (L2)."""
    return np.maximum(0.0, -np.arcsin(ball.recess.rest_offset / (ball.track_radius + ball.recess.off_track)))


def _plain_rim(radius, recess, distance):
    """Sharp or rounded rim (L3; with no rounding L1)."""
    rim_gap = recess.diameter / 2 - distance
    carried = np.clip(rim_gap, -recess.edge_radius, _below(radius))
    seat = formulas["L3"](rim_gap=carried, ball_radius=radius, edge_radius=recess.edge_radius)
    return seat.sink, seat.phi, rim_gap, np.where(rim_gap > -recess.edge_radius, RIM, FLAT)


def _chamfered(radius, recess, distance):
    """Upper edge, cone or lower edge of a chamfer (L4), whichever the ball meets."""
    bore, gamma = recess.diameter / 2, np.radians(recess.chamfer_deg)
    cone = formulas["L4"](
        distance=distance, ball_radius=radius, bore_radius=bore, chamfer_width=recess.chamfer_width, chamfer=gamma
    )
    lower, upper = cone.reach < bore, cone.reach > recess.rim_radius
    rim_gap = np.where(lower, bore, recess.rim_radius) - distance
    edge = formulas["L3"](rim_gap=np.clip(rim_gap, 0.0, _below(radius)), ball_radius=radius, edge_radius=0.0)
    on_cone = np.logical_not(lower | upper)  # ~ would spoil a plain bool
    sink = np.where(on_cone, cone.sink, edge.sink + np.where(lower, cone.lower, 0.0))
    phi = np.where(on_cone, gamma, edge.phi)
    rim_gap = np.where(on_cone, cone.reach - distance, rim_gap)
    return sink, phi, rim_gap, np.where(on_cone, CHAMFER, np.where(rim_gap > 0, RIM, FLAT))


def _below(radius):
    """The largest rim gap that still has a contact angle below 90°."""
    return radius * (1 - 1e-9)
