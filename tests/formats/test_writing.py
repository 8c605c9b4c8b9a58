"""Writing bars afresh: payload, ties, tuplets, beams, divisions, signatures, marks."""

from __future__ import annotations

from dataclasses import replace

import pytest
from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import ProofError
from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.divisions_plan import MAX_DIVISIONS
from rhythm.formats.musicxml.write.note_writer import ticks_text
from rhythm.formats.musicxml.write.score_writer import to_bytes, to_tree
from rhythm.score.model import (
    Addition,
    Bar,
    Event,
    Mark,
    Metronome,
    Note,
    Part,
    Piece,
    Pitch,
    Score,
    Tuplet,
    Voice,
)
from tests.census import count
from tests.markup import attributes, backup, note, parts, partwise
from tests.schema import errors

QUARTER, HALF, WHOLE = mpq(1, 4), mpq(1, 2), mpq(1)


def afresh(score: Score, *indices: int) -> Score:
    """Drop the source of these bars, or of all."""
    return score.replace(
        parts=tuple(
            part.replace(
                bars=tuple(
                    bar.replace(source=None) if not indices or bar.index in indices else bar
                    for bar in part.bars
                )
            )
            for part in score.parts
        )
    )


def with_pieces(score: Score, *pieces: tuple[Piece, ...]) -> Score:
    """The score's first voice with other pieces for its events, bars to be written afresh."""
    part = afresh(score).parts[0]
    voice = part.voices[0]
    events = tuple(
        event.replace(
            onset=part.bars[new[0].bar].start + new[0].offset,
            duration=sum((piece.duration for piece in new), mpq(0)),
            pieces=new,
        )
        for event, new in zip(voice.events, pieces, strict=True)
    )
    voices = (replace(voice, events=events), *part.voices[1:])
    return score.replace(parts=(part.replace(voices=voices),))


def notes(score: Score) -> list[etree._Element]:
    return list(to_tree(score).iter("note"))


def tags(element: etree._Element) -> list[str]:
    return [str(child.tag) for child in element.iter() if child is not element]


def quarters(number: int) -> tuple[Piece, ...]:
    return tuple(Piece(0, QUARTER * i, QUARTER, "quarter") for i in range(number))


LADEN = note(
    "F#4",
    16,
    "whole",
    attributes='id="n1" color="#FF0000"',
    inside='<slur type="stop" number="1"/><slur type="start" number="2"/>'
    '<glissando type="start" number="1" line-type="wavy"/>'
    '<ornaments><trill-mark/><wavy-line type="start"/><wavy-line type="stop"/></ornaments>'
    "<technical><fingering>3</fingering></technical>"
    "<articulations><accent/><breath-mark/></articulations>"
    "<dynamics><f/></dynamics><fermata/><arpeggiate/>",
    after='<lyric number="1"><text>la</text></lyric><lyric number="2"><text>lo</text></lyric>',
).replace("</type>", "</type><accidental>sharp</accidental>")


def test_a_split_note_keeps_its_beginnings_in_front_and_its_ends_behind() -> None:
    score = read(partwise(LADEN))
    split = with_pieces(score, quarters(4))
    first, *middle, last = notes(split)
    front = {"accidental", "trill-mark", "fingering", "accent", "f", "arpeggiate"}
    assert front <= set(tags(first))
    assert [lyric.findtext("text") for lyric in first.findall("lyric")] == ["la", "lo"]
    assert [slur.get("type") for slur in first.iter("slur")] == ["start"]
    assert [slur.get("type") for slur in last.iter("slur")] == ["stop"]
    assert {"fermata", "glissando", "breath-mark"} <= set(tags(last))
    assert [line.get("type") for line in first.iter("wavy-line")] == ["start"]
    assert [line.get("type") for line in last.iter("wavy-line")] == ["stop"]
    for piece in middle:
        assert set(tags(piece)) == {
            "pitch", "step", "alter", "octave", "duration", "tie", "voice", "type", "notations",
            "tied",
        }  # fmt: skip
    assert [piece.get("id") for piece in (first, *middle, last)] == ["n1", None, None, None]
    assert {piece.get("color") for piece in (first, *middle, last)} == {"#FF0000"}
    assert count(to_tree(split)) == count(to_tree(score))
    assert errors(to_bytes(split)) == []


