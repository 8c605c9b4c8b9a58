"""The bench's server answers its own page and nobody else, and no score can bring it down."""

from __future__ import annotations

import asyncio
import os
import shlex
import threading
import time
from base64 import b64decode, b64encode
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from remetre_cli.bench import asked as asked_module
from remetre_cli.bench.app import application
from remetre_cli.bench.given import Given
from remetre_cli.bench.run import Bench
from remetre_cli.bench.workers import Workers
from starlette.testclient import TestClient

import rhythm
from rhythm.exact.errors import FileError

ROOT = Path(__file__).parents[2]
SONG = ROOT / "examples/lantern-song.musicxml"
STEPS = SONG.with_name("ferry-steps.musicxml")
LILT = [{"verb": "restate", "to": "12/8"}]


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    made = Workers(1)
    yield made
    made.stop()


@pytest.fixture
def bench(workers: Workers) -> Bench:
    made = Bench([str(SONG)], workers)
    made.at(8765)
    return made


@pytest.fixture
def client(bench: Bench) -> TestClient:
    base = f"http://127.0.0.1:8765/{bench.token}/"
    return TestClient(application(bench), base_url=base, raise_server_exceptions=False)


def asked(**more: object) -> dict[str, object]:
    data, steps = (b64encode(path.read_bytes()).decode() for path in (SONG, STEPS))
    return {"name": SONG.name, "data": data, "chain": [], "others": {STEPS.name: steps}, **more}


def test_the_page_and_what_it_loads_are_served_under_a_strict_policy(client: TestClient) -> None:
    for name in ("", "web/bench.js", "web/bench.css"):
        answer = client.get(name)
        assert answer.status_code == 200
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy
        assert answer.headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1:1", "127.0.0.1", ""])
def test_another_host_is_turned_away(client: TestClient, host: str) -> None:
    assert client.get("", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8765"])
def test_another_origin_is_turned_away(client: TestClient, origin: str) -> None:
    assert client.post("alive", headers={"origin": origin}).status_code == 403
    assert client.post("alive", headers={"origin": "http://127.0.0.1:8765"}).status_code == 200


def test_without_the_secret_nothing_is_answered(client: TestClient) -> None:
    for path in ("/", "/wrong/", "/wrong/given/0", "/x" * 5000):
        assert client.get(f"http://127.0.0.1:8765{path}").status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "web/../app.py",
        "web/%2e%2e/app.py",
        "web/..%2fapp.py",
        "web/index.html",
        "given/1",
        "given/-1",
        "given/../given/1",
    ],
)
def test_no_path_leads_out(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code in (403, 404)
    assert "import" not in answer.text


def test_a_given_score_is_named_without_its_folder(client: TestClient) -> None:
    assert client.get("given").json() == {"files": [SONG.name]}
    assert client.get("given/0").content == SONG.read_bytes()


def test_a_score_that_is_dropped_tells_what_is_in_it(client: TestClient) -> None:
    found = client.post("open", content=SONG.read_bytes(), headers={"x-name": "a.musicxml"}).json()
    assert (found["title"], len(found["bars"]), found["right"]) == ("Lantern Song", 14, True)


def test_a_file_that_is_no_score_is_refused_in_one_line(client: TestClient) -> None:
    for data in (b"", b"hello", b"<score-partwise>", b"PK\x03\x04" + b"\0" * 50):
        answer = client.post("open", content=data, headers={"x-name": "%2e%2e%2fa%0ab.xml"})
        assert answer.status_code == 422
        assert "\n" not in answer.json()["problem"]


def test_what_is_too_large_is_refused(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(asked_module, "MOST_BYTES", 1000)
    answer = client.post("open", content=b"x" * 2000)
    assert answer.status_code == 422 and "larger than" in answer.json()["problem"]
    lying = client.post("open", content=iter([b"x" * 600] * 2))  # without saying how much
    assert lying.status_code == 422 and "larger than" in lying.json()["problem"]


def test_a_request_that_dribbles_in_is_not_waited_for(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(asked_module, "_PATIENCE", 0.1)
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        await asyncio.sleep(0.03)
        return {"type": "http.request", "body": b"x", "more_body": True}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST",
        "path": f"/{bench.token}/open", "raw_path": b"", "query_string": b"", "root_path": "",
        "scheme": "http", "headers": [(b"host", b"127.0.0.1:8765")],
    }  # fmt: skip
    asyncio.run(asyncio.wait_for(application(bench)(scope, receive, send), 20))
    assert sent[0]["status"] == 422
    assert b"did not arrive in time" in b"".join(each.get("body", b"") for each in sent)


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b'{"data": "*"}', b"[" * 5000])
def test_a_request_that_is_none_is_refused(client: TestClient, body: bytes) -> None:
    for where in ("show", "take", "say", "lesson", "guises", "chain"):
        assert client.post(where, content=body).status_code in (200, 422)


