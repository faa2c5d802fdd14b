"""A live sheet: one HTML file with sliders that computes a knife's detent by itself, without Python and without a
network.

Its formulas are printed from the register; what is done with them and the drawing stand in livesheet_*.js.
When the page opens it checks itself against numbers that the library worked out when the sheet was made.
"""

import json
import math
from collections.abc import Iterable
from dataclasses import asdict, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
from markupsafe import Markup

from ..derivations.formulas import formulas
from ..doubt.budget import gives
from ..doubt.cloud import cloud
from ..doubt.many import RESULTS
from ..draw import drawing
from ..files.fields import with_doubt
from ..files.knife_file import entry, knife_lines
from ..knife.checks import slips
from ..knife.parts import Knife, KnifeError, Problem, spec, unmeasured
from ..knife.paths import place_of
from ..knife.units import convert
from ..mechanics import bar as bars
from ..mechanics import carry, lift, limits, notes, search
from ..mechanics import feel as feels
from ..mechanics.feel import feel, felt
from ..say.cautions import CAUTIONS
from ..say.headline import HEADLINE
from ..tune.moves import with_one_ball
from ..tune.pair import with_second_ball
from . import paper

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
_GROUPS = ("Bar, friction, hand", "Ball 1", "Ball 2")
_PARTS = ("balls", "bar", "second_bar", "blade", "friction")
_LOOK = ("INK", "GREY", "BEFORE", "GRID", "TANG", "BAR", "STEEL", "ENVELOPE", "OPENING", "BACK", "PUSH")
_COLOURS = {name.lower(): getattr(drawing, name) for name in _LOOK} | {
    f"ball-{i}": colour for i, colour in enumerate(drawing.BALLS)
}
_MIXED = 12
# of the way to the flat; at none of it two balls that share can stick in many ways
_SHARES = (0.01, 0.13, 0.37, 0.71, 0.93, 1.1)
# what the page compares with the library when it opens: numbers of Feel that feelOf in livesheet_mechanics.js gives as
# well, alone or one a ball
FELT = (
    "break_force",
    "letback_force",
    "gauge_break_force",
    "gauge_letback_force",
    "barrier",
    "break_out_deg",
    "rest_deg",
    "take_up_deg",
    "rest_load",
    "ride_load",
    "contact_deg",
    "idle_clearance",
    "loaded_offset",
)
_GOLDEN = (5**0.5 - 1) / 2
_ALWAYS_LEFT_OUT = (
    "an elastic bar, on which two balls within a few microns of each other share",
    "squash of ball and rim where they touch",
    "the rest of the swing: drag on the way, and where the ball runs off the tang",
)


def live_sheet(knife: Knife, path: str | Path, replace: bool = False) -> None:
    """Write one HTML file with sliders for a Knife, which anybody can open in a browser.

    The page shows the section to scale, the lift of each ball and the force at the tab, and says who carries, break
    force, let-back, barrier, break-out and handover, all as `feel` gives them for a rigid bar. A knife with one ball
    gets a second one to switch on: a twin of ball 1, pressed 2 thou deeper. The same knife makes the same bytes.
    replace: True writes it over a file that is there.

    Raises KnifeError for a knife that cannot work, for what the sheet does not compute (more than two balls, a tang
    edge within the opening), and like `write_file`.

    >>> from dataclasses import replace
    >>> from detentlib.files.demo import demo
    >>> live_sheet(replace(demo("pellowfen-a"), balls=demo("pellowfen-a").balls * 3), "three.html")
    Traceback (most recent call last):
    detentlib.knife.checks.KnifeError: Pellowfen A: balls: there are 3 balls. The live sheet computes one or two. ...
    """
    problems = list(_beyond(knife, feel(knife)))
    if problems:
        raise KnifeError(problems, knife.title)
    pair = knife if len(knife.balls) > 1 else with_second_ball(knife)
    paper.save(path, lambda: page(knife, pair), replace)


