"""Circles on a photo (M2): the rim of a recess, or a ball, from points picked along its edge, and where one lies
against the other.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..knife.checks import refuse, short
from ..knife.given import given_number
from .given import given_places, given_readings, given_value
from .readings import ReadingError, Readings
from .value import Value, covariance, coverage_factor

_AT_MIDDLE = 1e-9  # of the size of all points
_ALL_ROUND = 240.0  # deg: from here on points show whether an edge is oval
SHORT_ARC = 120.0  # deg: below this a circle is poorly held, and the algebraic fit leans to small circles


@dataclass(frozen=True)
class Circle:
    """A circle fitted to points, in the unit of the points.

    x, y, radius: Values with their ± (95 %); centre_spread: covariance of (x, y), one standard deviation squared;
    method: as of `fit_circle`; oval: by what share the edge is longer one way than across, a Value, None where too few
    points or too short an arc show it; scatter: standard deviation of the points from the circle; arc_deg: how much of
    the circle the points cover; warning: what to beware of, empty if nothing; unit.
    """

    x: Value
    y: Value
    radius: Value
    centre_spread: tuple
    method: str
    oval: Value | None
    scatter: float
    arc_deg: float
    points: int
    warning: str
    unit: str = ""

    @property
    def diameter(self) -> Value:
        """Twice the radius."""
        return Value(2 * self.radius.value, 2 * self.radius.doubt)


class Offset(NamedTuple):
    """Where a recess lies against its ball: rest_offset along the track and off_track across it [mm], Values."""

    rest_offset: Value
    off_track: Value


def fit_circle(
    points: Readings | Sequence[Sequence[float]] | np.ndarray,
    method: str = "geometric",
    scale: float | tuple[float, float] = 1.0,
    unit: str = "mm",
) -> Circle:
    """The circle through points picked along an edge.

    points: Readings of the kind "photo points", or pairs or an array (n, 2). method: "geometric" makes the squared
    distances from the circle least, the fit to use; "algebraic" makes the squared differences of squared radii least
    (the Kåsa fit): quick, but it leans to small circles on a short arc; "constrained" the same over the mean squared
    slope (Taubin's fit), which hardly does. scale: mm per unit of the points, a number or a Value from `scale_from`,
    whose ± then counts in the radius. An edge seen askew is oval: how far the points are, beyond what their scatter
    makes, counts in the ± of the radius. Raises ReadingError for fewer than three points, points on a line or a point
    in the middle; ValueError for what are no points, and for a method, scale or unit that is none.

    >>> round(fit_circle(np.array([[1, 0], [0, 1], [-1, 0.0], [0, -1.0]])).radius.value, 6)
    1.0
    """
    xy, source = _places(points)
    if not isinstance(method, str) or method not in _FITS:
        raise ValueError(f"method {short(method)} is not known: take {', '.join(_FITS)}")
    given = scale if isinstance(scale, (tuple, list)) else (scale, 0.0)
    per_unit, scale_doubt = given_value("scale", given, "scale, mm per unit of the points", rule="positive")
    if not isinstance(unit, str):
        raise refuse(
            "unit",
            unit,
            "is not the name of a unit",
            "It is the unit that scale takes the points to.",
            'Give "mm" or "px".',
        )
    xy = xy * per_unit
    if len(xy) < 3:
        raise ReadingError("has fewer than three points. A circle needs three, and a ± needs more", source)
    middle = xy.mean(axis=0)
    size = np.linalg.norm(xy - middle, axis=1).max()
    unit_xy = (xy - middle) / (size or 1.0)
    if np.linalg.svd(unit_xy, compute_uv=False)[-1] < 1e-9 * math.sqrt(len(xy)):
        raise ReadingError("has points on one line or in one place: there is no circle through them", source)
    found = _FITS[method](unit_xy)
    x, y, radius = found[0] * size + middle[0], found[1] * size + middle[1], found[2] * size
    away = xy - (x, y)
    distance = np.linalg.norm(away, axis=1)
    middling = np.flatnonzero(distance < _AT_MIDDLE * size)
    if middling.size:
        told = f"point {middling[0] + 1} lies in the middle of the circle, not on its edge"
        raise ReadingError(f"{told}. Take it out", source)
    free = len(xy) - 3
    scatter = float(np.sqrt(np.sum((distance - radius) ** 2) / free)) if free else 0.0
    slopes = np.column_stack([-away / distance[:, None], -np.ones(len(xy))])
    arc = _covered(away)
    oval = _oval(away, radius) if free > 2 and arc >= _ALL_ROUND else None
    crest = _beyond(oval) * radius / 2
    factor = coverage_factor(free) if free else 0.0
    spread = covariance(slopes, scatter**2)
    radius_doubt = factor * math.sqrt(spread[2, 2]) + crest
    # points that lie unevenly round an oval draw the circle to one side; the oval may lie any way, each as likely
    drawn = np.linalg.lstsq(slopes, crest / math.sqrt(2) * _waves(away, 2))[0]
    spread = spread + drawn @ drawn.T
    doubts = [*(factor * np.sqrt(np.diag(spread)[:2])), math.hypot(radius_doubt, radius * scale_doubt / per_unit)]
    return Circle(
        *(Value(float(value), float(doubt)) for value, doubt in zip((x, y, radius), doubts, strict=True)),
        centre_spread=tuple(map(tuple, spread[:2, :2].tolist())),
        method=method,
        oval=oval,
        scatter=scatter,
        arc_deg=arc,
        points=len(xy),
        warning=_beware(arc, free, oval, unit_xy, size, radius, doubts[2]),
        unit=unit,
    )


def scale_from(
    first: Sequence[float] | np.ndarray,
    second: Sequence[float] | np.ndarray,
    distance: float,
    doubt: float = 0.0,
    picked: float = 0.0,
) -> Value:
    """Scale of a photo [mm per pixel] as a Value, from two picked points (x, y) a known distance [mm] apart.

    doubt: ± of that distance [mm]; picked: ± of one picked point [pixels]. Raises ReadingError for points in one place.

    >>> scale_from((0, 0), (300, 400), 1.0)
    Value(value=0.002, doubt=0.0)
    """
    first, second = given_places("points of the scale", [first, second])
    distance = given_number("distance", distance, "distance of the two points", "mm")
    doubt = given_number("doubt", doubt, "± of that distance", "mm", "not negative")
    picked = given_number("picked", picked, "± of one picked point", "px", "not negative")
    pixels = math.dist(first, second)
    if pixels == 0:
        raise ReadingError("the two points of the scale lie in one place", "scale")
    return Value(distance / pixels, distance / pixels * math.hypot(doubt / distance, math.sqrt(2) * picked / pixels))


def against_ball(recess: Circle, ball: Circle, track_direction: Sequence[float] | np.ndarray) -> Offset:
    """Rest offset and off-track error of a recess against its ball, from two circles on one photo with the blade shut.

    track_direction: (x, y) in the photo along the track, from the ball towards the working rim as the stop holds it.
    Across the track counts +90° from it. The doubts of both centres add. A
    photo taken askew, as the more oval of the two edges shows it, shortens distances one way: either ± counts how much.
    Not counted is how well two photos are laid over each other, nor that what lies deeper is seen aside: the warning of
    an oval edge says how far.
    """
    for name, circle in (("recess", recess), ("ball", ball)):
        if not isinstance(circle, Circle):
            raise refuse(name, circle, "is not a Circle", "", "Fit one to the points of its edge first.")
    (along,) = given_places("track_direction", [track_direction])
    if not along.any():
        raise refuse(
            "track_direction",
            track_direction,
            "points nowhere",
            "It is where the track runs in the photo.",
            "Give (x, y).",
        )
    along = along / np.linalg.norm(along)
    axes = np.array([along, [-along[1], along[0]]])
    from_recess = np.array([ball.x.value - recess.x.value, ball.y.value - recess.y.value])
    offset = axes @ from_recess
    spread = axes @ (np.array(recess.centre_spread) + np.array(ball.centre_spread)) @ axes.T
    factors = [coverage_factor(max(circle.points - 3, 1)) for circle in (recess, ball)]
    askew = max(_beyond(circle.oval) for circle in (recess, ball))
    doubts = np.hypot(max(factors) * np.sqrt(np.diag(spread)), askew * (np.linalg.norm(offset) + np.abs(offset)) / 2)
    # the recess lies across the track opposite to where the ball lies from it
    return Offset(Value(float(offset[0]), float(doubts[0])), Value(float(-offset[1]), float(doubts[1])))


def _places(points):
    """Points as an array (n, 2), and where they come from."""
    if isinstance(points, Readings):
        given_readings(points, ("photo points",), "photo points are wanted")
        return np.column_stack([points["x"], points["y"]]), points.source
    return given_places("points", points), "points"


def _algebraic(xy):
    """Centre and radius by least squares of x² + y² = 2ax + 2by + c."""
    a, b, c = np.linalg.lstsq(np.column_stack([2 * xy, np.ones(len(xy))]), np.sum(xy**2, axis=1), rcond=None)[0]
    return np.array([a, b, math.sqrt(c + a**2 + b**2)])


def _geometric(xy):
    """Centre and radius by least squares of the distances from the circle."""
    from scipy.optimize import least_squares

    def off(circle):
        return np.hypot(xy[:, 0] - circle[0], xy[:, 1] - circle[1]) - circle[2]

    return least_squares(off, _constrained(xy), x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14).x


def _constrained(xy):
    """Centre and radius of A(x² + y²) + Bx + Cy + D = 0, its squares least for a mean squared slope of 1, by
    eigenvalues.

    Source: G. Taubin, IEEE Transactions on Pattern Analysis and Machine Intelligence 13 (1991) 1115 (from memory).
    """
    middle = xy.mean(axis=0)
    x, y = (xy - middle).T
    z = x**2 + y**2
    mean = z.mean()
    # D follows from the others, and A in a scale that makes the constraint a unit length
    table = np.column_stack([(z - mean) / (2 * math.sqrt(mean)), x, y])
    a, b, c = np.linalg.svd(table, full_matrices=False)[2][-1]
    a /= 2 * math.sqrt(mean)
    centre = -np.array([b, c]) / (2 * a)
    return np.array([*(centre + middle), math.sqrt(centre @ centre + mean)])


_FITS = {"geometric": _geometric, "algebraic": _algebraic, "constrained": _constrained}


def _oval(away, radius):
    """By what share an edge is longer one way than across it, a Value: an ellipse is a circle and a wave of two
    crests round it.
    """
    waves = np.column_stack([np.ones(len(away)), _waves(away, 1), _waves(away, 2)])
    distance = np.linalg.norm(away, axis=1)
    found, *_ = np.linalg.lstsq(waves, distance, rcond=None)
    free = distance.size - found.size
    spread = covariance(waves, float(np.sum((distance - waves @ found) ** 2)) / free)
    return Value(
        2 * float(np.hypot(*found[3:])) / radius,
        2 * coverage_factor(free) * math.sqrt(float(np.trace(spread[3:, 3:])) / 2) / radius,
    )


def _waves(away, crests):
    """A wave with so many crests round a circle at each point, and the same a quarter of a wave on (n, 2)."""
    turn = np.arctan2(away[:, 1], away[:, 0])
    return np.column_stack([np.cos(crests * turn), np.sin(crests * turn)])


def _beyond(oval):
    """The share by which an edge is oval beyond what its scatter makes by itself; an amplitude is never below
    nothing.
    """
    if oval is None:
        return 0.0
    return math.sqrt(max(oval.value**2 - (oval.doubt / 3) ** 2, 0.0))


def _covered(away):
    """How much of the circle the points cover [deg]: all of it less the widest gap."""
    angles = np.sort(np.degrees(np.arctan2(away[:, 1], away[:, 0])))
    return float(360 - np.max(np.diff(np.append(angles, angles[0] + 360))))


def _beware(arc, free, oval, xy, size, radius, doubt):
    """What to beware of with these points."""
    said = []
    if not free:
        said.append("three points make a circle but no ±: pick more")
    if arc < SHORT_ARC:
        others = {name: 100 * (fit(xy)[2] * size / radius - 1) for name, fit in _FITS.items()}
        lean = " and ".join(f"{off:+.1f} % by the {name} one" for name, off in others.items())
        held = (
            f"the points cover only {arc:.0f}° of the circle, so centre and radius are poorly held along the middle of"
            " the arc"
        )
        said.append(
            f"{held}: the radius may be off by {100 * doubt / radius:.1f} %; from fit to fit it changes, {lean}. Pick"
            " points further round"
        )
    if oval is not None and oval.value > oval.doubt:
        tilt = math.degrees(math.acos(max(1 - oval.value, 0.0)))
        longer = (
            f"the edge is longer one way than across by {100 * oval.value:.1f} ± {100 * oval.doubt:.1f} %, as one"
            f" tilted by {tilt:.0f}° would be"
        )
        aside = f"what lies deeper than it is seen aside by {100 * math.tan(math.radians(tilt)):.0f} % of that depth"
        said.append(f"{longer}: its ± counts that, but not that {aside}. Lay it square to the lens")
    return ". ".join(said)
