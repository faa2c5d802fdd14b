"""Two balls on one bar: put a second one in, set how deep and how near its rim stands, and see when both carry."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.checks import refuse, short
from ..knife.parts import Ball, Knife, KnifeError, LockBar, Problem
from ..knife.values import Values
from ..mechanics import bar as bars
from ..mechanics import carry, limits
from ..mechanics.lift import friction_at, push_ratio
from ..mechanics.strength import contact_modulus
from ..mechanics.sweep import sweep
from .moves import THOU, as_made, with_one_ball, with_second_leaf

TWO_THOU = 2 * THOU
SUNK = 1e-3  # mm, protrusion of a ball that certainly hangs clear
# how well a press repeats the height of a ball [mm]: common practice, low confidence
PRESS = {"pressed on a stop": 0.005, "by hand": 0.02}
_LEAD_ROUNDS, _LEAD_EXACT = 8, 1e-9  # mm
_WIDEST, _TOUCH_ROUNDS, _TOUCH_POINTS = 0.99, 6, 33
_MIDDLE = 1e-6  # rad beside the middle of a recess, far below anything that a protractor sees
_BAND_BESIDE, _BAND_EXACT = 1e-4, 1e-7  # mm


def with_second_ball(knife: Knife, deeper: Values = TWO_THOU) -> Knife:
    """The knife with two balls on its first bar and nothing else; where there is no second one, ball 1 gets a twin.

    The twin is pressed `deeper` [mm], stands at the distances of ball 1, and its track is taken as separate.

    >>> from detentlib.files.demo import demo
    >>> with_second_ball(demo("pellowfen-a"), deeper=0.02).balls[1].protrusion
    0.4
    """
    if [ball.bar for ball in knife.balls] == [0, 0]:
        return knife
    one, first = with_one_ball(knife), knife.balls[0]
    second = next((ball for ball in knife.balls[1:] if ball.bar == 0), None)
    if second is not None:
        return replace(one, balls=(first, second))
    return with_press_difference(replace(one, balls=(first, first)).replace({"balls[1].bearing_deg": None}), deeper)


def with_leaf_of_its_own(knife: Knife) -> Knife:
    """The knife with two balls, each on a leaf of its own; where there is no second one, ball 1 gets a twin that stands
    out as far.

    >>> from detentlib.files.demo import demo
    >>> [(ball.bar, ball.protrusion) for ball in with_leaf_of_its_own(demo("pellowfen-a")).balls]
    [(0, 0.42), (1, 0.42)]
    """
    return with_second_leaf(with_second_ball(knife, 0.0))


def has_second_ball(knife: Knife) -> bool:
    """Whether two balls share the first bar, so that `with_second_ball` puts none in."""
    return sum(ball.bar == 0 for ball in knife.balls) > 1


def with_press_difference(knife: Knife, deeper: Values) -> Knife:
    """The knife with ball 2 pressed deeper than ball 1 by so much [mm]; below zero it stands out more.

    >>> from detentlib.files.demo import demo
    >>> with_press_difference(demo("pellowfen-c"), 0.05).balls[1].protrusion
    0.37
    """
    return knife.replace({"balls[1].protrusion": np.round(knife.balls[0].protrusion - deeper, 9)})


def with_equal_arms(knife: Knife) -> Knife:
    """The knife in the plane, so to say: ball 2 at the track radius and hinge distance of ball 1, its track taken as
    separate.

    >>> from detentlib.files.demo import demo
    >>> second = with_equal_arms(demo("pellowfen-c")).balls[1]
    >>> second.track_radius, second.hinge_distance, second.bearing_deg
    (8.001, 36.4, None)
    """
    first = knife.balls[0]
    arms = {"balls[1].track_radius": first.track_radius, "balls[1].hinge_distance": first.hinge_distance}
    return knife.replace(arms | {"balls[1].bearing_deg": None})


def with_rim_lead(knife: Knife, lead: Values, by: str = "size") -> Knife:
    """The knife with recess 2 changed until its rim is nearer to its ball, at rest, by `lead` [mm] than that of ball 1.

    by: "size" drills recess 2 smaller, by twice the lead in diameter; "shift" sets it over along the track by the lead,
    which holds for a recess on its track. Raises ValueError for another word, KnifeError for a recess that cannot be
    and for a drilled dimple, whose rim does not carry.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> balls = [Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))] * 2
    >>> knife = Knife("twins", balls, LockBar(17.04, rate=10.3, side_compliance=0), Blade(14.0), Friction(0.12))
    >>> smaller, shifted = (with_rim_lead(knife, 0.07, by).balls[1].recess for by in ("size", "shift"))
    >>> round(smaller.diameter, 4), round(shifted.rest_offset, 4)
    (1.1808, 0.13)
    """
    if not isinstance(by, str) or by not in ("size", "shift"):
        raise ValueError(f'by {short(by)} is not known: take "size" or "shift"')
    need_bored(_on_one_bar(knife))
    # another recess lets the bar rest a little further over, so what is left is put right again
    for _ in range(_LEAD_ROUNDS):
        recess, more = knife.balls[1].recess, lead - _lead(_shut(knife))
        if not np.any(np.abs(more) >= _LEAD_EXACT):
            break
        more = more if knife.many else more.item()
        sizes = {"diameter": recess.diameter - 2 * more, "rest_offset": recess.rest_offset + more}
        field = "diameter" if by == "size" else "rest_offset"
        knife = knife.replace({f"balls[1].recess.{field}": sizes[field]})
    return knife


def need_bored(knife: Knife) -> None:
    """Raise KnifeError where one of the first two balls sits in a drilled dimple: it rides on no rim."""
    dimples = [f"balls[{i}].recess.diameter" for i, ball in enumerate(knife.balls[:2]) if not ball.recess.bored]
    wrong = "is that of a drilled dimple, where a bored recess is wanted"
    why = "In a dimple the ball touches the cone, at the angle of the drill, however wide the dimple is."
    cure = "Give the diameter of the bore, or ask this of a knife with bored recesses."
    if dimples:
        raise KnifeError([Problem(path, "0 mm", wrong, why, cure) for path in dimples], knife.title)


def with_ball_2_sunk(knife: Knife) -> Knife:
    """The knife with ball 2 so deep that it hangs clear, to see its room: no knife to make, hence unchecked."""
    return knife.with_arrays({"balls[1].protrusion": SUNK})


def with_ball_2_alone(knife: Knife) -> Knife:
    """The knife with ball 1 so deep that it never carries, the bar bent as before: what ball 2 does by itself; no knife
    to make, hence unchecked.

    knife: with two balls on one bar.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> feel(with_ball_2_alone(demo("pellowfen-b"))).rest_carrier
    1
    """
    return knife.with_arrays(as_made(_on_one_bar(knife), {"balls[0].protrusion": SUNK}))


def press_difference(knife: Knife) -> Values:
    """How much deeper ball 2 is pressed than ball 1 [mm]."""
    return _on_one_bar(knife).balls[0].protrusion - knife.balls[1].protrusion


def squashing(knife: Knife) -> Knife:
    """The knife with a contact modulus on every ball; where none is given, that of hard steel on steel: an estimate."""
    usual = contact_modulus("52100", "hard blade steel")
    unknown = (i for i, ball in enumerate(knife.balls) if ball.contact_modulus is None)
    return knife.replace({f"balls[{i}].contact_modulus": usual for i in unknown})


def lead_at_stop(knife: Knife) -> float:
    """Rim lead of ball 2 in the shut knife, at rest [mm]: how much nearer its rim is than that of ball 1.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> balls = [Ball(1.5875, 0.42, 8.001, 36.4, Recess(diameter, rest_offset=0.06)) for diameter in (1.3208, 1.1811)]
    >>> bar = LockBar(17.04, rate=10.3, side_compliance=0)
    >>> round(lead_at_stop(Knife("C", balls, bar, Blade(14.0), Friction(0.12))), 4)
    0.0698
    """
    return _lead(_shut(_on_one_bar(knife))).item()


def _shut(knife):
    return carry.state(knife, np.zeros(1), sense=-1)


def _lead(at):
    return at.lifts[0].rim_gap - at.lifts[1].rim_gap


def touch_lead(knife: Knife) -> float | None:
    """Rim lead from which on ball 2 carries at rest [mm], recess 2 being drilled to it; None where no recess does that.

    The true one of this knife, with its radii, arms and sideways give, where C3 is that of the plane; the bar bent as a
    rigid one. knife: with two balls on one bar.

    >>> from detentlib.mechanics.feel import feel
    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> balls = [Ball(1.5875, height, 8.001, 36.4, Recess(1.3208, rest_offset=0.06)) for height in (0.42, 0.3692)]
    >>> knife = Knife("twins", balls, LockBar(17.04, rate=10.3, side_compliance=0), Blade(14.0), Friction(0.12))
    >>> lead = touch_lead(knife)
    >>> plane = formulas["C3"](rim_gap_1=feel(knife).rim_gap[0], height_difference=0.0508, ball_radius=0.79375)
    >>> round(lead, 4), round(float(plane), 4)
    (0.048, 0.048)
    """
    second = _on_one_bar(knife).balls[1]
    own = _shut(with_ball_2_sunk(knife)).lifts[1].rim_gap.item()
    ends = [own - gap * second.radius for gap in (_WIDEST, 0.0)]  # how much smaller the radius of recess 2 is
    for _ in range(_TOUCH_ROUNDS):
        smaller = np.linspace(*ends, _TOUCH_POINTS)
        at = _shut(knife.with_arrays({"balls[1].recess.diameter": (second.recess.diameter - 2 * smaller)[:, None]}))
        idle = np.ravel(at.clearances[1]) > 0
        if not idle.any() or idle.all():
            return None
        # ball 2 hangs clear in a small lead, and stands on its rim from the threshold on
        k = int(np.argmin(idle))
        if k == 0:
            return None
        ends = smaller[k - 1], smaller[k]
    return float(np.ravel(_lead(at))[k])


def idle_up_to(bar: LockBar, first: Ball, hinge_distance: Values) -> Values:
    """Protrusion up to which a second ball at this hinge distance hangs clear while ball 1 rides the flat [mm] (rigid
    bar, B4).

    H + (p1 − H) L2/L1: a ball nearer to the hinge must be pressed deeper, as the bar rises less there.

    >>> from detentlib.knife.parts import Ball, LockBar, Recess
    >>> bar, ball = LockBar(17.04, rate=10.3, parallel_gap=0.12), Ball(1.5875, 0.42, 8.001, 36.0, Recess(1.3208))
    >>> round(idle_up_to(bar, ball, 36.0), 6), round(idle_up_to(bar, ball, 24.0), 6)
    (0.42, 0.32)
    """
    spring = bars.spring(bar, first)
    return spring.parallel_gap + spring.psi_ride * hinge_distance


class Mix(NamedTuple):
    """What comes of one way to share a bar, at rest and without friction.

    share: of the bar's moment that ball 2 carries, 0 to 1. load_1, load_2 [N]; force at the tab [N]; pushes: what each
    ball gives of it [N].
    """

    share: float
    load_1: float
    load_2: float
    force: float
    pushes: tuple[float, float]


class Held(NamedTuple):
    """How the shut knife holds against opening: moment of each bar [N·mm], load of each ball [N], what each gives of
    the force at the tab [N], and that force; contact angle [deg] and push per newton of load of each ball's rim.
    """

    moments: tuple[float, ...]
    loads: tuple[float, ...]
    pushes: tuple[float, ...]
    force: float
    contact_deg: tuple[float, ...]
    ratios: tuple[float, ...]


def held(knife: Knife) -> Held:
    """A Held: as the balls rest, with the friction of a rim about to slip (F2b, F5).

    Raises KnifeError for a knife that cannot work.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> round(held(demo("pellowfen-a")).force, 4) == round(feel(demo("pellowfen-a")).break_force, 4)
    True
    """
    limits.check(knife)
    detent = carry.Detent(knife)
    at = detent.state(np.zeros(1), -1)
    loads, moments = (tuple(each.item() for each in column) for column in (at.loads, at.moments))
    ratios = _ratios(detent, at, friction=True)
    parts = zip(knife.balls, loads, ratios, strict=True)
    pushes = tuple(load * ball.track_radius * ratio / knife.blade.tab_arm for ball, load, ratio in parts)
    angles = tuple(np.degrees(seat.phi).item() for seat in at.lifts)
    return Held(moments, loads, pushes, sum(pushes), angles, ratios)


def _ratios(detent, at, friction):
    """Push per newton of each ball on its rim as it stands in the shut knife, opening, with the friction there or
    without.

    In the middle of its recess, as near as numbers go, the rim that it is pushed against is that ahead of it.
    """
    found = [0.0] * len(at.lifts)
    for leaf, shut in zip(detent.leaves, detent.shut, strict=True):
        in_the_middle = np.abs(shut - leaf.middle) < _MIDDLE
        for i, middle in zip(leaf.members, in_the_middle, strict=True):
            seat = at.lifts[i]._replace(cos_chi=np.where(middle.item(), 1.0, at.lifts[i].cos_chi))
            found[i] = push_ratio(seat, friction_at(leaf.friction, seat) if friction else 0.0).item()
    return tuple(found)


def from_the_middle(knife: Knife) -> Knife:
    """The knife with a bar that is stiff sideways and every ball in the middle of its recess at rest, unchecked: how a
    bar can leave a ball at most, and where its rim is steepest.

    So two balls on one bar break no harder than the harder of them would from there: what a ball that carries makes
    hangs on its place on its rim alone, and what two make is a mean (C1a).

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> round(feel(from_the_middle(demo("pellowfen-a"))).break_force, 2)         # 12.05 N as it is
    15.13
    """
    offsets = {f"balls[{i}].recess.rest_offset": 0.0 for i in range(len(knife.balls))}
    return knife.with_arrays(offsets | {"bar.side_compliance": 0.0, "blade.pivot_play": 0.0})


def mixes(knife: Knife, shares: Iterable[float], friction: bool = False) -> list[Mix]:
    """A Mix for each share of the bar's moment that ball 2 might carry at rest, both seated (C1a).

    friction: with that of a rim about to slip as the knife opens (F2b), else without. Whether the bar can share like
    this is another question: see sharing_band.
    """
    first, second = _on_one_bar(knife).balls[:2]
    detent = carry.Detent(knife)
    at = detent.state(np.zeros(1), -1)
    moment = at.moments[0].item()
    ratios = _ratios(detent, at, friction)
    rise_1, rise_2 = (ball.track_radius * ratio for ball, ratio in zip((first, second), ratios[:2], strict=True))
    hinges = {"hinge_distance_1": first.hinge_distance, "hinge_distance_2": second.hinge_distance}
    found = []
    for share in shares:
        mix = formulas["C1a"](moment=moment, share=share, rise_1=rise_1, rise_2=rise_2, **hinges)
        loads = [max(0.0, load) for load in (mix.load_1, mix.load_2)]  # a share of nothing may come out a hair below it
        pushes = tuple(load * rise / knife.blade.tab_arm for load, rise in zip(loads, (rise_1, rise_2), strict=True))
        found.append(Mix(share, *loads, formulas["F5"](torque=mix.torque, arm=knife.blade.tab_arm), pushes))
    return found


class Band(NamedTuple):
    """The sharing band of two balls on one bar, in press-depth difference [mm].

    begins: ball 2, brought out from where it hangs clear, begins to carry here. ends: from here on ball 1 hangs clear.
    bar: how wide the bar alone makes the band as it bends upwards (C5); the rest is squash of balls and rims, and what
    the bar gives sideways between the two.
    """

    begins: float
    ends: float
    bar: float

    @property
    def width(self) -> float:
        """Width of the band, squash and all [mm]."""
        return self.begins - self.ends


def sharing_band(knife: Knife, angle_deg: float = 0.0) -> Band:
    """The Band of balls 1 and 2 at a blade angle; both must be on the first bar, else a KnifeError.

    Bar, balls and rims give (see squashing). Formulas C4, C5, S1.
    """
    from scipy.optimize import newton

    knife = squashing(_on_one_bar(knife))
    first, second = knife.balls[:2]
    alone = sweep(with_one_ball(knife), [angle_deg], elastic=True).load[0, 0]
    deep = carry.state(with_ball_2_sunk(knife), np.radians([angle_deg]), elastic=True)
    phi_1, phi_2 = (lifted.phi[0] for lifted in deep.lifts[:2])
    matrix = bars.compliance(knife.bar, (first, second))
    begins = first.protrusion - SUNK - float(deep.clearances[1][0])
    # ball 2 alone holds the bar out as far at ball 1 as ball 1 did
    other = (matrix[0, 0] * alone + _squash(first, alone, phi_1)) / matrix[0, 1]
    width = matrix[1, 1] * other + _squash(second, other, phi_2) - matrix[0, 1] * alone
    bar = formulas["C5"](load=alone, compliance_11=matrix[0, 0], compliance_12=matrix[0, 1], compliance_22=matrix[1, 1])
    # another ball pushes the bar sideways by another amount, and with that ball 1 stands elsewhere on its rim
    guess = float(begins - width)
    start = {"x1": guess + _BAND_BESIDE, "tol": _BAND_EXACT}
    try:
        ends = newton(lambda deeper: _pressed_in(knife, deeper, angle_deg), guess, **start)
    except RuntimeError:
        raise refuse(
            "angle_deg", angle_deg, "is one where they share over no band", "", "Take one nearer to 0."
        ) from None
    return Band(begins, float(ends), float(bar))


def _pressed_in(knife, deeper, angle_deg):
    """How far ball 1 is pressed into its rim and squashed [mm], less how far it hangs clear, at this difference."""
    made = knife.with_arrays({"balls[1].protrusion": knife.balls[0].protrusion - deeper})
    at = carry.state(made, np.radians([angle_deg]), elastic=True)
    return float(_squash(knife.balls[0], at.loads[0][0], at.lifts[0].phi[0]) - at.clearances[0][0])


def shared_loads(knife: Knife, deeper: Values | Sequence[float], angle_deg: float = 0.0) -> np.ndarray:
    """Loads of balls 1 and 2 [N] at press-depth differences [mm] and a blade angle, (n, 2); all elastic (C4)."""
    deeper = np.reshape(np.asarray(deeper, float), (-1, 1))
    many = squashing(knife).with_arrays({"balls[1].protrusion": knife.balls[0].protrusion - deeper})
    loads = carry.state(many, np.radians([angle_deg]), elastic=True).loads
    return np.column_stack([np.broadcast_to(load, deeper.shape)[:, 0] for load in loads[:2]])


def _squash(ball, load, phi):
    """How far a loaded ball and its rim give way along the lift (S1); both steepen with the contact angle."""
    found = formulas["S1"](load=load / np.cos(phi), ball_radius=ball.radius, modulus=ball.contact_modulus)
    return found.squash / np.cos(phi)


def _on_one_bar(knife):
    """The knife, if balls 1 and 2 are there and on the first bar; KnifeError where they are not."""
    if len(knife.balls) < 2 or knife.balls[1].bar != 0:
        wrong, why = "there are no two balls on the first bar", "Only balls on one bar can share its moment."
        cure = "Take a knife with two balls on one bar, or put a second one in."
        raise KnifeError(Problem("balls", "", wrong, why, cure), knife.title)
    return knife
