"""What a lift trace tells of a knife that is known: over many seeds, within its own ±, with no more false alarms than stated (M1)."""

import numpy as np
import pytest

import detentlib as dl
from detentlib.bench.arcs import arcs_of, curve, gradient
from detentlib.bench.trace import lift_trace
from detentlib.readings import ReadingError, Readings, read_readings, readings_from_text
from detentlib.teach import invented
from tests.bench_readings import trace_of
from tests.knives import CARDS, FOLDER, A, B, C

READINGS = FOLDER.parent / "readings"
KNIVES = {"a": A, "b": B, "c": C, "card a": CARDS["A"], "card c": CARDS["C"]}
GIVE = ("bar.root_side", "bar.riding_force", "friction.rim")  # what a trace takes from the card
HEADER = "angle [deg], lift [mm]\n"


@pytest.fixture(scope="module")
def many():
    """Traces with 0.003 mm and 0.3° of noise, read: 200 seeds of A and of C, 40 of B, whose readings are those of A; some of the cards, whose bars give."""
    counts = {"a": 200, "b": 40, "c": 200, "card a": 50, "card c": 50}
    return {letter: [lift_trace(trace_of(KNIVES[letter], seed), KNIVES[letter]) for seed in range(count)] for letter, count in counts.items()}


@pytest.mark.parametrize("letter", KNIVES)
def test_the_contact_angle_lies_within_its_own_doubt(letter, many):
    felt = dl.feel(KNIVES[letter])
    true = felt.contact_deg[felt.rest_carrier]
    assert np.mean([abs(found.contact_deg.value - true) <= found.contact_deg.doubt for found in many[letter]]) >= 0.95


@pytest.mark.parametrize("letter", ["a", "b", "card a"])
def test_one_arc_is_not_taken_for_two(letter, many):
    assert np.mean([found.handover is not None for found in many[letter]]) <= 0.05


def test_the_chance_of_a_false_handover_is_as_stated(many):
    chances = np.array([found.chance for letter in "ab" for found in many[letter]])
    for stated in (0.02, 0.04, 0.1):
        assert np.mean(chances < stated) <= stated + 2 * np.sqrt(stated * (1 - stated) / chances.size)


def test_a_chamfer_that_looks_like_a_handover_is_told():
    soft = A.replace({"balls[0].recess.chamfer_width": 0.06})
    said = [found.verdict for found in (lift_trace(trace_of(soft, seed), soft) for seed in range(40)) if found.handover]
    assert said
    assert all("not sharp" in verdict for verdict in said)


@pytest.mark.parametrize("letter", ["c", "card c"])
def test_the_handover_of_c_is_found(letter, many):
    """Within its ± of the stretch on which both carry, as wide as the bar swings over sideways; on a stiff bar that is one angle."""
    seen, true = [found.handover for found in many[letter] if found.handover], dl.feel(KNIVES[letter]).handovers[0]
    assert len(seen) >= 0.9 * len(many[letter])
    inside = [abs(each.angle_deg.value - np.clip(each.angle_deg.value, true.start_deg, true.end_deg)) <= each.angle_deg.doubt for each in seen]
    assert np.mean(inside) >= 0.9  # a crossing of two curves is no straight line: a little less than 95 %
    assert all(each.slope_ratio > 1 and each.chance < 0.04 for each in seen)


@pytest.mark.parametrize("letter", ["a", "card a", "card c"])
def test_break_out_lies_within_its_own_doubt(letter, many):
    true = dl.feel(KNIVES[letter]).break_out_deg
    inside = [abs(found.break_out_deg.value - true) <= found.break_out_deg.doubt for found in many[letter]]
    assert np.mean(inside) >= 0.92  # 95 % of 200, less two standard deviations of the count


def test_few_readings_leave_two_arcs_open(many):
    assert np.mean([found.contact_deg.doubt < 0.5 or found.chance < 0.4 for found in many["a"]]) > 0.94


def test_the_doubt_is_no_larger_than_it_need_be(many):
    """Errors as shares of their ± would scatter by 1/1.96 = 0.51; over 200 seeds by 0.46 to 0.56. Rows on which two arcs are open are wider."""
    sure = [found for found in many["a"] if found.chance > 0.4]
    true = dl.feel(A).contact_deg[0]
    assert len(sure) > 150
    assert max(found.contact_deg.doubt for found in sure) < 0.5
    assert np.std([(found.contact_deg.value - true) / found.contact_deg.doubt for found in sure]) == pytest.approx(0.51, abs=0.06)


def test_noise_as_stated_is_explained(many):
    assert np.mean([found.explained < 0.01 for found in many["a"]]) <= 0.03


def test_the_noise_is_found_again_and_said(many):
    assert np.mean([found.lift_noise for found in many["a"]]) == pytest.approx(0.003, rel=0.03)
    assert np.mean([found.angle_noise for found in many["a"]]) == pytest.approx(0.3, rel=0.03)
    said = many["a"][0].smoothing
    assert "2 numbers drawn from 245 readings" in said
    assert "0.006 mm was taken" in said
    assert "0.6° was taken" in said


