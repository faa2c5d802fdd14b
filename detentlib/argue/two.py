"""Claims about a second ball on the same bar: whether it adds, shares, touches, drags, and what a second leaf does."""

from dataclasses import replace

import numpy as np

from ..knife.parts import Knife
from ..mechanics import carry
from ..tune.moves import as_resized, with_one_ball, without_friction
from ..tune.pair import (
    SUNK,
    TWO_THOU,
    press_difference,
    shared_loads,
    sharing_band,
    with_ball_2_sunk,
    with_leaf_of_its_own,
    with_press_difference,
    with_second_ball,
)
from .cases import ComparedKnife
from .claim import worded
from .scale import DOUBLE, FALSE, PARTLY, SAME, TELL, TIMES, TRUE, Part, Scale, force, forces, ratio
from .switches import all_but

_OUTLINE = ("diameter", "rest_offset", "off_track", "chamfer_width", "chamfer_deg", "edge_radius")
_TOGETHER = 65536  # places at once, knives times angles: what stays near the processor is quicker than all at once
_HALF = 0.4  # a ball with at least this share of the load carries about half


def both_and_one(knife: Knife) -> tuple[Knife, Knife]:
    """The knife with two balls on its bar, and with ball 1 alone; a twin that is put in stands out as far."""
    return with_second_ball(knife, 0.0), with_one_ball(knife)


def _on_two_leaves(knife):
    return with_leaf_of_its_own(knife), with_one_ball(knife)


def with_equal_recesses(knife: Knife) -> Knife:
    """The knife with a second ball and recess like the first, concentric, and 2 thou lower; its distances stay."""
    two, first = with_second_ball(knife), knife.balls[0]
    changes = {"balls[1].diameter": first.diameter}
    changes |= {f"balls[1].recess.{name}": getattr(first.recess, name) for name in _OUTLINE}
    return with_press_difference(two.replace(changes), TWO_THOU)


