"""Ball detents of folding knives: one ball, two balls on one spring, offset recesses.

The names that a notebook uses; each room is loaded when its name is first asked for.
"""

import os

from .door import door

# before numpy is loaded: the matrices here are tiny, and threads for them stand in each other's way, most of all on a
# busy machine
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

_ROOMS = {
    "Ball": "knife.parts",
    "Blade": "knife.parts",
    "Friction": "knife.parts",
    "Knife": "knife.parts",
    "KnifeError": "knife.parts",
    "LockBar": "knife.parts",
    "Recess": "knife.parts",
    "Within": "knife.units",
    "read_knife": "files.knife_file",
    "write_knife": "files.knife_file",
    "formulas": "derivations.formulas",
    "sweep": "mechanics.sweep",
    "feel": "mechanics.feel",
    "feel_many": "mechanics.feel",
    "swing": "mechanics.swing",
    "contact_marks": "mechanics.strength",
    "rough_motion": "mechanics.motion",
    "budget": "doubt.budget",
    "per_thou": "tune.thou",
    "wedge_push": "tune.statics",
    "bar_slope": "tune.statics",
    "level_place": "tune.statics",
    "options": "tune.options",
    "tolerance": "tune.tolerance",
    "batch_of": "tune.batch",
    "track_map": "pages.trackmap",
    "handout": "pages.handout",
    "template": "pages.template",
    "letter": "pages.letter",
    "live_sheet": "pages.livesheet",
    "budgets": "doubt.budget",
    "cloud": "doubt.cloud",
    "next_measurement": "measure.next_measurement",
    "ReadingError": "measure.readings",
    "read_readings": "measure.readings",
    "readings_from_text": "measure.readings",
    "lift_trace": "measure.trace",
    "two_way_pull": "measure.pull",
    "fit_circle": "measure.photo",
    "fit_knife": "measure.fit",
    "compare": "tune.compare",
    "judge": "argue.judging",
    "claims": "argue.judging",
    "Claim": "argue.claim",
    "break_it": "argue.breaking",
    "post_page": "pages.post",
    "bench_sheet": "pages.benchsheet",
    "protractor": "pages.protractor",
    "practice": "lesson.practice.exercise",
    "practice_bench": "lesson.practice.bench",
    "keep_marks": "lesson.practice.marks",
    "answer_sheet": "lesson.practice.sheet",
    "find_fault": "argue.faults.finder",
}

__all__ = list(_ROOMS)

__getattr__, __dir__ = door(__name__, _ROOMS)
