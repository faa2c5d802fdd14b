"""Derivations B: how the bar presses, how that grows with lift, how it gives sideways, and where the stop
holds the blade.
"""

import sympy as sp

from .formulas import Symbol, formula
from .lift import REST_OFFSET

E = Symbol("youngs_modulus", "Young's modulus of the bar", "MPa", "E")
G = Symbol("shear_modulus", "shear modulus of the bar", "MPa", "G")
WIDTH = Symbol("width", "width of the bar", "mm", "w")
RELIEF = Symbol("relief_thickness", "thickness of the relief", "mm", "t_r")
LENGTH = Symbol("relief_length", "length of the relief", "mm", r"\ell")
THICK = Symbol("thickness", "thickness of the bar beyond the relief", "mm", "t")
NEAR = Symbol("near_arm", "hinge distance of the ball nearer to the relief", "mm", "L_{<}")
FAR = Symbol("far_arm", "hinge distance of the other ball (the same for one ball)", "mm", "L_{>}")
ARM = Symbol("hinge_distance", "hinge distance of the ball", "mm", "L")
ARM_1 = Symbol("hinge_distance_1", "hinge distance of ball 1", "mm", "L_1")
RIDING = Symbol("riding_force", "force at ball 1 when it rides the flat", "N", "F_r")
KAPPA = Symbol("kappa", "stiffness of the bar in bar angle", "N·mm", r"\kappa")
PSI = Symbol("psi", "bar angle", "rad", r"\psi", "any")
PSI_RIDE = Symbol("psi_ride", "bar angle when ball 1 rides the flat", "rad", r"\psi_r", "any")
PHI = Symbol("phi", "contact angle", "rad", r"\varphi", "not negative")
LOAD = Symbol("load", "force of the ball on the tang, along the lift", "N", "N", "not negative")
MU = Symbol("mu", "friction coefficient", "", r"\mu", "not negative")
BETA = Symbol("beta", "angle between track and bar", "rad", r"\beta", "any")
TRACK = Symbol("track_radius", "track radius of the ball", "mm", r"\rho")
SIDE = Symbol(
    "side_compliance", "sideways compliance of the bar at the ball, along its track", "mm/N", "C_s", "not negative"
)
KAPPA_SIDE = Symbol("kappa_side", "stiffness of the bar in sideways turn", "N·mm", r"\kappa_s")
SERIES_TERMS = 20


@formula(
    "B1",
    "compliance of the stepped bar between two balls",
    (NEAR, FAR, LENGTH, RELIEF, THICK, WIDTH, E),
    {"compliance": ("displacement at one ball per newton at the other", "mm/N")},
    "straight cantilever, clamped where the relief begins, bending only; about ±10 % against a solid model of the root",
    "unit-load (virtual work) integral; any strength-of-materials text",
)
def _compliance(x, step):
    return _bent(x, step, x.near_arm, x.far_arm, x.width * x.relief_thickness**3 / 12, x.width * x.thickness**3 / 12)


def _bent(x, step, l1, l2, relief_I, bar_I):
    """Displacement at a ball at l1 per newton at a ball at l2, no nearer, from the second moments of relief and
    thick bar.
    """
    u, v = sp.symbols("u v", nonnegative=True)
    L = x.relief_length
    moments = (L / 2 + l1 - u) * (L / 2 + l2 - u)
    step("A unit force at each ball bends the bar by its arm, at the place u along it; their product is", moments)
    relief = sp.integrate(sp.expand(moments), (u, 0, L)) / (x.youngs_modulus * relief_I)
    step("Virtual work over the relief.", sp.factor(relief))
    # v runs from the nearer ball back to the end of the relief: only there do both moments live
    beyond = sp.integrate(sp.expand(v * (l2 - l1 + v)), (v, 0, l1 - L / 2)) / (x.youngs_modulus * bar_I)
    step("Virtual work over the thick bar, up to the nearer ball.", sp.factor(beyond))
    return relief + beyond


@formula(
    "B1a",
    "slope of the bar's end",
    (ARM, LENGTH, RELIEF, THICK, WIDTH, E),
    {"slope": ("slope at the ball, and beyond it, per newton there", "rad/N")},
    "straight cantilever, clamped where the relief begins, bending only; a bar of one thickness ends in Fl²/2EI",
    "unit-load integral with a unit couple at the ball; any strength-of-materials text",
)
def _slope(x, step):
    u, v = sp.symbols("u v", nonnegative=True)
    L, reach = x.relief_length, x.hinge_distance - x.relief_length / 2
    relief_I, bar_I = (x.width * thickness**3 / 12 for thickness in (x.relief_thickness, x.thickness))
    relief = sp.integrate((L / 2 + x.hinge_distance - u) / (x.youngs_modulus * relief_I), (u, 0, L))
    step(
        "A unit couple at the ball bends every place alike; the unit force there by its arm. Virtual work over the"
        " relief.",
        sp.factor(relief),
    )
    beyond = sp.integrate(v / (x.youngs_modulus * bar_I), (v, 0, reach))
    step("Over the thick bar, from the ball back to the relief.", beyond)
    return relief + beyond


