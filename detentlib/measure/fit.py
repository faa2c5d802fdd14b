"""Fit of a knife to any mix of readings together (M4): which card explains them, how sure, and what they cannot tell
apart.
"""

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ..files.knife_file import write_knife
from ..knife.checks import refuse
from ..knife.given import given_angle, given_knife, given_number, given_switch
from ..knife.parts import Knife, name_of, spec
from ..knife.paths import field_of, place_of
from ..knife.together import matrix_of, together_problems
from ..knife.units import SURE, Within
from ..mechanics import limits
from ..mechanics.carry import Detent
from .given import ATTITUDE, HINGE_RATIO, HINGE_RATIOS
from .least import UNLIKELY, Least, Seen
from .models import NOISE, SLID, Overshoot, models_of
from .readings import ReadingError, Readings
from .value import Value

FREE = ("bar.riding_force", "balls[0].recess.diameter", "balls[0].recess.rest_offset", "friction.rim")
FREE_SECOND = ("balls[1].recess.rest_offset", "balls[1].protrusion")
ALIKE, UNEXPLAINED = 0.9, 0.01
_FOREIGN = 3.0  # times as far off as the ± allow, from where on readings and card are not of one knife: judgement
_SURER = 0.9  # of what it was: a ± from which on the readings have told something of a number
_UNTOLD = 1e-6  # misfits per size of a number: below this the readings do not feel it
_KEPT = (0.01, 0.005, 0.0)  # correlations from here on are kept, the first that go together
_LOW = {"positive": 0.0, "not negative": -1e-12}  # a number lies above
_ASIDE = 1.5  # standard deviations
_APART = 1e6  # readings between one set and the next: errors of one do not drift into the other

_PARTED_BY = {
    frozenset(
        ("recess.diameter", "recess.rest_offset")
    ): "a plug pin in the recess, or a photo of the recess against its ball",
    frozenset(("bar.riding_force", "friction.rim")): "a two-way pull at the stop, or the bar force on a gauge",
    frozenset(("bar.riding_force", "recess.diameter")): "a lift trace",
    frozenset(("bar.riding_force", "recess.rest_offset")): "a lift trace",
}


@dataclass(frozen=True, repr=False)
class KnifeFit:
    """The card that explains the readings best.

    knife: the Knife with the fitted numbers, their ± and how they are known together; values: {path: Value} of the
    numbers to find and of those that the readings made surer; alike: sentences on what cannot be told apart;
    untold: sentences on numbers that the readings do not tell at all: they stay as the card has them; residuals:
    {source: array in standard deviations}; explained: chance of so bad a fit by noise alone; off: how many times as
    far off the readings lie as their ± and those of the card allow; verdict: in words;
    sliding: friction at the rim from the pulls that keep it moving, None where these were not read; slip: by what
    share pulls lie beyond steady ones at most, as of `two_way_pull`.
    """

    knife: Knife
    values: dict
    alike: tuple
    untold: tuple
    residuals: dict
    explained: float
    off: float
    verdict: str
    sliding: Value | None
    slip: float

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<KnifeFit of {len(self.values)} numbers to {len(self.residuals)} sets of readings: {self.verdict}>"

    @property
    def foreign(self) -> bool:
        """Whether readings and card do not belong together: the numbers of such a fit mean nothing."""
        return self.explained < UNEXPLAINED and self.off > _FOREIGN

    def save(self, path: str | Path, replace: bool | None = False) -> None:
        """Write the fitted knife as a knife file that `read_knife` gives back, with every ± and what is known together.

        replace: True writes it over a file that is there. Raises KnifeError like `write_knife`.
        """
        write_knife(self.knife, path, [f"Fitted to readings: {self.verdict}"], replace)


