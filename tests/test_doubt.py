"""Doubt of a result: its two ends against a Monte Carlo written out here, each share against the slope, honest
answers at limits.
"""

from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.doubt.budget import gives, why_not_given
from detentlib.doubt.cloud import cloud
from detentlib.doubt.many import RESULTS
from tests.knives import CARDS, JOINED, A, C, measured

DOUBTS = {
    "balls[0].recess.diameter": 0.01,
    "balls[0].recess.rest_offset": 0.02,
    "balls[0].protrusion": 0.005,
    "balls[0].track_radius": 0.05,
    "bar.riding_force": 0.8,
    "bar.relief_thickness": 0.01,
    "friction.rim": 0.03,
    "friction.pivot_torque": 1.0,
    "blade.tab_arm": 0.5,
}
DOUBTFUL = replace(A, doubts=DOUBTS)


@pytest.fixture(scope="module")
def sampled():
    """Twenty thousand knives scattered as the doubts say: 95 % of a normal number lie within 1.96 standard
    deviations.
    """
    rng = np.random.default_rng(20)
    drawn = {path: A.get(path) + doubt / 1.96 * rng.standard_normal((20_000, 1)) for path, doubt in DOUBTS.items()}
    return dl.feel_many(A.with_arrays(drawn))


@pytest.mark.checked_by("brute force", "Monte Carlo by numpy's own numbers", "budget", "budgets")
@pytest.mark.parametrize(
    "result",
    ["break_force", "letback_force", "barrier", "gauge_break_force", "draw_in_deg", "break_out_deg", "rest_load"],
)
def test_against_monte_carlo(result, sampled):
    ends, values = dl.budget(DOUBTFUL, result).interval, sampled.values[result]
    assert sampled.possible.all()
    assert ends[1:3] == pytest.approx(np.quantile(values, [0.025, 0.975]), abs=0.08 * ends.doubt)
    assert np.mean((values > ends.low) & (values < ends.high)) == pytest.approx(0.95, abs=0.012)
    assert ends.lost == 0


@pytest.mark.checked_by("brute force", "Monte Carlo by numpy's own numbers", "budget")
@pytest.mark.parametrize("r", [0.9, -0.9])
@pytest.mark.parametrize("result", ["break_force", "barrier"])
def test_against_monte_carlo_with_inputs_that_share_readings(result, r):
    """Diameter and rest offset of one recess from one trace: with r = 0.9 most of their doubt in the rim gap
    cancels.
    """
    pair = ("balls[0].recess.diameter", "balls[0].recess.rest_offset")
    rng = np.random.default_rng(21)
    drawn = {path: A.get(path) + doubt / 1.96 * rng.standard_normal((10_000, 1)) for path, doubt in DOUBTS.items()}
    one, other = rng.multivariate_normal([0, 0], [[1, r], [r, 1]], 10_000).T
    drawn |= {
        path: A.get(path) + DOUBTS[path] / 1.96 * normal[:, None]
        for path, normal in zip(pair, (one, other), strict=True)
    }
    values = dl.feel_many(A.with_arrays(drawn)).values[result]
    found = dl.budget(replace(DOUBTFUL, known_together={pair: r}), result).interval
    together = found.doubt
    assert found[1:3] == pytest.approx(np.quantile(values, [0.025, 0.975]), abs=0.06 * together)
    apart = dl.budget(DOUBTFUL, result).doubt
    assert together < 0.98 * apart if r > 0 else together > 1.02 * apart


@pytest.mark.parametrize("path", DOUBTS)
def test_each_share_is_slope_times_doubt(path):
    budget = dl.budget(DOUBTFUL, "break_force")
    step = 1e-4 * DOUBTS[path]
    high, low = (dl.feel(A.replace({path: A.get(path) + side * step})).break_force for side in (1, -1))
    slope = (high - low) / (2 * step) * DOUBTS[path]
    assert budget.shares[path] == pytest.approx(slope, rel=0.03, abs=2e-3 * budget.doubt)


