"""What a lift trace tells of a knife that is known, with no more false alarms than stated (M1); how often its ±
hold: tests/coverage.py.
"""

import re
from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

import detentlib as dl
from detentlib.measure.readings import ReadingError, Readings, read_readings, readings_from_text
from detentlib.measure.trace import lift_trace
from detentlib.say.measured import trace_words
from tests import invented
from tests.bench_readings import trace_of
from tests.invented import FAR, READINGS
from tests.knives import CARDS, A, B, C
from tests.readings_made import CLIMB, ON_STOP

KNIVES = {"a": A, "b": B, "c": C, "card a": CARDS["A"], "card c": CARDS["C"]}
HEADER = "angle [deg], lift [mm]\n"


SHARP = {f"balls[0].recess.{name}": 0.002 for name in ("chamfer_width", "edge_radius")}


def sure(knife):
    """The card with rims that were seen to be sharp."""
    return replace(knife, doubts=knife.doubts | SHARP)


@pytest.fixture(scope="module")
def many():
    """Traces with 0.003 mm and 0.3° of noise, read: of A and C whose bars are stiff, and of the cards, whose bars
    give.
    """
    counts = {"a": 12, "c": 12, "card a": 6, "card c": 6}
    return {
        letter: [lift_trace(trace_of(KNIVES[letter], seed), sure(KNIVES[letter])) for seed in range(count)]
        for letter, count in counts.items()
    }


@pytest.mark.checked_by("a simulator", "readings made with a known truth", "lift_trace")
@pytest.mark.parametrize("letter", ["a", "c", "card a", "card c"])
def test_contact_angle_and_break_out_lie_within_their_own_doubt(letter, many):
    """At most one of twelve outside: 19 of 20 lie inside."""
    felt = dl.feel(KNIVES[letter])
    pairs = (("contact_deg", felt.contact_deg[felt.rest_carrier]), ("break_out_deg", felt.break_out_deg))
    for name, true in pairs:
        values = [getattr(found, name) for found in many[letter]]
        assert sum(abs(value.value - true) > value.doubt for value in values) <= 1, name


@pytest.mark.parametrize("letter", ["a", "card a"])
def test_one_arc_is_not_taken_for_two(letter, many):
    assert sum(found.handover is not None for found in many[letter]) <= 1


@pytest.mark.parametrize("letter", ["c", "card c"])
def test_the_handover_of_c_is_found(letter, many):
    """Within its ± of the stretch on which both carry, as wide as the bar swings over sideways; on a stiff bar that
    is one angle.
    """
    seen, true = [found.handover for found in many[letter] if found.handover], dl.feel(KNIVES[letter]).handovers[0]
    assert len(seen) >= 0.75 * len(many[letter])  # of 40 such traces 30 were seen
    inside = [
        abs(each.angle_deg.value - np.clip(each.angle_deg.value, true.start_deg, true.end_deg)) <= each.angle_deg.doubt
        for each in seen
    ]
    assert sum(inside) >= len(inside) - 1
    assert all(each.slope_ratio > 1 and each.chance < 0.1 for each in seen)
    assert all("better than one ball" in found.verdict for found in many[letter] if found.handover)


@pytest.mark.parametrize("seed", [21, 25])
def test_a_second_ball_that_the_noise_hides_is_within_the_doubt(seed):
    """One arc explains these traces of C as well as two; on A's card, which has one ball, the same readings
    are sure of it.
    """
    true, found = dl.feel(C), lift_trace(trace_of(C, seed), sure(C))
    assert found.handover is None
    assert found.chance > 0.4
    assert abs(found.contact_deg.value - true.contact_deg[true.rest_carrier]) <= found.contact_deg.doubt
    assert "so each ± covers both" in found.verdict
    alone = lift_trace(trace_of(C, seed), sure(A))
    assert alone.contact_deg.doubt < found.contact_deg.doubt / 10


