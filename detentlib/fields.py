"""Fields to a Knife: what a knife file and a form have in common, with every problem named at once.

A field is a path such as "balls[0].recess.diameter" with a number or a text ("1.10 ± 0.01 mm"). What a knife
cannot do without and nobody gave is filled from the bar's material or with what is usual (the `typical` of
parts.py, its range as ±), and listed in `knife.assumed`. What was read another way (instead.py) is turned into
the number that it stands for.
"""

import difflib
import re
from dataclasses import MISSING, fields, replace

from .instead import PLAY, READ, STANDS_FOR, converted, mixtures, other_way
from .materials import MATERIALS
from .parts import Ball, Blade, Friction, Knife, KnifeError, LockBar, Problem, Recess, field_problem, spec
from .units import UnitError, quantity

TABLES = {"bar": LockBar, "second_bar": LockBar, "blade": Blade, "friction": Friction}
# assumed when left out: no real knife is exact in them
ALWAYS = ("rest_offset", "off_track", "pivot_torque", "pivot_play")
_ROOTS = ("root_up", "root_side")  # assumed of a drawn bar
SIZES = tuple(name for name in LockBar.DRAWN if name != "youngs_modulus")
_STAND_IN = Recess(1.0)  # lets a ball be judged by itself while its recess is not sound
_STAND_IN_FORCE = 1.0  # lets a bar be judged by itself before its preset is turned into its force


def knife_from_fields(given, title):
    """The Knife that a form describes: {"balls[0].diameter": "1/16 in", "bar.riding_force": 17.04, ...}.

    Empty boxes count as left out. Raises KnifeError; each problem's `where` is the path of its box.

    >>> card = {"balls[0].diameter": "1/16 in", "balls[0].protrusion": "0.42 ± 0.01 mm", "balls[0].recess.diameter": 1.3208}
    >>> knife = knife_from_fields(card, "mine")
    >>> knife.balls[0].diameter, knife.doubts["balls[0].protrusion"], knife.assumed[:2]
    (1.5875, 0.01, ('balls[0].track_radius', 'balls[0].hinge_distance'))
    """
    given = {path: value for path, value in given.items() if value is not None and str(value).strip()}
    indexes = [int(match[1]) for match in (re.match(r"balls\[(\d{1,3})\]", path) for path in given) if match]
    second = any(path.startswith("second_bar.") for path in given)
    knife, found = build_knife(given, title, max(indexes, default=-1) + 1, second)
    if found:
        raise KnifeError(found, title)
    return knife


def build_knife(given, title, ball_count, second_bar, assumed=(), known_together=None):
    """Knife and the problems found; the Knife is None where there are any.

    given: {path: value}; assumed: paths already known to be assumed; known_together: as of Knife. Problems between the numbers of a part are
    looked for once each of them is sound, and those of the mechanics once all parts are.
    """
    owners = {f"balls[{i}]{sub}": kind for i in range(ball_count) for sub, kind in (("", Ball), (".recess", Recess))}
    owners |= {name: kind for name, kind in TABLES.items() if second_bar or name != "second_bar"}
    draft = _Draft(given, owners)
    draft.fill()
    draft.found += [_not_listed(path) for path in assumed if not draft.holds(path)]
    parts = {name: draft.part(name) for name in owners if name in TABLES}
    balls = [draft.ball(f"balls[{i}]") for i in range(ball_count)]
    if not balls:
        draft.found.append(Problem("balls", "", "there is no ball", "A detent is a ball in a recess.", "Give at least one ball with its recess."))
    if draft.found:
        return None, draft.problems()
    every = (*assumed, *(path for path in draft.assumed if path not in assumed))
    try:
        knife = converted(Knife(title, balls, doubts=draft.doubts, assumed=every, **parts), *draft.instead)
        knife = replace(knife, known_together=known_together or {})
        _check_mechanics(knife)
    except KnifeError as error:
        draft.found += error.problems
        return None, draft.problems()
    return knife, []


