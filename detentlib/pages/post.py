"""A page to post: a verdict with its assumptions and numbers, four lines of arithmetic, and what recomputes it; a short
text with a picture beside it, and one sheet to print.
"""

import os
import shlex
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from ..argue.claim import Claim
from ..argue.scale import FALSE, OPEN, PARTLY, TRUE
from ..argue.switches import SWITCHES, options_of
from ..argue.verdict import Verdict
from ..draw.drawing import GREY, INK, OPENING, PUSH, SMALL, TEXT, pixels_of
from ..draw.panel import png
from ..draw.plan import svg_figure
from ..files.knife_file import knife_text
from ..files.writing import ThereAlready, checked_place, file_name, write_file
from ..knife.given import given_kind
from ..knife.parts import unmeasured
from ..knife.plain import in_picture
from ..say.cautions import CAUTIONS
from ..say.working import say
from ..tune.pair import has_second_ball
from .four_lines import four_lines
from .letter import balls_drawn
from .paper import fill, picture

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDTH, _ROW, _HEAD, _FOOT = 4.7, 0.4, 0.4, 0.55  # inches
_DPI = 150
_DUST = 1e-6  # of the numbers on an axis
_BALLS_HIGH, _BALLS_LOW = 1.35, 1.0  # inches, of the drawn balls; the lower where two cards are to fit
_MOST_FLIPS = 3  # on the sheet
_LEAST_ROOM = 0.07  # of the width, for a word
_GROUND = {TRUE: "#d7eae4", PARTLY: "#f3e6bf", FALSE: "#ffffff"}
_LOOK = {TRUE: ("o", OPENING), PARTLY: ("D", "#8a6d00"), FALSE: ("s", PUSH), OPEN: ("o", INK)}


def post_page(
    verdict: Verdict, path: str | Path | None = None, replace: bool = False, claimed_by: str = ""
) -> list | None:
    """Write a Verdict as a page to post: NAME.md, a short text for a forum, with NAME.png to go beside it; NAME.html,
    one sheet to print; and the knife's card NAME-knife.toml.

    path: a name such as "settled" (a suffix is put on), or a folder that is there; None shows the text and writes
    nothing. Returns the paths of them, or None. replace: True writes the page over files of these names, but never
    the card over another knife file; a file that holds just this already stays, and where another is in the way nothing
    is written. claimed_by: who claimed it, as the page shall name them. The page names no file of this machine and asks
    for nothing outside; its command, or its five lines of code, run beside the card, give the same number. Raises
    ValueError for a claim composed with a function that has no word to recompute it by, KnifeError like `write_file`.
    """
    given_kind("verdict", verdict, Verdict, "is no Verdict", "The page tells one.", "Give what judge gives.")
    given_kind("claimed_by", claimed_by, str, "is no text", "The page names who claimed it.")
    if path is None:
        # as a quotation, so that it stands apart from the notebook around it
        say(textwrap.indent(_markdown(verdict, "settled", claimed_by, alone=False).rstrip(), "> ", lambda line: True))
        say('Nothing is written yet. Give a name, such as `save_as = "settled"`, and run the cell again.')
        return None
    stem = _stem(verdict, path)
    # as names of their own, as a suffix would eat what stands behind a dot
    said = {stem.with_name(f"{stem.name}.md"): _markdown(verdict, stem.name, claimed_by).encode()}
    said[stem.with_name(f"{stem.name}.html")] = post_html(verdict, stem.name, claimed_by).encode()
    said[stem.with_name(f"{stem.name}.png")] = _png(verdict)
    for place, knife in zip(_cards(stem.name, verdict), verdict.knives, strict=True):
        said[stem.with_name(place)] = knife_text(knife).encode()
    # a file that holds just this already stays: the same page written again
    new = {place: data for place, data in said.items() if not (os.path.isfile(place) and place.read_bytes() == data)}
    _check_all(new, replace)
    for place, data in new.items():
        write_file(place, data, place.suffix, replace=_over(place, replace))
    return list(said)


def _png(verdict):
    """The picture to post beside the text."""
    figure = verdict_picture(verdict)
    figure.set_dpi(_DPI)
    return png(pixels_of(figure), optimize=True)


def _over(place, replace):
    """Whether to write over a file: never over a card, which may be the reader's own knife file, kept under this
    very name.
    """
    return None if place.suffix == ".toml" else replace


