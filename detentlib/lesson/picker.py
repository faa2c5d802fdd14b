"""The photo picker: points along an edge, marked with a crosshair by sliders, keys or numbers; circles through them."""

import math

import ipywidgets as widgets
import numpy as np
from ipywidgets import Layout

from ..draw.card import Card, alert, button, spoken
from ..draw.controls import Control, Num
from ..draw.photo_view import Ground, lens, view
from ..knife.units import both
from ..measure.photo import Circle, against_ball, fit_circle, scale_from
from ..measure.readings import PIXEL, ReadingError, Readings
from ..measure.value import Value

GROUPS = {"rim": "rim of the recess", "ball": "edge of the ball", "scale": "two marks of the scale"}
_PICKED = 1.0  # px, ± of one mark of the scale


class PhotoPicker(Card):
    """Points on a photo, the circles through them, and the scale.

    points: {"rim": [(x, y)], "ball": [...], "scale": [...]} in px of the file, y downwards. `readings(group)` and
    `circle(group)` give what the library takes, `scale` the mm in one px. `answer` holds the line of words.
    """

    def __init__(self, photo=None, rim=None, ball=None, scale=(), distance=None):
        """photo: path of a PNG or JPG, None for plain ground. rim, ball: Readings of photo points to start with.

        scale: two points (x, y), and the distance between them [mm]. ReadingError for a photo or points of no use.
        """
        given = {"rim": _pairs(rim), "ball": _pairs(ball), "scale": [tuple(map(float, place)) for place in scale]}
        reach = [max((place[side] for placed in given.values() for place in placed), default=0.0) for side in (0, 1)]
        self.ground = Ground(photo, (max(960, math.ceil(1.1 * reach[0])), max(800, math.ceil(1.1 * reach[1]))))
        self.points = given
        super().__init__([self._laid_out(distance)], layout=Layout(max_width="1110px"))
        self.add_class("detent-panel")
        self._show()

    def __repr__(self):
        counts = ", ".join(
            f"{len(placed)} points on the {GROUPS[group]}" for group, placed in self.points.items() if group != "scale"
        )
        return f"<Photo picker: {counts}>"

    @property
    def group(self):
        """Name of the edge that the next point belongs to."""
        return self.edge.value

    def choose(self, group):
        """Say what the next points lie on: "rim", "ball" or "scale"."""
        self.edge.value = group

    def add(self, x=None, y=None):
        """Put a point where the crosshair stands, or at x, y [px]; a third mark of the scale replaces the first."""
        place = (self.across.value if x is None else float(x), self.down.value if y is None else float(y))
        if not all(map(math.isfinite, place)):
            raise ReadingError(
                f"a point at {place[0]}, {place[1]} cannot be. Give two plain numbers of pixels", "photo picker"
            )
        self.points[self.group].append(place)
        if self.group == "scale":
            self.points["scale"] = self.points["scale"][-2:]
        self._show()

    def remove(self):
        """Take the last point of this edge away."""
        if self.points[self.group]:
            self.points[self.group].pop()
        self._show()

    def put(self, group, readings):
        """Take points that were pasted or read from a file, in px, in place of those of one edge."""
        self.points[group] = _pairs(readings)
        self._show()

    def readings(self, group="rim"):
        """The points of one edge as Readings of the kind "photo points" [px]; ReadingError where there are none."""
        if not self.points[group]:
            raise ReadingError(
                f"there are no points on the {GROUPS[group]} yet. Move the crosshair on to it and add some",
                "photo picker",
            )
        x, y = np.array(self.points[group]).T
        return Readings("photo points", {"x": x, "y": y}, {"x": PIXEL, "y": PIXEL}, f"points on the {GROUPS[group]}")

    @property
    def scale(self):
        """Mm in one px, a Value; None before two marks and their distance are there."""
        if len(self.points["scale"]) < 2 or self.distance.value <= 0:
            return None
        return scale_from(*self.points["scale"], self.distance.value, picked=_PICKED)

    def circle(self, group="rim"):
        """The Circle through the points of one edge, in mm where there is a scale, else in px; ReadingError too."""
        scale = self.scale
        return fit_circle(
            self.readings(group), self.method.value, scale.value if scale else 1.0, "mm" if scale else PIXEL
        )

    def offset(self, track_direction=(1, 0)):
        """Where the recess lies against the ball, from both circles: an Offset, as of `against_ball`."""
        return against_ball(self.circle("rim"), self.circle("ball"), track_direction)

    def _laid_out(self, distance):
        wide = {"layout": Layout(width="310px"), "style": {"description_width": "90px"}}
        edges = [(words, group) for group, words in GROUPS.items()]
        ways = [("distances (geometric)", "geometric"), ("squares (algebraic)", "algebraic")]
        laid = "How the circle is laid through the points"
        self.edge = widgets.Dropdown(options=edges, description="Points on", tooltip="What points lie on", **wide)
        self.method = widgets.Dropdown(options=ways, description="Circle by", tooltip=laid, **wide)
        width, height = self.ground.width, self.ground.height
        x, y = next((placed[0] for placed in self.points.values() if placed), (width / 2, height / 2))
        self.across = Num(Control("x", "Crosshair across, px", 0.0, float(width), 1.0), round(x), "", self._show)
        self.down = Num(Control("y", "Crosshair down, px", 0.0, float(height), 1.0), round(y), "", self._show)
        self.distance = widgets.BoundedFloatText(
            distance or 0.0,
            min=0.0,
            max=1000.0,
            description="Scale marks apart, mm",
            tooltip="Distance between the two marks; 0: not known",
            style={"description_width": "196px"},
            layout=Layout(width="310px"),
        )
        for choice in (self.edge, self.method, self.distance):
            choice.observe(lambda change: self._show(), "value")
        self.buttons = {
            "add": button("Add point", "Put a point where the crosshair stands", self.add, width="150px"),
            "remove": button("Remove last point", "Take the last point of this edge away", self.remove, width="150px"),
        }
        buttons = widgets.HBox(list(self.buttons.values()), layout=Layout(margin="0 0 6px 0"))
        self.magnifier = widgets.HTML(layout=Layout(margin="4px 0 0 8px"))
        self.line = widgets.HTML(layout=Layout(min_height="84px", margin="0"))
        self.image = widgets.HTML(layout=Layout(margin="0"))
        left = [self.edge, self.across, self.down, buttons, self.magnifier, self.method, self.distance]
        columns = [
            widgets.VBox(left, layout=Layout(flex="0 0 322px", padding="4px 8px 0 0", overflow="hidden")),
            widgets.VBox([self.line, self.image], layout=Layout(flex="1 1 480px", min_width="0")),
        ]
        return widgets.HBox(columns, layout=Layout(width="100%", flex_flow="row wrap"))

    def _show(self):
        """Fit, draw, say: the one way from the points to what is seen."""
        sentences, warnings, circles = [], [], {}
        for group in ("rim", "ball"):
            sentence, warning, circle = self._seen(group)
            sentences.append(sentence)
            warnings += [warning] if warning else []
            if circle:
                circles[group] = circle
        if self.scale:
            sentences.append(f"Scale: {1 / self.scale.value:.1f} px in a millimetre.")
        else:
            sentences.append("No scale yet: mark two points of known distance, and everything comes in mm.")
        self.answer = " ".join([*sentences, *warnings])
        calm = spoken(" ".join(sentences), "font-size:14px;line-height:1.45;max-width:770px")
        self.line.value = calm + "".join(map(alert, warnings))
        cross, ground = (self.across.value, self.down.value), self.ground
        size = f"{'Photo' if ground.path else 'Plain ground'}, {ground.width} by {ground.height} pixels"
        alt = f"{size}, with the points and circles. {self.answer}"
        self.image.value = view(ground, self.points, circles, cross, alt)
        self.magnifier.value = lens(ground, self.points, circles, cross)

    def _seen(self, group: str) -> tuple[str, str, tuple | None]:
        """(what the points of one edge give, a warning, circle in px of the file or None)."""
        count, name = len(self.points[group]), GROUPS[group].capitalize()
        if not count:
            return f"{name}: no points yet.", "", None
        if count < 3:
            return f"{name}: {count} of at least 3 points.", "", None
        try:
            circle = self.circle(group)
        except ReadingError as error:
            return f"{name}: {count} points.", f"{name}: {error.problems[0]}.", None
        pixel = self.scale.value if self.scale else 1.0
        x, y, radius = (size.value / pixel for size in (circle.x, circle.y, circle.radius))
        wide = (
            f"{name}: {count} points over {circle.arc_deg:.0f}°, diameter {_written(self.sure(circle), circle.unit)}."
        )
        warning = f"{name}: {circle.warning}." if circle.warning else ""
        return f"{wide} Centre at {x:.1f}, {y:.1f} px.", warning, (x, y, radius)

    def sure(self, circle: Circle) -> Value:
        """Diameter of a circle with the ± of the scale in it."""
        value, doubt = circle.diameter
        scale = self.scale
        return Value(value, math.hypot(doubt, value * scale.doubt / scale.value) if scale else doubt)


def photo_picker(photo=None, rim=None, ball=None, scale=(), distance=None):
    """A PhotoPicker on a photo or on plain ground; see there."""
    return PhotoPicker(photo, rim, ball, scale, distance)


def _written(value: Value, unit: str) -> str:
    if unit == PIXEL:
        return f"{value.value:.1f} ± {value.doubt:.1f} px" if value.doubt else f"{value.value:.1f} px"
    return both(value.value, unit, value.doubt or None)


def _pairs(readings):
    """Points as a list of (x, y); none for None."""
    if readings is None:
        return []
    if readings.kind != "photo points":
        raise ReadingError(
            f"holds readings of the kind {readings.kind!r}, where photo points are wanted", readings.source
        )
    if readings.units["x"] != PIXEL:
        raise ReadingError(
            "has points in mm. On a photo they are counted in px: name the columns x [px], y [px]", readings.source
        )
    return list(zip(readings["x"].tolist(), readings["y"].tolist(), strict=True))
