"""Ball detents of folding knives: one ball, two balls on one spring, offset recesses.

The names that a notebook uses; each room is loaded when its name is first asked for.
"""

from importlib import import_module

_ROOMS = {
    "Ball": "parts",
    "Blade": "parts",
    "Friction": "parts",
    "Knife": "parts",
    "KnifeError": "parts",
    "LockBar": "parts",
    "Recess": "parts",
    "Within": "units",
    "read_knife": "files",
    "write_knife": "files",
    "formulas": "mechanics.formulas",
    "sweep": "mechanics.sweep",
    "feel": "mechanics.feel",
    "feel_many": "mechanics.feel",
    "swing": "mechanics.swing",
    "marks": "mechanics.strength",
    "rough_motion": "mechanics.motion",
    "budget": "doubt.budget",
    "per_thou": "workshop.tuning.tune",
    "wedge_push": "workshop.statics",
    "bar_slope": "workshop.statics",
    "level_place": "workshop.statics",
    "options": "workshop.tuning.options",
    "tolerance": "workshop.tuning.tolerance",
    "track_map": "teach.sheets.trackmap",
    "handout": "teach.sheets.handout",
    "template": "teach.sheets.template",
    "live_sheet": "teach.sheets.livesheet",
    "budgets": "doubt.budget",
    "cloud": "doubt.cloud",
    "next_measurement": "bench.instruments",
    "ReadingError": "readings",
    "read_readings": "readings",
    "readings_from_text": "readings",
    "lift_trace": "bench.trace",
    "two_way_pull": "bench.pull",
    "fit_circle": "bench.photo",
    "fit_knife": "bench.fit",
    "compare": "workshop.compare",
    "judge": "workshop.claims.claim",
    "claims": "workshop.claims.claim",
    "Claim": "workshop.claims.claim",
    "break_it": "workshop.claims.breaking",
    "post_page": "teach.sheets.post",
    "bench_sheet": "teach.sheets.benchsheet",
    "practice": "teach.practice.exercise",
    "practice_bench": "teach.practice.bench",
    "keep_marks": "teach.practice.marks",
    "answer_sheet": "teach.practice.sheet",
    "find_fault": "workshop.faults.finder",
}

__all__ = list(_ROOMS)


def __getattr__(name):
    """Load the room of a public name."""
    if name not in _ROOMS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f".{_ROOMS[name]}", __name__), name)
    globals()[name] = value
    return value


def __dir__():
    """The public names, for completion."""
    return sorted(set(globals()) | set(_ROOMS))
