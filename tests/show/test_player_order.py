"""What a reader of the file meets on new bars: stems that agree, clefs before the first note."""

from pathlib import Path

from lxml import etree

from rhythm import read, rebar, tuplet
from rhythm.formats.musicxml.saving import proven

EXAMPLES = Path(__file__).parents[2] / "examples"


def groups(root):
    """The notes under each beam, voice by voice."""
    for measure in root.iter("measure"):
        for voice in {note.findtext("voice") for note in measure.iter("note")}:
            group = []
            for note in measure.iter("note"):
                beam = note.findtext("beam[@number='1']")
                if beam is None or note.findtext("voice") != voice:
                    continue
                group = [note] if beam == "begin" else [*group, note]
                if beam == "end":
                    yield group


def test_stems_under_a_new_beam_do_not_point_both_ways():
    poured = rebar(read(EXAMPLES / "lantern-song.musicxml"), "7/8 7/8 5/8")
    found = list(groups(etree.fromstring(proven(poured))))
    assert len(found) > 10
    for group in found:
        assert len({note.findtext("stem") for note in group} - {None}) <= 1


def test_clefs_stay_at_the_head_when_silence_is_set_before_an_upbeat():
    squeezed = tuplet(read(EXAMPLES / "ferry-steps.musicxml"), "3:2", unit="1/8")
    root = etree.fromstring(proven(squeezed))
    first = root.find("part/measure")[0]
    assert first.tag == "attributes"
    assert len(first.findall("clef")) == 2
