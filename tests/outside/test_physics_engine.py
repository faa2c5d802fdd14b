"""A rigid-body engine as referee: two balls on one sprung bar, and two rounded rims that slide over them.

The bar lifts and rolls, or it turns up and sideways.

The engine knows spheres, rods, springs and dry friction; nothing of contact angles, shares or handovers.
"""

import mujoco
import numpy as np
import pytest
from scipy.optimize import minimize_scalar

import detentlib as dl
from detentlib.mechanics import bar as bars
from tests.knives import C

STRAIGHT = 1e6  # a track radius [mm] so large that the track is a straight line
SPEED, STEP = 0.1, 5e-5  # mm/s and s: slow enough for statics, short enough that the contacts do not chatter off
START, PLACES, WINDOW = 0.05, np.arange(0.07, 0.261, 0.01), 0.01  # ball travel [mm]


def rounded_pair(friction):
    """Knife C in the plane: straight tracks, equal arms, rounded rims, balls 2 mm to either side so that the bar can roll."""
    changes = {"friction.rim": friction, "friction.pivot_torque": 0.0, "balls[1].bearing_deg": None, "balls[1].hinge_distance": 36.4}
    for i, side in enumerate((2.0, -2.0)):
        changes |= {f"balls[{i}].{field}": value for field, value in (("track_radius", STRAIGHT), ("side_offset", side), ("run_off_deg", None))}
        changes[f"balls[{i}].recess.edge_radius"] = 0.08
    return C.replace(changes)


def engine_model(knife):
    """Bar with two spheres on a lift spring and a roll spring; tang with two rods for the rounded rims, far too heavy to slow down."""
    matrix, first = bars.compliance(knife.bar, knife.balls), knife.balls[0]
    bent, twisted = (matrix[0, 0] + matrix[0, 1]) / 2, (matrix[0, 0] - matrix[0, 1]) / 2
    free_gap = first.protrusion - knife.bar.riding_force * matrix[0, 0]
    spheres, rods = "", ""
    for ball in knife.balls:
        edge, y = ball.recess.edge_radius, ball.side_offset
        middle = ball.recess.diameter / 2 - ball.recess.rest_offset + edge
        spheres += f'<geom type="sphere" size="{ball.radius}" pos="0 {y} {ball.protrusion - ball.radius}" mass="1e-4"/>'
        rods += f'<geom type="capsule" size="{edge}" fromto="{middle} {y - 1} {edge} {middle} {y + 1} {edge}" mass="1e5"/>'
    return mujoco.MjModel.from_xml_string(f"""
        <mujoco>
          <option timestep="{STEP}" gravity="0 0 0" cone="elliptic" impratio="50" integrator="implicitfast" iterations="50" tolerance="1e-12"/>
          <default><geom friction="{knife.friction.rim} 0 0" solref="{4 * STEP} 1" solimp="0.99 0.9999 1e-6 0.5 2"/></default>
          <worldbody>
            <body><joint type="slide" axis="0 0 1" stiffness="{1 / bent}" springref="{-free_gap}" damping="0.05"/>
              <joint type="hinge" axis="1 0 0" stiffness="{first.side_offset**2 / twisted}" damping="0.2"/>{spheres}</body>
            <body><joint type="slide" axis="-1 0 0"/>{rods}</body>
          </worldbody>
        </mujoco>""")


def slide_over(knife):
    """Travel [n] mm, load of each ball [n, 2] N and push [n] N, step by step, as the engine finds them."""
    model = engine_model(knife)
    data = mujoco.MjData(model)
    data.qpos[:] = -dl.sweep(knife, [np.degrees(START / STRAIGHT)], elastic=True).gap[0], 0.0, START
    data.qvel[2] = SPEED
    found = np.zeros((int((PLACES[-1] + WINDOW - START) / SPEED / STEP), 4))
    for row in found:
        mujoco.mj_step(model, data)
        # what all contacts together do to each joint: lift, roll, travel
        row[0], row[1:] = data.qpos[2], data.qfrc_constraint
    both, turning = -found[:, 1], -found[:, 2] / knife.balls[0].side_offset
    return found[:, 0], np.stack([both + turning, both - turning], axis=-1) / 2, -found[:, 3]


@pytest.mark.checked_by("another program", "mujoco, a rigid-body engine", "sweep", "C4")
@pytest.mark.parametrize(("friction", "push_within", "load_within"), [(0.0, 0.005, 0.05), (0.1, 0.015, 0.15)])
def test_push_and_loads_through_a_handover(friction, push_within, load_within):
    knife = rounded_pair(friction)
    travel, loads, push = slide_over(knife)
    run = dl.sweep(knife, np.degrees(PLACES / STRAIGHT), elastic=True)
    # contact chatter is averaged out over a tenth of a second round each place
    near = [np.abs(travel - place) < WINDOW / 2 for place in PLACES]
    shared = np.all(run.load > 0.5, axis=-1)
    assert shared.sum() >= 5
    assert run.carrier[0] == 1
    assert run.carrier[-1] == 0
    assert np.array([push[each].mean() for each in near]) == pytest.approx(run.torque / STRAIGHT, rel=push_within)
    assert np.array([loads[each].mean(axis=0) for each in near]) == pytest.approx(run.load, abs=load_within)


