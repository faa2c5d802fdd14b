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
import re
import tomllib
from pathlib import Path

from ..knife.parts import KnifeError, Problem
from .fields import TABLES, build_knife, listed, table_name, texts_of, told_together
from .writing import write_file

_KEY_LINE = re.compile(r"\s*([\w.-]+)\s*=(.*)")
_QUOTES = {'"': '"', "'": "'", "“": "”“", "„": "“”", "”": "”", "«": "»", "‘": "’", "‚": "‘’", "’": "’"}
_TOGETHER = "known_together"
_LONGEST = 100  # characters of a line that are shown


def read_knife(path):
    """The Knife in a knife file (UTF-8, see notebooks/knives); one without a title is called by its file name.

    Raises KnifeError with every problem of the file, each with its line where it has one: a file that cannot be
    read, unknown or missing fields, wrong units, sizes that cannot be, and what the mechanics refuses (a jam,
    a rim gap not smaller than the ball, no bar force at the seat).
    """
    path = Path(path)
    text = _text_of(path)
    knife, found = _parsed(text, path.stem)
    if found:
        lines = _line_numbers(text)
        found.sort(key=lambda problem: _line_of(problem.where, lines) or len(text))
        raise KnifeError([_in_file(problem, path.name, lines) for problem in found])
    return knife


def write_knife(knife, path, remarks=(), replace=False):
    """Write a Knife so that `read_knife` gives an equal one, with its ± and what was assumed; comments are not kept.

    remarks: lines for people, put first. path: ends in .toml; replace: True writes it over a file that is there. Raises
    KnifeError where the knife could not be read back (it breaks a limit of the mechanics, or is no single knife), and
    like `write_file` for a file that is there already or cannot be written.
    """
    text = "".join(f"# {remark}\n" for line in remarks for remark in line.splitlines()) + knife_text(knife)
    again, found = _parsed(text, "")
    if found:
        raise KnifeError(found, knife.title)
    if again != knife:
        cure = "Give a text as title, and plain numbers."
        raise KnifeError(Problem(repr(knife.title), "", "would not read back as the same knife", "A file holds one knife.", cure))
    write_file(path, text, ".toml", replace=replace)


def knife_text(knife):
    """The Knife as the text of a knife file: each number as its reader wrote it, where the knife still says the same."""
    return "".join(f"{line}\n" for _, line in knife_lines(knife))


def knife_lines(knife):
    """(path, line) of the lines of a knife file: the number or table that a line is about, "assumed" for the list of these, else ""."""
    yield "", "# mm, N, N·mm, N/mm, MPa, g, g·mm² and degrees. ± means 95 %, within means always; without either, it follows from how the number was measured."
    yield "", f"title = {_quoted(str(knife.title))}"
    texts = texts_of(knife)
    unmeasured = listed(knife, texts)
    if unmeasured:
        yield "assumed", "# Nobody measured these; take one off the list once you have.\nassumed = ["
        yield from ((f"assumed.{path}", f"    {_quoted(path)},") for path in unmeasured)
        yield "assumed", "]"
    tables = [(f"[{name}]", name) for name in TABLES if getattr(knife, name)]
    for i in range(len(knife.balls)):
        tables += [("[[ball]]", f"balls[{i}]"), ("[ball.recess]", f"balls[{i}].recess")]
    for header, owner in tables:
        yield owner, f"\n{header}"
        for path, text in texts.items():
            before, _, name = path.rpartition(".")
            if before == owner:
                yield path, f"{name} = {_quoted(text) if isinstance(text, str) else text}"
    together = told_together(knife, texts)
    if together:
        yield "", f"\n# How far the errors of two numbers go together, from −1 to 1.\n[{_TOGETHER}]"
    for one in dict.fromkeys(one for one, _ in together):
        others = {other: r for (first, other), r in together.items() if first == one}
        yield "", f"{_quoted(one)} = {{ {', '.join(f'{_quoted(other)} = {float(r)}' for other, r in others.items())} }}"


