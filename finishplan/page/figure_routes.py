"""Routes of the figure: its picture, a new drawing, one of before, its folder, its sheets."""

import webbrowser

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from finishplan.basics.errors import InputError
from finishplan.page.answers import Json, of_state
from finishplan.page.bench import Bench
from finishplan.page.news import News
from finishplan.page.picture import shown
from finishplan.page.printing import Printing
from finishplan.page.received import json_of, picture_of


class FigureRoutes:
    """What is laid on the bench, and what is taken from it."""

    def __init__(self, bench: Bench, news: News, printing: Printing) -> None:
        self._bench, self._news, self._printing = bench, news, printing

    def routes(self) -> list[Route]:
        """All of them."""
        return [
            Route("/api/picture", self.picture),
            Route("/api/drawing", self.upload, methods=["POST"]),
            Route("/api/close", self.close, methods=["POST"]),
            Route("/api/open", self.open, methods=["POST"]),
            Route("/api/folder", self.folder, methods=["POST"]),
            Route("/api/sheets", self.sheets, methods=["POST"]),
            Route("/api/sheets/{number:int}", self.page),
            Route("/api/save/{name}", self.saved),
        ]

    async def picture(self, request: Request) -> Response:
        looked, desk = self._bench.planned.looked, self._bench.laid
        drawing = None if looked is None else looked.materials.drawing
        data, kind = await run_in_threadpool(shown, desk.picture, drawing, self._bench.max_megapixels)
        return Response(data, media_type=kind)

    async def upload(self, request: Request) -> Response:
        query, bench = request.query_params, self._bench
        path = await picture_of(request, bench.folder)
        try:
            if query.get("redraw"):
                await run_in_threadpool(bench.redraw, path)
            else:
                await run_in_threadpool(bench.take_in, path, _title(query.get("name", "")))
        except InputError as error:
            # The temporary file's name is ours, and would tell its maker nothing.
            where = "your picture" if str(path) in error.where else error.where
            raise InputError(error.what, where=where, cure=error.cure) from error
        finally:
            # Where it was taken in it has been moved away; else nothing of it stays.
            path.unlink(missing_ok=True)
        self._news.tell("figure")
        return Json({"folder": str(bench.laid.folder), **of_state(bench.laid.state())})

    async def close(self, request: Request) -> Response:
        await run_in_threadpool(self._bench.put_away)
        self._news.tell("figure")
        return Json({"open": False})

    async def open(self, request: Request) -> Response:
        said = await json_of(request)
        await run_in_threadpool(self._bench.open_recent, str(said.get("id", "")))
        self._news.tell("figure")
        return Json(of_state(self._bench.laid.state()))

    async def folder(self, request: Request) -> Response:
        await run_in_threadpool(webbrowser.open, self._bench.laid.folder.resolve().as_uri())
        return Json({})

    async def sheets(self, request: Request) -> Response:
        said = await json_of(request)
        return Json(await run_in_threadpool(self._printing.make, said))

    async def page(self, request: Request) -> Response:
        return Response(self._printing.page(request.path_params["number"]), media_type="image/png")

    async def saved(self, request: Request) -> Response:
        start = request.query_params.get("start", "")
        found = await run_in_threadpool(self._printing.file, request.path_params["name"], start)
        return Response(found.data, media_type=found.kind, headers=found.headers)


def _title(said: str) -> str:
    """What a maker calls a figure, from the name of the picture's file: only ever a text, never a path."""
    return "".join(c for c in said if c.isprintable()).strip()[:80]
