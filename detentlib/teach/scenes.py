"""The pictures of the panels: sections of the balls to the left, curves over the blade angle to the right.

`one_ball(knife)`, `whole_knife(knife)` and `side_by_side(knife, other)` give a Panel ready to show. Every number comes
from a Story (story.py); a scene only places and words it.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from ..mechanics.feel import feel
from ..parts import KnifeError
from ..workshop.moves import with_one_ball
from .controls import BLADE_ANGLE, Choice, Control
from .drawing import BACK, BALLS, BEFORE, ENVELOPE, GREY, GRID, INK, MM, OPENING, SMALL, STYLES, Curve, unit_axis
from .panel import Panel, Words
from .section import Section
from .story import WAYS, Story

DIRECTION = "direction"


class Line(NamedTuple):
    """One curve of a plot: its name, its look, and what of the stories it shows."""

    name: str
    colour: str
    style: object
    above: bool
    value: Callable
    width: float = 2.0


class Plot(NamedTuple):
    """One plot over the blade angle; legend: the corner that names the lines, else their ends do. from_zero: what is below is cut."""

    label: str
    unit: str
    lines: tuple
    legend: str = ""
    from_zero: bool = False


class Scene:
    """Sections, plots, the mark of the blade angle, before and now; a subclass says what is plotted and put in words.

    samples: lists of Story at the ends of the sliders; the axes and the length of the arrows are fixed to hold them.
    """

    size = (7.7, 4.4)
    foot = 0.0  # share of the height kept free below the sections
    places, height = (0.585, 0.115), 0.375  # of the plots, as shares of the figure's height

    def __init__(self, title, samples):
        """Lay out sections (a row for each story, a column for each of its balls) and plots."""
        self.title, self.extras = title, {BLADE_ANGLE: (0.0, "deg")}
        self.span, self._last = samples[0][0].run.angle_deg[-1], samples[0]
        self.figure = Figure(figsize=self.size, dpi=100, facecolor="white")
        FigureCanvasAgg(self.figure)
        self._sections = self._place_sections(samples)
        self._plots = [self._place_plot(plot, place, samples) for plot, place in zip(self.plots(samples[0]), self.places, strict=True)]
        self._note = self._plots[1][0].text(0.98, 0.95, "", transform=self._plots[1][0].transAxes, ha="right", va="top", size=SMALL, color=BEFORE)
        curves = [curve for _, _, curves, _ in self._plots for curve in curves]
        self._curves, self._scale_bars = curves, []
        self.moving = [artist for section, _, _ in self._sections for artist in section.artists]
        self.moving += [curve.before for curve in curves] + [artist for curve in curves for artist in (curve.now, curve.name)]
        self.moving += [mark for *_, marks in self._plots for mark in marks] + [self._note]
        self.relabel(MM)

    def knives(self, knife):
        """What is shown of a knife: itself, or several to compare."""
        return [knife]

    def show(self, knife, extras, measure):
        """Compute everything, then draw it; returns the Words. Raises KnifeError with the picture untouched."""
        angle, way = extras.get(BLADE_ANGLE, 0.0), extras.get(DIRECTION, "opening")
        stories = self._stories(knife, angle)
        words = self.words(stories, way, measure)
        self._last = stories
        self._draw_sections(stories, way, measure)
        for ax, plot, curves, (upright, dots, beyond) in self._plots:
            heights = [line.value(stories) for line in plot.lines]
            for curve, height in zip(curves, heights, strict=True):
                curve.draw(stories[0].run.angle_deg, height)
            beyond.set_text(_beyond(heights, ax.get_ylim(), plot, measure))
            upright.set_xdata([angle, angle])
            dots.set_data([angle] * len(heights), [height[stories[0].at] for height in heights])
        return words

    def _stories(self, knife, angle):
        """A Story of each knife shown."""
        return [Story(each, self.span, angle, before) for each, before in zip(self.knives(knife), self._last, strict=True)]

    def _draw_sections(self, stories, way, measure):
        """Every ball in its recess."""
        for section, story, ball in self._sections:
            section.draw(stories[story].seat(ball, way), way, measure)

    def keep(self):
        """Freeze the curves of now as before."""
        for curve in self._curves:
            curve.keep()
        self._note.set_text("grey: before")

    def forget(self):
        """No before."""
        for curve in self._curves:
            curve.forget()
        self._note.set_text("")

    def relabel(self, measure):
        """Axes and scale bars in the measure's units."""
        for artist in self._scale_bars:
            artist.remove()
        self._scale_bars = self._sections[-1][0].scale_bars(measure)
        for ax, plot, _, _ in self._plots:
            unit_axis(ax.yaxis, ax.get_ylim(), plot.label, plot.unit, measure)
            unit_axis(ax.xaxis, (0, self.span), "blade angle", "deg", measure)
        self._plots[0][0].xaxis.label.set_visible(False)

    def _place_sections(self, samples):
        """(Section, index of its story, index of its ball) of each ball."""
        shown, made = samples[0], []
        # one knife with several balls has one under the other, two knives one row each
        grid = (
            [[(i, 0)] for i in range(len(shown[0].knife.balls))]
            if len(shown) == 1
            else [[(i, j) for i in range(len(s.knife.balls))] for j, s in enumerate(shown)]
        )
        widest, height = max(len(row) for row in grid), (0.94 - self.foot) / len(grid)
        radius = max(ball.radius for stories in samples for story in stories for ball in story.knife.balls)
        newton = min(story.newton(radius) for story in shown)
        for down, row in enumerate(grid):
            for across, (ball, story) in enumerate(row):
                ax = self.figure.add_axes((0.005 + across * 0.48 / widest, 0.995 - (down + 1) * height, 0.475 / widest, 0.97 * height))
                title = None if len(shown) == 1 else self.names[story] if across == 0 else ""
                made.append((Section(ax, radius, newton, f"ball {ball + 1}", title), story, ball))
        return made

    def _place_plot(self, plot, bottom, samples):
        """(axes, Plot, curves, (upright, dots, words at the top)) with limits that hold every sample."""
        ax = self.figure.add_axes((0.575, bottom, 0.41, self.height))
        every = np.concatenate([line.value(stories) for stories in samples for line in plot.lines])
        low, high = 0.0 if plot.from_zero else min(every.min(), 0.0), max(every.max(), 0.0)
        pad = 0.08 * (high - low)
        under = low < 0 or not all(line.above for line in plot.lines)  # room for a name under its line
        ax.set(xlim=(0, self.span), ylim=(low - pad * under, high + pad))
        ax.grid(color=GRID, lw=0.8)
        ax.axhline(0, color=GREY, lw=0.8)
        ax.tick_params(labelsize=SMALL)
        ax.yaxis.set_label_coords(-0.12, 0.5)
        ax.spines[["top", "right"]].set_visible(False)
        curves = [Curve(ax, "" if plot.legend else line.name, line.colour, line.style, line.above, line.width) for line in plot.lines]
        if plot.legend:
            handles = [Line2D([], [], color=line.colour, ls=line.style, lw=line.width, label=line.name) for line in plot.lines]
            ax.legend(handles=handles, loc=plot.legend, frameon=False, fontsize=SMALL, handlelength=3.2)
        upright = ax.axvline(0, color=INK, lw=1, ls=":")
        (dots,) = ax.plot([], [], "o", ms=6, mfc="white", mec=INK, mew=1.5, clip_on=False)
        beyond = ax.text(0.46, 0.99, "", transform=ax.transAxes, ha="center", va="top", size=SMALL, color=INK)
        return ax, plot, curves, (upright, dots, beyond)


