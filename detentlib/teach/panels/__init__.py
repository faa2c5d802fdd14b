"""Panels: sliders, one picture and one line of words; the scenes of every notebook and what they are drawn from."""
