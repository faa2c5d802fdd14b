"""The photo picker: points along an edge, by click, by key or by number, and the circles through them."""

import base64
import html
import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import ipywidgets as widgets
import numpy as np
import PIL.Image
from ipywidgets import Layout

from ..draw.card import ANSWER, Card, alert, beside, button, menu, spoken
from ..draw.controls import Control, Num
from ..draw.drawing import BALLS, GREY, GRID, INK
from ..draw.laid_over import LaidOver, laid_over
from ..knife.units import both
from ..measure.photo import Circle, fit_circle, scale_from
from ..measure.readings import PIXEL, ReadingError, Readings
from ..measure.value import Value
from ..say.working import tell

Points = Readings | Sequence[tuple[float, float]] | None  # on one edge [px]

_PICKED = 1.0  # px, ± of one mark of the scale
_WIDE, _LENS = 560, 180  # px on the screen: of the whole picture, and of the magnifier
_KEPT = 1000  # px, longest side of the photo as it is shown; points stay in those of the file
_AROUND = 22  # px of the file, half of what the magnifier shows
DEMO_PHOTO, DEMO_MARKS = Path("readings/photo-a.png"), ((80, 744), (880, 744))  # the marks: px, 2 mm apart
_WHOLE, _NEAR = "whole picture", "magnifier"
# a click on a drawing puts its place, in px of the file, into the hidden box of the picker, and so hands it to Python
_CLICK = """const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.getScreenCTM().inverse());
const box = this.closest('.detent-picker').querySelector('.detent-clicked input');
box.value = [this.dataset.view, at.x.toFixed(2), at.y.toFixed(2)].join();
box.dispatchEvent(new Event('change', {bubbles: true}));"""


class Photo(NamedTuple):
    """What a picker starts with: see there."""

    path: Path | str | None
    rim: Readings | list | None
    ball: Readings | list | None
    scale: tuple
    distance: float | None


class Edge(NamedTuple):
    """What points lie on: its words, and how its points and circle look; told apart without colour.

    mark: an SVG path about the point, in its size.
    """

    words: str
    colour: str
    dash: str
    mark: str


GROUPS = {
    "rim": Edge("rim of the recess", BALLS[0], "", "m-1 0a1 1 0 1 0 2 0a1 1 0 1 0 -2 0"),  # a ring
    "ball": Edge("edge of the ball", BALLS[1], "9 5", "m-1 -1h2v2h-2z"),  # a square
    "scale": Edge("two marks of the scale", INK, "2 4", "m-1.6 0h3.2m-1.6 -1.6v3.2"),  # a cross
}


