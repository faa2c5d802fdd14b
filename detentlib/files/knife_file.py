"""Knife files (TOML): reading with every problem named at once, and writing what reads back.

Tables [bar], [second_bar], [[ball]] with [ball.recess], [blade] and [friction]; their fields are named as in
parts.py. A plain number is in mm, N, N·mm, N/mm, MPa, g, g·mm² or degrees; ± (95 %) becomes the knife's doubts, by hand
("14.0 ± 0.2 mm", "14.0 within 0.2 mm" where that is a limit) or by how it was measured ("14.0 mm, calipers"; see
instruments.py and fields.py).
[known_together] holds the correlations: "friction.rim" = { "bar.riding_force" = -0.8 }, by the library's paths.
A recess may give the loaded rim_gap in place of its rest_offset, a bar the preset in place of its riding_force.
"""

import difflib
import json
import os
import re
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from ..knife.checks import short, shortened
from ..knife.given import given_knife, given_list
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.paths import RECESS, place_of
from .fields import TABLES, build_knife, listed, texts_of, told_together
from .writing import file_name, write_file

_KEY_LINE = re.compile(r"\s*([\w.-]+)\s*=(.*)")
_QUOTES = {'"': '"', "'": "'", "“": "”“", "„": "“”", "”": "”", "«": "»", "‘": "’", "‚": "‘’", "’": "’"}
_DECIMAL_COMMA = re.compile(r"([+-]?\d+),(\d{1,2}|\d{4,})")
_TOGETHER = "known_together"
# what a file holds that is given by mistake, by its ending
_NO_KNIFE = {".ipynb": "a notebook"} | dict.fromkeys((".html", ".htm", ".pdf", ".md"), "a page")
_NO_KNIFE |= dict.fromkeys((".svg", ".png", ".jpg", ".jpeg"), "a picture")
_LONGEST = 100  # characters of a line that are shown


def read_knife(path: str | Path) -> Knife:
    """The Knife in a knife file (UTF-8, see notebooks/knives); one without a title is called by its file name.

    Raises KnifeError with every problem of the file, each with its line where it has one: a file that cannot be
    read, unknown or missing fields, wrong units, sizes that cannot be, and what the mechanics refuses (a jam,
    a rim gap not smaller than the ball, no bar force at the seat).
    """
    path = file_name(path)
    text = _text_of(path)
    knife, found = _parsed(text, path.stem)
    if found:
        found.sort(key=lambda each: each.line or len(text))
        raise KnifeError([each.in_file(path.name) for each in found])
    return knife


def write_knife(knife: Knife, path: str | Path, remarks: Sequence[str] = (), replace: bool | None = False) -> None:
    """Write a Knife so that `read_knife` gives an equal one, with its ± and what was assumed; comments are not kept.

    remarks: lines for people, put first. path: ends in .toml; replace: True writes it over a file that is there. Raises
    KnifeError where the knife could not be read back (it breaks a limit of the mechanics, or is no single knife), and
    like `write_file` for a file that is there already or cannot be written.
    """
    given_knife(knife)
    given_list("remarks", remarks, str, "are no lines of text", "They are put first.", 'Give ["as found"].')
    text = "".join(f"# {remark}\n" for line in remarks for remark in line.splitlines()) + knife_text(knife)
    again, found = _parsed(text, "")
    if found:
        raise KnifeError([each.problem for each in found], knife.title)
    if again != knife:
        cure = "Give a text as title, and plain numbers."
        raise KnifeError(
            Problem(repr(knife.title), "", "would not read back as the same knife", "A file holds one knife.", cure)
        )
    write_file(path, text, ".toml", replace=replace)


class FileLine(NamedTuple):
    """A line of a knife file, or some that belong together.

    path: of the number that it holds or, where it is `assumed`, lists; the head of that list and its end have none.
    table: path of the part whose numbers follow.
    """

    text: str
    path: str = ""
    table: str = ""
    assumed: bool = False


def knife_text(knife: Knife) -> str:
    """The Knife as the text of a knife file: each number as its reader wrote it, where the knife still says the
    same.
    """
    return "".join(f"{line.text}\n" for line in knife_lines(knife))


