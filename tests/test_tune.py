"""What a thou does: exact differences of changed knives, their slopes and signs, the limits within a step."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import detentlib as dl
from detentlib.doubt.many import RESULTS, carries, felt
from detentlib.mechanics import bar as bars
from detentlib.mechanics import carry
from detentlib.tune import stock, thou
from detentlib.tune.moves import (
    THOU,
    as_drilled,
    as_made,
    called,
    preset,
    stripped,
    with_preset,
    with_relief,
    with_second_leaf,
)
from detentlib.tune.pair import lead_at_stop, touch_lead, with_rim_lead
from tests.knives import CARDS, A, B, C, D, E, base, measured, numbers_at_random, one_of

KNIVES = {knife.title[-1]: knife for knife in (A, B, C, D, E)}


@cache
def table(name):
    """What a thou does to the knife of that letter."""
    return dl.per_thou(KNIVES[name])


def changed(knife, row):
    return dl.feel(knife.replace(as_made(knife, row.numbers)))


@pytest.mark.parametrize("name", KNIVES)
def test_every_row_is_the_feel_of_the_changed_knife(name):
    knife, now = KNIVES[name], dl.feel(KNIVES[name])
    for row in table(name).rows:
        if row.impossible:
            continue
        after = changed(knife, row)
        for result in (
            "break_force",
            "letback_force",
            "gauge_letback_force",
            "barrier",
            "break_out_deg",
            "draw_in_deg",
            "relief_stress_ride",
            "rest_load",
        ):
            # the draw-in angle of many knives is closed in on in other steps than that of one
            close = 1e-6 if result == "draw_in_deg" else 1e-9
            effect = row.effects[result]
            assert effect.before == pytest.approx(getattr(now, result), abs=close), (row.key, result)
            assert effect.after == pytest.approx(getattr(after, result), abs=close), (row.key, result)


SLOPES = {
    "pin_thicker": "pin",
    "press[0]": "balls[0].protrusion",
    "recess[0]": "balls[0].recess.diameter",
    "relief": "bar.relief_thickness",
}


def test_a_long_step_is_closed_in_on_as_quickly_as_a_short_one(monkeypatch):
    """3 mm cross many limits: however many, the knives are felt together a few times, not a few times for each."""
    asked, ask = [], thou._States.at
    monkeypatch.setattr(thou._States, "at", lambda *given: asked.append(1) or ask(*given))
    rows = dl.per_thou(replace(A, doubts={}), 3.0).rows
    assert sum(len(row.catches) for row in rows) > 8
    assert len({catch.words for row in rows for catch in row.catches}) > 4
    assert len(asked) <= 5


@pytest.mark.checked_by("brute force", "central differences", "per_thou")
@pytest.mark.parametrize("key", SLOPES)
@pytest.mark.parametrize("result", ["break_force", "letback_force", "barrier", "break_out_deg", "relief_stress_ride"])
def test_a_small_step_is_the_slope(key, result):
    """Against central differences of `feel` itself, a hundred times smaller again."""
    path, small, tiny = SLOPES[key], 1e-4, 1e-5
    row = dl.per_thou(A, small).row(key)
    start = 0.0 if path == "pin" else A.get(path)
    high, low = (getattr(dl.feel(A.replace(as_made(A, {path: start + side * tiny}))), result) for side in (1, -1))
    sense = 1 if row.numbers[path] > start else -1
    assert row.effects[result].change / small == pytest.approx(sense * (high - low) / (2 * tiny), rel=2e-3, abs=1e-6)


def test_what_people_ask_first():
    """Common practice: 0.1 mm of preload brings 7 %, a thou of rim gap 9 %; a thou of pin a third of that (B9)."""
    thou = table("A")
    percent = {row.key: row.effects["break_force"].percent for row in thou.rows}
    assert percent["preset_more"] == pytest.approx(7, abs=0.5)
    assert percent["pin_thicker"] == pytest.approx(-2.7, abs=0.05)
    assert percent["pin_thinner"] == pytest.approx(9 / 3, abs=0.2)
    # a thou on the diameter is half a thou on the rim gap
    assert percent["recess[0]"] == pytest.approx(9 / 2, abs=0.2)
    assert percent["ball[0]"] < percent["relief"] < 0 < percent["drill[0]"]
    assert percent["oil"] < 0 < thou.row("oil").effects["letback_force"].percent
    assert percent["off_track[0]"] == pytest.approx(
        100 * (1.3515 / 1.4821 - 1), abs=0.2
    )  # 0.025 mm off track in the demo
    assert percent["tab"] == pytest.approx(100 * (14 / 15 - 1))


def test_preload_by_hand():
    """One tenth of a millimetre at 10.30 N/mm is 1.03 N more at the seat."""
    effects = table("A").row("preset_more").effects
    assert effects["rest_load"].change == pytest.approx(0.1 * dl.feel(A).rate, rel=1e-12)
    assert effects["break_force"].percent == pytest.approx(
        100 * effects["rest_load"].change / effects["rest_load"].before, rel=1e-9
    )


def test_the_pivot_shows_on_the_gauge_alone():
    row = dl.per_thou(replace(A, doubts={})).row("pivot")
    assert row.effects["break_force"].change == 0
    assert row.effects["gauge_break_force"].change == pytest.approx(-1 / 14)
    assert row.effects["gauge_letback_force"].change == pytest.approx(1 / 14)
    assert row.told() == "on the whole knife the gauge reads −0.0714 N (−0.0161 lbf), let-back +0.0714 N (0.0161 lbf)"


def test_the_order_of_the_bench():
    keys = [row.key for row in table("C").rows]
    places = [
        "oil",
        "pivot",
        "pin_thinner",
        "preset_more",
        "press[0]",
        "ball[1]",
        "recess[0]",
        "drill[1]",
        "relief",
        "starved",
        "tab",
    ]
    assert [keys.index(key) for key in places] == sorted(keys.index(key) for key in places)
    costs = [row.cost for row in table("C").rows]
    assert costs == sorted(
        costs, key=("reversible", "bent: plastic, can be bent back", "one-way", "for information").index
    )


def test_ball_2_has_its_own_numbers():
    rows = {row.key for row in table("C").rows}
    assert {"press[1]", "ball[1]", "recess[1]", "drill[1]", "place[1]", "off_track[1]"} <= rows
    assert "place[0]" not in rows
    # ball 1 hangs clear at rest, so a thou at its recess changes nothing but the break-out
    assert table("C").row("recess[0]").effects["break_force"].change == pytest.approx(0, abs=1e-9)
    assert table("C").row("recess[1]").effects["break_force"].change > 0.3


def catch(row, words):
    return next(each for each in row.catches if words in each.words)


def state_at(knife, row, share):
    start = {path: 0.0 if path in ("pin", "bar.preset") else knife.get(path) for path in row.numbers}
    return dl.feel(
        knife.replace(
            as_made(knife, {path: value + share * (row.numbers[path] - value) for path, value in start.items()})
        )
    )


@pytest.mark.parametrize(
    ("name", "key", "words", "carrier"),
    [("C", "press[1]", "ball 2 no longer carries at rest", 0), ("E", "place[1]", "ball 2 carries at rest", 1)],
)
def test_where_ball_2_changes_within_a_step(name, key, words, carrier):
    row = table(name).row(key)
    found = catch(row, words)
    assert 0 < found.at < 1
    assert state_at(KNIVES[name], row, found.at + 0.001).rest_carrier == carrier
    assert state_at(KNIVES[name], row, found.at - 0.001).rest_carrier != carrier
    assert words in row.told()


def test_a_touch_that_is_short_of_the_stop_is_told_as_well():
    row = table("E").row("press[1]")
    found = catch(row, "ball 2 hangs clear all the way")
    assert state_at(E, row, found.at - 0.002).handovers != ()
    assert state_at(E, row, found.at + 0.002).handovers == ()


def test_the_touch_threshold_within_a_step():
    """The step in which the rim lead passes the touch threshold names the place, in step with touch_lead."""
    near = with_rim_lead(B, touch_lead(B) - 0.01, "shift")
    row = dl.per_thou(near).row("place[1]")
    # the lead grows with the rest offset of ball 2, one for one on its track
    assert catch(row, "ball 2 carries at rest").at == pytest.approx(0.01 / THOU, abs=0.002)


def test_touch_lead_against_the_knife_itself():
    lead = touch_lead(C)
    assert dl.feel(with_rim_lead(C, lead + 1e-6)).rest_carrier == 1
    assert dl.feel(with_rim_lead(C, lead - 1e-6)).rest_carrier == 0
    assert lead < lead_at_stop(C)


def test_no_recess_brings_down_a_ball_that_is_far_below():
    assert touch_lead(B.replace({"balls[1].protrusion": 0.1})) is None


def test_a_floor_in_the_step():
    seat = dl.feel(A).seat_depth[0]
    near = A.replace({"balls[0].recess.depth": seat + 0.002})
    row = dl.per_thou(near).row("recess[0]")
    found = catch(row, "a ball lands on its floor")
    # at the floor the seat depth is the floor's: L1 backwards
    radius, deep = A.balls[0].radius, seat + 0.002
    wider = 2 * (np.sqrt(2 * radius * deep - deep**2) - dl.feel(A).rim_gap[0])
    assert found.at * THOU == pytest.approx(wider, abs=2e-5)
    assert catch(row, "the blade rests off the stop").at == pytest.approx(found.at, abs=0.01)


def test_the_bar_face_in_the_step():
    low = A.replace({"balls[0].protrusion": dl.feel(A).seat_depth[0] + 0.01})
    assert catch(dl.per_thou(low).row("press[0]"), "the bar face lies on the tang").at == pytest.approx(
        0.01 / THOU, abs=1e-3
    )


def test_yield_in_the_step():
    """Seated, bend and side push meet in one edge and grow with the bar force; riding decides."""
    for smooth in ({}, {"friction.rim": 0.0}):
        knife = A.replace(smooth)
        now = dl.feel(knife)
        seated = now.relief_stress_rest + now.relief_stress_side
        stress, load = (now.relief_stress_ride, now.ride_load) if smooth else (seated, now.rest_load)
        assert stress == max(seated, now.relief_stress_ride)
        row = dl.per_thou(knife.replace({"bar.yield_stress": 493.0})).row("preset_more")
        assert row.effects["relief_stress"].before == pytest.approx(stress)
        assert catch(row, "bent past its yield").at == pytest.approx(
            (493 / stress - 1) * load / (0.1 * now.rate), abs=1e-3
        )


def test_a_jam_in_the_step_has_no_numbers_but_a_reason():
    steep = A.replace({"balls[0].recess.diameter": 1.66, "balls[0].protrusion": 0.75, "balls[0].recess.depth": None})
    row = dl.per_thou(steep).row("dry")
    assert row.effects == {}
    assert "jams" in row.impossible
    at = catch(row, "it cannot work").at
    refused_from = np.tan(np.radians(89 - dl.feel(steep).contact_deg[0]))
    assert 0.12 + at * row.size == pytest.approx(refused_from, abs=1e-3)


def test_steps_that_cannot_be_taken_say_why():
    bare = measured(A).replace({"friction.rim": 0.09})
    table = dl.per_thou(bare)
    reasons = {row.key: row.impossible for row in table.rows if row.impossible}
    assert reasons == {"oil": "it runs at 0.09 already", "relief": "the drawn sizes of the bar are not known"}
    long = {row.key: row.impossible for row in dl.per_thou(A, 1.2).rows}
    assert long["relief"] == "it would cut the bar through"
    assert "from the middle of a recess" in {row.key: row.impossible for row in dl.per_thou(A, 1.9).rows}["pin_thicker"]
    assert "must be greater than zero" in long["press[0]"]
    assert (
        dl.per_thou(A.replace({"friction.pivot_torque": 0})).row("pivot").impossible
        == "the pivot has no drag to take away"
    )
    wide = measured(A).replace(
        {"balls[0].recess.diameter": 1.69, "balls[0].protrusion": 0.78, "friction.rim": 0.01, "bar.rate": 5.0}
    )
    row = dl.per_thou(wide.replace({"balls[0].recess.depth": None}), 0.1).row("recess[0]")
    assert "not smaller than the ball's radius" in row.impossible


def test_a_second_leaf_has_its_own_bend():
    table = dl.per_thou(with_second_leaf(B))
    assert table.row("preset_more[1]").effects["break_force"].change > 0
    assert table.row("preset_more[1]").effects["relief_stress_ride"].change == 0
    assert table.row("relief[1]").effects["break_force"].change < 0
    assert not any(each.words.startswith("ball 2 carries at rest") for row in table.rows for each in row.catches)


def test_the_table_for_people():
    table = dl.per_thou(A)
    text, markdown = str(table), table._repr_markdown_()
    assert repr(table) == f"<PerThou: Pellowfen A, {len(table.rows)} steps of 0.0254 mm (1.00 thou)>"
    assert text.startswith("Pellowfen A: what 0.0254 mm (1.00 thou) does\n")
    line = next(line for line in text.splitlines() if line.startswith("bar bent in"))
    assert "+0.87 ± 0.16 N (0.196 ± 0.035 lbf); +7.2 %" in line
    assert "+35.4 ± 1.7 MPa (5.14 ± 0.25 ksi); +7.2 %" in line
    assert markdown.count("\n| ") == len(table.rows) + 1
    assert "nan" not in text
    assert str(dl.per_thou(A)) == text
    with pytest.raises(KeyError, match="'relif': take one of oil, pivot"):
        table.row("relif")


@pytest.mark.parametrize("length", [0.0, -0.01, float("nan")])
def test_a_step_of_nothing_is_refused(length):
    with pytest.raises(ValueError, match=r"length = .*(must be greater than zero|is not a finite number)"):
        dl.per_thou(A, length)


def test_a_knife_that_cannot_work_is_refused():
    with pytest.raises(dl.KnifeError, match="rim gap"):
        dl.per_thou(A.replace({"balls[0].recess.diameter": 1.8}))


# what a change at the bench does to the numbers


def force_at(knife, gap):
    spring = bars.spring(knife.bar, knife.balls[0])
    return bars.moment(spring, (gap - spring.parallel_gap) / spring.arm) / spring.arm


@pytest.mark.parametrize(
    "knife", [A, measured(A), A.replace({"bar.parallel_gap": None}), C], ids=["drawn", "rate", "no gap", "two balls"]
)
def test_a_bar_that_keeps_its_bend_presses_as_before_at_every_gap(knife):
    taller = knife.replace(as_made(knife, {"balls[0].protrusion": 0.45}))
    assert taller.bar.riding_force == pytest.approx(knife.bar.riding_force + 0.03 * dl.feel(knife).rate)
    for gap in (0.0, 0.2, 0.42):
        assert force_at(taller, gap) == pytest.approx(force_at(knife, gap), rel=1e-12)


def test_a_taller_ball_2_does_not_bend_the_bar_by_itself():
    assert as_made(C, {"balls[1].protrusion": 0.4}) == {"balls[1].protrusion": 0.4}


def test_relief_and_bend_go_through_one_door():
    thin = A.replace(as_made(A, {"bar.relief_thickness": 1.0}))
    assert thin == with_relief(A, 1.0)
    assert preset(thin) == pytest.approx(preset(A), rel=1e-12)
    both = A.replace(as_made(A, {"bar.relief_thickness": 1.0, "bar.preset": 0.2}))
    assert both.bar.riding_force == pytest.approx(with_preset(thin, 0.2).bar.riding_force, rel=1e-12)


def test_the_stop_pin_moves_every_ball():
    moved = C.replace(as_made(C, {"stop": 0.03, "balls[1].recess.rest_offset": 0.05}))
    assert moved.balls[0].recess.rest_offset == pytest.approx(0.09)
    assert moved.balls[1].recess.rest_offset == pytest.approx(0.05 + 0.03 * 9.602 / 8.001)


def test_a_thicker_pin_moves_every_ball_by_its_lever():
    """B9 by hand: half of the thou, turned at the stop radius; a knife card of 12 mm, and one without."""
    for knife, radius in (
        (CARDS["C"], 12.0),
        (C.replace({"blade.stop_radius": 10.0}), 10.0),
        (C.replace({"blade.stop_radius": None}), 12.0),
    ):
        moved = knife.replace(as_made(knife, {"pin": 0.0254}))
        for was, now in zip(knife.balls, moved.balls, strict=True):
            assert now.recess.rest_offset - was.recess.rest_offset == pytest.approx(
                0.0127 / radius * was.track_radius, rel=1e-12
            )
        assert moved.blade.pin_diameter == pytest.approx(knife.blade.pin_diameter + 0.0254)
    bare = C.replace({"blade.stop_radius": None, "blade.pin_diameter": None})
    assert bare.replace(as_made(bare, {"pin": 0.0254})).blade.pin_diameter is None
    assert "(stop radius 12 mm assumed)" in dl.per_thou(bare).row("pin_thicker").words
    assert "assumed" not in dl.per_thou(C).row("pin_thicker").words


def test_a_relief_makes_the_bar_stiffer_sideways_too():
    """Drawn, by its own sizes; measured, in the ratio of the drawn ones; a bar that is stiff sideways stays so."""
    drawn = CARDS["A"]
    known = drawn.replace({"bar.side_compliance": 0.007})
    before, after = (bars.side_compliance(knife.bar, knife.balls[0]) for knife in (drawn, with_relief(drawn, 1.4)))
    assert after < before
    assert with_relief(known, 1.4).bar.side_compliance == pytest.approx(0.007 * after / before, rel=1e-12)
    assert with_relief(drawn, 1.4).bar.side_compliance is None
    assert with_relief(A, 1.4).bar.side_compliance == 0
    made = dl.per_thou(known).row("relief")
    assert made.effects["break_force"].after == pytest.approx(
        dl.feel(with_relief(known, 1.1 - 0.0254)).break_force, rel=1e-9
    )


def test_a_table_of_a_knife_that_gives_sideways_is_that_of_its_changed_knives():
    """By a second program that shares no code: A 12.05 N; the pin as B9 has it, so 0.0085 mm further."""
    table = dl.per_thou(CARDS["A"])
    assert table.row("pin_thicker").effects["break_force"].before == pytest.approx(12.05, abs=0.01)
    for row in table.rows:
        if row.effects:
            one = changed(CARDS["A"], row)
            for name in ("break_force", "letback_force", "barrier", "break_out_deg"):
                assert row.effects[name].after == pytest.approx(getattr(one, name), rel=1e-7, abs=1e-7), (row.key, name)


def test_a_relief_without_drawn_sizes_is_refused():
    with pytest.raises(dl.KnifeError, match="drawn sizes are not known"):
        as_made(measured(A), {"bar.relief_thickness": 1.0})


@pytest.mark.parametrize(("diameter", "left"), [(1.24, 0.03), (1.30, 0.0), (1.40, 0.0)])
def test_drilling_wider_eats_the_chamfer(diameter, left):
    chamfered = A.replace({"balls[0].recess.diameter": 1.20, "balls[0].recess.chamfer_width": 0.05})
    wider = chamfered.replace(as_drilled(chamfered, 0, diameter)).balls[0].recess
    assert wider.chamfer_width == pytest.approx(left)
    assert wider.rim_radius == pytest.approx(max(0.65, diameter / 2))


# many knives at once


@pytest.mark.parametrize("balls", [1, 2])
def test_many_against_one_by_one(balls):
    count = 70
    knife, numbers = base(balls), numbers_at_random(count, seed=11, balls=balls)
    found = felt(knife, numbers)
    worked = 0
    for k in range(count):
        try:
            one = dl.feel(one_of(knife, numbers, k))
        except dl.KnifeError:
            assert not found.possible[k]
            continue
        assert found.possible[k]
        worked += 1
        for result in ("break_force", "letback_force", "barrier", "rest_load"):
            assert found.values[result][k] == pytest.approx(getattr(one, result), rel=1e-6, abs=1e-6)
        lean = one.contact_deg[one.rest_carrier] + np.degrees(np.arctan(numbers["friction.rim"][k].item()))
        assert found.values["jam_margin_deg"][k] == pytest.approx(90 - lean, abs=1e-5)
        if balls == 2:
            assert found.values["idle_clearance"][k] == pytest.approx(max(one.idle_clearance), abs=1e-6)
            # a touch of ball 2 anywhere is a handover, or it carries from rest
            touched = one.rest_carrier == 1 or any(1 in (over.from_ball, over.to_ball) for over in one.handovers)
            riding = carry.state(one_of(knife, numbers, k), np.radians([one.break_out_deg + 0.01])).loads[1][0] > 0
            assert carries(found)[k, 1] == (touched or riding)
    assert worked > 10


WRONG = {
    "balls[0].recess.rest_offset": (0.7, "ball on the land beside its recess"),
    "balls[0].protrusion": (1.6, "protrusion not smaller than the ball"),
    "bar.relief_thickness": (3.2, "relief thicker than the bar"),
    "friction.rim": (-0.01, "friction coefficient at the rim below zero"),
    "bar.riding_force": (0.0, "force at ball 1 when it rides the flat not above zero"),
    "balls[0].recess.chamfer_deg": (90.0, "angle of the chamfer from the tang face not between 0° and 90°"),
}


@pytest.mark.parametrize("path", WRONG)
def test_what_no_part_would_take_is_counted_and_named(path):
    value, reason = WRONG[path]
    found = felt(A, {path: np.array([A.get(path), value])})
    assert found.impossible[reason] == 1
    assert found.possible.tolist() == [True, False]
    assert found.values["break_force"][0] == pytest.approx(dl.feel(A).break_force)
    assert np.isfinite(found.values["break_force"]).all()
    with pytest.raises(dl.KnifeError):
        A.replace({path: value})


def test_names_of_numbers():
    assert called(C, "balls[1].recess.rest_offset") == "ball 2: rest offset of the recess"
    assert set(RESULTS) >= {"break_force", "floor_clearance"}


# what can be bought


def test_reamers_and_pins_on_either_side():
    assert [size.name for size in stock.near(1.3049, stock.METRIC_REAMERS)] == ["reamer 1.30 mm", "reamer 1.31 mm"]
    assert stock.near(1.3208, stock.INCH_REAMERS).below == stock.near(1.3208, stock.INCH_REAMERS).above
    assert [size.name for size in stock.near(1.33, stock.PLUG_PINS)] == ["pin 0.052 in", "pin 0.053 in"]
    assert stock.near(1.33, stock.PLUG_PINS).below.diameter == 1.3208
    assert len(stock.PLUG_PINS) == 50


@pytest.mark.parametrize("sizes", [stock.BALLS, stock.DRILLS, stock.REAMERS, stock.PLUG_PINS])
def test_stock_rises(sizes):
    diameters = [size.diameter for size in sizes]
    assert diameters == sorted(diameters)
    assert stock.near(diameters[0] / 2, sizes).below is None
    assert stock.near(diameters[-1] * 2, sizes).above is None


def test_a_knife_with_friction_on_the_flat_of_its_own():
    own = A.replace({"friction.flat": 0.2})
    assert dl.per_thou(own).row("oil").numbers == {"friction.rim": 0.10, "friction.flat": 0.10}


def test_doubts_change_nothing_but_the_ends():
    for row, sure in zip(table("A").rows, dl.per_thou(replace(A, doubts={})).rows, strict=True):
        assert (row.words, row.numbers, row.catches, row.impossible) == (
            sure.words,
            sure.numbers,
            sure.catches,
            sure.impossible,
        )
        for name, effect in row.effects.items():
            assert sure.effects[name][:2] == effect[:2]
            assert sure.effects[name].interval.doubt == 0


def test_the_doubt_of_a_step_is_that_of_the_same_knife_before_and_after():
    """Knives drawn with another generator, each moved at the bench; 256 and 2,000 draws tell an end to 15 %."""
    rng, bore = np.random.default_rng(5), "balls[0].recess.diameter"
    knives = A.with_arrays(
        {path: A.get(path) + doubt / 1.96 * rng.standard_normal((2000, 1)) for path, doubt in A.doubts.items()}
    )
    moves = {
        "preset_more": {"bar.riding_force": with_preset(knives, 0.1).bar.riding_force},
        "recess[0]": {bore: knives.get(bore) + THOU},
        "oil": {"friction.rim": np.full((2000, 1), 0.10)},
    }
    now = dl.feel_many(knives).values["break_force"]
    changes = {key: dl.feel_many(knives.with_arrays(moved)).values["break_force"] - now for key, moved in moves.items()}
    for key, found in changes.items():
        ends, effect = np.quantile(found, (0.025, 0.975)), table("A").row(key).effects["break_force"]
        assert (effect.interval.low, effect.interval.high) == pytest.approx(ends, abs=0.15 * np.ptp(ends)), key
        assert effect.interval.value == pytest.approx(effect.change, rel=1e-9)


@pytest.mark.parametrize("lean", [-1, 0, 1])
def test_a_gauge_that_lifts_the_bar_off_the_shut_blade_reads_the_force_of_the_stripped_knife(lean):
    """Statics at the ball: the rim presses with what the gauge leaves it and pushes the ball aside along its track,
    leaning either way on its friction cone; less and less is left.
    """
    knife = CARDS["A"]
    ball, bar = knife.balls[0], knife.bar
    radius, gives, angle = ball.diameter / 2, bars.side_compliance(bar, ball), lean * np.arctan(knife.friction.rim)
    gap = stands = ball.recess.diameter / 2 - ball.recess.rest_offset
    for left in (1.0, 1e-3, 1e-6):
        for _ in range(60):
            gap = stands + gives * left * np.tan(np.arcsin(gap / radius) + angle)
        seat = radius - np.sqrt(radius**2 - gap**2)
        gauge = bar.riding_force - bars.rate(bar, ball) * seat - left
    assert gauge == pytest.approx(dl.feel(stripped(knife)).rest_load, abs=1e-4)
    assert gauge > dl.feel(knife).rest_load + 0.4
