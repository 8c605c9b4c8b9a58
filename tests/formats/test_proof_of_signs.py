"""What a player reads besides notes: a file in which one such sign is spoilt is refused.

The score is spoilt as it was read, written afresh, restated, and cut out of itself: music that was
cut may lose the end of a span that has no partner, and nothing else.
"""

import re

import pytest

import rhythm
from rhythm.exact.errors import ProofError
from rhythm.formats.musicxml.proof.whole import prove
from rhythm.score.model import Mark, Score
from rhythm.writing import faults_of, proven
from tests.corpus import pick
from tests.markup import note, partwise


def direction(inside: str) -> str:
    return f"<direction><direction-type>{inside}</direction-type></direction>"


def lyric(syllabic: str, text: str, more: str = "") -> str:
    said = f"<syllabic>{syllabic}</syllabic><text>{text}</text>{more}"
    return f'<lyric number="1">{said}</lyric>'


def looking(xml: str, looks: str) -> str:
    return xml.replace("</type>", f"</type>{looks}")


HEAD = (
    '<print new-system="yes"><system-layout><system-distance>90</system-distance></system-layout>'
    "</print><attributes><key><fifths>2</fifths></key><clef><sign>G</sign><line>2</line></clef>"
    "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>"
    '<barline location="left"><bar-style>heavy-light</bar-style><repeat direction="forward"/>'
    "</barline>"
)
ONE = (
    HEAD
    + direction("<words>poco</words>")
    + direction('<wedge type="crescendo" number="1"/>')
    + note(
        "C4", 12, "quarter", after=lyric("begin", "a"),
        inside="<technical><fingering>3</fingering></technical>",
    )
    + note(
        "D4", 12, "quarter", after=lyric("end", "men", '<extend type="start"/>'),
        inside="<ornaments><trill-mark/></ornaments>",
    )
    + direction('<wedge type="stop" number="1"/>')
    + looking(note("E4", 12, "quarter"), "<stem>up</stem><notehead>diamond</notehead>")
    + looking(note("G4", 12, "quarter", before="<chord/>"), "<stem>up</stem>")
    + note("A4", 12, "quarter", inside='<fermata type="upright"/><arpeggiate/>')
)  # fmt: skip
TWO = (
    "<attributes><key><fifths>-1</fifths></key></attributes>"
    "<harmony><root><root-step>F</root-step></root><kind>major</kind>"
    "<bass><bass-step>C</bass-step></bass></harmony>"
    + note("F4", 12, "quarter", inside='<slur type="start" number="1" placement="above"/>')
    + note("G4", 12, "quarter", before="<cue/>")
    + direction('<octave-shift type="down" size="8"/>')
    + note(
        "A4", 12, "quarter",
        inside='<slur type="stop" number="1"/><glissando type="start" number="1"/>',
    )
    + note("B4", 12, "quarter", inside='<glissando type="stop" number="1"/>')
    + direction('<octave-shift type="stop" size="8"/>')
    + '<barline location="right"><bar-style>light-heavy</bar-style>'
    + '<repeat direction="backward" times="3"/></barline>'
)  # fmt: skip
DRUM = "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
THREE = (
    direction('<pedal type="start"/>')
    + note("C4", 24, "half", inside="<articulations><breath-mark/></articulations>")
    + direction('<pedal type="stop"/>')
    + '<direction><direction-type><segno/></direction-type><sound dalsegno="x"/></direction>'
    + note("x", 24, "half")
    .replace("<unpitched/>", DRUM)
    .replace("</duration>", '</duration><instrument id="P1-I1"/>')
    + "<figured-bass><figure><figure-number>6</figure-number></figure><duration>12</duration>"
    + "</figured-bass>"
)
AROUND = (
    b'<identification><creator type="composer">Anon</creator><rights>none</rights>'
    b"</identification><defaults><scaling><millimeters>7</millimeters><tenths>40</tenths>"
    b'</scaling></defaults><credit page="1"><credit-words font-size="20">A Title</credit-words>'
    b"</credit><part-list>"
)
LISTED = (
    b'</part-name><score-instrument id="P1-I1"><instrument-name>Drum</instrument-name>'
    b"</score-instrument>"
)
PIECE = (
    partwise(ONE, TWO, THREE, divisions=12)
    .replace(b"<part-list>", AROUND)
    .replace(b"</part-name>", LISTED)
)


def fresh(score: Score) -> Score:
    """The same music with every bar written afresh."""
    parts = (
        part.replace(bars=tuple(bar.replace(source=None) for bar in part.bars))
        for part in score.parts
    )
    return score.replace(parts=tuple(parts))


WAYS = {
    "as it was read": lambda score: score,
    "written afresh": fresh,
    "restated": lambda score: rhythm.restate(score, "compound"),
    "cut out": lambda score: rhythm.excerpt(score, bars="1-3"),
}

