"""``remetre vary``: a theme put through the classical rhythmic devices."""

from __future__ import annotations

import json

import click

from . import options, out

__all__ = ["command"]


@click.command("vary")
@click.argument("source", metavar="[SCORE]", required=False)
@click.option(
    "--by",
    "by",
    metavar="DEVICE[:ARG]",
    multiple=True,
    help="A device and its argument: augmentation:3/2. Give it again to go on from there.",
)
@click.option("--list", "listed", is_flag=True, help="List the devices and their arguments.")
@options.narrowed
@options.as_json
@options.into
def command(
    source: str | None,
    by: tuple[str, ...],
    listed: bool,
    bars: str | None,
    part: str | None,
    voice: str | None,
    as_json: bool,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Put a theme through the classical rhythmic devices, one after the other.

    \b
    remetre vary --list
    remetre vary song.musicxml --by augmentation:2 -o broad.musicxml
    remetre vary song.musicxml --by retrograde --by displacement:1/8 -o back.musicxml
    """
    if listed:
        _list(as_json)
        return
    if source is None:
        raise click.UsageError("name a SCORE, or ask for --list")
    if not by:
        raise click.UsageError("say which device with --by, as in --by augmentation:2")
    from rhythm.formats import read
    from rhythm.transform.vary import varied

    where = out.ready(where, source, force)
    done = varied(read(source), by, bars=bars, part=part, voice=voice)
    out.put(done.score, where, source=source, force=force)
    out.wrote(where, quiet)
    for line in done.notes:
        out.say(line, out=where, quiet=quiet)


def _list(as_json: bool) -> None:
    """The table of devices."""
    from rhythm.transform.devices.registry import DEVICES

    if as_json:
        keys = ("name", "argument", "summary", "keeps", "carries", "example", "source")
        for device in DEVICES.values():
            click.echo(json.dumps({key: getattr(device, key) for key in keys}))
        return
    rows = [(device.usage, device.summary, device.keeps) for device in DEVICES.values()]
    out.table(("device", "what it does", "what it keeps"), rows)
