"""The bench: slips put into scores, and what check and mend make of each."""

from __future__ import annotations

import zipfile
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

from rhythm.check.ledger import check
from rhythm.check.mending import mend
from rhythm.exact.errors import MusicError, RemetreError
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.score.model import Score
from tests.corpus import corpus_files, music21_folder
from tests.injection.pages import Page, open_page
from tests.injection.slips import KINDS, Slip

__all__ = ["GOALS", "Outcome", "run", "scores", "tally"]

GOALS = {"told": 95, "bar": 98, "part": 97, "once": 95, "restored": 85}
_MOST_BYTES = 45_000
_KEYBOARD = (
    "bach/bwv846.mxl", "cpebach/h186.mxl", "joplin/maple_leaf_rag.mxl", "liliuokalani/aloha_oe.mxl",
    "handel/rinaldo/Lascia_chio_pianga.mxl", "schumann_clara/polonaise_op1n1.mxl",
    "schumann_clara/polonaise_op1n2.mxl", "schumann_clara/polonaise_op1n3.mxl",
    "schumann_clara/polonaise_op1n4.mxl", "schumann_robert/opus48no2.mxl",
    "verdi/laDonnaEMobile.mxl", "mozart/k545/movement1_exposition.mxl",
    "schoenberg/opus19/movement2.mxl",
)  # fmt: skip


@dataclass
class Outcome:
    """What became of one slip.

    ``called``: anything is called a fault (or remarked on, where the slip is a remark). ``told``:
    something in one of the slip's bars is. ``bar``: nothing outside of them. ``part``: one of
    those names the right part and voice, ``once``: it is the only one.
    """

    path: Path
    slip: Slip
    faults: tuple
    called: bool
    told: bool
    bar: bool
    part: bool
    once: bool
    adds_up: bool | None = None
    restored: bool | None = None
    lost: bool = False
    defect: bool = False
    error: str = ""
    data: bytes = b""


def scores(count: int, most_bytes: int = _MOST_BYTES) -> list[Path]:
    """So many right scores: the keyboard music of the corpus, the rest spread evenly over it."""
    root = music21_folder() / "corpus"
    keyboard = [root / name for name in _KEYBOARD]
    chosen = [path for path in keyboard if path.stat().st_size <= most_bytes][:count]
    others = [path for path in corpus_files() if path.stat().st_size <= most_bytes]
    step = max(1, len(others) // (2 * count))
    for path in others[::step]:
        if len(chosen) >= count:
            break
        if path not in chosen and _is_fit(path):
            chosen.append(path)
    return [path for path in chosen if _is_fit(path)]


def _is_fit(path: Path) -> bool:
    try:
        score = read(path)
        page = open_page(text_of(path))
    except (RemetreError, AssertionError, ValueError, TypeError, AttributeError):
        return False
    same = len({len(measures) for measures in page.parts}) == 1
    return same and len(score.bars) >= 8 and check(score).is_right


def text_of(path: Path) -> bytes:
    """The XML of a file, taken out of its container."""
    if path.suffix != ".mxl":
        return path.read_bytes()
    with zipfile.ZipFile(path) as box:
        name = next(n for n in box.namelist() if not n.startswith("META-INF") and "." in n)
        return box.read(name)


def run(
    paths: Iterable[Path], each: int, seed: int = 12, kinds: Iterable[str] = ()
) -> Iterator[Outcome]:
    """``each`` slips in every score, of kinds taken in turn."""
    names = list(kinds) or list(KINDS)
    turn = 0
    for path in paths:
        chance = Random(f"{seed} {path.name}")
        data = text_of(path)
        whole = read(data)
        made = tries = 0
        while made < each and tries < 3 * len(names) + each:
            tries += 1
            kind = names[turn % len(names)]
            turn += 1
            page = open_page(data)
            slip = KINDS[kind](page, chance)
            if slip is None:
                continue
            made += 1
            yield _try(path, whole, page, slip)


def _try(path: Path, whole: Score, page: Page, slip: Slip) -> Outcome:
    data = page.text()
    score = read(data)
    ledger = check(score)
    faults = ledger.faults if slip.fault else ledger.remarks
    names = [page.ids[slip.part]] if slip.part is not None else page.ids
    here = [each for each in faults if each.number in slip.bars]
    outcome = Outcome(
        path,
        slip,
        faults,
        called=bool(faults),
        told=bool(here),
        bar=len(here) == len(faults),
        part=any(
            each.part in names and (not slip.voices or each.voice in {*slip.voices, ""})
            for each in here
        ),
        once=len(faults) == 1,
        data=data,
    )
    if not (slip.fault and slip.seen):
        return outcome
    try:
        mended = read(proven(mend(score)))
    except Exception as error:  # whatever goes wrong is written down, and the bench goes on
        outcome.adds_up, outcome.error = False, f"{type(error).__name__}: {error}"
        outcome.defect = not isinstance(error, MusicError)
        if slip.unique:
            outcome.restored = False
        return outcome
    outcome.adds_up = check(mended).is_right
    outcome.lost = _notes(mended) < _notes(score)
    if slip.unique:
        outcome.restored = _rhythm(mended, slip) == _rhythm(whole, slip)
    return outcome


def _notes(score: Score) -> int:
    """The notes that are struck: ties may be written in fewer pieces, and no note be lost."""
    return sum(not note.tie_in for _, _, e in score.events() if not e.is_rest for note in e.notes)


def _rhythm(score: Score, slip: Slip) -> list:
    """Everything that a mended bar must share with the bar that was spoiled."""
    found = []
    for which, part in enumerate(score.parts):
        bars: dict[int, list] = defaultdict(list)
        for voice in part.voices:
            for event in voice.events:
                sound = "rest" if event.is_rest else str(event.pitches)
                for piece in event.pieces:
                    shape = (piece.type, piece.dots, piece.ratio)
                    if piece.whole_bar or (event.is_rest and piece.type in ("whole", "")):
                        shape = ("bar", 0, (1, 1))
                    bars[piece.bar].append(
                        (str(piece.offset), str(piece.duration), voice.name, sound, shape)
                    )
        for bar in part.bars:
            held = sorted(bars[bar.index], key=str)
            if slip.empty_bar and which == slip.part and bar.number in slip.bars:
                continue  # an empty bar stands where one was lost: looked at through the others
            found.append((which, bar.index, str(bar.metre), held))
    return found


def tally(outcomes: Iterable[Outcome]) -> dict[str, Counter]:
    """The counts of every kind, and of all together under ""."""
    found: dict[str, Counter] = defaultdict(Counter)
    for each in outcomes:
        for name in (each.slip.kind, ""):
            count = found[name]
            if not each.slip.seen:
                count["unseen"] += 1
                continue
            if not each.slip.fault:
                count["remarks"] += 1
                count["remarked"] += each.told
                continue
            count["faults"] += 1
            count["lost"] += each.lost
            count["defects"] += each.defect
            count["adds up"] += bool(each.adds_up)
            count["called"] += each.called
            count["told"] += each.told
            count["bar"] += each.called and each.bar
            count["part"] += each.told and each.part
            count["once"] += each.told and each.once
            if each.slip.unique:
                count["unique"] += 1
                count["restored"] += bool(each.restored)
    return found
