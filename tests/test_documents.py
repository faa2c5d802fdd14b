"""README and DEVELOPERS say what is true of this folder."""

import re
import shlex

import pytest

from detentlib.say.cautions import caution_list
from tests import documents

DOCUMENTS = ("README.md", "DEVELOPERS.md")


@pytest.fixture(params=DOCUMENTS)
def document(request, root):
    return (root / request.param).read_text(encoding="utf-8")


@pytest.fixture
def readme(root):
    return (root / "README.md").read_text(encoding="utf-8")


def _commands(text):
    """The lines of the code blocks."""
    return [line for block in re.findall(r"```\n(.*?)```", text, re.S) for line in block.splitlines()]


def test_links_and_pictures_exist(document, root):
    targets = re.findall(r"\]\(([^)#]+)", document)
    assert targets
    assert [target for target in targets if not (root / target).is_file()] == []


def test_the_readme_lists_every_notebook(readme, root):
    listed = re.findall(r"\]\((notebooks/[^)]+\.ipynb)\)", readme)
    assert listed == [path.relative_to(root).as_posix() for path in sorted((root / "notebooks").glob("*.ipynb"))]


def test_the_readme_has_every_caution(readme):
    section = readme.split("## Cautions\n")[1].split("\n## ")[0]
    assert section.strip() == caution_list()


def test_commands_name_files_that_exist(document, root):
    named = [
        word
        for line in _commands(document)
        for word in shlex.split(line, comments=True)
        if re.fullmatch(r"[\w./]+\.(txt|ipynb|py)", word)
    ]
    assert named
    assert [name for name in named if not (root / name).is_file()] == []


def test_the_checks_run_the_test_command_of_the_readme(readme, root):
    unix, windows = (line.split(" && ") for line in _commands(readme) if "pytest" in line)
    script = (root / ".ci" / "run").read_text(encoding="utf-8")
    assert unix[-1] == "python -m pytest"
    assert windows[-1].endswith("-m pytest")
    assert f" {unix[-1]}\n" in script
    assert unix[-2].split("-r ")[1] in script


def test_the_developers_page_names_every_room(root):
    page = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = [
        path.parent.relative_to(root / "detentlib").as_posix() for path in (root / "detentlib").rglob("__init__.py")
    ]
    assert [room for room in rooms if room != "." and f"| `{room}/` |" not in page] == []


def test_the_developers_page_is_short(root):
    assert len((root / "DEVELOPERS.md").read_bytes()) <= 10_240


def test_every_formula_is_checked():
    unchecked = [line for line in documents.register().splitlines() if line.endswith("|  |")]
    assert unchecked == [], "no test names this ID in quotation marks: give it a case in tests/test_formulas.py"
