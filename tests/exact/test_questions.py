"""Questions about note values in the words that musicians use, and what they get.

The answers are arithmetic of note values, worked out by hand; where a tempo is involved, seconds
are beats times 60 over beats a minute. Table facts name their source beside them.
"""

from __future__ import annotations

import json
from contextlib import suppress

import pytest
from gmpy2 import mpq
from hypothesis import given
from hypothesis import strategies as st

from rhythm.exact.errors import RequestError
from rhythm.exact.reckoning import reckon

ANSWERED = """
how many sixteenths in a dotted half | 12 sixteenths in a dotted half
How many sixteenths are there in a dotted half? | 12 sixteenths in a dotted half
how many eighths in a whole note | 8 eighths in a whole note
how many triplet eighths in a half | 6 triplet eighths in a half
how many quarters make a breve | 8 quarters in a breve
how many thirty-seconds fill a bar of 3/4 | 24 thirty-seconds in a bar of 3/4
how many eighths in 7/8 | 7 eighths in a bar of 7/8
how many quarters in a dotted quarter | 1 quarter in a dotted quarter, and an eighth is left
how many dotted quarters in a bar of 12/8 | 4 dotted quarters in a bar of 12/8
how many bars of 4/4 in 30 quarters | 7 bars of 4/4 and a half more (7 1/2 bars)
how many bars of 3/4 in 24 quarters | 8 bars of 3/4
how many 5/8 bars fill 20 quarters | 8 bars of 5/8
how many bars of 7/8 is 40 eighths | 5 bars of 7/8 and half + eighth more (5 5/7 bars)
how many beats in a bar of 12/8 | 4 dotted quarter beats
how many beats in 3 bars of 6/8 | 6 dotted quarter beats
how many beats in 7/8 | 3 beats: quarter, quarter, dotted quarter
how many beats are in 3+3+2/8 | 3 beats: dotted quarter, dotted quarter, quarter
how many beats is a dotted half in 6/8 | 2 dotted quarter beats
how many beats does a dotted half get in 4/4 | 3 quarter beats
how many crotchets in a semibreve | 4 quarters in a semibreve
how many semiquavers in a minim | 8 sixteenths in a minim
how many demisemiquavers in a crotchet | 8 thirty-seconds in a crotchet
how many quavers does a dotted minim have | 6 eighths in a dotted minim
how many halves in a quarter | none: a half is longer than a quarter, which is 1/2 of it
how many sixteenths go into a dotted eighth | 3 sixteenths in a dotted eighth
how many sixteenth quintuplets in a quarter | 5 quintuplet sixteenths in a quarter
how many half notes fit in 5/4 | 2 halves in a bar of 5/4, and a quarter is left
how many times does a dotted eighth go into a half | 2 dotted eighths in a half, and an eighth is left
how many sixteenths are in three dotted quarters | 18 sixteenths in three dotted quarters
how many sixteenths in a quarter tied to an eighth | 6 sixteenths in a quarter tied to an eighth
how many 3/8 in 9/4 | 6 dotted quarters in a bar of 9/4
how many ♪ in ♩. | 3 eighths in ♩.
what is a dotted quarter tied to an eighth? | a half (1/2)
what is half of a dotted quarter | a dotted eighth (3/16)
what is a quarter of a dotted whole | a dotted quarter (3/8)
what is 5/8 | half + eighth (5/8)
what does a dotted half plus an eighth make | a double dotted half (7/8)
what do three eighths make | a dotted quarter (3/8)
what is a quaver | an eighth (1/8)
name 7/16 | a double dotted quarter (7/16)
how long is a bar of 7/8 | a double dotted half (7/8)
32 bars of 4/4 at 120 | 1 minute 4 seconds (64 seconds) at quarter = 120
32 bars of 4/4 at quarter = 120 | 1 minute 4 seconds (64 seconds) at quarter = 120
how long is a whole note at 60 | 4 seconds at quarter = 60
how long does a bar of 6/8 last at dotted quarter = 60 | 2 seconds at dotted quarter = 60
how long is 16 bars of 3/4 at 90 | 32 seconds at quarter = 90
how long do 12 bars of 4/4 take at 96 bpm | 30 seconds at quarter = 96
how many seconds is a dotted half at 90 | 2 seconds at quarter = 90
how many seconds in 32 bars of 4/4 at 120 | 1 minute 4 seconds (64 seconds) at quarter = 120
at 72, how long is a half note | about 1.67 seconds at quarter = 72
32 bars of 6/8 at 60 | 1 minute 4 seconds (64 seconds) at dotted quarter = 60
does 24*1/32 fit 3/4? | fits: it fills a bar of 3/4 exactly
does 24*1/32 fit in 6/4 | fits: a dotted half (3/4) of a bar of 6/4 is left
do 7 eighths fit in 3/4 | does not fit: it is an eighth (1/8) too long for a bar of 3/4
does a dotted half fit in 2/4? | does not fit: it is a quarter (1/4) too long for a bar of 2/4
does a half and a dotted quarter fit in 4/4 | fits: an eighth (1/8) of a bar of 4/4 is left
do five quarters fill 5/4 | yes: it fills a bar of 5/4 exactly
does a dotted half fill 6/8 | yes: it fills a bar of 6/8 exactly
does a dotted quarter and five eighths fill a bar of 4/4 | yes: it fills a bar of 4/4 exactly
is 7 eighths enough to fill 4/4 | no: it is an eighth (1/8) short of a bar of 4/4
24 thirty-seconds in 6/4 | 1/2 of a bar of 6/4: a dotted half is left of it
what is left of 4/4 after a dotted half | a quarter (1/4) is left
how much is left of 6/4 after 24*1/32 | a dotted half (3/4) is left
how much is missing to fill 4/4 after a dotted quarter | half + eighth (5/8) is left
what is missing after a dotted quarter to fill 4/4 | half + eighth (5/8) is left
is a dotted quarter longer than a half | no: it is an eighth (1/8) shorter
is a dotted half shorter than a whole | yes: it is a quarter (1/4) shorter
which is longer, a dotted quarter or three eighths? | neither: both are a dotted quarter (3/8)
which is longer, a half or a dotted quarter | a half, by an eighth (1/8)
is a dotted quarter the same as three eighths | yes: both are a dotted quarter (3/8)
is a quarter tied to an eighth equal to a dotted quarter | yes: both are a dotted quarter (3/8)
what is the difference between a half and a dotted quarter | an eighth (1/8)
how much longer is a half than a dotted quarter | an eighth (1/8)
what fraction of 6/4 is 24*1/32 | 1/2 of a bar of 6/4
what part of a bar of 4/4 is a dotted quarter | 3/8 of a bar of 4/4
how much of 4/4 does a dotted half fill | 3/4 of a bar of 4/4
5 in the time of 4 sixteenths | 5:4 sixteenths last a quarter (1/4) together, each 1/20 of a whole note
3 in the time of 2 eighths | 3:2 eighths last a quarter (1/4) together, each 1/12 of a whole note
seven notes in the time of four sixteenths | 7:4 sixteenths last a quarter (1/4) together, each 1/28 of a whole note
how do I write 5 notes over a half | 5:4 eighths, each 1/10 of a whole note
5 notes over a quarter | 5:4 sixteenths, each 1/20 of a whole note
seven equal notes over a half | 7:4 eighths, each 1/14 of a whole note
divide a quarter into 5 | 5:4 sixteenths, each 1/20 of a whole note
divide a dotted quarter into 2 | 2:3 eighths, each 3/16 of a whole note
when do 5/8 and 4/4 meet | after 40 eighths (8 x 5/8 and 5 x 4/4)
where do 3, 5 and 7 meet? | after 105 (35 x 3 and 21 x 5 and 15 x 7)
when do 17 and 29 meet again | after 493 (29 x 17 and 17 x 29)
when do 3 and 16 meet again | after 48 (16 x 3 and 3 x 16)
when do 7/8 7/8 5/8 and 4/4 meet | after 152 eighths (8 x 7/8 7/8 5/8 and 19 x 4/4)
if quarter = 120, what is the dotted quarter | dotted quarter = 80
what is the half if quarter = 96 | half = 48
what is the new tempo if triplet eighth becomes eighth at 84 | 126, where it was 84
84, triplet eighth becomes eighth | 126, where it was 84
if dotted quarter becomes quarter at 120 | 80, where it was 120
what bars of 5/8 and 7/8 fill 4 bars of 4/4 | 5 × 5/8 + 1 × 7/8
fill 4 bars of 4/4 with 5/8 and 7/8 | 5 × 5/8 + 1 × 7/8
fill 19 eighths with 5/8, 7/8 | 1 × 5/8 + 2 × 7/8
how can 4*4/4 be filled with 3/4 and 5/8 | 2 × 3/4 + 4 × 5/8
how many bars of 4/4 in a minute at 120 | 30 at quarter = 120
how many quarters in a minute at 96 | 96 at quarter = 96
how many beats in 30 seconds at 120 | 60 at quarter = 120
how many eighths in 10 seconds at quarter = 60 | 20 at quarter = 60
what is 7/8 in quarters | 3 1/2 quarters
what's 6/8 in dotted quarters | 2 dotted quarters
12/8 in quavers | 12 eighths
express a dotted half in eighths | 6 eighths
convert 3 quarters to sixteenths | 12 sixteenths
how long is a dotted crotchet | a dotted quarter (3/8)
how long is a minim at 60 | 2 seconds at quarter = 60
how long is a crotchet at 120 bpm | 0.5 seconds at quarter = 120
how many quavers in a bar of 6/8 | 6 eighths in a bar of 6/8
how many semiquavers are there in a dotted minim? | 12 sixteenths in a dotted minim
how many crotchets in a bar of 3/2 | 6 quarters in a bar of 3/2
how many beats is a semibreve | 4 quarter beats
how many beats is a dotted half | 3 quarter beats
how many beats does a minim get in 2/2 | 1 half beat
how many beats in a dotted minim | 3 quarter beats
how many beats per bar in 9/8 | 3 dotted quarter beats
how many beats in a measure of 6/8 | 2 dotted quarter beats
how many measures of 3/4 are in 36 quarters | 12 bars of 3/4
how many eighth notes in a measure of 5/4 | 10 eighths in a bar of 5/4
how many counts does a whole note get in 4/4 | 4 quarter beats
what gets the beat in 6/8 | a dotted quarter (3/8)
what note gets the beat in 3/4 | a quarter (1/4)
which note gets one beat in 2/2 | a half (1/2)
what is the beat in 12/8 | a dotted quarter (3/8)
how many ♪ in 𝅗𝅥. | 6 eighths in 𝅗𝅥.
what is 𝅗𝅥 + ♩ + ♪ | a double dotted half (7/8)
which is longer, a dotted minim or five crotchets | five crotchets, by a half (1/2)
what is half of a minim | a quarter (1/4)
what is double a dotted quaver | a dotted quarter (3/8)
what is two thirds of a half | a triplet half (1/3)
what is a third of a dotted minim | a quarter (1/4)
what rest fills a bar of 3/4 after a half | a quarter (1/4) is left
what is missing from 6/8 after a quarter and an eighth | a dotted quarter (3/8) is left
how much of 4/4 is a dotted half | 3/4 of a bar of 4/4
what fraction of a whole note is a dotted eighth | 3/16 of a whole note
how many triplet quavers in a minim | 6 triplet eighths in a minim
how many quaver triplets in a crotchet | 3 triplet eighths in a crotchet
triplet eighths in a half | 6 triplet eighths in a half
what is a triplet quarter | a triplet quarter (1/6)
3 eighths in the time of 2 | 3:2 eighths last a quarter (1/4) together, each 1/12 of a whole note
how do I write 5 notes in a quarter | 5:4 sixteenths, each 1/20 of a whole note
how long does 16 bars of 6/8 last at dotted crotchet = 80 | 24 seconds at dotted quarter = 80
how long is 8 bars of 3/4 at 90 bpm | 16 seconds at quarter = 90
if crotchet = 120 what is minim | half = 60
if quarter = 90, what is dotted quarter | dotted quarter = 60
how many bars of 4/4 in 2 minutes at 120 | 60 at quarter = 120
how many beats in a minute at 72 | 72 at quarter = 72
crotchet = 60, how fast is a quaver | eighth = 120
how many beats in 32 bars of 4/4 | 128 quarter beats
does a dotted crotchet and a quaver make a minim | yes: it fills a minim exactly
do three quavers equal a dotted crotchet | yes: both are a dotted quarter (3/8)
is a dotted crotchet the same as three quavers | yes: both are a dotted quarter (3/8)
how many crochets in a minim | 2 quarters in a minim
what is a demisemiquaver | a thirty-second (1/32)
what does a dot do to a quarter | it adds an eighth (1/8): a dotted quarter (3/8)
what is a double dotted minim | a double dotted half (7/8)
how many sixteenths in a double-dotted quarter | 7 sixteenths in a double-dotted quarter
how many semi-quavers in a dotted quaver | 3 sixteenths in a dotted quaver
how many bars is 22 crotchets in 4/4 | 5 bars of 4/4 and a half more (5 1/2 bars)
22 crotchets in bars of 4/4 | 5 bars of 4/4 and a half more (5 1/2 bars)
what time signature is six quavers | 3/4 or 6/8
which bar does 9 quavers fill | 9/8
what time signature has 5 crotchets in a bar | 5/4
how many semihemidemisemiquavers in a quaver | 16 128ths in a quaver
when do 3 and 4 meet | after 12 (4 x 3 and 3 x 4)
when do 3/8 and 4/8 meet | after 12 eighths (4 x 3/8 and 3 x 4/8)
how many seconds in a bar of 4/4 at 100 | 2.4 seconds at quarter = 100
how long is a quaver at crotchet = 60 | 0.5 seconds at quarter = 60
how many milliseconds is a sixteenth at 120 | 125 milliseconds at quarter = 120
how long is one beat at 100 bpm | 0.6 seconds at quarter = 100
how much is a quarter and a half | a dotted half (3/4)
what is a breve in crotchets | 8 quarters
how many sextuplet sixteenths in a quarter | 6 triplet sixteenths in a quarter
will 13 semiquavers fit in 3/4 | does not fit: it is a sixteenth (1/16) too long for a bar of 3/4
can I fit 7 quavers in a bar of 4/4 | fits: an eighth (1/8) of a bar of 4/4 is left
do 2 dotted quarters and a quarter fill a bar of 4/4 | yes: it fills a bar of 4/4 exactly
what is left in a bar of 5/4 after a dotted half | a half (1/2) is left
how much more do I need to fill 6/8 after a crotchet | a half (1/2) is left
"""
# 17 and 29: Messiaen, Liturgie de cristal; 84 to 126: Carter, Eight Etudes and a Fantasy (DeLone)

