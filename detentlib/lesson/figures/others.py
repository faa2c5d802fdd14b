"""The drawings of notebooks 02, 03, 06, 08 and 10; every.py writes them."""

import math
from functools import cache

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import FancyBboxPatch

from ...draw.drawing import (
    BACK,
    BALLS,
    GREY,
    INK,
    OPENING,
    PUSH,
    STEEL,
    STYLES,
    TEXT,
    Arrow,
    caption,
    plain,
    scale_bar,
    unit_axis,
)
from ...draw.plan import bare, dimension, svg_figure
from ...draw.section import Section
from ...draw.sideview import SideView
from ...draw.story import WAYS, Story
from ...draw.tang_face import TangFace, draw_balls, recess_middle, tang_radius
from ...files.demo import demo
from ...knife.parts import BALL_FIELDS, Knife
from ...knife.plain import in_picture
from ...mechanics.feel import feel
from ...mechanics.swing import swing
from ...say.measure import MM
from ...tune.moves import preset
from ...tune.pair import touch_lead, with_rim_lead, with_second_ball
from ...tune.shop import SHOP
from ...tune.tolerance import Tolerance, tolerance


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
    dimension(ax, (half - 1.2, thin), (half - 1.2, face), "$t_r$", (half - 1.6, thin - 0.1), "right", "top", size=TEXT)
    dimension(
        ax,
        (0.72 * reach, under),
        (0.72 * reach, face),
        " t",
        (0.72 * reach, (face + under) / 2),
        "left",
        "center",
        size=TEXT,
    )
    for x, top in ((0, thin), (reach, under - 1.9)):
        ax.plot([x, x], [low, top], color=GREY, lw=0.7, ls=":")
    dimension(ax, (0, low), (reach, low), "L, from the middle of the relief to the ball", (0.5 * reach, low + 0.1))
    said = f"riding, it is bent by the preset, {MM.short(preset(knife), 'mm')}"
    caption(ax, view.right - 5 * view.pixel, view.low + 9 * view.pixel, said, ha="right", va="center")
    return figure


def friction_cone() -> Figure:
    """The demo knife's ball as its rim begins to slip and letting back: the force on each side of the friction cone."""
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
        caption(
            figure,
            left + 0.245,
            0.085,
            f"{way}: {MM.short(seat.push, 'N')} at the ball",
            colour,
            "center",
            "center",
            size=TEXT,
        )
        caption(figure, left + 0.245, 0.03, said, INK, "center", "center")
    return figure


def track_map() -> Figure:
    """The tangs of B and C after a day: one track on both, another rim that works; the recesses larger beside."""
    figure = svg_figure(7.6, 4.6)
    for column, (name, verdict) in enumerate(
        (("pellowfen-b", "only rim 1 works"), ("pellowfen-c", "rim 2 works first, then rim 1"))
    ):
        knife = demo(name)
        swung, left = swing(knife), 0.5 * column
        whole = figure.add_axes((left + 0.01, 0.36, 0.48, 0.63))
        _drawn(whole, knife, swung)
        top = tang_radius(knife)
        bare(whole, (-1.36 * top, 1.1 * top), (-0.6 * top, 1.28 * top))
        title = f"{in_picture(knife.title)}: {verdict}"
        caption(whole, -1.33 * top, 1.24 * top, title, va="top", size=TEXT, weight="bold")
        for i in range(2):
            ends = knife.balls[i].run_off_deg
            place = (0.78 * top, -0.39 * top - 0.15 * i * top)
            caption(whole, *place, f"run-off {i + 1}: {ends:.0f}°", BALLS[i], "right", "center")
        scale_bar(whole, -1.33 * top, -0.52 * top, 5.0, "5 mm", 0.5)
        for i in range(2):
            near = figure.add_axes((left + 0.03 + 0.24 * i, 0.06, 0.2, 0.29))
            _drawn(near, knife, swung)
            x, y = recess_middle(knife, i)
            bare(near, (x - 1.0, x + 1.0), (y - 0.95, y + 0.95))
            caption(figure, left + 0.13 + 0.24 * i, 0.03, f"recess {i + 1}", BALLS[i], "center")
    caption(figure, 0.005, 0.2, "larger", GREY, va="center", rotation=90)
    return figure


def _drawn(ax, knife, swung):
    TangFace(ax, len(knife.balls)).draw(knife, swung)
    draw_balls(ax, knife, filled=False)


KNIVES, SEED = 400, 1
_PLACES = [each for each in SHOP if each.makes in BALL_FIELDS]  # oil and bend held, so that only the thresholds show


