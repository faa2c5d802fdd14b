"""The whole job of one ball, line by line: from the rim gap to the push at the tab; for practice and for the hunt of notebook 10."""

import math

from ..working import by_formula, product, total


def whole_job(ball, gap, riding, rate, mu, track, tab):
    """Worked lines from ball [mm, diameter] and rim gap [mm] over bar [N, N/mm], friction and arms [mm] to the push at the tab [N].

    Eight lines: contact angle, seat depth, loss and force of the seated bar, push per newton, push at the ball, torque, tab.

    >>> lines = whole_job(ball=2.0, gap=0.6, riding=13.0, rate=5.0, mu=0.0, track=8.0, tab=12.0)     # a 3-4-5 triangle
    >>> [round(line.value, 3) for line in lines]
    [36.87, 0.2, 1.0, 12.0, 0.75, 9.0, 72.0, 6.0]
    """
    angle = by_formula("Where the rim touches.", "L1", {"rim_gap": gap, "ball_radius": ball / 2}, "phi")
    depth = by_formula("How deep the ball sits.", "L1", {"rim_gap": gap, "ball_radius": ball / 2}, "sink")
    fallen = product("In its seat the bar has come down so far, and presses less by", r"\Delta F", rate, depth.value, "N")
    load = total("So seated it presses with", "N", riding, -fallen.value, "N")
    ratio = by_formula("Push for each newton of bar force, with friction.", "F2", {"phi": math.radians(angle.value), "mu": mu, "cos_chi": 1}, "ratio")
    push = product("Push at the ball.", "F", load.value, ratio.value, "N")
    torque = product("On the track of the ball that is a torque.", "T", push.value, track, "N·mm")
    return [angle, depth, fallen, load, ratio, push, torque, by_formula("And at the tab.", "F5", {"torque": torque.value, "arm": tab})]


def drag_added(ball, gap, riding, rate, mu, track, tab):
    """The push at the tab [N] of those who add μN to a push without friction, as if the rim were a flat: too little."""
    plain = whole_job(ball, gap, riding, rate, 0, track, tab)
    return (plain[5].value + mu * plain[3].value) * track / tab
