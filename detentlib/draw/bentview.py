"""The lock bar alone, its two turns in the relief drawn too large to be seen: upwards from its edge, sideways on its
face.
"""

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon

from ..knife.parts import Knife
from ..say.measure import Measure
from .drawing import BAR, GREY, INK, PLATE, PUSH, SMALL, STEEL, Arrow
from .sideview import bent

SIDEWAYS = 40  # so many times the sideways turn is drawn
_STICK = 1.0  # mm, width and thickness drawn of a bar whose own are not known
_RELIEF = "#c9b98f"
_FLAT = (0, (4, 3))  # dashes of the bar without load


class EdgeView:
    """The bar from its edge, as it is and dashed as it would stand free, the bend in the relief drawn `times` too
    large. `artists` move.
    """

    def __init__(self, ax: Axes, knife: Knife, farthest: float):
        """farthest: the greatest bend [mm], which still fits. The bar lies along x, 0 at the middle of the relief."""
        bar, box = knife.bar, ax.get_window_extent()
        self._reach, self._half, thick = knife.balls[0].hinge_distance, (bar.relief_length or 0.0) / 2, bar.thickness
        left, right = -self._half - 5.0, self._reach + 5.5
        pixel = self._pixel = (right - left) / box.width
        self._thick, low = thick or _STICK, -(thick or _STICK) - 22 * pixel
        self._top = low + box.height * pixel
        self.times = max(2, math.floor((self._top - 26 * pixel) / farthest))
        ax.set(xlim=(left, right), ylim=(low, self._top))
        ax.set_axis_off()
        self._x = np.concatenate([[left], np.linspace(-self._half, self._half, 13), [self._reach + 4.0]])
        small = {"size": SMALL, "color": GREY, "va": "top"}
        ax.text(left + 4 * pixel, self._top - 4 * pixel, f"from its edge, bend drawn ×{self.times}", **small)
        ax.text(left + 4 * pixel, -self._thick - 4 * pixel, "handle" if bar.drawn else "hinge", **small)
        ax.text(self._reach + 4, -self._thick - 4 * pixel, "dashed: free", ha="right", **small)
        self._bar = ax.add_patch(Polygon([(0, 0)], closed=True, fc=BAR, ec=INK, lw=1))
        (self._free,) = ax.plot([], [], color=GREY, lw=1.2, ls=_FLAT)
        self._ball = ax.add_patch(Circle((self._reach, 0), knife.balls[0].radius, fc=STEEL, ec=INK, lw=1))
        self._bend = Arrow(ax, INK, size=8, width=0.9, heads="<|-|>", ha="right", va="bottom", fontsize=SMALL)
        self.artists = [self._bar, self._ball, self._free, *self._bend.artists]

    def draw(self, knife: Knife, bend: float, measure: Measure) -> None:
        """The bar of a knife bent by so much at the ball, from where it stands free [mm]."""
        thin = knife.bar.relief_thickness or self._thick
        x = self._x
        under = np.concatenate([[-self._thick] * 2, np.full(len(x) - 2, -thin), [-self._thick] * 2])
        under_x = np.concatenate([x[:2], x[1:-1], x[-2:]])
        outline = np.concatenate([x, under_x[::-1]]), np.concatenate([0 * x, under[::-1]])
        self._bar.set_xy(np.column_stack(outline))
        rise = self.times * bend / self._reach
        self._free.set_data(x, rise * bent(x, self._half))
        at = self._reach - 2.2
        top = rise * at
        self._bend.draw((at, 0.0), (at, top), measure.short(bend, "mm"), (at - 0.6, top + 2 * self._pixel))


class FaceView:
    """The bar seen on its face, its sideways turn drawn many times too large; to the left the handle. `artists`
    move.
    """

    def __init__(self, ax: Axes, knife: Knife):
        """The bar lies along x, 0 at the middle of the relief; up is the way the tang goes when the blade opens."""
        bar, box = knife.bar, ax.get_window_extent()
        self._reach, self._half = knife.balls[0].hinge_distance, (bar.relief_length or 0.0) / 2
        self._wide = bar.width or _STICK
        left, right = -self._half - 5.0, self._reach + 5.5
        pixel = (right - left) / box.width
        ax.set(xlim=(left, right), ylim=(-0.5 * box.height * pixel, 0.5 * box.height * pixel))
        ax.set_axis_off()
        self._x = np.concatenate([[left], np.linspace(-self._half, self._half, 13), [self._reach + 4.0]])
        top = 0.5 * box.height * pixel
        ax.text(
            left + 4 * pixel,
            top - 4 * pixel,
            f"on its face, drawn ×{SIDEWAYS} sideways",
            size=SMALL,
            color=GREY,
            va="top",
        )
        ax.text(
            left + 4 * pixel,
            -0.5 * self._wide - 4 * pixel,
            "handle" if bar.drawn else "hinge",
            size=SMALL,
            color=GREY,
            va="top",
        )
        ax.plot(*self._edge(0.0), color=GREY, lw=1.2, ls=_FLAT)
        ax.text(
            self._reach - 2.0,
            -0.5 * self._wide - 4 * pixel,
            "dashed: stripped",
            size=SMALL,
            color=GREY,
            va="top",
            ha="right",
        )
        self._bar = ax.add_patch(Polygon([(0, 0)], closed=True, fc=BAR, ec=INK, lw=1, alpha=0.9))
        self._relief = ax.add_patch(Polygon([(0, 0)], closed=True, fc=_RELIEF, ec=INK, lw=0.8))
        self._ball = ax.add_patch(Circle((0, 0), knife.balls[0].radius, fc=STEEL, ec=INK, lw=1))
        self._push = Arrow(ax, PUSH, ha="right", va="center", fontsize=SMALL, bbox=PLATE)
        self._said = ax.text(left + 4 * pixel, top - 22 * pixel, "", size=SMALL, color=INK, va="top")
        self.artists = [self._bar, self._relief, self._ball, *self._push.artists, self._said]

    def _edge(self, turn):
        """Outline of the bar turned sideways, as (x, y), closed."""
        middle, x = turn * bent(self._x, self._half), self._x
        side = self._wide / 2
        return np.concatenate([x, x[::-1], x[:1]]), np.concatenate(
            [middle + side, middle[::-1] - side, middle[:1] + side]
        )

    def draw(self, side: float, push: float, measure: Measure) -> None:
        """The bar with its ball moved sideways by `side` [mm] and pushed by the rim with `push` [N]."""
        turn = SIDEWAYS * side / self._reach
        self._bar.set_xy(np.column_stack(self._edge(turn)))
        thin, middle = slice(1, -1), turn * bent(self._x, self._half)
        x, side_line = self._x[thin], middle[thin]
        self._relief.set_xy(
            np.column_stack(
                [
                    np.concatenate([x, x[::-1]]),
                    np.concatenate([side_line + self._wide / 2, side_line[::-1] - self._wide / 2]),
                ]
            )
        )
        at = turn * self._reach
        self._ball.set_center((self._reach, at))
        sense = math.copysign(1.0, push)
        tail, tip = (self._reach, at - sense * 7.5), (self._reach, at - sense * 0.9)
        self._push.draw(tail, tip, f"rim pushes {measure.short(abs(push), 'N')}", (self._reach - 1.2, at - sense * 1.9))
        self._said.set_text(f"gives sideways by {measure.short(abs(side), 'mm')}")
