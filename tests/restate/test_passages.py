"""Passages: what is restated in place leaves the rest as it was; what stands apart is complete."""

from __future__ import annotations

import re

import pytest
from lxml import etree

from rhythm.check.ledger import check
from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_tree
from rhythm.score.model import Score
from rhythm.verbs import restate, vary
from tests import schema
from tests.corpus import corpus_files
from tests.markup import note, parts, partwise
from tests.tiny import durations, melody


def quarter(pitch: str, **about: str) -> str:
    return note(pitch, 4, "quarter", **about)


def eighth(pitch: str, **about: str) -> str:
    return note(pitch, 2, "eighth", **about)


OPENING = (
    "<attributes><key><fifths>1</fifths></key><clef><sign>G</sign><line>2</line></clef></attributes>"
    "<direction><direction-type><metronome><beat-unit>quarter</beat-unit>"
    '<per-minute>96</per-minute></metronome></direction-type><sound tempo="96"/></direction>'
)
FOUR = quarter("C5") * 4
SLUR = '<slur type="{}" number="1"/>'
BARS = (
    OPENING + quarter("C5") * 4,
    quarter("D5") * 3 + quarter("E5", ties="start"),
    quarter("E5", ties="stop", inside=SLUR.format("start"))
    + eighth("F5") * 2
    + quarter("G5")
    + quarter("A5", ties="start"),
    quarter("A5", ties="stop", inside=SLUR.format("stop")) + quarter("B5") * 3,
    quarter("C5") * 4,
)
SOURCE = partwise(*BARS)
SCORE = read(SOURCE)


def bars_of(data: bytes) -> list[str]:
    """Every measure as canonical XML."""
    root = etree.fromstring(data)
    return [etree.tostring(bar, method="c14n").decode() for bar in root.iter("measure")]


def plain(bar: str) -> str:
    """A bar without the signature it shows."""
    return re.sub("<attributes><time>.*?</time></attributes>", "", bar)


def without_tempo(bar: str) -> str:
    return re.sub("<direction[^>]*><direction-type><metronome>.*?</direction>", "", bar)


def test_bars_outside_a_passage_keep_their_canonical_xml() -> None:
    result = proven(restate(SCORE, "12/8", bars="3"))
    old, new = bars_of(SOURCE), bars_of(result)
    assert [i for i in range(5) if old[i] != new[i]] == [2, 3]
    # It shows the metre and the tempo that are restored, and nothing else.
    assert "<beat-unit>quarter</beat-unit><per-minute>96" in new[3]
    assert without_tempo(plain(new[3])) == old[3]


def sung_bars(data: bytes) -> list[int]:
    """The bars with syllables in them, from 1."""
    return [i for i, bar in enumerate(bars_of(data), start=1) if "<lyric" in bar]


@pytest.mark.parametrize("system", ["takadimi", "numbers"])
def test_counting_a_passage_leaves_the_bars_outside_as_they_were(system: str) -> None:
    counted = proven(restate(SCORE, "12/8", bars="3", count=system))
    assert sung_bars(counted) == [3]
    uncounted = bars_of(proven(restate(SCORE, "12/8", bars="3")))
    assert [i for i in range(5) if uncounted[i] != bars_of(counted)[i]] == [2]


def test_of_a_theme_with_a_return_only_the_return_is_counted() -> None:
    result = restate(SCORE, "12/8", bars="2-3", place="append", count="takadimi")
    assert sung_bars(proven(result)) == [6, 7]
    result = restate(SCORE, "9/8", by="beat", bars="1-3", place="append", count="takadimi")
    assert sung_bars(proven(result)) == [6, 7, 8, 9]


def test_a_passage_written_alone_is_counted_from_beginning_to_end() -> None:
    result = restate(SCORE, "12/8", bars="2-3", place="alone", count="takadimi")
    assert sung_bars(proven(result)) == [1, 2]


@pytest.mark.parametrize(
    ("device", "bars"), [("augmentation:2", [2, 3, 4, 5]), ("diminution:2", [2]), ("dotting", [2])]
)
def test_a_varied_passage_is_counted_as_long_as_it_has_become(device: str, bars: list[int]) -> None:
    passage = "2" if device == "dotting" else "2-3"
    result = proven(vary(read(partwise(*[FOUR] * 5)), device, bars=passage, count="takadimi"))
    assert sung_bars(result) == bars


