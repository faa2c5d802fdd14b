"""What must hold for every knife that can work: sound numbers, energy, no jumps without a cause, any ruler and any
balance.
"""

import re
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import detentlib as dl
from detentlib.files.fields import knife_from_fields
from detentlib.knife.parts import spec
from detentlib.knife.units import convert
from detentlib.mechanics import carry
from detentlib.mechanics.feel import Feel
from tests.knives import A, C, E, sound_knives

SOME = settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
FEW = settings(SOME, max_examples=12)


def felt(knife, elastic=False):
    """Feel of a knife that can work; the others are not asked about here."""
    try:
        return dl.feel(knife, elastic)
    except dl.KnifeError:
        assume(False)


def numbers(feel):
    """Every number of a Feel by name, also those inside."""
    for each in fields(feel):
        value = getattr(feel, each.name)
        for part in np.ravel(np.array(value if isinstance(value, tuple) else [value], dtype=object)):
            if isinstance(part, (int, float)):
                yield each.name, part


@SOME
@given(knife=sound_knives(), elastic=st.booleans())
def test_every_number_is_finite_and_in_its_place(knife, elastic):
    feel = felt(knife, elastic)
    assert all(np.isfinite(value) for _, value in numbers(feel))
    assert 0 <= feel.rest_deg <= feel.break_out_deg
    assert 0 <= feel.peak_deg <= feel.break_out_deg + 1e-6
    assert feel.rest_deg <= feel.draw_in_deg <= feel.break_out_deg
    assert feel.barrier >= -1e-9
    assert feel.rest_load > 0
    assert feel.gauge_break_force >= feel.break_force > 0
    assert all(clear >= -1e-9 for clear in feel.idle_clearance)
    assert all(0 <= angle < 90 for angle in feel.contact_deg)
    assert all(low < high <= feel.break_out_deg + 1e-6 for low, high in feel.stall_pockets)
    assert all(handover.from_ball != handover.to_ball for handover in feel.handovers)
    if feel.letback_force is not None:
        assert feel.gauge_letback_force <= feel.letback_force <= feel.break_force + 1e-9


@SOME
@given(knife=sound_knives(), elastic=st.booleans(), direction=st.sampled_from(["opening", "closing"]))
def test_sweep_keeps_its_promises(knife, elastic, direction):
    feel = felt(knife, elastic)
    run = dl.sweep(knife, direction=direction, elastic=elastic)
    for name in (
        "gap",
        "demand",
        "clearance",
        "load",
        "torque",
        "tab_force",
        "energy",
        "slope",
        "contact_deg",
        "rim_gap",
    ):
        assert np.all(np.isfinite(getattr(run, name))), name
    assert np.all(run.load >= 0)
    assert np.all(run.clearance > -1e-9)
    assert np.all(run.clearance[run.load > 0] == 0)
    assert np.all(run.gap > -1e-9)
    carried = run.carrier >= 0
    assert np.all(run.load[carried, run.carrier[carried]] == run.load[carried].max(axis=1))
    if direction == "opening":
        assert run.torque.max() <= feel.break_torque * (1 + 1e-6)


def pattern(at, k):
    """What carries and what is touched at the k-th angle, and which way each ball goes from its middle."""
    return [
        (load[k] > 0, lifted.touch[k], np.sign(lifted.cos_chi[k]))
        for lifted, load in zip(at.lifts, at.loads, strict=True)
    ]


@FEW
@given(knife=sound_knives(), elastic=st.booleans())
def test_no_jump_without_a_cause(knife, elastic):
    """The torque's largest step where nothing changes hands melts away as one looks closer: there it is steep, not
    broken.
    """
    felt(knife, elastic)
    detent = carry.Detent(knife, elastic)
    theta = np.linspace(0, detent.break_out.item() * 1.1, 1001)
    for sense in (-1, 0, 1):
        at = detent.state(theta, sense)
        torque = at.torque
        steps = np.abs(np.diff(torque)) * [pattern(at, k) == pattern(at, k + 1) for k in range(theta.size - 1)]
        low, high = theta[steps.argmax()], theta[steps.argmax() + 1]
        few, step = 1e-3 * np.max(np.abs(torque)), steps.max()
        while step >= few and np.nextafter(low, high) < high:
            inner = np.linspace(low, high, 11)
            inside = np.abs(np.diff(detent.state(inner, sense).torque))
            low, high, step = inner[inside.argmax()], inner[inside.argmax() + 1], inside.max()
        assert step < few


