"""Invented readings of knives as Readings, one seed each: what tests of the bench hold their answers against."""

import numpy as np

from detentlib.readings import Readings
from detentlib.teach import invented

SHORT_CLIMB = np.linspace(0.1, 6, 60)


def trace_of(knife, seed, **more):
    """A lift trace; more: climb and far, as of `invented.lift_trace_rows`."""
    angle, lift = invented.lift_trace_rows(knife, seed, **more)
    return Readings("lift trace", {"angle": angle, "lift": lift}, {"angle": "deg", "lift": "mm"}, f"trace {seed}")


def pulls_of(knife, seed, count=5):
    """Two-way pulls."""
    opening, letback = invented.pull_rows(knife, seed, count)
    return Readings("two-way pull", {"opening": opening, "letting back": letback}, {"opening": "N", "letting back": "N"}, f"pulls {seed}")


def forces_of(knife, seed):
    """Opening force against the blade angle."""
    angle, force = invented.force_rows(knife, seed)
    return Readings("force trace", {"angle": angle, "force": force}, {"angle": "deg", "force": "N"}, f"forces {seed}")
