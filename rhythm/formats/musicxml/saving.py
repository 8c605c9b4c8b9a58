"""Saving a score: written, proven, and only then put in its place."""

from __future__ import annotations

import os

from rhythm.formats.files import pack, save
from rhythm.formats.musicxml.document import Document
from rhythm.formats.musicxml.proof.faults import Checker
from rhythm.formats.musicxml.proof.whole import prove
from rhythm.formats.musicxml.write.changes import as_read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score

__all__ = ["proven", "write"]


def proven(score: Score, faults: Checker | None = None) -> bytes:
    """The score as MusicXML that has been read back and found to say what was meant.

    ``faults`` tells what does not add up in a score: nothing may that did in the source. Raises
    :class:`~rhythm.exact.errors.ProofError`.
    """
    score = as_read(score)
    data = to_bytes(score)
    prove(score, data, faults)
    return data


def write(
    score: Score,
    path: str | os.PathLike[str],
    *,
    force: bool = False,
    faults: Checker | None = None,
) -> None:
    """Write ``score`` to ``path``; ``.mxl`` is compressed, ``-`` is standard output.

    Raises :class:`~rhythm.exact.errors.ProofError` where the proof fails, and
    :class:`~rhythm.exact.errors.FileError`; see :func:`rhythm.formats.files.save`.
    """
    data = proven(score, faults)
    name = os.fspath(path)
    if name.lower().endswith(".mxl"):
        data = pack(data)
    read_from = score.source.file if isinstance(score.source, Document) else score.path
    save(data, path, force=force, source=read_from)
