"""The tracing sheet of the paper model: the lift demands over the blade angle, on a grid to scale, with the predicted marks."""

import math

import numpy as np

from ...mechanics import bar as bars
from ...mechanics import carry
from ...mechanics.formulas import formulas
from ...mechanics.lift import flat_angle
from ..panels.drawing import BALLS, GREY, INK, SMALL
from .template_page import TOP, WIDE, WIDTH, words

_LEFT, _RIGHT = WIDE + 16.0, WIDE + 18.0  # mm on paper beside the grid
_HIGH, _BELOW_WORDS = 120.0, 35.0
_SCALES = (1000, 800, 500, 400, 250, 200, 100, 50, 20, 10)
_STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)


def seen_at_first(knife, i, gap):
    """The gap at ball 1 when the bar stands as ball i asks with a gap of its own [mm] (B4); on another leaf the gap itself."""
    ball, first = knife.balls[i], knife.balls[0]
    if ball.bar != first.bar:
        return gap
    spring = bars.spring(knife.bar, first)
    psi = formulas["B4"](gap=gap, parallel_gap=spring.parallel_gap, hinge_distance=ball.hinge_distance)
    return spring.parallel_gap + psi * spring.arm


def predicted(knife, felt):
    """[(blade angle [deg], gap at ball 1 [mm], words)]: each ball at the stop, the handovers, each ball out on the flat."""
    theta = np.array([0.0, *(math.radians(hand.angle_deg) for hand in felt.handovers)])
    at, found = carry.state(knife, theta), []
    for i in range(len(knife.balls)):
        carries = "carries" if at.clearances[i][0] == 0 else "hangs clear"
        found.append((0.0, float(seen_at_first(knife, i, at.lifts[i].demand[0])), f"ball {i + 1} at the stop: {carries}"))
    for k, hand in enumerate(felt.handovers, 1):
        said = f"handover at {hand.angle_deg:.2f}°: ball {hand.from_ball + 1} gives the bar to ball {hand.to_ball + 1}"
        found.append((hand.angle_deg, float(seen_at_first(knife, hand.to_ball, at.lifts[hand.to_ball].demand[k])), said))
    for i, ball in enumerate(knife.balls):
        out = math.degrees(flat_angle(ball))
        found.append((out, float(seen_at_first(knife, i, ball.protrusion)), f"ball {i + 1} out on the flat at {out:.2f}°"))
    return sorted(found)


def tracing(ax, knife, felt, page):
    """Draw the sheet into the axes of a page."""
    marks = predicted(knife, felt)
    last, (low, high) = 1.2 * max(angle for angle, *_ in marks), (min(gap for _, gap, _ in marks), max(gap for _, gap, _ in marks))
    low, high = low - 0.1 * (high - low), high + 0.1 * (high - low)
    times = next((scale for scale in _SCALES if (high - low) * scale <= _HIGH), _SCALES[-1])
    wide, base = (WIDTH - _LEFT - _RIGHT) / last, TOP - _BELOW_WORDS - (high - low) * times
    words(ax, *_how_to(knife, times))

    def at(angle, gap):
        return _LEFT + angle * wide, base + (gap - low) * times

    _grid(ax, at, (0, last), (low, high), wide, times, page)
    if any(ball.bar == knife.balls[0].bar for ball in knife.balls[1:]):
        _second_scale(ax, at, knife, (last, low, high), times)
    _marks(ax, at, marks, base - 14)


def _how_to(knife, times):
    shared = " Ball 2 has its own ruler on the right: the same bar angle, seen at its own hinge distance." if len(knife.balls) > 1 else ""
    several = "The curve on top is the one that the bar follows; where the two cross, one ball gives the bar to the other." if shared else ""
    lines = [
        f"Put in the gap that you read off the strips at each blade angle, and draw a line through the points. Upwards {times:g} : 1.",
        f"Left: gap at ball 1.{shared}",
        several,
        "The crosses are what the sums predict for parts as the strips show them, with no rim that takes the bar along sideways.",
        "If your line misses one, measure again before you believe either.",
    ]
    return [line for line in lines if line]


def _step(size, least):
    """The smallest round step that takes at least so many mm on paper; size: mm on paper per unit."""
    return next((step for step in _STEPS if step * size >= least), _STEPS[-1])


def _grid(ax, at, angles, gaps, wide, times, page):
    """Fine and strong lines, both rulers with their numbers."""
    for across, (first, last), size in ((True, angles, wide), (False, gaps, times)):
        fine, strong = _step(size, 2.0), _step(size, 10.0)
        for step, width, colour in ((fine, 0.3, "#b5b5b5"), (strong, 0.8, GREY)):
            for k in range(math.ceil(first / step - 1e-9), math.floor(last / step + 1e-9) + 1):
                value = k * step
                ends = [at(value, gap) for gap in gaps] if across else [at(angle, value) for angle in angles]
                name = f"{'angle' if across else 'gap'}-{page}-{value:.4g}" if step == strong else None
                ax.plot(*zip(*ends, strict=True), color=colour, lw=width, gid=name)
                if step == strong:
                    x, y = ends[0]
                    ax.text(
                        *((x, y - 2) if across else (x - 2, y)),
                        f"{value:.4g}",
                        size=SMALL,
                        ha="center" if across else "right",
                        va="top" if across else "center",
                    )
    x, y = at(angles[1] / 2, gaps[0])
    ax.text(x, y - 8, "blade angle, °", size=SMALL, ha="center", va="center")
    x, y = at(0, sum(gaps) / 2)
    ax.text(x - 13, y, "gap at ball 1, mm", size=SMALL, rotation=90, ha="center", va="center", color=BALLS[0])


def _second_scale(ax, at, knife, place, times):
    """The ruler of ball 2 on the right: its own gap, at the height that it asks for at ball 1."""
    last, low, high = place
    other = next(i for i, ball in enumerate(knife.balls) if i and ball.bar == knife.balls[0].bar)
    step = _step(times, 10.0)
    for k in range(-1000, 1000):
        height = float(seen_at_first(knife, other, k * step))
        if low <= height <= high:
            x, y = at(last, height)
            ax.plot([x, x + 2], [y, y], color=INK, lw=0.8, gid=f"second-{k * step:.4g}")
            ax.text(x + 3, y, f"{k * step:.4g}", size=SMALL, va="center")
    x, y = at(last, (low + high) / 2)
    ax.text(x + 15, y, f"gap at ball {other + 1}, mm", size=SMALL, rotation=90, ha="center", va="center", color=BALLS[other % 3])


def _marks(ax, at, marks, top):
    """Numbered crosses where contact and handover are predicted, and what each is."""
    for k, (angle, gap, said) in enumerate(marks, 1):
        x, y = at(angle, gap)
        ax.plot([x - 2, x + 2], [y - 2, y + 2], color=INK, lw=1.2, gid=f"mark-{k}")
        ax.plot([x - 2, x + 2], [y + 2, y - 2], color=INK, lw=1.2)
        ax.text(x + 3, y - 2.5, str(k), size=SMALL, weight="bold", va="center")
        ax.text(WIDE, top - 4.6 * k, f"{k}   {said}, gap at ball 1 {gap:.3f} mm", size=SMALL, va="center")