def page(knife: Knife, pair: Knife) -> str:
    """The text of the page; pair: the knife with two balls, which is the knife itself where it has them."""
    rated, two = with_springs(pair), len(knife.balls) > 1
    moving = movers(rated)
    paths = [each.path for each in moving]
    data = {
        "title": knife.title,
        "knife": {name: part for name, part in asdict(rated).items() if name in _PARTS},
        "movers": [each.told for each in moving],
        "kinds": {kind: [_shown(each, shown[0][0]) for each in shown] for kind, shown in _KINDS.items()},
        "second": two,
        "file": [file_lines(each, paths) for each in (with_one_ball(pair) if two else knife, pair)],
        "felt": FELT,
        "checks": settings(pair, moving, two),
        "touch": lift.TOUCH_WORDS,
        "library": {
            "just_after": carry.JUST_AFTER,
            "at_once": search.AT_ONCE,
            "stays": search.STAYS,
            "off_track_mu": feels._OFF_TRACK_MU,
            "off_track_limit": feels._OFF_TRACK_LIMIT,
            "jam_from": math.radians(lift.JAM_DEG - lift.JAM_MARGIN_DEG),
            "past": limits.PAST,
            "usual": {name: usual.value for name, usual in limits.usual().items()},
            "hair": feels.HAIR,
            "off_the_track": notes.OFF_THE_TRACK,
            "rough": notes.ROUGH,
            "thin_clearance": notes.THIN_CLEARANCE,
            "thin_jam": notes.THIN_JAM,
        },
    }
    return paper.fill(
        "livesheet_page.html",
        title=knife.title,
        colours=_COLOURS,
        data=Markup(_json(data)),
        formulas=Markup(javascript(FORMULAS)),
        groups=[
            (title, [(i, each) for i, each in enumerate(moving) if each.group == k]) for k, title in enumerate(_GROUPS)
        ],
        two=two,
        as_written=as_written(knife),
        left_out=(*unmeasured(knife), *feel(pair).left_out, *_ALWAYS_LEFT_OUT),
        cautions=CAUTIONS.values(),
    )


def as_written(knife: Knife) -> str:
    """What `headline` shows of a Knife, each number with its ± or both its ends, as a sentence that stays true when a
    slider moves; "" for a knife without any ±.
    """
    if not knife.doubts:
        return ""
    drawn = cloud(knife)
    told = (
        f"{name[0].lower()}{name[1:]} {drawn.interval(drawn.column(result)).said(RESULTS[result].unit)}"
        for result, name in HEADLINE.items()
        if gives(drawn, result)
    )
    return f"The card as written, with its ± or both ends (95 %): {'; '.join(told)}. A moved number has no ± here."


def _beyond(knife, found):
    """What the sheet does not compute: a Problem for each."""
    count = len(knife.balls)
    if count > 2:
        yield Problem(
            "balls",
            "",
            f"there are {count} balls",
            "The live sheet computes one or two.",
            "Leave one out, or use the workbook.",
        )
    for i, ball in enumerate(knife.balls):
        if notes.runs_off_early(ball, found):
            yield Problem(
                f"balls[{i}].run_off_deg",
                f"{ball.run_off_deg:g}°",
                f"lies before the balls are on the flat at {found.break_out_deg:.2f}°",
                "The live sheet does not compute the edge of the tang.",
                "Check the angle, or use the workbook.",
            )


