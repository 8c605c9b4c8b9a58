"""Opening files that may be hostile, and putting files in place whole or not at all.

A score comes from a path, from standard input, from bytes or from an open file. It may be plain
XML or a compressed score (a zip archive whose ``META-INF/container.xml`` names the score inside).
Nothing in an archive is trusted: names that leave the archive, members that unpack to far more
than they hold, and sizes no score has are refused before anything is unpacked.

Saving writes a temporary file in the same folder and then moves it into place, so a reader never
sees half a file and a failure leaves the old one.
"""

from __future__ import annotations

import io
import lzma
import os
import stat
import sys
import tempfile
import zipfile
import zlib
from pathlib import Path
from typing import IO
from urllib.parse import unquote

from lxml import etree

from rhythm.exact.errors import FileError, KindError, Place
from rhythm.exact.nearest import nearest

__all__ = ["MAX_BYTES", "MAX_RATIO", "Input", "load", "pack", "save"]

MAX_BYTES = 100_000_000
"""No score is larger than this, packed or unpacked."""

MAX_RATIO = 200
"""No score packs better than this: MusicXML packs 15 to 60 times."""

Input = str | os.PathLike[str] | bytes | IO[bytes]
"""What can be read: a path (``-`` for standard input), the bytes themselves, or an open file."""

_LEGAL = "give a .musicxml, .xml or .mxl file"
_MOST_LOOKED = 1000  # files of a folder among which the nearest name is looked for
_CONTAINER = "META-INF/container.xml"
_INSIDE = "score.musicxml"
_BROKEN = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, EOFError, NotImplementedError, OSError,
    RuntimeError, ValueError,
)  # fmt: skip
"""What reading a damaged archive raises, whichever way its members are packed."""


def load(source: Input, name: str = "") -> tuple[bytes, str]:
    """The XML of a score and the name to call it by; compressed scores are unpacked.

    Raises :class:`FileError` for what cannot be read or is no score's size.
    """
    data, name = _bytes(source, name)
    if len(data) > MAX_BYTES:
        raise FileError(_too_large(len(data)), place=Place(name), legal=_at_most())
    if data[:4] == b"PK\x03\x04":
        data = _unpack(data, name)
    if not data[:4096].strip() and not data.strip():
        raise FileError("the file is empty", place=Place(name), legal=_LEGAL)
    if data[:5] == b"%PDF-":
        raise FileError("this is a PDF, not MusicXML", place=Place(name), legal=_LEGAL)
    return data, name


def _bytes(source: Input, name: str) -> tuple[bytes, str]:
    if isinstance(source, bytes):
        return source, name or "<bytes>"
    if not isinstance(source, (str, os.PathLike)) and not hasattr(source, "read"):
        kind = type(source).__name__
        raise KindError(
            f"a score cannot be read from {kind}", legal="a path, bytes or an open file"
        )
    if not isinstance(source, (str, os.PathLike)):
        given = getattr(source, "name", "")
        return source.read(MAX_BYTES + 1), name or (given if isinstance(given, str) else "<file>")
    if source == "-":
        if sys.stdin is None:
            raise FileError("standard input is closed", legal="name a file to read")
        return sys.stdin.buffer.read(MAX_BYTES + 1), name or "<stdin>"
    name = name or os.fspath(source)
    try:
        with open(source, "rb") as file:
            return file.read(MAX_BYTES + 1), name
    except FileNotFoundError:
        legal = _near(name) or _LEGAL
        raise FileError("there is no such file", place=Place(name), legal=legal) from None
    except IsADirectoryError:
        raise FileError("this is a folder", place=Place(name), legal="name a file in it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FileError(f"cannot be read: {reason}", place=Place(name), legal=_LEGAL) from None


def _near(name: str) -> str:
    """The file beside it whose name is nearest, as a question; "" where none is near."""
    folder, wanted = os.path.split(name)
    try:
        there = [each.name for each in os.scandir(folder or ".") if each.is_file()][:_MOST_LOOKED]
    except OSError:
        return f"there is no folder {folder} either" if folder else ""
    stems = {os.path.splitext(each)[0]: each for each in there}
    near = nearest(os.path.splitext(wanted)[0], stems)
    return f"did you mean {os.path.join(folder, stems[near])}?" if near else ""


def _too_large(size: int) -> str:
    return f"holds more than a score can: {size:,} bytes"


def _at_most() -> str:
    return f"at most {MAX_BYTES:,} bytes are read"


def _unpack(data: bytes, name: str) -> bytes:
    """The score inside a compressed file."""
    place = Place(name)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _member(archive, _rootfile(archive, place), place)
    except FileError:
        raise
    except _BROKEN as error:
        problem = f"is no readable compressed score: {error}"
        raise FileError(problem, place=place, legal="export it again as .mxl") from None


def _rootfile(archive: zipfile.ZipFile, place: Place) -> str:
    names = archive.namelist()
    container = next((path for path in names if _alike(path) == _alike(_CONTAINER)), None)
    if container is not None:
        try:
            root = etree.fromstring(_member(archive, container, place), _parser())
        except etree.XMLSyntaxError:
            root = etree.Element("container")
        for element in root.iter("{*}rootfile"):
            path = element.get("full-path", "")
            kind = element.get("media-type", "application/vnd.recordare.musicxml+xml")
            if path and "xml" in kind:
                return path
    scores = [
        path
        for path in names
        if _alike(path).endswith((".musicxml", ".xml"))
        and not _alike(path).startswith(("meta-inf/", "__macosx/"))
    ]
    if len(scores) == 1:
        return scores[0]
    held = f" of {', '.join(sorted(scores)[:6])}" if scores else ""
    raise FileError(
        f"the compressed file does not say which member{held} is the score",
        place=place,
        legal=f"{_CONTAINER} names it in a rootfile",
    )


def _alike(path: str) -> str:
    """A member's path without what writers of archives do not agree on.

    Some begin it with ``./``, part it with backslashes, write a blank as ``%20``, or differ
    between capital and small letters from the table of contents.
    """
    parts = unquote(path).replace("\\", "/").split("/")
    return "/".join(part for part in parts if part not in ("", ".")).casefold()


def _parser() -> etree.XMLParser:
    return etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)


