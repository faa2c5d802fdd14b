"""The panels, figures and notebooks of one spring and of the snap draw and say what the library computes."""

import math

import nbformat
import numpy as np
import pytest
import shapely

import detentlib as dl
from detentlib.draw.scenes_spring import PRESET, RATE, RELIEF, one_spring, the_give, the_snap
from detentlib.draw.story import Story
from detentlib.knife.units import convert
from detentlib.lesson.figures.every import FIGURES
from detentlib.mechanics import bar as bars
from detentlib.say.measure import THOU
from detentlib.say.working import cubed, derivation
from detentlib.tune.moves import preset, with_one_ball, with_preset, with_relief
from tests.knives import CARDS, FOLDER, A, B, C, D
from tests.notebooks import settle

FOLDING = dl.read_knife(FOLDER / "sallowgate-folder.toml")  # its bar is measured, not drawn
THOU_MM = convert(1.0, "thou", "mm")
RIM, ARM, DRAG, ANGLE = "friction.rim", "blade.tab_arm", "friction.pivot_torque", "blade angle"


@pytest.fixture
def spring():
    return one_spring(A)


@pytest.fixture
def snap():
    return the_snap(A)


def _line(panel):
    """End of the blue line: bend and force, riding."""
    x, y = panel._scene._curve.now.get_data()
    return x[-1], y[-1]


def test_the_spring_says_the_numbers_of_the_demo_knife(spring):
    for said in ("14.21 N (3.20 lbf)", "17.04 N (3.83 lbf)", "10.30 N/mm", "1.655 mm", "12.04 N"):
        assert said in spring.answer
    assert spring.answer in spring.alt
    assert "397 MPa" in spring.alt
    assert "476 MPa" in spring.alt


@pytest.mark.parametrize("knife", [A, C, D, FOLDING], ids=lambda knife: knife.title)
def test_relief_or_rate_and_preset_make_the_knife_that_the_moves_make(knife):
    panel, alone = one_spring(knife), with_one_ball(knife)
    assert panel.knife == alone
    bend = preset(alone)
    panel.move({PRESET: bend + 0.1})
    assert panel.knife.bar.riding_force == pytest.approx(with_preset(alone, 0.1).bar.riding_force)
    if knife.bar.drawn:
        panel.move({RELIEF: knife.bar.relief_thickness - THOU_MM})
        wanted = with_preset(with_relief(alone, knife.bar.relief_thickness - THOU_MM), 0.1)
    else:
        panel.move({RATE: 2 * knife.bar.rate})
        wanted = knife.replace({"bar.rate": 2 * knife.bar.rate, "bar.riding_force": 2 * knife.bar.rate * (bend + 0.1)})
    assert panel.knife.bar.riding_force == pytest.approx(wanted.bar.riding_force)
    assert bars.rate(panel.knife.bar, panel.knife.balls[0]) == pytest.approx(bars.rate(wanted.bar, wanted.balls[0]))
    assert preset(panel.knife) == pytest.approx(bend + 0.1)
    panel._reset()
    assert panel.knife == alone


def test_the_line_is_as_steep_as_the_rate_and_ends_at_the_preset(spring):
    for values in ({}, {RELIEF: 1.3}, {PRESET: 1.0}):
        spring.move(values)
        felt = dl.feel(spring.knife)
        bend, force = _line(spring)
        assert force / bend == pytest.approx(felt.rate)
        assert bend == pytest.approx(preset(spring.knife))
        dots = np.array(spring._scene._dots.get_data())
        assert dots[1] == pytest.approx([felt.rest_load, felt.ride_load])
        assert dots[0] * felt.rate == pytest.approx(dots[1])


