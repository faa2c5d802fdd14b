"""Batches on paper: against knives felt one by one, against the budget, and against what can be said by hand."""

from dataclasses import replace
from math import comb

import numpy as np
import pytest

import detentlib as dl
from detentlib.doubt.many import RESULTS
from detentlib.tune.moves import as_made, with_second_leaf
from detentlib.tune.pair import lead_at_stop, touch_lead, with_rim_lead
from detentlib.tune.shop import SHOP, Operation, scatter
from detentlib.tune.tolerance import share_interval
from detentlib.tune.window import read_window
from tests.knives import A, B, C, measured


def test_the_interval_of_a_share():
    """Wilson's interval for 0 and 5 of 10 by hand: z²/(n + z²) above zero, ½ ± ½ √(z²/(n + z²)); by counting."""
    z2 = 1.959963984540054**2
    assert share_interval(0, 10) == (0.0, pytest.approx(z2 / (10 + z2)))
    assert share_interval(5, 10) == pytest.approx(
        (0.5 - 0.5 * (z2 / (10 + z2)) ** 0.5, 0.5 + 0.5 * (z2 / (10 + z2)) ** 0.5)
    )
    assert share_interval(10, 10)[1] == pytest.approx(1)
    n, p = 60, 0.3
    inside = sum(
        comb(n, k) * p**k * (1 - p) ** (n - k)
        for k in range(n + 1)
        if share_interval(k, n)[0] <= p <= share_interval(k, n)[1]
    )
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


def drawn_knives(knife, found):
    """The same knives again, one by one."""
    numbers = found.drawn.numbers()
    for k in range(1, found.n + 1):
        one = {path: values[k].item() for path, values in numbers.items()}
        yield lambda one=one: knife.replace(as_made(knife, one) if found.made else one)


@pytest.mark.checked_by("brute force", "every knife felt by itself", "tolerance")
@pytest.mark.parametrize(
    ("knife", "n", "made"),
    [(A, 120, False), (C, 120, False), (A, 30, True), (C, 30, True)],
    ids=["A", "C", "A made", "C made"],
)
def test_against_knives_felt_one_by_one(knife, n, made):
    knife = replace(knife, doubts={path: 3 * doubt for path, doubt in knife.doubts.items()})
    shop = [operation._replace(doubt=3 * operation.doubt) for operation in SHOP]
    felt, inside, refused = [], 0, 0
    found = dl.tolerance(knife, n, seed=4, window=WINDOW, made=shop if made else False)
    for make in drawn_knives(knife, found):
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
    assert (high - low) / 2 == pytest.approx(budget.doubt, rel=0.03)
    assert middle == pytest.approx(budget.value, abs=0.05 * budget.doubt)
    assert found.largest(result)[0] == budget.largest
    for path in knife.doubts:
        assert found.contributors(result)[path] == pytest.approx(budget.part(path), abs=0.02)
    assert sum(found.contributors(result).values()) == pytest.approx(1, abs=0.02)


def test_correlations_as_in_the_budget():
    pair = ("bar.riding_force", "friction.rim")
    knife = replace(A, doubts={path: DOUBTS[path] / 2 for path in pair}, known_together={pair: -0.8})
    low, _, high = dl.tolerance(knife).quantiles["break_force"]
    assert (high - low) / 2 == pytest.approx(dl.budget(knife, "break_force").doubt, rel=0.02)
    alone = dl.budget(replace(knife, known_together={}), "break_force").doubt
    assert dl.budget(knife, "break_force").doubt < 0.6 * alone


def test_the_scatter_of_a_batch_against_the_budget():
    """64 draws are enough for a ± within a tenth."""
    doubts = {
        path: doubt / 3 for path, doubt in DOUBTS.items() if path not in ("balls[0].protrusion", "bar.relief_thickness")
    }
    found = scatter(A, doubts, {"balls[0].recess.diameter": np.array([1.3208, 1.3208])}, ["break_force", "barrier"])
    for result, doubt in found.items():
        assert doubt == pytest.approx([dl.budget(replace(A, doubts=doubts), result).doubt] * 2, rel=0.1)


def test_a_draw_that_is_impossible_leaves_no_room():
    wide = A.replace(
        {
            "balls[0].recess.diameter": 1.69,
            "balls[0].recess.depth": None,
            "balls[0].protrusion": 0.78,
            "friction.rim": 0.01,
        }
    )
    found = scatter(
        wide, {"balls[0].recess.diameter": 0.05}, {"balls[0].recess.diameter": np.array([1.69, 1.5])}, ["barrier"]
    )
    assert found["barrier"][0] == np.inf
    assert np.isfinite(found["barrier"][1])


