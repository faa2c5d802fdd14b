"""The drawings of notebooks 04 and 05, and the one that settles the argument; entered in the table of every.py."""

import math
from dataclasses import replace

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, PathPatch, Rectangle

from ...derivations.formulas import formulas
from ...draw.drawing import (
    BALLS,
    CONE,
    ENVELOPE,
    GREY,
    INK,
    OPENING,
    SMALL,
    STEEL,
    STYLES,
    TANG,
    TEXT,
    beside,
    caption,
    plain,
    unit_axis,
)
from ...draw.plan import bare, dimension, svg_figure
from ...draw.section import tang_path
from ...draw.story import Story
from ...files.demo import demo
from ...mechanics.feel import feel
from ...say.measure import MM
from ...tune.moves import with_second_leaf
from ...tune.pair import PRESS, TWO_THOU, mixes, press_difference, sharing_band, with_equal_arms, with_rim_lead
from ...tune.threshold import cliff

_RADIUS, _GAP = 1.5875 / 2, 0.60  # mm, ball radius and rim gap of the examples in the plane


def two_balls_settled() -> Figure:
    """Knives A, B and D, and B with a second leaf: lift of each ball with the bar on top, and the force to open."""
    a, b, d = (demo(f"pellowfen-{letter}") for letter in "abd")
    columns = (
        (a, "A: one ball", ""),
        (b, "B: a second ball,\n2 thou lower", "idle all the way"),
        (d, "D: as B, but ball 2\nmuch further out", "hands over once"),
        (with_second_leaf(b), "B, but each ball\non its own leaf", "both press"),
    )
    figure = svg_figure(7.6, 4.7)
    stories = [Story(knife, 5.0) for knife, *_ in columns]
    for i, (story, (_, title, verdict)) in enumerate(zip(stories, columns, strict=True)):
        lift, force = (
            _small_plot(figure, (0.075 + 0.232 * i, bottom, 0.212, 0.34), top)
            for bottom, top in ((0.55, 0.48), (0.1, 30.0))
        )
        lift.set_title(title, size=TEXT, loc="left", weight="bold")
        _draw_lifts(lift, story, verdict)
        _draw_force(force, story, stories[0])
        for ax, label, unit in ((lift, "lift at ball 1", "mm"), (force, "force to open", "N")):
            unit_axis(ax.yaxis, ax.get_ylim(), label if i == 0 else "", unit if i == 0 else "", MM, 3)
            unit_axis(ax.xaxis, (0, 5), "", "", MM, 3)
            ax.tick_params(labelleft=i == 0, labelbottom=ax is force)
    caption(figure, 0.53, 0.02, "blade angle, °", ha="center", size=TEXT)
    return figure


def _small_plot(figure, place, top):
    ax = figure.add_axes(place)
    ax.set(xlim=(0, 5), ylim=(0, top))
    ax.tick_params(labelsize=SMALL)
    ax.spines[["top", "right"]].set_visible(False)
    return ax


def _draw_lifts(ax, story, verdict):
    run, count = story.run, len(story.knife.balls)
    if story.knife.second_bar is None:
        ax.plot(run.angle_deg, run.gap, color=ENVELOPE, lw=7)
    if count == 1:
        caption(ax, 1.55, np.interp(1.55, run.angle_deg, run.gap) + 0.025, "the bar", GREY, "right")
    for i in range(count):
        lift, up, side = story.demand_at_first(i), (5, -5)[i], ("bottom", "top")[i]
        ax.plot(run.angle_deg, lift, color=BALLS[i], ls=STYLES[i], lw=2)
        beside(ax, f"ball {i + 1}", (5, lift[-1]), (-1, up), BALLS[i], "right", side)
    caption(ax, 0.97, 0.06, verdict, ha="right", transform=ax.transAxes)
    for over in story.feel.handovers:
        ax.axvspan(over.start_deg, over.end_deg, ymin=0.15, fc=CONE, ec=GREY, lw=0.6)


