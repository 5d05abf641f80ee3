"""What is edited on the page stands in the job file, whole or not at all, and can be taken back without end."""

import contextlib
import random
import threading
import tomllib
from pathlib import Path

import pytest
from asked import edit, stage
from starlette.testclient import TestClient
from toadstool import toadstool

from finishplan.basics.errors import InputError
from finishplan.page.bench import Bench
from finishplan.page.desk import Desk
from finishplan.page.reading import Look
from finishplan.plan.planner import Planner


def job(bench: Bench) -> bytes:
    assert bench.desk is not None
    return bench.desk.file.read_bytes()


def test_the_areas_come_with_borders_and_what_is_offered(figure: TestClient) -> None:
    reading = stage(figure, "reading")
    assert len(reading["areas"]) == 7 and len(reading["parts"]) == 2
    assert all(a["path"].startswith("M") and a["path"].endswith("z") for a in reading["areas"])
    assert all(e["path"].startswith("M") for e in reading["edges"]) and reading["edges"]
    edit(figure, {"figure.height_mm": 20})
    reading = stage(figure, "reading")
    speck = min(reading["areas"], key=lambda a: a["pixels"])
    assert speck["id"] in reading["offers"]["dots"] and speck["hints"][0]["flag"] == "dot"


def test_an_edit_is_written_at_once_and_read_anew(figure: TestClient, bench: Bench) -> None:
    cap = next(a["id"] for a in stage(figure, "reading")["areas"] if a["hex"] == "#be2b34")
    answer = edit(figure, {f"{cap}.name": "red cap", f"{cap}.flags": ["first"]})
    assert answer.status_code == 200 and answer.json()["can_undo"]
    said = tomllib.loads(job(bench).decode())["areas"]
    assert said["red cap"]["flags"] == ["first"] and said["red cap"]["number"] == cap
    area = next(a for a in stage(figure, "reading")["areas"] if a["id"] == cap)
    assert (area["name"], area["flags"]) == ("red cap", ["first"])


WRONG = (
    {"run.castings": 0},
    {"run.castings": "many"},
    {"run.pace": 1},
    {"1.target": "reddish"},
    {"1.name": 7},
    {"1.swallow": 1},
    {"1.cut": [[2, 2]]},
    {"run.castings": 5, "mixes.a.areas": []},
    {"paints.own": ["no such paint"]},
)


def test_what_will_not_do_is_refused_whole(figure: TestClient, bench: Bench) -> None:
    before = job(bench)
    for edits in WRONG:
        answer = edit(figure, edits)
        assert answer.status_code == 422, edits
        assert answer.json()["problem"]["what"] and answer.json()["problem"]["where"]
        assert job(bench) == before


def test_areas_of_other_pieces_are_not_made_one(figure: TestClient, bench: Bench) -> None:
    parts = [p["areas"][0] for p in stage(figure, "reading")["parts"]]
    before = job(bench)
    answer = edit(figure, {f"{parts[0]}.swallow": parts[1]})
    assert answer.status_code == 422 and "apart" in answer.json()["problem"]["what"]
    assert job(bench) == before


def test_corrections_take_areas_out_and_bring_them_back(figure: TestClient) -> None:
    areas = stage(figure, "reading")["areas"]
    spot, cap = (next(a for a in areas if a["hex"] == h) for h in ("#ffffff", "#be2b34"))
    edit(figure, {f"{spot['id']}.swallow": cap["id"]})
    reading = stage(figure, "reading")
    assert len(reading["areas"]) == len(areas) - 1
    assert [(g["id"], g["key"]) for g in reading["gone"]] == [(spot["id"], "swallow")]
    edit(figure, {f"{spot['id']}.swallow": None})
    assert stage(figure, "reading")["areas"] == areas


def test_a_stroke_splits_an_area(figure: TestClient) -> None:
    areas = stage(figure, "reading")["areas"]
    stem = next(a for a in areas if a["hex"] == "#f8e6b4")
    assert edit(figure, {f"{stem['id']}.cut": [[0.2, 0.75], [0.45, 0.75]]}).status_code == 200
    assert len(stage(figure, "reading")["areas"]) == len(areas) + 1


def test_a_second_window_that_is_behind_overwrites_nothing(figure: TestClient, bench: Bench) -> None:
    revision = figure.get("/api/state").json()["revision"]
    assert edit(figure, {"run.castings": 4}, revision).status_code == 200
    late = edit(figure, {"run.castings": 9}, revision)
    assert late.status_code == 409 and late.json()["job"]["run"]["castings"] == 4
    assert b"castings = 4" in job(bench)


