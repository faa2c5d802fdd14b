"""The rooms of the library: imports run one way, and the front door is light."""

import ast
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import detentlib as dl
from detentlib import lesson

# Each may import what stands before it, and its own.
ORDER = (
    "door",
    "knife",
    "derivations",
    "mechanics",
    "files",
    "doubt",
    "measure",
    "tune",
    "argue",
    "say",
    "draw",
    "pages",
    "lesson",
    "__main__",
)
HEAVY = ("sympy", "matplotlib", "scipy", "ipywidgets", "IPython")


def _imports(path, package):
    """Names inside detentlib that a module imports, as tuples: ("mechanics", "feel")."""
    here = path.relative_to(package).parts[:-1]
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level:
            base = here[: len(here) + 1 - node.level]
            inside = tuple(node.module.split(".")) if node.module else ()
            found |= {(*base, *inside)} if inside else {(*base, alias.name) for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert not node.module.startswith("detentlib"), f"{path.name}: import relative to its own folder"
    return found


def _rank(name):
    """Place in ORDER of a module, given as a tuple of names."""
    return ORDER.index(name[0])


def test_imports_run_one_way(root):
    package = root / "detentlib"
    modules = {path: path.relative_to(package).with_suffix("").parts for path in package.rglob("*.py")}
    modules.pop(package / "__init__.py")
    assert {name[0] for name in modules.values()} == set(ORDER)
    wrong = [
        f"{path.relative_to(package)} imports {'.'.join(name)}"
        for path, own in modules.items()
        for name in _imports(path, package)
        if _rank(name) > _rank(own)
    ]
    assert wrong == []


def test_every_room_is_installed(root):
    home = root / "detentlib"
    rooms = {".".join(path.parent.relative_to(root).parts) for path in home.rglob("__init__.py")}
    assert (
        set(tomllib.loads((home / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["packages"])
        == rooms
    )


def test_the_mechanics_knows_no_unit_string(root):
    package = root / "detentlib"
    mechanics = list((package / "mechanics").rglob("*.py"))
    assert len(mechanics) > 10
    assert [path.name for path in mechanics if ("knife", "units") in _imports(path, package)] == []


def _unhinted(body, owner=""):
    """Public functions and methods among these statements of which an argument or the result has no hint."""
    for node in body:
        if not isinstance(node, (ast.ClassDef, ast.FunctionDef)) or node.name.startswith("_"):
            continue
        if isinstance(node, ast.ClassDef):
            yield from _unhinted(node.body, f"{owner}{node.name}.")
            continue
        takes = node.args
        each = [*takes.posonlyargs, *takes.args, *takes.kwonlyargs, *filter(None, (takes.vararg, takes.kwarg))]
        if owner and each and each[0].arg in ("self", "cls"):
            each = each[1:]
        if not (node.returns and all(one.annotation for one in each)):
            yield f"{owner}{node.name}"


BARE = (
    "def one(): ...",
    "def one(a) -> int: ...",
    "def one(a, /) -> int: ...",
    "def one(*a) -> int: ...",
    "def one(*, a) -> int: ...",
    "def one(**a) -> int: ...",
    "class Part:\n    def one(self, a) -> int: ...",
)


@pytest.mark.parametrize("bare", BARE)
def test_a_missing_hint_is_seen(bare):
    assert [name.rpartition(".")[2] for name in _unhinted(ast.parse(bare).body)] == ["one"]
    hinted = bare.replace("a)", "a: int)").replace("a,", "a: int,").replace("():", "() -> int:")
    assert list(_unhinted(ast.parse(hinted).body)) == []


def test_public_functions_say_what_they_take_and_give(root):
    modules = [path for path in (root / "detentlib").rglob("*.py") if path.name != "__init__.py"]
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in modules}
    assert [f"{path.relative_to(root)}: {name}" for path, tree in trees.items() for name in _unhinted(tree.body)] == []


@pytest.mark.parametrize("heavy", HEAVY)
def test_the_front_door_is_light(heavy):
    code = f"import sys, detentlib as dl; dl.Ball, dl.read_knife, dl.sweep, dl.feel; print({heavy!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


@pytest.mark.parametrize("package", [dl, lesson])
def test_no_name_is_that_of_a_module_beside_it(package):
    """The module would stand in the way of the name as soon as anybody imports it."""
    modules = {path.stem for path in Path(package.__file__).parent.iterdir() if path.suffix == ".py" or path.is_dir()}
    assert not modules.intersection(package.__all__)