@formula(
    "B2",
    "twist constant of the relief",
    (
        Symbol("long_side", "longer side of the section", "mm", "b"),
        Symbol("short_side", "shorter side of the section", "mm", "t"),
    ),
    {"twist_constant": ("J, so that twist per length = torque / (G·J)", "mm⁴")},
    f"rectangle, free to warp, b ≥ t; series cut after {SERIES_TERMS} terms, better than 1e-7; as a model of the bar"
    " ±30 %",
    "Prandtl's stress function solved by a Fourier series; any text on elasticity",
)
def _twist_constant(x, step):
    b, t, y = x.long_side, x.short_side, sp.Symbol("y", real=True)
    n = sp.Symbol("n", integer=True, positive=True)
    k = n * sp.pi / t
    step(
        "Prandtl: the stress function F is zero on the rim of the section and ∇²F = −2; expand −2 in cosines across the"
        " thickness.",
        sp.Eq(sp.Symbol(r"\nabla^2 F"), -2),
    )
    f = sp.Function("f")
    ode = sp.Eq(f(y).diff(y, 2) - k**2 * f(y), -8 / (n * sp.pi))
    step("Each odd term then obeys (signs of the cosines aside)", ode)
    c = sp.Symbol("A")
    trial = c * (1 - sp.cosh(k * y) / sp.cosh(k * b / 2))
    amplitude = sp.solve(sp.expand(trial.diff(y, 2) - k**2 * trial + 8 / (n * sp.pi)), c)[0]
    step("This is zero at both ends y = ±b/2 and solves it.", sp.Eq(f(y), trial.subs(c, amplitude)))
    along = sp.integrate(sp.expand(trial.subs(c, amplitude)), (y, -b / 2, b / 2))
    half = k * b / 2
    term = sp.expand(2 * along * 2 * t / (n * sp.pi)).subs(sp.sinh(half), sp.cosh(half) * sp.tanh(half))
    flat = term.coeff(b, 1)
    edge = term - flat * b
    step("Twice its volume is one term of J.", sp.Eq(sp.Symbol("J_n"), flat * b + edge))
    # the part that goes with b sums to a known constant over the odd n: all terms minus the even ones
    infinite = sp.summation(flat, (n, 1, sp.oo)) - sp.summation(flat.subs(n, 2 * n), (n, 1, sp.oo))
    step("Summed over the odd n, the first part is the thin strip.", sp.Eq(sp.Symbol(r"J_{\infty}"), infinite * b))
    return infinite * b + sum(edge.subs(n, odd) for odd in range(1, 2 * SERIES_TERMS, 2))


@formula(
    "B2a",
    "compliance from twist between two balls beside the centre line",
    (
        Symbol("side_offset_1", "side offset of one ball", "mm", "y_1", "any"),
        Symbol("side_offset_2", "side offset of the other ball", "mm", "y_2", "any"),
        LENGTH,
        G,
        Symbol("twist_constant", "twist constant of the relief (B2)", "mm⁴", "J"),
    ),
    {"compliance": ("displacement at one ball per newton at the other, from twist", "mm/N")},
    "only the relief twists; ±30 %",
    "unit-load integral",
)
def _twist(x, step):
    u = sp.Symbol("u", nonnegative=True)
    twist = sp.integrate(
        x.side_offset_1 * x.side_offset_2 / (x.shear_modulus * x.twist_constant), (u, 0, x.relief_length)
    )
    step("A unit force beside the centre line twists the relief by its arm; virtual work over the relief.", twist)
    return twist


@formula(
    "B3",
    "rate from two forces",
    (
        Symbol("force_high", "force at the greater lift", "N", "F_2"),
        Symbol("force_low", "force at the smaller lift", "N", "F_1"),
        Symbol("lift", "difference of the two lifts", "mm", r"\Delta g"),
    ),
    {"rate": ("rate of the bar at that place", "N/mm")},
    "straight-line bar; small force differences make it noisy",
    "definition of a spring rate",
)
def _rate(x, step):
    k, free = sp.symbols("k F_0", real=True)
    g = sp.Symbol("g", real=True)
    low, high = sp.Eq(free + k * g, x.force_low), sp.Eq(free + k * (g + x.lift), x.force_high)
    step("One straight line through both readings.", [low, high])
    rate = sp.simplify(sp.solve((low, high), (k, free))[k])
    return rate


