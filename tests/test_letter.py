"""The customer's letter: drawn to one scale, its forces those of the library, what was done in the reader's words,
no mJ.
"""

import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.patches import Circle

import detentlib as dl
from detentlib.__main__ import main
from detentlib.knife.parts import spec
from detentlib.pages.letter import balls_drawn, changed, letter_page
from detentlib.say.cautions import CAUTIONS
from detentlib.say.headline import usual_force
from detentlib.tune.moves import with_second_leaf
from tests.knives import CARDS, FOLDER
from tests.pages import Page

A, B, C, D = (CARDS[letter] for letter in "ABCD")
HEAVY = A.replace({"bar.riding_force": 26.0})
LIGHT = A.replace({"bar.riding_force": 5.0})
CAUTIONED = ("edge", "shake", "lock", "pin", "dry", "estimate", "law")
PERSONS = ("tangfirst", "oldrelief", "Ilby", "Sallowgate", "bench lead")


def words_of(page):
    return " ".join(Page(page).words.split())


@pytest.fixture(scope="module")
def one():
    return letter_page(A)


@pytest.fixture(scope="module")
def two():
    return letter_page(B, C)


def test_it_is_sound_asks_for_nothing_and_names_nobody(one, two):
    for page in (one, two):
        read = Page(page)
        assert all(address.startswith("data:image/svg+xml;base64,") for address in read.addresses)
        assert not re.search(r"https?:(?!//www\.w3\.org)|<script|url\(|@import", page)
        said = words_of(page)
        assert not any(name in said for name in PERSONS)
        assert "mJ" not in said
        assert "nan" not in said
        assert {CAUTIONS[name] for name in CAUTIONED} <= read.sentences
        assert {"Knife", "Name", "Date", "Done by"} <= read.sentences
        (picture,) = read.all("img")
        assert "to scale" in picture["alt"]


def test_the_forces_are_those_a_gauge_reads(one, two):
    for page, knives in ((one, (A,)), (two, (B, C))):
        for knife in knives:
            for result in ("gauge_break_force", "gauge_letback_force"):
                assert dl.budget(knife, result).interval.said("N") in words_of(page)
    row = dl.compare(B, C, ["gauge_break_force"])["gauge_break_force"]
    assert row.difference.said("N").replace("-", "−") in words_of(two)
    assert not row.apart
    assert "cannot tell whether it opens harder or easier than before" in words_of(two)
    assert usual_force() in words_of(one)


def test_more_force_is_harder_to_open_and_less_is_easier():
    up, down = words_of(letter_page(A, HEAVY)), words_of(letter_page(A, LIGHT))
    assert "It is harder to open, and held shut more firmly, by " in up
    assert "It is easier to open, and held shut less firmly, by " in down
    # the push grows with the bar force, but for the drag of the pivot
    more, less = (dl.feel(each).gauge_break_force / dl.feel(A).gauge_break_force - 1 for each in (HEAVY, LIGHT))
    assert f"{100 * more:.0f} % more than before" in up
    assert f"{-100 * less:.0f} % less than before" in down
    assert "a shake may open it" in down
    assert "by −" not in down


def test_a_blade_that_friction_holds_does_not_draw_itself_shut():
    held = replace(A.replace({"friction.rim": 0.25, "friction.pivot_torque": 90.0}), doubts={})
    assert dl.feel(held).gauge_letback_force < 0
    said = words_of(letter_page(held))
    assert "it does not draw itself shut: push it home" in said
    said = words_of(letter_page(A, held))
    assert dl.budget(A, "gauge_letback_force").interval.said("N") in said
    assert "does not draw itself shut" in said


def test_which_ball_holds_is_said_as_surely_as_it_is_known(one, two):
    assert "takes the load" not in words_of(one)
    assert "Before, shut: ball 1 takes the load." in words_of(two)
    assert "After, shut: which ball takes the load cannot be told (ball 2 alone in" in words_of(two)
    assert "share one spring" in words_of(two)
    assert "share one spring" not in words_of(letter_page(with_second_leaf(B)))


def test_what_was_done_stands_in_the_readers_units(two):
    assert list(changed(B, C)) == [("ball 2: diameter of the recess", "0.0520 ± 0.0008 in", "0.0465 ± 0.0008 in")]
    assert "0.0465 ± 0.0008 in" in words_of(two)
    assert list(changed(A, HEAVY)) == [
        (spec("bar.riding_force")["meaning"], A.said["bar.riding_force"].text, "26 N (5.85 lbf)")
    ]
    assert list(changed(A, A)) == []
    assert "Nothing that these numbers show." in words_of(letter_page(A, A))


