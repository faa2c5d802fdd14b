"""A knife: its parts, their units and materials, and what each number must hold."""
