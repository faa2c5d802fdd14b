"""Numbers into words: the headline of a knife, what was measured, worked lines, cautions."""