def test_before_stands_over_after_and_only_rows_that_are_looked_at_are_drawn(
    client: TestClient,
) -> None:
    found = client.post("show", json=asked(chain=LILT, near=[1, 2])).json()
    assert found["problem"] == {}
    assert len(found["keys"]) == len(found["bars"]) > 3
    assert list(found["drawn"]) == found["keys"][1:3]
    for row in found["drawn"].values():
        assert row.index('data-version="a"') < row.index('data-version="b"')
    rest = client.post("draw", json=asked(chain=LILT, keys=[found["keys"][3], "x"])).json()
    assert list(rest["drawn"]) == [found["keys"][3]]


def test_what_the_page_has_already_is_not_drawn_again(client: TestClient) -> None:
    lilt = {"verb": "restate", "to": "12/8", "bars": "9-14"}
    old = client.post("show", json=asked(chain=[lilt], near=[0, 30])).json()
    iamb = client.post(
        "show", json=asked(chain=[{**lilt, "lilt": "iamb"}], near=[0, 30], have=list(old["drawn"]))
    ).json()
    assert set(old["drawn"]) == set(old["keys"])
    assert 0 < len(iamb["drawn"]) < len(iamb["keys"])
    assert set(iamb["drawn"]) == set(iamb["keys"]) - set(old["keys"])


def test_what_is_told_and_heard_is_that_of_the_rows(client: TestClient) -> None:
    found = client.post("show", json=asked(chain=LILT, near=[0, 30])).json()
    heard = client.post("tell", json=asked(chain=LILT)).json()
    before, after = heard["music"]["versions"]
    assert {bar for row in found["bars"] for bar in row} == set(range(len(after["numbers"])))
    drawn = "".join(found["drawn"].values())
    for version in (before, after):
        names = {name for tone in version["performance"]["tones"] for name in tone[6]}
        assert names and all(f'data-event="{name}"' in drawn for name in names)
    assert "all 55 notes of the source are there" in heard["told"] and "became" in heard["changes"]


def test_no_row_is_filled_over_its_end(client: TestClient) -> None:
    theme = (ROOT / "cli/themes/ropewalk.musicxml").read_bytes()
    told = {"name": "ropewalk.musicxml", "data": b64encode(theme).decode(), "near": [0, 9]}
    for metre in ("compound", "12/8", "5/4"):
        chain = [{"verb": "restate", "to": metre}]
        found = client.post("show", json={**told, "chain": chain}).json()
        assert found["drawn"]
        assert {row.count('<g class="system"') for row in found["drawn"].values()} == {2}


