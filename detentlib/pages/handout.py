"""The hand-out: one knife on paper, with the arithmetic left in; a version with blanks and one with the answers."""

import re
from pathlib import Path

import numpy as np
from markupsafe import Markup

from ..doubt.budget import budgets, gives
from ..doubt.cloud import cloud
from ..draw.drawing import BACK, BALLS, GRID, INK, OPENING, SMALL, STYLES, Curve, unit_axis
from ..draw.letters import legend, lettered
from ..draw.plan import svg_figure
from ..draw.section import Section
from ..draw.story import Story
from ..files.knife_file import knife_text
from ..knife.given import given_switch
from ..knife.parts import FIELDS, UNMEASURED, Knife, assumed_words, name_of, said_of, spec
from ..knife.paths import BARS, field_of, place_of
from ..knife.units import both, in_digits
from ..mechanics.feel import feel
from ..mechanics.lift import flat_angle
from ..mechanics.sweep import sweep
from ..say.cautions import CAUTIONS
from ..say.headline import HEADLINE, WHAT_IS_USUAL, headline
from ..say.measure import MM, exactly
from ..say.measured import MIXED
from .by_hand import worked_example
from .paper import fill, picture, save

_BLANK = Markup('<span class="blank">&nbsp;</span>')
_BUDGETED = ("break_force", "letback_force", "barrier", "break_out_deg")
_SHARES = 4
_GROUPS = (("bar", "Lock bar"), ("second_bar", "Second leaf"), ("blade", "Blade"), ("friction", "Friction"))
# the letter of a number of the card in the worked example
LETTERS = {
    "ball.diameter": "D",
    "ball.protrusion": "p",
    "ball.track_radius": "ρ",
    "ball.hinge_distance": "L",
    "recess.diameter": "Dᵣ",
    "recess.rest_offset": "d₀",
    "bar.riding_force": "Fᵣ",
    "bar.relief_thickness": "tᵣ",
    "bar.relief_length": "ℓ",
    "bar.width": "w",
    "bar.thickness": "t",
    "bar.youngs_modulus": "E",
    "bar.rate": "k",
    "bar.parallel_gap": "gₚ",
    "blade.tab_arm": "A",
    "friction.rim": "μ",
}
_WIDE, _HIGH = 7.0, 2.9  # in
_AFTER = 1.25  # the curves go on so far past the last break-out
_POINTS = 400


def handout(knife: Knife, path: str | Path, answers: bool = True, replace: bool = False) -> None:
    """Write the hand-out of one Knife as a self-contained HTML file that prints on A4 and Letter.

    It holds the numbers to read first with their ±, a sketch with the letters, the job card, a section drawing with a
    scale bar, the curves, the
    worked example (each formula, the same with the numbers in, the result), where the ± comes from, what was assumed
    and left out, the knife file with the lines that reproduce the numbers, and the cautions. answers: False leaves
    room to write in place of every result, from the same source. The bar is taken as rigid, as in dl.feel. replace:
    True writes it over a file that is there.

    Raises KnifeError for a knife that cannot work, and like `write_file`.
    """
    save(path, lambda: handout_page(knife, answers), replace)


def handout_page(knife: Knife, answers: bool = True) -> str:
    """The hand-out as text; see `handout`."""
    given_switch("answers", answers, "whether the results stand in it")
    felt, drawn = feel(knife), cloud(knife)
    told = headline(knife, drawn=[drawn])
    notes = dict(told.notes)
    heads, *rows = told.table
    shown = ["Look at this", *(["Which ball carries"] if answers else [])]
    return fill(
        "handout.html",
        title=f"{knife.title}: hand-out",
        knife=knife,
        answers=answers,
        heads=heads,
        rows=rows if answers else [(name, _BLANK, _BLANK) for name, *_ in rows],
        blank=_BLANK,
        look=[(heading, notes[heading]) for heading in shown if heading in notes],
        cautions=CAUTIONS.values(),
        letters=lettered(),
        legend=legend(),
        card=list(_job_card(knife)),
        picture=picture,
        pictures=[
            ("The section at rest, to scale", *sections(knife, answers)),
            ("As the blade opens", *curves(knife, answers)),
        ],
        worked=worked_example(knife),
        doubt=list(_doubt(knife, drawn)) if answers else [],
        unmeasured=UNMEASURED,
        assumed=assumed_words(knife) if felt.assumed else (),
        left_out=[*felt.left_out, *_rigid_or_not(knife, answers)],
        usual=notes.get(WHAT_IS_USUAL, ()),
        file=f"{re.sub(r'[^a-z0-9]+', '-', str(knife.title).lower()).strip('-') or 'knife'}.toml",
        knife_text=knife_text(knife),
    )


def _job_card(knife):
    """(part, rows, what else holds) of every part: its numbers with their ± and whether anybody measured them."""
    balls = [
        (f"balls[{i}]", f"Ball {i + 1} and its recess" if len(knife.balls) > 1 else "Ball and recess")
        for i in range(len(knife.balls))
    ]
    usual = _defaults(knife)
    for table, heading in (*balls, *_GROUPS):
        paths = [path for path in knife.paths() if table in place_of(path).tables]
        rows = [_card_row(knife, path) for path in paths if path not in usual]
        leaf = getattr(knife, table) if table in BARS else None
        if leaf is not None and leaf.material:
            rows.append(("", "material", leaf.material, ""))
        if rows:
            others = [path for path in paths if path in usual]
            yield (
                heading,
                rows,
                [f"{spec(path)['meaning']} {exactly(knife.get(path), spec(path)['unit'])}" for path in others],
            )


