"""The bench sheet: one page of HTML to print and fill in at the bench, with what to measure, with what, how often
and how sure.
"""

from datetime import date
from pathlib import Path

from markupsafe import Markup

from ..draw.measuring import MEASURE
from ..files.instruments import INSTRUMENTS
from ..knife.parts import Knife, name_of, spec
from ..knife.units import show
from ..measure.readings import KINDS
from ..say.cautions import CAUTIONS
from ..say.measure import exactly
from .paper import fill, picture, save

_PICTURES = {
    "measure-lift": "Lift trace: indicator over the ball, printed protractor",
    "measure-pull": "Two-way pull: gauge square to the arm",
    "measure-bar": "Bar force: at the ball, shut and riding",
    "measure-photo": "Photo: points all round, stage scale in it",
    "measure-height": "Protrusion: depth micrometer, ten times",
}

_CAUTIONS = ("edge", "gauge", "solvent", "dry", "estimate", "law")  # of measuring; nothing is cut or pressed here


def bench_sheet(knife: Knife, path: str | Path, replace: bool = False) -> str | Path:
    """Write the bench sheet of a Knife as one HTML file that prints on A4 and Letter; returns its path.

    It lists every number of the card that an instrument of `instruments.py` serves, with the instrument, its ± (95 %),
    how often, and boxes to write in; tables for the lift trace, the two-way pull and repeated readings, with the heads
    that `read_readings` knows; how to hold the instruments; and the cautions. replace: True writes it over a file that
    is there. Raises KnifeError like `write_file`.
    """
    save(path, lambda: sheet_html(knife), replace)
    return path


def sheet_html(knife: Knife) -> str:
    """The bench sheet as text."""
    return fill(
        "bench_sheet.html",
        title=f"Bench sheet: {knife.title}",
        knife=knife,
        made=f"{date.today():%Y-%m-%d}",
        cautions=[CAUTIONS[name] for name in _CAUTIONS],
        rows=card_rows(knife),
        kinds=KINDS,
        picture=picture,
        pictures=[(MEASURE[name](), told) for name, told in _PICTURES.items()],
    )


def card_rows(knife: Knife) -> list:
    """Rows of the table: what, value on the card, instrument, ±, how often, boxes; one for each instrument that
    serves a number.
    """
    rows = []
    for path in knife.paths():
        unit = spec(path)["unit"]
        value = knife.get(path)
        for instrument in INSTRUMENTS:
            if value is None or not instrument.reads(path):
                continue
            card = show(value, unit, knife.doubts.get(path))
            boxes = Markup('<span class="box"></span>' * instrument.times)
            rows.append(
                [
                    name_of(path, knife).capitalize(),
                    card,
                    instrument.name,
                    f"±{exactly(instrument.doubt, unit)}",
                    str(instrument.times),
                    boxes,
                ]
            )
    return rows
