"""What every scene is made of: sections of the balls to the left, curves over the blade angle to the right, and how it
becomes a panel.

Every number comes from a Story (story.py); a scene only places and words it.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from ..knife.parts import Knife, KnifeError
from ..knife.plain import in_picture, true_minus
from ..mechanics import limits
from ..mechanics.carry import Detent
from ..say.measure import Measure
from .controls import BLADE_ANGLE, Control, Dropdown, Make, Setting
from .drawing import BACK, GREY, INK, OPENING, SMALL, STYLES, Curve, caption, plain, unit_axis
from .panel import Panel
from .section import Magnifier, Seat, Section
from .story import WAYS, Story
from .words import Number, Words

DIRECTION = "direction"


class Picture:
    """A figure that a panel shows: plots whose `curves` can be frozen as before, said by `note`, and scale bars.

    `moving`: the artists that move, back to front. A subclass has a `title` and `show(knife, extras, measure)`, which
    computes everything before it draws and returns the Words; it raises KnifeError with the picture untouched.
    """

    title: str
    size = (7.7, 4.4)
    pace = None  # of the swing, where the blade angle is not drawn to an even scale

    def __init__(self):
        """An empty figure."""
        self.moving, self.curves = [], []
        self.figure = Figure(figsize=self.size, dpi=100, facecolor="white")
        FigureCanvasAgg(self.figure)
        self._axes, self._scale_bars = [], []

    def plot(
        self,
        place: tuple[float, float, float, float],
        ends: tuple[float, float, float, float],
        across: tuple[str, str, int],
        up: tuple[str, str, int],
    ) -> Axes:
        """Axes of a plot with (left, right, bottom, top) ends; across and up: (label, unit, most ticks)."""
        ax = self.figure.add_axes(place)
        ax.set(xlim=ends[:2], ylim=ends[2:])
        plain(ax)
        self._axes += [(ax.xaxis, *across), (ax.yaxis, *up)]
        return ax

    def relabel(self, measure: Measure) -> None:
        """Axes and scale bars in the measure's units."""
        for artist in self._scale_bars:
            artist.remove()
        self._scale_bars = self.scale_bars(measure)
        for axis, label, unit, most in self._axes:
            unit_axis(axis, axis.get_view_interval(), label, unit, measure, most)

    def keep(self) -> None:
        """Freeze the curves of now as before."""
        for curve in self.curves:
            curve.keep()
        self.note.set_text("grey: before")

    def forget(self) -> None:
        """No before."""
        for curve in self.curves:
            curve.forget()
        self.note.set_text("")


class Line(NamedTuple):
    """One curve of a plot: its name, its look, and what of a Story it shows."""

    name: str
    colour: str
    style: object
    above: bool
    value: Callable
    width: float = 2.0


class Plot:
    """One plot over the blade angle: its lines, the mark of the angle of now, and words where a line leaves it.

    legend: the corner that names the lines, else their ends do. from_zero: what is below is cut.
    """

    def __init__(self, label: str, unit: str, *lines: Line, legend: str = "", from_zero: bool = False):
        """label, unit: of what the lines show."""
        self.label, self.unit, self.lines, self.legend, self.from_zero = label, unit, lines, legend, from_zero

    def ends(self, samples: Sequence[Story]) -> tuple[float, float]:
        """(bottom, top) that hold every sample."""
        every = np.concatenate([line.value(story) for story in samples for line in self.lines])
        low, high = 0.0 if self.from_zero else min(every.min(), 0.0), max(every.max(), 0.0)
        pad = 0.08 * (high - low)
        under = low < 0 or not all(line.above for line in self.lines)  # room for a name under its line
        return low - pad * under, high + pad

    def place(self, ax: Axes) -> None:
        """Put the artists on their axes."""
        self.ax = ax
        ax.axhline(0, color=GREY, lw=0.8)
        ax.yaxis.set_label_coords(-0.12, 0.5)
        self.curves, handles = [], []
        for name, colour, style, above, _, width in self.lines:
            self.curves.append(Curve(ax, "" if self.legend else name, colour, style, above, width))
            handles.append(Line2D([], [], color=colour, ls=style, lw=width, label=in_picture(name)))
        if self.legend:
            plate = {"facecolor": "white", "edgecolor": "none", "framealpha": 1.0}
            ax.legend(handles=handles, loc=self.legend, fontsize=SMALL, handlelength=3.2, **plate)
        self.upright = ax.axvline(0, color=INK, lw=1, ls=":")
        (self.dots,) = ax.plot([], [], "o", ms=6, mfc="white", mec=INK, mew=1.5, clip_on=False)
        self.beyond = caption(ax, 0.62, 0.99, "", INK, "center", "top", transform=ax.transAxes)
        self.marks = [self.upright, self.dots, self.beyond]

    def draw(self, story: Story, measure: Measure) -> None:
        """Show a Story."""
        heights = [line.value(story) for line in self.lines]
        for curve, height in zip(self.curves, heights, strict=True):
            curve.draw(story.run.angle_deg, height)
        low, high = self.ax.get_ylim()
        self.upright.set_xdata([story.angle_deg, story.angle_deg])
        now = [height[story.at] for height in heights]
        self.dots.set_data([story.angle_deg] * len(now), [each if low <= each <= high else np.nan for each in now])
        # several sliders at their ends go further than one alone, which the axes hold
        least, most = min(height.min() for height in heights), max(height.max() for height in heights)
        up = [f"↑ to {measure.short(most, self.unit)}"] if most > high else []
        down = [f"↓ to {measure.short(least, self.unit)}"] if least < low and not self.from_zero else []
        self.beyond.set_text(true_minus(", ".join(up + down)))


