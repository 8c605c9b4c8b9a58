"""Passages: which bars ``5-8`` or ``8a, 12-`` means.

Conventions
-----------
Bars are named by their printed number and returned by index (from 0). Where a number is printed
twice (a new movement starts at 1 again) the first is meant; a range ends at the first bar with its
last number at or after its beginning.
"""

from __future__ import annotations

from collections.abc import Sequence

from rhythm.exact.errors import RequestError
from rhythm.score.model import Bar

__all__ = ["bars_named", "passage_named"]


def bars_named(bars: Sequence[Bar], text: str) -> tuple[int, ...]:
    """The indices of the bars that ``text`` names, in order, each once.

    Legal are numbers, ranges (``5-8``, open ones too: ``5-`` and ``-8``) and lists of them with
    commas. Raises RequestError where a number is not in the score or a range runs backwards.
    """
    numbers = [bar.number for bar in bars]
    found: set[int] = set()
    for entry in text.split(","):
        entry = entry.strip()
        if entry in numbers:
            found.add(numbers.index(entry))
            continue
        first, dash, last = (side.strip() for side in entry.partition("-"))
        if not dash or not (first or last):
            raise _unknown(entry, numbers)
        start = _index(numbers, first, 0) if first else 0
        end = _index(numbers, last, start) if last else len(numbers) - 1
        found.update(range(start, end + 1))
    return tuple(sorted(found))


def passage_named(bars: Sequence[Bar], text: str) -> tuple[int, int]:
    """The indices of the first and last bar that ``text`` names, which must be one run of bars.

    Raises RequestError as :func:`bars_named` does, and where bars between them are not named.
    """
    indices = bars_named(bars, text)
    first, last = indices[0], indices[-1]
    if len(indices) != last - first + 1:
        raise RequestError(f"bars {text!r} are not one passage", legal="one range, such as 5-8")
    return first, last


def _index(numbers: Sequence[str], number: str, start: int) -> int:
    try:
        return numbers.index(number, start)
    except ValueError:
        if number in numbers:
            raise RequestError(
                f"the range of bars ends at {number}, before it begins",
                legal="write the earlier bar first, as in 5-8",
            ) from None
        raise _unknown(number, numbers) from None


def _unknown(text: str, numbers: Sequence[str]) -> RequestError:
    if not numbers:
        return RequestError(f"no bar {text!r}", legal="the score has no bars")
    return RequestError(
        f"no bar {text!r} in the score",
        legal=f"bars run from {numbers[0]} to {numbers[-1]}; write 5, 5-8 or 5-8,12",
    )
