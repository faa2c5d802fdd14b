"""What the bench says holds the truth, on a few knives of another simulator; the table of many: `python -m tests.coverage`."""

import pytest

from tests.coverage import CARD, circles, fits, pulls, traces, zero_off
from tests.readings_made import Hand

FEW = 5


@pytest.mark.parametrize(("which", "faults"), [("plain", {"zero": zero_off}), ("plain", {"drift": 10.0}), ("edge", {})])
def test_a_trace_with_faults_holds_the_truth_and_shows_no_second_ball(which, faults):
    found = traces(which, CARD, FEW, **faults)
    assert found["contact angle"] >= 0.8
    assert found["break-out"] >= 0.8
    assert found["second ball seen"] <= 0.2


def test_pulls_hold_the_friction_with_and_without_stick_slip():
    assert pulls("plain", CARD, FEW)["friction"] >= 0.8
    assert pulls("plain", CARD, FEW, stick_slip=0.05)["friction"] >= 0.8


def test_a_fit_holds_the_numbers_of_the_knife_and_what_it_does():
    assert min(fits("plain", CARD, FEW).values()) >= 0.8


@pytest.mark.parametrize("oval", [0.0, 0.005, 0.01, 0.02])
def test_circles_lie_within_their_own_doubt(oval):
    """At 0.5 and 1 % the oval hides in the scatter of the points as often as not."""
    assert circles(200, oval)["radius"] >= 0.88


def test_a_hand_has_the_faults_that_it_is_given():
    errors = Hand(1, drift=10.0)._errors(5000)
    assert (errors[1:] @ errors[:-1]) / (errors @ errors) == pytest.approx(0.905, abs=0.02)
    assert errors.std() == pytest.approx(1.0, abs=0.15)
