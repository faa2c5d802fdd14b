"""The paper model: the knife's own rims and balls, drawn to scale, to cut out and slide over each other; as SVG or
PDF.
"""

import math
from functools import partial
from pathlib import Path

import numpy as np
from matplotlib.patches import Arc, Circle, Polygon, Rectangle

from ..derivations.formulas import formulas
from ..draw.drawing import BALLS, BAR, GREY, INK, STEEL, STYLES, TANG, TEXT
from ..draw.section import recess_profile
from ..files.writing import must_end
from ..knife.checks import short
from ..knife.given import given_knife
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.units import both, convert
from ..mechanics import bar as bars
from ..mechanics import carry
from ..mechanics.feel import feel
from ..mechanics.lift import flat_angle
from ..say.measure import exactly
from ..tune.moves import stripped
from .true_size import LOW, MARGIN, ROW, TOP, WIDTH, write_pages

SCALE = 20.0
_CHAIN, _DASHED, _DOTTED = (0, (8, 2, 2, 2)), (0, (5, 2)), (0, (1.5, 1.5))
_FINE, _AXIS = {"lw": 0.6, "color": INK}, {"lw": 0.7, "color": GREY, "ls": _CHAIN}

# strips: in ball radii beyond the rim, left of the axis, of a recess whose floor is not known, and of the bar beyond
# what it has to hold
_PAST, _SIDE, _DEEP, _EDGE = 1.6, 2.1, 1.08, 0.35
_RULER = 6.8  # mm on paper above the recess, for the lines of the ruler and their numbers
_STEPS = (0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0)  # degrees between the lines of the ruler
_APART = 1.2  # least mm on paper between the lines of the ruler
_STRIP_WORDS, _STRIP_GAP = 43.0, 14.0  # mm on paper: for the words at the top, between the strips
# tracing sheet
_LEFT, _RIGHT = MARGIN + 16.0, MARGIN + 18.0  # mm on paper beside the grid
_HIGH, _BELOW_WORDS = 120.0, 35.0
_TIMES = (1000, 800, 500, 400, 250, 200, 100, 50, 20, 10)
_GRID_STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
# sheet beside a photo
_PHOTO_WORDS, _PHOTO_ROWS, _PHOTO_ROW = 26.0, 72.0, 6.5  # mm on paper: for the words at the top, for what stands below
_COLUMNS = (MARGIN, MARGIN + 50.0, MARGIN + 105.0)
_ARC_DEG = 16.0  # half of the arc that is drawn where the rim works


def template(knife: Knife, path: str | Path, scale: float = SCALE, replace: bool = False) -> None:
    """Write the paper model of one Knife, to print and cut out; a path that ends in .svg or .pdf says which.

    Every page fits A4 and Letter and carries bars of 50 mm and 2 in to check the printer: print at 100 %, not "fit to
    page". Pages: for each ball a strip of the bar with the ball and a strip of the tang with its recess, to slide over
    each other; a sheet to trace the lift demands on, with marks where contact and handover are predicted; for each ball
    a sheet to lay beside a photo from the microscope. The strips lie in the plane through the axes of ball and recess:
    the distance between the two is laid out straight, and a ruler says which blade angle it belongs to (L2). All of it
    is of the stripped parts, which no rim takes along sideways (B6); where the pressing knife stands, each page says.
    scale: mm on paper per mm of the knife. An SVG holds all pages below each other, for a drawing program or a cutter.
    replace: True writes it over a file that is there.

    Raises KnifeError for a knife that cannot work, for a scale at which it does not fit the page or its rulers cannot
    be read, with the scale to take, for another ending, and like `write_file`.
    """
    given_knife(knife)
    must_end(path, ".pdf", ".svg")
    write_pages(path, "Paper model", knife.title, _pages(knife, scale), replace)


def largest_scale(knife: Knife) -> float:
    """The largest scale at which every page holds its drawing."""
    limits = []
    for ball in knife.balls:
        high, room = _deep(ball) + _above(ball) + _below(ball), TOP - LOW - _STRIP_WORDS - _STRIP_GAP - 2 * _RULER
        limits += [(WIDTH - 2 * MARGIN) / _strip_width(ball), room / high]
        limits.append(min(WIDTH - 2 * MARGIN, TOP - LOW - _PHOTO_WORDS - _PHOTO_ROWS) / (2 * _half(ball)))
    return min(limits)


