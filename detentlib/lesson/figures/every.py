"""The drawings of the texts: `python -m detentlib.lesson.figures.every` writes every SVG of the folder figures/.

Each is drawn from the numbers of the demo knife or from a formula; the same library and matplotlib give the same file.
"""

import math
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, Polygon

from ...derivations.formulas import formulas
from ...draw.drawing import BALLS, GREY, INK, PUSH, SMALL, STEEL, TANG, TEXT, Arrow, caption
from ...draw.letters import plan_signs, section_signs
from ...draw.measuring import MEASURE
from ...draw.plan import bare, dimension, draw_plan, svg_figure, svg_text
from ...draw.sizes import section_at_rest
from ...draw.story import Story
from ...files.knife_file import read_knife
from ...files.writing import write_file
from ...knife.plain import in_picture
from ...mechanics.bar import rate
from ...mechanics.feel import feel
from ...say.measure import MM
from . import others
from .two import TWO

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "notebooks" / "knives" / "pellowfen-a.toml"


def one_ball() -> Figure:
    """The ball of the demo knife as its rim begins to slip: rim gap, contact angle, seat depth and friction cone."""
    knife = read_knife(DEMO)
    rest = Story(knife, 6.0)
    # up to there the rim sticks and takes the ball along, which stands as at rest
    story = Story(knife, 6.0, rest.feel.peak_deg, rest)
    figure = svg_figure(6.4, 5.0)
    section = section_at_rest(figure, (0.01, 0.06, 0.98, 0.93), story)
    section.scale_bars(MM, on_screen=False)
    ax, radius, seat = section.ax, knife.balls[0].radius, story.seat(0)
    gap, depth = story.feel.rim_gap[0], story.feel.seat_depth[0]
    ax.plot([-0.9 * radius, gap], [0, 0], color=GREY, lw=0.8, ls=":")
    ax.plot([-0.62 * radius, 0], [depth, depth], color=GREY, lw=0.8, ls=":")
    dimension(ax, (0, 0.5 * radius), (gap, 0.5 * radius), f"rim gap {MM.short(gap, 'mm')}", (0.43 * gap, 0.53 * radius))
    dimension(
        ax,
        (-0.58 * radius, 0),
        (-0.58 * radius, depth),
        f"seat depth {MM.short(depth, 'mm')} ",
        (-0.93 * radius, 0.5 * depth),
        "right",
        "center",
    )
    right, said = 1.5 * radius, f" gap {MM.short(seat.gap, 'mm')}"
    dimension(ax, (right, -seat.gap), (right, 0), said, (1.52 * radius, -seat.gap - 0.1 * radius), va="top")
    cone = f"friction cone\n±{MM.short(math.degrees(seat.lam), 'deg')}, μ {knife.friction.rim:g}"
    caption(ax, gap + 0.7 * radius, 0.12 * radius, cone, va="bottom")
    ball, bore = MM.round(2 * radius, "mm"), MM.round(knife.balls[0].recess.diameter, "mm")
    section.names[2].set_text(f"ball {ball}, recess {bore}")
    return figure


def lift_curve() -> Figure:
    """The lift curve of the demo knife with its slope in three places, and below it the push without friction."""
    knife = read_knife(DEMO)
    felt, ball = feel(knife), knife.balls[0]
    gap, stiffness = felt.rim_gap[0], rate(knife.bar, ball)

    def at(travel):
        """(lift, slope, bar force) where the ball has gone so far."""
        rim = formulas["L1"](rim_gap=gap - np.asarray(travel), ball_radius=ball.radius)
        lifted = felt.seat_depth[0] - rim.sink
        return lifted, rim.slope, felt.rest_load + stiffness * lifted

    figure = svg_figure(7.2, 5.0)
    upper, lower = (figure.add_axes((0.1, bottom, 0.87, 0.4)) for bottom in (0.57, 0.1))
    run = np.linspace(0, gap, 200)
    lifted, slope, force = at(run)
    upper.plot([*run, 1.42 * gap], [*lifted, lifted[-1]], color=BALLS[0], lw=3)
    lower.plot([*run, 1.42 * gap], [*force * slope, 0], color=PUSH, lw=3)
    for travel, words in ((0.0, "steep"), (gap / 2, "less steep"), (gap, "flat")):
        _slope_there(upper, lower, travel, *(float(each) for each in at(travel)), words)
    upper.set(xlim=(-0.03, 1.42 * gap), ylim=(-0.02, 0.4), ylabel="lift of the bar, mm")
    across = "travel of the ball from where it rests, mm"
    lower.set(xlim=(-0.03, 1.42 * gap), ylim=(-0.8, 22), ylabel="push at the ball, N", xlabel=across)
    caption(upper, 0.53 * gap, 0.06, "the lift curve:\nhow high the rim\nlifts ball and bar", BALLS[0], size=TEXT)
    for ax in (upper, lower):
        ax.spines[["top", "right"]].set_visible(False)
        ax.set_xticks(np.arange(0, 1.42 * gap, 0.1))
        ax.tick_params(labelsize=SMALL)
    return figure


