"""The section through ball and recess, to scale, as in figures/signs.svg: tang above, its face at z = 0, bar below.

The ball stays where it is sideways and moves up and down with the bar; the tang slides past it, to the left when the
blade opens.
"""

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Circle, PathPatch, Rectangle, Wedge
from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from ..knife.parts import Ball, Recess
from ..knife.plain import in_picture
from ..knife.units import convert
from ..say.measure import MM, Measure
from .drawing import BALLS, BAR, CONE, GREY, INK, PLATE, PUSH, SMALL, STEEL, TANG, TEXT, Arrow, caption, scale_bar

SCREEN_DPI = 96  # of a usual screen at 100 %, for the stated magnification
_BOTH_FIT = 260  # px, width of a section in which a length in two units fits
_HEAD = 14  # px, head of the arrow of the bar force
TIMES = 100  # of the magnifier
_PX = 25.4 / SCREEN_DPI  # mm, of a usual screen
_SMALLEST = 9  # px, of a gap that an arrow fits in


def recess_profile(recess: Recess, top: float) -> np.ndarray:
    """Half profile of a recess from the tang face to its axis, as (radius, height above the face) [n, 2] mm.

    Heights end at the floor, or at `top` for a recess without a known floor.

    >>> from detentlib.knife.parts import Recess
    >>> recess_profile(Recess(1.0, depth=0.6), top=2.0).tolist()
    [[0.5, 0.0], [0.5, 0.6], [0.0, 0.6]]
    """
    bore, width, round_off = recess.diameter / 2, recess.chamfer_width, recess.edge_radius
    points = [(bore, 0.0)]
    if width:
        points = [(bore + width, 0.0), (bore, width * math.tan(math.radians(recess.chamfer_deg)))]
    if round_off:
        turns = np.linspace(0, math.pi / 2, 33)
        points = [(bore + round_off * (1 - math.sin(turn)), round_off * (1 - math.cos(turn))) for turn in turns]
    floor = top if recess.depth is None else min(recess.depth, top)
    points = np.array([*points, (bore, top)])
    at = int(np.searchsorted(points[:, 1], floor))
    mouth = np.interp(floor, points[:, 1], points[:, 0])
    return np.vstack([points[:at], [(mouth, floor), (0.0, floor)]])


class Seat(NamedTuple):
    """One ball in its recess at one moment: all that a section shows.

    ball: the Ball, with its recess. offset: ball axis to recess axis [mm], + towards the working rim. gap: bar face to
    tang face at this ball [mm]. phi: contact angle [rad]. load: bar force on the ball [N]. push: sideways on the tang
    at the ball, + opening [N]. lam: friction angle [rad]. clear: how far the ball is from carrying [mm], 0 where it
    carries. face: load where the face of the bar lies on the tang [N]. held: in the middle of its recess, which holds
    it all round.
    """

    ball: Ball
    offset: float
    gap: float
    phi: float
    load: float
    push: float
    lam: float
    clear: float
    face: float
    held: bool = False


