"""Break it: the nearest change of a knife, counted in shop tolerances, for which the verdict of a claim flips."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..knife.given import given_function, given_knife, given_switch
from ..knife.parts import Knife, KnifeError, name_of, spec
from ..knife.paths import field_of
from ..knife.plain import in_markdown
from ..knife.units import both
from ..tune.pair import PRESS, idle_up_to, with_second_ball
from ..tune.stock import BALLS, DRILLS
from .cases import column_of
from .claim import Claim
from .judging import claims, judge
from .scale import OPEN
from .switches import known_exactly, options_of
from .verdict import Verdict

# one step of any shop, jigs or none, so wider than the batch of tuning/shop.py; ± 95 %: common practice, low
# confidence. A ball size is bought, not made, so its step is large
TOLERANCES = {
    "ball.diameter": 0.10,
    "ball.protrusion": PRESS["by hand"],
    "ball.track_radius": 0.10,
    "ball.hinge_distance": 0.10,
    "recess.diameter": 0.02,
    "recess.rest_offset": 0.03,
    "recess.off_track": 0.05,
    "recess.edge_radius": 0.02,
    "bar.relief_thickness": 0.02,
    "bar.riding_force": 0.80,
    "bar.rate": 0.50,
    "friction.rim": 0.04,
}
BOUGHT = {"ball.diameter": BALLS, "recess.diameter": DRILLS}  # what goes from size to size of the catalogue
FARTHEST = 25.0  # steps
MOST = 4  # numbers changed at once, so that a person can follow
_WAYS, _SEED, _HALVINGS, _ROUNDS, _TRIES, _SMALL = 30, 3, 8, 12, 50, 0.5
_SAME = 1e-9  # mm
_DISTANCES = np.array([0.5, 1, 2, 3, 5, 8, 12, 18, FARTHEST])


class Stopped(Exception):
    """A search that was called off before it came to an end."""


class Change(NamedTuple):
    """One number of the knife that was changed: its path, in words, before, after, and by how many shop tolerances."""

    path: str
    said: str
    before: float
    after: float
    steps: float

    def __str__(self):
        """In words; a size of the catalogue with its name there."""
        unit, sizes = spec(self.path)["unit"], BOUGHT.get(field_of(self.path), ())
        name = next((f", sold as {size.name}" for size in sizes if abs(size.diameter - self.after) < _SAME), "")
        return f"{self.said} {both(self.before, unit)} → {both(self.after, unit)}{name}"


class Broken(NamedTuple):
    """What breaking it came to.

    found: whether a knife was found; knife, changes, steps: it, what was changed and how far in all; before and after:
    the Verdicts on exact numbers (after None where none was found); said: the same in words, with the limits searched.
    """

    found: bool
    knife: object
    changes: tuple
    steps: float
    before: Verdict
    after: Verdict | None
    said: str

    def __str__(self):
        """In words, for a notebook."""
        return self.said

    def __repr__(self):
        return self.said

    def _repr_markdown_(self):
        return in_markdown(self.said)


def break_it(
    claim: Claim | str,
    knife: Knife | None = None,
    while_idle: bool = False,
    stop: Callable[[], bool] = lambda: False,
    **switches: str,
) -> Broken:
    """The nearest change of the knife for which the verdict of a claim flips.

    Numbers count as exact here, and every change in shop tolerances (TOLERANCES), all together as the root of the sum
    of squares, up to FARTHEST, in at most MOST numbers. Searched along every number both ways, along the steepest ways
    and a fixed set of random ones, then shortened by ever nearer ones; so it is the nearest that this search finds.
    Balls and recesses go from size to size of the catalogue (BOUGHT), all else as finely as it needs.
    while_idle: only knives whose second ball rides clear of the flat. The flip is verified by judging the broken knife.
    stop: asked before every round; where it says True, Stopped is raised. Raises as `judge` does; ValueError for a
    claim between fixed knives.
    """
    claim = claim if isinstance(claim, Claim) else claims[claim]
    if claim.knives:
        cure = "compose it with words such as 'second ball' instead of a Knife"
        raise ValueError(f"a claim between fixed knives cannot be broken; {cure}")
    given_knife(knife)
    given_switch("while_idle", while_idle, "whether ball 2 must ride clear of the flat")
    given_function("stop", stop, "whether to call the search off")
    options = options_of(claim.switches, claim.start, switches)
    if "card" in options:
        options["card"] = "exact"
    twinned = claim.second_ball and len(knife.balls) < 2  # so that the numbers of its twin can be changed as well
    start = known_exactly(with_second_ball(knife) if twinned else knife)
    before = judge(claim, start, **options)
    search = _Search(claim, start, options, before, while_idle, stop)
    for way in search.ways():
        after = search.verdict(way)
        if after is not None and after.word not in (before.word, OPEN):
            return _found(search, way, after)
    return Broken(False, None, (), float("inf"), before, None, _none(search))


class _Search:
    """The search from one knife: moves are arrays of steps in shop tolerances, one for each path."""

    def __init__(self, claim, start, options, before, while_idle, stop):
        self.claim, self.start, self.options = claim, start, options
        self.before, self.while_idle, self.stop = before, while_idle, stop
        there = (path for path in start.paths() if start.get(path) is not None)
        self.paths = [path for path in there if field_of(path) in TOLERANCES]
        self.sizes = [TOLERANCES[field_of(path)] for path in self.paths]
        self.values = [start.get(path) for path in self.paths]
        # steps to every size of the catalogue, and none, of each number that is bought
        stock = {k: BOUGHT[field_of(path)] for k, path in enumerate(self.paths) if field_of(path) in BOUGHT}
        self.stock = {}
        for k, sizes in stock.items():
            self.stock[k] = np.array([0.0, *((size.diameter - self.values[k]) / self.sizes[k] for size in sizes)])

    def bought(self, moves):
        """The moves with each ball and each recess at the nearest size of the catalogue, or as it is."""
        moves = np.array(moves, float).reshape(-1, len(self.paths))
        for k, steps in self.stock.items():
            moves[:, k] = steps[np.abs(moves[:, k, None] - steps).argmin(axis=1)]
        return moves

    def numbers(self, moves):
        """The deciding number after each move; nan where the knife cannot be, or ball 2 rides and must not."""
        if self.stop():
            raise Stopped
        columns = np.vstack([np.zeros(len(self.paths)), *moves]).T
        numbers = zip(self.paths, self.values, self.sizes, columns, strict=True)
        moved = {path: value + column * size for path, value, size, column in numbers}
        found = column_of(self.claim.number.of, self.claim.cases((self.start,), self.options, (moved,)))[1:]
        if not self.while_idle:
            return found
        many = self.start.with_arrays({path: column[1:, None] for path, column in moved.items()})
        return np.where(np.reshape(_rides_clear(many), -1), found, np.nan)

    def flipped(self, moves):
        """Which moves flip the verdict, by the scale of the knife as it was; bought, and not too far."""
        if not len(moves):
            return np.zeros(0, bool)
        moves = self.bought(moves)
        near = np.linalg.norm(moves, axis=1) <= FARTHEST
        words = [self._word(number) if np.isfinite(number) else OPEN for number in self.numbers(moves)]
        return near & [word not in (self.before.word, OPEN) for word in words]

    def _word(self, number):
        """What a number makes of the claim, with the scatter that every number of it has."""
        words = {self.before.scale.word(number * (1 + part * self.claim.scatter)) for part in (-1, 0, 1)}
        return OPEN if len(words) > 1 else words.pop()

    def verdict(self, move):
        """The Verdict on the moved knife; None where it cannot be judged."""
        numbers = zip(self.paths, self.values, self.sizes, move, strict=True)
        changes = {path: value + step * size for path, value, size, step in numbers if step}
        try:
            return judge(self.claim, self.start.replace(changes), **self.options)
        except KnifeError:
            return None

    def ways(self):
        """Moves that flip the verdict, the nearest first."""
        ends = self._first_flips(self._directions())
        return sorted([*(self._shorten(end) for end in ends[:2]), *ends], key=np.linalg.norm)

    def _directions(self):
        """Unit moves of at most MOST numbers: along every one, along the steepest ways, and at random."""
        count = len(self.paths)
        axes = [sign * axis for axis in np.eye(count) for sign in (1, -1)]
        slopes = np.nan_to_num(self.numbers(axes) - self.before.number.value).reshape(-1, 2)
        steepest = []
        for sign in (1, -1):
            up, down = (sign * slopes).T
            gain = np.fmax(np.maximum(up, down), 0.0) * np.where(up >= down, 1, -1)
            order = np.argsort(-np.abs(gain))
            steepest += [self._of(order[:most], gain) for most in range(2, MOST + 1)]
        rng = np.random.default_rng(_SEED)
        random = []
        for _ in range(_WAYS):
            chosen = rng.choice(count, rng.integers(2, MOST + 1), replace=False)
            random.append(self._of(chosen, rng.standard_normal(count)))
        return [way for way in (*axes, *steepest, *random) if np.any(way)]

    def _of(self, chosen, way):
        """The unit move along a way in these numbers only."""
        way = np.where(np.isin(np.arange(len(self.paths)), chosen), way, 0.0)
        size = np.linalg.norm(way)
        return way / size if size else way

    def _first_flips(self, ways):
        """The first move along each way that flips the verdict, the nearest first; ways that never do are left out."""
        flips = self.flipped([distance * way for way in ways for distance in _DISTANCES]).reshape(len(ways), -1)
        there = np.flatnonzero(flips.any(axis=1))
        first = flips[there].argmax(axis=1)
        high = _DISTANCES[first]
        low = np.where(first > 0, _DISTANCES[first - 1], 0.0)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            over = self.flipped([distance * ways[i] for distance, i in zip(middle, there, strict=True)])
            low, high = np.where(over, low, middle), np.where(over, middle, high)
        found = self.bought([far * ways[i] for far, i in zip(high, there, strict=True)])
        return sorted(found, key=np.linalg.norm)

    def _shorten(self, move):
        """A nearer move that flips the verdict as well, found by shorter moves to all sides, round after round."""
        rng, count = np.random.default_rng(_SEED), len(self.paths)
        for _ in range(_ROUNDS):
            far = rng.standard_normal((_TRIES, count)) * (rng.random((_TRIES, count)) < 0.1)
            aside = far * 0.3 * np.linalg.norm(move)
            tries = rng.uniform(0.7, 1.0, (_TRIES, 1)) * move + aside
            least = -np.sort(-np.abs(tries), axis=1)[:, [MOST - 1]]
            tries = self.bought(np.where(np.abs(tries) >= least, tries, 0.0))
            tries = tries[np.linalg.norm(tries, axis=1) < np.linalg.norm(move)]
            move = min([move, *tries[self.flipped(tries)]], key=np.linalg.norm)
        for i in np.flatnonzero((move != 0) & (np.abs(move) < _SMALL)):
            without = np.where(np.arange(count) == i, 0.0, move)
            move = without if self.flipped([without])[0] else move
        return move


def _found(search, move, after):
    start, end = search.start, after.knives[0]
    moved = ((path, float(step)) for path, step in zip(search.paths, move, strict=True) if step)
    changes = [Change(path, name_of(path, start), start.get(path), end.get(path), step) for path, step in moved]
    ordered = tuple(sorted(changes, key=lambda change: -abs(change.steps)))
    size = float(np.linalg.norm(move))
    said = (
        f"On exact numbers the claim is {search.before.word} ({search.before.figure}). It becomes {after.word}"
        f" ({after.figure}) {size:.2g} shop tolerances away:\n\n" + "\n".join(f"- {change}" for change in ordered)
    )
    return Broken(True, after.knives[0], ordered, size, search.before, after, said)


def _none(search):
    said = (
        f"On exact numbers the claim is {search.before.word} ({search.before.figure}), and no change was found that"
        f" flips it, with up to {MOST} of {len(search.paths)} numbers of the knife moved by up to {FARTHEST:g} shop"
        " tolerances in all"
    )
    if search.while_idle:
        said = f"{said}, while the second ball rides clear of the flat"
    return f"{said}. A search is no proof."


def _rides_clear(knife):
    """Where every further ball of the first bar hangs clear of the flat while ball 1 rides it (E2), bool each."""
    first, others = knife.balls[0], [ball for ball in knife.balls[1:] if ball.bar == 0]
    clear = [ball.protrusion <= idle_up_to(knife.bar, first, ball.hinge_distance) for ball in others]
    return np.logical_and.reduce(clear)
