"""A rigid-body engine as referee: two balls on one sprung bar (it lifts and rolls), and two rounded rims that slide over them.

The engine knows spheres, rods, springs and dry friction; nothing of contact angles, shares or handovers.
"""

import mujoco
import numpy as np
import pytest

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
