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
from .claim import AGAINST, FOR, TAUGHT, Claim
from .scale import DOUBLE, FALSE, PARTLY, SAME, TELL, TIMES, TRUE, Part, Scale, force, ratio
from .switches import all_but

_OUTLINE = ("diameter", "rest_offset", "off_track", "chamfer_width", "chamfer_deg", "edge_radius")
_HALF = 0.4  # a ball with at least this share of the load carries about half
_ONE_MOMENT = (
    "One bar has one moment, and the resistance is that moment times the slope of the lift curve. What one ball takes"
    " of it, the other is spared."
)


def both_and_one(knife: Knife) -> tuple[Knife, Knife]:
    """The knife with two balls on its bar, and with ball 1 alone."""
    return with_second_ball(knife), with_one_ball(knife)


def _on_two_leaves(knife):
    """The knife with each of two balls on a leaf of its own, and with one leaf and ball 1."""
    return with_leaf_of_its_own(knife), with_one_ball(knife)


def with_equal_recesses(knife: Knife, deeper: float = TWO_THOU) -> Knife:
    """The knife with a second ball and recess like the first, concentric, and `deeper` [mm]; its distances stay."""
    two, first = with_second_ball(knife), knife.balls[0]
    changes = {"balls[1].diameter": first.diameter}
    changes |= {f"balls[1].recess.{name}": getattr(first.recess, name) for name in _OUTLINE}
    return with_press_difference(two.replace(changes), deeper)


def room(pair: ComparedKnife, angles: np.ndarray) -> np.ndarray:
    """Room of ball 2 below the bar that ball 1 holds up [mm], below zero where it takes over: array [knives,
    angles].
    """
    clear = carry.state(with_ball_2_sunk(pair.knife), angles, pair.elastic).clearances[1]
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


def _drag(place):
    """Torque on the flat [N·mm], from the snap ratio (F9)."""
    return lambda *cases: cases[place].felt("break_torque") * (1 - cases[place].felt("snap_ratio"))


def _without_friction(_, one):
    """Barrier of ball 1 alone without friction [mJ], the most that E2 allows."""
    return replace(one, knife=without_friction(one.knife)).felt("barrier")


def _pair(knife):
    return (with_second_ball(knife),)


def _smaller(knife):
    """The knife with two balls and a second recess that is smaller: as it is, else by 0.14 mm, about one number
    drill.
    """
    two = with_second_ball(knife)
    one, other = (ball.recess.diameter if ball.recess.bored else 2 * ball.recess.rim_radius for ball in two.balls[:2])
    return (two.replace(as_resized(two, 1, np.where(one - other < 0.07, one - 0.14 - other, 0.0))),)


def _lower(knife):
    two = with_second_ball(knife)
    deeper = press_difference(two)
    return with_press_difference(two, np.where(deeper > 0, deeper, TWO_THOU)), with_one_ball(knife)


def _equal(knife):
    return (with_equal_recesses(knife),)


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
    force(0, "break force with both balls"),
    force(1, "break force of ball 1 alone"),
    force(0, "barrier with both", "barrier"),
)
_INK = "ink both rims, work the first three degrees twenty times, and look which rim is bright."
_PULL = (
    f"{_INK} Then pull at the tab five times as it is and, only if ball 2 can be put back, five times with it taken out"
    " and nothing else touched."
)