def fit_knife(
    knife: Knife,
    readings: list[Readings] | tuple[Readings, ...],
    free: list[str] | tuple[str, ...] | None = None,
    noise: dict[str, float] | None = None,
    use_card: bool = True,
    attitude_deg: float = 0.0,
    hinge_ratio: float = 1.0,
) -> KnifeFit:
    r"""Fit numbers of a Knife to readings.

    readings: list of Readings of the kinds "lift trace" (its zero does not matter), "two-way pull", "opening pull" and
    "force trace" (opening). free: paths of the numbers to find, by default riding force, recess diameter, rest offset
    and friction, of a second ball its rest offset and protrusion, and how far a bar gives sideways; they start from the
    card. Every other number with a ± on the card may move within it, too, and numbers known together move together; one
    within a limit keeps that where the readings make it no surer, else it gets a ±. noise: ± (95 %) of one reading,
    {"lift": mm, "angle": deg, "force": N}, and of what all readings of a set have in common, {"zero": of the
    protractor, deg, "gauge": N}. use_card: False leaves the ± of the card out: only `free` moves, by the readings
    alone. attitude_deg: tilt of the pivot axis from upright while pulling (F7). hinge_ratio: distance of the indicator
    from the hinge over that of ball 1.

    Pulls that stick and slip overshoot, and those that keep the blade moving have a friction of their own: both as of
    `two_way_pull`. Each ± is that of the noise as stated, of the card and of angle errors that drift together; where
    the readings are not explained by it, of their scatter as found. Numbers are known together by correlations, and
    these cannot tie what weakens a knife to either side alike, such as an off-track error: the ± of a force worked out
    of the fitted knife is then wide, up to some two times what the readings ask for. Where a second ball only just
    touches, or hangs idle, its numbers have two answers: the one found is that nearest to the card, and the ± is of
    that one; start it from the rim gap of the lift trace. Raises ReadingError for no readings, kinds that cannot be
    fitted, readings too few for the numbers and readings that tell none of them; KnifeError for a card that cannot
    work; ValueError for other arguments of a wrong kind.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> from detentlib.measure.readings import readings_from_text
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> knife = Knife("A", [ball], LockBar(15.0, rate=10.298, side_compliance=0), Blade(14.0), Friction(0.2))
    >>> pulls = readings_from_text("opening [N], letting back [N]\n12.04, 7.39\n12.04, 7.39")
    >>> fit = fit_knife(knife, [pulls], free=("friction.rim", "bar.riding_force"))     # F6: 0.12, and 17.04 N riding
    >>> round(fit.values["friction.rim"].value, 3), round(fit.values["bar.riding_force"].value, 2)
    (0.12, 17.04)
    """
    given_knife(knife)
    if not isinstance(readings, (list, tuple)):
        raise refuse("readings", readings, "is not a list", "A fit takes any mix of readings.", "Give [trace, pulls].")
    if not readings:
        raise ReadingError("there are no readings to fit. Give a list of them")
    given_switch("use_card", use_card, "whether the ± of the card counts")
    free = _free(knife, free)
    attitude_deg = given_angle("attitude_deg", attitude_deg, ATTITUDE)
    hinge_ratio = given_number("hinge_ratio", hinge_ratio, HINGE_RATIO, ends=HINGE_RATIOS)
    models = models_of(readings, _noise(noise), attitude_deg, hinge_ratio)
    limits.check(knife)
    for model in models:
        if told := model.refused(knife):
            raise ReadingError(told, model.source)
    problem = _Problem(knife, free, models, use_card)
    if not problem.told.intersection(free):
        raise ReadingError(
            f"these readings tell nothing of {', '.join(name_of(path, knife) for path in free)}. Give readings that do,"
            " or fit other numbers"
        )
    fit = problem.fit(free)
    # numbers of which the readings tell only a mixture may come out with no width of their own, or less: they stay as
    # they are
    sure = np.flatnonzero(np.diag(fit.spread)[: len(problem.paths)] > 0)
    paths, spread = [problem.paths[i] for i in sure], fit.spread[np.ix_(sure, sure)]
    stay = _limits_that_stay(knife, paths, fit.factor * np.sqrt(np.diag(spread)))
    found, spread = _held(knife, paths, stay, fit.found[sure], spread)
    wide = np.sqrt(np.diag(spread))
    told = {path: each for path, *each in zip(paths, found, fit.factor * wide, strict=True) if path not in stay}
    fitted, doubts = _sensible(knife, told)
    doubts |= stay
    matrix = spread / np.outer(wide, wide)
    together = {(paths[j], paths[i]): round(float(matrix[i, j]), 3) for i in range(len(paths)) for j in range(i)}
    values = {
        path: Value(float(fitted.get(path)), doubts[path])
        for path in told
        if path in free or doubts[path] < _SURER * (knife.scatter(path) or math.inf)
    }
    kept = _kept(knife, together, doubts)
    fitted = replace(fitted, doubts=fitted.doubts | doubts, known_together=kept)
    alike = _alike(knife, {pair: r for pair, r in kept.items() if values.keys() >= set(pair)})
    untold = tuple(
        f"These readings tell nothing of {name_of(path, knife)}: it stays as the card has it."
        for path in free
        if path not in values
    )
    off = math.sqrt(fit.misfit / fit.free)
    verdict = _verdict(fit.explained, off, [name_of(path, knife) for path in told if _beyond(knife, path, fitted)])
    return KnifeFit(
        fitted,
        values,
        alike,
        untold,
        problem.residuals(fit),
        fit.explained,
        off,
        verdict,
        problem.sliding(fit),
        problem.slip(fit),
    )


