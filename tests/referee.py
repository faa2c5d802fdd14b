"""Independent reckoning, written without the library's formulas: sampled surfaces, offset curves, balances solved as they stand.

Angles in radians, mm, N. Everything here is plain geometry and equilibrium, so that a slip in a derivation shows.
"""

from itertools import pairwise

import numpy as np
import shapely


def depth_at(recess, q):
    """How deep the tang surface lies at radius q [mm] from the recess axis; inf down a bore without a floor."""
    bore, rim = recess.diameter / 2, recess.rim_radius
    depth = np.where(q < bore, np.inf, 0.0)
    if recess.chamfer_width:
        depth = np.where((q >= bore) & (q < rim), (rim - q) * np.tan(np.radians(recess.chamfer_deg)), depth)
    if recess.edge_radius:
        r = recess.edge_radius
        inside = np.clip(bore + r - q, 0.0, r)
        depth = np.where((q >= bore) & (q < bore + r), r - np.sqrt(r**2 - inside**2), depth)
    return depth if recess.depth is None else np.minimum(depth, recess.depth)


def sink_sampled(radius, recess, distance, across=1501, round_about=181):
    """Sink of a ball whose axis is `distance` from the recess axis: the tang surface sampled all round, no plane assumed."""
    bore, reach = recess.diameter / 2, radius + distance
    q = np.unique(np.concatenate([np.linspace(0.0, reach, across), [bore, recess.rim_radius], bore + recess.edge_radius * np.linspace(0, 1, 801)]))
    turn = np.linspace(0.0, np.pi, round_about)
    away = q[:, None] ** 2 + distance**2 - 2 * q[:, None] * distance * np.cos(turn)
    drop = radius - np.sqrt(np.where(away <= radius**2, radius**2 - away, np.nan))
    return np.nanmin(depth_at(recess, q)[:, None] + drop)


def sink_offset(radius, recess, distance, wide=6.0, high=4.0):
    """The same sink from the offset curve of the tang's cross-section: the ball centre rises until it meets the curve."""
    bore, floor = recess.diameter / 2, high if recess.depth is None else recess.depth
    wall = [(bore, floor), *_rim_line(recess, floor), (wide, 0.0)]
    left = [(-x, z) for x, z in reversed(wall)]
    tang = shapely.Polygon([*left, *wall, (wide, high + 1), (-wide, high + 1)])
    forbidden = tang.buffer(radius, quad_segs=4096)
    path = shapely.LineString([(distance, -2 * radius), (distance, high)])
    return shapely.intersection(forbidden, path).bounds[1] + radius


def _rim_line(recess, floor):
    """Points of one rim in the cross-section, from the bore up to the tang face, as (radius, depth)."""
    bore, r = recess.diameter / 2, recess.edge_radius
    if recess.chamfer_width:
        return [(bore, min(floor, recess.chamfer_width * np.tan(np.radians(recess.chamfer_deg)))), (recess.rim_radius, 0.0)]
    if r:
        turn = np.linspace(0.0, np.pi / 2, 2000)
        return list(zip(bore + r * (1 - np.cos(turn)), r * (1 - np.sin(turn)), strict=True))
    return [(bore, 0.0)]


def push_ratio(phi, mu, cos_chi):
    """Push along the track over bar force for a ball sliding at its contact: three balances of forces, solved as they stand."""
    sin_chi = np.sqrt(1 - cos_chi**2)
    normal = np.array([np.sin(phi) * cos_chi, np.sin(phi) * sin_chi, np.cos(phi)])
    slip = np.array([1.0, 0.0, -np.tan(phi) * cos_chi])
    pressed = normal + mu * slip / np.linalg.norm(slip)
    # unknown: pressure at the contact, push along the track, hold across it; known: the bar's force
    balance = np.column_stack([pressed, [-1.0, 0.0, 0.0], [0.0, -1.0, 0.0]])
    return np.linalg.solve(balance, [0.0, 0.0, 1.0])[1]


def torque_in_space(ball, theta, mu, sense):
    """Torque over load of one ball on a sharp rim, taken about the real pivot with the slip at the real contact point [mm]."""
    rho, out = ball.track_radius, ball.track_radius + ball.recess.off_track
    behind = theta + np.arcsin(ball.recess.rest_offset / out)
    axis = out * np.array([np.cos(behind), -np.sin(behind)])
    away = np.array([rho, 0.0]) - axis
    gap = ball.recess.diameter / 2 - np.linalg.norm(away)
    flat = away / np.linalg.norm(away)
    normal = np.array([*(flat * gap / ball.radius), np.sqrt(1 - (gap / ball.radius) ** 2)])
    contact = np.array([rho, 0.0, 0.0]) + ball.radius * normal
    blade = np.cross([0.0, 0.0, -sense], contact)  # the ball goes round +, so the blade under it goes round -
    slip = -blade
    slip[2] = -(slip[0] * normal[0] + slip[1] * normal[1]) / normal[2]
    pressed = normal + mu * slip / np.linalg.norm(slip)
    return np.cross(contact, pressed / pressed[2])[2]


