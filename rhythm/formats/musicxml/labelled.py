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

from lxml import etree

from rhythm.formats.musicxml.document import Document, PartSource, measure_of, parse
from rhythm.formats.musicxml.read.score_reader import read_document
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.identity import event_name
from rhythm.score.model import Event, Score, Voice
from rhythm.score.uncollected import uncollected

__all__ = ["labelled"]

_LEFT_OUT = frozenset({"part", "measure"})


def labelled(score: Score, *, prefix: str = "", breaks: Collection[int] | None = None) -> bytes:
    """The score as MusicXML with its events named and its lines broken before ``breaks``.

    ``breaks`` are indices of bars; None takes the score's own. The events are
    those of ``score``, by the order in which they stand in it, not in what is written.
    """
    with uncollected():
        document = parse(to_bytes(score), score.path or "the score")
        again = read_document(document)
        for element in document.tree.getroot().iter("note", "measure"):
            if "id" in element.attrib:
                del element.attrib["id"]
        for i, (part, written) in enumerate(zip(score.parts, again.parts, strict=True)):
            voices = {voice.name: voice for voice in written.voices}
            for j, voice in enumerate(part.voices):
                if voice.name in voices:
                    _name_voice(voice, voices[voice.name], i, j, prefix)
        for part_source in document.parts:
            for index, content in enumerate(part_source.measures):
                _name_bar(content, index, prefix, breaks)
                _bare_hidden_notes(content)
        return etree.tostring(_by_part(document), xml_declaration=True, encoding="UTF-8")


def _name_voice(voice: Voice, written: Voice, part: int, at: int, prefix: str) -> None:
    """Name the notes of a voice that was written and read again, event by event."""
    waiting: dict[object, list[int]] = {}
    for k, event in enumerate(voice.events):
        waiting.setdefault(_likeness(event), []).append(k)
    for event in written.events:
        same = waiting.get(_likeness(event))
        if same:
            _name_event(event, event_name(part, at, same.pop(0), prefix))


def _likeness(event: Event) -> object:
    """What an event and the same event written and read again have in common."""
    return event.onset, event.duration, event.is_rest, event.pitches


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


def _by_part(document: Document) -> etree._Element:
    """The document by part: bars get their ids, and what is by time is turned round."""
    root = document.tree.getroot()
    if not document.timewise:
        for measure in root.iter("measure"):
            if "name-of-bar" in measure.attrib:  # not where a measure stands that is no bar
                measure.set("id", measure.attrib.pop("name-of-bar"))
        return root
    made = etree.Element("score-partwise", version=root.get("version") or "4.0")
    for child in root.iterchildren(etree.Element):
        if child.tag not in _LEFT_OUT:
            made.append(child)
    _turn(made, document.parts)
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
