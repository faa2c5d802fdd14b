"""Handing a job on: every paper and page of one knife, written together under one name."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import NamedTuple

from ..files.writing import ThereAlready
from ..knife.parts import Knife, KnifeError, Problem
from .benchsheet import bench_sheet
from .handout import handout
from .letter import letter
from .livesheet import live_sheet
from .template import template
from .trackmap import track_map


class Paper(NamedTuple):
    """One paper or page: how its file name ends, what it is, and what writes it, of (knife, path)."""

    ending: str
    said: str
    write: Callable[[Knife, Path], object]


LETTER = Paper("-letter.html", "the customer's letter, one page", letter)
PAPERS = (
    LETTER,
    Paper("-answers.html", "the hand-out, with the arithmetic", handout),
    Paper("-to-fill-in.html", "the hand-out with room for the answers", partial(handout, answers=False)),
    Paper("-live-sheet.html", "the live sheet, with sliders, for any browser", live_sheet),
    Paper("-paper-model.pdf", "the paper model, to cut out and slide", template),
    Paper("-track-map.svg", "the track map, true to size", track_map),
    Paper("-bench-sheet.html", "the bench sheet, to measure it anew", bench_sheet),
)
FIRST = tuple(paper for paper in PAPERS if paper.write in (letter, handout, live_sheet))  # what most people ask for


def letter_after(before: Knife) -> Paper:
    """The customer's letter with the same knife before the work beside it."""
    return LETTER._replace(
        said="the customer's letter, before and after", write=lambda knife, path: letter(before, path, knife)
    )


def write_papers(
    knife: Knife, name: str | Path, papers: tuple[Paper, ...], tell: Callable[[Paper], object] = lambda paper: None
) -> dict[Path, str]:
    """Write papers of a Knife, their file names beginning with `name`: {path: why it could not be written, or ""}.

    name: with a folder if wanted. tell: called with each paper before it is written, as that takes a while. Files that
    are there are never replaced: raises ThereAlready that names them, and nothing is then written.

    >>> write_papers(None, "x", ())
    {}
    """
    paths = {Path(f"{name}{paper.ending}"): paper for paper in papers}
    there = [path.name for path in paths if path.exists()]
    if there:
        wrong = "is there already" if len(there) == 1 else "are there already"
        raise ThereAlready(Problem(", ".join(there), "", wrong, "Nothing was written.", "Take another name."))
    return {path: _problem(paper, knife, path, tell) for path, paper in paths.items()}


def _problem(paper, knife, path, tell):
    tell(paper)
    try:
        paper.write(knife, path)
    except KnifeError as error:
        return str(error)
    return ""
