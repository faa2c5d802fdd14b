"""The lock bar from its edge and the blade as a lever, both to scale; and the bar alone, its two turns drawn too large.

The bar turns as in B4: a rigid bar about the middle of its relief. The tang is drawn as if the ball's track ran along
the bar.
"""

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Ellipse, PathPatch, Polygon, Rectangle
from matplotlib.path import Path

from ..derivations.formulas import formulas
from ..knife.parts import Knife
from ..knife.units import convert
from ..say.measure import MM, Measure
from .drawing import BALLS, BAR, GREY, INK, PLATE, PUSH, SKIN, SMALL, STEEL, TANG, TEXT, Arrow, caption, scale_bar
from .section import SCREEN_DPI, Seat, tang_path
from .story import Story

_FINGER = (20, 24)  # px, width and length drawn of a finger tip
_HANDLE, _BEYOND, _TANG_START = 5.0, 5.5, 0.62  # mm before the relief and beyond the ball; share of the hinge distance
SIDEWAYS = 40  # so many times the sideways turn is drawn
_STICK = 1.0  # mm, width and thickness drawn of a bar whose own are not known
_RELIEF = "#c9b98f"
_FLAT = (0, (4, 3))  # dashes of the bar without load


def bent(x: np.ndarray, half: float) -> np.ndarray:
    """How far a bar turned by one radian stands off at x from the middle of a relief of this half length."""
    return np.where(x < half, (x + half) ** 2 / (4 * half) if half else 0.0, x) * (x > -half)


