"""Readings of knives that do as the library reckons, one seed each and scatter alone: what tests of the bench hold
their answers against.
"""

import numpy as np

import detentlib as dl
from tests.readings_made import Hand, Seen

SHORT_CLIMB = np.linspace(0.1, 6, 60)


def trace_of(knife, seed, **more):
    """A lift trace; more: climb and far, as of `Hand.trace`."""
    return Hand(seed).trace(as_reckoned(knife), **more)


def pulls_of(knife, seed, count=5):
    """Two-way pulls."""
    return Hand(seed).pulls(as_reckoned(knife), count)


def forces_of(knife, seed):
    """Opening force against the blade angle."""
    return Hand(seed).forces(as_reckoned(knife))


def as_reckoned(knife):
    """What the library says that a knife does, as the simulator would have it."""
    angle = np.concatenate([np.linspace(0.0, 7.0, 1401), np.arange(20.0, 180.0, 0.5)])
    felt, run, arm = dl.feel(knife), dl.sweep(knife, angle), knife.blade.tab_arm
    rest = [each[felt.rest_carrier] for each in (felt.contact_deg, felt.rim_gap)]
    return Seen(
        knife, angle, run.gap, run.torque, *rest, felt.break_out_deg, felt.break_force * arm, felt.letback_force * arm
    )
