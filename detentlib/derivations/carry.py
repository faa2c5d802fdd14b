"""Derivations C: which ball takes the bar, where it hands over, and when two share."""

import sympy as sp

from .bar import ARM, PSI
from .formulas import Symbol, formula

BALL = Symbol("ball_radius", "radius of both balls", "mm", "R")
DIFFERENCE = Symbol(
    "height_difference", "press-depth difference: how much less ball 2 stands out", "mm", r"\Delta", "not negative"
)
LEAD = Symbol("rim_lead", "rim lead: how much nearer the rim of ball 2 is", "mm", "e")
GAP_1 = Symbol("rim_gap_1", "rim gap of ball 1 at the stop", "mm", "b_1")


@formula(
    "C1",
    "clearance of an idle ball",
    (PSI, Symbol("psi_ball", "bar angle that this ball demands", "rad", r"\psi_j", "any"), ARM),
    {"clearance": ("distance of the ball from the tang, along the lift", "mm")},
    "rigid bar: the ball with the largest demand in bar angle carries all, ψ = max ψ_j; each other one is idle",
)
def _clearance(x, step):
    step(
        "The bar stands at the largest demand.",
        sp.Eq(sp.Symbol(r"\psi"), sp.Max(sp.Symbol(r"\psi_1"), sp.Symbol(r"\psi_2"))),
    )
    demanded, stands = x.hinge_distance * x.psi_ball, x.hinge_distance * x.psi
    step("The idle ball is lifted to Lψ, while Lψ_j would do.", stands - demanded)
    return sp.factor(stands - demanded)


@formula(
    "C1a",
    "torque of two balls on one bar",
    (
        Symbol("moment", "moment of the bar", "N·mm", "M"),
        Symbol("share", "share of the moment that ball 2 carries, 0 to 1", "", r"\xi", "not negative"),
        Symbol("hinge_distance_1", "hinge distance of ball 1", "mm", "L_1"),
        Symbol("hinge_distance_2", "hinge distance of ball 2", "mm", "L_2"),
        Symbol("rise_1", "rise at ball 1 per radian of blade (track radius × slope)", "mm", "u_1", "any"),
        Symbol("rise_2", "rise at ball 2 per radian of blade", "mm", "u_2", "any"),
    ),
    {
        "torque": ("torque that resists opening", "N·mm"),
        "load_1": ("load of ball 1", "N"),
        "load_2": ("load of ball 2", "N"),
    },
    "no friction; however the two share, the torque is a weighted mean of what each would make alone, never their sum",
    "equilibrium of the bar, virtual work at each ball",
)
def _two_balls(x, step):
    n1, n2 = sp.symbols("N_1 N_2", nonnegative=True)
    balance = sp.Eq(n1 * x.hinge_distance_1 + n2 * x.hinge_distance_2, x.moment)
    step("The bar has one moment. The two loads on their arms must balance it.", balance)
    split = sp.Eq(n2 * x.hinge_distance_2, x.share * x.moment)
    step("Let ball 2 carry the share ξ of it.", split)
    loads = sp.solve((balance, split), (n1, n2), dict=True)[0]
    torque = n1 * x.rise_1 + n2 * x.rise_2
    step("Each load works on the rise of its own ball.", torque)
    mean = torque.subs({n: sp.factor(load) for n, load in loads.items()})
    step("With the loads put in: ξ between 0 and 1 slides between ball 1 alone and ball 2 alone.", mean)
    return {"torque": mean, "load_1": sp.factor(loads[n1]), "load_2": sp.factor(loads[n2])}


@formula(
    "C2",
    "handover in closed form",
    (DIFFERENCE, LEAD, BALL, GAP_1),
    {
        "phi_1": ("contact angle of ball 1 at the handover", "rad"),
        "phi_2": ("contact angle of ball 2 at the handover", "rad"),
        "travel": ("ball travel from the stop to the handover", "mm"),
    },
    "in the plane, equal balls, both on sharp rims, equal arms; e > 0, Δ > 0, travel between 0 and the rim gap of"
    " ball 2",
)
def _handover(x, step):
    f1, f2, m, h = sp.symbols(r"\varphi_1 \varphi_2 \varphi_m \varphi_h", positive=True)
    R = x.ball_radius
    height = sp.Eq(x.height_difference, R * (1 - sp.cos(f1)) - R * (1 - sp.cos(f2)))
    step("Where both touch, ball 1 sits deeper by just as much as it stands out more.", height)
    lead = sp.Eq(x.rim_lead, R * sp.sin(f1) - R * sp.sin(f2))
    step("Their rim gaps differ by the rim lead all along.", lead)
    # products in the mean and the half difference
    halves = {f1: m + h, f2: m - h}
    tall, long = (sp.factor(sp.expand_trig(side.rhs.subs(halves))) for side in (height, lead))
    step(
        "In the mean φₘ and the half difference φₕ of the two angles.",
        [sp.Eq(x.height_difference, tall), sp.Eq(x.rim_lead, long)],
    )
    tangent = sp.simplify(tall / long)
    assert tangent == sp.tan(m)
    mean = sp.atan(x.height_difference / x.rim_lead)
    step("Divide: the mean angle.", sp.Eq(m, mean))
    whole = sp.simplify(tall**2 + long**2)
    sine = sp.Symbol(r"\sin\varphi_h", positive=True)
    half = sp.asin(sp.solve(sp.Eq(whole.subs(sp.sin(h), sine), x.height_difference**2 + x.rim_lead**2), sine)[0])
    step("Square and add: the half difference.", sp.Eq(h, half))
    return {"phi_1": mean + half, "phi_2": mean - half, "travel": x.rim_gap_1 - R * sp.sin(mean + half)}


