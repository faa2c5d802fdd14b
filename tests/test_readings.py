"""Readings from files, from pasted text and from typed rows; every bad row named, nothing dropped."""

import numpy as np
import pytest

from detentlib.measure.readings import KINDS, ReadingError, read_readings, readings_from_rows, readings_from_text

HEADER = "angle [deg], lift [mm]\n"


def refused(text):
    with pytest.raises(ReadingError) as caught:
        readings_from_text(text)
    return str(caught.value)


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_known_by_its_columns(kind):
    header = KINDS[kind].example
    row = ", ".join("1.5" for _ in header.split(","))
    found = readings_from_text(f"{header}\n{row}\n{row}")
    assert found.kind == kind
    assert len(found) == 2
    assert repr(found) == f"<Readings: {kind}, 2 rows from pasted text>"


@pytest.mark.parametrize(
    ("header", "cell", "value"),
    [
        ("reading [thou]", "16.5", 0.4191),
        ("reading [in]", "0.0165", 0.4191),
        ("reading (mm)", "0.42", 0.42),
        ("Reading [µm]", "420", 0.42),
        ("reading [mm]", "16.5 thou", 0.4191),
    ],
)
def test_units_of_a_column_and_of_a_cell(header, cell, value):
    assert readings_from_text(f"{header}\n{cell}")["reading"].tolist() == pytest.approx([value])


@pytest.mark.parametrize(
    ("unit", "value"), [("N", 12.0), ("lbf", 53.3786593832), ("gf", 0.1176798), ("ozf", 3.33616621)]
)
def test_forces_come_in_newtons(unit, value):
    assert readings_from_text(f"opening [{unit}], letting back [{unit}]\n12, 12")["opening"].tolist() == pytest.approx(
        [value], rel=1e-8
    )


def test_a_column_in_what_a_scale_shows_is_taken_as_force_and_said():
    text = "knife, opening [kg], letting back [lb]\n1, 1.2, 1.5\n2, 1.3, 2 N"
    found = readings_from_text(text)
    assert found["opening"].tolist() == pytest.approx([1.2 * 9.80665, 1.3 * 9.80665])
    assert found["letting back"].tolist() == pytest.approx([1.5 * 4.4482216152605, 2.0])
    assert found.remarks == ("kg of a scale, taken as kgf", "lb of a scale, taken as lbf")
    assert readings_from_text("opening [N]\n12").remarks == ()


def test_an_empty_cell_may_be_left_out_with_its_row():
    told = refused("knife, opening [N]\n1, 11\n2,")
    assert "line 3: opening cell is empty. Give a number in N, or leave the row out." in told


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_commas_semicolons_and_tabs_part_the_columns(mark):
    found = readings_from_text(f"# from the bench\nangle [deg]{mark}lift [mm]\n\n0{mark}0.1\n1.5{mark}0.2\n")
    assert found["lift"].tolist() == [0.1, 0.2]
    assert found.remarks == ("from the bench",)


@pytest.mark.parametrize("mark", [";", "\t"])
def test_decimal_commas_are_read_and_said(mark):
    found = readings_from_text(f"angle [deg]{mark}lift [mm]\n0{mark}0,1\n1,5{mark}0,25")
    assert found["lift"].tolist() == [0.1, 0.25]
    assert found.remarks == ("decimal commas were read as decimal points",)


def test_decimal_commas_between_commas_are_asked_about():
    assert "line 2: has 4 cells where the header has 2. Are these decimal commas?" in refused(HEADER + "1,0,0,1")


def test_commas_and_points_mixed_are_not_guessed():
    said = refused("angle [deg]; lift [mm]\n1.000,5; 0.1\n2; 0,2")
    assert "line 2: angle '1.000,5'" in said
    assert "line 3: lift '0,2' has a comma in the number" in said


