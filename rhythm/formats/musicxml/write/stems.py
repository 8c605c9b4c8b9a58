"""Stems under new beams: notes that were not beamed before may have stems that point both ways.

A stem's direction is a choice of the source's; where beams have changed and join stems that point
up and down on one staff, it is a choice no longer, and the reader of the file decides. Beams that
cross staves keep the stems they have.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rhythm.formats.musicxml.write.bar_content import Line

__all__ = ["free_stems"]

_POINTING = frozenset({"up", "down"})


def free_stems(joined: Iterable[Sequence[Line]]) -> None:
    """Take the stems off the notes of each group under one beam whose stems disagree."""
    for lines in joined:
        stems = [stem for line in lines for stem in line.stems]
        if len({stem.text for stem in stems} & _POINTING) < 2:
            continue
        if len({note.findtext("staff") for line in lines for note in line.elements}) == 1:
            for stem in stems:
                parent = stem.getparent()
                if parent is not None:
                    parent.remove(stem)
