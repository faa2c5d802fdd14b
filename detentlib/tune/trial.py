"""A trial of many random second balls: do two break harder than the harder alone, does an idle one lift the barrier."""

from typing import NamedTuple

import numpy as np

from ..knife.parts import Ball, Knife, Recess
from ..mechanics.feel import feel, feel_many
from .moves import without_friction
from .pair import idle_up_to, with_ball_2_alone


class Trial(NamedTuple):
    """What came of a trial.

    tried: second balls that could work; idle and riding: how many of those ride idle on the flat, and how many do
    not; most_by_idle, most_by_riding: the greatest change of the barrier that each kind made [mJ]; allowed: what E2
    allows an idle one [mJ]; most_of_harder: the greatest break force with both as a share of that of the harder
    ball alone, among those that can work alone.
    """

    tried: int
    idle: int
    riding: int
    most_by_idle: float
    most_by_riding: float
    allowed: float
    most_of_harder: float


def second_balls(knife: Knife, count: int = 2000, seed: int = 1) -> Trial:
    """Give a one-ball knife `count` random second balls on the same bar and see what each does to its barrier.

    Ball size, protrusion, radii, hinge distance and recess are drawn at random within what is usual; impossible ones
    are left out of `tried`. A ball counts as idle on the flat up to the protrusion of `idle_up_to`. Returns a Trial;
    the same seed gives the same one.
    """
    rng, first = np.random.default_rng(seed), knife.balls[0]

    def drawn(low, high):
        return rng.uniform(low, high, (count, 1))

    radius = drawn(0.5, 1.0)
    rest_offset = drawn(0.0, 0.10)
    values = {
        "diameter": 2 * radius,
        "protrusion": drawn(0.30, 0.60),
        "track_radius": drawn(6.0, 12.0),
        "hinge_distance": first.hinge_distance + drawn(-8.0, 8.0),
        "recess.diameter": 2 * (rest_offset + radius * drawn(0.4, 0.95)),
        "recess.rest_offset": rest_offset,
        "recess.off_track": drawn(-0.1, 0.1),
    }
    recess = Recess(first.recess.diameter)
    stand_in = Ball(first.diameter, first.protrusion, first.track_radius, first.hinge_distance, recess)
    pair = Knife(knife.title, (first, stand_in), knife.bar, knife.blade, knife.friction)
    many = pair.with_arrays({f"balls[1].{name}": value for name, value in values.items()})
    found, other, one = feel_many(many), feel_many(with_ball_2_alone(many)), feel(knife)
    gain = found.values["barrier"] - one.barrier
    harder = np.maximum(other.values["break_torque"], one.break_torque)
    shares = (found.values["break_torque"] / harder)[found.possible & other.possible]
    idle = (values["protrusion"] <= idle_up_to(knife.bar, first, values["hinge_distance"]))[:, 0]
    kinds = [gain[found.possible & which] for which in (idle, ~idle)]
    most = [float(each.max()) if each.size else 0.0 for each in (*kinds, shares)]
    allowed = feel(without_friction(knife)).barrier - one.barrier
    return Trial(int(found.possible.sum()), kinds[0].size, kinds[1].size, *most[:2], allowed, most[2])
