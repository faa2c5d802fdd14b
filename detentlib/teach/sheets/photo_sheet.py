"""The page of the paper model that is laid beside a microscope photo: rim, ball and rest offset, seen square on the tang face."""

import math

from matplotlib.patches import Arc, Circle

from ...mechanics.formulas import formulas
from ...units import both, convert
from ..panels.drawing import BALLS, GREY, INK, SMALL, TEXT
from .paper import exactly
from .template_page import ROOM, TOP, WIDE, WIDTH, words

_APART = 0.6  # room round each ball, in ball radii
_COLUMNS = (WIDE, WIDE + 50.0, WIDE + 105.0)  # mm on paper
_ARC_DEG = 16.0  # half of the arc that is drawn where the rim works
_WORDS, _ROWS = 26.0, 72.0  # mm on paper: for the words at the top, for what stands below
_HOW_TO = (
    "Print your photo of the tang, seen square on, so that a millimetre of the knife is as long as on this sheet, and lay one over the other",
    "against the light: the + on the middle of the rim, the line of the track along the arc that the ball has left. Outwards from the pivot is up.",
    "The thick arc is where the ball works on the rim on the way out, if it carries. A rim that has worn lies outside its circle on that side only.",
)


def photo_limit(ball):
    """The largest scale at which the sheet of a ball fits a page."""
    return min(WIDTH - 2 * WIDE, ROOM - _WORDS - _ROWS) / (2 * _half(ball))


def _half(ball):
    return max((1 + _APART) * ball.radius, ball.recess.rim_radius + ball.recess.edge_radius + 0.4 * ball.radius)


def rest_place(ball):
    """Where the ball stands at the stop, from the middle of its recess: (along the track towards the working rim, outwards) [mm]; L2."""
    recess = ball.recess
    values = {"theta": 0.0, "track_radius": ball.track_radius, "off_track": recess.off_track, "rest_offset": recess.rest_offset}
    distance = formulas["L2"](**values).distance
    return math.copysign(math.sqrt(max(distance**2 - recess.off_track**2, 0.0)), recess.rest_offset), -recess.off_track


def photo_sheet(ax, ball, i, felt, scale, page):
    """Draw the sheet of ball i into the axes of a page."""
    words(ax, *_HOW_TO)
    tall = _half(ball) * scale
    y = TOP - _WORDS - tall
    _one(ax, ball, i, (WIDTH / 2, y), scale)
    _scale_bars(ax, y - tall - 10, scale, page)
    _table(ax, ball, i, y - tall - 24, felt)


def _one(ax, ball, i, middle, scale):
    """One recess with its ball at the stop, as the stripped parts lie."""
    (x, y), recess, half = middle, ball.recess, _half(ball) * scale
    along, out = (part * scale for part in rest_place(ball))
    ax.plot([x - half, x + half], [y + out, y + out], color=GREY, lw=0.7, ls=(0, (8, 2, 2, 2)))
    ax.plot([x - 4, x + 4], [y, y], color=INK, lw=0.7)
    ax.plot([x, x], [y - 4, y + 4], color=INK, lw=0.7)
    if recess.diameter:
        ax.add_patch(Circle(middle, recess.diameter / 2 * scale, fc="none", ec=INK, lw=1.2, gid=f"rim-{i + 1}"))
    outer = recess.rim_radius + recess.edge_radius
    if outer > recess.diameter / 2:
        ax.add_patch(Circle(middle, outer * scale, fc="none", ec=INK, lw=0.8, ls=(0, (5, 2)), gid=f"outline-{i + 1}"))
    ax.add_patch(Circle((x + along, y + out), ball.radius * scale, fc="none", ec=BALLS[i % 3], lw=1.2, ls=(0, (1.5, 1.5)), gid=f"photo-ball-{i + 1}"))
    ax.plot([x + along - 2, x + along + 2], [y + out - 2, y + out + 2], color=BALLS[i % 3], lw=0.8)
    ax.plot([x + along - 2, x + along + 2], [y + out + 2, y + out - 2], color=BALLS[i % 3], lw=0.8)
    turn = math.degrees(math.atan2(out, along)) if along or out else 0.0
    size = 2 * recess.rim_radius * scale
    ax.add_patch(Arc(middle, size, size, theta1=turn - _ARC_DEG, theta2=turn + _ARC_DEG, ec=INK, lw=4, capstyle="butt", gid=f"works-{i + 1}"))
    ax.annotate("", (x + half, y - half * 0.9), (x + half - 14, y - half * 0.9), arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.0})
    ax.text(x + half - 16, y - half * 0.9, "ball, opening", size=SMALL, ha="right", va="center")
    ax.text(x - half, y + half, f"ball {i + 1}", size=TEXT, weight="bold", va="top", color=BALLS[i % 3])


def _scale_bars(ax, y, scale, page):
    for x, length, said in ((WIDE, 0.5, "0.5 mm of the knife"), (WIDE + 80, convert(20.0, "thou", "mm"), "20 thou of the knife")):
        ax.plot([x, x + length * scale], [y, y], color=INK, lw=2.5, solid_capstyle="butt", gid=f"scale-{page}-{said.split()[1]}")
        ax.text(x + length * scale + 2, y, said, size=SMALL, va="center")


def _table(ax, ball, i, y, felt):
    """What the card says, with room for what the photo says; what the sums predict."""
    recess = ball.recess
    rows = [
        ("recess (full line)", exactly(recess.diameter, "mm") if recess.diameter else "none: a dimple"),
        ("ball (dotted)", exactly(ball.diameter, "mm")),
        ("rest offset (parts), × to +", exactly(recess.rest_offset, "mm")),
        ("off-track error", exactly(recess.off_track, "mm")),
    ]
    if recess.rim_radius + recess.edge_radius > recess.diameter / 2:
        rows.insert(1, ("outline (dashed)", exactly(2 * (recess.rim_radius + recess.edge_radius), "mm")))
    for x, said in ((_COLUMNS[0], f"ball {i + 1}"), (_COLUMNS[1], "on the card"), (_COLUMNS[2], "on the photo")):
        ax.text(x, y, said, size=SMALL, weight="bold", va="center")
    for k, (name, value) in enumerate(rows, 1):
        ax.text(_COLUMNS[0], y - 6.5 * k, name, size=SMALL, va="center")
        ax.text(_COLUMNS[1], y - 6.5 * k, value, size=SMALL, va="center")
        ax.plot([_COLUMNS[2], _COLUMNS[2] + 40], [y - 6.5 * k - 2] * 2, color=INK, lw=0.5)
    idle = felt.idle_clearance[i]
    said = f"carries at rest, contact angle {felt.contact_deg[i]:.1f}°" if not idle else f"idle at rest, clear by {both(idle, 'mm')}"
    pressing = f"predicted with the bar pressing: {said}, rest offset {both(felt.loaded_offset[i], 'mm')}"
    ax.text(_COLUMNS[0], y - 6.5 * (len(rows) + 1), pressing, size=SMALL, va="center")
