"""The title of a score: where a file keeps it, and replacing it by another.

A title may stand as the movement's, as the work's, and once more as text on the first page
(``credit-words``). The movement's title goes before the work's.
"""

from __future__ import annotations

from lxml import etree

from rhythm.formats.musicxml.document import Document
from rhythm.score.model import Score

__all__ = ["composer_of", "set_title", "title_of"]

_PLACES = ("movement-title", "work/work-title")
_BEFORE = ("work", "movement-number")


def title_of(score: Score) -> str:
    """The title that a score is written with; "" where it has none."""
    if score.title or not isinstance(score.source, Document):
        return score.title
    return _title(score.source.tree.getroot())


def composer_of(score: Score) -> str:
    """Who wrote the music, as the file names them; "" where it does not."""
    if not isinstance(score.source, Document):
        return ""
    creators = score.source.tree.getroot().iterfind("identification/creator")
    names = [" ".join((e.text or "").split()) for e in creators if e.get("type") == "composer"]
    return ", ".join(filter(None, names))


def _title(root: etree._Element) -> str:
    texts = (" ".join((root.findtext(place) or "").split()) for place in _PLACES)
    return next(filter(None, texts), "")


def set_title(root: etree._Element, title: str) -> None:
    """Write ``title`` wherever the old one stood, or as the movement's where there was none."""
    old = _title(root)
    found = [root.find(place) for place in _PLACES]
    named = [e for e in found if e is not None and " ".join((e.text or "").split()) == old]
    if old:
        named += [
            words
            for words in root.iterfind("credit/credit-words")
            if " ".join((words.text or "").split()) == old
        ]
    for element in named:
        element.text = title
    if not named:
        made = etree.Element("movement-title")
        made.text, made.tail = title, root.text  # laid out as its neighbours are
        root.insert(sum(1 for child in root if child.tag in _BEFORE), made)