def _draw_force(ax, story, one):
    felt = story.feel
    ax.plot(story.run.angle_deg, story.run.tab_force, color=OPENING, lw=3)
    caption(
        ax,
        0.97,
        0.9,
        MM.short(felt.break_force, "N"),
        OPENING,
        "right",
        transform=ax.transAxes,
        size=TEXT,
        weight="bold",
    )
    if story is not one:
        ax.plot(one.run.angle_deg, one.run.tab_force, color=INK, ls=STYLES[1], lw=1.3)
        times = f"{felt.break_force / one.feel.break_force:.2f} × A (dashed)"
        caption(ax, 0.97, 0.79, times, ha="right", transform=ax.transAxes)
    for over in felt.handovers:
        ax.axvspan(over.start_deg, over.end_deg, ymax=0.48, fc=CONE, ec=GREY, lw=0.6)
        where = f"{over.start_deg:.1f} to {MM.short(over.end_deg, 'deg')}"
        said = f" ball {over.from_ball + 1} → {over.to_ball + 1}, at\n {where}"
        caption(ax, over.end_deg, 0.3 * ax.get_ylim()[1], said, GREY)


def one_moment() -> Figure:
    """Any split of the bar of knife B: the moment stays, the force at the tab is a mean and never the sum."""
    knife, shares = demo("pellowfen-b"), np.linspace(0, 1, 5)
    found = mixes(knife, shares)
    arms = [ball.hinge_distance for ball in knife.balls]
    figure = svg_figure(7.6, 3.3)
    moment, force = figure.add_axes((0.085, 0.16, 0.38, 0.74)), figure.add_axes((0.575, 0.16, 0.4, 0.74))
    whole = found[0].load_1 * arms[0]
    for x, mix in zip(100 * shares, found, strict=True):
        for i, low, part in ((0, 0.0, mix.load_1 * arms[0]), (1, mix.load_1 * arms[0], mix.load_2 * arms[1])):
            moment.add_patch(
                Rectangle(
                    (x - 8, low),
                    16,
                    part,
                    fc=(BALLS[i], "white")[i],
                    ec=BALLS[i],
                    lw=1.4,
                    hatch=("", "////")[i],
                    alpha=0.85,
                )
            )
    moment.set(xlim=(-12, 112), ylim=(0, 1.45 * whole))
    caption(moment, 50, 1.3 * whole, "solid: ball 1, N₁L₁.  hatched: ball 2, N₂L₂", ha="center")
    caption(moment, 50, 1.08 * whole, f"always {whole:.0f} N·mm", ha="center", size=TEXT, weight="bold")
    ends = [found[0].force, found[-1].force]
    force.plot(100 * shares, [mix.force for mix in found], color=OPENING, lw=3)
    force.axhline(sum(ends), color=GREY, ls=STYLES[1], lw=1.6)
    caption(force, 50, sum(ends) + 0.4, f"their sum, {MM.short(sum(ends), 'N')}: never", GREY, "center", "bottom")
    for x, value, said, side in ((0, ends[0], "ball 1 alone", "left"), (100, ends[1], "ball 2 alone", "right")):
        force.plot(x, value, "o", ms=7, mfc="white", mec=INK, mew=1.5, clip_on=False)
        caption(force, x, value - 1.6, f"{said} {MM.short(value, 'N')}", ha=side, va="top")
    force.set(xlim=(-5, 105), ylim=(0, 1.2 * sum(ends)))
    for ax, label, unit in ((moment, "bar moment at rest", "N·mm"), (force, "force to open, no friction", "N")):
        _finish(ax, "share of the bar that ball 2 carries", "%", label, unit)
    return figure


def sharing_band_map() -> Figure:
    """Press-depth differences at which both balls of knife B carry, over the blade angle, and what a press repeats."""
    knife, angles = demo("pellowfen-b"), np.linspace(0, 5, 41)
    bands = [sharing_band(knife, angle) for angle in angles]
    figure = svg_figure(7.6, 3.6)
    ax = figure.add_axes((0.085, 0.15, 0.89, 0.82))
    ax.set(xlim=(-0.025, 0.08), ylim=(0, 6.6))
    ends, begins = [band.ends for band in bands], [band.begins for band in bands]
    ax.fill_betweenx(angles, ends, begins, color=CONE, lw=0)
    ax.plot([(low + high) / 2 for low, high in zip(ends, begins, strict=True)], angles, color=INK, lw=0.9)
    caption(ax, -0.02, 2.5, "ball 2 carries", BALLS[1], size=TEXT)
    caption(ax, 0.057, 2.5, "ball 1 carries", BALLS[0], size=TEXT)
    level = (bands[0].ends + bands[0].begins) / 2
    for x, said in ((press_difference(knife), "knife B, 2 thou lower"), (level, "level at rest")):
        ax.plot([x, x], [0, 5], color=GREY, lw=1.2, ls=STYLES[1])
        caption(ax, x, 5.05, said, GREY, "center", "bottom")
    _pointed(ax, "yellow: both\nblack: if only\nthe bar gave", (0.0302, 1.6), (0.0338, 0.4))
    for k, (how, doubt) in enumerate(PRESS.items()):
        y = 6.3 - 0.45 * k
        ax.plot([level - doubt, level + doubt], [y, y], color=INK, marker="|", ms=8, lw=1.6)
        caption(ax, level + doubt + 0.001, y, f"what a press repeats, {how}: ±{MM.short(doubt, 'mm')}", va="center")
    _finish(ax, "press-depth difference: ball 2 lower by", "mm", "blade angle", "°")
    return figure