def _quoted(text):
    """Text as a TOML string; JSON escapes in the same way, all but the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _text_of(path):
    """Text of a file, whatever its line ends; KnifeError where there is none to read."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise KnifeError(_no_such_file(path)) from None
    except (OSError, ValueError) as error:
        reason = "it is a folder" if path.is_dir() else getattr(error, "strerror", None) or str(error)
        raise KnifeError(Problem(str(path), "", f"cannot be read ({reason})", "", "Give the path of a .toml knife file.")) from None
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise KnifeError(Problem(str(path), "", "is saved as UTF-16", "A knife file is UTF-8 text.", 'Save it again with the encoding "UTF-8".'))
    if b"\0" in data:
        raise KnifeError(Problem(str(path), "", "is not a text file", "A knife file is UTF-8 text.", "Give the path of a .toml knife file."))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        where = f"{path}, line {data[: error.start].count(10) + 1}"
        cure = 'Save it again with the encoding "UTF-8", or write +/-.'
        raise KnifeError(Problem(where, "", "holds a character that is not UTF-8", "An older encoding writes ± differently.", cure)) from None
    if not text.strip():
        raise KnifeError(Problem(str(path), "", "is empty", "There is no knife in it.", "Copy one of the workbook's knife files and change it."))
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _no_such_file(path):
    folder = path.parent
    if not folder.is_dir():
        return Problem(str(path), "", "there is no such file", f"There is no folder {folder}.", f"Paths start from {Path.cwd()}.")
    names = sorted(each.name for each in folder.glob("[!.]*.toml"))
    held = f"The knife files in {folder.resolve().name} are {', '.join(names)}." if names else f"There is no knife file in {folder.resolve()}."
    near = difflib.get_close_matches(path.name, names, 1, 0.6)
    return Problem(str(path), "", "there is no such file", held, f"Did you mean {near[0]}?" if near else "Check the name.")


def _parsed(text, title):
    """Knife, or None, and all problems of a knife file's text, with library paths as their wheres."""
    data, found, dropped = _toml(text)
    if data is None:
        return None, found
    given, count, wrong = _flat(data)
    title, assumed = data.get("title", title), data.get("assumed", [])
    if not isinstance(title, str):
        wrong.append(Problem("title", str(title), "is not a text", "", f'Write title = "{title}".'))
    if not isinstance(assumed, list) or not all(isinstance(path, str) for path in assumed):
        cure = 'Write it like assumed = ["blade.tab_arm"].'
        wrong.append(Problem("assumed", str(assumed), "is not a list of fields", "It names the numbers that nobody measured.", cure))
        assumed = []
    together, more = _together(data.get(_TOGETHER, {}))
    wrong += more
    knife, more = build_knife(given, title, count, "second_bar" in data, tuple(assumed), together)
    lines = _line_numbers(text)
    more = [problem for problem in wrong + more if lines.get(problem.where) not in dropped]
    # of a line that is not TOML, what is wrong with its value says more than that its quotes are missing
    told = {lines.get(problem.where) for problem in more}
    found = [problem for problem in found if _line_of(problem.where, lines) not in told] + more
    return (None if found else knife), found


def _flat(data):
    """Fields by their library paths, number of balls, and tables that are none."""
    given, wrong = {}, []
    balls = data.get("ball", [])
    if isinstance(balls, dict):
        wrong.append(Problem("balls[0]", "", "stands in single brackets", "A knife may have more than one ball.", "Write [[ball]], with two brackets."))
        balls = [balls]
    tables = [(name, data[name]) for name in TABLES if name in data]
    tables += [(f"balls[{i}]", ball) for i, ball in enumerate(balls)] if isinstance(balls, list) else [("balls", balls)]
    for name, table in tables:
        if not isinstance(table, dict):
            wrong.append(_not_a_table(name, table))
            continue
        given |= {f"{name}.{key}": value for key, value in table.items()}
        recess = given.pop(f"{name}.recess", {}) if name.startswith("balls") else {}
        if isinstance(recess, dict):
            given |= {f"{name}.recess.{key}": value for key, value in recess.items()}
        else:
            wrong.append(_not_a_table(f"{name}.recess", recess))
    given |= {name: value for name, value in data.items() if name not in (*TABLES, "ball", "title", "assumed", _TOGETHER)}
    return given, len(balls) if isinstance(balls, list) else 0, wrong


def _together(table):
    """Correlations by pairs of paths, and entries of the table that are none."""
    entries = table.items() if isinstance(table, dict) else [(_TOGETHER, table)]
    found = {(one, other): r for one, others in entries if isinstance(others, dict) for other, r in others.items()}
    cure = 'Write a line like "friction.rim" = { "bar.riding_force" = -0.8 }.'
    bad = [(one, others) for one, others in entries if not isinstance(others, dict)]
    return found, [Problem(_TOGETHER, f"{one} = {others}", "names no other number", "", cure) for one, others in bad]


