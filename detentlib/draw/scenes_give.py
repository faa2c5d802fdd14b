"""The panel of notebook 02 on the sideways give: one bar with two turns, up and sideways, and where that lets the ball
rest.

`the_give(knife)` gives a Panel ready to show.
"""

import numpy as np
from matplotlib.artist import Artist

from ..knife.parts import Knife
from ..mechanics import bar as bars
from ..mechanics.carry import Detent
from ..mechanics.feel import loaded_offset
from ..mechanics.lift import lift
from ..say.measure import Measure
from ..tune.moves import with_one_ball
from .bentview import SIDEWAYS, FaceView
from .controls import Control, Setting
from .drawing import BALLS, GREY, INK, PUSH, SMALL, STYLES, Curve
from .panel import Panel
from .scene import Picture, break_force, span_of
from .section import Section
from .sideview import SideView
from .story import Story
from .words import Words

GIVE = "bar.side_compliance"
_MOST = 0.008  # mm/N, beyond any bar of such sizes
_GIVES = np.linspace(0.0, _MOST, 33)


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
        self.note = ax.text(0.99, 0.97, "", transform=ax.transAxes, ha="right", va="top", size=SMALL, color=GREY)

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
        sentence = (
            f"Loaded, the rim pushes the ball with {measure.say(abs(push), 'N')}, and the bar gives sideways by"
            f" {measure.say(abs(side), 'mm')}: it rests {measure.say(felt.loaded_offset[0], 'mm')} short of the middle"
            f" of its recess, touched at {measure.short(felt.contact_deg[0], 'deg')}."
        )
        rest = (
            f"Stripped, it stands {measure.say(ball.recess.rest_offset, 'mm')} short, touched at"
            f" {measure.short(stripped, 'deg')}.{story.warning()}"
        )
        seen = (
            "The bar from its edge, bent up in its relief, and on its face, turned sideways in the same relief, the"
            f" sideways turn drawn {SIDEWAYS} times too large. Section of the ball at rest, the place of the rim of"
            " stripped parts dashed."
        )
        return Words(break_force(story), sentence, rest, seen)


def the_give(knife: Knife) -> Panel:
    """Panel of notebook 02: ball 1 alone, shut; how far the bar gives sideways for each newton moves."""
    alone = with_one_ball(knife)
    own = float(bars.side_compliance(alone.bar, alone.balls[0]))
    alone = alone.replace({GIVE: own})
    control = Control(GIVE, "Sideways give", 0.0, max(_MOST, own), 0.0001)
    tries = {"stiff sideways, as in a textbook": {GIVE: 0.0}, "half as stiff": {GIVE: min(2 * own, control.hi)}}
    return Panel(alone, [control], TheGive(alone), tries)
