"""Small wrong changes in ``rhythm/notate/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
