"""What the hand and the gauge feel: the demo numbers, and every search against a fine grid."""

import tracemalloc

import numpy as np
import pytest

import detentlib as dl
from detentlib.mechanics import carry
from tests.knives import FELT, FRICTIONLESS, A, B, C, D, E, base, measured, numbers_at_random, one_of
from tests.referee import Reckoned


def frictionless(knife, **changes):
    return dl.feel(knife.replace({**FRICTIONLESS, **changes}))


def test_demo_knife_a():
    feel = dl.feel(A)
    assert feel.rim_gap[0] == pytest.approx(0.6004, abs=5e-5)
    assert feel.contact_deg[0] == pytest.approx(49.15, abs=0.005)
    assert feel.seat_depth[0] == pytest.approx(0.2746, abs=5e-5)
    assert feel.rate == pytest.approx(10.30, abs=0.005)
    assert (feel.rest_load, feel.ride_load) == pytest.approx((14.21, 17.04), abs=0.005)
    assert frictionless(A).break_torque == pytest.approx(131.5, abs=0.05)
    assert feel.break_torque == pytest.approx(168.5, abs=0.05)
    assert feel.break_force == pytest.approx(12.04, abs=0.005)
    assert feel.break_force / 4.4482216152605 == pytest.approx(2.71, abs=0.005)
    assert feel.letback_force == pytest.approx(7.39, abs=0.005)
    assert feel.barrier == pytest.approx(4.290, abs=5e-4)
    assert feel.break_out_deg == pytest.approx(4.30, abs=0.005)
    assert (feel.gauge_break_force, feel.gauge_letback_force) == pytest.approx((12.25, 7.18), abs=0.005)
    assert (feel.relief_stress_rest, feel.relief_stress_ride) == pytest.approx((397, 476), abs=0.5)
    assert feel.draw_in_deg == pytest.approx(3.5, abs=0.05)
    assert feel.snap_ratio == pytest.approx(0.903, abs=5e-4)
    assert feel.stud_break_force == pytest.approx(feel.break_torque / 21)
    assert (feel.rest_deg, feel.peak_deg, feel.rest_carrier, feel.handovers, feel.stall_pockets) == (0, 0, 0, (), ())


def test_snap_ratio_with_pivot_drag():
    """Counting the pivot's drag on both sides it is 88.7 %."""
    feel = dl.feel(A)
    drag = 0.12 * 17.04 * 8.001
    assert dl.formulas["F9"](peak=feel.break_torque, drag=drag) == pytest.approx(feel.snap_ratio)
    assert dl.formulas["F9"](peak=feel.break_torque + 3, drag=drag + 3) == pytest.approx(0.887, abs=5e-4)


def test_dead_band():
    """The blade draws in until 0.095 mm before the rim ends (0.112 with pivot drag)."""
    for drag, band in ((0.0, 0.095), (3.0, 0.112)):
        feel = dl.feel(A.replace({"friction.pivot_torque": drag}))
        travel = np.radians(feel.break_out_deg - feel.draw_in_deg) * 8.001
        assert travel == pytest.approx(band, abs=5e-4)
        load = 17.04  # the seat is nearly flat there
        assert travel == pytest.approx(
            dl.formulas["F5a"](ball_radius=0.79375, edge_radius=0.0, mu=0.12, drag=drag, load=load, track_radius=8.001),
            abs=3e-4,
        )


def test_rounded_rim_hits_harder():
    sharp, rounded = dl.feel(A), dl.feel(A.replace({"balls[0].recess.edge_radius": 0.05}))
    assert rounded.contact_deg[0] == pytest.approx(50.43, abs=0.005)
    assert frictionless(A, **{"balls[0].recess.edge_radius": 0.05}).break_torque / 131.5 == pytest.approx(
        1.022, abs=1e-3
    )
    assert rounded.barrier / sharp.barrier == pytest.approx(1.10, abs=5e-3)


