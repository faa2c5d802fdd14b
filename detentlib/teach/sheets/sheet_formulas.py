"""Formulas of the register printed as JavaScript, for a page that computes without Python."""

from ...mechanics.formulas import formulas


def javascript(ids):
    """One object F whose functions are the formulas of these IDs: F.B4({gap, parallel_gap, hinge_distance}).

    Inputs are named as in `formulas`; a formula with several results gives an object of them. Printed from the same
    sympy expressions that the library evaluates. Raises KeyError for an unknown ID, TypeError for a formula that has
    no plain form (an elliptic integral).

    >>> print(javascript(["B4"]))
    const F = {
    // bar angle that a ball demands
    B4({gap, parallel_gap, hinge_distance}) {
    return (gap - parallel_gap)/hinge_distance;
    },
    };
    """
    return "\n".join(["const F = {", *(_function(formulas[id]) for id in ids), "};"])


def _function(formula):
    """One formula as a method, what its parts have in common computed once."""
    import sympy as sp

    if not formula.id.isidentifier():
        raise TypeError(f"{formula.id} is no name of a function")
    # the typeset letters are no names; the assumptions about them stay, or roots would come apart again
    named = {letter: sp.Symbol(name, **letter.assumptions0) for name, letter in formula.letters._asdict().items()}
    found = formula.expression
    several = isinstance(found, dict)
    shared, results = sp.cse([expr.xreplace(named) for expr in (found.values() if several else [found])], symbols=sp.numbered_symbols("part"))
    lines = [f"const {symbol} = {_code(expr, formula)};" for symbol, expr in shared]
    codes = [_code(expr, formula) for expr in results]
    value = f"{{{', '.join(f'{name}: {code}' for name, code in zip(found, codes, strict=True))}}}" if several else codes[0]
    return "\n".join([f"// {formula.title}", f"{formula.id}({{{', '.join(formula.symbols)}}}) {{", *lines, f"return {value};", "},"])


def _code(expr, formula):
    import sympy as sp

    try:
        return sp.jscode(expr)
    except NotImplementedError as error:
        raise TypeError(f"{formula.id} ({formula.title}) has no plain form in JavaScript") from error