def test_pieces_are_tied_in_sound_and_notation_stop_before_start() -> None:
    split = with_pieces(read(partwise(LADEN)), quarters(4))
    ties = [
        (
            [tie.get("type") for tie in element.findall("tie")],
            [tied.get("type") for tied in element.findall("notations/tied")],
        )
        for element in notes(split)
    ]
    both = ["stop", "start"]
    assert ties == [(["start"], ["start"]), (both, both), (both, both), (["stop"], ["stop"])]


def test_joined_notes_keep_what_the_later_pieces_carried() -> None:
    bar = note("C4", 8, "half", ties="start", inside="<articulations><accent/></articulations>")
    bar += note(
        "C4",
        8,
        "half",
        ties="stop",
        inside='<fermata/><slur type="start"/><articulations><staccato/></articulations>',
        after="<lyric><text>la</text></lyric>",
    )
    score = read(partwise(bar))
    joined = with_pieces(score, (Piece(0, mpq(0), WHOLE, "whole"),))
    (element,) = notes(joined)
    assert element.find("tie") is None and element.find("notations/tied") is None
    assert {"accent", "staccato", "fermata", "slur", "lyric"} <= set(tags(element))
    assert count(to_tree(joined)) == count(to_tree(score))
    assert errors(to_bytes(joined)) == []


@pytest.mark.parametrize("kept", [0, 1])
def test_a_note_held_into_a_bar_kept_as_it_was_leaves_there_what_stands_there(kept: int) -> None:
    """Only the other bar is split, so nothing may move over the bar line or be written twice."""
    bars = [
        note(
            "C4",
            16,
            "whole",
            ties=tie,
            inside='<slur type="stop"/><fermata/><articulations><accent/></articulations>',
            after=f"<lyric><text>{text}</text></lyric>",
        )
        for tie, text in (("start", "one"), ("stop", "two"))
    ]
    score = read(partwise(*bars))
    (event,) = score.parts[0].voices[0].events
    pieces = [
        piece
        for old in event.pieces
        for piece in ((old,) if old.bar == kept else (replace(p, bar=old.bar) for p in quarters(4)))
    ]
    made = with_pieces(score, tuple(pieces))
    part = made.parts[0]
    both = tuple(
        score.parts[0].bars[i] if i == kept else part.bars[i] for i in range(len(part.bars))
    )
    made = made.replace(parts=(part.replace(bars=both),))
    assert count(to_tree(made)) == count(to_tree(score))
    written = [len(list(measure.iter("note"))) for measure in to_tree(made).iter("measure")]
    assert written == [1 if i == kept else 4 for i in range(2)]
    (again,) = read(to_bytes(made)).parts[0].voices[0].events
    assert again.duration == 2 and len(again.pieces) == 5


def test_rests_in_several_pieces_are_not_tied() -> None:
    made = with_pieces(read(partwise(note("rest", 16, "whole"))), quarters(4))
    assert not list(to_tree(made).iter("tie", "tied"))


def test_a_tie_that_leads_out_goes_on_from_the_last_piece() -> None:
    bar = note("C4", 8, "half", inside='<tied type="start" orientation="over"/>')
    score = read(partwise(bar.replace("<voice>", '<tie type="start"/><voice>')))
    split = with_pieces(score, quarters(2))
    first, last = notes(split)
    assert [tied.attrib for tied in last.iter("tied")] == [
        {"type": "stop"},
        {"type": "start", "orientation": "over"},
    ]
    assert [tied.get("orientation") for tied in first.iter("tied")] == [None]
    (event,) = read(to_bytes(split)).parts[0].voices[0].events
    assert event.notes[0].tie_out


def test_a_chord_is_split_member_by_member() -> None:
    chord = note("C4", 16, "whole") + note("E4", 16, "whole", before="<chord/>")
    split = with_pieces(read(partwise(chord)), quarters(4))
    assert [element.find("chord") is not None for element in notes(split)] == [False, True] * 4
    assert [event.duration for event in read(to_bytes(split)).parts[0].voices[0].events] == [1]


def test_attack_and_release_keep_their_place_in_the_note() -> None:
    score = read(partwise(note("C4", 8, "half", attributes='attack="2" release="-4"')))
    split = with_pieces(score, (Piece(0, mpq(0), QUARTER, "quarter"),))
    (element,) = notes(split)
    assert (element.get("attack"), element.get("release")) == ("0.25", "-0.5")