def _beyond(heights, limits, plot, measure):
    """Where the curves go on outside the plot, in words: several sliders at their ends go further than one alone, which the axes hold."""
    least, most = min(height.min() for height in heights), max(height.max() for height in heights)
    up = [f"↑ goes on to {measure.short(most, plot.unit)}"] if most > limits[1] else []
    down = [f"↓ to {measure.short(least, plot.unit)}"] if least < limits[0] and not plot.from_zero else []
    return ", ".join(up + down)


class OneBall(Scene):
    """Where the rim touches, and what that does to a push."""

    def plots(self, stories):
        """Contact angle, and the slope of the lift curve."""
        angle = Line("contact angle", BALLS[0], STYLES[0], True, lambda now: now[0].run.contact_deg[:, 0])
        slope = Line("slope of the lift curve", OPENING, STYLES[0], True, lambda now: now[0].run.slope)
        return Plot("contact angle", "deg", (angle,)), Plot("push per newton of bar", "", (slope,))

    def words(self, stories, way, measure):
        """Contact, rim gap, depth, and what a push of 10 N lifts."""
        story = stories[0]
        run, at = story.run, story.at
        slope, depth = run.slope[at], story.knife.balls[0].protrusion - run.gap[at]
        answer = f"At {measure.short(story.angle_deg, 'deg')}: {story.touching(measure)}"
        if slope > 0:
            lifts = f"10 N of push at the ball lifts {10 / slope:.1f} N of bar force (slope {slope:.3f}, no friction)"
            answer += f"; rim gap {measure.say(run.rim_gap[at, 0], 'mm')}, {measure.say(depth, 'mm')} deep in the recess. {lifts}."
        else:
            answer += "; the slope is zero: a push meets friction only."
        answer += story.warning()
        recess = story.knife.balls[0].recess
        alt = (
            f"Section to scale: ball of {measure.round(story.knife.balls[0].diameter, 'mm')} in a recess of {measure.round(recess.diameter, 'mm')}, "
            f"rest offset {measure.say(recess.rest_offset, 'mm')}; beside it contact angle and slope of the lift curve from 0° to {self.span:g}°. {answer}"
        )
        return Words(answer, alt)


