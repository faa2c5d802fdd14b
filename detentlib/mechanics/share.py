"""How elastic balls and bar share a load (C4): the one set of loads that neither pulls nor lets a ball cut in."""

from itertools import combinations

import numpy as np

_ROUNDS, _ROUNDING, _CLOSE = 60, 1e-15, 1e-12
_LEAST = 1e-10  # mm at 1 N, of a ball that is taken not to squash beside one that does: a thousandth of an atom


def share(compliance: np.ndarray, wanted: np.ndarray, squash: np.ndarray | None = None) -> np.ndarray:
    """Loads N ≥ 0 with residual = C N + k N^(2/3) − wanted ≥ 0 and N · residual = 0, for every case at once (C4).

    wanted: (n, ...), how far each of n balls must be held out beyond the free bar [mm]; compliance: C, (n, n, ...),
    symmetric and positive [mm/N]; squash: k, (n, ...) or None for none [mm/N^(2/3)]; what follows the axes of balls
    broadcasts. Returns the loads, of the shape of wanted [N]. The solution is unique, as every part of the left side
    grows with the loads (balls alike at one place of the bar, without squash, could split their load anyhow: the first
    takes it).

    >>> stiff = np.array([[[2.0], [1.0]], [[1.0], [2.0]]])
    >>> share(stiff, np.array([[3.0, 3.0, -1.0], [3.0, 1.0, -1.0]])).tolist()
    [[1.0, 1.5, 0.0], [1.0, 0.0, 0.0]]
    """
    return _stiff(compliance, wanted) if squash is None else _soft(compliance, wanted, np.maximum(squash, _LEAST))


def bent(compliance: np.ndarray, loads: np.ndarray) -> np.ndarray:
    """How far loads bend the bar out at each ball [mm]; shapes as of `share`."""
    return np.einsum("ij...,j...->i...", compliance, loads)


def _soft(compliance, wanted, squash):
    """Loads of balls that squash, by Newton's steps on u = N^(2/3) where a ball carries.

    Where it does not, u runs on below zero and −k u is its clearance: so C N + k u = wanted holds for all balls alike.
    """
    own = np.arange(len(wanted))
    alone = wanted / compliance[own, own]
    u = np.minimum(wanted / squash, np.sign(alone) * np.cbrt(alone) ** 2)
    for _ in range(_ROUNDS):
        root = np.sqrt(np.maximum(u, 0.0))
        loads, squeezed = root**3, squash * u
        off = bent(compliance, loads) + squeezed - wanted
        most = np.abs(wanted) + bent(np.abs(compliance), loads) + np.abs(squeezed)
        if np.all(np.abs(off) <= _ROUNDING * len(u) * most):
            return loads
        slope = compliance * (1.5 * root)
        slope[own, own] += squash
        u = u - _solved(slope, off)
    raise ArithmeticError(f"load sharing did not settle in {_ROUNDS} steps")


def _stiff(compliance, wanted):
    """Loads of balls that do not squash: every set of carrying balls in turn, for the cases that no smaller set has
    solved.
    """
    loads, left = np.zeros(wanted.shape), np.any(wanted > 0, axis=0)
    for size in range(1, len(wanted) + 1):
        for members in combinations(range(len(wanted)), size):
            if not np.any(left):
                return loads
            some, trial = np.array(members), np.zeros(wanted.shape)
            with np.errstate(all="ignore"):  # balls at one place of the bar give no number, and a smaller set does
                for _ in range(min(size, 2)):  # between balls nearly at one place a rounding is left, to be shared too
                    short = wanted - bent(compliance, trial)
                    trial[some] += _solved(compliance[some[:, None], some], short[some])
                holds = np.all((trial >= 0) & (bent(compliance, trial) - wanted >= -_CLOSE), axis=0)
            loads, left = np.where(left & holds, trial, loads), left & ~holds
    if np.any(left):
        raise ArithmeticError(f"{np.sum(left)} of {left.size} cases of load sharing did not settle")
    return loads


def _solved(matrix, right):
    """Linear systems (n, n, ...), each positive and symmetric but for a scale of its columns, so that any pivot will
    do.
    """
    for i in range(len(right)):
        factor = matrix[:, i] / matrix[i, i]
        factor[i] = 0.0
        matrix, right = matrix - factor[:, None] * matrix[i], right - factor * right[i]
    return right / np.einsum("ii...->i...", matrix)
