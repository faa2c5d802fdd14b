"""Marks: what a reader has answered, kept in a small CSV file that the reader names, or in memory only."""

import contextlib
import csv
import io
import os
from pathlib import Path
from typing import NamedTuple

from ...parts import KnifeError
from ...writing import must_end, turn_at, write_file
from ..working import Headline
from .draw import drawn
from .topics import TOPICS

_HEADER = ("topic", "seed", "part", "right", "tries", "hints", "shown")
_WORDS = {"yes": True, "no": False}


class MarksError(ValueError):
    """A file that is no marks file, or a damaged one; it is left as it is."""


class Mark(NamedTuple):
    """What became of one question: right in the end, how often it was answered till then, hints taken, worked answer seen before."""

    right: bool = False
    tries: int = 0
    hints: int = 0
    shown: bool = False

    @property
    def first(self):
        """Right at the first try, the worked answer not seen."""
        return self.right and self.tries == 1 and not self.shown

    @property
    def alone(self):
        """The same, and without a hint."""
        return self.first and self.hints == 0


class Marks:
    """Marks by (topic, seed, part). With a path each change is written at once; several open notebooks may share the file."""

    def __init__(self, path=None, rows=()):
        """Use keep_marks to begin or to go on."""
        self.path, self.rows = path, dict(rows)

    def __repr__(self):
        kept = f"in {self.path.name}" if self.path else "not in a file: they are gone when the notebook is closed"
        return f"<Marks of {len(self.rows)} questions, {kept}>"

    def of(self, topic, seed, part):
        """The Mark of one question; an empty one where it was never answered."""
        return self.rows.get((topic, seed, part), Mark())

    def note(self, topic, seed, part, mark):
        """Keep a Mark, and write it to the file; MarksError where the file cannot be written or is no longer one of marks."""
        self.rows[topic, seed, part] = mark
        if self.path is None:
            return
        with _turn(self.path):
            if self.path.exists():
                # what another open notebook has marked meanwhile stays
                self.rows = _read(self.path) | {(topic, seed, part): mark}
            _write(self.path, self.rows)

    def summary(self):
        """What was answered, topic by topic, and what is still to do: a table for a notebook, or plain text."""
        heads = ("topic", "you can", "asked", "right", "at first try", "still to do")
        return Headline((heads, *((name, topic.can, *self._standing(topic)) for name, topic in TOPICS.items())), ())

    def _standing(self, topic):
        """(asked, right, right at first try, still to do) as text."""
        own = {(seed, part): mark for (name, seed, part), mark in self.rows.items() if name == topic.name}
        right, first = sum(mark.right for mark in own.values()), sum(mark.first for mark in own.values())
        if not own:
            left = "not begun"
        elif right < len(own):
            left = f"{len(own) - right} to put right"
        elif any(_alone(topic, own, seed) for seed, _ in own):
            left = "nothing"
        else:
            left = "one seed, all of it, without help"
        return str(len(own)), str(right), str(first), left


def _alone(topic, own, seed):
    """True where every question of this seed was right at the first try, without hint and answer."""
    return all(own.get((seed, part), Mark()).alone for part in range(1, len(drawn(topic, seed)) + 1))


def keep_marks(path=None, replace=False):
    """Begin a marks file, or go on with one: the Marks, for `practice(topic, seed, marks=...)`.

    path: the file, ending in .csv, made with the first mark; None keeps the marks in memory. replace=True starts afresh and empties a
    marks file that is there. Raises MarksError for a file that is not one of marks, whatever replace says, and for one
    with damaged lines, each named.

    >>> keep_marks()
    <Marks of 0 questions, not in a file: they are gone when the notebook is closed>
    """
    if path is None:
        return Marks()
    with _as_marks_error():
        must_end(path, ".csv")
    path = Path(os.path.abspath(path))
    if not path.parent.is_dir():
        raise MarksError(f"there is no folder {path.parent} for {path.name}. Make it first, or give another one.")
    rows = _read(path) if path.exists() else {}
    if not rows:
        print(f"New marks go into {path.name}.")
    elif replace:
        with _turn(path):
            rows = _read(path)
            _write(path, {})
        print(f"Started afresh. {path.name} held {_counted(rows)}: they are gone.")
        rows = {}
    else:
        print(f"Going on with {path.name}: {_counted(rows)}. To start afresh, and lose them, write replace=True behind its name.")
    return Marks(path, rows)


def _counted(rows):
    topics = {topic for topic, *_ in rows}
    return f"the marks of {len(rows)} question{'s' * (len(rows) != 1)} on {len(topics)} topic{'s' * (len(topics) != 1)}"


def _write(path, rows):
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(_HEADER)
    table.writerows((*key, "yes" if mark.right else "no", mark.tries, mark.hints, "yes" if mark.shown else "no") for key, mark in sorted(rows.items()))
    write_file(path, text.getvalue(), replace=True)


@contextlib.contextmanager
def _turn(path):
    """The marks file to oneself, to read and to write."""
    with _as_marks_error(), turn_at(path):
        yield


@contextlib.contextmanager
def _as_marks_error():
    try:
        yield
    except KnifeError as error:
        raise MarksError(str(error)) from error


def _read(path):
    """{(topic, seed, part): Mark} of a marks file."""
    if not path.is_file():
        raise MarksError(f"{path.name} cannot be read (it is a folder, a device or a pipe). Give the name of a file for the marks.")
    try:
        lines = list(csv.reader(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline="")))
    except OSError as error:
        raise MarksError(f"{path.name} cannot be read ({error.strerror}). Give the name of a file for the marks.") from None
    except (UnicodeDecodeError, csv.Error):
        lines = []
    if not lines or tuple(lines[0]) != _HEADER:
        why = f"its first line is not {','.join(_HEADER)}"
        raise MarksError(f"{path.name} is there already and is no marks file: {why}. It is left as it is. Choose another name for the marks.")
    rows, wrong = {}, []
    for number, cells in enumerate(lines[1:], 2):
        try:
            topic, seed, part, right, tries, hints, shown = cells
            rows[topic, int(seed), int(part)] = Mark(_WORDS[right], int(tries), int(hints), _WORDS[shown])
        except (ValueError, KeyError):
            wrong += [f"line {number}: {','.join(cells)!r} is no mark"] if cells else []
    if wrong:
        raise MarksError(f"{path.name} cannot be read, and is left as it is. Put it right or take out: {'; '.join(wrong)}.")
    return rows
