"""What to measure next: the instruments of the table, ranked by what they would take off the doubt of a result for
their minutes (M5).
"""

from collections.abc import Sequence
from typing import NamedTuple

from ..doubt.budget import budget
from ..doubt.cloud import Input
from ..doubt.sources import Sources
from ..files.instruments import INSTRUMENTS, Instrument
from ..knife.given import given_list
from ..knife.parts import Knife
from ..knife.units import normal_doubt


class Advice(NamedTuple):
    """What one measurement would do: instrument, path, ± of that number now and then, ± of the result then, minutes."""

    instrument: str
    path: str
    doubt_now: float
    doubt_then: float
    result_doubt: float
    minutes: float


def next_measurement(knife: Knife, result: str, instruments: Sequence[Instrument] = INSTRUMENTS) -> list[Advice]:
    """Measurements that would make one result surer, the cheapest gain first; empty where none helps.

    Ranked by how much of the ± each takes off per minute, by the draws of its `budget` moved to the narrower ±.
    instruments: those on the bench.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> doubts = {"friction.rim": 0.04, "blade.tab_arm": 0.6}
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298), Blade(14.0), Friction(0.12), doubts=doubts)
    >>> [(advice.instrument, advice.path) for advice in next_measurement(knife, "break_force")]
    [('two-way pull, five times', 'friction.rim'), ('height gauge from the pivot bore', 'blade.tab_arm')]
    """
    given_list("instruments", instruments, Instrument, "is no list of Instruments", "", "Leave it out.")
    return [advice for _, advice in improvements(budget(knife, result).sources, {}, instruments)]


def improvements(
    sources: Sources, done: dict[Input, float], instruments: Sequence[Instrument] = INSTRUMENTS
) -> list[tuple[Input, Advice]]:
    """What would take something off the ± of a number, the cheapest gain first: each with its Input.

    sources: the Sources of the number; done: {Input: new ±} of what is measured already.
    """
    now, found = sources.after(done), []
    for each, alone in sources.shares.items():
        for instrument in instruments if alone else ():
            known = done.get(each, each.doubt)
            if instrument.reads(each.path) and instrument.doubt < normal_doubt(known):
                left = sources.after(done | {each: instrument.doubt})
                found.append(
                    (each, Advice(instrument.name, each.path, known, instrument.doubt, left, instrument.minutes))
                )
    return sorted(
        (pair for pair in found if pair[1].result_doubt < now),
        key=lambda pair: (pair[1].result_doubt - now) / pair[1].minutes,
    )
