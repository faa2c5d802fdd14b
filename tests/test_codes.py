"""The library finds out what is going on by codes, never by taking text apart; only what reads or writes text does
that.
"""

import ast
from pathlib import Path

import pytest

import detentlib as dl

HOME = Path(dl.__file__).parent
OF_TEXT = {
    "split",
    "rsplit",
    "partition",
    "rpartition",
    "splitlines",
    "startswith",
    "endswith",
    "removeprefix",
    "removesuffix",
    "translate",
}
OF_TEXT |= {"isdigit", "isdecimal", "isnumeric", "isalpha", "isalnum", "isupper", "islower"}
OF_TEXT |= {
    "match",
    "fullmatch",
    "search",
    "findall",
    "finditer",
    "sub",
    "subn",
}  # of the module re and of its patterns
NOT_TEXT = ("np", "os")  # their split and replace are of arrays and files

# who may, and whose text it is; "*" is every function of a module
TYPED = {
    "knife/units.py": "*",  # a quantity
    "measure/readings.py": "*",  # readings from a file or the clipboard
    "files/knife_file.py": (
        "_toml",
        "_place_of",
        "_bare",
        "_meant",
        "_not_toml",
        "_line_places",
        "_text_of",
    ),  # a knife file
    "files/instruments.py": ("read_said",),  # a quantity with the word for how it was measured
    "knife/paths.py": ("place_of",),  # a path
    "lesson/form.py": ("_has_unit",),  # a box of the form
    "lesson/practice/topics.py": ("topic_named",),  # the name of a topic
    "lesson/picker.py": ("_click",),  # a click, as the browser tells it
    "argue/own.py": (
        "read_relation",
        "maker_of",
        "_side",
    ),  # a relation, a change; the name of a reader's own function
    "argue/faults/words.py": ("_plain", "_stem"),  # a complaint
    "__main__.py": ("_options",),  # an assumption of a command, such as card=exact
    "tune/choices.py": ("_spots",),  # "drill 2"
    "tune/window.py": ("_ends_of", "alone"),  # a window, such as "8 N to 10 N"
}
WRITTEN = {
    "knife/plain.py": "*",  # text made safe, the minus sign, a line in several
    "knife/checks.py": ("short",),  # a value on one line
    "files/knife_file.py": ("write_knife", "_quoted"),  # remarks and texts of TOML
    "derivations/formulas.py": ("_typeset",),  # a letter in LaTeX
    "lesson/own_readings.py": ("text",),  # readings as a CSV file
    "pages/arithmetic.py": ("said",),  # a number with a power of ten
    "pages/four_lines.py": ("_below",),  # digits below the line
    "pages/handout.py": ("handout_page",),  # the name of a file from a title
    "pages/livesheet.py": ("_json",),  # JSON inside HTML
    "pages/mathml.py": ("formula", "_plain", "_greek"),  # LaTeX to MathML
}


def takes_apart(node):
    """Whether a piece of code takes a text apart, looks into it, or changes some of it."""
    if isinstance(node, ast.Compare) and isinstance(node.ops[0], (ast.In, ast.NotIn)):
        looked_for, inside = node.left, node.comparators[0]
        in_text = isinstance(inside, (ast.JoinedStr, ast.Call)) and ast.unparse(inside).startswith(("str(", "f"))
        in_text |= isinstance(inside, ast.Attribute) and inside.attr in (
            "id",
            "kind",
            "label",
            "name",
            "path",
            "result",
            "sentence",
            "title",
        )
        sign = (
            isinstance(looked_for, ast.Constant)
            and isinstance(looked_for.value, str)
            and not looked_for.value.isidentifier()
        )
        return in_text or (sign and not isinstance(inside, (ast.Tuple, ast.List, ast.Set, ast.Dict)))
    if (
        not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute))
        or ast.unparse(node.func.value) in NOT_TEXT
    ):
        return False
    if node.func.attr == "replace":  # of a Knife it takes a dict, of sympy a function
        return len(node.args) == 2 and not any(isinstance(each, ast.Lambda) for each in node.args)
    return node.func.attr in OF_TEXT


def places(tree, inside=""):
    """(function, line) of every place in a module that takes text apart; "" outside a function."""
    for node in ast.iter_child_nodes(tree):
        within = node.name if isinstance(node, ast.FunctionDef) else inside
        if takes_apart(node):
            yield within, node.lineno
        yield from places(node, within)


def allowed(module):
    """Functions of a module that may take text apart, None for all of them."""
    names = [names for table in (TYPED, WRITTEN) for name, names in table.items() if name == module]
    return None if "*" in names else {function for each in names for function in each}


@pytest.fixture(scope="module")
def modules():
    """{module: its `places`} of the whole library."""
    return {
        path.relative_to(HOME).as_posix(): list(places(ast.parse(path.read_text(encoding="utf-8"))))
        for path in sorted(HOME.rglob("*.py"))
    }


def test_text_is_taken_apart_only_where_it_is_read_or_written(modules):
    wrong = [
        f"{module}:{line} in {function or 'the module'}: give it a code, a field of a record or a table instead"
        for module, found in modules.items()
        for function, line in found
        if allowed(module) is not None and function not in allowed(module)
    ]
    assert wrong == []


@pytest.mark.parametrize("module", TYPED | WRITTEN)
def test_who_may_take_text_apart_does(module, modules):
    functions = {function for function, _ in modules[module]}
    assert functions
    assert (allowed(module) or set()) <= functions


@pytest.mark.parametrize(
    "code",
    [
        "path.endswith('rate')",
        "path.partition('.')[2]",
        "re.match('balls', path)",
        "PATTERN.sub('', path)",
        "said.replace(' (', ' ')",
        "'±' in said",
        "'overwrite' in str(error)",
        "word in instrument.name",
        "any(name.startswith('ball') for name in names)",
    ],
)
def test_a_text_taken_apart_is_found(code):
    assert list(places(ast.parse(f"def judge(x):\n    return {code}"))) == [("judge", 2)]


@pytest.mark.parametrize(
    "code",
    [
        "knife.replace({'bar.rate': 1})",
        "sums.replace(sp.Abs, lambda inner: inner)",
        "'pin' in numbers",
        "np.split(a, b)",
        "a in ('x y',)",
    ],
)
def test_what_takes_no_text_apart_is_let_be(code):
    assert list(places(ast.parse(f"def judge(x):\n    return {code}"))) == []
