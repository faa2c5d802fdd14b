"""The track map: what is drawn stands where the knife has it, prints true to size, and says what the swing says."""

import base64
import io
import math
import re

import numpy as np
import PIL.Image
import pytest

import detentlib as dl
from detentlib.draw.plan import BEARING
from detentlib.draw.tang_face import bearing_of, outline
from tests.knives import FOLDER, A, B, C, D, E
from tests.pages import Drawing

SALLOWGATE = dl.read_knife(FOLDER / "sallowgate-folder.toml")
KNIVES = pytest.mark.parametrize("knife", [A, B, C, D, E, SALLOWGATE], ids=lambda knife: knife.title)


def _drawn(text, scale):
    """In mm of the tang, about the pivot."""
    return Drawing(text, scale, "pivot")


def _polar(points):
    """Radius, and the blade angle at which ball 1's bearing has turned so far."""
    x, y = np.asarray(points).T
    return np.hypot(x, y), np.degrees(BEARING - np.arctan2(y, x)) % 360


@KNIVES
@pytest.mark.parametrize("scale", [6.0, 4.0])
def test_pivot_recesses_and_balls_stand_where_the_card_has_them(knife, scale):
    drawn = _drawn(dl.track_map(knife, scale=scale).svg, scale)
    for i, ball in enumerate(knife.balls):
        middle, radius = drawn.circle(f"recess-{i + 1}")
        assert radius == pytest.approx(ball.recess.rim_radius, abs=0.005)
        assert math.hypot(*middle) == pytest.approx(ball.track_radius + ball.recess.off_track, abs=0.005)
        at, radius = drawn.circle(f"ball-{i + 1}")
        assert radius == pytest.approx(ball.radius, abs=0.005)
        assert math.hypot(*at) == pytest.approx(ball.track_radius, abs=0.005)
        assert math.dist(middle, at) == pytest.approx(abs(ball.recess.rest_offset), abs=0.005)
        # the stop holds the ball towards its working rim, where it will run
        assert middle[0] * at[1] - middle[1] * at[0] < 0


def test_the_second_ball_stands_at_its_bearing():
    drawn = _drawn(dl.track_map(B).svg, 6.0)
    (one, _), (two, _) = (drawn.circle(f"ball-{i}") for i in (1, 2))
    assert one == pytest.approx([-7.6, 2.5], abs=0.05)
    assert two == pytest.approx([-8.6, 4.27], abs=0.05)


@KNIVES
def test_each_ball_rides_where_it_carries_and_leaves_where_the_card_says(knife):
    drawn, swung = _drawn(dl.track_map(knife).svg, 6.0), dl.swing(knife)
    for i, ball in enumerate(knife.balls):
        lag = math.degrees(BEARING - bearing_of(knife, i))
        ridden = [each for each in swung.stretches if each.touching == f"ball {i + 1} on the flat"]
        pieces = drawn.pieces(f"ridden-{i + 1}")
        assert len(pieces) == len(ridden)
        for piece, stretch in zip(pieces, ridden, strict=True):
            radius, angle = _polar(piece)
            assert radius == pytest.approx(ball.track_radius, abs=0.01)
            assert angle - lag == pytest.approx(np.linspace(stretch.from_deg, stretch.to_deg, len(angle)), abs=0.1)
        if ball.run_off_deg is not None:
            radius, angle = _polar([drawn.used_at(f"run-off-{i + 1}")])
            assert (radius[0], angle[0] - lag) == pytest.approx((ball.track_radius, ball.run_off_deg), abs=0.05)


@KNIVES
def test_the_rim_that_works_is_the_side_the_ball_leaves_by(knife):
    drawn, carriers = (
        _drawn(dl.track_map(knife).svg, 6.0),
        {each.carrier for each in dl.swing(knife).stretches if each.touching.endswith(("rim", "chamfer"))},
    )
    for i, ball in enumerate(knife.balls):
        pieces = drawn.pieces(f"rim-{i + 1}")
        assert bool(pieces) == (i in carriers)
        (x, y), _ = drawn.circle(f"recess-{i + 1}")
        for piece in pieces:
            assert np.hypot(*(piece - (x, y)).T) == pytest.approx(ball.recess.rim_radius, abs=0.01)
            ahead = np.array([y, -x]) / math.hypot(x, y)  # the way the ball runs, clockwise
            assert np.all((piece - (x, y)) @ ahead > 0.8 * ball.recess.rim_radius)


def test_b_works_on_one_rim_and_c_on_two_with_the_same_track():
    b, c = (_drawn(dl.track_map(knife).svg, 6.0) for knife in (B, C))
    assert not b.pieces("rim-2")
    assert c.pieces("rim-2")
    for name in ("ridden-1", "ridden-2"):
        assert [len(each) for each in b.pieces(name)] == [len(each) for each in c.pieces(name)]


