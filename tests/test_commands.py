"""The commands: each does what it says, a file in the way stays, and what is wrong is said with its exit code."""

import re
import shlex
import shutil
import subprocess
import sys

import pytest

import detentlib as dl
from detentlib.__main__ import main
from detentlib.pages.handout import handout_page
from detentlib.say.cautions import CAUTIONS
from detentlib.say.headline import headline
from tests.knives import CARDS, FOLDER

CARD, KNIFE = CARDS["A"], str(FOLDER / "pellowfen-a.toml")
READINGS = FOLDER.parent / "readings"
NOT_UNDERSTOOD = [
    (),
    ("frobnicate",),
    ("report",),
    ("handout", KNIFE),
    ("template", KNIFE, "x.pdf", "--scale", "big"),
    ("report", KNIFE, "--loud"),
]
COMMANDS = {"check", "report", "fault", "judge", "post", "batch"}
COMMANDS |= {"letter", "handout", "template", "sheet", "protractor"}
WRITING = {"handout": "page.html", "letter": "page.html", "template": "page.pdf", "sheet": "page.html"}


def _ran(capsys, *words):
    """(exit code, what was printed, what was complained of)."""
    code = main([str(word) for word in words])
    return code, *capsys.readouterr()


def test_report_is_the_headline(capsys):
    code, said, wrong = _ran(capsys, "report", KNIFE)
    assert (code, wrong) == (0, "")
    assert said == f"{headline(CARDS['A'])!r}\n"
    assert re.search(r"Break force at the tab \| 12\.1 ± 2\.\d N", said)


def test_handout_writes_both_versions(capsys, tmp_path):
    for words, answers in (((), True), (("--blank",), False)):
        path = tmp_path / f"{answers}.html"
        assert _ran(capsys, "handout", KNIFE, path, *words) == (0, f"Written: {path}\n", "")
        assert path.read_text(encoding="utf-8") == handout_page(CARD, answers)


def test_template_takes_a_scale(capsys, tmp_path):
    sizes = {}
    for scale in (20, 30):
        path = tmp_path / f"{scale}.svg"
        assert _ran(capsys, "template", KNIFE, path, "--scale", scale)[0] == 0
        sizes[scale] = path.read_text(encoding="utf-8")
    dl.template(CARD, tmp_path / "same.svg", 30)
    assert sizes[30] == (tmp_path / "same.svg").read_text(encoding="utf-8") != sizes[20]


def test_judge_lists_the_claims_and_judges_one(capsys):
    code, listed, wrong = _ran(capsys, "judge", KNIFE)
    assert (code, wrong) == (0, "")
    assert all(f"{claim.id}: “{claim.sentence}”" in listed for claim in dl.claims.values())
    code, said, wrong = _ran(capsys, "judge", KNIFE, "doubles")
    assert (code, wrong) == (0, "")
    words = " ".join(said.split())
    assert words == " ".join(str(dl.judge("doubles", CARD)).split())
    assert "FALSE" in words
    assert "a twin of ball 1 was put in" in words
    assert max(map(len, said.splitlines())) < 120


def test_judge_takes_the_assumptions_of_the_notebook(capsys, tmp_path):
    code, said, wrong = _ran(capsys, "judge", KNIFE, "nothing", "--assume", "card=exact", "blade=plane")
    assert (code, wrong) == (0, "")
    assert " ".join(said.split()) == " ".join(str(dl.judge("nothing", CARD, card="exact", blade="plane")).split())
    name = str(tmp_path / "argued")
    assert _ran(capsys, "post", KNIFE, "nothing", name, "--assume", "card=exact")[0] == 0
    assert "judge argued-knife.toml nothing --assume card=exact" in (tmp_path / "argued.md").read_text(encoding="utf-8")


