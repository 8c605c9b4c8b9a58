"""How wide rows are printed from the browser, so that pages are not left half empty.

Conventions
-----------
Millimetres on A4, which differs little from Letter here. Rows are made smaller where one more of
them fits on a page for it, and never below 76 percent: a staff is five millimetres high then.
"""

from __future__ import annotations

from collections.abc import Sequence

from rhythm.show.drawing import Drawing

__all__ = ["printed_percent"]

_WIDE, _HIGH = 176, 270  # what the margins of web/page.css leave
_BESIDE = 18  # what stands around the systems of a row: names, gaps
_LEAST = 76  # percent


def printed_percent(layout: Sequence[Sequence[Drawing | None]]) -> int:
    """The width of printed rows in percent of the page's."""
    tallest = max(
        (
            sum(_WIDE * each.height // each.width for each in row if each is not None)
            for row in layout
        ),
        default=0,
    )
    if not tallest:
        return 100
    fitting = _HIGH // (tallest + _BESIDE)
    percent = 100 * (_HIGH // (fitting + 1) - _BESIDE) // tallest
    return percent if fitting and percent >= _LEAST else 100
