"""Making a detent: what an error of each operation leaves in the knife, and the sizes that follow from its card.

Each row is the knife felt again with the error in it. How the work is usually done is common practice, and says so.
"""

import math
from dataclasses import dataclass

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife, KnifeError
from ..knife.plain import true_minus
from ..knife.units import both
from ..mechanics.feel import Feel, feel
from ..mechanics.sweep import sweep
from .moves import LOCK_TOO, THOU, as_made, pin_assumed, preset, travel_by_pin
from .table import Table, Tabled

TRANSFER, PRESS, WANDER, SHALLOW = 2 * THOU, THOU, 0.02, 0.05  # mm: what a careful hand still errs by, common practice
RAMPS = (15, 30, 45)  # degrees of the bevel at the tang edge, from the track
POINT = 118  # degrees, of the point of a common drill
_SWING = 400  # points of the closing stretch
_FLAT = 0.01  # degrees
_PRACTICE = (
    "Common practice: mark the recess through the hole of the ball, blade shut on its stop, with a close-fitting "
    "drill or punch as the guide; drill a soft tang undersize and ream it, or a hardened one with carbide, and look "
    "at it again after heat treatment, which moves and scales it; finish the floor flat; press the ball last, against "
    "a stop, with the bar supported."
)


@dataclass(frozen=True)
class Slip:
    """One error of the making: in words, what it sets (see `moves.as_made`), and the Feel of the knife that has it.

    ball: which ball's recess is told. felt: None where that knife cannot work; why: the reason then, in words.
    """

    words: str
    numbers: dict[str, float]
    ball: int
    felt: Feel | None
    why: str = ""


@dataclass(frozen=True, repr=False)
class Making(Tabled):
    """What the errors of the making do to one knife: the knife, its Feel as drawn, a Slip for each error, and notes."""

    knife: Knife
    felt: Feel
    slips: tuple[Slip, ...]
    notes: tuple[str, ...]

    def __repr__(self) -> str:
        """Short and stable, for a notebook."""
        return f"<Making: {self.knife.title}, {len(self.slips)} errors>"

    def _table(self) -> Table:
        heads = ("error", "rest offset, parts", "rim gap, loaded", "contact angle", "break force", "besides")
        each = range(len(self.knife.balls))
        drawn = [f"as drawn, ball {i + 1}" if len(each) > 1 else "as drawn" for i in each]
        first = [_row(self.knife, Slip(drawn[i], {}, i, self.felt), self.felt) for i in each]
        rows = (*first, *(_row(self.knife, slip, self.felt) for slip in self.slips))
        return Table(f"{self.knife.title}: what an error of the making leaves", heads, rows, self.notes)


def making(knife: Knife, transfer: float = TRANSFER, press: float = PRESS) -> Making:
    """What errors of the making do to a knife, and the sizes that follow: a Making, to show as a table.

    transfer: how far a recess is marked off its place [mm], along the track and across it; press: how far a ball is
    pressed off its height [mm]. Besides: a hole 0.02 mm wide, and a floor 0.05 mm short of the ball. Raises KnifeError
    for a knife that cannot work.

    >>> from detentlib.files.demo import demo
    >>> made = making(demo("pellowfen-a"))
    >>> made.slips[1].words, round(made.slips[1].felt.break_force, 2)               # 12.05 N as drawn
    ('recess 0.0508 mm (2.00 thou) towards open, along the track', 10.09)
    """
    felt = feel(knife)
    slips = [_slip(knife, *each) for i in range(len(knife.balls)) for each in _errors(knife, felt, i, transfer, press)]
    return Making(knife, felt, tuple(slips), tuple(_sizes(knife, felt)))


def _errors(knife, felt, i, transfer, press):
    """(words, what it sets, ball) of each error at one ball."""
    ball, at = knife.balls[i], f"balls[{i}]"
    of = f" {i + 1}" if len(knife.balls) > 1 else ""
    rest, height = ball.recess.rest_offset, ball.protrusion
    off = f"recess{of} {both(transfer, 'mm')}"
    yield f"{off} towards closed, along the track", _set(at, "rest_offset", rest - transfer), i
    yield f"{off} towards open, along the track", _set(at, "rest_offset", rest + transfer), i
    yield f"{off} beside the track", _set(at, "off_track", ball.recess.off_track + transfer), i
    if ball.recess.bored:
        yield f"hole{of} {both(WANDER, 'mm')} wide", _set(at, "diameter", ball.recess.diameter + WANDER), i
    yield f"ball{of} pressed {both(press, 'mm')} too deep", {f"{at}.protrusion": height - press}, i
    yield f"ball{of} pressed {both(press, 'mm')} too little", {f"{at}.protrusion": height + press}, i
    floor = felt.seat_depth[i] - SHALLOW
    if floor > 0:
        words = f"floor{of} {both(SHALLOW, 'mm')} short of the seated ball: {both(floor, 'mm')} deep"
        yield words, _set(at, "depth", floor), i


