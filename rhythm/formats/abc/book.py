"""Books of tunes: where each begins and ends, its number and its title."""

from __future__ import annotations

import re
from dataclasses import field
from itertools import pairwise

from rhythm.exact.frozen import dataclass

__all__ = ["Tune", "tunes_of"]

_START = re.compile(r"X:\s*\d")
_FIELD = re.compile(r"[A-Za-z]:")


@dataclass(frozen=True, slots=True)
class Tune:
    """One tune of a book: its number (``X:``), its title (the first ``T:``), its lines."""

    number: str
    title: str
    lines: tuple[str, ...] = field(repr=False)


def tunes_of(text: str) -> list[Tune]:
    """The tunes of a book in order; a text without ``X:`` is one tune, if it names a key."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").lstrip("\ufeff").split("\n")
    starts = [i for i, line in enumerate(lines) if _START.match(line)]
    if not starts and any(line.startswith("K:") for line in lines):
        starts = [next(i for i, line in enumerate(lines) if _FIELD.match(line))]
    found = []
    for start, stop in pairwise([*starts, len(lines)]):
        own = lines[start:stop]
        # An empty line ends a tune; what follows up to the next is text about it (2.2).
        empty = next((i for i, line in enumerate(own) if not line.strip()), len(own))
        own = own[:empty]
        titles = [line[2:].strip() for line in own if line.startswith("T:")]
        number = own[0][2:].strip() if own[0].startswith("X:") else "1"
        found.append(Tune(number, titles[0] if titles else "", tuple(own)))
    return found
