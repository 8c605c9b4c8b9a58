"""The bench as a web application: bytes in, bytes out, for one browser on this machine.

Safety: every address begins with a secret made for this run; the Host and, where there is one, the
Origin must be ours; bodies are limited in size and time; no path is taken from the browser; what a
page may load is limited by a strict content security policy. The server keeps no score: the page
has it, and what a worker has worked out it keeps by content.
"""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Callable
from pathlib import Path
from time import monotonic
from typing import Any
from urllib.parse import quote, unquote

from starlette.applications import Starlette
from starlette.middleware.base import BaseHTTPMiddleware, RequestResponseEndpoint
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from rhythm.exact.errors import RemetreError

from . import asked
from .given import Given
from .run import Bench
from .shell import own, skeleton, style
from .shell import words as said

__all__ = ["application"]

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
_CLOSED = "; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
_OWN = frozenset(
    {"bench.js", "bench.css", "asking.js", "tray.js", "chain.js", "blanks.js", "stage.js",
     "lesson.js", "door.js"}
)  # fmt: skip
_SHARED = frozenset({"ear.js", "threads.js", "strip.js", "page.js", "gallery.js"})
"""The modules of the page, which serve here as well."""
_MADE = ("exercises", "guises", "midi", "page")


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
        return Response(skeleton(), media_type="text/html")

    async def web(request: Request) -> Response:
        name = request.path_params["name"]
        if name == "music.css":
            return Response(style(), media_type=_TYPES["css"])
        if name == "signs.woff":
            return Response(await bench.once("shell:signs"), media_type="font/woff")
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
        return Response(await asyncio.to_thread(said), media_type="application/json")

    async def opened(request: Request) -> Response:
        name = asked.named(unquote(request.headers.get("x-name", "score")))
        piece = unquote(request.headers.get("x-piece", ""))[:120]
        given = Given(await asked.body(request), name, piece)
        return JSONResponse(await bench.ask("seeing:opened", given, {}))

    async def checked(request: Request) -> Response:
        told = await asked.table(request)
        given, filled = asked.music(told), asked.as_table(told, "told")
        found = await bench.ask("seeing:opened", given, filled)
        return JSONResponse({**found, **await bench.ask("seeing:faults", given, filled)})

    async def show(request: Request) -> Response:
        told = await asked.table(request)
        found = await bench.ask(
            "seeing:show", asked.music(told), asked.chain(told), bool(told.get("narrow")),
            asked.near(told), [str(key) for key in asked.as_list(told, "have")], seconds=90,
        )  # fmt: skip
        bench.shown.set()
        return JSONResponse(found)

    async def tell(request: Request) -> Response:
        told = await asked.table(request)
        found = await bench.ask("seeing:tell", asked.music(told), asked.chain(told), seconds=90)
        return JSONResponse(found)

    async def draw(request: Request) -> Response:
        told = await asked.table(request)
        found = await bench.ask(
            "seeing:draw", asked.music(told), asked.chain(told), bool(told.get("narrow")),
            asked.keys(told), seconds=90,
        )  # fmt: skip
        return JSONResponse(found)

    async def guises(request: Request) -> Response:
        told = await asked.table(request)
        found = await bench.ask(
            "trying:guises", asked.music(told), asked.chain(told), asked.as_table(told, "told"),
            asked.as_table(told, "so_far"), seconds=120,
        )  # fmt: skip
        return JSONResponse(found)

    async def lesson(request: Request) -> Response:
        told = await asked.table(request)
        found = await bench.ask(
            "lessons:lesson", asked.music(told), asked.chain(told), asked.as_table(told, "told"),
            asked.plan(told), asked.paper(told), seconds=120,
        )  # fmt: skip
        return JSONResponse(found)

    async def prove(request: Request) -> Response:
        told = await asked.table(request)
        found = await bench.ask("carrying:prove", asked.music(told), asked.chain(told), seconds=90)
        return JSONResponse(found)

    async def take(request: Request) -> Response:
        told = await asked.table(request)
        given, kind = asked.music(told), str(told.get("kind"))
        made = await bench.ask(
            "carrying:take", given, asked.chain(told), kind, asked.paper(told),
            asked.as_table(told, "told"), seconds=120,
        )  # fmt: skip
        return _file(made, f"{_stem(given.name)}-new.{kind}", kind)

    async def take_guises(request: Request) -> Response:
        told = await asked.table(request)
        given = asked.music(told)
        made = await bench.ask(
            "trying:guises_page", given, asked.chain(told), asked.as_table(told, "told"),
            seconds=300,
        )  # fmt: skip
        return _file(made, f"{_stem(given.name)}-guises.html", "html")

    async def take_lesson(request: Request) -> Response:
        told = await asked.table(request)
        given, what = asked.music(told), str(told.get("what"))
        made = await bench.ask(
            "lessons:take_lesson", given, asked.chain(told), asked.as_table(told, "told"),
            asked.plan(told), what, asked.paper(told), asked.ladder(told),
            seconds=120,
        )  # fmt: skip
        kind = {"musicxml": "musicxml", "answers": "md", "track": "mid"}.get(what, "pdf")
        name = {"pupil": "sheet", "musicxml": "sheet"}.get(what, what)
        return _file(made, f"{_stem(given.name)}-{name}.{kind}", kind)

    async def say(request: Request) -> Response:
        told = await asked.table(request)
        name = asked.named(str(told.get("name") or "song.musicxml"))
        piece = str(told.get("piece") or "")[:120]
        made = {verb: asked.as_table(told, verb) for verb in _MADE}
        rows = asked.chain(told)
        return JSONResponse(
            await asyncio.to_thread(_said, name, piece, rows, made, asked.ladder(told))
        )

    async def chain(request: Request) -> Response:
        told = await asked.table(request)
        text = str(told.get("text") or "")
        return JSONResponse({"chain": await asyncio.to_thread(_unpacked, text)})

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


def _said(*told: Any) -> Any:
    """Whatever was done as text; what is needed for it is loaded after the first page."""
    from .carrying import say

    return say(*told)


def _unpacked(text: str) -> Any:
    from .carrying import unpacked

    return unpacked(text)


def _web(name: str) -> str:
    return own(name, "rhythm.show" if name in _SHARED else __package__)


def _stem(name: str) -> str:
    return name.rpartition(".")[0] or name


def _file(data: bytes, name: str, kind: str) -> Response:
    said = f"attachment; filename*=UTF-8''{quote(name)}"
    return Response(data, media_type=_KINDS[kind], headers={"content-disposition": said})