def test_a_rim_of_which_the_card_says_nothing_widens_the_contact_angle(many):
    """A chamfer of a few hundredths draws nearly the same curve, and touches some degrees lower."""
    known, unknown = many["a"][0], lift_trace(trace_of(A, 0), A)
    assert known.contact_deg.doubt < 0.6
    assert unknown.contact_deg.doubt > known.contact_deg.doubt


@pytest.mark.parametrize("soft", [{"chamfer_width": 0.033}, {"edge_radius": 0.02}])
def test_a_rim_that_is_not_sharp_is_within_the_doubt_and_no_second_ball(soft):
    true = A.replace({f"balls[0].recess.{name}": size for name, size in soft.items()})
    found = [lift_trace(trace_of(true, seed), A) for seed in range(3)]
    assert all(abs(each.contact_deg.value - dl.feel(true).contact_deg[0]) <= each.contact_deg.doubt for each in found)
    assert not any(each.handover for each in found)


@pytest.mark.parametrize("bevel", [42.0, 49.0])
def test_a_ball_on_a_chamfer_touches_at_an_angle_that_nobody_measured(bevel):
    """The card says 45°, and not how it knows: no trace says it better."""
    width = "balls[0].recess.chamfer_width"
    card = A.replace({width: 0.1, "balls[0].recess.diameter": 1.2})
    card = replace(card, doubts=card.doubts | {width: 0.02, "balls[0].recess.edge_radius": 0.002})
    true = card.replace({"balls[0].recess.chamfer_deg": bevel})
    found = lift_trace(trace_of(true, 0), card).contact_deg
    assert abs(found.value - dl.feel(true).contact_deg[0]) <= found.doubt < 10
    seen = lift_trace(
        trace_of(true, 0), replace(true, doubts=card.doubts | {"balls[0].recess.chamfer_deg": 0.5})
    ).contact_deg
    assert seen.doubt < found.doubt / 4


def test_a_zero_that_is_off_and_a_hand_that_drifts_are_no_second_ball():
    """Climb readings 0.3° too high; and errors that hang together over ten readings, which the trace sees."""
    trace = trace_of(A, 4)
    off = replace(
        trace, columns={"angle": np.where(trace["angle"] == 0, 0.0, trace["angle"] + 0.3), "lift": trace["lift"]}
    )
    found, true = lift_trace(off, sure(A)), dl.feel(A).contact_deg[0]
    assert found.handover is None
    assert abs(found.contact_deg.value - true) <= found.contact_deg.doubt
    assert "the zero of the protractor off by 0." in found.rival
    kept, rng = np.exp(-0.1), np.random.default_rng(7)
    errors = signal.lfilter([np.sqrt(1 - kept**2)], [1, -kept], rng.standard_normal(len(trace) + 50))[50:]
    true_angle = np.concatenate([np.zeros(ON_STOP), CLIMB])
    angle = np.where(true_angle > 0, true_angle + 0.3 * errors, 0.0)
    lift = dl.sweep(A, true_angle).gap + 0.003 * rng.standard_normal(true_angle.size)
    drifting = lift_trace(Readings("lift trace", {"angle": angle, "lift": lift}, {}, "drifting"), sure(A))
    assert "angle errors that drift together" in drifting.rival
    assert drifting.handover is None
    assert "this trace cannot tell one ball from two" in drifting.verdict
    assert f"handover: {drifting.untold}" in trace_words(drifting)


def test_too_few_readings_say_so_and_how_many_more():
    """29 rows cannot show a second ball that touches 8° lower: some hundred more would."""
    short = lift_trace(trace_of(C, 1, climb=np.linspace(0.1, 6, 24)), sure(C))
    told = re.search(r"too few readings to tell a second ball: about (\d+) more, (\d+) minutes", short.verdict)
    assert told
    assert 50 < int(told[1]) < 600
    assert abs(short.contact_deg.value - dl.feel(C).contact_deg[1]) <= short.contact_deg.doubt
    assert "too few" not in lift_trace(trace_of(A, 1), sure(A)).verdict


