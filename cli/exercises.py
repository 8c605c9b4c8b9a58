"""``remetre exercises``: a theme becomes a practice sheet."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from . import errors, options, out, params, work

if TYPE_CHECKING:
    from gmpy2 import mpq

    from rhythm.practice.exercises import Sheet
    from rhythm.practice.recipes import Exercise
    from rhythm.practice.syllables import Counting
    from rhythm.score.model import Score

__all__ = ["command"]


def _planned(context: click.Context, option: click.Parameter, plan: str | None) -> str | None:
    if plan is not None:
        out.reads(plan)
    return plan


@click.command("exercises")
@options.sources
@click.option(
    "--plan",
    "plan_path",
    metavar="FILE",
    callback=_planned,
    help="Make the exercises of a plan in TOML; see `remetre help exercises.md`.",
)
@click.option(
    "--seed",
    type=params.Number(),
    help="Draw the drills by another lot; the same number draws the same.  [default: 0]",
)
@click.option("--only", type=params.Word(["rhythm"]), help="Take the pitches away.")
@options.count
@click.option("--most", type=params.Number(1), help="At most this many, from easy to hard.")
@click.option(
    "--levels", type=params.LEVELS, help="Only exercises between these levels, 1 to 10: 2-6.5."
)
@click.option("--title", metavar="TEXT", help="The title of the sheet.")
@click.option(
    "--instrument",
    metavar="NAME",
    help="Write everything for this instrument, in its clef, key and compass: clarinet, viola.",
)
@click.option(
    "--steps",
    type=params.Number(4, 6),
    help="Lead to the hardest bar of the music in this many steps (4 to 6), instead of other "
    "exercises.",
)
@click.option(
    "--players",
    metavar="LIST",
    help="Make a score for a mixed class instead: 'flute, clarinet: division, clapping'.",
)
@click.option(
    "--listen",
    type=params.Number(1, 12),
    help="Make this many tasks for the ear (1 to 12) instead; --track writes what is played.",
)
@click.option(
    "--beats/--no-beats",
    default=None,
    help="Print a bar of count-in before each exercise, and the beat on a line under it.",
)
@click.option(
    "--track",
    "track",
    metavar="WHERE",
    help="Write what to practise with: one file (.mid), or a file for each exercise in a folder.",
)
@click.option(
    "--ladder",
    default="60% 80% 100%",
    show_default=True,
    metavar="TEMPI",
    help="The tempi of the track: percent of the music's own, or beats a minute (60 72 84).",
)
@click.option("--key", "key", metavar="FILE", help="Write the teacher's key here, as a score.")
@click.option("--answers", "answers", metavar="FILE", help="Write the answers here (.md, .pdf).")
@click.option(
    "--list",
    "listed",
    is_flag=True,
    help="List the exercises with their levels; with no -o nothing is written.",
)
@options.manner
@options.narrowed
@options.as_json
@options.into_many
@work.one_by_one(out.KINDS, apart=("key", "answers", "track", "title"))
def command(
    source: str,
    plan_path: str | None,
    seed: int | None,
    only: Literal["rhythm"] | None,
    count: Counting | None,
    most: int | None,
    levels: tuple[mpq, mpq] | None,
    title: str | None,
    instrument: str | None,
    steps: int | None,
    players: str | None,
    listen: int | None,
    beats: bool | None,
    track: str | None,
    ladder: str,
    key: str | None,
    answers: str | None,
    listed: bool,
    manner: str | Score,
    bars: str | None,
    part: str | None,
    voice: str | None,
    as_json: bool,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Make a sheet of exercises of a theme, from easy to hard, each named and proven.

    \b
    remetre exercises song.musicxml -o sheet.musicxml --key key.musicxml
    remetre exercises song.musicxml --count takadimi --most 8 -o sheet.html
    remetre exercises song.musicxml --plan plan.toml --list
    remetre exercises songs/ --kind pdf -o sheets/
    """
    from rhythm.formats.files import save
    from rhythm.practice.practice_track import read_ladder
    from rhythm.verbs import exercises

    from .sources import read

    page = out.page_ready(source, force)
    if where is not None or not (listed or as_json or answers or key or page or track):
        where = out.ready(where, source, force)
    if key is not None:
        key = out.ready(key, source, force)
    if answers is not None:
        answers = out.ready(answers, source, force, kinds=(".md", ".txt", ".pdf"))
    if track is not None:
        track = _track_ready(track, source, force)
        read_ladder(ladder)
    theme = read(source)
    sheet = exercises(
        theme,
        plan_path,
        seed=seed,
        only=only,
        count=count,
        most=most,
        levels=levels,
        bars=bars,
        part=part,
        voice=voice,
        title=title,
        instrument=instrument,
        steps=steps,
        players=players,
        listen=listen,
        beats=beats,
        manner=manner,
    )
    pages = 0
    with errors.laid_to(theme, anywhere=True):
        if where is not None:
            from rhythm.show.paper import page_count

            paper = b""
            if not quiet or where.lower().endswith(".pdf"):
                paper = _paper(sheet.sections, sheet.title)
                pages = page_count(paper)
            _put(sheet.score, paper, where, source, force)
            out.count(len(sheet.score.bars), pages)
            out.wrote(where, quiet)
        if page:
            out.put_page(page, sheet.score, source=source, force=force, quiet=quiet)
        if key is not None:
            on_paper = key.lower().endswith(".pdf")
            title = f"Key: {sheet.title}"
            _put(
                sheet.key,
                _paper(sheet.key_sections, title, sheet.key_words) if on_paper else b"",
                key,
                source,
                force,
            )
            out.wrote(key, quiet)
    if answers is not None:
        save(_on_paper(sheet.answers, answers), answers, force=force)
        out.wrote(answers, quiet)
    if track is not None:
        _play(sheet, track, ladder, force)
        out.wrote(track, quiet)
    if listed or as_json:
        _list(sheet, as_json, where or "")
    size = sheet.size + (f", {pages} page{'s' * (pages != 1)}" if pages else "")
    out.say(size, out=where or "-", quiet=quiet or where is None)
    for line in sheet.notes:
        out.say(line, out="-", quiet=quiet)
    for line in sheet.left_out:
        out.say(f"left out: {line}", out="-", quiet=quiet)


