"""From the loaded knife to its parts: the rest offsets that go with rim gaps seen while the bar presses (B6, L2)."""

from collections.abc import Mapping

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife, KnifeError, Problem
from .carry import Detent
from .leaf import leaves_of

_AGREES = 1e-10  # rad, at the ball some 1e-9 mm
_DOUBLINGS, _ROUNDS, _SECTIONS = 30, 8, 257  # of the turns among which the balance is looked for


def rest_offsets(knife: Knife, rim_gaps: Mapping[int, float]) -> tuple[float, ...]:
    """Rest offset of each ball [mm], nothing pressing, for rim gaps of the loaded knife: shut, on its stop, settled as
    it closed.

    rim_gaps: {index of a ball: its rim's radius at the tang face less how far it then stands from the middle [mm]}; of
    every other ball the knife's own rest offset holds. The play of the pivot is in what was seen, so it counts as 0.
    With every place known all is explicit: the loads push the bar sideways, and each ball was so much further short of
    concentric before; otherwise that turn is found where its balance crosses zero. Where a ball stands on rim and floor
    at once, a range of parts shows the same: one of them is given. Raises KnifeError for a rim gap that the recess has
    no room for, and for a place where the ball would not stay.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> bar = LockBar(17.04, rate=10.298, side_compliance=0.0035)
    >>> knife = Knife("A", [Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208))], bar, Blade(14.0), Friction(0.12))
    >>> round(rest_offsets(knife, {0: 0.6004})[0], 4)       # 0.0600 mm short when loaded, 0.0453 of give (B6d)
    0.1053
    """
    loose = {"blade.pivot_play": 0.0} | {f"balls[{i}].recess.rest_offset": 0.0 for i in rim_gaps}
    at = {i: _angle(knife, i, gap) for i, gap in rim_gaps.items()}
    found = {}
    for leaf in leaves_of(knife.replace(loose)):
        known = {row: at[i] for row, i in enumerate(leaf.members) if i in at}
        omega = _turn(leaf, known) if known else 0.0
        for row, angle in known.items():
            ball = leaf.parts[row]
            before = angle + omega * np.ravel(leaf.levers[row])[0]
            found[leaf.members[row]] = float((ball.track_radius + ball.recess.off_track) * np.sin(before))
    offsets = tuple(found.get(i, ball.recess.rest_offset) for i, ball in enumerate(knife.balls))
    stripped = {f"balls[{i}].recess.rest_offset": offset for i, offset in enumerate(offsets)}
    detent = Detent(knife.replace({"blade.pivot_play": 0.0} | stripped))
    for i, gap in rim_gaps.items():
        if not _stands(detent, i, at[i]):
            raise KnifeError(_walks(i, gap), knife.title)
    return offsets


def _angle(knife, i, gap):
    """How far ball i is turned from the place nearest to the middle of its recess where it has this rim gap [rad]
    (L2a).
    """
    ball, recess = knife.balls[i], knife.balls[i].recess
    distance = recess.rim_radius - gap
    if not abs(recess.off_track) <= distance:
        raise KnifeError(_no_room(i, gap, recess), knife.title)
    return formulas["L2a"](
        distance=distance, track_radius=ball.track_radius, off_track=recess.off_track, rest_offset=0.0
    )


def _turn(leaf, known):
    """Sideways turn [rad] at which the closing pushes hold the bar, with the balls in some rows at known angles {row:
    rad}.

    The rest offsets of those are 0 here, so that their angle says where they stand however the bar is turned. Where
    more than one turn would do, it is the least.
    """

    def off(omega):
        places = [
            known[row] + omega * lever if row in known else 0.0 * omega
            for row, lever in enumerate(np.ravel(leaf.levers))
        ]
        return leaf.pressed(np.reshape(places, (len(places), 1, -1)), omega[None], -1).off[0]

    asked = -off(np.zeros(1)).item()
    if len(known) == len(leaf.parts) or not asked:
        return asked  # the pushes do not depend on the turn
    low, high = min(asked, 0.0), max(asked, 0.0)
    for _ in range(_DOUBLINGS):
        if np.all(off(np.array([low, high])) * [-1, 1] >= 0):
            break
        low, high = 2 * low - abs(asked), 2 * high + abs(asked)
    for _ in range(_ROUNDS):
        turns = np.linspace(low, high, _SECTIONS)
        first = max(np.argmax(off(turns) >= 0), 1)
        low, high = turns[first - 1], turns[first]
    return float(high)


def _stands(detent, i, angle):
    """Whether ball i of the shut knife stands at this angle from the place nearest to the middle of its recess
    [rad].
    """
    ball = detent.knife.balls[i]
    ahead = np.arcsin(ball.recess.rest_offset / (ball.track_radius + ball.recess.off_track))
    for leaf, shut in zip(detent.leaves, detent.shut, strict=True):
        if i in leaf.members:
            return bool(abs(np.ravel(shut)[leaf.members.index(i)] + ahead - angle) < _AGREES)
    return False


def _no_room(i, gap, recess):
    most = recess.rim_radius - abs(recess.off_track)
    return Problem(
        f"balls[{i}].recess.rim_gap",
        f"{gap:g} mm",
        f"is more than the {most:.4g} mm that the recess has room for",
        "Even in the middle of its track the ball stands no further from the rim.",
        "Measure rim gap and recess diameter again, at the tang face; is the unit right?",
    )


def _walks(i, gap):
    return Problem(
        f"balls[{i}].recess.rim_gap",
        f"{gap:g} mm",
        "is no place where the ball stays",
        "With this bar the rim pushes it sideways on towards the middle of its recess, so it cannot have been seen"
        " there.",
        "Measure the rim gap again, or the sideways give of the bar: it gives less than is taken here.",
    )