def rim_lead() -> Figure:
    """Two ways to one rim lead, to scale: a smaller recess brings both rims nearer, a shifted one only one."""
    lead, offset, half = 0.10, 0.06, 1.66
    recess = demo("pellowfen-b").balls[0].recess
    figure = svg_figure(7.6, 2.3)
    ways = (
        (recess.diameter - 2 * lead, offset, "smaller: both rims nearer"),
        (recess.diameter, offset + lead, "shifted: one nearer, one further"),
    )
    for i, (diameter, middle, said) in enumerate(ways):
        ax = figure.add_axes((0.005 + 0.5 * i, 0.02, 0.49, 0.96))
        bare(ax, (-half, half), (-0.8, 0.86))
        other = replace(recess, diameter=diameter)
        second = PathPatch(tang_path(other, -middle, half, 0.75), fc=TANG, ec=INK, lw=1.3)
        ax.add_patch(Circle((0, 0.2 - _RADIUS), _RADIUS, fc=STEEL, ec=INK, lw=1.1))
        ax.add_patch(second)
        bore = recess.diameter / 2
        for x in (-offset - bore, -offset + bore):
            ax.plot([x, x], [0, recess.depth], color=BALLS[0], ls=STYLES[1], lw=1.5)
        near, far = -middle + diameter / 2, -offset + bore
        ax.plot([0, 0], [-0.72, 0.7], color=GREY, lw=0.8, ls=":")
        dimension(ax, (near, -0.12), (far, -0.12))
        caption(ax, far + 0.08, -0.12, f"rim lead {MM.short(lead, 'mm')}", ha="left", va="center")
        caption(ax, -half + 0.03, 0.8, said, va="top", size=TEXT, weight="bold")
        caption(ax, 0.04, -0.5, "axis of ball 2", GREY, va="center")
        caption(ax, far + 0.07, 0.3, "dashed: recess 1", BALLS[0], va="center")
    return figure


def threshold_cliff() -> Figure:
    """What is left of peak and barrier over the rim lead: in the plane, and at the tab of knife C."""
    threshold = formulas["C3"](rim_gap_1=_GAP, height_difference=TWO_THOU, ball_radius=_RADIUS)
    leads = np.union1d(np.linspace(0, 0.12, 121), [threshold, threshold + 1e-6])
    steps = cliff(leads, rim_gap=_GAP, ball_radius=_RADIUS, height_difference=TWO_THOU)
    figure = svg_figure(7.6, 3.6)
    plane, tab = figure.add_axes((0.08, 0.15, 0.4, 0.75)), figure.add_axes((0.575, 0.15, 0.4, 0.75))
    for values, said, place, colour, style in (
        ([100 * step.barrier for step in steps], "barrier", (0.1, 91), BALLS[0], STYLES[2]),
        ([100 * step.peak for step in steps], "peak", (0.1, 61), OPENING, STYLES[0]),
        ([100 * step.carries for step in steps], "ball 2 carries, of the travel", (0.119, 43), BALLS[1], STYLES[1]),
    ):
        plane.plot(leads, values, color=colour, ls=style, lw=2.2)
        caption(plane, *place, said, colour, "right")
    caption(plane, threshold - 0.0015, 45, f"touch threshold\n{threshold:.4f} mm", ha="right")
    _draw_at_the_tab(tab, np.union1d(np.linspace(0, 0.12, 25), [threshold]))
    for ax, top, title, up, unit in (
        (plane, 112, "textbook: stiff bar, one force", "against one ball", "%"),
        (tab, 14, "at the tab of knife C", "break force", "N"),
    ):
        ax.set(xlim=(0, 0.12), ylim=(0, top))
        ax.axvline(threshold, color=INK, lw=1, ls=":")
        ax.set_title(title, size=TEXT, loc="left", weight="bold")
        _finish(ax, "rim lead", "mm", up, unit)
    return figure


