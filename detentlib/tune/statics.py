"""Three answers of any statics text: a wedge under a block, the slope of a bar's end, a load on two springs."""

import math
from typing import Any

from ..derivations.formulas import formulas
from ..knife.checks import refuse
from ..knife.given import given_knife, given_number, given_switch
from ..knife.parts import Knife
from .moves import need_drawn


def wedge_push(
    load: float, wedge_deg: float, mu: float, mu_floor: float | None = None, mu_wall: float = 0.0, down: bool = False
) -> Any:
    """Level push on a wedge that lifts a block in an upright guide, with friction at every face (F10).

    load: weight of the block [N]; wedge_deg: angle of the wedge, its lower face level; mu: friction coefficient between
    wedge and block; mu_floor: between wedge and floor, None as mu; mu_wall: between block and guide, 0 for one that
    does not rub. down: True for letting the block down. Returns push, face, floor, wall [N]: the push, below zero where
    the wedge holds by itself and must be pulled, and the forces square to the three faces (wall below zero: the other
    side of the guide). Slow; the wedge weighs nothing. Raises ValueError for numbers that cannot be, and for a wedge
    that locks: no push lifts the block.

    >>> found = wedge_push(10, 25, 0.20)        # 10 (tan(25° + 11.3°) + 0.20)
    >>> round(found.push, 2), round(found.floor, 6)
    (9.35, 10.0)
    """
    given_switch("down", down, "whether the block is let down")
    floor = mu if mu_floor is None else mu_floor
    given = {
        "load": given_number("load", load, "weight of the block", "N"),
        "wedge": math.radians(_angle(wedge_deg)),
        "mu_face": given_number("mu", mu, "friction coefficient between wedge and block", rule="not negative"),
        "mu_floor": given_number("mu_floor", floor, "friction coefficient on the floor", rule="not negative"),
        "mu_wall": given_number("mu_wall", mu_wall, "friction coefficient in the guide", rule="not negative"),
    }
    steepest = math.degrees(math.pi / 2 - math.atan(given["mu_face"]) - math.atan(given["mu_wall"]))
    if not down and wedge_deg >= steepest:
        why = "Friction at its face and in the guide takes all of the push."
        cure = f"Below {steepest:.4g}° it lifts: a flatter wedge, or oil."
        raise refuse("wedge_deg", wedge_deg, "locks: no push lifts the block", why, cure)
    if down:
        given |= {name: -given[name] for name in ("mu_face", "mu_floor", "mu_wall")}
        if math.tan(given["wedge"]) < mu:  # the wedge takes the block along, against the other side of the guide
            given["mu_wall"] *= -1
    return formulas["F10"](**given)


def _angle(given):
    value = given_number("wedge_deg", given, "angle of the wedge", "deg", rule="not negative")
    if value >= 90:
        why, cure = "A face that stands upright lifts nothing.", "Give the angle between its two faces, below 90°."
        raise refuse("wedge_deg", given, "is no wedge", why, cure)
    return value


def bar_slope(knife: Knife, force: float | None = None) -> float:
    """Slope of the lock bar's end [deg] under a force at ball 1 [N], from the drawn sizes (B1a).

    force: None takes the riding force. The root counts as clamped, so what it gives comes on top (see `root_up`); below
    yield. Raises KnifeError for a bar without drawn sizes, ValueError for a force that is none.

    >>> from detentlib.files.demo import demo
    >>> round(bar_slope(demo("pellowfen-a")), 2)  # 17.04 · 36.4 · 6/(113 800 · 0.776) = 0.0421 = 2.41° in the relief
    2.72
    """
    given_knife(knife)
    need_drawn(knife)
    load = knife.bar.riding_force
    if force is not None:
        load = given_number("force", force, "force at ball 1", "N", rule="not negative")
    sizes = {name: getattr(knife.bar, name) for name in knife.bar.DRAWN}
    return math.degrees(load * formulas["B1a"](hinge_distance=knife.balls[0].hinge_distance, **sizes))


def level_place(distance: float, rate_1: float, rate_2: float) -> float:
    """How far from spring 1 [mm] a load keeps a stiff bar on two springs level (C6).

    distance: between the springs [mm]; rate_1, rate_2: theirs [N/mm]. Both springs press, and the bar was level before.
    Raises ValueError for numbers that are not above zero.

    >>> level_place(10, rate_1=10, rate_2=30)
    7.5
    """
    return formulas["C6"](
        distance=given_number("distance", distance, "distance between the springs", "mm"),
        rate_1=given_number("rate_1", rate_1, "rate of a spring", "N/mm"),
        rate_2=given_number("rate_2", rate_2, "rate of a spring", "N/mm"),
    )
