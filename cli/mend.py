"""``remetre mend``: put right what check finds wrong."""

from __future__ import annotations

import click

from . import options, out

__all__ = ["command"]


@click.command("mend")
@options.source
@click.option(
    "--metre", "how", flag_value="metre", default=True, help="The signature follows the content."
)
@click.option("--rests", "how", flag_value="rests", help="Rests fill what is missing.")
@options.into
def command(source: str, how: str, where: str | None, force: bool, quiet: bool) -> None:
    """Put right the bars that do not add up; no note is dropped or shortened.

    Either the signature follows what a bar holds and is restored after it, or rests fill what is
    missing. Rounded durations, tuplet brackets and ties that lead nowhere are mended too; bars in
    which nothing was wrong stay as they are.

    \b
    remetre mend draft.musicxml --rests -o right.musicxml
    """
    from rhythm.check.ledger import check
    from rhythm.check.mending import mend

    from .sources import read

    page = out.page_ready(source, force)
    if where is not None or not page:
        where = out.ready(where, source, force)
    score = read(source)
    mended = mend(score, how)
    if where is not None:
        out.put(mended, where, source=source, force=force)
    faults = len(check(score).faults)
    if faults:
        out.say(f"{faults} fault{'s' * (faults != 1)} mended", out=where or "", quiet=quiet)
    else:
        out.say("nothing was at fault", out=where or "", quiet=quiet)
    if where is not None:
        out.wrote(where, quiet)
    if page:
        out.put_page(page, mended, score, source=source, force=force, quiet=quiet)
