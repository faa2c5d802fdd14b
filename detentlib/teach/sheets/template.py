"""The paper model: the knife's own rims and balls, drawn to scale, to cut out and slide over each other; as SVG or PDF."""

import io
import math
from functools import partial

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from ...mechanics.feel import feel
from ...parts import KnifeError, Problem
from ...plain import visible
from ...writing import must_end, write_file
from ..panels.plan import svg_text
from .photo_sheet import photo_limit, photo_sheet
from .strips import least_scale, strips, strips_limit
from .template_page import HEIGHT, INCH, WIDTH, dress
from .tracing import tracing

SCALE = 20.0


def template(knife, path, scale=SCALE, replace=False):
    """Write the paper model of one Knife, to print and cut out; a path that ends in .svg or .pdf says which.

    Every page fits A4 and Letter and carries bars of 50 mm and 2 in to check the printer: print at 100 %, not "fit to
    page". Pages: for each ball a strip of the bar with the ball and a strip of the tang with its recess, to slide over
    each other; a sheet to trace the lift demands on, with marks where contact and handover are predicted; for each
    ball a sheet to lay beside a photo from the microscope. The strips lie in the plane through the axes of ball and recess: the
    distance between the two is laid out straight, and a ruler says which blade angle it belongs to (L2). All of it is of
    the stripped parts, which no rim takes along sideways (B6); where the pressing knife stands, each page says. scale: mm on
    paper per mm of the knife. An SVG holds all pages below each other, for a drawing program or a cutter. replace:
    True writes it over a file that is there.

    Raises KnifeError for a knife that cannot work, for a scale at which it does not fit the page or its rulers cannot be
    read, with the scale to take, for another ending, and like `write_file`.
    """
    must_end(path, ".pdf", ".svg")
    made = pages(knife, scale)
    drawn = (_as_svg if str(path).lower().endswith(".svg") else _as_pdf)(knife, made)
    write_file(path, drawn, ".pdf", ".svg", replace=replace)


def largest_scale(knife):
    """The largest scale at which every page holds its drawing."""
    return min(limit for ball in knife.balls for limit in (strips_limit(ball), photo_limit(ball)))


def smallest_scale(knife):
    """The smallest scale at which the rulers of every page can be read."""
    return max(least_scale(ball) for ball in knife.balls)


def pages(knife, scale=SCALE):
    """[(heading, function that draws a page into axes in mm on paper)]; see `template`."""
    felt = feel(knife)
    _check(knife, scale)
    found = [(f"strips of ball {i + 1}, {scale:g} : 1", partial(strips, knife=knife, i=i, felt=felt, scale=scale)) for i in range(len(knife.balls))]
    stripped = _stripped(knife)
    found.append(("tracing sheet for the lift demands", partial(tracing, knife=stripped, felt=feel(stripped))))
    found += [
        (f"ball {i + 1} beside the microscope, {scale:g} : 1", partial(photo_sheet, ball=ball, i=i, felt=felt, scale=scale))
        for i, ball in enumerate(knife.balls)
    ]
    return found


def _stripped(knife):
    """The knife with bars that stay where they are sideways, as its parts lie on the bench."""
    return knife.replace({f"{name}.side_compliance": 0.0 for name in ("bar", "second_bar") if getattr(knife, name) is not None})


def _check(knife, scale):
    try:
        fine = math.isfinite(scale) and scale > 0
    except TypeError:
        fine = False
    least, most = smallest_scale(knife), math.floor(largest_scale(knife))
    if not fine or scale > most:
        wrong = "does not fit a page of A4 or Letter" if fine else "is not a number above zero"
        raise KnifeError(Problem("scale", f"{scale}", wrong, "It is mm on paper per mm of the knife.", f"Take {most} or less for {knife.title}."))
    if scale < least:
        why = "The lines of its rulers would run into each other."
        raise KnifeError(Problem("scale", f"{scale:g}", "is too small to read", why, f"Take {math.ceil(least)} to {most} for {knife.title}."))


def _as_svg(knife, made):
    figure = Figure(figsize=(WIDTH / INCH, len(made) * HEIGHT / INCH), facecolor="white")
    for i, (heading, draw) in enumerate(made):
        ax = figure.add_axes((0, 1 - (i + 1) / len(made), 1, 1 / len(made)), gid=f"page-{i + 1}")
        dress(ax, knife, heading, i, len(made))
        draw(ax, page=i + 1)
    said = f"Paper model of {knife.title}: {'; '.join(heading for heading, _ in made)}."
    return svg_text(figure, f"Paper model of {knife.title}", said)


def _as_pdf(knife, made):
    file = io.BytesIO()
    with PdfPages(
        file, metadata={"Title": visible(f"Paper model of {knife.title}"), "CreationDate": None, "ModDate": None, "Creator": None, "Producer": None}
    ) as book:
        for i, (heading, draw) in enumerate(made):
            figure = Figure(figsize=(WIDTH / INCH, HEIGHT / INCH), facecolor="white")
            ax = figure.add_axes((0, 0, 1, 1))
            dress(ax, knife, heading, i, len(made))
            draw(ax, page=i + 1)
            book.savefig(figure)
    return file.getvalue()
