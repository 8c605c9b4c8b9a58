"""Where an editor broke a beam inside a beat: at a phrase, a leap, a change of hand or of clef.

Two short notes of one beat share a beam. Where a score has flags there instead, that is no habit
but something the editor wanted to show of these very notes; it holds in another metre too, as long
as one beat holds both. Where syllables begin it is the singers' manner, which is a question of its
own.
"""

from __future__ import annotations

from collections.abc import Container, Iterator

from rhythm.notate.beams import FLAGS
from rhythm.notate.metric_grid import bar_grid
from rhythm.notate.observation import has_whole_beams
from rhythm.score.model import Event, Part, Voice

__all__ = ["broken_beams"]


def broken_beams(part: Part, bars: Container[int]) -> list[frozenset[int]]:
    """The events that no beam leads to though one beat holds both notes, by number, voice by voice.

    Of the bars with these indices alone; none in a part whose beams are not whole.
    """
    if not has_whole_beams(part):
        return [frozenset()] * len(part.voices)
    return [frozenset(_found(part, voice, bars)) for voice in part.voices]


def _found(part: Part, voice: Voice, bars: Container[int]) -> Iterator[int]:
    before: Event | None = None
    for i, event in enumerate(voice.events):
        if (
            before is not None
            and event.bar in bars
            and not event.verses
            and _is_unjoined(before, event)
        ):
            bar, at = part.bars[event.bar], event.pieces[0].offset
            grid = bar_grid(bar.metre, bar.length, bar.shift)
            if grid.rank(at) > grid.pulse:
                yield i
        before = event


def _is_unjoined(before: Event, event: Event) -> bool:
    """Two short notes, one after the other in a bar, at least one of them with a flag.

    Two beams that meet inside a beat are a manner of beaming and tell nothing of these notes.
    """
    if before.is_rest or event.is_rest or not before.pieces or not event.pieces:
        return False
    one, other = before.pieces[-1], event.pieces[0]
    if one.type not in FLAGS or other.type not in FLAGS or one.tremolo or other.tremolo:
        return False
    if one.bar != other.bar or one.end != other.offset or not (before.visible and event.visible):
        return False
    return not (one.beams and other.beams)
