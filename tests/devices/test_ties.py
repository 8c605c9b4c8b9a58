"""Ties where the notes run backwards, and notes held across what parts sections."""

from __future__ import annotations

import pytest
from gmpy2 import mpq

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.score.model import Event, Score
from rhythm.verbs import vary
from tests.corpus import corpus_files, pick
from tests.markup import backup, note, partwise

REPEAT = (
    '<barline location="right"><bar-style>light-heavy</bar-style>'
    '<repeat direction="backward"/></barline>'
)
DOUBLE = '<barline location="right"><bar-style>light-light</bar-style></barline>'


def chord(*pitches: str, tied: str = "", ties: str = "") -> str:
    """A half-note chord whose member ``tied`` has ``ties``."""
    return "".join(
        note(
            pitch,
            2,
            "half",
            before="<chord/>" if at else "",
            ties=ties if pitch == tied else "",
        )
        for at, pitch in enumerate(pitches)
    )


HELD = partwise(
    chord("C4", "E4", tied="C4", ties="start") + chord("C4", "G4", tied="C4", ties="stop"),
    "".join(note(pitch, 1, "quarter") for pitch in ("C4", "D4", "E4", "F4")),
    divisions=1,
)
ACROSS = "".join(note(pitch, 1, "quarter") for pitch in ("C4", "D4", "E4", "F4"))


def across(line: str) -> bytes:
    """Two bars and a bar, an A held over the bar line between, and a half bar."""
    early = note("G4", 2, "half") + note("A4", 2, "half", ties="start") + line
    late = note("A4", 2, "half", ties="stop") + note("B4", 2, "half")
    return partwise(ACROSS, early, late, note("C5", 2, "half"), divisions=1)


def links(score: Score) -> list[tuple[mpq, str]]:
    """Where a note is tied to the next event, and which."""
    return [
        (event.onset, repr(each.pitch))
        for _, _, event in score.events()
        for each in event.notes
        if each.tie_out
    ]


def facts(score: Score) -> list[tuple[object, ...]]:
    def fact(event: Event) -> tuple[object, ...]:
        ties = tuple((n.tie_in, n.tie_out) for n in event.notes)
        return event.onset, event.duration, event.pitches, ties

    return [fact(event) for _, _, event in score.events() if not event.is_rest]


def lines(score: Score) -> list[tuple[mpq, str]]:
    """Every bar line that says something, with the place it stands at."""
    return [
        (at, line.repeat or line.style)
        for bar in score.bars
        for at, line in ((bar.start, bar.left), (bar.end, bar.right))
        if line is not None
    ]


@pytest.mark.parametrize(("what", "at"), [("retrograde", "1"), ("retrograde:pitch", "3/2")])
def test_a_chord_member_that_is_held_is_held_backwards_too(what: str, at: str) -> None:
    result = read(proven(vary(read(HELD), what)))
    # C+E, C+G tied in C: backwards C+G, C+E tied in C
    assert links(result) == [(mpq(at), "C4")]
    assert result.parts[0].voices[0].events[4].pitches[1].step == "G"


@pytest.mark.parametrize("what", ["retrograde", "retrograde:rhythm", "retrograde:pitch"])
def test_twice_backwards_gives_every_tie_back(what: str) -> None:
    theme = read(HELD)
    assert facts(vary(theme, [what, what])) == facts(theme)
    assert facts(read(proven(vary(read(proven(vary(theme, what))), what)))) == facts(theme)


def test_the_mirror_of_a_palindrome_holds_what_its_theme_holds() -> None:
    result = read(proven(vary(read(HELD), "palindrome")))
    assert links(result) == [(mpq(0), "C4"), (mpq(3), "C4")]


def test_a_note_held_from_voice_to_voice_is_held_backwards_too() -> None:
    upper = note("C4", 2, "half", ties="start") + note("E4", 2, "half")
    lower = note("rest", 2, "half", voice="2") + note("C4", 2, "half", voice="2", ties="stop")
    theme = read(partwise(upper + backup(4) + lower, divisions=1))
    result = vary(theme, "retrograde")
    assert links(theme) == [(mpq(0), "C4")]
    assert links(read(proven(result))) == [(mpq(0), "C4")]
    assert facts(vary(result, "retrograde")) == facts(theme)