class SideView:
    """Side view of the bar of a Knife with one ball, in axes of a fixed window; x = 0 is the middle of the relief.

    `artists` move, back to front. A bar without drawn sizes is a stick on a hinge, as its thickness is not known.
    """

    def __init__(self, ax: Axes, knife: Knife, newton: float):
        """newton: length of 1 N of arrow [mm]."""
        self.ax, self.newton = ax, newton
        self.reach = knife.balls[0].hinge_distance
        left, right = -_HANDLE - (knife.bar.relief_length or 0.0) / 2, self.reach + _BEYOND
        box = ax.get_window_extent()
        self.pixel = (right - left) / box.width
        self.top = 3.2
        self.low = self.top - box.height * self.pixel
        ax.set(xlim=(left, right), ylim=(self.low, self.top))
        ax.set_axis_off()
        self.left, self.right = left, right
        self._parts()
        self._words(knife.bar.drawn)

    def _parts(self):
        ax = self.ax
        self.bar = ax.add_patch(Polygon([(0, 0)], closed=True, fc=BAR, ec=INK, lw=1))
        (self.stick,) = ax.plot([], [], color=INK, lw=3)
        (self.hinge,) = ax.plot([], [], "o", ms=8, mfc="white", mec=INK, mew=1.5)
        self.ball = ax.add_patch(Circle((0, 0), 1, fc=STEEL, ec=INK, lw=1))
        self.tang = ax.add_patch(PathPatch(Path([(0, 0)]), fc=TANG, ec=INK, lw=1))
        start = _TANG_START * self.reach
        window = Rectangle((start, self.low), self.right - start, self.top - self.low, transform=ax.transData)
        self.tang.set_clip_path(window)
        (self.end,) = ax.plot([start, start], [0, self.top], color=INK, lw=1)
        (self.free,) = ax.plot([], [], color=GREY, lw=1.2, ls=(0, (4, 3)))
        self.bend = Arrow(ax, INK, size=8, width=0.9, heads="<|-|>").shaft
        self.load = Arrow(ax, BALLS[0], va="top", ha="right")

    def _words(self, drawn):
        ax, start, high = self.ax, _TANG_START * self.reach, self.top - 5 * self.pixel
        self.names = [
            caption(ax, start + 4 * self.pixel, high, "tang", GREY, "left", "top"),
            caption(ax, self.left + 4 * self.pixel, high, "", GREY, "left", "top"),
            caption(ax, 0, 0, "", INK, "center", "top", size=TEXT),
            caption(ax, self.reach - 2.2, 0, "", INK, "right", "bottom", size=TEXT),
            caption(ax, 0.37 * self.reach, high, "dashed: free, without the blade", GREY, "center", "top"),
            caption(ax, 0.34 * self.reach, 0, "lock bar" if drawn else "", GREY, "center", "center"),
        ]
        moving = [self.bar, self.stick, self.hinge, self.ball, self.tang, self.end, self.free, self.bend]
        self.artists = [*moving, *self.load.artists, *self.names]

    def scale_bars(self, measure: Measure) -> list[Artist]:
        """Fixed scale bar at the lower left, in the measure's unit."""
        length = 5.0 if measure is MM else convert(200.0, "thou", "mm")
        x, y = self.left + 5 * self.pixel, self.low + 9 * self.pixel
        said = f"{measure.round(length, 'mm')}; all to scale, ×{25.4 / SCREEN_DPI / self.pixel:.1f}"
        return scale_bar(self.ax, x, y, length, said, 6 * self.pixel)

    def draw(self, knife: Knife, seat: Seat, bend: float, measure: Measure) -> None:
        """Show a knife with the Seat of its ball now, and the bend of the bar from free [mm]."""
        bar, ball = knife.bar, knife.balls[0]
        parallel = ball.protrusion if bar.parallel_gap is None else bar.parallel_gap
        x, face = self._face(bar, parallel, seat.gap)
        self._draw_bar(bar, x, face)
        centre = (self.reach, ball.protrusion - seat.gap - ball.radius)
        self.ball.set_center(centre)
        self.ball.set_radius(ball.radius)
        outline = tang_path(ball.recess, -seat.offset, self.right, self.top)
        self.tang.set_path(Path(np.add(outline.vertices, (self.reach, 0)), outline.codes))
        self.free.set_data(*self._face(bar, parallel, seat.gap - bend))
        below = min(face[-1] - (bar.thickness or 0.0), centre[1] - ball.radius)
        tip, tail = (self.reach, below - 0.3), (self.reach, below - 0.3 - self.newton * seat.load)
        said = f"presses {measure.short(seat.load, 'N')}"
        self.load.draw(tail, tip, said, (self.reach - 0.9, tip[1] - 8 * self.pixel))
        self.bend.set_positions((self.reach - 1.8, -seat.gap), (self.reach - 1.8, bend - seat.gap))
        self._say(bar, face, bend - seat.gap, bend, measure)

    def _face(self, bar, parallel, gap):
        """Inner face of handle and bar as (x, z), the bar at this gap at the ball: flat, bent, straight."""
        psi = formulas["B4"](gap=gap, parallel_gap=parallel, hinge_distance=self.reach)
        half = (bar.relief_length or 0.0) / 2
        x = np.concatenate([[self.left], np.linspace(-half, half, 13), [self.right]])
        return x, -parallel - psi * bent(x, half)

    def _draw_bar(self, bar, x, face):
        self.bar.set_visible(bar.drawn)
        for artist in (self.stick, self.hinge):
            artist.set_visible(not bar.drawn)
        if not bar.drawn:
            self.stick.set_data(x, face)
            self.hinge.set_data([0], [face[1]])
            return
        thin, thick = face[1:-1] - bar.relief_thickness, face - bar.thickness
        under_x = np.concatenate([x[:1], x[1:2], x[1:-1], x[-2:-1], x[-1:]])
        under = np.concatenate([thick[:2], thin, thick[-2:]])
        self.bar.set_xy(np.column_stack([np.concatenate([x, under_x[::-1]]), np.concatenate([face, under[::-1]])]))

    def _say(self, bar, face, free, bend, measure):
        """Names that follow what they name; free: height of the free bar at the ball."""
        pivot = face[1]
        self.names[1].set_text("handle" if bar.drawn else "hinge; thickness not known")
        self.names[2].set_text(f"relief {measure.short(bar.relief_thickness, 'mm')}" if bar.drawn else "")
        self.names[2].set_position((0, pivot - (bar.thickness or 0.0) - 5 * self.pixel))
        self.names[3].set_text(f"bent by {measure.short(bend, 'mm')}")
        self.names[3].set_y(free + 3 * self.pixel if free < self.top - 20 * self.pixel else 3 * self.pixel)
        at = 0.34 * self.reach
        height = np.interp(at, [0, self.right], [pivot, face[-1]]) - (bar.thickness or 0.0) / 2
        self.names[5].set_position((at, height))


