"""What to measure next: the instruments of the table, ranked by what they would take off the doubt of a result for their minutes (M5)."""

import math
import re
from typing import NamedTuple

from ..doubt.budget import budget
from ..instruments import INSTRUMENTS


class Advice(NamedTuple):
    """What one measurement would do: instrument, path, ± of that number now and then, ± of the result then, minutes."""

    instrument: str
    path: str
    doubt_now: float
    doubt_then: float
    result_doubt: float
    minutes: float


def next_measurement(knife, result, instruments=INSTRUMENTS):
    """Measurements that would make one result surer, the cheapest gain first: a list of Advice, empty where none helps.

    Ranked by how much of the ± each takes off per minute, by the draws of its `budget` weighted anew. instruments: those
    on the bench.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> doubts = {"friction.rim": 0.04, "blade.tab_arm": 0.6}
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298), Blade(14.0), Friction(0.12), doubts=doubts)
    >>> [(advice.instrument, advice.path) for advice in next_measurement(knife, "break_force")]
    [('two-way pull, five times', 'friction.rim'), ('height gauge from the pivot bore', 'blade.tab_arm')]
    """
    found = budget(knife, result)
    advice = [
        Advice(each.name, path, knife.doubts[path], each.doubt, found.after({path: each.doubt}), each.minutes)
        for path in found.shares
        for each in instruments
        if re.fullmatch(each.serves, path) and each.doubt < knife.doubts[path]
    ]
    return _cheapest_first([each for each in advice if each.result_doubt < found.doubt], found.doubt)


def improvements(shares, doubts, doubt, instruments=INSTRUMENTS):
    """Measurements that would take something off the ± of a number, the cheapest gain first: a list of Advice.

    shares: {path: ± that it alone brings to the number}; doubts: {path: its ± now}; doubt: ± of the number.

    >>> improvements({"blade.tab_arm": 0.4}, {"blade.tab_arm": 0.6}, 0.5)[0].instrument
    'height gauge from the pivot bore'
    """
    advice = []
    for path, share in shares.items():
        for instrument in instruments:
            now = doubts[path]
            if not re.fullmatch(instrument.serves, path) or instrument.doubt >= now:
                continue
            rest = max(doubt**2 - share**2 + (share * instrument.doubt / now) ** 2, 0.0)
            advice.append(Advice(instrument.name, path, now, instrument.doubt, math.sqrt(rest), instrument.minutes))
    return _cheapest_first(advice, doubt)


def _cheapest_first(advice, doubt):
    return sorted(advice, key=lambda each: (each.result_doubt - doubt) / each.minutes)
