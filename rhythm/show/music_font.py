"""The signs of music as a font, for text: tempo marks, labels, tables.

The engraver draws notes as outlines, but the note in a tempo mark is text. Its own outlines
(Leipzig, under the SIL Open Font License) are made into a font that holds just the signs asked
for, under a name of its own as that licence wants.

Conventions
-----------
Signs are named by their code point in the Standard Music Font Layout (SMuFL), four hexadecimal
digits. A font is 1000 units high. The same signs give the same bytes.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable
from functools import lru_cache
from io import BytesIO
from pathlib import Path

__all__ = ["FAMILY", "font_face", "music_font", "signs_in"]

FAMILY = "Remetre Signs"
_PATH = re.compile(r'<path transform="scale\(1,-1\)" d="([^"]*)"')
_ADVANCE = re.compile(r'<g c="([0-9A-F]+)"[^>]*h-a-x="(-?[\d.]+)"')
_SPACE = 90
_MADE = 3_786_912_000  # a font tells when it was made, in seconds since 1904: always the same


def signs_in(text: str) -> frozenset[str]:
    """The code points of the signs of music in a text."""
    return frozenset(f"{ord(sign):04X}" for sign in text if 0xE000 <= ord(sign) <= 0xF8FF)


def font_face(signs: Iterable[str]) -> str:
    """A style sheet's rule with the font inside."""
    data = b64encode(music_font(frozenset(signs), "woff")).decode()
    return (
        f'@font-face{{font-family:"{FAMILY}";src:url(data:font/woff;base64,{data}) format("woff")}}'
        "\n"
    )


@lru_cache(maxsize=64)
def music_font(signs: frozenset[str], flavour: str = "") -> bytes:
    """A font with these signs; ``flavour`` is "" for OpenType or ``woff`` for the browser.

    Signs that the engraver does not have are left out.
    """
    from fontTools.fontBuilder import FontBuilder

    data = _folder()
    found = sorted(sign for sign in signs if (data / f"{sign}.xml").is_file())
    advances = dict(_ADVANCE.findall(_listing()))
    names = {sign: f"uni{sign}" for sign in found}
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", "space", *names.values()])
    builder.setupCharacterMap({0x20: "space"} | {int(s, 16): name for s, name in names.items()})
    builder.setupCFF(
        "RemetreSigns",
        {"FullName": FAMILY},
        {".notdef": _outline("", 500), "space": _outline("", _SPACE)}
        | {names[sign]: _outline(_path(sign), _units(advances[sign])) for sign in found},
        {},
    )
    widths = {".notdef": (500, 0), "space": (_SPACE, 0)}
    widths |= {names[sign]: (_units(advances[sign]), 0) for sign in found}
    builder.setupHorizontalMetrics(widths)
    builder.setupHorizontalHeader(ascent=1000, descent=-400)
    builder.setupNameTable(
        {
            "familyName": FAMILY,
            "styleName": "Regular",
            "fullName": FAMILY,
            "psName": "RemetreSigns",
            "uniqueFontIdentifier": f"{FAMILY} {len(found)}",
            "version": "Version 1.0",
            "licenseDescription": "SIL Open Font License 1.1; outlines of Leipzig by its authors",
        }
    )
    builder.setupOS2(sTypoAscender=1000, sTypoDescender=-400, usWinAscent=1000, usWinDescent=400)
    builder.setupPost()
    builder.updateHead(created=_MADE, modified=_MADE)
    font = builder.font
    font.recalcTimestamp = False
    font.flavor = flavour or None
    held = BytesIO()
    font.save(held)
    return held.getvalue()


def _folder() -> Path:
    import verovio

    return Path(verovio.__file__).parent / "data" / "Leipzig"


@lru_cache(maxsize=1)
def _listing() -> str:
    return _folder().with_suffix(".xml").read_text(encoding="utf-8")


def _path(sign: str) -> str:
    found = _PATH.search((_folder() / f"{sign}.xml").read_text(encoding="utf-8"))
    return found[1] if found else ""


def _units(text: str) -> int:
    return int(text.partition(".")[0])


def _outline(path: str, advance: int) -> object:
    from fontTools.pens.t2CharStringPen import T2CharStringPen
    from fontTools.svgLib.path import parse_path

    pen = T2CharStringPen(advance, None)
    if path:
        parse_path(path, pen)
    return pen.getCharString()
