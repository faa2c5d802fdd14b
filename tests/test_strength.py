"""Marks: pressures, first yield, static limit, wear. The published figures stand in outside/test_hertz.py."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

import detentlib as dl
from detentlib.derivations.formulas import formulas
from detentlib.mechanics import strength
from tests.knives import CARDS, A, C

FELT = dl.feel(A)


def test_demo_a_leaves_a_bright_track_at_once():
    """14 to 17 N on a 1/16 in ball: past first yield (about 9 N), below the bearing maker's 18.6 N."""
    found = strength.contact_marks(A, FELT)
    assert found.first_yield < FELT.ride_load < found.static
    dent = 1e3 * 1e-4 * 1.5875  # µm, that of the bearing maker's limit (ISO 76:2006): this one is less
    assert found.track.startswith(
        f"past first yield, below the bearing maker's limit: a dent of less than {dent:.2f} µm, too shallow to see"
    )
    assert "burnished" in found.track
    assert found.flat.of_yield == pytest.approx((FELT.ride_load / found.first_yield) ** (1 / 3))


@pytest.mark.parametrize(("force", "said"), [(2.0, "no track"), (25.0, "a groove pressed in")])
def test_the_track_in_words(force, said):
    knife = A.replace({"bar.riding_force": force + 4.0})
    felt = dl.feel(knife)
    light = (
        knife.replace({"bar.riding_force": force})
        if force > 5
        else knife.replace({"bar.riding_force": force, "bar.relief_thickness": 0.5})
    )
    felt = dl.feel(light)
    assert said in strength.contact_marks(light, felt).track


def test_a_titanium_tang_yields_far_sooner():
    soft, hard = (strength.contact_marks(A, FELT, tang=tang) for tang in ("Ti-6Al-4V", "hard blade steel"))
    assert soft.first_yield < 0.25 * hard.first_yield
    # the bearing maker's limit is one of hard steel
    assert soft.static is None
    assert "soft tang" in soft.track


def test_a_ceramic_ball_leaves_the_yielding_to_the_tang():
    found = strength.contact_marks(A, FELT, ball="silicon nitride")
    stiff = strength.contact_modulus("silicon nitride", "hard blade steel")
    assert found.first_yield == pytest.approx(formulas["S2"](pressure=1.6 * 2200, ball_radius=0.79375, modulus=stiff))


def test_unknown_materials_are_named():
    with pytest.raises(ValueError, match=r"ball = 'glass': is not known\. .*Take 52100"):
        strength.contact_modulus("glass", "hard blade steel")


def test_a_round_spot_is_the_limit_of_the_ellipse():
    round_spot = formulas["S1"](load=14.0, ball_radius=0.8, modulus=1.1e5)
    found = strength.ellipse(14.0, 1 / 0.8, 1 / 0.8, 1.1e5)
    nearly = strength.ellipse(14.0, 1 / 0.8, 1.0001 / 0.8, 1.1e5)
    assert found == pytest.approx((round_spot.radius, round_spot.radius, round_spot.pressure, round_spot.squash))
    assert nearly == pytest.approx(found, rel=1e-3)


def hertz_squash(load, long, short, modulus):
    """Squash [mm] of two bodies that touch in an ellipse (Johnson, Contact Mechanics, eq. 3.70, from memory)."""
    along = quad(lambda u: 2 / np.sqrt((long**2 + u**2) * (short**2 + u**2)), 0, np.inf, epsrel=1e-10)[0]
    return 3 * load / (4 * np.pi * modulus) * along


def test_the_ellipse_carries_its_load():
    """Greatest pressure times two thirds of the area is the load, at every shape; the squash is Hertz' integral."""
    for across in (1.5, 4.0, 40.0, 4000.0):
        long, short, pressure, squash = strength.ellipse(14.0, 1.0, across, 1.1e5)
        assert 2 / 3 * np.pi * long * short * pressure == pytest.approx(14.0)
        assert squash == pytest.approx(hertz_squash(14.0, long, short, 1.1e5), rel=1e-7)