def test_rows_that_turn_out_too_full_when_they_are_scrolled_to_are_laid_out_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from remetre_cli.bench import seeing

    import rhythm.show.likely_rows

    def narrow(_score: object, _before: object, measured: list[int]) -> list[int]:
        return [width // 4 for width in measured]

    monkeypatch.setattr(rhythm.show.likely_rows, "likely_widths", narrow)
    monkeypatch.setattr(seeing, "_measured", lambda _given: [900] * 14)
    given, nothing = Given(SONG.read_bytes(), SONG.name), (1, 0)
    rows = seeing.show(given, LILT, False, nothing, ())["keys"]
    assert seeing.draw(given, LILT, False, rows[:1])["overfull"]
    again = seeing.show(given, LILT, False, nothing, ())["keys"]
    assert len(again) > len(rows)
    assert not seeing.draw(given, LILT, False, again[:1])["overfull"]


def test_a_small_screen_gets_rows_of_its_own(client: TestClient) -> None:
    wide = client.post("show", json=asked(chain=LILT)).json()
    narrow = client.post("show", json=asked(chain=LILT, narrow=True)).json()
    assert len(narrow["keys"]) > len(wide["keys"])


def test_what_the_music_does_not_allow_is_said_at_its_sentence(client: TestClient) -> None:
    chain = [*LILT, {"verb": "vary", "devices": "wobble"}]
    found = client.post("show", json=asked(chain=chain)).json()
    assert found["problem"]["step"] == 2
    assert found["problem"]["says"].startswith("there is no device 'wobble'")
    assert found["keys"] == client.post("show", json=asked(chain=LILT)).json()["keys"]


def test_the_page_speaks_of_blanks_and_never_of_options(client: TestClient) -> None:
    found = client.post("tell", json=asked(chain=LILT)).json()
    assert "beats lilt" in found["lines"]["1"]
    assert "“where notes go: exactly” keeps them" in found["lines"]["1"]
    from remetre_cli.bench.music import plainly

    assert plainly("quarters would lilt with --to 6/8") == "quarters would lilt with “into 6/8”"
    assert plainly("or leave it out with --bars") == "or leave it out with “which bars”"
    assert plainly("without --strict the bar is split there").count("--") == 0


def test_a_book_of_tunes_shows_its_list_and_a_tune_of_it_is_opened(client: TestClient) -> None:
    book = b"X:1\nT:One\nM:3/4\nL:1/4\nK:C\nCDE|\n\nX:2\nT:Two\nM:2/4\nL:1/4\nK:C\nCD|EF|\n"
    found = client.post("open", content=book, headers={"x-name": "book.abc"}).json()
    assert found["pieces"] == [["1", "One"], ["2", "Two"]]
    headers = {"x-name": "book.abc", "x-piece": "2"}
    assert client.post("open", content=book, headers=headers).json()["title"] == "Two"
    told = {"name": "book.abc", "piece": "2", "data": b64encode(book).decode()}
    shown = client.post("show", json={**told, "chain": [{"verb": "restate", "to": "6/8"}]}).json()
    assert shown["title"] == "Two" and not shown["problem"]
    said = client.post("say", json={"name": "book.abc", "piece": "2", "chain": LILT}).json()
    assert "--piece 2" in said["texts"]["score"]["command"]
    assert "piece='2'" in said["texts"]["score"]["python"]


def test_every_bar_that_does_not_add_up_is_drawn_and_told(client: TestClient) -> None:
    slip = SONG.read_text(encoding="utf-8").replace("<beats>4</beats>", "<beats>3</beats>", 1)
    told = {"name": "slip.xml", "data": b64encode(slip.encode()).decode()}
    found = client.post("check", json=told).json()
    assert not found["right"] and found["faulty"] == len(found["faults"]) + found["left"]
    for each in found["faults"]:
        assert f'data-bar="{each["at"]}"' in each["svg"] and each["says"]
    planned = client.post("check", json=asked(told={"against": "4/4*13 3/4"})).json()
    assert [each["bar"] for each in planned["faults"]] == ["14"]
    odd = SONG.read_text(encoding="utf-8").replace(
        "</note>", '<notations><tuplet type="start"/></notations></note>', 1
    )
    told = {"name": "odd.xml", "data": b64encode(odd.encode()).decode()}
    found = client.post("check", json=told).json()
    assert found["right"] and "bar" in found["remarks"][0]


def test_the_door_is_open_only_when_the_proof_holds(client: TestClient) -> None:
    assert client.post("prove", json=asked(chain=LILT)).json() == {"proven": True}
    wrong = client.post("prove", json=asked(chain=[{"verb": "vary", "devices": "wobble"}]))
    assert wrong.status_code == 422


CHAIN = [
    {"verb": "restate", "to": "12/8", "lilt": "iamb", "manner": STEPS.name},
    {"verb": "mend", "off": True},
    {"verb": "restate", "to": "7/8", "bars": "9-12"},
    {"verb": "count", "system": "takadimi"},
]
MADE = {
    "exercises": {
        "most": "3",
        "count": "numbers",
        "seed": "2",
        "instrument": "clarinet",
        "manner": STEPS.name,
    },
    "guises": {"first": "4", "most": "4"},
    "midi": {"speed": "60%", "click": "true", "count_in": "1"},
    "page": {"count": "kodaly"},
}


@pytest.fixture
def workshop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the song, in which commands and Python are run."""
    for score in (SONG, STEPS):
        (tmp_path / score.name).write_bytes(score.read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed(text: str) -> None:
    """Type the lines of a command at the terminal."""
    from remetre_cli.main import main

    for line in text.splitlines():
        words = shlex.split(line)
        assert words[0] == "remetre"
        done = CliRunner().invoke(main, [*words[1:], "--force"])
        assert done.exit_code == 0, done.output


@pytest.mark.parametrize("chain", [LILT, CHAIN], ids=["one step", "several steps"])
@pytest.mark.parametrize("made", [{}, MADE], ids=["as usual", "told otherwise"])
def test_whatever_is_taken_away_a_command_and_python_write_as_the_same_bytes(
    chain: list[dict[str, object]], made: dict[str, dict[str, str]], client: TestClient,
    workshop: Path,
) -> None:  # fmt: skip
    ladder = "50% 90%"
    asked_for = {"name": SONG.name, "chain": chain, "ladder": ladder, **made}
    said = client.post("say", json=asked_for).json()
    (workshop / "chain.toml").write_text(said["chain"], encoding="utf-8")

    def take(where: str, **more: object) -> bytes:
        answer = client.post(where, json=asked(chain=chain, **more))
        assert answer.status_code == 200, answer.text
        return answer.content

    told = {verb: made.get(verb, {}) for verb in MADE}
    taken = {
        ("score", "lantern-song-new.musicxml"): take("take", kind="musicxml"),
        ("midi", "lantern-song-new.mid"): take("take", kind="mid", told=told["midi"]),
        ("page", "lantern-song-new.html"): take("take", kind="html", told=told["page"]),
    }
    if chain is CHAIN and made:
        lesson = {"told": told["exercises"], "ladder": ladder}
        taken |= {
            ("exercises", "lantern-song-sheet.pdf"): take("take-lesson", what="pupil", **lesson),
            ("exercises", "lantern-song-key.pdf"): take("take-lesson", what="key", **lesson),
            ("exercises", "lantern-song-track.mid"): take("take-lesson", what="track", **lesson),
            ("exercises", "lantern-song-sheet.musicxml"): take(
                "take-lesson", what="musicxml", **lesson
            ),
            ("guises", "lantern-song-guises.html"): take("take-guises", told=told["guises"]),
        }
    for (what, name), data in taken.items():
        text = said["texts"][what]
        if not name.endswith("sheet.musicxml"):
            typed(text["command"])
            assert (workshop / name).read_bytes() == data, f"{name} as a command"
        for each in workshop.iterdir():
            if each.name not in (SONG.name, STEPS.name, "chain.toml"):
                each.unlink()
        if not name.endswith((".pdf", "track.mid")):
            exec(text["python"], {})
            assert (workshop / name).read_bytes() == data, f"{name} in Python"


def test_an_editor_is_one_of_a_score_on_the_tray_and_never_of_a_file_on_the_disk(
    client: TestClient, tmp_path: Path
) -> None:
    elsewhere = tmp_path / "other.musicxml"
    elsewhere.write_bytes(STEPS.read_bytes())
    for manner in (str(elsewhere), "other.musicxml", "/dev/stdin.x"):
        chain = [{**LILT[0], "manner": manner}]
        found = client.post("show", json=asked(chain=chain)).json()
        assert "lies on the tray" in found["problem"]["says"]
        told = {"manner": manner}
        assert client.post("lesson", json=asked(told=told)).status_code == 422
    chain = [{"verb": "restate", "to": "12/8", "manner": STEPS.name}]
    assert client.post("show", json=asked(chain=chain)).json()["problem"] == {}
    wrong = client.post("show", json=asked(chain=[{**LILT[0], "manner": "hause"}]))
    assert wrong.status_code == 422 and "did you mean house" in wrong.json()["problem"]


@pytest.mark.parametrize("kind", ["mxl", "mid", "svg", "pdf", "html"])
def test_every_kind_can_be_taken(client: TestClient, kind: str) -> None:
    assert len(client.post("take", json=asked(chain=LILT, kind=kind)).content) > 300


def test_a_kind_or_lesson_there_is_not_is_refused(client: TestClient) -> None:
    assert client.post("take", json=asked(kind="exe")).status_code == 422
    assert client.post("take-lesson", json=asked(what="x")).status_code == 422
    wrong = client.post("lesson", json=asked(told={"levels": "high"}))
    assert wrong.status_code == 422


def test_a_lesson_is_shown_and_its_key_taken(client: TestClient) -> None:
    told = {"most": "3", "count": "numbers"}
    found = client.post("lesson", json=asked(told=told)).json()
    assert found["size"].startswith("3 exercises") and "page" in found["size"]
    assert found["pupil"] and found["key"]
    assert b64decode(found["pupil"][0]).startswith(b"\x89PNG")
    assert len(found["entries"]) == 4
    answers = client.post("take-lesson", json=asked(told=told, what="answers"))
    assert answers.text.startswith("# ")


def test_a_lesson_is_made_after_a_plan(client: TestClient) -> None:
    plan = '[[exercise]]\nvary = ["augmentation:2"]\n'
    found = client.post("lesson", json=asked(plan=plan)).json()
    assert found["size"].startswith("1 exercise,")
    wrong = client.post("lesson", json=asked(plan="[[exercis]]"))
    assert wrong.status_code == 422 and "\n" not in wrong.json()["problem"]


def test_guises_are_of_the_music_as_it_stands_and_say_what_happens(client: TestClient) -> None:
    found = client.post("guises", json=asked(chain=LILT, told={"first": "4", "most": "6"})).json()
    assert len(found["steps"]) == len(found["entries"]) == 6
    assert found["steps"][0] == {"verb": "restate", "to": "simple"}
    assert found["html"].count('class="guise"') == 6
    assert "level " in found["html"] and "of the notes move" in found["html"]


def test_guises_follow_the_first_until_all_are_tried(client: TestClient, workers: Workers) -> None:
    """Some at a time, so that a long theme shows its first at once; none twice, none left out."""
    given = Given(SONG.read_bytes(), SONG.name)
    told = {"first": "2", "most": "200"}
    steps: list[object] = []
    heads: list[str] = []
    so_far: dict[str, Any] = {}
    for _ in range(99):
        found = workers.ask("trying:guises", given, [], told, so_far, 0.05)
        assert found["entries"][0]["prefix"] not in heads if found["entries"] else found["ended"]
        steps += found["steps"]
        heads += [each["prefix"] for each in found["entries"]]
        so_far = found["so_far"]
        if found["ended"]:
            break
    theme = rhythm.guises(rhythm.read(SONG), first=2, most=200)
    assert steps == [{"verb": each.step.verb, **each.step.options} for each in theme]
    assert len(heads) == len(set(heads)) == len(steps) > 30


def test_script_in_titles_words_and_names_is_never_script(client: TestClient) -> None:
    evil = "<img src=x onerror=alert(1)></script><script>alert(2)</script>"
    text = SONG.read_text(encoding="utf-8").replace(
        "Lantern Song", evil.replace("&", "&amp;").replace("<", "&lt;")
    )
    data = b64encode(text.encode()).decode()
    found = client.post("show", json=asked(data=data, name=evil, near=[0, 9])).json()
    heard = client.post("tell", json=asked(data=data, name=evil)).json()
    shown = "".join(found["drawn"].values()) + heard["changes"]
    assert found["title"] == evil  # the page sets it as text
    for html in (shown, client.post("guises", json=asked(data=data, told=FEW)).json()["html"]):
        assert html and "<img" not in html and "<script" not in html
    page = client.post("take", json=asked(data=data, name=evil, kind="html")).text
    assert "<img" not in page and "alert(2)</script>" not in page


FEW = {"first": "4", "most": "2"}


def test_a_worker_that_hangs_or_dies_is_replaced() -> None:
    workers = Workers(1)
    try:
        with pytest.raises(FileError, match="given up"):
            workers.ask(time.sleep, 60, seconds=1)
        with pytest.raises(FileError, match="process ended"):
            workers.ask(os._exit, 3, seconds=20)
        assert workers.ask(len, "abc", seconds=20) == 3
    finally:
        workers.stop()


def test_many_requests_at_once_are_all_answered(client: TestClient) -> None:
    answers: list[int] = []

    def ask() -> None:
        answers.append(client.post("say", json=asked(chain=LILT)).status_code)

    threads = [threading.Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert answers == [200] * 8
