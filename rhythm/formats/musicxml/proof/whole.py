"""The proof: what is about to be written is read as any other program would read it, and compared.

Every bar must stand in the metre that was meant, every event where it was sent, with its pitches,
its symbols and everything it carried; every mark at its place; and nothing may be missing, double
or new. Bars that are in the file byte for byte as they were read are compared by their bytes. A
checker, which this layer does not know, may be given along: what it finds fault with in the file it
must have found fault with in the source. A failure is a defect of this library, except for another
fault in a bar where the source had one: that one is the music's.
"""

from __future__ import annotations

from rhythm.exact.errors import LimitError, MusicError, Place, ProofError
from rhythm.formats.musicxml.document import Document, parse
from rhythm.formats.musicxml.proof.bars import (
    kept,
    place_of,
    require_same_bars,
    require_untouched,
)
from rhythm.formats.musicxml.proof.events import require_same_events
from rhythm.formats.musicxml.proof.faults import Checker, require_no_new_fault
from rhythm.formats.musicxml.proof.marks import require_same_marks
from rhythm.formats.musicxml.proof.surroundings import (
    require_all_notes,
    require_single_names,
    require_surroundings,
)
from rhythm.formats.musicxml.read.score_reader import read_document
from rhythm.formats.musicxml.write.changes import as_read
from rhythm.score.model import Part, Score
from rhythm.score.readable import strains
from rhythm.score.uncollected import uncollected

__all__ = ["prove"]


_MOST_PIECES = 5


def prove(score: Score, data: bytes, faults: Checker | None = None) -> None:
    """Raise :class:`ProofError` where ``data`` does not say exactly what ``score`` does.

    Raises :class:`MusicError` where a bar that did not add up in the source came out with another
    fault, and where the score is longer or finer than can be written.

    ``faults`` tells what does not add up in a score.
    """
    with uncollected():
        score = as_read(score)
        try:
            written = read_document(parse(data, score.path or "the written score"))
        except LimitError as error:
            raise MusicError(
                f"it comes out past what can be written: {error.problem}",
                place=error.place,
                legal=error.legal,
            ) from None
        except ValueError as error:
            raise ProofError(f"the file cannot be read: {error}", place=Place(score.path)) from None
        _compare(score, written)
        if faults is not None:
            require_no_new_fault(score, written, faults)


def _compare(score: Score, written: Score) -> None:
    file = score.path
    if len(score.parts) != len(written.parts):
        raise ProofError("the written score has another number of parts", place=Place(file))
    plain = _plain(written) | _plain(score)
    for part, other in zip(score.parts, written.parts, strict=True):
        require_same_bars(file, part, other)
        same = kept(part, other)
        require_same_events(file, part, other, same, plain, cut=score.excerpt, relaid=score.relaid)
        require_same_marks(file, part, other, same, cut=score.excerpt)
        require_untouched(file, part, other, same)
    _require_readable(score)
    require_all_notes(written, file)
    require_surroundings(score, written)
    require_single_names(score, written)


def _require_readable(score: Score) -> None:
    """Raise MusicError for symbols nobody reads in bars written afresh, but for the source's own.

    A bracket over one note is the verb's affair: it may be all that a voice shows of its bracket. A
    note that keeps its length in redrawn bars may need more pieces than one that is fitted.
    """
    if not isinstance(score.source, Document):
        return
    fresh = {bar.index for part in score.parts for bar in part.bars if bar.source is None}
    if not fresh:
        return
    read = tuple(
        Part(each.id, each.name, each.reading.bars, each.reading.voices, ())
        for each in score.source.parts
        if each.reading is not None
    )
    for strain in strains(score, Score(read), fresh, most_pieces=_MOST_PIECES):
        if strain.kind != "lone":
            part = score.parts[strain.part]
            voice = part.voices[strain.voice].name
            raise MusicError(
                f"only {strain.problem} could write what stands here",
                place=place_of(score.path, part, strain.bar, voice),
                legal="mend the bar, or leave it out with --bars",
            )


def _plain(score: Score) -> frozenset[object]:
    """The notes that carry nothing, as the reader saw them."""
    sources = score.source.parts if isinstance(score.source, Document) else ()
    return frozenset().union(*(each.reading.plain for each in sources if each.reading is not None))
