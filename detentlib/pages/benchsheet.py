"""The bench sheet: one page of HTML to print and fill in at the bench, with what to measure, with what, how often and how sure."""

import re
from datetime import date

from ..draw.measuring import MEASURE
from ..files.instruments import INSTRUMENTS
from ..knife.parts import name_of, spec
from ..knife.units import show
from ..measure.readings import KINDS
from ..say.cautions import CAUTIONS
from ..say.measure import exactly
from .paper import Marked, bullets, page, picture, save, table, text

# how often: by how much a hand shakes, not by how fine the instrument is (common practice)
TIMES = {
    "micrometer on the ball": 3,
    "depth micrometer over the ball": 10,
    "calipers, depth rod": 10,
    "plug pins in steps of a thou": 2,
    "microscope with a stage scale": 3,
    "photo of recess against ball": 2,
    "lift trace with a dial indicator": 2,
    "microscope stage or buttons": 3,
    "calipers": 3,
    "calipers from the pivot centre": 3,
    "height gauge from the pivot bore": 3,
    "ball-end micrometer": 3,
    "pull gauge at the ball": 5,
    "two-way pull, five times": 5,
    "pull gauge with the bar lifted off": 5,
}
_PICTURES = {
    "measure-lift": "Lift trace: indicator over the ball, printed protractor",
    "measure-pull": "Two-way pull: gauge square to the arm",
    "measure-bar": "Bar force: at the ball, shut and riding",
    "measure-photo": "Photo: points all round, stage scale in it",
    "measure-height": "Protrusion: depth micrometer, ten times",
}
_STYLE = """
.box { display: inline-block; width: 12mm; height: 6mm; border: 0.25mm solid #000; margin: 0 0.6mm 0.6mm 0; }
.wide { display: inline-block; min-width: 60mm; border-bottom: 0.3mm solid #000; }
.grid td { height: 6.2mm; border: 0.25mm solid #000; }
.grid th { border: 0.25mm solid #000; }
.how img { width: 150mm !important; }
"""
_TRACE_ROWS, _PULL_ROWS, _REPEAT_ROWS = 20, 5, 10


def bench_sheet(knife, path, replace=False):
    """Write the bench sheet of a Knife as one HTML file that prints on A4 and Letter; returns its path.

    It lists every number of the card that an instrument of `instruments.py` serves, with the instrument, its ± (95 %),
    how often, and boxes to write in; tables for the lift trace, the two-way pull and repeated readings, with the heads
    that `read_readings` knows; how to hold the instruments; and the cautions. replace: True writes it over a file that is
    there. Raises KnifeError like `write_file`.
    """
    save(path, sheet_html(knife), replace)
    return path


def sheet_html(knife):
    """The bench sheet as text."""
    title = f"Bench sheet: {knife.title}"
    parts = [
        f"<h1>{text(title)}</h1>",
        '<p>Measured by <span class="wide"></span> on <span class="blank"></span></p>',
        f'<p class="small">± is 95 %: the true value lies inside it 19 times in 20. Instruments and their ±: careful work, common practice; '
        f"put yours in if you know it. Made {date.today():%Y-%m-%d} from the card of {text(knife.title)}.</p>",
        "<h2>Before anything else</h2>",
        bullets(CAUTIONS.values()),
        "<h2>Numbers of the card</h2>",
        "<p>Every reading goes down, also the odd one. The instrument is put down and picked up again between two. Rest offsets are those of "
        "stripped parts, nothing pressing; a lift trace sees the loaded knife, and notebook 07 works back from it.</p>",
        table(["what", "on the card", "with", "±", "times", "readings"], card_rows(knife)),
        _traces(),
        f'<div class="how"><h2>How to hold it</h2>{"".join(_figure(name) for name in MEASURE)}</div>',
    ]
    return page(title, "\n".join(parts), _STYLE)


def card_rows(knife):
    """Rows of the table: what, value on the card, instrument, ±, how often, boxes; one for each instrument that serves a number."""
    rows = []
    for path in knife.paths():
        unit = spec(path)["unit"]
        value = knife.get(path)
        for instrument in INSTRUMENTS:
            if value is None or not re.fullmatch(instrument.serves, path):
                continue
            times = TIMES[instrument.name]
            card = show(value, unit, knife.doubts.get(path))
            boxes = Marked('<span class="box"></span>' * times)
            rows.append([name_of(path, knife).capitalize(), card, instrument.name, f"±{exactly(instrument.doubt, unit)}", str(times), boxes])
    return rows


def _figure(name):
    said = _PICTURES[name]
    return f"<figure>{picture(MEASURE[name](), said)}<figcaption>{text(said)}</figcaption></figure>"


def _traces():
    """The tables to fill with readings; their heads are those that a file of readings has."""
    trace, pull, repeats = (KINDS[kind].example for kind in ("lift trace", "two-way pull", "repeats"))
    said = (
        "Indicator over ball 1. First five times on the stop, angle 0. Then to well on to the flat; the last 15° of the swing as well. "
        "Type it into a sheet under these heads, save as CSV."
    )
    return (
        f'<div class="keep"><h2>Lift trace</h2><p class="small">{said}</p>{_grid(trace, _TRACE_ROWS, 3)}</div>'
        '<div class="keep"><h2>Two-way pull</h2><p class="small">At the tab, pivot axis upright, just off the stop. As found, and again clean and oiled.</p>'
        f"{_grid(pull, _PULL_ROWS, 2)}</div>"
        f'<div class="keep"><h2>Repeated readings</h2><p class="small">One thing, ten times, each time anew.</p>{_grid(repeats, _REPEAT_ROWS, 4)}</div>'
    )


def _grid(head, rows, beside):
    """Empty rows under the heads, the same heads several times beside each other."""
    heads = head.split(", ") * beside
    empty = "".join(f"<tr>{'<td></td>' * len(heads)}</tr>" for _ in range(rows))
    return f'<table class="grid"><thead><tr>{"".join(f"<th>{text(each)}</th>" for each in heads)}</tr></thead><tbody>{empty}</tbody></table>'
