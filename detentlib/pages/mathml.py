"""Formulas on a page without LaTeX: sympy expressions as MathML, with letters or with the numbers in their place."""

import re
import unicodedata
from functools import cache
from typing import TYPE_CHECKING

from ..derivations.typeset import PlusFirst
from ..knife.plain import in_html

if TYPE_CHECKING:
    from sympy import Basic

_NAMES = {"varphi": "φ", "lambda": "λ", "ell": "ℓ", "cos": "cos ", "tan": "tan "}


def formula(expression: "Basic", numbers: dict | None = None) -> str:
    """One sympy expression as the inside of a MathML element; numbers: {symbol: text} to stand in place of symbols.

    >>> import sympy
    >>> b, R = sympy.symbols("b R")
    >>> formula(b / R), formula(b / R, {b: "0.6", R: "1"})
    ('<mrow><mfrac><mi>b</mi><mi>R</mi></mfrac></mrow>', '<mrow><mfrac><mn>0.6</mn><mn>1</mn></mfrac></mrow>')
    """
    return (
        _printer()(numbers or {}, {"mul_symbol": "dot", "inv_trig_style": "full"})
        .doprint(expression)
        .replace("<mo>-</mo>", "<mo>−</mo>")
    )


def letter(latex: str) -> str:
    r"""A letter of the register, with its index, as MathML.

    >>> letter(r"\psi_r"), letter(r"\Delta\theta"), letter("L_{<}")
    ('<msub><mi>ψ</mi><mi>r</mi></msub>', '<mi>Δθ</mi>', '<msub><mi>L</mi><mi>&lt;</mi></msub>')
    """
    return _printer()({}, {}).lettered(latex).toxml()


def lines(left: str, rights: list) -> str:
    """A MathML block of lines that are equal to each other: left = first, = second, …; all given as MathML."""
    rows = [
        f"<mtr><mtd>{left if i == 0 else ''}</mtd><mtd><mo>=</mo></mtd><mtd>{right}</mtd></mtr>"
        for i, right in enumerate(rights)
    ]
    return f'<math displaystyle="true"><mtable>{"".join(rows)}</mtable></math>'


def amount(number: str, unit: str) -> str:
    """A number and its unit, as MathML.

    >>> amount("49.15", "deg")
    '<mrow><mn>49.15</mn><mi>°</mi></mrow>'
    >>> amount("12.04", "N")
    '<mrow><mn>12.04</mn><mspace width="0.25em"></mspace><mtext>N</mtext></mrow>'
    """
    if unit == "deg":
        return f"<mrow><mn>{number}</mn><mi>°</mi></mrow>"
    space = f'<mspace width="0.25em"></mspace><mtext>{in_html(unit)}</mtext>' if unit else ""
    return f"<mrow><mn>{number}</mn>{space}</mrow>"


@cache
def _printer():
    """The printer of sympy with the letters of the register; sympy is loaded here, when a page is written."""
    from sympy import Symbol
    from sympy.printing.mathml import MathMLPresentationPrinter

    class Printer(PlusFirst, MathMLPresentationPrinter):
        def __init__(self, numbers, settings):
            super().__init__(settings)
            self.numbers = numbers

        def _print_Symbol(self, sym, style="plain"):
            if sym not in self.numbers:
                return self.lettered(sym.name)
            number = self.dom.createElement("mn")
            number.appendChild(self.dom.createTextNode(self.numbers[sym]))
            return number

        def lettered(self, latex):
            """A letter of the register, without its LaTeX, as sympy reads it."""
            return super()._print_Symbol(Symbol(_plain(latex)))

    return Printer


def _plain(latex):
    """A letter of the register without its LaTeX, its index still behind _ or ^."""
    bare = re.sub(r"\\mathrm\{([^{}]*)\}", r"\1", latex).replace(r"\ ", " ").replace("'", "′")
    return in_html(re.sub(r"\\([A-Za-z]+)", _greek, bare).replace("{", "").replace("}", "").strip())


def _greek(command):
    """The character, or the word, that a command of LaTeX stands for."""
    name = command[1]
    size = "CAPITAL" if name[0].isupper() else "SMALL"
    return _NAMES.get(name) or unicodedata.lookup(f"GREEK {size} LETTER {name.upper()}")
