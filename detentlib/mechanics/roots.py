"""Where a function changes its sign, closed in on from both sides, for many cases at once."""

from collections.abc import Callable

import numpy as np

_ROUNDS = 100


def closed_in(
    function: Callable[[np.ndarray], np.ndarray],
    low: np.ndarray,
    high: np.ndarray,
    at_low: np.ndarray,
    at_high: np.ndarray,
    grain: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Both sides, at most 2 `grain` apart, of where a function of arrays turns from the sign at `low` to that at
    `high`.

    Arrays of one shape; at_low, at_high: its values there, 0 counting as below. Chandrupatla's way: quadratic where
    the function runs smoothly, halving where it jumps. Returns (low, high).

    >>> low, high = closed_in(lambda x: x**3 - 2, np.zeros(1), np.full(1, 2.0), np.full(1, -2.0), np.full(1, 6.0), 1e-9)
    >>> bool(0 < high[0] - low[0] < 2.1e-9), bool(low[0] <= 2 ** (1 / 3) < high[0])
    (True, True)
    """
    a, fa, b, fb, share = low, at_low, high, at_high, 0.5
    for _ in range(_ROUNDS):
        x = a + share * (b - a)
        fx = function(x)
        on = (fx > 0) == (fa > 0)
        c, fc = np.where(on, a, b), np.where(on, fa, fb)
        b, fb = np.where(on, b, a), np.where(on, fb, fa)
        a, fa = x, fx
        least = grain / np.maximum(np.abs(b - a), grain)
        if np.all(least > 0.5):
            break
        with np.errstate(all="ignore"):
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            ahead = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
            smooth = (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi)
        share = np.where(smooth, np.clip(ahead, least, 1 - least), 0.5)
    return np.where(a < b, a, b), np.where(a < b, b, a)