def test_light_chamfer_hardly_weakens_and_a_wide_one_caps():
    """A chamfer of 0.05 mm cut into A's rim takes 3.6 % off the peak."""
    light = frictionless(A, **{"balls[0].recess.chamfer_width": 0.05})
    assert light.break_torque / 131.5 == pytest.approx(1 - 0.036, abs=1e-3)
    wide = dl.sweep(
        A.replace(
            {"balls[0].recess.chamfer_width": 0.4, "balls[0].recess.diameter": 0.6, "balls[0].recess.chamfer_deg": 30.0}
        )
    )
    assert wide.slope.max() == pytest.approx(np.tan(np.radians(30)), rel=1e-4)


def test_sideways_give_with_stripped_part_offset():
    """148 N·mm where the track runs at 45° to the bar, up to 161 where the ball gives way to the middle of its
    recess.
    """
    soft = frictionless(A, **{"bar.side_compliance": 0.004, "balls[0].track_to_bar_deg": 45.0})
    assert soft.break_torque == pytest.approx(148, abs=0.5)
    centred = frictionless(A, **{"bar.side_compliance": 0.0055})
    assert centred.break_torque == pytest.approx(161, abs=0.5)
    assert centred.rim_gap[0] == pytest.approx(0.6604)


def test_a_ball_given_way_to_the_middle_is_held_by_the_give_alone():
    """At rest the stop only feels the bar bent sideways by the rest offset; the peak comes when the ball starts up
    its rim.
    """
    feel = frictionless(A, **{"bar.side_compliance": 0.0055})
    assert feel.letback_force * 14 == pytest.approx(0.060 / 0.0055 * 8.001, rel=1e-3)
    push = feel.rest_load * np.tan(np.radians(feel.contact_deg[0]))
    assert feel.peak_deg == pytest.approx(np.degrees((0.0055 * push - 0.060) / 8.001), rel=5e-3)
    assert feel.break_torque == pytest.approx(push * 8.001, rel=1e-3)


@pytest.mark.parametrize(("friction", "peak"), [({}, 0.127), (FRICTIONLESS, 0.137)])
def test_ring_seat_a_little_off_track_peaks_after_the_stop(friction, peak):
    """Slope nothing at rest, peak about 0.14° later, between any two angles of a plain grid."""
    knife = A.replace({"balls[0].recess.rest_offset": 0.0, "balls[0].recess.off_track": 0.005, **friction})
    fine = dl.sweep(knife, np.linspace(0, 0.4, 40_001))
    feel = dl.feel(knife)
    assert feel.peak_deg == pytest.approx(fine.angle_deg[fine.torque.argmax()], abs=1e-3)
    assert feel.peak_deg == pytest.approx(peak, abs=2e-3)
    assert fine.slope[0] == pytest.approx(0, abs=1e-12)
    assert feel.break_torque == pytest.approx(fine.torque.max(), rel=1e-8)


def test_ring_seat_jumps():
    """In the middle of its recess the ball meets the full slope at once."""
    feel = dl.feel(A.replace({"balls[0].recess.rest_offset": 0.0}))
    assert feel.peak_deg == 0
    assert feel.break_torque > dl.feel(A).break_torque


def test_two_way_pull_gives_the_friction_back():
    feel = dl.feel(A)
    mu = dl.formulas["F6"](
        opening=feel.break_torque, letback=feel.letback_force * 14, phi=np.radians(feel.contact_deg[0])
    )
    assert mu == pytest.approx(0.120, abs=1e-6)


@pytest.mark.parametrize(("late", "low", "mu"), [(0.1, 0.04, 0.13), (0.5, 0.19, 0.17), (1.0, 0.34, 0.22)])
def test_letback_read_late_reads_low_and_friction_high(late, low, mu):
    feel, letback = dl.feel(A), dl.sweep(A, [late], "closing").torque[0]
    assert 1 - letback / (feel.letback_force * 14) == pytest.approx(low, abs=0.005)
    assert dl.formulas["F6"](
        opening=feel.break_torque, letback=letback, phi=np.radians(feel.contact_deg[0])
    ) == pytest.approx(mu, abs=0.006)


