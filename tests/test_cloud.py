"""The cloud: draws against closed forms and published examples, and knives against a Monte Carlo that is written out
here.
"""

from dataclasses import replace
from math import log, sqrt

import numpy as np
import pytest
from scipy import stats

from detentlib.doubt.budget import budget
from detentlib.doubt.cloud import Input, cloud
from detentlib.doubt.draws import SURE, Even, Interval, Normal, distribution_of, draw, interval, share, share_said
from detentlib.doubt.many import clearest, dropping, felt, sound, stalling
from detentlib.doubt.sources import Sources
from detentlib.files.fields import knife_from_fields
from detentlib.knife.parts import KnifeError, name_of
from detentlib.knife.units import Within
from detentlib.mechanics.carry import JUST_AFTER, Detent
from detentlib.mechanics.feel import feel, feel_many
from detentlib.mechanics.swing import swing
from detentlib.tune.moves import with_one_ball, with_second_leaf
from tests.knives import CARDS, A, B, C, D

ROOT3 = sqrt(3)
SHOWN = ("break_force", "letback_force", "gauge_break_force", "barrier", "break_out_deg")


def column(value, drawn):
    return np.concatenate([[value], drawn])


def wide(standard):
    """The ± (95 %) of a normal number with this standard deviation."""
    return SURE * standard


# published: JCGM 101:2008 (supplement 1 to the GUM), clause 9; 9.2 read, 9.3 and 9.4 from memory


@pytest.mark.checked_by("published", "JCGM 101:2008, 9.2", "cloud")
def test_the_additive_model():
    """9.2: four normal inputs, ± 3.92; four rectangular ones, ± 3.88; one of them ten times the others, ± 17.0."""
    normal = interval(column(0.0, sum(draw({name: Normal(0, wide(1.0)) for name in "abcd"}, 2**17).values())))
    assert normal.doubt == pytest.approx(3.92, abs=0.005)
    even = interval(column(0.0, sum(draw({name: Even(0, ROOT3) for name in "abcd"}, 2**17).values())))
    assert even.doubt == pytest.approx(3.88, abs=0.005)
    inputs = {name: Even(0, ROOT3 * size) for name, size in zip("abcd", (1, 1, 1, 10), strict=True)}
    assert interval(column(0.0, sum(draw(inputs, 2**17).values()))).doubt == pytest.approx(17.0, abs=0.05)


@pytest.mark.checked_by("published", "JCGM 101:2008, 9.3", "cloud")
def test_the_calibration_of_a_mass():
    """9.3: first order sees nothing of the densities (u = 0.0539 mg); Monte Carlo gives 1.2341 mg, u = 0.0754 mg,
    1.0834 to 1.3825 mg.
    """
    inputs = {
        "mass": Normal(100_000.0, wide(0.050)),
        "more": Normal(1.234, wide(0.020)),
        "air": Even(1.2, 0.1),
        "weight": Even(8000.0, 1000.0),
        "reference": Even(8000.0, 50.0),
    }
    drawn = draw(inputs, 2**17)
    buoyancy = (drawn["air"] - 1.2) * (1 / drawn["weight"] - 1 / drawn["reference"])
    found = (drawn["mass"] + drawn["more"]) * (1 + buoyancy) - 100_000.0
    assert found.mean() == pytest.approx(1.2341, abs=2e-4)
    assert found.std() == pytest.approx(0.0754, abs=1e-4)
    assert interval(column(1.234, found))[1:3] == pytest.approx(
        (1.0834, 1.3825), abs=2e-3
    )  # the published one is the shortest


