"""The parts of a detent as plain, frozen, checked records: Ball, Recess, LockBar, Blade, Friction, Knife.

All numbers are in mm, N, N·mm, N/mm, MPa, g, g·mm² and degrees; frames and signs: figures/signs.svg.
Each field carries its meaning, unit and rule in its metadata (see `spec`), so that files, forms and
messages are written from one table.
"""

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any

from .checks import ARM, KnifeError, Part, Problem, Typical, field_problem, number, short, show
from .materials import MATERIALS
from .paths import (
    BALL,
    BAR,
    BLADE,
    FRICTION,
    RECESS,
    by_owner,
    field_of,
    no_such_field,
    other_way,
    place_of,
    rebuild,
    steps_of,
    swap,
    walk,
)
from .together import together_problems
from .units import normal_doubt

if TYPE_CHECKING:
    import numpy as np

    from .values import Values

__all__ = [
    "Ball",
    "Blade",
    "Friction",
    "Knife",
    "KnifeError",
    "LockBar",
    "Problem",
    "Recess",
    "Typical",
    "field_problem",
    "spec",
]

UNMEASURED = "Guessed or assumed, as nobody measured it"
_USUAL_SIDE = Typical(0.005, 0.003)  # drawn bars of the usual sizes (B6a) times their root factor


def _recess_problem(value):
    if isinstance(value, Recess):
        return None
    return Problem(
        "recess",
        "",
        "the ball has no recess",
        "A detent needs a recess in the tang for the ball to sit in.",
        "Give its diameter.",
    )


def _bar_problem(value):
    if isinstance(value, int) and not isinstance(value, bool) and value in (0, 1):
        return None
    return Problem("bar", short(value), "is not a lock bar", "0 is the first bar, 1 a second leaf.", "Give 0 or 1.")


def _material_problem(value):
    if isinstance(value, str) and value in MATERIALS:
        return None
    near = [name for name in MATERIALS if str(value).lower() in MATERIALS[name].called]
    near = near or difflib.get_close_matches(str(value), MATERIALS, 1, 0.3)
    return Problem(
        "material",
        short(value),
        "is not in the table of materials",
        f"Known: {', '.join(MATERIALS)}.",
        f"Did you mean {near[0]}?" if near else "Give youngs_modulus and shear_modulus in MPa instead.",
    )


@dataclass(frozen=True)
class Recess(Part):
    """The recess in the tang that one ball sits in.

    diameter is that of the bore; with a chamfer the rim at the tang face lies chamfer_width further out, and
    diameter 0 with a chamfer is a drilled dimple. depth None means deeper than the ball ever reaches.
    rest_offset: how far the stop holds this ball short of concentric, along its track, towards the working rim.
    off_track: error across the track, + outwards.

    >>> Recess(diameter=1.3208, rest_offset=0.06).rim_radius
    0.6604
    >>> Recess(diameter=-1)
    Traceback (most recent call last):
    detentlib.knife.checks.KnifeError: diameter = -1 mm: must not be negative. It is the diameter of the recess. ...
    """

    diameter: float = number("diameter of the recess", "mm", "not negative", sane=(0.15, 10))
    rest_offset: float = number("rest offset of the recess", "mm", "any", 0.0, Typical(0.075, 0.075), sane=(0, 1.5))
    off_track: float = number("off-track error of the recess", "mm", "any", 0.0, Typical(0.0, 0.05), sane=(0, 1.5))
    depth: float | None = number("depth of the recess floor", "mm", "positive", None, sane=(0.04, 10))
    chamfer_width: float = number("radial width of the chamfer", "mm", "not negative", 0.0, sane=(0, 5))
    chamfer_deg: float = number("angle of the chamfer from the tang face", "deg", "acute", 45.0, sane=(5, 90))
    edge_radius: float = number("radius of the rounded rim", "mm", "not negative", 0.0, sane=(0, 2))

    @property
    def rim_radius(self) -> "Values":
        """Radius of the outline at the tang face without rounding [mm]."""
        return self.diameter / 2 + self.chamfer_width

    @property
    def bored(self) -> bool:
        """True for a bored recess, False for a drilled dimple; of many in one, as the first is."""
        size = self.diameter
        return bool((size.flat[0] if hasattr(size, "flat") else size) > 0)

    def _more_problems(self):
        reach, rim = math.hypot(self.rest_offset, self.off_track), self.rim_radius
        if self.diameter == 0 and self.chamfer_width == 0:
            yield Problem(
                "diameter",
                "0 mm",
                "there is no recess",
                "The ball would have nothing to sit in.",
                "Give its diameter, or a chamfer for a drilled dimple.",
            )
        elif self.chamfer_width > 0 and self.edge_radius > 0:
            yield Problem(
                "edge_radius",
                show(self.edge_radius, "mm"),
                f"comes together with a chamfer of {self.chamfer_width:g} mm",
                "A rim is either chamfered or rounded here; both at once is not modelled.",
                "Give the one that the microscope shows.",
            )
        elif reach >= rim:
            yield Problem(
                "rest_offset",
                show(self.rest_offset, "mm"),
                f"puts the ball {reach:.3g} mm from the middle of a recess whose rim radius is {rim:.4g} mm",
                "The ball would rest on the land, not in the recess.",
                "Rest offset and off-track error together must be smaller than the rim radius.",
            )


