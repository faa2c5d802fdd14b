"""Fit of a knife to any mix of readings together (M4): which card explains them, how sure, and what they cannot tell apart."""

import math
from dataclasses import dataclass, replace

import numpy as np

from ..files import write_knife
from ..mechanics import limits
from ..mechanics.carry import Detent
from ..parts import Knife, KnifeError
from ..readings import ReadingError
from .given import ATTITUDE, HINGE_RATIO, given_knife, given_number, refuse
from .models import NOISE, models_of
from .value import Value, covariance, coverage_factor

FREE = ("bar.riding_force", "balls[0].recess.diameter", "balls[0].recess.rest_offset", "friction.rim")
FREE_SECOND = ("balls[1].recess.rest_offset", "balls[1].protrusion")
ALIKE, UNEXPLAINED = 0.9, 0.01
_REFUSED = 1e3
_TOGETHER = 2_000_000  # places of all knives that are computed at once
_STEP, _ROUNDS, _STILL = 0.05, 4, 0.05  # of one size of a number; rounds of weighing, until none moves by so many sizes
_PARTS, _REACH = 4, 24  # a ± is looked for in quarters of what first order says, up to six times as far
_BENT = 0.1  # where first order is further off than this share
_UNTOLD = 1e-6  # misfits per size of a number: below this the readings do not feel it

_PARTED_BY = {
    frozenset(("recess.diameter", "recess.rest_offset")): "a plug pin in the recess, or a photo of the recess against its ball",
    frozenset(("bar.riding_force", "friction.rim")): "a two-way pull at the stop, or the bar force on a gauge",
    frozenset(("bar.riding_force", "recess.diameter")): "a lift trace",
    frozenset(("bar.riding_force", "recess.rest_offset")): "a lift trace",
}


@dataclass(frozen=True, repr=False)
class KnifeFit:
    """The card that explains the readings best.

    knife: the Knife with the fitted numbers, their ± and how they go together (`known_together`), the pivot's play in its
    rest offsets; values: {path: Value} of the numbers that the readings tell; correlations: {(path, path): -1 to 1} of
    these; alike: sentences on what cannot be told apart; untold:
    sentences on numbers that the readings do not tell at all: they stay as the card has them; residuals: {source: array
    in standard deviations}; explained: chance of so bad a fit by noise alone; verdict: in words.
    """

    knife: Knife
    values: dict
    correlations: dict
    alike: tuple
    untold: tuple
    residuals: dict
    explained: float
    verdict: str

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<KnifeFit of {len(self.values)} numbers to {len(self.residuals)} sets of readings: {self.verdict}>"

    def save(self, path, replace=False):
        """Write the fitted knife as a knife file that `read_knife` gives back, with its ± and correlations.

        replace: True writes it over a file that is there. Raises KnifeError like `write_knife`.
        """
        write_knife(self.knife, path, [f"Fitted to readings: {self.verdict}"], replace)


