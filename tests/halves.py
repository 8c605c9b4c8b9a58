"""How far the editor's hand can be learned: from one half of a score, measured on the other.

A score is cut in two (odd and even bars; first and second half), the usage learned from each half
and the other half spelled with it, so that no bar teaches its own notation. The unit is that of
:mod:`tests.agreement`: one bar of one voice that holds a visible note, nothing hidden or cue-sized.

Conventions
-----------
*Values* agree where every note and rest has the same place, type, dots and ratio and every note the
same ties. Of the bars whose values agree, *beams* agree where the same notes are joined, *levels*
where every level is the same too, whichever way a hook points. A bar is right *outright*, of all
bars, where all of this is so. These are counted in parts whose source has whole beams; bars of
other parts (broken exports, and scores without beams) are counted apart, by their values alone. A
bar is *new* where the half that was learned from holds no bar of its metre with its rhythm.

An editor who writes one rhythm in two ways cannot be followed by any rule that knows the rhythm
alone. The *ceiling* is what the best single answer for each rhythm of a score would reach, chosen
with all bars in view: first by metre, rhythm and syllables, then also by slurs and part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from rhythm.notate.manner import learn
from rhythm.notate.observation import has_whole_beams
from rhythm.notate.score_notation import spell_score
from rhythm.notate.usage import HOUSE
from rhythm.score.model import Event, Part, Piece, Score

__all__ = ["CEILINGS", "CUTS", "HANDS", "WHAT", "Count", "measured", "table"]

HANDS = ("house", "hand")
CUTS = ("odd and even", "first and second")
WHAT = ("values", "beams", "levels", "outright")
CEILINGS = ("metre, rhythm and syllables", "slurs and part too")

Count = Counter[tuple[str, ...]]
"""Bars by cut, hand, kind of bar (all, new, broken) and what was compared; "bars" for the sum."""

Row = list[tuple[Event, Piece]]


def measured(score: Score) -> Count:
    """Both hands on all four halves of a score."""
    found = _ceilings(score)
    count = len(score.bars)
    house = spell_score(score, hints=False)
    for cut in CUTS:
        halves = [
            frozenset(
                i for i in range(count) if (i % 2 if cut == CUTS[0] else i * 2 >= count) == half
            )
            for half in (0, 1)
        ]
        for known, asked in (halves, halves[::-1]):
            usage = learn(score, known)
            hand = house
            if usage != HOUSE:
                hand = spell_score(score, hints=False, usage=usage, bars=asked)
            for k, part in enumerate(score.parts):
                copies = {"house": house.parts[k], "hand": hand.parts[k]}
                _compare(found, cut, part, copies, known, asked)
    return found


def _ceilings(score: Score) -> Count:
    """What the best single answer for each rhythm of a score reaches."""
    ways: dict[tuple[object, ...], Counter[tuple[object, object]]] = {}
    for k, part in enumerate(score.parts):
        if not has_whole_beams(part):
            continue
        for (_, index), row in _rows(part).items():
            if all(event.is_rest for event, _ in row):
                continue
            if not all(piece.type or piece.whole_bar for _, piece in row):
                continue
            sung = tuple(bool(event.verses) for event, _ in row if not event.is_rest)
            rhythm = _rhythm(part, index, row)
            slurs = tuple(event.slurred for event, _ in row if not event.is_rest)
            tied = not row[0][0].is_rest and row[0][0].pieces[0] is not row[0][1]
            said = tuple(_values(row)), tuple(_levels(row))
            for name, key in zip(
                CEILINGS, ((rhythm, sung, tied), (rhythm, sung, tied, slurs, k)), strict=True
            ):
                ways.setdefault((name, *key), Counter())[said] += 1
    found: Count = Counter()
    for (name, *_), counted in ways.items():
        values: Counter[object] = Counter()
        for (symbols, _), times in counted.items():
            values[symbols] += times
        found["ceiling", str(name), "all", "bars"] += counted.total()
        found["ceiling", str(name), "all", "values"] += max(values.values())
        found["ceiling", str(name), "all", "outright"] += max(counted.values())
    return found


def _compare(
    found: Count,
    cut: str,
    part: Part,
    copies: dict[str, Part],
    known: frozenset[int],
    asked: frozenset[int],
) -> None:
    whole = has_whole_beams(part)
    theirs = _rows(part)
    ours = {name: _rows(copy) for name, copy in copies.items()}
    seen = {_rhythm(part, index, row) for (_, index), row in theirs.items() if index in known}
    for (voice, index), row in theirs.items():
        if index not in asked or all(event.is_rest for event, _ in row):
            continue
        if not all(piece.type or piece.whole_bar for _, piece in row):
            continue
        kinds = ["all"] if whole else ["broken"]
        if whole and _rhythm(part, index, row) not in seen:
            kinds.append("new")
        for name, rows in ours.items():
            other = rows[voice, index]
            agreed = {"bars", *_agreed(row, other)}
            for kind in kinds:
                for what in agreed:
                    found[cut, name, kind, what] += 1


def _agreed(row: Row, other: Row) -> Iterator[str]:
    if _values(row) != _values(other):
        return
    yield "values"
    if _groups(row) == _groups(other):
        yield "beams"
    if _levels(row) == _levels(other):
        yield from ("levels", "outright")


def _rows(part: Part) -> dict[tuple[str, int], Row]:
    rows: dict[tuple[str, int], Row] = {}
    unseen: set[tuple[str, int]] = set()
    for voice in part.voices:
        for event in voice.events:
            for piece in event.pieces:
                rows.setdefault((voice.name, piece.bar), []).append((event, piece))
                if not event.visible or piece.tremolo:
                    unseen.add((voice.name, piece.bar))
    return {
        key: sorted(row, key=lambda pair: pair[1].offset)
        for key, row in rows.items()
        if key not in unseen
    }


def _rhythm(part: Part, index: int, row: Row) -> object:
    bar = part.bars[index]
    held = [(p.offset, p.duration, e.is_rest, e.pieces[0] is p or e.is_rest) for e, p in row]
    whole: list[list[object]] = []
    for offset, duration, rest, begins in held:
        if whole and (not begins or (rest and whole[-1][2])):
            whole[-1][1] += duration  # type: ignore[operator]
        else:
            whole.append([offset, duration, rest])
    return str(bar.metre), bar.shift, tuple(map(tuple, whole))


def _values(row: Row) -> list[object]:
    return [
        (p.offset, e.is_rest, p.whole_bar, p.type, p.dots, p.ratio, e.is_rest or e.pieces[0] is p)
        for e, p in row
    ]


def _groups(row: Row) -> list[object]:
    return [p.beams[0] if p.beams and "hook" not in p.beams[0] else "" for _, p in row]


def _levels(row: Row) -> list[object]:
    return [tuple("hook" if "hook" in w else w for w in p.beams) for _, p in row]


def table(counted: Count) -> Iterator[str]:
    """What was counted, as the rows of a table."""
    yield "| cut | hand | bars | " + " | ".join(WHAT) + " | new bars | outright | broken | values |"
    yield "|" + "---|" * 11
    for cut in CUTS:
        for hand in HANDS:
            cells = [cut, hand, str(counted[cut, hand, "all", "bars"])]
            cells += [_share(counted, cut, hand, "all", what) for what in WHAT]
            cells += [str(counted[cut, hand, "new", "bars"])]
            cells += [_share(counted, cut, hand, "new", "outright")]
            cells += [str(counted[cut, hand, "broken", "bars"])]
            cells += [_share(counted, cut, hand, "broken", "values")]
            yield "| " + " | ".join(cells) + " |"
    yield ""
    yield "| ceiling: one answer by | bars | values | outright |"
    yield "|---|---|---|---|"
    for name in CEILINGS:
        cells = [name, str(counted["ceiling", name, "all", "bars"])]
        cells += [_share(counted, "ceiling", name, "all", what) for what in ("values", "outright")]
        yield "| " + " | ".join(cells) + " |"


def _share(counted: Count, cut: str, hand: str, kind: str, what: str) -> str:
    base = "values" if what in ("beams", "levels") else "bars"
    bars = counted[cut, hand, kind, base]
    return f"{100 * counted[cut, hand, kind, what] / bars:.2f}" if bars else "–"
