"""Measuring in a notebook: rows pasted and typed, points on a photo, a trace against a card, the sheet to print."""

import io
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import PIL.Image
import pytest

import detentlib as dl
from detentlib.doubt.cloud import cloud
from detentlib.draw import scenes_measure
from detentlib.draw.laid_over import laid_over
from detentlib.draw.panel import STILL_BYTES
from detentlib.files.instruments import INSTRUMENTS
from detentlib.knife.parts import name_of
from detentlib.lesson.picker import photo_picker
from detentlib.lesson.rows import PasteBox, TypedRows, in_words
from detentlib.measure.fit import FREE
from detentlib.measure.photo import against_ball
from detentlib.measure.readings import KINDS, ReadingError
from detentlib.pages.benchsheet import card_rows, sheet_html
from detentlib.say.cautions import CAUTIONS
from detentlib.say.measured import fit_words, next_words, pull_words, trace_words, what_next
from detentlib.say.working import tell
from tests.invented import READINGS
from tests.invented_photo import PIXELS_PER_MM, SCALE_ENDS, SEAT, photo
from tests.knives import CARDS
from tests.pages import Page

A, C = CARDS["A"], CARDS["C"]
BORE, REST = scenes_measure.BORE, scenes_measure.REST
MARKS = tuple((x * PIXELS_PER_MM, y * PIXELS_PER_MM) for x, y in SCALE_ENDS)


def demo(name):
    return dl.read_readings(READINGS / f"{name}.csv")


def demo_picker(**more):
    return photo_picker(
        READINGS / "photo-a.png", demo("photo-rim-a"), demo("photo-ball-a"), MARKS, distance=2.0, **more
    )


def turned(radius, centre, degrees):
    return [
        (centre[0] + radius * math.cos(math.radians(turn)), centre[1] + radius * math.sin(math.radians(turn)))
        for turn in degrees
    ]


# pasted


def test_a_pasted_table_is_read_and_said():
    box = PasteBox("two-way pull")
    assert box.readings is None
    box.text.value = "opening [N]\tletting back [lbf]\n12.0\t1.6\n12.2\t1.7\n"
    assert box.readings["letting back"].tolist() == pytest.approx([7.1172, 7.5620], abs=1e-4)
    assert "Read: two-way pull, 2 rows; opening 12 to 12.2 N" in box.line.value
    assert 'role="status"' in box.line.value


def test_every_bad_row_of_a_paste_is_named_and_nothing_is_kept():
    box = PasteBox("lift trace")
    box.text.value = "angle [deg], lift [mm]\n0, 0.1\n1, 0.2"
    assert len(box.readings) == 2
    box.text.value = "angle [deg], lift [mm]\n0, oops\n1, 0.2\n2, 0.3, 0.4"
    assert box.readings is None
    assert "line 2" in box.line.value
    assert "line 4" in box.line.value
    assert "line 3" not in box.line.value
    box.text.value = "   "
    assert "Nothing pasted yet." in box.line.value


def test_what_was_read_is_said_with_its_remarks():
    said = in_words(demo("lift-trace-a"))
    assert said.startswith("Read: lift trace, 302 rows; angle 0 to 178°")
    assert "Remarks: invented readings" in said


# typed


def test_typed_rows_are_read_as_they_are_filled():
    rows = TypedRows("two-way pull", 3)
    assert rows.readings is None
    rows.fill(1, "12.0 N", "1.62 lbf")
    rows.fill(3, 12.2, 7.1)
    assert rows.readings["letting back"].tolist() == pytest.approx([7.2061, 7.1], abs=1e-4)
    rows.add_row(12.1, 7.3)
    assert len(rows.readings) == 3
    rows.remove_row()
    rows.remove_row()
    assert len(rows.readings) == 1
    for _ in range(5):
        rows.remove_row()
    assert len(rows.cells()) == 1


