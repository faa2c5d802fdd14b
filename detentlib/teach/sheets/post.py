"""A page to post: a verdict with its assumptions, numbers and picture, and the few lines that recompute it; as Markdown and as one HTML file."""

import base64
import re
from pathlib import Path

from ...files import knife_text
from ...parts import KnifeError, unmeasured
from ...plain import in_markdown
from ...workshop.claims.switches import SWITCHES
from ...workshop.claims.verdict import OPEN
from ...writing import ThereAlready, checked_place, write_file
from ..cautions import CAUTIONS
from ..panels.plan import svg_text
from ..working import say
from .paper import bullets, page, picture, table, text
from .verdict_picture import picture_words, verdict_picture

_PHONE = """
body { max-width: 720px; font-size: 11.5pt; line-height: 1.45; padding: 0 4mm; }
.verdict { font-size: 14pt; font-weight: bold; border: 0.6mm solid #000; padding: 2mm 3mm; margin: 3mm 0; }
blockquote { font-size: 14pt; margin: 2mm 0; padding-left: 3mm; border-left: 1mm solid #777; }
details { margin: 2mm 0; } summary { cursor: pointer; padding: 2mm 0; }
pre { font-size: 9.5pt; overflow-wrap: anywhere; }
figure img { width: 100% !important; max-width: 600px; }
"""


def post_page(verdict, path=None, replace=False):
    """Write a Verdict as a page to post: NAME.md, NAME.html with the picture inside, and the knife's card NAME-knife.toml.

    path: a name such as "settled" (a suffix is put on), or a folder that is there; None shows the page and writes
    nothing. Returns the paths of the three, or None. replace: True writes the page over files of these names, but never
    the card over another knife file; a file that holds just this already stays, and where another is in the way nothing
    is written. The page names no file of this machine and asks for nothing outside; its five lines of code, run beside
    the card, give the same number. Raises ValueError for a claim composed with a function that has no word to recompute
    it by, KnifeError like `write_file`.
    """
    if path is None:
        say(_quoted(_markdown(verdict, "settled", inside=False)))
        say('Nothing is written yet. Give a name, such as `save_as = "settled"`, and run the cell again.')
        return None
    stem = _stem(verdict, path)
    said = {stem.with_suffix(".md"): _markdown(verdict, stem.name), stem.with_suffix(".html"): post_html(verdict, stem.name)}
    for place, knife in zip(_cards(stem.name, verdict), verdict.knives, strict=True):
        said[stem.with_name(place)] = knife_text(knife)
    new = {place: words for place, words in said.items() if not _holds(place, words)}
    _check_all(new, replace)
    for place, words in new.items():
        write_file(place, words, place.suffix, replace=_over(place, replace))
    return list(said)


def _holds(place, words):
    """True for a file that holds just these words already: the same cell run again."""
    return place.is_file() and place.read_bytes() == words.encode()


def _over(place, replace):
    """Whether to write over a file: never over a card, which may be the reader's own knife file, kept under this very name."""
    return None if place.suffix == ".toml" else replace


def _check_all(places, replace):
    """Refuse before anything is written, with every place that may not be written to."""
    found = []
    for place in places:
        try:
            checked_place(place, replace=_over(place, replace))
        except KnifeError as error:
            found.append(error)
    if found:
        kind = ThereAlready if all(isinstance(error, ThereAlready) for error in found) else KnifeError
        raise kind([problem for error in found for problem in error.problems])


def post_html(verdict, name="settled"):
    """The page as one HTML text; name: of the files that its code reads."""
    drawn = picture(verdict_picture(verdict), picture_words(verdict))
    cards = "".join(
        f"<details><summary>The card of {text(knife.title)}: save it as {text(card)}</summary><pre>{text(knife_text(knife))}</pre></details>"
        for card, knife in zip(_cards(name, verdict), verdict.knives, strict=True)
    )
    body = "\n".join(
        [
            f"<h1>{text(_title(verdict))}</h1>",
            f"<blockquote>{text(verdict.claim.sentence)}</blockquote><p>Claimed by {text(verdict.claim.says)}. Judged on {text(verdict.title)}.</p>",
            f'<p class="verdict">{text(_verdict(verdict))}</p>',
            f"<p>{text(_decides(verdict))}</p>",
            f"<figure>{drawn}<figcaption>{text(_caption(verdict))}</figcaption></figure>",
            "<h2>Why</h2>",
            f"<p>{text(verdict.claim.why)}</p>",
            "<h2>Numbers</h2>",
            table(["what", "number"], _numbers(verdict)),
            "<h2>Assumed</h2>",
            bullets(_assumed(verdict)),
            "<h2>What would flip it</h2>",
            bullets(verdict.flip_words),
            "<h2>What would decide it</h2>",
            f"<p>{text(verdict.next_words)}</p>",
            "<h2>Recompute it</h2>",
            f"<pre>{text(recompute(verdict, name))}</pre>",
            cards,
            "<h2>Left out</h2>",
            bullets([*verdict.left_out, CAUTIONS["estimate"]]),
        ]
    )
    return page(_title(verdict), body, _PHONE)