@pytest.mark.checked_by("published", "JCGM 101:2008, 9.4", "cloud")
@pytest.mark.parametrize(
    ("at", "r", "mean", "standard", "top"),
    [(0.0, 0.0, 50, 50, 150), (0.010, 0.0, 150, 112, 367), (0.050, 0.0, 2551, 502, None), (0.0, 0.9, 50, 67, 185)],
)
def test_comparison_loss_near_zero(at, r, mean, standard, top):
    """9.4, in units of 1e-6: X1² + X2² with u = 0.005 each. First order gives ± 0 at 0."""
    drawn = draw({"a": Normal(at, wide(0.005)), "b": Normal(0.0, wide(0.005))}, 2**17, together={("a", "b"): r})
    loss = drawn["a"] ** 2 + drawn["b"] ** 2
    assert loss.mean() * 1e6 == pytest.approx(mean, abs=1.2)
    assert loss.std() * 1e6 == pytest.approx(standard, abs=0.6)
    found = interval(column(at**2, loss))
    if at == 0:
        assert found.low == 0
        assert found.high * 1e6 == pytest.approx(top, abs=1)
    if at == r == 0:
        assert found.high == pytest.approx(-2 * log(0.05) * 0.005**2, rel=2e-3)  # chi-square, two degrees of freedom
    if at and not r:
        exact = stats.ncx2.ppf([0.025, 0.975], 2, (at / 0.005) ** 2) * 0.005**2
        assert found[1:3] == pytest.approx(exact, rel=0.02)


@pytest.mark.checked_by("published", "Geary, 1930", "cloud")
def test_a_ratio_of_two_normal_numbers():
    """P(X/Y < t) = Φ((t μy − μx)/√(σx² + t² σy²)) where Y stays above zero (Geary, 1930)."""
    drawn = draw({"force": Normal(12.0, 3.0), "arm": Normal(14.0, 4.0)})
    found = interval(column(12 / 14, drawn["force"] / drawn["arm"]))
    for end, part in ((found.low, 0.025), (found.high, 0.975)):
        assert stats.norm.cdf((end * 14 - 12) * SURE / np.hypot(3.0, 4.0 * end)) == pytest.approx(part, abs=1.5e-3)


def test_correlated_numbers():
    together = {("a", "b"): 0.6}
    drawn = draw({"a": Normal(5, wide(1)), "b": Normal(1, wide(1)), "c": Normal(0, wide(1))}, together=together)
    assert np.corrcoef(list(drawn.values())) == pytest.approx(np.array([[1, 0.6, 0], [0.6, 1, 0], [0, 0, 1]]), abs=5e-3)
    assert (drawn["a"] + drawn["b"]).std() == pytest.approx(sqrt(3.2), rel=2e-3)


# a ± that is a limit


def within(knife, limits):
    """The knife with these limits in place of every ±."""
    return replace(knife, doubts={path: Within(reach) for path, reach in limits.items()}, known_together={})


def test_a_number_within_limits_is_anywhere_in_them_alike():
    """JCGM 101:2008, 6.4.2: ends at ± w, standard deviation w/√3; the 95 % in the middle reach to 0.95 w."""
    drawn = cloud(within(A, {"bar.riding_force": 0.8}), n=2**14)
    force = drawn.column("ride_load")[1:]
    assert (force.min(), force.max()) == pytest.approx((A.bar.riding_force - 0.8, A.bar.riding_force + 0.8), abs=1e-3)
    assert force.std() == pytest.approx(0.8 / ROOT3, rel=1e-3)
    assert stats.kstest(force, stats.uniform(A.bar.riding_force - 0.8, 1.6).cdf).statistic < 1e-3
    found = budget(within(A, {"bar.riding_force": 0.8}), "ride_load")
    assert found.doubt == pytest.approx(0.95 * 0.8, rel=2e-3)
    assert found.part("bar.riding_force") == pytest.approx(1.0, abs=5e-3)


@pytest.mark.checked_by("published", "JCGM 101:2008, 9.2", "cloud")
@pytest.mark.parametrize(("last", "wide"), [(1, 3.88), (10, 17.0)])
def test_the_additive_model_by_a_card(last, wide):
    """JCGM 101:2008, 9.2.3 and 9.2.4: four rectangular numbers of standard deviation 1, one of them 10. Rim gaps of
    parts are radius less offset.
    """
    unit = 1e-4  # mm
    limits = {
        "balls[0].recess.diameter": 2,
        "balls[1].recess.diameter": 2,
        "balls[0].recess.rest_offset": 1,
        "balls[1].recess.rest_offset": last,
    }
    drawn = cloud(within(B, {path: ROOT3 * unit * each for path, each in limits.items()}), n=2**14)
    assert drawn.interval(drawn.column("rim_lead")).doubt / unit == pytest.approx(wide, rel=5e-3)


