"""What a fault is told with: the knife as a case, a cause with its standing, what decides, the first move."""

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ...derivations.formulas import formulas
from ...doubt.cloud import Cloud, cloud
from ...doubt.many import RESULTS, Result
from ...files.instruments import INSTRUMENTS, Instrument
from ...knife.parts import Knife, KnifeError, spec
from ...knife.plain import true_minus
from ...knife.units import behind, convert
from ...knife.values import Values
from ...mechanics.carry import Detent, pivot_drag
from ...mechanics.feel import at_the_peak, feel
from ...mechanics.sweep import sweep
from ...mechanics.swing import work_to_open

LIKELY, POSSIBLE, OPEN, PRACTICE, EXCLUDED = "likely", "possible", "cannot exclude", "common practice", "excluded"
_NEVER = 0.025  # share of what the card allows, up to which a cause is excluded: the end of a ±
STANDINGS = (LIKELY, POSSIBLE, OPEN, PRACTICE, EXCLUDED)
_PARTNERS = {"N": "lbf", "mm": "thou"}
_PLACES = 4  # decimals below which a number is nothing at the bench
_INCHES = 2.54  # mm, from which on inches are plainer than thou


def drag(knife: Knife) -> float:
    """Push at the tab that the half open blade takes against drag alone: balls on the flat, washers, pivot [N].

    >>> from detentlib.files.demo import demo
    >>> round(drag(demo("pellowfen-a")), 2)                          # 0.12 of 17.04 N at 8 mm, and 3 N·mm, over 14 mm
    1.38
    """
    at = Detent(knife).state(np.radians([knife.blade.opening_deg / 2]))
    return formulas["F5"](torque=(at.torque + pivot_drag(knife, at)).item(), arm=knife.blade.tab_arm)


# the numbers that a complaint shows in, and how each comes from a knife
MEASURES = {
    "break_force": lambda knife: feel(knife).break_force,
    "barrier": lambda knife: feel(knife).barrier,
    "draw_in_deg": lambda knife: feel(knife).draw_in_deg,
    "rest_deg": lambda knife: feel(knife).rest_deg,
    "ride_load": lambda knife: feel(knife).ride_load,
    "face_clearance": lambda knife: float(sweep(knife, [0.0]).gap[0]),
    "swing": work_to_open,
    "drag": drag,
}
NAMES = {**RESULTS, "swing": Result("work to swing it open", "mJ"), "drag": Result("drag at the tab, half open,", "N")}

Changes = Mapping[str, Values] | Callable[[Knife], Knife]  # numbers to replace, or what makes another knife
Event = np.ndarray | bool  # whether it is so, in every draw


class Decider(NamedTuple):
    """What decides: instrument, ± (95 %), unit, the reading that the card expects, what speaks for it."""

    instrument: str
    doubt: float
    unit: str
    expected: float
    speaks: str

    def __str__(self):
        """In words, for a table."""
        doubt, expected = _alone(self.doubt, self.unit), plain(self.expected, self.unit)
        return f"{self.instrument} (± {doubt}): by the card {expected}; {self.speaks}"


class Move(NamedTuple):
    """The first move: what to do, the number it changes, its unit, by how much (None where the model cannot say).

    cautions: names of the cautions that go with the work, as in `say.cautions`.
    """

    said: str
    of: str = ""
    unit: str = ""
    effect: float | None = None
    cautions: tuple[str, ...] = ()

    def __str__(self):
        """In words, for a table."""
        if self.effect is None:
            return f"{self.said} (common practice)"
        return f"{self.said}: {self.of} {signed(self.effect, self.unit)}"


class Cause(NamedTuple):
    """One possible cause of a fault on this knife.

    name; standing: likely, possible, cannot exclude, common practice (the model cannot say) or excluded; said: what the
    knife's own numbers say, one of them at least; weight: how much of the fault it can bring, as a share of the number
    that the fault shows in, to rank by; decider: the measurement that decides; move: the first move.
    """

    name: str
    standing: str
    said: str
    weight: float
    decider: Decider
    move: Move

    @property
    def moves(self) -> bool:
        """Whether there is something to do: what is excluded has no move but to leave it to others."""
        return self.standing != EXCLUDED or self.move.effect is None