def test_a_bad_cell_is_named_beside_its_own_row():
    rows = TypedRows("two-way pull", 4)
    rows.fill(2, 12.0, 7.0)
    rows.fill(4, 12.0, "7,x")
    assert rows.readings is None
    assert rows.said(2) == ""
    assert "letting back" in rows.said(4)
    assert "7,x" in rows.said(4)
    assert "Look at row 4." in rows.line.value
    rows.fill(3, 12.0, "")
    assert "letting back cell" in rows.said(3)
    assert "Look at row 3, 4." in rows.line.value
    rows.fill(3, "", "")
    rows.fill(4, "", "")
    assert len(rows.readings) == 1


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_can_be_typed_and_every_box_has_its_own_name(kind):
    rows = TypedRows(kind, 2)
    for row in (1, 2):
        rows.fill(row, *[str(row + 0.5)] * len(rows.header))
    assert rows.readings.kind == kind
    names = [box.description for boxes, _ in rows._rows for box in boxes]
    assert len(set(names)) == len(names) == 2 * len(rows.header)


def test_an_unknown_kind_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match="lift trace"):
        TypedRows("lift trase")


# photo


def test_three_points_make_a_circle_and_more_make_it_sure():
    """Centre (100, 80), radius 60: points exactly on it, then with the crosshair."""
    picker = photo_picker()
    picker.add(160, 80)
    assert "1 of at least 3 points" in picker.answer
    for place in ((100, 140), (40, 80)):
        picker.add(*place)
    circle = picker.circle()
    assert (circle.x.value, circle.y.value, circle.diameter.value) == pytest.approx((100, 80, 120))
    assert "three points make a circle but no ±" in picker.answer
    picker.across.slider.value, picker.down.box.value = 100, 20
    picker.add()
    assert picker.points["rim"][-1] == (100.0, 20.0)
    assert picker.circle().diameter.value == pytest.approx(120)
    assert "diameter 120.0" in picker.answer
    assert '<circle cx="100.00" cy="80.00" r="60.00"' in picker.image.value
    picker.remove()
    assert len(picker.readings()) == 3


def test_points_on_a_line_and_no_points_are_told():
    picker = photo_picker()
    with pytest.raises(ReadingError, match="no points on the rim of the recess yet"):
        picker.circle()
    for x in (10, 20, 30):
        picker.add(x, 10)
    assert "no circle through them" in picker.answer
    assert "<circle" not in picker.image.value
    with pytest.raises(ReadingError, match="cannot be"):
        picker.add(math.nan, 3)
    assert len(picker.points["rim"]) == 3


def test_a_scale_turns_pixels_into_mm_and_its_doubt_counts():
    picker = photo_picker(distance=1.0)
    for place in turned(200, (400, 400), range(0, 360, 30)):
        picker.add(*place)
    assert "No scale yet" in picker.answer
    picker.edge.value = "scale"
    picker.add(0, 0)
    picker.add(300, 400)
    assert picker.scale.value == pytest.approx(0.002)
    assert picker.circle("rim").diameter.value == pytest.approx(0.8)
    # 1 px at each mark of 500 px apart: 0.28 % of 0.8 mm
    assert picker.sure(picker.circle("rim")).doubt == pytest.approx(0.8 * math.sqrt(2) / 500, rel=1e-6)
    picker.add(0, 1)
    assert picker.points["scale"] == [(300.0, 400.0), (0.0, 1.0)]


def test_a_click_puts_a_point_and_one_in_the_magnifier_moves_it():
    """What the page hands over for a click: which drawing, and the place in px of the file."""
    picker = photo_picker()
    picker._clicked.value = "whole picture,160.40,80.00"
    assert picker.points["rim"] == [(160.4, 80.0)]
    assert (picker.across.value, picker.down.value) == (160.4, 80.0)
    picker._clicked.value = "magnifier,161.00,79.50"
    assert picker.points["rim"] == [(161.0, 79.5)]
    picker.edge.value = "ball"
    picker._clicked.value = "magnifier,10.00,20.00"
    assert picker.points["ball"] == [(10.0, 20.0)]
    assert len(picker.points["rim"]) == 1
    views = [ET.fromstring(shown).attrib["data-view"] for shown in (picker.image.value, picker.magnifier.value)]
    assert views == ["whole picture", "magnifier"]


