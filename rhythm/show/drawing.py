"""The engraver's SVG made ours: slim, its glyphs shared, every note saying which event it is.

Conventions
-----------
A *drawing* is one ``svg`` element as text, class ``row``, with nothing in it from elsewhere. Its
glyphs are uses of ``#glyph-E0A4`` and the like (code points of the Standard Music Font Layout),
which stand once beside all drawings of a page (:func:`glyph_definitions`). A note or rest has
``data-event`` with the name of its event, a bar ``data-bar`` with its index; all is drawn in
``currentColor``. Text that is music (the note of a tempo mark) has class ``music``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

__all__ = ["STYLE", "Drawing", "cleaned", "glyph_definitions", "standalone"]

STYLE = """\
svg.row{fill:currentColor;font-family:"Times New Roman",Times,"Liberation Serif",serif}
svg.row ellipse,svg.row path,svg.row polygon,svg.row polyline,svg.row rect{stroke:currentColor}
svg.row .ending,svg.row .fing,svg.row .reh,svg.row .tempo{font-weight:bold}
svg.row .dir,svg.row .dynam,svg.row .mNum{font-style:italic}
svg.row .music{font-family:"Remetre Signs";font-weight:normal;font-style:normal}
"""
"""What the drawings need of a style sheet; the font is :mod:`rhythm.show.music_font`'s."""

_GLYPH = re.compile(r'<g id="([0-9A-F]{4,6})-[^"]*">(.*?)</g>', re.DOTALL)
_USE = re.compile(r'href="#([0-9A-F]{4,6})-[^"]*"')
_ID = re.compile(r' id="([^"]*)"')
_EVENT = re.compile(r"([a-z]*\d+-\d+-\d+)\.(?:g\d+|\d+\.\d+)")
_BAR = re.compile(r"[a-z]*bar(\d+)")
_PLACEHOLDER = re.compile(
    r'<g id="[^"]*" class="[^"]*(?:placeholder|Milestone)[^"]*"(?:/>|><ellipse[^>]*/></g>)'
)
_INNER = re.compile(r'<svg class="definition-scale"[^>]*viewBox="0 0 (\d+) (\d+)"[^>]*>')
_MUSIC_TEXT = re.compile(r'font-family="(?:Leipzig|Bravura)"')
_AFTER_WORDS = re.compile(
    r'(class="tempo"[^>]*><text[^>]*>(?:<tspan[^>]*>)+[^<\s][^<]*(?:</tspan>)+'
    r'(?:<tspan[^>]*>)*<tspan )class="music"'
)
"""The first note in a tempo mark that words come before: it stands apart from them."""
_OWNER = re.compile(r'(class="[^"]*?) id-\w+')
"""The class that names what a sign belongs to by an id that is made anew each time."""
_EMPTY = re.compile(r'<g(?: class="[^"]*")?(?:/>|></g>)')


class Drawing(NamedTuple):
    """One drawing, its glyphs by code point, the events and bars in it, its size.

    Sizes are hundredths of a millimetre on paper at full size, as everything inside it.
    """

    svg: str
    glyphs: Mapping[str, str]
    events: frozenset[str]
    bars: tuple[int, ...]
    width: int
    height: int

    @property
    def systems(self) -> int:
        """How many systems stand in it; more than one where it was too full for a row."""
        return self.svg.count('class="system"')


def cleaned(page: str) -> Drawing:
    """One page of the engraver as a drawing of ours."""
    inner = _INNER.search(page)
    assert inner is not None, "a page of the engraver has a size"
    body = page[inner.end() : page.rindex("</svg>", 0, page.rindex("</svg>"))]
    events: set[str] = set()
    bars: dict[int, None] = {}

    def named(found: re.Match[str]) -> str:
        if event := _EVENT.fullmatch(found[1]):
            events.add(event[1])
            return f' data-event="{event[1]}"'
        if bar := _BAR.fullmatch(found[1]):
            bars.setdefault(int(bar[1]))
            return f' data-bar="{bar[1]}"'
        return ""

    body = _ID.sub(named, _PLACEHOLDER.sub("", body))
    body = _USE.sub(r'href="#glyph-\1"', body)
    body = _EMPTY.sub("", _MUSIC_TEXT.sub('class="music"', body))
    body = _OWNER.sub(r"\1", body)
    body = _AFTER_WORDS.sub(r'\1dx="140" class="music"', body)
    width, height = int(inner[1]), int(inner[2])
    return Drawing(
        f'<svg class="row" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
        f"{body}</svg>",
        {name: path.strip() for name, path in _GLYPH.findall(page[: inner.start()])},
        frozenset(events),
        tuple(bars),
        width,
        height,
    )


def glyph_definitions(glyphs: Mapping[str, str]) -> str:
    """The glyphs as one ``svg`` element without size, to stand once before all drawings."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="0" height="0" aria-hidden="true"'
        f' class="glyphs">{_defined(glyphs)}</svg>'
    )


def standalone(drawings: Sequence[Drawing], font: str = "") -> str:
    """One SVG document with the drawings under each other; ``font`` is a style sheet with one."""
    widest = max(drawing.width for drawing in drawings)
    glyphs = {name: path for drawing in drawings for name, path in drawing.glyphs.items()}
    placed: list[str] = []
    top = 0
    for drawing in drawings:
        size = f'<svg y="{top}" width="{drawing.width}" height="{drawing.height}"'
        placed.append(drawing.svg.replace("<svg", size, 1))
        top += drawing.height
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_mm(widest)}" height="{_mm(top)}"'
        f' viewBox="0 0 {widest} {top}">\n<style>\n{font}{STYLE}</style>\n{_defined(glyphs)}\n'
        + "\n".join(placed)
        + "\n</svg>\n"
    )


def _mm(hundredths: int) -> str:
    return f"{hundredths // 100}.{hundredths % 100:02d}mm"


def _defined(glyphs: Mapping[str, str]) -> str:
    each = (f'<g id="glyph-{name}">{glyphs[name]}</g>' for name in sorted(glyphs))
    return f"<defs>{''.join(each)}</defs>"
