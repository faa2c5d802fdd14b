"""What came of a claim: the scale that its number is read on, the verdict, what would flip it, what would decide it."""

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..doubt.cloud import Cloud
from ..doubt.draws import SPARE, SURE, Interval, interval, scores, share_said, shares_said
from ..knife.parts import Knife, KnifeError, guessed
from ..knife.plain import in_markdown
from ..knife.units import behind, both
from ..measure.next_measurement import Advice, improvements
from ..mechanics.feel import feel
from ..mechanics.notes import gathered
from ..tune.pair import has_second_ball
from .cases import ComparedKnife, column_of
from .scale import OPEN, TIMES, Part, Scale
from .switches import SWITCHES, assume

if TYPE_CHECKING:
    from .claim import Claim

_SETTLED = 0.975  # share of the draws from which on a verdict stands
_DUST = 1e-6  # mm
_OF_READING = "of what the ± of the reading itself leaves open"
_BY_A_HAIR = ", but by a hair: other draws might say that they cannot tell"
_NO_SECOND_BALL = (
    "this knife has no second ball to try. Pull at the tab five times, and hold that against one ball's number above."
)
_FEW = (128, 512)  # draws of what another assumption makes of it, where they settle it
_WORTH = 0.99  # of a ±: for less than a hundredth off it nobody would measure
_SURELY = 3.3  # standard errors of a share: one of a thousand is as far off


class Flip(NamedTuple):
    """What one other assumption makes of a claim: the switch, its option, that option in words, the Verdict then."""

    switch: str
    option: str
    said: str
    verdict: "Verdict"


