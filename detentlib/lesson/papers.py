"""The card that hands a job on: which knife, which papers, under what name."""

from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets
from ipywidgets import Layout

from ..draw.card import Card, alert, button, spoken
from ..files.knife_file import read_knife
from ..files.writing import ThereAlready
from ..knife.parts import Knife, KnifeError
from ..pages.hand_on import FIRST, LETTER, PAPERS, Paper, letter_after, write_papers
from .choose import files, remembered
from .practice.sheet import AnswerSheet, answer_sheet
from .practice.topics import TOPICS
from .question_card import markdown

_OWN, _NONE = "", ""
_LAST_SEED = 999_999
_WHERE = "They stand in the list of files at the left: right click, then Open in New Browser Tab, to read or print."
_LABELS = {"description_width": "190px"}
_WIDE = {"style": _LABELS, "layout": Layout(width="480px")}


class HandOn(Card):
    """Menus for the knife and for how it was before the work, a tick for each paper, a name, and a button that writes.

    Files that are there already are left alone, and named.
    """

    def __init__(self, knife: Knife | Callable[[], Knife | None], sheet: AnswerSheet | None = None):
        """knife: the one of the page, where no other was chosen for all pages; or what gives that of the boxes above,
        None while they describe none, and then the papers that most people ask for are ticked at first.

        sheet: the teacher's, may go along; its seed and topics have boxes, and it is shown.
        """
        of_boxes = callable(knife)
        self._knife, self.sheet = knife, sheet
        self._papers, of_sheet = PAPERS, []
        if sheet is not None:
            answers = Paper("-sheet.html", "the teacher's sheet, with the answers", lambda _, at: self.sheet.save(at))
            self._papers, of_sheet = (*PAPERS, answers), self._boxes_of_sheet()
        names = [(path.stem, path.as_posix()) for path in files()]
        chosen = _OWN if of_boxes else remembered()
        knives = [("of the boxes above" if of_boxes else f"of this page: {knife.title}", _OWN), *names]
        start = chosen if chosen in dict(names).values() else _OWN
        self.knife = widgets.Dropdown(options=knives, value=start, description="Knife", **_WIDE)
        befores = [("one knife alone", _NONE), *names]
        self.before = widgets.Dropdown(options=befores, description="Before the work", **_WIDE)
        look, first = {"indent": False, "layout": Layout(width="400px")}, FIRST if of_boxes else self._papers
        self.ticks = [widgets.Checkbox(paper in first, description=paper.said, **look) for paper in self._papers]
        self.name = widgets.Text(description="Name of the files", placeholder="such as my-knife", **_WIDE)
        self.button = button("Write them", "Write the papers that are ticked", self.write, width="200px")
        self.written = widgets.HTML()
        ticks = widgets.VBox(self.ticks, layout=Layout(margin="0 0 0 194px"))
        super().__init__([*of_sheet, self.knife, self.before, ticks, self.name, self.button, self.written])

    def _boxes_of_sheet(self):
        self.seed = widgets.BoundedIntText(
            value=self.sheet.seed, min=0, max=_LAST_SEED, description="Seed of the sheet", **_WIDE
        )
        self.topics = widgets.SelectMultiple(
            options=list(TOPICS),
            value=[topic.name for topic, _ in self.sheet.parts],
            rows=5,
            description="Topics of the sheet",
            tooltip="Topics of the sheet; several with Ctrl or Shift",
            **_WIDE,
        )
        self.shown = widgets.Output(outputs=(markdown(repr(self.sheet)),), layout=Layout(max_width="1000px"))
        for box in (self.seed, self.topics):
            box.observe(lambda change: self._ask(), "value")
        return [self.seed, self.topics, self.shown]

    def _ask(self):
        self.sheet = answer_sheet(self.seed.value, self.topics.value)
        self.shown.outputs = (markdown(repr(self.sheet)),)

    def _repr_mimebundle_(self, **kwargs):
        """The live card, and beside it the sheet for a viewer without a kernel."""
        shown = {"text/markdown": repr(self.sheet)} if self.sheet else {}
        return {**super()._repr_mimebundle_(**kwargs), **shown}

    def __repr__(self):
        return "\n".join(["Papers to hand on:", *(f"- {paper.said}" for paper in self._papers)])

    def write(self) -> None:
        """Write what is ticked, and say what was written, paper by paper."""
        name = self.name.value.strip()
        chosen = [paper for paper, tick in zip(self._papers, self.ticks, strict=True) if tick.value]
        if not name or not chosen:
            self.written.value = alert("Nothing written: give the files a name, and tick what is to be written.")
            return
        try:
            knife = self._chosen()
            if knife is None:
                self.written.value = alert("Nothing written: the boxes describe no knife. What is wrong stands there.")
                return
            told = self._told(write_papers(knife, name, self._with_before(chosen), self._tell))
        except ThereAlready as error:
            told = alert(str(error))
        except KnifeError as error:
            told = alert(f"Nothing written. {error}")
        self.written.value = told

    def _chosen(self):
        if self.knife.value:
            return read_knife(self.knife.value)
        return self._knife() if callable(self._knife) else self._knife

    def _tell(self, paper):
        self.written.value = spoken(f"Writing {paper.said} …")

    def clear(self) -> None:
        """Say nothing: the knife of the boxes is another one by now."""
        self.written.value = ""

    def _with_before(self, papers):
        if self.before.value == _NONE:
            return tuple(papers)
        both = letter_after(read_knife(self.before.value))
        return tuple(both if paper is LETTER else paper for paper in papers)

    def _told(self, written: dict[Path, str]) -> str:
        told = "".join(
            alert(f"{path.name} could not be written. {problem}") if problem else spoken(f"Written: {path.as_posix()}")
            for path, problem in written.items()
        )
        return told + spoken(_WHERE)


hand_on = HandOn
