"""Problems and the checks of single fields: what every part of a knife is held to, and how a reader is told."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, Field, field, fields
from decimal import Decimal
from numbers import Real
from typing import Any, NamedTuple

from .units import convert, quantity, unit_named

_LONGEST = 60  # characters of a value that are shown


class Problem(NamedTuple):
    """One thing that is wrong: where, the value with its unit, what is wrong, why at the bench, what would be right."""

    where: str
    value: str
    wrong: str
    why: str
    cure: str

    def __str__(self):
        """One line for a person."""
        value = f" = {self.value}" if self.value else ""
        return " ".join(part for part in (f"{self.where}{value}: {self.wrong}.", self.why, self.cure) if part)

    def inside(self, owner: str) -> "Problem":
        """The same problem with the owner's path in front."""
        return self._replace(where=f"{owner}.{self.where}" if owner else self.where)


def refuse(name: str, given: object, wrong: str, why: str = "", cure: str = "") -> ValueError:
    """The ValueError on one argument: its name, what was given, what is wrong with it, why, what would be right."""
    return ValueError(str(Problem(name, short(given), wrong, why, cure)))


class KnifeError(ValueError):
    """A knife that cannot be, or cannot work; `problems` lists every reason found, not only the first."""

    def __init__(self, problems: Problem | Iterable[Problem], title: str = "") -> None:
        """Take one Problem or many; title says which knife or file."""
        try:
            self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        except TypeError:
            self.problems = (problems,)
        wrong = [each for each in self.problems if not isinstance(each, Problem)]
        if wrong:
            raise refuse("problems", wrong[0], "is no Problem", "A KnifeError is made of what is wrong with a knife.")
        lead = f"{title}: " if title else ""
        super().__init__("\n".join(lead + str(problem) for problem in self.problems))


class Typical(NamedTuple):
    """What is usual where nobody has measured: a middle value and the ± that spans the usual range."""

    value: float
    doubt: float


# what a number in this unit may have been meant in, the likeliest first
_SLIPS = {
    "mm": ("in", "thou", "µm", "m"),
    "N": ("kgf", "gf", "lbf", "ozf"),
    "N·mm": ("N·m", "lbf·in", "ozf·in"),
    "N/mm": ("N/m", "lbf/in"),
    "mm/N": ("µm/N",),
    "MPa": ("GPa", "Pa", "ksi", "psi"),
    "g": ("kg", "oz", "lb"),
    "g·mm²": ("kg·m²", "kg·mm²", "lb·in²", "g·cm²"),
    "deg": ("rad",),
    "": ("%",),
}
_ROUND = 360.0  # deg
_ASKED = {"in": "inches", "mm": "millimetres", "rad": "radians", "deg": "degrees", "%": "per cent"}
_PER_CENT = 0.01
_SMALLEST, _LARGEST = 1e-15, 1e15  # nothing here is beyond these, and powers of it are still numbers
_BEYOND = 100.0  # times smaller than what a knife has, from which on a length is that of no knife at all
ARM = ("in", "thou", "m")  # what a distance of centimetres may have been meant in


def number(
    meaning: str,
    unit: str,
    rule: str = "positive",
    default: object = MISSING,
    typical: Typical | None = None,
    sane: tuple[float, float] | None = None,
    slips: tuple[str, ...] | None = None,
) -> Any:
    """A number field. rule: positive, not negative, any, acute; sane: the widest range of sizes that a knife has.

    A size outside `sane` is refused where a slip of its unit would explain it (see `meant_unit`), and a length a
    hundred times smaller; slips: the units that it may have been meant in, the likeliest first, where they are not
    those usual for its unit.
    """
    data = {"meaning": meaning, "unit": unit, "rule": rule, "typical": typical, "sane": sane, "slips": slips}
    return field(metadata=data) if default is MISSING else field(default=default, metadata=data)


_RULES = {
    "positive": (lambda v: v > 0, "must be greater than zero"),
    "not negative": (lambda v: v >= 0, "must not be negative"),
    "any": (lambda v: True, ""),
    "acute": (lambda v: 0 < v < 90, "must lie between 0° and 90°"),
}


def short(value: object) -> str:
    """A value as it was given, on one line and short enough for a message."""
    return shortened(" ".join(repr(value).split()))


def shortened(said: str) -> str:
    """A text, short enough for a message."""
    return said if len(said) <= _LONGEST else f"{said[: _LONGEST - 1]}…"


def show(value: float, unit: str) -> str:
    """The value with its unit, as a person writes it."""
    return f"{value:g}{'°' if unit == 'deg' else ' ' + unit if unit else ''}"


