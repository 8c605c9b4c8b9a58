"""``remetre page``: a score to look at, alone or beside what it was made from."""

from __future__ import annotations

from pathlib import Path

import click

from . import options, out

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
@options.into
def command(
    source: str, before: str | None, width: int, where: str | None, force: bool, quiet: bool
) -> None:
    """Engrave a score as SVG or as a page to open in a browser.

    The page is one file that needs nothing else; on it a score can be listened to. With --before
    it shows two scores side by side.

    \b
    remetre page song.musicxml -o song.svg
    remetre page lilting.musicxml --before song.musicxml -o compare.html
    """
    from rhythm.formats.files import save

    kinds = (".html",) if before else (".svg", ".html")
    where = out.ready(where, source, force, kinds=kinds)
    if before or where.lower().endswith(".html"):
        shown = side_by_side(*([before] if before else []), source, width=width)
    else:
        from rhythm.formats import read
        from rhythm.formats.musicxml.writer import to_bytes
        from rhythm.show.page import engrave, svg_page

        shown = svg_page(engrave(to_bytes(read(source)), width=width))
    save(shown.encode(), where, force=force)
    out.wrote(where, quiet)


def side_by_side(*sources: str, width: int = 2100) -> str:
    """A page for the browser with these scores next to each other, captioned by their names."""
    from rhythm.formats import read
    from rhythm.formats.musicxml.writer import to_bytes
    from rhythm.show.listen import tune
    from rhythm.show.page import Figure, engrave, html_page

    shown = []
    for key, source in enumerate(sources, start=1):
        score = read(source)
        pages = engrave(to_bytes(score), width=width, key=key)
        shown.append(Figure(_caption(source), pages, tune(score)))
    return html_page(", ".join(figure.caption for figure in shown), shown)


def _caption(source: str) -> str:
    return "standard input" if source == "-" else Path(source).name
