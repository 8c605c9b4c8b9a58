"""The page: one file to open from disk that shows a score, or two versions of it, and plays them.

It asks for nothing from elsewhere: drawings, the font with the signs of music, styles and modules
stand in it. Without scripts it still shows the music and prints it.

Conventions
-----------
Styles and modules are files under ``web/``, plain CSS and ECMAScript; whoever serves a page of
their own can use the same ones (:func:`web_file`). A module imports only its neighbours, in lines
of their own, so that all of them can stand in one script here.
"""

from __future__ import annotations

import gzip
import json
import re
from base64 import b64encode
from collections.abc import Sequence
from html import escape
from importlib import resources

from rhythm.show.beats import count_in
from rhythm.show.contents import Change, Contents, Layout, Outline, Version
from rhythm.show.drawing import STYLE, glyph_definitions
from rhythm.show.listening import HINT, listening
from rhythm.show.mapping import Mapped
from rhythm.show.music_font import font_face, signs_in
from rhythm.show.printed import printed_percent
from rhythm.show.proof_strip import VERDICTS, Proof
from rhythm.show.row_section import row_section
from rhythm.show.sound import Performance, Tone

__all__ = [
    "MODULES",
    "as_json",
    "changes_table",
    "one_script",
    "outline_data",
    "page",
    "performance_data",
    "proof_lines",
    "strand_data",
    "strip_data",
    "web_file",
]

MODULES = ("ear.js", "threads.js", "strip.js", "page.js")
"""The modules of the page, each after those that it imports."""

_IMPORT = re.compile(r"^import [^\n]*;\n", re.MULTILINE)
_EXPORT = re.compile(r"^export ", re.MULTILINE)


def web_file(name: str) -> str:
    """The text of a style sheet or module of the page."""
    return (resources.files(__package__) / "web" / name).read_text(encoding="utf-8")


def page(found: Contents) -> str:
    """The page as one HTML document."""
    data = outline_data(found.outline)
    data["narrow"] = _packed(_rows(found, found.narrow)) if found.narrow else ""
    body = _body(found)
    signs = signs_in(body + json.dumps(data["strands"], ensure_ascii=False))
    glyphs = {
        name: path
        for layout in (found.wide, found.narrow)
        for row in layout
        for drawing in row
        if drawing is not None
        for name, path in drawing.glyphs.items()
    }
    styles = font_face(signs | _signs(found.narrow)) + STYLE + web_file("page.css")
    script = one_script(MODULES)
    title = escape(found.outline.title or "Score")
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<title>{title}</title>\n<link rel="icon" href="data:,">\n<style>\n{styles}</style>\n'
        f"</head>\n<body>\n{glyph_definitions(glyphs)}\n{body}"
        f'<script type="application/json" id="music">{as_json(data)}</script>\n'
        f'<script type="module">\n{script}</script>\n</body>\n</html>\n'
    )


def _signs(layout: Layout) -> frozenset[str]:
    return frozenset().union(*(signs_in(d.svg) for row in layout for d in row if d is not None))


def one_script(names: Sequence[str]) -> str:
    """Modules as one script, each after those that it imports."""
    return "".join(_EXPORT.sub("", _IMPORT.sub("", web_file(name))) for name in names)