def test_a_number_that_was_typed_without_a_unit_has_it_on_the_page(tmp_path):
    """The boxes of the form stand for mm and N; a customer's page has no boxes."""
    text = (FOLDER / "pellowfen-a.toml").read_text("utf-8")
    (tmp_path / "before.toml").write_text(text.replace("17.04 ± 0.8 N", "18"), "utf-8")
    (tmp_path / "after.toml").write_text(text.replace("17.04 ± 0.8 N", "16 ± 0.5"), "utf-8")
    done = {what: (one, other) for what, one, other in changed(*map(dl.read_knife, sorted(tmp_path.iterdir())[::-1]))}
    assert done["force at ball 1 when it rides the flat"] == ("18 N", "16 ± 0.5 N")


def test_two_names_stand_over_the_numbers_of_each_and_the_command_asks(tmp_path, capsys):
    page = tmp_path / "letter.html"
    assert main(["letter", *(str(FOLDER / f"pellowfen-{each}.toml") for each in "ab"), str(page)]) == 0
    assert "Look whether this is one knife: before it is Pellowfen A, after it Pellowfen B." in " ".join(
        capsys.readouterr().out.split()
    )
    assert {"before: Pellowfen A", "after: Pellowfen B"} <= Page(page.read_text("utf-8")).sentences
    assert {"before", "after"} <= Page(letter_page(A, HEAVY)).sentences


def test_a_name_in_the_picture_covers_the_line_that_it_lies_on():
    figure, _ = balls_drawn(A, C)
    names = [
        text for ax in figure.axes for text in ax.texts if "before" in text.get_text() or "after" in text.get_text()
    ]
    assert len(names) == 3
    assert all(text.get_bbox_patch() is not None for text in names)


def test_a_ball_and_a_leaf_that_came_are_said():
    (fitted,) = changed(A, B)
    assert fitted == ("ball 2", "none", "1.5875 mm (62.5 thou), in a recess of 1.3208 mm (52.0 thou)")
    assert next(changed(B, A))[1:] == (fitted[2], "taken out")
    assert "Ball 2 was put in: before, there was none." in words_of(letter_page(A, B))
    out = words_of(letter_page(B, A))
    assert "Ball 2 was taken out: after, there is none." in out
    assert "Before, shut: ball 1 takes the load." in out
    assert ("second leaf", "none", "fitted") in list(changed(B, with_second_leaf(B)))


def test_what_does_not_fit_the_page_is_counted():
    many = replace(A.replace({path: 1.01 * value for path in A.paths() if (value := A.get(path))}), title="many")
    told = len(list(changed(A, many)))
    said = words_of(letter_page(A, many))
    assert told > 12
    assert f"And {told - 6} more, which the two knife files show." in said


@pytest.mark.parametrize(
    "knives", [(A,), (C,), (A, D), (B, C)], ids=lambda knives: " ".join(each.title for each in knives)
)
def test_every_ball_is_drawn_to_one_scale(knives):
    figure, told = balls_drawn(*knives)
    balls = [ball for knife in knives for ball in knife.balls]
    assert len(figure.axes) == len(balls)
    scales = []
    for ax, ball in zip(figure.axes, balls, strict=True):
        (circle,) = (each for each in ax.patches if isinstance(each, Circle))
        assert circle.get_radius() == ball.radius
        box = ax.get_window_extent()
        scales += [box.width / np.ptp(ax.get_xlim()), box.height / np.ptp(ax.get_ylim())]
    assert scales == pytest.approx([scales[0]] * len(scales), rel=1e-6)
    # the bar that says 0.5 mm is as long
    (bar,) = (line for line in figure.axes[0].lines if line.get_linewidth() == 2.5 and line.get_visible())
    assert np.ptp(bar.get_xdata()) == pytest.approx(0.5)
    assert told.count("in a recess of") == len(balls)


def test_the_command_writes_it_and_leaves_alone_what_is_there(capsys, tmp_path):
    path = tmp_path / "letter.html"
    words = ["letter", str(FOLDER / "pellowfen-b.toml"), str(FOLDER / "pellowfen-c.toml"), str(path)]
    assert main(words) == 0
    assert path.read_text(encoding="utf-8") == letter_page(B, C)
    assert main([*words[:2], str(path)]) == 1
    assert "is there already. It was left alone. Choose another name, or add --replace." in capsys.readouterr().err
    assert main([*words[:2], str(path), "--replace"]) == 0
    assert path.read_text(encoding="utf-8") == letter_page(B)
    assert main([*words[:2], str(tmp_path / "none.toml"), str(path)]) == 1
    assert "there is no such file" in capsys.readouterr().err
