"""Derivations F and E: from lift and bar force to torque, to what the hand and the gauge feel, to
energy.
"""

import sympy as sp

from .formulas import Symbol, formula, theorem

LOAD = Symbol("load", "force of the ball on the tang, along the lift", "N", "N")
TRACK = Symbol("track_radius", "track radius of the ball", "mm", r"\rho")
PHI = Symbol("phi", "contact angle", "rad", r"\varphi", "not negative")
COS_CHI = Symbol(
    "cos_chi",
    "share of the travel that goes straight away from the recess axis (L2); 1 in the plane",
    "",
    r"\cos\chi",
    "any",
)
MU = Symbol("mu", "friction coefficient; its negative for letting back", "", r"\mu", "any")
TORQUE = Symbol("torque", "torque about the pivot", "N·mm", "T", "any")
ARM = Symbol("arm", "pivot to the place of the push", "mm", "A")
BALL = Symbol("ball_radius", "radius of the ball", "mm", "R")
G_EARTH = sp.Float("0.00980665")


@formula(
    "F1",
    "torque without friction",
    (LOAD, TRACK, PHI, COS_CHI),
    {"torque": ("torque that resists opening", "N·mm")},
    "no friction; balls that carry together share one bar moment, and their torques add up",
    "virtual work",
)
def _frictionless(x, step):
    turn = sp.Symbol(r"\mathrm{d}\theta", positive=True)
    rise = sp.tan(x.phi) * x.cos_chi * x.track_radius * turn
    step("A small turn dθ moves the ball by ρ dθ, of which cos χ goes towards the rim: the bar rises by", rise)
    torque = sp.Symbol("T", real=True)
    balance = sp.Eq(torque * turn, x.load * rise)
    step("What the hand puts in lifts the bar.", balance)
    return sp.solve(balance, torque)[0]


@formula(
    "F2",
    "torque with friction per newton and millimetre",
    (PHI, MU, COS_CHI),
    {"ratio": ("torque over load and track radius: the wedge ratio", "")},
    "slow slip at the ball axis; tan(φ ± λ) in the plane; off track by up to 0.05 mm within 1 % opening, 1.4 % letting"
    " back (F2b takes the contact itself)",
    "equilibrium of the contact in space; in the plane the screw and wedge law of any statics text",
)
def _with_friction(x, step):
    P, N = sp.symbols("P N", positive=True)
    slope = sp.tan(x.phi) * x.cos_chi
    S = sp.sqrt(1 + slope**2)
    step(
        "The contact slides along a slope tan φ cos χ; its path is longer than the travel by", sp.Eq(sp.Symbol("S"), S)
    )
    pressed = _pressed(x, step, P, N, slope / S)
    push = P * (sp.sin(x.phi) * x.cos_chi + x.mu / S)
    step("Along the track the same two make the push.", push)
    return push.subs(P, pressed) / N


def _pressed(x, step, P, N, rise):
    """The pressure P square to the ball that holds the load N; rise: of the path, per millimetre of it."""
    lift = sp.Eq(N, P * sp.cos(x.phi) - x.mu * P * rise)
    step(
        "P presses square to the ball; along the lift it must hold the bar force N, with friction μP along the path.",
        lift,
    )
    pressed = N / sp.collect(sp.expand(lift.rhs), P).coeff(P)
    step("So P is", sp.Eq(P, pressed))
    return pressed


