"""Searches over the blade angle: rest, peak, handovers, draw-in. Each is found on a grid, then closed in on.

Angles in rad; knives along the first axis, shape (m, 1), angles along the second. The peak and the steps are
searched from the stop, because they may lie between any two grid angles.
"""

from typing import NamedTuple

import numpy as np

from . import carry
from .carry import JUST_AFTER
from .lift import FLAT, ROUND, TOUCH_WORDS, friction_at, push_ratio
from .roots import by_sections, closed_in

_ZOOM_ROUNDS, _ZOOM_POINTS = 5, 9
# times what the torque changes by between two grid angles where it is steepest: it changes by no more beside a step
_STEEPER = 2.0
_GRAIN = 1e-15  # rad, to which the rest is closed in, and where another ball joins
_CLOSE = 1e-12  # rad, to which the end of the sticking is closed in
AT_ONCE = 5e-4  # rad, 0.03°: a ball that slips so soon does not stick
STAYS = 1e-6  # rad, 0.01 µm at 10 mm: by less a ball that sticks moves as another one leaves its rim
_PARTS = 2**24  # of a step of the grid, to one of which a change is closed in
FINE = 1025


def rest(detent: carry.Detent, theta: np.ndarray) -> np.ndarray:
    """The smallest angle with closing torque, friction left out; shape (m, 1). The last angle where nothing closes."""
    found = np.zeros((theta.shape[0], 1))
    # nan, of a knife that cannot be, is not at the stop
    rows = np.flatnonzero(~(detent.state(theta[:, :1], 0).torque[:, 0] > 0))
    if rows.size:
        found[rows] = _rest_off_the_stop(detent if rows.size == len(found) else detent.take(rows), theta[rows])
    return found


def _rest_off_the_stop(detent, theta):
    """The same, of knives whose blade nothing presses on the stop."""

    def torque(angle):
        return detent.state(angle, 0).torque

    closing = torque(theta) > 0
    first = np.argmax(closing, axis=-1)[:, None]
    nothing = ~np.any(closing, axis=-1, keepdims=True)
    low, high = (np.take_along_axis(theta, np.maximum(first - back, 0), axis=-1) for back in (1, 0))
    if not np.all(nothing):
        high = closed_in(torque, low, high, torque(low), torque(high), _GRAIN)[1]
    return np.where(nothing, theta[:, -1:], np.where(high > JUST_AFTER, high, 0.0))


def past_the_middle(detent: carry.Detent) -> list[int]:
    """Indexes of the balls that push one knife off its stop: past the middle of their recess while the blade stands
    there, friction left out.
    """
    at = detent.state(np.zeros(1), 0)
    return [i for i, lifted in enumerate(at.lifts) if at.loads[i][0] > 0 and lifted.cos_chi[0] < 0]


