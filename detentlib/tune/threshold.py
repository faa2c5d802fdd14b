"""What an offset second recess does: the cliff at the touch threshold, and how far out a lower ball 2 may ride."""

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife
from ..mechanics.feel import feel
from ..mechanics.sweep import sweep
from .moves import with_one_ball
from .pair import with_rim_lead

_ANGLES = 2001
_JUST = 1e-7  # mm, °


class AtLead(NamedTuple):
    """What ball 2 does at one rim lead [mm]: shares and ratios, 1.0 as with one ball.

    carries: share of the travel from the stop to the flat in which ball 2 carries alone or with ball 1. start and
    after: the break force or its like where the blade starts, and where the bar has just changed hands, against one
    ball; the larger of them is the peak. barrier: against one ball.
    """

    lead: float
    carries: float
    start: float
    after: float
    barrier: float

    @property
    def peak(self) -> float:
        """Peak against one ball: the larger of what it starts with and what the next ball takes over with."""
        return max(self.start, self.after)


def cliff(leads: Iterable[float], rim_gap: float, ball_radius: float, height_difference: float) -> list[AtLead]:
    """An AtLead for each rim lead [mm] in the textbook case, in the plane.

    Equal balls and arms, sharp rims, a bar that is stiff sideways and presses the same everywhere, no friction.
    rim_gap: of ball 1 at the stop [mm]. height_difference: press-depth difference, above zero [mm]. Formulas L1, C2,
    C3. Raises ValueError for a rim lead so large that ball 2 is on the flat before ball 1 takes over.

    >>> below, above = cliff((0.04, 0.06), rim_gap=0.6, ball_radius=0.79375, height_difference=0.0508)
    >>> below.carries, below.peak
    (0.0, 1.0)
    >>> round(above.carries, 3), round(above.peak, 3), round(above.barrier, 3)
    (0.096, 0.81, 0.959)
    """
    threshold = formulas["C3"](rim_gap_1=rim_gap, height_difference=height_difference, ball_radius=ball_radius)
    one = formulas["L1"](rim_gap=rim_gap, ball_radius=ball_radius)
    steps = []
    for lead in leads:
        if lead <= threshold:
            steps.append(AtLead(lead, 0.0, 1.0, 1.0, 1.0))
            continue
        two = formulas["L1"](rim_gap=rim_gap - lead, ball_radius=ball_radius)
        sizes = {"height_difference": height_difference, "ball_radius": ball_radius, "rim_gap_1": rim_gap}
        over = formulas["C2"](rim_lead=lead, **sizes)
        if over.phi_2 < 0:
            wrong = "ball 2 rides the flat before ball 1 takes over, so C2 does not hold; take a smaller rim lead"
            raise ValueError(f"rim lead {lead:g} mm: {wrong}")
        # the slope falls all the way to the handover and steps up there, so the peak stands at one of the two
        start, after = (float(np.tan(phi) / np.tan(one.phi)) for phi in (two.phi, over.phi_1))
        steps.append(AtLead(lead, over.travel / rim_gap, start, after, (height_difference + two.sink) / one.sink))
    return steps


def cost(knife: Knife, leads: Iterable[float]) -> list[AtLead]:
    """An AtLead for each rim lead [mm] of this knife, with its arms, spring, friction and sideways give, recess 2
    drilled to the lead.

    knife: with two balls on one bar. The start is where the rim slips, after the take-up; the torques are with
    friction.
    """
    one, found = feel(with_one_ball(knife)), []
    for lead in leads:
        drilled = with_rim_lead(knife, lead)
        felt = feel(drilled)
        start = sweep(drilled, [felt.take_up_deg]).torque.item()
        later = felt.peak_deg > felt.take_up_deg + _JUST
        after = felt.break_torque if later else max((over.torque_after for over in felt.handovers), default=0.0)
        carries = np.mean(sweep(drilled, np.linspace(0.0, felt.break_out_deg, _ANGLES)).load[:, 1] > 0).item()
        shares = start / one.break_torque, after / one.break_torque, felt.barrier / one.barrier
        found.append(AtLead(lead, carries, *shares))
    return found


def touch_ratio(knife: Knife, most: float = 2.0) -> float:
    """Ratio of the track radii from which on a ball 2 that hangs clear at equal radii touches on the way; inf where not
    below `most`.

    knife: with two balls on one bar. Ball 2 has the rest offset that it is given, at every radius.
    """
    from scipy.optimize import brentq

    def short(ratio):
        """Least clearance of ball 2 while the blade opens [mm], less one that is none."""
        radius = ratio * knife.balls[0].track_radius
        wider = knife.replace({"balls[1].track_radius": radius, "balls[1].bearing_deg": None})
        return float(sweep(wider).clearance[:, 1].min()) - _JUST

    if short(1.0) < 0:
        return 1.0
    return math.inf if short(most) > 0 else float(brentq(short, 1.0, most, xtol=1e-5))
