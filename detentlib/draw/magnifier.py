"""A round window on the gap under an idle ball, which is too small to be seen in a section."""

import math

import numpy as np
from matplotlib.patches import Circle, PathPatch, Rectangle
from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from .drawing import BAR, GREY, INK, SMALL, STEEL, TANG, Arrow
from .section import SCREEN_DPI, Seat, Section

TIMES = 100
_PX = 25.4 / SCREEN_DPI  # mm, of a usual screen
_SMALLEST = 9  # px, of a gap that an arrow fits in


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
        said = ax.text(*times, f"×{TIMES}", size=SMALL, color=INK, ha="center", va="center")
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
