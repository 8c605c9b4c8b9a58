"""Metre patterns: a cycle of metres for bars that change, such as ``7/8 7/8 5/8``.

Conventions
-----------
Bars are counted from 0. A repeated metre may be written with a star: ``4/4*3 6/4``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from gmpy2 import mpq

from rhythm.exact.errors import KindError, RequestError
from rhythm.exact.metre import Metre

__all__ = ["MetrePattern"]

_MAX_BARS = 4096
_IN_QUOTES = "write it in quotes: '7/8 7/8 5/8'"
_STARS = re.compile(r"(.*\S)\s*\*\s*(\d{1,6})")


@dataclass(frozen=True, slots=True, repr=False, init=False)
class MetrePattern:
    """A cycle of one or more metres: ``MetrePattern("7/8 7/8 5/8")``.

    It is made of such text, or of metres one after the other. Raises :class:`RequestError` for
    anything else.
    """

    metres: tuple[Metre, ...]

    def __init__(self, metres: str | Metre | MetrePattern | Iterable[Metre | str]) -> None:
        if isinstance(metres, str):
            metres = MetrePattern.parse(metres).metres
        elif isinstance(metres, MetrePattern):
            metres = metres.metres
        elif isinstance(metres, Metre):
            metres = (metres,)
        elif not isinstance(metres, Iterable):
            raise KindError(f"{metres!r} is not a cycle of metres", legal=_IN_QUOTES)
        made = tuple(each if isinstance(each, Metre) else Metre(each) for each in metres)
        object.__setattr__(self, "metres", made)
        self._measure()

    def _measure(self) -> None:
        if not 0 < len(self.metres) <= _MAX_BARS:
            raise RequestError(
                f"a metre pattern has {len(self.metres)} bars", legal=f"1 to {_MAX_BARS} are read"
            )

    @classmethod
    def parse(cls, text: str) -> MetrePattern:
        """Read metres one after the other; ``str`` is the inverse up to stars.

        Raises :class:`RequestError`.
        """
        metres: list[Metre] = []
        for chunk in _chunks(text):
            starred = _STARS.fullmatch(chunk)
            name, times = (starred[1], int(starred[2])) if starred else (chunk, 1)
            if not 0 < times <= _MAX_BARS:
                raise RequestError(
                    f"{chunk!r} repeats a metre {times} times", legal=f"1 to {_MAX_BARS} times"
                )
            metres.extend([Metre.parse(name)] * times)
        return cls(tuple(metres))

    def __str__(self) -> str:
        shown = []
        for metre, run in groupby(self.metres):
            count = len(list(run))
            shown.append(f"{metre}*{count}" if count > 2 else " ".join([str(metre)] * count))
        return " ".join(shown)

    def __repr__(self) -> str:
        return f"MetrePattern({str(self)!r})"

    def __len__(self) -> int:
        return len(self.metres)

    @property
    def length(self) -> mpq:
        """The length of one cycle."""
        return sum((metre.length for metre in self.metres), mpq(0))

    def metre_of(self, bar_index: int) -> Metre:
        """The metre of the bar with this index, the cycle repeating."""
        return self.metres[bar_index % len(self.metres)]


def _chunks(text: str) -> list[str]:
    """The text cut before each word that starts a metre."""
    joined = re.sub(r"\s*([+/])\s*", r"\1", text.replace(",", " "))
    joined = re.sub(r"\s*\*\s*", "*", joined)
    chunks: list[str] = []
    grouped = False
    for word in joined.split():
        starts = not grouped and re.match(r"\d|C|X|senza", word)
        grouped = word == "as"
        if starts or not chunks:
            chunks.append(word)
        else:
            chunks[-1] += " " + word
    return chunks
