"""Handbook values of the materials of bar, ball and tang, with their sources: one table for files, forms and tests.

Defaults, not measurements: such tables differ among themselves by about ±3 % on moduli and ±10 % on strengths.
"""

from dataclasses import dataclass

HV = 9.80665  # MPa in a unit of Vickers hardness


@dataclass(frozen=True)
class Material:
    """One material; moduli, yield_stress and hardness in MPa.

    yield_stress: None for ceramics, which do not yield but shatter. hardness: of an indenter, as a pressure.
    shear_modulus: only for bars. memory: which values are from memory. called: what else people write for it.
    """

    name: str
    youngs_modulus: float
    poisson: float
    yield_stress: float | None
    hardness: float
    source: str
    shear_modulus: float | None = None
    memory: tuple = ()
    called: tuple = ()


def _table(*materials):
    return {material.name: material for material in materials}


# bars
MATERIALS = _table(
    Material(
        "Ti-6Al-4V",
        113_800.0,
        0.342,
        880.0,
        349 * HV,
        "ASM data sheet MTP641, annealed",
        44_000.0,
        ("shear_modulus",),
        ("titanium", "ti", "6al4v", "ti64", "grade 5"),
    ),
    Material(
        "410",
        200_000.0,
        0.28,
        1076.0,
        423 * HV,
        "mill data sheet, tempered at 204 °C, 43 HRC; shear modulus from E and ν",
        78_000.0,
        ("hardness",),
    ),
    Material(
        "420",
        200_000.0,
        0.28,
        1311.0,
        484 * HV,
        "mill data sheet, tempered at 204 °C, 48 HRC; shear modulus from E and ν",
        78_000.0,
        ("hardness",),
    ),
    Material(
        "440A",
        200_000.0,
        0.28,
        1579.0,
        577 * HV,
        "mill data sheet, tempered at 204 °C, 54 HRC; shear modulus from E and ν",
        78_000.0,
        ("hardness",),
    ),
)

BALLS = _table(
    Material(
        "52100", 203_000.0, 0.29, 2034.0, 746 * HV, "ball data sheet, hardened, 60 to 67 HRC", memory=("hardness",)
    ),
    Material(
        "440C", 200_000.0, 0.28, 1900.0, 674 * HV, "vendor data sheet, tempered at 204 °C, 59 HRC", memory=("hardness",)
    ),
    Material(
        "silicon nitride", 307_000.0, 0.27, None, 1500 * HV, "vendor page and coursework table", memory=("poisson",)
    ),
    Material("zirconia", 210_000.0, 0.30, None, 1200 * HV, "open-access tables of dental ceramics"),
    Material(
        "tungsten carbide",
        625_000.0,
        0.22,
        None,
        1500 * HV,
        "coursework table, 6 % cobalt",
        memory=("poisson", "hardness"),
    ),
)

TANGS = _table(
    Material(
        "hard blade steel",
        212_000.0,
        0.29,
        2200.0,
        697 * HV,
        "martensitic blade stainless, generic, 58 to 62 HRC",
        memory=("youngs_modulus", "poisson", "yield_stress", "hardness"),
    ),
    *MATERIALS.values(),
)
