"""Fields to a Knife: what a knife file and a form have in common, with every problem named at once.

A field is a path such as "balls[0].recess.diameter" with a number or a text: "1.10 ± 0.01 mm", "0.42 within 0.02 mm",
"0.420 mm, depth micrometer", "14 mm, exactly". A ± given by hand goes first, else it follows from how the number was
measured (instruments.py). A number with neither is never exact: it counts as a guess, and is listed in `knife.assumed`.

What a knife cannot do without and nobody gave is filled from the bar's material or with what is usual (the `typical` of
parts.py, its range as ±), and listed in `knife.assumed` as well. What was read another way (instead.py) is turned into
the number that it stands for. What somebody wrote stands in `knife.said`, word for word: for writing it again, never
for reckoning. Where ball 2 leaves a distance out it is that of ball 1; where it says how much lower than ball 1 it
stands, so is everything else that it leaves out. What is taken over errs together with the number of ball 1, and so do
the two thicknesses of a plain bar, given alike. A Knife made in Python is a programmer's: what has no ± there is exact,
and is written "..., exactly".
"""

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import MISSING, fields
from typing import Any

from ..knife.checks import shortened, unit_problem
from ..knife.materials import MATERIALS
from ..knife.parts import FIELDS, Ball, Blade, Friction, Knife, KnifeError, LockBar, Problem, Recess, field_problem
from ..knife.paths import BALL, BAR, RECESS, Place, field_of, place_of
from ..knife.plain import visible
from ..knife.units import UnitError, quantity, sign
from .instead import FURTHER, LOWER, PLAY, READ, RIM_GAP, SMALLER, converted, mixtures, other_way, read_instead
from .instruments import EXACTLY, GUESS, Said, doubt_by, read_said
from .pulled import PULLED

TABLES = {"bar": LockBar, "second_bar": LockBar, "blade": Blade, "friction": Friction}
# assumed when left out: no real knife is exact in them
ALWAYS = ("rest_offset", "off_track", "pivot_torque", "pivot_play")
DISTANCES = ("track_radius", "hinge_distance")  # of ball 2 as of ball 1 where left out
# never as of ball 1
_OWN = ("ball.protrusion", "ball.bearing_deg", "ball.run_off_deg", "ball.bar", LOWER, FURTHER, SMALLER)
_ROOTS = ("root_up", "root_side")  # assumed of a drawn bar
SIZES = tuple(name for name in LockBar.DRAWN if name != "youngs_modulus")
_STAND_IN = Recess(1.0)  # lets a ball be judged by itself while its recess is not sound
# let a part be judged by itself before what was read instead is turned into its number
_STAND_IN_FORCE, _STAND_IN_HEIGHT = 1.0, 0.1


def as_of_ball_1(path: str) -> str | None:
    """The path of the same number of ball 1, None for what is no number of another ball.

    >>> as_of_ball_1("balls[1].recess.diameter"), as_of_ball_1("balls[0].diameter")
    ('balls[0].recess.diameter', None)
    """
    place = place_of(path)
    return place._replace(index=0).beside(place.name) if place and place.ball else None


def _taken_over(given: dict) -> dict:
    """{path: what is given of ball 1} for what a ball leaves out that says how much lower than ball 1 it stands."""
    places = [place_of(path) for path in given]
    lower = [place.index for place in places if place and place.field == LOWER and place.index]
    first = [place for place in places if place and place.ball == 0 and place.field not in _OWN]
    found = {
        place._replace(index=i).beside(place.name): given[place.beside(place.name)] for i in lower for place in first
    }
    return {path: raw for path, raw in found.items() if path not in given and other_way(path) not in given}


