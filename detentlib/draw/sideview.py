"""The lock bar seen from its edge and the blade as a lever, both to scale.

Bar: handle, relief, bar and ball below, the tang above, and where the bar would stand free.

The bar turns as in B4: a rigid bar about the middle of its relief. The tang is drawn as if the ball's track ran along
the bar.
"""

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
from .drawing import BALLS, BAR, GREY, INK, PUSH, SKIN, SMALL, STEEL, TANG, TEXT, Arrow, scale_bar
from .section import SCREEN_DPI, Seat, tang_path
from .story import Story

_FINGER = (20, 24)  # px, width and length drawn of a finger tip
_HANDLE, _BEYOND, _TANG_START = 5.0, 5.5, 0.62  # mm before the relief and beyond the ball; share of the hinge distance


def bent(x: np.ndarray, half: float) -> np.ndarray:
    """How far a bar turned by one radian stands off at x from the middle of a relief with this half length:
    straight, bent, straight.
    """
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
        self.tang.set_clip_path(
            Rectangle((start, self.low), self.right - start, self.top - self.low, transform=ax.transData)
        )
        (self.end,) = ax.plot([start, start], [0, self.top], color=INK, lw=1)
        (self.free,) = ax.plot([], [], color=GREY, lw=1.2, ls=(0, (4, 3)))
        self.bend = Arrow(ax, INK, size=8, width=0.9, heads="<|-|>").shaft
        self.load = Arrow(ax, BALLS[0], va="top", ha="right")

    def _words(self, drawn):
        small, start = {"size": SMALL, "color": GREY}, _TANG_START * self.reach
        self.names = [
            self.ax.text(start + 4 * self.pixel, self.top - 5 * self.pixel, "tang", ha="left", va="top", **small),
            self.ax.text(self.left + 4 * self.pixel, self.top - 5 * self.pixel, "", ha="left", va="top", **small),
            self.ax.text(0, 0, "", ha="center", va="top", size=TEXT, color=INK),
            self.ax.text(self.reach - 2.2, 0, "", ha="right", va="bottom", size=TEXT, color=INK),
            self.ax.text(
                0.37 * self.reach,
                self.top - 5 * self.pixel,
                "dashed: free, without the blade",
                ha="center",
                va="top",
                **small,
            ),
            self.ax.text(0.34 * self.reach, 0, "lock bar" if drawn else "", ha="center", va="center", **small),
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
        self.load.draw(
            tail, tip, f"presses {measure.short(seat.load, 'N')}", (self.reach - 0.9, tip[1] - 8 * self.pixel)
        )
        self.bend.set_positions((self.reach - 1.8, -seat.gap), (self.reach - 1.8, bend - seat.gap))
        self._say(bar, face, bend - seat.gap, bend, measure)

    def _face(self, bar, parallel, gap):
        """Inner face of handle and bar as (x, z) with the bar at this gap at the ball: flat, bent in the relief,
        straight.
        """
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
        self.names[5].set_position(
            (
                0.34 * self.reach,
                np.interp(0.34 * self.reach, [0, self.right], [pivot, face[-1]]) - (bar.thickness or 0.0) / 2,
            )
        )


class Lever:
    """The blade as a lever, to scale: pivot, ball and push, each with its force; `artists` move."""

    def __init__(self, ax: Axes, samples: Sequence[Story]):
        """samples: of Story at the ends of the sliders; the arrows fit the greatest force."""
        blade, box = samples[0].knife.blade, ax.get_window_extent()
        longest = max([*(story.knife.blade.tab_arm for story in samples), blade.stud_arm or 0.0])
        most = max(
            np.abs(story.run.torque).max() / min(ball.track_radius for ball in story.knife.balls) for story in samples
        )
        ax.set(xlim=(-0.12 * longest, 1.12 * longest), ylim=(0, box.height))
        ax.set_axis_off()
        self._height, self._level = box.height, 0.55 * box.height
        self._newton, self._aside = 0.42 * box.height / most, 0.02 * longest
        wide = _FINGER[0] * 1.24 * longest / box.width
        (self._blade,) = ax.plot([0, longest], [self._level] * 2, color=GREY, lw=5, solid_capstyle="round")
        (self._pivot,) = ax.plot([0], [self._level], "o", ms=11, mfc="white", mec=INK, mew=1.5)
        small = {"size": SMALL, "color": GREY}
        self._names = [ax.text(-0.02 * longest, self._level + 10, "pivot", ha="center", va="bottom", **small)]
        for name, arm in (("tab", blade.tab_arm), ("stud", blade.stud_arm)):
            if arm is not None:
                self._names.append(ax.text(arm, self._level + 6, name, ha="center", va="bottom", **small))
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
        for arrow, arm, side, aside in (
            (self._ball, track, 1, self._aside),
            (self._push, blade.tab_arm, -1, -self._beside),
        ):
            force = torque / arm
            ends = ((arm, self._level + side * self._newton * abs(force)), (arm, self._level))
            said = f"{'finger ' * (arrow is self._push)}{measure.short(abs(force), 'N')} at {measure.round(arm, 'mm')}"
            arrow.draw(
                *(ends if torque >= 0 else ends[::-1]), said, (arm + aside, self._level + side * 0.34 * self._height)
            )
        # under the arrow of its push, its tip up; a blade that opens by itself has none there
        tail = self._level - self._newton * torque / blade.tab_arm
        self._finger.set(center=(blade.tab_arm, tail - _FINGER[1] / 2), visible=torque > 0)
