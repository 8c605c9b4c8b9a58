"""A written file that says anything else than was meant is refused: one spoiling a row."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import rhythm
from rhythm.exact.errors import MusicError, ProofError
from rhythm.formats.musicxml.proof.whole import prove
from rhythm.score.model import Score, Voice
from rhythm.writing import faults_of, proven
from tests.markup import note, partwise
from tests.sheet import bar, sheet

LYRIC = '<lyric number="{}"><syllabic>single</syllabic><text>{}</text></lyric>'
TRIPLET = "<tuplet type='start' number='1' bracket='yes'/>"
FIRST = (
    '<direction placement="above"><direction-type><metronome parentheses="yes">'
    "<beat-unit>quarter</beat-unit><per-minute>96</per-minute></metronome></direction-type>"
    '<sound tempo="96"/></direction>'
    '<direction placement="above"><direction-type><words>dolce</words></direction-type></direction>'
    '<harmony><root><root-step>C</root-step></root><kind text="m">minor</kind></harmony>'
    + note(
        "C4", 12, "quarter", after=LYRIC.format(1, "la") + LYRIC.format(2, "lo"),
        inside='<slur type="start" number="1"/><articulations><accent/></articulations>',
    )
    + note("F#4", 6, "eighth", beams="begin", after=LYRIC.format(1, "lu")).replace(
        "</type>", "</type><accidental>sharp</accidental>"
    )
    + note("E4", 6, "eighth", beams="end", inside='<slur type="stop" number="1"/>')
    + note("G4", "", "eighth", before='<grace slash="yes"/>')
    + note("A4", 12, "quarter", dots=0, inside="<dynamics><f/></dynamics>")
    + note("B4", 12, "quarter", ties="start")
)  # fmt: skip
SECOND = (
    note("B4", 12, "quarter", ties="stop")
    + "<attributes><clef><sign>F</sign><line>4</line></clef></attributes>"
    + note("rest", 12, "quarter")
    + note("C4", 4, "eighth", ratio="3:2", inside=TRIPLET)
    + note("D4", 4, "eighth", ratio="3:2")
    + note("E4", 4, "eighth", ratio="3:2", inside="<tuplet type='stop' number='1'/>")
    + note("C4", 9, "eighth", dots=1, beams="begin")
    + note("D4", 3, "16th", beams="end,backward hook")
    + "<backup><duration>48</duration></backup>"
    + note("C3", 48, "whole", voice="2", attributes='id="n1"')
    + '<barline location="right"><bar-style>light-heavy</bar-style>'
    + '<ending number="1" type="stop"/><repeat direction="backward"/></barline>'
)
THIRD = (
    '<barline location="left"><ending number="2" type="start"/></barline>'
    + note("C4", 24, "half", attributes='print-object="no"')
    + note("D4", 24, "half", attributes='id="n2"')
    + '<barline location="right"><bar-style>light-heavy</bar-style>'
    + '<ending number="2" type="stop"/></barline>'
)
HEAD = "<attributes><key><fifths>2</fifths></key></attributes>"
PIECE = partwise(HEAD + FIRST, SECOND, THIRD, divisions=12)


def untouched() -> Score:
    return rhythm.read(PIECE)


def rewritten() -> Score:
    """The same music with every bar written afresh."""
    score = untouched()
    return score.replace(
        parts=tuple(
            part.replace(bars=tuple(bar.replace(source=None) for bar in part.bars))
            for part in score.parts
        )
    )


SCORES = {"bars as they were read": untouched, "bars written afresh": rewritten}

SPOILINGS: dict[str, tuple[str, str]] = {
    "signature changed": ("<beats>4", "<beats>5"),
    "signature lost": ("<time>.*?</time>", ""),
    "signature made a sign": ("<time>", '<time symbol="common">'),
    "divisions changed": ("<divisions>12<", "<divisions>24<"),
    "key changed": ("<fifths>2<", "<fifths>1<"),
    "clef changed": ("<sign>F", "<sign>C"),
    "clef moved": ("(<attributes><clef>.*?</attributes>)(<note>.*?</note>)", r"\2\1"),
    "beams joined otherwise": ('<beam number="1">begin', '<beam number="1">continue'),
    "beam lost": ('<beam number="1">begin</beam>', ""),
    "hook turned": ("backward hook", "forward hook"),
    "type changed": ("<type>quarter", "<type>half"),
    "dot lost": ("<dot/>", ""),
    "dot added": ("<type>whole</type>", "<type>whole</type><dot/>"),
    "duration changed": ("<duration>6<", "<duration>5<"),
    "backup shortened": ("<backup><duration>48", "<backup><duration>36"),
    "tied lost, and tie": ('<tied type="start"/>|<tie type="start"/>', ""),
    "tie added": ("<duration>6</duration>", '<duration>6</duration><tie type="start"/>'),
    "time-modification changed": ("<actual-notes>3", "<actual-notes>5"),
    "time-modification lost": ("<time-modification>.*?</time-modification>", ""),
    "bracket lost": ("<tuplet type=.start[^>]*/>", ""),
    "bracket hidden": ("bracket=.yes.", 'bracket="no"'),
    "tempo's number": ("<per-minute>96", "<per-minute>69"),
    "tempo's unit": ("<beat-unit>quarter", "<beat-unit>half"),
    "tempo's look": (' parentheses="yes"', ""),
    "playback tempo": ('<sound tempo="96"', '<sound tempo="144"'),
    "two syllables exchanged": (">la<(.*?)>lu<", r">lu<\1>la<"),
    "two verses exchanged": (">la<(.*?)>lo<", r">lo<\1>la<"),
    "syllable lost": ('<lyric number="2">.*?</lyric>', ""),
    "slur ends exchanged": (
        '<slur type="start"(.*?)<slur type="stop"',
        r'<slur type="stop"\1<slur type="start"',
    ),
    "slur's number": ('<slur type="stop" number="1"', '<slur type="stop" number="2"'),
    "articulation lost": ("<accent/>", ""),
    "articulation changed": ("<accent/>", "<staccato/>"),
    "articulation moved": (
        "(<articulations><accent/></articulations>)(.*?)(<dynamics>)",
        r"\2\1\3",
    ),
    "dynamic changed": ("<f/>", "<p/>"),
    "dynamic lost": ("<notations><dynamics><f/></dynamics></notations>", ""),
    "harmony moved": ("(<harmony>.*?</harmony>)(<note>.*?</note>)", r"\2\1"),
    "harmony changed": ("<root-step>C", "<root-step>D"),
    "text of words": (">dolce<", ">forte<"),
    "direction lost": ("<direction placement=.above.><direction-type><words>.*?</direction>", ""),
    "direction doubled": ("(<direction placement.*?</direction>)", r"\1\1"),
    "repeat lost": ('<repeat direction="backward"/>', ""),
    "ending's number": ('<ending number="1"', '<ending number="3"'),
    "bar line's style": ("light-heavy", "light-light"),
    "bar line lost": ('<barline location="left">.*?</barline>', ""),
    "rest made a note": ("<rest/>", "<pitch><step>C</step><octave>4</octave></pitch>"),
    "note made a rest": ("<pitch><step>A</step><octave>4</octave></pitch>", "<rest/>"),
    "pitch altered": ("<alter>1</alter>", "<alter>-1</alter>"),
    "octave changed": ("<octave>3", "<octave>2"),
    "accidental lost": ("<accidental>sharp</accidental>", ""),
    "accidental changed": ("<accidental>sharp<", "<accidental>natural<"),
    "hidden flag lost": (' print-object="no"', ""),
    "note hidden": ('<note id="n2"', '<note print-object="no" id="n2"'),
    "voice's number": ("<voice>2<", "<voice>3<"),
    "staff's number": ("(<voice>2<.*?<type>whole</type>)", r"\1<staff>2</staff>"),
    "grace note lost": ("<note><grace.*?</note>", ""),
    "grace note doubled": ("(<note><grace.*?</note>)", r"\1\1"),
    "grace note's slash": (' slash="yes"', ""),
    "note lost": ("<note><pitch><step>A</step>.*?</note>", ""),
    "note doubled into a chord": (
        "(<note><pitch><step>A</step>)(.*?</note>)",
        r"\1\2<note><chord/><pitch><step>C</step>\2",
    ),
    "id doubled": ('id="n2"', 'id="n1"'),
    "bar's number": ('<measure number="2"', '<measure number="9"'),
    "bar left uncounted": ('<measure number="2"', '<measure implicit="yes" number="2"'),
    "bar lost": ('<measure number="3".*?</measure>', ""),
    "notes outside the bars": ("</part>", "<note><rest/><duration>4</duration></note></part>"),
    "part's name": ("<part-name>P1<", "<part-name>Q<"),
    "part lost from the list": ("<score-part .*?</score-part>", ""),
    "file broken off": ("</score-partwise>", ""),
}  # fmt: skip


@pytest.mark.parametrize("make", SCORES.values(), ids=SCORES)
def test_a_file_that_says_what_was_meant_passes(make: object) -> None:
    proven(make())  # type: ignore[operator]


@pytest.mark.parametrize("make", SCORES.values(), ids=SCORES)
@pytest.mark.parametrize(("old", "new"), SPOILINGS.values(), ids=SPOILINGS)
def test_a_spoilt_file_is_refused(make: object, old: str, new: str) -> None:
    score = make()  # type: ignore[operator]
    written = proven(score).decode()
    spoilt = re.sub(old, new, written, count=0 if "|" in old else 1, flags=re.DOTALL)
    assert spoilt != written
    with pytest.raises(ProofError) as caught:
        prove(score, spoilt.encode(), faults_of)
    assert "\n" not in str(caught.value)


def test_a_fault_that_the_source_did_not_have_is_refused() -> None:
    right = rhythm.read(partwise(note("C4", 16, "whole"), note("D4", 16, "whole"), divisions=4))
    (part,) = right.parts
    (voice,) = part.voices
    first, last = voice.events
    tied = first.replace(notes=(first.notes[0].replace(tie_out=True),))
    wrong = right.replace(parts=(part.replace(voices=(Voice(voice.name, (tied, last)),)),))
    new = r"bar 1.*a fault that the source did not have: the tie of C4 leads nowhere"
    with pytest.raises(ProofError, match=new):
        proven(wrong)


def test_a_fault_of_the_source_in_another_bar_excuses_none() -> None:
    """The source ties bar 3 to nothing; a tie to nothing in bar 1 is none the better for that."""
    whole = [note(name, 16, "whole") for name in ("C4", "D4", "F4")]
    nowhere = note("E4", 16, "whole", ties="start")
    score = rhythm.read(partwise(whole[0], whole[1], nowhere, whole[2], divisions=4))
    assert [fault.number for fault in rhythm.check(score).faults] == ["3"]
    proven(rhythm.faircopy(score))
    (part,) = score.parts
    first, *others = part.voices[0].events
    tied = first.replace(notes=(first.notes[0].replace(tie_out=True),))
    wrong = score.replace(parts=(part.replace(voices=(Voice("1", (tied, *others)),)),))
    with pytest.raises(ProofError, match=r"bar 1.*a fault that the source did not have"):
        proven(wrong)


def test_a_fault_of_the_source_is_written_as_it_is() -> None:
    nowhere = note("C4", 16, "whole", ties="start") + '<barline location="left"/>'
    score = rhythm.read(partwise(nowhere, note("D4", 16, "whole"), divisions=4))
    assert not rhythm.check(score).is_right
    proven(rhythm.faircopy(score))


def test_a_failed_proof_is_a_defect_of_ours_and_leaves_no_file(tmp_path: Path) -> None:
    """The writer is spoilt on purpose; no way of writing may let its file pass."""
    score = tmp_path / "song.musicxml"
    score.write_bytes(PIECE)
    spoil = (
        "import rhythm.formats.musicxml.write.note_writer as writer\n"
        "right = writer._set_type\n"
        "def wrong(element, type, stem, piece):\n"
        "    right(element, type, stem, piece.replace(type='64th'))\n"
        "writer._set_type = wrong\n"
        "from remetre_cli.main import run\n"
        "run()\n"
    )
    for name, words in (
        ("out.musicxml", ["restate", str(score), "--to", "compound"]),
        ("out.mxl", ["faircopy", str(score)]),
        ("out.svg", ["restate", str(score), "--to", "compound"]),
    ):
        done = subprocess.run(
            [sys.executable, "-c", spoil, *words, "-o", str(tmp_path / name)],
            capture_output=True,
            text=True,
        )
        assert done.returncode == 70, done.stderr
        assert re.search(r"part P1, bar 1.*a defect of this program, not of your", done.stderr)
        assert done.stderr.count("\n") == 1
        assert [path.name for path in tmp_path.iterdir()] == [score.name]


def test_a_failed_proof_is_never_called_the_fault_of_the_music() -> None:
    assert not issubclass(ProofError, MusicError)


@pytest.mark.parametrize("bars", ["1-2", "2a-4"])
def test_half_of_a_split_bar_changed_alone_is_the_request_s_fault_and_said(bars: str) -> None:
    halves = [bar("h.", number="2"), bar("q", number="2a")]
    score = sheet(["w", *halves, "w"])
    with pytest.raises(MusicError, match=r"bars 2 and 2a make one bar together.*name both of them"):
        proven(rhythm.restate(score, "5/8", bars=bars))
    proven(rhythm.restate(score, "5/8", bars="1-2a"))