def test_fault_takes_the_words_as_they_come_and_asks_back_where_they_fit_nothing(capsys):
    code, said, wrong = _ran(capsys, "fault", KNIFE, "it", "is", "too", "stiff")
    assert (code, wrong) == (0, "")
    (fault,) = dl.find_fault("too stiff", CARD).faults
    words = " ".join(said.split())
    assert all(" ".join(line.split()) in words for line in fault.lines)
    assert CAUTIONS["pin"] in words
    assert CAUTIONS["ceramic"] not in words
    assert max(map(len, said.splitlines())) < 130
    code, said, wrong = _ran(capsys, "fault", KNIFE, "it is loose")
    assert (code, wrong) == (0, "")
    assert "“the blade wobbles from side to side”" in said
    assert CAUTIONS["edge"] not in said


def test_post_writes_its_files_beside_each_other(capsys, tmp_path):
    code, said, wrong = _ran(capsys, "post", KNIFE, "oil", tmp_path / "page", "--by", "Kim")
    assert (code, wrong) == (0, "")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["page-knife.toml", "page.html", "page.md", "page.png"]
    assert all(str(path) in said for path in tmp_path.iterdir())
    assert "Claimed by Kim." in (tmp_path / "page.md").read_text(encoding="utf-8")
    code, said, wrong = _ran(capsys, "post", str(FOLDER / "pellowfen-b.toml"), "oil", tmp_path / "page")
    assert (code, said) == (1, "")
    assert "page.md: is there already. It was left alone. Choose another name, or add --replace." in wrong
    assert (
        "page-knife.toml: is there already. It was left alone. Choose another name, or take it away yourself." in wrong
    )
    assert dl.read_knife(tmp_path / "page-knife.toml") == CARD


def test_post_without_a_claim_takes_the_first_but_no_claim_for_a_name(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, _, wrong = _ran(capsys, "post", KNIFE, "oil")
    assert (code, list(tmp_path.iterdir())) == (1, [])
    assert "oil is the short name of a claim" in wrong
    assert _ran(capsys, "post", KNIFE, "page")[0] == 0
    assert dl.claims["doubles"].sentence in (tmp_path / "page.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(("command", "name"), WRITING.items())
def test_a_file_in_the_way_is_left_alone(command, name, capsys, tmp_path):
    path = tmp_path / name
    path.write_text("mine", encoding="utf-8")
    code, said, wrong = _ran(capsys, command, KNIFE, path)
    assert (code, said) == (1, "")
    assert wrong == f"{path}: is there already. It was left alone. Choose another name, or add --replace.\n"
    assert path.read_text(encoding="utf-8") == "mine"
    assert _ran(capsys, command, KNIFE, path, "--replace")[0] == 0
    assert path.stat().st_size > 10_000


def test_a_link_to_nowhere_is_in_the_way_too(capsys, tmp_path):
    (tmp_path / "page.html").symlink_to(tmp_path / "elsewhere.html")
    assert _ran(capsys, "handout", KNIFE, tmp_path / "page.html")[0] == 1
    assert not (tmp_path / "elsewhere.html").exists()


def test_check_looks_at_every_file(capsys, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text(
        '[bar]\nriding_force = "17 mm"\nrate = 10\n[[ball]]\ndiameter = -1\nprotrusion = 0.4\n[ball.recess]\ndiameter ='
        " 1.3\n",
        encoding="utf-8",
    )
    trace = READINGS / "lift-trace-a.csv"
    code, said, wrong = _ran(capsys, "check", KNIFE, bad, trace)
    assert code == 1
    rows = len(dl.read_readings(trace))
    assert said.splitlines() == [
        f"{KNIFE}: fine. Pellowfen A, 1 ball, 3 of its numbers guessed or assumed.",
        f"{trace}: fine. lift trace, {rows} rows.",
    ]
    assert [line.split(",")[1].strip() for line in wrong.splitlines()] == ["line 2", "line 5"]
    assert _ran(capsys, "check", KNIFE)[0] == 0


def test_check_says_what_is_wrong_with_readings(capsys, tmp_path):
    path = tmp_path / "trace.csv"
    path.write_text("angle [deg], lift [mm]\n0, 0\nx, 1\n", encoding="utf-8")
    code, said, wrong = _ran(capsys, "check", path)
    assert (code, said) == (1, "")
    assert "trace.csv" in wrong


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("judge", KNIFE, "dubles"),
            "claim = 'dubles': is not known. A claim goes by its short name. Did you mean doubles",
        ),
        (("judge", KNIFE, "doubles", "--assume", "card=vague"), "card can be measured or exact, not 'vague'"),
        (("judge", KNIFE, "doubles", "--assume", "exact"), "this claim has no switch exact"),
        (("report", "no-such.toml"), "no-such.toml: there is no such file"),
        (("report", READINGS / "lift-trace-a.csv"), "is a file of readings, where a knife file is wanted"),
        (
            ("report", FOLDER.parent / "00_start_here.ipynb"),
            "00_start_here.ipynb: is a notebook, where a knife file is",
        ),
        (("check", "no-such.html"), "no-such.html: is a page, where a knife file is wanted. A .html file holds a page"),
        (("letter", "no-such.PDF", "page.html"), "A .pdf file holds a page, a knife file ends in .toml. Give the path"),
        (("handout", KNIFE, "page.doc"), "page.doc: does not end in .html"),
        (("template", KNIFE, "page.pdf", "--scale", "500"), "scale = 500.0: does not fit a page"),
        (("template", KNIFE, "page.pdf", "--scale", "nan"), "scale = nan: is not a number above zero"),
        (("handout", KNIFE, "no such folder/page.html"), "cannot be written"),
    ],
)
def test_what_is_wrong_is_said_with_1(words, said, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, printed, wrong = _ran(capsys, *words)
    assert (code, printed) == (1, "")
    assert said in wrong
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("frobnicate",),
        ("report",),
        ("handout", KNIFE),
        ("template", KNIFE, "x.pdf", "--scale", "big"),
        ("report", KNIFE, "--loud"),
    ],
)
def test_what_is_not_understood_is_said_with_2(words, capsys):
    code, printed, wrong = _ran(capsys, *words)
    assert (code, printed) == (2, "")
    assert re.fullmatch(
        r"Not understood: .*\.\n(for example:\n  python -m detentlib .*\n)?See python -m detentlib.* --help\n", wrong
    )


