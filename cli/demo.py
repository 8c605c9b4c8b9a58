"""``remetre demo``: the main job on a small built-in theme."""

from __future__ import annotations

import os
import sys
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import click

from . import out, params, restate

if TYPE_CHECKING:
    from rhythm.restate.targets import Target

__all__ = ["command"]

_THEME = "ropewalk"


@click.command("demo")
@click.option(
    "--to",
    type=params.TARGET,
    default="compound",
    show_default=True,
    help="What to restate the theme to, as in `remetre restate`.",
)
@click.option(
    "-o",
    "--out",
    "folder",
    metavar="FOLDER",
    default="remetre-demo",
    show_default=True,
    help="The folder to write to; it is made if need be.",
)
@click.option("--force", is_flag=True, help="Replace files of these names that differ.")
@click.option("--no-open", is_flag=True, help="Do not open the bench in the browser at the end.")
def command(to: Target, folder: str, force: bool, no_open: bool) -> None:
    """Restate a small built-in theme, and show what became of it.

    Writes the theme, the theme restated, and a page with both and the map of the beats to a folder;
    prints the map; checks that every bar adds up. Running it again is harmless: the same files come
    out. At a terminal with a browser beside it, the bench is opened with the theme on its tray.
    """
    from rhythm.check.ledger import check
    from rhythm.formats import read
    from rhythm.restate.restate import restated
    from rhythm.verbs import page
    from rhythm.writing import proven

    plain = (resources.files(__package__) / "themes" / f"{_THEME}.musicxml").read_bytes()
    theme = read(plain, name=f"{_THEME}.musicxml")
    done = restated(theme, to)
    restate.explain(done.report)

    where = Path(folder)
    where.mkdir(parents=True, exist_ok=True)
    made = proven(done.score)
    shown = page(done.score, before=theme, report=done.report)
    files = {
        where / f"{_THEME}.musicxml": plain,
        where / f"{_THEME}-restated.musicxml": made,
        where / f"{_THEME}.html": shown.encode(),
    }
    for path, data in files.items():
        _require_room(path, data, force)
    for path, data in files.items():
        _put(path, data, force)

    ledger = check(done.score)
    metres = ", ".join(f"{count} of {metre}" for metre, count in ledger.summary.metres)
    if not ledger.is_right:
        out.say(f"{len(ledger.faults)} faults in {metres}")
        raise click.exceptions.Exit(1)
    out.say(f"every bar adds up: {metres}")
    out.say(f"open {where / _THEME}.html in a browser to see and hear both")
    if not no_open and _has_browser():
        from .bench.server import serve

        serve((str(where / f"{_THEME}.musicxml"),), 0, browser=True, tell=out.say)


def _has_browser() -> bool:
    """Whether somebody sits at a terminal with a browser beside it that has a screen."""
    import webbrowser

    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return False
    if sys.platform.startswith("linux") and not {"DISPLAY", "WAYLAND_DISPLAY"} & set(os.environ):
        return False
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    return True


def _require_room(path: Path, data: bytes, force: bool) -> None:
    """Object to a file that is there already and differs, before any is written."""
    from rhythm.exact.errors import FileError, Place

    if path.exists() and not force and not (path.is_file() and path.read_bytes() == data):
        raise FileError(
            "another file of this name already exists",
            place=Place(str(path)),
            legal="--force replaces it, -o names another folder",
        )


def _put(path: Path, data: bytes, force: bool) -> None:
    """Write a file; one that is there already with these very bytes is left alone."""
    from rhythm.formats.files import save

    if not (path.is_file() and path.read_bytes() == data):
        save(data, path, force=force)
    out.wrote(str(path))
