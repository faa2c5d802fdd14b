"""What a live sheet checks itself against: settings of its sliders, and what the library says to each."""

import numpy as np

from ...mechanics import carry
from ...mechanics.feel import feel
from ...mechanics.notes import runs_off_early
from ...parts import KnifeError
from ...workshop.moves import with_one_ball

_MIXED = 12
_SHARES = (0.01, 0.13, 0.37, 0.71, 0.93, 1.1)  # of the way to the flat; at none of it two balls that share can stick in many ways
FELT = (
    "break_force",
    "letback_force",
    "gauge_break_force",
    "gauge_letback_force",
    "barrier",
    "break_out_deg",
    "rest_deg",
    "take_up_deg",
    "rest_load",
    "ride_load",
)
_GOLDEN = (5**0.5 - 1) / 2


def settings(knife, movers, two):
    """A list of {"values": {path: number}, "second": whether ball 2 is in} with what the library says to each.

    Where the knife can work: "angles" of the torques and "numbers", in N, mJ, mm, N·mm and degrees, to 13 digits (far more than
    the page compares) and in the order of `numbersOf` in livesheet_check.js. Where it cannot, or a ball runs off the tang before
    the flat: "refused", the paths of the numbers at fault. knife: with two balls. two: whether it has the second one at the start.
    Each number alone at both ends of its slider, some that cannot work, and mixtures of all.
    """
    wanted = [({}, two), ({}, not two)]
    wanted += [({each.path: end}, True) for each in movers for end in (each.lo, each.hi) if end != each.value]
    wanted += [(values, True) for values in ({"friction.rim": 1.5}, {"bar.riding_force": 0.02 * knife.bar.riding_force}, {"balls[0].protrusion": -0.1})]
    for k in range(1, _MIXED + 1):
        # multiples of the golden section fill the range evenly; the nearer half keeps most mixtures possible
        shares = [k * _GOLDEN * (i + 1) % 1 for i in range(len(movers))]
        mixed = {each.path: each.value + 0.5 * (each.lo + share * (each.hi - each.lo) - each.value) for each, share in zip(movers, shares, strict=True)}
        wanted.append(({path: round(value, 6) for path, value in mixed.items()}, k % 3 > 0))
    return [{"values": values, "second": second} | _said(knife, values, second) for values, second in wanted]


def changed(knife, values, second):
    """The knife with these numbers; without its second ball those of ball 2 count for nothing."""
    if second:
        return knife.replace(values)
    return with_one_ball(knife).replace({path: value for path, value in values.items() if not path.startswith(("balls[1]", "second_bar"))})


def _said(knife, values, second):
    """What the library says to one setting."""
    try:
        knife = changed(knife, values, second)
        found = feel(knife)
    except KnifeError as error:
        return {"refused": [problem.where for problem in error.problems]}
    early = [f"balls[{i}].track_radius" for i, ball in enumerate(knife.balls) if runs_off_early(ball, found)]
    if early:  # the sheet has no slider for the run-off angle, and does not compute the edge of the tang
        return {"refused": early}
    angles = [round(share * found.break_out_deg, 6) for share in _SHARES]
    opening, closing = (carry.state(knife, np.radians(angles), sense=sense) for sense in (1, -1))
    numbers = [getattr(found, name) for name in FELT]
    for i in range(len(knife.balls)):
        numbers += [found.contact_deg[i], found.idle_clearance[i], found.loaded_offset[i]]
    for k in range(len(angles)):
        numbers += [opening.torque[k], closing.torque[k], opening.gap[k]]
    numbers.append(len(found.handovers))
    for over in found.handovers:
        numbers += [over.start_deg, over.end_deg, over.from_ball, over.to_ball, over.torque_before, over.torque_after]
    return {"angles": angles, "numbers": [None if value is None else float(f"{value:.13g}") for value in numbers]}