def test_ties_and_slurs_over_the_edges_of_a_passage_stay_whole() -> None:
    result = proven(restate(SCORE, "12/8", bars="3")).decode()
    for mark in ("tie", "tied", "slur"):
        assert result.count(f'<{mark} type="start"') == SOURCE.count(
            f'<{mark} type="start"'.encode()
        )
        assert result.count(f'<{mark} type="stop"') == SOURCE.count(f'<{mark} type="stop"'.encode())
    events = [(e.onset, e.duration) for e in read(result.encode()).parts[0].voices[0].events]
    assert [str(d) for _, d in events if d > 3 / 8] == ["5/8", "5/8"]


def test_divisions_that_a_passage_needs_are_restored_after_it() -> None:
    score = read(partwise(*(quarter("C5") * 4 for _ in range(3)), divisions=4))
    result = restate(score, "12/8", bars="2", lilt="3:2")
    again = read(proven(result))
    assert [str(bar.length) for bar in again.bars] == ["1", "3/2", "1"]
    assert bars_of(proven(result))[2].count("<divisions>") <= 1


def test_a_clef_first_seen_inside_a_passage_stays_though_a_hidden_one_said_the_same() -> None:
    shown = "<attributes><clef><sign>G</sign><line>2</line></clef></attributes>"
    hidden = shown.replace("<clef>", '<clef print-object="no">')
    score = read(partwise(hidden + FOUR, FOUR, shown + FOUR, shown + FOUR))
    alone = bars_of(proven(restate(score, "12/8", bars="2-4", place="alone")))
    assert [bar.count("<clef>") for bar in alone] == [0, 1, 0]
    assert [bar.count("<clef ") for bar in alone] == [1, 0, 0]


def test_a_return_leaves_slurs_and_hairpins_of_the_bars_before_it_alone() -> None:
    """Between voices, and two hairpins at once without numbers: real scores have both."""
    wedge = '<direction><direction-type><wedge type="{}"/></direction-type></direction>'
    grows, ends = wedge.format("crescendo"), wedge.format("stop")
    rest = "<backup><duration>16</duration></backup>"
    across = quarter("C5", inside=SLUR.format("start")) + quarter("D5") * 3 + rest
    across += quarter("C4", voice="2") * 3
    across += quarter("D4", voice="2", inside=SLUR.format("stop"))
    twice = grows + quarter("C5") + grows + quarter("D5") * 2 + ends + quarter("E5") + ends
    source = partwise(OPENING + across, twice, FOUR)
    before = [
        etree.tostring(bar, method="c14n").decode()
        for bar in etree.fromstring(source).iter("measure")
    ]
    after = bars_of(proven(restate(read(source), "12/8", bars="3", place="append")))
    assert after[:2] == before[:2]


def test_a_passage_alone_is_a_complete_score() -> None:
    data = proven(restate(SCORE, "12/8", bars="3", place="alone"))
    (bar,) = bars_of(data)
    assert "<fifths>1</fifths>" in bar
    assert "<sign>G</sign>" in bar
    assert re.search("<beats>12</beats><beat-type>8</beat-type>", bar)
    # the tempo in force, following the beat: dotted quarter = 96
    assert "<beat-unit>quarter</beat-unit><beat-unit-dot></beat-unit-dot><per-minute>96" in bar
    assert 'tempo="144"' in bar
    assert "<tie" not in bar  # what sounded over its edges is closed
    assert "light-heavy" in bar
    assert not schema.errors(data)
    assert not check(read(data)).faults


def test_under_the_value_s_own_rate_a_tempo_in_force_stays() -> None:
    (bar,) = bars_of(proven(restate(SCORE, "12/8", bars="3", place="alone", tempo="value")))
    assert "beat-unit-dot" not in bar
    assert 'tempo="96"' in bar


def test_a_passage_is_appended_as_a_return_of_the_theme() -> None:
    data = proven(restate(SCORE, "12/8", bars="3-4", place="append"))
    old, new = bars_of(SOURCE), bars_of(data)
    assert new[:4] == old[:4]
    assert "light-light" in new[4]
    assert "<rehearsal>A</rehearsal>" in new[5]
    assert "<fifths>" not in new[5]  # the key is in force anyhow
    assert "light-heavy" in new[6]
    assert [re.search('number="([^"]*)"', bar)[1] for bar in new[4:]] == ["5", "6", "7"]  # type: ignore[index]
    assert [str(bar.metre) for bar in read(data).bars] == ["4/4"] * 5 + ["12/8"] * 2
    assert not schema.errors(data)
    assert not check(read(data)).faults


def test_the_whole_theme_is_appended_where_no_bars_are_named() -> None:
    result = restate(melody("4/4", "1/2 1/2", "1"), "12/8", place="append")
    assert durations(result) == "1/2 1/2 | 1 | 3/4 3/4 | 3/2"


