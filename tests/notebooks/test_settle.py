"""Settling keeps what a reader needs, drops the rest, and repeats itself byte for byte."""

import nbformat.v4
import pytest

from tests.notebooks import settle

PANEL = """\
import ipywidgets
class Panel(ipywidgets.VBox):
    def _repr_mimebundle_(self, **keys):
        told = {"image/png": {"alt": "a circle", "width": 20}}
        return {**super()._repr_mimebundle_(**keys), "image/png": "aGVsbG8="}, told
Panel()"""


@pytest.fixture
def messy(tmp_path):
    """A notebook as an editor saves it: stray numbers, metadata, two equal ids and one that is not allowed."""
    cells = [
        nbformat.v4.new_markdown_cell("# Title", id="title"),
        nbformat.v4.new_code_cell(
            "print('one')\nprint('two')\n2 * 3", id="mine", execution_count=12, metadata={"scrolled": True}
        ),
        nbformat.v4.new_code_cell(PANEL, id="mine", metadata={"tags": []}),
        nbformat.v4.new_code_cell("print(open('side.txt').read())", id="cell-000"),
    ]
    path = tmp_path / "messy.ipynb"
    notebook = nbformat.v4.new_notebook(metadata={"widgets": {"state": 1}})
    notebook.cells = cells
    path.write_text(nbformat.v4.writes(notebook), encoding="utf-8")
    (tmp_path / "side.txt").write_text("beside the notebook", encoding="utf-8")
    return path


def test_settled_once_stays_settled(messy):
    assert settle.settle(messy)
    first = messy.read_bytes()
    assert not settle.settle(messy)
    assert messy.read_bytes() == first


def test_what_is_kept_and_what_goes(messy):
    settle.settle(messy)
    notebook = nbformat.read(messy, as_version=nbformat.NO_CONVERT)
    _, printed, panel, beside = notebook.cells
    assert notebook.metadata == settle.KERNEL
    assert [cell["id"] for cell in notebook.cells] == ["title", "mine", "cell-001", "cell-000"]
    assert all(cell.metadata == (settle.FOLDED if cell.cell_type == "code" else {}) for cell in notebook.cells)
    assert [cell.execution_count for cell in (printed, panel, beside)] == [1, 2, 3]
    assert printed.outputs[0].text == "one\ntwo\n"
    assert printed.outputs[1].data["text/plain"] == "6"
    assert set(panel.outputs[0].data) == {"text/plain", "image/png"}
    assert panel.outputs[0].metadata == {"image/png": {"alt": "a circle"}}
    assert beside.outputs[0].text == "beside the notebook\n"


def test_inserting_a_cell_moves_no_other_id(messy):
    settle.settle(messy)
    notebook = nbformat.v4.reads(messy.read_text(encoding="utf-8"))
    before = [cell["id"] for cell in notebook.cells]
    notebook.cells.insert(1, nbformat.v4.new_markdown_cell("more", id="cell-002"))
    settle.tidy(notebook)
    assert [cell["id"] for cell in notebook.cells if cell["id"] != "cell-002"] == before


def test_a_failing_notebook_is_named_and_left_alone(messy, monkeypatch, capsys):
    notebook = nbformat.v4.reads(messy.read_text(encoding="utf-8"))
    notebook.cells.append(nbformat.v4.new_code_cell("1 / 0"))
    messy.write_text(nbformat.v4.writes(notebook), encoding="utf-8")
    before = messy.read_bytes()
    monkeypatch.setattr(settle, "NOTEBOOKS", messy.parent)
    assert settle.main(["messy"]) == 1
    assert "messy.ipynb NOT settled" in capsys.readouterr().err
    assert messy.read_bytes() == before