def as_json(data: object) -> str:
    """JSON that can stand in a script element."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _body(found: Contents) -> str:
    outline = found.outline
    lines = "".join(f"<p>{escape(line)}</p>" for line in outline.proof.lines[:1])
    return (
        f"<header><h1>{escape(outline.title or 'Score')}</h1>{lines}</header>\n"
        f"{listening([version.name for version in outline.versions])}"
        f'<main id="rows" style="--printed:{printed_percent(found.wide)}%">'
        f"{_rows(found, found.wide)}</main>\n"
        f"{HINT}{_strip(outline.proof)}"
        f"{changes_table(outline.changes) if len(outline.versions) == 2 else ''}"
    )


def _rows(found: Contents, layout: Layout) -> str:
    versions = found.outline.versions
    names, prefixes = [each.name for each in versions], [each.prefix for each in versions]
    scores = [each.score for each in versions]
    return "\n".join(row_section(names, prefixes, scores, row) for row in layout)


def _strip(proof: Proof) -> str:
    lines = "".join(f"<li>{escape(line)}</li>" for line in proof_lines(proof))
    return (
        '<section class="strip"><h2>Does it add up?</h2>'
        f'<div class="legend" id="strip-legend"></div><ol id="strip-marks"></ol>'
        f'<ul class="lines">{lines}</ul></section>\n'
    )


def proof_lines(proof: Proof) -> list[str]:
    """What the proof says of the whole, in lines."""
    said = []
    if proof.notes_before is not None:
        said.append(
            f"{proof.notes_before} notes before, {proof.notes_after} after; "
            f"{proof.changed} of {len(proof.bars)} bars are written anew"
        )
    if not proof.faults:
        said.append("every bar adds up")
    return said + list(proof.lines)


def changes_table(changes: Sequence[Change]) -> str:
    """The table of what became of each beat, as HTML; nothing where there are no changes."""
    if not changes:
        return ""
    why = any(change.why for change in changes)
    lines = "".join(
        f'<tr><td class="signs">{escape(change.before)}</td>'
        f'<td class="signs">{escape(change.after)}</td><td class="times">{change.times}</td>'
        + (f"<td>{escape(change.why)}</td>" if why else "")
        + "</tr>"
        for change in changes
    )
    head = "<th>was</th><th>became</th><th>times</th>" + ("<th>why</th>" if why else "")
    return (
        '<section class="why"><h2>What became of it</h2><div class="scroll"><table><thead><tr>'
        f"{head}</tr></thead><tbody>{lines}</tbody></table></div></section>\n"
    )


def outline_data(found: Outline) -> dict[str, object]:
    """What ``web/page.js`` must know of a page; with ``narrow`` rows for a small screen."""
    keys = [version.prefix for version in found.versions]
    runs = [column if len(keys) == 2 else column[1:] for column in found.columns]
    return {
        "versions": [
            {
                "prefix": version.prefix,
                "name": version.name,
                "numbers": [bar.number for bar in version.score.bars],
                "metres": [str(bar.metre or "no metre") for bar in version.score.bars],
                "parts": [part.name or part.id for part in version.score.parts],
                "sentences": version.sentences,
                "performance": performance_data(version),
            }
            for version in found.versions
        ],
        "columns": [
            {key: [run.start, run.stop] for key, run in zip(keys, column, strict=True)}
            for column in runs
        ],
        "strands": strand_data(found.found),
        "proof": strip_data(found.proof),
        "verdicts": VERDICTS,
    }


def _packed(text: str) -> str:
    return b64encode(gzip.compress(text.encode(), mtime=0)).decode()


def performance_data(version: Version) -> dict[str, object]:
    """A performance as ``web/ear.js`` plays it."""
    performance: Performance = version.performance
    bars = version.score.bars
    tones = [
        [t.at, t.until - t.at, t.key, t.loudness, t.part, t.bar, t.events, *_colour(t, rings)]
        for t, rings in sorted(
            zip(performance.tones, performance.rings_until(), strict=True),
            key=lambda each: each[0].at,
        )
    ]
    counted = {(bar.bar, bar.pace): count_in(bars[bar.bar], bar.pace) for bar in performance.bars}
    return {
        "tones": tones,
        "clicks": [[c.at, c.weight, c.bar, c.beat] for c in performance.clicks],
        "bars": [[b.bar, b.at, b.until, *counted[b.bar, b.pace]] for b in performance.bars],
    }


def _colour(tone: Tone, rings: int) -> list[int]:
    """What else there is to a tone: cents, percussion, plucked, and how much longer it rings."""
    found = [tone.cents, int(tone.percussion), int(tone.plucked), rings - tone.until]
    while found and not found[-1]:
        found.pop()
    return found


def strand_data(found: Mapped | None) -> list[dict[str, object]]:
    """The map as ``web/threads.js`` draws it."""
    if found is None:
        return []
    return [
        {
            "bar": s.before.bar,
            "event": s.before.event,
            "signs": s.before.signs,
            "place": s.before.place,
            "words": s.before.words,
            "pitch": s.before.pitch,
            "why": s.why,
            "to": [
                {
                    "bar": v.bar, "event": v.event, "signs": v.signs, "place": v.place,
                    "words": v.words,
                }
                for v in s.after
            ],
        }
        for s in found.strands
    ]  # fmt: skip


def strip_data(proof: Proof) -> list[list[object]]:
    """The proof as ``web/strip.js`` draws it."""
    return [[b.number, b.metre, b.sum, b.verdict, b.changed, b.says] for b in proof.bars]
