"""Every notebook keeps the house rules, and each rule catches what it is there for."""

import base64
import re

import nbformat.v4
import pytest

from detentlib.files.fields import knife_from_fields
from detentlib.lesson import around_the_tang, one_spring, two_balls
from detentlib.say.cautions import caution_list
from tests.knives import CARDS
from tests.notebooks import rules, settle

NOTEBOOKS = sorted(settle.NOTEBOOKS.glob("*.ipynb"))
SPINE = ["Predict", "Move the slider", "Explain", "Check yourself", "At the bench", "Where this stops being true"]


def test_there_is_a_notebook():
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
@pytest.mark.parametrize("rule", rules.RULES, ids=lambda rule: rule.__name__)
def test_notebook_keeps_the_rule(rule, path):
    notebook = nbformat.read(path, as_version=nbformat.NO_CONVERT)
    assert list(rule(notebook, path)) == []


@pytest.fixture
def place(tmp_path):
    """The file of a notebook in a made-up house with one picture and one other notebook."""
    for name in ("figures/bar.svg", "notebooks/02_next.ipynb"):
        (tmp_path / name).parent.mkdir()
        (tmp_path / name).touch()
    return tmp_path / "notebooks" / "01_one.ipynb"


WITH_WORDS = {"image/png": {"alt": "a bar"}}


def _text(source):
    return nbformat.v4.new_markdown_cell(source)


def _code(source="1 + 1", outputs=(), count=1, **metadata):
    return nbformat.v4.new_code_cell(
        source, outputs=list(outputs), execution_count=count, metadata=settle.FOLDED | metadata
    )


def _shown(data, **metadata):
    return nbformat.v4.new_output("display_data", data, metadata=metadata)


def _notebook(*cells):
    """A sound notebook with these cells added at its end."""
    sound = [_text("# 1. One ball"), _code(), *(_text(f"## {heading}") for heading in SPINE)]
    sound.append(
        _text(
            "![a bar](../figures/bar.svg) [next](02_next.ipynb#top) <details><summary>Hint</summary>the rim</details>"
        )
    )
    return nbformat.v4.new_notebook(cells=[*sound, *cells], metadata=settle.KERNEL)


def _with_more(*after):
    """With the heading for what not everybody needs after each of these headings."""
    notebook = _notebook()
    for heading in after:
        at = next(i for i, cell in enumerate(notebook.cells) if cell.source == f"## {heading}")
        notebook.cells.insert(at + 1, _text("## If you want more"))
    return notebook


def _without(heading):
    notebook = _notebook()
    notebook.cells = [cell for cell in notebook.cells if cell.source != f"## {heading}"]
    return notebook


def _swapped():
    notebook = _notebook()
    notebook.cells[2], notebook.cells[3] = notebook.cells[3], notebook.cells[2]
    return notebook


def _twin_ids():
    notebook = _notebook()
    notebook.cells[0]["id"] = notebook.cells[1]["id"]
    return notebook


def _with_metadata():
    return nbformat.v4.new_notebook(cells=_notebook().cells, metadata={**settle.KERNEL, "widgets": {}})


@pytest.mark.parametrize("rule", rules.RULES, ids=lambda rule: rule.__name__)
def test_a_sound_notebook_breaks_no_rule(rule, place):
    assert list(rule(_notebook(), place)) == []


