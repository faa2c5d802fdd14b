"""The claim card: what it says is what the library says, live under every switch, and it breaks a claim on a button."""

import base64
import re
from contextlib import nullcontext
from threading import Event

import pytest

from detentlib.argue.breaking import Stopped, _Search, break_it
from detentlib.argue.judging import claims, judge
from detentlib.argue.verdict import Verdict
from detentlib.draw.panel import STILL_BYTES
from detentlib.lesson.verdict_card import claim_card
from detentlib.pages.post import post_page
from detentlib.tune.pair import with_press_difference
from tests.knives import A, B, C, D, measured


@pytest.fixture(scope="module")
def card():
    return claim_card(C, "nothing")


def test_it_starts_with_the_verdict(card):
    found = judge("nothing", C)
    assert card.answer.startswith(
        "“The second ball does nothing at all.” (said against a second ball): CANNOT TELL with these instruments"
    )
    for said in (found.figure, found.scale.said("times"), found.next_words, *found.flip_words):
        assert said in card.answer
    assert 'role="status"' in card.line.value
    assert "data:image/png" in card.image.value
    assert card.alt in card.image.value.replace("&#x27;", "'")


def test_switches_change_it_and_reset_brings_it_back(card):
    start = card.answer
    card.switch(card="exact")
    assert "FALSE" in card.answer
    assert card.verdict.word == judge("nothing", C, card="exact").word
    card.switch(card="measured", blade="plane", arms="equal")
    assert card.verdict.number == judge("nothing", C, blade="plane", arms="equal").number
    card.buttons["reset"].click()
    card.wait()
    assert card.answer == start


def test_a_twin_that_was_put_in_is_said():
    card = claim_card(A)
    first, second, *_ = card.answer.splitlines()
    assert first == card.verdict.stand_in
    assert second.endswith("FALSE")  # the verdict comes after it
    assert card.line.value.index("a twin of ball 1") < card.line.value.index("FALSE")
    assert "What would flip it: a second leaf with a ball of its own: true" in card.answer
    assert "twin" not in claim_card(B).answer


@pytest.mark.parametrize("id", ["halves", "oil", "calipers"])
def test_another_claim_has_its_own_switches(id):
    card = claim_card(A)
    card.choose.value = id
    card.wait()
    assert set(card.switches) == set(claims[id].switches)
    assert {name: buttons.value for name, buttons in card.switches.items()} == judge(id, A).options
    last = {name: buttons.options[-1] for name, buttons in card.switches.items()}
    card.switch(**last)
    assert card.verdict.number == judge(id, A, **last).number
    assert card.verdict.word.upper() in card.answer
    assert "nan" not in card.answer


def test_what_cannot_be_judged_says_why():
    card = claim_card(with_press_difference(B, -0.02))
    card.choose.value = "missing-track"
    card.wait()
    assert card.verdict is None
    assert "ride the flat" in card.answer
    assert card.image.value == ""
    card.choose.value = "doubles"
    card.wait()
    assert card.verdict is not None


def test_a_claim_that_needs_what_the_knife_lacks_leaves_no_old_verdict():
    card = claim_card(measured(A), "oil")
    assert card.verdict.claim.id == "oil"
    card.choose.value = "heavier-bar"
    card.wait()
    assert card.verdict is None
    assert card.answer.startswith(f"“{claims['heavier-bar'].sentence}”")
    assert "bar.relief_thickness: is asked for here" in card.answer
    assert (card.image.value, card.alt) == ("", "")
    assert "image/png" not in card._repr_mimebundle_()[0]
    card.choose.value = "oil"
    card.wait()
    assert card.verdict.claim.id == "oil"
    assert "data:image/png" in card.image.value


@pytest.mark.parametrize("fails", [False, True])
def test_the_old_verdict_is_gone_while_the_next_is_worked_out(monkeypatch, fails):
    card, seen = claim_card(A, "oil"), []

    def look(*given, **chosen):
        seen.append((card.verdict, card.answer, card.alt, card.image.value, "image/png" in card._repr_mimebundle_()[0]))
        if fails:
            raise ZeroDivisionError
        return judge(*given, **chosen)

    monkeypatch.setattr("detentlib.lesson.verdict_card.judge", look)
    with pytest.raises(ZeroDivisionError) if fails else nullcontext():
        card.choose.value = "fixed-force"
        card.wait()
    sentence = claims["fixed-force"].sentence
    assert seen == [(None, f"“{sentence}” (heard at the bench): Judging …", "", "", False)]
    assert (card.verdict is None) == fails
    assert sentence in card.answer