class Case:
    """One knife with a complaint: its feel, the ball it rests on, its ±, and what a change would do to one number."""

    def __init__(self, knife, result, drawn=None):
        """result: key of MEASURES, the number that the complaint shows in; drawn: the knife's Cloud, where there is
        one.

        Raises KnifeError for a knife that cannot work.
        """
        self.knife, self.felt, self.result, self._drawn, self._known = knife, feel(knife), result, drawn, {}
        self.said, self.unit = NAMES[result]
        self.resting = max(self.felt.rest_carrier, 0)
        self.at = self._at_the_peak() if result == "break_force" else self.resting

    @property
    def now(self) -> float:
        """The number that the complaint shows in, as it is."""
        return self._number(self.result, self.knife)

    def _number(self, result, knife):
        """A number of MEASURES of a knife, kept: more than one cause asks for it, and a cure may change nothing."""
        key = (result, *((path, knife.get(path)) for path in knife.paths()))
        if key not in self._known:
            self._known[key] = MEASURES[result](knife)
        return self._known[key]

    def _at_the_peak(self):
        """The ball that carries at the peak."""
        angle = at_the_peak(Detent(self.knife), np.radians(self.felt.peak_deg))
        return max(int(sweep(self.knife, [np.degrees(angle)]).carrier[0]), 0)

    def path(self, name: str) -> str:
        """Path of a number of the ball that decides: the one that carries at the peak, for a force, or at rest."""
        return f"balls[{self.at}].{name}"

    @cached_property
    def drawn(self) -> Cloud:
        """The Cloud of this knife."""
        return self._drawn or cloud(self.knife)

    @property
    def many(self) -> Knife:
        """The knife in every draw, the card itself first."""
        return self.drawn.felt().many

    def about(self, result: str) -> "Case":
        """The same knife by another number of MEASURES."""
        return Case(self.knife, result, self.drawn)

    def column(self, numbers: Values) -> np.ndarray:
        """A number of `many` as a column of the cloud, nan for draws that cannot work."""
        possible = self.drawn.felt().possible
        return np.where(possible, np.broadcast_to(np.ravel(numbers), possible.shape), np.nan)

    def allows(self, event: Event) -> bool:
        """Whether the card allows an event, bool for every draw: in more of them than a ± leaves out at its end."""
        return self.drawn.share(np.broadcast_to(event, self.drawn.n + 1)) > _NEVER

    def standing(self, event: Event) -> str:
        """Standing of a cause that the card itself does not have, by whether it allows this event."""
        return OPEN if self.allows(event) else EXCLUDED

    def so_in(self, says: str, event: Event) -> str:
        """In what share of what the card allows an event is so, to put behind other words; "" without a ±."""
        return f"; {says} {self.drawn.in_share(event)}" if self.drawn.inputs else ""

    def change(self, changes: Changes, result: str | None = None) -> float | None:
        """By how much a number of MEASURES changes on a changed knife; None where that knife cannot work."""
        result = result or self.result
        try:
            other = changes(self.knife) if callable(changes) else self.knife.replace(changes)
            return self._number(result, other) - self._number(result, self.knife)
        except KnifeError:
            return None

    def move(self, said: str, changes: Changes, result: str | None = None, cautions: tuple[str, ...] = ()) -> Move:
        """A Move with its computed effect."""
        return Move(said, *NAMES[result or self.result], self.change(changes, result), cautions)

    def told(self, change: float | None) -> str:
        """What the complaint's number becomes, in words; change: as from `change`."""
        if change is None:
            return "the knife could not work"
        return f"the {self.said} would be {plain(self.now + change, self.unit)}, {signed(change, self.unit)}"

    def share(self, change: float | None) -> float:
        """A change as a share of the complaint's number as it is; 1 where the knife could not work."""
        return 1.0 if change is None else abs(change) / max(abs(self.now), 1e-9)


def reads(path: str, knife: Knife, speaks: str) -> Decider:
    """The Decider of a number of the card: the finest instrument for it."""
    finest = min((each for each in INSTRUMENTS if each.reads(path)), key=lambda each: each.doubt)
    return decides(finest, spec(path)["unit"], knife.get(path), speaks)


def decides(instrument: Instrument, unit: str, expected: float, speaks: str) -> Decider:
    """A Decider from an Instrument."""
    return Decider(instrument.name, instrument.doubt, unit, float(expected), speaks)


def signed(value: float, unit: str) -> str:
    """A change with its sign.

    >>> signed(-0.5, "N"), signed(0.0254, "mm"), signed(0.0, "mJ")
    ('−0.5 N (−0.11 lbf)', '+0.0254 mm (+1 thou)', '±0 mJ')
    """
    sign = "±" if abs(value) < 10.0**-_PLACES else "−" if value < 0 else "+"
    return plain(abs(value), unit, sign=sign)


def plain(value: float, unit: str, sign: str = "") -> str:
    """A number in few digits with its inch partner, for a crowded table; sign: what stands before both.

    >>> plain(12.0394, "N"), plain(0.6004, "mm"), plain(49.149, "deg"), plain(0.12, "")
    ('12 N (2.7 lbf)', '0.6 mm (24 thou)', '49.1°', '0.12')
    """
    partner = "in" if unit == "mm" and abs(value) >= _INCHES else _PARTNERS.get(unit)
    beside = f" ({sign}{_digits(convert(value, unit, partner), 2)} {partner})" if partner else ""
    return true_minus(f"{sign}{_alone(value, unit)}{beside}")


def _alone(value, unit):
    return f"{_digits(value, 3)}{behind(unit)}"


def _digits(value, most):
    """Fixed-point text of so many significant digits, without needless zeros and without −0."""
    return np.format_float_positional(float(f"{value:.{most}g}") + 0.0, precision=_PLACES, trim="-")
