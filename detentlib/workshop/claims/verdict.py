"""What came of a claim: the scale that its number is read on, the verdict, what would flip it, what would decide it."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from ...bench.instruments import improvements
from ...bench.value import Value
from ...mechanics.feel import feel
from ...mechanics.notes import gathered
from ...parts import KnifeError
from ...plain import in_markdown
from ...units import both, show
from .switches import SWITCHES
from .together import Measured, name_in

TRUE, PARTLY, FALSE, OPEN = "true", "partly", "false", "cannot tell"
TIMES = "times"
_UNEVEN = 0.7  # from here on the larger side stands for both


class Scale(NamedTuple):
    """Which numbers make a claim true: words[i] holds from bounds[i − 1] (or without end) up to bounds[i].

    >>> scale = Scale((1.5, 1.9), (FALSE, PARTLY, TRUE))
    >>> scale.word(1.6), scale.verdict(1.4, 1.8), scale.verdict(1.0, 1.4)
    ('partly', 'cannot tell', 'false')
    """

    bounds: tuple
    words: tuple

    def word(self, number):
        """What the number makes of the claim."""
        return self.words[sum(number >= bound for bound in self.bounds)]

    def verdict(self, low, high):
        """The same for a number that lies somewhere from low to high: "cannot tell" where a bound lies between."""
        first, last = (sum(end >= bound for bound in self.bounds) for end in (low, high))
        reached = set(self.words[first : last + 1])
        return OPEN if len(reached) > 1 else reached.pop()

    def said(self, unit):
        """The scale in words."""
        ends = [f"{bound:.3g}".replace("-", "−") for bound in self.bounds]
        if not ends:
            return f"{self.words[0]} for every number"
        parts = [f"{self.words[0]} below {ends[0]}"]
        parts += [f"{word} from {low} to {high}" for word, low, high in zip(self.words[1:-1], ends, ends[1:], strict=False)]
        return ", ".join([*parts, f"{self.words[-1]} from {ends[-1]}{_unit(unit)} on"])


class Part(NamedTuple):
    """A number that a claim is made of: what it is in words, its unit, and how it comes from the Cases."""

    said: str
    unit: str
    of: Callable


class Flip(NamedTuple):
    """What one other assumption makes of a claim: the switch, its option, that option in words, the Verdict then."""

    switch: str
    option: str
    said: str
    verdict: object


@dataclass(frozen=True, repr=False)
class Verdict:
    """What came of a claim on a knife: `word` is true, partly, false or cannot tell.

    number: the deciding Value, in `unit`; scale: which numbers make it true; parts: (Part, Value) beside it;
    options: the assumptions; flips: what each other assumption would make of it; advice: what to measure next.
    """

    claim: object
    knives: tuple
    options: dict
    scale: Scale
    measured: Measured

    @property
    def number(self):
        """The deciding number with its ± (95 %)."""
        low, high = self.ends
        value = self.measured.value
        return Value(value, max(value - low, high - value))

    @property
    def ends(self):
        """The two ends between which the deciding number lies, 19 times in 20."""
        value, low, high = self.measured[:3]
        scatter = self.claim.scatter * value
        return value - math.hypot(value - low, scatter), value + math.hypot(high - value, scatter)

    @property
    def unit(self):
        """Unit of the deciding number."""
        return self.claim.number.unit

    @property
    def word(self):
        """true, partly, false or cannot tell."""
        return self.scale.verdict(*self.ends)

    @property
    def figure(self):
        """The deciding number in words: with its ±, or with both its ends where an edge makes them uneven."""
        value, doubt = self.number
        low, high = self.ends
        said = [show(each, "", doubt).partition(" ±")[0].strip() for each in (value, low, high)] if _tells(self.number) else []
        if said and min(value - low, high - value) < _UNEVEN * doubt and said[1] != said[2]:
            return f"{said[0]} ({said[1]} to {said[2]}){_unit(self.unit)}"
        return figure(self.number, self.unit)

    @cached_property
    def parts(self):
        """The numbers beside the deciding one, each as (Part, Value)."""
        return list(zip(self.claim.parts, self.claim.part_values(self.knives, self.options), strict=True))

    @property
    def title(self):
        """The knife or knives that it was judged on."""
        return " and ".join(str(knife.title) for knife in self.knives)

    @cached_property
    def others(self):
        """What every single other assumption would make of the claim: a tuple of Flip, whether it changes the verdict or not."""
        found = []
        for name in self.claim.switches:
            for option, (said, _) in SWITCHES[name].options.items():
                if option != self.options[name]:
                    found += self._with(name, option, said)
        return tuple(found)

    @property
    def flips(self):
        """The single assumptions that change the verdict: a tuple of Flip."""
        return tuple(other for other in self.others if other.verdict.word != self.word)

    @property
    def advice(self):
        """Measurements that would make the deciding number surer, cheapest gain first: a list of Advice."""
        found = self.measured
        return improvements(found.shares, found.doubts, self.number.doubt) if self.number.doubt else []

    @property
    def margin(self):
        """From the number to the nearest bound where the word changes."""
        bounds = [b for b, one, two in zip(self.scale.bounds, self.scale.words, self.scale.words[1:], strict=False) if one != two]
        return min((abs(self.number.value - bound) for bound in bounds), default=float("inf"))

    def _with(self, name, option, said):
        try:
            other = self.claim.judged(self.knives, self.options | {name: option})
        except KnifeError:
            return []
        return [Flip(name, option, said, other)]

    @property
    def next_words(self):
        """What would decide, or what would prove it at the bench: one or two sentences."""
        if self.word != OPEN:
            return f"Decided. To see it at the bench: {self.claim.bench}"
        if not self.advice:
            return f"No instrument of the table would sharpen it. Instead, {self.claim.bench}"
        first, (steps, left) = self.advice[0], self._series()
        what = f"{name_in(first.path, self.knives)}, by {first.instrument}"
        said = f"Measure {what}. The ± falls from {self.number.doubt:.2g} to {first.result_doubt:.2g}{_unit(self.unit)}"
        if first.result_doubt < self.margin:
            return f"{said}, and that decides."
        with_all = f"{len(steps)} measurements of the instrument table, one after the other, bring it to {left:.2g}"
        if left < self.margin:
            return f"{said}. {with_all}, and that decides."
        return f"{said}. {with_all}, but it would take {self.margin:.2g}. Instead, {self.claim.bench}"

    def _series(self):
        """(measurements one after the other, each the cheapest gain left, until the number is decided; its ± then)."""
        found, steps = self.measured, []
        shares, doubts, doubt = dict(found.shares), dict(found.doubts), self.number.doubt
        while doubt >= self.margin and (more := improvements(shares, doubts, doubt)):
            best = more[0]
            shares[best.path] *= best.doubt_then / best.doubt_now
            doubts[best.path], doubt = best.doubt_then, best.result_doubt
            steps.append(best)
        return steps, doubt

    @property
    def flip_words(self):
        """Which assumption changes the verdict, a sentence each."""
        said = [f"{flip.said}: {flip.verdict.word} ({flip.verdict.figure})" for flip in self.flips]
        return tuple(said) or ("No single one of the assumptions above changes the verdict.",)

    @property
    def lines(self):
        """(heading, sentences) of the whole verdict, for any page."""
        told = [(f"{self.claim.number.said}", (f"{self.figure}. Scale: {self.scale.said(self.unit)}.",))]
        told.append(("Numbers", tuple(f"{part.said}: {figure(value, part.unit)}" for part, value in self.parts)))
        told.append(("Assumed", tuple(SWITCHES[name].options[option].said for name, option in self.options.items())))
        told += [("What would flip it", self.flip_words), ("Why", (self.claim.why,)), ("Next", (self.next_words,))]
        return [(heading, said) for heading, said in told if said]

    @property
    def left_out(self):
        """What the numbers leave out, each with its order of size."""
        return gathered([knife.title for knife in self.knives], [feel(knife).left_out for knife in self.knives])

    def __str__(self):
        """In words, for a notebook."""
        head = f"“{self.claim.sentence}” ({self.claim.says}) on {self.title}: {self.word.upper()}"
        return "\n".join([head, *(f"{heading}: {'; '.join(said)}" for heading, said in self.lines)])

    def __repr__(self):
        return str(self)

    def _repr_markdown_(self):
        head = f"**“{in_markdown(self.claim.sentence)}”** ({in_markdown(self.claim.says)}), on {in_markdown(self.title)}: **{_full(self.word)}**"
        body = "\n".join(f"- *{in_markdown(heading)}:* {in_markdown('; '.join(said))}" for heading, said in self.lines)
        return f"{head}\n\n{body}"


def figure(number, unit):
    """A Value in words, in its unit and in inch units; ratios as "1.27 ± 0.05 times".

    >>> figure(Value(1.2689, 0.051), "times"), figure(Value(12.0394, 0.15), "N")
    ('1.269 ± 0.051 times', '12.04 ± 0.15 N (2.707 ± 0.034 lbf)')
    """
    doubt = number.doubt if _tells(number) else None
    if unit in (TIMES, "%"):
        return f"{show(number.value, '', doubt).strip()}{_unit(unit)}"
    return both(number.value, unit, doubt)


def _tells(number):
    """Whether the ± is more than the dust of the arithmetic."""
    return number.doubt > max(1e-6, 1e-4 * abs(number.value))


def _unit(unit):
    return "" if not unit else "°" if unit == "deg" else f" {unit}"


def _full(word):
    return "cannot tell with these instruments" if word == OPEN else word