def _pages(knife, scale):
    """[(heading, function that draws on a Page)]; see `template`."""
    felt = feel(knife)
    _check(knife, scale)
    bare = stripped(knife)
    each = {"felt": felt, "scale": scale}
    strips = [
        (f"strips of ball {i + 1}, {scale:g} : 1", partial(_strips, ball=ball, i=i, **each))
        for i, ball in enumerate(knife.balls)
    ]
    photos = [
        (f"ball {i + 1} beside the microscope, {scale:g} : 1", partial(_photo_sheet, ball=ball, i=i, **each))
        for i, ball in enumerate(knife.balls)
    ]
    tracing = ("tracing sheet for the lift demands", partial(_tracing, knife=bare, felt=feel(bare)))
    return [*strips, tracing, *photos]


def _check(knife, scale):
    try:
        fine = math.isfinite(scale) and scale > 0
    except (TypeError, OverflowError):
        fine = False
    # the lines of the ruler on every tang strip stand apart
    least = max(_APART / (math.radians(ball.track_radius) * _STEPS[-1]) for ball in knife.balls)
    most = math.floor(largest_scale(knife))
    if not fine or scale > most:
        wrong = "does not fit a page of A4 or Letter" if fine else "is not a number above zero"
        advice = f"Take {most} or less for {knife.title}."
        raise KnifeError(Problem("scale", short(scale), wrong, "It is mm on paper per mm of the knife.", advice))
    if scale < least:
        why = "The lines of its rulers would run into each other."
        advice = f"Take {math.ceil(least)} to {most} for {knife.title}."
        raise KnifeError(Problem("scale", f"{scale:g}", "is too small to read", why, advice))


def _outline(recess):
    """Radius at which the tang face is flat again [mm]."""
    return recess.rim_radius + recess.edge_radius


# strips: the bar with its ball, and the tang with its recess, in the plane through both axes


def _strip_width(ball):
    """Width of the wider strip [mm of the knife]: from the idle side of the tang to the last angle of its ruler."""
    return (_SIDE + _PAST) * ball.radius + _outline(ball.recess)


def _deep(ball):
    """Depth of the recess as drawn [mm]."""
    return recess_profile(ball.recess, _DEEP * ball.radius)[-1, 1]


def _above(ball):
    """Height of the bar strip above the bar face [mm], and the ruler: the line of the ball shows above the tang
    strip.
    """
    return _deep(ball) + _EDGE * ball.radius + ball.protrusion


def _below(ball):
    """Depth of the bar strip below the bar face [mm]: it holds the ball."""
    return (2 + _EDGE) * ball.radius - ball.protrusion


def _strips(page, ball, i, felt, scale):
    """Both strips of ball i; felt: what the pressing knife feels like."""
    page.words(
        "Cut out both strips, and the recess out of the tang strip. Lay the tang strip over the bar strip, its face"
        f" towards ball {i + 1}, level.",
        "Slide it until the line of the ball points at a blade angle of its ruler, then let it down until it touches"
        " the ball.",
        "Where its lower edge crosses the rulers of the bar strip, read the gap; see where the rim touches. Put the gap"
        " on the tracing sheet.",
        "Opening slides the tang to the left. The strips lie in the plane through the axes of ball and recess: the"
        " distance of the two",
        "is laid out straight, and the ruler has the blade angles at their true distances (L2).",
        _pressing(ball, i, felt),
    )
    left = (WIDTH - _strip_width(ball) * scale) / 2
    tang_face = TOP - _STRIP_WORDS - _RULER - _deep(ball) * scale
    _tang_strip(page, ball, i, (left, tang_face), scale)
    _bar_strip(page, ball, i, (left, tang_face - _STRIP_GAP - _RULER - _above(ball) * scale), scale)


