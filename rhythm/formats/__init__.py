"""Reading and writing scores: MusicXML itself, and other formats by way of music21.

The format goes by the name's ending: ``.musicxml`` and ``.xml`` are plain, ``.mxl`` is compressed,
``-`` is standard input or output, plain.
"""

from __future__ import annotations

from rhythm.formats.musicxml.reader import read
from rhythm.formats.musicxml.saving import write

__all__ = ["read", "write"]