def room(pair: ComparedKnife, angles: np.ndarray) -> np.ndarray:
    """Room of ball 2 below the bar that ball 1 holds up [mm], below zero where it takes over: [knives, angles]."""
    detent = carry.Detent(with_ball_2_sunk(pair.knife), pair.elastic)
    angles = np.broadcast_to(angles, (detent.count, np.shape(angles)[-1]))
    size = max(1, _TOGETHER // angles.shape[-1])
    some = np.split(np.arange(detent.count), range(size, detent.count, size))
    clear = np.concatenate([detent.take(rows).state(angles[rows]).clearances[1] for rows in some])
    return clear - (np.reshape(pair.knife.balls[1].protrusion, (-1, 1)) - SUNK)


def room_at_rest(pair: ComparedKnife) -> np.ndarray:
    """Room of ball 2 with the blade on the stop [mm]."""
    return room(pair, np.zeros((1, 1)))[:, 0]


def least_room(pair: ComparedKnife) -> np.ndarray:
    """Least room of ball 2 from the stop to the flat [mm], while ball 1 holds the bar up."""
    return room(pair, carry.Detent(with_ball_2_sunk(pair.knife)).opening(129)).min(axis=-1)


def workable_least_room(pair: ComparedKnife) -> np.ndarray:
    """The same, nan for a knife that cannot work."""
    return np.where(pair.works, least_room(pair), np.nan)


def _drag(case):
    """Torque on the flat [N·mm], from the snap ratio (F9)."""
    return case.felt("break_torque") * (1 - case.felt("snap_ratio"))


def _without_friction(_, one):
    """Barrier of ball 1 alone without friction [mJ], the most that E2 allows."""
    return replace(one, knife=without_friction(one.knife)).felt("barrier")


def _pair(knife):
    return (with_second_ball(knife),)


def _smaller(knife):
    """The knife with two balls and a second recess that is smaller, where it is not, by 0.14 mm: a number drill."""
    two = with_second_ball(knife)
    one, other = (ball.recess.diameter if ball.recess.bored else 2 * ball.recess.rim_radius for ball in two.balls[:2])
    return (two.replace(as_resized(two, 1, np.where(one - other < 0.07, one - 0.14 - other, 0.0))),)


def _lower(knife):
    two = with_second_ball(knife)
    deeper = press_difference(two)
    return with_press_difference(two, np.where(deeper > 0, deeper, TWO_THOU)), with_one_ball(knife)


def _half_each(knife, elastic):
    """Where each carries about half, and where they share at all, in room of ball 2 [mm]."""
    if not elastic:
        return Scale((), (FALSE,))
    two = with_second_ball(knife)
    band = sharing_band(two)
    inside = np.linspace(-band.width, 0, 81)
    loads = shared_loads(two, band.begins + inside)
    even = inside[loads.min(axis=1) >= _HALF * loads.sum(axis=1)]
    if not even.size:
        return Scale((-band.width, 0.0), (FALSE, PARTLY, FALSE))
    return Scale((-band.width, float(even[0]), float(even[-1]), 0.0), (FALSE, PARTLY, TRUE, PARTLY, FALSE))


def _sharing(knife, elastic):
    if not elastic:
        return Scale((), (FALSE,))
    return Scale((-sharing_band(_smaller(knife)[0]).width, 0.0), (FALSE, TRUE, FALSE))


_TOUCHING = (
    Part("room of ball 2 on the stop (below zero it lifts the bar off ball 1)", "mm", room_at_rest),
    force(0, "break force with both balls"),
)
_BOTH_AND_ONE = (
    *forces("break force with both balls", "break force of ball 1 alone"),
    force(0, "barrier with both", "barrier"),
)

CLAIMS = (
    worded(
        "doubles",
        number=ratio("Break force with both balls on one bar, against ball 1 alone"),
        scale=DOUBLE,
        cast=both_and_one,
        parts=_BOTH_AND_ONE,
        two_leaves=_on_two_leaves,
    ),
    worded(
        "nothing",
        number=ratio("Break force with both balls on one bar, against ball 1 alone"),
        scale=SAME,
        cast=both_and_one,
        parts=_BOTH_AND_ONE,
    ),
    worded(
        "second-leaf",
        number=ratio("Break force with two leaves, against one leaf and ball 1"),
        scale=DOUBLE,
        cast=_on_two_leaves,
        parts=(
            *forces("break force with two leaves", "break force with one leaf"),
            force(0, "bar force riding, of both leaves", "ride_load"),
        ),
    ),
    worded("halves", number=_TOUCHING[0], scale=_half_each, cast=_pair, parts=_TOUCHING[1:], start={"bar": "elastic"}),
    worded(
        "both-touch", number=_TOUCHING[0], scale=_sharing, cast=_smaller, parts=_TOUCHING[1:], start={"bar": "elastic"}
    ),
    worded(
        "never-touches",
        number=Part("Least room of ball 2 from the stop to the flat", "mm", workable_least_room),
        scale=Scale((0.0,), (FALSE, TRUE)),
        cast=lambda knife: (with_equal_recesses(knife),),
        put_in="ball 2 and its recess exactly equal to those of ball 1, 2 thou lower",
        parts=_TOUCHING,
    ),
    worded(
        "idle",
        number=Part("Least room of ball 2 from the stop to the flat", "mm", workable_least_room),
        scale=Scale((0.0,), (FALSE, TRUE)),
        cast=_pair,
        parts=_TOUCHING,
    ),
    worded(
        "lower-weakens",
        number=ratio("Break force with the lower second ball, against ball 1 alone"),
        scale=Scale((1 + TELL,), (TRUE, FALSE)),
        cast=_lower,
        parts=_BOTH_AND_ONE,
    ),
    worded(
        "deeper",
        number=ratio("Barrier with both balls on one bar, against ball 1 alone", "barrier"),
        scale=Scale((1 + TELL,), (FALSE, TRUE)),
        cast=both_and_one,
        parts=(
            *forces("barrier with both", "barrier of ball 1 alone", name="barrier"),
            Part("the same without friction", "mJ", _without_friction),
        ),
        two_leaves=_on_two_leaves,
    ),
    worded(
        "drag-doubles",
        number=Part("Drag on the flat with both balls, against ball 1 alone", TIMES, lambda b, o: _drag(b) / _drag(o)),
        scale=DOUBLE,
        cast=both_and_one,
        parts=(
            Part("drag with both balls", "N·mm", lambda both, one: _drag(both)),
            Part("drag of ball 1 alone", "N·mm", lambda both, one: _drag(one)),
        ),
        switches=all_but("friction"),
    ),
)