def test_a_ball_over_another_recess_marks_that_rim_twice():
    knife = B.replace({"balls[1].track_radius": 8.1, "balls[1].bearing_deg": -30.0})
    pieces = _drawn(dl.track_map(knife).svg, 6.0).pieces("rim-2")
    assert len(pieces) == 2
    assert "False detent: ball 1 on its rim in mid-swing, 24.93° to 26.83°." in dl.track_map(knife).words


@pytest.mark.parametrize("edge", [90.0, 60.0])
def test_the_edge_crosses_the_track_at_its_angle(edge):
    drawn = _drawn(dl.track_map(A.replace({"balls[0].edge_deg": edge})).svg, 6.0)
    ((outer, inner),) = drawn.pieces("edge-1")
    x, y = drawn.used_at("run-off-1")
    assert (outer + inner) / 2 == pytest.approx([x, y], abs=0.02)
    along, across = np.array([y, -x]) / math.hypot(x, y), (outer - inner) / math.dist(outer, inner)
    assert math.degrees(math.acos(along @ across)) == pytest.approx(edge, abs=1.0)
    assert math.dist(outer, inner) == pytest.approx(2 * A.balls[0].radius, abs=0.02)


@KNIVES
def test_the_outline_passes_every_run_off(knife):
    corners = outline(knife)
    for i, ball in enumerate(knife.balls):
        if ball.run_off_deg is not None:
            turn = bearing_of(knife, i) - math.radians(ball.run_off_deg)
            at = ball.track_radius * np.array([math.cos(turn), math.sin(turn)])
            starts, steps = corners, np.roll(corners, -1, axis=0) - corners
            share = np.clip(np.sum((at - starts) * steps, axis=1) / np.maximum(np.sum(steps**2, axis=1), 1e-12), 0, 1)
            assert np.min(np.hypot(*(at - starts - share[:, None] * steps).T)) < 1e-9


@pytest.mark.parametrize("scale", [6.0, 3.0])
def test_it_prints_true_to_size(scale):
    drawn = _drawn(dl.track_map(B, scale=scale).svg, scale)
    ((start, end),) = drawn.pieces("scale-bar")
    assert math.dist(start, end) == pytest.approx(5.0, abs=0.005)
    assert drawn.root.get("viewBox").split()[2:] == [
        drawn.root.get(side).removesuffix("pt") for side in ("width", "height")
    ]
    assert drawn.width < 195  # A4 and Letter with a margin
    assert drawn.height < 250


def test_it_is_written_self_contained_and_the_same_every_time(tmp_path):
    drawn = dl.track_map(C, tmp_path / "map.svg")
    text = (tmp_path / "map.svg").read_text(encoding="utf-8")
    assert text == drawn.svg == dl.track_map(C).svg
    assert not re.search(r"<script|<image|<text|<!ENTITY|font-family", text)
    assert drawn.words[0] in text
    assert str(tmp_path) not in text


def test_its_words_are_the_swing():
    words = dl.track_map(B).words
    assert len(words) == len(dl.swing(B).stretches) + 4
    assert words[1] == "4.30° to 168.00°: ball 1 on the flat, 17.04 N"
    assert words[-4:-2] == (
        "Ball 1 reaches the edge at 168.00°.",
        "0.2620 mm (10.3 thou) past it, at 169.88°, ball 2 takes over, lower by 0.0445 mm (1.75 thou).",
    )
    assert not any("not on the card" in said for said in words)
    made_up, endless = dl.track_map(E).words[-2:]
    assert made_up.startswith("Bearing of ball 2 not on the card")
    assert endless.startswith("Run-off of ball 2 not on the card")


def test_a_notebook_keeps_a_small_still_of_it():
    shown, told = dl.track_map(B)._repr_mimebundle_()
    assert told["image/png"]["alt"] == " ".join(dl.track_map(B).words)
    assert shown["text/plain"] == "<Track map: Pellowfen B, 6 times the size>"
    data = base64.b64decode(shown["image/png"])
    assert len(data) <= 20_000
    assert PIL.Image.open(io.BytesIO(data)).width > 600


def test_a_knife_that_cannot_work_is_refused():
    with pytest.raises(dl.KnifeError, match="drop past its widest part"):
        dl.track_map(A.replace({"balls[0].recess.diameter": 1.62, "balls[0].recess.rest_offset": 0.0}))


def test_no_words_of_the_map_run_out_of_it_or_into_each_other():
    for knife in (A, B, D, E, SALLOWGATE):
        figure = dl.track_map(knife).figure()
        figure.draw_without_rendering()
        texts = [
            text for text in [*figure.texts, *(text for ax in figure.axes for text in ax.texts)] if text.get_text()
        ]
        boxes = [text.get_window_extent(figure._get_renderer()) for text in texts]
        for i, box in enumerate(boxes):
            assert box.x0 >= 0, texts[i].get_text()
            assert box.x1 <= figure.bbox.x1, texts[i].get_text()
            assert not any(box.padded(-1).overlaps(other.padded(-1)) for other in boxes[:i]), texts[i].get_text()
