"""Strength and marks (S1 to S4): how hard ball and tang press, when that leaves a track, how fast it wears.

Elastic contact figures are comparisons once a contact has yielded, and wear is an order of size only.
"""

import math
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.given import given_kind, given_knife, given_word
from ..knife.materials import BALLS, TANGS
from ..knife.parts import Knife
from .carry import Detent
from .feel import Feel, relief_stress
from .sweep import SENSE, Sweep

YIELD_FACTOR = 1.6  # greatest pressure over yield stress at first yield (Johnson, Contact Mechanics, 1985; from memory)
# MPa, and the dent it leaves as a share of the ball diameter (ISO 76:2006); made for hard steel
STATIC_LIMIT, DENT = 4200.0, 1e-4
HARD = 6000.0  # MPa of hardness, about 57 HRC, from which that limit may be asked
RIM_EDGE = 0.02  # mm, what a careful deburr leaves; common practice
WEAR_RANGE = (1e-8, 1e-4)  # of the form with the factor 3: oiled boundary contact (from memory) to starved hard steel
_NEARLY_ROUND = 1 - 1e-9


class Contact(NamedTuple):
    """One contact.

    load square to it [N], short half axis of the spot [mm], greatest pressure [MPa], and how many times the pressure of
    first yield that is.
    """

    load: float
    short_axis: float
    pressure: float
    of_yield: float


class ContactMarks(NamedTuple):
    """What the loads of a knife do to tang and ball.

    flat: Contact riding the flat; rim: Contact at rest on the rim, taken with edge_radius [mm] where the rim is sharp;
    first_yield and static: loads [N] on the flat at which the softer body first yields and at which a bearing maker
    would stop (None for a body too soft for his limit); track: in words; flat_per_1000: (low, high) of the depth of the
    flat worn on the ball in 1000 cycles [mm].
    """

    ball: int
    flat: Contact
    rim: Contact
    edge_radius: float
    first_yield: float
    static: float | None
    track: str
    flat_per_1000: tuple


def contact_modulus(ball: str, tang: str) -> float:
    """Contact modulus E* [MPa] of a ball and a tang material, each by name (S1a).

    >>> round(contact_modulus("52100", "hard blade steel") / 1000)
    113
    """
    one, other = _material(ball, BALLS, "ball"), _material(tang, TANGS, "tang")
    return formulas["S1a"](
        youngs_modulus_1=one.youngs_modulus,
        poisson_1=one.poisson,
        youngs_modulus_2=other.youngs_modulus,
        poisson_2=other.poisson,
    )


def ellipse(load: float, along: float, across: float, modulus: float) -> tuple[float, float, float, float]:
    """Elliptical contact of relative curvatures along < across [1/mm]: half axes [mm], greatest pressure [MPa], squash
    [mm] (S1, S1b).

    load [N] square to the contact, modulus E* [MPa]. Curvatures that are equal give the round spot of S1. Raises
    ValueError for a curvature that is not above zero: such a contact is a line or a ring, not a spot.

    >>> [round(float(x), 3) for x in ellipse(500.0, 1 / 15, 1 / 5, 210000 / 0.91 / 2)[:2]]  # radii 15, 5 mm on a flat
    [0.431, 0.208]
    """
    if not (0 < along <= across):
        raise ValueError(
            f"relative curvatures {along:g} and {across:g} /mm: the smaller must be above zero, or the contact is a"
            " line or a ring"
        )
    mean = 1 / math.sqrt(along * across)
    round_spot = formulas["S1"](load=load, ball_radius=mean, modulus=modulus)
    ratio = _axis_ratio(across / along)
    if ratio >= _NEARLY_ROUND:
        return round_spot.radius, round_spot.radius, round_spot.pressure, round_spot.squash
    shape = formulas["S1b"](axis_ratio=ratio)
    radius = round_spot.radius * shape.size
    long, short = radius / math.sqrt(ratio), radius * math.sqrt(ratio)
    return long, short, 3 * load / (2 * math.pi * long * short), round_spot.squash * shape.approach


def of_this_knife(feel: object) -> None:
    """Raise ValueError for anything but a Feel."""
    wrong, cure = "is not what a knife feels like", "Give what was found for this knife."
    given_kind("feel", feel, Feel, wrong, "The marks are those of its loads.", cure)


