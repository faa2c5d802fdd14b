"""Claims about a second ball on the same bar: whether it adds, shares, touches, drags, and what a second leaf does."""

import numpy as np

from ..mechanics import carry
from ..tune.moves import as_resized, with_one_ball, with_second_leaf
from ..tune.pair import SUNK, TWO_THOU, press_difference, shared_loads, sharing_band, with_ball_2_sunk, with_press_difference, with_second_ball
from .claim import Claim
from .verdict import FALSE, PARTLY, TIMES, TRUE, Part, Scale

TELL = 0.02  # a change of a force by less counts as none: about what a gauge of ±0.2 N reads at 12 N
DOUBLE = Scale((1.5, 1.9), (FALSE, PARTLY, TRUE))
SAME = Scale((1 - TELL, 1 + TELL), (FALSE, TRUE, FALSE))
ALL_SWITCHES = ("blade", "arms", "bar", "sideways", "friction", "spring", "rim", "card")
_OUTLINE = ("diameter", "rest_offset", "off_track", "chamfer_width", "chamfer_deg", "edge_radius")
_HALF = 0.4  # a ball with at least this share of the load carries about half
_ONE_MOMENT = "One bar has one moment, and the resistance is that moment times the slope of the lift curve. What one ball takes of it, the other is spared."


def force(place, said, name="break_force", unit="N"):
    """Part: a number of Feel of the case at a place of the cast."""
    return Part(said, unit, lambda *cases: cases[place].felt(name))


def ratio(said, name="break_force", of=0, to=1):
    """Part: how many times a number of Feel of one case is that of another."""
    return Part(said, TIMES, lambda *cases: cases[of].felt(name) / cases[to].felt(name))


def both_and_one(knife):
    """The knife with two balls on its bar, and with ball 1 alone."""
    return with_second_ball(knife), with_one_ball(knife)


def with_equal_recesses(knife, deeper=TWO_THOU):
    """The knife with a second ball and recess like the first, concentric, and `deeper` [mm]; its distances stay."""
    two, first = with_second_ball(knife), knife.balls[0]
    changes = {"balls[1].diameter": first.diameter}
    changes |= {f"balls[1].recess.{name}": getattr(first.recess, name) for name in _OUTLINE}
    return with_press_difference(two.replace(changes), deeper)


def room(pair, angles):
    """Room of ball 2 below the bar that ball 1 holds up [mm], below zero where it takes over: array [knives, angles]."""
    clear = carry.state(with_ball_2_sunk(pair.knife), angles, pair.elastic).clearances[1]
    return clear - (np.reshape(pair.knife.balls[1].protrusion, (-1, 1)) - SUNK)


def room_at_rest(pair):
    """Room of ball 2 with the blade on the stop [mm]."""
    return room(pair, np.zeros((1, 1)))[:, 0]


def least_room(pair):
    """Least room of ball 2 from the stop to the flat [mm], while ball 1 holds the bar up."""
    return room(pair, carry.Detent(with_ball_2_sunk(pair.knife)).opening(129)).min(axis=-1)


def workable_least_room(pair):
    """The same, nan for a knife that cannot work."""
    return np.where(pair.works, least_room(pair), np.nan)


def _drag(place):
    """Torque on the flat [N·mm], from the snap ratio (F9)."""
    return lambda *cases: cases[place].felt("break_torque") * (1 - cases[place].felt("snap_ratio"))


def _pair(knife):
    return (with_second_ball(knife),)


def _smaller(knife):
    """The knife with two balls and a second recess that is smaller: as it is, else by 0.14 mm, about one number drill."""
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
    Part("break force with both balls", "N", lambda pair: pair.felt("break_force")),
)
_PULL = "pull at the tab five times as it is, and five times with ball 2 taken out and nothing else touched."
_INK = "ink both rims, work the first three degrees twenty times, and look which rim is bright."

