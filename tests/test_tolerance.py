"""Batches on paper: sampling against closed forms and published values, against knives felt one by one, and against the budget."""

from dataclasses import replace
from math import comb

import numpy as np
import pytest

import detentlib as dl
from detentlib.workshop.moves import as_made, with_second_leaf
from detentlib.workshop.pair import lead_at_stop, touch_lead, with_rim_lead
from detentlib.workshop.tuning.shop import SHOP, Operation, first_order, nominal, shop_doubts
from detentlib.workshop.tuning.spread import Even, Normal, share_interval, spread
from detentlib.workshop.tuning.window import read_window
from tests.knives import A, B, C, measured

ROOT3 = 3**0.5


def total(drawn):
    return {"sum": sum(drawn.values())}


def half_width(sample, result="sum"):
    low, _, high = sample.quantiles(result)
    return (high - low) / 2


# published: JCGM 101:2008 (supplement 1 to the GUM), 9.2.2 to 9.2.4, the additive model; the last digits by convolution


def test_four_normal_inputs():
    sample = spread(total, {name: Normal(0, 2) for name in "abcd"}, n=1_000_000, seed=3, chunk=100_000)
    assert sample.values["sum"].std() == pytest.approx(2.0, abs=0.01)
    assert half_width(sample) == pytest.approx(3.92, abs=0.01)


def test_four_rectangular_inputs():
    sample = spread(total, {name: Even(0, ROOT3) for name in "abcd"}, n=1_000_000, seed=3, chunk=100_000)
    assert half_width(sample) == pytest.approx(3.8794, abs=0.01)
    assert all(share == pytest.approx(0.25, abs=0.005) for share in sample.shares["sum"].values())


def test_one_rectangular_input_that_outweighs_the_others():
    inputs = {name: Even(0, ROOT3 * width) for name, width in zip("abcd", (1, 1, 1, 10), strict=True)}
    sample = spread(total, inputs, n=1_000_000, seed=3, chunk=100_000)
    assert half_width(sample) == pytest.approx(17.016, abs=0.05)
    assert sample.values["sum"].std() == pytest.approx(10.149, abs=0.02)
    assert next(iter(sample.shares["sum"].items())) == ("d", pytest.approx(100 / 103, abs=0.005))


def test_correlated_inputs():
    """(1) Two that rise together: √(1 + 1 + 2 r) of one; (2) equal and opposite: nothing is left."""
    inputs = {"a": Normal(5, 2), "b": Normal(1, 2), "c": Normal(0, 2)}
    together = spread(lambda x: {"sum": x["a"] + x["b"], "c": x["c"]}, inputs, n=200_000, seed=2, correlations={("a", "b"): 0.6})
    assert together.values["sum"].std() == pytest.approx((2 + 1.2) ** 0.5, rel=0.01)
    assert together.shares["c"]["c"] == pytest.approx(1)
    assert together.shares["c"]["a"] < 1e-3
    against = spread(lambda x: {"sum": x["a"] + x["b"]}, inputs, n=1000, correlations={("a", "b"): -1.0})
    assert against.values["sum"] == pytest.approx(6.0)


