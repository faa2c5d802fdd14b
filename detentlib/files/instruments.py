"""How a number was measured: instruments with their ± (95 %), for files and forms, for the advice what to measure
next and for the bench sheet.
"""

import difflib
import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from ..knife.paths import field_of
from ..knife.units import UnitError, Within, two_digits
from .pulled import PULLED

GUESS, EXACTLY = "guess", "exactly"
_ABOUT = re.compile(r"(?i)\s*(?:(?:about|around|roughly|approx\.?)(?=[\s\d.#])|~)\s*")
_PULLS = tuple(PULLED)


class Share(NamedTuple):
    """A ± that goes with the number: its share of it."""

    share: float


class Way(NamedTuple):
    """One word for how a number was measured: what it reads, how its ± comes about, and ((±, Within or Share, fields),
    ...).

    Fields as of paths.Place: "recess.depth" is that of any ball, "bar.rate" also that of a second leaf.
    """

    reads: str
    why: str
    doubts: tuple


# ± of careful bench work: the error limit, and what feel, sight and placing add (common practice); standards are from
# memory where they say so. What INSTRUMENTS below says of a word goes first
WAYS = {
    "calipers": Way(
        "lengths between its jaws",
        "error limit 0.02 to 0.03 mm (DIN 862, ISO 13385-1, from memory), and the feel of the jaws; more from the"
        " middle of a hole or a ball",
        (
            (0.05, ("ball.diameter", "blade.pin_diameter", "bar.relief_thickness", "bar.thickness")),
            (0.08, ("ball.further_out",)),
            (0.05, ("friction.washer_radius", "friction.pin_radius")),
            (0.20, ("ball.track_radius", "ball.side_offset", "blade.stop_radius", "bar.preset")),
        ),
    ),
    "caliper depth rod": Way(
        "depths and heights",
        "error limit as of the jaws, or a little more; it tilts on a narrow base",
        ((0.06, ("recess.depth",)),),
    ),
    "depth micrometer": Way(
        "depths and heights",
        "error limit 0.005 mm (DIN 863-2, from memory), as much again for its base on a narrow bar",
        ((0.02, ("recess.depth",)), (0.014, ("ball.lower_by",))),
    ),
    "micrometer": Way(
        "lengths between its faces",
        "error limit 0.004 mm to 25 mm (DIN 863-1, from memory); in a relief its ball end must find the thinnest place",
        ((0.004, ("blade.pin_diameter",)), (0.010, ("bar.width", "friction.pin_radius"))),
    ),
    "pin gauges": Way(
        "holes",
        "steps of a thou: the hole lies between the pin that goes and the one that does not; pins to 0.002 mm (DIN"
        " 2269, from memory)",
        ((0.037, ("recess.smaller_by",)),),
    ),
    "feeler gauge": Way(
        "gaps", "leaves to 0.005 mm (DIN 2275, from memory), and the feel of the drag", ((0.02, ("bar.parallel_gap",)),)
    ),
    "dial indicator": Way(
        "lifts",
        "error limit 0.017 mm over 10 mm (DIN 878, from memory); less over a short way; a give by it and a pull of some"
        " 20 N",
        (
            (0.01, ("blade.pivot_play", "ball.lower_by")),
            (0.02, ("recess.rim_gap", "bar.parallel_gap")),
            (0.05, ("bar.preset",)),
            (0.0005, ("bar.side_compliance",)),
        ),
    ),
    "height gauge": Way(
        "lengths from a bore",
        "error limit 0.03 mm, twice, and the finding of the edge",
        ((0.10, ("ball.track_radius", "blade.stop_radius")),),
    ),
    "microscope": Way(
        "small lengths and angles",
        "stage scale of 0.01 mm, and what counts as the edge",
        (
            (0.02, ("recess.rim_gap", "recess.rest_offset", "recess.off_track")),
            (0.028, ("recess.smaller_by",)),
            (0.05, ("ball.side_offset", "ball.further_out")),
            (0.5, ("ball.bearing_deg",)),
            (3.0, ("recess.chamfer_deg",)),
        ),
    ),
    "photo": Way(
        "small lengths and angles",
        "a pixel or two, the scale laid beside it, tilt",
        (
            (0.03, ("recess.rim_gap", "recess.diameter", "recess.chamfer_width", "recess.edge_radius")),
            (0.10, ("ball.track_radius", "ball.side_offset")),
            (1.0, ("ball.bearing_deg",)),
            (3.0, ("recess.chamfer_deg", "ball.edge_deg", "ball.track_to_bar_deg")),
        ),
    ),
    "ruler": Way(
        "lengths",
        "half of a millimetre, and the finding of both ends",
        (
            (0.5, ("ball.track_radius", "ball.further_out", "ball.hinge_distance", "ball.side_offset")),
            (0.5, ("bar.relief_length", "bar.width", "blade.stop_radius")),
            (1.0, ("blade.tab_arm", "blade.stud_arm", "blade.balance_radius")),
        ),
    ),
    "protractor": Way(
        "angles",
        "printed, read to half a degree, its middle under the pivot as well as it goes",
        (
            (1.0, ("ball.bearing_deg", "ball.run_off_deg", "blade.opening_deg")),
            (3.0, ("ball.edge_deg", "ball.track_to_bar_deg")),
        ),
    ),
    "pull gauge": Way(
        "forces, and what a force gives",
        "1 % of full scale, and how square and how slowly it is pulled",
        ((Share(0.10), ("bar.rate",)), (0.7, _PULLS)),
    ),
    "luggage scale": Way(
        "forces, and what a force gives",
        "steps of 10 to 50 g, and a hook that finds its own angle",
        ((1.5, ("bar.riding_force", *_PULLS)), (Share(0.20), ("bar.rate",)), (2.0, ("friction.pivot_torque",))),
    ),
    "two-way pull": Way("friction", "opening and letting back, five times each (F6)", ()),
    "scale": Way("masses", "steps of 0.1 g", ((0.2, ("blade.mass",)),)),
    "drawing": Way(
        "what a part was meant to be",
        "general tolerances 0.1 mm to 6 mm, 0.2 to 30, 0.3 to 120, and 1° (ISO 2768-1, medium, from memory); an inertia"
        " from the drawn shape",
        (
            (0.10, ("ball.protrusion", "recess.diameter", "recess.depth", "recess.chamfer_width")),
            (0.10, ("bar.relief_thickness", "bar.thickness")),
            (0.20, ("ball.track_radius", "ball.side_offset", "bar.relief_length", "bar.width")),
            (0.20, ("blade.tab_arm", "blade.stud_arm", "blade.stop_radius")),
            (0.30, ("ball.hinge_distance",)),
            (1.0, ("ball.bearing_deg", "ball.run_off_deg", "ball.edge_deg", "ball.track_to_bar_deg")),
            (1.0, ("recess.chamfer_deg", "blade.opening_deg")),
            (Share(0.10), ("blade.inertia",)),
        ),
    ),
    "stock size": Way(
        "bought balls and pins",
        "no further than 0.009 mm from its name (a lot of balls of grade 10, ISO 3290-1)",
        ((Within(0.009), ("ball.diameter", "blade.pin_diameter")),),
    ),
    "drill": Way("drilled holes", "as its drill, which cuts a little large", ((0.040, ("recess.diameter",)),)),
    "data sheet": Way(
        "materials",
        "such tables differ among themselves by about 3 % on moduli and 10 % on strengths",
        (
            (Share(0.03), ("bar.youngs_modulus", "bar.shear_modulus", "ball.contact_modulus")),
            (Share(0.10), ("bar.yield_stress",)),
        ),
    ),
    GUESS: Way(
        "any number",
        "nobody said how it was measured: about twice the ± of a rough way to measure it, else the usual range;"
        " judgement",
        (
            (0.060, ("ball.diameter", "blade.pin_diameter", "recess.rim_gap")),
            (
                0.120,
                ("ball.protrusion", "recess.diameter", "recess.depth", "recess.chamfer_width", "recess.edge_radius"),
            ),
            (0.120, ("bar.relief_thickness", "bar.thickness", "bar.parallel_gap")),
            (0.020, ("ball.lower_by",)),  # how well a press by hand repeats a height: common practice, low confidence
            (0.080, ("recess.smaller_by",)),
            (0.400, ("bar.preset",)),
            (0.800, ("ball.track_radius", "ball.side_offset", "bar.relief_length", "bar.width")),
            (0.800, ("ball.further_out",)),
            (0.800, ("blade.stop_radius", "friction.washer_radius", "friction.pin_radius")),
            (1.000, ("ball.hinge_distance",)),
            (1.200, ("blade.tab_arm", "blade.stud_arm")),
            (3.000, ("blade.balance_radius", "blade.mass", "bar.riding_force", *_PULLS)),
            (3.000, ("ball.bearing_deg", "ball.run_off_deg", "blade.opening_deg")),
            (10.00, ("ball.edge_deg", "ball.track_to_bar_deg", "recess.chamfer_deg")),
            (0.040, ("friction.flat", "friction.washer", "friction.pin")),
            (Share(0.06), ("bar.youngs_modulus", "bar.shear_modulus", "ball.contact_modulus")),
            (Share(0.20), ("bar.rate", "bar.yield_stress", "blade.inertia")),
        ),
    ),
}