@formula(
    "B4",
    "bar angle that a ball demands",
    (
        Symbol("gap", "gap that the ball demands", "mm", "g", "any"),
        Symbol("parallel_gap", "gap at which bar face and tang are parallel", "mm", "g_p", "any"),
        ARM,
    ),
    {"psi": ("bar angle", "rad")},
    "rigid bar turning about the middle of the relief, small angles",
)
def _bar_angle(x, step):
    psi = sp.Symbol(r"\psi", real=True)
    lift = sp.Eq(x.parallel_gap + psi * x.hinge_distance, x.gap)
    step("Turn the bar by ψ from parallel: at the ball, L from the hinge, the gap is", lift)
    return sp.solve(lift, psi)[0]


@formula(
    "B4a",
    "stiffness of the bar in bar angle",
    (Symbol("rate", "rate at ball 1", "N/mm", "k"), ARM_1),
    {"kappa": ("moment per bar angle", "N·mm")},
    "rigid bar turning about the middle of the relief",
)
def _kappa(x, step):
    psi, kappa = sp.symbols(r"\psi \kappa", positive=True)
    balance = sp.Eq(kappa * psi, x.rate * (x.hinge_distance_1 * psi) * x.hinge_distance_1)
    step("Moment of the force that the rate gives at ball 1 for the lift L₁ψ.", balance)
    return sp.solve(balance, kappa)[0]


@formula(
    "B5",
    "bar moment at a bar angle",
    (PSI, PSI_RIDE, RIDING, ARM_1, KAPPA),
    {"moment": ("moment of the bar about the middle of the relief", "N·mm")},
    "straight-line bar; the reference is ball 1 alone riding the flat",
)
def _moment(x, step):
    free = sp.Symbol(r"M_0", real=True)
    line = free + x.kappa * x.psi
    reference = sp.Eq(line.subs(x.psi, x.psi_ride), x.riding_force * x.hinge_distance_1)
    step("A straight line in bar angle, through the riding force at ball 1.", reference)
    return line.subs(free, sp.solve(reference, free)[0])


@formula(
    "B6a",
    "sideways compliance of the drawn bar at a ball",
    (ARM, LENGTH, RELIEF, THICK, WIDTH, E),
    {"side_compliance": ("sideways displacement at the ball per newton there", "mm/N")},
    "straight cantilever, clamped where the relief begins, bending only; roll of the relief, plate root and pivot give"
    " as well: ±30 % unless measured",
    "B1 with width and thickness in each other's place",
)
def _sideways(x, step):
    relief_I, bar_I = (thickness * x.width**3 / 12 for thickness in (x.relief_thickness, x.thickness))
    step(
        "Sideways the width does what the thickness does upwards.",
        [sp.Eq(sp.Symbol("I_r"), relief_I), sp.Eq(sp.Symbol("I"), bar_I)],
    )
    return _bent(x, step, x.hinge_distance, x.hinge_distance, relief_I, bar_I)


@formula(
    "B6b",
    "stiffness of the bar in sideways turn",
    (Symbol("side_compliance", "sideways compliance at ball 1, square to the bar", "mm/N", "C_s"), ARM_1),
    {"kappa_side": ("moment per radian of sideways turn about the middle of the relief", "N·mm")},
    "one stiff bar turning sideways about the middle of its relief",
)
def _kappa_side(x, step):
    omega, kappa = sp.symbols(r"\omega \kappa_s", positive=True)
    force = x.hinge_distance_1 * omega / x.side_compliance
    step("A turn ω moves ball 1 by L₁ω; that takes the force", force)
    balance = sp.Eq(kappa * omega, force * x.hinge_distance_1)
    step("Its moment about the relief.", balance)
    return sp.solve(balance, kappa)[0]


