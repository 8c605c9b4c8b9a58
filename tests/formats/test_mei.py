"""MEI and Humdrum: keys, metres, words and dynamics are read, and no note is lost.

MEI rules are those of the guidelines, version 5 (music-encoding.org/guidelines/v5). Humdrum comes
by way of verovio and MEI; music21, and a count of the tokens, are the independent readers.
"""

from __future__ import annotations

import warnings

import pytest
from gmpy2 import mpq
from lxml import etree

import rhythm
from rhythm import formats
from rhythm.exact.errors import FileError
from rhythm.formats.bridge.humdrum import mei_of_humdrum
from rhythm.formats.bridge.streams import from_music21
from rhythm.formats.files import load
from rhythm.formats.mei.score import movements_of, musicxml_of, parse
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score
from tests.corpus import corpus_files, music21_folder
from tests.foreign import against, kern_files, sounding
from tests.schema import errors

MEI = """<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc><titleStmt>
<title>Song</title><composer>Someone</composer></titleStmt></fileDesc></meiHead>
<music><body>{}</body></music></mei>"""
DEF = (
    '<scoreDef meter.count="{}" meter.unit="4" key.sig="{}"><staffGrp>'
    '<staffDef n="1" lines="5" clef.shape="G" clef.line="2" label="Voice"/></staffGrp></scoreDef>'
)


def mei(*bars: str, count: str = "3", key: str = "2f", beside: str = "") -> bytes:
    """A document of one staff with one layer, a text for each bar; ``beside`` is in the first."""
    measures = "".join(
        f'<measure n="{number}"><staff n="1"><layer n="1">{bar}</layer></staff>'
        f"{beside if number == 1 else ''}</measure>"
        for number, bar in enumerate(bars, 1)
    )
    score = f"<score>{DEF.format(count, key)}<section>{measures}</section></score>"
    return MEI.format(f"<mdiv>{score}</mdiv>").encode()


def n(pname: str, dur: str, rest: str = "") -> str:
    attributes, _, inner = rest.partition("|")
    return f'<note pname="{pname}" oct="4" dur="{dur}" {attributes}>{inner}</note>'


def lengths(score: Score) -> list[str]:
    events = score.parts[0].voices[0].events
    return [("r" if event.is_rest else "") + str(event.duration) for event in events]


@pytest.mark.parametrize(
    ("bar", "expected"),
    [
        pytest.param(n("c", "4") + n("d", "4", 'dots="1"') + n("e", "8"), "1/4 3/8 1/8", id="dots"),
        pytest.param(
            f'<tuplet num="3" numbase="2">{n("c", "8") * 3}</tuplet><rest dur="2"/>',
            "1/12 1/12 1/12 r1/2",
            id="a tuplet",
        ),
        pytest.param(
            f'<tuplet num="3" numbase="2">{n("c", "4")}<tuplet num="5" numbase="4">'
            f'{n("c", "16") * 5}</tuplet>{n("c", "4")}</tuplet>{n("c", "4")}',
            "1/6 1/30 1/30 1/30 1/30 1/30 1/6 1/4",
            id="a tuplet in a tuplet",
        ),
        pytest.param("<mRest/>", "r3/4", id="a rest of a whole bar"),
        pytest.param(
            f'<chord dur="2">{n("c", "")}{n("e", "")}</chord>{n("c", "4")}'.replace('dur=""', ""),
            "1/2 1/4",
            id="a chord says how long its notes are",
        ),
        pytest.param(
            n("d", "8", 'grace="acc"') + n("c", "2", 'dots="1"'), "3/4", id="grace notes"
        ),
        pytest.param(
            n("c", "2", 'tie="i"') + n("c", "4", 'tie="t"'), "3/4", id="a tie by attributes"
        ),
        pytest.param(
            f'<app><lem>{n("c", "2")}</lem><rdg>{n("d", "4")}</rdg></app>{n("e", "4")}',
            "1/2 1/4",
            id="one reading of several",
        ),
        pytest.param(
            f'<bTrem>{n("c", "2")}</bTrem>{n("e", "4")}', "1/2 1/4", id="a tremolo of one note"
        ),
        pytest.param(
            f'<fTrem>{n("c", "2")}{n("e", "2")}</fTrem>{n("e", "4")}',
            "1/4 1/4 1/4",
            id="a tremolo of two notes",
        ),
    ],
)  # fmt: skip
def test_the_values_of_a_layer(bar: str, expected: str) -> None:
    assert lengths(formats.read(mei(bar))) == expected.split()


