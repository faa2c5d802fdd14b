"""The knife file that a live sheet writes, as pieces of text with slots for the numbers that moved."""

import re
from dataclasses import replace

from ...files import knife_text
from ...instruments import EXACTLY
from ...parts import spec

SLOT = "{}"


def pieces(knife, paths):
    """The lines of the file of a knife with two balls, as a list of dicts; paths: the numbers that may move.

    text: the line, with SLOT for the number at `path`. moved: written only once that number has moved. assumed: the
    number that the line lists as assumed, until it moves; list: the frame of that list. second: only with the second ball.
    Numbers are in the units of their fields, as the sheet has them, with their ± in place of how they were measured.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> balls = [Ball(1.5, 0.42, 8.0, 36.4, Recess(1.3))] * 2
    >>> knife = Knife("A", balls, LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12), doubts={"bar.rate": 0.5})
    >>> [piece["text"] for piece in pieces(knife, ["bar.rate"]) if piece.get("path")]
    ['rate = "{} ± 0.5 N/mm"']
    """
    lines = [line for line in knife_text(replace(knife, said={})).split("\n") if line]
    owners = list(_owners(lines))
    written = {_path(line, owner) for line, owner in zip(lines, owners, strict=True)}
    found = []
    for line, owner in zip(lines, owners, strict=True):
        if not owner:
            found.append(_top(line))
            continue
        second = {"second": True} if _with_second(owner) else {}
        path = _path(line, owner)
        if line.startswith("["):
            found.append({"text": f"\n{line}"} | second)
            unwritten = [each for each in paths if each.rpartition(".")[0] == owner and each not in written]
            found += [{"text": _exact(each), "path": each, "moved": True} | second for each in unwritten]
        elif path in paths:
            found.append({"text": line.replace(str(knife.get(path)), SLOT, 1), "path": path} | second)
        else:
            found.append({"text": line} | second)
    return found


def _exact(path):
    """The line of a number that somebody moved in the sheet."""
    number = f"{SLOT} {spec(path)['unit']}".rstrip()
    return f'{path.rpartition(".")[2]} = "{number}, {EXACTLY}"'


def _owners(lines):
    """The part that each line belongs to, "" above the first table."""
    owner, ball = "", -1
    for line in lines:
        if line.startswith("["):
            ball += line == "[[ball]]"
            owner = line.strip("[]").replace("ball", f"balls[{ball}]", 1)
        yield owner


def _path(line, owner):
    """Path of the number on a line."""
    return f"{owner}.{line.partition(' = ')[0]}"


def _with_second(path):
    """True for what is there only with the second ball."""
    return path.startswith(("balls[1]", "second_bar"))


def _top(line):
    """A line above the first table: comments, title, and the list of assumed numbers."""
    listed = re.fullmatch(r'    "(.+)",', line)
    if listed:
        return {"text": line, "assumed": listed[1]} | ({"second": True} if _with_second(listed[1]) else {})
    return {"text": line} | ({} if not line.startswith(("# Nobody", "assumed", "]")) else {"list": True})