@FEW
@given(knife=sound_knives())
def test_friction_costs_work_both_ways(knife):
    """Opening takes at least the stored energy; closing gives at most that back."""
    feel = felt(knife)
    smooth = felt(knife.replace({"friction.rim": 0.0}))
    assert feel.work >= smooth.work - 1e-9
    assert feel.break_torque >= smooth.break_torque - 1e-9
    if feel.letback_force is not None:
        assert feel.letback_force <= smooth.letback_force + 1e-9


@FEW
@given(knife=sound_knives())
def test_work_without_friction_is_what_the_bar_stores(knife):
    assume(knife.bar.side_compliance == 0 or len(knife.balls) == 1)
    feel = felt(knife.replace({"friction.rim": 0.0}))
    assert feel.work == pytest.approx(feel.barrier, rel=2e-3, abs=1e-6)


POWERS = {  # unit: powers of length and of force
    "mm": (1, 0),
    "N": (0, 1),
    "N·mm": (1, 1),
    "mJ": (1, 1),
    "N/mm": (-1, 1),
    "mm/N": (1, -1),
    "MPa": (-2, 1),
    "°": (0, 0),
    "deg": (0, 0),
    "": (0, 0),
    "g": None,
    "g·mm²": None,
}
FEEL_UNITS = {
    "N": (
        "break_force",
        "stud_break_force",
        "letback_force",
        "gauge_break_force",
        "gauge_letback_force",
        "rest_load",
        "ride_load",
    ),
    "N·mm": ("break_torque",),
    "mJ": ("barrier", "work"),
    "mm": ("rim_gap", "seat_depth", "idle_clearance", "loaded_offset"),
    "N/mm": ("rate",),
    "MPa": ("relief_stress_rest", "relief_stress_ride", "relief_stress_side"),
    "deg": ("break_out_deg", "draw_in_deg", "rest_deg", "peak_deg", "take_up_deg", "contact_deg"),
    "": ("snap_ratio", "rest_carrier"),
}
NO_NUMBERS = {"handovers", "stall_pockets", "flags", "assumed", "of"}


def test_every_number_of_feel_has_its_unit_and_its_meaning():
    known = {name for names in FEEL_UNITS.values() for name in names}
    names = {field.name for field in fields(Feel)} - NO_NUMBERS
    assert names - known == set(), "enter its unit in FEEL_UNITS"
    assert known <= names
    assert names - set(re.findall(r"\w+", Feel.__doc__)) == set(), "say in the docstring of Feel what it means"


def scaled(knife, length, force):
    """The knife with every length and every force grown; weights, which are neither, left as they are."""
    values = {}
    for path in knife.paths():
        powers = POWERS[spec(path)["unit"]]
        if powers:
            values[path] = knife.get(path) * length ** powers[0] * force ** powers[1]
    return knife.replace(values)


def same_but_scaled(knife, length, force, elastic=False):
    one, two = felt(knife, elastic), felt(scaled(knife, length, force), elastic)
    for unit, names in FEEL_UNITS.items():
        by = length ** POWERS[unit][0] * force ** POWERS[unit][1]
        for name in names:
            before, after = getattr(one, name), getattr(two, name)
            if before is None:
                assert after is None, name
                continue
            assert np.array(after) == pytest.approx(np.array(before) * by, rel=1e-4, abs=1e-6 * by), name
    assert len(one.handovers) == len(two.handovers)


