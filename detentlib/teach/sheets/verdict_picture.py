"""The picture of a verdict: the deciding number with its ± on the scale of the claim, and where every other assumption would put it."""

from ...plain import in_picture
from ...workshop.claims.verdict import FALSE, OPEN, PARTLY, TRUE
from ..panels.drawing import GREY, INK, OPENING, PUSH, SMALL, TEXT
from ..panels.plan import svg_figure

_WIDTH, _ROW, _HEAD, _FOOT = 4.7, 0.4, 0.4, 0.55  # inches
_LEAST_ROOM = 0.07  # of the width, for a word
_GROUND = {TRUE: "#d7eae4", PARTLY: "#f3e6bf", FALSE: "#ffffff"}
_LOOK = {TRUE: ("o", OPENING), PARTLY: ("D", "#8a6d00"), FALSE: ("s", PUSH), OPEN: ("o", INK)}


def verdict_picture(verdict):
    """A Figure: one row for what is assumed, and one for each other assumption by itself; false, partly and true as ground.

    Marks: true a disc, partly a diamond, false a square, cannot tell a hollow disc; the word stands beside each.
    """
    rows = [("as assumed", verdict), *((other.said, other.verdict) for other in verdict.others)]
    height = _HEAD + _ROW * len(rows) + _FOOT
    figure = svg_figure(_WIDTH, height)
    ax = figure.add_axes((0.03, _FOOT / height, 0.94, 1 - (_FOOT + _HEAD) / height))
    low, high = _limits(rows)
    ax.set(xlim=(low, high), ylim=(len(rows), 0), yticks=[])
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    ax.set_xlabel(_axis_words(verdict), size=SMALL)
    _draw_scale(ax, verdict.scale, low, high)
    for k, (said, each) in enumerate(rows):
        _draw_row(ax, k, said, each, low, high, first=k == 0)
    return figure


def picture_words(verdict):
    """The picture in words, for who cannot see it."""
    rows = [f"as assumed {verdict.figure}, {verdict.word}", *(f"{other.said}: {other.verdict.figure}, {other.verdict.word}" for other in verdict.others)]
    return f"The deciding number on the scale of the claim ({verdict.scale.said(verdict.unit)}): {'; '.join(rows)}."


def _limits(rows):
    """Ends of the axis: every number with its two ends, and every bound of the scale."""
    ends = [end for _, verdict in rows for end in (verdict.number.low, verdict.number.high)] + [bound for _, verdict in rows for bound in verdict.scale.bounds]
    low, high = min(ends), max(ends)
    margin = 0.12 * (high - low) or 0.1 * max(abs(low), 1.0)
    return low - margin, high + margin


def _draw_scale(ax, scale, low, high):
    """Grounds of the scale with their words on top, a word once where there is room for it."""
    edges = [low, *(bound for bound in scale.bounds), high]
    for word, left, right in zip(scale.words, edges, edges[1:], strict=False):
        ax.axvspan(left, right, color=_GROUND[word], lw=0)
        room = (right - left) / (high - low)
        if room > _LEAST_ROOM:
            ax.text((left + right) / 2, -0.12, word, ha="center", va="bottom", size=TEXT if room > 0.13 else SMALL, weight="bold")
    for bound in scale.bounds:
        ax.axvline(bound, color=GREY, lw=0.9, ls=(0, (2, 2)))


def _draw_row(ax, k, said, verdict, low, high, first):
    mark, colour = _LOOK[verdict.word]
    y, number = k + 0.76, verdict.number
    ax.plot([number.low, number.high], [y, y], color=colour, lw=3.0 if first else 1.8, solid_capstyle="butt")
    hollow = "white" if verdict.word == OPEN else colour
    ax.plot(number.value, y, mark, ms=8 if first else 6, mfc=hollow, mec=colour, mew=1.6, clip_on=False)
    ax.text(low, k + 0.36, f" {in_picture(said)}: {verdict.word}", size=SMALL, va="center", ha="left", weight="bold" if first else "normal")
    if k:
        ax.axhline(k, color="#d0d0d0", lw=0.6)


def _axis_words(verdict):
    unit = verdict.unit
    said = verdict.claim.number.said
    words, lines, line = in_picture(said).split(), [], ""
    for word in words:
        if len(line) + len(word) > 62:
            lines.append(line)
            line = ""
        line = f"{line} {word}".strip()
    lines.append(line + (f", {unit}" if unit else ""))
    return "\n".join(lines)
