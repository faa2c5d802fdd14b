"""Every formula two ways: the derived expression against a numeric reckoning that does not use it."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq, fsolve, minimize_scalar, nnls

from detentlib import LockBar, formulas
from detentlib.derivations.formulas import Formula, formula
from detentlib.derivations.typeset import latex
from tests import referee
from tests.knives import A

STEP = 1e-6


def slope(function, at, step=STEP):
    return (function(at + step) - function(at - step)) / (2 * step)


def l1(v):
    def sink(b):
        return brentq(lambda s: b**2 + (v.ball_radius - s) ** 2 - v.ball_radius**2, 0, v.ball_radius, xtol=1e-15)

    steep = slope(sink, v.rim_gap)
    return sink(v.rim_gap), np.arctan(steep), steep


def l2_distance(theta, v):
    out = v.track_radius + v.off_track
    behind = theta + np.arcsin(v.rest_offset / out)
    return abs(v.track_radius - out * np.exp(-1j * behind))


def l2(v):
    out = v.track_radius + v.off_track
    behind = np.exp(-1j * (v.theta + np.arcsin(v.rest_offset / out)))
    # the arc of the track bends inwards, off-track error or not
    aside = (v.track_radius - out * behind).real - v.track_radius * (1 - behind).real
    distance = l2_distance(v.theta, v)
    return distance, slope(lambda theta: l2_distance(theta, v), v.theta) / v.track_radius, aside / distance


def l2a(v):
    v.distance = abs(v.off_track) + v.beyond
    closest = -np.arcsin(v.rest_offset / (v.track_radius + v.off_track))
    return brentq(lambda theta: l2_distance(theta, v) - v.distance, closest, closest + 0.5, xtol=1e-15)


def l3(v):
    def sink(b):
        def over(turn):
            across, deep = v.edge_radius * (1 - np.cos(turn)), v.edge_radius * (1 - np.sin(turn))
            return deep + v.ball_radius - np.sqrt(v.ball_radius**2 - (b + across) ** 2)

        return minimize_scalar(over, bounds=(0, np.pi / 2), method="bounded", options={"xatol": 1e-12}).fun

    return sink(v.rim_gap), np.arctan(slope(sink, v.rim_gap, 1e-5))


def l4(v):
    def over(q):
        return (
            (v.bore_radius + v.chamfer_width - q) * np.tan(v.chamfer)
            + v.ball_radius
            - np.sqrt(v.ball_radius**2 - (q - v.distance) ** 2)
        )

    ends = (v.distance, v.distance + v.ball_radius)
    found = minimize_scalar(over, bounds=ends, method="bounded", options={"xatol": 1e-12})
    return (
        found.fun,
        found.x,
        over(v.bore_radius) - (v.ball_radius - np.sqrt(v.ball_radius**2 - (v.bore_radius - v.distance) ** 2)),
    )


def l7(v):
    v.theta = v.run_off + v.ahead

    def past(theta):
        moved = v.track_radius * (theta - v.run_off) * np.array([1.0, 0.0])
        return abs(np.cross([*moved, 0.0], [np.cos(v.edge), np.sin(v.edge), 0.0])[2])

    def sink(q):
        return brentq(lambda s: q**2 + (v.ball_radius - s) ** 2 - v.ball_radius**2, 0, v.ball_radius, xtol=1e-15)

    return past(v.theta), sink(past(v.theta)), np.arctan(slope(sink, past(v.theta)))


def l8(v):
    recess = (v.track_radius_other + v.off_track) * np.exp(1j * (v.bearing_other + v.theta))
    ball = v.track_radius * np.exp(1j * v.bearing_ball)
    return np.angle(recess / ball), abs(recess) - abs(ball)


def b1(v):
    bar = LockBar(10.0, v.relief_thickness, v.relief_length, v.width, v.thickness, v.youngs_modulus)
    v.near_arm, v.far_arm = sorted((v.near_arm, v.far_arm))
    return referee.stepped_cantilever(bar, [v.near_arm, v.far_arm], 3)[0, 1]


def b1a(v):
    """Two points of the stepped bar, by its bending summed up: beyond the load it is straight."""
    bar = LockBar(10.0, v.relief_thickness, v.relief_length, v.width, v.thickness, v.youngs_modulus)
    at, further, furthest = (
        referee.stepped_cantilever(bar, [v.hinge_distance, v.hinge_distance + more])[0, 1] for more in (0, 20, 40)
    )
    assert furthest - further == pytest.approx(further - at, rel=1e-8)
    return (furthest - at) / 40


def b2(v):
    v.long_side, v.short_side = sorted((v.long_side, v.short_side), reverse=True)
    m, n = np.meshgrid(np.arange(1, 1200, 2), np.arange(1, 1200, 2))
    b, t = v.long_side, v.short_side
    return 256 * b * t / np.pi**6 * np.sum(1 / (m**2 * n**2 * (m**2 / b**2 + n**2 / t**2)))


def b3(v):
    return np.polyfit([0.0, v.lift], [v.force_low, v.force_high], 1)[0]


def b5(v):
    gap_beyond_riding = (v.psi - v.psi_ride) * v.hinge_distance_1
    rate = v.kappa / v.hinge_distance_1**2
    return (v.riding_force + rate * gap_beyond_riding) * v.hinge_distance_1


def b6a(v):
    bar = LockBar(10.0, v.relief_thickness, v.relief_length, v.width, v.thickness, v.youngs_modulus)
    return referee.stepped_cantilever(bar, [v.hinge_distance], 3, sideways=True)[0, 0]


def b6(v):
    """The bar lies along y and turns clockwise, seen from above, until its spring balances the push of the rim."""
    ball, track = np.array([0.0, v.hinge_distance, 0.0]), np.array([np.sin(v.beta), np.cos(v.beta), 0.0])
    omega = brentq(lambda omega: v.kappa_side * omega + np.cross(ball, v.load * v.push * track)[2], -1, 1, xtol=1e-16)
    return omega, np.cross([0.0, 0.0, -omega], ball) @ track


def b6c(v):
    """Blade turned until the bar, bent along by a rim that sticks, pushes back as hard as a sliding rim would push."""
    at_rest = v.load * referee.push_ratio(v.phi, -v.mu, 1.0)

    def short(turn):
        return at_rest + v.track_radius * turn / v.side_compliance - v.load * referee.push_ratio(v.phi, v.mu, 1.0)

    return brentq(short, 0, 1, xtol=1e-16)


def b6d(v):
    def unbalanced(offset):
        return (v.rest_offset - offset) / v.side_compliance - v.load * referee.push_ratio(v.phi, -v.mu, 1.0)

    return brentq(unbalanced, v.rest_offset - 1, v.rest_offset + 1, xtol=1e-16)


def b6f(v):
    """How much the rim's push grows with the rim gap, over how much the bar's hold grows."""

    def push(gap):
        return v.load * referee.push_ratio(np.arcsin(gap / v.ball_radius), 0.0, 1.0)

    return slope(push, v.ball_radius * np.sin(v.phi)) * v.side_compliance


def b9(v):
    """A straight tang on a round pin whose centre stays: turned about the pivot until it lies on the pin again."""
    pin = 3.0
    centre = np.array([v.stop_radius, -pin / 2])

    def turn(change):
        def clear(angle):
            """Distance of the pin's centre from the line of the tang, less the pin's radius."""
            return np.sin(angle) * centre[0] - np.cos(angle) * centre[1] - (pin + change) / 2

        return brentq(clear, -0.1, 0.1, xtol=1e-16)

    turned = slope(turn, 0.0, 1e-3) * v.pin_change
    return turned, v.track_radius * turned


def c1a(v):
    arms = np.array([[v.hinge_distance_1, v.hinge_distance_2], [0.0, v.hinge_distance_2]])
    loads = np.linalg.solve(arms, [v.moment, v.share * v.moment])
    return loads @ [v.rise_1, v.rise_2], *loads


def c2(v):
    def both_touch(x):
        travel, sink = x
        gaps = v.rim_gap_1 - travel, v.rim_gap_1 - v.rim_lead - travel
        return [
            gaps[0] ** 2 + (v.ball_radius - sink) ** 2 - v.ball_radius**2,
            gaps[1] ** 2 + (v.ball_radius - sink + v.height_difference) ** 2 - v.ball_radius**2,
        ]

    travel, _ = fsolve(both_touch, [v.rim_gap_1 / 2, 0.1], xtol=1e-13)
    first = np.arcsin((v.rim_gap_1 - travel) / v.ball_radius)
    return first, np.arcsin((v.rim_gap_1 - v.rim_lead - travel) / v.ball_radius), travel


def c3(v):
    def sink(gap):
        return v.ball_radius - np.sqrt(v.ball_radius**2 - gap**2)

    return brentq(
        lambda lead: sink(v.rim_gap_1) - v.height_difference - sink(v.rim_gap_1 - lead), 0, v.rim_gap_1, xtol=1e-15
    )


def c4(v):
    """Each load bends the bar at both balls: undo it one ball at a time until nothing moves any more."""
    v.compliance_12 = 0.5 * np.sqrt(v.compliance_11 * v.compliance_22)
    loads = np.zeros(2)
    for _ in range(200):
        loads[0] = (v.lift_1 - v.compliance_12 * loads[1]) / v.compliance_11
        loads[1] = (v.lift_2 - v.compliance_12 * loads[0]) / v.compliance_22
    return loads


def c6(v):
    """Where the bar stands level under a load: turned by no angle, from the stiffness matrix of bar and springs."""
    stiffness = np.array(
        [[v.rate_1 + v.rate_2, v.rate_2 * v.distance], [v.rate_2 * v.distance, v.rate_2 * v.distance**2]]
    )
    return brentq(lambda place: np.linalg.solve(stiffness, [1.0, place])[1], 0, v.distance, xtol=1e-14)


def c5(v):
    v.compliance_12 = 0.97 * np.sqrt(v.compliance_11 * v.compliance_22)
    matrix = np.array([[v.compliance_11, v.compliance_12], [v.compliance_12, v.compliance_22]])

    def loads(lift_2):
        return np.linalg.solve(matrix, [v.compliance_11 * v.load, lift_2])

    low, high = (brentq(lambda lift, i=i: loads(lift)[i], 0, 10 * v.compliance_22 * v.load, xtol=1e-15) for i in (1, 0))
    middle = [v.compliance_11 * v.load, (low + high) / 2]
    assert np.all(nnls(matrix, middle)[0] > 0)
    return high - low


def f2b(v):
    """Ball on a rim point somewhere round the pivot: the referee's balances with the pivot 1 mm from the ball's
    axis.
    """
    outward = np.sign(v.side) * np.sqrt(1 - v.cos_chi**2)
    contact = np.array([1 + v.gap * outward, v.gap * v.cos_chi, 0.0])
    v.reach = contact @ contact
    normal = np.array([np.sin(v.phi) * outward, np.sin(v.phi) * v.cos_chi, np.cos(v.phi)])
    slip = np.cross([0.0, 0.0, 1.0], contact)
    slip[2] = -(slip @ normal) / normal[2]
    pressed = normal + v.mu * slip / np.linalg.norm(slip)
    return np.cross(contact, pressed / pressed[2])[2]


def f3(v):
    def held(phi):
        """Bar force that one newton of pressure at the contact can hold while the ball slides up the rim."""
        normal, slip = np.array([np.sin(phi), np.cos(phi)]), np.array([np.cos(phi), -np.sin(phi)])
        return (normal + v.mu * slip)[1]

    return brentq(held, 0.1, np.pi / 2, xtol=1e-14)


def f10(v):
    """Four balances as one set of equations, each face with its two directions."""
    slope, up = np.array([-np.cos(v.wedge), np.sin(v.wedge)]), np.array([np.sin(v.wedge), np.cos(v.wedge)])
    face = -(up - v.mu_face * slope)  # on the wedge, square and along; the block gets the reverse
    rows = np.array(
        [
            [0.0, -face[0], 0.0, -1.0],
            [0.0, -face[1], 0.0, -v.mu_wall],
            [1.0, face[0], -v.mu_floor, 0.0],
            [0.0, face[1], 1.0, 0.0],
        ]
    )
    return np.linalg.solve(rows, [0.0, v.load, 0.0, 0.0])


def f5a(v):
    v.drag *= v.load * v.track_radius

    def pull(band):
        phi = np.arcsin(band / (v.ball_radius + v.edge_radius))
        return v.load * v.track_radius * referee.push_ratio(phi, -v.mu, 1.0) - v.drag

    return brentq(pull, 0, 0.9 * v.ball_radius, xtol=1e-14)


def f6(v):
    v.opening = 100 * referee.push_ratio(v.phi, v.true, 1.0)
    v.letback = 100 * referee.push_ratio(v.phi, -v.true, 1.0)
    return v.true


def f7(v):
    def raised(theta):
        lying = np.array([np.sin(theta), np.cos(theta)]) * v.balance_radius
        return 9.80665e-3 * v.mass * (lying @ [np.sin(v.attitude), 0.0])

    return slope(raised, v.theta)


def e3(v):
    def push(travel):
        gap = v.ball_radius * np.sin(v.phi) - travel
        return v.load * referee.push_ratio(np.arcsin(gap / v.ball_radius), np.tan(v.lam), 1.0)

    return quad(push, 0, v.ball_radius * np.sin(v.phi), epsabs=1e-12)[0]


def s1(v):
    """Spot from the handbook rule; the pressure over it must press in by the squash (Boussinesq) and add up to the
    load.
    """
    spot = (3 * v.load * v.ball_radius / (4 * v.modulus)) ** (1 / 3)
    peak = v.load / quad(lambda r: 2 * np.pi * r * np.sqrt(1 - (r / spot) ** 2), 0, spot)[0]
    middle = quad(lambda r: 2 * peak * np.sqrt(1 - (r / spot) ** 2) / v.modulus, 0, spot)[0]
    return middle, spot, peak


def s1b(v):
    """An ellipse of half axes 1 and k, unit load and modulus: Hertz' pressure as an integral over confocal ellipses."""
    a2, b2 = 1.0, v.axis_ratio**2
    scale = 3 / (2 * np.pi)

    def whole(power_a, power_b):
        # w = u² takes the root out of the lower end
        return quad(
            lambda u: 2 * (a2 + u**2) ** -power_a * (b2 + u**2) ** -power_b, 0, np.inf, epsabs=1e-13, epsrel=1e-12
        )[0]

    along, across, approach = scale * whole(1.5, 0.5), scale * whole(0.5, 1.5), scale / 2 * whole(0.5, 0.5)
    radius = 1 / np.sqrt(along * across)
    round_spot = (3 * radius / 4) ** (1 / 3)
    return across / along, np.sqrt(v.axis_ratio) / round_spot, approach / (round_spot**2 / radius)


