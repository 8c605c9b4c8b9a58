"""One verb done on one score or on many: read, make, prove, write, and say what came of it.

One score goes where ``-o`` says. Several, or a folder, go into a folder, each under its own name;
what is wrong with one is said and does not stop the others, and a total ends the run.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from functools import partial, wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rhythm.exact.frozen import dataclass

from . import errors, many, out, usage

if TYPE_CHECKING:
    from rhythm.score.model import Score
    from rhythm.score.outcome import Outcome

__all__ = ["Made", "Output", "Result", "made", "one_by_one", "over", "total"]


@dataclass(frozen=True, slots=True)
class Made:
    """What a verb made of a score: the score, lines of music for people, the same as data.

    Nothing is written where ``score`` is None. Lines and data take time to find, and are found
    when they are asked for. ``report`` is for a command that shows more of it. ``code`` is what to
    exit with where the music is still at fault.
    """

    score: Score | None
    lines: Callable[[], Sequence[str]] = tuple
    data: Callable[[], Mapping[str, object]] = dict
    report: Any = None
    code: int = 0


@dataclass(frozen=True, slots=True)
class Output:
    """Where and how results go: what -o, --kind, --force, --quiet and --json say.

    ``kinds`` are the endings that the verb can write; with ``told_only`` nothing need be written.
    """

    where: str | None
    kind: str | None = None
    force: bool = False
    quiet: bool = False
    as_json: bool = False
    kinds: Sequence[str] = out.KINDS
    own_systems: bool = False
    inputs: tuple[str, ...] = field(default_factory=out.also_read)
    paper: str = field(default_factory=lambda: out.asked("paper", "a4"))
    page: str = field(default_factory=lambda: out.asked("page"))


@dataclass(frozen=True, slots=True)
class Result:
    """What became of one file of many."""

    code: int
    lines: str = ""
    error: str = ""
    bars: int = 0
    pages: int = 0


def made(outcome: Outcome[Any]) -> Made:
    """What a verb's outcome is to a command."""
    report = outcome.report
    return Made(
        outcome.score, lambda: [line for line in [str(report)] if line], report.to_dict, report
    )


Maker = Callable[["Score"], Made]


def over(
    verb: str,
    sources: Sequence[str],
    make: Maker,
    to: Output,
    *,
    told_only: bool = False,
    show: Callable[[Made, str], None] | None = None,
) -> None:
    """Do ``make`` on every score that ``sources`` mean, and exit as the worst of them did.

    With ``told_only`` nothing need be written: the lines, or the JSON, are what is wanted. ``show``
    prints more of a single score's result. ``make`` must survive being sent to another process.
    """
    usage.require_no_metres(sources)
    files = many.expand(sources)
    if len(files) == 1 and tuple(sources) == (files[0],) and not _is_folder(to.where):
        _require_one_kind(to.kind, to.where)
        _one(files[0], make, to, told_only, show)
        return
    if to.page:
        raise click.UsageError("--page is for one score at a time; --kind html writes many")
    if show is not None:
        raise click.UsageError("--explain is for one score at a time; --json tells of many")
    folder = _folder(to, told_only)
    places = _places(sources, files, folder, to)
    # What the processes need is imported before they fork, so that they share it.
    import rhythm.formats
    import rhythm.verbs  # noqa: F401

    results: list[Result] = []
    task = partial(_attempt, make, to, places)
    with many.progress(len(files), lively=not to.quiet and not to.as_json) as tell:
        for result in many.spread(task, files, _lost):
            results.append(result)
            if result.error:
                click.echo(errors.line(f"remetre {verb}: {result.error}"), err=True)
            tell("" if to.quiet and not to.as_json else result.lines)
    if not to.quiet and not to.as_json:
        click.echo(total(results, folder))
    _leave(max(result.code for result in results))