class Mover(NamedTuple):
    """One number that moves.

    path: as in Knife.get. label: what stands beside its box. group: 0 the bar and the hand, else the number of its
    ball. kind: how it is shown. value, lo, hi, step: in mm, N, N/mm. more: folded away until somebody wants it.
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
    def told(self) -> dict[str, object]:
        """What the page is told of it: also what its value must be, and the range outside which a slip of its unit
        shows.
        """
        data = spec(self.path)
        return self._asdict() | {
            "rule": data["rule"],
            "sane": data["sane"],
            "slips": slips(data),
            "second": place_of(self.path).index > 0,
        }


def with_springs(knife: Knife) -> Knife:
    """The knife with rate and sideways give of each bar as numbers, also where only its sizes are drawn: a slider
    must start somewhere.
    """
    known = {}
    for name, (bar, members) in zip(("bar", "second_bar"), carry.bars_of(knife), strict=False):
        first = knife.balls[members[0]]
        known |= {
            f"{name}.rate": float(bars.rate(bar, first)),
            f"{name}.side_compliance": float(bars.side_compliance(bar, first)),
        }
    return knife.replace({path: value for path, value in known.items() if knife.get(path) is None})


def movers(knife: Knife) -> list:
    """The Movers of a knife with one or two balls whose bar has its springs as numbers, in the order of the page."""
    found = [each for i in range(len(knife.balls)) for each in _of_ball(knife, i)]
    for bar, name in (("bar", ""), ("second_bar", " of the second leaf")):
        if getattr(knife, bar) is not None:
            found.append(_scaled(knife, f"{bar}.riding_force", f"Riding force{name}", 0, "force", (0.4, 1.8), 0.05))
            found.append(_scaled(knife, f"{bar}.rate", f"Rate{name}", 0, "rate", (0.4, 1.8), 0.05))
            path = f"{bar}.side_compliance"
            most = max(0.007, 2 * knife.get(path))
            found.append(_between(knife, path, f"Sideways give{name}", 0, "give", (0.0, most), 0.00005))
    found.append(_between(knife, "friction.rim", "Friction at the rim", 0, "ratio", (0.0, 0.4), 0.005))
    found.append(_scaled(knife, "blade.tab_arm", "Tab arm", 0, "arm", (0.6, 1.6), 0.05))
    return found


def _of_ball(knife, i):
    """Ball, recess and place of one ball; the less usual numbers last."""
    ball, recess = knife.balls[i], knife.balls[i].recess
    offset, bored = recess.rest_offset, recess.diameter
    around = min(-0.06, offset - 0.06), max(0.2, offset + 0.1)
    # up to beyond the ball, which is refused
    hole = 0.65, max(1.02 * ball.diameter, 1.1 * bored) / (bored or 1)
    # the drawn rate of a leaf is that at its own first ball, so moving that one would change the rate unseen
    beside = i > 0 and ball.bar == knife.balls[0].bar
    bevel, floor = recess.chamfer_width > 0, recess.depth is not None
    rows = (  # path, label, whether it moves, how its range is given, kind, range, step, whether folded away
        ("diameter", "diameter", True, _scaled, "arm", (0.75, 1.3), 0.0005, False),
        ("protrusion", "protrusion", True, _scaled, "size", (0.6, 1.4), 0.001, False),
        ("recess.diameter", "recess diameter", bored > 0, _scaled, "arm", hole, 0.0005, False),
        ("recess.rest_offset", "rest offset", True, _between, "size", around, 0.001, False),
        ("track_radius", "track radius", True, _scaled, "arm", (0.7, 1.5), 0.01, False),
        ("hinge_distance", "hinge distance", beside, _scaled, "arm", (0.75, 1.25), 0.05, False),
        ("recess.off_track", "off-track error", True, _between, "size", (-0.1, 0.1), 0.001, True),
        ("recess.chamfer_width", "chamfer width", bevel, _scaled, "size", (0.2, 1.5), 0.001, True),
        ("recess.edge_radius", "rounding of the rim", not bevel, _between, "size", (0.0, 0.15), 0.001, True),
        ("recess.depth", "depth of the recess floor", floor, _scaled, "size", (0.2, 1.5), 0.001, True),
    )
    for path, label, moves, ranged, kind, ends, step, more in rows:
        if moves:
            yield ranged(knife, f"balls[{i}].{path}", f"Ball {i + 1}: {label}", i + 1, kind, ends, step, more)


def _scaled(knife, path, label, group, kind, factors, step, more=False):
    """A Mover whose range is the knife's own value times two factors."""
    ends = (round(round(knife.get(path) * factor / step) * step, 9) for factor in factors)
    return _between(knife, path, label, group, kind, ends, step, more)


def _between(knife, path, label, group, kind, ends, step, more=False):
    """A Mover with a range of its own, widened to the knife's value."""
    value, (low, high) = knife.get(path), ends
    return Mover(path, label, group, kind, value, min(low, value), max(high, value), step, more)


def _shown(shown, base):
    """[unit, factor from the library's unit, decimals in a box, decimals in words]; base: the library's unit."""
    unit, *places = shown
    return ["°" if unit == "deg" else unit, convert(1.0, base, unit), *places]


def file_lines(knife: Knife, paths: list) -> list:
    """The lines of a knife file as dicts; paths: the numbers that may move.

    text: the line, with SLOT for the number at `path`. extra: written only once that number has moved. assumed: the
    number that the line lists as assumed, until it moves; list: the frame of that list. Numbers are in the units of
    their fields, as the sheet has them, with their ± in place of how they were measured; one that the file did not have
    is exact.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball, bar = Ball(1.5, 0.42, 8.0, 36.4, Recess(1.3)), LockBar(17.0, rate=10.3)
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12), doubts={"bar.rate": 0.5})
    >>> [line["text"] for line in file_lines(knife, ["bar.rate"]) if line.get("path")]
    ['rate = "{} ± 0.5 N/mm"']
    """
    lines = list(knife_lines(replace(knife, said={})))
    written = {line.path for line in lines if not line.assumed}
    slots = {path: entry(path, with_doubt(SLOT, knife.doubts.get(path), spec(path)["unit"])) for path in paths}
    told = []
    for line in lines:
        if line.assumed:
            told.append({"text": line.text} | ({"assumed": line.path} if line.path else {"list": True}))
        elif line.path in slots:
            told.append({"text": slots[line.path], "path": line.path})
        else:
            told.append({"text": line.text})
            more = [path for path in paths if path not in written and place_of(path).owner == line.table]
            told += [{"text": slots[path], "path": path, "extra": path} for path in more]
    return told


