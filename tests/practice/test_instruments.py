"""Sheets for an instrument: its clef, key and compass, and what sounds stays the same."""

from __future__ import annotations

import pytest
from gmpy2 import mpq

import rhythm
from rhythm.check.ledger import check
from rhythm.exact.errors import RequestError
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.practice.exercises import exercises
from rhythm.practice.instrument_parts import for_instrument
from rhythm.practice.instruments import INSTRUMENTS, Instrument, instrument_named
from rhythm.practice.sheet_layout import alone, lone_part
from rhythm.practice.sheet_plan import parse_plan
from rhythm.score.model import Mark, Score
from rhythm.writing import proven
from tests.corpus import music21_folder
from tests.schema import errors
from tests.tiny import melody

SONG = "examples/lantern-song.musicxml"
TUNE = melody("4/4", "1/4 1/8 1/8 1/2", "3/8 1/8 1/4 1/4", "1/4 1/4 1/8 1/8 1/4", "1/2 r1/2")

# The interval from the written to the sounding note, as music21's instruments have it, by name.
OUTSIDE = {
    "piccolo": "Piccolo", "flute": "Flute", "oboe": "Oboe", "english horn": "EnglishHorn",
    "clarinet in B flat": "Clarinet", "bass clarinet": "BassClarinet", "bassoon": "Bassoon",
    "soprano saxophone": "SopranoSaxophone", "alto saxophone": "AltoSaxophone",
    "tenor saxophone": "TenorSaxophone", "baritone saxophone": "BaritoneSaxophone",
    "horn in F": "Horn", "trumpet in B flat": "Trumpet", "trombone": "Trombone", "tuba": "Tuba",
    "violin": "Violin", "viola": "Viola", "cello": "Violoncello", "double bass": "Contrabass",
    "treble recorder": "Recorder", "ukulele": "Ukulele",
}  # fmt: skip

# The whole written compass by the table "Instrument ranges and transpositions"
# (studystack.com/flashcard-697185), for strings by fiveable.me, Instrumental ranges.
WHOLE = {
    "flute": "C4 C6", "oboe": "B-3 E7", "english horn": "B3 E6", "clarinet in B flat": "E3 E7",
    "clarinet in A": "E3 E7", "bass clarinet": "E3 B6", "alto saxophone": "B-3 F6",
    "tenor saxophone": "B-3 F6", "baritone saxophone": "B-3 F6", "horn in F": "F#2 C6",
    "trumpet in B flat": "F#3 C6", "trombone": "E2 C5", "euphonium": "E2 D-5",
    "baritone in treble clef": "F#3 C6", "xylophone": "F3 C7", "marimba": "A2 C7",
    "glockenspiel": "G3 C6", "guitar": "E3 A6", "violin": "G3 A7", "viola": "C3 E6",
    "cello": "C2 A5",
}  # fmt: skip


@pytest.mark.parametrize("name", OUTSIDE)
def test_transpositions_are_those_of_an_outside_table(name: str) -> None:
    from music21 import instrument

    theirs = getattr(instrument, OUTSIDE[name])()
    ours = INSTRUMENTS[name]
    interval = theirs.transposition
    semitones = int(interval.semitones) if interval is not None else 0
    if name == "double bass":
        assert semitones == -12
    assert ours.sounds[1] == {"piccolo": 12}.get(name, semitones)
    if interval is not None:
        assert ours.sounds[0] == interval.diatonic.generic.staffDistance


@pytest.mark.parametrize("name", WHOLE)
def test_the_compass_of_a_sheet_lies_inside_the_whole_compass(name: str) -> None:
    from music21 import pitch

    low, high = (pitch.Pitch(text).midi for text in WHOLE[name].split())
    assert low <= INSTRUMENTS[name].low.midi < INSTRUMENTS[name].high.midi <= high


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("clarinet", "clarinet in B flat"), ("Clarinet in Bb", "clarinet in B flat"),
        ("B\u266d trumpet", ""), ("alto sax", "alto saxophone"), ("Viola", "viola"),
        ("clarinet in A", "clarinet in A"), ("Horn", "horn in F"), ("violoncello", "cello"),
    ],
)  # fmt: skip
def test_instruments_go_by_their_usual_names(text: str, name: str) -> None:
    if name:
        assert instrument_named(text).name == name
    else:
        with pytest.raises(RequestError, match="no instrument is called"):
            instrument_named(text)


