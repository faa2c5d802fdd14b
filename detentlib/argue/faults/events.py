"""Causes that are an event of the swing or a place that touches: handover, floor, bar face, run-off, marks."""

import math
from itertools import permutations

import numpy as np

from ...derivations.formulas import formulas
from ...doubt.cloud import cloud
from ...doubt.draws import interval
from ...doubt.many import clearest, dropping, stalling
from ...files.instruments import Instrument
from ...knife.parts import spec
from ...mechanics.carry import Detent, bearing, on_track
from ...mechanics.notes import USUAL_WEIGHT
from ...mechanics.search import past_the_middle
from ...mechanics.strength import contact_marks
from ...mechanics.sweep import sweep
from ...mechanics.swing import swing
from ...tune.moves import travel_by_pin, with_one_ball
from .case import EXCLUDED, LIKELY, OPEN, POSSIBLE, PRACTICE, Case, Cause, Move, decides, plain, reads, signed
from .numbers import BEND, CLEANED, SMALL, THOU, bend, oil, seated, stop_pin
from .usual import USUAL

# readings that are no number of the card; ± 95 %, careful bench work: common practice
GAUGE = Instrument("pull gauge at the tab", (), 0.2, 5)
DIAL = Instrument("dial indicator on the bar", (), 0.006, 10)
TRACE = Instrument("lift trace with a dial indicator", (), 0.3, 20)
FEELER = Instrument("feeler between bar face and tang", (), 0.02, 5)
DEPTH = Instrument("depth micrometer into the recess", (), 0.01, 5)
SCOPE = Instrument("microscope with a stage scale", (), 0.02, 15)
BOTH_WAYS = Instrument("two-way pull, before and after cleaning", (), 0.2, 5)
SCALES = Instrument("scales", (), 0.1, 2)
TAB_DIAL = Instrument("dial indicator at the tab", (), 0.02, 5)

_NEAR_JAM, _JAM = 75.0, 90.0
_MARGIN = 0.05  # mm between bar face and tang, what is usual to leave
_SOFT_TANG = "410"
_DRAGS = "open at {at} the ball only drags on the tang, {force} at the tab; it holds nothing there"
_TOUCHES = 1e-9  # mm


def handover(case: Case) -> Cause:
    """The second ball takes over on the way: a step in the push."""
    knife, felt, name = case.knife, case.felt, "handover from one ball to the other"
    if len(knife.balls) == 1:
        decider = decides(DIAL, "mm", felt.seat_depth[0], "a rise without a kink speaks against it")
        said = "there is 1 ball, and no other to hand over to"
        return Cause(name, EXCLUDED, said, 0.0, decider, stop_pin(case, -THOU))
    apart = case.move("ink both rims and locate before cutting; without ball 2", with_one_ball)
    if felt.handovers:
        first, more = felt.handovers[0], len(felt.handovers) - 1
        torques = first.torque_before, first.torque_after
        before, after = (formulas["F5"](torque=torque, arm=knife.blade.tab_arm) for torque in torques)
        said = (
            f"ball {first.from_ball + 1} hands over to ball {first.to_ball + 1} at {plain(first.angle_deg, 'deg')}:"
            f" there the push goes from {plain(before, 'N')} to {plain(after, 'N')}"
        )
        said += f"; {more} more after it" if more else ""
        decider = decides(TRACE, "deg", first.angle_deg, "a kink there speaks for it")
        return Cause(name, LIKELY, said, 1.0, decider, apart)
    # least clearance, on the way to the flat, of a ball that is idle at rest; 0 where it takes over
    drawn = case.drawn.felt()
    idle = np.stack([~drawn.values[f"ball {i + 1} at rest"] for i in range(len(knife.balls))], axis=1)
    column = case.column(np.min(np.where(idle, clearest(drawn), np.inf), axis=1, initial=np.inf))
    clear, takes_over = interval(column), column == 0
    said = f"no handover by the card: the idle ball stays clear by at least {clear.said('mm')}"
    said += case.so_in("there is one", takes_over)
    decider = decides(TRACE, "deg", felt.break_out_deg, "a kink before that angle speaks for it")
    return Cause(name, case.standing(takes_over), said, case.drawn.share(takes_over), decider, apart)


