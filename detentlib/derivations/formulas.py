"""The register of formulas: each derived once by sympy from a stated balance, evaluated by a cached numpy function.

`formulas["F2"](phi=0.8, mu=0.12, cos_chi=1.0)` evaluates by ID; theorems stand beside them, proved and not evaluated.
The derivations stand in the folder derivations. Angles are in radians here, all else in mm, N, N·mm, MPa, g. Frames and
signs: figures/signs.svg.
"""

import math
from collections import namedtuple
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from numbers import Real
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn

import numpy as np

from ..knife.checks import refuse, short
from ..knife.values import Values

if TYPE_CHECKING:
    from sympy import Basic

_LARGEST = 10**300  # a whole number beyond it is none to reckon with
_ROOMS = ("lift", "bar", "carry", "force", "contact", "motion")


class Symbol(NamedTuple):
    """A letter of a formula: the name used in calls, what it means, its unit, and how it is typeset.

    sign: what it may be, "positive", "not negative" or "any"; sympy simplifies by that.
    """

    name: str
    meaning: str
    unit: str
    latex: str
    sign: str = "positive"


class Step(NamedTuple):
    """One step of a derivation: a sentence, and the sympy expression or equation that it leads to."""

    said: str
    shown: object


@dataclass(eq=False, repr=False, kw_only=True)
class Entry:
    """What formulas and theorems have in common: words, letters and a derivation that runs at first use.

    id, title, symbols (by name), assumptions (where it holds) and source say what it is. `expression` is what `derive`
    derived, in sympy; `steps` the derivation to show.
    """

    derive: Callable
    id: str
    title: str
    symbols: Mapping[str, Symbol]
    assumptions: str
    source: str

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<{type(self).__name__} {self.id}: {self.title}>"

    @property
    def module(self) -> str:
        """The module in which it is derived."""
        return Path(self.derive.__code__.co_filename).stem

    @cached_property
    def letters(self) -> Any:
        """The sympy symbols of the inputs, as attributes by name."""
        import sympy as sp

        kinds = {"positive": {"positive": True}, "not negative": {"nonnegative": True}, "any": {"real": True}}
        made = [sp.Symbol(symbol.latex, **kinds[symbol.sign]) for symbol in self.symbols.values()]
        return namedtuple("Letters", self.symbols)(*made)

    @cached_property
    def _derived(self):
        steps = []
        expression = self.derive(self.letters, lambda said, shown: steps.append(Step(said, shown)))
        return expression, tuple(steps)

    @property
    def expression(self) -> "Basic | dict[str, Basic]":
        """The derived result: one sympy expression, or a dict of them by result name."""
        return self._derived[0]

    @property
    def steps(self) -> tuple[Step, ...]:
        """The derivation as (sentence, expression) pairs."""
        return self._derived[1]