@cache
def on_the_threshold() -> Knife:
    """Pellowfen A with an equal second ball 2 thou deeper, its recess drilled so that as drawn it just touches."""
    pair = with_second_ball(demo("pellowfen-a"))
    return with_rim_lead(pair, touch_lead(pair))


@cache
def batch() -> Tolerance:
    """A Tolerance of such knives as a shop places balls and recesses."""
    return tolerance(on_the_threshold(), KNIVES, SEED, made=_PLACES)


def threshold_smear() -> Figure:
    """Break force over rim lead for a batch drawn as one knife, by the ball that carries at rest."""
    knife, found = on_the_threshold(), batch()
    lead, force, second = map(found.values, ("rim_lead", "break_force", "ball 2 at rest"))
    second = second.astype(bool)
    middle = touch_lead(knife)
    figure = svg_figure(7.4, 3.7)
    ax = figure.add_axes((0.085, 0.135, 0.9, 0.845))
    ends, tops = (0.0, 2 * middle), (8.0, 13.9)
    ax.set(xlim=ends, ylim=tops)
    plain(ax)
    for which, colour, marker, size in ((~second, BALLS[0], "o", 3.5), (second, BALLS[1], "x", 4.5)):
        ax.plot(lead[which], force[which], marker, color=colour, ms=size, mfc="none", mew=0.9)
    for low, high in ((ends[0], middle - 1e-4), (middle + 1e-4, ends[1])):
        leads = np.linspace(low, high, 9)
        drawn = [feel(with_rim_lead(knife, each)).break_force for each in leads]
        ax.plot(leads, drawn, color=INK, lw=2.2)
    ax.axvline(middle, color=PUSH, lw=1.2, ls=STYLES[1])
    caption(ax, middle, 8.12, " touch threshold", PUSH, size=TEXT)
    share = 100 * second.mean()
    caption(ax, 0.02 * ends[1], 13.8, f"○ ball 1 carries at rest: {100 - share:.0f} %", BALLS[0], va="top", size=TEXT)
    caption(ax, 0.98 * ends[1], 13.8, f"× ball 2 carries at rest: {share:.0f} %", BALLS[1], "right", "top", size=TEXT)
    caption(ax, 0.98 * ends[1], 8.12, "black: as drawn", INK, "right")
    caption(ax, 0.02 * ends[1], 8.12, f"{found.n} knives of one drawing", GREY)
    unit_axis(ax.xaxis, ends, "rim lead", "mm", MM)
    unit_axis(ax.yaxis, tops, "break force at the tab", "N", MM)
    return figure


# each rung: what it is, what is in the hand, what is known afterwards
_RUNGS = (
    ("complaint", "the owner's words, tape on the edge", "what to look for"),
    ("as found", "pull gauge, before any cleaning", "break and let-back force, friction"),
    ("lift trace", "dial indicator, protractor", "contact angle; a handover, or none"),
    ("card", "the pattern, put right by the trace", "a knife to reckon with, ±"),
    ("cause", "the card beside what was sold", "where the force comes from, how sure"),
    ("advice", "what can be undone goes first", "what the gauge will read, before you cut"),
    ("report", "pencil, and the readings again", "before and after, to be checked"),
)
_HIGH, _STEP, _INDENT = 0.74, 1.0, 0.32


def ladder() -> Figure:
    """From complaint to report: seven rungs, each with what it takes and what it gives."""
    figure = svg_figure(7.6, 5.0)
    ax = figure.add_axes((0.005, 0.005, 0.99, 0.99))
    count = len(_RUNGS)
    bare(ax, (0, 12.0), (-0.15, count * _STEP + 0.35))
    ax.set_aspect("auto")
    for x, said in ((2.4, "it takes"), (6.9, "then you know")):
        caption(ax, x + _INDENT, count * _STEP + 0.12, said, GREY, va="bottom")
    for i, (name, takes, gives) in enumerate(_RUNGS):
        low, left = (count - 1 - i) * _STEP + 0.12, 0.1
        look = {"boxstyle": "round,pad=0,rounding_size=0.12", "fc": STEEL, "ec": INK, "lw": 1.2}
        ax.add_patch(FancyBboxPatch((left, low), 2.1, _HIGH, **look))
        caption(ax, left + 0.2, low + _HIGH / 2, f"{i + 1}  {name}", va="center", size=TEXT, weight="bold")
        caption(ax, 2.4 + _INDENT, low + _HIGH / 2, takes, va="center", size=TEXT)
        caption(ax, 6.9 + _INDENT, low + _HIGH / 2, gives, OPENING, va="center", size=TEXT)
        if i:
            Arrow(ax, INK, size=9, width=1.3).draw((left + 1.05, low + _STEP), (left + 1.05, low + _HIGH), "", (0, 0))
    return figure
