"""Tables of two balls on one bar, and of the whole swing: every number and verdict in them against the knife itself."""

from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.mechanics.bar import side_compliance
from detentlib.say import pairs, swings
from detentlib.tune import moves, pair
from tests.knives import CARDS

A, B, C, D, E = (CARDS[letter] for letter in "ABCDE")
TWINS = pair.with_second_ball(A, deeper=0.0)


def numbers(cell):
    """The numbers of a cell, in their order."""
    words = cell.replace("−", "-").replace("°", "").replace("(", "").replace(",", "").split()
    return [float(word) for word in words if word.lstrip("+-")[:1].isdigit()]


def only_ball_2(knife):
    """The knife written anew with ball 2 as its only one: the same bent bar, measured where that ball is."""
    bar, first, second = knife.bar, *knife.balls
    arm = second.hinge_distance / first.hinge_distance
    rate = bar.riding_force / moves.preset(knife) / arm**2
    bent = [(ball.protrusion - bar.parallel_gap) / ball.hinge_distance for ball in knife.balls]
    measured = dl.LockBar(
        bar.riding_force / arm - rate * (bent[0] - bent[1]) * second.hinge_distance,
        rate=rate,
        parallel_gap=bar.parallel_gap,
        side_compliance=side_compliance(bar, first) * arm**2,
    )
    return dl.Knife("ball 2", (replace(second, bearing_deg=None),), measured, knife.blade, knife.friction)


@pytest.mark.parametrize("knife", [B, C, D], ids=["B", "C", "D"])
def test_each_alone_and_both(knife):
    felt = [dl.feel(made) for made in (moves.with_one_ball(knife), only_ball_2(knife), knife)]
    table = pairs.each_alone(knife)
    for row, result in zip(table.rows, ("break_force", "barrier"), strict=True):
        for cell, each in zip(row[1:], felt, strict=True):
            assert numbers(cell)[0] == pytest.approx(getattr(each, result), rel=2e-3)
    one, other, two = (each.break_force for each in felt)
    said = f"Both make {two / one:.2f} times the force of ball 1 alone, and {two / max(one, other):.2f} times that"
    assert table.notes[1].startswith(said)


def test_who_carries_is_told_as_it_is():
    said = [pairs.each_alone(knife).notes[0] for knife in (B, C, TWINS)]
    clear = dl.feel(C).idle_clearance[0]
    assert said[0].startswith("At rest ball 1 carries, and ball 2 hangs clear by 0.0494 mm")
    assert said[1].startswith(f"At rest ball 2 carries, and ball 1 hangs clear by {clear:.4f} mm")
    assert said[2] == "At rest both balls touch."


def test_a_ball_2_that_cannot_work_by_itself_is_told():
    """On a bar soft sideways the small ball of E, alone, takes it along until it lets go; behind ball 1 it does not."""
    soft = E.replace({"bar.side_compliance": 0.009})
    with pytest.raises(dl.KnifeError, match="jam"):
        dl.feel(pair.with_ball_2_alone(soft))
    table = pairs.each_alone(soft)
    assert [row[2] for row in table.rows] == ["does not work alone"] * 2
    assert f"{dl.feel(soft).break_force / dl.feel(moves.with_one_ball(soft)).break_force:.2f} times" in table.notes[1]
    assert "harder" not in table.notes[1]


@pytest.mark.checked_by("by hand", "moments about the hinge", "splits")
@pytest.mark.parametrize("knife", [B, D], ids=["B", "D"])
def test_any_split_is_a_mean_of_its_ends(knife):
    table = pairs.splits(knife, [0, 0.25, 1])
    forces = [numbers(row[3])[0] for row in table.rows]
    assert forces[1] == pytest.approx(0.75 * forces[0] + 0.25 * forces[2], abs=0.01)
    arms = [ball.hinge_distance for ball in knife.balls]
    moment = numbers(table.notes[0])[2]
    for row in table.rows:
        assert np.dot([numbers(cell)[0] for cell in row[1:3]], arms) == pytest.approx(moment, abs=1)
    twins = {row[4] for row in table.rows}
    assert len(twins) == 1
    assert numbers(twins.pop())[0] == pytest.approx(numbers(pairs.splits(pair.with_second_ball(A), [0]).rows[0][3])[0])