def test_an_angle_of_a_chamfer_comes_near_to_0_and_90_and_stays_between():
    flat, steep = (
        distribution_of("balls[0].recess.chamfer_deg", at, 8.0).at(np.array([-3.0, 3.0])) for at in (2.0, 88.0)
    )
    assert 0 < flat[0] < 0.05
    assert 89.95 < steep[1] < 90


def test_limits_are_cut_off_where_a_size_cannot_be():
    """0.02 within 0.05 mm: a chamfer anywhere from 0 to 0.07 mm."""
    chamfered = A.replace({"balls[0].recess.chamfer_width": 0.02})
    widths = cloud(within(chamfered, {"balls[0].recess.chamfer_width": 0.05})).numbers()[
        "balls[0].recess.chamfer_width"
    ][1:]
    assert (widths.min(), widths.mean(), widths.max()) == pytest.approx((0.0, 0.035, 0.07), abs=1e-4)


def test_what_a_measurement_leaves_of_limits():
    """A force within 0.8 N that a gauge then reads to ± 0.1 N: ± 0.1 N is left; one of ± 0.9 N says no more than the
    limits, ± 0.905 N, did.
    """
    found = budget(within(A, {"bar.riding_force": 0.8}), "ride_load").sources
    force = next(each for each in found.inputs if each.path == "bar.riding_force")
    assert found.after({force: 0.1}) == pytest.approx(0.1, rel=0.02)
    assert found.after({force: 0.91}) == pytest.approx(found.doubt)


def test_of_no_doubt_nothing_is_left():
    assert budget(replace(A, doubts={}), "ride_load").sources.after({}) == 0.0


def test_first_order_takes_limits_by_their_standard_deviation():
    """GUM 4.3.7: a preset of 1.6 within 0.1 mm at 10 N/mm is 16 N with a standard deviation of 1/√3 N."""
    card = {
        "balls[0].diameter": "1.5875, exactly",
        "balls[0].protrusion": "0.42, exactly",
        "balls[0].recess.diameter": "1.32, exactly",
    }
    knife = knife_from_fields(card | {"bar.preset": "1.6 within 0.1 mm", "bar.rate": "10, exactly"}, "card")
    assert (knife.bar.riding_force, knife.doubts["bar.riding_force"]) == pytest.approx(
        (16.0, SURE / ROOT3), rel=5e-4
    )  # four digits


# events of the swing

# two leaves that do not agree where shut is, a stiff pivot
UNEVEN = {"balls[1].recess.rest_offset": 0.004, "balls[1].recess.diameter": 1.359, "second_bar.riding_force": 23.9}
UNEVEN |= {"bar.riding_force": 6.17, "friction.rim": 0.128, "friction.pivot_torque": 12.7}
UNSURE = {
    "balls[1].protrusion": 0.02,
    "balls[1].recess.rest_offset": 0.03,
    "friction.rim": 0.04,
    "balls[1].track_radius": 0.1,
}
BESIDE = {"balls[1].track_radius": 8.661, "balls[1].bearing_deg": 100.0, "balls[1].protrusion": 0.425}


@pytest.mark.parametrize(
    ("card", "many", "one"),
    [
        (D, stalling, lambda knife: feel(knife).stall_pockets),
        (with_second_leaf(D).replace(UNEVEN), stalling, lambda knife: feel(knife).stall_pockets),
        (B.replace(BESIDE), dropping, lambda knife: swing(knife).crossings),
    ],
)
def test_an_event_is_seen_in_the_draws_where_each_knife_by_itself_has_it(card, many, one):
    drawn = cloud(replace(card, doubts=UNSURE))
    numbers, event = drawn.numbers(), many(drawn.felt())
    alone = [
        bool(one(card.replace({path: float(column[row]) for path, column in numbers.items()}))) for row in range(40)
    ]
    assert event[:40].tolist() == alone
    assert 0.05 < drawn.share(event) < 0.95


def test_the_nearest_that_an_idle_ball_comes_is_that_of_a_dense_sweep():
    felt = feel(B)
    theta = np.radians(np.linspace(felt.rest_deg, felt.break_out_deg, 40001))[None] + JUST_AFTER
    at = Detent(B).state(theta)
    least = [np.min(np.where(load > 0, 0.0, clear)) for load, clear in zip(at.loads, at.clearances, strict=True)]
    assert clearest(cloud(B).felt())[0] == pytest.approx(least, rel=1e-5)
    assert least[1] > 0.02