def _check_all(places, replace):
    """Refuse before anything is written, with every file that is in the way; what is wrong with the folder, once."""
    found = []
    for place in places:
        try:
            checked_place(place, replace=_over(place, replace))
        except ThereAlready as error:
            found.append(error)
    if found:
        raise ThereAlready([problem for error in found for problem in error.problems])


def post_html(verdict: Verdict, name: str = "settled", claimed_by: str = "") -> str:
    """The page to print on one sheet, as one HTML text: the verdict, the balls drawn, four lines of arithmetic on the
    spring, and how to recompute it. name: of the files that it speaks of; claimed_by: see `post_page`.
    """
    compared = verdict.compared
    most = max(compared.values(), key=lambda knife: (has_second_ball(knife), len(knife.balls)))
    narrow = len(verdict.knives) > 1
    figure, told = balls_drawn(most, high=_BALLS_LOW if narrow else _BALLS_HIGH)
    flips = verdict.flip_words
    return fill(
        "post.html",
        **_told(verdict, name, claimed_by),
        picture=picture,
        balls=(figure, told),
        drawn=next(said for said, knife in compared.items() if knife is most),
        sum=four_lines(compared),
        flips=flips[:_MOST_FLIPS],
        more=max(len(flips) - _MOST_FLIPS, 0),
        scale=(verdict_picture(verdict), picture_words(verdict)),
        narrow=narrow,
    )


def _told(verdict, name, claimed_by):
    """What both forms of the page are filled with."""
    return {
        "verdict": verdict,
        "title": _title(verdict),
        "claimed": _sentence(said_by(verdict.claim, claimed_by)),
        "word": f"Verdict: {verdict.word}{' with these instruments' if verdict.word == OPEN else ''}.",
        "assumed": [
            *(SWITCHES[switch].options[option].said for switch, option in verdict.options.items()),
            *unmeasured(*verdict.knives),
        ],
        "command": command(verdict, name),
        "code": recompute(verdict, name),
        "cards": dict(zip(_cards(name, verdict), verdict.knives, strict=True)),
        "knife_text": knife_text,
        "left_out": [*verdict.left_out, CAUTIONS["estimate"]],
    }


def said_by(claim: Claim, claimed_by: str = "") -> str:
    """Who says so, in words: whom somebody named, else from which side it is said.

    >>> from detentlib.argue.judging import claims
    >>> said_by(claims["doubles"]), said_by(claims["doubles"], "Kim")
    ('said for a second ball', 'claimed by Kim')
    """
    return f"claimed by {claimed_by.strip()}" if claimed_by.strip() else claim.says


def command(verdict: Verdict, name: str = "settled") -> str:
    """The command line that gives the verdict again beside the knife's card; "" for a claim that only the lines of code
    can say.
    """
    if verdict.claim.composed:
        return ""
    (card,), chosen = _cards(name, verdict), [f"{switch}={option}" for switch, option in _chosen(verdict).items()]
    assumed = ["--assume", *chosen] if chosen else []
    return shlex.join(["python", "-m", "detentlib", "judge", card, verdict.claim.id, *assumed])


def _chosen(verdict):
    """{switch: option} of the assumptions that are not the usual ones of the claim."""
    usual = options_of(verdict.claim.switches, verdict.claim.start, {})
    return {switch: option for switch, option in verdict.options.items() if option != usual[switch]}


def recompute(verdict: Verdict, name: str = "settled") -> str:
    """The lines of code that give the verdict again, with the knife's card beside them."""
    cards, claim = _cards(name, verdict), verdict.claim
    if claim.composed and not claim.made_by:
        raise ValueError(
            "this claim was composed with a function of your own, so a page cannot say how to recompute it; compose it"
            " with words or knives"
        )
    chosen = "".join(f', {switch}="{option}"' for switch, option in _chosen(verdict).items())
    names = ("knife", "other")[: len(cards)]
    reads = [f'{each} = dl.read_knife("{card}")' for each, card in zip(names, cards, strict=True)]
    judged = f"dl.judge(claim{'' if claim.knives else ', knife'}{chosen})"
    made = claim.made_by if claim.composed else f'"{claim.id}"'
    return "\n".join(
        [
            "import detentlib as dl",
            *reads,
            f"claim = {made}",
            f"verdict = {judged}",
            "print(verdict.word, verdict.figure)",
        ]
    )


def _markdown(verdict, name, claimed_by="", alone=True):
    """The short text for a forum; alone: with the card, and with the picture's name."""
    lines = four_lines(verdict.compared)
    return fill(
        "post.md",
        **_told(verdict, name, claimed_by),
        sum=lines,
        heading="##" if alone else "####",
        picture=f"{name}.png",
        alone=alone,
    )


