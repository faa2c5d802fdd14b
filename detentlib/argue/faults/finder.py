"""The fault finder: a complaint in the owner's words, and what this knife's own numbers say of each cause.

Causes and moves are those of common practice; what the model can reckon is reckoned, and what it cannot is marked.
"""

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from ...doubt.draws import interval
from . import events as events
from . import numbers as numbers
from .case import EXCLUDED, STANDINGS, Case, plain
from .usual import USUAL


class Symptom(NamedTuple):
    """One complaint: what people call it, the number it shows in, the causes most likely first, and what the card
    says.
    """

    words: tuple
    result: str
    causes: tuple
    sign: Callable


def _break(case):
    low, high = USUAL["break_force"]
    found = interval(case.drawn.column("break_force"))
    return (
        f"this knife breaks at {plain(found.value, 'N', found.doubt)} at the tab; {low:g} to {high:g} N is usual"
        " (common practice)"
    )


def _opens(case):
    return f"the blade opens to {plain(case.knife.blade.opening_deg, 'deg')}"


_WEAK = (numbers.SMALL_GAP, numbers.FAR_OUT, events.off_track, numbers.SOFT, events.bar_face, numbers.WET)

SYMPTOMS = {
    "weak": Symptom(
        ("weak", "weak retention", "loose detent", "too soft", "got weaker", "no snap"),
        "break_force",
        _WEAK,
        _break,
    ),
    "falls open": Symptom(
        ("falls open", "shakes open", "drops open", "opens by itself"),
        "break_force",
        (*_WEAK, events.own_weight),
        _break,
    ),
    "will not flick": Symptom(
        ("will not flick", "strong but will not flick", "does not flip open", "hard to flick", "fails to deploy"),
        "swing",
        (numbers.DRAG, numbers.DRY, events.near_jam, numbers.HARD, numbers.SHORT_ARM),
        lambda case: (
            f"the whole knife breaks at {plain(case.felt.gauge_break_force, 'N')} at the tab; "
            f"swinging it open takes {plain(case.now, 'mJ')}, the barrier {plain(case.felt.barrier, 'mJ')} of it"
        ),
    ),
    "too stiff": Symptom(
        ("too stiff", "too strong", "too hard to open", "hurts the thumb", "stiff"),
        "break_force",
        (numbers.DRY, numbers.LARGE_GAP, numbers.HARD, events.second_ball, numbers.SHORT_ARM, numbers.FAR_IN),
        _break,
    ),
    "gritty": Symptom(
        ("gritty", "rough", "scratchy", "grinds", "sandy"),
        "break_force",
        (numbers.DRY, events.burr, events.dirt, events.floor),
        _break,
    ),
    "two-stage": Symptom(
        (
            "two-stage",
            "stops early and then snaps",
            "two stages",
            "two clicks when opening",
            "early obstruction",
            "double snap",
            "catches then goes",
        ),
        "break_force",
        (events.handover, events.off_track, events.bar_face, events.stall),
        lambda case: f"the peak of {plain(case.felt.break_force, 'N')} stands at {plain(case.felt.peak_deg, 'deg')}",
    ),
    "no draw-in": Symptom(
        (
            "no draw-in",
            "does not pull shut the last bit",
            "does not close the last bit",
            "stays open a crack",
            "late draw-in",
            "will not drop shut",
        ),
        "draw_in_deg",
        (events.off_the_stop, numbers.DRY, numbers.DRAG, events.stall, events.floor),
        lambda case: (
            f"the ball leaves the rim at {plain(case.felt.break_out_deg, 'deg')}, and the blade draws itself shut from"
            f" {plain(case.felt.draw_in_deg, 'deg')}"
        ),
    ),
    "rests off the stop": Symptom(
        (
            "rests off the stop",
            "rattles shut",
            "does not rest on the stop",
            "play when shut",
            "blade loose when closed",
        ),
        "rest_deg",
        (events.off_the_stop, events.floor, events.bar_face),
        lambda case: f"it rests {plain(case.felt.rest_deg, 'deg')} off the stop",
    ),
    "wears a groove": Symptom(
        ("wears a groove", "track groove", "ball scratches the tang", "wear track", "digs in"),
        "ride_load",
        (events.pressed_track, events.soft_tang, events.dirt, numbers.HARD),
        lambda case: f"the ball rides the flat with {plain(case.felt.ride_load, 'N')}",
    ),
    "clicks near open": Symptom(
        ("clicks near open", "drags near open", "second click when nearly open", "drops near the end"),
        "ride_load",
        (events.run_off, events.crossing),
        _opens,
    ),
    "falls open after a knock": Symptom(
        ("falls open after a knock", "opens when dropped", "opens when bumped", "opens on a knock only"),
        "barrier",
        (numbers.SHALLOW, numbers.SOFT, events.own_weight),
        lambda case: (
            f"the barrier is {plain(case.felt.barrier, 'mJ')}, the seat {plain(case.felt.seat_depth[case.at], 'mm')}"
            f" deep, and it breaks at {plain(case.felt.break_force, 'N')}"
        ),
    ),
    "lock stick": Symptom(
        ("lock stick", "sticky lock", "lock sticks", "hard to unlock"), "ride_load", (events.lock_face,), _opens
    ),
}
_NOTES = {
    "lock stick": (
        "Lock stick is the lock face against the tang, not the detent: out of scope here. Do not work on it from these"
        " numbers."
    ),
}
_ALL_OUT = (
    "The numbers on the card exclude every cause that can be reckoned. Then the card is no longer this knife: take the"
    " readings that decide again, the first ones first. If they agree with the card, the knife is as it was made, and"
    " the wish is for another one."
)
_LEFT_OUT = {
    "a",
    "an",
    "and",
    "as",
    "blade",
    "by",
    "detent",
    "i",
    "in",
    "is",
    "it",
    "its",
    "knife",
    "me",
    "my",
    "of",
    "on",
    "so",
    "the",
    "then",
    "to",
    "very",
}
_SHORT = {
    "won't": "will not",
    "wont": "will not",
    "doesn't": "does not",
    "doesnt": "does not",
    "can't": "can not",
    "isn't": "is not",
    "dont": "do not",
}
_ENOUGH = 0.5


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
            out = cause.standing == EXCLUDED
            place, name = ("–", f"~~{cause.name}~~") if out else (str(i), f"**{cause.name}**")
            move = "" if out and cause.move.effect is not None else cause.move
            rows.append(f"| {place} | {name} | {cause.standing}: {cause.said} | {cause.decider} | {move} |")
        return "\n\n".join(part for part in (f"**{self.symptom}.** {self.sign}", "\n".join(rows), self.note) if part)


