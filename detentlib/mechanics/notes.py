"""What to know beside the numbers of a Feel: flags (a state that deserves a look) and what the model leaves out,
with its size.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np

from ..derivations.formulas import formulas
from ..knife.checks import number_problem
from ..knife.parts import Ball, Knife, name_of, spec
from ..knife.plain import true_minus
from . import bar as bars
from . import carry
from . import path as ways
from .lift import CHAMFER, FLOOR, JAM_DEG, RIM, ROUND, lean, push_ratio
from .search import past_the_middle

if TYPE_CHECKING:
    from .feel import Feel

THIN_CLEARANCE, THIN_JAM, _RATES_DISAGREE = 0.05, 80.0, 0.25
_PLAY = "blade.pivot_play"
_PIVOT_MU_LOW, _PIVOT_MU_HIGH = 0.10, 0.15  # oiled washers and pin
_WASHER_RADIUS, _PIN_RADIUS = 4.5, 2.4  # mm, mean of the washers, and a 3/16 in pivot; common practice
_YIELDED = 0.02  # mm, about what the first openings and a careful deburr leave of a sharp rim; common practice
_TILT_DEG = 0.2  # of a blade in its side play; common practice
USUAL_WEIGHT = 1.0  # N at the tab
_SAME = 0.05  # N, told by one number
# A bar swings its ball about a hinge, half a micrometre or so off the track, which the curves leave out. Where that is
# more than this share of the way from the middle of the recess, the break force was out by 1 to 11 % against a
# simulation of spheres, springs and Coulomb's law, most where the bar is soft sideways
# (tests/outside/test_stick_and_slip.py).
OFF_THE_TRACK, ROUGH = 0.04, "the break force may be out by about a tenth"
_BESIDE = 1e-5  # deg: a peak that lies on the flat stands just past where that begins


def flags(detent: carry.Detent, feel: "Feel", opened: carry.State) -> tuple[str, ...]:
    """Sentences about states that are modelled but deserve a look; a tuple, empty for a plain healthy knife.

    opened: State on opening, its first angles that of rest and that of the peak.
    """
    said, knife = [], detent.knife
    at = detent.state(np.zeros(1), -1)  # at the stop: nothing holds the blade there where it rests further out
    landed = any(carrier[0] == carry.FACE for carrier in at.carriers)
    beside = not landed and any(load[0] > 0 for load in at.face_loads)
    floored = [i for i, load in enumerate(at.loads) if load[0] > 0 and at.lifts[i].touch[0] == FLOOR]
    if landed:
        said.append(
            "The bar face lies on the tang at the stop, before the ball has reached its rim: the blade is loose up to"
            f" {feel.rest_deg:.2f}°. A ball that stands out more or a smaller recess cures it."
        )
    if beside:
        said.append(
            "At the stop the bar face lies on the tang and takes part of the force beside the ball, which can sink no"
            " deeper. A ball that stands out more or a smaller recess leaves it all to the rim."
        )
    places = ("at rest", f"at {feel.peak_deg:.2f}°")
    for i, ball in enumerate(knife.balls):
        name = f"Ball {i + 1}"
        if i in floored:
            said.append(
                f"{name} rests on the floor of its recess, not on the rim: the blade is loose up to"
                f" {feel.rest_deg:.2f}°. A deeper recess or a ball that stands out less cures it."
            )
        if ball.protrusion > ball.radius:
            said.append(
                f"{name} stands out {ball.protrusion:.3g} mm, more than its radius of {ball.radius:.4g} mm: a press fit"
                " cannot hold it."
            )
        if runs_off_early(ball, feel):
            said.append(
                f"{name} runs off the tang at {ball.run_off_deg:g}°, before the balls are on the flat at"
                f" {feel.break_out_deg:.2f}°: barrier, work and draw-in mean nothing there. Measure the run-off angle"
                " again, from the blade shut; is it in degrees?"
            )
        place, steepest = max(zip(places, _leans(detent, opened, i), strict=False), key=lambda each: each[1])
        if steepest > THIN_JAM:
            said.append(
                f"{name} is close to jamming: {place} contact angle and friction angle together make {steepest:.1f}°,"
                f" and at {JAM_DEG:g}° it locks."
            )
    gap = float(np.ravel(at.gap)[0])
    if 0 < gap < THIN_CLEARANCE and not (landed or beside):
        said.append(
            f"At rest only {gap:.3f} mm is left between bar face and tang; wear or a thou of press depth can close it."
        )
    if feel.rest_deg > 0 and not (landed or floored):
        said.append(
            f"The blade rests {feel.rest_deg:.2f}° off the stop and can rattle there: {_why_off_the_stop(detent)}"
        )
    sprung = ways.springs_sideways(detent)
    if sprung is not None:
        said.append(
            f"At {np.degrees(sprung):.2f}° the bar springs sideways all at once: there the rim's push grows faster than"
            f" the bar holds against it, and {ROUGH}. A bar stiffer sideways, a smaller recess or more rest offset"
            " steadies it."
        )
    if feel.peak_deg > feel.break_out_deg + _BESIDE:
        said.append(
            f"The rim keeps its ball up to {feel.peak_deg:.2f}°, past the {feel.break_out_deg:.2f}° from which on it"
            " rides the flat: it drags the bar further aside than the flat does, and the bar springs back as the ball"
            " comes up."
        )
    for i in _through_the_middle(detent, feel, opened):
        said.append(
            f"Ball {i + 1} comes out through the middle of its recess, and there thousandths of a millimetre across its"
            f" track count: {ROUGH}. More rest offset, or a bar that is stiffer sideways, steadies it."
        )
    aside = max(abs(one - ball.recess.rest_offset) for one, ball in zip(feel.loaded_offset, knife.balls, strict=True))
    if feel.barrier < 0 and not any(runs_off_early(ball, feel) for ball in knife.balls):
        said.append(
            f"Shut, friction holds the bar {aside:.2f} mm aside, and more energy is stored in that than with the balls"
            " on the flat: the barrier is below zero, and friction holds this blade, not its recess. Less friction or a"
            " bar that is stiffer sideways cures it."
        )
    if feel.letback_force is None:
        said.append(
            f"No let-back force is given: off track with friction {knife.friction.rim:g} the model is not good enough"
            " for it."
        )
    elif feel.letback_force <= 0:
        said.append("At rest friction is stronger than the pull of the rim: the blade does not return by itself.")
    said += _crossing_flags(knife)
    said += _stress_flags(knife, feel)
    said += _rate_flags(knife)
    return tuple(said)


def _why_off_the_stop(detent):
    """Why a blade that no floor and no bar face holds up rests off its stop, and what cures it."""
    taken = past_the_middle(detent)
    if not taken or any(detent.knife.balls[i].recess.rest_offset < 0 for i in taken):
        return "the recess lies too far towards closed (rest offset below zero)."
    return (
        f"pushed aside by another ball, the bar takes ball {taken[0] + 1} past the middle of its recess, on to the rim"
        " that pushes the blade open. More rest offset there, or a bar that is stiffer sideways, cures it."
    )


def _through_the_middle(detent, feel, opened):
    """Indexes of the balls that stand so near to the middle of their recess at the peak that where the bar's swing
    takes them off their track counts; opened: as of `flags`.
    """
    for i, (ball, swung) in enumerate(zip(detent.knife.balls, detent.sideways(opened), strict=True)):
        recess, swung = ball.recess, swung[1]
        off = formulas["L2"](
            theta=np.radians(feel.peak_deg) - swung / ball.track_radius,
            track_radius=ball.track_radius,
            off_track=recess.off_track,
            rest_offset=recess.rest_offset,
        ).distance
        on_rim = opened.loads[i][1] > 0 and opened.lifts[i].touch[1] in (RIM, CHAMFER, ROUND)
        if on_rim and np.square(swung) / (2 * ball.track_radius) > OFF_THE_TRACK * off:
            yield i


def runs_off_early(ball: Ball, feel: "Feel") -> bool:
    """Whether the track of a ball ends before all balls are on the flat."""
    return ball.run_off_deg is not None and ball.run_off_deg <= feel.break_out_deg


def left_out(knife: Knife, elastic: bool = False) -> tuple[str, ...]:
    """What the numbers of one knife do not contain: lines, each with what it would do to the break force
    at the tab [N].

    Each is found by feeling the knife again with it in, all at once. What comes to more than a tenth of the break
    force's own ± (to first order, of the ± on the card) is marked: it belongs into that ±.
    """
    from .feel import feel_many

    variants = _variants(knife)
    spread = [_nudged(knife, path, side) for path, doubt in knife.doubts.items() if doubt for side in (1, -1)]
    rows = [{}, *(changes for _, each in variants for changes in each), *spread]
    every = {path: knife.get(path) for changes in rows for path in changes}
    columns = {path: np.array([[changes.get(path, value)] for changes in rows], float) for path, value in every.items()}
    felt = feel_many(knife.with_arrays(columns), elastic)
    gauge, possible = felt.values["gauge_break_force"], felt.possible
    ends = np.where(possible, gauge, gauge[0])[len(rows) - len(spread) :].reshape(-1, 2)
    doubt = np.sqrt(np.sum(np.square(ends[:, 0] - ends[:, 1])))
    said, row = [_gravity(knife.blade)], 1
    for name, each in variants:
        here = slice(row, row + len(each))
        said.append((name, gauge[here] - gauge[0] if np.all(possible[here]) else None))
        row += len(each)
    said += _held(knife)
    lines = [_line(name, change, doubt) for name, change in said]
    if any(ball.track_to_bar_deg != 90 for ball in knife.balls):
        lines.append(
            "lean of the bar under the push along its length, where the track runs aslant: about 1 %, up to ±7 % with"
            " the relief on the tang side"
        )
    give = bars.side_compliance(knife.bar, knife.balls[0])
    if give and any(ball.run_off_deg is not None for ball in knife.balls):
        swung = np.degrees(give * knife.bar.riding_force / knife.balls[0].track_radius)
        lines.append(
            "sideways turn of the bar while a ball rolls off the tang edge: left as on the flat, which can shift that"
            f" stretch by about {swung:.1g}°"
        )
    if any(carry.bearing(knife, i) is None for i in range(len(knife.balls))):
        lines.append("balls that could cross each other's recess: without bearings their tracks are taken as separate")
    if knife.doubts.get(_PLAY) == 0:
        lines.append("play of the pivot: taken as 0 ± 0, in a loaded rim gap it is counted already")
    return (*lines, "speed: a slow push")


def _nudged(knife, path, side):
    """{path: the number there, one standard deviation off}; as it is where there is no such number."""
    value = knife.get(path) + side * knife.scatter(path) / 2
    return {} if number_problem(path, spec(path), value) else {path: value}


def gathered(titles: Sequence[str], told: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """Sentences about several knives, one tuple of them a knife: those that hold for every knife once, the others with
    its title.

    >>> gathered(["A", "B"], [("slow", "1 N"), ("slow", "2 N")])
    ('slow', 'A: 1 N', 'B: 2 N')
    """
    common = [said for said in told[0] if all(said in each for each in told)]
    return (
        *common,
        *(f"{title}: {said}" for title, each in zip(titles, told, strict=True) for said in each if said not in common),
    )


def _gravity(blade):
    """What the weight of the blade is worth at the tab, lying down (F7)."""
    if not (blade.mass and blade.balance_radius):
        return "gravity, pivot axis lying (weight not known, a usual blade)", np.array([-USUAL_WEIGHT, USUAL_WEIGHT])
    weight = formulas["F7"](mass=blade.mass, balance_radius=blade.balance_radius, attitude=np.pi / 2, theta=0.0)
    force = formulas["F5"](torque=weight, arm=blade.tab_arm)
    return "gravity, pivot axis lying", np.array([-force, force])


def _held(knife):
    """What a handover that makes the peak would lose if friction held the ball that takes over; for one bar."""
    from .feel import peak_by_curve

    if knife.second_bar is not None:
        return
    detent = carry.Detent(knife)
    peak = {name: value.item() for name, value in peak_by_curve(detent).items()}
    one_alone = np.count_nonzero(detent.resting[0].loads) == 1  # what its path has before it slips does not count
    one = ways.held(detent, peak["peak"], peak["break_torque"], peak["take_up"] if one_alone else 0.0)
    if one is not None:
        less = -formulas["F5"](torque=one.lost, arm=knife.blade.tab_arm)
        where = f"{np.degrees(one.angle):.2f}°"
        yield f"friction that holds ball {one.ball + 1} where it takes over, at {where}", np.array([less, 0.0])


def _variants(knife):
    """(name, [changes, ...]) of what is left out: the numbers of the knife that would be otherwise with it in."""
    found, bars_here = [], [("bar", knife.bar), *([("second_bar", knife.second_bar)] if knife.second_bar else [])]
    if not (knife.friction.washer or knife.friction.pin):
        found.append(
            ("drag of plain washers and pin under load", [_plain_pivot(mu) for mu in (_PIVOT_MU_LOW, _PIVOT_MU_HIGH)])
        )
    sharp = [
        f"balls[{i}].recess"
        for i, ball in enumerate(knife.balls)
        if not (ball.recess.edge_radius or ball.recess.chamfer_width)
    ]
    if sharp:
        found.append(
            (f"rim rounded by {_YIELDED:g} mm as it yields", [{f"{recess}.edge_radius": _YIELDED for recess in sharp}])
        )
    steeper = [
        {"friction.rim": np.tan(np.arctan(knife.friction.rim) + side * np.radians(_TILT_DEG))} for side in (-1, 1)
    ]
    found.append((f"blade tilted by {_TILT_DEG:g}°", [change for change in steeper if change["friction.rim"] >= 0]))
    for name, bar in bars_here:
        found += _of_bar(name, bar, knife)
    exact = [
        path
        for path in (*(f"balls[{i}].recess.off_track" for i in range(len(knife.balls))), _PLAY)
        if path not in knife.doubts
    ]
    for path in exact:
        said, usual = name_of(path, knife), spec(path)["typical"].doubt
        found.append(
            (
                f"{said}, exact on this card, by ± {usual:g} mm",
                [{path: knife.get(path) + side * usual} for side in (-1, 1)],
            )
        )
    return found


def _of_bar(name, bar, knife):
    """Variants of one bar: a root that nobody measured, and sideways give that was set to nothing."""
    whose = "" if name == "bar" else " of the second leaf"
    first = next(ball for ball in knife.balls if ball.bar == ("bar", "second_bar").index(name))
    if bar.side_compliance == 0:
        give = bars.side_compliance(replace(bar, side_compliance=None), first)
        yield f"sideways give of the bar{whose}, {give:.2g} mm/N", [{f"{name}.side_compliance": give}]
    roots = {"root_up": bar.rate is None, "root_side": bar.side_compliance is None}
    unknown = [
        root
        for root, counts in roots.items()
        if bar.drawn and counts and getattr(bar, root) == 1 and f"{name}.{root}" not in knife.doubts
    ]
    if unknown:
        yield (
            f"root of the bar{whose}",
            [{f"{name}.{root}": spec(f"{name}.{root}")["typical"].value for root in unknown}],
        )


def _plain_pivot(mu):
    return {
        "friction.washer": mu,
        "friction.washer_radius": _WASHER_RADIUS,
        "friction.pin": mu,
        "friction.pin_radius": _PIN_RADIUS,
    }


def _line(name, change, doubt):
    """One line: what, how much at the tab, and whether that is more than a tenth of the ±."""
    if change is None:
        return f"{name}: no number, the knife would not work with it"
    low, high = np.min(change), np.max(change)
    if low < 0 < high and abs(high + low) < _SAME:
        size = f"±{max(high, -low):.2f}"
    elif high - low < _SAME:
        size = _signed(max(low, high, key=abs))
    else:
        size = f"{_signed(low)} to {_signed(high)}"
    marked = ", more than a tenth of the ±" if 0 < doubt / 10 < np.max(np.abs(change)) else ""
    return f"{name}: {size} N at the tab{marked}"


def _signed(force):
    """A change of force with its sign; nothing less than the last digit."""
    shown = round(force, 2)
    return true_minus(f"{shown:+.2f}") if shown else "0.00"


def _leans(detent, at, i):
    """Contact and friction angle of ball i together [deg] at the angles of a State."""
    return np.degrees(lean(at.lifts[i], at.loads[i], push_ratio(at.lifts[i], detent.knife.friction.rim))).tolist()


def _crossing_flags(knife):
    """Balls that run over another ball's recess while the blade opens."""
    said = []
    for i, j in permutations(range(len(knife.balls)), 2):
        if not carry.crosses(knife, i, j):
            continue
        angle = carry.crossing_deg(knife, i, j)
        if 0 < angle < knife.blade.opening_deg:
            said.append(
                f"Ball {i + 1} runs over the recess of ball {j + 1} at about {angle:.1f}° and can drop into it: a"
                " second click in mid-swing."
            )
    return said


def _stress_flags(knife, feel):
    limit = knife.bar.yield_stress
    if limit is None or feel.relief_stress_ride is None:
        return []
    at_rest = feel.relief_stress_rest + feel.relief_stress_side
    stress, when = max(
        (feel.relief_stress_ride, "when the ball rides the flat"), (at_rest, "at one edge as the rim pushes hardest")
    )
    if stress <= limit:
        return []
    return [
        f"The relief is bent past its yield {when}: {stress:.0f} MPa against {limit:.0f} MPa; the bar takes a set and"
        " the force falls."
    ]


def _rate_flags(knife):
    bar, first = knife.bar, knife.balls[0]
    if bar.rate is None or not bar.drawn:
        return []
    drawn = 1 / bars.drawn_compliance(bar, first)
    if abs(drawn / bar.rate - 1) <= _RATES_DISAGREE:
        return []
    return [
        f"The measured rate of {bar.rate:.3g} N/mm is used, but the drawn sizes give {drawn:.3g} N/mm: measure relief"
        " thickness and hinge distance again."
    ]
