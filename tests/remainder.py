"""What kind of difference a bar shows between an editor's spelling and ours.

The kinds are decided from the two rhythms alone, first match wins, so that the sorted remainder in
docs/editors.md can be counted again at any time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.score.model import Event, Piece

__all__ = ["KINDS", "kind_of"]

Row = Sequence[tuple[Event, Piece]]


def kind_of(what: str, metre: Metre | None, theirs: Row, ours: Row) -> str:
    """The kind of a difference; ``what`` says what was compared (values, tuplets, beams)."""
    for name, applies in KINDS[what.removeprefix("sung ")]:
        if applies(metre, theirs, ours):
            return name
    return "other"


def _notes(row: Row) -> list[tuple[mpq, mpq, str, int]]:
    return [(p.offset, p.duration, p.type, p.dots) for e, p in row if not e.is_rest]


def _rests(row: Row) -> list[tuple[mpq, mpq]]:
    return [(p.offset, p.duration) for e, p in row if e.is_rest]


def _same_notes(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _notes(theirs) == _notes(ours)


def _is_compound(metre: Metre | None) -> bool:
    return metre is not None and any(b.numerator == 3 for b in metre.beats)


def _compound_rests(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _same_notes(metre, theirs, ours) and _is_compound(metre)


def _has_dotted_rest(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    dotted = [p for e, p in (*theirs, *ours) if e.is_rest and p.dots]
    return _same_notes(metre, theirs, ours) and bool(dotted)


def _has_ratio(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return any(p.ratio != (1, 1) for _, p in (*theirs, *ours))


def _is_unwritten(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return any(not p.type and not p.whole_bar and not e.is_rest for e, p in theirs)


def _more_ties(row: Row, other: Row) -> bool:
    return len(_notes(row)) > len(_notes(other))


def _they_tie(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _more_ties(theirs, ours)


def _they_hold_in_compound(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _more_ties(ours, theirs) and _is_compound(metre)


def _they_hold(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _more_ties(ours, theirs)


def _reduced(row: Row) -> list[mpq]:
    return [mpq(*p.ratio) for _, p in row]


def _same_in_lowest_terms(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _reduced(theirs) == _reduced(ours)


def _groups(row: Row) -> list[set[int]]:
    groups: list[set[int]] = []
    run: set[int] = set()
    for i, (_, piece) in enumerate(row):
        word = piece.beams[0] if piece.beams else ""
        if word in ("begin", "continue", "end"):
            run.add(i)
        if word == "end":
            groups.append(run)
            run = set()
    return groups


def _inside(small: list[set[int]], large: list[set[int]]) -> bool:
    return all(any(group <= other for other in large) for group in small)


def _over_rests(row: Row) -> bool:
    return any(row[i][0].is_rest for group in _groups(row) for i in range(min(group), max(group)))


def _rests_differ(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _over_rests(theirs) != _over_rests(ours)


def _flags(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    free = {i for i, (e, p) in enumerate(theirs) if not e.is_rest and not p.beams}
    return any(len(group & free) for group in _groups(ours))


def _they_part(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _inside(_groups(theirs), _groups(ours))


def _they_join(metre: Metre | None, theirs: Row, ours: Row) -> bool:
    return _inside(_groups(ours), _groups(theirs))


Test = Callable[[Metre | None, Row, Row], bool]

KINDS: dict[str, tuple[tuple[str, Test], ...]] = {
    "values": (
        ("notes without a type", _is_unwritten),
        ("tuplets, or broken ticks", _has_ratio),
        ("rests in compound metres", _compound_rests),
        ("dotted rests in simple metres", _has_dotted_rest),
        ("other rests", _same_notes),
        ("they tie, we write one symbol", _they_tie),
        ("they hold over a compound beat", _they_hold_in_compound),
        ("they hold over a simple beat", _they_hold),
    ),
    "tuplets": (
        ("same ratio in lower terms", _same_in_lowest_terms),
        ("duplets and quadruplets", lambda m, a, b: _is_compound(m)),
    ),
    "beams": (
        ("rests inside or outside a beam", _rests_differ),
        ("they leave flags", _flags),
        ("they part what we join", _they_part),
        ("they join what we part", _they_join),
    ),
}
KINDS["levels"] = KINDS["joined"] = KINDS["beams"]