def s1c(v):
    """Gap between the ball and the rounding of the rim, measured on the tangent plane either side of the contact."""
    tube = np.array([v.bore_radius + v.edge_radius, 0.0, v.edge_radius])
    normal = np.array([-np.sin(v.phi), 0.0, -np.cos(v.phi)])
    contact = tube + v.edge_radius * normal
    centre = contact + v.ball_radius * normal

    def gap(point):
        to_tube = np.hypot(np.hypot(point[0], point[1]) - tube[0], point[2] - tube[2]) - v.edge_radius
        return np.linalg.norm(point - centre) - v.ball_radius + to_tube

    def opening(way, step):
        return (gap(contact + step * way) + gap(contact - step * way)) / step**2

    step = 3e-3 * v.edge_radius
    ways = np.array([0.0, 1.0, 0.0]), np.array([np.cos(v.phi), 0.0, -np.sin(v.phi)])
    return [(4 * opening(way, step) - opening(way, 2 * step)) / 3 for way in ways]


def s2(v):
    def pressure(load):
        return s1(SimpleNamespace(load=load, ball_radius=v.ball_radius, modulus=v.modulus))[2]

    return brentq(lambda load: pressure(load) - v.pressure, 1e-3, 1e4, xtol=1e-12)


def s3a(v):
    """Fibre stress by statics of the section in strips: rising from the middle as a straight line, their moments add
    up.
    """
    edges = np.linspace(-v.width / 2, v.width / 2, 20_001)
    middle = (edges[1:] + edges[:-1]) / 2
    per_unit = np.sum(middle**2 * np.diff(edges) * v.relief_thickness)
    return v.side_push * (v.hinge_distance + v.relief_length / 2) / per_unit * v.width / 2