def _limits_that_stay(knife, paths, wide):
    """{path: Within} of numbers within a limit that the readings made no surer; wide: the ± of each by the fit."""
    limits = {path: knife.doubts.get(path) for path in paths}
    return {
        path: limits[path]
        for path, doubt in zip(paths, wide, strict=True)
        if isinstance(limits[path], Within) and doubt >= _SURER * knife.scatter(path)
    }


def _held(knife, paths, stay, found, spread):
    """Numbers and their covariance once those that `stay` are as the card has them; what goes with them goes back with
    them, by linear regression.
    """
    at = [paths.index(path) for path in stay]
    along = np.linalg.solve(spread[np.ix_(at, at)], spread[at]).T
    sizes = [knife.scatter(path) / SURE for path in stay]
    before = matrix_of(knife.known_together, list(stay)) * np.outer(sizes, sizes)
    back = np.array([knife.get(path) for path in stay]) - found[at]
    return found + along @ back, spread + along @ (before - spread[np.ix_(at, at)]) @ along.T


def _beyond(knife, path, fitted):
    """Whether the readings put a number beyond the limit that the card has."""
    limit = knife.doubts.get(path)
    return isinstance(limit, Within) and abs(fitted.get(path) - knife.get(path)) > float(limit)


def _sensible(knife, found):
    """The knife with the numbers found, {path: (value, ±)}, and the ± itself, in no more digits than these mean
    anything in.
    """
    values, doubts = {}, {}
    for path, (value, doubt) in found.items():
        digits = 2 - math.floor(math.log10(doubt))
        values[path], doubts[path] = round(float(value), digits), round(float(doubt), digits)
    return knife.replace(values), doubts


def _kept(knife, together, doubts):
    """What is worth keeping of the correlations, and goes together; pairs of the card that the readings did not
    touch stay.
    """
    before = {pair: r for pair, r in knife.known_together.items() if not doubts.keys() & set(pair)}
    tried = ({pair: r for pair, r in together.items() if abs(r) >= least} for least in _KEPT)
    return before | next((kept for kept in tried if not together_problems(kept, doubts.keys())), {})


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
        raise ReadingError(
            f"the card has no {', '.join(missing)} to start from. Write a first guess on the card, or leave it out of"
            " free"
        )
    words = [path for path in free if not isinstance(knife.get(path), float)]
    if words:
        raise refuse("free", free, f"holds {words[0]}, which is no number of the card", "", told)
    return tuple(free)


def _give(knife):
    """The path of the number that says how far the bar gives sideways; none for a bar that does not, or a card that
    knows no ± of it.
    """
    path = "bar.root_side" if knife.bar.side_compliance is None else "bar.side_compliance"
    return (path,) if knife.bar.side_compliance != 0 and knife.doubts.get(path) else ()


def _noise(given):
    """± of one reading of each kind, as stated or by default."""
    if given is None:
        return NOISE
    if not isinstance(given, dict) or not set(given) <= set(NOISE):
        raise refuse(
            "noise",
            given,
            "is not the ± of readings",
            "",
            f"Give {{{', '.join(f'{name!r}: ±' for name in NOISE)}}}, or some of it.",
        )
    return NOISE | {
        name: given_number(f"noise[{name!r}]", each, f"± of one reading of {name}") for name, each in given.items()
    }