def test_notes_that_grace_notes_parted_are_one_where_those_no_longer_stand_between() -> None:
    grace = "<note><grace/><pitch><step>D</step><octave>4</octave></pitch><voice>1</voice></note>"
    line = note("C4", 2, "half", ties="start") + grace + note("C4", 2, "half", ties="stop")
    result = vary(read(partwise(line, divisions=1)), "retrograde")
    assert [fact[:2] for fact in facts(read(proven(result)))] == [(0, 1)]


@pytest.mark.parametrize(("line", "what"), [(REPEAT, "backward"), (DOUBLE, "light-light")])
@pytest.mark.parametrize("by", ["retrograde", "rotation:1", "permutation:2 1", "isorhythm:1/4"])
def test_a_bar_line_stays_where_a_note_is_held_across_it(line: str, what: str, by: str) -> None:
    result = read(proven(vary(read(across(line)), by)))
    # isorhythm: 6 notes of 1/4 fill a bar and a half, so the repeat is after two bars as well
    assert lines(result) == [(mpq(2), what)]


def test_a_retrograde_keeps_to_its_sections_where_a_note_is_held_across_them() -> None:
    done = vary.outcome(read(across(REPEAT)), "retrograde")
    names = [repr(event.pitches[0]) for _, _, event in done.score.events()]
    assert names == ["A4", "G4", "F4", "E4", "D4", "C4", "C5", "B4", "A4"]
    assert [bar.length for bar in done.score.bars] == [1, 1, mpq(1, 2), 1]
    assert done.report.data["told"] == ("notes held over a repeat or double bar and cut there: 1",)


def test_a_held_note_whose_halves_meet_again_is_whole_again() -> None:
    # rhythm alone backwards: the notes keep their order, so the A is still held over the repeat
    result = vary(read(across(REPEAT)), "retrograde:rhythm")
    held = [event for _, _, event in result.events() if event.pitches[0].step == "A"]
    assert [(event.onset, event.duration) for event in held] == [(mpq(7, 4), mpq(3, 4))]


def test_an_upbeat_before_a_repeat_stays_one_where_a_note_is_held_across_the_end() -> None:
    start = '<barline location="left"><repeat direction="forward"/></barline>'
    upbeat = f'<measure number="0" implicit="yes">{note("G4", 1, "quarter")}</measure>'
    first = start + note("C5", 1, "quarter") + note("E4", 2, "half", ties="start") + REPEAT
    last = note("E4", 1, "quarter", ties="stop") + note("F4", 1, "quarter")
    theme = read(partwise(upbeat, first, last, divisions=1, time="3/4"))
    result = vary(theme, "retrograde")
    assert lines(result) == lines(theme) == [(mpq(1, 4), "forward"), (mpq(1), "backward")]
    assert result.bars[0].implicit
    assert [bar.number for bar in result.bars] == [bar.number for bar in theme.bars]


def test_a_song_with_tied_chord_members_keeps_the_ties_that_lead_to_a_note() -> None:
    (path,) = [path for path in corpus_files() if path.name == "Lindenbaum.xml"]
    theme = read(path)
    assert len(links(theme)) == 7  # that of bar 45 leads over a gap, to no note
    assert len(links(vary(theme, "retrograde"))) == 6
    assert links(vary(theme, ["retrograde"] * 2)) == [x for x in links(theme) if x[1] != "C2"]


def test_repeats_of_real_scores_stay_where_they_are_backwards() -> None:
    def repeats(score: Score) -> bool:
        return any(line in ("forward", "backward") for _, line in lines(score))

    for path in pick(8, accept=repeats):
        theme = read(path)
        assert lines(vary(theme, "retrograde")) == lines(theme)
