"""What is not rhythm goes along: everything that stands on the notes, over and under them."""

from __future__ import annotations

import pytest
from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import MusicError, ProofError
from rhythm.formats.musicxml.proof.whole import prove
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.rebar.rebar import rebar
from rhythm.score.model import Metronome, Score
from rhythm.verbs import restate
from tests import schema
from tests.census import census
from tests.markup import backup, note, parts, partwise
from tests.tiny import durations, written


def quarter(pitch: str, **about: str) -> str:
    return note(pitch, 4, "quarter", **about)


def eighth(pitch: str, **about: str) -> str:
    return note(pitch, 2, "eighth", **about)


def half(pitch: str, **about: str) -> str:
    return note(pitch, 8, "half", **about)


def direction(inside: str, after: str = "") -> str:
    return f"<direction><direction-type>{inside}</direction-type>{after}</direction>"


def lyric(text: str, kind: str = "single", number: str = "1") -> str:
    return f'<lyric number="{number}"><syllabic>{kind}</syllabic><text>{text}</text></lyric>'


CHORD = "<chord/>"
WORDS = (
    eighth("C4", after=lyric("lan", "begin") + lyric("mid", "begin", "2"))
    + eighth("D4", after=lyric("tern", "end") + lyric("night", "end", "2"))
    + quarter("E4", inside="<articulations><accent/></articulations>")
    + quarter("G4", before=CHORD)
    + half("F4", inside='<fermata/><slur type="start" number="1"/>')
)
HAIRPIN = (
    direction('<wedge type="crescendo"/>')
    + eighth("C4")
    + eighth("D4")
    + direction('<wedge type="stop"/>')
    + direction("<dynamics><f/></dynamics>")
    + quarter("E4")
    + half("F4", inside='<slur type="stop" number="1"/>')
)
FIGURES = (
    "<figured-bass><figure><figure-number>6</figure-number></figure><duration>2</duration>"
    "</figured-bass><figured-bass><figure><figure-number>5</figure-number></figure>"
    "<duration>2</duration></figured-bass>"
)
HARMONY = "<harmony><root><root-step>{}</root-step></root><kind>major</kind>{}</harmony>"
SYMBOLS = (
    HARMONY.format("C", "")
    + HARMONY.format("G", "<offset>4</offset>")
    + FIGURES
    + quarter("C4")
    + quarter("E4")
    + HARMONY.format("F", "")
    + half("F4")
)
GRACES = (
    note("B4", "", "eighth", before='<grace slash="yes"/>')
    + eighth("C4")
    + eighth("D4", before="<cue/>")
    + quarter("E4")
    + half("F4")
    + note("G4", "", "16th", before="<grace/>")
)
STAVES = (
    "<attributes><staves>2</staves></attributes>"
    + quarter("C5", staff="1")
    + eighth("E4", staff="2")
    + eighth("F4", staff="2")
    + half("G4", staff="1")
    + backup(16)
    + half("C3", voice="2", staff="2")
    + eighth("C3", voice="2", staff="2")
    + eighth("D3", voice="2", staff="2")
    + quarter("E3", voice="2", staff="2")
)
DRUM = eighth("x") + eighth("x") + quarter("x") + half("x")
EVERYTHING = {
    "lyrics, chords, articulations": WORDS,
    "hairpins, dynamics, slurs": HAIRPIN,
    "chord symbols, figured bass": SYMBOLS,
    "grace notes, cue notes": GRACES,
    "a voice that crosses staves": STAVES,
    "percussion": DRUM,
}
TARGETS = ["compound", "triplets", "5/4", "2+2+3/8", "3/4", "7/8 5/8"]


@pytest.mark.parametrize("target", TARGETS)
@pytest.mark.parametrize("bar", EVERYTHING.values(), ids=EVERYTHING)
def test_nothing_is_lost_on_the_way_to_any_metre(bar: str, target: str) -> None:
    source = read(partwise(bar, WORDS))
    result = restate(source, target)
    data = proven(result)
    assert census(result) == census(source)
    assert not schema.errors(data)


def stream(score: Score) -> list[str]:
    """The first bar's elements in order, each as tag, value or what it says."""
    bar = next(etree.fromstring(proven(score)).iter("measure"))
    found = []
    for child in bar:
        if child.tag == "note":
            found.append(child.findtext("type", "rest"))
        elif child.tag not in ("attributes", "backup", "forward"):
            inner = child.find(".//wedge")
            found.append(child.tag if inner is None else inner.get("type", ""))
    return found


