"""Forty hand-made faults, each of one kind at a known bar, voice and position.

Seven small base scores are right. Each fault is one edit of one base, made by a function below; it
must be found, located, measured and named, and nothing else may be reported beside it.
"""

import pytest

from rhythm.check.ledger import check
from tests.sheet import bar, sheet

SONG = ["q q q q", "h q q", "q. e h", "e e e e q q", "w"]
WALTZ = [bar("q q q", "3/4"), "h q", "e e q q", "h."]
JIG = [bar("q e q e", "6/8"), "e e e q.", "q. q.", "s s s s s s q.", "h."]
MIXED = [
    bar("q q q.", "7/8"), bar("q q q.", "7/8"), bar("q q.", "5/8"),
    bar("h. h.", "6/4"), bar("q q q.", "7/8"),
]  # fmt: skip
TRIPLETS = ["e:3/2 e:3/2 e:3/2 q h", "q:3/2 q:3/2 q:3/2 h", "w"]
DUET = ["q q q q <1920 v2 h h", "w <1920 v2 q h q", "h h <1920 v2 w"]
TIES = ["w", "h. C4q~", "C4q_ h.", "C4h~ C4h_", "w"]
QUARTET = (["w", "h h", "w"], ["h h", "q q q q", "w"], ["w", "w", "h h"], ["R", "q q h", "w"])

BASES = {
    "song": (SONG,), "waltz": (WALTZ,), "jig": (JIG,), "mixed": (MIXED,),
    "triplets": (TRIPLETS,), "duet": (DUET,), "ties": (TIES,), "quartet": QUARTET,
}  # fmt: skip


def without(base, index, place, part=0):
    """Take away the token at this place of a bar."""
    return _edited(base, index, part, lambda tokens: tokens[:place] + tokens[place + 1 :])


def instead(base, index, place, *tokens, part=0):
    """Put other tokens in place of one."""
    return _edited(base, index, part, lambda old: [*old[:place], *tokens, *old[place + 1 :]])


def before(base, index, place, *tokens, part=0):
    """Put tokens before the one at this place."""
    return _edited(base, index, part, lambda old: [*old[:place], *tokens, *old[place:]])


def _written(base, index, text):
    """Write a bar anew."""
    return _edited(base, index, 0, lambda _: [text])


def _edited(base, index, part, edit):
    parts = [list(bars) for bars in BASES[base]]
    old = parts[part][index]
    old = bar(old) if isinstance(old, str) else old
    parts[part][index] = bar(" ".join(edit(old.text.split())), old.time)
    return parts


