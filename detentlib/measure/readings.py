"""Readings from the bench: CSV files, text pasted from a spreadsheet, rows typed into boxes; every bad row named.

The first row names the columns with their units in brackets, such as `angle [deg], lift [mm]`. Which columns there
are says what kind of readings they are (see KINDS). Lines that start with # are remarks.
"""

import csv
import difflib
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from ..files.writing import file_name
from ..knife.checks import short, shortened
from ..knife.given import checked
from ..knife.units import UnitError, check_unit, convert, of_scale, quantity, scale_words

PIXEL = "px"
NAME = "name"  # in place of a unit: the column holds names, not numbers


class Kind(NamedTuple):
    """A kind of readings: the columns that it must have and those that it may have, each with the unit it is kept in.

    columns: as a first row names them.
    """

    must: dict
    may: dict
    columns: tuple

    @property
    def example(self) -> str:
        """The columns as the first row of a file."""
        return ", ".join(self.columns)


KINDS = {
    "lift trace": Kind({"angle": "deg", "lift": "mm"}, {}, ("angle [deg]", "lift [mm]")),
    "two-way pull": Kind(
        {"opening": "N", "letting back": "N"},
        {"opening sliding": "N", "letting back sliding": "N"},
        ("opening [N]", "letting back [N]"),
    ),
    "opening pull": Kind({"opening": "N"}, {}, ("opening [N]",)),
    "force trace": Kind({"angle": "deg", "force": "N"}, {}, ("angle [deg]", "force [N]")),
    "photo points": Kind({"x": "mm", "y": "mm"}, {}, ("x [px]", "y [px]")),
    "repeats": Kind({"reading": "mm"}, {}, ("reading [mm]",)),
    "batch": Kind({"knife": NAME, "opening": "N"}, {"letting back": "N"}, ("knife", "opening [N]")),
}
_KNOWN = sorted({name for kind in KINDS.values() for name in (*kind.must, *kind.may)})
_NAMES = sorted({name for kind in KINDS.values() for name, unit in kind.must.items() if unit == NAME})
_HEADER = re.compile(r"\s*(?P<name>[^\[\](){},]*?)\s*[\[(]\s*(?P<unit>[^\])]*?)\s*[\])]\s*")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_SHOWN = 20


class OfLine(str):
    """What is wrong in one line of readings: `line` is its number, `wrong` the words without it."""

    def __new__(cls, line: int, wrong: str) -> "OfLine":
        """The header is line 1."""
        problem = super().__new__(cls, f"line {line}: {wrong}")
        problem.line, problem.wrong = line, wrong
        return problem


@checked
class ReadingError(ValueError):
    """Readings that cannot be used; `problems` lists every line with its cause, not only the first; lines: what is
    shown.
    """

    def __init__(self, problems: str | Iterable[str], source: str = "") -> None:
        """Take one sentence or many; source says which file or text."""
        self.problems = (problems,) if isinstance(problems, str) else tuple(problems)
        lead = f"{source}: " if source else ""
        shown = [lead + problem for problem in self.problems[:_SHOWN]]
        if len(self.problems) > _SHOWN:
            shown.append(f"{lead}and {len(self.problems) - _SHOWN} more lines like these")
        self.lines = tuple(shown)
        super().__init__("\n".join(shown))


@dataclass(frozen=True, eq=False, repr=False)
class Readings:
    """Readings of one kind: columns {name: array [n]} in mm, N or degrees, or of names; remarks as read.

    Photo points may be in px.
    """

    kind: str
    columns: dict
    units: dict
    source: str
    remarks: tuple = ()

    def __len__(self) -> int:
        """How many rows there are."""
        return next(iter(self.columns.values())).size

    def __getitem__(self, name: str) -> np.ndarray:
        """One column."""
        return self.columns[name]

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<Readings: {self.kind}, {len(self)} rows from {self.source}>"