class PhotoPicker(Card):
    """Points on a photo, the circles through them, and the scale.

    points: {"rim": [(x, y)], "ball": [...], "scale": [...]} in px of the file, y downwards. `readings(group)` and
    `circle(group)` give what the library takes, `scale` the mm in one px. `answer` holds the line of words.
    """

    def __init__(
        self,
        photo: str | Path | None = None,
        rim: Points = None,
        ball: Points = None,
        scale: Sequence[tuple[float, float]] = (),
        distance: float | None = None,
        shelf=None,
    ):
        """photo: path of a PNG or JPG, None for plain ground. rim, ball: Readings of photo points to start with.

        scale: two points (x, y), and the distance between them [mm]. shelf: MyReadings, which has the photos to choose
        from and remembers what is picked. ReadingError for a photo or points of no use.
        """
        self._shelf = shelf
        start = Photo(photo, rim, ball, scale, distance)
        photos = shelf.photos() if shelf else {}
        options, tip = [(label, path) for path, label in photos.items()], "A photo of the folder readings"
        look = {"label_width": "90px", "width": "310px", "display": "" if shelf else "none"}
        self.photo = menu("Photo", options, tip, shelf.chosen if shelf else None, **look)
        self.trouble = widgets.HTML()
        self._clicked = widgets.Text(continuous_update=False, layout=Layout(display="none"))
        self._clicked.add_class("detent-clicked")
        self._place = widgets.VBox([])
        super().__init__([self.photo, self.trouble, self._place, self._clicked], layout=Layout(max_width="1110px"))
        self.add_class("detent-panel")
        self.add_class("detent-picker")
        self._start(start)
        self._clicked.observe(lambda change: self._click(change.new), "value")
        self.photo.observe(lambda change: self._choose(change.new), "value")

    def _start(self, photo):
        path, rim, ball, scale, distance = photo
        given = {"rim": pairs(rim), "ball": pairs(ball), "scale": [tuple(map(float, place)) for place in scale]}
        reach = [max((place[side] for placed in given.values() for place in placed), default=0.0) for side in (0, 1)]
        self.ground = Ground(path, (max(960, math.ceil(1.1 * reach[0])), max(800, math.ceil(1.1 * reach[1]))))
        self.points = given
        self._place.children = [self._laid_out(distance)]
        self._show()

    def _choose(self, path):
        """A person chose another photo: what was picked on it before is there again."""
        self.trouble.value = ""
        try:
            self._start(self._shelf.photo(path))
        except ReadingError as error:
            self.trouble.value = alert(str(error))
            return
        self._keep()

    def _click(self, told):
        """A click on the picture puts a point there; one in the magnifier moves the last point of this edge there."""
        view, *place = told.split(",")
        x, y = map(float, place)
        if view == _NEAR and self.points[self.edge.value]:
            self.points[self.edge.value].pop()
        self.across.put(x)
        self.down.put(y)
        self.add(x, y)

    def _keep(self):
        if self._shelf:
            self._shelf.keep_photo(self.photo.value, self.points, self.distance.value)

    def __repr__(self):
        counts = ", ".join(
            f"{len(self.points[group])} points on the {GROUPS[group].words}" for group in ("rim", "ball")
        )
        return f"<Photo picker: {counts}>"

    def add(self, x: float | None = None, y: float | None = None) -> None:
        """Put a point where the crosshair stands, or at x, y [px]; a third mark of the scale replaces the first."""
        place = (self.across.value if x is None else float(x), self.down.value if y is None else float(y))
        if not all(map(math.isfinite, place)):
            wrong = f"a point at {place[0]}, {place[1]} cannot be. Give two plain numbers of pixels"
            raise ReadingError(wrong, "photo picker")
        self.points[self.edge.value].append(place)
        if self.edge.value == "scale":
            self.points["scale"] = self.points["scale"][-2:]
        self._changed()

    def remove(self) -> None:
        """Take the last point of this edge away."""
        if self.points[self.edge.value]:
            self.points[self.edge.value].pop()
        self._changed()

    def put(self, group: str, readings: Points) -> None:
        """Take points that were pasted or read from a file, in px, in place of those of one edge."""
        self.points[group] = pairs(readings)
        self._changed()

    def readings(self, group: str = "rim") -> Readings:
        """The points of one edge as Readings of the kind "photo points" [px]; ReadingError where there are none."""
        if not self.points[group]:
            cure = "Click on it in the picture, or move the crosshair there and add some"
            raise ReadingError(f"there are no points on the {GROUPS[group].words} yet. {cure}", "photo picker")
        x, y = np.array(self.points[group]).T
        units, source = {"x": PIXEL, "y": PIXEL}, f"points on the {GROUPS[group].words}"
        return Readings("photo points", {"x": x, "y": y}, units, source)

    @property
    def scale(self) -> Value | None:
        """Mm in one px, a Value; None before two marks and their distance are there."""
        if len(self.points["scale"]) < 2 or self.distance.value <= 0:
            return None
        return scale_from(*self.points["scale"], self.distance.value, picked=_PICKED)

    def circle(self, group: str = "rim") -> Circle:
        """The Circle through the points of one edge, in mm where there is a scale, else in px; ReadingError too."""
        times, unit = (self.scale.value, "mm") if self.scale else (1.0, PIXEL)
        return fit_circle(self.readings(group), self.method.value, times, unit)

    def lay_over(self) -> LaidOver | None:
        """Recess and ball laid over each other: a LaidOver. Tells its words; None, and why, while it cannot be."""
        shown = self.photo.label if self._shelf else "photo"
        tell(f"Recess and ball on {shown}:")
        try:
            over = laid_over(self.circle("rim"), self.circle("ball"))
        except ReadingError as error:
            tell(str(error))
            return None
        tell(*over.words)
        return over

    def _laid_out(self, distance):
        wide = {"width": "310px", "label_width": "90px"}
        edges = [(edge.words, group) for group, edge in GROUPS.items()]
        ways = [("distances (geometric)", "geometric"), ("squares (algebraic)", "algebraic")]
        laid = "How the circle is laid through the points"
        self.edge = menu("Points on", edges, "What points lie on", **wide)
        self.method = menu("Circle by", ways, laid, **wide)
        width, height = self.ground.width, self.ground.height
        x, y = next((placed[0] for placed in self.points.values() if placed), (width / 2, height / 2))
        across = Control("x", "Crosshair across, px", 0.0, float(width), 1.0, round(x))
        down = Control("y", "Crosshair down, px", 0.0, float(height), 1.0, round(y))
        self.across, self.down = (Num(control, self._show, self._refuse) for control in (across, down))
        self.distance = widgets.BoundedFloatText(
            distance or 0.0,
            min=0.0,
            max=1000.0,
            description="Scale marks apart, mm",
            tooltip="Distance between the two marks; 0: not known",
            style={"description_width": "196px"},
            layout=Layout(width="310px"),
        )
        for choice in (self.edge, self.method):
            choice.observe(lambda change: self._show(), "value")
        self.distance.observe(lambda change: self._changed(), "value")
        self.buttons = {
            "add": button("Add point", "Put a point where the crosshair stands", self.add, width="150px"),
            "remove": button("Remove last point", "Take the last point of this edge away", self.remove, width="150px"),
        }
        buttons = widgets.HBox(list(self.buttons.values()), layout=Layout(margin="0 0 6px 0"))
        self.magnifier = widgets.HTML(layout=Layout(margin="4px 0 0 8px"))
        self.line = widgets.HTML(layout=Layout(min_height="84px", margin="0"))
        self.image = widgets.HTML(layout=Layout(margin="0"))
        left = [self.edge, self.across, self.down, buttons, self.magnifier, self.method, self.distance]
        return beside(left, [self.line, self.image], "322px")

    def _refuse(self, said):
        self.trouble.value = alert(said)

    def _changed(self):
        self._show()
        self._keep()

    def _show(self):
        """Fit, draw, say: the one way from the points to what is seen."""
        self.trouble.value = ""
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
        calm = spoken(" ".join(sentences), ANSWER)
        self.line.value = calm + "".join(map(alert, warnings))
        cross, ground = (self.across.value, self.down.value), self.ground
        size = f"{'Photo' if ground.path else 'Plain ground'}, {ground.width} by {ground.height} pixels"
        alt = f"{size}, with the points and circles. {self.answer}"
        self.image.value = _view(ground, self.points, circles, cross, alt)
        self.magnifier.value = _lens(ground, self.points, circles, cross)

    def _seen(self, group: str) -> tuple[str, str, tuple | None]:
        """(what the points of one edge give, a warning, circle in px of the file or None)."""
        count, name = len(self.points[group]), GROUPS[group].words.capitalize()
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
        diameter = _written(self.sure(circle), circle.unit)
        warning = f"{name}: {circle.warning}." if circle.warning else ""
        wide = f"{name}: {count} points over {circle.arc_deg:.0f}°, diameter {diameter}."
        return f"{wide} Centre at {x:.1f}, {y:.1f} px.", warning, (x, y, radius)

    def sure(self, circle: Circle) -> Value:
        """Diameter of a circle with the ± of the scale in it."""
        value, doubt = circle.diameter
        scale = self.scale
        return Value(value, math.hypot(doubt, value * scale.doubt / scale.value) if scale else doubt)