def test_the_bar_is_drawn_to_scale(spring):
    view = spring._scene._side
    spring.move({RELIEF: 1.25, ANGLE: 2.0})
    felt, story = dl.feel(spring.knife), Story(spring.knife, 6.0, 2.0)
    bar = shapely.Polygon(view.bar.get_xy())

    def thickness(x):
        return bar.intersection(shapely.LineString([(x, -20), (x, 20)])).length

    assert thickness(0.0) == pytest.approx(1.25)
    assert thickness(20.0) == pytest.approx(A.bar.thickness)
    assert view.ball.center[0] == A.balls[0].hinge_distance
    assert view.ball.radius == A.balls[0].radius
    gap = story.seat(0).gap
    assert view.ball.center[1] == pytest.approx(A.balls[0].protrusion - gap - A.balls[0].radius)
    free = np.interp(A.balls[0].hinge_distance, *view.free.get_data())
    assert free + gap == pytest.approx(story.run.load[story.at, 0] / felt.rate)
    corners = view.ax.transData.transform([(0, 0), (1, 1)])
    assert np.ptp(corners[:, 0]) == pytest.approx(np.ptp(corners[:, 1]))


def test_stress_is_drawn_and_said_against_yield(spring):
    scene = spring._scene
    assert scene._riding.get_width() == pytest.approx(dl.feel(A).relief_stress_ride)
    assert scene._seated.get_width() == pytest.approx(dl.feel(A).relief_stress_rest)
    assert scene._said.get_text().endswith(
        f"that is {100 * dl.feel(A).relief_stress_ride / A.bar.yield_stress:.0f} % of yield"
    )
    spring._preset.value = "bend it twice as far"
    assert "past yield: the bar takes a set" in scene._said.get_text()
    set_by = 2 * preset(A) - preset(spring.knife)
    assert f"Past yield the bar takes a set of {set_by:.3f} mm" in spring.answer
    bend, force = _line(spring)
    assert force == pytest.approx(dl.feel(A).ride_load * A.bar.yield_stress / dl.feel(A).relief_stress_ride)
    assert (bend, force) == pytest.approx((preset(spring.knife), dl.feel(spring.knife).ride_load))
    assert spring._scene._yielded.get_xdata() == pytest.approx([bend, 2 * preset(A), set_by])
    assert spring._scene._riding.get_width() == pytest.approx(A.bar.yield_stress)


def test_the_ways_to_twice_the_force(spring):
    felt = dl.feel(A)
    spring._preset.value = "twice the force: a thicker relief"
    thick = dl.feel(spring.knife)
    assert thick.ride_load == pytest.approx(2 * felt.ride_load)
    assert thick.break_force == pytest.approx(2 * felt.break_force)
    assert spring.knife.bar.relief_thickness == pytest.approx(1.42, abs=0.01)
    spring._preset.value = "bend it twice as far"
    bent = dl.feel(spring.knife)
    assert bent.relief_stress_ride == pytest.approx(A.bar.yield_stress)
    assert bent.ride_load < 2 * felt.ride_load
    assert bent.rate == felt.rate
    spring._preset.value = "one thou off the relief"
    assert dl.feel(spring.knife).rest_load / felt.rest_load == pytest.approx(0.937, abs=0.0005)


@pytest.mark.parametrize("knife", [A, C, FOLDING], ids=lambda knife: knife.title)
def test_every_line_of_the_spring_stays_inside_its_plot(knife):
    """Also where all sliders are at their upper ends, and the bar past its yield."""
    panel = one_spring(knife)
    panel.move({path: num.control.hi for path, num in panel._nums.items()})
    scene = panel._scene
    (_, right), (_, top) = scene._plot.get_xlim(), scene._plot.get_ylim()
    for line in (scene._curve.now, scene._yielded, scene._dots, scene._now):
        x, y = line.get_data()
        assert max([*x, 0.0]) < right
        assert max([*y, 0.0]) < top
    words = scene._preset.name.get_window_extent()
    assert words.y1 < scene._plot.get_window_extent().y1


def test_a_measured_bar_is_a_stick_without_stress():
    panel = one_spring(FOLDING)
    view = panel._scene._side
    assert not view.bar.get_visible()
    assert view.stick.get_visible()
    assert "not known" in panel.alt
    assert not panel._scene._gauge.get_visible()
    assert RELIEF not in panel._nums


def test_a_bar_hardly_bent_and_a_bar_without_a_cut_still_draw():
    weak = A.replace({"bar.riding_force": 4.0})
    panel = one_spring(weak)
    panel.move({PRESET: panel._nums[PRESET].control.lo})
    assert panel.answer.startswith("This cannot be.")
    liner = A.replace({"bar.relief_thickness": 1.3, "bar.thickness": 1.3, "bar.riding_force": 12.0})
    panel = one_spring(liner)
    assert panel._nums[RELIEF].control.hi == 1.3
    assert "twice the force: a thicker relief" not in panel._presets


