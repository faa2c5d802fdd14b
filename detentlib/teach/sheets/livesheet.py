"""A live sheet: one HTML file with sliders that computes a knife's detent by itself, without Python and without a network.

Its formulas are printed from the register (sheet_formulas.py); the searches and the drawing stand in livesheet_*.js.
When the page opens it checks itself against numbers that the library worked out when the sheet was made.
"""

import json
import math
import re
from dataclasses import asdict
from importlib.resources import files

from ...mechanics import feel as feels
from ...mechanics import lift, search
from ...mechanics.feel import feel
from ...mechanics.lift import TOUCH_WORDS
from ...mechanics.notes import runs_off_early
from ...parts import KnifeError, Problem, unmeasured
from ...workshop.pair import with_second_ball
from ..cautions import CAUTIONS
from ..panels import drawing
from . import paper
from .sheet_check import settings
from .sheet_controls import KINDS, movers, shown, with_springs
from .sheet_file import pieces
from .sheet_formulas import javascript

FORMULAS = ("L2", "L2a", "L3", "L4", "L5", "L6", "L8", "B4", "B4a", "B5", "B6b", "C1", "F2b", "F5", "F8", "E1")
_LOOK = ("INK", "GREY", "BEFORE", "GRID", "TANG", "BAR", "STEEL", "ENVELOPE", "OPENING", "BACK", "PUSH", "BALLS")
_SCRIPTS = ("mechanics", "words", "picture", "check", "page")
_ALWAYS_LEFT_OUT = (
    "an elastic bar: two balls within a few microns of each other share; here the higher one carries all",
    "squash of ball and rim where they touch",
    "the rest of the swing: drag on the way, and where the ball runs off the tang",
)


def live_sheet(knife, path, replace=False):
    """Write one HTML file with sliders for a Knife, which anybody can open in a browser.

    The page shows the section to scale, the lift of each ball and the force at the tab, and says who carries, break
    force, let-back, barrier, break-out and handover, all as `feel` gives them for a rigid bar. A knife with one ball gets a
    second one to switch on: a twin of ball 1, pressed 2 thou deeper. The same knife makes the same bytes. replace: True
    writes it over a file that is there.

    Raises KnifeError for a knife that cannot work, for what the sheet does not compute (more than two balls, a tang
    edge within the opening), and like `write_file`.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> balls = [Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))] * 3
    >>> live_sheet(Knife("three", balls, LockBar(17.04, rate=10.3), Blade(14.0), Friction(0.12)), "three.html")
    Traceback (most recent call last):
    detentlib.checks.KnifeError: three: balls: there are 3 balls. The live sheet computes one or two. Leave one out, or use the workbook.
    """
    found = feel(knife)
    problems = list(_beyond(knife, found))
    if problems:
        raise KnifeError(problems, knife.title)
    pair = knife if len(knife.balls) > 1 else with_second_ball(knife)
    paper.save(path, page(knife, pair), replace)


def page(knife, pair):
    """The text of the page; pair: the knife with two balls, which is the knife itself where it has them."""
    rated = with_springs(pair)
    moving = movers(rated)
    data = {
        "title": knife.title,
        "knife": _plain(rated),
        "movers": [each._asdict() | each.rule for each in moving],
        "kinds": {kind: shown(kind) for kind in KINDS},
        "second": len(knife.balls) > 1,
        "file": pieces(pair, [each.path for each in moving]),
        "checks": settings(pair, moving, len(knife.balls) > 1),
        "touch": TOUCH_WORDS,
        "library": {
            "just_after": search.JUST_AFTER,
            "off_track_mu": feels._OFF_TRACK_MU,
            "off_track_limit": feels._OFF_TRACK_LIMIT,
            "jam_from": math.radians(lift.JAM_DEG - lift.JAM_MARGIN_DEG),
            "near_jam": math.radians(lift.JAM_DEG - 2 * lift.JAM_MARGIN_DEG),
        },
        "look": {name.lower(): getattr(drawing, name) for name in _LOOK},
    }
    script = "\n".join([f"const DATA = {_json(data)};", "const LIBRARY = DATA.library;", javascript(FORMULAS), *map(_script, _SCRIPTS)])
    filled = {
        "title": paper.text(knife.title),
        "style": _part("style.css"),
        "script": script,
        "boxes": "\n".join(_group(rated, moving, group, len(knife.balls) > 1) for group in range(3)),
        "left-out": paper.bullets((*unmeasured(knife), *feel(pair).left_out, *_ALWAYS_LEFT_OUT)),
        "cautions": paper.bullets(CAUTIONS.values()),
    }
    text = _part("page.html")
    return re.sub(r"<!-- ([\w-]+) -->", lambda marker: filled[marker[1]], text)


def _beyond(knife, found):
    """What the sheet does not compute: a Problem for each."""
    count = len(knife.balls)
    if count > 2:
        yield Problem("balls", "", f"there are {count} balls", "The live sheet computes one or two.", "Leave one out, or use the workbook.")
    for i, ball in enumerate(knife.balls):
        if runs_off_early(ball, found):
            yield Problem(
                f"balls[{i}].run_off_deg",
                f"{ball.run_off_deg:g}°",
                f"lies before the balls are on the flat at {found.break_out_deg:.2f}°",
                "The live sheet does not compute the edge of the tang.",
                "Check the angle, or use the workbook.",
            )


def _plain(knife):
    """The knife as nested plain data, without its title and notes."""
    return {name: part for name, part in asdict(knife).items() if name in ("balls", "bar", "second_bar", "blade", "friction")}


def _json(data):
    """JSON that cannot end the script element that it stands in."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _part(name):
    """A part of the page."""
    return files(__package__).joinpath(f"livesheet_{name}").read_text(encoding="utf-8").rstrip("\n")


def _script(name):
    """A script of the page without its comments, which stand in the library."""
    lines = _part(f"{name}.js").split("\n")
    return "\n".join(line for line in lines if not line.lstrip().startswith(("//", "/**", "* ", "*/")))


def _group(knife, moving, group, two):
    """The boxes of one ball, or those of the bar and the hand."""
    title = ("Bar, friction, hand", "Ball 1", "Ball 2")[group]
    boxes = [(i, each) for i, each in enumerate(moving) if each.group == group]
    plain = "\n".join(_box(i, each) for i, each in boxes if not each.more)
    folded = "\n".join(_box(i, each) for i, each in boxes if each.more)
    more = f"<details><summary>{title}: more about its recess</summary>\n{folded}\n</details>" if folded else ""
    switch = ""
    if group == 2:
        said = "Second ball" if two else "Second ball, a twin of ball 1 pressed 2 thou deeper"
        switch = f'<p class="switch"><input type="checkbox" id="second"{" checked" if two else ""}> <label for="second">{said}</label></p>\n'
    return f'<div class="group">\n{switch}<fieldset id="group-{group}"><legend>{title}</legend>\n{plain}\n{more}\n</fieldset>\n</div>'


def _box(i, each):
    """A labelled number box over its slider; the script fills in unit, ends and value."""
    label = paper.text(each.label)
    return (
        f'<div class="mover"><label for="box-{i}">{label}</label><input type="number" id="box-{i}" step="any" autocomplete="off">'
        f'<input type="range" id="slide-{i}" aria-label="{label}, slider"></div>'
    )
