"""Where keys, clefs, tempo and repeats go when a device lays the notes elsewhere."""

from __future__ import annotations

import pytest
from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score
from rhythm.verbs import vary
from tests.corpus import pick
from tests.markup import backup, forward, note, partwise

SHARPS = "<attributes><key><fifths>3</fifths></key></attributes>"
CLEF = "<attributes><clef><sign>F</sign><line>4</line></clef></attributes>"
WORDS = "<direction-type><words>Adagio</words></direction-type>"
TEMPO = f'<direction>{WORDS}<sound tempo="50"/></direction>'
DOUBLE = '<barline location="right"><bar-style>light-light</bar-style></barline>'


def quarters(*pitches: str, voice: str = "1") -> str:
    return "".join(note(pitch, 1, "quarter", voice=voice) for pitch in pitches)


SCALE = quarters("C4", "D4", "E4", "F4")
RISING = partwise(SCALE, SHARPS + quarters("G#4", "A4", "B4", "C#5"), divisions=1)
LAID = ("isorhythm:1/4 1/8", "isorhythm:1/8 rest 1/8 1/12", "resultant:3:2", "euclidean:5:13")


def follows(data: bytes, tag: str) -> list[str]:
    """The pitch of the note that follows each of these in its bar: G4."""
    found = [next(each.iterancestors("attributes", "direction")) for each in _all(data, tag)]
    notes = [next(each.itersiblings()) for each in found]
    return [f"{each.findtext('pitch/step')}{each.findtext('pitch/octave')}" for each in notes]


def _all(data: bytes, tag: str) -> list[etree._Element]:
    return list(etree.fromstring(data).iter(tag))


def places(score: Score, kind: str) -> list[mpq]:
    return [mark.onset for part in score.parts for mark in part.marks if mark.kind == kind]


@pytest.mark.parametrize("by", LAID)
def test_a_key_stands_before_the_first_note_of_its_music(by: str) -> None:
    assert follows(proven(vary(read(RISING), by)), "key") == ["G4"]


def test_a_key_between_notes_asks_for_no_finer_divisions_than_the_notes() -> None:
    data = proven(vary(read(RISING), "isorhythm:1/4 1/8"))
    # C 1/4, D 1/8, E 1/4, F 1/8: G sharp begins 3/4 in; eighths are all there is
    assert [each.text for each in _all(data, "divisions")] == ["2"]
    assert places(read(data), "attributes") == [0, mpq(3, 4)]


def test_a_key_under_a_held_note_waits_for_the_next_one() -> None:
    held = note("D4", 4, "whole", ties="start")
    theme = partwise(held, SHARPS + note("D4", 2, "half", ties="stop") + note("G#4", 2, "half"))
    assert follows(proven(vary(read(theme), "isorhythm:1/4 1/8")), "key") == ["G4"]


def test_each_voice_takes_its_clefs_along_where_voices_go_apart() -> None:
    lower = note("C3", 2, "half", voice="2") + CLEF + note("D3", 2, "half", voice="2")
    theme = partwise(SCALE + backup(4) + lower, divisions=1)
    assert follows(proven(vary(read(theme), "isorhythm:1/8")), "clef") == ["D3"]


def test_what_comes_into_force_later_still_does() -> None:
    # The lower voice has fewer notes and is through with them before the upper one's key.
    upper = SCALE + backup(4) + note("C3", 4, "whole", voice="2")
    key = SHARPS + quarters("G#4", "A4", "B4", "C#5")
    lower = backup(4) + note("E3", 2, "half", voice="2") + CLEF + note("A3", 2, "half", voice="2")
    result = vary(read(partwise(upper, key + lower, divisions=1)), "isorhythm:1/4")
    signs = [mark for mark in result.parts[0].marks if mark.kind == "attributes"]
    assert [mark.text for mark in signs] == ["divisions time", "key", "clef"]
    assert [mark.onset for mark in signs] == [0, 1, 1]


def test_a_mark_under_a_held_note_goes_to_the_next_one_too() -> None:
    held = note("C4", 1, "quarter") + note("D4", 3, "half", dots=1)
    theme = partwise(held + backup(1) + TEMPO + forward(1), note("E4", 4, "whole"), divisions=1)
    assert follows(proven(vary(read(theme), "isorhythm:1/4")), "sound") == ["E4"]


def test_a_device_after_another_still_finds_the_place_of_a_key() -> None:
    result = vary(read(RISING), ["isorhythm:1/4 1/8", "augmentation:2"])
    assert places(result, "attributes") == [0, mpq(3, 2)]
    assert follows(proven(result), "key") == ["G4"]


def test_a_section_that_rests_is_no_hindrance() -> None:
    silent = note("bar", 4) + DOUBLE
    theme = read(partwise(SCALE + DOUBLE, silent, SCALE, divisions=1))
    assert vary(theme, "isorhythm:1/8").length == 2


def test_keys_and_clefs_of_real_scores_stand_at_notes_or_bar_lines() -> None:
    def changes(score: Score) -> bool:
        return sum(mark.onset > 0 for p in score.parts for mark in p.marks if says(mark.text)) > 1

    def says(text: str) -> bool:
        return "key" in text or "clef" in text

    for path in pick(12, accept=changes):
        result = read(to_bytes(vary(read(path), "resultant:3:2")))
        for part in result.parts:
            places = {bar.start for bar in part.bars} | {result.length}
            places |= {event.onset for voice in part.voices for event in voice.events}
            assert all(mark.onset in places for mark in part.marks if mark.kind == "attributes")


def test_figures_under_one_note_follow_one_another_where_the_beat_is_bent() -> None:
    """Each of two figures lasts as long as the note above it that it was written to change with."""
    figure = "<figured-bass><figure><figure-number>{}</figure-number></figure>"
    figures = "".join(figure.format(n) + "<duration>2</duration></figured-bass>" for n in (6, 5))
    upper = note("E4", 2, "eighth", voice="2") + note("F4", 2, "eighth", voice="2")
    bar = figures + note("C3", 4, "quarter") + backup(4) + upper + note("C3", 4, "quarter")
    dotted = read(proven(vary(read(partwise(bar, time="2/4")), "dotting")))
    lengths = [str(mark.length) for mark in dotted.parts[0].marks if mark.kind == "figured-bass"]
    assert lengths == ["3/16", "1/16"]
