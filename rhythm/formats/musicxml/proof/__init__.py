"""The proof that every written file has to pass before it takes its place."""
