"""The strips of the paper model: the bar with its ball, and the tang with its recess, in the plane through both axes."""

import math

import numpy as np
from matplotlib.patches import Circle, Polygon, Rectangle

from ...mechanics.formulas import formulas
from ...units import convert
from ..panels.drawing import BALLS, BAR, GREY, INK, SMALL, STEEL, STYLES, TANG
from ..panels.section import recess_profile
from .template_page import ROOM, TOP, WIDE, WIDTH, words

_PAST = 1.6  # the strips show the ball so far past its rim, in ball radii
_SIDE = 2.1  # to the left of the axis, in ball radii
_TANG, _DEEP = 1.4, 1.08  # height of the tang strip above its face, and of a recess whose floor is not known; ball radii
_EDGE = 0.35  # of the bar strip beyond what it has to hold, in ball radii
_STEPS = (0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0)  # degrees between the lines of the ruler
_APART = 1.2  # least mm on paper between the lines of the ruler
_WORDS, _GAP = 43.0, 14.0  # mm on paper: for the words at the top, between the strips


def strip_width(ball):
    """Width of the wider strip [mm of the knife]: the tang strip, from its idle side to the last blade angle of its ruler."""
    return _SIDE * ball.radius + ball.recess.rim_radius + ball.recess.edge_radius + _PAST * ball.radius


def strips_limit(ball):
    """The largest scale at which both strips of a ball fit a page."""
    high = _TANG * ball.radius + _above(ball) + _below(ball)
    return min((WIDTH - 2 * WIDE) / strip_width(ball), (ROOM - _WORDS - _GAP) / high)


def least_scale(ball):
    """The smallest scale at which the lines of the ruler on the tang strip stand apart."""
    return _APART / (math.radians(ball.track_radius) * _STEPS[-1])


def _above(ball):
    """Height of the bar strip above the bar face [mm]: the line of the ball shows above the tang strip."""
    return (_TANG + _EDGE) * ball.radius + ball.protrusion


def _below(ball):
    """Depth of the bar strip below the bar face [mm]: it holds the ball."""
    return 2 * ball.radius - ball.protrusion + _EDGE * ball.radius


def strips(ax, knife, i, felt, scale, page):
    """Draw both strips of ball i into the axes of a page; felt: what the pressing knife feels like."""
    ball, colour = knife.balls[i], BALLS[i % 3]
    left = (WIDTH - strip_width(ball) * scale) / 2
    words(ax, *_how_to(i), _pressing(ball, i, felt))
    tang_face = TOP - _WORDS - _TANG * ball.radius * scale
    _tang_strip(ax, ball, left, tang_face, scale, f"{i + 1}-{page}")
    bar_face = tang_face - _GAP - _above(ball) * scale
    _bar_strip(ax, ball, i, left + _SIDE * ball.radius * scale, bar_face, left, scale, colour)


def _how_to(i):
    return (
        f"Cut out both strips, and the recess out of the tang strip. Lay the tang strip over the bar strip, its face towards ball {i + 1}, level.",
        "Slide it until the line of the ball points at a blade angle of its ruler, then let it down until it touches the ball.",
        "Where its lower edge crosses the rulers of the bar strip, read the gap; see where the rim touches. Put the gap on the tracing sheet.",
        "Opening slides the tang to the left. The strips lie in the plane through the axes of ball and recess: the distance of the two",
        "is laid out straight, and the ruler has the blade angles at their true distances (L2).",
    )


def _pressing(ball, i, felt):
    """Where the shut knife stands with its bar pressing, seen on the ruler of the stripped parts."""
    taken = math.degrees((ball.recess.rest_offset - felt.loaded_offset[i]) / ball.track_radius)
    if abs(taken) < 0.005:
        return "The shut knife stands at 0° of the ruler."
    said = f"{taken:.2f}° before 0° of the ruler" if taken > 0 else f"at {-taken:.2f}° of the ruler"
    return f"These are the stripped parts. On the pressing knife the rim takes the bar along sideways: shut, ball {i + 1} stands {said}."


