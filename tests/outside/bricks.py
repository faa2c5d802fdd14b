"""What the beam formula B1 misses of a drawn bar: brick models over the usual sizes, as a table.

python -m tests.outside.bricks
"""

import numpy as np
from scipy import stats
from scipy.optimize import least_squares

from detentlib import formulas
from tests.bricks import Bar, compliance

TO_BALL_2 = 7.0  # mm, how much nearer to the hinge the second ball stands
PROUD = 0.35  # mm, where the rim presses, above the bar's face
REFINED = (0.5, 0.5**0.5, 1.0, 2**0.5)
ORDER = 1.5  # of the error in the size of the bricks, as the refined bars show
SIZES = "relief_thickness", "relief_length", "width", "thickness", "hinge_distance", "cut", "slab", "back", "overrun"
ANSWERS = "C11", "D11", "C12/C11", "twist", "D11 at the rim"
DEMO = Bar(1.1, 6.0, 7.0, 3.0, 36.4)
STOUT = Bar(1.7, 4.5, 8.0, 3.0, 40.0, pivot=46.0, overrun=1.0)
LINER = Bar(1.3, 6.0, 8.0, 1.3, 40.0)
# lowest and highest of what a card gives, then of what it leaves open; below 1 the slab beside the slot holds nothing
FRAMES = {
    "relief_thickness": (0.9, 1.8),
    "relief_length": (4.0, 10.0),
    "width": (6.0, 10.0),
    "thickness": (2.5, 4.0),
    "hinge_distance": (30.0, 54.0),
    "slab": (18.0, 32.0),
    "back": (8.0, 25.0),
    "overrun": (0.0, 2.0),
    "poisson": (0.28, 0.342),
    "tang_side": (0.0, 2.0),
    "pivot": (0.0, 2.0),
}
LINERS = FRAMES | {"thickness": (1.0, 1.6), "back": (4.0, 15.0), "overrun": (0.0, 0.0)}


def frames(count=20):
    """Bars of a frame lock by Latin hypercube."""
    return [_bar(**sizes) for sizes in _hypercube(FRAMES, count)]


def liners(count=8):
    """Bars of a liner lock: one thickness all along, bending from the end of the slot."""
    return [_bar(**sizes | {"relief_thickness": sizes["thickness"]}) for sizes in _hypercube(LINERS, count)]


def _hypercube(ranges, count):
    low, high = np.array(list(ranges.values())).T
    drawn = low + (high - low) * stats.qmc.LatinHypercube(len(ranges), rng=1, optimization="random-cd").random(count)
    return [dict(zip(ranges, (float(value) for value in row), strict=True)) for row in drawn]


def _bar(tang_side, pivot, **sizes):
    pivot = None if pivot < 1 else sizes["hinge_distance"] + 6
    return Bar(cut="outside" if tang_side < 1 else "tang", pivot=pivot, **sizes)


def beam(bar, near=None, far=None, sideways=False):
    """B1 between two hinge distances, both the bar's own by default; sideways with width and thickness swapped."""
    near, far = near or bar.hinge_distance, far or bar.hinge_distance
    if sideways:  # sections of width 1 as stiff as relief_thickness and thickness standing on edge
        width, thin, thick = 1.0, bar.width * np.cbrt(bar.relief_thickness), bar.width * np.cbrt(bar.thickness)
    else:
        width, thin, thick = bar.width, bar.relief_thickness, bar.thickness
    return formulas["B1"](
        near_arm=near,
        far_arm=far,
        relief_length=bar.relief_length,
        relief_thickness=thin,
        thickness=thick,
        width=width,
        youngs_modulus=bar.youngs_modulus,
    )


def twist(bar, height):
    """Give per newton sideways, both so high above the bar's middle plane, by twist of relief and thick bar (B2)."""
    low, high = bar.relief_faces
    above_relief = height + bar.thickness / 2 - (low + high) / 2
    parts = (
        (above_relief, bar.relief_length, bar.relief_thickness),
        (height, bar.hinge_distance - bar.relief_length / 2, bar.thickness),
    )
    shear = bar.youngs_modulus / (2 * (1 + bar.poisson))
    return sum(arm**2 * length / formulas["B2"](long_side=bar.width, short_side=t) for arm, length, t in parts) / shear


def stretches(bar, sideways=False):
    """What relief and thick bar would add to B1, as shares of it, if they went on with hinge and balls in place.

    The relief by its thickness (sideways: its width), in the step at both ends; the thick bar by its width, in the
    root. A bar without a step has no ends of a relief.
    """
    if sideways:
        relief, thick = (each * bar.width**3 / 12 for each in (bar.relief_thickness, bar.thickness))
        end = bar.width
    else:
        relief, thick = (bar.width * each**3 / 12 for each in (bar.relief_thickness, bar.thickness))
        end = bar.relief_thickness
    end = end if bar.relief_thickness < bar.thickness else 0.0
    root_arm = bar.hinge_distance + bar.relief_length / 2
    bent = np.array([bar.hinge_distance**2 * end / relief, root_arm**2 * bar.width / thick]) / bar.youngs_modulus
    return bent / beam(bar, sideways=sideways)


