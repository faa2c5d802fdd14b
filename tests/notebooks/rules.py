"""The house rules of a notebook, one function a rule: it takes the notebook and its file and yields what breaks the
rule.
"""

import ast
import base64
import re
from itertools import pairwise

from detentlib.say.cautions import caution_list
from tests.notebooks import settle

MOST_CODE_CELLS = 16
MOST_LINES = 8
LINE_WIDTH = 74  # a longer line of code is cut off on paper
STILL_BYTES = 20_000

SPINE = ("Predict", "Move", "Explain|Why", "Check yourself", "At the bench", "Where this stops being true")
MORE = "If you want more"  # where a page has it: after what everybody reads, before the bench
NO_LESSON = "words_and_letters"  # to look things up in
START_SPINE = ("At the bench", "Cautions", "Where this stops being true")
PLOTTING = re.compile(r"matplotlib|pyplot|\bplt\b|\bFigure\(|\.(?:plot|scatter|imshow|savefig|subplots)\(")
WITH_CAUTIONS = ("00", "07", "08")
OUTSIDE = re.compile(r"[a-z]+:")


def _code(notebook):
    """Each code cell with its number among all cells."""
    return [(n, cell) for n, cell in enumerate(notebook.cells, start=1) if cell.cell_type == "code"]


def _texts(notebook):
    """Each text cell with its number among all cells."""
    return [(n, cell.source) for n, cell in enumerate(notebook.cells, start=1) if cell.cell_type == "markdown"]


def run_in_order(notebook, path):
    """Every code cell was run, once, from top to bottom, so that each stored number is compared."""
    counts = [cell.execution_count for _, cell in _code(notebook)]
    if counts != list(range(1, len(counts) + 1)):
        yield f"cells were run in the order {counts}: settle it"


def clean_outputs(notebook, path):
    """Stored outputs hold no error, no warning, no widget view, no address and nothing of the machine it ran on."""
    for n, cell in _code(notebook):
        for output in cell.outputs:
            if output.output_type == "error" or output.get("name") == "stderr":
                yield f"cell {n} stores an error or a warning"
            kept = output.get("metadata", {})
            if settle.WIDGET_VIEW in output.get("data", {}) or kept != settle.worded(kept):
                yield f"cell {n} stores a widget view or metadata: settle it"
            text = output.get("text", "") + output.get("data", {}).get("text/plain", "")
            if re.search(r"0x[0-9a-f]{6,}", text) or str(path.parent.parent) in text:
                yield f"cell {n} prints an address or a path of this machine"


def bare_metadata(notebook, path):
    """Nothing an editor adds is stored: the kernel, tags, folded code, and an id a cell."""
    if notebook.metadata != settle.KERNEL:
        yield "the notebook's metadata is more than the kernel: settle it"
    ids = [cell.get("id") for cell in notebook.cells]
    if None in ids or len(set(ids)) != len(ids):
        yield "cells share an id or have none: settle it"
    for n, cell in enumerate(notebook.cells, start=1):
        folded = settle.FOLDED if cell.cell_type == "code" else {}
        if {key: value for key, value in cell.metadata.items() if key != "tags"} != folded or cell.get("attachments"):
            yield f"cell {n} has code that is not folded, metadata beyond that, or a picture pasted in: settle it"


def compared(notebook, path):
    """No tag takes a cell out of the run or its numbers out of the comparison."""
    for n, cell in _code(notebook):
        if cell.metadata.get("tags") or "nbval" in cell.source.lower():
            yield f"cell {n} has a tag or a marker: every cell runs and is compared"


def short_cells(notebook, path):
    """At most 16 code cells, of at most 8 lines, of at most 74 characters."""
    if len(_code(notebook)) > MOST_CODE_CELLS:
        yield f"{len(_code(notebook))} code cells: at most {MOST_CODE_CELLS}"
    for n, cell in _code(notebook):
        lines = cell.source.splitlines()
        if len(lines) > MOST_LINES:
            yield f"cell {n} has {len(lines)} lines: at most {MOST_LINES}"
        yield from (
            f"cell {n}: {len(line)} characters in a line, at most {LINE_WIDTH}"
            for line in lines
            if len(line) > LINE_WIDTH
        )


