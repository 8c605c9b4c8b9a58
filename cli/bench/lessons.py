"""The lesson: a practice sheet of what stands on the bench, as pages, to hear and to take away."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from .given import Given
from .music import Rows, options, plainly, result

if TYPE_CHECKING:
    from rhythm.practice.exercises import Sheet
    from rhythm.score.model import Score

__all__ = ["TAKEN", "lesson", "take_lesson"]

TAKEN = ("pupil", "key", "musicxml", "answers", "track")
"""What of a lesson can be taken away."""


def _sheet(given: Given, rows: Rows, told: Mapping[str, Any], plan: str) -> Sheet:
    from rhythm.practice.sheet_plan import parse_plan
    from rhythm.verbs import exercises

    asked = parse_plan(plan, "the plan") if plan else None
    return exercises(result(given, rows), asked, **options("exercises", told, given))


def _pieces(sections: Sequence[tuple[str, Score]], words: Sequence[str] = ()) -> list[Any]:
    from rhythm.show.paper import Piece
    from rhythm.writing import proven

    for _, section in sections:
        proven(section)
    said = [(each,) if each else () for each in words] or [()] * len(sections)
    return [
        Piece(score, heading=heading, text=text)
        for (heading, score), text in zip(sections, said, strict=True)
    ]


def lesson(
    given: Given, rows: Rows, told: Mapping[str, Any], plan: str, paper: str
) -> dict[str, Any]:
    """A sheet and its key as pages, the exercises to hear, and what was left out and why."""
    from rhythm.show.gallery import Entry, gallery_body, gallery_entries
    from rhythm.show.paper import sheets

    sheet = _sheet(given, rows, told, plan)
    levels = [f"level {each.difficulty.text}" for _, each in sheet.made]
    if len(levels) != len(sheet.sections):  # the parts of a mixed class come after their score
        levels = [""] * len(sheet.sections)
    made = [
        Entry(heading, "To hear", level, score)
        for level, (heading, score) in zip(levels, sheet.sections, strict=True)
    ]
    entries, glyphs, _ = gallery_entries(made)

    def pictures(pieces: list[Any], title: str) -> list[str]:
        return [
            b64encode(page).decode() for page in sheets(pieces, title=title, paper=paper, within=2)
        ]

    pupil = pictures(_pieces(sheet.sections), sheet.title)
    key = pictures(_pieces(sheet.key_sections, sheet.key_words), f"Key: {sheet.title}")
    return {
        "title": sheet.title,
        "size": f"{sheet.size}, {len(pupil)} page{'s' * (len(pupil) != 1)}",
        "notes": [
            *map(plainly, sheet.notes),
            *(f"left out: {plainly(line)}" for line in sheet.left_out),
        ],
        "pupil": pupil,
        "key": key,
        "html": gallery_body(entries),
        "glyphs": glyphs,
        "entries": [
            {key: each[key] for key in ("name", "prefix", "performance")} for each in entries
        ],
    }


def take_lesson(
    given: Given, rows: Rows, told: Mapping[str, Any], plan: str, what: str, paper: str, ladder: str
) -> bytes:
    """The pupil's sheet or the teacher's key on paper, the sheet as MusicXML, the answers, or a
    track to practise with that climbs the ``ladder`` of tempi.
    """
    from rhythm.exact.errors import RequestError
    from rhythm.show.paper import pdf
    from rhythm.writing import proven

    if what not in TAKEN:
        raise RequestError(f"there is no {what!r} to take", legal=" ".join(TAKEN))
    sheet = _sheet(given, rows, told, plan)
    if what == "key":
        pieces = _pieces(sheet.key_sections, sheet.key_words)
        return pdf(pieces, title=f"Key: {sheet.title}", paper=paper, within=2)
    if what == "track":
        from rhythm.show.midi import midi_bytes

        return midi_bytes(sheet.track(ladder), click=True)
    if what == "musicxml":
        return proven(sheet.score)
    if what == "answers":
        return sheet.answers.encode()
    return pdf(_pieces(sheet.sections), title=sheet.title, paper=paper, within=2)
