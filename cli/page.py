"""``remetre page``: a score to look at, alone or beside what it was made from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from . import options, out

if TYPE_CHECKING:
    from rhythm.score.model import Score

__all__ = ["command", "side_by_side"]


@click.command("page")
@options.source
@click.option("--before", metavar="SCORE", help="Show this score first, side by side (.html).")
@click.option(
    "--width",
    type=click.IntRange(500, 20_000),
    default=2100,
    show_default=True,
    help="Width of the page in tenths of a millimetre.",
)
@options.narrowed
@options.into
def command(
    source: str,
    before: str | None,
    width: int,
    bars: str | None,
    part: str | None,
    voice: str | None,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Engrave a score as SVG or as a page to open in a browser.

    The page is one file that needs nothing else; on it a score can be listened to. With --before
    it shows two scores side by side.

    \b
    remetre page song.musicxml -o song.svg
    remetre page lilting.musicxml --before song.musicxml -o compare.html
    """
    from rhythm.formats import read
    from rhythm.formats.files import save
    from rhythm.score.excerpt import excerpt

    kinds = (".html",) if before else (".svg", ".html")
    where = out.ready(where, source, force, kinds=kinds)
    scores = [
        (_caption(name), excerpt(read(name), bars=bars, part=part, voice=voice))
        for name in ([before] if before else []) + [source]
    ]
    if before or where.lower().endswith(".html"):
        shown = side_by_side(*scores, width=width)
    else:
        from rhythm.formats.musicxml.write.score_writer import to_bytes
        from rhythm.show.page import engrave, svg_page

        shown = svg_page(engrave(to_bytes(scores[0][1]), width=width))
    save(shown.encode(), where, force=force)
    out.wrote(where, quiet)


def side_by_side(*scores: tuple[str, Score], width: int = 2100) -> str:
    """A page for the browser with these scores next to each other, each under its caption."""
    from rhythm.formats.musicxml.write.score_writer import to_bytes
    from rhythm.show.page import Figure, engrave, html_page
    from rhythm.show.player import tune

    shown = []
    for key, (caption, score) in enumerate(scores, start=1):
        pages = engrave(to_bytes(score), width=width, key=key)
        shown.append(Figure(caption, pages, tune(score)))
    return html_page(", ".join(figure.caption for figure in shown), shown)


def _caption(source: str) -> str:
    return "standard input" if source == "-" else Path(source).name