photo_picker = PhotoPicker


def _written(value: Value, unit: str) -> str:
    if unit == PIXEL:
        return f"{value.value:.1f} ± {value.doubt:.1f} px" if value.doubt else f"{value.value:.1f} px"
    return both(value.value, unit, value.doubt or None)


def pairs(readings: Points) -> list[tuple[float, float]]:
    """Points as a list of (x, y) [px], from Readings or from such a list; none for None. ReadingError for others."""
    if not isinstance(readings, Readings):
        return [tuple(map(float, place)) for place in readings or ()]
    if readings.kind != "photo points":
        wrong = f"holds readings of the kind {readings.kind!r}, where photo points are wanted"
        raise ReadingError(wrong, readings.source)
    if readings.units["x"] != PIXEL:
        wrong = "has points in mm. On a photo they are counted in px: name the columns x [px], y [px]"
        raise ReadingError(wrong, readings.source)
    return list(zip(readings["x"].tolist(), readings["y"].tolist(), strict=True))


class Ground:
    """What points are picked on: a photo from a file, or plain ground of a size [px]."""

    def __init__(self, path=None, size=(960, 800)):
        """path: of a PNG or JPG file; ReadingError for one that cannot be read as a picture."""
        self.path, self._picture, self._shown = path, None, ""
        if path is None:
            self.width, self.height = size
            return
        try:
            with PIL.Image.open(path) as picture:
                self._picture = picture.convert("RGB")
        except OSError:
            found = "cannot be read as a picture" if Path(path).is_file() else "is not there"
            raise ReadingError(f"{found}. Name a PNG or JPG file, such as readings/photo-a.png", str(path)) from None
        self.width, self.height = self._picture.size
        small = self._picture.copy()
        small.thumbnail((_KEPT, _KEPT))
        self._shown = _address(small)

    def svg(self) -> str:
        """The ground as SVG, in px of the file."""
        width, height = self.width, self.height
        if self._shown:
            stretched = f'width="{width}" height="{height}" preserveAspectRatio="none"'
            return f'<image {stretched} href="{self._shown}"/>'
        step = width / 12
        upright = "".join(f"M{i * step:.1f} 0V{height}" for i in range(1, 12))
        level = "".join(f"M0 {i * step:.1f}H{width}" for i in range(1, int(height / step) + 1))
        plain = f'<rect width="{width}" height="{height}" fill="white"/>'
        return f'{plain}<path d="{upright}{level}" stroke="{GRID}" stroke-width="1"/>'

    def near(self, x: float, y: float) -> str:
        """What lies round a place, at the full fineness of the file, as SVG in px of the file."""
        if self._picture is None:
            return self.svg()
        left, top = round(x) - _AROUND - 2, round(y) - _AROUND - 2
        side = 2 * _AROUND + 4
        crop = self._picture.crop((left, top, left + side, top + side))
        return f'<image x="{left}" y="{top}" width="{side}" height="{side}" href="{_address(crop, "png")}"/>'