_TRACK = (".mid", ".midi")


def _track_ready(where: str, source: str, force: bool) -> str:
    """Object to a place for the track before any work is done; without an ending it is a folder."""
    path = Path(where)
    if path.suffix.lower() in _TRACK or (path.suffix and not path.is_dir()):
        return out.ready(where, source, force, kinds=_TRACK)
    if path.exists() and not path.is_dir():
        raise click.UsageError(f"{where} is a file; a track goes into a .mid or a folder")
    return where


def _play(sheet: Sheet, where: str, ladder: str, force: bool) -> None:
    """Write the track as one file, or each exercise into a folder; the beats are clicked."""
    from rhythm.formats.files import save
    from rhythm.show.midi import midi_bytes

    if Path(where).suffix.lower() in _TRACK:
        save(midi_bytes(sheet.track(ladder), click=True), where, force=force)
        return
    made = [(name, midi_bytes(score, click=True)) for name, score in sheet.tracks(ladder)]
    folder = Path(where)
    for name, _ in made:
        file = str(folder / f"{name}.mid")
        if folder.is_dir():
            out.ready(file, "-", force, kinds=_TRACK)
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in made:
        save(data, str(folder / f"{name}.mid"), force=force)


def _put(score: Score, paper: bytes, where: str, source: str, force: bool) -> None:
    """Write a sheet as its ending says."""
    if not where.lower().endswith(".pdf"):
        out.put(score, where, source=source, force=force, own_systems=True)
        return
    from rhythm.formats.files import save

    save(paper, where, force=force, source="" if source == "-" else source)


def _paper(sections: Sequence[tuple[str, Score]], title: str, words: Sequence[str] = ()) -> bytes:
    """The pages of a sheet: every exercise is set by itself, under its head and what it says."""
    from rhythm.show.paper import Piece, pdf
    from rhythm.writing import proven

    for _, section in sections:
        proven(section)
    said = [(each,) if each else () for each in words] or [()] * len(sections)
    pieces = [
        Piece(section, heading=heading, text=text)
        for (heading, section), text in zip(sections, said, strict=True)
    ]
    return pdf(pieces, title=title, paper=out.asked("paper", "a4"), within=2)


def _on_paper(text: str, where: str) -> bytes:
    """The answers as their ending says: on pages, or as they are."""
    if not where.lower().endswith(".pdf"):
        return text.encode()
    from rhythm.show.paper import pdf, pieces_of

    title, pieces = pieces_of(text)
    return pdf(pieces, title=title, paper=out.asked("paper", "a4"))


def _list(sheet: Sheet, as_json: bool, where: str) -> None:
    """Every exercise with its level and what it is made of."""
    made = sheet.made
    if as_json:
        for number, exercise in made:
            told = {"number": number, "exercise": exercise.heading}
            click.echo(
                json.dumps(
                    told | {"arithmetic": exercise.arithmetic} | exercise.difficulty.to_dict(),
                    ensure_ascii=False,
                ),
                err=where == "-",
            )
        return
    columns = ("", "exercise", "level", "sync", "WNBD", "off", "nPVI", "density", "finest")
    out.table(columns, [_row(number, exercise) for number, exercise in made], out=where)


def _row(number: int, exercise: Exercise) -> tuple[str, ...]:
    from rhythm.exact.values import format_value
    from rhythm.practice.measures import tenths

    found = exercise.difficulty
    return (
        str(number or ""),
        exercise.heading,
        found.text,
        str(found.syncopation),
        tenths(found.wnbd),
        str(found.off_beatness),
        tenths(found.npvi),
        tenths(found.density),
        format_value(found.finest),
    )
