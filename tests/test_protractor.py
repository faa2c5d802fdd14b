"""The protractor, read back from its drawing: true to size on A4 and Letter, every line at its angle."""

import itertools

import numpy as np
import pytest

import detentlib as dl
from detentlib.__main__ import main
from detentlib.files.writing import ThereAlready
from detentlib.knife.parts import KnifeError
from tests.pages import Drawing

SHEETS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # mm: ISO 216; ANSI/ASME Y14.1, size A


@pytest.fixture(scope="module")
def drawing(tmp_path_factory):
    path = tmp_path_factory.mktemp("paper") / "protractor.svg"
    dl.protractor(path)
    return Drawing(path.read_text(encoding="utf-8"))


def _turn(drawing, line, pivot):
    """Angle of a line from upright, clockwise [deg], as seen from the middle of a pivot."""
    x, y = (drawing.corners(line) - pivot).T
    return np.degrees(np.arctan2(x, y))


def _pivot(drawing, number):
    """Where the two lines of the cross meet."""
    return drawing.corners(f"pivot-{number}").mean(axis=0)


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_printer_is_checked_by_100_mm_and_both_papers_hold_a_page(drawing, sheet):
    width, height = drawing.width, drawing.height / 2
    assert width <= SHEETS[sheet][0] + 1e-6
    assert height <= SHEETS[sheet][1] + 1e-6
    for page, (size, length) in itertools.product((1, 2), (("100-mm", 100.0), ("2-in", 50.8))):
        corners = drawing.corners(f"check-{page}-{size}")
        assert np.ptp(corners[:, 0]) == pytest.approx(length, abs=0.01)


def test_every_quarter_of_a_degree_has_its_line_and_lines_stand_apart(drawing):
    pivot, lines = _pivot(drawing, 1), drawing.named("quarter-")
    angles = sorted(float(name) for name in lines)
    assert angles == list(np.arange(-24, 24.1, 0.25))
    for angle in angles:
        assert _turn(drawing, f"quarter-{angle:g}", pivot) == pytest.approx(angle, abs=0.005)
    ends = np.array([lines[f"{angle:g}"][-1] for angle in angles])
    assert np.hypot(*(ends - pivot).T) == pytest.approx(165.0, abs=0.01)
    # wider apart than half a millimetre, the finest division of a common steel rule
    assert np.hypot(*np.diff(ends, axis=0).T).min() > 0.7


def test_the_whole_swing_goes_half_round_in_half_degrees(drawing):
    pivot, lines = _pivot(drawing, 2), drawing.named("half-")
    assert sorted(map(float, lines)) == list(np.arange(0, 180.1, 0.5))
    for name in lines:
        assert _turn(drawing, f"half-{name}", pivot) == pytest.approx(float(name), abs=0.01)


@pytest.mark.parametrize("number", [1, 2])
def test_the_edge_of_a_pointer_runs_through_its_window_and_reaches_both_scales(drawing, number):
    middle, radius = drawing.circle(f"window-{number}")
    corners = drawing.corners(f"pointer-{number}")
    tip = corners[corners[:, 1].argmax()]
    assert tip[0] == pytest.approx(middle[0], abs=0.01)
    assert radius > 3
    # it ends among the lines of page 1, whose longest begin 155 mm from the pivot, and beyond those of page 2
    assert 155 < tip[1] - middle[1] < 165


def test_everything_stands_inside_the_sheet(drawing):
    for page in (1, 2):
        low = drawing.height * (2 - page) / 2
        for start in ("quarter-",) if page == 1 else ("half-", "pointer-", "window-"):
            for corners in drawing.named(start).values():
                assert corners[:, 0].min() > 5
                assert corners[:, 0].max() < 205
                assert corners[:, 1].min() > low + 25
                assert corners[:, 1].max() < low + 270


def test_the_command_writes_it_and_leaves_what_is_there(tmp_path, capsys):
    path = tmp_path / "my-protractor.pdf"
    assert main(["protractor", str(path)]) == 0
    assert path.read_bytes().startswith(b"%PDF")
    assert main(["protractor", str(path)]) == 1
    assert "--replace" in capsys.readouterr().err
    assert main(["protractor", str(path), "--replace"]) == 0
    with pytest.raises(ThereAlready):
        dl.protractor(path)
    with pytest.raises(KnifeError, match=r"\.pdf or \.svg"):
        dl.protractor(tmp_path / "protractor.png")
