"""``remetre bench``: the whole job in a browser, served from this machine to this machine alone."""

from __future__ import annotations

from pathlib import Path

import click

from .. import options, out, params

__all__ = ["command"]


@click.command("bench")
@click.argument("scores", metavar="[SCORE|FOLDER]...", nargs=-1, type=params.FILE)
@click.option(
    "--port", type=params.Number(0, 65535), default=0, help="Listen here. [default: a free port]"
)
@click.option("--no-open", is_flag=True, help="Only say the address; do not open the browser.")
@options.quiet
def command(scores: tuple[str, ...], port: int, no_open: bool, quiet: bool) -> None:
    """Open the bench in the browser: say in sentences what is to be done, and see and hear it.

    Scores named here lie on its tray; others can be dropped on the page. Nothing leaves this
    machine, and no file is changed. It ends with Ctrl-C, or when the page has been closed for a
    while.

    \b
    remetre bench
    remetre bench song.musicxml
    remetre bench songs/
    """
    from rhythm.exact.errors import FileError, Place

    from .server import serve

    for name in scores:
        if not Path(name).exists():
            raise FileError("there is no such file or folder", place=Place(name))
    serve(
        scores,
        port,
        browser=not no_open,
        tell=lambda line: out.say(line, quiet=quiet),
    )
