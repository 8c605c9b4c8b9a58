"""Where the first phrase of a theme ends: what one practises is a phrase, not a piece.

A phrase ends on a note that is held by a fermata, as every line of a chorale does: of several
within eight bars at that which comes nearest to the end of the fourth. Where that is within a bar,
what follows the note belongs to the next phrase; the last bar and the upbeat make one bar, with
rests after the note if need be (common practice, no source).

Elsewhere it ends, whichever comes first: where a double bar, a repeat or an ending closes a bar;
with a bar that comes to rest (its last note is as long as any before it in the phrase and lasts
half the bar or more, or silence fills the end of the bar), if the phrase then has a whole number of
pairs of bars; else after four bars (common practice, no source). It has two to eight bars, an
upbeat not counted. A phrase of less than five strokes is passed over where another follows.

Conventions
-----------
Bars are named by their place in the score, counted from 0. A theme is a score of one part.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.formats.musicxml.performance import held_places
from rhythm.notate.score_notation import spell_score
from rhythm.score.concatenation import extract
from rhythm.score.model import Bar, Event, Note, Score, Voice
from rhythm.score.select import Bars

__all__ = ["LONGEST", "SHORT", "first_phrase", "phrase_of"]

_SHORTEST, SHORT, LONGEST = 2, 4, 8
_FEWEST = 5  # strokes; less is a call to attention (chords before an allegro), not a phrase


def phrase_of(theme: Score, longest: int = LONGEST) -> Score:
    """The first phrase as a score of its own; see :func:`first_phrase`."""
    run = first_phrase(theme, longest)
    phrase = extract(theme, run.first, run.last)
    end = _held(theme).get(run.last)
    return phrase if end is None else _ended(phrase, end)


def first_phrase(theme: Score, longest: int = LONGEST) -> Bars:
    """The bars of the first phrase, from the first bar in which something sounds.

    A theme of no more than eight bars that nothing divides is a phrase as it is. A phrase of more
    than the ``longest`` number of bars, 4 to 8, is cut after its first four.
    """
    (part,) = theme.parts
    bars = part.bars
    sounding = [
        event for voice in part.voices for event in voice.events
        if event.visible and not event.is_rest and event.duration > 0
    ]  # fmt: skip
    held = set(_held(theme))
    first = min((event.bar for event in sounding), default=0)
    found = _phrase_from(first, bars, sounding, held, longest)
    while _strokes(found, sounding) < _FEWEST:
        later = min((event.bar for event in sounding if event.bar > found.last), default=None)
        if later is None:
            found = _phrase_from(first, bars, sounding, held, longest)
            break
        found = _phrase_from(later, bars, sounding, held, longest)
    upbeat = _upbeat(bars[found.first])
    if len(found.places) - upbeat > longest:
        return Bars.run(found.first, found.first + upbeat + SHORT - 1)
    return found


def _held(theme: Score) -> dict[int, mpq]:
    """By bar, how long after its start the last note ends that a fermata holds in it."""
    found: dict[int, mpq] = {}
    for _, _, event in theme.events():
        if event.visible and not event.is_rest:
            for bar, _, end in held_places(event):
                found[bar] = max(end, found.get(bar, end))
    return found


def _ended(phrase: Score, end: mpq) -> Score:
    """The phrase with its last bar cut where the held note ends in it, and filled with rests.

    The bar stays whole where another voice sounds on, or its upbeat leaves no room.
    """
    (part,) = phrase.parts
    first, last = part.bars[0], part.bars[-1]
    close = last.start + end
    crossed = any(event.onset < close < event.end for _, _, event in phrase.events())
    if crossed or end >= last.length or len(part.bars) < 2:
        return phrase
    whole = last.metre.length if last.metre is not None else last.length
    left = whole - first.length if _upbeat(first) else whole
    length = left if end <= left else whole
    bar = last.replace(length=length, filled=length, source=None, remarks=())
    voices = []
    for voice in part.voices:
        kept = tuple(event for event in voice.events if event.onset < close)
        if kept and kept[-1].bar == last.index and close < bar.end:
            kept = (*kept, Event(close, bar.end - close, last.index, (Note("rest"),)))
        if kept:
            voices.append(Voice(voice.name, kept))
    marks = tuple(mark for mark in part.marks if mark.bar < last.index or mark.onset < close)
    ended = part.replace(bars=(*part.bars[:-1], bar), voices=tuple(voices), marks=marks)
    return spell_score(phrase.replace(parts=(ended,)), keep=True, bars={last.index})


def _strokes(phrase: Bars, sounding: list[Event]) -> int:
    return len({event.onset for event in sounding if event.bar in phrase.places})


def _phrase_from(
    first: int, bars: tuple[Bar, ...], sounding: list[Event], held: set[int], longest: int
) -> Bars:
    """The phrase that begins with this bar; ``held`` are bars in which a fermata stands."""
    upbeat = _upbeat(bars[first])
    room = range(first + upbeat + _SHORTEST - 1, min(first + upbeat + LONGEST, len(bars)))
    closed = [i for i in room if _closes(bars, i)]
    lines = [
        i for i in room[: longest - _SHORTEST + 1] if i in held and i <= min(closed, default=i)
    ]
    if lines:
        return Bars.run(first, min(lines, key=lambda i: abs(i - first - upbeat + 1 - SHORT)))
    if closed:
        return Bars.run(first, closed[0])
    resting = [
        i for i in room
        if (i - first - upbeat) % 2 and i >= first + upbeat + SHORT - 1
        and _comes_to_rest(bars[i], _before(sounding, bars[first], bars[i]))
    ]  # fmt: skip
    if resting:
        return Bars.run(first, resting[0])
    if len(bars) - first - upbeat <= LONGEST:
        return Bars.run(first, len(bars) - 1)
    return Bars.run(first, first + upbeat + SHORT - 1)


def _upbeat(bar: Bar) -> int:
    """How many bars an upbeat takes that opens a phrase with this bar: 1 or none."""
    return 1 if bar.shift > 0 or _is_short(bar) else 0


def _is_short(bar: Bar) -> bool:
    return bar.metre is not None and mpq(0) < bar.length < bar.metre.length


def _closes(bars: tuple[Bar, ...], i: int) -> bool:
    """Whether a bar line other than a plain one stands behind this bar."""
    right = bars[i].right
    if right is not None and (right.repeat == "backward" or right.style.startswith("light-")):
        return True
    if right is not None and right.ending_type in ("stop", "discontinue"):
        return True
    left = bars[i + 1].left if i + 1 < len(bars) else None
    return left is not None and left.repeat == "forward"


def _before(sounding: list[Event], first: Bar, last: Bar) -> list[Event]:
    return [event for event in sounding if first.start <= event.onset < last.end]


def _comes_to_rest(bar: Bar, phrase: list[Event]) -> bool:
    """Whether the bar ends in a note that is held as in no bar before, or in silence."""
    if not phrase:
        return False
    last = max(phrase, key=lambda event: (event.onset, event.duration))
    if last.bar != bar.index:
        return True
    held = min(last.end, bar.end) - last.onset
    if last.end < bar.end and bar.end - last.end >= bar.length / 4:
        return True
    longest = max(event.duration for event in phrase)
    return held * 2 >= bar.length and last.duration >= longest
