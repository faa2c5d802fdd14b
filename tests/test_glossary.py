"""The page of words and letters: nothing that a reader may meet is missing."""

import contextlib
import io
import re
import tomllib
from pathlib import Path

import pytest

import detentlib as dl
from detentlib.derivations.formulas import Formula
from detentlib.lesson import letters, words


@pytest.fixture(scope="module")
def lettered():
    """The rows of the letters, worked out once."""
    with contextlib.redirect_stdout(io.StringIO()) as out:
        letters()
    return out.getvalue().splitlines()


@pytest.mark.parametrize("id", dl.formulas)
def test_every_letter_of_a_formula_is_explained(id, lettered):
    entry = dl.formulas[id]
    named = [symbol.latex for symbol in entry.symbols.values()]
    named += [entry.letter(name) for name in entry.results] if isinstance(entry, Formula) else []
    missing = [letter for letter in named if not any(f"${letter}$" in row and id in row for row in lettered)]
    assert not missing


def test_units_are_those_of_nist_sp_811(capsys):
    """NIST SP 811 (2008), appendix B.8: the factors marked exact, here to six digits."""
    words()
    said = capsys.readouterr().out
    for row in ("1 thou | 0.0254 mm", "1 lbf | 4.44822 N", "1 kgf | 9.80665 N", "1 lbf·in | 112.985 N·mm"):
        assert f"| {row} |" in said


def test_each_word_names_a_notebook_and_stands_once(root):
    subjects = tomllib.loads((root / "detentlib/say/words.toml").read_text(encoding="utf-8"))["subject"]
    rows = [row for subject in subjects for row in subject["words"]]
    pages = {Path(path).stem[:2] for path in (root / "notebooks").glob("[0-9]*.ipynb")}
    assert {page for *_, page in rows} <= pages
    assert len({word for word, *_ in rows}) == len(rows)
    assert all(re.fullmatch(r"[A-Z].*\.", meant) for _, _, meant, _ in rows)
