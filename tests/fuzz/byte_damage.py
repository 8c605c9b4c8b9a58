"""Changes to bytes: encodings, cut and crossed files, archives, MIDI, and formats made of lines."""

from __future__ import annotations

import io
import zipfile
from random import Random

from rhythm.formats.files import pack

__all__ = ["damage_bytes", "damage_lines", "damage_midi", "encoded", "packed"]

_SIGNS = "|:[](){}<>^_=-~.,/123456789zxabcdefgABCDEFGrKMLQVXTw\"'!+ \t*;&%\\\u00e9\u2028\x00"


def damage_bytes(data: bytes, chance: Random) -> bytes:
    """A file cut short, crossed, or with wrong bytes in it."""
    kind = chance.randrange(5)
    at = chance.randrange(len(data) + 1)
    if kind == 0:
        return data[:at]
    if kind == 1:
        other = chance.randrange(len(data) + 1)
        return data[:at] + data[min(at, other) : max(at, other)] + data[at:]
    if kind == 2:
        return data[:at] + bytes(chance.randrange(256) for _ in range(4)) + data[at + 4 :]
    if kind == 3:
        return data[:at] + data[at + chance.randrange(1, 200) :]
    return data[:at] + chance.choice((b"&#7;", b"&#0;", b"<![CDATA[", b"]]>", b"&x;")) + data[at:]


def damage_lines(data: bytes, chance: Random) -> bytes:
    """Lines and signs of a format that is made of them, changed one to six times."""
    text = data.decode("utf-8", "replace")
    for _ in range(chance.randint(1, 6)):
        lines = text.split("\n")
        row = chance.randrange(len(lines))
        kind = chance.randrange(6)
        if kind == 0:
            del lines[row]
        elif kind == 1:
            lines.insert(row, chance.choice(lines))
        elif kind == 2 and lines[row]:
            at = chance.randrange(len(lines[row]))
            lines[row] = lines[row][:at] + chance.choice(_SIGNS) + lines[row][at + 1 :]
        elif kind == 3:
            at = chance.randrange(len(lines[row]) + 1)
            sign = chance.choice((*_SIGNS, "99999999", "4096", "1/0", "(9:9:9", "[|:", "*^", "*v"))
            lines[row] = lines[row][:at] + sign + lines[row][at:]
        elif kind == 4:
            words = lines[row].split(" ")
            chance.shuffle(words)
            lines[row] = " ".join(words)
        else:
            lines[row] *= chance.choice((2, 40))
        text = "\n".join(lines)
    return text.encode("utf-8", "surrogatepass")


def damage_midi(data: bytes, chance: Random) -> bytes:
    """Bytes of a MIDI file changed, most often among its times and lengths."""
    made = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        at = chance.choice((chance.randrange(len(made)), chance.randrange(8, min(26, len(made)))))
        made[at] = chance.choice((0, 1, 0x7F, 0x80, 0xFF, chance.randrange(256)))
    if chance.random() < 0.3:
        at = chance.randrange(14, len(made))
        made[at:at] = b"\xff\xff\xff\x7f"
    return bytes(made if chance.random() < 0.9 else made[: chance.randrange(len(made))])


def encoded(data: bytes, chance: Random) -> bytes:
    """XML in another encoding, rightly or wrongly declared, or with other line ends."""
    text = data.decode("utf-8", "replace")
    if text.startswith("<?xml"):
        text = text.partition("?>")[2]
    said, real = chance.choice(
        (
            ("UTF-16", "utf-16"), ("UTF-8", "utf-8-sig"), ("ISO-8859-1", "latin-1"),
            ("UTF-8", "latin-1"), ("UTF-16", "utf-8"), ("windows-1252", "cp1252"),
            ("x-none", "utf-8"), ("UTF-32", "utf-32"), ("UTF-7", "utf-7"), ("EBCDIC", "cp037"),
        )
    )  # fmt: skip
    if chance.random() < 0.2:
        text = text.replace("\n", chance.choice(("\r\n", "\r", "\n\n")))
    if chance.random() < 0.2:
        text = '<!DOCTYPE score-partwise [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>' + text
    whole = f'<?xml version="1.0" encoding="{said}"?>\n{text}'
    return whole.encode(real, "replace")


def packed(data: bytes, chance: Random) -> bytes:
    """A compressed score, whole or harmed."""
    kind = chance.randrange(9)
    if kind == 0:
        return pack(data)
    if kind == 1:
        return damage_bytes(pack(data), chance)
    if kind == 2:
        return pack(pack(data))
    root, member = chance.choice(
        (
            ("score.xml", "score.xml"), ("a/b.xml", "a\\b.xml"), ("gone.xml", "score.xml"),
            ("../score.xml", "../score.xml"), ("", "score.xml"), ("score.xml", "SCORE.XML"),
            ("/score.xml", "/score.xml"), ("a%20b.xml", "a b.xml"), ("\u00e9.xml", "\u00e9.xml"),
        )
    )  # fmt: skip
    container = f'<container><rootfiles><rootfile full-path="{root}"/></rootfiles></container>'
    if kind == 3:
        container = chance.choice(("", "<container", "<container/>", container * 2))
    held = io.BytesIO()
    how = chance.choice((zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED, zipfile.ZIP_BZIP2))
    with zipfile.ZipFile(held, "w", how) as archive:
        if kind != 4:
            archive.writestr("META-INF/container.xml", container)
        if kind == 5:
            archive.writestr("second.musicxml", data)
        archive.writestr(member, data + b" " * 30_000_000 if kind == 6 else data)
        archive.writestr("a folder/", b"")
    made = bytearray(held.getvalue())
    if kind == 7:
        made[6] |= 1  # as if encrypted
    return bytes(made)
