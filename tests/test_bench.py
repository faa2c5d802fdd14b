"""From readings to parts ±: pulls, photos, lift traces, fits, and what to measure next."""

import math
from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.derivations.formulas import formulas
from detentlib.files.instruments import INSTRUMENTS
from detentlib.measure.next_measurement import next_measurement
from detentlib.measure.photo import against_ball, fit_circle, scale_from
from detentlib.measure.pull import off_stop, two_way_pull
from detentlib.measure.readings import ReadingError, read_readings, readings_from_text
from tests import invented
from tests.bench_readings import pulls_of
from tests.invented import READINGS
from tests.knives import CARDS, A
from tests.readings_made import Hand


def test_the_invented_files_are_current_and_say_so():
    made = invented.files()
    assert sorted(made) == sorted(path.name for path in READINGS.glob("*.csv"))
    for name, text in made.items():
        assert (READINGS / name).read_text(encoding="utf-8") == text, name
        assert text.startswith("# invented readings")


@pytest.mark.checked_by("a simulator", "spheres, springs and Coulomb's law", "two_way_pull", "fit_knife")
def test_the_invented_pulls_and_forces_hold_what_the_simulator_put_in():
    """Friction by the pulls alone; every number of a fit to trace, pulls and forces; and the break force that it
    foretells.
    """
    run, dry = (invented.runs()[name] for name in ("a", "dry"))
    trace, oiled, degreased, force = (
        read_readings(READINGS / f"{name}.csv")
        for name in ("lift-trace-a", "two-way-pull-a-oiled", "two-way-pull-a-dry", "force-angle-a")
    )
    angle = dl.lift_trace(trace, CARDS["A"]).contact_deg
    for pulls, true in (
        (oiled, run),
        (degreased, dry),
        (read_readings(READINGS / "two-way-pull-c.csv"), invented.runs()["c"]),
    ):
        found = two_way_pull(pulls, CARDS["A"], angle).friction
        assert abs(found.value - true.knife.friction.rim) <= found.doubt < 0.05
    fit = dl.fit_knife(CARDS["A"], [trace, oiled, force])
    assert fit.explained > 0.05
    for path, value in fit.values.items():
        assert abs(value.value - run.knife.get(path)) <= value.doubt, path
    told = dl.budget(fit.knife, "break_force")
    assert abs(told.value - run.break_torque / run.knife.blade.tab_arm) <= told.doubt < 1


def test_a_fit_does_not_mind_where_the_indicator_stands():
    trace = read_readings(READINGS / "lift-trace-a.csv")
    near = trace["angle"] < 20
    near = replace(trace, columns={name: column[near] for name, column in trace.columns.items()})
    fits = [
        dl.fit_knife(CARDS["A"], [replace(near, columns=near.columns | {"lift": near["lift"] + off})])
        for off in (0.0, -5.0)
    ]
    assert fits[0].values.keys() == fits[1].values.keys()
    for path, value in fits[0].values.items():
        assert fits[1].values[path].value == pytest.approx(value.value, abs=0.05 * value.doubt), path


# two-way pull


@pytest.mark.checked_by("by hand", "the screw law both ways", "two_way_pull", "F6")
def test_two_exact_pulls_give_the_friction_that_was_put_in():
    """12.04 and 7.39 N without drag, or 12.25 and 7.18 N on the whole knife: 0.120."""
    pulls = readings_from_text("opening [N], letting back [N]\n12.2524, 7.1781\n12.2524, 7.1781")
    found = two_way_pull(pulls, A)
    assert found.friction.value == pytest.approx(0.120, abs=1e-4)
    assert found.bar_force.value == pytest.approx(14.21, abs=0.01)
    bare = two_way_pull(
        readings_from_text("opening [N], letting back [N]\n12.0381, 7.3924\n12.0381, 7.3924"),
        A.replace({"friction.pivot_torque": 0.0}),
    )
    assert bare.friction.value == pytest.approx(0.120, abs=1e-4)


def test_the_weight_of_the_blade_is_taken_off_by_attitude():
    weight = 0.034 * 9.80665 * 36 * math.sin(math.radians(30)) / 14
    tilted = readings_from_text(
        f"opening [N], letting back [N]\n{12.2524 + weight:.4f}, {7.1781 + weight:.4f}\n{12.2524 + weight:.4f},"
        f" {7.1781 + weight:.4f}"
    )
    assert two_way_pull(tilted, A, attitude_deg=30.0).friction.value == pytest.approx(0.120, abs=1e-3)
    assert two_way_pull(tilted, A).friction.value < 0.115


