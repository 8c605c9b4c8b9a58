"""From written notes to events: tied notes become one event with several pieces.

Notes are one event when every chord member is tied to the same pitch, the second begins where the
first ends in the same voice, and nothing stands between them. A tie that does less, or whose other
end lacks its mark, stays a link: ``tie_in`` and ``tie_out``.
"""

from __future__ import annotations

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.read.note_reader import Written
from rhythm.score.model import Event, Note, Piece, Tuplet

__all__ = ["VoiceBuilder"]


class VoiceBuilder:
    """Collects one voice of a part, note after note."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.run: list[Written] = []
        self.onset = mpq(0)
        self.end = mpq(0)
        self.open = False

    def add(self, note: Written, start: mpq) -> None:
        """The next chord head or rest of the voice; ``start`` is where its bar starts."""
        onset = start + note.offset
        if self.open and onset == self.end and self._continues(note):
            self.run.append(note)
        else:
            if self.run:
                self._close()
            self.run = [note]
            self.onset = onset
        self.end = start + note.end
        self.open = note.tie_start and _is_open(note)

    def _continues(self, note: Written) -> bool:
        last = self.run[-1]
        if not note.tie_stop or note.graces or note.kind != last.kind:
            return False
        if note.hidden != last.hidden or note.cue != last.cue:
            return False
        if note.members is None and last.members is None:
            return note.pitch == last.pitch
        if note.members is None or last.members is None:
            return False
        if len(note.members) != len(last.members):
            return False
        if not all(member.tie_stop for member in note.members):
            return False
        sounds = {(note.pitch, note.staff), *((m.pitch, m.staff) for m in note.members)}
        were = {(last.pitch, last.staff), *((m.pitch, m.staff) for m in last.members)}
        return len(sounds) == len(note.members) + 1 and sounds == were

    def finish(self) -> tuple[Event, ...]:
        """The events of the voice."""
        if self.run:
            self._close()
        return tuple(self.events)

    def _close(self) -> None:
        """Make an event of the notes gathered so far."""
        run = self.run
        first, last = run[0], run[-1]
        hidden = first.hidden
        if hidden and first.members is not None:
            hidden = all(member.hidden for member in first.members)
        self.events.append(
            Event(
                self.onset,
                self.end - self.onset if last is not first else first.duration,
                first.bar,
                () if first.grace else _notes(run),
                () if first.grace else tuple([_piece(note) for note in run]),
                () if first.graces is None else tuple(first.graces),
                () if last.after is None else tuple(last.after),
                hidden,
                first.cue,
                (),
                first.verses if last is first and first.members is None else _verses(run),
            )
        )


def _is_open(note: Written) -> bool:
    """May a note that starts a tie go on in the next?"""
    if note.after or note.kind == "rest":
        return False
    return note.members is None or all(member.tie_start for member in note.members)


def _verses(run: list[Written]) -> tuple[str, ...]:
    """The numbers of the verses that have a syllable here, each once."""
    found: dict[str, None] = {}
    for head in run:
        for note in (head, *(head.members or ())):
            found.update(dict.fromkeys(note.verses))
    return tuple(found)


def _piece(note: Written) -> Piece:
    tuplets: tuple[Tuplet, ...] = note.tuplets
    return Piece(
        note.bar,
        note.offset,
        note.duration,
        note.type,
        note.dots,
        note.ratio,
        tuplets,
        note.beams,
        note.value,
        note.measure_rest,
        note.tremolo,
    )


def _notes(run: list[Written]) -> tuple[Note, ...]:
    first, last = run[0], run[-1]
    if first.members is None:
        if len(run) == 1:
            return (
                Note(
                    first.kind,
                    first.pitch,
                    first.staff,
                    (first.element,),
                    first.tie_stop,
                    first.tie_start,
                    first.laden,
                ),
            )
        sources = tuple([note.element for note in run])
        return (
            Note(first.kind, first.pitch, first.staff, sources, first.tie_stop, last.tie_start),
        )
    return tuple([_member(member, run) for member in (first, *first.members)])


def _member(member: Written, run: list[Written]) -> Note:
    """One chord member through all pieces: the note of its pitch and staff in each."""
    sources: list[etree._Element] = [member.element]
    end = member
    for head in run[1:]:
        for note in (head, *(head.members or ())):
            if note.pitch == member.pitch and note.staff == member.staff:
                sources.append(note.element)
                end = note
                break
    return Note(
        member.kind,
        member.pitch,
        member.staff,
        tuple(sources),
        member.tie_stop,
        end.tie_start,
    )
