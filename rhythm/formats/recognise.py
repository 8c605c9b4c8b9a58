"""Which format a file is in, told by its content; by its name's ending where that says nothing."""

from __future__ import annotations

import re
from pathlib import PurePath

__all__ = ["ENDINGS", "kind_of", "text_of"]

ENDINGS = {
    ".abc": "ABC",
    ".krn": "Humdrum",
    ".kern": "Humdrum",
    ".hum": "Humdrum",
    ".mei": "MEI",
    ".mid": "MIDI",
    ".midi": "MIDI",
    ".kar": "MIDI",
}
"""Name endings of formats other than MusicXML."""

_ROOT = re.compile(r"<(?![?!])(?:[\w.-]+:)?([\w.-]+)")
_ABC = re.compile(r"^X:\s*\d", re.MULTILINE)
_ABC_KEY = re.compile(r"^K:", re.MULTILINE)
_ABC_HEAD = re.compile(r"^[MLT]:", re.MULTILINE)
_KERN = re.compile(r"^\*\*[a-z]", re.MULTILINE)
_HEAD = 65536


def kind_of(data: bytes, name: str = "") -> str:
    """``MusicXML``, ``ABC``, ``Humdrum``, ``MEI`` or ``MIDI``.

    What is none of them by its content is what its name ends in, or else MusicXML, whose reader
    says best what is wrong with it.
    """
    if data[:4] == b"MThd" or (data[:4] == b"RIFF" and data[8:12] == b"RMID"):
        return "MIDI"
    head = text_of(data[:_HEAD]).replace("\r\n", "\n").replace("\r", "\n")
    if head.lstrip().startswith("<"):
        bare = re.sub(r"<!--.*?-->", "", head, flags=re.DOTALL)
        root = _ROOT.search(bare)
        return "MEI" if root and root[1] == "mei" else "MusicXML"
    if _KERN.search(head):
        return "Humdrum"
    if _ABC.search(head) or (_ABC_KEY.search(head) and _ABC_HEAD.search(head)):
        return "ABC"
    return ENDINGS.get(PurePath(name).suffix.lower(), "MusicXML")


def text_of(data: bytes) -> str:
    """The text of a file: UTF-8, UTF-16 where its first bytes say so, else Latin-1."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # A head may end inside a sign of several bytes.
        if error.start >= len(data) - 4:
            return data[: error.start].decode("utf-8-sig")
        return data.decode("latin-1")
