"""The parts of a detent as plain, frozen, checked records: Ball, Recess, LockBar, Blade, Friction, Knife.

All numbers are in mm, N, N·mm, N/mm, MPa, g, g·mm² and degrees; frames and signs: figures/signs.svg.
Each field carries its meaning, unit and rule in its metadata (see `spec`), so that files, forms and
messages are written from one table.
"""

import copy
import difflib
import math
import re
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from typing import NamedTuple

from .materials import MATERIALS


class Problem(NamedTuple):
    """One thing that is wrong: where, the value with its unit, what is wrong, why at the bench, what would be right."""

    where: str
    value: str
    wrong: str
    why: str
    cure: str

    def __str__(self):
        """One line for a person."""
        value = f" = {self.value}" if self.value else ""
        return " ".join(part for part in (f"{self.where}{value}: {self.wrong}.", self.why, self.cure) if part)

    def inside(self, owner):
        """The same problem with the owner's path in front."""
        return self._replace(where=f"{owner}.{self.where}" if owner else self.where)


class KnifeError(ValueError):
    """A knife that cannot be, or cannot work; `problems` lists every reason found, not only the first."""

    def __init__(self, problems, title=""):
        """Take one Problem or many; title says which knife or file."""
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        lead = f"{title}: " if title else ""
        super().__init__("\n".join(lead + str(problem) for problem in self.problems))


class Typical(NamedTuple):
    """What is usual where nobody has measured: a middle value and the ± that spans the usual range."""

    value: float
    doubt: float


def _number(meaning, unit, rule="positive", default=MISSING, typical=None, sane=None):
    """A number field. rule: positive, not negative, any, acute; sane: the range in which inches typed as mm show."""
    data = {"meaning": meaning, "unit": unit, "rule": rule, "typical": typical, "sane": sane}
    return field(metadata=data) if default is MISSING else field(default=default, metadata=data)


_RULES = {
    "positive": (lambda v: v > 0, "must be greater than zero"),
    "not negative": (lambda v: v >= 0, "must not be negative"),
    "any": (lambda v: True, ""),
    "acute": (lambda v: 0 < v < 90, "must lie between 0° and 90°"),
}
_OFTEN = "common practice"


def _show(value, unit):
    """The value with its unit, as a person writes it."""
    return f"{value:g}{'°' if unit == 'deg' else ' ' + unit if unit else ''}"


def _number_problem(spec, value):
    """What is wrong with one number against its field's rule, or None."""
    name, data = spec.name, spec.metadata
    unit, meaning = data["unit"], data["meaning"]
    try:
        if isinstance(value, (bool, str)):
            raise TypeError
        value = float(value)
    except (TypeError, ValueError):
        return Problem(name, repr(value), "is not a number", f"It is the {meaning}.", f"Give a number in {unit or 'plain form'}.")
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        return Problem(name, str(value), "is not a finite number", f"It is the {meaning}.", "Measure it, or leave it out if it is not known.")
    holds, said = _RULES[data["rule"]]
    if not holds(value):
        return Problem(name, _show(value, unit), said, f"It is the {meaning}.", "Check the sign and the unit.")
    if data["sane"] and abs(value) < data["sane"][0] <= abs(value) * 25.4 <= data["sane"][1]:
        return Problem(
            name,
            _show(value, unit),
            f"is too small for the {meaning}",
            f"Were these inches? {value:g} in is {value * 25.4:.4g} mm.",
            f'Write "{value:g} in", or {value * 25.4:.5g} for millimetres.',
        )
    return None


def field_problem(each, value):
    """What is wrong with the value of one field by itself, as a Problem, or None; `each` is the field of a part.

    >>> print(field_problem(fields(Blade)[0], -14))
    tab_arm = -14 mm: must be greater than zero. It is the tab arm (pivot to the place of the push). Check the sign and the unit.
    """
    if value is None and each.default is None:
        return None
    if "rule" in each.metadata:
        return _number_problem(each, value)
    return each.metadata["check"](value)