def recompute(verdict, name="settled"):
    """The lines of code that give the verdict again, with the knife's card beside them."""
    cards, claim = _cards(name, verdict), verdict.claim
    composed = claim.id.startswith("own:")
    if composed and not claim.made_by:
        raise ValueError("this claim was composed with a function of your own, so a page cannot say how to recompute it; compose it with words or knives")
    chosen = "".join(f', {switch}="{option}"' for switch, option in verdict.options.items() if option != _default(claim, switch))
    names = ("knife", "other")[: len(cards)]
    reads = [f'{each} = dl.read_knife("{card}")' for each, card in zip(names, cards, strict=True)]
    judged = f"dl.judge(claim{'' if claim.knives else ', knife'}{chosen})"
    made = claim.made_by if composed else f'"{claim.id}"'
    return "\n".join(["import detentlib as dl", *reads, f"claim = {made}", f"verdict = {judged}", "print(verdict.word, verdict.figure)"])


def _markdown(verdict, name, inside=True):
    """The page as Markdown; inside: with the picture, whose data stand at the end, below the text, and the card."""
    parts = [
        f"# {in_markdown(_title(verdict))}",
        f"> {in_markdown(verdict.claim.sentence)}",
        f"Claimed by {in_markdown(verdict.claim.says)}. Judged on {in_markdown(verdict.title)}.",
        f"**{_verdict(verdict)}**",
        in_markdown(_decides(verdict)),
        *([f"![{in_markdown(picture_words(verdict))}][picture]"] if inside else []),
        "## Why",
        in_markdown(verdict.claim.why),
        "## Numbers",
        "| what | number |\n|---|---|\n" + "\n".join(f"| {in_markdown(what)} | {in_markdown(number)} |" for what, number in _numbers(verdict)),
        "## Assumed",
        _list(_assumed(verdict)),
        "## What would flip it",
        _list(verdict.flip_words),
        "## What would decide it",
        in_markdown(verdict.next_words),
        "## Recompute it",
        f"```python\n{recompute(verdict, name)}\n```",
    ]
    if inside:
        for card, knife in zip(_cards(name, verdict), verdict.knives, strict=True):
            parts += [f"The card of {in_markdown(knife.title)}, to save as {in_markdown(card)}:", f"```toml\n{knife_text(knife).strip()}\n```"]
    parts += ["## Left out", _list([*verdict.left_out, CAUTIONS["estimate"]])]
    if inside:
        drawn = svg_text(verdict_picture(verdict), picture_words(verdict))
        parts.append(f"[picture]: data:image/svg+xml;base64,{base64.b64encode(drawn.encode()).decode()}")
    return "\n\n".join(parts) + "\n"


def _quoted(markdown):
    """The page as a quotation with small headings, so that it stands apart from the notebook around it."""
    return "\n".join(f"> {line}" for line in re.sub(r"^#+ ", "#### ", markdown, flags=re.MULTILINE).splitlines())


def _stem(verdict, path):
    """The path of the files without a suffix."""
    path = Path(path).expanduser()
    if path.is_dir():
        return path / verdict.claim.id.replace(": ", "-")
    return path.with_suffix("") if path.suffix.lower() in (".md", ".html", ".htm", ".toml") else path


def _cards(name, verdict):
    """Names of the knife files that go with the page."""
    return [f"{name}-{which}.toml" for which in ("knife", "other")[: len(verdict.knives)]]


def _title(verdict):
    return f"An argument settled: {verdict.claim.sentence.rstrip('.')}?" if verdict.word != OPEN else f"Not settled yet: {verdict.claim.sentence.rstrip('.')}?"


def _verdict(verdict):
    return f"Verdict: {verdict.word}" + (" with these instruments" if verdict.word == OPEN else "") + "."


def _decides(verdict):
    return f"{verdict.claim.number.said}: {verdict.decides}"


def _caption(verdict):
    return "The bar holds 95 % of what the card allows. Below it: what each other assumption, by itself, would make of it."


def _numbers(verdict):
    shown = [(verdict.claim.number.said, verdict.figure)]
    shown += [(part.said, value.said(part.unit)) for part, value in verdict.parts]
    return shown


def _assumed(verdict):
    return [*(SWITCHES[name].options[option].said for name, option in verdict.options.items()), *unmeasured(*verdict.knives)]


def _default(claim, switch):
    return claim.start.get(switch, next(iter(SWITCHES[switch].options)))


def _list(sentences):
    return "\n".join(f"- {in_markdown(sentence)}" for sentence in sentences)
