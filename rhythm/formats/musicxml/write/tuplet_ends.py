"""Where the tuplets of a voice start and stop in a bar, and which are left unmarked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rhythm.formats.musicxml.write.bar_content import Content, Line
from rhythm.formats.musicxml.write.group_writer import End
from rhythm.score.model import Tuplet

__all__ = ["forget_omissions", "tuplet_ends"]

_NONE: tuple[End, ...] = ()


def forget_omissions(contents: Iterable[Content]) -> None:
    """Let no number stay out because the source left it out: ratios are written anew."""
    for content in contents:
        for lines in content.voices.values():
            for line in lines:
                for element in line.elements:
                    ratio = element.find("time-modification")
                    if ratio is not None:
                        element.remove(ratio)
                    for tuplet in element.iterfind("notations/tuplet[@show-number='none']"):
                        del tuplet.attrib["show-number"]


def tuplet_ends(lines: Sequence[Line]) -> tuple[Sequence[Sequence[End]], Sequence[bool]]:
    """Where tuplets start and stop, line by line; and whether a line's elements stay as they are.

    A group none of whose notes was marked in the source, and none of which changed, stays
    unmarked: its numbers were left out on purpose. One that is to have a bracket gets it, and so
    do those next to it: a reader follows the marks of a run only where all of it is marked.
    """
    if not any(line.piece is not None and line.piece.tuplets for line in lines):
        return [_NONE] * len(lines), [False] * len(lines)
    ends: list[list[End]] = [[] for _ in lines]
    kept = [False] * len(lines)
    open_: list[tuple[Tuplet, int]] = []
    explicit = {
        tuplet
        for line in lines
        if line.piece is not None and len(line.piece.tuplets) > 1
        for tuplet in line.piece.tuplets
    }
    groups: list[tuple[Tuplet, int, int]] = []
    last = -1
    for at, line in enumerate(lines):
        if line.piece is None:
            continue
        here = line.piece.tuplets
        while open_ and (len(open_) > len(here) or open_[-1][0] != here[len(open_) - 1]):
            tuplet, begin = open_.pop()
            groups.append((tuplet, begin, last))
        for tuplet in here[len(open_) :]:
            open_.append((tuplet, at))
        last = at
    while open_:
        tuplet, begin = open_.pop()
        groups.append((tuplet, begin, last))
    groups.sort(key=lambda group: (group[1], group[0].number))
    bracketed = _bracketed(groups)
    for tuplet, begin, end in groups:
        run = [line for line in lines[begin : end + 1] if line.piece is not None]
        free = begin not in bracketed and tuplet not in explicit
        if free and all(map(_unmarked, run)):
            for at in range(begin, end + 1):
                kept[at] = True
            continue
        ends[begin].append(End("start", tuplet, tuplet in explicit))
        ends[end].append(End("stop", tuplet))
    return ends, kept


def _bracketed(groups: Sequence[tuple[Tuplet, int, int]]) -> frozenset[int]:
    """Where the groups begin that stand in one run with a group under a bracket."""
    found: set[int] = set()
    run: list[int] = []
    shown = False
    reached = -1
    for tuplet, begin, end in groups:
        if begin > reached + 1:
            found.update(run if shown else ())
            run, shown = [], False
        run.append(begin)
        shown = shown or tuplet.bracket
        reached = max(reached, end)
    found.update(run if shown else ())
    return frozenset(found)


def _unmarked(line: Line) -> bool:
    """Was this note, in the same type and ratio, without a bracket or number of its own?"""
    if not line.elements or line.piece is None or not line.event.notes:
        return False
    if len(line.event.notes[0].sources) != len(line.event.pieces):
        return False
    element = line.elements[0]
    had = element.find("time-modification")
    if had is None or element.find("notations/tuplet") is not None:
        return False
    texts = [(had.findtext(tag) or "").strip() for tag in ("actual-notes", "normal-notes")]
    type = (element.findtext("type") or "").strip()
    return [type, *texts] == [line.piece.type, *map(str, line.piece.ratio)]
