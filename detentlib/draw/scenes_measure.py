"""The picture of the panel of notebook 07: a lift trace with the lift curve of a card laid over it, and what is left
between them.

`against_trace(knife)` gives a Panel ready to show.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from ..files.demo import NOTEBOOKS
from ..knife.parts import Knife
from ..measure.fit import UNEXPLAINED
from ..measure.least import Least
from ..measure.models import NOISE, models_of
from ..measure.readings import ReadingError, Readings, read_readings
from ..mechanics import limits
from ..say.measure import Measure
from .controls import Control, Dropdown, Setting
from .drawing import BALLS, CONE, GREY, INK, STYLES, Curve, caption
from .panel import Panel
from .scene import Picture, made_of, one_below_the_other
from .story import Story
from .words import Number, Words, first_up

TRACE = "trace"
READINGS = NOTEBOOKS / "readings"
BORE, REST = "balls[0].recess.diameter", "balls[0].recess.rest_offset"
SECOND = {
    "balls[1].recess.diameter": "recess diameter",
    "balls[1].recess.rest_offset": "rest offset",
    "balls[1].protrusion": "protrusion",
}
_SPAN = 6.5  # deg
_CALIPERS = 1.25  # mm, what calipers say of a recess whose rim their jaws cannot reach


def demo_readings(name: str) -> Readings:
    """Readings of the workbook by their file name, such as "lift-trace-a"."""
    return read_readings(READINGS / f"{name}.csv")


class Compared(NamedTuple):
    """A trace against a curve, both zeros put where they fit best.

    angle [n] deg; lift, and apart from the curve [n] mm; ± of a reading [n] mm; off: by how much the protractor shows
    too much [deg]; chance that readings of this curve lie so far off it by their errors alone.
    """

    angle: np.ndarray
    lift: np.ndarray
    apart: np.ndarray
    doubt: np.ndarray
    off: float
    chance: float

    @property
    def times(self) -> float:
        """How far the readings lie off the curve, as a multiple of what they scatter by themselves."""
        return float(np.sqrt(np.mean((2 * self.apart / self.doubt) ** 2)))


def compared(knife: Knife, trace: Readings) -> Compared:
    """The readings of a lift trace below 6.5° against the lift curve of a Knife: a Compared.

    The zero of the indicator does not matter, and that of the protractor may be off as far as is usual. Each reading is
    held against the mean of the curve over all places where the blade may have stood; its ± is that of the indicator
    and that of these places. On the stop the angle is sure. Raises KnifeError for a knife that cannot work.
    """
    limits.check(knife)
    angle = trace["angle"][near := trace["angle"] < _SPAN]
    columns = {name: column[near] for name, column in trace.columns.items()}
    (model,) = models_of([replace(trace, columns=columns)], NOISE, 0.0, 1.0)
    read, (size, sure) = model.seen(knife), np.array([[own.size, own.doubt / 1.96] for own in model.own.values()]).T

    def reads(table):
        return read(dict(zip(model.own, table.T, strict=True)))

    least = Least(model.values, reads, size, (0 * size, sure), model.when)
    start = [0.0, np.mean(model.values - least.seen(np.zeros((1, 2))).mean)]
    # a picture: far from any card that explains the readings, no better fit is worth the wait
    fit = least.fit(start, rough=True)
    off, level = fit.found
    turned = np.where(angle == 0, 0.0, np.maximum(angle - off, 0.0))
    apart = model.values - fit.seen.mean
    return Compared(turned, model.values - level, apart, 2 * fit.seen.wide, float(off), fit.explained)


class AgainstTrace(Picture):
    """The section of each ball at rest, the trace with the curve on it, and below it what is left."""

    title = "a trace and a card"

    def __init__(self, knife: Knife, traces: Mapping[str, Readings]):
        """knife: to start from. traces: {name: Readings of a lift trace}."""
        super().__init__()
        self._traces = traces
        radius = max(ball.radius for ball in knife.balls)
        newton = Story(knife, _SPAN).newton(radius)
        self._sections = one_below_the_other(self.figure, min(len(knife.balls), 2), radius, newton)
        self.scale_bars = self._sections[-1].scale_bars
        self._place_trace(knife)
        self._place_apart()
        self.moving = [artist for section in self._sections for artist in section.artists]
        self.moving += [self._points, *self._curve.artists, self._band, self._left, self.note]

    def show(self, knife: Knife, extras: Setting, measure: Measure) -> Words:
        """Compare, then draw."""
        name = extras.get(TRACE) or next(iter(self._traces))
        found = compared(knife, self._traces[name])
        story = Story(knife, _SPAN)
        words = self._words(knife, story, found, name, measure)
        for i, section in enumerate(self._sections):
            section.draw(story.seat(i), "opening", measure)
        self._points.set_data(found.angle, found.lift)
        self._curve.draw(story.run.angle_deg, story.run.gap)
        order = np.argsort(found.angle, kind="stable")
        angle, doubt = found.angle[order], found.doubt[order]
        self._band.set_xy(np.column_stack([[*angle, *angle[::-1]], [*doubt, *-doubt[::-1]]]))
        low, high = self._apart.get_ylim()
        # what lies beyond the plot is shown at its edge, and counted in full
        self._left.set_data(found.angle, np.clip(found.apart, low, high))
        return words

    def _place(self, place, limits, across, up):
        ax = self.plot(place, (0, _SPAN, *limits), across, up)
        ax.yaxis.set_label_coords(-0.19, 0.5)
        return ax

    def _place_trace(self, knife):
        found = [compared(knife, trace) for trace in self._traces.values()]
        low, high = min(each.lift.min() for each in found), max(each.lift.max() for each in found)
        pad = 0.3 * (high - low)
        ax = self._place((0.6, 0.44, 0.385, 0.53), (low - pad, high + pad), ("", "", 5), ("lift at ball 1", "mm", 5))
        (self._points,) = ax.plot([], [], "o", ms=3, mfc="none", mec=BALLS[1], mew=0.8)
        self._curve = Curve(ax, "curve of this card", BALLS[0], STYLES[0], True)
        self.curves = [self._curve]
        caption(ax, 0.98, 0.06, "rings: readings", BALLS[1], "right", transform=ax.transAxes)
        self.note = caption(ax, 0.98, 0.16, "", GREY, "right", transform=ax.transAxes)

    def _place_apart(self):
        across, up = ("blade angle", "deg", 5), ("left over", "mm", 4)
        ax = self._apart = self._place((0.6, 0.12, 0.385, 0.24), (-0.08, 0.08), across, up)
        self._band = ax.fill([0, 1, 1], [0, 0, 1], fc=CONE, ec="none", alpha=0.6)[0]
        ax.axhline(0, color=GREY, lw=0.8)
        (self._left,) = ax.plot([], [], "o", ms=3, mfc="none", mec=BALLS[1], mew=0.8)
        caption(ax, 0.98, 0.06, "band: ± of one reading", INK, "right", transform=ax.transAxes)

    def _words(self, knife, story, found, name, measure):
        felt, carrier = story.feel, story.feel.rest_carrier
        angle = measure.short(felt.contact_deg[carrier], "deg")
        rim = f"rim gap {measure.say(felt.rim_gap[carrier], 'mm')}, contact angle {angle}"
        who = f"ball {carrier + 1}: " if len(knife.balls) > 1 else ""
        spread = float(np.sqrt(np.mean(found.apart**2)))
        explains = "does not explain" if found.chance < UNEXPLAINED else "explains"
        verdict = f"That is {found.times:.2f} times what they scatter by themselves: this card {explains} them."
        which = f"Trace {name}" if len(self._traces) > 1 else "Trace"
        zero = f"the zero of the protractor put right by {measure.short(found.off, 'deg')}"
        rest = f"{who}{rim}. {which}: {len(found.angle)} readings, {zero}."
        number = Number("The readings lie off the curve by", spread, "mm")
        seen = (
            "Section to scale of each ball at rest; beside it the readings of the lift trace as rings with the lift"
            f" curve of the card through them, from 0° to {_SPAN:g}°; below, reading less curve with the ± of one"
            " reading as a band."
        )
        return Words(number, verdict, first_up(rest), seen)


def against_trace(knife: Knife, traces: Readings | dict[str, Readings] | None = None) -> Panel:
    """Panel of notebook 07: recess diameter and rest offset of a card (and of ball 2 what matters) against lift traces.

    traces: Readings of a lift trace, or {name: Readings} to choose from; by default those of the three Pellowfens A to
    C. Raises ReadingError for readings of another kind.
    """
    if traces is None:
        traces = {letter.upper(): demo_readings(f"lift-trace-{letter}") for letter in "abc"}
    if not isinstance(traces, dict):
        traces = {"readings": traces}
    for each in traces.values():
        if each.kind != "lift trace":
            raise ReadingError(f"holds readings of the kind {each.kind!r}, where a lift trace is wanted", each.source)
    ball = knife.balls[0]
    controls = [_around(knife, BORE, "Recess diameter", 0.2, ball.diameter), _around(knife, REST, "Rest offset", 0.15)]
    if len(knife.balls) > 1:
        most = knife.balls[1].diameter
        controls += [_around(knife, path, f"Ball 2: {words}", 0.12, most) for path, words in SECOND.items()]
    choice = Dropdown(TRACE, "Trace of", tuple(traces)) if len(traces) > 1 else None
    tries = {name: setting for name, setting in _tries(knife).items() if made_of(knife, controls, setting)}
    return Panel(knife, controls, AgainstTrace(knife, traces), tries, choice)


def _around(knife, path, label, reach, most=math.inf):
    """A control about the knife's own value; most: what it must stay below."""
    value = knife.get(path)
    return Control(path, label, round(value - reach, 3), max(round(min(value + reach, most), 3), value), 0.001)


def _tries(knife):
    bore, rest = knife.get(BORE), knife.get(REST)
    return {
        "recess by calipers, 1.25 mm": {BORE: _CALIPERS},
        "recess 4 thou larger": {BORE: bore + 0.1016},
        "4 thou larger, stop 2 thou on": {BORE: bore + 0.1016, REST: rest + 0.0508},
    }
