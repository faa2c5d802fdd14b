"""Elastic constants of bar materials, with their sources: one table for files, forms and tests."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Material:
    """Handbook values of one bar material.

    youngs_modulus, shear_modulus and yield_stress are in MPa; doubt is the ± of the moduli in per cent
    (95 %), as such tables differ among themselves; source names where the figures stand.
    """

    name: str
    youngs_modulus: float
    shear_modulus: float
    yield_stress: float
    source: str
    doubt: float = 3.0


_TABLE = (
    Material("Ti-6Al-4V", 113_800.0, 44_000.0, 880.0, "ASM data sheet MTP641, annealed"),
    Material("410", 200_000.0, 78_000.0, 1076.0, "mill data sheet, tempered at 204 °C; shear modulus from E and ν 0.28"),
    Material("420", 200_000.0, 78_000.0, 1311.0, "mill data sheet, tempered at 204 °C; shear modulus from E and ν 0.28"),
    Material("440A", 200_000.0, 78_000.0, 1579.0, "mill data sheet, tempered at 204 °C; shear modulus from E and ν 0.28"),
)

MATERIALS = {material.name: material for material in _TABLE}