@dataclass(eq=False, repr=False, kw_only=True)
class Formula(Entry):
    """One formula of the register.

    Beside what every Entry has: results ({name: (meaning, unit)}), and own_letters ({name: LaTeX}). `expression` is
    the derived sympy expression, or a dict of them by result name. Calling it with numbers or arrays that broadcast
    evaluates it.

    >>> formulas["F2"](phi=0.0, mu=0.12, cos_chi=1.0)
    0.12
    >>> formulas["F2"](phi=0.5, cos_chi=1.0)
    Traceback (most recent call last):
    TypeError: F2 (torque with friction per newton and millimetre) needs phi, mu, cos_chi: mu is missing
    """

    results: Mapping[str, tuple[str, str]]
    own_letters: Mapping[str, str]

    @cached_property
    def _several(self):
        """Whether the results have names."""
        return isinstance(self.expression, dict)

    @cached_property
    def _function(self):
        import sympy as sp

        named = {letter: sp.Symbol(name) for name, letter in self.letters._asdict().items()}
        exprs = [expr.xreplace(named) for expr in (self.expression.values() if self._several else [self.expression])]
        modules = ["numpy"]
        if any(expr.has(sp.elliptic_k, sp.elliptic_e) for expr in exprs):
            from scipy.special import ellipe, ellipk

            modules.insert(0, {"elliptic_k": ellipk, "elliptic_e": ellipe})
        return sp.lambdify(tuple(named.values()), exprs, modules=modules, cse=True)

    def __call__(self, **values: Values) -> Any:
        """Evaluate with every input named; arrays broadcast; several results come back as named fields.

        Raises TypeError for inputs that are missing or not its own, ValueError for one that is no number, for arrays
        that do not go together, and where single numbers come to none; of arrays such a place is nan or inf.
        """
        if values.keys() != self.symbols.keys():
            missing, unknown = (
                [name for name in one if name not in other]
                for one, other in ((self.symbols, values), (values, self.symbols))
            )
            said = (
                f"needs {', '.join(self.symbols)}: {missing[0]} is missing"
                if missing
                else f"takes {', '.join(self.symbols)}, not {', '.join(unknown)}"
            )
            raise TypeError(f"{self.id} ({self.title}) {said}")
        for name, value in values.items():
            if not _is_number(value):
                meaning = f"It is the {self.symbols[name].meaning}."
                raise refuse(f"{self.id} {name}", value, "is not a number", meaning, "Give one, or an array of them.")
        if any(getattr(value, "ndim", 0) for value in values.values()):
            found = self._of_arrays(values)
        else:
            found = self._of_numbers(values)
        return self._shape(*found) if self._several else found[0]

    @cached_property
    def _shape(self):
        """The named fields in which several results come back."""
        return namedtuple(self.id, self.results)

    def _of_arrays(self, values):
        """The results of arrays; a ValueError where their shapes differ."""
        alike = {name: value if isinstance(value, np.ndarray) else np.float64(value) for name, value in values.items()}
        try:
            np.broadcast(*alike.values())
        except ValueError:
            shapes = ", ".join(f"{name} {np.shape(value)}" for name, value in alike.items() if np.shape(value))
            raise ValueError(f"{self.id} ({self.title}): arrays of the shapes {shapes} do not go together") from None
        with np.errstate(all="ignore"):
            found = self._function(**alike)
        # a 0-d result as float, so that prints stay plain
        return [value if getattr(value, "ndim", 0) else float(value) for value in found]

    def _of_numbers(self, values):
        """The results of single numbers; a ValueError where they are none."""
        try:
            with np.errstate(all="ignore"):
                found = [float(value) for value in self._function(**values)]
        except (ArithmeticError, TypeError):  # beyond what a number holds, or off the line of real numbers
            found = [np.nan] * len(self.results)
        # in the middle of a recess a distance has no direction: one result of several may be none
        if not any(map(math.isfinite, found)) and all(map(math.isfinite, values.values())):
            said = ", ".join(f"{name} = {value:g}" for name, value in values.items())
            cure = "Check the unit of each, and that angles are in radians."
            raise ValueError(f"{self.id} ({self.title}) comes to no number with {said}. {cure}")
        return found

    def letter(self, result: str) -> str:
        """The letter of a result, as LaTeX."""
        return self.own_letters.get(result) or _typeset(result)

    @property
    def found(self) -> dict[str, "Basic"]:
        """The derived expressions by the letter of their result."""
        several = self.expression if self._several else {next(iter(self.results)): self.expression}
        return {self.letter(name): value for name, value in several.items()}


def _is_number(value):
    """Whether a value is a number or an array of them."""
    if type(value) is float:
        return True
    if isinstance(value, np.ndarray):
        return value.dtype.kind in "iuf" and not isinstance(value, np.ma.MaskedArray)
    whole = isinstance(value, int) and abs(value) > _LARGEST
    return isinstance(value, Real) and not isinstance(value, (bool, np.bool_)) and not whole


@dataclass(eq=False, repr=False, kw_only=True)
class Theorem(Entry):
    """A theorem of the register: a relation that holds whatever the numbers are, proved step by step.

    Beside what every Entry has: statement, in words. `expression` is the relation; no number comes out of it.

    >>> formulas["E2"]
    <Theorem E2: a second ball that is idle on the flat, and the barrier>
    >>> formulas["E2"]()
    Traceback (most recent call last):
    TypeError: E2 (a second ball that is idle on the flat, and the barrier) is a theorem: ...
    """

    statement: str

    def __call__(self, **values: Values) -> NoReturn:
        """There is nothing to evaluate: a TypeError that says so."""
        raise TypeError(
            f'{self.id} ({self.title}) is a theorem: no number comes out of it; derivation("{self.id}") shows it'
        )


