"""Reading MusicXML: written time over ticks, voices, ties, bars; small scores, one point each."""

from __future__ import annotations

import pytest
from gmpy2 import mpq

from rhythm.exact.errors import FileError
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.score.model import Event, Score
from tests.markup import attributes, backup, forward, head, note, parts, partwise


def events(score: Score, voice: int = 0, part: int = 0) -> tuple[Event, ...]:
    return score.parts[part].voices[voice].events


def durations(score: Score, voice: int = 0, part: int = 0) -> list[str]:
    return [str(event.duration) for event in events(score, voice, part)]


def remarks(score: Score) -> list[str]:
    found = [remark.kind for bar in score.parts[0].bars for remark in bar.remarks]
    return [kind for kind in found if kind != "reached"]


SEPTUPLET = "".join(note("C4", 137, "eighth", ratio="7:4") for _ in range(7))


def test_types_and_dots_are_read_as_they_are_written() -> None:
    score = read(partwise(note("C4", 6, "quarter", dots=1) + note("D4", 2, "eighth")), "x")
    (first, second) = (event.pieces[0] for _, _, event in score.events())
    assert (first.type, first.dots) == ("quarter", 1)
    assert (second.type, second.dots) == ("eighth", 0)


def test_a_chord_is_hidden_where_all_its_notes_are() -> None:
    unseen = 'print-object="no"'
    low = note("C4", 16, "whole", attributes=unseen)
    for looks, hidden in (("", False), (unseen, True)):
        chord = low + note("E4", 16, "whole", before="<chord/>", attributes=unseen)
        chord += note("G4", 16, "whole", before="<chord/>", attributes=looks)
        ((_, _, event),) = read(partwise(chord), "x").events()
        assert event.hidden is hidden


def test_septuplets_rounded_in_ticks_come_out_exact() -> None:
    score = read(partwise(SEPTUPLET + note("D4", 961, "half"), divisions=480))
    assert durations(score) == ["1/14"] * 7 + ["1/2"]
    assert events(score)[7].onset == mpq(1, 2)
    assert score.bars[0].length == 1
    assert set(remarks(score)) == {"rounded"}


def test_a_forward_of_one_tick_that_repairs_rounding_vanishes() -> None:
    score = read(partwise(SEPTUPLET + forward(1) + note("D4", 960, "half"), divisions=480))
    assert events(score)[7].onset == mpq(1, 2)


def test_a_backup_over_rounded_ticks_returns_to_the_exact_start() -> None:
    for ticks in (1919, 1920, 1918):
        bar = SEPTUPLET + note("D4", 960, "half") + backup(ticks)
        score = read(partwise(bar + note("E4", 1920, "whole", voice="2"), divisions=480))
        assert events(score, 1)[0].onset == 0
        assert "before-start" not in remarks(score)


def test_a_backup_into_a_rounded_tuplet_finds_the_note_that_began_there() -> None:
    bar = SEPTUPLET + note("D4", 960, "half") + backup(1919 - 3 * 137)
    score = read(partwise(bar + note("E4", 137, "eighth", ratio="7:4", voice="2"), divisions=480))
    assert events(score, 1)[0].onset == mpq(3, 14)


def test_a_forward_inside_a_tuplet_is_a_whole_number_of_its_notes() -> None:
    bar = note("C4", 137, "eighth", ratio="7:4") + forward(274)
    score = read(partwise(bar + note("D4", 137, "eighth", ratio="7:4"), divisions=480))
    assert events(score)[1].onset == mpq(3, 14)


def test_divisions_too_coarse_for_the_music_are_rounding() -> None:
    """`corpus` Schumann op. 41 no. 1 has divisions = 17: a 6/8 bar of 25/34."""
    bar = note("C4", 25, "quarter", dots=1) + note("D4", 25, "quarter", dots=1)
    score = read(partwise(bar, bar, divisions=17, time="6/8"))
    assert durations(score) == ["3/8"] * 4
    assert [bar.length for bar in score.bars] == [mpq(3, 4)] * 2
    assert remarks(score) == ["rounded"] * 4


