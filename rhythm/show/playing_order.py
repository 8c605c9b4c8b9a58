"""The order in which bars are played: repeats and endings followed, the page unfolded.

Conventions
-----------
Bars are named by index. A repeat without endings is played as often as it says, or twice. Endings
are played in the turns their brackets name (``1, 2`` in the first and second); the turn after the
last one named leaves the repeat. A backward repeat with no forward one returns to the end of the
repeat before it, or to the beginning. No repeat is played more than 99 times, whatever it says.

Da capo, dal segno, to coda and fine act at the end of the bar they stand in, segno and coda at its
start. A jump back is taken once, when the repeats around it are done; after it repeats are passed
over with their last ending, and "to coda" and "fine" count (common practice; with da capo and dal
segno alone too).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence

from gmpy2 import mpq

from rhythm.score.model import Bar, Score
from rhythm.score.tempo import Tempo, tempi

__all__ = ["DEFAULT_TEMPO", "placed", "played_tempi", "playing_order"]

_TURNS = 2  # how often a repeat is played where nothing says otherwise
_MOST_TURNS = 99
DEFAULT_TEMPO = mpq(120)
"""Quarters a minute: what a file without tempo means."""


def playing_order(
    bars: Sequence[Bar], jumps: Mapping[int, Collection[str]] | None = None
) -> list[int]:
    """Indices of ``bars`` in the order in which they sound.

    ``jumps`` says for bars, by index, which of dacapo, dalsegno, segno, coda, tocoda and fine
    stand in them.
    """
    signs = jumps or {}
    order, last = _repeated(bars, 0, signs, _endings(bars), again=False)
    if last is None:
        return order
    start = _target(signs, "segno", last) if "dalsegno" in signs[last] else 0
    if start is None:
        return order + list(range(last + 1, len(bars)))
    return order + _once_more(bars, start, last, signs)


def _target(signs: Mapping[int, Collection[str]], name: str, before: int) -> int | None:
    """The last bar up to ``before`` with the sign of this name."""
    found = [index for index in signs if name in signs[index] and index <= before]
    return max(found, default=None)


def _once_more(
    bars: Sequence[Bar], start: int, last: int, signs: Mapping[int, Collection[str]]
) -> list[int]:
    """What is played after a jump back to ``start`` from the end of ``last``."""
    order, left = _repeated(bars, start, signs, _endings(bars), again=True)
    if left is None:
        return order
    if "tocoda" in signs[left]:
        after = [index for index in signs if "coda" in signs[index] and index > left]
        return order + list(range(min(after), len(bars))) if after else order
    return order  # fine


def _repeated(
    bars: Sequence[Bar],
    first: int,
    signs: Mapping[int, Collection[str]],
    endings: Sequence[frozenset[int]],
    *,
    again: bool,
) -> tuple[list[int], int | None]:
    """The bars from ``first`` until one sends the player elsewhere; and that bar, if there is one.

    ``again`` says that a jump led here: repeats are not taken then, of endings the last.
    """
    order: list[int] = []
    start, turn, index = first, 1, first
    while index < len(bars):
        bar, ending = bars[index], endings[index]
        if bar.left is not None and bar.left.repeat == "forward" and index != start:
            start, turn = index, 1
        if again and ending:
            if max(_following(endings, index)) not in ending:
                index += 1
                continue
        elif ending and turn not in ending:
            index += 1
            continue
        order.append(index)
        backward = bar.right is not None and bar.right.repeat == "backward"
        if backward and not again and turn < _turns(bars, endings, index):
            turn, index = turn + 1, start
            continue
        here = signs.get(index, ())
        if (again and ("fine" in here or "tocoda" in here)) or (
            not again and ("dacapo" in here or "dalsegno" in here)
        ):
            return order, index
        leaves_endings = bool(ending) and not (index + 1 < len(bars) and endings[index + 1])
        if backward or leaves_endings:
            start, turn = index + 1, 1
        index += 1
    return order, None


def _following(endings: Sequence[frozenset[int]], index: int) -> list[int]:
    """The turns of the endings from ``index`` on, until one bar has none."""
    found: list[int] = []
    for ending in endings[index:]:
        if not ending:
            break
        found.extend(ending)
    return found


def _endings(bars: Sequence[Bar]) -> list[frozenset[int]]:
    """For every bar the turns in which it is played; empty where no ending bracket is over it."""
    found: list[frozenset[int]] = []
    current: frozenset[int] = frozenset()
    for bar in bars:
        if bar.left is not None and bar.left.ending_type == "start":
            current = frozenset(int(n) for n in re.findall(r"\d+", bar.left.ending))
        found.append(current)
        if bar.right is not None and bar.right.ending_type in ("stop", "discontinue"):
            current = frozenset()
    return found


def _turns(bars: Sequence[Bar], endings: Sequence[frozenset[int]], index: int) -> int:
    """How many turns the repeat that closes at ``index`` has: what it or the last ending says."""
    line = bars[index].right
    if not endings[index]:
        said = line.times if line is not None and line.times is not None else _TURNS
        return min(said, _MOST_TURNS)
    highest = _TURNS
    for ending in endings[index:]:
        if not ending:
            break
        highest = max(highest, *ending)
    return min(highest, _MOST_TURNS)


def placed(bars: Sequence[Bar], order: Sequence[int]) -> Iterator[tuple[mpq, int]]:
    """For every bar as played: how far later it comes than it is written, and its index."""
    start = mpq(0)
    for index in order:
        yield start - bars[index].start, index
        start += bars[index].length


def played_tempi(score: Score, order: Sequence[int]) -> list[tuple[mpq, mpq]]:
    """Every tempo with its moment, in order, in quarters a minute; the first one at 0.

    Where the player goes elsewhere, what was in force there is in force again.
    """
    written = tempi(score)
    by_bar: dict[int, list[Tempo]] = {}
    for tempo in written:
        by_bar.setdefault(tempo.bar, []).append(tempo)
    found: list[tuple[mpq, mpq]] = []
    expected = -1
    for shift, index in placed(score.bars, order):
        here = [(tempo.moment + shift, tempo.quarters) for tempo in by_bar.get(index, ())]
        start = score.bars[index].start
        if index != expected and (not here or here[0][0] > start + shift):
            before = [tempo.quarters for tempo in written if tempo.moment <= start]
            again = before[-1] if before else DEFAULT_TEMPO
            if not found or found[-1][1] != again:
                found.append((start + shift, again))
        found += here
        expected = index + 1
    return found or [(mpq(0), DEFAULT_TEMPO)]
