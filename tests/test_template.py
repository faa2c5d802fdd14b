"""The paper model: drawn true to scale, and cut out and slid in the plane it gives the lift of the library."""

import math
import re

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

import detentlib as dl
from detentlib.derivations.formulas import formulas
from detentlib.mechanics.lift import lift
from detentlib.pages.template import largest_scale
from detentlib.pages.true_size import HEIGHT, WIDTH
from tests.knives import FOLDER, A, B, C, D, E
from tests.pages import Drawing

SALLOWGATE = dl.read_knife(FOLDER / "sallowgate-folder.toml")
ROUNDED = A.replace({"balls[0].recess.edge_radius": 0.08, "balls[0].recess.off_track": 0.03})
KNIVES = pytest.mark.parametrize(
    "knife", [A, B, C, D, E, SALLOWGATE, ROUNDED], ids=["A", "B", "C", "D", "E", "chamfered", "rounded, off track"]
)


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    """A function (knife, scale) that gives the Drawing of a paper model, each drawn once for all tests."""
    path, made = tmp_path_factory.mktemp("models") / "model.svg", {}

    def drawn(knife, scale=20.0):
        if (id(knife), scale) not in made:
            dl.template(knife, path, scale, replace=True)
            made[id(knife), scale] = Drawing(path.read_text(encoding="utf-8"))
        return made[id(knife), scale]

    return drawn


@KNIVES
@pytest.mark.parametrize("scale", [20.0, 12.5])
def test_balls_rims_and_rest_offsets_are_true_to_scale(knife, scale, model):
    drawn = model(knife, scale)
    for i, ball in enumerate(knife.balls, 1):
        assert drawn.circle(f"ball-{i}")[1] == pytest.approx(ball.radius * scale, abs=0.01)
        middle, radius = drawn.circle(f"rim-{i}")
        assert radius == pytest.approx(ball.recess.diameter / 2 * scale, abs=0.01)
        at, radius = drawn.circle(f"photo-ball-{i}")
        assert radius == pytest.approx(ball.radius * scale, abs=0.01)
        assert at - middle == pytest.approx([ball.recess.rest_offset * scale, -ball.recess.off_track * scale], abs=0.02)
        arc = drawn.corners(f"works-{i}") - middle
        assert np.hypot(*arc.T) == pytest.approx(ball.recess.rim_radius * scale, abs=0.05)
        # the ball stands out of the bar face by its protrusion
        top = drawn.corners(f"ball-{i}")[:, 1].max()
        assert top - drawn.corners(f"bar-{i}")[:, 1].max() == pytest.approx(ball.protrusion * scale, abs=0.01)


@pytest.mark.checked_by("another program", "shapely, the paper slid and let down", "template")
@KNIVES
def test_the_strips_slid_over_each_other_give_the_lift(knife, model):
    """No formula: the paper is moved to an angle of its ruler and let down on the ball."""
    scale = 20.0
    drawn = model(knife, scale)
    for i, ball in enumerate(knife.balls):
        name = f"{i + 1}-{i + 1}"
        tang, ticks = drawn.corners(f"tang-{name}"), drawn.named(f"angle-{name}-")
        face, out = (
            tang[:, 1].min(),
            math.degrees(
                float(
                    formulas["L2a"](
                        distance=ball.recess.rim_radius,
                        track_radius=ball.track_radius,
                        off_track=ball.recess.off_track,
                        rest_offset=ball.recess.rest_offset,
                    )
                )
            ),
        )
        for said, tick in ticks.items():
            metal = Polygon(tang - (tick[0, 0], face))  # the tick over the ball's axis, the tang face at height 0
            low, high = 0.0, 2 * ball.radius * scale
            for _ in range(30):  # how far the top of the ball comes above the tang face before it meets metal
                sunk = (low + high) / 2
                round_ball = Point(0, sunk - ball.radius * scale).buffer(ball.radius * scale, quad_segs=256)
                low, high = (low, sunk) if metal.intersection(round_ball).area > 1e-4 else (sunk, high)
            demand = ball.protrusion - low / scale
            assert demand == pytest.approx(float(lift(ball, math.radians(float(said))).demand), abs=0.004), (said, out)
        assert len(ticks) > 6
        assert max(map(float, ticks)) > out


@KNIVES
def test_the_numbers_of_the_ruler_stand_above_the_recess_that_is_cut_out(knife, model):
    """A number hangs 3.6 mm below the edge, and is under 3 mm high."""
    for scale in (10.0, 20.0):
        for i in range(len(knife.balls)):
            tang = model(knife, scale).corners(f"tang-{i + 1}-{i + 1}")
            recess_top = sorted(set(np.round(tang[:, 1], 3)))[-2]
            assert tang[:, 1].max() - recess_top >= 3.6 + 3


@KNIVES
def test_the_gap_rulers_measure_the_knife(knife, model):
    drawn = model(knife)
    for i in range(1, len(knife.balls) + 1):
        face = drawn.corners(f"bar-{i}")[:, 1].max()
        for unit, size in (("mm", 20.0), ("thou", 20.0 * 0.0254)):
            ticks = drawn.named(f"gap-{i}-{unit}-")
            assert len(ticks) > 4
            for said, tick in ticks.items():
                assert tick[0, 1] - face == pytest.approx(float(said) * size, abs=0.01)