class _Problem:
    """The readings, and every number that may explain them: those of the knife by path, then zeros and gauges."""

    def __init__(self, knife, free, models, use_card):
        """A number that no reading feels is left out, and stays as it is."""
        self.knife, self.models = knife, models
        self.own = {name: each for model in models for name, each in model.own.items()}
        doubtful = [path for path, doubt in knife.doubts.items() if doubt and path not in free] if use_card else []
        self._set((*free, *doubtful), use_card)
        self.least.weigh(self.start)
        slopes = self.least.slopes(self.start)
        self._level(slopes)
        moved = np.linalg.norm(slopes[: self.least.values.size], axis=0)
        self.told = {path for path, each in zip(self.paths, moved[: len(self.paths)], strict=True) if each > _UNTOLD}
        if use_card:
            self.told = _linked(self.told, knife.known_together)
        kept = [path in self.told for path in self.paths] + [True] * len(self.own)
        start = self.start[kept]
        self._set([path for path in self.paths if path in self.told], use_card)
        self.start = start

    def _set(self, paths, use_card):
        """The numbers that may move, where they start, what is known of them, and the Least of it all."""
        self.paths = paths
        at = np.array([self.knife.get(path) for path in paths], float)
        sure = np.array([self.knife.scatter(path) / SURE for path in paths])
        self.low = np.array([_LOW.get(spec(path)["rule"], -math.inf) for path in paths])
        size = np.where(sure > 0, sure, np.maximum(0.02 * np.abs(at), 1e-3))
        sure = np.where((sure > 0) & bool(use_card), sure, np.inf)
        own = np.array(list(self.own.values()))
        # what the readings leave open wanders no further than knives go
        reach = np.array([(spec(path)["sane"] or (0, math.inf))[1] / SURE for path in paths] + [math.inf] * len(own))
        self.start = np.concatenate([at, own[:, 2]])
        together = matrix_of(self.knife.known_together, [*paths, *self.own])
        known = self.start.copy(), np.concatenate([sure, own[:, 0] / SURE]), together
        when = np.concatenate([model.when + _APART * i for i, model in enumerate(self.models)])
        inside = [model.inside for model in self.models]
        squares = np.concatenate(
            [np.broadcast_to(each, model.values.shape) for (each, _), model in zip(inside, self.models, strict=True)]
        )
        values = np.concatenate([model.values for model in self.models])
        self.least = Least(
            values,
            self.seen,
            np.concatenate([size, own[:, 1]]),
            known,
            when,
            (squares, sum(count for _, count in inside)),
            reach,
        )

    def _level(self, slopes):
        """Start at the zero of each indicator, which may be anywhere: from far off a search loses its way."""
        loose = np.isinf([*[0.0] * len(self.paths), *(each.doubt for each in self.own.values())])
        if loose.any():
            off = np.linalg.lstsq(slopes[:, loose], self.least.misfits(self.start[None])[0])[0]
            self.start[loose] -= self.least.size[loose] * off

    def fit(self, free):
        """The best Fit; raises ReadingError where the readings are too few."""
        values = self.least.values.size + self.least.known - self.start.size
        if values < 1:
            told = f"there are {self.least.values.size} readings for {len(free)} numbers"
            raise ReadingError(f"{told}. Add readings, or fit fewer numbers: free=({free[-1]!r},) fits one")
        starts = [self.start, *(start for start in self._beside() if np.all(np.isfinite(self.seen(start[None]).mean)))]
        if len(starts) > 1:
            starts = sorted((self.least.fit(start, rough=True) for start in starts), key=lambda fit: fit.deviance)
            starts = [fit.found for fit in starts]
        return self.least.fit(starts[0])

    def _beside(self):
        """Other starts, in which the rim of a second ball stands further in or out: where that ball hangs idle no
        reading feels its numbers.
        """
        for i, path in enumerate(self.paths):
            place = place_of(path)
            if place.field == "recess.rest_offset" and place.ball and (doubt := self.knife.scatter(path)):
                for side in (-_ASIDE, _ASIDE):
                    yield self.start + side * doubt / SURE * (np.arange(self.start.size) == i)

    def seen(self, table):
        """What all readings should be for each row of numbers (m, k): a Seen, nan for a knife that cannot be."""
        found = Seen(*np.full((3, len(table), sum(model.values.size for model in self.models)), np.nan))
        knives, possible = self._knives(table)
        if knives is not None:
            own = dict(zip(self.own, table[possible, len(self.paths) :].T, strict=True))
            parts = [model.seen(knives)(own) for model in self.models]
            for whole, each in zip(found, zip(*parts, strict=True), strict=True):
                columns = [
                    np.broadcast_to(part, (possible.sum(), model.values.size))
                    for part, model in zip(each, self.models, strict=True)
                ]
                whole[possible] = np.concatenate(columns, axis=1)
        return found

    def sliding(self, fit):
        """Friction while it slides, a Value; None where no pull says."""
        numbers = [*self.paths, *self.own]
        if SLID not in numbers:
            return None
        ratio, rim = numbers.index(SLID), "friction.rim"
        breaks = numbers.index(rim) if rim in numbers else None
        return fit.told(
            lambda table: table[:, ratio] * (self.knife.get(rim) if breaks is None else table[:, breaks]),
            self.least.size,
        )

    def slip(self, fit):
        """The largest share by which pulls were found to lie beyond steady ones."""
        own = zip(self.own, fit.found[len(self.paths) :], strict=True)
        return max([0.0, *(float(share) for name, share in own if isinstance(name, Overshoot))])

    def residuals(self, fit):
        """{source: what is left of each reading, in standard deviations}."""
        ends = np.cumsum([model.values.size for model in self.models])[:-1]
        left = (self.least.values - fit.seen.mean) / fit.seen.wide
        return {model.source: part for model, part in zip(self.models, np.split(left, ends), strict=True)}

    def _knives(self, table):
        """The knives of the rows that can be, in one; and which rows those are."""
        numbers = table[:, : len(self.paths)]
        possible = np.all(numbers > self.low, axis=1)
        while possible.any():
            arrays = {path: numbers[possible, i, None] for i, path in enumerate(self.paths)}
            # the searches keep a row of angles a knife, also where the knives differ in nothing that moves those angles
            arrays.setdefault("balls[0].track_radius", np.full((possible.sum(), 1), self.knife.balls[0].track_radius))
            knives = self.knife.with_arrays(arrays)
            broken = np.zeros(possible.sum(), bool)
            for limit in limits.find(Detent(knives)):
                broken |= limit.broken
            if not broken.any():
                return knives, possible
            possible[np.flatnonzero(possible)[broken]] = False
        return None, possible


