"""Numbers read another way: the rim gap of the loaded knife in place of a rest offset, the preset of the bar in place of its force.

Neither is a number of a Knife: files and forms take them and turn them into rest offsets and riding forces.
"""

from dataclasses import dataclass, fields, replace

from ..knife.checks import Part, Problem, number, show
from ..knife.parts import spec
from ..knife.together import matrix_of
from ..knife.units import normal_doubt

STANDS_FOR = {"rim_gap": "rest_offset", "preset": "riding_force"}
PLAY = "blade.pivot_play"
_SMALL = 1e-3  # of a ±, to see how a number goes with another
_NOTHING = 1e-4  # of a correlation


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


def converted(knife, values, doubts, together):
    """The Knife with rest offsets and riding forces from {path: number} read another way, their ± from {path: ±} to first order.

    together: correlations as of Knife. What a number read another way stands for is as doubtful as the reading and all
    that lies between them, and errs together with that: a recess that is wider than measured has its rest offset larger
    as well, so that the rim gap stays as it was seen. The play of the pivot is then 0 ± 0, since the rim gap was seen
    with it. Raises KnifeError for a rim gap that cannot be.
    """
    knife = replace(knife, known_together={pair: r for pair, r in together.items() if knife.doubts.keys() >= set(pair)})
    for path in values:
        if path.endswith(".preset"):
            knife = _derived(knife, {path: values[path]}, doubts, _forces)
    gaps = {path: value for path, value in values.items() if path.endswith(".rim_gap")}
    if gaps:
        knife = _derived(knife.replace({PLAY: 0.0}).measured({PLAY: (0.0, 0.0)}), gaps, doubts, _offsets)
    return replace(knife, known_together=knife.known_together | together)


def _forces(knife, presets):
    """{path: riding force} of bars: rate times preset."""
    from ..mechanics import bar as bars

    found = {}
    for path, preset in presets.items():
        name = path.partition(".")[0]
        first = next(ball for ball in knife.balls if ball.bar == ("bar", "second_bar").index(name))
        found[other_way(path)] = float(bars.rate(getattr(knife, name), first) * preset)
    return found


def _offsets(knife, gaps):
    """{path: rest offset} that go with rim gaps of the loaded knife."""
    from ..mechanics.seat import rest_offsets

    balls = {int(path[6 : path.index("]")]): path for path in gaps}
    found = rest_offsets(knife, {i: gaps[path] for i, path in balls.items()})
    return {other_way(path): found[i] for i, path in balls.items()}


def _derived(knife, read, doubts, stands):
    """The Knife with what the readings stand for, its ± and its correlations with all that it hangs on (GUM 5.2 and H.2.3).

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
    derived = knife.measured({out: (found[out], float(end) or None) for out, end in zip(found, ends, strict=False)})
    most, told = np.outer(ends, ends), [j for j, name in enumerate(names) if name not in read]
    pairs = [(i, j) for i in range(len(found)) for j in told if j > i and abs(spread[i, j]) > _NOTHING * most[i, j]]
    together = {(names[i], names[j]): float(np.clip(spread[i, j] / most[i, j], -1, 1)) for i, j in pairs}
    return replace(derived, assumed=knife.assumed, known_together=derived.known_together | together)
