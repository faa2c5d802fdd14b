"""The job of notebook 10: the hunt for a wrong line, the report, and what is handed on."""

import math
import re
from dataclasses import replace

import pytest

import detentlib as dl
from detentlib.lesson import hand_on
from detentlib.lesson.questions.asking import bench_readings
from detentlib.lesson.questions.table import question_of
from detentlib.lesson.reporting import report_card
from detentlib.pages.hand_on import PAPERS, Paper, write_papers
from detentlib.pages.letter import letter_page
from detentlib.pages.report import report
from tests.knives import CARDS

A, B, C = (CARDS[letter] for letter in "ABC")


def test_the_wrong_line_is_the_one_that_a_calculator_finds():
    """Each line of the sheet reckoned again from the numbers written above it."""
    written = {
        letter: float(re.findall(r"[\d.]+(?=°| mm| N|$)", words)[-1])
        for letter, words in question_of("10-bug").choices.items()
    }
    radius, gap, mu = 1.5875 / 2, 0.56, 0.15
    again = {
        "a": math.degrees(math.asin(gap / radius)),
        "b": radius - math.sqrt(radius**2 - gap**2),
        "c": 15.0 - 9.0 * written["b"],
        "d": written["c"] * math.tan(math.radians(written["a"]) + math.atan(mu)),
        "e": written["d"] * 8.4 / 13.0,
    }
    wrong = [letter for letter in written if not math.isclose(written[letter], again[letter], rel_tol=5e-3)]
    right, said = question_of("10-bug").judge()
    assert wrong == [right] == ["d"]
    assert f"{again['d']:.1f} N" in said


def test_the_trace_is_what_no_single_ball_would_give():
    """The judge takes chances from the readings: on C the trace decides, and of one ball there is no such trace."""
    right, said = question_of("10-first").judge()
    assert question_of("10-first").choices[right] == "A lift trace"
    assert f"{abs(bench_readings('two-way-pull-c')['opening'].mean() - (12.05 + 3 / 14)):.1f} ±" in said
    assert dl.lift_trace(bench_readings("lift-trace-a"), A).chance > 0.05


def test_the_case_can_be_solved_from_its_readings():
    """As the notebook does it: from the card as sold and two files of readings to the drill that made recess 2."""
    trace, pulls = bench_readings("lift-trace-c"), bench_readings("two-way-pull-c")
    seen = dl.lift_trace(trace, B)
    assert seen.resting_ball == 1
    start = B.replace({"balls[1].recess.diameter": 2 * (seen.rim_gap.value + dl.feel(B).loaded_offset[1])})
    fit = dl.fit_knife(
        start, [trace, pulls], ("balls[1].recess.diameter", "balls[1].protrusion", "bar.riding_force", "friction.rim")
    )
    hole, true = fit.values["balls[1].recess.diameter"], C.balls[1].recess.diameter
    assert abs(hole.value - true) < 1.5 * hole.doubt
    assert abs(hole.value - B.balls[1].recess.diameter) > 3 * hole.doubt


@pytest.fixture(scope="module")
def page():
    return report(C, "It <bumps>.", [bench_readings("two-way-pull-c")], A).saying("It <bumps>.", "A handover.", "", "")


def test_a_report_holds_complaint_readings_numbers_and_sentences(page):
    told = repr(page)
    felt = dl.feel(C)
    assert "**Complaint.** It <bumps>." in told
    assert "two-way-pull-c.csv: two-way pull, 5 rows" in told
    assert f"{felt.break_force:.1f} ±" in told
    assert f"hands over to ball 1 at {felt.handovers[0].angle_deg:.3f}°" in told
    assert "**Found.** A handover." in told
    assert "**Advice.** (blank so far)" in told
    assert "beside: Pellowfen A" in told
    assert page._repr_markdown_() == told.replace("<bumps>", "&#60;bumps&#62;")  # a tag would be swallowed


def test_a_report_of_one_knife_says_where_the_doubt_comes_from():
    told = repr(report(A))
    assert "**Complaint.** (blank so far)" in told
    assert "**Read.** nothing" in told
    assert "**Handover.** none" in told
    assert "± mostly from" in told