def _json(data):
    """JSON that cannot end the script element that it stands in."""
    written = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return written.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def settings(knife: Knife, movers: list, two: bool) -> list:
    """A list of {"values": {path: number}, "second": whether ball 2 is in} with what the library says to each.

    Where the knife can work: "angles" of the torques and "numbers", in N, mJ, mm, N·mm and degrees, to 13 digits (far
    more than the page compares) and in the order of `numbersOf` in livesheet_check.js. Where it cannot, or a ball runs
    off the tang before the flat: "refused", the paths of the numbers at fault. knife: with two balls. two: whether it
    has the second one at the start. Each number alone at both ends of its slider, some that cannot work, and mixtures
    of all.
    """
    wanted = [({}, two), ({}, not two)]
    wanted += [({each.path: end}, True) for each in movers for end in (each.lo, each.hi) if end != each.value]
    wanted += [
        (values, True)
        for values in (
            {"friction.rim": 1.5},
            {"bar.riding_force": 0.02 * knife.bar.riding_force},
            {"balls[0].protrusion": -0.1},
        )
    ]
    for k in range(1, _MIXED + 1):
        # multiples of the golden section fill the range evenly; the nearer half keeps most mixtures possible
        shares = [k * _GOLDEN * (i + 1) % 1 for i in range(len(movers))]
        mixed = {
            each.path: each.value + 0.5 * (each.lo + share * (each.hi - each.lo) - each.value)
            for each, share in zip(movers, shares, strict=True)
        }
        wanted.append(({path: round(value, 6) for path, value in mixed.items()}, k % 3 > 0))
    return [{"values": values, "second": second} | _told(knife, values, second) for values, second in wanted]


def changed(knife: Knife, values: dict, second: bool) -> Knife:
    """The knife with these numbers; without its second ball those of ball 2 count for nothing."""
    if second:
        return knife.replace(values)
    return with_one_ball(knife).replace({path: value for path, value in values.items() if place_of(path).index == 0})


def _told(knife, values, second):
    """What the library says to one setting."""
    try:
        knife = changed(knife, values, second)
        detent = limits.working(knife)
        found = felt(detent, knife)
    except KnifeError as error:
        return {"refused": [problem.where for problem in error.problems]}
    early = [f"balls[{i}].track_radius" for i, ball in enumerate(knife.balls) if notes.runs_off_early(ball, found)]
    if early:  # the sheet has no slider for the run-off angle, and does not compute the edge of the tang
        return {"refused": early}
    angles = [round(share * found.break_out_deg, 6) for share in _SHARES]
    opening, closing = (detent.state(np.radians(angles), sense) for sense in (1, -1))
    numbers = [number for name in FELT for number in np.atleast_1d(getattr(found, name)).tolist()]
    for k in range(len(angles)):
        numbers += [opening.torque[k], closing.torque[k], opening.gap[k]]
    numbers.append(len(found.handovers))
    for over in found.handovers:
        numbers += [over.start_deg, over.end_deg, over.from_ball, over.to_ball, over.torque_before, over.torque_after]
    return {"angles": angles, "numbers": [None if value is None else float(f"{value:.13g}") for value in numbers]}


def javascript(ids: Iterable[str]) -> str:
    """One object F whose functions are the formulas of these IDs: F.B4({gap, parallel_gap, hinge_distance}).

    Inputs are named as in `formulas`; a formula with several results gives an object of them. Printed from the same
    sympy expressions that the library evaluates. Raises KeyError for an unknown ID, TypeError for a formula that has
    no plain form (an elliptic integral).

    >>> print(javascript(["B4"]))
    const F = {
    // bar angle that a ball demands
    B4({gap, parallel_gap, hinge_distance}) {
    return (gap - parallel_gap)/hinge_distance;
    },
    };
    """
    return "\n".join(["const F = {", *(_function(formulas[id]) for id in ids), "};"])


def _function(formula):
    """One formula as a method, what its parts have in common computed once."""
    import sympy as sp

    if not formula.id.isidentifier():
        raise TypeError(f"{formula.id} is no name of a function")
    # the typeset letters are no names; the assumptions about them stay, or roots would come apart again
    named = {letter: sp.Symbol(name, **letter.assumptions0) for name, letter in formula.letters._asdict().items()}
    found = formula.expression
    several = isinstance(found, dict)
    shared, results = sp.cse(
        [expr.xreplace(named) for expr in (found.values() if several else [found])], symbols=sp.numbered_symbols("part")
    )
    lines = [f"const {symbol} = {_code(expr, formula)};" for symbol, expr in shared]
    codes = [_code(expr, formula) for expr in results]
    value = (
        f"{{{', '.join(f'{name}: {code}' for name, code in zip(found, codes, strict=True))}}}" if several else codes[0]
    )
    return "\n".join(
        [f"// {formula.title}", f"{formula.id}({{{', '.join(formula.symbols)}}}) {{", *lines, f"return {value};", "},"]
    )


def _code(expr, formula):
    import sympy as sp

    try:
        return sp.jscode(expr)
    except NotImplementedError as error:
        raise TypeError(f"{formula.id} ({formula.title}) has no plain form in JavaScript") from error
