"""No result hangs on the last bit of an input, nor on the unit that it was written in."""

import numpy as np
import pytest

import detentlib as dl
from detentlib.knife.units import quantity
from tests.knives import FELT, A, base, numbers_at_random

BORE = "balls[0].recess.diameter"
STICKY = A.replace({"friction.flat": 0.3, "friction.rim": 0.04})
DRAG = 0.3 * 17.04 * 8.001  # Coulomb on the flat: friction, riding force, track radius [N·mm]
NUDGE = 1e-9
IN_MM = (
    "diameter",
    "protrusion",
    "track_radius",
    "hinge_distance",
    "recess.diameter",
    "recess.rest_offset",
    "recess.depth",
)
STEADY = [
    name for name in FELT if name not in ("peak_deg", "rest_carrier")
]  # which of two equal peaks or balls is named hangs on a hair


@pytest.mark.parametrize("diameter", [0.30, 0.31, 0.32, 0.33, 0.34])
def test_drag_on_the_flat_is_the_break_torque_where_it_is_more_than_the_climb(diameter):
    felt = dl.feel(STICKY.replace({BORE: diameter}))
    assert felt.break_torque == pytest.approx(DRAG, rel=1e-9)
    assert felt.break_force == pytest.approx(DRAG / 14.0, rel=1e-9)
    assert felt.peak_deg == pytest.approx(felt.break_out_deg, abs=1e-6)
    assert felt.snap_ratio == pytest.approx(0.0, abs=1e-9)


def test_the_climb_is_the_break_torque_where_it_is_more():
    felt = dl.feel(STICKY.replace({BORE: 0.9}))
    assert felt.break_torque > 1.2 * DRAG
    assert felt.peak_deg < 0.1


def test_drag_of_one_ball_on_the_flat_counts_while_another_still_climbs():
    """Two leaves: ball 1 is on the sticky flat while ball 2 has just begun to climb; the greatest sum stands there."""
    second = dl.Ball(1.5875, 0.42, 8.001, 36.4, dl.Recess(0.8, rest_offset=-0.19), bar=1)
    first = dl.Ball(1.5875, 0.42, 8.001, 36.4, dl.Recess(0.5, rest_offset=0.05))
    friction = dl.Friction(0.02, flat=0.3)
    bars = dl.LockBar(17, rate=10, side_compliance=0.0), dl.LockBar(4, rate=1, side_compliance=0.0)
    leaves = dl.Knife("two leaves", [first, second], bars[0], A.blade, friction, bars[1])
    flat = np.degrees(2 * np.arcsin(0.25 / 2 / 8.001) - np.arcsin(0.05 / 8.001))  # where the rim of ball 1 ends
    greatest = dl.sweep(leaves, np.append(np.linspace(0, 4, 40_001), flat + 1e-7)).torque.max()
    felt = dl.feel(leaves)
    assert felt.peak_deg == pytest.approx(flat, abs=1e-6)
    assert felt.break_torque == pytest.approx(greatest, rel=1e-8)


@pytest.mark.parametrize("diameter", np.linspace(0.25, 0.6, 29))
def test_the_same_knife_in_mm_and_in_inches(diameter):
    knife = STICKY.replace({BORE: float(diameter), "friction.flat": 0.7})
    paths = [f"balls[0].{name}" for name in IN_MM]
    inches = knife.replace({path: quantity(f"{knife.get(path) / 25.4!r} in", "mm").value for path in paths})
    one, other = dl.feel(knife), dl.feel(inches)
    for name in STEADY:
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-6, abs=1e-7), name


@pytest.mark.parametrize("balls", [1, 2])
@pytest.mark.parametrize("kind", ["usual", "shallow on a sticky flat"])
def test_a_nudge_of_any_number_moves_no_result(balls, kind):
    count, rng = 25, np.random.default_rng(11)
    numbers = numbers_at_random(count, 12, balls) | {"friction.flat": rng.uniform(0.02, 0.6, (count, 1))}
    if kind != "usual":
        for i in range(balls):
            numbers[f"balls[{i}].recess.diameter"] = rng.uniform(0.3, 0.6, (count, 1))
        numbers["friction.rim"] = rng.uniform(0.0, 0.1, (count, 1))
    moved = 0
    for row in range(count):
        one = {path: values[row].item() for path, values in numbers.items()}
        # row 0 as it is, then each number a little more and a little less
        table = {path: np.full((1 + 2 * len(one), 1), value) for path, value in one.items()}
        for k, path in enumerate(one):
            table[path][1 + 2 * k : 3 + 2 * k, 0] *= 1 + NUDGE * np.array([1, -1])
        many = dl.feel_many(base(balls).with_arrays(table))
        assert len(set(many.possible.tolist())) == 1, row
        if not many.possible[0]:
            continue
        moved += 1
        for name in STEADY:
            values = many.values[name]
            assert values == pytest.approx(np.full(values.shape, values[0]), rel=1e-6, abs=1e-6), (row, name)
    assert moved >= 5
