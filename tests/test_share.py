"""Sharing (C4, C5): loads of elastic balls and bar against other programs, whatever the balls are called."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from scipy.optimize import minimize, nnls

import detentlib as dl
from detentlib.mechanics import bar as bars
from detentlib.mechanics import carry
from detentlib.mechanics.share import share
from tests.knives import FRICTIONLESS, B, C, D, E, measured
from tests.referee import stepped_cantilever

STEEL_ON_TITANIUM = 7.5e4  # contact modulus [MPa], by order of size
OFF_CENTRE = {"balls[0].side_offset": 2.0, "balls[1].side_offset": -2.0}
ANGLES = np.linspace(0.0, 0.08, 401)


def bars_at_random(count, n, seed):
    """Compliances from nearly rigid to quite loose, some exactly rigid, some with two balls at one place; wanted
    lifts near a sharing.
    """
    rng = np.random.default_rng(seed)
    arms = rng.uniform(0.5, 1.5, (count, n, 1))
    loose = 10.0 ** rng.uniform(-7, 0, (count, 1, 1)) * (np.arange(count)[:, None, None] % 5 > 0)
    own = rng.standard_normal((count, n, n)) * np.sqrt(loose)
    if n > 1:
        arms[::7, 1], own[::7, 1] = arms[::7, 0], own[::7, 0]
    compliance = 0.1 * (arms @ arms.transpose(0, 2, 1) + own @ own.transpose(0, 2, 1))
    mismatch = 10.0 ** rng.uniform(-5, -0.5, (count, 1)) * rng.standard_normal((count, n))
    wanted = np.einsum("cij,cj->ci", compliance, rng.uniform(-3, 20, (count, n))) + mismatch
    return compliance, wanted, 10.0 ** rng.uniform(-5, -1, (count, n))


def in_rows(compliance, wanted, squash=None):
    """Loads of cases that come in rows."""
    return share(np.moveaxis(compliance, 0, -1), wanted.T, None if squash is None else squash.T).T


@pytest.mark.parametrize("squashed", [False, True])
@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_no_ball_pulls_no_ball_cuts_in_and_who_carries_touches(n, squashed):
    compliance, wanted, squash = bars_at_random(1500, n, n)
    squash = squash if squashed else None
    loads = in_rows(compliance, wanted, squash)
    left = np.einsum("cij,cj->ci", compliance, loads) - wanted + (squash * np.cbrt(loads) ** 2 if squashed else 0.0)
    assert np.all(loads >= 0)
    assert np.max(np.abs(np.minimum(loads, left))) < 1e-9
    together = (loads > 0).sum(axis=-1)
    assert np.all([(together == some).sum() >= 10 for some in range(1, n + 1)])


@pytest.mark.checked_by("another program", "scipy, bounded least squares", "C4")
@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_loads_are_those_of_a_bounded_least_squares_program(n):
    """Without squash: the energy N·C·N/2 − w·N is least over N ≥ 0, a least-squares problem in the root of C."""
    compliance, wanted, _ = bars_at_random(200, n, 40 + n)
    compliance = compliance + 1e-3 * np.eye(
        n
    )  # rounding in the root of a rigid bar's compliance would drown the referee
    for matrix, want, found in zip(compliance, wanted, in_rows(compliance, wanted), strict=True):
        root = np.linalg.cholesky(matrix)
        assert found == pytest.approx(nnls(root.T, np.linalg.solve(root, want))[0], abs=1e-7)


@pytest.mark.checked_by("another program", "scipy, least energy", "C4")
@pytest.mark.parametrize("n", [2, 3, 4])
def test_loads_with_squash_are_those_of_the_least_energy(n):
    """The energy with squash is convex too: of several descents none ends lower, the lowest at the same loads."""
    compliance, wanted, squash = bars_at_random(15, n, 70 + n)
    compliance = compliance + 0.03 * np.eye(n)  # down the narrow valley of a rigid bar the minimiser would creep
    for matrix, want, soft, loads in zip(compliance, wanted, squash, in_rows(compliance, wanted, squash), strict=True):

        def energy(x, matrix=matrix, want=want, soft=soft):
            slope = matrix @ x + soft * np.cbrt(x) ** 2 - want
            return 0.5 * x @ matrix @ x + 0.6 * soft @ np.cbrt(x) ** 5 - want @ x, slope

        rules = {
            "jac": True,
            "method": "L-BFGS-B",
            "bounds": [(0, None)] * n,
            "options": {"ftol": 1e-16, "gtol": 1e-10},
        }
        descents = [minimize(energy, np.full(n, start), **rules) for start in (0.0, 1.0, 30.0)]
        lowest = min(descents, key=lambda descent: descent.fun)
        assert energy(loads)[0] <= lowest.fun + 1e-12
        assert loads == pytest.approx(lowest.x, abs=1e-4)


def test_loads_follow_their_balls_when_these_are_named_anew():
    compliance, wanted, squash = bars_at_random(300, 3, 5)
    apart = np.arange(300) % 7 > 0  # two balls at one place may split their load anyhow
    loads = in_rows(compliance, wanted, squash)
    for order in permutations(range(3)):
        new = np.array(order)
        renamed = in_rows(compliance[:, new[:, None], new], wanted[:, new], squash[:, new])
        assert renamed[apart] == pytest.approx(loads[apart][:, new], abs=1e-7)


def test_balls_at_one_place_of_a_bar():
    """No way to tell them apart without squash: one carries it all. With squash they share, and a third ball beside
    them is found too.
    """
    compliance = np.array([[1.0, 1.0, 0.5], [1.0, 1.0, 0.5], [0.5, 0.5, 1.0]])
    assert share(compliance[:2, :2], np.array([3.0, 3.0])).tolist() == [3.0, 0.0]
    assert share(compliance, np.array([1.0, 0.9, 1.0])) == pytest.approx([2 / 3, 0, 2 / 3])
    # by hand: 8 N on each bend the bar by 16 mm, and squash each by 0.5 * 8^(2/3) = 2 mm
    assert share(compliance[:2, :2], np.array([18.0, 18.0]), np.full(2, 0.5)) == pytest.approx([8.0, 8.0])


# on a knife


def third_ball(knife, **changes):
    """The knife with one more ball, further in than ball 2."""
    more = {"track_radius": 6.6, "hinge_distance": 38.0, "bearing_deg": None} | changes
    return replace(knife, balls=(*knife.balls, replace(knife.balls[1], **more)), doubts={})


def ridden(knife, i):
    """(free gap, compliance) at ball i: from ball 1 riding the flat with the riding force, by beam elements."""
    arms = [ball.hinge_distance for ball in knife.balls]
    matrix = stepped_cantilever(knife.bar, arms)
    first = knife.balls[0]
    turned = (first.protrusion - knife.bar.riding_force * matrix[0, 0] - knife.bar.parallel_gap) / arms[0]
    return knife.bar.parallel_gap + turned * arms[i], matrix[i]


@pytest.mark.parametrize(
    "knife",
    [B, C, D, third_ball(C), third_ball(D, protrusion=0.41)],
    ids=["B", "C", "D", "C with three", "D with three"],
)
def test_bar_under_its_loads_is_where_the_balls_hold_it(knife):
    """Loads put on a bar of beam elements bend it to the demand of each carrying ball, and past that of each idle
    one by its clearance.
    """
    at = carry.state(knife, ANGLES, elastic=True)
    loads, energy = np.stack(at.loads), 0.0
    for i, (lifted, clear) in enumerate(zip(at.lifts, at.clearances, strict=True)):
        free, row = ridden(knife, i)
        assert free + row @ loads == pytest.approx(lifted.demand + clear, abs=1e-9)
        assert np.all(clear >= -1e-12)
        assert np.all((loads[i] == 0) | (clear == 0))
        energy = energy + loads[i] * (row @ loads) / 2
    assert at.energy == pytest.approx(energy, rel=1e-8)
    assert np.all((loads > 0).sum(axis=0) >= 1)


@pytest.mark.parametrize("elastic", [False, True])
@pytest.mark.parametrize("knife", [B, C, D, third_ball(C)], ids=["B", "C", "D", "C with three"])
def test_loads_on_their_arms_make_the_moment_of_the_bar(knife, elastic):
    at = carry.state(knife, ANGLES, elastic)
    arms = [ball.hinge_distance for ball in knife.balls]
    moment = sum(load * arm for load, arm in zip(at.loads, arms, strict=True))
    assert moment == pytest.approx(at.moments[0], rel=1e-12)
    # the bar's own law: a straight line in bar angle; exact for the rigid bar, nearly so for this elastic one
    turned = (at.gap - knife.balls[0].protrusion) / arms[0]
    line = 17.04 * arms[0] + dl.feel(knife).rate * arms[0] ** 2 * turned
    assert moment == pytest.approx(line, rel=0.02 if elastic else 1e-12)


def nearly_rigid(knife, relief_length):
    """The same rate at ball 1, but all of the bending in a short relief, the bar beyond it far too thick to bend."""
    shape = {"bar.rate": dl.feel(knife).rate, "bar.relief_length": relief_length, "bar.thickness": 1e4}
    return knife.with_arrays(shape)  # no bar to make, and no slip of a unit


@pytest.mark.parametrize("knife", [C, D, third_ball(C)], ids=["C", "D", "C with three"])
def test_elastic_becomes_rigid_as_all_bending_goes_into_a_short_relief(knife):
    off, lengths = [], (1.0, 0.03)
    for relief_length in lengths:
        hinged = nearly_rigid(knife, relief_length)
        rigid, elastic = (dl.sweep(hinged, np.degrees(ANGLES), elastic=way) for way in (False, True))
        assert rigid.gap == pytest.approx(dl.sweep(knife, np.degrees(ANGLES)).gap, abs=1e-12)
        shared = np.sum(elastic.load > 0, axis=-1) > 1
        off.append([np.max(np.abs(elastic.gap - rigid.gap)), np.max(np.abs(elastic.energy - rigid.energy))])
        assert shared.sum() <= 1
        assert elastic.load[~shared] == pytest.approx(rigid.load[~shared], abs=2e-3 * relief_length**2)
        feels = dl.feel(hinged), dl.feel(hinged, elastic=True)
        assert feels[1].break_torque == pytest.approx(feels[0].break_torque, rel=1e-3 * relief_length**2)
        assert [h.angle_deg for h in feels[1].handovers] == pytest.approx(
            [h.angle_deg for h in feels[0].handovers], abs=0.03 * relief_length**2
        )
    # what is left goes with the square of the relief's length: its two ends do not turn about quite the same point
    assert np.divide(*off[::-1]) == pytest.approx((lengths[1] / lengths[0]) ** 2, rel=0.02)
    assert off[0][0] < 2e-5


def edges_of_sharing(knife, angle):
    """Protrusions of ball 2 at which it begins to carry and at which ball 1 goes idle, by the elastic solver; and
    ball 1's load alone.
    """

    def loads(protrusion):
        at = carry.state(knife.replace({"balls[1].protrusion": protrusion}), np.array([angle]), elastic=True)
        return [float(load[0]) for load in at.loads]

    def edge(carries, low, high):
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (low, middle) if carries(loads(middle)) else (middle, high)
        return high

    level = knife.balls[1].protrusion
    return (
        edge(lambda n: n[1] > 0, level - 0.2, level + 0.2),
        edge(lambda n: n[0] <= 0, level - 0.2, level + 0.2),
        loads(level - 0.2)[0],
    )


@pytest.mark.parametrize("angle", [0.0, 0.02, 0.2])
@pytest.mark.parametrize("offsets", [{}, OFF_CENTRE], ids=["on the centre line", "2 mm to either side"])
def test_sharing_band_is_as_wide_as_c5_says(offsets, angle):
    knife = B.replace(offsets)
    matrix = bars.compliance(knife.bar, knife.balls)
    begins, ends, alone = edges_of_sharing(knife, angle)
    width = dl.formulas["C5"](
        load=alone, compliance_11=matrix[0, 0], compliance_12=matrix[0, 1], compliance_22=matrix[1, 1]
    )
    assert ends - begins == pytest.approx(width, rel=1e-6, abs=1e-9)
    # in the seat and on the flat: 0.0001 mm, or about half a thou with the balls off the centre line
    assert width == pytest.approx(
        {0.0: 0.0112, 0.02: 0.0124, 0.2: 0.0134}[angle] if offsets else 1e-4, rel=0.03 if offsets else 0.2
    )


def test_squash_widens_the_band_by_some_thousandths():
    soft = B.replace({f"balls[{i}].contact_modulus": STEEL_ON_TITANIUM for i in (0, 1)})
    hard_band, soft_band = (ends - begins for begins, ends, _ in (edges_of_sharing(knife, 0.02) for knife in (B, soft)))
    assert 0.005 < soft_band - hard_band < 0.015


@pytest.mark.parametrize("angle", [0.0, 0.02, 0.2])
def test_energy_with_squash_is_the_work_of_raising_a_ball(angle):
    """Ball 2 stands out a little more: bar and squash take up its load times that little."""
    soft = C.replace(OFF_CENTRE | {f"balls[{i}].contact_modulus": STEEL_ON_TITANIUM for i in (0, 1)})
    height, step = edges_of_sharing(soft, angle)[0] + 0.006, 1e-6
    low, at, high = (
        carry.state(soft.replace({"balls[1].protrusion": height + side * step}), np.array([angle]), elastic=True)
        for side in (-1, 0, 1)
    )
    assert min(at.loads) > 1
    assert (high.energy - low.energy) / (2 * step) == pytest.approx(at.loads[1], rel=1e-6)


def swapped(knife, elastic):
    """The same knife told from ball 2: riding force, rate and parallel gap restated for it."""
    bar, (first, second, *others) = knife.bar, knife.balls
    if elastic:
        free, row = ridden(knife, 1)
        other = replace(bar, riding_force=(second.protrusion - free) / row[1])
    else:
        kappa = bar.rate * first.hinge_distance**2
        turned = (second.protrusion - bar.parallel_gap) / second.hinge_distance - (
            first.protrusion - bar.parallel_gap
        ) / first.hinge_distance
        moment = bar.riding_force * first.hinge_distance + kappa * turned
        other = replace(bar, riding_force=moment / second.hinge_distance, rate=kappa / second.hinge_distance**2)
    return replace(knife, bar=other, balls=(second, first, *others), doubts={})


@pytest.mark.parametrize("elastic", [False, True])
@pytest.mark.parametrize("knife", [B, C, D, third_ball(C)], ids=["B", "C", "D", "C with three"])
def test_names_of_the_balls_change_nothing(knife, elastic):
    knife = knife.replace({"balls[1].bearing_deg": None})
    knife = knife if elastic else measured(knife)
    renamed = {(1, 0, *range(2, len(knife.balls))): swapped(knife, elastic)}
    if len(knife.balls) == 3:
        renamed[0, 2, 1] = replace(knife, balls=(knife.balls[0], knife.balls[2], knife.balls[1]))
    run = dl.sweep(knife, np.degrees(ANGLES), elastic=elastic)
    for order, other in renamed.items():
        again = dl.sweep(other, np.degrees(ANGLES), elastic=elastic)
        assert again.torque == pytest.approx(run.torque, rel=1e-9, abs=1e-9)
        assert again.load == pytest.approx(run.load[:, order], abs=1e-8)
        assert again.clearance == pytest.approx(run.clearance[:, order], abs=1e-11)
        assert again.energy == pytest.approx(run.energy, rel=1e-8)
        feels = dl.feel(other, elastic), dl.feel(knife, elastic)
        for name in ("break_torque", "barrier", "letback_force", "draw_in_deg", "work", "rest_load"):
            assert getattr(feels[0], name) == pytest.approx(getattr(feels[1], name), rel=1e-7), name


# sideways give of two balls


@pytest.mark.parametrize("give", [0.001, 0.004, 0.0055])
@pytest.mark.parametrize("knife", [B, C, D, E, third_ball(C)], ids=["B", "C", "D", "E", "C with three"])
def test_sideways_give_of_two_balls_settles_and_keeps_its_energy(knife, give):
    """What the hand puts in is what bar and give take up: the torque without friction is the slope of the energy."""
    giving = knife.replace(FRICTIONLESS | {"bar.side_compliance": give})
    angles, step = np.linspace(0.0, 1.05 * dl.feel(knife).break_out_deg, 301), 1e-5
    low, at, high = (dl.sweep(giving, angles + step * (1 + side), elastic=True) for side in (-1, 0, 1))
    slope = (high.energy - low.energy) / np.radians(2 * step)
    # in the very angle in which a ball takes or leaves its load the slope has a kink
    steady = np.all((low.load > 0) == (high.load > 0), axis=-1)
    assert np.mean(steady) > 0.98
    assert at.torque[steady] == pytest.approx(slope[steady], rel=3e-3, abs=1e-4)
    # and the bar is one body: all its balls stand where the pushes of all together have turned it
    first = giving.balls[0].hinge_distance
    pushes = [
        at.load[:, j] * np.tan(np.radians(at.contact_deg[:, j])) * ball.hinge_distance / first
        for j, ball in enumerate(giving.balls)
    ]
    stiff = dl.sweep(giving.replace({"bar.side_compliance": 0.0}), at.angle_deg).rim_gap
    # a ball in the middle of its recess is held all round, and then its push is not that of one rim
    free = np.all(
        [give * sum(pushes) < ball.recess.diameter / 2 - stiff[:, i] for i, ball in enumerate(giving.balls)], axis=0
    )
    free &= at.angle_deg > 0.5  # all balls past the middle of their recesses
    free &= np.all([at.rim_gap[:, i] < ball.recess.diameter / 2 - 1e-6 for i, ball in enumerate(giving.balls)], axis=0)
    assert free.sum() > 100
    for i, ball in enumerate(giving.balls):
        stiff_gap = stiff[:, i]
        moved = give * sum(pushes) * ball.hinge_distance / first
        short = at.rim_gap[:, i] - stiff_gap  # along the track, so a little less than straight away from the middle
        assert np.all(np.abs(short - moved)[free] < 2e-3 * moved[free] + 1e-9)


def test_give_lets_two_balls_share_more():
    stiff, giving = (
        dl.sweep(C.replace({"bar.side_compliance": give}), np.degrees(ANGLES), elastic=True) for give in (0.0, 0.004)
    )
    shared = [np.sum(np.all(run.load > 0, axis=-1)) for run in (stiff, giving)]
    assert shared[1] > 3 * shared[0]