def test_seeded_and_reproducible():
    one, again, other = (dl.tolerance(A, 1500, seed=seed) for seed in (7, 7, 8))
    assert np.array_equal(one.values("barrier"), again.values("barrier"))
    assert str(one) == str(again) != str(other)


def test_every_knife_is_counted():
    """A wide recess: some knives drop past the equator; each is named, none is lost. Friction stays above zero."""
    loose = replace(A, doubts={"balls[0].recess.diameter": 0.6, "friction.rim": 0.16})
    found = dl.tolerance(loose, 4000, window={"break_force": (0, None)})
    # the rim gap reaches the radius at a diameter of 2 (0.79375 + 0.06): 1.26 standard deviations of 0.6/1.96 away
    assert found.impossible["rim gap not smaller than the ball's radius"] / 4000 == pytest.approx(0.103, abs=0.02)
    assert found.possible < 4000
    assert found.values("break_force").size == found.possible
    assert found.inside == found.possible / 4000
    assert found.drawn.numbers()["friction.rim"].min() >= 0
    assert "rim gap not smaller than the ball's radius" in str(found)


def test_a_drawing_that_cannot_work_is_refused():
    none = replace(A.replace({"balls[0].recess.diameter": 1.9}), doubts={"balls[0].recess.diameter": 0.001})
    with pytest.raises(dl.KnifeError, match="rim gap"):
        dl.tolerance(none, 50, window={"break_force": (0, None)})


def test_the_touch_threshold_is_smeared():
    """Half of the knives touch where the mean lies on the threshold; far above it nearly all; each by its own lead."""
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
    """A thicker relief presses harder by its cube in a batch; in one knife the riding force is measured by itself."""
    thick = {"bar.relief_thickness": 0.02}
    own = dl.tolerance(replace(A, doubts=thick), 3000)
    batch = dl.tolerance(A, 3000, made=[Operation("cutting the relief", "bar.relief_thickness", 0.02)])
    # the force grows a little less than by the cube, as the thick part bends too (92 % of it is the relief)
    assert batch.values("break_force").std() / 12.04 == pytest.approx(3 * 0.92 * 0.02 / 1.96 / 1.10, rel=0.05)
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
    assert (
        "Window: break force at least 11.00 N (2.47 lbf), break force at most 13.00 N (2.92 lbf), let-back force at"
        " least" in text
    )
    assert "Ball 2 carries at rest in " in text
    assert found._repr_markdown_().count("\n| ") == 5
    low, high = found.interval
    assert low < found.inside < high
    assert repr(dl.tolerance(A, 20)) == "<Tolerance: 20 knives>"
    assert dl.tolerance(A, 20).inside is None


def test_a_let_back_that_is_not_given_is_outside():
    off = replace(
        A.replace({"balls[0].recess.off_track": 0.05, "friction.rim": 0.25}), doubts={"bar.riding_force": 0.1}
    )
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
        ({"break_force": 8}, "in Python also .least, most."),
        ({"break_force": ("8 mm", None)}, "a unit of length, where a force is wanted"),
        ({"break_force": (None, None)}, "it has no edge"),
        ({"break_force": (float("nan"), 1)}, "not a finite number"),
        ({"idle_clearance": (0.02, None)}, "has no clearance of the idle ball. Because no two balls share a bar"),
    ],
)
def test_windows_that_cannot_be_read(window, match):
    with pytest.raises(dl.KnifeError, match=match):
        dl.tolerance(A, 10, window=window)


@pytest.mark.parametrize("result", ["relief_stress", "relief_stress_side", "rim_lead"])
def test_a_window_of_what_the_knife_does_not_give_is_refused(result):
    with pytest.raises(dl.KnifeError, match=f"window of the {RESULTS[result].words}: .* Because "):
        read_window({result: (None, 5)}, measured(A))


def test_windows_in_inch_units():
    low, high = read_window({"break_force": ("2 lbf", "2.25 lbf")})
    assert (low.at, high.at) == pytest.approx((8.8964, 10.0085), abs=1e-4)
    with pytest.raises(dl.KnifeError) as error:
        read_window({"break_force": ("2 mm", 3), "barier": (1, 2)})
    assert len(error.value.problems) == 2
