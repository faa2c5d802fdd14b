"""What to know beside the numbers of a Feel: flags (a state that deserves a look) and what the model leaves out."""

from itertools import permutations

import numpy as np

from . import bar as bars
from . import carry, limits
from .formulas import formulas
from .lift import FLOOR
from .path import springs_sideways

_THIN_CLEARANCE, _THIN_JAM, _RATES_DISAGREE = 0.05, 80.0, 0.25
_USUAL_GIVE = 0.005  # mm/N, of the order found for such bars


def flags(detent, feel):
    """Sentences about states that are modelled but deserve a look; a tuple, empty for a plain healthy knife."""
    said, knife = [], detent.knife
    at = detent.state(np.zeros(1), -1)  # at the stop: nothing holds the blade there where it rests further out
    landed = any(carrier[0] == carry.FACE for carrier in at.carriers)
    floored = [i for i, load in enumerate(at.loads) if load[0] > 0 and at.lifts[i].touch[0] == FLOOR]
    if landed:
        said.append(
            f"The bar face lies on the tang at the stop, before the ball has reached its rim: the blade is loose up to {feel.rest_deg:.2f}°. "
            "A ball that stands out more or a smaller recess cures it."
        )
    for i, ball in enumerate(knife.balls):
        name = f"Ball {i + 1}"
        if i in floored:
            said.append(
                f"{name} rests on the floor of its recess, not on the rim: the blade is loose up to {feel.rest_deg:.2f}°. "
                "A deeper recess or a ball that stands out less cures it."
            )
        if ball.protrusion > ball.radius:
            said.append(f"{name} stands out {ball.protrusion:.3g} mm, more than its radius of {ball.radius:.4g} mm: a press fit cannot hold it.")
        if runs_off_early(ball, feel):
            said.append(
                f"{name} runs off the tang at {ball.run_off_deg:g}°, before the balls are on the flat at {feel.break_out_deg:.2f}°: "
                "barrier, work and draw-in mean nothing there. Measure the run-off angle again, from the blade shut; is it in degrees?"
            )
        place, lean = max(_leans(detent, feel, i), key=lambda each: each[1])
        if lean > _THIN_JAM:
            said.append(f"{name} is close to jamming: {place} contact angle and friction angle together make {lean:.1f}°, and at {limits.JAM_DEG:g}° it locks.")
    gap = float(np.ravel(at.gap)[0])
    if 0 < gap < _THIN_CLEARANCE and not landed:
        said.append(f"At rest only {gap:.3f} mm is left between bar face and tang; wear or a thou of press depth can close it.")
    if feel.rest_deg > 0 and not (landed or floored):
        said.append(f"The blade rests {feel.rest_deg:.2f}° off the stop and can rattle there: the recess lies too far towards closed (rest offset below zero).")
    sprung = springs_sideways(detent)
    if sprung is not None:
        said.append(
            f"At {np.degrees(sprung):.2f}° the bar springs sideways all at once: there the rim's push grows faster than the bar holds against it. "
            "A bar that is stiffer sideways, a smaller recess or more rest offset steadies it."
        )
    if feel.letback_force is None:
        said.append(f"No let-back force is given: off track with friction {knife.friction.rim:g} the model is not good enough for it.")
    elif feel.letback_force <= 0:
        said.append("At rest friction is stronger than the pull of the rim: the blade does not return by itself.")
    said += _crossing_flags(knife)
    said += _stress_flags(knife, feel)
    said += _rate_flags(knife)
    return tuple(said)


def runs_off_early(ball, feel):
    """Whether the track of a ball ends before all balls are on the flat."""
    return ball.run_off_deg is not None and ball.run_off_deg <= feel.break_out_deg


def left_out(knife, feel):
    """What the numbers do not contain, each with its order of size; a tuple of sentences."""
    said, blade, bar = [], knife.blade, knife.bar
    if blade.mass and blade.balance_radius:
        weight = formulas["F7"](mass=blade.mass, balance_radius=blade.balance_radius, attitude=np.pi / 2, theta=0.0)
        said.append(
            f"gravity: pivot axis upright; lying down the blade's weight is worth up to ±{formulas['F5'](torque=weight, arm=blade.tab_arm):.2f} N at the tab"
        )
    else:
        said.append("gravity: pivot axis upright; lying down the blade's weight can be worth about ±1 N at the tab")
    if not bar.side_compliance and feel.rest_carrier != carry.FACE:
        push = feel.rest_load * np.tan(np.radians(feel.contact_deg[feel.rest_carrier]))
        given = f"of the order of {_USUAL_GIVE * push:.2f} mm towards the middle of the recess"
        said.append(f"sideways give of the bar: {given}, which counts like that much less rest offset")
    if any(ball.track_to_bar_deg != 90 for ball in knife.balls):
        said.append("lean of the bar under the push along its length, where the track runs aslant: about 1 %, up to ±7 % with the relief on the tang side")
    if not (knife.friction.washer or knife.friction.pin):
        said.append("pivot drag that grows with the bar's force: up to 8 to 12 N·mm with plain washers, next to nothing with ball bearings")
    if any(carry.bearing(knife, i) is None for i in range(len(knife.balls))):
        said.append("balls that could cross each other's recess: without bearings their tracks are taken as separate")
    said.append("yielding of the rim, blade tilt and speed: not modelled")
    return tuple(said)


def _leans(detent, feel, i):
    """Contact and friction angle of ball i together [deg], as (in words where, how much): at rest and at the peak."""
    for place, angle in (("at rest", feel.rest_deg), (f"at {feel.peak_deg:.2f}°", feel.peak_deg)):
        at = detent.state(np.radians([angle]))
        yield place, np.degrees(limits.lean(detent.knife.friction, at.lifts[i], at.loads[i])).item()


def _crossing_flags(knife):
    """Balls that run over another ball's recess while the blade opens."""
    said = []
    for i, j in permutations(range(len(knife.balls)), 2):
        if not carry.crosses(knife, i, j):
            continue
        angle = carry.crossing_deg(knife, i, j)
        if 0 < angle < knife.blade.opening_deg:
            said.append(f"Ball {i + 1} runs over the recess of ball {j + 1} at about {angle:.1f}° and can drop into it: a second click in mid-swing.")
    return said


def _stress_flags(knife, feel):
    limit, stress = knife.bar.yield_stress, feel.relief_stress_ride
    if limit is None or stress is None or stress <= limit:
        return []
    return [
        f"The relief is bent past its yield when the ball rides the flat: {stress:.0f} MPa against {limit:.0f} MPa; the bar takes a set and the force falls."
    ]


def _rate_flags(knife):
    bar, first = knife.bar, knife.balls[0]
    if bar.rate is None or not bar.drawn:
        return []
    drawn = 1 / bars.drawn_compliance(bar, first)
    if abs(drawn / bar.rate - 1) <= _RATES_DISAGREE:
        return []
    return [f"The measured rate of {bar.rate:.3g} N/mm is used, but the drawn sizes give {drawn:.3g} N/mm: measure relief thickness and hinge distance again."]
