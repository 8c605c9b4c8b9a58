"""Varying: a score put through classical rhythmic devices, one after the other.

The devices take the music off its bars, hand it on to one another, and the last one's result is
laid on its bars and spelled. What each does is said in ``rhythm.devices.registry``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from rhythm.devices.registry import Device, device_named
from rhythm.exact.errors import RequestError
from rhythm.rebar.passage import Passage
from rhythm.rebar.rebuilding import Settled, settle
from rhythm.rebar.telling import counted, outcome, redrawn
from rhythm.rebar.unbarring import lift
from rhythm.rebar.whole_tuplets import completed
from rhythm.score.outcome import Fact, Outcome, Report
from rhythm.score.select import Selection

__all__ = ["varied"]


def varied(wanted: Selection, by: str | Iterable[str]) -> Outcome[Report]:
    """What is wanted of a score put through devices: see :func:`rhythm.verbs.vary`.

    The report has ``told``, what the devices had to tell, such as notes absorbed.
    """
    asked = [by] if isinstance(by, str) else list(by)
    if not asked:
        raise RequestError("no device is named", legal="such as augmentation:2")
    chain = [device_named(text) for text in asked]
    passage = lift(wanted.score, *wanted.run)
    if passage.is_empty:
        return Outcome(wanted.score, None, Report(idle="there is no music"))
    chosen = [wanted.has_voice(each.part, passage.voice(each).name) for each in passage.strands]
    changed = passage
    for device, argument in chain:
        changed = _applied(device, argument, changed, chosen).filled()
    whole = completed(changed).filled()
    settled = settle(whole)
    facts = [
        Fact("by", tuple(asked)),
        _done(passage, settled),
        Fact("told", whole.notes, "; ".join(whole.notes)),
    ]
    return outcome(passage, settled, wanted.bars, facts, idle=_nothing(chain))


def _done(passage: Passage, settled: Settled) -> Fact:
    """Which bars came of which, or how many are not as they were."""
    before, after = passage.last - passage.first + 1, len(settled.bars)
    if before != after:
        return redrawn(passage, settled)
    # A tie cut at an edge has the bar beside the passage written anew; it is not one of these.
    inside = range(passage.first, passage.first + after)
    count = sum(1 for bar in settled.changed if bar in inside)
    words = f"{count} of {counted(after, 'bar')} changed" if count else ""
    return Fact("changed_bars", count, words)


def _nothing(chain: Sequence[tuple[Device, str]]) -> str:
    names = " and ".join(device.name for device, _ in chain)
    return f"{names} find{'s' if len(chain) == 1 else ''} nothing here to work on"


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
