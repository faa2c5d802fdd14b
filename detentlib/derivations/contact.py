"""Derivations S: how hard ball and tang press on each other, what they stand, how they wear, how the relief
is bent.
"""

import sympy as sp

from .formulas import Symbol, formula


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
    {
        "squash": ("approach of ball and tang", "mm"),
        "radius": ("radius of the contact spot", "mm"),
        "pressure": ("greatest pressure", "MPa"),
    },
    "elastic, smooth, spot much smaller than the ball; past first yield the figures are comparisons only",
    "Hertz contact; any text on contact",
)
def _hertz(x, step):
    p, a, delta, r = sp.symbols(r"\sigma_H a_H \delta r", positive=True)
    pressed = sp.pi * p / (4 * x.modulus * a) * (2 * a**2 - r**2)
    step(
        "Hertz' pressure falls to the edge of the spot like half an ellipse; at r it presses the surfaces in by",
        pressed,
    )
    fit = sp.Poly(sp.expand(pressed - (delta - r**2 / (2 * x.ball_radius))), r).coeffs()
    step(
        "The ball is a parabola δ − r²/2R: both must agree at every r inside the spot.",
        [sp.Eq(each, 0) for each in fit],
    )
    shape = sp.solve(fit, (p, delta), dict=True)[0]
    force = sp.integrate(p * sp.sqrt(1 - (r / a) ** 2) * 2 * sp.pi * r, (r, 0, a))
    step("The pressure adds up to the force.", sp.Eq(x.load, force))
    cubed = sp.Symbol("a_H^3", positive=True)
    radius = sp.cbrt(sp.solve(sp.Eq(x.load, sp.simplify(force.subs(p, shape[p]))).subs(a**3, cubed), cubed)[0])
    step("So the spot has the radius", sp.Eq(a, radius))
    return {"squash": shape[delta].subs(a, radius), "radius": radius, "pressure": shape[p].subs(a, radius)}


RATIO = Symbol("axis_ratio", "short over long half axis of the contact ellipse, between 0 and 1", "", "k")


@formula(
    "S1b",
    "shape of an elliptical contact",
    (RATIO,),
    {
        "curvature_ratio": ("relative curvature across the long axis over that along it", ""),
        "size": ("factor F1 on the mean radius of the spot", ""),
        "approach": ("factor F2 on the approach", ""),
    },
    "elastic, smooth, spot small against the radii; k < 1 (a round spot is S1)",
    "Hertz contact of curved bodies by complete elliptic integrals; any text on contact",
)
def _ellipse(x, step):
    k = x.axis_ratio
    m = 1 - k**2
    K, E = sp.elliptic_k(m), sp.elliptic_e(m)
    step(
        "Complete elliptic integrals of the ellipse, with the parameter m = 1 − k².",
        [sp.Eq(sp.Symbol("K"), K), sp.Eq(sp.Symbol("E"), E)],
    )
    # an elliptical pressure presses by L − A x² − B y²; both curvatures come from the same two integrals
    along, across = (K - E) / m, (E / k**2 - K) / m
    step("The like pressure on an ellipse bends the surface along the long axis in proportion to", along)
    step("and across it in proportion to", across)
    ratio = across / along
    step("Their ratio must be that of the two relative curvatures.", ratio)
    cubed = 4 / (sp.pi * m) * sp.sqrt(k**3) * sp.sqrt((E / k**2 - K) * (K - E))
    step(
        "Force balance then fixes the size of the spot, F1³ times that of a round one.",
        sp.Eq(sp.Symbol("F_1") ** 3, cubed),
    )
    size = sp.cbrt(cubed)
    return {"curvature_ratio": ratio, "size": size, "approach": 2 / sp.pi * sp.sqrt(k) / size * K}


@formula(
    "S1c",
    "relative curvatures of a ball on a rounded rim",
    (
        Symbol("ball_radius", "radius of the ball", "mm", "R"),
        Symbol("bore_radius", "radius of the recess bore", "mm", "a"),
        Symbol("edge_radius", "radius of the rounded rim", "mm", "r"),
        Symbol("phi", "contact angle", "rad", r"\varphi", "not negative"),
    ),
    {"along": ("relative curvature along the rim", "1/mm"), "across": ("relative curvature across the rim", "1/mm")},
    "rim rounded with r > 0; 0 along the rim when the ball sits in the middle, where the contact is a ring",
    "principal curvatures of a torus",
)
def _rim_curvatures(x, step):
    R, r, phi = x.ball_radius, x.edge_radius, x.phi
    reach = x.bore_radius + r - r * sp.sin(phi)
    step("The contact point lies this far from the axis of the recess.", reach)
    inward = sp.sin(phi) / reach
    step("Seen along the contact normal the rim curves round the ball by", inward)
    return {"along": 1 / R - inward, "across": 1 / R + 1 / r}