def peak(detent: carry.Detent, theta: np.ndarray, at: carry.State, known: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Angle and value of the greatest opening torque up to and on the flat, each of shape (m, 1).

    On either side of a step the torque can stand higher than at any grid angle: known, angles (m, k) where there may be
    one; others are looked for where the torque comes near the greatest.
    """
    angle, value, low, high = _greatest(theta, at.torque)
    ends = np.maximum(at.torque[:, :-1], at.torque[:, 1:])
    near = ends + _STEEPER * np.max(np.abs(np.diff(at.torque, axis=-1)), axis=-1, keepdims=True) >= value
    for _ in range(_ZOOM_ROUNDS):
        inner = low + (high - low) * np.linspace(0.0, 1.0, _ZOOM_POINTS)
        angle, value, low, high = _greatest(inner, detent.state(inner).torque)
    for rows, step in [(np.arange(len(angle)), known), *_steps(detent, theta, at, near)]:
        some = detent if len(rows) == len(angle) else detent.take(rows)
        sides = np.maximum(np.concatenate([step - JUST_AFTER, step + JUST_AFTER], axis=-1), 0.0)
        there, beside, *_ = _greatest(sides, some.state(sides).torque)
        better = beside > value[rows]
        angle[rows], value[rows] = np.where(better, there, angle[rows]), np.where(better, beside, value[rows])
    return angle, value


def _greatest(theta, torque):
    """Where a torque is greatest, how great, and the neighbours of that angle on either side, each of shape (m, 1)."""
    best = np.argmax(torque, axis=-1)[:, None]
    angle, value = (np.take_along_axis(each, best, axis=-1) for each in (theta, torque))
    low, high = (np.take_along_axis(theta, np.clip(best + side, 0, theta.shape[-1] - 1), axis=-1) for side in (-1, 1))
    return angle, value, low, high


def draw_in(detent: carry.Detent, theta: np.ndarray, resting: np.ndarray) -> np.ndarray:
    """The largest angle with closing torque above the pivot's drag at every smaller one down to rest; shape (m, 1)."""
    at = detent.state(theta, -1)
    pulls = (pull(detent, at) > 0) | (theta <= resting)
    fails = np.argmin(pulls, axis=-1)[:, None]
    everywhere = np.all(pulls, axis=-1, keepdims=True)
    high = np.take_along_axis(theta, fails, axis=-1)
    low = np.take_along_axis(theta, np.maximum(fails - 1, 0), axis=-1)
    found = np.where(everywhere, theta[:, -1:], _close_in(_pulls_home(detent, resting), low, high))
    # just before a step the pull can be weaker than at any grid angle
    for rows, step in _steps(detent, theta, at, theta[:, :-1] < found, -1):
        some, before = detent.take(rows), step - JUST_AFTER
        weak = ((pull(some, some.state(before, -1)) <= 0) & (before > resting[rows]) & (before < found[rows]))[:, 0]
        if np.any(weak):
            rows, before = rows[weak], before[weak]
            below = np.max(np.where(theta[rows] < before, theta[rows], 0.0), axis=-1, keepdims=True)
            found[rows] = _close_in(_pulls_home(detent.take(rows), resting[rows]), below, before)
    # off track it can be too weak beside the seat over less than one step of the grid
    comes_home = pull(detent, detent.state(resting + JUST_AFTER, -1)) > 0
    return np.where(comes_home, found, resting)


def take_up(detent: carry.Detent) -> tuple[np.ndarray, np.ndarray]:
    """Blade angle [rad] up to which the rim sticks on opening, 0 where the bar is stiff sideways, and whether another
    ball joins there before it slips; (m, 1) each.

    Where balls that the bar takes along at different speeds share at rest, one at most sticks, and often none.
    """
    found, joins = 0.0, False
    for leaf, rest, shut in zip(detent.leaves, detent.resting, detent.shut, strict=True):
        if not leaf.gives:
            continue
        cos_chi = np.where(rest.lifts.touch == ROUND, 1.0, rest.lifts.cos_chi)
        slipping = rest.loads * push_ratio(rest.lifts._replace(cos_chi=cos_chi), friction_at(leaf.friction, rest.lifts))
        side = np.sum(slipping * leaf.across, axis=0) + rest.face_load * leaf.friction.on_flat * leaf.across[0]
        levers, sticks = np.broadcast_to(leaf.levers, rest.loads.shape), np.argmax(rest.loads, axis=0)[None]
        lever = np.take_along_axis(levers, sticks, axis=0)
        slips = np.maximum(lever[0] * (leaf.tilt * side - rest.omega), 0.0)
        least, greatest = leaf.lever_span(rest.loads > 0)
        rows = np.flatnonzero(greatest > least)
        if rows.size:
            some = leaf.take(rows) if leaf.many else leaf
            slips[rows] = _sharing(some, shut[:, rows], detent.break_out[rows])
        # as the bar goes along, the others come nearer to their rims by what their levers leave of the blade's turn
        nearer = 1 - levers / np.where(lever > 0, lever, np.inf)
        joined = _joined(leaf, rest, shut, nearer, slips)
        found, joins = np.maximum(found, np.minimum(slips, joined)), joins | (joined < slips)
    return tuple(np.broadcast_to(each, detent.break_out.shape) for each in (found, joins))


def _sharing(leaf, shut, last):
    """Blade angle up to which one of the balls that share at rest stays where it is in its recess, (m, 1); last: where
    none does any more.
    """

    def sticks(theta):
        at = leaf.settled(theta, 1, shut)
        stays = np.abs(theta - at.omega * leaf.levers - shut) < STAYS
        return np.any(stays & (at.loads > 0), axis=0)

    found = by_sections(sticks, np.zeros(last.shape), last, _CLOSE)[1]
    return np.where(found > AT_ONCE, found, 0.0)


def _joined(leaf, rest, shut, nearer, slips):
    """Blade angle at which another ball comes to carry while one sticks, inf where none does before that slips (m, 1).
    nearer: how far each ball moves past its rim per turn of the blade; 0 for the one that sticks.

    Both cannot stick, as each would take the bar along at a speed of its own, so the push jumps: either both slip from
    there on, or the one that joins takes the whole bar.
    """
    found = np.full(slips.shape, np.inf)

    def clear(theta):
        bent = some.bent(some.lifted(shut[:, rows] + theta * nearer[:, rows]))
        clearances = np.where(bent.loads > 0, -bent.loads, bent.clearances)
        return np.min(np.where(nearer[:, rows] == 0, np.inf, clearances), axis=0)

    at_shut = np.min(np.where(nearer == 0, np.inf, rest.clearances), axis=0)
    rows = np.flatnonzero(np.isfinite(at_shut) & (at_shut > 0) & (np.max(rest.loads, axis=0) > rest.face_load))
    if rows.size:
        some = leaf.take(rows) if leaf.many else leaf
        at_end = clear(slips[rows])
        joins = at_end[:, 0] <= 0
        rows, at_end = rows[joins], at_end[joins]
    if rows.size:
        some = leaf.take(rows) if leaf.many else leaf
        ends = np.zeros(at_end.shape), slips[rows], at_shut[rows], at_end
        found[rows] = closed_in(clear, *ends, _GRAIN)[1]
    return found


def stall_pockets(detent: carry.Detent, drawn_in: float, last: float) -> tuple[tuple[float, float], ...]:
    """Stretches [deg] beyond the draw-in angle of one knife where the blade pulls shut for a while, then stalls."""
    theta = np.linspace(drawn_in + JUST_AFTER, last, FINE)[None, :]
    pulls = pull(detent, detent.state(theta, -1)) > 0
    turns = np.flatnonzero(np.diff(pulls[0]))
    bounds = _between(
        theta, turns, lambda angle: (pull(detent, detent.state(angle, -1)) > 0) == pulls[0, turns][:, None]
    )
    if pulls[0, 0]:
        bounds.insert(0, drawn_in)
    return tuple(
        (float(np.degrees(low)), float(np.degrees(high))) for low, high in zip(bounds[::2], bounds[1::2], strict=False)
    )


class Kink(NamedTuple):
    """Where what carries one bar changes: angle [rad], indexes of the loaded balls before and after."""

    angle: float
    before: tuple
    after: tuple


def kinks(detent: carry.Detent, theta: np.ndarray) -> list[list[Kink]]:
    """The kinks of one opening knife, in the order of the angle, a list for each bar; a change of what a ball touches
    counts.

    theta: rising blade angles [rad], shape (1, n), between which they are looked for.
    """
    at, found = detent.state(theta), []
    for _, members in carry.bars_of(detent.knife):
        (code,) = _pattern(at, theta.shape, members)
        turns = np.flatnonzero(np.diff(code))
        angles = _between(theta, turns, _same_pattern(detent, members, code[turns][:, None]))
        found.append(
            [
                Kink(angle, _loaded(code[k], members), _loaded(code[k + 1], members))
                for angle, k in zip(angles, turns, strict=True)
            ]
        )
    return found


def _between(theta, turns, holds):
    """The angles of one knife at which something ends that `holds` at those places of theta (1, n), not at the next:
    all closed in on at once.
    """
    return (
        []
        if not turns.size
        else _close_in(holds, theta[0, turns][:, None], theta[0, turns + 1][:, None])[:, 0].tolist()
    )


def pull(detent: carry.Detent, at: carry.State) -> np.ndarray:
    """Closing torque left after the pivot's drag, of a closing blade."""
    return at.torque - carry.pivot_drag(detent.knife, at)


def _pulls_home(detent, resting):
    return lambda angle: (pull(detent, detent.state(angle, -1)) > 0) | (angle <= resting)


def _pattern(at, shape, members):
    """One whole number for which balls of a bar are loaded and what each touches; 0 where the bar face carries."""
    code = np.zeros(shape, int)
    for place, i in enumerate(members):
        code += np.where(at.loads[i] > 0, at.lifts[i].touch + 1, 0) * (len(TOUCH_WORDS) + 1) ** place
    return code


def _same_pattern(detent, members, was, sense=1):
    return lambda angle: _pattern(detent.state(angle, sense), angle.shape, members) == was


def _loaded(code, members):
    """Indexes of the loaded balls in a pattern."""
    return tuple(
        i for place, i in enumerate(members) if code // (len(TOUCH_WORDS) + 1) ** place % (len(TOUCH_WORDS) + 1)
    )


def _steps(detent, theta, at, within, sense=1):
    """(rows, angle) of every change of pattern in a State on theta; none with one ball that only leaves its rim for the
    flat.

    within: between which angles they are asked for, bool (m, n − 1).
    """
    for _, members in carry.bars_of(detent.knife):
        code = _pattern(at, theta.shape, members)
        changes = within & (np.diff(code, axis=-1) != 0)
        if len(members) == 1:
            changes &= code[:, 1:] != FLAT + 1
        rows, columns = np.nonzero(changes)
        if rows.size:
            low, high = theta[rows, columns][:, None], theta[rows, columns + 1][:, None]
            yield from _one_a_row(
                rows,
                _close_in(_same_pattern(detent.take(rows), members, code[rows, columns][:, None], sense), low, high),
            )


def _one_a_row(rows, angles):
    """Split (rows, angles) so that no row comes twice in one part."""
    while rows.size:
        first = np.unique(rows, return_index=True)[1]
        yield rows[first], angles[first]
        rows, angles = np.delete(rows, first), np.delete(angles, first, axis=0)


def _close_in(holds, low, high):
    """The angle between low, where `holds`, and high, where it does not, at which it ends (the far side of it)."""
    return by_sections(holds, low, high, np.max(high - low, initial=0.0) / _PARTS / 2)[1]
