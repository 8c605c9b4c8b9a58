"""Reading and writing scores: MusicXML itself, and other formats by way of music21.

The format goes by the name's ending: ``.musicxml`` and ``.xml`` are plain, ``.mxl`` is compressed,
``.abc``, ``.krn``, ``.mei`` and ``.mid`` are read by music21; ``-`` is standard input or output,
plain. MusicXML is known by its content too, whatever its name.
"""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from rhythm.exact.errors import FileError, KindError, Place
from rhythm.formats.bridge import FORMATS, read_by_music21
from rhythm.formats.files import Input
from rhythm.formats.musicxml.read import score_reader
from rhythm.score.model import Score

if TYPE_CHECKING:
    from rhythm.formats.musicxml.proof.whole import Checker

__all__ = ["read", "write"]

_WRITTEN = ("", ".musicxml", ".xml", ".mxl")


def read(source: Input, name: str = "") -> Score:
    """Read a score from a path (``-`` is standard input), bytes or an open file.

    ``name`` is what to call it in messages. Raises :class:`~rhythm.exact.errors.FileError` for
    what is no score, in one line.
    """
    if isinstance(source, (str, os.PathLike)) and Path(source).suffix.lower() in FORMATS:
        return read_by_music21(source, name)
    return score_reader.read(source, name)


def write(
    score: Score,
    path: str | os.PathLike[str] | BinaryIO,
    *,
    force: bool = False,
    faults: Checker | None = None,
) -> None:
    """Write ``score`` as MusicXML, once it has been read back and proven.

    ``.mxl`` is compressed, ``-`` is standard output; a file that is open for writing bytes is
    written plain. An existing file is kept unless ``force`` is given; the file that was read is
    never overwritten. ``faults`` tells what does not add up in a score: nothing may that did in
    the source. Raises :class:`~rhythm.exact.errors.FileError` and
    :class:`~rhythm.exact.errors.ProofError`.
    """
    if not isinstance(path, (str, os.PathLike)):
        _write_into(score, path, faults)
        return
    suffix = Path(path).suffix.lower()
    if suffix not in _WRITTEN:
        raise FileError(
            f"a score is not written as {suffix}",
            place=Place(os.fspath(path)),
            legal="name a .musicxml, .xml or .mxl file",
        )
    from rhythm.formats.musicxml import saving

    saving.write(score, path, force=force, faults=faults)


def _write_into(score: Score, file: BinaryIO, faults: Checker | None) -> None:
    from rhythm.formats.musicxml.saving import proven

    if not hasattr(file, "write") or isinstance(file, io.TextIOBase):
        raise KindError(
            f"a score is not written to {file!r}",
            legal="give a path, or a file that is open for writing bytes",
        )
    file.write(proven(score, faults))