def break_force(story: Story) -> Number:
    """The number of most panels: the break force at the end of the tab arm."""
    return Number("Break force at the tab", story.feel.break_force, "N")


def both_ways(label: str, back_above: bool = False, back_width: float = 2.0) -> tuple[str, str, Line, Line]:
    """The plot of the force at the end of the tab arm, opening and letting back."""
    opening = Line("opening", OPENING, STYLES[0], True, lambda story: story.run.tab_force)
    back = Line("letting back", BACK, STYLES[1], back_above, lambda story: story.back.tab_force, back_width)
    return label, "N", opening, back


class Scene(Picture):
    """Sections, plots over the blade angle, before and now; a subclass says what is plotted and put in words.

    samples: of Story at the ends of the sliders; the axes and the length of the arrows are fixed to hold them.
    """

    lens = False  # whether each section has a magnifier for the gap of an idle ball
    foot = 0.0  # share of the height kept free below the sections
    places, height = (0.585, 0.115), 0.375  # of the plots, as shares of the figure's height

    def __init__(self, samples: Sequence[Story]):
        """Lay out sections and plots."""
        super().__init__()
        self.span, self.story = samples[0].run.angle_deg[-1], samples[0]
        self._sections, self._plots = self._place_sections(samples), self.plots(samples[0])
        for plot, bottom, across in zip(self._plots, self.places, (("", ""), ("blade angle", "deg")), strict=True):
            ends = (0, self.span, *plot.ends(samples))
            plot.place(self.plot((0.575, bottom, 0.41, self.height), ends, (*across, 5), (plot.label, plot.unit, 5)))
            self.curves += plot.curves
        ax = self._plots[1].ax
        self.note = caption(ax, 0.98, 0.95, "", GREY, "right", "top", transform=ax.transAxes)
        self.moving = [artist for section in self._sections for artist in section.artists]
        self._lenses = [Magnifier(section) for section in self._sections] if self.lens else []
        self.moving += [artist for lens in self._lenses for artist in lens.artists]
        self.moving += [curve.before for curve in self.curves]
        self.moving += [artist for curve in self.curves for artist in (curve.now, curve.name)]
        self.moving += [*(mark for plot in self._plots for mark in plot.marks), self.note]

    def show(self, knife: Knife, extras: Setting, measure: Measure) -> Words:
        """Compute everything, then draw it. Raises KnifeError with the picture untouched."""
        story, way = self.followed(knife, extras.get(BLADE_ANGLE, 0.0)), extras.get(DIRECTION, "opening")
        words = self.words(story, way, measure, extras)
        self.story = story
        self.draw(story, way, measure, extras)
        return words

    def followed(self, knife: Knife, angle: float) -> Story:
        """The Story of a knife with the blade at an angle [deg]."""
        return Story(knife, self.span, angle, self.story)

    def draw(self, story: Story, way: str, measure: Measure, extras: Setting) -> None:
        """Sections and plots; extras: as of `Panel`."""
        for i, section in enumerate(self._sections[: len(story.knife.balls)]):
            section.draw(self.seat(story, i, way), way, measure)
        for i, lens in enumerate(self._lenses[: len(story.knife.balls)]):
            lens.draw(self.seat(story, i, way))
        for plot in self._plots:
            plot.draw(story, measure)

    def seat(self, story: Story, ball: int, way: str) -> Seat:
        """The Seat of a ball that its section shows."""
        return story.seat(ball, way)

    def scale_bars(self, measure: Measure) -> list[Artist]:
        """Those of the lowest section."""
        return self._sections[-1].scale_bars(measure)

    def _place_sections(self, samples):
        first, radius = samples[0], max(ball.radius for story in samples for ball in story.knife.balls)
        return one_below_the_other(self.figure, len(first.knife.balls), radius, first.newton(radius), self.foot)