def test_a_misspelt_instrument_gets_the_nearest() -> None:
    with pytest.raises(RequestError, match="did you mean clarinet in B flat"):
        instrument_named("clarinett")
    with pytest.raises(RequestError, match=r"plan\.toml: .*did you mean bassoon"):
        parse_plan('instrument = "basoon"\n[[exercise]]\nvary = "dotting"', "plan.toml")


def sounding(score: Score) -> list[int]:
    """The keys that sound, as a performance has them."""
    from rhythm.show.sound import sound

    return [tone.key for tone in sound(score).tones]


def written_for(theme: Score, instrument: Instrument) -> Score:
    made, _ = for_instrument(theme, instrument)
    return rhythm.read(proven(alone("", made)))


@pytest.mark.parametrize(
    "instrument", [each for each in INSTRUMENTS.values() if not each.struck], ids=str
)
def test_what_sounds_stays_the_same_but_for_octaves_and_lies_in_the_compass(
    instrument: Instrument,
) -> None:
    song = rhythm.read(SONG)
    found = written_for(song, instrument)
    before, after = sounding(song), sounding(found)
    assert [key % 12 for key in after] == [key % 12 for key in before]
    assert len({b - a for a, b in zip(before, after, strict=True)}) == 1
    pitches = [pitch.midi for _, _, event in found.events() for pitch in event.pitches]
    assert instrument.low.midi <= min(pitches) <= max(pitches) <= instrument.high.midi


def keys(score: Score) -> list[Mark]:
    return [mark for mark in score.parts[0].marks if mark.kind == "key"]


def test_keys_are_written_with_no_more_than_six_signs() -> None:
    theme = TUNE.replace(parts=(TUNE.parts[0].replace(marks=(Mark(mpq(0), 0, "key", text="5"),)),))
    made, _ = for_instrument(theme, instrument_named("clarinet"))
    assert [mark.text for mark in keys(made)] == ["-5"]
    assert repr(made.parts[0].voices[0].events[0].pitches[0]) == "Ebb4"


def test_notes_outside_go_by_octaves_and_that_is_told() -> None:
    wide = melody("4/4", *["1/4 1/4 1/4 1/4"] * 4)  # from middle C to the B two octaves up
    made, told = for_instrument(wide, instrument_named("alto voice"))
    assert told == "5 notes of the theme moved by an octave into the compass of the alto voice"
    low, high = (p.midi for p in (INSTRUMENTS["alto voice"].low, INSTRUMENTS["alto voice"].high))
    pitches = [pitch.midi for _, _, event in made.events() for pitch in event.pitches]
    assert low <= min(pitches) <= max(pitches) <= high


def test_chord_symbols_and_grace_notes_go_along() -> None:
    song = written_for(rhythm.read(SONG), instrument_named("clarinet"))
    roots = [
        mark.source.findtext("root/root-step")  # type: ignore[attr-defined]
        for mark in song.parts[0].marks if mark.kind == "harmony"
    ]  # fmt: skip
    assert roots[:3] == ["A", "D", "A"]
    tune = rhythm.read(music21_folder() / "corpus/ryansMammoth/AndrewCareysSlipjig.abc")
    assert errors(proven(alone("", for_instrument(tune, instrument_named("horn"))[0]))) == []


def test_a_chorale_is_one_line_for_an_instrument_of_one_note() -> None:
    chorale = rhythm.read(music21_folder() / "corpus/bach/bwv66.6.mxl")
    found = written_for(lone_part(chorale, 3), instrument_named("tuba"))
    assert all(len(event.pitches) <= 1 for _, _, event in found.events())
    assert check(found).is_right


def test_a_sheet_for_an_instrument_is_in_its_clef_throughout() -> None:
    sheet = exercises(rhythm.read(SONG), instrument="viola", most=4)
    assert sheet.title == "Exercises on Lantern Song, for viola"
    for _, section in sheet.sections:
        data = proven(section)
        assert data.count(b"<clef>") == 1
        assert b"<sign>C</sign>" in data
    assert errors(to_bytes(sheet.score)) == []


def test_hands_alone_have_strokes_on_one_line() -> None:
    sheet = exercises(rhythm.read(SONG), instrument="clapping", most=2)
    kinds = {note.kind for _, _, event in sheet.score.events() for note in event.notes}
    assert kinds == {"unpitched", "rest"}


def test_another_bar_of_a_sheet_keeps_the_clef_of_the_instrument() -> None:
    plan = parse_plan('instrument = "cello"\n[[exercise]]\nvary = "dotting"\nbars = "3-4"')
    ((_, theme), (_, made)) = exercises(TUNE, plan).sections
    assert b"<sign>F</sign>" in proven(made)
    assert b"<sign>F</sign>" in proven(theme)