def _view(ground, points, circles, cross, alt):
    """The whole picture as HTML.

    points: {group: [(x, y)]}; circles: {group: (x, y, radius)}; cross: (x, y), all in px of the file; alt: in words.
    """
    height = round(_WIDE * ground.height / ground.width)
    shown = ground.svg() + _marks(ground, points, circles, cross, ground.width / _WIDE)
    return _svg(f"0 0 {ground.width} {ground.height}", (_WIDE, height), shown, alt, _WHOLE)


def _lens(ground, points, circles, cross):
    (x, y), side = cross, 2 * _AROUND
    shown = ground.near(x, y) + _marks(ground, points, circles, cross, side / _LENS)
    said = f"magnifier, {side} pixels wide, round the crosshair at {x:g}, {y:g}"
    return _svg(f"{x - _AROUND:.2f} {y - _AROUND:.2f} {side} {side}", (_LENS, _LENS), shown, said, _NEAR)


def _marks(ground, points, circles, cross, pixel):
    """Circles, points and crosshair; pixel: px of the file in one px of the screen."""
    made = []
    for group, (x, y, radius) in circles.items():
        edge = GROUPS[group]
        made.append(_edged(f'circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}"', edge.colour, 1.8, edge.dash))
    size = 4.5 * pixel
    for group, placed in points.items():
        edge = GROUPS[group]
        for x, y in placed:
            at = f'transform="translate({x:.2f} {y:.2f}) scale({size:.3f})"'
            made.append(_edged(f'path d="M0 0{edge.mark}" {at}', edge.colour, 2.0))
    x, y = cross
    free = 5 * pixel  # the very place stays open
    across = f"M0 {y:.2f}H{x - free:.2f}M{x + free:.2f} {y:.2f}H{ground.width}"
    down = f"M{x:.2f} 0V{y - free:.2f}M{x:.2f} {y + free:.2f}V{ground.height}"
    made.append(_edged(f'path d="{across}{down}"', INK, 1.2))
    return "".join(made)


def _edged(shape, colour, width, dash=""):
    """A shape as a line so wide [px] on a white one twice as wide, on the screen whatever the scale."""
    look = 'fill="none" vector-effect="non-scaling-stroke"'
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    ground = f'<{shape} {look} stroke="white" stroke-width="{2 * width}"/>'
    return f'{ground}<{shape} {look} stroke="{colour}" stroke-width="{width}"{dashed}/>'


def _svg(box, size, inside, alt, view):
    """A drawing that hands on where it is clicked; view: which of the two it is."""
    width, height = size
    look = f'width="{width}" height="{height}" style="max-width:100%;border:1px solid {GREY};cursor:crosshair"'
    click = f'data-view="{view}" onclick="{html.escape(_CLICK)}"'
    return f'<svg role="img" aria-label="{html.escape(alt)}" viewBox="{box}" {click} {look}>{inside}</svg>'


def _address(picture, kind="jpeg"):
    file = io.BytesIO()
    picture.save(file, kind)
    return f"data:image/{kind};base64,{base64.b64encode(file.getvalue()).decode()}"
