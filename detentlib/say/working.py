"""The arithmetic in words: worked lines, and derivations step by step.

What a notebook prints here is the same on every run, so that it can be compared.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from IPython.display import display

from ..derivations.formulas import Theorem, formulas
from ..derivations.typeset import latex
from ..knife.plain import in_html, wrapped

if TYPE_CHECKING:
    from sympy import Basic

_WIDTH = 66  # characters of a printed line: beside its file browser a window of 1,000 px shows 68 of it
_DIGITS = 4  # of a number in a formula, such as that of gravity
_AT_A_GLANCE = 8  # signs of reckoning in a result that stands open; beyond that it is a wall to who has no algebra


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
    """Print lines, long ones wrapped between words, never within a number or before its unit."""
    for line in lines:
        print("\n".join(wrapped(line, _WIDTH, 3)))


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
    letters = formula.letters._asdict()
    ratios = [name for name, symbol in formula.symbols.items() if not symbol.unit and values[name] in (0, 1)]
    expression = plainest(expression.subs({letters[name]: values[name] for name in ratios}))
    numbers = {letter: _number(values[name], formula.symbols[name].unit) for name, letter in letters.items()}
    return [latex(expression, symbol_names=names) for names in ({}, numbers)]


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


def tangent(said: str, symbol: str, angle: float, more: float = 0.0) -> Worked:
    r"""A worked line that takes the tangent of an angle [deg], or of its sum with another, which may be below zero.

    >>> round(tangent("As steep as this:", r"\tan(\varphi - \lambda)", 50.0, -5.0).value, 12)
    1.0
    """
    angles = rf"\tan {_number(angle)}^\circ"
    if more:
        angles = rf"\tan({_number(angle)}^\circ {'-' if more < 0 else '+'} {abs(more):.4g}^\circ)"
    return _by_hand(said, symbol, angles, math.tan(math.radians(angle + more)), "")


def angle_of(said: str, symbol: str, function: str, value: float) -> Worked:
    r"""A worked line that finds the angle [deg] whose sine ("sin"), cosine ("cos") or tangent ("tan") is this.

    >>> angle_of("The angle of that cosine:", r"\varphi", "cos", 0.5).value
    60.0
    """
    angle = math.degrees({"sin": math.asin, "cos": math.acos, "tan": math.atan}[function](value))
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
    """Show a formula, or a theorem in its words, with steps, letters and limits folded below it; what is not seen at a
    glance is folded with them.

    at: inputs to put in beforehand, such as cos_chi=1 for a recess on the track, or the name of another input that it
    equals. What is put in makes every line shorter, so each is shown as its plainest form.
    """
    import sympy as sp

    entry = formulas[id]
    theorem = isinstance(entry, Theorem)
    letter_of = entry.letters._asdict()
    put_in = {letter_of[name]: letter_of[value] if isinstance(value, str) else value for name, value in at.items()}

    def put(shown):
        shown = shown.subs(put_in)
        shown = shown.xreplace({number: sp.Float(number, _DIGITS) for number in shown.atoms(sp.Float)})
        return plainest(shown) if at else shown

    found = {letter: put(shown) for letter, shown in ({"": entry.expression} if theorem else entry.found).items()}
    lines = [f"$${letter}{' = ' * bool(letter)}{latex(shown)}$$" for letter, shown in found.items()]
    glance = sum(map(sp.count_ops, found.values())) <= _AT_A_GLANCE
    say("\n\n".join([f"**{id}: {entry.title}**", *([entry.statement] if theorem else []), *(lines if glance else [])]))
    told = [] if glance else lines
    if at:
        equal = ", ".join(f"${letter} = {latex(sp.sympify(value))}$" for letter, value in put_in.items())
        told.append(f"Here {equal}.")
    for step in entry.steps:
        shown = step.shown if isinstance(step.shown, (list, tuple)) else [step.shown]
        told += [step.said, *(f"$${latex(put(each))}$$" for each in shown)]
    letters = [] if theorem else [f"${entry.letter(name)}$ {said}" for name, (said, _) in entry.results.items()]
    letters += [f"${symbol.latex}$ {symbol.meaning}" for symbol in entry.symbols.values()]
    told += [f"Letters: {'; '.join(letters)}.", f"Holds for: {entry.assumptions}."]
    fold = f"How {id} comes about, and what its letters mean" if glance else f"{id} in letters, step by step"
    display(Folded(fold, told))


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
