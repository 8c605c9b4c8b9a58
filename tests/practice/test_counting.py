"""Counting syllables: what is said at every place of the beat, and how it is written."""

from __future__ import annotations

from pathlib import Path

import pytest
from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.formats import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_tree
from rhythm.notate.score_notation import spell_score
from rhythm.practice.counting import count, count_in_place, free_verse, syllables
from rhythm.practice.syllables import SYSTEMS, family
from rhythm.score.concatenation import extract
from rhythm.score.model import Addition, Bar, Event, Mark, Note, Part, Pitch, Score, Voice
from rhythm.score.select import Bars
from rhythm.verbs import vary
from tests.corpus import pick
from tests.markup import note, partwise
from tests.tiny import melody

ROOT = Path(__file__).parents[2]


def line(metres: str, values: str, upbeat: str = "0") -> tuple[list[Event], list[Bar]]:
    """Events of these values (negative: rests) over bars of these metres."""
    bars, now = [], mpq(0)
    for index, text in enumerate(metres.split()):
        metre = Metre.parse(text)
        length = mpq(upbeat) if not index and mpq(upbeat) else metre.length
        bars.append(Bar(index, str(index), now, length, metre, shift=metre.length - length))
        now += length
    events, at = [], mpq(0)
    for text in values.split():
        value = mpq(text)
        kind = "rest" if value < 0 else "pitched"
        bar = next(bar.index for bar in bars if bar.start <= at < bar.end)
        events.append(Event(at, abs(value), bar, (Note(kind, Pitch("C", mpq(0), 5)),)))
        at += abs(value)
    assert at == now, "the values fill the bars"
    return events, bars


def spelled(events: list[Event], bars: list[Bar]) -> tuple[tuple[Event, ...], tuple[Bar, ...]]:
    """The same as it is written: in pieces, with tuplets."""
    (part,) = spell_score(score(events, bars)).parts
    return part.voices[0].events, part.bars


def said(metres: str, values: str, system: str, upbeat: str = "0") -> str:
    return "|".join(syllables(*line(metres, values, upbeat), system))


@pytest.mark.parametrize(
    ("metre", "values", "expected"),
    [
        # Hoffman, Pelto, White 1996
        ("2/4", "1/4 1/8 1/8", "ta|ta|di"),
        ("1/4", "1/16 1/16 1/16 1/16", "ta|ka|di|mi"),
        ("1/4", "3/16 1/16", "ta|mi"),
        ("1/4", "1/16 1/8 1/16", "ta|ka|mi"),
        ("6/8", "1/8 1/8 1/8 1/4 1/8", "ta|ki|da|ta|da"),
        ("3/8", "1/16 1/16 1/16 1/16 1/16 1/16", "ta|va|ki|di|da|ma"),
        ("3/8", "3/16 1/16 1/8", "ta|di|da"),
        ("1/4", "1/12 1/12 1/12", "ta|ki|da"),
        ("3/8", "3/16 3/16", "ta|di"),
        ("3/8", "3/32 3/32 3/32 3/32", "ta|ka|di|mi"),
        ("1/4", "1/20 1/20 1/20 1/20 1/20", "ta|ka|di|mi|ti"),
        # sevens from memory
        ("1/4", "1/28 1/28 1/28 1/28 1/28 1/28 1/28", "ta|va|ki|di|da|ma|ti"),
        ("2+3/8", "1/8 1/8 1/8 1/8 1/8", "ta|di|ta|ki|da"),
        ("3+2+2/8", "1/8 1/8 1/8 1/8 1/8 1/8 1/8", "ta|ki|da|ta|di|ta|di"),
        # ta is the beat and di its half, however fine it is (Hoffman, Pelto, White 1996); the
        # words between the places of the table are ours
        ("1/4", "1/32 1/32 1/32 1/32 1/8", "ta|va|ka|ki|di"),
        ("1/4", "1/8 1/32 1/32 1/32 1/32", "ta|di|da|mi|ma"),
        ("1/4", "3/32 1/32 1/8", "ta|ki|di"),
        ("1/4", "3/32 1/32 3/32 1/32", "ta|ki|di|ma"),
        ("3/8", "1/32 1/32 1/16 1/16 1/16 1/16 3/64 1/64", "ta|ka|va|ki|di|da|ma|mi"),
        ("1/4", "1/16 1/16 1/24 1/24 1/24", "ta|ka|di|da|ma"),
    ],
)
def test_takadimi(metre: str, values: str, expected: str) -> None:
    assert said(metre, values, "takadimi") == expected


