"""The bench as a web application: bytes in, bytes out, for one browser on this machine.

Safety: every address begins with a secret made for this run; the Host and, where there is one, the
Origin must be ours; bodies are limited in size and time; no path is taken from the browser; what a
page may load is limited by a strict content security policy. The server keeps no score: what it
has worked out it keeps by content, to show it again.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import re
import secrets
from base64 import b64decode
from collections import OrderedDict
from collections.abc import Callable, Sequence
from importlib import resources
from pathlib import Path
from time import monotonic
from typing import Any
from urllib.parse import quote, unquote

from starlette.applications import Starlette
from starlette.middleware.base import BaseHTTPMiddleware, RequestResponseEndpoint
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from rhythm.exact.errors import FileError, RemetreError, RequestError

from . import jobs
from .workers import Workers

__all__ = ["Bench", "application"]

MOST_BYTES = 32 << 20  # of one request
_PATIENCE = 20.0  # seconds for a request to arrive
_TYPES = {"js": "text/javascript", "css": "text/css", "html": "text/html"}
_KINDS = {
    "musicxml": "application/vnd.recordare.musicxml+xml",
    "mxl": "application/vnd.recordare.musicxml",
    "mid": "audio/midi",
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "html": "text/html",
}
_OURS = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:"
_FRAMED = "; font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
_SCRIPT = re.compile(r'<script type="module">(.*?)</script>', re.DOTALL)
_WEB = frozenset({"bench.js", "bench.css"})
_MOST_SHOWN = 24


class Bench:
    """What one run of the bench knows: its secret, its address, its workers, the scores given."""

    def __init__(self, files: Sequence[str] = (), workers: Workers | None = None) -> None:
        self.token = secrets.token_urlsafe(24)
        self.files = list(files)
        self.workers = workers or Workers()
        self.hosts: frozenset[str] = frozenset()
        self.heard = monotonic()
        self.pages = 0
        self.shown: OrderedDict[str, str] = OrderedDict()

    def at(self, port: int) -> str:
        """Say at which port it is; returns the address to open."""
        self.hosts = frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})
        return f"http://127.0.0.1:{port}/{self.token}/"

    async def ask(self, job: Callable[..., Any], *arguments: Any, seconds: float = 30) -> Any:
        """What a worker makes of it."""
        key = hashlib.sha256(arguments[0]).hexdigest() if isinstance(arguments[0], bytes) else ""

        def work() -> Any:
            return self.workers.ask(job, *arguments, key=key, seconds=seconds)

        return await asyncio.to_thread(work)

    def keep(self, html: str) -> str:
        """Keep a page by its content, to be shown; the oldest gives way."""
        key = hashlib.sha256(html.encode()).hexdigest()[:32]
        self.shown[key] = html
        self.shown.move_to_end(key)
        while len(self.shown) > _MOST_SHOWN:
            self.shown.popitem(last=False)
        return key


class _Guard(BaseHTTPMiddleware):
    """Turns away whatever does not come from our own page."""

    def __init__(self, app: Any, bench: Bench) -> None:
        super().__init__(app)
        self.bench = bench

    async def dispatch(self, request: Request, call_next: RequestResponseEndpoint) -> Response:
        bench = self.bench
        if request.headers.get("host", "") not in bench.hosts:
            return Response("this is not the bench's address\n", 421)
        origin = request.headers.get("origin")
        if origin is not None and origin.removeprefix("http://") not in bench.hosts:
            return Response("only the bench's own page may ask\n", 403)
        _, token, *_ = request.url.path.split("/")
        if not secrets.compare_digest(token.encode(), bench.token.encode()):
            return Response("the address is not complete; open it as the terminal says\n", 403)
        bench.heard = monotonic()
        response = await call_next(request)
        response.headers.setdefault(
            "content-security-policy", _OURS + _FRAMED + "; frame-src 'self'"
        )
        response.headers["x-content-type-options"] = "nosniff"
        response.headers["referrer-policy"] = "no-referrer"
        response.headers["cache-control"] = "no-store"
        response.headers["cross-origin-resource-policy"] = "same-origin"
        return response


async def _body(request: Request) -> bytes:
    """The body, within the limits of size and time."""
    said = request.headers.get("content-length", "0")
    if not said.isdecimal() or int(said) > MOST_BYTES:
        raise FileError(f"this is larger than {MOST_BYTES >> 20} MB", legal="a smaller score")
    found = bytearray()

    async def read() -> None:
        async for chunk in request.stream():
            found.extend(chunk)
            if len(found) > MOST_BYTES:
                raise FileError(f"this is larger than {MOST_BYTES >> 20} MB")

    try:
        await asyncio.wait_for(read(), _PATIENCE)
    except TimeoutError:
        raise FileError("the request did not arrive in time", legal="try again") from None
    return bytes(found)


async def _asked(request: Request) -> dict[str, Any]:
    """The body as a JSON object."""
    try:
        told = json.loads(await _body(request))
    except (ValueError, RecursionError):
        raise RequestError("the request is no JSON") from None
    if not isinstance(told, dict):
        raise RequestError("the request is no JSON object")
    return told


def _music(told: dict[str, Any]) -> tuple[bytes, str]:
    """The score of a request: its bytes and its name."""
    try:
        data = b64decode(str(told["data"]), validate=True)
    except (KeyError, ValueError):
        raise RequestError("the request holds no score", legal="open a score first") from None
    return data, _name(str(told.get("name") or "score"))


def _name(name: str) -> str:
    """A file's name without any folder and without control characters."""
    last = re.split(r"[/\\]", name)[-1]
    return "".join(sign for sign in last if sign.isprintable())[:120] or "score"


