"""Break it: the knife that is found flips the verdict, is near, and where none can be the theorem is named."""

import numpy as np
import pytest

import detentlib as dl
from detentlib.argue.breaking import FARTHEST, MOST, TOLERANCES, Stopped, _Search, break_it
from detentlib.argue.judging import claims, judge
from detentlib.argue.switches import known_exactly
from detentlib.knife.paths import field_of
from detentlib.knife.units import both
from detentlib.tune.pair import idle_up_to
from detentlib.tune.stock import BALLS, DRILLS
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
    """One number alone flips it at 2.5 tolerances: ball 2 pressed 0.025 mm more. The search finds no further one."""
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


def test_no_ball_that_rides_idle_is_found_to_raise_the_barrier_on_a_bar_stiff_sideways():
    found = break_it("deeper", B, while_idle=True)
    assert not found.found
    assert "rides clear of the flat. A search is no proof" in str(found)
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


@pytest.mark.parametrize(("claim", "knife", "bought"), [("doubles", C, True), ("idle", C, False)])
def test_balls_and_recesses_go_from_size_to_size_of_the_catalogue(claim, knife, bought):
    found = break_it(claim, knife)
    assert found.steps <= FARTHEST
    sizes = {"ball.diameter": BALLS, "recess.diameter": DRILLS}
    changed = [change for change in found.changes if field_of(change.path) in sizes]
    assert bool(changed) == bought
    for change in changed:
        ends = [
            f"→ {both(change.after, 'mm')}, sold as {size.name}"
            for size in sizes[field_of(change.path)]
            if size.diameter == pytest.approx(change.after, abs=1e-9)
        ]
        assert any(str(change).endswith(end) for end in ends)


def test_what_is_bought_is_the_nearest_size_or_as_it_is():
    """A: a 1/16 in ball and a No. 55 hole; catalogue neighbours 1.5 and 5/64 in, 1.30 and 1.35 mm."""
    search = _Search(claims["doubles"], known_exactly(A), {}, None, False, lambda: False)
    where = {path: k for k, path in enumerate(search.paths)}
    ball, bore, height = (where[f"balls[0].{name}"] for name in ("diameter", "recess.diameter", "protrusion"))
    moves = np.zeros((4, len(where)))
    moves[:, ball] = np.array([0.0, 0.02, 0.35, -0.06]) / TOLERANCES["ball.diameter"]
    moves[:, bore] = np.array([0.0, 0.02, -0.015, 0.01]) / TOLERANCES["recess.diameter"]
    moves[:, height] = 0.3
    got = search.bought(moves)
    assert 1.5875 + got[:, ball] * TOLERANCES["ball.diameter"] == pytest.approx([1.5875, 1.5875, 25.4 * 5 / 64, 1.5])
    assert 1.3208 + got[:, bore] * TOLERANCES["recess.diameter"] == pytest.approx([1.3208, 1.35, 1.3, 1.3208])
    assert (got[:, height] == 0.3).all()
