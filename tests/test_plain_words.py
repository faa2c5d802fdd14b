"""Words for readers name no code: what is shown outside cells is for people who do not program."""

import ast
import re
from pathlib import Path

import nbformat

import detentlib as dl
from detentlib.draw.story import Story

from .knives import A

HOME = Path(dl.__file__).parents[1]
CODE = re.compile(r"\bdl\.|\bFeel\b|\bread_knife\b")
# these write code to be run: how a page is recomputed, a claim as its composer would type it, names of the library's
# rooms
WRITES_CODE = ("pages/post.py", "argue/own.py", "__init__.py")


def shown(path):
    """Every text of a module but its docstrings, its type hints and the short forms that Python asks for."""
    tree, left_out = ast.parse(path.read_text(encoding="utf-8")), set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list) and body and isinstance(body[0], ast.Expr):
            left_out.add(body[0].value)
        if isinstance(node, ast.FunctionDef) and node.name == "__repr__":
            left_out |= set(ast.walk(node))
        for hint in (getattr(node, "annotation", None), getattr(node, "returns", None)):
            left_out |= set(ast.walk(hint)) if hint else set()
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in left_out
    ]


def test_no_message_and_no_page_names_code():
    modules = [path for path in (HOME / "detentlib").rglob("*.py") if not path.as_posix().endswith(WRITES_CODE)]
    pages = list((HOME / "detentlib").rglob("*.html"))
    assert modules
    assert pages
    texts = {path: shown(path) for path in modules} | {path: [path.read_text(encoding="utf-8")] for path in pages}
    assert [(path.name, text) for path, found in texts.items() for text in found if CODE.search(text)] == []


def test_no_text_of_a_notebook_names_code():
    cells = {path.stem: nbformat.read(path, as_version=4).cells for path in (HOME / "notebooks").glob("*.ipynb")}
    assert cells
    texts = [(name, cell.source) for name, found in cells.items() for cell in found if cell.cell_type == "markdown"]
    assert [(name, text) for name, text in texts if CODE.search(text)] == []


def test_a_panel_with_more_than_one_flag_says_where_the_others_stand():
    knife = A.replace(
        {
            "balls[0].recess.off_track": 0.05,
            "friction.rim": 0.35,
            "blade.opening_deg": 170.0,
            "balls[0].recess.rest_offset": -0.03,
        }
    )
    flags = dl.feel(knife).flags
    assert len(flags) > 1
    said = Story(knife, 6.0).warning()
    assert flags[0].rstrip(".") in said
    assert f"and {len(flags) - 1} more" in said
    assert "notebook 00" in said
