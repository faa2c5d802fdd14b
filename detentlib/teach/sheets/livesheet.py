"""A live sheet: one HTML file with sliders that computes a knife's detent by itself, without Python and without a network.

Its formulas are printed from the register (sheet_formulas.py); what is done with them and the drawing stand in livesheet_*.js.
When the page opens it checks itself against numbers that the library worked out when the sheet was made (sheet_check.py).
"""

import json
import math
import re
from dataclasses import asdict, replace
from importlib.resources import files
from typing import NamedTuple

from ...checks import slips
from ...files import knife_lines
from ...instruments import EXACTLY
from ...mechanics import bar as bars
from ...mechanics import feel as feels
from ...mechanics import lift, limits, search
from ...mechanics.carry import bars_of
from ...mechanics.feel import feel
from ...mechanics.notes import runs_off_early
from ...parts import KnifeError, Problem, spec, unmeasured
from ...units import convert
from ...workshop.moves import with_one_ball
from ...workshop.pair import with_second_ball
from ..cautions import CAUTIONS
from ..panels import drawing
from . import paper
from .sheet_check import FELT, settings
from .sheet_formulas import javascript

FORMULAS = ("L2", "L2a", "L3", "L4", "L5", "L6", "L8", "B4", "B4a", "B5", "B6b", "C1", "F2b", "F5", "F8", "E1")
SLOT = "{}"
# how each kind of number is shown: unit, decimals in a box and in words, metric and inch
_KINDS = {
    "size": (("mm", 4, 3), ("thou", 2, 1)),
    "arm": (("mm", 4, 3), ("in", 5, 3)),
    "force": (("N", 2, 2), ("lbf", 2, 2)),
    "rate": (("N/mm", 3, 2), ("lbf/in", 2, 1)),
    "give": (("mm/N", 5, 5), ("mm/N", 5, 5)),
    "ratio": (("", 3, 3), ("", 3, 3)),
    "deg": (("deg", 2, 2), ("deg", 2, 2)),
    "mJ": (("mJ", 2, 2), ("mJ", 2, 2)),
}
_LOOK = ("INK", "GREY", "BEFORE", "GRID", "TANG", "BAR", "STEEL", "ENVELOPE", "OPENING", "BACK", "PUSH")
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
    problems = list(_beyond(knife, feel(knife)))
    if problems:
        raise KnifeError(problems, knife.title)
    pair = knife if len(knife.balls) > 1 else with_second_ball(knife)
    paper.save(path, page(knife, pair), replace)


def page(knife, pair):
    """The text of the page; pair: the knife with two balls, which is the knife itself where it has them."""
    rated, two = with_springs(pair), len(knife.balls) > 1
    moving = movers(rated)
    paths = [each.path for each in moving]
    data = {
        "title": knife.title,
        "knife": {name: part for name, part in asdict(rated).items() if name in ("balls", "bar", "second_bar", "blade", "friction")},
        "movers": [each.told for each in moving],
        "kinds": {kind: [_shown(each, shown[0][0]) for each in shown] for kind, shown in _KINDS.items()},
        "second": two,
        "file": [file_lines(each, paths) for each in (with_one_ball(pair) if two else knife, pair)],
        "felt": FELT,
        "checks": settings(pair, moving, two),
        "touch": lift.TOUCH_WORDS,
        "library": {
            "just_after": search.JUST_AFTER,
            "off_track_mu": feels._OFF_TRACK_MU,
            "off_track_limit": feels._OFF_TRACK_LIMIT,
            "jam_from": math.radians(lift.JAM_DEG - lift.JAM_MARGIN_DEG),
            "past": limits.PAST,
        },
    }
    scripts = (_part(f"{name}.js") for name in _SCRIPTS)
    filled = {
        "title": paper.text(knife.title),
        "style": f":root {{ {_colours()} }}\n{_part('style.css')}",
        "script": "\n".join([f"const DATA = {_json(data)};", "const LIBRARY = DATA.library;", javascript(FORMULAS), *map(_bare, scripts)]),
        "boxes": "\n".join(_group(moving, group, two) for group in range(3)),
        "left-out": paper.bullets((*unmeasured(knife), *feel(pair).left_out, *_ALWAYS_LEFT_OUT)),
        "cautions": paper.bullets(CAUTIONS.values()),
    }
    return re.sub(r"<!-- ([\w-]+) -->", lambda marker: filled[marker[1]], _part("page.html"))


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


