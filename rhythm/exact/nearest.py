"""The nearest of the words that are legal: what an error says of a word that was mistyped.

Conventions
-----------
Words are compared in small letters. Near is what :mod:`difflib` finds close.
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["among", "nearest"]


def nearest(word: str, known: Iterable[str]) -> str:
    """The word of ``known`` that is most like ``word``; "" where none is near."""
    from difflib import get_close_matches

    folded = {each.casefold(): each for each in known}
    near = get_close_matches(word.strip().casefold(), folded, n=1)
    return folded[near[0]] if near else ""


def among(word: str, known: Iterable[str]) -> str:
    """The nearest as a question, or all that there are."""
    words = [each for each in known if each]
    near = nearest(word, words)
    return f"did you mean {near}?" if near else f"one of {', '.join(words)}"
