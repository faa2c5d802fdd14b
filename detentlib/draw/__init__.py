"""Pictures: panels with sliders, their scenes, and what they are drawn from."""
