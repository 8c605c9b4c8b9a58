"""What explain says: every distinct beat, its image, how often, and why it is not the map's own."""

from __future__ import annotations

import json

import pytest
from gmpy2 import mpq

from rhythm.restate.restate import restated
from tests.tiny import melody

TRIPLET = "a triplet already, taken straight"
CASES = [
    ("2/4", "6/8", "trochee", "1/8 1/8 1/4", "1/8 1/8", "1/4 1/8", ""),
    (
        "2/4", "6/8", "trochee", "3/16 1/16 1/4", "3/16 1/16", "1/4 1/8",
        "moved by 1/16 to a place that is read at sight",
    ),
    ("2/4", "6/8", "trochee", "1/12 1/12 1/12 1/4", "1/12 1/12 1/12", "1/8 1/8 1/8", TRIPLET),
    ("2/4", "6/8", "trochee", "1/6 1/12 1/4", "1/6 1/12", "1/4 1/8", TRIPLET),
    (
        "2/4", "6/8", "trochee", "1/20 1/20 1/20 1/20 1/20 1/4", "1/20 1/20 1/20 1/20 1/20",
        "3/40 3/40 3/40 3/40 3/40", "a tuplet already, taken straight",
    ),
    (
        "2/4", "6/8", "trochee", "1/6 1/6 1/6", "1/6 1/12‿", "1/4 1/8‿",
        "part of a tuplet over several beats, taken straight",
    ),
    (
        "6/8", "2/4", "trochee", "3/16 3/16 3/8", "3/16 3/16", "1/8 1/8",
        "a duplet already, taken straight",
    ),
    ("2/4", "2/4", "3:1", "1/8 1/8 1/4", "1/8 1/8", "3/16 1/16", "an even pair, made 3:1"),
    ("2/4", "2/4", "1:1", "1/6 1/12 1/4", "1/6 1/12", "1/8 1/8", "a long-short pair, made even"),
    (
        "2/4", "simple", "trochee", "1/12 1/12 1/12 1/4", "1/12 1/12 1/12", "1/16 1/16 1/8",
        "a triplet, undone",
    ),
    ("2/4", "6/8", "trochee", "3/8 1/8", "1/4‿", "3/8‿", ""),
    ("2/4", "6/8", "trochee", "3/8 1/8", "‿1/8 1/8", "‿1/4 1/8", ""),
]  # fmt: skip


@pytest.mark.parametrize(
    ("metre", "target", "lilt", "bar", "beat", "image", "why"),
    CASES,
    ids=[f"{c[3]} in {c[0]} to {c[1]}, {c[2]}: {c[4]}" for c in CASES],
)
def test_a_beat_is_shown_with_its_image_and_the_reason(
    metre: str, target: str, lilt: str, bar: str, beat: str, image: str, why: str
) -> None:
    beats = restated(melody(metre, bar), target, lilt=lilt).report.beats
    assert (beat, image, 1, why) in [(b.source, b.image, b.count, b.why) for b in beats]


def test_the_commonest_beat_comes_first() -> None:
    done = restated(melody("2/4", "1/4 1/8 1/8", "1/8 1/8 1/8 1/8"), "compound")
    assert [(b.source, b.count) for b in done.report.beats] == [("1/8 1/8", 3), ("1/4", 1)]


def test_every_map_that_was_used_is_shown_in_the_written_metre() -> None:
    done = restated(melody(["2/4", "3/4"], "1/2", "3/4"), "triplets")
    shown = [(str(m.source), points[1]) for m, points in done.report.points]
    assert shown == [("2/4", (mpq(1, 8), mpq(1, 6))), ("3/4", (mpq(1, 8), mpq(1, 6)))]


def test_the_report_has_a_plain_form_for_json() -> None:
    report = restated(melody("2/4", "3/16 1/16 1/4"), "6/8").report
    assert json.loads(json.dumps(report.to_dict())) == {
        "line": "1 of 2 beats lilts, 1 is only stretched; 1 dotted figure became the plain "
        "long-short; --fit exact keeps it",
        "changed": True,
        "tally": {
            "beats": 2,
            "bent": 1,
            "stretched": 1,
            "shortened": 0,
            "kept": 0,
            "leveled": 1,
        },
        "notes": [],
        "lilt": "trochee",
        "maps": [
            {
                "from": "2/4",
                "to": "6/8",
                "points": [
                    ["0", "0"],
                    ["1/8", "1/4"],
                    ["1/4", "3/8"],
                    ["3/8", "5/8"],
                    ["1/2", "3/4"],
                ],
            }
        ],
        "beats": [
            {"source": "1/4", "image": "3/8", "count": 1, "moved": "0", "why": ""},
            {
                "source": "3/16 1/16",
                "image": "1/4 1/8",
                "count": 1,
                "moved": "1/16",
                "why": "moved by 1/16 to a place that is read at sight",
            },
        ],
    }


def test_beat_by_beat_bars_that_are_redrawn_alone_are_no_idle_work() -> None:
    done = restated(melody("4/4", *["1/4 1/4 1/4 1/4"] * 3), "3/4", by="beat")
    assert str(done.report) == "no beat changes: the bars alone are redrawn"
    assert [str(bar.metre) for bar in done.score.bars] == ["3/4"] * 4