def test_reading_off_the_stop_pretends_friction():
    """0.1 / 0.5 / 1.0° further out let-back reads 4 / 19 / 34 % low and gives 0.13 / 0.17 / 0.22 for a true 0.12."""
    found = off_stop(A, 0.12)
    assert [round(100 * each.low) for each in found] == [4, 19, 34]
    assert [round(each.friction, 2) for each in found] == [0.13, 0.17, 0.22]


def test_off_the_stop_is_reckoned_with_a_bar_that_gives():
    """Let-back is N ρ tan(φ − λ) where the blade stands; both pulls at the stop give back friction and bar force of
    the loaded knife.
    """
    card = CARDS["A"]
    felt, (_, half, _) = dl.feel(card), off_stop(card, 0.12)
    back = dl.sweep(card, [0.5], "closing")
    by_hand = back.load[0, 0] * 8.001 * math.tan(math.radians(back.contact_deg[0, 0]) - math.atan(0.12))
    assert half.low == pytest.approx(1 - by_hand / (14 * felt.letback_force), rel=1e-3)
    two = two_way_pull(readings_from_text("opening [N], letting back [N]\n12.2647, 7.1850\n12.2647, 7.1850"), card)
    assert two.friction.value == pytest.approx(0.120, abs=1e-4)
    assert two.bar_force.value == pytest.approx(felt.rest_load, abs=0.01)


def test_friction_lies_within_its_own_doubt():
    """Only the pulls scatter here, so the ± of card and gauge must be more than enough."""
    angle = (49.15, 1.5)
    inside = [
        abs((found := two_way_pull(pulls_of(A, seed), A, angle)).friction.value - 0.12) <= found.friction.doubt
        for seed in range(60)
    ]
    assert np.mean(inside) >= 0.95


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("opening [N], letting back [N]\n12, 7", "has one pair of pulls"),
        ("opening [N], letting back [N]\n7, 12\n7, 12", "are the two exchanged"),
        ("reading [mm]\n1\n2", "where two-way pulls are wanted"),
    ],
)
def test_pulls_that_cannot_be(text, said):
    with pytest.raises(ReadingError, match=said):
        two_way_pull(readings_from_text(text), A)


def test_stick_slip_shows_in_the_scatter_and_is_taken_off_and_a_steady_gauge_does_not():
    """Pulls that overshoot by up to 10 %, by nothing, by half: their means alone make a friction of 0.15."""
    steady = readings_from_text("opening [N], letting back [N]\n" + "12.26, 7.18\n" * 3)
    jerky = readings_from_text("opening [N], letting back [N]\n12.26, 7.18\n13.49, 6.53\n12.87, 6.85\n13.1, 6.7")
    calm, rough = (two_way_pull(each, A, (49.15, 0.5)) for each in (steady, jerky))
    assert calm.slip == 0
    assert rough.slip == pytest.approx(0.055, abs=0.02)
    drag, arm = A.friction.pivot_torque, A.blade.tab_arm
    read = formulas["F6"](
        opening=rough.opening.value * arm - drag, letback=rough.letback.value * arm + drag, phi=math.radians(49.15)
    )
    assert read > 0.145
    assert abs(rough.friction.value - 0.12) < abs(read - 0.12) / 2
    assert abs(rough.friction.value - 0.12) <= rough.friction.doubt > 2 * calm.friction.doubt


def test_no_more_is_taken_off_than_what_parts_the_two_pulls():
    """Two pairs that scatter so wildly that half of each pull might be overshoot: rims drag, so friction is never
    below nothing.
    """
    wild = two_way_pull(readings_from_text("opening [N], letting back [N]\n9, 8.8\n13, 6.6"), A, (49.15, 0.5))
    assert wild.slip == pytest.approx((11 * 14 - 3 - (7.7 * 14 + 3)) / ((11 + 7.7) * 14))
    assert 0 <= wild.friction.value < wild.friction.doubt


