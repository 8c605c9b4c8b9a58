"""ABC: books of tunes, and no note lost of any of them. Sections are those of the standard 2.1."""

from __future__ import annotations

import warnings
from pathlib import Path

import pytest
from gmpy2 import mpq
from lxml import etree

import rhythm
from rhythm import formats
from rhythm.exact.errors import FileError
from rhythm.formats.abc.book import tunes_of
from rhythm.formats.abc.score import musicxml_of
from rhythm.formats.foreign import NotKept
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.formats.recognise import text_of
from rhythm.score.model import Score
from tests.corpus import music21_folder
from tests.foreign import against, tunes
from tests.schema import errors

BOOK = "X:1\nT:First Tune\nM:6/8\nL:1/8\nK:G\nGAB d2B|c3 A3|\n\nX:7\nT:Other\nM:2/4\nK:D\nA2 B2|]\n"
HEAD = "X:1\nT:A Tune\nM:4/4\nL:1/8\nK:{}\n"


def tune(body: str, key: str = "C", metre: str = "4/4") -> Score:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotKept)
        text = HEAD.format(key).replace("4/4", metre) + body + "\n"
        return formats.read(text.encode(), "tune.abc")


def lengths(score: Score, part: int = 0) -> str:
    return " ".join(
        ("r" if event.is_rest else "") + str(event.duration)
        for event in score.parts[part].voices[0].events
    )


def pitches(score: Score) -> str:
    events = score.parts[0].voices[0].events
    return " ".join("+".join(map(repr, event.pitches)) for event in events if event.notes)


def markup(score: Score) -> etree._Element:
    return etree.fromstring(to_bytes(score))


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        pytest.param("C D2 E/ F// G3/2 z", "1/8 1/4 1/16 1/32 3/16 r1/8", id="lengths, 4.3"),
        pytest.param("C>D E<F G>>A", "3/16 1/16 1/16 3/16 7/32 1/32", id="broken rhythm, 4.4"),
        pytest.param('(C>"G"D) E>.F', "3/16 1/16 3/16 1/16", id="broken around signs"),
        pytest.param("(3CDE (3:2:2G2E", "1/12 1/12 1/12 1/6 1/12", id="tuplets, 4.13"),
        pytest.param("[CEG]2 [C2E2] [C]", "1/4 1/4 1/8", id="chords, 4.17"),
        pytest.param("C [K:D]D [L:1/4]E F", "1/8 1/8 1/4 1/4", id="fields inside a line, 3.2"),
        pytest.param("{gf}C {/d}D", "1/8 1/8", id="grace notes take no time, 4.12"),
        pytest.param("C2-C2 D4", "1/2 1/2", id="ties, 4.11"),
        pytest.param("C2-D2 E4", "1/4 1/4 1/2", id="a tie to another pitch is a slur"),
        pytest.param("HA2 TB2 ~c2 !fermata!d2", "1/4 1/4 1/4 1/4", id="signs, 4.14"),
        pytest.param("Z2|C8", "r1 r1 1", id="bars of rest, 4.5"),
        pytest.param("C4 D4\\\n|E8", "1/2 1/2 1", id="a line that goes on, 6.1.1"),
        pytest.param("C4 D4\nE8", "1/2 1/2 1", id="a bar line left out at a line's end"),
        pytest.param("C7 D|", "7/8 1/8", id="a double dotted value"),
        pytest.param("C5 D3|", "5/8 3/8", id="a value of two symbols, tied"),
    ],
)
def test_the_values_of_a_tune(body: str, expected: str) -> None:
    assert lengths(tune(body)) == expected


@pytest.mark.parametrize(
    ("key", "body", "expected"),
    [
        ("D", "F C f c,", "F#4 C#4 F#5 C#4"),
        ("Gm", "B E", "Bb4 Eb4"),
        ("Ddor", "F B", "F4 B4"),
        ("C", "^F F|F", "F#4 F#4 F4"),
        ("C", "^F4-|F4 F4", "F#4 F4"),
        ("F", "=B B _B", "B4 B4 Bb4"),
        ("C", "[^CE] C, c'", "C#4+E4 C3 C6"),
    ],
)
def test_the_pitches_of_a_tune(key: str, body: str, expected: str) -> None:
    """Accidentals hold to the bar's end for their octave, and over it with a tie (4.2, 4.11)."""
    assert pitches(tune(body, key)) == expected