# A bar on two hinges, up and sideways, soft enough sideways that a handover takes its time; straight tracks, mm and N.
RADIUS, EDGE, ARMS = 0.79375, 0.08, np.array([36.4, 33.2])
PROTRUSIONS = np.array([0.420, 0.3692])
TO_RIM = np.array([0.5554, 0.385]) + EDGE  # from ball axis to middle of the edge
PARALLEL, RIDING, KAPPA, KAPPA_SIDE = 0.1454, 17.04, 10.30 * ARMS[0] ** 2, ARMS[0] ** 2 / 0.012
MOMENT_PARALLEL = RIDING * ARMS[0] - KAPPA * (PROTRUSIONS[0] - PARALLEL) / ARMS[0]
HANDING_OVER, STRETCH, CLOSELY = np.arange(0.40, 0.48, 0.005), (0.418, 0.458), 0.004  # rim travel [mm]


def stored(travel, raised=(0.0, 0.0)):
    """Least energy of the two springs [mJ] with both balls clear of their rims; raised: how much each is."""

    def energy(omega):
        away = TO_RIM - travel + omega * ARMS
        gap = PROTRUSIONS + raised - RADIUS - EDGE + np.sqrt(np.maximum((RADIUS + EDGE) ** 2 - away**2, 0.0))
        psi = np.max((gap - PARALLEL) / ARMS)
        return MOMENT_PARALLEL * psi + (KAPPA * psi**2 + KAPPA_SIDE * omega**2) / 2

    return minimize_scalar(energy, bounds=(0.0, 0.003), method="bounded", options={"xatol": 1e-13}).fun


def turning_model():
    """Bar with two spheres on its two hinges; tang with two rods, far too heavy to slow down; no friction."""
    levels, free = PROTRUSIONS - PARALLEL - RADIUS, -MOMENT_PARALLEL / KAPPA
    spheres, rods = "", ""
    for arm, level, x in zip(ARMS, levels - levels[0], TO_RIM, strict=True):
        spheres += f'<geom type="sphere" size="{RADIUS}" pos="0 {arm} {level}" mass="1e-4"/>'
        ends = f"{x} {arm - 1} {EDGE} {x} {arm + 1} {EDGE}"
        rods += f'<geom type="capsule" size="{EDGE}" fromto="{ends}" mass="1e5"/>'
    return mujoco.MjModel.from_xml_string(f"""
        <mujoco>
          <compiler angle="radian"/>
          <option timestep="{STEP}" gravity="0 0 0" integrator="implicitfast" iterations="50" tolerance="1e-12"/>
          <default><geom condim="1" solref="{4 * STEP} 1" solimp="0.99 0.9999 1e-6 0.5 2"/></default>
          <worldbody>
            <body pos="0 0 {levels[0]}">
              <joint type="hinge" axis="-1 0 0" stiffness="{KAPPA}" springref="{free}" damping="50"/>
              <joint type="hinge" axis="0 0 1" stiffness="{KAPPA_SIDE}" damping="50"/>{spheres}</body>
            <body><joint type="slide" axis="-1 0 0"/>{rods}</body>
          </worldbody>
        </mujoco>""")


def handed_over():
    """Travel [n] mm, push [n] N and upward load of each ball [n, 2] N, step by step, as the engine finds them."""
    model = turning_model()
    data = mujoco.MjData(model)
    start = HANDING_OVER[0] - CLOSELY
    data.qpos[:], data.qvel[2] = (0.0066, 0.0005, start), SPEED
    found, force = np.zeros((int((HANDING_OVER[-1] + CLOSELY - start) / SPEED / STEP), 4)), np.zeros(6)
    for row in found:
        mujoco.mj_step(model, data)
        row[:2] = data.qpos[2], -data.qfrc_constraint[2]
        for i in range(data.ncon):
            mujoco.mj_contactForce(model, data, i, force)
            # the balls come first among the shapes; the first row of a contact's frame is its normal
            row[2 + data.contact[i].geom1] += force[0] * abs(data.contact[i].frame[2])
    return found[:, 0], found[:, 1], found[:, 2:]


def test_load_moves_from_ball_to_ball_as_the_bar_turns_sideways():
    """Push and loads against the slopes of the least energy: over rim travel, and over how far each ball protrudes."""
    travel, push, loads = handed_over()
    small = 1e-5
    for place in HANDING_OVER[1:]:
        near = np.abs(travel - place) < CLOSELY / 2
        slopes = [(stored(place, raised) - stored(place, -raised)) / (2 * small) for raised in small * np.eye(2)]
        climb = (stored(place + small) - stored(place - small)) / (2 * small)
        assert push[near].mean() == pytest.approx(climb, rel=0.005)
        assert loads[near].mean(axis=0) == pytest.approx(slopes, abs=0.08)
        assert np.all(loads[near].mean(axis=0) > 0.5) == (STRETCH[0] <= place <= STRETCH[1])
    assert loads[0, 0] == loads[-1, 1] == 0
