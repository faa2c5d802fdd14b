"""Recess and ball from a photo laid over each other: both circles to scale, and their centres larger with their ±."""

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from ..knife.plain import true_minus
from ..knife.units import both
from ..measure import photo
from ..measure.readings import ReadingError
from ..say.measure import MM
from .drawing import BALLS, GREY, INK, STYLES, TEXT, caption, pixels_of, scale_bar
from .panel import still_of
from .plan import bare, dimension

_SIDE = 4.1  # in


class LaidOver:
    """Two Circles of one photo, in mm, and what they say of the recess against its ball.

    offset: the Offset, as of `against_ball`; words: a sentence each.
    """

    def __init__(self, rim: photo.Circle, ball: photo.Circle, track_direction: tuple[float, float] = (1, 0)):
        """track_direction: (x, y) on the photo, from the ball towards the working rim. ReadingError without a scale."""
        if "mm" not in (rim.unit, ball.unit) or rim.unit != ball.unit:
            wrong = "has no scale: mark two points of known distance first, so that the circles come in mm"
            raise ReadingError(wrong, "photo")
        self.rim, self.ball = rim, ball
        self.offset = photo.against_ball(rim, ball, track_direction)
        self._along = np.asarray(track_direction, float) / np.linalg.norm(track_direction)
        self.words = tuple(self._told())

    def __repr__(self):
        return "<Recess and ball laid over each other>"

    def _repr_mimebundle_(self, **kwargs):
        seen = f"Recess and ball laid over each other, to scale. {'. '.join(self.words)}."
        return {"text/plain": repr(self), **still_of(pixels_of(self.figure()))}, {"image/png": {"alt": seen}}

    def _told(self):
        for name, circle in (("recess", self.rim), ("ball", self.ball)):
            points = f"{circle.points} points over {circle.arc_deg:.0f}°"
            told = f"{name}: diameter {both(circle.diameter.value, 'mm', circle.diameter.doubt)}, {points}"
            yield f"{told}; beware: {circle.warning}" if circle.warning else told
        for name, value in (("rest offset", self.offset.rest_offset), ("off-track error", self.offset.off_track)):
            none = "; nothing beyond its ±" if abs(value.value) < value.doubt else ""
            yield f"{name}: {both(value.value, 'mm', value.doubt)}{none}"

    def figure(self) -> Figure:
        """The drawing: both circles to scale on the left, the centres on the right."""
        figure = Figure(figsize=(7.7, _SIDE), dpi=100, facecolor="white")
        whole, near = figure.add_axes((0.005, 0.01, 0.52, 0.98)), figure.add_axes((0.545, 0.01, 0.45, 0.98))
        middle, radius = (
            np.array([self.rim.x.value, self.rim.y.value]),
            max(self.rim.radius.value, self.ball.radius.value),
        )
        bare(whole, middle[0] + radius * np.array([-1.35, 1.35]), middle[1] + radius * np.array([1.32, -1.32]))
        for circle, name, _, look, turn in self._looks():
            whole.add_patch(
                Circle(
                    (circle.x.value, circle.y.value),
                    circle.radius.value,
                    fc="none",
                    ec=BALLS[look],
                    ls=STYLES[look],
                    lw=2,
                )
            )
            out = circle.radius.value * np.array([np.cos(turn), np.sin(turn)])
            edge = np.array([circle.x.value, circle.y.value]) + out
            said = f"{name}\n{MM.short(circle.diameter.value, 'mm')}"
            place = middle + (0.62 if look == 0 else 1.09) * (edge - middle)
            caption(whole, *place, said, BALLS[look], "center" if look == 0 else "left", "center")
        _track(whole, middle, self._along, 0.42 * radius)
        scale_bar(whole, middle[0] - 1.3 * radius, middle[1] + 1.25 * radius, 0.5, "0.5 mm", 0.04)
        self._centres(near, middle)
        return figure

    def _looks(self):
        """(circle, its name, what it is the edge of, look, where its name stands [rad])."""
        return (
            (self.rim, "rim of the recess", "recess", 0, np.radians(-100.0)),
            (self.ball, "edge of the ball", "ball", 1, np.radians(-52.0)),
        )

    def _centres(self, ax, middle):
        across = np.array([-self._along[1], self._along[0]])
        from_rim = np.array([self.ball.x.value, self.ball.y.value]) - middle
        ball = np.array([self._along @ from_rim, across @ from_rim])
        reach = max(0.9 * float(np.abs(ball).max()), 0.02)
        middle_x = ball[0] / 2
        bare(ax, (middle_x - 1.05 * reach, middle_x + 1.05 * reach), (1.1 * reach, -1.1 * reach))
        caption(ax, middle_x, -1.02 * reach, "the two centres, larger; boxes: ±", GREY, "center")
        for circle, _, whose, look, _ in self._looks():
            place = np.zeros(2) if look == 0 else ball
            wide = (circle.x.doubt, circle.y.doubt)
            box = {"fc": "none", "ec": BALLS[look], "ls": STYLES[look], "lw": 1.4}
            ax.add_patch(Rectangle(place - wide, 2 * wide[0], 2 * wide[1], **box))
            ax.plot(*place, "o" if look == 0 else "s", ms=5, color=BALLS[look])
            caption(ax, place[0], place[1] - wide[1] - 0.06 * reach, whose, BALLS[look], "center", "bottom")
        low = max(ball[1], 0.0) + max(self.rim.y.doubt, self.ball.y.doubt) + 0.22 * reach
        for x, start in ((0.0, 0.0), (ball[0], ball[1])):
            ax.plot([x, x], [start, low + 0.04 * reach], color=GREY, lw=0.7, ls=":")
        dimension(ax, (0.0, low), (ball[0], low))
        rest, off = self.offset.rest_offset, self.offset.off_track
        for i, (name, value) in enumerate((("rest offset", rest), ("off-track error", off))):
            number = true_minus(f"{value.value:.3f} ± {value.doubt:.3f} mm")
            at = middle_x, low + (0.16 + 0.14 * i) * reach
            caption(ax, *at, f"{name} {number}", ha="center", va="center", size=TEXT)
        scale_bar(ax, middle_x - 1.0 * reach, 1.02 * reach, 0.02, "0.02 mm", 0.04 * reach)


def _track(ax, middle, along, reach):
    start, end = middle - reach * along, middle + reach * along
    ax.annotate("", end, start, arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.1, "shrinkA": 0, "shrinkB": 0})
    said = "along the track, to the working rim"
    caption(ax, middle[0], middle[1] + 0.18 * reach, said, ha="center", va="top", wrap=True)


laid_over = LaidOver
