"""music21's streams, by way of MusicXML in both directions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lxml import etree

from rhythm.exact.errors import FileError, Place
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score

if TYPE_CHECKING:
    from music21.stream import Stream

__all__ = ["from_music21", "musicxml_of", "to_music21"]

_OWN_TITLES = frozenset({"Music21 Fragment", "Music21"})


def from_music21(stream: Stream, name: str = "") -> Score:
    """The score that a music21 stream holds, by way of its MusicXML.

    Parts are called P1, P2 and so on, by the order of the stream. Raises
    :class:`~rhythm.exact.errors.FileError` where it holds nothing that can be written.
    """
    place = Place(name or "<music21 stream>")
    try:
        data = musicxml_of(stream)
    except Exception as error:  # whatever another library may raise
        reason = " ".join(str(error).split())[:120] or type(error).__name__
        raise FileError(
            f"cannot be made into MusicXML: {reason}",
            place=place,
            legal="a stream of parts and measures",
        ) from None
    return read(data, name or "<music21 stream>")


def to_music21(score: Score) -> Stream:
    """A music21 stream of the score, by way of MusicXML."""
    from music21 import converter

    stream: Stream = converter.parseData(to_bytes(score).decode(), format="musicxml")
    return stream


def musicxml_of(stream: Stream) -> bytes:
    """A stream as MusicXML with stable names and without what music21 adds of its own."""
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    data: bytes = GeneralObjectExporter(stream).parse()
    root = etree.fromstring(data)
    rests = stream.recurse().getElementsByClass("Rest")
    if not any(rest.style.hideObjectOnPrint for rest in rests):
        _drop_padding(root)
    _name_parts(root)
    for title in [*root.iter("movement-title"), *root.iter("work-title")]:
        parent = title.getparent()
        if (title.text or "") in _OWN_TITLES and parent is not None:
            parent.remove(title)
    for creator in [*root.iter("creator")]:
        parent = creator.getparent()
        if (creator.text or "") in _OWN_TITLES and parent is not None:
            parent.remove(creator)
    tidy: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return tidy


def _drop_padding(root: etree._Element) -> None:
    """Take off the hidden rests that fill short bars: an upbeat would be none any more."""
    for bar in root.iter("measure"):
        for note in bar.findall("note[@print-object='no']"):
            duration = note.find("duration")
            if note.find("rest") is None or duration is None:
                continue
            gap = etree.Element("forward")
            gap.append(duration)
            bar.replace(note, gap)
        moves = [each for each in bar if each.tag in ("note", "forward", "backup")]
        if moves and moves[-1].tag == "forward":
            bar.remove(moves[-1])


def _name_parts(root: etree._Element) -> None:
    """Call the parts by their order; music21 numbers them by where they lay in memory."""
    names: dict[str, str] = {}
    for number, listed in enumerate(root.iterfind("part-list/score-part"), 1):
        old = listed.get("id") or ""
        names[old] = f"P{number}"
        listed.set("id", names[old])
        name = listed.find("part-name")
        if name is not None and not (name.text or "").strip():
            name.text = f"Part {number}"
        for element in listed.iter("score-instrument", "midi-instrument"):
            own = element.get("id") or ""
            element.set("id", names.setdefault(own, f"P{number}-I{len(names)}"))
    for part in root.iterfind("part"):
        part.set("id", names.get(part.get("id") or "", part.get("id") or ""))
    for instrument in root.iterfind("part/measure/note/instrument"):
        own = instrument.get("id") or ""
        instrument.set("id", names.get(own, own))
