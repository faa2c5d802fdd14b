"""Quantities as people write them at the bench, to numbers and back: "0.002 in", "1.10 ± 0.01 mm", "1.10 within 0.01
mm", "2.7 lbf".

All factors stand in one table and are exact by definition (NIST SP 811, appendix B.8: the inch, the pound and
the standard acceleration of free fall), but for the radian, which is 180/π degrees. ± means 95 %, within means always.
"""

import contextlib
import difflib
import math
import re
from decimal import Decimal
from fractions import Fraction
from numbers import Real
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from .values import Values

from .drills import NUMBERED
from .plain import true_minus

_INCH = Fraction("25.4")
_POUND = Fraction("453.59237")
_POUND_FORCE = _POUND * Fraction("9.80665") / 1000

_KINDS = {
    "length": {"mm": 1, "cm": 10, "m": 1000, "µm": Fraction(1, 1000), "in": _INCH, "thou": _INCH / 1000},
    "force": {
        "N": 1,
        "lbf": _POUND_FORCE,
        "ozf": _POUND_FORCE / 16,
        "kgf": Fraction("9.80665"),
        "gf": Fraction("0.00980665"),
    },
    "torque": {"N·mm": 1, "N·m": 1000, "lbf·in": _POUND_FORCE * _INCH, "ozf·in": _POUND_FORCE / 16 * _INCH},
    "rate": {"N/mm": 1, "N/m": Fraction(1, 1000), "lbf/in": _POUND_FORCE / _INCH},
    "compliance": {"mm/N": 1, "µm/N": Fraction(1, 1000)},
    "stress": {
        "MPa": 1,
        "GPa": 1000,
        "Pa": Fraction(1, 10**6),
        "psi": _POUND_FORCE / _INCH**2,
        "ksi": 1000 * _POUND_FORCE / _INCH**2,
    },
    "mass": {"g": 1, "kg": 1000, "oz": _POUND / 16, "lb": _POUND},
    "inertia": {"g·mm²": 1, "g·cm²": 100, "kg·mm²": 1000, "kg·m²": 10**9, "lb·in²": _POUND * _INCH**2},
    "energy": {"mJ": 1, "J": 1000},
    "angle": {"deg": 1, "rad": Fraction(math.degrees(1.0))},
    "ratio": {"": 1},
}
_UNITS = {name: (kind, Fraction(size)) for kind, units in _KINDS.items() for name, size in units.items()}
_SPELLINGS = {
    '"': "in",
    "″": "in",
    "”": "in",
    "inch": "in",
    "inches": "in",
    "um": "µm",
    "lbs": "lb",
    "Nmm": "N·mm",
    "Nm": "N·m",
    "in·lbf": "lbf·in",
    "in·ozf": "ozf·in",
    "°": "deg",
    "degree": "deg",
    "degrees": "deg",
    "radian": "rad",
    "radians": "rad",
}
_OF_TWO = {  # what a unit is made of that no tool reads by itself
    "torque": ": force times arm, so 0.2 N at 15 mm is 3 N·mm",
    "rate": ": what the force grows by over the lift that does it, so 3 N in 0.3 mm is 10 N/mm",
    "compliance": ": how far it goes over the force that does it, so 0.05 mm under 10 N is 0.005 mm/N",
}
_AMBIGUOUS = {"mil": "thou or mm", "mils": "thou or mm"}
_GAUGE_MARKS = {"lb": "lbf", "oz": "ozf", "kg": "kgf", "g": "gf"}
_INCH_PARTNERS = {"N": "lbf", "N·mm": "lbf·in", "N/mm": "lbf/in", "MPa": "ksi", "g": "oz", "g·mm²": "lb·in²"}
_MOST_DECIMALS = {"thou": 3}
_BEHIND = {"deg": "°"}