def test_quick_clicks_do_not_queue_up(monkeypatch):
    """Six clicks while the first is being judged: it is dropped, the next four never begun, the last is shown."""
    card, began, go, asked, tried = claim_card(A, "fixed-force"), Event(), Event(), [], []

    def slow(*given, **chosen):
        asked.append(chosen)
        began.set()
        assert go.wait(60)
        return judge(*given, **chosen)

    monkeypatch.setattr("detentlib.lesson.verdict_card.judge", slow)
    monkeypatch.setattr(Verdict, "other", lambda self, *each: tried.append(self.options))
    clicks = [
        ("blade", "plane"),
        ("arms", "equal"),
        ("sideways", "stiff"),
        ("friction", "none"),
        ("spring", "constant"),
        ("card", "exact"),
    ]
    for name, option in clicks:
        card.switches[name].value = option
        assert began.wait(60)
        assert card.answer.endswith("Judging …")
    go.set()
    card.wait()
    last = {name: buttons.value for name, buttons in card.switches.items()}
    assert dict(clicks).items() <= last.items()
    assert asked[-1] == last
    assert len(asked) <= 3  # two at a time at most are begun before the last
    assert all(options == last for options in tried)
    assert card.verdict.options == last


def test_break_it_tells_what_the_library_finds():
    card = claim_card(D, "calipers")
    card.buttons["break"].click()
    card.wait()
    assert "It becomes true" in card.broken.value
    assert str(break_it("calipers", D)).splitlines()[0][:60] in card.broken.value
    card.switch(card="measured")
    assert card.broken.value == ""


@pytest.mark.parametrize(
    ("click", "told"), [("stop", "Stopped."), ("reset", ""), ("break", "Looking for the nearest knife")]
)
def test_a_search_ends_at_its_next_round_when_it_is_stopped_or_another_click_comes(monkeypatch, click, told):
    card, asked, go, ended = claim_card(D, "calipers"), Event(), Event(), []

    def numbers(search, moves, look=_Search.numbers):
        if not ended:  # the first search, which is still there
            asked.set()
            assert go.wait(60)
        return look(search, moves)

    def watched(*given, **chosen):
        try:
            return break_it(*given, **chosen)
        except Stopped:
            ended.append(chosen)
            raise

    monkeypatch.setattr(_Search, "numbers", numbers)
    monkeypatch.setattr("detentlib.lesson.verdict_card.break_it", watched)
    card.buttons["break"].click()
    first = card.working
    assert asked.wait(60)
    assert not card.buttons["stop"].disabled
    card.buttons[click].click()
    assert told in card.broken.value if told else card.broken.value == ""
    assert card.buttons["stop"].disabled == (click != "break")
    go.set()
    first.result()
    card.wait()
    assert len(ended) == 1
    assert ("It becomes true" in card.broken.value) == (click == "break")
    assert card.buttons["stop"].disabled


def test_a_viewer_without_a_kernel_sees_words_and_a_still(card):
    data, told = card._repr_mimebundle_()
    assert told["image/png"]["alt"] == card.alt != ""
    assert "CANNOT TELL" in data["text/plain"]
    assert len(base64.b64decode(data["image/png"])) <= STILL_BYTES


def test_who_says_so_is_named_only_as_written(card):
    assert "(said against a second ball)" in card.answer
    card.who.value = "Kim & Co"
    assert "(claimed by Kim & Co): CANNOT TELL" in card.answer
    assert "Kim &amp; Co" in card.line.value
    card.who.value = ""
    assert "(said against a second ball)" in card.answer


def test_the_page_is_written_and_nothing_is_replaced_unasked(card, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    saving = card.saving
    saving.name.value = ""
    saving.button.click()
    assert "write a file name first" in saving.line.value
    saving.name.value, card.who.value = "my-argument", "Kim"
    saving.button.click()
    names = [f"my-argument{end}" for end in ("-knife.toml", ".html", ".md", ".png")]
    assert sorted(path.name for path in tmp_path.iterdir()) == names
    assert all(name in saving.line.value for name in names)
    text = (tmp_path / "my-argument.md").read_text(encoding="utf-8")
    assert "Claimed by Kim." in text
    assert card.verdict.figure in text
    card.who.value = ""
    saving.button.click()
    assert "Not saved: my-argument.md, my-argument.html are there already." in saving.line.value
    assert "Choose another name, or tick the box above" in saving.line.value
    assert (tmp_path / "my-argument.md").read_text(encoding="utf-8") == text
    saving.overwrite.value = True
    saving.button.click()
    assert "Said against a second ball." in (tmp_path / "my-argument.md").read_text(encoding="utf-8")
    (tmp_path / "my-argument-knife.toml").write_text("another card", encoding="utf-8")
    saving.button.click()
    saving.overwrite.value = True
    saving.button.click()
    assert "my-argument-knife.toml is there already. Choose another name." in saving.line.value


def test_no_person_of_the_demo_stands_on_a_card_or_page(card, tmp_path):
    """They belong to the story of notebook 09."""
    pages = [
        path.read_text(encoding="utf-8") for path in post_page(card.verdict, tmp_path / "page") if path.suffix != ".png"
    ]
    for words in (card.answer, card.line.value, card.alt, *pages):
        assert not re.search("tangfirst|oldrelief|Ilby|Sallowgate", words)


def test_unknown_names(card):
    with pytest.raises(KeyError):
        card.switch(blad="plane")
    with pytest.raises(KeyError, match="doubles"):
        claim_card(A, "double")
