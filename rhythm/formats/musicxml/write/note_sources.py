"""What stands behind a note of the model: the elements it was read from, or what they come to.

A note made from another carries its share of that note, one that took in others the ends of their
slurs, one that sounds a second time nothing, a note of a reversed line its slurs turned round, one
at the edge of a passage the ends of what is cut there
(:mod:`rhythm.score.sources`). Elements that were read as they are come back themselves, all others
as copies.
"""

from __future__ import annotations

from collections.abc import Iterable

from lxml import etree

from rhythm.formats.musicxml.write.held_pieces import alike
from rhythm.formats.musicxml.write.payload import absorbed, bare, crossed, share, turned
from rhythm.score.sources import Absorbing, Bare, Crossing, Portion, Turned

__all__ = ["elements_of", "read_from"]


def elements_of(sources: Iterable[object]) -> list[etree._Element]:
    """The ``note`` elements that a note's ``sources`` come to, in order."""
    found: list[etree._Element] = []
    for source in sources:
        if isinstance(source, etree._Element):
            found.append(source)
        elif isinstance(source, Portion):
            inner = elements_of(source.sources)
            if inner:
                found.append(share(inner, alike(source.count))[source.index])
        elif isinstance(source, Absorbing):
            found.extend(absorbed(elements_of(source.sources), elements_of(source.others)))
        elif isinstance(source, Bare):
            found.extend(bare(each) for each in elements_of(source.sources)[:1])
        elif isinstance(source, Crossing):
            found.extend(crossed(elements_of(source.sources), source.ends))
        elif isinstance(source, Turned):
            found.extend(turned(elements_of(source.sources)))
    return found


def read_from(source: object) -> object:
    """What a source was first read from."""
    while isinstance(source, (Absorbing, Bare, Crossing, Portion, Turned)):
        source = source.sources[0] if source.sources else None
    return source