class Mover(NamedTuple):
    """One number that moves.

    path: as in Knife.get. label: what stands beside its box. group: 0 the bar and the hand, else the number of its ball.
    kind: how it is shown. value, lo, hi, step: in mm, N, N/mm. more: folded away until somebody wants it.
    """

    path: str
    label: str
    group: int
    kind: str
    value: float
    lo: float
    hi: float
    step: float
    more: bool = False

    @property
    def told(self):
        """What the page is told of it: also what its value must be, and the range outside which a slip of its unit shows."""
        data = spec(self.path)
        return self._asdict() | {"rule": data["rule"], "sane": data["sane"], "slips": slips(data), "second": self.path.startswith(("balls[1]", "second_bar"))}


def with_springs(knife):
    """The knife with rate and sideways give of each bar as numbers, also where only its sizes are drawn: a slider must start somewhere."""
    known = {}
    for name, (bar, members) in zip(("bar", "second_bar"), bars_of(knife), strict=False):
        first = knife.balls[members[0]]
        known |= {f"{name}.rate": float(bars.rate(bar, first)), f"{name}.side_compliance": float(bars.side_compliance(bar, first))}
    return knife.replace({path: value for path, value in known.items() if knife.get(path) is None})


def movers(knife):
    """The Movers of a knife with one or two balls whose bar has its springs as numbers, in the order of the page."""
    found = [each for i in range(len(knife.balls)) for each in _of_ball(knife, i)]
    for bar, name in (("bar", ""), ("second_bar", " of the second leaf")):
        if getattr(knife, bar) is not None:
            found.append(_mover(knife, f"{bar}.riding_force", f"Riding force{name}", 0, "force", (0.4, 1.8), 0.05))
            found.append(_mover(knife, f"{bar}.rate", f"Rate{name}", 0, "rate", (0.4, 1.8), 0.05))
            give = knife.get(f"{bar}.side_compliance")
            found.append(Mover(f"{bar}.side_compliance", f"Sideways give{name}", 0, "give", give, 0.0, max(0.007, 2 * give), 0.00005))
    rim = knife.friction.rim
    found.append(Mover("friction.rim", "Friction at the rim", 0, "ratio", rim, 0.0, max(0.4, rim), 0.005))
    found.append(_mover(knife, "blade.tab_arm", "Tab arm", 0, "arm", (0.6, 1.6), 0.05))
    return found


def _of_ball(knife, i):
    """Ball, recess and place of one ball; the less usual numbers last."""
    ball, path, name, group = knife.balls[i], f"balls[{i}]", f"Ball {i + 1}: ", i + 1
    recess = ball.recess
    yield _mover(knife, f"{path}.diameter", f"{name}diameter", group, "arm", (0.75, 1.3), 0.0005)
    yield _mover(knife, f"{path}.protrusion", f"{name}protrusion", group, "size", (0.6, 1.4), 0.001)
    if recess.diameter > 0:
        most = max(1.02 * ball.diameter, 1.1 * recess.diameter)  # beyond the ball, which is refused with its reason
        yield _mover(knife, f"{path}.recess.diameter", f"{name}recess diameter", group, "arm", (0.65, most / recess.diameter), 0.0005)
    offset = recess.rest_offset
    yield Mover(f"{path}.recess.rest_offset", f"{name}rest offset", group, "size", offset, min(-0.06, offset - 0.06), max(0.2, offset + 0.1), 0.001)
    yield _mover(knife, f"{path}.track_radius", f"{name}track radius", group, "arm", (0.7, 1.5), 0.01)
    # the drawn rate of a leaf is that at its own first ball, so moving that one would change the rate unseen
    if i > 0 and ball.bar == knife.balls[0].bar:
        yield _mover(knife, f"{path}.hinge_distance", f"{name}hinge distance", group, "arm", (0.75, 1.25), 0.05)
    off = recess.off_track
    yield Mover(f"{path}.recess.off_track", f"{name}off-track error", group, "size", off, min(-0.1, off), max(0.1, off), 0.001, True)
    if recess.chamfer_width > 0:
        yield _mover(knife, f"{path}.recess.chamfer_width", f"{name}chamfer width", group, "size", (0.2, 1.5), 0.001, True)
    else:
        rounded = recess.edge_radius
        yield Mover(f"{path}.recess.edge_radius", f"{name}rounding of the rim", group, "size", rounded, 0.0, max(0.15, rounded), 0.001, True)
    if recess.depth is not None:
        yield _mover(knife, f"{path}.recess.depth", f"{name}depth of the recess floor", group, "size", (0.2, 1.5), 0.001, True)