def off_track(case: Case) -> Cause:
    """The recess lies beside the track: the climb starts gently, the peak comes later, and it is lower."""
    path, name = case.path("recess.off_track"), "recess off the track"
    column, usual = case.column(case.many.get(path)), spec(path)["typical"].doubt
    value = interval(column)
    decider = reads(path, case.knife, "more on either side speaks for it")
    cured = case.change({path: 0.0})
    on_track = "ink it and find out before you cut anything; on its track"
    if not (value.value or value.doubt):
        loss = case.change({path: usual})
        said = f"not on the card; {plain(usual, 'mm')} is usual, and with that much {case.told(loss)}"
        move = Move(on_track, case.said, case.unit, None if loss is None else -loss)
        return Cause(name, OPEN, said, case.share(loss), decider, move)
    move = Move(on_track, case.said, case.unit, cured)
    off, peak = value.said("mm"), plain(case.felt.peak_deg, "deg")
    said = f"{off}; the peak stands at {peak}; on its track {case.told(cured)}"
    if abs(value.value) > value.doubt and case.share(cured) >= SMALL:
        standing = LIKELY if abs(value.value) > usual else POSSIBLE
        return Cause(name, standing, said, case.share(cured), decider, move)
    worst = case.change({path: interval(np.abs(column)).high})
    cure = None if None in (worst, cured) else cured - worst  # of a recess as far off as the cause supposes
    standing = EXCLUDED if case.share(worst) < SMALL else OPEN
    end = "at the end of its ±" if value.doubt else "so far off on either side"
    said = f"{value.said('mm')}; {end} {case.told(worst)}"
    return Cause(name, standing, said, case.share(worst), decider, move._replace(effect=cure))


def bar_face(case: Case) -> Cause:
    """The bar face lies on the tang before the ball has reached its rim."""
    column = case.drawn.column("face_clearance")
    gap = interval(column)
    little = POSSIBLE if gap.value < _MARGIN else EXCLUDED
    standing = LIKELY if gap.value <= 0 else OPEN if case.allows(column <= 0) else little
    left, rest = gap.said("mm"), plain(case.felt.rest_deg, "deg")
    said = f"shut, {left} is left between bar face and tang; {plain(_MARGIN, 'mm')} is usual to leave"
    if standing is LIKELY:
        said = f"the bar face lies on the tang: 0 mm is left, and the blade is loose up to {rest}"
    decider = decides(FEELER, "mm", gap.value, "nothing left, or ink rubbed off the face, speaks for it")
    name, weight = "bar face on the tang: ball sunk, or recess deep", _MARGIN / max(gap.value, _MARGIN)
    return Cause(name, standing, said, weight, decider, stop_pin(case, THOU, "face_clearance"))


def floor(case: Case) -> Cause:
    """The ball stands on the floor of its recess, or on chips there."""
    name, recess = "ball on the floor of the recess", case.knife.balls[case.resting].recess
    move = stop_pin(case, THOU)
    if recess.depth is None:
        depth = case.felt.seat_depth[case.resting]
        decider = decides(DEPTH, "mm", depth, "a floor no deeper than that speaks for it")
        said = f"the recess has no floor that the ball, {plain(depth, 'mm')} deep in it, could reach"
        return Cause(name, EXCLUDED, said, 0.0, decider, move)
    column = case.column(case.many.balls[case.resting].recess.depth - seated(case.many, case.resting).sink)
    free = interval(column)
    standing = LIKELY if free.value <= _TOUCHES else case.standing(column <= _TOUCHES)
    said = f"{free.said('mm')} is free under the ball; only chips as thick as that would lift it"
    if standing is LIKELY:
        said = f"the ball stands on the floor, {plain(recess.depth, 'mm')} deep, before its rim touches"
    decider = decides(DEPTH, "mm", recess.depth, "less, or ink rubbed off the floor, speaks for it")
    return Cause(name, standing, said, 1.0, decider, move)


def off_the_stop(case: Case) -> Cause:
    """A ball stands past the middle of its recess: the far rim holds the blade off the stop."""
    knife, rest = case.knife, case.felt.rest_deg
    paths = [f"balls[{i}].recess.rest_offset" for i in range(len(knife.balls))]
    # loaded, the bar draws a ball nearer to the middle of its recess, past it only where another ball pushes it on: but
    # for that the sign is that of the parts
    offsets = {path: interval(case.column(case.many.get(path) + case.many.blade.pivot_play)) for path in paths}
    path = min(offsets, key=lambda each: offsets[each].low)
    value = offsets[path]
    name = "recess too far towards closed: rest offset below zero"
    play = math.radians(rest) * case.knife.blade.tab_arm
    decider = decides(TAB_DIAL, "mm", play, "play up to the stop speaks for it")
    said = f"{value.said('mm')}; by the card it rests {plain(rest, 'deg')} off the stop"
    if rest > 0 and value.value < 0:
        move = stop_pin(case, THOU - value.value / travel_by_pin(knife), "rest_deg")
        return Cause(name, LIKELY, said, 1.0, decider, move)
    move = stop_pin(case, THOU, "rest_deg")
    if rest > 0 and (taken := past_the_middle(Detent(knife))):
        said += f", as the bar, pushed aside by another ball, takes ball {taken[0] + 1} past the middle of its recess"
        return Cause("ball past the middle of its recess: little rest offset", LIKELY, said, 1.0, decider, move)
    if value.low < 0:
        there = case.change({path: value.low, "blade.pivot_play": 0.0}, "rest_deg")
        said += f"; at the end of its ± that would be {plain(rest + (there or 0.0), 'deg')}"
        return Cause(name, OPEN, said, 0.5, decider, move)
    return Cause(name, EXCLUDED, said, 0.0, decider, move)


