"""Doubt: one cloud of draws of every number with a ±, from which every result gets its own (JCGM 101:2008)."""
