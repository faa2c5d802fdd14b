"""How far the bar stands aside under the ball that carries (B6), as the card says and as a trace may correct it."""

import math
from typing import NamedTuple

import numpy as np

from ..mechanics import bar as bars
from ..mechanics.formulas import formulas
from ..parts import spec

_UNKNOWN = 0.3  # ± of a sideways give of which no ± is known, as a share: judgement
_LEAST = 0.05  # of what holds the bar against the push: below, the ball walks into the middle of its recess
_LOCKED = 0.05  # the same for the wedge that locks
_ROUNDS = 8


class Give(NamedTuple):
    """The sideways give under one ball: its compliance along the track [mm/N], the force riding the flat [N], the rate of the bar there [N/mm].

    A fit counts it by two numbers, `scale` (1 as the card says) and the friction at the rim.
    """

    compliance: float
    load: float
    rate: float

    def aside(self, gap, radius, scale, friction):
        """How far the bar stands aside at a rim gap [mm], + the way the ball slides over the tang; and its slopes by gap, scale and friction.

        friction: + opening, − closing; on the flat, gap 0, that of the flat is taken as the same.
        """
        rim = formulas["L1"](rim_gap=gap, ball_radius=radius)
        load = np.maximum(self.load - self.rate * rim.sink, 0.0)
        wedge = np.maximum(1 - friction * rim.slope, _LOCKED)
        push = (rim.slope + friction) / wedge
        turned = (1 + friction**2) / wedge**2 * radius**2 / np.maximum(radius**2 - gap**2, 1e-12) ** 1.5
        size = scale * self.compliance
        by_gap = size * (load * turned - np.where(load > 0, self.rate * rim.slope, 0.0) * push)
        return size * load * push, by_gap, self.compliance * load * push, size * load * (1 + rim.slope**2) / wedge**2

    def opened(self, travel, rest, radius, scale, friction):
        """Rim gap [mm] after a travel of the blade at the ball [mm] from a gap at rest, and its slopes by gap at rest, scale and friction.

        The rim sticks as it had closed (take-up) until the push of opening is reached; from there it slips.
        """
        stood, stood_by_gap, *stood_by = self.aside(rest, radius, scale, -friction)
        free = rest - stood - travel
        gap = np.clip(free, 0.0, rest)
        for _ in range(_ROUNDS):
            aside, by_gap, *by = self.aside(gap, radius, scale, friction)
            held = 1 - by_gap
            gap = np.clip(np.where(held > _LEAST, gap + (free - gap + aside) / np.maximum(held, _LEAST), rest), 0.0, rest)
        held = np.maximum(held, _LEAST)
        sticks = gap >= rest
        moved = [(1 - stood_by_gap) / held, (by[0] - stood_by[0]) / held, (by[1] + stood_by[1]) / held]
        return gap, [np.where(sticks, stuck, slides) for stuck, slides in zip((1.0, 0.0, 0.0), moved, strict=True)]

    def out(self, rest, radius, scale, friction):
        """Travel of the blade at the ball [mm] from a gap at rest until the ball rides the flat."""
        return rest - self.aside(rest, radius, scale, -friction)[0] + self.aside(np.zeros(1), radius, scale, friction)[0].item()


def give_of(knife, ball):
    """The Give under one ball of a Knife; None where its bar does not give sideways."""
    spring, compliance = bars.spring(knife.bar, knife.balls[0]), bars.side_compliance(knife.bar, knife.balls[0])
    if not compliance:
        return None
    flat = formulas["B4"](gap=ball.protrusion, parallel_gap=spring.parallel_gap, hinge_distance=ball.hinge_distance)
    across = ball.hinge_distance * abs(math.sin(math.radians(ball.track_to_bar_deg)))
    load = max(float(bars.moment(spring, flat)), 0.0) / ball.hinge_distance
    return Give(compliance * (across / knife.balls[0].hinge_distance) ** 2, load, spring.kappa / ball.hinge_distance**2)


def known_of(knife):
    """What the card says of the two numbers of a give, scale and friction: their values and standard deviations; None where the bar does not give."""
    first = knife.balls[0]
    if give_of(knife, first) is None:
        return None

    def pushed(card):
        return bars.side_compliance(card.bar, first) * card.bar.riding_force

    paths = [path for path, doubt in knife.doubts.items() if path.startswith("bar.") and doubt]
    shares = [pushed(knife.replace({path: knife.get(path) + knife.doubts[path]})) / pushed(knife) - 1 for path in paths]
    rim = knife.doubts.get("friction.rim") or spec("friction.rim")["typical"].doubt
    sure = math.hypot(*shares) or _UNKNOWN
    return np.array([1.0, knife.friction.rim]), np.array([sure, rim]) / 1.96
