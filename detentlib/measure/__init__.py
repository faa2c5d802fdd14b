"""Measuring: from readings and their ± to the numbers of a knife."""
