"""The table of units against NIST SP 811 (2008), appendix B.8, and against pint, another program that knows units."""

import pint
import pytest

from detentlib.knife import units
from detentlib.knife.units import convert, quantity

# quantity, unit, exact value in that unit, the figure as printed in SP 811 and the unit it is printed in
SP811 = [
    ("1 in", "mm", 25.4, 25.4, "mm"),
    ("1 lbf", "N", 4.4482216152605, 4.448222, "N"),
    ("1 ozf", "N", 0.27801385095378125, 0.2780139, "N"),
    ("1 ozf·in", "N·mm", 7.06155181422604, 7.061552e-3, "N·m"),
    ("1 lbf·in", "N·mm", 112.984829027617, 0.1129848, "N·m"),
    ("1 gf", "N", 9.80665e-3, 9.80665e-3, "N"),
    ("1 lbf/in", "N/mm", 0.175126835246476, 175.1268, "N/m"),
    ("1 psi", "MPa", 6894.757293168e-6, 6.894757e-3, "MPa"),
    ("1 ksi", "MPa", 6.894757293168, 6.894757, "MPa"),
]
PINT = {
    "ozf": "ounce_force",
    "gf": "force_gram",
    "kgf": "kilogram_force",
    "thou": "thou",
    "µm": "micrometer",
    "in": "inch",
    "deg": "degree",
    "": "dimensionless",
    "N·mm": "newton*millimeter",
    "N·m": "newton*meter",
    "lbf·in": "lbf*inch",
    "ozf·in": "ounce_force*inch",
    "lbf/in": "lbf/inch",
    "g·mm²": "gram*millimeter**2",
    "kg·m²": "kilogram*meter**2",
    "lb·in²": "lb*inch**2",
}


@pytest.mark.parametrize(("written", "unit", "exact", "printed", "printed_unit"), SP811)
def test_factor_is_that_of_sp811(written, unit, exact, printed, printed_unit):
    assert quantity(written, unit).value == pytest.approx(exact, rel=1e-12)
    last_digit = 10 ** (-len(f"{printed:e}".partition("e")[0].rstrip("0").replace(".", "")) + 1)
    assert quantity(written, printed_unit).value == pytest.approx(printed, rel=last_digit)


@pytest.fixture(scope="module")
def pint_units():
    return pint.UnitRegistry()


@pytest.mark.parametrize(("kind", "name"), [(kind, name) for kind, names in units._KINDS.items() for name in names])
def test_factor_is_that_of_pint(pint_units, kind, name):
    house = next(iter(units._KINDS[kind]))
    there = pint_units.Quantity(1.0, PINT.get(name, name)).to(PINT.get(house, house)).magnitude
    assert convert(1.0, name, house) == pytest.approx(there, rel=1e-12)
    assert quantity(f"1 {name}", house).value == pytest.approx(there, rel=1e-12)
