"""The letters of the arithmetic where they belong: on the face of a knife and in a section at the ball."""

import math

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
from ..say.measure import MM
from .drawing import BALLS, GREY, INK, OPENING, PUSH, TEXT, Arrow, caption
from .plan import TAB, around, ball_at, bare, dimension, draw_plan, relief_at, svg_figure
from .section import Section
from .story import Story

_BALL = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.105, depth=0.6))
_BAR = LockBar(
    17.0, relief_thickness=1.1, relief_length=6.0, width=7.0, thickness=3.0, parallel_gap=0.145, material="Ti-6Al-4V"
)
_SKETCHED = Knife("a sketch", [_BALL], _BAR, Blade(14.0, opening_deg=178.0), Friction(0.12))
_MEANT = (
    ("D, R", "diameter and radius of the ball"),
    ("p", "how far the ball stands out of the bar"),
    ("Dᵣ, a", "diameter and radius of the recess"),
    ("d₀, d", "rest offset: parts, bar pressing"),
    ("b, φ, s", "rim gap, contact angle, seat depth"),
    ("g, gₚ", "gap of bar and tang; where parallel"),
    ("N, Fᵣ", "force on the ball; on the flat"),
    ("k, E", "rate of the bar, Young's modulus"),
    ("μ, m", "friction; push per newton with it"),
    ("ρ, A", "pivot to ball, pivot to push"),
    ("L", "middle of the relief to the ball"),
    ("ℓ, tᵣ", "length and thickness of the relief"),
    ("w, t", "width and thickness of the bar"),
    ("θ, ψ, ω", "turn of blade; of bar, up and aside"),
)


def lettered() -> Figure:
    """A sketch of a knife from its face and in section, with the letters of the arithmetic and what they mean."""
    figure = svg_figure(7.0, 5.0)
    plan = figure.add_axes((0.0, 0.53, 1.0, 0.47))
    draw_plan(plan, _SKETCHED)
    plan_signs(plan, _SKETCHED)
    x, y = relief_at(_SKETCHED)
    half = _SKETCHED.bar.relief_length / 2
    dimension(plan, (x - half, y + 4.3), (x + half, y + 4.3), "ℓ", (x - half - 1.2, y + 3.6))
    radius, story = _BALL.radius, Story(_SKETCHED, 6.0)
    section = Section(figure.add_axes((0.0, 0.0, 0.56, 0.52)), radius, story.newton(radius), "")
    section.draw(story.seat(0), "opening", MM)
    section_signs(section, story)
    section.push.name.set_text("push")
    gap, rim, middle = story.seat(0).gap, _BALL.recess.diameter / 2, -story.seat(0).offset
    top, left = _BALL.protrusion - gap, -1.5 * radius
    dimension(section.ax, (left, -gap), (left, top), "p ", (left, 0.1 * radius), "right", "center")
    left = -1.2 * radius
    dimension(section.ax, (left, top - 2 * radius), (left, top), "D ", (left, top - radius), "right", "center")
    high = _BALL.recess.depth + 0.13 * radius
    dimension(section.ax, (middle - rim, high), (middle + rim, high), "Dᵣ ", (middle - rim, high), "right", "center")
    words = figure.add_axes((0.585, 0.01, 0.41, 0.49))
    bare(words, (0, 1), (0, 1))
    words.set_aspect("auto")
    for i, (letter, meaning) in enumerate(_MEANT):
        at = 0.97 - i / len(_MEANT)
        caption(words, 0.0, at, letter, va="top")
        caption(words, 0.23, at, meaning, va="top")
    return figure


def legend() -> str:
    """The same in words, for those who do not see the sketch."""
    return "; ".join(f"{letter}: {meaning}" for letter, meaning in _MEANT)


