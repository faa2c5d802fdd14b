"""The invented microscope photo of the demo: the recess of Pellowfen A with a stage scale, drawn from its sizes with
a fixed seed, a little askew.
"""

import io

import numpy as np
import PIL.Image
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Ellipse

PIXELS_PER_MM = 400.0
SEAT = (1.2, 1.0)  # mm, middle of the recess on the photo
SIZE_MM = (2.4, 2.0)
SCALE_ENDS = ((0.2, 1.86), (2.2, 1.86))  # mm, of the stage scale, y downwards as in any picture
OVAL = 0.003  # share by which the tilt shortens what stands upright on it
_SHADES = 16


def photo(knife, seed=27):
    """The photo as PNG bytes: brushed tang, dark recess with a bright rim, a stage scale of 2 mm; the picture itself
    says that it is invented.
    """
    width, height = (round(side * PIXELS_PER_MM) for side in SIZE_MM)
    figure = Figure(figsize=(width / 100, height / 100), dpi=100)
    canvas = FigureCanvasAgg(figure)
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set(xlim=(0, SIZE_MM[0]), ylim=(SIZE_MM[1], 0))
    ax.set_axis_off()
    ax.imshow(
        _brushed(seed, height),
        extent=(0, SIZE_MM[0], SIZE_MM[1], 0),
        cmap="gray",
        vmin=0,
        vmax=1,
        interpolation="bilinear",
    )
    wide = knife.balls[0].recess.diameter
    high = wide * (1 - OVAL)
    for share in np.linspace(1.0, 0.0, 12):
        ax.add_patch(Ellipse(SEAT, wide * share, high * share, fc=str(0.16 + 0.22 * (1 - share)), ec="none"))
    ax.add_patch(Ellipse(SEAT, wide, high, fc="none", ec="0.93", lw=2.2))
    _stage_scale(ax)
    ax.text(0.03, 0.05, "invented picture: Pellowfen A, recess, no real knife", size=11, color="0.05", va="top")
    canvas.draw()
    grey = PIL.Image.fromarray(np.array(canvas.buffer_rgba())[..., :3]).convert("L").quantize(_SHADES)
    file = io.BytesIO()
    grey.save(file, "png", optimize=True)
    return file.getvalue()


def _brushed(seed, rows):
    """Shades of a brushed face: each row a little lighter or darker than the next."""
    streaks = np.random.default_rng(seed).standard_normal(rows // 3)
    return 0.68 + 0.035 * np.repeat(streaks[:, None], 2, axis=1)


def _stage_scale(ax):
    """Two millimetres in tenths, as on a stage micrometer."""
    (left, y), (right, _) = SCALE_ENDS
    for i, x in enumerate(np.linspace(left, right, 21)):
        ax.plot(
            [x, x],
            [y, y - (0.1 if i % 10 == 0 else 0.07 if i % 5 == 0 else 0.045)],
            color="0.05",
            lw=1.2,
            solid_capstyle="butt",
        )
    ax.plot([left, right], [y, y], color="0.05", lw=1.2)
    for x, said in ((left, "0"), ((left + right) / 2, "1"), (right, "2 mm")):
        ax.text(x, y + 0.015, said, size=11, color="0.05", ha="center", va="top")
