"""Drills: complete enumerations of patterns, two hands against each other, an ostinato."""

from __future__ import annotations

from itertools import pairwise
from math import comb

import pytest
from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.formats import read
from rhythm.formats.musicxml.saving import proven
from rhythm.practice.drills import compositions, drills, necklaces, ostinato, two_parts
from rhythm.score.model import Score
from tests.tiny import melody

SIZES = [(k, n) for n in (1, 4, 6, 8, 12) for k in range(1, n + 1)]


@pytest.mark.parametrize(("onsets", "pulses"), SIZES)
def test_compositions_are_all_of_them_once(onsets: int, pulses: int) -> None:
    found = list(compositions(onsets, pulses))
    assert len(found) == len(set(found)) == comb(pulses - 1, onsets - 1)
    assert all(sum(each) == pulses and len(each) == onsets for each in found)


@pytest.mark.parametrize(("onsets", "pulses"), SIZES)
def test_necklaces_are_as_many_as_burnside_counts(onsets: int, pulses: int) -> None:
    from sympy import divisors, gcd, totient

    expected = (
        sum(totient(d) * comb(pulses // d, onsets // d) for d in divisors(gcd(onsets, pulses)))
        // pulses
    )
    found = list(necklaces(onsets, pulses))
    assert len(found) == len(set(found)) == expected


def test_drills_come_easiest_first_and_all_different() -> None:
    found = drills(5, Metre.parse("4/4"), mpq(1, 16), kind="necklaces")
    assert len({each.intervals for each in found}) == len(found) > 250
    levels = [each.difficulty.level for each in found]
    assert levels == sorted(levels)
    some = drills(3, Metre.parse("2/4"), mpq(1, 8))
    assert [each.text for each in some[:1]] == ["x.xx"]
    assert len(some) == 3


def test_drills_can_be_kept_within_levels() -> None:
    found = drills(3, Metre.parse("7/8"), mpq(1, 8), levels=(mpq(1), mpq(4)))
    assert found
    assert all(each.difficulty.level <= 4 for each in found)


@pytest.mark.parametrize(
    ("onsets", "metre", "pulse", "problem"),
    [
        (0, "4/4", "1/8", "0 onsets"),
        (9, "4/4", "1/8", "9 onsets"),
        (3, "4/4", "1/12", None),
        (3, "4/4", "3/16", "do not fill"),
        (20, "4/4", "1/64", "more than"),
    ],
)
def test_what_cannot_be_enumerated_is_refused(
    onsets: int, metre: str, pulse: str, problem: str | None
) -> None:
    if problem is None:
        assert drills(onsets, Metre.parse(metre), mpq(pulse))
        return
    with pytest.raises(RequestError, match=problem):
        drills(onsets, Metre.parse(metre), mpq(pulse))


def onsets_of(score: Score, part: int = 0) -> list[str]:
    events = score.parts[part].voices[0].events
    return [str(event.onset) for event in events if not event.is_rest]


def test_a_drill_is_written_out_and_adds_up() -> None:
    drill = drills(3, Metre.parse("4/4"), mpq(1, 8))[-1]
    score = drill.score(turns=2)
    assert len(onsets_of(score)) == 6
    assert sum((e.duration for e in score.parts[0].voices[0].events), mpq(0)) == 2
    assert all(event.pieces for event in score.parts[0].voices[0].events)


@pytest.mark.parametrize(
    ("a", "b", "metre", "resultant"),
    [
        # Schillinger's resultants (3:2 as printed, the others recomputed)
        (3, 2, "2/4", (2, 1, 1, 2)),
        (4, 3, "3/4", (3, 1, 2, 2, 1, 3)),
        (5, 2, "2/4", (2, 2, 1, 1, 2, 2)),
        (5, 3, "3/4", (3, 2, 1, 3, 1, 2, 3)),
        (5, 4, "4/4", (4, 1, 3, 2, 2, 3, 1, 4)),
    ],
)
def test_two_hands_together_play_the_resultant(
    a: int, b: int, metre: str, resultant: tuple[int, ...]
) -> None:
    score = two_parts(a, b, turns=1)
    assert str(score.bars[0].metre) == metre
    struck = sorted({mpq(onset) for part in (0, 1) for onset in onsets_of(score, part)})
    struck.append(score.length)
    pulse = score.length / sum(resultant)
    gaps = [(late - early) / pulse for early, late in pairwise(struck)]
    assert tuple(int(gap) for gap in gaps) == resultant


def test_the_fast_hand_has_one_tuplet_over_the_beats_of_the_slow_one() -> None:
    score = read(proven(two_parts(7, 5, turns=1)))
    assert score.bars[0].metre == Metre.parse("5/4")
    fast, slow = (part.voices[0].events for part in score.parts)
    assert [event.pieces[0].ratio for event in fast] == [(7, 5)] * 7
    assert [event.pieces[0].type for event in (*fast, *slow)] == ["quarter"] * 12
    assert len(score.parts) == 2


@pytest.mark.parametrize(("a", "b"), [(4, 2), (1, 3), (3, 3), (13, 2)])
def test_two_hands_that_do_not_cross_are_refused(a: int, b: int) -> None:
    with pytest.raises(RequestError, match="against"):
        two_parts(a, b)


def test_an_ostinato_runs_under_the_theme_over_the_bar_lines() -> None:
    theme = melody("3/4", "1/4 1/4 1/4", "1/2 1/4")
    both = ostinato(theme, (3, 1), mpq(1, 8))
    assert both.parts[0] == theme.parts[0]
    assert onsets_of(both, 1) == ["0", "3/8", "1/2", "7/8", "1", "11/8"]
    assert both.parts[1].voices[0].events[-1].end == theme.length
    assert both.parts[1].id == "P2"


def test_an_ostinato_waits_for_the_first_full_bar() -> None:
    theme = melody("3/4", "1/4", "1/2 1/4", upbeat=True)
    both = ostinato(theme, (1,), mpq(1, 4))
    assert onsets_of(both, 1) == ["1/4", "1/2", "3/4"]
    assert both.parts[1].voices[0].events[0].is_rest


def test_an_ostinato_of_nothing_is_refused() -> None:
    with pytest.raises(RequestError, match="no pattern"):
        ostinato(melody("3/4", "3/4"), (), mpq(1, 4))
