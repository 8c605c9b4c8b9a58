"""``remetre vary``: a theme put through the classical rhythmic devices."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from . import options, out

if TYPE_CHECKING:
    from rhythm.score.outcome import Outcome, Report
    from rhythm.verbs import Counting

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
@options.count
@options.narrowed
@options.as_json
@options.into
def command(
    source: str | None,
    by: tuple[str, ...],
    listed: bool,
    count: Counting | None,
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
    from rhythm.verbs import vary

    if where is not None or not as_json:
        where = out.ready(where, source, force)
    done = vary.outcome(read(source), by, bars=bars, part=part, voice=voice, count=count)
    if where is not None:
        out.put(done.score, where, source=source, force=force)
    if as_json:
        _tell(done, where or "")
        return
    out.wrote(where or "", quiet)
    out.say(str(done.report), out=where or "", quiet=quiet)


def _tell(done: Outcome[Report], where: str) -> None:
    """What was made, and how hard it is, as one object."""
    from rhythm.practice.difficulty import difficulty

    told = done.report.to_dict() | difficulty(done.score).to_dict()
    out.say(json.dumps(told, ensure_ascii=False), out=where)


def _list(as_json: bool) -> None:
    """The table of devices."""
    from rhythm.devices.registry import DEVICES

    if as_json:
        keys = ("name", "argument", "summary", "keeps", "carries", "example", "source")
        for device in DEVICES.values():
            click.echo(json.dumps({key: getattr(device, key) for key in keys}))
        return
    rows = [(device.usage, device.summary, device.keeps) for device in DEVICES.values()]
    out.table(("device", "what it does", "what it keeps"), rows)
