"""What a measuring function is given: a number with its ±, points, Readings; checked before anything is computed."""

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from ..knife.checks import refuse, short
from ..knife.given import MOST, ROUND, given_number
from .arcs import CLEARLY
from .readings import KINDS, NAME, ReadingError, Readings
from .value import Value

ATTITUDE = "tilt of the pivot axis from upright"
HINGE_RATIO = "distance of the indicator from the hinge over that of ball 1"
HINGE_RATIOS = (0.05, 20.0)  # of an indicator that still reads, on a bar or on a pointer fixed to it
_FEW = 8  # rows in which readings do not come out the same by chance


def given_value(name: str, given: object, meaning: str, unit: str = "", rule: str = "any") -> Value:
    """A number and its ± of an argument, as a Value. Raises ValueError for anything else.

    >>> given_value("contact_deg", (49.1, 1.5), "contact angle at rest", "deg")
    Value(value=49.1, doubt=1.5)
    """
    if not isinstance(given, (tuple, list)) or len(given) != 2:
        raise refuse(name, given, "is not a number with its ±", f"It is the {meaning}.", "Give both: (value, ±).")
    doubt = given_number(name, given[1], f"± of the {meaning}", unit, "not negative")
    return Value(given_number(name, given[0], meaning, unit, rule), doubt)


def given_readings(readings: object, kinds: tuple[str, ...], wanted: str) -> None:
    """Raise ReadingError for anything but Readings of one of these kinds, in columns of finite numbers of one length.

    wanted: these kinds in words, such as "a lift trace is wanted".
    """
    if not isinstance(readings, Readings):
        told = f"{short(readings)} is no set of readings, where {wanted}"
        raise ReadingError(f"{told}. Give one from a file, or from the boxes for your own readings")
    if readings.kind not in kinds:
        columns = " or ".join(map(_columns_said, kinds))
        cure = f"Give a file with the columns {columns}"
        raise ReadingError(f"holds readings of the kind {readings.kind!r}, where {wanted}. {cure}", readings.source)
    missing = [name for name in KINDS[readings.kind].must if name not in readings.columns]
    if missing:
        raise ReadingError(f"has no column {', '.join(map(repr, missing))}", readings.source)
    count = np.size(readings.columns[next(iter(KINDS[readings.kind].must))])
    kind = KINDS[readings.kind]
    for name, unit in (kind.must | kind.may).items():
        if name in readings.columns:
            check = _given_names if unit == NAME else _given_column
            check(name, readings.columns[name], count, readings.source)


def given_angles(angle: np.ndarray, angle_doubt: float, source: str) -> None:
    """Raise ReadingError for blade angles [deg] that no blade has: clearly behind the stop, or more than once round.

    angle_doubt: ± (95 %) of one reading; by it a blade near the stop may read a little below 0.
    """
    behind = np.count_nonzero(angle < -CLEARLY * angle_doubt / 2)
    if behind:
        told = (
            f"has {behind} angles below 0, down to {angle.min():g}°, further than ± {angle_doubt:g}° of one reading"
            " makes"
        )
        raise ReadingError(f"{told}. The stop lets no blade go there: count from the stop, and opening as more", source)
    if np.any(angle > ROUND):
        raise ReadingError(
            f"has angles up to {angle.max():g}°, and no blade turns past {ROUND:g}°. Are these degrees?", source
        )


def given_places(name: str, given: object) -> np.ndarray:
    """Pairs (x, y) of an argument as an array (n, 2). Raises ValueError for anything else.

    >>> given_places("points", [(0, 0), (300, 400)]).tolist()
    [[0.0, 0.0], [300.0, 400.0]]
    """
    if not _is_row(given) or not all(_is_row(pair) and len(pair) == 2 for pair in given):
        raise refuse(
            name, given, "is no list of points", "A point is where a line or an edge was picked.", "Give pairs (x, y)."
        )
    numbers = [[given_number(name, each, "place of a point", rule="any") for each in pair] for pair in given]
    return np.array(numbers, float).reshape(-1, 2)


def _is_row(given):
    return isinstance(given, (list, tuple)) or (isinstance(given, np.ndarray) and given.ndim > 0)


def _columns_said(kind):
    return ", ".join(name if unit == NAME else f"{name} [{unit}]" for name, unit in KINDS[kind].must.items())


def _given_names(name, column, count, source):
    if not isinstance(column, np.ndarray) or column.ndim != 1 or column.dtype.kind != "U" or not all(column):
        raise ReadingError(f"the column {name!r} is no row of names: {short(column)}", source)


def _given_column(name, column, count, source):
    if not isinstance(column, np.ndarray) or column.ndim != 1 or column.dtype.kind not in "iuf":
        raise ReadingError(f"the column {name!r} is no row of numbers: {short(column)}", source)
    if column.size != count:
        raise ReadingError(f"the column {name!r} has {column.size} rows where the first has {count}", source)
    wrong = np.flatnonzero(~np.isfinite(column))
    if wrong.size:
        told = f"reading {wrong[0] + 1} of {name} is {column[wrong[0]]}, which is no reading"
        raise ReadingError(f"{told}. Take the row out ({wrong.size} of {count} are like it)", source)
    far = np.flatnonzero(np.abs(column) > MOST)
    if far.size:
        raise ReadingError(
            f"reading {far[0] + 1} of {name} is {column[far[0]]:g}: nothing at the bench is as large. Check the unit",
            source,
        )


def pasted_again(columns: Sequence[np.ndarray]) -> np.ndarray:
    """Which rows are the same readings once more: bool (n).

    Readings that happen to be the same are readings. Not so a block of eight or more different ones that comes again in
    the same order, nor all of them there equally many times, as when a sheet was sorted after pasting twice.

    >>> np.flatnonzero(pasted_again([np.tile(np.arange(9.0), 2)])).tolist()
    [9, 10, 11, 12, 13, 14, 15, 16, 17]
    >>> pasted_again([np.zeros(20)]).any()                                  # twenty readings on the stop
    np.False_
    >>> pasted_again([np.repeat(np.arange(9.0), 2)]).sum()
    np.int64(9)
    """
    rows = [tuple(row) for row in np.column_stack(columns).tolist()]
    return _times_over(rows) if math.gcd(*Counter(rows).values()) > 1 else _blocks_again(rows)


def _times_over(rows):
    """Rows beyond the first of each two, three or more that all of them come in; none where few differ."""
    counts, seen, again = Counter(rows), Counter(), np.zeros(len(rows), bool)
    times = math.gcd(*counts.values())
    for i, row in enumerate(rows):
        again[i] = len(counts) >= _FEW and seen[row] >= counts[row] // times
        seen[row] += 1
    return again


def _blocks_again(rows):
    """Rows of a block of eight or more different ones that was there before, in the same order."""
    first, again, start = {}, np.zeros(len(rows), bool), 0
    while start <= len(rows) - _FEW:
        block = tuple(rows[start : start + _FEW])
        back = start - first.setdefault(block, start)
        if back < _FEW or len(set(block)) < _FEW:
            start += 1
            continue
        low, end = start, start
        while low > back and rows[low - 1] == rows[low - 1 - back]:
            low -= 1
        while end < len(rows) and rows[end] == rows[end - back]:
            end += 1
        again[low:end], start = True, end
    return again
