"""How far the bar stands aside under the ball that carries (B6), as the card says and as a trace may correct it."""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Ball, Knife, spec
from ..knife.paths import place_of
from ..knife.values import Values
from ..mechanics import bar as bars

_UNKNOWN = 0.3  # ± of a sideways give of which no ± is known, as a share: judgement
_LEAST = 0.05  # of what holds the bar against the push: below, the ball walks into the middle of its recess
_LOCKED = 0.05  # the same for the wedge that locks
_ROUNDS = 5

RimAt = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray, np.ndarray]]  # see Give


class Give(NamedTuple):
    """The sideways give under one ball: its compliance along the track [mm/N], the force riding the flat [N], the rate
    of the bar there [N/mm].

    A fit counts it by two numbers, `scale` (1 as the card says) and the friction at the rim. A rim is a function of the
    gap from the outline of the recess [mm] that says how deep the ball sinks [mm], how steep it sits, and how fast that
    turns.
    """

    compliance: float
    load: float
    rate: float

    def aside(self, gap: np.ndarray, rim: RimAt, scale: Values, friction: Values) -> tuple[np.ndarray, np.ndarray]:
        """How far the bar stands aside at a rim gap [mm], + the way the ball slides over the tang; and its slope by the
        gap.

        friction: + opening, − closing; on the flat, gap 0, that of the flat is taken as the same.
        """
        sink, slope, turned = rim(gap)
        load = np.maximum(self.load - self.rate * sink, 0.0)
        wedge = np.maximum(1 - friction * slope, _LOCKED)
        push = (slope + friction) / wedge
        size = scale * self.compliance
        return size * load * push, size * (
            load * (1 + friction**2) / wedge**2 * turned - np.where(load > 0, self.rate * slope, 0.0) * push
        )

    def opened(self, travel: np.ndarray, rest: np.ndarray, rim: RimAt, scale: Values, friction: Values) -> np.ndarray:
        """Rim gap [mm] after a travel of the blade at the ball [mm] from a gap at rest.

        The rim sticks as it had closed (take-up) until the push of opening is reached; from there it slips.
        """
        free = rest - self.aside(rest, rim, scale, -friction)[0] - travel
        gap = np.clip(free, 0.0, rest)
        for _ in range(_ROUNDS):
            aside, by_gap = self.aside(gap, rim, scale, friction)
            held = 1 - by_gap
            gap = np.clip(
                np.where(held > _LEAST, gap + (free - gap + aside) / np.maximum(held, _LEAST), rest), 0.0, rest
            )
        return gap

    def out(self, rest: np.ndarray, rim: RimAt, scale: Values, friction: Values) -> np.ndarray:
        """Travel of the blade at the ball [mm] from a gap at rest until the ball rides the flat."""
        return (
            rest - self.aside(rest, rim, scale, -friction)[0] + self.aside(np.zeros_like(rest), rim, scale, friction)[0]
        )


def give_of(knife: Knife, ball: Ball) -> Give | None:
    """The Give under one ball of a Knife; None where its bar does not give sideways."""
    spring, compliance = bars.spring(knife.bar, knife.balls[0]), bars.side_compliance(knife.bar, knife.balls[0])
    if not compliance:
        return None
    flat = formulas["B4"](gap=ball.protrusion, parallel_gap=spring.parallel_gap, hinge_distance=ball.hinge_distance)
    across = ball.hinge_distance * abs(math.sin(math.radians(ball.track_to_bar_deg)))
    load = max(float(bars.moment(spring, flat)), 0.0) / ball.hinge_distance
    return Give(compliance * (across / knife.balls[0].hinge_distance) ** 2, load, spring.kappa / ball.hinge_distance**2)


def known_of(knife: Knife) -> tuple[np.ndarray, np.ndarray] | None:
    """What the card says of the two numbers of a give, scale and friction: their values and standard deviations;
    None where the bar does not give.
    """
    first = knife.balls[0]
    if give_of(knife, first) is None:
        return None

    def pushed(card):
        return bars.side_compliance(card.bar, first) * card.bar.riding_force

    paths = [path for path, doubt in knife.doubts.items() if place_of(path).owner == "bar" and doubt]
    shares = [
        pushed(knife.replace({path: knife.get(path) + knife.scatter(path)})) / pushed(knife) - 1 for path in paths
    ]
    rim = knife.scatter("friction.rim") or spec("friction.rim")["typical"].doubt
    sure = math.hypot(*shares) or _UNKNOWN
    return np.array([1.0, knife.friction.rim]), np.array([sure, rim]) / 1.96
