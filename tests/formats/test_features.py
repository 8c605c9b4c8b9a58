"""What MusicXML can say beside rhythm: each feature, valid, survives a bar being written afresh."""

from __future__ import annotations

import pytest

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes, to_tree
from tests.census import count
from tests.formats.test_roundtrip import music, rebuilt
from tests.markup import attributes, backup, forward, note, partwise
from tests.schema import errors

WHOLE = note("C4", 16, "whole")
DIRECTION = "<direction><direction-type>{}</direction-type>{}</direction>"
TREMOLO = '<ornaments><tremolo type="{}">3</tremolo></ornaments>'
LYRIC = (
    '<lyric number="1"><syllabic>begin</syllabic><text>glo</text><elision>_</elision>'
    "<syllabic>end</syllabic><text>ria</text><extend/></lyric>"
)

FEATURES: dict[str, str] = {
    "lyrics with elision and extension": note("C4", 8, "half", after=LYRIC)
    + note("D4", 8, "half", after='<lyric number="2"><text>x</text></lyric>'),
    "chord symbol with an offset": "<harmony><root><root-step>G</root-step></root>"
    '<kind text="7">dominant</kind><bass><bass-step>B</bass-step></bass>'
    "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter>"
    "<degree-type>add</degree-type></degree><offset>6</offset></harmony>" + WHOLE,
    "figured bass of two figures under a note": "<figured-bass><figure><prefix>sharp</prefix>"
    "<figure-number>6</figure-number></figure><duration>8</duration></figured-bass>"
    "<figured-bass><figure><figure-number>5</figure-number></figure><duration>8</duration>"
    "</figured-bass>" + WHOLE,
    "nested tuplets": note(
        "C4", 20, "quarter", ratio="3:2", inside='<tuplet type="start" number="1"/>'
    )
    + note(
        "D4",
        4,
        "16th",
        ratio="15:8",
        inside='<tuplet type="start" number="2"><tuplet-actual><tuplet-number>5</tuplet-number>'
        "</tuplet-actual><tuplet-normal><tuplet-number>4</tuplet-number></tuplet-normal></tuplet>",
    )
    + note("D4", 4, "16th", ratio="15:8") * 3
    + note("D4", 4, "16th", ratio="15:8", inside='<tuplet type="stop" number="2"/>')
    + note("E4", 20, "quarter", ratio="3:2", inside='<tuplet type="stop" number="1"/>'),
    "double tremolo": note("C4", 8, "whole", ratio="2:1", inside=TREMOLO.format("start"))
    + note("E4", 8, "whole", ratio="2:1", inside=TREMOLO.format("stop")),
    "double tremolo in a triplet": note(
        "C4", 4, "quarter", ratio="6:2", inside=TREMOLO.format("start")
    )
    + note("E4", 4, "quarter", ratio="6:2", inside=TREMOLO.format("stop"))
    + note("C4", 8, "quarter", ratio="3:2") * 2,
    "multi-bar rest": "<attributes><measure-style><multiple-rest>3</multiple-rest>"
    "</measure-style></attributes>" + note("bar", 16),
    "slash notation and repeat signs": '<attributes><measure-style><slash type="start"/>'
    '</measure-style><measure-style><measure-repeat type="start">1</measure-repeat>'
    "</measure-style></attributes>" + WHOLE,
    "percussion": note("x", 8, "half")
    .replace(
        "<unpitched/>",
        "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>",
    )
    .replace("</type>", "</type><notehead>x</notehead>")
    + note("x", 8, "half"),
    "pitched rests": note("rest", 16, "whole").replace(
        "<rest/>", "<rest><display-step>B</display-step><display-octave>4</display-octave></rest>"
    ),
    "cue notes over a rest": note("C5", 8, "half", before="<cue/>", voice="2")
    + forward(8)
    + backup(16)
    + note("rest", 16, "whole"),
    "grace notes before, after and in chords": note(
        "B3", "", "16th", before='<grace slash="yes"/>', beams="begin,begin"
    )
    + note("D4", "", "16th", before="<grace/><chord/>")
    + note("A3", "", "16th", before="<grace/>", beams="end,end")
    + WHOLE
    + note("B3", "", "16th", before='<grace steal-time-previous="20"/>'),
    "hidden notes": WHOLE
    + backup(16)
    + note("D4", 16, "whole", voice="2", attributes='print-object="no" print-spacing="no"'),
    "microtones": note("C4", 16, "whole")
    .replace("<step>C</step>", "<step>C</step><alter>-0.5</alter>")
    .replace("</type>", "</type><accidental>quarter-flat</accidental>"),
    "hairpins, pedals, octave shifts, dashes": DIRECTION.format('<wedge type="crescendo"/>', "")
    + DIRECTION.format('<pedal type="start" line="yes"/>', "<offset>1</offset>")
    + DIRECTION.format('<octave-shift type="down" size="8"/>', "<staff>1</staff>")
    + WHOLE
    + DIRECTION.format('<wedge type="stop"/>', "<offset>-2</offset>")
    + DIRECTION.format('<pedal type="stop" line="yes"/>', "")
    + DIRECTION.format('<octave-shift type="stop" size="8"/>', ""),
    "a metronome mark of notes": DIRECTION.format(
        "<metronome><metronome-note><metronome-type>eighth</metronome-type></metronome-note>"
        "<metronome-relation>equals</metronome-relation><metronome-note>"
        "<metronome-type>quarter</metronome-type></metronome-note></metronome>",
        "",
    )
    + WHOLE,
    "key and clef changes inside a bar": note("C4", 8, "half")
    + "<attributes><key><fifths>-3</fifths></key><clef><sign>F</sign><line>4</line></clef>"
    "</attributes>" + note("D3", 8, "half"),
    "a bar line in the middle of a bar": note("C4", 8, "half")
    + '<barline location="middle"><bar-style>dashed</bar-style></barline>'
    + note("D4", 8, "half"),
    "repeats with endings": '<barline location="left"><bar-style>heavy-light</bar-style>'
    '<ending number="1" type="start"/><repeat direction="forward"/></barline>'
    + WHOLE
    + '<barline location="right"><bar-style>light-heavy</bar-style>'
    '<ending number="1" type="stop"/><repeat direction="backward"/></barline>',
    "prints, bookmarks, groupings, links": '<print new-system="yes"><system-layout>'
    "<system-distance>90</system-distance></system-layout></print>"
    '<bookmark id="b1"/><grouping type="start" number="1"><feature type="x"/></grouping>'
    + WHOLE
    + '<grouping type="stop" number="1"/>',
    "sounds with jumps and swing": '<sound tempo="120" dacapo="yes"><swing><first>2</first>'
    "<second>1</second><swing-type>eighth</swing-type></swing></sound>" + WHOLE,
    "a note that says how it is played": note(
        "C4",
        16,
        "whole",
        attributes='dynamics="80" attack="1" release="-1" default-y="-15"',
        after="<play><mute>straight</mute></play>",
    ),
    "guitar technique": note(
        "C4",
        16,
        "whole",
        inside="<technical><string>2</string><fret>1</fret><bend><bend-alter>1</bend-alter>"
        '</bend></technical><technical><hammer-on type="start" number="1">H</hammer-on>'
        "</technical>",
    ),
    "editorial marks": note("C4", 16, "whole").replace(
        "<voice>", "<footnote>f</footnote><level>edited</level><voice>"
    ),
    "two staves, a voice that crosses": note("C4", 8, "half", staff="1")
    + note("C3", 8, "half", staff="2")
    + backup(16)
    + note("C2", 16, "whole", staff="2", voice="5"),
    "arpeggios and fermatas on a chord": note("C4", 16, "whole", inside="<arpeggiate/><fermata/>")
    + note("E4", 16, "whole", before="<chord/>", inside="<arpeggiate/>"),
}


def score_of(name: str, bar: str) -> bytes:
    divisions = 30 if name == "nested tuplets" else 12 if "triplet" in name else 4
    staves = "<attributes><staves>2</staves></attributes>" if "staves" in name else ""
    return partwise(staves + bar, note("bar", 4 * divisions), divisions=divisions)


@pytest.mark.parametrize(("name", "bar"), FEATURES.items(), ids=FEATURES)
def test_a_feature_survives_its_bar_being_written_afresh(name: str, bar: str) -> None:
    data = score_of(name, bar)
    assert errors(data) == []
    score = read(data)
    afresh = rebuilt(score)
    written = to_bytes(afresh)
    assert errors(written) == []
    assert count(to_tree(afresh)) == count(to_tree(score))
    assert music(read(written)) == music(score)


def test_every_child_of_a_measure_that_the_schema_knows_is_among_the_features() -> None:
    """MusicXML 4.0, group music-data."""
    known = {
        "note", "backup", "forward", "direction", "attributes", "harmony", "figured-bass", "print",
        "sound", "barline", "grouping", "bookmark",
    }  # fmt: skip
    text = "".join(FEATURES.values()) + attributes()
    assert {tag for tag in known if f"<{tag}" in text} == known
