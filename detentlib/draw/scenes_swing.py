"""The picture of the panel of notebook 06: the whole swing, around the tang.

`around_the_tang(knife)` gives a Panel ready to show, made as those of scenes.py are.
"""

import math

from matplotlib.transforms import Affine2D

from ..knife.parts import KnifeError
from .controls import Dropdown
from .drawing import BACK, BALLS, GREY, INK, OPENING, SMALL, STYLES
from .panel import Panel, Words
from .scene import DIRECTION, Line, Plot, Scene, angle_control, control_for
from .section import Section, tang_outline
from .story import WAYS
from .swing_story import SwingStory, leavings
from .swing_strip import SwingStrip
from .tang_face import TangFace, draw_balls, tang_radius

RUN_OFF = "balls[0].run_off_deg"
_FACE, _SECTION, _STRIP = (0.005, 0.555, 0.475, 0.44), (0.005, 0.275, 0.475, 0.26), (0.03, 0.075, 0.94, 0.04)


class AroundTheTang(Scene):
    """The turning tang on its face, the section of the ball that carries, lift and force over the swing, and the strip in words."""

    size = (7.7, 5.4)
    places, height = (0.69, 0.36), 0.27

    def __init__(self, title, samples):
        """Lay out tang, section, plots and strip."""
        self._strip = None
        super().__init__(title, samples)
        self._strip = SwingStrip(self.figure.add_axes(_STRIP), self.span)
        self._strip.relabel()
        self.moving = [*self._face.artists, *self._balls, *self.moving, *self._strip.artists]

    def plots(self, stories):
        """Lift at ball 1, and the force at the tab both ways."""
        bar = Line("", BALLS[0], STYLES[0], True, lambda now: now[0].run.gap)
        opening = Line("opening", OPENING, STYLES[0], True, lambda now: now[0].run.tab_force)
        back = Line("letting back", BACK, STYLES[1], True, lambda now: now[0].back.tab_force, 1.6)
        return Plot("lift at ball 1", "mm", (bar,), from_zero=True), Plot("force at the tab", "N", (opening, back), "lower center")

    def show(self, knife, extras, measure):
        """As Scene.show, with the tang turned to the blade angle and the strip drawn."""
        words = super().show(knife, extras, measure)
        story = self._last[0]
        self._turn.clear().rotate(math.radians(story.angle_deg))
        self._face.draw(knife, story.swing)
        self._strip.draw(story.swing, story.angle_deg)
        return words

    def words(self, stories, way, measure):
        """What touches now, what the finger has to do, where balls leave the tang, and what the swing costs."""
        story = stories[0]
        now = f"At {measure.short(story.angle_deg, 'deg')}: {story.touching(measure, way)}; {story.at_tab(way, measure)}."
        gone = [_left(each, measure) for each in leavings(story.knife, story.swing)[:1]]
        drops = [f"{each.touching.capitalize()} again at {each.from_deg:.1f}°: a false detent." for each in story.swing.crossings[:1]]
        cost = f"To open: {story.swing.work_opening:.0f} mJ, barrier {story.feel.barrier:.1f} mJ."
        answer = " ".join([now, *gone, *drops, cost])
        alt = (
            "The tang on its face, to scale, turned to the blade angle, with pivot, recesses, the arcs that the balls ride and where they run off; "
            f"under it the section of the ball that carries; beside them lift and force at the tab, both ways, from 0° to {self.span:g}°; "
            f"below a strip of what touches where. {answer}"
        )
        return Words(answer, alt)

    def relabel(self, measure):
        """Axes and scale bars in the measure's units."""
        super().relabel(measure)
        self._plots[0][0].tick_params(labelbottom=False)

    def _stories(self, knife, angle):
        """The knife over its whole swing."""
        return [SwingStory(knife, angle, self._last[0])]

    def _place_sections(self, samples):
        """One section, of the ball that carries; above it the face of the tang."""
        knife = samples[0][0].knife
        ax = self.figure.add_axes(_FACE)
        top = tang_radius(knife)
        box = ax.get_window_extent()
        half = 1.04 * top
        ax.set(ylim=(-half, half), xlim=(-half * box.width / box.height, half * box.width / box.height))
        ax.set_axis_off()
        self._turn = Affine2D()
        self._face = TangFace(ax, len(knife.balls), self._turn + ax.transData)
        self._balls = draw_balls(ax, knife)
        length = 5.0
        left = ax.get_xlim()[0] + 0.5
        ax.plot([left, left + length], [0.9 * half] * 2, color=INK, lw=2.5, solid_capstyle="butt")
        ax.text(left, 0.83 * half, "5 mm", size=SMALL, va="top")
        ax.text(-left, 0.97 * half, "tang, seen\nfrom the bar", size=SMALL, color=GREY, ha="right", va="top")
        radius = max(ball.radius for ball in knife.balls)
        loads = max(story.run.load.max() for stories in samples for story in stories)
        section = Section(self.figure.add_axes(_SECTION), radius, 1.0 * radius / loads, "ball 1", high=1.05)
        return [(section, 0, 0)]

    def _draw_sections(self, stories, way, measure):
        """The ball that carries, on what of the tang lies along its track."""
        section, story = self._sections[0][0], stories[0]
        section.name = f"ball {story.shown(way) + 1}"
        section.draw(story.seat_now(way), way, measure)
        recesses, edge = story.tang_at_ball(2 * section.half, way)
        section.tang.set_path(tang_outline(recesses, section.half, section.top, edge))


def around_the_tang(knife):
    """Panel of notebook 06: blade angle over the whole swing, and where ball 1 runs off the tang, if the card says so."""
    controls, span, first = [], float(knife.blade.opening_deg), SwingStory(knife)
    starts = first.knife.balls[0].run_off_deg
    if starts is not None:
        controls.append(control_for(knife, RUN_OFF, "Run-off of ball 1", round(starts - 30.0), span + 2.0, 0.5))
    samples = [first]
    for control in controls:
        for end in (control.lo, control.hi):
            try:
                samples.append(SwingStory(knife.replace({control.path: end})))
            except KnifeError:
                continue  # such an end is refused in words, not drawn
    scene = AroundTheTang("around the tang", [[story] for story in samples])
    angle = angle_control(span)._replace(step=0.1)
    return Panel(knife, [angle, *controls], scene, _tries(first, angle), Dropdown(DIRECTION, "Blade", tuple(WAYS)))


PANELS = {"around_the_tang": around_the_tang}


def _tries(story, angle):
    """Places on the way that are worth a look."""
    places = {"free of the rim": story.feel.break_out_deg, "half way": story.knife.blade.opening_deg / 2}
    for each in leavings(story.knife, story.swing):
        ball = each.ball + 1
        places[f"ball {ball} half over the edge"] = (each.angle_deg + each.until_deg) / 2
        if each.to is not None and each.to >= 0:
            places[f"ball {each.to + 1} has taken over"] = each.until_deg + 0.5
    return {name: {angle.path: round(min(at, angle.hi), 2)} for name, at in places.items()}


def _left(each, measure):
    """Where a ball leaves the tang, in words."""
    to = "the bar face lands" if each.to == -1 else "the blade is open" if each.to is None else f"ball {each.to + 1} takes over"
    return (
        f"Ball {each.ball + 1} runs off at {each.angle_deg:.1f}°; {to} {measure.say(each.past, 'mm')} further, "
        f"{measure.say(each.drop, 'mm')} lower, at {each.until_deg:.1f}°."
    )
