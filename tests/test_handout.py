"""The hand-out: everything of the knife is on it, its numbers are those of the library, and the blank gives nothing
away.
"""

import re
from dataclasses import replace
from functools import cache
from html import unescape

import pytest

import detentlib as dl
from detentlib.__main__ import main
from detentlib.draw.letters import legend
from detentlib.draw.plan import svg_figure
from detentlib.files.fields import knife_from_fields
from detentlib.files.writing import must_end
from detentlib.knife.parts import assumed_words, spec
from detentlib.knife.paths import field_of
from detentlib.knife.units import both
from detentlib.pages.by_hand import worked_example
from detentlib.pages.handout import LETTERS, curves, handout_page
from detentlib.pages.paper import page, picture, save
from detentlib.say.cautions import CAUTIONS
from tests.knives import CARDS, FOLDER, A, B, C, D, E
from tests.pages import Page

SALLOWGATE = dl.read_knife(FOLDER / "sallowgate-folder.toml")
FORM = knife_from_fields(
    {"balls[0].diameter": "1/16 in", "balls[0].protrusion": "0.42 mm", "balls[0].recess.diameter": "0.052 in"},
    "from the form",
)
WORN = replace(A.replace({"balls[0].recess.edge_radius": 0.05}), title="worn")
SOFT = replace(B.replace({"balls[0].contact_modulus": 120_000.0, "balls[1].contact_modulus": 120_000.0}), title="soft")
KNIVES = [A, B, C, D, E, SALLOWGATE, FORM, WORN, SOFT]
MANY = pytest.mark.parametrize("knife", KNIVES, ids=lambda knife: knife.title)


@cache
def _page(title, answers):
    """A hand-out of one of the knives, written once for all tests."""
    return handout_page(next(knife for knife in KNIVES if knife.title == title), answers)


@MANY
def test_it_holds_the_whole_knife_and_asks_for_nothing_outside(knife):
    reader = Page(_page(knife.title, True))
    said = re.sub(r"\s+", " ", reader.words)
    for path in knife.paths():
        if knife.doubts.get(path):
            unit = spec(path)["unit"]
            assert both(knife.get(path), unit, knife.doubts[path]) in said, path
    felt = dl.feel(knife)
    assert dl.budget(knife, "break_force").interval.said("N") in said
    assert all(sentence in said for sentence in (*felt.flags, *felt.left_out, *CAUTIONS.values()))
    assert all(link.startswith("data:image/svg+xml;base64,") for link in reader.addresses)
    assert all(len(picture["alt"]) > 40 for picture in reader.all("img"))
    assert len(reader.all("img")) == 3
    assert "nan" not in said.lower().replace("tenant", "")


@MANY
def test_the_blank_has_the_same_steps_and_no_results(knife):
    full, blank = (_page(knife.title, answers) for answers in (True, False))
    steps = [re.findall(r"<div class='work[^>]*><div>(.*?)</div>", text) for text in (full, blank)]
    assert steps[0] == steps[1]
    assert len(steps[0]) > 20
    said = re.sub(r"\s+", " ", Page(blank).words)
    felt = dl.feel(knife)
    for number in (f"{felt.break_force:.2f} N", f"{felt.letback_force:.2f} N", f"{felt.barrier:.2f} mJ"):
        assert number not in said
    math = re.sub(r"<[^>]+>", " ", " ".join(re.findall(r"<math.*?</math>", blank)))
    assert not re.search(r"\d\.\d", math)


def test_the_assumed_are_marked():
    source = _page(FORM.title, True)
    assert source.count("<td>guess</td>") == 3
    assert source.count("<td>assumed</td>") == len(FORM.assumed) - 3
    assert f"{spec('balls[0].protrusion')['meaning']} (a guess)" in source
    assert "Guessed or assumed, as nobody measured it" in source


def test_every_letter_of_the_job_card_is_among_the_letters():
    named = {letter for part in legend().split("; ") for letter in part.partition(": ")[0].split(", ")}
    assert set(LETTERS.values()) <= named


def test_what_ball_2_was_guessed_to_be_beside_ball_1_is_a_guess():
    card = {"balls[0].diameter": "1/16 in", "balls[0].protrusion": "17 thou", "balls[0].recess.diameter": "53 thou"}
    card |= {"bar.riding_force": "18 N", "balls[1].lower_by": "2 thou", "balls[1].further_out": "1.6 mm, calipers"}
    knife = knife_from_fields(card, "mine")
    told = assumed_words(knife)
    assert "ball 2: protrusion of the ball above the bar face (a guess)" in told
    assert "ball 2: hinge distance of the ball (middle of the relief to ball)" in told
    source = handout_page(knife)
    assert source.count("<td>calipers</td>") == 1
    assert source.count("<td>guess</td>") == len([said for said in told if "(a guess)" in said])


@pytest.mark.parametrize("title", ["<b>&\"'", "Ilby's {} %s knife", "ключ ± µ", ""])
def test_a_title_is_only_text(title):
    knife = dl.Knife(title, A.balls, A.bar, A.blade, A.friction)
    source = handout_page(knife)
    reader = Page(source)
    assert title in reader.words
    assert "<b>&" not in source