def _linked(told, together):
    """The paths of which readings tell, and those of which they tell by way of what was known together with them."""
    linked = told.union(*(pair for pair in together if told.intersection(pair)))
    return linked if linked == told else _linked(linked, together)


def _alike(knife, correlations):
    """Sentences on the pairs that the readings cannot tell apart."""
    said = []
    for (one, other), r in correlations.items():
        if abs(r) < ALIKE:
            continue
        way = "more of one with more of the other" if r > 0 else "more of one with less of the other"
        parted = _PARTED_BY.get(frozenset(map(field_of, (one, other))), "a direct measurement of either")
        both = " and ".join(name_of(path, knife) for path in (one, other))
        told = f"{both} cannot be told apart here: {way} explains the readings as well (correlation {r:.2f})"
        said.append(f"{told}. {parted[0].upper()}{parted[1:]} parts them.")
    return tuple(said)


def _verdict(explained, off, beyond):
    if explained < UNEXPLAINED and off > _FOREIGN:
        return (
            f"the model cannot explain these readings with this card: they lie {off:.0f} times as far off as their ±"
            " and those of the card allow, so a fit says nothing of either. Are they of this knife, in the right units,"
            " and is the card right?"
        )
    if beyond:
        return f"these readings put the {' and the '.join(beyond)} beyond what the card calls its limit: one is wrong"
    wider = (
        f"they lie {off:.1f} times as far off as their ± and those of the card allow, and each ± found is so much wider"
    )
    if explained < UNEXPLAINED:
        return (
            f"the model cannot explain these readings (chance {explained:.1g}): {wider}; look for a burr, a bent pivot,"
            " a floor, an off-track recess"
        )
    hardly = f", but hardly: {wider}" if explained < UNLIKELY else ""
    return f"the model explains these readings (chance {explained:.2f}){hardly}"
