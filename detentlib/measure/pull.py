"""The two-way pull (M3, F6): the pull that just opens and the pull against which the blade just returns give
friction and geometry apart.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..doubt.cloud import cloud
from ..doubt.draws import SCREEN, Normal, distribution_of, draw
from ..knife.given import given_angle, given_knife, given_number
from ..knife.parts import Knife
from ..mechanics.carry import Detent
from ..mechanics.feel import feel
from ..mechanics.sweep import sweep, weight_torque
from .given import ATTITUDE, given_readings, given_value
from .models import NOISE
from .readings import ReadingError, Readings
from .slip import BREAKAWAY, SLIDING, slip_of
from .value import Value, means_of

CONTACT = "contact angle at rest"
EXCHANGED = "Opening must be the harder way; are the two exchanged?"
OFF_STOP = (0.1, 0.5, 1.0)  # deg


class OffStop(NamedTuple):
    """What a let-back pull read off the stop does: how far off [deg], how much it reads low [share], the friction it
    pretends.
    """

    off_deg: float
    low: float
    friction: float


@dataclass(frozen=True)
class Pull:
    """What a two-way pull tells, each a Value with its ± (95 %).

    opening and letback: mean pulls at the tab as read [N]; friction: coefficient at the rim; sliding: the same from the
    pulls that keep it moving, None where these were not read; bar_force [N]: of the ball at rest, from both pulls
    together with the contact angle; slip: by what share the means lie beyond the steady pulls, from what the repeats
    scatter beyond a gauge's own reading: friction and bar force are without it; repeats: how many pairs; off_stop: what
    reading off the stop would have done, for this knife.
    """

    opening: Value
    letback: Value
    friction: Value
    sliding: Value | None
    bar_force: Value
    slip: float
    repeats: int
    off_stop: tuple


def two_way_pull(
    readings: Readings,
    knife: Knife,
    contact_deg: tuple[float, float] | None = None,
    gauge_doubt: float = 0.2,
    attitude_deg: float = 0.0,
) -> Pull:
    """Friction and bar force of a knife from repeated two-way pulls at the tab.

    readings: Readings of the kind "two-way pull"; with the columns "opening sliding" and "letting back sliding" the
    friction that breaks away and the one that slides are told apart. knife: its card gives tab arm, pivot drag
    (measured with the bar lifted off), track radius, and their ±. contact_deg: (value, ±) of the contact angle at rest,
    from a lift trace for instance; by default that of the card with the doubt of all that it hangs on.
    gauge_doubt: ± of the gauge itself [N], common to all pulls. attitude_deg: tilt of the pivot axis from upright (F7).
    Pairs stay pairs, and the error of the gauge counts once. Repeats that scatter more than a gauge is read stick and
    slip: each pull then overshoots, never the other way, so that is taken off, and the ± counts how poorly few pairs
    tell it. Raises ReadingError for other readings, for one pair alone (no scatter, no ±), and for pulls that no
    friction explains; ValueError for what is no Knife, and for other arguments that are not numbers of their kind.
    """
    given_readings(readings, ("two-way pull",), "two-way pulls are wanted")
    given_knife(knife)
    gauge_doubt = given_number("gauge_doubt", gauge_doubt, "± of the gauge itself", "N", "not negative")
    attitude_deg = given_angle("attitude_deg", attitude_deg, ATTITUDE)
    if len(readings) < 2:
        raise ReadingError(
            "has one pair of pulls. Pull at least twice, better five times: without scatter there is no ±",
            readings.source,
        )
    angle = _contact(knife) if contact_deg is None else given_value("contact_deg", contact_deg, CONTACT, "deg", "acute")
    if not angle.doubt / 2 < min(angle.value, 90 - angle.value):
        told = f"the contact angle {angle.value:.3g} ± {angle.doubt:.3g}° reaches out of 0° to 90°"
        raise ReadingError(
            f"{told}, so friction cannot be told. Measure it better, by a lift trace for instance", readings.source
        )
    weight = float(np.ravel(weight_torque(knife, np.zeros(1), attitude_deg))[0]) if attitude_deg else 0.0
    radius = knife.balls[_resting(knife)].track_radius
    known = {
        "phi": Normal(math.radians(angle.value), math.radians(angle.doubt), 0.0, math.pi / 2),
        "arm": distribution_of("blade.tab_arm", knife.blade.tab_arm, knife.doubts.get("blade.tab_arm", 0.0)),
        "drag": distribution_of(
            "friction.pivot_torque", knife.friction.pivot_torque, knife.doubts.get("friction.pivot_torque", 0.0)
        ),
        "gauge": Normal(0.0, gauge_doubt),
    }

    def told(names):
        """Means of both pulls, by what share stick-slip moves them, and friction and bar force without it."""
        means, together = means_of({"opening": readings[names[0]], "letback": readings[names[1]]})
        slip = slip_of([readings[name] for name in names], NOISE["force"] / 2)
        inputs = known | {name: Normal(*mean) for name, mean in means.items()} | {"slip": slip}
        drawn = draw(inputs, SCREEN, together=together)
        drawn = {name: np.append(each.value, drawn[name]) for name, each in inputs.items()}
        opening = (drawn["opening"] + drawn["gauge"]) * drawn["arm"] - drawn["drag"] - weight
        letback = (drawn["letback"] + drawn["gauge"]) * drawn["arm"] + drawn["drag"] - weight
        _refuse(opening[0], letback[0], readings.source)
        beyond, back = (drawn[name] * drawn["arm"] for name in ("opening", "letback"))
        # rims only ever drag: no more can be overshoot than what parts the two pulls
        share = np.minimum(drawn["slip"], np.maximum(opening - letback, 0.0) / (beyond + back))
        pulls = np.stack([opening - share * beyond, letback + share * back])
        # pulls that scatter wildly may be drawn as none at all
        opening, letback = np.where((pulls > 0).all(axis=0), pulls, np.nan)
        mu = formulas["F6"](opening=opening, letback=letback, phi=drawn["phi"])
        force = opening / (formulas["F2"](phi=drawn["phi"], mu=mu, cos_chi=1.0) * radius)
        means = [Value(mean.value, math.hypot(mean.doubt, gauge_doubt)) for mean in means.values()]
        return means, float(share[0]), _of(mu), _of(force)

    (opening, letback), slip, mu, bar_force = told(BREAKAWAY)
    sliding = told(SLIDING)[2] if all(name in readings.columns for name in SLIDING) else None
    return Pull(
        opening, letback, mu, sliding, bar_force, slip, len(readings), off_stop(knife, max(mu.value, 0.0), angle.value)
    )


def _of(column):
    """A Value from the number itself, first of the column, and draws of it."""
    low, high = np.nanquantile(column[1:], [0.025, 0.975])
    return Value(float(column[0]), float(high - low) / 2)


def off_stop(knife: Knife, friction: float, contact_deg: float | None = None) -> tuple[OffStop, ...]:
    """What reading the let-back pull off the stop does, for a knife with a given friction (F6)."""
    given_knife(knife)
    friction = given_number("friction", friction, "friction at the rim", rule="not negative")
    if contact_deg is not None:
        contact_deg = given_number("contact_deg", contact_deg, CONTACT, "deg", "acute")
    knife = knife.replace({"friction.rim": friction})
    closing, opening = sweep(knife, [0.0, *OFF_STOP], "closing"), feel(knife).break_torque
    phi = math.radians(closing.contact_deg[0, _resting(knife)] if contact_deg is None else contact_deg)
    back = closing.torque
    return tuple(
        OffStop(off, float(1 - low / back[0]), _friction(opening, low, phi, knife.title))
        for off, low in zip(OFF_STOP, back[1:], strict=True)
        if low > 0
    )


def _friction(opening, letback, phi, source):
    _refuse(opening, letback, source)
    return float(formulas["F6"](opening=opening, letback=letback, phi=phi))


def _refuse(opening, letback, source):
    if letback <= 0:
        raise ReadingError(
            "the let-back pull is used up by pivot drag: the rim does not pull the blade shut, so friction cannot be"
            " told from it",
            source,
        )
    if opening < letback:
        told = f"opening takes {opening:.3g} N·mm and letting back {letback:.3g} N·mm once drag is taken off"
        raise ReadingError(f"{told}. {EXCHANGED}", source)


def _resting(knife):
    load = sweep(knife, [0.0]).load[0]
    return int(load.argmax())


def _contact(knife):
    """Contact angle at rest from the card [deg], and its ± from the draws of the card."""
    felt = cloud(knife).felt()
    rest = Detent(felt.many).state(np.zeros((felt.possible.size, 1)), -1).lifts[_resting(knife)]
    angle = np.degrees(np.broadcast_to(rest.phi, (felt.possible.size, 1))[:, 0])
    return _of(np.where(felt.possible, angle, np.nan))
