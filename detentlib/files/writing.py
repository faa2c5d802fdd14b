"""Writing files: whole or not at all, never over another file unless asked, plain files only; and taking turns at
one.
"""

import contextlib
import os
import secrets
import shutil
import stat
from collections.abc import Iterator
from pathlib import Path

from ..knife.checks import KnifeError, Problem, short

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None
    import msvcrt

_LONGEST = 1000  # bytes of a name with its folders: the usual systems take no longer ones, or not much
_WRITABLE = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH


class ThereAlready(KnifeError):
    """A file of this name is there, and nobody asked to replace it; it was left alone."""


def write_file(path: str | Path, data: str | bytes, *endings: str, replace: bool | None = False) -> Path:
    """Write text (UTF-8) or bytes to a file, whole or not at all; gives the Path of the file, links followed.

    endings: those that fit what is written, such as ".html". replace: True puts it in place of a file that is there,
    whose rights stay; that file is whole until the new one is complete; None: never, not even if asked. Raises
    ThereAlready for a file that is there otherwise, KnifeError for another ending, for a folder, a device, a pipe or a
    link to nowhere, for a file or folder that is write-protected, and where the system refuses. Nothing is then
    changed.
    """
    place = checked_place(path, *endings, replace=replace)
    new = place.with_name(f".{secrets.token_hex(8)}.new")
    try:
        with _in_words(path, replace):
            with open(new, "xb") as file:
                file.write(data.encode() if isinstance(data, str) else data)
                file.flush()
                os.fsync(file.fileno())
            _put(new, place, replace)
    finally:
        with contextlib.suppress(OSError):
            new.unlink()
    return place


def checked_place(path: str | Path, *endings: str, replace: bool | None = False) -> Path:
    """The Path that `write_file` would write to, with the same refusals, and nothing written yet."""
    named = file_name(path)
    if not any(replace is each for each in (True, False, None)):
        raise KnifeError(
            Problem(
                "replace",
                short(replace),
                "is neither True nor False",
                "It says whether to replace a file.",
                "Give one.",
            )
        )
    with _in_words(path):
        place = Path(os.path.realpath(named))
        mode = place.stat().st_mode if place.exists() else None
        if mode is not None and stat.S_ISDIR(mode):
            raise _cannot(path, "it is a folder; give the name of a file in it")
        must_end(path, *endings)
        if mode is not None and not stat.S_ISREG(mode):
            raise _cannot(path, "it is a device or a pipe, not a plain file", "Give the name of a file.")
        if mode is None and named.is_symlink():
            raise _cannot(path, "it is a link to nowhere", "Take the link away, or give another name.")
        if mode is not None and not replace:
            raise _there_already(path, replace)
        if mode is not None and not (mode & _WRITABLE and os.access(place, os.W_OK)):
            raise _cannot(path, "it is write-protected", "Take the protection off, or give another name.")
        _check_folder(path, place.parent)
    return place


def file_name(path: object) -> Path:
    """The Path of a file's name; KnifeError for what is none, or could be that of no file.

    >>> file_name(3)
    Traceback (most recent call last):
    detentlib.knife.checks.KnifeError: 3: is no name of a file. It says which file is meant. Give a text or a Path.
    """
    try:
        named = Path(path)
        if len(os.fsencode(named)) <= _LONGEST:
            return named
        wrong = "is too long for the name of a file"
    except (TypeError, UnicodeEncodeError):
        wrong = "is no name of a file"
    cure = "Give a text or a Path."
    raise KnifeError(Problem(short(path), "", wrong, "It says which file is meant.", cure))


def must_end(path: str | Path, *endings: str) -> None:
    """Refuse a file name with another ending than these, as a KnifeError; without endings any will do.

    >>> must_end("page.doc", ".html")
    Traceback (most recent call last):
    detentlib.knife.checks.KnifeError: page.doc: does not end in .html. ...
    """
    if endings and file_name(path).suffix.lower() not in endings:
        said = " or ".join(endings)
        raise KnifeError(
            Problem(
                str(path),
                "",
                f"does not end in {said}",
                "The ending says what is written.",
                f"Give it a name that ends in {said}.",
            )
        )


@contextlib.contextmanager
def turn_at(path: str | Path) -> Iterator[None]:
    """Have a file to oneself while it is read and written again: other threads and processes that ask in this way wait.

    A hidden lock file stands beside it meanwhile; one that a stopped program has left holds nobody up. Raises
    KnifeError where the file cannot be written.
    """
    place = checked_place(path, replace=True)
    lock = place.with_name(f".{place.name}.lock")
    with _in_words(path):
        file = _held(lock)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):  # Windows keeps a file that is open
            lock.unlink()
        file.close()


def _held(lock):
    """The lock file, open and held; one that its holder took away meanwhile does not count."""
    while True:
        file = open(lock, "ab")  # noqa: SIM115 (it is held until the turn is over)
        _wait_for(file)
        with contextlib.suppress(OSError):
            if os.path.samestat(os.fstat(file.fileno()), os.stat(lock)):
                return file
        file.close()


def _wait_for(file):
    """Wait until nobody else holds this open file, and hold it until it is closed."""
    if fcntl:
        fcntl.flock(file, fcntl.LOCK_EX)
        return
    while True:
        with contextlib.suppress(OSError):  # it gives up after ten seconds
            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
            return


def _put(new, place, replace):
    """Give the finished file its name; where it is not to replace another, in a way that cannot."""
    if replace:
        if place.exists():
            shutil.copymode(place, new)
        os.replace(new, place)
        return
    try:
        os.link(new, place)
    except FileExistsError:
        raise
    except OSError:  # no links on this disk: take the name with an empty file of one's own first
        os.close(os.open(place, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        os.replace(new, place)


def _check_folder(path, folder):
    if not folder.is_dir():
        raise _cannot(path, f"there is no folder {folder}", "Make it first, or give another one.")
    # Windows marks folders read-only that may well be written to
    marked = os.name != "nt" and not folder.stat().st_mode & _WRITABLE
    if marked or not os.access(folder, os.W_OK | os.X_OK):
        raise _cannot(path, f"the folder {folder} is write-protected")


@contextlib.contextmanager
def _in_words(path, replace=False):
    """What the system refuses, as a KnifeError; replace: as in `write_file`."""
    try:
        yield
    except KnifeError:
        raise
    except FileExistsError:
        raise _there_already(path, replace) from None
    except (OSError, ValueError) as error:
        raise _cannot(path, getattr(error, "strerror", None) or str(error)) from error


def _cannot(path, reason, cure="Choose a folder that may be written to."):
    return KnifeError(
        Problem(str(path), "", f"cannot be written ({reason})", "What was there before is untouched.", cure)
    )


def _there_already(path, replace):
    cure = (
        "Choose another name, or take it away yourself."
        if replace is None
        else "Choose another name, or write replace=True behind this one."
    )
    return ThereAlready(Problem(str(path), "", "is there already", "It was left alone.", cure))
