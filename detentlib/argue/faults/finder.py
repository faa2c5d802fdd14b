"""The fault finder: a complaint in the owner's words, and what this knife's own numbers say of each cause.

Causes and moves are those of common practice; what the model can reckon is reckoned, and what it cannot is marked.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from ...doubt.draws import interval
from ...knife.checks import refuse
from ...knife.given import given_knife
from ...knife.parts import Knife, guessed
from ...knife.plain import in_markdown
from . import events, numbers, wear
from .case import EXCLUDED, STANDINGS, Case, plain
from .numbers import TOO_LARGE, TOO_SMALL
from .usual import USUAL
from .words import Asking, table, understood

_ALL_OUT = (
    "The numbers on the card exclude every cause that can be reckoned. Then the card is no longer this knife: "
    "take the readings that decide again, the first ones first. "
    "If they agree with the card, the knife is as it was made, and the wish is for another one."
)


class Symptom(NamedTuple):
    """One complaint: the number it shows in, causes most likely first, what the card says, and whether that number is
    too small (−1) or too large (1), 0 for neither. Its words: words.toml.
    """

    result: str
    causes: tuple
    sign: Callable
    too: int = 0


def _break(case):
    low, high = USUAL["break_force"]
    found = interval(case.drawn.column("break_force"))
    breaks = f"this knife breaks at {found.said('N')} at the tab"
    return f"{breaks}; {low:g} to {high:g} N is usual (common practice)"


def _opens(case):
    return f"the blade opens to {plain(case.knife.blade.opening_deg, 'deg')}"


def _presses(case):
    return f"the ball rides the flat with {plain(case.felt.ride_load, 'N')}"


def _stands_out(case):
    ball = case.knife.balls[case.resting]
    return f"{plain(ball.protrusion, 'mm')} of the ball of {plain(ball.diameter, 'mm')} stands out"


def _barrier(case):
    barrier, deep = plain(case.felt.barrier, "mJ"), plain(case.felt.seat_depth[case.at], "mm")
    return f"the barrier is {barrier}, the seat {deep} deep, and it breaks at {plain(case.felt.break_force, 'N')}"


_WEAK = (numbers.SMALL_GAP, numbers.FAR_OUT, events.off_track, numbers.SOFT, events.bar_face, numbers.WET)

SYMPTOMS = {
    "weak": Symptom("break_force", _WEAK, _break, TOO_SMALL),
    "got weaker": Symptom(
        "break_force",
        (wear.worn_rim, wear.ball_sunk, wear.preset_lost, wear.pivot_play, numbers.WET, events.bar_face),
        _break,
        TOO_SMALL,
    ),
    "falls open": Symptom("break_force", (*_WEAK, events.own_weight), _break, TOO_SMALL),
    "opens in the pocket": Symptom(
        "barrier",
        (numbers.SHALLOW, numbers.SOFT, numbers.FAR_OUT, events.off_track, events.bar_face, wear.cloth),
        _barrier,
        TOO_SMALL,
    ),
    "falls open after a knock": Symptom(
        "barrier", (numbers.SHALLOW, numbers.SOFT, events.own_weight), _barrier, TOO_SMALL
    ),
    "will not flick": Symptom(
        "swing",
        (events.little_to_press, events.much_to_press, numbers.DRAG, numbers.DRY, events.near_jam),
        lambda case: (
            f"the whole knife breaks at {plain(case.felt.gauge_break_force, 'N')} at the tab; "
            f"swinging it open takes {plain(case.now, 'mJ')}, the barrier {plain(case.felt.barrier, 'mJ')} of it"
        ),
        TOO_LARGE,
    ),
    "too stiff": Symptom(
        "break_force",
        (numbers.DRY, numbers.LARGE_GAP, numbers.HARD, events.second_ball, numbers.SHORT_ARM, numbers.FAR_IN),
        _break,
        TOO_LARGE,
    ),
    "hard to close": Symptom(
        "drag",
        (numbers.DRAG, numbers.DRY, numbers.HARD, events.bar_face, events.dirt),
        lambda case: (
            f"half open it takes {plain(case.now, 'N')} at the tab against drag, either way; "
            f"it draws itself shut from {plain(case.felt.draw_in_deg, 'deg')}"
        ),
        TOO_LARGE,
    ),
    "gritty": Symptom("break_force", (numbers.DRY, events.burr, events.dirt, events.floor), _break, TOO_LARGE),
    "two-stage": Symptom(
        "break_force",
        (events.handover, events.off_track, events.bar_face, events.stall),
        lambda case: f"the peak of {plain(case.felt.break_force, 'N')} stands at {plain(case.felt.peak_deg, 'deg')}",
    ),
    "no draw-in": Symptom(
        "draw_in_deg",
        (events.off_the_stop, numbers.DRY, numbers.DRAG, events.stall, events.floor),
        lambda case: (
            f"the ball leaves the rim at {plain(case.felt.break_out_deg, 'deg')}, "
            f"and the blade draws itself shut from {plain(case.felt.draw_in_deg, 'deg')}"
        ),
        TOO_SMALL,
    ),
    "rests off the stop": Symptom(
        "rest_deg",
        (events.off_the_stop, events.floor, events.bar_face),
        lambda case: f"it rests {plain(case.felt.rest_deg, 'deg')} off the stop",
    ),
    "loose pivot": Symptom("break_force", (wear.loose_screw, wear.pivot_play), _break),
    "blade off centre": Symptom("ride_load", (wear.pushed_aside, wear.loose_screw, wear.not_straight), _presses),
    "ball fell out": Symptom("break_force", (wear.ball_held, wear.bar_hole, wear.ball_sunk), _stands_out),
    "wears a groove": Symptom(
        "ride_load", (events.pressed_track, events.soft_tang, events.dirt, numbers.HARD), _presses, TOO_LARGE
    ),
    "clicks near open": Symptom("ride_load", (events.run_off, events.crossing), _opens),
    "lock stick": Symptom("ride_load", (events.lock_face,), _opens),
    "lock rock": Symptom("ride_load", (events.lock_play, wear.loose_screw), _opens),
    "lock does not hold": Symptom("ride_load", (events.lock_slips,), _opens),
}


@dataclass(frozen=True, repr=False)
class Faults:
    """What may be at fault: symptom as it is listed here; sign, what the card says of it; causes, ranked; note.

    causes: tuple of Cause, the possible ones first, those that this knife's numbers exclude last.
    """

    symptom: str
    sign: str
    causes: tuple
    note: str = ""

    def __repr__(self):
        return self._repr_markdown_()

    def _repr_markdown_(self):
        """A table to print; what is excluded is struck out and says so."""
        rows = [
            "| | Cause | What this knife's numbers say | The measurement that decides | First move |",
            "|---|---|---|---|---|",
        ]
        for i, cause in enumerate(self.causes, 1):
            place, name = ("–", f"~~{cause.name}~~") if cause.standing == EXCLUDED else (str(i), f"**{cause.name}**")
            move = cause.move if cause.moves else ""
            rows.append(f"| {place} | {name} | {cause.standing}: {cause.said} | {cause.decider} | {move} |")
        return "\n\n".join(part for part in (f"**{self.symptom}.** {self.sign}", "\n".join(rows), self.note) if part)

    @property
    def lines(self) -> tuple[str, ...]:
        """The same in lines, for a terminal."""
        told = [f"{self.symptom.upper()}. {self.sign}"]
        for i, cause in enumerate(self.causes, 1):
            told += ["", f"{i}. {cause.name}", f"   {cause.standing}: {cause.said}"]
            told += [f"   what decides: {cause.decider}"]
            told += [f"   first move: {cause.move}"] if cause.moves else []
        return (*told, *(["", self.note] if self.note else []))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Names of the cautions that go with the moves, as in `say.cautions`."""
        return tuple(dict.fromkeys(name for cause in self.causes if cause.moves for name in cause.move.cautions))