_LETTERS = {
    "sink": "s",
    "gap": "g",
    "demand": "g",
    "distance": "d",
    "phi": r"\varphi",
    "phi_1": r"\varphi_{1}",
    "phi_2": r"\varphi_{2}",
    "slope": r"\tan\varphi",
    "theta": r"\theta",
    "off_track": "c",
    "cos_chi": r"\cos\chi",
    "across": "s",
    "reach": "d_c",
    "lower": "s_c",
    "compliance": "C",
    "twist_constant": "J",
    "rate": "k",
    "psi": r"\psi",
    "kappa": r"\kappa",
    "moment": "M",
    "side_compliance": "C_s",
    "kappa_side": r"\kappa_s",
    "omega": r"\omega",
    "take_up": r"\Delta\theta",
    "loaded_offset": "d_N",
    "shift": "q",
    "load": "N",
    "load_1": "N_{1}",
    "load_2": "N_{2}",
    "torque": "T",
    "force": "F",
    "mu": r"\mu",
    "travel": "x",
    "rim_lead": r"e_{\mathrm{touch}}",
    "energy": "U",
    "work": "W",
    "modulus": "E^*",
    "squash": r"\delta",
    "radius": "a_H",
    "pressure": r"\sigma_H",
    "stress": r"\sigma",
    "turn": r"\Delta\theta",
    "acceleration": r"\ddot\theta",
}


def _typeset(name):
    """The letter of a result; a name without a letter is set in words."""
    return _LETTERS.get(name, rf"\mathrm{{{name.replace('_', chr(92) + ' ')}}}")


class Register(Mapping):
    """All formulas and theorems by ID, loaded and derived when first asked for; an unknown ID names those that
    exist.
    """

    def __init__(self) -> None:
        """Start empty; derivations enter themselves through `formula`."""
        self._all = {}

    def enter(self, entry: Entry) -> None:
        """Take in a formula or theorem; ValueError where another one has its ID."""
        there = self._all.setdefault(entry.id, entry)
        if there.title != entry.title:
            raise ValueError(
                f"{entry.id} ({entry.title}) has the ID of another formula: {there.title}. Give it a new one"
            )

    def _load(self):
        for room in _ROOMS:
            import_module(f".{room}", __package__)
        return self._all

    def __getitem__(self, id: str) -> Formula | Theorem:
        """The Formula or Theorem with this ID."""
        found = (self._all.get(id) or self._load().get(id)) if isinstance(id, str) else None
        if found is None:
            raise KeyError(f"no formula {short(id)}; known: {', '.join(self._all)}")
        return found

    def __iter__(self) -> Iterator[str]:
        """IDs in the order of the register."""
        return iter(self._load())

    def __len__(self) -> int:
        """How many there are."""
        return len(self._load())


formulas = Register()


def formula(
    id: str,
    title: str,
    symbols: Iterable[Symbol],
    results: Mapping[str, tuple[str, ...]],
    assumptions: str,
    source: str = "derived here from the stated balance",
) -> Callable[[Callable], Callable]:
    """Enter a derivation in the register: decorates derive(letters, step) -> expression or dict by result name.

    id: a new one; what was taken out of the register leaves its gap. letters: the Symbols by name; step(said, shown)
    keeps a sentence with the expression or equation that it leads to. results: {name: (meaning, unit)}, with a letter
    as third where the one of _LETTERS is taken by an input; without either the name is set in words. Raises ValueError
    for an ID that another formula has.
    """
    return _entering(
        Formula,
        symbols,
        id=id,
        title=title,
        results={name: told[:2] for name, told in results.items()},
        own_letters={name: told[2] for name, told in results.items() if len(told) > 2},
        assumptions=assumptions,
        source=source,
    )


def theorem(
    id: str, title: str, statement: str, symbols: Iterable[Symbol], assumptions: str, source: str
) -> Callable[[Callable], Callable]:
    """Enter a proof in the register: decorates prove(letters, step) -> relation."""
    return _entering(Theorem, symbols, id=id, title=title, statement=statement, assumptions=assumptions, source=source)


def _entering(kind, symbols, **told):
    def enter(derive):
        formulas.enter(kind(derive=derive, symbols={symbol.name: symbol for symbol in symbols}, **told))
        return derive

    return enter
