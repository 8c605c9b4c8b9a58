"""``remetre page``: a score to look at, alone or beside what it was made from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from . import options, out, params, work

__all__ = ["command"]

_KINDS = (".html", ".svg", ".pdf")


@click.command("page")
@options.sources
@click.option("--before", metavar="SCORE", help="Show this score above, bar over bar (.html).")
@click.option(
    "--count",
    type=params.Word(["numbers", "takadimi", "gordon", "kodaly"]),
    default="numbers",
    show_default=True,
    help="How the page counts (.html).",
)
@click.option("--title", metavar="TEXT", default="", help="What to call the page (.html).")
@click.option(
    "--width",
    type=params.Number(500, 20_000),
    default=2100,
    show_default=True,
    help="Width of a drawing (.svg) in tenths of a millimetre, 500 to 20000.",
)
@options.narrowed
@options.into_kinds(_KINDS, many=True)
@work.one_by_one(_KINDS, apart=("before", "title"))
def command(
    source: str,
    before: str | None,
    count: Any,
    title: str,
    width: int,
    bars: str | None,
    part: str | None,
    voice: str | None,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Engrave a score as SVG, on paper, or as a page to open in a browser.

    The page is one file that needs nothing else; on it a score can be listened to. With --before
    two scores stand one over the other, and threads lead from every note to its image.

    \b
    remetre page song.musicxml -o song.svg
    remetre page songs/ --kind pdf -o sheets/
    remetre page lilting.musicxml --before song.musicxml -o compare.html
    """
    from rhythm import formats
    from rhythm.formats.files import save
    from rhythm.score.excerpt import excerpt

    from .sources import read

    kinds = (".html",) if before else _KINDS
    where = out.ready(where, source, force, kinds=kinds, inputs=(before,))
    score = read(source)
    if before or where.lower().endswith(".html"):
        from rhythm.verbs import page

        shown: str = page(
            score,
            before=None if before is None else formats.read(before),
            names=(_name(before), _name(source)),
            title=title or ("" if before is None else f"{_name(before)}, {_name(source)}"),
            count=count,
            bars=bars,
            part=part,
            voice=voice,
        )
        score = excerpt(score, bars=bars, part=part, voice=voice)
    elif where.lower().endswith(".pdf"):
        score = excerpt(score, bars=bars, part=part, voice=voice)
        pages = out.put(score, where, source=source, force=force)
        out.wrote(where, quiet, score, pages)
        return
    else:
        from rhythm.show.sheet import svg

        score = excerpt(score, bars=bars, part=part, voice=voice)
        shown = svg(score, width=width)
    save(shown.encode(), where, force=force)
    out.wrote(where, quiet, score)


def _name(source: str | None) -> str:
    return "standard input" if source == "-" else Path(source or "").name