def plain_code(notebook, path):
    """Code to read, not to program: no def, class, star import, magic or plotting, and nothing to fill in."""
    for n, cell in _code(notebook):
        if PLOTTING.search(cell.source):
            yield f"cell {n} draws: drawing belongs in detentlib.draw"
        try:
            nodes = list(ast.walk(ast.parse(cell.source)))
        except SyntaxError:
            yield f"cell {n} is not plain Python"
            continue
        for node in nodes:
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
                yield f"cell {n} defines {node.name}: it belongs in detentlib"
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store) and node.id.startswith("my_"):
                yield f"cell {n} leaves {node.id} to fill in: give it a box"
            if (
                isinstance(node, ast.ImportFrom)
                and node.module.startswith("detentlib")
                and node.module != "detentlib.lesson"
            ):
                yield f"cell {n} imports from {node.module}: only detentlib.lesson gives names to a notebook"
            if isinstance(node, ast.ImportFrom) and node.names[0].name == "*":
                yield f"cell {n} imports everything: name what is used"


def plain_details(notebook, path):
    """A hint that opens holds words only: formulas and code blocks do not show inside <details> everywhere."""
    for n, source in _texts(notebook):
        for inside in re.findall(r"<details.*?</details>", source, re.S):
            if "$" in inside or "\\(" in inside or "```" in inside:
                yield f"cell {n} has a formula or a code block inside <details>"


def pictures_there(notebook, path):
    """A picture in the text is an SVG of figures/ that exists, with words for those who cannot see it."""
    for n, source in _texts(notebook):
        for words, target in re.findall(r"!\[([^\]]*)\]\(([^)\s]+)[^)]*\)", source):
            if not re.fullmatch(r"\.\./figures/[\w-]+\.svg", target) or not (path.parent / target).is_file():
                yield f"cell {n}: no picture {target} in ../figures/"
            if not words.strip():
                yield f"cell {n}: {target} has no alternative text"
        if "<img" in source:
            yield f"cell {n}: write a picture as ![words](../figures/name.svg)"


def links_there(notebook, path):
    """A link leads to a file that exists."""
    for n, source in _texts(notebook):
        for target in re.findall(r"(?<!!)\[[^\]]*\]\(([^)\s]+)[^)]*\)", source):
            name = target.split("#")[0]
            if name and not OUTSIDE.match(name) and not (path.parent / name).exists():
                yield f"cell {n} links to {name}, which is not there"


def has_spine(notebook, path):
    """A title first, then the headings that every notebook has, each once and in this order."""
    texts = _texts(notebook)
    if not texts or texts[0][0] != 1 or not re.match(r"# \S", texts[0][1]):
        yield "the first cell is not a title"
    if path.stem == NO_LESSON:
        return
    lines = [line for _, source in texts for line in source.splitlines() if re.match(r"##+ ", line)]
    headings, sections = (
        [line.lstrip("#").strip() for line in lines if line.startswith(mark)] for mark in ("##", "## ")
    )
    spine = START_SPINE if path.stem.startswith("00") else SPINE
    places = [[i for i, heading in enumerate(headings) if re.match(rf"(?:{wanted})\b", heading)] for wanted in spine]
    yield from (
        f"{len(found)} headings start with {wanted}: one should"
        for wanted, found in zip(spine, places, strict=True)
        if len(found) != 1
    )
    if any(a and b and a[0] > b[0] for a, b in pairwise(places)):
        yield f"headings are not in the order {', '.join(spine)}"
    follows = [after for section, after in pairwise(sections) if section == MORE]
    if MORE in headings and follows != ["At the bench"]:
        yield f"{MORE} stands once, right before At the bench"


def cautions_shown(notebook, path):
    """Where a reader starts, measures or cuts, every caution is on the page."""
    shown = [output.get("data", {}).get("text/markdown") for _, cell in _code(notebook) for output in cell.outputs]
    if path.stem.startswith(WITH_CAUTIONS) and caution_list() not in shown:
        yield "the cautions are not shown: call cautions()"


def small_stills(notebook, path):
    """A stored picture is a PNG of at most 20 kB, with words for those who cannot see it."""
    for n, cell in _code(notebook):
        for output in cell.outputs:
            for kind, data in output.get("data", {}).items():
                if kind == "image/png" and len(base64.b64decode(data)) > STILL_BYTES:
                    yield f"cell {n}: the still has {len(base64.b64decode(data))} bytes, at most {STILL_BYTES}"
                if kind == "image/png" and not output.metadata.get(kind, {}).get("alt"):
                    yield f"cell {n}: the still has no alternative text"
                if kind.startswith("image/") and kind != "image/png":
                    yield f"cell {n} stores {kind}: a still is a PNG"


RULES = (
    run_in_order,
    clean_outputs,
    bare_metadata,
    compared,
    short_cells,
    plain_code,
    plain_details,
    pictures_there,
    links_there,
    has_spine,
    cautions_shown,
    small_stills,
)
