"""Settle notebooks: run each from top to bottom and store only what a reader and git should see.

python tests/notebooks/settle.py                 every notebook
python tests/notebooks/settle.py 01_one_ball     the named ones

Printed numbers, formulas and the still pictures of panels are kept, and the code is folded. Widget views, widget state,
timings and what an editor adds to the metadata go. Settling a settled notebook changes nothing.
"""

import argparse
import os
import re
import sys
from pathlib import Path

import nbformat.v4
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
KERNEL = {
    "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}
FOLDED = {"jupyter": {"source_hidden": True}}  # of a code cell: it shows its first line until somebody opens it
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"
CELL_ID = re.compile(r"[a-zA-Z0-9-_]{1,64}")


os.environ["DETENT_DEMO_ONLY"] = "1"  # what is stored is the demo, whatever knife its reader has chosen


def run(notebook, folder):
    """Run every cell in a fresh kernel that works in the given folder; a cell that raises is a CellExecutionError."""
    NotebookClient(
        notebook,
        kernel_name="python3",
        timeout=None,
        record_timing=False,
        store_widget_state=False,
        coalesce_streams=True,
        resources={"metadata": {"path": str(folder)}},
    ).execute()


def tidy(notebook):
    """Keep tags, text and stills with their words, and fold the code; a cell keeps its id if that is valid and its own,
    so that inserting cells moves no other.
    """
    notebook.metadata = nbformat.from_dict(KERNEL)
    notebook.nbformat, notebook.nbformat_minor = 4, 5
    for cell, cell_id in zip(notebook.cells, _ids(notebook.cells), strict=True):
        cell["id"] = cell_id
        tags = {key: value for key, value in cell.metadata.items() if key == "tags" and value}
        cell.metadata = nbformat.from_dict(tags | (FOLDED if cell.cell_type == "code" else {}))
        for output in cell.get("outputs", []):
            if "data" in output:
                output.data.pop(WIDGET_VIEW, None)
                output.metadata = nbformat.from_dict(worded(output.metadata))


def worded(metadata):
    """Of the metadata of an output, only what a still shows in words, for who cannot see it."""
    return {kind: {"alt": kept["alt"]} for kind, kept in metadata.items() if isinstance(kept, dict) and "alt" in kept}


def _ids(cells):
    """One id a cell: its own where it can be kept, else the next free cell-NNN."""
    kept = [cell.get("id", "") for cell in cells]
    kept = [each if CELL_ID.fullmatch(each) and each not in kept[:i] else None for i, each in enumerate(kept)]
    free = (name for name in (f"cell-{n:03d}" for n in range(1000)) if name not in kept)
    return [each or next(free) for each in kept]


def settle(path):
    """Settle one notebook file; return whether the file changed."""
    before = path.read_text(encoding="utf-8")
    notebook = nbformat.v4.reads(before)
    run(notebook, path.parent)
    tidy(notebook)
    nbformat.validate(notebook)
    after = nbformat.v4.writes(notebook) + "\n"
    if after != before:
        path.write_text(after, encoding="utf-8")
    return after != before


def main(names):
    """Settle the named notebooks, or all; return the number that failed."""
    paths = [NOTEBOOKS / f"{Path(name).stem}.ipynb" for name in names] or sorted(NOTEBOOKS.glob("*.ipynb"))
    failed = 0
    for path in paths:
        try:
            print(path.name, "settled" if settle(path) else "was settled")
        except (CellExecutionError, OSError) as problem:
            failed += 1
            print(path.name, "NOT settled:", problem, file=sys.stderr)
    return failed


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*", help="notebooks to settle; none means all")
    sys.exit(bool(main(parser.parse_args().names)))
