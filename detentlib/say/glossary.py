"""The words of the workbook, with what the trade also says, and every letter of its formulas."""

import tomllib
from importlib.resources import files

from ..derivations.formulas import Theorem, formulas
from ..knife.plain import in_markdown
from ..knife.units import convert
from .working import say

_UNITS = (
    ("1 thou", "thou", "mm", "a thousandth of an inch"),
    ("1 in", "in", "mm", ""),
    ("1 lbf", "lbf", "N", "what a scale in pounds shows"),
    ("1 kgf", "kgf", "N", "what a scale in kilograms shows"),
    ("1 lbf·in", "lbf·in", "N·mm", "torque: force times its distance from the pivot"),
    ("1 radian", "rad", "deg", "angles in formulas"),
)


def words() -> None:
    """Show the words of the workbook, a table a subject: what the trade also says, what is meant, which notebook."""
    parts = []
    for subject in tomllib.loads(files(__package__).joinpath("words.toml").read_text(encoding="utf-8"))["subject"]:
        rows = [_row(f"**{word}**", also, meant, page) for word, also, meant, page in subject["words"]]
        parts += [f"**{subject['title']}**", "\n".join([*_head("word", "also said", "what it is", "notebook"), *rows])]
    units = [_row(said, f"{convert(1.0, unit, shown):.6g} {shown}", what) for said, unit, shown, what in _UNITS]
    say("\n\n".join([*parts, "**Units**", "\n".join([*_head("", "is", ""), *units])]))


def letters() -> None:
    """Show every letter of the formulas with each of its meanings, its unit, and the formulas that use it so."""
    used = {}
    for id, entry in formulas.items():
        named = [(symbol.latex, symbol.meaning, symbol.unit) for symbol in entry.symbols.values()]
        if not isinstance(entry, Theorem):
            named += [(entry.letter(name), *said) for name, said in entry.results.items()]
        for letter, meaning, unit in named:
            used.setdefault(letter, {}).setdefault((in_markdown(meaning), unit), []).append(id)
    rows = [
        _row(f"${letter}$", meaning, unit or "ratio", ", ".join(ids))
        for letter, meanings in sorted(used.items(), key=lambda entry: _alphabetical(entry[0]))
        for (meaning, unit), ids in meanings.items()
    ]
    say("\n".join([*_head("letter", "meaning", "unit", "formulas"), *rows]))


def _alphabetical(letter):
    """Latin letters first, small beside large; then Greek ones and words."""
    return letter[0] == "\\", letter.lower(), letter


def _head(*heads):
    return _row(*heads), _row(*[":---"] * len(heads))


def _row(*cells):
    return f"| {' | '.join(cells)} |"
