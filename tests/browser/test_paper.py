"""Hand-outs and paper models in a Chromium without a network: shown whole, printed on both papers, nothing cut off."""

import re

import pytest

import detentlib as dl
from detentlib.files.fields import knife_from_fields
from tests.knives import CARDS, A, C

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
MANY = CARDS["C"].replace({path: 1.01 * value for path in CARDS["C"].paths() if (value := CARDS["C"].get(path))})
GUESSED = knife_from_fields(
    {
        "balls[0].diameter": "1/16 in, stock size",
        "balls[0].protrusion": "17 thou, depth micrometer",
        "balls[0].recess.diameter": "53 thou",
        "balls[0].recess.rest_offset": "3 thou",
        "balls[0].track_radius": "8.2 mm, calipers",
        "balls[0].hinge_distance": "37 mm",
        "balls[1].lower_by": "2 thou",
        "balls[1].further_out": "1.6 mm",
        "balls[1].recess.smaller_by": "2 thou",
        "bar.riding_force": "18 N, pull gauge",
        "bar.material": "Ti-6Al-4V",
        "bar.width": "7.2 mm",
        "bar.thickness": "3.1 mm",
        "bar.relief_thickness": "1.15 mm",
        "bar.relief_length": "5.5 mm",
        "blade.tab_arm": "13.5 mm, calipers",
    },
    "my knife",
)
MARGIN = 28.0  # mm, left and right together
PIXELS_PER_MM = 96 / 25.4
TOO_WIDE = """width => [...document.querySelectorAll('body *')].filter(each => !each.closest('svg')
    && each.getBoundingClientRect().right > document.body.getBoundingClientRect().left + width + 1)
        .map(each => each.outerHTML.slice(0, 80))"""


@pytest.fixture
def offline(browser, tmp_path):
    """A function that writes a page, opens it with the network cut, and gives the Page and what it asked for."""
    contexts = []

    def opened(write, name):
        contexts.append(browser.new_context(offline=True))
        page, asked = contexts[-1].new_page(), []
        page.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda message: asked.append(message.text))
        write(tmp_path / name)
        page.goto((tmp_path / name).as_uri())
        return page, asked

    yield opened
    for context in contexts:
        context.close()


@pytest.mark.parametrize("answers", [True, False])
def test_a_handout_shows_whole_and_asks_for_nothing(offline, answers):
    page, asked = offline(lambda path: dl.handout(C, path, answers), "page.html")
    assert [url for url in asked if not url.startswith("data:image/svg+xml")] == [page.url]
    pictures = page.evaluate("[...document.images].map(each => [each.complete, each.naturalWidth, each.alt.length])")
    assert len(pictures) == 3
    assert all(complete and width > 300 and alt > 40 for complete, width, alt in pictures)
    # formulas are drawn as such: a fraction is higher than a line, and nothing shows as code
    fraction, line = (page.locator(name).first.bounding_box()["height"] for name in ("mfrac", "mi"))
    assert fraction > 1.7 * line
    assert not re.search(r"\\frac|&[a-z]+;|<m", page.inner_text("body"))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(("knife", "most"), [(CARDS["A"], 12), (CARDS["C"], 14), (C, 12)], ids=["A", "C", "textbook C"])
def test_a_handout_prints_on_both_papers_with_nothing_cut_off(offline, knife, most, paper):
    page, _ = offline(lambda path: dl.handout(knife, path), "page.html")
    width = PAPERS[paper][0] - MARGIN
    page.set_viewport_size({"width": int(width * PIXELS_PER_MM), "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate(TOO_WIDE, width * PIXELS_PER_MM) == []
    pages = _boxes(page.pdf(format=paper))
    assert 5 <= len(pages) <= most
    for size in pages:
        assert size == pytest.approx(PAPERS[paper], abs=0.6)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_live_sheet_of_a_card_full_of_guesses_is_two_pages(offline, paper):
    page, _ = offline(lambda path: dl.live_sheet(GUESSED, path), "page.html")
    page.get_by_text("This sheet agrees with the library").wait_for()
    assert len(_boxes(page.pdf(format=paper))) == 2


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["A", "C"])
def test_a_bench_sheet_is_two_pages_on_both_papers_with_nothing_cut_off(offline, name, paper):
    page, _ = offline(lambda path: dl.bench_sheet(CARDS[name], path), "page.html")
    width = PAPERS[paper][0] - MARGIN
    page.set_viewport_size({"width": int(width * PIXELS_PER_MM), "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate(TOO_WIDE, width * PIXELS_PER_MM) == []
    assert len(_boxes(page.pdf(format=paper))) == 2


@pytest.mark.parametrize("write", [dl.handout, dl.bench_sheet, dl.letter])
def test_a_page_fits_the_width_of_a_phone(offline, write):
    """Tables and long lines slide by themselves; the page does not."""
    page, _ = offline(lambda path: write(CARDS["C"], path), "page.html")
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    columns = "[...document.querySelectorAll('pre')].map(each => getComputedStyle(each).columnCount)"
    assert set(page.evaluate(columns)) <= {"1", "auto"}  # a narrower one breaks the names of a knife file


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("after", [None, CARDS["C"], MANY], ids=["one knife", "before and after", "much was done"])
def test_a_letter_is_one_page(offline, after, paper):
    page, _ = offline(lambda path: dl.letter(CARDS["B"], path, after), "page.html")
    width = PAPERS[paper][0] - MARGIN
    page.set_viewport_size({"width": int(width * PIXELS_PER_MM), "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate(TOO_WIDE, width * PIXELS_PER_MM) == []
    assert _boxes(page.pdf(format=paper)) == [pytest.approx(PAPERS[paper], abs=0.6)]


@pytest.mark.parametrize("paper", PAPERS)
def test_a_printed_model_keeps_its_size(offline, paper):
    """The SVG in a page of its own, on paper: each page of the model is 210 mm × 279.4 mm and fits."""
    page, asked = offline(lambda path: dl.template(A, path, 20), "model.svg")
    assert asked == [page.url]
    box = page.evaluate("(({width, height}) => [width, height])(document.documentElement.getBoundingClientRect())")
    assert [side / PIXELS_PER_MM for side in box] == pytest.approx([210.0, 3 * 279.4], abs=0.1)
    assert box[0] / PIXELS_PER_MM <= PAPERS[paper][0]
    assert box[1] / PIXELS_PER_MM / 3 <= PAPERS[paper][1] + 0.01


def _boxes(data):
    """Size of every page of a PDF [mm]."""
    found = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", data)
    return [tuple(float(side) / 72 * 25.4 for side in box) for box in found]
