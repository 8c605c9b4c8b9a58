"""Measures of rhythmic complexity, each as its authors published it.

Every function takes a :class:`~rhythm.practice.rhythm_line.Line`. They were made for one cycle of a
pattern; on a score they are taken over the line's whole length, and each docstring says what that
means. They disagree with one another, and docs/difficulty.md says where.

Conventions
-----------
Values are exact ``mpq``. A line without onsets measures 0.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from gmpy2 import gcd, lcm, mpq

from rhythm.practice.rhythm_line import Line

__all__ = ["density", "finest", "npvi", "off_beatness", "syncopation", "tenths", "wnbd"]


def tenths(value: mpq, places: int = 1) -> str:
    """A decimal text of an exact value, rounded half up: 40/1 is "40.0", 200/3 is "66.7"."""
    scale = 10**places
    scaled = (abs(value) * scale * 2 + 1) // 2
    whole, rest = divmod(int(scaled), scale)
    sign = "-" if value < 0 and scaled else ""
    return f"{sign}{whole}.{rest:0{places}d}" if places else f"{sign}{whole}"


def syncopations(line: Line) -> tuple[int, ...]:
    """For every onset, how much heavier the heaviest place is that it leaves silent or tied over.

    Longuet-Higgins & Lee 1984: where a silent or tied position R follows a note N and
    w(R) >= w(N), the syncopation is w(R) - w(N); one for each note, the strongest. 0 elsewhere.
    """
    scores = []
    for onset, interval in zip(line.onsets, line.intervals, strict=True):
        heaviest = line.heaviest_between(onset, onset + interval)
        scores.append(0 if heaviest is None else max(0, heaviest - line.weight(onset)))
    return tuple(scores)


def syncopation(line: Line) -> int:
    """The sum of all syncopations of the line (Longuet-Higgins & Lee 1984)."""
    return sum(syncopations(line))


def wnbd(line: Line) -> mpq:
    """The weighted note-to-beat distance, mean over notes.

    Gómez, Melvin, Rappaport, Toussaint 2005. T is the distance of an onset to the nearest beat, in
    beats. A note on the beat counts 0; one that lasts past the next beat and ends before the one
    after, 2/T; any other, 1/T. A note lasts until the next onset.
    """
    if not line.onsets:
        return mpq(0)
    marks = list(line.beats())
    if line.cyclic:
        marks += [mark + line.length for mark in marks[1:]]
        marks += [marks[-1] + mark - marks[0] for mark in marks[1:]]
    total = mpq(0)
    for onset, interval in zip(line.onsets, line.intervals, strict=True):
        at = bisect_right(marks, onset) - 1
        if at >= 0 and marks[at] == onset:
            continue
        after = marks[at + 1 : at + 3]
        if not after:
            continue
        beat = after[0] - marks[at] if at >= 0 else after[-1] - after[0] or line.length
        distance = after[0] - onset
        if at >= 0:
            distance = min(distance, onset - marks[at])
        end = onset + interval
        crosses = end > after[0] and (len(after) < 2 or end < after[1])
        total += (2 if crosses else 1) * beat / distance
    return total / len(line.onsets)


def pulse(line: Line) -> mpq:
    """The greatest value that every onset and every bar of the line is a whole number of."""
    values = [onset - line.start for onset in line.onsets]
    values += [stretch.length for stretch in line.stretches]
    values = [value for value in values if value]
    bottom = lcm(*(value.denominator for value in values)) if values else 1
    top = gcd(*(int(value * int(bottom)) for value in values)) if values else 1
    return mpq(int(top), int(bottom))


def off_beatness(line: Line, grid: mpq | None = None) -> int:
    """How many onsets stand at positions that no regular division of the bar touches.

    Those are the positions prime to n, where the bar has n pulses (Gómez et al. 2005). ``grid`` is
    the pulse, by default the one the pattern is written in, or the greatest that all onsets and
    bars share. A cyclic pattern is one bar.
    """
    unit = grid or line.grid or pulse(line)
    count = 0
    for onset in line.onsets:
        start, length = line.start, line.length
        if not line.cyclic:
            stretch = line.stretch_at(onset)
            start, length = stretch.start, stretch.length
        place = (onset - start) / unit
        pulses = length / unit
        if place.denominator == 1 and pulses > 1:
            count += gcd(int(place), int(pulses)) == 1
    return count


def npvi(durations: Sequence[mpq]) -> mpq:
    """The normalized pairwise variability index: how much neighbours differ in length, 0 to 200.

    100/(m-1) times the sum of |a - b| / ((a + b)/2) over neighbouring durations. It knows nothing
    of the metre; never judge difficulty by it alone. Fewer than two durations vary by 0.
    """
    if len(durations) < 2:
        return mpq(0)
    pairs = pairwise(durations)
    total = sum((abs(a - b) / ((a + b) / 2) for a, b in pairs), mpq(0))
    return 100 * total / (len(durations) - 1)


def density(line: Line) -> mpq:
    """Onsets per beat."""
    beats = len(line.beats()) - 1
    return mpq(len(line.onsets), max(beats, 1))


def finest(line: Line) -> mpq:
    """The shortest note: a sounding duration in a score, an interval in a pattern."""
    lengths = line.lengths or line.intervals
    return min(lengths, default=mpq(0))
