"""What the bench shows: a score, before over after, the bars that do not add up."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING, Any

from rhythm.exact.errors import RemetreError

from .given import Given
from .music import REPORTING, Rows, options, plain, plainly, source, walk

if TYPE_CHECKING:
    from rhythm.chain import Done
    from rhythm.check.ledger_rows import Ledger
    from rhythm.score.model import Score
    from rhythm.show.drawing import Drawing
    from rhythm.show.laid_out import LaidOut

__all__ = ["draw", "faults", "later", "opened", "ready", "show", "tell"]

_MOST_FAULTS = 200
_MOST_DRAWN = 12  # bars with a fault, drawn
_MOST_KEPT = 600  # drawings
_NAMES, _ALONE = ("before", "after"), "the score"


def ready(data: bytes, name: str) -> bool:
    """Start the engraver, load what showing a score needs, and have the first score ready."""
    from rhythm.score.uncollected import uncollected
    from rhythm.show import engraver

    engraver.begin()
    with uncollected():
        for each in _NEEDED:
            import_module(each)
        if data:
            given = Given(data, name)
            opened(given, {})
            show(given, [], False, (0, 2), ())
    return True


_NEEDED = ("rhythm.formats", "rhythm.check.ledger", "rhythm.show.likely_rows")


def later() -> bool:
    """Load what the first sentence needs."""
    for each in _LATER:
        import_module(each)
    return True


_LATER = (
    "rhythm.show.page",
    "rhythm.restate.restate",
    "rhythm.verbs",
    "rhythm.showing",
    "rhythm.practice.counting",
)


def _ledger(given: Given, told: Mapping[str, Any]) -> Ledger:
    return _checked(given, tuple(sorted(options("check", told, given).items())))


@lru_cache(maxsize=8)
def _checked(given: Given, told: tuple[tuple[str, Any], ...]) -> Ledger:
    from rhythm.check.ledger import check

    return check(source(given), **dict(told))


def opened(given: Given, told: Mapping[str, Any]) -> dict[str, Any]:
    """What the page must know of a score that was dropped on it, its ledger included.

    Of a book of tunes that is the list of its ``pieces``. ``told`` is filled into
    the sentence of checking.
    """
    from rhythm.formats import pieces

    if not given.piece:
        found = pieces(given.data, given.name)
        if len(found) > 1:
            return {"pieces": found, "title": given.name}
    score = source(given)
    ledger = _ledger(given, told)
    return {
        "pieces": [],
        "title": score.title or given.name,
        "bars": [bar.number for bar in score.bars],
        "parts": [
            {"name": part.name or part.id, "voices": [voice.name for voice in part.voices]}
            for part in score.parts
        ],
        "right": ledger.is_right,
        "faults": [plainly(str(fault)) for fault in ledger.faults[:_MOST_FAULTS]],
        "faulty": len({fault.index for fault in ledger.faults}),
        "remarks": len(ledger.remarks),
    }


@lru_cache(maxsize=8)
def _measured(given: Given) -> list[int]:
    from rhythm.show.rows import bar_widths

    return bar_widths(source(given))


def _both(given: Given, text: str) -> tuple[Score, Score | None, tuple[Done, ...]]:
    """The score after a chain that can be done, the one before it, and what its steps made."""
    from rhythm.chain import parse

    done = walk(given, [plain(step) for step in parse(text)]).done
    before = source(given)
    return (done[-1].score, before, done) if done else (before, None, done)


_overfull: set[tuple[Given, str, bool]] = set()


def _laid_out(given: Given, text: str, narrow: bool) -> LaidOut:
    """The rows of a score before and after a chain that can be done."""
    return _rows(given, text, narrow, (given, text, narrow) in _overfull)


@lru_cache(maxsize=6)
def _rows(given: Given, text: str, narrow: bool, exactly: bool) -> LaidOut:
    from rhythm.show.likely_rows import NARROW, WIDE, likely_rows
    from rhythm.show.rows import bar_widths

    after, before, _ = _both(given, text)
    exact = bar_widths(after) if exactly and before is not None else None
    return likely_rows(after, before, NARROW if narrow else WIDE, _measured(given), exact)


def show(
    given: Given, rows: Rows, narrow: bool, near: Sequence[int], have: Iterable[str]
) -> dict[str, Any]:
    """What a chain makes of a score, and the rows of before and after that are looked at, drawn.

    ``near`` are the first and the last of these; rows whose keys the page has already are not
    drawn. What stands before a step that cannot be done is shown, so that the music stays as it
    was.
    """
    walked = walk(given, rows)
    known = frozenset(have)
    laid_out, drawn = _looked_at(given, walked.text, narrow, near, known)
    if drawn.pop("overfull"):
        # What was likely to fit did not: the widths are measured after all.
        _overfull.add((given, walked.text, narrow))
        laid_out, drawn = _looked_at(given, walked.text, narrow, near, known)
        drawn.pop("overfull")
    return {
        "title": source(given).title or given.name,
        "problem": walked.problem,
        "names": list(_NAMES) if walked.done else [_ALONE],
        "keys": laid_out.keys,
        "bars": [row[-1] for row in laid_out.bars],
        **drawn,
    }


def _looked_at(
    given: Given, text: str, narrow: bool, near: Sequence[int], known: Collection[str]
) -> tuple[LaidOut, dict[str, Any]]:
    """The rows, and those of them that are looked at and not known, drawn."""
    laid_out = _laid_out(given, text, narrow)
    wanted = [
        number
        for number in range(max(0, near[0]), min(len(laid_out.bars), near[1] + 1))
        if laid_out.keys[number] not in known
    ]
    return laid_out, _drawn(laid_out, wanted)


def tell(given: Given, rows: Rows) -> dict[str, Any]:
    """What is said and heard of what :func:`show` shows: lines, sound, map, proof, changes."""
    from rhythm.chain import parse
    from rhythm.show.page import changes_table, outline_data, proof_lines
    from rhythm.showing import page_outline

    walked = walk(given, rows)
    after, before, done = _both(given, walked.text)
    alone = len(done) == 1 and parse(walked.text)[done[0].number - 1].verb in REPORTING
    report: Any = done[0].report if alone else None
    outline = page_outline(after, before, report=report, names=_NAMES)
    return {
        "lines": {each.number: plainly(str(each.report)) for each in done if each.report},
        "music": outline_data(outline),
        "told": [plainly(line) for line in proof_lines(outline.proof)],
        "changes": changes_table(outline.changes),
    }


def draw(given: Given, rows: Rows, narrow: bool, keys: Sequence[str]) -> dict[str, Any]:
    """Rows of what :func:`show` showed, by their keys.

    Where one of them did not fit after all (``overfull``) the page is to ask what is shown again.
    """
    text = walk(given, rows).text
    laid_out = _laid_out(given, text, narrow)
    wanted = frozenset(keys)
    drawn = _drawn(laid_out, [at for at, key in enumerate(laid_out.keys) if key in wanted])
    if drawn["overfull"]:
        drawn["overfull"] = (given, text, narrow) not in _overfull
        _overfull.add((given, text, narrow))
    return drawn


_kept: OrderedDict[str, Drawing] = OrderedDict()


def _drawn(laid_out: LaidOut, wanted: Sequence[int]) -> dict[str, Any]:
    """These rows as HTML by their keys, and the outlines of the signs in them."""
    from rhythm.show.row_section import row_section

    found: dict[str, str] = {}
    glyphs: dict[str, str] = {}
    names = _NAMES if len(laid_out.scores) > 1 else (_ALONE,)
    drawings = laid_out.drawn(wanted, _kept) if wanted else []
    for number, row in zip(wanted, drawings, strict=True):
        found[laid_out.keys[number]] = row_section(names, laid_out.prefixes, laid_out.scores, row)
        for drawing in row:
            glyphs.update(drawing.glyphs if drawing is not None else {})
    while len(_kept) > _MOST_KEPT:
        _kept.popitem(last=False)
    overfull = any(each.systems > 1 for row in drawings for each in row if each is not None)
    return {"drawn": found, "glyphs": glyphs, "overfull": overfull}


def faults(given: Given, told: Mapping[str, Any]) -> dict[str, Any]:
    """The bars that do not add up, each drawn, with what is wrong."""
    from rhythm.score.excerpt import excerpt
    from rhythm.score.select import Bars
    from rhythm.show.rows import bar_widths, name_width
    from rhythm.show.rows import rows as engraved

    score, ledger = source(given), _ledger(given, told)
    by_bar: dict[int, list[str]] = {}
    for fault in ledger.faults:
        by_bar.setdefault(fault.index, []).append(plainly(str(fault)))
    found: list[dict[str, Any]] = []
    glyphs: dict[str, str] = {}
    for index in sorted(by_bar)[:_MOST_DRAWN]:
        first, last = max(0, index - 1), min(len(score.bars) - 1, index + 1)
        svg = ""
        try:
            some = score if last - first == len(score.bars) - 1 else excerpt(
                score, bars=Bars.run(first, last)
            )  # fmt: skip
            width = max(900, min(20_000, sum(bar_widths(some)) // 9 + name_width(some) // 10 + 300))
            (drawing, *_) = engraved(some, prefix="f", breaks=(), width=width).drawings
            svg = drawing.svg
            glyphs.update(drawing.glyphs)
        except RemetreError:
            pass  # what cannot be engraved is still told in words
        found.append(
            {"bar": score.bars[index].number, "at": index - first, "says": by_bar[index],
             "svg": svg}
        )  # fmt: skip
    return {
        "faults": found,
        "left": max(0, len(by_bar) - _MOST_DRAWN),
        "glyphs": glyphs,
        "remarks": [
            f"{each.place}: {plainly(str(each))}" for each in ledger.remarks[:_MOST_FAULTS]
        ],
    }
