"""Readings of one's own: used by a button, remembered for every cell, and never mixed with the demo's."""

import json
import shutil

import numpy as np
import PIL.Image
import pytest

import detentlib as dl
from detentlib.files.demo import demo
from detentlib.lesson.choose import DEMO_ONLY
from detentlib.lesson.own_readings import SLOTS, my_readings
from detentlib.lesson.saving import save_box
from tests.invented import READINGS

A = demo("pellowfen-a")
PULLS = [["13.1", "7.0"], ["2.9 lbf", "7.1"], ["13.0", "6.9"]]


@pytest.fixture(autouse=True)
def page(tmp_path, monkeypatch):
    """A folder as that of the notebooks, with readings to choose from."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(DEMO_ONLY)
    (tmp_path / "readings").mkdir()
    shutil.copy(READINGS / "lift-trace-c.csv", tmp_path / "readings" / "mine.csv")
    return tmp_path


def _entered(name, way, given):
    """The card with one set typed, pasted or chosen, and used."""
    card = my_readings()
    card.kind.value = name
    entry = card._entries[name]
    entry.way.value = way
    if way == "typed":
        entry.typed.put(given)
    elif way == "pasted":
        entry.pasted.text.value = given
    else:
        entry.file.value = given
    card.use()
    return card


def test_without_own_readings_the_page_takes_the_demos_and_says_so(capsys):
    mine = my_readings()
    assert mine.taken("opening") is None
    for name in SLOTS.keys() - {"opening"}:
        assert len(mine.taken(name)) == len(dl.read_readings(READINGS / f"{SLOTS[name].demo}.csv"))
    assert mine.whose("trace") == "Lift trace: the demo's, invented, of Pellowfen A."
    mine.worked(dl.two_way_pull, "pulls", A.replace({"blade.tab_arm": 20.0}))
    assert "Held against the card" not in capsys.readouterr().out
    mine.worked(dl.two_way_pull, "pulls", demo("pellowfen-c"))
    assert "Held against the card of Pellowfen C, which they do not measure" in " ".join(
        capsys.readouterr().out.split()
    )


def test_typed_pulls_are_taken_by_every_later_card_and_nothing_of_the_demo_is():
    card = _entered("pulls", "typed", PULLS)
    assert "Read: two-way pull, 3 rows" in card.line.value
    for mine in (card, my_readings()):
        assert mine.pulls["opening"].tolist() == pytest.approx([13.1, 12.8998, 13.0], abs=1e-4)
        assert [name for name in SLOTS if mine.taken(name)] == ["pulls"]
        assert mine.whose("pulls") == "Two-way pull: yours, 3 rows, typed."
        assert mine.whose("force") == "Force along the climb: none of yours, so it is left out."


def test_a_fit_of_own_pulls_is_that_of_the_pulls_alone(capsys):
    found = _entered("pulls", "typed", PULLS).fit(A)
    alone = dl.fit_knife(
        A, [dl.readings_from_text("opening [N], letting back [N]\n13.1, 7.0\n2.9 lbf, 7.1\n13.0, 6.9")]
    )
    assert found.values == alone.values
    told = " ".join(capsys.readouterr().out.split())
    assert "The fit takes yours alone." in told
    assert "Lift trace: none of yours, so it is left out." in told


def test_opening_pulls_alone_are_fitted_alone():
    found = _entered("opening", "typed", [["13.1"], ["13.0"], ["12.8"]]).fit(A)
    alone = dl.fit_knife(A, [dl.readings_from_text("opening [N]\n13.1\n13.0\n12.8")])
    assert found.values == alone.values


def test_the_demos_fit_takes_all_of_the_demos():
    names = ("lift-trace-a", "two-way-pull-a-oiled", "force-angle-a")
    assert (
        my_readings().fit(A).values
        == dl.fit_knife(A, [dl.read_readings(READINGS / f"{name}.csv") for name in names]).values
    )


def test_readings_of_another_knife_are_told_so_and_leave_no_fit_to_save(capsys):
    assert _entered("pulls", "typed", [["25", "18"], ["25.1", "17.9"], ["24.8", "18.2"], ["25", "18.1"]]).fit(A) is None
    assert "Are they of this knife" in " ".join(capsys.readouterr().out.split())


def test_pulls_as_found_are_fitted_where_there_are_no_others(capsys):
    fit = _entered("as_found", "typed", PULLS).fit(A)
    assert fit is not None
    assert "Two-way pull as found, before any oil: yours, 3 rows" in capsys.readouterr().out


def test_only_the_chosen_way_in_shows():
    entry = my_readings()._entries["pulls"]
    for way, part in (("typed", entry.typed), ("pasted", entry.pasted), ("file", entry.file)):
        entry.way.value = way
        shown = [each for each in (entry.typed, entry.pasted, entry.file) if each.layout.display != "none"]
        assert shown == [part]


def test_bad_rows_are_named_and_what_was_used_before_stays():
    _entered("pulls", "typed", PULLS)
    card = _entered("pulls", "typed", [*PULLS, ["12.9", "seven"]])
    assert "Not used yet." in card.line.value
    assert "Look at what is red beside the rows." in card.line.value
    assert "seven" in card._entries["pulls"].typed.said(4)
    assert len(card.pulls) == 3
    # and what was typed is not lost when the cell runs again
    assert my_readings()._entries["pulls"].typed.cells()[3] == ["12.9", "seven"]


def test_another_kind_than_chosen_is_refused_by_name():
    card = _entered("pulls", "pasted", "angle [deg]\tlift [mm]\n0\t0.1\n1\t0.2")
    assert "holds readings of the kind &#x27;lift trace&#x27;, where a two-way pull is wanted" in card.line.value
    assert not card.own
    assert "there are no readings yet" in _entered("force", "typed", []).line.value


def test_files_to_choose_from_are_those_of_the_kind_and_a_path_may_be_typed(page):
    card = my_readings()
    assert card._entries["trace"].file.options == ("readings/mine.csv",)
    assert card._entries["pulls"].file.options == ()
    card = _entered("trace", "file", str(page / "readings" / "mine.csv"))
    assert len(card.trace) == len(dl.read_readings(READINGS / "lift-trace-c.csv"))
    assert f"from {page / 'readings' / 'mine.csv'}" in card.whose("trace")


def test_a_file_that_is_gone_is_named_and_no_demo_stands_in(page, capsys):
    _entered("trace", "file", "readings/mine.csv")
    (page / "readings" / "mine.csv").unlink()
    mine = my_readings()
    assert mine.trace is None
    assert "Lift trace: yours cannot be used, so it is left out. readings/mine.csv: cannot be read" in mine.whose(
        "trace"
    )
    assert mine.worked(dl.lift_trace, "trace", A) is None
    assert mine.fit(A) is None
    assert "none of your readings say anything of the whole knife" in capsys.readouterr().out


def test_the_contact_angle_is_never_the_demos_where_readings_are_ones_own(capsys):
    mine = my_readings()
    seen = mine.worked(dl.lift_trace, "trace", A)
    assert mine.contact(seen) == seen.contact_deg
    mine = _entered("pulls", "typed", PULLS)
    assert mine.contact(mine.worked(dl.lift_trace, "trace", A)) is None
    assert "Contact angle: as on the card" in capsys.readouterr().out


def test_readings_that_a_function_refuses_are_told_and_the_page_goes_on(capsys):
    mine = _entered("pulls", "typed", PULLS[:1])
    assert mine.worked(dl.two_way_pull, "pulls", A) is None
    assert "No number from it: your two-way pull: has one pair of pulls." in " ".join(capsys.readouterr().out.split())


def test_taking_out_and_going_back_leave_the_boxes_as_they_are():
    card = _entered("pulls", "typed", PULLS)
    card = _entered("trace", "file", "readings/mine.csv")
    card.take_out()
    assert (card.trace, len(card.pulls)) == (None, 3)
    card.to_demo()
    again = my_readings()
    assert not again.own
    assert len(again.trace) == 302
    assert again._entries["pulls"].typed.cells()[:3] == PULLS
    assert again._entries["trace"].file.value == "readings/mine.csv"


def test_saved_as_csv_it_can_be_read_again_and_replaces_nothing_unasked(page):
    card = _entered("pulls", "typed", [["13,1", "7,0"], ["12,9", "7,1"]])
    card.saving.name.value = "readings/pulls"
    card.saving.save()
    assert "Saved as readings/pulls.csv." in card.saving.line.value
    assert dl.read_readings("readings/pulls.csv")["opening"].tolist() == [13.1, 12.9]
    assert card._entries["pulls"].file.options == ("readings/pulls.csv",)
    card._entries["pulls"].typed.fill(1, "99", "7")
    card.saving.save()
    assert "is there already" in card.saving.line.value
    assert "99" not in (page / "readings" / "pulls.csv").read_text()
    card.saving.overwrite.value = True
    card.saving.save()
    assert "99" in (page / "readings" / "pulls.csv").read_text()


def test_stored_numbers_are_compared_with_those_of_the_demo(monkeypatch):
    _entered("pulls", "typed", PULLS)
    monkeypatch.setenv(DEMO_ONLY, "1")
    assert not my_readings().own
    _entered("pulls", "typed", PULLS[:2])
    monkeypatch.delenv(DEMO_ONLY)
    assert len(my_readings().pulls) == 3


def test_what_cannot_be_remembered_is_said_and_not_written_over(page):
    (page / "own-readings.json").write_text("{broken", encoding="utf-8")
    card = my_readings()
    assert "own-readings.json cannot be read" in card.line.value
    assert len(_entered("pulls", "typed", PULLS).pulls) == 3
    assert (page / "own-readings.json").read_text(encoding="utf-8") == "{broken"


def test_points_on_a_photo_of_ones_own_are_remembered_and_the_demos_are_not_among_them(page, capsys):
    PIL.Image.fromarray(np.full((300, 400), 200, np.uint8)).save(page / "readings" / "my-photo.PNG")
    picker = my_readings().photo_picker()
    assert len(picker.points["rim"]) == 16
    picker.photo.value = "readings/my-photo.PNG"
    assert picker.points == {"rim": [], "ball": [], "scale": []}
    for place in ("160,80", "100,140", "40,80"):
        picker._clicked.value = f"whole picture,{place}"
    picker.distance.value = 2.0
    mine = my_readings()
    again = mine.photo_picker()
    assert again.points["rim"] == [(160.0, 80.0), (100.0, 140.0), (40.0, 80.0)]
    assert again.distance.value == 2.0
    assert mine.whose("rim") == "Photo points on the rim: yours, 3 rows on readings/my-photo.PNG."
    assert again.lay_over() is None
    assert "there are no points on the edge of the ball yet" in " ".join(capsys.readouterr().out.split())
    again.photo.value = "demo"
    assert len(again.points["ball"]) == 16
    again.photo.value = "readings/my-photo.PNG"
    assert len(again.points["rim"]) == 3
    assert "demo" not in json.loads((page / "own-readings.json").read_text(encoding="utf-8"))["photos"]


def test_points_from_elsewhere_go_to_the_picker(capsys):
    _entered("rim", "typed", [["160", "80"], ["100", "140"], ["40", "80"]])
    picker = my_readings().photo_picker()
    assert picker.circle("rim").diameter.value == pytest.approx(120)
    assert picker.points["ball"] == []
    card = _entered("ball", "pasted", "x [mm], y [mm]\n0, 0\n1, 1\n0, 1")
    assert "counted in px" in card.line.value


def test_a_photo_that_is_gone_keeps_its_points(page, capsys):
    photo = page / "readings" / "my-photo.png"
    PIL.Image.fromarray(np.full((300, 400), 200, np.uint8)).save(photo)
    picker = my_readings().photo_picker()
    picker.photo.value = "readings/my-photo.png"
    picker._clicked.value = "whole picture,160,80"
    photo.unlink()
    assert my_readings().photo_picker().points["rim"] == [(160.0, 80.0)]
    assert "my-photo.png: is not there" in capsys.readouterr().out


def test_a_box_to_save_writes_what_it_was_given(page):
    box = save_box("the bench sheet", "sheet.html", dl.bench_sheet, A)
    box.save()
    assert "Bench sheet: Pellowfen A" in (page / "sheet.html").read_text(encoding="utf-8")
    box.save()
    assert "sheet.html is there already" in box.line.value
    box.name.value = "no-folder/sheet.html"
    box.save()
    assert "there is no folder" in box.line.value
    box.name.value = " "
    box.save()
    assert "write a file name first, such as sheet.html" in box.line.value


def test_an_indicator_beside_the_ball_is_counted_by_its_place(page, capsys):
    """A lever: what moves 1.25 times as far from the hinge moves 1.25 times as much."""
    rows = (READINGS / "lift-trace-c.csv").read_text(encoding="utf-8").splitlines()
    head = next(i for i, row in enumerate(rows) if row and not row.startswith("#"))
    told = [row.split(",") for row in rows[head + 1 :]]
    further = [f"{angle}, {float(lift) * 1.25:.12g}" for angle, lift in told]
    (page / "readings" / "further.csv").write_text("\n".join([rows[head], *further]), encoding="utf-8")
    over, aside = (_entered("trace", "file", f"readings/{name}.csv") for name in ("mine", "further"))
    assert aside._ratio_row.layout.display == ""
    plain = dl.lift_trace(dl.read_readings(page / "readings" / "mine.csv"), A)
    for wrong in ("far", "-1", "0"):
        aside.ratio.value = wrong
        assert "is no number from 0.1 to 10" in aside._ratio_line.value
        assert aside.hinge_ratio == 1
    aside.ratio.value = "1.25"
    seen = aside.worked(dl.lift_trace, "trace", A)
    assert "1.25 times as far from the hinge" in " ".join(capsys.readouterr().out.split())
    assert seen.rim_gap.value == pytest.approx(plain.rim_gap.value, rel=1e-3)
    assert aside.shown("trace")["lift"] == pytest.approx(over.shown("trace")["lift"])
    assert my_readings().hinge_ratio == 1.25