# edited score, then part, bar, voice, position, kind, amount
FORTY = {
    "a quarter left out of 4/4": (
        without("song", 1, 1), "P1 2 1 3/4 short quarter"),
    "an eighth left out of 4/4": (
        without("song", 2, 1), "P1 3 1 7/8 short eighth"),
    "a half left out of 4/4": (
        without("song", 2, 2), "P1 3 1 1/2 short half"),
    "a dot left out": (
        instead("song", 2, 0, "q"), "P1 3 1 7/8 short eighth"),
    "a dot too many": (
        instead("song", 1, 1, "q."), "P1 2 1 7/8 long eighth"),
    "an eighth too many": (
        before("song", 3, 4, "e"), "P1 4 1 7/8 long eighth"),
    "a sixteenth for an eighth": (
        instead("song", 3, 0, "s"), "P1 4 1 15/16 short sixteenth"),
    "a quarter for an eighth": (
        instead("song", 3, 1, "q"), "P1 4 1 7/8 long eighth"),
    "a dotted eighth too long": (
        before("song", 1, 3, "e."), "P1 2 1 1 long dotted_eighth"),
    "a beat left out of 3/4": (
        without("waltz", 1, 1), "P1 2 1 1/2 short quarter"),
    "a beat too many in 3/4": (
        before("waltz", 2, 0, "q"), "P1 3 1 3/4 long quarter"),
    "an eighth left out of 6/8": (
        without("jig", 1, 0), "P1 2 1 5/8 short eighth"),
    "a quarter for a dotted quarter": (
        instead("jig", 2, 0, "q"), "P1 3 1 5/8 short eighth"),
    "a dotted half for a dotted quarter": (
        instead("jig", 2, 1, "h."), "P1 3 1 3/8 long dotted_quarter"),
    "a thirty-second for a sixteenth": (
        instead("jig", 3, 0, "t"), "P1 4 1 23/32 short thirty-second"),
    "an eighth left out of 7/8": (
        instead("mixed", 1, 2, "q"), "P1 2 1 3/4 short eighth"),
    "an eighth too many in 5/8": (
        instead("mixed", 2, 0, "q."), "P1 3 1 3/8 long eighth"),
    "a quarter short of a sudden 6/4": (
        instead("mixed", 3, 1, "h"), "P1 4 1 5/4 short quarter"),
    "a half too much for a sudden 6/4": (
        before("mixed", 3, 0, "h"), "P1 4 1 5/4 long half"),
    "a triplet's last note left out": (
        without("triplets", 0, 2), "P1 1 1 0 tuplet triplet_eighth"),
    "a triplet's last quarter left out": (
        without("triplets", 1, 2), "P1 2 1 0 tuplet triplet_quarter"),
    "a triplet's first note halved": (
        instead("triplets", 1, 0, "e:3/2"), "P1 2 1 1/4 tuplet triplet_eighth"),
    "a triplet at the end of the bar cut off": (
        instead("triplets", 1, 3, "q", "e:3/2", "e:3/2"), "P1 2 1 3/4 tuplet triplet_eighth"),
    "the first voice a quarter too long": (
        _written("duet", 0, "q q q q q <2400 v2 h h"),
        "P1 1 1 1 long quarter"),
    "the second voice a quarter too long": (
        instead("duet", 1, 5, "h"), "P1 2 2 3/4 long quarter"),
    "the second voice backed up too little": (
        instead("duet", 0, 4, "<1440"), "P1 1 2 3/4 long quarter"),
    "the second voice backed up before the bar": (
        instead("duet", 2, 2, "<2400"), "P1 3 - 0 before-start quarter"),
    "the second voice overlaps itself": (
        before("duet", 1, 4, "<240"), "P1 2 2 1/8 overlap eighth"),
    "a note of the second voice in the first": (
        _written("duet", 0, "q v2 q v1 q q q <2400 v2 h"),
        "P1 1 1 1/4 stray quarter"),
    "a negative duration": (
        instead("song", 0, 1, "q=-480"), "P1 1 1 1/4 negative -"),
    "a duration of nothing": (
        instead("song", 0, 2, "q=0"), "P1 1 1 1/2 zero -"),
    "a duration half of what is written": (
        instead("song", 1, 1, "q=240"), "P1 2 1 1/2 contradiction eighth"),
    "a value half of what it lasts": (
        instead("song", 1, 0, "q=960"), "P1 2 1 0 contradiction quarter"),
    "a tie to another pitch": (
        instead("ties", 2, 0, "D4q"), "P1 2 1 3/4 tie -"),
    "a tie to a rest": (
        instead("ties", 2, 0, "rq"), "P1 2 1 3/4 tie -"),
    "a tie whose stop comes later": (
        _written("ties", 3, "C4q~ D4q C4h_"), "P1 4 1 0 tie -"),
    "a tie at the end of the piece": (
        instead("ties", 4, 0, "w~"), "P1 5 1 0 tie -"),
    "one part a quarter short": (
        without("quartet", 1, 2, part=1), "P2 2 1 3/4 short quarter"),
    "one part an eighth too long": (
        instead("quartet", 2, 1, "h", "e", part=2), "P3 3 1 1 long eighth"),
    "two rests for a whole bar in one part": (
        before("quartet", 0, 0, "r=1920", part=3), "P4 1 1 1 long whole"),
}  # fmt: skip


def test_there_are_forty():
    assert len(FORTY) == 40


@pytest.mark.parametrize("base", BASES.values(), ids=BASES)
def test_the_base_scores_are_right(base):
    assert list(check(sheet(*map(list, base))).findings) == []


@pytest.mark.parametrize("parts, said", FORTY.values(), ids=FORTY)
def test_a_fault_says_what_would_make_it_right(parts, said):
    assert all(each.fix for each in check(sheet(*parts)).faults)


@pytest.mark.parametrize("parts, said", FORTY.values(), ids=FORTY)
def test_a_fault_is_found_located_and_named_and_nothing_else_is(parts, said):
    found = [
        f"{each.part} {each.number} {each.voice or '-'} {each.position} {each.kind} "
        f"{each.name.replace(' ', '_') or '-'}"
        for each in check(sheet(*parts)).findings
    ]
    assert found == [said]
