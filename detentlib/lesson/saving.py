"""A file written by a button: a box for its name, and a tick to replace what is there, which nothing does unasked."""

from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets
from ipywidgets import Layout

from ..draw.card import Card, alert, button, spoken
from ..files.writing import ThereAlready
from ..knife.parts import KnifeError
from ..measure.readings import ReadingError


class SaveBox(Card):
    """A box for the name of a file, a button that writes it, and a line on what came of it."""

    def __init__(
        self,
        what: str,
        name: str,
        write: Callable[[Path, bool], str | None],
        label: str = "",
        file: str = "File",
        wide: tuple[int, int] = (40, 300),
    ):
        """what: on the button, behind "Save", unless it has another label. name: in the box at first, with the ending
        of its kind.

        write: called with the path and whether a file that is there may be replaced; gives words on what came of it, or
        None; what it refuses as a KnifeError or ReadingError is said. file: what stands before the box; wide: of that,
        and of both together [px].
        """
        self._what, self._name, self._write = what, Path(name), write
        look = {"style": {"description_width": f"{wide[0]}px"}, "layout": Layout(width=f"{wide[1]}px")}
        self.name = widgets.Text(name, description=file, tooltip=f"Name of the file for {what}", **look)
        self.button = button(label or f"Save {what}", f"Write this file: {what}", self.save, width="auto")
        self.overwrite = widgets.Checkbox(description="Replace the file that is there", indent=False)
        self.line = widgets.HTML()
        self.name.observe(lambda change: self.as_before(), "value")
        row = widgets.HBox([self.name, self.button], layout=Layout(flex_flow="row wrap"))
        super().__init__([row, self.overwrite, self.line], layout=Layout(max_width="1000px"))
        self.as_before()

    def __repr__(self):
        return f"<Box to save {self._what}: run this cell to see it>"

    def save(self) -> None:
        """Write the file of this name; one that is there already stays, unless the tick says otherwise."""
        self.line.value = spoken("Writing …")  # a page takes some seconds
        self.line.value = self._saved(self.name.value.strip())

    def _saved(self, name):
        if not name:
            return alert(f"Not saved: write a file name first, such as {self._name.as_posix()}.")
        path = Path(name) if Path(name).suffix else Path(f"{name}{self._name.suffix}")
        try:
            told = self._write(path, self.overwrite.value)
        except ThereAlready as error:
            self.overwrite.layout.display = ""
            there = ", ".join(Path(problem.where).as_posix() for problem in error.problems)
            or_tick = "" if self.overwrite.value else ", or tick the box above and save again"
            return alert(
                f"Not saved: {there} {'is' if len(error.problems) == 1 else 'are'} there already. Choose"
                f" another name{or_tick}."
            )
        except (KnifeError, ReadingError) as error:
            return alert(f"Not saved: {error}")
        self.as_before()
        return spoken(told or f"Saved as {path.as_posix()}.")

    def as_before(self) -> None:
        """Nothing is said, and no tick from an earlier name stands."""
        self.overwrite.value, self.overwrite.layout.display, self.line.value = False, "none", ""


def save_box(what: str, name: str, write: Callable, *given: object) -> SaveBox:
    """A SaveBox for what a function of the library writes, such as `dl.bench_sheet` with the knife as given.

    write: called as write(*given, path, replace=...).
    """

    def written(path, replace):
        write(*given, path, replace=replace)

    return SaveBox(what, name, written)
