"""What the page refuses: foreign hosts and pages, whoever lacks the cookie, tricks with paths, what is no picture."""

import asyncio
import contextlib
import errno
import io
import os
import re
import struct
import tomllib
import zlib
from pathlib import Path
from typing import Any

import pytest
from asked import HOME, edit
from hostile import NAMES
from PIL import Image
from starlette.routing import Route
from starlette.testclient import TestClient
from toadstool import toadstool

from finishplan.basics.errors import InputError
from finishplan.page import bench as page_bench
from finishplan.page import received, server
from finishplan.page.bench import Bench
from finishplan.page.desk import Desk
from finishplan.page.guard import Keys, cookie_of
from finishplan.page.news import News
from finishplan.page.server import make_app

GETS = ("/", "/api/state", "/api/picture", "/api/paints", "/api/save/job.toml", "/static/main.js", "/fonts/body.ttf")
ROUTES = make_app(Bench(Path(), lambda stage: None), Keys(), News()).routes
POSTS = {route.path for route in ROUTES if isinstance(route, Route) and "POST" in (route.methods or ())}


def tree(folder: Path) -> set[str]:
    return {str(p.relative_to(folder)) for p in folder.rglob("*")}


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example:8080", "[::1]:8080", ""])
def test_foreign_hosts_are_turned_away(client: TestClient, host: str) -> None:
    """DNS rebinding: the name in the address bar is checked (RFC 9110, 7.4: 421 Misdirected Request)."""
    assert {client.get(path, headers={"host": host}).status_code for path in GETS} == {421}


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:9999", "https://127.0.0.1:8080"])
def test_other_pages_cannot_write(client: TestClient, bench: Bench, origin: str) -> None:
    assert len(POSTS) >= 10
    assert {client.post(path, headers={"origin": origin}).status_code for path in POSTS} == {403}
    assert tree(bench.folder) == set()


def test_what_writes_must_tell_its_origin(bench: Bench) -> None:
    keys = Keys()
    bare = TestClient(make_app(bench, keys, News()), base_url=HOME, cookies={cookie_of(HOME): keys.cookie})
    assert {bare.post(path).status_code for path in POSTS} == {403}
    assert bare.get("/api/state").status_code == 200


def test_other_sites_cannot_read(client: TestClient) -> None:
    """Fetch Metadata: Sec-Fetch-Site."""
    assert client.get("/api/state", headers={"sec-fetch-site": "cross-site"}).status_code == 403


def test_nothing_without_the_cookie(bench: Bench) -> None:
    keys = Keys()
    stranger = TestClient(make_app(bench, keys, News()), base_url=HOME, headers={"origin": HOME})
    assert {stranger.get(path).status_code for path in GETS} == {401}
    assert {stranger.post(path).status_code for path in POSTS} == {401}
    for token in ("", "x", keys.cookie, keys.token[:-1]):
        assert stranger.get("/enter", params={"token": token}).status_code == 403


def test_the_token_is_good_once_and_the_cookie_strict(bench: Bench) -> None:
    keys = Keys()
    app, token = make_app(bench, keys, News()), keys.token
    first, second = (TestClient(app, base_url=HOME, follow_redirects=False) for _ in range(2))
    said = first.get(f"/enter?token={token}").headers["set-cookie"].lower()
    assert "httponly" in said and "samesite=strict" in said
    assert second.get(f"/enter?token={token}").status_code == 403
    assert first.get(f"/enter?token={token}").status_code == 303  # the address opened again in the same browser


def test_every_answer_carries_the_safe_headers(client: TestClient) -> None:
    for answer in (client.get("/"), client.get("/nowhere"), client.get("/api/state", headers={"host": "evil.example"})):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'self'" in policy and "frame-ancestors 'none'" in policy and "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_the_page_asks_nothing_of_other_places() -> None:
    """No address but this server's in what is sent, other than names of XML vocabularies."""
    for file in server.STATIC.iterdir():
        text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http:" not in text and "https:" not in text and "//cdn" not in text, file.name
        # what a maker names is set as text, never as markup; nothing stands in the page that the policy would stop
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function", text), (
            file.name
        )
    page = (server.STATIC / "index.html").read_text(encoding="utf-8")
    assert re.findall(r"<script[^>]*>", page) == ['<script type="module" src="/static/main.js">']
    assert not re.search(r"<style| style=| on\w+=|javascript:", page)


