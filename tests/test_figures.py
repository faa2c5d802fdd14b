"""The drawings of the texts: the stored files are the drawn ones, small, and say what the library says."""

import io
import math
import re
import xml.etree.ElementTree as ET

import pytest
from matplotlib.text import Text

import detentlib as dl
from detentlib.lesson.figures.every import FIGURES, svg
from tests.knives import CARDS, A

NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
# of a mark or a clip: made from its numbers, so that the last digit of one changes it
NAME = re.compile(r"\b[mp][0-9a-f]{10}\b")
MOST_BYTES = 100_000


def _words(name):
    """Every text of a figure."""
    return [text.get_text() for text in FIGURES[name]().findobj(Text) if text.get_text()]


def _shape(drawing):
    """The drawing without its numbers, and its numbers."""
    drawing = NAME.sub("a", drawing)
    return NUMBER.sub("#", drawing), [float(number) for number in NUMBER.findall(drawing)]


def test_each_figure_is_stored_and_nothing_else(root):
    assert sorted(path.stem for path in (root / "figures").iterdir()) == sorted(FIGURES)


@pytest.mark.parametrize("name", FIGURES)
def test_the_stored_figure_is_the_drawn_one(name, root):
    stored, drawn = (root / "figures" / f"{name}.svg").read_text(encoding="utf-8"), svg(name)
    assert drawn == svg(name)
    (old, old_numbers), (new, new_numbers) = _shape(stored), _shape(drawn)
    assert old == new, f"draw it again: python -m detentlib.lesson.figures.every ({name} is out of date)"
    assert old_numbers == pytest.approx(new_numbers, abs=0.02), (
        f"draw it again: python -m detentlib.lesson.figures.every ({name} is out of date)"
    )


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_is_small_and_needs_nothing_from_outside(name, root):
    text = (root / "figures" / f"{name}.svg").read_text(encoding="utf-8")
    assert len(text.encode()) < MOST_BYTES
    assert not re.search(r"<script|<image|<text|<!ENTITY|font-family|matplotlib", text)
    for element in ET.parse(io.StringIO(text)).iter():
        for key, value in element.attrib.items():
            assert not key.endswith("href") or value.startswith("#")


@pytest.mark.parametrize("name", FIGURES)
def test_no_words_of_a_figure_run_out_of_it_or_into_each_other(name):
    figure = FIGURES[name]()
    figure.draw_without_rendering()
    whole, renderer = figure.bbox, figure._get_renderer()
    texts = [text for text in figure.findobj(Text) if text.get_text().strip() and text.get_visible()]
    boxes = [text.get_window_extent(renderer) for text in texts]
    for text, box in zip(texts, boxes, strict=True):
        assert box.x0 >= whole.x0, text.get_text()
        assert box.x1 <= whole.x1, text.get_text()
        assert box.y0 >= whole.y0, text.get_text()
        assert box.y1 <= whole.y1, text.get_text()
    for i, box in enumerate(boxes):
        for j in range(i):
            assert not box.padded(-1).overlaps(boxes[j].padded(-1)), (texts[i].get_text(), texts[j].get_text())


def test_one_ball_says_the_numbers_of_the_demo_knife():
    felt, said = dl.feel(CARDS["A"]), "\n".join(_words("one-ball"))
    lam = math.degrees(math.atan(A.friction.rim))
    for value in (
        f"rim gap {felt.rim_gap[0]:.3f} mm",
        f"seat depth {felt.seat_depth[0]:.3f} mm",
        f"{felt.contact_deg[0]:.1f}°",
        f"±{lam:.1f}°",
        f"bar {felt.rest_load:.2f} N",
    ):
        assert value in said
    assert f"{felt.break_torque / A.balls[0].track_radius:.2f} N at the ball" in said
    assert "ball 1.5875 mm, recess 1.3208 mm" in said


def test_the_wedge_lifts_what_its_tangent_says():
    said = _words("wedge")
    lift = 10 / math.tan(math.radians(30))
    assert f"bar {lift:.1f} N" in said
    assert f"10 N ÷ tan 30° = {lift:.1f} N, without friction" in said
    assert "at the contact\n20.0 N" in said


def test_the_triangle_of_forces_is_to_scale():
    arrows = [patch for patch in FIGURES["wedge"]().axes[1].patches if hasattr(patch, "get_mutation_scale")]
    sizes = [math.dist(*arrow._posA_posB) for arrow in arrows]
    assert sorted(sizes) == pytest.approx([10, 10 / math.tan(math.radians(30)), 20])


def test_signs_names_every_letter_it_draws():
    said = _words("signs")
    for letter in ("φ", "b", "N", "ρ", "d", "A"):
        assert said.count(letter) == 2, letter
    for letter, drawn in (("s", "s "), ("g", " g")):
        assert letter in said
        assert drawn in said
    assert {
        "push at the tab, + opens",
        "θ, + opening",
        "torque of the detent, + resists opening",
        "x, ball travel",
        "z = 0",
        "tab arm",
        "L, hinge distance",
    } <= set(said)
    felt = dl.feel(CARDS["A"])
    assert {f"{felt.contact_deg[0]:.1f}°", f"{felt.loaded_offset[0]:.3f} mm"} <= set(said)