def test_what_doubles():
    """Twins on two leaves are two knives A side by side; a bar bent twice as far presses twice as hard on the flat."""
    table = pairs.what_doubles(B)
    both, leaves, own, bent = (list(map(float, row[1:])) for row in table.rows)
    assert both == [1, 1, 1]
    assert leaves == [2, 2, 2]
    assert own[0] > 2 > own[1] > 1.9
    assert "bent past its yield" in " ".join(table.notes)  # 2 × 476 MPa on the flat, of 880
    harder = dl.feel(A.replace({"bar.riding_force": 2 * A.bar.riding_force}))
    assert bent == pytest.approx(
        [harder.break_force / dl.feel(A).break_force, harder.barrier / dl.feel(A).barrier, 2], abs=0.005
    )


def test_why_a_bar_bent_twice_as_far_more_than_doubles():
    """In the recess it presses more than twice as hard; most of the rest is what it gives sideways."""
    stiff, gives = (
        [dl.feel(knife.replace({"bar.riding_force": force})) for force in (17.04, 34.08)]
        for knife in (A.replace({"bar.side_compliance": 0.0, "balls[0].recess.rest_offset": 0.06}), A)
    )
    for one, two in (stiff, gives):
        assert 2.1 < two.rest_load / one.rest_load < 2.2
    assert 2.1 < stiff[1].break_force / stiff[0].break_force < 2.25
    assert gives[1].break_force / gives[0].break_force > 2.8
    assert gives[1].contact_deg[0] > gives[0].contact_deg[0] + 5
    assert stiff[1].contact_deg[0] == pytest.approx(stiff[0].contact_deg[0])


def test_bands_with_and_without_a_drawn_bar():
    rows = pairs.bands(B).rows
    assert [numbers(row[1])[0] for row in rows] == [
        pytest.approx(pair.sharing_band(B).bar, abs=5e-5),
        pytest.approx(pair.sharing_band(B).width, abs=5e-5),
        pytest.approx(0.0112, abs=5e-5),
    ]
    measured = B.replace({"bar.relief_thickness": None, "bar.rate": 10.3, "bar.side_compliance": 0.0035})
    assert len(pairs.bands(measured).rows) == 2


def test_near_the_hinge_e2_is_quoted_only_where_it_speaks():
    riding, clear = pairs.near_the_hinge(B), pairs.near_the_hinge(B.replace({"balls[1].protrusion": 0.34}))
    assert "rides the flat, so E2 does not speak of it" in riding.notes[0]
    assert float(riding.rows[1][2]) > 1
    assert "rides clear, so by E2 the barrier is at most 4.028 mJ" in clear.notes[0]
    assert float(clear.rows[1][2]) == 1


# rim leads and handovers


def test_when_ball_2_touches():
    """Just under the threshold of the table ball 2 hangs clear, just over it it has most of the bar at rest."""
    for knife in (C, D):
        has, plane, own = (numbers(row[1])[0] for row in pairs.touch(knife).rows)
        assert has == pytest.approx(pair.lead_at_stop(knife), abs=5e-5)
        for made, threshold in ((pair.with_equal_arms(knife), plane), (knife, own)):
            under, over = (dl.sweep(pair.with_rim_lead(made, threshold + more), [0.0]) for more in (-2e-4, 2e-4))
            assert under.load[0, 1] == 0
            assert over.load[0, 1] > 3 * over.load[0, 0]
    assert len(pairs.touch(E).rows) == 2  # C3 is for equal balls
    assert "too wide for ball 2" in pairs.touch(E).notes[0]
    sunk = pairs.touch(pair.with_press_difference(C, 0.3))
    assert len(sunk.rows) == 2
    assert "does not touch, not even 2 times" in sunk.notes[0]
    level = pairs.touch(pair.with_press_difference(C, -0.02))
    assert "at any radius" in level.notes[0]


def test_without_lead_ball_2_touches_from_that_radius_on():
    ratio = numbers(pairs.touch(C).notes[0])[1]
    equal = pair.with_rim_lead(C, 0.0).replace({"balls[1].bearing_deg": None})
    clear = [
        dl.sweep(equal.replace({"balls[1].track_radius": 8.001 * (ratio + more)})).clearance[:, 1].min()
        for more in (-0.01, 0.01)
    ]
    assert clear[0] > 0
    assert clear[1] == pytest.approx(0, abs=1e-9)