class _Draft:
    """A knife in the making: its numbers, their ±, what was assumed, and what is wrong."""

    def __init__(self, given, owners):
        self.given, self.owners = given, owners
        self.known = {f"{owner}.{each.name}": each for owner, kind in owners.items() for each in fields(kind) if each.name != "recess"}
        self.known |= {other_way(path): READ[read] for read, stands in STANDS_FOR.items() for path in self.known if path.endswith(f".{stands}")}
        self.values, self.doubts, self.assumed, self.found = {}, {}, [], []
        for path, raw in given.items():
            if path in self.known:
                self._read(path, raw)
            else:
                self.found.append(self._unknown(path))
        self.found += mixtures(self.values, self.doubts)
        read = [path for path in self.values if path.rpartition(".")[2] in STANDS_FOR]
        self.instead = {path: self.values.pop(path) for path in read}, {path: self.doubts.pop(path) for path in read if path in self.doubts}

    def _read(self, path, raw):
        each = self.known[path]
        value, doubt = raw, None
        try:
            if "unit" in each.metadata:
                value, doubt = quantity(raw, each.metadata["unit"])
            elif isinstance(raw, str):
                value = int(raw) if raw.strip() in ("0", "1") else raw.strip()
        except UnitError as error:
            shown = f'"{raw}"' if isinstance(raw, str) else str(error.given)
            cure = (_likelier(error.readings, each) if len(error.readings) > 1 else "") or error.cure
            self.found.append(Problem(path, shown, error.wrong, f"It is the {each.metadata['meaning']}.", cure))
            return
        problem = field_problem(each, value)
        if problem:
            self.found.append(problem._replace(where=path))
            return
        self.values[path] = value
        if doubt is not None:
            self.doubts[path] = doubt

    def fill(self):
        """Assume what a knife cannot do without, or report it missing where nothing usual can stand in."""
        for owner, kind in self.owners.items():
            if kind is Recess and not any(path.startswith(f"{owner}.") for path in self.given):
                ball = {each.name: each for each in fields(Ball)}
                self.found.append(field_problem(ball["recess"], None)._replace(where=f"{owner}.diameter"))
                continue
            if kind is LockBar:
                self._fill_stiffness(owner)
            for each in fields(kind):
                path = f"{owner}.{each.name}"
                if path not in self.known or path in self.given or not (each.default is MISSING or each.name in ALWAYS):
                    continue
                if other_way(path) in self.given or (path == PLAY and any(read.endswith(".rim_gap") for read in self.given)):
                    if each.default is MISSING:
                        self.values[path] = _STAND_IN_FORCE
                elif each.metadata["typical"]:
                    self._assume(path)
                else:
                    self.found.append(Problem(path, "", "is missing", f"It is the {each.metadata['meaning']}.", "Measure it; nothing usual can replace it."))

    def _fill_stiffness(self, bar):
        """Moduli from the material; then a usual rate, or the drawn sizes that are missing among given ones."""
        material = MATERIALS.get(self.values.get(f"{bar}.material"))
        for name in ("youngs_modulus", "shear_modulus", "yield_stress"):
            path = f"{bar}.{name}"
            if material and path not in self.given:
                self.values[path] = getattr(material, name)
                self.assumed.append(path)
                if name.endswith("modulus"):
                    self.doubts[path] = self.values[path] * material.doubt / 100
        given = [f"{bar}.{name}" in self.given for name in SIZES]
        has_modulus = any(f"{bar}.{name}" in self.given for name in ("material", "youngs_modulus"))
        measured = f"{bar}.rate" in self.given
        drawn = all((*given, has_modulus)) if measured else any(given)
        if drawn:
            self._assume_once(f"{bar}.root_up")
        if f"{bar}.side_compliance" not in self.given:
            self._assume_once(f"{bar}.root_side" if drawn else f"{bar}.side_compliance")
        if measured:
            return
        if not drawn:
            self._assume(f"{bar}.rate")
            return
        for name in SIZES:
            self._assume_once(f"{bar}.{name}")
        if not has_modulus:
            self.found.append(
                Problem(
                    f"{bar}.material",
                    "",
                    "is missing",
                    "Drawn sizes give the stiffness of the bar only together with its material.",
                    f"Give one of {', '.join(MATERIALS)}; or youngs_modulus in MPa; or a measured rate.",
                )
            )

    def _assume_once(self, path):
        if path not in self.given:
            self._assume(path)

    def _assume(self, path):
        self.values[path], self.doubts[path] = self.known[path].metadata["typical"]
        self.assumed.append(path)

    def part(self, owner, **more):
        """The part at `owner`, or None where it is not sound; what is wrong between its fields is added."""
        if any(problem.where.rpartition(".")[0] == owner for problem in self.found):
            return None
        names = (each.name for each in fields(self.owners[owner]))
        try:
            return self.owners[owner](**{name: self.values[f"{owner}.{name}"] for name in names if f"{owner}.{name}" in self.values}, **more)
        except KnifeError as error:
            self.found += [problem.inside(owner) for problem in error.problems]
            return None

    def ball(self, owner):
        """The ball at `owner` with its recess, or None."""
        recess = self.part(f"{owner}.recess")
        ball = self.part(owner, recess=recess or _STAND_IN)
        return ball if recess else None

    def holds(self, path):
        """True where the knife has a number at this path, or was meant to."""
        return path in self.values or path in self.given or (path in self.known and self.known[path].default not in (None, MISSING))

    def problems(self):
        """What is wrong; where a number was assumed, it is said, as nobody will find it on their card."""
        said = " (assumed, as it was left out)"
        return [problem._replace(value=f"{problem.value}{said}") if problem.where in self.assumed else problem for problem in self.found]

    def _unknown(self, path):
        owner, _, name = path.rpartition(".")
        here = [known.rpartition(".")[2] for known in self.known if known.rpartition(".")[0] == owner] or [
            "ball",
            *TABLES,
            "title",
            "assumed",
            "known_together",
        ]
        if owner.endswith("]"):
            here.append("recess")
        near = difflib.get_close_matches(name, here, 1, 0.6)
        homes = [table_name(known.rpartition(".")[0]) for known in self.known if known.rpartition(".")[2] == name]
        if homes:
            cure = f"It belongs in {homes[0]}."
        elif near:
            cure = f"Did you mean {near[0]}?"
        else:
            cure = f"Known here: {', '.join(here)}."
        return Problem(path, "", "there is no such field", "", cure)