def _member(archive: zipfile.ZipFile, path: str, place: Place) -> bytes:
    parts = unquote(path).replace("\\", "/").split("/")
    if path.startswith(("/", "\\")) or ".." in parts or ":" in parts[0]:
        raise FileError(
            f"the compressed file points outside itself: {path}",
            place=place,
            legal="members have relative paths without '..'",
        )
    alike = [each for each in archive.infolist() if _alike(each.filename) == _alike(path)]
    entry = next((each for each in alike if each.filename == path), alike[0] if alike else None)
    if entry is None:
        raise FileError(
            f"the compressed file has no member {path}", place=place, legal="export it again"
        )
    if entry.file_size > MAX_BYTES:
        raise FileError(_too_large(entry.file_size), place=place, legal=_at_most())
    if entry.file_size > 1_000_000 and entry.file_size > MAX_RATIO * max(entry.compress_size, 1):
        raise FileError(
            f"unpacks to {entry.file_size // max(entry.compress_size, 1)} times its size",
            place=place,
            legal=f"a score packs at most {MAX_RATIO} times",
        )
    with archive.open(entry) as member:
        data = member.read(entry.file_size + 1)
    if len(data) > entry.file_size:
        raise FileError(
            "unpacks to more than it says", place=place, legal="export it again as .mxl"
        )
    return data


def pack(data: bytes) -> bytes:
    """A compressed score that holds ``data``; the same bytes every time.

    The score inside has a plain name: what a file is called may hold what XML or an archive cannot.
    """
    container = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<container><rootfiles>'
        f'<rootfile full-path="{_INSIDE}"'
        ' media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>\n'
    )
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, content in (
            ("mimetype", b"application/vnd.recordare.musicxml"),
            (_CONTAINER, container.encode()),
            (_INSIDE, data),
        ):
            entry = zipfile.ZipInfo(path, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_STORED if path == "mimetype" else archive.compression
            archive.writestr(entry, content)
    return held.getvalue()


def save(
    data: bytes,
    path: str | os.PathLike[str],
    *,
    force: bool = False,
    source: str | os.PathLike[str] = "",
) -> None:
    """Put ``data`` in place at ``path``, whole or not at all; ``-`` is standard output.

    An existing file is kept unless ``force`` is given, also one that somebody else puts there
    meanwhile; the file at ``source`` (what was read) is never overwritten. Where ``path`` is a
    link, the file it leads to is written and the link stays; into a pipe or device ``data`` is
    written, and it stays what it is. Raises :class:`FileError`.
    """
    if path == "-":
        if sys.stdout is None:
            raise FileError("standard output is closed", legal="name a file to write to")
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    place = Place(os.fspath(path))
    try:
        target = Path(os.path.realpath(path))
        kind = target.stat().st_mode if target.exists() else None
    except (OSError, ValueError) as error:
        raise _unwritable(error, place) from None
    if kind is not None and stat.S_ISDIR(kind):
        raise FileError("this is a folder", place=place, legal="name a file to write")
    if kind is not None and not stat.S_ISREG(kind):
        _write_into(data, target, place)
        return
    if kind is not None:
        if source and Path(source).exists() and target.samefile(source):
            raise FileError(
                "this is the file being read", place=place, legal="write to another file"
            )
        if not force:
            raise _is_there(place)
    _put(data, target, place, force, kind)


def _is_there(place: Place) -> FileError:
    return FileError("the file already exists", place=place, legal="name another, or use force")


def _unwritable(error: Exception, place: Place) -> FileError:
    reason = getattr(error, "strerror", None) or str(error)
    return FileError(
        f"cannot be written: {reason}", place=place, legal="name a file in a folder you own"
    )


def _write_into(data: bytes, target: Path, place: Place) -> None:
    """Write into what is no file: a pipe, a terminal, a device."""
    try:
        with open(target, "wb") as stream:
            stream.write(data)
    except (OSError, ValueError) as error:
        raise _unwritable(error, place) from None


def _put(data: bytes, target: Path, place: Place, force: bool, kind: int | None) -> None:
    temporary = ""
    try:
        mode = kind & 0o777 if kind is not None else 0o666 & ~_umask()
        handle, temporary = tempfile.mkstemp(
            prefix=f".{target.name[:40]}.", suffix=".tmp", dir=target.parent
        )
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, mode)
        if force:
            os.replace(temporary, target)
            temporary = ""
        else:
            _claim(temporary, target)
    except FileExistsError:
        raise _is_there(place) from None
    except (OSError, ValueError) as error:
        raise _unwritable(error, place) from None
    finally:
        if temporary:
            Path(temporary).unlink(missing_ok=True)


def _claim(temporary: str, target: Path) -> None:
    """Give a finished file its name, unless the name is taken. Raises FileExistsError."""
    try:
        os.link(temporary, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: take the name first
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        os.replace(temporary, target)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
