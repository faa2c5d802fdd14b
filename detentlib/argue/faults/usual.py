"""What is usual where the number is no field of a knife's card (those: parts.py): common practice, low confidence."""

from ...knife.parts import Ball
from ...knife.units import convert

USUAL = {"break_force": (6.0, 18.0), "break_out_deg": (3.0, 6.0)}
_SIXTEENTH = convert(0.0625, "in", "mm")
_SEAT = {"rim_gap": (0.45, 0.65), "sink": (0.15, 0.40)}  # mm, with a ball of 1/16 in


def usual_seat(name: str, ball: Ball) -> tuple[float, float]:
    """Usual rim gap or sink of a ball [mm], (low, high); known for a 1/16 in ball, taken in proportion for others.

    >>> from detentlib.knife.parts import Ball, Recess
    >>> small, large = Ball(1.5875, 0.42, 8.0, 36.4, Recess(1.3208)), Ball(3.175, 0.8, 8.0, 36.4, Recess(2.6))
    >>> usual_seat("rim_gap", small), usual_seat("sink", large)
    ((0.45, 0.65), (0.3, 0.8))
    """
    return tuple(round(end * ball.diameter / _SIXTEENTH, 3) for end in _SEAT[name])