# the numbers of a column


def test_the_card_itself_is_never_outside_its_own_interval():
    drawn = np.abs(draw({"a": Normal(0.0, 1.0)})["a"])
    assert interval(column(0.0, drawn)) == (0.0, 0.0, pytest.approx(1.0, rel=5e-3), 0.0)
    assert interval(column(0.0, -drawn)) == (0.0, pytest.approx(-1.0, rel=5e-3), 0.0, 0.0)


def test_draws_without_a_number_are_counted():
    drawn = np.where(np.arange(1000) < 100, np.nan, np.linspace(0.0, 1.0, 1000))
    assert interval(column(0.5, drawn)).lost == pytest.approx(0.1)
    assert interval(column(0.5, drawn)).low > 0.1
    assert interval(column(0.5, np.full(8, np.nan))) == (0.5, 0.5, 0.5, 1.0)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Interval(12.0, 9.9, 14.1), "12.0 ± 2.1 mJ"),
        (Interval(11.9, 9.6, 14.8), "11.9 (9.6 to 14.8) mJ"),
        (Interval(11.9, 11.9, 11.9), "11.90 mJ"),
    ],
)
def test_one_writer(found, said):
    assert found.said("mJ") == said


def test_a_share_is_never_none_and_never_all():
    assert share(np.array([True, False, False])) == 0
    assert [share_said(part, 2048) for part in (0.0, 1.0)] == ["less than 1 in 2,000", "all but less than 1 in 2,000"]
    assert [share_said(part / 2048, 2048) for part in (1, 246, 2047)] == ["0.05 %", "12 %", "99.95 %"]


# where it comes from, and what a measurement leaves


def _sources(function, r=0.0, n=16_384):
    inputs = (Input("a", (0,), 1.0), Input("b", (0,), 1.0), Input("c", (0,), 1.0))
    together = np.array([[1.0, r, 0.0], [r, 1.0, 0.0], [0.0, 0.0, 1.0]])
    drawn = draw(dict.fromkeys("abc", Normal(0.0, wide(1.0))), n, together={("a", "b"): r} if r else {})
    return inputs, Sources(
        inputs, np.column_stack(list(drawn.values())), together, column(function(0.0, 0.0, 0.0), function(**drawn))
    )


def test_shares_of_a_sum():
    inputs, found = _sources(lambda a, b, c: 3 * a - 4 * b)
    assert list(found.shares) == [inputs[1], inputs[0], inputs[2]]
    assert list(found.shares.values()) == pytest.approx([-4 * SURE, 3 * SURE, 0.0], rel=2e-3)


def test_an_effect_that_is_alike_on_both_sides_is_seen():
    """Var(a²) = 2 and Var(b) = 1, so the shares of the variance are 2/3 and 1/3; a straight line sees nothing of the
    first.
    """
    inputs, found = _sources(lambda a, b, c: a**2 + b)
    parts = {each: (alone / found.doubt) ** 2 for each, alone in found.shares.items()}
    assert parts == {
        inputs[0]: pytest.approx(2 / 3, abs=0.05),
        inputs[1]: pytest.approx(1 / 3, abs=0.01),
        inputs[2]: 0.0,
    }


def test_what_a_measurement_leaves():
    inputs, found = _sources(lambda a, b, c: 3 * a - 4 * b)
    assert found.after({inputs[1]: 0.5}) == pytest.approx(SURE * sqrt(9 + 4), rel=3e-3)
    assert found.after({inputs[1]: 0.5, inputs[0]: 0.1}) == pytest.approx(SURE * sqrt(0.09 + 4), rel=5e-3)
    assert found.after({inputs[2]: 0.1}) == pytest.approx(found.doubt)
    assert found.after({inputs[0]: 2.0}) == pytest.approx(found.doubt)  # a worse instrument takes nothing off


def test_what_a_measurement_leaves_of_an_even_effect():
    """Of a² + b with a half as wide: the ends of z²/4 + z' by a million draws of their own."""
    inputs, found = _sources(lambda a, b, c: a**2 + b)
    one, other = np.random.default_rng(3).standard_normal((2, 1_000_000))
    assert found.after({inputs[0]: 0.5}) == pytest.approx(
        np.ptp(np.quantile(one**2 / 4 + other, [0.025, 0.975])) / 2, rel=0.02
    )


