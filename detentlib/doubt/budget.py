"""The doubt of a result, and which number of the card it comes from (M5). ± is 95 % throughout."""

from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from ..knife.checks import refuse, short
from ..knife.given import given_kind, given_knife
from ..knife.parts import Knife
from ..mechanics.feel import LETBACK, letback_given
from .cloud import Cloud, cloud
from .draws import Interval
from .many import RESULTS
from .sources import Sources

_TOGETHER = 1.5  # times the variance, from which on parts are said to come to more than the whole


@dataclass(frozen=True)
class Budget:
    """Where the doubt of one result comes from.

    result: its name; unit; interval: the card's own value and the two ends that hold 95 % of what the card allows;
    shares: {path: ± that this number alone brings, with the sign of its effect}, largest first; largest: path of the
    first, None where nothing brings any.
    """

    result: str
    unit: str
    interval: Interval
    shares: MappingProxyType
    largest: str | None
    sources: Sources = field(repr=False, compare=False)

    @property
    def value(self) -> float:
        """What the card itself gives."""
        return self.interval.value

    @property
    def doubt(self) -> float:
        """The ±, half of the way from end to end."""
        return self.interval.doubt

    def part(self, path: str) -> float:
        """Share of one number in the variance of the result, 0 to 1."""
        return (self.shares[path] / self.doubt) ** 2 if self.doubt else 0.0

    @property
    def mixed(self) -> bool:
        """Whether the parts come to far more than the whole, since numbers are known together."""
        return sum(share**2 for share in self.shares.values()) > _TOGETHER * self.doubt**2


def budget(knife: Knife, result: str) -> Budget:
    """Doubt of one number of a knife from the ± of all its numbers at once.

    result: one of `many.RESULTS`, such as "break_force". 2,048 draws, see `cloud`; those that cannot work are left out
    and their share is `interval.lost`. Raises ValueError for a name that is no number and for a result that this knife
    does not give; KnifeError for a knife that cannot work.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar, doubts = LockBar(17.04, rate=10.298, side_compliance=0), {"blade.tab_arm": 0.7, "bar.riding_force": 0.8}
    >>> found = budget(Knife("A", [ball], bar, Blade(14.0), Friction(0.12), doubts=doubts), "break_force")
    >>> found.largest, round(found.value, 2), round(found.doubt, 1)            # 0.8/14.21 and 0.7/14 of 12.04 N
    ('bar.riding_force', 12.04, 0.9)
    """
    return budgets(knife, (result,))[result]


def budgets(knife: Knife, results: tuple | list, drawn: Cloud | None = None) -> dict:
    """The Budget of several results at once, {name: Budget}, from one cloud; drawn: that cloud where there is one."""
    given_knife(knife)
    known_results(results)
    given_kind("drawn", drawn, Cloud | None, "is no cloud", "It holds the draws of this knife.", "Leave it out.")
    drawn = drawn or cloud(knife)
    for result in results:
        if not gives(drawn, result):
            raise ValueError(f"{result} is not given for {knife.title}: {why_not_given(result)}")
    return {result: budget_of(drawn, drawn.column(result), result, RESULTS[result].unit) for result in results}


def known_results(results: tuple | list) -> None:
    """Raise ValueError for what is no list of names, or a name that is none of many.RESULTS."""
    if not isinstance(results, (list, tuple)):
        raise refuse("results", results, "is not a list of names", "", 'Give one such as ["break_force", "barrier"].')
    for result in results:
        if not isinstance(result, str) or result not in RESULTS:
            raise ValueError(f"{short(result)} is no result that is worked out here; take one of {', '.join(RESULTS)}")


def budget_of(drawn: Cloud, column: np.ndarray, name: str = "", unit: str = "") -> Budget:
    """The Budget of any number that is a column of a cloud of one knife."""
    sources = drawn.sources(column)
    shares = {each.path: alone for each, alone in sources.shares.items()}
    largest = next((path for path, alone in shares.items() if alone), None)
    return Budget(name, unit, drawn.interval(column), MappingProxyType(shares), largest, sources)


def gives(drawn: Cloud, result: str, knife: int = 0) -> bool:
    """Whether a knife of the cloud gives this result; ValueError for a name that is no number."""
    known_results((result,))
    return result in drawn.felt(knife).values and (result not in LETBACK or bool(letback_given(drawn.knives[knife])))


def why_not_given(result: str) -> str:
    """Why a knife does not give a result, in words to put behind "because"; KeyError for one that every knife gives."""
    return _LACKS[result]


_LACKS = {
    "stud_break_force": "the blade has no stud arm",
    "floor_clearance": "no recess has a depth",
    "idle_clearance": "no two balls share a bar",
    "rim_lead": "it has one ball",
} | dict.fromkeys(
    ("relief_stress", "relief_stress_rest", "relief_stress_ride", "relief_stress_side"), "the bar has no drawn sizes"
)
_LACKS |= dict.fromkeys(
    LETBACK, "the recess is off track and friction is high, where the model is not good enough for it (see its flags)"
)
