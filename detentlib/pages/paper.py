"""Printed pages: one self-contained HTML file that asks for nothing outside, prints on A4 and Letter, and reads in black and white."""

import base64
from functools import cache

import mistune
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from ..draw.plan import svg_text
from ..files.writing import write_file
from ..knife.plain import in_html as text
from ..knife.plain import in_markdown

_INCH = 25.4
_SAFE = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_STYLE = """
@page { margin: 13mm 14mm 14mm 14mm; }
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { max-width: 182mm; margin: 6mm auto; padding: 0 2mm; color: #000; background: #fff;
  font: 10pt/1.35 "Liberation Sans", Arial, Helvetica, sans-serif; overflow-wrap: break-word; }
h1 { font-size: 17pt; margin: 0 0 1mm 0; }
h2 { font-size: 12.5pt; margin: 6mm 0 1.5mm 0; padding-bottom: 0.5mm; border-bottom: 0.4mm solid #000; break-after: avoid; }
h3 { font-size: 10.5pt; margin: 3.5mm 0 1mm 0; break-after: avoid; }
p { margin: 1mm 0; }
ul, ol { margin: 1mm 0; padding-left: 6mm; }
table { border-collapse: collapse; width: 100%; margin: 1.5mm 0; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { text-align: left; vertical-align: top; padding: 0.7mm 1.6mm; border-bottom: 0.2mm solid #777; }
th { border-bottom: 0.4mm solid #000; }
figure { margin: 2mm 0; break-inside: avoid; }
figcaption { font-size: 9pt; }
img { max-width: 100%; height: auto; display: block; }
pre { font: 8.5pt/1.3 "Liberation Mono", "Courier New", monospace; white-space: pre-wrap; border: 0.2mm solid #777; padding: 2mm; margin: 1.5mm 0; }
math { font-size: 11pt; }
mtable { math-style: normal; }
mtd { text-align: left; padding: 0.6mm 1mm 0.6mm 0; }
.keep { break-inside: avoid; }
.small { font-size: 9pt; }
.blank { display: inline-block; min-width: 24mm; border-bottom: 0.3mm solid #000; }
@media screen and (max-width: 600px) { table { display: block; overflow-x: auto; } }
@media print { body { max-width: none; margin: 0; padding: 0; } }
"""


def page(title, body, style=""):
    """A whole page of HTML as text. title: plain text. body: HTML, its own texts already escaped. style: more CSS.

    >>> "<title>A &amp; B</title>" in page("A & B", "<p>text</p>")
    True
    """
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_SAFE}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{text(title)}</title>\n<style>{_STYLE}{style}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def fill(name: str, escape=None, /, **values) -> str:
    """A page from a template of this folder: every text is escaped for HTML or Markdown, but what is `Markup` already.

    name: ends in .html or .md. escape: another function that makes a text safe.
    """
    usual = in_markdown if name.endswith(".md") else text
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


def from_markdown(title: str, markdown: str, style: str = "") -> str:
    """A whole page of HTML from Markdown that is safe to show; a file of TOML in it is folded away.

    >>> "<strong>Yes.</strong>" in from_markdown("A", "**Yes.**")
    True
    """
    return page(title, mistune.create_markdown(renderer=_Renderer(), plugins=["table"])(markdown), style)


class _Renderer(mistune.HTMLRenderer):
    """HTML of Markdown whose texts are safe already and whose pictures are inside it."""

    def __init__(self):
        super().__init__(escape=False, allow_harmful_protocols=["data:"])

    def block_code(self, code, info=None):
        shown = f"<pre>{text(code)}</pre>\n"
        return f"<details><summary>Show the file</summary>{shown}</details>\n" if info == "toml" else shown


def drawn(figure, alt: str) -> str:
    """A matplotlib Figure as an address that holds the picture itself; alt: what it shows, in words."""
    return f"data:image/svg+xml;base64,{base64.b64encode(svg_text(figure, alt).encode()).decode()}"


def picture(figure, alt):
    """A matplotlib Figure as an image inside the page, at the size it was made for; alt: what it shows, in words."""
    return f'<img alt="{text(alt)}" style="width:{figure.get_figwidth() * _INCH:.1f}mm" src="{drawn(figure, alt)}">'


def table(head, rows):
    """A table of plain texts; head: its first row, repeated on every sheet of paper; a cell that is `Marked` is HTML already.

    >>> table(["what"], [["<b>"]])
    '<table><thead><tr><th>what</th></tr></thead><tbody><tr><td>&lt;b&gt;</td></tr></tbody></table>'
    """
    inside = "".join(f"<tr>{_cells('td', row)}</tr>" for row in rows)
    return f"<table><thead><tr>{_cells('th', head)}</tr></thead><tbody>{inside}</tbody></table>"


def bullets(sentences):
    """A list of plain sentences."""
    return f"<ul>{_cells('li', sentences)}</ul>"


class Marked(str):
    """Text that is HTML already, and so is not escaped again."""


def save(path, page, replace=False):
    """Write a page of HTML; KnifeError like `write_file` where a file is there already and replace is not True, or it cannot be written."""
    write_file(path, page, ".html", ".htm", replace=replace)


def _cells(tag, row):
    return "".join(f"<{tag}>{cell if isinstance(cell, Marked) else text(cell)}</{tag}>" for cell in row)