def test_shares_together_make_the_whole():
    """Of a result that is nearly straight in all its inputs."""
    budget = dl.budget(DOUBTFUL, "break_force")
    assert sum(budget.part(path) for path in budget.shares) == pytest.approx(1, abs=0.01)
    sizes = [abs(share) for share in budget.shares.values()]
    assert sizes == sorted(sizes, reverse=True)
    assert budget.largest == next(iter(budget.shares))
    assert set(budget.shares) == set(DOUBTS)


@pytest.mark.parametrize("doubt", [0.02, 0.05])
def test_an_effect_that_is_the_same_on_both_sides_is_seen(doubt):
    """An off-track error, whichever way, makes the seat less steep along the track: 95 % of such knives lie within
    the ±.
    """
    path = "balls[0].recess.off_track"
    found = dl.budget(replace(A, doubts={path: doubt}), "break_force")
    drawn = np.random.default_rng(22).normal(0.0, doubt / 1.96, (20_000, 1))
    values = dl.feel_many(A.with_arrays({path: drawn})).values["break_force"]
    assert found.shares[path] != 0
    assert found.interval.high == found.value  # nothing makes it stronger than on the track
    assert np.mean((values >= found.interval.low) & (values <= found.value * (1 + 1e-9))) == pytest.approx(
        0.95, abs=0.006
    )


def test_let_back_that_is_not_given_far_off_the_track_has_a_doubt():
    found = dl.budget(
        replace(A.replace({"friction.rim": 0.25}), doubts={"balls[0].recess.off_track": 0.015}), "letback_force"
    )
    assert found.interval.lost == 0
    assert found.doubt > 0


def test_what_one_body_brings_takes_part_in_the_headline():
    """Root, play of the pivot, place off the track: each as far as its ± moves the knife, which is moved here by
    hand.
    """
    card = CARDS["A"]
    found = dl.budget(card, "break_force")
    for path in ("bar.root_up", "bar.root_side", "blade.pivot_play"):
        high, low = (
            dl.feel(card.replace({path: card.get(path) + side * card.doubts[path] / 2})).break_force for side in (1, -1)
        )
        assert found.shares[path] == pytest.approx(high - low, rel=0.1)
        assert abs(found.shares[path]) > 0.05
    assert abs(found.shares["balls[0].recess.off_track"]) > 0.05
    rate_only = measured(card).replace({"bar.side_compliance": 0.0035})
    assert (
        dl.budget(replace(rate_only, doubts={"bar.side_compliance": 0.0005}), "break_force").shares[
            "bar.side_compliance"
        ]
        > 0.1
    )


def test_signs_of_the_shares():
    shares = dl.budget(DOUBTFUL, "break_force").shares
    assert shares["friction.rim"] > 0
    assert shares["bar.riding_force"] > 0
    assert shares["balls[0].recess.diameter"] > 0
    assert shares["balls[0].recess.rest_offset"] < 0
    assert shares["blade.tab_arm"] < 0
    assert shares["balls[0].protrusion"] == 0
    assert dl.budget(DOUBTFUL, "letback_force").shares["friction.rim"] < 0


def test_twice_the_doubt_twice_the_share():
    once, twice = (dl.budget(replace(A, doubts={"bar.riding_force": doubt}), "break_force") for doubt in (0.2, 0.4))
    assert twice.doubt == pytest.approx(2 * once.doubt, rel=1e-6)


def test_no_doubt_at_all():
    budget = dl.budget(replace(A, doubts={}), "break_force")
    assert (budget.doubt, budget.largest, dict(budget.shares)) == (0, None, {})


def test_an_input_that_does_not_matter_is_not_the_largest():
    budget = dl.budget(replace(A, doubts={"blade.mass": 1.0, "balls[0].run_off_deg": 1.0}), "break_force")
    assert budget.doubt == 0
    assert budget.largest is None
    assert budget.part("blade.mass") == 0


def test_a_doubt_of_nothing_counts_as_nothing():
    assert dl.budget(replace(A, doubts={"friction.rim": 0.0}), "break_force").shares == {}