class WholeKnife(Scene):
    """The lift demands with the envelope, and what the finger feels at the tab both ways."""

    def plots(self, stories):
        """Lift of each ball with the bar on top, and the tab force opening and letting back."""
        count = len(stories[0].knife.balls)
        lifts = [Line("lift curve", BALLS[0], STYLES[0], False, lambda now: now[0].run.gap)]
        if count > 1:
            balls = [Line(f"ball {i + 1}", BALLS[i % 3], STYLES[i % 3], i == 0, lambda now, i=i: now[0].demand_at_first(i)) for i in range(count)]
            lifts = [lifts[0]._replace(name="", colour=ENVELOPE, width=7.0), *balls]
        opening = Line("opening", OPENING, STYLES[0], True, lambda now: now[0].run.tab_force)
        back = Line("letting back", BACK, STYLES[1], False, lambda now: now[0].back.tab_force)
        return Plot("lift at ball 1", "mm", tuple(lifts), from_zero=True), Plot("force at the tab", "N", (opening, back))

    def words(self, stories, way, measure):
        """Now, and the knife as a whole."""
        story = stories[0]
        now = f"At {measure.short(story.angle_deg, 'deg')}: {story.touching(measure)}; {story.at_tab(way, measure)}."
        answer = f"{now} The knife: {story.feeling(measure)}.{story.warning()}"
        alt = (
            f"Section to scale, gap between bar and tang {measure.say(story.run.gap[story.at], 'mm')}; "
            f"beside it lift and force at the tab from 0° to {self.span:g}°. {answer}"
        )
        return Words(answer, alt)


class SideBySide(Scene):
    """Two knives over the same axes; the second one stays as it is."""

    size = (7.7, 3.8)  # four sections in a taller still would be more than a notebook should store

    def __init__(self, title, samples):
        """Remember the other knife, and what to call the two."""
        knife, self._other = (story.knife for story in samples[0])
        told_apart = knife.title != self._other.title
        self.names = [knife.title, self._other.title] if told_apart else [f"{knife.title} (1)", f"{knife.title} (2)"]
        super().__init__(title, samples)

    def knives(self, knife):
        """Both knives."""
        return [knife, self._other]

    def plots(self, stories):
        """Lift and opening force of both."""
        looks = [(name, BALLS[i], STYLES[i], i == 0) for i, name in enumerate(self.names)]
        lifts = [Line(*look, lambda now, i=i: now[i].run.gap) for i, look in enumerate(looks)]
        forces = [Line(*look, lambda now, i=i: now[i].run.tab_force) for i, look in enumerate(looks)]
        return Plot("lift at ball 1", "mm", tuple(lifts)), Plot("force to open", "N", tuple(forces), "upper right")

    def words(self, stories, way, measure):
        """Both feelings, and how far they lie apart."""
        told = [f"{name}: {story.feeling(measure)}." for name, story in zip(self.names, stories, strict=True)]
        first, second = (story.feel for story in stories)
        if first.break_force > 0 and first.barrier > 0:
            told.append(f"The second: {second.break_force / first.break_force:.2f} × the break force, {second.barrier / first.barrier:.2f} × the barrier.")
        answer, angle = " ".join(told), measure.short(stories[0].angle_deg, "deg")
        return Words(answer, f"Sections to scale of both knives at {angle}; beside them lift and opening force of both on the same axes. {answer}")