def ruler(ball, scale):
    """(blade angles [deg], distances of the ball from the middle of the recess [mm], every how many a number) of the ruler on the tang strip."""
    recess = ball.recess
    wide = math.radians(ball.track_radius) * scale  # mm on paper per degree
    step = next(step for step in _STEPS if step * wide >= _APART)
    named = math.ceil(6.5 / (step * wide))
    angles = np.arange(0, 90, step)
    place = formulas["L2"](theta=np.radians(angles), track_radius=ball.track_radius, off_track=recess.off_track, rest_offset=recess.rest_offset)
    side = np.where(place.cos_chi < 0, -1.0, 1.0) if recess.rest_offset < 0 else np.ones(len(angles))
    inside = place.distance <= recess.rim_radius + recess.edge_radius + (_PAST - 0.3) * ball.radius
    return angles[inside], (side * place.distance)[inside], named


def _tang_strip(ax, ball, left, face, scale, name):
    """The tang with its recess: metal shaded, the recess to be cut out, the ruler of blade angles along its upper edge."""
    recess, radius = ball.recess, ball.radius
    width, height = strip_width(ball) * scale, _TANG * radius * scale
    middle = left + _SIDE * radius * scale
    half = recess_profile(recess, _DEEP * radius) * scale
    right, other = np.add(half, (middle, face)), np.add(half * (-1, 1), (middle, face))
    corners = [(left, face), *other, *right[::-1], (left + width, face), (left + width, face + height), (left, face + height)]
    ax.add_patch(Polygon(corners, closed=True, fc=TANG, ec=INK, lw=1.0, gid=f"tang-{name}"))
    ax.plot([middle, middle], [half[-1, 1] + face, face + height], color=GREY, lw=0.7, ls=(0, (8, 2, 2, 2)))
    angles, distances, named = ruler(ball, scale)
    for k, (angle, distance) in enumerate(zip(angles, distances, strict=True)):
        x, long = middle + distance * scale, k % named == 0
        ax.plot([x, x], [face + height, face + height - (3.2 if long else 2.0)], color=INK, lw=0.6, gid=f"angle-{name}-{angle:.4g}")
        if long:
            ax.text(x, face + height - 3.6, f"{angle:.4g}°", size=7, ha="center", va="top")
    ax.text(left + 2, face + 2, "tang", size=SMALL, va="bottom")
    ax.text(left + 2, face + height - 2, "blade angle →", size=SMALL, va="top")
    ax.plot([left, left + width], [face, face], color=GREY, lw=0.5, ls=STYLES[2])


def _bar_strip(ax, ball, i, axis, face, left, scale, colour):
    """The bar with its ball, the line of the ball's axis, and the ruler for the gap."""
    radius, width = ball.radius * scale, strip_width(ball) * scale
    below, above = _below(ball) * scale, _above(ball) * scale
    centre = face + ball.protrusion * scale - radius
    ax.add_patch(Rectangle((left, face - below), width, below + above, fc="white", ec=INK, lw=1.0))
    ax.add_patch(Rectangle((left, face - below), width, below, fc=BAR, ec=INK, lw=1.0, gid=f"bar-{i + 1}"))
    ax.add_patch(Circle((axis, centre), radius, fc=STEEL, ec=INK, lw=1.0, gid=f"ball-{i + 1}"))
    ax.plot([axis, axis], [centre - 0.25 * radius, face + above], color=colour, lw=0.9, ls=(0, (8, 2, 2, 2)))
    ax.plot([axis - 2, axis + 2], [centre, centre], color=INK, lw=0.6)
    ax.text(axis + 1.5, face + above - 1.5, f"axis of ball {i + 1}", size=SMALL, color=colour, va="top")
    ax.text(left + 2, face - below + 2, "lock bar", size=SMALL, va="bottom")
    for x, unit, step in ((left + 12, "mm", 0.05), (left + width - 14, "thou", 2.0)):
        _gap_ruler(ax, x, face, ball.protrusion * scale * 1.15, scale, unit, step, i + 1)


def _gap_ruler(ax, x, face, height, scale, unit, step, name):
    """Gap from the bar face upwards, in mm or thou of the knife."""
    ax.plot([x, x], [face, face + height], color=INK, lw=0.7)
    named = next(many for many in (1, 2, 4, 10, 20, 100) if many * scale * convert(step, unit, "mm") >= 3.0 or many == 100)
    for k in range(1000):
        gap = convert(step * k, unit, "mm")
        y = face + gap * scale
        if y > face + height:
            break
        ax.plot([x, x + 2.5], [y, y], color=INK, lw=0.6, gid=f"gap-{name}-{unit}-{step * k:.4g}")
        if k % named == 0:
            ax.text(x + 3, y, f"{step * k:.4g}", size=6.5, va="center")
    ax.text(x - 1, face + height + 1, f"gap, {unit}", size=7, va="bottom")