class Section:
    """To-scale section through the axes of one ball and its recess: along the track where the recess is on the track.

    `artists` move, back to front; what does not fit the window is cut at its edge. `pixel` is its size in mm.
    """

    def __init__(self, ax: Axes, radius: float, newton: float, name: str, title: str | None = None, high: float = 1.3):
        """radius: of the largest ball of the picture [mm]; the window holds it riding, and `high` radii above the tang
        face.

        newton: length of 1 N of arrow [mm]. title stands at the top in place of the names of the parts.
        """
        self.ax, self.radius, self.newton, self.name, self.title = ax, radius, newton, name, title
        box, words_height = ax.get_window_extent(), 20
        self.top, self.bottom = high * radius, -2.03 * radius
        self.pixel = (self.top - self.bottom) / (box.height - words_height)
        self.low, self.half = self.bottom - words_height * self.pixel, box.width * self.pixel / 2
        ax.set(xlim=(-self.half, self.half), ylim=(self.low, self.top))
        ax.set_axis_off()
        self._parts(radius)
        self._lines()
        self.load = Arrow(ax, BALLS[0], va="top", bbox=PLATE)
        self.push = Arrow(ax, PUSH, ha="right", va="bottom", bbox=PLATE)
        self.force = Arrow(ax, INK, size=9, width=1.3)
        self.face = Arrow(ax, BALLS[0], va="top", ha="right", bbox=PLATE)
        self.way = Arrow(ax, GREY, size=9, width=1.2, fontsize=SMALL, ha="left")
        left, top, named = 5 * self.pixel - self.half, self.top - 5 * self.pixel, title is None
        self.names = [
            caption(ax, left, top, "tang" if named else in_picture(title), GREY, va="top"),
            caption(ax, left, 0, "lock bar" if named else "", GREY, va="top"),
            caption(ax, left, (self.low + self.bottom) / 2, "", INK, va="center"),
        ]
        parts = [self.bar, self.circle, self.tang, self.cone, self.upright, self.normal, self.arc, self.angle]
        at_contact = [*self.force.artists, self.contact, self.landed]
        arrows = [artist for arrow in (self.load, self.face, self.push, self.way) for artist in arrow.artists]
        self.artists = [*parts, *at_contact, *arrows, *self.names]

    def _parts(self, radius):
        self.bar = self.ax.add_patch(Rectangle((-self.half, self.bottom), 2 * self.half, 1, fc=BAR, ec=INK, lw=1))
        self.circle = self.ax.add_patch(Circle((0, 0), radius, fc=STEEL, ec=INK, lw=1.2))
        self.tang = self.ax.add_patch(PathPatch(Path([(0, 0)]), fc=TANG, ec=INK, lw=1.2))
        self.cone = self.ax.add_patch(Wedge((0, 0), 0.62 * radius, 0, 1, fc=CONE, ec=INK, lw=0.6))

    def _lines(self):
        (self.upright,) = self.ax.plot([], [], color=GREY, lw=0.8, ls=":")
        (self.normal,) = self.ax.plot([], [], color=INK, lw=0.9, ls=(0, (8, 2, 2, 2)))
        (self.arc,) = self.ax.plot([], [], color=INK, lw=1)
        (self.landed,) = self.ax.plot([], [], color=PUSH, lw=4, solid_capstyle="butt")
        (self.contact,) = self.ax.plot([], [], "o", ms=6, mfc="white", mec=INK, mew=1.5)
        self.angle = caption(self.ax, 0, 0, "", INK, "right", "center", size=TEXT, bbox=PLATE)

    def scale_bars(self, measure: Measure, on_screen: bool = True) -> list[Artist]:
        """Fixed scale bars for length and force under the section, in the measure's unit.

        on_screen: say the magnification too, for a picture that is shown pixel by pixel.
        """
        y, pixel = self.low - 7 * self.pixel, self.pixel
        force = 10.0 if measure is MM else convert(2.0, "lbf", "N")
        times = f", ×{25.4 / SCREEN_DPI / pixel:.0f}" if on_screen else ""
        made = self.length_bar(measure, times)
        left = (106 + 0.5 / pixel) * pixel - self.half
        return made + scale_bar(self.ax, left, y, force * self.newton, measure.round(force, "N"), 6 * pixel)

    def length_bar(self, measure: Measure, times: str = "") -> list[Artist]:
        """The scale bar for length alone; times: what stands behind its length."""
        y, pixel = self.low - 7 * self.pixel, self.pixel
        length = 0.5 if measure is MM else convert(20.0, "thou", "mm")
        return scale_bar(self.ax, 5 * pixel - self.half, y, length, measure.round(length, "mm") + times, 6 * pixel)

    def draw(self, seat: Seat, way: str, measure: Measure) -> None:
        """Show one Seat; way: what the blade does, in words."""
        ball, side = seat.ball, math.copysign(1.0, seat.offset)
        centre = np.array([0.0, ball.protrusion - seat.gap - ball.radius])
        out = np.array([side * math.sin(seat.phi), math.cos(seat.phi)])
        touch = centre + ball.radius * out
        self.bar.set_height(-seat.gap - self.bottom)
        self.circle.set_center(centre)
        self.circle.set_radius(ball.radius)
        self.tang.set_path(tang_path(ball.recess, -seat.offset, self.half, self.top))
        for artist in (self.contact, self.normal, self.upright, self.arc, self.angle):
            artist.set_visible(seat.load > 0)
        self.contact.set_data(*(np.array([touch, touch * (-1, 1)]) if seat.held else touch[None]).T)
        self.names[1].set_y(-seat.gap - 5 * self.pixel)
        idle = f", idle by {measure.short(seat.clear, 'mm')}{self._too(seat.clear, measure)}" if seat.clear > 0 else ""
        self.names[2].set_text(self.name + idle)
        self._draw_cone(touch, out, seat)
        self._draw_angle(centre, out, seat, measure)
        self._draw_forces(centre, touch, seat, measure)
        self._draw_face(seat, measure)
        self._draw_way(way)

    def _too(self, clear, measure):
        """A clearance in the other unit as well, where there is room for both."""
        return f" ({measure.other(clear, 'mm')})" if 2 * self.half > _BOTH_FIT * self.pixel else ""

    def bare(self) -> None:
        """Ball, recess, tang and bar alone: what was drawn last without its forces, angle and clearance."""
        arrows = [artist for arrow in (self.load, self.push, self.force) for artist in arrow.artists]
        for artist in (*arrows, self.angle, self.cone, self.arc, self.contact, self.normal, self.upright):
            artist.set_visible(False)
        self.names[2].set_text(self.name)

    def _draw_cone(self, touch, out, seat):
        """The friction cone about the contact normal: the force at the contact never leaves it."""
        middle, lam = math.degrees(math.atan2(out[1], out[0])), math.degrees(seat.lam)
        self.cone.set_visible(seat.load > 0 and seat.lam > 0 and not seat.held)
        self.cone.set_center(touch)
        self.cone.set_theta1(middle - lam)
        self.cone.set_theta2(middle + lam)

    def _draw_angle(self, centre, out, seat, measure):
        radius = self.radius
        self.normal.set_data(*np.array([centre - 0.35 * radius * out, centre + 1.75 * radius * out]).T)
        self.upright.set_data([0, 0], [centre[1], centre[1] + 1.45 * radius])
        turns = np.linspace(0, math.copysign(seat.phi, out[0]), 20)
        self.arc.set_data(centre[0] + 0.55 * radius * np.sin(turns), centre[1] + 0.55 * radius * np.cos(turns))
        self.angle.set_text(measure.short(math.degrees(seat.phi), "deg") if seat.phi > 0 else "")
        aside = -math.copysign(0.06, out[0])  # on the other side of the upright than the arc, inside the ball
        self.angle.set(position=(aside * radius, centre[1] + 0.24 * radius), ha="right" if aside < 0 else "left")

    def _draw_forces(self, centre, touch, seat, measure):
        newton, pixel, tail = self.newton, self.pixel, centre[1] - self.newton * seat.load
        below = min(tail, centre[1] - _HEAD * pixel)  # a short arrow is all head
        self.load.draw((0, tail), tuple(centre), f"bar {measure.short(seat.load, 'N')}", (0, below - 2 * pixel))
        level = 26 if self.title is None else 35  # under the title
        length, y, right = newton * abs(seat.push), self.top - level * pixel, self.half - 6 * pixel
        ends = ((right, y), (right - length, y))
        if seat.push > 0 and length < _HEAD * pixel:
            ends = (ends[0], (right - _HEAD * pixel, y))
        said = f"{measure.short(abs(seat.push), 'N')} at the ball"
        self.push.draw(*(ends if seat.push >= 0 else ends[::-1]), said, (right, y + 5 * pixel))
        foot = centre if seat.held else touch  # held all round, the rim's forces meet in the middle of the ball
        self.force.draw(tuple(foot), (foot[0] + newton * seat.push, foot[1] + newton * seat.load))

    def _draw_face(self, seat, measure):
        """Where the face of the bar lies on the tang: the stretch beyond the mouth of the recess, and its force."""
        mouth = seat.ball.recess.rim_radius - seat.offset
        self.landed.set_visible(seat.face > 0)
        self.landed.set_data([mouth, self.half], [0.0, 0.0])
        at, tail = (mouth + self.half) / 2, -self.newton * seat.face
        beside = self.half - 5 * self.pixel, tail - 2 * self.pixel
        self.face.draw((at, tail), (at, 0.0), f"face {measure.short(seat.face, 'N')}", beside)

    def _draw_way(self, way):
        """Which way the tang slides; left out where a title takes the place of the names."""
        pixel = self.pixel  # beside the word "tang", higher than any floor
        y, x, length = self.top - 11 * pixel, 42 * pixel - self.half, 45 * pixel if self.title is None else 0.0
        ends = ((x + length, y), (x, y))
        self.way.draw(*(ends if way == "opening" else ends[::-1]), way, (x + length + 7 * self.pixel, y))


