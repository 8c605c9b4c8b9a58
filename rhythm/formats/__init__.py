"""Reading and writing scores: MusicXML itself, and ABC, Humdrum, MEI and MIDI in.

What a file is goes by its content, whatever its name; ``-`` is standard input or output. Written is
MusicXML alone, plain (``.musicxml``, ``.xml``) or compressed (``.mxl``).
"""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from rhythm.exact.errors import FileError, KindError, Place
from rhythm.formats.files import Input, load
from rhythm.formats.musicxml.read import score_reader
from rhythm.formats.recognise import kind_of
from rhythm.score.model import Score

if TYPE_CHECKING:
    from rhythm.formats.musicxml.proof.faults import Checker

__all__ = ["pieces", "read", "write"]

_WRITTEN = ("", ".musicxml", ".xml", ".mxl")


def read(source: Input, name: str = "", *, piece: str | int = "") -> Score:
    """Read a score from a path (``-`` is standard input), bytes or an open file.

    ``name`` is what to call it in messages. ``piece`` is the number or the title of a piece where
    the file holds several, as a book of tunes in ABC does. What of another format is not kept is
    said in a warning (:class:`~rhythm.formats.foreign.NotKept`). Raises
    :class:`~rhythm.exact.errors.FileError` for what is no score, in one line.
    """
    data, name = load(source, name)
    kind = kind_of(data, name)
    file = ""
    if isinstance(source, (str, os.PathLike)) and source != "-":
        file = os.path.abspath(source)
    if kind == "MusicXML":
        if str(piece) not in ("", "1"):
            raise FileError(
                f"has no piece {str(piece)!r}", place=Place(name), legal="MusicXML holds one score"
            )
        return score_reader.read_bytes(data, name, file)
    from rhythm.formats.foreign import read_foreign

    return read_foreign(data, kind, name, file, str(piece))


def pieces(source: Input, name: str = "") -> list[tuple[str, str]]:
    """The number and title of every piece that a file holds.

    Raises :class:`~rhythm.exact.errors.FileError` for what cannot be read.
    """
    data, name = load(source, name)
    from rhythm.formats.foreign import pieces_in

    return pieces_in(data, kind_of(data, name))


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
            legal="name a .musicxml, .xml or .mxl file; rhythm.midi and rhythm.page make others",
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