def stall(case: Case) -> Cause:
    """It draws in, stalls, and would draw in again further out: an early stop on the way shut."""
    drawn, pockets, stalls = case.felt.draw_in_deg, case.felt.stall_pockets, stalling(case.drawn.felt())
    decider = decides(TRACE, "deg", drawn, "a place beyond it from where the blade moves and stops again speaks for it")
    if pockets:
        near, far = pockets[0]
        stops = f"from {plain(far, 'deg')} it pulls towards shut, but stops at {plain(near, 'deg')}"
        said = f"{stops}; all the way only from {plain(drawn, 'deg')}"
        standing, weight = LIKELY, far - near
    else:
        standing, weight = case.standing(stalls), case.drawn.share(stalls)
        said = f"none by the card: from {plain(drawn, 'deg')} on it draws in without a stop"
    said += case.so_in("it stalls", stalls)
    return Cause("stall pocket on the way shut", standing, said, weight, decider, oil(case))


def near_jam(case: Case) -> Cause:
    """Contact angle and friction angle together near a right angle: self-locking."""
    column = case.column(np.degrees(seated(case.many, case.at).phi + np.arctan(case.many.friction.rim)))
    leans = interval(column)
    lean = leans.value
    standing = LIKELY if lean > _NEAR_JAM + 5 else POSSIBLE if lean > _NEAR_JAM else case.standing(column > _NEAR_JAM)
    said = f"contact angle and friction angle together make {leans.said('deg')}; it jams at {_JAM:g}°"
    jams = math.tan(math.radians(_JAM - case.felt.contact_deg[case.at]))
    decider = reads("friction.rim", case.knife, f"above {jams:.2f} it would jam")
    return Cause("close to jamming", standing, said, lean / _JAM, decider, oil(case))


def little_to_press(case: Case) -> Cause:
    """A weak detent lets go before the finger is loaded: what throws the blade is what held it back (D1)."""
    name, why = "detent weak: the finger has little to press against", "what it has to press throws the blade"
    return _to_press(case, name, why, -1)


def much_to_press(case: Case) -> Cause:
    """A detent that the finger does not get to let go throws nothing."""
    return _to_press(case, "detent strong: more than a finger starts", "what does not let go throws nothing", 1)


def _to_press(case, name, why, side):
    """A break force beyond one end of what is usual; side: −1 for the low end."""
    column, (least, most) = case.drawn.column("break_force"), USUAL["break_force"]
    force, end = interval(column), least if side < 0 else most
    said = f"{force.said('N')}, usual from {least:g} to {most:g} N; {why}"
    standing = LIKELY if side * (force.value - end) > 0 else case.standing(side * (column - end) > 0)
    speaks = f"{'less' if side < 0 else 'more'} than {end:g} N speaks for it"
    lacks = max(side * ((force.low if side < 0 else force.high) - end), 0.0) / end
    move = bend(case.about("break_force"), -side * BEND)
    return Cause(name, standing, said, lacks, decides(GAUGE, "N", force.value, speaks), move)


def second_ball(case: Case) -> Cause:
    """A second ball that makes the start steeper than ball 1 alone."""
    name = "second ball on a steeper place"
    if len(case.knife.balls) == 1:
        decider = decides(GAUGE, "N", case.felt.break_force, "this is what one ball does")
        return Cause(name, EXCLUDED, "there is 1 ball", 0.0, decider, stop_pin(case, THOU))
    alone = case.change(with_one_ball)
    decider = decides(GAUGE, "N", case.felt.break_force, "less with ball 2 out speaks for it")
    said = f"with ball 1 alone {case.told(alone)}"
    if alone is None:
        return Cause(name, EXCLUDED, said, 0.0, decider, stop_pin(case, THOU))
    # the same draws, as what two knives have in common is drawn once
    one = cloud(case.knife, with_one_ball(case.knife)).column("break_force", 1)
    part = case.column(1 - one / case.drawn.column("break_force"))
    stiffer, most = part > SMALL, interval(part)
    said += case.so_in(f"without ball 2 it falls by more than {100 * SMALL:g} %", stiffer)
    standing, weight = (POSSIBLE, most.value) if stiffer[0] else (case.standing(stiffer), max(most.high, 0.0))
    return Cause(name, standing, said, weight, decider, stop_pin(case, THOU))