@dataclass(frozen=True, repr=False)
class Found:
    """What was found behind somebody's words.

    said: the words; faults: a Faults for each complaint in them, in the order in which they were said; empty where they
    fit none clearly: then why says what is not clear, and questions what to ask back (see `words.Understood`).
    """

    said: str
    faults: tuple[Faults, ...]
    why: str = ""
    questions: tuple[Asking, ...] = ()

    def __repr__(self) -> str:
        return self._repr_markdown_()

    def _repr_markdown_(self) -> str:
        """The tables to print; or what to ask back, each answer in words that are understood."""
        asked = ["\n".join([f"{q.text}\n", *(f"- “{said}”" for said in q.answers.values())]) for q in self.questions]
        back = [in_markdown(self.back)] if asked else []
        return "\n\n".join([*(each._repr_markdown_() for each in self.faults), *back, *asked])

    @property
    def lines(self) -> tuple[str, ...]:
        """The same in lines, for a terminal."""
        told = [self.back] if self.questions else []
        for each in self.questions:
            told += ["", each.text, *(f"   “{answer}”" for answer in each.answers.values())]
        for i, each in enumerate(self.faults):
            told += [*([""] if i else []), *each.lines]
        return tuple(told)

    @property
    def cautions(self) -> tuple[str, ...]:
        """Names of the cautions that go with the work, as in `say.cautions`: its edge taped, and shaken after it."""
        return tuple(dict.fromkeys(("edge", *(name for each in self.faults for name in each.cautions), "shake")))

    @property
    def back(self) -> str:
        """What comes before the questions; empty where there are none."""
        if not self.questions:
            return ""
        said = f": “{self.said}”" if self.said else ""
        return f"{self.why}{said}. Nothing is guessed here. Say what it does, in words such as these."


