"""Causes that came with time or a blow: a worn rim, a ball sunk or fallen out, a bend that was lost, a loose pivot.

What such a loss does is computed for an amount that is usual; whether it is there, a reading against the card must say.
"""

from ...files.instruments import Instrument
from ...tune.moves import THOU, as_made, with_preset
from ..switches import WORN
from .case import EXCLUDED, LIKELY, OPEN, POSSIBLE, PRACTICE, Case, Cause, Move, decides, plain, reads
from .events import GAUGE
from .numbers import BEND, PRESSED, SMALL, bend, stop_pin

# readings that are no number of the card; ± 95 %, careful bench work: common practice
TIP_DIAL = Instrument("dial indicator at the side of the blade", (), 0.02, 5)
SIDES = Instrument("feeler beside the shut blade, on either side", (), 0.02, 5)
BAR_HOLE = Instrument("plug pins in the hole of the bar", (), 0.013, 10)

_SUNK = 2 * THOU  # mm that a ball is knocked or worn in: judgement
_PLAY = 0.05  # mm of play in a pivot that a hand feels: judgement
_ASIDE = 0.1  # mm that a blade stands off centre, which an eye sees: judgement
_HELD = 0.9  # of its radius, up to which a ball may stand out: common practice
_FIT = (0.01, 0.03)  # mm by which a hole is smaller than the ball pressed into it: common practice, low confidence


def worn_rim(case: Case) -> Cause:
    """The rim that works has worn, round or to a bevel: the softer of the two counts."""
    rim, recess, name = case.path("recess"), case.knife.balls[case.at].recess, "rim worn round or to a bevel"
    decider = reads(f"{rim}.edge_radius", case.knife, "a dull band on the side that works speaks for it")
    move = stop_pin(case, -THOU)
    if recess.edge_radius or recess.chamfer_width:
        sharp = case.change({f"{rim}.edge_radius": 0.0, f"{rim}.chamfer_width": 0.0})
        worn = sharp is not None and sharp > 0 and case.share(sharp) >= SMALL
        kind, much = ("rounded", recess.edge_radius) if recess.edge_radius else ("bevelled", recess.chamfer_width)
        said = f"{kind} by {plain(much, 'mm')} on the card; sharp, {case.told(sharp)}"
        return Cause(name, POSSIBLE if worn else EXCLUDED, said, case.share(sharp), decider, move)
    ways = {"rounded": {f"{rim}.edge_radius": WORN}, "bevelled": {f"{rim}.chamfer_width": WORN}}
    kind = min(ways, key=lambda each: case.change(ways[each]) or 0.0)
    return _lost(case, name, f"sharp on the card; {kind} by {plain(WORN, 'mm')}", ways[kind], decider, move)


def ball_sunk(case: Case) -> Cause:
    """The ball was knocked deeper into the bar, or has a flat worn on it."""
    path = f"balls[{case.at}].protrusion"
    sunk = case.knife.get(path) - _SUNK
    said = f"{plain(case.knife.get(path), 'mm')} on the card; {plain(_SUNK, 'mm')} less"
    decider = reads(path, case.knife, "less than on the card, or a bright flat on the ball, speaks for it")
    move = Move("a new ball in a hole that still holds it", cautions=PRESSED)

    def lost(knife):
        return knife.replace(as_made(knife, {path: sunk}))

    return _lost(case, "ball sunk, or worn flat", said, lost, decider, move, back=True)


def preset_lost(case: Case) -> Cause:
    """The bar was bent back, or the bend that it had has crept."""
    said = f"{plain(case.knife.bar.riding_force, 'N')} on the card; with {plain(BEND, 'mm')} of bend lost"
    decider = reads("bar.riding_force", case.knife, "less than on the card speaks for it")
    name = "bar bent back, or its bend crept"
    return _lost(case, name, said, lambda knife: with_preset(knife, -BEND), decider, bend(case, BEND))


def pivot_play(case: Case) -> Cause:
    """The blade stands in the play of its pivot, so that the recess lies beside its track."""
    path = case.path("recess.off_track")
    beside = [{path: case.knife.get(path) + side * _PLAY} for side in (1, -1)]
    worst = min(beside, key=lambda each: case.change(each) or 0.0)
    decider = decides(TIP_DIAL, "mm", 0.0, "play at the tang, pivot snug, speaks for it")
    move = Move("take up the pivot until the play just goes, then check drag", cautions=("centring",))
    said = f"with {plain(_PLAY, 'mm')} of it across the track"
    return _lost(case, "play in the pivot", said, worst, decider, move, back=True)