def _recess_problem(value):
    if isinstance(value, Recess):
        return None
    return Problem("recess", "", "the ball has no recess", "A detent needs a recess in the tang for the ball to sit in.", "Give its diameter.")


def _bar_problem(value):
    if isinstance(value, int) and not isinstance(value, bool) and value in (0, 1):
        return None
    return Problem("bar", repr(value), "is not a lock bar", "0 is the first bar, 1 a second leaf.", "Give 0 or 1.")


def _material_problem(value):
    if isinstance(value, str) and value in MATERIALS:
        return None
    near = difflib.get_close_matches(str(value), MATERIALS, 1, 0.3)
    return Problem(
        "material",
        repr(value),
        "is not in the table of materials",
        f"Known: {', '.join(MATERIALS)}.",
        f"Did you mean {near[0]}?" if near else "Give youngs_modulus and shear_modulus in MPa instead.",
    )


class _Part:
    """What every part does: turn its numbers to float, check them once, speak up about all that is wrong."""

    def __post_init__(self):
        found = []
        for spec in fields(self):
            value = getattr(self, spec.name)
            problem = field_problem(spec, value)
            if problem:
                found.append(problem)
            elif "rule" in spec.metadata and value is not None:
                object.__setattr__(self, spec.name, float(value))
        found = found or self._more_problems()
        if found:
            raise KnifeError(found)

    def _more_problems(self):
        """Problems between fields, once each field by itself is sound."""
        return []


@dataclass(frozen=True)
class Recess(_Part):
    """The recess in the tang that one ball sits in.

    diameter is that of the bore; with a chamfer the rim at the tang face lies chamfer_width further out, and
    diameter 0 with a chamfer is a drilled dimple. depth None means deeper than the ball ever reaches.
    rest_offset: how far the stop holds this ball short of concentric, along its track, towards the working rim.
    off_track: error across the track, + outwards.

    >>> Recess(diameter=1.3208, rest_offset=0.06).rim_radius
    0.6604
    >>> Recess(diameter=-1)
    Traceback (most recent call last):
    detentlib.parts.KnifeError: diameter = -1 mm: must not be negative. It is the diameter of the recess. Check the sign and the unit.
    """

    diameter: float = _number("diameter of the recess", "mm", "not negative", sane=(0.15, 6))
    rest_offset: float = _number("rest offset of the recess", "mm", "any", 0.0, Typical(0.075, 0.075))
    off_track: float = _number("off-track error of the recess", "mm", "any", 0.0, Typical(0.0, 0.05))
    depth: float | None = _number("depth of the recess floor", "mm", "positive", None)
    chamfer_width: float = _number("radial width of the chamfer", "mm", "not negative", 0.0)
    chamfer_deg: float = _number("angle of the chamfer from the tang face", "deg", "acute", 45.0)
    edge_radius: float = _number("radius of the rounded rim", "mm", "not negative", 0.0)

    @property
    def rim_radius(self):
        """Radius of the outline at the tang face without rounding [mm]."""
        return self.diameter / 2 + self.chamfer_width

    def _more_problems(self):
        found = []
        if self.diameter == 0 and self.chamfer_width == 0:
            found.append(
                Problem(
                    "diameter", "0 mm", "there is no recess", "The ball would have nothing to sit in.", "Give its diameter, or a chamfer for a drilled dimple."
                )
            )
        if self.chamfer_width > 0 and self.edge_radius > 0:
            found.append(
                Problem(
                    "edge_radius",
                    _show(self.edge_radius, "mm"),
                    f"comes together with a chamfer of {self.chamfer_width:g} mm",
                    "A rim is either chamfered or rounded here; both at once is not modelled.",
                    "Give the one that the microscope shows.",
                )
            )
        reach = math.hypot(self.rest_offset, self.off_track)
        if not found and reach >= self.rim_radius:
            found.append(
                Problem(
                    "rest_offset",
                    _show(self.rest_offset, "mm"),
                    f"puts the ball {reach:.3g} mm from the middle of a recess whose rim radius is {self.rim_radius:.4g} mm",
                    "The ball would rest on the land, not in the recess.",
                    "Rest offset and off-track error together must be smaller than the rim radius.",
                )
            )
        return found