def test_the_smooth_curve_is_as_sure_as_it_says(many):
    """The curve against the true lift on the climb: its ± holds there too, and shrinks as more readings stand behind it."""
    inside, flat = [], []
    for found in many["a"]:
        if found.handover is None:
            on = (found.angle_deg > 1) & (found.angle_deg < 3.5)
            true = dl.sweep(A, found.angle_deg[on]).gap
            level = found.flat_level.value - dl.sweep(A, [6.0]).gap[0]
            # the curve of a reading is the mean over where its blade may have stood; between 1° and 3.5° that is the curve itself, bent by under 0.004 mm
            inside.append(np.mean(np.abs(found.fitted[on] - level - true) <= found.fitted_doubt[on] + 0.004))
            flat.append(found.averaged[found.angle_deg > 5.2].min())
    assert np.mean(inside) > 0.93
    assert min(flat) > 50


def test_noise_larger_than_stated_is_not_explained():
    angle, lift = invented.lift_trace_rows(A, 1)
    rough = lift + 0.006 * np.random.default_rng(2).standard_normal(lift.size)
    found = lift_trace(Readings("lift trace", {"angle": angle, "lift": rough}, {}, "rough"), A)
    assert found.explained < 0.01
    assert "do not explain this trace" in found.verdict
    assert found.lift_noise > 0.005


def test_a_floor_is_not_explained_by_arcs_or_said_to_look_like_two():
    floored = A.replace({"balls[0].recess.depth": 0.15})
    found = [lift_trace(trace_of(floored, seed), A) for seed in range(6)]
    assert all("a floor" in each.verdict or "the floor of its recess looks the same" in each.verdict for each in found)


def test_a_knife_that_gives_more_or_less_than_its_card_says_is_within_the_doubt_too():
    """Fifty knives that differ from the card in give, force and friction, as its ± say, each read with the card."""
    card, rng, inside = CARDS["A"], np.random.default_rng(8), []
    for seed in range(50):
        true = card.replace({path: card.get(path) + card.doubts[path] / 2 * rng.standard_normal() for path in GIVE})
        felt, found = dl.feel(true), lift_trace(trace_of(true, seed), card)
        pairs = ((found.contact_deg, felt.contact_deg[0]), (found.break_out_deg, felt.break_out_deg))
        inside.append([abs(seen.value - true_value) <= seen.doubt for seen, true_value in pairs])
    assert np.min(np.mean(inside, axis=0)) >= 0.89  # 95 % of 50, less two standard deviations of the count


def test_take_up_is_no_handover_and_no_wall():
    """Without noise: the lift stands still over the first 0.2°, and the trace still sees one arc, at the loaded contact angle."""
    card = CARDS["A"]
    felt, angle = dl.feel(card), np.linspace(0.0, 6.0, 241)
    lift = dl.sweep(card, angle).gap
    assert np.ptp(lift[angle < felt.take_up_deg]) < 1e-9
    assert lift[angle > 1.5 * felt.take_up_deg][0] - lift[0] > 0.005
    found = lift_trace(Readings("lift trace", {"angle": angle, "lift": lift}, {}, "no noise"), card, lift_doubt=0.001, angle_doubt=0.01)
    assert found.handover is None
    assert found.contact_deg.value == pytest.approx(felt.contact_deg[0], abs=0.1)
    assert found.break_out_deg.value == pytest.approx(felt.break_out_deg, abs=0.01)
    assert found.explained > 0.5


@pytest.mark.parametrize("letter", "abc")
def test_the_stored_traces_tell_what_was_put_in(letter):
    knife = CARDS[letter.upper()]
    felt, found = dl.feel(knife), lift_trace(read_readings(READINGS / f"lift-trace-{letter}.csv"), knife)
    assert abs(found.contact_deg.value - felt.contact_deg[felt.rest_carrier]) <= found.contact_deg.doubt
    assert abs(found.break_out_deg.value - felt.break_out_deg) <= 2 * found.break_out_deg.doubt
    assert (found.handover is not None) == (letter == "c")
    assert found.resting_ball == felt.rest_carrier
    if letter == "c":
        assert abs(found.handover.angle_deg.value - felt.handovers[0].angle_deg) <= found.handover.angle_deg.doubt
        assert found.handover.slope_ratio > 1
        assert found.verdict.startswith("two arcs: one ball hands over to the other at")
    if letter != "a":
        assert found.run_off.drop.value == pytest.approx(0.0445, abs=found.run_off.drop.doubt)
        assert found.run_off.angle_deg.value == pytest.approx(168, abs=found.run_off.angle_deg.doubt)


def test_the_drop_at_run_off_lies_within_its_own_doubt():
    """(p1 − H) − (p2 − H) L1/L2 = 0.0445 mm, not the 0.0508 mm between the balls as pressed."""
    far = np.arange(150.0, 178.5, 0.5)
    found = [lift_trace(trace_of(B, seed, far=far), B).run_off for seed in range(24)]
    assert all(found)
    assert np.mean([abs(each.drop.value - 0.0445) <= each.drop.doubt for each in found]) >= 0.86  # 95 % of 24, less two standard deviations of the count
    assert np.mean([abs(each.angle_deg.value - 168) <= each.angle_deg.doubt for each in found]) >= 0.86