def own_weight(case: Case) -> Cause:
    """The weight of the blade against the detent."""
    blade, name = case.knife.blade, "weight of the blade alone"
    move = Move("hold the pivot axis upright and try again", "weight at the tab", "N", 0.0)
    if not (blade.mass and blade.balance_radius):
        usual = spec("blade.mass")["typical"].value
        said = f"mass and balance point are not on the card; {plain(usual, 'g')} is usual, worth some"
        said += f" {plain(USUAL_WEIGHT, 'N')} at the tab lying down"
        move, weight = move._replace(effect=-USUAL_WEIGHT), USUAL_WEIGHT / case.felt.break_force
        return Cause(name, OPEN, said, weight, decides(SCALES, "g", usual, "more speaks for it"), move)
    many = case.many.blade
    shut = formulas["F7"](mass=many.mass, balance_radius=many.balance_radius, attitude=np.pi / 2, theta=0.0)
    pulls, breaks = case.column(formulas["F5"](torque=shut, arm=many.tab_arm)), case.drawn.column("break_force")
    pull, holds = pulls[0], breaks[0]
    move = move._replace(effect=-pull)
    standing = LIKELY if pull >= holds else POSSIBLE if pull > holds / 3 else case.standing(pulls > breaks / 3)
    said = f"lying down it is worth {plain(pull, 'N')} at the tab; the detent breaks at {plain(holds, 'N')}"
    return Cause(name, standing, said, pull / holds, decides(SCALES, "g", blade.mass, "more speaks for it"), move)


def pressed_track(case: Case) -> Cause:
    """Contact pressure on the flat past yield."""
    found = contact_marks(case.knife, case.felt)
    width = 2 * found.flat.short_axis
    standing = case.standing(case.drawn.column("ride_load") >= found.first_yield)
    if found.flat.load >= found.first_yield:
        standing = LIKELY if found.static and found.flat.load >= found.static else POSSIBLE
    said = (
        f"the ball presses the flat with {plain(found.flat.load, 'N')}; hard blade steel first yields at"
        f" {plain(found.first_yield, 'N')}, bearing makers stop at {plain(found.static, 'N')}: {found.track}"
    )
    decider = decides(SCOPE, "mm", width, "a track much wider than this contact speaks for more than pressing")
    return Cause("contact pressure", standing, said, found.flat.of_yield, decider, bend(case, -BEND))


def soft_tang(case: Case) -> Cause:
    """A tang that was never hard, or was drawn by heat."""
    found = contact_marks(case.knife, case.felt, tang=_SOFT_TANG)
    first, rides = plain(found.first_yield, "N"), plain(found.flat.load, "N")
    said = f"not on the card; at 43 HRC it would first yield at {first}, and {rides} ride on it"
    decider = decides(SCOPE, "mm", 2 * found.flat.short_axis, "a track with raised lips speaks for it")
    move = Move("test it with a file on the back of the tang")
    return Cause("soft tang", OPEN, said, found.flat.of_yield, decider, move)


def run_off(case: Case) -> Cause:
    """A ball leaves the tang before the blade is open, and the bar drops."""
    knife, name = case.knife, "a ball runs off the tang"
    move = Move("ink the edge; breaking it lightly only spreads the drop", "drop", "mm", 0.0)
    known = [ball.run_off_deg for ball in knife.balls if ball.run_off_deg is not None]
    if not known:
        decider = decides(TRACE, "deg", knife.blade.opening_deg, "a drop before the end speaks for it")
        said = f"where the track ends is not on the card; the blade opens to {plain(knife.blade.opening_deg, 'deg')}"
        return Cause(name, OPEN, said, 0.0, decider, move)
    first = min(known)
    if first >= knife.blade.opening_deg:
        decider = decides(TRACE, "deg", first, "a drop before that speaks for it")
        ends = np.broadcast_arrays(*(ball.run_off_deg for ball in case.many.balls if ball.run_off_deg is not None))
        short = np.broadcast_to(np.ravel(np.min(ends, axis=0) < case.many.blade.opening_deg), case.drawn.n + 1)
        said = f"the track ends at {plain(first, 'deg')}, the blade is open at {plain(knife.blade.opening_deg, 'deg')}"
        said += case.so_in("it ends before that", short)
        return Cause(name, case.standing(short), said, case.drawn.share(short), decider, move)
    drops = swing(knife).run_offs
    told = [
        f"ball {i + 1} at {plain(each.from_deg, 'deg')}: the bar drops by {plain(each.gap_from - each.gap_to, 'mm')}"
        for i, each in drops.items()
    ]
    deepest = max(each.gap_from - each.gap_to for each in drops.values())
    decider = decides(TRACE, "deg", first, "a drop there speaks for it")
    return Cause(name, LIKELY, "; ".join(told), deepest, decider, move)


