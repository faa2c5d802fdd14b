"""Pulls at the tab as a form takes them: no numbers of a Knife, but read like those, each with how it was measured."""

from dataclasses import dataclass, fields

from ..knife.checks import Part, number

OPENING, LETBACK = "pull.opening", "pull.letback"


@dataclass(frozen=True)
class Pulled(Part):
    """Pulls on the whole knife at its tab, square to the line from the pivot, slowly, the pivot axis upright."""

    opening: float = number("pull at the tab that just opens the blade", "N", sane=(0.2, 150))
    letback: float = number(
        "pull at the tab against which the blade just still goes shut", "N", "not negative", sane=(0.2, 150)
    )


PULLED = dict(zip((OPENING, LETBACK), fields(Pulled), strict=True))
