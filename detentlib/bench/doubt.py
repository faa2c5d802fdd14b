"""Doubt: how sure a result is, and which measurement the doubt comes from (M5). ± is 95 % throughout."""

import math
from dataclasses import dataclass
from types import MappingProxyType

from ..mechanics.feel import feel
from ..parts import KnifeError
from .given import given_knife, given_number, refuse
from .value import combined

RESULTS = {
    "break_force": "N",
    "letback_force": "N",
    "gauge_break_force": "N",
    "gauge_letback_force": "N",
    "stud_break_force": "N",
    "break_torque": "N·mm",
    "barrier": "mJ",
    "work": "mJ",
    "break_out_deg": "°",
    "draw_in_deg": "°",
    "rest_deg": "°",
    "peak_deg": "°",
    "snap_ratio": "",
    "rest_load": "N",
    "ride_load": "N",
    "rate": "N/mm",
    "relief_stress_rest": "MPa",
    "relief_stress_ride": "MPa",
    "relief_stress_side": "MPa",
}


@dataclass(frozen=True)
class Budget:
    """Where the doubt of one result comes from.

    result: name of the Feel number; unit; value; doubt: its ± (95 %); shares: {path: ± that this input alone
    brings, with the sign of its effect}, largest first; largest: path of the first, None where no input has a ±;
    one_sided: paths where the knife is impossible at one end of the ±, so that only the other end was used;
    not_counted: paths where it is impossible at both, so that the ± of the result is larger than stated.
    """

    result: str
    unit: str
    value: float
    doubt: float
    shares: MappingProxyType
    largest: str | None
    one_sided: tuple
    not_counted: tuple

    def part(self, path):
        """Share of one input in the whole doubt squared, 0 to 1."""
        return (self.shares[path] / self.doubt) ** 2 if self.doubt else 0.0


def budget(knife, result, correlations=None):
    """Doubt of one number of Feel from the ± of every input, first order.

    result: name of a number of Feel, such as "break_force". Each input is moved by half its ± (one standard
    deviation) either way. An input that stands at 0 may take away on both sides alike, as an off-track error does, of
    which a slope sees nothing: there the mean change at the two ends of its ± counts too. correlations:
    {(path, path): -1 to 1} of inputs that share readings, such as those of a fit; all others count as independent.
    Returns a Budget. Raises ValueError for a name that is no number, and for a result that this knife does not give;
    KnifeError for a knife that cannot work. Confirmed against Monte Carlo in the tests.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> doubts = {"blade.tab_arm": 0.7, "bar.riding_force": 0.8}
    >>> found = budget(Knife("A", [ball], LockBar(17.04, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.12), doubts=doubts), "break_force")
    >>> found.largest, round(found.value, 2), round(found.doubt, 2)        # 0.8/14.21 and 0.7/14 of 12.04 N
    ('bar.riding_force', 12.04, 0.91)
    """
    return budgets(knife, (result,), correlations)[result]


def budgets(knife, results, correlations=None):
    """The Budget of several results at once, {name: Budget}; each knife is felt only once. See `budget`."""
    given_knife(knife)
    if not isinstance(results, (list, tuple)):
        raise refuse("results", results, "is not a list of names", "", 'Give one such as ["break_force", "barrier"].')
    _check(correlations)
    for result in results:
        if not isinstance(result, str) or result not in RESULTS:
            raise ValueError(f"{result!r} is not a number of Feel; take one of {', '.join(RESULTS)}")
    felt = feel(knife)
    doubts = {path: doubt for path, doubt in knife.doubts.items() if doubt}
    ends = {path: [_moved(knife, path, sign * doubt / 2) for sign in (1, -1)] for path, doubt in doubts.items()}
    far = {path: [_moved(knife, path, sign * doubt) for sign in (1, -1)] for path, doubt in doubts.items() if knife.get(path) == 0}
    return {result: _budget(knife.title, felt, ends, far, result, correlations or {}) for result in results}


def _check(correlations):
    """Raise ValueError for anything but correlations of pairs."""
    cure = 'Give {("friction.rim", "bar.riding_force"): -0.8}, as the correlations of a fit.'
    if correlations is not None and not isinstance(correlations, dict):
        raise refuse("correlations", correlations, "is not what correlations are kept in", "", cure)
    for pair, r in (correlations or {}).items():
        if not isinstance(pair, tuple) or len(pair) != 2 or not all(isinstance(path, str) for path in pair):
            raise refuse("correlations", pair, "is no pair of paths", "", cure)
        if abs(given_number(f"correlation of {pair[0]} and {pair[1]}", r, "share in which they go together", rule="any")) > 1:
            raise refuse(f"correlation of {pair[0]} and {pair[1]}", r, "lies outside −1 to 1", "", cure)


def _budget(title, felt, ends, far, result, correlations):
    value = getattr(felt, result)
    if value is None:
        raise ValueError(f"{result} is not given for {title}: {_reason(result)}")
    shares, one_sided, not_counted = {}, [], []
    for path, pair in ends.items():
        numbers = [None if end is None else getattr(end, result) for end in pair]
        if numbers == [None, None]:
            not_counted.append(path)
            continue
        if None in numbers:
            one_sided.append(path)
        high, low = (value if number is None else number for number in numbers)
        # half a ± either way makes two steps of half a ±: their difference is the whole ±
        shares[path] = (high - low) * 2 / (2 - numbers.count(None))
        if path in far:
            shares[path] = _with_even(shares[path], value, [None if end is None else getattr(end, result) for end in far[path]])
    shares = dict(sorted(shares.items(), key=lambda item: -abs(item[1])))
    largest = next((path for path, share in shares.items() if share), None)
    return Budget(result, RESULTS[result], value, combined(shares, correlations), MappingProxyType(shares), largest, tuple(one_sided), tuple(not_counted))


def _with_even(share, value, ends):
    """A share with what the input does on both sides of 0 alike: the mean change at the ends of its ±, signed as the larger of the two."""
    even = 0.0 if None in ends else sum(ends) / 2 - value
    return math.copysign(math.hypot(share, even), share if abs(share) > abs(even) else even)


def _moved(knife, path, step):
    """Feel with one input moved, None where that knife is impossible."""
    try:
        return feel(knife.replace({path: knife.get(path) + step}))
    except KnifeError:
        return None


def _reason(result):
    off_track = "the recess is off track and friction is high, where the model is not good enough for it (see its flags)"
    reasons = {
        "letback_force": off_track,
        "gauge_letback_force": off_track,
        "stud_break_force": "the blade has no stud arm",
        "relief_stress_rest": "the bar has no drawn sizes",
        "relief_stress_ride": "the bar has no drawn sizes",
        "relief_stress_side": "the bar has no drawn sizes",
    }
    return reasons[result]
