"""Numbers read another way: the rim gap of the loaded knife in place of a rest offset, the preset of the bar in place of its force.

Neither is a number of a Knife: files and forms take them and turn them into rest offsets and riding forces.
"""

import math
from dataclasses import dataclass, fields, replace

from .checks import Part, Problem, number, show
from .parts import spec

STANDS_FOR = {"rim_gap": "rest_offset", "preset": "riding_force"}
PLAY = "blade.pivot_play"
_STEP = 1e-6  # mm, to see how a rest offset goes with a rim gap


@dataclass(frozen=True)
class Instead(Part):
    """What can be read instead.

    rim_gap: radius of the rim at the tang face less how far the ball stands from the middle, seen on the loaded knife shut
    on its stop. preset: with the blade out, how far the bar springs past the place where its first ball rides the flat.
    """

    rim_gap: float = number("rim gap of the ball with the bar pressing, the knife shut", "mm", sane=(0.05, 5))
    preset: float = number("preset of the bar (the blade out, how far it springs past the flat)", "mm", sane=(0.15, 25))


READ = {each.name: each for each in fields(Instead)}


def other_way(path):
    """The path of what a number read another way stands for, and the reverse; None for any other number.

    >>> other_way("balls[0].recess.rim_gap"), other_way("bar.riding_force"), other_way("bar.rate")
    ('balls[0].recess.rest_offset', 'bar.preset', None)
    """
    owner, _, name = path.rpartition(".")
    both = STANDS_FOR | {stands: read for read, stands in STANDS_FOR.items()}
    return f"{owner}.{both[name]}" if name in both else None


def mixtures(values, doubts):
    """The Problems of numbers given both ways, each at what was read another way."""
    found = []
    for path, value in values.items():
        read, stands = path.rpartition(".")[2], other_way(path)
        if read not in STANDS_FOR:
            continue
        shown = show(value, READ[read].metadata["unit"])
        if stands in values:
            other = f"{STANDS_FOR[read]} = {show(values[stands], spec(stands)['unit'])}"
            why, cure = "Both say the same thing, and two readings hardly ever agree.", "Keep the one that you trust more, and take the other out."
            found.append(Problem(path, shown, f"stands beside {other}", why, cure))
        if read == "rim_gap" and (values.get(PLAY) or doubts.get(PLAY)):
            why = "The ball was seen where the blade stood in that play."
            found.append(Problem(path, shown, "has the play of the pivot in it already", why, "Take pivot_play out."))
    return found


def converted(knife, values, doubts):
    """The Knife with rest offsets and riding forces from {path: number} read another way, their ± from {path: ±} to first order.

    The play of the pivot is then 0 ± 0, since the rim gap was seen with it. A riding force is as doubtful as preset and
    rate together. Raises KnifeError for a rim gap that cannot be.
    """
    presets = {path: value for path, value in values.items() if path.endswith(".preset")}
    for path, value in presets.items():
        knife = _forced(knife, path.partition(".")[0], value, doubts.get(path))
    gaps = {int(path[6 : path.index("]")]): value for path, value in values.items() if path.endswith(".rim_gap")}
    return _seated(knife, gaps, doubts) if gaps else knife


def _forced(knife, name, preset, doubt):
    """The Knife with the riding force of one bar from its preset: rate times preset."""
    from .mechanics import bar as bars

    first = next(ball for ball in knife.balls if ball.bar == ("bar", "second_bar").index(name))
    i = knife.balls.index(first)

    def rate(path=None, step=0.0):
        moved = knife if path is None else knife.with_arrays({path: knife.get(path) + step})
        return bars.rate(getattr(moved, name), moved.balls[i])

    of_rate = [path for path in knife.doubts if path.startswith((f"{name}.", f"balls[{i}].hinge_distance"))]
    shares = [preset * (rate(path, knife.doubts[path] / 2) - rate(path, -knife.doubts[path] / 2)) for path in of_rate]
    whole = math.hypot(rate() * (doubt or 0.0), *shares)
    return _with(knife, {f"{name}.riding_force": float(rate() * preset)}, {f"{name}.riding_force": float(whole)} if whole else {})


def _seated(knife, gaps, doubts):
    """The Knife with the rest offsets that go with these rim gaps."""
    from .mechanics.seat import rest_offsets

    found = rest_offsets(knife, gaps)
    squares = dict.fromkeys(gaps, 0.0)
    for i, gap in gaps.items():
        doubt = doubts.get(f"balls[{i}].recess.rim_gap", 0.0)
        if doubt:
            less = rest_offsets(knife, gaps | {i: gap - _STEP})
            for j in gaps:
                squares[j] += ((less[j] - found[j]) / _STEP * doubt) ** 2
    path = "balls[{}].recess.rest_offset".format
    wide = {path(i): math.sqrt(square) for i, square in squares.items() if square}
    return _with(knife, {path(i): found[i] for i in gaps} | {PLAY: 0.0}, wide | {PLAY: 0.0})


def _with(knife, values, doubts):
    """The Knife with other numbers and their ±; what comes from a guess stays assumed."""
    kept = {path: doubt for path, doubt in knife.doubts.items() if path not in values}
    return replace(knife.replace(values), doubts=kept | doubts, assumed=[path for path in knife.assumed if path != PLAY])
