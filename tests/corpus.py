"""Real scores for tests: the MusicXML files that the music21 package ships."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.score.model import Score

SUFFIXES = (".mxl", ".xml", ".musicxml")


def music21_folder() -> Path:
    """Where the music21 package lives, found without importing it."""
    spec = find_spec("music21")
    assert spec is not None and spec.origin is not None
    return Path(spec.origin).parent


@lru_cache(maxsize=1)
def corpus_files() -> tuple[Path, ...]:
    """Every MusicXML file of the corpus, in a stable order."""
    root = music21_folder() / "corpus"
    return tuple(sorted(path for path in root.rglob("*") if path.suffix in SUFFIXES))


def pick(
    count: int, *, most_bytes: int = 60_000, accept: Callable[[Score], bool] = lambda score: True
) -> list[Path]:
    """``count`` scores spread evenly over the corpus that ``accept`` allows."""
    files = [path for path in corpus_files() if path.stat().st_size <= most_bytes]
    step = max(1, len(files) // (count * 2))
    order = [path for start in range(step) for path in files[start::step]]
    found: list[Path] = []
    for path in order:
        if len(found) == count:
            break
        if accept(read(path)):
            found.append(path)
    assert len(found) == count
    return found