@dataclass(frozen=True)
class Ball(_Part):
    """One ball in a lock bar, with the recess it sits in.

    protrusion: how far it stands out of the bar face. track_radius: pivot to ball. hinge_distance: middle of
    the relief to ball, along the bar. side_offset: from the bar's centre line. bearing_deg: where it stands
    round the pivot from ball 1, + in the opening direction. run_off_deg: blade angle at which its track ends,
    at an edge that stands edge_deg to the track.
    bar: 0 for the first lock bar, 1 for a second leaf. track_to_bar_deg: angle between track and bar, 90 where
    the track runs straight across the bar. contact_modulus: of ball and tang together (S1a), for the squash when
    balls share; None for none.

    >>> ball = Ball(1.5875, 0.42, 8.0, 36.4, Recess(1.3208))
    >>> ball.radius
    0.79375
    """

    diameter: float = _number("diameter of the ball", "mm", sane=(0.3, 6))
    protrusion: float = _number("protrusion of the ball above the bar face", "mm", sane=(0.03, 3))
    track_radius: float = _number("track radius of the ball (pivot to ball)", "mm", typical=Typical(8.5, 2.5), sane=(2, 40))
    hinge_distance: float = _number("hinge distance of the ball (middle of the relief to ball)", "mm", typical=Typical(42.0, 12.0), sane=(6, 150))
    recess: Recess = field(metadata={"meaning": "recess of the ball", "check": _recess_problem})
    side_offset: float = _number("side offset of the ball from the bar's centre line", "mm", "any", 0.0)
    bearing_deg: float | None = _number("bearing of the ball round the pivot from ball 1", "deg", "any", None)
    run_off_deg: float | None = _number("blade angle at which the track of the ball ends", "deg", "positive", None)
    bar: int = field(default=0, metadata={"meaning": "lock bar that the ball sits in, 0 or 1", "check": _bar_problem})
    edge_deg: float = _number("angle between the tang edge and the track", "deg", "positive", 90.0)
    track_to_bar_deg: float = _number("angle between track and bar", "deg", "any", 90.0)
    contact_modulus: float | None = _number("contact modulus of ball on tang", "MPa", "positive", None)

    @property
    def radius(self):
        """Ball radius [mm]."""
        return self.diameter / 2

    def _more_problems(self):
        found = []
        if self.protrusion >= self.diameter:
            found.append(
                Problem(
                    "protrusion",
                    _show(self.protrusion, "mm"),
                    f"is not smaller than the ball's diameter {self.diameter:g} mm",
                    "The ball would have fallen out of the bar.",
                    "Measure with a depth micrometer from the bar face to the top of the ball.",
                )
            )
        return found


