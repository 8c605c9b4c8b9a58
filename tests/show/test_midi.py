"""A MIDI file as its readers find it: read with mido, and once with partitura."""

import warnings
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import pytest

import rhythm
from rhythm import read
from rhythm.exact.errors import KindError, RequestError
from tests.midi_files import (
    ACCENT,
    GRACE,
    STACCATO,
    TIME,
    direction,
    heard,
    metas,
    note,
    opened,
    score,
    timed,
    tune,
)

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_loudness_follows_dynamics_hairpins_and_accents():
    piece = tune(
        direction("<dynamics><p/></dynamics>") + note("C") * 4,
        direction('<wedge type="crescendo"/>') + note("C") * 4 + direction('<wedge type="stop"/>'),
        direction("<dynamics><f/></dynamics>") + note("C") + note("C", 1, ACCENT) + note("C", 2),
    )
    loud = [velocity for _, _, _, velocity in heard(rhythm.midi(piece))]
    assert len(set(loud[:4])) == 1
    assert loud[4:9] == sorted(set(loud[4:9])), "each note of the hairpin louder than the last"
    assert loud[9] > loud[8] == loud[10]


def test_staccato_is_short_and_a_grace_note_comes_before():
    piece = tune(note("C") + note("D", 1, STACCATO) + GRACE + note("A", 2))
    assert [each[:3] for each in heard(rhythm.midi(piece))] == [
        (0, 1, 60),
        (1, Fraction(3, 2), 62),
        (Fraction(15, 8), 2, 71),
        (2, 4, 69),
    ]


def test_da_capo_al_fine_is_played_and_the_first_tempo_comes_again():
    slow = direction("<words>slow</words>", '<sound tempo="60"/>')
    piece = tune(
        note("C", 4),
        note("D", 4) + direction("<words>Fine</words>"),
        slow + note("E", 4) + direction("<words>D.C. al Fine</words>"),
    )
    data = rhythm.midi(piece)
    assert [key for _, _, key, _ in heard(data)] == [60, 62, 64, 60, 62]
    assert [(now, message.tempo) for now, message in metas(data, "set_tempo")] == [
        (0, 500_000), (8, 1_000_000), (12, 500_000),
    ]  # fmt: skip
    assert [key for _, _, key, _ in heard(rhythm.midi(piece, repeats=False))] == [60, 62, 64]


def test_drums_have_the_keys_of_their_instruments():
    """Keys of the General MIDI Level 1 percussion map; ``midi-unpitched`` counts from 1."""
    kit = "".join(
        f'<score-instrument id="{name}"><instrument-name>{called}</instrument-name>'
        "</score-instrument>"
        for name, called in (("K", "Kick"), ("S", "Snare"), ("H", "Closed Hi-Hat"), ("B", "Bell"))
    ) + (
        '<midi-instrument id="B"><midi-channel>10</midi-channel>'
        "<midi-unpitched>57</midi-unpitched></midi-instrument>"
    )
    struck = "".join(note("C5", 1, f'<instrument id="{name}"/>', what="drum") for name in "KSHB")
    data = rhythm.midi(score((kit, [struck])))
    assert [key for _, _, key, _ in heard(data, drums=True)] == [36, 38, 42, 56]
    assert heard(data) == []


def test_drums_without_instruments_go_by_their_place():
    struck = "".join(note(place, what="drum") for place in ("F4", "C5", "G5", "B3"))
    kit = '<score-instrument id="C"><instrument-name>Cowbell</instrument-name></score-instrument>'
    piece = score(("", [struck]))
    assert [key for _, _, key, _ in heard(rhythm.midi(piece), drums=True)] == [36, 38, 42, 76]
    bell = score((kit, [struck]))
    assert {key for _, _, key, _ in heard(rhythm.midi(bell), drums=True)} == {56}


def program(number):
    return (
        '<score-instrument id="I"><instrument-name/></score-instrument><midi-instrument id="I">'
        f"<midi-program>{number}</midi-program></midi-instrument>"
    )


def test_seventeen_parts_do_not_meet():
    """Two flutes share a channel, and neither lets the other's key go."""
    parts = [(program(74), [note("C", 4)]), (program(74), [note("C", 2) + note("D", 2)])]
    parts += [(program(n), [note("E", 4)]) for n in range(1, 14)]
    parts += [(program(74), [note("C", 1) + note("E", 1) + note("F", 2)])] * 2
    file = opened(rhythm.midi(score(*parts)))
    assert len(file.tracks) == 18
    programs = defaultdict(set)
    for _, _, message in timed(file):
        if message.type == "program_change":
            programs[message.channel].add(message.program)
    assert len(programs) == 15 and 9 not in programs
    assert all(len(found) == 1 for found in programs.values())
    ends = defaultdict(list)
    for _, now, message in timed(file):
        if message.type == "note_off" and message.note == 60:
            ends[message.channel].append(now)
    assert sorted(max(found) for found in ends.values()) == [2, 4]


def test_seventeen_instruments_take_a_further_port():
    piece = score(*((program(n), [note("C", 4)]) for n in range(1, 18)))
    data = rhythm.midi(piece)
    places = set()
    for track in opened(data).tracks[1:]:
        said = {message.type: message for message in track}
        places.add((said["midi_port"].port, said["program_change"].channel))
        assert said["note_on"].channel == said["program_change"].channel != 9
    assert len(places) == 17 and {port for port, _ in places} == {0, 1}
    assert len(heard(data)) == 17


