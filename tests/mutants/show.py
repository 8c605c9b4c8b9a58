"""Small wrong changes in ``rhythm/show/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
