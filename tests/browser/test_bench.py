"""The bench in a real browser: a score dropped, a blank changed, taken away, mended."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from rhythm import check, read, restate
from rhythm.writing import proven
from tests.browser.chromium import browser as running

ROOT = Path(__file__).parents[2]
SONG = ROOT / "examples/lantern-song.musicxml"


@pytest.fixture(scope="module")
def browser():
    with running() as found:
        yield found


@pytest.fixture(scope="module")
def served():
    """A running bench with an empty tray; its address."""
    words = [sys.executable, "-m", "remetre_cli", "bench", "--no-open"]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    try:
        yield re.search(r"http\S+", process.stdout.readline())[0]
    finally:
        process.terminate()
        process.wait(30)
        process.stdout.close()


@pytest.fixture
def bench(browser, served):
    page = browser.new_page(viewport={"width": 1400, "height": 900}, accept_downloads=True)
    page.set_default_timeout(60_000)
    problems, elsewhere = [], []
    page.on("console", lambda said: problems.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: problems.append(str(error)))
    page.on("request", lambda asked: elsewhere.append(asked.url))
    page.goto(served)
    page.wait_for_selector("body.ready")
    yield page
    # The browser's own note of an answer that refused what was asked is no defect.
    assert [said for said in problems if "422" not in said] == []
    ours = (served, "data:", "blob:")
    assert [url for url in elsewhere if not url.startswith(ours)] == []
    page.close()


def drop(page, name, data):
    """Put a file on the tray as the file picker does."""
    page.set_input_files("#file", {"name": name, "mimeType": "text/xml", "buffer": data})


def view(page):
    return page.frame_locator("iframe:not([hidden])")


def test_a_new_user_lilts_a_tune_changes_a_blank_and_takes_it_away(bench):
    drop(bench, SONG.name, SONG.read_bytes())
    view(bench).locator("svg.row").first.wait_for()
    bench.select_option("#add", "restate")
    bench.wait_for_selector("#chain .line")
    view(bench).locator('[data-version="a"]').first.wait_for()
    bench.select_option("#chain select[aria-label^='to:']", "12/8")
    bench.select_option("#chain select[aria-label^='lilt:']", "iamb")
    bench.wait_for_selector("#command:has-text('iamb')", state="attached")
    with bench.expect_download() as found:
        bench.click("[data-kind='musicxml']")
    taken = Path(found.value.path()).read_bytes()
    assert taken == proven(restate(read(SONG), "12/8", lilt="iamb"))
    bench.click("#undo")
    bench.wait_for_selector("#command:has-text('12/8')", state="attached")
    bench.wait_for_selector("#command:not(:has-text('iamb'))", state="attached")
    assert bench.input_value("#chain select[aria-label^='lilt:']") == "trochee"


def test_a_bar_that_does_not_add_up_is_told_and_mended(bench):
    slip = SONG.read_text(encoding="utf-8").replace("<beats>4</beats>", "<beats>3</beats>", 1)
    drop(bench, "slip.musicxml", slip.encode())
    bench.locator("#scores .wrong").wait_for()
    bench.click("#scores details summary")
    bench.click("#scores details button")
    bench.wait_for_selector("#chain .line")
    with bench.expect_download() as found:
        bench.click("[data-kind='musicxml']")
    assert check(read(Path(found.value.path()).read_bytes(), "mended")).is_right


def test_what_the_music_does_not_allow_is_said_at_the_sentence_and_nothing_is_lost(bench):
    drop(bench, SONG.name, SONG.read_bytes())
    bench.select_option("#add", "vary")
    bench.wait_for_selector("#chain .line")
    bench.select_option("#chain select[aria-label^='devices:']", "\x00")
    bench.fill("#chain input", "wobble")
    bench.press("#chain input", "Enter")
    said = bench.wait_for_selector("#chain .problem").inner_text()
    assert said.startswith("there is no device 'wobble'")
    assert bench.is_disabled("[data-kind='musicxml']")
    drop(bench, "words.xml", b"this is no score")
    bench.wait_for_selector("#status.wrong")
    assert bench.locator("#chain li").count() == 1