@pytest.mark.parametrize(
    ("ticks", "type", "dots", "expected", "kind"),
    [
        pytest.param(8, "quarter", 0, "1/2", "contradiction", id="twice as long: the ticks win"),
        pytest.param(5, "quarter", 0, "5/16", "contradiction", id="a tick of four is not rounding"),
        pytest.param(-4, "quarter", 0, "1/4", "negative", id="negative: the type stands"),
        pytest.param(0, "eighth", 0, "1/8", "zero", id="zero: the type stands"),
        pytest.param("1.5", "", 0, "3/32", "", id="a decimal number of ticks"),
        pytest.param(3, "", 0, "3/16", "", id="no type: the ticks decide"),
        pytest.param(6, "quarter", 1, "3/8", "", id="dotted"),
        pytest.param(7, "quarter", 2, "7/16", "", id="double dotted"),
    ],
)
def test_written_value_and_ticks_are_weighed(
    ticks: int | str, type: str, dots: int, expected: str, kind: str
) -> None:
    score = read(partwise(note("C4", ticks, type, dots=dots)))
    assert durations(score) == [expected]
    assert remarks(score) == ([kind] if kind else [])


def test_a_note_with_a_hundred_dots_goes_by_its_ticks() -> None:
    assert durations(read(partwise(note("C4", 4, "quarter", dots=100)))) == ["1/4"]


def test_a_rest_of_type_whole_lasts_its_ticks_without_a_remark() -> None:
    score = read(parts((note("rest", 12, "whole"),), (note("C4", 12, "half", dots=1),), time="3/4"))
    assert durations(score) == ["3/4"]
    assert remarks(score) == []
    assert events(score)[0].pieces[0].whole_bar


def test_a_whole_bar_rest_lasts_as_long_as_its_bar() -> None:
    upbeat = '<measure number="0" implicit="yes">'
    score = read(
        parts(
            (upbeat + note("bar", 16) + "</measure>", note("bar", 16)),
            (upbeat + note("C4", 4, "quarter") + "</measure>", note("C4", 16, "whole")),
        )
    )
    assert [bar.length for bar in score.bars] == [mpq(1, 4), 1]
    assert durations(score) == ["1/4", "1"]
    assert score.bars[0].shift == mpq(3, 4)


def test_two_whole_bar_rests_in_one_bar_are_longer_than_the_other_parts() -> None:
    """`corpus` Monteverdi madrigal 3.4 bar 32."""
    score = read(parts((note("bar", 16) * 2,), (note("C4", 16, "whole"),)))
    assert durations(score) == ["1", "1"]
    assert [part.bars[0].filled for part in score.parts] == [2, 1]


def test_a_chord_lasts_as_its_head_and_says_where_a_member_differs() -> None:
    chord = note("C4", 8, "half") + note("E4", 4, "quarter", before="<chord/>")
    score = read(partwise(chord + note("D4", 8, "half")))
    assert durations(score) == ["1/2", "1/2"]
    assert [repr(pitch) for pitch in events(score)[0].pitches] == ["C4", "E4"]
    assert remarks(score) == ["member"]


def test_a_double_tremolo_counts_half_its_type() -> None:
    mark = '<ornaments><tremolo type="{}">3</tremolo></ornaments>'
    pair = [
        note(pitch, 8, "whole", ratio="2:1", inside=mark.format(end))
        for pitch, end in (("C4", "start"), ("E4", "stop"))
    ]
    score = read(partwise("".join(pair)))
    assert durations(score) == ["1/2", "1/2"]
    assert all(event.pieces[0].tremolo and not event.pieces[0].tuplets for event in events(score))
    assert remarks(score) == []


def test_a_double_tremolo_without_a_ratio_is_no_contradiction() -> None:
    mark = '<ornaments><tremolo type="start">3</tremolo></ornaments>'
    score = read(partwise(note("C4", 8, "whole", inside=mark)))
    assert durations(score) == ["1/2"]
    assert remarks(score) == []