class Instrument(NamedTuple):
    """One way of measuring one kind of number.

    Its name, the fields it reads (see paths.Place), its ± (95 %) in their unit, minutes, its word, and how often to
    read it.
    """

    name: str
    fields: tuple
    doubt: float
    minutes: float
    word: str = ""  # of what is no number of the card, none
    times: int = 3  # by how much a hand shakes, not by how fine the instrument is (common practice)

    def reads(self, path: str) -> bool:
        """Whether it reads the number at a path."""
        return field_of(path) in self.fields


# ± twice the standard deviations of careful bench work: common practice; minutes: judgement
INSTRUMENTS = (
    Instrument("micrometer on the ball", ("ball.diameter",), 0.004, 5, "micrometer"),
    Instrument("depth micrometer over the ball", ("ball.protrusion",), 0.010, 5, "depth micrometer", 10),
    Instrument("calipers, depth rod", ("ball.protrusion",), 0.060, 2, "caliper depth rod", 10),
    Instrument("plug pins in steps of a thou", ("recess.diameter",), 0.026, 5, "pin gauges", 2),
    Instrument(
        "microscope with a stage scale",
        ("recess.diameter", "recess.chamfer_width", "recess.edge_radius"),
        0.020,
        15,
        "microscope",
    ),
    Instrument("photo of recess against ball", ("recess.rest_offset", "recess.off_track"), 0.030, 30, "photo", 2),
    Instrument("lift trace with a dial indicator", ("recess.rest_offset",), 0.020, 20, "dial indicator", 2),
    Instrument("microscope stage or buttons", ("ball.track_radius",), 0.050, 20, "microscope"),
    Instrument("calipers", ("ball.hinge_distance", "bar.relief_length", "bar.width"), 0.080, 3, "calipers"),
    Instrument("calipers from the pivot centre", ("blade.tab_arm", "blade.stud_arm"), 0.600, 3, "calipers"),
    Instrument("height gauge from the pivot bore", ("blade.tab_arm", "blade.stud_arm"), 0.100, 10, "height gauge"),
    Instrument("ball-end micrometer", ("bar.relief_thickness", "bar.thickness"), 0.020, 5, "micrometer"),
    Instrument("pull gauge at the ball", ("bar.riding_force",), 0.700, 10, "pull gauge", 5),
    Instrument("two-way pull, five times", ("friction.rim", "friction.flat"), 0.020, 10, "two-way pull", 5),
    Instrument("pull gauge with the bar lifted off", ("friction.pivot_torque",), 1.000, 10, "pull gauge", 5),
)

