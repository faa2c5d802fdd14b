"""The sizes that the form asks for, numbered on the face, the edge and a section of a knife, to scale."""

from matplotlib.figure import Figure

from ..knife.parts import Knife
from ..say.measure import MM
from .drawing import GREY, INK, caption
from .plan import STUD, TAB, around, ball_at, dimension, draw_plan, draw_side, relief_at
from .section import Section
from .story import Story

# in the order of the boxes, which carry the same numbers
NUMBERED = {
    path: number
    for number, path in enumerate(
        (
            "balls[0].diameter",
            "balls[0].protrusion",
            "balls[0].track_radius",
            "balls[0].hinge_distance",
            "balls[0].recess.diameter",
            "balls[0].recess.rest_offset",
            "balls[0].recess.depth",
            "bar.riding_force",
            "bar.relief_thickness",
            "bar.relief_length",
            "bar.width",
            "bar.thickness",
            "blade.tab_arm",
            "blade.stud_arm",
        ),
        start=1,
    )
}
_ACROSS = (-55.5, 17.0)  # mm, of face and edge: the tip of the blade has no size that is asked for


def ball_sizes(knife: Knife) -> Figure:
    """The section of ball 1 at rest, its sizes numbered."""
    figure = Figure(figsize=(3.4, 3.1), dpi=100, facecolor="white")
    story = Story(knife, 6.0)
    section = section_at_rest(figure, (0.01, 0.01, 0.98, 0.98), story)
    for artist in set(section.artists) - {section.bar, section.circle, section.tang, section.upright}:
        artist.set_visible(False)
    middle = -story.seat(0).offset
    section.ax.plot([middle, middle], [0, section.top], color=GREY, lw=0.8, ls=(0, (8, 2, 2, 2)))
    section.upright.set_ydata([0, section.top])
    _number({"section": section.ax}, _on_section(knife, story))
    return figure


def knife_sizes(knife: Knife) -> Figure:
    """The knife from its face and its edge, its sizes numbered."""
    figure = Figure(figsize=(3.4, 2.2), dpi=100, facecolor="white")
    face, edge = figure.add_axes((0.01, 0.33, 0.98, 0.66)), figure.add_axes((0.01, 0.01, 0.98, 0.31))
    story = Story(knife, 6.0)
    draw_plan(face, knife)
    draw_side(edge, knife, story.seat(0).gap)
    for ax in (face, edge):
        ax.set_xlim(_ACROSS)
    _number({"face": face, "edge": edge}, _on_face(knife) | _on_edge(knife, story))
    return figure


def section_at_rest(figure: Figure, place: tuple[float, float, float, float], story: Story) -> Section:
    """The Section of ball 1 as the panels draw it, at rest and about to open."""
    radius = story.knife.balls[0].radius
    section = Section(figure.add_axes(place), radius, story.newton(radius), "ball 1")
    section.draw(story.seat(0), "opening", MM)
    return section


def _number(axes, places):
    ring = {"boxstyle": "circle,pad=0.22", "fc": "white", "ec": INK, "lw": 0.9}
    for path, (where, start, end, at) in places.items():
        dimension(axes[where], start, end, "", at, heads="-|>" if path == "bar.riding_force" else "<|-|>")
        caption(axes[where], *at, str(NUMBERED[path]), ha="center", va="center", bbox=ring)


def _on_face(knife):
    """{path: (view, start, end, place of the number)} of what the face shows."""
    (x, y), half = ball_at(knife), knife.bar.width / 2
    hinge, tab = relief_at(knife), around(knife.blade.tab_arm, TAB)
    found = {
        "balls[0].track_radius": ("face", (0, 0), (x, y), (-2.8, 3.0)),
        "balls[0].hinge_distance": ("face", (hinge[0], 10.6), (x, 10.6), ((hinge[0] + x) / 2, 10.6)),
        "bar.width": ("face", (-20, y - half), (-20, y + half), (-20, y)),
        "blade.tab_arm": ("face", (0, 0), tab, (0.7 * tab[0], 9.4)),
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