def s3(v):
    inertia = quad(lambda z: v.width * z**2, -v.relief_thickness / 2, v.relief_thickness / 2)[0]
    return v.load * (v.hinge_distance + v.relief_length / 2) * v.relief_thickness / 2 / inertia


def d1(v):
    """In kg, m, s."""
    ahead = v.finger_speed * 1e-3 * v.time - v.arm * 1e-3 * v.gone
    return (max(v.finger_stiffness * 1e3 * ahead, 0.0) * v.arm * 1e-3 - v.resistance * 1e-3) / (v.inertia * 1e-9)


def d2(v):
    """In kg, m, s."""
    return v.torque * 1e-3 / (v.mass * 1e-3 * v.balance_radius * 1e-3)


def d3(v):
    """In kg, m, s: fall, stop dead, and what turning is left."""
    mass, arm, inertia = v.mass * 1e-3, v.balance_radius * 1e-3, v.inertia * 1e-9

    def turning(height):
        speed = np.sqrt(2 * 9.80665 * height)
        return inertia * (mass * speed * arm / inertia) ** 2 / 2

    return 1e3 * brentq(lambda height: turning(height) - v.work * 1e-3, 0, 10, xtol=1e-15)


RADIUS, PHI, MU, LOAD, TRACK, ARM, INERTIA = (0.5, 1.2), (0.1, 1.0), (0.0, 0.3), (5, 25), (6, 12), (30, 50), (3e4, 2e5)
SIDE = (0.001, 0.006)
BAR = {
    "relief_length": (4, 9),
    "relief_thickness": (0.9, 1.6),
    "thickness": (2.5, 4),
    "width": (5, 9),
    "youngs_modulus": (1e5, 2.1e5),
}
PLACE = {"track_radius": TRACK, "off_track": (-0.1, 0.1), "rest_offset": (-0.05, 0.1)}
DEMAND = {"moment": (300, 700), "kappa": (8e3, 2e4)}
# ID: (ranges of the inputs, the other way); a range of a name that is no input is for the other way alone
CASES = {
    "L1": ({"rim_gap": (0.05, 0.45), "ball_radius": RADIUS}, l1),
    "L2": ({"theta": (0.01, 0.1), **PLACE}, l2),
    "L2a": ({"beyond": (0.05, 0.9), **PLACE}, l2a),
    "L3": ({"rim_gap": (0.02, 0.4), "ball_radius": RADIUS, "edge_radius": (0.02, 0.3)}, l3),
    "L4": (
        {
            "distance": (0.0, 0.1),
            "ball_radius": RADIUS,
            "bore_radius": (0.2, 0.4),
            "chamfer_width": (0.05, 0.3),
            "chamfer": (0.3, 1.1),
        },
        l4,
    ),
    "L5": ({"sink": (0.1, 0.3), "floor_depth": (0.1, 0.3)}, lambda v: sorted([v.sink, v.floor_depth])[0]),
    "L6": (
        {"protrusion": (0.1, 0.4), "sink": (0.1, 0.4)},
        lambda v: (v.protrusion - v.sink, max(v.protrusion - v.sink, 0)),
    ),
    "L7": (
        {
            "ahead": (0.0, 0.06),
            "run_off": (2.5, 3.1),
            "track_radius": (6, 8),
            "ball_radius": RADIUS,
            "edge": (0.5, 1.57),
        },
        l7,
    ),
    "L8": (
        {
            "theta": (0, 2),
            "bearing_ball": (-0.2, 0.2),
            "bearing_other": (-0.2, 0.2),
            "track_radius": TRACK,
            "track_radius_other": TRACK,
            "off_track": (-0.1, 0.1),
        },
        l8,
    ),
    "B1": ({"near_arm": ARM, "far_arm": ARM, **BAR}, b1),
    "B1a": ({"hinge_distance": ARM, **BAR}, b1a),
    "B2": ({"long_side": (3, 9), "short_side": (0.9, 4)}, b2),
    "B2a": (
        {
            "side_offset_1": (-3, 3),
            "side_offset_2": (-3, 3),
            "relief_length": (4, 9),
            "shear_modulus": (4e4, 8e4),
            "twist_constant": (1, 4),
        },
        lambda v: np.trapezoid(
            [v.side_offset_2 * v.side_offset_1 / (v.shear_modulus * v.twist_constant)] * 9,
            np.linspace(0, v.relief_length, 9),
        ),
    ),
    "B3": ({"force_high": (15, 20), "force_low": (10, 15), "lift": (0.1, 0.5)}, b3),
    "B4": (
        {"gap": (0, 0.4), "parallel_gap": (0, 0.4), "hinge_distance": ARM},
        lambda v: np.polyfit([0, v.hinge_distance], [v.parallel_gap, v.gap], 1)[0],
    ),
    "B4a": (
        {"rate": (5, 15), "hinge_distance_1": ARM},
        lambda v: slope(lambda psi: v.rate * psi * v.hinge_distance_1 * v.hinge_distance_1, 0.0),
    ),
    "B5": (
        {
            "psi": (-0.01, 0.01),
            "psi_ride": (-0.01, 0.01),
            "riding_force": LOAD,
            "hinge_distance_1": ARM,
            "kappa": (8e3, 2e4),
        },
        b5,
    ),
    "B6a": ({"hinge_distance": ARM, **BAR}, b6a),
    "B6b": (
        {"side_compliance": SIDE, "hinge_distance_1": ARM},
        lambda v: slope(lambda omega: omega * v.hinge_distance_1 / v.side_compliance * v.hinge_distance_1, 0.0),
    ),
    "B6": (
        {"load": LOAD, "hinge_distance": ARM, "push": (-0.3, 1.6), "beta": (0.3, 2.8), "kappa_side": (1e5, 1e6)},
        b6,
    ),
    "B6c": ({"phi": PHI, "mu": MU, "load": LOAD, "side_compliance": SIDE, "track_radius": TRACK}, b6c),
    "B6d": ({"rest_offset": (-0.05, 0.2), "side_compliance": SIDE, "load": LOAD, "phi": PHI, "mu": MU}, b6d),
    "B6f": ({"side_compliance": SIDE, "load": LOAD, "ball_radius": RADIUS, "phi": PHI}, b6f),
    "B9": ({"pin_change": (-0.002, 0.002), "stop_radius": (8, 16), "track_radius": TRACK}, b9),
    "C1": (
        {"psi": (0.005, 0.01), "psi_ball": (0.0, 0.005), "hinge_distance": ARM},
        lambda v: v.hinge_distance * v.psi - v.hinge_distance * v.psi_ball,
    ),
    "C1a": (
        {
            "moment": (300, 700),
            "share": (0, 1),
            "hinge_distance_1": ARM,
            "hinge_distance_2": ARM,
            "rise_1": (-5, 10),
            "rise_2": (-5, 10),
        },
        c1a,
    ),
    "C2": (
        {
            "height_difference": (0.03, 0.06),
            "rim_lead": (0.06, 0.12),
            "ball_radius": (0.7, 0.9),
            "rim_gap_1": (0.55, 0.65),
        },
        c2,
    ),
    "C3": ({"rim_gap_1": (0.5, 0.65), "height_difference": (0.0, 0.1), "ball_radius": (0.75, 0.9)}, c3),
    "C4": ({"lift_1": (0.5, 2), "lift_2": (0.5, 2), "compliance_11": (0.08, 0.2), "compliance_22": (0.08, 0.2)}, c4),
    "C5": ({"load": LOAD, "compliance_11": (0.08, 0.2), "compliance_22": (0.08, 0.2)}, c5),
    "C6": ({"distance": (5, 40), "rate_1": (2, 40), "rate_2": (2, 40)}, c6),
    "F1": (
        {"load": LOAD, "track_radius": TRACK, "phi": PHI, "cos_chi": (0.1, 1)},
        lambda v: v.load * v.track_radius * referee.push_ratio(v.phi, 0.0, v.cos_chi),
    ),
    "F2": ({"phi": PHI, "mu": (-0.3, 0.3), "cos_chi": (-1, 1)}, lambda v: referee.push_ratio(v.phi, v.mu, v.cos_chi)),
    "F2b": ({"phi": PHI, "mu": (-0.3, 0.3), "cos_chi": (-1, 1), "gap": (0, 0.2), "side": (-1, 1)}, f2b),
    "F3": ({"mu": (0.02, 0.5)}, f3),
    "F4": (
        {"load": LOAD, "track_radius": TRACK, "mu": MU},
        lambda v: v.load * v.track_radius * referee.push_ratio(0.0, v.mu, 1.0),
    ),
    "F5": ({"torque": (-200, 200), "arm": (10, 16)}, lambda v: np.linalg.solve([[v.arm]], [v.torque])[0]),
    "F5a": (
        {
            "ball_radius": RADIUS,
            "edge_radius": (0.0, 0.1),
            "mu": MU,
            "drag": (0, 0.05),
            "load": LOAD,
            "track_radius": TRACK,
        },
        f5a,
    ),
    "F6": ({"phi": (0.5, 1.0), "true": (0.03, 0.2)}, f6),
    "F7": ({"mass": (20, 60), "balance_radius": (28, 50), "attitude": (-1.5, 1.5), "theta": (0, 3)}, f7),
    "F8": (
        {"load": LOAD, "phi": PHI, "washer": MU, "washer_radius": (3, 6), "pin": MU, "pin_radius": (1.5, 3)},
        lambda v: (
            np.array([v.washer * v.washer_radius, v.pin * v.pin_radius])
            @ [v.load, v.load * np.sin(v.phi) / np.cos(v.phi)]
        ),
    ),
    "F9": ({"peak": (100, 200), "drag": (0, 20)}, lambda v: 1 - v.drag / v.peak),
    "F10": (
        {"load": LOAD, "wedge": (0.05, 0.6), "mu_face": (-0.3, 0.3), "mu_floor": (-0.3, 0.3), "mu_wall": (-0.3, 0.3)},
        f10,
    ),
    "E1": (DEMAND, lambda v: quad(lambda psi: v.kappa * psi, 0, v.moment / v.kappa)[0]),
    "E1a": (
        {"kappa_side": (1e5, 1e6), "omega": (-0.005, 0.005)},
        lambda v: quad(lambda turned: v.kappa_side * turned, 0, v.omega)[0],
    ),
    "E3": ({"load": LOAD, "ball_radius": RADIUS, "phi": PHI, "lam": (0.01, 0.25)}, e3),
    "S1a": (
        {
            "youngs_modulus_1": (1e5, 2e5),
            "poisson_1": (0.2, 0.35),
            "youngs_modulus_2": (1e5, 2e5),
            "poisson_2": (0.2, 0.35),
        },
        lambda v: (
            1 / sum((1 - nu**2) / e for e, nu in ((v.youngs_modulus_1, v.poisson_1), (v.youngs_modulus_2, v.poisson_2)))
        ),
    ),
    "S1": ({"load": LOAD, "ball_radius": RADIUS, "modulus": (8e4, 1.5e5)}, s1),
    "S1b": ({"axis_ratio": (0.05, 0.95)}, s1b),
    "S1c": ({"ball_radius": RADIUS, "bore_radius": (0.4, 0.8), "edge_radius": (0.05, 0.3), "phi": PHI}, s1c),
    "S2": ({"pressure": (2000, 4500), "ball_radius": RADIUS, "modulus": (8e4, 1.5e5)}, s2),
    "S3": (
        {"load": LOAD, "hinge_distance": ARM, "relief_length": (4, 9), "width": (5, 9), "relief_thickness": (0.9, 1.6)},
        s3,
    ),
    "S3a": (
        {
            "side_push": (-20, 20),
            "hinge_distance": ARM,
            "relief_length": (4, 9),
            "width": (5, 9),
            "relief_thickness": (0.9, 1.6),
        },
        s3a,
    ),
    "S4": (
        {"wear_coefficient": (1e-8, 1e-4), "load": LOAD, "distance": (1e3, 1e5), "hardness": (5e3, 8e3)},
        lambda v: v.wear_coefficient * v.load / v.hardness * v.distance / 3,
    ),
    "S4a": (
        {"depth": (0.01, 0.2), "ball_radius": RADIUS},
        lambda v: quad(lambda z: np.pi * (2 * v.ball_radius * z - z**2), 0, v.depth)[0],
    ),
    "D1": (
        {
            "inertia": INERTIA,
            "arm": (10, 16),
            "finger_stiffness": (0.5, 2),
            "finger_speed": (50, 500),
            "time": (0, 0.1),
            "gone": (0, 1),
            "resistance": (-50, 150),
        },
        d1,
    ),
    "D2": ({"torque": (50, 200), "mass": (20, 60), "balance_radius": (28, 50)}, d2),
    "D3": ({"work": (3, 8), "inertia": INERTIA, "mass": (20, 60), "balance_radius": (28, 50)}, d3),
}


