"""Two knives side by side: the ± of a difference counts what both share once."""

import math
from dataclasses import replace

import pytest

import detentlib as dl
from detentlib.tune.compare import USUAL, beside
from tests.knives import A, B, C, D


def _only(knife, **doubts):
    return dl.Knife(knife.title, knife.balls, knife.bar, knife.blade, knife.friction, doubts=doubts)


def test_a_and_b_cannot_be_told_apart():
    found = dl.compare(A, B)
    assert [row.name for row in found.rows] == list(USUAL)
    assert not any(row.apart for row in found.rows)
    row = found["break_force"]
    assert row.difference.value == pytest.approx(0, abs=1e-9)
    assert row.one == pytest.approx(dl.compare(A, C)["break_force"].one)
    assert "cannot be told apart" in str(row)


def test_the_values_are_those_of_the_budget():
    row = dl.compare(A, C)["barrier"]
    for value, knife in ((row.one, A), (row.other, C)):
        found = dl.budget(knife, "barrier")
        assert value == pytest.approx(found.interval, rel=0.02)
    assert row.difference.value == pytest.approx(row.other.value - row.one.value)
    assert row.ratio.value == pytest.approx(row.other.value / row.one.value)


def test_what_both_share_counts_once():
    """The tab arm is one measured thing: F = T/arm, so the difference has (T2 − T1)/arm² of it, the ratio nothing."""
    strong = A.replace({"bar.riding_force": 20.0})
    one, two = (_only(knife, **{"blade.tab_arm": 0.6}) for knife in (A, strong))
    row = dl.compare(one, two, ["break_force"])["break_force"]
    torques = [dl.feel(knife).break_torque for knife in (one, two)]
    assert row.difference.doubt == pytest.approx((torques[1] - torques[0]) / 14.0**2 * 0.6, rel=0.01)
    assert row.ratio.doubt == pytest.approx(0, abs=1e-9)
    assert row.apart
    # another arm on the other knife was measured by itself
    other = two.replace({"blade.tab_arm": 14.001})
    row = dl.compare(one, other, ["break_force"])["break_force"]
    assert row.difference.doubt == pytest.approx(math.hypot(row.one.doubt, row.other.doubt), rel=0.02)


@pytest.mark.checked_by("by hand", "root of the sum of squares", "compare")
def test_independent_doubts_add_as_squares():
    one, two = (
        _only(A, **{"bar.riding_force": 0.8}),
        _only(A.replace({"bar.riding_force": 18.0}), **{"bar.riding_force": 0.8}),
    )
    row = dl.compare(one, two, ["ride_load"])["ride_load"]
    assert row.difference.doubt == pytest.approx(0.8 * math.sqrt(2), rel=0.02)
    assert not row.apart
    assert dl.compare(one, two.replace({"bar.riding_force": 18.3}), ["ride_load"])["ride_load"].apart


def test_d_is_stronger_than_b():
    """On its card; with those ± ball 2 of D hangs clear in more than 1 of 40: one knife. Finer readings tell."""
    row = dl.compare(B, D)["break_force"]
    assert not row.apart
    assert row.difference.low == pytest.approx(0, abs=1e-9)
    fine = (replace(knife, doubts={path: doubt / 3 for path, doubt in knife.doubts.items()}) for knife in (B, D))
    assert dl.compare(*fine)["break_force"].apart
    assert row.ratio.value == pytest.approx(15.28 / 12.04, rel=1e-3)  # numbers of the demo


def test_what_one_knife_does_not_give_is_said():
    off = A.replace({"balls[0].recess.off_track": 0.05, "friction.rim": 0.25})
    found = dl.compare(A, off, ["letback_force", "barrier"])
    assert found.not_given == ("let-back force",)
    assert [row.name for row in found.rows] == ["barrier"]
    assert "not given: let-back force" in str(found)


def test_what_parts_them_may_leave_a_number_as_it_is():
    """The last ball on the flat is ball 1, with and without a second one."""
    row = dl.compare(C, A)["break_out_deg"]
    assert row.same
    assert "difference none, in 95 % of what the ± of both allow: cannot be told apart" in str(row)
    assert "1.000 times" not in str(row)
    assert "| none, in 95 % of what the ± of both allow | not with these ± |" in dl.compare(C, A)._repr_markdown_()
    assert not dl.compare(C, A)["break_force"].same


def test_it_prints_as_text_and_as_a_table():
    found = dl.compare(A, C)
    assert str(found).count("\n") == len(USUAL)
    assert f"{len(found.shared)} measured numbers are the same in both" in str(found)
    assert "blade.tab_arm" in found.shared
    assert found._repr_markdown_().count("|---") == 5
    assert "lbf" in str(found)


def test_no_number_of_feel():
    with pytest.raises(ValueError, match="brake_force"):
        dl.compare(A, B, ["brake_force"])


def test_beside_each_other_stand_the_numbers_that_each_knife_gives():
    loose = A.replace({"bar.rate": 10.3, "bar.relief_thickness": None, "bar.yield_stress": None})
    table = beside("Two bars", {"drawn": A, "measured": loose}, ["ride_load", "relief_stress_ride"])
    assert table.heads == ("", "bar force riding", "relief stress riding")
    assert [row[0] for row in table.rows] == ["drawn", "measured"]
    stress = A.bar.riding_force * 6 * (36.4 + 6.0 / 2) / (7.0 * 1.1**2)  # M/(w t²/6), any strength-of-materials text
    assert table.rows[0][2].startswith(f"{stress:.1f} MPa")
    assert table.rows[1][2] == "not given"


def test_beside_names_what_it_can_show():
    with pytest.raises(ValueError, match=r"'rim_lead' is no number of one knife .*break_force"):
        beside("Leads", {"A": A}, ["rim_lead"])