@formula(
    "B6",
    "sideways turn of the bar, one ball carrying",
    (LOAD, ARM, Symbol("push", "push along the track per newton of load (F2)", "", "m", "any"), BETA, KAPPA_SIDE),
    {
        "omega": ("sideways turn of the bar", "rad"),
        "shift": ("how far the ball moves along its track, towards the middle of its recess", "mm"),
    },
    "small turn; the bar is stiff along its length; of several carrying balls of one bar the turns add up",
)
def _side_turn(x, step):
    omega = sp.Symbol(r"\omega", real=True)
    square = x.load * x.push * sp.sin(x.beta)
    step("The rim pushes the ball along its track by N m; square to the bar that is", square)
    balance = sp.Eq(x.kappa_side * omega, square * x.hinge_distance)
    step("Its moment about the relief turns the bar.", balance)
    turn = sp.solve(balance, omega)[0]
    across = sp.Symbol(r"\omega", real=True) * x.hinge_distance
    step("The turn moves the ball square to the bar by ωL, along its track by", across * sp.sin(x.beta))
    return {"omega": turn, "shift": turn * x.hinge_distance * sp.sin(x.beta)}


@formula(
    "B6c",
    "take-up: blade angle through which the rim sticks before it slips",
    (PHI, MU, LOAD, SIDE, TRACK),
    {"take_up": ("blade angle", "rad")},
    "one carrying ball, on its track; the blade has snapped shut, so at rest the closing balance holds",
    "F2 both ways, B6",
)
def _take_up(x, step):
    turn = sp.Symbol(r"\Delta\theta", positive=True)
    closed, opening = (x.load * sp.tan(x.phi + way * sp.atan(x.mu)) for way in (-1, 1))
    step("The rim slid home, so at rest it pushes the ball along its track by", closed)
    step("It slips the other way only once it pushes by", opening)
    balance = sp.Eq(x.track_radius * turn, x.side_compliance * (opening - closed))
    step("Till then it takes the ball along, at the same contact angle, and the bar bends sideways.", balance)
    return sp.factor(sp.solve(balance, turn, simplify=False)[0])  # simplify takes long over the tangents


@formula(
    "B6d",
    "rest offset with the bar pressing",
    (REST_OFFSET, SIDE, LOAD, PHI, MU),
    {"loaded_offset": ("ball short of concentric at the stop, the bar pressing", "mm")},
    "one carrying ball, on its track; φ is the contact angle where it comes to rest; the blade has snapped shut, so the"
    " closing balance holds",
    "F2 letting back, B6",
)
def _loaded_offset(x, step):
    push = x.load * sp.tan(x.phi - sp.atan(x.mu))
    step("The rim slid home, so it pushes the ball towards the middle of its recess by", push)
    step("The bar gives by", sp.Eq(sp.Symbol("q"), x.side_compliance * push))
    return x.rest_offset - x.side_compliance * push


@formula(
    "B6f",
    "stability number of the sideways give",
    (SIDE, LOAD, Symbol("ball_radius", "radius of the ball", "mm", "R"), PHI),
    {"number": ("below 1 the ball stays where it sits; from 1 on it walks to the middle of its recess", "")},
    "sharp rim, on the track, no friction, bar force as it stands; that it falls as the ball sinks makes the seat a"
    " little steadier",
    "B6, how both sides of its balance grow",
)
def _stability(x, step):
    holds = 1 / x.side_compliance
    step(
        "Moved a little further towards the middle of its recess, the ball is held by the bar with more force: per"
        " millimetre",
        holds,
    )
    gap = x.ball_radius * sp.sin(x.phi)
    steeper = 1 / sp.diff(gap, x.phi)
    step("The move adds to the rim gap R sin φ, so the contact angle grows, per millimetre, by", steeper)
    push = x.load * sp.sin(x.phi) / sp.cos(x.phi)
    pushes = sp.simplify(sp.diff(push, x.phi)) * steeper
    step("and the push N tan φ of the rim by", pushes)
    step("The seat is steady while the hold grows faster than the push.", sp.StrictLessThan(pushes / holds, 1))
    return pushes / holds


@formula(
    "B9",
    "another stop pin",
    (
        Symbol("pin_change", "how much thicker the pin is, in diameter", "mm", r"\Delta D_p", "any"),
        Symbol("stop_radius", "pivot to where the tang meets the pin", "mm", "r_p"),
        TRACK,
    ),
    {
        "turn": ("blade angle by which the stop holds the blade further open", "rad", r"\Delta\theta_s"),
        "travel": ("how far that moves the recess past the ball, along its track", "mm", r"\Delta x"),
    },
    "small change; the pin stays where it is and the tang meets it square to the line to the pivot",
    "lever",
)
def _stop_pin(x, step):
    out = x.pin_change / 2
    step("Only the half of the pin that faces the tang moves it.", out)
    turn = out / x.stop_radius
    step("On the radius of the stop that turns the blade by", sp.Eq(sp.Symbol(r"\Delta\theta_s"), turn))
    return {"turn": turn, "travel": x.track_radius * turn}
