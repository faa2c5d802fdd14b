"""The form: boxes to a knife and back, a message beside each wrong box, files that are never lost."""

import html
import re
from dataclasses import replace
from pathlib import Path

import pytest

import detentlib as dl
from detentlib.draw.sizes import NUMBERED, ball_sizes, knife_sizes
from detentlib.files.fields import data_of
from detentlib.files.instruments import EXACTLY, GUESS, words_for
from detentlib.knife.parts import spec
from detentlib.lesson.form import AS_BALL_1, LOWER_THAN, OWN, knife_form
from detentlib.pages.hand_on import FIRST
from detentlib.say.headline import headline
from tests.knives import FOLDER, A

FILES = sorted(FOLDER.glob("*.toml"))
NEEDED = {"balls[0].diameter": "1/16 in", "balls[0].protrusion": "0.42", "balls[0].recess.diameter": "0.052 in"}


@pytest.fixture
def form(tmp_path, monkeypatch):
    """An empty form that works in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "knives").mkdir()
    return knife_form()


def _fill(form, boxes):
    for path, text in boxes.items():
        form.rows[path].value.value = text


def _message(form, path):
    return html.unescape(form.rows[path].message.value)


def _red(form):
    return [path for path, row in form.rows.items() if "#d32f2f" in row.message.value]


def test_an_empty_form_is_no_knife_and_scolds_nobody(form):
    assert form.knife is None
    assert _red(form) == []
    assert form.status.value == ""


def test_three_boxes_are_enough(form):
    _fill(form, NEEDED)
    assert form.knife.balls[0].diameter == 1.5875
    assert "blade.tab_arm" in form.knife.assumed
    assert form.knife.get("blade.tab_arm") == spec("blade.tab_arm")["typical"].value
    assert _red(form) == []


def test_empty_boxes_are_asked_for_once_numbers_are_wanted(form):
    form.show_numbers()
    assert _red(form) == list(NEEDED)
    assert "No numbers yet. Look at what is red beside Ball diameter, Protrusion, Recess diameter." in form.status.value
    _fill(form, {"balls[0].diameter": "1.5"})
    assert _red(form) == ["balls[0].protrusion", "balls[0].recess.diameter"]


BAD = {
    "-1": "greater than zero",
    "0,42": 'write "0.42"',
    "nan": "not a finite number",
    "half": "cannot be read",
    "2 lbf": "a unit of force",
    "0.0165": "Were these inches?",
    "1/16": "in inches",
    "9" * 400: "too long",
}


@pytest.mark.parametrize("text", BAD, ids=lambda text: text[:8])
def test_a_wrong_box_is_told_beside_it_and_the_others_are_left_in_peace(form, text):
    _fill(form, NEEDED | {"balls[0].protrusion": text})
    assert BAD[text] in _message(form, "balls[0].protrusion")
    assert _red(form) == ["balls[0].protrusion"]
    assert form.knife is None
    form.rows["balls[0].protrusion"].value.value = "0.42"
    assert _red(form) == []
    assert form.knife is not None


def test_every_wrong_box_is_told_at_once(form):
    _fill(form, NEEDED | {"balls[0].protrusion": "-1", "blade.tab_arm": "x", "friction.rim": "-0.1"})
    assert set(_red(form)) == {"balls[0].protrusion", "blade.tab_arm", "friction.rim"}
    form.show_numbers()
    assert "Protrusion, Tab arm, Friction at the rim" in form.status.value
    assert form.result.value == ""


def test_what_only_the_mechanics_sees_is_told_as_well(form):
    _fill(form, NEEDED | {"balls[0].recess.diameter": "2.4"})
    form.show_numbers()
    assert form.knife is None
    assert _red(form) or "#d32f2f" in form.status.value
    assert form.result.value == ""


def test_units_of_one_s_own_are_taken_and_read_back(form):
    _fill(form, NEEDED)
    assert "= 1.5875 ± 0.06 mm, a guess" in _message(form, "balls[0].diameter")
    form.rows["blade.tab_arm"].value.value = "14.0"
    assert "= 14" not in _message(form, "blade.tab_arm")


def test_a_scale_a_drill_and_a_guess_are_taken_as_they_are_said(form):
    _fill(
        form,
        NEEDED
        | {
            "bar.riding_force": "1.2 kg",
            "balls[0].recess.diameter": "#55",
            "balls[0].recess.rest_offset": "about 0.13",
        },
    )
    assert form.knife.bar.riding_force == pytest.approx(11.76798)
    assert "= 11.768 ± 3 N, a guess (kg of a scale, taken as kgf)" in _message(form, "bar.riding_force")
    assert form.knife.balls[0].recess.diameter == 1.3208
    row = form.rows["balls[0].recess.rest_offset"]
    assert (row.value.value, row.word.value, form.knife.balls[0].recess.rest_offset) == ("0.13", GUESS, 0.13)
    assert "a guess, so ±" in _message(form, row.path)
    form.save("knives/mine")
    written = Path("knives/mine.toml").read_text(encoding="utf-8")
    assert all(f'"{text}, guess"' in written for text in ("1.2 kg", "#55", "0.13"))
    assert dl.read_knife("knives/mine.toml") == form.knife


DOUBTS = {
    ("14.0", "0.6"): (14.0, 0.6),
    ("0.55 in", "0.01"): (13.97, 0.254),
    ("14.0", "0.01 in"): (14.0, 0.254),
    ("14.0", "5 %"): (14.0, 0.7),
    ("14 ± 0.5", ""): (14.0, 0.5),
}


@pytest.mark.parametrize("texts", DOUBTS)
def test_the_box_of_the_doubt(form, texts):
    _fill(form, NEEDED)
    form.rows["blade.tab_arm"].value.value, form.rows["blade.tab_arm"].doubt.value = texts
    value, doubt = DOUBTS[texts]
    assert form.knife.blade.tab_arm == pytest.approx(value)
    assert form.knife.doubts["blade.tab_arm"] == pytest.approx(doubt)


def _row(form, path, value, doubt="", word=None):
    row = form.rows[path]
    row.value.value, row.doubt.value = value, doubt
    if word is not None:
        row.word.value = word
    return row


def test_a_number_of_which_nobody_says_how_it_was_measured_counts_as_a_guess(form):
    _fill(form, NEEDED)
    row = _row(form, "blade.tab_arm", "14")
    assert (row.word.value, row.doubt.placeholder) == (GUESS, "1.2")
    assert "a guess, so ± 1.2 mm" in _message(form, "blade.tab_arm")
    assert form.knife.doubts["blade.tab_arm"] == 1.2
    form.show_numbers()
    assert f"{spec('blade.tab_arm')['meaning']} (a guess)" in html.unescape(form.result.value)


def test_how_it_was_measured_gives_the_doubt_and_one_by_hand_goes_first(form):
    _fill(form, NEEDED)
    row = _row(form, "blade.tab_arm", "0.55 in", word="calipers")
    assert (form.knife.blade.tab_arm, form.knife.doubts["blade.tab_arm"], row.doubt.placeholder) == (13.97, 0.6, "0.6")
    assert "blade.tab_arm" not in form.knife.assumed
    row.doubt.value = "0.01"
    assert (form.knife.doubts["blade.tab_arm"], row.word.value) == (pytest.approx(0.254), "calipers")
    row.doubt.value, row.word.value = "", EXACTLY
    assert ("blade.tab_arm" in form.knife.doubts, row.doubt.placeholder) == (False, "0")
    row.doubt.value = "0.01"
    assert "exact" in _message(form, "blade.tab_arm")
    assert _red(form) == ["blade.tab_arm"]


def test_a_doubt_by_hand_is_no_guess_unless_somebody_says_so(form):
    _fill(form, NEEDED)
    row = _row(form, "blade.tab_arm", "14", "0.5")
    assert (row.word.value, "blade.tab_arm" in form.knife.assumed) == ("", False)
    row.word.value = GUESS
    assert (form.knife.doubts["blade.tab_arm"], "blade.tab_arm" in form.knife.assumed) == (0.5, True)
    row.doubt.value, row.word.value = "", ""
    assert row.word.value == GUESS


def test_how_it_is_measured_may_be_chosen_before_the_number(form):
    """Who types fast has left the number before the kernel has heard of it; what they choose next holds."""
    _fill(form, NEEDED)
    row = form.rows["blade.tab_arm"]
    row.word.value = "calipers"
    assert (row.text(), form.knife.said.get("blade.tab_arm"), row.word.disabled) == ("", None, False)
    row.value.value = "14"
    assert (row.text(), form.knife.doubts["blade.tab_arm"]) == ("14, calipers", 0.6)


def test_where_nothing_is_usual_the_instrument_alone_is_enough(form):
    _fill(form, NEEDED)
    row = _row(form, "blade.pivot_play", "", word="dial indicator")
    assert (form.knife.blade.pivot_play, form.knife.doubts["blade.pivot_play"]) == (0, 0.01)
    row.word.value = GUESS
    assert form.knife.said.get("blade.pivot_play") is None


def test_a_word_behind_the_value_goes_into_the_choice(form):
    row = _row(form, "balls[0].protrusion", "0.42 mm, Depth micrometer")
    assert (row.value.value, row.word.value) == ("0.42 mm", "depth micrometer")
    row.value.value = "0.42 mm, depht micrometer"
    assert "Did you mean depth micrometer" in _message(form, "balls[0].protrusion")
    row.value.value = "0.42 mm, pull gauge"
    assert "It is for forces" in _message(form, "balls[0].protrusion")


def test_every_choice_can_measure_its_number(form):
    for path, row in form.rows.items():
        words = [word for _, word in row.word.options]
        assert (words[0], *words[-2:]) == (GUESS, EXACTLY, "")
        assert set(words[1:-2]) == set(words_for(path, data_of(path))) - {GUESS}
        assert (row.word.description, row.word.tooltip) == ("", f"{row.label}: how it was measured")


WRITTEN = {
    "balls[0].diameter": ("1/16 in", "", "stock size"),
    "balls[0].protrusion": ("0.0165 in", "", "depth micrometer"),
    "balls[0].recess.diameter": ("52 thou", "0.5 thou", "pin gauges"),
    "balls[0].recess.rim_gap": ("0.6", "", "microscope"),
    "bar.preset": ("65 thou", "", "calipers"),
    "bar.rate": ("60 lbf/in", "5 %", ""),
    "blade.tab_arm": ("14", "", GUESS),
    "blade.stud_arm": ("0.8 in", "0.6 mm", ""),
    "blade.pin_diameter": ("4", "within 0.01", ""),
    "friction.rim": ("0.12", "", EXACTLY),
}


def test_form_file_and_form_again_keep_value_unit_doubt_and_instrument(form):
    for path, texts in WRITTEN.items():
        _row(form, path, *texts)
    knife = form.knife
    form.save("knives/mine")
    assert {"bar.riding_force", "balls[0].recess.rest_offset"} & dl.read_knife("knives/mine.toml").said.keys() == set()
    again = knife_form("knives/mine.toml")
    assert {
        path: (row.value.value, row.doubt.value, row.word.value) for path, row in again.rows.items() if row.filled
    } == WRITTEN
    assert again.knife == knife
    assert again.knife.said == knife.said
    again.save("knives/again")
    assert Path("knives/again.toml").read_text(encoding="utf-8") == Path("knives/mine.toml").read_text(encoding="utf-8")


def test_what_was_known_together_stays_so_until_one_of_the_two_is_given_anew(form):
    fitted = replace(
        dl.read_knife(FOLDER / "pellowfen-a.toml"), known_together={("friction.rim", "bar.riding_force"): -0.8}
    )
    dl.write_knife(fitted, "knives/fitted.toml")
    form.load("knives/fitted.toml")
    assert form.knife == fitted
    form.rows["friction.rim"].doubt.value = "0.01"
    assert form.knife.known_together == {}
    form.load(FOLDER / "pellowfen-a.toml")
    assert form.knife.known_together == {}


@pytest.mark.parametrize("texts", [("", "0.5"), ("14", "-1"), ("14 ± 1", "2"), ("14", "x")])
def test_a_doubt_that_cannot_be(form, texts):
    _fill(form, NEEDED)
    form.rows["blade.tab_arm"].value.value, form.rows["blade.tab_arm"].doubt.value = texts
    assert _red(form) == ["blade.tab_arm"]
    assert form.knife is None


def test_drawn_sizes_want_a_material(form):
    _fill(form, NEEDED | {"bar.relief_thickness": "1.1"})
    assert "is missing" in form.material_message.value
    form.material.label = "Ti-6Al-4V, titanium"
    assert form.material_message.value == ""
    assert form.knife.bar.youngs_modulus == pytest.approx(113_800)


def test_every_box_shows_its_unit_and_what_an_empty_one_stands_for(form):
    for path, row in form.rows.items():
        unit = {"deg": "°"}.get(data_of(path)["unit"], data_of(path)["unit"])
        assert row.value.description == (f"{row.label}, {unit}" if unit else row.label)
        assert row.value.placeholder
        assert row.message.value


def test_what_an_empty_box_promises_is_what_is_assumed(form):
    _fill(form, NEEDED)
    promised = {
        path: row
        for path, row in form.rows.items()
        if row.value.placeholder.startswith("usual") and path in form.knife.paths()
    }
    assert promised.keys() | NEEDED.keys() == set(form.knife.assumed)
    for path, row in promised.items():
        assert row.value.placeholder == f"usual: {form.knife.get(path):g}"
        assert row.doubt.placeholder == f"{form.knife.doubts[path]:g}"


def test_what_stands_in_for_an_empty_box_follows_the_other_boxes(form):
    promise = {path: row.value for path, row in form.rows.items()}
    _fill(form, NEEDED)
    assert promise["bar.side_compliance"].placeholder == "usual: 0.005"
    assert promise["bar.root_side"].placeholder == "for drawn sizes only"
    form.material.value = "410"
    _fill(form, {"bar.relief_thickness": "1.2"})
    assert promise["bar.side_compliance"].placeholder == promise["bar.rate"].placeholder == "from the sizes"
    assert (promise["bar.root_up"].placeholder, promise["bar.root_side"].placeholder) == ("usual: 1.27", "usual: 1.58")
    assert {"bar.root_up", "bar.root_side"} < set(form.knife.assumed)
    _fill(form, {"balls[0].recess.rim_gap": "0.6", "bar.preset": "1.6"})
    assert promise["balls[0].recess.rest_offset"].placeholder == "from the rim gap"
    assert promise["blade.pivot_play"].placeholder == "in the rim gap"
    assert promise["bar.riding_force"].placeholder == "from the preset"
    _fill(form, {"balls[0].recess.rim_gap": "", "bar.preset": "", "bar.relief_thickness": ""})
    assert promise["balls[0].recess.rest_offset"].placeholder == "usual: 0.075"
    assert promise["bar.side_compliance"].placeholder == "usual: 0.005"


def test_a_rim_gap_and_a_preset_say_what_they_come_to(form):
    _fill(
        form,
        NEEDED | {"balls[0].recess.rim_gap": "0.6 ± 0.01", "bar.preset": "65 thou, exactly", "bar.rate": "10, exactly"},
    )
    assert dl.feel(form.knife).rim_gap[0] == pytest.approx(0.6, abs=1e-9)
    offset, doubt = form.knife.balls[0].recess.rest_offset, form.knife.doubts["balls[0].recess.rest_offset"]
    assert f"rest offset of the recess {offset:.5g} ± {doubt:.2g} mm" in _message(form, "balls[0].recess.rim_gap")
    assert form.knife.bar.riding_force == pytest.approx(16.51)
    assert "= 1.651 mm; force at ball 1 when it rides the flat 16.51 N" in _message(form, "bar.preset")


@pytest.mark.parametrize(
    ("read", "stands"), [("balls[0].recess.rim_gap", "balls[0].recess.rest_offset"), ("bar.preset", "bar.riding_force")]
)
def test_both_ways_at_once_are_refused_beside_the_box(form, read, stands):
    _fill(form, NEEDED | {read: "0.6", stands: "0.6"})
    assert form.knife is None
    assert _red(form) == [read]
    assert "Keep the one that you trust more" in _message(form, read)
    form.rows[stands].value.value = ""
    assert form.knife is not None
    assert _red(form) == []


@pytest.mark.parametrize("path", ["blade.pivot_play", "balls[0].recess.off_track"])
def test_where_nothing_is_usual_a_doubt_alone_is_enough(form, path):
    _fill(form, NEEDED)
    form.rows[path].doubt.value = "0.01"
    assert (form.knife.get(path), form.knife.doubts[path]) == (0, 0.01)
    assert path not in form.knife.assumed


def test_the_second_ball_counts_only_when_ticked(form):
    _fill(form, NEEDED)
    form.second.value, form.alike.value = True, OWN
    assert form.knife is None
    _fill(form, {path.replace("[0]", "[1]"): text for path, text in NEEDED.items()})
    assert len(form.knife.balls) == 2
    form.second.value = False
    assert len(form.knife.balls) == 1


def test_where_a_bar_with_two_balls_lies_parallel_is_said_to_be_assumed(form):
    said = f"{spec('bar.parallel_gap')['meaning']} (taken as where ball 1 rides the flat)"
    _fill(form, NEEDED)
    form.show_numbers()
    assert said not in html.unescape(form.result.value)
    form.second.value, form.alike.value = True, OWN
    _fill(form, {path.replace("[0]", "[1]"): text for path, text in NEEDED.items()})
    form.show_numbers()
    assert said in html.unescape(form.result.value)
    _fill(form, {"bar.parallel_gap": "0.15"})
    form.show_numbers()
    assert said not in html.unescape(form.result.value)


def test_a_second_ball_is_as_ball_1_until_somebody_says_more(form):
    _fill(form, NEEDED | {"balls[0].hinge_distance": "36.4 ± 0.1", "balls[0].recess.rest_offset": "0.1 ± 0.03"})
    form.second.value = True
    first, second = form.knife.balls
    assert (form.alike.value, second.bearing_deg) == (AS_BALL_1, None)
    assert replace(second, bearing_deg=None) == first
    drawn = dl.cloud(form.knife).numbers()
    for name in ("diameter", "hinge_distance", "track_radius", "recess.diameter", "recess.rest_offset"):
        assert (drawn[f"balls[0].{name}"] == drawn[f"balls[1].{name}"]).all()
    assert form.rows["balls[1].lower_by"].layout.display == "none"
    form.show_numbers()
    _fill(form, {"balls[0].diameter": "x"})
    assert (_red(form), form.status.value) == (["balls[0].diameter"], "")


def test_ball_2_stands_lower_by_a_number_with_its_unit_and_is_saved_as_it_was_said(form):
    _fill(form, NEEDED | {"balls[0].protrusion": "0.42 ± 0.01"})
    form.second.value, form.alike.value = True, LOWER_THAN
    _row(form, "balls[1].lower_by", "2 thou", word="depth micrometer")
    knife = form.knife
    assert knife.balls[1].protrusion == pytest.approx(0.42 - 0.0508)
    both_err = (0.01**2 + 0.014**2) ** 0.5  # GUM 5.1.2; kept to four digits
    assert knife.doubts["balls[1].protrusion"] == pytest.approx(both_err, abs=5e-6)
    drawn = dl.cloud(knife).numbers()
    apart = drawn["balls[0].protrusion"] - drawn["balls[1].protrusion"]
    assert 1.96 * apart[1:].std() == pytest.approx(0.014, rel=0.05)
    form.save("knives/two")
    assert '"2 thou, depth micrometer"' in Path("knives/two.toml").read_text(encoding="utf-8")
    again = knife_form("knives/two.toml")
    assert again.knife == knife == dl.read_knife("knives/two.toml")
    assert (again.alike.value, again.rows["balls[1].lower_by"].value.value) == (LOWER_THAN, "2 thou")
    assert not again.rows["balls[1].diameter"].filled
    _fill(again, {"balls[0].diameter": "1.5"})
    assert again.knife.balls[1].diameter == 1.5


def test_a_lower_ball_may_have_its_own_hole_and_distance_and_is_like_ball_1_in_the_rest(form):
    _fill(form, NEEDED | {"balls[0].track_radius": "8.2", "balls[0].recess.rest_offset": "3 thou"})
    form.second.value, form.alike.value = True, LOWER_THAN
    assert form.rows["balls[1].protrusion"].layout.display == "none"
    assert form.rows["balls[1].recess.diameter"].value.placeholder == AS_BALL_1
    own = {"balls[1].recess.diameter": "51 thou", "balls[1].track_radius": "9.8"}
    _fill(form, own | {"balls[1].lower_by": "2 thou"})
    first, second = form.knife.balls
    assert second.protrusion == pytest.approx(first.protrusion - 2 * 0.0254)  # 1 in is 25.4 mm (ISO 80000-3)
    assert (second.recess.diameter, second.track_radius) == pytest.approx((51 * 0.0254, 9.8))
    assert second.recess.rest_offset == first.recess.rest_offset
    form.save("knives/two")
    again = knife_form("knives/two.toml")
    assert (again.knife, again.alike.value) == (form.knife, LOWER_THAN)
    filled = [path for path, row in again.rows.items() if path.startswith("balls[1]") and row.filled]
    assert sorted(filled) == sorted([*own, "balls[1].lower_by"])


def test_a_second_ball_as_a_maker_says_it_lower_further_out_and_with_a_smaller_hole(form):
    _fill(form, NEEDED | {"balls[0].recess.diameter": "53 thou", "balls[0].track_radius": "8.2"})
    form.second.value, form.alike.value = True, LOWER_THAN
    apart = {"balls[1].lower_by": "2 thou", "balls[1].further_out": "1.6", "balls[1].recess.smaller_by": "2 thou"}
    _fill(form, apart)
    first, second = form.knife.balls
    assert second.track_radius == 9.8  # a sum of two such numbers is 9.799999999999999, and a file would say so
    assert second.recess.diameter == pytest.approx(51 * 0.0254)
    assert second.protrusion == pytest.approx(first.protrusion - 2 * 0.0254)
    drawn = dl.cloud(form.knife).numbers()
    for name, doubt in (("track_radius", 0.8), ("recess.diameter", 0.08)):  # what parts them, whatever ball 1's are
        assert 1.96 * (drawn[f"balls[0].{name}"] - drawn[f"balls[1].{name}"])[1:].std() == pytest.approx(
            doubt, rel=0.05
        )
    form.save("knives/two")
    again = knife_form("knives/two.toml")
    assert again.knife == form.knife == dl.read_knife("knives/two.toml")
    assert {path: again.rows[path].value.value for path in apart} == apart
    assert not again.rows["balls[1].track_radius"].filled
    _fill(form, {"balls[1].track_radius": "9.8"})
    assert _red(form) == ["balls[1].further_out"]


def test_empty_distances_of_ball_2_are_those_of_ball_1_and_say_so(form):
    _fill(form, NEEDED | {"balls[0].hinge_distance": "36.4 ± 0.1"})
    form.second.value, form.alike.value = True, OWN
    _fill(form, {path.replace("[0]", "[1]"): text for path, text in NEEDED.items()})
    knife = form.knife
    assert (knife.balls[1].hinge_distance, knife.balls[1].track_radius) == (36.4, knife.balls[0].track_radius)
    assert knife.known_together["balls[0].hinge_distance", "balls[1].hinge_distance"] == 1
    empty = ("hinge_distance", "track_radius")
    assert {form.rows[f"balls[1].{name}"].value.placeholder for name in empty} == {AS_BALL_1}
    form.save("knives/two")
    again = knife_form("knives/two.toml")
    assert (again.knife, again.alike.value, again.rows["balls[1].hinge_distance"].filled) == (knife, OWN, False)
    assert again.rows["balls[1].lower_by"].layout.display == "none"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_file_goes_through_the_boxes_unchanged(form, path):
    form.load(path)
    assert form.knife == dl.read_knife(path)
    assert _red(form) == []


def test_a_number_far_from_what_is_usual_is_asked_about_but_taken(form):
    _fill(form, NEEDED | {"balls[0].track_radius": "8", "balls[0].hinge_distance": "37 m"})
    assert "usual is 42 ± 12 mm: is it so?" in _message(form, "balls[0].hinge_distance")
    assert "is it so" not in _message(form, "balls[0].track_radius")
    assert "balls[0].hinge_distance" not in _red(form)


def test_another_ending_is_refused_and_no_word_is_quoted_that_nobody_wrote(form, tmp_path):
    _fill(form, NEEDED | {"blade.tab_arm": "13,5"})
    assert '"13.5"' in _message(form, "blade.tab_arm")
    assert "guess" not in _message(form, "blade.tab_arm")
    _fill(form, {"blade.tab_arm": "13.5"})
    form.save("knives/mine.html")
    assert "does not end in .toml" in form.saving.line.value
    assert not list(tmp_path.rglob("mine*"))


def test_what_has_no_box_is_kept_and_named(form, tmp_path):
    knife = dl.read_knife(FOLDER / "pellowfen-a.toml").replace({"friction.washer": 0.1, "friction.washer_radius": 3.0})
    dl.write_knife(knife, tmp_path / "washers.toml")
    form.load("washers.toml")
    assert form.knife == knife
    assert "friction coefficient of the washers" in form.status.value


def test_loading_empties_what_was_there(form):
    form.load(FOLDER / "pellowfen-b.toml")
    form.load(FOLDER / "sallowgate-folder.toml")
    assert form.knife == dl.read_knife(FOLDER / "sallowgate-folder.toml")


def test_a_file_that_cannot_be_read_is_told_and_the_boxes_stay(form):
    _fill(form, NEEDED)
    before = form.knife
    form.load("knives/nowhere.toml")
    assert "nowhere.toml" in form.status.value
    assert form.knife == before


def test_a_form_can_start_from_a_file():
    assert knife_form(FOLDER / "pellowfen-c.toml").knife == dl.read_knife(FOLDER / "pellowfen-c.toml")


def test_the_numbers_are_shown_and_go_when_a_box_changes(form):
    _fill(form, NEEDED)
    form.show_numbers()
    assert form.result.value == headline(form.knife)._repr_html_()
    assert all(html.escape(spec(path)["meaning"]) in form.result.value for path in form.knife.assumed)
    _fill(form, {"friction.rim": "0.2"})
    assert form.result.value == ""


def test_saving_writes_a_file_that_reads_back(form, tmp_path):
    _fill(form, NEEDED)
    form.title.value = "Ilby's first"
    form.save("knives/first")
    assert "Saved as knives/first.toml. Every page takes it when its cells run" in form.saving.line.value
    assert dl.read_knife(tmp_path / "knives" / "first.toml") == form.knife
    assert "knives/first.toml" in form.load_name.options


def test_saving_never_replaces_a_file_unasked(form, tmp_path):
    path = tmp_path / "knives" / "old.toml"
    path.write_text("mine", encoding="utf-8")
    _fill(form, NEEDED)
    form.save("knives/old.toml")
    assert path.read_text(encoding="utf-8") == "mine"
    assert "is there already" in form.saving.line.value
    assert form.saving.overwrite.layout.display == ""
    form.saving.overwrite.value = True
    form.save("knives/old.toml")
    assert dl.read_knife(path) == form.knife
    assert form.saving.overwrite.value is False
    form.save("knives/old.toml")
    assert "is there already" in form.saving.line.value


def test_another_name_takes_the_leave_to_replace_back(form):
    _fill(form, NEEDED)
    form.save("knives/one")
    form.saving.name.value = "knives/one"
    form.save("knives/one")
    form.saving.overwrite.value = True
    form.saving.name.value = "knives/two"
    assert form.saving.overwrite.value is False
    assert form.saving.overwrite.layout.display == "none"


@pytest.mark.parametrize("name", ["", "  ", "nowhere/x", "x" * 300, "a\0b"])
def test_a_name_that_cannot_be_is_told(form, name, tmp_path):
    _fill(form, NEEDED)
    form.save(name)
    assert "Not saved" in form.saving.line.value
    assert list(tmp_path.rglob("*.toml")) == []


def test_a_form_that_is_no_knife_is_not_saved(form, tmp_path):
    _fill(form, {"balls[0].diameter": "1.5"})
    form.save("knives/half")
    assert "Not saved: no knife yet: look at what is red beside Protrusion" in form.saving.line.value
    assert list(tmp_path.rglob("*.toml")) == []


def test_buttons_do_what_they_say(form):
    dl.write_knife(replace(A, doubts={"friction.rim": 0.04}), "knives/one.toml")
    form.load_name.value = "knives/one.toml"
    form.load_button.click()
    form.show_button.click()
    assert "12.0 ± " in form.result.value
    form.saving.name.value = "knives/again"
    form.saving.button.click()
    assert dl.read_knife("knives/again.toml") == form.knife


def test_papers_of_the_boxes_are_handed_on_from_the_form(form, tmp_path):
    papers = form.papers
    assert [tick.description for tick in papers.ticks if tick.value] == [paper.said for paper in FIRST]
    assert [paper.ending for paper in FIRST] == ["-letter.html", "-answers.html", "-live-sheet.html"]
    papers.name.value = "mine"
    papers.write()
    assert "the boxes describe no knife" in papers.written.value
    _fill(form, NEEDED)
    form.title.value = "Mine"
    assert papers.written.value == ""
    for tick in papers.ticks[1:]:
        tick.value = False
    papers.write()
    assert "Written: mine-letter.html" in papers.written.value
    assert "list of files at the left" in papers.written.value
    assert "About your knife: Mine" in (tmp_path / "mine-letter.html").read_text("utf-8")
    _fill(form, {"blade.tab_arm": "13"})
    assert papers.written.value == ""


def test_without_a_kernel_it_says_how_to_see_it(form):
    data, told = form._repr_mimebundle_()
    assert data["text/plain"] == "<The form: run this cell to see it>"
    assert told["image/png"]["alt"].count("the sizes carry the numbers of their boxes") == 2


def test_the_numbers_on_the_drawings_are_those_beside_the_boxes(form):
    knife = dl.read_knife(FOLDER / "pellowfen-a.toml")
    drawn = [
        text.get_text() for figure in (ball_sizes(knife), knife_sizes(knife)) for ax in figure.axes for text in ax.texts
    ]
    assert sorted(int(text) for text in drawn if text.isdigit()) == list(range(1, len(NUMBERED) + 1))
    boxes = {path: re.findall(r">(\d+)<", row.children[0].value) for path, row in form.rows.items()}
    assert {path: [str(number)] for path, number in NUMBERED.items()}.items() <= boxes.items()
    assert boxes["balls[1].diameter"] == boxes["balls[0].diameter"]
    assert boxes["friction.rim"] == []
    assert list(NUMBERED) == [path for path in form.rows if path in NUMBERED]


def test_an_empty_name_loads_nothing_and_says_so(form):
    _fill(form, NEEDED)
    form.load(" ")
    assert "Choose a file first" in form.status.value
    assert form.rows["balls[0].diameter"].filled


def test_numbers_of_a_box_that_comes_in_late_are_worked_out_again(form, monkeypatch):
    _fill(form, NEEDED)
    asked = []

    def slow(knife):
        asked.append(knife)
        if len(asked) == 1:
            _fill(form, {"balls[0].protrusion": "0.40"})
        return headline(knife)

    monkeypatch.setattr("detentlib.lesson.form.headline", slow)
    form.show_numbers()
    assert [knife.balls[0].protrusion for knife in asked] == [0.42, 0.40]
    assert form.result.value == headline(form.knife)._repr_html_()