def _defaults(knife):
    """Paths of numbers that stand at what they are when nobody gives them, with no ± and not assumed."""
    unsaid = [path for path in knife.paths() if path not in knife.assumed and not knife.doubts.get(path)]
    return [path for path in unsaid if knife.get(path) == FIELDS[field_of(path)].default]


def _card_row(knife, path):
    value, unit, doubt = knife.get(path), spec(path)["unit"], knife.doubts.get(path)
    unsaid = "assumed" if path in knife.assumed else "" if doubt else "no ± given"
    said = said_of(knife, path)
    measured = said.word if said else unsaid
    shown = both(value, unit, doubt) if doubt else exactly(value, unit)
    return LETTERS.get(field_of(path), ""), spec(path)["meaning"], shown, measured


def _doubt(knife, drawn):
    """(name, value with its ±, rows) of each result: where its ± comes from."""
    found = budgets(knife, [result for result in _BUDGETED if gives(drawn, result)], drawn)
    for result in _BUDGETED:
        each = found.get(result)
        if each is None or each.largest is None:
            continue
        shares = [(path, share, each.part(path)) for path, share in each.shares.items() if share][:_SHARES]
        rows = [(name_of(path, knife), _alone(share, each.unit), _percent(part)) for path, share, part in shares]
        left = 1 - sum(round(part, 2) for _, _, part in shares)
        rows += [("all the rest", "", _percent(left))] if left > 0.005 else []
        rows += [(f"{MIXED[0].upper()}{MIXED[1:]}", "", "")] if each.mixed else []
        yield HEADLINE[result], each.interval.said(each.unit), rows


def _percent(part):
    return "less than 1 %" if part < 0.01 else f"{100 * part:.0f} %"


def _alone(share, unit):
    """± that one input brings by itself, in two digits."""
    return f"±{in_digits(abs(share), 2)}{'°' if unit == 'deg' else ' ' + unit}"


def _rigid_or_not(knife, answers):
    """How much a bar that bends between two balls, and balls that squash, would change."""
    if len(knife.balls) == 1 and knife.balls[0].contact_modulus is None:
        return []
    said = "bend between the balls, and squash: the bar is taken as rigid here"
    if answers:
        soft = feel(knife, elastic=True)
        said += (
            f"; with an elastic bar the break force is {both(soft.break_force, 'N')}, the barrier {soft.barrier:.2f} mJ"
        )
    return [said]


def sections(knife: Knife, answers: bool) -> tuple:
    """(Figure, what it shows): every ball in its recess at rest, with scale bars."""
    story = Story(knife, _span(knife), feel(knife).rest_deg)
    count, radius = len(knife.balls), max(ball.radius for ball in knife.balls)
    figure = svg_figure(_WIDE if count > 1 else 4.4, _HIGH if count > 1 else 3.4)
    told = []
    for i, ball in enumerate(knife.balls):
        section = Section(
            figure.add_axes((i / count + 0.005, 0.1, 1 / count - 0.01, 0.89)),
            radius,
            story.newton(radius),
            f"ball {i + 1}",
        )
        seat = story.seat(i)
        section.draw(seat, "opening", MM)
        if not answers:
            section.bare()
        if i == 0:
            section.scale_bars(MM, on_screen=False)
        told.append(
            f"Ball {i + 1}, {MM.round(ball.diameter, 'mm')}, in a recess of"
            f" {MM.round(2 * ball.recess.rim_radius, 'mm')}{_found(seat) if answers else ''}."
        )
    return figure, " ".join([*told, "Tang above, lock bar below; the tang slides to the left when the blade opens."])


def _found(seat):
    if seat.load <= 0:
        return f": idle, clear by {MM.short(seat.clear, 'mm')}"
    return f": carries {MM.say(seat.load, 'N')} at a contact angle of {seat.phi * 180 / np.pi:.1f}°"


def curves(knife: Knife, answers: bool) -> tuple:
    """(Figure, what it shows): lift demand of each ball and force at the tab over the blade angle; empty axes
    without the answers.
    """
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
            (
                "Two empty axes: left the lift that each ball demands of the bar, right the force at the tab. Put in"
                " what you find at rest and on the flat."
            ),
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
    for way, turned, colour, style, above in (
        ("opening", run, OPENING, STYLES[0], True),
        ("letting back", back, BACK, STYLES[1], False),
    ):
        Curve(ax, way, colour, style, above).draw(turned.angle_deg, turned.tab_force)


def _told(felt, run):
    """The curves in words."""
    said = [f"Opening, the force at the tab is greatest at {felt.peak_deg:.2f}°: {MM.say(felt.break_force, 'N')}."]
    said.append(f"On the flat drag is left: {MM.say(run.tab_force[-1], 'N')}.")
    said += [
        f"{_when(hand)} ball {hand.from_ball + 1} gives the bar to ball {hand.to_ball + 1}." for hand in felt.handovers
    ]
    return " ".join(said)


def _when(hand):
    """Where a handover takes place, in words: both carry over a stretch while a bar that gives sideways swings over."""
    start, end = f"{hand.start_deg:.2f}°", f"{hand.end_deg:.2f}°"
    return f"At {start} (dotted)" if start == end else f"From {start} to {end} (dotted in its middle)"


def _span(knife):
    """The last blade angle of the curves [deg]."""
    return _AFTER * max(float(np.degrees(flat_angle(ball))) for ball in knife.balls)
