"""The title of a score: where a file keeps it, and replacing it by another.

A title may stand as the movement's, as the work's, and once more as text on the first page
(``credit-words``). The movement's title goes before the work's.
"""

from __future__ import annotations

from pathlib import PurePath

from lxml import etree

from rhythm.formats.musicxml.document import Document
from rhythm.score.model import Score

__all__ = ["composer_of", "named_after", "read_title", "set_title"]

_PLACES = ("movement-title", "work/work-title")
_BEFORE = ("work", "movement-number")


def composer_of(score: Score) -> str:
    """Who wrote the music, as the file names them; "" where it does not."""
    if not isinstance(score.source, Document):
        return ""
    creators = score.source.tree.getroot().iterfind("identification/creator")
    names = [" ".join((e.text or "").split()) for e in creators if e.get("type") == "composer"]
    return ", ".join(filter(None, names))


def named_after(path: str | PurePath) -> str:
    """What to call a score without a title: as its file is, "" where it came from none."""
    name = PurePath(path)
    return name.stem.replace("_", " ").strip() if name.suffix else ""


def read_title(root: etree._Element) -> str:
    """The title that a document gives its music, "" where it gives none."""
    texts = (" ".join((root.findtext(place) or "").split()) for place in _PLACES)
    return next(filter(None, texts), "")


def set_title(root: etree._Element, title: str) -> None:
    """Write ``title`` wherever the old one stood, or as the movement's where there was none.

    Without a title those that stood there are taken out.
    """
    old = read_title(root)
    found = [root.find(place) for place in _PLACES]
    named = [e for e in found if e is not None and " ".join((e.text or "").split()) == old]
    if old:
        named += [
            words
            for words in root.iterfind("credit/credit-words")
            if " ".join((words.text or "").split()) == old
        ]
    if not title:
        named += [e for e in found if e is not None]
    for element in dict.fromkeys(named):
        element.text = title
        if not title:
            _take_out(element)
    if title and not named:
        made = etree.Element("movement-title")
        made.text, made.tail = title, root.text  # laid out as its neighbours are
        root.insert(sum(1 for child in root if child.tag in _BEFORE), made)


def _take_out(element: etree._Element) -> None:
    """Remove an element, and a ``work`` or ``credit`` that only had a title in it."""
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)
        left = {child.tag for child in parent.iterchildren("*")}
        if parent.getparent() is not None and left <= {"credit-type", "link", "bookmark"}:
            _take_out(parent)
