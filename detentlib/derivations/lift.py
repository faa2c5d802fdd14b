"""Derivations L: how deep a ball sinks into a recess or past the tang's edge, how steep it then sits, and
where it is.
"""

import sympy as sp

from .formulas import Symbol, formula

BALL = Symbol("ball_radius", "radius of the ball", "mm", "R")
RIM_GAP = Symbol("rim_gap", "horizontal distance from the ball's axis to the nearest rim point", "mm", "b", "any")
EDGE = Symbol("edge_radius", "radius of the rounded rim", "mm", "r", "not negative")
TRACK = Symbol("track_radius", "pivot to ball", "mm", r"\rho")
OFF_TRACK = Symbol("off_track", "how much further out than the ball the recess axis lies", "mm", "c", "any")
REST_OFFSET = Symbol("rest_offset", "ball short of concentric at the stop, nothing pressing", "mm", "d_0", "any")
THETA = Symbol("theta", "blade angle from the stop", "rad", r"\theta", "any")
DISTANCE = Symbol("distance", "distance between ball axis and recess axis", "mm", "d")
BORE = Symbol("bore_radius", "radius of the recess bore", "mm", "a", "not negative")
WIDTH = Symbol("chamfer_width", "radial width of the chamfer", "mm", "w_c")
GAMMA = Symbol("chamfer", "angle of the chamfer from the tang face", "rad", r"\gamma")
SINK = Symbol("sink", "how deep the rim lets the ball sink", "mm", "s", "not negative")
FLOOR = Symbol("floor_depth", "depth of the recess floor", "mm", "h_f")
PROTRUSION = Symbol("protrusion", "how far the ball stands out of the bar face", "mm", "p")


def _opened(expression):
    """Roots with their inside multiplied out, as a person writes them: √(R² − b²)."""
    return expression.replace(
        lambda part: part.is_Pow and part.exp == sp.Rational(1, 2), lambda part: sp.sqrt(sp.expand(part.base))
    )


@formula(
    "L1",
    "ball on a sharp rim",
    (RIM_GAP, BALL),
    {
        "sink": ("seat depth", "mm"),
        "phi": ("contact angle from the pole of the ball", "rad"),
        "slope": ("rise of the bar per ball travel", ""),
    },
    "sharp rigid rim, 0 ≤ b < R; at b ≤ 0 the ball is on the land and sinks by nothing",
)
def _sharp_rim(x, step):
    s, b = sp.symbols("s b", real=True)
    R = x.ball_radius
    balance = sp.Eq(b**2 + (R - s) ** 2, R**2)
    step(
        "The rim point lies on the ball: it is b from the axis, and the ball's centre is R − s from the tang face.",
        balance,
    )
    sink = _opened(next(root for root in sp.solve(balance, s) if root.subs(b, 0) == 0))
    step("Of the two depths take the one that is nothing when the rim is at the pole.", sp.Eq(s, sink))
    slope = sp.diff(sink, b)
    step(
        "Move the ball: each step towards the rim takes as much off b, and the bar rises by",
        sp.Eq(sp.Derivative(s, b), slope),
    )
    phi = sp.asin(b / R)
    assert sp.simplify(sp.tan(phi) - slope) == 0
    step(
        "The rim point stands at the angle φ from the pole, with sin φ = b/R; the slope is its tangent.",
        sp.Eq(sp.tan(sp.Symbol(r"\varphi")), slope),
    )
    return {name: value.subs(b, x.rim_gap) for name, value in {"sink": sink, "phi": phi, "slope": slope}.items()}