@pytest.mark.parametrize("protrusion", [0.30, 0.36, 0.42])
def test_with_one_ball_the_bar_drops_by_its_protrusion(protrusion):
    knife = A.replace({"balls[0].protrusion": protrusion, "balls[0].recess.diameter": 1.2})
    found = lift_trace(trace_of(knife, 3, far=np.arange(150.0, 178.5, 0.5)), knife).run_off
    assert abs(found.drop.value - protrusion) <= 1.5 * found.drop.doubt


def test_a_trace_that_ends_on_the_flat_has_no_run_off():
    assert lift_trace(trace_of(A, 4, far=np.arange(100.0, 160.0, 2.0)), A).run_off is None
    assert lift_trace(trace_of(A, 4), A).run_off is None


def test_where_neither_can_be_ruled_out_the_doubt_covers_both(many):
    open_ = [found for found in many["c"] if 0.01 < found.chance < 0.4]
    assert 10 < len(open_) < 60
    assert all("not ruled out" in found.verdict and found.contact_deg.doubt > 3.5 for found in open_)  # 49° for one arc, 42° for two


def test_the_slope_times_the_bar_force_is_the_frictionless_torque(many):
    """ρ tan φ = 9.25 mm a radian; with 14.21 N that is 131.5 N·mm."""
    assert np.mean([found.slope_at_rest.value for found in many["a"] if found.resting_ball == 0]) * 14.21 == pytest.approx(131.5, rel=0.01)


def test_an_indicator_beside_the_ball_is_corrected_by_its_lever():
    angle, lift = invented.lift_trace_rows(A, 3)
    beside = Readings("lift trace", {"angle": angle, "lift": 0.8 * lift}, {}, "beside")
    over = lift_trace(Readings("lift trace", {"angle": angle, "lift": lift}, {}, "over"), A)
    found = lift_trace(beside, A, hinge_ratio=0.8, lift_doubt=0.006 * 0.8)
    assert found.seat_lift == pytest.approx(over.seat_lift, rel=1e-6)


def test_rows_in_any_order_and_angles_read_twice_are_one_trace():
    trace = trace_of(A, 6)
    order = np.random.default_rng(1).permutation(len(trace))
    mixed = Readings(trace.kind, {name: np.round(column, 1 if name == "angle" else 4)[order] for name, column in trace.columns.items()}, {}, "mixed")
    straight = Readings(trace.kind, {name: np.round(column, 1 if name == "angle" else 4) for name, column in trace.columns.items()}, {}, "straight")
    assert np.unique(mixed["angle"]).size < len(mixed) / 2
    found, same = lift_trace(mixed, A), lift_trace(straight, A)
    assert found.contact_deg == pytest.approx(same.contact_deg, rel=1e-6)
    assert abs(found.contact_deg.value - dl.feel(A).contact_deg[0]) < 1


@pytest.mark.parametrize(("knife", "aside"), [(C, []), (CARDS["C"], [1.1, 0.15])])
def test_the_gradient_of_the_arcs_is_their_slope(knife, aside):
    arcs, numbers, theta = arcs_of(knife), np.array([0.2, 0.6, 0.16, 0.53, *aside]), np.radians(np.array([0.0, 0.02, 1.0, 2.5, 3.9, 5.0]))
    found = gradient(theta, numbers, arcs)
    for i, step in enumerate(1e-7 * np.eye(numbers.size)):
        assert found[:, i] == pytest.approx((curve(theta, numbers + step, arcs) - curve(theta, numbers - step, arcs)) / 2e-7, abs=1e-5)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("0, 0.1", "has 1 different angles below 20°. A trace needs eight or more"),
        ("0, 0.1\n1, 0.2", "A trace needs eight or more"),
        ("0, 0.1\n" * 50, "has 1 different angles"),
        ("\n".join(f"{2 + k / 5}, 0.2" for k in range(12)), "starts at 2"),
        ("\n".join(f"{k / 2}, {0.5 - k / 100}" for k in range(20)), "the bar does not rise"),
        ("\n".join(f"{k / 5}, {k * 0.02}" for k in range(10)), "ends at 1.8°, still on the climb"),
    ],
)
def test_traces_that_cannot_be(rows, said):
    with pytest.raises(ReadingError, match=said):
        lift_trace(readings_from_text(HEADER + rows), A)


def test_what_else_cannot_be():
    with pytest.raises(ReadingError, match="where a lift trace is wanted"):
        lift_trace(readings_from_text("reading [mm]\n1\n2"), A)
    for name in ("hinge_ratio", "lift_doubt", "angle_doubt"):
        with pytest.raises(ValueError, match=f"{name} = 0.*: must be greater than zero"):
            lift_trace(trace_of(A, 1), A, **{name: 0})