def _lost(case, name, said, changes, decider, move, back=False):
    """The Cause that a loss of a usual amount would be; back: the move brings back what was lost."""
    change = case.change(changes)
    felt = change is None or (change < 0 and case.share(change) >= SMALL)
    said = f"{said}, {case.told(change)}{'' if felt else ', which nobody feels as weaker'}"
    move = move._replace(of=case.said, unit=case.unit, effect=-change) if back and change is not None else move
    return Cause(name, OPEN if felt else EXCLUDED, said, case.share(change), decider, move)


def loose_screw(case: Case) -> Cause:
    """The pivot screw backed out, or its washers or bearing are worn: not in the model."""
    said = f"not in the model; the drag of the pivot on the card is {plain(case.knife.friction.pivot_torque, 'N·mm')}"
    speaks = "play that goes when the screw is snug is the screw, play that stays is worn parts"
    decider = decides(TIP_DIAL, "mm", 0.0, speaks)
    move = Move("snug the screw with a drop of thread lock, then the washers; check drag", cautions=("centring",))
    return Cause("pivot screw backed out, or washers worn", PRACTICE, said, 0.0, decider, move)


def pushed_aside(case: Case) -> Cause:
    """The bar pushes the blade over to the other side, as far as its pivot gives."""
    force = case.about("break_force")
    said = f"shut, the bar presses the tang aside with {plain(case.felt.rest_load, 'N')}"
    changes = [force.change(lambda knife, step=step: with_preset(knife, step)) for step in (_ASIDE, -_ASIDE)]
    told = " or ".join(plain(abs(change), "N") for change in changes if change is not None)
    if told:
        said += f"; {plain(_ASIDE, 'mm')} nearer to the bar or further off changes the break force by {told}"
    decider = decides(SIDES, "mm", 0.0, "as much room on both sides once the bar is held off speaks for it")
    move = Move("snug the pivot first; bend nothing before you know", cautions=("centring",))
    return Cause("the bar pushes the blade aside", PRACTICE, said, 0.0, decider, move)


def not_straight(case: Case) -> Cause:
    """Handle, spacer, washers or the blade itself are not straight: not in the model."""
    said = "not in the model, which takes the blade to stand 0 mm aside"
    decider = decides(SIDES, "mm", 0.0, "room that differs with the bar held off, and pivot snug, speaks for it")
    move = Move("loosen the body screws, close the blade, tighten them crosswise", cautions=("centring",))
    return Cause("handle, spacer or blade out of line", PRACTICE, said, 0.0, decider, move)


def ball_held(case: Case) -> Cause:
    """So much of the ball stands out that little of it is held."""
    ball, path = case.knife.balls[case.resting], f"balls[{case.resting}].protrusion"
    out = ball.protrusion / ball.radius
    many = case.many.balls[case.resting]
    much = case.standing(case.column(many.protrusion / many.radius) > _HELD)
    standing = LIKELY if out >= 1 else POSSIBLE if out > _HELD else much
    stands = f"{plain(ball.protrusion, 'mm')} of {plain(ball.diameter, 'mm')} stands out"
    said = f"{stands}, {out:.2f} of its radius; up to {_HELD:g} is usual (common practice)"
    decider = reads(path, case.knife, "more speaks for it")
    move = Move("a new ball, pressed further in", cautions=PRESSED)
    return Cause("ball stands out too far to be held", standing, said, out, decider, move)


def bar_hole(case: Case) -> Cause:
    """The hole in the bar no longer grips the ball: not in the model."""
    ball = case.knife.balls[case.resting]
    usual = f"{_FIT[0]:g} to {_FIT[1]:g} mm smaller than the ball"
    said = f"not on the card; the hole is usually {usual}, {plain(ball.diameter, 'mm')}"
    decider = decides(BAR_HOLE, "mm", ball.diameter, "a pin as large as the ball that goes in speaks for it")
    move = Move("the next larger ball, its hole drilled for it, rather than glue", cautions=(*PRESSED, "drill"))
    return Cause("hole in the bar too wide to grip", PRACTICE, said, 0.0, decider, move)


def cloth(case: Case) -> Cause:
    """Something in the pocket pulls at tab or stud."""
    force = case.felt.break_force
    said = f"not in the model; {plain(force, 'N')} at the tab opens it, whatever pulls there"
    decider = decides(GAUGE, "N", force, "less speaks for the detent, as much for what pulls at the tab")
    move = Move("look what touches tab and stud in the pocket")
    return Cause("cloth, keys or clip pull at the tab", PRACTICE, said, 0.0, decider, move)