def fit_knife(knife, readings, free=None, noise=None, use_card=True, attitude_deg=0.0, hinge_ratio=1.0):
    r"""Fit numbers of a Knife to readings: a KnifeFit.

    readings: list of Readings of the kinds "lift trace" (its zero does not matter), "two-way pull" and "force trace"
    (opening). free: paths of the numbers to find, by default riding force, recess diameter, rest offset and friction,
    of a second ball its rest offset and protrusion, and how far a bar gives sideways; they start from the card. noise: ± (95 %) of one reading,
    {"lift": mm, "angle": deg, "force": N}. use_card: let the ± on the card count as a reading too, so that what the
    readings do not tell stays as the card has it. attitude_deg: tilt of the pivot axis from upright while pulling (F7).
    hinge_ratio: distance of the indicator from the hinge over that of ball 1.

    Each ± is that of the noise as stated; where the readings are not explained by it (chance below 1 %, from the sum of
    squares), of their scatter as found. Where a second ball only just touches, or hangs idle, its numbers have two
    answers: the one found is that nearest to the card, and the ± is of that one; start it from the rim gap of the lift
    trace. Raises ReadingError for no readings, kinds that cannot be fitted, readings too few for the numbers and
    readings that tell none of them; KnifeError for a card that cannot work; ValueError for other arguments of a wrong kind.

    >>> from detentlib.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> from detentlib.readings import readings_from_text
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(15.0, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.2))
    >>> pulls = readings_from_text("opening [N], letting back [N]\n12.04, 7.39\n12.04, 7.39")
    >>> fit = fit_knife(knife, [pulls], free=("friction.rim", "bar.riding_force"))     # F6: 0.12, and 17.04 N riding
    >>> round(fit.values["friction.rim"].value, 3), round(fit.values["bar.riding_force"].value, 2)
    (0.12, 17.04)
    """
    from scipy.optimize import least_squares
    from scipy.stats import chi2

    given_knife(knife)
    if not isinstance(readings, (list, tuple)):
        raise refuse("readings", readings, "is not a list", "A fit takes any mix of readings.", "Give [trace, pulls].")
    if not readings:
        raise ReadingError("there are no readings to fit. Give a list of them")
    free = _free(knife, free)
    attitude_deg = given_number("attitude_deg", attitude_deg, ATTITUDE, "deg", "any")
    models = models_of(readings, _noise(noise), attitude_deg, given_number("hinge_ratio", hinge_ratio, HINGE_RATIO))
    problem = _Problem(knife, free, models, use_card)
    spare = problem.count - len(free)
    if spare < 1:
        told = f"there are {problem.count} readings for {len(free)} numbers"
        raise ReadingError(f"{told}. Add readings, or fit fewer numbers: free=({free[-1]!r},) fits one")
    steps = np.zeros(len(free))
    for _ in range(_ROUNDS):
        problem.weigh(steps)
        found = least_squares(lambda tried: problem.misfits(tried[None])[0], steps, problem.slopes, method="lm", xtol=1e-4, ftol=1e-5)
        moved, steps = np.max(np.abs(found.x - steps)), found.x
        if moved < _STILL:
            break
    jacobian, misfits = problem.slopes(steps, flatter=True), problem.misfits(steps[None])[0]
    misfit = float(misfits @ misfits)
    explained = float(chi2.sf(misfit, spare))
    spread = covariance(jacobian)
    factor = 1.96 if explained >= UNEXPLAINED else coverage_factor(spare) * math.sqrt(misfit / spare)
    wide, doubts = np.sqrt(np.diag(spread)), problem.reach(steps, spread, factor) * problem.size
    told = [i for i in range(len(free)) if np.linalg.norm(jacobian[:, i]) > _UNTOLD]
    if not told:
        raise ReadingError(f"these readings tell nothing of {', '.join(free)}. Give readings that do, or fit other numbers")
    fitted = problem.knife_at(steps)
    values = {free[i]: Value(float(fitted.get(free[i])), float(doubts[i])) for i in told}
    correlations = {(free[j], free[i]): float(spread[i, j] / (wide[i] * wide[j])) for i in told for j in told if j < i}
    doubts = fitted.doubts | {path: value.doubt for path, value in values.items()}
    if all(f"balls[{i}].recess.rest_offset" in values for i in range(len(knife.balls))):
        doubts.pop("blade.pivot_play", None)  # wherever the blade stood in its play, the readings were taken there
    before = {pair: r for pair, r in fitted.known_together.items() if values.keys().isdisjoint(pair)}
    fitted = replace(fitted, doubts=doubts, known_together=before | correlations)
    ends = np.cumsum([model.values.size for model in models])[:-1]
    residuals = {model.source: part for model, part in zip(models, np.split(misfits[: problem.read], ends), strict=True)}
    untold = tuple(f"These readings tell nothing of {path}: it stays as the card has it." for path in free if path not in values)
    return KnifeFit(fitted, values, correlations, _alike(correlations), untold, residuals, explained, _verdict(explained))


