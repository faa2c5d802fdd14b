"""What the bench says holds the truth, on a few knives of another simulator; the table of many: `python -m
tests.coverage`.
"""

from dataclasses import replace

import numpy as np
import pytest

from detentlib.doubt.budget import budget
from detentlib.measure.fit import fit_knife
from detentlib.measure.trace import lift_trace
from detentlib.say.measured import WIDE, fit_words
from tests.coverage import CARD, GIVING, TWO, circles, fits, pulls, runs, traces, zero_off
from tests.readings_made import Hand

FEW = 5


@pytest.mark.checked_by("a simulator", "spheres, springs and Coulomb's law", "lift_trace")
@pytest.mark.parametrize(
    ("which", "count", "faults"), [("plain", 3, {"zero": zero_off}), ("plain", 3, {"drift": 10.0}), ("edge", FEW, {})]
)
def test_a_trace_with_faults_holds_the_truth_and_shows_no_second_ball(which, count, faults):
    """All of 3 must hold it, or 4 of 5: with a ± that holds in half of all cases that is one time in eight, or five."""
    found = traces(which, CARD, count, **faults)
    assert found["contact angle"] >= 0.8
    assert found["break-out"] >= 0.8
    assert found["second ball seen"] <= 0.2


@pytest.mark.parametrize(("which", "card", "seed"), [("plain", CARD, 9), ("two balls", TWO, 5)])
def test_waves_of_a_drift_are_not_taken_for_the_handover_of_a_second_ball(which, card, seed):
    """Where two arcs follow the waves of a drifting hand far better than one, with or without a second ball: no
    angle of theirs is believed.
    """
    run = runs(which, seed + 1)[seed]
    found = lift_trace(Hand(seed, drift=10.0).trace(run), card)
    assert found.chance < 1e-4
    assert found.handover is None
    assert "cannot tell one ball from two, and each ± covers both" in found.verdict
    assert abs(found.contact_deg.value - run.contact_deg) <= found.contact_deg.doubt


def test_readings_shown_in_coarse_steps_are_neither_a_second_ball_nor_a_burr():
    """Steps of 0.5° and 0.01 mm scatter by a twelfth of their square, which is as much again as the hand does."""
    run = runs("plain", 4)
    found = [lift_trace(Hand(seed, steps=(0.5, 0.01)).trace(run[seed]), CARD) for seed in (1, 3)]
    assert [each.handover for each in found] == [None, None]
    assert min(each.explained for each in found) > 0.01


def test_pulls_hold_the_friction_with_and_without_stick_slip():
    assert pulls("plain", CARD, FEW)["friction"] >= 0.8
    assert pulls("plain", CARD, FEW, stick_slip=0.05)["friction"] >= 0.8


@pytest.mark.checked_by("a simulator", "spheres, springs and Coulomb's law", "fit_knife")
def test_a_fit_holds_the_numbers_of_the_knife_and_what_it_does():
    assert min(fits("plain", CARD, FEW).values()) >= 0.8
    assert min(fits("give", GIVING, FEW).values()) >= 0.8


def test_forces_of_a_fitted_knife_are_wide_by_its_off_track_error_and_that_is_said():
    """Up to some two times: against the same fit by a card that knows of no such error, where nothing acts evenly."""
    path, ratios = "balls[0].recess.off_track", []
    on_track = replace(CARD, doubts={each: doubt for each, doubt in CARD.doubts.items() if each != path})
    for seed in (0, 4):
        run, hand = runs("plain", 5)[seed], Hand(seed)
        readings = [hand.trace(run, np.linspace(0.1, 6, 60)), hand.pulls(run), hand.forces(run)]
        wide, narrow = (fit_knife(card, readings) for card in (CARD, on_track))
        assert WIDE in fit_words(wide)
        assert WIDE not in fit_words(narrow)
        ratios.append(budget(wide.knife, "break_force").doubt / budget(narrow.knife, "break_force").doubt)
    assert 1.1 < ratios[0] < 1.7 < ratios[1] < 2.5


def test_a_fit_to_pulls_that_stick_and_slip_holds_the_friction():
    """Up to 10 % of overshoot at each pull; 16 of 20 is what chance leaves of 19."""
    assert fits("plain", CARD, 20, stick_slip=0.1)["friction.rim"] >= 0.8


@pytest.mark.parametrize("oval", [0.0, 0.005, 0.01, 0.02])
def test_circles_lie_within_their_own_doubt(oval):
    """At 0.5 and 1 % the oval hides in the scatter of the points as often as not."""
    assert circles(200, oval)["radius"] >= 0.88


def test_a_hand_has_the_faults_that_it_is_given():
    errors = Hand(1, drift=10.0)._errors(5000)
    assert (errors[1:] @ errors[:-1]) / (errors @ errors) == pytest.approx(0.905, abs=0.02)
    assert errors.std() == pytest.approx(1.0, abs=0.15)