def tang_path(recess: Recess, middle: float, half: float, top: float) -> Path:
    """Outline of the tang with its recess about x = middle; two pieces where the recess has no floor below `top`."""
    return tang_outline([(recess, middle)], half, top)


def tang_outline(recesses: Iterable[tuple[Recess, float]], half: float, top: float, edge: float | None = None) -> Path:
    """Outline of the tang with any recesses, (Recess, middle) each; it ends at x = edge where that is given.

    A recess without a floor below `top` cuts it into two pieces.
    """
    far, above = 4 * half, 1.2 * top
    pieces = [[(-far, 0)]]
    for recess, middle in sorted(recesses, key=lambda each: each[1]):
        right = np.add(recess_profile(recess, top), (middle, 0))
        left = np.add((2 * middle, 0), right * (-1, 1))
        if right[-1, 1] < top:
            pieces[-1] += [*left, *right[::-1]]
        else:
            pieces[-1] += [*left[:-1], (left[-2, 0], above)]
            pieces.append([(right[-2, 0], above), *right[-2::-1]])
    end = far if edge is None else edge
    pieces[-1] += [(end, 0), (end, above)]
    pieces[0].append((-far, above))
    return Path.make_compound_path(*(Path([*piece, piece[0]], closed=True) for piece in pieces))


