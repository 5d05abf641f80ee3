"""The page in process: a bench on a folder of its own, and a client that its maker's browser would be."""

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from toadstool import toadstool

from finishplan.page.bench import Bench
from finishplan.page.guard import Keys
from finishplan.page.server import News, make_app

HOME = "http://127.0.0.1:8080"
STAGES = ("reading", "painting", "run", "plan")
Ready = Callable[..., dict[str, Any]]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """An empty bench on an empty folder."""
    made = Bench(tmp_path, lambda stage: None)
    yield made
    made.close()
    for (
        thread
    ) in threading.enumerate():  # CPython's ast module, which both pytest and NumPy use, is not safe in threads
        if thread.name == "planning":
            thread.join(60)


@pytest.fixture
def client(bench: Bench) -> TestClient:
    """A browser that entered by the printed address."""
    keys = Keys()
    client = TestClient(make_app(bench, keys, News()), base_url=HOME, headers={"origin": HOME})
    assert client.get(f"/enter?token={keys.token}", follow_redirects=False).status_code == 303
    return client


@pytest.fixture
def figure(client: TestClient) -> TestClient:
    """The browser with the toadstool read."""
    assert client.post("/api/drawing?name=toadstool", content=toadstool()).status_code == 200
    stage(client, "reading")
    return client


def stage(client: TestClient, name: str, timeout_s: float = 60.0) -> dict[str, Any]:
    """A stage's result for the newest revision, once it is there."""
    end = time.monotonic() + timeout_s
    while time.monotonic() < end:
        newest = client.get("/api/state").json()["revision"]
        found: dict[str, Any] = client.get(f"/api/stage/{name}").json()
        if found["revision"] == newest:
            assert found["problem"] is None, found["problem"]
            return found["data"]
        time.sleep(0.02)
    raise AssertionError(f"no {name} within {timeout_s} s")


def edit(client: TestClient, edits: dict[str, Any], revision: int | None = None) -> Any:
    """Post edits, on the newest revision unless told."""
    on = client.get("/api/state").json()["revision"] if revision is None else revision
    return client.post("/api/edit", json={"edits": edits}, headers={"if-match": f'"{on}"'})
