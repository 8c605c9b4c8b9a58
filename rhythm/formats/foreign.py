"""Scores in formats other than MusicXML: which piece of the file, and what of it was not kept."""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Sequence

from rhythm.exact.errors import FileError, Place
from rhythm.formats.musicxml.document import parse
from rhythm.formats.musicxml.read.score_reader import read_document
from rhythm.formats.musicxml.titles import named_after, read_title, set_title
from rhythm.formats.recognise import text_of
from rhythm.score.model import Score
from rhythm.score.uncollected import uncollected

__all__ = ["NotKept", "pieces_in", "read_foreign"]

_MOST_NAMED = 12


class NotKept(UserWarning):
    """Says in one line what of a file was not kept: ``song.abc: not kept: signs (3)``."""


def read_foreign(data: bytes, kind: str, name: str, file: str = "", piece: str = "") -> Score:
    """The score in ``data``; ``piece`` is its number or title where the file holds several.

    A score without a title is called as its file is. Warns :class:`NotKept` of what was left out.
    Raises
    :class:`~rhythm.exact.errors.FileError` for what cannot be read.
    """
    try:
        xml, lost = _converted(data, kind, piece)
    except FileError as error:
        raise error.at(Place(name)) from None
    with uncollected():
        document = parse(xml, name, file)
        root = document.tree.getroot()
        if file and not read_title(root):
            set_title(root, named_after(file))  # better than none, on paper above all
        score = read_document(document)
    if lost:
        said = ", ".join(f"{what} ({count})" for what, count in sorted(lost.items()))
        warnings.warn(NotKept(f"{name}: not kept: {said}"), stacklevel=3)
    return score


def pieces_in(data: bytes, kind: str) -> list[tuple[str, str]]:
    """The number and title of every piece in a file of this kind; one where it holds one."""
    if kind == "ABC":
        from rhythm.formats.abc.book import tunes_of

        return [(tune.number, tune.title) for tune in tunes_of(text_of(data))]
    if kind == "MEI":
        from rhythm.formats.mei.score import movements_of
        from rhythm.formats.mei.score import parse as parse_mei

        found = movements_of(parse_mei(data))
        return [(str(number), label) for number, (_, label) in enumerate(found, 1)]
    return [("1", "")]


def _converted(data: bytes, kind: str, piece: str) -> tuple[bytes, Counter[str]]:
    if kind == "ABC":
        from rhythm.formats.abc import book, score

        tunes = book.tunes_of(text_of(data))
        chosen = choose([(tune.number, tune.title) for tune in tunes], piece)
        return score.musicxml_of(tunes[chosen])
    if kind == "MIDI":
        from rhythm.formats.bridge.child import convert_apart

        choose([("1", "")], piece)
        return convert_apart(data, kind), Counter()
    lost: Counter[str] = Counter()
    if kind == "Humdrum":
        from rhythm.formats.bridge.child import convert_apart
        from rhythm.formats.bridge.humdrum import spines_left_out

        lost = spines_left_out(data)
        data = convert_apart(data, kind)
    from rhythm.formats.mei.score import movements_of, musicxml_of
    from rhythm.formats.mei.score import parse as parse_mei

    root = parse_mei(data)
    found = movements_of(root)
    titles = [(str(number), label) for number, (_, label) in enumerate(found, 1)]
    made, left_out = musicxml_of(root, found[choose(titles, piece)][0])
    return made, lost + left_out


def choose(pieces: Sequence[tuple[str, str]], piece: str) -> int:
    """The index of the piece that is meant by its number or title, or by being the only one.

    Raises FileError with a list of the pieces where none or more than one is meant.
    """
    if not pieces:
        raise FileError("holds no piece of music", legal="a file with notes in it")
    wanted = piece.strip().casefold()
    if not wanted:
        if len(pieces) == 1:
            return 0
        raise FileError(f"holds {len(pieces)} pieces", legal=f"choose one: {_listed(pieces)}")
    for exactly in (True, False):
        found = [
            index
            for index, (number, title) in enumerate(pieces)
            if wanted in (number.casefold(), title.casefold())
            or (not exactly and wanted in title.casefold())
        ]
        if len(found) == 1:
            return found[0]
        if found:
            several = [pieces[index] for index in found]
            raise FileError(
                f"{len(found)} pieces are called {piece!r}", legal=f"choose one: {_listed(several)}"
            )
    raise FileError(f"has no piece {piece!r}", legal=f"there are {_listed(pieces)}")


def _listed(pieces: Sequence[tuple[str, str]]) -> str:
    named = [f"{number} {title}".strip() for number, title in pieces[:_MOST_NAMED]]
    more = len(pieces) - len(named)
    return ", ".join(named) + (f" and {more} more" if more > 0 else "")
