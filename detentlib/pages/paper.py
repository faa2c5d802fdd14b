"""Printed pages: one self-contained HTML file that asks for nothing outside, prints on A4 and Letter, and reads in
black and white.
"""

import base64
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import mistune
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from ..draw.plan import svg_text
from ..files.writing import checked_place, write_file
from ..knife.plain import in_html as text
from ..knife.plain import in_markdown

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_INCH = 25.4
_ENDINGS = (".html", ".htm")


def page(title: str, body: str) -> str:
    """A whole page of HTML as text. title: plain text. body: HTML, its own texts already escaped.

    >>> "<title>A &amp; B</title>" in page("A & B", "<p>text</p>")
    True
    """
    return fill("page.html", title=title, body=Markup(body))


def fill(name: str, escape: Callable[[object], str] | None = None, /, **values: object) -> str:
    """A page from a template of this folder: every text is escaped for HTML or Markdown, but what is `Markup` already.

    name: ends in .html or .md. escape: another function that makes a text safe.
    """
    usual = in_markdown if Path(name).suffix == ".md" else text
    return _templates(escape or usual).get_template(name).render(values)


@cache
def _templates(escape):
    """The templates of this folder, whose texts go through `escape`."""

    def safe(said):
        return said if isinstance(said, Markup) else Markup(escape(said))

    return Environment(
        loader=PackageLoader(__package__, ""),
        autoescape=True,
        finalize=safe,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def from_markdown(title: str, markdown: str) -> str:
    """A whole page of HTML from Markdown that is safe to show; a file of TOML in it is folded away.

    >>> "<strong>Yes.</strong>" in from_markdown("A", "**Yes.**")
    True
    """
    return page(title, mistune.create_markdown(renderer=_Renderer(), plugins=["table"])(markdown))


class _Renderer(mistune.HTMLRenderer):
    """HTML of Markdown whose texts are safe already and whose pictures are inside it."""

    def __init__(self):
        super().__init__(escape=False, allow_harmful_protocols=["data:"])

    def block_code(self, code, info=None):
        shown = f"<pre>{text(code)}</pre>\n"
        return f"<details><summary>Show the file</summary>{shown}</details>\n" if info == "toml" else shown


def drawn(figure: "Figure", alt: str) -> str:
    """A matplotlib Figure as an address that holds the picture itself; alt: what it shows, in words."""
    return f"data:image/svg+xml;base64,{base64.b64encode(svg_text(figure, alt).encode()).decode()}"


def picture(figure: "Figure", alt: str) -> Markup:
    """A matplotlib Figure as an image inside the page, at the size it was made for; alt: what it shows, in words."""
    return Markup(
        f'<img alt="{text(alt)}" style="width:{figure.get_figwidth() * _INCH:.1f}mm" src="{drawn(figure, alt)}">'
    )


def bullets(sentences: Iterable[str]) -> str:
    """A list of plain sentences."""
    return f"<ul>{''.join(f'<li>{text(said)}</li>' for said in sentences)}</ul>"


def save(path: str | Path, made: Callable[[], str], replace: bool = False) -> None:
    """Write the page of HTML that `made` gives.

    KnifeError like `write_file` where a file is there already and replace is not True, or it cannot be written: before
    the page is worked out, which takes a while.
    """
    checked_place(path, *_ENDINGS, replace=replace)
    write_file(path, made(), *_ENDINGS, replace=replace)
