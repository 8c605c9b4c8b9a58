"""How a score shows itself where values show themselves, such as in a notebook.

To draw a score is the work of layers far above this one, so they are named here and found when a
notebook asks, and not before.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rhythm.score.model import Score

__all__ = ["displayed"]

_BY = "rhythm.showing"


def displayed(score: Score) -> str:
    """The score engraved and playable, as HTML to set into a notebook."""
    html: str = import_module(_BY).notebook(score)
    return html
