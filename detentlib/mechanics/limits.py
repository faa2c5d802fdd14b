"""What a knife cannot do: limits that only the mechanics can see, each named, for one knife or for many at once."""

from collections.abc import Callable
from itertools import combinations
from typing import NamedTuple

import numpy as np

from ..parts import KnifeError, Problem
from . import carry
from .formulas import formulas
from .lift import FLAT, FLOOR, flat_angle, lift, middle_angle

GRID = 65


class Limit(NamedTuple):
    """One broken limit: its plain name, which knives break it (bool per knife), and the Problem to tell of the first."""

    name: str
    broken: np.ndarray
    problem: Callable[[], Problem]


def opening_grid(knife, count=GRID):
    """Blade angles [rad] from the stop to all balls on the flat, shape (m, count), and that last angle, shape (m, 1)."""
    ends = [np.reshape(flat_angle(ball), (-1, 1)) for ball in knife.balls]
    last = np.maximum.reduce(np.broadcast_arrays(*ends))
    return last * np.linspace(0.0, 1.0, count), last


def find(knife, at):
    """Limits that break in a State on the opening grid; broken has one bool per knife."""
    found = []
    for i, (ball, lifted, load) in enumerate(zip(knife.balls, at.lifts, at.loads, strict=True)):
        where = f"balls[{i}]"
        # a ball that starts beyond the middle passes it between two angles of the grid
        closest = np.reshape(lift(ball, middle_angle(ball)).rim_gap, -1)
        gap, radius = np.maximum(np.max(lifted.rim_gap, axis=-1), closest), np.reshape(ball.radius, -1)
        found.append(Limit("rim gap not smaller than the ball's radius", gap >= radius * (1 - 1e-9), _drops(where, ball, gap)))
        smooth = (lifted.touch == FLAT) | (lifted.touch == FLOOR)
        ratio = formulas["F2"](phi=lifted.phi, mu=knife.friction.rim, cos_chi=lifted.cos_chi)
        jams = np.any((load > 0) & ~smooth & (lifted.cos_chi > 0) & ((ratio < 0) | ~np.isfinite(ratio)), axis=-1)
        found.append(Limit("the ball jams", jams, _jams(where, knife, np.max(lifted.phi, axis=-1))))
    for (_, members), moment, name in zip(carry.bars_of(knife), at.moments, ("bar", "second_bar"), strict=False):
        least = np.min(moment, axis=-1)
        found.append(Limit("bar force gone before the seat", least <= 0, _slack(name, knife, members, least)))
    settles = np.any(at.unsettled, axis=-1) if np.ndim(at.unsettled) else np.array([at.unsettled])
    found.append(Limit("sideways give on to the floor", settles, _on_to_floor(knife)))
    for i, j in combinations(range(len(knife.balls)), 2):
        apart = _recesses_apart(knife, i, j)
        if apart is not None:
            outlines = sum(np.reshape(knife.balls[k].recess.rim_radius + knife.balls[k].recess.edge_radius, -1) for k in (i, j))
            found.append(Limit("recesses overlap", np.reshape(apart, -1) < outlines, _overlap(i, j, apart, outlines)))
    return [limit for limit in found if np.any(limit.broken)]


def check(knife):
    """Raise KnifeError with every limit that one knife breaks; a knife that can work passes silently.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> big = Recess(1.60, rest_offset=0.0)
    >>> check(Knife("too big", [Ball(1.5875, 0.42, 8.0, 36.4, big)], LockBar(17.0, rate=10.3), Blade(14.0), Friction(0.12)))
    Traceback (most recent call last):
    detentlib.checks.KnifeError: too big: balls[0].recess.diameter = 1.6 mm: leaves a rim gap of 0.8 mm, not smaller than the ball's \
radius of 0.7938 mm. The ball would drop past its widest part and the rim could not carry it. Take a smaller recess, a larger ball or more rest offset.
    """
    twisting = [
        Problem(
            f"balls[{i}].side_offset",
            f"{ball.side_offset:g} mm",
            "twists the bar, but the bar's shear modulus is not known",
            "Twist gives way on top of bending.",
            "Give the material, shear_modulus or a measured rate.",
        )
        for bar, members in carry.bars_of(knife)
        for i in members
        for ball in [knife.balls[i]]
        if ball.side_offset and bar.rate is None and bar.shear_modulus is None
    ]
    broken = find(knife, carry.state(knife, opening_grid(knife)[0]))
    if twisting or broken:
        raise KnifeError(twisting + [limit.problem() for limit in broken], knife.title)


def _on_to_floor(knife):
    return lambda: Problem(
        "bar.side_compliance",
        f"{knife.bar.side_compliance:g} mm/N",
        "lets the rim push the ball so far towards the middle of its recess that it lands on the floor",
        "Then floor and rim carry together, which is not modelled.",
        "Deepen the recess, or leave the sideways give out.",
    )


def _recesses_apart(knife, i, j):
    """Distance between the axes of two recesses [mm], None where a bearing is not known (L2, L8)."""
    if carry.bearing(knife, i) is None or carry.bearing(knife, j) is None:
        return None
    radii, turns = [], []
    for k in (i, j):
        ball, recess = knife.balls[k], knife.balls[k].recess
        radii.append(ball.track_radius + recess.off_track)
        # at the stop a recess stands ahead of its ball by the angle of its rest offset
        turns.append(np.radians(carry.bearing(knife, k)) + np.arcsin(recess.rest_offset / radii[-1]))
    return formulas["L2"](theta=turns[1] - turns[0], track_radius=radii[0], off_track=radii[1] - radii[0], rest_offset=0.0).distance


def _overlap(i, j, apart, outlines):
    return lambda: Problem(
        f"balls[{j}].recess",
        "",
        f"overlaps the recess of ball {i + 1}: their middles are {np.ravel(apart)[0]:.3g} mm apart, their rims reach {outlines[0]:.3g} mm",
        "Two recesses that run into one are no longer two round rims.",
        "Check bearing, track radius and rest offset of both balls.",
    )


def _drops(where, ball, gap):
    return lambda: Problem(
        f"{where}.recess.diameter",
        f"{ball.recess.diameter:g} mm",
        f"leaves a rim gap of {gap[0]:.4g} mm, not smaller than the ball's radius of {ball.radius:.4g} mm",
        "The ball would drop past its widest part and the rim could not carry it.",
        "Take a smaller recess, a larger ball or more rest offset.",
    )


def _jams(where, knife, phi):
    return lambda: Problem(
        f"{where}.recess.diameter",
        f"{knife.get(where + '.recess.diameter'):g} mm",
        f"makes a contact angle of {np.degrees(phi[0]):.1f}°, and with friction {knife.friction.rim:g} the ball jams from "
        f"{np.degrees(formulas['F3'](mu=knife.friction.rim)):.1f}°",
        "No push at the tab would lift it out.",
        "Take a smaller recess or more rest offset, or oil it and measure the friction again.",
    )


def _slack(name, knife, members, least):
    first = members[0]
    seat = least[0] / knife.balls[first].hinge_distance if np.ndim(least) else least
    return lambda: Problem(
        f"{name}.riding_force",
        f"{getattr(knife, name).riding_force:g} N",
        f"has fallen to {seat:.3g} N by the time the ball is in its seat",
        "A bar that presses with nothing does not hold the blade.",
        "More preset, a softer bar (lower rate) or a shallower seat; check the unit of the force and of the rate.",
    )