def test_hairpins_and_dynamics_stay_on_their_notes() -> None:
    assert stream(restate(read(partwise(HAIRPIN)), "compound")) == [
        "crescendo", "quarter", "eighth", "stop", "direction", "quarter", "half",
    ]  # fmt: skip


def test_a_mark_between_notes_goes_by_the_map() -> None:
    """A chord symbol in the middle of a half note: after one of two beats, in any metre."""
    score = read(partwise(HARMONY.format("G", "<offset>4</offset>") + half("C4") + half("F4")))
    (mark,) = restate(score, "compound").parts[0].marks[-1:]
    assert mark.reach == mpq(3, 8)


def test_figures_under_one_note_follow_each_other() -> None:
    result = restate(read(partwise(SYMBOLS)), "compound")
    figures = [m.length for m in result.parts[0].marks if m.kind == "figured-bass"]
    assert figures == [mpq(1, 4), mpq(1, 8)]


def test_words_stay_under_their_notes() -> None:
    result = restate(read(partwise(WORDS)), "5/4")
    root = etree.fromstring(proven(result))
    sung = {n.findtext("pitch/step"): n.findtext("lyric/text") for n in root.iter("note")}
    assert sung == {"C": "lan", "D": "tern", "E": None, "G": None, "F": None}


def test_all_parts_change_metre_at_the_same_bar_lines() -> None:
    upper = (WORDS, quarter("C5") * 4)
    lower = (note("bar", 16), half("C3") * 2)
    result = restate(read(parts(upper, lower)), "compound", bars="2")
    again = read(proven(result))
    for part in again.parts:
        assert [str(bar.metre) for bar in part.bars] == ["4/4", "12/8"]
        assert [bar.length for bar in part.bars] == [1, mpq(3, 2)]


def test_a_rest_over_several_bars_stays_one() -> None:
    several = (
        "<attributes><measure-style><multiple-rest>2</multiple-rest></measure-style></attributes>"
    )
    score = read(partwise(several + note("bar", 16), note("bar", 16), quarter("C4") * 4))
    data = proven(restate(score, "compound"))
    assert data.count(b"<multiple-rest>2</multiple-rest>") == 1
    assert data.count(b'<rest measure="yes"/>') == 2
    assert written(read(data)).startswith("r:bar | r:bar | quarter.")


SEVERAL = "<attributes><measure-style><multiple-rest>4</multiple-rest></measure-style></attributes>"
REST = note("bar", 16)


def rests_told(data: bytes) -> dict[str, str]:
    """By bar number, of how many bars a sign stands there."""
    return {
        bar.get("number") or "": sign.text or ""
        for bar in etree.fromstring(data).iter("measure")
        for sign in bar.iter("multiple-rest")
    }


@pytest.mark.parametrize(
    ("to", "options", "told"),
    [
        ("12/8", {}, {"2": "4"}),
        ("12/8", {"bars": "4-5"}, {"2": "2", "4": "2"}),
        ("12/8", {"bars": "3"}, {"4": "2"}),
        ("12/8", {"bars": "2-4", "place": "alone"}, {"2": "3"}),
        ("2/4", {"by": "beat"}, {"3": "8"}),
        ("3/4", {"by": "beat"}, {"3": "4"}),
    ],
    ids=["as many", "parted in two", "one bar alone", "cut", "twice as many", "from the next bar"],
)
def test_a_rest_over_several_bars_stands_for_the_bars_that_are_there(
    to: str, options: dict[str, str], told: dict[str, str]
) -> None:
    """Four silent bars between two of quarters: sixteen beats, of which a bar takes so many."""
    four = quarter("C4") * 4
    score = read(partwise(four, SEVERAL + REST, REST, REST, REST, four))
    assert rests_told(proven(restate(score, to, **options))) == told


def test_a_file_whose_rest_stands_for_other_bars_is_not_proven() -> None:
    four = quarter("C4") * 4
    score = restate(read(partwise(SEVERAL + REST, REST, REST, REST, four)), "12/8")
    data = to_bytes(score)
    prove(score, data)
    with pytest.raises(ProofError, match="a rest over several bars stands for other bars"):
        prove(score, data.replace(b"<multiple-rest>4<", b"<multiple-rest>5<"))