def knife_lines(knife: Knife) -> Iterator[FileLine]:
    """The lines of a knife file."""
    yield FileLine(
        "# mm, N, N·mm, N/mm, MPa, g, g·mm² and degrees. ± means 95 %, within means always; without either, it follows"
        " from how the number was measured."
    )
    yield FileLine(f"title = {_quoted(str(knife.title))}")
    texts = texts_of(knife)
    unmeasured = listed(knife, texts)
    if unmeasured:
        yield FileLine("# Nobody measured these; take one off the list once you have.\nassumed = [", assumed=True)
        yield from (FileLine(f"    {_quoted(path)},", path, assumed=True) for path in unmeasured)
        yield FileLine("]", assumed=True)
    tables = [(f"[{name}]", name) for name in TABLES if getattr(knife, name)]
    for i in range(len(knife.balls)):
        tables += [("[[ball]]", f"balls[{i}]"), ("[ball.recess]", f"balls[{i}].recess")]
    for header, owner in tables:
        yield FileLine(f"\n{header}", table=owner)
        yield from (FileLine(entry(path, text), path) for path, text in texts.items() if place_of(path).owner == owner)
    together = told_together(knife, texts)
    if together:
        yield FileLine(f"\n# How far the errors of two numbers go together, from −1 to 1.\n[{_TOGETHER}]")
    for one in dict.fromkeys(one for one, _ in together):
        others = {other: r for (first, other), r in together.items() if first == one}
        yield FileLine(
            f"{_quoted(one)} = {{ {', '.join(f'{_quoted(other)} = {float(r)}' for other, r in others.items())} }}"
        )


def entry(path: str, value: str | int) -> str:
    """The line of a knife file that holds this at a path."""
    return f"{place_of(path).name} = {_quoted(value) if isinstance(value, str) else value}"


def _quoted(text):
    """Text as a TOML string; JSON escapes in the same way, all but the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _text_of(path):
    """Text of a file, whatever its line ends; KnifeError where there is none to read."""

    def refused(wrong, why, cure, where=path):
        return KnifeError(Problem(str(where), "", wrong, why, cure))

    give, copy = "Give the path of a .toml knife file.", "Copy one of the workbook's knife files and change it."
    utf8, again = "A knife file is UTF-8 text.", 'Save it again with the encoding "UTF-8"'
    ending = path.suffix.lower()
    if ending == ".csv":
        cure = "Give the knife file here, and the readings where readings are asked for."
        why = "A .csv file holds readings, a knife file ends in .toml."
        raise refused("is a file of readings, where a knife file is wanted", why, cure)
    if ending in _NO_KNIFE:
        why = f"A {ending} file holds {_NO_KNIFE[ending]}, a knife file ends in .toml."
        raise refused(f"is {_NO_KNIFE[ending]}, where a knife file is wanted", why, give)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise KnifeError(_no_such_file(path)) from None
    except (OSError, ValueError) as error:
        reason = "it is a folder" if os.path.isdir(path) else getattr(error, "strerror", None) or str(error)
        raise refused(f"cannot be read ({reason})", "", give) from None
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise refused("is saved as UTF-16", utf8, f"{again}.")
    if b"\0" in data:
        raise refused("is not a text file", utf8, give)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        where, why = f"{path}, line {data[: error.start].count(10) + 1}", "An older encoding writes ± differently."
        raise refused("holds a character that is not UTF-8", why, f"{again}, or write +/-.", where) from None
    if not text.strip():
        raise refused("is empty", "There is no knife in it.", copy)
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _no_such_file(path):
    folder = path.parent
    if not folder.is_dir():
        return Problem(
            str(path), "", "there is no such file", f"There is no folder {folder}.", f"Paths start from {Path.cwd()}."
        )
    names = sorted(each.name for each in folder.glob("[!.]*.toml"))
    files = "knife files in {} are" if len(names) > 1 else "knife file in {} is"
    held = (
        f"The {files.format(folder.resolve().name)} {', '.join(names)}."
        if names
        else f"There is no knife file in {folder.resolve()}."
    )
    near = difflib.get_close_matches(path.name, names, 1, 0.6)
    return Problem(
        str(path), "", "there is no such file", held, f"Did you mean {near[0]}?" if near else "Check the name."
    )


def _parsed(text, title):
    """Knife, or None, and all problems of a knife file's text, as _Found."""
    data, found, dropped = _toml(text)
    if data is None:
        return None, found
    given, count, wrong = _flat(data)
    title, assumed = data.get("title", title), data.get("assumed", [])
    if not isinstance(title, str):
        wrong.append(Problem("title", short(title), "is not a text", "", f'Write title = "{title}".'))
        title = str(title)
    if not isinstance(assumed, list) or not all(isinstance(path, str) for path in assumed):
        cure = 'Write it like assumed = ["blade.tab_arm"].'
        wrong.append(
            Problem(
                "assumed", short(assumed), "is not a list of fields", "It names the numbers that nobody measured.", cure
            )
        )
        assumed = []
    together, more = _together(data.get(_TOGETHER, {}))
    wrong += more
    knife, more = build_knife(given, title, count, "second_bar" in data, tuple(assumed), together)
    lines = _line_numbers(text)
    more = [problem for problem in wrong + more if lines.get(problem.where) not in dropped]
    # of a line that is not TOML, what is wrong with its value says more than that its quotes are missing
    told = {lines.get(problem.where) for problem in more}
    found = [each for each in found if each.line not in told] + [
        _Found(problem, _line_of(problem.where, lines)) for problem in more
    ]
    return (None if found else knife), found


