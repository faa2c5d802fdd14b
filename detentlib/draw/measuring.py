"""The drawings of notebook 07, one for each measurement: how to hold the instrument."""

import math

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, Polygon, Rectangle

from ..files.demo import demo
from ..files.instruments import instrument_for
from ..knife.units import convert
from ..measure.photo import SHORT_ARC
from ..mechanics.feel import feel
from ..tune.moves import stripped
from .drawing import BALLS, BAR, GREY, INK, OPENING, PUSH, SMALL, STEEL, TANG, TEXT, Arrow, caption
from .plan import TAB, around, ball_at, bare, dimension, draw_plan, draw_side, svg_figure

_ASKEW = 25.0  # deg, of a gauge held badly
_DOWN = 2.2  # mm, from the bar to the knot of the thread


def measure_lift() -> Figure:
    """Indicator on the back of the bar over the ball, a printed protractor under the blade."""
    knife = demo("pellowfen-a")
    figure = svg_figure(7.6, 4.9)
    face, edge = figure.add_axes((0.005, 0.34, 0.99, 0.655)), figure.add_axes((0.005, 0.005, 0.99, 0.33))
    _protractor(face, knife)
    x, low = _edge(edge, knife)
    edge.add_patch(Rectangle((x - 0.45, low - 3.4), 0.9, 3.4, fc=STEEL, ec=INK, lw=0.9))
    edge.add_patch(Circle((x, low - 6.6), 3.3, fc="white", ec=INK, lw=1.2))
    edge.plot([x, x + 1.7], [low - 6.6, low - 4.7], color=PUSH, lw=1.6)
    for turn in np.radians(np.arange(0, 360, 30)):
        tick = np.array([2.7, 3.1])
        edge.plot(x + tick * math.cos(turn), low - 6.6 + tick * math.sin(turn), color=INK, lw=0.7)
    caption(edge, x + 4.4, low - 4.4, "indicator on the back of the bar,\nstraight over the ball", va="top")
    caption(edge, x - 4.2, low - 4.4, "the body stands on the bench,\nnot on the knife", GREY, "right", "top")
    return figure


def _protractor(ax, knife):
    draw_plan(ax, knife, stud=False)
    ax.set(ylim=(-21.5, 17.5), xlim=(-57.5, 30.0))
    for radius in (27.0, 31.0):
        ax.add_patch(Arc((0, 0), 2 * radius, 2 * radius, theta1=185, theta2=215, ec=GREY, lw=0.9))
    for angle in range(0, 31, 2):
        inner = 29.0 if angle % 10 else 27.0
        ends = np.array([around(radius, math.radians(185 + angle)) for radius in (inner, 31.0)]).T
        ax.plot(*ends, color=INK, lw=0.8)
        if angle % 10 == 0:
            caption(ax, *around(33.4, math.radians(185 + angle)), f"{angle}°", ha="center", va="center")
    ax.plot(*np.array([(0, 0), around(32.2, math.radians(185))]).T, color=PUSH, lw=1.2, ls=(0, (8, 2, 2, 2)))
    said = (
        "printed protractor, its\nmiddle under the pivot;\nfive readings on the stop,\nthen every few tenths of"
        " a\ndegree, turning one way"
    )
    caption(ax, 12.0, -12.0, said, va="center")


def _edge(ax, knife):
    """The edge of the knife, with room below; returns where the back of the bar is at the ball."""
    gap = knife.balls[0].protrusion - feel(knife).seat_depth[0]
    draw_side(ax, knife, gap)
    ax.set(xlim=(-57.5, 30.0), ylim=(-16.0, 6.5))
    caption(ax, -57, 4.2, "tang and blade", GREY)
    caption(ax, -30, -1.5 - gap, "lock bar", GREY, va="center")
    return ball_at(knife)[0], -gap - knife.bar.thickness


