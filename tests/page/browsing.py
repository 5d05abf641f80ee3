"""Debian's chromium on a bench of its own, and what is wrong with what it shows: for tests and for measuring."""

import os
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn

from finishplan.page.guard import Keys
from finishplan.page.serve import bench_for
from finishplan.page.server import make_app

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
FLAGS = [
    "--no-sandbox", "--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update",
]  # fmt: skip
VIEWS = ("drawing", "shelf", "order", "run", "sheets")
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
FAINT = Path(__file__).parent / "faint.js"
"""Texts within pictures that stand out less than 4.5 to 1 from what is under them (WCAG 2.2, 1.4.3 and its relative
luminance); axe-core leaves them undecided. A halo counts as their ground."""


def there_is_a_browser() -> bool:
    """Whether chromium can be started."""
    return os.access(CHROMIUM, os.X_OK)


@contextmanager
def served(path: Path) -> Iterator[str]:
    """A bench on a drawing or a folder, served on a free port: the address to open."""
    bench, news = bench_for(path)
    keys, listening = Keys(), socket.socket()
    listening.bind(("127.0.0.1", 0))
    config = uvicorn.Config(make_app(bench, keys, news), log_level="error", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, args=([listening],))
    thread.start()
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}/enter?token={keys.token}"
    finally:
        server.should_exit = True
        thread.join(20)
        bench.close()
        for planning in threading.enumerate():
            if planning.name == "planning":
                planning.join(60)


def go(page: Any, view: str) -> None:
    """To a view, with all that is folded in it open."""
    page.locator(f"#stages a[href='#{view}']").click()
    page.locator(f"body[data-view={view}]").wait_for()
    if view == "sheets":
        page.locator(".sheets:not(.stale)").wait_for()
    page.locator("details").evaluate_all("all => all.forEach(d => d.open = true)")


def wrong_with(page: Any) -> list[str]:
    """What axe-core finds against WCAG 2.2 A and AA, and texts in pictures that are too faint. The page's context must
    bypass the content security policy."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("tags => axe.run(document, {runOnly: tags})", TAGS)
    assert len(found["passes"]) > 10
    said = [f"{v['id']}: {v['nodes'][0]['html'][:120]} {v['nodes'][0]['failureSummary']}" for v in found["violations"]]
    return said + [f"faint: {one}" for one in page.evaluate(FAINT.read_text(encoding="utf-8"))]
