"""The track map: the tang on its face, to scale, with what each ball does to it on the way round; prints true to
size.
"""

import textwrap
from pathlib import Path

from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import FancyArrowPatch

from ..draw.drawing import BALLS, GREY, INK, SMALL, STYLES, TEXT, pixels_of
from ..draw.panel import still_of
from ..draw.plan import BEARING, around, bare, svg_figure, svg_text
from ..draw.tang_face import TangFace, bearing_of, draw_balls, on_tang, recess_middle, tang_radius
from ..files.writing import write_file
from ..knife.given import given_number
from ..knife.parts import Knife
from ..knife.plain import in_picture
from ..knife.units import both
from ..mechanics.carry import bearing
from ..mechanics.swing import leavings, loads_in, swing
from ..say.measure import MM

SCALE = 6.0  # fits A4 and Letter, upright
_SCALES = (1.0, 40.0)  # smaller its words run into each other, larger no wall holds it
_INCH = 25.4
_ROW, _BESIDE, _WORDS = 4.6, 30.0, 178.0  # mm on paper: a row of words, room beside the tang, width of the words
_BAR = 5.0  # mm of the tang, length of the scale bar


class TrackMap:
    """The track map of one Knife, to look at in a notebook or to print.

    scale: mm on paper per mm of the tang. words: what touches where, a sentence each. svg: the drawing as text.
    """

    def __init__(self, knife, scale=SCALE):
        """Follow the knife through its swing; KnifeError for one that cannot work."""
        scale = given_number("scale", scale, "size on paper over true size", ends=_SCALES)
        self.knife, self.scale, self._swing = knife, scale, swing(knife)
        self.words = (*_told(self._swing), *_notes(knife, self._swing))
        self.svg = svg_text(self.figure(), f"Track map of {knife.title}", " ".join(self.words))

    def __repr__(self):
        return f"<Track map: {self.knife.title}, {self.scale:g} times the size>"

    def _repr_mimebundle_(self, **kwargs):
        """A still for a notebook, without the words, which `words` has and which are its alternative text."""
        still = still_of(pixels_of(self.figure(worded=False)))
        return {"text/plain": repr(self), **still}, {"image/png": {"alt": " ".join(self.words)}}

    def save(self, path: str | Path, replace: bool = False) -> None:
        """Write the SVG to a file; KnifeError like `write_file`, also for a file that is there, unless replace is
        True.
        """
        write_file(path, self.svg, ".svg", replace=replace)

    def figure(self, worded: bool = True) -> Figure:
        """The drawing on a page just large enough for it; worded: with what touches where below."""
        knife, scale, top = self.knife, self.scale, tang_radius(self.knife)
        rows = [
            line
            for said in (self.words if worded else ())
            for line in textwrap.wrap(said, 104, subsequent_indent="      ")
        ]
        left, low, high = -1.36 * top, -0.62 * top, 1.1 * top
        right = max(1.08 * top + _BESIDE / scale, left + _WORDS / scale)
        width, drawn, below = (right - left) * scale, (high - low) * scale, (len(rows) + 5.6) * _ROW
        figure = svg_figure(width / _INCH, (drawn + below) / _INCH)
        ax = figure.add_axes((0, below / (drawn + below), 1, drawn / (drawn + below)))
        bare(ax, (left, right), (low, high))
        TangFace(ax, len(knife.balls)).draw(knife, self._swing)
        draw_balls(ax, knife, filled=False)
        _name_places(ax, knife, scale)
        self._legend(figure, width, drawn + below, rows)
        _scale_bar(ax, left + 4 / scale, low + 10 / scale, scale)
        return figure

    def _legend(self, figure, width, height, rows):
        """Keys, words and how to read them, under the drawing; in mm on paper."""

        def at(x, row):
            return x / width, ((len(rows) + 5.2 - row) * _ROW) / height

        figure.text(
            *at(4, 0),
            f"{in_picture(self.knife.title)}: track map, {self.scale:g} times the size",
            size=TEXT,
            weight="bold",
            va="center",
        )
        x = 4
        for said, style, line in (("rides with load", STYLES[0], 4.0), ("passes over", STYLES[2], 1.1)):
            y = at(0, 1)[1]
            figure.add_artist(
                Line2D([x / width, (x + 10) / width], [y, y], color=INK, ls=style, lw=line, solid_capstyle="butt")
            )
            figure.text(*at(x + 12, 1), said, size=SMALL, va="center")
            x += 45
        figure.text(
            *at(4, 2), "black on a rim: works;   × run-off;   dotted ring: ball at rest", size=SMALL, va="center"
        )
        for i, said in enumerate(rows):
            figure.text(*at(4, 3.2 + i), said, size=SMALL, va="center")
        made_up = (
            "Seen from the lock bar, knife shut. True: pivot, tracks, recesses, run-offs. The rest of the outline is"
            " made up."
        )
        figure.text(*at(4, len(rows) + 3.6), made_up, size=SMALL, color=GREY, va="center")


