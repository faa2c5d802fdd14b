"""The protractor for a lift trace: quarter degrees about the pivot, the whole swing, and pointers to cut out."""

import math
from pathlib import Path

import numpy as np
from matplotlib.patches import Arc, Circle, Polygon

from ..draw.drawing import GREY, INK
from ..files.writing import must_end
from ..say.cautions import CAUTIONS
from .true_size import LOW, MARGIN, WIDTH, Page, write_pages

REACH, SWING_REACH = 165.0, 80.0  # mm, from the pivot to the ends of the lines
SPAN = 24  # deg to each side of the stop that the fine scale holds
QUARTER, HALF = 0.25, 0.5  # deg between lines
CHECKS = ((100, "mm"), (2, "in"))
_BASE = 50.0  # mm on paper, height of the pivot on the first page
_WIDE, _TAIL, _HOLE = 16.0, 38.0, 4.0  # mm: of a pointer, its part past the pivot, half of its window there
_ASIDE = 0.5  # mm: so far off a pivot is easily set over a cross; judgement
_FINE, _STRONG = {"lw": 0.35, "color": INK}, {"lw": 0.7, "color": INK}


def protractor(path: str | Path, replace: bool = False) -> None:
    """Write the protractor for lift traces, to print; a path that ends in .svg or .pdf says which.

    Two pages that fit A4 and Letter and carry bars of 100 mm and 2 in to check the printer: print at 100 %. Page 1: the
    first 24° from the stop to either side, a line every quarter of a degree, 165 mm from the pivot. Page 2: the whole
    swing in half degrees, for the run-off, and two pointers to cut out. An SVG holds both below each other. replace:
    True writes it over a file that is there. Raises KnifeError for another ending and like `write_file`.
    """
    must_end(path, ".pdf", ".svg")
    pages = [("the first degrees, by quarters", _first_degrees), ("the whole swing, and pointers", _whole_swing)]
    write_pages(path, "Paper", "Protractor", pages, replace, CHECKS)


def _first_degrees(page: Page) -> None:
    page.words(
        CAUTIONS["edge"],
        "Lay the knife, shut, with the middle of its pivot over the cross, and clamp the handle. Tape the pointer to"
        " the blade, its long edge over the middle of the pivot. Turn this sheet about the cross until the edge of the"
        " pointer stands at 0 with the blade on its stop, then tape the sheet down. Read with one eye, square from"
        " above.",
        _off(REACH),
    )
    middle = (WIDTH / 2, _BASE)
    page.cross(*middle, "pivot-1", **_STRONG)
    page.put(Circle(middle, 5, fc="none"), lw=0.6)
    page.say(middle[0] + 8, _BASE - 4, "middle of the pivot")
    page.line((middle[0],) * 2, (_BASE + 12, _BASE + REACH - 12), lw=0.5, color=GREY, ls=(0, (8, 2, 2, 2)))
    for angle in np.arange(-SPAN, SPAN + QUARTER / 2, QUARTER):
        long = 10.0 if angle % 1 == 0 else 6.5 if angle % HALF == 0 else 4.5
        look = _STRONG if angle % 1 == 0 else _FINE
        _mark(page, middle, 90 - angle, (REACH - long, REACH), f"quarter-{angle:g}", look)
        if angle % 2 == 0:
            _number(page, middle, 90 - angle, REACH + 4, f"{abs(angle):g}°")
    page.put(Arc(middle, 2 * REACH, 2 * REACH, theta1=90 - SPAN, theta2=90 + SPAN), lw=0.5)


def _whole_swing(page: Page) -> None:
    page.words(
        "For the last degrees of the swing, set up as on page 1. The pointers: cut along the lines, cut the round"
        " window out, and tape the short end to the blade. The long straight edge with the arrows is the one to read"
        f" by: it runs through the middle of the pivot. {_off(SWING_REACH)}"
    )
    middle = (MARGIN + 4, 138.0)
    page.cross(*middle, "pivot-2", **_STRONG)
    for angle in np.arange(0, 180 + HALF / 2, HALF):
        long = 8.0 if angle % 10 == 0 else 6.0 if angle % 5 == 0 else 4.5 if angle % 1 == 0 else 3.0
        look = _STRONG if angle % 5 == 0 else _FINE
        _mark(page, middle, 90 - angle, (SWING_REACH - long, SWING_REACH), f"half-{angle:g}", look)
        if angle % 10 == 0:
            _number(page, middle, 90 - angle, SWING_REACH + 4, f"{angle:g}°")
            _number(page, middle, 90 - angle, SWING_REACH - 12, f"{180 - angle:g}°")
    page.put(Arc(middle, 2 * SWING_REACH, 2 * SWING_REACH, theta1=-90, theta2=90), lw=0.5)
    for k, x in enumerate((WIDTH - MARGIN - 58, WIDTH - MARGIN - 24), 1):
        _pointer(page, x, k)


def _pointer(page: Page, x: float, number: int) -> None:
    """A pointer whose left edge, at x, is the one to read by; its pivot a tail's length above its lower end."""
    pivot, top = LOW + 2 + _TAIL, LOW + 2 + _TAIL + REACH - 2
    # beside the pivot it reaches to the other side of the edge, so that the window goes round the pivot
    ear = [(x, pivot + 10), (x - 10, pivot + 7), (x - 10, pivot - 7), (x, pivot - 10)]
    outline = [(x, top), *ear, (x, LOW + 2), (x + _WIDE, LOW + 2), (x + _WIDE, top - 26)]
    page.put(Polygon(outline, closed=True, fc="white", gid=f"pointer-{number}"), lw=0.8)
    page.put(Circle((x, pivot), _HOLE, fc="none", gid=f"window-{number}"), lw=0.6)
    page.line((x, x), (pivot - 1.5, pivot + 1.5), **_FINE)
    page.line((x - 1.5, x + 1.5), (pivot, pivot), **_FINE)
    for y in (top - 45, pivot + 60):
        page.say(x + 1, y, "← read here", size=7)
    page.say(x + _WIDE / 2, LOW + 14, "tape to\nthe blade", ha="center", size=7)


def _mark(page, middle, turn, ends, name, look):
    """A line along the radius at a turn [deg] from the right, from one radius to the other."""
    along = np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    (x0, y0), (x1, y1) = (np.array(middle) + radius * along for radius in ends)
    page.line((x0, x1), (y0, y1), gid=name, solid_capstyle="butt", **look)


def _number(page, middle, turn, radius, said):
    x, y = middle[0] + radius * math.cos(math.radians(turn)), middle[1] + radius * math.sin(math.radians(turn))
    page.say(x, y, said, ha="center", rotation=turn - 90, size=7)


def _off(reach):
    """What a pivot beside the cross does to what is read."""
    off = math.degrees(_ASIDE / reach)
    return f"A pivot {_ASIDE:g} mm beside the cross puts an angle wrong by up to {off:.2g}°."
