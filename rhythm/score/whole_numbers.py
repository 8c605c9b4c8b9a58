"""Numbers that a score prints, such as a bar's: a file may have anything in their place."""

from __future__ import annotations

__all__ = ["whole_number"]

_MOST_DIGITS = 9


def whole_number(text: str) -> int | None:
    """The whole number from 0 that a text writes in plain digits, None where it is none.

    None also for more than nine digits: no score counts so far.
    """
    if not (text.isascii() and text.isdecimal()) or len(text) > _MOST_DIGITS:
        return None
    return int(text)
