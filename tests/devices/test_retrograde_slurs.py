"""A slur reads the same backwards: it runs from what was its end to what was its beginning."""

from __future__ import annotations

import pytest
from lxml import etree

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.verbs import vary
from tests.markup import note, partwise

SLURRED = partwise(
    note("C4", 1, "quarter", inside='<slur type="start" number="1"/>')
    + note("D4", 1, "quarter", inside='<slur type="stop" number="1"/>')
    + note("E4", 1, "quarter", inside='<slur type="start" number="1"/>')
    + note("F4", 1, "quarter", inside='<slur type="stop" number="1"/>'),
    divisions=1,
)


def slurs(data: bytes) -> list[tuple[str, str]]:
    """The step of every note that has a slur, in order, and what the slur does there."""
    return [
        (found.findtext("pitch/step") or "", slur.get("type") or "")
        for found in etree.fromstring(data).iter("note")
        for slur in found.iter("slur")
    ]


@pytest.mark.parametrize("what", ["retrograde", "retrograde:pitch"])
def test_slurs_run_the_other_way_where_the_notes_do(what: str) -> None:
    turned = vary(read(SLURRED), what)
    assert slurs(to_bytes(turned)) == [
        ("F", "start"),
        ("E", "stop"),
        ("D", "start"),
        ("C", "stop"),
    ]


def test_twice_backwards_is_as_it_was() -> None:
    again = vary(vary(read(SLURRED), "retrograde"), "retrograde")
    assert slurs(to_bytes(again)) == slurs(SLURRED)
