"""Spelling whole voices: bar lines, merged rests, hidden music, and what the source had."""

from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.score_notation import spell_score, with_fresh_bars
from rhythm.score.model import Bar, Event, Note, Part, Pitch, Score, Voice
from tests.tiny import melody, written

C4 = Note("pitched", Pitch("C", mpq(0), 4))
REST = Note("rest")


def score_of(events, bars=2, metre="4/4"):
    m = Metre.parse(metre)
    made = tuple(
        Bar(i, str(i + 1), m.length * i, m.length, m, i == 0, filled=m.length) for i in range(bars)
    )
    return Score((Part("P1", "", made, (Voice("1", tuple(events)),), ()),))


def event(onset, duration, *, note=C4, bar=None, **more):
    onset, duration = mpq(onset), mpq(duration)
    return Event(onset, duration, int(onset // 1) if bar is None else bar, (note,), **more)


def events_of(score):
    return score.parts[0].voices[0].events


def test_a_note_over_the_bar_line_has_pieces_in_both_bars():
    score = spell_score(score_of([event(0, "3/4"), event("3/4", "1/2"), event("5/4", "3/4")]))
    assert [(p.bar, p.offset, p.type) for p in events_of(score)[1].pieces] == [
        (0, mpq(3, 4), "quarter"),
        (1, mpq(0), "quarter"),
    ]


def test_neighbouring_rests_are_one_silence_and_every_payload_is_kept_once():
    rests = [replace(REST, sources=(name,)) for name in ("first", "second", "third")]
    made = score_of(
        [
            event(0, "1/4"),
            event("1/4", "1/4", note=rests[0]),
            event("1/2", "1/4", note=rests[1]),
            event("3/4", "1/4", note=rests[2]),
            event(1, 1),
        ]
    )
    found = events_of(spell_score(made))
    assert written(spell_score(made)) == "quarter r:quarter r:half | whole"
    assert [e.notes[0].sources for e in found if e.is_rest] == [("first",), ("second", "third")]


def test_one_rest_that_needs_two_symbols_gives_its_payload_to_the_first():
    made = score_of([event(0, "3/4", note=replace(REST, sources=("x",))), event("3/4", "5/4")])
    found = [e for e in events_of(spell_score(made)) if e.is_rest]
    assert [(e.onset, e.duration, e.notes[0].sources) for e in found] == [
        (mpq(0), mpq(1, 2), ("x",)),
        (mpq(1, 2), mpq(1, 4), ()),
    ]


def test_a_rest_over_the_bar_line_is_cut_there():
    made = score_of([event(0, "1/2"), event("1/2", 1, note=REST), event("3/2", "1/2")])
    assert written(spell_score(made)) == "half r:half | r:half half"


def test_hidden_rests_are_not_merged_with_visible_ones():
    made = score_of(
        [
            event(0, "1/2"),
            event("1/2", "1/4", note=REST, hidden=True),
            event("3/4", "1/4", note=REST),
            event(1, 1),
        ]
    )
    assert written(spell_score(made)) == "half r:quarter r:quarter | whole"


def test_grace_notes_before_a_rest_keep_it_apart():
    made = score_of(
        [
            event(0, "1/2"),
            event("1/2", "1/4", note=REST),
            event("3/4", "1/4", note=REST, graces=("grace",)),
            event(1, 1),
        ]
    )
    found = events_of(spell_score(made))
    assert [e.graces for e in found] == [(), (), ("grace",), ()]


def test_a_hidden_note_may_run_past_its_bar_line():
    made = score_of([event(0, "3/2", hidden=True), event(1, 1)])
    first = events_of(spell_score(made))[0]
    assert {piece.bar for piece in first.pieces} == {0}
    assert sum(piece.duration for piece in first.pieces) == mpq(3, 2)


def test_overlapping_notes_of_one_voice_are_each_written_whole():
    made = score_of([event(0, "1/2"), event("1/4", "1/2"), event("3/4", "1/4"), event(1, 1)])
    assert written(spell_score(made)) == "half half quarter | whole"


def test_a_bare_group_of_grace_notes_needs_no_symbol():
    made = score_of([event(0, 1), event(1, 0, graces=("grace",)), event(1, 1)])
    assert [len(e.pieces) for e in events_of(spell_score(made))] == [1, 0, 1]


def test_bars_not_named_keep_their_pieces():
    made = spell_score(score_of([event(0, "3/4"), event("3/4", "1/2"), event("5/4", "3/4")]))
    odd = [
        replace(e, pieces=tuple(replace(p, type="breve") for p in e.pieces))
        for e in events_of(made)
    ]
    found = events_of(spell_score(score_of(odd), bars=[1]))
    assert [[p.type for p in e.pieces] for e in found] == [
        ["breve"],
        ["breve", "quarter"],
        ["half"] if found[2].pieces[0].type == "half" else ["half", "quarter"],
    ]


def test_bars_not_named_are_spelled_where_their_pieces_no_longer_fit():
    made = score_of([event(0, 1), event(1, 1)])
    assert [len(e.pieces) for e in events_of(spell_score(made, bars=[1]))] == [1, 1]


def test_kept_beams_stand_over_an_unchanged_rhythm():
    made = melody("4/4", "1/8 1/8 1/8 1/8 1/2")
    words = [("begin",), ("end",), ("begin",), ("end",), ()]
    pairs = zip(events_of(made), words, strict=True)
    odd = [replace(e, pieces=(replace(e.pieces[0], beams=w),)) for e, w in pairs]
    by_twos = made.map_parts({0: replace(made.parts[0], voices=(Voice("1", tuple(odd)),))})

    def beams(score):
        return [e.pieces[0].beams for e in events_of(score)]

    assert beams(spell_score(by_twos, keep=True)) == words
    assert beams(spell_score(by_twos)) == beams(made) != words


def test_a_group_with_a_changed_note_is_beamed_afresh():
    made = melody("4/4", "1/8 1/8 1/8 1/8 1/2")
    events = list(events_of(made))
    events[1] = events[1].replace(duration=mpq(1, 16))
    events.insert(2, events[1].replace(onset=mpq(3, 16), pieces=()))
    changed = made.map_parts({0: replace(made.parts[0], voices=(Voice("1", tuple(events)),))})
    assert written(spell_score(changed, keep=True)) == "eighth 16th 16th eighth eighth half"
    first = [e.pieces[0].beams for e in events_of(spell_score(changed, keep=True))][:3]
    assert first == [("begin",), ("continue", "begin"), ("end", "end")]


def test_double_dots_come_back_in_a_voice_that_had_them():
    made = melody("4/4", "7/16 1/16 1/2")
    assert written(made) == "quarter~ eighth. 16th half"
    events = list(events_of(made))
    piece = replace(events[0].pieces[0], type="quarter", dots=2, duration=mpq(7, 16))
    events[0] = events[0].replace(pieces=(piece,))
    dotted = made.map_parts({0: replace(made.parts[0], voices=(Voice("1", tuple(events)),))})
    assert written(spell_score(dotted)) == "quarter.. 16th half"


def test_fresh_bars_lose_what_was_read():
    made = melody("4/4", "1", "1")
    bars = tuple(bar.replace(source="read") for bar in made.parts[0].bars)
    read = made.map_parts({0: replace(made.parts[0], bars=bars)})
    assert [bar.source for bar in with_fresh_bars(read, [1]).bars] == ["read", None]
    assert [bar.source for bar in with_fresh_bars(read).bars] == [None, None]
