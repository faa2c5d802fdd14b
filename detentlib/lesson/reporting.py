"""The report of a job as a card: boxes for complaint and sentences, a name for the file, a button that writes it."""

import ipywidgets as widgets
from ipywidgets import Layout

from ..pages.report import Report
from .question_card import SaidCard, markdown
from .saving import SaveBox

_COMPLAINT = "Complaint"
_ASKED = {
    _COMPLAINT: "in the owner's own words",
    "Found": "what the readings say, in one sentence",
    "Because": "why the knife does that, in one sentence",
    "Advice": "what you would do first, in one sentence",
}


class ReportCard(SaidCard):
    """A Report with a box for complaint and each sentence; `page` is the Report with what stands in them."""

    def __init__(self, page: Report, name: str = "report.html"):
        """name: of the file, in its box at first."""
        self.page = page
        self.boxes = {
            label: widgets.Textarea(
                description=label,
                placeholder=asked,
                tooltip=f"{label}: {asked}",
                rows=2,
                continuous_update=False,
                style={"description_width": "80px"},
                layout=Layout(width="100%", max_width="760px"),
            )
            for label, asked in _ASKED.items()
        }
        self.save = SaveBox("the report", name, self._write, "Write the page")
        self.shown = widgets.Output(outputs=(markdown(page._repr_markdown_()),), layout=Layout(max_width="1000px"))
        self.boxes[_COMPLAINT].value = page.complaint
        for box in self.boxes.values():
            box.observe(lambda change: self._say(), "value")
        super().__init__([*self.boxes.values(), self.save, self.shown])

    def __repr__(self):
        return self.page._repr_markdown_()

    def _say(self):
        self.page = self.page.saying(*(box.value.strip() for box in self.boxes.values()))
        self.shown.outputs = (markdown(repr(self)),)

    def _write(self, path, replace):
        self.page.save(path, replace=replace)


report_card = ReportCard
