"""Where a function changes its sign, closed in on from both sides, for many cases at once."""

from collections.abc import Callable

import numpy as np

_ROUNDS, _SMOOTH, _FEW, _SECTIONS = 100, 8, 64, 64


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

    low, high: arrays of one shape, (k, 1); at_low, at_high: its values there, 0 counting as below. The function takes
    (k, n). Chandrupatla's way: quadratic where the function runs smoothly, halving where it jumps. Returns (low, high).

    >>> low, high = closed_in(lambda x: x**3 - 2, *(np.full((1, 1), x) for x in (0.0, 2.0, -2.0, 6.0)), 1e-9)
    >>> bool(0 < high - low < 2.1e-9), bool(low <= 2 ** (1 / 3) < high)
    (True, True)
    """
    a, fa, b, fb, share = low, at_low, high, at_high, 0.5
    for done in range(_ROUNDS):
        if done == _SMOOTH and low.size < _FEW:
            break  # a jump among few, which sections are quicker for
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
    ends = np.where(a < b, a, b), np.where(a < b, b, a)
    above = np.where(a < b, fa, fb) > 0
    return by_sections(lambda x: (function(x) > 0) == above, *ends, grain)


def by_sections(
    holds: Callable[[np.ndarray], np.ndarray], low: np.ndarray, high: np.ndarray, grain: float
) -> tuple[np.ndarray, np.ndarray]:
    """Both sides, at most 2 `grain` apart, of where that ends which holds at `low`, not at `high`; arrays (k, 1).

    holds: takes (k, n). Of several places the first that even sections show.

    >>> low, high = by_sections(lambda x: x**2 < 2, np.zeros((1, 1)), np.full((1, 1), 2.0), 1e-9)
    >>> bool(0 < high - low < 2.1e-9), bool(low**2 < 2 <= high**2)
    (True, True)
    """
    # few cases: the price is that of a call, so many points in few rounds; many: the price is that of a point
    sections = _SECTIONS if low.size < _FEW else 2
    width, shares = np.max(high - low, initial=0.0), np.arange(1, sections) / sections
    while width > 2 * grain:
        inner = low + (high - low) * shares
        inside, points = holds(inner), np.concatenate([low, inner, high], axis=-1)
        end = np.where(np.all(inside, axis=-1), sections - 1, np.argmin(inside, axis=-1))[:, None]
        low, high = (np.take_along_axis(points, end + side, axis=-1) for side in (0, 1))
        width /= sections
    return low, high
