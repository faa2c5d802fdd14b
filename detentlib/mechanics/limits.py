"""What a knife cannot do: limits that only the mechanics can see, each named, for one knife or for many at once."""

from collections.abc import Callable
from itertools import combinations
from typing import NamedTuple

import numpy as np

from ..parts import KnifeError, Problem
from . import carry, search
from .formulas import formulas
from .lift import FLAT, FLOOR, flat_angle, lift, middle_angle

GRID = 65
_FINE, _PART, _ROUNDS = 257, 9, 12
# Contact and friction angle together. At 90° no push lifts the ball. 1° short of it the push along the track and the
# force on the rim are 57 times the bar's force, some 800 N for a usual bar, where the rim yields, and a hundredth of a
# millimetre of the recess (about 2° on a 1/16 in ball so far down) decides between that and no force at all.
JAM_DEG, JAM_MARGIN_DEG = 90.0, 1.0


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


def find(detent, at):
    """Limits that a Detent breaks, with its State on the opening grid; broken has one bool per knife."""
    knife, found = detent.knife, []
    steepest = _steepest(detent, at)
    for i, (ball, lifted) in enumerate(zip(knife.balls, at.lifts, strict=True)):
        where = f"balls[{i}]"
        # a ball that starts beyond the middle passes it between two angles of the grid
        closest = np.reshape(lift(ball, middle_angle(ball)).rim_gap, -1)
        gap, radius = np.maximum(np.max(lifted.rim_gap, axis=-1), closest), np.reshape(ball.radius, -1)
        found.append(Limit("rim gap not smaller than the ball's radius", gap >= radius * (1 - 1e-9), _drops(where, ball, gap)))
        lean, phi = steepest[i]
        jams = (lean > np.radians(JAM_DEG - JAM_MARGIN_DEG)) & ~found[-1].broken
        found.append(Limit("the ball jams", jams, _jams(where, knife, lean, phi)))
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


def lean(friction, lifted, load):
    """Contact and friction angle together [rad], from the push of F2; 0 where the ball carries on no rim that it climbs.

    On track it is φ + arctan μ, off track less; beyond 90° the ball jams.
    """
    climbs = (load > 0) & (lifted.touch != FLAT) & (lifted.touch != FLOOR) & (lifted.cos_chi > 0)
    with np.errstate(divide="ignore"):
        ratio = formulas["F2"](phi=lifted.phi, mu=friction.rim, cos_chi=lifted.cos_chi)
    # past 90° the ratio comes back from below zero
    return np.where(climbs, np.mod(np.arctan(ratio), np.pi), 0.0)


def _steepest(detent, at):
    """Greatest lean of each ball over the whole opening and the contact angle there [rad], two arrays [m] a ball.

    A rim's contact angle falls as the blade opens, so a ball is steepest where a stretch on which it carries begins: at
    the stop, in the middle of its recess, where it lifts off floor or bar face, where the other ball hands over. That
    may lie between any two angles of the grid. It matters only to a knife with a rim that would lean too far if it
    carried as deep as it could; only for such a knife is it closed in on.
    """
    found = [_most(detent, at, i) for i in range(len(at.lifts))]
    rows = np.flatnonzero(_could_jam(detent, at))
    if rows.size:
        for most, closer in zip(found, _closed_in(detent.take(rows)), strict=True):
            most[:, rows] = closer
    return found


def _could_jam(detent, at):
    """Bool [m]: a rim would lean too far if its ball carried in the middle of its recess, or as near to it as it comes."""
    knife, could = detent.knife, False
    floorless = knife.with_arrays({f"balls[{i}].recess.depth": None for i in range(len(knife.balls))})
    bound = formulas["F3"](mu=np.reshape(knife.friction.rim, -1)) - np.radians(JAM_MARGIN_DEG)
    for bar, members in carry.bars_of(floorless):
        for i in members:
            ball = floorless.balls[i]
            # with sideways give the ball can come to the very middle
            given = np.where(bar.side_compliance != 0, 2 * ball.recess.rim_radius, 0.0)
            phi = np.maximum(np.reshape(lift(ball, middle_angle(ball), given).phi, -1), np.max(at.lifts[i].phi, axis=-1))
            could = could | (phi > bound)
    return could


