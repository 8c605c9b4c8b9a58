"""Small wrong changes in ``rhythm/notate/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = [
    Row(
        "rhythm/notate/values.py",
        "    if first <= rank:\n        return True\n",
        "    if first < rank:\n        return True\n",
        ("tests/notate/test_values.py",),
        "a half note tied over a beat that it may cross",
    ),
    Row(
        "rhythm/notate/values.py",
        "whole = even and first <= reach and (start + end) / 2 in places",
        "whole = even and first <= reach",
        ("tests/notate/test_values.py",),
        "syncopations whole that hide the beat",
    ),
    Row(
        "rhythm/notate/beams.py",
        'return "forward hook" if stronger else "backward hook"',
        'return "backward hook" if stronger else "forward hook"',
        ("tests/notate/test_beams.py",),
        "a hook that points at the wrong note",
    ),
    Row(
        "rhythm/notate/beams.py",
        "    return [group for group in groups if len(group) > 1]",
        "    return [group for group in groups if len(group) > 2]",
        ("tests/notate/test_beams.py",),
        "pairs of eighths left with flags",
    ),
    Row(
        "rhythm/notate/beams.py",
        "joined = i > 0 and stems[i - 1].end == stem.start\n        if key",
        "joined = True\n        if key",
        (
            "tests/notate/test_beams.py",
            "tests/notate/test_score_notation.py",
            "tests/notate/test_laws.py",
        ),
        "beams over gaps",
    ),
    Row(
        "rhythm/notate/rests.py",
        "        cell.length <= _QUARTER\n",
        "        cell.length <= 2 * _QUARTER\n",
        ("tests/notate/test_rests.py",),
        "a dotted quarter rest in duple time",
    ),
]
