"""What the photo picker shows: the photo or plain ground, points, circles and crosshair as one SVG, and a magnifier beside it."""

import base64
import html
import io
from pathlib import Path

import PIL.Image

from ..measure.readings import ReadingError
from .drawing import BALLS, GREY, GRID, INK

WIDE, LENS = 560, 180  # px on the screen: of the whole picture, and of the magnifier
_KEPT = 1000  # px, longest side of the photo as it is shown; points stay in those of the file
_AROUND = 22  # px of the file, half of what the magnifier shows
COLOURS = {"rim": BALLS[0], "ball": BALLS[1], "scale": INK}
DASHES = {"rim": "", "ball": "9 5", "scale": "2 4"}


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

    def svg(self):
        """The ground as SVG, in px of the file."""
        if self._shown:
            return f'<image width="{self.width}" height="{self.height}" preserveAspectRatio="none" href="{self._shown}"/>'
        step = self.width / 12
        lines = [f'<path d="M{i * step:.1f} 0V{self.height}" stroke="{GRID}" stroke-width="1"/>' for i in range(1, 12)]
        lines += [f'<path d="M0 {i * step:.1f}H{self.width}" stroke="{GRID}" stroke-width="1"/>' for i in range(1, int(self.height / step) + 1)]
        return f'<rect width="{self.width}" height="{self.height}" fill="white"/>{"".join(lines)}'

    def near(self, x, y):
        """What lies round a place, at the full fineness of the file, as SVG in px of the file."""
        if self._picture is None:
            return self.svg()
        left, top = round(x) - _AROUND - 2, round(y) - _AROUND - 2
        side = 2 * _AROUND + 4
        crop = self._picture.crop((left, top, left + side, top + side))
        return f'<image x="{left}" y="{top}" width="{side}" height="{side}" href="{_address(crop, "png")}"/>'


def view(ground, points, circles, cross, alt):
    """The whole picture as HTML.

    points: {group: [(x, y)]}; circles: {group: (x, y, radius)}; cross: (x, y), all in px of the file; alt: in words.
    """
    height = round(WIDE * ground.height / ground.width)
    return _svg(f"0 0 {ground.width} {ground.height}", WIDE, height, ground.svg() + _marks(ground, points, circles, cross, ground.width / WIDE), alt)


def lens(ground, points, circles, cross):
    """What lies round the crosshair, larger, as HTML."""
    (x, y), side = cross, 2 * _AROUND
    shown = ground.near(x, y) + _marks(ground, points, circles, cross, side / LENS)
    return _svg(f"{x - _AROUND:.2f} {y - _AROUND:.2f} {side} {side}", LENS, LENS, shown, f"magnifier, {side} pixels wide, round the crosshair at {x:g}, {y:g}")


def _marks(ground, points, circles, cross, pixel):
    """Circles, points and crosshair; pixel: px of the file in one px of the screen."""
    made = []
    for group, (x, y, radius) in circles.items():
        for colour, width in (("white", 3.6), (COLOURS[group], 1.8)):
            dash = f' stroke-dasharray="{DASHES[group]}" vector-effect="non-scaling-stroke"' if colour != "white" else ' vector-effect="non-scaling-stroke"'
            made.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" fill="none" stroke="{colour}" stroke-width="{width}"{dash}/>')
    for group, placed in points.items():
        made += [_mark(group, x, y, 4.5 * pixel) for x, y in placed]
    x, y = cross
    free = 5 * pixel  # the very place stays open
    arms = f"M0 {y:.2f}H{x - free:.2f}M{x + free:.2f} {y:.2f}H{ground.width}M{x:.2f} 0V{y - free:.2f}M{x:.2f} {y + free:.2f}V{ground.height}"
    for colour, width in (("white", 2.4), (INK, 1.0)):
        made.append(f'<path d="{arms}" fill="none" stroke="{colour}" stroke-width="{width}" vector-effect="non-scaling-stroke"/>')
    return "".join(made)


def _mark(group, x, y, size):
    """A ring for the rim, a square for the ball, a cross for the scale: told apart without colour."""
    shapes = {
        "rim": f"M{x - size:.2f} {y:.2f}a{size:.2f} {size:.2f} 0 1 0 {2 * size:.2f} 0a{size:.2f} {size:.2f} 0 1 0 {-2 * size:.2f} 0",
        "ball": f"M{x - size:.2f} {y - size:.2f}h{2 * size:.2f}v{2 * size:.2f}h{-2 * size:.2f}z",
        "scale": f"M{x - 1.6 * size:.2f} {y:.2f}h{3.2 * size:.2f}M{x:.2f} {y - 1.6 * size:.2f}v{3.2 * size:.2f}",
    }
    strokes = (("white", 4.0), (COLOURS[group], 2.0))
    return "".join(
        f'<path d="{shapes[group]}" fill="none" stroke="{colour}" stroke-width="{width}" vector-effect="non-scaling-stroke"/>' for colour, width in strokes
    )


def _svg(box, width, height, inside, alt):
    style = f"max-width:100%;border:1px solid {GREY}"
    return f'<svg role="img" aria-label="{html.escape(alt)}" viewBox="{box}" width="{width}" height="{height}" style="{style}">{inside}</svg>'


def _address(picture, kind="jpeg"):
    """A picture as a data address."""
    file = io.BytesIO()
    picture.save(file, kind)
    return f"data:image/{kind};base64,{base64.b64encode(file.getvalue()).decode()}"