@pytest.mark.parametrize("knife", [A, SALLOWGATE, FORM], ids=lambda knife: knife.title)
def test_its_command_gives_its_numbers(knife, tmp_path, monkeypatch, capsys):
    source = _page(knife.title, True)
    file, command = (
        unescape(re.search(rf"<{tag}>(.*?)</{tag.split()[0]}>", source, re.S)[1])
        for tag in ("pre class='knife'", "code")
    )
    (tmp_path / command.split()[-1]).write_text(file, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert dl.read_knife(command.split()[-1]) == knife
    main(command.split()[3:])
    shown = re.search(r"Break force at the tab \| ([\d.]+)", capsys.readouterr().out)[1]
    assert float(shown) == round(dl.feel(knife).break_force, len(shown.partition(".")[2]))


def test_the_doubt_is_the_budget():
    found = dl.budget(A, "break_force")
    said = re.sub(r"<[^>]+>", "|", _page(A.title, True))
    assert f"Break force at the tab: {found.interval.said('N')}" in said
    path = "balls[0].recess.rest_offset"
    assert f"rest offset of the recess||±{abs(found.shares[path]):.2g} N||{100 * found.part(path):.0f} %" in said


def test_without_any_doubt_it_says_nothing_about_doubt():
    bare = dl.Knife("bare", A.balls, A.bar, A.blade, A.friction)
    assert "Where the ± comes from" not in handout_page(bare)
    assert "no ± given" in handout_page(bare)


def test_it_is_the_same_twice_and_written_whole(tmp_path):
    dl.handout(C, tmp_path / "c.html")
    text = (tmp_path / "c.html").read_text(encoding="utf-8")
    assert text == _page(C.title, True)
    dl.handout(C, tmp_path / "c.html", answers=False, replace=True)
    assert (tmp_path / "c.html").read_text(encoding="utf-8") == _page(C.title, False)
    assert [each.name for each in tmp_path.iterdir()] == ["c.html"]


def test_what_cannot_be_written_is_said(tmp_path):
    with pytest.raises(dl.KnifeError, match="does not end in"):
        dl.handout(A, tmp_path / "a.pdf")
    with pytest.raises(dl.KnifeError, match="cannot be written"):
        dl.handout(A, tmp_path / "no such folder" / "a.html")
    with pytest.raises(dl.KnifeError, match="rim gap"):
        dl.handout(A.replace({"balls[0].recess.diameter": 1.75}), tmp_path / "a.html")
    assert list(tmp_path.iterdir()) == []


def test_a_page_allows_nothing_from_outside():
    assert "default-src 'none'" in page("a", "b")
    assert page("<&>", "").count("<title>&lt;&amp;&gt;</title>") == 1


def test_a_picture_carries_its_words():
    assert 'alt="a &quot;b&quot; &lt;c&gt;"' in picture(svg_figure(1, 1), 'a "b" <c>')


def test_save_keeps_what_is_there_when_it_fails(tmp_path):
    with pytest.raises(dl.KnifeError):
        save(tmp_path, lambda: "text")
    must_end("page.HTML", ".html")


def test_a_handover_is_told_as_the_stretch_that_it_is():
    """The demo's table: C hands over from 1.692° to 1.819°; a bar that is stiff sideways hands over at once, at
    1.90°.
    """
    _, told = curves(CARDS["C"], True)
    assert told.endswith("From 1.69° to 1.82° (dotted in its middle) ball 2 gives the bar to ball 1.")
    _, told = curves(C, True)
    assert told.endswith("At 1.90° (dotted) ball 2 gives the bar to ball 1.")


def test_the_letters_stand_on_the_first_page_and_are_those_of_the_arithmetic():
    """A letter of the card is that of the worked example: wherever a line uses it, with the number of the card."""
    source = _page(A.title, True)
    assert source.index("The letters of the arithmetic") < source.index("Before you touch the knife")
    card = {field_of(path): A.get(path) for path in A.paths()}
    used = {}
    for part in worked_example(A):
        for line in part.lines:
            used |= {str(symbol): value for symbol, (value, _) in getattr(line, "numbers", {}).items()}
    written = {"ρ": r"\rho", "Dᵣ": "D_r", "d₀": "d_0", "Fᵣ": "F_r", "tᵣ": "t_r", "gₚ": "g_p"}
    written |= {"ℓ": r"\ell", "μ": r"\mu"}
    alone = {each: letter for each, letter in LETTERS.items() if card.get(each) and letter not in ("k", "μ")}
    assert len(alone) == 14
    assert {each: used[written.get(letter, letter)] for each, letter in alone.items()} == pytest.approx(
        {each: card[each] for each in alone}
    )
    assert abs(used[r"\mu"]) == A.friction.rim
    shown = re.findall(r"<tr><td>([^<]+)</td><td>([^<]+)</td>", source.split("Job card")[1])
    assert {letter for letter, _ in shown} >= set(alone.values())
    assert ("p", spec("balls[0].protrusion")["meaning"]) in shown
    assert all(letter in legend() for letter in ("Dᵣ, a", "d₀, d", "ρ, A", "ℓ, tᵣ"))


def test_printed_pages_are_numbered():
    assert re.search(r"@page \{[^}]*@bottom-right \{ content: counter\(page\) \" / \" counter\(pages\)", page("a", "b"))
