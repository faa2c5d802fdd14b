"""One ball in its recess, worked by hand: how far from the middle, how deep it sinks, how steep it sits, what it asks of the bar."""

import math
from dataclasses import dataclass

import numpy as np

from ...mechanics import bar as bars
from ...mechanics import carry
from ...mechanics.formulas import formulas
from ...mechanics.lift import FLAT, FLOOR, RIM, lift


@dataclass(frozen=True)
class Seat:
    """One ball at one moment: sink, demand [mm], contact angle [rad], bar angle it demands, and what its torque needs."""

    ball: int
    demand: float
    phi: float
    cos_chi: float
    pushed: float
    smooth: bool
    psi: float


def seat_by_hand(sheet, knife, bar, spring, i, theta, state, turning=True):
    """Where one ball stands in its recess, how deep it sinks, how steep it sits, and what it asks of the bar; turning: for a torque."""
    ball, lifted = knife.balls[i], state.lifts[i]
    if len(knife.balls) > 1:
        sheet.say(f"Ball {i + 1}:")
    owner, angle, off_track = _recess_below(sheet, knife, i, theta)
    recess = knife.balls[owner].recess
    place = {"theta": angle, "track_radius": ball.track_radius, "off_track": off_track, "rest_offset": recess.rest_offset}
    distance = sheet.by("L2", "How far the ball stands from the middle of the recess:", place, "distance")
    cos_chi = 1.0
    if turning and distance > 0 and (off_track or angle):
        cos_chi = sheet.by("L2", "Share of its travel that goes straight at the rim:", place, "cos_chi", r"\cos\chi")
    distance, pushed = _give(sheet, knife, bar, spring, i, lifted, distance)
    sink, phi, touch = _sink(sheet, ball, recess, distance)
    demand = sheet.by("L6", "Gap between bar face and tang that it demands:", {"protrusion": ball.protrusion, "sink": sink}, "demand", "g")
    psi = sheet.by("B4", "As a bar angle:", {"gap": demand, "parallel_gap": spring.parallel_gap, "hinge_distance": ball.hinge_distance})
    return Seat(i, demand, phi, cos_chi, pushed, touch in (FLAT, FLOOR), psi)


def _recess_below(sheet, knife, i, theta):
    """(owner of the recess that lets ball i sink deepest, angle and off-track error for L2 there); L8 where it is another ball's."""
    own = lift(knife.balls[i], theta).sink
    for j, other in enumerate(knife.balls):
        if j == i or not carry.crosses(knife, i, j):
            continue
        values = {
            "theta": theta,
            "bearing_ball": math.radians(carry.bearing(knife, i)),
            "bearing_other": math.radians(carry.bearing(knife, j)),
            "track_radius": knife.balls[i].track_radius,
            "track_radius_other": other.track_radius,
            "off_track": other.recess.off_track,
        }
        place = formulas["L8"](**values)
        if lift(knife.balls[i], place.theta, recess=other.recess, off_track=place.off_track).sink > own:
            sheet.say(f"It stands over the recess of ball {j + 1}, where it sinks deeper.")
            return j, sheet.by("L8", "Angle to put in there:", values, "theta"), sheet.by("L8", "Off-track error there:", values, "off_track")
    return i, theta, knife.balls[i].recess.off_track


def _give(sheet, knife, bar, spring, i, lifted, distance):
    """(distance after the bar's sideways give, share of the push that is left)."""
    ball, phi = knife.balls[i], float(np.ravel(lifted.phi)[0])
    if not bar.side_compliance:
        return distance, 1.0
    psi = formulas["B4"](gap=float(np.ravel(lifted.demand)[0]), parallel_gap=spring.parallel_gap, hinge_distance=ball.hinge_distance)
    beta = math.radians(ball.track_to_bar_deg)
    alone = formulas["B7"](moment=bars.moment(spring, psi), hinge_distance=ball.hinge_distance, lean_height=bar.lean_height, phi=phi, beta=beta)
    values = {"side_compliance": bar.side_compliance, "load": alone, "phi": phi, "beta": beta}
    sheet.say(
        "The rim pushes the ball sideways and the bar gives a little. Load and contact angle of the next line are those where push and give have settled."
    )
    shift = sheet.by("B6", "The ball gives towards the middle by:", values)
    if shift > distance:
        sheet.say("That is more than there is: the ball stands in the middle, and the rim holds it all round.")
        held = sheet.sum("Share of the push that the rim then makes:", "h", lambda d, q: d / q, {"d": (distance, "mm"), "q": (shift, "mm")}, "")
        return 0.0, held
    return sheet.sum("So it stands", "d'", lambda d, q: d - q, {"d": (distance, "mm"), "q": (shift, "mm")}, "mm"), 1.0


