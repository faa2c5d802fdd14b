"""What the library says of itself, as tables: `python -m tests.documents rooms`, `... register` and `... referees`,
which runs the tests that it tells of.
"""

import ast
import json
import re
import sys
from pathlib import Path

from detentlib import formulas
from tests import referees as outside

ROOT = Path(__file__).resolve().parents[1]


def first_sentence(path):
    """The first line of a module's docstring."""
    return ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))).splitlines()[0]


def table(head, rows):
    """A Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in line)} |" for line in lines)


def rooms():
    """Every room of the library and every module in it, each with the first line of its docstring."""
    home = ROOT / "detentlib"
    rows = []
    for room in sorted(path.parent for path in home.rglob("__init__.py")):
        paths = sorted(room.glob("*.py"))  # __init__.py comes first
        rows += [
            [str(room.relative_to(home)), "" if path.name == "__init__.py" else f"`{path.name}`", first_sentence(path)]
            for path in paths
        ]
    return table(["room", "module", "what it does"], rows)


def register():
    """Every formula with where it is derived, taught and checked."""
    checks = {path.stem: path.read_text(encoding="utf-8") for path in sorted((ROOT / "tests").rglob("test_*.py"))}
    pages = {path.stem[:2]: _said(path) for path in sorted((ROOT / "notebooks").glob("*.ipynb"))}
    rows = [
        [id, each.title, f"`{each.module}.py`", _where(id, pages), each.source, _where(f'"{id}"', checks)]
        for id, each in ((id, formulas[id]) for id in formulas)
    ]
    return table(["ID", "title", "derived in", "notebook", "source", "checked in"], rows)


def referees():
    """What outside the model checks each formula and each name, with the worst difference seen now; and what nothing
    checks.
    """
    checked = table(["formula or name", "checked by", "which", "worst difference"], outside.rows())
    return checked + "\n\n" + table(["not checked by any", "because each"], map(reversed, outside.WITHOUT.items()))


def _said(path):
    """What the cells of a notebook say, without what they printed."""
    return "\n".join("".join(cell["source"]) for cell in json.loads(path.read_text(encoding="utf-8"))["cells"])


def _where(words, texts):
    """Names of the texts that hold the words, not as a part of a longer word."""
    whole = re.compile(rf"(?<!\w){re.escape(words)}(?!\w)")
    return ", ".join(name for name, text in texts.items() if whole.search(text))


TABLES = {"rooms": rooms, "register": register, "referees": referees}


if __name__ == "__main__":
    print("\n\n".join(TABLES[name]() for name in sys.argv[1:] or TABLES))