def _sentence(said):
    return f"{said[0].upper()}{said[1:]}."


def _stem(verdict, path):
    """The path of the files without a suffix."""
    path = file_name(path).expanduser()
    if os.path.isdir(path):
        return path / verdict.claim.id
    return path.with_suffix("") if path.suffix.lower() in (".md", ".html", ".htm", ".png", ".toml") else path


def _cards(name, verdict):
    """Names of the knife files that go with the page."""
    return [f"{name}-{which}.toml" for which in ("knife", "other")[: len(verdict.knives)]]


def _title(verdict):
    said = verdict.claim.sentence.rstrip(".")
    return f"Not settled yet: {said}?" if verdict.word == OPEN else f"An argument settled: {said}?"


def verdict_picture(verdict: Verdict) -> "Figure":
    """A Figure: a row for what is assumed, and one for each that is made or assumed otherwise, on the scale as ground.

    Marks: true a disc, partly a diamond, false a square, cannot tell a hollow disc; the word stands beside each.
    """
    rows = _rows(verdict)
    height = _HEAD + _ROW * len(rows) + _FOOT
    figure = svg_figure(_WIDTH, height)
    ax = figure.add_axes((0.03, _FOOT / height, 0.94, 1 - (_FOOT + _HEAD) / height))
    low, high = _limits(rows)
    ax.set(xlim=(low, high), ylim=(len(rows), 0), yticks=[])
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    lines = textwrap.wrap(in_picture(verdict.claim.number.said), 62)
    ax.set_xlabel("\n".join(lines) + (f", {verdict.unit}" if verdict.unit else ""), size=SMALL)
    _draw_scale(ax, verdict.scale, low, high)
    for k, (said, each) in enumerate(rows):
        _draw_row(ax, k, said, each, low, high, first=k == 0)
    return figure


def picture_words(verdict: Verdict) -> str:
    """The picture in words, for who cannot see it."""
    rows = "; ".join(f"{said}: {each.figure}, {each.word}" for said, each in _rows(verdict))
    return f"The deciding number on the scale of the claim ({verdict.scale.said(verdict.unit)}): {rows}."


def _rows(verdict):
    """(what is assumed, the Verdict then): as it is, a second leaf where that is the way out, each other assumption."""
    others = [flip for flip in (verdict.way_out, *verdict.others) if flip]
    return [("as assumed", verdict), *((flip.said, flip.verdict) for flip in others)]


def _limits(rows):
    """Ends of the axis: every number with its two ends, and every bound of the scale."""
    ends = [end for _, verdict in rows for end in (verdict.number.low, verdict.number.high)] + [
        bound for _, verdict in rows for bound in verdict.scale.bounds
    ]
    low, high = min(ends), max(ends)
    size = max(abs(low), abs(high))
    # numbers that differ by the dust of the arithmetic alone are one
    margin = 0.12 * (high - low) if high - low > _DUST * size else 0.1 * max(size, 1.0)
    return low - margin, high + margin


def _draw_scale(ax, scale, low, high):
    """Grounds of the scale with their words on top, a word once where there is room for it."""
    edges = [low, *(bound for bound in scale.bounds), high]
    for word, left, right in zip(scale.words, edges, edges[1:], strict=False):
        ax.axvspan(left, right, color=_GROUND[word], lw=0)
        room = (right - left) / (high - low)
        if room > _LEAST_ROOM:
            ax.text(
                (left + right) / 2,
                -0.12,
                word,
                ha="center",
                va="bottom",
                size=TEXT if room > 0.13 else SMALL,
                weight="bold",
            )
    for bound in scale.bounds:
        ax.axvline(bound, color=GREY, lw=0.9, ls=(0, (2, 2)))


def _draw_row(ax, k, said, verdict, low, high, first):
    mark, colour = _LOOK[verdict.word]
    y, number = k + 0.76, verdict.number
    ax.plot([number.low, number.high], [y, y], color=colour, lw=3.0 if first else 1.8, solid_capstyle="butt")
    hollow = "white" if verdict.word == OPEN else colour
    ax.plot(number.value, y, mark, ms=8 if first else 6, mfc=hollow, mec=colour, mew=1.6, clip_on=False)
    ax.text(
        low,
        k + 0.36,
        f" {in_picture(said)}: {verdict.word}",
        size=SMALL,
        va="center",
        ha="left",
        weight="bold" if first else "normal",
    )
    if k:
        ax.axhline(k, color="#d0d0d0", lw=0.6)