def drawn(id, seed):
    """Values of every input of a formula, drawn at random, and the numbers that the other way makes of them."""
    ranges, other_way = CASES[id]
    rng = np.random.default_rng([seed, *id.encode()])
    values = SimpleNamespace(**{name: rng.uniform(*ends) for name, ends in ranges.items()})
    expected = other_way(values)
    return {name: getattr(values, name) for name in formulas[id].symbols}, np.atleast_1d(expected)


def test_every_formula_is_checked():
    known = {id for id, entry in formulas.items() if isinstance(entry, Formula)}
    assert known - set(CASES) == set(), "give CASES the ranges of its inputs and a reckoning that does not use it"
    assert set(CASES) <= known


@pytest.mark.checked_by("brute force", "a second reckoning without the formula", *CASES)
@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("id", CASES)
def test_two_ways_agree(id, seed):
    values, expected = drawn(id, seed)
    assert np.atleast_1d(formulas[id](**values)) == pytest.approx(expected, rel=2e-7, abs=1e-9)


@pytest.mark.parametrize("id", CASES)
def test_arrays_give_what_single_numbers_give(id):
    draws = [drawn(id, seed)[0] for seed in range(3)]
    together = formulas[id](**{name: np.array([values[name] for values in draws]) for name in draws[0]})
    apart = np.array([np.atleast_1d(formulas[id](**values)) for values in draws]).T
    assert np.squeeze(np.array(together)) == pytest.approx(np.squeeze(apart), rel=1e-13)


