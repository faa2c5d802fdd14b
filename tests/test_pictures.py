"""What is seen on every panel: words that stand out from their ground, views as many times larger as they say."""

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.text import Text

import detentlib as dl
from detentlib.draw import scenes, scenes_measure, scenes_spring, scenes_swing, scenes_tune, scenes_two
from detentlib.draw.drawing import pixels_of
from detentlib.draw.section import SCREEN_DPI, TIMES
from detentlib.draw.story import Story
from detentlib.measure.readings import read_readings
from detentlib.tune.pair import TWO_THOU
from tests.knives import CARDS, FOLDER

A, B, C = (CARDS[letter] for letter in "ABC")
TRACE = read_readings(FOLDER.parent / "readings" / "lift-trace-a.csv")
MAKERS = {
    "one ball": lambda: scenes.one_ball(A),
    "whole knife": lambda: scenes.whole_knife(B),
    "side by side": lambda: scenes.side_by_side(A, B),
    "one spring": lambda: scenes_spring.one_spring(A),
    "the give": lambda: scenes_spring.the_give(A),
    "the snap": lambda: scenes_spring.the_snap(A),
    "two balls": lambda: scenes_two.two_balls(B),
    "offset recesses": lambda: scenes_two.offset_recesses(C),
    "around the tang": lambda: scenes_swing.around_the_tang(B),
    "a trace": lambda: scenes_measure.against_trace(A, TRACE),
    "tuning": lambda: scenes_tune.tuning(A),
}
CONTRAST = 4.5  # Web Content Accessibility Guidelines 2.2, 1.4.3, for text of this size
SEEN = 0.06  # share of the box of a word that a ground must take to count: less is a line that passes


def _luminance(colours):
    """Relative luminance of sRGB colours (…, 3) from 0 to 1, by the definition in WCAG 2.2."""
    colours = np.asarray(colours)
    linear = np.where(colours <= 0.04045, colours / 12.92, ((colours + 0.055) / 1.055) ** 2.4)
    return linear @ (0.2126, 0.7152, 0.0722)


def contrast(one, other):
    """Contrast ratio of two sRGB colours by WCAG 2.2."""
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_is_that_of_the_guideline():
    """Black on white 21, and #767676 on white just past 4.5: the grey that the guideline's readers know."""
    assert contrast((0, 0, 0), (1, 1, 1)) == pytest.approx(21.0)
    assert contrast(to_rgb("#777777"), (1, 1, 1)) < CONTRAST < contrast(to_rgb("#767676"), (1, 1, 1))


def _pale(figure):
    """[(words, contrast)] of every text of a figure that does not stand out from what is under it."""
    for artist in figure.findobj():
        artist.set_animated(False)
    texts = [each for each in figure.findobj(Text) if each.get_visible() and each.get_text().strip()]
    pixels_of(figure)  # lays the labels of axes out
    boxes = [each.get_window_extent() for each in texts]
    colours = [to_rgb(each.get_color()) for each in texts]
    for each in texts:
        each.set_alpha(0.0)  # its plate stays
    ground, found = pixels_of(figure) / 255, []
    for text, box, colour in zip(texts, boxes, colours, strict=True):
        left, right, bottom, top = (max(round(each), 0) for each in (box.x0, box.x1, box.y0, box.y1))
        under = ground[len(ground) - top : len(ground) - bottom, left:right].reshape(-1, 3)
        if not len(under) or (text.axes and not text.axes.get_visible()):
            continue
        shades, counts = np.unique(np.round(under, 2), axis=0, return_counts=True)
        for shade in shades[counts > SEEN * len(under)]:
            if contrast(colour, shade) < CONTRAST and not np.allclose(colour, shade, atol=0.02):
                found.append((text.get_text(), round(float(contrast(colour, shade)), 2)))
    return found


@pytest.mark.parametrize("name", MAKERS)
def test_every_word_stands_out_from_its_ground(name):
    for where in range(3):
        panel = MAKERS[name]()
        controls = [num.control for num in panel._nums.values()]
        panel._keep()
        panel.move({control.path: (control.start, control.lo, control.hi)[where] for control in controls})
        assert _pale(panel._scene.figure) == []


# the magnifier