SUMS = """
a dotted quarter tied to an eighth | 1/2
quarter and eighth | 3/8
half of a dotted quarter | 3/16
half a dotted quarter | 3/16
a third of a dotted half | 1/4
three quarters of a whole note | 3/4
3/4 of a dotted half | 9/16
(3+3+2) eighths | 1
3+3+2/8 | 1
a bar of 3+3+2/8 | 1
2 bars of 3+3+2/8 | 2
1 1/2 quarters | 3/8
one and a half quarters | 3/8
2 1/2 halves | 5/4
two and a half bars of 3/4 | 15/8
½ of a quarter | 1/8
a quarter and a half | 3/4
♩. + ♪ | 1/2
twice a dotted eighth | 3/8
twice as long as a dotted eighth | 3/8
half as long as a dotted half | 3/8
3 times a dotted eighth | 9/16
ten sixteenths minus an eighth | 1/2
a bar of 6/8 plus a quarter | 1
a half note and a half rest | 1
three eighths tied to a sixteenth | 7/16
a quaver tied to a semiquaver | 3/16
quarter, eighth, eighth | 1/2
double dotted quarter | 7/16
double a quarter | 1/2
sixteen thirty seconds | 1/2
six demi-semiquavers | 3/16
4 times (quarter + eighth) | 3/2
♩ + ♪ | 3/8
♩. + ♪ + 𝅗𝅥 | 1
a crotchet tied to a quaver | 3/8
minim plus crotchet plus quaver | 7/8
semibreve minus a quaver | 7/8
"""