CLAIMS = (
    Claim(
        id="doubles",
        sentence="Two balls, two times the snap.",
        says=FOR,
        number=ratio("Break force with both balls on one bar, against ball 1 alone"),
        scale=DOUBLE,
        cast=both_and_one,
        parts=_BOTH_AND_ONE,
        why=_ONE_MOMENT,
        bench=_PULL,
        two_leaves=_on_two_leaves,
    ),
    Claim(
        id="nothing",
        sentence="The second ball does nothing at all.",
        says=AGAINST,
        number=ratio("Break force with both balls on one bar, against ball 1 alone"),
        scale=SAME,
        cast=both_and_one,
        parts=_BOTH_AND_ONE,
        why=(
            "It does nothing as long as it hangs clear all the way. Where its rim is nearer, its recess smaller or "
            "its track longer, it can change the lift curve."
        ),
        bench=_PULL,
    ),
    Claim(
        id="second-leaf",
        sentence="A second leaf with a ball of its own doubles it.",
        says=TAUGHT,
        number=ratio("Break force with two leaves, against one leaf and ball 1"),
        scale=DOUBLE,
        cast=_on_two_leaves,
        parts=(
            force(0, "break force with two leaves"),
            force(1, "break force with one leaf"),
            force(0, "bar force riding, of both leaves", "ride_load"),
        ),
        why="Two springs have two moments, and these do add up. So does what presses on the lock.",
        bench="pull at the tab five times with both leaves, and five times with the second one held off.",
    ),
    Claim(
        id="halves",
        sentence="Both balls carry half each.",
        number=_TOUCHING[0],
        scale=_half_each,
        cast=_pair,
        parts=_TOUCHING[1:],
        why=(
            "A stiff bar rests on one ball; both carry only in the narrow band in which the squash of balls and rims"
            " makes up for the difference. Even then the torque is a weighted mean of what each would do alone, never"
            " the sum."
        ),
        bench=_INK,
        start={"bar": "elastic"},
    ),
    Claim(
        id="both-touch",
        sentence="With a smaller second recess both balls touch at the start.",
        number=_TOUCHING[0],
        scale=_sharing,
        cast=_smaller,
        parts=_TOUCHING[1:],
        why=(
            "Beyond the touch threshold the second ball lifts the bar off the first. Both touch only in the sharing"
            " band round the threshold."
        ),
        bench=_INK,
        start={"bar": "elastic"},
    ),
    Claim(
        id="never-touches",
        sentence="Equal concentric recesses, second ball 2 thou lower: it never touches.",
        says=AGAINST,
        number=Part("Least room of ball 2 from the stop to the flat", "mm", workable_least_room),
        scale=Scale((0.0,), (FALSE, TRUE)),
        cast=_equal,
        parts=_TOUCHING,
        why=(
            "In the plane it is clear by the press-depth difference all the way. On a longer track radius its rim comes"
            " sooner, and the room shrinks."
        ),
        bench=_INK,
    ),
    Claim(
        id="idle",
        sentence="The second ball of this knife never touches.",
        says=AGAINST,
        number=Part("Least room of ball 2 from the stop to the flat", "mm", workable_least_room),
        scale=Scale((0.0,), (FALSE, TRUE)),
        cast=_pair,
        parts=_TOUCHING,
        why="Whether it touches hangs on thousandths: how deep it is pressed, and how near its rim stands.",
        bench=_INK,
    ),
    Claim(
        id="lower-weakens",
        sentence="A lower second ball can only weaken it.",
        number=ratio("Break force with the lower second ball, against ball 1 alone"),
        scale=Scale((1 + TELL,), (TRUE, FALSE)),
        cast=_lower,
        parts=_BOTH_AND_ONE,
        why=(
            "True for equal balls and arms on a bar that is stiff sideways, whatever its rate. A longer track radius or"
            " a smaller ball can hit harder, and where the bar gives sideways a nearer rim can a little."
        ),
        bench=_PULL,
    ),
    Claim(
        id="deeper",
        sentence="A second ball makes it hold deeper: more work to open.",
        says=FOR,
        number=ratio("Barrier with both balls on one bar, against ball 1 alone", "barrier"),
        scale=Scale((1 + TELL,), (FALSE, TRUE)),
        cast=both_and_one,
        parts=(
            force(0, "barrier with both", "barrier"),
            force(1, "barrier of ball 1 alone", "barrier"),
            Part("the same without friction", "mJ", _without_friction),
        ),
        why=(
            "A second ball that rides clear of the flat adds one more thing to clear at rest, and nothing on the flat:"
            " the hill between gets no higher than that of ball 1 without friction (E2)."
        ),
        bench=(
            "trace lift against blade angle as it is and, only if ball 2 can be put back, without it; the lift from"
            " rest to the flat is the hill."
        ),
        two_leaves=_on_two_leaves,
    ),
    Claim(
        id="drag-doubles",
        sentence="Two balls drag twice as much through the swing.",
        number=Part(
            "Drag on the flat with both balls, against ball 1 alone",
            TIMES,
            lambda *cases: _drag(0)(*cases) / _drag(1)(*cases),
        ),
        scale=DOUBLE,
        cast=both_and_one,
        parts=(Part("drag with both balls", "N·mm", _drag(0)), Part("drag of ball 1 alone", "N·mm", _drag(1))),
        switches=all_but("friction"),
        why="Drag is friction times bar force times radius, whichever ball rides. One bar force, so no doubling.",
        bench=(
            "pull at the tab in mid-swing, five times as it is and, only if ball 2 can be put back, five times without"
            " it."
        ),
    ),
)