@formula(
    "S2",
    "force at which a contact reaches a given pressure",
    (
        Symbol("pressure", "greatest pressure", "MPa", r"\sigma_H"),
        Symbol("ball_radius", "radius of the ball", "mm", "R"),
        Symbol("modulus", "contact modulus E* (S1a)", "MPa", "E^*"),
    ),
    {"load": ("force on the ball", "N")},
    "ball on the flat; first yield below the surface at a pressure of 1.6 Y, the bearing industry's static limit at"
    " 4200 MPa",
    "S1 solved for the force; 1.6 Y: Johnson, Contact Mechanics, 1985, from memory; 4200 MPa: ISO 76:2006",
)
def _pressure_load(x, step):
    N, p = sp.symbols("N p", positive=True)
    pressure = sp.cbrt(6 * N * x.modulus**2 / (sp.pi**3 * x.ball_radius**2))
    step("S1: the greatest pressure p grows with the cube root of the force.", sp.Eq(p, pressure))
    return sp.solve(sp.Eq(x.pressure**3, pressure**3), N)[0]


STRIP = (
    Symbol("hinge_distance", "middle of the relief to the ball that carries", "mm", "L"),
    Symbol("relief_length", "length of the relief", "mm", r"\ell"),
    Symbol("width", "width of the bar", "mm", "w"),
    Symbol("relief_thickness", "thickness of the relief", "mm", "t_r"),
)


@formula(
    "S3",
    "bending stress in the relief",
    (Symbol("load", "force at the ball that carries", "N", "N"), *STRIP),
    {"stress": ("greatest bending stress, at the root of the relief", "MPa")},
    "straight strip, corners not counted (a sharp corner adds its own concentration); the side push adds S3a",
    "bending of a rectangle; any strength-of-materials text",
)
def _relief_stress(x, step):
    return _bent(x, step, x.load, x.width, x.relief_thickness)


@formula(
    "S3a",
    "bending stress in the relief from the side push",
    (
        Symbol(
            "side_push",
            "push of the rim at the ball that carries, along the tang and square to the bar",
            "N",
            "P_s",
            "any",
        ),
        *STRIP,
    ),
    {"stress": ("greatest bending stress, at the root of the relief, on its edge", "MPa")},
    "straight strip, corners not counted; it adds to S3 in one corner of the section and takes off in the other",
    "bending of a rectangle about its strong axis; any strength-of-materials text",
)
def _side_stress(x, step):
    return _bent(x, step, x.side_push, x.relief_thickness, x.width)


def _bent(x, step, force, breadth, height):
    """Stress at the root of the relief from a force at the ball that bends the strip across its height."""
    z = sp.Symbol("z", real=True)
    k = sp.Symbol("k", real=True)
    moment = force * (x.hinge_distance + x.relief_length / 2)
    step("The root of the relief sees the force on its whole arm.", sp.Eq(sp.Symbol("M"), moment))
    inside = sp.integrate(k * z * z * breadth, (z, -height / 2, height / 2))
    step("Stress kz grows from the middle plane and must balance that moment.", sp.Eq(moment, inside))
    return sp.simplify(sp.solve(sp.Eq(moment, inside), k)[0] * height / 2)


@formula(
    "S4",
    "volume worn off by sliding",
    (
        Symbol("wear_coefficient", "wear coefficient, of the form with the factor 3", "", "K"),
        Symbol("load", "force on the ball", "N", "N"),
        Symbol("distance", "distance slid", "mm", "X"),
        Symbol("hardness", "hardness of the softer body", "MPa", "H"),
    ),
    {"volume": ("volume worn off", "mm³")},
    "Archard's law in the form K·N·X/(3H); coefficients scatter tenfold and more, so only an order of size",
    "Archard; the factor 3 is in some texts and not in others",
)
def _worn(x, step):
    contact = x.load / x.hardness
    step("The tips that touch carry the force at the hardness, so their area is", contact)
    a = sp.Symbol("a", positive=True)
    shed = sp.Rational(2, 3) * sp.pi * a**3 / (2 * a) / (sp.pi * a**2)
    step("A tip of radius a sheds a half ball over a slide of 2a: per area and distance", shed)
    return x.wear_coefficient * shed * contact * x.distance


@formula(
    "S4a",
    "volume of a flat worn on a ball",
    (Symbol("depth", "depth of the flat", "mm", "h_w"), Symbol("ball_radius", "radius of the ball", "mm", "R")),
    {"volume": ("volume worn off", "mm³")},
    "flat square to the radius, h_w < R",
    "solid of revolution",
)
def _flat_on_ball(x, step):
    z = sp.Symbol("z", nonnegative=True)
    volume = sp.integrate(sp.pi * (x.ball_radius**2 - z**2), (z, x.ball_radius - x.depth, x.ball_radius))
    step("Slices of the ball above the flat.", volume)
    return sp.factor(sp.expand(volume))
