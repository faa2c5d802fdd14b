"""Drills that go by a number: what each of them measures."""

from fractions import Fraction

# ASME B94.11M, from No. 80 to No. 40, in ten-thousandths of an inch
_TEN_THOUSANDTHS = (
    *(135, 145, 160, 180, 200, 210, 225, 240, 250, 260),
    *(280, 292, 310, 320, 330, 350, 360, 370, 380, 390),
    *(400, 410, 420, 430, 465, 520, 550, 595, 635, 670),
    *(700, 730, 760, 785, 810, 820, 860, 890, 935, 960),
    *(980,),
)
NUMBERED = {80 - k: Fraction(size, 10_000) * Fraction("25.4") for k, size in enumerate(_TEN_THOUSANDTHS)}
"""{number: diameter [mm], exact}."""