_FRACTION = r"[+-]?(?:\d+\s+)?\d+\s*/\s*\d+"
_DECIMAL = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_TERM = re.compile(rf"(?P<number>{_FRACTION}|{_DECIMAL})\s*(?P<unit>[^\d\s.,/+-].*)?")
_BY_NUMBER = re.compile(r"(?:#|n[or]\b\.?)\s*(?P<number>\d{1,3})(?:\s+drill)?", re.IGNORECASE)
_PLUS_MINUS = r"±|\+\s*/?\s*-"
_WITHIN = rf",?\s*\bwithin\b\s*(?:{_PLUS_MINUS})?"
_SIGN = re.compile(rf"({_WITHIN}|{_PLUS_MINUS})", re.IGNORECASE)
_SEPARATED = r"\d[\d.,]*[.,]\d+"
_TOLERANCE = re.compile(
    r"(?P<nominal>[+-]?(?:\d+\.?\d*|\.\d+)) *\+ *(?P<up>\d*\.?\d+) */? *- *(?P<down>\d*\.?\d+)"
    r" *(?P<unit>[^\d\s.,/+-].*)?"
)
_LONGEST, _MOST_DOUBT = 100, 1e15
SURE = 1.959963984540054  # standard deviations to either side that hold 95 % of a normal distribution


class UnitError(ValueError):
    """Text that is not a quantity of the wanted kind: `wrong` says what is the matter, `cure` what to write."""

    def __init__(self, given: object, wrong: str, cure: str, readings: tuple[str, ...] = ()) -> None:
        """Keep the two halves apart for messages that name a field as well; readings: what it may mean, to write
        instead.
        """
        self.given, self.wrong, self.cure, self.readings = given, wrong, cure, readings
        super().__init__(f"{given!r} {wrong}. {cure}")


class Within(float):
    """A ± that is a limit: the number lies anywhere within it, each place equally likely, and never beyond.

    Rectangular (JCGM 101:2008, 6.4.2), as a tolerance is that was checked, or a step of a scale. It is no ± (95 %) of
    the same size: see `normal_doubt`.

    >>> Within(0.02) == 0.02, Within(0.02) == Within(0.02), f"{Within(0.02):.3f}"
    (False, True, '0.020')
    """

    __slots__ = ()

    def __new__(cls, doubt: float) -> "Within":
        """doubt: a number not below zero, in the unit of its value; ValueError for anything else."""
        if isinstance(doubt, bool) or not isinstance(doubt, Real) or not 0 <= doubt <= _MOST_DOUBT:
            raise UnitError(doubt, "is no limit of a ±", "Give a number not below zero, in the unit of its value.")
        return super().__new__(cls, doubt)

    __hash__ = float.__hash__
    __str__ = float.__repr__

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Within) and float(self) == float(other)

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __repr__(self):
        return f"Within({self})"


def normal_doubt(doubt: float) -> float:
    """The ± (95 %) of a normal number that scatters as much: a ± itself; of Within its standard deviation, 1/√3 of it,
    times 1.96 (GUM 4.3.7).

    >>> normal_doubt(0.02), round(normal_doubt(Within(0.02)), 4)
    (0.02, 0.0226)
    """
    return float(doubt) * SURE / math.sqrt(3) if isinstance(doubt, Within) else doubt


class Quantity(NamedTuple):
    """A number in the wanted unit and its ± (95 %), or Within; None where neither was written."""

    value: float
    doubt: float | None = None