def test_key_metre_names_words_and_dynamics_are_read() -> None:
    bar = (
        n("c", "4", 'xml:id="a"|<verse n="1"><syl con="d">Sing</syl></verse>')
        + n("b", "4", 'xml:id="b" accid.ges="f"|<verse n="1"><syl>ing</syl></verse>')
        + n("d", "4", 'xml:id="c" artic="stacc"')
    )
    beside = (
        '<dynam staff="1" tstamp="1">mf</dynam><dir staff="1" startid="#b">sweetly</dir>'
        '<slur startid="#a" endid="#c"/><tempo tstamp="1" mm="80" mm.unit="4">Slow</tempo>'
        '<hairpin form="cres" staff="1" tstamp="2" tstamp2="0m+3"/>'
    )
    score = formats.read(mei(bar, n("c", "2", 'dots="1"'), beside=beside))
    root = etree.fromstring(to_bytes(score))
    assert [str(bar.metre) for bar in score.bars] == ["3/4", "3/4"]
    assert root.xpath("//key/fifths/text()") == ["-2"]
    assert [repr(e.pitches[0]) for e in score.parts[0].voices[0].events] == [
        "C4", "Bb4", "D4", "C4",
    ]  # fmt: skip
    assert score.parts[0].name == "Voice"
    assert root.xpath("//lyric/text/text()") == ["Sing", "ing"]
    assert root.xpath("//lyric/syllabic/text()") == ["begin", "end"]
    assert root.xpath("//words/text()") == ["Slow", "sweetly"]
    assert root.find(".//dynamics/mf") is not None
    assert root.xpath("//slur/@type") == ["start", "stop"]
    assert root.xpath("//wedge/@type") == ["crescendo", "stop"]
    assert root.xpath("//articulations/staccato") != []
    assert root.findtext("work/work-title") == "Song"
    assert [mark.tempo for mark in score.parts[0].marks if mark.tempo] == [80]
    (wedge,) = [m.onset for m in score.parts[0].marks if m.kind == "direction"][2:3]
    assert wedge == mpq(1, 4)


def test_the_signature_counts_where_no_accidental_is_said_to_sound() -> None:
    score = formats.read(mei(n("b", "4") + n("b", "4", 'accid="n"') + n("b", "4"), n("b", "4")))
    pitches = [repr(event.pitches[0]) for event in score.parts[0].voices[0].events]
    assert pitches == ["Bb4", "B4", "B4", "Bb4"]


def test_a_change_of_metre_and_key_repeats_and_endings() -> None:
    data = mei(n("c", "2", 'dots="1"'), n("c", "2"), n("c", "2")).decode()
    data = data.replace(
        '<measure n="2"', '<scoreDef meter.count="2" meter.unit="4"/><measure n="2"'
    )
    data = data.replace('<measure n="1"', '<measure n="1" left="rptstart"')
    data = data.replace('<measure n="3">', '<ending n="2"><measure n="3" right="end">')
    data = data.replace('<measure n="2">', '<ending n="1"><measure n="2" right="rptend">')
    data = data.replace('</measure><ending n="2">', '</measure></ending><ending n="2">')
    data = data.replace("</section>", "</ending></section>")
    score = formats.read(data.encode())
    assert [str(bar.metre) for bar in score.bars] == ["3/4", "2/4", "2/4"]
    assert score.bars[0].left is not None and score.bars[0].left.repeat == "forward"
    second = score.bars[1]
    assert second.right is not None and second.left is not None
    assert (second.left.ending, second.right.repeat) == ("1", "backward")


def test_a_bar_that_repeats_the_one_before_has_its_notes() -> None:
    score = formats.read(mei(n("c", "2") + n("d", "4"), "<mRpt/>"))
    assert lengths(score) == ["1/2", "1/4", "1/2", "1/4"]


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (mei("<beatRpt/>"), r"part Voice, bar 1: a sign for music written before \(<beatRpt>\)"),
        (mei(n("c", "7")), "a note with the duration '7'"),
        (mei(n("h", "4")), "'h4' is no pitch"),
        (mei("<note pname='c' oct='4' dur='4'"), "is no readable MEI"),
        (mei('<mensur sign="O"/>'), "holds mensural notation"),
        (MEI.format("<mdiv/>").encode(), "holds no piece of music"),
    ],
    ids=["shorthand", "duration", "pitch", "broken", "mensural", "nothing"],
)
def test_what_cannot_be_read_of_mei_is_refused_in_one_line(data: bytes, problem: str) -> None:
    with pytest.raises(FileError, match=problem) as caught:
        formats.read(data, "a.mei")
    assert "\n" not in str(caught.value)


