"""The bench's server answers its own page and nobody else, and no score can bring it down."""

from __future__ import annotations

import os
import shlex
import threading
import time
from base64 import b64encode
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from remetre_cli.bench import app as app_module
from remetre_cli.bench.app import Bench, application
from remetre_cli.bench.workers import Workers
from starlette.testclient import TestClient

import rhythm
from rhythm.exact.errors import FileError
from rhythm.writing import proven

ROOT = Path(__file__).parents[2]
SONG = ROOT / "examples/lantern-song.musicxml"
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
    data = b64encode(SONG.read_bytes()).decode()
    return {"name": SONG.name, "data": data, "chain": [], **more}


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
    ["web/../app.py", "web/%2e%2e/app.py", "web/..%2fapp.py", "given/1", "given/-1", "view/x"],
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


def test_what_is_too_large_or_too_slow_is_refused(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app_module, "MOST_BYTES", 1000)
    answer = client.post("open", content=b"x" * 2000)
    assert answer.status_code == 422 and "larger than" in answer.json()["problem"]


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b'{"data": "*"}', b"[" * 5000])
def test_a_request_that_is_none_is_refused(client: TestClient, body: bytes) -> None:
    for where in ("show", "take", "say", "lesson", "guises", "chain"):
        assert client.post(where, content=body).status_code in (200, 422)


def test_before_stands_over_after_and_the_view_may_run_only_its_own_script(
    client: TestClient,
) -> None:
    found = client.post("show", json=asked(chain=LILT)).json()
    assert found["problem"] == {} and "beats lilt" in found["lines"]["1"]
    view = client.get(f"view/{found['view']}")
    assert 'data-version="a"' in view.text and 'data-version="b"' in view.text
    policy = view.headers["content-security-policy"]
    assert "script-src 'sha256-" in policy and "connect-src" not in policy


def test_what_the_music_does_not_allow_is_said_at_its_sentence(client: TestClient) -> None:
    chain = [*LILT, {"verb": "vary", "devices": "wobble"}]
    found = client.post("show", json=asked(chain=chain)).json()
    assert found["problem"]["step"] == 2
    assert found["problem"]["says"].startswith("there is no device 'wobble'")
    assert client.get(f"view/{found['view']}").status_code == 200


def test_what_is_taken_away_is_what_the_command_and_python_write(
    client: TestClient, tmp_path: Path
) -> None:
    from remetre_cli.main import main

    taken = client.post("take", json=asked(chain=LILT, kind="musicxml"))
    assert "lantern-song-new.musicxml" in taken.headers["content-disposition"]
    assert taken.content == proven(rhythm.restate(rhythm.read(SONG), "12/8"))
    said = client.post("say", json={"name": str(SONG.name), "chain": LILT}).json()
    words = shlex.split(said["command"])
    out = tmp_path / "out.musicxml"
    words = [str(SONG) if word == SONG.name else word for word in words[1:-1]]
    assert CliRunner().invoke(main, [*words, str(out)]).exit_code == 0
    assert out.read_bytes() == taken.content


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
    assert found["size"].startswith("3 exercises")
    key = client.post("take-lesson", json=asked(told=told, what="key"))
    assert key.content.startswith(b"%PDF")


def test_script_in_titles_words_and_names_is_never_script(client: TestClient) -> None:
    evil = "<img src=x onerror=alert(1)></script><script>alert(2)</script>"
    text = SONG.read_text(encoding="utf-8").replace(
        "Lantern Song", evil.replace("&", "&amp;").replace("<", "&lt;")
    )
    data = b64encode(text.encode()).decode()
    found = client.post("show", json=asked(data=data, name=evil)).json()
    html = client.get(f"view/{found['view']}").text
    assert "<img" not in html and "alert(2)</script>" not in html


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