def _not_a_table(path, value):
    why = "It is a table: its name on a line of its own, its fields below."
    return Problem(path, str(value), "is a single value", why, f"Write {table_name(path)}, and its fields below it.")


def _toml(text):
    """Nested dicts (None where no sense can be made of the text), problems, and the numbers of the lines left out.

    A line that is not TOML is read as its cure has it, then left out, to go on to the next problem.
    """
    lines, found, tried = text.split("\n"), [], {}
    while True:
        try:
            return tomllib.loads("\n".join(lines)), found, {number for number, times in tried.items() if times == 2}
        except (ValueError, RecursionError) as error:
            at = re.search(r"at line (\d+)", str(error))
            number = int(at[1]) if at else 0
            line = _KEY_LINE.fullmatch(lines[number - 1]) if number else None
            if number not in tried:
                found.append(_not_toml(number, text.split("\n")[number - 1] if number else "", line, error))
            if line is None or tried.get(number) == 2:
                return None, found, set()
            tried[number] = tried.get(number, 0) + 1 if _bare(line[2]) else 2
            lines[number - 1] = f"{line[1]} = {_meant(line[2])}" if tried[number] == 1 else ""


def _bare(value):
    """A value without its comment and quotes; an inch mark after a number is kept as a word."""
    value = value.partition("#")[0].strip()
    if value[:1] in _QUOTES:
        value = re.sub(f"[{_QUOTES[value[0]]}]$", "", value[1:])
    return re.sub(r'(?<=\d)"(?!\s*\w)', " in", value).replace('"', "")


def _meant(value):
    """A value as TOML: with a decimal point where a comma can only be that, else in quotes."""
    value = _bare(value)
    decimal = re.fullmatch(r"([+-]?\d+),(\d{1,2}|\d{4,})", value)
    return f"{decimal[1]}.{decimal[2]}" if decimal else _quoted(value)


def _not_toml(number, text, line, error):
    """Problem of one line that is not TOML, in the words of the bench where the slip is a usual one."""
    text = text.strip()
    where, said = f"line {number}" if number else "", repr(text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…") if number else "the text"
    if line is None:
        reason = re.sub(r" \(at .*\)", "", str(error))
        return Problem(where, "", f"{said} cannot be read", f"({reason}.)", "A line is a [table], a field = value, or a comment that starts with #.")
    name, value = line[1], _bare(line[2])
    if "verwrite" in str(error):
        return Problem(where, "", f"{said} gives {name} a second time", "", "Keep one of the two lines.")
    if not value:
        return Problem(where, "", f"{said} gives no value", "", "Write the value, or take the line out.")
    meant = _meant(line[2])
    if not meant.startswith('"'):
        return Problem(where, "", f"{said} has a comma in the number", "", f"Write {name} = {meant} instead.")
    return Problem(where, "", f"{said} cannot be read", "A value with a unit, and any text, stands in quotes.", f"Write {name} = {meant}.")


def _line_numbers(text):
    """{library path: number of its line} of the tables and fields in a knife file's text."""
    numbers, owner, balls = {}, "", 0
    for number, line in enumerate(text.split("\n"), 1):
        # one pass each: a line of many blanks or brackets must not be tried in every way
        header = re.match(r"\[\[?([\w.\s-]+)\]", line.strip())
        key = re.match(r"([\w.\s-]+)=", line)
        if header:
            owner = re.sub(r"\s", "", header[1])
            balls += owner == "ball"
            owner = re.sub(r"^ball\b", f"balls[{max(balls - 1, 0)}]", owner)
            numbers.setdefault(owner, number)
        elif key:
            name = re.sub(r"\s", "", key[1])
            numbers.setdefault(f"{owner}.{name}" if owner else name, number)
    return numbers


def _line_of(where, lines):
    """Number of the line that a problem is about: that of its field, else of the table round it, else None."""
    if where.startswith("line "):
        return int(where[5:])
    while where and where not in lines:
        where = where.rpartition(".")[0]
    return lines.get(where)


def _in_file(problem, file, lines):
    """The problem with file, line and field as the file spells it."""
    number = _line_of(problem.where, lines)
    spelled = re.sub(r"^balls\[(\d+)\]\.?", lambda match: f"ball {int(match[1]) + 1} ", problem.where).strip()
    spelled = re.sub(r"^line .*", "", spelled).replace("balls", "[[ball]]")
    return problem._replace(where=", ".join(part for part in (file, f"line {number}" if number else "", spelled) if part))
