"""A count of everything in a score that rhythm does not own: equal before and after.

Left out are the elements that say durations, tuplets, ties, beams, positions and signatures, and
those that every further piece of a split note repeats.
"""

from __future__ import annotations

from collections import Counter

from lxml import etree

from rhythm.formats.musicxml.write.score_writer import to_tree
from rhythm.score.model import Score

__all__ = ["census", "count"]

_RHYTHM = frozenset({
    "actual-notes", "backup", "beam", "beat-type", "beat-unit-dot", "beats", "chord", "divisions",
    "dot", "duration", "forward", "interchangeable", "normal-dot", "normal-notes", "normal-type",
    "senza-misura", "tie", "tied", "time", "time-modification", "time-relation", "tuplet",
    "tuplet-actual", "tuplet-dot", "tuplet-normal", "tuplet-number", "tuplet-type", "type",
})  # fmt: skip

_REPEATED = frozenset({
    "alter", "cue", "display-octave", "display-step", "footnote", "instrument", "level", "note",
    "notehead", "notehead-text", "octave", "pitch", "rest", "staff", "stem", "step", "unpitched",
    "voice",
})  # fmt: skip

_CONTAINERS = frozenset({"articulations", "attributes", "notations", "ornaments", "technical"})
_PAPER = frozenset({"measure", "part", "score-partwise", "score-timewise"})
_LEFT_OUT = _RHYTHM | _REPEATED | _CONTAINERS | _PAPER
_TYPED = frozenset({"glissando", "slide", "slur", "wavy-line", "wedge"})


def census(score: Score) -> Counter[str]:
    """Count the score as it would be written."""
    return count(to_tree(score))


def count(tree: etree._ElementTree) -> Counter[str]:
    """Count what rhythm does not own: tags, spanners by their type, lyrics by their text."""
    found: Counter[str] = Counter()
    for element in tree.iter(etree.Element):
        tag = element.tag
        if tag in _LEFT_OUT:
            continue
        if tag == "accidental" and _continues(element):
            continue
        if tag in _TYPED:
            tag = f"{tag} {element.get('type') or ''}"
        elif tag == "text":
            tag = f"text {(element.text or '').strip()}"
        found[tag] += 1
    return found


def _continues(accidental: etree._Element) -> bool:
    """Is this on a note that a tie leads to?"""
    note = accidental.getparent()
    return note is not None and any(tie.get("type") == "stop" for tie in note.iterchildren("tie"))
