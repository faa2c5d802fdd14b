"""The page to post: it parses, asks for nothing outside, says the same in both forms, and its code gives the same
number.
"""

import ast
import base64
import html
import re
import shlex
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET

import numpy as np
import PIL.Image
import pytest

import detentlib as dl
from detentlib.__main__ import main
from detentlib.argue.judging import claims, judge
from detentlib.knife.parts import KnifeError
from detentlib.pages.four_lines import four_lines
from detentlib.pages.post import command, picture_words, post_html, post_page, recompute, verdict_picture
from detentlib.tune.moves import with_one_ball
from detentlib.tune.pair import held, with_leaf_of_its_own
from tests.knives import CARDS, FOLDER, A, B, C, D
from tests.pages import Page


@pytest.fixture(scope="module")
def verdict():
    return judge("nothing", C)


def _lines(markdown):
    return re.search(r"```python\n(.*?)```", markdown, re.DOTALL)[1]


def test_the_page_is_sound_and_asks_for_nothing_outside(verdict):
    page = post_html(verdict)
    read = Page(page)
    assert {"h1", "img", "table", "pre", "details"} <= set(read.tags)
    assert all(address.startswith("data:image/svg+xml;base64,") for address in read.addresses)
    assert len(read.addresses) == 2
    assert not re.search(r"https?:(?!//www\.w3\.org)|<script|url\(|@import", page)
    assert 'name="viewport" content="width=device-width' in page
    drawing = base64.b64decode(read.addresses[0].partition(",")[2]).decode()
    assert ET.fromstring(drawing).tag.endswith("svg")
    balls, scale = (each["alt"] for each in read.all("img"))
    assert scale == picture_words(verdict)
    assert "ball 1, 1.5875 mm (62.5 thou)" in balls
    assert "ball 2, 1.5875 mm (62.5 thou)" in balls


def test_both_forms_say_the_verdict_the_numbers_and_what_would_decide(verdict, tmp_path):
    written = post_page(verdict, tmp_path / "settled")
    names = ["settled-knife.toml", "settled.html", "settled.md", "settled.png"]
    assert sorted(path.name for path in written) == names
    assert sorted(path.name for path in tmp_path.iterdir()) == names
    with PIL.Image.open(tmp_path / "settled.png") as drawn:
        assert drawn.width > 600
    assert "settled.png" in (tmp_path / "settled.md").read_text(encoding="utf-8")
    assert "data:" not in (tmp_path / "settled.md").read_text(encoding="utf-8")
    markdown, page = ((tmp_path / f"settled.{kind}").read_text(encoding="utf-8") for kind in ("md", "html"))
    for said in (
        verdict.claim.sentence,
        "cannot tell with these instruments",
        verdict.figure,
        verdict.next_words,
        "N (",
        "lbf)",
        *verdict.flip_words,
    ):
        assert said in markdown
        assert html.escape(said) in page
    for words in (markdown, page):
        assert str(tmp_path) not in words
    assert dl.read_knife(tmp_path / "settled-knife.toml") == C


@pytest.mark.parametrize(
    ("claim", "knife", "switches"),
    [
        ("nothing", C, {}),
        ("lower-weakens", D, {"blade": "plane", "card": "exact"}),
        ("halves", B, {"bar": "rigid"}),
        ("calipers", A, {"card": "measured"}),
    ],
)
def test_the_lines_recompute_it(claim, knife, switches, tmp_path, monkeypatch, capsys):
    found = judge(claim, knife, **switches)
    post_page(found, tmp_path / "page.html")
    lines = _lines((tmp_path / "page.md").read_text(encoding="utf-8"))
    assert len(lines.splitlines()) <= 6
    monkeypatch.chdir(tmp_path)
    exec(lines, {})
    assert capsys.readouterr().out == f"{found.word} {found.figure}\n"


