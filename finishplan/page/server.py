"""The page's server: every answer is a stage's result or the outcome of an edit; nothing is computed here."""

import asyncio
import os
import tempfile
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from finishplan.basics.errors import InputError
from finishplan.page.bench import Bench
from finishplan.page.desk import Behind, Desk, State
from finishplan.page.guard import LARGEST_EDIT, Guard, Keys
from finishplan.page.picture import shown
from finishplan.page.planning import Planning, told
from finishplan.page.printing import Printing
from finishplan.page.views import STAGES, job_view, paints_view
from finishplan.sheets.letters import FACES, font_file

STATIC = Path(__file__).parent / "static"
LARGEST_PICTURE = 200_000_000
"""Bytes of a picture that is sent (our rule: a 100-megapixel PNG has at most 300 million, mostly a tenth)."""
PATIENCE_S = 30.0
"""How long a sender may be silent."""

Answer = Callable[[Request], Awaitable[Response]]


class TooLarge(Exception):
    """More was sent than is taken."""


class News:
    """Who listens for new results, and passing them on from the planning thread."""

    def __init__(self) -> None:
        self._listeners: set[asyncio.Queue[str]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None

    def tell(self, stage: str) -> None:
        """Pass it on; may be called from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._pass_on, stage)

    def _pass_on(self, stage: str) -> None:
        for queue in self._listeners:
            if not queue.full():
                queue.put_nowait(stage)

    @property
    def listeners(self) -> int:
        return len(self._listeners)

    async def stream(self) -> AsyncIterator[str]:
        """Server-sent events (HTML standard, 9.2), a comment every 15 s so that a lost page is noticed."""
        self._loop = asyncio.get_running_loop()
        queue: asyncio.Queue[str] = asyncio.Queue(maxsize=64)
        self._listeners.add(queue)
        try:
            yield "retry: 2000\n\n"
            while True:
                try:
                    stage = await asyncio.wait_for(queue.get(), 15.0)
                    yield f"event: stage\ndata: {stage}\n\n"
                except TimeoutError:
                    yield ": here\n\n"
        finally:
            self._listeners.discard(queue)


def make_app(bench: Bench, keys: Keys, news: News) -> Starlette:
    """The ASGI application of one bench."""
    printing = Printing(bench)

    def desk() -> Desk:
        if bench.desk is None:
            raise InputError("no figure is open", cure="choose a drawing first")
        return bench.desk

    def planning() -> Planning:
        desk()
        assert bench.planning is not None
        return bench.planning

    async def index(request: Request) -> Response:
        return FileResponse(STATIC / "index.html")

    async def font(request: Request) -> Response:
        face = request.path_params["face"]
        return FileResponse(font_file(face)) if face in FACES else Response(status_code=404)

    async def enter(request: Request) -> Response:
        return keys.enter(request)

    async def state(request: Request) -> Response:
        if bench.desk is None:
            return JSONResponse({"folder": str(bench.folder), "open": False, "recent": bench.recent()})
        found = await run_in_threadpool(_taken_in, bench)
        told = {"folder": str(bench.desk.folder), "open": True, "printed": printing.printed}
        return JSONResponse({**told, **_told(found), **_stages(planning())})

    async def stage(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in STAGES:
            return _problem(InputError("no such stage", where=name), 404)
        result = planning().results.get(name)
        if result is None:
            return JSONResponse({"revision": 0}, status_code=202)
        tag = f'"{name}-{result.revision}-{id(planning())}"'
        if request.headers.get("if-none-match") == tag:
            return Response(status_code=304, headers={"etag": tag})
        body = {"revision": result.revision, "problem": result.problem, "data": result.data}
        return JSONResponse(body, headers={"etag": tag})

    async def edit(request: Request) -> Response:
        said = await _json(request)
        edits = said.get("edits")
        if not isinstance(edits, dict) or not edits or not all(isinstance(k, str) for k in edits):
            raise InputError("no edits", where="edits", cure="send a key and a value")
        return await _write(lambda revision: desk().edit(edits, revision), request)

    async def undo(request: Request) -> Response:
        return await _write(desk().undo, request)

    async def redo(request: Request) -> Response:
        return await _write(desk().redo, request)

    async def _write(change: Callable[[int], State], request: Request) -> Response:
        try:
            found = await run_in_threadpool(change, _revision(request))
        except Behind:
            return JSONResponse(_told(desk().state()), status_code=409)
        planning().ask(found)
        news.tell("job")
        return JSONResponse(_told(found))

    async def picture(request: Request) -> Response:
        looked = planning().looked
        drawing = None if looked is None else looked.materials.drawing
        data, kind = await run_in_threadpool(shown, desk().picture, drawing, bench.max_megapixels)
        return Response(data, media_type=kind)

    async def upload(request: Request) -> Response:
        query = request.query_params
        path = await _received(request, bench.folder)
        try:
            if query.get("redraw"):
                await run_in_threadpool(bench.redraw, path)
            else:
                await run_in_threadpool(bench.take_in, path, _title(query.get("name", "")))
        except InputError as error:
            where = "your picture" if str(path) in error.where else error.where
            raise InputError(error.what, where=where, cure=error.cure) from error
        finally:
            path.unlink(missing_ok=True)
        news.tell("figure")
        return JSONResponse({"folder": str(desk().folder), **_told(desk().state())})

    async def close(request: Request) -> Response:
        await run_in_threadpool(bench.put_away)
        news.tell("figure")
        return JSONResponse({"open": False})

    async def open_figure(request: Request) -> Response:
        said = await _json(request)
        await run_in_threadpool(bench.open_recent, str(said.get("id", "")))
        news.tell("figure")
        return JSONResponse(_told(desk().state()))

    async def paints(request: Request) -> Response:
        box = planning().box
        return JSONResponse({} if box is None else paints_view(box))

    async def exchange(request: Request) -> Response:
        said = desk().state()
        found = await run_in_threadpool(planning().exchange, said.text)
        return JSONResponse({"revision": said.revision, "choices": found})

    async def folder(request: Request) -> Response:
        import webbrowser

        await run_in_threadpool(webbrowser.open, desk().folder.resolve().as_uri())
        return JSONResponse({})

    async def sheets(request: Request) -> Response:
        said = await _json(request)
        return JSONResponse(await run_in_threadpool(printing.make, said))

    async def page(request: Request) -> Response:
        return Response(printing.page(request.path_params["number"]), media_type="image/png")

    async def saved(request: Request) -> Response:
        start = request.query_params.get("start", "")
        found = await run_in_threadpool(printing.file, request.path_params["name"], start)
        return Response(found.data, media_type=found.kind, headers=found.headers)

    async def events(request: Request) -> Response:
        return StreamingResponse(news.stream(), media_type="text/event-stream")

    async def refuse(request: Request, error: Exception) -> Response:
        return _problem(error, 422) if isinstance(error, InputError) else _problem(InputError(str(error)), 413)

    routes = [
        Route("/", index),
        Route("/enter", enter),
        Route("/api/state", state),
        Route("/api/stage/{name}", stage),
        Route("/api/edit", edit, methods=["POST"]),
        Route("/api/undo", undo, methods=["POST"]),
        Route("/api/redo", redo, methods=["POST"]),
        Route("/api/picture", picture),
        Route("/api/drawing", upload, methods=["POST"]),
        Route("/api/close", close, methods=["POST"]),
        Route("/api/open", open_figure, methods=["POST"]),
        Route("/api/paints", paints),
        Route("/api/exchange", exchange),
        Route("/api/folder", folder, methods=["POST"]),
        Route("/api/sheets", sheets, methods=["POST"]),
        Route("/api/sheets/{number:int}", page),
        Route("/api/save/{name}", saved),
        Route("/api/events", events),
        Route("/fonts/{face}.ttf", font),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    return Starlette(
        routes=routes,
        middleware=[Middleware(Guard, keys=keys)],
        exception_handlers={InputError: refuse, TooLarge: refuse},
    )


def _taken_in(bench: Bench) -> State:
    """The state, and planning asked for where the job was changed by hand."""
    assert bench.desk is not None and bench.planning is not None
    found = bench.desk.state()
    newest = max((r.revision for r in bench.planning.results.values()), default=0)
    if found.revision > newest:
        bench.planning.ask(found)
    return found


def _told(state: State) -> dict[str, Any]:
    return {
        "revision": state.revision,
        "job": job_view(state.text),
        "can_undo": state.can_undo,
        "can_redo": state.can_redo,
    }


def _stages(planning: Planning) -> dict[str, Any]:
    return {"stages": {name: result.revision for name, result in planning.results.items()}}


def _title(said: str) -> str:
    """What a maker calls a figure, from the name of the picture's file: only ever a text, never a path."""
    return "".join(c for c in said if c.isprintable()).strip()[:80]


def _problem(error: Exception, status: int) -> JSONResponse:
    said = told(error) if isinstance(error, InputError) else {"what": str(error), "where": "", "cure": ""}
    return JSONResponse({"problem": said}, status_code=status)


def _revision(request: Request) -> int:
    """The revision that an edit was made on, from its If-Match (RFC 9110, 13.1.1). Raises InputError."""
    said = request.headers.get("if-match", "").strip('" ')
    if not said.isdigit() or len(said) > 12:
        raise InputError("no revision", where="If-Match", cure="load the page again")
    return int(said)


async def _json(request: Request) -> dict[str, Any]:
    """A posted JSON object. Raises InputError, TooLarge."""
    import json

    body = b""
    async for chunk in _chunks(request, LARGEST_EDIT):
        body += chunk
    try:
        found = json.loads(body or b"{}")
    except (ValueError, RecursionError) as error:
        raise InputError("is not JSON", where="request", cure="load the page again") from error
    if not isinstance(found, dict):
        raise InputError("is not an object", where="request", cure="load the page again")
    return found


async def _chunks(request: Request, most: int) -> AsyncIterator[bytes]:
    """The body, piece by piece, at most `most` bytes, each piece within PATIENCE_S."""
    if request.headers.get("content-length", "0").isdigit() and int(request.headers.get("content-length", "0")) > most:
        raise TooLarge(f"more than {most / 1e6:.0f} MB were sent")
    stream, total = request.stream().__aiter__(), 0
    while True:
        try:
            chunk = await asyncio.wait_for(stream.__anext__(), PATIENCE_S)
        except StopAsyncIteration:
            return
        except TimeoutError as error:
            raise InputError("the picture did not arrive", where="request", cure="send it again") from error
        total += len(chunk)
        if total > most:
            raise TooLarge(f"more than {most / 1e6:.0f} MB were sent")
        yield chunk


async def _received(request: Request, folder: Path) -> Path:
    """What was sent, in a temporary file of the folder. Its name is ours. Raises InputError, TooLarge."""
    folder.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".sent-", dir=folder)
    path = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            async for chunk in _chunks(request, LARGEST_PICTURE):
                file.write(chunk)
        if not path.stat().st_size:
            raise InputError("the picture is empty", where="request", cure="choose another")
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return path
