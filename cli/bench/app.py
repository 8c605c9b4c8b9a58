"""The bench as a web application: bytes in, bytes out, for one browser on this machine.

Safety: every address begins with a secret made for this run; the Host and, where there is one, the
Origin must be ours; bodies are limited in size and time; no path is taken from the browser; what a
page may load is limited by a strict content security policy. The server keeps no score: the page
has it, and what a worker has worked out it keeps by content.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import re
import secrets
import threading
from base64 import b64decode
from collections.abc import Callable, Sequence
from pathlib import Path
from time import monotonic
from typing import Any
from urllib.parse import quote, unquote

from starlette.applications import Starlette
from starlette.middleware.base import BaseHTTPMiddleware, RequestResponseEndpoint
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from rhythm.chain import options_of
from rhythm.exact.errors import FileError, RemetreError, RequestError
from rhythm.sentences import MADE

from . import carrying, lessons, seeing
from .music import Given
from .shell import made, own
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
    "md": "text/markdown",
}
_OURS = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:"
_CLOSED = "; font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
_OWN = frozenset(
    {"bench.js", "bench.css", "asking.js", "tray.js", "chain.js", "blanks.js", "stage.js",
     "lesson.js", "door.js"}
)  # fmt: skip
_SHARED = frozenset({"ear.js", "threads.js", "strip.js", "page.js", "gallery.js"})
"""The modules of the page, which serve here as well."""
_LADDER = "60% 80% 100%"  # of tempi
_MOST_ROWS = 40  # drawn at once
_LONGEST = 100_000  # characters of a plan


class Bench:
    """What one run of the bench knows: its secret, its address, its workers, the scores given."""

    def __init__(self, files: Sequence[str] = (), workers: Workers | None = None) -> None:
        self.token = secrets.token_urlsafe(24)
        self.files = list(files)
        self.workers = workers or Workers()
        self.hosts: frozenset[str] = frozenset()
        self.heard = monotonic()
        self.pages = 0
        self._shell: dict[str, str] = {}
        self._making = threading.Lock()

    def at(self, port: int) -> str:
        """Say at which port it is; returns the address to open."""
        self.hosts = frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})
        return f"http://127.0.0.1:{port}/{self.token}/"

    def shell(self) -> dict[str, str]:
        """The page without music; a worker makes it, which has what it needs loaded then."""
        with self._making:
            if not self._shell:
                self._shell = self.workers.ask(made, seconds=60)
            return self._shell

    async def ask(self, job: Callable[..., Any], *arguments: Any, seconds: float = 30) -> Any:
        """What a worker makes of it."""
        given = arguments[0]
        key = hashlib.sha256(given.data).hexdigest() if isinstance(given, Given) else ""

        def work() -> Any:
            return self.workers.ask(job, *arguments, key=key, seconds=seconds)

        return await asyncio.to_thread(work)


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
        response.headers["content-security-policy"] = _OURS + _CLOSED
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


def _music(told: dict[str, Any]) -> Given:
    """The score of a request: its bytes, its name, and which piece of a book is meant."""
    try:
        data = b64decode(str(told["data"]), validate=True)
    except (KeyError, ValueError):
        raise RequestError("the request holds no score", legal="open a score first") from None
    return Given(data, _name(str(told.get("name") or "score")), str(told.get("piece") or "")[:120])


def _options(verb: str, told: dict[str, Any]) -> dict[str, Any]:
    """What was filled into the sentence of a lesson, of sound, or of a page."""
    filled = told.get("told") or {}
    if not isinstance(filled, dict):
        raise RequestError("the sentence of the request is none")
    return options_of(MADE[verb], {key: value for key, value in filled.items() if key != "plan"})


def _plan(told: dict[str, Any]) -> str:
    """The text of a plan of exercises."""
    text = str(told.get("plan") or "")
    if len(text) > _LONGEST:
        raise RequestError("this text is too long for a plan")
    return text


def _paper(told: dict[str, Any]) -> str:
    return str(told.get("paper") or "a4")


def _list(told: dict[str, Any], key: str) -> list[Any]:
    found = told.get(key, [])
    if not isinstance(found, list):
        raise RequestError(f"{key!r} of the request is no list")
    return found


def _near(told: dict[str, Any]) -> tuple[int, int]:
    """The first and the last row that is looked at."""
    match _list(told, "near"):
        case [int(first), int(last)]:
            return first, min(last, first + _MOST_ROWS)
    return 0, 2


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
        shell = await asyncio.to_thread(bench.shell)
        return Response(shell["home"], media_type="text/html")

    async def web(request: Request) -> Response:
        name = request.path_params["name"]
        if name == "music.css":
            shell = await asyncio.to_thread(bench.shell)
            return Response(shell["style"], media_type=_TYPES["css"])
        if name not in _OWN | _SHARED:
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
        shell = await asyncio.to_thread(bench.shell)
        return Response(shell["words"], media_type="application/json")

    async def opened(request: Request) -> Response:
        name = _name(unquote(request.headers.get("x-name", "score")))
        piece = unquote(request.headers.get("x-piece", ""))[:120]
        given = Given(await _body(request), name, piece)
        return JSONResponse(await bench.ask(seeing.opened, given, {}))

    async def checked(request: Request) -> Response:
        told = await _asked(request)
        given, options = _music(told), _options("check", told)
        found = await bench.ask(seeing.opened, given, options)
        return JSONResponse({**found, **await bench.ask(seeing.faults, given, options)})

    async def show(request: Request) -> Response:
        told = await _asked(request)
        found = await bench.ask(
            seeing.show, _music(told), _chain(told), bool(told.get("narrow")), _near(told),
            [str(key) for key in _list(told, "have")], seconds=90,
        )  # fmt: skip
        return JSONResponse(found)

    async def tell(request: Request) -> Response:
        told = await _asked(request)
        found = await bench.ask(seeing.tell, _music(told), _chain(told), seconds=90)
        return JSONResponse(found)

    async def draw(request: Request) -> Response:
        told = await _asked(request)
        keys = [str(key) for key in _list(told, "keys")[:_MOST_ROWS]]
        found = await bench.ask(
            seeing.draw, _music(told), _chain(told), bool(told.get("narrow")), keys, seconds=90
        )
        return JSONResponse(found)

    async def guises(request: Request) -> Response:
        told = await _asked(request)
        found = await bench.ask(
            seeing.guises, _music(told), _chain(told), _options("guises", told), seconds=120
        )
        return JSONResponse(found)

    async def lesson(request: Request) -> Response:
        told = await _asked(request)
        found = await bench.ask(
            lessons.lesson, _music(told), _chain(told), _options("exercises", told), _plan(told),
            _paper(told), seconds=120,
        )  # fmt: skip
        return JSONResponse(found)

    async def prove(request: Request) -> Response:
        told = await _asked(request)
        return JSONResponse(await bench.ask(carrying.prove, _music(told), _chain(told), seconds=90))

    async def take(request: Request) -> Response:
        told = await _asked(request)
        kind = str(told.get("kind"))
        if kind not in carrying.KINDS:
            raise RequestError(f"nothing is written as {kind!r}", legal=" ".join(carrying.KINDS))
        verb = {"mid": "midi", "html": "page"}.get(kind)
        options = _options(verb, told) if verb else {}
        given = _music(told)
        made = await bench.ask(
            carrying.take, given, _chain(told), kind, _paper(told), options, seconds=120
        )
        return _file(made, f"{_stem(given.name)}-new.{kind}", kind)

    async def take_guises(request: Request) -> Response:
        told = await _asked(request)
        given = _music(told)
        made = await bench.ask(
            seeing.guises_page, given, _chain(told), _options("guises", told), seconds=120
        )
        return _file(made, f"{_stem(given.name)}-guises.html", "html")

    async def take_lesson(request: Request) -> Response:
        told = await _asked(request)
        what = str(told.get("what"))
        if what not in lessons.TAKEN:
            raise RequestError(f"there is no {what!r} to take", legal=" ".join(lessons.TAKEN))
        given = _music(told)
        made = await bench.ask(
            lessons.take_lesson, given, _chain(told), _options("exercises", told), _plan(told),
            what, _paper(told), str(told.get("ladder") or _LADDER)[:200], seconds=120,
        )  # fmt: skip
        kind = {"musicxml": "musicxml", "answers": "md", "track": "mid"}.get(what, "pdf")
        name = {"pupil": "sheet", "musicxml": "sheet"}.get(what, what)
        return _file(made, f"{_stem(given.name)}-{name}.{kind}", kind)

    async def say(request: Request) -> Response:
        told = await _asked(request)
        name = _name(str(told.get("name") or "song.musicxml"))
        piece = str(told.get("piece") or "")[:120]
        made = {
            verb: options_of(MADE[verb], dict(told.get(verb) or {}))
            for verb in ("exercises", "guises", "midi", "page")
        }
        return JSONResponse(carrying.say(name, piece, _chain(told), made))

    async def chain(request: Request) -> Response:
        told = await _asked(request)
        return JSONResponse({"chain": carrying.unpacked(str(told.get("text") or ""))})

    async def alive(request: Request) -> Response:
        return JSONResponse({"alive": True})

    app = Starlette(
        routes=[
            Route(f"{base}/", answered(home)),
            Route(f"{base}/web/{{name}}", answered(web)),
            Route(f"{base}/given", given),
            Route(f"{base}/given/{{number:int}}", given_one),
            Route(f"{base}/words", answered(words)),
            *(
                Route(f"{base}/{name}", answered(endpoint), methods=["POST"])
                for name, endpoint in (
                    ("open", opened), ("check", checked), ("show", show), ("tell", tell),
                    ("draw", draw),
                    ("guises", guises), ("lesson", lesson), ("prove", prove), ("take", take),
                    ("take-guises", take_guises), ("take-lesson", take_lesson), ("say", say),
                    ("chain", chain), ("alive", alive),
                )
            ),
        ]
    )  # fmt: skip
    app.add_middleware(_Guard, bench=bench)
    return app


def _web(name: str) -> str:
    return own(name, "rhythm.show" if name in _SHARED else __package__)


def _stem(name: str) -> str:
    return name.rpartition(".")[0] or name


def _file(data: bytes, name: str, kind: str) -> Response:
    said = f"attachment; filename*=UTF-8''{quote(name)}"
    return Response(data, media_type=_KINDS[kind], headers={"content-disposition": said})