def _pressing(ball, i, felt):
    """Where the shut knife stands with its bar pressing, seen on the ruler of the stripped parts."""
    taken = math.degrees((ball.recess.rest_offset - felt.loaded_offset[i]) / ball.track_radius)
    if abs(taken) < 0.005:
        return "The shut knife stands at 0° of the ruler."
    stands = f"{taken:.2f}° before 0° of the ruler" if taken > 0 else f"at {-taken:.2f}° of the ruler"
    return (
        f"These are the stripped parts. On the pressing knife the rim takes the bar along sideways: shut, ball {i + 1}"
        f" stands {stands}."
    )


def _ruler(ball, scale):
    """(blade angles [deg], distances of the ball from the middle of the recess [mm], every how many has a number)."""
    recess = ball.recess
    wide = math.radians(ball.track_radius) * scale  # mm on paper per degree
    step = next(step for step in _STEPS if step * wide >= _APART)
    angles = np.arange(0, 90, step)
    place = _place(ball, np.radians(angles))
    side = np.where((place.cos_chi < 0) & (recess.rest_offset < 0), -1.0, 1.0)
    inside = place.distance <= _outline(recess) + (_PAST - 0.3) * ball.radius
    return angles[inside], (side * place.distance)[inside], math.ceil(6.5 / (step * wide))


def _place(ball, theta):
    """Where a ball stands over its own recess (L2)."""
    recess = ball.recess
    return formulas["L2"](
        theta=theta, track_radius=ball.track_radius, off_track=recess.off_track, rest_offset=recess.rest_offset
    )


def _tang_strip(page, ball, i, corner, scale):
    """The tang with its recess to be cut out, the ruler of blade angles along its upper edge; corner: left end of
    its face.
    """
    (left, face), name = corner, f"{i + 1}-{page.number}"
    right, top, middle = (
        left + _strip_width(ball) * scale,
        face + _deep(ball) * scale + _RULER,
        left + _SIDE * ball.radius * scale,
    )
    half = recess_profile(ball.recess, _DEEP * ball.radius) * scale
    recess = [*np.add(half * (-1, 1), (middle, face)), *np.add(half, (middle, face))[::-1]]
    page.put(Polygon([(left, face), *recess, (right, face), (right, top), (left, top)], fc=TANG, gid=f"tang-{name}"))
    page.line((middle, middle), (half[-1, 1] + face, top), **_AXIS)
    angles, distances, named = _ruler(ball, scale)
    for k, (angle, distance) in enumerate(zip(angles, distances, strict=True)):
        x, long = middle + distance * scale, k % named == 0
        page.line((x, x), (top, top - (3.2 if long else 2.0)), gid=f"angle-{name}-{angle:.4g}", **_FINE)
        if long:
            page.say(x, top - 3.6, f"{angle:.4g}°", size=7, ha="center", va="top")
    page.say(left + 2, face + 2, "tang", va="bottom")
    page.say(left + 2, top - 2, "blade angle →", va="top")
    page.line((left, right), (face, face), color=GREY, lw=0.5, ls=STYLES[2])


def _bar_strip(page, ball, i, corner, scale):
    """The bar with its ball, the line of the ball's axis, and the rulers for the gap; corner: left end of its face."""
    left, face = corner
    colour, radius, width = BALLS[i % 3], ball.radius * scale, _strip_width(ball) * scale
    below, above, axis = _below(ball) * scale, _above(ball) * scale + _RULER, left + _SIDE * radius
    centre = face + ball.protrusion * scale - radius
    page.put(Rectangle((left, face - below), width, below + above, fc="white"))
    page.put(Rectangle((left, face - below), width, below, fc=BAR, gid=f"bar-{i + 1}"))
    page.put(Circle((axis, centre), radius, fc=STEEL, gid=f"ball-{i + 1}"))
    page.line((axis, axis), (centre - 0.25 * radius, face + above), color=colour, lw=0.9, ls=_CHAIN)
    page.line((axis - 2, axis + 2), (centre, centre), **_FINE)
    page.say(axis + 1.5, face + above - 1.5, f"axis of ball {i + 1}", color=colour, va="top")
    page.say(left + 2, face - below + 2, "lock bar", va="bottom")
    for x, unit, step in ((left + 12, "mm", 0.05), (left + width - 14, "thou", 2.0)):
        _gap_ruler(
            page, (x, face), ball.protrusion * scale * 1.15, convert(step, unit, "mm") * scale, f"{i + 1}-{unit}", step
        )
        page.say(x - 1, face + ball.protrusion * scale * 1.15 + 1, f"gap, {unit}", size=7, va="bottom")