# what the bench sheet calls a way, and the trade, to the word for it
_ALSO = {each.name: each.word for each in INSTRUMENTS} | {"plug pins": "pin gauges", "plug pin": "pin gauges"}


def instrument_for(path: str, word: str) -> Instrument:
    """The Instrument of the table that reads a number, by the word that files have for it.

    >>> instrument_for("balls[0].protrusion", "caliper depth rod").doubt
    0.06
    """
    return next(each for each in INSTRUMENTS if each.word == word and each.reads(path))


class Said(NamedTuple):
    """A number as somebody wrote it: the text with its unit and perhaps a ±, and the word for how it was measured,
    "" where the ± was given by hand.
    """

    text: str
    word: str

    def __str__(self):
        """As a knife file holds it."""
        return f"{self.text}, {self.word}" if self.word else self.text


def read_said(text: str) -> Said:
    """The Said of a text, its word as written: what follows the first comma that no digit and no limit follows; "about"
    makes it a guess, and what the bench sheet calls a way counts as the word for it.

    >>> read_said("0.420 mm, depth micrometer"), read_said("14.0 mm ± 0.2"), read_said("about 0.13")
    (Said(text='0.420 mm', word='depth micrometer'), Said(text='14.0 mm ± 0.2', word=''), Said(text='0.13', ...))
    >>> read_said("1.15, ball-end micrometer").word
    'micrometer'
    """
    match = re.match(r"(?si)(.*?),(?!\s*(?:\d|within\b))(.*)", text)
    if match is None:
        about = _ABOUT.match(text)
        return Said(text[about.end() :].strip(), GUESS) if about else Said(text.strip(), "")
    word = " ".join(match[2].lower().split())
    return Said(match[1].strip(), _ALSO.get(word, word))


