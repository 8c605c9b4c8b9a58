"""Writing a score: notated where that is still to do, proven, and only then put in its place.

Spelling belongs to notation, the proof to the formats; they are joined here, so that whatever was
edited through the model is written. Every path that writes a score goes through this module.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, BinaryIO

from rhythm.exact.errors import MusicError, ProofError, RemetreError
from rhythm.score.model import Score

if TYPE_CHECKING:
    from rhythm.formats.musicxml.proof.faults import Fault

__all__ = ["faults_of", "laid_to", "proven", "write"]

# What a checker remarks on in scores that are whole: nothing that leaves open what a bar holds.
_HARMLESS = frozenset(
    {"gap", "hidden", "implicit", "last", "number", "rounded", "signature", "split",
     "staff", "tie-mark", "upbeat"}
)  # fmt: skip
# What puts all bars behind it in doubt.
_FROM_THERE_ON = frozenset(
    {"bar-line", "missing", "no-divisions", "number", "signature", "surplus"}
)


def proven(score: Score) -> bytes:
    """The score as MusicXML that has been read back and found to say what was meant.

    Raises :class:`~rhythm.exact.errors.ProofError` where it does not, which is a defect of this
    library; :class:`~rhythm.exact.errors.MusicError` where the source contradicts itself; and
    :class:`~rhythm.exact.errors.RequestError` for an edit that nothing can write.
    """
    from rhythm.formats.musicxml.saving import proven as prove

    try:
        return prove(_notated(score), faults_of)
    except ProofError as failed:
        raise laid_to(failed, score) from None


def write(score: Score, path: str | os.PathLike[str] | BinaryIO, *, force: bool = False) -> None:
    """Write ``score`` as MusicXML, once it has been read back and proven.

    ``.mxl`` is compressed, ``-`` is standard output; a file that is open for writing bytes is
    written plain. An existing file is kept unless ``force`` is given; the file that was read is
    never overwritten. Raises
    :class:`~rhythm.exact.errors.FileError`, and what :func:`proven` raises.
    """
    from rhythm.formats import write as put

    try:
        put(_notated(score), path, force=force, faults=faults_of)
    except ProofError as failed:
        raise laid_to(failed, score) from None


def laid_to(failed: ProofError, score: Score, *, anywhere: bool = False) -> RemetreError:
    """The same failure, or a MusicError where the source is at odds with itself in that bar.

    What a bar holds is guesswork where the file says two things about it, or nothing: what comes of
    a guess need not come out of the file again. Of a bar that adds up a failed proof is a defect of
    this library. ``anywhere``: any bar of the score may stand where the proof failed.
    """
    from rhythm.check.ledger import check
    from rhythm.formats.musicxml.document import Document
    from rhythm.formats.musicxml.proof.faults import origins
    from rhythm.formats.musicxml.read.score_reader import as_it_was_read

    source = score.source
    ledger = check(as_it_was_read(source) if isinstance(source, Document) else score)
    bars: set[int] = set()
    for bar in score.bars:
        if bar.number == failed.place.bar:
            bars.update(origins(score, bar.index))
    first = min(bars, default=0)
    for odd in (*ledger.faults, *ledger.remarks):
        if odd.weight == "remark" and odd.kind in _HARMLESS:
            continue
        if anywhere or odd.index in bars or (odd.kind in _FROM_THERE_ON and odd.index <= first):
            voice = f" voice {odd.voice}" if odd.voice else ""
            return MusicError(
                f"the score does not add up to begin with (bar {odd.number}{voice}: {odd.message})"
                f", and what comes of it cannot be proven: {failed.problem}",
                place=failed.place,
                legal="check --remarks shows what is odd; mend it first",
            )
    return failed


def faults_of(score: Score) -> list[Fault]:
    """All that does not add up in a score: where, of what kind, and in words."""
    from rhythm.check.ledger import check
    from rhythm.formats.musicxml.proof.faults import Fault

    return [
        Fault(each.part, each.number, each.index, each.voice, each.kind, each.message)
        for each in check(score).faults
    ]


def _notated(score: Score) -> Score:
    """The score, notated afresh in bars whose events last otherwise than they are written."""
    from rhythm.formats.musicxml.write.changes import unspelled

    bars = unspelled(score)
    if not bars:
        return score
    from rhythm.notate.score_notation import spell_score

    return spell_score(score, keep=True, bars=bars)