def test_words_signs_symbols_and_repeats_come_along() -> None:
    score = tune('|:"Am7"!p!C2 .D2 "^slowly"HE4|1 F8:|2 G8|]\nw: one two-three four five')
    root = markup(score)
    assert root.xpath("//lyric/text/text()") == ["one", "two", "three", "four", "five"]
    assert root.xpath("//lyric/syllabic/text()") == ["single", "begin", "end", "single", "single"]
    assert root.xpath("//kind/text()") == ["minor-seventh"]
    for tag in ("dynamics/p", "articulations/staccato", "fermata"):
        assert root.find(f".//{tag}") is not None, tag
    assert root.xpath("//direction-type/words/text()") == ["slowly"]
    assert root.xpath("//repeat/@direction") == ["forward", "backward"]
    assert root.xpath("//ending/@number") == ["1", "1", "2", "2"]
    assert root.findtext("work/work-title") == "A Tune"


def test_an_upbeat_a_metre_and_a_tempo_are_read() -> None:
    text = "X:1\nT:T\nM:3/4\nL:1/4\nQ:1/4=120\nK:C\nG|cde|f2:|"
    score = formats.read(text.encode())
    assert [bar.number for bar in score.bars] == ["0", "1", "2"]
    assert [bar.length for bar in score.bars] == [mpq(1, 4), mpq(3, 4), mpq(1, 2)]
    assert [mark.tempo for mark in score.parts[0].marks if mark.tempo] == [120]
    assert rhythm.check(score).is_right


def test_voices_are_parts_with_the_names_that_the_tune_gives_them() -> None:
    text = (
        'X:1\nT:Duet\nM:2/4\nL:1/4\nV:1 name="Fiddle"\nV:2\nK:G\n'
        "V:1\nGA|B2|\nV:2\nG,2|[V:1]c2|[V:2]D,2|\n"
    )
    score = formats.read(text.encode())
    assert [part.name for part in score.parts] == ["Fiddle", "Voice 2"]
    assert [lengths(score, part) for part in (0, 1)] == ["1/4 1/4 1/2 1/2", "1/2 1/2"]


def test_a_second_voice_laid_over_a_bar_is_a_voice() -> None:
    score = tune("C4 D4 & E8|F8")
    assert [len(voice.events) for voice in score.parts[0].voices] == [3, 1]
    assert score.length == 2


def test_a_tune_of_a_book_is_chosen_by_number_or_title(tmp_path: Path) -> None:
    path = tmp_path / "book.txt"
    path.write_text(BOOK)
    assert formats.pieces(path) == [("1", "First Tune"), ("7", "Other")]
    for piece in ("7", "other", "Oth", 7):
        assert lengths(rhythm.read(path, piece=piece)) == "1/8 1/8"
    with pytest.raises(FileError, match="holds 2 pieces; choose one: 1 First Tune, 7 Other"):
        rhythm.read(path)
    with pytest.raises(FileError, match="has no piece '3'; there are 1 First Tune, 7 Other"):
        rhythm.read(path, piece=3)


def test_what_is_not_kept_is_said_in_one_line() -> None:
    with pytest.warns(
        NotKept, match=r"^t\.abc: not kept: signs \(1\), words below the tune \(1\)$"
    ):
        formats.read((HEAD.format("C") + "!slide!C8|\nW: and so on\n").encode(), "t.abc")


@pytest.mark.parametrize(
    ("body", "problem"),
    [
        ("C1000000|", "a note or rest of 125000 whole notes"),
        ("C99999999999", "a length of 99999999999"),
        ("C/99999999999", "a length of"),
        ("C0", "a note or rest of 0 whole notes"),
        ("", "has no parts|no measures|holds no"),
    ],
)
def test_what_no_tune_holds_is_refused(body: str, problem: str) -> None:
    with pytest.raises(FileError, match=problem) as caught:
        tune(body)
    assert "\n" not in str(caught.value)


def test_no_note_of_two_hundred_tunes_is_lost() -> None:
    """Every note, rest and length agrees with a count of the tokens that knows only the text."""
    assert len(tunes()) > 10_000
    found = list(against("abc", 200))
    assert len(found) >= 200
    assert [each for each in found if each[1]] == []


def test_tunes_become_valid_musicxml() -> None:
    files = sorted((music21_folder() / "corpus").rglob("*.abc"))[::60]
    assert len(files) > 15
    for path in files:
        data, _ = musicxml_of(tunes_of(text_of(path.read_bytes()))[0])
        assert errors(data) == [], path


def test_a_text_without_a_tune_is_refused_in_one_line() -> None:
    with pytest.raises(FileError, match="holds no piece of music"):
        formats.read(b"T:Notes\nM:4/4\nL:1/8\nG2 B2 d2 g2|\n", "song.abc")