def find_fault(symptom: str, knife: Knife) -> Found:
    """What may be behind a complaint about one Knife: a Found, to show as a table for each complaint in it.

    symptom: in the owner's words, such as "weak", "won't flick" or "stops early and then snaps"; two in one sentence
    give both, and words that fit none clearly give the questions to ask back. Each cause is weighed by this knife's
    numbers and their ±: likely (outside what is usual), possible (on the faulty side of its middle), cannot exclude
    (its ± reaches there, or nobody measured it), common practice (the model cannot say), excluded. Ranked by how much
    of the fault each can bring. Raises KnifeError for a knife that cannot work.

    >>> from detentlib.files.demo import demo
    >>> (found,) = find_fault("it is too weak", demo("pellowfen-a").replace({"bar.riding_force": 7.0})).faults
    >>> found.symptom, found.causes[0].name, found.causes[0].standing
    ('weak', 'bar force low: too little preset', 'possible')
    """
    given_knife(knife)
    if not isinstance(symptom, str):
        raise refuse("symptom", symptom, "is no text", "It is what the owner says of the knife.", 'Give one: "weak".')
    heard = understood(symptom)
    return Found(symptom, tuple(faults_of(each, knife) for each in heard.complaints), heard.why, heard.questions)


def faults_of(complaint: str, knife: Knife) -> Faults:
    """The Faults of a knife behind one complaint, a key of SYMPTOMS. Raises KnifeError for a knife that cannot work."""
    asked = SYMPTOMS[complaint]
    case = Case(knife, asked.result)
    causes = [each(case) if callable(each) else numbers.weigh(case, each, asked.too) for each in asked.causes]
    causes.sort(key=lambda cause: (STANDINGS.index(cause.standing), -cause.weight))
    none_left = _ALL_OUT if all(cause.standing == EXCLUDED for cause in causes) else ""
    note = table()["complaint"][complaint].get("note", none_left)
    unsure = [f"On the card {said}." for said in guessed(knife)]
    return Faults(complaint, f"By its card {asked.sign(case)}.", tuple(causes), " ".join([note, *unsure]).strip())
