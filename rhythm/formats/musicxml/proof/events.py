"""Proof of the notes: place, length, sound, written symbols, and all that each note carries.

Two events are the same when everything the model knows of them is, symbol by symbol. What a note
carries besides (articulations, slurs, lyrics and the like) is compared thing by thing: nothing may
be missing, nothing be there twice, nothing stand on another note. A note that was written as other
pieces than it was read from repeats what belongs to every piece (noteheads, instruments) and needs
what stands once (an accidental) but once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Sequence

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import ProofError
from rhythm.exact.values import format_value
from rhythm.formats.musicxml.proof.bars import place_of
from rhythm.formats.musicxml.proof.keys import Key, carry_alike, key, key_without, payload
from rhythm.formats.musicxml.proof.lost_ends import LostEnd, is_end, with_partner
from rhythm.formats.musicxml.read.note_reader import decimal
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.formats.musicxml.write.note_writer import STEMLESS
from rhythm.score.model import Event, Note, Part, Piece, Tuplet, Voice

__all__ = ["require_same_events"]

_REPEATED = frozenset({"instrument", "notehead", "notehead-text", "unpitched", "rest"})
_GRACE_OWNED = frozenset({"default-x", "id"})


def require_same_events(
    file: str,
    meant: Part,
    written: Part,
    kept: frozenset[int],
    plain: frozenset[object],
    *,
    cut: bool,
    relaid: bool,
) -> None:
    """Raise ProofError where a voice of the written part holds anything else than was meant.

    ``kept`` are bars that are known to be as they were read, ``plain`` the notes of the file that
    was read and of the one that was written which carry nothing. In a score that was ``cut`` ends
    of spans without their partner may be missing; in one that was ``relaid`` accidentals be added.
    """
    found = {voice.name: voice for voice in written.voices}
    ends: list[LostEnd] = []
    for voice in meant.voices:
        other = found.pop(voice.name, Voice(voice.name, ()))
        compared = _Voice(file, meant, voice, kept, plain, cut, relaid)
        compared.compare(other)
        ends += compared.lost_ends
    alone = with_partner(ends, written)
    if alone is not None:
        raise ProofError(
            _said("the file lost the", [alone.said]),
            place=place_of(file, meant, alone.bar, alone.home),
        )
    for voice in found.values():
        if voice.events:
            raise ProofError(
                "there is a voice in the file that was not meant",
                place=place_of(file, meant, voice.events[0].bar, voice.name),
            )


class _Voice:
    def __init__(
        self,
        file: str,
        part: Part,
        voice: Voice,
        kept: frozenset[int],
        plain: frozenset[object],
        cut: bool,
        relaid: bool,
    ) -> None:
        self.file, self.part, self.voice = file, part, voice
        self.kept, self.plain, self.cut, self.relaid = kept, plain, cut, relaid
        self.lost_ends: list[LostEnd] = []

    def compare(self, other: Voice) -> None:
        mine, theirs = self.voice.events, other.events
        if not (len(mine) == len(theirs) and all(map(_same_time, mine, theirs))):
            mine, theirs = _ordered(mine), _ordered(theirs)
        for event, found in zip(mine, theirs, strict=False):
            problem = _difference(event, found)
            seen = not event.hidden  # whose brackets nobody sees are only as good as their rounding
            if not problem and seen and not all(map(_same_tuplets, event.pieces, found.pieces)):
                bars = [piece.bar for piece in event.pieces]
                unmarked = _is_unmarked(event) and _is_unmarked(found)
                if not unmarked and not _same_brackets(mine, theirs, bars):
                    problem = "stands under other brackets than were meant"
            if not problem and event.bar not in self.kept:
                problem = self._other_payload(event, found)
            if problem:
                self._fail(event, problem)
        if len(mine) > len(theirs):
            self._fail(mine[len(theirs)], "is missing")
        if len(theirs) > len(mine):
            self._fail(theirs[len(mine)], "was not meant to be there")

    def _fail(self, event: Event, problem: str) -> None:
        bar = min(event.bar, len(self.part.bars) - 1)
        at = format_value(event.onset - self.part.bars[bar].start)
        raise ProofError(
            f"what stands at {at} of the bar {problem}",
            place=place_of(self.file, self.part, bar, self.voice.name),
        )

    def _other_payload(self, event: Event, found: Event) -> str:
        if event.graces or found.graces or event.after or found.after:
            graces, others = _graces(event), _graces(found)
            if self.cut:
                graces, others = self._without_lost_ends(event, graces, others)
            if graces != others:
                return "has other grace notes than were meant"
        for at, (note, other) in enumerate(zip(event.notes, found.notes, strict=True)):
            sources, written = _elements(note), _elements(other)
            if _other_stems(note, sources, written, event.pieces):
                return "has another stem than was meant"
            added = event.additions if not at else ()
            if not added and self.plain.issuperset(note.sources + other.sources):
                continue
            if not added and len(sources) == len(written) == 1 and carry_alike(*sources, *written):
                continue
            wanted = [thing for source in sources for thing in payload(source)]
            got = [thing for each in written for thing in payload(each)]
            if added:
                _add(wanted, event)
            if wanted == got:
                continue
            thing = self._lacking(event, note, sources, wanted, got)
            if thing:
                return thing
        return ""

    def _lacking(
        self,
        event: Event,
        note: Note,
        sources: Sequence[etree._Element],
        wanted: list[Key],
        got: list[Key],
    ) -> str:
        """What is missing or too much; "" where the difference is one that writing may make."""
        pieces = len(event.pieces)
        problem = self._other_accidental(note, sources, wanted, got)
        if problem:
            return problem
        if len(sources) != pieces:
            wanted, got = _without_extenders(wanted), _without_extenders(got)
            strange = _repeated(got) - _repeated(wanted)
            heights = [thing for thing in wanted if thing[0] == "rest"]
            if len(heights) != len(sources) or len(set(heights)) > 1:
                # Rests that stood at several heights are one rest at one height.
                wanted = [thing for thing in wanted if thing[0] != "rest"]
                got = [thing for thing in got if thing[0] != "rest"]
            if sources and (strange or bool(_repeated(got)) != bool(_repeated(wanted))):
                return _said("has other looks than were meant:", strange or _repeated(wanted))
        once, found = _once(wanted), _once(got)
        if len(sources) == pieces:
            once, found = Counter(_plain(wanted)), Counter(_plain(got))
        lost, more = once - found, found - once
        if self.cut:
            self._note_lost(event, lost)
            lost = Counter({each: times for each, times in lost.items() if not is_end(each)})
        if lost:
            return _said("lost", lost)
        return _said("has more on it than was meant:", more) if more else ""

    def _note_lost(self, event: Event, lost: Counter[Key]) -> None:
        """Remember which ends of spans the event lost: they must have lost their partner."""
        pieces = event.pieces
        last = event.onset + (pieces[-1].offset - pieces[0].offset if len(pieces) > 1 else mpq(0))
        if len(pieces) > 1 and pieces[-1].bar != pieces[0].bar:
            last = event.end
        for thing in filter(is_end, lost.elements()):
            home = self.voice.name
            self.lost_ends.append(LostEnd(thing, event.bar, event.onset, last, home))

    def _without_lost_ends(
        self, event: Event, graces: list[Key], others: list[Key]
    ) -> tuple[list[Key], list[Key]]:
        """The grace notes without their ends of spans, which are noted where they were lost."""
        plain, bare = [_spanless(each) for each in graces], [_spanless(each) for each in others]
        ends, left = (Counter(e for g in all for e in _ends_of(g)) for all in (graces, others))
        self._note_lost(event, ends - left)
        return (plain, bare) if not left - ends else (graces, others)

    def _other_accidental(
        self, note: Note, sources: Sequence[etree._Element], wanted: list[Key], got: list[Key]
    ) -> str:
        had = [thing for thing in wanted if thing[0] == "accidental"]
        has = [thing for thing in got if thing[0] == "accidental"]
        if had == has or (sources and not _sounds(sources[0], note)):
            return ""
        first = sources[0].find("accidental") if sources else None
        if first is not None and key(first) not in has:
            return "lost its accidental"
        if len(has) > len(had) and not self.relaid:
            return "has an accidental that was not meant"
        return ""


def _said(problem: str, things: Iterable[Key]) -> str:
    name, attributes, text, _ = min(things)
    type = dict(attributes).get("type", "")
    return " ".join(filter(None, (problem, "the" if problem == "lost" else "", name, type, text)))


def _plain(things: Iterable[Key]) -> list[Key]:
    return [thing for thing in things if thing[0] != "accidental"]


def _once(things: Iterable[Key]) -> Counter[Key]:
    return Counter(
        thing
        for thing in things
        if thing[0] not in _REPEATED and thing[0] != "accidental" and thing[0][0] != "@"
    )


def _repeated(things: Iterable[Key]) -> frozenset[Key]:
    return frozenset(thing for thing in things if thing[0] in _REPEATED)


def _without_extenders(things: Iterable[Key]) -> list[Key]:
    """The things, lyrics without the extender that a syllable held over tied notes has."""
    found = []
    for name, said, text, children in things:
        if name == "lyric":
            inner = tuple(child for child in children if child[0] != "extend")
            if not inner:
                continue
            found.append((name, said, text, inner))
        else:
            found.append((name, said, text, children))
    return found


def _add(wanted: list[Key], event: Event) -> None:
    """What a transformation added to the event."""
    for each in event.additions:
        if each.kind == "accent":
            if not any(thing[0] == "articulations/accent" for thing in wanted):
                wanted.append(("articulations/accent", (), "", ()))
        elif each.kind == "lyric":
            number = (("number", each.number),) if each.number else ()
            said: tuple[Key, ...] = (("syllabic", (), "single", ()), ("text", (), each.text, ()))
            wanted.append(("lyric", number, "", said))


def _sounds(source: etree._Element, note: Note) -> bool:
    """Is the pitch of a note that of the element it was read from?"""
    pitch = source.find("pitch")
    if pitch is None or note.pitch is None:
        return False
    alter = decimal(pitch.findtext("alter") or "0") or mpq(0)
    step = (pitch.findtext("step") or "").strip().upper()
    octave = decimal(pitch.findtext("octave") or "")
    return step == note.pitch.step and alter == note.pitch.alter and octave == note.pitch.octave


def _elements(note: Note) -> Sequence[etree._Element]:
    sources = note.sources
    if len(sources) == 1 and isinstance(sources[0], etree._Element):
        return (sources[0],)
    return elements_of(sources)


def _other_stems(
    note: Note,
    sources: Sequence[etree._Element],
    written: Sequence[etree._Element],
    pieces: Sequence[Piece],
) -> bool:
    """Does a stem point elsewhere, or is one lost that nothing took away?

    A new beam may join stems that point both ways, which are left out then; a note without a stem
    by its type, or one that sounds otherwise than when it was read, has lost that one's.
    """
    meant = [_stem(each) for each in sources]
    if not any(meant):
        return False
    found = [_stem(each) for each in written]
    if len(meant) != len(found):
        return bool({each for each in found if each} - set(meant))
    if any(stem is not None and stem != one for one, stem in zip(meant, found, strict=True)):
        return True
    return any(
        one and stem is None and not piece.beams and piece.type not in STEMLESS
        for one, stem, piece in zip(meant, found, pieces, strict=False)
    ) and _sounds(sources[0], note)


def _stem(note: etree._Element) -> str | None:
    """What the stem of a note says, None where it has none."""
    for stem in note.iterchildren("stem"):
        return stem.text or ""
    return None


def _graces(event: Event) -> list[Key]:
    """The grace notes before an event, a mark, and those behind it."""
    return [*map(_grace, event.graces), ("", (), "", ()), *map(_grace, event.after)]


def _grace(element: object) -> Key:
    assert isinstance(element, etree._Element)
    return key_without(element, (), _GRACE_OWNED)


def _spanless(thing: Key) -> Key:
    """What an element says without the ends of spans in it, and what these leave empty."""
    name, said, text, children = thing
    inner = tuple(_spanless(child) for child in children if not is_end(child))
    kept = tuple(each for each in inner if each[1] or each[2] or each[3] or each[0] != "notations")
    return name, said, text, kept


def _ends_of(thing: Key) -> Iterator[Key]:
    for child in thing[3]:
        if is_end(child):
            yield child
        else:
            yield from _ends_of(child)


def _same_time(event: Event, other: Event) -> bool:
    return event.onset == other.onset and event.duration == other.duration


def _ordered(events: Iterable[Event]) -> tuple[Event, ...]:
    return tuple(sorted(events, key=_order))


def _order(event: Event) -> tuple[int, mpq, mpq, str]:
    return event.bar, event.onset, event.duration, str(event.pitches)


def _difference(event: Event, other: Event) -> str:
    """How an event differs from what was meant, "" where it does not."""
    if event.onset != other.onset or event.bar != other.bar:
        return "stands elsewhere in the file"
    if event.duration != other.duration:
        lasts = format_value(other.duration)
        return f"lasts {lasts}, not {format_value(event.duration)}, in the file"
    if event.hidden != other.hidden:
        return "is hidden, or shown, against what was meant"
    if event.cue != other.cue:
        return "is a cue note, or none, against what was meant"
    if len(event.notes) != len(other.notes) or not all(map(_same_note, event.notes, other.notes)):
        return "sounds otherwise than was meant"
    if len(event.pieces) != len(other.pieces):
        return f"is written as {len(other.pieces)} symbols, not as {len(event.pieces)}"
    for piece, found in zip(event.pieces, other.pieces, strict=True):
        problem = _other_symbol(piece, found)
        if problem:
            return problem
    return ""


def _same_tuplets(piece: Piece, found: Piece) -> bool:
    return piece.tuplets is found.tuplets or piece.tuplets == found.tuplets


def _same_brackets(mine: Iterable[Event], theirs: Iterable[Event], bars: Container[int]) -> bool:
    """Do the same notes stand under the same brackets?

    Where a bracket reaches over a gap, the file knows of the notes under it alone.
    """
    return all(map(_same_bracket, _brackets(mine, bars), _brackets(theirs, bars)))


def _is_unmarked(event: Event) -> bool:
    """Is neither a bracket nor a number seen over it, so that its ratio says all there is?"""
    return not any(tuplet.bracket for piece in event.pieces for tuplet in piece.tuplets) and all(
        element.find("notations/tuplet") is None
        for note in event.notes[:1]
        for element in _elements(note)
    )


_Bracket = tuple[Tuplet, bool]


def _same_bracket(ones: Sequence[_Bracket], others: Sequence[_Bracket]) -> bool:
    return len(ones) == len(others) and all(
        (one.actual, one.normal, one.number, one.bracket, begins)
        == (other.actual, other.normal, other.number, other.bracket, opens)
        and (one.unit == other.unit or one.length != other.length)
        for (one, begins), (other, opens) in zip(ones, others, strict=True)
    )


def _brackets(events: Iterable[Event], bars: Container[int]) -> list[list[_Bracket]]:
    """Piece by piece the tuplets around it, each with whether it begins there."""
    pieces = sorted(
        (piece for event in events for piece in event.pieces if piece.bar in bars),
        key=lambda piece: (piece.bar, piece.offset),
    )
    found: list[list[_Bracket]] = []
    before: Sequence[Tuplet] = ()
    bar = -1
    for piece in pieces:
        if piece.bar != bar:
            before, bar = (), piece.bar
        found.append([(each, each not in before) for each in piece.tuplets])
        before = piece.tuplets
    return found


def _same_note(note: Note, other: Note) -> bool:
    return (
        note.kind == other.kind
        and note.pitch == other.pitch
        and note.staff == other.staff
        and note.tie_in == other.tie_in
        and note.tie_out == other.tie_out
    )


def _other_symbol(piece: Piece, found: Piece) -> str:
    if piece.bar != found.bar or piece.offset != found.offset or piece.duration != found.duration:
        return "is split and tied elsewhere than was meant"
    if piece.type != found.type or piece.dots != found.dots:
        return "is written with another type or other dots than were meant"
    if piece.ratio != found.ratio:
        return "is written in another ratio than was meant"
    if piece.beams != found.beams:
        return "is beamed otherwise than was meant"
    if piece.whole_bar and not found.whole_bar:
        return "is no whole-bar rest, as was meant"
    if piece.tremolo and piece.tremolo != found.tremolo:
        return "is another tremolo than was meant"  # the signs of two notes come apart stay on them
    return ""