@dataclass(frozen=True)
class LockBar(_Part):
    """The lock bar as a leaf spring: its riding force, and how stiff it is.

    riding_force: force at ball 1 when ball 1 alone rides the flat tang. Stiffness: a measured `rate` at ball 1,
    or the drawn sizes with a material (or moduli), or both; a measured rate goes first. parallel_gap: gap at
    which bar face and tang are parallel (None: when ball 1 rides the flat). side_compliance: sideways give at
    the ball [mm/N]. lean_height: ball centre above the middle plane of the relief, for the lean of the bar.

    >>> LockBar(riding_force=17.0, rate=10.3).rate
    10.3
    >>> LockBar(17.04, 1.1, 6.0, 7.0, 3.0, material="Ti-6Al-4V").youngs_modulus
    113800.0
    """

    riding_force: float = _number("force at ball 1 when it rides the flat", "N", typical=Typical(15.5, 9.5))
    relief_thickness: float | None = _number("thickness of the relief", "mm", "positive", None, Typical(1.35, 0.45), sane=(0.15, 6))
    relief_length: float | None = _number("length of the relief", "mm", "positive", None, Typical(7.0, 3.0), sane=(1, 60))
    width: float | None = _number("width of the bar at the relief", "mm", "positive", None, Typical(8.0, 2.0), sane=(1, 40))
    thickness: float | None = _number("thickness of the bar", "mm", "positive", None, Typical(3.2, 0.8), sane=(0.3, 10))
    youngs_modulus: float | None = _number("Young's modulus of the bar", "MPa", "positive", None)
    shear_modulus: float | None = _number("shear modulus of the bar", "MPa", "positive", None)
    parallel_gap: float | None = _number("gap at which bar face and tang are parallel", "mm", "any", None)
    rate: float | None = _number("rate of the bar at ball 1", "N/mm", "positive", None, Typical(12.0, 8.0))
    side_compliance: float = _number("sideways give of the bar at the ball", "mm/N", "not negative", 0.0)
    yield_stress: float | None = _number("yield stress of the bar", "MPa", "positive", None)
    lean_height: float = _number("height of the ball centre above the relief's middle plane", "mm", "any", 0.0)
    material: str | None = field(default=None, metadata={"meaning": "material of the bar", "check": _material_problem})

    def __post_init__(self):
        """Fill the moduli from the named material where they are not given, then check."""
        if isinstance(self.material, str) and self.material in MATERIALS:
            for name in ("youngs_modulus", "shear_modulus", "yield_stress"):
                if getattr(self, name) is None:
                    object.__setattr__(self, name, getattr(MATERIALS[self.material], name))
        super().__post_init__()

    DRAWN = ("relief_thickness", "relief_length", "width", "thickness", "youngs_modulus")

    @property
    def drawn(self):
        """True where the drawn sizes are complete, so that the bar's stiffness can be computed from them."""
        return all(getattr(self, name) is not None for name in self.DRAWN)

    def _more_problems(self):
        found = []
        if self.rate is None and not self.drawn:
            missing = ", ".join(name for name in self.DRAWN if getattr(self, name) is None)
            found.append(
                Problem(
                    "rate",
                    "",
                    f"the stiffness of the bar is not known (no rate, and no {missing})",
                    "How fast the force grows decides the force in the recess.",
                    "Give a measured rate in N/mm, or the drawn sizes and the material.",
                )
            )
        if self.relief_thickness and self.thickness and self.relief_thickness > self.thickness:
            found.append(
                Problem(
                    "relief_thickness",
                    _show(self.relief_thickness, "mm"),
                    f"is thicker than the bar ({self.thickness:g} mm)",
                    "The relief is the thinned part of the bar.",
                    "Check which of the two was measured where.",
                )
            )
        return found


@dataclass(frozen=True)
class Blade(_Part):
    """The blade: where it is pushed, and what it weighs. stud_arm, mass, balance_radius and inertia may be None.

    tab_arm and stud_arm: pivot to the place of the push. opening_deg: blade angle when open.

    >>> Blade(tab_arm=14, stud_arm=21).tab_arm
    14.0
    """

    tab_arm: float = _number("tab arm (pivot to the place of the push)", "mm", typical=Typical(13.0, 3.0), sane=(3, 80))
    stud_arm: float | None = _number("stud arm (pivot to the thumb stud)", "mm", "positive", None, sane=(3, 80))
    mass: float | None = _number("mass of the blade", "g", "positive", None, Typical(40.0, 20.0))
    balance_radius: float | None = _number("balance radius of the blade (pivot to balance point)", "mm", "positive", None, Typical(39.0, 11.0), sane=(3, 150))
    inertia: float | None = _number("inertia of the blade about the pivot", "g·mm²", "positive", None, Typical(115_000.0, 85_000.0))
    opening_deg: float = _number("opening angle of the blade", "deg", "positive", 180.0, Typical(172.0, 13.0))


