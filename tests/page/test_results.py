"""What the page shows and saves is what the commands give, byte for byte."""

import io

from asked import edit, stage
from PIL import Image
from pypdf import PdfReader
from starlette.testclient import TestClient
from toadstool import toadstool

from finishplan.page.bench import Bench
from finishplan.plan.inputs import find_sources, read_sources
from finishplan.plan.plan import Materials
from finishplan.plan.plan_json import plan_json_text
from finishplan.plan.planner import Planner


def test_the_plan_is_that_of_the_commands(figure: TestClient, bench: Bench) -> None:
    edit(figure, {"run.castings": 3, "2.target": "#884422"})
    assert figure.get("/api/save/plan.json").status_code in (200, 422)  # not that of before
    plan = stage(figure, "plan")
    assert plan["searched"] and plan["run"]["castings"] == 3
    assert bench.desk is not None
    sources = find_sources(bench.desk.file)
    expected = plan_json_text(Planner(Materials(*read_sources(sources))).plan(sources.job))
    assert figure.get("/api/save/plan.json").text == expected
    painting = stage(figure, "painting")
    assert {m["id"] for m in painting["mixes"]} >= {a["mix"] for a in painting["areas"]}
    assert {a for p in painting["passes"] for a in p["areas"]} == {a["id"] for a in painting["areas"]}


def test_the_sheets_are_pictures_and_files(figure: TestClient, bench: Bench) -> None:
    stage(figure, "plan")
    made = figure.post("/api/sheets", json={"paper": "letter", "detail": "wall", "grey": True}).json()
    page = Image.open(io.BytesIO(figure.get("/api/sheets/1").content))
    assert abs(page.width / page.height - 8.5 / 11) < 0.01  # US Letter
    assert figure.get(f"/api/sheets/{made['pages'] + 1}").status_code == 422
    assert figure.get("/api/save/painting-order.pdf").content.startswith(b"%PDF-")
    assert bench.desk is not None and (bench.desk.folder / "painting-order.pdf").is_file()
    assert figure.get("/api/save/run.csv").text.startswith("start_min")
    assert figure.get("/api/save/run.ics", params={"start": "2026-03-14T19:00"}).text.startswith("BEGIN:VCALENDAR")
    assert figure.get("/api/save/run.ics").status_code == 422
    assert figure.get("/api/save/job.toml").content == bench.desk.file.read_bytes()
    for wrong in ({"paper": "a3"}, {"detail": "some"}, {"part": "wing"}):
        answer = figure.post("/api/sheets", json=wrong)
        assert answer.status_code == 422 and answer.json()["problem"]["cure"]
    (bench.laid.folder / "plan.json").unlink()
    (bench.laid.folder / "plan.json").symlink_to(bench.folder / "elsewhere")
    assert figure.post("/api/sheets", json={"detail": "wall"}).status_code == 422
    assert not (bench.folder / "elsewhere").exists()
    assert figure.post("/api/drawing?name=morel", content=toadstool()).status_code == 200
    stage(figure, "plan")
    (wall,) = PdfReader(io.BytesIO(figure.get("/api/save/painting-order.pdf").content)).pages
    assert "morel" in wall.extract_text() and abs(wall.mediabox.height - 11 * 72) < 0.1  # on the same paper as before


def test_a_redraw_keeps_what_was_said(figure: TestClient) -> None:
    stem = next(a["id"] for a in stage(figure, "reading")["areas"] if a["hex"] == "#f8e6b4")
    edit(figure, {f"{stem}.name": "stem"})
    stage(figure, "reading")
    assert figure.post("/api/drawing?redraw=1", content=toadstool(2)).status_code == 200
    reading = stage(figure, "reading")
    assert reading["size"] == [640, 480]
    assert reading["said"] == ["drawing-2.png: the drawing has changed: 7 areas as before."]
    assert next(a["name"] for a in reading["areas"] if a["id"] == stem) == "stem"
    assert Image.open(io.BytesIO(figure.get("/api/picture").content)).size == (640, 480)


def test_figures_are_put_away_and_opened_again(figure: TestClient, bench: Bench) -> None:
    assert figure.post("/api/close").status_code == 200
    state = figure.get("/api/state").json()
    assert state["open"] is False and state["recent"] == [{"id": "figure-1", "name": "toadstool"}]
    assert figure.post("/api/open", json={"id": "figure-1"}).status_code == 200
    assert len(stage(figure, "reading")["areas"]) == 7


def test_an_unchanged_stage_is_not_sent_again(figure: TestClient) -> None:
    """ETag and If-None-Match (RFC 9110, 13.1.2)."""
    stage(figure, "reading")
    tag = figure.get("/api/stage/reading").headers["etag"]
    assert figure.get("/api/stage/reading", headers={"if-none-match": tag}).status_code == 304
    edit(figure, {"run.castings": 2})
    stage(figure, "reading")
    assert figure.get("/api/stage/reading", headers={"if-none-match": tag}).status_code == 200


def test_a_turned_photograph_is_shown_upright(client: TestClient) -> None:
    """Exif 2.32, tag 274 (orientation): 6 is shown turned a quarter clockwise."""
    picture, exif = io.BytesIO(), Image.Exif()
    exif[274] = 6
    Image.open(io.BytesIO(toadstool())).save(picture, "JPEG", quality=95, exif=exif)
    assert client.post("/api/drawing", content=picture.getvalue()).status_code == 200
    assert Image.open(io.BytesIO(client.get("/api/picture").content)).size == (240, 320)


def test_fewer_pots_cost_nearness(figure: TestClient) -> None:
    """The choice that the job has now is the plan's own; the widest nearness never takes more pots than the least."""
    stem = next(a["id"] for a in stage(figure, "reading")["areas"] if a["hex"] == "#f8e6b4")
    edit(figure, {"paints.within": 10, f"{stem}.target": "#9cab70"})  # near the stone, which it does not touch
    painting = stage(figure, "painting")
    found = figure.get("/api/exchange").json()
    choices = {c["within"]: c for c in found["choices"]}
    assert found["revision"] == figure.get("/api/state").json()["revision"]
    assert choices[10]["pots"] == len(painting["mixes"]) < choices[0]["pots"]
    assert choices[10]["off"] > choices[0]["off"] >= 0
    assert all(c["farthest"] >= c["off"] for c in found["choices"])
