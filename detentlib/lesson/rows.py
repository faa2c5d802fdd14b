"""Readings by hand: pasted from a spreadsheet, or typed row by row, with what is wrong beside them."""

from collections.abc import Callable

import ipywidgets as widgets
from ipywidgets import Layout

from ..draw.card import Card, alert, button, spoken, typed
from ..knife.plain import true_minus
from ..measure.readings import KINDS, NAME, OfLine, ReadingError, Readings, readings_from_rows, readings_from_text

_WIDE = {"max_width": "1000px"}
_NOTHING_PASTED = "Nothing pasted yet."
_NOTHING_TYPED = (
    "Nothing typed yet. Rows that stay empty do not count; a unit of its own is understood, such as 2.7 lbf."
)


def in_words(readings: Readings) -> str:
    r"""What was read, in one line: kind, how many rows, from where to where each column goes, remarks.

    >>> in_words(readings_from_text("angle [deg], lift [thou]\n0, 0\n1.5, 4"))
    'Read: lift trace, 2 rows; angle 0 to 1.5°; lift 0 to 0.1016 mm.'
    """
    parts = [f"{len(readings)} row{'s' * (len(readings) != 1)}"]
    for name, column in readings.columns.items():
        unit = readings.units[name]
        if unit == NAME:
            parts.append(f"{name}: {len(set(column.tolist()))} names")
            continue
        low, high = (true_minus(f"{end:.5g}") for end in (column.min(), column.max()))
        parts.append(f"{name} {low} to {high}{'°' if unit == 'deg' else f' {unit}'}")
    remarks = f" Remarks: {'; '.join(readings.remarks)}." if readings.remarks else ""
    return f"Read: {readings.kind}, {'; '.join(parts)}.{remarks}"


class PasteBox(Card):
    """A box for rows copied from a spreadsheet or a CSV file, and a line on what was read or every bad row.

    `readings` holds the Readings last read, None while there are none that can be used.
    """

    def __init__(self, kind: str, changed: Callable[[], None] | None = None):
        """kind: one of KINDS, whose columns the empty box shows; changed: called when a person left the box."""
        self._tell, example = changed or (lambda: None), KINDS[kind].columns
        self.text = widgets.Textarea(
            description="Paste here",
            placeholder="The first row names the columns, with their units:\n" + "\t".join(example),
            tooltip="Rows with tabs, semicolons or commas between the columns",
            continuous_update=False,
            style={"description_width": "80px"},
            layout=Layout(width="600px", max_width="100%", height="150px"),
        )
        self.line = widgets.HTML()
        self.text.observe(lambda change: self._changed(), "value")
        super().__init__([self.text, self.line], layout=Layout(**_WIDE))
        self._changed()

    def __repr__(self):
        return "<Paste box: run this cell to see it>"

    def _changed(self) -> None:
        """Read what stands in the box, and say what it was or what is wrong with it."""
        self.readings, self.line.value = None, spoken(_NOTHING_PASTED)
        if self.text.value.strip():
            try:
                self.readings = readings_from_text(self.text.value)
                self.line.value = spoken(in_words(self.readings))
            except ReadingError as error:
                self.line.value = "".join(map(alert, error.lines))
        self._tell()


