"""Routes of the job: its state, the stages' results, edits, undo and redo."""

from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from finishplan.basics.errors import InputError
from finishplan.page.answers import Json, of_problem, of_state
from finishplan.page.bench import Bench
from finishplan.page.box_edits import box_edit, edited
from finishplan.page.desk import Behind, State
from finishplan.page.news import News
from finishplan.page.received import LARGEST_PICTURE, edits_of, json_of, revision_of
from finishplan.page.views import STAGES, paints_view


class JobRoutes:
    """What is asked and said of the figure that lies on the bench."""

    def __init__(self, bench: Bench, news: News) -> None:
        self._bench, self._news = bench, news

    def routes(self) -> list[Route]:
        """All of them."""
        return [
            Route("/api/state", self.state),
            Route("/api/stage/{name}", self.stage),
            Route("/api/edit", self.edit, methods=["POST"]),
            Route("/api/undo", self.undo, methods=["POST"]),
            Route("/api/redo", self.redo, methods=["POST"]),
            Route("/api/paints", self.paints),
            Route("/api/box", self.edit_box, methods=["POST"]),
            Route("/api/keep", self.keep, methods=["POST"]),
            Route("/api/exchange", self.exchange),
            Route("/api/events", self.events),
        ]

    async def state(self, request: Request) -> Response:
        bench, bounds = self._bench, {"largest": LARGEST_PICTURE}
        if bench.desk is None or bench.planning is None:
            return Json({"folder": str(bench.folder), "open": False, "recent": bench.recent(), **bounds})
        found = await run_in_threadpool(bench.taken_in)
        stages = {name: result.revision for name, result in bench.planning.results.items()}
        return Json({"folder": str(bench.desk.folder), "open": True, **bounds, **of_state(found), "stages": stages})

    async def stage(self, request: Request) -> Response:
        name, planning = request.path_params["name"], self._bench.planned
        if name not in STAGES:
            return of_problem(InputError("no such stage", where=name), 404)
        result = planning.results.get(name)
        if result is None:
            return Json({"revision": 0}, status_code=202)
        # Revisions begin anew with each figure, so the tag names the planning too.
        tag = f'"{name}-{result.revision}-{id(planning)}"'
        if request.headers.get("if-none-match") == tag:
            return Response(status_code=304, headers={"etag": tag})
        body = {"revision": result.revision, "problem": result.problem, "data": result.data}
        return Json(body, headers={"etag": tag})

    async def edit(self, request: Request) -> Response:
        edits = await edits_of(request)
        desk = self._bench.laid
        return await self._write(lambda revision: desk.edit(edits, revision), request)

    async def edit_box(self, request: Request) -> Response:
        asked, desk, box = box_edit(await json_of(request)), self._bench.laid, self._bench.planned.box
        if box is None:
            raise InputError("the paints are not read yet", cure="wait a moment and try again")
        return await self._write(
            lambda revision: desk.edit_files(lambda files: edited(files, asked, box, desk.folder), revision), request
        )

    async def undo(self, request: Request) -> Response:
        return await self._write(self._bench.laid.undo, request)

    async def redo(self, request: Request) -> Response:
        return await self._write(self._bench.laid.redo, request)

    async def _write(self, change: Callable[[int], State], request: Request) -> Response:
        try:
            found = await run_in_threadpool(change, revision_of(request))
        # The newer job goes with the refusal, so that the page can show it at once.
        except Behind:
            return Json(of_state(self._bench.laid.state()), status_code=409)
        self._bench.planned.ask(found)
        self._news.tell("job")
        return Json(of_state(found))

    async def paints(self, request: Request) -> Response:
        box = self._bench.planned.box
        return Json({} if box is None else paints_view(box))

    async def keep(self, request: Request) -> Response:
        letter, bench = str((await json_of(request)).get("mix", "")), self._bench
        name = await run_in_threadpool(bench.planned.keep, letter, bench.folder)
        # The book is no part of the job, but what hangs on it must be planned anew.
        found = bench.laid.renewed()
        bench.planned.ask(found)
        self._news.tell("job")
        return Json({"kept": name, **of_state(found)})

    async def exchange(self, request: Request) -> Response:
        state = self._bench.laid.state()
        choices = await run_in_threadpool(self._bench.planned.exchange, state.text)
        return Json({"revision": state.revision, "choices": choices})

    async def events(self, request: Request) -> Response:
        return StreamingResponse(self._news.stream(), media_type="text/event-stream")
