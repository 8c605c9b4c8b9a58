"""Small wrong changes in ``rhythm/devices/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