def _gap_ruler(page, foot, height, apart, name, step):
    """Gap from the bar face upwards, a line every `step` of its unit, which is `apart` on paper."""
    x, face = foot
    page.line((x, x), (face, face + height), lw=0.7, color=INK)
    named = next(many for many in (1, 2, 4, 10, 20, 100) if many * apart >= 3.0 or many == 100)
    for k in range(math.floor(height / apart) + 1):
        y = face + k * apart
        page.line((x, x + 2.5), (y, y), gid=f"gap-{name}-{step * k:.4g}", **_FINE)
        if k % named == 0:
            page.say(x + 3, y, f"{step * k:.4g}", size=6.5)


# the tracing sheet: the lift demands over the blade angle, on a grid to scale, with the predicted marks


def _seen_at_first(knife, i, gap):
    """The gap at ball 1 when the bar stands as ball i asks with a gap of its own [mm] (B4); on another leaf the gap
    itself.
    """
    ball, first = knife.balls[i], knife.balls[0]
    if ball.bar != first.bar:
        return gap
    spring = bars.spring(knife.bar, first)
    psi = formulas["B4"](gap=gap, parallel_gap=spring.parallel_gap, hinge_distance=ball.hinge_distance)
    return float(spring.parallel_gap + psi * spring.arm)


def _predicted(knife, felt):
    """[(blade angle [deg], gap at ball 1 [mm], words)]: each ball at the stop, the handovers, each ball out on the
    flat.
    """
    theta = np.array([0.0, *(math.radians(hand.angle_deg) for hand in felt.handovers)])
    at, found = carry.state(knife, theta), []
    for i, ball in enumerate(knife.balls):
        does, out = "carries" if at.clearances[i][0] == 0 else "hangs clear", math.degrees(flat_angle(ball))
        found.append((0.0, _seen_at_first(knife, i, at.lifts[i].demand[0]), f"ball {i + 1} at the stop: {does}"))
        found.append((out, _seen_at_first(knife, i, ball.protrusion), f"ball {i + 1} out on the flat at {out:.2f}°"))
    for k, hand in enumerate(felt.handovers, 1):
        said = f"handover at {hand.angle_deg:.2f}°: ball {hand.from_ball + 1} gives the bar to ball {hand.to_ball + 1}"
        demand = at.lifts[hand.to_ball].demand[k]
        found.append((hand.angle_deg, _seen_at_first(knife, hand.to_ball, demand), said))
    return sorted(found)