def test_a_bracket_that_is_not_full_is_counted_in_the_unit_that_it_shows() -> None:
    shown = "".join(
        f"<tuplet-{which}><tuplet-number>{number}</tuplet-number>"
        f"<tuplet-type>eighth</tuplet-type></tuplet-{which}>"
        for which, number in (("actual", 3), ("normal", 2))
    )
    start, stop = f'<tuplet type="start">{shown}</tuplet>', '<tuplet type="stop"/>'
    sixteenths = [note("C4", 2, "16th", ratio="3:2", inside=end) for end in (start, stop)]
    score = read(partwise("".join(sixteenths), divisions=12))
    assert [str(t.unit) for t in events(score)[0].pieces[0].tuplets] == ["1/8"]


def test_what_is_said_aside_within_a_text_leaves_it_whole() -> None:
    bar = note("C4", 8, "half").replace("<duration>8", "<duration><!-- a half --><?two?>8")
    half = read(partwise(bar.replace("<octave>4", "<octave><!-- o -->4<!-- o -->")))
    assert durations(half) == ["1/2"] and remarks(half) == []
    assert str(events(half)[0].pitches[0]) == "C4"


def test_a_lone_rest_of_a_whole_note_is_as_long_as_its_bar_with_a_type_or_without() -> None:
    score = read(partwise(note("rest", 4), note("rest", 4, "whole"), divisions=1, time="8/4"))
    assert [str(bar.length) for bar in score.bars] == ["2", "2"]


def test_nested_tuplets_multiply() -> None:
    """A 3:2 of quarters whose second quarter is a 5:4 of sixteenths: 1/6 and 5 x 1/30."""
    start = '<tuplet type="start" number="{}"/>'
    stop = '<tuplet type="stop" number="{}"/>'
    bar = (
        note("C4", 20, "quarter", ratio="3:2", inside=start.format(1))
        + note("D4", 4, "16th", ratio="15:8", inside=start.format(2))
        + note("D4", 4, "16th", ratio="15:8") * 3
        + note("D4", 4, "16th", ratio="15:8", inside=stop.format(2))
        + note("C4", 20, "quarter", ratio="3:2", inside=stop.format(1))
    )
    score = read(partwise(bar, divisions=30, time="2/4"))
    assert durations(score) == ["1/6"] + ["1/30"] * 5 + ["1/6"]
    inner = events(score)[2].pieces[0].tuplets
    assert [(t.actual, t.normal, str(t.unit), str(t.length), t.number) for t in inner] == [
        (3, 2, "1/4", "1/2", 1),
        (5, 4, "1/16", "1/6", 2),
    ]


def test_unmarked_triplets_are_grouped_by_what_they_add_up_to() -> None:
    bar = note("C4", 8, "quarter", ratio="3:2") + note("D4", 4, "eighth", ratio="3:2")
    bar += note("E4", 4, "eighth", ratio="3:2") * 3
    score = read(partwise(bar, divisions=12, time="2/4"))
    spans = [event.pieces[0].tuplets[0] for event in events(score)]
    assert [(t.offset, t.length) for t in spans] == [(0, mpq(1, 4))] * 2 + [(mpq(1, 4),) * 2] * 3


def test_notes_without_a_voice_make_one_voice_a_staff() -> None:
    bar = note("C5", 16, "whole", voice="", staff="1") + backup(16)
    score = read(partwise(bar + note("C3", 16, "whole", voice="", staff="2")))
    assert [voice.name for voice in score.parts[0].voices] == ["1", "staff 2"]


def test_voices_are_in_the_order_of_their_first_notes() -> None:
    bar = note("C5", 16, "whole", voice="5") + backup(16) + note("C4", 16, "whole", voice="1")
    score = read(partwise(bar))
    assert [voice.name for voice in score.parts[0].voices] == ["5", "1"]


def test_a_tie_over_the_bar_line_makes_one_event_of_two_pieces() -> None:
    score = read(
        partwise(note("C4", 16, "whole", ties="start"), note("C4", 8, "half", ties="stop"))
    )
    (event,) = events(score)
    assert event.duration == mpq(3, 2)
    assert [(piece.bar, str(piece.duration)) for piece in event.pieces] == [(0, "1"), (1, "1/2")]
    assert len(event.notes[0].sources) == 2
    assert not event.notes[0].tie_in and not event.notes[0].tie_out