@formula(
    "F2b",
    "torque with friction at the true contact point, per newton and millimetre",
    (
        PHI,
        MU,
        COS_CHI,
        Symbol(
            "reach", "square of the contact's distance from the pivot over that of the ball's axis; 1 for F2", "", "Q"
        ),
    ),
    {"ratio": ("torque over load and track radius", "")},
    "slow slip; exact with the exact Q. Q = 1 + 2(b/ρ)s with s of the off-track error alone (L2) is F2 on the track;"
    " the (b/ρ)² and the arc that it leaves out are 0.06 % of the greatest torque opening, 0.1 % letting back (b 0.6"
    " mm, ρ 8 mm, μ 0.12, off track up to 0.1 mm)",
    "moments about the pivot, in space",
)
def _at_the_contact(x, step):
    P, N, rho = sp.symbols(r"P N \rho", positive=True)
    b, s = sp.symbols("b s", real=True)
    away = sp.Matrix([s, x.cos_chi])
    contact = sp.Matrix([rho, 0]) + b * away
    step(
        "The ball is held and the blade turns. The rim touches it b = R sin φ from its axis, straight away from the"
        " recess axis: s of that outward, cos χ along the track. So from the pivot the contact lies at",
        [sp.Eq(letter, place) for letter, place in zip(sp.symbols("X Y"), contact, strict=True)],
    )
    slip = sp.Matrix([-contact[1], contact[0]])
    squared = sp.expand(contact.dot(contact) / rho**2).subs(s**2, 1 - x.cos_chi**2)
    step(
        "Per radian the rim slips past by its own distance from the pivot, ρ√Q, square to the line to the pivot.",
        sp.Eq(x.reach, sp.expand(squared)),
    )
    towards = sp.expand(slip.dot(away))
    step("Of it goes straight at the rim, whatever b and s are,", towards)
    climb = sp.tan(x.phi) * towards
    S = sp.sqrt(x.reach + (climb / rho) ** 2)
    step(
        "The slip follows the ball, so it climbs tan φ times that, and its path per radian is ρS.",
        sp.Eq(sp.Symbol("S"), S),
    )
    pressed = _pressed(x, step, P, N, climb / (rho * S))
    arm = sp.expand(contact[0] * away[1] - contact[1] * away[0])
    push = P * (sp.sin(x.phi) * arm / rho + x.mu * x.reach / S)
    step(
        "About the pivot P has the arm ρ cos χ, and friction turns with the part ρ√Q/(ρS) of it on the radius ρ√Q; both"
        " over ρ.",
        push,
    )
    return push.subs(P, pressed) / N


@formula(
    "F3",
    "self-lock: the contact angle at which the ball jams",
    (MU,),
    {"phi": ("contact angle", "rad")},
    "in the plane; off track the slope is less and the limit a little higher",
    "F2, where the push grows without bound",
)
def _self_lock(x, step):
    phi = sp.Symbol(r"\varphi", positive=True)
    balance = sp.Eq(sp.cos(phi) - x.mu * sp.sin(phi), 0)
    step("The lift balance of F2 in the plane: nothing of P is left to hold the bar.", balance)
    tangent = sp.Symbol("u", positive=True)
    steep = sp.solve(sp.Eq(1 - x.mu * tangent, 0), tangent)[0]
    step("Divide by cos φ and solve for tan φ.", sp.Eq(sp.tan(phi), steep))
    return sp.pi / 2 - sp.atan(1 / steep)


@formula(
    "F4",
    "drag on the flat",
    (LOAD, TRACK, MU),
    {"torque": ("torque that resists motion", "N·mm")},
    "the ball slides on the flat tang",
    "Coulomb friction; F2 at φ = 0",
)
def _drag(x, step):
    push = x.mu * x.load
    step("On the flat only friction resists, on the arm of the track.", push)
    return push * x.track_radius


@formula(
    "F5",
    "force at a place on the blade",
    (TORQUE, ARM),
    {"force": ("push square to the radius", "N")},
    "push square to the line from the pivot",
    "lever",
)
def _at_arm(x, step):
    F = sp.Symbol("F", real=True)
    balance = sp.Eq(F * x.arm, x.torque)
    step("Moments about the pivot.", balance)
    return sp.solve(balance, F)[0]


@formula(
    "F5a",
    "dead band: where friction stops the draw-in",
    (
        BALL,
        Symbol("edge_radius", "radius of the rounded rim", "mm", "r", "not negative"),
        MU,
        Symbol("drag", "drag of the pivot", "N·mm", "T_d", "not negative"),
        LOAD,
        TRACK,
    ),
    {"band": ("ball travel from the start of the rim within which the blade does not draw in", "mm")},
    "in the plane; measured from b = −r",
    "F2 letting back, set equal to the pivot drag",
)
def _dead_band(x, step):
    lam, phi = sp.Symbol(r"\lambda", nonnegative=True), sp.Symbol(r"\varphi", nonnegative=True)
    balance = sp.Eq(sp.tan(phi - lam), x.drag / (x.load * x.track_radius))
    step("The pull of the rim just overcomes the pivot.", balance)
    angle = lam + sp.atan(balance.rhs)
    step("So draw-in begins at this contact angle.", sp.Eq(phi, angle))
    return (x.ball_radius + x.edge_radius) * sp.sin(angle).subs(lam, sp.atan(x.mu))


