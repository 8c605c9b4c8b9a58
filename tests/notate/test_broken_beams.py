"""Beams that an editor broke inside a beat stay broken in another metre."""

from dataclasses import replace

import pytest

import rhythm
from rhythm.score.model import Score, Voice
from tests.corpus import music21_folder
from tests.tiny import melody, written

WORDS = {"begin": "(", "continue": "-", "end": ")"}
LINDENBAUM = music21_folder() / "corpus" / "schubert" / "Lindenbaum.xml"


def beams(score: Score, number: str, part: int = 0, voice: int = 0) -> str:
    """The main beam of a bar, a sign for each note: ``.(-)`` is a flag and a beam over three."""
    of = score.parts[part]
    index = next(bar.index for bar in of.bars if bar.number == number)
    return "".join(
        WORDS.get(piece.beams[0], ".") if piece.beams else "."
        for event in of.voices[voice].events
        for piece in event.pieces
        if piece.bar == index and not event.is_rest
    )


def unjoined(score: Score, *numbers: int) -> Score:
    """The score with flags in place of a beam of two on these notes and those after them."""
    events = list(score.parts[0].voices[0].events)
    for number in numbers:
        for i in (number, number + 1):
            (piece,) = events[i].pieces
            events[i] = events[i].replace(pieces=(replace(piece, beams=()),))
    part = score.parts[0].replace(voices=(Voice("1", tuple(events)),))
    return score.replace(parts=(part,))


def there_and_back(score: Score, folder, **asked) -> Score:
    rhythm.write(score, folder / "theme.musicxml")
    done = rhythm.restate(folder / "theme.musicxml", "4/4", **asked)
    rhythm.write(done, folder / "done.musicxml")
    return rhythm.read(folder / "done.musicxml")


THEME = ("3/4", *["1/8 1/8 1/4 1/4"] * 4)


def test_a_beam_broken_inside_a_beat_stays_broken_in_another_metre(tmp_path):
    theme = unjoined(melody(*THEME), 4)
    assert [beams(theme, n) for n in "1234"] == ["()..", "....", "()..", "().."]
    done = there_and_back(theme, tmp_path)
    assert written(done).split(" | ") == ["eighth eighth quarter half"] * 4
    assert [beams(done, n) for n in "1234"] == ["()..", "....", "()..", "().."]


@pytest.mark.parametrize("whose", ["house", "other"])
def test_not_so_in_another_manner(tmp_path, whose):
    manner = melody(*THEME) if whose == "other" else whose
    done = there_and_back(unjoined(melody(*THEME), 4), tmp_path, manner=manner)
    assert [beams(done, n) for n in "1234"] == ["().."] * 4


def test_a_beam_that_ends_with_its_beat_goes_on_where_the_new_metre_has_it_so(tmp_path):
    theme = melody("3/4", "1/8 1/8 1/8 1/8 1/4", *["r1/8 1/8 1/8 r1/8 1/4"] * 2)
    assert [beams(theme, n) for n in "12"] == ["()().", "..."]
    done = there_and_back(theme, tmp_path)
    assert [beams(done, n) for n in "12"] == ["(--).", "()."]


def test_beams_that_meet_inside_a_beat_are_no_break_of_these_notes(tmp_path):
    """Sixteenths in pairs: the half of a dotted beat that they fall on shows no beat."""
    theme = melody("2/4", *["1/16 1/16 1/16 1/16 1/4"] * 3)
    words = [("begin", "begin"), ("end", "end")] * 2
    events = [
        event.replace(pieces=(replace(event.pieces[0], beams=words[i % 5]),))
        if i % 5 < 4
        else event
        for i, event in enumerate(theme.parts[0].voices[0].events)
    ]
    part = theme.parts[0].replace(voices=(Voice("1", tuple(events)),))
    paired = theme.replace(parts=(part,))
    assert beams(paired, "1") == "()()."
    rhythm.write(rhythm.restate(paired, "6/8"), tmp_path / "done.musicxml")
    assert beams(rhythm.read(tmp_path / "done.musicxml"), "1") == "(--)."


@pytest.fixture(scope="module")
def song(tmp_path_factory) -> dict[str, Score]:
    """Schubert, Der Lindenbaum: bars 13 to 16 in 4/4, and with their values backwards."""
    folder = tmp_path_factory.mktemp("song")
    source = rhythm.read(LINDENBAUM)
    made = {"source": source}
    for name, done in (
        ("restated", rhythm.restate(source, "4/4", bars="13-16")),
        ("varied", rhythm.vary(source, "retrograde:rhythm", bars="13-16")),
    ):
        rhythm.write(done, folder / f"{name}.musicxml")
        made[name] = rhythm.read(folder / f"{name}.musicxml")
    return made


def test_a_restated_song_is_beamed_as_its_editor_beamed_it(song):
    """The chord before the slurred run has a flag, as in the bars around it; syllables too."""
    source, done = song["source"], song["restated"]
    assert beams(source, "16", part=1) == beams(source, "12", part=1) == ".(---)"
    assert beams(done, "16", part=1) == ".(-).."
    assert str(done.bars[15].metre) == "4/4"
    assert set(beams(done, "13")) == {"."}
    for number in ("12", "17"):
        for part in (0, 1):
            assert beams(done, number, part) == beams(source, number, part)


def test_a_varied_song_is_beamed_as_its_editor_beamed_it(song):
    assert beams(song["varied"], "13", part=1) == ".(---)"
    assert set(beams(song["varied"], "16")) == {"."}