def track_map(knife: Knife, path: str | Path | None = None, scale: float = SCALE, replace: bool = False) -> TrackMap:
    """The track map of one Knife, written as an SVG that prints true to size where a path is given.

    It shows the tang on its face with recesses, the arcs that the balls ride and pass, the rims that work, and where
    the tracks end; below stands what touches where, with the load. scale: mm on paper per mm of the tang. Where the
    card has no bearing, a ball stands at a made-up place, and that is said. replace: True writes it over a file that is
    there. Returns a TrackMap; raises KnifeError for a knife that cannot work, and like `write_file`.

    >>> from detentlib.files.demo import demo
    >>> track_map(demo("pellowfen-a")).words[1]
    '4.03° to 168.05°: ball 1 on the flat, 17.04 N'
    """
    drawn = TrackMap(knife, scale)
    if path is not None:
        drawn.save(path, replace)
    return drawn


def _told(swung):
    """What touches where, a sentence for each Stretch of the swing."""
    lines = []
    for stretch in swung.stretches:
        said = f"{stretch.from_deg:.2f}° to {stretch.to_deg:.2f}°: {stretch.touching}"
        if stretch.carrier >= 0 and not stretch.shared:
            low, high = (MM.short(load, "N") for load in loads_in(swung, stretch))
            said += f", {low}" if low == high else f", {low} to {high}"
        lines.append(said)
    return lines


def _notes(knife, swung):
    """What a person would look for on the tang, in words."""
    for gone in leavings(knife, swung):
        yield f"Ball {gone.ball + 1} reaches the edge at {gone.angle_deg:.2f}°."
        past, lower = both(gone.past, "mm"), both(gone.drop, "mm")
        yield f"{past} past it, at {gone.until_deg:.2f}°, {gone.then}, lower by {lower}."
    for each in swung.crossings:
        yield f"False detent: {each.touching} in mid-swing, {each.from_deg:.2f}° to {each.to_deg:.2f}°."
    unknown = [str(i + 1) for i in range(len(knife.balls)) if bearing(knife, i) is None]
    if unknown:
        yield f"Bearing of ball {' and '.join(unknown)} not on the card: its place round the pivot is made up."
    endless = [str(i + 1) for i, ball in enumerate(knife.balls) if ball.run_off_deg is None]
    if endless:
        yield (
            f"Run-off of ball {' and '.join(endless)} not on the card: its track is drawn to the open blade, on the"
            " tang or not."
        )


def _name_places(ax, knife, scale):
    """Names beside the drawing, clear of it: run-offs to the right, the blade, the way the balls go."""
    top, named = tang_radius(knife), []
    for i, ball in enumerate(knife.balls):
        if ball.run_off_deg is None:
            continue
        x, y = on_tang(knife, i, ball.run_off_deg)
        named.append((y, x, f"run-off {i + 1}, {ball.run_off_deg:.1f}°", BALLS[i % 3]))
    free = 1.0
    for y, x, said, colour in sorted(named, reverse=True):
        free = min(free - 5.5 / scale, y)
        ax.annotate(
            said,
            (x, y),
            (1.08 * top, free),
            size=SMALL,
            color=colour,
            va="center",
            arrowprops={"arrowstyle": "-", "color": GREY, "lw": 0.7},
        )
    for i in range(len(knife.balls)):
        x, y = recess_middle(knife, i)
        where = around(top + 4.5 / scale, bearing_of(knife, i))
        line = {"arrowstyle": "-", "color": GREY, "lw": 0.7}
        ax.annotate(
            f"recess {i + 1} ", (x, y), where, size=SMALL, color=BALLS[i % 3], ha="right", va="center", arrowprops=line
        )
    ax.text(-1.2 * top, 0.02 * top, "blade", size=SMALL, color=GREY, va="center")
    ends = [around(0.52 * top, BEARING - turn) for turn in (0.45, 1.75)]
    ax.add_patch(
        FancyArrowPatch(*ends, arrowstyle="-|>", mutation_scale=11, connectionstyle="arc3,rad=-0.3", color=INK, lw=1.2)
    )
    ax.text(*around(0.34 * top, BEARING - 1.1), "balls, opening", size=SMALL, ha="center", va="center")


def _scale_bar(ax, x, y, scale):
    ax.plot([x, x + _BAR], [y, y], color=INK, lw=2.5, solid_capstyle="butt", gid="scale-bar")
    ax.text(x, y - 4 / scale, f"{_BAR:g} mm of the tang; {_BAR * scale:g} mm on paper", size=SMALL, va="center")