def test_draws_that_cannot_work_are_counted():
    """Close to the largest recess a part of the ± is no knife; the ends are those of all others."""
    near = measured(A).replace(
        {"balls[0].recess.depth": None, "balls[0].protrusion": 0.78, "bar.rate": 5.0, "friction.rim": 0.01}
    )
    near = near.replace({"balls[0].recess.diameter": 1.69, "balls[0].recess.rest_offset": 0.06})
    found = dl.budget(replace(near, doubts={"balls[0].recess.diameter": 0.05}), "barrier").interval
    drawn = near.with_arrays(
        {"balls[0].recess.diameter": np.random.default_rng(5).normal(1.69, 0.05 / 1.96, (20_000, 1))}
    )
    many = dl.feel_many(drawn)
    assert found.lost == pytest.approx(1 - many.possible.mean(), abs=0.01)
    inside = (many.values["barrier"] >= found.low) & (many.values["barrier"] <= found.high)
    assert inside[many.possible].mean() == pytest.approx(0.95, abs=0.01)


@pytest.mark.parametrize("turned", [False, True])
def test_two_recesses_that_err_together_stand_in_the_order_of_the_balls(turned):
    """Of two recesses drilled in one clamping, rounding alone would say which brings more."""
    pair = [f"balls[{i}].recess.off_track" for i in (1, 0)]
    twins = replace(JOINED, doubts=dict.fromkeys(pair[::-1] if turned else pair, 0.05))
    twins = replace(twins, known_together={tuple(pair[::-1]): 1.0})
    for result in ("break_force", "letback_force"):
        found = dl.budget(twins, result)
        assert list(found.shares) == pair[::-1]
        assert found.largest == "balls[0].recess.off_track"


def test_draws_with_a_ball_nearer_to_the_pivot_than_to_its_recess_are_counted():
    """Such a ball never passes its recess. A card fitted to readings of another knife is that wide."""
    wide = {"balls[1].track_radius": 17.0, "balls[1].recess.off_track": 1.0, "balls[1].recess.rest_offset": 0.4}
    found = dl.budget(replace(CARDS["B"], doubts=wide), "break_force").interval
    assert 0.1 < found.lost < 1
    assert np.isfinite([found.low, found.high]).all()


@pytest.mark.parametrize(
    "result", ["break_force", "stud_break_force", "snap_ratio", "rate", "relief_stress_ride", "relief_stress_side"]
)
def test_value_and_unit(result):
    budget = dl.budget(DOUBTFUL, result)
    assert budget.value == pytest.approx(getattr(dl.feel(A), result), rel=1e-9)
    assert budget.unit == {
        "snap_ratio": "",
        "rate": "N/mm",
        "relief_stress_ride": "MPa",
        "relief_stress_side": "MPa",
    }.get(result, "N")


def test_two_balls():
    budget = dl.budget(C, "break_force")
    assert budget.doubt > 0
    assert "balls[1].recess.rest_offset" in budget.shares


def test_a_result_that_is_no_number_is_told():
    with pytest.raises(
        ValueError, match=r"'handovers' is no result that is worked out here; take one of break_force, letback_force"
    ):
        dl.budget(A, "handovers")


@pytest.mark.parametrize(
    ("knife", "result", "reason"),
    [
        (A.replace({"blade.stud_arm": None}), "stud_break_force", "no stud arm"),
        (measured(A), "relief_stress_rest", "no drawn sizes"),
        (A.replace({"balls[0].recess.off_track": 0.05, "friction.rim": 0.25}), "letback_force", "flags"),
    ],
)
def test_a_result_that_is_not_given_is_told(knife, result, reason):
    with pytest.raises(ValueError, match=f"{result} is not given for Pellowfen A: .*{reason}"):
        dl.budget(knife, result)


def test_a_knife_that_has_everything_gives_every_result():
    given = cloud(CARDS["C"]).felt().values
    assert [name for name in RESULTS if name not in given] == [], "work it out in `_more` of doubt/many.py"


def test_what_a_bare_knife_does_not_give_has_its_reason():
    bare = cloud(measured(A))
    assert [why_not_given(result) for result in RESULTS if not gives(bare, result)]
    with pytest.raises(ValueError, match="'contact_deg' is no result that is worked out here"):
        gives(bare, "contact_deg")


def test_an_impossible_knife_is_refused():
    with pytest.raises(dl.KnifeError, match="rim gap"):
        dl.budget(A.replace({"balls[0].recess.diameter": 1.8}), "break_force")
