"""The drawings of the texts: `python -m detentlib.lesson.figures.every` writes every SVG of the folder figures/.

Each is drawn from the numbers of the demo knife or from a formula; the same library and matplotlib give the same file.
"""

import math
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, Polygon

from ...derivations.formulas import formulas
from ...draw.drawing import BALLS, GREY, INK, PUSH, SMALL, STEEL, TANG, TEXT, Arrow
from ...draw.letters import plan_signs, section_signs
from ...draw.measuring import MEASURE
from ...draw.plan import (
    STUD,
    TAB,
    around,
    ball_at,
    bare,
    dimension,
    draw_plan,
    draw_side,
    relief_at,
    svg_figure,
    svg_text,
)
from ...draw.section import Section
from ...draw.story import Story
from ...files.knife_file import read_knife
from ...files.writing import write_file
from ...knife.plain import in_picture
from ...say.measure import MM
from ..form import BAR, BLADE, ball_boxes
from .apprentice import APPRENTICE
from .spring import SPRING
from .swing import SWING
from .tune import TUNE
from .two import TWO

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "notebooks" / "knives" / "pellowfen-a.toml"


def one_ball() -> Figure:
    """The ball of the demo knife as its rim begins to slip: to-scale section with rim gap, contact angle, seat depth
    and friction cone.
    """
    knife = read_knife(DEMO)
    rest = Story(knife, 6.0)
    # up to there the rim sticks and takes the ball along, which stands as at rest
    story = Story(knife, 6.0, rest.feel.peak_deg, rest)
    figure = svg_figure(6.4, 5.0)
    section = _section(figure, (0.01, 0.06, 0.98, 0.93), story)
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
        ha="right",
        va="center",
    )
    dimension(
        ax,
        (1.5 * radius, -seat.gap),
        (1.5 * radius, 0),
        f" gap {MM.short(seat.gap, 'mm')}",
        (1.52 * radius, -seat.gap - 0.1 * radius),
        va="top",
    )
    cone = f"friction cone\n±{MM.short(math.degrees(seat.lam), 'deg')}, μ {knife.friction.rim:g}"
    ax.text(gap + 0.7 * radius, 0.12 * radius, cone, size=SMALL, va="bottom")
    section.names[2].set_text(
        f"ball {MM.round(2 * radius, 'mm')}, recess {MM.round(knife.balls[0].recess.diameter, 'mm')}"
    )
    return figure


def wedge() -> Figure:
    """A push of 10 N against a rim that touches at 30°: what it lifts, and the triangle of forces to scale."""
    push, phi = 10.0, math.radians(30)
    lift = push / formulas["F2"](phi=phi, mu=0.0, cos_chi=1.0)
    figure = svg_figure(7.2, 3.6)
    _wedge_and_ball(figure.add_axes((0.01, 0.02, 0.5, 0.96)), push, lift, phi)
    _triangle(figure.add_axes((0.53, 0.02, 0.46, 0.96)), push, lift, phi)
    return figure


def _wedge_and_ball(ax, push, lift, phi):
    """The rim as the wedge that it is where it touches, the ball that can only go up and down."""
    bare(ax, (-1.6, 3.6), (-2.95, 2.3))
    touch = np.array([math.sin(phi), math.cos(phi)])
    along = np.array([math.cos(phi), -math.sin(phi)])
    low, high = touch + 1.75 * along, touch - 1.75 * along
    ax.add_patch(Polygon([low, high, (low[0], high[1])], fc=TANG, ec=INK, lw=1.2))
    ax.add_patch(Circle((0, 0), 1, fc=STEEL, ec=INK, lw=1.2))
    ax.plot([0, 0], [0, 1.5], color=GREY, lw=0.8, ls=":")
    ax.plot(*np.array([-0.3 * touch, 1.6 * touch]).T, color=INK, lw=0.9, ls=(0, (8, 2, 2, 2)))
    ax.add_patch(Arc((0, 0), 1.1, 1.1, theta1=90 - math.degrees(phi), theta2=90, ec=INK, lw=1))
    ax.text(-0.07, 0.42, f"{math.degrees(phi):.0f}°", size=TEXT, ha="right")
    ax.plot(*touch, "o", ms=6, mfc="white", mec=INK, mew=1.5)
    size = 1.0 / push
    Arrow(ax, PUSH, ha="left", va="bottom").draw(
        (low[0] + 0.2 + push * size, 1.35), (low[0] + 0.2, 1.35), f"push {push:.0f} N", (low[0] + 0.25, 1.42)
    )
    Arrow(ax, BALLS[0], ha="left").draw((0, -1.05 - lift * size), (0, -1.05), f"bar {lift:.1f} N", (0.1, -1.6))
    ax.text(0.3, high[1] + 0.08, "the rim, where it touches", size=SMALL, color=GREY, ha="left")
    for x in (-1.12, 1.12):
        ax.plot([x, x], [-0.95, 0.1 if x < 0 else -0.3], color=GREY, lw=3)
    ax.text(1.25, -0.75, "the ball goes\nup and down only", size=SMALL, color=GREY, va="center")