SPOILINGS: dict[str, tuple[str, str]] = {
    "new line lost": ("<print.*?</print>", ""),
    "distance of lines": ("<system-distance>90", "<system-distance>70"),
    "transposition": ("<chromatic>-2", "<chromatic>-3"),
    "transposition lost": ("<transpose>.*?</transpose>", ""),
    "lyric's extender lost": ('<extend type="start"/>', ""),
    "hyphen of a syllable": ("<syllabic>begin", "<syllabic>single"),
    "fingering": ("<fingering>3", "<fingering>4"),
    "fingering lost": ("<technical>.*?</technical>", ""),
    "ornament on a later note": (
        "<ornaments><trill-mark/></ornaments>(.*?)<fermata",
        r"\1<ornaments><trill-mark/></ornaments><fermata",
    ),
    "ornament changed": ("<trill-mark/>", "<turn/>"),
    "octave in a chord": (r"(<note><chord/><pitch><step>G</step><octave>)4", r"\g<1>5"),
    "note of a chord lost": ("<note><chord/>.*?</note>", ""),
    "words a beat later": (
        "(<direction><direction-type><words>.*?</direction>)(.*?)(<note>.*?</note>)",
        r"\2\3\1",
    ),
    "hairpin longer": (
        '(<direction><direction-type><wedge type="stop".*?</direction>)'
        "(<note>.*?</note><note>.*?</note>)",
        r"\2\1",
    ),
    "hairpin turned": ('type="crescendo"', 'type="diminuendo"'),
    "hairpin's end lost": (
        '<direction><direction-type><wedge type="stop" number="1"/></direction-type></direction>',
        "",
    ),
    "how often it is repeated": ('times="3"', 'times="2"'),
    "repeat's beginning lost": ('<repeat direction="forward"/>', ""),
    "change of key lost": ("<key><fifths>-1</fifths></key>", ""),
    "cue made a full note": ("<cue/>", ""),
    "note made a cue": ("(<note>)(<pitch><step>F)", r"\1<cue/>\2"),
    "notehead": ("<notehead>diamond", "<notehead>x"),
    "notehead lost": ("<notehead>diamond</notehead>", ""),
    "stem turned": ("<stem>up", "<stem>down"),
    "stem lost": ("<stem>up</stem>", ""),
    "credit": (">A Title<", ">B Title<"),
    "size of a credit": ('font-size="20"', 'font-size="10"'),
    "composer": (">Anon<", ">Nona<"),
    "size of the page": ("<millimeters>7", "<millimeters>8"),
    "bass of a chord symbol": ("<bass-step>C", "<bass-step>D"),
    "side of a slur": ('placement="above"', 'placement="below"'),
    "slur lost": ("<slur[^>]*/>|<notations></notations>", ""),
    "end of a slide lost": ('<glissando type="stop" number="1"/>', ""),
    "fermata turned": ('<fermata type="upright"', '<fermata type="inverted"'),
    "arpeggio lost": ("<arpeggiate/>", ""),
    "octave line turned": ('octave-shift type="down"', 'octave-shift type="up"'),
    "pedal": ('<pedal type="stop"/>', '<pedal type="change"/>'),
    "breath": ("<breath-mark/>", "<caesura/>"),
    "segno": ("<segno/>", "<coda/>"),
    "jump in sound lost": ('<sound dalsegno="x"/>', ""),
    "line of a drum": ("<display-step>E", "<display-step>F"),
    "instrument of a drum lost": ('<instrument id="P1-I1"/>', ""),
    "name of an instrument": ("<instrument-name>Drum", "<instrument-name>Bell"),
    "figure of a bass": ("<figure-number>6", "<figure-number>7"),
    "length of a figure": (
        r"(<figure-number>6</figure-number></figure><duration>)\d+", r"\g<1>24",
    ),
    "comment": ("</measure>", "<!-- x --></measure>"),
    "colour of a note": ("<note>", '<note color="#ff0000">'),
    "loudness of a note": ("<note>", '<note dynamics="30">'),
}  # fmt: skip


@pytest.fixture(scope="module")
def scores() -> dict[str, tuple[Score, str]]:
    """Each score with its right file."""
    made = {name: way(rhythm.read(PIECE)) for name, way in WAYS.items()}
    return {name: (score, proven(score).decode()) for name, score in made.items()}


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(("old", "new"), SPOILINGS.values(), ids=SPOILINGS)
def test_a_file_with_a_spoilt_sign_is_refused(scores, way: str, old: str, new: str) -> None:
    score, written = scores[way]
    spoilt = re.sub(old, new, written, count=0 if "|" in old else 1, flags=re.DOTALL)
    assert spoilt != written
    with pytest.raises(ProofError):
        prove(score, spoilt.encode(), faults_of)


def test_a_bar_that_nothing_changed_keeps_the_places_of_its_notes_on_the_page(scores) -> None:
    score, written = scores["as it was read"]
    with pytest.raises(ProofError, match="bar 1: a bar that nothing changed is not as it was"):
        prove(score, written.replace("<note>", '<note default-x="3">', 1).encode())


def test_a_span_that_a_device_tears_apart_may_go_and_one_that_is_whole_may_not() -> None:
    inside = {"C4": '<slur type="start" number="1"/>', "D4": '<slur type="stop" number="1"/>'}
    bar = "".join(
        note(p, 12, "quarter", inside=inside.get(p, "")) for p in ("C4", "D4", "E4", "F4")
    )
    theme = rhythm.read(partwise(bar, divisions=12))
    torn = rhythm.vary(theme, "reduction:1/2")
    assert b"<slur" not in proven(torn)
    cut = rhythm.excerpt(theme, bars="1")
    written = proven(cut).decode()
    for lost in ("start", "stop"):
        with pytest.raises(ProofError, match=f"lost the slur {lost}"):
            prove(cut, re.sub(f'<slur type="{lost}"[^>]*/>', "", written).encode())


def test_a_clef_that_was_made_in_python_is_proven_in_music_that_was_cut() -> None:
    score = rhythm.excerpt(rhythm.read(PIECE), bars="2-3")
    (part,) = score.parts
    made = Mark(part.bars[1].start, 1, "clef", text="percussion")
    written = proven(score.replace(parts=(part.replace(marks=(*part.marks, made)),)))
    assert b"<sign>percussion</sign>" in written


def test_passages_of_real_scores_are_proven_when_they_are_cut_out_and_turned_about() -> None:
    for path in pick(6):
        score = rhythm.read(path)
        proven(rhythm.excerpt(score, bars=f"{score.bars[1].number}-{score.bars[3].number}"))
