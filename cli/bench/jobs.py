"""What the bench's workers do: plain data in, plain data out; no file and no path.

A score comes as its bytes and its name, a chain as plain tables. What was read and made is kept by
content for as long as the worker lives, so that a changed blank costs what it changes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from rhythm.chain import Done, Step, as_python, as_text, followed, parse, steps_of
from rhythm.exact.errors import RemetreError
from rhythm.score.model import Score

__all__ = ["KINDS", "guises", "lesson", "opened", "say", "show", "take", "take_lesson", "unpacked"]

Rows = Sequence[Mapping[str, Any]]

_MOST_GUISES = 40

KINDS = ("musicxml", "mxl", "mid", "svg", "pdf", "html")


@lru_cache(maxsize=8)
def _read(data: bytes, name: str) -> Score:
    from rhythm.formats import read

    return read(data, name)


@lru_cache(maxsize=64)
def _after(data: bytes, name: str, text: str) -> tuple[Done, ...]:
    """What a chain, as text, made of a score; every beginning of it is kept as well."""
    steps = parse(text)
    if not steps:
        return ()
    before = _after(data, name, as_text(steps[:-1]))
    last = steps[-1]
    if last.off:
        return before
    score = before[-1].score if before else _read(data, name)
    (done,) = followed(score, [last])
    return (*before, Done(len(steps), done.score, done.report))


def opened(data: bytes, name: str) -> dict[str, Any]:
    """What the page must know of a score that was dropped on it, its ledger included."""
    from rhythm.check.ledger import check

    score = _read(data, name)
    ledger = check(score)
    return {
        "title": score.title or name,
        "bars": [bar.number for bar in score.bars],
        "parts": [
            {"name": part.name or part.id, "voices": [voice.name for voice in part.voices]}
            for part in score.parts
        ],
        "metre": str(score.bars[0].metre or "") if score.bars else "",
        "right": ledger.is_right,
        "faults": [str(fault) for fault in ledger.faults[:200]],
        "faulty": len({fault.index for fault in ledger.faults}),
    }


def show(data: bytes, name: str, rows: Rows) -> dict[str, Any]:
    """The page of a score before and after a chain; the step that cannot be done, if one cannot.

    What stands before such a step is shown, so that the music stays as it was.
    """
    from rhythm.showing import page

    source = _read(data, name)
    steps = steps_of(rows)
    done: tuple[Done, ...] = ()
    problem: dict[str, Any] = {}
    for count in range(1, len(steps) + 1):
        try:
            done = _after(data, name, as_text(steps[:count]))
        except RemetreError as error:
            problem = {"step": count, "says": _unnumbered(error)}
            break
    score = done[-1].score if done else source
    report = done[-1].report if len(done) == 1 else None
    html = page(
        score,
        source if done else None,
        report=report,  # type: ignore[arg-type]
        title=source.title or name,
    )
    return {
        "html": html,
        "lines": {each.number: str(each.report or "") for each in done},
        "problem": problem,
        "bars": [bar.number for bar in score.bars],
    }


def _unnumbered(error: RemetreError) -> str:
    """The error without the number of its step: it stands beside it."""
    _, _, rest = str(error).rpartition("): ")
    return rest or str(error)


def _result(data: bytes, name: str, rows: Rows) -> Score:
    done = _after(data, name, as_text(steps_of(rows)))
    return done[-1].score if done else _read(data, name)


def take(data: bytes, name: str, rows: Rows, kind: str, paper: str) -> bytes:
    """The result, to take away. Every kind is written only where the proof holds."""
    from rhythm.formats.files import pack
    from rhythm.formats.musicxml.titles import composer_of
    from rhythm.showing import page
    from rhythm.writing import proven

    score = _result(data, name, rows)
    written = proven(score)
    if kind == "musicxml":
        return written
    if kind == "mxl":
        return pack(written)
    if kind == "mid":
        from rhythm.verbs import midi

        return midi(score)
    if kind == "svg":
        from rhythm.show.sheet import svg

        return svg(score).encode()
    if kind == "pdf":
        from rhythm.show.paper import Piece, pdf

        return pdf([Piece(score)], title=score.title, author=composer_of(score), paper=paper)
    source = _read(data, name)
    return page(score, source if rows else None, title=source.title or name).encode()


def say(name: str, rows: Rows) -> dict[str, str]:
    """A chain as a command line, as Python, and as a text to keep."""
    from .wording import as_command

    steps = steps_of(rows)
    out = f"{name.rpartition('.')[0] or name}-new.musicxml"
    return {
        "command": as_command(steps, name, out),
        "python": as_python(steps, name, out),
        "chain": as_text(steps),
    }


def unpacked(text: str) -> list[dict[str, Any]]:
    """A chain that was kept as text, as plain tables again."""
    return [_plain(step) for step in parse(text, "the chain")]


def _plain(step: Step) -> dict[str, Any]:
    return {"verb": step.verb, **step.options, **({"off": True} if step.off else {})}


def guises(data: bytes, name: str, bars: int) -> dict[str, Any]:
    """The theme in every metre and feel: a gallery, and the step that makes each."""
    from rhythm.every_metre import guises as made
    from rhythm.show.gallery import gallery

    score = _read(data, name)
    found = made(score, bars=bars, most=_MOST_GUISES)
    return {
        "html": gallery(
            f"{score.title or name}: {len(found)} guises", [each.entry for each in found]
        ),
        "steps": [_plain(each.step) for each in found],
    }


_LESSON = ("bars", "part", "voice", "count", "levels", "title", "only", "instrument")


def _sheet(data: bytes, name: str, rows: Rows, told: Mapping[str, Any]) -> Any:
    from rhythm.verbs import exercises

    asked: dict[str, Any] = {key: str(told[key]) for key in _LESSON if told.get(key)}
    for key in ("most", "seed"):
        if str(told.get(key) or "").isdecimal():
            asked[key] = int(str(told[key])[:6])
    return exercises(_result(data, name, rows), **asked)


def _pieces(sections: Sequence[tuple[str, Score]], words: Sequence[str] = ()) -> list[Any]:
    from rhythm.show.paper import Piece

    said = [(each,) if each else () for each in words] or [()] * len(sections)
    return [
        Piece(score, heading=heading, text=text)
        for (heading, score), text in zip(sections, said, strict=True)
    ]


def lesson(data: bytes, name: str, rows: Rows, told: Mapping[str, Any]) -> dict[str, Any]:
    """A practice sheet as a gallery, its size, and what was left out and why."""
    from rhythm.show.gallery import Entry, gallery

    sheet = _sheet(data, name, rows, told)
    entries = [Entry(heading, sheet.title, "", score) for heading, score in sheet.sections]
    return {
        "html": gallery(sheet.title, entries),
        "size": sheet.size,
        "left_out": list(sheet.left_out),
    }


def take_lesson(
    data: bytes, name: str, rows: Rows, told: Mapping[str, Any], what: str, paper: str
) -> bytes:
    """The pupil's sheet or the teacher's key, on paper or as MusicXML."""
    from rhythm.show.paper import pdf
    from rhythm.writing import proven

    sheet = _sheet(data, name, rows, told)
    if what == "key":
        return pdf(
            _pieces(sheet.key_sections, sheet.key_words), title=f"Key: {sheet.title}", paper=paper
        )
    if what == "musicxml":
        return proven(sheet.score)
    return pdf(_pieces(sheet.sections), title=sheet.title, paper=paper)