def _one(
    name: str,
    make: Maker,
    to: Output,
    told_only: bool,
    show: Callable[[Made, str], None] | None,
) -> None:
    from .sources import read

    many.ensure(name)
    many.spare_collector()
    where = to.where
    if where is not None or not (told_only or to.as_json or to.page):
        where = out.ready(where, name, to.force, kinds=to.kinds, inputs=to.inputs)
    page = out.page_ready(name, to.force)
    score = read(name)
    with errors.laid_to(score):
        made = make(score)
    pages = _written(made, where, name, to)
    if page and made.score is not None:
        quiet = to.quiet or to.as_json
        out.put_page(page, made.score, score, made.report, source=name, force=to.force, quiet=quiet)
    if to.as_json:
        out.say(_json(name, where, made), out=where or "")
        _leave(made.code)
        return
    if show is not None:
        show(made, where or "")
    if where is not None and made.score is not None:
        out.wrote(where, to.quiet, made.score, pages)
    for line in made.lines() if not to.quiet else ():
        out.say(line, out=where or "")
    _leave(made.code)


def _written(made: Made, where: str | None, name: str, to: Output) -> int:
    """Write what was made of ``name``, if it is to be written; how many pages it has."""
    if where is None or made.score is None:
        return 0
    return out.put(
        made.score,
        where,
        source=name,
        force=to.force,
        own_systems=to.own_systems,
        paper=to.paper,
    )


def one_by_one(kinds: Sequence[str], *, apart: Sequence[str] = ()) -> Callable[[Any], Any]:
    """For a command that writes a file of one ``source``: do it on several, into a folder.

    Without ``--kind`` the first of ``kinds`` is written there. ``apart`` are the options, by their
    keywords, that go with one score alone.
    """

    def wrap(command: Callable[..., None]) -> Callable[..., None]:
        @wraps(command)
        def each(
            scores: tuple[str, ...], kind: str | None, where: str | None, **asked: Any
        ) -> None:
            files = many.expand(scores)
            if len(files) == 1 and scores == (files[0],) and not _is_folder(where):
                _require_one_kind(kind, where)
                many.ensure(files[0])
                command(source=files[0], where=where, **asked)
                return
            for name in apart:
                if asked[name]:
                    raise click.UsageError(f"--{name} is for one score at a time")
            if out.asked("page"):
                raise click.UsageError("--page is for one score at a time")
            to = Output(where, kind or kinds[0].lstrip("."), asked["force"], asked["quiet"])
            folder = _folder(to, bool(asked.get("listed") or asked.get("as_json")))
            places = _places(scores, files, folder, to)
            results = []
            with many.progress(len(files), lively=not to.quiet) as tell:
                for name in files:
                    results.append(_one_of_many(command, name, places, asked))
                    if results[-1].error:
                        click.echo(errors.line(f"{_called()}: {results[-1].error}"), err=True)
                    tell("")
            if not to.quiet and not asked.get("as_json"):
                click.echo(total(results, folder))
            _leave(max(result.code for result in results))

        return each

    return wrap


def _called() -> str:
    return click.get_current_context().command_path


def _one_of_many(
    command: Callable[..., None],
    name: str,
    places: Mapping[str, str],
    asked: Mapping[str, Any],
) -> Result:
    where = places.get(name)
    had = out.counted()
    try:
        many.ensure(name)
        _prepare(name, places)
        command(source=name, where=where, **asked)
    except click.exceptions.Exit as ended:
        return Result(ended.exit_code)
    except click.ClickException:
        raise
    except Exception as error:  # a defect met in one file does not end the run
        return _failed(name, error)
    bars, pages = (now - then for now, then in zip(out.counted(), had, strict=True))
    return Result(0, bars=bars, pages=pages)


def _failed(name: str, error: Exception) -> Result:
    """What is said of a file that went wrong; its name stands before it in any case."""
    from rhythm.exact.errors import Place, RemetreError

    if isinstance(error, RemetreError):
        line, code = errors.said(error.at(Place(name)))
        return Result(code, error=line)
    line, code = errors.said(error)
    return Result(code, error=line if line.startswith(name) else f"{name}: {line}")


def _prepare(name: str, places: Mapping[str, str]) -> None:
    """Make the folder that a file's result goes into; object where two have one place."""
    from rhythm.exact.errors import FileError, Place

    where = places.get(name)
    if where is None:
        return
    if list(places.values()).count(where) > 1:
        raise FileError(
            f"two scores would be written as {where}",
            place=Place(name),
            legal="give them other names, or do them apart",
        )
    Path(where).parent.mkdir(parents=True, exist_ok=True)


def _leave(code: int) -> None:
    if code:
        raise click.exceptions.Exit(code)