def quantity(given: object, unit: str) -> Quantity:
    """Read a number, or text with a unit and perhaps a ±, as a quantity in `unit`.

    given: 0.42, "0.42", "1/16 in", "1 1/2 in", "1.10 ± 0.01 mm", "0.0520 in +/- 0.01 mm", "15 ± 5 %", "0.42 within 0.02
    mm". A plain number is in `unit`. One unit at the end counts for value and ±; a per cent is of the value. A length
    may be that of a drill by its number, "#55" or "No. 55"; a force may be in what a scale shows, kg, g, lb or oz: see
    `scale_words`. Raises UnitError: empty, nan or infinite, not readable, a decimal comma, an unknown or ambiguous
    unit, or a unit of another kind.

    >>> quantity("1/16 in", "mm")
    Quantity(value=1.5875, doubt=None)
    >>> quantity("1.10 ± 0.01 mm", "mm")
    Quantity(value=1.1, doubt=0.01)
    >>> quantity("0.42 within 0.02 mm", "mm")
    Quantity(value=0.42, doubt=Within(0.02))
    >>> quantity("#55", "mm"), quantity("2 kg", "N")
    (Quantity(value=1.3208, doubt=None), Quantity(value=19.6133, doubt=None))
    >>> quantity("2 thou", "N")
    Traceback (most recent call last):
    detentlib.knife.units.UnitError: '2 thou' has thou, a unit of length, where a force is wanted. ...
    """
    kind, size = _find(unit, unit, None)
    if not isinstance(given, str):
        return Quantity(_plain_number(given, unit))
    parts = _SIGN.split(_cleaned(given, unit))
    terms = [_drill(part, given) if _is_drill(part, kind) else _term(part, given, unit) for part in parts[::2]]
    if len(terms) > 2:
        raise _unreadable(given, unit)
    number, name = terms[0]
    doubt, doubt_name = terms[1] if len(terms) == 2 else (None, None)
    if name == "%":
        raise UnitError(given, "is a per cent", f"Give it in {_wanted(kind)}.")
    name = name or (doubt_name if doubt_name != "%" else None)
    if name is None and kind == "length" and "/" in given:
        raise UnitError(given, "is a fraction without a unit", f'If it is in inches, write "{given.strip()} in".')

    def in_unit(name):
        return _find(_on_scale(name, kind) or name, given, kind)[1] / size if name else 1

    value = number * in_unit(name)
    if doubt is None:
        return Quantity(_finite(value, given))
    if doubt < 0:
        raise UnitError(given, "has a ± below zero", "Give the ± as a positive number.")
    doubt *= abs(value) / 100 if doubt_name == "%" else in_unit(doubt_name or name)
    doubt = _finite(doubt, given)
    return Quantity(_finite(value, given), Within(doubt) if _limits(parts[1]) else doubt)


def scale_words(given: str, unit: str) -> str:
    """How a force in what a scale shows was taken, in words; empty where there is nothing to say.

    >>> scale_words("1.2 kg", "N"), scale_words("1.2 kgf", "N"), scale_words("40 g", "g")
    ('kg of a scale, taken as kgf', '', '')
    """
    kind = _find(unit, unit, None)[0]
    terms = [_TERM.fullmatch(part.strip()) for part in _SIGN.split(given)[::2]]
    units = [match["unit"] for match in terms if match and match["unit"]]
    marks = {unit: _on_scale(unit, kind) for unit in units if _on_scale(unit, kind)}
    return "; ".join(f"{mark} of a scale, taken as {taken}" for mark, taken in marks.items())


def unit_named(text: str) -> str:
    """The unit that a quantity names, as it was written; empty where it names none, as of a bare number or a drill.

    >>> unit_named("18 kg"), unit_named("14.0 ± 0.2 mm"), unit_named("17"), unit_named("#55")
    ('kg', 'mm', '', '')
    """
    terms = (_TERM.fullmatch(part.strip()) for part in _SIGN.split(text)[::2])
    return next((match["unit"].strip() for match in terms if match and match["unit"] not in (None, "%")), "")


def with_unit(text: str, unit: str) -> str:
    """A quantity with the unit that it counts in, where it names none.

    >>> with_unit("17", "N"), with_unit("3 thou", "mm"), with_unit("#55", "mm"), with_unit("0.12", "")
    ('17 N', '3 thou', '#55', '0.12')
    """
    bare = _TERM.fullmatch(_SIGN.split(text)[0].strip()) and not unit_named(text)
    return f"{text}{_BEHIND.get(unit, f' {unit}')}" if bare and unit else text