def read_readings(path: str | Path) -> Readings:
    """Readings from a CSV file (UTF-8).

    Commas, semicolons or tabs part the columns. Raises ReadingError: a file that cannot be read, no header, columns or
    units that are not known, and every row that is not numbers, each with its line.
    """
    path = file_name(path)
    if path.suffix.lower() == ".toml":
        told = "is a knife file, where readings (.csv) are wanted. Give the knife file where a knife is asked for."
        raise ReadingError(told, str(path))
    try:
        data = path.read_bytes()
    except ValueError as error:
        raise ReadingError(f"cannot be read ({error})", str(path)) from None
    except OSError as error:
        near = sorted(each.name for each in path.parent.glob("*.csv")) if path.parent.is_dir() else []
        there = f" In that folder: {', '.join(near)}." if near else ""
        raise ReadingError(f"cannot be read ({error.strerror}).{there}", str(path)) from None
    try:
        text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError:
        raise ReadingError("is not a text file. Save the sheet as CSV with UTF-8.", path.name) from None
    return readings_from_text(text, path.name)


def readings_from_text(text: str, source: str = "pasted text") -> Readings:
    r"""Readings from text as in a CSV file, or as copied from a spreadsheet. Raises ReadingError like `read_readings`.

    >>> trace = readings_from_text("angle [deg]; lift [thou]\n0; 0\n1,5; 4,0")
    >>> trace.kind, trace["angle"].tolist(), trace["lift"].tolist(), trace.remarks
    ('lift trace', [0.0, 1.5], [0.0, 0.1016], ('decimal commas were read as decimal points',))
    >>> readings_from_text("angle [deg], lift [mm]\n0, 0.1\n1, oops")
    Traceback (most recent call last):
    detentlib.measure.readings.ReadingError: pasted text: line 3: lift 'oops' cannot be read as a number ...
    """
    if not isinstance(text, str):
        raise ReadingError(f"{short(text)} is no text. Give what a CSV file holds, its first row the names", "text")
    source = shortened(str(source))
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    remarks = tuple(line.strip().lstrip("#").strip() for _, line in lines if line.lstrip().startswith("#"))
    lines = [(number, line) for number, line in lines if not line.lstrip().startswith("#")]
    if not lines:
        raise ReadingError(
            f"there are no readings. The first row names the columns, such as: {KINDS['lift trace'].example}", source
        )
    mark = _mark(lines[0][1])
    names, units = _header(*lines[0], mark, source)
    kind = _kind(names, source)
    wanted = KINDS[kind].must | KINDS[kind].may
    rows = [(number, _cells(line, mark)) for number, line in lines[1:]]
    full = [(number, cells) for number, cells in rows if any(cells)]
    if len(full) < len(rows):
        count = len(rows) - len(full)
        remarks += (f"{count} empty {'row was' if count == 1 else 'rows were'} left out",)
        rows = full
    if not rows:
        raise ReadingError("has a header but no rows of readings", source)
    kept = {name: unit if unit == PIXEL else wanted[name] for name, unit in zip(names, units, strict=True)}
    of_names = [place for place, unit in enumerate(kept.values()) if unit == NAME]
    if _all_commas(rows, of_names):
        rows = [(number, _with_points(cells, of_names)) for number, cells in rows]
        remarks += ("decimal commas were read as decimal points",)
    units, taken = _as_forces(units, kept.values())
    remarks += taken
    columns = _numbers(rows, list(zip(names, units, kept.values(), strict=True)), mark, source)
    return Readings(kind, dict(zip(names, columns, strict=True)), kept, source, remarks)