REFUSED = [
    ("5:4 sixteenths", "in the time of"),
    ("3 + 2 quarters", r"3 is a number and 2 quarters is a length"),
    ("eighth times eighth", "a length times a length"),
    ("3 / quarter", "cannot be divided"),
    ("3 1/4", "stands where"),
    ("how many eigths in a half", "did you mean eighth"),
    ("dotted quater", "did you mean quarter"),
    ("how many sixteenths in a doted half", "did you mean dotted"),
    ("does 3 fit 3/4", "3 is a number, not a length"),
    ("how many triplets in a half", "names no note value"),
    ("how wide is a piano", "cannot answer"),
    ("what colour is a quarter", "cannot answer"),
    ("how long is a half at 0", "above 0"),
    ("32 bars of 7/8 at 120", "beats of 7/8 are not equal"),
    ("when do 3 and 4/4 meet", "one kind"),
    ("how many nothings in a half", "names no note value"),
    ("how many \u266c in a quarter", "cannot reckon"),
    ("what tempo is 60 bpm in half notes", "cannot reckon"),
    ("wie viele Achtel in einer halben Note", "names no note value"),
    ("what is 3 in quarters", "3 is a number, not a length"),
]


def rows(table: str) -> list[tuple[str, str]]:
    return [
        (question.strip(), answer.strip())
        for question, _, answer in (line.rpartition(" | ") for line in table.strip().splitlines())
    ]


