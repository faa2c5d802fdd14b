"""How elastic balls and bar share a load (C4): the one set of loads that neither pulls nor lets a ball cut in."""

from itertools import combinations

import numpy as np

_ROUNDS, _ROUNDING, _CLOSE = 60, 1e-15, 1e-12
_LEAST = 1e-10  # mm at 1 N, of a ball that is taken not to squash beside one that does: a thousandth of an atom


def share(compliance: np.ndarray, wanted: np.ndarray, squash: np.ndarray | None = None) -> np.ndarray:
    """Loads N ≥ 0 with residual = C N + k N^(2/3) − wanted ≥ 0 and N · residual = 0, for every case at once (C4).

    compliance: C, (n, n) or (cases, n, n), symmetric and positive [mm/N]; wanted: (cases, n), how far each ball must
    be held out beyond the free bar [mm]; squash: k, (cases, n) or None for none [mm/N^(2/3)]. Returns the loads
    (cases, n) [N]. The solution is unique, as every part of the left side grows with the loads (balls alike at one
    place of the bar, without squash, could split their load anyhow: the first takes it).

    >>> share(np.array([[2.0, 1.0], [1.0, 2.0]]), np.array([[3.0, 3.0], [3.0, 1.0], [-1.0, -1.0]])).tolist()
    [[1.0, 1.0], [1.5, 0.0], [0.0, 0.0]]
    """
    compliance = np.broadcast_to(compliance, (*wanted.shape, wanted.shape[-1]))
    return _stiff(compliance, wanted) if squash is None else _soft(compliance, wanted, np.maximum(squash, _LEAST))


def residual(
    compliance: np.ndarray,
    wanted: np.ndarray,
    loads: np.ndarray,
    squash: np.ndarray | None = None,
) -> np.ndarray:
    """Clearance of each ball under the given loads [mm]: zero where it carries, not below zero anywhere."""
    given = _bent(compliance, loads) - wanted
    return given if squash is None else given + squash * np.cbrt(loads) ** 2


def _soft(compliance, wanted, squash):
    """Loads of balls that squash, by Newton's steps on u = N^(2/3) where a ball carries.

    Where it does not, u runs on below zero and −k u is its clearance: so C N + k u = wanted holds for all balls alike.
    """
    alone = wanted / np.diagonal(compliance, axis1=-2, axis2=-1)
    u = np.minimum(wanted / squash, np.sign(alone) * np.cbrt(alone) ** 2)
    for _ in range(_ROUNDS):
        root = np.sqrt(np.maximum(u, 0.0))
        loads = root**3
        off = _bent(compliance, loads) + squash * u - wanted
        if np.all(
            np.abs(off)
            <= _ROUNDING * u.shape[-1] * (np.abs(wanted) + _bent(np.abs(compliance), loads) + squash * np.abs(u))
        ):
            return loads
        slope = compliance * (1.5 * root)[..., None, :] + np.eye(u.shape[-1]) * squash[..., None]
        u = u - np.linalg.solve(slope, off[..., None])[..., 0]
    raise ArithmeticError(f"load sharing did not settle in {_ROUNDS} steps")


def _stiff(compliance, wanted):
    """Loads of balls that do not squash: every set of carrying balls in turn, on the cases that no smaller set has
    solved.
    """
    cases, n = wanted.shape
    loads, left = np.zeros((cases, n)), np.flatnonzero(np.any(wanted > 0, axis=-1))
    for size in range(1, n + 1):
        for members in combinations(range(n), size):
            if not left.size:
                return loads
            some, trial = np.array(members), np.zeros((left.size, n))
            trial[:, some] = _solve(compliance[left][:, some[:, None], some], wanted[left][:, some])
            solved = np.all(trial >= 0, axis=-1) & np.all(
                residual(compliance[left], wanted[left], trial) >= -_CLOSE, axis=-1
            )
            loads[left[solved]] = trial[solved]
            left = left[~solved]
    if left.size:
        raise ArithmeticError(f"{left.size} of {cases} cases of load sharing did not settle")
    return loads


def _bent(compliance, loads):
    """How far loads bend the bar out at each ball [mm]."""
    return np.einsum("...ij,...j->...i", compliance, loads)


def _solve(matrix, right):
    """Linear systems, one a case; below zero where the balls share one place of the bar, so that a smaller set does
    as well.
    """
    if right.shape[-1] == 1:
        return right / matrix[..., 0]
    alike = np.linalg.det(matrix) == 0
    found = np.linalg.solve(np.where(alike[..., None, None], np.eye(right.shape[-1]), matrix), right[..., None])[..., 0]
    return np.where(alike[..., None], -1.0, found)