def test_the_noise_is_found_again_and_said(many):
    assert np.mean([found.lift_noise for found in many["a"]]) == pytest.approx(0.003, rel=0.03)
    assert np.mean([found.angle_noise for found in many["a"]]) == pytest.approx(
        0.3, rel=0.04
    )  # two standard deviations of twelve traces
    said = many["a"][0].smoothing
    assert "5 numbers drawn from 245 readings" in said
    assert "0.006 mm was taken" in said
    assert "0.6° was taken" in said


def test_the_smooth_curve_is_as_sure_as_it_says(many):
    """The curve against the true lift on the climb: its ± holds there too, and shrinks as more readings stand behind
    it.
    """
    inside, flat = [], []
    for found in many["a"]:
        if found.handover is None:
            on = (found.angle_deg > 1) & (found.angle_deg < 3.5)
            true = dl.sweep(A, found.angle_deg[on]).gap
            level = found.flat_level.value - dl.sweep(A, [6.0]).gap[0]
            # the curve of a reading is the mean over where its blade may have stood; between 1° and 3.5° that is the
            # curve itself, bent by under 0.004 mm
            inside.append(np.mean(np.abs(found.fitted[on] - level - true) <= found.fitted_doubt[on] + 0.004))
            flat.append(found.averaged[found.angle_deg > 5.2].min())
    assert np.mean(inside) > 0.93
    assert min(flat) > 50


def test_noise_larger_than_stated_is_not_explained():
    angle, lift = trace_of(A, 1).columns.values()
    rough = lift + 0.006 * np.random.default_rng(2).standard_normal(lift.size)
    found = lift_trace(Readings("lift trace", {"angle": angle, "lift": rough}, {}, "rough"), A)
    assert found.explained < 0.01
    assert "do not explain this trace" in found.verdict
    assert found.lift_noise > 0.005


def test_a_floor_is_not_explained_by_arcs_or_said_to_look_like_two():
    floored = A.replace({"balls[0].recess.depth": 0.15})
    found = [lift_trace(trace_of(floored, seed), A) for seed in range(3)]
    assert all("a floor" in each.verdict or "the floor of its recess looks the same" in each.verdict for each in found)


def test_take_up_is_no_handover_and_no_wall():
    """Without noise: the lift stands still over the first 0.2°, and the trace still sees one arc, at the loaded
    contact angle.
    """
    card = CARDS["A"]
    felt, angle = dl.feel(card), np.linspace(0.0, 6.0, 241)
    lift = dl.sweep(card, angle).gap
    assert np.ptp(lift[angle < felt.take_up_deg]) < 1e-9
    assert lift[angle > 1.5 * felt.take_up_deg][0] - lift[0] > 0.005
    found = lift_trace(
        Readings("lift trace", {"angle": angle, "lift": lift}, {}, "no noise"), card, lift_doubt=0.001, angle_doubt=0.01
    )
    assert found.handover is None
    assert found.contact_deg.value == pytest.approx(felt.contact_deg[0], abs=0.1)
    assert found.break_out_deg.value == pytest.approx(felt.break_out_deg, abs=0.01)
    assert found.explained > 0.5