def test_the_rim_is_marked_by_the_ball_that_rests_square_to_it():
    """C rests on ball 2. Its bar presses upwards, so the contact carries load over cos φ; the recess is a hole of half
    its diameter, its edge a ring of small radius.
    """
    felt = dl.feel(C)
    rim, ball = strength.contact_marks(C, felt).rim, C.balls[1]
    assert strength.contact_marks(C, felt).ball == felt.rest_carrier == 1
    assert rim.load == pytest.approx(felt.rest_load / np.cos(np.radians(felt.contact_deg[1])))
    curved = formulas["S1c"](
        ball_radius=0.79375, bore_radius=0.59055, edge_radius=0.02, phi=np.radians(felt.contact_deg[1])
    )
    assert (ball.radius, ball.recess.diameter / 2, strength.RIM_EDGE) == (0.79375, 0.59055, 0.02)
    modulus = strength.contact_modulus("52100", "hard blade steel")
    axes = strength.ellipse(rim.load, curved.along, curved.across, modulus)
    assert (rim.short_axis, rim.pressure) == pytest.approx(axes[1:3])


def test_a_ring_is_refused_with_its_reason():
    with pytest.raises(ValueError, match="line or a ring"):
        strength.ellipse(14.0, 0.0, 20.0, 1.1e5)


def test_flat_on_a_worn_ball():
    for volume in (1e-6, 1e-3, 0.1):
        depth = strength.flat_depth(volume, 0.79375)
        assert depth == pytest.approx(
            brentq(lambda h, v=volume: np.pi * h**2 * (0.79375 - h / 3) - v, 0, 0.79375), rel=1e-9
        )


def test_wear_is_a_range_of_decades():
    low, high = strength.contact_marks(A, FELT).flat_per_1000
    assert 0 < low < high
    assert high / low > 50


def test_relief_stress_through_the_swing():
    """Demo A: 476 MPa riding, of 880; least where the face lands at the end, 12.7 N on the ball: 355 (S3); with the
    side push most on the climb.
    """
    run = dl.swing(A).opening
    said = (
        "relief bent upwards to 355 to 476 MPa; with the push of the rim up to 499 MPa at one edge, 57 % of yield; how"
        " many turns it stands is not known here"
    )
    assert strength.relief_words(A, run) == said
    measured = A.replace({"bar.relief_thickness": None, "bar.rate": 10.3})
    assert "not known, so neither" in strength.relief_words(measured, dl.sweep(measured))


@pytest.mark.parametrize("letter", "ACD")
def test_each_ball_bends_the_relief_by_its_own_arm(letter):
    """By hand, strength of materials: 6 N (L + l/2) / (w t²) upwards, 6 H (L + l/2) / (t w²) sideways, of the ball
    that carries at rest.
    """
    knife = CARDS[letter]
    felt = dl.feel(knife)
    ball = knife.balls[felt.rest_carrier]
    arm, friction = ball.hinge_distance + 3.0, np.arctan(0.12)
    push = felt.rest_load * np.tan(np.radians(felt.contact_deg[felt.rest_carrier]) + friction)
    assert felt.relief_stress_rest == pytest.approx(6 * felt.rest_load * arm / (7.0 * 1.1**2))
    assert felt.relief_stress_side == pytest.approx(6 * push * arm / (1.1 * 7.0**2), rel=1e-4)
    if letter == "A":
        assert push == pytest.approx(felt.break_torque / ball.track_radius, rel=1e-4)


def test_an_edge_past_yield_is_flagged():
    """Riding below yield, but not with what the push of the rim adds at rest."""
    soft = A.replace({"bar.yield_stress": 480.0})
    assert any("at one edge as the rim pushes hardest: 489 MPa against 480 MPa" in said for said in dl.feel(soft).flags)
    assert not any("past its yield" in said for said in dl.feel(A).flags)