def knife_from_fields(given: Mapping[str, object], title: str) -> Knife:
    """The Knife that a form describes: {"balls[0].diameter": "1/16 in", "bar.riding_force": 17.04, ...}.

    Empty boxes count as left out. Raises KnifeError; each problem's `where` is the path of its box.

    >>> card = {"balls[0].diameter": "1/16 in, stock size", "balls[0].protrusion": "0.42 ± 0.01 mm"}
    >>> card["balls[0].recess.diameter"] = 1.3208
    >>> knife = knife_from_fields(card, "mine")
    >>> knife.balls[0].diameter, knife.doubts["balls[0].diameter"], knife.doubts["balls[0].protrusion"]
    (1.5875, Within(0.009), 0.01)
    >>> knife.doubts["balls[0].recess.diameter"], knife.assumed[:3]        # nobody said how the recess was measured
    (0.12, ('balls[0].track_radius', 'balls[0].hinge_distance', 'balls[0].recess.diameter'))
    """
    given = {path: value for path, value in given.items() if value is not None and str(value).strip()}
    knife, problems = build_knife(given, title, *counted(given))
    if problems:
        raise KnifeError(problems, title)
    return knife


def counted(paths: Iterable[str]) -> tuple[int, bool]:
    """How many balls numbers at these paths ask for, and whether they ask for a second leaf."""
    places = [place for place in map(place_of, paths) if place]
    balls = [place.ball for place in places if place.ball is not None]
    return max(balls, default=-1) + 1, any(place.kind == BAR and place.index for place in places)


def build_knife(
    given: Mapping[str, object],
    title: str,
    ball_count: int,
    second_bar: bool,
    assumed: Sequence[str] = (),
    known_together: dict | None = None,
) -> tuple[Knife | None, list[Problem]]:
    """Knife and the problems found; the Knife is None where there are any.

    given: {path: value}; assumed: paths already known to be assumed; known_together: as of Knife. Problems between the
    numbers of a part are looked for once each of them is sound, and those of the mechanics once all parts are.
    """
    owners = {f"balls[{i}]{sub}": kind for i in range(ball_count) for sub, kind in (("", Ball), (".recess", Recess))}
    owners |= {name: kind for name, kind in TABLES.items() if second_bar or name != "second_bar"}
    draft = _Draft(given, owners)
    draft.fill()
    draft.found += [_not_listed(path) for path in assumed if not draft.holds(path)]
    parts = {name: draft.part(name) for name in owners if name in TABLES}
    balls = [draft.ball(f"balls[{i}]") for i in range(ball_count)]
    if not balls:
        draft.found.append(
            Problem(
                "balls",
                "",
                "there is no ball",
                "A detent is a ball in a recess.",
                "Give at least one ball with its recess.",
            )
        )
    if draft.found:
        return None, draft.problems()
    told = {path: each for path, each in draft.said.items() if path not in assumed}
    guessed = [path for path, each in told.items() if each.word == GUESS]
    guessed = [other_way(path) if path in draft.instead[0] else path for path in guessed]
    try:
        knife = Knife(
            title, balls, doubts=draft.doubts, assumed=(*assumed, *draft.assumed, *guessed), said=told, **parts
        )
        knife = converted(knife, *draft.instead, draft.alike(known_together or {}))
        _check_mechanics(knife)
    except KnifeError as error:
        draft.found += error.problems
        return None, draft.problems()
    return knife, []


