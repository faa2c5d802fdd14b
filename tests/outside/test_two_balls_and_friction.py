"""Two balls on one bar that gives sideways, by plain statics: sphere on an edge, friction of a wedge, two springs.

Any statics text has the pieces: a block on a slope of angle φ is pushed up by N tan(φ + λ) and held by N tan(φ − λ), a
spring stores F²/2k. No formula of the library is used; both balls stand at one hinge distance, in the knives that break
the sayings "a ball that rides clear never raises the barrier" and "no harder than the harder of the two".
"""

from math import asin, atan, sin, sqrt, tan

import pytest
from scipy.optimize import brentq, minimize_scalar

import detentlib as dl
from detentlib.tune import pair
from detentlib.tune.moves import with_one_ball, without_friction
from tests.knives import CARDS

RATE, GIVE, RIDING, TAB = 10.298, 0.0035, 17.04, 14.0


def card(friction, **second):
    """Pellowfen E with another ball 2, its bar by rate and give, which the statics below use too."""
    bar = dl.LockBar(RIDING, rate=RATE, side_compliance=GIVE, parallel_gap=0.1454)
    balls = [
        dl.Ball(1.5875, 0.420, 8.001, 36.4, dl.Recess(1.3208, rest_offset=0.105)),
        dl.Ball(second["ball"], second["out"], second["track"], 36.4, dl.Recess(second["recess"], rest_offset=0.105)),
    ]
    return dl.Knife("two balls", balls, bar, dl.Blade(TAB), dl.Friction(friction))


OILED = card(0.12, ball=1.0, out=0.396, track=CARDS["E"].balls[1].track_radius, recess=0.976)
DRY = card(0.30, ball=1.0, out=0.400, track=CARDS["E"].balls[1].track_radius, recess=0.992)
BREAKER = card(0.12, ball=1.2, out=0.4462, track=4.0, recess=1.1386)


def seat(ball, aside):
    """How far a ball holds the bar out [mm], and its contact angle, the shut bar standing aside by so much."""
    turn = asin(ball.recess.rest_offset / ball.track_radius) - aside / ball.track_radius
    gap = ball.recess.diameter / 2 - 2 * ball.track_radius * sin(abs(turn) / 2)
    return ball.protrusion - ball.radius + sqrt(ball.radius**2 - gap**2), asin(gap / ball.radius)


def presses(out):
    """Force of the bar that is held out so far [N]."""
    return RIDING + RATE * (out - 0.420)


def side(balls, aside, lam):
    """Push of the ball that holds the bar up, along the tang [N]; lam as the angle of friction, below zero closing."""
    out, phi = max(seat(ball, aside) for ball in balls)
    return presses(out) * tan(phi + lam)


def rests(balls, lam):
    """How far aside the bar stands where spring and push balance [mm]; where another ball takes over, at that place."""
    return brentq(lambda aside: aside - GIVE * side(balls, aside, lam), 0.0, 0.1, xtol=1e-13)


def stored(balls, aside):
    """Energy in bend and sideways turn [mJ]."""
    out, _ = max(seat(ball, aside) for ball in balls)
    return presses(out) ** 2 / (2 * RATE) + aside**2 / (2 * GIVE)


def hill(balls, lam):
    """Barrier [mJ], from where friction lets the bar rest as the blade snaps shut."""
    return RIDING**2 / (2 * RATE) - stored(balls, rests(balls, -lam))


@pytest.mark.checked_by("by hand", "wedge with friction on two springs", "feel", "E2")
@pytest.mark.parametrize(("knife", "alone", "both"), [(OILED, 4.002, 4.028), (DRY, 3.921, 3.997)], ids=["oiled", "dry"])
def test_a_ball_that_rides_clear_raises_the_barrier_where_friction_holds_the_bar_short(knife, alone, both):
    lam, balls = atan(knife.friction.rim), knife.balls
    assert (hill(balls[:1], lam), hill(balls, lam)) == pytest.approx((alone, both), abs=0.0015)
    one = with_one_ball(knife)
    assert (dl.feel(one).barrier, dl.feel(knife).barrier) == pytest.approx(
        (hill(balls[:1], lam), hill(balls, lam)), rel=1e-4
    )
    assert balls[1].protrusion < balls[0].protrusion  # at one hinge distance: it hangs clear of the flat
    # E2: no higher than from the least energy that ball 1 alone allows, which is where it rests without friction
    least = minimize_scalar(lambda aside: stored(balls[:1], aside), bounds=(0.0, 0.1), options={"xatol": 1e-9}).fun
    limit = RIDING**2 / (2 * RATE) - least
    assert limit == pytest.approx(dl.feel(without_friction(one)).barrier, rel=1e-4)
    assert alone < both < limit + 0.0015
    stiff = {"bar.side_compliance": 0.0}
    assert dl.feel(knife.replace(stiff)).barrier <= dl.feel(one.replace(stiff)).barrier + 1e-12


@pytest.mark.checked_by("by hand", "wedge with friction on two springs", "feel")
def test_two_balls_hold_harder_than_the_harder_where_one_leaves_the_bar_aside():
    """Ball 2 alone at rest, then ball 1 at that place about to slip: 12.05 and 11.39 N alone, 13.38 N both."""
    lam, (first, second) = atan(BREAKER.friction.rim), BREAKER.balls

    def at_tab(ball, aside):
        return side([ball], aside, lam) * ball.track_radius / TAB

    alone = [at_tab(ball, rests([ball], -lam)) for ball in (first, second)]
    aside = rests([first, second], -lam)
    assert max((seat(ball, aside), ball.track_radius) for ball in BREAKER.balls)[1] == second.track_radius
    both = at_tab(first, aside)
    assert (*alone, both) == pytest.approx((12.05, 11.39, 13.38), abs=0.015)
    felt = [dl.feel(knife).break_force for knife in (with_one_ball(BREAKER), pair.with_ball_2_alone(BREAKER), BREAKER)]
    assert felt == pytest.approx([*alone, both], rel=1e-3)
    # nothing can leave it at a steeper spot than the middle of its recess
    middle = side([first], 0.105, lam) * first.track_radius / TAB
    assert dl.feel(pair.from_the_middle(with_one_ball(BREAKER))).break_force == pytest.approx(middle, rel=1e-3)
    assert both < middle
    stiff = BREAKER.replace({"bar.side_compliance": 0.0})
    harder = max(dl.feel(each).break_force for each in (with_one_ball(stiff), pair.with_ball_2_alone(stiff)))
    assert dl.feel(stiff).break_force <= harder * (1 + 1e-9)
