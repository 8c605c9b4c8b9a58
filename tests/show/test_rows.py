"""Engraved rows: every note is drawn and says which event it is; the engraver cannot hurt us."""

import re
import threading
from pathlib import Path

import pytest

from rhythm import MusicError, RequestError, read, restate
from rhythm.score.identity import named_events
from rhythm.show import engraver
from rhythm.show.drawing import glyph_definitions, standalone
from rhythm.show.line_breaking import best_breaks
from rhythm.show.music_font import music_font
from rhythm.show.rows import rows
from tests.corpus import pick
from tests.markup import note, partwise
from tests.tiny import melody

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.musicxml"))

KILLERS = {
    # Each of these ends the engraver's process, one by an exception, one by a fault of memory.
    "a tempo beyond all numbers": (
        "",
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>"
        f"{'9' * 400}</per-minute></metronome></direction-type></direction>",
    ),
    "a group of parts that is nothing": ('<part-group number="1"/>', ""),
}


def one_bar(listed="", marks=""):
    return (
        f'<score-partwise version="4.0"><part-list>{listed}<score-part id="P1"><part-name/>'
        '</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1'
        "</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
        f"{marks}<note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration>"
        "<voice>1</voice><type>whole</type></note></measure></part></score-partwise>"
    ).encode()


def names_of(score, prefix=""):
    return {name for name, _, _, event in named_events(score, prefix) if event.visible}


def drawn(found):
    return frozenset().union(*(each.events for each in found.drawings))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_note_and_rest_is_drawn_with_the_name_of_its_event(path):
    score = read(path)
    found = rows(score, prefix="b")
    assert names_of(score, "b")
    assert drawn(found) == names_of(score, "b")
    assert [bar for each in found.drawings for bar in each.bars] == list(range(len(score.bars)))


def test_a_tied_note_is_one_event_in_all_its_pieces():
    score = melody("4/4", "3/4 1/4~", "3/4 1/4")
    svg = "".join(each.svg for each in rows(score).drawings)
    assert svg.count('data-event="0-0-1"') == 2


def test_a_restated_score_is_drawn_whole():
    song = restate(read(EXAMPLES[1]), "7/8 5/8")
    assert drawn(rows(song)) == names_of(song)


def test_rows_break_where_they_are_asked_to():
    found = rows(read(EXAMPLES[0]), breaks=[3, 5])
    assert [each.bars[0] for each in found.drawings] == [0, 3, 5]
    assert found.breaks == (3, 5)


def test_a_score_by_time_is_engraved_as_the_same_by_part():
    by_part = one_bar().decode()
    by_time = (
        by_part.replace("score-partwise", "score-timewise")
        .replace('<part id="P1"><measure number="1">', '<measure number="1"><part id="P1">')
        .replace("</measure></part>", "</part></measure>")
    )
    assert "timewise" in by_time and by_time.index("<measure") < by_time.index('<part id="P1">')
    timewise, partwise = rows(read(by_time.encode())), rows(read(by_part.encode()))
    assert timewise.drawings == partwise.drawings
    assert drawn(timewise) == {"0-0-0"}


@pytest.mark.parametrize("listed, marks", KILLERS.values(), ids=KILLERS)
def test_where_the_engraver_dies_one_line_says_so_and_the_next_score_is_drawn(listed, marks):
    with pytest.raises(MusicError, match=r"^odd: the engraver died over this score; narrow"):
        rows(read(one_bar(listed, marks), name="odd"))
    assert drawn(rows(read(one_bar()))) == {"0-0-0"}


@pytest.mark.parametrize("seconds, patience", [(0, 0), (-1, 30)], ids=["the clock", "its work"])
def test_where_the_engraver_runs_on_it_is_ended(monkeypatch, seconds, patience):
    """It is told to work no longer than it has worked already, or is not waited for."""
    engraver._end()
    monkeypatch.setattr(engraver, "_SECONDS", seconds)
    monkeypatch.setattr(engraver, "_PATIENCE", patience)
    monkeypatch.setattr(engraver, "_BYTES_A_SECOND", 1 << 40)
    with pytest.raises(MusicError, match=f"gave no drawing within {seconds} seconds"):
        rows(read(EXAMPLES[0]))
    monkeypatch.undo()
    assert rows(read(EXAMPLES[0])).drawings