class _Found(NamedTuple):
    """A Problem of a knife file, its where a library path or "", and the number of its line, None where it is of no
    single one.
    """

    problem: Problem
    line: int | None

    def in_file(self, file):
        """The Problem with file, line and field as the file spells it."""
        where = (file, f"line {self.line}" if self.line else "", _spelled(self.problem.where))
        return self.problem._replace(where=", ".join(filter(None, where)))


def _spelled(where):
    """A library path as a reader of the file has it: "ball 1 recess.diameter"."""
    place = place_of(where)
    if place is None or place.ball is None:
        return "[[ball]]" if where == "balls" else where
    inner = ("recess", place.name) if place.kind == RECESS else (place.name,)
    return f"ball {place.ball + 1} {'.'.join(filter(None, inner))}".rstrip()


def _flat(data):
    """Fields by their library paths, number of balls, and tables that are none."""
    given, wrong = {}, []
    balls = data.get("ball", [])
    if isinstance(balls, dict):
        wrong.append(
            Problem(
                "balls[0]",
                "",
                "stands in single brackets",
                "A knife may have more than one ball.",
                "Write [[ball]], with two brackets.",
            )
        )
        balls = [balls]
    tables = [(name, f"[{name}]", data[name]) for name in TABLES if name in data]
    tables += (
        [(f"balls[{i}]", "[[ball]]", ball) for i, ball in enumerate(balls)]
        if isinstance(balls, list)
        else [("balls", "[[ball]]", balls)]
    )
    for name, head, table in tables:
        if not isinstance(table, dict):
            wrong.append(_not_a_table(name, head, table))
            continue
        given |= {f"{name}.{key}": value for key, value in table.items()}
        recess = given.pop(f"{name}.recess", {}) if head == "[[ball]]" else {}
        if isinstance(recess, dict):
            given |= {f"{name}.recess.{key}": value for key, value in recess.items()}
        else:
            wrong.append(_not_a_table(f"{name}.recess", "[ball.recess]", recess))
    given |= {
        name: value for name, value in data.items() if name not in (*TABLES, "ball", "title", "assumed", _TOGETHER)
    }
    return given, len(balls) if isinstance(balls, list) else 0, wrong


def _together(table):
    """Correlations by pairs of paths, and entries of the table that are none."""
    entries = table.items() if isinstance(table, dict) else [(_TOGETHER, table)]
    found = {(one, other): r for one, others in entries if isinstance(others, dict) for other, r in others.items()}
    cure = 'Write a line like "friction.rim" = { "bar.riding_force" = -0.8 }.'
    bad = [(one, others) for one, others in entries if not isinstance(others, dict)]
    return found, [Problem(_TOGETHER, f"{one} = {others}", "names no other number", "", cure) for one, others in bad]


def _not_a_table(path, head, value):
    why = "It is a table: its name on a line of its own, its fields below."
    return Problem(path, short(value), "is a single value", why, f"Write {head}, and its fields below it.")