class Lever:
    """The blade as a lever, to scale: pivot, ball and push, each with its force; `artists` move."""

    def __init__(self, ax: Axes, samples: Sequence[Story]):
        """samples: of Story at the ends of the sliders; the arrows fit the greatest force."""
        blade, box = samples[0].knife.blade, ax.get_window_extent()
        longest = max([*(story.knife.blade.tab_arm for story in samples), blade.stud_arm or 0.0])
        tracks = [min(ball.track_radius for ball in story.knife.balls) for story in samples]
        most = max(np.abs(story.run.torque).max() / track for story, track in zip(samples, tracks, strict=True))
        ax.set(xlim=(-0.12 * longest, 1.12 * longest), ylim=(0, box.height))
        ax.set_axis_off()
        self._height, self._level, self._near = box.height, 0.55 * box.height, 0.5 * longest
        self._newton, self._aside = 0.42 * box.height / most, 0.02 * longest
        wide = _FINGER[0] * 1.24 * longest / box.width
        (self._blade,) = ax.plot([0, longest], [self._level] * 2, color=GREY, lw=5, solid_capstyle="round")
        (self._pivot,) = ax.plot([0], [self._level], "o", ms=11, mfc="white", mec=INK, mew=1.5)
        self._names = [caption(ax, -0.02 * longest, self._level + 10, "pivot", GREY, "center", "bottom")]
        for name, arm in (("tab", blade.tab_arm), ("stud", blade.stud_arm)):
            if arm is not None:
                self._names.append(caption(ax, arm, self._level + 6, name, GREY, "center", "bottom"))
        self._ball = Arrow(ax, BALLS[0], va="center", ha="left", fontsize=SMALL)
        self._push = Arrow(ax, PUSH, va="center", ha="right", fontsize=SMALL)
        self._beside = self._aside + wide / 2
        self._finger = ax.add_patch(Ellipse((0, 0), wide, _FINGER[1], fc=SKIN, ec=INK, lw=0.9))
        arrows = [*self._ball.artists, *self._push.artists]
        self.artists = [self._finger, self._blade, self._pivot, *self._names, *arrows]

    def draw(self, story: Story, way: str, measure: Measure) -> None:
        """Show what holds at the ball and what pushes at the end of the arm."""
        turned, blade = story.turned(way), story.knife.blade
        torque, track = turned.torque[story.at], story.knife.balls[max(turned.carrier[story.at], 0)].track_radius
        right = blade.tab_arm < self._near  # else there is no room to its left
        self._push.name.set_ha("left" if right else "right")
        for arrow, arm, side, aside in (
            (self._ball, track, 1, self._aside),
            (self._push, blade.tab_arm, -1, self._beside if right else -self._beside),
        ):
            force = torque / arm
            ends = ((arm, self._level + side * self._newton * abs(force)), (arm, self._level))
            said = f"{'finger ' * (arrow is self._push)}{measure.short(abs(force), 'N')} at {measure.round(arm, 'mm')}"
            beside = arm + aside, self._level + side * 0.34 * self._height
            arrow.draw(*(ends if torque >= 0 else ends[::-1]), said, beside)
        # under the arrow of its push, its tip up; a blade that opens by itself has none there
        tail = self._level - self._newton * torque / blade.tab_arm
        self._finger.set(center=(blade.tab_arm, tail - _FINGER[1] / 2), visible=torque > 0)


