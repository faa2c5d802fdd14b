"""The drawing of notebook 10; entered in the table of every.py."""

from matplotlib.figure import Figure
from matplotlib.patches import FancyBboxPatch

from ...draw.drawing import GREY, INK, OPENING, SMALL, STEEL, TEXT, Arrow
from ...draw.plan import bare, svg_figure

# each rung: what it is, what is in the hand, what is known afterwards
_RUNGS = (
    ("complaint", "the owner's words, tape on the edge", "what to look for"),
    ("as found", "pull gauge, before any cleaning", "break and let-back force, friction"),
    ("lift trace", "dial indicator, protractor", "contact angle; a handover, or none"),
    ("card", "the pattern, put right by the trace", "a knife to reckon with, ±"),
    ("cause", "the card beside what was sold", "where the force comes from, how sure"),
    ("advice", "what can be undone goes first", "what the gauge will read, before you cut"),
    ("report", "pencil, and the readings again", "before and after, to be checked"),
)
_HIGH, _STEP, _INDENT = 0.74, 1.0, 0.32


def ladder() -> Figure:
    """From complaint to report: seven rungs, each with what it takes and what it gives."""
    figure = svg_figure(7.6, 5.0)
    ax = figure.add_axes((0.005, 0.005, 0.99, 0.99))
    count = len(_RUNGS)
    bare(ax, (0, 12.0), (-0.15, count * _STEP + 0.35))
    ax.set_aspect("auto")
    for x, said in ((2.4, "it takes"), (6.9, "then you know")):
        ax.text(x + _INDENT, count * _STEP + 0.12, said, size=SMALL, color=GREY, va="bottom")
    for i, (name, takes, gives) in enumerate(_RUNGS):
        low, left = (count - 1 - i) * _STEP + 0.12, 0.1
        ax.add_patch(
            FancyBboxPatch((left, low), 2.1, _HIGH, boxstyle="round,pad=0,rounding_size=0.12", fc=STEEL, ec=INK, lw=1.2)
        )
        ax.text(left + 0.2, low + _HIGH / 2, f"{i + 1}  {name}", size=TEXT, weight="bold", va="center")
        ax.text(2.4 + _INDENT, low + _HIGH / 2, takes, size=TEXT, va="center")
        ax.text(6.9 + _INDENT, low + _HIGH / 2, gives, size=TEXT, va="center", color=OPENING)
        if i:
            Arrow(ax, INK, size=9, width=1.3).draw((left + 1.05, low + _STEP), (left + 1.05, low + _HIGH), "", (0, 0))
    return figure


APPRENTICE = {"complaint-to-report": ladder}
