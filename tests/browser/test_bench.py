"""The bench in a real browser: a new user's way from a dropped tune to a printed sheet."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from rhythm import check, read, restate
from rhythm.writing import proven
from tests.browser.chromium import browser as running
from tests.browser.test_page import LISTEN

ROOT = Path(__file__).parents[2]
SONG = ROOT / "examples/lantern-song.musicxml"
BOOK = b"X:1\nT:First\nM:3/4\nL:1/4\nK:C\nCDE|\n\nX:2\nT:Second\nM:2/4\nL:1/4\nK:C\nCD|EF|GA|\n"


@pytest.fixture(scope="module")
def browser():
    with running() as found:
        yield found


def serving():
    words = [sys.executable, "-m", "remetre_cli", "bench", "--no-open"]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    return process, re.search(r"http\S+", process.stdout.readline())[0]


def ended(process):
    process.terminate()
    process.wait(30)
    process.stdout.close()


@pytest.fixture(scope="module")
def served():
    """A running bench with an empty tray; its address."""
    process, address = serving()
    yield address
    ended(process)


@pytest.fixture
def visit(browser, served):
    """Open the bench; afterwards nothing may have gone wrong or left the machine."""
    contexts, problems, elsewhere = [], [], []

    def open_bench(address=served, **settings):
        size = {"width": 1400, "height": 900}
        context = browser.new_context(**{"viewport": size, "accept_downloads": True, **settings})
        contexts.append(context)
        return watched(context.new_page(), address)

    def watched(page, address):
        page.set_default_timeout(60_000)
        page.on("console", lambda it: problems.append(it.text) if it.type == "error" else None)
        page.on("pageerror", lambda error: problems.append(str(error)))
        page.on("request", lambda asked: elsewhere.append(asked.url))
        page.add_init_script(LISTEN)
        page.goto(address)
        page.wait_for_selector("body.ready")
        return page

    open_bench.watched = watched
    yield open_bench
    for context in contexts:
        context.close()
    # The browser's own note of an answer that refused what was asked, or never came, is no defect.
    assert [said for said in problems if "422" not in said and "ERR_CONN" not in said] == []
    assert [
        url for url in elsewhere if not url.startswith(("http://127.0.0.1:", "data:", "blob:"))
    ] == []


@pytest.fixture
def bench(visit):
    return visit()


def drop(page, name, data):
    """Put a file on the tray as the file picker does, and wait for it."""
    page.set_input_files("#file", {"name": name, "mimeType": "text/xml", "buffer": data})


def shown(page):
    """Wait until both versions stand on the stage."""
    page.wait_for_selector("#chain .line")
    page.locator('#rows [data-version="b"]').first.wait_for()


def taken(page, button):
    page.wait_for_selector(f"{button}:not([disabled])")
    with page.expect_download() as found:
        page.click(button)
    return Path(found.value.path()).read_bytes()


def test_a_new_user_lilts_a_tune_changes_a_blank_and_takes_it_away(bench):
    drop(bench, SONG.name, SONG.read_bytes())
    bench.locator("#rows svg.row").first.wait_for()
    assert bench.locator("#ear fieldset").is_hidden()
    bench.select_option("#add", "restate")
    shown(bench)
    bench.select_option("#chain [data-blank=to]", "12/8")
    bench.select_option("#chain [data-blank=lilt]", "iamb")
    bench.wait_for_selector("#command:has-text('iamb')", state="attached")
    assert taken(bench, "[data-kind='musicxml']") == proven(
        restate(read(SONG), "12/8", lilt="iamb")
    )
    bench.click("#undo")
    bench.wait_for_selector("#command:not(:has-text('iamb'))", state="attached")
    assert bench.input_value("#chain [data-blank=lilt]") == "trochee"


def test_only_changed_rows_are_drawn_anew_and_place_focus_and_sound_stay(bench):
    drop(bench, SONG.name, SONG.read_bytes())
    bench.select_option("#add", "restate")
    shown(bench)
    bench.select_option("#chain [data-blank=to]", "12/8")
    bench.click("#chain summary")
    bench.select_option("#chain [data-blank=bars]", "\x00")
    bench.fill("#chain input", "9-14")
    bench.press("#chain input", "Enter")
    bench.wait_for_selector("#command:has-text('9-14')", state="attached")
    bench.wait_for_selector(".waiting", state="detached")
    bench.evaluate("for (const row of document.querySelectorAll('#rows > *')) row.old = true")
    bench.locator('[name="speed"]').fill("50")
    bench.locator('[name="follow"]').uncheck()
    bench.locator('#rows [data-bar="2"]').first.focus()
    bench.keyboard.press("Space")
    bench.wait_for_selector('#rows .now[data-bar="1"]')
    bench.evaluate("scrollTo(0, 300)")
    at = bench.evaluate("document.querySelectorAll('#rows > *')[2].getBoundingClientRect().top")
    # The blank is changed without leaving the music, as an undo does.
    bench.evaluate(
        """() => {
          const blank = document.querySelector('#chain [data-blank=lilt]');
          blank.value = 'iamb';
          blank.dispatchEvent(new Event('change'));
        }"""
    )
    bench.wait_for_selector("#command:has-text('iamb')", state="attached")
    kept = bench.evaluate("[...document.querySelectorAll('#rows > *')].map((row) => !!row.old)")
    assert kept[0] and not kept[-1] and kept.count(True) >= 2
    assert bench.evaluate("document.activeElement.dataset.bar") == "2"
    assert bench.locator("body.playing").count() == 1
    assert int(bench.locator("#rows .now").get_attribute("data-bar") or 0) >= 1
    top = bench.evaluate("document.querySelectorAll('#rows > *')[2].getBoundingClientRect().top")
    assert abs(top - at) < 2
    assert bench.input_value('[name="speed"]') == "50"


def test_rows_of_a_long_score_are_drawn_as_they_come_into_view(bench):
    from tests.tiny import melody

    long = proven(melody("4/4", *["1/8 1/8 1/4 1/8 1/8 1/8 1/8"] * 500))
    drop(bench, "long.musicxml", long)
    bench.locator("#rows svg.row").first.wait_for()
    assert bench.locator("#rows > *").count() > 100 > bench.locator("#rows svg.row").count()
    bench.locator("#rows > *").last.scroll_into_view_if_needed()
    bench.locator('#rows [data-bar="499"]').wait_for()
    bench.locator("#strip-marks button").nth(250).click()
    bench.locator('#rows [data-bar="250"]').wait_for()


def test_a_bar_that_does_not_add_up_is_seen_and_mended(bench):
    slip = SONG.read_text(encoding="utf-8").replace("<beats>4</beats>", "<beats>3</beats>", 1)
    drop(bench, "slip.musicxml", slip.encode())
    bench.locator("#scores .wrong").wait_for()
    bench.click("#scores .which")
    bench.locator(".faults svg .faulty").first.wait_for()
    assert "4/4 in its place would be right" in bench.locator(".faults p").first.inner_text()
    bench.get_by_role("button", name="Mend them").click()
    bench.wait_for_selector("#chain .line:has-text('1 fault mended')")
    assert check(read(taken(bench, "[data-kind='musicxml']"), "mended")).is_right


def test_what_the_music_does_not_allow_is_said_at_the_sentence_and_nothing_is_lost(bench):
    drop(bench, SONG.name, SONG.read_bytes())
    bench.select_option("#add", "vary")
    shown(bench)
    bench.select_option("#chain [data-blank=devices]", "\x00")
    bench.fill("#chain input", "wobble")
    bench.press("#chain input", "Enter")
    said = bench.wait_for_selector("#chain .problem").inner_text()
    assert said.startswith("there is no device 'wobble'")
    bench.wait_for_selector("#proof.wrong")
    assert bench.is_disabled("[data-kind='musicxml']")
    drop(bench, "words.xml", b"this is no score")
    bench.wait_for_selector("#status.wrong")
    assert bench.locator("#chain li").count() == 1
    assert bench.locator("#rows svg.row").count() > 2


def test_a_guise_is_heard_and_taken_and_another_takes_its_place(bench):
    drop(bench, SONG.name, SONG.read_bytes())
    bench.select_option("#guises-sentence [data-blank=first]", "4")
    bench.select_option("#guises-sentence [data-blank=most]", "20")
    for number in (1, 5):
        bench.click("#metres")
        guise = bench.locator(".guise").nth(number)
        guise.wait_for()
        guise.locator(".hear").click()
        bench.wait_for_selector(".guise.sounding .lit")
        assert guise.locator(".hear").inner_text() == "Stop"
        guise.get_by_role("button", name="Take").click()
        shown(bench)
    assert bench.locator("#chain li").count() == 1
    assert bench.evaluate("window.played.length") >= 2
    bench.click("#metres")
    bench.locator(".guise").first.wait_for()
    bench.locator('#other [name="play"]').click()
    bench.wait_for_selector(".guise.sounding")
    bench.get_by_role("button", name="Back to the music").click()
    assert bench.locator("#rows svg.row").first.is_visible()


def test_a_sheet_for_clarinet_is_seen_as_pages_and_taken_with_its_key(bench):
    drop(bench, SONG.name, SONG.read_bytes())
    bench.locator("#rows svg.row").first.wait_for()
    bench.select_option("#lesson [data-blank=most]", "4")
    bench.select_option("#lesson [data-blank=instrument]", "clarinet in B flat")
    bench.click("#make-lesson")
    bench.locator(".sheets img").first.wait_for()
    names = [each.get_attribute("alt") for each in bench.locator(".sheets img").all()]
    assert names[0].startswith("The pupil’s sheet, page 1 of ")
    assert names[-1].startswith("The teacher’s key, page ")
    assert min(bench.evaluate("[...document.querySelectorAll('.sheets img')].map((i) => i.width)"))
    for what in ("pupil", "key"):
        assert taken(bench, f"[data-lesson='{what}']").startswith(b"%PDF")
    sheet = read(taken(bench, "[data-lesson='musicxml']"), "sheet.musicxml")
    assert "clarinet" in sheet.parts[0].name.lower()


def drop_folder(page, folder):
    """Drag a folder from the desktop onto the tray."""
    box = page.locator("#drop").bounding_box()
    line = page.context.new_cdp_session(page)
    for step in ("dragEnter", "dragOver", "drop"):
        line.send(
            "Input.dispatchDragEvent",
            {
                "type": step,
                "x": box["x"] + 20,
                "y": box["y"] + 20,
                "data": {"items": [], "files": [str(folder)], "dragOperationsMask": 1},
            },
        )


def test_a_folder_and_a_book_show_what_is_in_them_and_saved_sentences_are_opened_again(
    bench, tmp_path
):
    (tmp_path / "tunes" / "old").mkdir(parents=True)
    (tmp_path / "tunes" / "shopping.txt").write_bytes(b"bread")
    drop_folder(bench, tmp_path)
    bench.wait_for_selector("#status.wrong:has-text('no score in what was dropped')")
    (tmp_path / "tunes" / "old" / "book.abc").write_bytes(BOOK)
    (tmp_path / "tunes" / "another.abc").write_bytes(BOOK.partition(b"\n\n")[0])
    drop_folder(bench, tmp_path)
    bench.locator("#scores > li:has-text('First')").first.wait_for()
    bench.get_by_role("button", name="Second").click()
    bench.locator("#rows svg.row").first.wait_for()
    assert bench.locator("#title").inner_text() == "Second"
    drop(bench, "chain.toml", b'[[step]]\nverb = "restate"\nto = "6/8"\n')
    shown(bench)
    assert taken(bench, "#keep").decode() == '[[step]]\nverb = "restate"\nto = "6/8"\n'
    bench.reload()
    bench.wait_for_selector("body.ready")
    shown(bench)
    assert bench.input_value("#chain [data-blank=to]") == "6/8"


def test_everything_is_done_by_keyboard_alone(visit):
    bench = visit(color_scheme="dark")
    drop(bench, SONG.name, SONG.read_bytes())
    bench.locator("#rows svg.row").first.wait_for()

    def tab_to(wanted, limit=90):
        for _ in range(limit):
            bench.keyboard.press("Tab")
            if bench.evaluate(f"document.activeElement.matches('{wanted}')"):
                return
        raise AssertionError(f"{wanted} is not reached")

    bench.evaluate("document.activeElement.blur()")
    tab_to("#add")
    bench.keyboard.press("a")  # another metre
    shown(bench)
    assert bench.evaluate("document.activeElement.dataset.blank") == "bars"
    tab_to("#chain [data-blank=to]", 1)
    bench.keyboard.type("12/8")
    bench.wait_for_selector("#command:has-text('12/8')", state="attached")
    assert bench.evaluate("document.activeElement.dataset.blank") == "to"
    tab_to("[name=play]")
    bench.keyboard.press("Enter")
    bench.wait_for_selector("#rows .lit")
    bench.keyboard.press("Enter")
    tab_to("#rows [data-bar]")
    bench.keyboard.press("ArrowRight")
    assert bench.locator("svg.threads .thread").count() > 2
    bench.wait_for_selector("[data-kind='musicxml']:not([disabled])")
    tab_to('[data-kind="musicxml"]')
    with bench.expect_download() as found:
        bench.keyboard.press("Enter")
    assert Path(found.value.path()).read_bytes() == proven(restate(read(SONG), "12/8"))


def test_on_a_phone_nothing_is_wider_than_the_screen(visit):
    bench = visit(viewport={"width": 390, "height": 800})
    drop(bench, SONG.name, SONG.read_bytes())
    bench.select_option("#add", "restate")
    shown(bench)
    assert bench.evaluate("document.documentElement.scrollWidth") <= 390
    assert bench.locator("#rows > *").count() > 5
    bench.get_by_role("link", name="The lesson").click()
    assert bench.locator("#make-lesson").is_visible()
    bench.click("#make-lesson")
    bench.locator(".sheets img").first.wait_for()
    assert bench.evaluate("document.documentElement.scrollWidth") <= 390


def test_script_in_titles_words_and_names_never_runs(bench):
    evil = "<img src=x onerror=alert(1)>"
    said = evil.replace("<", "&lt;")
    text = (
        SONG.read_text(encoding="utf-8")
        .replace("Lantern Song", said)
        .replace(">Light<", f">{said}<")
    )
    asked = []
    bench.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    drop(
        bench, f"{evil}.musicxml", text.replace("<beats>4</beats>", "<beats>3</beats>", 1).encode()
    )
    bench.locator("#rows svg.row").first.wait_for()
    bench.click("#scores .which")
    bench.locator(".faults svg").first.wait_for()
    bench.click("#metres")
    bench.locator(".guise").first.wait_for()
    assert bench.locator("#title").text_content() == evil
    assert bench.locator("img").count() == 0 and asked == []


def test_a_second_tab_is_told_and_a_stopped_bench_keeps_the_chain(visit, browser):
    process, address = serving()
    try:
        bench = visit(address)
        assert bench.locator("#notice").is_hidden()
        other = visit.watched(bench.context.new_page(), address)
        for page in (bench, other):
            page.wait_for_selector("#notice:has-text('another tab')")
        drop(bench, SONG.name, SONG.read_bytes())
        bench.select_option("#add", "restate")
        shown(bench)
    finally:
        ended(process)
    bench.select_option("#chain [data-blank=lilt]", "iamb")
    bench.wait_for_selector("#notice:has-text('has been stopped')")
    assert "remetre bench" in bench.locator("#notice").inner_text()
    assert bench.locator("#rows svg.row").count() > 2
    with bench.expect_download() as found:
        bench.get_by_role("button", name="Save your sentences").click()
    from rhythm.chain import read_chain

    [step] = read_chain(found.value.path())
    assert (step.verb, step.options["lilt"]) == ("restate", "iamb")
    assert json.loads(bench.evaluate("sessionStorage.bench"))["chain"][0]["lilt"] == "iamb"