@pytest.mark.parametrize("id", CASES)
def test_single_numbers_stay_plain(id):
    found = formulas[id](**drawn(id, 0)[0])
    several = len(formulas[id].results) > 1
    assert type(found) is float if not several else all(type(value) is float for value in found)


@pytest.mark.parametrize("id", CASES)
def test_results_are_named_fields(id):
    found, names = formulas[id](**drawn(id, 0)[0]), tuple(formulas[id].results)
    assert len(names) == 1 or found._fields == names


@pytest.mark.parametrize("id", CASES)
def test_says_what_it_is(id):
    formula = formulas[id]
    assert formula.id == id
    assert formula.title
    assert formula.assumptions
    assert formula.source
    for meaning, unit in [
        *((symbol.meaning, symbol.unit) for symbol in formula.symbols.values()),
        *formula.results.values(),
    ]:
        assert meaning
        assert unit in {
            "",
            "mm",
            "N",
            "N·mm",
            "N/mm",
            "mm/N",
            "rad/N",
            "mm/s",
            "s",
            "MPa",
            "rad",
            "mJ",
            "g",
            "g·mm²",
            "mm⁴",
            "mm³",
            "1/mm",
            "rad/s²",
            "m/s²",
        }
    assert formula.steps
    assert all(step.said.strip() and step.shown is not None for step in formula.steps)


