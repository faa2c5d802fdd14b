"""The invented knives of the workbook, for its questions and pictures."""

from functools import cache
from pathlib import Path

from ..knife.parts import Knife
from .knife_file import read_knife

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"


@cache
def demo(name: str) -> Knife:
    """A knife of the workbook by its file name, such as "pellowfen-a"."""
    return read_knife(NOTEBOOKS / "knives" / f"{name}.toml")
