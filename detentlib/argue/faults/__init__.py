"""Faults: from a complaint to the causes that the numbers of a knife leave."""
