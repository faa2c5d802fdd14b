"""The panel of notebook 06 says and draws what the swing says; every corner of it is swept by test_panel.py."""

import math
import re

import numpy as np
import pytest
import shapely

import detentlib as dl
from detentlib.draw import scenes_swing as swinging
from detentlib.draw.scene import DIRECTION
from detentlib.draw.section import tang_outline
from detentlib.draw.story import SwingStory
from detentlib.draw.tang_face import on_tang, outline
from detentlib.mechanics.carry import Detent
from detentlib.mechanics.swing import leavings
from detentlib.say.measure import MM, THOU
from tests.knives import CARDS, FOLDER, A, B, C, D, E

ANGLE, OFF = "blade angle", swinging.RUN_OFF
FOLDED = dl.read_knife(FOLDER / "sallowgate-folder.toml")
ON_ONE_TRACK = {"balls[1].track_radius": 8.1, "balls[1].bearing_deg": -30.0, "balls[1].protrusion": 0.12}
CROSSING = B.replace(ON_ONE_TRACK)


@pytest.fixture(scope="module")
def b():
    return swinging.around_the_tang(B)


@pytest.fixture(autouse=True)
def fresh(b):
    """The panel as it starts."""
    b._units.value = b._units.options[0][1]
    b._reset()


@pytest.mark.parametrize(
    ("angle", "said"),
    [
        (0.0, "ball 1 on its rim with 14.21 N"),
        (90.0, "ball 1 on the flat with 17.04 N"),
        (169.0, "ball 1 on the tang edge with 16.91 N"),
        (172.0, "ball 2 on the flat with 17.05 N (3.83 lbf); ball 1 is off the tang"),
    ],
)
def test_what_touches_now(b, angle, said):
    b.move({ANGLE: angle})
    assert f"At {angle}°: {said}" in b.answer
    force = dl.sweep(B, [angle]).tab_force[0]
    assert f"{abs(force):.2f} N" in b.answer
    assert ("opens further by itself" in b.answer) == (force < 0)
    assert b.answer in b.alt


def test_where_ball_1_runs_off_and_what_goes_along(b):
    assert "Ball 1 runs off at 168.0°; ball 2 takes over 0.262 mm further, 0.044 mm lower, at 169.9°" in b.answer
    b.move({OFF: 150.0})
    assert "Ball 1 runs off at 150.0°; ball 2 takes over 0.262 mm further, 0.044 mm lower, at 151.9°" in b.answer
    assert b.knife == B.replace({OFF: 150.0})
    b.move({OFF: 180.0})
    assert "Ball 1 runs off" not in b.answer


def test_drag_and_barrier(b):
    swung = dl.swing(B)
    assert f"To open: {swung.work_opening:.0f} mJ, barrier {dl.feel(B).barrier:.1f} mJ." in b.answer


def test_letting_back(b):
    b.move({ANGLE: 90.0, DIRECTION: "letting back"})
    force = dl.sweep(B, [90.0], "closing").tab_force[0]
    assert force < 0
    assert f"it closes only with {-force:.2f} N" in b.answer


def test_letting_back_another_ball_may_carry():
    """The bar stands aside the other way, so C hands over at another angle."""
    panel = swinging.around_the_tang(CARDS["C"])
    for way, direction, ball in (("opening", "opening", 1), ("letting back", "closing", 0)):
        panel.move({ANGLE: 1.6, DIRECTION: way})
        load = dl.sweep(CARDS["C"], [1.6], direction).load[0]
        assert np.argmax(load) == ball
        assert f"At 1.6°: ball {ball + 1} on its rim with {load[ball]:.2f} N" in panel.answer
        assert panel._scene._sections[0].name == f"ball {ball + 1}"


def test_it_speaks_thou(b):
    b._units.value = THOU
    assert "10.3 thou further, 1.8 thou lower" in b.answer
    assert b._scene._plots[1].ax.get_ylabel() == "force at the tab, lbf"