@dataclass(frozen=True)
class Friction(_Part):
    """Friction at the rim and on the flat (None: as at the rim), and the drag of the pivot.

    pivot_torque: drag with the bar lifted off. washer and pin with their radii: extra drag that grows with the
    bar force (F8), off at 0.

    >>> Friction(rim=0.12).on_flat
    0.12
    """

    rim: float = _number("friction coefficient at the rim", "", "not negative", typical=Typical(0.12, 0.04))
    flat: float | None = _number("friction coefficient on the flat", "", "not negative", None)
    pivot_torque: float = _number("drag of the pivot", "N·mm", "not negative", 0.0, Typical(3.5, 2.5))
    washer: float = _number("friction coefficient of the washers", "", "not negative", 0.0)
    washer_radius: float = _number("mean radius of the washers", "mm", "not negative", 0.0)
    pin: float = _number("friction coefficient of the pivot pin", "", "not negative", 0.0)
    pin_radius: float = _number("radius of the pivot pin", "mm", "not negative", 0.0)

    @property
    def on_flat(self):
        """Friction coefficient on the flat, that of the rim where no other is given."""
        return self.rim if self.flat is None else self.flat


@dataclass(frozen=True)
class Knife:
    """One knife: balls, bar or bars, blade, friction; with the ± of each number and the list of what was assumed.

    doubts: {"balls[0].protrusion": 0.005, ...}, the ± (95 %) of numbers by path. assumed: paths of numbers that
    nobody measured. Raises KnifeError with every problem at once.

    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.3), Blade(14.0), Friction(0.12))
    >>> knife.replace({"balls[0].recess.diameter": 1.1811}).balls[0].recess.diameter
    1.1811
    >>> knife.replace({"balls[0].recess.diametre": 1.2})
    Traceback (most recent call last):
    detentlib.parts.KnifeError: balls[0].recess.diametre: there is no such field. Did you mean balls[0].recess.diameter or balls[0].recess.depth?
    """

    title: str
    balls: tuple
    bar: LockBar
    blade: Blade
    friction: Friction
    second_bar: LockBar | None = None
    doubts: dict = field(default_factory=dict)
    assumed: tuple = ()

    def __post_init__(self):
        """Check what holds between the parts."""
        object.__setattr__(self, "balls", tuple(self.balls))
        object.__setattr__(self, "assumed", tuple(self.assumed))
        object.__setattr__(self, "doubts", dict(self.doubts))
        found = []
        if not self.balls or self.balls[0].bar != 0:
            found.append(
                Problem(
                    "balls",
                    "",
                    "the first ball must sit in the first lock bar",
                    "Riding force and rate are those at ball 1.",
                    "Add a ball, or list the ball of the first bar first.",
                )
            )
        for i, ball in enumerate(self.balls):
            if ball.bar == 1 and self.second_bar is None:
                found.append(
                    Problem(
                        f"balls[{i}].bar",
                        "1",
                        "the ball sits in a second leaf, but the knife has none",
                        "Each ball is pressed by the bar that it sits in.",
                        "Give second_bar, or put the ball in bar 0.",
                    )
                )
        if self.second_bar is not None and all(ball.bar == 0 for ball in self.balls):
            found.append(
                Problem(
                    "second_bar",
                    "",
                    "the second leaf has no ball",
                    "A leaf without a ball does nothing to the blade.",
                    "Set bar = 1 on the ball that sits in it.",
                )
            )
        paths = set(self.paths())
        for path, doubt in self.doubts.items():
            if path not in paths:
                found.append(_no_such_field(path, paths))
            elif not (isinstance(doubt, (int, float)) and math.isfinite(doubt) and doubt >= 0):
                found.append(
                    Problem(
                        path,
                        f"± {doubt}",
                        "the ± must be a number not below zero",
                        "± says how far off the value may be, 19 times in 20.",
                        "Give it in the unit of the value.",
                    )
                )
        found += [_no_such_field(path, paths) for path in self.assumed if path not in paths]
        if found:
            raise KnifeError(found, self.title)

    def paths(self):
        """Paths of every number that this knife has, in the order of its parts."""
        return list(_walk(self))

    def get(self, path):
        """The number at a path such as "balls[0].recess.diameter"; an unknown path is a KnifeError."""
        part = self
        for step in _steps(self, path):
            part = part[step] if isinstance(step, int) else getattr(part, step)
        return part

    def replace(self, values):
        """A new, checked Knife with the numbers at the given paths replaced; None takes a number away.

        values: {"bar.relief_thickness": 1.0, ...} in the field's unit. A replaced number is no longer counted as
        assumed; its ± stays. Raises KnifeError with all problems, unknown paths with the names near them.
        """
        steps, found = {}, []
        for path in values:
            try:
                steps[path] = _steps(self, path)
            except KnifeError as error:
                found += error.problems
        if found:
            raise KnifeError(found)
        knife, found = copy.copy(self), []
        rebuilt = {"balls": list(self.balls)}
        for owner, changes in _by_owner(values, steps).items():
            try:
                _rebuild(rebuilt, self, owner, changes)
            except KnifeError as error:
                found += [problem.inside(owner) for problem in error.problems]
        if found:
            raise KnifeError(found, self.title)
        parts = {spec.name: rebuilt.get(spec.name, getattr(knife, spec.name)) for spec in fields(Knife)}
        left = set(Knife(**parts | {"doubts": {}, "assumed": ()}).paths())
        parts["assumed"] = tuple(path for path in self.assumed if path in left and path not in values)
        parts["doubts"] = {path: doubt for path, doubt in self.doubts.items() if path in left}
        return Knife(**parts)

    def turned_round(self):
        """The same knife with the blade opening the other way: every other ball's shift against ball 1 changes its sign.

        Ball 1 keeps its rest offset, now towards the rim on the other side. What another ball's recess is nearer or
        further than that, it is on the other side; bearings change sign as well. Each recess keeps its size.

        >>> first, second = Recess(1.32, rest_offset=0.06), Recess(1.32, rest_offset=0.13)
        >>> balls = [Ball(1.5875, 0.42, 8.0, 36.4, first), Ball(1.5875, 0.37, 8.0, 36.4, second)]
        >>> Knife("B", balls, LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12)).turned_round().balls[1].recess.rest_offset
        -0.01
        """
        changes, first = {}, self.balls[0]
        for i, ball in enumerate(self.balls[1:], 1):
            # the shift is an angle of the blade, so it counts on each ball's own track
            common = first.recess.rest_offset * ball.track_radius / first.track_radius
            changes[f"balls[{i}].recess.rest_offset"] = 2 * common - ball.recess.rest_offset
            if ball.bearing_deg is not None:
                changes[f"balls[{i}].bearing_deg"] = -ball.bearing_deg
        return self.replace(changes)

    def with_arrays(self, values):
        """Many knives in one: an unchecked copy whose numbers at the given paths are arrays of shape (m, 1).

        For the numerical core only: it broadcasts over them as over one number, and leaves the judgement of
        each knife to mechanics.limits.
        """
        return _swap(self, {tuple(_steps(self, path)): value for path, value in values.items()})

    def take(self, rows):
        """The knives with the given indexes out of many in one (see with_arrays)."""
        arrays = {path: self.get(path) for path in self.paths()}
        return self.with_arrays({path: values[rows] for path, values in arrays.items() if getattr(values, "ndim", 0)})


