"""Small wrong changes in ``rhythm/rebar/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = []
