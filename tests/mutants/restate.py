"""Small wrong changes in ``rhythm/restate/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = [
    Row(
        "rhythm/restate/align.py",
        'longer_first = lilt.foot == "trochee"',
        'longer_first = lilt.foot == "iamb"',
        ("tests/restate/test_align.py",),
        "a trochee that is short-long",
    ),
    Row(
        "rhythm/restate/align.py",
        "ratio[0] >= ratio[1]",
        "ratio[0] > ratio[1]",
        ("tests/restate/test_align.py",),
        "1:1 taken for an iamb",
    ),
    Row(
        "rhythm/restate/align.py",
        "return mpq(self.ratio[0], sum(self.ratio)) if",
        "return mpq(self.ratio[1], sum(self.ratio)) if",
        ("tests/restate/test_align.py",),
        "3:2 split as 2:3",
    ),
    Row(
        "rhythm/restate/align.py",
        "-first_wins[i] if longer_first else first_wins[i]",
        "first_wins[i] if longer_first else -first_wins[i]",
        ("tests/restate/test_align.py",),
        "the longer half on the wrong side",
    ),
    Row(
        "rhythm/restate/align.py",
        "(mpq(2, 3), share) if target.ternary",
        "(mpq(1, 3), share) if target.ternary",
        ("tests/restate/test_align.py", "tests/restate/test_metres.py"),
        "a ternary beat swung from its second note",
    ),
    Row(
        "rhythm/restate/beat_by_beat.py",
        "opening = -through if first and bar.shift > 0 else turn - skipped",
        "opening = turn - skipped",
        ("tests/restate/test_beat_by_beat.py",),
        "an upbeat that does not lead to a bar line",
    ),
    Row(
        "rhythm/restate/beat_by_beat.py",
        "turn = opening + through",
        "turn = opening",
        ("tests/restate/test_beat_by_beat.py",),
        "every bar begins with the first beat of the target",
    ),
    Row(
        "rhythm/restate/beat_by_beat.py",
        "if node.end <= rest)",
        "if node.start <= rest)",
        ("tests/restate/test_beat_by_beat.py",),
        "a beat too many before a split",
    ),
    Row(
        "rhythm/restate/swing.py",
        "if not node.ternary and inside == {at}:",
        "if inside == {at}:",
        (
            "tests/restate/test_metres.py",
            "tests/restate/test_together.py",
            "tests/restate/test_fit.py",
        ),
        "dotted beats swung",
    ),
    Row(
        "rhythm/restate/swing.py",
        "return share if times >= even else None",
        "return share",
        ("tests/restate/test_metres.py",),
        "a rare dotted pair taken for the swing of the score",
    ),
    Row(
        "rhythm/restate/tempo.py",
        "factor = common_beat(new) / common_beat(old)",
        "factor = common_beat(old) / common_beat(new)",
        ("tests/restate/test_marks.py",),
        "a tempo that slows down where it should keep its beat",
    ),
    Row(
        "rhythm/restate/tempo.py",
        "return next(beat for beat in metre.beats if counts[beat] == best)",
        "return metre.beats[-1]",
        ("tests/restate/test_marks.py",),
        "in 7/8 the dotted beat taken for the one that a tempo names",
    ),
    Row(
        "rhythm/restate/tempo.py",
        "metronome.other * factor)",
        "metronome.other)",
        ("tests/restate/test_marks.py",),
        "the right side of quarter = dotted quarter left as it was",
    ),
    Row(
        "rhythm/restate/tempo.py",
        "tempo = None if mark.tempo is None else mark.tempo * factor",
        "tempo = mark.tempo",
        ("tests/restate/test_marks.py",),
        "playback at the old tempo",
    ),
    Row(
        "rhythm/restate/custom_maps.py",
        'return by_bar if by == "bar" else by_beat',
        "return by_beat",
        ("tests/restate/test_metres.py",),
        "a map of the bar taken for one of the beat",
    ),
]