def test_a_short_arc_is_warned_of_and_the_two_fits_part():
    picker = photo_picker(rim=demo("photo-rim-worn"))
    assert "Rim of the recess: the points cover only 73° of the circle" in picker.answer
    geometric = picker.circle().radius.value
    picker.method.value = "algebraic"
    assert picker.circle().radius.value < geometric


def test_the_demo_photo_gives_back_what_was_put_in():
    picker = demo_picker()
    rim, ball = picker.circle("rim"), picker.circle("ball")
    offset = against_ball(rim, ball, (1, 0))
    recess = A.balls[0].recess
    assert abs(rim.diameter.value - recess.diameter) < rim.diameter.doubt
    assert abs(ball.diameter.value - A.balls[0].diameter) < ball.diameter.doubt
    assert abs(offset.rest_offset.value - recess.rest_offset) < offset.rest_offset.doubt
    assert abs(offset.off_track.value) < offset.off_track.doubt
    assert picker.scale.value == pytest.approx(1 / PIXELS_PER_MM)
    assert repr(picker) == "<Photo picker: 16 points on the rim of the recess, 16 points on the edge of the ball>"


def test_the_drawn_rim_of_the_photo_lies_where_the_points_are():
    """Dark inside the rim, light outside it, all round; and the stored file is the drawn one, and small."""
    stored = (READINGS / "photo-a.png").read_bytes()
    assert len(stored) < 60_000
    grey, drawn = (np.array(PIL.Image.open(io.BytesIO(data)).convert("L"), float) for data in (stored, photo(A)))
    assert np.abs(grey - drawn).mean() < 2
    centre, radius = np.array(SEAT) * PIXELS_PER_MM, A.balls[0].recess.diameter / 2 * PIXELS_PER_MM
    for share, dark in ((0.97, True), (1.06, False)):
        places = np.array(turned(share * radius, centre, range(0, 360, 15))).round().astype(int)
        shades = grey[places[:, 1], places[:, 0]]
        assert (shades < 90).all() if dark else (shades > 120).all()


def test_the_picture_of_the_picker_is_sound_and_has_words():
    picker = demo_picker()
    for shown in (picker.image.value, picker.magnifier.value):
        picture = ET.fromstring(shown)
        assert picture.attrib["role"] == "img"
        assert picture.attrib["aria-label"]
    assert "51.92 ± 0." in ET.fromstring(picker.image.value).attrib["aria-label"]
    marks = {each.attrib["d"][:1] for each in ET.fromstring(picker.image.value).iter("path")}
    assert marks == {"M"}
    kinds = {re.sub(r"[-\d. ]+", "", path.attrib["d"]) for path in ET.fromstring(picker.image.value).iter("path")}
    assert len(kinds) == 4, "ring, square, cross and crosshair are told apart by shape"


def test_points_of_another_kind_and_photos_that_are_none_are_refused(tmp_path):
    with pytest.raises(ReadingError, match="where photo points are wanted"):
        photo_picker(rim=demo("lift-trace-a"))
    with pytest.raises(ReadingError, match="counted in px"):
        photo_picker(rim=dl.readings_from_text("x [mm], y [mm]\n0, 0\n1, 1\n0, 1"))
    (tmp_path / "no.png").write_text("no picture")
    for path, said in ((tmp_path / "no.png", "cannot be read as a picture"), (tmp_path / "none.png", "is not there")):
        with pytest.raises(ReadingError, match=said):
            photo_picker(path)


def test_a_large_photo_keeps_its_own_pixels(tmp_path):
    PIL.Image.new("RGB", (3000, 1000), "white").save(tmp_path / "wide.jpg")
    picker = photo_picker(tmp_path / "wide.jpg")
    assert picker.across.control.hi == 3000
    picker.add(2900, 900)
    assert picker.points["rim"] == [(2900.0, 900.0)]
    assert len(picker.image.value) < 200_000