def measure_pull() -> Figure:
    """A pull gauge at the tab, square to the line from the pivot; held askew it reads too much."""
    knife = demo("pellowfen-a")
    figure = svg_figure(7.6, 3.6)
    ax = figure.add_axes((0.005, 0.01, 0.99, 0.98))
    draw_plan(ax, knife, stud=False)
    ax.set(xlim=(-57.5, 38.0), ylim=(-15.5, 30.5))
    tab, square = np.array(around(knife.blade.tab_arm, TAB)), np.array(around(1.0, TAB + math.pi / 2))
    askew = np.array(around(1.0, TAB + math.pi / 2 - math.radians(_ASKEW)))
    ax.plot(*np.array([(0, 0), tab]).T, color=INK, lw=1.2)
    dimension(ax, (0, 0), tuple(tab))
    caption(ax, 0.6, 7.0, "tab arm", ha="left")
    ax.plot(
        *np.array(
            [
                tab - 1.6 * np.array(around(1.0, TAB)),
                tab - 1.6 * np.array(around(1.0, TAB)) + 1.6 * square,
                tab + 1.6 * square,
            ]
        ).T,
        color=INK,
        lw=0.9,
    )
    Arrow(ax, PUSH).draw(tuple(tab), tuple(tab + 15 * square))
    Arrow(ax, BALLS[2], width=1.4).draw(tuple(tab), tuple(tab + 15 * askew))
    _gauge(ax, tab + 15 * square, square)
    more = 100 * (1 / math.cos(math.radians(_ASKEW)) - 1)
    said = f"{_ASKEW:.0f}° askew: reads {more:.0f} % too much"
    caption(ax, *(tab + 15.5 * askew + (0, 1.2)), said, BALLS[2], "center", "bottom")
    said = (
        "opening: pull slowly, read the most\nletting back: let it go slowly, read\nthe most against which it still"
        " goes\nshut, just off the stop"
    )
    caption(ax, 8.5, 22.5, said, va="center")
    return figure


def _gauge(ax, at, along):
    turn = math.degrees(math.atan2(along[1], along[0]))
    ax.add_patch(Rectangle(at - 1.6 * np.array([-along[1], along[0]]), 17, 3.2, angle=turn, fc="white", ec=INK, lw=1.2))
    for i in range(1, 9):
        middle = at + 1.8 * i * along
        across = np.array([-along[1], along[0]]) * (1.2 if i % 4 == 0 else 0.7)
        ax.plot(*np.array([middle - across, middle + across]).T, color=INK, lw=0.8)
    caption(ax, *(at + 8.5 * along + (0, 3.0)), "pull gauge, square to the arm", ha="center", va="bottom")


def measure_bar() -> Figure:
    """A hook under the bar at the ball: bar just leaving the blade, seated and riding."""
    knife = demo("pellowfen-a")
    felt, shut = feel(knife), feel(stripped(knife)).rest_load
    figure = svg_figure(7.6, 2.6)
    ax = figure.add_axes((0.005, 0.01, 0.99, 0.98))
    x, low = _edge(ax, knife)
    ax.set(ylim=(-20.0, 6.5))
    top = low + knife.bar.thickness + 0.1
    heights = [low - _DOWN, low - 0.2, top, top, low - 0.2, low - _DOWN]
    ax.plot([x, x - 1.1, x - 1.1, x + 1.1, x + 1.1, x], heights, color=INK, lw=1.2)
    Arrow(ax, PUSH).draw((x, low - _DOWN), (x, low - 9.5))
    said = "thin thread round the bar at the ball,\npulled square to the bar; read where\nit just leaves the blade"
    caption(ax, x + 1.2, low - 5.6, said, va="center")
    said = (
        f"once shut: {shut:.1f} N on Pellowfen A, which presses\nwith {felt.rest_load:.1f} N: coming off, it springs"
        f" back sideways\nonce riding the flat: {felt.ride_load:.1f} N"
    )
    caption(ax, x + 1.2, low - 12.0, said, va="center")
    said = "feel for the moment with a strip of\npaper: it comes free"
    caption(ax, x - 4.2, low - 6.0, said, GREY, "right", "center")
    return figure


def measure_photo() -> Figure:
    """Points picked all round a rim, and on a short arc: how well each holds the circle."""
    knife = demo("pellowfen-a")
    radius = knife.balls[0].recess.diameter / 2
    figure = svg_figure(7.6, 3.7)
    for left, arc, good in ((0.005, 330.0, True), (0.505, 70.0, False)):
        ax = figure.add_axes((left, 0.01, 0.49, 0.98))
        bare(ax, (-1.25, 1.25), (-1.3, 1.12))
        ax.add_patch(Rectangle((-1.2, -0.98), 2.4, 1.92, fc=TANG, ec=INK, lw=1))
        ax.add_patch(Circle((0, 0), radius, fc="#555b60", ec=INK, lw=1))
        turns = np.radians(np.linspace(-arc / 2, arc / 2, 16 if good else 7))
        ax.plot(radius * np.cos(turns), radius * np.sin(turns), "o", ms=6, mfc="none", mec="white", mew=2.6)
        ax.plot(radius * np.cos(turns), radius * np.sin(turns), "o", ms=6, mfc="none", mec=PUSH, mew=1.4)
        _stage(ax, -0.84)
        short = f"less than {SHORT_ARC:.0f}°: centre and diameter slide along"
        said = "all round: centre and diameter are held" if good else short
        caption(ax, 0, 1.02, said, OPENING if good else PUSH, "center", "center", size=TEXT)
        worn = "a worn or lit rim often shows no more: turn the light"
        note = "stage scale in the same photo, at the same height" if good else worn
        caption(ax, 0, -1.12, note, GREY, "center", "center")
        if not good:
            for share in (0.93, 1.1):
                look = {"fc": "none", "ec": "white", "ls": (0, (4, 3)), "lw": 1}
                ax.add_patch(Circle((radius - share * radius, 0), share * radius, **look))
    return figure


