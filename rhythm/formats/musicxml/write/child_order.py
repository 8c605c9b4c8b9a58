"""The order in which MusicXML wants the children of a few elements, and inserting by it.

Source: the content models of the MusicXML 4.0 schema.

A file keeps its layout: a new child stands on a line like its siblings'. Where that is not enough
the parent's text is taken away, which says that it wants to be laid out afresh.
"""

from __future__ import annotations

from lxml import etree

__all__ = [
    "ATTRIBUTES",
    "DIRECTION",
    "HARMONY",
    "MIDI_INSTRUMENT",
    "NOTATIONS_BEFORE",
    "NOTE",
    "SCORE_PART",
    "SOUND",
    "drop",
    "insert",
    "notations_of",
]


def _ranks(*names: str) -> dict[str, int]:
    return {name: rank for rank, together in enumerate(names) for name in together.split("|")}


NOTE = _ranks(
    "grace", "cue", "chord", "pitch|unpitched|rest", "duration", "tie", "instrument", "footnote",
    "level", "voice", "type", "dot", "accidental", "time-modification", "stem", "notehead",
    "notehead-text", "staff", "beam", "notations", "lyric", "play", "listen",
)  # fmt: skip
"""Children of ``note``."""

ATTRIBUTES = _ranks(
    "footnote", "level", "divisions", "key", "time", "staves", "part-symbol", "instruments",
    "clef", "staff-details", "transpose|for-part", "directive", "measure-style",
)  # fmt: skip
"""Children of ``attributes``."""

DIRECTION = _ranks(
    "direction-type", "offset", "footnote", "level", "voice", "staff", "sound", "listening"
)
"""Children of ``direction``."""

HARMONY = _ranks(
    "root|numeral|function", "kind", "inversion", "bass", "degree", "frame", "offset", "footnote",
    "level", "staff",
)  # fmt: skip
"""Children of ``harmony``."""

SOUND = _ranks("instrument-change|midi-device|midi-instrument|play", "swing", "offset")
"""Children of ``sound``."""

SCORE_PART = _ranks(
    "identification", "part-link", "part-name", "part-name-display", "part-abbreviation",
    "part-abbreviation-display", "group", "score-instrument", "player",
    "midi-device|midi-instrument",
)  # fmt: skip
"""Children of ``score-part``."""

MIDI_INSTRUMENT = _ranks(
    "midi-channel", "midi-name", "midi-bank", "midi-program", "midi-unpitched", "volume", "pan",
    "elevation",
)  # fmt: skip
"""Children of ``midi-instrument``."""

NOTATIONS_BEFORE = frozenset({"footnote", "level"})
"""Children of ``notations`` that must stand before all others."""


def insert(parent: etree._Element, child: etree._Element, ranks: dict[str, int]) -> None:
    """Put ``child`` after every sibling that may stand before it, on a line like theirs."""
    rank = ranks[child.tag]
    after: etree._Element | None = None  # the first of those that must stand behind it
    for sibling in parent.iterchildren(reversed=True):
        tag = sibling.tag
        if not isinstance(tag, str):
            continue  # comments stand anywhere
        if ranks.get(tag, -1) <= rank:
            break
        after = sibling
    last = parent[-1] if after is None and len(parent) else None
    if after is None:
        parent.append(child)
    else:
        after.addprevious(child)
    line = parent.text
    if line is None or child.tail is not None:
        return
    if len(child):
        parent.text = None
    elif last is None:
        child.tail = line
    else:
        child.tail, last.tail = last.tail, line


def notations_of(note: etree._Element) -> etree._Element:
    """The first ``notations`` of a note, made if there is none; the note is laid out afresh."""
    note.text = None
    found = note.find("notations")
    if found is None:
        found = etree.Element("notations")
        insert(note, found, NOTE)
    return found


def drop(element: etree._Element) -> None:
    """Remove an element, and a ``notations`` that it leaves empty."""
    parent = element.getparent()
    if parent is None:
        return
    parent.remove(element)
    if parent.tag == "notations" and not len(parent):
        drop(parent)