def balanced(latex):
    depth = 0
    for mark in re.findall(r"\\[\\{}]|[{}]", latex):
        depth += {"{": 1, "}": -1}.get(mark, 0)
        assert depth >= 0
    return depth == 0 and latex.count(r"\left") == latex.count(r"\right")


@pytest.mark.parametrize("id", CASES)
def test_is_typeset(id):
    formula = formulas[id]
    shown = " ".join(letter + latex(value) for letter, value in formula.found.items())
    assert balanced(shown)
    assert "lambda" not in shown.replace(r"\lambda", "")
    assert not re.search(r"[^\x20-\x7e]", shown)  # no letter that a browser's mathematics does not know
    assert not re.search(r"(?<![\\a-zA-Z])[a-z]{2,}_[a-z]+", shown)  # no name of the code


@pytest.mark.parametrize("id", CASES)
def test_a_missing_name_is_told_with_all_that_are_needed(id):
    values = drawn(id, 0)[0]
    name = list(values)[-1]
    del values[name]
    with pytest.raises(
        TypeError,
        match=re.escape(f"{id} ({formulas[id].title}) needs {', '.join(formulas[id].symbols)}: {name} is missing"),
    ):
        formulas[id](**values)


def test_a_wrong_name_is_told():
    with pytest.raises(TypeError, match=r"F5 \(force at a place on the blade\) takes torque, arm, not lever"):
        formulas["F5"](torque=1.0, arm=2.0, lever=3.0)


