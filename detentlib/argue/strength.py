"""Claims about what makes a detent strong: contact height, recess, offsets, direction, bar, oil."""

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.units import convert, show
from ..mechanics import bar as bars
from ..mechanics import carry, limits
from ..tune.moves import as_resized, need_drawn, with_one_ball, with_relief
from ..tune.pair import TWO_THOU, need_bored, with_rim_lead
from .cases import cases
from .claim import worded
from .scale import DOUBLE, FALSE, PARTLY, SAME, TELL, TIMES, TRUE, Part, Scale, force, forces, ratio
from .switches import all_but
from .two import both_and_one, with_equal_recesses

_OILED, _DRY = 0.10, 0.20  # oiled and starved rim: common practice, low confidence
_BIGGER = convert(3.0, "thou", "mm")  # from a No. 55 to a No. 54 drill
_THICKER = 1.3
_WELL = 0.022  # mm, rim lead past the touch threshold: ball 2 carries about a sixth of the climb
_NOT_WEAKENED = 0.05
_CLEARLY_OTHER = 0.03  # difference of recess over ball diameter from which two seats count as different


def only_ball(knife: Knife, i: int) -> Knife:
    """The knife with one ball of its first bar alone, the bar as it is.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, LockBar, Recess
    >>> balls = [Ball(1.5, 0.42, 8.0, 36.0, Recess(1.3)), Ball(1.5, 0.30, 9.6, 30.0, Recess(1.2))]
    >>> alone = only_ball(Knife("two", balls, LockBar(17.0, rate=10.0), Blade(14.0), Friction(0.12)), 1)
    >>> len(alone.balls), round(alone.bar.rate, 2)                       # 10 N/mm times (36/30)²
    (1, 14.4)
    """
    if i == 0:
        return with_one_ball(knife)
    ball, spring = knife.balls[i], bars.spring(knife.bar, knife.balls[0])
    psi = formulas["B4"](gap=ball.protrusion, parallel_gap=spring.parallel_gap, hinge_distance=ball.hinge_distance)
    times = ball.hinge_distance / knife.balls[0].hinge_distance
    numbers = {
        "bar.riding_force": bars.moment(spring, psi) / ball.hinge_distance,
        "bar.rate": spring.kappa / ball.hinge_distance**2,
        "bar.side_compliance": bars.side_compliance(knife.bar, knife.balls[0]) * times**2,
        "bar.parallel_gap": spring.parallel_gap,
        "balls[0].bearing_deg": None,
    }
    return Knife(knife.title, [ball], knife.bar, knife.blade, knife.friction).replace(numbers)


def _higher_and_lower(knife):
    """Two contacts on this bar, the one higher on its ball first: its two balls, or ball 1 with its rim 0.05 mm nearer
    and as it is.

    Of many knives in one, the first says which is higher.

    KnifeError for a drilled dimple: the cone sets the contact height there.
    """
    need_bored(knife)
    seats = [np.ravel(ball.recess.diameter / ball.diameter)[0] for ball in knife.balls[:2] if ball.bar == 0]
    if len(seats) < 2 or abs(seats[0] - seats[1]) < _CLEARLY_OTHER:
        one = with_one_ball(knife)
        return one.replace({"balls[0].recess.diameter": one.balls[0].recess.diameter - 0.10}), one
    high, low = (0, 1) if seats[0] < seats[1] else (1, 0)
    return only_ball(knife, high), only_ball(knife, low)


def _all_bigger(knife):
    changes = {}
    for i in range(len(knife.balls)):
        changes |= as_resized(knife, i, _BIGGER)
    return knife.replace(changes), knife


def _thicker(knife):
    need_drawn(knife)
    return with_relief(knife, _THICKER * knife.bar.relief_thickness), knife


def _threshold(knife):
    """Rim lead from which a twin 2 thou lower touches in the shut knife, in the plane (C3).

    KnifeError where the seat is no deeper than that, nan for such a one of many.
    """
    one, first = with_one_ball(knife), knife.balls[0]
    need_bored(one)
    gap = carry.Detent(one).state(np.zeros(1), -1).lifts[0].rim_gap
    if not knife.many and gap >= first.radius:
        limits.check(one)
    deep = formulas["L1"](rim_gap=np.maximum(gap, 0.0), ball_radius=first.radius).sink
    if not knife.many and deep <= TWO_THOU:
        sinks, out = show(deep.item(), "mm"), show(TWO_THOU, "mm")
        wrong = f"lets ball 1 sink by no more than {sinks}: a twin standing {out} lower hangs clear with any rim"
        why, cure = "This claim is about a second ball that touches.", "Take a larger recess or less rest offset."
        bore = "balls[0].recess.diameter", show(first.recess.diameter, "mm")
        raise KnifeError(Problem(*bore, wrong, why, cure), knife.title)
    found = formulas["C3"](rim_gap_1=gap, height_difference=TWO_THOU, ball_radius=first.radius)
    return np.where(deep > TWO_THOU, found, np.nan) if knife.many else found.item()


