"""The timeline of what sounds: every tone and every beat of a score, in the order played.

This is the one account of a performance. The page's ear plays it, a MIDI file writes it down, a
follower lights the notes by it; none of them works out music of its own.

Conventions
-----------
``start`` and ``end`` are exact, in whole notes from the beginning of the performance; ``at`` and
``until`` are the same moments in whole milliseconds, rounded once from exact time, so nothing
drifts. Keys are MIDI numbers (60 is middle C) where the note sounds, transposition included;
``cents`` is what a microtone lies above its key. Loudness is a MIDI velocity, 1 to 127. Events are
named as :mod:`rhythm.score.identity` does; bars by index.

Repeats, endings, da capo, dal segno, coda and fine are played out
(:mod:`rhythm.show.playing_order`). Notes tied together sound as one. Loudness follows dynamics and
hairpins (:mod:`rhythm.show.loudness`); an accent is louder. A staccato sounds half its length, a
staccatissimo a quarter. Grace notes are squeezed in before their note, those that close a bar at
its end, each a thirty-second or less. Trills, mordents, turns and tremolos are played out
(:mod:`rhythm.show.flourishes`), a fermata holds everybody (:mod:`rhythm.show.clock`), swing is
swung where the file asks for it (:mod:`rhythm.show.swing_feel`). Pedals and pizzicato are told. Cue
notes and rests are silent. A drum has the key of its instrument
(:mod:`rhythm.formats.musicxml.drums`).

Whoever needs more of a performance adds it here, where the tones are made, and not where they are
written down. Instruments, lyrics and signatures are not tones: a writer of files takes those from
the score, and places them with ``Performance.bars``.
"""

from __future__ import annotations

from collections.abc import Iterator

from rhythm.formats.musicxml.performance import direction_of
from rhythm.score.model import Score
from rhythm.score.tempo import tempi
from rhythm.show.beats import beat_number, metric_places
from rhythm.show.clock import Clock, fermatas_of
from rhythm.show.part_player import PartPlayer, Stage
from rhythm.show.performed import Click, Pedal, Performance, PlayedBar, Tone
from rhythm.show.playing_order import placed, played_tempi, playing_order
from rhythm.show.swing_feel import Feel

__all__ = ["Click", "Pedal", "Performance", "PlayedBar", "Tone", "jumps_of", "sound"]


def sound(score: Score, *, repeats: bool = True, prefix: str = "") -> Performance:
    """The performance of a score; without ``repeats`` the page is played once through.

    ``prefix`` goes before the names of events, as in :func:`rhythm.show.rows.rows`.
    """
    order = playing_order(score.bars, jumps_of(score)) if repeats else list(range(len(score.bars)))
    fermatas = fermatas_of(score)
    held = [
        (score.bars[index].start + shift + start, score.bars[index].start + shift + end)
        for shift, index in placed(score.bars, order)
        for start, end in fermatas.get(index, ())
    ]
    clock = Clock(played_tempi(score, order), held)
    stage = Stage(score.bars, order, clock, Feel(score), tempi(score), prefix)
    tones: list[Tone] = []
    pedals: list[Pedal] = []
    for index, part in enumerate(score.parts):
        player = PartPlayer(stage, index, part)
        tones.extend(player.tones())
        pedals.extend(player.pedals())
    tones.sort(key=lambda tone: (tone.start, tone.part, tone.key, tone.end))
    return Performance(
        tuple(tones),
        tuple(sorted(_clicks(stage), key=lambda click: click.start)),
        tuple(_played(stage)),
        clock.tempi,
        tuple(sorted(pedals, key=lambda pedal: pedal.start)),
    )


def jumps_of(score: Score) -> dict[int, frozenset[str]]:
    """Which signs send the player elsewhere, by bar.

    A coda that is only drawn is where to go, unless it stands before another one.
    """
    found: dict[int, set[str]] = {}
    codas: list[int] = []
    for part in score.parts:
        for mark in part.marks:
            direction = direction_of(mark)
            if direction.jumps:
                found.setdefault(mark.bar, set()).update(direction.jumps)
            elif direction.sign == "segno":
                found.setdefault(mark.bar, set()).add("segno")
            elif direction.sign == "coda":
                codas.append(mark.bar)
    said = {name for names in found.values() for name in names}
    for bar in sorted(set(codas)):
        if bar == max(codas) and "coda" not in said:
            found.setdefault(bar, set()).add("coda")
        elif bar != max(codas) and "tocoda" not in said:
            found.setdefault(bar, set()).add("tocoda")
    return {bar: frozenset(names) for bar, names in found.items()}


def _clicks(stage: Stage) -> Iterator[Click]:
    for shift, index in placed(stage.bars, stage.order):
        bar = stage.bars[index]
        for offset, weight in metric_places(bar):
            moment = stage.feel.at(bar.start + offset) + shift
            yield Click(moment, stage.clock(moment), weight, index, beat_number(bar, offset))


def _played(stage: Stage) -> Iterator[PlayedBar]:
    turns: dict[int, int] = {}
    for shift, index in placed(stage.bars, stage.order):
        bar = stage.bars[index]
        turns[index] = turns.get(index, 0) + 1
        start, end = bar.start + shift, bar.end + shift
        yield PlayedBar(
            index, bar.number, start, end, stage.clock(start), stage.clock(end), turns[index],
            stage.clock.pace(start),
        )  # fmt: skip
