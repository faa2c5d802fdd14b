"""What every scene is made of: sections of the balls to the left, curves over the blade angle to the right, and how it becomes a panel.

Every number comes from a Story (story.py); a scene only places and words it.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from ..knife.parts import KnifeError
from ..knife.plain import in_picture, true_minus
from ..mechanics.feel import feel
from ..say.measure import MM
from .controls import BLADE_ANGLE, Control
from .drawing import BEFORE, GREY, GRID, INK, SMALL, Curve, unit_axis
from .panel import Panel
from .section import Section
from .story import Story

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


class OneCurve:
    """A scene whose one curve can be frozen as before: `_curve`, with `_note` to say so."""

    def keep(self):
        """Freeze the curve of now as before."""
        self._curve.keep()
        self._note.set_text("grey: before")

    def forget(self):
        """No before."""
        self._curve.forget()
        self._note.set_text("")


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
            low, high = ax.get_ylim()
            beyond.set_text(_beyond(heights, (low, high), plot, measure))
            upright.set_xdata([angle, angle])
            now = [height[stories[0].at] for height in heights]
            dots.set_data([angle] * len(now), [each if low <= each <= high else np.nan for each in now])
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
                high = 1.3 if title is None else 1.5  # room for the title above the push
                made.append((Section(ax, radius, newton, f"ball {ball + 1}", title, high), story, ball))
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
            handles = [Line2D([], [], color=line.colour, ls=line.style, lw=line.width, label=in_picture(line.name)) for line in plot.lines]
            ax.legend(handles=handles, loc=plot.legend, frameon=False, fontsize=SMALL, handlelength=3.2)
        upright = ax.axvline(0, color=INK, lw=1, ls=":")
        (dots,) = ax.plot([], [], "o", ms=6, mfc="white", mec=INK, mew=1.5, clip_on=False)
        beyond = ax.text(0.62, 0.99, "", transform=ax.transAxes, ha="center", va="top", size=SMALL, color=INK)
        return ax, plot, curves, (upright, dots, beyond)


def _beyond(heights, limits, plot, measure):
    """Where the curves go on outside the plot, in words: several sliders at their ends go further than one alone, which the axes hold."""
    least, most = min(height.min() for height in heights), max(height.max() for height in heights)
    up = [f"↑ to {measure.short(most, plot.unit)}"] if most > limits[1] else []
    down = [f"↓ to {measure.short(least, plot.unit)}"] if least < limits[0] and not plot.from_zero else []
    return true_minus(", ".join(up + down))


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


def control_for(knife, path, label, lo, hi, step):
    """A control whose range holds the knife's own value."""
    value = knife.get(path)
    return Control(path, label, min(lo, value), max(hi, value), step)


def angle_control(span):
    """The control of the blade angle from shut to the end of the plots [deg]."""
    return Control(BLADE_ANGLE, "Blade angle", 0.0, span, 0.02)
