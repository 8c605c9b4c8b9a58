"""Small wrong changes in ``rhythm/rebar/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = [
    Row(
        "rhythm/rebar/rebar.py",
        "shift = (opening.length - upbeat % opening.length) % opening.length",
        "shift = mpq(0)",
        ("tests/rebar/test_rebar.py",),
        "an upbeat poured as a full bar",
    ),
    Row(
        "rhythm/rebar/rebar.py",
        "metres = chain((opening,) if shift else (), cycle(pattern.metres))",
        "metres = cycle(pattern.metres)",
        ("tests/rebar/test_rebar.py",),
        "an upbeat that takes the first bar of the cycle",
    ),
    Row(
        "rhythm/rebar/sections.py",
        "cuts = [at for at in sorted(passage.breaks) if each.onset < at < each.end]",
        "cuts = []",
        (
            "tests/rebar/test_rebar.py",
            "tests/rebar/test_group.py",
            "tests/rebar/test_tuplet.py",
            "tests/devices/test_vary.py",
            "tests/devices/test_ties.py",
        ),
        "notes held over a repeat sign",
    ),
    Row(
        "rhythm/rebar/tuplet.py",
        "warp = TimeMap.linear(ratio.actual, ratio.normal)",
        "warp = TimeMap.linear(ratio.normal, ratio.actual)",
        ("tests/rebar/test_tuplet.py",),
        "five in the time of four slower than four",
    ),
    Row(
        "rhythm/rebar/tuplet.py",
        "short = -passage.length % bracket",
        "short = mpq(0)",
        ("tests/rebar/test_tuplet.py",),
        "an open bracket at the end",
    ),
]
