"""Starting the page: a free port of the loopback address, the browser opened on it, an end after a time of quiet."""

import asyncio
import contextlib
import socket
import time
import webbrowser
from pathlib import Path

from finishplan.basics.errors import InputError
from finishplan.page.bench import Bench
from finishplan.page.guard import Keys
from finishplan.page.news import News
from finishplan.page.server import make_app

IDLE_MIN = 120.0
"""Without a page open for so long, the server ends (our rule)."""


def bench_for(path: Path | None, max_megapixels: int = 100) -> tuple[Bench, News]:
    """The bench for a drawing, a job file or a folder; None: the folder where one is. Raises InputError."""
    news = News()
    path = Path() if path is None else path
    if path.suffix.lower() == ".toml" and path.is_file():
        bench = Bench(path.parent.parent, news.tell, max_megapixels=max_megapixels)
        bench.open_folder(path.parent)
    elif path.is_dir():
        bench = Bench(path, news.tell, max_megapixels=max_megapixels)
        if (path / "job.toml").is_file():
            bench.open_folder(path)
    elif path.is_file():
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
        config = uvicorn.Config(
            make_app(bench, keys, news),
            log_level="warning",
            access_log=False,
            limit_concurrency=100,
            timeout_keep_alive=10,
            timeout_graceful_shutdown=2,
        )
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(_until_quiet(uvicorn.Server(config), listening, news))
    bench.close()


async def _until_quiet(server: "object", listening: socket.socket, news: News) -> None:
    import uvicorn

    assert isinstance(server, uvicorn.Server)
    running = asyncio.create_task(server.serve(sockets=[listening]))
    looked = time.monotonic()
    while not running.done():
        await asyncio.wait({running}, timeout=1.0)
        if news.listeners:
            looked = time.monotonic()
        server.should_exit = server.should_exit or time.monotonic() - looked > 60 * IDLE_MIN
    await running


def _bound(port: int) -> socket.socket:
    """A socket of the loopback address; port 0: any free one. Raises InputError."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.bind(("127.0.0.1", port))
    except OSError as error:
        listening.close()
        raise InputError(
            f"port {port} cannot be had: {error.strerror}", where="--port", cure="leave it out, or choose another"
        ) from error
    return listening
