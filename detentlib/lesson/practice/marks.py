"""Marks: what a reader has answered, kept in a small CSV file that the reader names, or in memory only."""

import contextlib
import csv
import io
import os
from pathlib import Path
from typing import NamedTuple

from ...files.writing import must_end, turn_at, write_file
from ...knife.parts import KnifeError
from ...say.headline import Headline
from .topics import TOPICS, Topic, drawn

_HEADER = ("topic", "seed", "part", "right", "tries", "hints", "shown")
_YES_NO = {"yes": True, "no": False}


class MarksError(ValueError):
    """A file that is no marks file, or a damaged one; it is left as it is."""


class Mark(NamedTuple):
    """What became of one question.

    right: in the end. tries: how often it was answered till then. hints: taken. shown: worked answer seen before.
    """

    right: bool = False
    tries: int = 0
    hints: int = 0
    shown: bool = False

    @property
    def first(self) -> bool:
        """Right at the first try, the worked answer not seen."""
        return self.right and self.tries == 1 and not self.shown

    @property
    def alone(self) -> bool:
        """The same, and without a hint."""
        return self.first and self.hints == 0


class Marks:
    """Marks by (topic, seed, part). With a path each change is written at once; notebooks may share the file."""

    def __init__(self):
        """Use keep_marks to begin or to go on."""
        self.path: Path | None = None
        self.rows: dict = {}

    def __repr__(self):
        kept = f"in {self.path.name}" if self.path else "not in a file: they are gone when the notebook is closed"
        return f"<Marks of {len(self.rows)} questions, {kept}>"

    def keep_in(self, path: str | Path) -> str:
        """Go on with a file of marks, or begin one, with what was answered before any file was named; in words, what it
        holds. MarksError as `keep_marks` raises it, and then these marks are as they were.
        """
        with _as_marks_error():
            must_end(path, ".csv")
        path = Path(os.path.abspath(path))
        if not path.parent.is_dir():
            raise MarksError(f"there is no folder {path.parent} for {path.name}. Make it first, or give another one.")
        kept, loose = _read(path) if path.exists() else {}, {} if self.path else self.rows
        if loose:
            with _as_marks_error(), turn_at(path):
                kept = _read(path) if path.exists() else {}
                _write(path, kept | loose)
        self.path, self.rows = path, kept | loose
        return f"Going on with {path.name}: {_counted(kept)}." if kept else f"New marks go into {path.name}."

    def of(self, topic: str, seed: int, part: int) -> Mark:
        """The Mark of one question; an empty one where it was never answered."""
        return self.rows.get((topic, seed, part), Mark())

    def note(self, topic: str, seed: int, part: int, mark: Mark) -> None:
        """Keep a Mark, also in the file; MarksError where that cannot be written or is no longer one of marks."""
        self.rows[topic, seed, part] = mark
        if self.path is None:
            return
        with _as_marks_error(), turn_at(self.path):
            if self.path.exists():
                # what another open notebook has marked meanwhile stays
                self.rows = _read(self.path) | {(topic, seed, part): mark}
            _write(self.path, self.rows)

    def summary(self) -> Headline:
        """What was answered, topic by topic, and what is still to do: a table for a notebook, or plain text."""
        heads = ("topic", "you can", "asked", "right", "at first try", "still to do")
        return Headline((heads, *((topic.name, topic.can, *self._standing(topic)) for topic in TOPICS.values())), ())

    def _standing(self, topic: Topic) -> tuple[str, ...]:
        """(asked, right, right at first try, still to do)."""
        own = {(seed, part): mark for (name, seed, part), mark in self.rows.items() if name == topic.name}
        right, first = sum(mark.right for mark in own.values()), sum(mark.first for mark in own.values())
        if not own:
            left = "not begun"
        elif right < len(own):
            left = f"{len(own) - right} to put right"
        elif any(self._alone(topic, seed) for seed, _ in own):
            left = "nothing"
        else:
            left = "one seed, all of it, without help"
        return str(len(own)), str(right), str(first), left

    def _alone(self, topic: Topic, seed: int) -> bool:
        """True where every question of this seed was right at the first try, without hint and answer."""
        return all(self.of(topic.name, seed, part).alone for part in range(1, len(drawn(topic, seed)) + 1))


def keep_marks(path: str | Path | None = None, replace: bool = False) -> Marks:
    """Begin a marks file, or go on with one: the Marks, for `practice(topic, seed, marks=...)`.

    path: the file, ending in .csv, made with the first mark; None keeps the marks in memory. replace=True starts afresh
    and empties a marks file that is there. Raises MarksError for a file that is not one of marks, whatever replace
    says, and for one with damaged lines, each named.

    >>> keep_marks()
    <Marks of 0 questions, not in a file: they are gone when the notebook is closed>
    """
    marks = Marks()
    if path is None:
        return marks
    said = marks.keep_in(path)
    if marks.rows and replace:
        with _as_marks_error(), turn_at(marks.path):
            rows, marks.rows = _read(marks.path), {}
            _write(marks.path, {})
        said = f"Started afresh. {marks.path.name} held {_counted(rows)}: they are gone."
    elif marks.rows:
        said = f"{said} To start afresh, and lose them, write replace=True behind its name."
    print(said)
    return marks


def _counted(rows: dict) -> str:
    topics = {topic for topic, *_ in rows}
    return f"the marks of {len(rows)} question{'s' * (len(rows) != 1)} on {len(topics)} topic{'s' * (len(topics) != 1)}"


@contextlib.contextmanager
def _as_marks_error():
    try:
        yield
    except KnifeError as error:
        raise MarksError(str(error)) from error


def _write(path: Path, rows: dict) -> None:
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(_HEADER)
    words = {value: word for word, value in _YES_NO.items()}
    for key, mark in sorted(rows.items()):
        table.writerow([*key, words[mark.right], mark.tries, mark.hints, words[mark.shown]])
    write_file(path, text.getvalue(), replace=True)


def _read(path: Path) -> dict:
    """{(topic, seed, part): Mark} of a marks file."""
    unreadable, instead = f"{path.name} cannot be read", "Give the name of a file for the marks."
    if not path.is_file():
        raise MarksError(f"{unreadable} (it is a folder, a device or a pipe). {instead}")
    try:
        header, *lines = csv.reader(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline=""))
    except OSError as error:
        raise MarksError(f"{unreadable} ({error.strerror}). {instead}") from None
    except (ValueError, csv.Error):  # empty, or no text
        header, lines = (), []
    if tuple(header) != _HEADER:
        raise MarksError(
            f"{path.name} is there already and is no marks file: its first line is not {','.join(_HEADER)}. "
            "It is left as it is. Choose another name for the marks."
        )
    rows, damaged = {}, []
    for number, cells in enumerate(lines, 2):
        try:
            topic, seed, part, right, tries, hints, shown = cells
            rows[topic, int(seed), int(part)] = Mark(_YES_NO[right], int(tries), int(hints), _YES_NO[shown])
        except (ValueError, KeyError):
            damaged += [f"line {number}: {','.join(cells)!r} is no mark"] if cells else []
    if damaged:
        raise MarksError(f"{unreadable}, and is left as it is. Put it right or take out: {'; '.join(damaged)}.")
    return rows
