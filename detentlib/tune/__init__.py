"""Tuning: moves at the bench, what a step does, what can be bought, and how a batch scatters."""

from . import moves, pair, stock, threshold, trial

__all__ = ["moves", "pair", "stock", "threshold", "trial"]