def _share_of_climb(pair, one):
    """Share of the way to the flat on which ball 2 carries, in per cent."""
    angles = carry.Detent(one.knife).opening(513)
    return 100 * np.mean(carry.state(pair.knife, angles, pair.elastic).loads[1] > 0, axis=-1)


def _smaller_and_shifted(knife):
    """Both recesses, opening this way and the other way."""
    equal, lead = with_equal_recesses(knife), _threshold(knife) + _WELL
    made = [with_rim_lead(equal, lead, by) for by in ("size", "shift")]
    return *made, *(each.turned_round() for each in made)


_TWO_RECESSES = "ball 2 like ball 1 and 2 thou lower, its rim nearer by a lead that touches"


def _apart(one, other):
    times = one.felt("break_force") / other.felt("break_force")
    return np.maximum(times, 1 / times)


def _most_apart(*made):
    return np.maximum(_apart(*made[:2]), _apart(*made[2:]))


def _same_one_way(knife, elastic):
    """Where they differ only when turned round, the claim is half right."""
    same = _apart(*cases(lambda knife: _smaller_and_shifted(knife)[:2], (knife,), ({},), elastic)) < 1 + TELL
    return Scale((1 + TELL,), (TRUE, PARTLY if same else FALSE))


CLAIMS = (
    worded(
        "higher-is-weaker",
        number=ratio("Break force of the contact higher on its ball, against the lower one, each alone on this bar"),
        scale=Scale((1.0,), (TRUE, FALSE)),
        cast=_higher_and_lower,
        parts=forces("break force of the higher contact", "break force of the lower contact"),
        second_ball=False,
    ),
    worded(
        "bigger-is-weaker",
        number=ratio("Break force with recesses 3 thou bigger, against as it is"),
        scale=Scale((1 - TELL,), (TRUE, FALSE)),
        cast=_all_bigger,
        parts=forces("break force, 3 thou bigger", "break force as it is"),
        second_ball=False,
    ),
    worded(
        "brief",
        number=ratio("Break force with both balls on one bar, against ball 1 alone"),
        scale=Scale((1 - _NOT_WEAKENED, 1 + _NOT_WEAKENED), (FALSE, TRUE, FALSE)),
        cast=both_and_one,
        parts=(
            Part("share of the climb on which ball 2 carries", "%", _share_of_climb),
            *forces("break force with both balls", "break force of ball 1 alone"),
        ),
    ),
    worded(
        "same-as-shifted",
        number=Part("Greatest ratio of their break forces, opening this way and turned round", TIMES, _most_apart),
        scale=_same_one_way,
        cast=_smaller_and_shifted,
        put_in=_TWO_RECESSES,
        parts=forces("smaller, this way", "shifted, this way", "smaller, turned round", "shifted, turned round"),
    ),
    worded(
        "direction",
        number=ratio("Break force turned round, against this way, with a shifted second recess", of=1, to=0),
        scale=SAME,
        cast=lambda knife: _smaller_and_shifted(knife)[1::2],
        put_in=_TWO_RECESSES,
        parts=forces("break force this way", "break force turned round"),
    ),
    worded(
        "fixed-force",
        number=Part("Bar force riding, against at rest", TIMES, lambda c: c.felt("ride_load") / c.felt("rest_load")),
        scale=Scale((1 + TELL, 1.05), (TRUE, PARTLY, FALSE)),
        cast=lambda knife: (knife,),
        parts=(force(0, "bar force at rest", "rest_load"), force(0, "bar force riding", "ride_load")),
        second_ball=False,
    ),
    worded(
        "oil",
        number=ratio("Break force with a starved rim (friction 0.20), against an oiled one (0.10)"),
        scale=SAME,
        cast=lambda knife: tuple(knife.replace({"friction.rim": mu, "friction.flat": None}) for mu in (_DRY, _OILED)),
        parts=(
            *forces("break force, starved", "break force, oiled"),
            *forces("let-back, starved", "let-back, oiled", name="letback_force"),
        ),
        switches=all_but("friction"),
        second_ball=False,
    ),
    worded(
        "heavier-bar",
        number=ratio("Break force with a relief 30 % thicker at the same bend, against as it is"),
        scale=DOUBLE,
        cast=_thicker,
        parts=(
            *forces("break force, thicker", "break force as it is"),
            force(0, "bar force riding, thicker", "ride_load"),
        ),
        switches=all_but("spring"),
        second_ball=False,
    ),
)
