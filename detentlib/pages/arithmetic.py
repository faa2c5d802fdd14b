"""A sheet of arithmetic in the making: each line with its formula, the same with the numbers in, and the result."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..derivations.formulas import formulas
from ..knife.plain import true_minus
from ..say.working import plainest
from . import mathml

_BAR_ANGLES = ("psi", "psi_ride", "psi_ball")  # small angles that multiply: radians by hand too
_MULTIPLIED = (*_BAR_ANGLES, "omega")  # found in degrees, beside the angle of the blade
_ROOM = '<mspace width="14em"></mspace>'
_ROUNDING = 1e-8  # mm, N or rad: no knife has anything as small
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


@dataclass(frozen=True)
class Line:
    """One line of arithmetic: what it finds, the formula with its letters, the numbers, the result.

    id: of the formula in the register, "" for a plain sum. letter: of the result, as the register writes it.
    expression: sympy; numbers: {symbol: (value, unit)}; value in `unit`, angles in degrees but for bar angles.
    """

    said: str
    id: str
    letter: str
    expression: object
    numbers: dict
    value: float
    unit: str

    def math(self, filled: bool = True) -> str:
        """The line as MathML: formula, the same with the numbers in, result; or room to write the last two by hand."""
        left, known = mathml.letter(self.letter), self.expression.free_symbols
        shown = [mathml.formula(self.expression)] if known else []
        if not filled:
            room = [_ROOM] if known else []
            return mathml.lines(
                left, [*shown, *room, f'<mrow><mspace width="7em"></mspace>{mathml.amount("", self.unit)}</mrow>']
            )
        if known and not self.expression.is_Symbol:
            shown.append(
                mathml.formula(self.expression, {symbol: _inside(*number) for symbol, number in self.numbers.items()})
            )
        return mathml.lines(left, [*shown, mathml.amount(said(self.value), self.unit)])


@dataclass(frozen=True)
class Sentence:
    """Words between the lines; each {} stands for one of the results."""

    words: str
    results: tuple = ()

    def text(self, filled: bool = True) -> str:
        """The sentence with its results, or with room to write them."""
        return self.words.format(*self.results if filled else ("____",) * len(self.results))


@dataclass(frozen=True)
class Part:
    """A stretch of the arithmetic under one heading, a Sentence: Line and Sentence in order."""

    heading: Sentence
    lines: tuple


def said(value: float) -> str:
    """A number as it is written in the arithmetic, with five digits; what is left of rounding is 0.

    >>> said(0.60041), said(-3.0), said(113800.0), said(2e-6), said(-3.4e-13)
    ('0.60041', '−3', '113800', '2·10⁻⁶', '0')
    """
    value = value if abs(value) > _ROUNDING else 0.0
    plain = f"{value:.0f}" if 1e4 <= abs(value) < 1e7 else f"{value:.5g}"
    number, _, power = plain.partition("e")
    return true_minus(number + (f"·10{str(int(power)).translate(_RAISED)}" if power else ""))


def _inside(value, unit):
    """A number inside a formula: ° behind an angle, brackets round what is below zero."""
    shown = said(value) + ("°" if unit == "deg" else "")
    return f"({shown})" if value < 0 else shown


class Sheet:
    """Parts and lines in the making; what is written down goes under the last heading."""

    def __init__(self):
        """An empty sheet."""
        self._parts, self._once = [], set()

    def done(self) -> tuple[Part, ...]:
        """All that was written down: (Part, …)."""
        return tuple(Part(heading, tuple(lines)) for heading, lines in self._parts)

    def head(self, words: str, *results: object) -> None:
        """Begin a new part; each {} of the words stands for one of the results."""
        self._parts.append((Sentence(words, results), []))

    def say(self, words: str, *results: object) -> None:
        """A sentence; each {} of the words stands for one of the results."""
        self._parts[-1][1].append(Sentence(words, results))

    def by(
        self,
        id: str,
        sentence: str,
        values: Mapping[str, float],
        result: str | None = None,
        letter: str | None = None,
        renamed: Mapping[str, str] | None = None,
        plain: bool = False,
    ) -> float:
        """A line by a formula of the register; gives its result in the unit of the library.

        renamed: {input: its letter here}. plain: in its plainest form, where the register's is too long for a sheet.
        """
        formula = formulas[id]
        result = result or next(iter(formula.results))
        with np.errstate(
            invalid="ignore", divide="ignore"
        ):  # L2 asks for a share that a ball in the middle does not have
            found = formula(**values)
        found = getattr(found, result) if isinstance(formula.expression, dict) else found
        symbols = formula.letters._asdict() | {
            name: type(formula.letters[0])(own) for name, own in (renamed or {}).items()
        }
        expression = formula.expression[result] if isinstance(formula.expression, dict) else formula.expression
        expression = expression.subs({getattr(formula.letters, name): symbols[name] for name in renamed or ()})
        nothing = {
            name: values[name]
            for name, symbol in formula.symbols.items()
            if values[name] == 0 or (values[name] == 1 and not symbol.unit)
        }
        expression = expression.subs({symbols[name]: int(value) for name, value in nothing.items()})
        expression = _without_bars(expression, {symbols[name]: value for name, value in values.items()})
        expression = _shortest(expression) if nothing or renamed or plain else expression
        numbers = {
            symbols[name]: _for_people(values[name], formula.symbols[name].unit, name in _MULTIPLIED)
            for name in formula.symbols
        }
        value, unit = _for_people(found, formula.results[result][1], result in _BAR_ANGLES)
        self._parts[-1][1].append(
            Line(sentence, id, letter or formula.letter(result), expression, numbers, value, unit)
        )
        return found

    def once(
        self, key: object, sentence: str, letter: str, written: Callable, numbers: Mapping[str, tuple], unit: str
    ) -> float:
        """A sum that is written down only the first time; gives its result."""
        if key in self._once:
            return written(*(value for value, _ in numbers.values()))
        self._once.add(key)
        return self.sum(sentence, letter, written, numbers, unit)

    def sum(self, sentence: str, letter: str, written: Callable, numbers: Mapping[str, tuple], unit: str) -> float:
        """A plain sum: written gives a - d for its letters, numbers are {letter: (value, unit)}; gives its result."""
        import sympy as sp

        symbols = {name: sp.Symbol(name, positive=True) for name in numbers}
        expression = written(*symbols.values())
        value = float(expression.subs({symbols[name]: number for name, (number, _) in numbers.items()}))
        self._parts[-1][1].append(
            Line(
                sentence,
                "",
                letter,
                expression,
                {symbols[name]: number for name, number in numbers.items()},
                value,
                unit,
            )
        )
        return value


def _for_people(value, unit, multiplies):
    """A number as people put it into a calculator: angles in degrees, but those that multiply in radians."""
    if unit == "rad" and not multiplies:
        return float(np.degrees(value)), "deg"
    return float(value), unit


@lru_cache(maxsize=512)
def _shortest(expression):
    """The plainest form of an expression; kept, as a hand-out asks for the same few again and again."""
    return plainest(expression)


def _without_bars(expression, values):
    """The root of x², and |x|, as x or −x, whichever it is here."""
    import sympy as sp

    def is_root_of_square(part):
        return part.is_Pow and abs(2 * part.exp) == 1 and part.base.is_Pow and part.base.exp == 2

    bars = expression.replace(is_root_of_square, lambda part: sp.Abs(part.base.base) ** (2 * part.exp))
    return bars.replace(sp.Abs, lambda inner: inner if inner.subs(values) >= 0 else -inner)