def _slope_there(upper, lower, travel, lifted, slope, force, words):
    """The slope of the lift curve in one place as a tangent, and below it bar force times slope."""
    steps = np.array([-0.09 if travel else 0.0, 0.09])
    upper.plot(travel + steps, lifted + steps * slope, color=INK, lw=1.6)
    for ax, height in ((upper, lifted), (lower, force * slope)):
        ax.plot(travel, height, "o", ms=7, mfc="white", mec=INK, mew=1.5)
        ax.axvline(travel, color=GREY, lw=0.8, ls=":")
    beside = (-0.012, 0.055, "right") if travel else (0.1, 0.02, "left")
    caption(
        upper,
        travel + beside[0],
        lifted + beside[1],
        f"{words}:\nslope {slope:.2f}",
        ha=beside[2],
        va="bottom",
        size=TEXT,
    )
    said = f"{force:.1f} N × {slope:.2f} = {force * slope:.1f} N"
    caption(lower, travel + 0.012, force * slope + 1.0, said, va="bottom", size=TEXT)


def wedge() -> Figure:
    """A push of 10 N against a rim that touches at 30°: what it lifts, and the triangle of forces to scale."""
    push, phi = 10.0, math.radians(30)
    lift = push / formulas["F2"](phi=phi, mu=0.0, cos_chi=1.0)
    figure = svg_figure(7.2, 3.6)
    _wedge_and_ball(figure.add_axes((0.01, 0.02, 0.5, 0.96)), push, lift, phi)
    _triangle(figure.add_axes((0.53, 0.02, 0.46, 0.96)), push, lift, phi)
    return figure


def _wedge_and_ball(ax, push, lift, phi):
    bare(ax, (-1.6, 3.6), (-2.95, 2.3))
    touch = np.array([math.sin(phi), math.cos(phi)])
    along = np.array([math.cos(phi), -math.sin(phi)])
    low, high = touch + 1.75 * along, touch - 1.75 * along
    ax.add_patch(Polygon([low, high, (low[0], high[1])], fc=TANG, ec=INK, lw=1.2))
    ax.add_patch(Circle((0, 0), 1, fc=STEEL, ec=INK, lw=1.2))
    ax.plot([0, 0], [0, 1.5], color=GREY, lw=0.8, ls=":")
    ax.plot(*np.array([-0.3 * touch, 1.6 * touch]).T, color=INK, lw=0.9, ls=(0, (8, 2, 2, 2)))
    ax.add_patch(Arc((0, 0), 1.1, 1.1, theta1=90 - math.degrees(phi), theta2=90, ec=INK, lw=1))
    caption(ax, -0.07, 0.42, f"{math.degrees(phi):.0f}°", ha="right", size=TEXT)
    ax.plot(*touch, "o", ms=6, mfc="white", mec=INK, mew=1.5)
    size = 1.0 / push
    tail, tip = (low[0] + 0.2 + push * size, 1.35), (low[0] + 0.2, 1.35)
    Arrow(ax, PUSH, ha="left", va="bottom").draw(tail, tip, f"push {push:.0f} N", (low[0] + 0.25, 1.42))
    Arrow(ax, BALLS[0], ha="left").draw((0, -1.05 - lift * size), (0, -1.05), f"bar {lift:.1f} N", (0.1, -1.6))
    caption(ax, 0.3, high[1] + 0.08, "the rim, where it touches", GREY, "left")
    for x in (-1.12, 1.12):
        ax.plot([x, x], [-0.95, 0.1 if x < 0 else -0.3], color=GREY, lw=3)
    caption(ax, 1.25, -0.75, "the ball goes\nup and down only", GREY, va="center")


