"""What an offset second recess does: the cliff at the touch threshold, and how far out a lower ball 2 may ride."""

import math
from typing import NamedTuple

import numpy as np

from ..mechanics.formulas import formulas
from ..mechanics.sweep import sweep
from ..units import both


class Step(NamedTuple):
    """What ball 2 does at one rim lead [mm], in the plane: shares and ratios, 1.0 as with one ball.

    climb: share of the way from the stop to the flat on which ball 2 carries. peak and barrier: against one ball.
    """

    lead: float
    climb: float
    peak: float
    barrier: float

    def __str__(self):
        """In words, for a notebook."""
        if self.climb == 0:
            return f"rim lead {both(self.lead, 'mm')}: ball 2 never touches"
        changes = f"peak {_change(self.peak)}, barrier {_change(self.barrier)}"
        return f"rim lead {both(self.lead, 'mm')}: {changes}; ball 2 carries {100 * self.climb:.1f} % of the climb"


def cliff(leads, rim_gap, ball_radius, height_difference):
    """A Step for each rim lead [mm]: in the plane, equal balls and arms, sharp rims, constant bar force, no friction.

    rim_gap: of ball 1 at the stop [mm]. height_difference: press-depth difference, above zero [mm]. Formulas L1, C2,
    C3. Raises ValueError for a rim lead so large that ball 2 is on the flat before ball 1 takes over.

    >>> [print(step) for step in cliff((0.04, 0.06), rim_gap=0.6, ball_radius=0.79375, height_difference=0.0508)]
    rim lead 0.04 mm (1.57 thou): ball 2 never touches
    rim lead 0.06 mm (2.36 thou): peak −19.0 %, barrier −4.1 %; ball 2 carries 9.6 % of the climb
    [None, None]
    """
    threshold = formulas["C3"](rim_gap_1=rim_gap, height_difference=height_difference, ball_radius=ball_radius)
    one = formulas["L1"](rim_gap=rim_gap, ball_radius=ball_radius)
    steps = []
    for lead in leads:
        if lead <= threshold:
            steps.append(Step(lead, 0.0, 1.0, 1.0))
            continue
        two = formulas["L1"](rim_gap=rim_gap - lead, ball_radius=ball_radius)
        over = formulas["C2"](height_difference=height_difference, rim_lead=lead, ball_radius=ball_radius, rim_gap_1=rim_gap)
        if over.phi_2 < 0:
            raise ValueError(f"rim lead {lead:g} mm: ball 2 rides the flat before ball 1 takes over, so C2 does not hold; take a smaller rim lead")
        # the slope falls all the way to the handover and steps up there, so the peak stands at one of the two
        peak = max(np.tan(two.phi), np.tan(over.phi_1))
        steps.append(Step(lead, over.travel / rim_gap, float(peak / np.tan(one.phi)), (height_difference + two.sink) / one.sink))
    return steps


def touch_ratio(knife, most=2.0):
    """Ratio of the track radii from which on a ball 2 that hangs clear at equal radii touches on the way; inf where not below `most`.

    knife: with two balls on one bar. Ball 2 has the rest offset that it is given, at every radius.
    """
    from scipy.optimize import brentq

    def short(ratio):
        return _least_clearance(_at_ratio(knife, ratio)) - _JUST

    if short(1.0) < 0:
        return 1.0
    return math.inf if short(most) > 0 else float(brentq(short, 1.0, most, xtol=1e-5))


_JUST = 1e-7  # mm


def _at_ratio(knife, ratio):
    return knife.replace({"balls[1].track_radius": ratio * knife.balls[0].track_radius, "balls[1].bearing_deg": None})


def _least_clearance(knife):
    """Least clearance of ball 2 while the blade opens [mm]."""
    return float(sweep(knife).clearance[:, 1].min())


def _change(ratio):
    return f"{100 * (ratio - 1):+.1f} %".replace("-", "−")
