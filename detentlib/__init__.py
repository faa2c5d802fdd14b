"""Ball detents of folding knives: one ball, two balls on one spring, offset recesses.

The names that a notebook uses; each room is loaded when its name is first asked for.
"""

import os

from .door import door

# before numpy is loaded: the matrices here are tiny, and threads for them stand in each other's way, most of all on a
# busy machine
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

_ROOMS = {
    "knife.parts": ("Ball", "Blade", "Friction", "Knife", "KnifeError", "LockBar", "Recess"),
    "knife.units": ("Within",),
    "derivations.formulas": ("formulas",),
    "mechanics.sweep": ("sweep",),
    "mechanics.feel": ("feel", "feel_many"),
    "mechanics.swing": ("swing",),
    "mechanics.strength": ("contact_marks",),
    "mechanics.motion": ("rough_motion",),
    "files.knife_file": ("read_knife", "write_knife"),
    "doubt.budget": ("budget", "budgets"),
    "doubt.cloud": ("cloud",),
    "measure.readings": ("ReadingError", "read_readings", "readings_from_text"),
    "measure.trace": ("lift_trace",),
    "measure.pull": ("two_way_pull",),
    "measure.photo": ("fit_circle",),
    "measure.fit": ("fit_knife",),
    "measure.next_measurement": ("next_measurement",),
    "tune.thou": ("per_thou",),
    "tune.statics": ("wedge_push", "bar_slope", "level_place"),
    "tune.options": ("options",),
    "tune.tolerance": ("tolerance",),
    "tune.batch": ("batch_of",),
    "tune.compare": ("compare",),
    "argue.claim": ("Claim",),
    "argue.judging": ("judge", "claims"),
    "argue.breaking": ("break_it",),
    "argue.faults.finder": ("find_fault",),
    "pages.handout": ("handout",),
    "pages.letter": ("letter",),
    "pages.post": ("post_page",),
    "pages.benchsheet": ("bench_sheet",),
    "pages.livesheet": ("live_sheet",),
    "pages.template": ("template",),
    "pages.protractor": ("protractor",),
    "pages.trackmap": ("track_map",),
    "lesson.practice.exercise": ("practice",),
    "lesson.practice.bench": ("practice_bench",),
    "lesson.practice.marks": ("keep_marks",),
    "lesson.practice.sheet": ("answer_sheet",),
}

__all__, __getattr__, __dir__ = door(__name__, _ROOMS)
