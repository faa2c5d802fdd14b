"""The lock bar as a spring: its stiffness, measured or drawn, and its moment at a bar angle."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Ball, LockBar
from ..knife.values import Values


class Spring(NamedTuple):
    """A bar as the envelope needs it: hinge distance of its first ball [mm], rate there [N/mm], kappa [N·mm],
    reference.
    """

    arm: Values
    rate: Values
    kappa: Values
    parallel_gap: Values
    psi_ride: Values
    riding_force: Values


def drawn_compliance(bar: LockBar, ball: Ball, other: Ball | None = None) -> Values:
    """Displacement at `ball` per newton at `other` (the same ball by default) from the drawn sizes [mm/N]; B1, B2, B2a.

    >>> from detentlib.knife.parts import Ball, LockBar, Recess
    >>> bar = LockBar(17.04, 1.1, 6.0, 7.0, 3.0, material="Ti-6Al-4V")
    >>> round(1 / drawn_compliance(bar, Ball(1.5875, 0.42, 8.0, 36.4, Recess(1.3208))), 2)
    10.3
    """
    other = ball if other is None else other
    near, far = (
        np.minimum(ball.hinge_distance, other.hinge_distance),
        np.maximum(ball.hinge_distance, other.hinge_distance),
    )
    bent = formulas["B1"](
        near_arm=near,
        far_arm=far,
        relief_length=bar.relief_length,
        relief_thickness=bar.relief_thickness,
        thickness=bar.thickness,
        width=bar.width,
        youngs_modulus=bar.youngs_modulus,
    )
    bent = bent * bar.root_up
    if bar.shear_modulus is None:
        return bent
    section = formulas["B2"](long_side=bar.width, short_side=bar.relief_thickness) if _off_centre(ball, other) else 1.0
    return bent + formulas["B2a"](
        side_offset_1=ball.side_offset,
        side_offset_2=other.side_offset,
        relief_length=bar.relief_length,
        shear_modulus=bar.shear_modulus,
        twist_constant=section,
    )


def _off_centre(*balls):
    return all(getattr(ball.side_offset, "ndim", 0) or ball.side_offset for ball in balls)


def rate(bar: LockBar, ball: Ball) -> Values:
    """Rate of the bar at a ball [N/mm]: the measured one first, else from the drawn sizes."""
    return bar.rate if bar.rate is not None else 1 / drawn_compliance(bar, ball)


def compliance(bar: LockBar, balls: Sequence[Ball]) -> np.ndarray:
    """Matrix of displacement at ball i per newton at ball j [mm/N], shape (n, n) or (m, 1, n, n) for many knives.

    From the drawn sizes, scaled to the measured rate where there is one. With a rate alone the bar is taken as rigid
    on its hinge (B4), which shares nothing.
    """
    first = balls[0]
    if bar.drawn:
        scale = 1.0 if bar.rate is None else 1 / (bar.rate * drawn_compliance(bar, first))
        rows = [[drawn_compliance(bar, one, other) * scale for other in balls] for one in balls]
    else:
        rows = [
            [one.hinge_distance * other.hinge_distance / (bar.rate * first.hinge_distance**2) for other in balls]
            for one in balls
        ]
    n = len(balls)
    flat = np.broadcast_arrays(*(value for row in rows for value in row))
    return np.stack(flat, axis=-1).reshape(*flat[0].shape, n, n)


def spring(bar: LockBar, first: Ball) -> Spring:
    """Spring of a bar, referred to its first ball riding the flat (B4, B4a, B5)."""
    stiffness = rate(bar, first)
    parallel = first.protrusion if bar.parallel_gap is None else bar.parallel_gap
    kappa = formulas["B4a"](rate=stiffness, hinge_distance_1=first.hinge_distance)
    ride = formulas["B4"](gap=first.protrusion, parallel_gap=parallel, hinge_distance=first.hinge_distance)
    return Spring(first.hinge_distance, stiffness, kappa, parallel, ride, bar.riding_force)


def moment(spring: Spring, psi: Values) -> Values:
    """Moment of the bar about the middle of the relief at bar angle psi [N·mm]; B5."""
    return formulas["B5"](
        psi=psi,
        psi_ride=spring.psi_ride,
        riding_force=spring.riding_force,
        hinge_distance_1=spring.arm,
        kappa=spring.kappa,
    )


def free(spring: Spring) -> Values:
    """Bar angle of the bar that nothing holds, without a moment; B5."""
    return spring.psi_ride - spring.riding_force * spring.arm / spring.kappa


def side_compliance(bar: LockBar, ball: Ball) -> Values:
    """Sideways give of the bar at its first ball, across the bar [mm/N]: measured or as is usual, else drawn (B6a).

    >>> from detentlib.knife.parts import Ball, LockBar, Recess
    >>> bar = LockBar(17.04, 1.1, 6.0, 7.0, 3.0, material="Ti-6Al-4V")
    >>> round(side_compliance(bar, Ball(1.5875, 0.42, 8.0, 36.4, Recess(1.3208))), 5)
    0.0035
    """
    if bar.side_compliance is not None:
        return bar.side_compliance
    sizes = {name: getattr(bar, name) for name in bar.DRAWN}
    return bar.root_side * formulas["B6a"](hinge_distance=ball.hinge_distance, **sizes)
