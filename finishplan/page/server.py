"""The page's server: every answer is a stage's result or the outcome of an edit; nothing is computed here."""

from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from finishplan.basics.errors import InputError
from finishplan.page.answers import refused
from finishplan.page.bench import Bench
from finishplan.page.figure_routes import FigureRoutes
from finishplan.page.guard import Guard, Keys
from finishplan.page.job_routes import JobRoutes
from finishplan.page.news import News
from finishplan.page.printing import Printing
from finishplan.page.received import TooLarge
from finishplan.sheets.letters import FACES, font_file

STATIC = Path(__file__).parent / "static"


def make_app(bench: Bench, keys: Keys, news: News) -> Starlette:
    """The ASGI application of one bench."""

    async def enter(request: Request) -> Response:
        return keys.enter(request)

    return Starlette(
        routes=[
            Route("/", _index),
            Route("/enter", enter),
            *JobRoutes(bench, news).routes(),
            *FigureRoutes(bench, news, Printing(bench)).routes(),
            Route("/fonts/{face}.ttf", _font),
            Mount("/static", StaticFiles(directory=STATIC)),
        ],
        middleware=[Middleware(Guard, keys=keys)],
        # Every exception, so that the page can show a fault of ours too as it shows a mistake.
        exception_handlers=dict.fromkeys((InputError, TooLarge, ClientDisconnect, OSError, Exception), refused),
    )


async def _index(request: Request) -> Response:
    return FileResponse(STATIC / "index.html")


async def _font(request: Request) -> Response:
    face = request.path_params["face"]
    return FileResponse(font_file(face)) if face in FACES else Response(status_code=404)
