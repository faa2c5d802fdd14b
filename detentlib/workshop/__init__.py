"""Deciding: moves at the bench, what can be bought, trials of many knives."""