@dataclass(frozen=True)
class Ball(Part):
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

    diameter: float = number("diameter of the ball", "mm", sane=(0.3, 10))
    protrusion: float = number("protrusion of the ball above the bar face", "mm", sane=(0.03, 5))
    track_radius: float = number(
        "track radius of the ball (pivot to ball)", "mm", typical=Typical(8.5, 2.5), sane=(1.5, 80), slips=ARM
    )
    hinge_distance: float = number(
        "hinge distance of the ball (middle of the relief to ball)",
        "mm",
        typical=Typical(42.0, 12.0),
        sane=(5, 250),
        slips=ARM,
    )
    recess: Recess = field(metadata={"meaning": "recess of the ball", "check": _recess_problem})
    side_offset: float = number("side offset of the ball from the bar's centre line", "mm", "any", 0.0, sane=(0, 20))
    bearing_deg: float | None = number("bearing of the ball round the pivot from ball 1", "deg", "any", None)
    run_off_deg: float | None = number("blade angle at which the track of the ball ends", "deg", "positive", None)
    bar: int = field(default=0, metadata={"meaning": "lock bar that the ball sits in, 0 or 1", "check": _bar_problem})
    edge_deg: float = number("angle between the tang edge and the track", "deg", "positive", 90.0, sane=(5, 180))
    track_to_bar_deg: float = number("angle between track and bar", "deg", "any", 90.0, sane=(3.2, 180))
    contact_modulus: float | None = number(
        "contact modulus of ball on tang", "MPa", "positive", None, sane=(10_000, 800_000)
    )

    @property
    def radius(self) -> "Values":
        """Ball radius [mm]."""
        return self.diameter / 2

    def _more_problems(self):
        if self.protrusion >= self.diameter:
            yield Problem(
                "protrusion",
                show(self.protrusion, "mm"),
                f"is not smaller than the ball's diameter {self.diameter:g} mm",
                "The ball would have fallen out of the bar.",
                "Measure with a depth micrometer from the bar face to the top of the ball.",
            )
        outline = self.recess.rim_radius + self.recess.edge_radius
        if outline >= self.track_radius + self.recess.off_track:
            yield Problem(
                "track_radius",
                show(self.track_radius, "mm"),
                f"puts the pivot inside the recess, whose rim reaches {outline:.4g} mm from its middle",
                "The ball would never leave its recess as the blade turns.",
                "Check the track radius, and the unit of the recess diameter, chamfer and edge radius.",
            )


