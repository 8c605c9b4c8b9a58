"""Every check of this project, one after the other: ``python -m tests``.

Arguments go to pytest. The exit code is that of the first check that failed, after all have run.
"""

import subprocess
import sys
from pathlib import Path

CHECKS = (
    ("ruff", "check", "--no-cache", "."),  # a cache does not see what other files import
    ("ruff", "format", "--check", "--no-cache", "-q", "."),
    ("mypy",),
    ("pytest", "-q", "-n", "2", *sys.argv[1:]),
)


def main() -> int:
    root = Path(__file__).parent.parent
    failed = 0
    for check in CHECKS:
        print("$ python -m", *check, flush=True)
        code = subprocess.run([sys.executable, "-m", *check], cwd=root).returncode
        failed = failed or code
    return failed


if __name__ == "__main__":
    sys.exit(main())