def test_a_change_by_hand_is_taken_in_and_can_be_undone(figure: TestClient, bench: Bench) -> None:
    before = job(bench)
    assert bench.desk is not None
    bench.desk.file.write_bytes(before + b"\n# mine\n[run]\ncastings = 7\n")
    state = figure.get("/api/state").json()
    assert state["job"]["run"]["castings"] == 7
    stage(figure, "reading")
    assert edit(figure, {"run.painters": 2}).status_code == 200
    assert b"# mine" in job(bench)
    for _ in range(2):
        revision = figure.get("/api/state").json()["revision"]
        assert figure.post("/api/undo", headers={"if-match": f'"{revision}"'}).status_code == 200
    assert job(bench) == before


def test_a_job_spoilt_by_hand_is_told_and_nothing_lost(figure: TestClient, bench: Bench) -> None:
    before = job(bench)
    assert bench.desk is not None
    bench.desk.file.write_bytes(before + b"\n[run]\ncastings = many\n")
    assert figure.get("/api/state").status_code == 200
    for _ in range(200):
        if (found := figure.get("/api/stage/reading").json())["problem"]:
            break
    assert "TOML" in found["problem"]["what"] or found["problem"]["where"].startswith("job.toml")
    assert figure.get("/api/picture").status_code == 200
    revision = figure.get("/api/state").json()["revision"]
    assert figure.post("/api/undo", headers={"if-match": f'"{revision}"'}).status_code == 200
    assert job(bench) == before and stage(figure, "reading")["areas"]


def test_a_fault_of_ours_is_told_on_the_page_and_shown_in_the_terminal(
    figure: TestClient, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a fault")

    stage(figure, "painting")
    monkeypatch.setattr(Planner, "painting", broken)
    edit(figure, {"2.target": "#884422"})
    with pytest.raises(AssertionError, match=r"internal error: ZeroDivisionError: a fault.*the terminal says more"):
        stage(figure, "painting")
    assert 'raise ZeroDivisionError("a fault")' in capfd.readouterr().err


def test_undo_of_twenty_random_edits_gives_the_first_job_back(tmp_path: Path) -> None:
    (tmp_path / "drawing.png").write_bytes(toadstool())
    desk, pick = Desk(tmp_path, "drawing.png"), random.Random(7)
    look = Look(desk)
    desk.check = look.check
    ids = [a.id for a in look.at(desk.state().text)[1].materials.drawing.areas]
    first = desk.file.read_bytes()
    kinds = [
        lambda: {f"{pick.choice(ids)}.name": f"name {pick.randrange(99)}"},
        lambda: {f"{pick.choice(ids)}.target": f"#{pick.randrange(1 << 24):06x}"},
        lambda: {f"{pick.choice(ids)}.flags": [pick.choice(["recess", "dot", "last", "bare"])]},
        lambda: {"mixes.shared.areas": pick.sample(ids, 2)},
        lambda: {f"{pick.choice(ids)}.swallow": pick.choice(ids)},
        lambda: {f"{pick.choice(ids)}.cut": [[0.1, 0.3], [0.6, 0.3]]},
        lambda: {"run.castings": pick.randrange(1, 30), "room.humidity_pct": pick.randrange(20, 80)},
        lambda: {"figure.finish": pick.choice(["matt", "gloss"])},
    ]
    for done in range(20):
        before = desk.state().text
        while desk.state().text == before:
            with contextlib.suppress(InputError):
                desk.edit(pick.choice(kinds)(), desk.state().revision)
        if done % 5 == 4:
            look.at(desk.state().text)  # what a reading brings up to date is undone too
    last = desk.file.read_bytes()
    assert last != first
    for step, end in ((desk.undo, first), (desk.redo, last), (desk.undo, first)):
        for _ in range(20):
            step(desk.state().revision)
        assert desk.file.read_bytes() == end
    assert not desk.state().can_undo


def test_a_reading_is_stopped_in_its_middle(tmp_path: Path) -> None:
    """It tells its steps, and the one after the figure was put away does not begin."""
    steps: list[str] = []

    def heard(news: str) -> None:
        steps.append(news)
        if len(steps) == 2:
            bench.put_away()

    bench = Bench(tmp_path, heard)
    picture = tmp_path / "sent"
    picture.write_bytes(toadstool())
    bench.take_in(picture)
    for thread in threading.enumerate():
        if thread.name == "planning":
            thread.join(60)
    assert len(steps) == 2 and all(step.startswith("doing ") for step in steps)
    assert not list(tmp_path.rglob(".finishplan-reading.npz"))


def test_how_the_drawing_is_to_be_read_reads_it_anew(figure: TestClient) -> None:
    """With keys of the job that change nothing but the reading, told to a bench that has read it."""
    areas = stage(figure, "reading")["areas"]
    for key, value in (("lines", "none"), ("kind", "photo")):
        edit(figure, {f"figure.{key}": value})
        before, areas = areas, stage(figure, "reading")["areas"]
        assert areas != before, key