@formula(
    "L2",
    "distance of the ball from the middle of its recess",
    (THETA, TRACK, OFF_TRACK, REST_OFFSET),
    {
        "distance": ("distance between ball axis and recess axis", "mm"),
        "cos_chi": ("share of the ball's travel that goes straight away from the recess axis", ""),
        "across": (
            "outward part of the direction from recess axis to ball axis, as far as the off-track error makes it",
            "",
        ),
    },
    "real arc round the pivot; undefined only exactly in the middle (d = 0), where every direction leads away and the"
    " share is 1",
)
def _distance(x, step):
    rho, out = x.track_radius, x.track_radius + x.off_track
    eps = sp.asin(x.rest_offset / out)
    turn = sp.Symbol(r"\alpha", real=True)
    ball, middle = sp.Matrix([rho, 0]), sp.Matrix([out * sp.cos(turn), out * sp.sin(turn)])
    square = sp.expand((ball - middle).dot(ball - middle)).subs(sp.sin(turn) ** 2, 1 - sp.cos(turn) ** 2)
    step(
        "Both stand round the pivot, the recess axis an angle α = θ + ε ahead of the ball.",
        sp.Eq(sp.Symbol("d") ** 2, sp.expand(square)),
    )
    # the half-angle form keeps its digits when d is a few microns: the cosine form loses half of them
    stable = x.off_track**2 + 4 * rho * out * sp.sin(turn / 2) ** 2
    assert sp.simplify(sp.expand(square - stable, trig=True).rewrite(sp.cos)) == 0
    distance = sp.sqrt(stable)
    step("The same with the half angle.", sp.Eq(sp.Symbol("d"), distance))
    share = sp.diff(distance, turn) / rho
    step("Per millimetre of ball travel ρ dα, d grows by cos χ.", sp.Eq(sp.Symbol(r"\cos\chi"), share))
    outward = (ball - middle)[0]
    # what is left with the recess on the track belongs to the arc: the ball moves along it, not across
    aside = sp.expand(outward) - sp.expand(outward).subs(x.off_track, 0)
    step(
        "Outward, the recess axis lies this far from the ball because of the off-track error; over d it is the outward"
        " share.",
        aside,
    )
    step("ε is the angle by which the stop holds the ball short.", sp.Eq(sp.Symbol(r"\epsilon"), eps))
    return {
        name: value.subs(turn, x.theta + eps)
        for name, value in {"distance": distance, "cos_chi": share, "across": aside / distance}.items()
    }


@formula(
    "L2a",
    "blade angle at which the ball is a given distance from the middle",
    (DISTANCE, TRACK, OFF_TRACK, REST_OFFSET),
    {"theta": ("blade angle from the stop", "rad")},
    "d ≥ |c|, on the opening side; the inverse of L2",
    "L2 solved for the angle",
)
def _angle_at(x, step):
    rho, out = x.track_radius, x.track_radius + x.off_track
    half = sp.Symbol("q", nonnegative=True)
    balance = sp.Eq(x.off_track**2 + 4 * rho * out * half**2, x.distance**2)
    step("L2 with q = sin(α/2).", balance)
    root = next(value for value in sp.solve(balance, half) if not value.could_extract_minus_sign())
    angle = 2 * sp.asin(root) - sp.asin(x.rest_offset / out)
    step("Take off the angle ε at the stop.", sp.Eq(sp.Symbol(r"\theta"), angle))
    return angle


@formula(
    "L3",
    "ball on a rounded rim",
    (RIM_GAP, BALL, EDGE),
    {"sink": ("seat depth", "mm"), "phi": ("contact angle from the pole of the ball", "rad")},
    "−r ≤ b < R, bore radius kept; r = 0 is L1",
)
def _rounded_rim(x, step):
    s = sp.Symbol("s", real=True)
    R, r, b = x.ball_radius, x.edge_radius, x.rim_gap
    balance = sp.Eq((b + r) ** 2 + (R + r - s) ** 2, (R + r) ** 2)
    step("Ball and rounding touch: their centres are R + r apart, b + r across and R + r − s in height.", balance)
    sink = next(root for root in sp.solve(balance, s) if sp.simplify(root.subs(b, -r)) == 0)
    step("The depth that is nothing where the rounding joins the land.", sp.Eq(s, sink))
    phi = sp.asin((b + r) / (R + r))
    step("The contact normal runs along the line of centres.", sp.Eq(sp.Symbol(r"\varphi"), phi))
    return {"sink": sink, "phi": phi}


@formula(
    "L4",
    "ball on the cone of a chamfer",
    (DISTANCE, BALL, BORE, WIDTH, GAMMA),
    {
        "sink": ("seat depth", "mm"),
        "reach": ("distance of the contact point from the recess axis", "mm"),
        "lower": ("depth of the lower edge", "mm"),
    },
    "only while a ≤ reach ≤ a + w; further out the upper edge carries (L1, b = a + w − d), further in the lower edge"
    " (L1, b = a − d, deeper by `lower`)",
)
def _cone(x, step):
    s = sp.Symbol("s", real=True)
    R, d, a, w, gamma = x.ball_radius, x.distance, x.bore_radius, x.chamfer_width, x.chamfer
    step(
        "The cone line, its points at radius q and depth z: z = (a + w − q) tan γ.",
        sp.Eq(sp.Symbol("z"), (a + w - sp.Symbol("q")) * sp.tan(gamma)),
    )
    # signed distance of the ball's centre (radius d, depth s - R) from the cone line, along the line's normal
    balance = sp.Eq((a + w - d) * sp.sin(gamma) - (s - R) * sp.cos(gamma), R)
    step("The ball touches the line: its centre, s − R deep, is R away along the normal.", balance)
    sink = sp.expand(sp.solve(balance, s)[0])
    step("Solve for the depth: it falls by tan γ per millimetre towards the rim.", sp.Eq(s, sink))
    return {"sink": sink, "reach": d + R * sp.sin(gamma), "lower": w * sp.tan(gamma)}