def _triangle(ax, push, lift, phi):
    bare(ax, (-7.5, 15.5), (-2.6, 19.4))
    ax.set_aspect("equal", anchor="W")
    Arrow(ax, BALLS[0], ha="right").draw((0, 0), (0, lift), f"lifts {lift:.1f} N ", (-0.2, lift / 2))
    Arrow(ax, PUSH, va="bottom").draw((push, lift), (0, lift), f"push {push:.0f} N", (push / 2, lift + 0.4))
    said = f"at the contact\n{math.hypot(push, lift):.1f} N"
    Arrow(ax, INK, width=1.6, ha="left").draw((0, 0), (push, lift), said, (push * 0.55, lift * 0.4))
    ax.add_patch(Arc((0, 0), 9, 9, theta1=90 - math.degrees(phi), theta2=90, ec=INK, lw=1))
    caption(ax, 1.5, 5.2, f"{math.degrees(phi):.0f}°", ha="center", size=TEXT)
    caption(
        ax,
        -7,
        -0.9,
        f"{push:.0f} N ÷ tan {math.degrees(phi):.0f}° = {lift:.1f} N, without friction",
        ha="left",
        va="top",
        size=TEXT,
    )


def signs() -> Figure:
    """Frames and signs: the knife from its face, the section at the ball, and the letters with their meaning."""
    knife = read_knife(DEMO)
    story = Story(knife, 6.0)
    figure = svg_figure(7.6, 7.4)
    plan = figure.add_axes((0.005, 0.53, 0.99, 0.465))
    draw_plan(plan, knife)
    plan_signs(plan, knife)
    section = section_at_rest(figure, (0.01, 0.01, 0.56, 0.5), story)
    section_signs(section, story)
    _letters(figure.add_axes((0.59, 0.01, 0.4, 0.5)), knife, story)
    return figure


def _letters(ax, knife, story):
    felt, ball = story.feel, knife.balls[0]
    rows = (
        ("", f"{in_picture(knife.title)} at rest", ""),
        ("θ", "blade angle from the stop", MM.short(story.angle_deg, "deg")),
        ("z = 0", "tang face; lift is away from it, down", ""),
        ("g", "gap, bar face to tang face", MM.short(story.run.gap[story.at], "mm")),
        ("x", "ball travel towards the rim", ""),
        ("d", "ball short of the recess's middle", MM.short(felt.loaded_offset[0], "mm")),
        ("b", "rim gap: ball axis to rim", MM.short(felt.rim_gap[0], "mm")),
        ("φ", "contact angle from the pole", MM.short(felt.contact_deg[0], "deg")),
        ("s", "seat depth", MM.short(felt.seat_depth[0], "mm")),
        ("N", "force of the bar on the ball", MM.short(felt.rest_load, "N")),
        ("ρ", "track radius", MM.round(ball.track_radius, "mm")),
        ("L", "hinge distance", MM.round(ball.hinge_distance, "mm")),
        ("A", "tab arm", MM.round(knife.blade.tab_arm, "mm")),
    )
    _list(ax, rows)


def _list(ax, rows):
    ax.set_axis_off()
    for i, row in enumerate(rows):
        for x, said, side in zip((0, 0.13, 1), row, ("left", "left", "right"), strict=True):
            caption(ax, x, 0.97 - i / len(rows), said, ha=side, va="top", transform=ax.transAxes)


FIGURES = {
    "one-ball": one_ball,
    "lift-curve": lift_curve,
    "wedge": wedge,
    "signs": signs,
    "one-spring": others.one_spring,
    "friction-cone": others.friction_cone,
    **TWO,
    "track-map": others.track_map,
    **MEASURE,
    "complaint-to-report": others.ladder,
    "threshold-smear": others.threshold_smear,
}


def svg(name: str) -> str:
    """The SVG of one figure as text, the same on every run."""
    return svg_text(FIGURES[name](), name)


def main() -> None:
    """Write every figure."""
    for name in FIGURES:
        write_file(ROOT / "figures" / f"{name}.svg", svg(name), ".svg", replace=True)


if __name__ == "__main__":
    main()
