"""Every claim that people make of knives, and the verdict on one of them."""

import difflib

from ..knife.checks import short, shortened
from ..knife.parts import Knife, Problem
from . import proof, strength, two
from .claim import Claim
from .switches import options_of
from .verdict import Verdict


class Claims(dict):
    """Every claim by its id; shown as a list, each with the side that says it."""

    def __getitem__(self, id: str) -> Claim:
        """The claim of this id; KeyError naming near ones."""
        return super().__getitem__(id) if isinstance(id, str) else self.__missing__(id)

    def __missing__(self, id):
        """KeyError naming near ones."""
        raise KeyError(str(self.unknown(id)))

    def unknown(self, id: str) -> Problem:
        """That there is no claim of this id, with near ones."""
        near = difflib.get_close_matches(shortened(str(id)), self, 3, 0.4)
        cure = f"Did you mean {' or '.join(near)}?" if near else f"There are {', '.join(self)}."
        return Problem("claim", short(id), "is not known", "A claim goes by its short name.", cure)

    def __repr__(self):
        return "\n".join(f"{claim.id}: “{claim.sentence}” ({claim.says})" for claim in self.values())


claims = Claims({claim.id: claim for claim in (*two.CLAIMS, *strength.CLAIMS, *proof.CLAIMS)})


def judge(claim: Claim | str, knife: Knife | None = None, **switches: str) -> Verdict:
    """Judge a claim on one Knife: a Verdict, from joint draws of the knife's numbers within their ± (see `cloud`).

    claim: a Claim or the id of one in `claims`. knife: may be left out for a composed claim between fixed knives.
    switches: assumptions by name, such as blade="plane", arms="equal", bar="elastic", sideways="stiff",
    friction="none", spring="constant", rim="worn", card="exact"; which a claim has stands in its `switches`. A verdict
    stands where 97.5 % of the draws agree; else it is "cannot tell". Raises KeyError for an unknown claim, ValueError
    for an unknown switch, KnifeError for a knife that cannot work or that the claim is not about.

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