def crossing(case: Case) -> Cause:
    """A ball drops into another ball's recess in mid-swing."""
    knife, opening = case.knife, case.knife.blade.opening_deg
    name, move = "a ball crosses the other ball's recess", Move("ink both tracks and look where they cross")
    decider = decides(TRACE, "deg", opening, "a dip before the end speaks for it")
    if len(knife.balls) == 1:
        return Cause(name, EXCLUDED, "there is 1 ball", 0.0, decider, move)
    pairs = list(permutations(range(len(knife.balls)), 2))
    if any(bearing(knife, i) is None for i in range(len(knife.balls))):
        near = np.any(np.broadcast_arrays(*(on_track(case.many, i, j) for i, j in pairs)), axis=0).ravel()
        said = f"where they stand round the pivot is not on the card; the blade opens to {plain(opening, 'deg')}"
        said += case.so_in("one is on the track of the other", near)
        return Cause(name, case.standing(near), said, 0.0, decider, move)
    drops = dropping(case.drawn.felt())
    found = swing(knife).crossings
    if found:
        at = found[0].from_deg
        said = f"from {plain(at, 'deg')} to {plain(found[0].to_deg, 'deg')}{case.so_in('it happens', drops)}"
        return Cause(name, LIKELY, said, 1.0, decides(TRACE, "deg", at, "a dip there speaks for it"), move)
    said = f"none by the card, up to {plain(opening, 'deg')}{case.so_in('it happens', drops)}"
    return Cause(name, case.standing(drops), said, case.drawn.share(drops), decider, move)


def burr(case: Case) -> Cause:
    """A burr or a chipped rim: not in the model."""
    width = 0.02
    rounded = case.change({case.path("recess.chamfer_width"): width, case.path("recess.edge_radius"): 0.0})
    said, edge = "the model has a clean rim", case.knife.balls[case.at].recess.edge_radius
    if rounded is not None:
        worth = f"{signed(rounded, case.unit)} ({case.said})"
        said += f"; a light chamfer of {plain(width, 'mm')} is worth {worth}"
    decider = decides(SCOPE, "mm", edge, "a bright, raised or broken rim speaks for it")
    move = Move("clean; deburr with a stick of wood before anything hard", cautions=CLEANED)
    return Cause("burr or chip on the rim", PRACTICE, said, 0.0, decider, move)


def dirt(case: Case) -> Cause:
    """Grit in the track or in the recess."""
    decider = decides(BOTH_WAYS, "N", case.felt.break_force, "a change speaks for it")
    said = f"not in the model; friction on the card is {case.knife.friction.rim:g}"
    return Cause("dirt, chips", PRACTICE, said, 0.0, decider, oil(case))


def lock_face(case: Case) -> Cause:
    """Lock stick: another contact than the detent."""
    said = "open at {at} the detent asks for {force} at the tab; stick is felt there, the detent acts shut"
    return _of_the_lock(case, said, "much more with the lock engaged, and only then, is the lock face")


def lock_play(case: Case) -> Cause:
    """Play of the open, locked blade: lock face, stop pin and pivot; another contact than the detent."""
    return _of_the_lock(case, _DRAGS, "play with the lock engaged is lock face, stop pin or pivot")


def lock_slips(case: Case) -> Cause:
    """A lock that does not hold: another contact than the detent."""
    speaks = "a lock that gives under a careful push on the back of the blade is the lock face"
    return _of_the_lock(case, _DRAGS, speaks)


def _of_the_lock(case, said, speaks):
    """The detent, which has no part in it."""
    open_deg = case.knife.blade.opening_deg
    force = float(sweep(case.knife, [open_deg]).tab_force[0])
    said = said.format(at=plain(open_deg, "deg"), force=plain(force, "N"))
    move = Move("none from here: out of scope. Take the lock to a qualified knifemaker")
    return Cause("the detent", EXCLUDED, said, 0.0, decides(GAUGE, "N", force, speaks), move)