def test_an_unknown_formula_names_the_known():
    with pytest.raises(KeyError, match=r"no formula 'Z9'; known: L1, .*F5"):
        formulas["Z9"]


def test_an_id_is_given_once():
    before = formulas["L5"]
    with pytest.raises(ValueError, match=r"L5 \(another floor\) has the ID of another formula: floor of the recess"):
        formula("L5", "another floor", (), {"sink": ("seat depth", "mm")}, "flat floor")(lambda x, step: None)
    assert formulas["L5"] is before


# checks at the demo knife


def test_sideways_give_of_the_bar_of_a():
    """Two thirds of it is the relief, one third the thick bar; the take-up is 0.05 mm at the tab."""
    bar = {"hinge_distance": 36.4, "relief_length": 6.0, "width": 7.0, "youngs_modulus": 113_800.0}
    compliance = formulas["B6a"](**bar, relief_thickness=1.1, thickness=3.0)
    assert compliance == pytest.approx(0.00350, abs=5e-6)
    assert formulas["B6a"](**bar, relief_thickness=1.1, thickness=1e9) / compliance == pytest.approx(0.65, abs=0.02)
    seat = {"phi": np.radians(49.18), "mu": 0.12, "load": 14.209, "side_compliance": compliance}
    take_up = formulas["B6c"](**seat, track_radius=8.001)
    assert np.degrees(take_up) == pytest.approx(0.204, abs=5e-4)
    assert 14 * take_up == pytest.approx(0.05, abs=5e-4)
    assert formulas["B6d"](**seat, rest_offset=0.105) == pytest.approx(0.0597, abs=5e-5)


