"""Building many values without the collector looking for cycles among them: a score has none."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["uncollected"]


@contextmanager
def uncollected() -> Iterator[None]:
    """Build a score without looking for reference cycles in it: it has none, and many objects.

    What was built is then counted among the objects that have been looked at before; else the
    collector would walk through all of it at the very next allocation.
    """
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            if not gc.get_freeze_count():  # never thaw what somebody else has frozen
                gc.freeze()
                gc.unfreeze()
            gc.enable()
