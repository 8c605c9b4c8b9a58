"""What a score looks and sounds like: MIDI against music21's reader, the engraved page, the map."""

import re
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest
from gmpy2 import mpq

from rhythm.check.ledger import check
from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.formats import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.concatenation import extract
from rhythm.score.excerpt import excerpt
from rhythm.score.model import Bar, Barline
from rhythm.score.tempo import tempi
from rhythm.show.diagram import map_rows
from rhythm.show.midi import midi_bytes, midi_division
from rhythm.show.playing_order import playing_order
from rhythm.show.sound import sound
from tests.corpus import music21_folder
from tests.markup import note, parts, partwise
from tests.tiny import melody

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.musicxml"))
EXAMPLES_BY_NAME = {path.stem: path for path in EXAMPLES}


def bars(*signs):
    """Bars from signs: ``|:`` and ``:|`` at the ends, ``1.`` an ending's number before the rest.

    A number after ``:|`` says how often it is played.
    """
    made = []
    for i, sign in enumerate(signs):
        number = "".join(re.findall(r"[\d,]+(?=\.)", sign))
        left = Barline(
            repeat="forward" if sign.startswith("|:") else "",
            ending=number,
            ending_type="start" if number else "",
        )
        right = Barline(
            repeat="backward" if ":|" in sign else "",
            ending=number,
            ending_type="stop" if number else "",
            times=int(sign.partition(":|")[2] or 0) or None,
        )
        made.append(Bar(i, str(i + 1), mpq(i), mpq(1), left=left, right=right))
    return made


@pytest.mark.parametrize(
    "signs, order",
    [
        pytest.param(["", "", ""], [0, 1, 2], id="straight through"),
        pytest.param(["", ":|", ""], [0, 1, 0, 1, 2], id="back to the beginning"),
        pytest.param(["", "|:", ":|"], [0, 1, 2, 1, 2], id="back to the forward repeat"),
        pytest.param(["|: :|"], [0, 0], id="one bar repeated"),
        pytest.param(["", "1.:|", "2."], [0, 1, 0, 2], id="two endings"),
        pytest.param(["", "1.:|", "2.", ""], [0, 1, 0, 2, 3], id="two endings and on"),
        pytest.param(["", "1,2.:|", "3."], [0, 1, 0, 1, 0, 2], id="three turns"),
        pytest.param(["", "1.:|", "2.", ":|"], [0, 1, 0, 2, 3, 3], id="a repeat after two endings"),
        pytest.param(["", ":|", ":|"], [0, 1, 0, 1, 2, 2], id="two repeats without a forward one"),
        pytest.param(["", "1.:|", "2.:|"], [0, 1, 0, 2], id="a second ending that says repeat"),
        pytest.param(["", ":|3", ""], [0, 1, 0, 1, 0, 1, 2], id="a repeat played three times"),
        pytest.param(["", ":|1", ""], [0, 1, 2], id="a repeat played once"),
        pytest.param([":|1000000000"], [0] * 99, id="a repeat that would never end"),
        pytest.param(["1,1000000000.:|"], [0], id="an ending that would never come"),
    ],
)
def test_repeats_and_endings_are_played_out(signs, order):
    assert playing_order(bars(*signs)) == order


def test_a_repeat_is_read_with_the_times_it_is_played():
    line = '<barline location="right"><repeat direction="backward" times="{}"/></barline>'
    whole = note("C5", 16, "whole")
    said = [read(partwise(whole + line.format(n))).bars[0].right.times for n in ("3", "0", "many")]
    assert said == [3, 0, None]
    assert playing_order(read(partwise(whole + line.format(3))).bars) == [0, 0, 0]


def tempo_mark(*, unit="quarter", dot="", per_minute="", sound=""):
    printed = (
        f"<metronome><beat-unit>{unit}</beat-unit>{dot}<per-minute>{per_minute}</per-minute>"
        "</metronome>"
    )
    return (
        f"<direction><direction-type>{printed if per_minute else '<words>x</words>'}"
        "</direction-type>" + (f'<sound tempo="{sound}"/>' if sound else "") + "</direction>"
    )


FOUR_QUARTERS = note("C5", 16, "whole")


