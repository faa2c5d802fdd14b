"""Numbers read another way: a rim gap of the loaded knife, the preset of the bar, and what parts another ball from
ball 1: how much lower and further out it stands, how much smaller its recess is.

None is a number of a Knife: files and forms turn them into numbers of its parts.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from ..knife.checks import Part, Problem, number, show
from ..knife.parts import Knife, spec
from ..knife.paths import (
    BOTH_WAYS,
    FROM_BALL_1,
    FURTHER,
    LOWER,
    PRESET,
    RIM_GAP,
    SMALLER,
    field_of,
    other_way,
    place_of,
)
from ..knife.together import matrix_of
from ..knife.units import normal_doubt

PLAY = "blade.pivot_play"
_SMALL = 1e-3  # of a ±, to see how a number goes with another
_NOTHING = 1e-4  # of a correlation
_DIGITS = 4  # of a ±, as a file shall hold it
_PLACES = 12  # behind the point of a sum [mm], so that 8.2 and 1.6 make 9.8 in a file too


@dataclass(frozen=True)
class Instead(Part):
    """What can be read instead.

    rim_gap: radius of the rim at the tang face less how far the ball stands from the middle, seen on the loaded knife
    shut on its stop. preset: with the blade out, how far the bar springs past the place where its first ball rides the
    flat. Of another ball than ball 1, lower_by: how much lower than that it stands, below zero for one that stands
    higher; further_out: how much further from the pivot; smaller_by: how much less its recess measures across.
    """

    rim_gap: float = number("rim gap of the ball with the bar pressing, the knife shut", "mm", sane=(0.05, 5))
    preset: float = number("preset of the bar (the blade out, how far it springs past the flat)", "mm", sane=(0.15, 25))
    lower_by: float = number("distance that the ball stands lower than ball 1", "mm", "any", sane=(0, 1.5))
    further_out: float = number("distance that the ball lies further out than ball 1", "mm", "any", sane=(0, 60))
    smaller_by: float = number("distance by which the recess is smaller than that of ball 1", "mm", "any", sane=(0, 5))


READ = dict(zip((RIM_GAP, PRESET, LOWER, FURTHER, SMALLER), fields(Instead), strict=True))


def read_instead(path: str) -> bool:
    """True for a number that is read in place of one of the Knife."""
    return field_of(path) in READ


def mixtures(values: Mapping[str, Any], doubts: Mapping[str, float]) -> list[Problem]:
    """The Problems of numbers given both ways, each at what was read another way."""
    found = []
    for path, value in values.items():
        if not read_instead(path):
            continue
        field, stands = field_of(path), other_way(path)
        shown = show(value, READ[field].metadata["unit"])
        if stands in values:
            other = f"{BOTH_WAYS[field]} = {show(values[stands], spec(stands)['unit'])}"
            why, cure = (
                "Both say the same thing, and two readings hardly ever agree.",
                "Keep the one that you trust more, and take the other out.",
            )
            found.append(Problem(path, shown, f"stands beside {other}", why, cure))
        if field == RIM_GAP and (values.get(PLAY) or doubts.get(PLAY)):
            why = "The ball was seen where the blade stood in that play."
            found.append(Problem(path, shown, "has the play of the pivot in it already", why, "Take pivot_play out."))
    return found


def converted(knife: Knife, values: Mapping[str, float], doubts: Mapping[str, float], together: dict) -> Knife:
    """The Knife with what {path: number} read another way stand for.

    doubts: {path: ±}, taken to first order; together: correlations as of Knife. What a number read another way stands
    for is as doubtful as the reading and all that lies between them, and errs together with that: a recess that is
    wider than measured has its rest offset larger as well, so that the rim gap stays as it was seen. The play of the
    pivot is then 0 ± 0, since the rim gap was seen with it. Raises KnifeError for a rim gap that cannot be.
    """
    knife = replace(knife, known_together={pair: r for pair, r in together.items() if knife.doubts.keys() >= set(pair)})
    for field, stands in (*((each, _beside_ball_1) for each in FROM_BALL_1), (PRESET, _forces)):
        for path in values:
            if field_of(path) == field:
                knife = _derived(knife, {path: values[path]}, doubts, stands)
    gaps = {path: value for path, value in values.items() if field_of(path) == RIM_GAP}
    if gaps:
        knife = _derived(knife.replace({PLAY: 0.0}).measured({PLAY: (0.0, 0.0)}), gaps, doubts, _offsets)
    return replace(knife, known_together=knife.known_together | together)


def _beside_ball_1(knife: Knife, apart: Mapping[str, float]) -> dict[str, float]:
    """{path: number} of other balls from what parts them from ball 1."""
    found = {}
    for path, value in apart.items():
        stands = other_way(path)
        first = knife.get(place_of(stands)._replace(index=0).beside(place_of(stands).name))
        found[stands] = round(first + FROM_BALL_1[field_of(path)][1] * value, _PLACES)
    return found


def _forces(knife, presets):
    """{path: riding force} of bars: rate times preset."""
    from ..mechanics import bar as bars

    forces = {}
    for path, preset in presets.items():
        place = place_of(path)
        first = next(ball for ball in knife.balls if ball.bar == place.index)
        forces[other_way(path)] = float(bars.rate(getattr(knife, place.owner), first) * preset)
    return forces


def _offsets(knife, gaps):
    """{path: rest offset} that go with rim gaps of the loaded knife."""
    from ..mechanics.seat import rest_offsets

    balls = {place_of(path).ball: path for path in gaps}
    offsets = rest_offsets(knife, {i: gaps[path] for i, path in balls.items()})
    return {other_way(path): offsets[i] for i, path in balls.items()}


def _derived(knife, read, doubts, stands):
    """The Knife with what the readings stand for, its ± and its correlations with all that it hangs on (GUM 5.2 and
    H.2.3).

    stands: a function of the Knife and of the readings {path: number} that gives {path: number}.
    """
    import numpy as np

    found = stands(knife, read)
    known = knife.doubts | {path: doubts.get(path, 0.0) for path in read}
    # in the order of their names, so that a file that lists them in another gives the same digits
    wide = {path: normal_doubt(known[path]) for path in sorted(known) if known[path] and path not in found}
    shares = np.zeros((len(found), len(wide)))
    for k, (path, doubt) in enumerate(wide.items()):
        part = -_SMALL if path in read else _SMALL  # a gap less, since there the ball stays
        to = {path: (read[path] if path in read else knife.get(path)) + part * doubt}
        end = stands(knife, read | to) if path in read else stands(knife.replace(to), read)
        shares[:, k] = [(end[out] - found[out]) / part for out in found]
    names, parts = [*found, *wide], np.vstack([shares, np.eye(len(wide))])
    spread = parts @ matrix_of(knife.known_together, list(wide)) @ parts.T
    ends = np.sqrt(np.diag(spread))
    derived = knife.measured(
        {out: (found[out], float(f"{end:.{_DIGITS}g}") or None) for out, end in zip(found, ends, strict=False)}
    )
    most, told = np.outer(ends, ends), [j for j, name in enumerate(names) if name not in read]
    pairs = [(i, j) for i in range(len(found)) for j in told if j > i and abs(spread[i, j]) > _NOTHING * most[i, j]]
    together = {(names[i], names[j]): float(np.clip(spread[i, j] / most[i, j], -1, 1)) for i, j in pairs}
    return replace(derived, assumed=knife.assumed, known_together=derived.known_together | together)