def test_breakaway_and_sliding_are_told_apart_where_both_were_read():
    """On the whole knife, friction 0.12 sliding and 0.16 where it breaks away: each pull from tan(φ ± λ) and drag."""
    load, rows = 14.21 * 8.001, []
    for mu in (0.16, 0.12):
        lam, phi = math.atan(mu), math.radians(49.15)
        rows += [(load * math.tan(phi + lam) + 3) / 14, (load * math.tan(phi - lam) - 3) / 14]
    line = ", ".join(f"{each:.4f}" for each in rows)
    head = "opening [N], letting back [N], opening sliding [N], letting back sliding [N]"
    found = two_way_pull(readings_from_text(f"{head}\n{line}\n{line}\n{line}"), A, (49.15, 0.5))
    assert found.friction.value == pytest.approx(0.16, abs=1e-3)
    assert found.sliding.value == pytest.approx(0.12, abs=1e-3)


def test_the_error_of_the_gauge_counts_once():
    """It lifts both pulls alike: less for the friction, which is told by their ratio, than two errors of that size
    would make.
    """
    pulls = readings_from_text("opening [N], letting back [N]\n" + "12.2524, 7.1781\n" * 3)
    sure = replace(A, doubts={})
    found = two_way_pull(pulls, sure, (49.15, 0.0), gauge_doubt=0.2)
    ends = [
        two_way_pull(
            readings_from_text("opening [N], letting back [N]\n" + f"{12.2524 + off}, {7.1781 + off}\n" * 3),
            sure,
            (49.15, 0.0),
            0.0,
        )
        for off in (-0.2, 0.2)
    ]
    assert found.friction.doubt == pytest.approx(abs(ends[0].friction.value - ends[1].friction.value) / 2, rel=0.05)


# photo


def test_rim_and_ball_on_one_photo():
    scale = scale_from((0, 0), (400, 0), 1.0).value
    rim, ball = (fit_circle(read_readings(READINGS / f"photo-{name}-a.csv"), scale=scale) for name in ("rim", "ball"))
    assert abs(rim.diameter.value - 1.3208) <= rim.diameter.doubt
    assert abs(ball.diameter.value - 1.5875) <= ball.diameter.doubt
    found = against_ball(rim, ball, (1, 0))
    assert abs(found.rest_offset.value - 0.105) <= found.rest_offset.doubt
    assert abs(found.off_track.value) <= found.off_track.doubt
    turned = against_ball(rim, ball, (0, 1))
    assert turned.off_track.value == pytest.approx(found.rest_offset.value)


def test_a_short_arc_is_flagged():
    found = fit_circle(read_readings(READINGS / "photo-rim-worn.csv"), scale=1 / 400)
    assert "only 7" in found.warning
    assert f"the radius may be off by {100 * found.radius.doubt / found.radius.value:.1f} %" in found.warning
    assert found.x.doubt > 4 * found.y.doubt  # badly held along the middle of the arc
    assert fit_circle(read_readings(READINGS / "photo-rim-a.csv"), scale=1 / 400).warning == ""


def test_the_doubt_of_the_scale_counts_in_the_radius():
    points = read_readings(READINGS / "photo-rim-a.csv")
    sure, rough = (fit_circle(points, scale=scale_from((0, 0), (400, 0), 1.0, doubt)) for doubt in (0.0, 0.05))
    assert rough.radius.doubt**2 - sure.radius.doubt**2 == pytest.approx((0.05 * sure.radius.value) ** 2, rel=1e-6)
    assert fit_circle(points, scale=1 / 400).radius == pytest.approx(sure.radius)


def test_offsets_carry_the_doubt_of_both_centres():
    """Points on the arc towards the rim only: the centre is unsure along it."""
    arc = [fit_circle(Hand(seed).edge(0.66, arc_deg=(-40.0, 40.0), count=12)) for seed in (1, 2)]
    straight = against_ball(*arc, (1, 0))
    assert straight.rest_offset.doubt > 3 * straight.off_track.doubt


def test_circles_lie_within_their_own_doubt():
    inside = []
    for seed in range(200):
        found = fit_circle(Hand(seed).edge(0.66))
        inside.append(abs(found.radius.value - 0.66) <= found.radius.doubt)
    assert np.mean(inside) >= 0.92  # 95 % of 200, less two standard deviations of the count


def test_an_edge_seen_askew_is_found_oval_and_widens():
    """2 % shorter one way: said with the tilt that makes it, cos 11.5° = 0.98; the longer half lies inside the ±."""
    round_, oval = (fit_circle(Hand(4).edge(0.66, share)) for share in (0.0, 0.02))
    assert round_.warning == ""
    assert oval.oval.value == pytest.approx(0.02, abs=oval.oval.doubt)
    assert "as one tilted by 1" in oval.warning
    assert "seen aside by 2" in oval.warning  # tan 11.5° is 0.20
    assert abs(oval.radius.value - 0.66) <= oval.radius.doubt > round_.radius.doubt


