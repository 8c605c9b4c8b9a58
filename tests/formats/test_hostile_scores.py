"""Readable scores that a stranger sends: each goes through the verbs, or is refused in one line."""

from collections.abc import Callable
from functools import partial

import pytest

import rhythm
from rhythm.exact.errors import FileError, MusicError, Place, ProofError, RequestError
from rhythm.score.model import Score
from rhythm.writing import laid_to, proven
from tests import schema
from tests.markup import backup, note, parts, partwise

QUARTERS = note("C4", 4, "quarter") * 2
CUE = note("E5", 5, before="<cue/>", voice="2") + note("F5", 3, before="<cue/>", voice="2")
DIGITS = "1" * 5000
RATIO = (
    "<time-modification><actual-notes>4</actual-notes><normal-notes>3</normal-notes>"
    "</time-modification>"
)
SCORES = {
    "nothing in its bars": partwise("", ""),
    "one empty bar": partwise(""),
    "cue notes that a beat cuts": partwise(QUARTERS + backup(8) + CUE, QUARTERS, divisions=4),
    "a comment behind the stem": partwise(
        note("C4", 8, "").replace("</note>", "<stem>up</stem><!-- up --></note>"), divisions=4
    ),
    "a comment in a step, a type and a stem": partwise(
        note("C4", 8, "half")
        .replace("<step>C", "<step>C<!-- do -->")
        .replace("<type>half", "<type>half<!-- 2 -->")
        .replace("</note>", "<stem>up<!-- so --></stem></note>")
    ),
    "a staff of five thousand digits": partwise(note("C4", 8, "half", staff=DIGITS)),
    "a tempo of five thousand digits": partwise(f'<sound tempo="{DIGITS}"/>' + QUARTERS),
    "a bar of five thousand digits": partwise(QUARTERS, QUARTERS).replace(
        b'number="2"', f'number="{DIGITS}"'.encode()
    ),
    "a bar numbered in small raised digits": partwise(QUARTERS, QUARTERS).replace(
        b'number="2"', 'number="²"'.encode()
    ),
    "a verse of five thousand digits": partwise(
        note("C4", 8, "half", after=f'<lyric number="{DIGITS}"><text>la</text></lyric>')
    ),
    "something of another kind in a note": partwise(
        note("C4", 16, "whole", after="<print>1</print><step>1</step>"), divisions=4
    ),
    "a ratio said twice": partwise(
        (note("C4", 9, "eighth", ratio="4:3") * 4).replace(RATIO, RATIO * 2)
        + note("C4", 12, "eighth")
        + note("C4", 48, "half"),
        divisions=24,
    ),
    "a hidden rest of nearly nothing amid another voice": parts(
        (note("C5", 12096, "half", dots=1),),
        (
            note("G3", 4032, "quarter")
            + note("rest", 2, voice="2", attributes='print-object="no"')
            + note("C4", 4032, "quarter") * 2,
        ),
        divisions=4032,
        time="3/4",
    ),
    "a hidden rest of some length or other behind a full voice": partwise(
        note("B3", 1440)
        + note("rest", 1182, voice="3", attributes='print-object="no"'),
        note("B4", 48, voice="3"),
        divisions=480,
        time="9/8",
    ),
    "figures of so many ticks before any tick has a length": partwise(
        "<figured-bass><figure><figure-number>3</figure-number></figure><duration>1</duration>"
        "</figured-bass>" + note("C4", 2, "half"),
        divisions="",
    ),
    "one id twice": partwise(note("C4", 8, "half", attributes='id="a"') * 2),
}  # fmt: skip

DIVIDED = partial(rhythm.tuplet, split=2, span="1/8", manner="house")
VERBS: dict[str, Callable[[Score], object]] = {
    "restated": lambda score: rhythm.restate(score, to="5/4"),
    "in compound time": lambda score: rhythm.restate(score, to="compound"),
    "counted": lambda score: rhythm.restate(score, to="compound", count="numbers"),
    "appended": lambda score: rhythm.restate(score, to="5/4", bars=range(1), place="append"),
    "barred anew": lambda score: rhythm.rebar(score, to="3/4"),
    "copied out": rhythm.faircopy,
    "augmented": lambda score: rhythm.vary(score, "augmentation:2"),
    "accented": lambda score: rhythm.group(score, unit="1/12", show="accents"),
    "divided in two bars": lambda score: DIVIDED(score, bars="1-2"),
    "reversed": lambda score: rhythm.vary(score, "retrograde"),
    "mended": rhythm.mend,
}