def test_self_lock_at_the_demo_friction():
    assert np.degrees(dl.formulas["F3"](mu=0.12)) == pytest.approx(83.2, abs=0.05)


def test_loaded_pivot_adds_drag_to_the_gauge_only():
    plain = dl.feel(A)
    loaded = dl.feel(
        A.replace(
            {"friction.washer": 0.12, "friction.washer_radius": 4.0, "friction.pin": 0.1, "friction.pin_radius": 2.4}
        )
    )
    assert loaded.break_force == plain.break_force
    more = 0.12 * 4.0 * plain.rest_load + 0.1 * 2.4 * plain.rest_load * np.tan(np.radians(plain.contact_deg[0]))
    assert (loaded.gauge_break_force - plain.gauge_break_force) * 14 == pytest.approx(more)
    assert (plain.gauge_letback_force - loaded.gauge_letback_force) * 14 == pytest.approx(more)
    assert 8 < more < 12


def test_barrier_is_the_energy_between_riding_and_rest():
    run = dl.sweep(C, [0.0, 20.0])
    assert dl.feel(C).barrier == pytest.approx(run.energy[1] - run.energy[0])


def test_repr_is_one_line():
    assert repr(dl.feel(A)) == "<Feel: break force 12.04 N, let-back 7.39 N, barrier 4.29 mJ>"


# every search against a fine grid


def sample(balls, count, seed):
    """Random knives in one, how they feel, and which of them can work without the bar face landing first."""
    numbers = numbers_at_random(count, seed, balls)
    knife = base(balls).with_arrays(numbers)
    many = dl.feel_many(knife)
    theta = np.radians(many.values["break_out_deg"])[:, None] * np.linspace(0, 1, 65)
    return knife, numbers, many, many.possible & (Reckoned(knife, theta).gap.min(axis=1) > 0)