@pytest.mark.parametrize("oval", [0.02, 0.04])
def test_a_photo_taken_askew_holds_the_offsets(oval):
    """Rim and ball over two thirds of their circles, shortened together along any direction: 95 % of 200, less two
    standard deviations of the count.
    """
    inside = []
    for seed in range(200):
        rng = np.random.default_rng(seed)
        tilted, *starts = rng.uniform(0, 2 * np.pi, 3)
        short = np.eye(2) - oval * np.outer(*[[np.cos(tilted), np.sin(tilted)]] * 2)
        picked = []
        for start, radius, middle in zip(starts, (0.66, 0.79), ((0.0, 0.0), (0.105, 0.0)), strict=True):
            turn = start + np.radians(np.linspace(0, 245, 16))
            place = (radius * np.column_stack([np.cos(turn), np.sin(turn)]) + middle) @ short
            picked.append(fit_circle(place + 0.00375 * rng.standard_normal(place.shape)))
        found = against_ball(*picked, (1, 0))
        inside.append(
            [
                abs(found.rest_offset.value - 0.105) <= found.rest_offset.doubt,
                abs(found.off_track.value) <= found.off_track.doubt,
            ]
        )
    assert np.min(np.mean(inside, axis=0)) >= 0.92


@pytest.mark.parametrize("method", ["geometric", "algebraic", "constrained"])
def test_every_fit_warns_of_a_short_arc(method):
    assert (
        "points cover only 7"
        in fit_circle(read_readings(READINGS / "photo-rim-worn.csv"), method, scale=1 / 400).warning
    )


@pytest.mark.parametrize("points", [[[0, 0], [1, 1]], [[0, 0], [1, 1], [2, 2]], [[1, 1], [1, 1], [1, 1]]])
def test_points_without_a_circle(points):
    with pytest.raises(ReadingError, match=r"three points|one line or in one place"):
        fit_circle(np.array(points, float))


# what to measure next


def test_the_cheapest_measurement_is_the_one_that_takes_most_off_per_minute():
    advice = next_measurement(A, "break_force")
    now = dl.budget(A, "break_force").doubt
    gains = [(now - each.result_doubt) / each.minutes for each in advice]
    assert gains == sorted(gains, reverse=True)
    best = advice[0]
    better = replace(A, doubts=A.doubts | {best.path: best.doubt_then})
    assert dl.budget(better, "break_force").doubt == pytest.approx(best.result_doubt, rel=0.03)


def test_the_advice_is_true_where_an_effect_is_alike_on_both_sides():
    """Off the track the force only falls: the photo that the advice names is taken here, and its ± put in."""
    card = replace(A, doubts={"balls[0].recess.off_track": 0.06, "blade.tab_arm": 0.2})
    best = next_measurement(card, "break_force")[0]
    assert best.path == "balls[0].recess.off_track"
    again = dl.budget(replace(card, doubts=card.doubts | {best.path: best.doubt_then}), "break_force")
    assert again.doubt == pytest.approx(best.result_doubt, rel=0.1)


def test_a_measurement_makes_surer_what_hangs_together_with_it():
    """Riding force and friction that go against each other: the ± is put in, and what is then known of the other."""
    pair = ("bar.riding_force", "friction.rim")
    card = replace(A, doubts={pair[0]: 1.6, pair[1]: 0.04}, known_together={pair: 0.9})
    best = next(each for each in next_measurement(card, "break_force") if each.path == pair[0])
    seen = best.doubt_then / best.doubt_now
    # a reading of one, taken into the covariance of both (Kalman), inputs counted in their own ±
    left = np.array([[seen**2, 0.9 * seen**2], [0.9 * seen**2, 1 - 0.81 * (1 - seen**2)]])
    wide = np.sqrt(np.diag(left))
    doubts = dict(zip(pair, wide * [1.6, 0.04], strict=True))
    then = replace(card, doubts=doubts, known_together={pair: left[0, 1] / wide.prod()})
    assert dl.budget(then, "break_force").doubt == pytest.approx(best.result_doubt, rel=0.03)


def test_an_instrument_that_is_worse_than_what_is_known_is_not_advised():
    sure = replace(A, doubts=dict.fromkeys(A.doubts, 1e-4))
    assert next_measurement(sure, "break_force") == []
    assert all(each.doubt > 0 and each.minutes > 0 for each in INSTRUMENTS)