def engraved(data: bytes) -> bytes:
    """MusicXML as MEI, by the engraver."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"inputFrom": "xml"})
    assert toolkit.loadData(data.decode())
    made: str = toolkit.getMEI()
    return made.encode()


def test_no_note_of_fifty_scores_made_into_mei_is_lost() -> None:
    """The engraver makes MEI of MusicXML; what is read of it is what was in the MusicXML."""
    files = [path for path in corpus_files() if path.stat().st_size > 2000]
    checked = 0
    for path in sorted(files, key=lambda path: path.stat().st_size)[:56]:
        data, _ = load(path)
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            continue
        score = read(data)
        root = parse(engraved(data))
        made, _ = musicxml_of(root, movements_of(root)[0][0])
        again = read(made)
        assert sounding(again) == sounding(score), path
        assert [bar.metre for bar in again.bars] == [bar.metre for bar in score.bars], path
        checked += 1
        if not checked % 10:
            assert errors(made) == [], path
    assert checked >= 50


def test_no_note_of_humdrum_scores_is_lost() -> None:
    """Every note begins, ends and sounds as a reading of the tokens has it."""
    assert len(kern_files()) > 1300
    found = list(against("kern", 24, small=6000))
    assert len(found) >= 24
    assert [each for each in found if each[1]] == []


def test_humdrum_sounds_as_another_reader_has_it() -> None:
    """music21 reads the same notes at the same places."""
    from music21 import converter

    files = sorted((music21_folder() / "corpus").rglob("*.krn"), key=lambda p: p.stat().st_size)
    for path in files[40:43]:
        root = parse(mei_of_humdrum(path.read_bytes()))
        score = read(musicxml_of(root, movements_of(root)[0][0])[0])
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            other = from_music21(converter.parse(str(path), format="humdrum", forceSource=True))
        assert sounding(score) == sounding(other), path


KERN = (
    '**kern\t**text\n*I"Flute\t*\n*M3/4\t*\n*k[f#]\t*\n=1\t=1\n4f#\tsing\n8d\tto\n8e\tme\n4f#\tnow\n'
    "=2\t=2\n2.g\tO\n==\t==\n*-\t*-\n"
)


def test_humdrum_keeps_its_words_names_and_signatures() -> None:
    score = formats.read(KERN.encode(), "-")
    root = etree.fromstring(to_bytes(score))
    assert lengths(score) == ["1/4", "1/8", "1/8", "1/4", "3/4"]
    assert root.xpath("//lyric/text/text()") == ["sing", "to", "me", "now", "O"]
    assert root.xpath("//fifths/text()") == ["1"]
    assert score.parts[0].name == "Flute" and str(score.bars[0].metre) == "3/4"
    assert rhythm.check(score).is_right


def test_names_that_xml_does_not_allow_are_let_pass() -> None:
    """MEI asks for names of its elements that XML allows; files with others are about."""
    other = mei(n("c", "2", 'xml:id="1"') + n("d", "4", 'xml:id="1"'))
    assert lengths(formats.read(other)) == ["1/2", "1/4"]


def test_what_humdrum_has_besides_is_told() -> None:
    lines = [*KERN.splitlines()]
    beside = ["**root", "*", "*", "*", "=1", *"GGGG", "=2", "G", "==", "*-"]
    more = "\n".join(f"{line}\t{cell}" for line, cell in zip(lines, beside, strict=True)) + "\n"
    with pytest.warns(formats.foreign.NotKept, match=r"not kept: \*\*root spines \(1\)$"):
        score = formats.read(more.encode(), "a.krn")
    assert len(lengths(score)) == 5


def test_what_is_no_humdrum_is_refused_in_one_line() -> None:
    for data in (b"**mens\n1\n*-\n", b"**kern\t**kern\n4c\n*-\n\x00\x01"):
        with pytest.raises(FileError, match=r"a\.krn") as caught:
            formats.read(data, "a.krn")
        assert "\n" not in str(caught.value)