def test_with_more_balls_the_spring_says_whose_it_is():
    assert "Ball 1 alone" in one_spring(B).answer
    assert "Ball 1 alone" not in one_spring(A).answer


def test_the_spring_speaks_pounds_and_thou(spring):
    spring._units.value = THOU
    for said in ("3.20 lbf (14.21 N)", "58.8 lbf/in", "65.1 thou"):
        assert said in spring.answer
    assert "69 ksi" in spring.alt


@pytest.mark.parametrize("knife", [A, B, C, D, FOLDING], ids=lambda knife: knife.title)
def test_work_store_and_loss_over_the_opening(knife):
    story, felt = Story(knife, 6.0), dl.feel(knife)
    at_flat = [
        np.interp(felt.break_out_deg, story.run.angle_deg, curve)
        for curve in (story.work(), story.stored(), story.work("letting back"))
    ]
    assert at_flat[0] == pytest.approx(felt.work, rel=3e-3)
    run = story.run
    bent_sideways = np.interp(
        felt.break_out_deg, run.angle_deg, (run.push * run.side).sum(axis=-1) / 2
    )  # by the drag on the flat
    assert at_flat[1] == pytest.approx(felt.barrier + bent_sideways, rel=1e-3)
    assert at_flat[2] < at_flat[1] < at_flat[0]
    assert story.lost() == pytest.approx(at_flat[0] - at_flat[2])


def test_without_friction_nothing_is_lost(snap):
    snap._preset.value = "no friction"
    story = snap._scene.story
    assert story.lost() == pytest.approx(0, abs=1e-9)
    assert story.work() == pytest.approx(story.stored(), rel=2e-3, abs=2e-3)
    assert dl.feel(snap.knife).break_force == pytest.approx(dl.feel(snap.knife).letback_force)


def test_the_area_of_the_loop_is_the_loss(snap):
    for values in ({}, {RIM: 0.3}, {ARM: 21.0}):
        snap.move(values)
        area = shapely.Polygon(snap._scene._loop.get_xy()).area  # N·degrees at the push
        story = snap._scene.story
        assert math.radians(area) * snap.knife.blade.tab_arm == pytest.approx(story.lost(), rel=0.01)
        assert f"{story.lost():.2f} mJ" in snap.alt


def test_the_snap_says_the_numbers_of_the_demo_knife(snap):
    for said in (
        "12.04 N (2.71 lbf), let-back 7.39 N",
        "barrier 4.29 mJ",
        "12.25 N and 7.18 N",
        "shut from 3.5°",
        "snap ratio 0.90",
    ):
        assert said in snap.answer


def test_the_snap_of_a_card_shows_the_take_up():
    """From shut the rim sticks: the force climbs from let-back to break, and the picture stands still."""
    panel, felt = the_snap(CARDS["A"]), dl.feel(CARDS["A"])
    assert felt.take_up_deg == pytest.approx(0.204, abs=0.0005)
    assert panel._scene._stuck.get_width() == felt.take_up_deg
    assert (
        f"{felt.letback_force:.2f} N (1.66 lbf) 14 mm from the pivot, the rim still sticking; it slips at 0.2°"
        in panel.answer
    )
    seats = [Story(CARDS["A"], 5.0, share * felt.take_up_deg).seat(0) for share in (0, 0.5, 1)]
    assert [seat.offset for seat in seats] == pytest.approx([seats[0].offset] * 3, abs=1e-9)
    assert seats[0].offset == pytest.approx(felt.loaded_offset[0], abs=5e-6)  # a chord and its arc
    assert [seat.push * 8.001 / 14 for seat in seats] == pytest.approx(
        [felt.letback_force, (felt.letback_force + felt.break_force) / 2, felt.break_force]
    )
    leans = [math.atan2(seat.push, seat.load) - seat.phi for seat in seats]
    assert (leans[0], leans[2]) == pytest.approx((-seats[0].lam, seats[0].lam), abs=1e-4)
    panel.move({ANGLE: 0.3})
    assert "it slips at" not in panel.answer
    panel.move({ANGLE: 0.0, RIM: 0.0})
    assert "stick" not in panel.answer
    assert panel._scene._taken.get_text() == "yellow: 0.00 mJ to friction"


