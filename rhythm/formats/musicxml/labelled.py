"""A score as MusicXML for the engraver: every note says which event it draws.

Conventions
-----------
The ``id`` of a written note is the name of its event (:mod:`rhythm.score.identity`), a full stop
and the index of the written piece, a full stop and the index of the chord member: ``a0-0-3.1.0`` is
the second of the tied pieces of event 3. Grace notes are numbered ``g0``, ``g1`` behind the event's
name. The ``id`` of a bar is the prefix, ``bar`` and its index. Lines break before the bars that are
named and nowhere else; every line is a page of its own. The document goes by part, whichever way
the score was read.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.document import PartSource, measure_of, parse, parts_of
from rhythm.formats.musicxml.read.score_reader import read_document
from rhythm.formats.musicxml.write.score_writer import to_tree
from rhythm.score.identity import event_name
from rhythm.score.model import Event, Part, Score
from rhythm.score.uncollected import uncollected

__all__ = ["labelled", "named", "unnamed"]

_LEFT_OUT = frozenset({"part", "measure"})


def labelled(score: Score, *, prefix: str = "", breaks: Collection[int] | None = None) -> bytes:
    """The score as MusicXML with its events named and its lines broken before ``breaks``.

    ``breaks`` are indices of bars; None takes the score's own. The events are
    those of ``score``, by the order in which they stand in it, not in what is written.
    """
    return named(score, unnamed(score, prefix=prefix, breaks=breaks), prefix=prefix)


def unnamed(
    score: Score, *, prefix: str = "", breaks: Collection[int] | None = None
) -> etree._Element:
    """The same before any note of it is named: a tree by part, to take bars from."""
    with uncollected():
        root = to_tree(score).getroot()
        for element in root.iter("note", "measure"):
            if "id" in element.attrib:
                del element.attrib["id"]
        parts = parts_of(root)
        for part in parts:
            for index, content in enumerate(part.measures):
                _name_bar(content, index, prefix, breaks)
                _bare_hidden_notes(content)
        return _by_part(root, parts)


def named(score: Score, root: etree._Element, *, prefix: str = "", first: int = 0) -> bytes:
    """Some bars of :func:`unnamed` in a tree of their own, with the events in them named.

    ``first`` is the index of the bar with which they begin.
    """
    with uncollected():
        document = parse(etree.tostring(root), score.path or "the score")
        again = read_document(document)
        for i, (part, written) in enumerate(zip(score.parts, again.parts, strict=True)):
            _name_part(part, written, i, prefix, first)
        return etree.tostring(document.tree, xml_declaration=True, encoding="UTF-8")


def _name_part(part: Part, written: Part, at: int, prefix: str, first: int) -> None:
    """Name the notes of a part that was written and read again, event by event."""
    last = first + len(written.bars)
    read = {voice.name: voice for voice in written.voices}
    for j, voice in enumerate(part.voices):
        if voice.name not in read:
            continue
        waiting: dict[object, list[int]] = {}
        for k, event in enumerate(voice.events):
            if first <= event.bar < last:
                likeness = _likeness(event, event.bar - first, part.bars[event.bar].start)
                waiting.setdefault(likeness, []).append(k)
        for event in read[voice.name].events:
            same = waiting.get(_likeness(event, event.bar, written.bars[event.bar].start))
            if same:
                _name_event(event, event_name(at, j, same.pop(0), prefix))


def _likeness(event: Event, bar: int, start: mpq) -> object:
    """What an event and the same event written and read again have in common."""
    return bar, event.onset - start, event.duration, event.is_rest, event.pitches


def _name_event(event: Event, name: str) -> None:
    for member, note in enumerate(event.notes):
        for piece, source in enumerate(note.sources):
            if isinstance(source, etree._Element):
                source.set("id", f"{name}.{piece}.{member}")
    for count, grace in enumerate((*event.graces, *event.after)):
        if isinstance(grace, etree._Element):
            grace.set("id", f"{name}.g{count}")


def _name_bar(
    content: etree._Element, index: int, prefix: str, breaks: Collection[int] | None
) -> None:
    content.set("name-of-bar", f"{prefix}bar{index}")
    own = False
    for sign in content.findall("print"):
        for name in ("new-system", "new-page"):
            own |= sign.attrib.pop(name, "") == "yes"
        if not sign.attrib and not len(sign):
            content.remove(sign)
    if index and (own if breaks is None else index in breaks):
        content.insert(0, etree.Element("print", {"new-page": "yes"}))


def _bare_hidden_notes(content: etree._Element) -> None:
    """Take off hidden notes what the engraver would draw of them all the same.

    Beams of which no note shows; and where nothing of a voice shows its ties and brackets too.
    """
    voices: dict[str, list[etree._Element]] = {}
    for note in content.iterfind("note"):
        voices.setdefault(note.findtext("voice") or "", []).append(note)
    for notes in voices.values():
        hidden = [note for note in notes if note.get("print-object") == "no"]
        if not hidden:
            continue
        if len(hidden) == len(notes):
            for sign in [sign for note in notes for sign in note.iter("tie", "notations")]:
                _remove(sign)
        group: list[etree._Element] = []
        for note in notes:
            if note.find("beam") is not None:
                group.append(note)
            if note.findtext("beam[@number='1']") == "end":
                if all(each.get("print-object") == "no" for each in group):
                    for beam in [beam for each in group for beam in each.findall("beam")]:
                        _remove(beam)
                group = []


def _remove(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _by_part(root: etree._Element, parts: Sequence[PartSource]) -> etree._Element:
    """The score by part: bars get their ids, and what is by time is turned round."""
    if root.tag == "score-partwise":
        for measure in root.iter("measure"):
            if "name-of-bar" in measure.attrib:  # not where a measure stands that is no bar
                measure.set("id", measure.attrib.pop("name-of-bar"))
        return root
    made = etree.Element("score-partwise", version=root.get("version") or "4.0")
    for child in root.iterchildren(etree.Element):
        if child.tag not in _LEFT_OUT:
            made.append(child)
    _turn(made, parts)
    return made


def _turn(root: etree._Element, parts: Sequence[PartSource]) -> None:
    for part in parts:
        written = etree.SubElement(root, "part", id=part.id)
        for content in part.measures:
            measure = etree.SubElement(written, "measure")
            for name, text in measure_of(content).attrib.items():
                measure.set(name, text)
            measure.set("id", content.attrib["name-of-bar"])
            measure.extend(list(content))