def test_the_curves_are_the_sweeps_of_the_whole_swing(b):
    opening, back = (curve.now for curve in b._scene._plots[1].curves)
    at = np.array(opening.get_xdata())
    assert (at[0], at[-1]) == (0.0, 178.0)
    assert np.array(opening.get_ydata()) == pytest.approx(dl.sweep(B, at).tab_force)
    assert np.array(back.get_ydata()) == pytest.approx(dl.sweep(B, at, "closing").tab_force)
    low, high = b._scene._plots[1].ax.get_ylim()
    assert low < min(back.get_ydata())
    assert high > max(opening.get_ydata())


def _on_screen(scene, name, points):
    """Points of an artist of the face, in mm about the pivot as they stand on the screen."""
    ax = scene._face.tang.axes
    return ax.transData.inverted().transform(getattr(scene._face, name)[0].get_transform().transform(points))


@pytest.mark.parametrize("angle", [0.0, 4.3, 90.0, 168.0])
def test_the_tang_turns_and_the_balls_stay(b, angle):
    b.move({ANGLE: angle})
    scene = b._scene
    start = np.array(on_tang(B, 0, 0.0))
    # the place of the track that has turned to the ball is the one it has reached by now
    reached = _on_screen(scene, "ridden", [on_tang(B, 0, angle)])[0]
    assert reached == pytest.approx(start, abs=1e-9)
    ball = next(each for each in scene._balls if each.get_gid() == "ball-1")
    assert ball.get_center() == pytest.approx(start)
    assert (
        scene._face.tang.axes.get_data_ratio() * scene._face.tang.axes.bbox.width / scene._face.tang.axes.bbox.height
        == pytest.approx(1.0)
    )


def _middle_of_its_own(knife, ball, angle, way, side):
    """Where the middle of the ball's own recess lies along the section [mm], by the law of cosines."""
    out, short = ball.track_radius + ball.recess.off_track, ball.recess.rest_offset + knife.blade.pivot_play
    turned = math.radians(angle) - side / ball.track_radius + math.asin(short / out)
    return -math.copysign(
        math.sqrt(ball.track_radius**2 + out**2 - 2 * ball.track_radius * out * math.cos(turned)), turned
    )


LOOSE = CARDS["A"].replace({"blade.pivot_play": 0.015})
SWUNG = {"A": A, "B": B, "C": C, "D": D, "E": E} | {f"card {letter}": card for letter, card in CARDS.items()}
SWUNG |= {
    "folder": FOLDED,
    "crossing": CROSSING,
    "giving and crossing": CARDS["B"].replace(ON_ONE_TRACK),
    "loose pivot": LOOSE,
}
SWUNG["liner"] = dl.read_knife(FOLDER / "pellowfen-l.toml")


@pytest.mark.parametrize("knife", SWUNG.values(), ids=SWUNG)
def test_the_drawn_ball_touches_the_drawn_tang_and_never_cuts_into_it(knife):
    """And it stands where the bar, turned sideways, has let it stand (State, B6)."""
    story, detent = None, Detent(knife)
    ends = [
        angle
        for each in dl.swing(knife).stretches
        for angle in (each.from_deg + 1e-3, (each.from_deg + each.to_deg) / 2, each.to_deg - 1e-3)
    ]
    for angle in ends:
        story = SwingStory(knife, angle, story)
        for way, sense in (("opening", 1), ("letting back", -1)):
            i = story.shown(way)
            seat = story.seat(i, way)
            recesses, edge = story.tang_at_ball(4.0, way)
            ball, side = knife.balls[i], detent.sideways(detent.state(math.radians(angle), sense))[i]
            middle = _middle_of_its_own(knife, ball, angle, way, side)
            drawn = [at for recess, at in recesses if recess == detent.knife.balls[i].recess]
            assert abs(middle) >= 4.0 or min(abs(at - middle) for at in drawn) < 1e-9
            if edge is not None:
                past = (ball.track_radius * math.radians(angle - ball.run_off_deg) - side) * math.sin(
                    math.radians(ball.edge_deg)
                )
                assert edge == pytest.approx(-past, abs=1e-9)
            parts = tang_outline(recesses, 3.0, 2.0, edge).to_polygons()
            tang = shapely.union_all([shapely.Polygon(part) for part in parts])
            centre = shapely.Point(0.0, seat.ball.protrusion - seat.gap - seat.ball.radius)
            clear = tang.distance(centre) - seat.ball.radius
            if story.carrier(way) >= 0:
                assert not tang.contains(centre)
                assert clear == pytest.approx(0.0, abs=2e-4), (angle, story.touching(MM, way))
                touch = seat.ball.radius * np.array(
                    [math.copysign(math.sin(seat.phi), seat.offset), math.cos(seat.phi)]
                )
                assert tang.distance(shapely.Point(centre.x + touch[0], centre.y + touch[1])) < 2e-3