class Reckoned:
    """Rigid bar, sharp rims, one bar: gap, loads and torques of a Knife (numbers or (m, 1) arrays) at angles theta.

    The bar face is not known here: where the gap comes out below zero it would land first.
    """

    def __init__(self, knife, theta):
        bar, first = knife.bar, knife.balls[0]
        parallel = first.protrusion if bar.parallel_gap is None else bar.parallel_gap
        places = [self._place(ball, theta) for ball in knife.balls]
        asked = [(ball.protrusion - sink - parallel) / ball.hinge_distance for ball, (sink, _, _) in zip(knife.balls, places, strict=True)]
        turned = np.maximum.reduce(np.broadcast_arrays(*asked))
        ride = (first.protrusion - parallel) / first.hinge_distance
        kappa = bar.rate * first.hinge_distance**2
        moment = bar.riding_force * first.hinge_distance + kappa * (turned - ride)
        self.gap = parallel + turned * first.hinge_distance
        self.energy = moment**2 / (2 * kappa)
        self.loads = [np.where(psi == turned, moment / ball.hinge_distance, 0.0) for ball, psi in zip(knife.balls, asked, strict=True)]
        self.clearances = [(turned - psi) * ball.hinge_distance for ball, psi in zip(knife.balls, asked, strict=True)]
        self.phi = [phi for _, phi, _ in places]
        self._knife, self._away = knife, [away for _, _, away in places]

    @staticmethod
    def _place(ball, theta):
        """Sink, contact angle and direction from the recess axis to the ball: outwards, and along its travel."""
        out = ball.track_radius + ball.recess.off_track
        behind = theta + np.arcsin(ball.recess.rest_offset / out)
        x, y = ball.track_radius - out * np.cos(behind), out * np.sin(behind)
        distance = np.hypot(x, y)
        with np.errstate(invalid="ignore", divide="ignore"):
            out, along = np.where(distance > 0, x / distance, 0.0), np.where(distance > 0, y / distance, 1.0)
        gap = np.clip(ball.recess.diameter / 2 - distance, 0.0, ball.radius * (1 - 1e-9))
        below = np.sqrt(ball.radius**2 - gap**2)
        return ball.radius - below, np.arctan2(gap, below), (out, along)

    def torque(self, mu):
        """Torque [N·mm]: mu > 0 opening, < 0 letting back, 0 without friction; about the pivot, with the slip at the contact."""
        total = 0.0
        for ball, load, phi, (out, along) in zip(self._knife.balls, self.loads, self.phi, self._away, strict=True):
            reach = ball.radius * np.sin(phi)
            x, y = ball.track_radius + reach * out, reach * along
            normal = np.array([out * np.sin(phi), along * np.sin(phi), np.cos(phi)])
            slip = np.array([-y, x, (y * normal[0] - x * normal[1]) / normal[2]])
            force = normal + mu * slip / np.linalg.norm(slip, axis=0)
            total = total + load * (x * force[1] - y * force[0]) / force[2]
        return total


def stepped_cantilever(bar, arms, elements=1, sideways=False):
    """Compliance matrix [mm/N] of a cantilever (relief, then the thick bar) at hinge distances `arms`, by beam elements.

    Bent across its thickness, or, sideways, across its width.
    """
    half = bar.relief_length / 2
    ends = np.unique([0.0, bar.relief_length, *(half + arm for arm in arms)])
    nodes = np.unique(np.concatenate([np.linspace(a, b, elements + 1) for a, b in pairwise(ends)]))
    stiff = np.zeros((2 * nodes.size,) * 2)
    for k, (a, b) in enumerate(pairwise(nodes)):
        thick = bar.relief_thickness if b <= bar.relief_length + 1e-12 else bar.thickness
        wide, high = (thick, bar.width) if sideways else (bar.width, thick)
        flexural, span = bar.youngs_modulus * wide * high**3 / 12, b - a
        element = np.array(
            [
                [12, 6 * span, -12, 6 * span],
                [6 * span, 4 * span**2, -6 * span, 2 * span**2],
                [-12, -6 * span, 12, -6 * span],
                [6 * span, 2 * span**2, -6 * span, 4 * span**2],
            ]
        )
        stiff[2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += flexural / span**3 * element
    free = np.linalg.inv(stiff[2:, 2:])
    at = [2 * int(np.argmin(abs(nodes - (half + arm)))) - 2 for arm in arms]
    return free[np.ix_(at, at)]