class Magnifier:
    """What a Section shows between an idle ball and the tang, TIMES larger than life; `artists` move, back to front.

    Ball, tang and bar are those of the section, drawn again with another scale; the gap is measured as the bar goes.
    """

    def __init__(self, section: Section):
        """The window stands in the lower right corner of the section."""
        ax, box, self._pixel = section.ax, section.ax.get_window_extent(), section.pixel
        self._section, self._radius = section, min(0.29 * (box.height - 20), 0.2 * box.width) * self._pixel
        edge = self._radius + 5 * self._pixel
        middle = section.half - edge, section.bottom + edge
        self._middle, self._scale, self._larger = np.array(middle), TIMES / (_PX / self._pixel), Affine2D()
        place = {"transform": self._larger + ax.transData}
        window = Circle(middle, self._radius, transform=ax.transData)
        self._ground = ax.add_patch(Circle(middle, self._radius, fc="white", ec="none"))
        self._bar = ax.add_patch(Rectangle((0, 0), 1, 1, fc=BAR, ec=INK, lw=1, **place))
        self._ball = ax.add_patch(Circle((0, 0), 1, fc=STEEL, ec=INK, lw=1.2, **place))
        self._tang = ax.add_patch(PathPatch(Path([(0, 0)]), fc=TANG, ec=INK, lw=1.2, **place))
        for part in (self._bar, self._ball, self._tang):
            part.set_clip_path(window)
        self._ring = ax.add_patch(Circle(middle, self._radius, fc="none", ec=INK, lw=1.5))
        (self._lead,) = ax.plot([], [], color=GREY, lw=0.9)
        self._gap = Arrow(ax, INK, size=6, width=0.9, heads="<|-|>").shaft
        times = middle[0] - 0.3 * self._radius, middle[1] - 0.68 * self._radius
        said = caption(ax, *times, f"×{TIMES}", INK, "center", "center")
        self.artists = [self._lead, self._ground, self._bar, self._ball, self._tang, self._ring, self._gap, said]

    def draw(self, seat: Seat) -> None:
        """Show the gap of one Seat; nothing where the ball carries, and where the gap is wider than the window."""
        shown = 0 < seat.clear * self._scale < 1.6 * self._radius
        for artist in self.artists:
            artist.set_visible(shown)
        if not shown:
            return
        section, side = self._section, math.copysign(1.0, seat.offset)
        centre = np.array(section.circle.get_center())
        out = np.array([side * math.sin(seat.phi), math.cos(seat.phi)])
        touch = centre + seat.ball.radius * out + (0, seat.clear)
        low = touch - (0, seat.clear)
        at = (touch + low) / 2
        (x, y), times = self._middle - self._scale * at, self._scale
        self._larger.set_matrix([[times, 0, x], [0, times, y], [0, 0, 1]])
        self._bar.set_bounds(*section.bar.get_xy(), section.bar.get_width(), section.bar.get_height())
        self._ball.set_center(centre)
        self._ball.set_radius(seat.ball.radius)
        self._tang.set_path(section.tang.get_path())
        ends = self._larger.transform([low, touch])
        self._gap.set_positions(*ends)
        self._gap.set_visible(np.ptp(ends[:, 1]) > _SMALLEST * self._pixel)
        towards = (self._middle - at) / math.dist(self._middle, at)
        self._lead.set_data(*np.array([at, self._middle - self._radius * towards]).T)