def test_a_report_prints_by_itself_and_never_over_another(page, tmp_path):
    assert "It &lt;bumps&gt;." in page.html()
    assert not re.search(r"https?://|<script", page.html())
    path = tmp_path / "report.html"
    page.save(path)
    with pytest.raises(dl.KnifeError, match="is there already"):
        page.save(path)
    assert path.read_text() == page.html()


def test_the_sentences_of_a_report_are_typed_shown_and_written(page, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    made = report_card(page, "report-c.html")
    assert made._repr_mimebundle_()["text/markdown"] == page._repr_markdown_()
    assert made.boxes["Complaint"].value == page.complaint != ""
    made.boxes["Complaint"].value = "It bumps <twice>."
    said = {"Found": "Recess 2 is <small>.", "Because": "Ball 2 hands over.", "Advice": "Leave it."}
    for label, words in said.items():
        made.boxes[label].value = f" {words} "
    (shown,) = made.shown.outputs
    assert "**Found.** Recess 2 is &#60;small&#62;." in shown["data"]["text/markdown"]
    assert "**Complaint.** It bumps &#60;twice&#62;." in shown["data"]["text/markdown"]
    assert all(f"**{label}.**" in shown["data"]["text/markdown"] for label in said)
    made.save.button.click()
    assert "Saved as report-c.html." in made.save.line.value
    assert "Recess 2 is &lt;small&gt;." in (tmp_path / "report-c.html").read_text()
    made.boxes["Advice"].value = "Another drill."
    made.save.button.click()
    assert "is there already" in made.save.line.value
    assert "Another drill." not in (tmp_path / "report-c.html").read_text()
    made.save.overwrite.value = True
    made.save.button.click()
    assert "Another drill." in (tmp_path / "report-c.html").read_text()
    assert "A handover." in repr(page)  # the report that was given stays as it was


@pytest.fixture
def card(tmp_path, monkeypatch):
    """The card that hands on, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    return hand_on(C, dl.answer_sheet(1, ["seat"]))


def test_a_job_is_handed_on_whole_and_nothing_is_written_over(card, tmp_path):
    card.write()
    assert "give the files a name" in card.written.value
    card.name.value = "c"
    card.write()
    names = sorted(path.name for path in tmp_path.iterdir())
    papers = ("answers.html", "bench-sheet.html", "letter.html", "live-sheet.html", "paper-model.pdf", "sheet.html")
    assert names == [f"c-{paper}" for paper in (*papers, "to-fill-in.html", "track-map.svg")]
    assert all(f"Written: {name}" in card.written.value for name in names)
    (tmp_path / "c-answers.html").write_text("mine")
    card.write()
    assert "c-answers.html" in card.written.value
    assert "Nothing was written. Take another name." in card.written.value
    assert (tmp_path / "c-answers.html").read_text() == "mine"


def test_seed_and_topics_of_the_sheet_have_boxes(card, tmp_path):
    card.seed.value, card.topics.value = 5, ["lift", "sharing"]
    wanted = dl.answer_sheet(5, ["lift", "sharing"])
    assert card.shown.outputs[0]["data"]["text/markdown"] == repr(wanted) == card._repr_mimebundle_()["text/markdown"]
    for tick in card.ticks[:-1]:
        tick.value = False
    card.name.value = "c"
    card.write()
    assert (tmp_path / "c-sheet.html").read_text() == wanted.html()


def test_only_what_is_ticked_is_written_and_the_letter_sets_two_knives_side_by_side(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "knives").mkdir()
    dl.write_knife(A, "knives/sold.toml")
    card = hand_on(C)
    for tick in card.ticks[1:]:
        tick.value = False
    card.name.value, card.before.value = "c", "knives/sold.toml"
    card.write()
    assert [path.name for path in tmp_path.glob("c-*")] == ["c-letter.html"]
    assert (tmp_path / "c-letter.html").read_text() == letter_page(A, C)


def test_what_cannot_be_written_is_said_and_the_rest_goes_on(tmp_path):
    three = replace(C, balls=(*C.balls, replace(C.balls[1], protrusion=0.3, bearing_deg=-40.0)))
    (sheet,) = [paper for paper in PAPERS if paper.write is dl.live_sheet]  # it takes two balls
    written = write_papers(three, tmp_path / "three", (sheet, Paper("-file.toml", "the knife file", dl.write_knife)))
    assert ["3 balls" in problem for problem in written.values()] == [True, False]
    assert dl.read_knife(tmp_path / "three-file.toml") == three
