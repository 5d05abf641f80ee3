"""What a browser asks of the bench: a stage once it is there, an edit."""

import time
from typing import Any

from starlette.testclient import TestClient

HOME = "http://127.0.0.1:8080"


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
