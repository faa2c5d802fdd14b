"""Two balls on one bar in words and tables: each alone and both, any split, what does double, rim leads, handovers."""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife, KnifeError
from ..knife.plain import true_minus
from ..knife.units import both
from ..mechanics import bar as bars
from ..mechanics.feel import feel
from ..mechanics.sweep import sweep
from ..tune.moves import preset, with_one_ball, with_preset, with_second_leaf, without_friction
from ..tune.pair import (
    TWO_THOU,
    from_the_middle,
    idle_up_to,
    lead_at_stop,
    mixes,
    press_difference,
    sharing_band,
    squashing,
    touch_lead,
    with_ball_2_alone,
    with_equal_arms,
    with_press_difference,
    with_rim_lead,
    with_second_ball,
)
from ..tune.table import Table
from ..tune.threshold import AtLead, cliff, cost, touch_ratio
from .measure import MM, THOU

TEXTBOOK = {"rim_gap": 0.6, "ball_radius": 1.5875 / 2, "height_difference": TWO_THOU}  # mm, in the plane
_TOUCHES = 1e-7  # mm, a clearance that is none
_ASIDE = 2.0  # mm, of a ball from the middle of its bar


def each_alone(knife: Knife) -> Table:
    """Break force and barrier with ball 1 alone, with ball 2 alone and with both, the bar bent as it is; a Table.

    Below it stands who carries at rest, and how many times ball 1 alone, and the harder of them alone, the two make.
    knife: with two balls on one bar.

    >>> from detentlib.files.demo import demo
    >>> each_alone(demo("pellowfen-b")).rows[0]
    ('break force at the tab', '12.05 N (2.71 lbf)', '14.15 N (3.18 lbf)', '12.05 N (2.71 lbf)')
    """
    one, two, other = feel(with_one_ball(knife)), feel(knife), _alone(with_ball_2_alone(knife))
    rows = [
        (
            words,
            *(
                "does not work alone" if each is None else both(getattr(each, result), unit)
                for each in (one, other, two)
            ),
        )
        for words, result, unit in (("break force at the tab", "break_force", "N"), ("barrier", "barrier", "mJ"))
    ]
    return Table(
        f"{knife.title}: what each ball does, and what both do",
        ("", "ball 1 alone", "ball 2 alone", "both on the bar"),
        tuple(rows),
        (_at_rest(two), _against(one, other, two)),
    )


def _alone(knife):
    """Feel of a knife that was made up; None where it cannot work so."""
    try:
        return feel(knife)
    except KnifeError:
        return None


def _at_rest(felt):
    """Who carries in the shut knife, in a sentence."""
    if felt.rest_carrier < 0:
        return "At rest the face of the bar lies on the tang, and no ball carries."
    clear = felt.idle_clearance[1 - felt.rest_carrier]
    if clear < _TOUCHES:
        return "At rest both balls touch."
    return (
        f"At rest ball {felt.rest_carrier + 1} carries, and ball {2 - felt.rest_carrier} hangs clear by"
        f" {both(clear, 'mm')}."
    )


def _against(one, other, two):
    """How the break force with both compares with that of each alone, in sentences."""
    said = f"Both make {_times(two.break_force, one.break_force)} times the force of ball 1 alone"
    if other is None:
        return f"{said}."
    alone = one.break_force, other.break_force
    harder = _times(two.break_force, max(alone))
    said = f"{said}, and {harder} times that of the harder of the two. The sum would be {both(sum(alone), 'N')}."
    if not bars.side_compliance(two.of[0].bar, two.of[0].balls[0]):
        return said
    most = [_alone(from_the_middle(each.of[0])) for each in (one, other)]
    bound = "" if None in most else f": {max(each.break_force for each in most) / max(alone):.2f} times at most"
    return f"{said} As the bar gives sideways, one ball can leave the other at a steeper spot of its rim{bound}."


def _times(now, before):
    return f"{now / before:.2f}" if before > 0 else "–"


