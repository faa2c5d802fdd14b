"""Pages that keep their size on paper, on A4 and on Letter: as SVG or PDF, with bars that check the printer."""

import io
import textwrap
from collections.abc import Callable, Sequence
from pathlib import Path

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from ..draw.drawing import GREY, INK, SMALL, TEXT
from ..draw.plan import svg_text
from ..files.writing import write_file
from ..knife.plain import in_picture, visible
from ..knife.units import convert
from ..say.cautions import CAUTIONS

INCH = 25.4
WIDTH, HEIGHT = 210.0, 279.4  # mm: as wide as A4, as high as Letter, so that both hold it
MARGIN, TOP, LOW = 14.0, 258.0, 32.0  # mm on paper: at the sides; a page's own drawing stands between these heights
ROW = 4.6  # mm on paper
CHECKS = ((50, "mm"), (2, "in"))
_LETTERS = 102  # of a line of words
_FINE = {"lw": 0.6, "color": INK}


def write_pages(
    path: str | Path, what: str, title: str, pages: list[tuple[str, Callable]], replace: bool, checks: tuple = CHECKS
) -> None:
    """Write pages to one file, as its ending .svg or .pdf says; an SVG holds them below each other.

    what: kind of paper; title: whose it is, at the head of every page; pages: (heading, function that draws on a Page);
    checks: (length, unit) of each bar that checks the printer. KnifeError like `write_file`.
    """
    drawn = (_as_svg if Path(path).suffix.lower() == ".svg" else _as_pdf)(what, title, pages, checks)
    write_file(path, drawn, ".pdf", ".svg", replace=replace)


def _as_svg(what, title, pages, checks):
    count = len(pages)
    figure = Figure(figsize=(WIDTH / INCH, count * HEIGHT / INCH), facecolor="white")
    for i, (heading, draw) in enumerate(pages):
        ax = figure.add_axes((0, 1 - (i + 1) / count, 1, 1 / count), gid=f"page-{i + 1}")
        draw(Page(ax, f"{title}: {heading}", i + 1, count, checks))
    name = f"{what} of {title}"
    return svg_text(figure, name, f"{name}: {'; '.join(heading for heading, _ in pages)}.")


def _as_pdf(what, title, pages, checks):
    file = io.BytesIO()
    told = {"Title": visible(f"{what} of {title}")}
    told |= dict.fromkeys(("CreationDate", "ModDate", "Creator", "Producer"))
    with PdfPages(file, metadata=told) as book:
        for i, (heading, draw) in enumerate(pages):
            figure = Figure(figsize=(WIDTH / INCH, HEIGHT / INCH), facecolor="white")
            draw(Page(figure.add_axes((0, 0, 1, 1)), f"{title}: {heading}", i + 1, len(pages), checks))
            book.savefig(figure)
    return file.getvalue()


class Page:
    """One page: axes in mm on paper, y upwards, with its heading, the bars that check the printer, and what to mind."""

    def __init__(self, ax, heading, number, count, checks=CHECKS):
        """ax: that fill the page; heading: at its head; number of count; checks: (length, unit) of each bar."""
        self.ax, self.number = ax, number
        ax.set(xlim=(0, WIDTH), ylim=(0, HEIGHT))
        ax.set_axis_off()
        self.say(MARGIN, HEIGHT - 13, in_picture(heading), size=12, weight="bold")
        self.say(WIDTH - MARGIN, HEIGHT - 13, f"page {number} of {count}", ha="right")
        x = MARGIN
        for size, unit in checks:
            length = convert(size, unit, "mm")
            self.bar(x, 21.8, length, f"{size} {unit}", f"check-{number}-{size}-{unit}")
            for end in (x, x + length):
                self.line((end, end), (19.5, 24), **_FINE)
            x += length + 18
        self.say(MARGIN, 27.5, "Print at 100 %, then measure these.")
        self.say(MARGIN, 14.5, CAUTIONS["estimate"], color=GREY)

    def say(self, x: float, y: float, said: str, **look: object) -> None:
        """Words whose left middle stands at (x, y)."""
        self.ax.text(x, y, said, **{"size": SMALL, "va": "center"} | look)

    def line(self, xs: Sequence[float], ys: Sequence[float], **look: object) -> None:
        """A line through points."""
        self.ax.plot(xs, ys, **look)

    def put(self, shape: Patch, **look: object) -> None:
        """A shape of matplotlib with an outline."""
        self.ax.add_patch(shape)
        shape.set(**{"ec": INK, "lw": 1.0} | look)

    def cross(self, x: float, y: float, name: str | None = None, **look: object) -> None:
        """An × of 4 mm."""
        self.line((x - 2, x + 2), (y - 2, y + 2), gid=name, **look)
        self.line((x - 2, x + 2), (y + 2, y - 2), **look)

    def bar(self, x: float, y: float, length: float, said: str, name: str) -> None:
        """A bar of a length, and how long it is."""
        self.put(Rectangle((x, y - 0.8), length, 1.6, fc=INK, gid=name), ec="none")
        self.say(x + length + 2, y, said)

    def words(self, *sentences: str) -> None:
        """Sentences under the heading, broken to the width of the page."""
        for i, said in enumerate(textwrap.wrap(" ".join(sentences), _LETTERS)):
            self.say(MARGIN, TOP - ROW * i, said, va="top", size=TEXT)
