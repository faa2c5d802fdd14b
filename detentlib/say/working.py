"""Words and numbers for people: worked lines, derivations step by step, and the headline of a knife.

What a notebook prints here is the same on every run, so that it can be compared.
"""

import math
import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from IPython.display import display

from ..argue.faults.usual import USUAL
from ..derivations.formulas import Theorem, formulas
from ..doubt.budget import budgets, gives
from ..doubt.cloud import Cloud, cloud
from ..doubt.draws import share_said
from ..doubt.many import shares_a_bar
from ..knife.parts import Knife, assumed_words, name_of
from ..knife.plain import in_html
from ..knife.units import behind, convert
from ..mechanics.feel import feel
from ..mechanics.notes import gathered
from .measure import MM

if TYPE_CHECKING:
    from sympy import Basic

WHAT_IS_USUAL = "Usual (common practice, low confidence)"
_WIDTH = 108  # characters of a printed line

_HEADLINE = (
    ("break_force", "Break force at the tab", "N"),
    ("letback_force", "Let-back force at the tab", "N"),
    ("gauge_break_force", "A pull gauge on the whole knife reads", "N"),
    ("barrier", "Barrier", "mJ"),
    ("break_out_deg", "Break-out angle", "deg"),
)


class Said:
    """Text that a notebook shows as Markdown; its plain form is the same text."""

    def __init__(self, markdown: str) -> None:
        """Keep the text."""
        self.markdown = markdown

    def __repr__(self):
        return self.markdown

    def _repr_markdown_(self):
        return self.markdown


def say(markdown: str) -> None:
    """Show Markdown in a notebook; elsewhere the text itself is printed.

    >>> say("**Yes.**")
    **Yes.**
    """
    display(Said(markdown))


def tell(*lines: str) -> None:
    """Print lines, long ones wrapped between words."""
    for line in lines:
        print(textwrap.fill(line, _WIDTH, subsequent_indent="   "))


@dataclass(frozen=True)
class Worked:
    """One worked line: a sentence, how to typeset it as LaTeX when somebody looks, its result and the unit."""

    said: str
    typeset: Callable
    value: float
    unit: str

    @cached_property
    def latex(self) -> str:
        """The line typeset: formula or sum, numbers, result."""
        return self.typeset()

    def __str__(self):
        """The line as Markdown."""
        return f"{self.said}\n\n$${self.latex}$$"


def by_formula(said: str, id: str, values: Mapping[str, float], result: str | None = None) -> Worked:
    """A worked line by a formula of the register: formula, the same with the numbers in, result.

    values: {name: number}, angles in radians; ratios at 0 or 1 (no friction, on the track) are put in first, so that
    the reader sees the simple form. result: which one, where the formula has several. Angles come out in degrees.

    >>> by_formula("Lever:", "F5", {"torque": 168.0, "arm": 14.0}).value
    12.0
    """
    formula = formulas[id]
    found, expression = formula(**values), formula.expression
    result = result or next(iter(formula.results))
    if isinstance(expression, dict):
        found, expression = getattr(found, result), expression[result]
    unit = formula.results[result][1]
    value, unit = (np.degrees(found).item(), "deg") if unit == "rad" else (found, unit)

    def typeset():
        shown = (*_letters_and_numbers(formula, expression, values), _with_unit(value, unit))
        return _aligned(formula.letter(result), shown)

    return Worked(f"{said} ({id})", typeset, value, unit)


def _letters_and_numbers(formula, expression, values):
    """The expression as LaTeX, with its letters and with the numbers in their place."""
    import sympy as sp

    letters = formula.letters._asdict()
    ratios = [name for name, symbol in formula.symbols.items() if not symbol.unit and values[name] in (0, 1)]
    expression = plainest(expression.subs({letters[name]: values[name] for name in ratios}))
    numbers = {letter: _number(values[name], formula.symbols[name].unit) for name, letter in letters.items()}
    return [sp.latex(expression, symbol_names=names, inv_trig_style="full") for names in ({}, numbers)]


def product(said: str, symbol: str, first: float, second: float, unit: str) -> Worked:
    """A worked line that multiplies two numbers.

    >>> product("Force times arm:", "T", 12.0, 14.0, "N·mm").value
    168.0
    """
    return _by_hand(said, symbol, rf"{_number(first)} \cdot {_number(second)}", first * second, unit)


def quotient(said: str, symbol: str, top: float, bottom: float, unit: str) -> Worked:
    """A worked line that divides two numbers.

    >>> quotient("Share it out:", "x", 9.0, 2.0, "N").value
    4.5
    """
    return _by_hand(said, symbol, rf"\frac{{{_number(top)}}}{{{_number(bottom)}}}", top / bottom, unit)


def cubed(said: str, symbol: str, start: float, top: float, bottom: float, unit: str) -> Worked:
    """A worked line that scales a number by the cube of a ratio.

    >>> cubed("Twice as thick:", "k", 10.0, 2.0, 1.0, "N/mm").value
    80.0
    """
    ratio = rf"\left(\frac{{{_number(top)}}}{{{_number(bottom)}}}\right)"
    return _by_hand(said, symbol, f"{_number(start)} {ratio}^3", start * (top / bottom) ** 3, unit)


