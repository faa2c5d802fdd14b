"""The panel of notebook 02 on the sideways give: one bar with two turns, up and sideways, and where that lets the ball
rest.

`the_give(knife)` gives a Panel ready to show.
"""

import math

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon

from ..knife.parts import Knife
from ..mechanics import bar as bars
from ..mechanics.carry import Detent
from ..mechanics.feel import loaded_offset
from ..mechanics.lift import lift
from ..say.measure import Measure
from ..tune.moves import with_one_ball
from .controls import Control, Setting
from .drawing import BALLS, BAR, BEFORE, GREY, INK, PUSH, SMALL, STEEL, STYLES, Arrow, Curve
from .panel import Panel, Words
from .scene import Picture, span_of
from .section import Section
from .sideview import SideView, bent
from .story import Story

GIVE = "bar.side_compliance"
_MOST = 0.008  # mm/N, beyond any bar of such sizes
_GIVES = np.linspace(0.0, _MOST, 33)
_TIMES = 40  # so many times the sideways turn is drawn
_STICK = 1.0  # mm, width drawn of a bar whose width is not known


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
            f"on its face, drawn ×{_TIMES} sideways",
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
        ax.plot(*self._edge(0.0), color=GREY, lw=1.2, ls=(0, (4, 3)))
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
        self._relief = ax.add_patch(Polygon([(0, 0)], closed=True, fc="#c9b98f", ec=INK, lw=0.8))
        self._ball = ax.add_patch(Circle((0, 0), knife.balls[0].radius, fc=STEEL, ec=INK, lw=1))
        self._push = Arrow(ax, PUSH, ha="right", va="center", fontsize=SMALL)
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
        turn = _TIMES * side / self._reach
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


class TheGive(Picture):
    """The bar bent up and sideways, the ball at rest in its recess, and how far it then stands short of the middle."""

    def __init__(self, knife: Knife):
        """knife: with one ball and a number for its give."""
        super().__init__("the give")
        self._last = story = Story(knife, span_of([knife]))
        self._span = story.run.angle_deg[-1]
        self._side = SideView(self.figure.add_axes((0.005, 0.6, 0.99, 0.395)), knife, 4.0 / story.feel.ride_load)
        self._face = FaceView(self.figure.add_axes((0.005, 0.01, 0.3, 0.5)), knife)
        radius = knife.balls[0].radius
        self._section = Section(
            self.figure.add_axes((0.32, 0.06, 0.34, 0.47)),
            radius,
            story.newton(radius),
            "ball 1, at rest",
            "dashed: stripped",
        )
        (self._stripped,) = self._section.ax.plot([], [], color=PUSH, lw=1.2, ls=STYLES[1])
        self._place_plot(knife)
        self.moving = [*self._side.artists, *self._face.artists, *self._section.artists, self._stripped]
        self.moving += [*self._curve.artists, self._dot, self.note]

    def scale_bars(self, measure: Measure) -> list[Artist]:
        """Of the bar and of the section."""
        return [*self._side.scale_bars(measure), *self._section.scale_bars(measure)]

    def _place_plot(self, knife):
        """How far the loaded ball stands short of the middle, over the give of the bar."""
        self._offsets = [loaded_offset(Detent(knife.replace({GIVE: give})))[0] for give in _GIVES]
        high = max(*self._offsets, 0.0)
        ends = (0, 1.02 * _MOST, min(*self._offsets, 0.0), 1.15 * high or 1.0)
        ax = self.plot(
            (0.745, 0.125, 0.235, 0.37), ends, ("sideways give", "mm/N", 3), ("short of the middle", "mm", 4)
        )
        self._curve = Curve(ax, "", BALLS[0])
        self.curves = [self._curve]
        (self._dot,) = ax.plot([], [], "o", ms=7, mfc="white", mec=INK, mew=1.5, clip_on=False)
        self.note = ax.text(0.99, 0.97, "", transform=ax.transAxes, ha="right", va="top", size=SMALL, color=BEFORE)

    def show(self, knife: Knife, extras: Setting, measure: Measure) -> Words:
        """Compute everything, then draw it."""
        story = Story(knife, self._span, 0.0, self._last)
        seat, side, push = story.seat(0, "letting back"), story.run.side[0, 0], story.back.push[0, 0]
        words = self._words(story, seat, side, push, measure)
        self._last = story
        self._side.draw(knife, seat, seat.load / story.feel.rate, measure)
        self._face.draw(side, push, measure)
        self._section.draw(seat, "opening", measure)
        rim = seat.ball.recess.rim_radius - seat.ball.recess.rest_offset
        self._stripped.set_data([rim, rim], [0.0, 0.55 * self._section.top])
        self._curve.draw(_GIVES, self._offsets)
        self._dot.set_data([knife.get(GIVE)], [story.feel.loaded_offset[0]])
        return words

    def _words(self, story, seat, side, push, measure):
        """Stripped against loaded, and what that makes at the tab."""
        ball, felt = seat.ball, story.feel
        stripped = float(np.degrees(lift(ball, 0.0).phi))
        answer = (
            f"Stripped, the ball stands {measure.say(ball.recess.rest_offset, 'mm')} short of the middle of its recess,"
            f" touched at {measure.short(stripped, 'deg')}. Loaded, the rim pushes it with"
            f" {measure.say(abs(push), 'N')}, and the bar gives sideways by {measure.say(abs(side), 'mm')}: it rests"
            f" {measure.say(felt.loaded_offset[0], 'mm')} short, touched at"
            f" {measure.short(felt.contact_deg[0], 'deg')}. Break force at the tab"
            f" {measure.say(felt.break_force, 'N')}.{story.warning()}"
        )
        seen = (
            "The bar from its edge, bent up in its relief, and on its face, turned sideways in the same relief, the"
            f" sideways turn drawn {_TIMES} times too large. Section of the ball at rest, the place of the rim of"
            " stripped parts dashed."
        )
        return Words(answer, seen)


def the_give(knife: Knife) -> Panel:
    """Panel of notebook 02: ball 1 alone, shut; how far the bar gives sideways for each newton moves."""
    alone = with_one_ball(knife)
    own = float(bars.side_compliance(alone.bar, alone.balls[0]))
    alone = alone.replace({GIVE: own})
    control = Control(GIVE, "Sideways give", 0.0, max(_MOST, own), 0.0001)
    tries = {"stiff sideways, as in a textbook": {GIVE: 0.0}, "half as stiff": {GIVE: min(2 * own, control.hi)}}
    return Panel(alone, [control], TheGive(alone), tries)