CLAIMS = (
    Claim(
        "doubles",
        "Two balls, two times the snap.",
        "tangfirst",
        ratio("Break force with both balls on one bar, against ball 1 alone"),
        DOUBLE,
        both_and_one,
        (force(0, "break force with both balls"), force(1, "break force of ball 1 alone"), force(0, "barrier with both", "barrier", "mJ")),
        ALL_SWITCHES,
        _ONE_MOMENT,
        _PULL,
    ),
    Claim(
        "nothing",
        "The second ball does nothing at all.",
        "oldrelief",
        ratio("Break force with both balls on one bar, against ball 1 alone"),
        SAME,
        both_and_one,
        (force(0, "break force with both balls"), force(1, "break force of ball 1 alone"), force(0, "barrier with both", "barrier", "mJ")),
        ALL_SWITCHES,
        "It does nothing as long as it hangs clear all the way. Where its rim is nearer, its recess smaller or its track longer, it can change the lift curve.",
        _PULL,
    ),
    Claim(
        "second-leaf",
        "A second leaf with a ball of its own doubles it.",
        "the bench lead",
        ratio("Break force with two leaves, against one leaf and ball 1"),
        DOUBLE,
        lambda knife: (with_second_leaf(with_second_ball(knife, 0.0)), with_one_ball(knife)),
        (force(0, "break force with two leaves"), force(1, "break force with one leaf"), force(0, "bar force riding, of both leaves", "ride_load")),
        ALL_SWITCHES,
        "Two springs have two moments, and these do add up. So does what presses on the lock.",
        "pull at the tab five times with both leaves, and five times with the second one held off.",
    ),
    Claim(
        "halves",
        "Both balls carry half each.",
        "heard at the bench",
        _TOUCHING[0],
        _half_each,
        _pair,
        _TOUCHING[1:],
        ALL_SWITCHES,
        "A stiff bar rests on one ball; both carry only in the narrow band in which the squash of balls and rims makes up for the difference. Even then "
        "the torque is a weighted mean of what each would do alone, never the sum.",
        _INK,
        {"bar": "elastic"},
    ),
    Claim(
        "both-touch",
        "With a smaller second recess both balls touch at the start.",
        "heard at the bench",
        _TOUCHING[0],
        _sharing,
        _smaller,
        _TOUCHING[1:],
        ALL_SWITCHES,
        "Beyond the touch threshold the second ball lifts the bar off the first. Both touch only in the sharing band round the threshold.",
        _INK,
        {"bar": "elastic"},
    ),
    Claim(
        "never-touches",
        "Equal concentric recesses, second ball 2 thou lower: it never touches.",
        "oldrelief",
        Part("Least room of ball 2 from the stop to the flat", "mm", workable_least_room),
        Scale((0.0,), (FALSE, TRUE)),
        _equal,
        _TOUCHING,
        ALL_SWITCHES,
        "In the plane it is clear by the press-depth difference all the way. On a longer track radius its rim comes sooner, and the room shrinks.",
        _INK,
    ),
    Claim(
        "idle",
        "The second ball of this knife never touches.",
        "oldrelief",
        Part("Least room of ball 2 from the stop to the flat", "mm", workable_least_room),
        Scale((0.0,), (FALSE, TRUE)),
        _pair,
        _TOUCHING,
        ALL_SWITCHES,
        "Whether it touches hangs on thousandths: how deep it is pressed, and how near its rim stands.",
        _INK,
    ),
    Claim(
        "lower-weakens",
        "A lower second ball can only weaken it.",
        "heard at the bench",
        ratio("Break force with the lower second ball, against ball 1 alone"),
        Scale((1 + TELL,), (TRUE, FALSE)),
        _lower,
        (force(0, "break force with both balls"), force(1, "break force of ball 1 alone"), force(0, "barrier with both", "barrier", "mJ")),
        ALL_SWITCHES,
        "True for equal balls, rims and arms, whatever the spring. A longer track radius or a smaller ball can hit harder; the barrier cannot rise while "
        "it rides clear of the flat (E2).",
        _PULL,
    ),
    Claim(
        "deeper",
        "A second ball makes it hold deeper: more work to open.",
        "tangfirst",
        ratio("Barrier with both balls on one bar, against ball 1 alone", "barrier"),
        Scale((1 + TELL,), (FALSE, TRUE)),
        both_and_one,
        (force(0, "barrier with both", "barrier", "mJ"), force(1, "barrier of ball 1 alone", "barrier", "mJ")),
        ALL_SWITCHES,
        "A second ball that rides clear of the flat adds one more thing to clear at rest, and nothing on the flat: the hill between can only get lower (E2).",
        "trace lift against blade angle with and without ball 2; the lift from rest to the flat is the hill.",
    ),
    Claim(
        "drag-doubles",
        "Two balls drag twice as much through the swing.",
        "heard at the bench",
        Part("Drag on the flat with both balls, against ball 1 alone", TIMES, lambda *cases: _drag(0)(*cases) / _drag(1)(*cases)),
        DOUBLE,
        both_and_one,
        (Part("drag with both balls", "N·mm", _drag(0)), Part("drag of ball 1 alone", "N·mm", _drag(1))),
        ("blade", "arms", "bar", "sideways", "spring", "rim", "card"),
        "Drag is friction times bar force times radius, whichever ball rides. One bar force, so no doubling.",
        "pull at the tab in mid-swing, five times with and five times without ball 2.",
    ),
)
