"""A folding knife seen on its face and on its edge: an invented shape round the real sizes of a Knife, for the
drawings.

The knife is shut, its blade to the left; it opens anticlockwise. The lock bar lies in front, its free end at the ball.
"""

import io
import math

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, Polygon, Rectangle

from ..knife.parts import Knife
from ..knife.plain import visible
from .drawing import BAR, GREY, INK, SMALL, STEEL, TANG, Point, caption

BEARING = math.radians(162)  # of the first ball, seen from the pivot
TAB, STUD = math.radians(97), math.radians(186)
_TANG_RADIUS = 10.6
_BLADE = [(-12, -10.6), (-34, -10), (-47, -6), (-54.5, 1), (-46, 5.5), (-30, 8.2), (-12, 9.4)]


def around(radius: float, angle: float) -> tuple[float, float]:
    """The point at an angle [rad] round the pivot [mm]."""
    return radius * math.cos(angle), radius * math.sin(angle)


def ball_at(knife: Knife) -> tuple[float, float]:
    """Where the first ball stands [mm]."""
    return around(knife.balls[0].track_radius, BEARING)


def relief_at(knife: Knife) -> tuple[float, float]:
    """Where the middle of the relief stands [mm]: the hinge distance along the bar."""
    x, y = ball_at(knife)
    return x - knife.balls[0].hinge_distance, y


def draw_plan(ax: Axes, knife: Knife, stud: bool = True) -> None:
    """The face of the knife: tang with tab, blade, lock bar with relief, ball, track and pivot."""
    bare(ax, (-57.5, 23.5), (-15, 17.5))
    ball, bar, (x, y) = knife.balls[0], knife.bar, ball_at(knife)
    ax.add_patch(Polygon(_outline(knife.blade.tab_arm), closed=True, fc=TANG, ec=INK, lw=1))
    half, left, right = bar.width / 2, relief_at(knife)[0] - bar.relief_length / 2, x + 4
    ax.add_patch(Rectangle((left - 7, y - half), right - left + 7, 2 * half, fc=BAR, ec=INK, lw=1, alpha=0.88))
    ax.add_patch(Rectangle((left, y - half), bar.relief_length, 2 * half, fc="#c9b98f", ec=INK, lw=0.8))
    ax.add_patch(
        Arc(
            (0, 0),
            2 * ball.track_radius,
            2 * ball.track_radius,
            theta1=0,
            theta2=360,
            ec=GREY,
            lw=0.9,
            ls=(0, (8, 2, 2, 2)),
        )
    )
    ax.add_patch(Circle((x, y), ball.radius, fc=STEEL, ec=INK, lw=1))
    ax.add_patch(Circle((0, 0), 2.2, fc="white", ec=INK, lw=1))
    ax.plot([-3, 3], [0, 0], color=INK, lw=0.6)
    ax.plot([0, 0], [-3, 3], color=INK, lw=0.6)
    if stud and knife.blade.stud_arm:
        ax.add_patch(Circle(around(knife.blade.stud_arm, STUD), 1.6, fc="white", ec=INK, lw=1))


def _outline(tab_arm):
    tab = [
        around(_TANG_RADIUS, TAB + 0.4),
        around(tab_arm + 0.6, TAB + 0.12),
        around(tab_arm + 1.0, TAB - 0.12),
        around(_TANG_RADIUS, TAB - 0.5),
    ]
    turn = [around(_TANG_RADIUS, angle) for angle in np.linspace(TAB - 0.55, math.radians(-88), 40)]
    return [*tab, *turn, *_BLADE]


def draw_side(ax: Axes, knife: Knife, gap: float) -> None:
    """The edge of the knife at the same places: tang above, lock bar below, the ball between; gap [mm]."""
    bare(ax, (-57.5, 23.5), (-7.5, 6.5))
    ball, bar, x = knife.balls[0], knife.bar, ball_at(knife)[0]
    left, right = relief_at(knife)[0] - bar.relief_length / 2, x + 4
    tang = [(10.6, 0), (10.6, 3.2), (-46, 3.2), (-54.5, 1.6), (-46, 0)]
    ax.add_patch(Polygon(tang, closed=True, fc=TANG, ec=INK, lw=1))
    thick, thin, far = -gap - bar.thickness, -gap - bar.relief_thickness, left + bar.relief_length
    under = [(left - 7, thick), (left, thick), (left, thin), (far, thin), (far, thick), (right, thick)]
    outline = [(left - 7, -gap), *under, (right, -gap)]
    ax.add_patch(Polygon(outline, closed=True, fc=BAR, ec=INK, lw=1))
    ax.add_patch(
        Rectangle(
            (x - ball.recess.rim_radius, 0),
            2 * ball.recess.rim_radius,
            ball.recess.depth or 3.2,
            fc="white",
            ec=INK,
            lw=0.8,
        )
    )
    ax.add_patch(Circle((x, ball.protrusion - gap - ball.radius), ball.radius, fc=STEEL, ec=INK, lw=1))
    ax.add_patch(Rectangle((-2.2, -gap - 2.2), 4.4, 6.5, fc="white", ec=INK, lw=1))


def svg_figure(width: float, height: float) -> Figure:
    """An empty Figure of this size [in], drawn as SVG."""
    figure = Figure(figsize=(width, height), dpi=100, facecolor="white")
    FigureCanvasSVG(figure)
    return figure


def svg_text(figure: Figure, name: str, words: str | None = None) -> str:
    """The SVG of a figure as text, the same on every run; words: what it shows, for who cannot see it."""
    file = io.StringIO()
    for i, axis in enumerate(axis for ax in figure.axes for axis in (ax.xaxis, ax.yaxis)):
        axis.set_gid(f"axis-{i}")  # else it is named after the program
    told = {"Title": visible(name), "Description": visible(words)} if words else {}
    with rc_context({"svg.hashsalt": name, "svg.fonttype": "path"}):
        figure.savefig(file, format="svg", metadata={"Date": None, "Creator": None} | told)
    return file.getvalue()


def bare(ax: Axes, across: tuple[float, float], up: tuple[float, float]) -> None:
    """Axes without a frame, equal in both directions, that hold the given ranges."""
    ax.set(xlim=across, ylim=up)
    ax.set_aspect("equal")
    ax.set_axis_off()


def dimension(
    ax: Axes,
    start: Point,
    end: Point,
    said: str = "",
    at: Point = (0, 0),
    ha: str = "center",
    va: str = "bottom",
    size: float = SMALL,
    heads: str = "<|-|>",
) -> None:
    """A dimension line with heads at its ends, its words at `at`."""
    look = {"arrowstyle": heads, "color": INK, "lw": 0.9, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 8}
    ax.annotate("", end, start, arrowprops=look)
    caption(ax, *at, said, INK, ha, va, size=size)
