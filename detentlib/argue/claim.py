"""Settling an argument: a claim, the number that decides it, its ±, and the verdict: true, partly, false, or cannot tell."""

import difflib
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from importlib import import_module

from ..doubt.cloud import cloud
from ..knife.parts import Knife, KnifeError, Problem
from ..mechanics import limits
from .cases import cases
from .switches import assume, options_of
from .verdict import Part, Verdict

ELASTIC = 256  # draws of an elastic bar: each takes 30 times as long


@dataclass(frozen=True)
class Claim:
    """One claim about a knife, to be judged by a number.

    id; sentence; says: who claims it. number: the Part that decides. scale: a Scale, or a function (assumed knives,
    elastic) that gives one. cast(*knives) -> the knives that are compared; it is given many knives in one as well (see
    Knife.with_arrays), so it chooses by np.where, or as the first of them is. parts: numbers to show beside the deciding
    one. switches: names of the assumptions that matter; start: {switch: option} where it is not the first. why: the
    mechanics in a sentence or two; bench: how to see it at the bench. scatter: share of the number that is always in
    doubt. knives: fixed ones that stand in for the knife that is judged; made_by: the call that composed it. second_ball:
    it is about two balls, so that a knife with one gets a twin.
    """

    id: str
    sentence: str
    says: str
    number: Part
    scale: object
    cast: Callable
    parts: tuple
    switches: tuple
    why: str
    bench: str
    start: dict = field(default_factory=dict)
    scatter: float = 0.0
    knives: tuple = ()
    made_by: str = ""
    second_ball: bool = True

    def scale_for(self, knives, elastic):
        """The Scale for these knives, already under their assumptions."""
        return self.scale(*knives, elastic) if callable(self.scale) else self.scale

    def cases(self, knives, options, numbers):
        """The Cases that it compares, its knives taken under the assumptions; numbers: see `cases`."""
        return cases(lambda *knives: self.cast(*(assume(knife, options) for knife in knives)), knives, numbers, options.get("bar") == "elastic")

    @classmethod
    def compose(cls, quantity, of="as it is", against="one ball", relation="at least 2 times"):
        """A claim of your own; see `compose` in own.py."""
        from .own import compose

        return compose(quantity, of, against, relation)

    def judged(self, knives, options, drawn=None):
        """The Verdict on these knives under {switch: option}; drawn: their Cloud, where there is one."""
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
        """Raise the KnifeError of the first knife that cannot work."""
        for knife in self.cast(*(assume(knife, options) for knife in knives)):
            limits.check(knife)
        cure = "Look at what the form of notebook 00 says of it under “Look at this”, and judge another claim."
        raise KnifeError(Problem("", "", "the number of this claim does not exist for this knife", "", cure), knives[0].title)


class Claims(Mapping):
    """Every claim by its id; shown as a list of who says what."""

    _ROOMS = ("two", "strength", "proof")

    @cached_property
    def _all(self):
        found = [claim for room in self._ROOMS for claim in import_module(f".{room}", __package__).CLAIMS]
        return {claim.id: claim for claim in found}

    def __getitem__(self, id):
        """The Claim with this id; KeyError naming near ones."""
        if id not in self._all:
            near = difflib.get_close_matches(str(id), self._all, 3, 0.4) or self._all
            raise KeyError(f"no claim {id!r}; did you mean {' or '.join(near)}?")
        return self._all[id]

    def __iter__(self):
        """Ids."""
        return iter(self._all)

    def __len__(self):
        """How many claims there are."""
        return len(self._all)

    def __repr__(self):
        return "\n".join(f"{claim.id}: “{claim.sentence}” ({claim.says})" for claim in self.values())


claims = Claims()


def judge(claim, knife=None, **switches):
    """Judge a claim on one Knife: a Verdict, from joint draws of the knife's numbers within their ± (see `cloud`).

    claim: a Claim or the id of one in `claims`. knife: may be left out for a composed claim between fixed knives.
    switches: assumptions by name, such as blade="plane", arms="equal", bar="elastic", sideways="stiff", friction="none", spring="constant",
    rim="worn", card="exact"; which a claim has stands in its `switches`. A verdict stands where 97.5 %
    of the draws agree; else it is "cannot tell". Raises KeyError for an unknown claim, ValueError for an
    unknown switch, KnifeError for a knife that cannot work or that the claim is not about.

    >>> from detentlib.files.demo import demo
    >>> found = judge("doubles", demo("pellowfen-a"))
    >>> found.word, round(found.number.value, 2)
    ('false', 1.0)
    """
    claim = claim if isinstance(claim, Claim) else claims[claim]
    knives = claim.knives or (knife,)
    if not all(isinstance(each, Knife) for each in knives):
        raise ValueError(f"{claim.id} is judged on a knife: give one, read from its knife file")
    return claim.judged(knives, options_of(claim.switches, claim.start, switches))
