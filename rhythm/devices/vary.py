"""Varying: a score put through classical rhythmic devices, one after the other.

The devices take the music off its bars, hand it on to one another, and the last one's result is
laid on its bars and spelled. What each does is said in ``rhythm.devices.registry``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from rhythm.devices.registry import Device, device_named
from rhythm.exact.errors import RequestError
from rhythm.rebar.passage import Passage
from rhythm.rebar.rebuilding import settle
from rhythm.rebar.unbarring import lift
from rhythm.score.model import Score
from rhythm.score.select import Bars, select

__all__ = ["Varied", "varied"]


@dataclass(frozen=True, slots=True)
class Varied:
    """The varied score, what the devices had to tell, and which bars they were put to.

    ``passage`` are the bars of ``score`` that came of those asked for; None is all of them.
    """

    score: Score
    notes: tuple[str, ...]
    passage: Bars | None = None


def varied(
    score: Score,
    by: str | Iterable[str],
    *,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
) -> Varied:
    """As :func:`rhythm.verbs.vary`, where the options are told, with what the devices told.

    That is such things as notes absorbed, or where cycles meet.
    """
    asked = [by] if isinstance(by, str) else list(by)
    if not asked:
        raise RequestError("no device is named", legal="such as augmentation:2")
    chain = [device_named(text) for text in asked]
    wanted = select(score, bars=bars, part=part, voice=voice)
    passage = lift(score, *wanted.run)
    if not passage.bars:
        return Varied(score, ())
    chosen = [wanted.has_voice(each.part, passage.voice(each).name) for each in passage.strands]
    for device, argument in chain:
        passage = _applied(device, argument, passage, chosen).filled()
    came_of = Bars.run(passage.first, passage.first + len(passage.bars) - 1)
    return Varied(settle(passage), passage.notes, None if bars is None else came_of)


def _applied(device: Device, argument: str, passage: Passage, chosen: list[bool]) -> Passage:
    if all(chosen):
        return device.apply(passage, argument)
    inner = tuple(s for s, wanted in zip(passage.strands, chosen, strict=True) if wanted)
    result = device.apply(replace(passage, strands=inner), argument)
    if result.bars != passage.bars:
        raise RequestError(
            f"{device.name} changes the bars, so it takes all parts and voices together",
            legal="leave out part and voice",
        )
    changed = iter(result.strands)
    strands = tuple(
        next(changed) if wanted else strand
        for strand, wanted in zip(passage.strands, chosen, strict=True)
    )
    return replace(
        passage, strands=strands, notes=(*passage.notes, *result.notes[len(passage.notes) :])
    )