def of_scale(name: str, unit: str) -> str:
    """The unit that `name` stands for where a quantity in `unit` is wanted: of a mass that a scale shows, its force.

    >>> of_scale("kg", "N"), of_scale("kg", "g"), of_scale("lbf", "N")
    ('kgf', 'kg', 'lbf')
    """
    return _on_scale(name, _find(unit, unit, None)[0]) or name


def _on_scale(name: str, kind: str) -> str | None:
    """The unit of force that a scale means by a unit of mass, where a force is wanted; else None."""
    plain = name.strip().rstrip(".")
    return _GAUGE_MARKS.get(_SPELLINGS.get(plain, plain)) if kind == "force" else None


def _is_drill(part: str, kind: str) -> bool:
    return kind == "length" and bool(_BY_NUMBER.fullmatch(part.strip()))


def _drill(part: str, given: object) -> tuple[Fraction, str]:
    """Diameter [mm] of a drill by its number, and that unit."""
    number = int(_BY_NUMBER.fullmatch(part.strip())["number"])
    if number not in NUMBERED:
        wrong = f"is the number of a drill outside {min(NUMBERED)} to {max(NUMBERED)}"
        raise UnitError(given, wrong, "Give its diameter, in mm or in in.")
    return NUMBERED[number], "mm"


def parted(text: str) -> tuple[str, str]:
    """Value and ± of a quantity as two texts, each with its unit; the second is empty where there is no ±.

    >>> parted("1.10 ± 0.01 mm"), parted("7.4e-5 kg·m² ± 6 %"), parted("14 mm"), parted("0.42 within 0.02 mm")
    (('1.10 mm', '0.01 mm'), ('7.4e-5 kg·m²', '6 %'), ('14 mm', ''), ('0.42 mm', 'within 0.02 mm'))
    """
    parts = [part.strip() for part in _SIGN.split(text)]
    if len(parts) != 3:
        return text, ""
    value, between, doubt = parts
    units = [match and match["unit"] for match in (_TERM.fullmatch(part) for part in (value, doubt))]
    shared = units[1] if units[0] is None and units[1] != "%" else None
    return f"{value} {shared}" if shared else value, f"within {doubt}" if _limits(between) else doubt


def joined(value: str, doubt: str) -> str:
    """A quantity from the texts of its value and of its ±, the reverse of `parted`.

    >>> pairs = ("1.10 mm", "0.01 mm"), ("14 mm", ""), ("0.55 in", "0.3 mm"), ("0.42 mm", "within 0.02 mm")
    >>> tuple(joined(*pair) for pair in pairs)
    ('1.10 ± 0.01 mm', '14 mm', '0.55 in ± 0.3 mm', '0.42 within 0.02 mm')
    """
    reach = re.sub(_WITHIN, "", doubt, count=1, flags=re.IGNORECASE)
    match, other = _TERM.fullmatch(value), _TERM.fullmatch(reach.strip())
    if match and other and match["unit"] == other["unit"]:
        value = match["number"]
    return f"{value} {doubt}" if _limits(doubt) else f"{value} ± {doubt}" if doubt else value


def _limits(text):
    """Whether what stands between a value and its ± makes that a limit."""
    return "within" in text.casefold()


def sign(doubt: float) -> str:
    """What stands before a ± where it is written: "within" where it is a limit."""
    return "within" if isinstance(doubt, Within) else "±"


def check_unit(name: str, unit: str) -> None:
    """Raise UnitError unless `name`, in any of its spellings, is a unit of the same kind as `unit`.

    >>> check_unit("thou", "mm")
    >>> check_unit("N", "mm")
    Traceback (most recent call last):
    detentlib.knife.units.UnitError: 'N' has N, a unit of force, where a length is wanted. ...
    """
    _find(name, name, _find(unit, unit, None)[0])


