"""The bench sheet: two pages to print and fill in at the bench, with what to measure, with what, how often and how
sure; what is most needed stands first.
"""

from datetime import date
from pathlib import Path
from typing import NamedTuple

from ..files.instruments import INSTRUMENTS, instrument_for
from ..knife.given import given_knife
from ..knife.parts import Knife, spec
from ..knife.paths import BAR, field_of, place_of
from ..knife.units import show
from ..measure.readings import KINDS
from ..say.cautions import CAUTIONS
from ..say.measure import exactly
from .paper import fill, save

# what moves the numbers most, and what is quickly had, first: judgement; all else follows as on the card
_FIRST = (
    "ball.protrusion",
    "recess.diameter",
    "bar.riding_force",
    "blade.tab_arm",
    "recess.rest_offset",
    "ball.hinge_distance",
    "ball.diameter",
    "ball.track_radius",
    "friction.pivot_torque",
)
_PULLED = "friction.rim"
_CAUTIONS = ("edge", "gauge", "solvent", "dry", "estimate", "law")  # of measuring; nothing is cut or pressed here


def bench_sheet(knife: Knife, path: str | Path, replace: bool = False) -> str | Path:
    """Write the bench sheet of a Knife as one HTML file, two pages of A4 or Letter when printed; returns its path.

    Page 1: the two-way pull, then the numbers of the card that an instrument of `instruments.py` serves, those that
    matter most first, each with its instruments, their ± (95 %), how often, and boxes to write in. Page 2: the rest
    of them, the lift trace and repeated readings, under the heads that `read_readings` knows. replace: True writes
    it over a file that is there. Raises KnifeError like `write_file`.
    """
    given_knife(knife)
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
        pull=instrument_for(_PULLED, "two-way pull"),
        kinds=KINDS,
    )


class Number(NamedTuple):
    """One number of a row: of which ball or bar, "" where there is one of its kind; its value on the card."""

    whose: str
    card: str


class CardRow(NamedTuple):
    """What is measured, of each ball alike; its numbers, a line for each instrument, how many readings of each."""

    what: str
    numbers: list[Number]
    tools: list[str]
    times: int


def card_rows(knife: Knife) -> list[CardRow]:
    """Rows of the table, the most needed first; friction is had by the two-way pull, which has its own boxes."""
    places = {}
    for path in knife.paths():
        if knife.get(path) is not None and path != _PULLED and _tools(path):
            places.setdefault(field_of(path), []).append(path)
    return [_row(knife, places[field]) for field in sorted(places, key=_place)]


def _tools(path):
    return [each for each in INSTRUMENTS if each.reads(path)]


def _row(knife, paths):
    data, tools = spec(paths[0]), _tools(paths[0])
    unit = data["unit"]
    numbers = [Number(_whose(path, knife), show(knife.get(path), unit, knife.doubts.get(path))) for path in paths]
    told = [f"{each.name} ±{exactly(each.doubt, unit)}, {each.times} times" for each in tools]
    return CardRow(data["meaning"].capitalize(), numbers, told, max(each.times for each in tools))


def _whose(path, knife):
    """Which ball or bar a number is of, where there are several."""
    place = place_of(path)
    if place.ball is not None:
        return f"ball {place.ball + 1}" if len(knife.balls) > 1 else ""
    return f"leaf {place.index + 1}" if knife.second_bar is not None and place.kind == BAR else ""


def _place(field):
    """Where a number stands in the table."""
    return _FIRST.index(field) if field in _FIRST else len(_FIRST)