def plan_signs(ax: Axes, knife: Knife) -> None:
    """Track radius, tab arm, hinge distance, blade angle, torque and push on the face of the knife."""
    (x, y), tab, hinge = ball_at(knife), around(knife.blade.tab_arm, TAB), relief_at(knife)
    dimension(ax, (0, 0), (x, y), "ρ", (0.72 * x, 0.72 * y + 0.4))
    dimension(ax, (0, 0), tab, "A", (0.4, 4.6), "left")
    for end in (hinge[0], x):
        ax.plot([end, end], [y, 11.2], color=GREY, lw=0.7)
    dimension(ax, (hinge[0], 10.6), (x, 10.6), "L, hinge distance", ((hinge[0] + x) / 2, 10.9))
    (x, y), said = tab, "push at the tab, + opens"
    Arrow(ax, PUSH, ha="right").draw((x + 0.4, y), (x - 8, y - 1), said, (x - 8.6, y))
    _turn(ax, 13.4, (-20, 45), 1, OPENING)
    caption(ax, 14.2, 3.2, "θ, + opening", OPENING, va="center", size=TEXT)
    _turn(ax, 12.4, (262, 215), -1, BALLS[0])
    caption(ax, -8.6, -13.4, "torque of the detent, + resists opening", BALLS[0], "right", "center", size=TEXT)
    names = (
        ("lock bar", (-26, 2.5)),
        ("relief", (hinge[0], -2.6)),
        ("blade and tang", (-24, -7)),
        ("pivot", (3.4, -3.6)),
        ("track of the ball", (-1.0, -9.25)),
    )
    for said, at in names:
        caption(ax, *at, said, INK, "center", "center")


def _turn(ax, radius, ends_deg, sense, colour):
    first, last = (around(radius, math.radians(end)) for end in ends_deg)
    bend = sense * math.tan(math.radians(abs(ends_deg[1] - ends_deg[0])) / 4)
    style = {"arrowstyle": "-|>", "color": colour, "lw": 1.8, "shrinkA": 0, "shrinkB": 0}
    ax.annotate("", last, first, arrowprops=style | {"connectionstyle": f"arc3,rad={bend:.4f}"})


def section_signs(section: Section, story: Story) -> None:
    """The letters of the section: travel, rim gap, contact angle, seat depth, gap, rest offset, forces."""
    ax, ball, seat = section.ax, story.knife.balls[0], story.seat(0)
    radius, gap, depth = ball.radius, story.feel.rim_gap[0], story.feel.seat_depth[0]
    middle, high = -seat.offset, ball.recess.depth
    section.angle.set_text("φ")
    section.load.name.set_text("N")
    section.push.name.set_text("push, + opens")
    section.names[2].set_text("")
    ax.plot([-0.9 * radius, gap], [0, 0], color=GREY, lw=0.8, ls=":")
    ax.plot([middle, middle], [-0.1 * radius, high + 0.3 * radius], color=GREY, lw=0.8, ls=(0, (8, 2, 2, 2)))
    caption(ax, middle, high + 0.32 * radius, "axis of the recess", GREY, "left", "bottom")
    ends, style = ((0, 0.55 * radius), (middle - 0.55 * radius, 0.55 * radius)), {"arrowstyle": "-|>", "color": INK}
    ax.annotate("d", *ends, size=TEXT, va="center", arrowprops=style | {"lw": 0.9})
    dimension(ax, (0, 0.62 * radius), (gap, 0.62 * radius), "b", (0.5 * gap, 0.64 * radius))
    ax.plot([-0.68 * radius, 0], [depth, depth], color=GREY, lw=0.8, ls=":")
    dimension(ax, (-0.64 * radius, 0), (-0.64 * radius, depth), "s ", (-0.68 * radius, 0.5 * depth), "right", "center")
    right = 1.55 * radius
    dimension(ax, (right, -seat.gap), (right, 0), " g", (1.58 * radius, -0.5 * seat.gap), "left", "center")
    caption(ax, 1.5 * radius, 0.03 * radius, "z = 0", GREY, va="bottom")
    low, travel = -1.72 * radius, Arrow(ax, GREY, size=10, width=1.4, ha="left")
    travel.draw((0.15 * radius, low), (0.75 * radius, low), "x, ball travel", (0.8 * radius, low))
