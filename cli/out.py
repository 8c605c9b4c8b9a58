"""What leaves the program: scores by the ending of their name, tables and lines for people.

A table is drawn on a terminal and is plain columns when piped. Lines that tell of work done go to
standard error when the score itself goes to standard output.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .errors import clean

if TYPE_CHECKING:
    from rhythm.score.model import Score

__all__ = [
    "KINDS",
    "also_read",
    "asked",
    "count",
    "counted",
    "extent",
    "page_ready",
    "put",
    "put_page",
    "reads",
    "ready",
    "say",
    "table",
    "wrote",
]

KINDS = (".musicxml", ".xml", ".mxl", ".mid", ".midi", ".svg", ".pdf", ".html")


def ready(
    out: str | None,
    source: str,
    force: bool,
    kinds: Sequence[str] = KINDS,
    inputs: Sequence[str | None] = (),
) -> str:
    """Object to a place that cannot be written before any work is done; return the place.

    ``kinds`` are the endings that this verb can write; ``inputs`` other files that it reads, beside
    those that its options told of (``reads``).
    """
    from rhythm.exact.errors import FileError, Place, RequestError

    if not out:
        raise click.UsageError("say where to write with -o FILE, or -o - for standard output")
    if out == "-":
        return out
    path, place = Path(out), Place(out)
    if path.suffix.lower() not in kinds:
        raise RequestError(
            "the ending does not say what to write",
            place=place,
            legal=f"end with {_one_of(kinds)}",
        )
    if not path.parent.is_dir():
        raise FileError("there is no such folder", place=place, legal="make it first")
    if path.exists():
        for read in (source, *inputs, *also_read()):
            if read and read != "-" and Path(read).exists() and path.samefile(read):
                what = "the score" if read == source else "a file"
                raise FileError(
                    f"this is {what} being read", place=place, legal="name another file"
                )
        if not force:
            raise FileError("the file already exists", place=place, legal="--force replaces it")
    return out


def _one_of(names: Sequence[str]) -> str:
    return " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def reads(file: str) -> None:
    """Say that an option's ``file`` is read too, so that no result of this command replaces it."""
    click.get_current_context().meta["remetre.reads"] = (*also_read(), file)


def also_read() -> tuple[str, ...]:
    """The files that options named to be read."""
    context = click.get_current_context(silent=True)
    return () if context is None else tuple(context.meta.get("remetre.reads", ()))


def asked(name: str, default: str = "") -> str:
    """What an option says that is kept with the command rather than handed to it."""
    context = click.get_current_context(silent=True)
    return str(context.meta.get(f"remetre.{name}") or default) if context is not None else default


def put(
    score: Score,
    out: str,
    *,
    source: str,
    force: bool = False,
    own_systems: bool = False,
    paper: str = "",
) -> int:
    """Write ``score`` as the ending of ``out`` says, whole or not at all; how many pages it has.

    With ``own_systems`` a drawing has the score's own system breaks. ``paper`` is what --paper
    says, where it is not asked here. What is not paper has no pages.
    """
    from rhythm.formats.files import save

    made = _rendered(score, out, own_systems, paper or asked("paper", "a4"))
    save(made, out, force=force, source="" if source == "-" else source)
    if not out.lower().endswith(".pdf"):
        return 0
    from rhythm.show.paper import page_count

    return page_count(made)


def page_ready(source: str, force: bool) -> str:
    """Where --page wants a page, once it is known that one can be written there; "" for none."""
    where = asked("page")
    return ready(where, source, force, kinds=(".html",)) if where else ""


def put_page(
    where: str,
    score: Score,
    before: Score | None = None,
    report: Any = None,
    *,
    source: str,
    force: bool = False,
    quiet: bool = False,
) -> None:
    """Write the page that --page asks for, and say so."""
    from rhythm.formats.files import save
    from rhythm.verbs import page

    shown = page(score, before=before, report=report)
    save(shown.encode(), where, force=force, source="" if source == "-" else source)
    wrote(where, quiet)


def _rendered(score: Score, out: str, own_systems: bool, paper: str) -> bytes:
    from rhythm.formats.files import pack
    from rhythm.formats.musicxml.titles import composer_of, named_after
    from rhythm.writing import proven

    path = Path(out)
    kind = path.suffix.lower()
    if out == "-" or kind in (".musicxml", ".xml"):
        return proven(score)
    if kind == ".mxl":
        return pack(proven(score))
    if kind in (".mid", ".midi"):
        from rhythm.show.midi import midi_bytes

        return midi_bytes(score)
    proven(score)
    if kind == ".pdf":
        from rhythm.show.paper import Piece, pdf

        piece = Piece(score, own_systems=own_systems)
        title = score.title or named_after(score.path)
        return pdf([piece], title=title, author=composer_of(score), paper=paper)
    if kind == ".svg":
        from rhythm.show.sheet import svg

        return svg(score, own_systems=own_systems).encode()
    from rhythm.verbs import page

    return page(score, title=score.title or path.stem).encode()


def say(line: str, *, out: str = "", quiet: bool = False) -> None:
    """Tell a person something, unless ``quiet``; aside when ``out`` is standard output."""
    if not quiet:
        click.echo(clean(line), err=out == "-")


def wrote(
    where: str, quiet: bool = False, score: Score | None = None, pages: int = 0, more: str = ""
) -> None:
    """Tell that a file was written, and how much music; standard output speaks for itself."""
    count(len(score.bars) if score is not None else 0, pages)
    if where == "-":
        return
    told = [extent(score)] if score is not None else []
    if pages:
        told.append(f"{pages} page{'s' * (pages != 1)}")
    told += filter(None, [more])
    say(f"wrote {where}" + (f": {', '.join(told)}" if told else ""), quiet=quiet)


def count(bars: int, pages: int = 0) -> None:
    """Add to what the total of a run over many scores says."""
    context = click.get_current_context(silent=True)
    if context is not None:
        had = counted()
        context.meta["remetre.counted"] = (had[0] + bars, had[1] + pages)


def counted() -> tuple[int, int]:
    """How many bars and pages this command has written so far."""
    context = click.get_current_context(silent=True)
    found = None if context is None else context.meta.get("remetre.counted")
    return found or (0, 0)


def extent(score: Score) -> str:
    """How much music there is: ``14 bars of 12/8``, ``9 bars of 7/8 and 5/8``."""
    metres = list(dict.fromkeys(str(bar.metre) for bar in score.bars if bar.metre is not None))
    count = len(score.bars)
    named = " and ".join(metres) if len(metres) < 3 else "several metres"
    return f"{count} bar{'s' * (count != 1)}" + (f" of {named}" if named else "")


def table(columns: Sequence[str], rows: Sequence[Sequence[str]], *, out: str = "") -> None:
    """A table for people: drawn on a terminal, plain columns otherwise."""
    stream = sys.stderr if out == "-" else sys.stdout
    if stream is not None and stream.isatty():
        from rich import box
        from rich.console import Console
        from rich.table import Table

        drawn = Table(*columns, box=box.SIMPLE_HEAD)
        for row in rows:
            drawn.add_row(*map(clean, row))
        Console(file=stream, markup=False, highlight=False).print(drawn)
        return
    widths = [max(len(row[i]) for row in (columns, *rows)) for i in range(len(columns))]
    for row in (columns, *rows):
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.echo(clean("  ".join(cells).rstrip()), file=stream)
