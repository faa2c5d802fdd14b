"""What a knife cannot do: limits that only the mechanics can see, each named, for one knife or for many at once."""

from collections.abc import Callable, Mapping
from itertools import combinations
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.given import given_knife, given_switch
from ..knife.parts import Knife, KnifeError, Problem, spec
from ..knife.values import Values
from . import bar as bars
from . import carry
from .lift import FLAT, JAM_DEG, JAM_MARGIN_DEG, lift, middle_angle
from .path import path

GRID = 65
PAST = 1e-6  # rad
_GIVE = "side_compliance"
_BALANCED = 1e-9  # rad of sideways turn, 0.04 µm at the ball
LARGEST = 1e9  # of any result: a track as good as straight, of a radius of 1e6 mm, comes to 2e7 N·mm


class Limit(NamedTuple):
    """One broken limit: its plain name, which knives break it (bool per knife), and the Problem to tell of the
    first.
    """

    name: str
    broken: np.ndarray
    problem: Callable[[], Problem]


def find(detent: carry.Detent) -> list[Limit]:
    """Limits that the knife or knives of a Detent break; broken has one bool per knife."""
    knife, found = detent.knife, []
    unsettled = np.zeros(detent.break_out.shape[0], bool)
    for which, (leaf, rest, name) in enumerate(zip(detent.leaves, detent.resting, ("bar", "second_bar"), strict=False)):
        way = path(detent, bar=which).found
        for row, i in enumerate(leaf.members):
            ball, where = knife.balls[i], f"balls[{i}]"
            # a ball that starts beyond the middle passes it between two angles of the grid
            closest = np.reshape(lift(ball, middle_angle(ball)).rim_gap, -1)
            gap, radius = np.maximum(np.max(way.rim_gap[row], axis=-1), closest), np.reshape(ball.radius, -1)
            found.append(
                Limit(
                    "rim gap not smaller than the ball's radius", gap >= radius * (1 - 1e-9), _drops(where, ball, gap)
                )
            )
            most, phi = _steepest(way, row)
            jams = (most > np.radians(JAM_DEG - JAM_MARGIN_DEG)) & ~found[-1].broken
            found.append(Limit("the ball jams", jams, _jams(where, knife, most, phi)))
        past, held = _held_past_the_flat(detent, way)
        found.append(
            Limit(
                "the bar gives way before the rim lets go",
                past & ~np.any([each.broken for each in found], axis=0),
                _gives_way(knife, name, leaf.members[0], held),
            )
        )
        least = np.min(np.where(way.lead >= 0, way.moment, np.inf), axis=(0, -1))
        found.append(Limit("bar force gone before the seat", least <= 0, _slack(name, knife, leaf.members, least)))
        unsettled = unsettled | np.any(np.abs(rest.off) > _BALANCED, axis=-1)
    found.append(Limit("no balance sideways", unsettled, _unbalanced(knife)))
    opens = np.radians(np.reshape(knife.blade.opening_deg, -1))
    found.append(Limit("open before it is out", detent.break_out[:, 0] > opens, _stays_in(knife, detent.break_out)))
    for i, j in combinations(range(len(knife.balls)), 2):
        apart = _recesses_apart(knife, i, j)
        if apart is not None:
            outlines = sum(
                np.reshape(knife.balls[k].recess.rim_radius + knife.balls[k].recess.edge_radius, -1) for k in (i, j)
            )
            found.append(Limit("recesses overlap", np.reshape(apart, -1) < outlines, _overlap(i, j, apart, outlines)))
    return [limit for limit in found if np.any(limit.broken)]


def _steepest(way, row):
    """Greatest lean of one ball on an opening Curve and the contact angle there [rad], two arrays [m]."""
    leaning = np.where(way.lead >= 0, way.lean, 0.0)[row]
    place = (np.arange(len(leaning)), np.argmax(leaning, axis=-1))
    return leaning[place], np.broadcast_to(way.phi, way.lead.shape)[row][place]


def _held_past_the_flat(detent, way):
    """Whether a rim still holds its ball where the blade has opened further than the flat begins, and the angle of that
    [rad]; [m] each.

    Where friction is less on the flat than at the rim the bar springs back as the ball comes up: that much is no
    holding.
    """
    on_rim = (way.lead >= 0) & (way.touch != FLAT)
    theta = np.where(on_rim, way.theta, -np.inf)
    at_the_top = np.max(np.where(on_rim[..., :-1] & ~on_rim[..., 1:], theta[..., :-1], -np.inf), axis=(0, -1))
    held = np.max(theta, axis=(0, -1))
    return held > np.maximum(at_the_top, detent.break_out[:, 0]) + PAST, held


def working(knife: Knife, elastic: bool = False) -> carry.Detent:
    """The Detent of one knife that can work, to ask for more than one thing. Raises KnifeError as `check` does."""
    given_switch("elastic", elastic, "whether balls can share")
    rigid = check(knife)
    return carry.Detent(knife, True) if elastic else rigid