def contact_marks(knife: Knife, feel: Feel, ball: str = "52100", tang: str = "hard blade steel") -> ContactMarks:
    """Marks of one Knife with its Feel, for the ball that rests and rides: ContactMarks (S1 to S4).

    ball and tang name materials (materials.BALLS, materials.TANGS). The wear is a range, by a law that scatters.
    """
    given_knife(knife)
    of_this_knife(feel)
    carrier = max(feel.rest_carrier, 0)
    part, softer = knife.balls[carrier], _softer(ball, tang)
    modulus, radius = contact_modulus(ball, tang), part.radius
    spot = formulas["S1"](load=feel.ride_load, ball_radius=radius, modulus=modulus)
    phi = np.radians(feel.contact_deg[carrier])
    edge = part.recess.edge_radius or RIM_EDGE
    curved = formulas["S1c"](ball_radius=radius, bore_radius=part.recess.diameter / 2, edge_radius=edge, phi=phi)
    pressed = feel.rest_load / np.cos(phi)
    _, rim_axis, rim_pressure, _ = ellipse(pressed, max(curved.along, 1e-6), curved.across, modulus)
    yields = YIELD_FACTOR * softer.yield_stress
    first = formulas["S2"](pressure=yields, ball_radius=radius, modulus=modulus)
    static = (
        formulas["S2"](pressure=STATIC_LIMIT, ball_radius=radius, modulus=modulus) if softer.hardness >= HARD else None
    )
    # one cycle slides the whole swing there and back
    slid = 2 * np.radians(knife.blade.opening_deg) * part.track_radius * 1000
    volumes = tuple(
        formulas["S4"](wear_coefficient=k, load=feel.ride_load, distance=slid, hardness=softer.hardness)
        for k in WEAR_RANGE
    )
    return ContactMarks(
        ball=carrier,
        flat=Contact(feel.ride_load, spot.radius, spot.pressure, spot.pressure / yields),
        rim=Contact(pressed, rim_axis, rim_pressure, rim_pressure / yields),
        edge_radius=edge,
        first_yield=first,
        static=static,
        track=_track(feel.ride_load, first, static, DENT * part.diameter),
        flat_per_1000=tuple(flat_depth(volume, radius) for volume in volumes),
    )


def relief_words(knife: Knife, run: Sweep) -> str:
    """How hard the relief of the first bar is bent through a Sweep, upwards and sideways, against its yield, in words
    (S3, S3a).

    Says so where drawn sizes or yield are not known. How many turns a relief stands is left open on purpose: that hangs
    on the corners and the surface of the cut far more than on this figure.

    >>> from detentlib.mechanics.sweep import sweep
    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar = LockBar(17.04, 1.1, 6.0, 7.0, 3.0, material="Ti-6Al-4V", parallel_gap=0.1454, side_compliance=0)
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12))
    >>> relief_words(knife, sweep(knife))
    'relief bent upwards to 397 to 476 MPa; with the push of the rim up to 499 MPa at one edge, 57 % of yield; ...'
    """
    up, side = relief_stress(knife, Detent(knife).state(np.radians(run.angle_deg), SENSE[run.direction]))
    if up is None:
        return "relief: its drawn sizes are not known, so neither is its stress"
    most, limit = np.max(up + side), knife.bar.yield_stress
    told = (
        f"relief bent upwards to {np.min(up):.0f} to {np.max(up):.0f} MPa; with the push of the rim up to {most:.0f}"
        " MPa at one edge"
    )
    of_yield = "its yield is not known" if limit is None else f"{100 * most / limit:.0f} % of yield"
    return f"{told}, {of_yield}; how many turns it stands is not known here"


def flat_depth(volume: float, ball_radius: float) -> float:
    """Depth of the flat that a worn volume [mm³] leaves on a ball [mm] (S4a solved by halving).

    >>> round(flat_depth(2.48317e-4, 0.79375), 4)
    0.01
    """
    low, high = 0.0, ball_radius
    for _ in range(60):
        middle = (low + high) / 2
        if formulas["S4a"](depth=middle, ball_radius=ball_radius) < volume:
            low = middle
        else:
            high = middle
    return high


def _track(load, first, static, dent):
    """What the tang shows, in words. dent: what the static limit would leave [mm]."""
    if load < first:
        return "below first yield: no track by pressing, at most a polish"
    if static is None:
        return "past first yield in a soft tang: a track is pressed in at once, until it is wide enough to carry"
    if load < static:
        shallow = f"a dent of less than {1000 * dent:.2g} µm, too shallow to see"
        return (
            f"past first yield, below the bearing maker's limit: {shallow}; the bright track there at once is"
            " burnished, and stays"
        )
    return "past the bearing maker's limit: a groove pressed in"


def _softer(ball, tang):
    one, other = _material(ball, BALLS, "ball"), _material(tang, TANGS, "tang")
    return other if one.yield_stress is None or other.yield_stress <= one.yield_stress else one


def _material(name, table, what):
    return table[given_word(what, name, table, f"the material of the {what}")]


def _axis_ratio(curvature_ratio):
    """Axis ratio of the ellipse for a ratio of curvatures (S1b solved by halving the logarithm)."""
    if curvature_ratio <= 1 / _NEARLY_ROUND:
        return 1.0
    low, high = -25.0, np.log(_NEARLY_ROUND)
    for _ in range(80):
        middle = (low + high) / 2
        if formulas["S1b"](axis_ratio=np.exp(middle)).curvature_ratio > curvature_ratio:
            low = middle
        else:
            high = middle
    return float(np.exp(high))
