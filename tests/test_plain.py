"""What people write stays text: in Markdown, in HTML and in pictures, whatever marks it holds."""

import re
import warnings
import xml.etree.ElementTree as ET
from dataclasses import replace

import mistune
import pytest

import detentlib as dl
from detentlib.argue.judging import judge
from detentlib.draw.plan import svg_text
from detentlib.draw.scenes import side_by_side
from detentlib.knife.plain import in_html, in_markdown, in_picture
from detentlib.pages.handout import handout_page
from detentlib.pages.livesheet import page as live_page
from detentlib.pages.post import post_html, post_page, verdict_picture
from detentlib.pages.report import report
from detentlib.tune.pair import with_second_ball

from .knives import A, C
from .pages import Page

NASTY = {
    "table": "a | b",
    "picture": "![x](http://nowhere.invalid/x.png)",
    "script": "<script>alert(1)</script>",
    "formula": "$\\frac{1}{2}$ and $$x$$",
    "broken formula": "$\\nosuch{$ 5 $",
    "brackets": "\\(x\\) \\[y\\]",
    "emphasis": "**loud** _soft_ ~~out~~ `code`",
    "lines": "first\n\n# second\n- third",
    "control": "a\0b\x1b[31mc\x7f",
    "entity": "&lt;b&gt; &copy;",
    "heading": "# top #",
}
ALL = " and ".join(NASTY.values())
EACH = pytest.mark.parametrize("title", NASTY.values(), ids=NASTY)


def _shown(title):
    """The title as it should be read on one line."""
    return re.sub(r"\s*\n\s*", " ", title).translate({0: "␀", 0x1B: "␛", 0x7F: "␡"})


def _rendered(markdown):
    """HTML of Markdown with tables and strikes, by the library that turns notebooks into pages."""
    return mistune.create_markdown(escape=False, plugins=["table", "strikethrough", "math"])(markdown)


@EACH
def test_markdown_shows_it_as_it_is(title):
    read = Page(_rendered(f"### On {in_markdown(title)}\n\n| a | b |\n|---|---|\n| {in_markdown(title)} | c |"))
    assert set(read.tags) <= {"h3", "table", "thead", "tbody", "tr", "th", "td", "span"}
    assert read.tags.count("td") == 2
    assert read.words.count(_shown(title)) == 2
    assert "$" not in in_markdown(title)
    assert "\\" not in in_markdown(title)


@EACH
def test_a_sign_that_begins_a_formula_stands_in_a_tag_of_its_own(title):
    pieces = re.split(r"<[^>]*>", _rendered(in_markdown(title)))
    assert all(piece in ("$", "\\") for piece in pieces if "$" in piece or "\\" in piece)


@EACH
def test_html_shows_it_as_it_is(title):
    read = Page(f'<p title="{in_html(title)}">{in_html(title)}</p>')
    assert read.tags == ["p"]
    assert _shown(read.words) == _shown(title)
    assert "\0" not in read.words


def test_every_page_of_markdown_keeps_a_title_as_text(tmp_path):
    title = ALL
    knife, plain = replace(C, title=title), replace(C, title="plain")
    verdict = judge(dl.Claim.compose("break_force", of=replace(A, title=title), against=knife, relation="less"))
    post_page(verdict, tmp_path / "nasty")
    forms = {
        "report": (
            report(knife, beside=A).saying(title, title, "", ""),
            report(plain, beside=A).saying("plain", "plain", "", ""),
        ),
        "compare": (dl.compare(knife, A), dl.compare(plain, A)),
        "per_thou": (dl.per_thou(knife), dl.per_thou(plain)),
        "verdict": (
            verdict,
            judge(dl.Claim.compose("break_force", of=replace(A, title="plain"), against=plain, relation="less")),
        ),
    }
    for name, (nasty, calm) in forms.items():
        read, other = (Page(_rendered(each._repr_markdown_())) for each in (nasty, calm))
        assert _shown(title) in read.words, name
        assert [tag for tag in read.tags if tag != "span"] == [tag for tag in other.tags if tag != "span"], name
    posted = Page(_rendered((tmp_path / "nasty.md").read_text(encoding="utf-8")))
    assert _shown(title) in posted.words
    assert not {"img", "table"} & set(posted.tags)  # a text for any forum
    assert "script" not in posted.tags


def test_every_page_of_html_keeps_a_title_as_text():
    title = ALL
    knife = replace(A, title=title)
    pages = {
        "hand-out": handout_page(knife),
        "report": report(knife, complaint=title).html(),
        "posted": post_html(judge("nothing", knife)),
        "live sheet": live_page(knife, with_second_ball(knife)),
    }
    for name, page in pages.items():
        read = Page(page)
        assert _shown(title) in _shown(read.words), name
        assert read.tags.count("script") == (1 if name == "live sheet" else 0), name
        assert "\0" not in page, name


def test_a_picture_draws_it_as_it_is(tmp_path):
    title = ALL
    knife = replace(C, title=title)
    claim = dl.Claim.compose("break_force", of=replace(A, title=title), against=knife, relation="less")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        drawn = [dl.track_map(knife).svg, svg_text(verdict_picture(judge(claim)), title, title)]
        dl.template(knife, tmp_path / "model.svg")
        dl.template(knife, tmp_path / "model.pdf")
        side_by_side(knife, replace(A, title=title + "!"))._repr_mimebundle_()
    for each in (*drawn, (tmp_path / "model.svg").read_text(encoding="utf-8")):
        assert ET.fromstring(each).tag.endswith("svg")


def test_a_pair_of_dollars_is_drawn_as_dollars():
    from matplotlib.figure import Figure

    text = Figure().text(0, 0, in_picture("$x$ \\$"))
    assert text._preprocess_math(text.get_text()) == ("$x$ \\$", False)


def test_half_a_character_is_shown_as_one_that_is_missing(tmp_path):
    """No file can hold it: every writer would stop at it."""
    for made in (in_markdown, in_html, in_picture):
        assert made("a\ud800b\udfff") == "a\ufffdb\ufffd"
    post_page(judge("doubles", replace(A, doubts={})), tmp_path / "page", claimed_by="\ud800")
    assert "\ufffd" in (tmp_path / "page.md").read_text(encoding="utf-8")