def alike(unit: str) -> tuple[str, ...]:
    """The units that a quantity in `unit` can be in, itself first; UnitError for one that there is not.

    >>> alike("lbf"), alike("")
    (('lbf', 'N', 'ozf', 'kgf', 'gf'), ('',))
    """
    kind, _ = _find(unit, unit, None)
    return (unit, *(other for other in _KINDS[kind] if other != unit))


def convert(value: "Values", unit: str, to: str) -> "Values":
    """The number, or numpy array, `value` in `unit` expressed in the unit `to`; UnitError where the kinds differ.

    A single number is taken as its decimals read, so that inch sizes come out exact.

    >>> convert(0.0465, "in", "mm")
    1.1811
    """
    kind, size = _find(unit, unit, None)
    ratio = size / _find(to, to, kind)[1]
    if isinstance(value, (int, float)) and math.isfinite(value):
        return float(Fraction(str(value)) * ratio)
    return value * float(ratio)


def show(value: float, unit: str, doubt: float | None = None) -> str:
    """The value with its unit and ± as a person writes it: four digits, or as many as the ± is worth.

    >>> given = (12.0394, "N"), (12.0394, "N", 0.1523), (49.149, "deg"), (-1e-9, "mm"), (0.42, "mm", Within(0.02))
    >>> tuple(show(*each) for each in given)
    ('12.04 N', '12.04 ± 0.15 N', '49.15°', '0 mm', '0.420 within 0.020 mm')
    """
    return _written(value, unit, doubt, 4)


def both(value: float, unit: str, doubt: float | None = None) -> str:
    """The value in its unit and, in brackets, in inch units: thou below 0.1 in, inches above.

    Units that have no partner (degrees, ratios, mJ, mm/N) come as from `show`.

    >>> both(12.0394, "N"), both(0.0508, "mm"), both(36.4, "mm")
    ('12.04 N (2.71 lbf)', '0.0508 mm (2.00 thou)', '36.40 mm (1.43 in)')
    """
    return with_inches(show(value, unit, doubt), value, unit, doubt)


def with_inches(metric: str, value: float, unit: str, doubt: float | None = None) -> str:
    """What was written of a value in its unit, and behind it, in brackets, the value in inch units where it has a
    partner.

    >>> with_inches("1.5875 mm", 1.5875, "mm"), with_inches("45°", 45.0, "deg")
    ('1.5875 mm (62.5 thou)', '45°')
    """
    partner = _partner(value, unit)
    if partner is None:
        return metric
    inch_doubt = None if doubt is None else convert(doubt, unit, partner)
    inch_doubt = Within(inch_doubt) if isinstance(doubt, Within) else inch_doubt
    return f"{metric} ({_written(convert(value, unit, partner), partner, inch_doubt, 3)})"


def ends(value: float, low: float, high: float, unit: str) -> str:
    """A number with its two ends, where one ± would not say both sides; also in inch units, as `both` has them.

    >>> ends(11.9, -9.6, 14.8, "mJ"), ends(12.04, 11.0, 12.2, "N")
    ('12 (−10 to 15) mJ', '12.04 (11.00 to 12.20) N, 2.71 (2.47 to 2.74) lbf')
    """
    partner = _partner(value, unit)
    metric = _with_ends(value, low, high, unit)
    if partner is None:
        return metric
    return f"{metric}, {_with_ends(*(convert(each, unit, partner) for each in (value, low, high)), partner)}"


def _with_ends(value, low, high, unit):
    places = _places((high - low) / 2, 2)
    least, said, most = (_rounded(each, places) for each in (low, value, high))
    return true_minus(f"{said} ({least} to {most})") + behind(unit)


def _partner(value, unit):
    """The inch unit that stands beside a unit, None where there is none."""
    return ("thou" if abs(value) < 2.54 else "in") if unit == "mm" else _INCH_PARTNERS.get(unit)