def spec(path):
    """Metadata of the field at a path: meaning, unit, rule, typical (see module).

    >>> spec("balls[0].recess.diameter")["unit"]
    'mm'
    """
    names = re.sub(r"\[\d+\]", "", path).split(".")
    owner = {"balls": Ball, "bar": LockBar, "second_bar": LockBar, "blade": Blade, "friction": Friction}[names[0]]
    if names[1:2] == ["recess"] and len(names) > 2:
        owner, names = Recess, names[1:]
    return {each.name: each.metadata for each in fields(owner)}[names[1]]


def _no_such_field(path, known):
    near = difflib.get_close_matches(path, sorted(known), 2, 0.5)
    return Problem(path, "", "there is no such field", f"Did you mean {' or '.join(near)}?" if near else "", "")


def _walk(part, owner=""):
    for each in fields(part):
        value, path = getattr(part, each.name), f"{owner}{each.name}"
        if is_dataclass(value):
            yield from _walk(value, path + ".")
        elif each.name == "balls":
            for i, ball in enumerate(value):
                yield from _walk(ball, f"balls[{i}].")
        elif "rule" in each.metadata and value is not None:
            yield path


def _steps(knife, path):
    """Path as a list of names and indexes, checked against the knife (fields that are None count)."""
    steps = [int(step) if step.isdigit() else step for step in re.findall(r"\w+", path)]
    part, known = knife, True
    for step in steps:
        if isinstance(step, int):
            known = isinstance(part, tuple) and step < len(part)
            part = part[step] if known else None
        else:
            known = is_dataclass(part) and step in {each.name for each in fields(part)}
            part = getattr(part, step) if known else None
        if not known:
            break
    if not known or is_dataclass(part) or isinstance(part, (tuple, dict)):
        every = set(_walk(knife)) | {f"{o}.{each.name}" for o, kind in _owners(knife) for each in fields(kind)}
        raise KnifeError(_no_such_field(path, every))
    return steps