def _toml(text):
    """Nested dicts (None where no sense can be made of the text), problems as _Found, and the numbers of the lines left
    out.

    A line that is not TOML is read as its cure has it, then left out, to go on to the next problem.
    """
    raw, found, tried = text.split("\n"), [], {}
    lines, places = list(raw), _line_places(text)
    while True:
        try:
            return tomllib.loads("\n".join(lines)), found, {number for number, times in tried.items() if times == 2}
        except (ValueError, RecursionError) as error:
            number, reason = _place_of(error)
            line = _KEY_LINE.fullmatch(lines[number - 1]) if number else None
            if number not in tried:
                twice = number in places and places[number] in [
                    place for earlier, place in places.items() if earlier < number
                ]
                problem = _not_toml(raw[number - 1] if number else "", line, twice, reason)
                found.append(_Found(problem, number or None))
            if line is None or tried.get(number) == 2:
                return None, found, set()
            tried[number] = tried.get(number, 0) + 1 if _bare(line[2]) else 2
            lines[number - 1] = f"{line[1]} = {_meant(line[2])}" if tried[number] == 1 else ""


def _place_of(error):
    """Number of the line, 0 where there is none, and the reason of a TOML error: before Python 3.14 they stand in
    its words alone.
    """
    if isinstance(error, RecursionError):
        return 0, "Brackets stand in brackets too many times over"
    at = re.search(r"at line (\d+)", str(error))
    return int(at[1]) if at else 0, re.sub(r" \(at .*\)", "", str(error))


def _bare(value):
    """A value without its comment and quotes; an inch mark after a number is kept as a word."""
    value = value.partition("#")[0].strip()
    if value[:1] in _QUOTES:
        value = re.sub(f"[{_QUOTES[value[0]]}]$", "", value[1:])
    return re.sub(r'(?<=\d)"(?!\s*\w)', " in", value).replace('"', "")


def _meant(value):
    """A value as TOML: with a decimal point where a comma can only be that, else in quotes."""
    value = _bare(value)
    decimal = _DECIMAL_COMMA.fullmatch(value)
    return f"{decimal[1]}.{decimal[2]}" if decimal else _quoted(value)


def _not_toml(text, line, twice, reason):
    """Problem of one line that is not TOML, in the words of the bench where the slip is a usual one; twice: its
    field was given before.
    """
    text = text.strip()
    shown = repr(text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…") if text else "the text"
    if line is None:
        return Problem(
            "",
            "",
            f"{shown} cannot be read",
            f"({reason}.)",
            "A line is a [table], a field = value, or a comment that starts with #.",
        )
    name, value, meant = shortened(line[1]), _bare(line[2]), shortened(_meant(line[2]))
    if twice:
        return Problem("", "", f"{shown} gives {name} a second time", "", "Keep one of the two lines.")
    if not value:
        return Problem("", "", f"{shown} gives no value", "", "Write the value, or take the line out.")
    if _DECIMAL_COMMA.fullmatch(value):
        return Problem("", "", f"{shown} has a comma in the number", "", f"Write {name} = {meant} instead.")
    return Problem(
        "",
        "",
        f"{shown} cannot be read",
        "A value with a unit, and any text, stands in quotes.",
        f"Write {name} = {meant}.",
    )


def _line_numbers(text):
    """{library path: number of its line, the first} of the tables and fields in a knife file's text."""
    return {path: number for number, path in reversed(_line_places(text).items())}


def _line_places(text):
    """{number of a line: library path of the table that begins there, or of the field in it}."""
    places, owner, balls = {}, "", 0
    for number, line in enumerate(text.split("\n"), 1):
        # one pass each: a line of many blanks or brackets must not be tried in every way
        header = re.match(r"\[\[?([\w.\s-]+)\]", line.strip())
        key = re.match(r"([\w.\s-]+)=", line)
        if header:
            owner = re.sub(r"\s", "", header[1])
            balls += owner == "ball"
            owner = re.sub(r"^ball\b", f"balls[{max(balls - 1, 0)}]", owner)
            places[number] = owner
        elif key:
            name = re.sub(r"\s", "", key[1])
            places[number] = f"{owner}.{name}" if owner else name
    return places


def _line_of(where, lines):
    """Number of the line that a problem is about: that of its field, else of the table round it, else None."""
    place = place_of(where)
    return next((lines[path] for path in (where, *(place.tables if place else ())) if path in lines), None)
