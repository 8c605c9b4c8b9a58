"""``remetre vary``: a theme put through the classical rhythmic devices."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from . import options, out, params, work

if TYPE_CHECKING:
    from rhythm.practice.syllables import Counting
    from rhythm.score.model import Score

__all__ = ["command"]


@click.command("vary")
@click.argument("scores", metavar="[SCORE...]", nargs=-1, type=params.FILE)
@options.piece
@click.option(
    "--device",
    "devices",
    metavar="NAME[:ARG]",
    type=params.DEVICE,
    multiple=True,
    help="A device and its argument: augmentation:3/2. Give it again to go on from there.",
)
@click.option("--list", "listed", is_flag=True, help="List the devices and their arguments.")
@options.count
@options.narrowed
@options.manner
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    devices: tuple[str, ...],
    listed: bool,
    count: Counting | None,
    bars: str | None,
    part: str | None,
    voice: str | None,
    manner: str | Score,
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Put a theme through the classical rhythmic devices, one after the other.

    \b
    remetre vary --list
    remetre vary song.musicxml --device augmentation:2 -o broad.musicxml
    remetre vary song.musicxml --device retrograde --device displacement:1/8 -o back.musicxml
    """
    if listed:
        _list(as_json)
        return
    if not scores:
        raise click.UsageError("name a SCORE, or ask for --list")
    if not devices:
        raise click.UsageError("say which device with --device, as in --device augmentation:2")
    make = partial(_made, devices, bars=bars, part=part, voice=voice, count=count, manner=manner)
    work.over("vary", scores, make, work.Output(where, kind, force, quiet, as_json))


def _made(devices: tuple[str, ...], score: Score, /, **asked: Any) -> work.Made:
    from rhythm.verbs import vary

    done = vary.outcome(score, devices, **asked)
    made = work.made(done)

    def data() -> dict[str, object]:
        from rhythm.practice.difficulty import difficulty

        return {**made.data(), **difficulty(done.score).to_dict()}

    return replace(made, data=data)


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
