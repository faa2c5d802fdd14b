"""From readings to parts ±: pulls, photos, lift traces, fits, and what to measure next."""

import math
from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.bench.fit import fit_knife
from detentlib.bench.instruments import INSTRUMENTS, next_measurement
from detentlib.bench.photo import against_ball, fit_circle, scale_from
from detentlib.bench.pull import off_stop, two_way_pull
from detentlib.bench.trace import lift_trace
from detentlib.readings import ReadingError, Readings, read_readings, readings_from_text
from detentlib.teach import invented
from tests.knives import FOLDER, A, B, C

READINGS = FOLDER.parent / "readings"
KNIVES = {"a": A, "b": B, "c": C}


def trace_of(knife, seed, **more):
    angle, lift = invented.lift_trace_rows(knife, seed, **more)
    return Readings("lift trace", {"angle": angle, "lift": lift}, {"angle": "deg", "lift": "mm"}, f"seed {seed}")


def pulls_of(knife, seed, count=5):
    opening, letback = invented.pull_rows(knife, seed, count)
    return Readings("two-way pull", {"opening": opening, "letting back": letback}, {"opening": "N", "letting back": "N"}, f"seed {seed}")


def test_the_invented_files_are_current_and_say_so():
    made = invented.files(KNIVES)
    assert sorted(made) == sorted(path.name for path in READINGS.glob("*.csv"))
    for name, text in made.items():
        assert (READINGS / name).read_text(encoding="utf-8") == text, name
        assert text.startswith("# invented readings")


# two-way pull


def test_two_exact_pulls_give_the_friction_that_was_put_in():
    """12.04 and 7.39 N without drag, or 12.25 and 7.18 N on the whole knife: 0.120."""
    pulls = readings_from_text("opening [N], letting back [N]\n12.2524, 7.1781\n12.2524, 7.1781")
    found = two_way_pull(pulls, A)
    assert found.friction.value == pytest.approx(0.120, abs=1e-4)
    assert found.bar_force.value == pytest.approx(14.21, abs=0.01)
    bare = two_way_pull(readings_from_text("opening [N], letting back [N]\n12.0381, 7.3924\n12.0381, 7.3924"), A.replace({"friction.pivot_torque": 0.0}))
    assert bare.friction.value == pytest.approx(0.120, abs=1e-4)


def test_the_weight_of_the_blade_is_taken_off_by_attitude():
    weight = 0.034 * 9.80665 * 36 * math.sin(math.radians(30)) / 14
    tilted = readings_from_text(f"opening [N], letting back [N]\n{12.2524 + weight:.4f}, {7.1781 + weight:.4f}\n{12.2524 + weight:.4f}, {7.1781 + weight:.4f}")
    assert two_way_pull(tilted, A, attitude_deg=30.0).friction.value == pytest.approx(0.120, abs=1e-3)
    assert two_way_pull(tilted, A).friction.value < 0.115


def test_reading_off_the_stop_pretends_friction():
    """0.1 / 0.5 / 1.0° further out let-back reads 4 / 19 / 34 % low and gives 0.13 / 0.17 / 0.22 for a true 0.12."""
    found = off_stop(A, 0.12)
    assert [round(100 * each.low) for each in found] == [4, 19, 34]
    assert [round(each.friction, 2) for each in found] == [0.13, 0.17, 0.22]


def test_friction_lies_within_its_own_doubt():
    """Only the pulls scatter here, so the ± of card and gauge must be more than enough."""
    inside = [abs((found := two_way_pull(pulls_of(A, seed), A)).friction.value - 0.12) <= found.friction.doubt for seed in range(100)]
    assert np.mean(inside) >= 0.95


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("opening [N], letting back [N]\n12, 7", "has one pair of pulls"),
        ("opening [N], letting back [N]\n7, 12\n7, 12", "are the columns exchanged"),
        ("reading [mm]\n1\n2", "where two-way pulls are wanted"),
    ],
)
def test_pulls_that_cannot_be(text, said):
    with pytest.raises(ReadingError, match=said):
        two_way_pull(readings_from_text(text), A)


# photo


def test_rim_and_ball_on_one_photo():
    scale = scale_from((0, 0), (400, 0), 1.0).value
    rim, ball = (fit_circle(read_readings(READINGS / f"photo-{name}-a.csv"), scale=scale) for name in ("rim", "ball"))
    assert abs(rim.diameter.value - 1.3208) <= rim.diameter.doubt
    assert abs(ball.diameter.value - 1.5875) <= ball.diameter.doubt
    found = against_ball(rim, ball, (1, 0))
    assert abs(found.rest_offset.value - 0.06) <= found.rest_offset.doubt
    assert abs(found.off_track.value) <= found.off_track.doubt
    turned = against_ball(rim, ball, (0, 1))
    assert turned.off_track.value == pytest.approx(found.rest_offset.value)


def test_a_short_arc_is_flagged():
    found = fit_circle(read_readings(READINGS / "photo-rim-worn.csv"), scale=1 / 400)
    assert "only 7" in found.warning
    assert found.x.doubt > 4 * found.y.doubt  # badly held along the middle of the arc
    assert fit_circle(read_readings(READINGS / "photo-rim-a.csv"), scale=1 / 400).warning == ""


def test_circles_lie_within_their_own_doubt():
    inside = []
    for seed in range(200):
        found = fit_circle(invented.edge_rows(0.66, (1.0, 1.0), seed).T, scale=1 / 400)
        inside.append(abs(found.radius.value - 0.66) <= found.radius.doubt)
    assert np.mean(inside) >= 0.92  # 95 % of 200, less two standard deviations of the count