def test_a_short_last_bar_is_filled_before_a_return() -> None:
    theme = melody("4/4", "1/4", "1/4 1/4 1/4 1/4", "1/2 1/4", upbeat=True)
    result = restate(theme, "12/8", bars="2", place="append")
    assert durations(result) == "1/4 | 1/4 1/4 1/4 1/4 | 1/2 1/4 r1/4 | 3/4 3/8"
    assert not check(read(proven(result))).faults


def test_a_return_brings_the_upbeat_that_leads_into_it_and_says_so() -> None:
    theme = melody("4/4", "1/4", "1/4 1/4 1/4 1/4", "1/2 1/4", upbeat=True)
    done = restate.outcome(theme, "12/8", bars="1", place="append")
    result = read(proven(done.score))
    assert durations(result) == "1/4 | 1/4 1/4 1/4 1/4 | 1/2 1/4 | 3/8 | 3/8 3/8 3/8 3/8"
    assert str(done.report).endswith("; bar 1 with its upbeat")
    alone = restate.outcome(theme, "12/8", bars="1", place="alone")
    assert durations(read(proven(alone.score))) == "3/8 3/8 3/8 3/8"
    assert str(alone.report).endswith("; the upbeat before bar 1 left out")


def repeated(*bars: str) -> Score:
    """Bars of a whole note; ``|:`` before and ``:|`` behind a name draw repeats."""
    made = []
    for text in bars:
        ahead = '<barline location="left"><bar-style>heavy-light</bar-style>{}</barline>'
        behind = '<barline location="right"><bar-style>light-heavy</bar-style>{}</barline>'
        ending = text.strip("|:")
        opens = f'<ending number="{ending}" type="start"/>' if ending else ""
        closes = f'<ending number="{ending}" type="stop"/>' if ending else ""
        opens += '<repeat direction="forward"/>' if text.startswith("|:") else ""
        closes += '<repeat direction="backward"/>' if text.endswith(":|") else ""
        bar = note("C4", 16, "whole")
        bar = (ahead.format(opens) if opens else "") + bar
        made.append(bar + (behind.format(closes) if closes else ""))
    return read(partwise(*made))


def repeats(score: Score) -> str:
    """The repeats and endings of the bars of a score, as ``repeated`` takes them."""
    found = []
    for bar in score.parts[0].bars:
        left = "|:" if bar.left is not None and bar.left.repeat else ""
        right = ":|" if bar.right is not None and bar.right.repeat else ""
        sides = [line.ending for line in (bar.left, bar.right) if line is not None]
        found.append(left + "".join(sorted(set(sides))) + right or "-")
    return " ".join(found)


@pytest.mark.parametrize(
    ("bars", "named", "kept"),
    [
        # the movement's own beginning is the repeat's: the return needs a sign for it
        (("", ":|", ""), "1-2", "|: :|"),
        (("|:", ":|", ""), "1-2", "|: :|"),
        # half a section is not repeated, nor does it lead back into the movement
        (("", "", ":|", ""), "2-4", "- - -"),
        (("|:", "", ":|"), "1-2", "- -"),
        # endings go with the repeat they hang on
        (("", "", "1:|", "2", ""), "2-5", "- - - -"),
        (("", "1:|", "2"), "1-3", "|: 1:| 2"),
        # a second section that begins behind a backward repeat
        (("", ":|", "", ":|"), "3-4", "|: :|"),
    ],
)
def test_a_return_repeats_itself_and_not_the_movement(
    bars: tuple[str, ...], named: str, kept: str
) -> None:
    source = repeated(*bars)
    result = read(proven(restate(source, "12/8", bars=named, place="append")))
    count = len(source.bars)
    assert repeats(result).split()[:count] == repeats(source).split()
    assert " ".join(repeats(result).split()[count:]) == kept


def tempi(score: Score) -> list[tuple[int, str, int | None]]:
    """The bars' tempo marks: bar from 1, beat and rate, playback in quarters."""
    return [
        (mark.bar + 1, f"{mark.metronome.unit}={mark.metronome.per_minute}", mark.tempo)
        for mark in score.parts[0].marks
        if mark.metronome is not None
    ]


def test_the_beat_keeps_its_rate_at_both_edges_of_a_passage_in_place() -> None:
    result = read(proven(restate(SCORE, "12/8", bars="3")))
    assert tempi(result) == [(1, "1/4=96", 96), (3, "3/8=96", 144), (4, "1/4=96", 96)]
    by_value = read(proven(restate(SCORE, "12/8", bars="3", tempo="value")))
    assert tempi(by_value) == [(1, "1/4=96", 96)]