def _tracing(page, knife, felt):
    marks = _predicted(knife, felt)
    gaps = [gap for _, gap, _ in marks]
    room = 0.1 * (max(gaps) - min(gaps))
    last, low, high = 1.2 * max(angle for angle, *_ in marks), min(gaps) - room, max(gaps) + room
    times = next((times for times in _TIMES if (high - low) * times <= _HIGH), _TIMES[-1])
    wide, base = (WIDTH - _LEFT - _RIGHT) / last, TOP - _BELOW_WORDS - (high - low) * times
    several = len(knife.balls) > 1
    page.words(
        "Put in the gap that you read off the strips at each blade angle, and draw a line through the points. Upwards"
        f" {times:g} : 1.",
        "Left: gap at ball 1."
        + (
            " Ball 2 has its own ruler on the right: the same bar angle, seen at its own hinge distance."
            if several
            else ""
        ),
        *(
            [
                "The curve on top is the one that the bar follows; where the two cross, one ball gives the bar to the"
                " other."
            ]
            if several
            else []
        ),
        "The crosses are what the sums predict for parts as the strips show them, with no rim that takes the bar along"
        " sideways.",
        "If your line misses one, measure again before you believe either.",
    )

    def at(angle, gap):
        return _LEFT + angle * wide, base + (gap - low) * times

    (left, foot), (right, top) = at(0, low), at(last, high)
    for value, x, strong in _lines(0, last, wide, _LEFT):
        page.line((x, x), (foot, top), gid=f"angle-{page.number}-{value:.4g}" if strong else None, **_grid_look(strong))
        if strong:
            page.say(x, foot - 2, f"{value:.4g}", ha="center", va="top")
    for value, y, strong in _lines(low, high, times, base - low * times):
        page.line((left, right), (y, y), gid=f"gap-{page.number}-{value:.4g}" if strong else None, **_grid_look(strong))
        if strong:
            page.say(left - 2, y, f"{value:.4g}", ha="right")
    middle = (foot + top) / 2
    page.say((left + right) / 2, foot - 8, "blade angle, °", ha="center")
    page.say(left - 13, middle, "gap at ball 1, mm", rotation=90, ha="center", color=BALLS[0])
    other = next((i for i, ball in enumerate(knife.balls) if i and ball.bar == knife.balls[0].bar), None)
    if other is not None:
        _second_ruler(page, knife, other, (right, foot, top), lambda gap: at(0, gap)[1], _step(times, 10.0))
        page.say(right + 15, middle, f"gap at ball {other + 1}, mm", rotation=90, ha="center", color=BALLS[other % 3])
    for k, (angle, gap, said) in enumerate(marks, 1):
        x, y = at(angle, gap)
        page.cross(x, y, f"mark-{k}", color=INK, lw=1.2)
        page.say(x + 3, y - 2.5, str(k), weight="bold")
        page.say(MARGIN, base - 14 - ROW * k, f"{k}   {said}, gap at ball 1 {gap:.3f} mm")


def _step(size, least):
    """The smallest round step that takes at least so many mm on paper; size: mm on paper per unit."""
    return next((step for step in _GRID_STEPS if step * size >= least), _GRID_STEPS[-1])


def _lines(first, last, size, zero):
    """(value, place on paper, whether strong) of the lines of a grid between two values; zero: the place of value 0."""
    for least, strong in ((2.0, False), (10.0, True)):
        step = _step(size, least)
        for k in range(math.ceil(first / step - 1e-9), math.floor(last / step + 1e-9) + 1):
            yield k * step, zero + k * step * size, strong


def _grid_look(strong):
    return {"lw": 0.8, "color": GREY} if strong else {"lw": 0.3, "color": "#b5b5b5"}


def _second_ruler(page, knife, i, place, height, step):
    """The ruler of another ball on the right: its own gap, at the height that it asks for at ball 1."""
    x, foot, top = place
    for k in range(-1000, 1000):
        y = height(_seen_at_first(knife, i, k * step))
        if foot <= y <= top:
            page.line((x, x + 2), (y, y), gid=f"second-{k * step:.4g}", lw=0.8, color=INK)
            page.say(x + 3, y, f"{k * step:.4g}")


# the sheet that is laid beside a microscope photo: rim, ball and rest offset, seen square on the tang face


def _half(ball):
    """Half of the height and width that one recess with its ball takes [mm]."""
    return max(1.6 * ball.radius, _outline(ball.recess) + 0.4 * ball.radius)


def _rest_place(ball):
    """Where the ball stands at the stop, from the middle of its recess: (along the track towards the working rim,
    outwards) [mm]; L2.
    """
    recess, distance = ball.recess, _place(ball, 0.0).distance
    along = math.sqrt(max(distance**2 - recess.off_track**2, 0.0))
    return math.copysign(along, recess.rest_offset), -recess.off_track