@pytest.mark.parametrize(
    ("metre", "values", "expected"),
    [
        # Gordon: duple du de, triple du da di, the next level ta
        ("2/4", "1/4 1/8 1/8", "du|du|de"),
        ("1/4", "1/16 1/16 1/16 1/16", "du|ta|de|ta"),
        ("6/8", "1/8 1/8 1/8 3/8", "du|da|di|du"),
        ("3/8", "1/16 1/16 1/16 1/16 1/16 1/16", "du|ta|da|ta|di|ta"),
        ("1/4", "1/12 1/12 1/12", "du|da|di"),
        ("3/8", "3/16 3/16", "du|de"),
        # unequal beats: be for de, ba bi for da di, in 5/8 and 7/8 (Gordon, Learning Sequences in
        # Music, pages 181 to 185, unusual metres, as told by tuneful.squarespace.com/meter)
        ("5/8", "1/8 1/8 1/8 1/8 1/8", "du|ba|bi|du|be"),
        ("2+2+3/8", "1/8 1/8 1/4 1/8 1/8 1/8", "du|be|du|du|ba|bi"),
        ("2+3/8", "1/16 1/16 1/16 1/16 1/4 1/8", "du|ta|be|ta|du|bi"),
        ("5/4", "1/8 1/8 1/4 1/4 1/4 1/4", "du|de|du|du|du|du"),
    ],
)
def test_gordon(metre: str, values: str, expected: str) -> None:
    assert said(metre, values, "gordon") == expected


@pytest.mark.parametrize(
    ("metre", "values", "expected"),
    [
        # Open Music Theory: 1 e & a, 1 la li, silent beats in brackets
        ("4/4", "1/4 1/8 1/8 1/16 1/16 1/16 1/16 1/4", "1|2|&|3|e|&|a|4"),
        ("6/8", "1/8 1/8 1/8 1/4 1/8", "1|la|li|2|li"),
        # 1 ta la ta li ta from memory
        ("3/8", "1/16 1/16 1/16 1/16 1/16 1/16", "1|ta|la|ta|li|ta"),
        ("4/4", "1/2 1/4 -1/4", "1 (2)|3 (4)|"),
        ("4/4", "1/4 -1/2 1/4", "1 (2) (3)||4"),
        ("4/4", "3/8 1/8 -1/8 1/8 1/4", "1 (2)|& (3)||&|4"),
        # the beats of a rest stand under a note of its bar (no source)
        ("4/4 4/4", "-1/4 1/4 -1/2 -1/2 1/2", "|(1) 2 (3) (4)|||(1) (2) 3 (4)"),
        ("4/4 4/4", "1 -1", "1 (2) (3) (4)|(1) (2) (3) (4)"),
        ("4/4 4/4", "1/4 -3/4 -1/4 -3/4", "1 (2) (3) (4)||(1)|(2) (3) (4)"),
        ("3/4", "1/8 1/2 1/8", "1|& (2) (3)|&"),
        ("6/8", "3/4", "1 (2)"),
        ("7/8", "1/8 1/8 1/8 1/8 1/8 1/8 1/8", "1|&|2|&|3|la|li"),
        ("2/2", "1/4 1/4 1/8 1/8 1/8 1/8", "1|&|2|e|&|a"),
        ("2/4", "1/12 1/12 1/12 1/6 1/12", "1|la|li|2|li"),
        ("1/4", "1/8 1/24 1/24 1/24", "1|&|la|li"),
        ("1/4", "1/16 1/16 1/24 1/24 1/24", "1|e|&|la|li"),
        ("1/4", "1/32 1/32 1/32 1/32 1/8", "1|ta|e|ta|&"),
        ("1/4", "1/20 1/20 1/20 1/20 1/20", "1|ta|ta|ta|ta"),
        ("4/4 4/4", "3/4 1/2 1/4 1/2", "1 (2) (3)|4 (1)|2|3 (4)"),
    ],
)
def test_numbers(metre: str, values: str, expected: str) -> None:
    assert said(metre, values, "numbers") == expected


