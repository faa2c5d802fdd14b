"""A claim that somebody builds by hand, and errors made by hand: what is of a wrong kind is refused in own words."""

import numpy as np
import pytest

import detentlib as dl
from detentlib.argue.scale import DOUBLE, Part, Scale, force
from tests.knives import A

PARTS = {
    "id": "heavy",
    "sentence": "It is heavy.",
    "number": force(0, "break force"),
    "scale": DOUBLE,
    "cast": lambda knife: (knife,),
    "why": "a test",
    "bench": "pull",
    "says": "a test",
}
WRONG = {
    "a number that is none": ("number", 3, "Give a Part"),
    "a number in words": ("number", Part("force", "N", lambda case: "text"), "is no number of each knife"),
    "a number of another shape": ("number", Part("force", "N", lambda case: np.ones((2, 2))), "is no number of each"),
    "a number of other knives": ("number", Part("force", "N", lambda: 3.0), "takes other arguments"),
    "a scale that is none": ("scale", 3, "Give a Scale or a function"),
    "a scale that gives none": ("scale", lambda *knives: 3, "is no Scale"),
    "a scale of other knives": ("scale", lambda knife: DOUBLE, "takes other arguments"),
    "a scale with a word too few": ("scale", Scale((1.0,), ("true",)), "does not say what every number makes"),
    "a scale that falls": ("scale", Scale((2.0, 1.0), ("a", "b", "c")), "does not say what every number makes"),
    "a cast that is none": ("cast", 3, "Give a function"),
    "a cast of other knives": ("cast", lambda: (), "takes other arguments"),
    "a cast that gives one knife": ("cast", lambda knife: knife, "gives no knives"),
    "a cast that gives nothing": ("cast", lambda knife: (), "gives no knives"),
    "parts": ("parts", (3,), "each a Part"),
    "assumptions": ("switches", ("colour",), "is not known"),
    "a start": ("start", {"bar": "wooden"}, "bar can be rigid or elastic"),
    "a start that it has not": ("start", {"colour": "red"}, "no switch colour"),
    "a share below zero": ("scatter", -1.0, "must not be negative"),
    "a share of more than all": ("scatter", 2.0, "outside 0 to 1"),
    "knives": ("knives", (3,), "each a Knife"),
    "names": ("names", 3, "each a text"),
    "a sentence": ("sentence", None, "Give a text"),
}


def test_a_claim_of_ones_own_is_judged():
    assert dl.judge(dl.Claim(**PARTS), A, card="exact").word in ("true", "partly", "false")


@pytest.mark.parametrize(("name", "given", "said"), WRONG.values(), ids=WRONG)
def test_a_claim_with_a_wrong_part_is_refused(name, given, said):
    with pytest.raises(ValueError, match=said):
        dl.judge(dl.Claim(**PARTS | {name: given}), A, card="exact")


MADE = {
    "what stops a search": (lambda: dl.break_it("doubles", A, stop=3), "stop = 3: is no function"),
    "what stops with an argument": (lambda: dl.break_it("doubles", A, stop=lambda now: 3), "takes other arguments"),
    "a part": (lambda: Part(3, "N", len), "Give a text"),
    "what a part comes from": (lambda: Part("a", "N", 3), "Give a function"),
    "a bound": (lambda: Scale((float("nan"),), ("a", "b")), "each a number"),
    "a limit in words": (lambda: dl.Within("x"), "is no limit of a ±"),
    "a limit below zero": (lambda: dl.Within(-1), "is no limit of a ±"),
    "no limit": (lambda: dl.Within(float("inf")), "is no limit of a ±"),
    "problems": (lambda: dl.KnifeError(3), "is no Problem"),
    "problems in an array": (lambda: dl.KnifeError(np.array(3.0)), "is no Problem"),
    "problems in words": (lambda: dl.KnifeError("text"), "is no Problem"),
    "problems of readings": (lambda: dl.ReadingError(None), "Give a text"),
    "a source": (lambda: dl.ReadingError("x", 3), "Give a text"),
    "stock": (lambda: dl.options(A, {"barrier": (1, 2)}, balls=[1.5]), "no list of Sizes"),
    "new parts": (lambda: dl.options(A, {"barrier": (1, 2)}, new_parts=None), "neither True nor False"),
    "lists of places": (lambda: dl.options(A, {"barrier": (1, 2)}, [[]]), "names no place"),
    "progress": (lambda: dl.options(A, {"barrier": (1, 2)}, progress="text"), "is no function"),
    "a scale without end": (lambda: dl.template(A, "never.svg", 10**400), "is not a number above zero"),
    "half a character": (lambda: dl.Knife("\ud800", A.balls, A.bar, A.blade, A.friction), "half a character"),
    "half a character in a name": (lambda: dl.read_knife("\ud800.toml"), "no name of a file"),
    "a name without end": (lambda: dl.write_knife(A, "x" * 5000), "too long for the name of a file"),
}


@pytest.mark.parametrize(("make", "said"), MADE.values(), ids=MADE)
def test_what_is_made_of_a_wrong_kind_is_refused(make, said):
    with pytest.raises(ValueError, match=said) as caught:
        make()
    assert "codec" not in str(caught.value)
    assert len(str(caught.value)) < 500
