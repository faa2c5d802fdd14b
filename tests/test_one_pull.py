"""A few sizes and one pull: held against a direct fit, the theory of normal numbers, and drawn truths."""

from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.files.fields import knife_from_fields
from detentlib.knife.units import SURE
from detentlib.measure.one_pull import TOLD, going_with, one_pull
from tests.knives import A

CALIPERS = {
    "balls[0].diameter": "1/16 in, stock size",
    "balls[0].protrusion": "0.42 mm, caliper depth rod",
    "balls[0].recess.diameter": "#55, drill",
    "blade.tab_arm": "14 mm, calipers",
}
SCALE = 1.5  # N, ± of a luggage scale


@pytest.fixture(scope="module")
def card():
    return knife_from_fields(CALIPERS, "mine")


def test_the_middle_is_that_of_a_direct_fit_and_the_pull_is_met(card):
    found = one_pull(card, 10.0, doubt=SCALE)
    pull = dl.readings_from_text("opening [N]\n10.0")
    assert pull.kind == "opening pull"
    noise = {"force": SCALE / 2**0.5, "gauge": SCALE / 2**0.5}
    felt = dl.feel(dl.fit_knife(card, [pull], noise=noise).knife)
    assert found.numbers["break_force"].value == pytest.approx(felt.break_force, rel=1e-9)
    # the usual values say 12.9 ± 9.4 N, 6 times as wide as the scale: the pull goes before them
    assert dl.feel(found.knife).gauge_break_force == pytest.approx(10.0, abs=0.15)


def test_where_one_number_alone_is_in_doubt_the_ends_are_those_of_two_normal_numbers():
    """Break force goes with riding force nearly as a straight line; two normal numbers join by their inverse squares.

    Source: Gelman and others, Bayesian Data Analysis, 2.5 (from memory).
    """
    knife = replace(
        A.replace({"bar.side_compliance": 0.0, "friction.pivot_torque": 0.0}), doubts={"bar.riding_force": 3.0}
    )
    step = dl.feel(knife.replace({"bar.riding_force": 18.04})).break_force - dl.feel(knife).break_force
    before, pull = 3.0 * step, dl.feel(knife).gauge_break_force
    found = one_pull(knife, pull, doubt=1.0).numbers["break_force"]
    assert found.value == pytest.approx(dl.feel(knife).break_force, rel=1e-4)
    assert found.doubt == pytest.approx((before**-2 + 1.0**-2) ** -0.5, rel=0.05)


@pytest.mark.parametrize("both", [False, True])
def test_the_ends_hold_drawn_truths(card, both):
    """Brute force: 200 knives drawn from the card, each pulled once with the scale's error; 95 % of them lie inside."""
    truths, drawn, rng = dl.cloud(card, n=256, seed=7), dl.cloud(card, n=4096), np.random.default_rng(1)
    ways = ("gauge_break_force", "gauge_letback_force")[: 1 + both]
    # as the card says: half of the variance is the scale's own, the same in both pulls
    error = SCALE / SURE * (rng.normal(size=(257, 1)) + rng.normal(size=(257, len(ways)))) / 2**0.5
    read = np.stack([truths.column(way) for way in ways], axis=1) + error
    inside, counted = dict.fromkeys(TOLD, 0), 0
    for i in range(1, 201):
        if np.isnan(read[i]).any():
            continue  # a knife that cannot work is not pulled
        try:
            rows = going_with(drawn, [float(each) for each in read[i]], SCALE / SURE)
        except dl.ReadingError:
            continue  # far from usual: the card is told so instead
        counted += 1
        for name in TOLD:
            low, high = np.quantile(drawn.column(name)[rows], (0.025, 0.975))
            inside[name] += low <= truths.column(name)[i] <= high
    assert counted > 180
    assert all(0.91 <= each / counted <= 0.99 for each in inside.values()), inside


@pytest.mark.parametrize("row", [14, 25])
def test_drawn_knives_lie_within_what_the_card_shows(card, row):
    truths = dl.cloud(card, n=64, seed=7)
    pull = float(truths.column("gauge_break_force")[row])
    found = one_pull(card, pull, float(truths.column("gauge_letback_force")[row]), SCALE).numbers
    assert all(found[name].low <= truths.column(name)[row] <= found[name].high for name in TOLD)


def test_a_pull_makes_it_surer_and_a_second_one_surer_still(card):
    none, one, two = one_pull(card), one_pull(card, 12.3, doubt=SCALE), one_pull(card, 12.3, 7.2, SCALE)
    doubts = [[found.numbers[name].doubt for name in ("break_force", "letback_force")] for found in (none, one, two)]
    assert doubts[0][0] > 5 * doubts[1][0]
    assert doubts[0][1] > doubts[1][1] > 2 * doubts[2][1]
    assert (none.loosest, one.loosest, two.loosest) == ("break_force", "letback_force", "barrier")
    assert two.advice == dl.next_measurement(two.knife, "barrier")[0]
    assert none.knife is card


def test_a_pull_far_from_usual_is_told_with_what_would_be_usual(card):
    with pytest.raises(dl.ReadingError, match=r"60.00 N \(13.5 lbf\) opening goes with hardly any knife") as caught:
        one_pull(card, 60.0, doubt=SCALE)
    assert str(caught.value).endswith("this bar is far from usual: measure its riding force.")


def test_a_let_back_pull_beyond_the_opening_one_is_asked_about(card):
    told = "15.00 N .* letting back goes with hardly any knife .* Opening must be the harder way; are the two exchanged"
    with pytest.raises(dl.ReadingError, match=told) as caught:
        one_pull(card, 9.0, 15.0, doubt=SCALE)
    assert "−" in str(caught.value)  # a true minus before the least let-back force, not a hyphen
    assert " -" not in str(caught.value)