def fields_said(knife, owner, part):
    """(field, value) of each number of a part that a file or a form has to hold, so that reading them gives the part again.

    Left out are numbers at their default, unless a reader would assume another one.
    """
    is_drawn = isinstance(part, LockBar) and any(getattr(part, name) is not None for name in SIZES)
    for each in fields(part):
        value = getattr(part, each.name)
        if value is None or each.name == "recess":
            continue
        else_assumed = each.name in ALWAYS or (is_drawn and each.name in _ROOTS)
        if value != each.default or else_assumed or f"{owner}.{each.name}" in knife.doubts:
            yield each, value


def data_of(path):
    """Meaning, unit, rule and usual value of a field of files and forms, also of what is read another way.

    >>> data_of("balls[0].recess.rim_gap")["unit"], data_of("bar.riding_force")["unit"]
    ('mm', 'N')
    """
    read = READ.get(path.rpartition(".")[2])
    return spec(path) if read is None else read.metadata


def _likelier(readings, each):
    """What to write where one reading only of an unclear text can be a number of this field; else empty."""
    fit = [reading for reading in readings if not field_problem(each, quantity(reading, each.metadata["unit"]).value)]
    return f'Write "{fit[0]}".' if len(fit) == 1 else ""


def table_name(owner):
    """The table of a knife file that holds the fields of a part: "balls[0]" is [[ball]]."""
    if owner.endswith("recess"):
        return "[ball.recess]"
    return "[[ball]]" if owner.startswith("balls") else f"[{owner}]"


def _not_listed(path):
    return Problem("assumed", str(path), "lists what is no field of this knife", "", "Take it off the list.")


def _check_mechanics(knife):
    """What only the mechanics can see; loaded here, as everything else works without it."""
    from .mechanics.limits import check

    check(knife)