def measure(bar, fine=1.0):
    """ANSWERS for one bar: brick over beam of C11, D11, C12/C11; twist over B2 at the rim; D11 at the rim, roll and all.

    D11 is that of a force on the axis about which the bar rolls; at the rim the bar's roll comes on top of it.
    """
    give = compliance(bar, [bar.hinge_distance, bar.hinge_distance - TO_BALL_2], fine)
    up, side, between = beam(bar), beam(bar, sideways=True), beam(bar, near=bar.hinge_distance - TO_BALL_2)
    height = bar.thickness / 2 + PROUD
    axis = give[1, 2] / give[2, 2]
    rolled = give[2, 2] * (height - axis) ** 2
    shifted = give[1, 1] - give[2, 2] * axis**2
    ranks = give[0, 3] / give[0, 0], between / up
    return np.array([give[0, 0] / up, shifted / side, ranks[0] / ranks[1], rolled / twist(bar, height), (shifted + rolled) / side])


def settled(bar):
    """measure() for bricks without end small, by Richardson's extrapolation over two meshes."""
    coarse, fine = (measure(bar, each) for each in REFINED[1:3])
    return fine + (fine - coarse) / (2 ** (ORDER / 2) - 1)


def half_width(values, fitted=1):
    """Half of the 95 % interval in which one more bar lies, by Student's t of the bars less what was fitted."""
    free = len(values) - fitted
    spread = np.sqrt(np.sum((values - values.mean()) ** 2) / free)
    return stats.t.ppf(0.975, free) * spread * np.sqrt(1 + 1 / len(values))


def fitted_stretches(bars, ratios, sideways, clamp_known=False):
    """Stretches that bring B1 closest to the bricks, in units of stretches(); brick over B1 with them; its ±.

    clamp_known: overrun counted as thick bar, and a third number for the slab up to its clamp, as wide as it is.
    """
    shares = np.array([stretches(bar, sideways) for bar in bars])
    over = np.zeros(len(bars))
    if clamp_known:
        over = shares[:, 1] * [bar.overrun / bar.width for bar in bars]
        shares = np.column_stack([shares, shares[:, 1] * [bar.back / bar.slab for bar in bars]])
    found = least_squares(lambda lengths: ratios / (1 + over + shares @ lengths) - 1, np.zeros(shares.shape[1])).x
    left = ratios / (1 + over + shares @ found)
    return found, left, half_width(left, 1 + np.count_nonzero(shares.any(axis=0)))


def tell_refinement():
    print("C11 and D11, brick over beam, with ever finer bricks, and settled:")
    for bar in (DEMO, STOUT, LINER):
        rows = [measure(bar, fine) for fine in REFINED] + [settled(bar)]
        print(", ".join(f"{row[0]:.4f} {row[1]:.4f}" for row in rows), flush=True)


def tell(title, bars):
    columns = (*SIZES, "slab beside the slot", *ANSWERS)
    print(f"\n{title}\n\n| {' | '.join(columns)} |\n{'| --- ' * len(columns)}|")
    rows = []
    for bar in bars:
        rows.append(settled(bar))
        cells = [*(getattr(bar, name) for name in SIZES), "free" if bar.pivot is None else "held", *rows[-1]]
        print("|", " | ".join(cell if isinstance(cell, str) else f"{cell:.2f}" for cell in cells), "|", flush=True)
    found = dict(zip(ANSWERS, np.array(rows).T, strict=True))
    print("\nmean ± (95 %, of one more bar), least to greatest:")
    for name, values in found.items():
        print(f"{name}: {values.mean():.3f} ± {half_width(values):.3f}, {values.min():.3f} to {values.max():.3f}")
    for name, sideways, unit in (("C11", False, "thicknesses"), ("D11", True, "widths")):
        (ends, root), left, doubt = fitted_stretches(bars, found[name], sideways)
        print(f"{name}, relief {ends:.2f} {unit} longer, {root:.2f} widths of root: {left.mean():.3f} ± {doubt:.3f}")
        (ends, root, slab), left, doubt = fitted_stretches(bars, found[name], sideways, clamp_known=True)
        print(f"    clamp known, {ends:.2f}, {root:.2f} and {slab:.2f} of the slab: {left.mean():.3f} ± {doubt:.3f}")


if __name__ == "__main__":
    tell_refinement()
    tell("Frame locks", frames())
    tell("Liners", liners())
