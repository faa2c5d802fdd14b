"""The numbers that a live sheet lets a reader move: label, range, step and how each is shown in mm and in inch units."""

from typing import NamedTuple

from ...checks import slips
from ...mechanics import bar as bars
from ...mechanics.carry import bars_of
from ...parts import spec
from ...units import convert

# how each kind of number is shown: unit and decimals, metric and inch
_SHOWN = {
    "size": (("mm", 4), ("thou", 2)),
    "arm": (("mm", 4), ("in", 5)),
    "force": (("N", 2), ("lbf", 2)),
    "rate": (("N/mm", 3), ("lbf/in", 2)),
    "give": (("mm/N", 5), ("mm/N", 5)),
    "ratio": (("", 3), ("", 3)),
    "deg": (("deg", 2), ("deg", 2)),
    "mJ": (("mJ", 2), ("mJ", 2)),
}


class Mover(NamedTuple):
    """One number that moves.

    path: as in Knife.get. label: what stands beside its box. group: 0 the bar and the hand, else the number of its ball.
    kind: how it is shown. value, lo, hi, step: in mm, N, N/mm. more: folded away until somebody wants it.
    """

    path: str
    label: str
    group: int
    kind: str
    value: float
    lo: float
    hi: float
    step: float
    more: bool = False

    @property
    def rule(self):
        """What its value must be, and the range outside which a slip of its unit shows: as the parts have it."""
        data = spec(self.path)
        return {"rule": data["rule"], "sane": data["sane"], "slips": slips(data), "meaning": data["meaning"]}


def with_springs(knife):
    """The knife with rate and sideways give of each bar as numbers, also where only its sizes are drawn: a slider must start somewhere."""
    known = {}
    for name, (bar, members) in zip(("bar", "second_bar"), bars_of(knife), strict=False):
        first = knife.balls[members[0]]
        known |= {f"{name}.rate": float(bars.rate(bar, first)), f"{name}.side_compliance": float(bars.side_compliance(bar, first))}
    return knife.replace({path: value for path, value in known.items() if knife.get(path) is None})


def movers(knife):
    """The Movers of a knife with one or two balls whose bar has its springs as numbers, in the order of the page."""
    found = [each for i in range(len(knife.balls)) for each in _of_ball(knife, i)]
    for bar, name in (("bar", ""), ("second_bar", " of the second leaf")):
        if getattr(knife, bar) is not None:
            found.append(_mover(knife, f"{bar}.riding_force", f"Riding force{name}", 0, "force", (0.4, 1.8), 0.05))
            found.append(_mover(knife, f"{bar}.rate", f"Rate{name}", 0, "rate", (0.4, 1.8), 0.05))
            give = knife.get(f"{bar}.side_compliance")
            found.append(Mover(f"{bar}.side_compliance", f"Sideways give{name}", 0, "give", give, 0.0, max(0.007, 2 * give), 0.00005))
    rim = knife.friction.rim
    found.append(Mover("friction.rim", "Friction at the rim", 0, "ratio", rim, 0.0, max(0.4, rim), 0.005))
    found.append(_mover(knife, "blade.tab_arm", "Tab arm", 0, "arm", (0.6, 1.6), 0.05))
    return found


def _of_ball(knife, i):
    """Ball, recess and place of one ball; the less usual numbers last."""
    ball, path, name, group = knife.balls[i], f"balls[{i}]", f"Ball {i + 1}: ", i + 1
    recess = ball.recess
    yield _mover(knife, f"{path}.diameter", f"{name}diameter", group, "arm", (0.75, 1.3), 0.0005)
    yield _mover(knife, f"{path}.protrusion", f"{name}protrusion", group, "size", (0.6, 1.4), 0.001)
    if recess.diameter > 0:
        most = max(1.02 * ball.diameter, 1.1 * recess.diameter)  # beyond the ball, which is refused with its reason
        yield _mover(knife, f"{path}.recess.diameter", f"{name}recess diameter", group, "arm", (0.65, most / recess.diameter), 0.0005)
    offset = recess.rest_offset
    yield Mover(f"{path}.recess.rest_offset", f"{name}rest offset", group, "size", offset, min(-0.06, offset - 0.06), max(0.2, offset + 0.1), 0.001)
    yield _mover(knife, f"{path}.track_radius", f"{name}track radius", group, "arm", (0.7, 1.5), 0.01)
    # the drawn rate of a leaf is that at its own first ball, so moving that one would change the rate unseen
    if i > 0 and ball.bar == knife.balls[0].bar:
        yield _mover(knife, f"{path}.hinge_distance", f"{name}hinge distance", group, "arm", (0.75, 1.25), 0.05)
    off = recess.off_track
    yield Mover(f"{path}.recess.off_track", f"{name}off-track error", group, "size", off, min(-0.1, off), max(0.1, off), 0.001, True)
    if recess.chamfer_width > 0:
        yield _mover(knife, f"{path}.recess.chamfer_width", f"{name}chamfer width", group, "size", (0.2, 1.5), 0.001, True)
    else:
        rounded = recess.edge_radius
        yield Mover(f"{path}.recess.edge_radius", f"{name}rounding of the rim", group, "size", rounded, 0.0, max(0.15, rounded), 0.001, True)
    if recess.depth is not None:
        yield _mover(knife, f"{path}.recess.depth", f"{name}depth of the recess floor", group, "size", (0.2, 1.5), 0.001, True)


def _mover(knife, path, label, group, kind, factors, step, more=False):
    """A Mover whose range is the knife's own value times two factors."""
    value = knife.get(path)
    low, high = (round(round(value * factor / step) * step, 9) for factor in factors)
    return Mover(path, label, group, kind, value, min(low, value), max(high, value), step, more)


def shown(kind):
    """[unit, factor from the library's unit, decimals] of a kind, metric and inch.

    >>> shown("size")
    [['mm', 1.0, 4], ['thou', 39.37007874015748, 2]]
    """
    (base, _), _ = _SHOWN[kind]
    return [["°" if unit == "deg" else unit, convert(1.0, base, unit), places] for unit, places in _SHOWN[kind]]


KINDS = tuple(_SHOWN)
