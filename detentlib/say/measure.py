"""How lengths and forces are shown: in mm and N, or in thou and lbf.

Decimals are fixed, so that a line stands still while a slider moves.
"""

from typing import NamedTuple

from ..knife.checks import show
from ..knife.plain import true_minus
from ..knife.units import behind, convert, with_inches

_PLACES = {"N": 2, "lbf": 2, "mm": 3, "thou": 1, "deg": 1, "mJ": 2, "N/mm": 2, "lbf/in": 1, "MPa": 0, "ksi": 0, "": 2}


class Measure(NamedTuple):
    """How lengths and forces are shown: `units` maps a unit of the library to the one shown."""

    name: str
    units: dict

    def unit(self, unit: str) -> tuple[str, float]:
        """(unit as shown, factor) of a unit of the library.

        >>> THOU.unit("N")[0], MM.unit("deg")
        ('lbf', ('°', 1.0))
        """
        shown = self.units.get(unit, unit)
        return "°" if shown == "deg" else shown, convert(1.0, unit, shown)

    def say(self, value: float, unit: str) -> str:
        """The value in words, in the shown unit; a force in the other unit as well.

        >>> MM.say(12.0394, "N"), THOU.say(12.0394, "N"), THOU.say(0.6004, "mm"), MM.say(49.149, "deg")
        ('12.04 N (2.71 lbf)', '2.71 lbf (12.04 N)', '23.6 thou', '49.1°')
        """
        said = self.short(value, unit)
        return f"{said} ({self.other(value, unit)})" if unit == "N" else said

    def other(self, value: float, unit: str) -> str:
        """A length [mm] or force [N] in the unit that is not shown; nothing for any other value.

        >>> MM.other(12.0394, "N"), THOU.other(0.0508, "mm"), MM.other(45.0, "deg")
        ('2.71 lbf', '0.051 mm', '')
        """
        inch = {"N": "lbf", "mm": "thou"}.get(unit)
        if inch is None:
            return ""
        other = unit if unit in self.units else inch
        return _written(convert(value, unit, other), other)

    def short(self, value: float, unit: str) -> str:
        """The value in the shown unit only.

        >>> THOU.short(14.21, "N"), MM.short(-0.05, "mm")
        ('3.19 lbf', '−0.050 mm')
        """
        shown = self.units.get(unit, unit)
        return _written(convert(value, unit, shown), shown)

    def round(self, value: float, unit: str) -> str:
        """A round value without needless digits, as a scale bar has it.

        >>> THOU.round(0.508, "mm")
        '20 thou'
        """
        shown = self.units.get(unit, unit)
        return f"{convert(value, unit, shown):.5g} {shown}"


MM, THOU = (
    Measure("mm", {}),
    Measure("thou", {"mm": "thou", "N": "lbf", "N/mm": "lbf/in", "MPa": "ksi", "N·mm": "lbf·in"}),
)


def _written(value, unit):
    """Fixed decimals, so that the line does not jump while a slider moves; never -0."""
    places = _PLACES[unit]
    number = round(float(value), places) + 0.0
    return true_minus(f"{number:.{places}f}{behind(unit)}")


def exactly(value: float, unit: str) -> str:
    """A number of the card as it was given, not rounded, and in inch units.

    >>> exactly(1.5875, "mm"), exactly(45.0, "deg")
    ('1.5875 mm (62.5 thou)', '45°')
    """
    return with_inches(show(value, unit), value, unit)