def _stage(ax, y):
    for i in range(11):
        ax.plot([-0.5 + i / 10] * 2, [y, y + (0.08 if i % 5 == 0 else 0.045)], color=INK, lw=0.9)
    ax.plot([-0.5, 0.5], [y, y], color=INK, lw=0.9)
    caption(ax, 0.54, y, "1 mm", va="bottom")


def measure_height() -> Figure:
    """A depth micrometer on a flat over the ball; ten readings of it and of calipers against two thou."""
    knife = demo("pellowfen-a")
    ball = knife.balls[0]
    figure = svg_figure(7.6, 3.3)
    _over_the_ball(figure.add_axes((0.005, 0.02, 0.46, 0.96)), ball)
    ax = figure.add_axes((0.53, 0.2, 0.45, 0.62))
    high = ball.protrusion
    low = high - convert(2.0, "thou", "mm")
    rng = np.random.default_rng(7)
    for word, name, y in (("depth micrometer", "depth micrometer", 2), ("caliper depth rod", "calipers", 1)):
        doubt = instrument_for("balls[0].protrusion", word).doubt
        for height, colour, mark, up in ((high, BALLS[0], "o", 0.09), (low, BALLS[1], "s", -0.09)):
            read = height + doubt / 2 * rng.standard_normal(10)
            ax.plot(read, [y + up] * 10, mark, ms=5, mfc="none", mec=colour, mew=1.2)
        caption(ax, ball.protrusion + 0.075, y + 0.3, f"{name}, ±{doubt:g} mm", ha="right")
    for height, colour, said, side in ((high, BALLS[0], "ball 1", "left"), (low, BALLS[1], "ball 2", "right")):
        ax.axvline(height, color=colour, lw=0.8, ls=":")
        caption(ax, height + (0.003 if side == "left" else -0.003), 2.62, said, colour, side)
    ax.set(ylim=(0.6, 2.8), xlim=(low - 0.08, high + 0.08), yticks=[], xticks=[0.3, 0.35, 0.4, 0.45])
    ax.set_xlabel("protrusion, mm: ten readings of each ball", size=SMALL)
    ax.tick_params(labelsize=SMALL)
    ax.spines[["top", "right", "left"]].set_visible(False)
    caption(figure, 0.755, 0.93, "two balls, 2 thou apart (invented readings)", ha="center", va="center", size=TEXT)
    return figure


def _over_the_ball(ax, ball):
    radius, proud = ball.radius, ball.protrusion
    bare(ax, (-3.4, 3.4), (-2.3, 3.9))
    ax.add_patch(Rectangle((-3.3, -2.1), 6.6, 2.1, fc=BAR, ec=INK, lw=1))
    ax.add_patch(Circle((0, proud - radius), radius, fc=STEEL, ec=INK, lw=1))
    ax.plot([-radius, radius], [0, 0], color=GREY, lw=0.6, ls=":")
    foot = [(-2.9, 0), (-1.7, 0), (-1.7, 1.1), (1.7, 1.1), (1.7, 0), (2.9, 0), (2.9, 1.9), (-2.9, 1.9)]
    ax.add_patch(Polygon(foot, closed=True, fc="white", ec=INK, lw=1.1))
    ax.add_patch(Rectangle((-0.32, proud), 0.64, 3.3 - proud, fc="white", ec=INK, lw=1.1))
    dimension(ax, (1.25, 0), (1.25, proud))
    ax.plot([0.1, 1.4], [proud, proud], color=GREY, lw=0.7, ls=":")
    caption(ax, 1.05, 0.55, "protrusion", ha="center")
    caption(ax, 0.5, 2.75, "zero it on the bare bar,\nthen over the ball, and\nten times each", ha="left", va="center")
    caption(ax, -3.1, -1.75, "lock bar, face up, ball in", GREY, va="center")


MEASURE = {
    "measure-lift": measure_lift,
    "measure-pull": measure_pull,
    "measure-bar": measure_bar,
    "measure-photo": measure_photo,
    "measure-height": measure_height,
}