def total(said: str, symbol: str, first: float, second: float, unit: str) -> Worked:
    """A worked line that adds two numbers, or takes one off.

    >>> total("Less the drag:", "T", 171.5, -3.0, "N·mm").value
    168.5
    """
    sign = "-" if second < 0 else "+"
    return _by_hand(said, symbol, f"{_number(first)} {sign} {_number(abs(second))}", first + second, unit)


def angle_of(said: str, symbol: str, function: str, value: float) -> Worked:
    r"""A worked line that finds the angle [deg] whose cosine ("cos") or tangent ("tan") is this.

    >>> angle_of("The angle of that cosine:", r"\varphi", "cos", 0.5).value
    60.0
    """
    angle = math.degrees({"cos": math.acos, "tan": math.atan}[function](value))
    return _by_hand(said, symbol, rf"\arc{function} {_number(value)}", angle, "deg")


def _by_hand(said, symbol, numbers, value, unit):
    return Worked(said, lambda: _aligned(symbol, (numbers, _with_unit(value, unit))), value, unit)


class Folded:
    """Paragraphs with formulas that open on a click; a viewer without HTML has them as Markdown."""

    def __init__(self, summary: str, paragraphs: Sequence[str]) -> None:
        """summary: what stands to be clicked at."""
        self.summary, self.paragraphs = summary, tuple(paragraphs)

    def __repr__(self):
        return "\n\n".join((f"{self.summary}:", *self.paragraphs))

    def _repr_html_(self):
        inside = "".join(f"<p>{in_html(each)}</p>" for each in self.paragraphs)
        return f'<details><summary style="cursor:pointer">{in_html(self.summary)}</summary>{inside}</details>'


def derivation(id: str, **at: float | str) -> None:
    """Show a formula, or a theorem, with its steps, letters and limits folded below it.

    at: inputs to put in beforehand, such as cos_chi=1 for a recess on the track, or the name of another input that it
    equals. What is put in makes every line shorter, so each is shown as its plainest form.
    """
    import sympy as sp

    entry = formulas[id]
    theorem = isinstance(entry, Theorem)
    letter_of = entry.letters._asdict()
    put_in = {letter_of[name]: letter_of[value] if isinstance(value, str) else value for name, value in at.items()}

    def typeset(shown):
        shown = shown.subs(put_in)
        return sp.latex(plainest(shown) if at else shown, inv_trig_style="full")

    found = (
        [typeset(entry.expression)]
        if theorem
        else [f"{letter} = {typeset(shown)}" for letter, shown in entry.found.items()]
    )
    say(
        "\n\n".join(
            [
                f"**{id}: {entry.title}**",
                *([entry.statement] if theorem else []),
                *(
                    [f"Here {', '.join(f'${letter} = {sp.latex(value)}$' for letter, value in put_in.items())}."]
                    if at
                    else []
                ),
                *(f"$${each}$$" for each in found),
            ]
        )
    )
    steps = []
    for step in entry.steps:
        shown = step.shown if isinstance(step.shown, (list, tuple)) else [step.shown]
        steps += [step.said, *(f"$${typeset(each)}$$" for each in shown)]
    letters = [] if theorem else [f"${entry.letter(name)}$ {said}" for name, (said, _) in entry.results.items()]
    letters += [f"${symbol.latex}$ {symbol.meaning}" for symbol in entry.symbols.values()]
    told = [*steps, f"Letters: {'; '.join(letters)}.", f"Holds for: {entry.assumptions}."]
    display(Folded(f"How {id} comes about, and what its letters mean", told))


def worked(id: str, result: str | None = None, **values: float) -> None:
    """Show one worked line of a formula: `worked("L1", "phi", rim_gap=0.55, ball_radius=0.79375)`."""
    formula = formulas[id]
    say(str(by_formula(f"{formula.title[0].upper()}{formula.title[1:]}.", id, values, result)))


def plainest(shown: "Basic") -> "Basic":
    """The shortest way to write it without a minus in front, each side of an equation for itself.

    Contact angles are below 90°, so their cosines are positive.
    """
    import sympy as sp

    if shown.is_Relational:
        return shown.func(plainest(shown.lhs), plainest(shown.rhs), evaluate=False)
    simple = sp.simplify(shown).replace(
        lambda part: isinstance(part, sp.Abs) and isinstance(part.args[0], sp.cos), lambda part: part.args[0]
    )
    ways = [sp.simplify(simple), sp.factor(shown), shown]
    if shown.is_Add:
        ways.append(sp.Add(*map(plainest, shown.args)))
    return min(map(_minus_below, ways), key=lambda way: sp.count_ops(way) + 5 * way.could_extract_minus_sign())


def _minus_below(shown):
    """A fraction with a minus in front, with that minus in the sum below its line."""
    import sympy as sp

    top, bottom = sp.fraction(shown)
    return -top / sp.expand(-bottom) if top.could_extract_minus_sign() and bottom.is_Add else shown


