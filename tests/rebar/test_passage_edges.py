"""What stands at the edges of a passage that is rebarred: held notes, graces, what was added."""

from __future__ import annotations

import pytest
from lxml import etree

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.practice.counting import count
from rhythm.rebar.rebar import rebar
from tests.markup import note, partwise

GRACE = "<grace/>"
HELD = partwise(
    note("C4", 8, "half") + note("D4", 8, "half", ties="start"),
    note("D4", 8, "half", ties="stop") + note("E4", 8, "half"),
    note("F4", 16, "whole"),
)


def on_the_page(data: bytes) -> str:
    """Bar by bar: pitches, graces in brackets, ``~`` where a tie starts, syllables after ``:``."""
    bars = []
    for bar in etree.fromstring(data).iter("measure"):
        notes = []
        for each in bar.iter("note"):
            text = each.findtext("pitch/step") or "r"
            text += "~" if each.find("tie[@type='start']") is not None else ""
            if each.find("grace") is not None:
                text = f"({text})"
            said = each.findtext("lyric/text")
            notes.append(f"{text}:{said.replace(' ', '_')}" if said else text)
        bars.append(" ".join(notes))
    return " | ".join(bars)


@pytest.mark.parametrize("bars", ["1", "2"])
def test_what_was_counted_under_a_held_note_stays_when_a_passage_at_it_is_rebarred(
    bars: str,
) -> None:
    counted = read(proven(count(read(HELD), "numbers")))
    assert on_the_page(proven(counted)) == "C:1_(2) D~:3_(4) | D:(1)_(2) E:3_(4) | F:1_(2)_(3)_(4)"
    result = on_the_page(proven(rebar(counted, "2/4", bars=bars)))
    assert (
        result
        == {
            "1": "C:1_(2) | D~:3_(4) | D:(1)_(2) E:3_(4) | F:1_(2)_(3)_(4)",
            "2": "C:1_(2) D~:3_(4) | D:(1)_(2) | E:3_(4) | F:1_(2)_(3)_(4)",
        }[bars]
    )


def test_counting_and_rebarring_in_one_go_loses_nothing_either() -> None:
    counted = count(read(HELD), "numbers")
    assert on_the_page(proven(rebar(counted, "2/4", bars="2"))) == (
        "C:1_(2) D~:3_(4) | D:(1)_(2) | E:3_(4) | F:1_(2)_(3)_(4)"
    )


def test_graces_that_close_a_bar_after_a_held_note_stay_behind_it() -> None:
    held = partwise(
        note("C4", 8, "half") + note("D4", 8, "half", ties="start"),
        note("D4", 16, "whole", ties="stop") + note("E4", "", "eighth", before=GRACE),
        note("F4", 16, "whole"),
    )
    assert on_the_page(proven(rebar(read(held), "2/4", bars="2"))) == "C D~ | D~ | D (E) | F"
    assert on_the_page(proven(rebar(read(held), "2/4", bars="1"))) == "C | D~ | D (E) | F"


def test_graces_before_a_note_tied_in_from_before_the_passage_part_the_two() -> None:
    held = partwise(
        note("C4", 8, "half") + note("D4", 8, "half", ties="start"),
        note("E4", "", "eighth", before=GRACE)
        + note("D4", 8, "half", ties="stop")
        + note("E4", 8, "half"),
    )
    assert on_the_page(proven(rebar(read(held), "2/4", bars="2"))) == "C D~ | (E) D | E"
