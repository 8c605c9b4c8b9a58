"""What runs from a working copy, made as quick to start as what is installed."""

from __future__ import annotations

from compileall import compile_dir
from pathlib import Path

__all__ = ["compile_modules"]

_TOP = Path(__file__).parents[2]


def compile_modules() -> None:
    """Compile the project's modules, as an installer does; a working copy may not keep them so."""
    for name in ("rhythm", "cli"):
        compile_dir(_TOP / name, quiet=2)
