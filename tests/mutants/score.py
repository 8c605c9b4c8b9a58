"""Small wrong changes in ``rhythm/score/``."""

from .row import Row

__all__ = ["ROWS"]

EDGES = ("tests/rebar/test_passage_edges.py",)
SELECT = ("tests/score/test_select.py",)
ROLES = ("tests/check/test_right_bars.py", "tests/score/test_bar_roles.py")

ROWS: list[Row] = [
    Row(
        "rhythm/score/carried_marks.py",
        "    start = at + lead\n",
        "    start = at\n",
        ("tests/devices/test_marks.py", "tests/restate/test_marks.py"),
        "figures under one note that begin together",
    ),
    Row(
        "rhythm/score/select.py",
        "found.update(range(start, end + 1))",
        "found.update(range(start, end))",
        ("tests/score/test_select.py",),
        "5-8 without bar 8",
    ),
    Row(
        "rhythm/score/select.py",
        "if part in (each.id, each.name))",
        "if part == each.id)",
        ("tests/score/test_select.py",),
        "a part not found by its name",
    ),
    Row(
        "rhythm/score/select.py",
        "end = _place(numbers, last, start) if last",
        "end = _place(numbers, last, 0) if last",
        ("tests/score/test_select.py",),
        "a range that ends in the movement before",
    ),
    Row(
        "rhythm/score/select.py",
        "return len(self.places) == self.last - self.first + 1",
        "return True",
        ("tests/score/test_select.py",),
        "bars with a gap taken for one passage",
    ),
    Row(
        "rhythm/score/readable.py",
        "_LARGEST_NUMBER = 15",
        "_LARGEST_NUMBER = 5000",
        ("tests/notate/test_legible.py",),
        "brackets of 512:513",
    ),
    Row(
        "rhythm/score/bar_roles.py",
        "if total == chosen[0].metre or total == chosen[-1].metre:",
        "if total == chosen[0].metre:",
        ROLES,
        "halves of a bar whose second has the new metre",
    ),
    Row(
        "rhythm/score/bar_roles.py",
        "return bool(self.metre) and 0 < self.length < self.metre",
        "return bool(self.metre) and 0 < self.length <= self.metre",
        ROLES,
        "full bars called short",
    ),
    Row(
        "rhythm/score/bar_roles.py",
        "return self.implicit or whole_number(self.number) is None",
        "return self.implicit",
        ROLES,
        "bars numbered X1 called irregular no more",
    ),
    Row(
        "rhythm/score/bar_roles.py",
        "closes = place == run[-1] and passed + span.length != span.metre",
        "closes = False",
        ROLES,
        "the second half of a split bar placed at its beginning",
    ),
    Row(
        "rhythm/score/bar_roles.py",
        'if left and left.repeat == "forward":\n            return place',
        'if left and left.repeat == "backward":\n            return place',
        ROLES,
        "an upbeat completed across a repeat sign",
    ),
    Row(
        "rhythm/score/bar_roles.py",
        "dict.fromkeys((_section_start(spans, index), 0))",
        "{_section_start(spans, index), 0}",
        ROLES,
        "the piece's upbeat completed by the bar that completes a repeat's",
    ),
    Row(
        "rhythm/score/outcome.py",
        'return {"line": str(self), "changed": not self.idle, **plain}',
        'return {"line": str(self), "changed": True, **plain}',
        ("tests/rebar/test_rebar.py", "tests/rebar/test_group.py", "tests/score/test_select.py"),
        "nothing to change told as a change",
    ),
    Row(
        "rhythm/score/ties.py",
        "        after=late.after,",
        "        after=(),",
        EDGES,
        "graces behind a held note are lost",
    ),
    Row(
        "rhythm/score/ties.py",
        "        additions=(*early.additions, *later) if late.additions else early.additions,",
        "        additions=early.additions,",
        EDGES,
        "what was counted under the second half of a held note is lost",
    ),
    Row(
        "rhythm/score/ties.py",
        "each.delay + since)",
        "each.delay)",
        EDGES,
        "what was counted under the second half stands under the first",
    ),
    Row(
        "rhythm/score/ties.py",
        "    if early.after or late.graces or not early.duration or not late.duration:",
        "    if not early.duration or not late.duration:",
        EDGES,
        "graces between two notes are swallowed",
    ),
    Row(
        "rhythm/score/select.py",
        "            end = _place(numbers, last, start) if last else len(numbers) - 1",
        "            end = _place(numbers, last, start) if last else start",
        SELECT,
        "an open range is one bar",
    ),
    Row(
        "rhythm/score/select.py",
        "        return part in self.parts and self.voice in (None, voice)",
        "        return part in self.parts",
        ("tests/devices/test_written_files.py",),
        "all voices are varied where one was asked for",
    ),
    Row(
        "rhythm/score/concatenation.py",
        "found += [mark.replace(onset=mpq(0), bar=0) for mark in ours.values()]",
        "pass",
        ("tests/practice/test_instruments.py",),
        "a passage that loses the clef written for it",
    ),
    Row(
        "rhythm/score/span_edges.py",
        "        if stop.bar > last:\n",
        "        if stop.bar > last + 1:\n",
        ("tests/restate/test_passages.py",),
        "a hairpin that no passage closes",
    ),
    Row(
        "rhythm/score/span_edges.py",
        "        opens, closes = begin.bar < first, stop.bar > last\n",
        "        opens, closes = begin.bar < first - 1, stop.bar > last\n",
        ("tests/restate/test_passages.py",),
        "a slur that begins before the passage is lost",
    ),
]