@pytest.mark.parametrize(
    ("metre", "values", "expected"),
    [
        # Kodály, by value
        ("4/4", "1/4 1/8 1/8 1/16 1/16 1/16 1/16 1/4", "ta|ti|ti|ti|ri|ti|ri|ta"),
        ("2/4", "1/12 1/12 1/12 1/4", "tri|o|la|ta"),
        ("2/4", "1/8 1/4 1/8", "syn|co|pa"),
        ("4/4", "1/8 1/16 1/16 1/16 1/16 1/8 1/2", "ti|ti|ri|ti|ri|ti|ta-a"),
        ("4/4", "3/8 1/8 1/2", "ta-i|ti|ta-a"),
        # tim-ri and ri-tim from memory
        ("2/4", "3/16 1/16 1/16 3/16", "tim|ri|ri|tim"),
        # not a syncopa: it begins on the second eighth of the beat
        ("4/4", "3/8 1/8 1/4 1/8 1/8", "ta-i|ti|ta|ti|ti"),
        ("6/8", "1/8 1/4 1/8 1/8 1/8", "ti|ta|ti|ti|ti"),
        ("2/4", "1/4 -1/4", "ta|"),
        # a short note belongs to the dotted one after it in its beat, not over the next
        ("9/16", "1/16 1/16 1/16 3/16 3/16", "ti|ri|ti|tim|tim"),
        ("12/16", "1/16 1/16 1/16 1/16 1/16 1/16 3/8", "ti|ri|ti|ti|ri|ti|ta-i"),
        ("2/4", "1/24 1/24 1/24 1/8 1/4", "tri|o|la|ti|ta"),
        ("2/4", "1/8 1/24 1/24 1/24 1/4", "ti|tri|o|la|ta"),
        ("2/4", "1/6 1/12 1/4", "tri|la|ta"),
        # tuplets by what is written
        ("6/8", "3/16 3/16 3/8", "ti|ti|ta-i"),
        ("4/4", "3/4 1/20 1/20 1/20 1/20 1/20", "ta-a-a|ti|ri|ti|ri|ti"),
        ("4/4", "3/4 1/28 1/28 1/28 1/28 1/28 1/28 1/28", "ta-a-a|ti|ri|ti|ri|ti|ri|ti"),
        ("2/4", "1/10 1/10 1/10 1/10 1/10", "ti|ti|ti|ti|ti"),
        ("3/8 3/8", "3/40 3/40 3/40 3/40 3/40 3/8", "ti|ri|ti|ri|ti|ta-i"),
        ("2/4", "1/24 1/24 1/24 1/24 1/24 1/24 1/4", "tri|o|la|tri|o|la|ta"),
        # in twos within a group of an additive metre too
        ("3+2+2/8", "3/8 1/8 1/4 1/8", "ta-i|syn|co|pa"),
    ],
)
def test_kodaly(metre: str, values: str, expected: str) -> None:
    events, bars = spelled(*line(metre, values))
    assert "|".join(syllables(events, bars, "kodaly")) == expected


def test_kodaly_names_what_a_tuplet_is_written_in() -> None:
    """Two eighths, or four, in the time of three: they are eighths to whoever reads them."""
    theme = read(
        partwise(
            "".join(note("C5", 36, "eighth", ratio="2:3") for _ in "12")
            + "".join(note("C5", 18, "eighth", ratio="4:3") for _ in "1234"),
            time="6/8",
            divisions=48,
        )
    )
    (part,) = theme.parts
    assert syllables(part.voices[0].events, part.bars, "kodaly") == ("ti",) * 6


def in_place(*bars: str) -> list[tuple[str, str]]:
    """What is counted on a page and where, in the file that is written."""
    made = count_in_place(melody("4/4", *bars))
    again = read(proven(made))
    return [
        (str(mark.onset), mark.source.findtext("direction-type/words"))  # type: ignore[attr-defined]
        for mark in again.parts[0].marks
        if mark.kind == "direction"
    ]


def test_on_a_page_every_beat_is_counted_at_its_own_place() -> None:
    assert in_place("3/8 1/8 r1/4 1/4", "r1", "1~", "1/4 r1/2 1/4") == [
        ("0", "1"), ("1/4", "(2)"), ("3/8", "&"), ("1/2", "(3)"), ("3/4", "4"),
        ("1", "(1)"), ("5/4", "(2)"), ("3/2", "(3)"), ("7/4", "(4)"),
        ("2", "1"), ("9/4", "(2)"), ("5/2", "(3)"), ("11/4", "(4)"),
        ("3", "(1)"), ("13/4", "(2)"), ("7/2", "(3)"), ("15/4", "4"),
    ]  # fmt: skip


