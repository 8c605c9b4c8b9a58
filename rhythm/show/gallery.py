"""A gallery: many short scores on one page, each drawn and to be heard, one after the other.

Conventions
-----------
The page needs nothing from elsewhere; it uses the styles and the ear of :mod:`rhythm.show.page`.
The same entries give the same page.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from html import escape
from itertools import groupby

from rhythm.exact.frozen import dataclass
from rhythm.score.model import Score
from rhythm.show.contents import Version
from rhythm.show.drawing import STYLE, glyph_definitions
from rhythm.show.music_font import font_face, signs_in
from rhythm.show.page import as_json, one_script, performance_data, web_file
from rhythm.show.rows import rows
from rhythm.show.sound import sound

__all__ = ["Entry", "gallery", "gallery_body", "gallery_entries"]

_WIDTH = 2000
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, slots=True)
class Entry:
    """One score of the gallery: its name, the head it stands under, a line about it."""

    name: str
    head: str
    line: str
    score: Score


def gallery_entries(
    entries: Sequence[Entry], first: int = 0
) -> tuple[list[dict[str, object]], dict[str, str], frozenset[str]]:
    """Every entry as plain data: its rows and what sounds; the glyphs and signs that they use.

    ``first`` is the number of the first of them, where others of the page came before.
    Raises MusicError where a score cannot be engraved.
    """
    made: list[dict[str, object]] = []
    glyphs: dict[str, str] = {}
    signs: frozenset[str] = frozenset()
    for number, entry in enumerate(entries, start=first):
        prefix = f"{_LETTERS[number % 26]}{_LETTERS[number // 26 % 26]}"
        drawn = rows(entry.score, prefix=prefix, width=_WIDTH)
        glyphs.update(drawn.glyphs)
        signs |= drawn.signs
        version = Version(entry.name, prefix, entry.score, sound(entry.score, prefix=prefix), ())
        made.append(
            {
                "name": entry.name,
                "head": entry.head,
                "line": entry.line,
                "prefix": prefix,
                "rows": [each.svg for each in drawn.drawings],
                "performance": performance_data(version),
            }
        )
    return made, glyphs, signs


def gallery(title: str, entries: Sequence[Entry]) -> str:
    """The page as one HTML document. Raises MusicError where a score cannot be engraved."""
    made, glyphs, signs = gallery_entries(entries)
    body = gallery_body(made)
    data = [{key: entry[key] for key in ("name", "prefix", "performance")} for entry in made]
    styles = font_face(signs | signs_in(body)) + STYLE + web_file("page.css")
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<title>{escape(title)}</title>\n<link rel="icon" href="data:,">\n'
        f"<style>\n{styles}{web_file('gallery.css')}</style>\n</head>\n<body>\n"
        f"{glyph_definitions(glyphs)}\n<header><h1>{escape(title)}</h1>"
        f"<p>{len(made)} guises. Each can be heard; all of them one after the other.</p></header>\n"
        '<form class="ear" aria-label="Listen">'
        '<button name="play" aria-pressed="false">Play all</button>'
        '<label>speed <input type="range" name="speed" min="25" max="200" step="5" value="100">'
        "</label><label>volume"
        ' <input type="range" name="volume" min="0" max="100" value="70"></label></form>\n'
        f'<main class="gallery">{body}</main>\n'
        f'<script type="application/json" id="gallery">{as_json(data)}</script>\n'
        f'<script type="module">\n{one_script(("ear.js", "gallery.js"))}</script>\n'
        "</body>\n</html>\n"
    )


def gallery_body(made: Sequence[Mapping[str, object]], under: str = "") -> str:
    """The entries of :func:`gallery_entries` under their heads, as HTML.

    ``under`` is the head that stands above them already.
    """
    return "".join(
        (f"<h2>{escape(head)}</h2>" if head != under else "")
        + "".join(_article(entry) for entry in run)
        for head, run in groupby(made, key=lambda entry: str(entry["head"]))
    )


def _article(entry: Mapping[str, object]) -> str:
    name, line = escape(str(entry["name"])), escape(str(entry["line"]))
    drawn = entry["rows"]
    assert isinstance(drawn, list)
    prefix = json.dumps(entry["prefix"])
    return (
        f'<article class="guise" data-version={prefix}><h3>{name}</h3><p>{line}</p>'
        f'<button type="button" class="hear" aria-label="Play {name}">Play</button>'
        f"{''.join(drawn)}</article>"
    )
