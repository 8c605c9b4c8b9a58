"""Mending signatures: one that was misprinted, and one for a bar that holds another length."""

from __future__ import annotations

from rhythm.check.editor import Draft
from rhythm.check.remedies import Remedy
from rhythm.exact.metre import Metre

__all__ = ["follow", "reprint"]


def reprint(draft: Draft, remedy: Remedy) -> str:
    """Write the signature that the bars under it hold."""
    assert remedy.metre is not None
    old = ""
    for which in draft.parts_of(remedy.part):
        bars = draft.bars[which]
        printed = bars[remedy.bar].metre
        old = "" if printed is None else str(Metre(printed.terms))
        for index in range(remedy.bar, min(remedy.until, len(bars))):
            shows = bars[index].shows_metre or index == remedy.bar
            bars[index] = bars[index].replace(metre=remedy.metre, shows_metre=shows)
        draft.touch(which, [remedy.bar])
    return f"the signature {old} is now {remedy.metre}"


def follow(draft: Draft, remedy: Remedy) -> str:
    """Give a bar the signature of what it holds, and write the old one again after it."""
    assert remedy.metre is not None
    index = remedy.bar
    for which in range(len(draft.bars)):
        bars = draft.bars[which]
        if index >= len(bars):
            continue
        old = bars[index].metre
        before = bars[index - 1].metre if index else None
        shows = bars[index].shows_metre or remedy.metre != before
        bars[index] = bars[index].replace(metre=remedy.metre, shows_metre=shows)
        draft.touch(which, [index])
        if index + 1 < len(bars):
            after = bars[index + 1]
            turns = after.metre == old and old != remedy.metre
            if turns and not after.shows_metre:
                bars[index + 1] = after.replace(shows_metre=True)
                draft.touch(which, [index + 1])
    return f"a signature of its own: {remedy.metre}"