@formula(
    "F6",
    "friction from a two-way pull",
    (
        Symbol("opening", "torque that just opens, drag taken off", "N·mm", "T_o"),
        Symbol("letback", "torque at which it just closes again, drag taken off", "N·mm", "T_l"),
        PHI,
    ),
    {"mu": ("friction coefficient at the rim", "")},
    "both pulls at the same blade angle, in the plane",
    "the screw law both ways, divided",
)
def _two_way(x, step):
    lam, r = sp.symbols(r"\lambda r", positive=True)
    step("The bar force is the same both ways, so it divides out.", sp.Eq(r, sp.tan(x.phi + lam) / sp.tan(x.phi - lam)))
    # tan A / tan B = (sin(A+B) + sin(A-B)) / (sin(A+B) - sin(A-B)) with A + B = 2 phi and A - B = 2 lam
    u, v = sp.sin(2 * x.phi), sp.Symbol(r"\sin2\lambda", positive=True)
    balance = sp.Eq(r, (u + v) / (u - v))
    assert (
        sp.simplify(
            sp.expand_trig((u + sp.sin(2 * lam)) / (u - sp.sin(2 * lam)) - sp.tan(x.phi + lam) / sp.tan(x.phi - lam))
        )
        == 0
    )
    step("In sines of the sum and the difference of the two angles.", balance)
    sine = sp.solve(balance, v)[0]
    step("Solve for the friction angle.", sp.Eq(v, sp.factor(sine)))
    return sp.tan(sp.asin(sp.factor(sine.subs(r, x.opening / x.letback))) / 2)


@formula(
    "F7",
    "torque of the blade's weight",
    (
        Symbol("mass", "mass of the blade", "g", "m_b"),
        Symbol("balance_radius", "pivot to balance point", "mm", "r_b"),
        Symbol(
            "attitude",
            "tilt of the pivot axis from upright, + when the weight holds the blade shut",
            "rad",
            r"\alpha",
            "any",
        ),
        Symbol("theta", "blade angle", "rad", r"\theta", "any"),
    ),
    {"torque": ("torque that resists opening", "N·mm")},
    "balance point at its lever's full length when shut; g = 9.80665 m/s², masses in g give 1e-3",
    "potential energy of a weight",
)
def _gravity(x, step):
    height = x.balance_radius * sp.sin(x.theta) * sp.sin(x.attitude)
    step("Opening by θ raises the balance point by", height)
    energy = x.mass * G_EARTH * height
    step("The weight's energy; its slope in θ is the torque.", energy)
    return sp.diff(energy, x.theta)


@formula(
    "F8",
    "drag of the pivot under the bar's load",
    (
        LOAD,
        PHI,
        Symbol("washer", "friction coefficient of the washers", "", r"\mu_w", "not negative"),
        Symbol("washer_radius", "mean radius of the washers", "mm", "r_w", "not negative"),
        Symbol("pin", "friction coefficient of the pin", "", r"\mu_p", "not negative"),
        Symbol("pin_radius", "radius of the pin", "mm", "r_p", "not negative"),
    ),
    {"torque": ("drag that grows with the bar force", "N·mm")},
    "washers carry the thrust of the bar, the pin carries the sideways push; plain bearings",
    "Coulomb friction",
)
def _loaded_pivot(x, step):
    thrust, side = x.load, x.load * sp.tan(x.phi)
    step("The bar presses the blade against the washers with N, the rim presses it against the pin with", side)
    return x.washer * thrust * x.washer_radius + x.pin * side * x.pin_radius


@formula(
    "F9",
    "snap ratio",
    (
        Symbol("peak", "greatest torque on opening", "N·mm", "T_{p}"),
        Symbol("drag", "torque on the flat", "N·mm", "T_f", "any"),
    ),
    {"ratio": ("share of the peak that falls away", "", r"\mathrm{snap}")},
    "peak first, then the drag of the ball on the flat",
    "tactile-switch usage: (peak − after)/peak",
)
def _snap(x, step):
    fall = x.peak - x.drag
    step("What falls away once the ball is out, as a share of the peak.", fall)
    return fall / x.peak