def test_tied_alone_is_a_tie_too() -> None:
    bar = note("C4", 8, "half", inside='<tied type="start"/>')
    bar += note("C4", 8, "half", inside='<tied type="stop"/>')
    assert durations(read(partwise(bar))) == ["1"]


@pytest.mark.parametrize(
    ("second", "reason"),
    [
        (note("D4", 8, "half", ties="stop"), "another pitch"),
        (note("C4", 8, "half"), "no stop mark"),
        (note("C4", 8, "half", ties="stop", voice="2"), "another voice"),
        (note("C4", 8, "half", ties="stop", attributes='print-object="no"'), "hidden"),
        (
            note("B3", "", "eighth", before="<grace/>") + note("C4", 8, "half", ties="stop"),
            "a grace note between",
        ),
    ],
    ids=lambda value: value if not value.startswith("<") else "",
)
def test_a_tie_that_does_not_join_stays_a_link(second: str, reason: str) -> None:
    score = read(partwise(note("C4", 8, "half", ties="start") + second))
    first = events(score)[0]
    assert first.duration == mpq(1, 2) and first.notes[0].tie_out


def test_a_chord_tied_in_part_stays_two_events() -> None:
    bar = (
        note("C4", 8, "half", ties="start")
        + note("E4", 8, "half", before="<chord/>")
        + note("C4", 8, "half", ties="stop")
        + note("F4", 8, "half", before="<chord/>")
    )
    one, two = events(read(partwise(bar)))
    assert [n.tie_out for n in one.notes] == [True, False]
    assert [n.tie_in for n in two.notes] == [True, False]


def test_grace_notes_lead_to_the_next_note_or_close_the_bar() -> None:
    grace = note("B3", "", "eighth", before="<grace/>")
    bar = grace * 2 + note("C4", 16, "whole") + grace
    (event,) = events(read(partwise(bar)))
    assert len(event.graces) == 2 and len(event.after) == 1


def test_a_bar_of_nothing_but_grace_notes_keeps_them() -> None:
    score = read(partwise(note("B3", "", "eighth", before="<grace/>")))
    (event,) = events(score)
    assert event.duration == 0 and not event.notes and len(event.graces) == 1
    assert score.bars[0].length == 1


def test_hidden_and_cue_notes_do_not_make_a_bar_longer() -> None:
    bar = note("C4", 16, "whole") + backup(16)
    bar += note("D4", 24, "whole", dots=1, voice="2", attributes='print-object="no"') + backup(24)
    bar += note("E4", 24, "whole", dots=1, voice="3", before="<cue/>")
    score = read(partwise(bar))
    assert score.bars[0].length == 1
    assert [e.hidden for v in score.parts[0].voices for e in v.events] == [False, True, False]
    assert [e.cue for v in score.parts[0].voices for e in v.events] == [False, False, True]


def test_a_backup_past_the_bar_s_start_stops_there_and_is_said() -> None:
    bar = note("C4", 8, "half") + backup(12) + note("D4", 16, "whole", voice="2")
    score = read(partwise(bar))
    assert events(score, 1)[0].onset == 0
    assert remarks(score) == ["before-start"]


def test_a_wild_backup_that_a_forward_repairs_is_harmless() -> None:
    bar = note("C4", 8, "half") + backup(400_000) + forward(400_000) + note("D4", 8, "half")
    score = read(partwise(bar))
    assert [str(event.onset) for event in events(score)] == ["0", "1/2"]
    assert remarks(score) == ["far-backup"]


def test_a_voice_placed_by_a_short_backup_leaves_a_gap() -> None:
    bar = note("C4", 16, "whole") + backup(4) + note("D4", 4, "quarter", voice="2")
    assert events(read(partwise(bar)), 1)[0].onset == mpq(3, 4)


def test_divisions_may_change_inside_a_bar() -> None:
    bar = note("C4", 8, "half") + attributes("", 8) + note("D4", 16, "half") + backup(32)
    score = read(partwise(bar + note("E4", 32, "whole", voice="2")))
    assert durations(score) == ["1/2", "1/2"]
    assert events(score, 1)[0].onset == 0