@dataclass(frozen=True)
class LockBar(Part):
    """The lock bar as a leaf spring: its riding force, and how stiff it is.

    riding_force: force at ball 1 when ball 1 alone rides the flat tang. Stiffness: a measured `rate` at ball 1, or the
    drawn sizes with a material (or moduli), or both; a measured rate goes first. parallel_gap: gap at which bar face
    and tang are parallel (None: when ball 1 rides the flat). side_compliance: sideways give at ball 1 [mm/N]; None
    takes it from the drawn sizes (the usual one where only a rate is known), and 0 is a bar stiff sideways, as in a
    textbook. root_up and root_side: how many times the drawn sizes' give the root that holds the bar makes of it,
    upwards and sideways, there with the bar's roll at the rim; 1 for a bar clamped where its relief begins.

    >>> LockBar(riding_force=17.0, rate=10.3).rate
    10.3
    >>> LockBar(17.04, 1.1, 6.0, 7.0, 3.0, material="Ti-6Al-4V").youngs_modulus
    113800.0
    """

    riding_force: float = number(
        "force at ball 1 when it rides the flat", "N", typical=Typical(15.5, 9.5), sane=(0.1, 150)
    )
    relief_thickness: float | None = number(
        "thickness of the relief", "mm", "positive", None, Typical(1.35, 0.45), sane=(0.15, 10)
    )
    relief_length: float | None = number(
        "length of the relief", "mm", "positive", None, Typical(7.0, 3.0), sane=(1, 80)
    )
    width: float | None = number(
        "width of the bar at the relief", "mm", "positive", None, Typical(8.0, 2.0), sane=(1, 40)
    )
    thickness: float | None = number("thickness of the bar", "mm", "positive", None, Typical(2.6, 1.6), sane=(0.3, 12))
    youngs_modulus: float | None = number("Young's modulus of the bar", "MPa", "positive", None, sane=(20_000, 800_000))
    shear_modulus: float | None = number("shear modulus of the bar", "MPa", "positive", None, sane=(5_000, 400_000))
    parallel_gap: float | None = number("gap at which bar face and tang are parallel", "mm", "any", None, sane=(0, 4))
    rate: float | None = number(
        "rate of the bar at ball 1", "N/mm", "positive", None, Typical(12.0, 8.0), sane=(0.2, 200)
    )
    side_compliance: float | None = number(
        "sideways give of the bar at the ball", "mm/N", "not negative", None, _USUAL_SIDE, sane=(0, 0.2)
    )
    root_up: float = number(
        "give upwards, in times of that of the drawn bar", "", "positive", 1.0, Typical(1.27, 0.28), sane=(0.2, 5)
    )
    root_side: float = number(
        "give sideways, in times of that of the drawn bar", "", "positive", 1.0, Typical(1.58, 0.30), sane=(0.2, 5)
    )
    yield_stress: float | None = number("yield stress of the bar", "MPa", "positive", None, sane=(30, 6_000))
    material: str | None = field(default=None, metadata={"meaning": "material of the bar", "check": _material_problem})

    def __post_init__(self) -> None:
        """Fill the moduli from the named material, and the usual sideways give of a bar that is not drawn, where
        they are not given; then check.
        """
        if isinstance(self.material, str) and self.material in MATERIALS:
            for name in ("youngs_modulus", "shear_modulus", "yield_stress"):
                if getattr(self, name) is None:
                    object.__setattr__(self, name, getattr(MATERIALS[self.material], name))
        if self.side_compliance is None and not self.drawn:
            object.__setattr__(self, "side_compliance", _USUAL_SIDE.value)
        super().__post_init__()

    DRAWN = ("relief_thickness", "relief_length", "width", "thickness", "youngs_modulus")

    @property
    def drawn(self) -> bool:
        """True where the drawn sizes are complete, so that the bar's stiffness can be computed from them."""
        return all(getattr(self, name) is not None for name in self.DRAWN)

    def _more_problems(self):
        if self.rate is None and not self.drawn:
            missing = ", ".join(name for name in self.DRAWN if getattr(self, name) is None)
            yield Problem(
                "rate",
                "",
                f"the stiffness of the bar is not known (no rate, and no {missing})",
                "How fast the force grows decides the force in the recess.",
                "Give a measured rate in N/mm, or the drawn sizes and the material.",
            )
        if self.relief_thickness and self.thickness and self.relief_thickness > self.thickness:
            yield Problem(
                "relief_thickness",
                show(self.relief_thickness, "mm"),
                f"is thicker than the bar ({self.thickness:g} mm)",
                "The relief is the thinned part of the bar.",
                "Check which of the two was measured where.",
            )


