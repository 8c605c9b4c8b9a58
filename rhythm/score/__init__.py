"""TODO docstring."""