def test_laid_over_says_offset_and_diameters_and_stays_small():
    picker = demo_picker()
    over = laid_over(picker.circle("rim"), picker.circle("ball"))
    words = "\n".join(over.words)
    assert "rest offset: 0.1044 ± 0.0044 mm" in words
    assert "nothing beyond its ±" in words
    data, told = over._repr_mimebundle_()
    assert over.words[0] in told["image/png"]["alt"]
    assert len(data["image/png"]) * 3 / 4 < STILL_BYTES
    turned_about = laid_over(picker.circle("rim"), picker.circle("ball"), (-1, 0))
    assert turned_about.offset.rest_offset.value == pytest.approx(-over.offset.rest_offset.value)
    plain = photo_picker(rim=demo("photo-rim-a"), ball=demo("photo-ball-a"))
    in_pixels = plain.circle("rim"), plain.circle("ball")
    with pytest.raises(ReadingError, match="has no scale"):
        laid_over(*in_pixels)


# trace against card


def test_the_right_card_explains_the_trace_and_a_wrong_one_does_not():
    trace = demo("lift-trace-a")
    assert scenes_measure.compared(A, trace).chance > 0.1
    for wrong in ({BORE: 1.25}, {BORE: A.get(BORE) + 0.1016}):
        assert scenes_measure.compared(A.replace(wrong), trace).chance < 1e-6
    same_gap = {BORE: A.get(BORE) + 0.1016, REST: A.get(REST) + 0.0508}
    assert scenes_measure.compared(A.replace(same_gap), trace).times == pytest.approx(
        scenes_measure.compared(A, trace).times, rel=0.02
    )


def test_scatter_is_counted_as_put_in():
    """Readings made from the curve itself with a known scatter lie about once their scatter off it."""
    rng, angle = np.random.default_rng(5), np.linspace(5.0, 6.0, 400)
    lift = dl.sweep(A, angle).gap + 0.003 * rng.standard_normal(400)
    rows = "\n".join(f"{a:.4f}, {b:.6f}" for a, b in zip(angle, lift, strict=True))
    found = scenes_measure.compared(A, dl.readings_from_text(f"angle [deg], lift [mm]\n{rows}"))
    assert found.times == pytest.approx(1.0, abs=0.08)
    assert found.doubt == pytest.approx(0.006, rel=1e-6)


def test_one_ball_of_another_recess_and_a_zero_further_off_hide_two_from_the_panel():
    """No card near that of A explains trace C; one with a recess of 1.28 mm does, no worse than C itself. The trace
    tells them apart (test_recovery).
    """
    trace = demo("lift-trace-c")
    one_ball = {bore: scenes_measure.compared(A.replace({BORE: bore}), trace) for bore in (1.25, 1.28, 1.32)}
    assert one_ball[1.25].chance < 0.01 < one_ball[1.28].chance
    assert one_ball[1.32].chance < 0.01
    assert scenes_measure.compared(C, trace).chance > 0.01
    assert one_ball[1.28].off > scenes_measure.compared(C, trace).off > 0.1


def test_the_zeros_are_put_where_they_fit_best():
    """The protractor 0.2° further off, the indicator 2 mm higher: the same readings beside the same curve."""
    trace = demo("lift-trace-a")
    near = {name: column[trace["angle"] < 6] for name, column in trace.columns.items()}
    moved = {"angle": np.where(near["angle"] == 0, 0.0, near["angle"] + 0.2), "lift": near["lift"] + 2.0}
    one, other = (scenes_measure.compared(A, replace(trace, columns=columns)) for columns in (near, moved))
    assert other.off - one.off == pytest.approx(0.2, abs=0.05)
    assert other.times == pytest.approx(one.times, rel=0.03)


def test_the_panel_chooses_a_trace_and_says_whether_the_card_explains_it():
    panel = scenes_measure.against_trace(A)
    assert "Trace A: 241 readings, the zero of the protractor put right by 0.2°" in panel.answer
    assert "this card explains them" in panel.answer
    panel.move({"trace": "C"})
    assert "this card does not explain them" in panel.answer
    panel.move({"trace": "B", BORE: 1.25})
    assert "this card does not explain them" in panel.answer
    panel._reset()
    assert "Trace A" in panel.answer
    only = scenes_measure.against_trace(A, demo("lift-trace-b"))
    assert "Trace: 239 readings" in only.answer
    with pytest.raises(ReadingError, match="where a lift trace is wanted"):
        scenes_measure.against_trace(A, demo("photo-rim-a"))