def behind(unit: str) -> str:
    """A unit as it stands behind a number.

    >>> behind("N"), behind("deg"), behind("")
    (' N', '°', '')
    """
    return "°" if unit == "deg" else f" {unit}" if unit else ""


def _find(name, given, wanted):
    """Kind and size of a unit by any of its spellings; `wanted` is the kind that it must be, None for any."""
    plain = re.sub(r"\s*/\s*", "/", name.strip().rstrip("."))
    plain = re.sub(r"\s*[·⋅*.-]\s*|\s+", "·", plain).replace("μ", "µ")
    plain = re.sub(r"\^?2$", "²", plain)
    plain = _SPELLINGS.get(plain, plain)
    if plain in _AMBIGUOUS:
        raise UnitError(
            given,
            f"has {name}, which may mean thousandths of an inch or millimetres",
            f"Is it {_AMBIGUOUS[plain]}? Write that.",
        )
    if plain not in _UNITS:
        raise UnitError(given, f"has the unit {name}, which is not known here", _nearest(plain, wanted))
    kind, size = _UNITS[plain]
    if wanted not in (None, kind):
        if wanted == "force" and plain in _GAUGE_MARKS:
            cure = f"A pull gauge that says {name} means {_GAUGE_MARKS[plain]}: write that."
        else:
            cure = f"Give it in {_wanted(wanted)}{_OF_TWO.get(wanted, '')}."
        raise UnitError(given, f"has {name}, a unit of {kind}, where {_a(wanted)} is wanted", cure)
    return kind, size


def _nearest(name, wanted):
    names = [known for known in (_KINDS[wanted] if wanted else _UNITS) if known]
    close = difflib.get_close_matches(name, names, len(names) or 1, 0.5)
    # a slip of the hand keeps the first letter and the length: mn is mm, not m
    close.sort(key=lambda known: (known[:1] == name[:1], len(known) == len(name)), reverse=True)
    near = [known for known in names if known.casefold() == name.casefold()] or close
    return f"Did you mean {near[0]}?" if near else f"Give it in {_wanted(wanted) if wanted else ', '.join(names)}."


def _a(kind):
    return f"{'an' if kind[0] in 'aei' else 'a'} {kind}"


def _wanted(kind):
    """The units of a kind, in words."""
    *names, last = _KINDS[kind]
    return f"{', '.join(names)} or {last}" if names else last or "plain form, without a unit"


def _cleaned(given, unit):
    """Text with plain minus signs and spaces; what can never be a quantity is refused here."""
    text = re.sub(r"\s", " ", given.replace("−", "-")).strip()
    if not text:
        raise UnitError(
            given, "is empty", f"Give a number in {unit or 'plain form'}, or leave the field out if it is not known."
        )
    if re.match(r"[+-]?\s*(nan|inf)", text, re.IGNORECASE):
        raise _not_finite(given)
    if len(text) > _LONGEST:
        raise UnitError(f"{text[:20]}…", "is too long for a quantity", _example(unit))
    if re.search(r"\d,\d", text):
        raise _comma(given, text, unit)
    tolerance = _TOLERANCE.fullmatch(text)
    if tolerance:
        raise _lopsided(given, tolerance, unit)
    return text


def _comma(given, text, unit):
    """A comma may be a decimal point or part thousands: each reading that can be read is offered."""
    readings = []
    for each in (re.sub(_SEPARATED, _decimal_comma, text), re.sub(_SEPARATED, _thousands, text)):
        with contextlib.suppress(UnitError):
            quantity(each, unit)
            readings += [each] if each not in readings else []
    if not readings:
        cure = _example(unit)
    elif len(readings) == 1:
        cure = f'A decimal point is written ".": write "{readings[0]}".'
    else:
        cure = f'A decimal point is written ".": write "{readings[0]}"; or "{readings[1]}" for thousands.'
    return UnitError(given, "has a comma in the number", cure, tuple(readings))


