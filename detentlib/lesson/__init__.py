"""The lesson: coach, questions, practice and forms; and every name that a notebook uses beside those of detentlib."""

from ..door import door
from ..knife.given import checked

_BY_ROOM = {
    "lesson.question_card": ("question",),
    "draw.scenes": ("one_ball", "side_by_side", "whole_knife"),
    "draw.scenes_spring": ("the_give", "one_spring", "the_snap"),
    "draw.scenes_measure": ("against_trace",),
    "draw.scenes_swing": ("around_the_tang",),
    "draw.scenes_tune": ("tuning",),
    "draw.scenes_two": ("offset_recesses", "two_balls"),
    "draw.laid_over": ("laid_over",),
    "draw.progress": ("progress",),
    "say.working": ("derivation", "tell", "worked"),
    "say.headline": ("headline",),
    "say.measured": ("fit_words", "what_next", "pull_words", "trace_words"),
    "say.cautions": ("cautions",),
    "say.glossary": ("letters", "words"),
    "say.pairs": (
        "each_alone",
        "splits",
        "what_doubles",
        "bands",
        "near_the_hinge",
        "at_leads",
        "touch",
        "handovers",
        "ways_round",
        "peak_and_barrier",
        "how_sure",
    ),
    "say.swings": ("run_offs", "false_detents", "marks", "first_yield", "swing_cost", "wear", "rough"),
    "lesson.bench_cards": ("batch_card", "complaint_card", "wanted_force"),
    "lesson.choose": ("choose_knife",),
    "lesson.verdict_card": ("claim_card",),
    "lesson.compose_card": ("compose_claim",),
    "lesson.form": ("knife_form",),
    "lesson.quick": ("two_minutes",),
    "lesson.settling": ("settle",),
    "lesson.own_readings": ("my_readings",),
    "lesson.picker": ("photo_picker",),
    "lesson.saving": ("save_box",),
    "lesson.papers": ("hand_on",),
    "lesson.reporting": ("report_card",),
    "pages.post": ("post_page",),
    "pages.report": ("report",),
    "knife.units": ("both",),
    "mechanics.motion": ("finger_words",),
    "mechanics.swing": ("leavings",),
    "mechanics.strength": ("contact_modulus", "relief_words"),
    "argue.proof": ("measured_with",),
    "tune.table": ("Table",),
    "tune.compare": ("beside",),
    "tune.moves": ("as_made", "preset", "travel_by_pin", "with_one_ball", "with_preset", "with_relief"),
    "tune.making": ("making",),
    "tune": ("moves", "pair", "stock", "threshold", "trial"),
}
_ROOMS = {name: room for room, names in _BY_ROOM.items() for name in names}

__all__ = list(_ROOMS)

__getattr__, __dir__ = door(__name__, _ROOMS, checked)