def test_where_the_engraver_wants_too_much_memory_one_line_says_so(monkeypatch):
    engraver._end()
    monkeypatch.setattr(engraver, "_MEGABYTES", 20)
    with pytest.raises(MusicError, match="the engraver died"):
        rows(read(EXAMPLES[0]))
    monkeypatch.undo()
    engraver._end()
    assert rows(read(EXAMPLES[0])).drawings


def test_rows_are_drawn_from_several_threads_at_once():
    expected = [rows(read(path)).drawings for path in EXAMPLES]
    found = {}

    def work(index):
        found[index] = rows(read(EXAMPLES[index])).drawings

    threads = [threading.Thread(target=work, args=(i,)) for i in range(len(EXAMPLES))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [found[i] for i in range(len(EXAMPLES))] == expected


def test_a_drawing_without_a_note_is_no_drawing(monkeypatch):
    score = read(EXAMPLES[0])
    empty = [re.sub(r' id="\d+-\d+-\d+\.[^"]*"', "", page) for page in _pages(score)]
    monkeypatch.setattr("rhythm.show.rows.draw", lambda *_: (empty, len(empty)))
    with pytest.raises(MusicError, match="drew no note of this score"):
        rows(score)


def _pages(score):
    from rhythm.formats.musicxml.labelled import labelled

    return engraver.draw(labelled(score, breaks=()), {"breaks": "encoded"})[0]


def test_a_drawing_asks_for_nothing_and_its_glyphs_are_beside_it():
    found = rows(read(EXAMPLES[0]))
    defined = set(re.findall(r'id="(glyph-[0-9A-F]+)"', glyph_definitions(found.glyphs)))
    for each in found.drawings:
        links = re.findall(r'(?:href|src)="([^"]*)"', each.svg)
        assert links and {link.removeprefix("#") for link in links} <= defined
    assert "url(" not in standalone(found.drawings)


@pytest.mark.parametrize("width", [499, 20_001])
def test_a_width_out_of_range_is_refused(width):
    with pytest.raises(RequestError, match="500 to 20000"):
        rows(read(EXAMPLES[0]), width=width)


def test_hidden_notes_have_no_beams_and_no_ties():
    """Abbreviated repeats are a long note that shows and short ones, for playback, that do not."""
    short = "".join(
        note("C4", 1, "eighth", voice="2", beams=beam, ties=tie)
        for beam, tie in (("begin", "start"), ("continue", "stop"), ("continue", ""), ("end", ""))
    )

    def drawn_of(notes):
        back = "<backup><duration>4</duration></backup>"
        bar = note("C4", 4, "half") + back + notes
        score = read(partwise(bar, divisions=2, time="2/4"))
        svg = rows(score).drawings[0].svg
        return svg.count('class="beam"'), svg.count('class="tie"')

    assert drawn_of(short) == (1, 1)
    assert drawn_of(short.replace("<note", '<note print-object="no"')) == (0, 0)


def test_real_scores_are_drawn_whole():
    for path in pick(5):
        score = read(path)
        assert drawn(rows(score)) >= {
            name for name, _, _, event in named_events(score) if event.visible and event.notes
        }, path


def test_rows_are_filled_alike():
    assert best_breaks([3900] * 16, 21_000) == (4, 8, 12)
    assert best_breaks([30_000, 3000, 3000], 21_000) == (1,)
    assert best_breaks([3000] * 3, 21_000) == ()
    assert best_breaks([], 21_000) == ()


def test_the_font_has_the_signs_asked_for_and_is_the_same_every_time():
    from io import BytesIO

    from fontTools.ttLib import TTFont

    data = music_font(frozenset({"ECA5", "E262"}))
    assert data == music_font(frozenset({"ECA5", "E262"}))
    assert set(TTFont(BytesIO(data)).getBestCmap()) == {0x20, 0xE262, 0xECA5}