def _triangle(ax, push, lift, phi):
    """Push, bar force and the force at the contact head to tail, one scale."""
    bare(ax, (-7.5, 15.5), (-2.6, 19.4))
    ax.set_aspect("equal", anchor="W")
    Arrow(ax, BALLS[0], ha="right").draw((0, 0), (0, lift), f"lifts {lift:.1f} N ", (-0.2, lift / 2))
    Arrow(ax, PUSH, va="bottom").draw((push, lift), (0, lift), f"push {push:.0f} N", (push / 2, lift + 0.4))
    Arrow(ax, INK, width=1.6, ha="left").draw(
        (0, 0), (push, lift), f"at the contact\n{math.hypot(push, lift):.1f} N", (push * 0.55, lift * 0.4)
    )
    ax.add_patch(Arc((0, 0), 9, 9, theta1=90 - math.degrees(phi), theta2=90, ec=INK, lw=1))
    ax.text(1.5, 5.2, f"{math.degrees(phi):.0f}°", size=TEXT, ha="center")
    ax.text(
        -7,
        -0.9,
        f"{push:.0f} N ÷ tan {math.degrees(phi):.0f}° = {lift:.1f} N, without friction",
        size=TEXT,
        va="top",
        ha="left",
    )


def signs() -> Figure:
    """Frames and signs: the knife from its face, the section at the ball, and the letters with their meaning."""
    knife = read_knife(DEMO)
    story = Story(knife, 6.0)
    figure = svg_figure(7.6, 7.4)
    plan = figure.add_axes((0.005, 0.53, 0.99, 0.465))
    draw_plan(plan, knife)
    plan_signs(plan, knife)
    section = _section(figure, (0.01, 0.01, 0.56, 0.5), story)
    section_signs(section, story)
    _letters(figure.add_axes((0.59, 0.01, 0.4, 0.5)), knife, story)
    return figure


def _letters(ax, knife, story):
    """The letters with their meaning and what they are on the demo knife at rest."""
    felt, ball = story.feel, knife.balls[0]
    rows = (
        ("", f"{in_picture(knife.title)} at rest", ""),
        ("θ", "blade angle from the stop", MM.short(story.angle_deg, "deg")),
        ("z = 0", "tang face: blade above, bar below", ""),
        ("g", "gap, bar face to tang face", MM.short(story.run.gap[story.at], "mm")),
        ("x", "ball travel towards the rim", ""),
        ("d₀", "rest offset, the bar pressing", MM.short(felt.loaded_offset[0], "mm")),
        ("b", "rim gap: ball axis to rim", MM.short(felt.rim_gap[0], "mm")),
        ("φ", "contact angle from the pole", MM.short(felt.contact_deg[0], "deg")),
        ("s", "seat depth", MM.short(felt.seat_depth[0], "mm")),
        ("N", "force of the bar on the ball", MM.short(felt.rest_load, "N")),
        ("ρ", "track radius", MM.round(ball.track_radius, "mm")),
        ("L", "hinge distance", MM.round(ball.hinge_distance, "mm")),
    )
    _list(ax, rows)


def what_you_measure() -> Figure:
    """The sizes that the form of notebook 00 asks for, numbered on the face, the edge and a section of a knife."""
    knife = read_knife(DEMO)
    story = Story(knife, 6.0)
    figure = svg_figure(7.6, 7.4)
    boxes = {box.path: box.label for box in (*ball_boxes(0), *BAR, *BLADE)}
    places = {**_on_face(knife), **_on_edge(knife, story), **_on_section(knife, story)}
    number = {path: i for i, path in enumerate((path for path in boxes if path in places), start=1)}
    face, edge = figure.add_axes((0.005, 0.575, 0.99, 0.42)), figure.add_axes((0.005, 0.43, 0.99, 0.15))
    draw_plan(face, knife)
    draw_side(edge, knife, story.seat(0).gap)
    section = _section(figure, (0.01, 0.01, 0.56, 0.41), story)
    for artist in set(section.artists) - {section.bar, section.circle, section.tang, section.upright}:
        artist.set_visible(False)
    middle = -story.seat(0).offset
    section.ax.plot([middle, middle], [0, section.top], color=GREY, lw=0.8, ls=(0, (8, 2, 2, 2)))
    section.upright.set_ydata([0, section.top])
    axes = {"face": face, "edge": edge, "section": section.ax}
    ring = {"boxstyle": "circle,pad=0.22", "fc": "white", "ec": INK, "lw": 0.9}
    for path, (where, start, end, at) in places.items():
        dimension(axes[where], start, end, "", at, heads="-|>" if path == "bar.riding_force" else "<|-|>")
        axes[where].text(*at, str(number[path]), size=SMALL, ha="center", va="center", bbox=ring)
    _list(figure.add_axes((0.61, 0.01, 0.38, 0.41)), [(str(i), boxes[path].lower(), "") for path, i in number.items()])
    return figure