def one_ball(knife):
    """Panel of notebook 01: ball 1 of the knife alone and without friction; recess diameter, rest offset and blade angle move."""
    alone = with_one_ball(knife)
    return panel_of(OneBall, "one ball", _smooth(alone), _recess_controls(alone))


def whole_knife(knife):
    """Panel of notebook 00: recess diameter, rest offset, riding force, friction and blade angle move."""
    controls = [
        *_recess_controls(knife),
        control_for(knife, "bar.riding_force", "Riding force", 6.0, 25.0, 0.1),
        control_for(knife, "friction.rim", "Friction at the rim", 0.0, 0.4, 0.005),
    ]
    bore, rest = "balls[0].recess.diameter", "balls[0].recess.rest_offset"
    presets = {
        "fresh oil, friction 0.10": {"friction.rim": 0.10},
        "dry and dirty, friction 0.30": {"friction.rim": 0.30},
        "recess 2 thou larger": {bore: knife.get(bore) + 0.0508},
        "stop pin lets 2 thou more in": {rest: knife.get(rest) - 0.0508},
    }
    return panel_of(WholeKnife, "the whole knife", knife, controls, presets, Choice(DIRECTION, "Blade", tuple(WAYS)))


def side_by_side(knife, other):
    """Panel of notebook 00: two knives on the same axes; only the blade angle moves."""
    span = span_of([knife, other])
    scene = SideBySide("side by side", [[Story(each, span) for each in (knife, other)]])
    return Panel(knife, [angle_control(span)], scene)


PANELS = {"one_ball": one_ball, "whole_knife": whole_knife, "side_by_side": side_by_side}


def _smooth(knife):
    """The knife without friction at rim and flat."""
    return knife.replace({"friction.rim": 0.0, "friction.flat": 0.0})


def panel_of(kind, title, knife, controls, presets=None, choice=None):
    """The panel of one knife, with axes that hold what each slider does from end to end."""
    knives = [knife]
    for control in controls:
        for share in (0.0, 0.8, 1.0):
            try:
                feel(changed := knife.replace({control.path: control.lo + share * (control.hi - control.lo)}))
            except KnifeError:
                continue  # such an end is refused in words, not drawn
            knives.append(changed)
    span = span_of(knives)
    scene = kind(title, [[Story(each, span)] for each in knives])
    return Panel(knife, [*controls, angle_control(span)], scene, presets, choice)


def span_of(knives):
    """Last blade angle [deg] of the plots: every knife out, with a margin, in half degrees."""
    return np.ceil(max(feel(knife).break_out_deg for knife in knives) * 1.12 * 2) / 2


def _recess_controls(knife):
    """Recess diameter to beyond the ball, which is refused with its reason, and rest offset to the far rim; both with room for the presets."""
    ball, recess = knife.balls[0].diameter, knife.balls[0].recess
    return [
        control_for(knife, "balls[0].recess.diameter", "Recess diameter", round(0.7 * ball, 2), max(round(1.02 * ball, 2), recess.diameter + 0.06), 0.001),
        control_for(knife, "balls[0].recess.rest_offset", "Rest offset", min(-0.06, recess.rest_offset - 0.06), 0.18, 0.001),
    ]


def control_for(knife, path, label, lo, hi, step):
    """A control whose range holds the knife's own value."""
    value = knife.get(path)
    return Control(path, label, min(lo, value), max(hi, value), step)


def angle_control(span):
    """The control of the blade angle from shut to the end of the plots [deg]."""
    return Control(BLADE_ANGLE, "Blade angle", 0.0, span, 0.02)