def doubt_by(word: str, path: str, value: float, data: Mapping[str, Any]) -> float:
    """± (95 %) of a number of files and forms, in its unit, from the word for how it was measured; never 0.

    path: of the number; value: in its unit; data: its metadata (see `spec`). Raises UnitError for a word that is not in
    the table, with those near it, and for one that cannot measure such a number.

    >>> from detentlib.knife.parts import spec
    >>> arm, force = spec("blade.tab_arm"), spec("bar.riding_force")
    >>> doubt_by("calipers", "blade.tab_arm", 14.0, arm), doubt_by("pull gauge", "bar.riding_force", 17.0, force)
    (0.6, 0.7)
    >>> doubt_by("pull gauge", "blade.tab_arm", 14.0, arm)
    Traceback (most recent call last):
    detentlib.knife.units.UnitError: 'pull gauge' cannot measure the tab arm (pivot to the place of the push). \
It is for forces, and what a force gives; this one is had by calipers, height gauge, ruler, drawing or guess.
    """
    if word not in WAYS:
        raise _unknown(word)
    found = _doubt(word, path, value, data)
    if found is None:
        raise _unfit(word, path, data)
    return found


def words_for(path: str, data: Mapping[str, Any]) -> tuple[str, ...]:
    """The words for how a number of files and forms can have been measured, in the order of the table; the guess stands
    last.

    >>> from detentlib.knife.parts import spec
    >>> words_for("friction.rim", spec("friction.rim"))
    ('two-way pull', 'guess')
    """
    return tuple(word for word in WAYS if _doubt(word, path, 1.0, data) is not None)


def _doubt(word, path, value, data):
    """± of the number by this word, None where it cannot measure it."""
    own = [each.doubt for each in INSTRUMENTS if each.word == word and each.reads(path)]
    own += [doubt for doubt, fields in WAYS[word].doubts if field_of(path) in fields]
    own += [data["typical"].doubt] if word == GUESS and data["typical"] else []
    found = own[0] if own else None
    return two_digits(found.share * abs(value)) if isinstance(found, Share) else found


def _unknown(word):
    near = difflib.get_close_matches(word, (*WAYS, EXACTLY), 3, 0.5)
    cure = f"Did you mean {_either(near)}?" if near else f"Write one of {_either((*WAYS, EXACTLY))}; or a ± instead."
    return UnitError(word, "is no way of measuring that is known here", cure)


def _unfit(word, path, data):
    cure = f"It is for {WAYS[word].reads}; this one is had by {_either(words_for(path, data))}."
    return UnitError(word, f"cannot measure the {data['meaning']}", cure)


def _either(words):
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last