def _on_face(knife):
    """{path: (view, start, end, place of the number)} of what the face shows."""
    (x, y), half = ball_at(knife), knife.bar.width / 2
    hinge, tab = relief_at(knife), around(knife.blade.tab_arm, TAB)
    found = {
        "balls[0].track_radius": ("face", (0, 0), (x, y), (-2.8, 3.0)),
        "balls[0].hinge_distance": ("face", (hinge[0], 10.6), (x, 10.6), ((hinge[0] + x) / 2, 10.6)),
        "bar.width": ("face", (-20, y - half), (-20, y + half), (-20, y)),
        "blade.tab_arm": ("face", (0, 0), tab, (tab[0] / 2, 6.6)),
    }
    if knife.blade.stud_arm:
        stud = around(knife.blade.stud_arm, STUD)
        found["blade.stud_arm"] = ("face", (0, 0), stud, (stud[0] / 2, stud[1] / 2 - 1.2))
    return found


def _on_edge(knife, story):
    """As _on_face, of what the edge shows."""
    bar, (x, _), left = knife.bar, ball_at(knife), relief_at(knife)[0] - knife.bar.relief_length / 2
    face = -story.seat(0).gap
    return {
        "bar.riding_force": (
            "edge",
            (x, face - bar.thickness - 3.2),
            (x, face - bar.thickness - 0.2),
            (x + 2.2, face - bar.thickness - 1.9),
        ),
        "bar.relief_thickness": (
            "edge",
            (left + 4.4, face - bar.relief_thickness),
            (left + 4.4, face),
            (left + 4.4, 1.7),
        ),
        "bar.relief_length": (
            "edge",
            (left, face - bar.thickness - 0.8),
            (left + bar.relief_length, face - bar.thickness - 0.8),
            (left + 3, face - bar.thickness - 2.3),
        ),
        "bar.thickness": ("edge", (-20, face - bar.thickness), (-20, face), (-18.2, face - bar.thickness / 2)),
    }


def _on_section(knife, story):
    """As _on_face, of what the section shows."""
    ball, seat = knife.balls[0], story.seat(0)
    radius, middle, face, bore = ball.radius, -seat.offset, -seat.gap, ball.recess.diameter / 2
    centre, depth = face + ball.protrusion - radius, ball.recess.depth
    return {
        "balls[0].diameter": ("section", (-radius, centre), (radius, centre), (0, centre)),
        "balls[0].protrusion": (
            "section",
            (1.35 * radius, face),
            (1.35 * radius, face + ball.protrusion),
            (1.53 * radius, face + ball.protrusion / 2),
        ),
        "balls[0].recess.diameter": (
            "section",
            (middle - bore, 0.62 * radius),
            (middle + bore, 0.62 * radius),
            (middle - 0.4 * bore, 0.62 * radius),
        ),
        "balls[0].recess.rest_offset": (
            "section",
            (middle, depth + 0.14 * radius),
            (0, depth + 0.14 * radius),
            (0.2 * radius, depth + 0.24 * radius),
        ),
        "balls[0].recess.depth": ("section", (-1.25 * radius, 0), (-1.25 * radius, depth), (-1.25 * radius, depth / 2)),
    }


def _list(ax, rows):
    """Rows of letter or number, meaning and value."""
    ax.set_axis_off()
    for i, row in enumerate(rows):
        for x, said, side in zip((0, 0.13, 1), row, ("left", "left", "right"), strict=True):
            ax.text(x, 0.97 - i / len(rows), said, size=SMALL, ha=side, va="top", transform=ax.transAxes)


def _section(figure, place, story):
    """The section of ball 1 as the panels draw it, at rest and about to open."""
    section = Section(
        figure.add_axes(place), story.knife.balls[0].radius, story.newton(story.knife.balls[0].radius), "ball 1"
    )
    section.draw(story.seat(0), "opening", MM)
    return section


FIGURES = {
    "one-ball": one_ball,
    "wedge": wedge,
    "signs": signs,
    "what-you-measure": what_you_measure,
    **SPRING,
    **TWO,
    **SWING,
    **MEASURE,
    **APPRENTICE,
    **TUNE,
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
