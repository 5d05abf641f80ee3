"""The page in process: a bench on a folder of its own, and a client that its maker's browser would be."""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from asked import HOME, stage
from starlette.testclient import TestClient
from toadstool import toadstool

from finishplan.page.bench import Bench
from finishplan.page.guard import Keys
from finishplan.page.news import News
from finishplan.page.server import make_app


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """An empty bench on an empty folder."""
    made = Bench(tmp_path, lambda stage: None)
    yield made
    made.close()
    # CPython's ast module, which both pytest and NumPy use, is not safe in threads
    for thread in threading.enumerate():
        if thread.name == "planning":
            thread.join(60)


@pytest.fixture
def client(bench: Bench) -> Iterator[TestClient]:
    """A browser that entered by the printed address."""
    keys = Keys()
    with TestClient(make_app(bench, keys, News()), base_url=HOME, headers={"origin": HOME}) as client:
        assert client.get(f"/enter?token={keys.token}", follow_redirects=False).status_code == 303
        yield client


@pytest.fixture
def figure(client: TestClient) -> TestClient:
    """The browser with the toadstool read."""
    assert client.post("/api/drawing?name=toadstool", content=toadstool()).status_code == 200
    stage(client, "reading")
    return client