def test_peaks_and_where_they_stand_at_each_lead():
    """Against a sweep of the knife at that lead: its highest point is at the start, or past the first handover."""
    one, leads = dl.feel(A).break_torque, (0.02, 0.045, 0.06, 0.08)
    for row, lead in zip(pairs.at_leads(C, leads).rows, leads, strict=True):
        for cell, knife in ((row[2], pair.with_equal_arms(C)), (row[3], C)):
            made = pair.with_rim_lead(knife, lead)
            felt = dl.feel(made)
            run = dl.sweep(made, np.linspace(0, felt.break_out_deg, 20001))
            highest = run.angle_deg[np.argmax(run.torque)]
            if not (run.load[:, 1] > 0).any():
                assert cell == "unchanged"
                continue
            assert numbers(cell)[0] == pytest.approx(100 * (run.torque.max() / one - 1), abs=0.15)
            after = highest > felt.handovers[0].start_deg
            assert cell.endswith("after" if after else "start")
        assert numbers(row[4])[0] == pytest.approx(100 * (felt.barrier / dl.feel(A).barrier - 1), abs=0.06)


def test_the_textbook_column_is_that_of_the_question():
    words = [row[1] for row in pairs.at_leads(C, [0.04, 0.06, 0.1]).rows]
    assert words == ["unchanged", "−19.0 %, after", "−29.8 %, start"]


def test_handovers_are_those_of_the_sweep():
    table = pairs.handovers(C)
    for row, knife in zip(table.rows, (pair.with_equal_arms(C), C), strict=True):
        assert row[1] == "ball 2 to ball 1"
        start, end = numbers(row[2])
        run = dl.sweep(knife, [start - 0.002, start + 0.01, end - 0.01, end + 0.002])
        assert (run.load > 0).tolist() == [[False, True], [True, True], [True, True], [True, False]]
        assert numbers(row[3]) == pytest.approx(run.tab_force[[0, 3]].tolist(), rel=0.02)
        assert row[4] == f"climbs by {100 * (numbers(row[3])[1] / numbers(row[3])[0] - 1):.0f} %"
    assert table.notes == ()


def test_where_there_is_no_handover_it_is_said():
    table = pairs.handovers(B)
    assert table.rows == ()
    assert table.notes == ("With equal arms: no handover on opening.", "With its arms: no handover on opening.")


def test_a_push_that_falls_over_a_handover_is_told_as_falling():
    """A ball 2 near the pivot takes over from ball 1 on the rough flat: what it holds works on a shorter radius."""
    knife = C.replace(
        {
            "balls[1].track_radius": 4.5,
            "balls[1].hinge_distance": 36.0,
            "balls[1].protrusion": 0.42,
            "balls[1].recess.diameter": 1.2208,
            "friction.rim": 0.3,
            "balls[1].bearing_deg": None,
        }
    )
    falls = [row for row in pairs.handovers(knife).rows if row[0] == "its arms" and row[4].startswith("falls by")]
    assert falls[0][1] == "ball 1 to ball 2"
    before, after = numbers(falls[0][3])
    assert numbers(falls[0][4])[0] == pytest.approx(100 * (1 - after / before), abs=0.6)


def test_a_smaller_recess_works_both_ways_and_a_shifted_one_only_one():
    smaller, shifted = pairs.ways_round(C).rows
    assert smaller[1] == smaller[2] == shifted[1]
    assert numbers(shifted[2])[0] == pytest.approx(dl.feel(A).break_force, abs=0.005)


def test_knives_peak_and_barrier():
    table = pairs.peak_and_barrier([A, D, E])
    for row, knife in zip(table.rows, (A, D, E), strict=True):
        felt = dl.feel(knife)
        found = [numbers(row[k])[0] for k in (1, 3, 4)]
        assert found == pytest.approx([felt.break_force, felt.barrier, felt.draw_in_deg], abs=0.005)
    ((stop, start),) = dl.feel(D).stall_pockets
    assert table.notes == (f"Pellowfen D: from {start:.2f}° it draws in, but stalls at {stop:.2f}°.",)
    assert table.rows[0][2] == "–"