def test_a_measurement_makes_surer_what_goes_with_it():
    """Of a + b with correlation r: once a is known, Var(b) is 1 − r²."""
    inputs, found = _sources(lambda a, b, c: a + b, r=0.8)
    assert found.doubt == pytest.approx(SURE * sqrt(3.6), rel=3e-3)
    assert found.after({inputs[0]: 1e-6}) == pytest.approx(SURE * sqrt(1 - 0.64), rel=0.01)
    # a to 0.5: Var a = 0.25, Var b = 1 − 0.75 r² = 0.52, both 0.2; then b to 0.3 takes 0.2²/0.52 (1 − 0.09/0.52) off a
    left = 0.25 - 0.04 / 0.52 * (1 - 0.09 / 0.52) + 0.09 + 2 * 0.2 * 0.09 / 0.52
    assert found.after({inputs[0]: 0.5, inputs[1]: 0.3}) == pytest.approx(SURE * sqrt(left), rel=0.01)
    _, against = _sources(lambda a, b, c: a + b, r=-0.8)
    assert against.doubt == pytest.approx(SURE * sqrt(0.4), rel=3e-3)


# knives


@pytest.mark.checked_by("brute force", "Monte Carlo by numpy's own numbers", "cloud")
@pytest.mark.parametrize("name", CARDS)
def test_against_a_monte_carlo_written_out(name):
    """20,000 knives by numpy's own normal numbers: 95 % of them lie inside, within the sampling errors of both (0.15
    and 0.4 %).
    """
    card = CARDS[name]
    drawn, rng = cloud(card), np.random.default_rng(12)
    many = {
        path: card.get(path) + doubt / SURE * rng.standard_normal((20_000, 1)) for path, doubt in card.doubts.items()
    }
    many = {
        path: np.abs(values) if card.get(path) >= 0 and "offset" not in path and "off_track" not in path else values
        for path, values in many.items()
    }
    found = feel_many(card.with_arrays(many))
    for result in SHOWN:
        ends, values = drawn.interval(drawn.column(result)), found.values[result][found.possible]
        assert ends.value == pytest.approx(getattr(feel(card), result), rel=1e-9)
        inside = np.mean((values >= ends.low) & (values <= ends.high))
        assert inside == pytest.approx(0.95, abs=0.012)


def test_the_same_seed_gives_the_same_draws_and_another_input_leaves_them_alone():
    one, again, more = cloud(A), cloud(A), cloud(replace(A, doubts=A.doubts | {"balls[0].recess.edge_radius": 0.01}))
    assert np.array_equal(one.scores, again.scores)
    assert not np.array_equal(one.scores, cloud(A, seed=2).scores)
    for path, values in one.numbers().items():
        assert np.array_equal(values, more.numbers()[path])


def test_draws_may_begin_anywhere_from_nought_on():
    numbers = [cloud(A, n=64, seed=seed).numbers()["bar.riding_force"] for seed in (0, 1)]
    assert np.abs(numbers[0] - numbers[1])[1:].max() > 0.1


def test_what_two_knives_share_is_drawn_once():
    other = replace(A.replace({"bar.riding_force": 18.0}), title="other", doubts=A.doubts | {"friction.rim": 0.02})
    both = cloud(A, other)
    one, two = both.numbers(0), both.numbers(1)
    assert np.array_equal(one["blade.tab_arm"], two["blade.tab_arm"])
    assert (one["friction.rim"] - A.friction.rim)[1:] == pytest.approx(
        2 * (two["friction.rim"] - A.friction.rim)[1:], abs=1e-6
    )
    assert abs(np.corrcoef(one["bar.riding_force"][1:], two["bar.riding_force"][1:])[0, 1]) < 0.05
    assert np.array_equal(one["bar.riding_force"], cloud(A).numbers()["bar.riding_force"])
    own = [both.named(each) for each in both.inputs if each.path == "bar.riding_force"]
    assert [said.partition(", ")[0] for said in own] == [A.title, "other"]
    assert [both.named(each) for each in both.inputs if each.path == "blade.tab_arm"] == [name_of("blade.tab_arm", A)]


