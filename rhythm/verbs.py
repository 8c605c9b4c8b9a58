"""The verbs that join layers: restating and varying with counting, and proven practice sheets.

Counting belongs to practice, restating and varying to the verbs, titles and proof to the formats;
they are joined here, so that every option of a command is a keyword of its function. ``counted``
takes what a verb gave back. Each imports what it needs when it is called.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from gmpy2 import mpq

from rhythm.exact.errors import ProofError, RequestError
from rhythm.score.model import Score
from rhythm.score.outcome import Outcome, Report, Telling, Verb
from rhythm.score.select import Bars, select

if TYPE_CHECKING:
    from rhythm.exact.time_map import TimeMap
    from rhythm.practice.exercises import Sheet
    from rhythm.practice.sheet_plan import Plan
    from rhythm.practice.syllables import Counting
    from rhythm.restate.report import Report as Restatement
    from rhythm.restate.targets import Target
    from rhythm.showing import Page

__all__ = ["counted", "exercises", "midi", "page", "restate", "tuplet", "vary"]

Dissolving = Literal["written", "halved"]
Manner: TypeAlias = Literal["source", "house"] | str | Score


@Verb
def restate(
    score: Score,
    to: Target,
    *,
    by: Literal["bar", "beat"] | None = None,
    lilt: Literal["trochee", "iamb", "even"] | str = "trochee",
    fit: Literal["idiomatic", "exact"] | None = None,
    tempo: Literal["beat", "value"] = "beat",
    bars: str | Bars | None = None,
    place: Literal["here", "alone", "append"] = "here",
    mapping: str | TimeMap | None = None,
    count: Counting | None = None,
    manner: Manner = "source",
) -> Outcome[Restatement]:
    """The score in another metre or feel.

    ``to`` is a metre (``12/8``), a cycle of metres (``7/8 7/8 5/8``), a table (``4/4:12/8``), or
    one of the words compound, simple, triplets, duplets. ``by`` ``bar`` (the default) keeps the
    bars and maps each to one of the target; ``beat`` maps beat to beat and redraws the bar lines.
    ``lilt`` is trochee (long first), iamb, even or a ratio r:s; ``fit`` idiomatic or exact (None:
    idiomatic, but a ratio that falls on no grid, such as 3:2, is kept). ``tempo`` says what keeps
    its rate, the beat or the value. ``bars`` names a passage by printed numbers (``5-8``);
    ``place`` says whether it is restated here, written alone, or appended as a return. ``mapping``
    replaces the aligned map by pairs of positions in whole notes (``1/8=1/4, 1/4=3/8``) or by a
    :class:`~rhythm.exact.time_map.TimeMap`, of the beat or, with ``by="bar"``, of the bar.
    ``count`` names a way of counting (numbers, takadimi, gordon, kodaly)
    to write under the notes of the passage. ``manner`` says how what handbooks leave open is
    written: as the ``source``'s editor did, as the ``house`` does, or as the editor of another
    score.

    The report tells what became of every beat. Raises RequestError for an illegal option,
    MusicError where the music cannot be written.
    """
    from rhythm.restate.restate import restated

    done = restated(
        score,
        to,
        by=by,
        lilt=lilt,
        fit=fit,
        tempo=tempo,
        bars=bars,
        place=place,
        mapping=mapping,
        manner=manner,
    )
    return done.with_score(counted(done, count))


@Verb
def vary(
    score: Score,
    devices: str | Iterable[str],
    *,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
    count: Counting | None = None,
    manner: Manner = "source",
) -> Outcome[Report]:
    """The score put through ``devices``, one after the other.

    A device is a name with its argument, as in ``augmentation:3/2``; ``remetre vary --list`` and
    :mod:`rhythm.devices.registry` tell all. ``bars`` (``5-8``) limits them to a passage,
    which may come out longer or shorter; ``part`` (id or name) and ``voice`` to some voices, which
    then must come out as long as they went in. ``count`` names a way of counting (numbers,
    takadimi, gordon, kodaly) to write under what was varied. ``manner`` is as in :func:`restate`.

    The report has ``told``, what the devices had to tell. Raises RequestError for a device or
    argument that is none, MusicError where the music does not allow it.
    """
    from rhythm.devices.vary import varied
    from rhythm.notate.manner import in_manner

    score = in_manner(score, manner)
    done = varied(select(score, bars=bars, part=part, voice=voice), devices)
    return done.with_score(counted(done, count, part=part, voice=voice))


@Verb
def tuplet(
    score: Score,
    ratio: str | None = None,
    *,
    unit: str | mpq = "1/8",
    split: int | None = None,
    span: str | mpq | None = None,
    dissolve: Dissolving | None = None,
    bars: str | Bars | None = None,
    manner: Manner = "source",
) -> Outcome[Telling]:
    """Notes squeezed into tuplets, divided into equal parts, or released: one of the three.

    With ``ratio`` (``5:4``) every N consecutive notes of ``unit`` are played in the time of M,
    rebarred. Arithmetic: every duration times M/N. Brackets are counted from the first full bar on.
    A remainder that does not fill one is padded with silence, before an upbeat and at the end, and
    so is the last bar. A note held across brackets is tied from one into the next. A metre whose
    bar lines would cut brackets gives way to the nearest in length that holds whole ones. A second
    ratio over the same bars nests.

    With ``split`` every note that lasts ``span`` becomes so many equal notes on its pitch.

    With ``dissolve`` tuplets become plain notes: ``written``, each as long as it looks (triplet
    eighths are eighths, and the bar grows to hold them); ``halved``, half as long as it looks
    (triplet eighths are sixteenths, and the bar shrinks). ``bars`` (``5-8``) limits it to a
    passage; ``manner`` is as in :func:`restate`.

    Raises RequestError where not one of the three is asked for, and for a ratio, unit or number
    that is none; MusicError where a bracket would cross a bar line that must stay, or no note lasts
    ``span``.
    """
    from rhythm.notate.manner import in_manner
    from rhythm.rebar import release
    from rhythm.rebar.tuplet import divide, squeeze

    if [ratio, split, dissolve].count(None) != 2:
        raise RequestError("what to do is not said", legal="one of a ratio, a split, or dissolve")
    if (split is None) != (span is None):
        raise RequestError("a split lacks its span", legal="a number of notes and a note value")
    score = in_manner(score, manner)
    if split is not None and span is not None:
        return divide(score, split, span, bars)
    if ratio is not None:
        return squeeze(score, ratio, unit, bars)
    if dissolve not in release.WAYS:
        raise RequestError(
            f"tuplets cannot be dissolved {dissolve!r}", legal=" or ".join(release.WAYS)
        )
    return release.dissolve(score, dissolve, bars)


def exercises(
    theme: Score,
    plan: Plan | str | os.PathLike[str] | None = None,
    *,
    seed: int | None = None,
    only: Literal["rhythm"] | None = None,
    count: Counting | None = None,
    most: int | None = None,
    levels: tuple[mpq, mpq] | str | None = None,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
    title: str | None = None,
    instrument: str | None = None,
    steps: int | None = None,
    players: str | None = None,
    listen: int | None = None,
    beats: bool | None = None,
    manner: Manner = "source",
) -> Sheet:
    """A sheet of exercises made of ``theme``; see :func:`rhythm.practice.exercises.exercises`.

    Every exercise is written and read back before it is taken, and the sheet is titled after the
    theme where neither ``title`` nor the plan gives it another.
    """
    from rhythm.practice import exercises as practice
    from rhythm.writing import laid_to, proven

    try:
        return practice.exercises(
            theme,
            plan,
            seed=seed,
            only=only,
            count=count,
            most=most,
            levels=levels,
            bars=bars,
            part=part,
            voice=voice,
            title=title,
            manner=manner,
            instrument=instrument,
            steps=steps,
            players=players,
            listen=listen,
            beats=beats,
            proof=proven,
        )
    except ProofError as failed:
        raise laid_to(failed, theme, anywhere=True) from None


def page(
    score: Score,
    *,
    before: Score | str | os.PathLike[str] | None = None,
    report: Restatement | Report | None = None,
    count: Counting = "numbers",
    title: str = "",
    names: tuple[str, str] = ("before", "after"),
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
) -> Page:
    """The score as a page for the browser: one HTML text that needs nothing else.

    In a notebook the text shows itself as the page it is.

    With ``before``, that score stands over this one, both broken at the same bars, and threads lead
    from every note to its image. ``report`` is what the verb told that led from one to the other: a
    restatement's says why notes were moved; ``count`` the way of counting in which the page names
    places (numbers, takadimi, gordon, kodaly); ``title`` and ``names`` what to call the page and
    the two versions.
    ``bars``, ``part`` and ``voice`` narrow what is shown.

    Raises RequestError for what the score does not have, MusicError for what cannot be engraved.
    """
    from rhythm.arguments import opened
    from rhythm.score.excerpt import excerpt
    from rhythm.showing import page as shown

    def some(whole: Score) -> Score:
        return excerpt(whole, bars=bars, part=part, voice=voice)

    under = None if before is None else some(opened(before))
    return shown(some(score), under, report=report, count=count, title=title, names=names)


def midi(
    score: Score,
    *,
    repeats: bool = True,
    speed: str = "100%",
    click: bool = False,
    count_in: int = 0,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
) -> bytes:
    """The score as a Standard MIDI File; ``repeats=False`` plays the page once through.

    ``speed`` is in percent of the score's own tempo, ``'10%'`` to ``'400%'``. ``click`` adds a
    track that clicks the beats, ``count_in`` so many bars (0 to 8) counted before the music.
    ``bars``, ``part`` and ``voice`` narrow what is heard. Not played: arpeggios, glissandi,
    breaths, words such as rit. and "Swing", fermatas over a bar line, microtones. Raises
    RequestError for what the score does not have, and for a speed or a count outside those ranges.
    """
    from rhythm.score.excerpt import excerpt
    from rhythm.show.midi import midi_bytes

    heard = excerpt(score, bars=bars, part=part, voice=voice)
    return midi_bytes(heard, repeats=repeats, speed=speed, click=click, count_in=count_in)


def counted(
    done: Outcome[Any],
    system: Counting | None,
    *,
    part: str | None = None,
    voice: str | None = None,
) -> Score:
    """The score that was made, with syllables under the passage it was made of.

    Bars outside the passage stay as they were. ``part`` and ``voice`` are those that were asked
    for. None for ``system`` counts nothing.
    """
    if system is None:
        return done.score
    from rhythm.practice.counting import count

    return count(done.score, system, part, voice, bars=done.passage)
