"""``remetre check``: does every bar of every voice add up?"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import click

from rhythm.exact.frozen import dataclass

from . import errors, many, options, out, params, usage

if TYPE_CHECKING:
    from gmpy2 import mpq

    from rhythm.check.digest import Group
    from rhythm.check.ledger_rows import Finding, Ledger, Row, Summary
    from rhythm.exact.pattern import MetrePattern

__all__ = ["command", "row_object", "show"]

FAULT, REQUEST = 1, 2
_kept: list[Ledger] = []


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked of every file; passed to the processes that do the work."""

    against: str | None
    bars: str | None
    part: str | None
    voice: str | None
    form: str  # "full", "line", "json" or "code"
    score: str = ""  # the score that parts are held against


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one file: what to print, and the figures for the total."""

    code: int
    lines: str = ""
    error: str = ""
    bars: int = 0
    faults: int = 0
    notes: int = 0


@click.command("check")
@click.argument("scores", metavar="SCORE...", nargs=-1, required=True)
@options.piece
@click.option(
    "--against",
    type=params.PATTERN,
    help="A plan of metres that the bars are held to: '7/8 7/8 5/8' or '4/4*3 6/4'.",
)
@options.narrowed
@click.option("--rows", "every_row", is_flag=True, help="Show every bar and voice, right ones too.")
@click.option("--remarks", "remarks", is_flag=True, help="Show the remarks, not only their count.")
@click.option("--all", "every", is_flag=True, help="Print each finding, however many there are.")
@options.as_json
@options.page
@click.option("--force", is_flag=True, help="Replace a page that already exists.")
@options.quiet
def command(
    scores: tuple[str, ...],
    against: MetrePattern | None,
    bars: str | None,
    part: str | None,
    voice: str | None,
    every_row: bool,
    remarks: bool,
    every: bool,
    as_json: bool,
    force: bool,
    quiet: bool,
) -> None:
    """Say whether every bar of every voice adds up, and if not, where and by how much.

    SCORE is a file, a folder of scores, a pattern in quotes, or - for standard input; give as many
    as you like. Where a score and a folder are named, each part in the folder is held against the
    score too: the same bars, by number, metre and length. A fault means that the visible music
    does not add up, and ends with exit code 1; a remark is worth knowing and no fault: hidden
    voices, rounded ticks, a last bar that is short.

    \b
    remetre check song.musicxml
    remetre check song.musicxml --against '7/8 7/8 5/8'
    remetre check score.musicxml parts/
    remetre check exercises/ --quiet && echo all right
    """
    usage.require_no_metres(scores)
    files = many.expand(scores)
    single = len(files) == 1 and scores == (files[0],)
    form = "code" if quiet else "json" if as_json else "full" if single else "line"
    if form == "line" and (every_row or remarks or every):
        raise click.UsageError(
            "--rows, --remarks and --all are for one score at a time; --json tells all of many"
        )
    plan = None if against is None else str(against)
    wish = Wish(plan, bars, part, voice, form, many.score_of(scores))
    page = out.page_ready(files[0], force) if single else out.asked("page")
    if page and (not single or files[0] == "-"):
        raise click.UsageError("--page is for one score, read from a file")
    if single:
        ledger = _alone(files[0], wish)
        if form == "full":
            show(ledger, every_row=every_row, remarks=remarks, every=every)
        elif form == "json" and ledger.rows:
            click.echo(_lines(files[0], ledger, wish))
        if page:
            _show_on_page(page, files[0], ledger, force, quiet or as_json)
        raise click.exceptions.Exit(0 if ledger.is_right else FAULT)
    # What the processes need is imported before they fork, so that they share it.
    import rhythm.check.ledger
    import rhythm.formats  # noqa: F401

    outcomes: list[Outcome] = []
    with many.progress(len(files), lively=not quiet and not as_json) as tell:
        for outcome in many.spread(partial(_attempt, wish), files, _lost):
            outcomes.append(outcome)
            if outcome.error:
                out.say(f"remetre check: {outcome.error}", out="-")
            tell(outcome.lines)
    if form in ("full", "line"):
        click.echo(_total(outcomes))
    raise click.exceptions.Exit(max(outcome.code for outcome in outcomes))


def _show_on_page(page: str, name: str, ledger: Ledger, force: bool, quiet: bool) -> None:
    from rhythm.formats.files import save
    from rhythm.showing import page as shown

    from .sources import read

    save(shown(read(name), ledger=ledger).encode(), page, force=force, source=name)
    out.wrote(page, quiet)


def _alone(name: str, wish: Wish) -> Ledger:
    """The only file: its ledger is kept, so that the process ends without taking it apart."""
    from rhythm.score.uncollected import uncollected

    with uncollected():
        _kept[:] = [_ledger(name, wish)]
    return _kept[0]


def _attempt(wish: Wish, name: str) -> Outcome:
    """One file of many: what is wrong with it is said and does not stop the others."""
    from rhythm.exact.errors import MusicError, Place, RemetreError

    try:
        return _check(name, wish)
    except RemetreError as error:
        code = FAULT if isinstance(error, MusicError) else REQUEST
        return Outcome(code, error=str(error.at(Place(name))))
    except Exception as error:  # a defect met in one file does not end the run
        line, code = errors.said(error)
        return Outcome(code, error=line if line.startswith(name) else f"{name}: {line}")


def _lost(name: str) -> Outcome:
    return Outcome(REQUEST, error=f"{name}: the process that read it died")


def _ledger(name: str, wish: Wish) -> Ledger:
    from rhythm.check.ledger import check

    from .sources import read

    many.ensure(name)
    return check(read(name), against=wish.against, bars=wish.bars, part=wish.part, voice=wish.voice)


def _check(name: str, wish: Wish) -> Outcome:
    ledger = _ledger(name, wish)
    apart = _held_against(wish.score, name)
    faults = len(ledger.faults) + len(apart)
    lines = [_lines(name, ledger, wish)]
    if wish.form == "line":
        lines += [f"  against the score: {each.place}: {each}" for each in apart]
    elif wish.form == "json":
        lines += [
            json.dumps(_departure(name, wish.score, each), ensure_ascii=False) for each in apart
        ]
    return Outcome(
        FAULT if faults else 0,
        "\n".join(filter(None, lines)),
        bars=ledger.summary.bars,
        faults=faults,
        notes=len(ledger.remarks),
    )


def _held_against(score: str, name: str) -> tuple[Finding, ...]:
    """What sets a part apart from the score, where there is one."""
    if not score or name == score:
        return ()
    from rhythm.check.rehearsal import compare

    from .sources import read

    return compare(read(name), many.full_score(score))


def _departure(name: str, score: str, finding: Finding) -> dict[str, object]:
    """A departure from the score as JSON."""
    told = _finding_object(finding)
    return {"file": name, "score": score, "bar": finding.number, "index": finding.index} | told


def _lines(name: str, ledger: Ledger, wish: Wish) -> str:
    if wish.form == "json":
        return "\n".join(
            json.dumps(row_object(name, row, dict(ledger.parts)), ensure_ascii=False)
            for row in ledger.rows
        )
    return _line(name, ledger) if wish.form == "line" else ""


def row_object(name: str, row: Row, parts: Mapping[str, str]) -> dict[str, object]:
    """A row as JSON; the keys are documented in docs/checking.md."""
    return {
        "file": name,
        "part": row.part,
        "part_name": parts[row.part],
        "bar": row.number,
        "index": row.index,
        "voice": row.voice,
        "metre": row.metre,
        "length": str(row.length),
        "written": str(row.written),
        "ticks": None if row.ticks is None else str(row.ticks),
        "difference": str(row.difference),
        "verdict": row.verdict,
        "findings": [_finding_object(finding) for finding in row.findings],
    }


def _finding_object(finding: Finding) -> dict[str, object]:
    return {
        "weight": finding.weight,
        "kind": finding.kind,
        "voice": finding.voice,
        "position": str(finding.position),
        "amount": None if finding.amount is None else str(finding.amount),
        "name": finding.name,
        "message": finding.message,
        "fix": finding.fix,
    }


def _line(name: str, ledger: Ledger) -> str:
    faults = ledger.faults
    bars = _count(ledger.summary.bars, "bar")
    if not faults:
        return f"{name}: {bars}, all right"
    first = faults[0]
    places = len({finding.index for finding in faults})
    where = f"{'first ' if len(faults) > 1 else ''}{first.place}: {first}"
    return f"{name}: {bars}, {_count(len(faults), 'fault')} in {_count(places, 'bar')}; {where}"


def show(
    ledger: Ledger, *, every_row: bool = False, remarks: bool = False, every: bool = True
) -> None:
    """Print all about one score: what it is, what is wrong, what is worth knowing.

    Without ``every``, findings that are too many for a screen are shown in groups.
    """
    from rhythm.check.digest import digest

    out.say(_headline(ledger.summary))
    names = _names(ledger)
    if every_row:
        out.table(_ROW_HEADS, [_row_cells(row, names) for row in ledger.rows])
    faults, worth = ledger.faults, ledger.remarks
    shown = list(ledger.findings) if remarks else list(faults)
    groups = [] if every or len(shown) <= _A_FEW else digest(shown)
    if groups and (len(shown) > _A_SCREEN or _MANY_A_GROUP * len(groups) <= len(shown)):
        _show_groups(groups, len(shown))
    elif shown:
        out.table(_FINDING_HEADS, [_finding_cells(finding) for finding in shown])
    said = _count(len(faults), "fault") if faults else "every bar adds up"
    if worth:
        kinds = Counter(each.kind for each in worth)
        counted = ", ".join(f"{count} {kind}" for kind, count in kinds.most_common())
        hint = "" if remarks else "; --remarks shows them"
        said += f"; {_count(len(worth), 'remark')} ({counted}){hint}"
    out.say(said)


def _show_groups(groups: Sequence[Group], count: int) -> None:
    cells = [
        (str(each.count), each.kind, each.who, each.bars, each.what) for each in groups[:_A_SCREEN]
    ]
    out.table(("times", "kind", "where", "bars", "what"), cells)
    out.say(f"{_count(count, 'finding')} in {_count(len(groups), 'group')}; --all prints each")


_A_SCREEN, _A_FEW, _MANY_A_GROUP = 24, 8, 3
_ROW_HEADS = (
    "bar", "part", "voice", "metre", "length", "written", "ticks", "difference", "verdict",
)  # fmt: skip
_FINDING_HEADS = ("where", "at", "weight", "what")


def _names(ledger: Ledger) -> dict[str, str]:
    """What to call each part: by its name where that tells it from the others, else its id."""
    from rhythm.check.places import part_names

    return part_names(ledger.parts)


def _row_cells(row: Row, names: Mapping[str, str]) -> tuple[str, ...]:
    ticks = "" if row.ticks is None else str(row.ticks)
    length, written, difference = str(row.length), str(row.written), str(row.difference)
    return (
        row.number, names[row.part], row.voice, row.metre, length, written, ticks, difference,
        row.verdict,
    )  # fmt: skip


def _finding_cells(finding: Finding) -> tuple[str, ...]:
    return (finding.place, finding.beat, finding.weight, str(finding))


def _headline(summary: Summary) -> str:
    metres = ", ".join(f"{metre} in {_count(count, 'bar')}" for metre, count in summary.metres[:6])
    if len(summary.metres) > 6:
        metres += f" and {len(summary.metres) - 6} more"
    pieces = [
        f"{_count(summary.bars, 'bar')}, {_count(summary.voices, 'voice')}",
        metres or "no metre",
        _wholes(summary.length),
    ]
    if summary.seconds is not None:
        pieces.append(_clock(summary.seconds))
    return "; ".join(pieces)


def _wholes(length: mpq) -> str:
    """A length in whole notes; what has more digits than a reader takes in is rounded."""
    if max(len(str(length.numerator)), len(str(length.denominator))) > 3 < int(length.denominator):
        return f"about {round(length)} whole notes"
    return f"{length} whole notes" if length != 1 else "1 whole note"


def _clock(seconds: mpq) -> str:
    """Minutes and whole seconds: ``1 min 12 s``."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _total(outcomes: list[Outcome]) -> str:
    read = [outcome for outcome in outcomes if not outcome.error]
    if not read:
        return f"{_count(len(outcomes), 'file')}: none could be read"
    wrong = sum(1 for outcome in read if outcome.faults)
    bars = sum(outcome.bars for outcome in read)
    faults = sum(outcome.faults for outcome in read)
    said = f"{_count(len(outcomes), 'file')}, {_count(bars, 'bar')}: "
    said += f"{_count(faults, 'fault')} in {_count(wrong, 'file')}" if faults else "all right"
    unread = len(outcomes) - len(read)
    return f"{said}; {_count(unread, 'file')} could not be read" if unread else said