def find_fault(symptom, knife):
    """What may be behind a complaint about one Knife: Faults, to show as a table.

    symptom: in the owner's words, such as "weak", "won't flick" or "stops early and then snaps"; near words will do.
    Each cause is weighed by this knife's numbers and their ±: likely (outside what is usual), possible (on the faulty
    side of its middle), cannot exclude (its ± reaches there), common practice (the model cannot say), excluded. Ranked
    by how much of the fault each can bring. Raises ValueError, with the complaints that are known, for words that fit
    none; KnifeError for a knife that cannot work.

    >>> from detentlib.files.demo import demo
    >>> found = find_fault("it is too weak", demo("pellowfen-a").replace({"bar.riding_force": 7.0}))
    >>> found.symptom, found.causes[0].name, found.causes[0].standing
    ('weak', 'bar force low: too little preset', 'possible')
    """
    name = _understood(symptom)
    asked = SYMPTOMS[name]
    case = Case(knife, asked.result)
    causes = [each(case) if callable(each) else numbers.weigh(case, each) for each in asked.causes]
    causes.sort(key=lambda cause: (STANDINGS.index(cause.standing), -cause.weight))
    note = _NOTES.get(name, _ALL_OUT if all(cause.standing == EXCLUDED for cause in causes) else "")
    return Faults(name, f"By its card {asked.sign(case)}.", tuple(causes), note)


def _understood(symptom):
    """The listed symptom that somebody's words come nearest to."""
    given = _words(symptom)
    scores = {
        name: max(_alike(given, _words(words)) for words in (name, *asked.words)) for name, asked in SYMPTOMS.items()
    }
    best = max(scores, key=scores.get)
    if scores[best] < _ENOUGH:
        raise ValueError(f"no complaint like {symptom!r} is known here; known: {'; '.join(SYMPTOMS)}")
    return best


def _words(text):
    """The words that matter, short forms written out."""
    text = " ".join(_SHORT.get(word, word) for word in str(text).casefold().replace("’", "'").split())
    return [word for word in re.findall(r"[a-z]+", text) if word not in _LEFT_OUT]


def _alike(given, known):
    """0 to 1: the share of words that two complaints have in common, a slip of the pen forgiven."""
    if not given or not known:
        return 0.0
    common = sum(bool(difflib.get_close_matches(word, given, 1, 0.8)) for word in known)
    return 2 * common / (len(given) + len(known))
