"""Break it: the knife that is found flips the verdict, is near, and where none can be the theorem is named."""

import numpy as np
import pytest

import detentlib as dl
from detentlib.argue.breaking import FARTHEST, MOST, TOLERANCES, Stopped, break_it
from detentlib.argue.judging import judge
from detentlib.argue.switches import known_exactly
from detentlib.knife.paths import field_of
from detentlib.tune.pair import idle_up_to
from tests.knives import A, B, C, D, measured


@pytest.fixture(scope="module")
def doubled():
    return break_it("doubles", B)


def test_the_broken_knife_flips_the_verdict(doubled):
    assert doubled.found
    assert doubled.before.word == "false"
    again = judge("doubles", doubled.knife)
    assert again.word == doubled.after.word != "false"
    ratio = (
        dl.feel(doubled.knife).break_force
        / dl.feel(dl.Knife("one", doubled.knife.balls[:1], doubled.knife.bar, B.blade, B.friction)).break_force
    )
    assert ratio == pytest.approx(doubled.after.number.value)
    assert ratio >= 1.5


def test_the_changes_lead_from_the_one_knife_to_the_other(doubled):
    assert 1 <= len(doubled.changes) <= MOST
    back = doubled.knife.replace({change.path: change.before for change in doubled.changes})
    assert back == known_exactly(B)
    assert doubled.steps == pytest.approx(np.linalg.norm([change.steps for change in doubled.changes]))
    assert doubled.steps < FARTHEST
    for change in doubled.changes:
        size = TOLERANCES[field_of(change.path)]
        assert change.after - change.before == pytest.approx(change.steps * size)
    assert all(change.said in str(doubled) for change in doubled.changes)


def test_it_is_near():
    """One number by itself flips it at 2.5 tolerances: a ball 2 pressed 0.025 mm more carries. The search finds no
    further one.
    """
    found = break_it("idle", B)
    alone = judge("idle", known_exactly(B), **{"card": "exact"}).number.value / TOLERANCES["ball.protrusion"]
    assert found.steps < alone
    # first order: the room over the root of the sum of squares of what each tolerance takes off it is the least
    # distance
    slopes = []
    for name, size in (("protrusion", 0.02), ("recess.rest_offset", 0.03)) * 2:
        path = f"balls[{len(slopes) // 2}].{name}"
        moved = [
            judge("idle", known_exactly(B).replace({path: B.get(path) + sign * 0.1 * size})).number.value
            for sign in (1, -1)
        ]
        slopes.append((moved[0] - moved[1]) / 0.2)
    assert found.steps == pytest.approx(found.before.number.value / np.linalg.norm(slopes), rel=0.1)


def test_it_asks_before_every_round_whether_to_go_on():
    asked = iter([False, False, True])
    with pytest.raises(Stopped):
        break_it("doubles", B, stop=lambda: next(asked))
    assert not list(asked)


def test_a_ball_that_rides_idle_cannot_raise_the_barrier():
    found = break_it("deeper", B, while_idle=True)
    assert not found.found
    assert "E2" in str(found)
    assert f"{FARTHEST:g} shop tolerances" in str(found)
    assert break_it("deeper", B).found  # one that rides the flat can


def test_while_idle_means_clear_of_the_flat():
    found = break_it("lower-weakens", B, while_idle=True)
    assert found.found
    knife = found.knife
    assert knife.balls[1].protrusion <= idle_up_to(knife.bar, knife.balls[0], knife.balls[1].hinge_distance)
    assert (
        dl.feel(knife).barrier
        <= dl.feel(dl.Knife("one", knife.balls[:1], knife.bar, knife.blade, knife.friction)).barrier + 1e-9
    )


def test_no_knife_is_found_where_nothing_can_flip_it():
    assert break_it("calipers", A).found  # a larger press-depth difference could be settled
    found = break_it("fixed-force", A, spring="constant")
    assert not found.found
    assert "A search is no proof" in str(found)
    assert found.knife is None


def test_assumptions_hold_while_breaking():
    found = break_it("lower-weakens", D, blade="plane", arms="equal")
    assert found.before.word == "true"
    if found.found:
        assert judge("lower-weakens", found.knife, blade="plane", arms="equal").word == "false"


def test_a_claim_between_fixed_knives_stays():
    with pytest.raises(ValueError, match="fixed knives"):
        break_it(dl.Claim.compose("break_force", of=B, against=C, relation="more"))


def test_every_number_with_a_shop_tolerance_is_one_of_a_knife():
    assert TOLERANCES.keys() - {field_of(path) for knife in (C, measured(C)) for path in knife.paths()} == set()