@formula(
    "E1",
    "elastic energy of the bar",
    (
        Symbol("moment", "moment of the bar", "N·mm", "M", "any"),
        Symbol("kappa", "stiffness of the bar in bar angle", "N·mm", r"\kappa"),
    ),
    {"energy": ("energy stored in the bar, from its free position", "mJ")},
    "straight-line bar; the barrier is the energy riding less the energy at rest",
    "work of the bar moment",
)
def _elastic(x, step):
    psi, end = sp.symbols(r"\psi \psi_e", real=True)
    work = sp.integrate(x.kappa * psi, (psi, 0, end))
    step("Work done by turning the bar from free to ψ.", work)
    return sp.simplify(work.subs(end, x.moment / x.kappa))


@formula(
    "E1a",
    "elastic energy of the sideways turn",
    (
        Symbol("kappa_side", "stiffness of the bar in sideways turn", "N·mm", r"\kappa_s"),
        Symbol("omega", "sideways turn of the bar", "rad", r"\omega", "any"),
    ),
    {"energy": ("energy stored by the sideways turn", "mJ")},
    "straight-line bar; bend (E1) and sideways turn add up",
    "work of the sideways moment (B6)",
)
def _side_turn_energy(x, step):
    turned = sp.Symbol("w", real=True)
    work = sp.integrate(x.kappa_side * turned, (turned, 0, x.omega))
    step("Work done by turning the bar sideways from straight to ω.", work)
    return work


@formula(
    "F10",
    "wedge under a block, friction at every face",
    (
        Symbol("load", "weight of the block, and what rests on it", "N", "W"),
        Symbol("wedge", "angle of the wedge, its lower face level", "rad", r"\alpha", "not negative"),
        Symbol(
            "mu_face",
            "friction coefficient between wedge and block; all three change their sign for letting the block down",
            "",
            r"\mu",
            "any",
        ),
        Symbol("mu_floor", "friction coefficient between wedge and floor", "", r"\mu_f", "any"),
        Symbol(
            "mu_wall",
            "friction coefficient between block and upright guide; its sign changes again where that force is below"
            " zero",
            "",
            r"\mu_w",
            "any",
        ),
    ),
    {
        "push": ("level push on the wedge; below zero: a pull that frees it", "N", "P"),
        "face": ("force square to the sloping face", "N", "N"),
        "floor": ("force on the floor", "N", "N_f"),
        "wall": ("force on the guide; below zero: on its other side", "N", "N_w"),
    },
    "slow, wedge without weight, faces that all slip; only while the force at the face comes out above zero, else the"
    " block locks",
    "equilibrium of block and wedge; any statics text",
)
def _wedge(x, step):
    push, face, floor, wall = sp.symbols("P N N_f N_w", real=True)
    aside = face * (sp.sin(x.wedge) + x.mu_face * sp.cos(x.wedge))
    up = face * (sp.cos(x.wedge) - x.mu_face * sp.sin(x.wedge))
    step("What the wedge gives the block, level and upright.", [aside, up])
    block = [sp.Eq(aside, wall), sp.Eq(up, x.load + x.mu_wall * wall)]
    step("The block: the wall holds it, and rubs against its way up.", block)
    wedge = [sp.Eq(floor, up), sp.Eq(push, aside + x.mu_floor * floor)]
    step("The wedge: the floor holds it, and rubs against the push.", wedge)
    found = sp.solve([*block, *wedge], (push, face, floor, wall), dict=True)[0]
    return {
        name: sp.factor(found[letter])
        for name, letter in (("push", push), ("face", face), ("floor", floor), ("wall", wall))
    }


