"""Building many values without the collector looking for cycles among them: a score has none."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["uncollected"]


@contextmanager
def uncollected() -> Iterator[None]:
    """Build a score without looking for reference cycles in it: it has none, and many objects."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()