@pytest.mark.checked_by("a simulator", "spheres, springs and Coulomb's law", "lift_trace")
@pytest.mark.parametrize("letter", "abc")
def test_the_stored_traces_tell_what_was_put_in(letter):
    """Against the simulator, whose balls stick and slide: angle, break-out, zero of the protractor, ball at rest,
    handover and run-off.
    """
    knife, run = CARDS[letter.upper()], invented.runs()[letter]
    found = lift_trace(read_readings(READINGS / f"lift-trace-{letter}.csv"), knife)
    for name, true in (
        ("contact_deg", run.contact_deg),
        ("break_out_deg", run.break_out_deg),
        ("zero_deg", invented.FAULTS["zero"]),
    ):
        value = getattr(found, name)
        assert abs(value.value - true) <= value.doubt, name
    assert (found.handover is not None) == (letter == "c")
    assert found.resting_ball == (1 if letter == "c" else 0)
    if letter == "c":
        start, end = run.shared[[0, -1]]
        angle = found.handover.angle_deg
        assert start - angle.doubt <= angle.value <= end + angle.doubt
        assert found.handover.slope_ratio > 1
        assert found.verdict.startswith("two arcs: one ball hands over to the other at")
    # (p1 − H) − (p2 − H) L1/L2 = 0.0445 mm; with one ball the face of the bar comes down on the tang
    assert found.run_off.drop.value == pytest.approx(0.420 if letter == "a" else 0.0445, abs=found.run_off.drop.doubt)
    assert found.run_off.angle_deg.value == pytest.approx(168, abs=found.run_off.angle_deg.doubt)


def test_the_drop_at_run_off_lies_within_its_own_doubt():
    """(p1 − H) − (p2 − H) L1/L2 = 0.0445 mm, not the 0.0508 mm between the balls as pressed."""
    found = [lift_trace(trace_of(B, seed, far=FAR), B).run_off for seed in range(8)]
    assert all(found)
    assert (
        np.mean([abs(each.drop.value - 0.0445) <= each.drop.doubt for each in found]) >= 0.86
    )  # at most one of eight outside
    assert np.mean([abs(each.angle_deg.value - 168) <= each.angle_deg.doubt for each in found]) >= 0.86


@pytest.mark.parametrize("protrusion", [0.30, 0.36, 0.42])
def test_with_one_ball_the_bar_drops_by_its_protrusion(protrusion):
    knife = A.replace({"balls[0].protrusion": protrusion, "balls[0].recess.diameter": 1.2})
    found = lift_trace(trace_of(knife, 3, far=FAR), knife).run_off
    assert abs(found.drop.value - protrusion) <= 1.5 * found.drop.doubt


def test_a_trace_that_ends_on_the_flat_has_no_run_off():
    assert lift_trace(trace_of(A, 4, far=np.arange(100.0, 160.0, 2.0)), A).run_off is None
    assert lift_trace(trace_of(A, 4), A).run_off is None


def test_the_slope_times_the_bar_force_is_the_frictionless_torque(many):
    """ρ tan φ = 9.25 mm a radian; with 14.21 N that is 131.5 N·mm."""
    assert np.mean(
        [found.slope_at_rest.value for found in many["a"] if found.resting_ball == 0]
    ) * 14.21 == pytest.approx(131.5, rel=0.01)


def test_an_indicator_beside_the_ball_is_corrected_by_its_lever():
    angle, lift = trace_of(A, 3).columns.values()
    beside = Readings("lift trace", {"angle": angle, "lift": 0.8 * lift}, {}, "beside")
    over = lift_trace(Readings("lift trace", {"angle": angle, "lift": lift}, {}, "over"), A)
    found = lift_trace(beside, A, hinge_ratio=0.8, lift_doubt=0.006 * 0.8)
    assert found.seat_lift == pytest.approx(over.seat_lift, rel=1e-6)


def test_rows_in_any_order_and_angles_read_twice_are_one_trace():
    trace = trace_of(A, 6)
    order = np.random.default_rng(1).permutation(len(trace))
    mixed = Readings(
        trace.kind,
        {name: np.round(column, 1 if name == "angle" else 4)[order] for name, column in trace.columns.items()},
        {},
        "mixed",
    )
    straight = Readings(
        trace.kind,
        {name: np.round(column, 1 if name == "angle" else 4) for name, column in trace.columns.items()},
        {},
        "straight",
    )
    assert np.unique(mixed["angle"]).size < len(mixed) / 2
    found, same = lift_trace(mixed, sure(A)), lift_trace(straight, sure(A))
    assert found.contact_deg == pytest.approx(same.contact_deg, rel=1e-3)
    assert abs(found.contact_deg.value - dl.feel(A).contact_deg[0]) < 1


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