def test_the_lines_run_by_themselves(verdict, tmp_path):
    post_page(verdict, tmp_path / "page")
    said = subprocess.run(
        [sys.executable, "-c", _lines((tmp_path / "page.md").read_text(encoding="utf-8"))],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert said.stdout == f"{verdict.word} {verdict.figure}\n"


@pytest.mark.parametrize(
    "claim",
    [
        dl.Claim.compose("break_force", of="second leaf", against="one ball", relation="at least 2 times"),
        dl.Claim.compose("barrier", of=C, against=B, relation="at least 0.1 mJ less"),
        dl.Claim.compose("break_force", of=C, against="one ball", relation="less"),
    ],
    ids=("words", "two knives", "one knife"),
)
def test_a_claim_of_ones_own_is_recomputed(claim, tmp_path, monkeypatch, capsys):
    found = judge(claim, B)
    written = post_page(found, tmp_path / "own")
    assert len(written) == 3 + max(1, len(claim.knives))
    monkeypatch.chdir(tmp_path)
    exec(recompute(found, "own"), {})
    assert capsys.readouterr().out == f"{found.word} {found.figure}\n"


def test_a_claim_that_cannot_be_recomputed_is_not_posted(tmp_path):
    claim = dl.Claim.compose("break_force", of=lambda knife: knife.replace({"blade.tab_arm": 7.0}))
    with pytest.raises(ValueError, match="function of your own"):
        post_page(judge(claim, A), tmp_path / "own")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("letter", "BCDE")
def test_the_four_lines_end_where_feel_ends(letter):
    """The column of the ball that the knife stands on, and ball 1 alone, are what `feel` finds walking all the way."""
    knife = CARDS[letter]
    felt, one = dl.feel(knife), dl.feel(with_one_ball(knife)).break_force
    *_, pushes, sums = (cells for *_, cells in four_lines({"two": knife, "ball 1 alone": with_one_ball(knife)}).rows)
    stands = 0 if letter in "BE" else 2
    assert four_lines({"two": knife}).heads[0].split(" ")[0] == four_lines({"two": knife}).notes[0].split(":")[0] == "ξ"
    forces = [float(cell.split(" ")[0]) for cell in sums]
    if felt.peak_deg == pytest.approx(felt.take_up_deg):
        assert forces[stands] == pytest.approx(felt.break_force, abs=0.006)
    else:  # knife E is hardest to open later, and says so
        assert letter == "E"
        assert f"{felt.break_force:.2f} N" in " ".join(four_lines({"two": knife}).notes)
    assert forces[3] == pytest.approx(one, abs=0.006)
    assert [sum(map(float, cell.split(" + "))) for cell in pushes] == pytest.approx(forces, abs=0.011)
    assert float(sums[1].split("(")[1].rstrip(")")) == pytest.approx(forces[1] / one, abs=0.0011)


def test_the_four_lines_say_of_two_held_between_their_rims_that_they_never_push_their_hardest_at_once():
    """The push of both with the friction of opening is more than the knife asks."""
    first = dl.Ball(1.278, 0.504, 6.946, 34.759, dl.Recess(1.126, rest_offset=0.049))
    second = dl.Ball(1.053, 0.308, 11.914, 35.338, dl.Recess(0.743, rest_offset=0.071))
    bar = dl.LockBar(13.38, rate=8.74, side_compliance=0.008, parallel_gap=0.1)
    knife = dl.Knife("held", [first, second], bar, dl.Blade(14.0), dl.Friction(0.154))
    assert dl.feel(knife).break_force < 0.99 * held(knife).force
    *_, said = four_lines({"two": knife}).notes
    assert "never push their hardest at once" in said
    assert f"{dl.feel(knife).break_force:.3f} N" in said


def test_the_four_lines_by_hand():
    """Textbook A: 14.21 N at a contact angle of 49.15°, friction 0.12 (6.84°): tan 55.99° of it at 8.001 in 14 mm."""
    (_, _, _, (moment,)), (_, _, _, (load,)), (_, _, said, (push,)), _ = four_lines({"one ball": A}).rows
    assert float(moment) == pytest.approx(36.4 * float(load), rel=1e-3)
    angle = float(re.search(r"contact angle ([\d.]+)°", said)[1])
    assert angle == pytest.approx(49.15, abs=0.06)
    by_hand = float(load) * np.tan(np.radians(angle) + np.arctan(0.12)) * 8.001 / 14
    assert float(push) == pytest.approx(by_hand, rel=5e-3)


def test_a_second_leaf_has_two_moments_that_add_up():
    *_, (_, _, _, sums) = four_lines({"two leaves": with_leaf_of_its_own(A), "one ball": A}).rows
    assert sums[0].endswith("(2.000)")


def test_the_command_says_the_same_as_the_page(tmp_path, monkeypatch, capsys):
    found = judge("doubles", B)
    post_page(found, tmp_path / "my page")
    written = command(found, "my page")
    assert written in html.unescape((tmp_path / "my page.html").read_text(encoding="utf-8"))
    monkeypatch.chdir(tmp_path)
    assert main(shlex.split(written)[3:]) == 0
    assert found.figure in " ".join(capsys.readouterr().out.split())
    assumed = command(judge("doubles", B, blade="plane", card="exact"), "my page")
    assert shlex.split(assumed)[-3:] == ["--assume", "blade=plane", "card=exact"]


def test_nothing_is_written_without_a_name(verdict, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert post_page(verdict) is None
    assert list(tmp_path.iterdir()) == []
    said = capsys.readouterr().out
    assert "Nothing is written yet" in said
    assert verdict.figure in said
    assert "data:" not in said


def test_letters_are_explained_where_a_formula_has_them(verdict, tmp_path):
    text, page, *_ = post_page(verdict, tmp_path / "page")
    assert four_lines(verdict.compared).letters in page.read_text("utf-8")
    assert "κ:" not in text.read_text("utf-8")


def test_who_claimed_it_is_named_only_as_asked(verdict, tmp_path):
    post_page(verdict, tmp_path / "plain")
    post_page(verdict, tmp_path / "named", claimed_by="Kim & Co")
    assert "Said against a second ball. Judged on" in (tmp_path / "plain.md").read_text(encoding="utf-8")
    assert "Claimed by Kim &amp; Co. Judged on" in (tmp_path / "named.html").read_text(encoding="utf-8")


def test_a_twin_stands_on_the_page():
    assert judge("doubles", A).stand_in in Page(post_html(judge("doubles", A))).words
    assert "twin" not in post_html(judge("doubles", B)).partition("<h2>Assumed")[0]


def test_a_folder_gets_a_page_named_after_the_claim(verdict, tmp_path):
    assert {path.name for path in post_page(verdict, tmp_path)} == {
        f"nothing{end}" for end in (".md", ".html", ".png", "-knife.toml")
    }


def test_a_place_that_cannot_be_written_is_said(verdict, tmp_path):
    with pytest.raises(dl.KnifeError, match="cannot be written"):
        post_page(verdict, tmp_path / "not there" / "page")


@pytest.mark.parametrize("id", claims)
def test_every_claim_makes_a_page_whose_code_is_plain(id):
    found = judge(id, B, card="exact")
    ast.parse(recompute(found))
    assert Page(post_html(found)).all("img")


def test_the_picture_holds_every_number_and_its_words(verdict):
    figure = verdict_picture(verdict)
    figure.draw_without_rendering()
    (ax,) = figure.axes
    low, high = ax.get_xlim()
    for each in (verdict, *(other.verdict for other in verdict.others)):
        assert low < each.number.low <= each.number.high < high
    words = [text.get_text() for text in ax.texts]
    assert any(said.strip() == "as assumed: cannot tell" for said in words)
    assert {"false", "true"} <= set(words)
    renderer, whole = figure._get_renderer(), figure.bbox
    for text in ax.texts:
        box = text.get_window_extent(renderer)
        assert box.x0 >= whole.x0
        assert box.x1 <= whole.x1


def test_the_card_never_takes_the_place_of_a_knife_file(tmp_path):
    """The reader's own knife file may well be called as the card would be."""
    own = tmp_path / "my-knife.toml"
    shutil.copy(FOLDER / "pellowfen-a.toml", own)
    before = own.read_bytes()
    with pytest.raises(
        dl.KnifeError,
        match=r"my-knife\.toml: is there already\. It was left alone\. Choose another name, or take it away yourself\.",
    ):
        post_page(judge("doubles", B), tmp_path / "my", replace=True)
    assert own.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["my-knife.toml"]


def test_a_folder_that_is_not_there_is_said_once(tmp_path):
    with pytest.raises(KnifeError) as refused:
        post_page(judge("doubles", B), tmp_path / "none" / "page")
    assert len(refused.value.problems) == 1
    assert "there is no folder" in str(refused.value)