@pytest.mark.parametrize("name", scenes_measure.against_trace(A)._presets)
def test_every_try_draws(name):
    panel = scenes_measure.against_trace(A)
    panel._preset.value = name
    assert panel.knife != A
    assert re.search(r"\d\.\d\d times", panel.answer)
    assert len(panel._repr_mimebundle_()[0]["image/png"]) * 3 / 4 <= STILL_BYTES


def test_two_balls_have_two_sections_and_more_sliders():
    panel = scenes_measure.against_trace(C, demo("lift-trace-c"))
    assert set(scenes_measure.SECOND) < set(panel._nums)
    assert "Ball 2: rim gap" in panel.answer
    assert "explains them" in panel.answer
    assert len(panel._repr_mimebundle_()[0]["image/png"]) * 3 / 4 <= STILL_BYTES


# words


def test_words_of_a_trace_and_of_two_pulls_hold_what_was_put_in():
    seen = dl.lift_trace(demo("lift-trace-a"), A)
    words = "\n".join(trace_words(seen))
    assert f"ball 1 touches at {seen.contact_deg.value:.1f}" in words
    assert "handover: none" in words
    assert "run-off at 167.91" in words
    dry, oiled = (dl.two_way_pull(demo(f"two-way-pull-a-{state}"), A, seen.contact_deg) for state in ("dry", "oiled"))
    assert f"friction {dry.friction.value:.3f}" in "\n".join(pull_words(dry))
    assert abs(dry.friction.value - 0.28) <= dry.friction.doubt
    assert "0.5° off the stop: 21 % low" in "\n".join(pull_words(oiled))
    assert abs(dry.bar_force.value - oiled.bar_force.value) < dry.bar_force.doubt


def test_words_of_a_fit_have_no_paths():
    fit = dl.fit_knife(A, [demo("lift-trace-a"), demo("two-way-pull-a-oiled")], free=FREE, use_card=False)
    words = "\n".join(fit_words(fit))
    assert "diameter of the recess and rest offset of the recess cannot be told apart here" in words
    assert "balls[0]" not in words
    advice = dl.next_measurement(A, "break_force")[0]
    said = next_words(advice, A, "break_force")
    assert said.startswith(f"{advice.instrument}, {advice.minutes:g} min: {name_of(advice.path, A)} from ±")
    assert f"that leaves ±{advice.result_doubt:.1f} N" in said


@pytest.mark.checked_by("a simulator", "every draw read by the instrument", "next_measurement")
def test_what_to_measure_next_does_what_it_says_when_it_is_done():
    """The advice after a fit, done in simulation: every draw of the knife is read by that instrument, and its
    reading taken into account.
    """
    fit = dl.fit_knife(A, [demo("lift-trace-a"), demo("two-way-pull-a-oiled")])
    advice = dl.next_measurement(fit.knife, "break_force")[0]
    drawn = cloud(fit.knife)
    true, force = drawn.numbers(0)[advice.path][1:], drawn.column("break_force", 0)[1:]
    spread = 1.96 * np.std(true)
    read = true + np.random.default_rng(1).standard_normal(true.size) / (
        1.96 * math.sqrt(advice.doubt_then**-2 - spread**-2)
    )
    left = force - np.polynomial.Polynomial.fit(read, force, 1)(read)
    assert 1.96 * np.std(left) == pytest.approx(advice.result_doubt, rel=0.08)
    assert advice.result_doubt <= dl.budget(fit.knife, "break_force").doubt
    assert f"that leaves ±{advice.result_doubt:.2g} N" in next_words(advice, fit.knife, "break_force")