def _json(name: str, where: str | None, made: Made) -> str:
    told: dict[str, object] = {"file": name}
    if where is not None:
        told["wrote"] = where
    if made.score is not None:
        told["bars"] = len(made.score.bars)
    return json.dumps(told | dict(made.data()), ensure_ascii=False)


def _require_one_kind(kind: str | None, where: str | None) -> None:
    """Object to a file whose ending says otherwise than --kind."""
    if kind and where and Path(where).suffix.lower() != f".{kind}":
        raise click.UsageError(
            f"--kind is for a folder of results; -o {where} says itself what is written"
        )


def _is_folder(where: str | None) -> bool:
    return where is not None and where != "-" and (where.endswith(_SLASHES) or Path(where).is_dir())


_SLASHES = ("/", os.sep)


def _folder(to: Output, told_only: bool) -> Path | None:
    """The folder to write into, made if need be; None where nothing is to be written."""
    from rhythm.exact.errors import Place, RequestError

    if to.where is None:
        if told_only or to.as_json:
            return None
        raise click.UsageError("say where to write with -o FOLDER, as in -o out/")
    folder = Path(to.where)
    if to.where == "-" or folder.is_file() or folder.suffix.lower() in out.KINDS:
        raise RequestError(
            "several scores do not go into one file",
            place=Place(to.where),
            legal="name a folder, as in -o out/",
        )
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _places(
    sources: Sequence[str], files: Sequence[str], folder: Path | None, to: Output
) -> dict[str, str]:
    """Where each file's result goes; a folder's own folders are kept."""
    if folder is None:
        return {}
    roots = [Path(source) for source in sources if Path(source).is_dir()]
    places = {}
    for name in files:
        path = Path(name)
        root = next((each for each in roots if path.is_relative_to(each)), path.parent)
        places[name] = str((folder / path.relative_to(root)).with_suffix(_ending(path, to)))
    return places


def _ending(path: Path, to: Output) -> str:
    if to.kind is not None:
        return f".{to.kind}"
    own = path.suffix.lower()
    return path.suffix if own in (".musicxml", ".xml", ".mxl") and own in to.kinds else to.kinds[0]


def _attempt(make: Maker, to: Output, places: Mapping[str, str], name: str) -> Result:
    """One file of many: what is wrong with it is its result and does not stop the others."""
    try:
        return _made(make, to, places, name)
    except Exception as error:  # a defect met in one file does not end the run
        return _failed(name, error)


def _made(make: Maker, to: Output, places: Mapping[str, str], name: str) -> Result:
    from .sources import read

    many.ensure(name)
    where = places.get(name)
    _prepare(name, places)
    if where is not None:
        out.ready(where, name, to.force, kinds=to.kinds, inputs=to.inputs)
    score = read(name)
    with errors.laid_to(score):
        made = make(score)
    pages = _written(made, where, name, to)
    bars = len(made.score.bars) if made.score is not None else 0
    if to.as_json:
        return Result(made.code, _json(name, where, made), bars=bars, pages=pages)
    if to.quiet:
        return Result(made.code, bars=bars, pages=pages)
    told = [out.extent(made.score)] if made.score is not None else []
    if pages:
        told[-1:] = [f"{told[-1]}, {_count(pages, 'page')}"]
    lines = f"{where or name}: {'; '.join([*told, *made.lines()])}"
    return Result(made.code, lines, bars=bars, pages=pages)


def _lost(name: str) -> Result:
    return Result(errors.REQUEST, error=f"{name}: the process that worked on it died")


def total(results: Sequence[Result], folder: Path | None = None) -> str:
    """One line of a run over many scores: how much music, and what went wrong."""
    done = [result for result in results if not result.error]
    said = _count(len(done), "score")
    for thing, number in (
        ("bar", sum(result.bars for result in done)),
        ("page", sum(result.pages for result in done)),
    ):
        said += f", {_count(number, thing)}" if number else ""
    if folder is not None:
        said += f" in {folder}"
    for code, what in (
        (errors.FAULT, "could not be written so"),
        (errors.REQUEST, "could not be read or written"),
        (errors.DEFECT, "met a defect of this program"),
    ):
        if number := sum(result.code == code and bool(result.error) for result in results):
            said += f"; {number} {what}"
    return said


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