def readings_from_rows(header: Sequence[str], rows: Iterable[Iterable[object]], source: str = "typed rows") -> Readings:
    """Readings from a header and rows of cells, as boxes in a notebook hold them; rows that are all empty are left
    out.
    """
    rows = [[str(cell).strip() for cell in row] for row in rows if any(str(cell).strip() for cell in row)]
    broken = [
        OfLine(number, f"{short(cell)} holds more than one line or column. Write one number in each box")
        for number, row in enumerate(rows, 2)
        for cell in row
        if len(cell.splitlines()) > 1 or "\t" in cell
    ]
    if broken:
        raise ReadingError(broken, source)
    lines = ["\t".join(header), *("\t".join(row) for row in rows)]
    return readings_from_text("\n".join(lines), source)


def _mark(header):
    """What parts the columns; None for one column."""
    return next((mark for mark in "\t;," if mark in header), None)


def _cells(line, mark):
    """The cells of a line; a spreadsheet puts some of them in quotes."""
    cells = (
        line.split(mark or "\n")
        if '"' not in line
        else next(csv.reader([line], delimiter=mark or "\t", skipinitialspace=True))
    )
    return [cell.strip() for cell in cells]


def _header(number, line, mark, source):
    """Names and units of the columns."""
    if mark is None and len(re.findall(r"[\[(]", line)) > 1:
        raise ReadingError(
            OfLine(
                number,
                "names several columns, but nothing parts them. Put a comma, a semicolon or a tab between all columns",
            ),
            source,
        )
    names, units, found = [], [], []
    for cell in _cells(line, mark):
        match = _HEADER.fullmatch(cell)
        name = " ".join((match["name"] if match else cell).lower().split())
        unit = NAME if name in _NAMES else match["unit"] if match else None
        if unit is None and re.fullmatch(r"[\s\d.,+-]+", cell):
            told = "the first row holds numbers. It must name the columns with their units, such as:"
            raise ReadingError(OfLine(number, f"{told} {KINDS['lift trace'].example}"), source)
        wrong = _wrong_column(cell, name, unit, match)
        if wrong:
            found.append(OfLine(number, wrong))
        names.append(name)
        units.append(unit)
    found += [OfLine(number, f"there are two columns {name!r}") for name in _KNOWN if names.count(name) > 1]
    if found:
        raise ReadingError(found, source)
    return names, units


def _wrong_column(cell, name, unit, match):
    """What is wrong with one cell of a header, in words; empty for nothing."""
    if unit == NAME:
        return f"column {short(cell)} holds names, which have no unit. Write {name}" if match else ""
    if not cell:
        return "a column has no name. Name it with its unit, or take out the mark that parts it from the others"
    if unit is None:
        return f"column {short(cell)} has no unit. Write it in brackets, such as: {_example_for(cell)}"
    wanted = {kind.must.get(name) or kind.may.get(name) for kind in KINDS.values()} - {None}
    if not wanted:
        near = difflib.get_close_matches(name, _KNOWN, 1, 0.5)
        cure = f"Did you mean {near[0]!r}?" if near else f"Known: {', '.join(_KNOWN)}."
        return f"column {short(name)} is not known. {cure}"
    if not unit:
        return f"the unit of {name} is empty. Write it in the brackets, such as: {_example_for(name)}"
    if unit == PIXEL and name in ("x", "y"):
        return ""
    kept = wanted.pop()
    try:
        check_unit(of_scale(unit, kept), kept)
    except UnitError as error:
        return f"the unit of {name} {error.wrong}. {error.cure}"
    return ""


def _as_forces(units, kept):
    """The units of the columns, what a scale shows as the force that it means; and what was taken so, in words.

    kept: the units that the columns are kept in.
    """
    found, told = [], []
    for unit, to in zip(units, kept, strict=True):
        counts = to not in (PIXEL, NAME)
        found.append(of_scale(unit, to) if counts else unit)
        told.append(scale_words(f"1 {unit}", to) if counts else "")
    return found, tuple(dict.fromkeys(filter(None, told)))