def _photo_sheet(page, ball, i, felt, scale):
    page.words(
        "Print your photo of the tang, seen square on, so that a millimetre of the knife is as long as on this sheet,"
        " and lay one over the other",
        "against the light: the + on the middle of the rim, the line of the track along the arc that the ball has left."
        " Outwards from the pivot is up.",
        "The thick arc is where the ball works on the rim on the way out, if it carries. A rim that has worn lies"
        " outside its circle on that side only.",
    )
    tall = _half(ball) * scale
    y = TOP - _PHOTO_WORDS - tall
    _one_recess(page, ball, i, (WIDTH / 2, y), scale)
    for x, size, unit in ((MARGIN, 0.5, "mm"), (MARGIN + 80, 20, "thou")):
        page.bar(
            x,
            y - tall - 10,
            convert(size, unit, "mm") * scale,
            f"{size} {unit} of the knife",
            f"scale-{page.number}-{unit}",
        )
    _photo_table(page, ball, i, y - tall - 24, felt)


def _one_recess(page, ball, i, middle, scale):
    """One recess with its ball at the stop, as the stripped parts lie."""
    (x, y), recess, half, colour = middle, ball.recess, _half(ball) * scale, BALLS[i % 3]
    along, out = (part * scale for part in _rest_place(ball))
    page.line((x - half, x + half), (y + out, y + out), **_AXIS)
    page.line((x - 4, x + 4), (y, y), color=INK, lw=0.7)
    page.line((x, x), (y - 4, y + 4), color=INK, lw=0.7)
    if recess.diameter:
        page.put(Circle(middle, recess.diameter / 2 * scale, fc="none", gid=f"rim-{i + 1}"), lw=1.2)
    if _outline(recess) > recess.diameter / 2:
        page.put(Circle(middle, _outline(recess) * scale, fc="none", gid=f"outline-{i + 1}"), lw=0.8, ls=_DASHED)
    ball_circle = Circle((x + along, y + out), ball.radius * scale, fc="none", gid=f"photo-ball-{i + 1}")
    page.put(ball_circle, ec=colour, lw=1.2, ls=_DOTTED)
    page.cross(x + along, y + out, color=colour, lw=0.8)
    turn = math.degrees(math.atan2(out, along)) if along or out else 0.0
    size = 2 * recess.rim_radius * scale
    works = Arc(
        middle, size, size, theta1=turn - _ARC_DEG, theta2=turn + _ARC_DEG, capstyle="butt", gid=f"works-{i + 1}"
    )
    page.put(works, lw=4)
    arrow = {"arrowstyle": "-|>", "color": INK, "lw": 1.0}
    page.ax.annotate("", (x + half, y - half * 0.9), (x + half - 14, y - half * 0.9), arrowprops=arrow)
    page.say(x + half - 16, y - half * 0.9, "ball, opening", ha="right")
    page.say(x - half, y + half, f"ball {i + 1}", size=TEXT, weight="bold", va="top", color=colour)


def _photo_table(page, ball, i, y, felt):
    """What the card says, with room for what the photo says; what the sums predict."""
    recess, outline = ball.recess, _outline(ball.recess)
    rows = [
        ("recess (full line)", exactly(recess.diameter, "mm") if recess.diameter else "none: a dimple"),
        *([("outline (dashed)", exactly(2 * outline, "mm"))] if outline > recess.diameter / 2 else []),
        ("ball (dotted)", exactly(ball.diameter, "mm")),
        ("rest offset (parts), × to +", exactly(recess.rest_offset, "mm")),
        ("off-track error", exactly(recess.off_track, "mm")),
    ]
    for x, said in zip(_COLUMNS, (f"ball {i + 1}", "on the card", "on the photo"), strict=True):
        page.say(x, y, said, weight="bold")
    name_at, value_at, room_at = _COLUMNS
    for name, value in rows:
        y -= _PHOTO_ROW
        page.say(name_at, y, name)
        page.say(value_at, y, value)
        page.line((room_at, room_at + 40), (y - 2, y - 2), color=INK, lw=0.5)
    idle = felt.idle_clearance[i]
    does = (
        f"idle at rest, clear by {both(idle, 'mm')}"
        if idle
        else f"carries at rest, contact angle {felt.contact_deg[i]:.1f}°"
    )
    pressing = f"predicted with the bar pressing: {does}, rest offset {both(felt.loaded_offset[i], 'mm')}"
    page.say(name_at, y - _PHOTO_ROW, pressing)