def test_how_sure():
    forces = [numbers(row[1])[0] for row in pairs.how_sure(E).rows]
    for force, change in zip(forces, (-0.01, 0, 0.01), strict=False):
        made = E.replace({"balls[1].protrusion": round(E.balls[1].protrusion - change, 9)})
        assert force == pytest.approx(dl.feel(made).break_force, abs=0.005)
    assert dl.feel(A).break_force < forces[3] < forces[1]


# the whole swing


@pytest.mark.checked_by("by hand", "circle on a square edge", "run_offs")
def test_the_first_ball_at_the_edge():
    """In the plane the ball's circle says it: past = sqrt(R² − (R − Δ)²), and the drop is Δ itself."""
    equal, own = swings.run_offs(B).rows
    radius, deeper = 0.79375, 0.0508
    past = np.sqrt(radius**2 - (radius - deeper) ** 2)
    assert numbers(equal[3])[0] == pytest.approx(past, abs=5e-5)
    assert numbers(equal[4])[0] == pytest.approx(deeper, abs=5e-5)
    assert numbers(equal[2])[0] == pytest.approx(np.degrees(past / 8.001), abs=0.006)
    assert equal[1] == own[1] == "ball 2"
    assert numbers(own[4])[0] < deeper
    assert swings.run_offs(A).rows[0][1] == "the face of the bar"
    endless = B.replace({f"balls[{i}].run_off_deg": None for i in (0, 1)})
    assert swings.run_offs(endless).rows == ()
    assert swings.run_offs(endless).notes[0].startswith("No ball leaves the tang")


def test_false_detents_are_the_crossings_of_the_swing():
    rows = swings.false_detents(B, [0.3]).rows
    made = pair.with_press_difference(B, 0.3).replace(
        {"balls[1].track_radius": B.balls[0].track_radius + 0.1, "balls[1].bearing_deg": -30.0}
    )
    (hole,) = dl.swing(made).crossings
    assert numbers(rows[0][1]) == pytest.approx([hole.from_deg, hole.to_deg], abs=0.05)
    # the middle of the hole is the bearing of the other ball, turned by its recess's own rest offset
    assert np.mean(numbers(rows[0][1])) == pytest.approx(30.0 - np.degrees(0.105 / 8.0), abs=0.15)


def test_marks_by_material():
    hard, soft = swings.marks(B, dl.feel(B)).rows
    assert "burnished" in hard[4]
    assert "pressed in at once" in soft[4]
    assert soft[2] == "none for a soft tang"
    assert numbers(hard[1])[0] < dl.feel(B).ride_load < numbers(hard[2])[0]


@pytest.mark.checked_by("by hand", "Archard's law and a cap of a ball", "wear")
def test_wear_is_archards_law_by_hand():
    """K·N·x/(3H) over two swings of 178° on 8 mm, 1000 times; a cap of that volume off a ball is so deep."""
    thin, _, thick, _ = numbers(swings.wear(B, dl.feel(B)).notes[0])[1:]
    slid = 2 * np.radians(178) * 8.001 * 1000
    for depth, k in ((thin, 1e-8), (thick, 1e-4)):
        cap = np.pi * depth**2 * (0.79375 - depth / 3)
        hardness = k * 17.04 * slid / 3 / cap
        assert 5000 < hardness < 10000


def test_spans_need_the_inertia_and_say_so():
    bare = B.replace({"blade.inertia": None})
    said = swings.rough(bare, dl.feel(bare)).notes
    assert said[0] == "The blade's inertia is not on the card: no spans."
    assert len(said) == 2
    assert swings.rough(B, dl.feel(B)).notes[:3] == dl.rough_motion(B).words


def test_what_the_swing_costs():
    """Drag on the flat by hand: friction times force times radius, and the pivot, over the angle in radians."""
    felt, run = dl.feel(B), dl.swing(B)
    table = swings.swing_cost(B, felt, run)
    opening, closing, lost, _ = (numbers(row[1])[0] for row in table.rows)
    assert lost == pytest.approx(opening + closing, abs=0.06)
    on_the_flat = (0.12 * 17.04 * 8.001 + 3.0) * np.radians(168.05 - felt.break_out_deg)
    assert 0 < opening - on_the_flat < 0.15 * opening
    assert f"{100 * felt.work / run.work_opening:.0f} % is the climb" in table.notes[0]