@FEW
@given(knife=sound_knives(), length=st.floats(1.0, 4.0), force=st.floats(0.2, 5.0))
def test_any_ruler_and_any_balance(knife, length, force):
    """Honest units: with all lengths and forces grown, each answer grows by its own unit."""
    same_but_scaled(knife, length, force)


@pytest.mark.parametrize("elastic", [False, True])
@pytest.mark.parametrize("knife", [A, C, E], ids="ACE")
def test_any_ruler_and_any_balance_for_drawn_bars(knife, elastic):
    same_but_scaled(knife.replace({"balls[0].contact_modulus": 115_000.0}), 2.5, 3.0, elastic)


INCH = {"mm": "in", "N": "lbf", "N·mm": "lbf·in", "N/mm": "lbf/in", "MPa": "ksi", "g": "oz", "g·mm²": "lb·in²"}


def as_typed(knife, inch):
    """What a person would type for a knife, number by number, in mm and newtons or in inches and pounds."""
    typed = {"bar.material": knife.bar.material} if knife.bar.material else {}
    for path in knife.paths():
        unit = spec(path)["unit"]
        if inch and unit in INCH:
            typed[path] = f"{convert(knife.get(path), unit, INCH[unit])!r} {INCH[unit]}"
        else:
            typed[path] = f"{knife.get(path)!r} {'' if unit == 'deg' else unit}".strip()
    for i, ball in enumerate(knife.balls):
        typed[f"balls[{i}].bar"] = ball.bar
    return typed


@FEW
@given(knife=sound_knives())
def test_millimetres_and_inches_agree(knife):
    knife = replace(knife, bar=replace(knife.bar, side_compliance=0.0))  # no inch unit is used for it
    felt(knife)
    one, two = (dl.feel(knife_from_fields(as_typed(knife, inch), "typed")) for inch in (False, True))
    assert dict(numbers(one)).keys() == dict(numbers(two)).keys()
    for (name, before), (_, after) in zip(numbers(one), numbers(two), strict=True):
        assert after == pytest.approx(before, rel=1e-7, abs=1e-7), name


@FEW
@given(knife=sound_knives(), factor=st.floats(1.1, 3.0))
def test_more_bar_force_and_rate_at_the_same_preset_scale_every_force(knife, factor):
    """The bar is a straight line, so a stiffer bar at the same preset only multiplies."""
    assume(knife.bar.side_compliance == 0)
    harder = {"bar.riding_force": knife.bar.riding_force * factor, "bar.rate": knife.bar.rate * factor}
    if knife.second_bar:
        harder |= {
            "second_bar.riding_force": knife.second_bar.riding_force * factor,
            "second_bar.rate": knife.second_bar.rate * factor,
        }
    one, two = felt(knife), felt(knife.replace(harder))
    for name in ("break_torque", "letback_force", "barrier", "work", "rest_load"):
        if getattr(one, name) is not None:
            assert getattr(two, name) == pytest.approx(getattr(one, name) * factor, rel=1e-6, abs=1e-9), name
    assert (two.rest_deg, two.break_out_deg) == pytest.approx((one.rest_deg, one.break_out_deg), abs=1e-6)


@FEW
@given(knife=sound_knives(), stretch=st.floats(0.5, 2.0))
def test_push_places_only_divide(knife, stretch):
    one, two = felt(knife), felt(knife.replace({"blade.tab_arm": knife.blade.tab_arm * stretch}))
    assert two.break_force * stretch == pytest.approx(one.break_force)
    assert two.break_torque == one.break_torque


@FEW
@given(knife=sound_knives())
def test_the_same_knife_always_feels_the_same(knife):
    assert felt(knife) == felt(knife)


def test_every_public_name_is_there():
    assert len(dl.__all__) == len(set(dl.__all__))
    for name in dl.__all__:
        assert getattr(dl, name) is not None
        assert name in dir(dl)
    with pytest.raises(AttributeError, match="no attribute 'no_such_name'"):
        _ = dl.no_such_name
    assert not any(re.match("_[^_]", name) for name in dl.__all__)
