"""Saving a score: written, proven, and only then put in its place."""

from __future__ import annotations

import os

from rhythm.formats.files import pack, save
from rhythm.formats.musicxml.document import Document
from rhythm.formats.musicxml.proof import prove
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score

__all__ = ["proven", "write"]


def proven(score: Score) -> bytes:
    """The score as MusicXML that has been read back and found to say what was meant.

    Raises :class:`~rhythm.exact.errors.ProofError`.
    """
    data = to_bytes(score)
    prove(score, data)
    return data


def write(score: Score, path: str | os.PathLike[str], *, force: bool = False) -> None:
    """Write ``score`` to ``path``; ``.mxl`` is compressed, ``-`` is standard output.

    Raises :class:`~rhythm.exact.errors.ProofError` where the proof fails, and
    :class:`~rhythm.exact.errors.FileError`; see :func:`rhythm.formats.files.save`.
    """
    data = proven(score)
    name = os.fspath(path)
    if name.lower().endswith(".mxl"):
        data = pack(data)
    read_from = score.source.file if isinstance(score.source, Document) else score.path
    save(data, path, force=force, source=read_from)
