"""The engraved page: a score as SVG, or as a page for the browser, two versions side by side.

Conventions
-----------
A score comes in as MusicXML bytes and goes out as text. Widths are tenths of a millimetre on paper
at full size. The same score gives the same text every time. The page is one file: it asks for
nothing from elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape
from typing import NamedTuple

from rhythm.exact.errors import MusicError, RequestError
from rhythm.show.engraver import draw
from rhythm.show.player import PLAYER

__all__ = ["Figure", "engrave", "html_page", "svg_page"]

_STYLE = """\
body { margin: 2rem auto; max-width: 110rem; padding: 0 1.5rem; background: #fbfaf7;
       color: #1c1b19; font-family: Georgia, "Times New Roman", serif; }
h1 { font-size: 1.5rem; font-weight: normal; margin: 0 0 1.5rem; }
main { display: grid; grid-template-columns: repeat(auto-fit, minmax(34rem, 1fr)); gap: 2rem; }
figure { margin: 0; padding: 1rem; background: #fff; border: 1px solid #ddd8cc; }
figcaption { font-style: italic; margin-bottom: .75rem; }
button { font: inherit; padding: .25rem .9rem; border: 1px solid #b9b2a2; background: #fbfaf7;
         border-radius: .3rem; cursor: pointer; }
svg.page { width: 100%; height: auto; display: block; }
@media print { body { margin: 0; max-width: none; background: none; } button { display: none; }
               figure { border: 0; padding: 0; } }
"""


def engrave(
    musicxml: bytes,
    *,
    width: int = 2100,
    scale: int = 40,
    key: int = 1,
    own_systems: bool = False,
) -> tuple[str, ...]:
    """Engrave a score; one SVG text a page, as one long page where it can be.

    ``width`` is the page's (500 to 20000), ``scale`` in percent (5 to 400). ``key`` tells the
    names inside the drawing apart from those of another drawing on the same page. With
    ``own_systems`` systems break where the score says so and nowhere else. Raises
    RequestError for a size out of range and MusicError where the score cannot be engraved.
    """
    if not 500 <= width <= 20_000:
        raise RequestError(f"a page {width} wide cannot be engraved", legal="500 to 20000")
    if not 5 <= scale <= 400:
        raise RequestError(f"a scale of {scale} cannot be engraved", legal="5 to 400 percent")
    pages, _count = draw(
        musicxml,
        {
            "breaks": "line" if own_systems else "auto",
            "pageWidth": width,
            "scale": scale,
            "smuflTextFont": "embedded",
            "svgFormatRaw": False,
            "svgRemoveXlink": False,
            "header": "auto",
            "xmlIdSeed": key,
        },
    )
    return tuple(pages)


def svg_page(pages: Sequence[str]) -> str:
    """One SVG document: a single page as it is, several set under each other."""
    if len(pages) == 1:
        return pages[0]
    placed: list[str] = []
    widest = top = 0
    for page in pages:
        width, height = _size(page)
        placed.append(_svg_only(page).replace("<svg", f'<svg y="{top}" height="{height}"', 1))
        widest, top = max(widest, width), top + height
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {widest} {top}">\n'
        + "\n".join(placed)
        + "\n</svg>\n"
    )


class Figure(NamedTuple):
    """One engraved score on a page: its caption, its pages, and its notes to listen to."""

    caption: str
    pages: Sequence[str]
    tune: str = ""


def html_page(title: str, figures: Sequence[Figure]) -> str:
    """A page for the browser that shows each engraved score under its caption, side by side.

    A figure with a tune (:func:`rhythm.show.player.tune`) can be listened to.
    """
    player = f"<script>\n{PLAYER}</script>\n" if any(figure.tune for figure in figures) else ""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>\n"
        f"<h1>{escape(title)}</h1>\n<main>\n{''.join(map(_figure, figures))}</main>\n"
        f"{player}</body>\n</html>\n"
    )


def _figure(figure: Figure) -> str:
    button = (
        f"<button type=\"button\" data-tune='{figure.tune}'>Listen</button>\n"
        if figure.tune
        else ""
    )
    head = f"<figcaption>{escape(figure.caption)}</figcaption>\n" if figure.caption else ""
    pages = (_svg_only(page).replace("<svg", '<svg class="page"', 1) for page in figure.pages)
    return "<figure>\n" + head + button + "\n".join(pages) + "\n</figure>\n"


def _svg_only(page: str) -> str:
    """The drawing without its XML declaration."""
    return page[page.index("<svg") :].strip()


def _size(page: str) -> tuple[int, int]:
    found = re.search(r'<svg[^>]*viewBox="0 0 (\d+)(?:\.\d+)? (\d+)(?:\.\d+)?"', page)
    if found is None:
        raise MusicError("the engraver gave a page without a size")
    return int(found[1]), int(found[2])