@formula(
    "L5",
    "floor of the recess",
    (SINK, FLOOR),
    {"sink": ("seat depth", "mm", "s'")},
    "flat floor; where the floor carries, the slope is zero",
)
def _floor(x, step):
    sink = sp.Min(x.sink, x.floor_depth)
    step("The ball goes no deeper than the first thing that it meets.", sp.Eq(sp.Symbol("s'"), sink))
    return sink


@formula(
    "L6",
    "gap that one ball demands, and the bar face",
    (PROTRUSION, SINK),
    {
        "demand": ("lift demand of the ball, below zero where the bar face lands first", "mm", "g_b"),
        "gap": ("gap between bar face and tang face", "mm"),
    },
    "the bar face lands beside ball 1; where it does, the gap is zero and no ball carries",
)
def _gap(x, step):
    demand = x.protrusion - x.sink
    step("The ball keeps the faces p − s apart,", demand)
    gap = sp.Max(demand, 0)
    step("but they cannot pass through each other.", sp.Eq(sp.Symbol("g"), gap))
    return {"demand": demand, "gap": gap}


@formula(
    "L7",
    "ball rolling off the edge of the tang",
    (
        THETA,
        Symbol("run_off", "blade angle at which the ball reaches the edge", "rad", r"\theta_o"),
        TRACK,
        BALL,
        Symbol("edge", "angle between the tang edge and the track", "rad", r"\eta"),
    ),
    {
        "past": ("how far the ball's axis has passed the edge, square to it", "mm"),
        "sink": ("how far the ball has sunk past the edge", "mm"),
        "phi": ("contact angle from the pole of the ball", "rad"),
    },
    "straight sharp edge, 0 ≤ past < R; a ball that is past by its radius has left the tang",
)
def _run_off(x, step):
    s, q = sp.symbols("s q", nonnegative=True)
    R = x.ball_radius
    past = x.track_radius * (x.theta - x.run_off) * sp.sin(x.edge)
    step("Beyond the edge the ball's axis has moved away from it, square to the edge, by", sp.Eq(q, past))
    balance = sp.Eq(q**2 + (R - s) ** 2, R**2)
    step("The edge lies on the ball, as a rim does (L1).", balance)
    sink = next(root for root in sp.solve(balance, s) if root.subs(q, 0) == 0)
    step("So the ball sinks by", sp.Eq(s, sink))
    return {"past": past, "sink": sink.subs(q, past), "phi": sp.asin(past / R)}


@formula(
    "L8",
    "a ball over another ball's recess",
    (
        THETA,
        Symbol("bearing_ball", "bearing of the ball", "rad", r"\beta_i", "any"),
        Symbol("bearing_other", "bearing of the ball whose recess it is", "rad", r"\beta_j", "any"),
        Symbol("track_radius", "track radius of the ball", "mm", r"\rho_i"),
        Symbol("track_radius_other", "track radius of that other ball", "mm", r"\rho_j"),
        Symbol(
            "off_track", "how much further out than that other ball the axis of its recess lies", "mm", "c_j", "any"
        ),
    ),
    {"theta": ("angle to put into L2", "rad", r"\theta'"), "off_track": ("off-track error to put into L2", "mm", "c'")},
    "recesses do not overlap; the ball's demand is the least over all recesses that it crosses",
    "positions round the pivot",
)
def _other_recess(x, step):
    eps = sp.Symbol(r"\epsilon_j", real=True)
    recess = x.bearing_other + eps + x.theta
    step("The recess turns with the blade; at the stop it is ε ahead of its own ball.", recess)
    apart = sp.expand(recess - x.bearing_ball)
    step("It is this far ahead of the ball that crosses it.", apart)
    step("L2 adds the ε itself, so the blade angle θ' to put into it is", apart - eps)
    out = x.track_radius_other + x.off_track
    step("The axis of the recess lies this far from the pivot;", out)
    step("what that is beyond the ball's own track is the off-track error c' to put into L2.", out - x.track_radius)
    return {"theta": apart - eps, "off_track": out - x.track_radius}