@dataclass(frozen=True)
class Blade(Part):
    """The blade: where it is pushed, and what it weighs. stud_arm, mass, balance_radius and inertia may be None.

    tab_arm and stud_arm: pivot to the place of the push. opening_deg: blade angle when open. pivot_play: where the play
    of the pivot lets the tang stand along the tracks, + further short of concentric; 0 in the middle, and its ± the
    radial play. stop_radius: pivot to where the tang meets its stop pin of pin_diameter, None where not known.

    >>> Blade(tab_arm=14, stud_arm=21).tab_arm
    14.0
    """

    tab_arm: float = number(
        "tab arm (pivot to the place of the push)", "mm", typical=Typical(13.0, 3.0), sane=(3, 120), slips=ARM
    )
    stud_arm: float | None = number(
        "stud arm (pivot to the thumb stud)", "mm", "positive", None, sane=(3, 120), slips=ARM
    )
    mass: float | None = number("mass of the blade", "g", "positive", None, Typical(40.0, 20.0), sane=(2, 1_000))
    balance_radius: float | None = number(
        "balance radius of the blade (pivot to balance point)",
        "mm",
        "positive",
        None,
        Typical(39.0, 11.0),
        sane=(3, 200),
        slips=ARM,
    )
    inertia: float | None = number(
        "inertia of the blade about the pivot",
        "g·mm²",
        "positive",
        None,
        Typical(115_000.0, 85_000.0),
        sane=(1_000, 1e7),
    )
    opening_deg: float = number(
        "opening angle of the blade", "deg", "positive", 180.0, Typical(172.0, 13.0), sane=(15, 360)
    )
    pivot_play: float = number(
        "place of the blade in the play of its pivot", "mm", "any", 0.0, Typical(0.0, 0.02), sane=(0, 0.5)
    )
    stop_radius: float | None = number(
        "stop radius (pivot to where the tang meets the stop pin)",
        "mm",
        "positive",
        None,
        Typical(12.0, 4.0),
        sane=(3, 80),
    )
    pin_diameter: float | None = number("diameter of the stop pin", "mm", "positive", None, sane=(0.5, 15))


@dataclass(frozen=True)
class Friction(Part):
    """Friction at the rim and on the flat (None: as at the rim), and the drag of the pivot.

    pivot_torque: drag with the bar lifted off. washer and pin with their radii: extra drag that grows with the
    bar force (F8), off at 0.

    >>> Friction(rim=0.12).on_flat
    0.12
    """

    rim: float = number("friction coefficient at the rim", "", "not negative", typical=Typical(0.12, 0.04), sane=(0, 2))
    flat: float | None = number("friction coefficient on the flat", "", "not negative", None, sane=(0, 2))
    pivot_torque: float = number("drag of the pivot", "N·mm", "not negative", 0.0, Typical(3.5, 2.5), sane=(0, 200))
    washer: float = number("friction coefficient of the washers", "", "not negative", 0.0, sane=(0, 2))
    washer_radius: float = number("mean radius of the washers", "mm", "not negative", 0.0, sane=(0.5, 40))
    pin: float = number("friction coefficient of the pivot pin", "", "not negative", 0.0, sane=(0, 2))
    pin_radius: float = number("radius of the pivot pin", "mm", "not negative", 0.0, sane=(0.3, 20))

    @property
    def on_flat(self) -> "Values":
        """Friction coefficient on the flat, that of the rim where no other is given."""
        return self.rim if self.flat is None else self.flat


