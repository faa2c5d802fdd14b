"""What outside the model checks each formula and each name that people call, and by how much the two differ.

`@pytest.mark.checked_by(kind, source, *names)` stands on the test that does it: the source is a printed row, another
program, or what was reckoned without the library's formulas; the names are IDs of formulas and names of the doors.
Where a test has a parameter `id`, it checks that one of the names. The difference is measured as the test runs: of the
numbers that its `pytest.approx` compares the one that is furthest off, as a share of itself.
"""

import contextlib
import inspect
import io
from collections import defaultdict
from importlib import import_module
from itertools import product
from pathlib import Path

import numpy as np
import pytest

import detentlib
import detentlib.lesson
from detentlib import formulas

ROOT = Path(__file__).resolve().parents[1]
KINDS = ("published", "another program", "a simulator", "brute force", "by hand")
# names of the doors that no referee outside checks, by the reason
WITHOUT = {
    "holds numbers, or says what is wrong with them": (
        "Ball, Blade, Claim, Friction, Knife, KnifeError, LockBar, ReadingError, Recess, Within, formulas"
    ),
    "reads or writes text; held against what was written": (
        "read_knife, read_readings, readings_from_text, write_knife, keep_marks"
    ),
    "makes a changed knife, which is held against its sizes": (
        "as_made, making, moves, pair, preset, travel_by_pin, trial, with_one_ball, with_preset, with_relief"
    ),
    "asks numbers of this table of the knife and of changed ones": "break_it, claims, find_fault, judge, measured_with",
    "puts a tabled material into a formula of this table": "contact_marks",
    "prints numbers of this table, each held against the library": (
        "bench_sheet, hand_on, handout, letter, live_sheet, post_page, protractor, report, track_map"
    ),
    "says numbers of this table in words": (
        "at_leads, bands, beside, both, cautions, derivation, each_alone, false_detents, first_yield,"
        " fit_words, handovers, headline, how_sure, letters, marks, near_the_hinge, peak_and_barrier,"
        " pull_words, rough, swing_cost, tell, Table, touch, trace_words, ways_round, what_doubles,"
        " what_next, who_carries, words, worked"
    ),
    "draws numbers of this table": (
        "against_trace, around_the_tang, offset_recesses, one_ball, one_spring, progress, side_by_side,"
        " the_give, the_snap, tuning, two_balls, whole_knife"
    ),
    "asks the reader": (
        "batch_card, choose_knife, claim_card, complaint_card, compose_claim, knife_form, my_readings, photo_picker,"
        " question, report_card, save_box, settle, two_minutes, wanted_force"
    ),
}


def names():
    """IDs of all formulas, then the names of both doors."""
    return [*formulas, *sorted({*detentlib.__all__, *detentlib.lesson.__all__})]


def without():
    """{name: why no referee outside checks it}."""
    return {name: reason for reason, several in WITHOUT.items() for name in several.split(", ")}


def files():
    """Test files with a mark."""
    return [
        path for path in sorted((ROOT / "tests").rglob("test_*.py")) if "mark.checked_by(" in path.read_text("utf-8")
    ]


def marks():
    """(kind, source, names) of every mark."""
    found = []
    for path in files():
        module = import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
        marked = [each for _, each in inspect.getmembers(module, inspect.isfunction)]
        found += [mark.args for each in marked for mark in getattr(each, "pytestmark", ()) if mark.name == "checked_by"]
    return [(kind, source, several) for kind, source, *several in found]


class Gauge:
    """A plugin of pytest: the largest difference that each mark's tests have seen, {(name, kind, source): share}."""

    def __init__(self):
        """Nothing seen yet."""
        self.seen = defaultdict(list)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item):
        """Measure what a marked test compares."""
        exact, off = pytest.approx, []
        pytest.approx = lambda expected, *within, **more: _Compared(exact(expected, *within, **more), expected, off)
        try:
            return (yield)
        finally:
            pytest.approx = exact
            for mark in item.iter_markers("checked_by"):
                kind, source, *several = mark.args
                one = getattr(item, "callspec", None) and item.callspec.params.get("id")
                for name in [one] if one in several else several:
                    self.seen[name, kind, source] += off


class _Compared:
    """What approx gives, with an ear: keeps how far the numbers compared differ."""

    __array_ufunc__ = None  # an array leaves the comparison to this
    __hash__ = None

    def __init__(self, within, expected, off):
        self._within, self._expected, self._off = within, expected, off

    def __eq__(self, found):
        self._off += _differences(found, self._expected)
        return self._within == found


def _differences(found, expected):
    """How far each number is off, over what it should be; where that is nothing, the bound of the test says it."""
    found, expected = np.broadcast_arrays(np.asarray(found, float), np.asarray(expected, float))
    told = np.isfinite(expected) & (expected != 0)
    return list(np.abs(found - expected)[told] / np.abs(expected)[told])


def measured():
    """{(name, kind, source): differences seen}: runs the marked tests."""
    gauge = Gauge()
    with contextlib.redirect_stdout(io.StringIO()) as said:
        code = pytest.main([*map(str, files()), "-m", "checked_by", "-n", "0", "-p", "no:cacheprovider"], [gauge])
    if code:
        raise RuntimeError(said.getvalue())
    return gauge.seen


def rows():
    """[formula or name, kind, sources, worst difference] of all that are checked."""
    seen, found = measured(), []
    for name, kind in product(names(), KINDS):
        here = {source: off for (one, other, source), off in seen.items() if (one, other) == (name, kind)}
        off = [each for several in here.values() for each in several]
        if here:
            found.append([name, kind, "; ".join(here), f"{100 * max(off):.2g} %" if off else "within what is asserted"])
    return found