@formula(
    "C3",
    "touch threshold: the rim lead from which ball 2 touches at rest",
    (GAP_1, DIFFERENCE, BALL),
    {"rim_lead": ("smallest rim lead with which ball 2 touches at rest", "mm")},
    "in the plane, equal balls, sharp rims, equal arms; press-depth difference smaller than the seat depth of ball 1",
)
def _touch(x, step):
    R, b1, e = x.ball_radius, x.rim_gap_1, sp.Symbol("e", real=True)
    seat = sp.sqrt(R**2 - b1**2)
    step("At rest the centre of ball 1 lies below the tang face by", seat)
    balance = sp.Eq((b1 - e) ** 2 + (seat + x.height_difference) ** 2, R**2)
    step("Ball 2 sits lower by Δ; it just touches when its rim point, b₁ − e away, lies on it.", balance)
    return next(root for root in sp.solve(balance, e) if sp.simplify(root.subs(x.height_difference, 0)) == 0)


COMPLIANCES = (
    Symbol("compliance_11", "compliance at ball 1", "mm/N", "C_{11}"),
    Symbol("compliance_12", "displacement at one ball per newton at the other", "mm/N", "C_{12}"),
    Symbol("compliance_22", "compliance at ball 2", "mm/N", "C_{22}"),
)


@formula(
    "C4",
    "loads of two balls that both touch, on one elastic bar",
    (
        Symbol("lift_1", "how far ball 1 holds the bar out beyond its free position", "mm", "f_1", "any"),
        Symbol("lift_2", "the same at ball 2", "mm", "f_2", "any"),
        *COMPLIANCES,
    ),
    {"load_1": ("load of ball 1", "N"), "load_2": ("load of ball 2", "N")},
    "only while neither load is below zero: a ball can push but not pull, and the one that would have to pull is idle;"
    " without squash",
    "influence coefficients of the bar (B1, B2a)",
)
def _shared(x, step):
    n1, n2 = sp.symbols("N_1 N_2", real=True)
    lifts = [
        sp.Eq(x.lift_1, x.compliance_11 * n1 + x.compliance_12 * n2),
        sp.Eq(x.lift_2, x.compliance_12 * n1 + x.compliance_22 * n2),
    ]
    step("Each load lifts the bar at both balls.", lifts)
    loads = sp.solve(lifts, (n1, n2), dict=True)[0]
    step(
        "Solve for the loads. On one leaf the denominator is almost nothing, so a hair of lift decides who carries.",
        [sp.Eq(n, loads[n]) for n in (n1, n2)],
    )
    return {"load_1": loads[n1], "load_2": loads[n2]}


@formula(
    "C5",
    "sharing band: the height mismatch over which both balls carry",
    (Symbol("load", "force of ball 1 when it carries alone", "N", r"N_{\mathrm{alone}}"), *COMPLIANCES),
    {"band": ("width of the band, measured at ball 2", "mm")},
    "two balls on one elastic bar, squash not counted (it adds 0.005 to 0.01 mm)",
    "influence coefficients of the bar (B1, B2a)",
)
def _sharing_band(x, step):
    n1, n2, f1, f2 = sp.symbols("N_1 N_2 f_1 f_2", real=True)
    lifts = (
        sp.Eq(f1, x.compliance_11 * n1 + x.compliance_12 * n2),
        sp.Eq(f2, x.compliance_12 * n1 + x.compliance_22 * n2),
    )
    step("Each load, N₁ and N₂, lifts the bar at both balls; by f₁ and f₂ in all.", list(lifts))
    loads = sp.solve(lifts, (n1, n2), dict=True)[0]
    at_1 = x.compliance_11 * x.load
    step("Ball 1 alone lifts the bar there by", sp.Eq(f1, at_1))
    second, first = (sp.solve(loads[n].subs(f1, at_1), f2)[0] for n in (n2, n1))
    step("Raise ball 2: it begins to carry at this lift,", sp.Eq(f2, second))
    step("and from this lift on ball 1 is idle.", sp.Eq(f2, first))
    return sp.factor(first - second)


@formula(
    "C6",
    "where a load keeps a stiff bar on two springs level",
    (
        Symbol("distance", "distance between the two springs", "mm", r"\ell"),
        Symbol("rate_1", "rate of spring 1", "N/mm", "k_1"),
        Symbol("rate_2", "rate of spring 2", "N/mm", "k_2"),
    ),
    {"place": ("distance of the load from spring 1", "mm", r"\ell_1")},
    "stiff bar, straight-line springs that both press, level before the load came",
    "lever; any statics text",
)
def _level(x, step):
    a, sunk = sp.symbols("a s", positive=True)
    forces = x.rate_1 * sunk, x.rate_2 * sunk
    step("Level, both springs give by the same s.", list(forces))
    balance = sp.Eq((forces[0] + forces[1]) * a, forces[1] * x.distance)
    step("Moments about spring 1: the load is what both carry.", balance)
    return sp.simplify(sp.solve(balance, a)[0])
