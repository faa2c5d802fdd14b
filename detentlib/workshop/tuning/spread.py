"""Sampling: many draws of uncertain numbers through any calculation, with quantiles and the share of each number in the scatter.

One engine for all: the knives of `tolerance` and any other calculation go through `spread`. ± is 95 % throughout.
"""

import math
from dataclasses import dataclass, field
from typing import NamedTuple
from zlib import crc32

import numpy as np

CHUNK = 4096


class Normal(NamedTuple):
    """A number with its ± (95 %): normal, one standard deviation being half of it."""

    value: float
    doubt: float


class Even(NamedTuple):
    """A number anywhere within ± reach, every place equally likely (rectangular)."""

    value: float
    reach: float


@dataclass(frozen=True, repr=False)
class Sample:
    """What came of n draws.

    values: {result: array [n]}; possible: bool [n], False where the calculation said that a draw cannot be; shares:
    {result: {input: share}}, the squared correlation of result and input over the possible draws, largest first. In a
    nearly straight-line case with independent inputs the shares add up to 1; what is missing is curvature, corners
    and inputs that act together.
    """

    n: int
    seed: int
    values: dict
    possible: np.ndarray
    shares: dict = field(default_factory=dict)

    def quantiles(self, result, at=(0.025, 0.5, 0.975)):
        """Values of a result below which these shares of the possible draws lie."""
        return tuple(float(each) for each in np.quantile(self.values[result][self.possible], at))


def spread(function, inputs, n=100_000, seed=1, correlations=None, chunk=CHUNK):
    """Draw the inputs n times and put them through a calculation: a Sample.

    function: takes {name: array [m]} and gives {result: array [m]}; a result "possible" (bool) marks draws that cannot
    be. inputs: {name: Normal or Even}. correlations: {(name, name): −1 to 1} between normal inputs. Each input has its
    own stream of random numbers: the same seed gives the same draws, however they are chunked and whatever other
    inputs there are. Only `chunk` draws of the inputs are held at a time. Raises ValueError for correlations that
    cannot be, or of an input that is not there.

    >>> two = spread(lambda x: {"sum": x["a"] + x["b"]}, {"a": Normal(1, 0.6), "b": Normal(2, 0.8)}, n=20_000)
    >>> low, middle, high = two.quantiles("sum")
    >>> round((high - low) / 2, 1), round(two.shares["sum"]["b"], 1)                  # √(0.6² + 0.8²); 0.8²
    (1.0, 0.6)
    """
    if n < 1:
        raise ValueError(f"{n} draws: take at least one")
    streams = {name: np.random.default_rng([seed, crc32(name.encode())]) for name in inputs}
    mix = _mixing(inputs, correlations or {})
    parts, possible, sums = {}, [], None
    for start in range(0, n, chunk):
        drawn = _drawn(inputs, streams, mix, min(chunk, n - start))
        found = dict(function(drawn))
        good = np.asarray(found.pop("possible", np.ones(min(chunk, n - start), bool)))
        sums = sums or _Sums(inputs, found)
        sums.add(drawn, found, good)
        possible.append(good)
        for name, value in found.items():
            parts.setdefault(name, []).append(np.broadcast_to(value, good.shape))
    return Sample(n, seed, {name: np.concatenate(each) for name, each in parts.items()}, np.concatenate(possible), sums.shares())


def share_interval(inside, n):
    """95 % interval of a share of which `inside` out of n draws were counted (Wilson's score interval).

    >>> [round(end, 3) for end in share_interval(95, 100)]
    [0.888, 0.978]
    """
    z = 1.959963984540054  # of the normal distribution, 95 %
    middle, half = inside / n + z * z / (2 * n), z * math.sqrt(inside / n * (1 - inside / n) / n + (z / (2 * n)) ** 2)
    low, high = ((middle + side * half) / (1 + z * z / n) for side in (-1, 1))
    return max(low, 0.0), min(high, 1.0)


def _drawn(inputs, streams, mix, count):
    """One chunk of every input."""
    mixed, lower = mix
    alone = {name: streams[name].standard_normal(count) if isinstance(each, Normal) else streams[name].uniform(-1, 1, count) for name, each in inputs.items()}
    if mixed:
        alone |= dict(zip(mixed, lower @ np.stack([alone[name] for name in mixed]), strict=True))
    return {name: each.value + alone[name] * (each.doubt / 2 if isinstance(each, Normal) else each.reach) for name, each in inputs.items()}


def _mixing(inputs, correlations):
    """Names of the correlated inputs and the matrix that mixes their independent draws."""
    mixed = list(dict.fromkeys(name for pair in correlations for name in pair))
    for name in mixed:
        if not isinstance(inputs.get(name), Normal):
            raise ValueError(f"a correlation names {name}, which is not a normal input with a ±")
    matrix = np.eye(len(mixed))
    for (one, other), r in correlations.items():
        if one == other or not -1 <= r <= 1:
            raise ValueError(f"the correlation of {one} and {other} cannot be {r:g}: two inputs, −1 to 1")
        matrix[mixed.index(one), mixed.index(other)] = matrix[mixed.index(other), mixed.index(one)] = r
    size, turn = np.linalg.eigh(matrix) if mixed else (np.ones(0), matrix)
    if np.any(size < -1e-9):
        raise ValueError("these correlations cannot all hold together; check their signs")
    return mixed, turn * np.sqrt(np.maximum(size, 0.0))


class _Sums:
    """Running sums for the correlations, about the first draws, so that no draw of an input must be kept."""

    def __init__(self, inputs, found):
        self.inputs, self.results = list(inputs), list(found)
        self.centre, self.n, self.total, self.square = None, 0, 0.0, 0.0

    def add(self, drawn, found, good):
        rows = np.stack([np.broadcast_to(each, good.shape)[good] for each in (*drawn.values(), *found.values())]).astype(float)
        if rows.shape[1] == 0:
            return
        if self.centre is None:
            self.centre = rows.mean(axis=1, keepdims=True)
        rows = rows - self.centre
        self.n, self.total, self.square = self.n + rows.shape[1], self.total + rows.sum(axis=1), self.square + rows @ rows.T

    def shares(self):
        if self.n < 2:
            return {result: {} for result in self.results}
        cover = self.square - np.outer(self.total, self.total) / self.n
        k, own = len(self.inputs), np.diag(cover)
        # an input or result that does not scatter, but for rounding, explains nothing
        scatters = own > self.n * (1e-12 * self.centre[:, 0]) ** 2
        squared = np.where(np.outer(scatters, scatters), cover**2, 0.0) / np.outer(np.where(scatters, own, 1.0), np.where(scatters, own, 1.0))
        return {
            result: dict(sorted(((name, float(squared[i, k + j])) for i, name in enumerate(self.inputs)), key=lambda item: -item[1]))
            for j, result in enumerate(self.results)
        }