def chunks(knife, rows, size=100):
    for part in np.array_split(rows, max(1, len(rows) // size)):
        yield part, knife.take(part)


@pytest.mark.checked_by("brute force", "a fine grid of balances written out", "feel_many")
@pytest.mark.parametrize(("balls", "count"), [(1, 1500), (2, 1500)])
def test_peak_of_thousands_of_knives_against_a_fine_grid(balls, count):
    knife, numbers, many, sound = sample(balls, count, balls)
    assert sound.sum() > count / 3
    for rows, some in chunks(knife, np.flatnonzero(sound)):
        last = np.radians(many.values["break_out_deg"][rows])[:, None]
        theta = last * np.concatenate([np.linspace(0, 0.2, 1200), np.linspace(0.2, 1, 800)])
        highest = Reckoned(some, theta).torque(numbers["friction.rim"][rows]).max(axis=1)
        found = many.values["break_torque"][rows]
        assert np.all(found > highest * (1 - 2e-3))  # the arc of the track is left out of the friction (F2b)
        assert np.all(found < highest * 1.004)


@pytest.mark.checked_by("brute force", "a fine grid of balances written out", "feel_many")
@pytest.mark.parametrize(("balls", "count"), [(1, 400), (2, 600)])
def test_draw_in_against_a_fine_grid(balls, count):
    knife, numbers, many, sound = sample(balls, count, balls + 7)
    for rows, some in chunks(knife, np.flatnonzero(sound)):
        last = np.radians(many.values["break_out_deg"][rows])[:, None]
        resting = np.radians(many.values["rest_deg"][rows])[:, None]
        theta = np.sort(np.concatenate([last * np.linspace(0, 1, 2001), resting + 1e-9], axis=1), axis=1)
        pulls = Reckoned(some, theta).torque(-numbers["friction.rim"][rows]) > base(balls).friction.pivot_torque
        pulls |= theta <= resting
        stops = np.where(
            pulls.all(axis=1), last[:, 0], np.take_along_axis(theta, pulls.argmin(axis=1)[:, None], axis=1)[:, 0]
        )
        found = np.radians(many.values["draw_in_deg"][rows])
        assert np.abs(found - stops) == pytest.approx(0, abs=2 * np.max(last) / 2000)


def test_a_narrow_dip_of_the_pull_ends_the_draw_in():
    """On the cone of a chamfer the pull is weakest where the lower edge takes over: a drag just above that stalls
    the blade there, and nowhere near it.
    """
    for width, angle_deg in ((0.1, 25.0), (0.08, 30.0)):
        chamfer = {"balls[0].recess.chamfer_width": width, "balls[0].recess.chamfer_deg": angle_deg}
        knife = A.replace(chamfer | {"friction.pivot_torque": 0.0, "friction.rim": 0.08})
        turned = np.linspace(0, dl.feel(knife).break_out_deg, 20_001)
        pull = dl.sweep(knife, turned, "closing").torque
        weakest = 1 + np.flatnonzero((pull[1:-1] < pull[:-2]) & (pull[1:-1] < pull[2:])).item()
        drag = pull[weakest].item() + 0.1
        stalls = turned[pull <= drag]
        dip = stalls[stalls < turned[weakest] + 0.2]
        assert np.ptp(dip) < turned[-1] / 48
        felt = dl.feel(knife.replace({"friction.pivot_torque": drag}))
        assert felt.draw_in_deg == pytest.approx(dip[0], abs=2 * turned[1])
        assert felt.stall_pockets[0][0] == pytest.approx(dip[-1], abs=2 * turned[1])
        drags = knife.with_arrays({"friction.pivot_torque": np.array([[0.0], [drag]])})
        assert dl.feel_many(drags).values["draw_in_deg"][1] == pytest.approx(felt.draw_in_deg, abs=1e-7)


@pytest.mark.checked_by("brute force", "a fine grid of balances written out", "feel_many")
def test_rest_against_a_fine_grid():
    knife, _, many, sound = sample(2, 400, 31)
    assert sound.sum() > 100
    for rows, some in chunks(knife, np.flatnonzero(sound)):
        theta = np.radians(many.values["break_out_deg"][rows])[:, None] * np.linspace(0, 1, 2001)
        closing = Reckoned(some, theta).torque(0.0) > 0
        first = np.take_along_axis(theta, closing.argmax(axis=1)[:, None], axis=1)[:, 0]
        assert np.all(np.radians(many.values["rest_deg"][rows]) <= first + 1e-9)
        assert np.all(np.radians(many.values["rest_deg"][rows]) >= first - theta[:, 1] - 1e-9)


def test_pockets_against_a_fine_grid():
    for knife in (
        D,
        B.replace({"balls[1].track_radius": 11.5, "balls[1].hinge_distance": 32.0, "balls[1].recess.diameter": 1.2}),
    ):
        feel = dl.feel(knife)
        run = dl.sweep(knife, np.linspace(0, feel.break_out_deg, 40_001), "closing")
        pulls = run.torque > knife.friction.pivot_torque
        turns = run.angle_deg[1:][np.diff(pulls)]
        assert turns[0] == pytest.approx(feel.draw_in_deg, abs=5e-4)
        assert turns[1:] == pytest.approx(np.ravel(feel.stall_pockets), abs=5e-4)


# many at once


@pytest.mark.parametrize("balls", [1, 2])
def test_many_are_each_one_by_one(balls):
    numbers, refused = numbers_at_random(40, 5, balls), 0
    numbers["balls[0].recess.diameter"] *= 1.2  # some too large for their ball
    many = dl.feel_many(base(balls).with_arrays(numbers))
    for row in range(40):
        single = one_of(base(balls), numbers, row)
        if not many.possible[row]:
            refused += 1
            with pytest.raises(dl.KnifeError):
                dl.feel(single)
            continue
        feel = dl.feel(single)
        for name in FELT:
            if getattr(feel, name) is not None:
                assert many.values[name][row] == pytest.approx(getattr(feel, name), rel=1e-7, abs=1e-7), (row, name)
    assert 0 < refused < 40


def test_impossible_knives_are_counted_and_named():
    stiff = measured(A).replace(
        {
            "balls[0].recess.depth": None,
            "balls[0].protrusion": 0.75,
            "bar.rate": 5.0,
            "balls[0].recess.rest_offset": 0.0,
        }
    )
    diameters = np.array([[1.3208], [1.62], [1.75], [1.3208], [1.578]])
    forces = np.array([[17.04], [17.04], [17.04], [1.0], [17.04]])
    many = dl.feel_many(stiff.with_arrays({"balls[0].recess.diameter": diameters, "bar.riding_force": forces}))
    assert many.possible.tolist() == [True, False, False, False, False]
    assert many.impossible == {
        "rim gap not smaller than the ball's radius": 2,
        "the ball jams": 1,
        "bar force gone before the seat": 1,
    }
    assert all(values.shape == (5,) for values in many.values.values())


def test_a_limit_that_all_knives_break_counts_them_all():
    many = dl.feel_many(
        A.replace({"balls[0].recess.diameter": 1.8}).with_arrays({"friction.rim": np.array([[0.1], [0.12], [0.14]])})
    )
    assert not many.possible.any()
    assert many.impossible["rim gap not smaller than the ball's radius"] == 3


def test_none_impossible_gives_an_empty_count():
    many = dl.feel_many(A.with_arrays({"friction.rim": np.array([[0.1], [0.12]])}))
    assert many.impossible == {}
    assert many.possible.all()
    assert many.values["break_force"][1] == pytest.approx(dl.feel(A).break_force, rel=1e-12)


def test_arrays_of_push_places_count_too():
    many = dl.feel_many(A.with_arrays({"blade.tab_arm": np.array([[14.0], [28.0]])}))
    assert many.values["break_force"] == pytest.approx([dl.feel(A).break_force, dl.feel(A).break_force / 2])


def test_memory_stays_with_the_chunk():
    rng = np.random.default_rng(0)
    peaks = []
    for count in (400, 3200):
        knife = A.with_arrays({"balls[0].protrusion": 0.42 + 0.005 * rng.standard_normal((count, 1))})
        dl.feel_many(knife.take(np.arange(10)))  # what is cached at first use does not count
        tracemalloc.start()
        dl.feel_many(knife, chunk=200)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    answers = 3200 * 20 * 8  # bytes: some twenty numbers a knife
    assert peaks[1] < peaks[0] + 3 * answers
    assert peaks[1] < 20e6


def test_a_measured_knife_feels_like_the_drawn_one():
    for knife in (A, C, E):
        one, two = dl.feel(knife), dl.feel(measured(knife))
        for name in FELT:
            assert getattr(two, name) == pytest.approx(getattr(one, name), rel=1e-12), name


def test_peak_just_past_a_handover_is_found():
    """E steps up at 0.10°: the peak is the far side of that step, which no grid angle shows."""
    feel = dl.feel(E)
    step = feel.handovers[0]
    assert feel.break_torque == pytest.approx(step.torque_after, rel=1e-6)
    assert feel.peak_deg == pytest.approx(step.angle_deg, abs=1e-6)
    at = carry.state(E, np.radians([step.angle_deg - 1e-4, step.angle_deg + 1e-4]))
    assert at.carriers[0].tolist() == [0, 1]


@pytest.mark.parametrize("elastic", [False, True])
def test_every_number_of_a_card_can_be_sampled_at_once(elastic):
    """All paths as arrays, bearings and run-offs too: each row is the knife felt by itself."""
    rng = np.random.default_rng(3)
    drawn = {path: B.get(path) * (1 + 1e-3 * rng.standard_normal((6, 1))) for path in B.paths()}
    many = dl.feel_many(B.with_arrays(drawn), elastic=elastic)
    for row in range(6):
        one = dl.feel(B.replace({path: values[row].item() for path, values in drawn.items()}), elastic=elastic)
        for name in ("break_force", "letback_force", "barrier", "draw_in_deg"):
            assert many.values[name][row] == pytest.approx(getattr(one, name), rel=1e-6), name