class EdgeView:
    """The bar from its edge, and dashed as it stands free, its bend drawn `times` too large. `artists` move."""

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
        under = -self._thick - 4 * pixel
        caption(ax, left + 4 * pixel, self._top - 4 * pixel, f"from its edge, bend drawn ×{self.times}", GREY, va="top")
        caption(ax, left + 4 * pixel, under, "handle" if bar.drawn else "hinge", GREY, va="top")
        caption(ax, self._reach + 4, under, "dashed: free", GREY, "right", "top")
        self._bar = ax.add_patch(Polygon([(0, 0)], closed=True, fc=BAR, ec=INK, lw=1))
        (self._free,) = ax.plot([], [], color=GREY, lw=1.2, ls=_FLAT)
        self._ball = ax.add_patch(Circle((self._reach, 0), knife.balls[0].radius, fc=STEEL, ec=INK, lw=1))
        self._bend = Arrow(ax, INK, size=8, width=0.9, heads="<|-|>", ha="right", va="bottom", fontsize=SMALL)
        self.artists = [self._bar, self._ball, self._free, *self._bend.artists]

    def draw(self, knife: Knife, bend: float, measure: Measure) -> None:
        """The bar of a knife bent by so much at the ball, from where it stands free [mm]."""
        x, thin = self._x, knife.bar.relief_thickness or self._thick
        under = [-self._thick] * 2 + [-thin] * (len(x) - 2) + [-self._thick] * 2
        under_x = [*x[:2], *x[1:-1], *x[-2:]]
        self._bar.set_xy(np.column_stack([[*x, *under_x[::-1]], [*0 * x, *under[::-1]]]))
        rise = self.times * bend / self._reach
        self._free.set_data(x, rise * bent(x, self._half))
        at = self._reach - 2.2
        top = rise * at
        self._bend.draw((at, 0.0), (at, top), measure.short(bend, "mm"), (at - 0.6, top + 2 * self._pixel))


class FaceView:
    """The bar on its face, handle to the left, its sideways turn drawn many times too large. `artists` move."""

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
        caption(ax, left + 4 * pixel, top - 4 * pixel, f"on its face, drawn ×{SIDEWAYS} sideways", GREY, va="top")
        caption(ax, left + 4 * pixel, -0.5 * self._wide - 4 * pixel, "handle" if bar.drawn else "hinge", GREY, va="top")
        ax.plot(*self._edge(0.0), color=GREY, lw=1.2, ls=_FLAT)
        caption(ax, self._reach - 2.0, -0.5 * self._wide - 4 * pixel, "dashed: stripped", GREY, "right", "top")
        self._bar = ax.add_patch(Polygon([(0, 0)], closed=True, fc=BAR, ec=INK, lw=1, alpha=0.9))
        self._relief = ax.add_patch(Polygon([(0, 0)], closed=True, fc=_RELIEF, ec=INK, lw=0.8))
        self._ball = ax.add_patch(Circle((0, 0), knife.balls[0].radius, fc=STEEL, ec=INK, lw=1))
        self._push = Arrow(ax, PUSH, ha="right", va="center", fontsize=SMALL, bbox=PLATE)
        self._said = caption(ax, left + 4 * pixel, top - 22 * pixel, "", INK, va="top")
        self.artists = [self._bar, self._relief, self._ball, *self._push.artists, self._said]

    def _edge(self, turn):
        middle, x, side = turn * bent(self._x, self._half), self._x, self._wide / 2
        return [*x, *x[::-1], x[0]], [*middle + side, *middle[::-1] - side, middle[0] + side]

    def draw(self, side: float, push: float, measure: Measure) -> None:
        """The bar with its ball moved sideways by `side` [mm] and pushed by the rim with `push` [N]."""
        turn = SIDEWAYS * side / self._reach
        self._bar.set_xy(np.column_stack(self._edge(turn)))
        x, middle, half = self._x[1:-1], turn * bent(self._x, self._half)[1:-1], self._wide / 2
        self._relief.set_xy(np.column_stack([[*x, *x[::-1]], [*middle + half, *middle[::-1] - half]]))
        at = turn * self._reach
        self._ball.set_center((self._reach, at))
        sense = math.copysign(1.0, push)
        tail, tip = (self._reach, at - sense * 7.5), (self._reach, at - sense * 0.9)
        self._push.draw(tail, tip, f"rim pushes {measure.short(abs(push), 'N')}", (self._reach - 1.2, at - sense * 1.9))
        self._said.set_text(f"gives sideways by {measure.short(abs(side), 'mm')}")