def test_the_dead_band_runs_from_draw_in_to_the_flat(snap):
    for values in ({}, {DRAG: 8.0}):
        snap.move(values)
        felt, band = dl.feel(snap.knife), snap._scene._band
        assert (band.get_x(), band.get_x() + band.get_width()) == pytest.approx((felt.draw_in_deg, felt.break_out_deg))
        ball, rub = snap.knife.balls[0], snap.knife.friction
        by_formula = dl.formulas["F5a"](
            ball_radius=ball.radius,
            edge_radius=0,
            mu=rub.rim,
            drag=rub.pivot_torque,
            load=felt.ride_load,
            track_radius=ball.track_radius,
        )
        assert math.radians(band.get_width()) * ball.track_radius == pytest.approx(by_formula, rel=0.005)


def test_oil_moves_the_two_forces_apart(snap):
    found = []
    for rim in (0.05, 0.12, 0.2, 0.3, 0.4):
        snap.move({RIM: rim})
        found.append(
            (dl.feel(snap.knife).break_force, dl.feel(snap.knife).letback_force, snap._scene._band.get_width())
        )
    opens, back, band = np.diff(found, axis=0).T
    assert (opens > 0).all()
    assert (back < 0).all()
    assert (band > 0).all()


def test_at_the_stud_the_same_torque_takes_less_push(snap):
    start = dl.feel(A)
    snap._preset.value = "push at the stud"
    felt = dl.feel(snap.knife)
    assert felt.break_torque == start.break_torque
    assert felt.break_force == start.stud_break_force
    assert f"let-back {start.letback_force * 14 / 21:.2f} N" in snap.answer
    assert "21 mm from the pivot" in snap.answer


def test_the_lever_is_to_scale_and_in_balance(snap):
    snap.move({ANGLE: 1.0})
    lever = snap._scene._lever
    ends = {}
    for name, arrow in (("ball", lever._ball), ("push", lever._push)):
        tail, tip = arrow.shaft._posA_posB
        ends[name] = (tip[0], tip[1] - tail[1])
    assert (ends["ball"][0], ends["push"][0]) == (A.balls[0].track_radius, A.blade.tab_arm)
    assert ends["ball"][0] * ends["ball"][1] == pytest.approx(-ends["push"][0] * ends["push"][1])
    force = np.interp(1.0, *np.array([snap._scene.story.run.angle_deg, snap._scene.story.run.tab_force]))
    assert f"finger {force:.2f} N at 14 mm" == lever._push.name.get_text()


def test_only_the_gauge_and_the_draw_in_ask_about_the_drag_of_the_pivot(snap):
    before = dl.feel(snap.knife)
    snap.move({DRAG: 8.0})
    after = dl.feel(snap.knife)
    assert (after.break_force, after.letback_force, after.barrier) == (
        before.break_force,
        before.letback_force,
        before.barrier,
    )
    assert after.gauge_break_force == pytest.approx(after.break_force + 8 / 14)
    assert f"{after.gauge_break_force:.2f} N and {after.gauge_letback_force:.2f} N" in snap.answer
    assert after.draw_in_deg < before.draw_in_deg


def test_a_let_back_that_is_not_given_is_not_said():
    panel = the_snap(A.replace({"balls[0].recess.off_track": 0.05, RIM: 0.3}))
    assert "let-back not given" in panel.answer
    assert "None" not in panel.answer + panel.alt


def test_keep_and_forget(spring, snap):
    for panel, path in ((spring, RELIEF), (snap, RIM)):
        panel._keep()
        kept = [curve.now.get_data() for curve in panel._scene.curves]
        panel.move({path: panel._nums[path].control.hi})
        for curve, (x, y) in zip(panel._scene.curves, kept, strict=True):
            assert np.array_equal(curve.before.get_data(), (x, y))
        panel._reset()
        assert all(len(curve.before.get_xdata()) == 0 for curve in panel._scene.curves)


