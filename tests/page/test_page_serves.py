"""The server over sockets: whoever sends too much, too slowly or breaks off is refused, and it goes on; with nobody
there it ends and says so."""

import http.client
import re
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from finishplan.page import serve, silent


class Maker:
    """A browser that was sent to the printed address."""

    def __init__(self, address: str) -> None:
        _, _, host, path = address.split("/", 3)
        self.host, self.headers = host, {"Host": host, "Origin": f"http://{host}"}
        entered = self.get("/" + path)
        self.headers["Cookie"] = str(entered.getheader("set-cookie")).split(";")[0]
        assert entered.status == 303 and self.headers["Cookie"].startswith(f"finishplan-{host.split(':')[1]}=")

    def get(self, path: str) -> http.client.HTTPResponse:
        asked = http.client.HTTPConnection(self.host, timeout=10)
        asked.request("GET", path, headers=self.headers)
        return asked.getresponse()

    def sends(self, data: bytes) -> socket.socket:
        host, port = self.host.split(":")
        opened = socket.create_connection((host, int(port)), timeout=10)
        opened.sendall(data)
        return opened

    def picture_of(self, length: int) -> bytes:
        lines = [f"{name}: {value}" for name, value in (self.headers | {"Content-Length": str(length)}).items()]
        return "\r\n".join(["POST /api/drawing HTTP/1.1", *lines, "", ""]).encode()


def soon(holds: Callable[[], object]) -> None:
    end = time.monotonic() + 10
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.01)


@pytest.fixture
def maker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[Maker]:
    """Someone at a bench in an empty folder, which ends once nobody is there."""
    opened: list[str] = []
    monkeypatch.setattr(serve.webbrowser, "open", opened.append)
    monkeypatch.setattr(silent, "LONGEST_S", 0.2)
    thread = threading.Thread(target=serve.serve, args=(tmp_path, 0), kwargs={"browser": True})
    thread.start()
    soon(lambda: opened)
    made = Maker(opened[0])  # at once: what comes before the server is up waits for it
    page = made.get("/api/events")
    monkeypatch.setattr(serve, "IDLE_MIN", 0.0)
    yield made
    assert thread.is_alive()
    page.close()
    thread.join(20)
    assert not thread.is_alive()
    said = capsys.readouterr()
    assert "No page was open" in said.out and "Traceback" not in said.err


def test_the_bench_goes_on_and_ends_when_nobody_is_there(maker: Maker, tmp_path: Path) -> None:
    with maker.sends(maker.picture_of(1_000_000_000)) as told:
        assert b" 413 " in told.recv(100)
    with maker.sends(b"GET / HTTP/1.1\r\nHo") as waited_for:
        assert waited_for.recv(10) == b""  # closed
    with maker.sends(maker.picture_of(500_000) + b"x" * 1000):
        soon(lambda: list(tmp_path.glob(".sent-*")))
    soon(lambda: not list(tmp_path.iterdir()))
    assert maker.get("/api/state").status == 200


def test_no_other_command_needs_a_server() -> None:
    """Starlette and uvicorn are imported by the bench alone, which is imported where it is asked for."""
    package = Path(serve.__file__).parents[1]
    served = re.compile(r"^(import|from) (starlette|uvicorn|h11|finishplan\.page)\b", re.MULTILINE)
    found = [p for p in package.rglob("*.py") if served.search(p.read_text(encoding="utf-8"))]
    assert found and {p.parent.name for p in found} == {"page"}