def test_every_bad_row_is_named_at_once():
    said = refused(HEADER + "0, 0.1\n1\nx, 0.2\n2, nan\n3, \n4, 0.3")
    assert [line.split(": ")[1] for line in said.splitlines()] == ["line 3", "line 4", "line 5", "line 6"]
    assert "has 1 cells where the header has 2" in said
    assert "angle 'x' cannot be read as a number" in said
    assert "lift 'nan' is not a finite number" in said
    assert "lift cell is empty" in said


def test_many_bad_rows_are_counted():
    said = refused(HEADER + "x, y\n" * 100)
    assert said.splitlines()[-1] == "pasted text: and 180 more lines like these"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "there are no readings. The first row names the columns"),
        ("# only a remark\n", "there are no readings"),
        (HEADER, "has a header but no rows"),
        ("0, 0.1\n1, 0.2", "line 1: the first row holds numbers. It must name the columns with their units"),
        ("angle, lift [mm]\n0, 1", "line 1: column 'angle' has no unit. Write it in brackets, such as: angle [deg]"),
        ("angel [deg], lift [mm]\n0, 1", "line 1: column 'angel' is not known. Did you mean 'angle'?"),
        ("angle [deg], lift [N]\n0, 1", "line 1: the unit of lift has N, a unit of force, where a length is wanted"),
        ("angle [deg], lift [furlong]\n0, 1", "the unit of lift has the unit furlong, which is not known here"),
        ("lift [mm], lift [mm]\n0, 1", "line 1: there are two columns 'lift'"),
        ("reading []\n0.42", "line 1: the unit of reading is empty. Write it in the brackets, such as: reading [mm]"),
        ("reading [± 3 mm]\n0.42", "line 1: the unit of reading has the unit ± 3 mm, which is not known here"),
        ("reading [/2 in]\n0.42", "line 1: the unit of reading has the unit /2 in, which is not known here"),
        (
            "angle [deg], x [mm]\n0, 1",
            "the columns angle, x make no kind of readings. Known: lift trace: angle [deg], lift [mm]",
        ),
    ],
)
def test_headers_that_cannot_be(text, said):
    assert said in refused(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "reading [in]\n0.0165\n1e308",
            "line 3: reading '1e308' is too large to be a number in mm. Check the number and its unit.",
        ),
        ("reading [mm]\n1e308 in", "line 2: reading '1e308 in' is not a finite number"),
        (
            "reading [mm]\n0.41\n0.42 ± 0.01",
            "line 3: reading '0.42 ± 0.01' has a ±, which a column of readings does not hold. Write the number alone",
        ),
        ("reading [mm]\n0.42 +/- 0.01 mm", "line 2: reading '0.42 +/- 0.01 mm' has a ±"),
        ("reading [mm]\n0.42 +0.01/-0.02", "line 2: reading '0.42 +0.01/-0.02' has a tolerance"),
    ],
)
def test_cells_that_hold_more_or_less_than_a_reading(text, said):
    assert said in refused(text)


@pytest.mark.parametrize("cell", ["12.2\n12.4", "12.2\t12.4", "12.2\r\n12.4"])
def test_a_box_with_more_than_one_line_is_named(cell):
    with pytest.raises(ReadingError) as caught:
        readings_from_rows(["opening [N]", "letting back [N]"], [["12.1", "7.0"], [cell, "7.1"]])
    assert (
        str(caught.value)
        == f"typed rows: line 3: {cell!r} holds more than one line or column. Write one number in each box"
    )


def test_a_line_end_after_a_typed_number_is_no_second_line():
    assert readings_from_rows(["reading [mm]"], [["0.42\n"], [" 0.43 "]])["reading"].tolist() == [0.42, 0.43]


def test_one_row_is_a_reading():
    assert len(readings_from_text("reading [mm]\n0.42")) == 1


def test_rows_from_boxes_leave_empty_ones_out():
    found = readings_from_rows(["opening [N]", "letting back [N]"], [["12.2", "7.1"], ["", " "], ["12.3", "7.2"]])
    assert found["opening"].tolist() == [12.2, 12.3]
    with pytest.raises(ReadingError, match="typed rows: line 2: letting back cell is empty"):
        readings_from_rows(["opening [N]", "letting back [N]"], [["12.2", ""]])