def splits(knife: Knife, shares: Iterable[float] = (0.0, 0.3, 0.5, 1.0)) -> Table:
    """What comes of any share of the bar that ball 2 might take, at rest and without friction (C1a), beside the same
    for twins at equal distances; a Table. knife: with two balls on one bar.

    >>> from detentlib.files.demo import demo
    >>> splits(demo("pellowfen-b"), [0.5]).rows
    (('50 %', '7.10 N', '7.31 N', '10.47 N (2.35 lbf)', '9.402 N (2.11 lbf)'),)
    """
    shares = tuple(shares)
    twins = mixes(with_second_ball(with_one_ball(knife), deeper=0.0), shares)
    rows = [
        (
            f"{100 * mix.share:.0f} %",
            f"{mix.load_1:.2f} N",
            f"{mix.load_2:.2f} N",
            both(mix.force, "N"),
            both(twin.force, "N"),
        )
        for mix, twin in zip(mixes(knife, shares), twins, strict=True)
    ]
    arms = [ball.hinge_distance for ball in knife.balls[:2]]
    moments = [np.dot((mix.load_1, mix.load_2), arms) for mix in mixes(knife, shares)]
    low, high = (f"{end:.0f}" for end in (min(moments), max(moments)))
    return Table(
        f"{knife.title}: any split of the bar, at rest, without friction",
        ("ball 2 takes", "ball 1 presses", "ball 2 presses", "needed at the tab", "by twins at equal distances"),
        tuple(rows),
        (
            f"The first load times {arms[0]:g} mm and the second times {arms[1]:g} mm make"
            f" {low if low == high else f'{low} to {high}'} N·mm in every row: the moment of the bar.",
        ),
    )


def what_doubles(knife: Knife) -> Table:
    """Force at the tab, barrier and force on the flat of four ways to two balls' worth, each as so many times that of
    ball 1 alone; a Table. knife: with two balls on one bar.

    >>> from detentlib.files.demo import demo
    >>> [row[1] for row in what_doubles(demo("pellowfen-b")).rows]
    ['1.00', '2.00', '2.13', '2.85']
    """
    alone = with_one_ball(knife)
    twins = with_second_ball(alone, deeper=0.0)
    ways = (
        ("both balls on the one bar", knife),
        ("twins, each on a leaf of its own", with_second_leaf(twins)),
        ("its own ball 2, on a leaf of its own", with_second_leaf(knife)),
        ("one ball, its bar bent twice as far", with_preset(alone, preset(alone))),
    )
    one = feel(alone)
    rows = []
    for words, made in ways:
        felt = feel(made)
        pairs = (
            (felt.break_force, one.break_force),
            (felt.barrier, one.barrier),
            (_on_the_flat(made, felt), _on_the_flat(alone, one)),
        )
        rows.append((words, *(_times(*each) for each in pairs)))
    return Table(
        f"{knife.title}: how many times ball 1 alone",
        ("", "force at the tab", "barrier", "force of all balls on the flat"),
        tuple(rows),
        tuple(f"Bent twice as far: {flag}" for flag in felt.flags if flag not in one.flags),
    )


def _on_the_flat(knife, felt):
    """What all balls press with just past the climb [N]."""
    return sweep(knife, [felt.break_out_deg + 0.01]).load.sum().item()


def bands(knife: Knife) -> Table:
    """How wide the sharing band is: of the bar alone (C5), with squash, and with the balls 2 mm to either side of the
    bar's centre line; a Table. knife: with two balls on one bar; where its bar is not drawn, the last row is
    left out.

    >>> from detentlib.files.demo import demo
    >>> bands(demo("pellowfen-b")).rows[0]
    ('the bar alone', '0.0001 mm (0.004 thou)')
    """
    band = sharing_band(knife)
    rows = [("the bar alone", both(band.bar, "mm")), ("with squash of balls and rims", both(band.width, "mm"))]
    if knife.bar.drawn and knife.bar.shear_modulus:
        apart = sharing_band(knife.replace({"balls[0].side_offset": _ASIDE, "balls[1].side_offset": -_ASIDE}))
        rows.append((f"the bar alone, balls {_ASIDE:g} mm to either side of its middle", both(apart.bar, "mm")))
    return Table(f"{knife.title}: over which difference of heights both carry at rest", ("", "band"), tuple(rows))


def near_the_hinge(knife: Knife) -> Table:
    """Ball 2 much nearer to the hinge with the height that it has: whether it rides clear, so that E2 speaks of it, and
    what the barrier does; a Table. knife: with two balls on one bar.

    >>> from detentlib.files.demo import demo
    >>> near_the_hinge(demo("pellowfen-b")).rows[1]
    ('both, the bar stiff between them', '4.282 mJ', '1.07')
    """
    first = knife.balls[0]
    near = knife.replace({"balls[1].hinge_distance": round(first.hinge_distance * _NEAR, 1)})
    second = near.balls[1]
    limit = idle_up_to(near.bar, first, second.hinge_distance)
    most = feel(without_friction(with_one_ball(near))).barrier
    says = (
        "Ball 2 rides the flat, so E2 does not speak of it."
        if second.protrusion > limit
        else f"Ball 2 rides clear, so by E2 the barrier is at most {both(most, 'mJ')}."
    )
    felt = (
        ("ball 1 alone", feel(with_one_ball(near))),
        ("both, the bar stiff between them", feel(near)),
        ("both, the bar bending", feel(near, elastic=True)),
    )
    return Table(
        f"{knife.title}: ball 2 moved to {second.hinge_distance:g} mm from the hinge",
        ("", "barrier", "times ball 1 alone"),
        tuple((words, both(each.barrier, "mJ"), _times(each.barrier, felt[0][1].barrier)) for words, each in felt),
        (
            f"It stands out {both(second.protrusion, 'mm')}; clear of the flat it rides up to {both(limit, 'mm')}."
            f" {says}",
        ),
    )