def test_a_piece_without_a_symbol_is_written_by_its_ticks_alone() -> None:
    score = read(partwise(note("rest", 5, "")))
    (element,) = notes(afresh(score))
    assert element.find("type") is None and element.findtext("duration") == "5"


TRIPLET = Tuplet(3, 2, mpq(1, 8), mpq(0), QUARTER)


def triplet(*, bracket: bool = True) -> tuple[tuple[Piece, ...], ...]:
    group = (replace(TRIPLET, bracket=bracket),)
    return tuple(
        (Piece(0, mpq(i, 12), mpq(1, 12), "eighth", ratio=(3, 2), tuplets=group, beams=(word,)),)
        for i, word in enumerate(("begin", "continue", "end"))
    )


def test_a_new_tuplet_says_its_ratio_and_its_ends() -> None:
    score = read(partwise(note("C4", 4, "quarter") * 3))
    made = with_pieces(score, *triplet())
    elements = notes(made)
    assert [element.findtext("time-modification/actual-notes") for element in elements] == ["3"] * 3
    assert [
        [(t.get("type"), t.get("bracket")) for t in element.iter("tuplet")] for element in elements
    ] == [[("start", "yes")], [], [("stop", None)]]
    assert [element.findtext("beam") for element in elements] == ["begin", "continue", "end"]
    assert [element.findtext("duration") for element in elements] == ["1"] * 3
    assert errors(to_bytes(made)) == []


def test_the_unit_is_named_where_a_note_in_a_tuplet_has_another_value() -> None:
    score = read(partwise(note("C4", 4, "quarter") * 2))
    group = (TRIPLET,)
    made = with_pieces(
        score,
        (Piece(0, mpq(0), mpq(1, 6), "quarter", ratio=(3, 2), tuplets=group),),
        (Piece(0, mpq(1, 6), mpq(1, 12), "eighth", ratio=(3, 2), tuplets=group),),
    )
    assert [n.findtext("time-modification/normal-type") for n in notes(made)] == ["eighth", None]


def test_how_a_source_s_tuplet_looks_is_kept() -> None:
    start = '<tuplet type="start" bracket="yes" placement="below" show-number="both"/>'
    bar = (
        note("C4", 4, "eighth", ratio="3:2", inside=start)
        + note("C4", 4, "eighth", ratio="3:2")
        + note("C4", 4, "eighth", ratio="3:2", inside='<tuplet type="stop"/>')
    )
    (first, *_) = notes(afresh(read(partwise(bar, divisions=12))))
    (tuplet,) = first.iter("tuplet")
    assert dict(tuplet.attrib) == {
        "type": "start",
        "bracket": "yes",
        "placement": "below",
        "show-number": "both",
    }


def test_a_tuplet_left_unmarked_on_purpose_stays_unmarked() -> None:
    bar = note("C4", 4, "eighth", ratio="3:2") * 3
    tree = to_tree(afresh(read(partwise(bar, divisions=12))))
    assert not list(tree.iter("tuplet"))


def test_nested_tuplets_spell_out_their_own_numbers() -> None:
    outer = Tuplet(3, 2, QUARTER, mpq(0), HALF)
    inner = Tuplet(5, 4, mpq(1, 16), mpq(0), mpq(1, 6), number=2)
    pieces = [
        (Piece(0, mpq(i, 30), mpq(1, 30), "16th", ratio=(15, 8), tuplets=(outer, inner)),)
        for i in range(5)
    ] + [
        (Piece(0, mpq(i, 6), mpq(1, 6), "quarter", ratio=(3, 2), tuplets=(outer,)),) for i in (1, 2)
    ]
    made = with_pieces(read(partwise(note("C4", 2, "eighth") * 7)), *pieces)
    first = notes(made)[0]
    assert [
        (t.get("number"), t.findtext("tuplet-actual/tuplet-number")) for t in first.iter("tuplet")
    ] == [("1", "3"), ("2", "5")]
    again = read(to_bytes(made)).parts[0].voices[0].events
    assert [event.pieces[0].tuplets for event in again] == [p[0].tuplets for p in pieces]
    assert errors(to_bytes(made)) == []


def test_stems_that_point_both_ways_are_left_out_under_a_new_beam() -> None:
    stems = ("up", "up", "down")
    bar = "".join(
        note("C4", 4, "eighth", ratio="3:2").replace(
            "</time-modification>", f"</time-modification><stem>{stem}</stem>"
        )
        for stem in stems
    )
    score = read(partwise(bar, divisions=12))
    assert [element.find("stem") for element in notes(with_pieces(score, *triplet()))] == [None] * 3
    assert [element.findtext("stem") for element in notes(afresh(score))] == list(stems)