def _draw_at_the_tab(ax, leads):
    knife = demo("pellowfen-c")
    looks = (
        (knife, "its own arms", 11.9, BALLS[2], STYLES[0]),
        (with_equal_arms(knife), "equal arms", 7.1, INK, STYLES[1]),
    )
    for arms, said, height, colour, style in looks:
        ax.plot(leads, [feel(with_rim_lead(arms, lead)).break_force for lead in leads], color=colour, ls=style, lw=2.2)
        caption(ax, 0.119, height, said, colour, "right")


def handover() -> Figure:
    """Where both touch: both rims on one circle, rim lead apart sideways, press-depth difference apart in height."""
    lead, radius = 0.10, _RADIUS
    found = formulas["C2"](height_difference=TWO_THOU, rim_lead=lead, ball_radius=radius, rim_gap_1=_GAP)
    figure = svg_figure(6.4, 3.6)
    ax = figure.add_axes((0.01, 0.02, 0.98, 0.96))
    bare(ax, (-0.62, 1.0), (-0.06, 0.86))
    ax.add_patch(Circle((0, 0), radius, fc=STEEL, ec=INK, lw=1.2, alpha=0.5))
    ax.plot([0, 0], [0, 0.84], color=GREY, lw=0.8, ls=":")
    points = [radius * np.array([math.sin(phi), math.cos(phi)]) for phi in (found.phi_1, found.phi_2)]
    for i, (point, phi) in enumerate(zip(points, (found.phi_1, found.phi_2), strict=True)):
        ax.plot([0, point[0]], [0, point[1]], color=BALLS[i], ls=STYLES[i], lw=1.4)
        ax.plot(*point, "o", ms=7, mfc="white", mec=BALLS[i], mew=1.8)
        size = (0.62, 0.84)[i]
        ax.add_patch(Arc((0, 0), size, size, theta1=90 - math.degrees(phi), theta2=90, ec=BALLS[i], lw=1.2))
        caption(ax, -0.02, size / 2 - 0.01, f"{MM.short(math.degrees(phi), 'deg')} ", BALLS[i], "right", "center")
    first, second = points
    _pointed(ax, "rim 1", first, (first[0] + 0.13, first[1] + 0.02), size=TEXT, color=BALLS[0], va="center")
    _pointed(ax, "rim 2", second, (second[0] + 0.02, second[1] + 0.1), size=TEXT, color=BALLS[1], ha="center")
    dimension(ax, (second[0], first[1] - 0.07), (first[0], first[1] - 0.07))
    middle = ((first[0] + second[0]) / 2, first[1] - 0.07)
    _pointed(ax, f"rim lead {lead:g} mm", middle, (0.68, 0.5), va="center")
    dimension(ax, (first[0] + 0.055, first[1]), (first[0] + 0.055, second[1]))
    caption(ax, first[0] + 0.085, second[1] + 0.02, f"press-depth difference {TWO_THOU:g} mm", va="bottom")
    ax.plot([second[0], second[0]], [second[1], first[1] - 0.09], color=GREY, lw=0.7, ls=":")
    ax.plot([second[0], first[0] + 0.075], [second[1], second[1]], color=GREY, lw=0.7, ls=":")
    ax.plot([first[0], first[0]], [first[1], first[1] - 0.09], color=GREY, lw=0.7, ls=":")
    said = "both balls laid over each other,\nat the moment of the handover:\nin the plane, bar stiff sideways"
    caption(ax, -0.58, 0.1, said, va="center")
    return figure


def _pointed(ax, said, at, place, size=SMALL, **look):
    ax.annotate(said, at, place, size=size, arrowprops={"arrowstyle": "-", "color": GREY}, **look)


def _finish(ax, across, across_unit, up, up_unit):
    plain(ax)
    ax.set_axisbelow(True)
    unit_axis(ax.xaxis, ax.get_xlim(), f"{across}, {across_unit}", "", MM, 6)
    unit_axis(ax.yaxis, ax.get_ylim(), f"{up}, {up_unit}", "", MM)


TWO = {
    "two-balls-settled": two_balls_settled,
    "one-moment": one_moment,
    "sharing-band": sharing_band_map,
    "rim-lead": rim_lead,
    "threshold-cliff": threshold_cliff,
    "handover": handover,
}