_NEAR = 28.0 / 36.4


def touch(knife: Knife) -> Table:
    """From which rim lead on ball 2 carries at rest, in the plane (C3) and in this knife, beside the lead that it has;
    and how far out a ball must run to touch without any lead; a Table.

    knife: with two balls on one bar and bored recesses.

    >>> from detentlib.files.demo import demo
    >>> print(touch(demo("pellowfen-c")).text())
    Pellowfen C: when ball 2 touches at rest
                                             rim lead
    that it has, the bar pressing            0.0708 mm (2.79 thou)
    needed in the plane, at equal arms (C3)  0.0479 mm (1.89 thou)
    needed with its own arms                 0.0479 mm (1.89 thou)
    Without any lead ball 2 touches on the way if it runs 1.47 times as far from the pivot as ball 1, or further.
    """
    lead, needed = lead_at_stop(knife), touch_lead(knife)
    rows = [("that it has, the bar pressing", both(lead, "mm"))]
    first, second = knife.balls[:2]
    alone, lower = feel(with_one_ball(knife)), press_difference(knife)
    if first.diameter == second.diameter and 0 < lower < alone.seat_depth[0]:
        plane = formulas["C3"](rim_gap_1=alone.rim_gap[0], height_difference=lower, ball_radius=first.radius)
        rows.append(("needed in the plane, at equal arms (C3)", both(float(plane), "mm")))
    rows.append(("needed with its own arms", "no recess does it" if needed is None else both(needed, "mm")))
    return Table(f"{knife.title}: when ball 2 touches at rest", ("", "rim lead"), tuple(rows), (_without_lead(knife),))


def _without_lead(knife):
    """How far out ball 2 must run to touch on the way without any rim lead, in a sentence."""
    try:
        ratio = touch_ratio(with_rim_lead(knife, 0.0), _FURTHEST)
    except KnifeError:
        return "Without any lead its recess would be too wide for ball 2."
    if ratio == math.inf:
        return f"Without any lead ball 2 does not touch, not even {_FURTHEST:g} times as far from the pivot as ball 1."
    far = f"if it runs {ratio:.2f} times as far from the pivot as ball 1, or further" if ratio > 1 else "at any radius"
    return f"Without any lead ball 2 touches on the way {far}."


_FURTHEST = 2.0


def at_leads(knife: Knife, leads: Sequence[float]) -> Table:
    """Peak and barrier against one ball at rim leads [mm]: peak in the textbook case, with equal arms, with its own;
    with its own, too, the barrier and over what share of the travel ball 2 carries; a Table.

    knife: with two balls on one bar and bored recesses.

    >>> from detentlib.files.demo import demo
    >>> at_leads(demo("pellowfen-c"), [0.04, 0.06]).rows[1][:3]
    ('0.060 mm (2.4 thou)', '−19.0 %, after', '−16.3 %, after')
    """
    textbook, equal, own = cliff(leads, **TEXTBOOK), cost(with_equal_arms(knife), leads), cost(knife, leads)
    rows = [
        (
            f"{MM.short(lead, 'mm')} ({THOU.short(lead, 'mm')})",
            *map(_peak, (plain, level, real)),
            _change(real.barrier),
            f"{100 * real.carries:.0f} %",
        )
        for lead, plain, level, real in zip(leads, textbook, equal, own, strict=True)
    ]
    return Table(
        f"{knife.title}: against one ball",
        (
            "rim lead",
            "peak, textbook",
            "peak, equal arms",
            "peak, its arms",
            "barrier, its arms",
            "ball 2 carries, of the travel",
        ),
        tuple(rows),
        ("start: the peak stands where the blade starts; after: just after the bar has changed hands.",),
    )


def _peak(step: AtLead) -> str:
    """The peak in words, and where it stands."""
    if step.carries == 0:
        return "unchanged"
    return f"{_change(step.peak)}, {'start' if step.start >= step.after else 'after'}"


def _change(ratio):
    percent = round(100 * (ratio - 1), 1)
    return true_minus(f"{percent:+.1f} %") if percent else "0.0 %"