def _example_for(cell):
    name = " ".join(cell.lower().split())
    near = difflib.get_close_matches(name, _KNOWN, 1, 0.4)
    unit = next((kind.must[near[0]] for kind in KINDS.values() if near and near[0] in kind.must), "mm")
    return f"{near[0] if near else name} [{unit}]"


def _kind(names, source):
    for kind, (must, may, _) in KINDS.items():
        if set(must) <= set(names) <= set(must) | set(may):
            return kind
    known = "; ".join(f"{kind}: {each.example}" for kind, each in KINDS.items())
    raise ReadingError(f"the columns {', '.join(names)} make no kind of readings. Known: {known}", source)


def _all_commas(rows, of_names):
    """True where numbers are written with decimal commas throughout: some have a comma, none a point.

    of_names: places of the columns that hold names, which do not count.
    """
    cells = [cell for _, row in rows for place, cell in enumerate(row) if place not in of_names]
    return any(_DECIMAL_COMMA.fullmatch(cell) for cell in cells) and not any("." in cell for cell in cells)


def _with_points(cells, of_names):
    return [cell if place in of_names else cell.replace(",", ".") for place, cell in enumerate(cells)]


def _numbers(rows, header, mark, source):
    """The columns as arrays in the unit they are kept in; plain numbers at once, anything else cell by cell.

    header: (name, unit, unit it is kept in) of each column.
    """
    columns = None if any(kept == NAME for *_, kept in header) else _at_once(rows, header)
    if columns is not None:
        return columns
    found, table = [], []
    for number, cells in rows:
        values = []
        if len(cells) != len(header):
            comma = (
                " Are these decimal commas? Part the columns with semicolons or tabs, or write decimal points."
                if mark == "," and len(cells) > len(header)
                else ""
            )
            found.append(OfLine(number, f"has {len(cells)} cells where the header has {len(header)}.{comma}"))
            continue
        for (name, unit, kept), cell in zip(header, cells, strict=True):
            try:
                values.append(_READ.get(unit, _quantity)(cell, unit, kept))
            except UnitError as error:
                said = short(cell) if cell else "cell"
                missing = not cell and kept != NAME
                cure = f"Give a number in {kept}, or leave the row out." if missing else error.cure
                found.append(OfLine(number, f"{name} {said} {error.wrong}. {cure}"))
        table.append(values)
    if found:
        raise ReadingError(found, source)
    columns = zip(zip(*table, strict=True), header, strict=True)
    return [np.array(column, str if kept == NAME else float) for column, (*_, kept) in columns]


def _at_once(rows, header):
    """The same where every cell is a plain number, else None."""
    try:
        table = np.array([cells for _, cells in rows], float)
    except ValueError:
        return None
    if table.shape[1] != len(header):
        return None
    with np.errstate(over="ignore", invalid="ignore"):
        columns = [
            column if unit == kept else convert(column, unit, kept)
            for column, (_, unit, kept) in zip(table.T, header, strict=True)
        ]
    return columns if np.all(np.isfinite(columns)) else None


def _name(cell, *_):
    """The name of a knife."""
    if not cell:
        raise UnitError(cell, "is empty", "Write which knife it is, in every row.")
    return cell


def _quantity(cell, unit, kept):
    """A plain number, or a quantity with a unit of its own, in the unit that is kept."""
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        value, doubt = quantity(cell, unit)
        if doubt is not None:
            raise UnitError(
                cell,
                "has a ±, which a column of readings does not hold",
                "Write the number alone; its instrument gives the ±.",
            )
    # a column takes each number times the size of its unit, and so does a single cell
    value = value if unit == kept else value * convert(1.0, unit, kept)
    if not math.isfinite(value):
        raise UnitError(cell, f"is too large to be a number in {kept}", "Check the number and its unit.")
    return value


def _pixels(cell, *_):
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise UnitError(cell, "is not a number of pixels", "Write a plain number.")
    return value


_READ = {PIXEL: _pixels, NAME: _name}  # what reads a cell, by the unit of its column; a quantity else