TRICKS = (
    "../job.toml", "..%2f..%2fetc%2fpasswd", "%2e%2e/%2e%2e/etc/passwd", "/etc/passwd", "....//etc", "C:\\boot.ini",
    "..\\..\\x", "~/.ssh/id", "job.toml%00.png", "file:///etc/passwd", ".", "..", "con", " job.toml",
)  # fmt: skip


def test_no_name_reaches_the_disk(figure: TestClient, bench: Bench) -> None:
    before = tree(bench.folder)
    secret = bench.folder / "secret.txt"
    secret.write_text("not for the page")
    for trick in (*TRICKS, "../secret.txt", "..%2fsecret.txt", "%2e%2e/secret.txt", str(secret)):
        for path in ("/static/", "/fonts/", "/api/save/", "/api/stage/", "/api/sheets/"):
            answer = figure.get(path + trick)
            assert answer.status_code in (303, 404, 405, 422) or answer.url.path in ("/", "/static/"), path + trick
            assert "not for the page" not in answer.text and "root:" not in answer.text
        assert figure.post("/api/open", json={"id": trick}).status_code == 422
    for key in ("figure.drawing", "figure.parts_map", "paints.file", "paints.table", "parts.A.mesh"):
        for name in ("../secret.txt", str(secret)):
            assert edit(figure, {key: name}).status_code == 422
    secret.unlink()
    assert tree(bench.folder) == before


def test_a_hostile_name_is_only_a_text(client: TestClient, bench: Bench) -> None:
    picture = io.BytesIO()
    Image.new("RGB", (24, 24), "#336699").save(picture, "PNG")
    for name in NAMES:
        answer = client.post("/api/drawing", params={"name": name}, content=picture.getvalue())
        assert answer.status_code == 200, name
        called = answer.json()["job"]["figure"]["name"]
        assert len(called) <= 80 and called.isprintable()
    assert len(NAMES) >= 50
    assert {p.name for p in bench.folder.iterdir()} == {f"figure-{k + 1}" for k in range(len(NAMES))}
    ours = {"drawing.png", "job.toml", ".finishplan-reading.npz"}
    assert {p.name for folder in bench.folder.iterdir() for p in folder.iterdir()} <= ours


def test_a_hostile_name_of_an_area_stays_in_the_job(tmp_path: Path) -> None:
    desk = Desk(tmp_path, "drawing.png")
    for k, name in enumerate(NAMES):
        with contextlib.suppress(InputError):
            desk.edit({f"{k + 1}.name": name}, desk.state().revision)
            said = tomllib.loads(desk.file.read_text(encoding="utf-8"))["areas"]
            assert said[name.strip()]["number"] == k + 1
    assert len(said) > 30 and {p.name for p in tmp_path.iterdir()} == {"job.toml"}


