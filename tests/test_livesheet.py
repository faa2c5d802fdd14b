"""The live sheet as a file: whole, alone, the same each time, and refused where it would be wrong."""

import json
import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.files.knife_file import knife_text
from detentlib.knife.parts import spec
from detentlib.pages import livesheet
from detentlib.pages.livesheet import FELT, SLOT, changed, file_lines, javascript, movers, with_springs
from detentlib.say.cautions import CAUTIONS
from detentlib.say.headline import headline
from detentlib.tune.moves import with_one_ball, with_second_leaf
from tests import knives
from tests.pages import Page


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    path = tmp_path_factory.mktemp("sheet") / "c.html"
    dl.live_sheet(knives.CARDS["C"], path)
    return path.read_bytes()


@pytest.fixture(scope="module")
def text(sheet):
    return sheet.decode()


@pytest.fixture(scope="module")
def data(text):
    return json.loads(re.search(r"^const DATA = (.*);$", text, re.M)[1])


def test_one_small_file_that_asks_for_nothing(sheet, text):
    assert len(sheet) < 150_000
    page = Page(text)
    for _, attributes in page.elements:
        assert not {"src", "href", "action", "srcset", "data"} & set(attributes)
    assert "://" not in text
    assert not re.search(r"@import|url\((?!#)|fetch\(|XMLHttpRequest|import\(|localStorage", text)
    policy = next(each["content"] for each in page.all("meta") if "content" in each and "http-equiv" in each)
    assert policy.startswith("default-src 'none'")


def test_the_card_as_written_has_the_ends_that_the_headline_shows(text):
    """The sliders work without ±, so the sheet must say how sure its card is, and of what that is said."""
    shown = re.search(r'<p id="as-written">(.*?)</p>', text)[1]
    _, *rows = headline(knives.CARDS["C"]).table
    assert all(f"{name[0].lower()}{name[1:]} {figure}" in shown for name, figure, _ in rows)
    assert "The card as written" in shown
    assert "A moved number has no ± here." in shown
    assert livesheet.as_written(replace(knives.CARDS["C"], doubts={}, known_together={})) == ""


def test_every_number_has_a_name_a_box_and_a_slider(text):
    page = Page(text)
    assert page.all("html") == [{"lang": "en-GB"}]
    named = {each["for"] for each in page.all("label") if "for" in each}
    boxes = [each for each in page.all("input") if each["type"] == "number"]
    assert {each["id"] for each in boxes} <= named
    sliders = [each["aria-label"] for each in page.all("input") if each["type"] == "range"]
    assert len(sliders) == len(boxes) == len(set(sliders))
    wanted = ["diameter", "protrusion", "recess diameter", "rest offset", "track radius", "off-track error"]
    wanted = [f"Ball {i}: {name}" for i in (1, 2) for name in wanted]
    wanted += [
        "Ball 2: hinge distance",
        "Riding force",
        "Rate",
        "Sideways give",
        "Friction at the rim",
        "Tab arm",
        "Blade angle",
    ]
    assert {f"{name}, slider" for name in wanted} <= set(sliders)
    assert {"second"} <= {each["id"] for each in page.all("input") if each["type"] == "checkbox"}


def test_it_says_the_cautions_and_what_it_leaves_out(text):
    words = Page(text).sentences
    assert set(CAUTIONS.values()) <= set(words)
    assert set(dl.feel(knives.CARDS["C"]).left_out) <= set(words)
    assert any(each.startswith("an elastic bar") for each in words)


def test_every_formula_of_the_page_is_printed_from_the_register(text):
    called = set(re.findall(r"\bF\.(\w+)\(", text))
    printed = text[text.index("const F = {") :]
    printed = printed[: printed.index("\n};")]
    assert called == set(livesheet.FORMULAS), "FORMULAS of livesheet.py names just those that livesheet_*.js call"
    assert called == set(re.findall(r"^(\w+)\(\{", printed, re.M))
    assert javascript(livesheet.FORMULAS) == f"{printed}\n}};"
    for id in livesheet.FORMULAS:
        assert f"{id}({{{', '.join(dl.formulas[id].symbols)}}}) {{" in printed


def test_a_sheet_expects_no_numbers_where_a_ball_runs_off_the_tang_first(tmp_path):
    """Each slider reaches beyond the knife: where it carries the break-out past the edge of the tang, the page
    refuses.
    """
    flat = dl.feel(knives.CARDS["C"]).break_out_deg
    near = knives.CARDS["C"].replace({f"balls[{i}].run_off_deg": flat + 0.3 for i in (0, 1)})
    dl.live_sheet(near, tmp_path / "near.html")
    checks = json.loads(
        re.search(r"^const DATA = (.*);$", (tmp_path / "near.html").read_text(encoding="utf-8"), re.M)[1]
    )["checks"]
    refused = [check for check in checks if any(path.endswith("track_radius") for path in check.get("refused", ()))]
    assert len(refused) > 3
    assert all(check["numbers"][FELT.index("break_out_deg")] < flat + 0.3 for check in checks if "numbers" in check)