def tremolo(ticks: int, type: str) -> str:
    """Two notes in turn: each is written with the value of both (MusicXML, report on 4.0)."""
    ornament = '<ornaments><tremolo type="{}">3</tremolo></ornaments>'
    return note("C4", ticks, type, ratio="2:1", inside=ornament.format("start")) + note(
        "E4", ticks, type, ratio="2:1", inside=ornament.format("stop")
    )


@pytest.mark.parametrize(
    ("source", "target", "sounding", "types"),
    [
        (tremolo(4, "half"), "compound", "3/8 3/8", "half. half."),
        (tremolo(2, "quarter"), "compound", "3/16 3/16", "quarter. quarter."),
        (tremolo(4, "half"), "3/4", "1/4 1/4", "half half"),
        (tremolo(4, "half"), "triplets", "1/4 1/4", "half half"),
    ],
)
def test_a_double_tremolo_stays_double(source: str, target: str, sounding: str, types: str) -> None:
    rest = half("F4") if "half" in source else quarter("F4") + half("F4")
    result = read(proven(restate(read(partwise(source + rest)), target)))
    assert durations(result).startswith(sounding + " ")
    first, second = (event.pieces[0] for event in result.parts[0].voices[0].events[:2])
    assert first.tremolo and second.tremolo
    assert " ".join(piece.type + "." * piece.dots for piece in (first, second)) == types


def metronome(unit: str, *, dotted: bool = False, rate: str = "", other: str = "") -> str:
    dot = "<beat-unit-dot/>"
    second = f"<beat-unit>{other.rstrip('.')}</beat-unit>{dot * other.endswith('.')}"
    says = f"<per-minute>{rate}</per-minute>" if rate else second
    return direction(f"<metronome><beat-unit>{unit}</beat-unit>{dot * dotted}{says}</metronome>")


def metronomes(score: Score) -> list[Metronome]:
    return [mark.metronome for mark in score.parts[0].marks if mark.metronome]


FOUR = quarter("C4") * 4
E, Q, DQ, H = mpq(1, 8), mpq(1, 4), mpq(3, 8), mpq(1, 2)


@pytest.mark.parametrize(
    ("mark", "target", "expected"),
    [
        (metronome("quarter", rate="96"), "compound", Metronome(DQ, "96")),
        (metronome("quarter", rate="ca. 60"), "compound", Metronome(DQ, "ca. 60")),
        (metronome("half", rate="48"), "compound", Metronome(mpq(3, 4), "48")),
        (metronome("eighth", rate="192"), "compound", Metronome(mpq(3, 16), "192")),
        # a dotted eighth would be 9/32, which no symbol stands for: the beat itself is stated
        (metronome("eighth", rate="128", dotted=True), "compound", Metronome(DQ, "96")),
        (metronome("eighth", rate="ca. 128", dotted=True), "compound", Metronome(DQ, "ca. 96")),
        (metronome("eighth", rate="128-136", dotted=True), "compound", Metronome(DQ, "96-102")),
        (metronome("quarter", rate="176-184"), "compound", Metronome(DQ, "176-184")),
        # where the bar has another number of beats what leaves it nearest to its own time is kept
        # (common practice, no source): values, or values halved
        (metronome("quarter", rate="96"), "2+3/8", Metronome(E, "96")),
        (metronome("quarter", rate="96"), "3+2/8", Metronome(E, "96")),
        (metronome("quarter", rate="96"), "2+2+3/8", Metronome(Q, "96")),
        (metronome("quarter", rate="96"), "3+2+2/8", Metronome(Q, "96")),
        (metronome("quarter", rate="96"), "triplets", Metronome(Q, "96")),
        (metronome("quarter", rate="96"), "5/4", Metronome(Q, "96")),
        (metronome("quarter", rate="96"), "8/8", Metronome(Q, "96")),
        (metronome("quarter", rate="96"), "2/2", Metronome(Q, "96")),
        (metronome("quarter", rate="96"), "4/2", Metronome(H, "96")),
        (metronome("quarter", rate="96"), "6/4", Metronome(Q, "96")),
        (metronome("quarter", rate="96"), "6/8", Metronome(Q, "96")),
    ],
)
def test_the_beat_keeps_its_rate(mark: str, target: str, expected: Metronome) -> None:
    source = read(partwise(mark + FOUR))
    assert metronomes(read(to_bytes(restate(source, target)))) == [expected]
    assert metronomes(restate(source, target, tempo="value")) == metronomes(source)