def test_the_strip_has_a_box_for_each_stretch_with_its_words(b):
    strip, stretches = b._scene._strip, dl.swing(B).stretches
    boxes = [box for box in strip.boxes if box.get_visible()]
    drawn = np.array([(box.get_x(), box.get_x() + box.get_width()) for box in boxes])
    assert drawn == pytest.approx(np.array([(each.from_deg, each.to_deg) for each in stretches]))
    named = [name.get_text() for name in strip.names if name.get_visible()]
    assert named == [each.touching for each in stretches if each.to_deg - each.from_deg > 0.05]
    looks = {(box.get_hatch(), box.get_edgecolor()) for box in boxes}
    assert len(looks) == len(boxes)
    b.move({ANGLE: 100.0})
    assert set(strip.upright.get_xdata()) == {100.0}


@pytest.mark.parametrize("knife", [B, C, FOLDED, CROSSING, E], ids=lambda knife: knife.title)
def test_no_words_of_the_strip_run_into_each_other(knife):
    scene = swinging.around_the_tang(knife)._scene
    names = [name for name in scene._strip.names if name.get_visible()]
    boxes = [name.get_window_extent() for name in names]
    for i, box in enumerate(boxes):
        assert box.x0 >= 0
        assert box.x1 <= scene.figure.bbox.x1
        assert not any(box.overlaps(other) for other in boxes[:i])


def test_a_second_recess_on_the_track_is_a_false_detent():
    panel = swinging.around_the_tang(CROSSING)
    hole = dl.swing(CROSSING).crossings[0]
    assert f"Ball 1 on its rim again at {hole.from_deg:.1f}°: a false detent." in panel.answer


def test_the_tries_go_where_they_say(b):
    said = {
        "free of the rim": "ball 1 on",
        "half way": "At 89.0°",
        "ball 1 half over the edge": "ball 1 on the tang edge",
        "ball 2 has taken over": "ball 2 on the flat",
    }
    for name, words in said.items():
        b._preset.value = name
        assert words in b.answer


@pytest.mark.parametrize("knife", [A, C, D, E, FOLDED], ids=lambda knife: knife.title)
def test_any_knife_can_be_carried_round(knife):
    panel = swinging.around_the_tang(knife)
    for name in panel._presets:
        panel._preset.value = name
        assert not panel.answer.startswith("This cannot be.")
    assert re.search(r"Ball 1 runs off at 16[18]\.0°", panel.answer)


def test_a_card_without_run_off_gets_no_slider_for_it():
    panel = swinging.around_the_tang(A.replace({OFF: None}))
    assert OFF not in panel._nums
    panel.move({ANGLE: 178.0})
    assert "ball 1 on the flat" in panel.answer


def test_leaving_in_the_plane_is_the_closed_form():
    plane = B.replace({"balls[1].track_radius": 8.001, "balls[1].hinge_distance": 36.4, "balls[1].bearing_deg": None})
    off = leavings(plane, dl.swing(plane))[0]
    assert off.past == pytest.approx(math.sqrt(2 * 0.79375 * 0.0508 - 0.0508**2), rel=1e-5)
    assert off.drop == pytest.approx(0.0508, abs=1e-6)
    assert off.until_deg - off.angle_deg == pytest.approx(2.0, abs=0.005)


def test_the_outline_does_not_cross_itself():
    for knife in (A, B, D, FOLDED):
        assert shapely.Polygon(outline(knife)).is_valid