@pytest.mark.parametrize(
    ("correlations", "match"),
    [
        ({("a", "z"): 0.5}, "names z"),
        ({("a", "b"): 1.5}, "cannot be 1.5"),
        ({("a", "e"): 0.5}, "names e, which is not a normal input"),
        ({("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}, "cannot all hold together"),
    ],
)
def test_correlations_that_cannot_be(correlations, match):
    inputs = {"a": Normal(0, 1), "b": Normal(0, 1), "c": Normal(0, 1), "e": Even(0, 1)}
    with pytest.raises(ValueError, match=match):
        spread(total, inputs, n=10, correlations=correlations)


def test_the_same_seed_gives_the_same_draws_however_chunked():
    inputs = {"a": Normal(0, 1), "b": Even(0, 1)}
    one, other = (spread(lambda x: x, inputs, n=5000, seed=9, chunk=chunk) for chunk in (5000, 333))
    more = spread(lambda x: x, inputs | {"c": Normal(0, 1)}, n=5000, seed=9)
    assert np.array_equal(one.values["a"], other.values["a"])
    assert np.array_equal(one.values["b"], more.values["b"])
    assert not np.array_equal(one.values["a"], spread(lambda x: x, inputs, n=5000, seed=10).values["a"])
    assert one.shares["a"]["a"] == pytest.approx(other.shares["a"]["a"], rel=1e-12)


def test_what_does_not_scatter_explains_nothing():
    sample = spread(lambda x: {"sum": x["a"], "same": 0.1 + 0 * x["a"]}, {"a": Normal(0, 1), "b": Normal(0.1, 0)}, n=1000)
    assert sample.shares["sum"]["b"] == 0
    assert set(sample.shares["same"].values()) == {0}


def test_draws_that_cannot_be_are_kept_apart():
    sample = spread(lambda x: {"x": x["a"], "possible": x["a"] > 0}, {"a": Normal(0, 1)}, n=4000)
    assert sample.possible.mean() == pytest.approx(0.5, abs=0.04)
    assert sample.quantiles("x")[0] > 0
    assert sample.values["x"].size == 4000
    assert spread(lambda x: {"x": x["a"], "possible": x["a"] > 99}, {"a": Normal(0, 1)}, n=10).shares == {"x": {}}


def test_no_draw_at_all_is_refused():
    with pytest.raises(ValueError, match="0 draws"):
        spread(total, {"a": Normal(0, 1)}, n=0)


def test_the_interval_of_a_share():
    """Wilson's interval for 0 of 10 and 5 of 10 by hand: z²/(n + z²) above zero, ½ ± ½ √(z²/(n + z²)); coverage by counting."""
    z2 = 1.959963984540054**2
    assert share_interval(0, 10) == (0.0, pytest.approx(z2 / (10 + z2)))
    assert share_interval(5, 10) == pytest.approx((0.5 - 0.5 * (z2 / (10 + z2)) ** 0.5, 0.5 + 0.5 * (z2 / (10 + z2)) ** 0.5))
    assert share_interval(10, 10)[1] == pytest.approx(1)
    n, p = 60, 0.3
    inside = sum(comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(n + 1) if share_interval(k, n)[0] <= p <= share_interval(k, n)[1])
    assert inside == pytest.approx(0.95, abs=0.02)


# knives

DOUBTS = {
    "balls[0].recess.diameter": 0.02,
    "balls[0].recess.rest_offset": 0.03,
    "balls[0].protrusion": 0.01,
    "bar.riding_force": 0.8,
    "bar.relief_thickness": 0.02,
    "friction.rim": 0.04,
    "friction.pivot_torque": 1.0,
    "blade.tab_arm": 0.6,
}
WINDOW = {"break_force": (11, 13), "letback_force": (6.5, None)}


def drawn_knives(knife, doubts, n, seed, made):
    """The same knives again, one by one, from the same streams."""
    drawn = spread(lambda x: x, {path: Normal(nominal(knife, path), doubt) for path, doubt in doubts.items()}, n, seed).values
    for k in range(n):
        numbers = {path: values[k].item() for path, values in drawn.items()}
        yield lambda numbers=numbers: knife.replace(as_made(knife, numbers) if made else numbers)


@pytest.mark.parametrize(("knife", "n", "made"), [(A, 120, False), (C, 120, False), (A, 30, True), (C, 30, True)], ids=["A", "C", "A made", "C made"])
def test_against_knives_felt_one_by_one(knife, n, made):
    knife = replace(knife, doubts={path: 3 * doubt for path, doubt in knife.doubts.items()})
    shop = [operation._replace(doubt=3 * operation.doubt) for operation in SHOP]
    felt, inside, refused = [], 0, 0
    found = dl.tolerance(knife, n, seed=4, window=WINDOW, made=shop if made else False)
    for make in drawn_knives(knife, shop_doubts(knife, shop) if made else knife.doubts, n, 4, made):
        try:
            one = dl.feel(make())
        except dl.KnifeError:
            refused += 1
            continue
        felt.append(one)
        inside += 11 <= one.break_force <= 13 and one.letback_force is not None and one.letback_force >= 6.5
    assert found.possible == n - refused
    assert found.inside == inside / n
    for result in ("break_force", "barrier", "rest_load"):
        assert found.values(result) == pytest.approx(np.array([getattr(one, result) for one in felt]), rel=1e-6)
    at_rest = np.mean([one.rest_carrier == len(knife.balls) - 1 for one in felt])
    assert found.touches[-1][0] == at_rest


@pytest.mark.parametrize("result", ["break_force", "letback_force", "barrier", "break_out_deg"])
def test_against_the_budget_where_the_case_is_nearly_straight(result):
    knife = replace(A, doubts={path: doubt / 2 for path, doubt in DOUBTS.items()})
    budget, found = dl.budget(knife, result), dl.tolerance(knife, 20_000)
    low, middle, high = found.quantiles[result]
    assert (high - low) / 2 / 1.959964 * 2 == pytest.approx(budget.doubt, rel=0.03)
    assert middle == pytest.approx(budget.value, abs=0.05 * budget.doubt)
    assert found.largest(result)[0] == budget.largest
    for path in knife.doubts:
        assert found.contributors[result][path] == pytest.approx(budget.part(path), abs=0.02)
    assert sum(found.contributors[result].values()) == pytest.approx(1, abs=0.02)


def test_correlations_as_in_the_budget():
    pair = ("bar.riding_force", "friction.rim")
    knife = replace(A, doubts={path: DOUBTS[path] / 2 for path in pair})
    found = dl.tolerance(knife, 20_000, correlations={pair: -0.8})
    assert 2 * found.values("break_force").std() == pytest.approx(dl.budget(knife, "break_force", {pair: -0.8}).doubt, rel=0.02)


def test_first_order_against_the_budget():
    """`first_order` takes the larger of the two changes, so it lies a little above."""
    doubts = {path: doubt / 10 for path, doubt in DOUBTS.items() if path not in ("balls[0].protrusion", "bar.relief_thickness")}
    found = first_order(A, doubts, {"balls[0].recess.diameter": np.array([1.3208, 1.3208])}, ["break_force", "barrier"])
    for result, doubt in found.items():
        budget = dl.budget(replace(A, doubts=doubts), result).doubt
        assert doubt == pytest.approx([budget] * 2, rel=0.02)
        assert np.all(doubt >= budget)


def test_a_step_that_makes_it_impossible_leaves_no_room():
    wide = A.replace({"balls[0].recess.diameter": 1.69, "balls[0].recess.depth": None, "balls[0].protrusion": 0.78, "friction.rim": 0.01})
    found = first_order(wide, {"balls[0].recess.diameter": 0.05}, {"balls[0].recess.diameter": np.array([1.69, 1.5])}, ["barrier"])
    assert found["barrier"][0] == np.inf
    assert np.isfinite(found["barrier"][1])


def test_seeded_and_reproducible():
    one, again, other = (dl.tolerance(A, 1500, seed=seed) for seed in (7, 7, 8))
    assert np.array_equal(one.values("barrier"), again.values("barrier"))
    assert str(one) == str(again) != str(other)


def test_every_knife_is_counted():
    """A wide recess: some knives drop past the equator, some would have friction below zero; each is named, none is lost."""
    loose = replace(A, doubts={"balls[0].recess.diameter": 0.6, "friction.rim": 0.16})
    found = dl.tolerance(loose, 4000, window={"break_force": (0, None)})
    assert set(found.impossible) >= {"rim gap not smaller than the ball's radius", "friction coefficient at the rim below zero"}
    # one standard deviation is half of the ±: below zero lies 1.5 of them away
    assert found.impossible["friction coefficient at the rim below zero"] / 4000 == pytest.approx(0.0668, abs=0.012)
    # the rim gap reaches the radius at a diameter of 2 (0.79375 + 0.06)
    assert found.impossible["rim gap not smaller than the ball's radius"] / 4000 == pytest.approx(0.1 * 0.994, abs=0.04)
    assert found.possible < 4000
    assert found.sample.values["break_force"].size == 4000
    assert found.values("break_force").size == found.possible
    assert found.inside == found.possible / 4000
    assert "friction coefficient at the rim below zero" in str(found)


def test_where_no_knife_can_work():
    none = replace(A.replace({"balls[0].recess.diameter": 1.9}), doubts={"balls[0].recess.diameter": 0.001})
    found = dl.tolerance(none, 50, window={"break_force": (0, None)})
    assert (found.possible, found.inside, found.quantiles, found.touches) == (0, 0.0, {}, ())
    assert "Cannot be made or cannot work: rim gap not smaller than the ball's radius: 50." in str(found)


def test_the_touch_threshold_is_smeared():
    """Half of the knives touch where the mean lies on the threshold; far above it nearly all; each by its own lead and threshold."""
    doubts = {"balls[1].recess.rest_offset": 0.02, "balls[1].protrusion": 0.005}
    for lead, low, high in ((0.0, 0.46, 0.54), (0.03, 0.99, 1.0), (-0.03, 0.0, 0.01)):
        knife = replace(with_rim_lead(B, touch_lead(B) + lead), doubts=doubts)
        found = dl.tolerance(knife, 2000)
        assert low <= found.touches[1][0] <= high
        assert found.touches[1][1] >= found.touches[1][0]
        assert found.touch_lead == pytest.approx(touch_lead(B), abs=1e-6)
    sure = replace(with_rim_lead(B, touch_lead(B)), doubts={"balls[1].recess.rest_offset": 0.02})
    found = dl.tolerance(sure, 500)
    # with sure heights the lead alone decides which ball carries
    assert np.array_equal(found.values("ball 2 at rest"), found.values("rim_lead") > found.touch_lead)
    assert found.values("rim_lead").mean() == pytest.approx(lead_at_stop(sure), abs=0.002)


def test_a_second_leaf_always_carries():
    found = dl.tolerance(replace(with_second_leaf(B), doubts={"balls[1].protrusion": 0.01}), 50)
    assert found.touches == ((1.0, 1.0), (1.0, 1.0))
    assert found.touch_lead is None
    assert "idle_clearance" not in found.quantiles
    assert "taken as rigid" not in str(found)


def test_a_batch_of_a_shop_is_not_the_doubt_of_one_knife():
    """A relief that comes out thicker presses harder by its cube in a batch; in one knife the riding force is measured by itself."""
    thick = {"bar.relief_thickness": 0.02}
    own = dl.tolerance(replace(A, doubts=thick), 3000)
    batch = dl.tolerance(A, 3000, made=[Operation("cutting the relief", r"bar\.relief_thickness", 0.02)])
    # the force grows a little less than by the cube, as the thick part bends too (92 % of it is the relief)
    assert batch.values("break_force").std() / 12.04 == pytest.approx(3 * 0.92 * 0.01 / 1.10, rel=0.05)
    assert own.values("break_force").std() < 0.3 * batch.values("break_force").std()


def test_the_stop_pin_of_a_batch_moves_both_balls():
    found = dl.tolerance(C, 200, made=[Operation("fitting the stop pin", "stop", 0.02)])
    assert found.largest("break_force") == ("stop", pytest.approx(1, abs=0.05))


def test_the_table_for_people():
    found = dl.tolerance(replace(C, doubts=DOUBTS), 500, window=WINDOW)
    text = str(found)
    assert repr(found) == f"<Tolerance: 500 knives, {100 * found.inside:.1f} % inside the window>"
    assert text.startswith("Pellowfen C: 500 knives, as far as its ± is known\n")
    assert "friction coefficient at the rim, " in text
    assert "Window: break force at least 11.00 N (2.47 lbf), break force at most 13.00 N (2.92 lbf), let-back force at least" in text
    assert "Ball 2 carries at rest in " in text
    assert found._repr_markdown_().count("\n| ") == 5
    low, high = found.interval
    assert low < found.inside < high
    assert repr(dl.tolerance(A, 20)) == "<Tolerance: 20 knives>"
    assert dl.tolerance(A, 20).inside is None


def test_a_let_back_that_is_not_given_is_outside():
    off = replace(A.replace({"balls[0].recess.off_track": 0.05, "friction.rim": 0.25}), doubts={"bar.riding_force": 0.1})
    assert dl.tolerance(off, 20, window={"letback_force": (0, None)}).inside == 0
    assert dl.tolerance(off, 20, window={"break_force": (0, None)}).inside == 1


def test_no_doubt_no_sample():
    with pytest.raises(dl.KnifeError, match="no number has a ±"):
        dl.tolerance(measured(A))


@pytest.mark.parametrize(
    ("window", "match"),
    [
        ({"break_forse": (8, 10)}, "Did you mean break_force"),
        ({"break_force": (10, 8)}, "the least is above the most"),
        ({"break_force": 8}, "Give .least, most."),
        ({"break_force": ("8 mm", None)}, "a unit of length, where a force is wanted"),
        ({"break_force": (None, None)}, "it has no edge"),
        ({"break_force": (float("nan"), 1)}, "not a finite number"),
        ({"idle_clearance": (0.02, None)}, "has no clearance of the idle ball. Because no two balls share a bar"),
    ],
)
def test_windows_that_cannot_be_read(window, match):
    with pytest.raises(dl.KnifeError, match=match):
        dl.tolerance(A, 10, window=window)


def test_windows_in_inch_units():
    low, high = read_window({"break_force": ("2 lbf", "2.25 lbf")})
    assert (low.at, high.at) == pytest.approx((8.8964, 10.0085), abs=1e-4)
    with pytest.raises(dl.KnifeError) as error:
        read_window({"break_force": ("2 mm", 3), "barier": (1, 2)})
    assert len(error.value.problems) == 2
