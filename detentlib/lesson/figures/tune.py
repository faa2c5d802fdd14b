"""The drawing of notebook 08: a batch of knives drawn across the touch threshold; entered in the table of every.py."""

from functools import cache

import numpy as np
from matplotlib.figure import Figure

from ...draw.drawing import BALLS, GREY, INK, PUSH, SMALL, STYLES, TEXT, plain, unit_axis
from ...draw.plan import svg_figure
from ...files.demo import demo
from ...knife.parts import BALL_FIELDS, Knife
from ...mechanics.feel import feel
from ...say.measure import MM
from ...tune.pair import touch_lead, with_rim_lead, with_second_ball
from ...tune.shop import SHOP
from ...tune.tolerance import Tolerance, tolerance

KNIVES, SEED = 400, 1
_PLACES = [each for each in SHOP if each.makes in BALL_FIELDS]  # oil and bend held, so that only the thresholds show


@cache
def on_the_threshold() -> Knife:
    """Pellowfen A with an equal second ball 2 thou deeper, its recess drilled so that as drawn it just touches."""
    pair = with_second_ball(demo("pellowfen-a"))
    return with_rim_lead(pair, touch_lead(pair))


@cache
def batch() -> Tolerance:
    """A Tolerance of such knives as a shop places balls and recesses."""
    return tolerance(on_the_threshold(), KNIVES, SEED, made=_PLACES)


def threshold_smear() -> Figure:
    """Break force over rim lead for a batch that was drawn as one knife: those where ball 1 carries at rest, and
    those where ball 2 does.
    """
    knife, found = on_the_threshold(), batch()
    lead, force, second = (
        found.values("rim_lead"),
        found.values("break_force"),
        found.values("ball 2 at rest").astype(bool),
    )
    middle = touch_lead(knife)
    figure = svg_figure(7.4, 3.7)
    ax = figure.add_axes((0.085, 0.135, 0.9, 0.845))
    ends, tops = (0.0, 2 * middle), (8.0, 13.9)
    ax.set(xlim=ends, ylim=tops)
    plain(ax)
    for which, colour, marker, size in ((~second, BALLS[0], "o", 3.5), (second, BALLS[1], "x", 4.5)):
        ax.plot(lead[which], force[which], marker, color=colour, ms=size, mfc="none", mew=0.9)
    for low, high in ((ends[0], middle - 1e-4), (middle + 1e-4, ends[1])):
        leads = np.linspace(low, high, 9)
        drawn = [feel(with_rim_lead(knife, each)).break_force for each in leads]
        ax.plot(leads, drawn, color=INK, lw=2.2)
    ax.axvline(middle, color=PUSH, lw=1.2, ls=STYLES[1])
    ax.text(middle, 8.12, " touch threshold", size=TEXT, color=PUSH)
    share = 100 * second.mean()
    ax.text(0.02 * ends[1], 13.8, f"○ ball 1 carries at rest: {100 - share:.0f} %", size=TEXT, color=BALLS[0], va="top")
    ax.text(
        0.98 * ends[1],
        13.8,
        f"× ball 2 carries at rest: {share:.0f} %",
        size=TEXT,
        color=BALLS[1],
        ha="right",
        va="top",
    )
    ax.text(0.98 * ends[1], 8.12, "black: as drawn", size=SMALL, color=INK, ha="right")
    ax.text(0.02 * ends[1], 8.12, f"{found.n} knives of one drawing", size=SMALL, color=GREY)
    unit_axis(ax.xaxis, ends, "rim lead", "mm", MM)
    unit_axis(ax.yaxis, tops, "break force at the tab", "N", MM)
    return figure


TUNE = {"threshold-smear": threshold_smear}
