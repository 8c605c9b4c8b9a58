"""Paper: scores, practice sheets and keys as pages of a PDF, to print.

Conventions
-----------
Lengths are millimetres on paper. A staff is six millimetres high, smaller where a system would not
fit on a page. Every system is a block of its own that no page break cuts; a heading goes with the
system after it, and a piece under a heading that takes half a page or less stays whole. Music and
text are vectors, text is real, and all fonts are in the file. The same pieces give the same bytes.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.score.model import Score
from rhythm.show.drawing import Drawing, standalone
from rhythm.show.music_font import FAMILY, music_font, signs_in
from rhythm.show.rows import rows

__all__ = ["PAPERS", "Piece", "page_count", "pdf", "pieces_of", "sheets"]

PAPERS = {"a4": (210, 297), "letter": (216, 279)}
"""The sizes of paper by name: width and height."""

_SIDE, _TOP, _BOTTOM = 15, 14, 16
_STAFF = 72  # a staff of the engraver's, in tenths
_STAFF_ON_PAPER = 60
_SMALL = 50
_HEAD = 30  # what a title takes of the first page
_SMALLEST = 30
_SHORT = 2  # so many of the longest short pieces fill a page
_DOTS = 120  # to the inch, where a page is a picture

_PAGE = r"""
#let sheet = json("sheet.json")
#set document(title: sheet.title, date: none)
#set page(
  width: sheet.width * 1mm, height: sheet.height * 1mm,
  margin: (x: sheet.side * 1mm, top: sheet.top * 1mm, bottom: sheet.bottom * 1mm),
  footer: context {
    set text(8.5pt)
    let last = counter(page).final().first()
    if last > 1 {
      grid(columns: (1fr, auto, 1fr), [], counter(page).display(),
        align(right, if counter(page).get().first() > 1 { sheet.title }))
    }
  },
)
#set text(font: ("Libertinus Serif", "Remetre Signs"), size: 10.5pt)
#set par(justify: false)
#if sheet.title != "" {
  align(center, text(18pt, sheet.title))
  v(if sheet.author == "" { 4mm } else { -2mm })
}
#if sheet.author != "" { align(right, text(10.5pt, sheet.author)); v(2mm) }
#for piece in sheet.pieces {
  if piece.heading != "" {
    block(above: 4.75mm, below: 2.25mm, sticky: true, text(12pt, weight: "bold", piece.heading))
  }
  let followed = piece.rows.len() + piece.table.len() > 0
  for line in piece.text { block(above: 2mm, below: 2mm, sticky: followed, line) }
  if piece.table.len() > 0 {
    table(
      columns: piece.table.first().len(), stroke: none, inset: (x: 5pt, y: 3.2pt),
      table.header(..piece.table.first().map(cell => strong(cell))), table.hline(stroke: 0.5pt),
      ..piece.table.slice(1).flatten(),
    )
  }
  // Drawings are never broken; a full page spreads the systems of a long piece over its height,
  // and the few of a short one stay together.
  let systems = for (index, row) in piece.rows.enumerate() {
    if index > 0 and not piece.short { v(1fr, weak: true) }
    block(inset: (y: 2.25mm), spacing: 0mm, image(row.file, width: row.width * 1mm))
  }
  if piece.short { block(breakable: false, spacing: 0mm, systems) } else { systems }
}
#v(1000fr)
"""


@dataclass(frozen=True, slots=True)
class Piece:
    """What stands under one heading: lines of text, a table, music; any of them may be missing.

    The first line of a ``table`` is its head, set again where it goes on on the next page. With
    ``own_systems`` the music breaks where it says so itself and nowhere else.
    """

    score: Score | None = None
    heading: str = ""
    text: tuple[str, ...] = ()
    table: tuple[tuple[str, ...], ...] = ()
    own_systems: bool = False


def pdf(
    pieces: Sequence[Piece],
    *,
    title: str = "",
    author: str = "",
    paper: str = "a4",
    within: int | None = None,
) -> bytes:
    """The pieces on pages of ``paper`` (``a4`` or ``letter``), as a PDF.

    Where they pass this number of pages and would be ``within`` it on staves five millimetres high,
    the least that is read with ease (common practice, no source), they are set so.

    Raises RequestError for another paper and MusicError where a score cannot be engraved.
    """
    (made,) = _fewest(pieces, title, author, paper, "pdf", within)
    return made


def page_count(made: bytes) -> int:
    """How many pages a PDF has that was made here."""
    return len(re.findall(rb"/Type\s*/Page\b", made)) or 1


def sheets(
    pieces: Sequence[Piece],
    *,
    title: str = "",
    author: str = "",
    paper: str = "a4",
    within: int | None = None,
) -> list[bytes]:
    """The same pages as pictures, one PNG a page, to be looked at before they are printed."""
    return _fewest(pieces, title, author, paper, "png", within)


def _fewest(
    pieces: Sequence[Piece],
    title: str,
    author: str,
    paper: str,
    kind: Literal["pdf", "png"],
    within: int | None,
) -> list[bytes]:
    """The pages, set small where they then come out ``within`` a number, but not else."""
    made = _pages(pieces, title, author, paper, kind)
    if within is not None and within < _count(made) <= 2 * within:
        small = _pages(pieces, title, author, paper, kind, _SMALL)
        if _count(small) <= within:
            return small
    return made


def _count(made: Sequence[bytes]) -> int:
    return page_count(made[0]) if len(made) == 1 else len(made)


def _pages(
    pieces: Sequence[Piece],
    title: str,
    author: str,
    paper: str,
    kind: Literal["pdf", "png"],
    staff: int = _STAFF_ON_PAPER,
) -> list[bytes]:
    if paper.lower() not in PAPERS:
        raise RequestError(f"no paper is called {paper!r}", legal=" or ".join(PAPERS))
    width, height = PAPERS[paper.lower()]
    room = width - 2 * _SIDE, height - _TOP - _BOTTOM - _HEAD
    with tempfile.TemporaryDirectory(prefix="remetre-") as name:
        folder = Path(name)
        laid = [_laid(piece, number, room, folder, staff) for number, piece in enumerate(pieces)]
        sheet = {
            "title": title, "author": author, "width": width, "height": height,
            "side": _SIDE, "top": _TOP, "bottom": _BOTTOM, "pieces": laid,
        }  # fmt: skip
        (folder / "sheet.json").write_text(json.dumps(sheet), encoding="utf-8")
        (folder / "sheet.typ").write_text(_PAGE, encoding="utf-8")
        return _set(folder, pieces, kind)


def _laid(
    piece: Piece, number: int, room: tuple[int, int], folder: Path, staff: int
) -> dict[str, object]:
    """A piece as the page sets it; its drawings are put in the folder."""
    files: list[dict[str, object]] = []
    tall = 0
    if piece.score is not None:
        fitting = _fitting(piece.score, piece.own_systems, room, staff, full=piece.heading != "")
        for index, (drawing, width) in enumerate(fitting):
            file = folder / f"row-{number}-{index}.svg"
            drawn = standalone([drawing]).replace("Times New Roman", "Libertinus Serif")
            drawn = drawn.replace('class="music"', f'font-family="{FAMILY}" font-weight="400"')
            file.write_text(drawn, encoding="utf-8")
            files.append({"file": file.name, "width": width})
            tall += width * drawing.height // max(1, drawing.width)
    return {
        "heading": piece.heading, "text": piece.text, "table": piece.table, "rows": files,
        "short": piece.heading != "" and tall * _SHORT <= room[1],
    }  # fmt: skip


def _fitting(
    score: Score, own: bool, room: tuple[int, int], staff: int, *, full: bool
) -> list[tuple[Drawing, int]]:
    """The rows of a score with their widths on paper, small enough that none is cut."""
    breaks = "own" if own else "even"
    while True:
        engraved = room[0] * 10 * _STAFF // staff
        drawn = rows(score, breaks=breaks, width=engraved, full=full).drawings
        tallest = max(drawing.height for drawing in drawn) // 100 * staff // _STAFF
        if tallest <= room[1] or staff <= _SMALLEST:
            break
        staff = max(_SMALLEST, min(staff - 4, staff * room[1] // tallest))
    found: list[tuple[Drawing, int]] = []
    for drawing in drawn:
        high = room[0] * drawing.height // max(1, drawing.width)
        width = room[0] if high <= room[1] else room[0] * room[1] // high
        found.append((drawing, width))
    return found


def _set(folder: Path, pieces: Sequence[Piece], kind: Literal["pdf", "png"]) -> list[bytes]:
    import typst

    signs: set[str] = set()
    for file in folder.iterdir():
        signs |= signs_in(file.read_text(encoding="utf-8"))
    for piece in pieces:
        signs |= signs_in(piece.heading + "".join(piece.text))
    (folder / "signs.otf").write_bytes(music_font(frozenset(signs)))
    try:
        made = typst.compile(
            folder / "sheet.typ", root=folder, font_paths=[folder], format=kind, ppi=_DOTS
        )
    except typst.TypstError as error:
        said = str(error).splitlines()
        raise MusicError(f"the pages could not be set: {said[0] if said else error}") from None
    assert made is not None
    return made if isinstance(made, list) else [made]


def pieces_of(text: str) -> tuple[str, list[Piece]]:
    """A text with headings and tables, as answers are written in, as a title and pieces.

    A line that begins with ``#`` is the title, with ``##`` a heading; lines that begin with ``|``
    are a table, whose second line is left out.
    """
    title, found = "", [Piece()]
    table: list[tuple[str, ...]] = []
    for line in [*text.splitlines(), ""]:
        if line.startswith("|"):
            if not set(line) <= set("|- :"):
                table.append(tuple(cell.strip() for cell in line.strip("| ").split("|")))
            continue
        if table:
            found[-1] = replace(found[-1], table=tuple(table))
            found.append(Piece())
            table = []
        if line.startswith("## "):
            found.append(Piece(heading=line[3:].strip()))
        elif line.startswith("# "):
            title = line[2:].strip()
        elif line.strip():
            said = line.strip().replace("`", "")
            found[-1] = replace(found[-1], text=(*found[-1].text, said))
    return title, [piece for piece in found if piece != Piece()]
