"""Tables for people: the same rows as plain text and as Markdown."""

from collections.abc import Sequence
from itertools import zip_longest
from math import inf
from typing import NamedTuple

from ..knife.plain import in_markdown, unbroken, wrapped

TERMINAL = 100  # characters of a line that most terminals show whole
_BETWEEN, _INDENT = "  ", 2


class Table(NamedTuple):
    """A table: title, heads, rows of text, and notes below it; without rows only title and notes are shown."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    notes: Sequence[str] = ()

    def __repr__(self):
        return self.text()

    def _repr_markdown_(self):
        return self.markdown()

    def text(self, width: float = inf) -> str:
        """As plain text, columns lined up; cells are wrapped until a line has at most `width` characters.

        >>> print(Table("Balls", ("name", "mm"), (("1/16 in", "1.5875"), ("2 mm", "2"))).text())
        Balls
        name     mm
        1/16 in  1.5875
        2 mm     2
        >>> print(Table("Balls", ("size", "what it is"), (("1/16 in", "the smaller of two"),)).text(20))
        Balls
        size     what it is
        1/16 in  the smaller
                   of two
        """
        if not self.rows:
            return "\n".join([self.title, *self.notes])
        rows = (self.heads, *self.rows)
        widths = _widths(rows, width)
        lines = [line for row in rows for line in _lines(row, widths)]
        return "\n".join([self.title, *lines, *self.notes])

    def markdown(self) -> str:
        """As Markdown; in a narrow window no cell is broken within a number or before its unit.

        >>> print(Table("Balls", ("name", "mm"), (("small", "2"),), ("Sizes in mm.",)).markdown())
        **Balls**
        <BLANKLINE>
        | name | mm |
        |:---|:---|
        | small | 2 |
        <BLANKLINE>
        Sizes in mm.
        """
        lines = [_row(row) for row in self.rows]
        head = [_row(self.heads), "|" + ":---|" * len(self.heads)] if self.rows else []
        return "\n".join(
            [
                f"**{in_markdown(self.title)}**",
                *([""] if head else []),
                *head,
                *lines,
                *(line for note in self.notes for line in ("", in_markdown(note))),
            ]
        )


class Tabled:
    """What prints as its table: `_table()` gives a Table."""

    def __str__(self):
        """As plain text."""
        return self._table().text()

    def _repr_markdown_(self):
        return self._table().markdown()


def _widths(rows, most):
    """Widths of the columns: as wide as their cells, or the widest less until a line fits; no word is cut for it."""
    columns = list(zip(*rows, strict=True))
    widths = [max(map(len, cells)) for cells in columns]
    words = [max((len(word) for cell in cells for word in _wrapped(cell, 1)), default=0) for cells in columns]
    while sum(widths) + len(_BETWEEN) * (len(widths) - 1) > most:
        wide = [k for k in range(len(widths)) if widths[k] > words[k]]
        if not wide:
            break
        widths[max(wide, key=widths.__getitem__)] -= 1
    return widths


def _lines(row, widths):
    """The lines of a row, each cell wrapped in its column."""
    cells = [_wrapped(cell, width) for cell, width in zip(row, widths, strict=True)]
    for parts in zip_longest(*cells, fillvalue=""):
        yield _BETWEEN.join(part.ljust(width) for part, width in zip(parts, widths, strict=True)).rstrip()


def _wrapped(cell, width):
    return wrapped(cell, max(width, 1), _INDENT)


def _row(cells):
    return f"| {' | '.join(in_markdown(unbroken(cell)) for cell in cells)} |"
