"""The questions of notebook 09: which side to take, what a missing track proves, what flips a claim, and when a ± leaves it open."""

import math

from ...workshop.claims.claim import judge
from ...workshop.claims.verdict import PARTLY, TRUE
from ..working import Worked, product, quotient
from .asking import Choice, Given, Mistake, Question, demo

_LOWER = "lower-weakens"
_WAYS = {"a": {"friction": "none"}, "b": {"spring": "constant"}, "c": {"blade": "plane"}}


def _side():
    knife = demo("pellowfen-c")
    twice, nothing = (judge(id, knife) for id in ("doubles", "nothing"))
    said = f"The number is {twice.figure}. “{twice.claim.sentence}” is {twice.word}. “{nothing.claim.sentence}”: {nothing.word}. {nothing.share_words}"
    return "a" if twice.word == TRUE else "b" if nothing.word == TRUE else "c", said


def _track():
    found = judge("missing-track", demo("pellowfen-c"))
    share = f"with rims nearer by 0 to 0.1 mm it never leaves a track, and in {found.figure} of these it is idle"
    said = f"It proves that ball 2 does not ride the flat, and no more: {share}."
    return {TRUE: "a", PARTLY: "b"}.get(found.word, "c"), said


def _flip():
    knife = demo("pellowfen-d")
    now = judge(_LOWER, knife, card="exact")
    found = {letter: judge(_LOWER, knife, card="exact", **way) for letter, way in _WAYS.items()}
    right = next(letter for letter, other in found.items() if other.word != now.word)
    said = f"As drawn the number is {now.figure}; " + "; ".join(f"({letter}) makes it {other.figure}, {other.word}" for letter, other in found.items()) + "."
    return right, said


def _ratio(with_both, with_one, doubt):
    times = quotient("How many times.", "x", with_both, with_one, "")
    parts = [
        quotient(f"Share of the ± in the {which} reading.", f"u_{k}", doubt, force, "")
        for k, (which, force) in enumerate((("first", with_both), ("second", with_one)), 1)
    ]
    size = times.value * math.hypot(*(part.value for part in parts))
    shown = rf"\pm = {times.value:.4g} \sqrt{{{parts[0].value:.4g}^2 + {parts[1].value:.4g}^2}} = {size:.4g}"
    return [times, *parts, Worked("Squares add up, and the ratio carries them.", lambda: shown, size, "")]


def _settled(difference, doubt):
    both = product("Two readings of one ± make root two of it.", r"\pm", math.sqrt(2), doubt, "mm")
    return [both, quotient("The difference, in times its own ±.", "x", difference, both.value, "")]


ARGUE = (
    Choice(
        "09-side",
        "Pellowfen C: a second ball on the same bar, 2 thou lower, its recess one drill smaller. The card has a ± on every number. Who is right?",
        {
            "a": "tangfirst: two balls, two times the snap",
            "b": "oldrelief: it does nothing at all",
            "c": "Neither: one is wrong, the other not proved",
        },
        _side,
        ("One bar has one moment. And how well is the card measured?",),
        {
            "a": "“Two balls, two detents.” One bar has one moment. What one ball takes of it, the other is spared.",
            "b": "“It is lower, so it is idle.” Its rim is nearer. Whether that outweighs 2 thou hangs on thousandths that this card does not know.",
        },
    ),
    Choice(
        "09-track",
        "The tang of Pellowfen C shows one track, that of ball 1. What does it prove about ball 2?",
        {"a": "That it is idle all the way", "b": "That it does not ride the flat, no more", "c": "Nothing at all"},
        _track,
        ("Where would a ball leave its mark that works only in the first two degrees?",),
        {
            "a": "“No track, no work.” A ball that carries only in the climb marks the rim of its recess and leaves the tang clean.",
            "c": "“Marks prove nothing.” They do: a ball that rode the flat would have left a track.",
        },
    ),
    Choice(
        "09-flip",
        "“A lower second ball can only weaken it.” On Pellowfen D, every number exact, that is false. Which drawing of D makes it come true?",
        {"a": "One without friction", "b": "One with the same bar force everywhere", "c": "One in which every ball travels alike"},
        _flip,
        ("What has D that twins have not?",),
        {
            "a": "“Friction makes the difference.” It makes both forces larger, by nearly the same share.",
            "b": "“The spring does it.” The bar force changes little. The long track radius of ball 2 makes the difference.",
        },
    ),
    Question(
        "09-ratio",
        "A gauge reads {with_both} with both balls and {with_one} with ball 2 taken out, each mean ± {doubt}. "
        "How well do you know how many times the one is of the other, ±?",
        {"with_both": Given(11.6, "N"), "with_one": Given(12.0, "N"), "doubt": Given(0.2, "N")},
        "",
        _ratio,
        ("Each reading has a share of ±: its ± over the reading.", "Squares of shares add up."),
        (
            Mistake(
                lambda with_both, with_one, doubt: with_both / with_one * (doubt / with_both + doubt / with_one),
                "that is both at their worst at once, which is rare. Squares add up, not the shares themselves.",
            ),
            Mistake(lambda with_both, with_one, doubt: doubt / with_one, "that is the share of one reading. Two readings, two doubts."),
            Mistake(lambda with_both, with_one, doubt: math.sqrt(2) * doubt, "that is the ± of their difference, in newtons. A ratio has no unit."),
        ),
    ),
    Question(
        "09-settled",
        "A depth micrometer reads both balls, each ± {doubt}; they differ by {difference}. How many times its own ± is the difference?",
        {"difference": Given(0.0508, "mm"), "doubt": Given(0.010, "mm")},
        "",
        _settled,
        ("What is the ± of a difference of two readings?", "From 1 on the difference is proved."),
        (
            Mistake(lambda difference, doubt: difference / doubt, "that takes the ± of one reading. A difference has that of two."),
            Mistake(lambda difference, doubt: difference / (2 * doubt), "that is both at their worst at once, which is rare. Squares add up."),
            Mistake(lambda difference, doubt: math.sqrt(2) * doubt / difference, "that is upside down: the difference over its ±."),
        ),
    ),
)