def test_a_tempo_mark_inside_a_passage_goes_on_as_it_was_behind_it() -> None:
    faster = OPENING[OPENING.index("<direction>") :].replace("96", "120")
    score = read(partwise(BARS[0], faster + FOUR, FOUR, FOUR))
    result = read(proven(restate(score, "12/8", bars="2-3")))
    assert tempi(result) == [(1, "1/4=96", 96), (2, "3/8=120", 180), (4, "1/4=120", 120)]


def test_no_id_stands_twice_where_a_passage_returns() -> None:
    named = note("C4", 16, "whole", attributes='id="n1"')
    slur = note("D4", 16, "whole", inside='<slur id="s1" type="start"/>')
    words = '<direction id="d1"><direction-type><words id="w1">dolce</words></direction-type>'
    bars = (words + "</direction>" + named, slur, note("E4", 16, "whole"))
    bars = (
        *bars[:2],
        bars[2].replace("</note>", '<notations><slur type="stop"/></notations></note>'),
    )
    data = proven(restate(read(partwise(*bars)), "12/8", bars="1-3", place="append"))
    ids = re.findall(rb' id="([^P"][^"]*)"', data)
    assert sorted(ids) == [b"d1", b"n1", b"s1", b"w1"]
    assert not schema.errors(data)


def test_a_short_last_bar_waits_for_the_upbeat_of_a_return() -> None:
    theme = melody("4/4", "1/4", "1/4 1/4 1/4 1/4", "1/2 1/4", upbeat=True)
    result = restate(theme, "12/8", place="append")
    assert durations(result) == (
        "1/4 | 1/4 1/4 1/4 1/4 | 1/2 1/4 | 3/8 | 3/8 3/8 3/8 3/8 | 3/4 3/8"
    )
    assert not check(read(proven(result))).faults


def test_a_chord_s_single_tie_out_of_a_passage_is_closed() -> None:
    chord = quarter("C5", ties="start") + quarter("E5", before="<chord/>")
    score = read(partwise(quarter("D5") * 3 + chord, quarter("C5", ties="stop") * 1))
    assert [note.tie_out for note in score.parts[0].voices[0].events[3].notes] == [True, False]
    assert b"<tie" not in proven(restate(score, "12/8", bars="1", place="alone"))


def two_parts(short: bool) -> Score:
    """Two parts of three bars, the second lacking its last where ``short``."""
    bars = (quarter("C5") * 4,) * 3
    return read(parts(bars, bars[: 2 if short else 3]))


@pytest.mark.parametrize("target", ["compound", "5/4", "triplets"])
def test_a_part_with_fewer_bars_is_restated_as_far_as_it_goes(target: str) -> None:
    result = restate(two_parts(short=True), target)
    assert [len(part.bars) for part in read(proven(result)).parts] == [3, 2]


@pytest.mark.parametrize(
    ("options", "bars"),
    [
        ({"bars": "3", "place": "alone"}, 1),
        ({"bars": "2-3", "place": "append"}, 5),
        ({"by": "beat"}, 4),
        ({"by": "beat", "bars": "2-3", "place": "append"}, 6),
    ],
)
def test_a_part_with_fewer_bars_rests_where_bars_are_moved(
    options: dict[str, str], bars: int
) -> None:
    result = restate(two_parts(short=True), "9/8", **options)  # type: ignore[arg-type]
    again = read(proven(result))
    assert [len(part.bars) for part in again.parts] == [bars, bars]
    assert not check(again).faults


def test_a_part_with_fewer_bars_rests_until_a_return() -> None:
    result = restate(two_parts(short=True), "12/8", bars="1", place="append")
    again = read(proven(result))
    assert [len(part.bars) for part in again.parts] == [4, 4]
    lower = again.parts[1].voices[0].events
    assert [event.is_rest for event in lower if event.bar == 2] == [True]
    assert not check(again).faults


def test_halves_of_a_bar_on_two_sides_of_a_change_of_metre_still_make_one() -> None:
    """Beethoven, op. 59 no. 3, end of the introduction: two quarters of 3/4, an upbeat in 4/4."""
    three = "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
    four = "<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    score = read(
        partwise(
            three + quarter("C5") * 3,
            quarter("C5") * 2 + "<barline><bar-style>light-light</bar-style></barline>",
            four + quarter("C5"),
            quarter("C5") * 4,
            quarter("C5") * 4,
            time="",
        )
    )
    assert [str(bar.length) for bar in score.bars] == ["3/4", "1/2", "1/4", "1", "1"]
    assert not check(score).faults
    result = restate(score, "5/4")
    assert durations(result) == ("1/2 1/4 1/2 | 1/2 1/4 | 1/2 | 1/2 1/4 1/4 1/4 | 1/2 1/4 1/4 1/4")
    assert not check(read(proven(result))).faults
    assert {bar.metre for bar in result.bars} == {Metre.parse("5/4")}