def test_what_is_counted_on_a_page_never_stands_before_its_note_or_over_a_bar_line() -> None:
    from rhythm.practice.exercises import exercises

    song = read(ROOT / "examples/lantern-song.musicxml")
    sheet = exercises(song, count="numbers", most=6)
    for section in (sheet.score, *(each for _, each in sheet.key_sections)):
        (part,) = read(proven(section)).parts
        words = [m for m in part.marks if m.kind == "direction" and _is_counted(m)]
        assert words
        for mark in words:
            bar = part.bars[mark.bar]
            assert bar.start <= mark.onset < bar.end


def _is_counted(mark: Mark) -> bool:
    word = mark.source.find("direction-type/words")  # type: ignore[attr-defined]
    return word is not None and word.get("default-y") == "-110"


def test_the_beats_a_note_is_held_over_stand_under_its_pieces() -> None:
    events, bars = line("3/4 3/4 3/4", "1/4 5/4 -3/4")
    theme = spell_score(score(events, bars))
    lyrics = ["1", "2 (3)", "(1) (2) (3)", "(1) (2) (3)"]
    counted = count(theme, "numbers")
    said = to_tree(counted).getroot().iter("note")
    assert [each.findtext("lyric/text") for each in said] == lyrics
    last = count(theme, "numbers", bars="1")
    said = to_tree(last).getroot().iter("note")
    assert [each.findtext("lyric/text") for each in said] == [None, None, "(1) (2) (3)", None]


def test_a_count_stays_on_its_piece_where_a_passage_is_cut_out() -> None:
    theme = count(spell_score(score(*line("2/4 2/4 2/4", "3/2"))), "numbers")
    (event,) = extract(theme, 1, 2).parts[0].voices[0].events
    assert [(each.text, each.delay) for each in event.additions] == [
        ("(1) (2)", mpq(0)),
        ("(1) (2)", mpq(1, 2)),
    ]


def test_an_upbeat_counts_from_its_place_in_the_metre() -> None:
    assert said("4/4 4/4", "1/4 1/4 1/4 1/4 1/4", "numbers", upbeat="1/4") == "4|1|2|3|4"
    assert said("6/8 6/8", "1/8 3/8 3/8", "numbers", upbeat="1/8") == "li|1|2"
    assert said("4/4 4/4", "1/8 1/2 1/2", "numbers", upbeat="1/8") == "&|1 (2)|3 (4)"


def test_the_next_upbeat_does_not_take_notes_from_the_bar_before() -> None:
    events, bars = line("4/4 4/4", "1/4 1/4 1/4 1/8 1/8 1/2 1/2")
    second = bars[1].replace(shift=mpq(7, 8), length=mpq(1, 8))
    upbeat = [e for e in events if e.onset < 1]
    upbeat.append(events[-1].replace(onset=mpq(1), duration=mpq(1, 8)))
    assert syllables(upbeat, [bars[0], second], "numbers") == ("1", "2", "3", "4", "&", "&")


def test_a_beat_that_a_repeat_splits_is_counted_once() -> None:
    events, bars = line("3/4", "1/8 1/2 1/8")
    first = bars[0].replace(length=mpq(3, 8))
    rest = bars[0].replace(index=1, start=mpq(3, 8), length=mpq(3, 8), shift=mpq(3, 8))
    assert syllables(events, [first, rest], "numbers") == ("1", "& (2) (3)", "&")


@pytest.mark.parametrize(
    ("places", "ternary", "expected"),
    [
        ("0", False, "simple"),
        ("0", True, "compound"),
        ("0 1/2", True, "simple"),
        ("0 1/4 1/2 3/4", True, "simple"),
        ("0 1/6 2/3", False, "compound"),
        ("0 1/2 2/3 5/6", False, "half-triplets"),
        ("0 1/2 2/3 5/6", True, "compound"),
        ("0 1/5", False, "fives"),
        ("0 3/7", True, "sevens"),
        ("0 1/8", False, "fine"),
        ("0 1/8", True, "fine"),
        ("0 1/12", True, "fine-compound"),
        ("0 1/4 2/3", False, "fine-mixed"),
    ],
)
def test_how_a_beat_is_divided(places: str, ternary: bool, expected: str) -> None:
    assert family([mpq(place) for place in places.split()], ternary) == expected


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_sounding_note_says_something(system: str) -> None:
    values = "1/4 1/12 1/12 1/12 1/32 3/32 1/8 1/4 1/4 3/8 1/28 5/28 9/56 3/8"
    events, bars = line("4/4 5/8 6/8", values)
    assert all(syllables(events, bars, system))


