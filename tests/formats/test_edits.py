"""Edits through the public model are written, and untouched bars stay as they were read."""

from collections.abc import Callable
from pathlib import Path

import pytest
from gmpy2 import mpq
from lxml import etree

import rhythm
from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.score.model import (
    Addition,
    Bar,
    Barline,
    Event,
    Mark,
    Metronome,
    Note,
    Pitch,
    Score,
    Voice,
)
from tests.markup import note, partwise

DIRECTION = (
    "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>96</per-minute>"
    '</metronome></direction-type><sound tempo="96"/></direction>'
)
THREE = partwise(
    DIRECTION + note("C4", 4, "quarter") * 4,
    note("D4", 8, "half") + note("E4", 8, "half"),
    note("F4", 16, "whole"),
    divisions=4,
)


def score() -> Score:
    return rhythm.read(THREE)


def edited(edit: Callable[[Score], Score], folder: Path) -> Score:
    """The score after an edit, written and read again."""
    path = folder / "edited.musicxml"
    rhythm.write(edit(score()), path)
    return rhythm.read(path)


def in_voice(change: Callable[[Event], Event], at: int = 0) -> Callable[[Score], Score]:
    def edit(score: Score) -> Score:
        (part,) = score.parts
        (voice,) = part.voices
        events = list(voice.events)
        events[at] = change(events[at])
        return score.replace(parts=(part.replace(voices=(Voice(voice.name, tuple(events)),)),))

    return edit


def in_note(change: Callable[[Note], Note]) -> Callable[[Score], Score]:
    return in_voice(lambda event: event.replace(notes=tuple(map(change, event.notes))))


def in_bar(change: Callable[[Bar], Bar], at: int = 1) -> Callable[[Score], Score]:
    def edit(score: Score) -> Score:
        (part,) = score.parts
        bars = tuple(change(bar) if bar.index == at else bar for bar in part.bars)
        return score.replace(parts=(part.replace(bars=bars),))

    return edit


def in_marks(change: Callable[[Mark], Mark | None]) -> Callable[[Score], Score]:
    def edit(score: Score) -> Score:
        (part,) = score.parts
        marks = (change(mark) if mark.kind == "direction" else mark for mark in part.marks)
        return score.replace(parts=(part.replace(marks=tuple(filter(None, marks))),))

    return edit


def of_part(**changes: object) -> Callable[[Score], Score]:
    return lambda score: score.replace(parts=(score.parts[0].replace(**changes),))


def first(score: Score) -> etree._Element:
    found = score.parts[0].voices[0].events[0].notes[0].sources[0]
    assert isinstance(found, etree._Element)
    return found


def direction(score: Score) -> Mark:
    return next(mark for mark in score.parts[0].marks if mark.kind == "direction")


def event(score: Score, at: int = 0) -> Event:
    return score.parts[0].voices[0].events[at]


