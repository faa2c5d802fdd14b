"""Settling an argument: a claim, and the verdict on it from the number that decides it and its ±."""

import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ..doubt.cloud import Cloud, cloud
from ..knife.checks import refuse
from ..knife.given import checked, given_function, given_kind, given_number, given_word
from ..knife.parts import Knife, KnifeError, Problem
from ..mechanics import limits
from .cases import ComparedKnife, cases
from .own import Asked, composed
from .scale import Part, Scale
from .switches import SWITCHES, assume, options_of
from .verdict import Verdict

WORDS = tomllib.loads(Path(__file__).with_name("claims.toml").read_text(encoding="utf-8"))
ELASTIC = 256  # draws of an elastic bar: each takes 30 times as long


@checked
@dataclass(frozen=True)
class Claim:
    """One claim about a knife, to be judged by a number.

    id; sentence; says: from which side it comes. number: the Part that decides. scale: a Scale, or a function (assumed
    knives, elastic) that gives one. cast(*knives) -> the knives that are compared; it is given many knives in one as
    well (see Knife.with_arrays), so it chooses by np.where, or as the first of them is. parts: numbers to show beside
    the deciding one. switches: names of the assumptions that matter; start: {switch: option} where it is not the first.
    why: the mechanics in a sentence or two; bench: how to see it at the bench. scatter: share of the number that is
    always in doubt. knives: fixed ones that stand in for the knife that is judged; composed: by a reader, so that it is
    not among `claims`; made_by: the call that composed it; names: what it calls the compared knives. second_ball: it
    gives a knife with one ball a twin, whose numbers breaking it may change too. two_leaves: as cast, with each ball on
    a leaf of its own, where that is the way to what is claimed. put_in: what the cast makes of every knife, in words,
    where the claim speaks of no knife as it is.
    """

    id: str
    sentence: str
    number: Part
    scale: Scale | Callable[..., Scale]
    cast: Callable
    why: str
    bench: str
    says: str
    parts: tuple[Part, ...] = ()
    switches: tuple[str, ...] = tuple(SWITCHES)
    start: dict[str, str] = field(default_factory=dict)
    scatter: float = 0.0
    knives: tuple[Knife, ...] = ()
    composed: bool = False
    made_by: str = ""
    names: tuple[str, ...] = ()
    second_ball: bool = True
    two_leaves: Callable | None = None
    put_in: str = ""

    def __post_init__(self) -> None:
        """Check that its assumptions are known, and its scatter a share."""
        for name in self.switches:
            given_word("switches", name, SWITCHES, "an assumption that matters")
        options_of(self.switches, {}, self.start)
        given_number("scatter", self.scatter, "share of the number that is in doubt", "", "not negative", (0.0, 1.0))

    def scale_for(self, knives: Sequence[Knife], elastic: bool) -> Scale:
        """The Scale for these knives, already under their assumptions. ValueError for what is none."""
        found = self.scale
        if not isinstance(found, Scale):
            found = given_function("scale", found, "what makes the claim true", len(knives) + 1)(*knives, elastic)
        why = "It says which numbers make the claim true."
        given_kind("scale", found, Scale, "is no Scale", why)
        if len(found.words) != len(found.bounds) + 1 or list(found.bounds) != sorted(found.bounds):
            cure = "Give rising bounds, and one word more than bounds."
            raise refuse("scale", tuple(found), "does not say what every number makes of the claim", why, cure)
        return found

    def cases(
        self, knives: Sequence[Knife], options: Mapping[str, str], numbers: Sequence[Mapping]
    ) -> list[ComparedKnife]:
        """The knives that it compares, its own knives taken under the assumptions; numbers: see `cases`."""
        own = given_function("cast", self.cast, "which knives are compared", len(knives))

        def cast(*knives):
            return own(*(assume(knife, options) for knife in knives))

        return cases(cast, knives, numbers, options.get("bar") == "elastic")

    @classmethod
    def compose(
        cls, quantity: str, of: Asked = "as it is", against: Asked = "one ball", relation: str = "at least 2 times"
    ) -> "Claim":
        """A Claim that a number of one knife stands in a relation to that of another.

        quantity: one of own.QUANTITIES. of, against: a Knife, a word of own.MAKERS or of own.BY_SIZE with a size, such
        as "bent back by 0.3 mm", "one ball of 5/64 in" or "worn by 0.06 mm", a Knife with a word as (knife, "one
        ball"), or a function from a Knife to a Knife; words and functions start from the knife that is judged, or from
        the fixed one where the other is a Knife. relation: such as those in own.RELATIONS. Raises ValueError for what
        is none of these.

        >>> claim = Claim.compose("break_force", of="second leaf", against="one ball", relation="at least 2 times")
        >>> claim.sentence
        'The break force of the knife with a second leaf is at least 2 times that of the knife with one ball.'
        """
        return cls(**composed(quantity, of, against, relation))

    def judged(self, knives: Sequence[Knife], options: Mapping[str, str], drawn: Cloud | None = None) -> Verdict:
        """The Verdict on these knives under {switch: option}; drawn: their Cloud, where there is one."""
        if self.second_ball and any(len(knife.balls) > 2 for knife in knives):
            raise KnifeError(_more_than_two(knives), knives[0].title)
        drawn, elastic = drawn or cloud(*knives), options.get("bar") == "elastic"
        drawn = drawn.first(ELASTIC) if elastic else drawn
        scale = self.scale_for([assume(knife, options) for knife in knives], elastic)
        exact = options.get("card") == "exact"
        numbers = tuple({} if exact else drawn.numbers(i) for i in range(len(knives)))
        found = Verdict(self, tuple(knives), options, scale, drawn, self.cases(knives, options, numbers))
        if math.isnan(found.column[0]):
            self._say_why(knives, options)
        return found

    def _say_why(self, knives, options):
        for knife in self.cast(*(assume(knife, options) for knife in knives)):
            limits.check(knife)
        wrong = "the number of this claim does not exist for this knife"
        cure = "Look at what the form of notebook 00 says of it under “Look at this”, and judge another claim."
        raise KnifeError(Problem("", "", wrong, "", cure), knives[0].title)


def _more_than_two(knives):
    return Problem(
        "balls",
        str(max(len(knife.balls) for knife in knives)),
        "is more than the two that this claim speaks of",
        "A third one can carry as well, so without it another knife would be judged.",
        "Take it out of the knife file, or compose a claim of the knife “as it is”, in which all balls count.",
    )


def worded(id: str, **reckoned: object) -> Claim:
    """The Claim of this id in claims.toml, with what is reckoned for it: number, scale, cast and so on."""
    words = WORDS[id]
    return Claim(id=id, **words | {"bench": WORDS["bench"].get(words["bench"], words["bench"])}, **reckoned)