def _chain(told: dict[str, Any]) -> list[Any]:
    rows = told.get("chain", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise RequestError("the chain of the request is none")
    return rows


def application(bench: Bench) -> Starlette:
    """The application of one run."""
    base = f"/{bench.token}"

    def answered(endpoint: Callable[[Request], Any]) -> Callable[[Request], Any]:
        async def safely(request: Request) -> Response:
            try:
                found: Response = await endpoint(request)
            except RemetreError as error:
                return JSONResponse({"problem": str(error)}, 422)
            return found

        return safely

    async def home(request: Request) -> Response:
        bench.pages += 1
        text = _web("index.html")
        return Response(text, media_type="text/html")

    async def web(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in _WEB:
            return Response("there is no such thing\n", 404)
        return Response(_web(name), media_type=_TYPES[name.rpartition(".")[2]])

    async def given(request: Request) -> Response:
        return JSONResponse({"files": [Path(each).name for each in bench.files]})

    async def given_one(request: Request) -> Response:
        number = request.path_params["number"]
        if not 0 <= number < len(bench.files):
            return Response("there is no such score\n", 404)
        try:
            data = await asyncio.to_thread(Path(bench.files[number]).read_bytes)
        except OSError as error:
            return JSONResponse({"problem": f"the file cannot be read: {error.strerror}"}, 422)
        return Response(data, media_type="application/octet-stream")

    async def words(request: Request) -> Response:
        from .wording import sentences

        return JSONResponse(sentences())

    async def opened(request: Request) -> Response:
        name = _name(unquote(request.headers.get("x-name", "score")))
        data = await _body(request)
        return JSONResponse(await bench.ask(jobs.opened, data, name, seconds=30))

    async def show(request: Request) -> Response:
        told = await _asked(request)
        found = await bench.ask(jobs.show, *_music(told), _chain(told), seconds=60)
        found["view"] = bench.keep(found.pop("html"))
        return JSONResponse(found)

    async def guises(request: Request) -> Response:
        told = await _asked(request)
        found = await bench.ask(jobs.guises, *_music(told), 8, seconds=120)
        found["view"] = bench.keep(found.pop("html"))
        return JSONResponse(found)

    async def lesson(request: Request) -> Response:
        told = await _asked(request)
        found = await bench.ask(
            jobs.lesson, *_music(told), _chain(told), dict(told.get("told") or {}), seconds=120
        )
        found["view"] = bench.keep(found.pop("html"))
        return JSONResponse(found)

    async def view(request: Request) -> Response:
        html = bench.shown.get(request.path_params["key"])
        if html is None:
            return Response("this view is gone; change something to see it anew\n", 404)
        script = _SCRIPT.findall(html)
        hashes = " ".join(f"'sha256-{_digest(text)}'" for text in script) or "'none'"
        policy = (
            f"default-src 'none'; script-src {hashes}; style-src 'unsafe-inline';"
            f" img-src data:{_FRAMED}"
        )
        return Response(html, media_type="text/html", headers={"content-security-policy": policy})

    async def take(request: Request) -> Response:
        told = await _asked(request)
        kind, paper = str(told.get("kind")), str(told.get("paper") or "a4")
        if kind not in jobs.KINDS:
            raise RequestError(f"nothing is written as {kind!r}", legal=" ".join(jobs.KINDS))
        data, name = _music(told)
        made = await bench.ask(jobs.take, data, name, _chain(told), kind, paper, seconds=90)
        return _file(made, f"{_stem(name)}-new.{kind}", kind)

    async def take_lesson(request: Request) -> Response:
        told = await _asked(request)
        what, paper = str(told.get("what")), str(told.get("paper") or "a4")
        if what not in ("pupil", "key", "musicxml"):
            raise RequestError(f"there is no {what!r} to take", legal="pupil, key or musicxml")
        data, name = _music(told)
        made = await bench.ask(
            jobs.take_lesson, data, name, _chain(told), dict(told.get("told") or {}), what, paper,
            seconds=120,
        )  # fmt: skip
        kind = "musicxml" if what == "musicxml" else "pdf"
        return _file(made, f"{_stem(name)}-{what}.{kind}", kind)

    async def say(request: Request) -> Response:
        told = await _asked(request)
        name = _name(str(told.get("name") or "song.musicxml"))
        return JSONResponse(jobs.say(name, _chain(told)))

    async def chain(request: Request) -> Response:
        told = await _asked(request)
        return JSONResponse({"chain": jobs.unpacked(str(told.get("text") or ""))})

    async def alive(request: Request) -> Response:
        return JSONResponse({"alive": True})

    app = Starlette(
        routes=[
            Route(f"{base}/", home),
            Route(f"{base}/web/{{name}}", web),
            Route(f"{base}/given", given),
            Route(f"{base}/given/{{number:int}}", given_one),
            Route(f"{base}/words", words),
            Route(f"{base}/view/{{key}}", view),
            *(
                Route(f"{base}/{name}", answered(endpoint), methods=["POST"])
                for name, endpoint in (
                    ("open", opened), ("show", show), ("guises", guises), ("lesson", lesson),
                    ("take", take), ("take-lesson", take_lesson), ("say", say), ("chain", chain),
                    ("alive", alive),
                )
            ),
        ]
    )  # fmt: skip
    app.add_middleware(_Guard, bench=bench)
    return app


def _web(name: str) -> str:
    return (resources.files(__package__) / "web" / name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    from base64 import b64encode

    return b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _stem(name: str) -> str:
    return name.rpartition(".")[0] or name


def _file(data: bytes, name: str, kind: str) -> Response:
    said = f"attachment; filename*=UTF-8''{quote(name)}"
    return Response(data, media_type=_KINDS[kind], headers={"content-disposition": said})
