"""How elastic balls and bar share a load (C4): the one set of loads that neither pulls nor lets a ball cut in."""

from itertools import combinations

import numpy as np

_ROUNDS, _CLOSE = 60, 1e-12


def share(compliance, wanted, squash=None):
    """Loads N ≥ 0 with residual = C N + k N^(2/3) − wanted ≥ 0 and N · residual = 0, for every case at once (C4).

    compliance: C, (n, n) or (cases, n, n), symmetric and positive [mm/N]; wanted: (cases, n), how far each ball must
    be held out beyond the free bar [mm]; squash: k, (cases, n) or None for none [mm/N^(2/3)]. Returns the loads
    (cases, n) [N]. The solution is unique, as every part of the left side grows with the loads (balls alike at one
    place of the bar, without squash, could split their load anyhow: the first takes it); every set of carrying balls
    is tried in turn, 2ⁿ − 1 at the most, on the cases that no smaller set has solved.

    >>> share(np.array([[2.0, 1.0], [1.0, 2.0]]), np.array([[3.0, 3.0], [3.0, 1.0], [-1.0, -1.0]])).tolist()
    [[1.0, 1.0], [1.5, 0.0], [0.0, 0.0]]
    """
    cases, n = wanted.shape
    compliance = np.broadcast_to(compliance, (cases, n, n))
    loads = np.zeros((cases, n))
    left = np.flatnonzero(np.any(wanted > 0, axis=-1))
    for size in range(1, n + 1):
        for members in combinations(range(n), size):
            if not left.size:
                return loads
            some = np.array(members)
            trial = np.zeros((left.size, n))
            block = compliance[left][:, some[:, None], some]
            trial[:, some] = _equal(block, wanted[left][:, some], None if squash is None else squash[left][:, some])
            solved = np.all(trial >= 0, axis=-1) & np.all(
                residual(compliance[left], wanted[left], trial, squash if squash is None else squash[left]) >= -_CLOSE, axis=-1
            )
            loads[left[solved]] = trial[solved]
            left = left[~solved]
    if left.size:
        raise ArithmeticError(f"{left.size} of {cases} cases of load sharing did not settle")
    return loads


def residual(compliance, wanted, loads, squash=None):
    """Clearance of each ball under the given loads [mm]: zero where it carries, not below zero anywhere."""
    given = np.einsum("...ij,...j->...i", compliance, loads) - wanted
    return given if squash is None else given + squash * np.cbrt(loads) ** 2


def _equal(block, wanted, squash):
    """Loads of a set of balls that all touch: C N + k N^(2/3) = wanted; not above zero where they would have to pull."""
    if squash is None:
        return _solve(block, wanted)
    # one ball on a bar that the others leave to it carries more than its share, never none of it
    alone = wanted / np.diagonal(block, axis1=-2, axis2=-1)
    loads = np.maximum(alone, 1e-3 * np.max(np.abs(alone), axis=-1, keepdims=True))
    for _ in range(_ROUNDS):
        root = np.cbrt(loads)
        off = residual(block, wanted, loads, squash)
        slope = block + np.eye(block.shape[-1]) * (squash * 2 / 3 / root)[..., None]
        step = _solve(slope, off)
        # a load may come near zero, but only Newton's limit tells whether it gets there
        loads = np.maximum(loads - step, loads / 10)
        if np.max(np.abs(step) / loads) < _CLOSE:
            break
    settled = np.max(np.abs(residual(block, wanted, loads, squash)), axis=-1, keepdims=True) < _CLOSE
    return np.where(settled, loads, -1.0)


def _solve(matrix, right):
    """Linear systems, one a case; below zero where the balls share one place of the bar, so that a smaller set does as well."""
    if right.shape[-1] == 1:
        return right / matrix[..., 0]
    alike = np.linalg.det(matrix) == 0
    found = np.linalg.solve(np.where(alike[..., None, None], np.eye(right.shape[-1]), matrix), right[..., None])[..., 0]
    return np.where(alike[..., None], -1.0, found)
