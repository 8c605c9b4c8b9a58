"""The page in a real browser: seen, heard, walked through by keyboard, printed."""

import itertools
from pathlib import Path

import pymupdf
import pytest

from rhythm import page, read, rebar
from rhythm.restate.restate import restated
from rhythm.show.sound import sound
from tests.browser.chromium import browser as running
from tests.tiny import melody

EXAMPLES = Path(__file__).parents[2] / "examples"

# What the audio graph is told to play is written down: frequency and moment of tones and clicks.
LISTEN = """
window.played = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (when) {
  window.played.push({ hertz: this.frequency.value, when, custom: this.type === "custom" });
  window.began ??= this.context;
  return start.call(this, when);
};
"""


def tall():
    """A score of thirty staves."""
    one = melody("4/4", *["1/4 1/4 1/4 1/4"] * 8)
    part = one.parts[0]
    return one.replace(parts=tuple(part.replace(id=f"P{n}", name=f"Part {n}") for n in range(30)))


@pytest.fixture(scope="module")
def browser():
    with running() as found:
        yield found


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The pages that are tried, by name."""
    folder = tmp_path_factory.mktemp("pages")
    song = read(EXAMPLES / "lantern-song.musicxml")
    done = restated(song, "compound")
    short = melody("4/4", "1/4 1/4 1/4 1/4", "1/2 1/2", "1/1", "1/4 1/4 1/2")
    made = {
        "song": page(done.score, before=song, report=done.report),
        "poured": page(rebar(song, "7/8"), before=song),
        "short": page(short),
        "tall": page(tall()),
        "long": page(melody("4/4", *["1/8 1/8 1/4 1/4 1/8 1/8"] * 64)),
    }
    for name, html in made.items():
        (folder / f"{name}.html").write_text(html, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in made}


@pytest.fixture
def visit(browser, pages):
    """Open a page by name; afterwards nothing may have gone wrong or left the machine."""
    contexts, wrong, asked = [], [], []

    def open_page(name, script="", **settings):
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **settings})
        contexts.append(context)
        found = context.new_page()
        found.set_default_timeout(8_000)
        found.on("console", lambda line: wrong.append(line.text) if line.type == "error" else None)
        found.on("pageerror", lambda error: wrong.append(str(error)))
        found.on("request", lambda request: asked.append(request.url))
        found.add_init_script(LISTEN + script)
        found.goto(pages[name].as_uri())
        found.wait_for_selector("body.ready")
        return found

    yield open_page
    for context in contexts:
        context.close()
    assert wrong == []
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []


def tones(found):
    """The tones that were handed to the audio graph, without clicks, in the order of time."""
    played = found.evaluate("window.played.filter((each) => each.custom)")
    return sorted(played, key=lambda each: (each["when"], each["hertz"]))


def hertz(key):
    return pytest.approx(440 * 2 ** ((key - 69) / 12), rel=1e-4)


def bar(found, version, index):
    return found.locator(f'#rows [data-version="{version}"] [data-bar="{index}"]')


def point(found, version, index, *, click=True, shift=False):
    """Point at the middle of a bar, where there may be no ink, and click there."""
    bar(found, version, index).scroll_into_view_if_needed()
    box = bar(found, version, index).bounding_box()
    found.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    if shift:
        found.keyboard.down("Shift")
    if click:
        found.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    if shift:
        found.keyboard.up("Shift")


# The clock of the audio graph goes twelve times as fast as it does; bars that light up are noted.
HURRY = """
const clock = Object.getOwnPropertyDescriptor(BaseAudioContext.prototype, "currentTime").get;
Object.defineProperty(BaseAudioContext.prototype, "currentTime", {
  get() { return 12 * clock.call(this); },
});
window.bars = [];
const list = Object.getOwnPropertyDescriptor(Element.prototype, "classList").get;
Object.defineProperty(Element.prototype, "classList", {
  get() { return Object.assign(list.call(this), { owner: this }); },
});
const add = DOMTokenList.prototype.add;
DOMTokenList.prototype.add = function (name) {
  if (name === "now") window.bars.push(Number(this.owner.dataset.bar));
  return add.call(this, name);
};
"""


def test_a_whole_piece_is_played_and_keeps_its_place_through_all_repeats(visit):
    """Seventeen bars, 42 seconds; every tone is due at its moment, every bar lights up."""
    found = visit("song", script=HURRY)
    found.locator('[name="speed"]').fill("200")
    found.locator('[name="play"]').click()
    found.wait_for_selector("[data-event].lit")
    found.wait_for_function("!document.body.classList.contains('playing')", timeout=12_000)
    expected = sound(restated(read(EXAMPLES / "lantern-song.musicxml"), "compound").score)
    heard = tones(found)
    assert [each["hertz"] for each in heard] == [hertz(tone.key) for tone in expected.tones]
    began = heard[0]["when"]
    for each, tone in zip(heard, expected.tones, strict=True):
        assert each["when"] - began == pytest.approx(tone.at / 1000 / 2, abs=0.002)
    assert found.evaluate("window.bars") == [bar.bar for bar in expected.bars]
    assert found.locator(".lit").count() == 0


def test_chosen_bars_go_over_and_over_until_it_is_stopped(visit):
    found = visit("song")
    point(found, "b", 1)
    point(found, "b", 1, shift=True)
    assert found.locator('[name="loop"]').is_checked()
    found.locator('[name="speed"]').fill("200")
    found.keyboard.press("Space")
    found.wait_for_function("window.played.filter((each) => each.custom).length > 8")
    found.keyboard.press("Space")
    keys = [each["hertz"] for each in tones(found)][:8]
    assert keys == [hertz(key) for key in (72, 71, 69, 71) * 2]
    assert "playing" not in (found.locator("body").get_attribute("class") or "")
    assert found.locator('[name="play"]').inner_text() == "Play"


def test_before_and_after_are_played_in_turns(visit):
    found = visit("song")
    found.locator('[name="which"][value="turns"]').check()
    point(found, "a", 2)
    point(found, "a", 2, shift=True)
    found.locator('[name="speed"]').fill("200")
    found.locator('[name="play"]').click()
    found.wait_for_selector('[data-version="a"] [data-event].lit')
    found.wait_for_selector('[data-version="b"] [data-event].lit')
    found.wait_for_function("window.played.filter((each) => each.custom).length >= 10")
    keys = [each["hertz"] for each in tones(found)]
    assert keys[:10] == [hertz(key) for key in (67, 69, 71, 72, 74) * 2]


def test_the_click_has_the_metres_accents_and_a_bar_is_counted_in(visit):
    found = visit("short")
    found.locator('[name="click"]').select_option("beats")
    found.locator('[name="count"]').check()
    found.locator('[name="play"]').click()
    found.wait_for_function("window.played.length > 5")
    clicks = found.evaluate("window.played.filter((each) => !each.custom)")
    pitches = [each["hertz"] for each in sorted(clicks, key=lambda each: each["when"])][:4]
    assert pitches[0] > pitches[2] > pitches[1] == pitches[3]
    first = sorted(clicks, key=lambda each: each["when"])[0]["when"]
    assert tones(found)[0]["when"] - first == pytest.approx(2, abs=0.01)  # 4/4 at 120


def test_speed_and_volume_change_at_once_and_the_place_is_kept(visit):
    found = visit("long")
    found.locator('[name="play"]').click()
    found.wait_for_function("window.played.length > 3")
    found.locator('[name="speed"]').fill("50")
    found.locator('[name="volume"]').fill("10")
    found.wait_for_timeout(900)
    found.locator('[name="play"]').click()
    heard = tones(found)
    steps = [b["when"] - a["when"] for a, b in itertools.pairwise(heard)]
    assert max(steps) >= 0.49  # an eighth lasts half a second at half of 120
    assert len(heard) < 16


def test_the_page_follows_what_sounds(visit):
    found = visit("long")
    found.locator('[name="from"]').select_option(label="60")
    found.locator('[name="play"]').click()
    found.wait_for_selector("[data-bar].now")
    found.wait_for_function(
        """(() => {
          const box = document.querySelector('[data-bar="59"]').getBoundingClientRect();
          return scrollY > 300 && box.top > 0 && box.bottom < innerHeight;
        })()"""
    )


def test_on_a_low_screen_the_version_that_sounds_is_shown(visit):
    found = visit("song", viewport={"width": 1280, "height": 420})
    found.locator('[name="play"]').click()
    found.wait_for_function(
        """(() => {
          const box = document.querySelector('[data-bar].now')?.closest(".system")
            .getBoundingClientRect();
          return box && scrollY > 0 && box.top > 0 && box.bottom < innerHeight + 20;
        })()"""
    )


@pytest.mark.parametrize("wish, way", [("no-preference", "smooth"), ("reduce", "auto")])
def test_nothing_glides_for_those_who_want_it_still(wish, way, visit):
    found = visit("song", reduced_motion=wish)
    found.evaluate(
        "Element.prototype.scrollIntoView = (asked) => { window.glides = asked?.behavior; }"
    )
    found.locator("#strip-marks button").nth(7).evaluate("(mark) => mark.click()")
    assert found.evaluate("window.glides") == way


def test_a_screen_reader_is_told_what_everything_is(visit):
    """Roles and names, and the order in which the keyboard comes to them."""
    found = visit("song")
    for role, names in {
        "heading": ["Lantern Song", "Does it add up?", "What became of it"],
        "button": ["Play"],
        "radio": ["before", "after", "in turns"],
        "checkbox": ["over and over", "count-in", "follow"],
        "combobox": ["from bar", "to bar", "click"],
        "slider": ["speed", "volume"],
        "form": ["Listen"],
        "columnheader": ["was", "became", "times"],
    }.items():
        for name in names:
            assert found.get_by_role(role, name=name, exact=True).count() == 1, (role, name)
    assert found.get_by_role("main").count() == 1
    assert found.locator("html").get_attribute("lang") == "en"
    order = []
    while len(order) < 40 and "bar" not in order:
        found.keyboard.press("Tab")
        order.append(
            found.evaluate(
                "document.activeElement.name || (document.activeElement.dataset.bar && 'bar')"
            )
        )
    assert order == [
        "play", "which", "from", "loop", "to", "speed", "click", "count", "volume", "follow", "bar",
    ]  # fmt: skip
    found.keyboard.press("Tab")
    mark = found.evaluate("document.activeElement.getAttribute('aria-label')")
    assert mark.startswith("bar 1, holds 12/8: ")


def test_everything_is_reached_by_keyboard(visit):
    found = visit("song")
    for _ in range(40):
        found.keyboard.press("Tab")
        if found.evaluate("document.activeElement.dataset.bar") == "0":
            break
    focused = (
        "[document.activeElement.dataset.bar,"
        " document.activeElement.closest('[data-version]')?.dataset.version]"
    )
    assert found.evaluate(focused) == ["0", "a"]
    found.keyboard.press("ArrowRight")
    found.keyboard.press("ArrowRight")
    assert found.evaluate(focused) == ["2", "a"]
    said = found.locator(".row-of-music").first.locator(".said").inner_text()
    assert said.startswith("bar 3, 4/4: dotted quarter G on 1 becomes dotted quarter tied to")
    assert found.locator("svg.threads .thread").count() == 5
    assert found.locator("svg.threads .label").count() == 10
    found.keyboard.press("ArrowDown")
    assert found.evaluate(focused) == ["2", "b"]
    found.keyboard.press("Enter")
    assert found.locator('[name="from"]').input_value() == "2"
    found.keyboard.press("Space")
    found.wait_for_selector(".lit")
    assert tones(found)[0]["hertz"] == hertz(67)


def test_every_bar_has_a_name_and_a_sentence(visit):
    found = visit("song")
    bars = found.locator("#rows [data-bar]")
    assert bars.count() == 28
    assert found.get_by_role("button", name="bar 6, 12/8: ").count() == 1
    for index in range(28):
        assert bars.nth(index).get_attribute("aria-label").startswith("bar ")
    assert found.get_by_role("group", name="before, bars 1 to").count() == 1


def test_a_mark_of_the_strip_leads_to_its_bar(visit):
    found = visit("song")
    marks = found.locator("#strip-marks button")
    assert marks.count() == 14
    marks.nth(7).click()
    assert found.evaluate("document.activeElement.dataset.bar") == "7"
    shapes = {
        found.locator(f"#strip-marks svg.{verdict}").count() for verdict in ("right", "moved")
    }
    assert 0 not in shapes


def test_threads_are_drawn_where_bar_lines_moved(visit):
    found = visit("poured")
    point(found, "a", 0, click=False)
    assert found.locator("svg.threads .thread").count() >= 4
    assert "becomes" in found.locator(".said").first.inner_text()


def test_a_small_screen_gets_rows_of_its_own_and_no_sideways_scroll(visit):
    wide, narrow = visit("song"), visit("song", viewport={"width": 390, "height": 800})
    assert narrow.locator(".row-of-music").count() > wide.locator(".row-of-music").count()
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 390
    assert bar(narrow, "b", 0).get_attribute("aria-label").startswith("bar 1, 12/8")
    narrow.locator('[name="play"]').click()
    narrow.wait_for_selector(".lit")


def test_dark_is_dark_and_notes_are_light(visit):
    found = visit("song", color_scheme="dark")
    light = "(node, what) => getComputedStyle(node)[what].match(/\\d+/g).slice(0, 3).map(Number)"
    assert sum(found.locator("body").evaluate(light, "backgroundColor")) < 150
    note = found.locator("[data-event] .notehead use").first
    assert sum(note.evaluate(light, "fill")) > 550


@pytest.mark.parametrize("name", ["song", "long"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_printed_no_system_is_cut_and_before_stays_over_after(name, paper, visit):
    found = visit(name)
    printed = pymupdf.open(stream=found.pdf(format=paper), filetype="pdf")
    systems = 0
    for sheet in printed:
        tops = staves(level_lines(sheet))
        systems += len(tops)
        assert name == "long" or len(tops) % 2 == 0  # on Letter a sheet ends between the two
        assert all(20 < top < sheet.rect.height - 40 for top in tops)
    assert len(printed) > 1
    assert systems == found.locator("#rows svg.row").count()


def test_a_system_taller_than_a_sheet_is_printed_whole_and_smaller(visit):
    found = visit("tall")
    printed = pymupdf.open(stream=found.pdf(format="Letter"), filetype="pdf")
    counts = [len(staves(level_lines(sheet), least=1)) for sheet in printed]
    assert sum(counts) == 30 * found.locator("#rows svg.row").count()
    assert {count % 30 for count in counts} == {0}


def staves(lines, least=2):
    """The heights at which five lines follow each other in equal steps, as near as a staff's."""
    found = []
    for top in lines:
        if found and top < found[-1][1]:
            continue
        for second in lines:
            step = second - top
            wanted = [top + step * n for n in range(5)]
            if least < step < 7 and all(any(abs(y - line) < 0.3 for line in lines) for y in wanted):
                found.append((top, wanted[-1]))
                break
    return [top for top, _ in found]


def level_lines(sheet):
    """The heights of long level lines, those that are one line on paper taken together."""
    found = []
    for drawing in sheet.get_drawings():
        for item in drawing["items"]:
            if item[0] == "l":
                if abs(item[1].y - item[2].y) < 0.01 and abs(item[1].x - item[2].x) > 25:
                    found.append(item[1].y)
            elif item[0] == "re" and item[1].height < 0.6 and item[1].width > 25:
                found.append((item[1].y0 + item[1].y1) / 2)
    lines = []
    for height in sorted(found):
        if not lines or height - lines[-1] > 0.3:
            lines.append(height)
    return lines