def test_a_sheet_asks_in_the_words_of_the_library(data):
    moving = {each["path"]: each for each in data["movers"]}
    size = moving["balls[0].recess.diameter"]
    assert (size["slips"]["in"], size["slips"]["thou"]) == (25.4, 0.0254)
    assert size["sane"] == list(spec("balls[0].recess.diameter")["sane"])


def test_a_formula_without_a_plain_form_is_refused():
    with pytest.raises(TypeError, match=r"S1b \(.*\) has no plain form"):
        javascript(["S1b"])


def test_the_same_knife_makes_the_same_bytes(sheet, tmp_path, root):
    # another order of hashes, as a second run of Python has it
    code = "import sys, detentlib as dl; dl.live_sheet(dl.read_knife(sys.argv[1]), sys.argv[2])"
    command = [sys.executable, "-c", code, root / "notebooks" / "knives" / "pellowfen-c.toml", tmp_path / "again.html"]
    subprocess.run(command, check=True, env={"PYTHONHASHSEED": "7", "OPENBLAS_NUM_THREADS": "1"})
    assert (tmp_path / "again.html").read_bytes() == sheet


def test_the_stored_sheet_is_what_the_library_writes_today(sheet, root):
    stored = (root / "notebooks" / "live-sheet-pellowfen-c.html").read_bytes()
    assert stored == sheet, (
        "write it anew: python -m detentlib sheet notebooks/knives/pellowfen-c.toml"
        " notebooks/live-sheet-pellowfen-c.html --replace"
    )


def test_a_title_is_only_text(tmp_path):
    title = 'Ilby\'s </script><script>alert(1)</script> & "C" <!-- boxes -->'
    dl.live_sheet(replace(knives.CARDS["C"], title=title), tmp_path / "odd.html")
    page = Page((tmp_path / "odd.html").read_text(encoding="utf-8"))
    assert title in page.sentences
    assert len(page.all("script")) == 1


def test_the_checks_in_the_page_are_what_the_library_says(data):
    checks = data["checks"]
    worked = [each for each in checks if "numbers" in each]
    assert len(checks) > len(worked) > 40
    ends = [check["values"] for check in checks if len(check["values"]) == 1]
    for each in data["movers"]:
        assert all({each["path"]: end} in ends for end in (each["lo"], each["hi"]) if end != each["value"])
    for check in checks[:2] + checks[-3:]:
        found = dl.feel(changed(knives.CARDS["C"], check["values"], check["second"]))
        assert check["numbers"][FELT.index("break_force")] == pytest.approx(found.break_force, rel=1e-12)
        felt = sum(np.size(getattr(found, name)) for name in FELT)
        # three an angle, how many handovers, and six of each
        assert len(check["numbers"]) == felt + 3 * len(check["angles"]) + 1 + 6 * len(found.handovers)
    assert len({len(each["numbers"]) for each in worked if each["second"]}) > 1  # handovers come and go


def test_the_knife_file_is_cut_into_lines_that_join_again():
    odd = replace(with_second_leaf(knives.CARDS["C"]), title='a "b"\\')
    for knife in (knives.CARDS["C"], with_one_ball(knives.CARDS["C"]), odd):
        found = file_lines(knife, [each.path for each in movers(with_springs(knives.CARDS["C"]))])
        own = (
            each["text"].replace(SLOT, str(knife.get(each["path"]))) if "path" in each else each["text"]
            for each in found
            if "extra" not in each
        )
        assert "".join(f"{line}\n" for line in own) == knife_text(replace(knife, said={}))


REFUSED = {
    "three balls": (
        replace(knives.CARDS["E"], balls=(*knives.CARDS["E"].balls, knives.CARDS["E"].balls[1])),
        "there are 3 balls",
    ),
    "the edge of the tang": (
        knives.CARDS["C"].replace({"balls[1].run_off_deg": 3.0}),
        r"balls\[1\].run_off_deg = 3°: lies before",
    ),
    "a knife that cannot work": (knives.CARDS["C"].replace({"bar.riding_force": 1.0}), "has fallen to"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_it_cannot_compute_it_refuses(case, tmp_path):
    knife, said = REFUSED[case]
    with pytest.raises(dl.KnifeError, match=said):
        dl.live_sheet(knife, tmp_path / "no.html")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_no_file(tmp_path):
    with pytest.raises(dl.KnifeError, match="folder"):
        dl.live_sheet(knives.CARDS["A"], tmp_path)
