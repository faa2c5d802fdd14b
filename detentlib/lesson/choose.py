"""Which knife a page works on: a drop-down of knife files, remembered for all pages in one small file."""

import os
from pathlib import Path

import ipywidgets as widgets

from ..draw.card import Card, alert, menu, spoken
from ..files.knife_file import read_knife
from ..files.writing import write_file
from ..knife.parts import KnifeError

KNIVES, REMEMBERED = Path("knives"), Path("chosen-knife.txt")
DEMO_ONLY = "DETENT_DEMO_ONLY"  # set where stored numbers are compared: a knife chosen by a reader would change them
_DEMO = ""
_BALLS = ("no ball", "one ball", "two balls")


class KnifeChoice(Card):
    """The drop-down at the top of a page: `knife` is the one of the file chosen on any page, else the page's demo.

    A chosen knife that cannot be read, or has too few balls for the page, is named in words, and the demo stands in.
    """

    def __init__(self, demo: str, balls: int = 1):
        """demo: name of a file in knives/, KnifeError where it cannot be read; balls: how many this page is about."""
        self._balls = balls
        self._demo = KNIVES / f"{demo}.toml"
        self.path, self.knife = self._demo, read_knife(self._demo)
        choices = {_DEMO: f"the demo of this page: {self.knife.title}"}
        choices |= {path.as_posix(): path.stem for path in files()}
        chosen = remembered()
        if chosen:
            choices.setdefault(chosen, chosen)
        self.line = widgets.HTML()
        options, tip = [(label, path) for path, label in choices.items()], "The knife that every page works on"
        self.menu = menu("Knife of all pages", options, tip, chosen, "10.8em", width="36.9em")
        super().__init__([self.menu, self.line])
        self._show(chosen, "")
        self.menu.observe(lambda change: self._choose(change.new), "value")

    def __repr__(self):
        return f"Knife of this page: {self.knife.title}"

    def _choose(self, path):
        """A person chose another knife: the pages take it once their cells run again."""
        self.path, self.knife = self._demo, read_knife(self._demo)
        self._show(path, "Remembered for every page. For this one: Run, then Run All Cells.")
        try:
            remember(path)
        except KnifeError as error:
            self.line.value += alert(f"This choice holds for this page only. {error}")

    def _show(self, path, said):
        """Take a knife file where this page can, and say so; or say what is in the way."""
        try:
            self.line.value = alert(self._take(path)) or spoken(said)
        except KnifeError as error:
            self.line.value = alert(f"{error} This page takes its demo, {self.knife.title}.")

    def _take(self, path):
        """Take a knife file; gives in words why this page cannot, empty where it can."""
        knife = read_knife(path) if path else self.knife
        if len(knife.balls) < self._balls:
            had, wanted = _BALLS[len(knife.balls)], _BALLS[self._balls]
            return f"{knife.title} has {had}, and this page is about {wanted}: it takes its demo, {self.knife.title}."
        self.path, self.knife = Path(path or self._demo), knife
        return ""


choose_knife = KnifeChoice


def files() -> list[Path]:
    """The knife files to choose from: those of the folder knives, by name."""
    return sorted(KNIVES.glob("*.toml"))


def remembered() -> str:
    """The path of the knife that was chosen last, empty for none."""
    if os.environ.get(DEMO_ONLY) or not REMEMBERED.is_file():
        return _DEMO
    return REMEMBERED.read_text(encoding="utf-8", errors="replace").strip()  # what is no path is told as such


def remember(path: str) -> None:
    """Let every page take this knife file from now on, or its demo for an empty path. KnifeError like `write_file`."""
    if not os.environ.get(DEMO_ONLY):
        write_file(REMEMBERED, f"{path}\n", ".txt", replace=True)
