"""The maker's paints told by the page: the box file beside the job, in place, with undo."""

import time
from pathlib import Path
from typing import Any

from asked import edit, stage
from starlette.testclient import TestClient

from finishplan.page.bench import Bench
from finishplan.paint.box_edit import owning, with_bottle, with_owned, with_stock, without_bottle
from finishplan.paint.table import load_table

BOX = """# my shelf
own = ["PW6", "yellow-ochre"]  # what I own

[[paint]]  # the big tube
of = "PW6"
ml_left = 40  # about

[[drawdown]]
of = "titanium-white"
coats = 3
"""


def said(client: TestClient, what: dict[str, Any]) -> Any:
    on = client.get("/api/state").json()["revision"]
    return client.post("/api/box", json=what, headers={"if-match": f'"{on}"'})


def box_file(bench: Bench) -> Path:
    assert bench.desk is not None
    return bench.desk.folder / "paints.toml"


def test_a_box_file_is_edited_in_its_place() -> None:
    table = load_table(None)
    assert with_stock(BOX, table, "titanium-white", 12.5) == BOX.replace("= 40 ", "= 12.5 ")
    assert with_stock(BOX, table, "yellow-ochre", 60).endswith('\n[[paint]]\nof = "yellow-ochre"\nml_left = 60\n')
    assert with_owned(BOX, table, "bone-black", True) == BOX.replace('ochre"]', 'ochre", "bone-black"]')
    off = with_owned(BOX, table, "titanium-white", False)
    assert "PW6" not in off and "# what I own" in off and "[[drawdown]]" in off
    bottle = with_bottle(BOX, {"name": 'lantern "red"', "colour": "#a0452e", "tint": ""})
    assert without_bottle(bottle, table, "lantern-red").rstrip() == BOX.rstrip()
    assert owning("# a\n\n[[paint]]\n", ("PW6",)) == '# a\nown = ["PW6"]\n\n[[paint]]\n'


def test_a_bottle_begins_a_box_file_and_is_taken_back(figure: TestClient, bench: Bench) -> None:
    owned = {p["paint"] for p in figure.get("/api/paints").json()["paints"] if p["owned"]}
    bottle = {"name": "lantern red", "colour": "#a0452e", "ci": "PR101", "opacity": "opaque", "ml_left": 20}
    assert said(figure, {"add": bottle}).status_code == 200
    stage(figure, "reading")
    shown = figure.get("/api/paints").json()
    assert [(p["name"], p["ci"], p["ml_left"]) for p in shown["bottles"]] == [("lantern red", "PR101", 20)]
    assert {p["paint"] for p in shown["paints"] if p["owned"]} == owned  # the starter box stays beside it
    assert said(figure, {"stock": {"titanium-white": 35}}).status_code == 200
    assert "ml_left = 35" in box_file(bench).read_text()
    for _ in range(2):
        on = figure.get("/api/state").json()
        assert figure.post("/api/undo", headers={"if-match": f'"{on["revision"]}"'}).status_code == 200
    stage(figure, "reading")
    assert figure.get("/api/paints").json()["bottles"] == []
    on = figure.get("/api/state").json()
    figure.post("/api/redo", headers={"if-match": f'"{on["revision"]}"'})
    stage(figure, "reading")
    assert len(figure.get("/api/paints").json()["bottles"]) == 1


def test_ticks_go_where_the_list_is(figure: TestClient, bench: Bench) -> None:
    shown = figure.get("/api/paints").json()
    assert len(shown["paints"]) > sum(p["owned"] for p in shown["paints"]) > 0
    edit(figure, {"paints.own": ["PW6", "PBk7", "PR101"]})
    stage(figure, "reading")
    assert {p["ci"] for p in figure.get("/api/paints").json()["paints"] if p["owned"]} == {"PW6", "PBk7", "PR101"}
    assert said(figure, {"own": {"yellow-ochre": True}}).json()["job"]["paints"]["own"][:1] == ["PW6"]
    box_file(bench).write_text(BOX)
    edit(figure, {"paints.own": None, "paints.file": "paints.toml"})
    stage(figure, "reading")
    assert said(figure, {"own": {"titanium-white": False}}).status_code == 200
    stage(figure, "reading")
    assert [p["paint"] for p in figure.get("/api/paints").json()["paints"] if p["owned"]] == ["yellow-ochre"]
    assert "# my shelf" in box_file(bench).read_text()


WRONG: tuple[dict[str, Any], ...] = (
    {"add": {"name": "", "colour": "#a0452e"}},
    {"add": {"name": "red", "colour": "reddish"}},
    {"add": {"name": "titanium white", "colour": "#ffffff"}},
    {"add": {"name": "red", "measured": "../../etc/passwd"}},
    {"stock": {"titanium-white": -1}},
    {"stock": {"no such paint": 3}},
    {"own": {"titanium-white": "yes"}},
    {"drop": "all"},
)


def test_what_will_not_do_is_told_and_nothing_is_written(figure: TestClient, bench: Bench) -> None:
    stage(figure, "reading")
    assert bench.desk is not None
    before = {p.name: p.read_bytes() for p in bench.desk.folder.iterdir()}
    for wrong in WRONG:
        answer = said(figure, wrong)
        assert answer.status_code == 422 and answer.json()["problem"]["cure"], wrong
    assert {p.name: p.read_bytes() for p in bench.desk.folder.iterdir()} == before


def test_a_mix_is_kept_for_the_next_figure(figure: TestClient, bench: Bench) -> None:
    mix = stage(figure, "painting")["mixes"][0]
    assert not mix["book"] and figure.post("/api/keep", json={"mix": mix["id"]}).json()["kept"] == mix["name"]
    assert f"[mixes.{mix['name']}]" in (bench.folder / "mixes.toml").read_text().replace('"', "")
    figure.post("/api/keep", json={"mix": mix["id"]})
    end = time.monotonic() + 60
    while not next(m for m in stage(figure, "painting")["mixes"] if m["id"] == mix["id"])["book"]:
        assert time.monotonic() < end
        time.sleep(0.05)
    assert figure.post("/api/keep", json={"mix": "ZZ"}).status_code == 422