class _Draft:
    """A knife in the making: its numbers, their ±, what was assumed, and what is wrong."""

    def __init__(self, given, owners):
        self.taken = _taken_over(given)
        self.given, self.owners = given | self.taken, owners
        self.twins = {path: as_of_ball_1(path) for path in self.taken if not read_instead(path)}
        self.known = {
            f"{owner}.{each.name}": each
            for owner, kind in owners.items()
            for each in fields(kind)
            if each.name != "recess"
        }
        self.known |= {path: READ[field_of(path)] for path in map(other_way, self.known) if path}
        self.places = {path: place_of(path) for path in self.given}
        self.values, self.doubts, self.said, self.assumed, self.found = {}, {}, {}, [], []
        for path, raw in self.given.items():
            if path in self.known:
                self._read(path, raw)
            else:
                self.found.append(self._unknown(path))
        guessed = {path for path, each in self.said.items() if each.word == GUESS}
        self.found += mixtures(self.values, {path: doubt for path, doubt in self.doubts.items() if path not in guessed})
        read = [path for path in self.values if read_instead(path)]
        self.instead = (
            {path: self.values.pop(path) for path in read},
            {path: self.doubts.pop(path) for path in read if path in self.doubts},
        )

    def _read(self, path, raw):
        each = self.known[path]
        value, doubt = raw, None
        try:
            if "unit" in each.metadata:
                value, doubt, self.said[path] = read_number(path, raw, each.metadata)
            elif isinstance(raw, str):
                value = int(raw) if raw.strip() in ("0", "1") else raw.strip()
        except UnitError as error:
            cure = (_likelier(error.readings, each) if len(error.readings) > 1 else "") or error.cure
            text, word = read_said(raw) if isinstance(raw, str) else ("", "")
            wrong = f"{error.given!r} {error.wrong}" if word and error.given == word else error.wrong
            quoted = text if text and error.given == text else raw  # a form adds how it was measured to what was typed
            shown = f'"{shortened(quoted)}"' if isinstance(raw, str) else shortened(str(error.given))
            why = f"It is the {each.metadata['meaning']}."
            self.found.append(Problem(path, visible(shown), visible(wrong), why, visible(cure)))
            return
        problem = field_problem(each, value)
        if problem:
            written = path in self.said and unit_problem(path, self.said[path].text, value, each.metadata)
            self.found.append(written or problem._replace(where=path))
            return
        self.values[path] = value
        if doubt is not None:
            self.doubts[path] = doubt

    def fill(self):
        """Assume what a knife cannot do without, or report it missing where nothing usual can stand in."""
        for owner, kind in self.owners.items():
            if kind is Recess and not any(place and place.owner == owner for place in self.places.values()):
                ball = {each.name: each for each in fields(Ball)}
                self.found.append(field_problem(ball["recess"], None)._replace(where=f"{owner}.diameter"))
                continue
            if kind is LockBar:
                self._fill_stiffness(owner)
            for each in fields(kind):
                path = f"{owner}.{each.name}"
                if path not in self.known or path in self.given or not (each.default is MISSING or each.name in ALWAYS):
                    continue
                if other_way(path) in self.given or (
                    path == PLAY and any(field_of(read) == RIM_GAP for read in self.given)
                ):
                    if each.default is MISSING:
                        self.values[path] = (
                            _STAND_IN_FORCE
                            if kind is LockBar
                            else self.values.get(as_of_ball_1(path), _STAND_IN_HEIGHT)
                        )
                elif as_of_ball_1(path) in self.values and (each.name in DISTANCES or self._stands_lower(path)):
                    self._as_ball_1(path)
                elif each.metadata["typical"]:
                    self._assume(path)
                else:
                    self.found.append(
                        Problem(
                            path,
                            "",
                            "is missing",
                            f"It is the {each.metadata['meaning']}.",
                            "Measure it; nothing usual can replace it.",
                        )
                    )

    def _fill_stiffness(self, bar):
        """Moduli from the material; then a usual rate, or the drawn sizes that are missing among given ones."""
        material = MATERIALS.get(self.values.get(f"{bar}.material"))
        for name in ("youngs_modulus", "shear_modulus", "yield_stress"):
            path = f"{bar}.{name}"
            if material and path not in self.given:
                self.values[path] = getattr(material, name)
                self.assumed.append(path)
                self.doubts[path] = doubt_by("data sheet", path, self.values[path], self.known[path].metadata)
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

    def _stands_lower(self, path):
        """Whether the ball of a path says how much lower than ball 1 it stands."""
        return any(
            place and place.field == LOWER and place.index == place_of(path).index for place in self.places.values()
        )

    def _as_ball_1(self, path):
        """Assume a number of another ball to be that of ball 1."""
        first = as_of_ball_1(path)
        self.values[path], self.twins[path] = self.values[first], first
        self.assumed.append(path)
        if first in self.doubts:
            self.doubts[path] = self.doubts[first]

    def alike(self, known_together):
        """Correlations: those that were given, and 1 for what was measured once: a number that was taken over from
        ball 1, the one thickness of a plain bar.
        """
        once = [(first, path) for path, first in self.twins.items() if self.doubts.get(path)]
        once += [pair for owner, kind in self.owners.items() if kind is LockBar for pair in self._plain(owner)]
        given = {frozenset(pair) for pair in known_together}
        return {pair: 1.0 for pair in once if frozenset(pair) not in given} | known_together

    def _plain(self, bar):
        """The pair of thicknesses of a bar whose relief is as thick as itself; none where it is stepped.

        Drawn apart, half of such bars would have a relief thicker than the bar, which cannot be.
        """
        pair = f"{bar}.relief_thickness", f"{bar}.thickness"
        (value, doubt), other = ((self.values.get(path), self.doubts.get(path)) for path in pair)
        return [pair] if doubt and (value, doubt) == other else []

    def part(self, owner, **more):
        """The part at `owner`, or None where it is not sound; what is wrong between its fields is added."""
        if any(place and place.owner == owner for place in (place_of(problem.where) for problem in self.found)):
            return None
        names = (each.name for each in fields(self.owners[owner]))
        try:
            return self.owners[owner](
                **{name: self.values[f"{owner}.{name}"] for name in names if f"{owner}.{name}" in self.values}, **more
            )
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
        return (
            path in self.values
            or path in self.given
            or (path in self.known and self.known[path].default not in (None, MISSING))
        )

    def problems(self):
        """What is wrong; of an assumed number that it is, as nobody will find it on their card; one of ball 1, once."""
        wrong = {problem.where for problem in self.found}
        found = [each for each in self.found if each.where not in self.taken or as_of_ball_1(each.where) not in wrong]
        said = " (assumed, as it was left out)"
        return [
            problem._replace(value=f"{problem.value}{said}")
            if problem.where in self.assumed
            else self._as_read(problem)
            for problem in found
        ]

    def _as_read(self, problem):
        """The Problem, at what was read another way where its number comes from that."""
        read = other_way(problem.where)
        if read not in self.given or problem.where in self.given:
            return problem
        meaning = self.known[problem.where].metadata["meaning"]
        value = f"{self.given[read]}, so that the {meaning} is {problem.value}"
        return problem._replace(where=read, value=value)

    def _unknown(self, path):
        place, known = self.places[path], [place_of(each) for each in self.known]
        owner, name = (place.owner, place.name) if place else ("", path)
        here = [each.name for each in known if each.owner == owner] or [
            "ball",
            *TABLES,
            "title",
            "assumed",
            "known_together",
        ]
        if place and place.kind == BALL:
            here.append("recess")
        near = difflib.get_close_matches(name, here, 1, 0.6)
        homes = [table_name(each) for each in known if each.name == name]
        if homes:
            cure = f"It belongs in {homes[0]}."
        elif near:
            cure = f"Did you mean {near[0]}?"
        else:
            cure = f"Known here: {', '.join(here)}."
        return Problem(path, "", "there is no such field", "", cure)


