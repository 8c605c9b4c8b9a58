"""Draws docs/pictures/bench.png, the bench with the built-in theme."""

import re
import subprocess
import sys
from pathlib import Path

from tests.browser.chromium import browser

ROOT = Path(__file__).parents[2]
THEME = ROOT / "cli/themes/ropewalk.musicxml"


def main() -> None:
    words = [sys.executable, "-m", "remetre_cli", "bench", "--no-open", str(THEME)]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    try:
        address = re.search(r"http\S+", process.stdout.readline())[0]
        with browser() as running:
            page = running.new_page(viewport={"width": 1280, "height": 760})
            page.goto(address)
            page.wait_for_selector("body.ready")
            page.select_option("#add", "restate")
            page.wait_for_selector("#chain .line")
            page.locator('#rows [data-version="a"] svg').first.wait_for()
            page.wait_for_selector("[data-kind='musicxml']:not([disabled])")
            page.locator('#rows [data-version="a"] [data-bar="0"]').first.focus()
            page.wait_for_timeout(300)
            page.screenshot(path=ROOT / "docs/pictures/bench.png")
    finally:
        process.terminate()
        process.wait(30)


if __name__ == "__main__":
    main()
