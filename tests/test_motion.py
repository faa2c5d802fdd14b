"""Rough motion against an independent integrator and against energy."""

import numpy as np
import pytest

import detentlib as dl
from detentlib.mechanics.motion import finger_words, flick, rough_motion
from tests.knives import CARDS, A

INERTIA = 7.4e-5  # kg·m²


def stepped(knife, stiffness, finger, steps=200_000, dt=2e-6):
    """The same flick in SI units by half-step (leapfrog) stepping, its own interpolation of the sweep; finger in
    mm/s.
    """
    felt = dl.feel(knife)
    angle = np.linspace(0.0, 178.0, 40_001)
    torque = (dl.sweep(knife, angle).torque + knife.friction.pivot_torque) / 1000
    arm, theta, speed, lost = knife.blade.tab_arm / 1000, np.radians(felt.peak_deg), 0.0, False
    squeezed = felt.gauge_break_force / stiffness / 1000

    def acceleration(theta, time):
        force = (
            0.0
            if lost
            else 1000 * stiffness * (squeezed + finger / 1000 * time - arm * (theta - np.radians(felt.peak_deg)))
        )
        return (force * arm - np.interp(np.degrees(theta), angle, torque)) / INERTIA

    for step in range(steps):
        speed += 0.5 * dt * acceleration(theta, step * dt)
        theta += dt * speed
        speed += 0.5 * dt * acceleration(theta, (step + 1) * dt)
        lost = lost or squeezed + finger / 1000 * (step + 1) * dt < arm * (theta - np.radians(felt.peak_deg))
        if theta >= np.radians(178.0):
            return True, 178.0, speed, (step + 1) * dt
        if lost and speed <= 0:
            return False, np.degrees(theta), 0.0, (step + 1) * dt
    raise AssertionError("neither arrived nor died")


@pytest.mark.checked_by("brute force", "half-step integration in SI", "rough_motion", "D1")
@pytest.mark.parametrize("knife", [A, CARDS["A"]], ids=["stiff bar", "one body"])
@pytest.mark.parametrize(("stiffness", "finger"), [(0.5, 20.0), (2.0, 20.0), (2.0, 400.0)])
def test_flick_against_half_steps(knife, stiffness, finger):
    found = flick(knife, stiffness, finger)
    opens, reached, speed, time = stepped(knife, stiffness, finger)
    assert found.opens is opens
    assert found.reached_deg == pytest.approx(reached, rel=2e-3)
    assert found.speed == pytest.approx(speed, rel=5e-3, abs=1e-9)
    assert found.time == pytest.approx(time, abs=2e-3)


def test_a_finger_that_hardly_moves_lets_out_what_it_holds():
    """Work of the finger, let out whole, less all resistance on the way is the energy at the stop."""
    stiffness = 0.5
    felt, found = dl.feel(A), flick(A, stiffness, 1e-3)
    assert found.opens
    finger = felt.gauge_break_force**2 / (2 * stiffness)  # mJ
    swung = dl.sweep(A, np.linspace(felt.peak_deg, 178.0, 40_001))
    eaten = np.trapezoid(swung.torque + 3.0, np.radians(swung.angle_deg))
    assert 1000 * INERTIA * found.speed**2 / 2 == pytest.approx(finger - eaten, rel=5e-3)


def test_a_quick_finger_gets_further_over_a_smooth_peak():
    """Off the track the peak is smooth; a finger that moves leaves it, and the quicker the further."""
    smooth = CARDS["A"].replace({"balls[0].recess.off_track": 0.05})
    assert dl.feel(smooth).peak_deg > dl.feel(CARDS["A"]).peak_deg
    reached = [flick(smooth, 2.0, speed).reached_deg for speed in (20.0, 40.0, 60.0)]
    assert reached == sorted(reached)
    assert reached[0] > dl.feel(smooth).break_out_deg


@pytest.mark.checked_by("by hand", "m g h and r F", "rough_motion", "D2", "D3")
def test_shake_and_drop_of_demo_a():
    """Shake: from let-back to break force over m·r. Drop: 22 mm with the barrier, about 31 with the work; m·g·h
    would say 13.
    """
    found = rough_motion(A)
    assert found.shake == pytest.approx(tuple(1e3 * force * 14 / (34 * 36) for force in (7.178, 12.252)), rel=1e-3)
    low, high = found.drop
    assert low == pytest.approx(22, abs=0.5)
    assert high == pytest.approx(31, abs=1.5)
    assert found.barrier / (0.034 * 9.80665) == pytest.approx(13, abs=0.2)
    assert found.swing_drag == pytest.approx(60, abs=1)


def test_what_is_missing_is_named():
    with pytest.raises(dl.KnifeError, match=r"blade\.inertia: is not known"):
        rough_motion(A.replace({"blade.inertia": None}))


def test_the_ranges_are_said_with_what_decides_them():
    flicked, shaken, dropped = rough_motion(A).words
    assert flicked.startswith(
        "flick: reaches 122° to 178°, by the finger (0.5 to 2 N/mm stiff, moved at 20 to 400 mm/s: judgement)"
    )
    assert shaken.startswith("shake: opens at 82 to 140 m/s²")
    assert dropped.startswith("drop on to the edge: 22 to 30 mm is a lower bound for a handle that stops dead")


def test_easy_to_push_and_hard_to_flick():
    """10 N is 7 to 10 % of the greatest thumb press (Applied Sciences 10 (2020) 194) and more than a mean index
    flick of 6.8 N.
    """
    assert finger_words(10.0).startswith("10.0 N is 7 to 10 % of the hardest thumb press, but 1.5 times")