def test_a_bar_without_divisions_goes_by_its_types() -> None:
    score = read(partwise(note("C4", 480, "half") * 2, divisions=""))
    assert durations(score) == ["1/2", "1/2"]
    assert remarks(score) == ["no-divisions"] * 2
    assert score.bars[0].divisions is None


def test_a_part_without_a_signature_takes_the_first_part_s() -> None:
    body = note("C4", 12, "half", dots=1)
    second = f'<part id="P2"><measure number="1">{attributes("", 4)}{body}</measure></part>'
    data = partwise(body, time="3/4").decode()
    data = data.replace("</score-partwise>", second + "</score-partwise>")
    score = read(data.replace(head("P1"), head("P1", "P2")).encode())
    assert [str(part.bars[0].metre) for part in score.parts] == ["3/4", "3/4"]
    assert [part.bars[0].shows_metre for part in score.parts] == [True, False]


SIGNATURES = {
    "3+2/8": "<time><beats>3+2</beats><beat-type>8</beat-type></time>",
    "3+2+2/8": "<time><beats>3 + 2 + 2</beats><beat-type>8</beat-type></time>",
    "3/4+3/8": "<time><beats>3</beats><beat-type>4</beat-type>"
    "<beats>3</beats><beat-type>8</beat-type></time>",
    "C": '<time symbol="common"><beats>4</beats><beat-type>4</beat-type></time>',
    "C|": '<time symbol="cut"><beats>2</beats><beat-type>2</beat-type></time>',
    "senza misura": "<time><senza-misura/></time>",
    "6/8 (3/4)": "<time><beats>6</beats><beat-type>8</beat-type><interchangeable>"
    "<time-relation>parentheses</time-relation><beats>3</beats><beat-type>4</beat-type>"
    "</interchangeable></time>",
}


@pytest.mark.parametrize(("text", "markup"), SIGNATURES.items(), ids=SIGNATURES)
def test_every_kind_of_signature_is_read(text: str, markup: str) -> None:
    bar = f"<attributes><divisions>8</divisions>{markup}</attributes>" + note("C4", 8, "quarter")
    score = read(partwise(bar, time="", divisions=""))
    assert str(score.bars[0].metre) == text


H5 = note("C4", 4, "quarter").replace("<step>C</step><octave>4", "<step>H</step><octave>5")


@pytest.mark.parametrize(
    ("source", "problem"),
    [
        (partwise(note("C4", 4, "quarter"), time="x/0"), "'x/0' is not a time signature"),
        (partwise(note("C4", 4, "quarter"), time="0/4"), "'0/4' is not a time signature"),
        (partwise(note("C4", 4, "quarter"), divisions="9" * 39), "divisions of '9999"),
        (partwise(note("C4", "0." + "0" * 30 + "1", "quarter")), "a duration of '0.000"),
        (partwise(note("C4", 4, "quarter", ratio="12345:2")), "does not say how many"),
        (partwise(note("C4", 4, "quarter"), divisions=0), "divisions of '0'"),
        (partwise(note("C4", 4, "quarter"), divisions="many"), "divisions of 'many'"),
        (partwise(note("C4", "abc", "quarter", voice="2")), "voice 2: a duration of 'abc'"),
        (partwise(note("C4", 10**12)), "the bar lasts 62500000000 whole notes"),
        (partwise(backup(2) + note("C4", 10**12, voice="2")), "the bar lasts"),
        (partwise(note("C4", 4, "crotchet")), "voice 1: 'crotchet' is not a note type"),
        (partwise(note("C4", 4, "quarter", ratio="0:2")), "voice 1: a time-modification"),
        (partwise(H5), "voice 1: 'H5' is not a pitch"),
    ],
)
def test_what_no_score_can_say_is_refused_with_its_place(source: bytes, problem: str) -> None:
    with pytest.raises(FileError, match=r"^song, part P1, bar 1") as caught:
        read(source, "song")
    assert problem in str(caught.value)
    assert caught.value.legal