def check(knife: Knife) -> carry.Detent:
    """Raise KnifeError with every limit that one knife breaks; the Detent of a knife that can work, its bar rigid.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> big = Recess(1.60, rest_offset=0.0)
    >>> ball, bar = Ball(1.5875, 0.42, 8.0, 36.4, big), LockBar(17.0, rate=10.3)
    >>> check(Knife("too big", [ball], bar, Blade(14.0), Friction(0.12)))
    Traceback (most recent call last):
    detentlib.knife.checks.KnifeError: too big: balls[0].recess.diameter = 1.6 mm: leaves a rim gap of 0.8 mm, ...
    """
    given_knife(knife)
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
        senseless = list(_no_numbers(detent))
        if senseless:
            raise KnifeError(senseless, knife.title)
        broken = find(detent)
    if twisting or broken:
        raise KnifeError(twisting + [limit.problem() for limit in broken], knife.title)
    return detent


def finite(knife: Knife, values: Mapping[str, Values]) -> None:
    """Raise KnifeError where one of the results {name: number} of a knife is no number that a knife has: the last line
    of defence.
    """
    found = [
        Problem(
            name,
            str(value),
            "does not come out as a number that a knife has",
            "Some sizes of this knife cannot be meant.",
            "Check the unit of every number.",
        )
        for name, value in values.items()
        if not np.all(np.abs(value) <= LARGEST)
    ]
    if found:
        raise KnifeError(found, knife.title)


def _no_numbers(detent):
    """A Problem for each part whose numbers come out as none: a size in a wrong unit that nothing before has caught."""
    for leaf, name in zip(detent.leaves, ("bar", "second_bar"), strict=False):
        lifts = leaf.lifted(leaf.flat * np.linspace(0.0, 1.0, GRID))
        for row, i in enumerate(leaf.members):
            if not all(np.all(np.isfinite(each[row])) for each in (leaf.flat, lifts.demand, lifts.phi, lifts.rim_gap)):
                yield _no_number(f"balls[{i}]", "the lift of this ball")
                return
        if not np.all(np.isfinite(leaf.bent(lifts).moment)):
            yield _no_number(name, "the moment of this bar")


def _no_number(where, what):
    why = f"With these sizes {what} does not come out as a finite number."
    return Problem(where, "", "has sizes that cannot be meant", why, "Check the unit of each of its numbers.")


def usual() -> dict:
    """What is usual of the two numbers that push a bar aside: its force, and how far it gives sideways."""
    return {name: spec(f"bar.{name}")["typical"] for name in ("riding_force", _GIVE)}


def _gives_way(knife, name, first, held):
    """Told of whichever is further from what is usual: how hard the bar presses, or how far it gives."""

    def problem():
        bar, known = getattr(knife, name), usual()
        force, give = (
            np.ravel(each)[0].item() for each in (bar.riding_force, bars.side_compliance(bar, knife.balls[first]))
        )
        hard = force / known["riding_force"].value > give / known[_GIVE].value
        field, value, unit = ("riding_force", force, "N") if hard else (_GIVE, give, "mm/N")
        middle, by = known[field]
        angle = f"the blade stands at {np.degrees(np.max(held)):.1f}° before the rim lets go"
        return Problem(
            f"{name}.{field}",
            f"{value:.3g} {unit}",
            f"pushes the bar aside until {angle}" if hard else f"lets the bar go aside until {angle}",
            "The blade is then past the place where the flat begins, and all lets go at once: that is felt as a jam.",
            f"Check the number and its unit: usual is {middle - by:.2g} to {middle + by:.2g} {unit}. "
            f"{'Less force, less' if hard else 'Less'} friction, a smaller recess, more rest offset, or a bar that is"
            " stiffer sideways.",
        )

    return problem


def _unbalanced(knife):
    return lambda: Problem(
        "bar.side_compliance",
        "" if knife.bar.side_compliance is None else f"{knife.bar.side_compliance:g} mm/N",
        "lets the rim push the bar sideways until nothing holds it",
        "Then the ball would walk through its recess, and no force at the tab can be given.",
        "A bar that is stiffer sideways (wider, a shorter relief), or a measured sideways give.",
    )


def _stays_in(knife, break_out):
    return lambda: Problem(
        "blade.opening_deg",
        f"{np.ravel(knife.blade.opening_deg)[0]:g}°",
        f"is less than the {np.degrees(break_out[0, 0]):.2f}° at which the balls are on the flat",
        "Such a blade is open before it has left its recess.",
        "Measure the angle from shut to open again; is it in degrees?",
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
    return formulas["L2"](
        theta=turns[1] - turns[0], track_radius=radii[0], off_track=radii[1] - radii[0], rest_offset=0.0
    ).distance


def _overlap(i, j, apart, outlines):
    return lambda: Problem(
        f"balls[{j}].recess",
        "",
        f"overlaps the recess of ball {i + 1}: their middles are {np.ravel(apart)[0]:.3g} mm apart, their rims reach"
        f" {outlines[0]:.3g} mm",
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
        mu, lost = knife.friction.rim, leaning[0] >= np.radians(JAM_DEG)
        return Problem(
            f"{where}.recess.diameter",
            f"{knife.get(where + '.recess.diameter'):g} mm",
            f"makes a contact angle of {np.degrees(phi[0]):.1f}°, and with friction {mu:g} the ball jams from"
            f" {np.degrees(formulas['F3'](mu=mu)):.1f}°",
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