def read_number(path: str, raw: object, data: Mapping[str, Any]) -> tuple[float, float | None, Said]:
    """(value, ± or None where it is exact, Said) of a number of a file or form; see the module for what counts as its
    ±.

    raw: a number or text; data: the metadata of the field. Raises UnitError.

    >>> read_number("blade.tab_arm", "0.55 in, calipers", data_of("blade.tab_arm"))
    (13.97, 0.6, Said(text='0.55 in', word='calipers'))
    >>> read_number("blade.tab_arm", 14, data_of("blade.tab_arm"))
    (14.0, 1.2, Said(text='14', word='guess'))
    """
    text, word = read_said(raw) if isinstance(raw, str) else (raw, "")
    value, doubt = quantity(text, data["unit"])
    if word == EXACTLY:
        if doubt is not None:
            raise UnitError(raw, "has a ± and is said to be exact", "Keep one of the two.")
        return value, None, Said(text, EXACTLY)
    word = word or (GUESS if doubt is None else "")
    by_word = doubt_by(word, path, value, data) if word else None
    return value, by_word if doubt is None else doubt, Said(f"{text}", word)


def texts_of(knife: Knife) -> dict[str, str | int]:
    """{path: text, or index of a bar} of all that a file or form has to hold so that reading it gives the knife again.

    A number stands as somebody wrote it, also one read another way, where the knife still says the same. Left out are
    numbers at their default, unless a reader would assume another one.
    """
    texts = {}
    for owner, part in _parts(knife).items():
        is_drawn = isinstance(part, LockBar) and any(getattr(part, name) is not None for name in SIZES)
        for each in fields(part):
            path, value = f"{owner}.{each.name}", getattr(part, each.name)
            if value is None or each.name == "recess":
                continue
            else_assumed = each.name in ALWAYS or (is_drawn and each.name in _ROOTS)
            if value != each.default or else_assumed or path in knife.doubts:
                texts[path] = _text(knife, path, value, each.metadata) if "unit" in each.metadata else value
    return _read_another_way(knife, texts) or texts


