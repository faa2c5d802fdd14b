"""Drawing primitives of every picture: colours, plots, units on axes, scale bars, curves and arrows."""

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch
from matplotlib.text import Annotation, Text
from matplotlib.ticker import FixedFormatter, FixedLocator, MaxNLocator

from ..knife.plain import in_picture, true_minus
from ..say.measure import Measure

# safe for colour-blind readers; each meaning has its own line style or words as well
INK, GREY, BEFORE = "#1a1a1a", "#5f5f5f", "#999999"
OPENING, BACK, PUSH = "#00664d", "#a33a7a", "#b3001b"
BALLS = ("#0060a8", "#c04f00", "#5b4a9e")
STYLES = ("-", (0, (5, 2)), (0, (1.5, 1.5)))
TANG, BAR, STEEL, CONE, ENVELOPE = "#cfdbe6", "#eadfc8", "#b9bec4", "#f0c24b", "#dcd0b0"
GRID, SKIN = "#e4e4e4", "#ecd3bf"
SMALL, TEXT = 8.5, 9.5
PLATE = {"fc": "white", "ec": "none", "pad": 1.0}  # under words that lie on a line or on a dark ground
Point = tuple[float, float] | np.ndarray  # (x, y)
Points = Sequence[float] | np.ndarray
Style = str | tuple  # of a line, as of matplotlib

_FRONT = (INK, GREY, *BALLS, OPENING, BACK, PUSH)
_GROUND = ("#ffffff", TANG, BAR, STEEL, CONE, ENVELOPE, BEFORE, GRID, SKIN)


def unit_axis(axis: Axis, limits: Point, label: str, unit: str, measure: Measure, most: int = 5) -> None:
    """Ticks, `most` of them and one, and label of an axis in the measure's unit; its data stay in the library's."""
    shown, factor = measure.unit(unit)
    low, high = limits
    ticks = MaxNLocator(most, steps=[1, 2, 5, 10]).tick_values(low * factor, high * factor)
    ticks = ticks[(ticks >= low * factor - 1e-9) & (ticks <= high * factor + 1e-9)]
    axis.set_major_locator(FixedLocator(ticks / factor))
    axis.set_major_formatter(FixedFormatter([true_minus(f"{tick:.6g}") for tick in ticks]))
    axis.set_label_text(f"{label}, {shown}" if shown else label, size=TEXT)


def plain(ax: Axes) -> None:
    """A plot with a grid, small numbers and two sides."""
    ax.grid(color=GRID, lw=0.8)
    ax.tick_params(labelsize=SMALL)
    ax.spines[["top", "right"]].set_visible(False)


def caption(
    ax: Axes | Figure,
    x: float,
    y: float,
    said: str,
    colour: str = "black",
    ha: str = "left",
    va: str = "baseline",
    **look: object,
) -> Text:
    """Words at (x, y), in small print unless a size says otherwise; ha, va and look: as for Axes.text."""
    return ax.text(x, y, said, **{"size": SMALL, "color": colour, "ha": ha, "va": va} | look)


def beside(
    ax: Axes,
    said: str,
    at: Point,
    points: tuple[float, float],
    colour: str = "black",
    ha: str = "left",
    va: str = "baseline",
    **look: object,
) -> Annotation:
    """Words in small print so many points to the right of `at`, and above it."""
    return ax.annotate(said, at, points, textcoords="offset points", size=SMALL, color=colour, ha=ha, va=va, **look)


def scale_bar(ax: Axes, x: float, y: float, length: float, said: str, gap: float) -> list[Artist]:
    """A bar of a known length from (x, y) on, its words a gap behind it."""
    bar = ax.plot([x, x + length], [y, y], color=INK, lw=2.5, solid_capstyle="butt", clip_on=False)
    return [*bar, caption(ax, x + length + gap, y, said, va="center")]


def pixels_of(figure: Figure) -> np.ndarray:
    """A figure as pixels, RGB [height, width, 3]."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return np.array(canvas.buffer_rgba())[..., :3]


def still_palette(shades: int) -> list[int]:
    """Colours of the pictures, in so many steps from each line colour to white and from ink to each ground: RGB."""

    def mixed(colour, ground, step):
        ends = zip(to_rgb(colour), to_rgb(ground), strict=True)
        return tuple(round(255 * (a + (b - a) * step / shades)) for a, b in ends)

    colours = [mixed(colour, "white", step) for colour in _FRONT for step in range(shades)]
    colours += [mixed(INK, ground, step) for ground in _GROUND for step in range(1, shades + 1)]
    return [part for colour in dict.fromkeys(colours) for part in colour]


class Curve:
    """One curve of a plot: the line of now, its grey twin of before, and its name at the right end."""

    def __init__(self, ax: Axes, name: str, colour: str, style: Style = "-", above: bool = True, width: float = 2.0):
        """above: the name stands above the line, else below."""
        (self.before,) = ax.plot([], [], color=BEFORE, ls=style, lw=0.65 * width)
        (self.now,) = ax.plot([], [], color=colour, ls=style, lw=width)
        self.name = beside(ax, in_picture(name), (0, 0), (0, 0), colour, "right", bbox=PLATE, annotation_clip=False)
        self.stand(above)
        self.artists = [self.before, self.now, self.name]

    def stand(self, above: bool) -> None:
        """The name stands above the line, else below."""
        self.name.set(va="bottom" if above else "top")
        self.name.xyann = (-2, 3 if above else -3)

    def draw(self, x: Points, y: Points) -> None:
        """The curve of now."""
        self.now.set_data(x, y)
        low, high = self.now.axes.get_ylim()
        # the name of a line that ends outside stays inside
        pad = 0.0 if low <= y[-1] <= high else 0.12 * (high - low)
        self.name.xy = x[-1], min(max(y[-1], low + pad), high - pad)

    def keep(self) -> None:
        """Freeze now as before."""
        self.before.set_data(self.now.get_data())

    def forget(self) -> None:
        """No before."""
        self.before.set_data([], [])


class Arrow:
    """A force arrow with its name; nothing is drawn where the force is nothing."""

    def __init__(self, ax: Axes, colour: str, size: float = 14, width: float = 2.2, heads: str = "-|>", **text: object):
        """heads: as of a FancyArrowPatch. text: how the name is set, as for Axes.text."""
        look = {"arrowstyle": heads, "mutation_scale": size, "lw": width, "color": colour}
        self.shaft = FancyArrowPatch((0, 0), (0, 1), shrinkA=0, shrinkB=0, **look)
        ax.add_patch(self.shaft)
        usual = {"color": colour, "fontsize": TEXT, "ha": "center", "va": "center", "clip_on": True}
        self.name = ax.text(0, 0, "", **usual | text)
        self.artists = [self.shaft, self.name]

    def draw(self, tail: Point, tip: Point, name: str = "", at: tuple[float, float] | None = None) -> None:
        """From tail to tip; the name stands at `at`."""
        shown = math.dist(tail, tip) > 1e-6
        for artist in self.artists:
            artist.set_visible(shown)
        if shown:
            self.shaft.set_positions(tail, tip)
            self.name.set_text(name)
            self.name.set_position(at or tip)
