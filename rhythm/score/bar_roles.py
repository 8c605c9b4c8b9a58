"""Which short bars are right: upbeats, their complements, and bars split by a bar line.

A bar may hold less than its metre and be right: the upbeat, the last bar that completes it, the
two halves of a bar with a repeat or a double bar in its middle, the bar that ends a repeat with
the one where that repeat starts. This module looks at lengths and bar lines alone and says what
every bar is, so that the reader can place its content in the metre and the checker can be silent.

Conventions
-----------
Lengths are in whole notes. ``shift`` is where in its metre a bar's content begins: an upbeat of
1/4 in 4/4 has shift 3/4, the second half of a bar split after 3/4 too. Kinds of bar:

``full`` holds its metre; ``upbeat`` is the end of a bar, at the start of a piece or section;
``split`` is one of two or three bars that make one; ``complement`` ends a piece, a repeat or an
ending and makes one bar with the upbeat it returns to; ``last`` is a short bar that closes a
piece or a movement and has no upbeat to complete; ``implicit`` is short, unpaired, and said by
the file to be no bar of its own; ``short`` and ``long`` have no explanation; ``empty`` holds
nothing; ``free`` has no metre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.score.model import Barline
from rhythm.score.whole_numbers import whole_number

__all__ = ["BarExtent", "Role", "is_short_on_purpose", "roles"]

_CLOSING = frozenset({"light-heavy", "heavy-heavy", "heavy"})
_OPENING = frozenset({"heavy-light", "heavy-heavy", "heavy"})
_DOUBLE = frozenset({"light-light"})
_LONGEST_SPLIT = 3


@dataclass(frozen=True, slots=True)
class BarExtent:
    """What decides a bar's role: its visible length, its metre's (0 for none), its bar lines."""

    length: mpq
    metre: mpq
    implicit: bool = False
    number: str = ""
    left: Barline | None = None
    right: Barline | None = None
    new_metre: bool = False  # the signature is written here

    @property
    def is_short(self) -> bool:
        """Holds something, but less than its metre."""
        return bool(self.metre) and 0 < self.length < self.metre

    @property
    def is_irregular(self) -> bool:
        """Said by the file to be no bar of its own: implicit, or numbered like X1 or 8a."""
        return self.implicit or whole_number(self.number) is None


@dataclass(frozen=True, slots=True)
class Role:
    """What a bar is (``kind``), where its content begins in the metre, and with whom it is one."""

    kind: str
    shift: mpq = field(default_factory=mpq)
    partners: tuple[int, ...] = ()


def roles(spans: Sequence[BarExtent]) -> tuple[Role, ...]:
    """The role of every bar of a score, in order; see the module's text for the kinds."""
    if not any(span.is_short for span in spans):
        return tuple(_plain(span) for span in spans)
    found: dict[int, Role] = {}
    _pair_neighbours(spans, found)
    _pair_endings(spans, found)
    _pair_sections(spans, found)
    for index, span in enumerate(spans):
        if index not in found:
            found[index] = _alone(spans, index) if span.is_short else _plain(span)
    return tuple(found[index] for index in range(len(spans)))


def is_short_on_purpose(spans: Sequence[BarExtent], found: Sequence[Role], index: int) -> bool:
    """Do bar lines say why this bar is short, so that silence behind its music is none of it?

    ``found`` are the roles of ``spans``. An upbeat without partners holds at most half its bar.
    """
    span, role = spans[index], found[index]
    if role.kind == "split":
        return _boundary(spans, index) or _boundary(spans, index - 1) or span.is_irregular
    if role.kind == "upbeat":
        return bool(role.partners) or 2 * span.length <= span.metre
    return role.kind in ("complement", "last")


def _plain(span: BarExtent) -> Role:
    if not span.metre:
        return Role("free")
    if not span.length:
        return Role("empty")
    return Role("full" if span.length == span.metre else "long")


def _make_one(spans: Sequence[BarExtent], indices: Sequence[int]) -> bool:
    """Do these bars make one bar of the first's metre or the last's, or fractions that make 1?"""
    chosen = [spans[index] for index in indices]
    total = sum((span.length for span in chosen), mpq(0))
    if total == chosen[0].metre or total == chosen[-1].metre:
        return True
    return sum((span.length / span.metre for span in chosen), mpq(0)) == 1


def _pair_neighbours(spans: Sequence[BarExtent], found: dict[int, Role]) -> None:
    """Two or three short bars in a row that make one."""
    index = 0
    while index < len(spans):
        size = _split_size(spans, index)
        if not size:
            index += 1
            continue
        run = range(index, index + size)
        passed = mpq(0)
        for place in run:
            span = spans[place]
            closes = place == run[-1] and passed + span.length != span.metre
            shift = span.metre - span.length if closes else passed
            found[place] = Role("split", shift, tuple(other for other in run if other != place))
            passed += span.length
        index += size