def _table(name, given, example):
    """Raise KnifeError for what is no table of numbers by their paths."""
    if not isinstance(given, Mapping):
        why = "A number of a knife is known by its path."
        raise KnifeError(Problem(name, short(given), "is no table of numbers by path", why, f"Give {example}."))


def _not_its_kind(knife):
    """A Problem for each part of a Knife that is something else."""
    wanted = {
        "title": (str, "a text"),
        "doubts": (Mapping, "a table {path: ±}"),
        "known_together": (Mapping, "a table {pair of paths: correlation}"),
        "said": (Mapping, "a table {path: what was written}"),
        "bar": (LockBar, "a LockBar"),
        "blade": (Blade, "a Blade"),
        "friction": (Friction, "a Friction"),
        "second_bar": (LockBar | None, "a LockBar, or None"),
    }
    if isinstance(knife.title, str) and any("\ud800" <= sign <= "\udfff" for sign in knife.title):
        why = "A title stands on every page and in the knife file."
        yield Problem("title", short(knife.title), "holds half a character, which no file can", why, "Type it again.")
    for name, (kind, said) in wanted.items():
        value = getattr(knife, name)
        if not isinstance(value, kind):
            yield Problem(name, short(value), f"is not {said}", "A Knife is made of its parts.", f"Give {said}.")
    for name, kind, said in (("balls", Ball, "Balls"), ("assumed", str, "paths of numbers")):
        value = getattr(knife, name)
        if not isinstance(value, (list, tuple)) or not all(isinstance(each, kind) for each in value):
            yield Problem(name, short(value), f"is not a list of {said}", "", f"Give a list or tuple of {said}.")