class TypedRows(Card):
    """Rows of boxes for readings of one kind, to be filled at the bench; beside each row stands what is wrong with it.

    `readings` holds the Readings of the rows that are filled, None while there are none or one of them is bad.
    """

    def __init__(self, kind: str, rows: int = 5, changed: Callable[[], None] | None = None):
        """kind: one of KINDS, else a ValueError that names them. rows: how many stand there at first.

        changed: called when a person changed a box.
        """
        if kind not in KINDS:
            raise ValueError(f"there are no readings of the kind {kind!r}; there are {', '.join(KINDS)}")
        self.kind, self.header = kind, KINDS[kind].columns
        self.readings, self._rows, self._quiet, self._tell = None, [], False, changed or (lambda: None)
        self._place, self.line = widgets.VBox([]), widgets.HTML()
        self.more = button("Add row", "One more row of boxes", self.add_row, width="130px")
        away = "Take the last row away, with what stands in it"
        self.fewer = button("Remove last row", away, self.remove_row, width="150px")
        for _ in range(rows):
            self._make_row()
        buttons = widgets.HBox([self.more, self.fewer], layout=Layout(margin="4px 0"))
        super().__init__([self._place, buttons, self.line], layout=Layout(**_WIDE))
        self._changed()

    def __repr__(self):
        return f"<Rows for a {self.kind}: run this cell to see them>"

    def add_row(self, *cells: object) -> None:
        """One more row, filled with the cells where they are given."""
        self._make_row()
        self.fill(len(self._rows), *cells)

    def fill(self, row: int, *cells: object) -> None:
        """Fill a row, counted from 1, as far as there are cells."""
        self._quiet = True
        for box, cell in zip(self._rows[row - 1][0], cells, strict=False):
            box.value = str(cell)
        self._quiet = False
        self._changed()

    def remove_row(self) -> None:
        """Take the last row away; the first stays."""
        if len(self._rows) > 1:
            self._rows.pop()
            self._show_rows()
            self._changed()

    def put(self, rows: list[list[str]]) -> None:
        """Fill the boxes with these rows, of which there are then at least as many."""
        for _ in range(len(rows) - len(self._rows)):
            self._make_row()
        for number, cells in enumerate(rows, 1):
            self.fill(number, *cells)

    def cells(self) -> list[list[str]]:
        """What stands in the rows."""
        return [[box.value.strip() for box in boxes] for boxes, _ in self._rows]

    def said(self, row: int) -> str:
        """What stands beside a row, counted from 1; "" where nothing is wrong."""
        return self._rows[row - 1][1].value

    def _make_row(self):
        number = len(self._rows) + 1
        boxes = []
        for i, name in enumerate(self.header):
            empty = "a number" if i == 0 and number == 1 else ""
            look = {"label_width": "140px", "width": "240px"}
            boxes.append(typed(f"{number}: {name}", f"Row {number}, {name}", empty, **look))
        for box in boxes:
            box.observe(lambda change: self._changed(), "value")
        self._rows.append((boxes, widgets.HTML(layout=Layout(flex="1 1 240px", min_width="0", margin="2px 0 0 8px"))))
        self._show_rows()

    def _show_rows(self):
        wraps = Layout(flex_flow="row wrap")
        self._place.children = [widgets.HBox([*boxes, message], layout=wraps) for boxes, message in self._rows]

    def _changed(self) -> None:
        """Read the filled rows again; each problem goes beside its row, the rest below."""
        if self._quiet:
            return
        filled = [i for i, cells in enumerate(self.cells()) if any(cells)]
        self.readings, beside, below = None, {}, []
        if filled:
            try:
                self.readings = readings_from_rows(self.header, self.cells())
            except ReadingError as error:
                beside, below = _placed(error, filled)
        for i, (_, message) in enumerate(self._rows):
            message.value = alert(beside.get(i, ""))
        if self.readings is not None:
            self.line.value = spoken(in_words(self.readings))
        elif filled:
            rows = ", ".join(str(i + 1) for i in sorted(beside))
            self.line.value = "".join(map(alert, below)) or alert(f"Not read yet. Look at row {rows}.")
        else:
            self.line.value = spoken(_NOTHING_TYPED)
        self._tell()


def _placed(error: ReadingError, filled: list[int]) -> tuple[dict, list]:
    """Problems of typed rows: ({row: words}, those of no row); filled: the rows that were read, below the header."""
    beside, below = {}, []
    for problem in error.problems:
        if isinstance(problem, OfLine) and problem.line >= 2:
            beside[filled[problem.line - 2]] = problem.wrong
        else:
            below.append(problem)
    return beside, below
