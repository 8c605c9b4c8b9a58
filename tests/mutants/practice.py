"""Small wrong changes in ``rhythm/practice/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
