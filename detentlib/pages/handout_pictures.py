"""The pictures of a hand-out: sections at rest and curves over the blade angle; without the answers where they are to be found."""

import numpy as np

from ..draw.drawing import BACK, BALLS, GRID, INK, OPENING, SMALL, STYLES, Curve, unit_axis
from ..draw.plan import svg_figure
from ..draw.section import Section
from ..draw.story import Story
from ..mechanics.feel import feel
from ..mechanics.lift import flat_angle
from ..mechanics.sweep import sweep
from ..say.measure import MM

_WIDE, _HIGH = 7.0, 2.9  # in
_AFTER = 1.25  # the curves go on so far past the last break-out
_POINTS = 400


def sections(knife, answers):
    """(Figure, what it shows): every ball in its recess at rest, with scale bars."""
    story = Story(knife, _span(knife), feel(knife).rest_deg)
    count, radius = len(knife.balls), max(ball.radius for ball in knife.balls)
    figure = svg_figure(_WIDE if count > 1 else 4.4, _HIGH if count > 1 else 3.4)
    told = []
    for i, ball in enumerate(knife.balls):
        section = Section(figure.add_axes((i / count + 0.005, 0.1, 1 / count - 0.01, 0.89)), radius, story.newton(radius), f"ball {i + 1}")
        seat = story.seat(i)
        section.draw(seat, "opening", MM)
        if not answers:
            _without_answers(section)
        if i == 0:
            section.scale_bars(MM, on_screen=False)
        told.append(
            f"Ball {i + 1}, {MM.round(ball.diameter, 'mm')}, in a recess of {MM.round(2 * ball.recess.rim_radius, 'mm')}{_found(seat) if answers else ''}."
        )
    return figure, " ".join([*told, "Tang above, lock bar below; the tang slides to the left when the blade opens."])


def _found(seat):
    if seat.load <= 0:
        return f": idle, clear by {MM.short(seat.clear, 'mm')}"
    return f": carries {MM.say(seat.load, 'N')} at a contact angle of {seat.phi * 180 / np.pi:.1f}°"


def _without_answers(section):
    """Take out of a section what is to be found by hand: the angle, the forces, the clearance."""
    for artist in (
        *section.load.artists,
        *section.push.artists,
        *section.force.artists,
        section.angle,
        section.cone,
        section.arc,
        section.contact,
        section.normal,
        section.upright,
    ):
        artist.set_visible(False)
    section.names[2].set_text(section.name)


def curves(knife, answers):
    """(Figure, what it shows): lift demand of each ball and force at the tab over the blade angle; empty axes without the answers."""
    end = _span(knife)
    angles = np.linspace(0, end, _POINTS)
    run, back = (sweep(knife, angles, direction) for direction in ("opening", "closing"))
    figure = svg_figure(_WIDE, 3.0)
    lift, force = figure.add_axes((0.08, 0.17, 0.4, 0.77)), figure.add_axes((0.59, 0.17, 0.4, 0.77))
    for ax in (lift, force):
        ax.set_xlim(0, end)
        ax.grid(color=GRID, lw=0.8)
        ax.tick_params(labelsize=SMALL)
        ax.spines[["top", "right"]].set_visible(False)
    _lifts(lift, knife, run, answers)
    _forces(force, run, back, answers)
    for ax in (lift, force):
        unit_axis(ax.xaxis, (0, end), "blade angle", "deg", MM)
    if not answers:
        return (
            figure,
            "Two empty axes: left the lift that each ball demands of the bar, right the force at the tab. Put in what you find at rest and on the flat.",
        )
    return figure, _told(feel(knife), run)


def _lifts(ax, knife, run, answers):
    """Demand of each ball; the topmost carries."""
    demands = [run.demand[:, i] for i in range(len(knife.balls))]
    low, high = min(0.0, *(demand.min() for demand in demands)), max(demand.max() for demand in demands)
    ends = (low - 0.02 * (high - low), high + 0.16 * (high - low))
    ax.set_ylim(ends)
    unit_axis(ax.yaxis, ends, "gap demanded at the ball" if len(demands) > 1 else "gap at the ball", "mm", MM)
    if not answers:
        return
    order = np.argsort([demand[-1] for demand in demands])
    for i, demand in enumerate(demands):
        Curve(ax, f"ball {i + 1}", BALLS[i % 3], STYLES[i % 3], i == order[-1]).draw(run.angle_deg, demand)
    for hand in feel(knife).handovers:
        ax.axvline(hand.angle_deg, color=INK, lw=0.8, ls=":")


def _forces(ax, run, back, answers):
    """Force at the tab both ways."""
    low, high = min(0.0, back.tab_force.min()), run.tab_force.max()
    ends = (low - 0.16 * (high - low), high + 0.08 * (high - low))
    ax.set_ylim(ends)
    unit_axis(ax.yaxis, ends, "force at the tab", "N", MM)
    ax.axhline(0, color=INK, lw=0.8)
    if not answers:
        return
    for way, turned, colour, style, above in (("opening", run, OPENING, STYLES[0], True), ("letting back", back, BACK, STYLES[1], False)):
        Curve(ax, way, colour, style, above).draw(turned.angle_deg, turned.tab_force)


def _told(felt, run):
    """The curves in words."""
    said = [f"Opening, the force at the tab is greatest at {felt.peak_deg:.2f}°: {MM.say(felt.break_force, 'N')}."]
    said.append(f"On the flat drag is left: {MM.say(run.tab_force[-1], 'N')}.")
    said += [f"{_when(hand)} ball {hand.from_ball + 1} gives the bar to ball {hand.to_ball + 1}." for hand in felt.handovers]
    return " ".join(said)


def _when(hand):
    """Where a handover takes place, in words: both carry over a stretch while a bar that gives sideways swings over."""
    start, end = f"{hand.start_deg:.2f}°", f"{hand.end_deg:.2f}°"
    return f"At {start} (dotted)" if start == end else f"From {start} to {end} (dotted in its middle)"


def _span(knife):
    """The last blade angle of the curves [deg]."""
    return _AFTER * max(float(np.degrees(flat_angle(ball))) for ball in knife.balls)