@KNIVES
def test_every_page_checks_the_printer_and_fits_both_papers(knife, model):
    drawn = model(knife)
    count = 2 * len(knife.balls) + 1
    assert (drawn.width, drawn.height) == (pytest.approx(WIDTH), pytest.approx(count * HEIGHT))
    assert WIDTH <= 210
    assert HEIGHT <= 279.4
    for number in range(1, count + 1):
        for said, length in (("50-mm", 50.0), ("2-in", 50.8)):
            bar = drawn.corners(f"check-{number}-{said}")
            assert np.ptp(bar[:, 0]) == pytest.approx(length, abs=0.005)
    for points in (
        drawn.corners(name) for name in drawn.groups if re.match(r"tang-|bar-|ball-|rim-|photo|works|mark|second", name)
    ):
        assert points[:, 0].min() > 10
        assert points[:, 0].max() < WIDTH - 10


def test_marks_stand_where_the_grid_and_the_library_have_them(model):
    drawn, felt = model(C), dl.feel(C)
    angles, gaps = drawn.named("angle-3-"), drawn.named("gap-3-")
    (one, other), (low, high) = list(angles)[:2], list(gaps)[:2]
    wide = (angles[other][0, 0] - angles[one][0, 0]) / (float(other) - float(one))
    tall = (gaps[high][0, 1] - gaps[low][0, 1]) / (float(high) - float(low))
    run = dl.sweep(C, np.array([0.0, felt.handovers[0].angle_deg]))
    found = []
    for mark in drawn.named("mark-").values():
        x, y = mark.mean(axis=0)
        found.append(((x - angles[one][0, 0]) / wide + float(one), (y - gaps[low][0, 1]) / tall + float(low)))
    assert len(found) == 5
    assert found[1] == pytest.approx((0.0, run.gap[0]), abs=0.003)  # ball 2 carries at the stop
    assert found[0] == pytest.approx((0.0, run.demand[0, 0]), abs=0.003)
    assert found[2] == pytest.approx((felt.handovers[0].angle_deg, run.gap[1]), abs=0.003)
    # the ruler of ball 2: what it demands at the stop stands as high as the bar does
    seconds = {float(said): line[0, 1] for said, line in drawn.named("second-").items()}
    heights = np.interp(run.demand[0, 1], list(seconds), list(seconds.values()))
    assert (heights - gaps[low][0, 1]) / tall + float(low) == pytest.approx(run.gap[0], abs=0.001)


def test_a_pdf_has_a_page_for_each_and_is_the_same_twice(tmp_path):
    for name in ("one.pdf", "two.PDF"):
        dl.template(B, tmp_path / name)
    data = (tmp_path / "one.pdf").read_bytes()
    assert data == (tmp_path / "two.PDF").read_bytes()
    assert len(re.findall(rb"/Type /Page\b", data)) == 5
    boxes = {tuple(float(number) for number in box.split()) for box in re.findall(rb"/MediaBox \[([^\]]*)\]", data)}
    assert {tuple(round(number, 1) for number in box) for box in boxes} == {(0.0, 0.0, 595.3, 792.0)}
    assert b"Date" not in data


def test_an_svg_is_self_contained_and_the_same_twice(model, tmp_path):
    first = model(C).text
    dl.template(C, tmp_path / "model.svg", 20.0)
    assert (tmp_path / "model.svg").read_text(encoding="utf-8") == first
    assert not re.search(r"<script|<image|<text|<!ENTITY|font-family", first)
    assert str(tmp_path) not in first


@KNIVES
def test_the_largest_scale_fits_and_a_larger_one_is_refused(knife, tmp_path):
    most = math.floor(largest_scale(knife))
    dl.template(knife, tmp_path / "model.pdf", most)
    with pytest.raises(dl.KnifeError, match=f"scale = {most + 1}: does not fit .* Take {most} or less"):
        dl.template(knife, tmp_path / "model.pdf", most + 1)


@KNIVES
@pytest.mark.parametrize("scale", [1, 0.01, 1.2])
def test_a_scale_too_small_to_read_is_refused_with_the_least_that_can_be(knife, scale, tmp_path):
    # 1.2 mm on paper for the coarsest step of the ruler, 5 degrees, on the inner track: 1.2 / (8.001 * 0.08727) = 1.72
    with pytest.raises(
        dl.KnifeError, match=f"scale = {scale}: is too small to read.*Take 2 to {math.floor(largest_scale(knife))} for"
    ):
        dl.template(knife, tmp_path / "model.svg", scale)
    assert list(tmp_path.iterdir()) == []


def test_the_least_scale_that_is_named_can_be_drawn(model):
    assert len(model(C, 2).named("angle-1-1-")) >= 2


@pytest.mark.parametrize("scale", [0, -1, math.nan, math.inf, "20", None])
def test_a_scale_that_is_none_is_refused(scale, tmp_path):
    with pytest.raises(dl.KnifeError, match="is not a number above zero"):
        dl.template(A, tmp_path / "model.pdf", scale)


def test_another_ending_or_knife_is_refused_before_anything_is_written(tmp_path):
    with pytest.raises(dl.KnifeError, match=r"does not end in \.pdf or \.svg"):
        dl.template(A, tmp_path / "model.png")
    with pytest.raises(dl.KnifeError, match="rim gap"):
        dl.template(A.replace({"balls[0].recess.diameter": 1.75}), tmp_path / "model.pdf")
    assert list(tmp_path.iterdir()) == []