@pytest.mark.parametrize(
    ("upper", "lower", "expected", "seconds"),
    [
        pytest.param("", {"sound": "60"}, 1_000_000, 4, id="in the second part alone"),
        pytest.param({"per_minute": "90"}, {"sound": "60"}, 1_000_000, 4, id="sound before print"),
        pytest.param({"sound": "90"}, {"sound": "60"}, 666_667, "8/3", id="the first part's"),
        pytest.param(
            {"dot": "<beat-unit-dot/>", "per_minute": "60"}, "", 666_667, "8/3", id="rounded"
        ),
        pytest.param({"per_minute": "0"}, "", 500_000, None, id="nothing a minute"),
        pytest.param({"per_minute": "-60"}, "", 500_000, None, id="less than nothing"),
        pytest.param({"sound": "0"}, "", 500_000, None, id="no sound"),
        pytest.param({"per_minute": "60", "sound": "-60"}, "", 1_000_000, 4, id="print is right"),
        pytest.param({"per_minute": "ca. 60-66"}, "", 1_000_000, 4, id="about"),
    ],
)
def test_what_is_played_and_what_is_checked_go_by_the_same_tempo(upper, lower, expected, seconds):
    marks = (tempo_mark(**each) if each else "" for each in (upper, lower))
    score = read(parts(*((mark + FOUR_QUARTERS,) for mark in marks)))
    assert b"\xff\x51\x03" + expected.to_bytes(3, "big") in midi_bytes(score)
    assert sound(score).tones[0].until == (expected * 4 + 500) // 1000
    assert check(score).summary.seconds == (None if seconds is None else mpq(seconds))


def test_a_tempo_holds_from_where_its_offset_moves_it_to():
    late = tempo_mark(sound="60").replace("<sound", "<offset>8</offset><sound")
    score = read(partwise(tempo_mark(sound="120") + late + FOUR_QUARTERS))
    assert [(str(each.moment), each.quarters) for each in tempi(score)] == [("0", 120), ("1/2", 60)]


def struck(data):
    """What music21 finds in a MIDI file: (quarters from the start, key, quarters held), counted."""
    from music21 import midi

    file = midi.MidiFile()
    file.readstr(data)
    found = Counter()
    for track in file.tracks:
        now, down = 0, {}
        for event in track.events:
            if event.isDeltaTime():
                now += event.time
            elif event.isNoteOn():
                down.setdefault(event.pitch, []).append(now)
            elif event.isNoteOff():
                start = down[event.pitch].pop(0)
                held = Fraction(now - start, file.ticksPerQuarterNote)
                found[Fraction(start, file.ticksPerQuarterNote), event.pitch, held] += 1
    return found


def quarters(length):
    return Fraction(int(length.numerator), int(length.denominator)) * 4


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_music21_hears_every_note_where_it_is_written(path):
    score = read(path)
    expected = Counter(
        (
            quarters(event.onset),
            int(note.pitch.midi),
            # A staccato note sounds half its length (common practice, no source).
            quarters(event.duration)
            / (1 if note.sources[0].find("notations/articulations/staccato") is None else 2),
        )
        for _, _, event in score.events()
        for note in event.notes
        if note.pitch is not None and event.duration
    )
    assert expected
    assert struck(midi_bytes(score, repeats=False)) == expected


@pytest.mark.parametrize("name", ["72a", "72b", "72c"])
def test_transposing_parts_sound_where_music21_hears_them(name):
    """Oracle: music21's own change from written to sounding pitch, on its MusicXML test files."""
    from music21 import converter

    [path] = (music21_folder() / "musicxml" / "lilypondTestSuite").glob(f"{name}-*.xml")
    heard = converter.parse(path).toSoundingPitch()
    expected = Counter(
        (Fraction(note.getOffsetInHierarchy(heard)), note.pitch.midi)
        for note in heard.recurse().notes
    )
    found = Counter()
    for (start, key, _), times in struck(midi_bytes(read(path), repeats=False)).items():
        found[start, key] += times
    assert expected and found == expected
    written = Counter(
        (quarters(event.onset), int(note.pitch.midi))
        for _, _, event in read(path).events()
        for note in event.notes
        if note.pitch is not None
    )
    assert found != written  # else nothing in the file would transpose


def test_an_excerpt_keeps_the_transposition_in_force():
    [path] = (music21_folder() / "musicxml" / "lilypondTestSuite").glob("72c-*.xml")
    whole = read(path)
    last = len(whole.bars) - 1
    alone = read(to_bytes(extract(whole, last, last)))
    start = quarters(whole.bars[last].start)
    tail = {key for begin, key, _ in struck(midi_bytes(whole, repeats=False)) if begin >= start}
    assert tail and {key for _, key, _ in struck(midi_bytes(alone))} == tail


