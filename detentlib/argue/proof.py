"""Claims about what proves something: a missing track, a photo, calipers; a margin against the ± of an instrument."""

import math
from dataclasses import replace

import numpy as np

from ..files.instruments import INSTRUMENTS
from ..knife.parts import Knife, KnifeError, Problem
from ..knife.units import show
from ..tune.pair import idle_up_to, with_rim_lead, with_second_ball
from .claim import worded
from .scale import FALSE, PARTLY, TIMES, TRUE, Part, Scale, force
from .switches import all_but
from .two import least_room, workable_least_room

_LEADS = np.linspace(0.0, 0.10, 6)  # mm, what a shop may drill by mistake or on purpose
_ROUGHLY = 0.2  # an instrument's ± is itself known to about a fifth: judgement
_PHOTO, _SCALED = "photo of recess against ball", "microscope with a stage scale"


def _doubt_of(name: str, path: str) -> float:
    """± of an instrument of the table for the number at a path [mm]."""
    return next(each.doubt for each in INSTRUMENTS if each.name == name and each.reads(path))


def measured_with(knife: Knife, name: str) -> Knife:
    """The knife as if every number that this instrument of the table serves had been measured with it, well or badly.

    Raises ValueError for an instrument that is not in the table.

    >>> from detentlib.files.demo import demo
    >>> knife = demo("pellowfen-a")
    >>> [each.doubts["balls[0].protrusion"] for each in (knife, measured_with(knife, "calipers, depth rod"))]
    [0.01, 0.06]
    """
    found = [each for each in INSTRUMENTS if each.name == name]
    if not found:
        there = ", ".join(dict.fromkeys(each.name for each in INSTRUMENTS))
        raise ValueError(f"no instrument {name!r}; there are {there}")
    doubts = {path: each.doubt for each in found for path in knife.paths() if each.reads(path)}
    return replace(knife, doubts=knife.doubts | doubts)


def _one_rim_after_the_other(knife):
    """The knife, and itself at every rim lead; KnifeError where ball 2 rides the flat and leaves a track."""
    two = with_second_ball(knife)
    limit = idle_up_to(two.bar, two.balls[0], two.balls[1].hinge_distance)
    if two.many:
        stands = two.balls[1].protrusion
        two = two.replace({"balls[1].protrusion": np.where(stands > limit, np.nan, stands)})
    elif two.balls[1].protrusion > limit:
        wrong = f"lets ball 2 ride the flat, as it would from {show(limit, 'mm')} on, so that its track is not missing"
        why, cure = "This claim is about a track that is not there.", "Press it deeper, or judge another claim."
        height = "balls[1].protrusion", show(two.balls[1].protrusion, "mm")
        raise KnifeError(Problem(*height, wrong, why, cure), knife.title)
    return two, *(with_rim_lead(two, lead) for lead in _LEADS)


def _really_idle(pair, *rims):
    """Share of the rim leads at which ball 2, which leaves no track, is idle in the climb as well, in per cent."""
    rooms = np.stack(np.broadcast_arrays(*map(least_room, rims)))
    shares = []
    for column in rooms.T:
        touching = np.flatnonzero(column < 0)
        if not touching.size:
            shares.append(1.0)
            continue
        k = touching[0]
        gone = 0.0 if k == 0 else (k - 1 + column[k - 1] / (column[k - 1] - column[k])) / (len(_LEADS) - 1)
        shares.append(gone)
    return 100 * np.array(shares)


def _photographed(knife):
    """The knife with two balls, and the same with each number of a photo off by the ± of a photo."""
    two, moved = with_second_ball(knife), []
    for i in range(2):
        # of a drilled dimple, which has no bore, a photo shows the rim
        size = "diameter" if two.balls[i].recess.bored else "chamfer_width"
        for name, instrument in (("rest_offset", _PHOTO), (size, _SCALED)):
            path = f"balls[{i}].recess.{name}"
            moved.append(two.replace({path: two.get(path) + _doubt_of(instrument, path)}))
    return two, *moved


def _photo_doubt(pair, *moved):
    """± that photos leave on the room of ball 2 [mm]."""
    now = workable_least_room(pair)
    return np.sqrt(sum((least_room(each) - now) ** 2 for each in moved))


def _difference(pair):
    return np.abs(np.reshape(pair.knife.balls[0].protrusion - pair.knife.balls[1].protrusion, -1))


def _depth_claim(id, instrument):
    """Claim that an instrument settles the press-depth difference: each of two readings brings its own ±."""
    doubt = math.sqrt(2) * _doubt_of(instrument, "balls[0].protrusion")
    return worded(
        id,
        number=Part(
            f"Press-depth difference, in times the ± that two readings with {instrument} leave on it",
            TIMES,
            lambda pair: _difference(pair) / doubt,
        ),
        scale=Scale((1.0,), (FALSE, TRUE)),
        cast=lambda knife: (with_second_ball(knife),),
        parts=(
            Part("press-depth difference", "mm", _difference),
            Part("± of the difference of two readings", "mm", lambda pair: doubt),
        ),
        switches=("card",),
        start={"card": "exact"},
        scatter=_ROUGHLY,
    )


CLAIMS = (
    worded(
        "missing-track",
        number=Part(
            "Share of rim leads from 0 to 0.1 mm at which ball 2 leaves no track and is idle in the climb as well",
            "%",
            _really_idle,
        ),
        scale=Scale((1.0, 99.0), (FALSE, PARTLY, TRUE)),
        cast=_one_rim_after_the_other,
        parts=(force(0, "break force with both balls"),),
        switches=all_but("friction"),
    ),
    worded(
        "photo",
        number=Part(
            "Least room of ball 2, in times the ± that photos leave on it",
            TIMES,
            lambda pair, *moved: np.abs(least_room(pair)) / _photo_doubt(pair, *moved),
        ),
        scale=Scale((1.0,), (FALSE, TRUE)),
        cast=_photographed,
        parts=(
            Part("least room of ball 2", "mm", lambda pair, *moved: workable_least_room(pair)),
            Part("± of it by photos alone", "mm", _photo_doubt),
        ),
        switches=all_but("friction"),
        start={"card": "exact"},
        scatter=_ROUGHLY,
    ),
    _depth_claim("calipers", "calipers, depth rod"),
    _depth_claim("micrometer", "depth micrometer over the ball"),
)
