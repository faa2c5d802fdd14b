"""Numbers that were found together: how the errors of two of them go with each other, as correlations from −1 to 1."""

import math
from numbers import Real
from typing import TYPE_CHECKING

from .checks import Problem

if TYPE_CHECKING:
    import numpy as np

_WRITTEN = 1e-3  # what correlations written in three decimals may miss of going together
_CURE = 'Give {("friction.rim", "bar.riding_force"): -0.8}, as the correlations of a fit.'


def together_problems(together: dict, doubtful: set) -> list:
    """Everything that is wrong with correlations, as Problems; doubtful: the paths that have a ±.

    >>> [problem.wrong for problem in together_problems({("a", "b"): 1.5}, {"a", "b"})]
    ['lies outside −1 to 1']
    """
    found = [problem for pair, r in together.items() for problem in _pair_problems(pair, r, doubtful)]
    twice = [pair for pair in together if isinstance(pair, tuple) and pair[::-1] in together and pair < pair[::-1]]
    found += [
        Problem("known_together", " and ".join(pair), "is given twice", "", "Keep one of the two.") for pair in twice
    ]
    if not found and together and _least_spread(together) < -_WRITTEN:
        why = "Three numbers of which any two rise together cannot have one that falls with the third."
        found.append(Problem("known_together", "", "cannot all hold at once", why, "Check their signs and sizes."))
    return found


def _pair_problems(pair, r, doubtful):
    where = "known_together"
    if not isinstance(pair, tuple) or len(pair) != 2 or pair[0] == pair[1]:
        return [Problem(where, str(pair), "is no pair of two numbers", "", _CURE)]
    said = " and ".join(map(str, pair))
    if isinstance(r, bool) or not isinstance(r, Real) or not math.isfinite(r):
        return [Problem(where, f"{said}: {r}", "is not a number", "It says how far their errors go together.", _CURE)]
    if abs(r) > 1:
        return [
            Problem(
                where, f"{said}: {r:g}", "lies outside −1 to 1", "1 is: they err by the same share of their ±.", _CURE
            )
        ]
    exact = [path for path in pair if path not in doubtful]
    why = "Only errors can go together."
    return [Problem(where, said, f"{path} has no ±", why, "Give its ±, or take the pair out.") for path in exact]


def matrix_of(together: dict, names: list) -> "np.ndarray":
    """The correlations of these names as an array [names, names], 0 where a pair is not listed; others are left out.

    >>> matrix_of({("a", "b"): 0.5}, ["a", "b"]).tolist()
    [[1.0, 0.5], [0.5, 1.0]]
    """
    import numpy as np

    place, matrix = {name: i for i, name in enumerate(names)}, np.eye(len(names))
    for (one, other), r in together.items():
        if one in place and other in place:
            matrix[place[one], place[other]] = matrix[place[other], place[one]] = r
    return matrix


def _least_spread(together):
    """The least eigenvalue: below zero no numbers could go together like this."""
    import numpy as np

    names = list(dict.fromkeys(name for pair in together for name in pair))
    return np.linalg.eigvalsh(matrix_of(together, names))[0]
