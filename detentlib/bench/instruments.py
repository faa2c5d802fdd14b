"""What to measure next: instruments with their ± and minutes, ranked by what they would take off the doubt of a result (M5)."""

import math
import re
from typing import NamedTuple

from .doubt import budget


class Instrument(NamedTuple):
    """One way of measuring: its name, the numbers it serves (pattern of paths), its ± (95 %) in their unit, minutes."""

    name: str
    serves: str
    doubt: float
    minutes: float


# ± twice the standard deviations of careful bench work: common practice; minutes: judgement
INSTRUMENTS = (
    Instrument("micrometer on the ball", r"balls\[\d\]\.diameter", 0.004, 5),
    Instrument("depth micrometer over the ball", r"balls\[\d\]\.protrusion", 0.010, 5),
    Instrument("calipers, depth rod", r"balls\[\d\]\.protrusion", 0.060, 2),
    Instrument("plug pins in steps of a thou", r"balls\[\d\]\.recess\.diameter", 0.026, 5),
    Instrument("microscope with a stage scale", r"balls\[\d\]\.recess\.(diameter|chamfer_width|edge_radius)", 0.020, 15),
    Instrument("photo of recess against ball", r"balls\[\d\]\.recess\.(rest_offset|off_track)", 0.030, 30),
    Instrument("lift trace with a dial indicator", r"balls\[\d\]\.recess\.rest_offset", 0.020, 20),
    Instrument("microscope stage or buttons", r"balls\[\d\]\.track_radius", 0.050, 20),
    Instrument("calipers", r"(balls\[\d\]\.hinge_distance|(bar|second_bar)\.(relief_length|width))", 0.080, 3),
    Instrument("calipers from the pivot centre", r"blade\.(tab_arm|stud_arm)", 0.600, 3),
    Instrument("height gauge from the pivot bore", r"blade\.(tab_arm|stud_arm)", 0.100, 10),
    Instrument("ball-end micrometer", r"(bar|second_bar)\.(relief_thickness|thickness)", 0.020, 5),
    Instrument("pull gauge at the ball", r"(bar|second_bar)\.riding_force", 0.700, 10),
    Instrument("two-way pull, five times", r"friction\.(rim|flat)", 0.020, 10),
    Instrument("pull gauge with the bar lifted off", r"friction\.pivot_torque", 1.000, 10),
)


class Advice(NamedTuple):
    """What one measurement would do: instrument, path, ± of that number now and then, ± of the result then, minutes."""

    instrument: str
    path: str
    doubt_now: float
    doubt_then: float
    result_doubt: float
    minutes: float


def next_measurement(knife, result, instruments=INSTRUMENTS, correlations=None):
    """Measurements that would make one result surer, the cheapest gain first: a list of Advice, empty where none helps.

    Ranked by how much of the ± each takes off per minute. instruments: those on the bench; correlations: as of `budget`.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> doubts = {"friction.rim": 0.04, "blade.tab_arm": 0.6}
    >>> knife = Knife("A", [ball], LockBar(17.04, rate=10.298), Blade(14.0), Friction(0.12), doubts=doubts)
    >>> [(advice.instrument, advice.path) for advice in next_measurement(knife, "break_force")]
    [('two-way pull, five times', 'friction.rim'), ('height gauge from the pivot bore', 'blade.tab_arm')]
    """
    found = budget(knife, result, correlations)
    return improvements(found.shares, knife.doubts, found.doubt, instruments, correlations)


def improvements(shares, doubts, doubt, instruments=INSTRUMENTS, correlations=None):
    """Measurements that would take something off the ± of a number, the cheapest gain first: a list of Advice.

    shares: {path: ± that it alone brings to the number}; doubts: {path: its ± now}; doubt: ± of the number. correlations:
    as of `budget`; a measurement then also makes surer what hangs together with it, by linear regression.

    >>> improvements({"blade.tab_arm": 0.4}, {"blade.tab_arm": 0.6}, 0.5)[0].instrument
    'height gauge from the pivot bore'
    """
    advice = []
    for path in shares:
        share = _carried(path, shares, correlations or {})
        for instrument in instruments:
            now = doubts[path]
            if not re.fullmatch(instrument.serves, path) or instrument.doubt >= now:
                continue
            rest = max(doubt**2 - share**2 + (share * instrument.doubt / now) ** 2, 0.0)
            advice.append(Advice(instrument.name, path, now, instrument.doubt, math.sqrt(rest), instrument.minutes))
    return sorted(advice, key=lambda each: (each.result_doubt - doubt) / each.minutes)


def _carried(path, shares, correlations):
    """How much of the number follows an input: its own share, and those of all that go with it."""
    along = [(other if one == path else one, r) for (one, other), r in correlations.items() if path in (one, other)]
    return shares[path] + sum(r * shares.get(other, 0.0) for other, r in along)
