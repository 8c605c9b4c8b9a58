"""Small wrong changes in ``rhythm/restate/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
