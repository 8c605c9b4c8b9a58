"""Small wrong changes in ``rhythm/check/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = [
    Row(
        "rhythm/check/ties.py",
        'desk.fault("tie", loose.voice, offset, message, fix=fix, remedy=remedy)',
        'desk.remark("tie", loose.voice, offset, message)',
        ("tests/check/test_wrong_bars.py",),
        "a tie that leads nowhere is no fault",
    ),
    Row(
        "rhythm/check/ties.py",
        "        if any(other.note.tie_in for other in elsewhere):\n            continue\n",
        "",
        ("tests/check/test_right_bars.py", "tests/check/test_wrong_bars.py"),
        "ties into endings called wrong",
    ),
    Row(
        "rhythm/check/ties.py",
        "(note.pitch == like.note.pitch or note.pitch.midi == like.height)",
        "note.pitch == like.note.pitch",
        ("tests/check/test_right_bars.py",),
        "a tie to the other name of the key called wrong",
    ),
]