def test_bar_lines_repeats_and_endings_are_read() -> None:
    bar = (
        '<barline location="left"><bar-style>heavy-light</bar-style>'
        '<repeat direction="forward"/></barline>'
        + note("C4", 16, "whole")
        + '<barline location="right"><ending number="1, 2" type="stop"/>'
        '<repeat direction="backward"/></barline>'
    )
    first = read(partwise(bar)).bars[0]
    assert first.left is not None and (first.left.style, first.left.repeat) == (
        "heavy-light",
        "forward",
    )
    assert first.right is not None
    assert (first.right.repeat, first.right.ending, first.right.ending_type) == (
        "backward",
        "1, 2",
        "stop",
    )


def test_marks_know_their_place_reach_and_stream() -> None:
    words = "<direction><direction-type><words>{}</words></direction-type>{}</direction>"
    bar = (
        words.format("head", "")
        + note("C4", 8, "half")
        + words.format("middle", "<offset>2</offset>")
        + note("D4", 8, "half")
        + backup(8)
        + words.format("second", "")
        + note("E3", 8, "half", voice="2")
        + words.format("last", "")
    )
    score = read(partwise(bar))
    found = [
        (str(mark.onset), str(mark.reach), mark.stream)
        for mark in score.parts[0].marks
        if mark.kind == "direction"
    ]
    assert found == [("0", "0", ""), ("1/2", "1/8", "1"), ("1/2", "0", "2"), ("1", "0", "2")]


def test_metronome_marks_and_sound_tempo_are_understood() -> None:
    direction = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        "<per-minute>60</per-minute></metronome></direction-type>"
        '<sound tempo="90"/></direction>'
    )
    relation = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit>"
        "<beat-unit>quarter</beat-unit><beat-unit-dot/></metronome></direction-type></direction>"
    )
    score = read(partwise(direction + relation + note("C4", 16, "whole")))
    one, two = (mark for mark in score.parts[0].marks if mark.kind == "direction")
    assert one.metronome is not None and one.metronome.unit == mpq(3, 8)
    assert one.metronome.per_minute == "60" and one.tempo == 90
    assert two.metronome is not None and two.metronome.other == mpq(3, 8)


def test_a_timewise_score_reads_as_the_partwise_one() -> None:
    body = attributes("2/4", 4) + note("C4", 8, "half")
    timewise = (
        f'<score-timewise version="4.0">{head("P1", "P2")}'
        f'<measure number="1"><part id="P1">{body}</part><part id="P2">{body}</part></measure>'
        f'<measure number="2"><part id="P1">{note("D4", 8, "half")}</part>'
        f'<part id="P2">{note("E4", 8, "half")}</part></measure></score-timewise>'
    )
    score = read(timewise.encode())
    partly = read(
        parts(
            (note("C4", 8, "half"), note("D4", 8, "half")),
            (note("C4", 8, "half"), note("E4", 8, "half")),
            time="2/4",
        )
    )
    assert [part.voices for part in score.parts] == [part.voices for part in partly.parts]
    assert [bar.number for bar in score.bars] == ["1", "2"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-8-sig", "iso-8859-1"])
def test_any_encoding_is_read(encoding: str) -> None:
    text = partwise(note("C4", 16, "whole")).decode().replace(">P1<", ">Flöte<")
    declared = encoding.removesuffix("-sig")
    data = f'<?xml version="1.0" encoding="{declared}"?>{text}'.encode(encoding)
    assert read(data).parts[0].name == "Flöte"


def test_the_verses_an_event_carries_are_known() -> None:
    lyrics = '<lyric number="1"><text>a</text></lyric><lyric number="2"><text>b</text></lyric>'
    (event,) = events(read(partwise(note("C4", 16, "whole", after=lyrics))))
    assert event.verses == ("1", "2")


def test_a_tuplet_of_hundreds_whose_ticks_are_plain_is_none() -> None:
    """No page shows 1009 notes in the time of 1008."""
    bar = note("C4", 4, "quarter", ratio="1009:1008") * 2 + note("D4", 8, "half")
    score = read(partwise(bar))
    assert durations(score) == ["1/4", "1/4", "1/2"]
    assert [event.pieces[0].ratio for event in events(score)] == [(1, 1)] * 3