def _aligned(symbol, lines):
    return rf"\begin{{aligned}}{symbol} &= " + r" \\ &= ".join(lines) + r"\end{aligned}"


def _number(value, unit=""):
    if unit == "rad":
        said = f"{np.degrees(value):.5g}^\\circ"
    else:
        said = f"{value:.0f}" if 1e4 <= abs(value) < 1e7 else f"{value:.5g}"
    return rf"\left({said}\right)" if value < 0 else said


def _with_unit(value, unit):
    if unit == "deg":
        return f"{value:.4g}^\\circ"
    return f"{value:.4g}" + (rf"\,\mathrm{{{unit}}}" if unit else "")


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
        notes = (
            f'<p style="margin:6px 0 0 0"><b>{in_html(heading)}</b></p><ul style="margin:0">{_cells("li", said)}</ul>'
            for heading, said in self.notes
        )
        shown = "".join(f"<tr>{row}</tr>" for row in table)
        return f'<table>{shown}</table><div style="line-height:1.35">{"".join(notes)}</div>'


def _cells(tag, texts):
    return "".join(f'<{tag} style="text-align:left">{in_html(text)}</{tag}>' for text in texts)


def headline(*knives: Knife, titles: Sequence[str] | None = None, drawn: Sequence[Cloud] | None = None) -> Headline:
    """The numbers to read first, each with its ± or both its ends: break force, let-back, barrier …; a Headline.

    One knife: with what most of each ± comes from. Several: side by side, under `titles` if given. Below stand what to
    look at, which ball carries, what was assumed, what is usual, and what the numbers leave out. drawn: the cloud of
    each knife by itself, where it is known already. Raises KnifeError for a knife that cannot work.
    """
    titles = tuple(titles or (str(knife.title) for knife in knives))
    drawn = drawn or [cloud(knife) for knife in knives]
    alone = len(knives) == 1
    table = [("", *titles, *(["± mostly from"] if alone else []))]
    figures = [_figures(knife, known) for knife, known in zip(knives, drawn, strict=True)]
    for result, name, _ in _HEADLINE:
        cells = [each[result] for each in figures]
        table.append((name, *(cells[0] if alone else (figure for figure, _ in cells))))
    told = [_told(knife, known) for knife, known in zip(knives, drawn, strict=True)]
    notes = ((heading, gathered(titles, [each[heading] for each in told])) for heading in told[0])
    return Headline(tuple(table), tuple((heading, lines) for heading, lines in notes if lines))


def _figures(knife, drawn):
    """{result: (the number with its ±, what most of the ± comes from)} in words."""
    known = budgets(knife, [result for result, *_ in _HEADLINE if gives(drawn, result)], drawn)
    return {result: _figure(knife, known.get(result), unit) for result, _, unit in _HEADLINE}


def _figure(knife, budget, unit):
    """(one number with its ±, what most of the ± comes from) in words; budget: None where the number is not given."""
    if budget is None:
        return "not given", ""
    if budget.largest is None:
        return MM.say(budget.value, unit), "no ± given"
    by_itself = f"±{abs(budget.shares[budget.largest]):.2g}{behind(unit)}"
    return budget.interval.said(unit), f"{name_of(budget.largest, knife)} ({by_itself} by itself)"


def _told(knife, drawn):
    """{heading: sentences} of what stands below the numbers of one knife."""
    felt, lost = feel(knife), drawn.lost.items()
    gone = f"{drawn.allowed} cannot work"
    return {
        "Look at this": (
            *felt.flags,
            *(f"{share_said(part, drawn.n)} {gone} ({why}) and is left out of each ±" for why, part in lost),
        ),
        "Which ball carries": _carries(drawn),
        "Assumed, as nobody measured it": ("; ".join(assumed_words(knife)),) if knife.assumed else (),
        "Left out of these numbers": felt.left_out,
        WHAT_IS_USUAL: _usual(),
    }


def carriers(drawn: Cloud) -> list[float]:
    """For each ball the share of what its card allows in which it carries at rest; [] where no two share a bar."""
    (knife,) = drawn.knives
    if not shares_a_bar(knife):
        return []
    return [drawn.share(drawn.felt().values[f"ball {i + 1} at rest"]) for i in range(len(knife.balls))]


def carriers_said(drawn: Cloud) -> str:
    """The same in words; "" where no two balls share a bar."""
    shares = ", ".join(f"ball {i} in {share_said(part, drawn.n)}" for i, part in enumerate(carriers(drawn), 1))
    return f"{shares} {drawn.allowed}" if shares else ""


def _carries(drawn):
    """Which ball of a bar carries at rest, in what share of what the card allows, and how far the idle one is clear."""
    told = carriers_said(drawn)
    if not told:
        return ()
    clear = drawn.interval(drawn.column("idle_clearance")).said("mm")
    return (f"carries at rest: {told}; the one that is idle hangs clear by {clear}",)


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