def test_an_unknown_system_is_refused_with_the_legal_ones() -> None:
    with pytest.raises(RequestError, match="one of numbers, takadimi"):
        syllables(*line("4/4", "1"), "solfa")


def score(events: list[Event], bars: list[Bar]) -> Score:
    return Score((Part("P1", "Voice", tuple(bars), (Voice("1", tuple(events)),), ()),))


def test_the_syllables_are_a_verse_of_their_own() -> None:
    events, bars = line("4/4", "1/4 1/4 1/2")
    sung = [event.replace(verses=("1", "2")) for event in events]
    counted = count(score(sung, bars), "takadimi").parts[0].voices[0].events
    assert [event.additions for event in counted] == [(Addition("lyric", "ta", "3"),)] * 3
    assert [event.replace(additions=()) for event in counted] == sung


def test_counting_twice_writes_two_verses() -> None:
    once = count(score(*line("4/4", "1/4 1/4 1/2")), "numbers")
    twice = count(once, "gordon")
    first = twice.parts[0].voices[0].events[0]
    assert first.additions == (Addition("lyric", "1", "1"), Addition("lyric", "du", "2"))


@pytest.mark.parametrize(
    ("verses", "expected"),
    [((), "1"), (("1",), "2"), (("chorus",), "2"), (("1", "7"), "8")],
)
def test_the_verse_is_free(verses: tuple[str, ...], expected: str) -> None:
    event = Event(mpq(0), mpq(1), 0, (), verses=verses)
    assert free_verse([event]) == expected


def test_only_bars_with_something_to_say_are_rewritten() -> None:
    sounding, silent = note("C4", 16, "whole"), note("rest", 16, "whole")
    theme = read(partwise(sounding, silent))
    again = read(proven(count(theme, "takadimi")))
    before, after = (
        [etree.tostring(bar.source, method="c14n") for bar in each.bars]  # type: ignore[call-overload]
        for each in (theme, again)
    )
    assert [was == now for was, now in zip(before, after, strict=True)] == [False, True]


def test_hidden_notes_and_bare_graces_say_nothing() -> None:
    events, bars = line("4/4", "1/2 1/2")
    events[1] = events[1].replace(hidden=True)
    events.append(Event(mpq(1), mpq(0), 0, ()))
    assert syllables(events, bars, "takadimi") == ("ta", "", "")


def test_a_part_or_voice_that_is_not_there_is_refused() -> None:
    with pytest.raises(RequestError, match="voice '9'"):
        count(score(*line("4/4", "1")), "numbers", voice="9")


def test_the_voice_that_is_varied_is_the_one_that_is_counted() -> None:
    theme = read(ROOT / "examples/ferry-steps.musicxml")
    varied = vary(theme, "dotting", voice="2", count="takadimi")
    said = {voice.name: sum(map(len, map(_lyrics, voice.events))) for voice in _voices(varied)}
    assert said["1"] == 0
    assert said["2"] > 0


def test_a_passage_is_counted_in_a_voice_that_sounds_there() -> None:
    events, bars = line("4/4 4/4", "1/2 1/2 -1")
    lower = [event.replace(onset=event.onset + 1, bar=1) for event in events[:2]]
    both = (Voice("1", tuple(events)), Voice("2", tuple(lower)))
    theme = Score((Part("P1", "Voice", tuple(bars), both, ()),))
    counted = count(theme, "takadimi", bars="1")
    assert [len(_lyrics(event)) for event in counted.parts[0].voices[1].events] == [1, 1]


def _voices(score: Score) -> list[Voice]:
    return [voice for part in score.parts for voice in part.voices]


def _lyrics(event: Event) -> list[Addition]:
    return [addition for addition in event.additions if addition.kind == "lyric"]


@pytest.mark.parametrize("system", SYSTEMS)
def test_in_real_scores_a_counted_passage_changes_no_bar_outside(system: str) -> None:
    for path in pick(6):
        theme = read(path)
        passage = Bars.run(1, len(theme.bars) - 2)
        before, after = map(_bars_as_text, (theme, count(theme, system, bars=passage)))
        different = {i for i, bar in before if (i, bar) not in after}
        assert different
        assert different <= set(passage)


def _bars_as_text(score: Score) -> set[tuple[int, bytes]]:
    tree = etree.fromstring(proven(score))
    return {
        (i, etree.tostring(bar, method="c14n"))
        for part in tree.iter("part")
        for i, bar in enumerate(part.iter("measure"))
    }
