"""Tables for people: the same rows as plain text and as Markdown."""

from collections.abc import Sequence
from typing import NamedTuple

from ..knife.plain import in_markdown


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

    def text(self) -> str:
        """As plain text, columns lined up.

        >>> print(Table("Balls", ("name", "mm"), (("1/16 in", "1.5875"), ("2 mm", "2"))).text())
        Balls
        name     mm
        1/16 in  1.5875
        2 mm     2
        """
        if not self.rows:
            return "\n".join([self.title, *self.notes])
        widths = [max(len(row[k]) for row in (self.heads, *self.rows)) for k in range(len(self.heads))]
        lines = [
            "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
            for row in (self.heads, *self.rows)
        ]
        return "\n".join([self.title, *lines, *self.notes])

    def markdown(self) -> str:
        """As Markdown.

        >>> print(Table("Balls", ("name", "mm"), (("2 mm", "2"),), ("Sizes in mm.",)).markdown())
        **Balls**
        <BLANKLINE>
        | name | mm |
        |:---|:---|
        | 2 mm | 2 |
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


def _row(cells):
    return f"| {' | '.join(map(in_markdown, cells))} |"