def test_a_size_stays_above_zero_and_a_signed_number_does_not():
    doubts = {"balls[0].recess.chamfer_width": 0.03, "bar.side_compliance": 0.02, "balls[0].recess.off_track": 0.03}
    numbers = cloud(replace(A, doubts=doubts)).numbers()
    assert numbers["balls[0].recess.chamfer_width"].min() >= 0
    assert numbers["balls[0].recess.off_track"].min() < -0.02
    assert (
        stats.kstest(numbers["balls[0].recess.chamfer_width"][1:], stats.halfnorm(scale=0.03 / SURE).cdf).pvalue > 0.5
    )


def test_correlations_travel_with_the_knife():
    """Diameter and rest offset that rise together leave the rim gap, and so the barrier, nearly alone."""
    pair = ("balls[0].recess.diameter", "balls[0].recess.rest_offset")
    alone = replace(A, doubts=dict.fromkeys(pair, 0.02))
    low, none, high = (cloud(replace(alone, known_together={pair: r} if r else {})) for r in (-0.9, 0.0, 0.9))
    doubts = [each.interval(each.column("barrier")).doubt for each in (low, none, high)]
    assert doubts[0] > 1.2 * doubts[1] > 1.4 * doubts[2]
    numbers = high.numbers()
    assert np.corrcoef(numbers[pair[0]][1:], numbers[pair[1]][1:])[0, 1] == pytest.approx(0.9, abs=5e-3)


def test_knives_that_cannot_work_are_counted():
    near = replace(A.replace({"balls[0].recess.diameter": 1.70}), doubts={"balls[0].recess.diameter": 0.05})
    found = cloud(near)
    lost = found.interval(found.column("barrier")).lost
    numbers = found.numbers()["balls[0].recess.diameter"]
    works = feel_many(near.with_arrays({"balls[0].recess.diameter": numbers[1:, None]})).possible
    assert lost == pytest.approx(1 - works.mean())
    assert 0 < lost < 1
    assert sum(found.lost.values()) >= lost


def test_the_share_of_an_event():
    found = cloud(C)
    carries = found.felt().values["ball 2 at rest"]
    assert found.share(carries) + found.share(~carries) == pytest.approx(1.0)
    assert 0 < found.share(carries) < 1


def test_a_knife_without_any_doubt_is_one_knife():
    sure = cloud(replace(B, doubts={}))
    assert sure.interval(sure.column("barrier")).doubt == 0
    assert sure.sources(sure.column("barrier")).shares == {}


def test_a_knife_that_cannot_work_is_refused():
    with pytest.raises(KnifeError):
        cloud(A.replace({"balls[0].recess.diameter": 1.8}))


def test_a_ball_taken_out_takes_only_its_own_correlations_along():
    kept, gone = ("bar.riding_force", "friction.rim"), ("balls[1].protrusion", "friction.rim")
    pair = replace(CARDS["C"], known_together={kept: -0.5, gone: 0.2})
    assert with_one_ball(pair).known_together == {kept: -0.5}


def test_more_knives_than_are_taken_at_once_are_counted_as_they_are():
    diameters = np.full(4100, 1.3208)
    diameters[[3, 4098, 4099]] = 1.8, -1.0, 1.8
    found = felt(A, {"balls[0].recess.diameter": diameters})
    assert np.flatnonzero(~found.possible).tolist() == [3, 4098, 4099]
    counted = (
        found.impossible["rim gap not smaller than the ball's radius"],
        found.impossible["diameter of the recess below zero"],
    )
    assert counted == (2, 1)
    assert found.values["barrier"][[0, 4097]] == pytest.approx(feel(A).barrier)


def test_a_knife_that_cannot_be_stands_in_as_the_one_that_is_given():
    """The core never meets a ball of less than nothing; a number that the knife does not have is left as it is."""
    knife = A.replace({"balls[0].recess.depth": None})
    sizes, depths = np.array([1.6, -1.0]), np.array([0.3, 0.4])
    many, bad, refused = sound(knife, {"balls[0].diameter": sizes, "balls[0].recess.depth": depths}, 2)
    assert bad.tolist() == [False, True]
    assert refused
    assert all(rows.tolist() == [False, True] for rows in refused.values())
    assert np.ravel(many.balls[0].diameter).tolist() == [1.6, A.balls[0].diameter]
    assert np.ravel(many.balls[0].recess.depth).tolist() == [0.3, 0.4]