def number_problem(name: str, data: Mapping[str, Any], value: object) -> Problem | None:
    """What is wrong with one number against its meaning, unit, rule and sane range, as `number` takes them, or None.

    >>> tab_arm = {"meaning": "tab arm", "unit": "mm", "rule": "positive", "sane": None}
    >>> print(number_problem("tab_arm", tab_arm, [14.0]))
    tab_arm = [14.0]: is not a number. It is the tab arm. Give a number in mm.
    """
    unit, why = data["unit"], f"It is the {data['meaning']}."
    if getattr(value, "ndim", None) == 0:  # numpy's own numbers; a reading that was taken out is none
        value = math.nan if getattr(value, "mask", False) else value.item()
    if isinstance(value, bool) or not isinstance(value, (Real, Decimal)):
        return Problem(name, short(value), "is not a number", why, f"Give a number in {unit or 'plain form'}.")
    try:
        value = float(value)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        cure = "Measure it, or leave it out if it is not known."
        return Problem(name, str(value), "is not a finite number", why, cure)
    holds, said = _RULES[data["rule"]]
    if not holds(value):
        return Problem(name, show(value, unit), said, why, "Check the sign and the unit.")
    slip = meant_unit(value, data)
    if slip:
        return _slip_problem(name, value, data, slip)
    least = _SMALLEST if data["rule"] == "positive" else 0.0
    if unit == "mm" and data["sane"]:  # a length may be as large as it likes: a straight track is one of a large radius
        least = max(data["sane"][0] / _BEYOND, least)
    if abs(value) > _LARGEST or 0 < abs(value) < least:
        return no_size(name, data, value)
    if unit == "deg" and abs(value) > _ROUND:
        return Problem(name, show(value, unit), "is more than once round", why, "Check the power of ten.")
    return None


def no_size(name: str, data: Mapping[str, Any], value: float) -> Problem:
    """The Problem of a number that nothing could measure, as `number_problem` has it."""
    return Problem(
        name,
        show(value, data["unit"]),
        "is no size that anything has",
        f"It is the {data['meaning']}.",
        "Check its unit, and the power of ten.",
    )


def slips(data: Mapping[str, Any]) -> dict[str, float]:
    """{unit that a number of a field may have been meant in: its size in the field's unit}; data: the field's
    metadata.
    """
    meant = data.get("slips") or _SLIPS.get(data["unit"], ())
    return {slip: _PER_CENT if slip == "%" else convert(1.0, slip, data["unit"]) for slip in meant}


def meant_unit(value: float, data: Mapping[str, Any]) -> str | None:
    """The unit that a number outside its field's `sane` range was likely meant in, None where it needs no such
    explanation.

    >>> size = {"unit": "mm", "sane": (0.15, 8), "slips": ("in", "thou")}
    >>> meant_unit(0.052, size), meant_unit(52.0, size), meant_unit(1.3208, size)
    ('in', 'thou', None)
    """
    if data["sane"] is None or data["sane"][0] <= abs(value) <= data["sane"][1]:
        return None
    low, high = data["sane"]
    return next((slip for slip, size in slips(data).items() if low <= abs(value) * size <= high), None)


def _slip_problem(name, value, data, slip):
    """The question whether a number was meant in another unit."""
    unit = data["unit"]
    meant = value * _PER_CENT if slip == "%" else convert(value, slip, unit)
    small = abs(value) < data["sane"][0]
    given = f'"{value:.10g} {slip}", or ' if slip != "%" else ""
    return Problem(
        name,
        show(value, unit),
        f"is too {'small' if small else 'large'} for the {data['meaning']}",
        f"Were these {_ASKED.get(slip, slip)}? {value:g} {slip} is {show(float(f'{meant:.4g}'), unit)}.",
        f"Write {given}{meant:.10g}{f' for {_ASKED.get(unit, unit)}' if unit else ''}.",
    )


def unit_problem(name: str, text: str, value: float, data: Mapping[str, Any]) -> Problem | None:
    """The Problem of a number outside its `sane` range whose text names its unit: whether another one was meant. None
    where the text names none, or the number is a sane one.

    >>> force = {"meaning": "force at the ball", "unit": "N", "sane": (0.1, 150)}
    >>> print(unit_problem("force", "18 kg", 176.5197, force))
    force = "18 kg": is 176.5 N, too large for the force at the ball. Was it 18 N? Write "18 N".
    >>> unit_problem("force", "18 lb", 80.07, force), unit_problem("force", "176.52", 176.52, force)
    (None, None)
    """
    named, sane = unit_named(text), data["sane"]
    if not named or sane is None or sane[0] <= abs(value) <= sane[1]:
        return None
    number = value / quantity(f"1 {named}", data["unit"]).value
    sizes = {data["unit"]: 1.0} | slips(data)
    meant = next((f"{number:.10g} {unit}" for unit, size in sizes.items() if sane[0] <= number * size <= sane[1]), None)
    return Problem(
        name,
        f'"{text}"',
        f"is {show(float(f'{value:.4g}'), data['unit'])}, too {'small' if abs(value) < sane[0] else 'large'} for the"
        f" {data['meaning']}",
        f"Was it {meant}?" if meant else "",
        f'Write "{meant}".' if meant else "Check the number, and the unit behind it.",
    )


def field_problem(each: Field, value: object) -> Problem | None:
    """What is wrong with the value of one field by itself, as a Problem, or None; `each` is the field of a part.

    >>> from detentlib.knife.parts import Blade
    >>> print(field_problem(fields(Blade)[0], -14))
    tab_arm = -14 mm: must be greater than zero. It is the tab arm (pivot to the place of the push). ...
    """
    if value is None and each.default is None:
        return None
    if "rule" in each.metadata:
        return number_problem(each.name, each.metadata, value)
    return each.metadata["check"](value)


class Part:
    """What every part does: turn its numbers to float, check them once, speak up about all that is wrong."""

    def __post_init__(self):
        found = []
        for spec in fields(self):
            value = getattr(self, spec.name)
            problem = field_problem(spec, value)
            if problem:
                found.append(problem)
            elif "rule" in spec.metadata and value is not None:
                object.__setattr__(self, spec.name, float(value))
        found = found or list(self._more_problems())
        if found:
            raise KnifeError(found)

    def _more_problems(self):
        """Problems between fields, once each field by itself is sound."""
        return ()