TRAPS = {
    "not run": (rules.run_in_order, _notebook(_code(count=None))),
    "run out of order": (rules.run_in_order, _notebook(_code(count=7))),
    "error stored": (
        rules.clean_outputs,
        _notebook(_code(outputs=[nbformat.v4.new_output("error", ename="E", evalue="", traceback=[])])),
    ),
    "warning stored": (
        rules.clean_outputs,
        _notebook(_code(outputs=[nbformat.v4.new_output("stream", name="stderr", text="careful")])),
    ),
    "widget view": (rules.clean_outputs, _notebook(_code(outputs=[_shown({settle.WIDGET_VIEW: {}})]))),
    "output metadata": (rules.clean_outputs, _notebook(_code(outputs=[_shown({}, needs_background="light")]))),
    "address": (rules.clean_outputs, _notebook(_code(outputs=[_shown({"text/plain": "<Ball at 0x7f1234567890>"})]))),
    "widget state": (rules.bare_metadata, _with_metadata()),
    "code in full": (rules.bare_metadata, _notebook(_code(jupyter={}))),
    "twin ids": (rules.bare_metadata, _twin_ids()),
    "timing": (rules.bare_metadata, _notebook(_code(execution={"iopub.execute_input": "12:00"}))),
    "output ignored by tag": (rules.compared, _notebook(_code(tags=["nbval-ignore-output"]))),
    "cell skipped by comment": (rules.compared, _notebook(_code("# NBVAL_SKIP\n1 + 1"))),
    "many cells": (rules.short_cells, _notebook(*(_code() for _ in range(16)))),
    "long cell": (rules.short_cells, _notebook(_code("x = 1\n" * 9))),
    "long line": (rules.short_cells, _notebook(_code("x = 1" + " " * 70))),
    "def": (rules.plain_code, _notebook(_code("def f():\n    pass"))),
    "class": (rules.plain_code, _notebook(_code("class Ball:\n    pass"))),
    "star import": (rules.plain_code, _notebook(_code("from detentlib import *"))),
    "blank": (rules.plain_code, _notebook(_code("my_seed, marks_file = 3, None"))),
    "magic": (rules.plain_code, _notebook(_code("%matplotlib inline"))),
    "shell": (rules.plain_code, _notebook(_code("!ls"))),
    "plot": (rules.plain_code, _notebook(_code("ax.plot(x)"))),
    "pyplot": (rules.plain_code, _notebook(_code("from matplotlib import pyplot"))),
    "formula in a hint": (rules.plain_details, _notebook(_text("<details>\n$F = 1$\n</details>"))),
    "code in a hint": (rules.plain_details, _notebook(_text("<details>\n```\nx\n```\n</details>"))),
    "no such picture": (rules.pictures_there, _notebook(_text("![a ball](../figures/ball.svg)"))),
    "picture from elsewhere": (rules.pictures_there, _notebook(_text("![a bar](bar.svg)"))),
    "picture without words": (rules.pictures_there, _notebook(_text("![](../figures/bar.svg)"))),
    "picture as a tag": (rules.pictures_there, _notebook(_text('<img src="../figures/bar.svg">'))),
    "dead link": (rules.links_there, _notebook(_text("[later](09_later.ipynb)"))),
    "no title": (rules.has_spine, nbformat.v4.new_notebook(cells=_notebook().cells[1:])),
    "swapped headings": (rules.has_spine, _swapped()),
    "heading twice": (rules.has_spine, _notebook(_text("## Predict"))),
    "more at the end": (rules.has_spine, _notebook(_text("## If you want more"))),
    "more amid the page": (rules.has_spine, _with_more("Explain")),
    "more twice": (rules.has_spine, _with_more("Check yourself", "Check yourself")),
    "big still": (
        rules.small_stills,
        _notebook(_code(outputs=[_shown({"image/png": base64.b64encode(bytes(20_001)).decode()}, **WITH_WORDS)])),
    ),
    "still without words": (rules.small_stills, _notebook(_code(outputs=[_shown({"image/png": "aGVsbG8="})]))),
    "svg output": (rules.small_stills, _notebook(_code(outputs=[_shown({"image/svg+xml": "<svg/>"})]))),
    **{f"no {heading}": (rules.has_spine, _without(heading)) for heading in SPINE},
}


def test_more_may_stand_before_the_bench(place):
    assert list(rules.has_spine(_with_more("Check yourself"), place)) == []


@pytest.mark.parametrize("trap", TRAPS)
def test_the_rule_catches(trap, place):
    rule, notebook = TRAPS[trap]
    assert list(rule(notebook, place))


def test_every_rule_has_a_trap():
    assert {rule for rule, _ in TRAPS.values()} | {rules.cautions_shown} == set(rules.RULES)


@pytest.mark.parametrize("name", ["00_start_here", "07_measure_a_knife", "08_tune_a_knife"])
def test_missing_cautions_are_seen(name, place):
    some = caution_list("edge", "eyes")
    shown, cut_short = (
        _notebook(_code(outputs=[_shown({"text/markdown": words})])) for words in (caution_list(), some)
    )
    assert list(rules.cautions_shown(shown, place.with_stem(name))) == []
    assert list(rules.cautions_shown(cut_short, place.with_stem(name)))


def test_the_first_notebook_has_its_own_spine(place):
    cells = [_text("# Start here"), *(_text(f"## {heading}") for heading in rules.START_SPINE)]
    start = place.with_name("00_start_here.ipynb")
    assert list(rules.has_spine(nbformat.v4.new_notebook(cells=cells), start)) == []
    assert list(rules.has_spine(nbformat.v4.new_notebook(cells=cells[:-1]), start))


def test_a_path_of_this_machine_is_seen(place):
    output = nbformat.v4.new_output("stream", name="stdout", text=f"read {place.parent}/knives/a.toml")
    assert list(rules.clean_outputs(_notebook(_code(outputs=[output])), place))


def test_what_only_some_cards_have_a_slider_for_is_named_so():
    """A knife of four numbers, and the demo: what the demo moves beyond it stands in the words beside its card."""
    few = knife_from_fields(
        {"balls[0].diameter": 1.59, "balls[0].protrusion": 0.43, "balls[0].recess.diameter": 1.35}, "four numbers"
    )
    only = {
        "02_one_spring": _sliders(one_spring(CARDS["A"])) - _sliders(one_spring(few)),
        "04_two_balls_one_spring": _sliders(two_balls(CARDS["B"])) - _sliders(two_balls(few)),
        "06_around_the_tang": _sliders(around_the_tang(CARDS["B"])) - _sliders(around_the_tang(few)),
    }
    for name, labels in only.items():
        assert labels
        text = "\n".join(
            cell.source
            for cell in nbformat.read(settle.NOTEBOOKS / f"{name}.ipynb", 4).cells
            if cell.cell_type == "markdown"
        )
        for label in labels:
            for sentence in re.findall(rf"[^.;]*\*{label.partition(',')[0]}\*[^.]*", text):
                assert "card" in sentence, sentence


def _sliders(panel):
    return {num.control.label for num in panel._nums.values()}