def test_the_magnifier_shows_the_gap_a_hundred_times_larger():
    """On a screen of 96 px an inch, where a millimetre is 3.78 px; the demo's B hangs clear by 0.0494 mm."""
    for panel, ball in ((scenes.whole_knife(B), 1), (scenes.side_by_side(A, B), 2)):
        lens = panel._scene._lenses[ball]
        clear = max(dl.feel(B).idle_clearance)
        assert clear == pytest.approx(0.0494, abs=5e-5)
        (x, low), (_, high) = lens._gap._posA_posB
        pixels = np.diff(lens._ring.axes.transData.transform([(x, low), (x, high)])[:, 1])[0]
        assert pixels * 25.4 / SCREEN_DPI == pytest.approx(TIMES * clear, rel=1e-6)


def test_the_magnified_ball_and_rim_stand_as_in_the_section():
    """The way up from the ball to the rim, through the gap, is what the ball lacks to carry."""
    panel = scenes_two.two_balls(B)
    panel.move({scenes_two.DEEPER: TWO_THOU})
    lens, section = panel._scene._lenses[1], panel._scene._sections[1]
    clear = Story(panel.knife, 6.0).seat(1).clear
    ends = np.array(lens._gap._posA_posB)
    low, high = lens._larger.inverted().transform(ends)
    centre = np.array(section.circle.get_center())
    assert np.hypot(*(low - centre)) == pytest.approx(section.circle.get_radius())
    assert high - low == pytest.approx([0.0, clear])
    corners = section.tang.get_path().vertices
    assert np.hypot(*(corners - high).T).min() < 1e-6  # the rim, sharp
    assert lens._tang.get_path() is section.tang.get_path()


def test_a_ball_that_carries_and_a_wide_gap_have_no_magnifier():
    panel = scenes_two.two_balls(B)
    lenses = panel._scene._lenses
    assert not any(lens._ring.get_visible() for lens in lenses)  # twins, both carry
    panel.move({scenes_two.DEEPER: TWO_THOU})
    assert [lens._ring.get_visible() for lens in lenses] == [False, True]
    assert "idle by 0.051 mm (2.0 thou)" in panel._scene._sections[1].names[2].get_text()
    panel.move({scenes_two.SECOND: scenes_two.NONE})
    assert not any(lens._ring.get_visible() for lens in lenses)


# the bar, bent too far to be true


def test_the_bend_and_the_turn_are_as_many_times_larger_as_they_say():
    edge, face = scenes_spring.one_spring(A)._scene._edge, scenes_spring.the_give(A)._scene._face
    felt = dl.feel(A)
    arm = A.balls[0].hinge_distance
    rise = np.interp(arm, *edge._free.get_data())
    assert rise == pytest.approx(edge.times * felt.rest_load / felt.rate)
    side = dl.sweep(A, [0.0], "opening").side[0, 0]
    assert face._ball.center == pytest.approx((arm, 40 * side))
    words = [text.get_text() for view in (edge, face) for text in view._bar.axes.texts]
    assert f"from its edge, bend drawn ×{edge.times}" in words
    assert "on its face, drawn ×40 sideways" in words
    assert f"gives sideways by {side:.3f} mm" in words


def test_the_finger_stands_at_the_end_of_the_arm_under_its_push():
    panel = scenes_spring.the_snap(A)
    for arm in (14.0, 20.0):
        panel.move({"blade.tab_arm": arm})
        lever = panel._scene._lever
        tail, _ = lever._push.shaft._posA_posB
        assert lever._finger.get_visible()
        assert lever._finger.center[0] == tail[0] == arm
        assert lever._finger.center[1] + lever._finger.height / 2 == pytest.approx(tail[1])


# the two ends of the swing


def test_the_ends_of_the_swing_are_stretched_as_they_say():
    scene = scenes_swing.around_the_tang(B)._scene
    ends, ax = scene._ends, scene._plots[1].ax
    near, far = ends.angles[1], ends.angles[2]
    assert near > dl.feel(B).break_out_deg
    assert far < min(ball.run_off_deg for ball in B.balls)
    wide = ax.get_window_extent().width
    for (low, high), words in (((0.0, near), "rest, stretched ×10"), ((far, 178.0), "run-off, stretched ×7")):
        pixels = np.diff(ax.transData.transform([(low, 0), (high, 0)])[:, 0])[0]
        times = pixels / (wide * (high - low) / 178.0)
        assert f"×{times:.0f}" in words
        assert words in [text.get_text() for text in scene._plots[0].ax.texts]
    angles = np.linspace(0, 178, 90)
    assert ends.angle(ends.share(angles)) == pytest.approx(angles)