def _split_size(spans: Sequence[BarExtent], index: int) -> int:
    for size in range(2, _LONGEST_SPLIT + 1):
        run = range(index, index + size)
        if run[-1] >= len(spans) or not all(spans[place].is_short for place in run):
            return 0
        if _make_one(spans, run) and (index or _first_bar_is_split(spans)):
            return size
    return 0


def _first_bar_is_split(spans: Sequence[BarExtent]) -> bool:
    """An upbeat before a bar that happens to lack as much is not a split bar: ask for a sign."""
    return _boundary(spans, 0) or (spans[1].is_irregular and not spans[0].is_irregular)


def _boundary(spans: Sequence[BarExtent], index: int) -> bool:
    """Is there a repeat, a double bar or an ending between this bar and the next?"""
    right = spans[index].right
    if right and (right.style in _CLOSING | _DOUBLE or right.repeat or right.ending_type):
        return True
    if index + 1 == len(spans):
        return True
    after = spans[index + 1]
    left = after.left
    opens = left and (left.style in _OPENING | _DOUBLE or left.repeat or left.ending_type)
    return bool(opens) or (after.new_metre and after.is_short)


def _section_start(spans: Sequence[BarExtent], index: int) -> int:
    """Where the section that ends with this bar starts: at a repeat, or an upbeat after a break."""
    for place in range(index, 0, -1):
        left = spans[place].left
        if left and left.repeat == "forward":
            return place
        if spans[place].new_metre and spans[place].is_short and place < index:
            return place
        before = spans[place - 1].right
        if before and before.repeat == "backward" and not _opens_ending(spans[place]):
            return place
        breaks = before and before.style in _CLOSING | _DOUBLE
        if breaks and spans[place].is_short and place < index:
            return place
    return 0


def _opens_ending(span: BarExtent) -> bool:
    return bool(span.left and span.left.ending_type == "start")


def _pair_endings(spans: Sequence[BarExtent], found: dict[int, Role]) -> None:
    """A short bar that opens a second ending completes the bar before the first."""
    for index, span in enumerate(spans):
        if index in found or not span.is_short or not _opens_ending(span) or _is_first(span):
            continue
        earlier = (i for i in range(index - 1, 0, -1) if _opens_ending(spans[i]))
        first = next(filter(lambda i: _is_first(spans[i]), earlier), 0)
        if first and spans[first - 1].is_short and _make_one(spans, (first - 1, index)):
            found[index] = Role("split", span.metre - span.length, (first - 1,))
            found.setdefault(first - 1, Role("split", mpq(0), (index,)))


def _is_first(span: BarExtent) -> bool:
    """Does a first ending open here?"""
    return span.left is not None and "1" in span.left.ending.replace(",", " ").split()


def _pair_sections(spans: Sequence[BarExtent], found: dict[int, Role]) -> None:
    """The upbeat of a piece or a section, and the bar that completes it at the section's end."""
    for index, span in enumerate(spans):
        if not span.is_short or (index in found and found[index].kind == "split"):
            continue
        if _boundary(spans, index):
            # The section's own upbeat goes before that of the piece.
            for start in dict.fromkeys((_section_start(spans, index), 0)):
                first = spans[start]
                if start != index and first.is_short and _make_one(spans, (start, index)):
                    found[index] = Role("complement", mpq(0), (start,))
                    found.setdefault(start, Role("upbeat", first.metre - first.length, (index,)))
                    break


def _alone(spans: Sequence[BarExtent], index: int) -> Role:
    """A short bar that nothing completes."""
    span = spans[index]
    if len(spans) == 1 and not (span.is_irregular or whole_number(span.number) == 0):
        return Role("short")
    if index == 0:
        return Role("upbeat", span.metre - span.length)
    right = span.right
    if index == len(spans) - 1 or (right and right.style in _CLOSING and not right.repeat):
        return Role("last")
    if _starts_section(spans, index):
        return Role("upbeat", span.metre - span.length)
    if span.implicit:
        return Role("implicit")
    return Role("short")


def _starts_section(spans: Sequence[BarExtent], index: int) -> bool:
    """After a repeat or a double bar, or no more than half a bar of a new metre."""
    before, span = spans[index - 1].right, spans[index]
    if before and (before.repeat == "backward" or before.style in _CLOSING | _DOUBLE):
        return True
    if span.left and (span.left.repeat == "forward" or span.left.style in _OPENING | _DOUBLE):
        return True
    return span.new_metre and 2 * span.length <= span.metre