def _sink(sheet, ball, recess, distance):
    """(seat depth, contact angle [rad], what it touches) of a ball at a distance from the middle of a recess."""
    radius = sheet.once(ball, "Radius of the ball:", "R", _halved, {"D": (ball.diameter, "mm")}, "mm")
    bore = sheet.once((ball, recess), "Radius of the bore:", "a", _halved, {"D_r": (recess.diameter, "mm")}, "mm") if recess.diameter else 0.0
    if recess.chamfer_width:
        sink, phi = _on_chamfer(sheet, radius, bore, recess, distance)
    else:
        rim_gap = sheet.sum("Rim gap, from the ball's axis to the rim:", "b", lambda a, d: a - d, {"a": (bore, "mm"), "d": (distance, "mm")}, "mm")
        if rim_gap <= -recess.edge_radius:
            sheet.say("The ball's axis is past the rim: it rides the flat and sinks by nothing.")
            return 0.0, 0.0, FLAT
        sink, phi = _on_edge(sheet, radius, rim_gap, recess.edge_radius)
    if recess.depth is not None and sink > recess.depth:
        sheet.say("The floor is in the way: there the ball sits on level ground, with a contact angle of nothing.")
        return sheet.by("L5", "So it sinks to the floor:", {"sink": sink, "floor_depth": recess.depth}, letter="s"), 0.0, FLOOR
    return sink, phi, RIM if phi else FLAT


def _halved(diameter):
    return diameter / 2


def _on_edge(sheet, radius, rim_gap, rounding):
    """(seat depth, contact angle) at a sharp (L1) or rounded (L3) rim."""
    values, id = {"rim_gap": rim_gap, "ball_radius": radius}, "L1"
    if rounding:
        values, id = values | {"edge_radius": rounding}, "L3"
    phi = sheet.by(id, "Contact angle, from the pole of the ball:", values, "phi")
    return sheet.by(id, "Seat depth, how far the ball is in the recess:", values, "sink"), phi


def _on_chamfer(sheet, radius, bore, recess, distance):
    """(seat depth, contact angle) on the cone of a chamfer, or on the edge above or below it."""
    gamma, width = math.radians(recess.chamfer_deg), recess.chamfer_width
    values = {"distance": distance, "ball_radius": radius, "bore_radius": bore, "chamfer_width": width, "chamfer": gamma}
    reach = sheet.by("L4", "Where the ball would touch the cone, from the middle:", values, "reach")
    if bore <= reach <= recess.rim_radius:
        sheet.say(f"That lies on the chamfer, so the contact angle is that of the cone: φ = {recess.chamfer_deg:g}°.")
        return sheet.by("L4", "Seat depth:", values, "sink"), gamma
    numbers = {"a": (bore, "mm"), "w": (width, "mm"), "d": (distance, "mm")}
    if reach < bore:
        rim_gap = sheet.sum("That is inside the cone: the lower edge carries. Rim gap:", "b", lambda a, d: a - d, {"a": numbers["a"], "d": numbers["d"]}, "mm")
        sink, phi = _on_edge(sheet, radius, rim_gap, 0.0)
        lower = sheet.by("L4", "That edge lies deeper than the tang face by", values, "lower")
        return sheet.sum("So in all:", "s", lambda s, c: s + c, {"s_1": (sink, "mm"), "s_c": (lower, "mm")}, "mm"), phi
    rim_gap = sheet.sum("That is outside the cone: the upper edge carries. Rim gap:", "b", lambda a, w, d: a + w - d, numbers, "mm")
    if rim_gap <= 0:
        sheet.say("The ball's axis is past the rim: it rides the flat and sinks by nothing.")
        return 0.0, 0.0
    return _on_edge(sheet, radius, rim_gap, 0.0)
