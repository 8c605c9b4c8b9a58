"""Writing a score: notated where that is still to do, proven, and only then put in its place.

Spelling belongs to notation, the proof to the formats; they are joined here, so that whatever was
edited through the model is written. Every path that writes a score goes through this module.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, BinaryIO

from rhythm.score.model import Score

if TYPE_CHECKING:
    from rhythm.formats.musicxml.proof.faults import Fault

__all__ = ["faults_of", "proven", "write"]


def proven(score: Score) -> bytes:
    """The score as MusicXML that has been read back and found to say what was meant.

    Raises :class:`~rhythm.exact.errors.ProofError` where it does not, which is a defect of this
    library, and :class:`~rhythm.exact.errors.RequestError` for an edit that nothing can write.
    """
    from rhythm.formats.musicxml.saving import proven as prove

    return prove(_notated(score), faults_of)


def write(score: Score, path: str | os.PathLike[str] | BinaryIO, *, force: bool = False) -> None:
    """Write ``score`` as MusicXML, once it has been read back and proven.

    ``.mxl`` is compressed, ``-`` is standard output; a file that is open for writing bytes is
    written plain. An existing file is kept unless ``force`` is given; the file that was read is
    never overwritten. Raises
    :class:`~rhythm.exact.errors.FileError`, :class:`~rhythm.exact.errors.RequestError` and
    :class:`~rhythm.exact.errors.ProofError`.
    """
    from rhythm.formats import write as put

    put(_notated(score), path, force=force, faults=faults_of)


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