@pytest.mark.parametrize("points", [[[0, 0], [1, 1]], [[0, 0], [1, 1], [2, 2]], [[1, 1], [1, 1], [1, 1]]])
def test_points_without_a_circle(points):
    with pytest.raises(ReadingError, match=r"three points|one line or in one place"):
        fit_circle(np.array(points, float))


# lift trace


@pytest.mark.parametrize("letter", "abc")
def test_the_stored_traces_tell_what_was_put_in(letter):
    knife = KNIVES[letter]
    felt, found = dl.feel(knife), lift_trace(read_readings(READINGS / f"lift-trace-{letter}.csv"), knife)
    assert abs(found.contact_deg.value - felt.contact_deg[felt.rest_carrier]) <= found.contact_deg.doubt
    assert abs(found.break_out_deg.value - felt.break_out_deg) <= 2 * found.break_out_deg.doubt
    assert (found.handover is not None) == (letter == "c")
    assert found.resting_ball == felt.rest_carrier
    if letter == "c":
        assert abs(found.handover.angle_deg.value - 1.9017) <= found.handover.angle_deg.doubt
        assert found.handover.slope_ratio > 1
    if letter != "a":
        assert found.run_off.drop.value == pytest.approx(0.0445, abs=found.run_off.drop.doubt)
        assert found.run_off.angle_deg.value == pytest.approx(168, abs=0.6)


def test_an_indicator_beside_the_ball_is_corrected_by_its_lever():
    angle, lift = invented.lift_trace_rows(A, 3)
    beside = Readings("lift trace", {"angle": angle, "lift": 0.8 * lift}, {}, "beside")
    over = lift_trace(Readings("lift trace", {"angle": angle, "lift": lift}, {}, "over"), A)
    found = lift_trace(beside, A, hinge_ratio=0.8, lift_doubt=0.006 * 0.8)
    assert found.seat_lift == pytest.approx(over.seat_lift, rel=1e-6)


def test_contact_angle_lies_within_its_own_doubt_and_a_is_not_taken_for_two_balls():
    found = [lift_trace(trace_of(A, seed), A) for seed in range(40)]
    true = dl.feel(A).contact_deg[0]
    assert np.mean([abs(each.contact_deg.value - true) <= each.contact_deg.doubt for each in found]) >= 0.88
    assert sum(each.handover is not None for each in found) <= 4


def test_the_handover_of_c_is_found():
    assert sum(lift_trace(trace_of(C, seed), C).handover is not None for seed in range(20)) >= 17


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("0, 0.1\n1, 0.2", "A trace needs eight or more"),
        ("\n".join(f"{2 + k / 5}, 0.2" for k in range(12)), "starts at 2"),
        ("\n".join(f"{k / 2}, {0.5 - k / 100}" for k in range(20)), "the bar does not rise"),
    ],
)
def test_traces_that_cannot_be(rows, said):
    with pytest.raises(ReadingError, match=said):
        lift_trace(readings_from_text("angle [deg], lift [mm]\n" + rows), A)


# fit


def test_a_fit_finds_what_was_put_in_and_says_what_it_cannot_tell():
    true = A.replace({"friction.rim": 0.16, "balls[0].recess.rest_offset": 0.075, "bar.riding_force": 16.5})
    found = fit_knife(A, [trace_of(true, 5, climb=np.linspace(0.1, 6, 60)), pulls_of(true, 6)], noise={"force": 0.3})
    for path, value in found.values.items():
        assert abs(value.value - true.get(path)) <= value.doubt, path
    assert any("rest_offset" in said and "recess.diameter" in said for said in found.alike)
    assert found.explained > 0.01
    assert found.knife.doubts["friction.rim"] == pytest.approx(found.values["friction.rim"].doubt)


def test_a_fit_becomes_a_knife_file(tmp_path):
    found = fit_knife(A, [pulls_of(A, 7)], free=("friction.rim", "bar.riding_force"))
    dl.write_knife(found.knife, tmp_path / "fitted.toml")
    assert dl.read_knife(tmp_path / "fitted.toml") == found.knife


def test_readings_that_no_card_explains_are_said_to_be_so():
    crooked = pulls_of(A, 8)
    bent = replace(crooked, columns={"opening": crooked["opening"] + 9, "letting back": crooked["letting back"]})
    trace = trace_of(A, 8, climb=np.linspace(0.1, 6, 40))
    found = fit_knife(A, [trace, bent], free=("bar.riding_force",))
    assert found.explained < 0.01
    assert "cannot explain" in found.verdict


def test_readings_that_cannot_be_fitted():
    with pytest.raises(ReadingError, match="a fit takes"):
        fit_knife(A, [readings_from_text("reading [mm]\n1\n2")])
    with pytest.raises(ReadingError, match="readings for 4 numbers"):
        fit_knife(A, [pulls_of(A, 9, 1)], use_card=False)


# what to measure next


def test_the_cheapest_measurement_is_the_one_that_takes_most_off_per_minute():
    advice = next_measurement(A, "break_force")
    now = dl.budget(A, "break_force").doubt
    gains = [(now - each.result_doubt) / each.minutes for each in advice]
    assert gains == sorted(gains, reverse=True)
    best = advice[0]
    better = replace(A, doubts=A.doubts | {best.path: best.doubt_then})
    assert dl.budget(better, "break_force").doubt == pytest.approx(best.result_doubt, rel=1e-3)  # first order


def test_an_instrument_that_is_worse_than_what_is_known_is_not_advised():
    sure = replace(A, doubts=dict.fromkeys(A.doubts, 1e-4))
    assert next_measurement(sure, "break_force") == []
    assert all(each.doubt > 0 and each.minutes > 0 for each in INSTRUMENTS)