def _closed_in(detent):
    """The greatest lean and its contact angle, arrays (2, m) for each ball, with the start of every stretch closed in on."""
    knife, theta = detent.knife, opening_grid(detent.knife, _FINE)[0]
    at, balls = detent.state(theta), range(len(detent.knife.balls))
    # a touch can be shorter than the way between two angles, so the nearest idle ball is looked at more closely
    closer = [_around(theta, np.argmin(np.where(at.loads[i] > 0, np.inf, at.clearances[i]), axis=-1)) for i in balls]
    middles = [np.broadcast_to(middle_angle(ball) + search.JUST_AFTER, (len(theta), 1)) for ball in knife.balls]
    theta = np.sort(np.concatenate([theta, *closer, *middles], axis=-1), axis=-1)
    at = detent.state(theta)
    found = [_most(detent, at, i) for i in balls]
    for rows, step in search.steps(detent, theta, at):
        some = detent.take(rows)
        after = some.state(step + search.JUST_AFTER)
        for i in balls:
            found[i][:, rows] = _greater(found[i][:, rows], _most(some, after, i))
    # off track the share of the slope along the track rises from nothing: the greatest lean can lie within a stretch
    for i in balls:
        inner, now = theta, at
        for _ in range(_ROUNDS):
            inner = _around(inner, np.argmax(_leans(detent, now, i), axis=-1))
            now = detent.state(inner)
            found[i] = _greater(found[i], _most(detent, now, i))
    return found


def _leans(detent, at, i):
    return lean(detent.knife.friction, at.lifts[i], at.loads[i])


def _most(detent, at, i):
    """The greatest lean of ball i in a State and its contact angle, an array (2, m)."""
    leans, phi = np.broadcast_arrays(_leans(detent, at, i), at.lifts[i].phi)
    best = np.argmax(leans, axis=-1)[:, None]
    return np.stack([np.take_along_axis(each, best, axis=-1)[:, 0] for each in (leans, phi)])


def _greater(one, other):
    return np.where(other[0] > one[0], other, one)


def _around(theta, best):
    """Angles between the neighbours of the best one of each row, shape (m, _PART)."""
    low, high = (np.take_along_axis(theta, np.clip(best + side, 0, theta.shape[-1] - 1)[:, None], axis=-1) for side in (-1, 1))
    return low + (high - low) * np.linspace(0.0, 1.0, _PART)


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
    detent = carry.Detent(knife)
    with np.errstate(all="ignore"):
        theta, last = opening_grid(knife)
        at = detent.state(theta)
        senseless = list(_no_numbers(knife, at, last))
    if senseless:
        raise KnifeError(senseless, knife.title)
    broken = find(detent, at)
    if twisting or broken:
        raise KnifeError(twisting + [limit.problem() for limit in broken], knife.title)


def finite(knife, values):
    """Raise KnifeError where one of the results {name: number} of a knife is no finite number: the last line of defence."""
    found = [
        Problem(name, str(value), "does not come out as a finite number", "Some sizes of this knife cannot be meant.", "Check the unit of every number.")
        for name, value in values.items()
        if not np.all(np.isfinite(value))
    ]
    if found:
        raise KnifeError(found, knife.title)


def _no_numbers(knife, at, last):
    """A Problem for each part whose numbers come out as none: a size in a wrong unit that nothing before has caught."""
    for i, lifted in enumerate(at.lifts):
        if not all(np.all(np.isfinite(each)) for each in (flat_angle(knife.balls[i]), lifted.demand, lifted.phi, lifted.rim_gap)):
            yield _no_number(f"balls[{i}]", "the lift of this ball")
    for name, moment in zip(("bar", "second_bar"), at.moments, strict=False):
        if np.all(np.isfinite(last)) and not np.all(np.isfinite(moment)):
            yield _no_number(name, "the moment of this bar")


def _no_number(where, what):
    why = f"With these sizes {what} does not come out as a finite number."
    return Problem(where, "", "has sizes that cannot be meant", why, "Check the unit of each of its numbers.")


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


def _jams(where, knife, leaning, phi):
    def problem():
        mu = knife.friction.rim
        lost = leaning[0] >= np.radians(JAM_DEG)
        return Problem(
            f"{where}.recess.diameter",
            f"{knife.get(where + '.recess.diameter'):g} mm",
            f"makes a contact angle of {np.degrees(phi[0]):.1f}°, and with friction {mu:g} the ball jams from {np.degrees(formulas['F3'](mu=mu)):.1f}°",
            "No push at the tab would lift it out." if lost else _NEAR_JAM,
            "Take a smaller recess or more rest offset, or oil it and measure the friction again.",
        )

    return problem


_NEAR_JAM = (
    f"Within {JAM_MARGIN_DEG:g}° of that the push at the tab grows past what the rim stands, "
    "and a hundredth of a millimetre decides between a number and none at all."
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
