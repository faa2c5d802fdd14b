"""Tuning: what a step does, what can be bought for a wanted force, and how a batch scatters."""