def bomb(width: int, height: int) -> bytes:
    """A PNG of that size, black, of a few kilobytes (PNG specification, 5: signature, IHDR, IDAT, IEND)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" * 100_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        (b"", "empty"),
        (b"hello", "not a picture"),
        (bomb(60_000, 60_000), "megapixels"),
        (bomb(2_000, 2_000)[:60], "cut short"),
        (bomb(4, 4), "too small"),
        (b"PK\x03\x04" + b"\0" * 200, ""),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a picture"),
    ],
)
def test_what_is_no_drawing_is_refused_and_nothing_written(
    client: TestClient, bench: Bench, sent: bytes, said: str
) -> None:
    answer = client.post("/api/drawing", content=sent)
    assert answer.status_code == 422
    assert said in answer.json()["problem"]["what"] and ".sent-" not in answer.text
    assert tree(bench.folder) == set() and client.get("/api/state").json()["open"] is False


def test_too_much_is_refused_before_it_is_sent(client: TestClient, bench: Bench) -> None:
    for path in ("/api/drawing", "/api/edit"):
        answer = client.post(path, content=b"x", headers={"content-length": "1000000000", "if-match": '"1"'})
        assert answer.status_code == 413
    assert tree(bench.folder) == set()


def test_too_much_is_refused_while_it_is_sent(
    client: TestClient, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(received, "LARGEST_PICTURE", 10_000)
    answer = client.post("/api/drawing", content=(b"x" * 1000 for _ in range(20)))
    assert answer.status_code == 413
    assert tree(bench.folder) == set()


def test_a_slow_sender_is_given_up(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(received, "PATIENCE_S", 0.05)
    keys, told = Keys(), []

    async def receive() -> Any:
        await asyncio.sleep(10)

    async def send(message: Any) -> None:
        told.append(message)

    headers = {"host": "127.0.0.1:8080", "origin": HOME, "cookie": f"{cookie_of(HOME)}={keys.cookie}"}
    scope = {
        "type": "http", "method": "POST", "path": "/api/drawing", "raw_path": b"/api/drawing", "query_string": b"",
        "headers": [(k.encode(), v.encode()) for k, v in headers.items()], "http_version": "1.1", "scheme": "http",
        "server": ("127.0.0.1", 8080), "client": ("127.0.0.1", 1),
    }  # fmt: skip
    asyncio.run(asyncio.wait_for(make_app(bench, keys, News())(scope, receive, send), 5))
    assert told[0]["status"] == 422 and tree(bench.folder) == set()


UNWRITABLE = tuple(
    b'{"edits": {"1.name": ' + value + b"}}"
    for value in (
        b'"\\ud800"',
        b"[null]",
        b'{"a": 1}',
        b"NaN",
        b"1e999",
        b"[[[[[1]]]]]",
        b"[" * 900 + b"1" + b"]" * 900,
    )
)
"""Values that TOML has not: half a surrogate pair, nothing in a list, no number; lists in lists without end."""


def test_what_is_no_edit_is_refused(figure: TestClient, bench: Bench) -> None:
    assert bench.desk is not None
    before = bench.desk.file.read_bytes()
    for body in (
        b"{",
        b"[]",
        b"[" * 100_000,
        b'{"edits": []}',
        b'{"edits": {}}',
        b'{"edits": {"": 1}}',
        b"\xff",
        *UNWRITABLE,
    ):
        assert figure.post("/api/edit", content=body, headers={"if-match": '"1"'}).status_code == 422
    assert figure.post("/api/edit", json={"edits": {"run.castings": 2}}).status_code == 422  # on no revision
    assert bench.desk.file.read_bytes() == before


def test_the_routes_before_a_figure_lies_there_say_so(client: TestClient) -> None:
    for path in ("/api/stage/reading", "/api/picture", "/api/paints", "/api/save/plan.json"):
        assert client.get(path).status_code == 422
    assert client.get("/").status_code == client.get("/static/main.js").status_code == 200
    assert (
        client.get("/fonts/body.ttf").content[:4] == b"\0\1\0\0"
    )  # OpenType specification: version of TrueType outlines


def test_a_full_disk_is_told_and_leaves_nothing(
    client: TestClient, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 4918, 11.5: 507 Insufficient Storage."""

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    for place in (received.tempfile, "mkstemp"), (received.os, "fdopen"), (os, "replace"):
        with monkeypatch.context() as patched:
            patched.setattr(*place, full)
            answer = client.post("/api/drawing", content=toadstool())
        assert answer.status_code == 507 and "room" in answer.json()["problem"]["cure"]
        assert tree(bench.folder) == set()
    assert client.post("/api/drawing", content=toadstool()).status_code == 200
    before = tree(bench.folder)
    for path, place in (("/api/drawing", "write_whole"), ("/api/drawing?redraw=1", "replace")):
        with monkeypatch.context() as patched:
            patched.setattr(*{"write_whole": (page_bench, place, full), "replace": (Path, place, full)}[place])
            assert client.post(path, content=toadstool()).status_code in (422, 507)
        assert tree(bench.folder) - {"figure-1/.finishplan-reading.npz"} == before


def test_links_out_of_the_folder_are_not_followed(figure: TestClient, bench: Bench, tmp_path: Path) -> None:
    outside, folder = tmp_path.parent / f"{tmp_path.name}-outside", bench.laid.folder
    outside.mkdir()
    (outside / "job.toml").write_text('[figure]\nname = "secret"\ndrawing = "drawing.png"\n')
    asked = {"/api/picture": "drawing.png", "/api/state": "job.toml", "/api/save/job.toml": "job.toml"}
    for path, name in asked.items():
        (folder / name).replace(folder / "kept")
        (folder / name).symlink_to(outside / "job.toml")
        said = figure.get(path)
        assert said.status_code == 422 and "leads out" in said.json()["problem"]["what"]
        (folder / "kept").replace(folder / name)
    (folder / ".finishplan-reading.npz").unlink()
    (folder / ".finishplan-reading.npz").symlink_to(outside / "mine")
    edit(figure, {"figure.colours": 4})
    while not (found := figure.get("/api/stage/reading").json())["problem"]:
        pass
    assert "leads out" in found["problem"]["what"] and not (outside / "mine").exists()
    (bench.folder / "linked").symlink_to(outside, target_is_directory=True)
    bench.put_away()
    assert [one["id"] for one in figure.get("/api/state").json()["recent"]] == ["figure-1"]
    assert figure.post("/api/open", json={"id": "linked"}).status_code == 422
