"""The page as a file: everything is in it, it says every bar in words, and it is not too large."""

import json
import re
from pathlib import Path

import pytest

from rhythm import page, read, restate
from rhythm.restate.restate import restated
from rhythm.score.identity import named_events
from rhythm.show.drawing import Drawing
from rhythm.show.page import MODULES, web_file
from rhythm.show.printed import printed_percent
from tests.tiny import melody

EXAMPLES = {path.stem: path for path in (Path(__file__).parents[2] / "examples").iterdir()}


@pytest.fixture(scope="module")
def song():
    return read(EXAMPLES["lantern-song"])


@pytest.fixture(scope="module")
def both(song):
    done = restated(song, "compound")
    return page(done.score, before=song, report=done.report, names=("plain", "lilting"))


def data(html):
    [text] = re.findall(r'<script type="application/json" id="music">(.*?)</script>', html, re.S)
    return json.loads(text)


def rows_of(html):
    return html[html.index('<main id="rows"') : html.index("</main>")].split("<section")[1:]


def test_a_page_asks_for_nothing_from_elsewhere(both):
    links = re.findall(r'(?:href|src)="([^"]*)"|url\(([^)]{8})', both)
    assert links
    for link, inside in links:
        assert link.startswith("#glyph-") or "data:" in (link, inside[:5]) or link == "data:,"
    assert not re.findall(r"\b(?:fetch|XMLHttpRequest|WebSocket|import\()", both)
    assert "//" not in re.sub(
        r"http://www.w3.org/[^\"']*|^\s*//.*$|[^:]//.*$", "", both, flags=re.M
    )


def test_every_note_of_both_versions_is_on_the_page(both, song):
    for prefix, score in (("a", song), ("b", restate(song, "compound"))):
        names = {name for name, _, _, e in named_events(score, prefix) if e.visible and e.duration}
        assert names
        assert names <= set(re.findall(r'data-event="([^"]+)"', both))


def test_both_versions_stand_over_each_other_at_the_same_bars(both):
    rows = rows_of(both)
    assert len(rows) > 2
    for row in rows:
        upper, lower = row.split('data-version="b"')
        bars = [re.findall(r'data-bar="(\d+)"', half) for half in (upper, lower)]
        assert bars[0] and bars[0] == bars[1]


def test_every_bar_has_a_sentence(both):
    plain, lilting = data(both)["versions"]
    assert plain["sentences"][0] == ("bar 1, 4/4: dotted quarter B, eighth A, quarter G, quarter B")
    assert lilting["sentences"][0] == (
        "bar 1, 12/8: dotted quarter tied to quarter B, eighth A, dotted quarter G, "
        "dotted quarter B"
    )
    assert (plain["name"], lilting["name"]) == ("plain", "lilting")


def test_the_table_says_in_notes_what_became_of_each_beat_and_why(both):
    table = both[both.index("What became of it") :]
    assert '<td class="signs">\ueca7 \ueca7</td>' in table
    assert "read at sight" in table or "taken straight" in table
    assert "a triplet already, taken straight" in table


def test_the_page_says_in_a_line_what_was_done(both):
    assert "15 of 56 beats lilt" in both[: both.index("<form")]


def test_a_moved_note_says_why(both):
    strands = data(both)["strands"]
    assert [s["why"] for s in strands if s["why"]]
    assert "moved" in {verdict for _, _, _, verdict, *_ in data(both)["proof"]}


def test_a_fault_stands_on_the_strip():
    score = read(
        EXAMPLES["orchard-lanes"].read_bytes().replace(b"<beats>7</beats>", b"<beats>6</beats>")
    )
    verdicts = {verdict for _, _, _, verdict, *_ in data(page(score))["proof"]}
    assert "fault" in verdicts


def test_a_theme_of_32_bars_before_and_after_takes_less_than_400_kilobytes():
    score = melody("4/4", *["1/8 1/8 1/4 1/8 1/8 1/8 1/8"] * 32)
    html = page(restate(score, "compound"), before=score)
    assert len(rows_of(html)) >= 6
    assert len(html.encode()) < 400_000


def test_text_of_the_score_cannot_leave_its_place():
    evil = "</script><script>alert(1)</script>"
    score = melody("4/4", "1/1").replace(title=evil)
    html = page(score, before=score, names=(evil, evil))
    assert evil not in html
    assert "<script>alert" not in html
    assert data(html)["versions"][0]["name"] == evil


def test_modules_name_only_each_other_and_stand_after_what_they_import():
    for index, name in enumerate(MODULES):
        for imported in re.findall(r'^import .* from "\./(.*)";$', web_file(name), re.M):
            assert imported in MODULES[:index]
    assert not re.findall(r"^import", "".join(map(web_file, MODULES[:-1])), re.M)


def test_modules_share_no_names(both):
    """They stand in one script, so a name may be given once."""
    names = [
        name
        for module in MODULES
        for name in re.findall(r"^(?:export )?(?:const|let|class) (\w+)", web_file(module), re.M)
    ]
    assert names
    assert sorted(names) == sorted(set(names))


def test_a_notebook_shows_a_score_engraved_and_playable(song):
    from html import unescape

    shown = song._repr_html_()
    inside = unescape(re.findall(r'<iframe srcdoc="([^"]*)"', shown)[0])
    assert inside == page(song)
    assert 'data-event="b0-0-0"' in inside and "new AudioContext" in inside


def test_a_notebook_shows_the_first_bars_of_a_long_score_and_says_so():
    score = melody("4/4", *["1/16 1/16 1/16 1/16 1/16 1/16 1/16 1/16 1/2"] * 80)
    shown = score._repr_html_()
    assert "The first 66 of 80 bars" in shown
    assert shown.count("row-of-music") > 10 and len(shown) < 600_000


def test_a_notebook_shows_before_over_after(song):
    shown = page(restate(song, "compound"), before=song)
    assert shown.startswith("<!doctype html>")
    assert "<iframe srcdoc=" in shown._repr_html_()


@pytest.mark.parametrize(
    "high, percent",
    [(50, 100), (60, 97), (75, 78), (80, 100)],
    ids=["two fit", "two fit if a little smaller", "two fit if smaller", "two would be too small"],
)
def test_rows_are_printed_smaller_where_one_more_fits_on_a_page(high, percent):
    """Two systems a row, so many millimetres high on A4, with 18 mm around them in 270."""
    system = Drawing("<svg/>", {}, frozenset(), (0,), 17_600, high * 100)
    assert printed_percent([[system, system]]) == percent