def test_divisions_are_the_least_that_hold_everything() -> None:
    score = read(partwise(note("C4", 480, "quarter") * 4, divisions=480))
    assert to_tree(afresh(score)).findtext(".//divisions") == "1"
    septuplets = note("C4", 137, "eighth", ratio="7:4") * 7 + note("C4", 961, "half")
    score = read(partwise(septuplets, divisions=480))
    assert to_tree(afresh(score)).findtext(".//divisions") == "7"


def test_divisions_change_bar_by_bar_where_one_number_would_be_too_large() -> None:
    numbers = (11, 13, 17, 19)
    bars = [note("C4", 480 * 8 // n, "quarter", ratio=f"{n}:8") * n for n in numbers]
    tree = to_tree(afresh(read(partwise(*bars, divisions=480, time="8/4"))))
    found = [int(element.text or "") for element in tree.iter("divisions")]
    assert found == [11, 13, 17, 19]
    assert MAX_DIVISIONS < 11 * 13 * 17 * 19  # so no one number would do


def test_bars_kept_as_they_were_get_their_divisions_back() -> None:
    bar = note("C4", 4, "quarter") * 4
    score = read(partwise(bar, bar, bar))
    made = with_pieces(score, *[event.pieces for event in score.parts[0].voices[0].events])
    part = made.parts[0]
    events = list(part.voices[0].events)
    for i, pieces in enumerate(triplet()):
        events[4 + i] = events[4 + i].replace(
            onset=WHOLE + pieces[0].offset,
            duration=pieces[0].duration,
            pieces=tuple(replace(piece, bar=1) for piece in pieces),
        )
    kept = tuple(
        new if new.index == 1 else old
        for new, old in zip(part.bars, score.parts[0].bars, strict=True)
    )
    made = made.replace(parts=(part.replace(bars=kept, voices=(Voice("1", tuple(events)),)),))
    measures = list(to_tree(made).iter("measure"))
    assert [measure.findtext("attributes/divisions") for measure in measures] == ["4", "3", "4"]
    assert errors(to_bytes(made)) == []


def test_a_length_that_is_no_whole_number_of_ticks_is_a_defect() -> None:
    with pytest.raises(ProofError, match="no whole number"):
        ticks_text(mpq(1, 12), 4)


def signatures(score: Score) -> list[list[str]]:
    return [
        ["+".join(b.text or "" for b in time.iter("beats")) for time in measure.iter("time")]
        for measure in to_tree(score).iter("measure")
    ]


def in_metre(score: Score, index: int, metre: str) -> Score:
    """One bar in another metre, to be written afresh."""
    part = score.parts[0]
    bars = list(part.bars)
    bars[index] = bars[index].replace(metre=Metre.parse(metre), shows_metre=True, source=None)
    return score.replace(parts=(part.replace(bars=tuple(bars)),))


def test_a_new_metre_is_written_and_the_old_one_restored_after_it() -> None:
    score = read(partwise(*[note("C4", 16, "whole")] * 3))
    assert signatures(in_metre(score, 1, "8/8")) == [["4"], ["8"], ["4"]]
    assert signatures(in_metre(score, 0, "8/8")) == [["8"], ["4"], []]


def test_a_new_metre_keeps_what_the_old_sign_looked_like() -> None:
    old = (
        '<attributes><divisions>4</divisions><time number="1" print-object="no" symbol="common">'
        "<beats>4</beats><beat-type>4</beat-type></time></attributes>"
    )
    score = read(partwise(old + note("C4", 16, "whole"), time="", divisions=""))
    (time,) = to_tree(in_metre(score, 0, "4/4 (2/2)")).iter("time")
    assert dict(time.attrib) == {"number": "1", "print-object": "no"}
    assert [child.tag for child in time] == ["beats", "beat-type", "interchangeable"]
    (same,) = to_tree(afresh(score)).iter("time")
    assert same.get("symbol") == "common"


def test_a_metre_without_measure_is_written_as_such() -> None:
    score = read(partwise(note("C4", 16, "whole")))
    made = in_metre(score, 0, "senza misura")
    assert [child.tag for child in to_tree(made).iter("senza-misura")] == ["senza-misura"]
    assert errors(to_bytes(made)) == []


def test_a_part_that_showed_no_signature_does_not_get_one() -> None:
    bar = note("C4", 12, "half", dots=1)
    second = f'<part id="P2"><measure number="1">{attributes("", 4)}{bar}</measure></part>'
    data = parts((bar,), time="3/4").replace(
        b"</score-partwise>", second.encode() + b"</score-partwise>"
    )
    assert len(list(to_tree(afresh(read(data))).iter("time"))) == 1


WORDS = "<direction><direction-type><words>{}</words></direction-type>{}</direction>"


def test_marks_stand_where_they_stood_in_the_stream_of_their_voice() -> None:
    bar = (
        WORDS.format("head", "")
        + note("C4", 8, "half")
        + WORDS.format("middle", "<offset>2</offset>")
        + note("D4", 8, "half")
        + backup(12)
        + WORDS.format("under the first note", "")
        + note("E3", 8, "half", voice="2")
    )
    score = read(partwise(bar))
    again = read(to_bytes(afresh(score)))
    for mark, other in zip(score.parts[0].marks[1:], again.parts[0].marks[1:], strict=True):
        assert (mark.onset, mark.stream, mark.reach) == (other.onset, other.stream, other.reach)


def test_offsets_and_figured_bass_are_counted_in_the_new_divisions() -> None:
    figured = (
        "<figured-bass><figure><figure-number>6</figure-number></figure>"
        "<duration>240</duration></figured-bass>"
    )
    harmony = (
        "<harmony><root><root-step>C</root-step></root><kind>major</kind>"
        "<offset>-120</offset></harmony>"
    )
    sound = '<sound tempo="90"><offset>480</offset></sound>'
    bar = note("C4", 960, "half") + figured + harmony + sound + note("D4", 960, "half")
    score = read(partwise(bar, divisions=480))
    made = afresh(score)
    tree = to_tree(made)
    assert tree.findtext(".//divisions") == "4"
    assert tree.findtext(".//figured-bass/duration") == "2"
    assert [offset.text for offset in tree.iter("offset")] == ["-1", "4"]
    assert errors(to_bytes(made)) == []


def test_a_changed_tempo_is_written_into_the_mark() -> None:
    direction = (
        '<direction placement="above"><direction-type><metronome parentheses="yes">'
        "<beat-unit>quarter</beat-unit><per-minute>96</per-minute></metronome></direction-type>"
        '<sound tempo="96"/></direction>'
    )
    score = read(partwise(direction + note("C4", 16, "whole")))
    part = afresh(score).parts[0]
    marks = tuple(
        mark.replace(metronome=Metronome(mpq(3, 8), "96"), tempo=mpq(144))
        if mark.kind == "direction"
        else mark
        for mark in part.marks
    )
    tree = to_tree(score.replace(parts=(part.replace(marks=marks),)))
    (metronome,) = tree.iter("metronome")
    assert [child.tag for child in metronome] == ["beat-unit", "beat-unit-dot", "per-minute"]
    assert metronome.get("parentheses") == "yes"
    assert [sound.get("tempo") for sound in tree.iter("sound")] == ["144"]


def test_grace_notes_stay_with_their_event() -> None:
    grace = note("B3", "", "eighth", before="<grace/>")
    score = read(partwise(grace * 2 + note("C4", 16, "whole") + grace))
    split = with_pieces(score, quarters(4))
    found = [element.find("grace") is not None for element in notes(split)]
    assert found == [True, True, False, False, False, False, True]


def test_attributes_of_a_measure_are_kept() -> None:
    bar = '<measure number="1" non-controlling="yes" width="120" text="one">'
    score = read(partwise(bar + note("C4", 16, "whole") + "</measure>"))
    (measure,) = to_tree(afresh(score)).iter("measure")
    assert dict(measure.attrib) == {"number": "1", "non-controlling": "yes", "text": "one"}


def fresh_score(**changes: object) -> Score:
    """A score made in Python: no sources anywhere."""
    event = Event(
        mpq(0),
        WHOLE,
        0,
        (Note("pitched", Pitch("F", mpq(1), 4)), Note("pitched", Pitch("A", mpq(0), 4))),
        (Piece(0, mpq(0), HALF, "half"), Piece(0, HALF, HALF, "half")),
    ).replace(**changes)
    bar = Bar(0, "1", mpq(0), WHOLE, Metre.parse("4/4"), shows_metre=True, filled=WHOLE)
    return Score((Part("P1", "Flute", (bar,), (Voice("1", (event,)),), ()),))


def test_a_score_made_in_python_is_written_whole() -> None:
    score = fresh_score()
    data = to_bytes(score)
    assert errors(data) == []
    again = read(data)
    assert again.parts[0].name == "Flute"
    assert [event.pitches for event in again.parts[0].voices[0].events] == [
        event.pitches for event in score.parts[0].voices[0].events
    ]
    assert again.parts[0].voices[0].events[0].duration == 1


def test_additions_are_written_on_the_first_piece() -> None:
    score = fresh_score(additions=(Addition("accent"), Addition("lyric", "ta", "2")))
    elements = notes(score)
    assert [len(list(element.iter("accent"))) for element in elements] == [1, 0, 0, 0]
    assert elements[0].find("lyric").get("number") == "2"  # type: ignore[union-attr]
    assert errors(to_bytes(score)) == []


@pytest.mark.parametrize(
    ("mark", "path"),
    [
        (Mark(mpq(0), 0, "words", text="Swing"), "direction/direction-type/words"),
        (Mark(mpq(0), 0, "rehearsal", text="A"), "direction/direction-type/rehearsal"),
        (Mark(mpq(0), 0, "key", text="-3"), "attributes/key/fifths"),
        (Mark(mpq(0), 0, "clef", text="F4"), "attributes/clef/line"),
        (Mark(mpq(0), 0, "barline", text="light-heavy"), "barline/bar-style"),
        (Mark(mpq(0), 0, "sound", tempo=mpq(96)), "sound"),
        (
            Mark(mpq(0), 0, "metronome", metronome=Metronome(QUARTER, "96"), tempo=mpq(96)),
            "direction/direction-type/metronome/per-minute",
        ),
        (Mark(mpq(0), 0, "print", text="new-system"), "print"),
    ],
    ids=lambda value: value if isinstance(value, str) else value.kind,
)
def test_marks_made_in_python_are_written(mark: Mark, path: str) -> None:
    score = fresh_score()
    part = score.parts[0].replace(marks=(mark,))
    made = score.replace(parts=(part,))
    assert to_tree(made).find(f"part/measure/{path}") is not None
    assert errors(to_bytes(made)) == []


@pytest.mark.parametrize("said", ["", ' standalone="yes"'])
def test_the_declaration_of_the_file_is_kept(said: str) -> None:
    declared = f'<?xml version="1.0" encoding="UTF-8"{said}?>\n'.encode()
    assert to_bytes(read(declared + partwise(note("C4", 16, "whole")))).startswith(declared)


def test_a_part_taken_away_leaves_the_part_list_too() -> None:
    bar = note("C4", 16, "whole")
    score = read(parts((bar,), (bar,)))
    made = score.replace(parts=score.parts[1:])
    tree = to_tree(made)
    assert [part.get("id") for part in tree.iter("part")] == ["P2"]
    assert [part.get("id") for part in tree.iter("score-part")] == ["P2"]


def test_a_timewise_score_is_written_by_time_again() -> None:
    body = attributes("2/4", 4) + note("C4", 8, "half")
    timewise = (
        '<score-timewise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        '<score-part id="P2"><part-name/></score-part></part-list><measure number="1">'
        f'<part id="P1">{body}</part><part id="P2">{body}</part></measure>'
        f'<measure number="2" width="90"><part id="P1">{note("D4", 8, "half")}</part>'
        f'<part id="P2">{note("E4", 8, "half")}</part></measure></score-timewise>'
    ).encode()
    score = read(timewise)
    assert to_tree(score).getroot().tag == "score-timewise"
    made = afresh(score)
    again = read(to_bytes(made))
    assert [part.voices for part in again.parts] == [
        tuple(
            replace(
                voice,
                events=tuple(
                    event.replace(pieces=tuple(replace(p, ticks=HALF) for p in event.pieces))
                    for event in voice.events
                ),
            )
            for voice in part.voices
        )
        for part in made.parts
    ]
    assert [child.tag for child in to_tree(made).getroot()] == ["part-list", "measure", "measure"]
    kept = to_tree(afresh(score, 0)).getroot()[-1]
    assert kept.get("width") == "90"
    assert errors(to_bytes(made)) == []
