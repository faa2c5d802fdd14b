"""One ball in its recess, worked by hand: how far from the middle, how deep it sinks, how steep it sits, what it asks of the bar."""

import math
from dataclasses import dataclass

import numpy as np

from ...mechanics import carry
from ...mechanics.formulas import formulas
from ...mechanics.lift import FLAT, FLOOR, RIM, ROUND, lift


@dataclass(frozen=True)
class Seat:
    """One ball at one moment: sink, demand [mm], contact angle [rad], bar angle it demands, and what its torque needs."""

    ball: int
    demand: float
    phi: float
    cos_chi: float
    reach: float
    smooth: bool
    all_round: bool
    psi: float


def seat_by_hand(sheet, knife, spring, i, theta, omega, state, turning=True):
    """Where one ball stands in its recess, how deep it sinks, how steep it sits, and what it asks of the bar; turning: for a torque."""
    ball, lifted = knife.balls[i], state.lifts[i]
    if len(knife.balls) > 1:
        sheet.say(f"Ball {i + 1}:")
    theta = _taken_along(sheet, ball, theta, omega)
    owner, angle, off_track = _recess_below(sheet, knife, i, theta)
    recess = knife.balls[owner].recess
    place = {"theta": angle, "track_radius": ball.track_radius, "off_track": off_track, "rest_offset": recess.rest_offset}
    distance = sheet.by("L2", "How far the ball stands from the middle of the recess:", place, "distance")
    cos_chi = 1.0
    if turning and distance > 0 and (off_track or angle):
        cos_chi = sheet.by("L2", "Share of its travel that goes straight at the rim:", place, "cos_chi", r"\cos\chi")
    sink, phi, touch = _sink(sheet, ball, recess, distance)
    demand = sheet.by("L6", "Gap between bar face and tang that it demands:", {"protrusion": ball.protrusion, "sink": sink}, "demand", "g")
    psi = sheet.by("B4", "As a bar angle:", {"gap": demand, "parallel_gap": spring.parallel_gap, "hinge_distance": ball.hinge_distance})
    reach = float(np.ravel(lifted.reach)[0])
    return Seat(i, demand, phi, cos_chi, reach, touch in (FLAT, FLOOR), int(np.ravel(lifted.touch)[0]) == ROUND, psi)


def _taken_along(sheet, ball, theta, omega):
    """Angle of the blade against the ball [rad]: the blade angle less what the bar's sideways turn takes the ball along."""
    if not omega:
        return theta
    across = math.sin(math.radians(ball.track_to_bar_deg))
    numbers = {r"\theta": (math.degrees(theta), "deg"), r"\omega": (math.degrees(omega), "deg"), "L": (ball.hinge_distance, "mm")}
    numbers |= {r"\rho": (ball.track_radius, "mm")} | ({} if across == 1 else {"s": (across, "")})
    said = "The bar's turn takes the ball along; against the ball the blade stands at"
    return math.radians(sheet.sum(said, r"\theta'", lambda theta, omega, L, rho, *across: theta - omega * L * math.prod(across) / rho, numbers, "deg"))


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
