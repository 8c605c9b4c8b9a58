"""Small wrong changes in ``rhythm/check/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
