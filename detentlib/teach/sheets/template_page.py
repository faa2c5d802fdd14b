"""A page of the paper model: axes in mm on paper that fit A4 and Letter, with its heading and the bars that check the printer."""

import textwrap

from matplotlib.patches import Rectangle

from ...plain import in_picture
from ..cautions import CAUTIONS
from ..panels.drawing import GREY, INK, SMALL, TEXT

INCH = 25.4
WIDTH, HEIGHT = 210.0, 279.4  # mm: as wide as A4, as high as Letter, so that both hold it
WIDE = 14.0  # margin at the sides [mm]
TOP, LOW = 258.0, 32.0  # a page's own drawing stands between these heights [mm]
ROOM = TOP - LOW
_LETTERS = 102  # a line


def dress(ax, knife, heading, number, count):
    """Set up the axes of one page: 1 of data is 1 mm on paper, y upwards; heading, bars of 50 mm and 2 in, what to mind."""
    ax.set(xlim=(0, WIDTH), ylim=(0, HEIGHT))
    ax.set_axis_off()
    ax.text(WIDE, HEIGHT - 13, f"{in_picture(knife.title)}: {heading}", size=12, weight="bold", va="center")
    ax.text(WIDTH - WIDE, HEIGHT - 13, f"page {number + 1} of {count}", size=SMALL, ha="right", va="center")
    for length, x, said in ((50.0, WIDE, "50 mm"), (2 * INCH, WIDE + 65, "2 in")):
        ax.add_patch(Rectangle((x, 21), length, 1.6, fc=INK, ec="none", gid=f"check-{number + 1}-{said.replace(' ', '-')}"))
        for end in (x, x + length):
            ax.plot([end, end], [19.5, 24], color=INK, lw=0.6)
        ax.text(x + length + 1.5, 21.8, said, size=SMALL, va="center")
    ax.text(WIDE + 128, 21.8, "Print at 100 %, then measure these.", size=SMALL, va="center")
    ax.text(WIDE, 14.5, CAUTIONS["estimate"], size=SMALL, color=GREY, va="center")


def words(ax, *sentences):
    """Sentences under the heading, broken to the width of the page."""
    for i, said in enumerate(textwrap.wrap(" ".join(sentences), _LETTERS)):
        ax.text(WIDE, TOP - 4.6 * i, said, va="top", size=TEXT)