def test_a_return_says_only_the_clef_that_changed_since() -> None:
    (path,) = (p for p in corpus_files() if p.name == "movement1_exposition.mxl")
    whole = restate(read(path), "compound", bars="1-4", place="append")
    (bar,) = to_tree(whole).getroot().xpath("part/measure[@number='13']")
    assert [(clef.get("number"), clef.findtext("sign")) for clef in bar.iter("clef")] == [
        ("2", "G")
    ]
    assert not list(bar.iter("key"))


def test_halves_of_a_bar_at_the_head_of_a_passage_stay_halves() -> None:
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    score = read(partwise(quarter("C5") * 4, quarter("C5") * 2 + repeat, quarter("C5") * 2, FOUR))
    assert not check(score).faults
    again = read(proven(restate(score, "5/4", bars="2-4", place="alone")))
    assert [str(bar.length) for bar in again.bars] == ["3/4", "1/2", "5/4"]
    assert not check(again).faults


def _direction(inside: str) -> str:
    return f"<direction><direction-type>{inside}</direction-type></direction>"


SPANS = {
    "wedge": '<wedge type="crescendo" number="1"/>',
    "octave-shift": '<octave-shift type="down" size="8" number="1"/>',
    "pedal": '<pedal type="start" line="yes" number="1"/>',
    "dashes": '<dashes type="start" number="1"/>',
    "bracket": '<bracket type="start" line-end="down" number="1"/>',
    "slur": '<slur type="start" number="1"/>',
    "wavy-line": '<ornaments><trill-mark/><wavy-line type="start" number="1"/></ornaments>',
}


def _ends(data: bytes, kind: str) -> list[tuple[str | None, str | None]]:
    """The bars in which ends of this kind stand, and their types, in order."""
    root = etree.fromstring(data)
    return [
        (bar.get("number"), each.get("type"))
        for bar in root.iter("measure")
        for each in bar.iter(kind)
    ]


@pytest.mark.parametrize("kind", sorted(SPANS))
@pytest.mark.parametrize(
    ("bars", "expected"),
    [("1-2", ("1", "2")), ("2-3", ("2", "3")), ("2", ("2", "2")), ("3-4", ("3", "3"))],
    ids=["cut behind", "cut at both ends", "over the whole of it", "cut before"],
)
def test_what_reaches_over_an_edge_of_a_passage_that_stands_alone_is_closed_there(
    kind: str, bars: str, expected: tuple[str, str]
) -> None:
    """From the second note of bar 1 to the third of bar 3: so much of it as the passage holds.

    Common practice, no source.
    """
    begin = SPANS[kind]
    opened = re.sub(r'type="\w+"', 'type="stop"', begin.replace("<trill-mark/>", ""))
    opened = opened.replace(' line="yes"', "") if kind != "pedal" else opened
    on_note = kind in ("slur", "wavy-line")
    first = quarter("C5") + (
        quarter("D5", inside=begin) if on_note else _direction(begin) + quarter("D5")
    )
    third = quarter("E5") * 2 + (
        quarter("F5", inside=opened) if on_note else quarter("F5") + _direction(opened)
    )
    source = partwise(first + quarter("G5") * 2, FOUR, third + quarter("G5"), FOUR)
    done = restate.outcome(read(source), "12/8", bars=bars, place="alone")
    data = proven(done.score)
    assert not schema.errors(data)
    assert [bar for bar, _ in _ends(data, kind)] == list(expected)
    assert [type == "stop" for _, type in _ends(data, kind)] == [False, True]
    assert "1 " in str(done.report) and str(done.report).endswith("cut at the passage's edge")


def test_a_return_closes_its_hairpin_and_leaves_that_of_the_movement() -> None:
    source = partwise(
        FOUR,
        _direction(SPANS["wedge"]) + FOUR,
        FOUR + _direction('<wedge type="stop" number="1"/>'),
    )
    data = proven(restate(read(source), "12/8", bars="1-2", place="append"))
    assert _ends(data, "wedge") == [
        ("2", "crescendo"),
        ("3", "stop"),
        ("5", "crescendo"),
        ("5", "stop"),
    ]


def test_a_slur_that_would_stand_over_one_note_is_left_out_of_a_passage() -> None:
    source = partwise(quarter("C5") * 3 + quarter("D5", inside=SPANS["slur"]), FOUR)
    data = proven(restate(read(source), "12/8", bars="1", place="alone"))
    assert _ends(data, "slur") == []
