"""What a second ball on the same bar can and cannot do, over thousands of knives at random: barrier (E2), peak
(never above that of the harder ball alone), handovers, turning round.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import detentlib as dl
from detentlib.mechanics import carry, limits
from detentlib.tune import pair, trial
from detentlib.tune.moves import with_one_ball
from tests.knives import FRICTIONLESS, A, B, C, D, base, numbers_at_random, one_of, sound_knives

MANY = 3000
SHAPES = ("sharp", "rounded", "chamfered", "dimple", "floored")


def shaped(numbers, shape, seed):
    """The knives with recesses of another shape, and the plain knife to put the numbers into."""
    rng, more = np.random.default_rng(seed), {}
    size = (len(next(iter(numbers.values()))), 1)
    for i in (0, 1):
        diameter, owner = numbers[f"balls[{i}].diameter"], f"balls[{i}].recess."
        if shape == "rounded":
            more[owner + "edge_radius"] = rng.uniform(0.005, 0.12, size)
        if shape == "chamfered":
            more |= {
                owner + "chamfer_width": rng.uniform(0.01, 0.15, size),
                owner + "chamfer_deg": rng.uniform(15, 65, size),
            }
            more[owner + "diameter"] = numbers[owner + "diameter"] - 1.5 * more[owner + "chamfer_width"]
        if shape == "dimple":
            more |= {owner + "diameter": np.zeros(size), owner + "chamfer_deg": rng.uniform(20, 62, size)}
            more[owner + "chamfer_width"] = diameter * rng.uniform(0.25, 0.42, size)
        if shape == "floored":
            more[owner + "depth"] = diameter * rng.uniform(0.05, 0.3, size)
    return numbers | more


@cache
def pairs(shape, above=0.0, give=0.0):
    """(numbers, feel with ball 1 alone, feel with both, which knives can work), ball 2 idle on the flat.

    above: by how much ball 2 stands above the height at which it just touches the flat, 0 for somewhere at or below it.
    give: of the bar sideways [mm/N].
    """
    rng = np.random.default_rng(SHAPES.index(shape))
    numbers = numbers_at_random(MANY, 30 + SHAPES.index(shape), 2)
    first, arms = numbers["balls[0].protrusion"], [numbers[f"balls[{i}].hinge_distance"] for i in (0, 1)]
    parallel = first + rng.uniform(-0.45, 0.2, first.shape)
    touching = parallel + (first - parallel) * arms[1] / arms[0]
    below = rng.exponential(0.03, first.shape) * (rng.random(first.shape) > 0.1)
    numbers |= {"bar.parallel_gap": parallel, "balls[1].protrusion": touching + above if above else touching - below}
    numbers = shaped(numbers, shape, 60) | {"bar.side_compliance": np.full((MANY, 1), give)}
    alone = {path: value for path, value in numbers.items() if "balls[1]" not in path}
    one, two = dl.feel_many(base(1).with_arrays(alone)), dl.feel_many(base(2).with_arrays(numbers))
    return numbers, one.values, two.values, one.possible & two.possible


@pytest.mark.checked_by("brute force", "thousands of knives at random", "E2")
@pytest.mark.parametrize("shape", SHAPES)
def test_a_second_ball_idle_on_the_flat_never_raises_the_barrier_on_a_bar_stiff_sideways(shape):
    numbers, one, two, sound = pairs(shape)
    assert sound.sum() > MANY / 3
    assert np.all(two["barrier"][sound] <= one["barrier"][sound] + 1e-6)
    lower = two["barrier"] < one["barrier"] - 1e-3
    assert np.sum(lower & sound) > MANY / 20
    # many of these second balls stand out more than ball 1: what counts is the height on the turning bar
    assert np.sum((numbers["balls[1].protrusion"] > numbers["balls[0].protrusion"])[:, 0] & lower & sound) > 20


@pytest.mark.parametrize("shape", SHAPES)
def test_on_a_bar_that_gives_it_is_never_above_that_of_ball_1_without_friction(shape):
    numbers, one, two, sound = pairs(shape, give=0.0035)
    free = {path: value for path, value in numbers.items() if "balls[1]" not in path} | {
        "friction.rim": np.zeros((MANY, 1))
    }
    least = dl.feel_many(base(1).with_arrays(free))
    sound = sound & least.possible
    assert sound.sum() > MANY / 3
    assert np.all(two["barrier"][sound] <= least.values["barrier"][sound] + 1e-6)
    assert np.all(one["barrier"][sound] <= least.values["barrier"][sound] + 1e-6)


def test_the_condition_is_that_of_the_register():
    """The step of E2 that says up to where ball 2 hangs clear, at the height from which it rides in the sweep."""
    letters, (clear,) = (
        dl.formulas["E2"].letters,
        [step.shown for step in dl.formulas["E2"].steps if "hangs clear" in step.said],
    )
    first = B.balls[0]
    at = {
        letters.protrusion_1: first.protrusion,
        letters.hinge_distance_1: first.hinge_distance,
        letters.hinge_distance_2: 28.0,
        letters.parallel_gap: 0.1454,
    }
    height = float(clear.rhs.subs(at))
    for more, carrier in ((-1e-6, 0), (1e-6, 1)):
        knife = B.replace(
            {"bar.parallel_gap": 0.1454, "balls[1].hinge_distance": 28.0, "balls[1].protrusion": height + more}
        )
        assert dl.sweep(knife, [10.0]).carrier[0] == carrier
        assert clear.subs(at | {letters.protrusion_2: height + more}) == (carrier == 0)


@pytest.mark.parametrize("shape", SHAPES)
def test_so_does_any_spring_that_stores_more_the_further_it_is_pushed(shape):
    """Riding height unchanged and resting height not lower: no law of energy over lift has a deeper barrier then."""
    numbers, _, two, sound = pairs(shape)
    alone = {path: value for path, value in numbers.items() if "balls[1]" not in path}
    last = np.radians(np.maximum(two["break_out_deg"], 1.0))[:, None] + 1e-6
    for angle, equal in ((last, True), (np.radians(two["rest_deg"])[:, None], False)):
        single, both = carry.state(base(1).with_arrays(alone), angle), carry.state(base(2).with_arrays(numbers), angle)
        if equal:
            assert both.gap[sound] == pytest.approx(single.gap[sound], abs=1e-12)
        else:
            assert np.all(both.gap[sound] >= single.gap[sound] - 1e-12)


def test_just_above_that_height_the_barrier_can_rise():
    """The condition is exact: 0.01 mm above it many a second ball makes the barrier deeper than ball 1 alone."""
    _, one, two, sound = pairs("sharp", above=0.01)
    assert np.sum((two["barrier"] > one["barrier"] + 0.01) & sound) > MANY / 20


def test_lower_in_millimetres_is_not_the_condition():
    """2 thou lower at 28 mm from the hinge, yet it rides, and the barrier grows: on an elastic bar more so."""
    knife = B.replace({"balls[1].hinge_distance": 28.0})
    assert knife.balls[1].protrusion == pytest.approx(knife.balls[0].protrusion - 0.0508)
    limit = 0.1454 + (0.42 - 0.1454) * 28 / 36.4
    assert knife.balls[1].protrusion > limit
    for elastic, barrier in ((False, 4.570), (True, 4.854)):
        assert dl.feel(A, elastic).barrier == pytest.approx(4.290, abs=6e-4)
        assert dl.feel(knife, elastic).barrier == pytest.approx(barrier, abs=6e-4)
        assert dl.sweep(knife, [10.0], elastic=elastic).carrier[0] == 1
    idle = knife.replace({"balls[1].protrusion": limit - 1e-6})
    assert dl.feel(idle).barrier == pytest.approx(4.290, abs=6e-4)
    assert dl.sweep(idle, [10.0]).carrier[0] == 0


@pytest.mark.parametrize(
    "knife",
    [C, D, C.replace({"balls[0].side_offset": 2.0, "balls[1].side_offset": -2.0})],
    ids=["C", "D", "C off the centre line"],
)
def test_theorem_for_an_elastic_bar(knife):
    """Here ball 2 is idle on the flat up to a slightly smaller height; up to there the barrier never rises."""
    alone = dl.feel(replace(knife, balls=knife.balls[:1], doubts={}), elastic=True).barrier
    flat = dl.sweep(knife, [20.0], elastic=True)
    touching = flat.demand[0, 1] + flat.clearance[0, 1]
    heights = touching - np.array([1e-9, 0.002, 0.01, 0.03, 0.06, 0.1])
    raised = [dl.feel(knife.replace({"balls[1].protrusion": height}), elastic=True).barrier for height in heights]
    assert np.all(np.array(raised) <= alone + 1e-6)
    assert min(raised) < alone - 0.1


# the peak


@pytest.mark.parametrize(("give", "more"), [(0.0, 1e-4), (0.0035, 0.06)], ids=["stiff sideways", "gives sideways"])
def test_two_balls_on_one_bar_break_no_harder_than_the_harder_of_them_alone(give, more):
    """Each ball by itself on the same bent bar, knives of every sort: exact on a bar that is stiff sideways. Where it
    gives, a few of them make more, as one ball leaves the bar further aside than the other alone would; knives made for
    it make 1.11 times (see outside/test_two_balls_and_friction.py).
    """
    numbers = numbers_at_random(MANY, 5, 2) | {"bar.side_compliance": np.full((MANY, 1), give)}
    both = base(2).with_arrays(numbers)
    first = {path: value for path, value in numbers.items() if "balls[1]" not in path}
    one, other, two = map(dl.feel_many, (base(1).with_arrays(first), pair.with_ball_2_alone(both), both))
    sound = one.possible & other.possible & two.possible
    alone = [felt.values["break_torque"][sound] for felt in (one, other)]
    made = two.values["break_torque"][sound]
    assert sound.sum() > MANY / 3
    # peaks are closed in on from a grid, so two of the same height are found to some 1e-5 of it
    over = made / np.maximum(*alone) - 1
    assert over.max() <= more
    assert np.mean(over > 1e-4) < 0.005
    # and it is not that one of the two always hangs clear: often both have their part in what comes out
    assert np.sum((made > 1.01 * alone[0]) | (made < 0.99 * alone[0])) > MANY / 20


def test_on_a_bar_that_gives_never_harder_than_the_harder_from_the_middle_of_its_recess():
    """Recesses on their track, where a peak stands where it starts and is found to the last digit."""
    on_track = {f"balls[{i}].recess.off_track": np.zeros((MANY, 1)) for i in (0, 1)}
    numbers = numbers_at_random(MANY, 5, 2) | on_track | {"bar.side_compliance": np.full((MANY, 1), 0.0035)}
    both = base(2).with_arrays(numbers)
    first = base(1).with_arrays({path: value for path, value in numbers.items() if "balls[1]" not in path})
    two, *middle = map(dl.feel_many, (both, *map(pair.from_the_middle, (first, pair.with_ball_2_alone(both)))))
    sound = two.possible & middle[0].possible & middle[1].possible
    assert sound.sum() > MANY / 3
    most = np.maximum(*(felt.values["break_torque"][sound] for felt in middle))
    assert np.all(two.values["break_torque"][sound] <= most * (1 + 1e-6))


@pytest.mark.parametrize(
    ("friction", "bar", "first", "second", "times"),
    [
        (
            0.1808,
            (21.0975, 7.5304, 0.0034),
            (1.0752, 0.4431, 4.0, 32.5441, 1.00318, 0.105),
            (1.0, 0.3375, 11.9688, 37.2343, 0.8131, 0.1049),
            1.39,
        ),
        (
            0.0961,
            (22.0388, 8.2404, 0.0028),
            (1.5128, 0.5215, 6.0, 41.3164, 1.40875, 0.0988),
            (1.0, 0.3001, 11.9999, 38.2863, 0.8605, 0.089),
            1.30,
        ),
    ],
)
def test_knives_made_for_it_break_harder_than_the_harder_by_nearly_as_much_as_the_middle_allows(
    friction, bar, first, second, times
):
    """The most that a search over both balls and the bar came to, with tracks from 4 and from 6 mm on."""
    balls = [dl.Ball(*ball[:4], dl.Recess(ball[4], rest_offset=ball[5])) for ball in (first, second)]
    spring = dl.LockBar(bar[0], rate=bar[1], side_compliance=bar[2], parallel_gap=0.1454)
    knife = dl.Knife("made for it", balls, spring, dl.Blade(14.0), dl.Friction(friction))
    alone = [with_one_ball(knife), pair.with_ball_2_alone(knife)]
    harder = max(dl.feel(each).break_torque for each in alone)
    most = max(dl.feel(pair.from_the_middle(each)).break_torque for each in alone)
    made = dl.feel(knife).break_torque
    assert times * harder < made <= most
    assert made > 0.97 * most


def test_in_the_trial_of_second_balls_none_comes_near_a_sum():
    """Nor does it on a bar bent twice as far; each ball is counted once."""
    tried = trial.second_balls(A, 60, 4)
    assert tried.tried == tried.idle + tried.riding
    assert 0.999 < tried.most_of_harder < 1.06
    twice = trial.second_balls(A.replace({"bar.riding_force": 2 * A.bar.riding_force}), 60, 4)
    assert 0.999 < twice.most_of_harder < 1.06


def test_the_peak_can_rise_by_much_where_the_barrier_does_not():
    _, one, two, sound = pairs("sharp")
    risen = sound & (two["break_torque"] > 1.2 * one["break_torque"])
    assert risen.sum() > MANY / 50
    assert np.all(two["barrier"][risen] <= one["barrier"][risen] + 1e-6)


@pytest.mark.parametrize("friction", [0.0, 0.12])
def test_a_lower_second_ball_like_the_first_can_only_weaken(friction):
    """Equal balls, tracks and arms, sharp rims of any size and place, any rate: the peak never rises either."""
    numbers = numbers_at_random(MANY, 3, 2)
    for field in ("diameter", "track_radius", "hinge_distance"):
        numbers[f"balls[1].{field}"] = numbers[f"balls[0].{field}"]
    numbers |= {f"balls[{i}].recess.off_track": np.zeros((MANY, 1)) for i in (0, 1)}
    lower = np.random.default_rng(9).exponential(0.05, (MANY, 1))
    numbers |= {
        "balls[1].protrusion": numbers["balls[0].protrusion"] - lower,
        "friction.rim": np.full((MANY, 1), friction),
    }
    alone = {path: value for path, value in numbers.items() if "balls[1]" not in path}
    one, two = dl.feel_many(base(1).with_arrays(alone)), dl.feel_many(base(2).with_arrays(numbers))
    sound = one.possible & two.possible
    assert sound.sum() > MANY / 3
    # peaks are closed in on from a grid, so two of the same height are found to some 1e-5 of it
    assert np.all(two.values["break_torque"][sound] <= one.values["break_torque"][sound] * (1 + 1e-4))
    assert np.sum(two.values["break_torque"][sound] < 0.97 * one.values["break_torque"][sound]) > MANY / 20


def test_nearer_the_pole_is_weaker_at_equal_ball_arms_friction_and_force():
    """One ball, a bar of constant force: break and let-back grow with the contact angle, and with it alone."""
    gaps = np.linspace(0.05, 0.69, 200)[:, None]
    soft = replace(base(1), bar=dl.LockBar(15.0, rate=1e-6, side_compliance=0.0))
    for friction in (0.0, 0.12):
        knife = soft.with_arrays(
            {"balls[0].recess.diameter": 2 * (gaps + 0.06), "balls[0].recess.off_track": 0.0, "friction.rim": friction}
        )
        many = dl.feel_many(knife)
        angle, lam = np.arcsin(gaps[:, 0] / 0.79375), np.arctan(friction)
        assert many.values["break_torque"] == pytest.approx(15 * 8.001 * np.tan(angle + lam), rel=1e-4)
        assert many.values["letback_force"] * 14 == pytest.approx(15 * 8.001 * np.tan(angle - lam), rel=1e-4, abs=5e-4)
        assert np.all(np.diff(many.values["break_torque"]) > 0)
        assert np.all(np.diff(many.values["letback_force"]) > 0)


@pytest.mark.parametrize(("knife", "stronger"), [(D, 1.28), (C, None)])
def test_across_different_tracks_nearer_the_pole_can_be_stronger(knife, stronger):
    """D rests on a ball that touches nearer its pole than A's, and breaks harder: its track is longer. C, on nearly
    A's arms, does not.
    """
    one, two = dl.feel(A.replace(FRICTIONLESS)), dl.feel(knife.replace(FRICTIONLESS))
    assert two.contact_deg[two.rest_carrier] < one.contact_deg[0] - 4
    ratio = two.break_torque / one.break_torque
    assert ratio == pytest.approx(stronger, abs=0.005) if stronger else ratio < 1


# handovers


@cache
def handovers(friction):
    """(carrier before, after, torque before, after) [m] of every handover of knives at random, closed in on anew."""
    numbers = numbers_at_random(MANY, 77, 2)
    knife = base(2).with_arrays(numbers | {"friction.rim": np.full((MANY, 1), friction)})
    theta = carry.Detent(knife).opening(150)
    carrier = carry.state(knife, theta).carriers[0]
    changes = (np.diff(carrier, axis=-1) != 0) & dl.feel_many(knife).possible[:, None]
    rows, at = np.nonzero(changes)
    some, low, high = knife.take(rows), theta[rows, at][:, None], theta[rows, at + 1][:, None]
    before = carrier[rows, at][:, None]
    for _ in range(40):
        middle = (low + high) / 2
        same = carry.state(some, middle).carriers[0] == before
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    sides = [carry.state(some, angle) for angle in (low, high)]
    torques = [side.torque[:, 0] for side in sides]
    between_balls = np.all([side.carriers[0][:, 0] >= 0 for side in sides], axis=0)
    return tuple(each[between_balls] for each in (sides[0].carriers[0][:, 0], sides[1].carriers[0][:, 0], *torques))


def test_without_friction_resistance_steps_up_at_every_handover_on_opening():
    before, after, low, high = handovers(0.0)
    assert low.size > 500
    assert np.sum(before < after) > 50
    assert np.sum(before > after) > 50
    assert np.all(high > low)


def test_with_friction_and_different_arms_it_can_step_down_a_little():
    _, _, low, high = handovers(0.15)
    down = high < low
    assert 0 < down.mean() < 0.1
    assert np.min(high / low) > 0.8


@cache
def felt():
    """(knife, feel) of two dozen knives at random that hand over."""
    numbers, found = numbers_at_random(60, 78, 2), []
    for row in np.flatnonzero(dl.feel_many(base(2).with_arrays(numbers)).possible):
        knife = one_of(base(2), numbers, row)
        found.append((knife, dl.feel(knife)))
    return [(knife, feel) for knife, feel in found if feel.handovers][:24]


def test_handover_is_where_the_sweep_changes_its_carrier():
    assert len(felt()) > 15
    for knife, feel in felt():
        for angle, before, after, low, high, *_ in feel.handovers:
            run = dl.sweep(knife, angle + 1e-6 * np.array([-1.0, 1.0]))
            assert run.carrier.tolist() == [before, after]
            assert run.torque == pytest.approx([low, high], rel=1e-4)


def test_peak_of_two_balls_is_that_of_a_fine_sweep():
    for knife, feel in felt():
        run = dl.sweep(knife, np.linspace(0, feel.break_out_deg, 20001))
        assert feel.break_torque >= run.torque.max() * (1 - 1e-7)
        assert feel.break_torque == pytest.approx(run.torque.max(), rel=2e-3)


# turning round


def rim_leads(knife):
    """How much nearer each other rim is, on the scale of ball 1's track, beyond what recess sizes make."""
    first = knife.balls[0]
    return [
        ball.recess.rest_offset * first.track_radius / ball.track_radius - first.recess.rest_offset
        for ball in knife.balls[1:]
    ]