@dataclass(frozen=True)
class Knife:
    """One knife: balls, bar or bars, blade, friction; with the ± of each number and the list of what was assumed.

    doubts: {"balls[0].protrusion": 0.005, ...}, the ± (95 %) of numbers by path, `Within(0.005)` where it is a limit
    (see units.py); a number without one is exact, as whoever writes a Knife in Python says so (a file or a form never
    leaves one without, see fields.py). assumed: paths of numbers that nobody measured, or that came without a ± and
    count as a guess. known_together: {("friction.rim", "bar.riding_force"): -0.8, ...}, the correlation, −1 to 1, of
    numbers that were found together, as by a fit; all other pairs are independent. said: {path: Said} of numbers as a
    reader wrote them in a file or form, for writing them again; it does not count when knives are compared. Raises
    KnifeError with every problem at once.

    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.3), Blade(14.0), Friction(0.12))
    >>> knife.replace({"balls[0].recess.diameter": 1.1811}).balls[0].recess.diameter
    1.1811
    >>> knife.replace({"balls[0].recess.diametre": 1.2})
    Traceback (most recent call last):
    detentlib.knife.checks.KnifeError: balls[0].recess.diametre: there is no such field. ...
    """

    title: str
    balls: tuple
    bar: LockBar
    blade: Blade
    friction: Friction
    second_bar: LockBar | None = None
    doubts: dict = field(default_factory=dict)
    assumed: tuple = ()
    known_together: dict = field(default_factory=dict)
    said: dict = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Check what the parts are, and what holds between them."""
        found = list(_not_its_kind(self))
        if found:
            raise KnifeError(found)
        object.__setattr__(self, "balls", tuple(self.balls))
        object.__setattr__(self, "assumed", tuple(self.assumed))
        object.__setattr__(self, "doubts", dict(self.doubts))
        object.__setattr__(self, "known_together", dict(self.known_together))
        object.__setattr__(self, "said", dict(self.said))
        found = list(self._between_parts())
        if not found:
            doubtful = {path for path in self.paths() if self.doubts.get(path)}
            found = together_problems(self.known_together, doubtful)
        if found:
            raise KnifeError(found, self.title)
        object.__setattr__(self, "assumed", tuple(path for path in self.paths() if path in self.assumed))

    def _between_parts(self):
        """Problems between the parts, and of ± and lists that speak of no number of this knife."""
        if not self.balls or self.balls[0].bar != 0:
            yield Problem(
                "balls",
                "",
                "the first ball must sit in the first lock bar",
                "Riding force and rate are those at ball 1.",
                "Add a ball, or list the ball of the first bar first.",
            )
        for i, ball in enumerate(self.balls):
            if ball.bar == 1 and self.second_bar is None:
                yield Problem(
                    f"balls[{i}].bar",
                    "1",
                    "the ball sits in a second leaf, but the knife has none",
                    "Each ball is pressed by the bar that it sits in.",
                    "Give second_bar, or put the ball in bar 0.",
                )
        if self.second_bar is not None and all(ball.bar == 0 for ball in self.balls):
            yield Problem(
                "second_bar",
                "",
                "the second leaf has no ball",
                "A leaf without a ball does nothing to the blade.",
                "Set bar = 1 on the ball that sits in it.",
            )
        for i, bar in enumerate((self.bar, self.second_bar)):
            reaches = [ball.hinge_distance for ball in self.balls if ball.bar == i]
            if self.many or bar is None or bar.relief_length is None:
                continue
            if any(bar.relief_length > 2 * reach for reach in reaches):
                yield Problem(
                    f"{('bar', 'second_bar')[i]}.relief_length",
                    show(bar.relief_length, "mm"),
                    f"reaches beyond the ball, {show(min(reaches), 'mm')} from the middle of the relief",
                    "The thinned part lies between the bar's root and its ball, half its length to either side of its"
                    " middle.",
                    "Check whether it and the hinge distance were swapped.",
                )
        paths = set(self.paths())
        for path, doubt in self.doubts.items():
            if path not in paths:
                yield no_such_field(path, paths)
            elif not (isinstance(doubt, (int, float)) and math.isfinite(doubt) and doubt >= 0):
                yield Problem(
                    path,
                    f"± {short(doubt)}",
                    "the ± must be a number not below zero",
                    "± says how far off the value may be, 19 times in 20.",
                    "Give it in the unit of the value.",
                )
        yield from (no_such_field(path, paths) for path in self.assumed if path not in paths)

    def paths(self) -> list[str]:
        """Paths of every number that this knife has, in the order of its parts."""
        return list(walk(self))

    def get(self, path: str) -> "Values | str | None":
        """The number at a path such as "balls[0].recess.diameter"; an unknown path is a KnifeError."""
        part = self
        for step in steps_of(self, path):
            part = part[step] if isinstance(step, int) else getattr(part, step)
        return part

    def scatter(self, path: str) -> float:
        """± (95 %) of a normal number that scatters as much as the one at a path (see `normal_doubt`), 0 where that
        is exact.
        """
        return normal_doubt(self.doubts.get(path, 0.0))

    def replace(self, values: "Mapping[str, Values | str | None]") -> "Knife":
        """A new, checked Knife with the numbers at the given paths replaced; None takes a number away.

        values: {"bar.relief_thickness": 1.0, ...} in the field's unit. A replaced number is no longer counted as
        assumed; its ± stays, and what it is known together with: for a new reading with a ± of its own see
        `measured`. Raises KnifeError with all problems, unknown paths with the names near them. Many knives in one (see
        `with_arrays`) are changed unchecked, so that a move at the bench serves one knife and many alike.
        """
        _table("values", values, '{"friction.rim": 0.1}')
        if self.many:
            return self.with_arrays(values)
        found = []
        for path in values:
            try:
                steps_of(self, path)
            except KnifeError as error:
                found += error.problems
        if found:
            raise KnifeError(found)
        rebuilt = {"balls": list(self.balls)}
        for place, changes in by_owner(values).items():
            try:
                rebuild(rebuilt, self, place, changes)
            except KnifeError as error:
                found += [problem.inside(place.owner) for problem in error.problems]
        if found:
            raise KnifeError(found, self.title)
        parts = {spec.name: rebuilt.get(spec.name, getattr(self, spec.name)) for spec in fields(Knife)}
        left = set(Knife(**parts | {"doubts": {}, "assumed": (), "known_together": {}}).paths())
        parts["assumed"] = tuple(path for path in self.assumed if path in left and path not in values)
        parts["doubts"] = {path: doubt for path, doubt in self.doubts.items() if path in left}
        parts["known_together"] = {pair: r for pair, r in self.known_together.items() if left.issuperset(pair)}
        parts["said"] = {path: said for path, said in self.said.items() if path not in values}
        return Knife(**parts)

    def measured(self, readings: Mapping[str, tuple[float, float | None]]) -> "Knife":
        """A new, checked Knife with numbers measured anew: {path: (value, ±)}, ± None or 0 where it is exact.

        A number that has a reading of its own is no longer known together with any other.

        >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
        >>> doubts = {"friction.rim": 0.04, "bar.riding_force": 0.8}
        >>> together = {("friction.rim", "bar.riding_force"): -0.8}
        >>> parts = [ball], LockBar(17.04, rate=10.3), Blade(14.0), Friction(0.12)
        >>> knife = Knife("A", *parts, None, doubts, (), together)
        >>> again = knife.measured({"friction.rim": (0.13, 0.02)})
        >>> again.friction.rim, again.doubts["friction.rim"], again.known_together
        (0.13, 0.02, {})
        """
        _table("readings", readings, '{"friction.rim": (0.13, 0.02)}')
        for path, pair in readings.items():
            if not isinstance(pair, (list, tuple)) or len(pair) != 2:
                cure = "Give both: (value, ±), None for a ± where it is exact."
                raise KnifeError(Problem(str(path), short(pair), "is not a number with its ±", "", cure))
        knife = self.replace({path: value for path, (value, _) in readings.items()})
        doubts = knife.doubts | {path: doubt for path, (_, doubt) in readings.items()}
        left = {pair: r for pair, r in knife.known_together.items() if readings.keys().isdisjoint(pair)}
        doubts = {path: doubt for path, doubt in doubts.items() if doubt is not None}
        return replace(knife, doubts=doubts, known_together=left)

    def turned_round(self) -> "Knife":
        """The same knife with the blade opening the other way: every other ball's shift against ball 1 changes its
        sign.

        Ball 1 keeps its rest offset, now towards the rim on the other side. What another ball's recess is nearer or
        further than that, it is on the other side; bearings change sign as well. Each recess keeps its size.

        >>> first, second = Recess(1.32, rest_offset=0.06), Recess(1.32, rest_offset=0.13)
        >>> balls = [Ball(1.5875, 0.42, 8.0, 36.4, first), Ball(1.5875, 0.37, 8.0, 36.4, second)]
        >>> knife = Knife("B", balls, LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12))
        >>> knife.turned_round().balls[1].recess.rest_offset
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

    @property
    def many(self) -> bool:
        """True for many knives in one (see with_arrays)."""
        parts = (
            *self.balls,
            *(ball.recess for ball in self.balls),
            self.bar,
            self.second_bar,
            self.blade,
            self.friction,
        )
        return any(getattr(value, "ndim", 0) for part in parts if part for value in vars(part).values())

    def with_arrays(self, values: "Mapping[str, Values | str | None]") -> "Knife":
        """Many knives in one: an unchecked copy whose numbers at the given paths are arrays of shape (m, 1), or one
        number for all.

        For the numerical core only, and for a what-if that is no knife to make: it broadcasts over them as over one
        number, and leaves the judgement of each knife to mechanics.limits.
        """
        _table("values", values, '{"friction.rim": np.array([[0.1], [0.2]])}')
        return swap(self, {tuple(steps_of(self, path)): value for path, value in values.items()})

    def take(self, rows: "np.ndarray | list[int]") -> "Knife":
        """The knives with the given indexes out of many in one (see with_arrays)."""
        arrays = {path: self.get(path) for path in self.paths()}
        return self.with_arrays({path: values[rows] for path, values in arrays.items() if getattr(values, "ndim", 0)})


