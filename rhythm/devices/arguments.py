"""Reading the arguments of devices: ``3/2``, ``2:1 1/16``, ``1/4 1/8 rest 1/8``.

Each function here takes a device and gives back one that takes its argument as text. Whatever
cannot be read is a RequestError that shows how the device is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from gmpy2 import mpq

from rhythm.devices import cyclic_rhythms, displacing, grouping, reordering, scaling
from rhythm.exact.errors import RequestError
from rhythm.exact.values import value
from rhythm.rebar.passage import Passage

__all__ = [
    "Reader",
    "added_value",
    "count_of",
    "counts_and_unit",
    "displacement",
    "factor",
    "grouping_shift",
    "isorhythm",
    "no_argument",
    "optional_value",
    "permutation",
    "ratio_and_unit",
]

Reader = Callable[[Passage, str], Passage]


def _bad(name: str, argument: str, legal: str) -> RequestError:
    shown = f"{name}:{argument}" if argument else name
    return RequestError(f"{shown!r} cannot be read", legal=f"write {legal}")


def no_argument(name: str, apply: Callable[[Passage], Passage]) -> Reader:
    """For a device that takes none."""

    def read(passage: Passage, argument: str) -> Passage:
        if argument:
            raise _bad(name, argument, f"{name} alone")
        return apply(passage)

    return read


def factor(
    apply: Callable[[Passage, mpq], Passage],
    growing: Callable[[Passage, mpq], Passage] | None = None,
) -> Reader:
    """``2`` or ``3/2``; 2 where nothing is said; ``2 metre`` where the metre can grow too."""

    def read(passage: Passage, argument: str) -> Passage:
        text, _, word = (argument or "2").partition(" ")
        if word and (growing is None or word.strip() != "metre"):
            raise _bad(apply.__name__, argument, f"{apply.__name__}:2 or {apply.__name__}:3/2")
        top, slash, bottom = text.partition("/")
        if not top.strip().isdigit() or (slash and not bottom.strip().isdigit()):
            raise _bad(apply.__name__, argument, f"{apply.__name__}:2 or {apply.__name__}:3/2")
        if slash and not int(bottom):
            raise _bad(apply.__name__, argument, "a ratio such as 3/2")
        doing = growing if word and growing is not None else apply
        return doing(passage, mpq(int(top), int(bottom) if slash else 1))

    return read


def _whole(text: str) -> int | None:
    digits = text.strip().removeprefix("-")
    return int(text) if digits.isdigit() and len(digits) < 7 else None


def ratio_and_unit(apply: Callable[[Passage, int, int, mpq | None], Passage], name: str) -> Reader:
    """Read ``2:1`` or ``2:1 1/16``."""

    def read(passage: Passage, argument: str) -> Passage:
        ratio, _, unit = (argument or "2:1").partition(" ")
        long, colon, short = ratio.partition(":")
        a, b = _whole(long), _whole(short) if colon else 1
        if a is None or b is None:
            raise _bad(name, argument, f"{name}:2:1 or {name}:3:2 1/16")
        return apply(passage, a, b, value(unit.strip()) if unit.strip() else None)

    return read


def optional_value(
    apply: Callable[[Passage, mpq | None], Passage],
) -> Reader:
    """A note value, or nothing."""

    def read(passage: Passage, argument: str) -> Passage:
        return apply(passage, value(argument) if argument else None)

    return read


def displacement(passage: Passage, argument: str) -> Passage:
    """``1/8`` or ``-1/8``."""
    text = argument.strip()
    sign = -1 if text.startswith("-") else 1
    if not text.lstrip("+-"):
        raise _bad("displacement", argument, "displacement:1/8 or displacement:-1/8")
    return displacing.displacement(passage, sign * value(text.lstrip("+-").strip()))


def count_of(
    apply: Callable[[Passage, int], Passage], name: str, usual: int, examples: str
) -> Reader:
    """Read a whole number, ``usual`` where nothing is said."""

    def read(passage: Passage, argument: str) -> Passage:
        number = _whole(argument or str(usual))
        if number is None:
            raise _bad(name, argument, examples)
        return apply(passage, number)

    return read


def permutation(passage: Passage, argument: str) -> Passage:
    """``3 1 2``."""
    places = [_whole(word) for word in argument.replace(",", " ").split()]
    if not places or None in places:
        raise _bad("permutation", argument, "permutation:3 1 2")
    return reordering.permutation(passage, [place for place in places if place is not None])


_REST = "rest:"


def isorhythm(passage: Passage, argument: str) -> Passage:
    """``1/4 1/8 rest 1/8``, with ``full`` behind it or not."""
    words = re.sub(r"\brest\s+", "rest:", argument.replace(",", " ")).split()
    full = bool(words) and words[-1] == "full"
    words = words[:-1] if full else words
    if not words:
        raise _bad("isorhythm", argument, "isorhythm:1/4 1/8 rest 1/8 1/2")
    talea = [(value(word.removeprefix(_REST)), not word.startswith(_REST)) for word in words]
    return cyclic_rhythms.isorhythm(passage, talea, full=full)


def counts_and_unit(
    apply: Callable[[Passage, int, int, mpq], Passage], name: str, example: str
) -> Reader:
    """Read ``3:8`` or ``3:8 1/16``; the unit is an eighth unless named."""

    def read(passage: Passage, argument: str) -> Passage:
        counts, _, unit = argument.partition(" ")
        left, _, right = counts.partition(":")
        a, b = _whole(left), _whole(right)
        step = value(unit.strip()) if unit.strip() else mpq(1, 8)
        if a is None or b is None or step <= 0:
            raise _bad(name, argument, f"{name}:{example} or {name}:{example} 1/16")
        return apply(passage, a, b, step)

    return read


def added_value(passage: Passage, argument: str) -> Passage:
    """``1/8`` or ``1/8@3``."""
    text, at, place = argument.partition("@")
    number = _whole(place) if at else 2
    if not text.strip() or number is None:
        raise _bad("added-value", argument, "added-value:1/8 or added-value:1/16@3")
    return scaling.added_value(passage, value(text.strip()), number)


def grouping_shift(passage: Passage, argument: str) -> Passage:
    """``3+3+2``, ``3+3+2@2`` or ``5@2 1/16``."""
    groups, _, rest = argument.partition("@")
    steps, _, unit = rest.strip().partition(" ")
    shift = _whole(steps or "1")
    if not groups.strip() or shift is None:
        raise _bad("grouping-shift", argument, "grouping-shift:3+3+2@1 or grouping-shift:5@2 1/16")
    step = value(unit.strip()) if unit.strip() else mpq(1, 8)
    return grouping.grouping_shift(passage, groups.strip(), shift, step)
