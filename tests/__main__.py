"""Every check of this project, one after the other: ``python -m tests``.

Arguments go to pytest. The exit code is that of the first check that failed, after all have run.
"""

import subprocess
import sys
from pathlib import Path

from tests.browser.chromium import NAMES, found

CHECKS = (
    ("ruff", "check", "--no-cache", "."),  # a cache does not see what other files import
    ("ruff", "format", "--check", "--no-cache", "-q", "."),
    ("mypy",),
    ("pytest", "-q", "-n", "2", *sys.argv[1:]),
)
NOT_TRIED = "### NO BROWSER: THE PAGE WAS NOT TRIED. Install {} and test again. ###"


def main() -> int:
    root = Path(__file__).parent.parent
    failed = 0
    browser = found()
    for check in CHECKS:
        if check[0] == "pytest" and browser is None:
            check = (*check, "--ignore=tests/browser")
        print("$ python -m", *check, flush=True)
        code = subprocess.run([sys.executable, "-m", *check], cwd=root).returncode
        failed = failed or code
    if browser is None:
        print(NOT_TRIED.format(" or ".join(NAMES)), flush=True)
    return failed


if __name__ == "__main__":
    sys.exit(main())