PARTS = {BALL: Ball, RECESS: Recess, BAR: LockBar, BLADE: Blade, FRICTION: Friction}
FIELDS = {f"{kind}.{each.name}": each for kind, part in PARTS.items() for each in fields(part)}  # see paths.Place.field
NUMBERS = tuple(name for name, each in FIELDS.items() if "rule" in each.metadata)
BALL_FIELDS = tuple(name for name in NUMBERS if FIELDS[name] in (*fields(Ball), *fields(Recess)))


def spec(path: str) -> Mapping[str, Any]:
    """Metadata of the field at a path: meaning, unit, rule, typical (see module).

    >>> spec("balls[0].recess.diameter")["unit"]
    'mm'
    """
    return FIELDS[field_of(path)].metadata


def name_of(path: str, *knives: Knife) -> str:
    """A number of one or more knives in words: what it is, and whose where one of them has several balls or bars.

    >>> ball = Ball(1.5, 0.42, 8.0, 36.4, Recess(1.3))
    >>> knife = Knife("A", [ball], LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12))
    >>> name_of("balls[0].recess.diameter", knife)
    'diameter of the recess'
    """
    place, meaning = place_of(path), spec(path)["meaning"]
    if place.ball is not None and any(len(knife.balls) > 1 for knife in knives):
        return f"ball {place.ball + 1}: {meaning}"
    return f"second leaf: {meaning}" if place.kind == BAR and place.index else meaning