def test_files_of_a_spreadsheet(tmp_path):
    for encoding in ("utf-8", "utf-8-sig", "utf-16"):
        path = tmp_path / f"{encoding}.csv"
        path.write_text("reading [µm]\r\n420\r\n421\r\n", encoding=encoding)
        assert read_readings(path)["reading"].tolist() == pytest.approx([0.42, 0.421])


def test_a_missing_file_names_those_that_are_there(tmp_path):
    (tmp_path / "pulls.csv").write_text("reading [mm]\n1\n")
    with pytest.raises(ReadingError, match=r"pull\.csv: cannot be read .*In that folder: pulls\.csv"):
        read_readings(tmp_path / "pull.csv")
    (tmp_path / "photo.csv").write_bytes(b"\x89PNG\x00\xff")
    with pytest.raises(ReadingError, match="is not a text file"):
        read_readings(tmp_path / "photo.csv")


def test_a_hundred_thousand_rows_are_all_there():
    angle = np.linspace(0, 170, 100_000)
    text = HEADER + "\n".join(f"{a:.4f}, {a / 1000:.6f}" for a in angle)
    found = readings_from_text(text)
    assert len(found) == 100_000
    assert found["angle"] == pytest.approx(angle, abs=1e-4)


def test_cells_in_quotes_are_read():
    found = readings_from_text('"angle [deg]","lift [mm]"\n"0","0.1"\n1.5,"0.2"')
    assert found["lift"].tolist() == [0.1, 0.2]
    found = readings_from_text('"angle [deg]","lift [mm]"\n"0","0,1"\n"1,5","0,2"')
    assert found["angle"].tolist() == [0.0, 1.5]
    assert found.remarks == ("decimal commas were read as decimal points",)


def test_rows_of_empty_cells_are_left_out_and_counted():
    found = readings_from_text(HEADER + "0, 0.1\n,\n1, 0.2\n , \n")
    assert found["angle"].tolist() == [0.0, 1.0]
    assert found.remarks == ("2 empty rows were left out",)
    assert "has a header but no rows" in refused(HEADER + ",\n,\n")


def test_angles_read_twice_all_stay():
    assert readings_from_text(HEADER + "0, 0.1\n0, 0.11\n0, 0.1")["lift"].tolist() == [0.1, 0.11, 0.1]


def test_columns_that_nothing_parts():
    assert "line 1: names several columns, but nothing parts them" in refused("angle [deg] lift [mm]\n0 1")
    assert "line 1: a column has no name" in refused("angle [deg], lift [mm],\n0, 1,")


def test_a_hundred_thousand_rows_are_all_read():
    found = readings_from_text(HEADER + "\n".join(f"{k / 1000:.3f}, {k / 1e6:.6f}" for k in range(100_000)))
    assert np.array_equal(found["angle"], np.arange(100_000) / 1000)
    assert np.array_equal(found["lift"], np.arange(100_000) / 1e6)


def test_what_is_no_text_and_a_path_that_no_file_can_have_are_refused(tmp_path):
    with pytest.raises(ReadingError, match=r"text: 7 is no text\. Give what a CSV file holds"):
        readings_from_text(7)
    with pytest.raises(ReadingError, match="cannot be read"):
        read_readings(f"{tmp_path}/a\0b.csv")


def test_pixels_are_plain_numbers():
    rows = "10, 10\n20, 10\n10, {}\n"
    assert readings_from_text("x [px], y [px]\n" + rows.format(20))["y"].tolist() == [10, 10, 20]
    for cell in ("ten", "inf"):
        with pytest.raises(ReadingError, match=f"{cell}.*is not a number of pixels. Write a plain number."):
            readings_from_text("x [px], y [px]\n" + rows.format(cell))