def one_below_the_other(figure: Figure, count: int, radius: float, newton: float, foot: float = 0.0) -> list[Section]:
    """A Section for each of so many balls, above a free foot; radius and newton: as of a Section."""
    height = (0.94 - foot) / count
    places = [(0.005, 0.995 - (i + 1) * height, 0.475, 0.97 * height) for i in range(count)]
    return [Section(figure.add_axes(place), radius, newton, f"ball {i + 1}") for i, place in enumerate(places)]


class Sample(NamedTuple):
    """A knife that a scene may show, and its Detent."""

    knife: Knife
    detent: Detent


def made_of(knife: Knife, controls: Iterable[Control], setting: Setting, make: Make | None = None) -> Sample | None:
    """The Sample of a setting {name: value}; None beyond a slider's end, and where the knife cannot be."""
    controls = {control.path: control for control in controls}
    for name, value in setting.items():
        if name in controls and not (control := controls[name].of(knife)).lo <= value <= control.hi:
            return None
    starts = {name: control.start for name, control in controls.items() if control.start is not None}
    own = {name: value for name, value in setting.items() if name in controls and name not in starts}
    others = {name: value for name, value in setting.items() if name not in own}
    try:
        made = knife.replace(own)
        made = make(made, starts | others) if make else made
        return Sample(made, limits.check(made))
    except KnifeError:
        return None


def samples_of(
    knife: Knife,
    controls: Sequence[Control],
    tries: Mapping[str, Setting],
    choice: Dropdown | None = None,
    extremes: Iterable[Setting] = (),
    make: Make | None = None,
) -> tuple[list[Sample], dict[str, Setting]]:
    """The Samples that the axes of a scene hold, first the knife itself, and the tries that can be.

    Held are both ends of each slider, four fifths of it for a peak between them or an end that cannot be, each try,
    each option of the choice, and the extremes, which are settings as well.
    """
    settings = []
    for control in controls:
        low, high = control.of(knife)[2:4]
        settings += [{control.path: low + share * (high - low)} for share in (0.0, 0.8, 1.0)]
    settings += [{choice.name: option} for option in choice.options] if choice else []
    tried = {name: made_of(knife, controls, setting, make) for name, setting in tries.items()}
    found = (made_of(knife, controls, setting, make) for setting in (*settings, *extremes))
    samples = [Sample(knife, limits.check(knife))]
    for made in filter(None, (*found, *tried.values())):
        if all(made.knife != sample.knife for sample in samples):
            samples.append(made)
    return samples, {name: tries[name] for name, made in tried.items() if made}


def panel_of(
    scene_of: Callable[[Sequence[Story]], Picture],
    knife: Knife,
    controls: Sequence[Control],
    tries: Mapping[str, Setting],
    choice: Dropdown | None = None,
    extremes: Iterable[Setting] = (),
    make: Make | None = None,
    turns: bool = True,
) -> Panel:
    """The panel of one knife with a scene_of(samples) whose axes hold what each slider, try, option and extreme does.

    turns: whether the blade angle is the last slider. The others are as of `Panel` and `samples_of`.
    """
    samples, tries = samples_of(knife, controls, tries, choice, extremes, make)
    span = span_of(sample.detent for sample in samples)
    scene = scene_of([Story(each.knife, span, detent=each.detent) for each in samples])
    return Panel(knife, [*controls, *([angle_control(span)] if turns else [])], scene, tries, choice, make)


def span_of(detents: Iterable[Detent]) -> float:
    """Last blade angle [deg] of the plots: every knife out, with a margin, in half degrees."""
    return np.ceil(max(np.degrees(detent.break_out.item()) for detent in detents) * 1.12 * 2) / 2


BLADE = Dropdown(DIRECTION, "Blade", tuple(WAYS))


def angle_control(span: float, step: float = 0.02) -> Control:
    """The control of the blade angle from shut to the end of the plots [deg]."""
    return Control(BLADE_ANGLE, "Blade angle", 0.0, span, step, 0.0, "deg")
