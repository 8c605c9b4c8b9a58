"""Small wrong changes in ``rhythm/rebar/``."""

from .row import Row

__all__ = ["ROWS"]

FILES = ("tests/devices/test_written_files.py",)
EDGES = ("tests/rebar/test_passage_edges.py",)
HIDDEN = ("tests/rebar/test_hidden_rests.py",)
WHOLE = ("tests/devices/test_whole_tuplets.py",)
REBAR = ("tests/rebar/test_rebar.py",)

ROWS: list[Row] = [
    Row(
        "rhythm/rebar/whole_tuplets.py",
        "    for at in sorted({*passage.breaks, *free}):",
        "    for at in sorted(passage.breaks):",
        ("tests/devices/test_whole_tuplets.py",),
        "brackets broken off at the bar lines of music without a metre",
    ),
    Row(
        "rhythm/rebar/handed_over.py",
        "head < end and (comes or rests",
        "head < end and (rests",
        ("tests/rebar/test_handed_over.py",),
        "a voice that comes in within a bar, without rests before it",
    ),
    Row(
        "rhythm/rebar/handed_over.py",
        "if events[i].bar in noted and not (loose or alone)}",
        "if False}",
        ("tests/rebar/test_handed_over.py",),
        "rests at a voice's edges that stay when the bar line falls back on them",
    ),
    Row(
        "rhythm/rebar/handed_over.py",
        "if events[i].onset == bars[events[i].bar].start and end != events[i].onset",
        "if end != events[i].onset",
        ("tests/rebar/test_handed_over.py",),
        "a voice that came in late in its bar rests as if it had filled it",
    ),
    Row(
        "rhythm/rebar/group.py",
        "if wanted.has_voice(p, voice.name) else voice",
        "if True else voice",
        ("tests/rebar/test_group.py::test_one_voice_of_one_part_is_grouped_alone",),
        "all voices beamed where one was asked for",
    ),
    Row(
        "rhythm/rebar/group.py",
        "        if not wanted.has_voice(strand.part, voice.name):\n            continue\n",
        "",
        ("tests/rebar/test_group.py::test_one_voice_of_one_part_is_grouped_alone",),
        "all voices accented where one was asked for",
    ),
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
        "TimeMap.linear(ratio.actual, ratio.normal)",
        "TimeMap.linear(ratio.normal, ratio.actual)",
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
    Row(
        "rhythm/rebar/group.py",
        "            changed[strand.part] = part.replace(voices=tuple(voices))",
        "            changed[strand.part] = part",
        FILES,
        "accents asked for are never written",
    ),
    Row(
        "rhythm/rebar/group.py",
        "    return _in_place(passage, score.replace(parts=parts) if changed else score, changed)",
        "    return _in_place(passage, score, changed)",
        FILES,
        "beams by groups are never written",
    ),
    Row(
        "rhythm/rebar/group.py",
        "    return first.length if first.is_upbeat else mpq(0)",
        "    return mpq(0)",
        ("tests/rebar/test_group.py",),
        "groups counted from the upbeat",
    ),
    Row(
        "rhythm/rebar/density.py",
        "FINEST = mpq(1, 64)",
        "FINEST = mpq(1, 32)",
        FILES,
        "thirty-seconds are not split any more",
    ),
    Row(
        "rhythm/rebar/density.py",
        "        strong.add(start)",
        "        pass",
        FILES,
        "the note that begins a bar is absorbed",
    ),
    Row(
        "rhythm/rebar/sections.py",
        "        return images[i] if i < len(edges) and edges[i] == at else time(at)",
        "        return time(at)",
        FILES,
        "a repeat goes with the music before it",
    ),
    Row(
        "rhythm/rebar/unbarring.py",
        "        if not each.is_unseen_rest:",
        "        if True:",
        HIDDEN,
        "hidden rests count as music",
    ),
    Row(
        "rhythm/rebar/rebuilding.py",
        "        if not PlacedEvent(old).is_unseen_rest:",
        "        if True:",
        HIDDEN,
        "a hidden rest left behind has its bar written anew",
    ),
    Row(
        "rhythm/rebar/passage_edges.py",
        "        left[i] = joined(one, other)",
        "        left[i] = one.replace(duration=other.end - one.onset)",
        EDGES,
        "what the second half of a held note carries is lost at an edge",
    ),
    Row(
        "rhythm/rebar/whole_tuplets.py",
        "    return _rested(_with_whole_close(passage))",
        "    return _with_whole_close(passage)",
        WHOLE,
        "the last bracket stays open",
    ),
    Row(
        "rhythm/rebar/whole_tuplets.py",
        "    passage = _with_whole_upbeat(passage)",
        "    pass",
        WHOLE,
        "a bracket over a lone upbeat",
    ),
    Row(
        "rhythm/rebar/passage.py",
        "yield each if each.onset < at else each.at(each.onset + length, each.duration)",
        "yield each",
        WHOLE,
        "time let in before a repeat moves nothing",
    ),
    Row(
        "rhythm/rebar/rebar.py",
        "    shift = (opening.length - upbeat % opening.length) % opening.length",
        "    shift = mpq(0)",
        REBAR,
        "an upbeat becomes the first beats of a bar",
    ),
    Row(
        "rhythm/rebar/release.py",
        '"halved": mpq(1, 2)',
        '"halved": mpq(1)',
        FILES,
        "halving dissolves as written",
    ),
    Row(
        "rhythm/rebar/bar_numbers.py",
        '            names.append(f"X{count}")',
        "            names.append(str(count))",
        REBAR,
        "the second part of a split bar has its number again",
    ),
    Row(
        "rhythm/rebar/rebuilding.py",
        "notes=fresh, graces=(), additions=()",
        "notes=fresh, additions=()",
        ("tests/rebar/test_rebar.py",),
        "a rest's graces written twice",
    ),
    Row(
        "rhythm/rebar/rebuilding.py",
        "piece = piece.replace(after=())",
        "pass",
        ("tests/rebar/test_rebar.py",),
        "the graces behind a rest written twice",
    ),
    Row(
        "rhythm/rebar/sections.py",
        "return images[i] if i < len(edges) and edges[i] == at else time(at)",
        "return time(at)",
        (
            "tests/devices/test_written_files.py::test_a_repeat_opens_before_the_rest_that_completes_its_upbeat",
        ),
        "a section's edge moved with the music behind it",
    ),
    Row(
        "rhythm/rebar/density.py",
        "FINEST = mpq(1, 64)",
        "FINEST = mpq(1, 128)",
        ("tests/devices/test_written_files.py",),
        "embellishment down to values that nobody plays",
    ),
    Row(
        "rhythm/rebar/density.py",
        "        strong.add(start)\n",
        "",
        ("tests/devices/test_written_files.py",),
        "reduction absorbs what begins a bar",
    ),
]