def handovers(knife: Knife) -> Table:
    """Where the bar changes hands on opening, from where to where both carry, and what the push does meanwhile, with
    equal arms and with its own; a Table. knife: with two balls on one bar.

    >>> from detentlib.files.demo import demo
    >>> handovers(demo("pellowfen-c")).rows[1]
    ('its arms', 'ball 2 to ball 1', '1.694° to 1.818°', '4.941 to 5.801 N', 'climbs by 17 %')
    """
    rows, none = [], []
    for words, made in (("equal arms", with_equal_arms(knife)), ("its arms", knife)):
        found = feel(made).handovers
        if not found:
            none.append(f"With {words}: no handover on opening.")
        for over in found:
            before, after = over.torque_before, over.torque_after
            rows.append(
                (
                    words,
                    f"ball {over.from_ball + 1} to ball {over.to_ball + 1}",
                    f"{over.start_deg:.3f}° to {over.end_deg:.3f}°",
                    f"{before / knife.blade.tab_arm:.4g} to {after / knife.blade.tab_arm:.4g} N",
                    f"{'climbs' if after > before else 'falls'} by {abs(100 * (after / before - 1)):.0f} %",
                )
            )
    heads = ("", "from ball to ball", "both carry from, to", "force at the tab", "over it the push")
    return Table(f"{knife.title}: where the bar changes hands", heads, tuple(rows), tuple(none))


def ways_round(knife: Knife) -> Table:
    """Break force with the rim lead got by a smaller and by a shifted recess, as the blade opens and on one that opens
    the other way round, with equal arms; a Table. knife: with two balls on one bar and bored recesses.

    >>> from detentlib.files.demo import demo
    >>> ways_round(demo("pellowfen-c")).rows[1]
    ('recess 2 shifted', '9.139 N (2.05 lbf)', '12.05 N (2.71 lbf)')
    """
    plane, lead = with_equal_arms(knife), lead_at_stop(with_equal_arms(knife))
    like_1 = with_rim_lead(plane.replace({"balls[1].recess.diameter": plane.balls[0].recess.diameter}), 0.0, "shift")
    ways = (("smaller", with_rim_lead(like_1, lead)), ("shifted", with_rim_lead(like_1, lead, by="shift")))
    rows = [
        (f"recess 2 {way}", *(both(feel(each).break_force, "N") for each in (made, made.turned_round())))
        for way, made in ways
    ]
    return Table(
        f"{knife.title} with equal arms, rim lead {both(lead, 'mm')}: break force at the tab",
        ("", "as it opens", "opening the other way round"),
        tuple(rows),
    )


def peak_and_barrier(knives: Sequence[Knife]) -> Table:
    """Break force, that of ball 2 alone, barrier and draw-in of several knives, with every stall on the way; a Table.

    >>> from detentlib.files.demo import demo
    >>> peak_and_barrier([demo("pellowfen-a"), demo("pellowfen-d")]).notes
    ('Pellowfen D: from 3.19° it draws in, but stalls at 2.45°.',)
    """
    rows, notes = [], []
    for knife in knives:
        felt = feel(knife)
        other = _alone(with_ball_2_alone(knife)) if len(knife.balls) > 1 else None
        rows.append(
            (
                knife.title,
                both(felt.break_force, "N"),
                "–" if other is None else both(other.break_force, "N"),
                both(felt.barrier, "mJ"),
                f"{felt.draw_in_deg:.2f}°",
            )
        )
        notes += [
            f"{knife.title}: from {start:.2f}° it draws in, but stalls at {stop:.2f}°."
            for stop, start in felt.stall_pockets
        ]
    heads = ("", "break force at the tab", "ball 2 alone", "barrier", "draws itself shut from")
    return Table("Harder, and what it costs", heads, tuple(rows), tuple(notes))


def how_sure(knife: Knife) -> Table:
    """Break force with ball 2 pressed 0.01 mm less and more deep, and with squash of balls and rims; a Table.

    knife: with two balls on one bar.

    >>> from detentlib.files.demo import demo
    >>> [row[1] for row in how_sure(demo("pellowfen-e")).rows]
    ['18.48 N (4.15 lbf)', '14.84 N (3.34 lbf)', '12.05 N (2.71 lbf)', '12.99 N (2.92 lbf)']
    """
    deeper = press_difference(knife)
    made = [
        (f"ball 2 lower by {both(deeper + change, 'mm')}", feel(with_press_difference(knife, deeper + change)))
        for change in (-0.01, 0.0, 0.01)
    ]
    made.append(("as drawn, with squash of balls and rims", feel(squashing(knife), elastic=True)))
    return Table(
        f"{knife.title}: how sure is it?",
        ("", "break force at the tab"),
        tuple((words, both(felt.break_force, "N")) for words, felt in made),
    )