@pytest.mark.parametrize(
    ("metre", "target", "expected"),
    [
        ("2/4", "2+3/8", Q),
        ("2/4", "3+2/8", DQ),
        ("3/4", "2+2+3/8", Q),
        ("3/4", "3+2+2/8", Q),
        ("6/8", "2+3/8", Q),
    ],
)
def test_a_tempo_names_the_commonest_beat_or_the_first(
    metre: str, target: str, expected: mpq
) -> None:
    """As many beats as before, of which two lengths are as common (common practice, no source)."""
    beats, unit = metre.split("/")
    beat = metronome("quarter", rate="96", dotted=metre == "6/8")
    fill = note("C4", int(beats) * 16 // int(unit), "whole")
    result = read(proven(restate(read(partwise(beat + fill, time=metre)), target)))
    assert metronomes(result) == [Metronome(expected, "96")]


@pytest.mark.parametrize(
    ("time", "target", "rate"),
    [
        ("6/8", "7/8", 112),  # eighth = eighth, as in any piece that moves between the two
        ("12/8", "7/8", mpq(224, 3)),  # the beat: dotted quarters become quarters
        ("6/8", "2/4", mpq(224, 3)),
        ("2/4", "4/4", 224),  # values doubled, the tune no slower
        ("3/4", "5/8", 112),
    ],
)
def test_a_bar_of_other_beats_keeps_about_its_time(time: str, target: str, rate: mpq) -> None:
    """No bar becomes longer or shorter by more than a half (common practice, no source)."""
    beats, unit = time.split("/")
    fill = note("C4", int(beats) * 16 // int(unit), "whole")
    score = read(partwise('<sound tempo="112"/>' + fill, time=time))
    (told,) = [mark.tempo for mark in restate(score, target).parts[0].marks if mark.tempo]
    assert told == rate


@pytest.mark.parametrize(("tempo", "rate"), [("beat", 144), ("value", 96)])
def test_playback_goes_by_the_quarter(tempo: str, rate: int) -> None:
    score = read(partwise('<sound tempo="96"/>' + FOUR))
    result = restate(score, "compound", tempo=tempo)
    assert [mark.tempo for mark in result.parts[0].marks if mark.tempo] == [rate]


def test_a_tempo_relation_speaks_of_the_bar_before_and_the_bar_after() -> None:
    """Quarter = dotted quarter at 2/4 to 6/8: both beats are dotted quarters afterwards."""
    six = "<attributes><time><beats>6</beats><beat-type>8</beat-type></time></attributes>"
    score = read(
        partwise(
            quarter("C4") * 2,
            six + metronome("quarter", other="quarter.") + note("C4", 6, "quarter", dots=1) * 2,
            time="2/4",
        )
    )
    assert metronomes(restate(score, "2/4:6/8")) == [Metronome(DQ, "", DQ)]
    assert metronomes(restate(score, "6/8:2/4")) == [Metronome(Q, "", Q)]


def relation(left: str, right: str) -> str:
    """A tempo relation written with notes."""
    notes = "<metronome-relation>equals</metronome-relation>".join(
        f"<metronome-note><metronome-type>{name.rstrip('.')}</metronome-type>"
        f"{'<metronome-dot/>' * name.endswith('.')}</metronome-note>"
        for name in (left, right)
    )
    return direction(f"<metronome>{notes}</metronome>")


def test_a_relation_written_with_notes_is_rescaled_in_notes() -> None:
    two = note("C4", 8, "half")
    score = read(partwise(two, relation("half", "quarter") + two, time="2/4"))
    result = to_bytes(restate(score, "compound"))
    assert metronomes(read(result)) == [Metronome(mpq(3, 4), "", DQ)]
    assert result.count(b"<metronome-dot/>") == 2
    assert b"<beat-unit>" not in result


def test_a_rhythm_shown_as_a_relation_stays_as_it_is() -> None:
    pair = "<metronome-note><metronome-type>eighth</metronome-type></metronome-note>"
    swing = direction(
        f"<metronome>{pair}{pair}<metronome-relation>equals</metronome-relation>{pair}</metronome>"
    )
    score = read(partwise(swing + FOUR))
    result = to_bytes(restate(score, "compound"))
    assert result.count(b"<metronome-type>eighth</metronome-type>") == 3


def test_a_tempo_relation_without_symbols_is_written_in_shorter_values() -> None:
    """Nine sixteenths = three eighths says what dotted quarter = quarter says."""
    score = read(partwise(FOUR, metronome("quarter", dotted=True, other="quarter") + FOUR))
    assert metronomes(restate(score, "compound")) == [Metronome(DQ, "", Q)]
    with pytest.raises(MusicError, match="bar 2: 9/16 = 1/4 is no relation of note values"):
        restate(score, "12/8", bars="1")


def test_a_dynamic_with_an_offset_goes_where_the_note_it_points_at_goes() -> None:
    loud = "<direction><direction-type><dynamics><f/></dynamics></direction-type>"
    lower = note("C4", 3, "eighth", dots=1, voice="2") + note("D4", 1, "16th", voice="2")
    lower += note("E4", 12, "half", dots=1, voice="2") + "<backup><duration>16</duration></backup>"
    source = partwise(lower + f"{loud}<offset>3</offset></direction>" + note("C5", 16, "whole"))
    result = restate(read(source), "12/8")
    [mark] = [mark for mark in result.parts[0].marks if mark.kind == "direction"]
    [_, second, *_] = [e for _, v, e in result.events() if v.name == "2"]
    assert mark.onset + mark.reach == second.onset == Q


def test_repeats_endings_and_rehearsal_marks_stay_on_their_bars() -> None:
    first = (
        '<barline location="left"><ending number="1" type="start"/></barline>{}'
        '<barline location="right"><ending number="1" type="stop"/>'
        '<repeat direction="backward"/></barline>'
    )
    second = '<barline location="left"><ending number="2" type="start"/></barline>{}'
    opening = direction("<rehearsal>A</rehearsal>")
    source = read(partwise(opening + FOUR, first.format(FOUR), second.format(FOUR)))
    result = restate(source, "7/8")
    again = read(proven(result))
    assert [(bar.left, bar.right) for bar in again.bars] == [
        (bar.left, bar.right) for bar in source.bars
    ]
    assert census(result) == census(source)


def test_an_extender_over_tied_notes_reaches_to_the_last_of_as_many_other_pieces() -> None:
    """A quarter tied to a dotted quarter comes out as a half tied to an eighth."""
    start = '<lyric number="1"><text>la</text><extend type="start"/></lyric>'
    stop = '<lyric number="1"><extend type="stop"/></lyric>'
    source = partwise(
        note("C4", 12, "half", dots=1) + quarter("G4", ties="start", after=start),
        note("G4", 6, "quarter", dots=1, ties="stop", after=stop) + eighth("A4") + half("C4"),
    )
    result = etree.fromstring(proven(rebar(read(source), "3/4")))
    held = [each for each in result.iter("note") if each.findtext("pitch/step") == "G"]
    assert [each.findtext("type") for each in held] == ["half", "eighth"]
    assert [[end.get("type") for end in each.iter("extend")] for each in held] == [
        ["start"],
        ["stop"],
    ]


def test_an_extender_over_tied_notes_goes_where_they_become_one() -> None:
    start = lyric("born", number="2").replace("</lyric>", '<extend type="start"/></lyric>')
    stop = '<lyric number="2"><extend type="stop"/></lyric>'
    held = note("C5", 6, "quarter", dots=1, ties="start", after=start)
    held += note("C5", 6, "quarter", dots=1, ties="stop", after=stop)
    data = proven(restate(read(partwise(held, time="6/8")), "2/4"))
    assert b"<text>born</text>" in data
    assert b"extend" not in data
    data = proven(restate(read(partwise(held, time="6/8")), "5/4"))
    assert data.count(b"<extend") == 2  # half and dotted half: still two notes


def test_a_slur_on_a_later_piece_of_a_held_note_stays_at_its_moment() -> None:
    """A slur that begins where a note is held over the bar line begins there, not a piece earlier.

    Held notes come out in more pieces in 7/8: the slur that ends at the first piece ends with the
    bar, before the next one begins (common practice, no source).
    """
    slur = '<slur type="{}" number="1"/>'
    source = partwise(
        note("D4", 16, "whole", inside=slur.format("start")),
        note("C4", 16, "whole", ties="start", inside=slur.format("stop")),
        half("C4", ties="stop", inside=slur.format("start"))
        + half("G4", inside=slur.format("stop")),
    )
    result = etree.fromstring(proven(restate(read(source), "7/8")))
    said = [
        [
            (each.findtext("pitch/step"), [slur.get("type") for slur in each.iter("slur")])
            for each in bar.iter("note")
        ]
        for bar in result.iter("measure")
    ]
    assert said == [
        [("D", ["start"]), ("D", [])],
        [("C", []), ("C", ["stop"])],
        [("C", ["start"]), ("G", ["stop"])],
    ]