def _decimal_comma(match):
    """The last mark of a number as its decimal point, all before it as parting thousands."""
    whole, rest = re.fullmatch(r"(.*)[.,](\d+)", match[0]).groups()
    return f"{re.sub('[.,]', '', whole)}.{rest}"


def _thousands(match):
    return match[0].replace(",", "") if re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+", match[0]) else _decimal_comma(match)


def _lopsided(given, tolerance, unit):
    """A tolerance that reaches further to one side, as limits about the middle of its range."""
    nominal, up, down = (Fraction(tolerance[name]) for name in ("nominal", "up", "down"))
    middle, half = float(nominal + (up - down) / 2), float((up + down) / 2)
    name = f" {tolerance['unit'].strip()}" if tolerance["unit"] else ""
    reading = f"{middle:.10g} within {half:.10g}{name}"
    quantity(reading, unit)
    cure = f'The same range about its middle: write "{reading}".'
    return UnitError(given, "has a tolerance that reaches further to one side", cure, (reading,))


def _term(text, given, unit):
    """Number (exact) and unit name, None without one, of one side of the ±."""
    match = _TERM.fullmatch(text.strip())
    if not match:
        raise _unreadable(given, unit)
    number, name = match["number"], match["unit"]
    if "/" not in number:
        return Fraction(number), name
    whole, top, bottom = re.fullmatch(r"[+-]?(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)", number).groups()
    if int(bottom) == 0:
        raise UnitError(given, "divides by zero", _example(unit))
    value = int(whole or 0) + Fraction(int(top), int(bottom))
    return (-value if number.startswith("-") else value), name


def _plain_number(given, unit):
    """A Python number as float; True and False are not numbers here."""
    try:
        if isinstance(given, bool):
            raise TypeError
        value = float(given)
    except OverflowError:
        raise UnitError("a number of more than 308 digits", "is too large", "Check its unit.") from None
    except (TypeError, ValueError):
        raise UnitError(given, "is not a number", _example(unit)) from None
    return _finite(value, given)


def _finite(value, given):
    try:
        value = float(value)
    except OverflowError:
        raise _not_finite(given) from None
    if not math.isfinite(value):
        raise _not_finite(given)
    return value


def _not_finite(given):
    return UnitError(given, "is not a finite number", "Measure it, or leave it out if it is not known.")


def _unreadable(given, unit):
    return UnitError(given, "cannot be read as a number with a unit", _example(unit))


def _example(unit):
    name = f" {unit}" if unit else ""
    return f'Write it like "1.2{name}", "1.2 ± 0.1{name}" or, where it cannot lie further off, "1.2 within 0.1{name}".'


def _written(value, unit, doubt, digits):
    if not math.isfinite(value):
        raise _not_finite(value)
    places = _places(doubt, 2) if doubt else min(_places(value, digits), _MOST_DECIMALS.get(unit, 4))
    said = _rounded(value, places)
    if doubt:
        said += f" {sign(doubt)} {_rounded(doubt, places)}"
    elif float(said) == 0:
        said = "0"
    return true_minus(said) + behind(unit)


def _places(value, digits):
    """Decimals that leave so many digits of the value."""
    return digits - 1 - Decimal(f"{value:.{digits - 1}e}").adjusted()


def in_digits(value: float, digits: int) -> str:
    """Fixed-point text of so many significant digits.

    >>> in_digits(0.0502, 2), in_digits(12.0, 2), in_digits(115.0, 2)
    ('0.050', '12', '120')
    """
    return _rounded(value, _places(value, digits))


def two_digits(value: float) -> float:
    """A number rounded to the two digits that a ± is worth.

    >>> two_digits(3414.0), two_digits(0.0347)
    (3400.0, 0.035)
    """
    return float(f"{value:.2g}")


def _rounded(value, places):
    """Fixed-point text; adding zero turns -0 into 0."""
    return f"{round(value, places) + 0.0:.{max(places, 0)}f}"