def unmeasured(*knives: Knife) -> tuple[str, ...]:
    """One sentence on the numbers that nobody measured; empty where there are none."""
    words = dict.fromkeys(word for knife in knives for word in assumed_words(knife))
    return (f"{UNMEASURED[0].lower()}{UNMEASURED[1:]}: {'; '.join(words)}",) if words else ()


def guessed(*knives: Knife) -> tuple[str, ...]:
    """One sentence on the numbers that somebody gave without saying how sure they are; empty where there are none."""
    paths = {path: knife for knife in knives for path in knife.assumed if said_of(knife, path)}
    words = dict.fromkeys(name_of(path, knife) for path, knife in paths.items())
    return (f"a guess, not measured: {'; '.join(words)}",) if words else ()


def said_of(knife: Knife, path: str) -> object | None:
    """What somebody wrote of a number, or of what it was read by, as knife.said has it; None where nobody wrote any."""
    return knife.said.get(path) or knife.said.get(other_way(path))


def assumed_words(knife: Knife) -> list[str]:
    """The numbers of a knife that nobody measured, in words; one that somebody gave without saying how sure it is, as a
    guess.

    The gap at which a bar lies parallel to the tang moves no number of one ball alone; of two balls on a bar it does.

    >>> ball, bar = Ball(1.5, 0.42, 8.0, 36.4, Recess(1.3)), LockBar(17.0, rate=10.3)
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12), assumed=["bar.rate"])
    >>> assumed_words(knife)
    ['rate of the bar at ball 1']
    """
    found = [f"{name_of(path, knife)}{' (a guess)' if said_of(knife, path) else ''}" for path in knife.assumed]
    two = [ball.bar for ball in knife.balls].count(0) > 1
    if two and knife.bar.parallel_gap is None:
        found.append(f"{spec('bar.parallel_gap')['meaning']} (taken as where ball 1 rides the flat)")
    return found
