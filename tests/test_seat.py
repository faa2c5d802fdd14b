"""Rest offsets from rim gaps of the loaded knife: the way back from what the shut knife shows to its parts."""

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import detentlib as dl
from detentlib.mechanics import bar as bars
from detentlib.mechanics.carry import Detent
from detentlib.mechanics.seat import rest_offsets
from tests.knives import CARDS, sound_knives

PATH = "balls[{}].recess.rest_offset".format


def seen(knife):
    """{ball: rim gap} of the shut knife from the places of its balls in the plane: for those that stand short of the
    middle.
    """
    gaps, detent = {}, Detent(knife)
    for leaf, shut in zip(detent.leaves, detent.shut, strict=True):
        for i, angle in zip(leaf.members, np.ravel(shut), strict=True):
            ball, recess = knife.balls[i], knife.balls[i].recess
            out = ball.track_radius + recess.off_track
            ahead = angle + np.arcsin(recess.rest_offset / out)
            if ahead > 1e-6:
                gaps[i] = recess.rim_radius - np.hypot(out * np.sin(ahead), ball.track_radius - out * np.cos(ahead))
    return gaps


def tells_parts_apart(knife, balls):
    """Whether other rest offsets of these balls [mm], each moved a little in any mixture, would show in their rim
    gaps.
    """
    step = 1e-6
    moved = [seen(knife.replace({PATH(i): knife.balls[i].recess.rest_offset + step})) for i in balls]
    here = seen(knife)
    slopes = [[(there.get(i, here[i]) - here[i]) / step for i in balls] for there in moved]
    return np.linalg.svd(slopes, compute_uv=False).min() > 0.01


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(sound_knives(), st.sampled_from([(0,), (1,), (0, 1)]))
def test_the_parts_come_back_from_what_the_loaded_knife_shows(knife, which):
    """One ball or both seen; of any other the rest offset is known. Rims, leaves and friction of every kind.

    Parts that are not the same can show the same, as on the corner of rim and floor: then those found must show it too.
    """
    try:
        dl.feel(knife)
    except dl.KnifeError:
        assume(False)
    gaps = {i: gap for i, gap in seen(knife).items() if i in which and gap > 0}
    assume(gaps)
    found = rest_offsets(knife.with_arrays({PATH(i): 0.03 for i in gaps}), gaps)
    again = seen(knife.replace({PATH(i): found[i] for i in gaps}))
    assert {i: again[i] for i in gaps} == pytest.approx(gaps, abs=1e-8)
    if tells_parts_apart(knife, gaps):
        assert found == pytest.approx([ball.recess.rest_offset for ball in knife.balls], abs=1e-8)


def test_on_the_corner_of_rim_and_floor_one_gap_goes_with_many_parts():
    """Floor 0.375 mm deep, ball 2 mm: it is met √(1 − 0.625²) from the rim, by parts 0.032 to 0.079 mm short alike."""
    ball = dl.Ball(2.0, 0.75, 6.0, 30.0, dl.Recess(1.625, rest_offset=0.0625, depth=0.375))
    knife = dl.Knife(
        "corner", [ball], dl.LockBar(14.0, rate=4.0, side_compliance=0.003), dl.Blade(10.0), dl.Friction(0.0)
    )
    corner = np.sqrt(1 - 0.625**2)
    for offset in (0.0325, 0.05, 0.078):
        assert dl.feel(knife.replace({PATH(0): offset})).rim_gap[0] == pytest.approx(corner, abs=1e-8)
    assert not tells_parts_apart(knife, {0: corner})
    assert tells_parts_apart(knife.replace({PATH(0): 0.09}), {0: None})


@pytest.mark.parametrize("letter", CARDS)
def test_the_demo_knives_stand_at_the_parts_of_their_cards(letter):
    card = CARDS[letter]
    gaps = dict(enumerate(dl.feel(card).rim_gap))
    for some in (gaps, *({i: gap} for i, gap in gaps.items())):
        assert rest_offsets(card, some) == pytest.approx([0.105] * len(card.balls), abs=1e-9)


def test_one_ball_by_hand():
    """Loaded 0.0597 mm short; N tan(49.18° − 6.84°) = 14.209 · 0.9116 = 12.95 N, times 0.0034996 mm/N of give."""
    card = CARDS["A"]
    felt = dl.feel(card)
    push = felt.rest_load * np.tan(np.radians(felt.contact_deg[0]) - np.arctan(0.12))
    by_hand = 0.6604 - felt.rim_gap[0] + bars.side_compliance(card.bar, card.balls[0]) * push
    assert by_hand == pytest.approx(0.105, abs=1e-5)
    assert rest_offsets(card, {0: felt.rim_gap[0]}) == pytest.approx([by_hand], abs=1e-5)


def test_the_play_of_the_pivot_is_in_what_was_seen():
    card = CARDS["C"].replace({"blade.pivot_play": 0.012})
    gaps = dict(enumerate(dl.feel(card).rim_gap))
    assert rest_offsets(card, gaps) == pytest.approx([0.117, 0.117], abs=1e-9)
    still = card.replace({PATH(0): 0.117, PATH(1): 0.117, "blade.pivot_play": 0.0})
    assert dl.feel(still).rim_gap == pytest.approx(tuple(gaps.values()), abs=1e-9)


@pytest.mark.parametrize(("off_track", "gap"), [(0.0, 0.6604001), (0.01, 0.651), (-0.01, 0.651)])
def test_a_gap_that_the_recess_has_no_room_for(off_track, gap):
    knife = CARDS["A"].replace({"balls[0].recess.off_track": off_track})
    with pytest.raises(dl.KnifeError, match="has room for"):
        rest_offsets(knife, {0: gap})
    assert rest_offsets(knife, {0: gap - 0.01})[0] > 0


def test_a_place_where_the_ball_would_not_stay():
    """B6f far above 1 there; with a tenth of the give it stays."""
    soft, stiffer = (CARDS["A"].replace({"bar.side_compliance": give}) for give in (0.03, 0.003))
    with pytest.raises(dl.KnifeError, match="no place where the ball stays"):
        rest_offsets(soft, {0: 0.64})
    assert rest_offsets(stiffer, {0: 0.64})[0] > 0.02