def test_there_are_enough_questions() -> None:
    assert len(rows(ANSWERED)) + len(rows(SUMS)) + len(REFUSED) >= 210


@pytest.mark.parametrize(("question", "expected"), rows(ANSWERED))
def test_a_question_in_words_is_answered(question: str, expected: str) -> None:
    answer = reckon(question).answer
    assert answer is not None
    assert answer.text == expected


@pytest.mark.parametrize(("said", "expected"), rows(SUMS))
def test_a_length_is_understood_as_it_is_said(said: str, expected: str) -> None:
    assert reckon(said).value == mpq(expected)


@pytest.mark.parametrize(("said", "problem"), REFUSED)
def test_what_would_have_to_be_guessed_is_refused_with_a_hint(said: str, problem: str) -> None:
    with pytest.raises(RequestError, match=problem) as caught:
        reckon(said)
    assert caught.value.legal


def test_an_answer_is_data_as_well() -> None:
    fits = reckon("does 24*1/32 fit in 6/4").answer
    assert fits is not None and (fits.fits, fits.value) == (True, mpq(3, 4))
    lasts = reckon("32 bars of 4/4 at 120").answer
    assert lasts is not None and lasts.seconds == 64
    assert json.loads(json.dumps(reckon("how many eighths in 3/4").to_dict())) == {
        "question": "how many eighths in 3/4",
        "answer": "6 eighths in a bar of 3/4",
        "count": "6",
    }


@given(
    st.sampled_from(["how many {} in {}", "does {} fit {}", "is {} longer than {}", "{} at {}"]),
    st.text("quartehlfsix 0123456789/+*().,", max_size=20),
    st.text("quartehlfsix 0123456789/+*().,", max_size=20),
)
def test_no_question_gives_a_traceback(form: str, one: str, other: str) -> None:
    with suppress(RequestError):
        reckon(form.format(one, other))
