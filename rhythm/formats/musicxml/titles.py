"""The title of a score: where a file keeps it, and replacing it by another.

A title may stand as the movement's, as the work's, and once more as text on the first page
(``credit-words``). The movement's title goes before the work's.
"""

from __future__ import annotations

import re
from pathlib import PurePath

from lxml import etree

from rhythm.formats.musicxml.document import Document
from rhythm.score.model import Score

__all__ = ["composer_of", "in_words", "named_after", "read_title", "set_title"]

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


_ENDING = re.compile(r"\.(mxl|musicxml|xml|abc|krn|mei|midi?|mid)$", re.IGNORECASE)
_GENERAL = frozenset({"movement", "mvt", "mvmnt", "part", "score"})
_ABBREVIATED = {"n": "No.", "no": "No.", "op": "Op.", "mvt": "Movement", "mvmnt": "Movement"}
_SMALL = frozenset({
    "a", "an", "and", "at", "by", "de", "e", "for", "from", "in", "la", "le", "of", "on", "or",
    "the", "to", "with",
})  # fmt: skip
_WORD = re.compile(r"[^\W\d_]+(?:['\u2019][^\W\d_]+)*")
_PARTED = re.compile(
    r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])|(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])"
)


def in_words(score: Score) -> str:
    """The title of a score as one would say it, "" where neither it nor its file has a name.

    A title in capitals is written small; one that is the name of a file, or the file's own name
    where there is no title, is taken apart into words: ``opus74no1/movement1.mxl`` is
    "Opus 74 No. 1, Movement 1", ``bwv66.6.mxl`` "BWV 66.6".
    """
    title = re.sub(r"^(.+), (the|an?)$", r"\2 \1", score.title.strip(), flags=re.IGNORECASE)
    title = title[:1].upper() + title[1:]
    if not any(c.isalpha() for c in title):
        title = ""
    if title and not _ENDING.search(title) and "_" not in title:
        letters = [c for c in title if c.isalpha()]
        shouted = len(letters) > 4 and all(c.isupper() for c in letters)
        return _written_small(title) if shouted else title
    path = PurePath(_ENDING.sub("", title) or score.path)
    if not title and not path.suffix:
        return ""
    stem = path.name if title else path.stem
    words = _parted(stem)
    folder = PurePath(score.path).parent.name
    if folder and words.split(" ")[0].lower() in _GENERAL:
        return f"{_parted(folder)}, {words}"
    return words


def _parted(stem: str) -> str:
    """The name of a file as words with capitals."""
    words = _PARTED.sub(" ", re.sub(r"[_\s]+|-(?=\D)", " ", stem)).split()
    numbered = [after[:1].isdigit() for after in (*words[1:], "")]
    return " ".join(
        _ABBREVIATED.get(word.lower())
        or (word.upper() if before and len(word) < 4 else word[0].upper() + word[1:])
        for word, before in zip(words, numbered, strict=True)
    )


def _written_small(title: str) -> str:
    """A title in capitals with a capital to each word but the small ones inside."""

    def small(found: re.Match[str]) -> str:
        word = found[0].lower()
        if found.start() and word in _SMALL:
            return word
        roman = len(word) > 1 and re.fullmatch("[ivx]+", word)
        return word.upper() if roman else word[0].upper() + word[1:]

    return _WORD.sub(small, title)


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
