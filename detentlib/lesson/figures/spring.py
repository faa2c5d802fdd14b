"""The drawings of notebooks 02 and 03, drawn from the demo knife; written with the others by every.py."""

import math

from matplotlib.figure import Figure

from ...draw.drawing import BACK, GREY, INK, OPENING, SMALL, TEXT
from ...draw.plan import dimension, svg_figure
from ...draw.section import Section
from ...draw.sideview import SideView
from ...draw.story import WAYS, Story
from ...files.demo import demo
from ...say.measure import MM
from ...tune.moves import preset


def one_spring() -> Figure:
    """The bar of the demo knife from its edge, seated, with the letters of B1 and where it would stand free."""
    knife = demo("pellowfen-a")
    story = Story(knife, 6.0)
    felt, bar, reach = story.feel, knife.bar, knife.balls[0].hinge_distance
    figure = svg_figure(7.7, 2.0)
    view = SideView(figure.add_axes((0.005, 0.01, 0.99, 0.98)), knife, 1.5 / felt.rest_load)
    view.draw(knife, story.seat(0), felt.rest_load / felt.rate, MM)
    view.scale_bars(MM)
    ax, half, face = view.ax, bar.relief_length / 2, -story.seat(0).gap
    under, thin, low = face - bar.thickness, face - bar.relief_thickness, face - bar.thickness - 2.8
    view.names[2].set_text("")
    view.load.name.set_text(f"seated {MM.short(felt.rest_load, 'N')}")
    dimension(ax, (-half, under - 0.5), (half, under - 0.5), "ℓ", (-0.5 * half, under - 0.6), va="top")
    dimension(
        ax, (half - 1.2, thin), (half - 1.2, face), "$t_r$", (half - 1.6, thin - 0.1), ha="right", va="top", size=TEXT
    )
    dimension(
        ax,
        (0.72 * reach, under),
        (0.72 * reach, face),
        " t",
        (0.72 * reach, (face + under) / 2),
        ha="left",
        va="center",
        size=TEXT,
    )
    for x, top in ((0, thin), (reach, under - 1.9)):
        ax.plot([x, x], [low, top], color=GREY, lw=0.7, ls=":")
    dimension(ax, (0, low), (reach, low), "L, from the middle of the relief to the ball", (0.5 * reach, low + 0.1))
    said = f"riding, it is bent by the preset, {MM.short(preset(knife), 'mm')}"
    ax.text(view.right - 5 * view.pixel, view.low + 9 * view.pixel, said, size=SMALL, ha="right", va="center")
    return figure


def friction_cone() -> Figure:
    """The demo knife's ball, opening as its rim begins to slip and letting back at rest: the force on either side of
    the friction cone.
    """
    rest = Story(demo("pellowfen-a"), 6.0)
    stories = {"opening": Story(rest.knife, 6.0, rest.feel.peak_deg, rest), "letting back": rest}
    figure = svg_figure(7.7, 3.7)
    radius = rest.knife.balls[0].radius
    for left, way, colour in ((0.005, "opening", OPENING), (0.505, "letting back", BACK)):
        section = Section(figure.add_axes((left, 0.13, 0.49, 0.86)), radius, rest.newton(radius), "")
        section.draw(stories[way].seat(0, way), way, MM)
        sign = "+" if WAYS[way] > 0 else "−"
        seat = stories[way].seat(0, way)
        angles = f"{MM.short(math.degrees(seat.phi), 'deg')} {sign} {MM.short(math.degrees(seat.lam), 'deg')}"
        said = f"push = bar force × tan(φ {sign} λ) = {MM.short(seat.load, 'N')} × tan({angles})"
        figure.text(
            left + 0.245,
            0.085,
            f"{way}: {MM.short(seat.push, 'N')} at the ball",
            size=TEXT,
            color=colour,
            ha="center",
            va="center",
        )
        figure.text(left + 0.245, 0.03, said, size=SMALL, color=INK, ha="center", va="center")
    return figure


SPRING = {"one-spring": one_spring, "friction-cone": friction_cone}
