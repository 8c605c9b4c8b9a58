"""Where the process starts: an interruption while the program is loading ends it quietly, too."""

import sys

__all__ = ["start"]


def start() -> None:
    """Load the program and run it."""
    try:
        from .main import run
    except KeyboardInterrupt:
        sys.stderr.write("remetre: interrupted\n")
        sys.exit(130)
    run()