def test_a_key_that_another_voice_holds_is_not_cut_off():
    back = "<backup><duration>4</duration></backup>"
    piece = tune(
        note("C", 4) + back + note("C", voice=2) + note("D", voice=2) + note("C", 2, "", 2)
    )
    assert [each[:3] for each in heard(rhythm.midi(piece))] == [
        (0, 2, 60), (1, 2, 62), (2, 4, 60),
    ]  # fmt: skip
    short = tune(note("C", 4) + back + note("D", voice=2) + note("C", voice=2))
    assert [each[:3] for each in heard(rhythm.midi(short)) if each[2] == 60] == [
        (0, 1, 60), (1, 4, 60),
    ]  # fmt: skip


def test_the_key_is_told_as_it_sounds():
    """A clarinet in B flat that reads D major sounds in C."""
    key = "<key><fifths>{}</fifths><mode>{}</mode></key>"
    lower = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    for fifths, mode, after, named in (
        (2, "major", "", "D"), (-3, "minor", "", "Cm"), (2, "major", lower, "C"),
    ):  # fmt: skip
        piece = tune(note("C", 4), head=key.format(fifths, mode) + TIME + after)
        told = metas(rhythm.midi(piece), "key_signature")
        assert [(now, message.key) for now, message in told] == [(0, named)]


def test_words_are_sung_along():
    def sung(*syllables):
        return "".join(
            f'<lyric number="{n}"><syllabic>{kind}</syllabic><text>{text}</text></lyric>'
            for n, (kind, text) in enumerate(syllables, start=1)
        )

    first = sung(("begin", "Lan"), ("single", "Bright"))
    second = sung(("end", "tern"), ("single", "día"))
    again = '<barline location="right"><repeat direction="backward"/></barline>'
    piece = tune(note("C", 2, first) + note("D", 2, second) + again)
    told = metas(rhythm.midi(piece), "lyrics")
    assert [(now, message.text) for now, message in told] == [
        (0, "Lan"), (2, "tern "), (4, "Bright "), (6, "día "),
    ]  # fmt: skip


def test_the_speed_is_a_part_of_the_scores_own():
    piece = tune(direction("<words>x</words>", '<sound tempo="120"/>') + note("C", 4))
    for speed, microseconds in (("60%", 833_333), ("100%", 500_000), ("12.5%", 4_000_000)):
        [(_, message)] = metas(rhythm.midi(piece, speed=speed), "set_tempo")
        assert message.tempo == microseconds
    assert heard(rhythm.midi(piece, speed="50%")) == heard(rhythm.midi(piece))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"speed": "fast"}, "'fast' is no speed"),
        ({"speed": "60"}, "'60' is no speed"),
        ({"speed": "9%"}, "'9%' is no speed"),
        ({"speed": "401%"}, "'401%' is no speed"),
        ({"count_in": -1}, "-1 bars cannot be counted in"),
        ({"count_in": 9}, "9 bars cannot be counted in"),
    ],
)
def test_what_cannot_be_played_is_refused(asked, said):
    with pytest.raises(RequestError, match=said):
        rhythm.midi(tune(note("C", 4)), **asked)


def test_a_speed_that_is_no_text_is_refused():
    with pytest.raises(KindError, match="speed of midi"):
        rhythm.midi(tune(note("C", 4)), speed=60)


def clicks(data):
    return [(start, key) for start, _, key, _ in heard(data, drums=True)]


def test_the_click_has_the_beats_of_the_metre():
    six = "<time><beats>6</beats><beat-type>8</beat-type></time>"
    piece = tune(note("C", 2) + note("C", 1), head=six)
    data = rhythm.midi(piece, click=True)
    assert clicks(data) == [(0, 76), (Fraction(3, 2), 77)]
    assert opened(data).tracks[-1].name == "Click"
    assert clicks(rhythm.midi(piece)) == []


def test_bars_are_counted_in_before_an_upbeat():
    piece = read(
        b'<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        b'</part-list><part id="P1"><measure number="0" implicit="yes"><attributes><divisions>1'
        b"</divisions><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
        + note("G").encode()
        + b'</measure><measure number="1">'
        + (note("C") * 3).encode()
        + b"</measure></part></score-partwise>"
    )
    data = rhythm.midi(piece, count_in=1)
    assert clicks(data) == [(0, 76), (1, 77), (2, 77), (3, 76), (4, 77)]
    assert [start for start, *_ in heard(data)] == [5, 6, 7, 8]
    assert metas(data, "time_signature")[0][0] == metas(data, "set_tempo")[0][0] == 0
    both = rhythm.midi(piece, count_in=2, click=True)
    assert [start for start, *_ in heard(both)] == [8, 9, 10, 11]
    assert [start for start, _ in clicks(both)] == list(range(12))
    assert [start for start, key in clicks(both) if key == 76] == [0, 3, 6, 9]


def test_partitura_reads_the_same_notes(tmp_path):
    path = EXAMPLES / "lantern-song.musicxml"
    data = rhythm.midi(path, speed="60%")
    (tmp_path / "song.mid").write_bytes(data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        performed = partitura.load_performance_midi(tmp_path / "song.mid")
    found = sorted(
        (Fraction(int(each["onset_tick"]), opened(data).ticks_per_beat), int(each["pitch"]))
        for each in performed.note_array()
    )
    assert found and found == sorted((start, key) for start, _, key, _ in heard(data))