def test_a_part_is_played_by_the_instrument_its_score_names():
    text = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Oboe</part-name>'
        '<score-instrument id="I1"><instrument-name>Oboe</instrument-name></score-instrument>'
        '<midi-instrument id="I1"><midi-program>{}</midi-program></midi-instrument>'
        '</score-part></part-list><part id="P1"><measure number="1"><attributes>'
        "<divisions>1</divisions></attributes><note><pitch><step>A</step><octave>4</octave></pitch>"
        "<duration>4</duration><type>whole</type></note></measure></part></score-partwise>"
    )
    assert bytes((0, 0xC0, 68)) in midi_bytes(read(text.format(69).encode()))
    for wrong in ("", "0", "129", "oboe"):
        assert 0xC0 not in midi_bytes(read(text.format(wrong).encode()))


def test_a_repeat_sounds_twice_with_its_own_ending():
    score = read(next(path for path in EXAMPLES if "lantern" in path.name))
    heard = struck(midi_bytes(score))
    first_note = [start for start, key, _ in heard if key == 71 and start in (0, 16)]
    assert sorted(first_note) == [0, 16]  # four bars of 4/4 come before the repeat
    assert max(start for start, _, _ in heard) == (14 + 3 - 2) * 4 + 2  # 14 bars and 3 again


@pytest.mark.parametrize(
    "bar, division",
    [("1/4 1/4 1/4 1/4", 480), ("1/28 " * 7 + "3/4", 483), ("1/12 1/12 1/12 3/4", 480)],
    ids=["quarters", "septuplet", "triplet"],
)
def test_ticks_are_exact_and_no_fewer_than_480(bar, division):
    score = melody("4/4", bar.strip())
    assert midi_division(score) == division
    heard = struck(midi_bytes(score))
    assert sorted(start for start, _, _ in heard) == [
        quarters(event.onset) for _, _, event in score.events()
    ]


def test_a_file_without_tempo_says_120_and_each_metre_is_told_where_it_begins():
    from music21 import midi

    file = midi.MidiFile()
    file.readstr(midi_bytes(melody(["6/8", "3+2/8"], "3/4", "5/8")))
    told = {}
    now = 0
    for event in file.tracks[0].events:
        if event.isDeltaTime():
            now += event.time
        elif event.type in (midi.MetaEvents.SET_TEMPO, midi.MetaEvents.TIME_SIGNATURE):
            told[now, event.type.name] = event.data
    assert told == {
        (0, "SET_TEMPO"): (500_000).to_bytes(3, "big"),
        (0, "TIME_SIGNATURE"): bytes((6, 3, 36, 8)),
        (1440, "TIME_SIGNATURE"): bytes((5, 3, 36, 8)),
    }


def test_a_map_is_listed_beat_by_beat():
    long_short = TimeMap(((mpq(0), mpq(0)), (mpq(1, 8), mpq(1, 4)), (mpq(1, 4), mpq(3, 8))))
    two = TimeMap.join([long_short, long_short])
    rows = map_rows(Metre.parse("2/4"), two)
    assert rows == [
        ("0", "0", "beat 1"),
        ("1/8", "1/4", ""),
        ("1/4", "3/8", "beat 2"),
        ("3/8", "5/8", ""),
        ("1/2", "3/4", "next bar"),
    ]


def test_some_bars_of_one_part_or_voice_are_seen_and_heard_alone():
    steps = read(EXAMPLES_BY_NAME["ferry-steps"])
    bars = excerpt(steps, bars="3-4")
    assert [bar.number for bar in bars.bars] == ["3", "4"]
    lower = excerpt(steps, voice="2")
    assert [[voice.name for voice in part.voices] for part in lower.parts] == [["2"]]
    keys = {key for _, key, _ in struck(midi_bytes(lower, repeats=False))}
    both = {key for _, key, _ in struck(midi_bytes(steps, repeats=False))}
    assert keys and keys < both
    assert read(to_bytes(lower)).parts[0].voices == lower.parts[0].voices


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"part": "Tuba"}, "there is no part 'Tuba'; there is only Piano"),
        ({"voice": "9"}, "there is no voice '9'; there are 1, 2"),
        ({"bars": "1-2,4"}, "the bars named have gaps between them; one run of bars, such as 5-8"),
        ({"bars": "99"}, "there is no bar '99'; bars run from"),
    ],
)
def test_an_excerpt_that_is_not_there_is_refused(asked, said):
    with pytest.raises(RequestError, match=re.escape(said)):
        excerpt(read(EXAMPLES_BY_NAME["ferry-steps"]), **asked)
