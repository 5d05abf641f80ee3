"""Starting the page: a free port of the loopback address, the browser opened on it, an end after a time of quiet."""

import asyncio
import contextlib
import socket
import time
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.types import ASGIApp

from finishplan.basics.errors import InputError
from finishplan.basics.files import is_file
from finishplan.page.bench import Bench
from finishplan.page.guard import Keys
from finishplan.page.news import News
from finishplan.page.server import make_app

if TYPE_CHECKING:
    import uvicorn

IDLE_MIN = 120.0
"""Without a page open for so long, the server ends (our rule)."""


def bench_for(path: Path | None, max_megapixels: int = 100) -> tuple[Bench, News]:
    """The bench for a drawing, a job file or a folder; None: the folder where one is. Raises InputError."""
    news = News()
    path = Path() if path is None else path
    if path.suffix.lower() == ".toml" and is_file(path):
        # A figure's folder lies in the bench's: the earlier ones beside it can be opened too.
        bench = Bench(path.parent.parent, news.tell, max_megapixels=max_megapixels)
        bench.open_folder(path.parent)
    elif path.is_dir():
        bench = Bench(path, news.tell, max_megapixels=max_megapixels)
        if is_file(path / "job.toml"):
            bench.open_folder(path)
    elif is_file(path):
        bench = Bench(path.parent, news.tell, max_megapixels=max_megapixels)
        bench.open_drawing(path, path.parent / f"{path.stem}-plan")
    else:
        raise InputError("no such file", where=str(path), cure="give a drawing, a job file or a folder")
    return bench, news


def serve(path: Path | None, port: int, *, browser: bool, max_megapixels: int = 100) -> None:
    """Serve the page until the terminal ends it or nobody looked for IDLE_MIN. Raises InputError."""
    import uvicorn

    bench, news = bench_for(path, max_megapixels)
    keys = Keys()
    with _bound(port) as listening:
        address = f"http://127.0.0.1:{listening.getsockname()[1]}/enter?token={keys.token}"
        print(f"The bench page: {address}", flush=True)
        print(f"It works in {bench.folder}. Ctrl-C ends it, or {IDLE_MIN / 60:g} h without a page open.", flush=True)
        if browser:
            webbrowser.open(address)
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(_until_quiet(uvicorn.Server(_config(make_app(bench, keys, news))), listening, news))
    bench.close()


def _config(app: ASGIApp) -> "uvicorn.Config":
    import uvicorn

    return uvicorn.Config(
        app,
        http="h11",
        ws="none",
        log_level="warning",
        access_log=False,
        # No proxy stands before it, so nobody may claim to be another address.
        proxy_headers=False,
        server_header=False,
        limit_concurrency=100,
        timeout_keep_alive=10,
        # Pages listen for news without end: they are not waited for any longer.
        timeout_graceful_shutdown=2,
    )


async def _until_quiet(server: "uvicorn.Server", listening: socket.socket, news: News) -> None:
    from finishplan.page.silent import Silent

    running = asyncio.create_task(server.serve(sockets=[listening]))
    looked, silent = time.monotonic(), Silent(server)
    while not running.done():
        await asyncio.wait({running}, timeout=1.0)
        now = time.monotonic()
        silent.close(now)
        looked = now if news.listeners else looked
        if now - looked > 60 * IDLE_MIN and not server.should_exit:
            print(f"No page was open for {IDLE_MIN / 60:g} h: the bench ends. All is in the job file.", flush=True)
            server.should_exit = True
        # Told each second until it has ended: a listener's queue may have been full.
        if server.should_exit:
            news.end()
    await running


def _bound(port: int) -> socket.socket:
    """A socket of the loopback address; port 0: any free one. Raises InputError."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.bind(("127.0.0.1", port))
        listening.listen(128)  # the browser is opened before the server takes what waits
    except OSError as error:
        listening.close()
        raise InputError(
            f"port {port} cannot be had: {error.strerror}", where="--port", cure="leave it out, or choose another"
        ) from error
    return listening
