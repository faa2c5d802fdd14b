"""The two-way pull (M3, F6): the pull that just opens and the pull against which the blade just returns give friction and geometry apart."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..mechanics.feel import feel
from ..mechanics.formulas import formulas
from ..mechanics.sweep import sweep, weight_torque
from ..readings import ReadingError
from .given import ATTITUDE, given_knife, given_number, given_readings, given_value
from .value import Value, mean_of, propagate

CONTACT = "contact angle at rest"
OFF_STOP = (0.1, 0.5, 1.0)  # deg


class OffStop(NamedTuple):
    """What a let-back pull read off the stop does: how far off [deg], how much it reads low [share], the friction it pretends."""

    off_deg: float
    low: float
    friction: float


@dataclass(frozen=True)
class Pull:
    """What a two-way pull tells, each a Value with its ± (95 %).

    opening and letback: mean pulls at the tab as read [N]; friction: coefficient at the rim; bar_force [N]: of the ball at
    rest, from both pulls together with the contact angle; repeats: how many pairs; off_stop: what reading off the stop
    would have done, for this knife.
    """

    opening: Value
    letback: Value
    friction: Value
    bar_force: Value
    repeats: int
    off_stop: tuple


def two_way_pull(readings, knife, contact_deg=None, gauge_doubt=0.2, attitude_deg=0.0):
    """Friction and bar force of a knife from repeated two-way pulls at the tab: a Pull.

    readings: Readings of the kind "two-way pull". knife: its card gives tab arm, pivot drag (measured with the bar
    lifted off), track radius, and their ±. contact_deg: (value, ±) of the contact angle at rest, from a lift trace for
    instance; by default that of the card with the doubt of its recess. gauge_doubt: ± of the gauge itself [N], common
    to all pulls. attitude_deg: tilt of the pivot axis from upright (F7). Raises ReadingError for other readings, for one
    pair alone (no scatter, no ±), and for pulls that no friction explains; ValueError for what is no Knife, and for
    other arguments that are not numbers of their kind.
    """
    given_readings(readings, ("two-way pull",), "two-way pulls are wanted")
    given_knife(knife)
    gauge_doubt = given_number("gauge_doubt", gauge_doubt, "± of the gauge itself", "N", "not negative")
    attitude_deg = given_number("attitude_deg", attitude_deg, ATTITUDE, "deg", "any")
    if len(readings) < 2:
        raise ReadingError("has one pair of pulls. Pull at least twice, better five times: without scatter there is no ±", readings.source)
    opening, letback = (mean_of(readings[name], gauge_doubt) for name in ("opening", "letting back"))
    angle = _contact(knife) if contact_deg is None else given_value("contact_deg", contact_deg, CONTACT, "deg", "acute")
    if not angle.doubt / 2 < min(angle.value, 90 - angle.value):
        told = f"the contact angle {angle.value:.3g} ± {angle.doubt:.3g}° reaches out of 0° to 90°"
        raise ReadingError(f"{told}, so friction cannot be told. Measure it better, by a lift trace for instance", readings.source)
    ball = knife.balls[_resting(knife)]
    weight = float(np.ravel(weight_torque(knife, np.zeros(1), attitude_deg))[0]) if attitude_deg else 0.0

    def friction(pull, back, phi_deg, arm, drag):
        torques = (pull * arm - drag - weight, back * arm + drag - weight)
        return _friction(*torques, math.radians(phi_deg), readings.source)

    def force(pull, back, phi_deg, arm, drag):
        ratio = formulas["F2"](phi=math.radians(phi_deg), mu=friction(pull, back, phi_deg, arm, drag), cos_chi=1.0)
        return (pull * arm - drag - weight) / (ratio * ball.track_radius)

    inputs = {
        "pull": opening,
        "back": letback,
        "phi_deg": angle,
        "arm": Value(knife.blade.tab_arm, knife.doubts.get("blade.tab_arm", 0.0)),
        "drag": Value(knife.friction.pivot_torque, knife.doubts.get("friction.pivot_torque", 0.0)),
    }
    # the gauge's own error is common to both pulls, and is counted in each mean: a little on the safe side
    mu, bar_force = (Value(*propagate(number, inputs)[:2]) for number in (friction, force))
    return Pull(opening, letback, mu, bar_force, len(readings), off_stop(knife, max(mu.value, 0.0), angle.value))


def off_stop(knife, friction, contact_deg=None):
    """What reading the let-back pull off the stop does, for a knife with a given friction (F6): a tuple of OffStop."""
    given_knife(knife)
    friction = given_number("friction", friction, "friction at the rim", rule="not negative")
    if contact_deg is not None:
        contact_deg = given_number("contact_deg", contact_deg, CONTACT, "deg", "acute")
    knife = knife.replace({"friction.rim": friction})
    phi = math.radians(_contact(knife).value if contact_deg is None else contact_deg)
    back, opening = sweep(knife, [0.0, *OFF_STOP], "closing").torque, feel(knife).break_torque
    return tuple(
        OffStop(off, float(1 - low / back[0]), _friction(opening, low, phi, knife.title)) for off, low in zip(OFF_STOP, back[1:], strict=True) if low > 0
    )


def _friction(opening, letback, phi, source):
    if letback <= 0:
        raise ReadingError("the let-back pull is used up by pivot drag: the rim does not pull the blade shut, so friction cannot be told from it", source)
    if opening < letback:
        told = f"opening takes {opening:.3g} N·mm and letting back {letback:.3g} N·mm once drag is taken off"
        raise ReadingError(f"{told}. Opening must be the harder way; are the columns exchanged?", source)
    return float(formulas["F6"](opening=opening, letback=letback, phi=phi))


def _resting(knife):
    load = sweep(knife, [0.0]).load[0]
    return int(load.argmax())


def _contact(knife):
    """Contact angle at rest from the card [deg], its ± from those of ball and recess."""
    at = _resting(knife)

    def angle(card):
        return float(sweep(card, [0.0]).contact_deg[0, at])

    paths = [path for path in knife.doubts if path.startswith(f"balls[{at}].") and knife.doubts[path]]
    parts = [angle(_moved(knife, path, 0.5)) - angle(_moved(knife, path, -0.5)) for path in paths]
    return Value(angle(knife), math.hypot(*parts))


def _moved(knife, path, share):
    """The knife with one number moved by a share of its ±."""
    return knife.replace({path: knife.get(path) + share * knife.doubts[path]})
