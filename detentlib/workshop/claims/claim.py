"""Settling an argument: a claim, the number that decides it, its ±, and the verdict: true, partly, false, or cannot tell."""

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from importlib import import_module

from ...parts import Knife
from .switches import assume, known_exactly, options_of
from .together import evaluate, first_order, measure
from .verdict import Part, Verdict


@dataclass(frozen=True)
class Claim:
    """One claim about a knife, to be judged by a number.

    id; sentence; says: who claims it. number: the Part that decides. scale: a Scale, or a function (assumed knives,
    elastic) that gives one. cast(*knives) -> the knives that are compared; parts: numbers to show beside the deciding
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

    def values(self, rows, options):
        """The deciding number, without ±, for each row of knives: an array, nan where a knife cannot be or cannot work."""
        return evaluate([self.number.of], self._under(options), rows, options.get("bar") == "elastic")[:, 0]

    def measured(self, knives, options):
        """Measured of the deciding number."""
        return measure(self.number.of, self._under(options), _known(knives, options), options.get("bar") == "elastic")

    def part_values(self, knives, options):
        """A Value for each part."""
        return first_order([part.of for part in self.parts], self._under(options), _known(knives, options), options.get("bar") == "elastic")

    def _under(self, options):
        """The cast of knives that are first taken under the assumptions."""
        return lambda *knives: self.cast(*(assume(knife, options) for knife in knives))

    @classmethod
    def compose(cls, quantity, of="as it is", against="one ball", relation="at least 2 times"):
        """A claim of your own; see `compose` in own.py."""
        from .own import compose

        return compose(quantity, of, against, relation)

    def judged(self, knives, options):
        """The Verdict on these knives under {switch: option}."""
        measured = self.measured(knives, options)
        scale = self.scale_for([assume(knife, options) for knife in knives], options.get("bar") == "elastic")
        return Verdict(self, tuple(knives), options, scale, measured)


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
    """Judge a claim on one Knife: a Verdict, computed from the knife's numbers and their ±.

    claim: a Claim or the id of one in `claims`. knife: may be left out for a composed claim between fixed knives.
    switches: assumptions by name, such as blade="plane", arms="equal", bar="elastic", sideways="stiff", friction="none", spring="constant",
    rim="worn", card="exact"; which a claim has stands in its `switches`. The verdict is "cannot tell" where the ± of
    the deciding number reaches over a bound of its scale. Raises KeyError for an unknown claim, ValueError for an
    unknown switch, KnifeError for a knife that cannot work or that the claim is not about.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> found = judge("doubles", Knife("A", [ball], LockBar(17.04, rate=10.298), Blade(14.0), Friction(0.12)))
    >>> found.word, round(found.number.value, 2)
    ('false', 1.0)
    """
    claim = claim if isinstance(claim, Claim) else claims[claim]
    knives = claim.knives or (knife,)
    if not all(isinstance(each, Knife) for each in knives):
        raise ValueError(f"{claim.id} is judged on a knife: give one, as read_knife does")
    return claim.judged(knives, options_of(claim.switches, claim.start, switches))


def _known(knives, options):
    """The knives with their ±, or without where every number counts as exact."""
    return tuple(map(known_exactly, knives)) if options.get("card") == "exact" else tuple(knives)