def _free(knife, free):
    """The paths of the numbers to find, those by default where none are given."""
    if free is None:
        free = FREE + (FREE_SECOND if len(knife.balls) > 1 else ()) + _give(knife)
    told = 'Give paths such as ("friction.rim", "bar.riding_force").'
    if not isinstance(free, (list, tuple)) or not free or not all(isinstance(path, str) for path in free):
        raise refuse("free", free, "is not a list of numbers to find", "", told)
    if len(set(free)) < len(free):
        raise refuse("free", free, "names a number twice", "", "Name each once.")
    missing = [path for path in free if knife.get(path) is None]
    if missing:
        raise ReadingError(f"the card has no {', '.join(missing)} to start from. Write a first guess on the card, or leave it out of free")
    words = [path for path in free if not isinstance(knife.get(path), float)]
    if words:
        raise refuse("free", free, f"holds {words[0]}, which is no number of the card", "", told)
    return tuple(free)


def _give(knife):
    """The path of the number that says how far the bar gives sideways; none for a bar that does not, or a card that knows no ± of it."""
    path = "bar.root_side" if knife.bar.side_compliance is None else "bar.side_compliance"
    return (path,) if knife.bar.side_compliance != 0 and knife.doubts.get(path) else ()


def _noise(given):
    """± of one reading of each kind, as stated or by default."""
    if given is None:
        return NOISE
    if not isinstance(given, dict) or not set(given) <= set(NOISE):
        raise refuse("noise", given, "is not the ± of readings", "", f"Give {{{', '.join(f'{name!r}: ±' for name in NOISE)}}}, or some of it.")
    return NOISE | {name: given_number(f"noise[{name!r}]", each, f"± of one reading of {name}") for name, each in given.items()}