@settings(max_examples=50)
@given(sound_knives())
def test_turning_round_flips_the_rim_lead_and_twice_is_the_identity(knife):
    turned = knife.turned_round()
    assert rim_leads(turned) == pytest.approx([-lead for lead in rim_leads(knife)], abs=1e-12)
    assert turned.balls[0] == knife.balls[0]
    for path in knife.paths():
        assert turned.turned_round().get(path) == pytest.approx(knife.get(path), abs=1e-12), path
        if not path.endswith(("rest_offset", "bearing_deg")):
            assert turned.get(path) == knife.get(path), path


def test_turning_round_puts_ball_2_on_the_other_side():
    assert B.turned_round().balls[1].bearing_deg == pytest.approx(8.2)


def test_direction_of_travel_matters():
    """Ball 2's rim nearer on opening clips the peak; turned round it is further, and ball 2 idles."""
    knife = C.replace(
        {
            "balls[1].recess.diameter": 1.3208,
            "balls[1].recess.rest_offset": 0.06 * 9.602 / 8.001 + 0.07,
            "balls[1].bearing_deg": None,
        }
    )
    there, back = dl.feel(knife), dl.feel(knife.turned_round())
    assert there.rest_carrier == 1
    assert back.rest_carrier == 0
    assert there.break_torque < 0.99 * back.break_torque
    assert back.break_torque == pytest.approx(dl.feel(A).break_torque, rel=1e-9)


# run over all knives at random: nothing of it is left to a lucky choice of ball 2


@settings(max_examples=100)
@given(sound_knives(), st.booleans())
def test_one_bar_never_adds_up(knife, elastic):
    """However balls and bar share, every torque is a weighted mean of what the bar's moment does at each ball."""
    knife = knife.replace({"bar.side_compliance": 0.0})
    try:
        limits.check(knife)
    except dl.KnifeError:
        return
    at = carry.state(knife, np.linspace(0.0, 0.15, 60), elastic)
    for (_, members), moment in zip(carry.bars_of(knife), at.moments, strict=True):
        alone = [
            moment
            / knife.balls[i].hinge_distance
            * knife.balls[i].track_radius
            * np.tan(at.lifts[i].phi)
            * at.lifts[i].cos_chi
            for i in members
        ]
        torque = sum(
            at.loads[i] * knife.balls[i].track_radius * np.tan(at.lifts[i].phi) * at.lifts[i].cos_chi for i in members
        )
        assert np.all(torque <= np.maximum.reduce([*alone, 0.0 * moment]) + 1e-9)