def test_help_shows_every_command_with_an_example_that_works_as_written(capsys, tmp_path, monkeypatch):
    code, said, wrong = _ran(capsys, "--help")
    assert (code, wrong) == (0, "")
    monkeypatch.chdir(tmp_path)
    dl.write_knife(CARD, "my-knife.toml")
    dl.write_knife(CARD, "after.toml")
    shutil.copy(READINGS / "batch-pellowfen-a.csv", "pulls.csv")
    examples = re.findall(r"^  python -m detentlib (.*)$", said, re.M)
    assert {example.split()[0] for example in examples} == COMMANDS
    for example in examples:
        assert _ran(capsys, *shlex.split(example))[0] == 0, example
    for command in COMMANDS:
        code, said, _ = _ran(capsys, command, "--help")
        assert code == 0
        assert f"python -m detentlib {command} " in said.partition("for example:")[2]


def test_it_runs_from_a_terminal_that_has_no_plus_minus(root):
    command = [sys.executable, "-m", "detentlib", "report", KNIFE]
    ran = subprocess.run(
        command, capture_output=True, cwd=root, env={"PYTHONIOENCODING": "ascii", "PATH": ""}, check=False
    )
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert re.search(rb"12\.1 \? 2\.\d N", ran.stdout)


def test_whoever_reads_the_output_may_stop_early(root):
    command = [sys.executable, "-m", "detentlib", "report", "notebooks/knives/pellowfen-a.toml"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=root) as ran:
        ran.stdout.close()
        assert (ran.stderr.read(), ran.wait()) == (b"", 0)