@pytest.mark.parametrize("verb", VERBS.values(), ids=VERBS)
@pytest.mark.parametrize("data", SCORES.values(), ids=SCORES)
def test_such_a_score_is_written_or_refused_and_stays_valid(
    data: bytes, verb: Callable[[Score], Score]
) -> None:
    try:
        made = proven(verb(rhythm.read(data)))
    except ProofError:
        raise
    except (FileError, MusicError, RequestError) as refused:
        assert "\n" not in str(refused) and len(str(refused)) < 400
    else:
        if not schema.errors(data):
            assert schema.errors(made) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"</part>", b"<note><rest/><duration>1</duration></note></part>"),
        (b"<measure", b"<note><rest/><duration>1</duration></note><measure"),
        (b"</measure>", b"<part><note><rest/><duration>1</duration></note></part></measure>"),
    ],
)
def test_notes_outside_the_bars_are_refused(old: bytes, new: bytes) -> None:
    with pytest.raises(FileError, match="one note stands outside the bars of its parts"):
        rhythm.read(partwise(QUARTERS).replace(old, new, 1))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"</measure></part>", b'<measure number="X1" implicit="yes"/></measure></part>'),
        (b"</measure></part>", b'<part id="P2"/></measure></part>'),
    ],
)
def test_a_bar_inside_a_bar_is_refused(old: bytes, new: bytes) -> None:
    with pytest.raises(FileError, match="a bar or a part stands inside a bar"):
        rhythm.read(partwise(QUARTERS).replace(old, new, 1))


def test_a_part_without_bars_is_a_fault_and_the_others_are_written() -> None:
    score = rhythm.read(
        parts((QUARTERS, QUARTERS), (QUARTERS, QUARTERS)).replace(
            b'<part id="P2">', b'<part id="P2"/><!--'
        ).replace(b"</part></score", b"--></score")
    )  # fmt: skip
    (fault,) = (each for each in rhythm.check(score).faults if each.part == "P2")
    assert fault.message == "the part has no bars at all"
    proven(rhythm.faircopy(score))


# A backup that goes a thousand ticks too far, and a triplet whose bracket never closes.
AT_ODDS = partwise(
    QUARTERS
    + backup(1008)
    + note("A3", 171, "16th", ratio="3:2", inside='<tuplet type="start"/>', voice="4"),
    time="",
)


def test_a_failed_proof_is_laid_to_a_source_that_is_at_odds_with_itself() -> None:
    failed = ProofError("the written bar holds 1, not 2", place=Place(bar="1"))
    laid = laid_to(failed, rhythm.read(AT_ODDS))
    assert isinstance(laid, MusicError)
    assert laid.problem.startswith("the score does not add up to begin with (bar 1")
    assert laid.problem.endswith("cannot be proven: the written bar holds 1, not 2")
    assert laid_to(failed, rhythm.read(partwise(QUARTERS + QUARTERS))) is failed
    elsewhere = ProofError("the written bar holds 1, not 2", place=Place(bar="2"))
    two = AT_ODDS.replace(b"</part>", f'<measure number="2">{QUARTERS}</measure></part>'.encode())
    assert laid_to(elsewhere, rhythm.read(two)) is elsewhere


@pytest.mark.parametrize(
    "verb",
    [
        lambda score: rhythm.vary(score, "augmentation:600"),  # a bar of 1,200 whole notes
        lambda score: rhythm.vary(score, "augmentation:1/99991"),  # tuplets of as many notes
    ],
)
def test_what_no_file_can_hold_is_said_to_be_past_it(verb: Callable[[Score], Score]) -> None:
    long = partwise(note("C4", 32, "breve"), time="")
    with pytest.raises(MusicError, match=r"past what can be written|only .* could write"):
        proven(verb(rhythm.read(long)))


def test_rests_at_several_heights_become_one() -> None:
    at = "<rest><display-step>{}</display-step><display-octave>5</display-octave></rest>"
    rest = note("rest", 4, "quarter")
    rests = rest + "".join(rest.replace("<rest/>", at.format(step)) for step in "EFAC")
    made = proven(rhythm.restate(rhythm.read(partwise(rests, time="5/4")), to="7/8"))
    assert made.count(b"<note>") == 1 and b'<rest measure="yes"' in made


def test_a_lone_whole_rest_stays_the_rest_of_its_bar() -> None:
    """In 5/4 some programs write the silent bar as a rest of a whole note without a type."""
    quarters = note("C5", 1, "quarter") * 5
    data = partwise(quarters, note("rest", 4), quarters, divisions=1, time="5/4")
    made = rhythm.read(proven(rhythm.faircopy(rhythm.read(data))))
    assert rhythm.check(made).is_right
