"""What can be bought: balls, drills, reamers and plug pins, with their sources, and the stock sizes on either side of a
wish.

Sizes in mm. Inch sizes are exact, 1 in being 25.4 mm.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from ..knife.drills import NUMBERED
from ..knife.units import convert

# ISO 3290-1:2014 and DIN 5401:2002 list these series; the metric sizes below 1.5 mm are from memory
_INCH_BALLS = tuple(Fraction(*each) for each in ((1, 64), (1, 32), (3, 64), (1, 16), (5, 64), (3, 32), (7, 64), (1, 8)))
_METRIC_BALLS = (0.5, 0.6, 0.7, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0)


class Size(NamedTuple):
    """A stock size: its name in the catalogue and its diameter [mm]."""

    name: str
    diameter: float


class Near(NamedTuple):
    """The stock sizes beside a wish: the largest not above it, the smallest not below it; None past the end."""

    below: Size | None
    above: Size | None


def _metric_drills():
    """BS 328: tenths with 0.00, 0.02, 0.05 and 0.08 mm up to 0.98 mm, then every 0.05 mm, from 3 mm every 0.1 mm."""
    hundredths = [tenth * 10 + extra for tenth in range(2, 10) for extra in (0, 2, 5, 8)]
    hundredths += [*range(100, 300, 5), *range(300, 1400, 10)]
    return [Size(f"{size / 100:.2f} mm", size / 100) for size in hundredths]


def _by_diameter(sizes):
    return tuple(sorted(sizes, key=lambda size: size.diameter))


INCH_BALLS = _by_diameter(
    [Size(f"{size} in", convert(size.numerator, "in", "mm") / size.denominator) for size in _INCH_BALLS]
)
METRIC_BALLS = _by_diameter([Size(f"{size} mm", size) for size in _METRIC_BALLS])
BALLS = _by_diameter([*INCH_BALLS, *METRIC_BALLS])
NUMBER_DRILLS = _by_diameter([Size(f"No. {number}", float(size)) for number, size in NUMBERED.items()])
METRIC_DRILLS = _by_diameter(_metric_drills())
DRILLS = _by_diameter([*NUMBER_DRILLS, *METRIC_DRILLS])
# machine reamers: in hundredths and in thousandths of an inch from makers who grind to size; common practice, from
# memory
METRIC_REAMERS = tuple(Size(f"reamer {size / 100:.2f} mm", size / 100) for size in range(95, 306))
INCH_REAMERS = tuple(Size(f"reamer {size / 1000:.4f} in", convert(size / 1000, "in", "mm")) for size in range(38, 121))
REAMERS = _by_diameter([*METRIC_REAMERS, *INCH_REAMERS])
# plug pins of the smallest common set, 0.011 to 0.060 in by the thousandth; common practice, from memory
PLUG_PINS = tuple(Size(f"pin {size / 1000:.3f} in", convert(size / 1000, "in", "mm")) for size in range(11, 61))


def near(diameter: float, sizes: Sequence[Size]) -> Near:
    """The stock sizes on either side of a diameter [mm], from BALLS, DRILLS, REAMERS, PLUG_PINS or part of them.

    Where the diameter is itself a stock size, both are that size. A hole comes out larger than its drill by 0.01 to
    0.03 mm (common practice). Raises ValueError for a diameter that is not above zero.

    >>> near(1.25, NUMBER_DRILLS)
    Near(below=Size(name='No. 56', diameter=1.1811), above=Size(name='No. 55', diameter=1.3208))
    >>> near(1.3208, DRILLS).below.name
    'No. 55'
    """
    if not diameter > 0:
        raise ValueError(f"a diameter of {diameter:g} mm is not above zero")
    below = [size for size in sizes if size.diameter <= diameter]
    above = [size for size in sizes if size.diameter >= diameter]
    return Near(below[-1] if below else None, above[0] if above else None)