D5 = Pitch("D", mpq(1), 5)
CHANGES: dict[str, tuple[Callable[[Score], Score], Callable[[Score], object]]] = {
    "an accent": (
        in_voice(lambda e: e.replace(additions=(Addition("accent"),))),
        lambda s: first(s).find("notations/articulations/accent") is not None,
    ),
    "a syllable": (
        in_voice(lambda e: e.replace(additions=(Addition("lyric", "la"),))),
        lambda s: first(s).findtext("lyric/text") == "la",
    ),
    "a pitch, and its accidental": (
        in_note(lambda n: n.replace(pitch=D5)),
        lambda s: event(s).pitches == (D5,) and first(s).findtext("accidental") == "sharp",
    ),
    "a staff": (in_note(lambda n: n.replace(staff="2")), lambda s: event(s).notes[0].staff == "2"),
    "a note made a rest": (
        in_note(lambda n: n.replace(kind="rest", pitch=None)),
        lambda s: event(s).is_rest,
    ),
    "a hidden note": (in_voice(lambda e: e.replace(hidden=True)), lambda s: event(s).hidden),
    "a cue": (in_voice(lambda e: e.replace(cue=True)), lambda s: event(s).cue),
    "two notes for one": (
        lambda s: s.replace(
            parts=(
                s.parts[0].replace(
                    voices=(
                        Voice(
                            "1",
                            (
                                event(s).replace(duration=mpq(1, 8)),
                                event(s).replace(onset=mpq(1, 8), duration=mpq(1, 8)),
                                *s.parts[0].voices[0].events[1:],
                            ),
                        ),
                    )
                ),
            )
        ),
        lambda s: (
            [e.duration for e in s.parts[0].voices[0].events[:3]]
            == [mpq(1, 8), mpq(1, 8), mpq(1, 4)]
        ),
    ),
    "two tied symbols for one": (
        in_voice(
            lambda e: e.replace(
                pieces=(
                    e.pieces[0].replace(duration=mpq(1, 8), type="eighth"),
                    e.pieces[0].replace(offset=mpq(1, 8), duration=mpq(1, 8), type="eighth"),
                )
            )
        ),
        lambda s: [piece.type for piece in event(s).pieces] == ["eighth", "eighth"],
    ),
    "the name of a voice": (
        of_part(voices=(Voice("5", score().parts[0].voices[0].events),)),
        lambda s: s.parts[0].voices[0].name == "5",
    ),
    "a bar's number": (in_bar(lambda b: b.replace(number="7")), lambda s: s.bars[1].number == "7"),
    "a bar left uncounted": (
        in_bar(lambda b: b.replace(implicit=True)),
        lambda s: s.bars[1].implicit,
    ),
    "a bar's metre": (
        in_bar(lambda b: b.replace(metre=Metre.parse("2/2"))),
        lambda s: [str(bar.metre) for bar in s.bars] == ["4/4", "2/2", "4/4"],
    ),
    "a signature shown again": (
        in_bar(lambda b: b.replace(shows_metre=True)),
        lambda s: s.bars[1].shows_metre,
    ),
    "a repeat": (
        in_bar(lambda b: b.replace(right=Barline("light-heavy", "backward"))),
        lambda s: s.bars[1].right == Barline("light-heavy", "backward"),
    ),
    "a tempo": (
        in_marks(lambda m: m.replace(tempo=mpq(60), metronome=Metronome(mpq(1, 2), "60"))),
        lambda s: (direction(s).tempo, direction(s).metronome) == (60, Metronome(mpq(1, 2), "60")),
    ),
    "a mark's place": (
        in_marks(lambda m: m.replace(onset=mpq(1, 2))),
        lambda s: direction(s).onset == mpq(1, 2),
    ),
    "a mark's staff": (
        in_marks(lambda m: m.replace(staff="1")),
        lambda s: direction(s).staff == "1",
    ),
    "a mark taken out": (
        in_marks(lambda m: None),
        lambda s: all(mark.kind != "direction" for mark in s.parts[0].marks),
    ),
    "the name of a part": (of_part(name="Oboe"), lambda s: s.parts[0].name == "Oboe"),
    "the instrument of a part": (of_part(program=69), lambda s: s.parts[0].program == 69),
    "the title": (
        lambda s: s.replace(title="Rain"),
        lambda s: s.source.tree.findtext("movement-title") == "Rain",  # type: ignore[attr-defined]
    ),
}


@pytest.mark.parametrize(("edit", "is_written"), CHANGES.values(), ids=CHANGES)
def test_an_edit_through_the_model_is_written(
    edit: Callable[[Score], Score], is_written: Callable[[Score], object], tmp_path: Path
) -> None:
    assert not is_written(score())
    assert is_written(edited(edit, tmp_path))


@pytest.mark.parametrize("edit", [edit for edit, _ in CHANGES.values()], ids=CHANGES)
def test_bars_that_an_edit_does_not_touch_keep_their_bytes(
    edit: Callable[[Score], Score], tmp_path: Path
) -> None:
    before, after = (
        etree.tostring(each.bars[2].source, method="c14n", with_tail=False)  # type: ignore[call-overload]
        for each in (score(), edited(edit, tmp_path))
    )
    if edit is not CHANGES["the name of a voice"][0]:
        assert (
            after.replace(
                b"<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>",
                b"",
            )
            == before
        )


@pytest.mark.parametrize(
    ("edit", "problem"),
    [
        (in_marks(lambda m: m.replace(text="Lento")), "cannot change its text"),
        (in_marks(lambda m: m.replace(kind="harmony")), "cannot change its kind"),
        (in_marks(lambda m: m.replace(metronome=None)), "cannot change its metronome"),
    ],
)
def test_an_edit_that_cannot_be_written_is_refused_in_one_line(
    edit: Callable[[Score], Score], problem: str, tmp_path: Path
) -> None:
    with pytest.raises(RequestError, match=problem) as caught:
        edited(edit, tmp_path)
    assert "\n" not in str(caught.value)
    assert not list(tmp_path.iterdir())