@dataclass(frozen=True, repr=False)
class Verdict:
    """What came of a claim on a knife: `word` is true, partly, false or cannot tell.

    number: the Interval of the deciding number, in `unit`; scale: which numbers make it true; shares: {word: share of
    what the cards allow that makes it so}; parts: (Part, Interval) beside it; options: the assumptions; flips: what
    each other assumption would make of it; advice: what to measure next. drawn: the Cloud; cases: the knives that are
    compared.
    """

    claim: "Claim"
    knives: tuple
    options: dict
    scale: Scale
    drawn: Cloud
    cases: list[ComparedKnife]

    @cached_property
    def column(self) -> np.ndarray:
        """The deciding number, array [n + 1]: of the card itself, then of each draw; nan where there is none."""
        column = self._column(self.claim.number)
        if not self.claim.scatter:
            return column
        scatter = scores([SPARE], self.drawn.n)[:, 0] * self.claim.scatter / SURE
        return column * (1 + np.concatenate([[0.0], scatter]))

    def _column(self, part):
        return np.broadcast_to(column_of(part.of, self.cases), (self.drawn.n + 1,))

    @cached_property
    def number(self) -> Interval:
        """The Interval of the deciding number."""
        return interval_of(self.column)

    @cached_property
    def shares(self) -> dict[str, float]:
        """{word: share of the draws for which it is so}, the largest first; draws without a number do not count."""
        return self.scale.shares(self.column)

    @property
    def unit(self) -> str:
        """Unit of the deciding number."""
        return self.claim.number.unit

    @property
    def word(self) -> str:
        """true, partly, false or cannot tell."""
        word, share = next(iter(self.shares.items()))
        return word if share >= _SETTLED else OPEN

    @property
    def figure(self) -> str:
        """The deciding number in words: with its ±, or with both its ends where an edge makes them uneven."""
        return self.number.said(self.unit)

    @property
    def decides(self) -> str:
        """The number, the scale, and in how much of what the cards allow each of its words is so."""
        scale = f"Scale: {self.scale.said(self.unit)}."
        return " ".join(filter(None, [f"{self.figure}.", self.exact_words, scale, self.share_words]))

    @property
    def exact_words(self) -> str:
        """Why the number has no ±; "" where it has one."""
        if self.number.doubt:
            return ""
        if self.options.get("card") == "exact":
            return "It has no ±, as every number of the card is taken as exact."
        alike = self.unit == TIMES and abs(self.number.value - 1) < _DUST
        why = "what parts the two takes no part in it" if alike else "no ± of the card changes it"
        return f"It holds exactly{self._mostly}: {why}."

    @property
    def _mostly(self):
        """In how much of what the cards allow the number is the card's own; "" where always."""
        drawn = self.column[np.isfinite(self.column)]
        share = np.mean(np.abs(drawn - drawn[0]) <= _DUST * max(1.0, abs(drawn[0])))
        return "" if share == 1 else f" in {share_said(share, self.drawn.n)} {self.drawn.allowed}"

    @property
    def share_words(self) -> str:
        """In how much of what the cards allow it is so, and how much cannot work; "" where nothing is in doubt."""
        if not self.number.doubt and not self.number.lost and 1 in self.shares.values():
            return ""
        counted = round(self.drawn.n * (1 - self.number.lost))
        exact = self.options.get("card") == "exact"
        told = shares_said(self.shares, counted)
        told = f"{told[0].upper()}{told[1:]} {_OF_READING if exact else self.drawn.allowed}"
        if self.number.lost:
            told += f"; {share_said(self.number.lost, self.drawn.n)} {self.drawn.allowed} cannot work and is left out"
        own = self.scale.word(self.number.value)
        if not exact and own != next(iter(self.shares)):
            told += f". The card's own numbers, as if they were exact, make it {own}: they stand near one end of it"
        return f"{told}."

    @cached_property
    def parts(self) -> list[tuple[Part, Interval]]:
        """The numbers beside the deciding one, each as (Part, Interval)."""
        return [(part, interval_of(self._column(part))) for part in self.claim.parts]

    @property
    def compared(self) -> dict[str, Knife]:
        """The knives that are compared, under their assumptions, {what each is: Knife}."""
        made = self.claim.cast(*(assume(knife, self.options) for knife in self.knives))
        names = self.claim.names or tuple(map(_kind_of, made))
        twice = {name for name in names if names.count(name) > 1}
        names = [f"{name}, {i}" if name in twice else name for i, name in enumerate(names, 1)]
        return dict(zip(names, made, strict=True))

    @property
    def title(self) -> str:
        """The knife or knives that it was judged on, and what was put into them."""
        put_in = f" with {self.claim.put_in}" if self.claim.put_in else ""
        return " and ".join(str(knife.title) for knife in self.knives) + put_in

    @property
    def other_options(self) -> list[tuple[str, str]]:
        """(switch, option) of every single other assumption."""
        every = ((name, option) for name in self.claim.switches for option in SWITCHES[name].options)
        return [(name, option) for name, option in every if option != self.options[name]]

    def other(self, name: str, option: str) -> Flip | None:
        """The Flip of one other assumption, kept; None where the knife cannot be judged under it."""
        if (name, option) not in self._tried:
            self._tried[name, option] = self._with(name, option)
        return self._tried[name, option]

    @cached_property
    def _tried(self):
        return {}

    @property
    def others(self) -> tuple[Flip, ...]:
        """A Flip for every single other assumption, whether it changes the verdict or not."""
        return tuple(filter(None, (self.other(*each) for each in self.other_options)))

    @property
    def flips(self) -> tuple[Flip, ...]:
        """The single assumptions that change the verdict: a tuple of Flip."""
        return tuple(other for other in self.others if other.verdict.word != self.word)

    @cached_property
    def way_out(self) -> Flip | None:
        """The Flip of a second leaf with a ball of its own; None where that changes nothing or is not the point."""
        if not self.claim.two_leaves:
            return None
        found = self._under(replace(self.claim, cast=self.claim.two_leaves, two_leaves=None), self.options)
        flips = found and found.word != self.word
        return Flip("", "", "a second leaf with a ball of its own", found) if flips else None

    @property
    def stand_in(self) -> str:
        """What was put in for a second ball that the card does not have, or that the claim is not about; else ""."""
        (card, *others), put_in = self.knives, self.claim.put_in
        if put_in and not others and has_second_ball(card):
            own = "carries at rest" if feel(card).rest_carrier == 1 else "does not carry at rest"
            return f"This claim speaks of {put_in}: that was put in. The card's own ball 2 {own}."
        cards = self.knives if len(self.knives) > 1 else self.knives * len(self.cases)
        for card, case in zip(cards, self.cases, strict=True):
            if len(case.knife.balls) > len(card.balls) or has_second_ball(case.knife) > has_second_ball(card):
                return _twin_words(case.knife)
        return ""

    @property
    def advice(self) -> list[Advice]:
        """Measurements that would make the deciding number surer, cheapest gain first: a list of Advice."""
        return [advice for _, advice in self._advice({})]

    @cached_property
    def _sources(self):
        return self.drawn.sources(self.column)

    def _advice(self, done):
        """The same, once other numbers are measured: {Input: new ±}."""
        if not self.number.doubt or self.options.get("card") == "exact":
            return []
        return improvements(self._sources, done)

    @property
    def margin(self) -> float:
        """From the number to the nearest bound where the word changes."""
        sides = zip(self.scale.bounds, self.scale.words, self.scale.words[1:], strict=False)
        bounds = (bound for bound, below, above in sides if below != above)
        return min((abs(self.number.value - bound) for bound in bounds), default=float("inf"))

    def _with(self, name, option):
        other = self._under(self.claim, self.options | {name: option})
        return Flip(name, option, SWITCHES[name].options[option].said, other) if other else None

    def _under(self, claim, options):
        """The Verdict under other options, from as few draws as settle it; None where the knife cannot be judged."""
        try:
            for drawn in (*map(self.drawn.first, _FEW), self.drawn):
                other = claim.judged(self.knives, options, drawn)
                if other.settled:
                    break
        except KnifeError:
            return None
        return other

    @property
    def settled(self) -> bool:
        """Whether more draws would hardly change the word: none of these disagrees, or the share of those that agree
        lies far from where a verdict begins to stand.
        """
        most = next(iter(self.shares.values()))
        return most == 1 or abs(most - _SETTLED) > _SURELY * math.sqrt(most * (1 - most) / self.drawn.n)

    @property
    def next_words(self) -> str:
        """What would decide, or what would prove it at the bench: one or two sentences."""
        if self.word != OPEN:
            hair = next(iter(self.shares.values())) - _SETTLED < 2 * math.sqrt(_SETTLED * (1 - _SETTLED) / self.drawn.n)
            return f"Decided{_BY_A_HAIR if hair else ''}. To see it at the bench: {self._bench}"
        if not self.advice:
            return f"No instrument of the table would sharpen it. Instead, {self._bench}"
        (measured, first), (steps, left) = self._advice({})[0], self._series()
        what = f"{self.drawn.named(measured)}, by {first.instrument}"
        unit = "" if self.unit == TIMES else behind(self.unit)
        now, then = (f"±{doubt:#.2g}{unit}" for doubt in (self.number.doubt, first.result_doubt))
        said = f"Measure {what}. That leaves {then} of {now}"
        if first.result_doubt < self.margin:
            return f"{said}, and that decides."
        with_all = f"{len(steps)} measurements of the instrument table, one after the other, leave ±{left:#.2g}"
        if left < self.margin:
            return f"{said}. {with_all}, and that decides."
        if len(steps) < 2:
            with_all = "No other of the instrument table takes a hundredth more off it"
        return f"{said}. {with_all}, but it would take ±{self.margin:#.2g}. Instead, {self._bench}"

    @property
    def _bench(self):
        return _NO_SECOND_BALL if self.stand_in and not has_second_ball(self.knives[0]) else self.claim.bench

    def _series(self):
        """(measurements one after the other, each the cheapest gain left, until the number is decided; its ± then)."""
        steps, done, doubt = [], {}, self.number.doubt
        while doubt >= self.margin:
            worth = ((each, advice) for each, advice in self._advice(done) if advice.result_doubt < _WORTH * doubt)
            measured, best = next(worth, (None, None))
            if best is None:
                break
            done, doubt = done | {measured: best.doubt_then}, best.result_doubt
            steps.append(best)
        return steps, doubt

    @property
    def flip_words(self) -> tuple[str, ...]:
        """What changes the verdict, a sentence each: a second leaf where that is the way out, then assumptions."""
        flips = filter(None, (self.way_out, *self.flips))
        said = [f"{flip.said}: {flip.verdict.word} ({flip.verdict.figure})" for flip in flips]
        return tuple(said) or ("No single one of the assumptions changes the verdict.",)

    @property
    def lines(self) -> list[tuple[str, tuple[str, ...]]]:
        """(heading, sentences) of the whole verdict, for any page."""
        told = [(self.claim.number.said, (self.decides,)), ("Put in", (self.stand_in,) if self.stand_in else ())]
        told.append(("Numbers", tuple(f"{part.said}: {value.said(part.unit)}" for part, value in self.parts)))
        told.append(("Assumed", tuple(SWITCHES[name].options[option].said for name, option in self.options.items())))
        told.append(("On the card", guessed(*self.knives)))
        told += [("What would flip it", self.flip_words), ("Why", (self.claim.why,)), ("Next", (self.next_words,))]
        return [(heading, said) for heading, said in told if said]

    @property
    def left_out(self) -> tuple[str, ...]:
        """What the numbers leave out, each with its order of size."""
        return gathered([knife.title for knife in self.knives], [feel(knife).left_out for knife in self.knives])

    @property
    def sentences(self) -> tuple[str, ...]:
        """In words, for a terminal: the claim with what becomes of it, then each of `lines`."""
        head = f"“{self.claim.sentence}” ({self.claim.says}) on {self.title}: {self.word.upper()}"
        return (head, *(f"{heading}: {'; '.join(said)}" for heading, said in self.lines))

    def __str__(self):
        """In words, for a notebook."""
        return "\n".join(self.sentences)

    def __repr__(self):
        return str(self)

    def _repr_markdown_(self):
        sentence, says, title = map(in_markdown, (self.claim.sentence, self.claim.says, self.title))
        word = "cannot tell with these instruments" if self.word == OPEN else self.word
        head = f"**“{sentence}”** ({says}), on {title}: **{word}**"
        body = "\n".join(f"- *{in_markdown(heading)}:* {in_markdown('; '.join(said))}" for heading, said in self.lines)
        return f"{head}\n\n{body}"


def interval_of(column: np.ndarray) -> Interval:
    """The Interval of a column; a ± that is no more than the dust of the arithmetic is none."""
    found = interval(column)
    if found.doubt > max(1e-6, 1e-4 * abs(found.value)):
        return found
    return Interval(found.value, found.value, found.value, found.lost)


def _kind_of(knife):
    count = len(knife.balls)
    if knife.second_bar is not None:
        return "two leaves"
    return "one ball" if count == 1 else f"{'two' if count == 2 else count} balls on one bar"


def _twin_words(knife):
    """What was put into a knife whose last ball is a twin."""
    deeper = np.ravel(knife.balls[0].protrusion - knife.balls[-1].protrusion)[0]  # of the card itself
    leaf = " on a leaf of its own" if knife.balls[-1].bar else ""
    stands = f"standing {both(float(deeper), 'mm')} lower" if abs(deeper) > _DUST else "standing out as far"
    return (
        f"The card has one ball on this bar, so a twin of ball 1 was put in{leaf}, {stands}. To judge a real one, give"
        " its numbers as ball 2, in the knife file or in the form of notebook 00."
    )