@theorem(
    "E2",
    "a second ball that is idle on the flat, and the barrier",
    "Put a second ball on the same bar, at the same preset. If it hangs clear of the tang while ball 1 rides the flat, "
    "the barrier is no higher than what ball 1 alone would make without friction.",
    (
        Symbol("protrusion_1", "protrusion of ball 1", "mm", "p_1"),
        Symbol("protrusion_2", "protrusion of ball 2", "mm", "p_2"),
        Symbol("parallel_gap", "gap at which bar face and tang are parallel", "mm", "g_p", "any"),
        Symbol("hinge_distance_1", "hinge distance of ball 1", "mm", "L_1"),
        Symbol("hinge_distance_2", "hinge distance of ball 2", "mm", "L_2"),
        Symbol(
            "psi_1",
            "bar angle that ball 1 demands, at a blade angle and a sideways turn of the bar",
            "rad",
            r"\psi_1",
            "any",
        ),
        Symbol("psi_2", "bar angle that ball 2 demands there", "rad", r"\psi_2", "any"),
        Symbol("riding", "elastic energy of the bar when ball 1 rides the flat", "mJ", "U_f"),
        Symbol(
            "least",
            "least elastic energy that ball 1 alone lets the bar have, as it rests without friction",
            "mJ",
            "U_0",
        ),
        Symbol("rest_alone", "elastic energy at rest with ball 1 alone", "mJ", "U_1"),
        Symbol("rest_both", "elastic energy at rest with both balls", "mJ", "U_{12}"),
    ),
    "any recesses, ball sizes and radii, and any spring law whose stored energy never falls as the bar is pushed out;"
    " with an elastic bar ball 2 must hang lower by the sharing band (C5). It bounds the elastic energy alone: the peak"
    " force can rise, and so can the work with friction. Above ball 1 alone the barrier can be where friction changes"
    " where that rests: not without friction, nor on the stop with a bar that is stiff sideways",
    "one more constraint can only raise a minimum",
)
def _second_ball(x, step):
    flat = [
        (x.protrusion_1 - x.parallel_gap) / x.hinge_distance_1,
        (x.protrusion_2 - x.parallel_gap) / x.hinge_distance_2,
    ]
    step("On the flat the two balls ask for these bar angles (B4).", [sp.Eq(x.psi_1, flat[0]), sp.Eq(x.psi_2, flat[1])])
    clear = sp.Le(x.protrusion_2, sp.solve(sp.Eq(*flat), x.protrusion_2)[0])
    step("Ball 2 asks for no more than ball 1, and hangs clear, while", clear)
    step(
        "Then the bar rides as far out as with ball 1 alone, and with both stores the same.",
        sp.Eq(sp.Symbol("U_{f12}"), x.riding),
    )
    further = sp.Max(0, x.psi_2 - x.psi_1)
    assert further.is_nonnegative
    step(
        "Anywhere else the bar stands at the larger demand (C1): further out than with ball 1 alone, if at all.",
        sp.Ge(further, 0, evaluate=False),
    )
    bent, turned = sp.Function("U_b"), sp.Function("U_s")(sp.Symbol(r"\omega", real=True))
    stored = [bent(x.psi_1 + more) + turned for more in (further, 0)]
    step(
        "A bar further out stores no less by its bend, U_b; what it stores sideways, U_s, turned by ω, is the same.",
        sp.Ge(*stored, evaluate=False),
    )
    step(
        "So at no blade angle and no sideways turn is the energy lower, and nowhere below the least with ball 1 alone.",
        sp.Ge(x.rest_both, x.least),
    )
    step(
        "Without friction ball 1 alone rests there, and so it does on the stop with a bar that is stiff sideways. Else"
        " friction holds the bar a little short of it, and the barrier of ball 1 alone is lower by that little.",
        sp.Ge(x.rest_alone, x.least),
    )
    return sp.Le(x.riding - x.rest_both, x.riding - x.least, evaluate=False)


@formula(
    "E3",
    "work over the opening, with friction, at constant bar force",
    (LOAD, BALL, PHI, Symbol("lam", "friction angle", "rad", r"\lambda", "not negative")),
    {"work": ("work of the hand from rest to the flat", "mJ")},
    "in the plane, sharp rim, one ball, force that does not grow; a growing force is summed over the angle instead",
    "integral of the push (F2) over the travel",
)
def _work(x, step):
    R, lam = x.ball_radius, x.lam
    push = x.load * sp.tan(x.phi + lam) * sp.diff(R * sp.sin(x.phi), x.phi)
    step("Push times travel, the travel being R cos φ dφ.", push)
    whole = sp.Symbol("v", positive=True)
    # with v = φ + λ: tan v cos(v − λ) = sin v cos λ + (1/cos v − cos v) sin λ
    split = sp.sin(whole) * sp.cos(lam) + (1 / sp.cos(whole) - sp.cos(whole)) * sp.sin(lam)
    assert sp.simplify(sp.expand_trig(split - sp.tan(whole) * sp.cos(whole - lam))) == 0
    step("In v = φ + λ.", split)
    primitive = (
        sp.log(sp.tan(whole) + 1 / sp.cos(whole)) * sp.sin(lam)
        - sp.cos(whole) * sp.cos(lam)
        - sp.sin(whole) * sp.sin(lam)
    )
    assert sp.simplify(sp.diff(primitive, whole) - split) == 0
    step("Summed from the flat to the seat.", primitive)
    return x.load * R * (primitive.subs(whole, x.phi + lam) - primitive.subs(whole, lam))