def test_what_is_not_worth_its_minutes_is_not_advised_and_the_reason_is_said():
    """A fit of all readings leaves nothing that one more instrument takes a twentieth off; the card alone does not."""
    assert what_next(A, "break_force")[1].startswith("two-way pull, five times, 10 min")
    fit = dl.fit_knife(A, [demo(name) for name in ("lift-trace-a", "two-way-pull-a-oiled", "force-angle-a")])
    sure, advice = dl.budget(fit.knife, "break_force"), dl.next_measurement(fit.knife, "break_force")
    assert all(each.result_doubt > 0.95 * sure.doubt for each in advice)
    said = what_next(fit.knife, "break_force")
    best = min(advice, key=lambda each: each.result_doubt)
    assert said[0] == f"break force {sure.interval.said('N')}"
    assert "no further measurement of one number is worth its minutes" in said[1]
    assert best.instrument in said[1]
    assert name_of(sure.largest, fit.knife) in said[2]
    assert said[3].startswith("such parts add up to more than the whole")
    assert sum(share**2 for share in sure.shares.values()) > 1.5 * sure.doubt**2


def test_long_lines_are_wrapped_between_words(capsys):
    tell("short", "word " * 40)
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "short"
    assert all(len(line) <= 108 for line in lines)
    assert " ".join(lines[1:]).split() == ["word"] * 40


# the sheet


@pytest.mark.parametrize("knife", [A, C], ids=lambda knife: knife.title)
def test_the_bench_sheet_is_complete_and_needs_nothing_from_outside(knife, tmp_path):
    dl.bench_sheet(knife, tmp_path / "sheet.html")
    page = (tmp_path / "sheet.html").read_text(encoding="utf-8")
    sheet = Page(page)
    assert all(address.startswith("data:") for address in sheet.addresses)
    assert "<script" not in page
    assert {name for name, said in CAUTIONS.items() if said in sheet.sentences} >= {"edge", "gauge", "solvent", "law"}
    assert not {CAUTIONS["drill"], CAUTIONS["press"]} & sheet.sentences
    words = " ".join(sheet.words.split()).lower()
    assert all(each.name.lower() in words for each in INSTRUMENTS)
    assert sheet.all("img") == []
    for kind in ("lift trace", "two-way pull", "repeats"):
        assert set(KINDS[kind].example.split(", ")) <= sheet.sentences
    boxes = sum(row.times * len(row.numbers) for row in card_rows(knife))
    assert sum(each.get("class") == "box" for each in sheet.all("span")) == boxes
    assert len(page) < 100_000


def test_the_bench_sheet_says_what_to_do_with_the_zero_of_the_gauge():
    """A gauge that shows 0.4 N unloaded reads both pulls 0.4 N too high: the page must not pass over it."""
    said = " ".join(sheet_html(A).split())
    assert "What the gauge shows unloaded, held as for the pull, comes off every reading" in said


def test_the_bench_sheet_begins_with_what_is_needed_most():
    rows = card_rows(A)
    assert [row.what for row in rows[:4]] == [
        "Protrusion of the ball above the bar face",
        "Diameter of the recess",
        "Force at ball 1 when it rides the flat",
        "Tab arm (pivot to the place of the push)",
    ]
    page = sheet_html(A)
    assert page.index("Two-way pull") < page.index("Protrusion of the ball") < page.index("Lift trace")
    assert rows[0].tools[0] == "depth micrometer over the ball ±0.01 mm (0.394 thou), 10 times"
    assert rows[0].numbers == [("", "0.420 ± 0.010 mm")]
    assert card_rows(C)[0].numbers == [("ball 1", "0.420 ± 0.010 mm"), ("ball 2", "0.369 ± 0.010 mm")]


@pytest.mark.parametrize("knife", [A, C], ids=lambda knife: knife.title)
def test_every_number_that_an_instrument_reads_has_its_boxes(knife):
    read = [path for path in knife.paths() if any(each.reads(path) for each in INSTRUMENTS)]
    read = [path for path in read if knife.get(path) is not None]
    # friction at the rim has the boxes of the two-way pull
    assert sum(len(row.numbers) for row in card_rows(knife)) == len(read) - 1
    assert "friction.rim" in read
