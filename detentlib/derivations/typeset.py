"""Formulas as people write them: in a sum what is added stands before what is taken off, and no product begins with a
minus that a sum inside it can take.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sympy import Basic


class PlusFirst:
    """Beside a printer of sympy: it then writes F₂ − F₁ for −F₁ + F₂, and N(1 − x) for −N(x − 1)."""

    def _as_ordered_terms(self, expr, order=None):
        return sorted(super()._as_ordered_terms(expr, order), key=_taken_off)

    def _print_Mul(self, expr):
        return super()._print_Mul((_taken_off(expr) and _turned(-expr)) or expr)


def latex(shown: "Basic", **options: Any) -> str:
    r"""A sympy expression as LaTeX; options: as of sympy's printer.

    >>> from sympy import symbols
    >>> a, b, c = symbols("a b c", positive=True)
    >>> latex((b - a) / c), latex(-c * (a - b))
    ('\\frac{b - a}{c}', 'c \\left(b - a\\right)')
    """
    from sympy.printing.latex import LatexPrinter

    printer = type("_Latex", (PlusFirst, LatexPrinter), {})
    return printer({"inv_trig_style": "full", **options}).doprint(shown)


def _taken_off(part):
    return bool(part.as_coeff_Mul()[0].is_negative)


def _turned(part):
    """The same with the other sign, by turning a difference in it round; None where there is none."""
    import sympy as sp

    if part.is_Add:
        return -part if any(map(_taken_off, part.args)) else None
    if isinstance(part, (sp.sin, sp.tan, sp.asin, sp.atan)) or (part.is_Pow and part.exp == -1):
        inside = _turned(part.args[0])
        return inside and part.func(inside, *part.args[1:], evaluate=False)
    if part.is_Mul:
        for factor in part.args:
            turned = _turned(factor)
            if turned:
                return sp.Mul(*(turned if each is factor else each for each in part.args), evaluate=False)
    return None
