"""The stepped bar of B1 against a solid model of bar and root in quadratic bricks (tests/bricks.py).

The bricks themselves are held to Timoshenko's beam (shear coefficient 6/5 of a rectangle) and to the torsion
coefficient of a rectangle of sides 2 to 1 (test_beam.py: printed 0.229, exact 0.228682).
What B1 misses was found over bars of the usual sizes: `python -m tests.outside.bricks` prints them.
"""

import numpy as np
import pytest

from detentlib.knife.parts import Ball, LockBar, Recess, spec
from detentlib.mechanics import bar as bars
from tests.bricks import Bar, compliance
from tests.outside import bricks

COARSE = 0.5**0.5
# a drawn bar of a frame lock: B1 times so much, ± (95 %), for slab and clamp that are not known; sideways at the rim, roll and all
UP, SIDEWAYS = (spec(f"bar.{name}")["typical"] for name in ("root_up", "root_side"))
# the same with the relief longer (thicknesses; sideways widths) and so many widths of thick bar behind it; a liner's
UP_STRETCHED, SIDEWAYS_STRETCHED = ((0.95, 1.1), 0.11), ((0.6, 0.3), 0.09)
UP_LINER, SIDEWAYS_LINER = ((0.0, 0.9), 0.32), ((0.0, 0.63), 0.11)
TWIST = (0.85, 0.26)  # of relief and thick bar together by B2, at the height where the rim presses
BARS = {
    "demo": bricks.DEMO,
    "short and wide": Bar(1.2, 5.0, 9.0, 3.2, 34.0, cut="tang", slab=28.0, back=12.0, overrun=1.0),
    "long and narrow": Bar(1.5, 8.0, 6.5, 3.6, 48.0, slab=22.0, back=18.0, pivot=54.0),
    "thin": Bar(0.95, 6.0, 8.0, 3.0, 42.0, cut="tang", slab=24.0, back=20.0, overrun=0.5, pivot=48.0),
}


def test_bricks_bend_and_shear_like_a_plain_cantilever_and_twist_as_the_handbook_says():
    plain = Bar(3.0, 4.0, 6.0, 3.0, 56.0, slab=6.0, back=1.0, poisson=0.0)
    give = compliance(plain, [26.0, 56.0], COARSE)
    length, shear, area = 59.0, plain.youngs_modulus / 2, 18.0
    for at, deep in ((3, 3.0), (4, 6.0)):
        bent = length**3 / (3 * plain.youngs_modulus * area * deep**2 / 12)
        assert give[at, at] == pytest.approx(bent + 1.2 * length / (shear * area), rel=1e-3)
    assert give[5, 5] - give[2, 2] == pytest.approx(30 / (shear * 0.228682 * 6 * 3**3), rel=3e-3)
    assert give == pytest.approx(give.T, rel=1e-6, abs=1e-9 * give[3, 3])


def test_finer_bricks_change_little():
    coarse, middle, fine = (bricks.measure(bricks.DEMO, size)[:2] for size in (0.35, 0.5, COARSE))
    assert np.all(coarse < middle)  # a body of bricks is too stiff
    assert np.all(middle < fine)
    assert np.all(fine - middle < middle - coarse)
    assert fine == pytest.approx(middle, rel=0.015)


@pytest.fixture(scope="module", params=BARS)
def measured(request):
    bar = BARS[request.param]
    return bar, bricks.measure(bar, COARSE)


def test_drawn_compliance_is_as_good_as_is_said(measured):
    _, (up, *_, sideways) = measured
    assert up == pytest.approx(UP.value, abs=UP.doubt)
    assert sideways == pytest.approx(SIDEWAYS.value, abs=SIDEWAYS.doubt)


@pytest.mark.checked_by("another program", "scikit-fem, a solid model in bricks", "B1", "B6a")
def test_a_card_with_the_usual_root_is_as_good_as_its_doubt_says(measured):
    """Rate and sideways give of a LockBar drawn like the bricks, against the bricks [mm/N]."""
    bar, (up, *_, sideways) = measured
    sizes = {name: getattr(bar, name) for name in ("relief_thickness", "relief_length", "width", "thickness", "youngs_modulus")}
    card = LockBar(17.0, **sizes, root_up=UP.value, root_side=SIDEWAYS.value)
    ball = Ball(1.5875, 0.42, 8.0, bar.hinge_distance, Recess(1.3208))
    clamped, clamped_aside = bricks.beam(bar), bricks.beam(bar, sideways=True)
    assert 1 / bars.rate(card, ball) == pytest.approx(up * clamped, abs=UP.doubt * clamped)
    assert bars.side_compliance(card, ball) == pytest.approx(sideways * clamped_aside, abs=SIDEWAYS.doubt * clamped_aside)


def test_a_longer_relief_and_a_root_explain_most_of_it(measured):
    bar, (up, sideways, *_) = measured
    for found, (lengths, doubt), swapped in ((up, UP_STRETCHED, False), (sideways, SIDEWAYS_STRETCHED, True)):
        assert found == pytest.approx(1 + bricks.stretches(bar, swapped) @ lengths, rel=doubt)


def test_twist_below_the_rim(measured):
    """Twist of relief and thick bar by B2, at the height where the rim presses."""
    _, (*_, twist, _) = measured
    assert twist == pytest.approx(TWIST[0], rel=TWIST[1])


@pytest.mark.parametrize("back", [5.0, 13.0])
def test_a_liner_has_a_root_and_no_step(back):
    liner = Bar(1.3, 6.0, 8.0, 1.3, 42.0, slab=24.0, back=back)
    up, sideways, *_ = bricks.measure(liner, COARSE)
    for found, (lengths, doubt), swapped in ((up, UP_LINER, False), (sideways, SIDEWAYS_LINER, True)):
        assert found == pytest.approx(1 + bricks.stretches(liner, swapped) @ lengths, rel=doubt)


def test_a_liner_hinges_a_third_of_its_free_length_out():
    """Relief as thick as the bar: any length of it gives l³/3EI; two thirds of l put the hinge where B4 has it."""
    free = 45.0
    liners = [Bar(1.3, relief, 8.0, 1.3, free - relief / 2) for relief in (4.0, 10.0, 2 * free / 3)]
    plain = free**3 / (3 * liners[0].youngs_modulus * 8.0 * 1.3**3 / 12)
    assert [bricks.beam(liner) for liner in liners] == pytest.approx([plain] * 3, rel=1e-12)
    near = liners[2].hinge_distance - 0.01
    rank = bricks.beam(liners[2], near=near) / plain
    assert rank == pytest.approx(near / liners[2].hinge_distance, rel=1e-6)
