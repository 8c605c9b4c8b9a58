"""What is taken away from the bench: the music in every kind, and the same as text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from rhythm.chain import Step, as_python, as_text, options_of, parse, steps_of
from rhythm.score.model import Score
from rhythm.sentences import MADE

from .given import Given
from .music import REPORTING, Rows, options, plain, result, source, walk
from .wording import as_command, command_line

__all__ = ["KINDS", "prove", "say", "take", "unpacked"]

_TOLD = {"mid": "midi", "html": "page"}
KINDS = ("musicxml", "mxl", "mid", "svg", "pdf", "html")


@lru_cache(maxsize=8)
def _proven(given: Given, text: str) -> tuple[Score, bytes]:
    from rhythm.writing import proven

    score = result(given, [plain(step) for step in parse(text)])
    return score, proven(score)


def prove(given: Given, rows: Rows) -> dict[str, Any]:
    """Whether the result can be written so that it reads as it was meant.

    Raises MusicError or ProofError where it cannot.
    """
    _proven(given, as_text(steps_of(rows)))
    return {"proven": True}


def take(given: Given, rows: Rows, kind: str, paper: str, told: Mapping[str, Any]) -> bytes:
    """The result, to take away. Every kind is written only where the proof holds.

    ``told`` is filled into the sentence of sound or of a page, for these kinds.
    """
    from rhythm.exact.errors import RequestError
    from rhythm.formats.files import pack
    from rhythm.formats.musicxml.titles import composer_of

    if kind not in KINDS:
        raise RequestError(f"nothing is written as {kind!r}", legal=" ".join(KINDS))
    told = options(_TOLD[kind], told, given) if kind in _TOLD else {}
    score, written = _proven(given, as_text(steps_of(rows)))
    if kind == "musicxml":
        return written
    if kind == "mxl":
        return pack(written)
    if kind == "mid":
        from rhythm.verbs import midi

        return midi(score, **told)
    if kind == "svg":
        from rhythm.show.sheet import svg

        return svg(score).encode()
    if kind == "pdf":
        from rhythm.show.paper import Piece, pdf

        return pdf([Piece(score)], title=score.title, author=composer_of(score), paper=paper)
    from rhythm.verbs import page

    done = walk(given, rows).done
    # A page after one verb says why notes were moved, as that verb's own --page does.
    alone = [row["verb"] for row in rows if not row.get("off")]
    reports = len(alone) == 1 and alone[0] in REPORTING and not told
    report: Any = done[-1].report if reports else None
    before = source(given) if done else None
    asked = dict(told)
    if done and told:  # as the command that is told this reads and calls them
        from rhythm.formats import read

        names = given.name, f"{given.name.rpartition('.')[0] or given.name}-new.musicxml"
        asked = {"names": names, "title": ", ".join(names), **told}
        score = read(written, names[1])
    return page(score, before=before, report=report, **asked).encode()


def say(
    name: str, piece: str, rows: Rows, made: Mapping[str, Mapping[str, Any]], ladder: str
) -> dict[str, Any]:
    """What was done as command lines and as Python, by what it makes; and the chain to keep.

    ``made`` is what was filled into the sentences of a lesson (``exercises``), of guises, of sound
    (``midi``) and of a page; ``ladder`` are the tempi of the lesson's track.
    """
    made = {verb: options_of(MADE[verb], dict(told)) for verb, told in made.items()}
    steps = steps_of(rows)
    stem = name.rpartition(".")[0] or name
    new = f"{stem}-new.musicxml"
    active = [step for step in steps if not step.off]
    first = as_command(steps, name, new, piece) if active else ""
    source_name, which = (new, "") if active else (name, piece)
    opening = [
        "from pathlib import Path",
        "",
        *as_python(steps, name, new, piece).splitlines()[:-1],
    ]

    def texts(verb: str, out: str, *more: str, last: Sequence[str]) -> dict[str, str]:
        line = command_line(verb, made.get(verb, {}), source_name, out, *more, piece=which)
        return {
            "command": "\n".join(filter(None, [first, line])),
            "python": "\n".join([*opening, *last]) + "\n",
        }

    def called(verb: str, *more: str) -> str:
        given = [f"{key}={value!r}" for key, value in made.get(verb, {}).items()]
        return f"rhythm.{verb}({', '.join(['score', *more, *given])})"

    shown = f"{stem}-new.html"
    told = made.get("page", {})
    if active and not told:
        page = _page_of(active, name, new, shown, piece, opening)
    else:
        given = "".join(f", {key}={value!r}" for key, value in told.items())
        made_of = f"{new!r}, before={name!r}, {_named(name, new, told)}" if active else "score"
        written = [f"rhythm.write(score, {new!r})"] if active else []
        page = texts(
            "page", shown, *(["--before", name] if active else []),
            last=[
                *written,
                f"page = rhythm.page({made_of}{given})",
                f"Path({shown!r}).write_bytes(page.encode())",
            ],
        )  # fmt: skip
    return {
        "chain": as_text(steps),
        "texts": {
            "score": {
                "command": first,
                "python": as_python(steps, name, new, piece) if active else "",
            },
            "midi": texts(
                "midi", f"{stem}-new.mid",
                last=[f"Path({f'{stem}-new.mid'!r}).write_bytes({called('midi')})"],
            ),
            "page": page,
            "exercises": texts(
                "exercises", f"{stem}-sheet.pdf", "--key", f"{stem}-key.pdf",
                "--track", f"{stem}-track.mid", "--ladder", ladder,
                last=[
                    f"sheet = {called('exercises')}",
                    f"rhythm.write(sheet.score, {f'{stem}-sheet.musicxml'!r})",
                    f"rhythm.write(sheet.key, {f'{stem}-key.musicxml'!r})",
                ],
            ),
            "guises": texts(
                "guises", f"{stem}-guises.html",
                last=[
                    "from rhythm.every_metre import guises_page",
                    f"page = guises_page(score, {called('guises')})",
                    f"Path({f'{stem}-guises.html'!r}).write_bytes(page.encode())",
                ],
            ),
        },
    }  # fmt: skip


def _page_of(
    steps: Sequence[Step], name: str, new: str, shown: str, piece: str, opening: Sequence[str]
) -> dict[str, str]:
    """A page of before and after as the verb itself writes it with --page."""
    lines = [*opening, "page = rhythm.page(score, before=before)"]
    lines.insert(opening.index("import rhythm") + 3, "before = score")
    if len(steps) == 1 and steps[0].verb in REPORTING:
        told = "".join(f", {key}={value!r}" for key, value in steps[0].options.items())
        lines = [
            *opening[:-1],
            f"done = rhythm.{steps[0].verb}.outcome(score{told})",
            "page = rhythm.page(done.score, before=score, report=done.report)",
        ]
    return {
        "command": as_command(steps, name, new, piece, "--page", shown),
        "python": "\n".join([*lines, f"Path({shown!r}).write_bytes(page.encode())", ""]),
    }


def _named(name: str, new: str, told: Mapping[str, Any]) -> str:
    """What the command ``page`` calls the two versions, and the page where it is not told."""
    names = f"names=({name!r}, {new!r})"
    return names if told.get("title") else f"{names}, title={f'{name}, {new}'!r}"


def unpacked(text: str) -> list[dict[str, Any]]:
    """A chain that was kept as text, as plain tables again."""
    return [plain(step) for step in parse(text, "the chain")]
