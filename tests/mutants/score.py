"""Small wrong changes in ``rhythm/score/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