class _Problem:
    """Misfits of a knife to its readings, with its numbers counted in steps of their own size from the card."""

    def __init__(self, knife, free, models, use_card):
        """Sizes come from the ± of the card, or are a share of the number where it has none."""
        self.knife, self.free, self.models = knife, free, models
        self.start = np.array([knife.get(path) for path in free], float)
        prior = np.array([knife.doubts.get(path, 0.0) / 2 for path in free])
        self.size = np.where(prior > 0, prior, np.maximum(0.02 * np.abs(self.start), 1e-3))
        self.known = np.flatnonzero(prior > 0) if use_card else np.array([], int)
        self.read = sum(model.values.size for model in models)
        self.count = self.read - sum(model.floats for model in models) + self.known.size
        self.wides = None

    def knife_at(self, steps):
        """The knife with its numbers so many sizes from the card."""
        return self.knife.replace(dict(zip(self.free, (self.start + steps * self.size).tolist(), strict=True)))

    def weigh(self, steps):
        """Take the width of each reading from the knife at these steps, so that a fit cannot better itself by widening them."""
        knife = self.knife_at(steps)
        limits.check(knife)
        for model in self.models:
            if told := model.refused(knife):
                raise ReadingError(told, model.source)
        knives, _ = self._knives(steps[None])
        self.wides = [model.seen(knives)[1] for model in self.models]

    def misfits(self, table):
        """Misfits in standard deviations for each row of steps (m, k), those to the card last; a knife that cannot be is far off everywhere."""
        together = max(_TOGETHER // sum(model.places for model in self.models), 1)
        if len(table) > together:  # many knives at many angles would not fit into memory
            return np.concatenate([self.misfits(table[i : i + together]) for i in range(0, len(table), together)])
        found = np.full((len(table), self.read + self.known.size), _REFUSED)
        with np.errstate(all="ignore"):  # a knife far from any real one may have no numbers at all
            knives, possible = self._knives(table)
            if possible.any():
                parts = [model.misfits(model.seen(knives)[0], wide) for model, wide in zip(self.models, self.wides, strict=True)]
                found[possible] = np.concatenate([*parts, table[possible][:, self.known]], axis=1)
        found[~np.all(np.isfinite(found), axis=1)] = _REFUSED
        return found

    def slopes(self, steps, flatter=False):
        """How the misfits move with each number: the mean of both sides, or the flatter one; a side on which the knife cannot be is left out."""
        moves = _STEP * np.eye(steps.size)
        at, *there = self.misfits(np.concatenate([steps[None], steps + moves, steps - moves]))
        columns = []
        for ahead, behind in zip(there[: steps.size], there[steps.size :], strict=True):
            sides = [(moved - at) / step for moved, step in ((ahead, _STEP), (behind, -_STEP)) if moved[0] != _REFUSED] or [np.zeros(at.size)]
            columns.append(min(sides, key=np.linalg.norm) if flatter else np.mean(sides, axis=0))
        return np.column_stack(columns)

    def reach(self, steps, spread, factor):
        """How far each number may move, on the side where it may move further, before the misfit rises by the factor squared.

        Each moves along the line on which the others follow it best, as the covariance says. Where the problem is smooth that is the factor
        times its standard deviation; where a ball takes over, or a knife becomes impossible, it is looked for along the line.
        """
        wide = np.sqrt(np.diag(spread))
        lines = (spread / np.where(wide > 0, wide, 1.0)).T
        least = np.sum(self.misfits(steps[None]) ** 2)

        def risen(rows, far):
            """Root of the rise of the misfit of some numbers, moved so far (n, 2 sides, places)."""
            table = steps + (np.array([1, -1])[:, None, None] * np.asarray(far)[:, None] * lines[rows][:, None, None, :])
            rise = np.sum(self.misfits(table.reshape(-1, steps.size)) ** 2, axis=1) - least
            return np.sqrt(np.maximum(rise, 0.0)).reshape(len(rows), 2, -1)

        every, found = np.arange(steps.size), factor * wide
        bent = every[np.any(np.abs(risen(every, [factor]) / factor - 1) > _BENT, axis=(1, 2))]
        if bent.size:
            far = np.arange(1, _REACH + 1) * factor / _PARTS
            found[bent] = wide[bent] * [max(_crossed(far, side, factor) for side in each) for each in risen(bent, far)]
        return found

    def _knives(self, table):
        """The knives of the rows that can be, in one; and which rows those are."""
        possible = np.array([self._sound(steps) for steps in table])
        while possible.any():
            numbers = self.start + table[possible] * self.size
            arrays = {path: numbers[:, [i]] for i, path in enumerate(self.free)}
            # the searches keep a row of angles a knife, also where the knives differ in nothing that moves those angles
            arrays.setdefault("balls[0].track_radius", np.full((len(numbers), 1), self.knife.balls[0].track_radius))
            knives = self.knife.with_arrays(arrays)
            broken = np.zeros(len(numbers), bool)
            for limit in limits.find(Detent(knives)):
                broken |= limit.broken
            if not broken.any():
                return knives, possible
            possible[np.flatnonzero(possible)[broken]] = False
        return None, possible

    def _sound(self, steps):
        try:
            self.knife_at(steps)
        except KnifeError:
            return False
        return True


def _crossed(far, rise, level):
    """Where a rise from nothing first passes a level after the last place that lies below it; the furthest place where it never does."""
    below = np.flatnonzero(rise <= level)
    last = below[-1] if below.size else -1
    if last == far.size - 1:
        return far[-1]
    start, low = (0.0, 0.0) if last < 0 else (far[last], rise[last])
    return start + (far[last + 1] - start) * (level - low) / (rise[last + 1] - low)


def _alike(correlations):
    """Sentences on the pairs that the readings cannot tell apart."""
    said = []
    for (one, other), r in correlations.items():
        if abs(r) < ALIKE:
            continue
        way = "more of one with more of the other" if r > 0 else "more of one with less of the other"
        parted = _PARTED_BY.get(frozenset(_plain(path) for path in (one, other)), "a direct measurement of either")
        told = f"{one} and {other} cannot be told apart here: {way} explains the readings as well (correlation {r:.2f})"
        said.append(f"{told}. {parted[0].upper()}{parted[1:]} parts them.")
    return tuple(said)


def _plain(path):
    return path.split("].", 1)[-1]


def _verdict(explained):
    if explained < UNEXPLAINED:
        return f"the model cannot explain these readings (chance {explained:.1g}): look for a burr, a bent pivot, a floor, an off-track recess"
    return f"the model explains these readings (chance {explained:.2f})"