def listed(knife: Knife, texts: Mapping[str, str | int]) -> list[str]:
    """The assumed numbers that a file has to list, since its `texts` do not say of them that they are a guess."""
    guesses = {
        path for path, written in knife.said.items() if written.word == GUESS and texts.get(path) == str(written)
    }
    return [path for path in knife.assumed if path not in guesses and other_way(path) not in texts]


def _parts(knife):
    balls = {
        f"balls[{i}]{sub}": part
        for i, ball in enumerate(knife.balls)
        for sub, part in (("", ball), (".recess", ball.recess))
    }
    return {name: getattr(knife, name) for name in TABLES if getattr(knife, name)} | balls


def _text(knife, path, value, data):
    """A number as somebody wrote it, or in the unit of its field where the knife says something else by now."""
    doubt, written = knife.doubts.get(path), knife.said.get(path)
    if written and _holds(knife, path, written, data):
        return str(written)
    return with_doubt(f"{value}", doubt, data["unit"])


def with_doubt(number: str, doubt: float | None, unit: str) -> str:
    """A number in the unit of its field as a file holds it, with its ± or, where it has none, as exact.

    >>> with_doubt("17.04", 0.8, "N"), with_doubt("0.12", None, "")
    ('17.04 ± 0.8 N', '0.12, exactly')
    """
    words = [number, unit] if doubt is None else [number, sign(doubt), f"{float(doubt)}", unit]
    return str(Said(" ".join(filter(None, words)), EXACTLY if doubt is None else ""))


def _holds(knife, path, written, data):
    try:
        again = read_number(path, str(written), data)[:2]
    except UnitError:
        return False
    return again == (knife.get(path), knife.doubts.get(path)) and (written.word == GUESS) == (path in knife.assumed)


def _read_another_way(knife, texts):
    """The texts with what was read another way in its place, None where nothing was or where the knife says
    something else by now.
    """
    read = {other_way(path): f"{each}" for path, each in knife.said.items() if read_instead(path)}
    if not read:
        return None
    seen = any(field_of(other_way(path)) == RIM_GAP for path in read)
    found = {
        other_way(path) if path in read else path: read.get(path, text)
        for path, text in texts.items()
        if not (seen and path == PLAY)
    }
    parts = len(knife.balls), knife.second_bar is not None
    again, _ = build_knife(found, knife.title, *parts, listed(knife, found), told_together(knife, found))
    return found if again == knife else None


def told_together(knife: Knife, texts: Mapping[str, str | int]) -> dict[tuple[str, str], float]:
    """The correlations of a knife that do not follow from a number read another way: those that its file has to hold.

    texts: as of `texts_of`.
    """
    follows = {other_way(path) for path in texts if read_instead(path)}
    return {pair: r for pair, r in knife.known_together.items() if follows.isdisjoint(pair)}


def data_of(path: str) -> Mapping[str, Any]:
    """Meaning, unit, rule and usual value of a field of files and forms, also of what is read another way.

    >>> data_of("balls[0].recess.rim_gap")["unit"], data_of("bar.riding_force")["unit"]
    ('mm', 'N')
    """
    field = field_of(path)
    return (READ.get(field) or PULLED.get(field) or FIELDS[field]).metadata


def _likelier(readings, each):
    """What to write where one reading only of an unclear text can be a number of this field; else empty."""
    fit = [reading for reading in readings if not field_problem(each, quantity(reading, each.metadata["unit"]).value)]
    return f'Write "{fit[0]}".' if len(fit) == 1 else ""


def table_name(place: Place) -> str:
    """The head of the table of a knife file that holds a field: [[ball]] for one of any ball."""
    return {BALL: "[[ball]]", RECESS: "[ball.recess]"}.get(place.kind, f"[{place.owner}]")


def _not_listed(path):
    return Problem("assumed", str(path), "lists what is no field of this knife", "", "Take it off the list.")


def _check_mechanics(knife):
    """What only the mechanics can see; loaded here, as everything else works without it."""
    from ..mechanics.limits import check

    check(knife)
