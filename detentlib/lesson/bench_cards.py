"""Cards of notebook 08: a complaint in the owner's words, the force that is wanted, and the pulls of a batch."""

import ipywidgets as widgets
from ipywidgets import Layout

from ..argue.faults.finder import Found, find_fault
from ..argue.faults.usual import USUAL
from ..draw.card import Card, alert, button, spoken, typed
from ..knife.parts import Knife, KnifeError
from ..knife.units import both
from ..measure.readings import KINDS, ReadingError, read_readings
from ..say.headline import usual_force
from ..tune.batch import Batch, batch_of
from ..tune.window import alone, read_window
from .own_readings import csv_files
from .question_card import SaidCard, markdown

_WRITE = "Write one force or both ends, such as 10 N, 9 N to 11 N or 2 to 3 lbf."
_KEPT: dict[str, str] = {}  # what stands in the boxes, so that Run All Cells, which makes them anew, loses nothing


class Complaint(SaidCard):
    """A box for a complaint about a Knife, and below it the causes that its numbers leave, or what to ask back.

    `found` holds the Found that is shown.
    """

    def __init__(self, knife: Knife, start: str = "too stiff"):
        """start: the complaint that an empty box stands for. KnifeError like `find_fault`."""
        self._knife, self._start = knife, start
        self.text = _kept("complaint", "Complaint", start, "In the owner's own words")
        self.result = widgets.Output()
        super().__init__([self.text, self.result], layout=Layout(max_width="1000px"))
        self.text.observe(lambda change: self._show(), "value")
        self._show()

    def __repr__(self):
        return repr(self.found)

    def _show(self):
        self.found: Found = find_fault(self.text.value.strip() or self._start, self._knife)
        self.result.outputs = (markdown(self.found._repr_markdown_()),)


class WantedForce(Card):
    """A box for the break force that is wanted at the tab; `window` holds (least, most) [N]."""

    def __init__(self, least: float = 9.0, most: float = 11.0):
        """least, most: what an empty box stands for [N]."""
        self.window = self._start = (least, most)
        tip = "At the tab, from least to most"
        self.text = _kept("wanted", "Break force wanted", f"{least:g} N to {most:g} N", tip)
        self.line = widgets.HTML()
        super().__init__([self.text, self.line], layout=Layout(max_width="1000px"))
        self._read("")
        self.text.observe(lambda change: self._read(" Run, then Run All Cells."), "value")

    def __repr__(self):
        return f"Break force wanted at the tab: {self._said()}"

    def _said(self):
        return " to ".join(both(end, "N") for end in self.window)

    def _read(self, then):
        """Take what stands in the box; what is no window is said, and the last one holds."""
        text = self.text.value.strip()
        try:
            edges = read_window({"break_force": text}) if text else ()
        except KnifeError as error:
            problem = error.problems[0]
            told = f"“{text}”: {problem.wrong}. {problem.why}".strip()
            self.line.value = alert(f"{told} {_WRITE} The page takes {self._said()} until then.")
            return
        if len(edges) == 1:
            self.line.value = alert(f"“{text}” has one end. {_WRITE} The page takes {self._said()} until then.")
            return
        self.window = low, high = tuple(edge.at for edge in edges) or self._start
        usual, said = USUAL["break_force"], f"The page takes {self._said()}.{then}"
        if text and alone(text):
            said += f" “{text}” has no ends, so a tenth of it counts on either side, or its own ±."
        if high < usual[0] or low > usual[1]:
            said += f" That is far from what is usual, {usual_force()} (common practice): is it in the right unit?"
        self.line.value = spoken(said)


class BatchPulls(Card):
    """A box for a file of pulls of many knives, and below it their spread, odd ones, and what may be behind it.

    `batch` holds the Batch that is shown, None while there is none.
    """

    def __init__(self, knife: Knife, window: tuple[float, float]):
        """knife: what they were meant to be; window: the break force that is wanted [N]."""
        self._knife, self._window, self.batch = knife, window, None
        self.file = widgets.Combobox(
            value=_KEPT.get("batch", ""),
            options=csv_files("batch"),
            ensure_option=False,
            description="Pulls of a batch",
            placeholder="choose, or type a path",
            tooltip=f"A CSV file with the columns {KINDS['batch'].example}",
            style={"description_width": "170px"},
            layout=Layout(width="560px", max_width="100%"),
        )
        self.button = button("Show the spread", "Work out these pulls", self.show, width="200px", margin="4px 0")
        self.line, self.result = widgets.HTML(), widgets.Output()
        super().__init__([self.file, self.button, self.line, self.result], layout=Layout(max_width="1000px"))

    def __repr__(self):
        return "<Pulls of a batch: run this cell to see the box>"

    def show(self) -> None:
        """Work out the pulls of the file, or say why that cannot be."""
        _KEPT["batch"] = name = self.file.value.strip()
        self.batch, self.result.outputs = None, ()
        if not name:
            self.line.value = alert(f"Choose a file first: a row a pull, with the columns {KINDS['batch'].example}.")
            return
        try:
            window = f"{self._window[0]} N to {self._window[1]} N"
            self.batch: Batch | None = batch_of(read_readings(name), self._knife, window)
        except (ReadingError, KnifeError) as error:
            self.line.value = alert(str(error))
            return
        wanted = " to ".join(both(end, "N") for end in self._window)
        self.line.value = spoken(f"Held against {self._knife.title} and {wanted}.")
        self.result.outputs = (markdown(self.batch._repr_markdown_()),)


complaint_card, wanted_force, batch_card = Complaint, WantedForce, BatchPulls


def _kept(name, label, empty, tip):
    """A text box that stands again as it was when its cell runs again."""
    box = typed(label, tip, empty, _KEPT.get(name, ""), "170px", width="560px", max_width="100%")
    box.observe(lambda change: _KEPT.update({name: change.new}), "value")
    return box