def _set(at, name, value):
    return {f"{at}.recess.{name}": value}


def _slip(knife, words, numbers, i):
    try:
        return Slip(words, numbers, i, feel(knife.replace(as_made(knife, numbers))))
    except KnifeError as error:
        return Slip(words, numbers, i, None, error.problems[0].wrong)


def _row(knife, slip, before):
    recess, found = f"balls[{slip.ball}].recess.rest_offset", slip.felt
    rest = both(slip.numbers.get(recess, knife.get(recess)), "mm")
    if found is None:
        return slip.words, rest, "", "", "cannot work", slip.why
    percent = 100 * (found.break_force / before.break_force - 1)
    force = both(found.break_force, "N") + (true_minus(f", {percent:+.0f} %") if slip.numbers else "")
    gap, angle = both(found.rim_gap[slip.ball], "mm"), _angle(found, slip.ball)
    return slip.words, rest, gap, angle, force, "; ".join(_besides(knife, slip, before))


def _angle(found, i):
    """The contact angle at rest; none where the ball stands on something else than its rim."""
    return f"{found.contact_deg[i]:.1f}°" if found.contact_deg[i] > _FLAT else "none, on the floor"


def _besides(knife, slip, before):
    found = slip.felt
    if found.rest_deg > before.rest_deg:
        yield f"it rests {found.rest_deg:.2f}° off the stop"
    if found.rest_carrier != before.rest_carrier:
        carrier = found.rest_carrier
        yield f"ball {carrier + 1} carries at rest" if carrier >= 0 else "it rests on the bar face"
    if found.idle_clearance[slip.ball] > 0:
        yield f"idle by {both(found.idle_clearance[slip.ball], 'mm')}"
    if found.letback_force is not None and found.letback_force < 0:
        yield "it does not draw itself shut"


def _sizes(knife, felt):
    """What follows from the card for the work, in sentences; common practice at the end."""
    recess = knife.balls[0].recess
    if recess.rest_offset > 0:
        thinner = recess.rest_offset / travel_by_pin(knife)
        yield (
            f"Marked on its own stop, a recess has no rest offset. For {both(recess.rest_offset, 'mm')} of it "
            f"mark with a stop pin {both(thinner, 'mm')} thinner in diameter{pin_assumed(knife)}, "
            "and put the right pin back."
        )
    if recess.bored:
        point = recess.diameter / 2 / math.tan(math.radians(POINT / 2))
        yield (
            f"The point of a {POINT}° drill of {both(recess.diameter, 'mm')} is {both(point, 'mm')} long: the ball, "
            f"{both(felt.seat_depth[0], 'mm')} deep, needs the full width only at the rim, and room below."
        )
    yield from _ramp(knife)
    if felt.relief_stress_ride and knife.bar.yield_stress:
        bent = preset(knife)
        further = bent * (knife.bar.yield_stress / felt.relief_stress_ride - 1)
        yield (
            f"Over-travel: riding, the relief carries {both(felt.relief_stress_ride, 'MPa')}; lifted "
            f"{both(further, 'mm')} further at the ball it reaches its yield, and the bend is not what it was. Let a "
            f"stop for the bar come well before that (common practice). {LOCK_TOO}"
        )
    yield _PRACTICE


def _ramp(knife):
    ball, blade = knife.balls[0], knife.blade
    if ball.run_off_deg is None or ball.run_off_deg >= blade.opening_deg:
        return
    angles = np.linspace(ball.run_off_deg, blade.opening_deg, _SWING)
    sharp = -float(sweep(knife, angles, "closing").tab_force.min())
    ramps = [formulas["F2"](phi=math.radians(ramp), mu=knife.friction.on_flat, cos_chi=1.0) for ramp in RAMPS]
    arm = ball.track_radius / blade.tab_arm
    forces = (both(knife.bar.riding_force * ratio * arm, "N") for ratio in ramps)
    told = ", ".join(f"{ramp}° {force}" for ramp, force in zip(RAMPS, forces, strict=True))
    yield (
        f"Closing ramp: ball 1 leaves the tang at {ball.run_off_deg:g}°. Closing over the bare edge takes "
        f"{both(sharp, 'N')} at the tab, up a ramp as deep as the drop and at an angle to the track of {told}."
    )