def _mover(knife, path, label, group, kind, factors, step, more=False):
    """A Mover whose range is the knife's own value times two factors."""
    value = knife.get(path)
    low, high = (round(round(value * factor / step) * step, 9) for factor in factors)
    return Mover(path, label, group, kind, value, min(low, value), max(high, value), step, more)


def _shown(shown, base):
    """[unit, factor from the library's unit, decimals in a box, decimals in words]; base: the library's unit."""
    unit, *places = shown
    return ["°" if unit == "deg" else unit, convert(1.0, base, unit), *places]


def file_lines(knife, paths):
    """The lines of a knife file as dicts; paths: the numbers that may move.

    text: the line, with SLOT for the number at `path`. extra: written only once that number has moved. assumed: the number
    that the line lists as assumed, until it moves; list: the frame of that list. Numbers are in the units of their fields,
    as the sheet has them, with their ± in place of how they were measured; one that the file did not have is exact.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> knife = Knife("A", [Ball(1.5, 0.42, 8.0, 36.4, Recess(1.3))], LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12), doubts={"bar.rate": 0.5})
    >>> [line["text"] for line in file_lines(knife, ["bar.rate"]) if line.get("path")]
    ['rate = "{} ± 0.5 N/mm"']
    """
    lines = list(knife_lines(replace(knife, said={})))
    unwritten = [path for path in paths if path not in dict(lines)]
    found = []
    for path, line in lines:
        if path in paths:
            found.append({"text": line.replace(str(knife.get(path)), SLOT, 1), "path": path})
        elif path == "assumed":
            found.append({"text": line, "list": True})
        else:
            found.append({"text": line} | ({"assumed": path.removeprefix("assumed.")} if path.startswith("assumed.") else {}))
            owned = [each for each in unwritten if each.rpartition(".")[0] == path]
            found += [{"text": _exact(each), "path": each, "extra": each} for each in owned]
    return found


def _exact(path):
    """The line of a number that somebody moved in the sheet."""
    number = f"{SLOT} {spec(path)['unit']}".rstrip()
    return f'{path.rpartition(".")[2]} = "{number}, {EXACTLY}"'


def _json(data):
    """JSON that cannot end the script element that it stands in."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _part(name):
    """A part of the page."""
    return files(__package__).joinpath(f"livesheet_{name}").read_text(encoding="utf-8").rstrip("\n")


def _bare(script):
    """A script without its comments, which stand in the library."""
    return "\n".join(line for line in script.split("\n") if not line.lstrip().startswith(("//", "/**", "* ", "*/")))


def _colours():
    """The colours of the workbook's pictures as variables of CSS."""
    named = {name.lower(): getattr(drawing, name) for name in _LOOK} | {f"ball-{i}": colour for i, colour in enumerate(drawing.BALLS)}
    return " ".join(f"--{name}: {colour};" for name, colour in named.items())


def _group(moving, group, two):
    """The boxes of one ball, or those of the bar and the hand."""
    title = ("Bar, friction, hand", "Ball 1", "Ball 2")[group]
    plain, folded = ("\n".join(_box(i, each) for i, each in enumerate(moving) if each.group == group and each.more is more) for more in (False, True))
    more = f"<details><summary>{title}: more about its recess</summary>\n{folded}\n</details>" if folded else ""
    said = "Second ball" if two else "Second ball, a twin of ball 1 pressed 2 thou deeper"
    switch = f'<p class="switch"><input type="checkbox" id="second"{" checked" if two else ""}> <label for="second">{said}</label></p>\n' if group == 2 else ""
    return f'<div class="group">\n{switch}<fieldset id="group-{group}"><legend>{title}</legend>\n{plain}\n{more}\n</fieldset>\n</div>'


def _box(i, each):
    """A labelled number box over its slider; the script fills in unit, ends and value."""
    label = paper.text(each.label)
    return (
        f'<div class="mover"><label for="box-{i}">{label}</label><input type="number" id="box-{i}" step="any" autocomplete="off">'
        f'<input type="range" id="slide-{i}" aria-label="{label}, slider"></div>'
    )
