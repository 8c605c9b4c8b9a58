"""Small wrong changes in ``rhythm/formats/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