def test_stress_of_the_side_push_at_rest_of_a():
    found = formulas["S3a"](
        side_push=14.21 * 1.157, hinge_distance=36.4, relief_length=6.0, width=7.0, relief_thickness=1.1
    )
    assert found == pytest.approx(72, abs=0.5)


def test_a_thou_on_the_stop_pin():
    assert formulas["B9"](pin_change=0.0254, stop_radius=12.0, track_radius=8.001).travel == pytest.approx(
        0.0085, abs=5e-5
    )


def test_a_ball_past_the_stability_number_walks_to_the_middle():
    """Let go a little off its balance, a ball below 1 comes back and one above 1 runs on into its recess."""
    seat = {"load": 14.2, "ball_radius": 0.79375, "phi": 0.9}
    for number, back in ((0.9, True), (1.1, False)):
        compliance = number / formulas["B6f"](side_compliance=1.0, **seat)
        moved = 1e-4
        angle = np.arcsin(np.sin(0.9) + moved / 0.79375)
        push, hold = 14.2 * np.tan(angle), 14.2 * np.tan(0.9) + moved / compliance
        assert bool(hold > push) is back


OFF_TRACK = (-0.1, -0.05, -0.025, -0.01, 0.0, 0.01, 0.025, 0.05, 0.1)


def off_torque(off_track, rest_offset, sense, reach):
    """Greatest error of F2b over the climb out, as a share of the greatest torque; reach: of b/ρ and the outward
    share s.
    """
    ball = A.replace({"balls[0].recess.off_track": off_track, "balls[0].recess.rest_offset": rest_offset}).balls[0]
    theta = np.linspace(1e-6, 0.065, 150)
    place = formulas["L2"](theta=theta, track_radius=ball.track_radius, off_track=off_track, rest_offset=rest_offset)
    gap = ball.recess.diameter / 2 - place.distance
    exact = np.array([referee.torque_in_space(ball, angle, 0.12, sense) for angle in theta]) / ball.track_radius
    q = reach(gap / ball.track_radius, place.across)
    found = formulas["F2b"](phi=np.arcsin(gap / ball.radius), mu=sense * 0.12, cos_chi=place.cos_chi, reach=q)
    return np.max(np.abs(found - exact)) / np.max(np.abs(exact))


@pytest.mark.parametrize(("sense", "within", "at_axis"), [(1, 6e-4, 0.014), (-1, 1e-3, 0.024)])
def test_torque_at_the_true_contact_against_balances_about_the_real_pivot(sense, within, at_axis):
    """The off-track part of the reach alone is enough; slip taken at the ball's axis (F2) is out by far more."""
    places = [(off, rest) for off in OFF_TRACK for rest in (0.0, 0.06, 0.105)]
    assert max(off_torque(*place, sense, lambda b, s: 1 + 2 * b * s) for place in places) < within
    assert max(off_torque(*place, sense, lambda b, s: 1 + 0 * b) for place in places) > at_axis
    assert all(
        off_torque(0.0, rest, sense, lambda b, s: 1 + 2 * b * s) == off_torque(0.0, rest, sense, lambda b, s: 1 + 0 * b)
        for _, rest in places
    )


def test_at_reach_1_the_true_contact_is_f2():
    place = {"phi": np.linspace(0, 1.2, 50), "mu": 0.12, "cos_chi": np.linspace(-1, 1, 50)}
    assert formulas["F2b"](**place, reach=1.0) == pytest.approx(formulas["F2"](**place), rel=1e-14)


def test_a_theorem_gives_no_number():
    with pytest.raises(
        TypeError, match=r'E2 \(a second ball .*\) is a theorem: no number comes out of it; derivation\("E2"\) shows it'
    ):
        formulas["E2"](riding=5.0)


def test_the_register_reads_like_a_table():
    assert "F2" in formulas
    assert len(formulas) == len(list(formulas))
    assert repr(formulas["F5"]) == "<Formula F5: force at a place on the blade>"


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize(
    ("id", "values", "said"),
    [
        ("F2", {"phi": "text", "mu": 0.1, "cos_chi": 1.0}, "F2 phi = 'text': is not a number"),
        ("F2", {"phi": 0.5, "mu": None, "cos_chi": 1.0}, "F2 mu = None: is not a number"),
        ("F2", {"phi": 0.5, "mu": np.array(["a"]), "cos_chi": 1.0}, "is not a number"),
        ("F2", {"phi": 0.5, "mu": np.ma.masked, "cos_chi": 1.0}, "is not a number"),
        ("F5", {"torque": 1.0, "arm": 0.0}, r"F5 \(.*\) comes to no number with torque = 1, arm = 0\. Check the unit"),
        ("F5", {"torque": 1e308, "arm": 1e-308}, r"F5 \(.*\) comes to no number"),
        ("F5", {"torque": 10**400, "arm": 1.0}, "F5 torque = 1.*: is not a number"),
        ("L1", {"rim_gap": 2.0, "ball_radius": 1.0}, r"L1 \(.*\) comes to no number"),
    ],
)
def test_what_is_or_comes_to_no_number_is_refused(id, values, said):
    with pytest.raises(ValueError, match=said):
        formulas[id](**values)
