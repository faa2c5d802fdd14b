"""Derivations S1 and S3: how hard ball and tang press on each other, and how hard the relief is bent."""

import sympy as sp

from ..formulas import Symbol, formula


@formula(
    "S1a",
    "contact modulus of two materials",
    (
        Symbol("youngs_modulus_1", "Young's modulus of one body", "MPa", "E_1"),
        Symbol("poisson_1", "its Poisson ratio", "", r"\nu_1", "any"),
        Symbol("youngs_modulus_2", "Young's modulus of the other", "MPa", "E_2"),
        Symbol("poisson_2", "its Poisson ratio", "", r"\nu_2", "any"),
    ),
    {"modulus": ("contact modulus E*", "MPa")},
    "elastic half spaces",
    "Hertz; any text on contact",
)
def _contact_modulus(x, step):
    give = (1 - x.poisson_1**2) / x.youngs_modulus_1 + (1 - x.poisson_2**2) / x.youngs_modulus_2
    step("Both give way under the same pressure, so their compliances add.", give)
    return 1 / give


@formula(
    "S1",
    "ball on the flat: squash, contact radius, greatest pressure",
    (
        Symbol("load", "force on the ball", "N", "N"),
        Symbol("ball_radius", "radius of the ball", "mm", "R"),
        Symbol("modulus", "contact modulus E* (S1a)", "MPa", "E^*"),
    ),
    {"squash": ("approach of ball and tang", "mm"), "radius": ("radius of the contact spot", "mm"), "pressure": ("greatest pressure", "MPa")},
    "elastic, smooth, spot much smaller than the ball; past first yield the figures are comparisons only",
    "Hertz contact; any text on contact",
)
def _hertz(x, step):
    p, a, delta, r = sp.symbols(r"p_0 a \delta r", positive=True)
    pressed = sp.pi * p / (4 * x.modulus * a) * (2 * a**2 - r**2)
    step("Hertz' pressure p₀√(1 − r²/a²) presses the surfaces in by", pressed)
    fit = sp.Poly(sp.expand(pressed - (delta - r**2 / (2 * x.ball_radius))), r).coeffs()
    step("The ball is a parabola δ − r²/2R: both must agree at every r inside the spot.", [sp.Eq(each, 0) for each in fit])
    shape = sp.solve(fit, (p, delta), dict=True)[0]
    force = sp.integrate(p * sp.sqrt(1 - (r / a) ** 2) * 2 * sp.pi * r, (r, 0, a))
    step("The pressure adds up to the force.", sp.Eq(x.load, force))
    cubed = sp.Symbol("a^3", positive=True)
    radius = sp.cbrt(sp.solve(sp.Eq(x.load, sp.simplify(force.subs(p, shape[p]))).subs(a**3, cubed), cubed)[0])
    step("So the spot has the radius", sp.Eq(a, radius))
    return {"squash": shape[delta].subs(a, radius), "radius": radius, "pressure": shape[p].subs(a, radius)}


@formula(
    "S3",
    "bending stress in the relief",
    (
        Symbol("load", "force at the ball", "N", "N"),
        Symbol("hinge_distance", "middle of the relief to ball", "mm", "L"),
        Symbol("relief_length", "length of the relief", "mm", r"\ell"),
        Symbol("width", "width of the bar", "mm", "w"),
        Symbol("relief_thickness", "thickness of the relief", "mm", "t_r"),
    ),
    {"stress": ("greatest bending stress, at the root of the relief", "MPa")},
    "straight strip, corners not counted (a sharp corner adds its own concentration)",
    "bending of a rectangle; any strength-of-materials text",
)
def _relief_stress(x, step):
    z = sp.Symbol("z", real=True)
    k = sp.Symbol("k", positive=True)
    half = x.relief_thickness / 2
    moment = x.load * (x.hinge_distance + x.relief_length / 2)
    step("The root of the relief sees the force on its whole arm.", sp.Eq(sp.Symbol("M"), moment))
    inside = sp.integrate(k * z * z * x.width, (z, -half, half))
    step("Stress kz grows from the middle plane and must balance that moment.", sp.Eq(moment, inside))
    return sp.simplify(sp.solve(sp.Eq(moment, inside), k)[0] * half)
