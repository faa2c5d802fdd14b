"""The headline: the numbers of a knife to read first, as form, commands, report and hand-out show them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..argue.faults.usual import USUAL
from ..doubt.budget import budgets, gives
from ..doubt.cloud import Cloud, cloud
from ..doubt.draws import share_said, shares_said
from ..doubt.many import shares_a_bar
from ..knife.given import given_knife
from ..knife.parts import UNMEASURED, Knife, assumed_words, name_of
from ..knife.plain import in_html
from ..knife.units import behind, convert
from ..mechanics.feel import feel
from ..mechanics.notes import gathered
from .measure import MM, exactly

LEFT_OUT = "Left out of these numbers"
WHAT_IS_USUAL = "Usual (common practice, low confidence)"

_MIDDLE = 1e-4  # mm: nearer to the middle no ball can be told to stand

# the rows: numbers of doubt.many.RESULTS, and what they are called here
HEADLINE = {
    "break_force": "Break force at the tab",
    "letback_force": "Let-back force at the tab",
    "gauge_break_force": "A pull gauge on the whole knife reads",
    "barrier": "Barrier",
    "break_out_deg": "Break-out angle",
}


@dataclass(frozen=True, repr=False)
class Headline:
    """The numbers of one or more knives, as a table for a notebook or a page, or as plain text.

    table: rows of text, the heads first. notes: (heading, sentences).
    """

    table: tuple
    notes: tuple

    def __repr__(self):
        lines = [" | ".join(row) for row in self.table]
        for heading, sentences in self.notes:
            lines += [f"{heading}:", *(f"- {sentence}" for sentence in sentences)]
        return "\n".join(lines)

    def _repr_html_(self):
        heads, *rows = self.table
        table = [_cells("th", heads), *(_cells("td", row) for row in rows)]
        notes = (_note(heading, f'<ul style="margin:0">{_cells("li", said)}</ul>') for heading, said in self.notes)
        shown = "".join(f"<tr>{row}</tr>" for row in table)
        return f'<table>{shown}</table><div style="line-height:1.35">{"".join(notes)}</div>'


def _note(heading, sentences):
    """Sentences under their heading; those that are the same for most knives open on a click."""
    if heading in (LEFT_OUT, WHAT_IS_USUAL):
        return f'<details><summary style="cursor:pointer">{in_html(heading)}</summary>{sentences}</details>'
    return f'<p style="margin:6px 0 0 0"><b>{in_html(heading)}</b></p>{sentences}'


def _cells(tag, texts):
    return "".join(f'<{tag} style="text-align:left">{in_html(text)}</{tag}>' for text in texts)


def headline(*knives: Knife, titles: Sequence[str] | None = None, drawn: Sequence[Cloud] | None = None) -> Headline:
    """The numbers to read first, each with its ± or both its ends: break force, let-back, barrier …; a Headline.

    One knife: with what most of each ± comes from. Several: side by side, under `titles` if given. Below stand what to
    look at, which ball carries, what was assumed, what is usual, and what the numbers leave out. drawn: the cloud of
    each knife by itself, where it is known already. Raises KnifeError for a knife that cannot work, ValueError where
    none is given.
    """
    given_knife(knives[0] if knives else None)
    titles = tuple(titles or (str(knife.title) for knife in knives))
    drawn = drawn or [cloud(knife) for knife in knives]
    alone = len(knives) == 1
    table = [("", *titles, *(["± mostly from"] if alone else []))]
    figures = [_figures(knife, known) for knife, known in zip(knives, drawn, strict=True)]
    for result, name in HEADLINE.items():
        cells = [each[result] for each in figures]
        table.append((name, *(cells[0] if alone else (figure for figure, _ in cells))))
    told = [_told(knife, known) for knife, known in zip(knives, drawn, strict=True)]
    notes = ((heading, gathered(titles, [each[heading] for each in told])) for heading in told[0])
    return Headline(tuple(table), tuple((heading, lines) for heading, lines in notes if lines))


def _figures(knife, drawn):
    """{result: (the number with its ±, what most of the ± comes from)} in words."""
    known = budgets(knife, [result for result in HEADLINE if gives(drawn, result)], drawn)
    return {result: _figure(knife, known.get(result)) for result in HEADLINE}


def _figure(knife, budget):
    """(one number with its ±, what most of the ± comes from) in words; budget: None where the number is not given."""
    if budget is None:
        return "not given", ""
    if budget.largest is None:
        return MM.say(budget.value, budget.unit), "no ± given"
    by_itself = f"±{abs(budget.shares[budget.largest]):.2g}{behind(budget.unit)}"
    return budget.interval.said(budget.unit), f"{name_of(budget.largest, knife)} ({by_itself} by itself)"


def _told(knife, drawn):
    """{heading: sentences} of what stands below the numbers of one knife."""
    felt, lost = feel(knife), drawn.lost.items()
    gone = f"{drawn.allowed} cannot work"
    return {
        "Look at this": (
            *felt.flags,
            *_centred(knife, felt),
            *(f"{share_said(part, drawn.n)} {gone} ({why}) and is left out of each ±" for why, part in lost),
        ),
        "Which ball carries": _carries(drawn),
        UNMEASURED: ("; ".join(assumed_words(knife)),) if knife.assumed else (),
        LEFT_OUT: felt.left_out,
        WHAT_IS_USUAL: _usual(),
    }


def _centred(knife, felt):
    """That the bar gives sideways as far as it can: no number of a force can then lie much above its own."""
    i = felt.rest_carrier
    if i >= 0 and knife.balls[i].recess.rest_offset > abs(felt.loaded_offset[i]) <= _MIDDLE:
        offset = exactly(knife.balls[i].recess.rest_offset, "mm")
        yield (
            f"pressing, ball {i + 1} stands in the middle of its recess, as the bar gives sideways by all of its rest"
            f" offset, {offset}; its rim can stand no steeper, so the forces lie near the upper end of their ±"
        )


def carriers(drawn: Cloud) -> list[float]:
    """For each ball the share of what its card allows in which it carries at rest; [] where no two share a bar."""
    (knife,) = drawn.knives
    if not shares_a_bar(knife):
        return []
    return [drawn.share(drawn.felt().values[f"ball {i + 1} at rest"]) for i in range(len(knife.balls))]


def carriers_said(drawn: Cloud) -> str:
    """The same in words, each way by itself; "" where no two balls share a bar."""
    shares = carriers(drawn)
    if not shares:
        return ""
    rest = np.array([drawn.felt().values[f"ball {i + 1} at rest"] for i in range(len(shares))])
    ways = {f"ball {i + 1} alone": each & (rest.sum(axis=0) == 1) for i, each in enumerate(rest)}
    ways |= {"both" if len(rest) == 2 else "several": rest.sum(axis=0) > 1, "the bar face": rest.sum(axis=0) == 0}
    return f"{shares_said({who: drawn.share(way) for who, way in ways.items()}, drawn.n)} {drawn.allowed}"


def who_carries(knife: Knife) -> str:
    """Which ball of a bar carries at rest, in what share of what the card allows; "" where no two balls share a bar.

    >>> from detentlib.files.demo import demo
    >>> who_carries(demo("pellowfen-a"))
    ''
    >>> who_carries(demo("pellowfen-b"))
    'ball 1 alone in 96 %, ball 2 alone in 3 %, both in the rest of what this card allows'
    """
    return carriers_said(cloud(knife))


def _carries(drawn):
    """Which ball of a bar carries at rest, in what share of what the card allows, and how far the idle one is clear."""
    told = carriers_said(drawn)
    if not told:
        return ()
    clear = drawn.interval(drawn.column("idle_clearance"))
    idle = f"; the one that is idle hangs clear by {clear.said('mm')}" if clear.high > 0 else ""
    return (f"carries at rest: {told}{idle}",)


def usual_force() -> str:
    """What is usual for a break force, in words.

    >>> usual_force()
    '6 to 18 N (1.3 to 4.0 lbf)'
    """
    low, high = USUAL["break_force"]
    pounds = [convert(each, "N", "lbf") for each in (low, high)]
    return f"{low:g} to {high:g} N ({pounds[0]:.1f} to {pounds[1]:.1f} lbf)"


def _usual():
    angle = USUAL["break_out_deg"]
    return (f"break force at the tab {usual_force()}; break-out angle {angle[0]:g}° to {angle[1]:g}°",)
