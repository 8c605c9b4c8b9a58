"""Every bar in a sentence, for whoever hears the page instead of seeing it.

Conventions
-----------
``bar 6, 12/8: dotted quarter D, quarter B, eighth C``. Parts are named where there are several,
voices follow each other; hidden and cue notes are left out.
"""

from __future__ import annotations

from collections.abc import Mapping

from rhythm.score.identity import named_events
from rhythm.score.model import Score
from rhythm.show.mapping import Value

__all__ = ["bar_sentences"]


def bar_sentences(score: Score, values: Mapping[str, Value], prefix: str = "") -> tuple[str, ...]:
    """A sentence for every bar; ``values`` are :func:`rhythm.show.mapping.values_of` this score."""
    said: list[dict[tuple[int, str], list[str]]] = [{} for _ in score.bars]
    parts = {id(part): index for index, part in enumerate(score.parts)}
    for name, part, voice, event in named_events(score, prefix):
        if not event.visible or not event.duration:
            continue
        value = values[name]
        key = parts[id(part)], voice.name
        said[event.bar].setdefault(key, []).append(f"{value.words} {value.pitch}")
    return tuple(_sentence(score, index, lines) for index, lines in enumerate(said))


def _sentence(score: Score, index: int, lines: Mapping[tuple[int, str], list[str]]) -> str:
    bar = score.bars[index]
    head = f"bar {bar.number}" + (f", {bar.metre}" if bar.metre is not None else "")
    told: list[str] = []
    last = -1
    for (part, _voice), words in lines.items():
        name = score.parts[part].name or score.parts[part].id
        named = f"{name}: " if len(score.parts) > 1 and part != last else ""
        told.append(named + ", ".join(words))
        last = part
    return f"{head}: {'; '.join(told) or 'held over'}"