def test_the_cube_is_what_b1_says_of_a_relief_alone():
    sizes = {
        "near_arm": 36.4,
        "far_arm": 36.4,
        "relief_length": 6.0,
        "thickness": math.inf,
        "width": 7.0,
        "youngs_modulus": 113800.0,
    }
    thin, thick = (dl.formulas["B1"](relief_thickness=size, **sizes) for size in (1.1, 1.2))
    assert cubed("", "k", 1 / thin, 1.2, 1.1, "N/mm").value == pytest.approx(1 / thick)


def test_a_derivation_for_one_ball_shows_the_plain_form(capsys):
    derivation("B1", far_arm="near_arm")
    said = capsys.readouterr().out
    assert "Here $L_{>} = L_{<}$." in said
    assert (
        r"\frac{\ell \left(12 L_{<}^{2} + \ell^{2}\right)}{E t_{r}^{3} w} + \frac{\left(2 L_{<} - \ell\right)^{3}}{2 E"
        r" t^{3} w}" in said
    )
    derivation("F2", cos_chi=1)
    assert (
        r"= \frac{\mu \cos{\left(\varphi \right)} + \sin{\left(\varphi \right)}}{\cos{\left(\varphi \right)} - \mu"
        r" \sin{\left(\varphi \right)}}" in capsys.readouterr().out
    )


def test_the_figures_say_the_numbers_of_the_demo_knife():
    felt = dl.feel(CARDS["A"])
    said = {
        name: "\n".join(text.get_text() for text in _texts(FIGURES[name]())) for name in ("one-spring", "friction-cone")
    }
    assert f"{felt.rest_load:.2f} N" in said["one-spring"]
    assert f"{preset(A):.3f} mm" in said["one-spring"]
    assert f"opening: {felt.break_torque / 8.001:.2f} N" in said["friction-cone"]
    assert f"letting back: {felt.letback_force * 14 / 8.001:.2f} N" in said["friction-cone"]


def _texts(figure):
    return [text for text in figure.findobj(lambda artist: hasattr(artist, "get_text")) if text.get_text()]


@pytest.mark.parametrize("name", ["02_one_spring", "03_the_snap"])
def test_a_reader_can_carry_another_knife_through(name):
    notebook = nbformat.read(settle.NOTEBOOKS / f"{name}.ipynb", as_version=nbformat.NO_CONVERT)
    (setup,) = [cell for cell in notebook.cells if "choose_knife(" in cell.source]
    setup.source = setup.source.replace("pellowfen-a", "sallowgate-folder")
    settle.run(notebook, settle.NOTEBOOKS)
    shown = "".join(
        output.get("data", {}).get("text/plain", "") for cell in notebook.cells for output in cell.get("outputs", [])
    )
    assert f", {FOLDING.title}>" in shown


def test_the_give_says_where_the_ball_stands_stripped_and_loaded():
    """The demo card: 0.105 mm stripped, 0.060 mm loaded; a bar stiff sideways leaves the parts as they are."""
    card, panel = CARDS["A"], the_give(CARDS["A"])
    felt = dl.feel(card)
    for said in (
        "stands 0.105 mm short",
        "touched at 44.4°",
        "12.95 N",
        "sideways by 0.045 mm",
        "rests 0.060 mm short",
        "touched at 49.2°",
    ):
        assert said in panel.answer
    x, y = panel._scene._dot.get_data()
    assert (x[0], y[0]) == pytest.approx((bars.side_compliance(card.bar, card.balls[0]), felt.loaded_offset[0]))
    assert np.interp(x[0], *panel._scene._curve.now.get_data()) == pytest.approx(y[0], abs=1e-4)
    turned = panel._scene._face._ball.center[1]
    assert turned == pytest.approx(40 * (0.105 - felt.loaded_offset[0]))
    panel.move({"bar.side_compliance": 0.0})
    assert "rests 0.105 mm short" in panel.answer
    assert panel._scene._face._ball.center[1] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("knife", [*CARDS.values(), FOLDING], ids=lambda knife: knife.title)
def test_the_give_draws_every_knife_from_end_to_end(knife):
    panel = the_give(knife)
    for end in (0.0, panel._nums["bar.side_compliance"].control.hi):
        panel.move({"bar.side_compliance": end})
        assert not panel.answer.startswith("This cannot be.")
