"""What is usual where the number is no field of a knife's card: common practice, low confidence. Fields have theirs in parts.py."""

from ...knife.units import convert

USUAL = {"break_force": (6.0, 18.0), "break_out_deg": (3.0, 6.0)}
_SIXTEENTH = convert(0.0625, "in", "mm")
_RIM_GAP, _SEAT_DEPTH = (0.45, 0.65), (0.15, 0.40)  # mm, with a ball of 1/16 in


def usual_rim_gap(ball):
    """Usual rim gap of a ball [mm], (low, high); known for a 1/16 in ball, taken in proportion for others.

    >>> from detentlib.knife.parts import Ball, Recess
    >>> usual_rim_gap(Ball(1.5875, 0.42, 8.0, 36.4, Recess(1.3208)))
    (0.45, 0.65)
    """
    return _scaled(_RIM_GAP, ball)


def usual_seat_depth(ball):
    """Usual seat depth of a ball [mm], (low, high), in proportion to its diameter.

    >>> from detentlib.knife.parts import Ball, Recess
    >>> usual_seat_depth(Ball(3.175, 0.8, 8.0, 36.4, Recess(2.6)))
    (0.3, 0.8)
    """
    return _scaled(_SEAT_DEPTH, ball)


def _scaled(ends, ball):
    return tuple(round(end * ball.diameter / _SIXTEENTH, 3) for end in ends)