def _owners(knife):
    for i in range(len(knife.balls)):
        yield f"balls[{i}]", Ball
        yield f"balls[{i}].recess", Recess
    yield from (("bar", LockBar), ("blade", Blade), ("friction", Friction))


def _by_owner(values, steps):
    """Changes grouped by the part that owns the field; the recess before its ball."""
    groups = {}
    for path in sorted(values, key=lambda p: -len(steps[p])):
        owner, _, name = path.rpartition(".")
        groups.setdefault(owner, {})[name] = values[path]
    return groups


def _rebuild(rebuilt, knife, owner, changes):
    """Put a new, checked part in `rebuilt` in place of the one at `owner`."""
    if not owner:
        rebuilt.update(changes)
        return
    at = re.fullmatch(r"balls\[(\d+)\](\.recess)?", owner)
    if not at:
        rebuilt[owner] = _renew(getattr(knife, owner), changes)
        return
    ball = rebuilt["balls"][int(at[1])]
    if at[2]:
        changes = {"recess": _renew(ball.recess, changes)}
    rebuilt["balls"][int(at[1])] = _renew(ball, changes)


def _renew(part, changes):
    if "material" in changes:
        # another material brings its own moduli, unless they are given with it
        changes = dict.fromkeys(("youngs_modulus", "shear_modulus", "yield_stress")) | changes
    return type(part)(**{each.name: changes.get(each.name, getattr(part, each.name)) for each in fields(part)})


def _swap(part, changes):
    """Unchecked copy with the values at the given step tuples put in."""
    if isinstance(part, tuple):
        return tuple(_swap(each, {s[1:]: v for s, v in changes.items() if s[0] == i}) for i, each in enumerate(part))
    new = copy.copy(part)
    for name in {steps[0] for steps in changes}:
        below = {steps[1:]: value for steps, value in changes.items() if steps[0] == name}
        object.__setattr__(new, name, below[()] if () in below else _swap(getattr(part, name), below))
    return new
